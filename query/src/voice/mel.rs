//! The mel filters that come with every speech model: 80 or 128 triangles over the 201 turns of 25 ms at 16 kHz.
//!
//! Mel scale of Slaney's Auditory Toolbox (1998): linear below 1 kHz at 3 mel in 200 Hz, above it 27 steps in a factor of
//! 6.4; each triangle has the area of 1 over its width. From memory.

/// Turns of a spectrum of 400 samples.
pub(super) const TURNS: usize = 201;

fn hertz(mel: f64) -> f64 {
    const LINE: f64 = 200.0 / 3.0;
    const KNEE: f64 = 15.0;
    if mel < KNEE { mel * LINE } else { 1_000.0 * ((mel - KNEE) * 6.4_f64.ln() / 27.0).exp() }
}

fn mel(hertz: f64) -> f64 {
    if hertz < 1_000.0 { hertz * 3.0 / 200.0 } else { 15.0 + (hertz / 1_000.0).ln() * 27.0 / 6.4_f64.ln() }
}

/// The filters, band by band.
pub(super) fn filters(bands: usize) -> Vec<f32> {
    let top = mel(8_000.0);
    let edges: Vec<f64> = (0..bands + 2).map(|n| hertz(top * n as f64 / (bands + 1) as f64)).collect();
    let mut out = Vec::with_capacity(bands * TURNS);
    for band in edges.windows(3) {
        for turn in 0..TURNS {
            let at = turn as f64 * 40.0;
            let rise = (at - band[0]) / (band[1] - band[0]);
            let fall = (band[2] - at) / (band[2] - band[1]);
            out.push((rise.min(fall).max(0.0) * 2.0 / (band[2] - band[0])) as f32);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_filters_are_those_that_the_models_were_trained_with() {
        let filters = filters(80);
        // The first figures of the filters that whisper publishes (assets/mel_filters.npz, mel_80), from memory.
        assert_eq!(filters[0], 0.0);
        assert!((f64::from(filters[1]) - 0.024_862_59).abs() < 1e-6, "{}", filters[1]);
        assert!((f64::from(filters[TURNS + 1]) - 0.001_990_82).abs() < 1e-6, "{}", filters[TURNS + 1]);
        assert!((f64::from(filters[TURNS + 2]) - 0.022_871_77).abs() < 1e-6, "{}", filters[TURNS + 2]);
    }

    #[test]
    fn hertz_and_mel_go_both_ways() {
        for at in [0.0, 440.0, 1_000.0, 4_321.0, 8_000.0] {
            assert!((hertz(mel(at)) - at).abs() < 1e-6);
        }
    }
}
