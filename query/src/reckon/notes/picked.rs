//! Readings picked for an input, and how they are told of.

use std::collections::BTreeSet;

use leadsman_index::StoredReading;
use leadsman_ingest::Reading;

use crate::figure;
use crate::reckon::unit::Quantity;
use crate::reckon::{Said, Taken, plain};

/// Readings picked for an input, each as one value in its canonical unit.
#[derive(Clone, Debug, Default)]
pub(super) struct Picked<'a>(pub(super) Vec<(f64, &'a StoredReading)>);

impl<'a> Picked<'a> {
    pub(super) fn values(&self) -> Vec<f64> {
        self.0.iter().map(|(value, _)| *value).collect()
    }

    pub(super) fn last(&self) -> Option<(f64, &'a StoredReading)> {
        self.0.last().copied()
    }

    pub(super) fn only(self, keep: impl Fn(f64, &StoredReading) -> bool) -> Self {
        Self(self.0.into_iter().filter(|(value, stored)| keep(*value, stored)).collect())
    }

    pub(super) fn from(&self) -> String {
        from(self.0.iter().map(|(_, stored)| *stored))
    }

    pub(super) fn taken(&self, input: &str, value: String) -> Taken {
        Taken {
            input: input.to_string(),
            value,
            from: self.from(),
            said: said(self.0.iter().map(|(_, s)| *s)),
        }
    }
}

/// "6 readings, 12 Sep to 3 Oct 2026".
pub(super) fn from<'a>(stored: impl Iterator<Item = &'a StoredReading>) -> String {
    let stored: Vec<&StoredReading> = stored.collect();
    let days: BTreeSet<_> =
        stored.iter().filter_map(|s| s.reading.at.as_ref()).map(|moment| moment.at.date_naive()).collect();
    let count = figure::count(stored.len(), "reading", "readings");
    let day = |day: &chrono::NaiveDate, form: &str| day.format(form).to_string();
    match (days.first(), days.last()) {
        (Some(first), Some(last)) if first == last => format!("{count}, {}", day(first, "%-d %b %Y")),
        (Some(first), Some(last)) => {
            let same = first.format("%Y").to_string() == last.format("%Y").to_string();
            let form = if same { "%-d %b" } else { "%-d %b %Y" };
            format!("{count}, {} to {}", day(first, form), day(last, "%-d %b %Y"))
        }
        _ => format!("{count}, undated"),
    }
}

/// The words behind readings.
pub(super) fn said<'a>(stored: impl Iterator<Item = &'a StoredReading>) -> Vec<Said> {
    let words = |stored: &StoredReading| Said {
        hash: stored.source.to_string(),
        span: stored.reading.span,
        quote: stored.reading.quote.clone(),
    };
    stored.map(words).collect()
}

pub(super) fn value(reading: &Reading) -> Option<f64> {
    Some(reading.low? / 2.0 + reading.high? / 2.0).filter(|value| value.is_finite())
}

/// A quantity to a tenth, as one would say it; what is reckoned with is kept whole.
pub(super) fn tenth<Q: Quantity>(quantity: Q) -> String {
    format!("{}{}", plain((quantity.canonical() * 10.0).round() / 10.0), figure::suffix(Q::UNIT))
}

pub(super) fn passage_taken(input: &str, value: String) -> Taken {
    Taken { input: input.to_string(), value, from: "the passage as set".to_string(), said: Vec::new() }
}
