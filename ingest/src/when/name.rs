//! Dates and times in file names: `03-2026-08-23-1342-storm-bay.srt`, `20260823_134200.m4a`.
//!
//! Phones and recorders write `2026-08-23 13.42.00`, `20260823134200`, `REC_20260823_1342`, `Voice 23-08-2026 13-42`,
//! `2026-08-23T134200Z` and the like; people put a number before it and words after it.

use chrono::{NaiveDate, NaiveTime};

use super::clock;
use super::said::{self, What};
use crate::found::Span;

/// What a file's name says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NameSaid {
    /// The date.
    pub date: Option<NaiveDate>,
    /// The time of day.
    pub time: Option<NaiveTime>,
    /// Whether a `Z` makes that time UTC.
    pub utc: bool,
    /// Whether day and month could be the other way about.
    pub either: bool,
}

/// Reads a file's name, with or without its extension.
pub fn read(name: &str) -> NameSaid {
    let stem = name
        .rsplit_once('.')
        .filter(|(_, ext)| ext.chars().any(|c| c.is_ascii_alphabetic()))
        .map_or(name, |(stem, _)| stem);
    let groups = groups(stem);
    (0..groups.len()).find_map(|i| at(stem, &groups, i)).unwrap_or_else(|| in_words(stem))
}

struct Group<'a> {
    digits: &'a str,
    start: usize,
}

impl Group<'_> {
    fn end(&self) -> usize {
        self.start + self.digits.len()
    }

    fn value(&self, len: usize) -> Option<u32> {
        (self.digits.len() == len).then(|| self.digits.parse().ok())?
    }
}

fn groups(stem: &str) -> Vec<Group<'_>> {
    let mut out = Vec::new();
    let mut rest = 0;
    while let Some(at) = stem[rest..].find(|c: char| c.is_ascii_digit()) {
        let start = rest + at;
        let len = stem[start..].find(|c: char| !c.is_ascii_digit()).unwrap_or(stem.len() - start);
        out.push(Group { digits: &stem[start..start + len], start });
        rest = start + len;
    }
    out
}

/// A date whose first figures are the group `i`, with a time after it.
fn at(stem: &str, groups: &[Group<'_>], i: usize) -> Option<NameSaid> {
    let first = &groups[i];
    let between = |a: usize, b: usize| Some(&stem[groups.get(a)?.end()..groups.get(b)?.start]);
    let joined = |a: usize| between(a, a + 1).filter(|s| matches!(*s, "-" | "_" | "." | " "));
    let mut either = false;
    let (date, next, glued_time) = match first.digits.len() {
        8 | 12 | 14 => {
            let d = &first.digits[..8];
            (ymd(&d[..4], &d[4..6], &d[6..])?, i + 1, (first.digits.len() > 8).then(|| &first.digits[8..]))
        }
        4 => {
            joined(i).filter(|s| Some(*s) == joined(i + 1))?;
            (ymd(first.digits, two(groups, i + 1)?, two(groups, i + 2)?)?, i + 3, None)
        }
        1 | 2 => {
            joined(i).filter(|s| Some(*s) == joined(i + 1))?;
            let (a, b, year) = (
                groups[i].digits,
                two(groups, i + 1)?,
                groups.get(i + 2).filter(|y| y.digits.len() == 4)?.digits,
            );
            let (day_first, month_first) = (ymd(year, b, a), ymd(year, a, b));
            either = day_first.is_some() && month_first.is_some() && a.parse::<u32>().ok() != b.parse().ok();
            (day_first.or(month_first)?, i + 3, None)
        }
        _ => return None,
    };
    let mut out = NameSaid { date: Some(date), either, ..NameSaid::default() };
    if let Some(time) = glued_time {
        out.time = Some(clock(time)?);
        out.utc = ends_in_z(stem, first.end());
        return Some(out);
    }
    let leads = |s: &str| {
        matches!(s.trim_matches(|c| matches!(c, ' ' | '-' | '_' | ',')), "" | "T" | "t" | "at" | "@" | "h")
    };
    let Some(group) = groups.get(next) else { return Some(out) };
    if !between(next - 1, next).is_some_and(leads) {
        return Some(out);
    }
    // Figures that go on into a word ("1st", "12v", "20th") are no time.
    let (time, end) = match group.digits.len() {
        4 | 6 => (clock(group.digits), group.end()),
        1 | 2 => {
            let sep = between(next, next + 1)
                .filter(|s| matches!(*s, "-" | "_" | "." | "h" | ":" | " " | "\u{a0}"));
            let minute = groups.get(next + 1).and_then(|m| m.value(2)).filter(|_| sep.is_some());
            let hour = group.digits.parse::<u32>().ok();
            let second = groups
                .get(next + 2)
                .and_then(|s| s.value(2))
                .filter(|_| between(next + 1, next + 2).is_some_and(|s| Some(s) == sep || s == "m"));
            let last = next + 1 + usize::from(second.is_some());
            let time = hour.zip(minute).and_then(|(h, m)| NaiveTime::from_hms_opt(h, m, second.unwrap_or(0)));
            (time, groups.get(last).map_or(stem.len(), Group::end))
        }
        _ => (None, stem.len()),
    };
    let Some(time) = time else { return Some(out) };
    let rest = &stem[end..];
    let lower = rest.trim_start_matches([' ', '_', '.', '\u{a0}', '\u{202f}']).to_lowercase();
    out.time = if lower.starts_with("pm") || lower.starts_with("p.m") {
        clock::said(
            chrono::Timelike::hour(&time),
            chrono::Timelike::minute(&time),
            chrono::Timelike::second(&time),
            Some(clock::Half::Afternoon),
            true,
        )
        .map(|t| t.time)
    } else if lower.starts_with("am") || lower.starts_with("a.m") {
        clock::said(
            chrono::Timelike::hour(&time),
            chrono::Timelike::minute(&time),
            chrono::Timelike::second(&time),
            Some(clock::Half::Morning),
            true,
        )
        .map(|t| t.time)
    } else if rest.starts_with(|c: char| c.is_alphabetic() && !matches!(c, 'Z' | 'z' | 'h' | 's')) {
        None
    } else {
        Some(time)
    };
    out.utc = out.time.is_some() && ends_in_z(stem, end);
    Some(out)
}

fn ends_in_z(stem: &str, end: usize) -> bool {
    let mut rest = stem[end..].chars();
    matches!(rest.next(), Some('Z' | 'z')) && rest.next().is_none_or(|c| !c.is_alphanumeric())
}

fn two<'a>(groups: &[Group<'a>], i: usize) -> Option<&'a str> {
    groups.get(i).map(|g| g.digits).filter(|d| d.len() == 2)
}

