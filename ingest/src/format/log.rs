//! A written log: lines that begin with a time of day.
//!
//! ```text
//! QUILLBACK log, Sat 29 / Sun 30 Aug 2026. Times UTC+10.    header lines, above the first entry
//!
//! 0935 off mooring. WNW 3, baro 1012        time of day (0935, 09:35, 9.35, 09h35, [09:35], 9:35 am, 7pm), and the entry
//!      Engine off.                          a line without a time goes on with the entry above
//! 2350 house 12.55 V
//! 0300 up to look. Calm.                    an earlier time is past midnight: the next day
//! ## Sun 30 Aug                             a day's own heading, from which its times count
//! Mon 0640 frost                            a day of the week before a time
//! ```

use chrono::{NaiveTime, Timelike};

use super::{Cut, Piece, Stamp, columns, filled, head, prose};
use crate::found::{Span, UtteranceKind};
use crate::text::{Line, trim};
use crate::when::said::{DateSaid, What, may_begin_with_date};
use crate::when::weekday;
use crate::when::zone;

/// Words after a number that make it an amount: "1600 rpm" opens no entry. Units that are words of a log too ("1300 W 5",
/// "1620 in") are not among them.
const UNITS: &[&str] = &[
    "%",
    "ah",
    "amp",
    "amps",
    "bar",
    "bucks",
    "cm",
    "deg",
    "degrees",
    "dollars",
    "eur",
    "euros",
    "fathoms",
    "feet",
    "ft",
    "gal",
    "gallons",
    "hour",
    "hours",
    "hpa",
    "hrs",
    "kg",
    "kn",
    "knots",
    "kt",
    "kts",
    "kw",
    "kwh",
    "l",
    "lb",
    "lbs",
    "litres",
    "liters",
    "m",
    "mb",
    "mbar",
    "metres",
    "meters",
    "mi",
    "miles",
    "millibars",
    "mm",
    "nm",
    "pounds",
    "psi",
    "rpm",
    "turns",
    "v",
    "volts",
    "watts",
    "wh",
    "£",
    "$",
    "€",
    "°",
    "°c",
    "°f",
    "/",
];

pub(super) fn is(text: &str, lines: &[Line]) -> bool {
    let (mut all, mut entries, mut back) = (0usize, 0usize, 0usize);
    let (mut marked, mut zone) = (false, false);
    let mut last = None;
    let dated = dated(text, lines);
    for (span, _) in filled(text, lines) {
        all += 1;
        let line = &text[span.range()];
        marked |= line.starts_with('#');
        let Some((time, day, len)) = entry(line, dated) else {
            // After a day's heading the times begin anew.
            if line.len() < 60 && head::day_heading(text, unmarked(text, span)).is_some() {
                last = None;
            }
            continue;
        };
        entries += 1;
        zone |= line[len..]
            .split(|c: char| !c.is_alphanumeric())
            .next()
            .is_some_and(|w| zone::short(w).is_some());
        if day.is_some() {
            last = None;
        }
        if last.is_some_and(|last| time < last) {
            back += 1;
        }
        last = Some(time);
    }
    // Many steps back in time are no log but a list of figures. One entry alone is a log only of two lines or so, and
    // not where its time is part of a heading ("13:40 ADT, town float").
    let enough = entries >= 2 || (entries == 1 && all <= 3 && !marked && !zone);
    enough && entries * 10 >= all.saturating_sub(4) * 3 && back * 2 <= entries
}

/// Whether entries begin with a date before the time: one line alone that does is a header.
fn dated(text: &str, lines: &[Line]) -> bool {
    let led = |(span, _): &(Span, usize)| {
        let line = &text[span.range()];
        may_begin_with_date(line) && entry(line, false).is_none() && entry(line, true).is_some()
    };
    filled(text, lines).filter(led).nth(1).is_some()
}

