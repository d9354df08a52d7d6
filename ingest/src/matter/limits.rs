//! Limits that the boat's notes give, and readings that lie outside them or come back inside.

use std::collections::HashMap;

use super::{Matter, Noted, SoFar};
use crate::found::{Note, Outcome, Reading, Stance, Why};
use crate::gear::by_name;
use crate::matter::same::{is_final, same_gear};

/// Quantities for which a reading outside a limit is a matter; for wind, speed and the like a limit is a trigger for
/// doing something, and exceeding it is no fault of the gear.
pub const WATCHED: &[&str] = &[
    "rig_tension",
    "gauge_reading",
    "voltage",
    "state_of_charge",
    "co_level",
    "engine_temperature",
    "oil_pressure",
    "pump_rate",
];

/// Quantities whose limit, given as a single figure, is a least value.
pub const LEAST: &[&str] = &["voltage", "state_of_charge", "oil_pressure", "pump_rate"];

/// Quantities whose limit, given as a single figure, is a greatest value.
pub const GREATEST: &[&str] = &["co_level", "engine_temperature"];

/// The gear that a watched quantity belongs to where no words name it.
pub fn usual_gear(quantity: &str) -> Option<&'static str> {
    Some(match quantity {
        "voltage" | "state_of_charge" => "house bank",
        "co_level" => "carbon monoxide alarm",
        "engine_temperature" => "engine",
        "oil_pressure" => "engine oil",
        "rig_tension" | "gauge_reading" => "rig",
        _ => return None,
    })
}

/// Quantities of which one reading shows how things stand; a battery that is full at noon says nothing of the night.
pub const SHOWN_BY_ONE: &[&str] = &["rig_tension", "gauge_reading"];

/// A limit from a note: a band, open at one end or not.
#[derive(Clone, Copy, Debug)]
pub struct Limit<'a> {
    /// The reading that gives it.
    pub given: &'a Reading,
    /// Least allowed value.
    pub least: Option<f64>,
    /// Greatest allowed value.
    pub greatest: Option<f64>,
}

/// Limits that the skipper's decisions give, as a note without a source, which stands before all others.
pub fn of_skipper(limits: Vec<Reading>) -> Note {
    Note { readings: limits, ..Note::default() }
}

/// Whether a reading outside a limit for a quantity opens an item wherever the limit comes from.
pub fn is_watched(quantity: &str) -> bool {
    WATCHED.contains(&quantity)
}

/// The latest limit that notes give for each gear, by quantity, oldest first: of the watched quantities, and all that the
/// skipper's decisions give.
#[derive(Clone, Debug, Default)]
pub struct Limits<'a> {
    said: HashMap<&'a str, Vec<Limit<'a>>>,
    /// Those of a note without a source, which come before what is said.
    own: HashMap<&'a str, Vec<Limit<'a>>>,
}

impl<'a> Limits<'a> {
    /// Adds those of a later note.
    pub fn add(&mut self, noted: &Noted<'a>) {
        let is_own = noted.source.is_empty();
        let into = if is_own { &mut self.own } else { &mut self.said };
        let given = noted.note.readings.iter().filter(|r| r.stance == Stance::Limit);
        for given in given.filter(|r| is_own || is_watched(&r.quantity)) {
            let of_quantity = into.entry(&given.quantity).or_default();
            // A later one for the same gear is in force wherever the earlier was.
            of_quantity.retain(|limit| limit.given.gear != given.gear);
            of_quantity.push(Limit::of(given));
        }
    }

    /// The limit in force for a reading: the skipper's, else the latest that governs it.
    pub fn in_force(&self, reading: &Reading) -> Option<&Limit<'a>> {
        let mut both = [&self.own, &self.said].into_iter();
        both.find_map(|of| of.get(reading.quantity.as_str())?.iter().rfind(|limit| limit.governs(reading)))
    }
}

impl<'a> Limit<'a> {
    /// The band that a reading gives.
    fn of(given: &'a Reading) -> Self {
        let one_sided = given.low.is_none() || given.high.is_none() || given.low == given.high;
        let figure = given.low.or(given.high);
        // "Never below 12.2" and "12.2 is the limit" say the same of a battery: the quantity tells which end.
        let (least, greatest) = if !one_sided {
            (given.low, given.high)
        } else if LEAST.contains(&given.quantity.as_str()) {
            (figure, None)
        } else if GREATEST.contains(&given.quantity.as_str()) || given.low == given.high {
            (None, figure)
        } else {
            (given.low, given.high)
        };
        Self { given, least, greatest }
    }
}

