//! The list of open items, for a person.

use std::io;

use chrono::NaiveDate;
use leadsman_ingest::Why;
use leadsman_ingest::matter::Evidence;

use super::{Closed, Open, OpenList};
use crate::figure;
use crate::screen::{BAD, CARE, FAINT, STRONG, Screen, styled};
use crate::words::{quoted, why};

/// How many of an item's pieces of evidence are shown; the others are counted, and stand in the JSON.
const MOST: usize = 3;
/// How many characters of a matter are shown above its evidence.
const LONGEST_MATTER: usize = 160;
/// How many characters of a piece of evidence are shown; the place tells where the rest is.
const LONGEST_QUOTE: usize = 240;
/// Where an item's text begins.
const INDENT: &str = "           ";

/// Prints what stands open, and with `all` what was closed.
pub fn show(list: &OpenList, all: bool, screen: &mut Screen) -> io::Result<()> {
    head(list, screen)?;
    for (index, item) in list.open.iter().enumerate() {
        screen.gap()?;
        open(index + 1, item, list.on, screen)?;
    }
    if all && !list.closed.is_empty() {
        screen.gap()?;
        screen.line(styled(STRONG, format!("{} closed, latest first", list.closed.len())))?;
        for item in &list.closed {
            screen.gap()?;
            closed(item, screen)?;
        }
    } else if !list.closed.is_empty() {
        screen.gap()?;
        screen.line(styled(FAINT, format!("{} closed; --all shows what closed them", list.closed.len())))?;
    }
    Ok(())
}

fn head(list: &OpenList, screen: &mut Screen) -> io::Result<()> {
    let voyage = &list.voyage;
    let by = |from: &Option<String>| from.as_ref().map_or_else(String::new, |from| format!(" ({from})"));
    match voyage.leaves {
        Some(leaves) => {
            let away = figure::days_away(list.on, leaves);
            let verb = if leaves < list.on { "Departure was" } else { "Departure" };
            let text = format!("{verb} {}, {away}{}", figure::day(leaves), by(&voyage.leaves_from));
            screen.paragraph("", "  ", &styled(STRONG, text))?;
        }
        None => screen.paragraph(
            "",
            "  ",
            "No departure is known; `leadsman passage --departure DATE` sets it",
        )?,
    }
    if let Some(back) = voyage.back {
        screen.paragraph("", "  ", &format!("Back by {}{}", figure::day(back), by(&voyage.back_from)))?;
    }
    if list.notes == 0 && list.later_notes > 0 {
        let later = figure::count(list.later_notes, "note is", "notes are");
        return screen.paragraph(
            "",
            "  ",
            &format!("No note is of {} or before; {later} later", figure::day(list.on)),
        );
    }
    if list.notes == 0 {
        return screen.paragraph(
            "",
            "  ",
            "Nothing is known yet: `leadsman ingest FILE` takes the first note",
        );
    }
    let notes = figure::count(list.notes, "note", "notes");
    let later = match list.later_notes {
        0 => String::new(),
        n => format!(", {n} of later days left out"),
    };
    let what = match list.open.len() {
        0 if list.notes == 0 => {
            "Nothing is known yet: `leadsman ingest FILE` takes the first note".to_owned()
        }
        0 => "Nothing stands open".to_owned(),
        n => format!("{n} open, most pressing first"),
    };
    screen.paragraph("", "  ", &format!("{what}; on {} from {notes}{later}", figure::day(list.on)))
}

fn open(number: usize, item: &Open, on: NaiveDate, screen: &mut Screen) -> io::Result<()> {
    let first = format!("{number:>3}. {}  ", styled(STRONG, &item.name));
    let shown = matter(&item.gear, &item.about);
    screen.paragraph(&first, INDENT, &shown)?;
    let reasons: Vec<String> = item.reasons.iter().map(|&reason| coloured(reason)).collect();
    let since = item.opened.map_or_else(
        || "day not known".to_owned(),
        |day| format!("since {}, {}", figure::day(day), figure::days_away(on, day)),
    );
    screen.paragraph(INDENT, INDENT, &format!("{}; {since}", reasons.join(", ")))?;
    if let Some(due) = &item.due {
        let days = if due.from == due.until {
            figure::day(due.until)
        } else {
            format!("{} to {}", figure::day(due.from), figure::day(due.until))
        };
        screen.paragraph(INDENT, INDENT, &format!("{}: {days}, said as {}", due.what, quoted(&due.said)))?;
    }
    evidence(&shown, &item.evidence, screen)?;
    screen.paragraph(INDENT, INDENT, &styled(FAINT, format!("settled by: {}", item.settled_by)))
}

