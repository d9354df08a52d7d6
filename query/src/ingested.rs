//! What became of dumped files, for a person: a line a file, its notices, and the sum.

use std::io;
use std::path::{Path, PathBuf};

use chrono::DateTime;
use leadsman_index::{Counts, Held, Outcome, Report};

use crate::error::Error;
use crate::figure;
use crate::notices::{self, Repeats};
use crate::screen::{BAD, CARE, FAINT, GOOD, STRONG, Screen, styled};
use crate::words::spaced;

/// What became of all of them.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Taken, and how much was found in them.
    pub found: Counts,
    /// Taken in place of an earlier source.
    pub replaced: usize,
    /// The same bytes were here already.
    pub already_there: usize,
    /// Not taken.
    pub refused: usize,
    /// Files of folders that can be no notes.
    pub passed_over: Vec<PathBuf>,
    /// Instrument logs among those taken.
    pub logs: usize,
    /// Samples in them.
    pub samples: u64,
}

impl Tally {
    /// Counts one in.
    pub fn add(&mut self, report: &Report) {
        match &report.outcome {
            Outcome::Taken { counts, replaced, channels, .. } => {
                if let Some(held) = channels {
                    self.logs += 1;
                    self.samples += held.samples;
                }
                let sum = &mut self.found;
                sum.sources += counts.sources;
                sum.utterances += counts.utterances;
                sum.readings += counts.readings;
                sum.trials += counts.trials;
                sum.items += counts.items;
                sum.closings += counts.closings;
                sum.notices += counts.notices;
                sum.doubts += counts.doubts;
                self.replaced += usize::from(replaced.is_some());
            }
            Outcome::AlreadyThere { .. } => self.already_there += 1,
            Outcome::Refused { .. } => self.refused += 1,
        }
    }
}

/// Prints the line of one file, its name in a column of `width`, and a few of its notices, without the `repeats` of those
/// of earlier files.
pub fn show_report(
    report: &Report,
    repeats: &mut Repeats,
    width: usize,
    screen: &mut Screen,
) -> io::Result<()> {
    let first = format!("{}  ", styled(STRONG, format!("{:<width$}", report.name)));
    match &report.outcome {
        Outcome::Taken { counts, notices, replaced, again, channels, .. } => {
            let again = if *again { "read again" } else { "taken" };
            let instead = if replaced.is_some() { ", in place of its earlier copy" } else { "" };
            let what = channels.as_ref().map_or_else(|| found(counts), |log| held(log, counts.notices));
            let text = format!("{}{instead}: {what}", styled(GOOD, again));
            screen.paragraph(&first, "    ", &text)?;
            notices::show(&report.name, &repeats.unsaid(&report.name, notices), notices::FEW, screen)
        }
        Outcome::AlreadyThere { name, received, .. } => {
            let under = if *name == report.name { String::new() } else { format!(" as {name}") };
            let since = figure::day(received.date_naive());
            screen.paragraph(
                &first,
                "    ",
                &styled(FAINT, format!("here already{under}, since {since}; nothing changed")),
            )
        }
        Outcome::Refused { error } => {
            screen.paragraph(&first, "    ", &format!("{} {error}", styled(BAD, "not taken:")))?;
            match Error::from_index(error).hint {
                Some(hint) => screen.paragraph(&format!("    {} ", styled(CARE, "hint:")), "    ", &hint),
                None => Ok(()),
            }
        }
    }
}

/// What an instrument log holds, in words: its quantities, its span, its samples.
fn held(held: &Held, notices: usize) -> String {
    let mut names: Vec<String> = held.channels.iter().map(|c| spaced(c.quantity.name())).collect();
    names.sort();
    names.dedup();
    let at = |minute: i64| {
        let at = DateTime::from_timestamp(minute.saturating_mul(60), 0).unwrap_or_default();
        at.format("%-d %b %Y %H:%M UTC").to_string()
    };
    let minutes = held.last - held.first + 1;
    let notices = match notices {
        0 => String::new(),
        n => format!("; {}", styled(CARE, figure::count(n, "notice", "notices"))),
    };
    format!(
        "{} over {}, from {}: {}; {}{notices}",
        figure::count(held.channels.len(), "channel", "channels"),
        figure::value(minutes as f64 * 60.0, "s"),
        at(held.first),
        names.join(", "),
        figure::count(held.samples as usize, "sample", "samples")
    )
}

/// Prints the sum over all files.
pub fn show_tally(tally: &Tally, home: &Path, screen: &mut Screen) -> io::Result<()> {
    screen.gap()?;
    let mut parts = vec![format!("{} taken", figure::count(tally.found.sources, "source", "sources"))];
    if tally.replaced > 0 {
        parts.push(format!("{} in place of earlier copies", tally.replaced));
    }
    if tally.already_there > 0 {
        parts.push(format!("{} here already", tally.already_there));
    }
    if tally.refused > 0 {
        parts.push(styled(BAD, format!("{} not taken", tally.refused)));
    }
    screen.paragraph("", "  ", &parts.join(", "))?;
    let mut sums = Vec::new();
    if tally.found.sources > tally.logs {
        sums.push(found(&tally.found));
    }
    if tally.logs > 0 {
        let samples = figure::count(tally.samples as usize, "sample", "samples");
        sums.push(format!("{samples} in {}", figure::count(tally.logs, "instrument log", "instrument logs")));
    }
    if !sums.is_empty() {
        screen.paragraph("", "  ", &format!("found: {}", sums.join("; ")))?;
    }
    if !tally.passed_over.is_empty() {
        let names: Vec<String> = tally
            .passed_over
            .iter()
            .take(3)
            .filter_map(|path| Some(path.file_name()?.to_string_lossy().into_owned()))
            .collect();
        let more = if tally.passed_over.len() > 3 { ", …" } else { "" };
        let files = figure::count(tally.passed_over.len(), "file", "files");
        let text = format!("passed over {files} that can be no note: {}{more}", names.join(", "));
        screen.paragraph("", "  ", &styled(FAINT, text))?;
    }
    screen.paragraph("", "  ", &styled(FAINT, format!("home: {}", home.display())))
}

fn found(counts: &Counts) -> String {
    let mut parts = vec![
        figure::count(counts.readings, "reading", "readings"),
        figure::count(counts.trials, "trial", "trials"),
        figure::count(counts.items, "item", "items"),
    ];
    if counts.closings > 0 {
        parts.push(format!("{} done", counts.closings));
    }
    if counts.doubts > 0 {
        parts.push(figure::count(counts.doubts, "doubt", "doubts"));
    }
    if counts.notices > 0 {
        parts.push(styled(CARE, figure::count(counts.notices, "notice", "notices")));
    }
    parts.join(", ")
}
