//! What is kept of a feed's bytes: the lines that instruments send, with the time at which they came.
//!
//! A sentence of NMEA 0183 gets the time of its arrival in front, unless it comes with one, as many a boat's bus tells
//! no time at all. Signal K deltas and frames of NMEA 2000 are kept as they come. What is none of these is kept too, up
//! to so much an hour that it can be seen what it was; beyond that it is counted, and the count stands in the log.

use std::io::Write as _;

use chrono::{DateTime, Utc};
use leadsman_ingest::instrument::{Kind, is_record};

/// The longest line that is put together; a Signal K delta of a whole boat has some tens of kilobytes.
pub const LINE_MAX: usize = 64 * 1024;
/// Bytes of lines that are no record of an instrument that are kept in an hour: a log is told by its first 64 KiB, which
/// must not be all junk.
pub const JUNK_KEPT: usize = 16 * 1024;

/// What came of a feed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Bytes that came.
    pub bytes: u64,
    /// Lines that are a record of an instrument.
    pub records: u64,
    /// Other lines that were kept.
    pub other: u64,
    /// Bytes that were left out.
    pub left_out: u64,
}

/// Cuts a feed into lines and keeps those worth keeping.
#[derive(Debug, Default)]
pub struct Lines {
    held: Vec<u8>,
    /// The present line is longer than one may be, and its rest is left out.
    too_long: bool,
    minute: i64,
    hour: i64,
    junk: usize,
    /// Bytes left out since it was last written down.
    unsaid: u64,
    /// What came so far.
    pub counts: Counts,
}

impl Lines {
    /// Takes bytes that came at an instant; what is kept of them is added to `out`.
    pub fn take(&mut self, bytes: &[u8], at: DateTime<Utc>, out: &mut Vec<u8>) {
        self.counts.bytes += bytes.len() as u64;
        let minute = at.timestamp().div_euclid(60);
        if minute != self.minute {
            self.minute = minute;
            self.say(out);
        }
        if minute.div_euclid(60) != self.hour {
            self.hour = minute.div_euclid(60);
            self.junk = 0;
        }
        for piece in bytes.split_inclusive(|&byte| byte == b'\n') {
            let ends = piece.last() == Some(&b'\n');
            if self.too_long {
                self.leave_out(piece.len());
            } else if self.held.len() + piece.len() > LINE_MAX {
                let length = self.held.len() + piece.len();
                self.held.clear();
                self.leave_out(length);
                self.too_long = true;
            } else {
                self.held.extend_from_slice(piece);
            }
            if ends {
                self.too_long = false;
                self.end_line(at, out);
            }
        }
    }

    /// Ends the last line, which has no line end, and writes down what was left out.
    pub fn finish(&mut self, at: DateTime<Utc>, out: &mut Vec<u8>) {
        self.end_line(at, out);
        self.say(out);
    }

    fn end_line(&mut self, at: DateTime<Utc>, out: &mut Vec<u8>) {
        let line = std::mem::take(&mut self.held);
        let trimmed = line.trim_ascii();
        match is_record(trimmed) {
            _ if trimmed.is_empty() => {}
            Some(kind) => {
                self.counts.records += 1;
                // Only a line that begins with its sentence has no time in front of it.
                if kind == Kind::Nmea0183 && matches!(trimmed.first(), Some(b'$' | b'!')) {
                    // A vector takes whatever is written.
                    write!(out, "{} ", at.format("%Y-%m-%dT%H:%M:%S%.3fZ")).ok();
                }
                out.extend_from_slice(trimmed);
                out.extend_from_slice(b"\r\n");
            }
            None if self.junk + line.len() <= JUNK_KEPT => {
                self.junk += line.len();
                self.counts.other += 1;
                // A broken sentence is counted as such when the log is read; the rest stands there as a comment.
                if !trimmed.starts_with(b"$") || !trimmed.iter().all(|byte| (b' '..=b'~').contains(byte)) {
                    out.extend_from_slice(b"# ");
                }
                out.extend_from_slice(trimmed);
                out.extend_from_slice(b"\r\n");
            }
            None => self.leave_out(line.len()),
        }
        // The buffer is used again; one that a long line has grown is given back.
        self.held = line;
        self.held.clear();
    }

    fn leave_out(&mut self, bytes: usize) {
        self.counts.left_out += bytes as u64;
        self.unsaid += bytes as u64;
    }

    fn say(&mut self, out: &mut Vec<u8>) {
        if self.unsaid > 0 {
            let unsaid = std::mem::take(&mut self.unsaid);
            write!(out, "# {unsaid} bytes that are no record of an instrument were left out here\r\n").ok();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(second: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_778_321_472 + second, 345_000_000).expect("an instant")
    }

    fn kept(pieces: &[&[u8]]) -> (String, Counts) {
        let (mut lines, mut out) = (Lines::default(), Vec::new());
        for piece in pieces {
            lines.take(piece, at(0), &mut out);
        }
        lines.finish(at(0), &mut out);
        (String::from_utf8_lossy(&out).into_owned(), lines.counts)
    }

    #[test]
    fn sentences_get_the_time_of_their_arrival() {
        let delta = r#"{"updates":[{"values":[{"path":"navigation.speedThroughWater","value":3}]}]}"#;
        let (text, counts) = kept(&[
            b"$WIMWV,57.5,R,13",
            b".0,N,A*26\r\n",
            b"\\s:mast,c:1778321472*31\\$WIMWV,57.5,R,13.0,N,A*26\r\n",
            delta.as_bytes(),
            b"\nhello\n\n$INMTW,17.9,C*1B",
        ]);
        let want = format!(
            "2026-05-09T10:11:12.345Z $WIMWV,57.5,R,13.0,N,A*26\r\n\\s:mast,c:1778321472*31\\$WIMWV,57.5,R,13.0,N,A*26\r\n\
             {delta}\r\n# hello\r\n2026-05-09T10:11:12.345Z $INMTW,17.9,C*1B\r\n"
        );
        assert_eq!(text, want);
        assert_eq!((counts.records, counts.other, counts.left_out), (4, 1, 0));
    }

    #[test]
    fn garbage_is_bounded_and_counted() {
        let (mut lines, mut out) = (Lines::default(), Vec::new());
        let mut garbage = vec![0xa5; 1 << 20];
        lines.take(&garbage, at(0), &mut out);
        assert!(lines.held.len() <= LINE_MAX && out.is_empty());
        for byte in garbage.iter_mut().step_by(100) {
            *byte = b'\n';
        }
        lines.take(&garbage, at(1), &mut out);
        lines.take(b"\n$INMTW,17.9,C*1B\r\n", at(2), &mut out);
        lines.take(b"\n", at(62), &mut out);
        let counts = lines.counts;
        assert!(out.len() < 2 * JUNK_KEPT, "{}", out.len());
        assert_eq!(counts.records, 1);
        assert!(counts.left_out > 1_900_000 && counts.bytes > 2_000_000);
        let text = String::from_utf8_lossy(&out);
        assert!(text.contains(&format!("# {} bytes that are no record", counts.left_out)), "{counts:?}");
        assert!(text.contains("$INMTW,17.9,C*1B"));
    }
}