pub(super) fn cut(text: &str, lines: &[Line]) -> Cut {
    let dated = dated(text, lines);
    let mut out = Cut::new("log");
    let mut any = false;
    let mut before = None;
    let mut n = 0;
    let tables = columns::tables(text, lines);
    for (index, line) in lines.iter().enumerate() {
        let Some(span) = line.trimmed(text) else {
            before = None;
            continue;
        };
        n += 1;
        if let Some(table) = columns::of_line(&tables, index) {
            out.pieces.extend(table.piece(text, index));
            (before, any) = (None, true);
            continue;
        }
        let words = &text[span.range()];
        if let Some((time, day, len)) = entry(words, dated) {
            any = true;
            let piece = Piece::new(text, Span::new(span.start + len, span.end), UtteranceKind::LogLine);
            let stamp = day.map_or(Stamp::Clock(time), |day| Stamp::DayClock(day, time));
            out.pieces.push(Piece { span, ..piece }.stamped(stamp));
        } else if !any {
            let bare = unmarked(text, span);
            head::take(text, bare, UtteranceKind::LogLine, n == 1, &mut out);
        } else if let Some(stamp) = head::day_heading(text, unmarked(text, span)) {
            out.pieces.push(Piece::new(text, unmarked(text, span), UtteranceKind::Header).stamped(stamp));
        } else {
            let bare = unmarked(text, span);
            let kind = if words.starts_with('#') {
                UtteranceKind::Heading
            } else if prose::is_bulleted(words) {
                UtteranceKind::ListItem
            } else {
                UtteranceKind::LogLine
            };
            let below = lines.get(index + 1).and_then(|below| below.trimmed(text));
            let label = prose::is_label(words, below.map(|below| &text[below.range()]));
            prose::add(text, bare, kind, before.filter(|_| bare.start == span.start && !label), &mut out);
        }
        before = Some(span);
    }
    out
}

/// A line without the signs of a heading or a list item.
fn unmarked(text: &str, span: Span) -> Span {
    let line = &text[span.range()];
    let rest = line.trim_start_matches('#');
    let marked = if rest.len() < line.len() { Some(rest) } else { line.strip_prefix(['-', '*', '•', '+']) };
    let rest = marked.filter(|rest| rest.starts_with(char::is_whitespace)).unwrap_or(line);
    trim(text, Span::new(span.end - rest.len(), span.end)).unwrap_or(span)
}

/// The time at the start of a line, a day of the week or (if `dated`) a date before it, and the bytes up to the words.
fn entry(line: &str, dated: bool) -> Option<(NaiveTime, Option<DateSaid>, usize)> {
    if let Some((time, len)) = clock(line) {
        return Some((time, None, len));
    }
    let first = line.split(|c: char| !c.is_alphanumeric()).next()?;
    let after = &line[first.len()..];
    if (3..=9).contains(&first.len())
        && let Some(day) = weekday(&first.to_lowercase())
    {
        let skipped = after.trim_start_matches([' ', ',', '.', '\t']);
        if let Some((time, len)) = clock(skipped) {
            let day = DateSaid { weekday: Some(day), ..DateSaid::default() };
            return Some((time, Some(day), line.len() - skipped.len() + len));
        }
    }
    // "30 Aug 0640 frost": cheap to rule out, as a line with a date near its start has a figure there.
    let near =
        dated && line.char_indices().take(10).any(|(_, c)| c.is_ascii_digit()) && may_begin_with_date(line);
    let mut end = line.len().min(40);
    while !line.is_char_boundary(end) {
        end -= 1;
    }
    let mentions = if near { head::mentions(line, Span::new(0, end)) } else { Vec::new() };
    let first = mentions.first()?;
    let What::Date(date) = &first.what else { return None };
    let skipped = line[first.span.end..].trim_start_matches([' ', ',', '\t']);
    let (time, len) = clock(skipped).filter(|_| first.span.start == 0)?;
    Some((time, Some(*date), line.len() - skipped.len() + len))
}

