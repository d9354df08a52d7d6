//! Matters: the items of many notes folded, in the order of the notes, into what stands open and what was closed.
//!
//! A matter is what a mate would call one thing: raised by one note, borne out by others, put right by a later
//! trial or word, or by the skipper's own ruling, which wins. The fold is a pure function of notes, rulings, the
//! passage and a date, so that every device comes to the same list.

use std::cmp::Reverse;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};

use crate::found::{Due, Item, Note, Span, Why};

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
        for item in raised(&notes[..index], noted, passage, on) {
            ledger.open.push(Matter {
                name: short_name(noted.source, item.span),
                gear: item.gear.clone(),
                about: item.about.clone(),
                why: vec![item.why],
                due: item.due.clone(),
                evidence: vec![evidence(noted, &item)],
                closed: None,
            });
        }
    }
    for ruling in rulings {
        if let Says::Close { because } = &ruling.says
            && let Some(at) = ledger.open.iter().position(|m| m.name == ruling.matter)
        {
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
    ledger.open.sort_by_key(|m| Reverse(m.why.first().copied()));
    ledger
}

/// The items that a note raises in the light of the notes before it, oldest first: its own, and those that only
/// show against an earlier limit, date or passage.
pub fn raised(_before: &[Noted<'_>], noted: &Noted<'_>, _passage: &Passage, _on: NaiveDate) -> Vec<Item> {
    noted.note.items.clone()
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
