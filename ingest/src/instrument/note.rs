//! A log as a note: what a source of instruments has in common with one of words. It has no utterances; its notices
//! are the account of what was refused, and what is odd about its clocks.

use chrono::{DateTime, FixedOffset, Offset, TimeZone, Utc};

use super::account::Refused;
use super::{Kind, Parsed};
use crate::Hints;
use crate::found::{Basis, Moment, Note, Notice};

/// Kinds of refusal that are told one by one; what comes after is summed up.
const TOLD_MAX: usize = 30;

impl Parsed {
    /// The note that stands for the log.
    pub fn note(&self, hints: &Hints) -> Note {
        let recorded = self.clock.first.and_then(DateTime::from_timestamp_micros).map(|at| Moment {
            at: aboard(at, hints),
            basis: if self.clock.dated_by.is_some() { Basis::Inferred } else { Basis::Stated },
        });
        let recorded_from = match (recorded, self.clock.dated_by) {
            (None, _) => String::new(),
            (Some(_), Some(from)) => format!("the log's times of day and {from}"),
            (Some(_), None) => "the log's own times".to_owned(),
        };
        let (zone, from) = match &hints.zone {
            Some((zone, from)) => (zone.name(), from.as_str()),
            None => ("UTC", "nothing else being known"),
        };
        Note {
            format: self.kind.name().to_owned(),
            encoding: match self.kind {
                Kind::Nmea0183 | Kind::Nmea2000 => "ASCII".to_owned(),
                Kind::SignalK | Kind::Gpx | Kind::Table => "UTF-8".to_owned(),
            },
            recorded,
            recorded_from,
            zone: format!("{zone} ({from})"),
            notices: self.all_notices(),
            ..Note::default()
        }
    }

    /// Everything that the skipper should know of the log: its clocks, its senders, what was refused and where first.
    pub fn all_notices(&self) -> Vec<Notice> {
        let mut notices = self.notices.clone();
        if self.account.values == 0 {
            notices.push(Notice {
                span: None,
                line: None,
                message: format!("expected values of instruments, found none in this {} log", self.kind),
                hint: Some("see whether the instruments were on, and whether the file was cut short".into()),
            });
        }
        let whole = self.account.refused.iter().map(|refused| (refused, ""));
        let parts = self.account.values_refused.iter().map(|refused| (refused, "a value in "));
        let all: Vec<_> = whole.chain(parts).collect();
        notices.extend(all.iter().take(TOLD_MAX).map(|(refused, of)| told(refused, of)));
        let rest: u64 = all.iter().skip(TOLD_MAX).map(|(refused, _)| refused.count).sum();
        if rest > 0 {
            notices.push(Notice {
                span: None,
                line: None,
                message: format!("{rest} more records or values of other kinds were not used"),
                hint: None,
            });
        }
        notices
    }
}

fn told(refused: &Refused, of: &str) -> Notice {
    let times = if refused.count == 1 { "once".to_owned() } else { format!("{} times", refused.count) };
    let kind = if refused.kind.is_empty() { "a line" } else { &refused.kind };
    let lines: Vec<String> = refused.lines.iter().map(u64::to_string).collect();
    let more = if refused.count > refused.lines.len() as u64 { ", …" } else { "" };
    let place = if lines.len() > 1 { format!(" (lines {}{more})", lines.join(", ")) } else { String::new() };
    Notice {
        span: None,
        line: refused.lines.first().map(|&line| line as usize),
        message: format!("{of}{kind} not used, {times}: {}{place}", refused.reason),
        hint: None,
    }
}

/// An instant with the offset of the zone in force, or of the boat's other notes.
fn aboard(at: DateTime<Utc>, hints: &Hints) -> DateTime<FixedOffset> {
    let offset = match &hints.zone {
        Some((zone, _)) => zone.offset_from_utc_datetime(&at.naive_utc()).fix(),
        None => hints.boat_offset.unwrap_or(Utc.fix()),
    };
    at.with_timezone(&offset)
}

#[cfg(test)]
mod tests {
    use crate::Hints;
    use crate::found::Basis;

    #[test]
    fn a_log_dumped_among_notes_is_read_as_one() {
        let log = "junk\r\n$WIMWV,57.5,R,13.0,N,A*26\r\n$WIMWV,57.5,R,13.0,N,A*27\r\n$SDMTW,,C*1A\r\n$SDMTW,,C*1A\r\n\
                   $GPRMC,094737,A,5251.0093,N,00518.8170,E,5.6,230.5,200818,1.4,E,A*1F\r\n";
        let zone = Some((chrono_tz::Europe::Amsterdam, "--zone".to_owned()));
        let note = crate::read(log.as_bytes(), &Hints { zone, ..Hints::default() });
        assert_eq!(note.format, "nmea0183");
        let recorded = note.recorded.expect("a time");
        assert_eq!(recorded.at.to_rfc3339(), "2018-08-20T11:47:37+02:00");
        assert_eq!(recorded.basis, Basis::Stated);
        assert!(note.utterances.is_empty() && note.readings.is_empty());
        let told: Vec<_> = note.notices.iter().map(|n| (n.line, n.message.as_str())).collect();
        assert_eq!(
            told,
            [
                (Some(4), "MTW not used, 2 times: every field that is read from it is empty (lines 4, 5)"),
                (Some(1), "a line not used, once: not a record of this format"),
                (Some(3), "MWV not used, once: the checksum does not fit what it covers"),
            ]
        );
    }

    #[test]
    fn a_log_without_values_says_so() {
        let note = crate::read(b"$SDMTW,,C*1A\r\n", &Hints::default());
        assert!(note.notices[0].message.contains("found none in this nmea0183 log"), "{:?}", note.notices);
        assert_eq!(note.recorded, None);
    }
}