/// The time of day that a cell of a table is.
pub(super) fn time(cell: &str) -> Option<NaiveTime> {
    clock(cell).filter(|(_, len)| *len == cell.len()).map(|(time, _)| time)
}

/// A time of day at the start of a line, and the bytes up to the words.
fn clock(line: &str) -> Option<(NaiveTime, usize)> {
    let shut = match line.as_bytes().first()? {
        b'[' => Some(']'),
        b'(' => Some(')'),
        b'0'..=b'9' => None,
        _ => return None,
    };
    let rest = &line[usize::from(shut.is_some())..];
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    // "7pm", "730 pm", "8am".
    let halved = half_of_day(&rest[digits..]).is_some();
    let (hour, minute, mut rest) = match digits {
        4 => (&rest[..2], &rest[2..4], &rest[4..]),
        3 if halved => (&rest[..1], &rest[1..3], &rest[3..]),
        1 | 2 if halved => (&rest[..digits], "0", &rest[digits..]),
        1 | 2 => {
            let after = rest[digits..].strip_prefix([':', '.', 'h'])?;
            let minute = after.get(..2).filter(|m| m.bytes().all(|b| b.is_ascii_digit()))?;
            (&rest[..digits], minute, &after[2..])
        }
        _ => return None,
    };
    let (mut hour, minute): (u32, u32) = (hour.parse().ok()?, minute.parse().ok()?);
    if let Some(second) =
        rest.strip_prefix(':').filter(|s| s.bytes().take_while(u8::is_ascii_digit).count() == 2)
    {
        rest = &second[2..];
    }
    if hour <= 12
        && let Some((hours, behind)) = half_of_day(rest)
    {
        hour = hour % 12 + hours;
        rest = behind;
    }
    rest = ["hrs", "h", "Z", "z"].iter().find_map(|unit| rest.strip_prefix(unit)).unwrap_or(rest);
    if let Some(shut) = shut {
        rest = rest.strip_prefix(shut)?;
    }
    // It ends where a word could: "12.50m", "1600-1800", "0915/3" and "9.15%" are no times.
    let mut next = rest.chars();
    let ends = match next.next() {
        None => true,
        Some(c) if c.is_whitespace() => true,
        Some(':' | '.' | ',' | ';' | '-' | '–' | '—' | '|') => {
            next.next().is_none_or(char::is_whitespace)
        }
        Some(_) => false,
    };
    let words = rest.trim_start_matches([' ', '\t', ':', '.', ',', ';', '–', '—', '|', '\u{a0}']);
    let words = words.strip_prefix("- ").unwrap_or(words).trim_start();
    let first = words.split([' ', '\t', ',', '.', ';', ':']).next().unwrap_or_default().to_lowercase();
    // "0615 rpm 1800": nothing is measured with a nought in front.
    let padded = digits == 4 && line.starts_with('0');
    let measured = UNITS.contains(&first.as_str()) && !padded && !names_a_glass(words);
    if !ends || (shut.is_none() && measured) {
        return None;
    }
    let time = if (hour, minute) == (24, 0) {
        NaiveTime::from_hms_opt(0, 0, 0)
    } else {
        NaiveTime::from_hms_opt(hour, minute, 0)
    };
    debug_assert!(time.is_none_or(|t| t.second() == 0));
    Some((time?, line.len() - words.len()))
}

/// The half of the day at the start of a text: the hours that it adds, and what stands behind it.
fn half_of_day(text: &str) -> Option<(u32, &str)> {
    const HALVES: [(&str, u32); 4] = [("am", 0), ("pm", 12), ("a.m.", 0), ("p.m.", 12)];
    let text = text.trim_start_matches(' ');
    HALVES.iter().find_map(|&(mark, hours)| {
        let behind = text.get(mark.len()..)?;
        let here = text[..mark.len()].eq_ignore_ascii_case(mark);
        (here && !behind.starts_with(char::is_alphanumeric)).then_some((hours, behind))
    })
}

