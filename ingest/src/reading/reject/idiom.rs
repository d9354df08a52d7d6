//! Numbers in ways of speaking that measure nothing: "in three weeks", "my nephew who's sixteen", "ten minutes past four".

use crate::token::{Gap, Token};
use crate::word::WordList;

/// Whether a number tells a date ahead, an age, an hour by its minutes, a band of the radio, how long something is overdue, a
/// foot that stands on something, or is the "fore" of a stay.
pub(super) fn is_idle(tokens: &[Token<'_>], start: usize, end: usize) -> bool {
    let near = |n: usize| tokens.get(end + n).filter(|t| t.gap <= Gap::Line);
    let lead = |n: usize, words: &WordList| start.checked_sub(n).is_some_and(|i| tokens[i].is_any(words));
    // "In three weeks it is two degrees there": a date, and no time taken.
    let ahead = lead(1, words!["in"]) && near(0).is_some_and(|t| t.is_any(words!["weeks", "months"]));
    // "She is 31, I am 66", "my nephew who's sixteen".
    let bare = near(0).is_none_or(|t| t.gap >= Gap::Comma || t.is("and"));
    let i_am = |at: usize| {
        tokens.get(at).is_some_and(|t| t.is("i"))
            && tokens.get(at + 1).is_some_and(|t| t.is_any(words!["am", "'m"]))
    };
    let age = bare
        && (lead(1, words!["am", "'m"]) && lead(2, words!["i"])
            || lead(1, words!["is", "'s"]) && (lead(2, words!["who"]) || i_am(end)));
    // "Got one foot on the bottom rung", "not one more inch".
    let one = end == start + 1 && tokens[start].is_any(words!["one", "1"]);
    let limb = one
        && (near(0).is_some_and(|t| t.is("foot"))
            && near(1).is_some_and(|t| t.is_any(words!["on", "in", "over", "through", "out"]))
            || near(0).is_some_and(|t| t.is("more")) && near(1).is_some_and(|t| t.is("inch")));
    // "Ten minutes past four", "it makes that ten days stale".
    let o_clock = near(0).is_some_and(|t| t.is_any(words!["minute", "minutes"]))
        && near(1).is_some_and(|t| t.is_any(words!["past", "to"]))
        && crate::number::atom_at(tokens, end + 2).is_some();
    let stale = near(0).is_some_and(|t| t.is_any(words!["day", "days", "week", "weeks", "month", "months"]))
        && near(1).is_some_and(|t| t.is_any(words!["stale", "overdue", "already"]));
    // "The inner four stay": what a recogniser makes of "fore".
    let fore = tokens[start].is("four")
        && end == start + 1
        && near(0).is_some_and(|t| t.is_any(words!["stay", "peak", "guy", "castle", "triangle"]));
    // "HF six megs": a band of the radio.
    let band = lead(1, words!["f"]) && lead(2, words!["h"])
        || near(0).is_some_and(|t| t.is_any(words!["megs", "megahertz", "mhz"]));
    ahead || age || limb || o_clock || stale || fore || band
}
