//! A day as a person says it: "friday", "tomorrow", "26 Nov", "in two weeks", "saturday week", "2026-11-30".

use chrono::{Datelike, Days, Months, NaiveDate, Weekday};
use leadsman_ingest::Utterance;
use leadsman_ingest::date::{dates, month};
use leadsman_ingest::talk::Talk;

/// Reads a day, seen from `today`. A weekday is the next to come, today's own name being a week away; "week" behind it
/// is seven days later. A day without a year is the next to come; of a month or a year, its last day is meant.
/// Errors: what was expected.
pub fn day(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    let words = words(text, &["on", "by", "until", "till"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let found = match words.as_slice() {
        ["today"] => Some(today),
        ["tomorrow"] => today.succ_opt(),
        [name] => weekday(name).and_then(|name| coming(today, name)),
        [name, "week"] => weekday(name).and_then(|name| coming(today, name)?.checked_add_days(Days::new(7))),
        ["in", count, unit] => later(today, count, unit),
        [name, day] if is_month_first(name, day) => calendar(&format!("{day} {name}"), today),
        _ => None,
    };
    found.or_else(|| calendar(&words.join(" "), today)).ok_or_else(|| {
        format!(
            "expected a day like 2026-11-30, \"26 Nov\", friday or \"in two weeks\", found \"{}\"",
            text.trim()
        )
    })
}

/// Reads a day that has passed, seen from `today`: a weekday is the last one before it, a day without a year the last such
/// day, today included. A day with its year may be any. Errors: what was expected.
pub fn passed(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    let words = words(text, &["on", "last", "since", "until", "the"]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    // The next to come, seen from a year ago, is the last that came.
    let year_ago = || today.checked_sub_months(Months::new(12))?.succ_opt();
    let ago = |count: &str, unit: &str| today.checked_sub_signed(later(today, count, unit)? - today);
    let found = match words.as_slice() {
        ["today"] => Some(today),
        ["yesterday"] => today.pred_opt(),
        ["tomorrow"] => today.succ_opt(),
        [name] if weekday(name).is_some() => {
            weekday(name).and_then(|name| coming(today.checked_sub_days(Days::new(8))?, name))
        }
        [count, unit, "ago"] => ago(count, unit),
        [unit @ ("week" | "month")] => ago("a", unit),
        [name, day] if is_month_first(name, day) => {
            year_ago().and_then(|seen| calendar(&format!("{day} {name}"), seen))
        }
        _ => None,
    };
    // A month alone is no day: its first and its last would both be meant.
    let names_a_day = || {
        words.iter().any(|word| {
            let figures = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
            figures.parse::<u32>().is_ok_and(|day| day <= 31) || figures.contains(['-', '/', '.'])
        })
    };
    let found = found.or_else(|| calendar(&words.join(" "), year_ago()?).filter(|_| names_a_day()));
    found.ok_or_else(|| {
        format!(
            "expected a day like 2026-10-06, \"6 Oct\", \"last friday\" or \"3 weeks ago\", found \"{}\"",
            text.trim()
        )
    })
}

/// The words of a day in lower case, without the `fillers` in front of it.
fn words(text: &str, fillers: &[&str]) -> Vec<String> {
    text.split(|c: char| c.is_whitespace() || c == ',')
        .map(str::to_lowercase)
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
fn calendar(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    if let Ok(day) = NaiveDate::parse_from_str(text, "%Y-%m-%d") {
        return Some(day);
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
    whole.then_some(named.until)
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
        ] {
            assert_eq!(day(said, today).map(|day| day.to_string()), Ok(meant.to_owned()), "{said}");
        }
        for (said, meant) in [
            ("2026-11-30", "2026-11-30"),
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
