//! Instrument logs: the formats that boats' instruments are recorded in, read into samples.
//!
//! A log's format is told by its content ([`sniff()`]); [`parse`] reads it, giving one [`Sample`] after the other to
//! a function, and at the end [`Parsed`]: the channels, what became of every record ([`Account`]), and what is
//! odd about its clocks ([`ClockReport`]). [`Minutes`] sums samples up by the minute, [`calibration`] compares two
//! channels of one quantity, [`wind`] computes true wind.
//!
//! Units are canonical ([`Quantity::unit`]). Wind angles are degrees off the bow, port negative; the notes' `0 to
//! 180` is their absolute value. Nothing here allocates for a sample, and memory stays bounded on any input.

pub mod account;
pub mod calibration;
pub mod channel;
pub mod clock;
pub mod gpx;
mod limited;
mod log;
pub mod minute;
mod n2k;
mod nmea0183;
mod note;
pub mod number;
mod pieces;
pub mod quantity;
mod signalk;
mod sniff;
pub mod stamp;
mod table;
pub mod wind;

pub use account::{Account, Refusal, Refused};
pub use channel::{Channel, ChannelId};
pub use clock::{ClockReport, Instant, TimeBasis};
pub use log::{Sample, Sink};
pub use minute::{Minute, Minutes};
pub use quantity::{Quantity, Reference};
pub use sniff::{HEAD, RECORDED, is_record, sniff};
pub use table::Column;

use std::fmt;
use std::io::{BufRead, BufReader, ErrorKind, Read};

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
    /// Tables: CSV, TSV.
    Table,
}

impl Kind {
    /// All of them, in order.
    pub const ALL: &'static [Kind] = &[Kind::Nmea0183, Kind::Nmea2000, Kind::SignalK, Kind::Gpx, Kind::Table];

    /// The name in the database and in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Nmea0183 => "nmea0183",
            Kind::Nmea2000 => "nmea2000",
            Kind::SignalK => "signalk",
            Kind::Gpx => "gpx",
            Kind::Table => "table",
        }
    }

    /// Looks one up by its name.
    pub fn from_name(name: &str) -> Option<Kind> {
        Self::ALL.iter().copied().find(|kind| kind.name() == name)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
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
    read_from(kind, Whole(bytes), hints, &mut log::Each(emit))
}

/// Reads a log from a stream, a piece at a time, in bounded memory.
///
/// Errors of the stream end the log where they happen, and the record there is refused as cut off.
pub fn read(kind: Kind, source: impl Read, hints: &Hints, sink: &mut impl Sink) -> Parsed {
    read_from(kind, Stream(source), hints, sink)
}

/// Bytes of a stream that are looked at together.
const PIECE: usize = 1 << 20;

/// Where a log comes from: in pieces that end with a line, or as a buffered stream.
trait Pieces: Sized {
    /// Hands the log over in pieces, each ending with a line's end where one is to be found.
    fn pieces(self, take: impl FnMut(&[u8]));

    /// The log as a stream.
    fn stream(self) -> impl BufRead;
}

struct Whole<'a>(&'a [u8]);

impl Pieces for Whole<'_> {
    fn pieces(self, mut take: impl FnMut(&[u8])) {
        take(self.0);
    }

    fn stream(self) -> impl BufRead {
        self.0
    }
}

struct Stream<R>(R);

impl<R: Read> Pieces for Stream<R> {
    fn pieces(mut self, mut take: impl FnMut(&[u8])) {
        let mut buffer = vec![0; PIECE];
        let mut held = 0;
        loop {
            match self.0.read(&mut buffer[held..]) {
                Ok(0) => break,
                Ok(read) => held += read,
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(_) => break,
            }
            if held < PIECE {
                continue;
            }
            // A line longer than a piece is cut wherever it can be; no format has such lines.
            let end = memchr::memrchr2(b'\n', b'\r', &buffer).map_or(PIECE, |end| end + 1);
            take(&buffer[..end]);
            buffer.copy_within(end.., 0);
            held -= end;
        }
        take(&buffer[..held]);
    }

    fn stream(self) -> impl BufRead {
        BufReader::with_capacity(64 * 1024, self.0)
    }
}

fn read_from(kind: Kind, source: impl Pieces, hints: &Hints, sink: &mut impl Sink) -> Parsed {
    match kind {
        Kind::Nmea0183 => {
            let mut reader = nmea0183::Reader::new(hints);
            source.pieces(|piece| reader.feed(piece, sink));
            reader.close()
        }
        Kind::Nmea2000 => {
            let mut reader = n2k::Reader::new(hints);
            source.pieces(|piece| reader.feed(piece, sink));
            reader.close()
        }
        Kind::SignalK => {
            let mut reader = signalk::Reader::new(hints);
            source.pieces(|piece| reader.feed(piece, sink));
            reader.close()
        }
        Kind::Gpx => gpx::read(source.stream(), hints, sink),
        Kind::Table => table::read(source.stream(), hints, sink),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sink that knows each channel before its first sample.
    struct Heard<'a>(&'a mut Vec<Sample>);

    impl Sink for Heard<'_> {
        fn channel(&mut self, id: ChannelId, channel: &Channel) {
            assert!(!channel.source.is_empty());
            assert!(self.0.iter().all(|sample| sample.channel.index() < id.index()));
        }

        fn sample(&mut self, sample: Sample) {
            self.0.push(sample);
        }
    }

    /// A stream that gives a few bytes at a time reads the same as the whole.
    #[test]
    fn streams_read_as_files_do() {
        struct Trickle<'a>(&'a [u8]);
        impl Read for Trickle<'_> {
            fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
                let length = self.0.len().min(into.len()).min(7777);
                into[..length].copy_from_slice(&self.0[..length]);
                self.0 = &self.0[length..];
                Ok(length)
            }
        }
        let mut nmea = b"junk\r\n".to_vec();
        nmea.extend(b"$WIMWV,57.5,R,13.0,N,A*26\r\n$INMTW,17.9,C*1B\r\n".repeat(60_000));
        let can = b"can0 09F10DCC#00FFFF7FE9FBFFFF\n".repeat(50_000);
        let delta = br#"{"updates":[{"values":[{"path":"navigation.speedThroughWater","value":3}]}]}"#;
        let deltas = [delta.as_slice(), b"\n"].concat().repeat(20_000);
        let table = [b"Time,AWS (kn)\n".as_slice(), &b"10:00,5\n".repeat(200_000)].concat();
        let gpx =
            format!("<gpx><trk>{}</trk></gpx>", "<trkseg><trkpt lat='1' lon='2'/></trkseg>".repeat(30_000));
        for (kind, bytes) in [
            (Kind::Nmea0183, nmea.as_slice()),
            (Kind::Nmea2000, &can),
            (Kind::SignalK, &deltas),
            (Kind::Table, &table),
            (Kind::Gpx, gpx.as_bytes()),
        ] {
            assert!(bytes.len() > PIECE, "{kind}");
            assert_eq!(sniff(bytes, &[]), Some(kind));
            let (mut whole, mut pieces) = (Vec::new(), Vec::new());
            let hints = Hints::default();
            let of_whole = parse(kind, bytes, &hints, &mut |sample| whole.push(sample));
            let of_pieces = read(kind, Trickle(bytes), &hints, &mut Heard(&mut pieces));
            assert_eq!(of_whole.account, of_pieces.account, "{kind}");
            assert!(whole == pieces && !whole.is_empty(), "{kind}");
        }
    }

    #[test]
    fn names_lead_back() {
        for &kind in Kind::ALL {
            assert_eq!(Kind::from_name(kind.name()), Some(kind));
        }
    }
}
