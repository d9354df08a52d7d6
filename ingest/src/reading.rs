//! Readings: a number, its quantity, its stance, its gear and its time put together.

use crate::found::Reading;
use crate::talk::Talk;

/// Finds the readings of a note; spans are in the decoded text.
pub fn readings(_talk: &Talk<'_>) -> Vec<Reading> {
    Vec::new()
}
