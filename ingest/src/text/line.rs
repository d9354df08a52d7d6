//! Lines: where a text's lines begin and end, whatever ends them.

use crate::found::Span;

/// The line, from 1, that a place in a text stands on.
pub fn line_of(text: &str, at: usize) -> usize {
    let before = &text[..at];
    lines(before).len() + usize::from(before.is_empty() || before.ends_with(['\n', '\r']))
}

/// One line of a text: its bytes without the line end, and its number from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// First byte.
    pub start: usize,
    /// One past the last byte, the line end left out.
    pub end: usize,
    /// Number from 1.
    pub number: usize,
}

impl Line {
    /// Its bytes.
    pub fn span(self) -> Span {
        Span::new(self.start, self.end)
    }

    /// Its words, white space at both ends left out; `None` for a blank line.
    pub fn trimmed(self, text: &str) -> Option<Span> {
        trim(text, self.span())
    }
}

/// A stretch without the white space at its ends; `None` where nothing else is in it.
pub fn trim(text: &str, span: Span) -> Option<Span> {
    let words = &text[span.range()];
    let start = span.start + (words.len() - words.trim_start().len());
    let end = span.start + words.trim_end().len();
    (start < end).then(|| Span::new(start, end))
}

/// Cuts a text into lines at CR, LF and CRLF; and at LFCR, where the text's first line ends so.
pub fn lines(text: &str) -> Vec<Line> {
    let bytes = text.as_bytes();
    let first = memchr::memchr2(b'\r', b'\n', bytes);
    let backwards = first.is_some_and(|at| bytes[at] == b'\n' && bytes.get(at + 1) == Some(&b'\r'));
    // `\n\r\n` is a blank line between LF and CRLF, unless a CR ends it too.
    let backwards = backwards
        && first.is_some_and(|at| bytes.get(at + 2) != Some(&b'\n') || bytes.get(at + 3) == Some(&b'\r'));
    split(bytes, if backwards { b"\n\r" } else { b"\r\n" })
}

/// Cuts a text into lines at CR, LF and CRLF, as the WebVTT standard has it: LFCR is two line ends.
pub fn standard_lines(text: &str) -> Vec<Line> {
    split(text.as_bytes(), b"\r\n")
}

fn split(bytes: &[u8], pair: &[u8; 2]) -> Vec<Line> {
    let mut out = Vec::with_capacity(bytes.len() / 40 + 1);
    let mut start = 0;
    for end in memchr::memchr2_iter(b'\r', b'\n', bytes) {
        if end < start {
            continue;
        }
        out.push(Line { start, end, number: out.len() + 1 });
        start = end + if bytes[end..].starts_with(pair) { 2 } else { 1 };
    }
    if start < bytes.len() {
        out.push(Line { start, end: bytes.len(), number: out.len() + 1 });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_line_ends() {
        let cut =
            |text: &str| lines(text).iter().map(|l| text[l.span().range()].to_owned()).collect::<Vec<_>>();
        for end in ["\n", "\r", "\r\n", "\n\r"] {
            assert_eq!(cut(&["a", "", "b", "c"].join(end)), ["a", "", "b", "c"], "{end:?}");
            assert_eq!(cut(&format!("a{end}")), ["a"]);
        }
        assert_eq!(cut("a\n\r\nb"), ["a", "", "b"]);
        assert_eq!(lines("a\n\rb").len(), 2);
        assert_eq!(standard_lines("a\n\rb").len(), 3);
        assert_eq!(line_of("a\nb\nc", 4), 3);
    }
}
