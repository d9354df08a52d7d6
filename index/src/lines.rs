//! Records of one JSON line each, appended and synced, never rewritten: arrivals and decisions.
//!
//! A crash or a full disk can cut the last line short. Such a line was never acknowledged: reading leaves it out
//! and says so, and the next append sets it aside in `DEVICE.torn` beside the file. No earlier line is touched.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use crate::disk;
use crate::error::{Error, Result, at};

/// A line that was read, with the place it was read from.
#[derive(Clone, Debug)]
pub struct Line<T> {
    /// What it says.
    pub value: T,
    /// The line as it stands in the file, without its end.
    pub text: String,
    /// The device whose file it is in.
    pub device: String,
}

/// Why a line could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadLine {
    /// The file.
    pub path: PathBuf,
    /// Line, from 1.
    pub line: usize,
    /// What should stand there.
    pub expected: String,
    /// What stands there.
    pub found: String,
    /// Whether it is the file's last line and has no end: what a crash leaves, and was never acknowledged.
    pub torn: bool,
}

impl std::fmt::Display for BadLine {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { path, line, expected, found, .. } = self;
        write!(f, "{}:{line}: expected {expected}, found {found}", path.display())
    }
}

/// What a folder of records says.
#[derive(Clone, Debug)]
pub struct Lines<T> {
    /// Every line that could be read, each once, however many files hold it.
    pub lines: Vec<Line<T>>,
    /// Those that could not.
    pub bad: Vec<BadLine>,
}

/// A kind of record.
pub(crate) trait Record: Serialize + DeserializeOwned {
    /// What a line should be, for messages.
    const EXPECTED: &'static str;

    /// What tells this line from all others.
    fn id(&self) -> &str;

    /// Version of the line's shape. A newer one is kept, and not read.
    fn version(&self) -> u32;

    /// The newest version that this program can read.
    const NEWEST: u32;
}

/// Reads every `*.jsonl` of a folder.
pub(crate) fn read_folder<T: Record>(folder: &Path) -> Result<Lines<T>> {
    let mut all = Lines { lines: Vec::new(), bad: Vec::new() };
    let mut files = Vec::new();
    if folder.is_dir() {
        for entry in fs::read_dir(folder).map_err(at("list", folder))? {
            let path = entry.map_err(at("list", folder))?.path();
            if path.extension().is_some_and(|e| e == "jsonl") {
                files.push(path);
            }
        }
    }
    files.sort();
    let mut seen = HashSet::new();
    for path in files {
        read_file(&path, &mut seen, &mut all)?;
    }
    Ok(all)
}

fn read_file<T: Record>(path: &Path, seen: &mut HashSet<String>, all: &mut Lines<T>) -> Result<()> {
    let bytes = fs::read(path).map_err(at("read", path))?;
    let device = path.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    for (index, line) in bytes.split_inclusive(|b| *b == b'\n').enumerate() {
        let ended = line.ends_with(b"\n");
        let text = line.trim_ascii();
        if text.is_empty() {
            continue;
        }
        match parse::<T>(text) {
            Ok(value) => {
                if seen.insert(value.id().to_owned()) {
                    let text = String::from_utf8_lossy(text).into_owned();
                    all.lines.push(Line { value, text, device: device.clone() });
                }
            }
            Err((expected, found)) => {
                all.bad.push(BadLine {
                    path: path.to_owned(),
                    line: index + 1,
                    expected,
                    found,
                    torn: !ended,
                });
            }
        }
    }
    Ok(())
}

fn parse<T: Record>(text: &[u8]) -> Result<T, (String, String)> {
    #[derive(serde::Deserialize)]
    struct Versioned {
        v: u32,
    }
    if let Ok(Versioned { v }) = serde_json::from_slice(text)
        && v > T::NEWEST
    {
        let expected = format!("{} of version {} or before", T::EXPECTED, T::NEWEST);
        return Err((expected, format!("version {v}, written by a newer program")));
    }
    let value: T = serde_json::from_slice(text).map_err(|e| {
        let shown: String = String::from_utf8_lossy(text).chars().take(60).collect();
        (T::EXPECTED.to_owned(), format!("`{shown}` ({e})"))
    })?;
    debug_assert!(value.version() <= T::NEWEST, "checked above");
    Ok(value)
}

/// Appends lines and returns when they are on the disk. The file's torn last line, if it has one, is set aside.
pub(crate) fn append<T: Record>(path: &Path, lines: &[String]) -> Result<()> {
    mend_tail::<T>(path)?;
    let mut text = String::new();
    for line in lines {
        debug_assert!(!line.contains('\n'), "a record is one line");
        text.push_str(line);
        text.push('\n');
    }
    let before = fs::metadata(path).map(|m| m.len()).unwrap_or(0);
    disk::append(path, text.as_bytes()).inspect_err(|_| {
        // What is half-written was not acknowledged. If it can't be taken back now, reading leaves it out.
        if path.exists() {
            let _ = disk::cut(path, before);
        }
    })
}

/// Puts the missing end to a whole last line, or sets a torn one aside.
fn mend_tail<T: Record>(path: &Path) -> Result<()> {
    let bytes = match fs::read(path) {
        Ok(bytes) => bytes,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(at("read", path)(e)),
    };
    let whole = bytes.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    let tail = &bytes[whole..];
    if tail.is_empty() {
        return Ok(());
    }
    if parse::<T>(tail).is_ok() {
        return disk::append(path, b"\n");
    }
    let mut aside = tail.to_vec();
    aside.push(b'\n');
    disk::append(&path.with_extension("torn"), &aside)?;
    disk::cut(path, whole as u64)
}

/// Whether a text is a whole line of its kind.
pub(crate) fn is_line<T: Record>(text: &str) -> bool {
    !text.contains('\n') && parse::<T>(text.as_bytes()).is_ok()
}

/// Writes a record as its line.
pub(crate) fn to_line<T: Record>(value: &T, path: &Path) -> Result<String> {
    serde_json::to_string(value).map_err(|e| Error::Line {
        path: path.to_owned(),
        line: 0,
        expected: T::EXPECTED.to_owned(),
        found: e.to_string(),
    })
}

/// A digest of a set of lines that does not depend on their order or on the files that they are in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct SetDigest {
    sum: [u8; 32],
    count: u64,
}

impl SetDigest {
    pub(crate) fn add(&mut self, line: &str) {
        let hash: [u8; 32] = Sha256::digest(line.as_bytes()).into();
        for (sum, byte) in self.sum.iter_mut().zip(hash) {
            *sum ^= byte;
        }
        self.count += 1;
    }
}

impl std::fmt::Display for SetDigest {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.sum.iter().try_for_each(|byte| write!(f, "{byte:02x}"))?;
        write!(f, "-{}", self.count)
    }
}
