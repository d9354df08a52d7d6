//! Every trial, by time.

use leadsman_index::StoredTrial;
use leadsman_ingest::Reading;
use serde::Serialize;

use crate::figure;
use crate::words::spaced;

/// A trial.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct TrialRow {
    /// When; empty where no time is known.
    pub at: Option<String>,
    /// The gear.
    pub gear: String,
    /// `pass`, `partial`, `fail` or `unclear`.
    pub outcome: &'static str,
    /// What was tried, in the speaker's words.
    pub about: String,
    /// Least wind that it was tried in, in kn.
    pub wind_low_kn: Option<f64>,
    /// Most wind that it was tried in, in kn.
    pub wind_high_kn: Option<f64>,
    /// All conditions in words, with "; " between.
    pub conditions: String,
    /// The words that settle the outcome.
    pub quote: String,
    /// The name that the source's file had.
    pub source: String,
    /// SHA-256 of the source.
    pub hash: String,
    /// First byte of the words in the source.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// The rows of a home's trials.
pub fn trials(stored: Vec<StoredTrial>) -> Vec<TrialRow> {
    stored.into_iter().map(TrialRow::from).collect()
}

/// The wind among conditions, from the least to the most said of it.
pub fn wind_kn(conditions: &[Reading]) -> (Option<f64>, Option<f64>) {
    let wind = conditions.iter().filter(|reading| {
        matches!(
            reading.quantity.as_str(),
            "wind_speed" | "true_wind_speed" | "apparent_wind_speed" | "wind_gust"
        )
    });
    let ends: Vec<f64> = wind.flat_map(|reading| [reading.low, reading.high]).flatten().collect();
    (ends.iter().copied().reduce(f64::min), ends.iter().copied().reduce(f64::max))
}

impl From<StoredTrial> for TrialRow {
    fn from(stored: StoredTrial) -> Self {
        let trial = stored.trial;
        let (wind_low_kn, wind_high_kn) = wind_kn(&stored.conditions);
        let conditions: Vec<String> = stored
            .conditions
            .iter()
            .map(|r| format!("{} {}", spaced(&r.quantity), figure::range(r.low, r.high, &r.unit)))
            .collect();
        Self {
            at: trial.at.map(|moment| moment.at.to_rfc3339()),
            gear: trial.gear,
            outcome: trial.outcome.name(),
            about: trial.about,
            wind_low_kn,
            wind_high_kn,
            conditions: conditions.join("; "),
            quote: trial.quote,
            source: stored.name,
            hash: stored.source.to_string(),
            start: trial.span.start,
            end: trial.span.end,
        }
    }
}