/// Whether words begin with the barometer and what it shows: "Bar 1004".
fn names_a_glass(words: &str) -> bool {
    let mut words = words.split([' ', '\t', ':', '.', ',']).filter(|word| !word.is_empty());
    words.next().is_some_and(|word| word.eq_ignore_ascii_case("bar"))
        && words
            .next()
            .and_then(|word| word.parse().ok())
            .is_some_and(|shown: u32| (900..1100).contains(&shown))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::lines;

    #[test]
    fn times_at_the_start_of_a_line() {
        for (line, expect) in [
            ("0640 house 12.05 V", Some(("06:40", "house 12.05 V"))),
            ("06:40 - house", Some(("06:40", "house"))),
            ("6.40 house", Some(("06:40", "house"))),
            ("06h40: house", Some(("06:40", "house"))),
            ("0640h house", Some(("06:40", "house"))),
            ("[06:40] house", Some(("06:40", "house"))),
            ("6:40 pm house", Some(("18:40", "house"))),
            ("12.05 am, house", Some(("00:05", "house"))),
            ("7pm house", Some(("19:00", "house"))),
            ("730 pm house", Some(("19:30", "house"))),
            ("12am house", Some(("00:00", "house"))),
            ("2 amps", None),
            ("730 house", None),
            ("2400 house", Some(("00:00", "house"))),
            ("0700 -1.5 on deck", Some(("07:00", "-1.5 on deck"))),
            ("0700 64 %", Some(("07:00", "64 %"))),
            ("Sun 0640 house", Some(("06:40", "house"))),
            ("0615 Bar 1004. Up", Some(("06:15", "Bar 1004. Up"))),
            ("1900 bar 998", Some(("19:00", "bar 998"))),
            ("0700 bar", Some(("07:00", "bar"))),
            ("1004 bar", None),
            ("Sun 30 Aug 0640 house", Some(("06:40", "house"))),
            ("1600 rpm: 4.8 kn", None),
            ("1012 hPa", None),
            ("12.50 m", None),
            ("12.72 volts", None),
            ("4.8 kn", None),
            ("1600-1800 rpm", None),
            ("2 bergs", None),
            ("30 strokes", None),
            ("8 Aug a thing", None),
        ] {
            let got =
                entry(line, true).map(|(time, _, len)| (time.format("%H:%M").to_string(), &line[len..]));
            assert_eq!(got, expect.map(|(t, w)| (t.to_owned(), w)), "{line}");
        }
    }

    #[test]
    fn entries_days_and_lines_that_go_on() {
        let text = "# LOG, Sat 29 / Sun 30 Aug 2026. Times UTC+10.\n\n2330 calm, rolling about with the main slatting\n     and no wind at all. Engine on.\n\
                    Sails down.\n0010 fog\n\n## Mon 31 Aug\n\n0900 off\n\n- 71 nm in 17 h\n• New filter\n";
        let lines = lines(text);
        assert!(is(text, &lines));
        let cut = cut(text, &lines);
        let shown: Vec<_> =
            cut.pieces.iter().map(|p| format!("{} {}", &p.kind.name()[..2], p.text)).collect();
        assert_eq!(
            shown,
            [
                "he LOG, Sat 29 / Sun 30 Aug 2026. Times UTC+10.",
                "lo calm, rolling about with the main slatting and no wind at all. Engine on.",
                "lo Sails down.",
                "lo fog",
                "he Mon 31 Aug",
                "lo off",
                "li 71 nm in 17 h",
                "li New filter",
            ]
        );
        assert!(matches!(cut.pieces[4].stamp, Stamp::Day(_)));
    }

    #[test]
    fn what_is_no_log() {
        for text in [
            "- 1600 rpm: 4.8 kn\n- 2000 rpm: 5.9 kn\n",
            "Quick one.\nAt 0640 we left.\n",
            "13:40 ADT, town float\nRos came\nand\nwent\nhome\n",
        ] {
            assert!(!is(text, &lines(text)), "{text}");
        }
    }
}