fn closed(item: &Closed, screen: &mut Screen) -> io::Result<()> {
    let first = format!("     {}  ", styled(STRONG, &item.name));
    let shown = matter(&item.gear, &item.about);
    screen.paragraph(&first, INDENT, &shown)?;
    let day = item.closed.map_or_else(String::new, |at| format!(" {}", figure::day(at.date_naive())));
    let by = match item.closed_by.as_str() {
        "trial" => "a trial",
        "ruling" => "the skipper",
        _ => "a note that says so",
    };
    let again = if item.open_again { styled(CARE, " (open again)") } else { String::new() };
    let place = item.closed_in.as_ref().map_or_else(String::new, |name| format!("  {name}"));
    let text =
        format!("closed{day} by {by}{again}: {}{place}", quoted(&shortened(&item.because, LONGEST_QUOTE)));
    screen.paragraph(INDENT, INDENT, &text)?;
    evidence(&shown, &item.evidence, screen)
}

/// The matter in a line or two, as it is shown: many words about it stand in its evidence.
pub fn matter(gear: &Option<String>, about: &str) -> String {
    let about = shortened(&without_purpose(gear, about), LONGEST_MATTER);
    match gear {
        // A matter may begin with the name of its gear.
        Some(gear) if about.to_lowercase().starts_with(&gear.to_lowercase()) => about,
        Some(gear) => format!("{}: {about}", styled(STRONG, gear)),
        None => about,
    }
}

/// A matter's words without "GEAR (what it is there for): " before each of its pieces, which tells a skipper nothing
/// new.
fn without_purpose(gear: &Option<String>, about: &str) -> String {
    let Some(gear) = gear else { return about.to_owned() };
    let bare = |piece: &'_ str| -> String {
        let purpose = piece.strip_prefix(gear.as_str()).and_then(|rest| rest.strip_prefix(" ("));
        purpose.and_then(|rest| Some(rest.split_once("): ")?.1)).unwrap_or(piece).to_owned()
    };
    about.split("; ").map(bare).collect::<Vec<_>>().join("; ")
}

/// The beginning of a text, up to a word's end, with a sign that it goes on.
fn shortened(text: &str, longest: usize) -> String {
    let mut out = String::new();
    for word in text.split_whitespace() {
        if !out.is_empty() && out.chars().count() + 1 + word.chars().count() > longest {
            return out.trim_end_matches([';', ',', ':']).to_owned() + " …";
        }
        if !out.is_empty() {
            out.push(' ');
        }
        out += word;
    }
    out
}

fn evidence(shown: &str, evidence: &[Evidence], screen: &mut Screen) -> io::Result<()> {
    // The latest words say how the matter stands now.
    for words in evidence.iter().rev().take(MOST) {
        let at = words.at.map_or_else(String::new, |at| format!(", {}", figure::moment(at)));
        let place = format!("{}{at}", words.name);
        // A matter is often called by the very words that raised it; they are not shown twice.
        let text = if shown.contains(&words.quote) {
            format!("in {place}")
        } else {
            format!("{}  {place}", quoted(&shortened(&words.quote, LONGEST_QUOTE)))
        };
        screen.paragraph(INDENT, INDENT, &text)?;
    }
    if evidence.len() > MOST {
        screen.line(format!(
            "{INDENT}and {} before",
            figure::count(evidence.len() - MOST, "piece of evidence", "pieces of evidence")
        ))?;
    }
    Ok(())
}

fn coloured(reason: Why) -> String {
    let style = match reason {
        Why::FailedTrial | Why::OutOfLimits | Why::Overdue => BAD,
        Why::InconclusiveTrial | Why::Unproven | Why::Task => CARE,
    };
    styled(style, why(reason))
}
