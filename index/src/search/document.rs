//! What is searched: one document for each utterance, trial and item of a source that answers.

use std::collections::{BTreeSet, HashSet};

use chrono::{DateTime, FixedOffset};
use leadsman_ingest::{Note, Outcome, Reading, Span, Stance, UtteranceKind};
use tantivy::TantivyDocument;
use tantivy::schema::{Field, Value};

use crate::error::{Error, Result};
use crate::search::Fields;
use crate::source::SourceId;

/// What a document stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DocumentKind {
    /// Words.
    Utterance,
    /// Gear tried.
    Trial,
    /// A matter that a note opens.
    Item,
}

impl DocumentKind {
    /// The name in the index.
    pub fn name(self) -> &'static str {
        match self {
            DocumentKind::Utterance => "utterance",
            DocumentKind::Trial => "trial",
            DocumentKind::Item => "item",
        }
    }

    fn from_name(name: &str) -> Option<Self> {
        [Self::Utterance, Self::Trial, Self::Item].into_iter().find(|kind| kind.name() == name)
    }
}

/// One thing that can be found.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// What it stands for.
    pub kind: DocumentKind,
    /// The source.
    pub source: SourceId,
    /// Its number among the source's findings of this kind.
    pub n: usize,
    /// When it was said.
    pub at: Option<DateTime<FixedOffset>>,
    /// Where it stands in the source.
    pub span: Span,
    /// Gear that it is about.
    pub gear: Vec<String>,
    /// Quantities that it names; of a trial, those of its conditions.
    pub quantities: Vec<String>,
    /// How a trial went.
    pub outcome: Option<Outcome>,
    /// Whether an item stands open.
    pub open: Option<bool>,
    /// The wind it was in, from and to, in kn: a trial's conditions, else the last that the note observed before it.
    pub wind_kn: Option<(f64, f64)>,
    /// The words that are searched.
    pub text: String,
}

/// Names of quantities that say how strong the wind is, in kn.
const WINDS: [&str; 4] = ["true_wind_speed", "wind_speed", "apparent_wind_speed", "wind_gust"];

/// The documents of a note. `closed` holds the places of items that are closed by now.
pub(crate) fn documents(source: SourceId, note: &Note, closed: &HashSet<(SourceId, Span)>) -> Vec<Document> {
    let mut documents = Vec::with_capacity(note.utterances.len() + note.trials.len() + note.items.len());
    let winds: Vec<_> = note.readings.iter().filter(|r| r.stance == Stance::Observed && is_wind(r)).collect();
    let wind_before = |end: usize| winds.iter().rev().find(|r| r.span.start < end).and_then(|r| wind(&[r]));
    for (n, utterance) in note.utterances.iter().enumerate() {
        if utterance.kind == UtteranceKind::Header {
            continue;
        }
        let within = |span: Span| span.start < utterance.span.end && span.end > utterance.span.start;
        let readings: Vec<_> = note.readings.iter().filter(|r| within(r.span)).collect();
        let mut gear: BTreeSet<_> = readings.iter().filter_map(|r| r.gear.clone()).collect();
        gear.extend(note.trials.iter().filter(|t| within(t.span)).map(|t| t.gear.clone()));
        gear.extend(note.items.iter().filter(|i| within(i.span)).filter_map(|i| i.gear.clone()));
        documents.push(Document {
            kind: DocumentKind::Utterance,
            source,
            n,
            at: utterance.at.map(|m| m.at),
            span: utterance.span,
            gear: gear.into_iter().collect(),
            quantities: quantities(&readings),
            outcome: None,
            open: None,
            wind_kn: wind_before(utterance.span.end),
            text: utterance.text.clone(),
        });
    }
    for (n, trial) in note.trials.iter().enumerate() {
        let conditions: Vec<_> = trial.conditions.iter().filter_map(|r| note.readings.get(*r)).collect();
        documents.push(Document {
            kind: DocumentKind::Trial,
            source,
            n,
            at: trial.at.map(|m| m.at),
            span: trial.span,
            gear: vec![trial.gear.clone()],
            quantities: quantities(&conditions),
            outcome: Some(trial.outcome),
            open: None,
            wind_kn: wind(&conditions).or_else(|| wind_before(trial.span.end)),
            text: joined([&trial.gear, &trial.about, &trial.quote]),
        });
    }
    for (n, item) in note.items.iter().enumerate() {
        documents.push(Document {
            kind: DocumentKind::Item,
            source,
            n,
            at: item.at.map(|m| m.at),
            span: item.span,
            gear: item.gear.iter().cloned().collect(),
            quantities: Vec::new(),
            outcome: None,
            open: Some(!closed.contains(&(source, item.span))),
            wind_kn: wind_before(item.span.end),
            text: joined([item.gear.as_deref().unwrap_or_default(), &item.about, &item.quote]),
        });
    }
    documents
}

