//! What stands on a line: a time in front, tag blocks, sentences, and junk between them.

use memchr::{memchr3, memchr3_iter};

use crate::instrument::account::Refusal;
use crate::instrument::stamp::{self, Stamp};

/// Bytes after which what begins like a sentence is none. The standard allows 82, transducer lists go beyond.
pub(super) const SENTENCE_MAX: usize = 1024;
/// Bytes after which what begins like a tag block is none; the standard allows 80.
const TAG_BLOCK_MAX: usize = 512;

/// A part of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Part<'a> {
    /// A time in front of a sentence, or in its tag block.
    Stamp(Stamp),
    /// A sentence with a right checksum: what stands between `$` and `*`, its first byte in the line.
    Sentence { body: &'a [u8], at: usize, encapsulated: bool },
    /// A sentence without a checksum that ends where the line does.
    Unchecked { body: &'a [u8], at: usize, encapsulated: bool },
    /// A sentence that is not whole or not right.
    Wrong { body: &'a [u8], why: Refusal },
    /// Bytes that are nothing of this.
    Junk,
}

/// The XOR of all bytes.
#[inline]
pub(super) fn checksum(bytes: &[u8]) -> u8 {
    let (words, rest) = bytes.as_chunks::<8>();
    let folded = words.iter().fold(0u64, |sum, word| sum ^ u64::from_le_bytes(*word));
    let folded = folded ^ (folded >> 32);
    let folded = folded ^ (folded >> 16);
    let folded = folded ^ (folded >> 8);
    rest.iter().fold(folded as u8, |sum, b| sum ^ b)
}

/// Every byte as two hexadecimal digits, as nearly all senders write them.
const WRITTEN: [[u8; 2]; 256] = {
    let mut written = [[0; 2]; 256];
    let mut n = 0;
    while n < 256 {
        written[n] = [b"0123456789ABCDEF"[n >> 4], b"0123456789ABCDEF"[n & 15]];
        n += 1;
    }
    written
};

/// Whether two hexadecimal digits of either case are the checksum of a body. The digits of a checksum are as good as drawn
/// by lot: they are compared as they are mostly written, which a processor foresees, and read only where that fails.
#[inline]
fn is_checksum(high: u8, low: u8, body: &[u8]) -> bool {
    let sum = checksum(body);
    WRITTEN[usize::from(sum)] == [high, low] || hex(high, low) == Some(sum)
}

/// Two hexadecimal digits of either case.
#[inline]
pub(in crate::instrument) fn hex(high: u8, low: u8) -> Option<u8> {
    let digit = |b: u8| match b {
        b'0'..=b'9' => Some(b - b'0'),
        b'A'..=b'F' => Some(b - b'A' + 10),
        b'a'..=b'f' => Some(b - b'a' + 10),
        _ => None,
    };
    Some(digit(high)? << 4 | digit(low)?)
}

/// Reads a line that is one whole sentence and nothing else, the usual case.
#[inline]
pub(super) fn whole(line: &[u8]) -> Option<&[u8]> {
    if let [b'$', body @ .., b'*', high, low] = line
        && is_checksum(*high, *low, body)
    {
        return Some(body);
    }
    None
}

/// Cuts any line into its parts, from left to right. `whole_line` is false where the source ends without a line
/// break, so that a sentence there may be cut off.
pub(super) fn parts<'a>(line: &'a [u8], whole_line: bool, mut found: impl FnMut(Part<'a>)) {
    let mut done = 0;
    for start in memchr3_iter(b'$', b'!', b'\\', line) {
        if start < done {
            continue;
        }
        let before = line[done..start].trim_ascii();
        let end =
            if line[start] == b'\\' { tag_block(line, start) } else { sentence(line, start, whole_line) };
        let Some((part, end)) = end else { continue };
        if !before.is_empty() {
            found(stamp_in(before).map_or(Part::Junk, Part::Stamp));
        }
        if let Some(part) = part {
            found(part);
        }
        done = end;
    }
    if line[done..].iter().any(|b| !b.is_ascii_whitespace()) {
        found(Part::Junk);
    }
}

/// A time that stands in front of a sentence, in whichever brackets, quotes and separators.
fn stamp_in(text: &[u8]) -> Option<Stamp> {
    /// The longest time there is, with room for its dressing.
    const STAMP_MAX: usize = 64;
    if text.len() > STAMP_MAX {
        return None;
    }
    let first = text.iter().position(u8::is_ascii_digit)?;
    let last = text.iter().rposition(u8::is_ascii_alphanumeric)?;
    // Words in front ("received 12:00:00") would make any number a time.
    if text[..first].iter().any(u8::is_ascii_alphanumeric) {
        return None;
    }
    stamp::read(text.get(first..=last)?)
}

/// A tag block `\s:name,c:1778321472*hh\`: its time, and where it ends.
fn tag_block(line: &[u8], start: usize) -> Option<(Option<Part<'_>>, usize)> {
    let inside = &line[start + 1..line.len().min(start + TAG_BLOCK_MAX)];
    let length = memchr::memchr(b'\\', inside)?;
    let end = start + length + 2;
    let [body @ .., b'*', high, low] = &inside[..length] else { return None };
    if hex(*high, *low) != Some(checksum(body)) {
        return Some((Some(Part::Junk), end));
    }
    let time = body.split(|&b| b == b',').find_map(|field| field.strip_prefix(b"c:")).and_then(stamp::read);
    Some((time.map(Part::Stamp), end))
}

/// A sentence from its `$` or `!`, and where it ends; `None` where none begins here.
fn sentence(line: &[u8], start: usize, whole_line: bool) -> Option<(Option<Part<'_>>, usize)> {
    let rest = &line[start + 1..line.len().min(start + SENTENCE_MAX)];
    let encapsulated = line[start] == b'!';
    if !looks_like_an_address(rest) {
        return None;
    }
    let stop = memchr3(b'*', b'$', b'\r', rest).unwrap_or(rest.len());
    let body = &rest[..stop];
    let after = start + 1 + stop;
    match rest.get(stop) {
        Some(b'*') => {
            let (Some(&high), Some(&low)) = (rest.get(stop + 1), rest.get(stop + 2)) else {
                return Some((
                    Some(Part::Wrong { body, why: Refusal::Truncated }),
                    line.len().min(after + 2),
                ));
            };
            Some(match hex(high, low) {
                Some(sum) if sum == checksum(body) => {
                    (Some(Part::Sentence { body, at: start, encapsulated }), after + 3)
                }
                Some(_) => (Some(Part::Wrong { body, why: Refusal::Checksum }), after + 3),
                None => (Some(Part::Wrong { body, why: Refusal::Truncated }), after + 1),
            })
        }
        Some(b'$') => Some((Some(Part::Wrong { body, why: Refusal::Truncated }), after)),
        _ if after < line.len() && line[after] != b'\r' => {
            Some((Some(Part::Wrong { body, why: Refusal::TooLong }), after))
        }
        _ if whole_line => Some((Some(Part::Unchecked { body, at: start, encapsulated }), after)),
        _ => Some((Some(Part::Wrong { body, why: Refusal::Truncated }), after)),
    }
}

/// Whether bytes begin like a sentence: letters and digits up to a comma (or, cut off, up to the end).
fn looks_like_an_address(rest: &[u8]) -> bool {
    let length = rest.iter().take(12).take_while(|b| b.is_ascii_uppercase() || b.is_ascii_digit()).count();
    (3..12).contains(&length) && matches!(rest.get(length), Some(b',' | b'*' | b'$') | None)
}
