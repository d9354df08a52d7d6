//! Bytes to text: which character encoding a source is in, and where each character stood in its bytes.
//!
//! UTF-8 with or without a byte-order mark, UTF-16 with one (or plainly without), and Windows-1252 as a last
//! resort. Text that is broken here and there is kept usable: what cannot be read becomes U+FFFD, with a notice.
//! What is no text at all gives an empty text and a notice saying what was found instead.

use encoding_rs::WINDOWS_1252;

use crate::found::{Notice, Span};

mod line;

pub use line::{Line, line_of, lines, standard_lines, trim};

/// A source as text, with the way back to its bytes.
#[derive(Clone, Debug)]
pub struct Decoded {
    /// The text, without a byte-order mark; NUL, which no text has a use for, stands as U+FFFD.
    pub text: String,
    /// Name of the encoding; `none` where the source is empty or no text.
    pub encoding: &'static str,
    /// What could not be read.
    pub notices: Vec<Notice>,
    runs: Vec<Run>,
}

/// A stretch in which every step of `per_text` bytes of text came from `per_source` bytes of the source.
#[derive(Clone, Copy, Debug)]
struct Run {
    text: usize,
    source: usize,
    per_text: usize,
    per_source: usize,
}

impl Decoded {
    /// The bytes of the source that a stretch of the text came from.
    ///
    /// An end inside a character is moved outwards to take the whole of it.
    pub fn source_span(&self, span: Span) -> Span {
        Span::new(self.source(span.start, false), self.source(span.end, true))
    }

    /// Whether text and source have the same bytes at the same places.
    pub fn is_plain(&self) -> bool {
        matches!(self.runs[..], [Run { text: 0, source: 0, per_text: 1, per_source: 1 }])
    }

    fn source(&self, at: usize, outwards: bool) -> usize {
        let after = self.runs.partition_point(|run| run.text <= at);
        let Some(run) = after.checked_sub(1).and_then(|i| self.runs.get(i)) else { return at };
        let steps = at - run.text;
        let whole = steps / run.per_text + usize::from(outwards && !steps.is_multiple_of(run.per_text));
        run.source + whole * run.per_source
    }
}

/// Decodes a source.
pub fn decode(bytes: &[u8]) -> Decoded {
    if bytes.starts_with(&[0xEF, 0xBB, 0xBF]) {
        return utf8(bytes, 3);
    }
    if bytes.starts_with(&[0xFF, 0xFE]) {
        return utf16(bytes, 2, u16::from_le_bytes, "UTF-16LE");
    }
    if bytes.starts_with(&[0xFE, 0xFF]) {
        return utf16(bytes, 2, u16::from_be_bytes, "UTF-16BE");
    }
    if let Some(found) = no_text(bytes) {
        return nothing(found);
    }
    // Nearly every source, and told at one go: UTF-16 without its mark has bytes of nought.
    if memchr::memchr(0, bytes).is_none()
        && let Ok(text) = std::str::from_utf8(bytes)
    {
        let mut out = Builder::at(0, bytes.len());
        out.push(text, text.len(), 1, 1);
        return out.done("UTF-8", Vec::new());
    }
    match bare_utf16(bytes) {
        Some(true) => utf16(bytes, 0, u16::from_le_bytes, "UTF-16LE"),
        Some(false) => utf16(bytes, 0, u16::from_be_bytes, "UTF-16BE"),
        None if looks_like_utf8(bytes) => utf8(bytes, 0),
        None => windows_1252(bytes),
    }
}

/// A source that holds nothing to read.
fn nothing(found: Notice) -> Decoded {
    let runs = vec![Run { text: 0, source: 0, per_text: 1, per_source: 1 }];
    Decoded { text: String::new(), encoding: "none", notices: vec![found], runs }
}

/// First bytes of files that people drop by mistake, and what they are.
const MAGIC: &[(usize, &[u8], &str, bool)] = &[
    (4, b"ftyp", "an MP4 or M4A recording", true),
    (0, b"ID3", "an MP3 recording", true),
    (0, b"OggS", "an Ogg recording", true),
    (0, b"fLaC", "a FLAC recording", true),
    (0, b"RIFF", "a WAV or AVI recording", true),
    (0, b"#!AMR", "an AMR recording", true),
    (0, b"\x1A\x45\xDF\xA3", "a Matroska or WebM recording", true),
    (0, b"PK\x03\x04", "a ZIP archive or office document", false),
    (0, b"\x1F\x8B", "a gzip archive", false),
    (0, b"\x28\xB5\x2F\xFD", "a zstd archive", false),
    (0, b"%PDF-", "a PDF document", false),
    (0, b"\x89PNG", "a PNG picture", false),
    (0, b"\xFF\xD8\xFF", "a JPEG picture", false),
    (0, b"SQLite format 3\0", "an SQLite database", false),
    (0, b"\x7FELF", "a program", false),
];

