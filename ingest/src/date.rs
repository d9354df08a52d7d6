//! Dates as people say them in the middle of a note: "November twenty twenty six", "08/26", "good till 2030", "July 4".
//!
//! A date is a span of days, since "August 2026" is thirty-one of them. A month or a day without a year is the next
//! one on or after the note's own day, unless words in front ("last") put it before.

use std::ops::Range;

use chrono::{Datelike, Days, Months, NaiveDate};

use crate::lexicon::Words;
use crate::token::{Gap, Kind, Token};

/// A date named in a note.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// The tokens that name it.
    pub tokens: Range<usize>,
    /// First day that it may mean.
    pub from: NaiveDate,
    /// Last day that it may mean.
    pub until: NaiveDate,
    /// Whether the year was said.
    pub year_said: bool,
}

/// Years that a date aboard may name; others are counts, part numbers or prices.
const YEARS: Range<i32> = 1950..2060;

/// Words that a date can begin with, beside figures: months, numbers, days of a month, days with a name.
static BEGINNINGS: Words = Words::new(
    "\
     january jan february feb march mar april apr may june jun july jul august aug september sept sep october oct \
     november nov december dec one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen \
     sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety first second third fourth \
     fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth \
     eighteenth nineteenth twentieth thirtieth christmas boxing new hogmanay midsummer halloween memorial labor labour \
     thanksgiving",
);

/// Finds the dates named in a note; `day` is the note's own.
pub fn dates(tokens: &[Token<'_>], day: NaiveDate) -> Vec<Named> {
    let mut out = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        match date_at(tokens, at, day) {
            Some(named) => {
                at = named.tokens.end;
                out.push(named);
            }
            None => at += 1,
        }
    }
    out
}

