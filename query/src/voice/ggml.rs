//! A model file in whisper.cpp's ggml format, looked over from end to end before it is used.
//!
//! Layout, all numbers little-endian: the magic; eleven sizes of four bytes (vocabulary, audio context, audio state, audio
//! heads, audio layers, text context, text state, text heads, text layers, mel bands, kind of number); the mel filters; the
//! vocabulary; then one tensor behind the other to the end of the file. Source: whisper.cpp,
//! `models/convert-pt-to-ggml.py` and `src/whisper.cpp`, from memory.

use std::fs::File;
use std::io::{BufReader, ErrorKind, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use leadsman_index::SourceId;

use crate::error::Error;

/// `ggml` as a number.
pub(super) const MAGIC: u32 = 0x6767_6d6c;

/// A model that was looked over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Model {
    /// Where it lies.
    pub path: PathBuf,
    /// What it is called: `tiny.en`, `base`.
    pub name: String,
    /// Whether it knows English only.
    pub english: bool,
    /// Its weights.
    pub weights: u64,
    /// Its size in bytes.
    pub bytes: u64,
    /// SHA-256 of the file, in hexadecimal digits.
    pub sha256: String,
}

/// Bytes of a block of numbers, and how many numbers it holds, by ggml's kind of number.
fn block(kind: u32) -> Option<(u64, u64)> {
    Some(match kind {
        0 => (4, 1),
        1 => (2, 1),
        2 => (18, 32),
        3 => (20, 32),
        6 => (22, 32),
        7 => (24, 32),
        8 => (34, 32),
        10 => (84, 256),
        11 => (110, 256),
        12 => (144, 256),
        13 => (176, 256),
        14 => (210, 256),
        _ => return None,
    })
}

struct Walk {
    from: BufReader<File>,
    at: u64,
    length: u64,
}

impl Walk {
    fn take(&mut self, into: &mut [u8]) -> Result<(), String> {
        self.at += into.len() as u64;
        self.from.read_exact(into).map_err(|error| match error.kind() {
            ErrorKind::UnexpectedEof => {
                format!("expected at least {} bytes, found {}: the file is cut short", self.at, self.length)
            }
            _ => error.to_string(),
        })
    }

    fn number(&mut self) -> Result<u32, String> {
        let mut bytes = [0; 4];
        self.take(&mut bytes)?;
        Ok(u32::from_le_bytes(bytes))
    }

    fn skip(&mut self, bytes: u64) -> Result<(), String> {
        self.at = self.at.saturating_add(bytes);
        if self.at > self.length {
            return Err(format!(
                "expected at least {} bytes, found {}: the file is cut short",
                self.at, self.length
            ));
        }
        self.from.seek(SeekFrom::Start(self.at)).map(drop).map_err(|error| error.to_string())
    }
}

impl Model {
    /// Looks a file over. Errors: unreadable; not in this format; sizes that no model of this kind has; cut short.
    pub fn check(path: &Path) -> Result<Self, Error> {
        let wrong = |what: String| Error::source(format!("{}: {what}", path.display())).hint(super::HOW);
        let file = File::open(path).map_err(|error| {
            Error::source(format!("cannot read {}", path.display())).because(&error).hint(super::HOW)
        })?;
        let bytes = file.metadata().map_err(|error| wrong(error.to_string()))?.len();
        let mut walk = Walk { from: BufReader::with_capacity(1 << 16, file), at: 0, length: bytes };
        let (name, english, weights) = look(&mut walk).map_err(wrong)?;
        let mut file = walk.from.into_inner();
        file.seek(SeekFrom::Start(0)).map_err(|error| wrong(error.to_string()))?;
        let (hash, _) = SourceId::of_stream(file).map_err(|error| wrong(error.to_string()))?;
        let sha256 = hash.to_string();
        Ok(Self { path: path.to_owned(), name, english, weights, bytes, sha256 })
    }

    /// Whether a file's first bytes are those of this format.
    pub fn begins(head: &[u8]) -> bool {
        head.get(..4) == Some(&MAGIC.to_le_bytes())
    }

