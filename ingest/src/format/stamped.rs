//! A transcript whose lines begin with a place in the recording.
//!
//! ```text
//! recorded 02/09/2026 16:05            header lines, above the first stamp
//!
//! [0:00] right wednesday               minutes and seconds since the recording began, and what was said
//! [1:02:10] second hour                hours too; (0:05), [00:00:05.250] and [0:05 --> 0:09] are the same
//! and it goes on                       a line without a stamp goes on with the one above
//! ```
//!
//! A stamp without brackets is taken where the first ones begin near nought. Stamps of three parts that begin at two
//! hours or more are times of day, as some recorders write them.

use chrono::NaiveTime;

use super::{Cut, Piece, Stamp, cue, filled, head, marks};
use crate::found::{Span, UtteranceKind};
use crate::text::{Line, fold};

/// A transcript's first stamp is no later than this, in seconds; a later one is a time of day.
const FIRST_WITHIN_S: f64 = 300.0;

/// From here on, in seconds, a first stamp of three parts is a time of day.
const CLOCK_FROM_S: f64 = 7200.0;

/// A stamp at the start of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
struct At {
    start: f64,
    end: Option<f64>,
    /// Bytes up to the words.
    len: usize,
    bracketed: bool,
    hours: bool,
}

pub(super) fn is(text: &str, lines: &[Line]) -> bool {
    let (mut all, mut first) = (0usize, None);
    let (mut bracketed, mut bare) = (0usize, 0usize);
    let mut latest = 0.0f64;
    let mut onward = true;
    for (span, _) in filled(text, lines) {
        all += 1;
        if let Some(at) = stamp(&text[span.range()]) {
            first.get_or_insert(at);
            *(if at.bracketed { &mut bracketed } else { &mut bare }) += 1;
            onward &= at.start >= latest;
            latest = at.start;
        }
    }
    let Some(first) = first else { return false };
    if !(first.start < FIRST_WITHIN_S || (first.hours && first.bracketed)) {
        return false;
    }
    // A few header lines don't count against the share of stamped ones.
    let share = |n: usize| n * 10 >= all.saturating_sub(4) * 3;
    (bracketed > 0 && share(bracketed)) || (bare > 1 && first.start < 60.0 && onward && share(bare))
}

pub(super) fn cut(text: &str, lines: &[Line]) -> Cut {
    let mut out = Cut::new("stamped");
    let clock = filled(text, lines)
        .find_map(|(span, _)| stamp(&text[span.range()]))
        .is_some_and(|at| at.start >= CLOCK_FROM_S);
    let mut any = false;
    for (n, (span, _)) in filled(text, lines).enumerate() {
        let Some(at) = stamp(&text[span.range()]) else {
            match out.pieces.last_mut() {
                Some(last) if any => go_on(text, span, last),
                _ => head::take(text, span, UtteranceKind::Paragraph, n == 0, &mut out),
            }
            continue;
        };
        // The last cue ends where this one starts, unless it says itself when it ends.
        if let Some(last) = out.pieces.last_mut().filter(|_| any)
            && let Some((start, end)) = &mut last.cue
            && end <= start
        {
            *end = at.start.max(*start);
        }
        any = true;
        let body = Span::new(span.start + at.len, span.end);
        let (words, said) = cue::words(text, body);
        out.pieces.push(Piece {
            span,
            words,
            text: said,
            id: None,
            cue: Some((at.start, at.end.unwrap_or(at.start))),
            kind: UtteranceKind::Cue,
            stamp: time_of_day(at.start).filter(|_| clock).map_or(Stamp::Offset(at.start), Stamp::Clock),
        });
    }
    out
}

fn time_of_day(seconds: f64) -> Option<NaiveTime> {
    // Whole seconds are enough for a time of day.
    NaiveTime::from_num_seconds_from_midnight_opt(seconds as u32, 0)
}

fn go_on(text: &str, span: Span, last: &mut Piece) {
    marks::words(text, span, &mut last.words);
    last.span.end = span.end;
    last.text.push(' ');
    last.text.push_str(&fold(&text[span.range()]));
}