fn date_at(tokens: &[Token<'_>], at: usize, day: NaiveDate) -> Option<Named> {
    let token = &tokens[at];
    if token.kind == Kind::Number {
        return numeric(tokens, at).or_else(|| day_first(tokens, at, day)).or_else(|| bare_year(tokens, at));
    }
    if !BEGINNINGS.has(token) {
        return None;
    }
    if let Some(named) = spoken_label(tokens, at, day) {
        return Some(named);
    }
    if let Some(named) = feast(tokens, at, day) {
        return Some(named);
    }
    let Some(month) = month(&token.lower) else {
        return day_first(tokens, at, day).or_else(|| spoken_bare_year(tokens, at));
    };
    // "may" and "march" are verbs too: they need a number or a preposition beside them.
    if matches!(token.lower.as_ref(), "may" | "march" | "mar")
        && !token.text.starts_with(char::is_uppercase)
        && !at.checked_sub(1).is_some_and(|i| {
            tokens[i].is_any(words![
                "in", "of", "by", "till", "until", "next", "last", "since", "this", "says", "service",
            ])
        })
        && year(tokens, at + 1).is_none()
    {
        return None;
    }
    let mut end = at + 1;
    // "August twenty five": a day or a year; a year where it can be one not long past.
    if let Some((year, used)) = year(tokens, end).or_else(|| short_year(tokens, end, day)) {
        return whole_month(at..end + used, year, month);
    }
    if let Some((number, used)) = day_number(tokens, end) {
        end += used;
        if let Some((year, used)) = year(tokens, end) {
            return one_day(at..end + used, year, month, number, true);
        }
        let (year, number) = (next_year(day, month, number), number);
        return one_day(at..end, year, month, number, false);
    }
    // "October of last year", "March this year".
    if let Some((year, used)) = year_by_name(tokens, end, day) {
        return whole_month(at..end + used, year, month);
    }
    let last = at.checked_sub(1).is_some_and(|i| tokens[i].is_any(words!["last", "since"]));
    let mut year = next_year(day, month, 28);
    if last && year >= day.year() {
        year -= 1;
    }
    let mut named = whole_month(at..end, year, month)?;
    named.year_said = false;
    Some(named)
}

/// `2026-11-26`, `26/11/2026`, `05/2026`, `08/26`.
fn numeric(tokens: &[Token<'_>], at: usize) -> Option<Named> {
    let text = tokens[at].text;
    // `2026-11-26` comes as three tokens joined by hyphens.
    if let Ok(year) = text.parse::<i32>()
        && YEARS.contains(&year)
        && let Some(month) = hyphened(tokens, at + 1).filter(|m| (1..=12).contains(m))
    {
        return match hyphened(tokens, at + 2) {
            Some(day) => one_day(at..at + 3, year, month, day, true),
            None => whole_month(at..at + 2, year, month),
        };
    }
    let parts: Vec<u32> = text.split('/').map(str::parse).collect::<Result<_, _>>().ok()?;
    match parts[..] {
        [month @ 1..=12, year] if text.len() == 7 && YEARS.contains(&(year as i32)) => {
            whole_month(at..at + 1, year as i32, month)
        }
        [month @ 1..=12, year] if text.len() == 5 && (20..60).contains(&year) => {
            whole_month(at..at + 1, 2000 + year as i32, month)
        }
        // "7/26"; thirty-seconds of an inch are no dates.
        [month @ 1..=9, year] if text.len() == 4 && (20..40).contains(&year) && year != 32 => {
            whole_month(at..at + 1, 2000 + year as i32, month)
        }
        [a, b, year] => {
            let year = if year < 100 { 2000 + year as i32 } else { year as i32 };
            // Day first, unless only the other order is a date.
            let (day, month) = if b > 12 { (b, a) } else { (a, b) };
            one_day(at..at + 1, year, month, day, true)
        }
        _ => None,
    }
}

/// "by Christmas", "before Labor Day": days with a name, the next ones on or after the note's own.
fn feast(tokens: &[Token<'_>], at: usize, day: NaiveDate) -> Option<Named> {
    /// A month and a day.
    type Day = (u32, u32);
    /// Names in words, and the first and last day of the year that each may fall on.
    const FEASTS: [(&[&str], Day, Day); 12] = [
        (&["christmas", "eve"], (12, 24), (12, 24)),
        (&["christmas"], (12, 25), (12, 25)),
        (&["boxing", "day"], (12, 26), (12, 26)),
        (&["new", "year's"], (1, 1), (1, 1)),
        (&["new", "year", "'s"], (1, 1), (1, 1)),
        (&["hogmanay"], (12, 31), (12, 31)),
        (&["midsummer"], (6, 20), (6, 26)),
        (&["halloween"], (10, 31), (10, 31)),
        (&["memorial", "day"], (5, 25), (5, 31)),
        (&["labor", "day"], (9, 1), (9, 7)),
        (&["labour", "day"], (9, 1), (9, 7)),
        (&["thanksgiving"], (11, 22), (11, 28)),
    ];
    let (words, first, last) = FEASTS.iter().find(|(words, ..)| {
        words
            .iter()
            .enumerate()
            .all(|(n, word)| tokens.get(at + n).is_some_and(|t| t.is(word) && (n == 0 || t.gap <= Gap::Line)))
    })?;
    let on = |year: i32, (month, day): Day| NaiveDate::from_ymd_opt(year, month, day);
    let year = if on(day.year(), *last)? < day { day.year() + 1 } else { day.year() };
    Some(Named {
        tokens: at..at + words.len(),
        from: on(year, *first)?,
        until: on(year, *last)?,
        year_said: false,
    })
}

fn hyphened(tokens: &[Token<'_>], at: usize) -> Option<u32> {
    let token =
        tokens.get(at).filter(|t| t.gap == Gap::Hyphen && t.kind == Kind::Number && t.text.len() <= 2)?;
    token.text.parse().ok()
}

/// "26 November 2026", "the fourth of July".
fn day_first(tokens: &[Token<'_>], at: usize, day: NaiveDate) -> Option<Named> {
    let (number, used) = day_number(tokens, at)?;
    let mut end = at + used;
    if tokens.get(end).is_some_and(|t| t.is("of") && t.gap <= Gap::Line) {
        end += 1;
    }
    let month = tokens.get(end).filter(|t| t.gap <= Gap::Line).and_then(|t| month(&t.lower))?;
    end += 1;
    match year(tokens, end) {
        Some((year, used)) => one_day(at..end + used, year, month, number, true),
        None => one_day(at..end, next_year(day, month, number), month, number, false),
    }
}

/// A year standing alone behind a word that hangs a date on something: "good till 2030", "dated 2024", "to 2031".
fn bare_year(tokens: &[Token<'_>], at: usize) -> Option<Named> {
    let (year, used) = year(tokens, at)?;
    let before = at.checked_sub(1).map(|i| &tokens[i])?;
    let next = tokens.get(at + used).filter(|t| t.gap <= Gap::Space);
    let unit = next.is_some_and(|t| {
        t.is_any(words![
            "rpm", "revs", "rev", "miles", "hours", "litres", "gallons", "for", "on", "meters", "metres",
            "feet", "astern",
        ])
    });
    (!unit
        && before.is_any(words![
            "till",
            "until",
            "til",
            "to",
            "dated",
            "says",
            "say",
            "stamped",
            "expires",
            "expire",
            "in",
            "battery",
            "through",
            "of",
            "card",
            "since",
            "bought",
            "built",
            "expiry",
            "exp",
            "date",
            "expiring",
            "expiration",
            "due",
        ]))
    .then(|| whole_year(at..at + used, year))?
}

/// A month by its number and a year by its last two digits, as a label is read out: "it says five twenty-six".
fn spoken_label(tokens: &[Token<'_>], at: usize, day: NaiveDate) -> Option<Named> {
    const BEHIND: i32 = 6;
    const AHEAD: i32 = 12;
    let month =
        [tens(&tokens[at].lower), unit(&tokens[at].lower)].into_iter().flatten().find(|m| *m <= 12)?;
    let quoted = at.checked_sub(1).is_some_and(|i| {
        tokens[i].is_any(words![
            "says", "say", "said", "stamped", "dated", "reads", "has", "got", "have", "date", "marked",
            "expires",
        ])
    });
    let decade = joined(tokens, at + 1).and_then(|t| tens(&t.lower)).filter(|t| *t >= 20)?;
    let ones = joined(tokens, at + 2).and_then(|t| unit(&t.lower));
    let year = 2000 + decade + ones.unwrap_or(0);
    let end = at + 2 + usize::from(ones.is_some());
    let of_a_label =
        tokens.get(end).is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["on", "so", "and"]));
    let near = year >= day.year() - BEHIND && year <= day.year() + AHEAD;
    (quoted && near && of_a_label).then(|| whole_month(at..end, year, month as u32))?
}

fn spoken_bare_year(tokens: &[Token<'_>], at: usize) -> Option<Named> {
    if !tokens[at].is_any(words!["twenty", "thirty", "two", "nineteen"]) {
        return None;
    }
    // "good till twenty nine"
    let until = at >= 2
        && tokens[at - 1].is_any(words!["till", "until", "til", "to", "through"])
        && tokens[at - 2].is_any(words!["good", "date", "valid", "ok", "okay", "fine", "ticket"]);
    let short = || {
        let ones = joined(tokens, at + 1).filter(|t| t.gap <= Gap::Line).and_then(|t| unit(&t.lower))?;
        let further = tokens
            .get(at + 2)
            .is_some_and(|t| t.gap <= Gap::Space && t.is_any(words!["knots", "degrees", "miles", "hours"]));
        (!further).then(|| whole_year(at..at + 2, 2000 + tens(&tokens[at].lower)? + ones))?
    };
    bare_year(tokens, at).or_else(|| if until { short() } else { None })
}

fn whole_month(tokens: Range<usize>, year: i32, month: u32) -> Option<Named> {
    let from = NaiveDate::from_ymd_opt(year, month, 1)?;
    let until = from.checked_add_months(Months::new(1))?.checked_sub_days(Days::new(1))?;
    Some(Named { tokens, from, until, year_said: true })
}

fn whole_year(tokens: Range<usize>, year: i32) -> Option<Named> {
    Some(Named {
        tokens,
        from: NaiveDate::from_ymd_opt(year, 1, 1)?,
        until: NaiveDate::from_ymd_opt(year, 12, 31)?,
        year_said: true,
    })
}

fn one_day(tokens: Range<usize>, year: i32, month: u32, day: u32, year_said: bool) -> Option<Named> {
    let from = NaiveDate::from_ymd_opt(year, month, day)?;
    Some(Named { tokens, from, until: from, year_said })
}

/// The year in which a month and day next come on or after a day.
fn next_year(day: NaiveDate, month: u32, number: u32) -> i32 {
    day.year() + i32::from((month, number) < (day.month(), day.day()))
}

/// A month by its name or usual short form.
pub fn month(word: &str) -> Option<u32> {
    Some(match word {
        "january" | "jan" => 1,
        "february" | "feb" => 2,
        "march" | "mar" => 3,
        "april" | "apr" => 4,
        "may" => 5,
        "june" | "jun" => 6,
        "july" | "jul" => 7,
        "august" | "aug" => 8,
        "september" | "sept" | "sep" => 9,
        "october" | "oct" => 10,
        "november" | "nov" => 11,
        "december" | "dec" => 12,
        _ => return None,
    })
}

fn joined<'t>(tokens: &'t [Token<'t>], at: usize) -> Option<&'t Token<'t>> {
    tokens.get(at).filter(|t| t.gap <= Gap::Comma)
}

/// A year in digits or words, with the tokens that it takes; "of" in front is taken too.
fn year(tokens: &[Token<'_>], at: usize) -> Option<(i32, usize)> {
    let token = joined(tokens, at)?;
    if token.is("of") {
        // "June of 27".
        let next = joined(tokens, at + 1)?;
        let short = next
            .text
            .parse::<i32>()
            .ok()
            .filter(|y| (20..60).contains(y) && next.text.len() == 2)
            .map(|y| (2000 + y, 2));
        // "June of twenty-six".
        let spoken = || {
            let decade = tens(&next.lower).filter(|t| *t >= 20)?;
            let ones = joined(tokens, at + 2).and_then(|t| unit(&t.lower))?;
            Some((2000 + decade + ones, 3))
        };
        let whole = || year(tokens, at + 1).map(|(y, used)| (y, used + 1));
        return short.or_else(whole).or_else(spoken);
    }
    if token.kind == Kind::Number {
        return token
            .text
            .parse()
            .ok()
            .filter(|y| YEARS.contains(y) && token.text.len() == 4)
            .map(|y| (y, 1));
    }
    let word = |i: usize| joined(tokens, at + i).map(|t| t.lower.as_ref());
    let ten = |w: Option<&str>| w.and_then(tens);
    let one = |w: Option<&str>| w.and_then(unit);
    match word(0)? {
        "twenty" | "nineteen" => {
            let century = if word(0)? == "twenty" { 2000 } else { 1900 };
            if let Some(t) = ten(word(1)) {
                let u = if t % 10 == 0 && t >= 20 { one(word(2)) } else { None };
                let year = century + t + u.unwrap_or(0);
                return YEARS.contains(&year).then_some((year, 2 + usize::from(u.is_some())));
            }
            if word(1)? == "oh" {
                return one(word(2)).map(|u| (century + u, 3));
            }
            None
        }
        "two" if word(1)? == "thousand" => {
            let and = usize::from(word(2) == Some("and"));
            let t = ten(word(2 + and));
            match t {
                Some(t) => {
                    let u = if t >= 20 { one(word(3 + and)) } else { None };
                    Some((2000 + t + u.unwrap_or(0), 3 + and + usize::from(u.is_some())))
                }
                None => one(word(2 + and)).map(|u| (2000 + u, 3 + and)),
            }
        }
        _ => None,
    }
}

/// "of last year", "this year" behind a month.
fn year_by_name(tokens: &[Token<'_>], at: usize, day: NaiveDate) -> Option<(i32, usize)> {
    let of = usize::from(joined(tokens, at)?.is("of"));
    let which = joined(tokens, at + of)?;
    let by = ["last", "this", "next"].iter().position(|word| which.is(word))?;
    joined(tokens, at + of + 1)?.is("year").then(|| (day.year() - 1 + by as i32, of + 2))
}

/// A year by its last two digits behind a month ("August twenty five"), where it is this year or one soon to come.
fn short_year(tokens: &[Token<'_>], at: usize, day: NaiveDate) -> Option<(i32, usize)> {
    const AHEAD: i32 = 12;
    let token = joined(tokens, at)?;
    let (number, used) = if token.kind == Kind::Number && token.text.len() == 2 && token.gap <= Gap::Line {
        (token.text.parse::<i32>().ok()?, 1)
    } else {
        let t = tens(&token.lower).filter(|t| *t >= 20)?;
        match joined(tokens, at + 1).and_then(|t| unit(&t.lower)) {
            Some(u) => (t + u, 2),
            None => (t, 1),
        }
    };
    let year = 2000 + number;
    (year >= day.year() && year <= day.year() + AHEAD).then_some((year, used))
}

/// A day of the month in digits or words: "4", "4th", "fourth", "twenty sixth", "the 26th".
fn day_number(tokens: &[Token<'_>], at: usize) -> Option<(u32, usize)> {
    let token = tokens.get(at).filter(|t| t.gap <= Gap::Comma || at == 0 || t.gap >= Gap::Sentence)?;
    if token.kind == Kind::Number {
        let number = token.text.parse::<u32>().ok().filter(|n| (1..=31).contains(n))?;
        let suffix = tokens
            .get(at + 1)
            .is_some_and(|t| t.gap == Gap::Glued && t.is_any(words!["st", "nd", "rd", "th"]));
        return Some((number, 1 + usize::from(suffix)));
    }
    let next = joined(tokens, at + 1).map(|t| t.lower.as_ref());
    ordinal(&token.lower, next).map(|(day, two)| (day, 1 + usize::from(two)))
}

/// A day of the month in ordinal words, 1 to 31, and whether the second word belongs to it: "sixth", "twenty" "sixth".
pub(crate) fn ordinal(first: &str, second: Option<&str>) -> Option<(u32, bool)> {
    let place = |word: &str| ORDINALS.iter().position(|o| *o == word).map(|i| i as u32 + 1);
    if first == "thirtieth" {
        return Some((30, false));
    }
    if let Some(day) = place(first) {
        return Some((day, false));
    }
    let tens = match first {
        "twenty" => 20,
        "thirty" => 30,
        _ => return None,
    };
    let ones = place(second?).filter(|n| *n < 10 && tens + n <= 31)?;
    Some((tens + ones, true))
}

const ORDINALS: &[&str] = &[
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "fifteenth",
    "sixteenth",
    "seventeenth",
    "eighteenth",
    "nineteenth",
    "twentieth",
];

fn tens(word: &str) -> Option<i32> {
    Some(match word {
        "ten" => 10,
        "eleven" => 11,
        "twelve" => 12,
        "thirteen" => 13,
        "fourteen" => 14,
        "fifteen" => 15,
        "sixteen" => 16,
        "seventeen" => 17,
        "eighteen" => 18,
        "nineteen" => 19,
        "twenty" => 20,
        "thirty" => 30,
        "forty" => 40,
        "fifty" => 50,
        "ninety" => 90,
        "eighty" => 80,
        "seventy" => 70,
        "sixty" => 60,
        _ => return None,
    })
}

fn unit(word: &str) -> Option<i32> {
    const UNITS: [&str; 9] = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
    UNITS.iter().position(|u| *u == word).map(|i| i as i32 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    /// Dates in a line said on 16 August 2026, as `from..until`, or one day.
    fn named(line: &str) -> Vec<String> {
        let utterance = Utterance::line(line);
        let day = NaiveDate::from_ymd_opt(2026, 8, 16).expect("a date");
        dates(&crate::token::tokens(line, &[utterance]), day)
            .iter()
            .map(|d| if d.from == d.until { d.from.to_string() } else { format!("{}..{}", d.from, d.until) })
            .collect()
    }

    #[test]
    fn all_words_of_dates_begin_one() {
        let others =
            ["january", "jan", "sept", "sep", "dec", "one", "nine", "ten", "nineteen", "twenty", "ninety"];
        assert!(others.iter().chain(ORDINALS).all(|word| BEGINNINGS.holds(word)));
    }

    #[test]
    fn dates_are_found_as_people_say_them() {
        assert_eq!(named("next service november twenty twenty six"), ["2026-11-01..2026-11-30"]);
        assert_eq!(
            named("all stamped 08/26, card says 05/2026"),
            ["2026-08-01..2026-08-31", "2026-05-01..2026-05-31"]
        );
        assert_eq!(named("the smokes say August twenty six"), ["2026-08-01..2026-08-31"]);
        assert_eq!(
            named("good till 2030, battery 2031"),
            ["2030-01-01..2030-12-31", "2031-01-01..2031-12-31"]
        );
        assert_eq!(named("good until\ntwenty thirty"), ["2030-01-01..2030-12-31"]);
        assert_eq!(named("not home until June of 27"), ["2027-06-01..2027-06-30"]);
        assert_eq!(named("Away July 4, home by September 15"), ["2027-07-04", "2026-09-15"]);
        assert_eq!(named("the twenty sixth of November. 2026-12-24"), ["2026-11-26", "2026-12-24"]);
        assert_eq!(named("home by Christmas, or by Labor Day"), ["2026-12-25", "2026-09-01..2026-09-07"]);
        assert_eq!(named("till the end of march"), ["2027-03-01..2027-03-31"]);
        assert_eq!(named("two thousand and nineteen written on it"), Vec::<String>::new());
    }

    #[test]
    fn numbers_that_are_no_dates_are_left_alone() {
        assert_eq!(named("astern at 2000 revs, it may blow, 60 miles, 1 in 3"), Vec::<String>::new());
    }
}
