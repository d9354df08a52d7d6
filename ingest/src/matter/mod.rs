//! Matters: the items of many notes folded, in the order of the notes, into what stands open and what was closed.
//!
//! A matter is what a mate would call one thing: raised by one note, borne out by others, put right by a later
//! trial or word, or by the skipper's own ruling, which wins. The fold is a pure function of notes, rulings, the
//! passage and a date, so that every device comes to the same list.

pub mod limits;
pub mod raise;
pub mod same;

#[cfg(test)]
mod tests;

use std::cmp::Reverse;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};

use crate::found::{Closing, Due, Item, Note, Outcome, Remark, Span, Trial, Why};
pub use raise::raised;
use same::{about_alike, alike, same_gear};

/// A note with where it came from, as the fold sees it.
#[derive(Clone, Copy, Debug)]
pub struct Noted<'a> {
    /// Name of its source: the SHA-256 in hexadecimal.
    pub source: &'a str,
    /// The name that its file had.
    pub name: &'a str,
    /// What was found in it.
    pub note: &'a Note,
}

/// The coming voyage, as far as the fold needs it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Passage {
    /// Departure.
    pub leaves: Option<NaiveDate>,
    /// Last day on which the boat may still be away.
    pub back: Option<NaiveDate>,
}

/// The skipper's own word on a matter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ruling {
    /// Short name of the matter.
    pub matter: String,
    /// When it was given.
    pub at: DateTime<FixedOffset>,
    /// What it says.
    pub says: Says,
}

/// What a ruling says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "says", rename_all = "snake_case")]
pub enum Says {
    /// It is done.
    Close {
        /// In the skipper's words.
        because: String,
    },
    /// It stands open after all.
    Reopen {
        /// In the skipper's words.
        because: String,
    },
}

/// Words that bear on a matter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Evidence {
    /// Source, by its SHA-256.
    pub source: String,
    /// The name that its file had.
    pub name: String,
    /// When it was said.
    pub at: Option<DateTime<FixedOffset>>,
    /// Where it stands.
    pub span: Span,
    /// The words.
    pub quote: String,
    /// Why it opens the matter; `None` for words that close it.
    pub why: Option<Why>,
}

/// What closed a matter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClosedBy {
    /// `trial`, `word` (the note says it is done) or `ruling` (the skipper closed it here).
    pub by: String,
    /// The words: from the note, or the skipper's reason.
    pub quote: String,
    /// The evidence, where a note closed it.
    pub evidence: Option<Evidence>,
    /// When.
    pub at: Option<DateTime<FixedOffset>>,
}

/// One thing that stands, or stood, between the boat and departure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Matter {
    /// Short name of three or more letters and digits, from the first evidence's source and place.
    pub name: String,
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// Why it is open, the reason of the latest evidence first.
    pub why: Vec<Why>,
    /// A date that it hangs on.
    pub due: Option<Due>,
    /// The words that raised it and bear it out, oldest first.
    pub evidence: Vec<Evidence>,
    /// What closed it; `None` for an open one. A matter that came back stands in both lists.
    pub closed: Option<ClosedBy>,
}

impl Matter {
    /// The words of its evidence, without what the program says of its gear.
    pub fn words(&self) -> String {
        self.evidence.iter().map(|e| e.quote.as_str()).collect::<Vec<_>>().join(" ")
    }
}

/// All matters, open and closed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ledger {
    /// What stands open, most pressing first.
    pub open: Vec<Matter>,
    /// Every closing, latest first.
    pub closed: Vec<Matter>,
}