fn stamp(line: &str) -> Option<At> {
    let shut = match line.as_bytes().first()? {
        b'[' => Some(']'),
        b'(' => Some(')'),
        b'0'..=b'9' => None,
        _ => return None,
    };
    let mut rest = &line[usize::from(shut.is_some())..];
    let (start, parts) = offset(&mut rest)?;
    let mut end = None;
    let after = rest.trim_start();
    if let Some(after) =
        after.strip_prefix("-->").or(after.strip_prefix(['-', '–']).filter(|_| shut.is_some()))
    {
        rest = after.trim_start();
        end = Some(offset(&mut rest)?.0);
    }
    match shut {
        Some(shut) => rest = rest.trim_start().strip_prefix(shut)?,
        None if rest.is_empty() || rest.starts_with([' ', '\t']) => {}
        None => return None,
    }
    let rest = rest.trim_start_matches([' ', '\t']);
    Some(At { start, end, len: line.len() - rest.len(), bracketed: shut.is_some(), hours: parts == 3 })
}

/// `m:ss`, `h:mm:ss`, with a fraction or without, in seconds; and how many parts.
fn offset(rest: &mut &str) -> Option<(f64, usize)> {
    let len = rest.bytes().take_while(|b| b.is_ascii_digit() || matches!(b, b':' | b'.' | b',')).count();
    let written = rest[..len].trim_end_matches(['.', ',', ':']);
    let (whole, fraction) = written.split_once(['.', ',']).unwrap_or((written, "0"));
    let parts: Vec<&str> = whole.split(':').collect();
    let ([_, _] | [_, _, _]) = parts[..] else { return None };
    let sound = parts[0].len() <= 3 && !parts[0].is_empty() && parts[1..].iter().all(|p| p.len() == 2);
    if !sound || fraction.is_empty() || !fraction.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let mut seconds = 0.0;
    for (n, part) in parts.iter().enumerate() {
        let value: f64 = part.parse().ok()?;
        if n > 0 && value > 59.0 {
            return None;
        }
        seconds = seconds * 60.0 + value;
    }
    *rest = &rest[written.len()..];
    Some((seconds + format!("0.{fraction}").parse::<f64>().ok()?, parts.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::lines;

    #[test]
    fn stamps() {
        for (line, expect) in [
            ("[0:05] so jobs", Some((5.0, None, 7))),
            ("(12:05) so jobs", Some((725.0, None, 8))),
            ("[00:00:05.250] so", Some((5.25, None, 15))),
            ("[0:05 --> 0:09]  so", Some((5.0, Some(9.0), 17))),
            ("0:05 so", Some((5.0, None, 5))),
            ("[1:02:10]", Some((3730.0, None, 9))),
            ("[0:75] so", None),
            ("[0:5] so", None),
            ("[Music]", None),
            ("6.40 off", None),
            ("(8 C) out", None),
        ] {
            assert_eq!(stamp(line).map(|at| (at.start, at.end, at.len)), expect, "{line}");
        }
    }

    #[test]
    fn a_transcript_with_header_and_lines_that_go_on() {
        let text = "voice memo \"rig gauge\" 4/16/26\n\n[0:01] Quick one before the rain.\nDeke loaned\n[0:03] [Music] me his gauge.\n";
        let lines = lines(text);
        assert!(is(text, &lines));
        let cut = cut(text, &lines);
        let shown: Vec<_> =
            cut.pieces.iter().map(|p| (p.kind.name(), p.text.as_str(), p.words.len(), p.cue)).collect();
        assert_eq!(
            shown,
            [
                ("header", "voice memo \"rig gauge\" 4/16/26", 1, None),
                ("cue", "Quick one before the rain. Deke loaned", 2, Some((1.0, 3.0))),
                ("cue", "[Music] me his gauge.", 1, Some((3.0, 3.0))),
            ]
        );
        assert_eq!(cut.heads.len(), 1);
    }

    #[test]
    fn what_is_no_transcript() {
        for text in [
            "06:40 off\n07:10 main up\n",
            "[06:40] off\n[07:10] main up\n",
            "a note\nsays (0:05) nothing\nat\nall\nof\nit\n",
        ] {
            assert!(!is(text, &lines(text)), "{text}");
        }
        let clock = "[14:30:05] off\n[14:31:00] on\n";
        assert!(is(clock, &lines(clock)));
        assert!(matches!(cut(clock, &lines(clock)).pieces[0].stamp, Stamp::Clock(_)));
    }
}