fn ymd(year: &str, month: &str, day: &str) -> Option<NaiveDate> {
    let year = year.parse().ok().filter(|y| (1990..=2199).contains(y))?;
    NaiveDate::from_ymd_opt(year, month.parse().ok()?, day.parse().ok()?)
}

/// `HHMM` or `HHMMSS`.
fn clock(digits: &str) -> Option<NaiveTime> {
    let part = |range| digits.get(range).map_or(Some(0), |d: &str| d.parse().ok());
    NaiveTime::from_hms_opt(part(0..2)?, part(2..4)?, part(4..6)?)
}

/// "16 Aug 2026 at 10.12", with a month in letters.
fn in_words(stem: &str) -> NameSaid {
    let plain = stem.replace('_', " ");
    let mut out = NameSaid::default();
    for mention in said::find(&plain, Span::new(0, plain.len())) {
        match mention.what {
            What::Date(d) if out.date.is_none() => out.date = d.year.and_then(|year| d.in_year(year)),
            What::Time(t) if out.date.is_some() && out.time.is_none() && t.sure => out.time = Some(t.time),
            _ => {}
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_recorders_and_people_give() {
        for (name, expect) in [
            ("03-2026-08-23-1342-storm-bay.srt", "2026-08-23 13:42:00"),
            ("20260823_134200.m4a", "2026-08-23 13:42:00"),
            ("20260823134200.txt", "2026-08-23 13:42:00"),
            ("REC_20260823_1342.vtt", "2026-08-23 13:42:00"),
            ("Recording 2026-08-23 13.42.10.txt", "2026-08-23 13:42:10"),
            ("Audio 2026-08-23 at 1.42.10 pm.vtt", "2026-08-23 13:42:10"),
            ("2026-08-23T13-42-10.srt", "2026-08-23 13:42:10"),
            ("2026-08-23T134210Z.srt", "2026-08-23 13:42:10 Z"),
            ("2026_08_23_13_42.txt", "2026-08-23 13:42:00"),
            ("Voice 23-08-2026 13-42.txt", "2026-08-23 13:42:00"),
            ("note 08-23-2026.txt", "2026-08-23"),
            ("note 03.04.2026.txt", "2026-04-03 ?"),
            ("16 Aug 2026 at 10.12.txt", "2026-08-16 10:12:00"),
            ("log_16_Aug_2026.txt", "2026-08-16"),
            ("Aug 16, 2026 shakeout.md", "2026-08-16"),
            ("02-2026-08-20-batteries.txt", "2026-08-20"),
            ("2026-08-20-12v-fault.txt", "2026-08-20"),
            ("2026-08-20-4500-miles.txt", "2026-08-20"),
            ("2026-08-20 (2).m4a", "2026-08-20"),
            ("2026-02-30-nonsense.txt", ""),
            ("Recording 14.m4a", ""),
            ("drogue-mk2.txt", ""),
            ("", ""),
        ] {
            let said = read(name);
            let mut shown = said.date.map_or(String::new(), |d| d.to_string());
            shown += &said.time.map_or(String::new(), |t| format!(" {t}"));
            shown += if said.utc { " Z" } else { "" };
            shown += if said.either { " ?" } else { "" };
            assert_eq!(shown, expect, "{name}");
        }
    }
}