/// Bytes looked at to tell text from other data.
const LOOKED_AT: usize = 64 * 1024;

/// Says what a source is, where it is no text.
fn no_text(bytes: &[u8]) -> Option<Notice> {
    let notice = |message: String, hint: &str| {
        Some(Notice { span: None, line: None, message, hint: Some(hint.to_owned()) })
    };
    if bytes.iter().all(u8::is_ascii_whitespace) {
        let found = if bytes.is_empty() { "an empty file" } else { "only white space" };
        return notice(
            format!("expected a transcript, a log or a note, found {found}"),
            "look whether the recorder or the copy was cut short, and dump the file again",
        );
    }
    for &(at, magic, what, sound) in MAGIC {
        if bytes.get(at..).is_some_and(|rest| rest.starts_with(magic)) {
            let hint = if sound {
                "make a transcript of it (WebVTT, SubRip or plain text) and dump that"
            } else {
                "save its words as plain text and dump that"
            };
            return notice(format!("expected text, found {what}"), hint);
        }
    }
    // WebVTT has rules of its own for control characters, and its signature leaves no doubt.
    if bytes.starts_with(b"WEBVTT") || bare_utf16(bytes).is_some() {
        return None;
    }
    let head = &bytes[..bytes.len().min(LOOKED_AT)];
    let control = |b: &&u8| b.is_ascii_control() && !matches!(b, b'\t' | b'\n' | 0x0B | 0x0C | b'\r' | 0x1B);
    let controls = head.iter().filter(control).count();
    if controls * 20 > head.len() {
        return notice(
            format!(
                "expected text, found binary data ({} of every 100 bytes are control codes)",
                controls * 100 / head.len()
            ),
            "dump a text file: a transcript, a log or a note",
        );
    }
    None
}

/// Tells UTF-16 without a byte-order mark by its zero bytes: little-endian `true`, big-endian `false`.
fn bare_utf16(bytes: &[u8]) -> Option<bool> {
    let head = &bytes[..bytes.len().min(LOOKED_AT) & !1];
    let pairs = head.len() / 2;
    if pairs < 4 {
        return None;
    }
    let zeros = |side: usize| head.iter().skip(side).step_by(2).filter(|b| **b == 0).count();
    let (first, second) = (zeros(0), zeros(1));
    match () {
        () if second * 10 > pairs * 7 && first * 50 < pairs => Some(true),
        () if first * 10 > pairs * 7 && second * 50 < pairs => Some(false),
        () => None,
    }
}

/// Whether bytes are UTF-8, or were before some of them were damaged: more characters beyond ASCII are whole than
/// broken. In Windows-1252 a whole one turns up only by chance.
fn looks_like_utf8(bytes: &[u8]) -> bool {
    let (mut whole, mut broken) = (0usize, 0usize);
    for chunk in bytes.utf8_chunks() {
        whole += chunk.valid().bytes().filter(|b| *b >= 0xC0).count();
        broken += usize::from(!chunk.invalid().is_empty());
    }
    broken == 0 || whole > broken
}

/// Gathers text and runs.
#[derive(Default)]
struct Builder {
    text: String,
    runs: Vec<Run>,
    source: usize,
    broken: usize,
    first_broken: Option<Span>,
}

impl Builder {
    fn at(source: usize, room: usize) -> Self {
        Self { text: String::with_capacity(room), source, ..Self::default() }
    }

    /// Adds text that came from `source` bytes in equal steps.
    fn push(&mut self, text: &str, source: usize, per_text: usize, per_source: usize) {
        let goes_on = self.runs.last().is_some_and(|r| r.per_text == per_text && r.per_source == per_source);
        if !goes_on {
            self.runs.push(Run { text: self.text.len(), source: self.source, per_text, per_source });
        }
        self.text.push_str(text);
        self.source += source;
    }

    fn push_char(&mut self, c: char, source: usize) {
        let c = if c == '\0' { char::REPLACEMENT_CHARACTER } else { c };
        let mut buffer = [0; 4];
        let text = c.encode_utf8(&mut buffer);
        let len = text.len();
        self.push(text, source, len, source);
    }

    fn push_broken(&mut self, source: usize) {
        self.broken += 1;
        let start = self.text.len();
        self.push_char(char::REPLACEMENT_CHARACTER, source);
        self.first_broken.get_or_insert(Span::new(start, self.text.len()));
    }

