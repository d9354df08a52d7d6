//! Numbers that may have been misheard.
//!
//! Three things speak against a reading: the recogniser was not sure of a part of its number, of a teen or a ten not
//! very sure, as forty sounds like fourteen; it guessed a word close by, so that the number may be of something else;
//! the number is a teen or a ten, and the note's other readings of the same thing lie nearer to the one that sounds
//! like it. A value outside of what is usual is a doubt already, however it came in. A guessed word among the
//! reading's own, which fits its unit, was mostly guessed right, and is no doubt.

use super::Transcript;
use super::numbers::{is_part, twin};
use crate::found::{Note, Reading, Span};

/// Below this the recogniser is not sure of a number. Chosen, as are the next three, on our own spoken notes, where they
/// mark most of the wrong readings and an eighth of the right ones; `fixtures/hearing` has the shares.
const SURE: f32 = 0.5;
/// Below this it is not sure of a number that sounds like another.
const SURE_OF_TWIN: f32 = 0.85;
/// Below this it guessed a word.
const GUESSED: f32 = 0.4;
/// How near a guessed word must stand, in bytes of what was said: a word or two before and behind.
const BESIDE: usize = 16;

/// A part of a number, or a word that was guessed.
struct Part<'a> {
    word: &'a str,
    /// Where it stands in the file.
    span: Span,
    /// Where it stands in what was said, the utterances one behind the other.
    said: Span,
    probability: f32,
    is_number: bool,
}

/// The utterances of a transcript in its file.
struct Spoken<'a> {
    /// Where each stands in the file, and where it begins in what was said.
    sentences: Vec<(Span, usize)>,
    parts: Vec<Part<'a>>,
}

impl<'a> Spoken<'a> {
    fn new(transcript: &Transcript, text: &'a str) -> Self {
        let (mut sentences, mut parts) = (Vec::new(), Vec::new());
        let (mut from, mut length) = (0, 0);
        for said in &transcript.said {
            // The utterances stand in the text in their order, each on lines of its own.
            let Some(at) = text.get(from..).and_then(|rest| rest.find(&said.text)) else { continue };
            let start = from + at;
            from = start + said.text.len();
            sentences.push((Span::new(start, from), length));
            parts.extend(said.unsure.iter().map(|unsure| {
                let span = Span::new(start + unsure.at.0, start + unsure.at.1);
                let word = text.get(span.range()).unwrap_or_default();
                Part {
                    word,
                    span,
                    said: Span::new(length + unsure.at.0, length + unsure.at.1),
                    probability: unsure.probability,
                    is_number: is_part(word),
                }
            }));
            length += said.text.len() + 1;
        }
        Self { sentences, parts }
    }

    /// Where a place of the file is in what was said.
    fn said(&self, at: usize) -> Option<usize> {
        let (sentence, base) = self.sentences.iter().rev().find(|(sentence, _)| sentence.start <= at)?;
        Some(base + at.min(sentence.end) - sentence.start)
    }

    /// The number's part of a reading that was heard with the least certainty.
    fn least(&self, span: Span) -> Option<f32> {
        let within = |part: &&Part<'_>| part.is_number && part.span.meets(span);
        self.parts.iter().filter(within).map(|part| part.probability).min_by(f32::total_cmp)
    }

    /// The word beside a reading, and not of it, that was guessed with the least certainty.
    fn guessed(&self, span: Span) -> Option<&Part<'a>> {
        let (start, end) = (self.said(span.start)?, self.said(span.end)?);
        let beside = |part: &&Part<'_>| {
            let before = part.said.end <= start && start < part.said.end + BESIDE;
            let behind = end <= part.said.start && part.said.start < end + BESIDE;
            !part.is_number && part.probability < GUESSED && (before || behind)
        };
        self.parts.iter().filter(beside).min_by(|a, b| a.probability.total_cmp(&b.probability))
    }
}

