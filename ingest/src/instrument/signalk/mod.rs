//! Signal K deltas: a JSON object a line, in SI units.
//!
//! ```text
//! {"context":"vessels.self","updates":[{"$source":"mast.1","timestamp":"2026-05-09T10:11:12.345Z",
//!   "values":[{"path":"environment.wind.speedApparent","value":6.69}]}]}
//! ```
//!
//! Only the own boat's values are read: those whose context is `vessels.self` or absent, the one that a greeting
//! names, or, without a greeting, the one that sends what only the own boat knows (wind, depth, engine, batteries).
//! Angles are radians; one beyond a full turn is taken for degrees sent by mistake, refused, and said.
//! Source: Signal K specification v1.8.2 (SignalK/specification @adf1f204, `schemas/delta.json`).

mod json;
mod path;

use std::collections::HashMap;
use std::f64::consts::TAU;

use self::json::{Delta, Entry, Sent};
use self::path::Rule;
use super::account::{Kindred, Refusal};
use super::log::{Log, Sink, Values};
use super::pieces::Pieces;
use super::quantity::{DEG_PER_RAD, Quantity, Reference};
use super::{Kind, Parsed, stamp};
use crate::Hints;
use crate::found::Notice;

/// Bytes at a log's head that are looked through for which boat is the own one.
const HEAD: usize = 256 * 1024;
/// Paths whose rule is remembered; there are some hundreds aboard.
const PATHS_MAX: usize = 4096;

/// Reads deltas as they come.
#[derive(Debug)]
pub(super) struct Reader {
    log: Log,
    values: Values,
    delta: Delta,
    rules: HashMap<String, Option<Rule>>,
    in_degrees: Vec<String>,
    own: Option<String>,
    begun: bool,
    pieces: Pieces,
}

impl Reader {
    pub(super) fn new(hints: &Hints) -> Self {
        Self {
            log: Log::new(hints),
            values: Values::new(),
            delta: Delta::default(),
            rules: HashMap::new(),
            in_degrees: Vec::new(),
            own: None,
            begun: false,
            pieces: Pieces::default(),
        }
    }

    /// Reads a piece of the log, which ends with a line's end if it can.
    pub(super) fn feed(&mut self, bytes: &[u8], sink: &mut impl Sink) {
        if !self.begun {
            self.begun = true;
            self.own = own_boat(&bytes[..bytes.len().min(HEAD)]);
        }
        for line in self.pieces.cut(bytes) {
            self.log.line += u64::from(line.begins);
            self.line(line.bytes, line.offset, sink);
        }
    }

    fn line(&mut self, line: &[u8], offset: u64, sink: &mut impl Sink) {
        self.log.clock.begin();
        let line = line.trim_ascii();
        if line.is_empty() {
            return self.log.ledger.blank();
        }
        if !self.delta.read(line) {
            let why = if line[0] == b'{' && line[line.len() - 1] != b'}' {
                Refusal::Truncated
            } else {
                Refusal::Junk
            };
            return self.log.ledger.refused(Kindred::NONE, why, self.log.line);
        }
        let kind = Kindred::new(b"delta");
        if self.delta.is_wrong || !(self.delta.is_delta || self.delta.is_greeting) {
            return self.log.ledger.refused(kind, Refusal::Malformed, self.log.line);
        }
        if !self.delta.is_delta {
            return self.log.ledger.ignored(Kindred::new(b"hello"));
        }
        if !is_own(self.delta.context(), self.own.as_deref()) {
            return self.log.ledger.ignored(Kindred::new(b"others"));
        }
        let mut outcome = Err(None);
        for n in 0..self.delta.updates.len() {
            match (self.update(n, offset, sink), outcome) {
                (Ok(()), _) => outcome = Ok(()),
                (Err(why @ Some(_)), Err(None)) => outcome = Err(why),
                _ => {}
            }
        }
        match outcome {
            Ok(()) => self.log.ledger.used(kind),
            Err(Some(why)) => self.log.ledger.refused(kind, why, self.log.line),
            Err(None) => self.log.ledger.ignored(Kindred::new(b"paths")),
        }
    }

    /// Gives an update's values out; `Err(None)` where it has none that are read here.
    fn update(&mut self, number: usize, offset: u64, sink: &mut impl Sink) -> Result<(), Option<Refusal>> {
        let update = self.delta.updates[number];
        self.values.clear();
        // The values of one update may come from anywhere in the boat.
        self.values.apart = true;
        let mut known = false;
        for n in update.entries.0..update.entries.1 {
            known |= self.entry(self.delta.entries[n])?;
        }
        if !known {
            return Err(None);
        }
        if let Some(time) = update.time {
            let stamp = stamp::read(self.delta.at(time).as_bytes()).ok_or(Some(Refusal::Malformed))?;
            self.log.clock.stamp(stamp, self.log.line);
        }
        let sender = match self.delta.at(update.source).trim_end() {
            "" => "signalk",
            sender => sender,
        };
        let source = self.log.channels.source(sender).ok_or(Some(Refusal::TooMany))?;
        self.log.take(Kindred::new(b"delta"), source, &self.values, offset, sink).map_err(Some)
    }

