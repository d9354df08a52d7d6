//! What must be proved, for a person.

use std::io;

use super::list::By;
use super::{ProvedList, Shown, Status};
use crate::figure;
use crate::screen::{BAD, CARE, FAINT, GOOD, STRONG, Screen, styled};
use crate::words::quoted;

/// The caution beside the list.
const CAUTION: &str = "this list reminds, it does not certify: rules of the race or the flag, makers, surveyors and \
                       insurers come first, and rule numbers are from memory";

/// How an entry stands, as words.
pub fn status_word(status: Status) -> &'static str {
    match status {
        Status::Failed => "failed",
        Status::Stale => "stale",
        Status::Unsettled => "tried, not settled",
        Status::NeverTried => "never tried",
        Status::Proved => "proved",
        Status::Dismissed => "dismissed",
    }
}

fn coloured(status: Status) -> String {
    let style = match status {
        Status::Failed => BAD,
        Status::Stale | Status::Unsettled | Status::NeverTried => CARE,
        Status::Proved => GOOD,
        Status::Dismissed => FAINT,
    };
    styled(style, status_word(status))
}

/// Prints the list by group; with `all` what was dismissed too.
pub fn show(list: &ProvedList, all: bool, screen: &mut Screen) -> io::Result<()> {
    let count = |status| list.entries.iter().filter(|e| e.status == status).count();
    let order = [
        Status::Proved,
        Status::Failed,
        Status::Stale,
        Status::Unsettled,
        Status::NeverTried,
        Status::Dismissed,
    ];
    let counts: Vec<String> = order
        .iter()
        .map(|s| (count(*s), status_word(*s)))
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}"))
        .collect();
    let notes = figure::count(list.notes, "note", "notes");
    let head = format!("{}; as of {} from {notes}", counts.join(", "), figure::day(list.measured_at));
    screen.paragraph("", "  ", &styled(STRONG, head))?;
    let mut group = "";
    for entry in list.entries.iter().filter(|e| all || e.status != Status::Dismissed) {
        if group != entry.required.group {
            group = &entry.required.group;
            screen.gap()?;
            screen.line(styled(STRONG, group))?;
        }
        show_entry(entry, screen)?;
    }
    screen.gap()?;
    screen.paragraph(&format!("{} ", styled(CARE, "caution:")), "  ", CAUTION)
}

fn show_entry(entry: &Shown, screen: &mut Screen) -> io::Result<()> {
    const INDENT: &str = "      ";
    const LONGEST_QUOTE: usize = 160;
    let required = &entry.required;
    let head = format!("{} {}: {}", coloured(entry.status), styled(STRONG, &required.name), required.what);
    screen.paragraph("  ", INDENT, &head)?;
    if let Some(proof) = entry.proofs.first() {
        // A date says of itself when it ends; the day beside it is that of the words.
        let when = if proof.by == By::Date { ", said" } else { " on" };
        let on = proof.on.map_or_else(String::new, |day| format!("{when} {}", figure::day(day)));
        let within = match (proof.outcome, proof.conditions.is_empty()) {
            (Some(_), true) => ", conditions not known".to_owned(),
            (Some(_), false) => format!(", {}", proof.conditions),
            (None, _) => String::new(),
        };
        let why = &proof.why;
        screen.paragraph(INDENT, INDENT, &format!("{}: {why}{on}{within}", proof.gear))?;
        let mut quote = proof.quote.clone();
        if let Some((at, _)) = quote.char_indices().nth(LONGEST_QUOTE) {
            quote.truncate(at);
            quote.push('…');
        }
        let words = if quote.is_empty() { String::new() } else { format!("{}  ", quoted(&quote)) };
        screen.paragraph(INDENT, INDENT, &format!("{words}{}", styled(FAINT, &proof.from)))?;
    } else if entry.status == Status::Dismissed && !entry.why.is_empty() {
        screen.paragraph(INDENT, INDENT, &quoted(&entry.why))?;
    }
    if !matches!(entry.status, Status::Proved | Status::Dismissed) {
        let fresh = required.days.map_or_else(String::new, |days| format!("; fresh for {days} days"));
        screen.paragraph(INDENT, INDENT, &styled(FAINT, format!("proof: {}{fresh}", required.counts)))?;
    }
    Ok(())
}

/// Prints the entries that were never tried under a heading of their own, for the foot of the list of open items.
pub fn show_never_tried(never: &[&Shown], screen: &mut Screen) -> io::Result<()> {
    if never.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    let count = never.len();
    let head = format!(
        "{count} never tried, of what a boat going far should have proved; `leadsman proved` has the list"
    );
    screen.paragraph("", "  ", &styled(STRONG, head))?;
    let mut group = "";
    let mut line = String::new();
    for entry in never {
        if group != entry.required.group {
            if !line.is_empty() {
                screen.paragraph("  ", "      ", &line)?;
            }
            group = &entry.required.group;
            line = format!("{group}: ");
        } else {
            line += ", ";
        }
        line += &entry.required.name;
    }
    screen.paragraph("  ", "      ", &line)
}
