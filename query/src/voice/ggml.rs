//! A model file in whisper.cpp's ggml format, looked over from end to end before it is used; the recogniser says what is
//! one.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use leadsman_ear::{Look, MAGIC};
use leadsman_index::Hashing;

use crate::error::Error;

/// Bytes of a file that are read at once.
const BUFFER: usize = 1 << 20;

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

impl Model {
    /// Looks a file over. Errors: unreadable; not in this format; no model that the recogniser takes; cut short.
    pub fn check(path: &Path) -> Result<Self, Error> {
        let wrong = |what: String| Error::source(format!("{}: {what}", path.display())).hint(super::HOW);
        let file = File::open(path).map_err(|error| {
            Error::source(format!("cannot read {}", path.display())).because(&error).hint(super::HOW)
        })?;
        let mut file = Hashing::new(BufReader::with_capacity(BUFFER, file));
        let look = leadsman_ear::look(&mut file).map_err(|error| wrong(error.to_string()))?;
        let (hash, bytes) = file.finish();
        let sha256 = hash.to_string();
        let Look { english, weights, .. } = look;
        Ok(Self { path: path.to_owned(), name: named(&look), english, weights, bytes, sha256 })
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

/// What a model with so many layers that listen is called.
fn named(look: &Look) -> String {
    let size = match look.layers {
        4 => "tiny",
        6 => "base",
        12 => "small",
        24 => "medium",
        32 => "large",
        _ => "model",
    };
    format!("{size}{}", if look.english { ".en" } else { "" })
}
