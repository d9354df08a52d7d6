//! SubRip, which has no standard; read as widely as the readers in use read it.
//!
//! ```text
//! 7                                    a number, which may be missing, negative or wrong
//! 00:00:34,596 --> 00:00:42,368 X1:10  start, end, and what some tools write after them
//! So the vane. The wind vane went      what was said, up to the next cue: blank lines inside are part of it
//! on in June.
//! ```
//!
//! For the comma `.`, `:` and full-width signs are taken, a fraction of any length is a decimal fraction, and hours
//! may be left out. Words above the first cue are a header.

use std::borrow::Cow;

use super::{Cut, Piece, Stamp, cue, head, shown};
use crate::found::{Span, UtteranceKind};
use crate::text::{Line, trim};

/// Whether some line holds times.
pub(super) fn is(text: &str, lines: &[Line]) -> bool {
    lines.iter().any(|line| times(&text[line.span().range()]).is_some())
}

pub(super) fn cut(text: &str, lines: &[Line]) -> Cut {
    let mut out = Cut::new("subrip");
    let of = |i: usize| text[lines[i].span().range()].trim();
    // Where each cue's times stand, and where its lines begin (a number above the times is its own).
    let timed: Vec<usize> = (0..lines.len()).filter(|i| leads(of(*i))).collect();
    let begins = |at: usize| if at > 0 && is_number(of(at - 1)) { at - 1 } else { at };
    let first = timed.first().map_or(lines.len(), |at| begins(*at));
    for (n, line) in lines[..first].iter().filter_map(|line| line.trimmed(text)).enumerate() {
        head::take(text, line, UtteranceKind::Paragraph, n == 0, &mut out);
    }
    for (n, &at) in timed.iter().enumerate() {
        let (from, next) =
            (begins(at), timed.get(n + 1).map_or(lines.len(), |next| begins(*next).max(at + 1)));
        let below = Span::new(lines[at].end, lines[next - 1].end);
        let body = trim(text, below);
        let id = (from < at).then(|| of(from).to_owned());
        let times = times(of(at));
        if times.is_none() {
            let kept =
                if body.is_some() { "; its words are kept, with the time of the cue before" } else { "" };
            let message = format!(
                "expected cue times such as 00:00:01,000 --> 00:00:04,000, found “{}”: the cue is left out{kept}",
                shown(text, lines[at].span())
            );
            out.notice(
                lines[at].span(),
                lines[at].number,
                message,
                "put the times right and dump the file again",
            );
        }
        let Some(body) = body.or(times.map(|_| Span::new(lines[at].end, lines[at].end))) else { continue };
        let (words, said) = cue::words(text, body);
        out.pieces.push(Piece {
            span: if times.is_some() { Span::new(lines[from].start, body.end) } else { body },
            words,
            text: said,
            id: id.filter(|_| times.is_some()),
            cue: times,
            kind: if times.is_some() { UtteranceKind::Cue } else { UtteranceKind::Paragraph },
            stamp: times.map_or(Stamp::None, |(start, _)| Stamp::Offset(start)),
        });
    }
    out
}

/// Whether a line is meant as times, be they sound or broken: an arrow with figures before it.
fn leads(line: &str) -> bool {
    let Some(at) = line.find("-->") else { return false };
    line[..at].bytes().any(|b| b.is_ascii_digit())
        && line.starts_with(|c: char| c.is_ascii_digit() || c == '-')
}

fn is_number(line: &str) -> bool {
    let line = line.strip_prefix('-').unwrap_or(line);
    !line.is_empty()
        && line.len() <= 12
        && line.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && line != "."
}

/// Start and end in seconds.
fn times(line: &str) -> Option<(f64, f64)> {
    let (start, rest) = line.trim().split_once("-->")?;
    let end = rest.split_whitespace().next()?;
    Some((timestamp(start.trim())?, timestamp(end)?))
}

