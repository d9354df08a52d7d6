//! Which day a date means: the year that was left out, the order of day and month, and whether it fits the rest.

use chrono::{Datelike, NaiveDate};

use super::Evidence;
use super::dates::weekday;
use super::said::{DateSaid, What};
use crate::format::Stamp;
use crate::found::{Notice, Span};
use crate::text::line_of;

/// A day, and where its year came from if it was not said with it.
pub(super) struct Known {
    pub date: NaiveDate,
    pub year_from: Option<&'static str>,
}

/// Makes a day of a date as said.
pub(super) fn resolve(
    known: &Evidence<'_>,
    said: DateSaid,
    span: Span,
    notices: &mut Vec<Notice>,
) -> Option<Known> {
    let (said, told) = order(known, said);
    if told {
        let (day, month) = (said.day.unwrap_or_default(), said.month.unwrap_or_default());
        notices.push(Notice {
            span: Some(span),
            line: Some(line_of(known.text, span.start)),
            message: format!(
                "expected a date that reads one way, found {day:02}/{month:02}: taken as day {day} of month {month}, \
                 nothing in the note says otherwise"
            ),
            hint: Some("dump it again with --recorded if the month comes first".to_owned()),
        });
    }
    if let Some(year) = said.year {
        return said.in_year(year).map(|date| Known { date, year_from: None });
    }
    if let Some(name) = known.name.date {
        // A note of 31 December may have a file's name of 1 January.
        let near = [0, -1, 1]
            .into_iter()
            .filter_map(|d| said.in_year(name.year() + d))
            .min_by_key(|d| (*d - name).num_days().abs());
        return near.map(|date| Known { date, year_from: Some("the file's name") });
    }
    let modified = known.modified?;
    let before = [0, -1].into_iter().filter_map(|d| said.in_year(modified.year() + d));
    let latest = before.filter(|d| (*d - modified.date()).num_days() <= 1).max();
    latest.map(|date| Known { date, year_from: Some("the file's modification time") })
}

/// Puts day and month in order, by the note's own evidence: the day of the week that is named, the file's name,
/// another date in the note, the file's own time. Tells whether it had to fall back on day first.
fn order(known: &Evidence<'_>, said: DateSaid) -> (DateSaid, bool) {
    if !said.either {
        return (said, false);
    }
    let day_first = DateSaid { either: false, ..said };
    let month_first = DateSaid { day: said.month, month: said.day, ..day_first };
    let date = |d: DateSaid| said.year.or(known.name.date.map(|n| n.year())).and_then(|year| d.in_year(year));
    let tests: [&dyn Fn(DateSaid) -> bool; 4] = [
        &|d| date(d).is_some_and(|date| said.weekday == Some(date.weekday())),
        &|d| {
            known.name.date.is_some_and(|name| {
                !known.name.either && (Some(name.day()), Some(name.month())) == (d.day, d.month)
            })
        },
        &|d| others(known).any(|o| (o.day, o.month) == (d.day, d.month)),
        &|d| {
            let weekday = known.talk.iter().find_map(|m| match m.what {
                What::Date(t) => t.weekday,
                _ => None,
            });
            weekday.is_some() && date(d).map(|date| date.weekday()) == weekday
        },
    ];
    for test in tests {
        match (test(day_first), test(month_first)) {
            (true, false) => return (day_first, false),
            (false, true) => return (month_first, false),
            _ => {}
        }
    }
    // Another date in figures that reads only one way shows the writer's habit.
    match habit(known.text) {
        Some(true) => return (day_first, false),
        Some(false) => return (month_first, false),
        None => {}
    }
    if let Some(modified) = known.modified {
        let near = |d| date(d).map(|date| (date - modified.date()).num_days().abs());
        match (near(day_first), near(month_first)) {
            (Some(0..=2), Some(3..) | None) => return (day_first, false),
            (Some(3..) | None, Some(0..=2)) => return (month_first, false),
            _ => {}
        }
    }
    (day_first, true)
}

/// Whether the month comes first in the dates in figures of a note's entries: as the skipper's own word for when it begins
/// has it, else by the note's own evidence.
pub(super) fn month_first(known: &Evidence<'_>, begins: Option<NaiveDate>) -> bool {
    let entry = known.cut.pieces.iter().find_map(|piece| match piece.stamp {
        Stamp::Day(date) | Stamp::DayClock(date, _) => Some(date).filter(|date| date.either),
        _ => None,
    });
    entry.is_some_and(|said| {
        let (day, month) = (said.month, said.day);
        match begins.map(|date| (Some(date.day()), Some(date.month()))) {
            Some(begins) if begins == (day, month) => true,
            Some(begins) if begins == (month, day) => false,
            _ => order(known, said).0.day == day,
        }
    })
}

