//! NMEA 2000 as text: dumps of its CAN frames, a line each.
//!
//! ```text
//! (1502984866.421993) slcan0 09F10DCC#00FFFF7FE9FBFFFF     time, interface, identifier, bytes
//! can0  09FD0207   [8]  01 00 00 00 00 fa ff ff            interface, identifier, length, bytes
//! <0x09f80100> [8] 6f 7d 00 00 00 00 00 00                 identifier, length, bytes
//! 2024-07-19-23:24:46.782,3,127257,60,255,8,00,ff,…        time, priority, PGN, source, destination, length, bytes
//! ```
//!
//! A channel's source is `n2k:` with the sender's address and the PGN. Addresses may be dealt anew when the bus is
//! switched on; nothing here follows a device through that. Shapes and fields: canboat @01d0dc3.

mod fast;
mod frame;
mod group;

use super::account::{Kindred, Refusal};
use super::channel::{SmallMap, Source};
use super::log::{Log, Sink, Values};
use super::pieces::Pieces;
use super::{Kind, Parsed};
use crate::Hints;
use fast::{Lost, Outcome, Parts};

/// Reads dumps of NMEA 2000 as they come.
#[derive(Debug)]
pub(super) struct Reader {
    log: Log,
    values: Values,
    parts: Parts,
    senders: SmallMap,
    sources: Vec<Source>,
    pieces: Pieces,
}

impl Reader {
    pub(super) fn new(hints: &Hints) -> Self {
        Self {
            log: Log::new(hints),
            values: Values::new(),
            parts: Parts::default(),
            senders: SmallMap::default(),
            sources: Vec::new(),
            pieces: Pieces::default(),
        }
    }

    /// Reads a piece of the log, which ends with a line's end if it can.
    pub(super) fn feed(&mut self, bytes: &[u8], sink: &mut impl Sink) {
        for line in self.pieces.cut(bytes) {
            self.log.line += u64::from(line.begins);
            self.line(line.bytes, line.offset, sink);
        }
    }

    fn line(&mut self, line: &[u8], offset: u64, sink: &mut impl Sink) {
        self.log.clock.begin();
        let line = line.trim_ascii();
        match line.first() {
            None => return self.log.ledger.blank(),
            Some(b'#') => return self.log.ledger.ignored(Kindred::new(b"#")),
            Some(_) => {}
        }
        let frame = match frame::read(line) {
            Ok(frame) => frame,
            Err(why) => return self.log.ledger.refused(Kindred::NONE, why, self.log.line),
        };
        if let Some(stamp) = frame.stamp {
            self.log.clock.stamp(stamp, self.log.line);
        }
        let kind = kind(frame.pgn);
        if !group::is_known(frame.pgn) {
            return self.log.ledger.ignored(kind);
        }
        if frame.data().len() > 8 || !fast::comes_in_parts(frame.pgn) {
            return self.message(frame.pgn, frame.source, frame.data(), 1, offset, sink);
        }
        let (ledger, line) = (&mut self.log.ledger, self.log.line);
        let outcome = self.parts.take(frame.pgn, frame.source, frame.data(), line, |lost| {
            for _ in 0..lost.frames {
                ledger.refused(self::kind(lost.pgn), Refusal::Incomplete, lost.line);
            }
        });
        match outcome {
            Outcome::Waits => {}
            Outcome::Stray => self.log.ledger.refused(kind, Refusal::Incomplete, self.log.line),
            Outcome::Whole { bytes, length, frames } => {
                self.message(frame.pgn, frame.source, &bytes[..length], frames, offset, sink);
            }
        }
    }

    /// Reads a whole message, which `frames` lines were needed for; all of them fare as it does.
    fn message(&mut self, pgn: u32, source: u8, data: &[u8], frames: u32, offset: u64, sink: &mut impl Sink) {
        let kind = kind(pgn);
        self.values.clear();
        let outcome = match self.source(pgn, source) {
            Some(source) => group::read(pgn, data, &mut self.values, &mut self.log.channels)
                .and_then(|()| self.log.take(kind, source, &self.values, offset, sink)),
            None => Err(Refusal::TooMany),
        };
        for _ in 0..frames {
            match outcome {
                Ok(()) => self.log.ledger.used(kind),
                Err(why) => self.log.ledger.refused(kind, why, self.log.line),
            }
        }
    }

    fn source(&mut self, pgn: u32, source: u8) -> Option<Source> {
        let key = (u64::from(pgn) << 8 | u64::from(source)) + 1;
        if let Some(number) = self.senders.get(key) {
            return self.sources.get(number as usize).copied();
        }
        let made = self.log.channels.source(&format!("n2k:{source}/{pgn}"))?;
        self.senders.insert(key, self.sources.len() as u32);
        self.sources.push(made);
        Some(made)
    }

    pub(super) fn close(mut self) -> Parsed {
        for Lost { pgn, frames, line } in self.parts.close() {
            for _ in 0..frames {
                self.log.ledger.refused(kind(pgn), Refusal::Incomplete, line);
            }
        }
        self.log.close(Kind::Nmea2000)
    }
}

/// A PGN's digits, as the account names it.
fn kind(pgn: u32) -> Kindred {
    let mut digits = [0u8; 6];
    let mut rest = pgn;
    for digit in digits.iter_mut().rev() {
        *digit = b'0' + (rest % 10) as u8;
        rest /= 10;
    }
    let start = digits.iter().position(|&d| d != b'0').unwrap_or(5);
    Kindred::new(&digits[start..])
}

/// Whether a line is a frame.
pub(super) fn is_frame(line: &[u8]) -> bool {
    frame::read(line.trim_ascii()).is_ok()
}

#[cfg(test)]
mod tests;
