//! Dates, times of day and zones as people write and say them, found in a line of words.

use chrono::{FixedOffset, NaiveDate, NaiveTime, Weekday};

use super::spoken;
use super::zone::{self, Zone};
use crate::found::Span;

/// A date as said; what was left out is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DateSaid {
    /// The year.
    pub year: Option<i32>,
    /// The month, 1 to 12.
    pub month: Option<u32>,
    /// The day, 1 to 31.
    pub day: Option<u32>,
    /// The day of the week beside it.
    pub weekday: Option<Weekday>,
    /// Whether day and month could be the other way about, as in 03/04.
    pub either: bool,
}

impl DateSaid {
    /// A date with day and month.
    fn day_month(day: u32, month: u32, year: Option<i32>) -> Option<Self> {
        // A leap year stands in for one that is not said.
        NaiveDate::from_ymd_opt(year.unwrap_or(2000), month, day)?;
        Some(Self { year, month: Some(month), day: Some(day), ..Self::default() })
    }

    /// The date in a year, where day and month are said.
    pub fn in_year(self, year: i32) -> Option<NaiveDate> {
        NaiveDate::from_ymd_opt(year, self.month?, self.day?)
    }
}

/// A time of day as said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimeSaid {
    /// The time; in the first half of the day where `sure` is false.
    pub time: NaiveTime,
    /// Whether the half of the day is known ("twenty past seven" may be in the evening).
    pub sure: bool,
}

/// A zone as said, with what it can mean, likeliest first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ZoneSaid {
    /// What it can mean.
    pub options: Vec<Zone>,
    /// Whether it is an offset in figures, or a place.
    pub firm: bool,
}

/// What is mentioned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// A date.
    Date(DateSaid),
    /// A time of day.
    Time(TimeSaid),
    /// A zone.
    Zone(ZoneSaid),
}

/// A date, time or zone, and where it stands in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mention {
    /// Its bytes.
    pub span: Span,
    /// What it is.
    pub what: What,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Number,
    Word,
    Mark,
}

/// A token of a line: a number, a word (apostrophes inside), or a single sign.
#[derive(Clone, Debug)]
pub(super) struct Tok<'a> {
    pub text: &'a str,
    pub lower: String,
    pub kind: Kind,
    pub start: usize,
    /// Whether nothing stands between it and the one before.
    pub glued: bool,
}

impl Tok<'_> {
    fn end(&self) -> usize {
        self.start + self.text.len()
    }

    /// Its value, where it is a number of `digits` digits.
    fn number(&self, digits: std::ops::RangeInclusive<usize>) -> Option<u32> {
        (self.kind == Kind::Number && digits.contains(&self.text.len())).then(|| self.text.parse().ok())?
    }

    pub fn is(&self, words: &[&str]) -> bool {
        words.contains(&self.lower.as_str())
    }
}

pub(super) fn cut(text: &str) -> Vec<Tok<'_>> {
    let mut out: Vec<Tok<'_>> = Vec::new();
    let mut chars = text.char_indices().peekable();
    while let Some((start, c)) = chars.next() {
        if c.is_whitespace() {
            continue;
        }
        let kind = match c {
            '0'..='9' => Kind::Number,
            c if c.is_alphabetic() => Kind::Word,
            _ => Kind::Mark,
        };
        let mut end = start + c.len_utf8();
        if kind != Kind::Mark {
            while let Some(&(at, c)) = chars.peek() {
                let goes_on = match kind {
                    Kind::Number => c.is_ascii_digit(),
                    _ => {
                        let inside = text[at + c.len_utf8()..].starts_with(char::is_alphabetic);
                        c.is_alphabetic() || (matches!(c, '\'' | '’') && inside)
                    }
                };
                if !goes_on {
                    break;
                }
                end = at + c.len_utf8();
                chars.next();
            }
        }
        let glued = out.last().is_some_and(|last| last.end() == start);
        let text = &text[start..end];
        out.push(Tok { text, lower: text.to_lowercase().replace('’', "'"), kind, start, glued });
    }
    out
}

/// Longest stretch, in bytes, in which dates are looked for: a header is short, and whatever the line is, its cost
/// stays small.
const LONGEST: usize = 600;

/// Finds dates, times of day and zones in a stretch of a text. `spoken` also takes what is only likely in talk.
pub fn find(text: &str, span: Span) -> Vec<Mention> {
    let mut end = span.end.min(span.start + LONGEST);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let toks = cut(&text[span.start..end]);
    let mut out: Vec<Mention> = Vec::new();
    let mut i = 0;
    while i < toks.len() {
        let before = out.last().filter(|m| only_joins(&text[m.span.end..span.start + toks[i].start]));
        let beside_date = before.is_some_and(|m| matches!(m.what, What::Date(_)));
        let beside_time = before.is_some_and(|m| matches!(m.what, What::Time(_)));
        let hit = date(&toks, i)
            .map(|(d, n)| (What::Date(d), n))
            .or_else(|| time(&toks, i, beside_date).map(|(t, n)| (What::Time(t), n)))
            .or_else(|| zone(&toks, i, beside_time).map(|(z, n)| (What::Zone(z), n)));
        match hit {
            Some((what, n)) => {
                let span = Span::new(span.start + toks[i].start, span.start + toks[i + n - 1].end());
                out.push(Mention { span, what });
                i += n;
            }
            None => i += 1,
        }
    }
    fill_in(text, &mut out);
    out
}

