//! What may be wrong, each with the name by which one command settles it: the answer of `leadsman doubts`.
//!
//! A doubtful reading is used with its mark and kept out of trends. A trial that only the model hears of proves nothing. A
//! closing that only follows from what a note says is a doubt too, until the skipper confirms it or later notes have
//! passed without contradiction.

mod screen;

use leadsman_index::SourceId;
use leadsman_ingest::matter::lengths;
use leadsman_ingest::{Reading, Trial};
use serde::Serialize;

use crate::boat::Boat;
use crate::decide::NamedReading;
use crate::open_item::{Closed, OpenList};

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
    /// A closing, for `confirm` and `reopen`.
    Closing {
        /// The closed item.
        #[serde(flatten)]
        closed: Closed,
    },
}

/// Lists what may be wrong: readings by time, those without a time first; trials likewise; then closings, latest first.
pub fn doubts(boat: &Boat, list: &OpenList) -> Vec<Doubt> {
    let all = boat.named_readings();
    let shown = short_names(all.iter().map(|found| found.name.clone()));
    let mut doubtful: Vec<(&NamedReading<'_>, String)> =
        all.iter().zip(shown).filter(|(found, _)| !found.reading.doubts.is_empty()).collect();
    doubtful.sort_by_key(|(found, _)| found.reading.at.map(|moment| moment.at));
    let file = |source: SourceId| {
        let stored = boat.sources().find(|(stored, _)| stored.source == source);
        stored.map_or_else(String::new, |(stored, _)| stored.name.clone())
    };
    let readings = doubtful.into_iter().map(|(found, name)| Doubt::Reading {
        name,
        source: file(found.source),
        hash: found.source.to_string(),
        reading: found.reading.clone(),
    });
    let trials = boat.named_trials();
    let shown = short_names(trials.iter().map(|found| found.name.clone()));
    let mut unsure: Vec<_> = trials.iter().zip(shown).filter(|(found, _)| found.trial.judged).collect();
    unsure.sort_by_key(|(found, _)| found.trial.at.map(|moment| moment.at));
    let trials = unsure.into_iter().map(|(found, name)| Doubt::Trial {
        name,
        source: file(found.source),
        hash: found.source.to_string(),
        trial: found.trial.clone(),
    });
    let closings = list.closed.iter().filter(|closed| closed.unconfirmed);
    readings.chain(trials).chain(closings.map(|closed| Doubt::Closing { closed: closed.clone() })).collect()
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
