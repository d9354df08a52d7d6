//! The words, numbers and signs of a line, for finding dates and times in it.

use std::borrow::Cow;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Number,
    Word,
    Mark,
}

/// A token of a line: a number, a word (apostrophes inside), or a single sign.
#[derive(Clone, Debug)]
pub(super) struct Tok<'a> {
    pub text: &'a str,
    pub lower: Cow<'a, str>,
    pub kind: Kind,
    pub start: usize,
    /// Whether nothing stands between it and the one before.
    pub glued: bool,
}

impl Tok<'_> {
    pub fn end(&self) -> usize {
        self.start + self.text.len()
    }

    /// Its value, where it is a number of `digits` digits.
    pub fn number(&self, digits: std::ops::RangeInclusive<usize>) -> Option<u32> {
        (self.kind == Kind::Number && digits.contains(&self.text.len())).then(|| self.text.parse().ok())?
    }

    pub fn is(&self, words: &[&str]) -> bool {
        words.contains(&self.lower.as_ref())
    }
}

pub(super) fn cut(text: &str) -> Vec<Tok<'_>> {
    let mut out: Vec<Tok<'_>> = Vec::new();
    let mut chars = text.char_indices().peekable();
    while let Some((start, c)) = chars.next() {
        if c.is_whitespace() {
            continue;
        }
        let kind = match c {
            '0'..='9' => Kind::Number,
            c if c.is_alphabetic() => Kind::Word,
            _ => Kind::Mark,
        };
        let mut end = start + c.len_utf8();
        if kind != Kind::Mark {
            while let Some(&(at, c)) = chars.peek() {
                let goes_on = match kind {
                    Kind::Number => c.is_ascii_digit(),
                    _ => {
                        let inside = text[at + c.len_utf8()..].starts_with(char::is_alphabetic);
                        c.is_alphabetic() || (matches!(c, '\'' | '’') && inside)
                    }
                };
                if !goes_on {
                    break;
                }
                end = at + c.len_utf8();
                chars.next();
            }
        }
        let glued = out.last().is_some_and(|last| last.end() == start);
        let text = &text[start..end];
        out.push(Tok { text, lower: lower(text), kind, start, glued });
    }
    out
}

/// In lower case, with a plain apostrophe.
fn lower(text: &str) -> Cow<'_, str> {
    if text.bytes().all(|b| b.is_ascii() && !b.is_ascii_uppercase()) {
        Cow::Borrowed(text)
    } else {
        Cow::Owned(text.to_lowercase().replace('’', "'"))
    }
}

/// Whether a token is one of these signs.
pub(super) fn is_mark(tok: Option<&Tok<'_>>, marks: &[&str]) -> bool {
    tok.is_some_and(|t| t.kind == Kind::Mark && marks.contains(&t.text))
}