/// Whether a stretch between two mentions holds nothing but what joins them.
fn only_joins(between: &str) -> bool {
    let joins = ["at", "t", "from", "the", "on"];
    between.len() <= 12
        && between
            .split(|c: char| {
                c.is_whitespace() || matches!(c, ',' | '-' | '_' | '–' | '—' | '(' | '@' | '.' | ';' | '~')
            })
            .all(|word| word.is_empty() || joins.contains(&word.to_lowercase().as_str()))
}

/// "Sat 29 / Sun 30 Aug 2026": the first day takes month and year from the one after it.
fn fill_in(text: &str, mentions: &mut [Mention]) {
    for i in (1..mentions.len()).rev() {
        let (head, tail) = mentions.split_at_mut(i);
        let (Some(first), Some(second)) = (head.last_mut(), tail.first()) else { continue };
        let (What::Date(a), What::Date(b)) = (&mut first.what, &second.what) else { continue };
        let between = &text[first.span.end..second.span.start];
        if between.len() > 16 || between.contains('.') {
            continue;
        }
        if a.month.is_none()
            && let (Some(day), Some(month), Some(next)) = (a.day, b.month, b.day)
        {
            a.month = Some(if day <= next { month } else { (month + 10) % 12 + 1 });
        }
        if a.year.is_none()
            && let (Some(month), Some(year)) = (a.month, b.year)
        {
            a.year = Some(if Some(month) > b.month { year - 1 } else { year });
        }
    }
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

fn month(tok: &Tok<'_>) -> Option<u32> {
    if tok.kind != Kind::Word {
        return None;
    }
    let word = if tok.lower == "sept" { "sep" } else { tok.lower.as_str() };
    let at = MONTHS.iter().position(|m| *m == word || (word.len() == 3 && m.starts_with(word)))?;
    u32::try_from(at + 1).ok()
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

fn is_mark(tok: Option<&Tok<'_>>, marks: &[&str]) -> bool {
    tok.is_some_and(|t| t.kind == Kind::Mark && marks.contains(&t.text))
}

/// A date at a token, and how many tokens it takes.
fn date(t: &[Tok<'_>], i: usize) -> Option<(DateSaid, usize)> {
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

fn day_then_month(t: &[Tok<'_>], mut k: usize, after_weekday: bool) -> Option<(DateSaid, usize)> {
    let from = k;
    let (day, n, ordinal) = day(t, k)?;
    k += n;
    let of = t.get(k).is_some_and(|w| w.is(&["of"]));
    k += usize::from(of);
    // "16-Aug-2026", "16.Aug"
    let joined = is_mark(t.get(k), &["-", ".", "/"]) && t.get(k + 1).is_some_and(|w| month(w).is_some());
    k += usize::from(joined);
    let word = t.get(k)?;
    let month = month(word)?;
    k += 1;
    if is_mark(t.get(k), &["."]) && t.get(k + 1).is_some_and(|y| year(y).is_some()) {
        k += 1;
    }
    let (year, n) = year_after(t, k);
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
    let (year, n) = year_after(t, k);
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
fn year_after(t: &[Tok<'_>], k: usize) -> (Option<i32>, usize) {
    let comma = usize::from(is_mark(t.get(k), &[",", "-", "/"]));
    let Some(tok) = t.get(k + comma) else { return (None, 0) };
    // A clock time such as 2015 after a comma would need a colon to be told; four digits here are a year.
    if let Some(year) = year(tok) {
        return (Some(year), comma + 1);
    }
    if is_mark(Some(tok), &["'", "’"])
        && let Some(short) = t.get(k + comma + 1).filter(|y| y.glued).and_then(|y| y.number(2..=2))
    {
        return (Some(short_year(short)), comma + 2);
    }
    (None, 0)
}

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
    match word.lower.as_str() {
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
    let skip = match word.lower.as_str() {
        "in" if t.get(k + 1).is_some_and(|w| w.is(&["the"])) => 2,
        "this" | "at" => 1,
        "tonight" => return Some((Half::Afternoon, 1)),
        _ => return None,
    };
    let half = match t.get(k + skip)?.lower.as_str() {
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
fn time(t: &[Tok<'_>], i: usize, beside_date: bool) -> Option<(TimeSaid, usize)> {
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
        if hour <= 12
            && let Some((half, n)) = half(t, i + 1)
            && t.get(i + 1).is_some_and(|w| !w.is(&["at", "this"]))
        {
            return Some((said(hour, 0, 0, Some(half), true)?, 1 + n));
        }
    }
    // Four digits are a time beside a date, with "hrs", or after a word that leads up to one.
    let led = i > 0
        && t[i - 1]
            .is(&["started", "start", "starting", "recorded", "rec", "began", "begun", "at", "from", "time"]);
    let unit = t.get(i + 1).is_some_and(|w| w.is(&["hrs"]) || (w.glued && w.is(&["h", "z"])));
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

/// A zone at a token, and how many tokens it takes.
fn zone(t: &[Tok<'_>], i: usize, beside_time: bool) -> Option<(ZoneSaid, usize)> {
    let firm = |zone: Zone| ZoneSaid { options: vec![zone], firm: true };
    let first = &t[i];
    if first.is(&["utc", "gmt", "zulu"]) && first.kind == Kind::Word {
        if let Some((offset, n)) = offset(t, i + 1) {
            return Some((firm(Zone::Fixed(offset)), 1 + n));
        }
        return Some((firm(Zone::utc()), 1));
    }
    let led = beside_time
        || (i > 0 && t[i - 1].is(&["times", "zone", "offset", "time"]))
        || (i > 1 && t[i - 1].is(&["are", "in", "is"]) && t[i - 2].is(&["times", "zone", "offset", "time"]));
    if led {
        if let Some((offset, n)) = offset(t, i) {
            return Some((firm(Zone::Fixed(offset)), n));
        }
        if first.glued && first.text.eq_ignore_ascii_case("z") {
            return Some((firm(Zone::utc()), 1));
        }
    }
    if first.kind != Kind::Word {
        return None;
    }
    // Australia/Hobart
    if is_mark(t.get(i + 1), &["/"]) && t.get(i + 2).is_some_and(|w| w.kind == Kind::Word && w.glued) {
        let mut n = 3;
        while t
            .get(i + n)
            .is_some_and(|w| w.glued && (w.text == "_" || w.text == "/" || w.kind == Kind::Word))
        {
            n += 1;
        }
        let name: String = t[i..i + n].iter().map(|w| w.text).collect();
        if let Some(zone) = zone::place(&name) {
            return Some((firm(zone), n));
        }
    }
    if let Some((options, wary)) = zone::short(first.text)
        && (led || !wary)
    {
        return Some((ZoneSaid { options, firm: false }, 1));
    }
    // "Irish summer time", "Hobart time", "local time Hobart", "Eastern Daylight Time"
    for n in 2..=4 {
        let Some(words) = t.get(i..i + n).filter(|w| w[n - 1].is(&["time"])) else { continue };
        let name = words.iter().map(|w| w.lower.as_str()).collect::<Vec<_>>().join(" ");
        if let Some(options) = zone::long(&name) {
            return Some((ZoneSaid { options, firm: false }, n));
        }
        if first.text.starts_with(char::is_uppercase)
            && let Some(zone) = zone::place(name.trim_end_matches(" time").trim_end_matches(" local"))
        {
            return Some((firm(zone), n));
        }
    }
    if first.is(&["local"]) && t.get(i + 1).is_some_and(|w| w.is(&["time", "times"])) {
        let mut k = i + 2;
        while is_mark(t.get(k), &[",", "(", ":"]) || t.get(k).is_some_and(|w| w.is(&["in", "at", "for"])) {
            k += 1;
        }
        for n in (1..=3).rev() {
            let Some(words) = t.get(k..k + n) else { continue };
            let name = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
            if let Some(zone) = zone::place(&name) {
                return Some((firm(zone), k + n - i));
            }
        }
    }
    None
}

/// `+10`, `-3`, `+1030`, `+10:30`, `−04:00`: an offset of less than a day, and how many tokens.
fn offset(t: &[Tok<'_>], k: usize) -> Option<(FixedOffset, usize)> {
    let sign = match t.get(k)?.text {
        "+" => 1,
        "-" | "−" | "–" => -1,
        _ => return None,
    };
    let figure = t.get(k + 1).filter(|f| f.kind == Kind::Number && (f.glued || t[k].glued))?;
    let (hours, minutes, n) = match figure.text.len() {
        1 | 2 => {
            let minutes = is_mark(t.get(k + 2).filter(|m| m.glued), &[":"])
                .then(|| t.get(k + 3).filter(|m| m.glued).and_then(|m| m.number(2..=2)))
                .flatten();
            (figure.number(1..=2)?, minutes.unwrap_or(0), if minutes.is_some() { 4 } else { 2 })
        }
        4 => (figure.text[..2].parse().ok()?, figure.text[2..].parse().ok()?, 2),
        _ => return None,
    };
    // No place is further from UTC than this (IANA time zone database).
    if hours > 14 || minutes > 59 {
        return None;
    }
    let seconds = i32::try_from(hours * 3600 + minutes * 60).ok()?;
    Some((FixedOffset::east_opt(sign * seconds)?, n))
}
