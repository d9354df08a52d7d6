//! Attempts: how people say that a thing is tried once more.

use crate::grammar::GRAMMAR;
use crate::token::{Gap, Token};
use crate::word::WordList;

/// Which of several, "2nd" being two tokens.
const COUNTED: &WordList = words![
    "first", "second", "third", "fourth", "fifth", "next", "another", "final", "last", "st", "nd", "rd",
    "th", "1st", "2nd", "3rd", "4th",
];
const GOES: &WordList = words!["go", "attempt", "try", "shot"];
/// What is done to gear when it is tried.
const TRIED: &WordList = words![
    "tried", "try", "did", "ran", "tested", "hoisted", "set", "streamed", "rigged", "led", "anchored",
    "dropped", "went", "had", "repeated",
];

/// Whether a stretch begins with which attempt it tells of: "second go: alongside in five minutes", "and the third attempt I
/// came up under genoa".
pub(crate) fn heads(tokens: &[Token<'_>]) -> bool {
    /// As many small words may stand in front.
    const FILLERS: usize = 3;
    let small = |t: &&Token<'_>| GRAMMAR.fillers.has(t) || t.is_any(words!["and", "then", "so", "on"]);
    let before = tokens.iter().take(FILLERS).take_while(small).count();
    (0..=before).any(|at| {
        let then = usize::from(tokens.get(at).is_some_and(|t| t.text.bytes().all(|b| b.is_ascii_digit())));
        counts(&tokens[at + then..])
    })
}

fn counts(tokens: &[Token<'_>]) -> bool {
    let [which, go, ..] = tokens else { return false };
    // "First time" is praise as well: "lit first time".
    let time = go.is("time") && which.is_any(words!["second", "third", "fourth", "next", "nd", "rd"]);
    which.is_any(COUNTED) && go.gap < Gap::Comma && (go.is_any(GOES) || time)
}

/// Whether a stretch between two verdicts tells that the thing was tried once more: "second go", "tried it again with the longer
/// bridle".
pub(crate) fn tells_of_another(tokens: &[Token<'_>]) -> bool {
    /// As far in front of "again" as what was done may stand, in tokens.
    const REACH: usize = 4;
    (0..tokens.len()).any(|at| {
        let again = tokens[at].is("again")
            && (tokens[at].gap >= Gap::Sentence
                || tokens[at.saturating_sub(REACH)..at].iter().any(|t| t.is_any(TRIED)));
        again
            || tokens[at].is_any(words!["retried", "retested", "redid", "repeated", "reanchored"])
            || counts(&tokens[at..])
    })
}
