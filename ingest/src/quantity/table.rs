//! The table of quantities, from `lexicon/quantities.toml`.

use std::sync::LazyLock;

use rustc_hash::FxHashMap;
use serde::Deserialize;

use super::cue::{Side, Strength, Target};
use super::unit::Dimension;
use crate::lexicon::Patterns;

/// Which meaning of two numbers side by side a quantity takes first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Style {
    /// "five four" is 5.4.
    Decimal,
    /// "fourteen fifteen" is 14 to 15.
    Pair,
    /// "one eighty five" is 185.
    #[default]
    Whole,
    /// "eleven eleven point eight" is 11.8, said again.
    Again,
    /// Numbers side by side are parted.
    Plain,
}

/// A quantity: its unit, its bands, and how it is said.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    /// `true_wind_speed` and the like.
    pub name: String,
    /// Canonical unit.
    pub unit: String,
    /// The dimensions that it may be said in.
    pub dimension: Vec<Dimension>,
    /// Band in which a value is believed, canonical unit.
    pub usual: [f64; 2],
    /// Band outside of which a number is not this quantity.
    pub possible: [f64; 2],
    /// How two numbers side by side are read.
    #[serde(default)]
    pub style: Style,
    /// Whether a number without a unit may be it.
    #[serde(default = "yes")]
    pub bare: bool,
    #[serde(flatten)]
    words: Words,
}

impl Quantity {
    /// Whether it is how fast the wind blows, by whatever it is measured against.
    pub fn is_wind_speed(&self) -> bool {
        matches!(self.name.as_str(), "wind_speed" | "wind_gust" | "apparent_wind_speed" | "true_wind_speed")
    }
}

fn yes() -> bool {
    true
}

#[derive(Clone, Debug, Default, Deserialize)]
struct Words {
    #[serde(default)]
    names: Vec<String>,
    #[serde(default)]
    before: Vec<String>,
    #[serde(default)]
    after: Vec<String>,
    #[serde(default)]
    close: Vec<String>,
    #[serde(default)]
    hints: Vec<String>,
}

#[derive(Deserialize)]
struct Facet {
    name: String,
    #[serde(flatten)]
    words: Words,
}

#[derive(Deserialize)]
struct File {
    quantity: Vec<Quantity>,
    facet: Vec<Facet>,
}

/// The quantities, and the words that name them ready to be looked for.
pub struct Table {
    /// All of them, in the order of the file.
    pub quantities: Vec<Quantity>,
    by_name: FxHashMap<String, usize>,
    /// Every cue.
    pub cues: Patterns<(Target, Side, Strength)>,
}

impl Table {
    /// Reads a file of quantities. Errors: what does not read, and where.
    pub fn new(text: &str) -> Result<Self, String> {
        let File { quantity: quantities, facet: facets } = toml::from_str(text).map_err(|e| e.to_string())?;
        let mut cues = Patterns::default();
        let mut add = |target: Target, words: &Words| -> Result<(), String> {
            for (list, side, strength) in [
                (&words.names, Side::Either, Strength::Name),
                (&words.before, Side::Before, Strength::Name),
                (&words.after, Side::After, Strength::Name),
                (&words.close, Side::Before, Strength::Close),
                (&words.hints, Side::Either, Strength::Hint),
            ] {
                for written in list {
                    cues.add(written, (target, side, strength))?;
                }
            }
            Ok(())
        };
        for (index, quantity) in quantities.iter().enumerate() {
            add(Target::Quantity(index), &quantity.words)?;
        }
        for facet in &facets {
            let target = match facet.name.as_str() {
                "wind" => Target::Wind,
                "apparent" => Target::Apparent,
                "true" => Target::True,
                "engine_water" => Target::EngineWater,
                other => return Err(format!("expected a facet that is known, found \"{other}\"")),
            };
            add(target, &facet.words)?;
        }
        let by_name = quantities.iter().enumerate().map(|(i, q)| (q.name.clone(), i)).collect();
        Ok(Self { quantities, by_name, cues })
    }

    /// Index of a quantity by its name.
    pub fn index(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    Table::new(include_str!("../../lexicon/quantities.toml"))
        .expect("lexicon/quantities.toml reads; a test holds it to that")
});

/// The quantities of `lexicon/quantities.toml`.
pub fn table() -> &'static Table {
    &TABLE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_reads_and_its_bands_hold_together() {
        let table = Table::new(include_str!("../../lexicon/quantities.toml")).expect("quantities.toml reads");
        for q in &table.quantities {
            assert!(
                q.possible[0] <= q.usual[0] && q.usual[0] < q.usual[1] && q.usual[1] <= q.possible[1],
                "{}",
                q.name
            );
            for dimension in &q.dimension {
                let converted = super::super::convert(1.0, *dimension, &q.unit);
                assert!(converted.is_some(), "{}: {dimension:?} has no way to {}", q.name, q.unit);
            }
        }
        assert_eq!(table.index("heel").map(|i| table.quantities[i].unit.as_str()), Some("deg"));
    }
}
