//! Quantities and units: what a number can measure, in which unit, and which words say so.
//!
//! The tables are `lexicon/quantities.toml` and `lexicon/units.toml`, read once, at first use.

mod cue;
mod table;
mod unit;

pub use cue::{Cue, Side, Strength, Target, cues};
pub use table::{Quantity, Style, Table, table};
pub(crate) use unit::unit_word;
pub use unit::{Dimension, Unit, UnitAt, Units, convert, unit_at, unit_named, unit_said, units};

use crate::lexicon::BuiltIn;

/// The patterns that are built in.
pub fn built_in() -> Vec<&'static dyn BuiltIn> {
    unit::built_in().into_iter().chain([&table().cues as &dyn BuiltIn]).collect()
}
