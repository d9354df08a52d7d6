//! Every piece of gear that the notes name, by name.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use leadsman_index::{StoredReading, StoredTrial};
use leadsman_ingest::Outcome;
use serde::Serialize;

use super::trials::wind_kn;
use crate::open_item::OpenList;

/// A piece of gear.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct GearRow {
    /// Its name.
    pub gear: String,
    /// How many readings are about it.
    pub readings: usize,
    /// How many trials of it there are.
    pub trials: usize,
    /// How many of them it passed.
    pub passed: usize,
    /// How many it failed or only partly passed.
    pub failed: usize,
    /// How the latest one went.
    pub last_outcome: Option<&'static str>,
    /// The day of the latest one.
    pub last_tried: Option<NaiveDate>,
    /// Strongest wind in which it passed one, in kn.
    pub passed_in_kn: Option<f64>,
    /// How many items on it stand open.
    pub open_items: usize,
}

/// The rows, from a home's readings, trials by time, and items.
pub fn gear(readings: &[StoredReading], trials: &[StoredTrial], list: &OpenList) -> Vec<GearRow> {
    let mut rows: BTreeMap<String, GearRow> = BTreeMap::new();
    for gear in readings.iter().filter_map(|stored| stored.reading.gear.as_deref()) {
        row(&mut rows, gear).readings += 1;
    }
    for stored in trials {
        let row = row(&mut rows, &stored.trial.gear);
        row.trials += 1;
        match stored.trial.outcome {
            Outcome::Pass => {
                row.passed += 1;
                let (_, wind) = wind_kn(&stored.conditions);
                row.passed_in_kn = [row.passed_in_kn, wind].into_iter().flatten().reduce(f64::max);
            }
            Outcome::Fail | Outcome::Partial => row.failed += 1,
            Outcome::Unclear => {}
        }
        let day = stored.trial.at.map(|moment| moment.at.date_naive());
        if day >= row.last_tried {
            row.last_tried = day;
            row.last_outcome = Some(stored.trial.outcome.name());
        }
    }
    for gear in list.open.iter().filter_map(|item| item.gear.as_deref()) {
        row(&mut rows, gear).open_items += 1;
    }
    let mut rows: Vec<GearRow> = rows.into_values().collect();
    rows.sort_by_key(|row| row.gear.to_lowercase());
    rows
}

fn row<'a>(rows: &'a mut BTreeMap<String, GearRow>, gear: &str) -> &'a mut GearRow {
    rows.entry(gear.to_owned()).or_insert_with(|| GearRow { gear: gear.to_owned(), ..GearRow::default() })
}
