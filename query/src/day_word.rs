//! A day as a person says it: "friday", "tomorrow", "26 Nov", "in two weeks", "saturday week", "end of april", "3/5",
//! "2026-11-30".

use std::ops::RangeInclusive;

use chrono::{Datelike, Days, Months, NaiveDate, Weekday};
use leadsman_ingest::Utterance;
use leadsman_ingest::date::{dates, month};
use leadsman_ingest::talk::Talk;

/// The days that words may mean: one, or all of a week, a month or a year.
type Stretch = RangeInclusive<NaiveDate>;

/// Reads a day, seen from `today`. A weekday is the next to come, today's own name being a week away; "week" behind it
/// is seven days later, "next" in front of it is in the week that begins on the coming Monday. A day without a year is the
/// next to come; of a week, a month or a year, its last day is meant. In "3/5" the day stands first. Errors: what was
/// expected.
pub fn day(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    coming_stretch(text, today).map(|days| *days.end())
}

/// As [`day`], but of a week, a month or a year its first day that has not passed is meant.
pub fn first(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    coming_stretch(text, today).map(|days| (*days.start()).max(today.min(*days.end())))
}

/// Reads a day that has passed, seen from `today`: a weekday is the last one before it, a day without a year the last such
/// day, today included. A day with its year may be any. Errors: what was expected; a month, which is no day.
pub fn passed(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    let days = gone_stretch(text, today)?;
    if days.start() == days.end() { Ok(*days.start()) } else { Err(no_passed(text)) }
}

/// As [`passed`]; of a month or a year, its first day is meant.
pub fn since(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    gone_stretch(text, today).map(|days| *days.start())
}

/// As [`passed`]; of a month or a year, its last day is meant.
pub fn until(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    gone_stretch(text, today).map(|days| *days.end())
}

