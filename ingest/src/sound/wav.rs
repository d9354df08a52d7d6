//! A stretch of sound as a file that everything plays.

use super::RATE;

/// Writes samples at [`RATE`], on one channel, as WAV: 16 bits a sample, a header of 44 bytes.
///
/// Samples lie between -1 and 1; what lies beyond is held there. Source of the layout: "Multimedia Programming Interface
/// and Data Specifications 1.0" (1991), from memory.
pub fn write(samples: &[f32]) -> Vec<u8> {
    let length = u32::try_from(samples.len() * 2).unwrap_or(u32::MAX - 36);
    let mut out = Vec::with_capacity(44 + samples.len() * 2);
    out.extend(b"RIFF");
    out.extend((36 + length).to_le_bytes());
    out.extend(b"WAVEfmt ");
    out.extend(16_u32.to_le_bytes());
    // Plain samples, one channel.
    out.extend(1_u16.to_le_bytes());
    out.extend(1_u16.to_le_bytes());
    out.extend(RATE.to_le_bytes());
    out.extend((RATE * 2).to_le_bytes());
    out.extend(2_u16.to_le_bytes());
    out.extend(16_u16.to_le_bytes());
    out.extend(b"data");
    out.extend(length.to_le_bytes());
    for sample in samples {
        let sample = (sample.clamp(-1.0, 1.0) * f32::from(i16::MAX)).round() as i16;
        out.extend(sample.to_le_bytes());
    }
    out
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::super::Sound;
    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        let samples: Vec<f32> = (0..16_000).map(|n| (n as f32 / 40.0).sin() * 0.7).collect();
        let mut sound = Sound::open(Box::new(Cursor::new(write(&samples)))).expect("a recording");
        let mut back = Vec::new();
        while sound.more(&mut back) {}
        assert_eq!(back.len(), samples.len());
        assert!(samples.iter().zip(&back).all(|(a, b)| (a - b).abs() < 1e-3));
        assert_eq!(sound.seconds(), Some(1.0));
    }
}
