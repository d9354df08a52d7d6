//! The life of gear as a note tells it: that it came aboard, was renewed, mended or went; that a trial of it is about
//! to be made; and from what conditions on it is needed. The words are in `lexicon/life.toml`.

mod announced;
mod needed;
mod told;
mod words;

#[cfg(test)]
mod tests;

pub(crate) use words::LIFE;

pub use words::built_in;

use chrono::NaiveDate;

use crate::date::Named;
use crate::found::{Event, Reading};
use crate::talk::Talk;
use crate::topic::Thought;

/// Finds what a note made on a day tells of the life of gear, given the dates that it names, in the order of its words; spans are in the decoded text.
pub fn events(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    readings: &[Reading],
    dates: &[Named],
    day: NaiveDate,
) -> Vec<Event> {
    let mut out = told::told(talk, thoughts, dates, day);
    out.extend(announced::announced(talk, thoughts));
    out.extend(needed::needed(talk, thoughts, readings));
    out.sort_by(|a, b| (a.span, a.what, &a.gear).cmp(&(b.span, b.what, &b.gear)));
    out.dedup_by(|a, b| a.what == b.what && a.gear == b.gear && a.span == b.span);
    out
}
