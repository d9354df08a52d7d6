//! An item's whole life: what raised it, what was said and decided since, what closed it: the answer of `leadsman item`.

mod screen;

use chrono::{DateTime, FixedOffset};
use leadsman_ingest::matter::Evidence;
use serde::Serialize;

use crate::boat::Boat;
use crate::decide::{Known, State, decision_name, in_words};
use crate::open_item::{Closed, Open, OpenList};

pub use screen::show;

/// An item's whole life.
#[derive(Clone, Debug, Serialize)]
pub struct Life {
    /// Short name.
    pub name: String,
    /// `open`, `perhaps`, `accepted`, `put_off`, `closed` or `dismissed`.
    pub state: &'static str,
    /// The item, where it stands open in any way.
    pub open: Option<Open>,
    /// Its closings, and those of earlier matters that it is the return of, latest first; also what was dismissed.
    pub closed: Vec<Closed>,
    /// All that happened, oldest first.
    pub events: Vec<Event>,
}

/// Something that happened to an item.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Event {
    /// When.
    pub at: Option<DateTime<FixedOffset>>,
    /// `raised`, `closed` or `decided`.
    pub what: &'static str,
    /// The number of a piece of evidence, for `split`.
    pub piece: Option<usize>,
    /// What was said or decided.
    pub words: String,
    /// The words' place, where a note has them.
    pub evidence: Option<Evidence>,
    /// The reading or trial there, by its name, for `correct`.
    pub finding: Option<String>,
    /// The name of a decision, for `undo`.
    pub decision: Option<String>,
}

impl Life {
    /// Puts an item's life together from the list of all and the decisions on them.
    pub fn new(boat: &Boat, list: &OpenList, known: &Known<'_>) -> Self {
        let open = list.standing().find(|item| item.id == known.id).cloned();
        let earlier: &[String] = open.as_ref().map_or(&[], |open| &open.earlier);
        let own = |item: &&Closed| item.id == known.id || earlier.contains(&item.id);
        let closed: Vec<Closed> = list.closed.iter().chain(&list.dismissed).filter(own).cloned().collect();
        let mut events = Vec::new();
        let raised = |evidence: &[Evidence], numbered: bool, events: &mut Vec<Event>| {
            for (n, words) in evidence.iter().enumerate() {
                events.push(Event {
                    at: words.at,
                    what: "raised",
                    piece: numbered.then_some(n + 1),
                    words: words.quote.clone(),
                    evidence: Some(words.clone()),
                    finding: boat.finding_at(words),
                    decision: None,
                });
            }
        };
        let mut names = Vec::new();
        if let Some(open) = &open {
            raised(&open.evidence, true, &mut events);
            names.extend(open.names.iter().cloned());
        }
        for item in &closed {
            // One that was closed and opened again has the same evidence.
            if open.as_ref().is_none_or(|open| open.id != item.id) {
                raised(&item.evidence, open.is_none(), &mut events);
            }
            names.extend(item.names.iter().cloned());
            if item.closed_by != "ruling" && item.closed.is_some() {
                events.push(Event {
                    at: item.closed,
                    what: "closed",
                    piece: None,
                    words: format!(
                        "{} ({}, {})",
                        item.because,
                        item.closed_by,
                        item.closed_in.as_deref().unwrap_or("no note")
                    ),
                    evidence: None,
                    finding: None,
                    decision: None,
                });
            }
        }
        for spoken in boat.spoken() {
            if names.iter().any(|name| name.starts_with(&spoken.item)) {
                events.push(Event {
                    at: Some(spoken.entry.at().fixed_offset()),
                    what: "decided",
                    piece: None,
                    words: in_words(&spoken.entry.decision),
                    evidence: None,
                    finding: None,
                    decision: Some(decision_name(&spoken.entry)),
                });
            }
        }
        // What has no time of its own stands where it was put.
        events.sort_by_key(|event| event.at);
        let state = match known.state {
            State::Open => "open",
            State::Accepted => "accepted",
            State::Perhaps => "perhaps",
            State::PutOff => "put_off",
            State::Closed => "closed",
            State::Dismissed => "dismissed",
        };
        Self { name: known.name.clone(), state, open, closed, events }
    }
}

impl Boat {
    /// The name of the reading or trial that stands where a piece of evidence does.
    fn finding_at(&self, evidence: &Evidence) -> Option<String> {
        use leadsman_index::Finding;
        use leadsman_ingest::matter::finding_name;
        let (stored, hash) = self.sources().find(|(_, hash)| *hash == evidence.source)?;
        let note = &stored.note;
        if note.trials.iter().any(|trial| trial.span == evidence.span) {
            return Some(finding_name(Finding::Trial, hash, evidence.span));
        }
        let reading = note.readings.iter().any(|reading| reading.span == evidence.span);
        reading.then(|| finding_name(Finding::Reading, hash, evidence.span))
    }
}