/// Folds notes, oldest first, into matters. `on` is the day asked about: dates before it have passed.
pub fn fold(notes: &[Noted<'_>], rulings: &[Ruling], passage: &Passage, on: NaiveDate) -> Ledger {
    let mut ledger = Ledger::default();
    for (index, noted) in notes.iter().enumerate() {
        let before = &notes[..index];
        close_by_note(&mut ledger, before, noted, passage, on);
        for item in raised(before, noted, passage, on) {
            open(&mut ledger, noted, &item);
        }
    }
    let mut rulings: Vec<&Ruling> = rulings.iter().collect();
    rulings.sort_by_key(|r| r.at);
    for ruling in rulings {
        rule(&mut ledger, ruling);
    }
    ledger.open.sort_by_key(|m| (Reverse(pressing(m)), m.evidence.first().and_then(|e| e.at)));
    ledger.closed.sort_by_key(|m| Reverse(m.closed.as_ref().and_then(|c| c.at)));
    ledger
}

/// How pressing a matter is by why it is open: what failed before what was never tried, work after both.
fn pressing(matter: &Matter) -> u8 {
    match matter.why.first() {
        Some(Why::FailedTrial) => 6,
        Some(Why::OutOfLimits) => 5,
        Some(Why::Overdue) => 4,
        Some(Why::Unproven) => 3,
        Some(Why::InconclusiveTrial) => 2,
        Some(Why::Task) => 1,
        None => 0,
    }
}

/// Adds an item to the open matter that it belongs to, or opens a new one.
fn open(ledger: &mut Ledger, noted: &Noted<'_>, item: &Item) {
    let evidence = evidence(noted, item);
    match ledger.open.iter_mut().find(|m| same::same_matter(m, item)) {
        Some(matter) => {
            // Talk of the whole takes a matter of a part over.
            if item.gear.as_deref().is_some_and(|whole| same::is_part(matter.gear.as_deref(), whole)) {
                matter.gear.clone_from(&item.gear);
            }
            matter.why.retain(|w| *w != item.why);
            matter.why.insert(0, item.why);
            matter.due = item.due.clone().or(matter.due.take());
            add_words(&mut matter.about, &item.about);
            matter.evidence.push(evidence);
        }
        None => ledger.open.push(Matter {
            name: short_name(noted.source, item.span),
            gear: item.gear.clone(),
            about: item.about.clone(),
            why: vec![item.why],
            due: item.due.clone(),
            evidence: vec![evidence],
            closed: None,
        }),
    }
}

/// Adds what later evidence says of a matter to what the first said, where it says more.
fn add_words(about: &mut String, more: &str) {
    const LONGEST: usize = 700;
    if about.len() + more.len() < LONGEST && !about.contains(more) {
        about.push_str("; ");
        about.push_str(more);
    }
}

/// Closes what a note puts right: by a passed trial, by the speaker's word, by a reading back inside its limits, by a
/// new date.
fn close_by_note(
    ledger: &mut Ledger,
    before: &[Noted<'_>],
    noted: &Noted<'_>,
    passage: &Passage,
    on: NaiveDate,
) {
    let mut kept = Vec::new();
    for mut matter in std::mem::take(&mut ledger.open) {
        match closing_of(&matter, before, noted, passage, on) {
            Some(closed) => {
                add_words(&mut matter.about, &format!("put right: {}", closed.quote));
                matter.closed = Some(closed);
                ledger.closed.push(matter);
            }
            None => kept.push(matter),
        }
    }
    ledger.open = kept;
}

fn closing_of(
    matter: &Matter,
    before: &[Noted<'_>],
    noted: &Noted<'_>,
    passage: &Passage,
    on: NaiveDate,
) -> Option<ClosedBy> {
    let note = noted.note;
    // Tried, but not yet believed: "it works tied to a jetty, I want to see it heeled".
    let doubted =
        note.items.iter().any(|i| i.why != Why::Task && same_gear(i.gear.as_deref(), matter.gear.as_deref()));
    if let Some(trial) = note.trials.iter().find(|t| settles(t, matter)).filter(|_| !doubted) {
        return Some(closed_by("trial", noted, trial.span, &trial.quote, trial.at.map(|m| m.at)));
    }
    if let Some(reading) = limits::back_inside(matter, before, noted) {
        return Some(closed_by("reading", noted, reading.span, &reading.quote, reading.at.map(|m| m.at)));
    }
    if matter.why.contains(&Why::Overdue)
        && let Some((_, due, span)) = note.dues.iter().find(|(gear, due, _)| {
            same_gear(gear.as_deref(), matter.gear.as_deref())
                && !raise::comes_too_early(due, before, noted, passage, on)
        })
    {
        return Some(closed_by("date", noted, *span, &due.said, note.recorded.map(|m| m.at)));
    }
    if let Some(closing) = note.closings.iter().find(|c| ends(c, matter, note)) {
        return Some(closed_by("word", noted, closing.span, &closing.quote, closing.at.map(|m| m.at)));
    }
    let remark = note.remarks.iter().find(|r| shows_done(r, matter))?;
    Some(closed_by("word", noted, remark.span, &remark.quote, remark.at.map(|m| m.at)))
}

/// Whether a trial settles a matter: a pass of the same gear, in a matter that trying can settle.
fn settles(trial: &Trial, matter: &Matter) -> bool {
    if trial.outcome != Outcome::Pass {
        return false;
    }
    let gear = matter.gear.as_deref();
    // A general name ("the pump") settles a matter only where the words are alike too.
    let same = same::named_alike(Some(&trial.gear), gear)
        || same_gear(Some(&trial.gear), gear) && about_alike(&trial.quote, &matter.words())
        || same::lifts(trial, matter);
    // A whole that passes has proved a part that was not tried, but has not mended one that failed.
    if matter.why.first() == Some(&Why::Unproven) && same::is_part(gear, &trial.gear) {
        return true;
    }
    same && match matter.why.first() {
        Some(Why::FailedTrial | Why::InconclusiveTrial | Why::Unproven | Why::OutOfLimits) => true,
        // Work on the gear itself is done when the gear passes; something to be bought or asked is not.
        Some(Why::Task) => !same::is_errand(&matter.words()),
        Some(Why::Overdue) | None => false,
    }
}

/// Whether the speaker's word ends a matter. A failure is ended by a plain word on the same gear ("sorted"), and only
/// where the note does not say that it still wants trying; work by any closing word on the same gear and matter.
fn ends(closing: &Closing, matter: &Matter, note: &Note) -> bool {
    let gear = same_gear(closing.gear.as_deref(), matter.gear.as_deref());
    match matter.why.first() {
        Some(Why::Task) => {
            if matter.gear.is_some() && closing.gear.is_some() {
                gear && (about_alike(&closing.quote, &matter.words())
                    || same::is_final(&closing.how)
                    || same::renews(&closing.how)
                    || !same::is_errand(&matter.words()))
            } else {
                alike(&closing.quote, &matter.words()) >= 2
            }
        }
        Some(Why::Overdue) => gear && same::renews(&closing.how),
        Some(Why::FailedTrial | Why::OutOfLimits | Why::InconclusiveTrial) => {
            let doubted = note.items.iter().any(|i| same_gear(i.gear.as_deref(), matter.gear.as_deref()));
            gear && matter.gear.is_some() && same::is_final(&closing.how) && !doubted
        }
        Some(Why::Unproven) | None => false,
    }
}

/// Whether a plain statement shows that a task is done: it is of the same gear, and speaks of the same matter.
fn shows_done(remark: &Remark, matter: &Matter) -> bool {
    let gear = matter.gear.as_deref();
    matter.why.first() == Some(&Why::Task)
        && (same_gear(Some(&remark.gear), gear) || gear.is_none())
        && alike(&remark.quote, &matter.words()) >= 2
}

fn closed_by(
    by: &str,
    noted: &Noted<'_>,
    span: Span,
    quote: &str,
    at: Option<DateTime<FixedOffset>>,
) -> ClosedBy {
    let evidence = Evidence {
        source: noted.source.to_owned(),
        name: noted.name.to_owned(),
        at,
        span,
        quote: quote.to_owned(),
        why: None,
    };
    ClosedBy { by: by.to_owned(), quote: quote.to_owned(), evidence: Some(evidence), at }
}

/// Carries out the skipper's word on a matter.
fn rule(ledger: &mut Ledger, ruling: &Ruling) {
    match &ruling.says {
        Says::Close { because } => {
            if let Some(at) = ledger.open.iter().position(|m| m.name == ruling.matter) {
                let mut matter = ledger.open.remove(at);
                matter.closed = Some(ClosedBy {
                    by: "ruling".to_owned(),
                    quote: because.clone(),
                    evidence: None,
                    at: Some(ruling.at),
                });
                ledger.closed.push(matter);
            }
        }
        Says::Reopen { .. } => {
            if let Some(at) = ledger.closed.iter().rposition(|m| m.name == ruling.matter)
                && !ledger.open.iter().any(|m| m.name == ruling.matter)
            {
                let mut matter = ledger.closed.remove(at);
                matter.closed = None;
                ledger.open.push(matter);
            }
        }
    }
}

fn evidence(noted: &Noted<'_>, item: &Item) -> Evidence {
    Evidence {
        source: noted.source.to_owned(),
        name: noted.name.to_owned(),
        at: item.at.map(|m| m.at),
        span: item.span,
        quote: item.quote.clone(),
        why: Some(item.why),
    }
}

/// A short name that is the same on every device: from the source's hash and the place of the first evidence.
/// Letters and digits that are easily told apart; vowels left out, so that no word comes of it.
pub fn short_name(source: &str, span: Span) -> String {
    const SIGNS: &[u8] = b"23456789bcdfghjkmnpqrstvwxz";
    // FNV-1a, 64 bits: offset basis and prime from the published parameters of that hash (from memory).
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for byte in source.bytes().chain((span.start as u64).to_le_bytes()) {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    }
    (0..4)
        .map(|_| {
            let sign = SIGNS[(hash % SIGNS.len() as u64) as usize];
            hash /= SIGNS.len() as u64;
            sign as char
        })
        .collect()
}
