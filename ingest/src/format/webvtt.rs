//! WebVTT, as recorders and speech-to-text tools write it.
//!
//! ```text
//! WEBVTT                               the signature; what follows on the line is a remark
//! Kind: captions                       header lines, up to the first blank line
//!
//! NOTE                                 a remark: no speech, but it may say when the recording began
//! recorded 16 Aug 2026 10:12 UTC+10
//!
//! intro                                the cue's identifier, if it has one
//! 00:00:19.139 --> 00:00:20.039 align:start    start, end (hours may be left out), settings
//! <v Ros>five four on the GPS.         what was said; tags, entities and the speaker's name are mark-up
//! ```
//!
//! Blocks are told apart as the W3C WebVTT standard has it ("WebVTT parser algorithm"). A cue with broken times is
//! left out as the standard says, with a notice, and its words are kept as words without a time of their own.

use super::{Cut, Piece, Stamp, cue, head, shown};
use crate::found::{Span, UtteranceKind};
use crate::heard;
use crate::text::{Line, standard_lines, trim};

/// A cue as the standard's parser gives it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cue {
    /// Identifier; empty where there is none.
    pub id: String,
    /// Start and end in seconds.
    pub times: (f64, f64),
    /// The cue with its identifier and times.
    pub span: Span,
    /// The text, its line ends and tags as they stand.
    pub text: Span,
}

/// A block between blank lines.
#[derive(Debug)]
enum Block {
    Cue(Cue),
    /// Times that are none, and the words below them.
    Broken(Line, Option<Span>),
    /// Lines without times: remarks, styles, or stray words.
    Other(Span, usize),
}

/// Whether a text has the signature.
pub(super) fn is(text: &str) -> bool {
    let rest = text.strip_prefix("WEBVTT").unwrap_or("x");
    rest.is_empty() || rest.starts_with([' ', '\t', '\n', '\r'])
}

pub(super) fn cut(text: &str) -> Cut {
    let mut out = Cut::new("webvtt");
    let (header, blocks) = blocks(text);
    for line in header {
        if let Some(span) = line.trimmed(text) {
            head::take_whole(text, span, &mut out);
        }
    }
    for block in blocks {
        match block {
            Block::Cue(cue) => {
                let (words, shown) = cue::words(text, cue.text);
                out.pieces.push(Piece {
                    span: cue.span,
                    words,
                    text: shown,
                    id: Some(cue.id).filter(|id| !id.is_empty()),
                    cue: Some(cue.times),
                    kind: UtteranceKind::Cue,
                    stamp: Stamp::Offset(cue.times.0),
                });
            }
            Block::Broken(line, body) => {
                let kept =
                    if body.is_some() { "; its words are kept, with the time of the cue before" } else { "" };
                let message = format!(
                    "expected cue times such as 00:01.000 --> 00:04.000, found “{}”: the cue is left out{kept}",
                    shown(text, line.span())
                );
                out.notice(line.span(), line.number, message, "put the times right and dump the file again");
                if let Some(body) = body {
                    untimed(text, body, &mut out);
                }
            }
            Block::Other(span, line) => other(text, span, line, &mut out),
        }
    }
    out
}

/// A block without times.
fn other(text: &str, span: Span, line: usize, out: &mut Cut) {
    let words = &text[span.range()];
    let first = words.split([' ', '\t', '\n', '\r']).next().unwrap_or_default();
    match first {
        // What a listener says of the cue above.
        "NOTE" if heard::is_remark(words) => {}
        "NOTE" => {
            if let Some(body) = trim(text, Span::new(span.start + first.len(), span.end)) {
                head::take_whole(text, body, out);
            }
        }
        "STYLE" | "REGION" => {}
        // What is left of a style sheet after a blank line in it.
        _ if words.contains(['{', '}']) => {}
        _ => {
            let message = format!(
                "expected a cue with times, found words without: “{}”; they are kept",
                shown(text, span)
            );
            out.notice(span, line, message, "give them times such as 00:01.000 --> 00:04.000");
            untimed(text, span, out);
        }
    }
}

/// Cues, as start, end and text, and blocks without times, as they stand.
pub(crate) fn plain(text: &str) -> impl Iterator<Item = Result<(f64, f64, &str), &str>> {
    blocks(text).1.into_iter().filter_map(move |block| match block {
        Block::Cue(cue) => Some(Ok((cue.times.0, cue.times.1, &text[cue.text.range()]))),
        Block::Other(span, _) => Some(Err(&text[span.range()])),
        Block::Broken(..) => None,
    })
}

