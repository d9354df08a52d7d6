//! Text whose lines begin with a date-time.
//!
//! ```text
//! 2026-08-29T09:35:00+10:00 off mooring     a date-time of RFC 3339 (section 5.6), and what was written then
//! 2026-08-29 09:52 main up                  a space for the T; seconds and offset may be left out
//! [2026-08-29 10:10:30.5 +10] tacked        brackets; an offset in whole hours
//! and again                                 a line without goes on with the one above
//! ```
//!
//! Without an offset the note's zone holds. Leap seconds are taken where they can be: in the last minute of a UTC day.

use chrono::{FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike};

use super::{Cut, Piece, Stamp, filled, head, prose, shown};
use crate::found::{Span, UtteranceKind};
use crate::text::Line;

pub(super) fn is(text: &str, lines: &[Line]) -> bool {
    let (mut all, mut dated) = (0usize, 0usize);
    for (span, _) in filled(text, lines) {
        all += 1;
        let line = &text[span.range()];
        dated += usize::from(stamp(line).is_some_and(|(_, len)| len < line.len()));
    }
    dated > 0 && dated * 10 >= all.saturating_sub(4) * 3
}

pub(super) fn cut(text: &str, lines: &[Line]) -> Cut {
    let mut out = Cut::new("dated");
    let mut any = false;
    let mut before = None;
    for (n, (span, number)) in filled(text, lines).enumerate() {
        let line = &text[span.range()];
        match stamp(line) {
            Some((stamp, len)) => {
                any = true;
                let piece = Piece::new(text, Span::new(span.start + len, span.end), UtteranceKind::LogLine);
                out.pieces.push(Piece { span, ..piece }.stamped(stamp));
            }
            None if !any => head::take(text, span, UtteranceKind::Paragraph, n == 0, &mut out),
            None => {
                if tries(line) {
                    let message = format!(
                        "expected a date-time such as 2026-08-29T09:35:00+10:00, found “{}”; the line is kept, with the time of the one before",
                        shown(text, span)
                    );
                    out.notice(span, number, message, "put the date or time right and dump the file again");
                }
                prose::add(text, span, UtteranceKind::LogLine, before, &mut out);
            }
        }
        before = Some(span);
    }
    out
}

/// Whether a line begins like a date-time, sound or not.
fn tries(line: &str) -> bool {
    let line = line.strip_prefix('[').unwrap_or(line).as_bytes();
    let shape = b"dddd-dd-dd dd:dd";
    line.len() >= shape.len()
        && line.iter().zip(shape).all(|(b, s)| match s {
            b'd' => b.is_ascii_digit(),
            b' ' => matches!(b, b' ' | b'T' | b't'),
            s => b == s,
        })
}

/// A date-time at the start of a line, and the bytes up to the words after it.
fn stamp(line: &str) -> Option<(Stamp, usize)> {
    let bracketed = line.starts_with('[');
    let mut rest = &line[usize::from(bracketed)..];
    let (local, offset) = date_time(&mut rest)?;
    if bracketed {
        rest = rest.trim_start().strip_prefix(']')?;
    }
    // It ends where a word could: "…Z" followed by more letters or figures is none.
    if rest.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '+' | '-' | '.')) {
        return None;
    }
    let rest = rest.trim_start_matches([' ', '\t']);
    let rest = rest
        .strip_prefix([':', '-', '–', '|', ','])
        .filter(|r| r.starts_with(' '))
        .unwrap_or(rest)
        .trim_start();
    Some((Stamp::Exact(local, offset), line.len() - rest.len()))
}

