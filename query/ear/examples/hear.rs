//! Prints what a model hears in WAV files: `cargo run -p leadsman-ear --example hear -- MODEL THREADS PROMPT WAV...`
//!
//! One line a segment: when, how likely silence is, then each piece with its probability in full, so that two builds can
//! be compared byte for byte. Takes WAV files of one channel, 16 bits and 16 kHz only; those are what a model hears.

use std::error::Error;
use std::path::Path;
use std::time::Instant;

use leadsman_ear::Ear;

/// Format 1 (whole numbers), one channel, 16 kHz, 32,000 bytes a second, 2 bytes a frame, 16 bits.
const PLAIN: [u8; 16] = [1, 0, 1, 0, 0x80, 0x3e, 0, 0, 0, 0x7d, 0, 0, 2, 0, 16, 0];

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [model, threads, prompt, sounds @ ..] = arguments.as_slice() else {
        return Err("expected MODEL THREADS PROMPT WAV...".into());
    };
    let mut ear = Ear::open(Path::new(model), threads.parse()?)?;
    for sound in sounds {
        let samples = samples(&std::fs::read(sound)?).ok_or_else(|| {
            format!("{sound}: expected a WAV file of one channel, 16 bits and 16 kHz, found something else")
        })?;
        println!("{sound}");
        let started = Instant::now();
        for segment in ear.hear(&samples, prompt) {
            print!("  {:?} {:?} {:?}", segment.from, segment.until, segment.no_speech);
            for piece in segment.pieces {
                print!(" {:?}={:?}", String::from_utf8_lossy(&piece.bytes), piece.probability);
            }
            println!();
        }
        eprintln!("{sound}: {:.2} s", started.elapsed().as_secs_f64());
    }
    Ok(())
}

/// Samples between -1 and 1. A WAV file is `RIFF`, its length, `WAVE`, then chunks: a name, a length, so many bytes.
fn samples(bytes: &[u8]) -> Option<Vec<f32>> {
    let mut rest = bytes.strip_prefix(b"RIFF")?.get(4..)?.strip_prefix(b"WAVE")?;
    loop {
        let (name, after) = rest.split_first_chunk::<4>()?;
        let (length, after) = after.split_first_chunk::<4>()?;
        let length = u32::from_le_bytes(*length) as usize;
        let chunk = &after[..length.min(after.len())];
        match name {
            b"fmt " if !chunk.starts_with(&PLAIN) => return None,
            b"data" => {
                let sample = |b: &[u8]| f32::from(i16::from_le_bytes([b[0], b[1]])) / 32_768.0;
                return Some(chunk.chunks_exact(2).map(sample).collect());
            }
            _ => {}
        }
        // Chunks begin at even bytes.
        rest = after.get(length.next_multiple_of(2)..)?;
    }
}
