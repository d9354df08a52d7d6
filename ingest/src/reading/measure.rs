//! Measures: numbers with their units in any text, without asking what quantity they are.

use std::ops::Range;

use crate::found::Utterance;
use crate::gear::Names;
use crate::quantity::{Dimension, Unit};
use crate::talk::Talk;

use super::amount;

/// A number with its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Lower end, in the unit.
    pub low: f64,
    /// Upper end, in the unit; equal to `low` for a single value.
    pub high: f64,
    /// The unit's symbol in `lexicon/units.toml`, with `/h` or `/min` behind it for a rate.
    pub unit: String,
    /// What the unit measures.
    pub dimension: Dimension,
    /// The value in the base of the dimension; for a range, of its upper end.
    pub base: f64,
    /// Bytes of the text.
    pub bytes: Range<usize>,
}

/// Finds the measures of a plain text, in order: "two and a half litres", "5 ft 2 in", "1008mb".
///
/// Errors: none; numbers without a unit are left out.
pub fn measures(text: &str) -> Vec<Measure> {
    let utterances = [Utterance::line(text)];
    let talk = Talk::new(text, &utterances, &Names::default());
    let mut out = Vec::new();
    for found in amount::amounts(&talk, amount::Of::AnyText) {
        let Some(unit) = found.unit else { continue };
        let Some(first) = found.run.candidates().into_iter().next() else { continue };
        let high = found
            .other
            .as_ref()
            .and_then(|(_, run)| run.candidates().first().map(|c| c.high))
            .unwrap_or(first.high);
        let (mut low, mut high) = (first.low.min(high), high.max(first.low));
        let mut base = unit.to_base(high, false);
        if let Some(total) = found.base {
            base = total;
            (low, high) = (in_unit(unit.unit, total), in_unit(unit.unit, total));
        }
        let rate = match unit.rate {
            Some((Dimension::RateHour, _)) => "/h",
            Some(_) => "/min",
            None => "",
        };
        let span = talk.span(found.tokens.clone());
        // "- 20 degrees": a sign with a space behind it.
        if unit.unit.dimension == Dimension::Temperature && text[..span.start].ends_with(" - ") {
            (low, high, base) = (-high, -low, unit.to_base(-low, false));
        }
        out.push(Measure {
            low,
            high,
            unit: format!("{}{rate}", unit.unit.symbol),
            dimension: unit.dimension(),
            base,
            bytes: span.range(),
        });
    }
    out
}

fn in_unit(unit: &Unit, base: f64) -> f64 {
    (base - unit.offset) / unit.factor
}
