//! One line of a CAN dump: which message, from whom, its bytes, and a time in front.

use crate::instrument::account::Refusal;
use crate::instrument::nmea0183::cut::hex;
use crate::instrument::number;
use crate::instrument::stamp::{self, Stamp};

/// Bytes that one message in parts can have: 6 in the first frame, 7 in each of 31 more.
pub(super) const MESSAGE_MAX: usize = 223;

/// A frame, or a message already put together.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    /// Parameter group number.
    pub(super) pgn: u32,
    /// The sender's address on the bus.
    pub(super) source: u8,
    /// Time in front.
    pub(super) stamp: Option<Stamp>,
    bytes: [u8; MESSAGE_MAX],
    length: usize,
}

impl Frame {
    /// Its bytes.
    pub(super) fn data(&self) -> &[u8] {
        &self.bytes[..self.length]
    }

    fn new(pgn: u32, source: u8, stamp: Option<Stamp>) -> Frame {
        Frame { pgn, source, stamp, bytes: [0; MESSAGE_MAX], length: 0 }
    }

    fn push(&mut self, byte: u8) -> Result<(), Refusal> {
        *self.bytes.get_mut(self.length).ok_or(Refusal::TooLong)? = byte;
        self.length += 1;
        Ok(())
    }
}

/// Reads a line in any of the four shapes; [`Refusal::Junk`] where it has none of them.
pub(super) fn read(line: &[u8]) -> Result<Frame, Refusal> {
    match line.first() {
        Some(b'0'..=b'9') => plain(line),
        _ => dump(line),
    }
}

/// `2024-07-19-23:24:46.782,3,127257,60,255,8,00,ff,7f,1b,00,21,05,ff`: time, priority, PGN, source, destination,
/// length, bytes. Canboat's "plain" format.
fn plain(line: &[u8]) -> Result<Frame, Refusal> {
    let mut fields = line.split(|&b| b == b',').map(<[u8]>::trim_ascii);
    let mut next = || fields.next().ok_or(Refusal::Junk);
    let stamp = stamp::read(next()?).ok_or(Refusal::Junk)?;
    let mut whole = |most: i64| -> Result<i64, Refusal> {
        match number::decimal(next()?) {
            Some(n) if n.decimals == 0 && (0..=most).contains(&n.mantissa) => Ok(n.mantissa),
            _ => Err(Refusal::Junk),
        }
    };
    whole(7)?;
    let pgn = whole(0x3_FFFF)?;
    let source = whole(255)?;
    whole(255)?;
    let length = whole(MESSAGE_MAX as i64)? as usize;
    let mut frame = Frame::new(pgn as u32, source as u8, Some(stamp));
    for field in fields {
        let [high, low] = field else { return Err(Refusal::Malformed) };
        frame.push(hex(*high, *low).ok_or(Refusal::Malformed)?)?;
    }
    if frame.length < length { Err(Refusal::Truncated) } else { Ok(frame) }
}

/// The shapes of candump:
/// `(1502984866.421993) slcan0 09F10DCC#00FFFF7FE9FBFFFF`,
/// `can0  09FD0207   [8]  00 00 …` and `<0x09f80100> [8] 6f 7d …`, a time in brackets before each or not.
fn dump(line: &[u8]) -> Result<Frame, Refusal> {
    let mut rest = line;
    let mut stamp = None;
    if let [b'(', inside @ ..] = rest {
        let end = memchr::memchr(b')', inside).ok_or(Refusal::Junk)?;
        stamp = stamp::read(inside[..end].trim_ascii());
        rest = inside[end + 1..].trim_ascii_start();
    }
    // At most the interface and a direction stand before the identifier.
    for _ in 0..4 {
        let end = rest.iter().position(u8::is_ascii_whitespace).unwrap_or(rest.len());
        let (token, tail) = rest.split_at(end);
        if let Some((id, data)) = joined(token) {
            return with_data(identified(id, stamp)?, data);
        }
        if let Some(id) = identifier(token) {
            return spaced(identified(id, stamp)?, tail.trim_ascii_start());
        }
        rest = tail.trim_ascii_start();
    }
    Err(Refusal::Junk)
}

/// `09F10DCC#00FFFF…`, as one word.
fn joined(token: &[u8]) -> Option<(u32, &[u8])> {
    let hash = memchr::memchr(b'#', token)?;
    Some((hexadecimal(&token[..hash])?, &token[hash + 1..]))
}

/// `09FD0207` or `<0x09f80100>`.
fn identifier(token: &[u8]) -> Option<u32> {
    match token {
        [b'<', b'0', b'x', id @ .., b'>'] => hexadecimal(id),
        id => hexadecimal(id),
    }
}

