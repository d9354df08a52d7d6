//! Counts: "main 1 reef", "all four now", "6 red handheld"; and how far something swings: "heading +/- 6".

use crate::number::Run;
use crate::token::{Gap, Kind, Token};
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

/// Whether a number counts drips, or things that there were more of, or is of a unit that nothing here is measured in: "1 drop
/// per 60 s", "heading dropouts: 3 more", "0.31 ohm".
pub(super) fn is_of_no_quantity(text: &str, tokens: &[Token<'_>], start: usize, end: usize) -> bool {
    let near = |n: usize| tokens.get(end + n).filter(|t| t.gap <= Gap::Line);
    // "3-hour change -2.1": of the barometer.
    let change = start > 0 && tokens[start - 1].is_any(words!["change", "tendency"]);
    if change {
        return true;
    }
    let more = near(0).is_some_and(|t| t.is("more"))
        && near(1).is_none_or(|t| t.is_any(words!["on", "today", "yesterday", "this", "last"]));
    // "1050 second attempt", "three cold starts", "hearsay, n = 1".
    const GOES: &WordList = words![
        "attempt", "attempts", "try", "tries", "go", "goes", "run", "runs", "pass", "passes", "time",
        "times", "start", "starts", "test", "tests", "round", "rounds", "lift", "lifts", "pull", "pulls",
    ];
    const OF_A_KIND: &WordList =
        words!["second", "cold", "hot", "warm", "clean", "good", "bad", "quick", "short", "long", "full"];
    // "Winches: four of them, all greased".
    let of_them = near(0).is_some_and(|t| t.is("of"))
        && near(1).is_some_and(|t| t.is_any(words!["them", "'em", "em", "those", "these", "us"]));
    // "Ashore, buns (2)".
    let bracketed = start > 1
        && tokens[start].gap == Gap::Clause
        && text[tokens[start - 1].span.end..tokens[start].span.start].trim() == "("
        && text[tokens[end - 1].span.end..].starts_with(')')
        && tokens[start - 1].kind == Kind::Word
        && tokens[start - 1].lower.ends_with('s');
    // "Three times on three", "twenty on twenty": goes that went well.
    let as_many = |from: usize| {
        tokens.get(from + 2).is_some_and(|t| t.gap <= Gap::Line && t.lower == tokens[from].lower)
            && tokens[from + 1].gap <= Gap::Line
            && tokens[from + 1].is_any(words!["on", "from"])
    };
    let on_as_many = end == start + 1 && (as_many(start) || start > 1 && as_many(start - 2));
    if of_them || bracketed || on_as_many {
        return true;
    }
    let goes = near(0).is_some_and(|t| t.is_any(OF_A_KIND)) && near(1).is_some_and(|t| t.is_any(GOES));
    let sample = start > 1 && tokens[start - 1].is("=") && tokens[start - 2].is("n");
    if goes || sample {
        return true;
    }
    more || near(0).is_some_and(|t| {
        t.is_any(words!["drop", "drops", "drip", "drips", "stroke", "strokes", "ohm", "ohms", "Ω", "ω"])
    })
}

/// Whether a number without a unit tells how far something swings: "hunted about 6 either side".
pub(super) fn is_to_each_side(tokens: &[Token<'_>], end: usize) -> bool {
    let near = |n: usize| tokens.get(end + n).filter(|t| t.gap <= Gap::Line);
    near(0).is_some_and(|t| t.is("either"))
        && near(1).is_some_and(|t| t.is_any(words!["side", "sides", "way", "ways"]))
}

/// Whether a number tells by how much an instrument is out: "the wind sensor reads 4 kn low".
pub(super) fn is_an_error(tokens: &[Token<'_>], run: &Run) -> bool {
    /// As far in front as the reading of it may be told, in tokens.
    const REACH: usize = 3;
    let range = run.tokens();
    let near = |i: usize| tokens.get(i).filter(|t| t.gap <= Gap::Line);
    let reads = (range.start.saturating_sub(REACH)..range.start)
        .rev()
        .take_while(|&i| tokens[i + 1].gap <= Gap::Line)
        .any(|i| tokens[i].is_any(words!["reads", "read", "reading", "shows", "showing"]));
    let out =
        (range.end..range.end + 2).map_while(near).find(|t| t.is_any(words!["low", "high", "slow", "fast"]));
    reads && out.is_some()
}

/// Whether a number counts goes of so many: "one in three", "four out of four", "3 of 4".
pub(super) fn is_of_so_many(text: &str, tokens: &[Token<'_>], run: &Run) -> bool {
    /// As many goes as anyone has at a thing.
    const MOST: f64 = 60.0;
    let whole = |value: f64| value.fract() == 0.0 && (1.0..=MOST).contains(&value);
    let [atom] = run.atoms.as_slice() else { return false };
    if !whole(atom.value) {
        return false;
    }
    let range = run.tokens();
    let measures = |at: usize| crate::quantity::unit_at(text, tokens, at).is_some();
    let near = |i: usize| tokens.get(i).is_some_and(|t| t.gap <= Gap::Line);
    // "Five times out of five".
    let out_of = |at: usize| near(at) && near(at + 1) && tokens[at].is("out") && tokens[at + 1].is("of");
    let times = usize::from(near(range.end) && tokens[range.end].is("times"));
    let of = |from: usize| {
        let goes = crate::number::atom_at(tokens, from)?;
        (near(from) && whole(goes.value) && goes.value >= atom.value && !measures(goes.end)).then_some(())
    };
    let first = out_of(range.end + times) && of(range.end + times + 2).is_some();
    let told = |back: usize| {
        let goes = range.start.checked_sub(back + 1)?;
        let times = crate::number::atom_at(tokens, goes).filter(|a| a.end == goes + 1)?;
        (whole(times.value) && times.value <= atom.value).then_some(times.value)
    };
    let out = range.start >= 3
        && out_of(range.start - 2)
        && (told(2).is_some()
            || range.start >= 4 && tokens[range.start - 3].is("times") && told(3).is_some());
    let one_in = range.start >= 2 && tokens[range.start - 1].is("in") && told(1) == Some(1.0);
    first || (out || one_in && near(range.start) && near(range.start - 1)) && !measures(range.end)
}

/// Whether a number is half of a report on how well a radio was heard: "they had me five by five".
pub(super) fn is_a_report(text: &str, tokens: &[Token<'_>], run: &Run) -> bool {
    let [atom] = run.atoms.as_slice() else { return false };
    let range = run.tokens();
    let near = |i: usize| tokens.get(i).filter(|t| t.gap <= Gap::Line);
    let same = |at: usize| crate::number::atom_at(tokens, at).filter(|a| a.value == atom.value);
    // "They heard me 5 of 5."
    let by = |t: &Token<'_>| t.is_any(words!["by", "of"]);
    let behind = near(range.end).is_some_and(by)
        && same(range.end + 1).is_some_and(|a| crate::quantity::unit_at(text, tokens, a.end).is_none());
    let front = range.start >= 2
        && near(range.start - 1).is_some_and(by)
        && same(range.start - 2).is_some_and(|a| a.end == range.start - 1)
        && crate::quantity::unit_at(text, tokens, range.end).is_none();
    atom.value <= 5.0 && (behind || front)
}

/// Whether a number tells only how far something swings, with nothing that it swings about: "heading held +/- 6".
pub(super) fn is_a_swing(tokens: &[Token<'_>], start: usize) -> bool {
    let back = |n: usize| start.checked_sub(n).map(|i| &tokens[i]);
    // A hyphen in front of a space is a dash, and no token: "+/- 6".
    const SIGNS: [&[&str]; 5] =
        [&["±"], &["+", "/"], &["+", "/", "-"], &["plus", "or", "minus"], &["plus", "minus"]];
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
