//! A stretch of a recording's sound as a file.

use std::fs::File;
use std::path::Path;

use leadsman_ingest::sound::{RATE, Sound, Unheard, wav};

use crate::error::Error;

/// The longest clip, in seconds: a long recording has a file of its own.
const MOST: f64 = 600.0;

/// The samples from one second of a recording to another.
///
/// Errors: there is no sound in it that can be decoded.
pub fn samples(file: File, from: f64, until: f64) -> Result<Vec<f32>, Unheard> {
    let mut sound = Sound::open(Box::new(file))?;
    let at = |seconds: f64| (seconds * f64::from(RATE)) as usize;
    let (from, until) = (at(from), at(until.min(from + MOST)));
    let (mut out, mut piece, mut done) = (Vec::new(), Vec::new(), 0_usize);
    while done < until && sound.more(&mut piece) {
        let start = from.saturating_sub(done).min(piece.len());
        let end = until.saturating_sub(done).min(piece.len());
        out.extend_from_slice(&piece[start..end.max(start)]);
        done += piece.len();
        piece.clear();
    }
    Ok(out)
}

/// Writes samples as WAV. Errors: nothing to write; the disk.
pub fn write(samples: &[f32], out: &Path) -> Result<(), Error> {
    if samples.is_empty() {
        return Err(Error::wrong_use("there is no sound in that stretch")
            .hint("`leadsman transcript RECORDING` shows how long it is"));
    }
    std::fs::write(out, wav::write(samples))
        .map_err(|error| Error::home(format!("cannot write {}", out.display())).because(&error))
}
