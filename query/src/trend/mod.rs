//! Readings of one quantity in time, and whether they go anywhere.

pub mod stats;
