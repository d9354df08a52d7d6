//! A spectrogram of sound: how loud each band of pitch is in each hundredth of a second, as a logarithm.
//!
//! Frames of 25 ms lie 10 ms apart under a Hann window; their power is summed up by the filters that come with the model.
//! The Fourier transform is a product with a matrix of waves, which costs little beside the network. Source: Radford and
//! others, Robust Speech Recognition via Large-Scale Weak Supervision (2022), and whisper.cpp's `log_mel_spectrogram`,
//! from memory.

use std::f64::consts::TAU;

use crate::matrix::{Matrix, Size, multiply};

/// Samples from one frame to the next: 10 ms at 16 kHz.
pub const STEP: usize = 160;
/// Samples of a frame: 25 ms.
const WINDOW: usize = 400;
/// Turns of a frame's spectrum, the one that stands still among them.
pub const TURNS: usize = WINDOW / 2 + 1;
/// Frames that the network listens to at once: 30 s.
pub const FRAMES: usize = 3_000;
/// Less power than this is taken for this.
const LEAST_POWER: f32 = 1e-10;
/// Powers of ten below the loudest that still count.
const DEPTH: f32 = 8.0;

/// What turns sound into a spectrogram.
pub struct Filters {
    waves: Vec<f32>,
    filters: Vec<f32>,
    bands: usize,
}

impl Filters {
    /// Takes a model's filters, `bands` rows of a weight for each turn.
    pub fn new(filters: Vec<f32>, bands: usize) -> Self {
        // Cosines, then sines. The window is a part of the waves.
        let mut waves = vec![0.0f32; 2 * TURNS * WINDOW];
        let (cosines, sines) = waves.split_at_mut(TURNS * WINDOW);
        for turn in 0..TURNS {
            for at in 0..WINDOW {
                let hann = 0.5 * (1.0 - (TAU * at as f64 / WINDOW as f64).cos());
                let angle = TAU * ((turn * at) % WINDOW) as f64 / WINDOW as f64;
                cosines[turn * WINDOW + at] = (hann * angle.cos()) as f32;
                sines[turn * WINDOW + at] = (hann * angle.sin()) as f32;
            }
        }
        Self { waves, filters, bands }
    }

    /// How loud each turn is in each frame, frame after frame.
    fn power(&self, padded: &[f32], frames: usize) -> Vec<f32> {
        let mut rows = Vec::with_capacity(frames * WINDOW);
        for frame in 0..frames {
            rows.extend_from_slice(&padded[frame * STEP..][..WINDOW]);
        }
        let mut spectrum = vec![0.0; frames * 2 * TURNS];
        let size = Size { rows: frames, columns: 2 * TURNS, depth: WINDOW };
        multiply(&mut spectrum, size, Matrix::rows(&rows, WINDOW), Matrix::turned(&self.waves, WINDOW));
        let mut power = Vec::with_capacity(frames * TURNS);
        for spectrum in spectrum.chunks_exact(2 * TURNS) {
            let (cosines, sines) = spectrum.split_at(TURNS);
            power.extend(cosines.iter().zip(sines).map(|(cosine, sine)| cosine * cosine + sine * sine));
        }
        power
    }
}

/// A spectrogram: `spoken` frames of sound, then 30 s of nothing.
pub struct Mel {
    bands: usize,
    frames: usize,
    /// Frames with sound in them.
    pub spoken: usize,
    /// Band after band.
    data: Vec<f32>,
}

impl Mel {
    /// Makes one of samples at 16 kHz, of which there is more than a frame.
    pub fn of(filters: &Filters, samples: &[f32]) -> Self {
        let bands = filters.bands;
        let frames = samples.len() / STEP + FRAMES;
        let spoken = 1 + (samples.len() - WINDOW / 2) / STEP;
        // Frames that reach into the sound; behind them nothing is to be heard.
        let sounding = ((samples.len() + WINDOW / 2) / STEP + 1).min(frames);
        let padded = pad(samples, sounding * STEP + WINDOW);
        let power = filters.power(&padded, sounding);
        let mut mel = vec![0.0; sounding * bands];
        let size = Size { rows: sounding, columns: bands, depth: TURNS };
        multiply(&mut mel, size, Matrix::rows(&power, TURNS), Matrix::turned(&filters.filters, TURNS));
        let mut data = vec![LEAST_POWER.log10(); bands * frames];
        for (frame, row) in mel.chunks_exact(bands).enumerate() {
            for (band, power) in row.iter().enumerate() {
                data[band * frames + frame] = power.max(LEAST_POWER).log10();
            }
        }
        scale(&mut data);
        Self { bands, frames, spoken, data }
    }

