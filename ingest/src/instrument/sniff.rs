//! Tells an instrument log from anything else by its content.
//!
//! A note, spoken or written, must never be taken for a log; a log taken for a note is shown as one that could not be
//! understood, which is the lesser evil. So every format here asks for what no note holds: right checksums, CAN
//! frames, a JSON object of the right shape, a GPX element, or a header of instruments above rows of numbers.

use super::{Column, Kind, n2k, nmea0183, signalk, table};
use crate::format::is_table_rule;

/// Bytes at the head of a file that [`sniff`] looks at.
pub const HEAD: usize = 64 * 1024;

/// What the first line of a log begins with that this program recorded from a feed: such a file is a log whatever came
/// over the feed, so that garbage is counted and never taken for somebody's words.
pub const RECORDED: &str = "# recorded by leadsman";

/// Tells the format; `None` for what is no instrument log.
///
/// Only the first 64 KiB are looked at, so `bytes` may be no more than a file's head. `columns` are those of tables
/// that the skipper has mapped.
pub fn sniff(bytes: &[u8], columns: &[Column]) -> Option<Kind> {
    let head = &bytes[..bytes.len().min(HEAD)];
    // The last line may be cut off by the end of the head.
    let head = match memchr::memrchr(b'\n', head) {
        Some(end) if bytes.len() >= HEAD => &head[..=end],
        _ => head,
    };
    if is_gpx(head) {
        return Some(Kind::Gpx);
    }
    if is_timed_text(head) {
        return None;
    }
    let mut count = Count::default();
    for line in head.split(|&b| b == b'\n' || b == b'\r') {
        count.line(line.trim_ascii());
    }
    if let Some(kind) = count.kind() {
        return Some(kind);
    }
    if head.starts_with(RECORDED.as_bytes()) {
        return Some(count.most());
    }
    // Most notes, told without looking for headers in them; a remark beside numbers is no sentence.
    if columns.is_empty() && (count.wordy * 2 > count.lines || count.ruled) {
        return None;
    }
    table::is_table(head, columns).then_some(Kind::Table)
}

/// Tells which format a line by itself is a record of: a sentence with its right checksum or none, a frame, a delta.
pub fn is_record(line: &[u8]) -> Option<Kind> {
    if nmea0183::holds_sentence(line) || nmea0183::is_unchecked_sentence(line) {
        Some(Kind::Nmea0183)
    } else if n2k::is_frame(line) {
        Some(Kind::Nmea2000)
    } else if line.first() == Some(&b'{') && signalk::is_delta(line) {
        Some(Kind::SignalK)
    } else {
        None
    }
}

#[derive(Debug, Default)]
struct Count {
    lines: u32,
    prose: u32,
    /// Of the prose, lines with as many words as a sentence has.
    wordy: u32,
    sentences: u32,
    unchecked: u32,
    frames: u32,
    deltas: u32,
    /// Whether a line rules off the head of a table, as people write them: `|---|---|`.
    ruled: bool,
}

impl Count {
    fn line(&mut self, line: &[u8]) {
        if line.is_empty() || line[0] == b'#' {
            return;
        }
        self.lines += 1;
        if nmea0183::holds_sentence(line) {
            self.sentences += 1;
        } else if nmea0183::is_unchecked_sentence(line) {
            self.unchecked += 1;
        } else if n2k::is_frame(line) {
            self.frames += 1;
        } else if line[0] == b'{' && signalk::is_delta(line) {
            self.deltas += 1;
        } else {
            self.ruled |= is_table_rule(line);
            let words = words(line);
            self.prose += u32::from(words >= 3);
            self.wordy += u32::from(words >= 8);
        }
    }

    /// A format is told where its records are a fair share of the lines and clearly more than lines of words. The
    /// rest may be junk, which a serial line is full of.
    fn kind(&self) -> Option<Kind> {
        let enough = |records: u32, share: u32| records > self.prose * 4 && records * share >= self.lines;
        if enough(self.sentences, 8) {
            Some(Kind::Nmea0183)
        } else if enough(self.frames, 2) {
            Some(Kind::Nmea2000)
        } else if enough(self.deltas, 4) {
            Some(Kind::SignalK)
        } else if self.unchecked >= 3 && self.prose == 0 && enough(self.unchecked, 2) {
            Some(Kind::Nmea0183)
        } else {
            None
        }
    }
}

impl Count {
    /// The format with the most records; that of most feeds where there are none.
    fn most(&self) -> Kind {
        let counts = [
            (self.frames, Kind::Nmea2000),
            (self.deltas, Kind::SignalK),
            (self.sentences + self.unchecked, Kind::Nmea0183),
        ];
        counts.into_iter().max_by_key(|(count, _)| *count).map_or(Kind::Nmea0183, |(_, kind)| kind)
    }
}

/// How many words of lower-case letters a line has; with three of them it is prose.
fn words(line: &[u8]) -> usize {
    line.split(u8::is_ascii_whitespace)
        .filter(|word| {
            word.len() > 1 && word.iter().filter(|b| b.is_ascii_lowercase()).count() * 4 > word.len() * 3
        })
        .count()
}

/// Whether a file is a transcript with cues, by the arrow between their times; no row of a log has one.
fn is_timed_text(head: &[u8]) -> bool {
    /// A cue's times are no further down, behind a signature, remarks and a number.
    const LINES: usize = 40;
    let mut lines = head.split(|&b| b == b'\n').take(LINES);
    lines.any(|line| {
        let line = line.trim_ascii_start();
        line.first().is_some_and(u8::is_ascii_digit) && memchr::memmem::find(line, b" --> ").is_some()
    })
}

