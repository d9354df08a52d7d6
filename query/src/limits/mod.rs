//! The limits that notes and decisions give, each with who gives it: the answer of `leadsman limits`.

mod screen;

use chrono::{DateTime, FixedOffset};
use leadsman_index::Decision;
use leadsman_ingest::matter::Noted;
use leadsman_ingest::matter::limits::{Limits, is_watched, of_skipper};
use leadsman_ingest::{Reading, Span, Stance};
use serde::Serialize;

use crate::boat::{Boat, Day};
use crate::decide::decision_name;

pub use screen::show;

/// A limit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Name of the quantity.
    pub quantity: String,
    /// The gear; null for the boat.
    pub gear: Option<String>,
    /// Lower end in the canonical unit; null where it is open.
    pub low: Option<f64>,
    /// Upper end; null where it is open.
    pub high: Option<f64>,
    /// The canonical unit.
    pub unit: String,
    /// Who gives it: a person for a decision, the file's name for a note.
    pub who: String,
    /// The decision's name, for `undo`; null for a note's.
    pub decision: Option<String>,
    /// The words of the note; null for a decision.
    pub quote: Option<String>,
    /// When it was given.
    pub at: Option<DateTime<FixedOffset>>,
    /// Whether a reading outside it opens an item. For wind, speed and the like a note's limit is a trigger for doing
    /// something, and passing it is no fault of the gear.
    pub watched: bool,
    /// Whether it is the one that readings are held to: the skipper's, else the latest.
    pub in_force: bool,
    /// Whether another limit for the same quantity of the same gear says otherwise.
    pub disagrees: bool,
}

/// All limits by quantity and gear; of each the one in force first, then the latest.
pub fn limits(boat: &Boat, day: Day) -> Vec<Limit> {
    let mut all: Vec<Limit> = Vec::new();
    for stored in boat.notes_by(day) {
        let given = stored.note.readings.iter().filter(|r| r.stance == Stance::Limit);
        all.extend(given.map(|r| Limit {
            quantity: r.quantity.clone(),
            gear: r.gear.clone(),
            low: r.low,
            high: r.high,
            unit: r.unit.clone(),
            who: stored.name.clone(),
            decision: None,
            quote: Some(r.quote.clone()),
            at: r.at.map(|moment| moment.at),
            watched: is_watched(&r.quantity),
            in_force: false,
            disagrees: false,
        }));
    }
    for entry in boat.limits_by(day) {
        if let Decision::Limit { quantity, gear, low, high, who } = &entry.decision {
            let unit =
                crate::quantity_word::quantity(quantity).map_or_else(|_| String::new(), |q| q.unit.clone());
            all.push(Limit {
                quantity: quantity.clone(),
                gear: gear.clone(),
                low: *low,
                high: *high,
                unit,
                who: who.clone(),
                decision: Some(decision_name(entry)),
                quote: None,
                at: Some(entry.at().fixed_offset()),
                watched: true,
                in_force: false,
                disagrees: false,
            });
        }
    }
    all.sort_by(|a, b| {
        let of = |l: &Limit| (l.quantity.clone(), l.gear.clone());
        let latest = |l: &Limit| std::cmp::Reverse((l.decision.is_some(), l.at));
        of(a).cmp(&of(b)).then(latest(a).cmp(&latest(b)))
    });
    for group in all.chunk_by_mut(|a, b| a.quantity == b.quantity && a.gear == b.gear) {
        let bands: Vec<_> = group.iter().map(|limit| (limit.low, limit.high)).collect();
        for (n, limit) in group.iter_mut().enumerate() {
            limit.in_force = n == 0;
            limit.disagrees = bands.iter().any(|band| *band != bands[n]);
        }
    }
    all
}

/// The skipper's own limits, ready to be asked which of them readings are held to.
#[derive(Clone, Debug)]
pub struct Own {
    given: Vec<Limit>,
}

impl Own {
    /// Gathers them as of a day, with whether others disagree.
    pub fn new(boat: &Boat, day: Day) -> Self {
        // Most boats have none, and a sheet asks of every quantity.
        let none = boat.limits_by(day).next().is_none();
        let all = if none { Vec::new() } else { limits(boat, day) };
        Self { given: all.into_iter().filter(|limit| limit.decision.is_some()).collect() }
    }

    /// Those that are in force for readings of a quantity of this gear; each once.
    pub fn of(&self, quantity: &str, gear: &[Option<&str>]) -> Vec<Limit> {
        let as_reading = |gear: Option<&str>, low, high| Reading {
            quantity: quantity.to_owned(),
            low,
            high,
            unit: String::new(),
            unit_said: String::new(),
            stance: Stance::Limit,
            gear: gear.map(str::to_owned),
            at: None,
            span: Span::default(),
            quote: String::new(),
            doubts: Vec::new(),
            because: Vec::new(),
        };
        let given: Vec<&Limit> = self.given.iter().filter(|limit| limit.quantity == quantity).collect();
        // The latest stands first in the list, and last where it is asked which is in force.
        let bands = given.iter().rev().map(|limit| as_reading(limit.gear.as_deref(), limit.low, limit.high));
        let note = of_skipper(bands.collect());
        let mut held = Limits::default();
        held.add(&Noted { source: "", name: "you", note: &note });
        let mut found: Vec<Limit> = Vec::new();
        for gear in gear {
            let Some(in_force) = held.in_force(&as_reading(*gear, None, None)) else { continue };
            let of = in_force.given;
            let limit = given.iter().find(|l| l.gear == of.gear && (l.low, l.high) == (of.low, of.high));
            found.extend(limit.filter(|limit| !found.contains(limit)).map(|limit| (*limit).clone()));
        }
        found
    }
}
