//! The list of open items, for a person.

use std::io;

use chrono::NaiveDate;
use leadsman_ingest::Why;
use leadsman_ingest::matter::Evidence;

use super::order::parts;
use super::{Closed, Open, OpenList};
use crate::decide::rank_word;
use crate::figure;
use crate::instruments::show_measured;
use crate::screen::{BAD, CARE, FAINT, STRONG, Screen, styled};
use crate::words::{quoted, shortened, why};

/// How many of an item's pieces of evidence are shown; the others are counted, and stand in the JSON.
const MOST: usize = 3;
/// How many characters of a matter are shown in one piece.
const LONGEST_MATTER: usize = 160;
/// How many characters of an item's own words stand for its name where no gear does.
const LONGEST_CALL: usize = 60;
/// Words of a note from this many on are shown by themselves.
const SAYS_ENOUGH: usize = 6;
/// How many characters of a piece of evidence are shown; the place tells where the rest is.
const LONGEST_QUOTE: usize = 240;
/// Where an item's text begins.
const INDENT: &str = "           ";

/// What of the list is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    /// What was closed and dismissed too.
    pub all: bool,
    /// What each item's place in the list comes from.
    pub why: bool,
}

/// Prints what stands open, what the skipper sails with, what is put off, and what is closed only by what notes say;
/// with `all` everything that was closed.
pub fn show(list: &OpenList, shown: Shown, screen: &mut Screen) -> io::Result<()> {
    head(list, screen)?;
    for (index, item) in list.open.iter().enumerate() {
        screen.gap()?;
        open(&format!("{:>3}. ", index + 1), item, list.on, shown, screen)?;
    }
    perhaps(list, screen)?;
    let apart =
        [(&list.accepted, "accepted: sailing with it as it is"), (&list.put_off, "put off to a later day")];
    for (items, heading) in apart {
        if !items.is_empty() {
            screen.gap()?;
            screen.line(styled(STRONG, format!("{} {heading}", items.len())))?;
        }
        for item in items {
            screen.gap()?;
            open("     ", item, list.on, shown, screen)?;
        }
    }
    let unconfirmed: Vec<&Closed> = list.closed.iter().filter(|item| item.unconfirmed).collect();
    if !unconfirmed.is_empty() {
        screen.gap()?;
        let heading = format!(
            "{} closed by what a note says, and not yet confirmed: `confirm` or `reopen` NAME",
            unconfirmed.len()
        );
        screen.paragraph("", "  ", &styled(STRONG, heading))?;
        for item in unconfirmed {
            closed_line(item, screen)?;
        }
    }
    let all = shown.all;
    if all && !list.closed.is_empty() {
        screen.gap()?;
        screen.line(styled(STRONG, format!("{} closed, latest first", list.closed.len())))?;
        for item in &list.closed {
            screen.gap()?;
            closed(item, screen)?;
        }
    } else if list.closed.len() + list.left_out > 0 {
        let count = list.closed.len() + list.left_out;
        screen.gap()?;
        screen.line(styled(FAINT, format!("{count} closed; --all shows what closed them")))?;
    }
    if all && !list.dismissed.is_empty() {
        screen.gap()?;
        screen.line(styled(STRONG, format!("{} dismissed: nothing of the kind", list.dismissed.len())))?;
        for item in &list.dismissed {
            screen.gap()?;
            let first = format!("     {}  ", styled(STRONG, &item.name));
            screen.paragraph(&first, INDENT, &called(&item.gear, &item.about))?;
            evidence(&item.about, &item.evidence, screen)?;
        }
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
        0 if list.perhaps.len() + list.accepted.len() + list.put_off.len() == 0 => {
            "Nothing stands open".to_owned()
        }
        0 => "Nothing else stands open".to_owned(),
        n => format!("{n} open, most pressing first"),
    };
    screen.paragraph("", "  ", &format!("{what}; on {} from {notes}{later}", figure::day(list.on)))
}

fn open(number: &str, item: &Open, on: NaiveDate, shown: Shown, screen: &mut Screen) -> io::Result<()> {
    let first = format!("{number}{}  ", styled(STRONG, &item.name));
    let reasons: Vec<String> = item.reasons.iter().map(|&reason| coloured(reason)).collect();
    let since = item.opened.map_or_else(
        || "day not known".to_owned(),
        |day| format!("since {}, {}", figure::day(day), figure::days_away(on, day)),
    );
    let head = format!("{}: {}; {since}", called(&item.gear, &item.about), reasons.join(", "));
    screen.paragraph(&first, INDENT, &head)?;
    let standing = said(item, on);
    if !standing.is_empty() {
        screen.paragraph(INDENT, INDENT, &styled(CARE, standing.join("; ")))?;
    }
    for remark in &item.standing.remarks {
        screen.paragraph(
            INDENT,
            INDENT,
            &format!("noted {}: {}", figure::day(remark.at.date_naive()), remark.text),
        )?;
    }
    if shown.why {
        screen.paragraph(INDENT, INDENT, &format!("order: {}", parts(item, on)))?;
    }
    if let Some(due) = &item.due {
        let days = if due.from == due.until {
            figure::day(due.until)
        } else {
            format!("{} to {}", figure::day(due.from), figure::day(due.until))
        };
        screen.paragraph(INDENT, INDENT, &format!("{}: {days}", due.what))?;
    }
    if item.evidence.is_empty() {
        screen.paragraph(INDENT, INDENT, &format!("added by you: {}", item.about))?;
    }
    evidence(&item.about, &item.evidence, screen)?;
    show_measured(INDENT, &item.measured, screen)?;
    screen.paragraph(INDENT, INDENT, &styled(FAINT, format!("settled by: {}", item.settled_by)))
}

