//! Dates as people write and say them: `2026-08-23`, `23/8/26`, "Sat 29 Aug", "May the second".

use chrono::Weekday;

use super::said::DateSaid;
use super::spoken;
use super::words::{Kind, Tok, is_mark};

/// A date at a token, and how many tokens it takes.
pub(super) fn date(t: &[Tok<'_>], i: usize) -> Option<(DateSaid, usize)> {
    let mut k = i;
    let day_of_week = (t[k].kind == Kind::Word).then(|| weekday(&t[k].lower)).flatten();
    if day_of_week.is_some() {
        k += 1;
        while is_mark(t.get(k), &[",", "."])
            || t.get(k).is_some_and(|tok| tok.is(&["the", "morning", "evening", "afternoon", "night"]))
        {
            k += 1;
        }
    }
    let found = numeric(t, k, day_of_week.is_some())
        .or_else(|| day_then_month(t, k, day_of_week.is_some()))
        .or_else(|| month_then_day(t, k));
    if let Some((mut date, n)) = found {
        date.weekday = day_of_week;
        return Some((date, k + n - i));
    }
    // "Sat 29 / …", "Friday the twenty second": a day of a month that stands elsewhere.
    let weekday = day_of_week?;
    if let Some((day, n, ordinal)) = day(t, k)
        && (ordinal
            || !t
                .get(k + n)
                .is_some_and(|next| next.kind == Kind::Number || is_mark(Some(next), &[":", "."])))
    {
        // "Sat 8 kn" is no date.
        let alone = ordinal
            || t.get(k + n).is_none_or(|next| next.kind == Kind::Mark || next.is(&["to", "into", "and"]));
        if alone {
            return Some((
                DateSaid { day: Some(day), weekday: Some(weekday), ..DateSaid::default() },
                k + n - i,
            ));
        }
    }
    // A day of the week alone, in full, can only check what is known otherwise.
    (t[i].lower.len() >= 6).then(|| (DateSaid { weekday: Some(weekday), ..DateSaid::default() }, 1))
}

/// `2026-08-23`, `20260823`, `23/8/2026`, `8/23/26`, `23.08.2026`; after a day of the week also `30/8`.
fn numeric(t: &[Tok<'_>], k: usize, after_weekday: bool) -> Option<(DateSaid, usize)> {
    let first = t.get(k)?;
    if first.kind != Kind::Number {
        return None;
    }
    if first.text.len() == 8 {
        let part = |range: std::ops::Range<usize>| first.text[range].parse::<u32>().ok();
        let year = part(0..4).filter(|y| (1990..=2199).contains(y)).and_then(|y| i32::try_from(y).ok())?;
        return Some((DateSaid::day_month(part(6..8)?, part(4..6)?, Some(year))?, 1));
    }
    let sep = t.get(k + 1).filter(|s| s.glued && is_mark(Some(s), &["-", "/", ".", "_"]))?;
    let second = t.get(k + 2).filter(|s| s.glued)?;
    let third =
        t.get(k + 3).filter(|s| s.glued && s.text == sep.text).and_then(|_| t.get(k + 4)).filter(|s| s.glued);
    let Some(third) = third else {
        let (a, b) = (first.number(1..=2)?, second.number(1..=2)?);
        let date = after_weekday.then(|| either_way(a, b, None))??;
        return (sep.text == "/").then_some((date, 3));
    };
    if let Some(year) = year(first) {
        return Some((DateSaid::day_month(third.number(1..=2)?, second.number(1..=2)?, Some(year))?, 5));
    }
    let (a, b) = (first.number(1..=2)?, second.number(1..=2)?);
    let year = year(third).or_else(|| third.number(2..=2).map(short_year))?;
    // "1.2.26" may be a version, "10-12-14" a range; only a slash is sure with a year of two digits.
    if third.text.len() == 2 && sep.text != "/" && (sep.text != "." || second.text.len() != 2) {
        return None;
    }
    Some((either_way(a, b, Some(year))?, 5))
}

fn either_way(a: u32, b: u32, year: Option<i32>) -> Option<DateSaid> {
    let day_first = DateSaid::day_month(a, b, year);
    let month_first = DateSaid::day_month(b, a, year);
    match (day_first, month_first) {
        (Some(date), Some(_)) => Some(DateSaid { either: a != b, ..date }),
        (date, None) | (None, date) => date,
    }
}

/// A day of the month: `16`, `16th`, `sixteenth`; the number of tokens, and whether it is an ordinal.
fn day(t: &[Tok<'_>], k: usize) -> Option<(u32, usize, bool)> {
    if let Some((day, n)) = spoken::ordinal(t, k) {
        return Some((day, n, true));
    }
    let day = t.get(k)?.number(1..=2).filter(|d| (1..=31).contains(d))?;
    let suffix = t.get(k + 1).is_some_and(|s| s.glued && s.is(&["st", "nd", "rd", "th"]));
    Some((day, 1 + usize::from(suffix), suffix))
}

/// Behind the last of several days in a row whose month follows, "18-19 June", "13 and 14 December", "Fri 6 to Sun 8 Feb": the
/// note begins on the first.
fn last_of_days(t: &[Tok<'_>], k: usize, first: u32) -> Option<usize> {
    /// As many days as a log of one trip runs over.
    const DAYS: u32 = 20;
    let joined =
        is_mark(t.get(k), &["-", "–", "—", "/", "&"]) || t.get(k).is_some_and(|w| w.is(&["to", "and"]));
    let at = k + 1 + usize::from(t.get(k + 1).is_some_and(|w| weekday(&w.lower).is_some()));
    let (last, n, _) = day(t, at)?;
    let month = t.get(at + n).is_some_and(|w| month(w).is_some());
    (joined && month && last > first && last - first <= DAYS).then_some(at + n)
}

fn day_then_month(t: &[Tok<'_>], mut k: usize, after_weekday: bool) -> Option<(DateSaid, usize)> {
    let from = k;
    let (day, n, ordinal) = day(t, k)?;
    k += n;
    k = last_of_days(t, k, day).unwrap_or(k);
    let of = t.get(k).is_some_and(|w| w.is(&["of"]));
    k += usize::from(of);
    // "16-Aug-2026", "16.Aug"
    let joined =
        is_mark(t.get(k), &["-", ".", "/"]) && t.get(k + 1).is_some_and(|w| w.glued && month(w).is_some());
    k += usize::from(joined);
    let word = t.get(k)?;
    let month = month(word)?;
    k += 1;
    if is_mark(t.get(k), &["."]) && t.get(k + 1).is_some_and(|y| year(y).is_some()) {
        k += 1;
    }
    let (year, n) = year_after(t, k, true);
    k += n;
    // "five may be …", "8 mar the finish": months that are words need more than a number before them.
    let wordlike = word.is(&["may", "march", "mar"]) && word.text.starts_with(char::is_lowercase);
    if wordlike && !(ordinal || of || after_weekday || year.is_some()) {
        return None;
    }
    Some((DateSaid::day_month(day, month, year)?, k - from))
}

fn month_then_day(t: &[Tok<'_>], mut k: usize) -> Option<(DateSaid, usize)> {
    let from = k;
    let word = t.get(k)?;
    let month = month(word)?;
    k += 1;
    if is_mark(t.get(k), &["."]) {
        k += 1;
    }
    let the = t.get(k).is_some_and(|w| w.is(&["the"]));
    k += usize::from(the);
    let (day, n, ordinal) = day(t, k)?;
    k += n;
    let (year, n) = year_after(t, k, false);
    k += n;
    let wordlike = word.is(&["may", "march", "mar"]) && word.text.starts_with(char::is_lowercase);
    if wordlike && !(ordinal || year.is_some()) {
        return None;
    }
    // "June 4.5" is no date.
    if year.is_none()
        && t.get(k).is_some_and(|m| m.glued && m.text == ".")
        && t.get(k + 1).is_some_and(|d| d.glued && d.kind == Kind::Number)
    {
        return None;
    }
    Some((DateSaid::day_month(day, month, year)?, k - from))
}

/// A year after day and month: `2026`, `, 2026`, `'26`.
fn year_after(t: &[Tok<'_>], k: usize, day_first: bool) -> (Option<i32>, usize) {
    let comma = usize::from(is_mark(t.get(k), &[",", "-", "/"]));
    let Some(tok) = t.get(k + comma) else { return (None, 0) };
    if let Some(year) = year(tok).filter(|&year| !is_clock(year, day_first && comma > 0)) {
        return (Some(year), comma + 1);
    }
    if is_mark(Some(tok), &["'", "’"])
        && let Some(short) = t.get(k + comma + 1).filter(|y| y.glued).and_then(|y| y.number(2..=2))
    {
        return (Some(short_year(short)), comma + 2);
    }
    (None, 0)
}

/// Whether four figures behind day and month are a clock time: "11 May, 2105", "31 May, 1900". Few write a comma between
/// a month and its year, so that one "apart" from a date that begins with its day is a time too where the year is long past.
fn is_clock(figures: i32, apart: bool) -> bool {
    let past = if apart { 2015 } else { 1950 };
    figures % 100 < 60 && figures / 100 < 24 && !(past..2100).contains(&figures)
}

fn month(tok: &Tok<'_>) -> Option<u32> {
    (tok.kind == Kind::Word).then(|| crate::date::month(&tok.lower)).flatten()
}

pub(crate) fn weekday(word: &str) -> Option<Weekday> {
    const DAYS: [(&str, &[&str], Weekday); 7] = [
        ("monday", &["mon"], Weekday::Mon),
        ("tuesday", &["tue", "tues"], Weekday::Tue),
        ("wednesday", &["wed", "weds"], Weekday::Wed),
        ("thursday", &["thu", "thur", "thurs"], Weekday::Thu),
        ("friday", &["fri"], Weekday::Fri),
        ("saturday", &["sat"], Weekday::Sat),
        ("sunday", &["sun"], Weekday::Sun),
    ];
    DAYS.iter().find(|(full, short, _)| *full == word || short.contains(&word)).map(|(_, _, day)| *day)
}

fn year(tok: &Tok<'_>) -> Option<i32> {
    tok.number(4..=4).filter(|y| (1900..=2199).contains(y)).and_then(|y| i32::try_from(y).ok())
}

fn short_year(n: u32) -> i32 {
    // Two digits: this century; no phone kept a log before it.
    2000 + i32::try_from(n).unwrap_or(0)
}
