//! Any rate to the recogniser's, as the samples stream.

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Indexing, Resampler};

use super::RATE;

/// Samples that are converted together.
const PIECE: usize = 1_024;

/// One channel from one rate to [`RATE`].
pub(super) struct Resample {
    from: u32,
    inner: Option<Fft<f32>>,
    waiting: Vec<f32>,
    out: Vec<f32>,
    /// Samples of the beginning that are the filter's own delay.
    late: usize,
    taken: u64,
    given: u64,
}

impl Resample {
    /// `None`: a rate that no recorder has.
    pub fn new(from: u32) -> Option<Self> {
        if !(4_000..=768_000).contains(&from) {
            return None;
        }
        let inner = match from {
            RATE => None,
            _ => Some(Fft::new(from as usize, RATE as usize, PIECE, 1, FixedSync::Input).ok()?),
        };
        let late = inner.as_ref().map_or(0, Resampler::output_delay);
        Some(Self { from, inner, waiting: Vec::new(), out: Vec::new(), late, taken: 0, given: 0 })
    }

    pub fn rate(&self) -> u32 {
        self.from
    }

    /// Takes samples and appends what comes of them.
    pub fn take(&mut self, samples: &[f32], into: &mut Vec<f32>) {
        self.taken += samples.len() as u64;
        let Some(inner) = &mut self.inner else {
            into.extend_from_slice(samples);
            return;
        };
        self.waiting.extend_from_slice(samples);
        let mut used = 0;
        loop {
            let wanted = inner.input_frames_next();
            if self.waiting.len() - used < wanted {
                break;
            }
            self.out.resize(inner.output_frames_max(), 0.0);
            let length = self.out.len();
            let piece = &self.waiting[used..used + wanted];
            let (Ok(from), Ok(mut to)) = (
                InterleavedSlice::new(piece, 1, wanted),
                InterleavedSlice::new_mut(&mut self.out, 1, length),
            ) else {
                break;
            };
            let Ok((read, written)) = inner.process_into_buffer(&from, &mut to, Some(&Indexing::new()))
            else {
                break;
            };
            used += read.max(1);
            let skipped = self.late.min(written);
            self.late -= skipped;
            self.given += (written - skipped) as u64;
            into.extend_from_slice(&self.out[skipped..written]);
        }
        self.waiting.drain(..used.min(self.waiting.len()));
    }

    /// The rest, so that as much time comes out as went in.
    pub fn finish(&mut self, into: &mut Vec<f32>) {
        if self.inner.is_none() {
            return;
        }
        let all = (self.taken * u64::from(RATE) + u64::from(self.from) / 2) / u64::from(self.from);
        let taken = self.taken;
        for _ in 0..64 {
            if self.given >= all {
                break;
            }
            self.take(&[0.0; PIECE], into);
        }
        self.taken = taken;
        let over = self.given.saturating_sub(all) as usize;
        into.truncate(into.len().saturating_sub(over));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_keeps_its_length_its_pitch_and_its_strength() {
        for rate in [8_000_u32, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000] {
            let turn = std::f32::consts::TAU * 440.0 / rate as f32;
            let tone: Vec<f32> = (0..rate * 2).map(|n| (n as f32 * turn).sin() * 0.5).collect();
            let mut resample = Resample::new(rate).expect("a rate that recorders have");
            let mut out = Vec::new();
            for piece in tone.chunks(777) {
                resample.take(piece, &mut out);
            }
            resample.finish(&mut out);
            assert_eq!(out.len(), 32_000, "{rate}");
            let middle = &out[4_000..28_000];
            let crossings = middle.windows(2).filter(|pair| pair[0] < 0.0 && pair[1] >= 0.0).count();
            assert!(crossings.abs_diff(660) <= 1, "{rate}: {crossings} turns in 1.5 s of 440 Hz");
            let power = middle.iter().map(|s| s * s).sum::<f32>() / middle.len() as f32;
            assert!((power - 0.125).abs() < 0.003, "{rate}: {power}");
        }
        assert!(Resample::new(0).is_none());
    }
}
