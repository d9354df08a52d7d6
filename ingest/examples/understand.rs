//! Prints what one note says, as JSON: `understand FILE` gives `{"utterances", "readings", "trials", "items", "closings", "remarks", "dues", "passage"}`.

use std::process::ExitCode;

use leadsman_ingest::{Hints, read};

fn main() -> ExitCode {
    let Some(path) = std::env::args_os().nth(1).map(std::path::PathBuf::from) else {
        eprintln!("expected a note's file name, found none; run: understand NOTE");
        return ExitCode::from(2);
    };
    let bytes = match std::fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) => {
            eprintln!("{}: could not be read: {error}", path.display());
            return ExitCode::from(1);
        }
    };
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let note = read(&bytes, &Hints { name, ..Hints::default() });
    println!(
        "{}",
        serde_json::json!({
            "utterances": note.utterances, "readings": note.readings, "trials": note.trials, "items": note.items, "closings": note.closings, "remarks": note.remarks,
            "dues": note.dues, "passage": note.passage,
        })
    );
    ExitCode::SUCCESS
}
