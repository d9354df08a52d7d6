//! The model: a weight for every sign and saying, in one byte each; `ingest/train/train.py` makes its file.
//!
//! File, little-endian: for each of [`super::NAMES`] a scale (f32) and a constant (f32), then for each of them [`SIGNS`]
//! weights (i8). A stretch's score for a saying is the constant plus the scale times the sum of its signs' weights,
//! divided by the square root of their number; the likelihoods come of the scores by softmax.

use std::sync::OnceLock;

use super::signs::SIGNS;
use super::{Judged, NAMES};

static FILE: &[u8] = include_bytes!("../../lexicon/judge.bin");
static MODEL: OnceLock<Model> = OnceLock::new();

/// By how much the weights that are kept are more than those of the file: sums of what has no sign take fewer steps.
const RAISED: u8 = 128;

/// As many weights as can be summed in 16 bits.
const FEW: usize = u16::MAX as usize / u8::MAX as usize;

/// The weights.
#[derive(Debug)]
pub struct Model {
    scale: [f32; NAMES.len()],
    constant: [f32; NAMES.len()],
    /// By sign, then by saying; more by [`RAISED`] than they are, so that none is below nought.
    weights: Vec<[u8; NAMES.len()]>,
}

/// Judges with another model than the one that is built in, for a program that compares models. Only the first call
/// before anything was judged has an effect; it says whether it had.
pub fn use_model(model: Model) -> bool {
    MODEL.set(model).is_ok()
}

impl Model {
    /// Reads a model's file; the error says what was expected of it.
    pub fn read(bytes: &[u8]) -> Result<Self, String> {
        const HEAD: usize = NAMES.len() * 8;
        let expected = HEAD + NAMES.len() * SIGNS;
        if bytes.len() != expected {
            return Err(format!("expected a model of {expected} bytes, found {}", bytes.len()));
        }
        let figure = |at: usize| f32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
        let mut model = Self {
            scale: [0.0; NAMES.len()],
            constant: [0.0; NAMES.len()],
            weights: vec![[RAISED; NAMES.len()]; SIGNS],
        };
        for saying in 0..NAMES.len() {
            model.scale[saying] = figure(saying * 8);
            model.constant[saying] = figure(saying * 8 + 4);
            let weights = &bytes[HEAD + saying * SIGNS..HEAD + (saying + 1) * SIGNS];
            for (place, &weight) in weights.iter().enumerate() {
                model.weights[place][saying] = weight.wrapping_add(RAISED);
            }
        }
        Ok(model)
    }

    /// The model in use: the one built in, where no other was given.
    pub fn get() -> &'static Self {
        MODEL.get_or_init(|| Self::read(FILE).expect("lexicon/judge.bin is checked by a test"))
    }

    /// How likely a stretch with these signs says each thing.
    pub fn judge(&self, signs: &[u32]) -> Judged {
        let mut sums = [0_i32; NAMES.len()];
        for few in signs.chunks(FEW) {
            let mut raised = [0_u16; NAMES.len()];
            let mut known = 0;
            for weights in few.iter().filter_map(|&sign| self.weights.get(sign as usize)) {
                for (sum, &weight) in raised.iter_mut().zip(weights) {
                    *sum += u16::from(weight);
                }
                known += 1;
            }
            for (sum, raised) in sums.iter_mut().zip(raised) {
                *sum += i32::from(raised) - known * i32::from(RAISED);
            }
        }
        let root = (signs.len().max(1) as f32).sqrt();
        let mut scores = [0.0; NAMES.len()];
        for saying in 0..NAMES.len() {
            scores[saying] = self.constant[saying] + self.scale[saying] * sums[saying] as f32 / root;
        }
        let most = scores.iter().copied().fold(f32::MIN, f32::max);
        let all: f32 = scores.iter().map(|s| (s - most).exp()).sum();
        Judged(scores.map(|s| (s - most).exp() / all))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_model_that_is_built_in_reads() {
        assert!(Model::read(FILE).is_ok());
        assert_eq!(
            Model::read(&[0; 3]).map(|_| ()),
            Err("expected a model of 262208 bytes, found 3".to_owned())
        );
    }

    #[test]
    fn likelihoods_come_to_one() {
        let judged = Model::get().judge(&[1, 5, 9, u32::MAX]);
        assert!((judged.0.iter().sum::<f32>() - 1.0).abs() < 1e-5);
    }
}
