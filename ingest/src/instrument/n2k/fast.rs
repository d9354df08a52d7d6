//! Messages of more than eight bytes, put together from their frames ("fast packets").
//!
//! The first byte of each frame counts: three bits tell the message, five its frame. Frame 0 then has the length
//! and six bytes, each further one seven. From memory; checked with messages of canboat's tests.

use super::frame::MESSAGE_MAX;

/// Messages that may be under way at a time: every sender of a busy bus at once, and then some.
const UNDER_WAY_MAX: usize = 64;

/// The groups read here that come in parts.
pub(super) fn comes_in_parts(pgn: u32) -> bool {
    matches!(pgn, 127_489 | 127_506 | 128_275 | 129_029)
}

#[derive(Clone, Debug)]
struct Message {
    pgn: u32,
    source: u8,
    number: u8,
    length: usize,
    /// Which frames are there, a bit for each.
    frames: u32,
    bytes: [u8; MESSAGE_MAX],
    /// Line of its first frame.
    line: u64,
}

/// What came of a frame.
#[derive(Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "made once a message and taken apart at once; a box would allocate"
)]
pub(super) enum Outcome {
    /// Its message is not whole yet.
    Waits,
    /// Its message is whole.
    Whole { bytes: [u8; MESSAGE_MAX], length: usize, frames: u32 },
    /// It belongs to no message that was begun.
    Stray,
}

/// Frames of a message that never became whole, and the line of the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lost {
    pub(super) pgn: u32,
    pub(super) frames: u32,
    pub(super) line: u64,
}

/// Messages under way.
#[derive(Debug, Default)]
pub(super) struct Parts {
    under_way: Vec<Message>,
}

impl Parts {
    /// Takes a frame in. A message that it pushes out, unfinished, goes to `lost`.
    pub(super) fn take(
        &mut self,
        pgn: u32,
        source: u8,
        data: &[u8],
        line: u64,
        mut lost: impl FnMut(Lost),
    ) -> Outcome {
        let Some((&count, rest)) = data.split_first() else { return Outcome::Stray };
        let (number, frame) = (count >> 5, usize::from(count & 0x1F));
        let found =
            self.under_way.iter().position(|m| m.pgn == pgn && m.source == source && m.number == number);
        if frame == 0 {
            let Some((&length, rest)) = rest.split_first() else { return Outcome::Stray };
            if usize::from(length) > MESSAGE_MAX {
                return Outcome::Stray;
            }
            if let Some(found) = found {
                lost(self.under_way.swap_remove(found).lost());
            } else if self.under_way.len() >= UNDER_WAY_MAX {
                lost(self.under_way.remove(0).lost());
            }
            let length = usize::from(length);
            let mut message =
                Message { pgn, source, number, length, frames: 1, bytes: [0xFF; MESSAGE_MAX], line };
            let held = rest.len().min(6);
            message.bytes[..held].copy_from_slice(&rest[..held]);
            self.under_way.push(message);
            return self.whole(self.under_way.len() - 1);
        }
        let Some(found) = found else { return Outcome::Stray };
        let message = &mut self.under_way[found];
        let start = 6 + (frame - 1) * 7;
        if start >= message.length || message.frames & 1 << frame != 0 {
            return Outcome::Stray;
        }
        message.frames |= 1 << frame;
        let held = rest.len().min(7).min(MESSAGE_MAX - start);
        message.bytes[start..start + held].copy_from_slice(&rest[..held]);
        self.whole(found)
    }

    fn whole(&mut self, at: usize) -> Outcome {
        let message = &self.under_way[at];
        let further = message.length.saturating_sub(6).div_ceil(7) as u32;
        if message.frames.count_ones() < 1 + further {
            return Outcome::Waits;
        }
        let message = self.under_way.swap_remove(at);
        Outcome::Whole { bytes: message.bytes, length: message.length, frames: 1 + further }
    }

    /// Gives up the messages that are still not whole.
    pub(super) fn close(self) -> impl Iterator<Item = Lost> {
        self.under_way.into_iter().map(|message| message.lost())
    }
}

impl Message {
    fn lost(&self) -> Lost {
        Lost { pgn: self.pgn, frames: self.frames.count_ones(), line: self.line }
    }
}
