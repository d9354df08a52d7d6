//! A source's bytes in; utterances, readings, trials, items and notices out.
//!
//! This crate touches no disk, clock, network, environment or database: everything it knows from outside a
//! source's bytes comes in by [`Hints`]. Whatever the bytes are, [`read()`] gives a [`Note`]: what was understood,
//! and a notice for what was not. The modules stand in reading order, the way that a source goes through them.

#[macro_use]
pub(crate) mod word;

mod attempt;
pub mod clause;
pub mod correct;
pub mod date;
pub mod fault;
pub(crate) mod fnv;
pub mod format;
pub mod found;
pub mod gear;
pub mod grammar;
pub mod heard;
pub mod instrument;
pub mod item;
pub mod judge;
pub mod lexicon;
pub mod life;
pub mod matter;
pub mod number;
pub mod quantity;
mod read;
pub mod reading;
pub mod sound;
pub mod stance;
pub mod talk;
pub mod taught;
pub mod text;
mod thing;
pub mod token;
pub mod topic;
pub mod trial;
pub mod weigh;
pub mod when;

pub use found::*;
pub use read::{Hints, read, read_words};