impl Limit<'_> {
    /// Whether a limit is for the same quantity of the same gear as a reading.
    pub fn governs(&self, reading: &Reading) -> bool {
        if self.given.quantity != reading.quantity {
            return false;
        }
        let (limit, read) = (self.given.gear.as_deref(), reading.gear.as_deref());
        match reading.quantity.as_str() {
            // A shroud's limit is for that shroud alone.
            "rig_tension" | "gauge_reading" | "pump_rate" => same_gear(limit, read),
            "voltage" => {
                let house = |g: Option<&str>| g.is_none_or(|g| g == "house bank");
                house(limit) && house(read) || same_gear(limit, read)
            }
            quantity if is_watched(quantity) => true,
            // What the skipper alone watches is watched on that gear alone, or anywhere where no gear is given.
            _ => limit.is_none() || same_gear(limit, read),
        }
    }

    /// Whether a reading lies outside.
    pub fn broken_by(&self, reading: &Reading) -> bool {
        let (low, high) = (reading.low.or(reading.high), reading.high.or(reading.low));
        self.least.zip(low).is_some_and(|(least, low)| low < least)
            || self.greatest.zip(high).is_some_and(|(most, high)| high > most)
    }
}

/// The observed readings of a note that lie outside the limits given by it or by the notes before it.
pub fn outside<'a>(limits: &Limits<'a>, note: &'a Note) -> Vec<(&'a Reading, Limit<'a>)> {
    note.readings
        .iter()
        .filter(|r| r.stance == Stance::Observed && r.doubts.is_empty())
        .filter_map(|r| Some((r, *limits.in_force(r).filter(|limit| limit.broken_by(r))?)))
        .filter(|(r, limit)| {
            // "Six percent. Three half turns, and now ten": wound up in the same note.
            let last = note.readings.iter().rfind(|later| {
                later.stance == Stance::Observed && later.quantity == r.quantity && later.gear == r.gear
            });
            !SHOWN_BY_ONE.contains(&r.quantity.as_str())
                || !alone(r)
                || last.is_none_or(|last| limit.broken_by(last))
        })
        .collect()
}

/// Whether the gear that a reading is of is one thing: "cap shroud" may be either of two.
pub fn alone(reading: &Reading) -> bool {
    const SINGLE: &[&str] = &["port ", "starboard ", "backstay", "forestay", "inner forestay"];
    reading.gear.as_deref().is_some_and(|gear| SINGLE.iter().any(|single| gear.starts_with(single)))
}

/// The reading in a note that brings a matter back inside its limits: by itself where one reading shows it, as for a
/// shroud's tension; else only where the note also says that gear of that kind is in order. A battery that is full at
/// noon says nothing of the night.
pub fn back_inside<'a>(matter: &Matter, so_far: &SoFar<'_>, note: &'a Note) -> Option<&'a Reading> {
    // "I want the gauge back on them" is done when the gauge shows them inside their band.
    let measured = || note.readings.iter().find(|r| SHOWN_BY_ONE.contains(&r.quantity.as_str()));
    let quantity = match matter.why.first() {
        Some(Why::OutOfLimits) => broken_quantity(matter, so_far)?,
        Some(Why::Task) => measured()?.quantity.as_str(),
        _ => return None,
    };
    let measured = || note.readings.iter().filter(|r| r.stance == Stance::Observed && r.quantity == quantity);
    let is_broken = |r: &Reading| so_far.limits.in_force(r).map(|limit| limit.broken_by(r));
    let mut inside = measured().filter(|r| is_broken(r) == Some(false));
    if SHOWN_BY_ONE.contains(&quantity) {
        return inside.find(|r| same_gear(r.gear.as_deref(), matter.gear.as_deref()));
    }
    let broken = measured().any(|r| is_broken(r) == Some(true));
    inside.next().filter(|_| !broken && said_in_order(matter, note))
}

/// The quantity that was out of its limits: that of the reading which the matter's evidence quotes.
fn broken_quantity<'a>(matter: &Matter, so_far: &SoFar<'a>) -> Option<&'a str> {
    let evidence = matter.evidence.iter().rev().find(|e| e.why == Some(Why::OutOfLimits))?;
    let mut readings = so_far.notes.get(evidence.source.as_str())?.readings.iter();
    let quoted = readings.find(|r| {
        is_watched(&r.quantity) && evidence.span.start <= r.span.start && r.span.end <= evidence.span.end
    });
    quoted.map(|r| r.quantity.as_str())
}

/// Whether a note says that gear of the matter's kind passed or is put right.
fn said_in_order(matter: &Matter, note: &Note) -> bool {
    let Some(kind) = matter.gear.as_deref().and_then(kind) else { return false };
    let of_kind = |gear: &str| self::kind(gear) == Some(kind);
    note.trials.iter().any(|t| t.outcome == Outcome::Pass && of_kind(&t.gear))
        || note.closings.iter().any(|c| is_final(&c.how) && c.gear.as_deref().is_some_and(of_kind))
}

/// The group of gear that shares a cause: what burns, and what warns of it, are one.
fn kind(gear: &str) -> Option<&'static str> {
    let group = by_name(gear)?.group.as_str();
    Some(if matches!(group, "heat" | "galley" | "fire_gas") { "heat" } else { group })
}