    fn done(mut self, encoding: &'static str, mut notices: Vec<Notice>) -> Decoded {
        if self.runs.is_empty() {
            self.runs.push(Run { text: 0, source: self.source, per_text: 1, per_source: 1 });
        }
        if let Some(span) = self.first_broken {
            notices.push(Notice {
                span: Some(span),
                line: Some(line_of(&self.text, span.start)),
                message: format!(
                    "expected {encoding} text, found {} place{} that cannot be read, the first one here; \
                     each stands as \u{FFFD}",
                    self.broken,
                    if self.broken == 1 { "" } else { "s" }
                ),
                hint: Some("look at the words around it; a fresh copy of the file may be whole".to_owned()),
            });
        }
        if self.text.chars().all(char::is_whitespace)
            && let Some(mut notice) = no_text(b"")
        {
            "expected a transcript, a log or a note, found only a byte-order mark or white space"
                .clone_into(&mut notice.message);
            notices.push(notice);
        }
        Decoded { text: self.text, encoding, notices, runs: self.runs }
    }
}

fn utf8(bytes: &[u8], skip: usize) -> Decoded {
    let mut out = Builder::at(skip, bytes.len());
    for chunk in bytes[skip..].utf8_chunks() {
        for piece in chunk.valid().split_inclusive('\0') {
            let words = piece.strip_suffix('\0').unwrap_or(piece);
            if !words.is_empty() {
                out.push(words, words.len(), 1, 1);
            }
            if words.len() < piece.len() {
                out.push_char('\0', 1);
            }
        }
        if !chunk.invalid().is_empty() {
            out.push_broken(chunk.invalid().len());
        }
    }
    out.done("UTF-8", Vec::new())
}

fn utf16(bytes: &[u8], skip: usize, unit: fn([u8; 2]) -> u16, encoding: &'static str) -> Decoded {
    let body = &bytes[skip..];
    let units = body.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
    let mut out = Builder::at(skip, body.len() / 2);
    for c in char::decode_utf16(units) {
        match c {
            Ok(c) => out.push_char(c, c.len_utf16() * 2),
            Err(_) => out.push_broken(2),
        }
    }
    if !body.len().is_multiple_of(2) {
        out.push_broken(1);
    }
    let mut notices = Vec::new();
    if skip == 0 {
        notices.push(Notice {
            span: None,
            line: None,
            message: format!(
                "expected UTF-8, found what looks like {encoding} without a byte-order mark; read as that"
            ),
            hint: Some("save it as UTF-8 if the words look wrong".to_owned()),
        });
    }
    out.done(encoding, notices)
}

fn windows_1252(bytes: &[u8]) -> Decoded {
    let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
    let mut out = Builder::at(0, text.len());
    // Every byte is one character in this encoding.
    for c in text.chars() {
        out.push_char(c, 1);
    }
    let first = bytes.iter().position(|b| !b.is_ascii()).unwrap_or(0);
    let line = 1 + bytes[..first].iter().filter(|b| **b == b'\n').count();
    let shown: String =
        text.chars().skip(first.saturating_sub(12)).take(25).filter(|c| !c.is_control()).collect();
    let notice = Notice {
        span: Some(Span::new(first, first)),
        line: Some(line),
        message: format!(
            "expected UTF-8, found other bytes from line {line} on (“{shown}”); read as Windows-1252"
        ),
        hint: Some("save it as UTF-8 if signs such as ° or é look wrong".to_owned()),
    };
    out.done("windows-1252", vec![notice])
}

/// Adds words to others, with one space in front of each. Most stand so already, and are taken as they are.
pub(crate) fn add_folded(words: &str, out: &mut String) {
    let parted = |byte: Option<&u8>| byte.is_none_or(|byte| !byte.is_ascii_graphic());
    let (first, last) = (words.as_bytes().first(), words.as_bytes().last());
    let words = if parted(first) || parted(last) { words.trim() } else { words };
    let mut add = |words: &str| {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(words);
    };
    // White space beside the plain space is a control character, or begins with one of these bytes, as a dash and an
    // apostrophe do.
    let other = |byte: u8| matches!(byte, b'\t'..=b'\r' | 0xc2 | 0xe1..=0xe3);
    // Looking at all bytes takes less than stopping at the first.
    let bytes = words.as_bytes();
    let others = bytes.iter().fold(false, |found, &byte| found | other(byte));
    let next = bytes.get(1..).unwrap_or_default();
    let spaces = bytes.iter().zip(next).fold(false, |found, (&a, &b)| found | (a == b' ') & (b == b' '));
    let white = |c: char| c != ' ' && c.is_whitespace();
    if spaces || others && words.contains(white) {
        words.split_whitespace().for_each(add);
    } else if !words.is_empty() {
        add(words);
    }
}

