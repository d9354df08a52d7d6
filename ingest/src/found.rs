//! What can be found in a source: the plain data that the other crates store, search and show.
//!
//! Every finding has a [`Span`] in the source's own bytes, so that it can be shown in place, and a `quote`: the
//! words there, with line breaks and time stamps between them left out.

use std::fmt;
use std::ops::Range;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};

use crate::format::is_numbered;

/// A stretch of a source, in bytes of the source as it was given, `start..end`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// Makes a span from its two ends in bytes.
    pub fn new(start: usize, end: usize) -> Self {
        debug_assert!(start <= end, "a span runs forward");
        Self { start, end }
    }

    /// Covers both spans and what lies between.
    pub fn to(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Whether both have bytes in common.
    pub fn meets(self, other: Span) -> bool {
        self.start < other.end && other.start < self.end
    }

    /// The span as a range for slicing.
    pub fn range(self) -> Range<usize> {
        self.start..self.end
    }
}

/// How a time is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Written or said in the source, or given by the skipper.
    Stated,
    /// Worked out: from the start of the recording and a cue's offset, from the entry before, from a file's name.
    Inferred,
    /// Only the file's modification time is known; a reading with such a time is a doubt.
    FileTime,
}

/// An instant with the offset that was in force aboard, and how it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moment {
    /// The instant.
    pub at: DateTime<FixedOffset>,
    /// How it is known.
    pub basis: Basis,
}

/// A stretch of a source's words: a cue, a written line, a paragraph, a list item, a table cell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Utterance {
    /// The bytes it was found in, mark-up included.
    pub span: Span,
    /// The bytes that are words: mark-up, stamps and cue settings left out. In order, within `span`.
    pub words: Vec<Span>,
    /// The words as text, entities decoded.
    pub text: String,
    /// When it was said or written.
    pub at: Option<Moment>,
    /// Cue identifier, where the format has one.
    pub id: Option<String>,
    /// Start and end within the recording, in seconds, where the format has them.
    pub cue: Option<(f64, f64)>,
    /// What it is in its source.
    pub kind: UtteranceKind,
}

impl Utterance {
    /// Whether it begins as an item of a list does: with a dash, a star, a box or a number.
    pub(crate) fn begins_an_item(&self) -> bool {
        // "-4 on deck" and "+6" are figures.
        let dashed = self
            .text
            .strip_prefix(['-', '*', '+'])
            .is_some_and(|rest| !rest.starts_with(|c: char| c.is_ascii_digit()));
        dashed || self.text.starts_with(['•', '[', '☐']) || is_numbered(&self.text)
    }

    /// A line of prose by itself: words that stand in no source, as a question's do.
    pub fn line(text: &str) -> Self {
        let span = Span::new(0, text.len());
        Self {
            span,
            words: vec![span],
            text: text.to_owned(),
            at: None,
            id: None,
            cue: None,
            kind: UtteranceKind::Paragraph,
        }
    }
}

/// What an utterance is in its source; decides how firmly it is parted from the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UtteranceKind {
    /// A stretch of continuous talk; the next cue may go on in the middle of the sentence.
    Cue,
    /// A line of a written log; a new thought.
    LogLine,
    /// A line or paragraph of prose.
    Paragraph,
    /// A heading.
    Heading,
    /// An item of a list.
    ListItem,
    /// One row of a table, its cells parted by ` | ` in `text`.
    TableRow,
    /// A header line: title, date, recording time. Not searched for readings.
    Header,
}

/// What the speaker means by a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stance {
    /// Saw, felt or read it on this boat on the occasion the note is about.
    Observed,
    /// Means to bring it about.
    Planned,
    /// Gives a recommendation, a band, a maximum, a trigger.
    Limit,
    /// Imagines, asks or guesses at what could be.
    Hypothetical,
    /// Speaks of another occasion or another boat.
    Recalled,
    /// Repeats a forecast.
    Forecast,
    /// Gives a fixed property of the gear or the boat.
    Spec,
}

/// A quantity with a value or range in its canonical unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Name from `lexicon/quantities.toml`, for instance `true_wind_speed`.
    pub quantity: String,
    /// Lower end in the canonical unit; `None` for an open bound ("under 5").
    pub low: Option<f64>,
    /// Upper end in the canonical unit; equal to `low` for a single value; `None` for an open bound ("over 6").
    pub high: Option<f64>,
    /// The quantity's canonical unit.
    pub unit: String,
    /// The unit as said; empty where the quantity's name carried it.
    pub unit_said: String,
    /// What the speaker means by the number.
    pub stance: Stance,
    /// The gear it is about, by its name in the lexicon or the note.
    pub gear: Option<String>,
    /// When it was said to be so.
    pub at: Option<Moment>,
    /// Where it stands.
    pub span: Span,
    /// The words there.
    pub quote: String,
    /// Why it may be wrong; empty for one that is taken as it stands.
    pub doubts: Vec<String>,
    /// Which words gave the quantity, the unit and the stance, for `explain`.
    pub because: Vec<Reason>,
}

