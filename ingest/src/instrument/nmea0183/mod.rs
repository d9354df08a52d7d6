//! NMEA 0183: sentences on lines, plain or with a time in front, in tag blocks, with junk between them.
//!
//! ```text
//! $WIMWV,57.5,R,13.0,N,A*26
//!  |  |  '----fields-----' '- XOR of all bytes between $ and *, two hexadecimal digits of either case
//!  |  '- sentence
//!  '- talker
//! 2026-05-09T10:11:12.345Z $WIMWV,57.5,R,13.0,N,A*26
//! \s:mast,c:1778321472*31\$WIMWV,57.5,R,13.0,N,A*26
//! ```
//!
//! Every sentence's checksum is verified; one without is refused, unless no sentence in the log's first part has
//! one. A right checksum does not make the content right: a void status is honoured, values must lie in their
//! quantity's range, and one value sent in two units must be the same in both (within 2 % and rounding).
//! Source: gpsd `www/NMEA.adoc` @46977fa; the standard itself (IEC 61162-1) is sold and was not read.

pub(super) mod cut;
mod fields;
mod gear;
mod motion;
mod position;
pub(super) mod sea;
mod wind;

use cut::Part;
use fields::Fields;
use memchr::memchr_iter;

use super::account::{Kindred, Refusal};
use super::channel::Source;
use super::log::{Log, Sink, Told, Values};
use super::stamp::Stamp;
use super::{Kind, Parsed};
use crate::Hints;

/// Bytes at a log's head that are looked through for its first date and for whether it has checksums at all.
const HEAD: usize = 256 * 1024;

/// Reads NMEA 0183 as it comes.
#[derive(Debug)]
pub(super) struct Reader {
    log: Log,
    values: Values,
    begun: bool,
    unchecked: bool,
    offset: u64,
    within_line: bool,
}

impl Reader {
    pub(super) fn new(hints: &Hints) -> Self {
        Self {
            log: Log::new(hints),
            values: Values::new(),
            begun: false,
            unchecked: false,
            offset: 0,
            within_line: false,
        }
    }

    /// Reads a piece of the log, which ends with a line's end if it can.
    pub(super) fn feed(&mut self, bytes: &[u8], sink: &mut impl Sink) {
        if !self.begun {
            self.begun = true;
            self.look_ahead(&bytes[..bytes.len().min(HEAD)]);
        }
        let mut start = 0;
        for end in memchr_iter(b'\n', bytes) {
            self.line(&bytes[start..end], start, true, sink);
            self.within_line = false;
            start = end + 1;
        }
        if start < bytes.len() {
            self.line(&bytes[start..], start, false, sink);
            self.within_line = true;
        }
        self.offset += bytes.len() as u64;
    }

    pub(super) fn close(self) -> Parsed {
        self.log.close(Kind::Nmea0183)
    }

    /// Looks for the log's first date, and for whether its sentences have checksums.
    fn look_ahead(&mut self, head: &[u8]) {
        let (mut checked, mut unchecked) = (0, 0);
        let mut seed: Option<(Option<Stamp>, i64, i64)> = None;
        let mut first_time = None;
        let mut values = Values::new();
        for line in head.split(|&b| b == b'\n') {
            let mut stamp = None;
            cut::parts(line.trim_ascii_end(), true, |part| {
                let body = match part {
                    Part::Stamp(found) => {
                        stamp = Some(found);
                        return;
                    }
                    Part::Sentence { body, encapsulated: false, .. } => {
                        checked += 1;
                        body
                    }
                    Part::Unchecked { body, encapsulated: false, .. } => {
                        unchecked += 1;
                        body
                    }
                    _ => return,
                };
                if seed.is_some() {
                    return;
                }
                values.clear();
                let told = address(body).and_then(|(_, formatter, rest)| {
                    let fields = &mut Fields::new(rest);
                    let read = match formatter {
                        b"RMC" => position::rmc(fields, &mut values),
                        b"ZDA" => position::zda(fields, &mut values),
                        b"GGA" => position::gga(fields, &mut values),
                        b"GLL" => position::gll(fields, &mut values),
                        _ => return None,
                    };
                    read.ok().and(values.told)
                });
                match told {
                    Some(Told::Dated(day, time)) => seed = Some((stamp, day, time)),
                    Some(Told::TimeOfDay(time)) => first_time = first_time.or(Some(time)),
                    None => {}
                }
            });
        }
        self.unchecked = checked == 0 && unchecked > 0;
        if let Some((stamp, day, time)) = seed {
            self.log.clock.seed(stamp, day, time, first_time);
        }
    }

    #[inline]
    fn line(&mut self, line: &[u8], start: usize, whole_line: bool, sink: &mut impl Sink) {
        if !self.within_line {
            self.log.line += 1;
        }
        self.log.clock.begin();
        let line = match line {
            [line @ .., b'\r'] => line,
            line => line,
        };
        match cut::whole(line) {
            Some(body) => self.sentence(body, self.offset + start as u64, sink),
            None => self.odd_line(line, start, whole_line, sink),
        }
    }

