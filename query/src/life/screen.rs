//! An item's life, for a person.

use std::io;

use chrono::NaiveDate;

use super::Life;
use crate::figure;
use crate::open_item::{matter, order};
use crate::screen::{FAINT, STRONG, Screen, styled};
use crate::words::{quoted, why};

/// Prints an item's life, oldest first; `on` is the day asked about.
pub fn show(life: &Life, on: NaiveDate, screen: &mut Screen) -> io::Result<()> {
    let about = match (&life.open, life.closed.first()) {
        (Some(open), _) => matter(&open.gear, &open.about),
        (None, Some(closed)) => matter(&closed.gear, &closed.about),
        (None, None) => String::new(),
    };
    let state = life.state.replace('_', " ");
    screen.paragraph("", "      ", &format!("{}  {about}", styled(STRONG, &life.name)))?;
    if let Some(open) = &life.open {
        let reasons: Vec<&str> = open.reasons.iter().map(|&reason| why(reason)).collect();
        screen.paragraph("      ", "      ", &format!("{state}: {}", reasons.join(", ")))?;
        screen.paragraph("      ", "      ", &format!("order: {}", order::parts(open, on)))?;
        screen.paragraph("      ", "      ", &styled(FAINT, format!("settled by: {}", open.settled_by)))?;
    } else {
        let confirmed = life.closed.first().is_some_and(|closed| closed.unconfirmed);
        let how = if confirmed { ", by what a note says; not confirmed" } else { "" };
        screen.paragraph("      ", "      ", &format!("{state}{how}"))?;
    }
    screen.gap()?;
    for event in &life.events {
        let at = event.at.map_or_else(|| "time not known".to_owned(), figure::moment);
        let number = event.piece.map_or_else(String::new, |n| format!(" {n}"));
        let (words, place) = match &event.evidence {
            Some(evidence) => {
                let reason = evidence.why.map_or("", why);
                let finding = event.finding.as_ref().map_or_else(String::new, |name| format!(" ({name})"));
                (quoted(&event.words), format!("  {reason}{finding}; {}", evidence.name))
            }
            None => (event.words.clone(), String::new()),
        };
        let decision = event.decision.as_ref().map_or_else(String::new, |name| format!("  {name}"));
        let text = format!("{}{number}: {words}{place}{decision}", event.what);
        screen.paragraph(&format!("  {at}  "), "      ", &text)?;
    }
    Ok(())
}