/// What may be nothing, or over by now, each with the words that leave it in doubt.
fn perhaps(list: &OpenList, screen: &mut Screen) -> io::Result<()> {
    if list.perhaps.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    let heading = format!(
        "{} perhaps, for you to say: `confirm` what stands, `close` or `dismiss` what does not",
        list.perhaps.len()
    );
    screen.paragraph("", "  ", &styled(STRONG, heading))?;
    for item in &list.perhaps {
        screen.gap()?;
        let reasons: Vec<String> = item.reasons.iter().map(|&reason| coloured(reason)).collect();
        let first = format!("     {}  ", styled(STRONG, &item.name));
        let head = format!("{}: {}", called(&item.gear, &item.about), reasons.join(", "));
        screen.paragraph(&first, INDENT, &head)?;
        evidence(&item.about, &item.evidence, screen)?;
        if let Some(over) = &item.maybe_over {
            let words = quoted(&shortened(&over.quote, LONGEST_QUOTE));
            screen.paragraph(INDENT, INDENT, &format!("perhaps over: {words}  {}", over.name))?;
        }
    }
    Ok(())
}

/// What the skipper says of an item, each point in a few words.
pub(super) fn said(item: &Open, on: NaiveDate) -> Vec<String> {
    let standing = &item.standing;
    let day = |day: NaiveDate| format!("{}, {}", figure::day(day), figure::days_away(on, day));
    let due = standing.waits_until.map_or_else(String::new, |due| format!(", due {}", day(due)));
    let parts = [
        standing.rank.map(|rank| rank_word(rank).to_owned()),
        standing.accepted.as_ref().map(|because| format!("accepted: {because}")),
        standing.put_off_until.map(|until| format!("put off until {}", day(until))),
        standing.given_to.as_ref().map(|who| format!("given to {who}")),
        standing.waits_for.as_ref().map(|what| format!("waits for {what}{due}")),
        standing.due_on.map(|due| format!("due by {}", day(due))),
    ];
    parts.into_iter().flatten().collect()
}

/// A closing in a line or two: what, and the words that closed it.
fn closed_line(item: &Closed, screen: &mut Screen) -> io::Result<()> {
    let first = format!("     {}  ", styled(STRONG, &item.name));
    let place = item.closed_in.as_ref().map_or_else(String::new, |name| format!("  {name}"));
    let because = quoted(&shortened(&item.because, LONGEST_QUOTE));
    screen.paragraph(&first, INDENT, &format!("{}: {because}{place}", called(&item.gear, &item.about)))
}

fn closed(item: &Closed, screen: &mut Screen) -> io::Result<()> {
    let first = format!("     {}  ", styled(STRONG, &item.name));
    let day = item.closed.map_or_else(String::new, |at| format!(" {}", figure::day(at.date_naive())));
    let by = match item.closed_by.as_str() {
        "trial" => "a trial",
        "ruling" => "the skipper",
        "judged" => "what a note says as a whole",
        _ => "a note that says so",
    };
    let again = if item.open_again { styled(CARE, " (open again)") } else { String::new() };
    let place = item.closed_in.as_ref().map_or_else(String::new, |name| format!("  {name}"));
    let because = quoted(&shortened(&item.because, LONGEST_QUOTE));
    let head = format!("{}: closed{day} by {by}{again}: {because}{place}", called(&item.gear, &item.about));
    screen.paragraph(&first, INDENT, &head)?;
    evidence(&item.about, &item.evidence, screen)
}

/// What an item is called in a list: its gear, or its own words where it has none.
fn called(gear: &Option<String>, about: &str) -> String {
    styled(STRONG, gear.as_ref().map_or_else(|| shortened(about, LONGEST_CALL), Clone::clone))
}

/// The matter in a line or two.
pub fn matter(gear: &Option<String>, about: &str) -> String {
    let about = shortened(about, LONGEST_MATTER);
    match gear {
        // A matter may begin with the name of its gear.
        Some(gear) if about.to_lowercase().starts_with(&gear.to_lowercase()) => about,
        Some(gear) => format!("{}: {about}", styled(STRONG, gear)),
        None => about,
    }
}

fn evidence(about: &str, evidence: &[Evidence], screen: &mut Screen) -> io::Result<()> {
    // The latest words say how the matter stands now.
    for words in evidence.iter().rev().take(MOST) {
        if let Some(around) = around(about, &words.quote) {
            screen.paragraph(INDENT, INDENT, &around)?;
        }
        let at = words.at.map_or_else(String::new, |at| format!(", {}", figure::moment(at)));
        let text = format!("{}  {}{at}", quoted(&shortened(&words.quote, LONGEST_QUOTE)), words.name);
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

/// What stands around a few words in the matter, for words that say little by themselves ("not good enough"): no more
/// than a line or two, the nearest before them.
pub fn around(about: &str, quote: &str) -> Option<String> {
    if quote.split_whitespace().count() >= SAYS_ENOUGH {
        return None;
    }
    let at = about.rfind(quote)?;
    let start = about[..at].rfind("; ").map_or(0, |found| found + 2);
    let end = about[at..].find("; ").map_or(about.len(), |found| at + found);
    let mut words: Vec<&str> = about[start..end].split_whitespace().collect();
    let mut cut = false;
    while words.iter().map(|word| word.chars().count() + 1).sum::<usize>() > LONGEST_MATTER && words.len() > 1
    {
        words.remove(0);
        cut = true;
    }
    let text = words.join(" ");
    (text != quote).then(|| if cut { format!("… {text}") } else { text })
}

fn coloured(reason: Why) -> String {
    let style = match reason {
        Why::FailedTrial | Why::OutOfLimits | Why::Overdue => BAD,
        Why::InconclusiveTrial | Why::Unproven | Why::Task => CARE,
    };
    styled(style, why(reason))
}
