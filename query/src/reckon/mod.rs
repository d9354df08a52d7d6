//! Reckonings: the sums behind the decisions, each one a file with its formula, units, range, source and caution.
//!
//! Pure: no disk, no clock, no database. A reckoning takes [`Args`](clap::Args) that are all optional, works out every
//! sum that they allow, and gives a [`Reckoned`]: figures with their interval, how each came about, and which sums
//! lack an input, by name. Nothing is made up for a missing input; a number out of physical range is refused.

#[cfg(test)]
pub(crate) mod check;
pub mod unit;

pub mod budget;
pub mod cold;
pub mod drag;
pub mod fuel;
pub mod glass;
pub mod heat;
pub mod hull;
pub mod notes;
pub mod position;
pub mod power;
pub mod resample;
pub mod rig;
pub mod sun;
pub mod two_part;
pub mod water;
pub mod way;
pub mod wind;

mod sheet;

pub use sheet::{
    Figure, Lacking, Missing, ReckonError, Reckoned, Said, Sheet, Sum, Taken, fixed, plain, within,
};
