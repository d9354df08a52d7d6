//! A transcript as a file: WebVTT, with the listener's own remarks.
//!
//! ```text
//! WEBVTT
//!
//! NOTE leadsman {"recording":"3f2a…","name":"memo.m4a","model":"tiny.en","model_sha256":"ab12…","program":"0.1.0",
//! "began":"2026-03-13T23:05:00Z","seconds":72.4}
//!
//! 00:00:00.000 --> 00:00:04.200        seconds of the recording
//! The cap shrouds are at 22 percent.
//!
//! NOTE leadsman {"changed":[[4,15,"cat trouts"]],"sure":[[23,25,0.94]]}
//! ```
//!
//! A remark belongs to the cue above it. Its places are bytes of the cue's text: what was heard where a change stands,
//! and how sure the recogniser was, 0 to 1, of each part of a number and of each word that it guessed. A place that no longer fits, since somebody edited the
//! text, is left aside.

use std::fmt::Write;

use chrono::{DateTime, NaiveDateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::sound::Began;

/// What begins the remarks of this program.
const MARK: &str = "NOTE leadsman ";

/// Words heard in a recording.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Transcript {
    /// SHA-256 of the recording, in hexadecimal digits.
    pub recording: String,
    /// The recording's file name.
    pub name: String,
    /// What the model is called.
    pub model: String,
    /// SHA-256 of the model's file, in hexadecimal digits.
    pub model_sha256: String,
    /// Version of the program that listened.
    pub program: String,
    /// When the recording began, by its container.
    pub began: Option<Began>,
    /// Its length in seconds.
    pub seconds: f64,
    /// Whether somebody put the words right by hand.
    pub corrected: bool,
    /// The words.
    pub said: Vec<Said>,
}

/// An utterance.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    /// Where it begins, in seconds of the recording.
    pub from: f64,
    /// Where it ends.
    pub until: f64,
    /// The words, after mending.
    pub text: String,
    /// What was mended, in order.
    pub changes: Vec<Change>,
    /// How sure the recogniser was of its numbers, and the words that it guessed.
    pub unsure: Vec<Unsure>,
}

/// Words that were put in the place of others.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Where they stand, in bytes of the utterance's text.
    pub at: (usize, usize),
    /// What was heard.
    pub heard: String,
}

/// A part of a number, or a word that was guessed.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsure {
    /// Where it stands, in bytes of the utterance's text.
    pub at: (usize, usize),
    /// The recogniser's probability, 0 to 1.
    pub probability: f32,
}

#[derive(Serialize, Deserialize)]
struct HeadLine {
    recording: String,
    name: String,
    model: String,
    model_sha256: String,
    program: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    began: Option<String>,
    seconds: f64,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    corrected: bool,
}

#[derive(Default, Serialize, Deserialize)]
struct Remark {
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    changed: Vec<(usize, usize, String)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    sure: Vec<(usize, usize, f32)>,
}

/// Whether a remark of a WebVTT file is one of these.
pub(crate) fn is_remark(block: &str) -> bool {
    block.starts_with(MARK)
}

/// Whether a text is a transcript of this kind.
pub(crate) fn is(text: &str) -> bool {
    text.starts_with("WEBVTT") && text.lines().nth(2).is_some_and(is_remark)
}

impl Transcript {
    /// Writes it as a file.
    pub fn write(&self) -> String {
        let head = HeadLine {
            recording: self.recording.clone(),
            name: self.name.clone(),
            model: self.model.clone(),
            model_sha256: self.model_sha256.clone(),
            program: self.program.clone(),
            began: self.began.map(|began| match began {
                Began::At(at) => at.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
                Began::Local(at) => at.format("%Y-%m-%dT%H:%M:%S").to_string(),
            }),
            seconds: (self.seconds * 1_000.0).round() / 1_000.0,
            corrected: self.corrected,
        };
        let mut out = format!("WEBVTT\n\n{MARK}{}\n", json(&head));
        for said in &self.said {
            // Writing to a string cannot fail.
            write!(out, "\n{} --> {}\n{}\n", stamp(said.from), stamp(said.until), said.text).ok();
            let remark = Remark {
                changed: said.changes.iter().map(|c| (c.at.0, c.at.1, c.heard.clone())).collect(),
                sure: said
                    .unsure
                    .iter()
                    .map(|u| (u.at.0, u.at.1, (u.probability * 1_000.0).round() / 1_000.0))
                    .collect(),
            };
            if !remark.changed.is_empty() || !remark.sure.is_empty() {
                write!(out, "\n{MARK}{}\n", json(&remark)).ok();
            }
        }
        out
    }

