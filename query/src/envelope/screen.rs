//! Envelopes and gaps, for a person.

use std::io;

use super::{Attempt, Axis, Envelope, Gap};
use crate::figure;
use crate::screen::{BAD, CARE, FAINT, GOOD, STRONG, Screen, styled};
use crate::words::{outcome, quoted};

/// The caution beside an envelope.
const CAUTION: &str = "what held once need not hold again; makers' and riggers' figures come first";
/// How many characters of words are shown.
const LONGEST_QUOTE: usize = 160;

/// Prints an envelope.
pub fn show(envelope: &Envelope, screen: &mut Screen) -> io::Result<()> {
    screen.paragraph("", "  ", &format!("{}: {}", styled(STRONG, &envelope.gear), envelope.summary))?;
    part("passed", &envelope.passed, screen)?;
    part("passed, and counts no more", &envelope.void, screen)?;
    part("failed, partly worked or not settled", &envelope.failed, screen)?;
    if !envelope.needs.is_empty() {
        screen.gap()?;
        screen.line(styled(STRONG, "needed"))?;
        for need in &envelope.needs {
            let how = if need.covered { styled(GOOD, "proved") } else { styled(BAD, &need.gap) };
            screen.paragraph("  ", "      ", &format!("at {}: {how}", need.text))?;
            let words = if need.quote.is_empty() {
                String::new()
            } else {
                format!("{}  ", quoted(&short(&need.quote)))
            };
            screen.paragraph("      ", "      ", &format!("{words}{}", styled(FAINT, &need.from)))?;
        }
    }
    screen.gap()?;
    screen.paragraph(&format!("{} ", styled(CARE, "caution:")), "  ", CAUTION)
}

fn part(name: &str, attempts: &[Attempt], screen: &mut Screen) -> io::Result<()> {
    if attempts.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    screen.line(styled(STRONG, name))?;
    for attempt in attempts {
        let on = attempt.on.map_or_else(|| "day not known".to_owned(), figure::day);
        let because = attempt.void_because.as_ref().map_or_else(String::new, |b| format!("; {b}"));
        let text = format!("{on}: {}, {}{because}", outcome(attempt.outcome), conditions(attempt));
        screen.paragraph("  ", "      ", &text)?;
        let words = format!("{}  {}", quoted(&short(&attempt.quote)), styled(FAINT, &attempt.from));
        screen.paragraph("      ", "      ", &words)?;
    }
    Ok(())
}

/// What an attempt was made in, in words, what was measured marked.
pub fn conditions(attempt: &Attempt) -> String {
    if attempt.reach.is_empty() {
        return "in conditions that no words tell".to_owned();
    }
    let parts: Vec<String> = attempt
        .reach
        .iter()
        .map(|(axis, value)| {
            let measured = if attempt.measured.contains(axis) { " measured" } else { "" };
            match axis {
                Axis::Wind => format!("wind {}{measured}", axis.value(*value)),
                Axis::Waves => format!("waves {}{measured}", axis.value(*value)),
                _ => format!("{}{measured}", axis.value(*value)),
            }
        })
        .collect();
    parts.join(", ")
}

/// Prints the gaps under a heading of their own, for the foot of the list of open items.
pub fn show_gaps(gaps: &[Gap], screen: &mut Screen) -> io::Result<()> {
    if gaps.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    let head = figure::count(gaps.len(), "gap", "gaps");
    let head = format!("{head} between what is proved and what it will be needed for");
    screen.paragraph("", "  ", &styled(STRONG, head))?;
    for gap in gaps {
        screen.paragraph("  ", "      ", &format!("{}: {}", styled(STRONG, &gap.gear), gap.summary))?;
        let words = if gap.need.quote.is_empty() {
            String::new()
        } else {
            format!("{}  ", quoted(&short(&gap.need.quote)))
        };
        screen.paragraph("      ", "      ", &format!("{words}{}", styled(FAINT, &gap.need.from)))?;
    }
    Ok(())
}

fn short(text: &str) -> String {
    match text.char_indices().nth(LONGEST_QUOTE) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}
