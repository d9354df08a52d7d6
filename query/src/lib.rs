//! Asks.