    /// The first digits of its hash.
    pub fn short(&self) -> &str {
        &self.sha256[..8]
    }
}

fn look(walk: &mut Walk) -> Result<(String, bool, u64), String> {
    let magic = walk.number()?;
    if magic != MAGIC {
        let found = match &magic.to_le_bytes() {
            b"GGUF" => "a GGUF file",
            b"RIFF" => "a sound file",
            b"PK\x03\x04" => "a zip archive",
            _ => "something else",
        };
        return Err(format!("expected a speech model in whisper.cpp's ggml format, found {found}"));
    }
    let mut sizes = [0; 11];
    for size in &mut sizes {
        *size = walk.number()?;
    }
    let [
        vocabulary,
        context,
        state,
        heads,
        layers,
        text_context,
        text_state,
        text_heads,
        text_layers,
        bands,
        kind,
    ] = sizes;
    let speech = (51_000..60_000).contains(&vocabulary)
        && context == 1_500
        && (64..=4_096).contains(&state)
        && (1..=64).contains(&heads)
        && state % heads == 0
        && (1..=64).contains(&layers)
        && (1..=4_096).contains(&text_context)
        && text_state == state
        && text_heads == heads
        && (1..=64).contains(&text_layers)
        && (bands == 80 || bands == 128);
    if !speech {
        return Err(format!("expected the sizes of a speech model, found {sizes:?}"));
    }
    let (mel, turns) = (walk.number()?, walk.number()?);
    if mel != bands || turns != 201 {
        return Err(format!("expected mel filters of {bands} by 201, found {mel} by {turns}"));
    }
    walk.skip(u64::from(mel) * u64::from(turns) * 4)?;
    let words = walk.number()?;
    if words > vocabulary {
        return Err(format!("expected at most {vocabulary} words, found {words}"));
    }
    for n in 0..words {
        let length = walk.number()?;
        if length > 1_024 {
            return Err(format!(
                "expected a word of the vocabulary, found one of {length} bytes as word {n}"
            ));
        }
        walk.skip(u64::from(length))?;
    }
    let mut weights = 0;
    let mut tensors = 0_u64;
    while walk.at < walk.length {
        weights += tensor(walk)?;
        tensors += 1;
    }
    // What every model of this kind has: conv and norm around 15 tensors a layer that listens and 24 a layer that writes.
    let expected = 10 + 15 * u64::from(layers) + 24 * u64::from(text_layers) + 1;
    if tensors != expected {
        return Err(format!(
            "expected {expected} tensors, found {tensors}: the file is cut short, or of another kind"
        ));
    }
    if block(kind % 1_000).is_none() && kind > 20 {
        return Err(format!("expected a kind of number that is known here, found {kind}"));
    }
    let english = vocabulary == 51_864;
    let size = match layers {
        4 => "tiny",
        6 => "base",
        12 => "small",
        24 => "medium",
        32 => "large",
        _ => "model",
    };
    Ok((format!("{size}{}", if english { ".en" } else { "" }), english, weights))
}

/// Passes over a tensor; how many weights it has.
fn tensor(walk: &mut Walk) -> Result<u64, String> {
    let (dimensions, length, kind) = (walk.number()?, walk.number()?, walk.number()?);
    let start = walk.at;
    if !(1..=4).contains(&dimensions) || !(1..=128).contains(&length) {
        return Err(format!("expected a tensor at byte {start}, found something else"));
    }
    let mut weights = 1_u64;
    for _ in 0..dimensions {
        weights = weights.saturating_mul(u64::from(walk.number()?));
    }
    let mut name = vec![0; length as usize];
    walk.take(&mut name)?;
    let name = String::from_utf8_lossy(&name).into_owned();
    if !name.starts_with("encoder.") && !name.starts_with("decoder.") {
        return Err(format!("expected a tensor at byte {start}, found one named {name:?}"));
    }
    let Some((bytes, numbers)) = block(kind) else {
        return Err(format!("{name}: expected a kind of number that is known here, found {kind}"));
    };
    walk.skip(weights.div_ceil(numbers).saturating_mul(bytes))?;
    Ok(weights)
}