    #[inline(never)]
    fn odd_line(&mut self, line: &[u8], start: usize, whole_line: bool, sink: &mut impl Sink) {
        let line = line.trim_ascii_end();
        if line.is_empty() {
            return self.log.ledger.blank();
        }
        if line[0] == b'#' {
            return self.log.ledger.ignored(Kindred::new(b"#"));
        }
        let before = self.log.ledger.records;
        let mut junk = 0u32;
        let base = self.offset + start as u64;
        cut::parts(line, whole_line, |part| match part {
            Part::Stamp(stamp) => self.log.clock.stamp(stamp, self.log.line),
            Part::Junk => junk += 1,
            Part::Wrong { body, why } => self.log.ledger.refused(kind_of(body), why, self.log.line),
            Part::Sentence { body, encapsulated: true, .. }
            | Part::Unchecked { body, encapsulated: true, .. } => {
                let mut kind = *b"!...";
                let end = body.len().min(5);
                let formatter = &body[end.saturating_sub(3)..end];
                kind[1..1 + formatter.len()].copy_from_slice(formatter);
                self.log.ledger.ignored(Kindred::new(&kind));
            }
            Part::Sentence { body, at, .. } => self.sentence(body, base + at as u64, sink),
            Part::Unchecked { body, at, .. } => {
                if self.unchecked {
                    self.sentence(body, base + at as u64, sink);
                } else {
                    self.log.ledger.refused(kind_of(body), Refusal::NoChecksum, self.log.line);
                }
            }
        });
        if self.log.ledger.records == before {
            self.log.ledger.refused(Kindred::NONE, Refusal::Junk, self.log.line);
        } else {
            for _ in 0..junk {
                self.log.ledger.value_refused(Kindred::NONE, Refusal::Junk, self.log.line);
            }
        }
    }

    #[inline]
    fn sentence(&mut self, body: &[u8], offset: u64, sink: &mut impl Sink) {
        let Some((source, formatter, rest)) = address(body) else {
            return self.log.ledger.ignored(kind_of(body));
        };
        let kind = Kindred::new(formatter);
        let (values, channels) = (&mut self.values, &mut self.log.channels);
        values.clear();
        let fields = &mut Fields::new(rest);
        let read = match formatter {
            b"HDG" => motion::hdg(fields, values),
            b"MWV" => wind::mwv(fields, values),
            b"RMC" => position::rmc(fields, values),
            b"GGA" => position::gga(fields, values),
            b"GLL" => position::gll(fields, values),
            b"VTG" => motion::vtg(fields, values),
            b"VHW" => motion::vhw(fields, values),
            b"DPT" => sea::dpt(fields, values),
            b"DBT" => sea::dbt(fields, values),
            b"MTW" => sea::mtw(fields, values),
            b"XDR" => gear::xdr(fields, values, channels),
            b"MWD" => wind::mwd(fields, values),
            b"VLW" => motion::vlw(fields, values),
            b"ZDA" => position::zda(fields, values),
            b"HDM" => motion::hdm(fields, values),
            b"HDT" => motion::hdt(fields, values),
            b"VWR" => wind::vwr(fields, values),
            b"VWT" => wind::vwt(fields, values),
            b"ROT" => motion::rot(fields, values),
            b"RPM" => gear::rpm(fields, values),
            b"RSA" => gear::rsa(fields, values, channels),
            b"MTA" => sea::mta(fields, values),
            b"MDA" => sea::mda(fields, values),
            b"DBS" => sea::dbs(fields, values),
            b"DBK" => sea::dbk(fields, values),
            b"BWC" => position::bwc(fields, values, channels),
            _ => return self.log.ledger.ignored(kind),
        };
        match read {
            Ok(()) => self.log.give(kind, source, &self.values, offset, sink),
            Err(why) => self.log.ledger.refused(kind, why, self.log.line),
        }
    }
}

/// Talker and sentence of a standard address, the three letters of the sentence, and the fields.
#[inline]
fn address(body: &[u8]) -> Option<(Source, &[u8; 3], &[u8])> {
    let (address, rest) = body.split_first_chunk::<5>()?;
    let (b',', rest) = rest.split_first().map(|(comma, rest)| (*comma, rest))? else { return None };
    let proper = address.iter().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit());
    // P begins a maker's own sentence, whose fields only the maker knows.
    if !proper || address[0] == b'P' {
        return None;
    }
    let [_, _, formatter @ ..] = address;
    Some((Source::address(address), formatter, rest))
}

/// What a sentence that is not read is counted under: its three letters, a maker's own in full.
fn kind_of(body: &[u8]) -> Kindred {
    let length = body.iter().take(8).take_while(|b| b.is_ascii_uppercase() || b.is_ascii_digit()).count();
    match &body[..length] {
        [first, _, formatter @ ..] if *first != b'P' && formatter.len() == 3 => Kindred::new(formatter),
        name => Kindred::new(name),
    }
}

/// Whether a line holds a sentence with a right checksum.
pub(super) fn holds_sentence(line: &[u8]) -> bool {
    let mut any = false;
    cut::parts(line, true, |part| any |= matches!(part, Part::Sentence { .. }));
    any
}

/// Whether a line is nothing but a sentence without a checksum.
pub(super) fn is_unchecked_sentence(line: &[u8]) -> bool {
    let mut count = 0;
    let mut known = false;
    cut::parts(line, true, |part| {
        count += 1;
        if let Part::Unchecked { body, .. } = part {
            known = address(body).is_some();
        }
    });
    count == 1 && known
}

#[cfg(test)]
mod tests;
