//! The doubts, for a person, each with the commands that settle it.

use std::io;

use super::Doubt;
use crate::figure;
use crate::open_item::matter;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::{quoted, shortened, spaced};

/// How many characters of the words that closed an item are shown.
const LONGEST: usize = 240;

/// Prints doubts.
pub fn show(doubts: &[Doubt], screen: &mut Screen) -> io::Result<()> {
    if doubts.is_empty() {
        return screen.line("no doubts");
    }
    let readings = doubts.iter().filter(|doubt| matches!(doubt, Doubt::Reading { .. })).count();
    if readings > 0 {
        let count = figure::count(readings, "doubtful reading", "doubtful readings");
        screen.line(format!("{count}, kept out of trends"))?;
    }
    let mut trials = doubts.iter().filter(|doubt| matches!(doubt, Doubt::Trial { .. })).count();
    let mut items = doubts.iter().filter(|doubt| matches!(doubt, Doubt::Item { .. })).count();
    let mut closings = doubts.len() - readings - trials - items;
    for doubt in doubts {
        match doubt {
            Doubt::Reading { name, source, reading, .. } => {
                let at = reading.at.map_or_else(String::new, |at| format!(", {}", figure::moment(at.at)));
                let value = styled(STRONG, figure::range(reading.low, reading.high, &reading.unit));
                let what = spaced(&reading.quantity);
                let text = format!("{what} {value}  {}  {source}{at}", quoted(&reading.quote));
                screen.gap()?;
                screen.paragraph(&format!("{}  ", styled(STRONG, name)), "    ", &text)?;
                for doubt in &reading.doubts {
                    screen.paragraph(&format!("    {} ", styled(CARE, "doubt:")), "    ", doubt)?;
                }
                let settle = format!("settle: confirm {name}, correct {name} --value …, or dismiss {name}");
                screen.paragraph("    ", "    ", &styled(FAINT, settle))?;
            }
            Doubt::Trial { name, source, trial, .. } => {
                let named = ["trial by the sound of it", "trials by the sound of it"];
                heading(&mut trials, named, ", which prove nothing yet", screen)?;
                let at = trial.at.map_or_else(String::new, |at| format!(", {}", figure::moment(at.at)));
                let words = quoted(&shortened(&trial.quote, LONGEST));
                let outcome = styled(STRONG, trial.outcome.name());
                screen.gap()?;
                let text = format!("{} {outcome}: {words}  {source}{at}", trial.gear);
                screen.paragraph(&format!("{}  ", styled(STRONG, name)), "    ", &text)?;
                let settle = format!("settle: confirm {name}, correct {name} --outcome …, or dismiss {name}");
                screen.paragraph("    ", "    ", &styled(FAINT, settle))?;
            }
            Doubt::Item { item } => {
                let named = ["item", "items"];
                heading(&mut items, named, " that may be nothing, or over by now", screen)?;
                screen.gap()?;
                let text = matter(&item.gear, &item.about);
                screen.paragraph(&format!("{}  ", styled(STRONG, &item.name)), "    ", &text)?;
                if let Some(over) = &item.maybe_over {
                    let words = quoted(&shortened(&over.quote, LONGEST));
                    let text = format!("    {} perhaps over: ", styled(CARE, "doubt:"));
                    screen.paragraph(&text, "    ", &format!("{words}  {}", over.name))?;
                }
                let settle = format!("settle: confirm {0}, close {0}, or dismiss {0}", item.name);
                screen.paragraph("    ", "    ", &styled(FAINT, settle))?;
            }
            Doubt::Closing { closed } => {
                heading(&mut closings, ["item", "items"], " closed only by what a note says", screen)?;
                screen.gap()?;
                let place = closed.closed_in.as_ref().map_or_else(String::new, |name| format!("  {name}"));
                let because = quoted(&shortened(&closed.because, LONGEST));
                let text = format!("{}: {because}{place}", matter(&closed.gear, &closed.about));
                screen.paragraph(&format!("{}  ", styled(STRONG, &closed.name)), "    ", &text)?;
                let settle = format!("settle: confirm {0}, or reopen {0}", closed.name);
                screen.paragraph("    ", "    ", &styled(FAINT, settle))?;
            }
        }
    }
    Ok(())
}

/// The heading over the first of several doubts of a kind; there are `left` of them until it is printed.
fn heading(left: &mut usize, [one, many]: [&str; 2], that: &str, screen: &mut Screen) -> io::Result<()> {
    if *left > 0 {
        screen.gap()?;
        screen.line(format!("{}{that}", figure::count(*left, one, many)))?;
        *left = 0;
    }
    Ok(())
}