    /// Reads one path's value; false where the path is not read here.
    fn entry(&mut self, entry: Entry) -> Result<bool, Option<Refusal>> {
        let path = self.delta.at(entry.path);
        let rule = match self.rules.get(path) {
            Some(rule) => *rule,
            None => {
                let rule = path::rule(path, &mut self.log.channels);
                if self.rules.len() < PATHS_MAX {
                    self.rules.insert(path.to_owned(), rule);
                }
                rule
            }
        };
        let Some(rule) = rule else { return Ok(false) };
        let values = &mut self.values;
        match (rule, entry.value) {
            (_, Sent::Null | Sent::Missing) => {}
            (Rule::Number(number), Sent::Number(sent)) => {
                if number.radians && sent.abs() > TAU + 0.01 {
                    values.refuse(Refusal::UnknownUnit);
                    if !self.in_degrees.iter().any(|known| known == path) && self.in_degrees.len() < 20 {
                        self.log.notices.push(Notice {
                            span: None,
                            line: Some(self.log.line as usize),
                            message: format!(
                                "expected {path} in radians, found {sent}, more than a full turn: probably degrees; \
                                 such values were left out"
                            ),
                            hint: Some("see to the sender of it".into()),
                        });
                        self.in_degrees.push(path.to_owned());
                    }
                } else {
                    let value = sent * number.factor + number.offset;
                    values.put_instance(number.quantity, number.reference, number.instance, value);
                }
            }
            (Rule::Position, Sent::Object { latitude, longitude, altitude, .. }) => {
                if latitude.is_nan() || longitude.is_nan() {
                    values.refuse(Refusal::Malformed);
                } else {
                    values.put(Quantity::Latitude, Reference::Unsaid, latitude);
                    values.put(Quantity::Longitude, Reference::Unsaid, longitude);
                    if !altitude.is_nan() {
                        values.put(Quantity::Altitude, Reference::Unsaid, altitude);
                    }
                }
            }
            (Rule::Attitude, Sent::Object { roll, pitch, .. }) => {
                for (quantity, sent) in [(Quantity::Heel, roll), (Quantity::Pitch, pitch)] {
                    if !sent.is_nan() {
                        values.put(quantity, Reference::Unsaid, sent * DEG_PER_RAD);
                    }
                }
            }
            _ => values.refuse(Refusal::Malformed),
        }
        Ok(true)
    }

    pub(super) fn close(self) -> Parsed {
        self.log.close(Kind::SignalK)
    }
}

fn is_own(context: Option<&str>, own: Option<&str>) -> bool {
    match context {
        None | Some("" | "self" | "vessels.self") => true,
        Some(context) => own.is_some_and(|own| {
            own == context || own.strip_prefix("vessels.") == context.strip_prefix("vessels.")
        }),
    }
}

/// Finds out which boat is the own one.
fn own_boat(head: &[u8]) -> Option<String> {
    const OWN_ROOTS: [&str; 5] = ["environment.", "propulsion.", "electrical.", "tanks.", "steering."];
    let mut delta = Delta::default();
    let mut by_paths = None;
    let mut contexts: Vec<String> = Vec::new();
    for line in head.split(|&b| b == b'\n') {
        if !delta.read(line.trim_ascii()) {
            continue;
        }
        if let Some(own) = delta.own() {
            return Some(own.to_owned());
        }
        let Some(context) = delta.context() else { continue };
        if contexts.len() < 2 && !contexts.iter().any(|known| known == context) {
            contexts.push(context.to_owned());
        }
        let own = delta.entries.iter().any(|entry| {
            let path = delta.at(entry.path);
            OWN_ROOTS.iter().any(|root| path.starts_with(root))
        });
        if own && by_paths.is_none() {
            by_paths = Some(context.to_owned());
        }
    }
    by_paths.or_else(|| if contexts.len() == 1 { contexts.pop() } else { None })
}

/// Whether a line is a delta, or the greeting of a feed of them.
pub(super) fn is_delta(line: &[u8]) -> bool {
    let mut delta = Delta::default();
    delta.read(line.trim_ascii()) && !delta.is_wrong && delta.is_delta
}

#[cfg(test)]
mod tests;
