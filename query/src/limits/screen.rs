//! The limits, for a person.

use std::io;

use super::Limit;
use crate::figure;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::{quoted, spaced};

/// Prints limits by quantity and gear.
pub fn show(limits: &[Limit], screen: &mut Screen) -> io::Result<()> {
    if limits.is_empty() {
        return screen.paragraph(
            "",
            "  ",
            "no limits; notes give them (\u{201c}never below 12.2 volts\u{201d}), and `leadsman limit QUANTITY VALUE` sets one",
        );
    }
    for group in limits.chunk_by(|a, b| a.quantity == b.quantity && a.gear == b.gear) {
        let first = &group[0];
        let gear = first.gear.as_ref().map_or_else(String::new, |gear| format!(", {gear}"));
        let trigger = if first.watched { "" } else { "  a trigger: passing it opens no item" };
        screen.line(format!(
            "{}{}",
            styled(STRONG, format!("{}{gear}", spaced(&first.quantity))),
            styled(FAINT, trigger)
        ))?;
        if first.disagrees {
            screen.line(format!("  {}", styled(CARE, "these disagree; the first is in force")))?;
        }
        for limit in group {
            let band = figure::range(limit.low, limit.high, &limit.unit);
            let at = limit.at.map_or_else(String::new, |at| format!(", {}", figure::day(at.date_naive())));
            let words = limit.quote.as_ref().map_or_else(String::new, |quote| format!("  {}", quoted(quote)));
            let name = limit.decision.as_ref().map_or_else(String::new, |name| format!("  {name}"));
            let mark = if limit.in_force { "" } else { " (not in force)" };
            let text = format!("{}  {}{at}{words}{name}{mark}", styled(STRONG, band), limit.who);
            screen.paragraph("  ", "    ", &text)?;
        }
    }
    Ok(())
}
