//! The notes of a boat's folder, for the examples that read them.

#![allow(dead_code, reason = "each example calls some of it")]

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use chrono::NaiveDate;
use leadsman_ingest::judge::{
    Model, TRIAL_WEIGHTS, UNTOLD_WEIGHTS, trial_sign_names, untold_sign_names, use_model,
};
use leadsman_ingest::weigh::Weights;
use leadsman_ingest::{Hints, Note, read};

/// The notes in the order of their names, without the gold beside them; where the folder cannot be read, it says so.
pub fn notes(folder: &Path) -> Result<Vec<PathBuf>, ExitCode> {
    let entries = std::fs::read_dir(folder).map_err(|error| {
        eprintln!("{}: could not be read: {error}", folder.display());
        ExitCode::from(1)
    })?;
    let mut paths: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|kind| kind != "json"));
    paths.sort();
    Ok(paths)
}

/// The folder that an example is asked about, the model of stretches behind it taken in use where one is given, and what
/// else was asked.
pub fn asked(name: &str) -> Result<(PathBuf, impl Iterator<Item = PathBuf>), ExitCode> {
    let mut args = std::env::args_os().skip(1).map(PathBuf::from);
    let Some(folder) = args.next() else {
        eprintln!("expected a folder of notes, found none; run: {name} FOLDER");
        return Err(ExitCode::from(2));
    };
    if let Some(model) = args.next() {
        use_model_of(&model)?;
    }
    Ok((folder, args))
}

/// Reads a folder's notes, each in the light of those before it, with their names.
pub fn read_all(folder: &Path) -> Result<Vec<(String, Note)>, ExitCode> {
    let mut read_notes: Vec<(String, Note)> = Vec::new();
    let mut hints = Hints::default();
    for path in notes(folder)? {
        let Ok(bytes) = std::fs::read(&path) else { continue };
        hints.name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let note = read(&bytes, &hints);
        hints.names.extend(note.names.clone());
        hints.boat_offset = note.recorded.map(|r| *r.at.offset()).or(hints.boat_offset);
        read_notes.push((hints.name.clone(), note));
    }
    Ok(read_notes)
}

/// The day of the latest note.
pub fn last_day(notes: &[(String, Note)]) -> NaiveDate {
    let days = notes.iter().filter_map(|(_, n)| n.recorded).map(|r| r.at.date_naive());
    days.max().unwrap_or(NaiveDate::MIN)
}

/// Judges stretches by the model in a file instead of the one built in.
fn use_model_of(file: &Path) -> Result<(), ExitCode> {
    let model = std::fs::read(file).map_err(|e| e.to_string()).and_then(|b| Model::read(&b));
    match model {
        Ok(model) => {
            use_model(model);
            Ok(())
        }
        Err(error) => {
            eprintln!("{}: {error}", file.display());
            Err(ExitCode::from(1))
        }
    }
}

/// Takes the weights of trials from files TRIED and UNTOLD, where they are given.
pub fn use_trial_weights(args: &mut impl Iterator<Item = PathBuf>) -> Result<(), ExitCode> {
    if let Some(file) = args.next() {
        TRIAL_WEIGHTS.replace(weights(&file, &trial_sign_names())?);
    }
    if let Some(file) = args.next() {
        UNTOLD_WEIGHTS.replace(weights(&file, &untold_sign_names())?);
    }
    Ok(())
}

/// Reads a file of weights of signs with these names.
pub fn weights<const N: usize>(file: &Path, names: &[String]) -> Result<Weights<N>, ExitCode> {
    let text = std::fs::read_to_string(file).map_err(|e| e.to_string());
    text.and_then(|text| Weights::read(&text, names)).map_err(|error| {
        eprintln!("{}: {error}", file.display());
        ExitCode::from(1)
    })
}