/// Other dates at the note's head and in its first words that read one way.
fn others<'a>(known: &'a Evidence<'_>) -> impl Iterator<Item = DateSaid> + 'a {
    known.heads().chain(known.talk.iter()).filter_map(|m| match m.what {
        What::Date(d) if d.day.is_some() && d.month.is_some() && !d.either => Some(d),
        _ => None,
    })
}

/// Whether dates in figures elsewhere in the text put the day first: `None` where none reads one way.
fn habit(text: &str) -> Option<bool> {
    const MOST: usize = 500;
    let bytes = text.as_bytes();
    let figure = |from: usize, back: bool| -> (u32, usize) {
        let digits = |b: &u8| b.is_ascii_digit();
        let near =
            if back { &bytes[from.saturating_sub(3)..from] } else { &bytes[from..bytes.len().min(from + 3)] };
        let len = if back {
            near.iter().rev().take_while(|b| digits(b)).count()
        } else {
            near.iter().take_while(|b| digits(b)).count()
        };
        let range = if back { from - len..from } else { from..from + len };
        (text.get(range).and_then(|s| s.parse().ok()).unwrap_or(0), len)
    };
    for at in memchr::memchr_iter(b'/', bytes).take(MOST) {
        let ((a, a_len), (b, b_len)) = (figure(at, true), figure(at + 1, false));
        let third = bytes.get(at + 1 + b_len) == Some(&b'/') && figure(at + 2 + b_len, false).1 >= 2;
        if !third || !(1..=2).contains(&a_len) || !(1..=2).contains(&b_len) {
            continue;
        }
        match (a, b) {
            (13..=31, 1..=12) => return Some(true),
            (1..=12, 13..=31) => return Some(false),
            _ => {}
        }
    }
    None
}

/// Whether a date in talk is said of the day itself: it begins a line, or stands behind "it's" or "today"; "we plan to leave
/// May 14" says nothing of it.
fn tells_today(text: &str, span: Span) -> bool {
    let line = text[..span.start].rfind('\n').map_or(0, |at| at + 1);
    let before = text[line..span.start].to_lowercase();
    let last = before
        .split(|c: char| !c.is_alphanumeric() && c != '\'' && c != '’')
        .rev()
        .find(|word| !word.is_empty() && *word != "the" && weekday(word).is_none());
    last.is_none_or(|word| {
        matches!(word, "it's" | "it’s" | "its" | "is" | "today" | "today's" | "this" | "date" | "okay" | "so")
    })
}

/// Checks a header's day against the day of the week named, the file's name and what is said.
pub(super) fn check(known: &Evidence<'_>, date: NaiveDate, span: Span, notices: &mut Vec<Notice>) {
    let mut tell = |message: String| {
        notices.push(Notice {
            span: Some(span),
            line: Some(line_of(known.text, span.start)),
            message,
            hint: Some("dump it again with --recorded if the header is wrong".to_owned()),
        });
    };
    let weekday = known.heads().find_map(|m| match m.what {
        What::Date(d) if m.span == span => d.weekday,
        _ => None,
    });
    if let Some(weekday) = weekday.filter(|w| *w != date.weekday()) {
        tell(format!(
            "expected the header's day and date to agree, found {weekday} {date}, which is a {}: the date is taken",
            date.weekday()
        ));
    }
    // A log of many days goes by the day of its last entry as often as by that of its first: "18 - 22 May".
    let of_an_entry = |name: NaiveDate| {
        let head = |m: &super::said::Mention| matches!(m.what, What::Date(said) if said.in_year(name.year()) == Some(name));
        known.heads().any(head)
            || known.cut.pieces.iter().any(|piece| match piece.stamp {
                Stamp::Day(said) | Stamp::DayClock(said, _) => said.in_year(name.year()) == Some(name),
                Stamp::Exact(at, _) => at.date() == name,
                _ => false,
            })
    };
    let another = |name: &NaiveDate| (*name - date).num_days().abs() > 1 && !of_an_entry(*name);
    if let Some(name) = known.name.date.filter(|name| !known.name.either && another(name)) {
        tell(format!(
            "expected the header and the file's name to agree, found {date} and {name}: the header is taken"
        ));
    }
    let told = known.talk.iter().find_map(|m| match m.what {
        What::Date(d) if d.day.is_some() && d.month.is_some() && tells_today(known.words, m.span) => Some(d),
        _ => None,
    });
    if let Some(talk) =
        told.filter(|d| !d.either && (d.day, d.month) != (Some(date.day()), Some(date.month())))
    {
        let (day, month) = (talk.day.unwrap_or_default(), talk.month.unwrap_or_default());
        tell(format!(
            "expected the header and the first words to agree, found {date} and day {day} of month {month}: the header is taken"
        ));
    }
}