fn is_wind(reading: &Reading) -> bool {
    WINDS.contains(&reading.quantity.as_str()) && reading.low.or(reading.high).is_some()
}

fn wind(readings: &[&Reading]) -> Option<(f64, f64)> {
    let ends =
        readings.iter().filter(|r| is_wind(r)).flat_map(|r| [r.low.or(r.high), r.high.or(r.low)]).flatten();
    ends.fold(None, |span, end| match span {
        None => Some((end, end)),
        Some((low, high)) => Some((f64::min(low, end), f64::max(high, end))),
    })
}

fn quantities(readings: &[&Reading]) -> Vec<String> {
    readings.iter().map(|r| r.quantity.clone()).collect::<BTreeSet<_>>().into_iter().collect()
}

/// The parts one after the other, leaving out what a later one says anyway.
fn joined(parts: [&str; 3]) -> String {
    let mut text = String::new();
    for (n, part) in parts.iter().enumerate() {
        let lower = part.to_lowercase();
        if part.is_empty() || parts[n + 1..].iter().any(|later| later.to_lowercase().contains(&lower)) {
            continue;
        }
        if !text.is_empty() {
            text.push_str(": ");
        }
        text.push_str(part);
    }
    text
}

impl Document {
    pub(super) fn to_stored(&self, fields: &Fields) -> TantivyDocument {
        let mut stored = TantivyDocument::with_capacity(self.text.len() + 160);
        stored.add_text(fields.kind, self.kind.name());
        stored.add_text(fields.source, self.source.to_string());
        stored.add_u64(fields.n, self.n as u64);
        if let Some(at) = self.at {
            stored.add_i64(fields.at, at.timestamp_millis());
            stored.add_i64(fields.at_offset, i64::from(at.offset().local_minus_utc()));
        }
        stored.add_u64(fields.start, self.span.start as u64);
        stored.add_u64(fields.end, self.span.end as u64);
        for gear in &self.gear {
            stored.add_text(fields.gear, gear);
        }
        for quantity in &self.quantities {
            stored.add_text(fields.quantity, quantity);
        }
        if let Some(outcome) = self.outcome {
            stored.add_text(fields.outcome, outcome.name());
        }
        if let Some(open) = self.open {
            stored.add_text(fields.state, state_name(open));
        }
        if let Some((low, high)) = self.wind_kn {
            stored.add_f64(fields.wind_low, low);
            stored.add_f64(fields.wind_high, high);
        }
        stored.add_text(fields.text, &self.text);
        stored
    }

    pub(super) fn from_stored(stored: &TantivyDocument, fields: &Fields) -> Result<Self> {
        let text = |field: Field| stored.get_first(field).and_then(|v| v.as_str()).unwrap_or_default();
        let size =
            |field: Field| stored.get_first(field).and_then(|v| v.as_u64()).unwrap_or_default() as usize;
        let number = |field: Field| stored.get_first(field).and_then(|v| v.as_f64());
        let texts =
            |field: Field| stored.get_all(field).filter_map(|v| v.as_str()).map(str::to_owned).collect();
        let whole = |field: Field| stored.get_first(field).and_then(|v| v.as_i64());
        let wrong = |what: &str| Error::Search { doing: "read a document", what: what.to_owned() };
        let at = whole(fields.at).zip(whole(fields.at_offset)).and_then(|(at, offset)| {
            let zone = FixedOffset::east_opt(i32::try_from(offset).ok()?)?;
            Some(DateTime::from_timestamp_millis(at)?.with_timezone(&zone))
        });
        Ok(Self {
            kind: DocumentKind::from_name(text(fields.kind))
                .ok_or_else(|| wrong("it is of no known kind"))?,
            source: text(fields.source).parse().map_err(|_| wrong("its source is no hash"))?,
            n: size(fields.n),
            at,
            span: Span { start: size(fields.start), end: size(fields.end) },
            gear: texts(fields.gear),
            quantities: texts(fields.quantity),
            outcome: Outcome::from_name(text(fields.outcome)),
            open: stored
                .get_first(fields.state)
                .and_then(|v| v.as_str())
                .map(|state| state == state_name(true)),
            wind_kn: number(fields.wind_low).zip(number(fields.wind_high)),
            text: text(fields.text).to_owned(),
        })
    }
}

pub(super) fn state_name(open: bool) -> &'static str {
    if open { "open" } else { "closed" }
}
