//! Dates and times of day in words: "the sixteenth of", "quarter past six in the evening".

use super::clock::{Half, half, said};
use super::said::TimeSaid;
use super::words::{Kind, Tok};
use crate::date;

const ONES: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 4] = ["twenty", "thirty", "forty", "fifty"];
fn place(words: &[&str], tok: &Tok<'_>) -> Option<u32> {
    words.iter().position(|w| *w == tok.lower).and_then(|at| u32::try_from(at).ok())
}

/// Takes an optional hyphen and the word after it.
fn next(t: &[Tok<'_>], k: usize) -> usize {
    k + usize::from(t.get(k).is_some_and(|m| m.text == "-"))
}

/// A day of the month in words ("twenty-second", "thirtieth"), 1 to 31, and how many tokens it takes.
pub(super) fn ordinal(t: &[Tok<'_>], k: usize) -> Option<(u32, usize)> {
    let first = t.get(k)?;
    if first.kind != Kind::Word {
        return None;
    }
    let at = next(t, k + 1);
    let second = t.get(at).map(|w| w.lower.as_ref());
    date::ordinal(&first.lower, second).map(|(day, two)| (day, if two { at + 1 - k } else { 1 }))
}

/// A number below sixty in words or figures, and how many tokens it takes.
fn number(t: &[Tok<'_>], k: usize) -> Option<(u32, usize)> {
    let first = t.get(k)?;
    if first.kind == Kind::Number {
        let n = first.text.parse().ok().filter(|n: &u32| *n < 60 && first.text.len() <= 2)?;
        return Some((n, 1));
    }
    if let Some(n) = place(&ONES, first) {
        return Some((n, 1));
    }
    let tens = place(&TENS, first)? * 10 + 20;
    let at = next(t, k + 1);
    match t.get(at).and_then(|w| place(&ONES[..10], w)).filter(|n| *n > 0) {
        Some(ones) => Some((tens + ones, at + 1 - k)),
        None => Some((tens, 1)),
    }
}

fn hour(t: &[Tok<'_>], k: usize) -> Option<u32> {
    number(t, k).filter(|(n, _)| (1..=12).contains(n)).map(|(n, _)| n)
}

/// A time of day in words at a token, and how many tokens it takes.
///
/// The half of the day is known from "in the evening" and the like, from "noon" and "midnight"; otherwise the time is
/// given as in the morning and not sure.
pub(super) fn time(t: &[Tok<'_>], i: usize) -> Option<(TimeSaid, usize)> {
    let first = &t[i];
    if first.kind == Kind::Mark {
        return None;
    }
    let led = i > 0 && t[i - 1].is(&["it's", "its", "at", "is", "about", "just", "nearly", "gone"]);
    if led && first.is(&["noon", "midday"]) {
        return Some((said(12, 0, 0, None, true)?, 1));
    }
    if led && first.is(&["midnight"]) {
        return Some((said(0, 0, 0, None, true)?, 1));
    }
    let mut k = i;
    // "a quarter to two", "half past ten", "twenty past seven", "five to seven"
    let minutes = if first.is(&["quarter"]) {
        Some((15, 1))
    } else if first.is(&["half"]) {
        Some((30, 1))
    } else {
        number(t, i).filter(|(n, _)| (1..=29).contains(n))
    };
    if let Some((minute, n)) = minutes {
        k += n;
        k += usize::from(t.get(k).is_some_and(|w| w.is(&["minutes", "mins"])));
        let word = t.get(k).map_or("", |w| w.lower.as_ref());
        let hour = hour(t, k + 1);
        if let Some(time) = t.get(k + 1).and_then(|noon| beside_noon(word, noon, minute)) {
            return Some((time, k + 2 - i));
        }
        // "five to seven" may be a range of anything: only a quarter, what leads up to a time, or the half of the day
        // after it makes it one.
        let half_after =
            |k| half(t, k).filter(|_| !t.get(k).is_some_and(|w| w.is(&["this", "at"])) || word == "past");
        match (word, hour) {
            ("past", Some(hour)) => return with_half(t, i, k + 2, hour, minute),
            ("after", Some(hour)) if minute % 5 == 0 => return with_half(t, i, k + 2, hour, minute),
            ("to", Some(hour)) if first.is(&["quarter"]) || led || half_after(k + 2).is_some() => {
                return with_half(t, i, k + 2, if hour == 1 { 12 } else { hour - 1 }, 60 - minute);
            }
            _ => {}
        }
        // "half two", "half nine at night"
        if first.is(&["half"])
            && let Some(hour) = self::hour(t, i + 1)
            && (led || half_of_day(t, i + 2))
        {
            return with_half(t, i, i + 2, hour, 30);
        }
    }
    if let Some(found) = hundred(t, i) {
        return Some(found);
    }
    // "seven o'clock", "two in the afternoon", "seven thirty in the morning", "9 at night"
    let hour = hour(t, i)?;
    // "It's gone eleven", "just gone nine".
    let gone = i > 1 && t[i - 1].is(&["gone"]) && t[i - 2].is(&["it's", "its", "just", "is"]);
    if gone
        && !t.get(i + 1).is_some_and(|w| w.is(&["knots", "kn", "degrees", "percent", "%", "point", "amps"]))
    {
        return with_half(t, i, i + 1, hour, 0);
    }
    if t.get(i + 1).is_some_and(|w| w.is(&["o'clock", "oclock"])) {
        return with_half(t, i, i + 2, hour, 0);
    }
    if first.kind == Kind::Word || t.get(i + 1).is_some_and(|w| w.is(&["at"])) {
        if half_of_day(t, i + 1) {
            return with_half(t, i, i + 1, hour, 0);
        }
        let at = next(t, i + 1);
        if let Some((minute, n)) = number(t, at)
            && (10..60).contains(&minute)
            && half_of_day(t, at + n)
        {
            return with_half(t, i, at + n, hour, minute);
        }
    }
    None
}

/// "ten to midnight", "five past noon": so many minutes from one of them.
fn beside_noon(word: &str, noon: &Tok<'_>, minute: u32) -> Option<TimeSaid> {
    let whole = if noon.is(&["midnight"]) { 0 } else { 12 };
    if !noon.is(&["midnight", "noon", "midday"]) {
        return None;
    }
    match word {
        "to" => said((whole + 23) % 24, 60 - minute, 0, None, true),
        "past" | "after" => said(whole, minute, 0, None, true),
        _ => None,
    }
}

/// Whether the half of the day stands here in words that mean nothing else: "two this morning" may be a count.
fn half_of_day(t: &[Tok<'_>], k: usize) -> bool {
    let night = || t[k].is(&["at"]) && t.get(k + 1).is_some_and(|w| w.is(&["night"]));
    half(t, k).is_some() && (t[k].is(&["in", "am", "pm", "a", "p"]) || night())
}

/// "sixteen hundred zulu", "oh six hundred hours", "fourteen hundred local".
fn hundred(t: &[Tok<'_>], i: usize) -> Option<(TimeSaid, usize)> {
    let from = i + usize::from(t[i].is(&["oh", "zero", "o"]));
    let (hour, n) = number(t, from).filter(|(hour, _)| *hour < 24)?;
    let at = from + n;
    let told = t.get(at).is_some_and(|w| w.is(&["hundred"]))
        && t.get(at + 1).is_some_and(|w| w.is(&["hours", "zulu", "local", "utc", "gmt"]));
    told.then(|| Some((said(hour, 0, 0, None, true)?, at + 2 - i)))?
}

fn with_half(t: &[Tok<'_>], from: usize, k: usize, hour: u32, minute: u32) -> Option<(TimeSaid, usize)> {
    let half: Option<(Half, usize)> = half(t, k);
    let hour = if half.is_none() && hour == 12 { 0 } else { hour };
    Some((said(hour, minute, 0, half.map(|h| h.0), false)?, k - from + half.map_or(0, |h| h.1)))
}
