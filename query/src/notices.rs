//! Notices, a few at a time: where, what was expected and found, what to do next.

use std::io;

use leadsman_ingest::Notice;

use crate::figure;
use crate::screen::{CARE, Screen, styled};

/// How many notices of one source are shown where the rest are only counted.
pub const FEW: usize = 5;

/// Prints up to `most` notices of a source and counts the others.
pub fn show(name: &str, notices: &[Notice], most: usize, screen: &mut Screen) -> io::Result<()> {
    for notice in notices.iter().take(most) {
        let place = notice.line.map_or_else(|| name.to_owned(), |line| format!("{name}:{line}"));
        screen.paragraph("", "  ", &format!("{} {}", styled(CARE, format!("{place}:")), notice.message))?;
        if let Some(hint) = &notice.hint {
            screen.paragraph("  hint: ", "  ", hint)?;
        }
    }
    if notices.len() > most {
        let rest = figure::count(notices.len() - most, "more notice", "more notices");
        screen.line(format!("{name}: {rest}; `leadsman notices` shows them all once it is ingested"))?;
    }
    Ok(())
}
