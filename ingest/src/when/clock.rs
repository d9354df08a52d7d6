//! Times of day as people write them: `10:12`, `7.40 pm`, `1342`, `14h25`. Those in words are in `spoken`.

use chrono::NaiveTime;

use super::said::TimeSaid;
use super::spoken;
use super::words::{Kind, Tok, is_mark};
use super::zone;

/// Halves of the day.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Half {
    Morning,
    Afternoon,
    Night,
}

/// "am", "p.m.", "in the evening": which half, and how many tokens.
pub(super) fn half(t: &[Tok<'_>], k: usize) -> Option<(Half, usize)> {
    let word = t.get(k)?;
    match word.lower.as_ref() {
        "am" => return Some((Half::Morning, 1)),
        "pm" => return Some((Half::Afternoon, 1)),
        letter @ ("a" | "p")
            if is_mark(t.get(k + 1), &["."]) && t.get(k + 2).is_some_and(|m| m.glued && m.is(&["m"])) =>
        {
            let half = if letter == "a" { Half::Morning } else { Half::Afternoon };
            return Some((half, if is_mark(t.get(k + 3), &["."]) { 4 } else { 3 }));
        }
        _ => {}
    }
    let skip = match word.lower.as_ref() {
        "in" if t.get(k + 1).is_some_and(|w| w.is(&["the"])) => 2,
        "this" | "at" => 1,
        "tonight" => return Some((Half::Afternoon, 1)),
        _ => return None,
    };
    let half = match t.get(k + skip)?.lower.as_ref() {
        "morning" => Half::Morning,
        "afternoon" | "evening" => Half::Afternoon,
        "night" => Half::Night,
        _ => return None,
    };
    Some((half, skip + 1))
}

/// Puts hour, minute and half of the day together.
pub(super) fn said(hour: u32, minute: u32, second: u32, half: Option<Half>, sure: bool) -> Option<TimeSaid> {
    let hour = match half {
        Some(Half::Morning) if hour == 12 => 0,
        Some(Half::Afternoon) if hour < 12 => hour + 12,
        Some(Half::Night) if (6..12).contains(&hour) => hour + 12,
        Some(Half::Night) if hour == 12 => 0,
        _ => hour,
    };
    Some(TimeSaid { time: NaiveTime::from_hms_opt(hour, minute, second)?, sure: sure || half.is_some() })
}

/// A time of day at a token, and how many tokens it takes.
pub(super) fn time(t: &[Tok<'_>], i: usize, beside_date: bool) -> Option<(TimeSaid, usize)> {
    if let Some(found) = spoken::time(t, i) {
        return Some(found);
    }
    let first = &t[i];
    // "3.50" in "13.50" was cut as one number; a sign or a letter before a figure makes it something else.
    if first.kind != Kind::Number
        || (first.glued
            && i > 0
            && !is_mark(t.get(i - 1), &["(", "[", "-", "~", "@", ","])
            && t[i - 1].lower != "t"
            && !beside_date)
    {
        return None;
    }
    let two =
        |tok: Option<&Tok<'_>>| tok.filter(|x| x.glued).and_then(|x| x.number(2..=2)).filter(|m| *m < 60);
    if let Some(hour) = first.number(1..=2).filter(|h| *h < 24) {
        let sep = t.get(i + 1).filter(|s| s.glued);
        if is_mark(sep, &[":"])
            || is_mark(sep, &["."])
            || sep.is_some_and(|s| s.lower == "h")
            || (beside_date && is_mark(sep, &["-", "_"]))
        {
            let colon = is_mark(sep, &[":"]);
            let minute = two(t.get(i + 2));
            if let Some(minute) = minute {
                let mut n = 3;
                let mut second = 0;
                let again = t.get(i + 3).filter(|s| s.glued && Some(s.text) == sep.map(|s| s.text));
                if again.is_some()
                    && let Some(s) = two(t.get(i + 4))
                {
                    second = s;
                    n = 5;
                } else if again.is_some() && t.get(i + 4).is_some_and(|x| x.glued && x.kind == Kind::Number) {
                    return None;
                }
                let half = half(t, i + n);
                let n = n + half.map_or(0, |(_, n)| n);
                let unit = t.get(i + n).is_some_and(|w| w.is(&["hrs", "h"]));
                let plain = colon || sep.is_some_and(|s| s.lower == "h");
                if plain || half.is_some() || beside_date || unit {
                    return Some((
                        said(hour, minute, second, half.map(|h| h.0), true)?,
                        n + usize::from(unit),
                    ));
                }
            } else if sep.is_some_and(|s| s.lower == "h") && beside_date {
                return Some((said(hour, 0, 0, None, true)?, 2));
            }
        }
        // "6 December, 17 h 30", "12 Dec 2026, 20 h".
        if beside_date && t.get(i + 1).is_some_and(|w| !w.glued && w.lower == "h") {
            let minute = t.get(i + 2).and_then(|m| m.number(2..=2)).filter(|m| *m < 60);
            let ends = t.get(i + 2).is_none_or(|w| w.kind == Kind::Mark);
            if minute.is_some() || ends {
                let n = if minute.is_some() { 3 } else { 2 };
                return Some((said(hour, minute.unwrap_or(0), 0, None, true)?, n));
            }
        }
        if hour <= 12
            && let Some((half, n)) = half(t, i + 1)
            && t.get(i + 1).is_some_and(|w| !w.is(&["at", "this", "tonight"]))
        {
            return Some((said(hour, 0, 0, Some(half), true)?, 1 + n));
        }
    }
    // Four digits are a time beside a date, with "hrs", or after a word that leads up to one.
    let led = i > 0
        && t[i - 1].is(&[
            "started", "start", "starting", "recorded", "rec", "began", "begun", "at", "from", "time", "kl",
            "klo",
        ])
        || i > 1 && is_mark(t.get(i - 1), &["."]) && t[i - 2].is(&["kl", "klo"]);
    let unit = t.get(i + 1).is_some_and(|w| {
        w.is(&["hrs"]) || (w.glued && w.is(&["h", "z"])) || !w.glued && zone::short(w.text).is_some()
    });
    // "motored at 1800 rpm", "at 1800-2000 revs".
    let of_engine =
        (1..=3).filter_map(|n| t.get(i + n)).any(|w| w.is(&["rpm", "revs", "rev", "revolutions", "turns"]));
    if of_engine || !beside_date && told_of_a_dial(t, i) {
        return None;
    }
    if first.text.len() == 4 && (beside_date || led || unit) {
        let part = |range: std::ops::Range<usize>| first.text[range].parse::<u32>().ok();
        let n = 1 + usize::from(
            t.get(i + 1).is_some_and(|w| w.is(&["hrs", "hours"]) || (w.glued && w.is(&["h"]))),
        );
        return Some((said(part(0..2)?, part(2..4)?, 0, None, true)?, n));
    }
    if first.text.len() == 6 && beside_date {
        let part = |range: std::ops::Range<usize>| first.text[range].parse::<u32>().ok();
        return Some((said(part(0..2)?, part(2..4)?, part(4..6)?, None, true)?, 1));
    }
    None
}

/// "38 A at 1400", "the glass at 1027", "engine at 1600": figures that talk of an engine or a barometer leads up to.
fn told_of_a_dial(t: &[Tok<'_>], i: usize) -> bool {
    /// How far in front the talk is looked for.
    const REACH: usize = 14;
    let lead = i > 0 && t[i - 1].is(&["at", "from"]);
    lead && t[i.saturating_sub(REACH)..i].iter().any(|w| {
        w.is(&[
            "engine",
            "motor",
            "motored",
            "motoring",
            "genset",
            "generator",
            "alternator",
            "astern",
            "revs",
            "rpm",
            "oil",
            "burned",
            "burns",
            "drinks",
            "springs",
            "kn",
            "knots",
            "kts",
            "amps",
            "a",
            "gal",
            "litres",
            "l",
            "ran",
            "glass",
            "barometer",
            "baro",
            "barograph",
            "hours",
            "wt",
        ])
    })
}
