//! Trials announced and never reported, for a person.

use std::io;

use super::Announced;
use crate::figure;
use crate::screen::{FAINT, STRONG, Screen, styled};
use crate::words::quoted;

/// Prints them under a heading of their own, for the end of the list of open items.
pub fn show_announced(announced: &[Announced], screen: &mut Screen) -> io::Result<()> {
    if announced.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    let head = figure::count(
        announced.len(),
        "trial announced, and no note reports it",
        "trials announced, and no note reports them",
    );
    screen.paragraph("", "  ", &styled(STRONG, head))?;
    screen.paragraph(
        "  ",
        "  ",
        &styled(FAINT, "a note that reports it takes it off, or `close` or `dismiss` NAME"),
    )?;
    for one in announced {
        let on = one.on.map_or_else(String::new, |on| format!(", {}", figure::day(on)));
        let words = format!("{}  {}", quoted(&one.quote), styled(FAINT, format!("{}{on}", one.from)));
        screen.paragraph(
            "  ",
            "        ",
            &format!("{}  {}: {words}", styled(STRONG, &one.name), one.gear),
        )?;
    }
    Ok(())
}