    /// The 30 s from a frame on, band after band; zeros behind the end.
    pub fn window(&self, from: usize) -> Vec<f32> {
        let mut out = vec![0.0; self.bands * FRAMES];
        let from = from.min(self.frames);
        let length = FRAMES.min(self.frames - from);
        for (out, band) in out.chunks_exact_mut(FRAMES).zip(self.data.chunks_exact(self.frames)) {
            out[..length].copy_from_slice(&band[from..][..length]);
        }
        out
    }
}

/// The samples with their first half a frame mirrored in front, and silence behind up to `length`.
fn pad(samples: &[f32], length: usize) -> Vec<f32> {
    const FRONT: usize = WINDOW / 2;
    let mut padded = Vec::with_capacity(length);
    padded.extend(samples[1..=FRONT].iter().rev());
    padded.extend_from_slice(samples);
    padded.resize(length, 0.0);
    padded
}

/// Brings logarithms to about -1 to 1, as the network was trained with them.
fn scale(data: &mut [f32]) {
    let floor = data.iter().copied().fold(f32::MIN, f32::max) - DEPTH;
    for number in data {
        *number = (number.max(floor) + 4.0) / 4.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten bands of twenty turns each.
    fn filters() -> Filters {
        let (bands, each) = (10, TURNS / 10);
        let filters = (0..bands * TURNS).map(|n| f32::from(n % TURNS / each == n / TURNS));
        Filters::new(filters.collect(), bands)
    }

    fn tone(hertz: f64, samples: usize) -> Vec<f32> {
        (0..samples).map(|n| (TAU * hertz * n as f64 / 16_000.0).sin() as f32).collect()
    }

    #[test]
    fn a_tone_is_loudest_in_its_band() {
        // A turn is 40 Hz, a band of twenty of them 800 Hz.
        for band in 0..10 {
            let mel = Mel::of(&filters(), &tone(400.0 + 800.0 * band as f64, 16_000));
            assert_eq!((mel.bands, mel.spoken), (10, 99));
            let loud = |band: usize| mel.data[band * mel.frames + 50];
            let loudest = (0..10).max_by(|a, b| loud(*a).total_cmp(&loud(*b)));
            assert_eq!(loudest, Some(band));
        }
    }

    #[test]
    fn power_is_that_of_a_plain_fourier_sum() {
        let samples: Vec<f32> =
            tone(1_234.0, 800).iter().zip(tone(91.0, 800)).map(|(a, b)| a * 0.3 + b).collect();
        let power = filters().power(&samples, 3);
        for (frame, power) in power.chunks_exact(TURNS).enumerate() {
            for (turn, power) in power.iter().enumerate() {
                let (mut cosine, mut sine) = (0.0, 0.0);
                for (n, sample) in samples[frame * 160..][..400].iter().enumerate() {
                    let hann = (std::f64::consts::PI * n as f64 / 400.0).sin().powi(2);
                    let angle = TAU * turn as f64 * n as f64 / 400.0;
                    cosine += hann * f64::from(*sample) * angle.cos();
                    sine += hann * f64::from(*sample) * angle.sin();
                }
                let expected = cosine * cosine + sine * sine;
                assert!((f64::from(*power) - expected).abs() < 1e-3 + expected * 1e-5, "{power} {expected}");
            }
        }
    }

    #[test]
    fn a_window_behind_the_end_is_empty() {
        let mel = Mel::of(&filters(), &tone(400.0, 16_000));
        assert_eq!(mel.frames, 3_100);
        let window = mel.window(3_099);
        assert_eq!(window[0], mel.data[3_099]);
        assert_eq!(window[1], 0.0);
        assert!(mel.window(9_999).iter().all(|number| *number == 0.0));
    }
}
