//! Messages that people aboard sent each other, as a phone writes them out: lines of a date, a time and who wrote.
//!
//! ```text
//! [03/05/2026, 09:12:40] Anna: off the mooring        in brackets
//! 03/05/2026, 09:14 - Tom Reyes: heater lit, first go   with a dash
//! 3.5.26, 9:15 pm - Anna: well done                     dates and times in any of the ways that people write them
//! it smells though                                      a line without goes on with the message above
//! 03/05/2026, 09:20 - Anna added Tom                    no name with a colon: a line like any other
//! ```
//!
//! Who wrote is no part of the words, as a voice span of WebVTT is none.

use chrono::{NaiveDate, NaiveTime};

use super::{Cut, Piece, Stamp, filled, head, log, prose};
use crate::found::{Span, UtteranceKind};
use crate::text::Line;
use crate::when::said::DateSaid;

/// Fewest messages that tell the format.
const FEWEST: usize = 3;

/// Longest name, in bytes, and most words of one.
const LONGEST_NAME: usize = 40;
const WORDS_OF_A_NAME: usize = 4;

/// Longest stamp, in bytes.
const LONGEST_STAMP: usize = 40;

pub(super) fn is(text: &str, lines: &[Line]) -> bool {
    let (mut all, mut messages) = (0usize, 0usize);
    for (span, _) in filled(text, lines) {
        all += 1;
        let line = &text[span.range()];
        messages += usize::from(stamp(line).is_some_and(|(.., len)| name(&line[len..]).is_some()));
    }
    messages >= FEWEST && messages * 10 >= all * 3
}

pub(super) fn cut(text: &str, lines: &[Line]) -> Cut {
    let mut out = Cut::new("messages");
    let mut any = false;
    let mut before = None;
    for (n, (span, _)) in filled(text, lines).enumerate() {
        let line = &text[span.range()];
        match stamp(line) {
            Some((date, time, len)) => {
                any = true;
                let words = span.start + len + name(&line[len..]).unwrap_or(0);
                let piece = Piece::new(text, Span::new(words, span.end), UtteranceKind::LogLine);
                out.pieces.push(Piece { span, ..piece }.stamped(Stamp::DayClock(date, time)));
            }
            None if !any => head::take(text, span, UtteranceKind::Paragraph, n == 0, &mut out),
            None => prose::add(text, span, UtteranceKind::LogLine, before, &mut out),
        }
        before = Some(span);
    }
    out
}

/// The date and time at the start of a line, and the bytes up to what follows them.
fn stamp(line: &str) -> Option<(DateSaid, NaiveTime, usize)> {
    let near = |mark: &str| line.find(mark).filter(|&at| at <= LONGEST_STAMP);
    let (inner, len) = match line.strip_prefix('[') {
        Some(_) => near("]").map(|at| (&line[1..at], at + 1))?,
        None => [" - ", " – "].iter().find_map(|mark| near(mark).map(|at| (&line[..at], at + mark.len())))?,
    };
    let (written, time) = inner.split_at(inner.find([',', ' '])?);
    let date = date(written)?;
    // Some put a narrow space in front of "pm".
    let time = time.trim_start_matches([',', ' ']).replace(['\u{202f}', '\u{a0}'], " ");
    let time = log::time(time.trim_end())?;
    let rest = line[len..].trim_start();
    Some((date, time, line.len() - rest.len()))
}

/// A date in three figures: the year first, or last with day and month in front of it, which could be either way about but
/// where stops part them.
fn date(written: &str) -> Option<DateSaid> {
    let mark = ['/', '.', '-'].into_iter().find(|&mark| written.split(mark).count() == 3)?;
    let parts: Vec<u32> = written.split(mark).map_while(|part| part.parse().ok()).collect();
    let (year, month, day, either) = match parts[..] {
        [year, month, day] if year >= 1000 => (year, month, day, false),
        [month, day, year] if day > 12 => (year, month, day, false),
        [day, month, year] => (year, month, day, mark != '.' && day <= 12 && day != month),
        _ => return None,
    };
    let year = i32::try_from(if year < 100 { 2000 + year } else { year }).ok()?;
    NaiveDate::from_ymd_opt(year, month, day)?;
    Some(DateSaid { year: Some(year), month: Some(month), day: Some(day), weekday: None, either })
}

/// Bytes of who wrote, with the colon and the space behind it.
fn name(rest: &str) -> Option<usize> {
    let (name, _) = rest.split_once(": ").filter(|(name, _)| name.len() <= LONGEST_NAME)?;
    let begins = name.starts_with(|c: char| c.is_uppercase() || matches!(c, '+' | '~'));
    let plain = name
        .chars()
        .all(|c| c.is_alphanumeric() || matches!(c, ' ' | '+' | '-' | '.' | '~' | '\'' | '’' | '\u{a0}'));
    (begins && plain && name.split_whitespace().count() <= WORDS_OF_A_NAME).then_some(name.len() + 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::lines;

    #[test]
    fn messages_with_their_times_and_without_names() {
        for (text, expected) in [
            (
                "[03/05/2026, 09:12:40] Anna: off the mooring\n[03/05/2026, 09:14:02] Tom Reyes: heater lit, first go\nit \
                 smells though\n[04/05/2026, 00:15:00] Anna: Note: cabin 18\n",
                [
                    "09:12 off the mooring",
                    "09:14 heater lit, first go it smells though",
                    "00:15 Note: cabin 18",
                ],
            ),
            (
                "3.5.26, 9:12\u{202f}am - Anna: off the mooring\n3.5.26, 9:14 pm - +47 912 34 567: heater lit\n4.5.26, 00:15 - \
                 Anna: cabin 18\n",
                ["09:12 off the mooring", "21:14 heater lit", "00:15 cabin 18"],
            ),
        ] {
            let lines = lines(text);
            assert!(is(text, &lines), "{text}");
            let shown: Vec<String> = cut(text, &lines)
                .pieces
                .iter()
                .map(|piece| match piece.stamp {
                    Stamp::DayClock(_, time) => format!("{} {}", time.format("%H:%M"), piece.text),
                    _ => piece.text.clone(),
                })
                .collect();
            assert_eq!(shown, expected);
        }
    }

    #[test]
    fn what_is_none() {
        for text in [
            "[0:00] right wednesday\n[0:05] wind is up\n[0:09] and so on\n",
            "2026-05-03 09:12 off\n2026-05-03 09:14 heater lit\n2026-05-03 10:00 home\n",
            "0640 Heater: on\n0700 Cabin: 16\n0900 Off: yes\n",
            "03/05/2026, a Sunday - Anna: cooked\nand\nmore\n",
        ] {
            assert!(!is(text, &lines(text)), "{text}");
        }
    }
}