fn date_time(rest: &mut &str) -> Option<(NaiveDateTime, Option<FixedOffset>)> {
    let year = figures(rest, 4)?;
    let month = sign(rest, "-").and_then(|_| figures(rest, 2))?;
    let day = sign(rest, "-").and_then(|_| figures(rest, 2))?;
    let date = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day)?;
    sign(rest, "Tt ")?;
    let hour = figures(rest, 2)?;
    let minute = sign(rest, ":").and_then(|_| figures(rest, 2))?;
    let mut second = 0;
    let mut nanos = 0;
    if sign(rest, ":").is_some() {
        second = figures(rest, 2)?;
        if rest[..rest.len().min(2)]
            .strip_prefix(['.', ','])
            .is_some_and(|d| d.starts_with(|c: char| c.is_ascii_digit()))
        {
            let digits = rest[1..].bytes().take_while(u8::is_ascii_digit).count();
            nanos = format!("{:0<9.9}", &rest[1..=digits]).parse().ok()?;
            *rest = &rest[digits + 1..];
        }
    }
    let offset = offset(rest)?;
    let leap = second == 60;
    let time = NaiveTime::from_hms_nano_opt(hour, minute, if leap { 59 } else { second }, nanos)?;
    let mut local = date.and_time(time);
    if leap {
        let utc = local
            .checked_sub_signed(TimeDelta::seconds(offset.map_or(0, |o| i64::from(o.local_minus_utc()))))?;
        if (utc.hour(), utc.minute()) != (23, 59) {
            return None;
        }
        local = local.checked_add_signed(TimeDelta::seconds(1))?;
    }
    Some((local, offset))
}

/// `Z`, `+10:00`, `+1000`, `+10`, also after a space; nothing at all is `None` inside.
fn offset(rest: &mut &str) -> Option<Option<FixedOffset>> {
    let mut after = rest.strip_prefix(' ').unwrap_or(rest);
    if let Some(z) = after.strip_prefix(['Z', 'z'])
        && !z.starts_with(char::is_alphanumeric)
    {
        *rest = z;
        return Some(FixedOffset::east_opt(0));
    }
    let Some(east) = after.strip_prefix('+').map(|_| 1).or(after.strip_prefix('-').map(|_| -1)) else {
        return Some(None);
    };
    let spaced = after.len() < rest.len();
    after = &after[1..];
    let Some(hours) = figures(&mut after, 2) else { return if spaced { Some(None) } else { None } };
    let colon = sign(&mut after, ":").is_some();
    let minutes = match figures(&mut after, 2) {
        None if colon => return None,
        minutes => minutes.unwrap_or(0),
    };
    // "2026-08-29 09:35 -1.5 on deck" is a temperature.
    if after.starts_with(|c: char| c.is_alphanumeric() || c == '.') && spaced {
        return Some(None);
    }
    if hours > 23 || minutes > 59 {
        return None;
    }
    *rest = after;
    Some(Some(FixedOffset::east_opt(east * i32::try_from(hours * 3600 + minutes * 60).ok()?)?))
}

fn figures(rest: &mut &str, len: usize) -> Option<u32> {
    let (figures, after) = rest.split_at_checked(len)?;
    if !figures.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    *rest = after;
    figures.parse().ok()
}

