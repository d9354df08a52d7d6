//! Gear that by the speaker's own words was never tried, or not since it was changed.

use super::words::{item, thought_of};
use crate::found::{Item, Why};
use crate::talk::Talk;
use crate::topic::Thought;

/// Finds what a note says was not tried.
pub fn unproven(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Item> {
    // Words near the last ones, in a thought that names no gear of its own, go on about the same thing.
    const NEAR: usize = 30;
    let mut out: Vec<Item> = Vec::new();
    let mut last: Option<usize> = None;
    for cue in talk.cues().unproven.iter().cloned() {
        let at = thought_of(thoughts, cue.start);
        let thought = &thoughts[at];
        if waits(talk, thoughts, at, &cue) || stayed_there(talk, &cue) {
            continue;
        }
        let Some(subject) = thought.subject(talk, &cue) else { continue };
        let same_block =
            |l: usize| talk.tokens[l..cue.start].iter().all(|t| t.gap < crate::token::Gap::Block);
        let goes_on = last.is_some_and(|l| cue.start < l + NEAR && l <= cue.start && same_block(l))
            && !thought.mentions.contains(&subject);
        last = Some(cue.end);
        if goes_on {
            continue;
        }
        let found = item(talk, thoughts, at, cue, Some(subject), Why::Unproven);
        if !out.iter().any(|i| i.gear == found.gear) {
            out.push(found);
        }
    }
    out
}

/// "Third reef down hard in five minutes, never left the cockpit": people.
fn stayed_there(talk: &Talk<'_>, cue: &std::ops::Range<usize>) -> bool {
    let tokens = &talk.tokens;
    tokens[cue.clone()].iter().any(|t| t.is("left"))
        && tokens.get(cue.end).is_some_and(|t| {
            t.is_any(words!["cockpit", "helm", "wheel", "tiller", "cabin", "companionway", "chair", "seat"])
        })
}

/// Whether "we'll see" is about what somebody is to do: "he'll take it Wednesday. We'll see".
fn waits(talk: &Talk<'_>, thoughts: &[Thought], at: usize, cue: &std::ops::Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let alone = thoughts[at].tokens.len() <= cue.len() + 1;
    let sees = tokens[cue.clone()].last().is_some_and(|t| t.is_any(words!["see", "know"]));
    let before = at.checked_sub(1).map(|i| &thoughts[i]).filter(|t| t.block == thoughts[at].block);
    let ahead =
        before.is_some_and(|t| tokens[t.tokens.clone()].iter().any(|t| t.is_any(words!["will", "'ll"])));
    alone && sees && ahead
}