/// Words that led to a conclusion, for `explain`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reason {
    /// What they decided: "quantity", "stance", "gear", "outcome", …
    pub of: String,
    /// What was concluded, and by which rule.
    pub what: String,
    /// The words.
    pub span: Span,
}

/// How a trial went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// It did its job.
    Pass,
    /// It did part of its job, or only just.
    Partial,
    /// It did not.
    Fail,
    /// Tried, and the note does not settle it.
    Unclear,
}

/// Gear used to find out whether it does its job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trial {
    /// The gear, by its name in the lexicon or the note.
    pub gear: String,
    /// What was tried, in the speaker's words.
    pub about: String,
    /// How it went.
    pub outcome: Outcome,
    /// When.
    pub at: Option<Moment>,
    /// The words that settle the outcome.
    pub span: Span,
    /// The same as text.
    pub quote: String,
    /// Indices into the note's readings: the conditions that it was tried in.
    pub conditions: Vec<usize>,
    /// Whether it was tried in the dark; `None` where the words do not say.
    pub night: Option<bool>,
    /// How many hands were at it; `None` where the words do not say.
    pub hands: Option<u32>,
    /// Whether only the model judges that it took place and went so, by all of the words, and is not sure of it: it mends
    /// no fault and proves nothing until the skipper confirms it.
    pub judged: bool,
    /// Which words gave the gear and the outcome.
    pub because: Vec<Reason>,
}

/// Why an item is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// A trial failed or only partly worked.
    FailedTrial,
    /// A trial settled nothing.
    InconclusiveTrial,
    /// Aboard, relied on, and not tried.
    Unproven,
    /// Something must or should be done, bought, fixed, asked or looked into.
    Task,
    /// A reading lies outside a limit that this boat's notes give.
    OutOfLimits,
    /// A service or expiry date has passed, or passes before the boat is back.
    Overdue,
}

/// A matter that a note opens, as it stands at the end of that note.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Item {
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// Why it is open.
    pub why: Why,
    /// A date that it hangs on: service due, expiry, "by Friday".
    pub due: Option<Due>,
    /// Whether the words leave it in doubt that there is anything to do.
    pub unsure: bool,
    /// When it was raised.
    pub at: Option<Moment>,
    /// The words that raised it.
    pub span: Span,
    /// The same as text.
    pub quote: String,
    /// Which words gave the gear and the reason.
    pub because: Vec<Reason>,
}

/// A date that something is due or expires, as a span of days ("November 2026" is thirty of them).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Due {
    /// First day that it may mean.
    pub from: NaiveDate,
    /// Last day that it may mean.
    pub until: NaiveDate,
    /// What happens then: `expires`, `service`, `do`.
    pub what: String,
    /// The words.
    pub said: String,
}

/// The speaker's word that a matter is done: "jackstays done", "new impeller fitted".
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Closing {
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// The closing word: `done`, `replaced`, `fixed`, …
    pub how: String,
    /// When it was said.
    pub at: Option<Moment>,
    /// The words that close it.
    pub span: Span,
    /// The same as text.
    pub quote: String,
}

/// What a note tells of the life of gear.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EventKind {
    /// Put aboard or put in place.
    Fitted,
    /// Got, and not said to be in place.
    Bought,
    /// Another in the place of the old one.
    Replaced,
    /// The same thing mended.
    Repaired,
    /// No longer aboard.
    TakenOff,
    /// A trial of it is about to be made.
    Announced,
    /// From these readings on it is needed, by the speaker's own trigger.
    Needed,
}

impl EventKind {
    /// Whether what the gear passed before says nothing of it from here on.
    pub fn renews(self) -> bool {
        matches!(self, EventKind::Fitted | EventKind::Replaced | EventKind::Repaired)
    }
}

/// Something that a note tells of the life of gear.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// The gear, by its name in the lexicon or the note.
    pub gear: String,
    /// What is told.
    pub what: EventKind,
    /// The day that the words name for it ("fitted in May 2025", the first that it may mean), where they name one.
    pub on: Option<NaiveDate>,
    /// When it was said.
    pub at: Option<Moment>,
    /// Indices into the note's readings: those that a trigger is made of.
    pub readings: Vec<usize>,
    /// Where it stands.
    pub span: Span,
    /// The words there.
    pub quote: String,
}

/// What a stretch of a note tells of gear, by the trained model of [`crate::judge`]; set against an open matter, it may
/// show that the matter is over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Account {
    /// The gear that it is about.
    pub gear: String,
    /// Other gear that it names, and whether each stands behind a preposition only.
    pub others: Vec<(String, bool)>,
    /// How likely it says each of [`crate::judge::NAMES`], in hundredths.
    pub likely: [u8; crate::judge::NAMES.len()],
    /// Whether a denial or a fault is among its words: "not a drop came in" is well, "not arrived" is not.
    pub against: bool,
    /// Whether it has words of something to do: "I never did buy the spare, it's on the list".
    pub left: bool,
    /// When it was said.
    pub at: Option<Moment>,
    /// The words.
    pub span: Span,
    /// The same as text.
    pub quote: String,
}

