//! Reads a boat's notes in the order of their names and prints, as JSON, what each raises in the light of those before
//! it, and what stands open and closed at the end: `boat FOLDER [MODEL]`, judged by another model than the one built in where
//! one is given.

mod folder;

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::NaiveDate;
use leadsman_ingest::judge::{Model, use_model};
use leadsman_ingest::matter::{Matter, Noted, Passage, fold, raised};
use leadsman_ingest::{Hints, Note, read};

fn main() -> ExitCode {
    let Some(folder) = std::env::args_os().nth(1).map(PathBuf::from) else {
        eprintln!("expected a folder of notes, found none; run: boat FOLDER");
        return ExitCode::from(2);
    };
    if let Some(model) = std::env::args_os().nth(2) {
        match std::fs::read(&model).map_err(|e| e.to_string()).and_then(|b| Model::read(&b)) {
            Ok(model) => use_model(model),
            Err(error) => {
                eprintln!("{}: {error}", model.display());
                return ExitCode::from(1);
            }
        };
    }
    let paths = match folder::notes(&folder) {
        Ok(paths) => paths,
        Err(code) => return code,
    };
    let mut notes: Vec<(String, Note)> = Vec::new();
    let mut hints = Hints::default();
    for path in paths {
        let Ok(bytes) = std::fs::read(&path) else { continue };
        hints.name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let note = read(&bytes, &hints);
        hints.names.extend(note.names.clone());
        hints.boat_offset = note.recorded.map(|r| *r.at.offset()).or(hints.boat_offset);
        notes.push((hints.name.clone(), note));
    }
    let noted: Vec<Noted<'_>> = notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
    let passage = Passage::default();
    let day = notes
        .iter()
        .filter_map(|(_, n)| n.recorded)
        .map(|r| r.at.date_naive())
        .max()
        .unwrap_or(NaiveDate::MIN);
    let each: Vec<_> = noted
        .iter()
        .enumerate()
        .map(|(i, n)| {
            serde_json::json!({
                "name": n.name, "readings": n.note.readings, "trials": n.note.trials,
                "items": raised(&noted[..i], n, &passage, day), "closings": n.note.closings,
            })
        })
        .collect();
    let ledger = fold(&noted, &[], &passage, day);
    let list = |matters: &[Matter]| -> Vec<_> {
        matters.iter().map(|m| serde_json::json!({"gear": m.gear, "about": m.about, "why": m.why.first(), "closed": m.closed})).collect()
    };
    println!(
        "{}",
        serde_json::json!({"notes": each, "open": list(&ledger.open), "closed": list(&ledger.closed)})
    );
    ExitCode::SUCCESS
}