/// White space folded to single spaces.
pub(crate) fn fold(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    add_folded(words, &mut out);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Decodes, and checks that the words `find` came from exactly the bytes `from`.
    fn check(bytes: &[u8], encoding: &str, text: &str, find: &str, from: &[u8]) {
        let decoded = decode(bytes);
        assert_eq!(decoded.encoding, encoding);
        assert_eq!(decoded.text, text);
        let at = text.find(find).expect("the words to look for are in the text");
        let span = decoded.source_span(Span::new(at, at + find.len()));
        assert_eq!(&bytes[span.range()], from, "{find:?} in {text:?}");
    }

    fn utf16_of(text: &str, mark: bool, unit: fn(u16) -> [u8; 2]) -> Vec<u8> {
        let mark = if mark { "\u{FEFF}" } else { "" };
        mark.encode_utf16().chain(text.encode_utf16()).flat_map(unit).collect()
    }

    #[test]
    fn each_encoding_leads_back_to_its_own_bytes() {
        check("9 °C on deck".as_bytes(), "UTF-8", "9 °C on deck", "deck", b"deck");
        check(b"\xEF\xBB\xBF9 \xC2\xB0C", "UTF-8", "9 °C", "°C", b"\xC2\xB0C");
        check(b"9 \xB0C caf\xE9 \x93ok\x94", "windows-1252", "9 °C café “ok”", "é “ok", b"\xE9 \x93ok");
        let text = "9 °C 🌊 deck";
        for (mark, unit, name) in
            [(true, u16::to_le_bytes as fn(u16) -> [u8; 2], "UTF-16LE"), (true, u16::to_be_bytes, "UTF-16BE")]
        {
            let bytes = utf16_of(text, mark, unit);
            check(&bytes, name, text, "🌊 d", &utf16_of("🌊 d", false, unit));
            check(&bytes, name, text, text, &bytes[2..]);
        }
        let long = "the words of a longer note";
        check(
            &utf16_of(long, false, u16::to_le_bytes),
            "UTF-16LE",
            long,
            "note",
            &utf16_of("note", false, u16::to_le_bytes),
        );
    }

    #[test]
    fn damaged_utf8_stays_usable_and_says_so() {
        let bytes = b"one \xC2\xB0C\ntwo \xC2\xB0C\nthree \xC3 gone, \xC3\xA9";
        check(bytes, "UTF-8", "one °C\ntwo °C\nthree \u{FFFD} gone, é", "\u{FFFD} gone", b"\xC3 gone");
        let notice = &decode(bytes).notices[0];
        assert_eq!(notice.line, Some(3));
        assert!(notice.message.contains("1 place that cannot be read"), "{}", notice.message);
        check(b"some words a\0b and more", "UTF-8", "some words a\u{FFFD}b and more", "b and", b"b and");
    }

    #[test]
    fn windows_1252_is_named_in_a_notice() {
        let notices = decode(b"fine\n9 \xB0C on deck").notices;
        assert_eq!(notices.len(), 1);
        assert_eq!(
            notices[0].message,
            "expected UTF-8, found other bytes from line 2 on (“fine9 °C on deck”); read as Windows-1252"
        );
    }

    #[test]
    fn what_is_no_text_is_named() {
        for (bytes, found) in [
            (&b""[..], "an empty file"),
            (b"  \r\n\t", "only white space"),
            (b"\xEF\xBB\xBF", "only a byte-order mark"),
            (b"\0\0\0\x20ftypM4A \0\0\0\0", "an MP4 or M4A recording"),
            (b"PK\x03\x04\x14\0\0\0", "a ZIP archive"),
            (b"\x01\x02\x03\x04\xFF\xFE\x00\x80abc\x05\x06", "binary data"),
        ] {
            let decoded = decode(bytes);
            assert!(decoded.text.trim().is_empty());
            assert_eq!(decoded.notices.len(), 1, "{found}");
            assert!(decoded.notices[0].message.contains(found), "{}", decoded.notices[0].message);
            assert!(decoded.notices[0].hint.is_some());
        }
    }

    #[test]
    fn white_space_is_folded() {
        for written in [
            "in a  row",
            " at the\tends ",
            "a\u{a0}space\u{2009}of\u{3000}others",
            "as it — stands, 5°",
            "",
            " ",
            "\u{1680}",
        ] {
            let mut out = String::from("first");
            add_folded(written, &mut out);
            let slow = std::iter::once("first").chain(written.split_whitespace()).collect::<Vec<_>>();
            assert_eq!(out, slow.join(" "));
        }
    }
}
