//! The account of a log: what became of every record in it.
//!
//! A record is what a format counts by: a sentence, a frame, a JSON object, a track point, a row; a line that is
//! none of these is a record too. Each is exactly one of blank, used, ignored by its kind, or refused with its
//! reason, so `records` is always the sum of the four.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::channel::SmallMap;

macro_rules! refusals {
    ($($variant:ident = $name:literal, $words:literal;)+) => {
        /// Why a record, or a value in it, was not used.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        #[repr(u8)]
        pub enum Refusal { $(#[doc = $words] $variant),+ }

        impl Refusal {
            /// All of them, in order.
            pub const ALL: &'static [Refusal] = &[$(Refusal::$variant),+];

            /// The name in the database and in JSON.
            pub fn name(self) -> &'static str {
                match self { $(Refusal::$variant => $name),+ }
            }

            /// What was wrong, as shown to the skipper.
            pub fn words(self) -> &'static str {
                match self { $(Refusal::$variant => $words),+ }
            }
        }

        impl fmt::Display for Refusal {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(self.words())
            }
        }
    };
}

refusals! {
    Junk = "junk", "not a record of this format";
    Truncated = "truncated", "cut off before its end";
    Checksum = "checksum", "the checksum does not fit what it covers";
    NoChecksum = "no_checksum", "has no checksum, though others in this log have one";
    Void = "void", "the sender itself marks it as not valid";
    Simulated = "simulated", "the sender marks it as simulated or typed in";
    Empty = "empty", "every field that is read from it is empty";
    Malformed = "malformed", "a field is not what its place asks for";
    UnknownUnit = "unknown_unit", "the unit is not one that this quantity is sent in";
    Range = "range", "a value lies outside what the quantity can be";
    Contradiction = "contradiction", "one value sent in two units differs by more than 2 %";
    Incomplete = "incomplete", "frames of a message in parts are missing";
    TooMany = "too_many", "more channels than a log may have";
    TooLong = "too_long", "longer than a record of this format may be";
    TooDeep = "too_deep", "nested deeper than this format needs";
    Entity = "entity", "an entity that is not one of XML's own five";
}

/// Records or values refused for one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refused {
    /// The kind of record: `MWV`, `130306`, `point`; empty for junk.
    pub kind: String,
    /// Why.
    pub reason: Refusal,
    /// How many.
    pub count: u64,
    /// Lines of the first of them, from 1; at most [`EXAMPLES`].
    pub lines: Vec<u64>,
}

/// First examples whose line is kept for each reason.
pub const EXAMPLES: usize = 3;

/// Kinds of record told apart; what comes after is counted as `other`.
pub const KINDS_MAX: usize = 400;

/// What became of every record of a log.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Account {
    /// All records.
    pub records: u64,
    /// Lines in the source.
    pub lines: u64,
    /// Records with nothing in them.
    pub blank: u64,
    /// Records that gave a value or a time, by kind.
    pub used: BTreeMap<String, u64>,
    /// Records of a kind that holds nothing kept here, by kind.
    pub ignored: BTreeMap<String, u64>,
    /// Records that were refused.
    pub refused: Vec<Refused>,
    /// Values given out.
    pub values: u64,
    /// Values refused within records that were otherwise used.
    pub values_refused: Vec<Refused>,
}

impl Account {
    /// Records used.
    pub fn used_count(&self) -> u64 {
        self.used.values().sum()
    }

    /// Records ignored by their kind.
    pub fn ignored_count(&self) -> u64 {
        self.ignored.values().sum()
    }

    /// Records refused.
    pub fn refused_count(&self) -> u64 {
        self.refused.iter().map(|r| r.count).sum()
    }

    /// Whether every record is accounted for: always so, unless there is a mistake in a reader.
    pub fn adds_up(&self) -> bool {
        self.records == self.blank + self.used_count() + self.ignored_count() + self.refused_count()
    }

    /// Records or values refused for a reason, over all kinds.
    pub fn refused_for(&self, reason: Refusal) -> u64 {
        self.refused.iter().chain(&self.values_refused).filter(|r| r.reason == reason).map(|r| r.count).sum()
    }
}

/// A kind of record as a number: up to eight printable bytes (`MWV`, `130306`).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Kindred(u64);

impl Kindred {
    /// A record of no kind.
    pub(super) const NONE: Kindred = Kindred(1);

    /// From a few printable bytes; what is longer than eight is cut.
    #[inline]
    pub(super) fn new(name: &[u8]) -> Kindred {
        let name = &name[..name.len().min(8)];
        let packed = name.iter().fold(0, |packed, &b| packed << 8 | u64::from(b));
        Kindred(if packed == 0 { 1 } else { packed })
    }

    fn name(self) -> String {
        if self == Self::NONE {
            return String::new();
        }
        let bytes = self.0.to_be_bytes();
        let start = bytes.iter().position(|&b| b != 0).unwrap_or(8);
        bytes[start..].iter().map(|&b| if b.is_ascii_graphic() { char::from(b) } else { '?' }).collect()
    }
}

