//! When a recording began, by its container.
//!
//! | container | where | source |
//! | --- | --- | --- |
//! | MP4, M4A, MOV | `moov/mvhd`, seconds from 1904 in UTC | ISO/IEC 14496-12 8.2.2 |
//! | Matroska, WebM | `DateUTC`, nanoseconds from 2001 in UTC | RFC 9559 5.1.2.11 |
//! | WAV | `bext`, a date and a time of the recorder's own clock | EBU Tech 3285, 2.3 |
//! | the others | a tag whose name speaks of a date, where it holds a whole date with a time | |
//!
//! A creation time of zero, and one before there were such recorders, is none.

use std::io::{Read, Seek, SeekFrom};

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Utc};
use symphonia::core::formats::FormatReader;
use symphonia::core::meta::MetadataRevision;

/// The beginning as the container has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Began {
    /// An instant.
    At(DateTime<Utc>),
    /// The recorder's own clock, its zone left out.
    Local(NaiveDateTime),
}

/// Boxes or chunks that are looked at in search of the right one.
const MOST: usize = 10_000;
/// Bytes of a Matroska file's beginning that are searched.
const NEAR: u64 = 65_536;

/// Looks where the container itself keeps it, and puts the source back to its beginning.
pub(super) fn in_container(source: &mut (impl Read + Seek)) -> Option<Began> {
    let found = look(source);
    source.seek(SeekFrom::Start(0)).ok()?;
    found.filter(|began| {
        plausible(match began {
            Began::At(at) => at.year(),
            Began::Local(at) => at.year(),
        })
    })
}

fn look(source: &mut (impl Read + Seek)) -> Option<Began> {
    let mut head = [0; 12];
    source.read_exact(&mut head).ok()?;
    source.seek(SeekFrom::Start(0)).ok()?;
    match &head {
        [b'R', b'I' | b'F', b'F' | b'6', b'F' | b'4', _, _, _, _, b'W', b'A', b'V', b'E'] => wav(source),
        [0x1a, 0x45, 0xdf, 0xa3, ..] => matroska(source),
        [_, _, _, _, b'f', b't', b'y', b'p', ..] | [_, _, _, _, b'm' | b'w', _, _, _, ..] => mp4(source),
        _ => None,
    }
}

fn mp4(source: &mut (impl Read + Seek)) -> Option<Began> {
    let mut end = u64::MAX;
    for _ in 0..MOST {
        let here = source.stream_position().ok()?;
        if here >= end {
            return None;
        }
        let mut head = [0; 8];
        source.read_exact(&mut head).ok()?;
        let mut size = u64::from(u32::from_be_bytes([head[0], head[1], head[2], head[3]]));
        if size == 1 {
            let mut long = [0; 8];
            source.read_exact(&mut long).ok()?;
            size = u64::from_be_bytes(long);
        }
        match &head[4..] {
            // Its boxes follow.
            b"moov" => end = here.checked_add(size)?,
            b"mvhd" => {
                let mut body = [0; 12];
                source.read_exact(&mut body).ok()?;
                let seconds = match body[0] {
                    1 => u64::from_be_bytes(body[4..12].try_into().ok()?),
                    _ => u64::from(u32::from_be_bytes(body[4..8].try_into().ok()?)),
                };
                let epoch = NaiveDate::from_ymd_opt(1904, 1, 1)?.and_time(NaiveTime::MIN).and_utc();
                let since = TimeDelta::try_seconds(i64::try_from(seconds).ok().filter(|&s| s > 0)?)?;
                return epoch.checked_add_signed(since).map(Began::At);
            }
            // A size of 0 runs to the file's end.
            _ if size < 8 => return None,
            _ => {
                source.seek(SeekFrom::Start(here.checked_add(size)?)).ok()?;
            }
        }
    }
    None
}

fn matroska(source: &mut (impl Read + Seek)) -> Option<Began> {
    let mut near = Vec::new();
    source.take(NEAR).read_to_end(&mut near).ok()?;
    // The element's name and its length of eight bytes; nothing else of a file's head looks like it.
    let at = near.windows(3).position(|bytes| bytes == [0x44, 0x61, 0x88])?;
    let nanos = i64::from_be_bytes(near.get(at + 3..at + 11)?.try_into().ok()?);
    let epoch = NaiveDate::from_ymd_opt(2001, 1, 1)?.and_time(NaiveTime::MIN).and_utc();
    epoch.checked_add_signed(TimeDelta::nanoseconds(nanos)).map(Began::At)
}