    /// Reads one back; `None` where a text is none. Cues are read as any WebVTT's are.
    pub fn read(text: &str) -> Option<Self> {
        if !is(text) {
            return None;
        }
        let mut out: Option<Transcript> = None;
        for block in crate::format::webvtt_blocks(text) {
            match (&mut out, block) {
                (None, Err(remark)) => {
                    let head: HeadLine = serde_json::from_str(remark.strip_prefix(MARK)?).ok()?;
                    out = Some(Transcript {
                        recording: head.recording,
                        name: head.name,
                        model: head.model,
                        model_sha256: head.model_sha256,
                        program: head.program,
                        began: head.began.as_deref().and_then(began),
                        seconds: head.seconds,
                        corrected: head.corrected,
                        said: Vec::new(),
                    });
                }
                (None, Ok(_)) => return None,
                (Some(transcript), Ok((from, until, text))) => {
                    let text = text.to_owned();
                    transcript.said.push(Said { from, until, text, ..Said::default() });
                }
                (Some(transcript), Err(remark)) => {
                    let remark =
                        remark.strip_prefix(MARK).and_then(|r| serde_json::from_str::<Remark>(r).ok());
                    let (Some(remark), Some(said)) = (remark, transcript.said.last_mut()) else { continue };
                    let fits = |a: usize, b: usize| a < b && said.text.get(a..b).is_some();
                    let changes = remark.changed.into_iter().filter(|c| fits(c.0, c.1));
                    said.changes = changes.map(|(a, b, heard)| Change { at: (a, b), heard }).collect();
                    let sure = remark.sure.into_iter().filter(|u| fits(u.0, u.1));
                    said.unsure =
                        sure.map(|(a, b, probability)| Unsure { at: (a, b), probability }).collect();
                }
            }
        }
        out
    }

    /// The words alone, an utterance a line.
    pub fn words(&self) -> String {
        self.said.iter().map(|said| said.text.as_str()).collect::<Vec<_>>().join("\n")
    }
}

fn began(text: &str) -> Option<Began> {
    if let Ok(at) = DateTime::parse_from_rfc3339(text) {
        return Some(Began::At(at.with_timezone(&Utc)));
    }
    NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M:%S").ok().map(Began::Local)
}

/// On one line, and without the arrow that would end a remark.
fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default().replace("-->", "--\\u003e")
}

fn stamp(seconds: f64) -> String {
    let millis = (seconds.max(0.0) * 1_000.0).round() as u64;
    let (hours, minutes) = (millis / 3_600_000, millis / 60_000 % 60);
    format!("{hours:02}:{minutes:02}:{:02}.{:03}", millis / 1_000 % 60, millis % 1_000)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Hints, read};

    fn transcript() -> Transcript {
        Transcript {
            recording: "3f".repeat(32),
            name: "memo --> one.m4a".into(),
            model: "tiny.en".into(),
            model_sha256: "ab".repeat(32),
            program: "0.1.0".into(),
            began: began("2026-03-13T23:05:00Z"),
            seconds: 12.345,
            corrected: false,
            said: vec![
                Said {
                    from: 0.0,
                    until: 4.2,
                    text: "The cap shrouds are at 22 percent.".into(),
                    changes: vec![Change { at: (4, 15), heard: "cat trouts".into() }],
                    unsure: vec![Unsure { at: (23, 25), probability: 0.4 }],
                },
                Said { from: 4.2, until: 12.3, text: "Wind 15 knots true.".into(), ..Said::default() },
            ],
        }
    }

    #[test]
    fn what_is_written_is_read_back() {
        let transcript = transcript();
        let text = transcript.write();
        assert_eq!(Transcript::read(&text), Some(transcript));
        assert_eq!(Transcript::read("WEBVTT\n\nNOTE recorded today\n"), None);
        assert_eq!(Transcript::read("WEBVTT\n\nNOTE leadsman {}\n"), None);
    }

    #[test]
    fn a_transcript_is_a_note_with_times_and_doubts() {
        let zone = Some((chrono_tz::Australia::Hobart, "--zone".to_owned()));
        let note = read(transcript().write().as_bytes(), &Hints { zone, ..Hints::default() });
        assert_eq!(note.format, "heard");
        assert_eq!(note.notices, []);
        assert_eq!(note.recorded_from, "the recording's own time");
        assert_eq!(note.utterances.len(), 2);
        assert_eq!(note.utterances[1].cue, Some((4.2, 12.3)));
        let at = note.utterances[1].at.expect("a time").at;
        assert_eq!(at.to_rfc3339(), "2026-03-14T10:05:04.200+11:00");
        let [tension, wind] = &note.readings[..] else { panic!("{:?}", note.readings) };
        assert_eq!((tension.quantity.as_str(), tension.low), ("rig_tension", Some(22.0)));
        assert_eq!(tension.doubts.len(), 1, "{:?}", tension.doubts);
        assert_eq!(wind.doubts, [""; 0]);
    }
}