fn sign(rest: &mut &str, signs: &str) -> Option<()> {
    *rest = rest.strip_prefix(|c| signs.contains(c))?;
    Some(())
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use serde_json::Value;

    use super::*;
    use crate::text::lines;

    /// What is taken here beside RFC 3339, of what the suite calls invalid.
    const LENIENT: &[(&str, &str)] = &[("1985-04-12T23:20:50+01", "an offset in whole hours")];

    /// Date-times of the JSON-Schema-Test-Suite (44401e0c, draft2020-12, `date-time.json`, MIT). A line's own end is
    /// cut off before a stamp is read, so the case with a trailing newline is the valid one without it.
    #[test]
    fn rfc_3339_date_times() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/outside/rfc3339/date-time.json");
        let Ok(suite) = std::fs::read_to_string(file) else {
            println!("skipped: the date-time suite stands in ../shared/outside/rfc3339, which is not here");
            return;
        };
        let suite: Value = serde_json::from_str(&suite).expect("the suite is JSON");
        let mut ran = 0;
        for test in
            suite.as_array().into_iter().flatten().flat_map(|s| s["tests"].as_array().into_iter().flatten())
        {
            let Some(written) = test["data"].as_str().filter(|d| !d.ends_with('\n')) else { continue };
            ran += 1;
            let wanted = test["valid"] == true || LENIENT.iter().any(|(l, _)| *l == written);
            let got = stamp(written).map(|(stamp, _)| stamp);
            assert_eq!(got.is_some(), wanted, "{written}: {}", test["description"]);
            // chrono's own reader agrees on the instant.
            if let (Some(Stamp::Exact(local, Some(offset))), Ok(theirs)) =
                (got, chrono::DateTime::parse_from_rfc3339(written))
            {
                assert_eq!(
                    local - TimeDelta::seconds(i64::from(offset.local_minus_utc())),
                    without_leap(theirs.naive_utc()),
                    "{written}"
                );
            }
        }
        assert_eq!(ran, 26, "the suite's strings");
    }

    /// chrono keeps a leap second as the second before it, running on.
    fn without_leap(at: NaiveDateTime) -> NaiveDateTime {
        at.with_nanosecond(at.nanosecond() % 1_000_000_000).expect("in range")
            + TimeDelta::seconds(i64::from(at.nanosecond() / 1_000_000_000))
    }

    // Valid and invalid forms from RFC 3339 section 5.8 and the suite above, carried here as facts.
    #[test]
    fn stamps() {
        for (line, expect) in [
            ("1985-04-12T23:20:50.52Z x", Some(("1985-04-12 23:20:50.520", Some(0), 24))),
            ("1996-12-19t16:39:57-08:00 x", Some(("1996-12-19 16:39:57", Some(-28800), 26))),
            ("1990-12-31T23:59:60Z x", Some(("1991-01-01 00:00:00", Some(0), 21))),
            ("1937-01-01T12:00:27.87+00:20", Some(("1937-01-01 12:00:27.870", Some(1200), 28))),
            ("2026-08-29 09:35 wind 12", Some(("2026-08-29 09:35:00", None, 17))),
            ("2026-08-29 09:35 -1.5 on deck", Some(("2026-08-29 09:35:00", None, 17))),
            ("[2026-08-29 10:10:30,5 +10] tacked", Some(("2026-08-29 10:10:30.500", Some(36000), 28))),
            ("2026-08-29 09:35 - main up", Some(("2026-08-29 09:35:00", None, 19))),
            ("2026-02-30 09:35 x", None),
            ("1990-12-31T24:00:00Z", None),
            ("1990-12-31T10:00:00+10:60", None),
            ("1998-12-31T23:58:60Z", None),
            ("1963-6-19T08:30:06Z", None),
            ("2026-08-29 off", None),
        ] {
            let got = stamp(line).map(|(stamp, len)| match stamp {
                Stamp::Exact(local, offset) => (local.to_string(), offset.map(|o| o.local_minus_utc()), len),
                _ => panic!("a date-time is exact"),
            });
            assert_eq!(got, expect.map(|(l, o, n)| (l.to_owned(), o, n)), "{line}");
        }
    }

    #[test]
    fn a_broken_date_is_told_and_its_line_kept() {
        let text =
            "Log\n2026-08-29 09:35 wind 12\n2026-08-32 09:52 main up\nand again\n2026-08-29 10:10 tacked\n";
        let lines = lines(text);
        assert!(is(text, &lines));
        let cut = cut(text, &lines);
        let said: Vec<_> = cut.pieces.iter().map(|p| p.text.as_str()).collect();
        assert_eq!(said, ["Log", "wind 12", "2026-08-32 09:52 main up and again", "tacked"]);
        assert_eq!(cut.notices.len(), 1);
        assert_eq!(cut.notices[0].line, Some(3));
    }
}
