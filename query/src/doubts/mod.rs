//! What may be wrong, each with the name by which one command settles it: the answer of `leadsman doubts`.
//!
//! A doubtful reading is used with its mark and kept out of trends. A trial that only the model hears of proves nothing.
//! An item that may be nothing, or over by now, stands apart from the others. A closing that only follows from what a note says is a doubt too, until the skipper confirms it or later notes have
//! passed without contradiction.

mod screen;

use leadsman_index::SourceId;
use leadsman_ingest::matter::lengths;
use leadsman_ingest::{Moment, Reading, Trial};
use serde::Serialize;

use crate::boat::Boat;
use crate::open_item::{Closed, Open, OpenList};

pub use screen::show;

/// One thing that may be wrong.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "of", rename_all = "snake_case")]
pub enum Doubt {
    /// A reading.
    Reading {
        /// Its short name, for `confirm`, `correct` and `dismiss`.
        name: String,
        /// The file's name.
        source: String,
        /// SHA-256 of the source.
        hash: String,
        /// The reading, with its doubts.
        #[serde(flatten)]
        reading: Reading,
    },
    /// A trial that only the model judges to have gone so, for `confirm`, `correct` and `dismiss`.
    Trial {
        /// Its short name.
        name: String,
        /// The file's name.
        source: String,
        /// SHA-256 of the source.
        hash: String,
        /// The trial.
        #[serde(flatten)]
        trial: Trial,
    },
    /// An item that may be nothing, or over by now, for `confirm`, `close` and `dismiss`.
    Item {
        /// The item.
        #[serde(flatten)]
        item: Box<Open>,
    },
    /// A closing, for `confirm` and `reopen`.
    Closing {
        /// The closed item.
        #[serde(flatten)]
        closed: Closed,
    },
}

/// Lists what may be wrong: readings by time, those without a time first; trials likewise; then items, most pressing
/// first; then closings, latest first.
pub fn doubts(boat: &Boat, list: &OpenList) -> Vec<Doubt> {
    let file = |source: SourceId| {
        let stored = boat.sources().find(|(stored, _)| stored.source == source);
        stored.map_or_else(String::new, |(stored, _)| stored.name.clone())
    };
    let readings = picked(boat.named_readings(), |found| Picked {
        name: &found.name,
        doubtful: !found.reading.doubts.is_empty(),
        at: found.reading.at,
    });
    let readings = readings.into_iter().map(|(found, name)| Doubt::Reading {
        name,
        source: file(found.source),
        hash: found.source.to_string(),
        reading: found.reading.clone(),
    });
    let trials = picked(boat.named_trials(), |found| Picked {
        name: &found.name,
        doubtful: found.trial.judged,
        at: found.trial.at,
    });
    let trials = trials.into_iter().map(|(found, name)| Doubt::Trial {
        name,
        source: file(found.source),
        hash: found.source.to_string(),
        trial: found.trial.clone(),
    });
    let items = list.perhaps.iter().map(|item| Doubt::Item { item: Box::new(item.clone()) });
    let closings = list.closed.iter().filter(|closed| closed.unconfirmed);
    let closings = closings.map(|closed| Doubt::Closing { closed: closed.clone() });
    readings.chain(trials).chain(items).chain(closings).collect()
}

/// What it takes to pick the doubtful ones of many findings.
struct Picked<'f> {
    name: &'f str,
    doubtful: bool,
    at: Option<Moment>,
}

/// The doubtful ones of many findings by time, those without a time first, each with its short name among all.
fn picked<F>(all: Vec<F>, of: impl Fn(&F) -> Picked<'_>) -> Vec<(F, String)> {
    let shown = short_names(all.iter().map(|found| of(found).name.to_owned()));
    let mut doubtful: Vec<(F, String)> =
        all.into_iter().zip(shown).filter(|(found, _)| of(found).doubtful).collect();
    doubtful.sort_by_key(|(found, _)| of(found).at.map(|moment| moment.at));
    doubtful
}

/// The beginning of each finding's name that tells it from all others: `r-` or `t-` and four signs, or more.
pub fn short_names(all: impl Iterator<Item = String>) -> Vec<String> {
    const LEAST: usize = 6;
    let names: Vec<(String, usize)> = all.enumerate().map(|(n, name)| (name, n)).collect();
    lengths(&names, LEAST)
        .into_iter()
        .zip(names)
        .map(|(length, (name, _))| name[..length].to_owned())
        .collect()
}