/// The eight digits of a 29-bit identifier. The three of an 11-bit one are not of this bus.
fn hexadecimal(digits: &[u8]) -> Option<u32> {
    let (pairs, []) = digits.as_chunks::<2>() else { return None };
    if pairs.len() != 4 {
        return None;
    }
    pairs.iter().try_fold(0u32, |id, &[high, low]| Some(id << 8 | u32::from(hex(high, low)?)))
}

/// Takes an identifier apart: three bits of priority, data page, format, specific, source. Where the format is
/// below 240 the specific byte is a destination and no part of the PGN. From memory; the values decoded with it
/// are those of canboat's tests.
fn identified(id: u32, stamp: Option<Stamp>) -> Result<Frame, Refusal> {
    if id > 0x1FFF_FFFF {
        // Bits beyond the identifier mark an error frame.
        return Err(Refusal::Malformed);
    }
    let whole = id >> 8 & 0x3_FFFF;
    let pgn = if id >> 16 & 0xFF < 240 { whole & 0x3_FF00 } else { whole };
    Ok(Frame::new(pgn, id as u8, stamp))
}

fn with_data(mut frame: Frame, data: &[u8]) -> Result<Frame, Refusal> {
    let (pairs, rest) = data.as_chunks::<2>();
    for &[high, low] in pairs {
        frame.push(hex(high, low).ok_or(Refusal::Malformed)?)?;
    }
    if !rest.is_empty() { Err(Refusal::Truncated) } else { only_eight(frame) }
}

fn spaced(mut frame: Frame, rest: &[u8]) -> Result<Frame, Refusal> {
    let [b'[', length @ b'0'..=b'8', b']', data @ ..] = rest else { return Err(Refusal::Junk) };
    let length = usize::from(length - b'0');
    for token in data.split(u8::is_ascii_whitespace).filter(|token| !token.is_empty()).take(length) {
        let [high, low] = token else { return Err(Refusal::Malformed) };
        frame.push(hex(*high, *low).ok_or(Refusal::Malformed)?)?;
    }
    if frame.length < length { Err(Refusal::Truncated) } else { Ok(frame) }
}

fn only_eight(frame: Frame) -> Result<Frame, Refusal> {
    if frame.length > 8 { Err(Refusal::TooLong) } else { Ok(frame) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The shapes are those of canboat's `samples/` @01d0dc3, the bytes of its tests.
    #[test]
    fn four_shapes() {
        for (line, pgn, source, first) in [
            ("(1502984866.421993) slcan0 09F10DCC#00FFFF7FE9FBFFFF", 127_245, 0xCC, 0x00),
            ("  can0  09FD0207   [8]  01 00 00 00 00 fa ff ff", 130_306, 0x07, 0x01),
            ("<0x09f80100> [8] 6f 7d 00 00 00 00 00 00", 129_025, 0x00, 0x6F),
            ("(2024-07-19 23:24:46.782000) can0 09FD0207 [8] 02 00 00 00 00 fa ff ff", 130_306, 0x07, 0x02),
            ("2024-07-19-23:24:46.782,3,127257,60,255,8,00,ff,7f,1b,00,21,05,ff", 127_257, 60, 0x00),
        ] {
            let frame = read(line.trim_ascii().as_bytes()).unwrap_or_else(|why| panic!("{line}: {why}"));
            assert_eq!((frame.pgn, frame.source, frame.data()[0]), (pgn, source, first), "{line}");
            assert_eq!(frame.data().len(), 8);
        }
        // A format below 240 is addressed to someone, which is no part of the PGN.
        assert_eq!(read(b"can0 18EAFFFE [3] 00 EE 00").map(|f| f.pgn), Ok(59_904));
    }

    #[test]
    fn broken_lines() {
        for (line, why) in [
            ("can0 7DF#0201", Refusal::Junk),
            ("can0 09F10DCC#00FFF", Refusal::Truncated),
            ("can0 09F10DCC#0G", Refusal::Malformed),
            ("can0 09F10DCC [8] 00 FF", Refusal::Truncated),
            ("can0 29F10DCC#00", Refusal::Malformed),
            ("can0 09F10DCC#00112233445566778899", Refusal::TooLong),
            ("2024-07-19-23:24:46.782,3,127257,60,255,8,00,ff", Refusal::Truncated),
            ("2024-07-19-23:24:46.782,3,127257,300,255,8,00", Refusal::Junk),
            ("(never", Refusal::Junk),
            ("a note about the can", Refusal::Junk),
            ("3 of us aboard, 2 seasick", Refusal::Junk),
        ] {
            assert_eq!(read(line.as_bytes()).map(|f| f.pgn), Err(why), "{line}");
        }
    }
}
