//! The recogniser: samples in, words with their probabilities out.

use std::num::NonZeroUsize;
use std::thread::available_parallelism;

use leadsman_ear::{Ear, Piece};

use super::ggml::Model;
use crate::error::Error;

/// Words with the recogniser's probability of each, and the seconds between which they were said.
pub type Segment = (f64, f64, Vec<(String, f32)>);

/// A stretch is taken for no speech where the recogniser says so with this probability …
const NO_SPEECH: f32 = 0.6;
/// … and is no surer than this of the words that it makes of it.
const GUESSED: f32 = 0.55;

/// A loaded model.
pub struct Engine {
    ear: Ear,
    prompt: String,
}

impl Engine {
    /// Loads a model. The prompt is words that are likely to be said; `cores` is how many may be taken.
    pub fn open(model: &Model, prompt: &str, cores: Option<NonZeroUsize>) -> Result<Self, Error> {
        let all = available_parallelism().map_or(2, usize::from);
        let threads = cores.map_or(all, usize::from).min(all).min(8);
        let ear = Ear::open(&model.path, threads).map_err(|error| {
            Error::source(format!("{}: the recogniser does not load it", model.path.display()))
                .because(&error)
        })?;
        Ok(Self { ear, prompt: prompt.to_owned() })
    }

    /// Hears what is said in up to 30 s.
    pub fn hear(&mut self, samples: &[f32]) -> Vec<Segment> {
        let mut out = Vec::new();
        for segment in self.ear.hear(samples, &self.prompt) {
            let words = words(&segment.pieces);
            let mean = words.iter().map(|word| word.1).sum::<f32>() / words.len().max(1) as f32;
            let guessed = segment.no_speech > NO_SPEECH && mean < GUESSED;
            if !words.is_empty() && !guessed {
                out.push((segment.from, segment.until, words));
            }
        }
        out
    }
}

/// Pieces put together to words; a word is as sure as its least sure piece.
fn words(pieces: &[Piece]) -> Vec<(String, f32)> {
    let mut words: Vec<(Vec<u8>, f32)> = Vec::new();
    for piece in pieces {
        match words.last_mut() {
            Some(word) if !piece.bytes.starts_with(b" ") => {
                word.0.extend_from_slice(&piece.bytes);
                word.1 = word.1.min(piece.probability);
            }
            _ => words.push((piece.bytes.clone(), piece.probability)),
        }
    }
    let text = |word: (Vec<u8>, f32)| (String::from_utf8_lossy(&word.0).trim().to_owned(), word.1);
    words.into_iter().map(text).filter(|word| !word.0.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_as_sure_as_its_least_sure_piece() {
        let piece = |text: &str, probability| Piece { bytes: text.into(), probability };
        let said = words(&[
            piece(" Sev", 0.9),
            piece("en", 0.4),
            piece(" kn", 0.8),
            piece("ots.", 0.95),
            piece(" ", 0.1),
        ]);
        assert_eq!(said, [("Seven".to_owned(), 0.4), ("knots.".to_owned(), 0.8)]);
    }

    #[test]
    fn a_character_cut_between_pieces_is_put_together() {
        let degree = "°".as_bytes();
        let piece = |bytes: &[u8]| Piece { bytes: bytes.to_vec(), probability: 0.5 };
        assert_eq!(
            words(&[piece(b" 4"), piece(&degree[..1]), piece(&degree[1..])]),
            [("4°".to_owned(), 0.5)]
        );
    }
}
