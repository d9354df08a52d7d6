//! The text of a cue: which of its bytes are words, and which are tags, entities and marks of sounds.
//!
//! Shared by WebVTT and SubRip. `<v Ros>six <i>and</i> a half&nbsp;knots` has the words "six", "and", "a half",
//! "knots"; the speaker's name is mark-up.

use super::marks;
use crate::found::Span;
use crate::text::fold;

/// Longest tag and entity looked for, in bytes; a `<` further from its `>` is a sign in the words.
const LONGEST_TAG: usize = 200;

/// The words of a cue's text as spans, and as text with its entities decoded.
pub(crate) fn words(text: &str, span: Span) -> (Vec<Span>, String) {
    let mut spans = Vec::new();
    let mut shown = String::with_capacity(span.end - span.start);
    let mut from = span.start;
    let mut at = span.start;
    while let Some(found) = memchr::memchr3(b'<', b'&', b'{', &text.as_bytes()[at..span.end]).map(|i| at + i)
    {
        let rest = &text[found..span.end];
        let markup = match rest.as_bytes()[0] {
            b'<' => tag(rest).map(|len| (len, None)),
            b'{' => position(rest, b'}').filter(|_| rest.starts_with("{\\")).map(|i| (i + 1, None)),
            _ => entity(rest).map(|(len, c)| (len, Some(c))),
        };
        let Some((len, c)) = markup else {
            at = found + 1;
            continue;
        };
        marks::words(text, Span::new(from, found), &mut spans);
        shown.push_str(&text[from..found]);
        shown.extend(c);
        from = found + len;
        at = from;
    }
    marks::words(text, Span::new(from, span.end), &mut spans);
    shown.push_str(&text[from..span.end]);
    (spans, fold(&shown))
}

/// Length of a tag at the start of `rest`: `<v Ros>`, `</i>`, `<c.loud>`, `<00:01.000>`. "<5 kn" is none.
fn tag(rest: &str) -> Option<usize> {
    let shut = position(rest, b'>')?;
    let inside = &rest.as_bytes()[1..shut];
    let name = inside.strip_prefix(b"/").unwrap_or(inside);
    let known = match name.first() {
        None => true,
        Some(c) if c.is_ascii_alphabetic() => !inside.contains(&b'<'),
        Some(c) if c.is_ascii_digit() => {
            name.iter().all(|b| matches!(b, b'0'..=b'9' | b':' | b'.')) && name.contains(&b':')
        }
        Some(c) => *c == b'.',
    };
    known.then_some(shut + 1)
}

/// Where a closing sign stands, if it is near enough.
fn position(rest: &str, shut: u8) -> Option<usize> {
    memchr::memchr(shut, &rest.as_bytes()[..rest.len().min(LONGEST_TAG)])
}

/// Length and character of an entity at the start of `rest`.
fn entity(rest: &str) -> Option<(usize, char)> {
    let shut = memchr::memchr(b';', &rest.as_bytes()[..rest.len().min(12)])?;
    let name = &rest[1..shut];
    let c = match name {
        "amp" => '&',
        "lt" => '<',
        "gt" => '>',
        "nbsp" => '\u{a0}',
        "lrm" => '\u{200e}',
        "rlm" => '\u{200f}',
        "quot" => '"',
        "apos" => '\'',
        "deg" => '°',
        "frac12" => '½',
        "frac14" => '¼',
        "frac34" => '¾',
        _ => {
            let code = name.strip_prefix('#')?;
            let code = match code.strip_prefix(['x', 'X']) {
                Some(hex) => u32::from_str_radix(hex, 16).ok()?,
                None => code.parse().ok()?,
            };
            char::from_u32(code).filter(|c| *c != '\0')?
        }
    };
    Some((shut + 1, c))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(cue: &str, expect: &str, shown: &str) {
        let (spans, text) = words(cue, Span::new(0, cue.len()));
        let got: Vec<&str> = spans.iter().map(|s| &cue[s.range()]).collect();
        assert_eq!((got.join("|").as_str(), text.as_str()), (expect, shown), "{cue}");
    }

    #[test]
    fn markup_is_no_words() {
        check("<v Ros>six and a half", "six and a half", "six and a half");
        check("<v.loud Ros>Hello</v> <i>Ros</i>", "Hello|Ros", "Hello Ros");
        check("one <00:01.000><c.y>two</c>", "one|two", "one two");
        check("R&amp;D at 13&nbsp;kn", "R|D at 13|kn", "R&D at 13 kn");
        check("wind <5 kn and >3", "wind <5 kn and >3", "wind <5 kn and >3");
        check("{\\an8}up <b>there</b>", "up|there", "up there");
        check("AT&T & co; &bogus; &#176;", "AT&T & co; &bogus;", "AT&T & co; &bogus; °");
        check("[Music]", "", "[Music]");
        check("<", "<", "<");
    }
}
