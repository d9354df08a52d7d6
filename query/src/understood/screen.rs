//! What one note says, for a person.

use std::io;

use leadsman_ingest::{Basis, Moment};

use super::Understood;
use crate::figure;
use crate::instruments::{Verdict, measured_words, show_measured};
use crate::notices;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::{outcome, quoted, spaced, why};

/// Prints what a note says.
pub fn show(understood: &Understood, screen: &mut Screen) -> io::Result<()> {
    let u = understood;
    screen.line(styled(STRONG, &u.name))?;
    screen.line(format!(
        "  {}, {}; {}",
        u.format,
        u.encoding,
        figure::count(u.utterances, "stretch of words", "stretches of words")
    ))?;
    match u.recorded {
        Some(at) => screen.line(format!("  begins {} ({})", figure::moment(at), u.recorded_from))?,
        None => screen.line("  no date is known for it")?,
    }
    if !u.zone.is_empty() {
        screen.line(format!("  zone: {}", u.zone))?;
    }
    heading(screen, "Readings", u.readings.len())?;
    for reading in &u.readings {
        let gear = reading.gear.as_ref().map_or_else(String::new, |gear| format!(", {gear}"));
        let what = format!(
            "{} {} ({}{gear}{})",
            spaced(&reading.quantity),
            styled(STRONG, figure::range(reading.low, reading.high, &reading.unit)),
            reading.stance,
            time(reading.at),
        );
        screen.paragraph("  ", "      ", &format!("{what}  {}", quoted(&reading.quote)))?;
        for doubt in &reading.doubts {
            screen.paragraph(&format!("      {} ", styled(CARE, "doubt:")), "      ", doubt)?;
        }
        if let Some(against) = reading.instruments.as_ref().filter(|a| a.verdict == Verdict::Corroborated) {
            let text =
                format!("the log agrees: {}, {}", measured_words(&against.measured), against.measured.sender);
            screen.paragraph("      ", "      ", &styled(FAINT, text))?;
        }
    }
    heading(screen, "Trials", u.trials.len())?;
    for trial in &u.trials {
        let what = format!("{} {}: {}", outcome(trial.outcome), styled(STRONG, &trial.gear), trial.about);
        screen.paragraph("  ", "      ", &format!("{what}  {}", quoted(&trial.quote)))?;
        show_measured("      ", &trial.measured, screen)?;
    }
    heading(screen, "Items", u.items.len())?;
    for item in &u.items {
        let gear = item.gear.as_ref().map_or_else(String::new, |gear| format!("{}: ", styled(STRONG, gear)));
        let what = format!("{gear}{} ({})", item.about, why(item.why));
        screen.paragraph("  ", "      ", &format!("{what}  {}", quoted(&item.quote)))?;
    }
    if !u.closings.is_empty() {
        heading(screen, "Said to be done", u.closings.len())?;
        for closing in &u.closings {
            let gear =
                closing.gear.as_ref().map_or_else(String::new, |gear| format!("{}: ", styled(STRONG, gear)));
            screen.paragraph(
                "  ",
                "      ",
                &format!("{gear}{}  {}", closing.how, quoted(&closing.quote)),
            )?;
        }
    }
    if let Some(leaves) = u.passage.leaves {
        screen.gap()?;
        screen.line(format!("The boat leaves on {}.", figure::day(leaves)))?;
    }
    if let Some(back) = u.passage.back {
        screen.line(format!("The boat is back by {}.", figure::day(back)))?;
    }
    if !u.notices.is_empty() {
        screen.gap()?;
        notices::show(&u.name, &u.notices, notices::FEW, screen)?;
    }
    Ok(())
}

fn time(at: Option<Moment>) -> String {
    match at {
        None => String::new(),
        Some(moment) => {
            let how = match moment.basis {
                Basis::Stated | Basis::Inferred => "",
                Basis::FileTime => " by the file's time",
            };
            format!(", {}{how}", moment.at.format("%H:%M"))
        }
    }
}

fn heading(screen: &mut Screen, what: &str, count: usize) -> io::Result<()> {
    screen.gap()?;
    screen.line(format!("{} ({count})", styled(STRONG, what)))
}