/// Marks the readings of a heard note that may be wrong. Places are those of the decoded text.
pub(crate) fn doubt(note: &mut Note, transcript: &Transcript, text: &str) {
    if transcript.corrected {
        return;
    }
    let spoken = Spoken::new(transcript, text);
    let values: Vec<f64> = note.readings.iter().map(middle).collect();
    for i in 0..note.readings.len() {
        let reading = &note.readings[i];
        let others: Vec<f64> = (0..note.readings.len())
            .filter(|&j| j != i && alike(reading, &note.readings[j]))
            .map(|j| values[j])
            .collect();
        let mut doubts = Vec::new();
        let twins = [reading.low, reading.high].into_iter().flatten().find_map(|end| Some((end, twin(end)?)));
        match (spoken.least(reading.span), twins) {
            (Some(least), _) if least < SURE => {
                doubts.push(format!("heard with little certainty ({:.0} %)", least * 100.0));
            }
            (Some(least), Some((value, twin))) if least < SURE_OF_TWIN => {
                doubts.push(format!("{value} sounds like {twin}, and was heard at {:.0} %", least * 100.0));
            }
            _ => {}
        }
        if let Some(part) = spoken.guessed(reading.span) {
            let word = part.word.trim_matches(|c: char| !c.is_alphanumeric());
            doubts.push(format!("beside it \"{word}\" was guessed ({:.0} %)", part.probability * 100.0));
        }
        doubts.extend(twin_doubt(values[i], &others));
        note.readings[i].doubts.extend(doubts);
    }
}

fn middle(reading: &Reading) -> f64 {
    match (reading.low, reading.high) {
        (Some(low), Some(high)) => (low + high) / 2.0,
        (low, high) => low.or(high).unwrap_or_default(),
    }
}

/// Whether two readings are of the same thing, so that their values lie near each other.
fn alike(a: &Reading, b: &Reading) -> bool {
    a.quantity == b.quantity && a.gear == b.gear && a.stance == b.stance
}

fn twin_doubt(value: f64, others: &[f64]) -> Option<String> {
    let twin = twin(value)?;
    let nearest = |to: f64| others.iter().map(|other| (other - to).abs()).fold(f64::INFINITY, f64::min);
    // Nearer by half, so that a breeze of thirteen beside one of twenty is not a doubt.
    (nearest(twin) * 2.0 < nearest(value))
        .then(|| format!("{value} sounds like {twin}, which the note's other readings are nearer to"))
}

#[cfg(test)]
mod tests {
    use super::super::{Said, Unsure};
    use super::*;
    use crate::{Hints, read};

    /// What is doubted of a note of two utterances, with words that were heard with some probability.
    fn doubted(heard: [&str; 2], unsure: &[(&str, f32)]) -> Vec<Vec<String>> {
        let said = heard.map(|words| {
            let places = unsure.iter().filter_map(|(word, probability)| {
                let at = words.find(word)?;
                Some(Unsure { at: (at, at + word.len()), probability: *probability })
            });
            Said { text: words.to_owned(), unsure: places.collect(), ..Said::default() }
        });
        let transcript =
            Transcript { recording: "ab".repeat(32), said: said.into(), ..Transcript::default() };
        let note = read(transcript.write().as_bytes(), &Hints::default());
        note.readings.into_iter().map(|reading| reading.doubts).collect()
    }

    #[test]
    fn guessed_words_beside_a_number_are_a_doubt_across_sentences_too() {
        let heard = ["True wind was 14 knots and she yawt a lot.", "Up to 28 degrees of heel."];
        assert_eq!(doubted(heard, &[("yawt", 0.45), ("28", 0.6)]), [[""; 0], [""; 0]]);
        assert_eq!(
            doubted(heard, &[("yawt", 0.28)]),
            [vec!["beside it \"yawt\" was guessed (28 %)"], vec!["beside it \"yawt\" was guessed (28 %)"]]
        );
        assert_eq!(doubted(heard, &[("28", 0.4)]), [vec![], vec!["heard with little certainty (40 %)"]]);
        // A word of the reading itself that fits its unit.
        assert_eq!(doubted(heard, &[("heel", 0.1), ("wind", 0.1)]), [[""; 0], [""; 0]]);
    }

    #[test]
    fn a_number_that_sounds_like_another_must_be_heard_well() {
        let heard = ["True wind 40 knots.", "Heel was 22 degrees."];
        assert_eq!(doubted(heard, &[("40", 0.9), ("22", 0.8)]), [[""; 0], [""; 0]]);
        assert_eq!(
            doubted(heard, &[("40", 0.8), ("22", 0.8)]),
            [vec!["40 sounds like 14, and was heard at 80 %"], vec![]]
        );
    }

    #[test]
    fn a_ten_among_teens_is_a_doubt() {
        assert!(twin_doubt(40.0, &[15.0, 16.0]).is_some());
        assert!(twin_doubt(40.0, &[38.0]).is_none());
        assert!(twin_doubt(40.0, &[]).is_none());
        assert!(twin_doubt(13.0, &[20.0]).is_none());
        assert!(twin_doubt(22.0, &[2.0]).is_none());
    }
}
