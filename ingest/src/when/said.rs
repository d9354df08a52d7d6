//! Dates, times of day and zones as people write and say them, found in a line of words.

use chrono::{NaiveDate, NaiveTime, Weekday};

use super::words::{Kind, cut};
use super::zone::Zone;
use super::{clock, dates, offset};
use crate::found::Span;
use crate::lexicon::Words;

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
    pub(super) fn day_month(day: u32, month: u32, year: Option<i32>) -> Option<Self> {
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

/// Longest stretch, in bytes, in which dates are looked for: a header is short, and whatever the line is, its cost
/// stays small.
const LONGEST: usize = 600;

/// Words that a date or a time of day can begin with, beside figures: most of a line's words are none of them.
static BEGINNINGS: Words = Words::new(
    "\
     monday mon tuesday tue tues wednesday wed weds thursday thu thur thurs friday fri saturday sat sunday sun january \
     jan february feb march mar april apr may june jun july jul august aug september sept sep october oct november nov \
     december dec first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth \
     fifteenth sixteenth seventeenth eighteenth nineteenth twentieth thirtieth zero one two three four five six seven \
     eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty \
     quarter half noon midday midnight",
);

/// Whether a text may begin with a date: cheap to ask of every line.
pub fn may_begin_with_date(text: &str) -> bool {
    let word = text.find(|c: char| !c.is_alphabetic()).map_or(text, |end| &text[..end]);
    text.starts_with(|c: char| c.is_ascii_digit()) || BEGINNINGS.holds(&word.to_lowercase())
}

/// Finds dates, times of day and zones in a stretch of a text.
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
        let date = || dates::date(&toks, i).map(|(d, n)| (What::Date(d), n));
        let time = || clock::time(&toks, i, beside_date).map(|(t, n)| (What::Time(t), n));
        let begins =
            toks[i].kind == Kind::Number || toks[i].kind == Kind::Word && BEGINNINGS.holds(&toks[i].lower);
        let hit = begins
            .then(|| date().or_else(time))
            .flatten()
            .or_else(|| offset::zone(&toks, i, beside_time).map(|(z, n)| (What::Zone(z), n)));
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Finds what a line mentions, and compares it with what stands under the line: carets below the words, then what
    /// they mean.
    fn check(drawn: &str) {
        let mut lines = drawn.lines().map(|line| line.strip_prefix("        ").unwrap_or(line)).skip(1);
        let line = lines.next().expect("a line to look at");
        let expect: Vec<String> = lines.map(|l| l.trim_end().to_owned()).filter(|l| !l.is_empty()).collect();
        let found = find(line, Span::new(0, line.len()));
        let shown: Vec<String> = found
            .iter()
            .map(|m| {
                let before = line[..m.span.start].chars().count();
                format!(
                    "{}{} {}",
                    " ".repeat(before),
                    "^".repeat(line[m.span.range()].chars().count()),
                    meaning(&m.what)
                )
            })
            .collect();
        assert_eq!(shown, expect, "\n{line}\n{}", shown.join("\n"));
    }

    fn meaning(what: &What) -> String {
        match what {
            What::Date(d) => {
                let part = |n: Option<u32>| n.map_or("?".to_owned(), |n| n.to_string());
                let day = d.weekday.map_or(String::new(), |w| format!("{w} "));
                let year = d.year.map_or("?".to_owned(), |y| y.to_string());
                format!(
                    "{day}{year}-{}-{}{}",
                    part(d.month),
                    part(d.day),
                    if d.either { " or the other way" } else { "" }
                )
            }
            What::Time(t) => {
                format!("{}{}", t.time.format("%H:%M:%S"), if t.sure { "" } else { " or in the afternoon" })
            }
            What::Zone(z) => z.options.iter().map(|z| z.name()).collect::<Vec<_>>().join(" or "),
        }
    }

    #[test]
    fn written() {
        check(
            "
        QUILLBACK log, Sat 29 / Sun 30 Aug 2026. Times UTC+10.
                       ^^^^^^^^^^^^^^^^^^^^^^^^ Sat 2026-8-29
                                                       ^^^^^^ UTC+10:00
        ",
        );
        check(
            "
        Wed 31 Dec / Thu 1 Jan 2026, 7.40 pm (UTC−3), home by Sept 15
        ^^^^^^^^^^ Wed 2025-12-31
                     ^^^^^^^^^^^^^^ Thu 2026-1-1
                                     ^^^^^^^ 19:40:00
                                              ^^^^^ UTC-03:00
                                                              ^^^^^^^ ?-9-15
        ",
        );
        check(
            "
        rec 03/04/26 1425 and 4/16/2026 14:25:07 -0400, 2026-09-20 09.50
            ^^^^^^^^ 2026-4-3 or the other way
                     ^^^^ 14:25:00
                              ^^^^^^^^^ 2026-4-16
                                        ^^^^^^^^ 14:25:07
                                                 ^^^^^ UTC-04:00
                                                        ^^^^^^^^^^ 2026-9-20
                                                                   ^^^^^ 09:50:00
        ",
        );
        check(
            "
        12 a.m. EDT, 12:10 pm Irish summer time, local time Hobart
        ^^^^^^^ 00:00:00
                ^^^ UTC-04:00
                     ^^^^^^^^ 12:10:00
                              ^^^^^^^^^^^^^^^^^ UTC+01:00 or UTC+05:30
                                                 ^^^^^^^^^^^^^^^^^ Australia/Hobart
        ",
        );
    }

    #[test]
    fn spoken() {
        check(
            "
        it's a quarter to two Sunday the twentieth of July and half past ten in the evening
               ^^^^^^^^^^^^^^ 01:45:00 or in the afternoon
                              ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ Sun ?-7-20
                                                               ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ 22:30:00
        ",
        );
        check(
            "
        Friday the twenty-second. May the second, five to seven in the morning, it's noon
        ^^^^^^^^^^^^^^^^^^^^^^^^ Fri ?-?-22
                                  ^^^^^^^^^^^^^^ ?-5-2
                                                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ 06:55:00
                                                                                     ^^^^ 12:00:00
        ",
        );
    }

    #[test]
    fn numbers_that_are_none_of_it() {
        for line in [
            "SW 15 kn, 13.2 V, 1/4 mi, 5 to 7, NW 7 tonight, 1600 rpm, 30 Wh",
            "five may be enough, we march 8 a day, the sun 30 degrees up",
            "oil 3.6 bar, 1.2.3, 99:99, 25:00, 10-15-20, half two metres",
            "The CAT, 8 in the west, +10 on the scale, a second reef, half a crab",
        ] {
            let found = find(line, Span::new(0, line.len()));
            assert!(found.is_empty(), "{line}: {found:?}");
        }
    }
}