/// An account being kept.
#[derive(Debug, Default)]
pub(super) struct Ledger {
    kinds: SmallMap,
    rows: Vec<Row>,
    refused: BTreeMap<(u32, Refusal), (u64, Vec<u64>)>,
    values_refused: BTreeMap<(u32, Refusal), (u64, Vec<u64>)>,
    pub(super) records: u64,
    pub(super) blank: u64,
    pub(super) values: u64,
}

#[derive(Debug)]
struct Row {
    kind: Kindred,
    used: u64,
    ignored: u64,
}

impl Ledger {
    #[inline]
    fn row(&mut self, kind: Kindred) -> usize {
        match self.kinds.get(kind.0) {
            Some(row) => row as usize,
            None => self.new_row(kind),
        }
    }

    #[cold]
    fn new_row(&mut self, kind: Kindred) -> usize {
        let other = Kindred::new(b"other");
        if self.rows.len() >= KINDS_MAX && kind != other {
            return self.row(other);
        }
        self.kinds.insert(kind.0, self.rows.len() as u32);
        self.rows.push(Row { kind, used: 0, ignored: 0 });
        self.rows.len() - 1
    }

    pub(super) fn blank(&mut self) {
        self.records += 1;
        self.blank += 1;
    }

    #[inline]
    pub(super) fn used(&mut self, kind: Kindred) {
        self.records += 1;
        let row = self.row(kind);
        self.rows[row].used += 1;
    }

    #[inline]
    pub(super) fn ignored(&mut self, kind: Kindred) {
        self.records += 1;
        let row = self.row(kind);
        self.rows[row].ignored += 1;
    }

    pub(super) fn refused(&mut self, kind: Kindred, reason: Refusal, line: u64) {
        self.records += 1;
        let row = self.row(kind) as u32;
        note(&mut self.refused, (row, reason), line);
    }

    pub(super) fn value_refused(&mut self, kind: Kindred, reason: Refusal, line: u64) {
        let row = self.row(kind) as u32;
        note(&mut self.values_refused, (row, reason), line);
    }

    pub(super) fn close(self, lines: u64) -> Account {
        let name = |row: u32| self.rows[row as usize].kind.name();
        let list = |map: &BTreeMap<(u32, Refusal), (u64, Vec<u64>)>| {
            let mut list: Vec<Refused> = map
                .iter()
                .map(|(&(row, reason), (count, lines))| Refused {
                    kind: name(row),
                    reason,
                    count: *count,
                    lines: lines.clone(),
                })
                .collect();
            list.sort_by(|a, b| b.count.cmp(&a.count).then_with(|| a.kind.cmp(&b.kind)));
            list
        };
        Account {
            records: self.records,
            lines,
            blank: self.blank,
            used: self.rows.iter().filter(|r| r.used > 0).map(|r| (r.kind.name(), r.used)).collect(),
            ignored: self.rows.iter().filter(|r| r.ignored > 0).map(|r| (r.kind.name(), r.ignored)).collect(),
            refused: list(&self.refused),
            values: self.values,
            values_refused: list(&self.values_refused),
        }
    }
}

fn note(map: &mut BTreeMap<(u32, Refusal), (u64, Vec<u64>)>, key: (u32, Refusal), line: u64) {
    let (count, lines) = map.entry(key).or_default();
    *count += 1;
    if lines.len() < EXAMPLES {
        lines.push(line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_record_is_one_of_four() {
        let mut ledger = Ledger::default();
        ledger.blank();
        ledger.used(Kindred::new(b"MWV"));
        ledger.used(Kindred::new(b"MWV"));
        ledger.ignored(Kindred::new(b"GSV"));
        for line in 10..20 {
            ledger.refused(Kindred::NONE, Refusal::Junk, line);
        }
        ledger.value_refused(Kindred::new(b"XDR"), Refusal::UnknownUnit, 3);
        let account = ledger.close(14);
        assert!(account.adds_up());
        assert_eq!(account.records, 14);
        assert_eq!(account.used["MWV"], 2);
        assert_eq!(account.ignored["GSV"], 1);
        assert_eq!(
            account.refused,
            [Refused { kind: String::new(), reason: Refusal::Junk, count: 10, lines: vec![10, 11, 12] }]
        );
        assert_eq!(account.refused_for(Refusal::UnknownUnit), 1);
        for &refusal in Refusal::ALL {
            assert_eq!(serde_json::to_value(refusal).expect("a name"), refusal.name());
        }
    }

    #[test]
    fn a_flood_of_kinds_is_bounded() {
        let mut ledger = Ledger::default();
        for n in 0..100_000u32 {
            ledger.ignored(Kindred::new(format!("K{n}").as_bytes()));
        }
        let account = ledger.close(0);
        assert!(account.adds_up());
        assert!(account.ignored.len() <= KINDS_MAX + 1);
        assert!(account.ignored["other"] > 90_000);
    }
}
