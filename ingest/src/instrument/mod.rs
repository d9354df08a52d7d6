//! Instrument logs: the formats that boats' instruments are recorded in, read into samples.
//!
//! A log's format is told by its content ([`sniff`]); [`parse`] reads it, giving one [`Sample`] after the other to
//! a function, and at the end [`Parsed`]: the channels, what became of every record ([`Account`]), and what is
//! odd about its clocks ([`ClockReport`]). [`Minutes`] sums samples up by the minute, [`calibration`] compares two
//! channels of one quantity, [`wind`] computes true wind.
//!
//! Units are canonical ([`Quantity::unit`]). Wind angles are degrees off the bow, port negative; the notes' `0 to
//! 180` is their absolute value. Nothing here allocates for a sample, and memory stays bounded on any input.

pub mod account;
pub mod channel;
pub mod clock;
pub mod gpx;
mod limited;
mod log;
pub mod minute;
mod n2k;
mod nmea0183;
pub mod number;
pub mod quantity;
mod signalk;
pub mod stamp;
pub mod wind;

pub use account::{Account, Refusal, Refused};
pub use channel::{Channel, ChannelId};
pub use clock::{ClockReport, Instant, TimeBasis};
pub use log::Sample;
pub use minute::{Minute, Minutes};
pub use quantity::{Quantity, Reference};

use crate::Hints;
use crate::found::Notice;

/// A format of instrument logs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// NMEA 0183 sentences.
    Nmea0183,
    /// NMEA 2000 frames as text.
    Nmea2000,
    /// Signal K deltas.
    SignalK,
    /// Tracks of GPX files.
    Gpx,
}

/// What is known of a log after reading it.
#[derive(Clone, Debug)]
pub struct Parsed {
    /// Its format.
    pub kind: Kind,
    /// Its channels; a sample's [`ChannelId`] is an index into them.
    pub channels: Vec<Channel>,
    /// What became of every record.
    pub account: Account,
    /// What was seen of its clocks.
    pub clock: ClockReport,
    /// Its tracks, where it is a track file.
    pub tracks: Vec<gpx::Track>,
    /// What the skipper should know.
    pub notices: Vec<Notice>,
}

/// Reads a log that is in memory.
pub fn parse(kind: Kind, bytes: &[u8], hints: &Hints, emit: &mut impl FnMut(Sample)) -> Parsed {
    match kind {
        Kind::Nmea0183 => {
            let mut reader = nmea0183::Reader::new(hints);
            reader.feed(bytes, emit);
            reader.close()
        }
        Kind::Nmea2000 => {
            let mut reader = n2k::Reader::new(hints);
            reader.feed(bytes, emit);
            reader.close()
        }
        Kind::SignalK => {
            let mut reader = signalk::Reader::new(hints);
            reader.feed(bytes, emit);
            reader.close()
        }
        Kind::Gpx => gpx::read(bytes, hints, emit),
    }
}
