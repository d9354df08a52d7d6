//! A recording cut into windows that are listened to one by one.
//!
//! A recogniser takes 30 s at a time. Windows end in the quietest moment near that, so that no word is cut and each stands
//! for itself: listening can stop after any of them and go on with the next.

use leadsman_ingest::sound::RATE;
use serde::{Deserialize, Serialize};

use super::engine::Segment;

/// The longest window, in samples: what the recogniser takes.
const MOST: usize = 30 * RATE as usize;
/// The shortest, while more follows.
const LEAST: usize = 22 * RATE as usize;
/// Samples over which loudness is measured.
const FRAME: usize = RATE as usize / 50;
/// Frames of a pause.
const PAUSE: usize = 15;

/// What was heard in a window.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Heard {
    /// Its first sample.
    pub from: u64,
    /// One past its last sample.
    pub until: u64,
    /// What was said in it, with seconds of the recording.
    pub said: Vec<Segment>,
}

/// Samples that are gathered until a window is full.
#[derive(Debug, Default)]
pub(super) struct Windows {
    waiting: Vec<f32>,
    from: u64,
}

impl Windows {
    /// Where samples that come go.
    pub fn waiting(&mut self) -> &mut Vec<f32> {
        &mut self.waiting
    }

    /// Leaves out what was listened to already, up to a sample. `true`: all of it has come by.
    pub fn skip_to(&mut self, sample: u64) -> bool {
        let left = sample.saturating_sub(self.from);
        let drop = self.waiting.len().min(usize::try_from(left).unwrap_or(usize::MAX));
        self.waiting.drain(..drop);
        self.from += drop as u64;
        self.from >= sample
    }

    /// The next window, if enough has come, or with `last` what is left: its first sample and its samples.
    pub fn next(&mut self, last: bool) -> Option<(u64, Vec<f32>)> {
        if self.waiting.is_empty() || self.waiting.len() < MOST && !last {
            return None;
        }
        let length = if self.waiting.len() <= MOST && last {
            self.waiting.len()
        } else {
            quietest(&self.waiting[..MOST])
        };
        let window: Vec<f32> = self.waiting.drain(..length).collect();
        let from = self.from;
        self.from += length as u64;
        Some((from, window))
    }
}

/// Middle of the quietest pause near the end.
fn quietest(samples: &[f32]) -> usize {
    let power: Vec<f32> =
        samples[LEAST..].chunks_exact(FRAME).map(|f| f.iter().map(|s| s * s).sum()).collect();
    let loudness = |at: usize| power[at..at + PAUSE].iter().sum::<f32>();
    let pauses = power.len().saturating_sub(PAUSE);
    // Of equal ones, the last: the fewer windows, the faster.
    let best = (0..=pauses).rev().min_by(|a, b| loudness(*a).total_cmp(&loudness(*b))).unwrap_or(pauses);
    LEAST + (best + PAUSE / 2) * FRAME
}

/// Whether there is anything in a window that could be speech. Below this no recorder hears a voice: 16-bit silence with
/// its noise lies at 1e-4 and less.
pub(super) fn is_silent(samples: &[f32]) -> bool {
    const FLOOR: f32 = 5e-4;
    let loudest = samples.chunks(FRAME * 5).map(|f| f.iter().map(|s| s * s).sum::<f32>() / f.len() as f32);
    loudest.fold(0.0, f32::max).sqrt() < FLOOR
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_end_in_pauses_and_lose_nothing() {
        let mut windows = Windows::default();
        // A voice, as loud at one moment as at any other, that pauses for half a second at every seven seconds.
        let loud = |n: usize| ((n as u64 * 2_654_435_761) >> 7) as u16 as f32 / 65_535.0 - 0.5;
        let voice = |n: usize| if n % 112_000 < 8_000 { 0.0 } else { loud(n) * 0.6 };
        let all: Vec<f32> = (0..16_000 * 95).map(voice).collect();
        let mut seen = Vec::new();
        let mut starts = Vec::new();
        for piece in all.chunks(4_321) {
            windows.waiting().extend_from_slice(piece);
            while let Some((from, window)) = windows.next(false) {
                starts.push(from);
                seen.extend(window);
            }
        }
        while let Some((from, window)) = windows.next(true) {
            starts.push(from);
            seen.extend(window);
        }
        assert_eq!(seen, all);
        for start in &starts[1..starts.len() - 1] {
            assert!(start % 112_000 < 8_000, "{start} lies in a pause");
        }
        // Going on from the second window gives the same ones.
        let mut again = Windows::default();
        again.waiting().extend_from_slice(&all);
        assert!(again.skip_to(starts[1]));
        assert_eq!(again.next(true).expect("a window").0, starts[1]);
    }

    #[test]
    fn silence_is_told() {
        assert!(is_silent(&[0.0; 16_000]));
        assert!(is_silent(&[1e-4; 16_000]));
        assert!(!is_silent(&(0..16_000).map(|n| (n as f32 / 9.0).sin() * 0.01).collect::<Vec<_>>()));
    }
}
