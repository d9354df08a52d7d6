//! Limits that the boat's notes give, and readings that lie outside them or come back inside.

use super::{Matter, Noted};
use crate::found::{Reading, Stance, Why};
use crate::matter::same::same_gear;

/// Quantities for which a reading outside a limit is a matter; for wind, speed and the like a limit is a trigger for
/// doing something, and exceeding it is no fault of the gear.
const WATCHED: &[&str] = &[
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
const LEAST: &[&str] = &["voltage", "state_of_charge", "oil_pressure", "pump_rate"];

/// Quantities whose limit, given as a single figure, is a greatest value.
const GREATEST: &[&str] = &["co_level", "engine_temperature"];

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

/// The limits of the watched quantities in some notes, oldest first.
pub fn limits<'a>(notes: impl IntoIterator<Item = &'a Noted<'a>>) -> Vec<Limit<'a>> {
    notes
        .into_iter()
        .flat_map(|n| &n.note.readings)
        .filter(|r| r.stance == Stance::Limit && WATCHED.contains(&r.quantity.as_str()))
        .map(|given| {
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
            Limit { given, least, greatest }
        })
        .collect()
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
            _ => true,
        }
    }

    /// Whether a reading lies outside.
    pub fn broken_by(&self, reading: &Reading) -> bool {
        let (low, high) = (reading.low.or(reading.high), reading.high.or(reading.low));
        self.least.zip(low).is_some_and(|(least, low)| low < least)
            || self.greatest.zip(high).is_some_and(|(most, high)| high > most)
    }
}

/// The observed readings of a note that lie outside a limit given by it or by the notes before it.
pub fn outside<'a>(before: &'a [Noted<'a>], noted: &'a Noted<'a>) -> Vec<(&'a Reading, Limit<'a>)> {
    let limits = limits(before.iter().chain([noted]));
    noted
        .note
        .readings
        .iter()
        .filter(|r| r.stance == Stance::Observed && r.doubts.is_empty())
        .filter_map(|r| {
            // The latest limit that governs a reading is the one in force.
            let limit = limits.iter().rev().find(|l| l.governs(r))?;
            limit.broken_by(r).then_some((r, *limit))
        })
        .collect()
}

/// The reading in a note that brings a matter back inside its limits: only where one reading shows it, as for a
/// shroud's tension. A battery that is full at noon says nothing of the night.
pub fn back_inside<'a>(
    matter: &Matter,
    before: &'a [Noted<'a>],
    noted: &'a Noted<'a>,
) -> Option<&'a Reading> {
    const SHOWN_BY_ONE: &[&str] = &["rig_tension", "gauge_reading"];
    if matter.why.first() != Some(&Why::OutOfLimits) {
        return None;
    }
    let limits = limits(before.iter().chain([noted]));
    noted.note.readings.iter().find(|r| {
        r.stance == Stance::Observed
            && SHOWN_BY_ONE.contains(&r.quantity.as_str())
            && same_gear(r.gear.as_deref(), matter.gear.as_deref())
            && limits.iter().rev().find(|l| l.governs(r)).is_some_and(|l| !l.broken_by(r))
    })
}
