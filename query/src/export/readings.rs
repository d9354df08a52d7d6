//! Every reading, by time.

use leadsman_index::StoredReading;
use serde::Serialize;

/// A reading.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ReadingRow {
    /// When it was said to be so; empty where no time is known.
    pub at: Option<String>,
    /// How that is known: `stated`, `inferred`, `file_time`.
    pub at_basis: Option<&'static str>,
    /// Name of the quantity.
    pub quantity: String,
    /// Lower end; empty for an open bound.
    pub low: Option<f64>,
    /// Upper end; empty for an open bound.
    pub high: Option<f64>,
    /// Canonical unit of both.
    pub unit: String,
    /// The unit as said.
    pub unit_said: String,
    /// What the speaker means by the number.
    pub stance: &'static str,
    /// The gear that it is about.
    pub gear: Option<String>,
    /// The words.
    pub quote: String,
    /// Why it may be wrong, with "; " between.
    pub doubts: String,
    /// The name that the source's file had.
    pub source: String,
    /// SHA-256 of the source.
    pub hash: String,
    /// First byte of the words in the source.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// The rows of a home's readings.
pub fn readings(stored: Vec<StoredReading>) -> Vec<ReadingRow> {
    stored.into_iter().map(ReadingRow::from).collect()
}

impl From<StoredReading> for ReadingRow {
    fn from(stored: StoredReading) -> Self {
        let reading = stored.reading;
        Self {
            at: reading.at.map(|moment| moment.at.to_rfc3339()),
            at_basis: reading.at.map(|moment| moment.basis.name()),
            quantity: reading.quantity,
            low: reading.low,
            high: reading.high,
            unit: reading.unit,
            unit_said: reading.unit_said,
            stance: reading.stance.name(),
            gear: reading.gear,
            quote: reading.quote,
            doubts: reading.doubts.join("; "),
            source: stored.name,
            hash: stored.source.to_string(),
            start: reading.span.start,
            end: reading.span.end,
        }
    }
}