/// Words whose times are unknown.
fn untimed(text: &str, body: Span, out: &mut Cut) {
    let (words, shown) = cue::words(text, body);
    let kind = UtteranceKind::Paragraph;
    out.pieces.push(Piece { span: body, words, text: shown, id: None, cue: None, kind, stamp: Stamp::None });
}

/// The header's lines after the signature, and the blocks.
fn blocks(text: &str) -> (Vec<Line>, Vec<Block>) {
    let lines = standard_lines(text);
    let blank = |i: usize| lines.get(i).is_none_or(|l| l.start == l.end);
    let arrow = |i: usize| lines.get(i).is_some_and(|l| has_arrow(&text[l.span().range()]));
    let mut i = 1;
    let mut header = Vec::new();
    while i < lines.len() && !blank(i) && !arrow(i) {
        header.push(lines[i]);
        i += 1;
    }
    let mut out = Vec::new();
    while i < lines.len() {
        if blank(i) {
            i += 1;
            continue;
        }
        let first = i;
        // The times stand on the block's first line, or on its second one below an identifier.
        let timed = if arrow(i) { Some(i) } else { Some(i + 1).filter(|i| !blank(*i) && arrow(*i)) };
        i = timed.map_or(first, |at| at + 1);
        let body = i;
        while i < lines.len() && !blank(i) && !arrow(i) {
            i += 1;
        }
        let stretch =
            |from: usize, to: usize| (from < to).then(|| Span::new(lines[from].start, lines[to - 1].end));
        out.push(match timed {
            None => Block::Other(Span::new(lines[first].start, lines[i - 1].end), lines[first].number),
            Some(at) => match times(&text[lines[at].span().range()]) {
                None => Block::Broken(lines[at], stretch(body, i)),
                Some(times) => Block::Cue(Cue {
                    id: if at > first { text[lines[first].span().range()].to_owned() } else { String::new() },
                    times,
                    span: Span::new(lines[first].start, lines[i - 1].end),
                    text: stretch(body, i).unwrap_or(Span::new(lines[at].end, lines[at].end)),
                }),
            },
        });
    }
    (header, out)
}

fn has_arrow(line: &str) -> bool {
    memchr::memmem::find(line.as_bytes(), b"-->").is_some()
}

/// Start and end in seconds, as the standard's "collect WebVTT cue timings and settings" reads them; settings say
/// only where words are shown, and are not looked at.
fn times(line: &str) -> Option<(f64, f64)> {
    let skip = |rest: &'_ str| rest.len() - rest.trim_start_matches([' ', '\t', '\n', '\x0C', '\r']).len();
    let mut rest = &line[skip(line)..];
    let start = timestamp(&mut rest)?;
    rest = rest[skip(rest)..].strip_prefix("-->")?;
    rest = &rest[skip(rest)..];
    Some((start, timestamp(&mut rest)?))
}

