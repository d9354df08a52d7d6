//! Numbers that may have been misheard.
//!
//! Five things speak against a reading: the recogniser was not sure of a part of its number; it guessed a word right
//! beside it, or one of those that say what is measured, so that the number may be of something else; it guessed several
//! words of the sentence, which may have been another one altogether; the number is a teen or a ten, and the note's other
//! readings of the same thing lie nearer to the one that sounds like it. A value outside of what is usual is a doubt
//! already, however it came in.

use super::Transcript;
use super::numbers::{is_part, twin};
use crate::found::{Note, Reading, Span};

/// Below this the recogniser is not sure of a number. Chosen on our own spoken notes; see `fixtures/hearing`.
const SURE: f32 = 0.6;
/// Below this it guessed a word.
const GUESSED: f32 = 0.4;
/// Below this it guessed a word of those that say what is measured.
const GUESSED_OF: f32 = 0.5;
/// How near a guessed word must stand, in bytes: the word before and the one behind.
const BESIDE: usize = 12;
/// So many guessed words in a sentence make all of it doubtful.
const SEVERAL: usize = 3;

/// Marks the readings of a heard note that may be wrong. Places are those of the decoded text.
pub(crate) fn doubt(note: &mut Note, transcript: &Transcript, text: &str) {
    if transcript.corrected {
        return;
    }
    let mut unsure: Vec<(Span, f32)> = Vec::new();
    let mut sentences: Vec<Span> = Vec::new();
    let mut from = 0;
    for said in &transcript.said {
        // The utterances stand in the text in their order, each on lines of its own.
        let Some(at) = text.get(from..).and_then(|rest| rest.find(&said.text)) else { continue };
        let start = from + at;
        from = start + said.text.len();
        sentences.push(Span::new(start, from));
        let places = said.unsure.iter().map(|u| (Span::new(start + u.at.0, start + u.at.1), u.probability));
        unsure.extend(places);
    }
    let said: Vec<(f64, f64)> = note.readings.iter().map(|reading| (middle(reading), 0.0)).collect();
    for i in 0..note.readings.len() {
        let reading = &note.readings[i];
        let within = |from: usize, until: usize, number: bool| {
            unsure
                .iter()
                .filter(move |(span, _)| span.start < until && from < span.end)
                .filter(move |(span, _)| is_part(&text[span.range()]) == number)
                .min_by(|a, b| a.1.total_cmp(&b.1))
        };
        let least = within(reading.span.start, reading.span.end, true).map_or(1.0, |unsure| unsure.1);
        let beside = within(reading.span.start.saturating_sub(BESIDE), reading.span.end + BESIDE, false);
        let others: Vec<f64> = (0..note.readings.len())
            .filter(|&j| j != i && alike(reading, &note.readings[j]))
            .map(|j| said[j].0)
            .collect();
        let mut doubts = Vec::new();
        if least < SURE {
            doubts.push(format!("heard with little certainty ({:.0} %)", least * 100.0));
        }
        if let Some((span, probability)) = beside.filter(|unsure| unsure.1 < GUESSED) {
            let word = text[span.range()].trim_matches(|c: char| !c.is_alphanumeric());
            doubts.push(format!("beside it \"{word}\" was guessed ({:.0} %)", probability * 100.0));
        }
        let is_of = |span: &Span| {
            let mut quantity = reading.because.iter().filter(|reason| reason.of == "quantity");
            quantity.any(|reason| reason.span.start < span.end && span.start < reason.span.end)
        };
        let guessed = |(span, probability): &&(Span, f32)| {
            *probability < GUESSED_OF && !is_part(&text[span.range()]) && is_of(span)
        };
        if doubts.is_empty()
            && let Some((span, probability)) =
                unsure.iter().filter(guessed).min_by(|a, b| a.1.total_cmp(&b.1))
        {
            let word = text[span.range()].trim_matches(|c: char| !c.is_alphanumeric());
            doubts.push(format!(
                "\"{word}\", which says what it is, was guessed ({:.0} %)",
                probability * 100.0
            ));
        }
        let sentence = sentences.iter().find(|s| s.start <= reading.span.start && reading.span.start < s.end);
        let around = sentence.map_or(0, |sentence| {
            let in_it = |span: &Span| sentence.start <= span.start && span.end <= sentence.end;
            unsure
                .iter()
                .filter(|(span, p)| *p < GUESSED && !is_part(&text[span.range()]) && in_it(span))
                .count()
        });
        if doubts.is_empty() && around >= SEVERAL {
            doubts.push(format!("{around} words of its sentence were guessed"));
        }
        doubts.extend(twin_doubt(said[i].0, &others));
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
    use super::*;

    #[test]
    fn a_ten_among_teens_is_a_doubt() {
        assert!(twin_doubt(40.0, &[15.0, 16.0]).is_some());
        assert!(twin_doubt(40.0, &[38.0]).is_none());
        assert!(twin_doubt(40.0, &[]).is_none());
        assert!(twin_doubt(13.0, &[20.0]).is_none());
        assert!(twin_doubt(22.0, &[2.0]).is_none());
    }
}
