//! Asks: what stands open, what was tried, where a quantity is going, what the numbers come to; and the `leadsman`
//! program, the only place that prints, serves, asks the clock and exits.
//!
//! Each question's module computes its answer into a documented struct; the struct is then shown on the screen or
//! written as JSON. `cli` has one file a command.

pub mod announced;
pub mod beside;
pub mod boat;
pub mod cli;
pub mod day_word;
pub mod decide;
pub mod demo;
pub mod doubts;
pub mod dumped;
pub mod envelope;
pub mod error;
pub mod explain;
pub mod export;
pub mod figure;
pub mod file;
pub mod find;
pub mod folded;
pub mod gear_word;
pub mod ingested;
pub mod instruments;
pub mod kept;
pub mod life;
pub mod limits;
pub mod moment_word;
pub mod notices;
pub mod open_item;
pub mod outcome_word;
pub mod outing;
pub mod polar;
pub mod proved;
pub mod quantity_word;
pub mod reckon;
pub mod record;
pub mod register;
pub mod report;
pub mod sailed;
pub mod screen;
pub mod settings;
pub mod trend;
pub mod understood;
pub mod voice;
pub mod web;
pub mod words;