/// "Collect a WebVTT timestamp": hours of one digit or more if there are three parts, minutes and seconds of two,
/// a dot and three digits.
fn timestamp(rest: &mut &str) -> Option<f64> {
    let mut digits = || {
        let len = rest.bytes().take_while(u8::is_ascii_digit).count();
        let (figure, after) = rest.split_at(len);
        *rest = after;
        let sign = rest.chars().next();
        if matches!(sign, Some(':' | '.')) {
            *rest = &rest[1..];
        }
        (figure, sign)
    };
    let two = |figure: &str| (figure.len() == 2).then(|| figure.parse::<u32>().ok())?;
    let hours = |figure: &str| figure.parse::<u32>().map(f64::from).or_else(|_| figure.parse()).ok();
    let (first, Some(':')) = digits() else { return None };
    let (second, sign) = digits();
    let (hours, minutes, seconds) = match sign {
        Some(':') => {
            let (third, Some('.')) = digits() else { return None };
            (hours(first)?, two(second)?, two(third)?)
        }
        Some('.') => (0.0, two(first)?, two(second)?),
        _ => return None,
    };
    let len = rest.bytes().take_while(u8::is_ascii_digit).count();
    let (fraction, after) = rest.split_at(len);
    *rest = after;
    if fraction.len() != 3 || minutes > 59 || seconds > 59 {
        return None;
    }
    let thousandths = f64::from(fraction.parse::<u32>().ok()?);
    Some(hours * 3600.0 + f64::from(minutes * 60 + seconds) + thousandths / 1000.0)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use serde_json::Value;

    use super::*;
    use crate::text::decode;

    fn cues(text: &str) -> Vec<Cue> {
        let cue = |b| if let Block::Cue(cue) = b { Some(cue) } else { None };
        if is(text) { blocks(text).1.into_iter().filter_map(cue).collect() } else { Vec::new() }
    }

    /// The file-parsing suite of the web-platform-tests (w3c/webvtt.js at 986949e, `test/wpt-file-parsing`, CC0):
    /// cue counts, times, identifiers and texts as its assertions state them. Regions are left out: they say where
    /// words stand on a screen.
    #[test]
    fn web_platform_tests() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/outside/webvtt");
        let Ok(expected) = std::fs::read_to_string(folder.join("expected.json")) else {
            println!("skipped: the web-platform-tests stand in ../shared/outside/webvtt, which is not here");
            return;
        };
        let expected: Value = serde_json::from_str(&expected).expect("expected.json is JSON");
        let mut ran = 0;
        for (name, case) in expected.as_object().expect("expected.json holds cases").iter() {
            if name.contains("region") {
                continue;
            }
            ran += 1;
            let bytes = std::fs::read(folder.join(format!("file-parsing/{name}.vtt")))
                .expect("the case has its file");
            let text = decode(&bytes).text;
            let cues = cues(&text);
            if let Some(count) = case["cues"].as_u64() {
                assert_eq!(cues.len() as u64, count, "{name}: count of cues");
                let kept = cut(&text).pieces.iter().filter(|p| p.cue.is_some()).count();
                assert_eq!(kept as u64, count, "{name}: count of utterances with times");
            }
            for (at, want) in case["cue"].as_object().into_iter().flatten() {
                let cue = &cues[at.parse::<usize>().expect("cues are numbered")];
                for (field, want) in want.as_object().expect("a cue has fields") {
                    let text = text[cue.text.range()].replace("\r\n", "\n").replace('\r', "\n");
                    let got = match field.as_str() {
                        "id" => Value::from(cue.id.clone()),
                        "text" => Value::from(text),
                        "start" => Value::from(cue.times.0),
                        "end" => Value::from(cue.times.1),
                        _ => panic!("{name}: nothing reads {field}"),
                    };
                    let same = if want.is_number() { got.as_f64() == want.as_f64() } else { got == *want };
                    assert!(same, "{name}: cue {at} {field}: {got} for {want}");
                }
            }
        }
        assert_eq!(ran, 30, "30 cases are not about regions");
    }

    /// The table of times in the same suite, from REFERENCES: carried here so that it is checked everywhere.
    #[test]
    fn times_as_the_standard_has_them() {
        for (line, expect) in [
            ("00:01.500 --> 00:04.370", Some((1.5, 4.37))),
            ("60:00:00.000 --> 60:00:01.000 align:end", Some((216_000.0, 216_001.0))),
            ("000:00:00.000 --> 0:00:01.000", Some((0.0, 1.0))),
            ("01:00:00.000-->00:59:59.999", Some((3600.0, 3599.999))),
            ("00:00:60.000 --> 00:01:01.000", None),
            ("00:60:00.000 --> 01:00:01.000", None),
            ("00:00:00,000 --> 00:00:01,000", None),
            ("00:00.0000 --> 00:01.000", None),
            ("00:00:0a.000 --> 00:00:01.000", None),
            ("00:00:00.000 -->", None),
            ("0:00.000 --> 00:01.000", None),
        ] {
            assert_eq!(times(line), expect, "{line}");
        }
    }

    #[test]
    fn a_cue_with_broken_times_keeps_its_words() {
        let text = "WEBVTT\n\n00:01.000 --> 00:02.000\none\n\n00:0x.000 --> 00:04.000\ntwo <i>knots</i>\n\nthree\n\nSTYLE\n::cue {}\n";
        let cut = cut(text);
        let said: Vec<_> = cut.pieces.iter().map(|p| (p.text.as_str(), p.cue.is_some())).collect();
        assert_eq!(said, [("one", true), ("two knots", false), ("three", false)]);
        let told: Vec<_> = cut.notices.iter().map(|n| (n.line, n.message.as_str())).collect();
        assert_eq!(
            told,
            [
                (
                    Some(6),
                    "expected cue times such as 00:01.000 --> 00:04.000, found “00:0x.000 --> 00:04.000”: the cue is left out; \
                     its words are kept, with the time of the cue before"
                ),
                (Some(9), "expected a cue with times, found words without: “three”; they are kept"),
            ]
        );
    }
}