fn coming_stretch(text: &str, today: NaiveDate) -> Result<Stretch, String> {
    let words = words(text, &["on", "by", "until", "till", "the", "of"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let one = |day: Option<NaiveDate>| day.map(|day| day..=day);
    let found = match words.as_slice() {
        ["today"] => Some(today..=today),
        ["tomorrow"] => one(today.succ_opt()),
        ["yesterday"] => one(today.pred_opt()),
        ["weekend"] => coming(today, Weekday::Sat).and_then(|day| Some(day..=day.succ_opt()?)),
        ["this", "week"] => week_from(monday(today)),
        ["this", "month"] => month_of(today.year(), today.month()),
        ["next", "week"] => week_from(next_monday(today)),
        ["next", "month"] => {
            today.checked_add_months(Months::new(1)).and_then(|later| month_of(later.year(), later.month()))
        }
        ["next", name] => one(weekday(name).and_then(|name| coming(next_monday(today)?.pred_opt()?, name))),
        ["in", count, unit] | [count, unit] if later(today, count, unit).is_some() => {
            one(later(today, count, unit))
        }
        [name] if weekday(name).is_some() => one(weekday(name).and_then(|name| coming(today, name))),
        [name, "week"] => {
            one(weekday(name).and_then(|name| coming(today, name)?.checked_add_days(Days::new(7))))
        }
        [name, day] if is_month_first(name, day) => calendar(&format!("{day} {name}"), today),
        [figures] if nth(figures).is_some() => {
            one(nth(figures).and_then(|n| (1..=62).find_map(|ahead| on_nth(today, ahead, n))))
        }
        [figures] if slashed(figures).is_some() => one(slashed(figures).and_then(|(day, month)| {
            [0, 1].into_iter().find_map(|years| {
                NaiveDate::from_ymd_opt(today.year() + years, month, day).filter(|day| *day >= today)
            })
        })),
        [part, name] if month(name).is_some() => part_of(part, calendar(name, today)),
        [part, name, year] if month(name).is_some() => {
            part_of(part, calendar(&format!("{name} {year}"), today))
        }
        _ => None,
    };
    found.or_else(|| calendar(&words.join(" "), today)).ok_or_else(|| {
        format!(
            "expected a day like 2026-11-30, \"26 Nov\", friday or \"in two weeks\", found \"{}\"",
            text.trim()
        )
    })
}

fn gone_stretch(text: &str, today: NaiveDate) -> Result<Stretch, String> {
    let words = words(text, &["on", "last", "since", "until", "from", "the", "of"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    // The next to come, seen from a year ago, is the last that came.
    let year_ago = today.checked_sub_months(Months::new(12)).and_then(|day| day.succ_opt());
    let ago = |count: &str, unit: &str| today.checked_sub_signed(later(today, count, unit)? - today);
    let one = |day: Option<NaiveDate>| day.map(|day| day..=day);
    let found = match words.as_slice() {
        ["today"] => Some(today..=today),
        ["yesterday"] => one(today.pred_opt()),
        ["tomorrow"] => one(today.succ_opt()),
        ["this", "week"] => week_from(monday(today)),
        ["this", "month"] => month_of(today.year(), today.month()),
        [name] if weekday(name).is_some() => {
            one(weekday(name).and_then(|name| coming(today.checked_sub_days(Days::new(8))?, name)))
        }
        [count, unit, "ago"] => one(ago(count, unit)),
        [unit @ ("week" | "month")] => one(ago("a", unit)),
        [name, day] if is_month_first(name, day) => {
            year_ago.and_then(|seen| calendar(&format!("{day} {name}"), seen))
        }
        [figures] if nth(figures).is_some() => {
            one(nth(figures).and_then(|n| (-62..=0).rev().find_map(|ahead| on_nth(today, ahead, n))))
        }
        [figures] if slashed(figures).is_some() => one(slashed(figures).and_then(|(day, month)| {
            [0, -1].into_iter().find_map(|years| {
                NaiveDate::from_ymd_opt(today.year() + years, month, day).filter(|day| *day <= today)
            })
        })),
        [name] if month(name).is_some() => month_gone(name, today),
        [part, name] if month(name).is_some() => part_of(part, month_gone(name, today)),
        [part, name, year] if month(name).is_some() => {
            part_of(part, calendar(&format!("{name} {year}"), today))
        }
        _ => None,
    };
    found.or_else(|| calendar(&words.join(" "), year_ago?)).ok_or_else(|| no_passed(text))
}

fn no_passed(text: &str) -> String {
    format!(
        "expected a day like 2026-10-06, \"6 Oct\", \"last friday\" or \"3 weeks ago\", found \"{}\"",
        text.trim()
    )
}

fn monday(day: NaiveDate) -> Option<NaiveDate> {
    day.checked_sub_days(Days::new(u64::from(day.weekday().num_days_from_monday())))
}

fn next_monday(day: NaiveDate) -> Option<NaiveDate> {
    monday(day)?.checked_add_days(Days::new(7))
}

fn week_from(monday: Option<NaiveDate>) -> Option<Stretch> {
    Some(monday?..=monday?.checked_add_days(Days::new(6))?)
}

fn month_of(year: i32, month: u32) -> Option<Stretch> {
    let first = NaiveDate::from_ymd_opt(year, month, 1)?;
    Some(first..=first.checked_add_months(Months::new(1))?.pred_opt()?)
}

/// The last month of a name that has begun.
fn month_gone(name: &str, today: NaiveDate) -> Option<Stretch> {
    let month = month(name)?;
    month_of(if month <= today.month() { today.year() } else { today.year() - 1 }, month)
}

/// The part of a month that a word in front of it names: "end of april", "mid october".
fn part_of(part: &str, month: Option<Stretch>) -> Option<Stretch> {
    let month = month?;
    let nth = |n: u32| month.start().with_day(n);
    match part {
        "end" => Some(*month.end()..=*month.end()),
        "mid" | "middle" => Some(nth(15)?..=nth(15)?),
        "start" | "beginning" => Some(nth(1)?..=nth(1)?),
        "early" => Some(nth(1)?..=nth(10)?),
        "late" => Some(nth(21)?..=*month.end()),
        _ => None,
    }
}

/// The figures of "3rd".
fn nth(word: &str) -> Option<u32> {
    let figures = ["st", "nd", "rd", "th"].iter().find_map(|end| word.strip_suffix(end))?;
    figures.parse().ok().filter(|day| (1..=31).contains(day))
}

/// The day so many days ahead, where it is the nth of its month.
fn on_nth(today: NaiveDate, ahead: i64, nth: u32) -> Option<NaiveDate> {
    today.checked_add_signed(chrono::TimeDelta::days(ahead)).filter(|day| day.day() == nth)
}

/// Day and month of "3/5", the day first unless only the other order is a date.
fn slashed(word: &str) -> Option<(u32, u32)> {
    let (day, month) = word.split_once('/')?;
    match (day.parse().ok()?, month.parse().ok()?) {
        (day @ 1..=31, month @ 1..=12) => Some((day, month)),
        (month @ 1..=12, day @ 13..=31) => Some((day, month)),
        _ => None,
    }
}

/// The words of a day in lower case, without the `fillers` in front of it.
fn words(text: &str, fillers: &[&str]) -> Vec<String> {
    let text = text.to_lowercase().replace("mid-", "mid ");
    text.split(|c: char| c.is_whitespace() || c == ',')
        .map(str::to_owned)
        .filter(|word| !word.is_empty() && !fillers.contains(&word.as_str()))
        .collect()
}

/// "November 26" is a month of 2026 in a service date, and a day in a person's plan.
fn is_month_first(name: &str, day: &str) -> bool {
    month(name).is_some() && day.parse::<u32>().is_ok_and(|day| day <= 31)
}

fn weekday(word: &str) -> Option<Weekday> {
    // chrono knows the names and their first three letters.
    word.parse().ok()
}

fn coming(today: NaiveDate, name: Weekday) -> Option<NaiveDate> {
    (1..=7).filter_map(|n| today.checked_add_days(Days::new(n))).find(|day| day.weekday() == name)
}

fn later(today: NaiveDate, count: &str, unit: &str) -> Option<NaiveDate> {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    let named = WORDS.iter().position(|word| *word == count).map(|n| n as u32);
    let count: u32 = match count {
        "a" | "an" => 1,
        _ => named.or_else(|| count.parse().ok())?,
    };
    let days = |n: u32| today.checked_add_days(Days::new(u64::from(count) * u64::from(n)));
    match unit.trim_end_matches('s') {
        "day" => days(1),
        "week" => days(7),
        "fortnight" => days(14),
        "month" => today.checked_add_months(Months::new(count)),
        _ => None,
    }
}

/// A date of the calendar, as notes have them; the words must hold nothing else.
fn calendar(text: &str, today: NaiveDate) -> Option<Stretch> {
    if let Ok(day) = NaiveDate::parse_from_str(text, "%Y-%m-%d") {
        return Some(day..=day);
    }
    // "may" and "march" are verbs too: a month that begins with a capital is surely one.
    let text: String = text
        .split(' ')
        .map(|word| {
            let mut letters = word.chars();
            letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
        })
        .collect::<Vec<_>>()
        .join(" ");
    let utterances = [Utterance::line(&text)];
    let talk = Talk::new(&text, &utterances, &[]);
    let named = dates(&talk.tokens, today).into_iter().next()?;
    let weekday_first = talk.tokens.first().is_some_and(|t| weekday(&t.lower).is_some());
    let whole = named.tokens.start == usize::from(weekday_first) && named.tokens.end == talk.tokens.len();
    whole.then_some(named.from..=named.until)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_read_as_they_are_said() {
        // A Wednesday.
        let today = NaiveDate::from_ymd_opt(2026, 11, 25).expect("a day");
        for (said, meant) in [
            ("2026-11-30", "2026-11-30"),
            ("today", "2026-11-25"),
            ("tomorrow", "2026-11-26"),
            ("Friday", "2026-11-27"),
            ("fri", "2026-11-27"),
            ("wednesday", "2026-12-02"),
            ("saturday week", "2026-12-05"),
            ("in 3 days", "2026-11-28"),
            ("in two weeks", "2026-12-09"),
            ("in a month", "2026-12-25"),
            ("26 Nov", "2026-11-26"),
            ("26 november 2026", "2026-11-26"),
            ("November 26", "2026-11-26"),
            ("fri 4 dec", "2026-12-04"),
            ("4 march", "2027-03-04"),
            ("by friday", "2026-11-27"),
            ("november 2026", "2026-11-30"),
            ("yesterday", "2026-11-24"),
            ("next friday", "2026-12-04"),
            ("next week", "2026-12-06"),
            ("next month", "2026-12-31"),
            ("this week", "2026-11-29"),
            ("the weekend", "2026-11-29"),
            ("the 3rd", "2026-12-03"),
            ("the 31st", "2026-12-31"),
            ("end of april", "2027-04-30"),
            ("end of february 2028", "2028-02-29"),
            ("mid-october", "2027-10-15"),
            ("early may", "2027-05-10"),
            ("april", "2027-04-30"),
            ("3/5", "2027-05-03"),
            ("12/25", "2026-12-25"),
            ("3 weeks", "2026-12-16"),
        ] {
            assert_eq!(day(said, today).map(|day| day.to_string()), Ok(meant.to_owned()), "{said}");
        }
        for (said, meant) in [
            ("april", "2027-04-01"),
            ("november", "2026-11-25"),
            ("next week", "2026-11-30"),
            ("friday", "2026-11-27"),
            ("end of april", "2027-04-30"),
        ] {
            assert_eq!(first(said, today).map(|day| day.to_string()), Ok(meant.to_owned()), "{said}");
        }
        for (said, from, to) in [
            ("april", "2026-04-01", "2026-04-30"),
            ("december", "2025-12-01", "2025-12-31"),
            ("november", "2026-11-01", "2026-11-30"),
            ("mid october", "2026-10-15", "2026-10-15"),
            ("april 2025", "2025-04-01", "2025-04-30"),
            ("last friday", "2026-11-20", "2026-11-20"),
        ] {
            let read = [since(said, today), until(said, today)];
            assert_eq!(
                read.map(|day| day.map(|d| d.to_string())),
                [Ok(from.to_owned()), Ok(to.to_owned())],
                "{said}"
            );
        }
        for (said, meant) in [
            ("2026-11-30", "2026-11-30"),
            ("the 3rd", "2026-11-03"),
            ("the 31st", "2026-10-31"),
            ("3/5", "2026-05-03"),
            ("yesterday", "2026-11-24"),
            ("friday", "2026-11-20"),
            ("last wednesday", "2026-11-18"),
            ("tuesday", "2026-11-24"),
            ("two weeks ago", "2026-11-11"),
            ("a month ago", "2026-10-26"),
            ("25 Nov", "2026-11-25"),
            ("26 Nov", "2025-11-26"),
            ("October 6", "2026-10-06"),
            ("6 oct 2024", "2024-10-06"),
        ] {
            assert_eq!(passed(said, today).map(|day| day.to_string()), Ok(meant.to_owned()), "{said}");
        }
        assert!(
            passed("May", today).is_err()
                && passed("May or so", today).is_err()
                && passed("31/11", today).is_err()
        );
        for wrong in ["", "soon", "31 Feb", "2026-13-01", "friday or so", "in some days", "26 Nov or later"] {
            assert!(day(wrong, today).is_err(), "{wrong}: {:?}", day(wrong, today));
        }
    }
}
