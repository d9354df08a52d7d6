//! What changes when a recording is heard again: words, and the readings that come of them.

use leadsman_ingest::heard::Transcript;
use leadsman_ingest::{Hints, Reading, read};
use serde::Serialize;
use similar::{DiffTag, TextDiff};

use crate::figure;

/// What changes.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Changes {
    /// Stretches of words, in their order.
    pub words: Vec<Change>,
    /// Readings that would be gone.
    pub gone: Vec<String>,
    /// Readings that would be new.
    pub new: Vec<String>,
}

/// A stretch of words that is heard otherwise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Where, in seconds of the recording.
    pub at: f64,
    /// What was heard until now.
    pub before: String,
    /// What is heard now.
    pub after: String,
}

impl Changes {
    /// Compares two transcripts, word by word and reading by reading.
    pub fn between(before: &Transcript, after: &Transcript, hints: &Hints) -> Self {
        let words = |transcript: &Transcript| {
            transcript
                .said
                .iter()
                .flat_map(|said| said.text.split_whitespace().map(|word| (word.to_owned(), said.from)))
                .collect::<Vec<_>>()
        };
        let (old, new) = (words(before), words(after));
        // Capitals and signs make no difference to what was said.
        let bare = |words: &[(String, f64)]| {
            let bare = |word: &str| word.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
            words.iter().map(|(word, _)| bare(word)).collect::<Vec<_>>()
        };
        let (old_bare, new_bare) = (bare(&old), bare(&new));
        let (old_ref, new_ref): (Vec<&str>, Vec<&str>) =
            (old_bare.iter().map(String::as_str).collect(), new_bare.iter().map(String::as_str).collect());
        let diff = TextDiff::from_slices(&old_ref, &new_ref);
        let joined = |words: &[(String, f64)]| {
            words.iter().map(|(word, _)| word.as_str()).collect::<Vec<_>>().join(" ")
        };
        let words = diff
            .ops()
            .iter()
            .filter(|op| op.tag() != DiffTag::Equal)
            .map(|op| {
                let (a, b) = (op.old_range(), op.new_range());
                let at = old.get(a.start).or(new.get(b.start)).or(old.last()).map_or(0.0, |word| word.1);
                Change { at, before: joined(&old[a]), after: joined(&new[b]) }
            })
            .collect();
        let readings = |transcript: &Transcript| {
            read(transcript.write().as_bytes(), hints).readings.iter().map(shown).collect::<Vec<_>>()
        };
        let (old, mut new) = (readings(before), readings(after));
        let mut gone = Vec::new();
        for reading in old {
            match new.iter().position(|other| *other == reading) {
                Some(at) => drop(new.remove(at)),
                None => gone.push(reading),
            }
        }
        Self { words, gone, new }
    }
}

fn shown(reading: &Reading) -> String {
    let gear = reading.gear.as_ref().map_or_else(String::new, |gear| format!(" ({gear})"));
    let value = figure::range(reading.low, reading.high, &reading.unit);
    format!("{}{gear} {value}, {}", reading.quantity.replace('_', " "), reading.stance)
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::heard::Said;

    use super::*;

    fn transcript(lines: &[&str]) -> Transcript {
        let said = lines.iter().zip(0..).map(|(text, n)| Said {
            from: f64::from(n) * 5.0,
            until: f64::from(n) * 5.0 + 4.0,
            text: (*text).to_owned(),
            ..Said::default()
        });
        Transcript { recording: "ab".repeat(32), said: said.collect(), ..Transcript::default() }
    }

    #[test]
    fn words_and_readings_that_differ_are_told() {
        let before = transcript(&["True wind 40 knots.", "The general is fine."]);
        let after = transcript(&["true wind 14 knots", "The genoa is fine."]);
        let changes = Changes::between(&before, &after, &Hints::default());
        let words: Vec<_> =
            changes.words.iter().map(|c| (c.at, c.before.as_str(), c.after.as_str())).collect();
        assert_eq!(words, [(0.0, "40", "14"), (5.0, "general", "genoa")]);
        assert_eq!(changes.gone, ["true wind speed 40 kn, observed"]);
        assert_eq!(changes.new, ["true wind speed 14 kn, observed"]);
        assert_eq!(Changes::between(&after, &after, &Hints::default()), Changes::default());
    }
}
