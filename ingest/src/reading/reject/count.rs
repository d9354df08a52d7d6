//! Counts: "main 1 reef", "all four now", "6 red handheld"; and how far something swings: "heading +/- 6".

use crate::number::Run;
use crate::token::Token;
use crate::word::WordList;

/// Words behind a count of flares: "6 red handheld, 2 orange smoke".
const FLARES: &WordList = words![
    "red",
    "orange",
    "white",
    "handheld",
    "handhelds",
    "parachute",
    "parachutes",
    "rocket",
    "rockets",
    "smoke",
    "smokes",
    "flare",
    "flares",
];

/// Whether a run counts things, by the words right in front of it and right behind it, where they stand close.
pub(super) fn is_a_count(
    text: &str,
    tokens: &[Token<'_>],
    run: &Run,
    before: Option<&Token<'_>>,
    after: Option<&Token<'_>>,
) -> bool {
    let [atom] = run.atoms.as_slice() else { return false };
    let value = atom.value;
    value.fract() == 0.0
        && (1.0..=12.0).contains(&value)
        && (after.is_some_and(|t| value <= 4.0 && t.is_any(words!["reef", "reefs", "tuck", "tucks"]))
            || after.is_some_and(|t| t.is_any(FLARES))
            || before.is_some_and(|t| t.is("all"))
                && value <= 6.0
                && crate::quantity::unit_at(text, tokens, run.tokens().end).is_none())
}

/// Whether a number tells only how far something swings, with nothing that it swings about: "heading held +/- 6".
pub(super) fn is_a_swing(tokens: &[Token<'_>], start: usize) -> bool {
    let back = |n: usize| start.checked_sub(n).map(|i| &tokens[i]);
    // A hyphen in front of a space is a dash, and no token: "+/- 6".
    const SIGNS: [&[&str]; 4] = [&["±"], &["+", "/"], &["+", "/", "-"], &["plus", "or", "minus"]];
    let stands = |sign: &&&[&str]| {
        sign.iter().rev().zip(1..).all(|(word, n)| back(n).is_some_and(|token| token.is(word)))
    };
    let Some(sign) = SIGNS.iter().find(stands).map(|sign| sign.len()) else { return false };
    // "12 ± 2", "12 V ± 0.1".
    !(sign + 1..=sign + 2).any(|n| {
        start.checked_sub(n).is_some_and(|i| {
            crate::number::atom_at(tokens, i).is_some() || crate::number::is_number_word(&tokens[i])
        })
    })
}