/// What a note plainly states of gear; set against an open matter, it may show that it is over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Remark {
    /// The gear.
    pub gear: String,
    /// When it was said.
    pub at: Option<Moment>,
    /// The words.
    pub span: Span,
    /// The same as text.
    pub quote: String,
}

/// Something in a source that could not be used: kept, counted, shown, never dropped.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Notice {
    /// Where, where it is about a place.
    pub span: Option<Span>,
    /// Line in the source, from 1.
    pub line: Option<usize>,
    /// What was expected, what was found.
    pub message: String,
    /// What to do next.
    pub hint: Option<String>,
}

/// When the boat leaves and is back, as a note names it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PassageWords {
    /// Departure.
    pub leaves: Option<NaiveDate>,
    /// Last day on which the boat may still be away.
    pub back: Option<NaiveDate>,
    /// The words that name the departure.
    pub leaves_said: Option<String>,
    /// The words that name the return.
    pub back_said: Option<String>,
}

/// All that was found in one source.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// Name of the format: `webvtt`, `subrip`, `stamped`, `dated`, `log`, `prose`, `markdown`; `heard` for words that
    /// were heard in a recording, `recording` for the recording; `none` where there is nothing to read.
    pub format: String,
    /// Name of the character encoding, or of a recording's codec.
    pub encoding: String,
    /// Length in seconds of the recording, where it is one and says it.
    pub seconds: Option<f64>,
    /// When the recording or the entry begins.
    pub recorded: Option<Moment>,
    /// Where that came from: `--recorded`, the header line, the file name, the file's time.
    pub recorded_from: String,
    /// The zone or offset used, and where it came from.
    pub zone: String,
    /// Whether the note itself says its zone; only then does it speak for the boat's other notes.
    pub zone_said: bool,
    /// The words.
    pub utterances: Vec<Utterance>,
    /// The numbers.
    pub readings: Vec<Reading>,
    /// What was tried.
    pub trials: Vec<Trial>,
    /// What that leaves to do.
    pub items: Vec<Item>,
    /// What the speaker says is done.
    pub closings: Vec<Closing>,
    /// What it plainly states of gear.
    pub remarks: Vec<Remark>,
    /// What stretches of it tell of gear with which all may be well.
    pub accounts: Vec<Account>,
    /// Service and expiry dates, with the gear that they hang on.
    pub dues: Vec<(Option<String>, Due, Span)>,
    /// What the note tells of the life of gear.
    pub events: Vec<Event>,
    /// Names that the note gives to gear, in lower case, with the gear's own name.
    pub names: Vec<(String, String)>,
    /// When the boat leaves and is back.
    pub passage: PassageWords,
    /// What could not be used.
    pub notices: Vec<Notice>,
}

macro_rules! named {
    ($type:ty { $($variant:ident = $name:literal),+ $(,)? }) => {
        impl $type {
            /// All of them, in order.
            pub const ALL: &'static [$type] = &[$(<$type>::$variant),+];

            /// The name in JSON, the database and on the command line.
            pub fn name(self) -> &'static str {
                match self { $(<$type>::$variant => $name),+ }
            }

            /// Looks one up by its name.
            pub fn from_name(name: &str) -> Option<Self> {
                match name { $($name => Some(<$type>::$variant),)+ _ => None }
            }
        }

        impl fmt::Display for $type {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(self.name())
            }
        }
    };
}

named!(Stance {
    Observed = "observed",
    Planned = "planned",
    Limit = "limit",
    Hypothetical = "hypothetical",
    Recalled = "recalled",
    Forecast = "forecast",
    Spec = "spec",
});
named!(Outcome { Pass = "pass", Partial = "partial", Fail = "fail", Unclear = "unclear" });
named!(Why {
    FailedTrial = "failed_trial",
    InconclusiveTrial = "inconclusive_trial",
    Unproven = "unproven",
    Task = "task",
    OutOfLimits = "out_of_limits",
    Overdue = "overdue",
});
named!(EventKind {
    Fitted = "fitted",
    Bought = "bought",
    Replaced = "replaced",
    Repaired = "repaired",
    TakenOff = "taken_off",
    Announced = "announced",
    Needed = "needed",
});
named!(Basis { Stated = "stated", Inferred = "inferred", FileTime = "file_time" });
named!(UtteranceKind {
    Cue = "cue",
    LogLine = "log_line",
    Paragraph = "paragraph",
    Heading = "heading",
    ListItem = "list_item",
    TableRow = "table_row",
    Header = "header",
});