/// Whether a file's first element is `gpx`.
fn is_gpx(head: &[u8]) -> bool {
    let mut rest = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head).trim_ascii_start();
    // Past the declaration, comments and a document type, which may have brackets of its own.
    while let [b'<', b'?' | b'!', ..] = rest {
        let end: &[u8] = if rest.starts_with(b"<!--") {
            b"-->"
        } else if rest.starts_with(b"<!DOCTYPE")
            && rest.iter().take_while(|&&b| b != b'>').any(|&b| b == b'[')
        {
            b"]>"
        } else {
            b">"
        };
        let Some(at) = memchr::memmem::find(rest, end) else { return false };
        rest = rest[at + end.len()..].trim_ascii_start();
    }
    let Some(name) = rest.strip_prefix(b"<") else { return false };
    let length = name.iter().take_while(|b| !b.is_ascii_whitespace() && !matches!(b, b'>' | b'/')).count();
    let name = &name[..length];
    name.rsplit(|&b| b == b':').next() == Some(b"gpx".as_slice())
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use proptest::prelude::*;

    use super::*;

    const WIND: &str = "$WIMWV,57.5,R,13.0,N,A*26\r\n";

    #[test]
    fn lines_that_are_records() {
        assert_eq!(is_record(WIND.trim_ascii().as_bytes()), Some(Kind::Nmea0183));
        assert_eq!(is_record(b"$INMTW,17.9,C"), Some(Kind::Nmea0183));
        assert_eq!(is_record(b"can0 09F10DCC#00FFFF7FE9FBFFFF"), Some(Kind::Nmea2000));
        assert_eq!(is_record(b"$WIMWV,57.5,R,13.0,N,A*27"), None);
        assert_eq!(is_record(b"hello"), None);
        assert_eq!(is_record(b""), None);
    }

    #[test]
    fn formats() {
        let delta = r#"{"updates":[{"values":[{"path":"navigation.speedThroughWater","value":3}]}]}"#;
        for (file, kind) in [
            (WIND.to_owned(), Some(Kind::Nmea0183)),
            (format!("\x00\x01junk\n{}", WIND.repeat(3)), Some(Kind::Nmea0183)),
            (format!("2026-05-09T10:11:12Z {WIND}"), Some(Kind::Nmea0183)),
            ("$INMTW,17.9,C\n".repeat(3), Some(Kind::Nmea0183)),
            ("# a dump\n(1502984866.42) can0 09F10DCC#00FFFF7FE9FBFFFF\n".into(), Some(Kind::Nmea2000)),
            (
                "2024-07-19-23:24:46.782,3,127257,60,255,8,00,ff,7f,1b,00,21,05,ff\n".into(),
                Some(Kind::Nmea2000),
            ),
            (format!("{delta}\n{delta}"), Some(Kind::SignalK)),
            ("<?xml version='1.0'?>\n<!-- made by -->\n<gpx version='1.1'>".into(), Some(Kind::Gpx)),
            ("<!DOCTYPE gpx [<!ENTITY a 'b'>]><x:gpx>".into(), Some(Kind::Gpx)),
            ("\u{feff}Time,AWS (kn)\n10:00,12\n".into(), Some(Kind::Table)),
            ("<html><body>gpx</body></html>".into(), None),
            ("{\"context\":\"a diary\"}".into(), None),
            (format!("{RECORDED}\n# we put the second reef in\n"), Some(Kind::Nmea0183)),
            (format!("{RECORDED}\n{delta}\n$WIMWV,57.5,R,1\n$WIMWV,57\n"), Some(Kind::SignalK)),
            (format!("we put the second reef in\n{RECORDED}\n"), None),
            ("".into(), None),
            (
                format!("The sounder sent this line all day long:\n{WIND}and then it stopped for good.\n"),
                None,
            ),
            ("10:00 wind 12 kn, SOG 6.\n10:30 wind 15 kn, reefed\n".into(), None),
        ] {
            assert_eq!(sniff(file.as_bytes(), &[]), kind, "{file}");
        }
    }

    #[test]
    fn a_table_with_a_rule_below_its_head_is_a_note() {
        let table = b"# Engine, 7 March\n\n| rpm | oil psi | temp F |\n|---|---|---|\n| 2200 | 57 | 178 |\n";
        assert_eq!(sniff(table, &[]), None);
    }

    /// No note of the fixtures, spoken or written, is taken for an instrument log.
    #[test]
    fn notes_are_left_alone() {
        let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures");
        let mut count = 0;
        for boat in ["quillback", "marigold", "corncrake", "saltmarsh"] {
            let folder = walk(&fixtures, boat).unwrap_or_else(|| panic!("{boat} is among the fixtures"));
            for file in std::fs::read_dir(folder).expect("a folder") {
                let path = file.expect("a file").path();
                if path.extension().is_some_and(|extension| extension != "json") {
                    assert_eq!(
                        sniff(&std::fs::read(&path).expect("a file"), &[]),
                        None,
                        "{}",
                        path.display()
                    );
                    count += 1;
                }
            }
        }
        assert!(count >= 30, "{count} notes");
    }

    /// The folder of a boat, wherever it stands among the fixtures.
    fn walk(folder: &Path, boat: &str) -> Option<std::path::PathBuf> {
        let here = folder.join(boat);
        if here.is_dir() {
            return Some(here);
        }
        let folders = std::fs::read_dir(folder).ok()?.filter_map(Result::ok).map(|entry| entry.path());
        folders.filter(|path| path.is_dir()).find_map(|path| walk(&path, boat))
    }

    proptest! {
        #[test]
        fn never_panics(bytes in proptest::collection::vec(any::<u8>(), 0..500)) {
            sniff(&bytes, &[]);
        }
    }
}
