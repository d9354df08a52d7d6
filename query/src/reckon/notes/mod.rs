//! Inputs from the home: a reckoning's missing numbers, taken from the boat's own readings and the passage as set.
//!
//! Only what was observed counts as measured, only a fixed property as a size; a reading with a doubt is left out, and so
//! is an open bound. Two readings belong together when they stand near each other in one note. What is taken is listed
//! with its readings and days. Nothing here fills in a number that nobody said.

mod budget;
mod fuel;
mod heat;
mod picked;
mod power;
mod rig;
#[cfg(test)]
mod tests;
mod water;
mod way;

use std::collections::HashMap;

use leadsman_index::{Decision, Passage, SourceId, StoredReading};
use leadsman_ingest::{Reading, Stance};

use super::Taken;
use super::rig::CardLine;
use super::unit::{Force, Volume};
use picked::{Picked, value};

/// Two readings further apart than this in a note, in bytes, are not taken as of one occasion.
const NEAR: usize = 400;

/// By how many bytes a reading on the unlikely side of another has to be nearer to belong to it.
const OTHER_SIDE: usize = 100;

/// On which side of a reading what belongs to it is usually said.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Before,
    After,
}

/// The quantities that a reckoning may ask the home for.
pub const QUANTITIES: [&str; 14] = [
    "air_temperature",
    "boat_speed",
    "cabin_temperature",
    "charge",
    "current",
    "duration",
    "engine_speed",
    "fuel_rate",
    "fuel_volume",
    "gauge_reading",
    "length",
    "power",
    "rig_tension",
    "water_volume",
];

/// A home's readings, its passage, and what the skipper knows of the rig.
#[derive(Clone, Debug, Default)]
pub struct Notes {
    readings: Vec<StoredReading>,
    of_source: HashMap<SourceId, Vec<usize>>,
    passage: Passage,
    wires: Vec<Wire>,
    limits: Vec<Band>,
}

/// What the skipper knows of a wire.
#[derive(Clone, Debug)]
struct Wire {
    gear: String,
    breaking_load: Option<(Force, String)>,
    card: Vec<CardLine>,
}

/// A band of rig tension that the skipper has set, in % of breaking load.
#[derive(Clone, Debug)]
struct Band {
    gear: Option<String>,
    low: Option<f64>,
    high: Option<f64>,
    who: String,
}

impl Notes {
    /// Takes a home's readings, by time as the database gives them, and the decisions that stand, by time.
    pub fn new<'a>(readings: Vec<StoredReading>, decisions: impl IntoIterator<Item = &'a Decision>) -> Self {
        let mut notes = Self { readings, ..Self::default() };
        for (at, stored) in notes.readings.iter().enumerate() {
            notes.of_source.entry(stored.source).or_default().push(at);
        }
        for decision in decisions {
            match decision {
                Decision::Passage(later) => notes.passage = notes.passage.then(later),
                Decision::Wire { gear, breaking_load_kn, breaking_load_source, card } => {
                    let source = breaking_load_source.clone();
                    notes.wires.push(Wire {
                        gear: gear.clone(),
                        breaking_load: breaking_load_kn.map(Force::kn).zip(source),
                        card: card
                            .iter()
                            .map(|(reading, load)| CardLine { reading: *reading, load: Force::kn(*load) })
                            .collect(),
                    });
                }
                Decision::Limit { quantity, gear, low, high, who } if quantity == "rig_tension" => {
                    notes.limits.push(Band { gear: gear.clone(), low: *low, high: *high, who: who.clone() })
                }
                _ => {}
            }
        }
        notes
    }

    /// The passage as set.
    pub fn passage(&self) -> &Passage {
        &self.passage
    }

    fn pick(&self, quantity: &str, gear: &[&str], stance: Stance) -> Picked<'_> {
        let of_gear = |reading: &Reading| match &reading.gear {
            Some(found) => gear.iter().any(|name| name.eq_ignore_ascii_case(found)),
            None => gear.is_empty(),
        };
        let fits = |stored: &&StoredReading| {
            let reading = &stored.reading;
            reading.quantity == quantity
                && reading.stance == stance
                && reading.doubts.is_empty()
                && of_gear(reading)
        };
        Picked(
            self.readings
                .iter()
                .filter(fits)
                .filter_map(|stored| Some((value(&stored.reading)?, stored)))
                .collect(),
        )
    }

    /// The observed reading of a quantity nearest to `beside` in its note, whatever its gear; one on the other side than
    /// `side` has to be nearer by [`OTHER_SIDE`], so that lines of a list do not borrow from each other.
    fn nearest(
        &self,
        quantity: &str,
        side: Side,
        beside: &StoredReading,
        within: usize,
    ) -> Option<(f64, &StoredReading)> {
        let gap = |stored: &StoredReading| {
            let (a, b) = (stored.reading.span, beside.reading.span);
            b.start.saturating_sub(a.end).max(a.start.saturating_sub(b.end))
        };
        let of_source = self.of_source.get(&beside.source).map_or(&[][..], Vec::as_slice);
        of_source
            .iter()
            .map(|at| &self.readings[*at])
            .filter(|stored| {
                stored.reading.quantity == quantity
                    && stored.reading.stance == Stance::Observed
                    && stored.reading.doubts.is_empty()
                    && gap(stored) <= within
            })
            .filter_map(|stored| Some((value(&stored.reading)?, stored)))
            .min_by_key(|(_, stored)| {
                // Cells of a row are quoted from the row's first: what shares its words stands on no side.
                let (found, own) = (stored.reading.span, beside.reading.span);
                let likely = found.meets(own) || (found.start < own.start) == (side == Side::Before);
                gap(stored) + if likely { 0 } else { OTHER_SIDE }
            })
    }

    /// The size of a tank: the largest that the notes give as its size, taken as full.
    fn tank(&self, quantity: &str, gear: &[&str]) -> Option<(Volume, Taken)> {
        let spec = self.pick(quantity, gear, Stance::Spec);
        let most = Volume::l(spec.values().into_iter().reduce(f64::max)?);
        let taken = spec.taken("tank", format!("{most}, the tank's size: taken as full"));
        Some((most, taken))
    }
}