fn timestamp(written: &str) -> Option<f64> {
    let plain = |c| match c {
        '，' | '．' | '。' | '.' => ',',
        '：' => ':',
        c => c,
    };
    let plain: Cow<'_, str> = match written.bytes().all(|b| b.is_ascii() && b != b'.') {
        true => written.into(),
        false => written.chars().map(plain).collect(),
    };
    let (whole, mut fraction) = plain.split_once(',').unwrap_or((&plain, ""));
    let mut parts: Vec<&str> = whole.split(':').collect();
    // 00:01:02:345 has a colon for the comma.
    if parts.len() == 4 && fraction.is_empty() {
        fraction = parts.pop()?;
    }
    let figures = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    let (hours, minutes, seconds) = match parts[..] {
        [h, m, s] => (h, m, s),
        [m, s] if !fraction.is_empty() => ("0", m, s),
        _ => return None,
    };
    let valid = [hours, minutes, seconds].iter().all(|p| (1..=6).contains(&p.len()) && figures(p))
        && figures(fraction);
    if !valid {
        return None;
    }
    let (minutes, seconds) = (minutes.parse::<u32>().ok()?, seconds.parse::<u32>().ok()?);
    if minutes > 59 || seconds > 59 {
        return None;
    }
    let fraction = match fraction {
        "" => 0.0,
        // Whole numbers are read faster than fractions, and thousandths are what there is.
        _ if fraction.len() == 3 => f64::from(fraction.parse::<u32>().ok()?) / 1000.0,
        _ => format!("0.{fraction}").parse::<f64>().ok()?,
    };
    Some(f64::from(hours.parse::<u32>().ok()? * 3600 + minutes * 60 + seconds) + fraction)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::lines;

    /// Leniencies as the srt library (cdown/srt, `srt.py` and its tests) has them, but for `.5`, which is half a
    /// second here and five thousandths there.
    #[test]
    fn times_as_readers_in_use_take_them() {
        for (line, expect) in [
            ("00:01:02,345 --> 01:00:00,000", Some((62.345, 3600.0))),
            ("00:01:02.345 --> 00:01:03:500 X1:10 X2:20", Some((62.345, 63.5))),
            ("00：01：02，345 --> 00：01：03，500", Some((62.345, 63.5))),
            ("0:00:01.5 --> 0:00:02", Some((1.5, 2.0))),
            ("01:02,3 --> 01:03,4", Some((62.3, 63.4))),
            ("00:00:60,000 --> 00:01:01,000", None),
            ("00:00:01,000 -->", None),
            ("0:0x:01,000 --> 0:00:02", None),
        ] {
            assert_eq!(times(line), expect, "{line}");
        }
    }

    /// Cuts, and shows each piece as `id [start-end] words`.
    fn show(text: &str) -> Vec<String> {
        let cut = cut(text, &lines(text));
        let time = |t: (f64, f64)| format!("[{}-{}] ", t.0, t.1);
        let id = |p: &Piece| p.id.as_ref().map_or(String::new(), |id| format!("{id} "));
        cut.pieces
            .iter()
            .map(|p| format!("{}{}{}", id(p), p.cue.map_or(String::new(), time), p.text))
            .collect()
    }

    #[test]
    fn numbers_and_blank_lines_may_be_anyhow() {
        let text = "1\n00:00:01,000 --> 00:00:02,000\none\n\n-4\n00:00:03,000 --> 00:00:04,000\ntwo\n\nstill two\n\
                    00:00:05,000 --> 00:00:06,000\n<i>three</i>";
        assert!(is(text, &lines(text)));
        assert_eq!(show(text), ["1 [1-2] one", "-4 [3-4] two still two", "[5-6] three"]);
    }

    #[test]
    fn broken_times_keep_their_words_and_are_told() {
        let text = "1\n00:00:01,000 --> 00:00:02,000\none\n\n2\n00:00:99,000 --> 00:00:04,000\ntwo\n";
        assert_eq!(show(text), ["1 [1-2] one", "two"]);
        let notices = cut(text, &lines(text)).notices;
        assert_eq!(notices.len(), 1);
        assert_eq!(notices[0].line, Some(6));
        assert!(
            notices[0]
                .message
                .starts_with("expected cue times such as 00:00:01,000 --> 00:00:04,000, found “00:00:99,000")
        );
    }

    #[test]
    fn an_arrow_in_a_sentence_is_no_cue() {
        let text = "1\n00:00:01,000 --> 00:00:02,000\nheater on --> volts down\nnext\n";
        assert_eq!(show(text), ["1 [1-2] heater on --> volts down next"]);
    }
}
