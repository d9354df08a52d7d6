//! Asks: what stands open, what was tried, where a quantity is going.

pub mod trend;
