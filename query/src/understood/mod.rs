//! What one note says, as `preview` shows it: readings, trials and items, with the words that each comes from.

mod screen;

use chrono::{DateTime, FixedOffset};
use leadsman_ingest::correct::Finding;
use leadsman_ingest::matter::finding_name;
use leadsman_ingest::{
    Closing, Due, Item, Moment, Note, Notice, Outcome, PassageWords, Reading, Reason, Stance, Trial, Why,
};
use serde::Serialize;

use crate::error::Error;
use crate::instruments::{Against, Known, Measured, Panel};

pub use screen::show;

/// What one note says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Understood {
    /// The file's name.
    pub name: String,
    /// Name of the format.
    pub format: String,
    /// Name of the character encoding.
    pub encoding: String,
    /// When the recording or the entry begins.
    pub recorded: Option<DateTime<FixedOffset>>,
    /// Where that came from.
    pub recorded_from: String,
    /// The zone or offset used, and where it came from.
    pub zone: String,
    /// How many stretches of words there are.
    pub utterances: usize,
    /// The numbers.
    pub readings: Vec<UnderstoodReading>,
    /// What was tried.
    pub trials: Vec<UnderstoodTrial>,
    /// What that leaves to do, in the light of the notes before.
    pub items: Vec<UnderstoodItem>,
    /// What the speaker says is done.
    pub closings: Vec<UnderstoodClosing>,
    /// When the boat leaves and is back, where the note says so.
    pub passage: PassageWords,
    /// What could not be used.
    pub notices: Vec<Notice>,
}

/// A reading; values are in the canonical unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UnderstoodReading {
    /// Whole name, for `correct`; the beginning that tells it from others is enough.
    pub name: String,
    /// Name of the quantity.
    pub quantity: String,
    /// Lower end; null for an open bound.
    pub low: Option<f64>,
    /// Upper end; null for an open bound.
    pub high: Option<f64>,
    /// Canonical unit.
    pub unit: String,
    /// The unit as said.
    pub unit_said: String,
    /// What the speaker means by the number.
    pub stance: Stance,
    /// The gear that it is about.
    pub gear: Option<String>,
    /// When it was said to be so.
    pub at: Option<Moment>,
    /// First byte in the source.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// The words.
    pub quote: String,
    /// Why it may be wrong.
    pub doubts: Vec<String>,
    /// What the boat's instruments say to it; null where none can.
    pub instruments: Option<Against>,
    /// Which words led to it.
    pub because: Vec<Reason>,
}

/// A trial.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UnderstoodTrial {
    /// Whole name, for `correct`; the beginning that tells it from others is enough.
    pub name: String,
    /// The gear.
    pub gear: String,
    /// What was tried, in the speaker's words.
    pub about: String,
    /// How it went.
    pub outcome: Outcome,
    /// When.
    pub at: Option<Moment>,
    /// First byte in the source.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// The words that settle the outcome.
    pub quote: String,
    /// Indices into `readings`: the conditions that it was tried in.
    pub conditions: Vec<usize>,
    /// What the boat's instruments measured over its time.
    pub measured: Vec<Measured>,
    /// Whether only the model judges it so, by all of the words.
    pub judged: bool,
    /// Which words led to it.
    pub because: Vec<Reason>,
}

/// An item.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UnderstoodItem {
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// Why it is open.
    pub why: Why,
    /// A date that it hangs on.
    pub due: Option<Due>,
    /// When it was raised.
    pub at: Option<Moment>,
    /// First byte in the source.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// The words that raised it.
    pub quote: String,
    /// Which words led to it.
    pub because: Vec<Reason>,
}

/// The speaker's word that something is done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UnderstoodClosing {
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// The closing word.
    pub how: String,
    /// The words.
    pub quote: String,
}

impl Understood {
    /// Puts together what a note says and the items that it raises in the light of the notes before it.
    /// `hash` is the SHA-256 of the note's source in hexadecimal, which names come from.
    pub fn new(name: &str, hash: &str, note: Note, items: Vec<Item>) -> Self {
        let named = |of, span| finding_name(of, hash, span);
        Self {
            name: name.to_owned(),
            format: note.format,
            encoding: note.encoding,
            recorded: note.recorded.map(|moment| moment.at),
            recorded_from: note.recorded_from,
            zone: note.zone,
            utterances: note.utterances.len(),
            readings: note
                .readings
                .into_iter()
                .map(|r| UnderstoodReading { name: named(Finding::Reading, r.span), ..r.into() })
                .collect(),
            trials: note
                .trials
                .into_iter()
                .map(|t| UnderstoodTrial { name: named(Finding::Trial, t.span), ..t.into() })
                .collect(),
            items: items.into_iter().map(UnderstoodItem::from).collect(),
            closings: note.closings.into_iter().map(UnderstoodClosing::from).collect(),
            passage: note.passage,
            notices: note.notices,
        }
    }
}

impl Understood {
    /// Sets the note's numbers and trials beside the boat's instruments. `note` is the one that this was made of.
    pub async fn join(&mut self, note: &Note, panel: &Panel<'_>) -> Result<(), Error> {
        if panel.is_empty() {
            return Ok(());
        }
        let known = Known::of(note);
        for (understood, reading) in self.readings.iter_mut().zip(&note.readings) {
            understood.instruments = panel.set_against(&known, reading).await?;
            let doubt = understood.instruments.as_ref().and_then(|against| against.doubt(reading));
            understood.doubts.extend(doubt);
        }
        for (understood, trial) in self.trials.iter_mut().zip(&note.trials) {
            let of = |&n: &usize| note.readings.get(n).cloned();
            let conditions: Vec<Reading> = trial.conditions.iter().filter_map(of).collect();
            understood.measured = panel.conditions(&known, trial, &conditions).await?;
        }
        Ok(())
    }
}

impl From<Reading> for UnderstoodReading {
    fn from(r: Reading) -> Self {
        Self {
            name: String::new(),
            quantity: r.quantity,
            low: r.low,
            high: r.high,
            unit: r.unit,
            unit_said: r.unit_said,
            stance: r.stance,
            gear: r.gear,
            at: r.at,
            start: r.span.start,
            end: r.span.end,
            quote: r.quote,
            doubts: r.doubts,
            instruments: None,
            because: r.because,
        }
    }
}

impl From<Trial> for UnderstoodTrial {
    fn from(t: Trial) -> Self {
        Self {
            name: String::new(),
            gear: t.gear,
            about: t.about,
            outcome: t.outcome,
            at: t.at,
            start: t.span.start,
            end: t.span.end,
            quote: t.quote,
            conditions: t.conditions,
            measured: Vec::new(),
            judged: t.judged,
            because: t.because,
        }
    }
}

impl From<Item> for UnderstoodItem {
    fn from(i: Item) -> Self {
        Self {
            gear: i.gear,
            about: i.about,
            why: i.why,
            due: i.due,
            at: i.at,
            start: i.span.start,
            end: i.span.end,
            quote: i.quote,
            because: i.because,
        }
    }
}

impl From<Closing> for UnderstoodClosing {
    fn from(c: Closing) -> Self {
        Self { gear: c.gear, about: c.about, how: c.how, quote: c.quote }
    }
}