fn wav(source: &mut (impl Read + Seek)) -> Option<Began> {
    source.seek(SeekFrom::Start(12)).ok()?;
    for _ in 0..MOST {
        let mut head = [0; 8];
        source.read_exact(&mut head).ok()?;
        let size = u32::from_le_bytes([head[4], head[5], head[6], head[7]]);
        if &head[..4] == b"bext" && size >= 338 {
            // Description, originator and its reference stand in front.
            let mut body = [0; 338];
            source.read_exact(&mut body).ok()?;
            let text =
                |from: usize, length: usize| String::from_utf8_lossy(&body[from..from + length]).into_owned();
            let date = text(320, 10).replace(|c: char| !c.is_ascii_digit(), "-");
            let time = text(330, 8).replace(|c: char| !c.is_ascii_digit(), ":");
            let date = NaiveDate::parse_from_str(&date, "%Y-%m-%d").ok()?;
            return Some(Began::Local(date.and_time(NaiveTime::parse_from_str(&time, "%H:%M:%S").ok()?)));
        }
        if &head[..4] == b"data" {
            return None;
        }
        source.seek(SeekFrom::Current(i64::from(size) + i64::from(size & 1))).ok()?;
    }
    None
}

/// Looks through a container's tags.
pub(super) fn in_tags(format: &mut dyn FormatReader) -> Option<Began> {
    let mut metadata = format.metadata();
    metadata.skip_to_latest();
    in_revision(metadata.current()?)
}

fn in_revision(revision: &MetadataRevision) -> Option<Began> {
    let tracks = revision.per_track.iter().flat_map(|track| &track.metadata.tags);
    revision.media.tags.iter().chain(tracks).find_map(|tag| {
        let key = tag.raw.key.to_lowercase();
        // ID3 calls the time of recording TDRC.
        let dated = key.contains("date") || key.contains("creation") || key == "tdrc" || key.contains("©day");
        dated.then(|| stamp(&tag.raw.value.to_string())).flatten()
    })
}

/// A whole date with a time of day, to the minute at least.
fn stamp(text: &str) -> Option<Began> {
    let text = text.trim().replace(' ', "T");
    if let Ok(at) = DateTime::parse_from_rfc3339(&text) {
        return Some(Began::At(at.to_utc())).filter(|_| plausible(at.year()));
    }
    for format in ["%Y-%m-%dT%H:%M:%S%.f%z", "%Y-%m-%dT%H:%M%z"] {
        if let Ok(at) = DateTime::parse_from_str(&text, format) {
            return Some(Began::At(at.to_utc())).filter(|_| plausible(at.year()));
        }
    }
    let read = |format| NaiveDateTime::parse_from_str(&text, format).ok();
    let at = read("%Y-%m-%dT%H:%M:%S%.f").or_else(|| read("%Y-%m-%dT%H:%M"))?;
    Some(Began::Local(at)).filter(|_| plausible(at.year()))
}

/// Recorders whose clock was never set say 1904, 1970, 2000 or 2001.
fn plausible(year: i32) -> bool {
    (2005..2100).contains(&year)
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::*;

    fn boxed(name: &[u8; 4], body: &[u8]) -> Vec<u8> {
        let size = u32::try_from(body.len() + 8).expect("a small box");
        [&size.to_be_bytes()[..], name, body].concat()
    }

    #[test]
    fn the_time_of_an_mp4_is_found_behind_its_sound() {
        // 2026-03-13T23:05:00Z is 3856287900 s after 1904.
        let mvhd = |seconds: u32| boxed(b"mvhd", &[&[0; 4][..], &seconds.to_be_bytes(), &[0; 92]].concat());
        let file = |seconds| {
            [boxed(b"ftyp", b"M4A \0\0\0\0"), boxed(b"mdat", &[7; 5_000]), boxed(b"moov", &mvhd(seconds))]
                .concat()
        };
        let at = |bytes| in_container(&mut Cursor::new(bytes));
        let expected = DateTime::parse_from_rfc3339("2026-03-13T23:05:00Z").expect("a time").to_utc();
        assert_eq!(at(file(3_856_287_900)), Some(Began::At(expected)));
        assert_eq!(at(file(0)), None);
        assert_eq!(at(file(2_082_844_800)), None, "a clock that was never set");
        assert_eq!(at(file(3_856_287_900)[..40].to_vec()), None);
    }

    #[test]
    fn stamps_need_a_time_of_day() {
        let shown = |text| {
            stamp(text).map(|began| match began {
                Began::At(at) => at.to_rfc3339(),
                Began::Local(at) => at.to_string(),
            })
        };
        assert_eq!(shown("2026-03-14T10:05:00+11:00").as_deref(), Some("2026-03-13T23:05:00+00:00"));
        assert_eq!(shown("2026-03-14 10:05:00").as_deref(), Some("2026-03-14 10:05:00"));
        assert_eq!(shown("2026-03-14T10:05:00.000000Z").as_deref(), Some("2026-03-14T10:05:00+00:00"));
        assert_eq!(shown("2026"), None);
        assert_eq!(shown("2026-03-14"), None);
        assert_eq!(shown("1970-01-01T00:00:00Z"), None);
    }
}
