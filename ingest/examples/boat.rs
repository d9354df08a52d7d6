//! Reads a boat's notes in the order of their names and prints, as JSON, what each raises in the light of those before
//! it, and what stands open and closed at the end: `boat FOLDER [MODEL [OVER [SURE]]]`, judged by another model of
//! stretches, and by other weights of what is over and of items, than those built in where they are given.

mod folder;

use std::path::PathBuf;
use std::process::ExitCode;

use leadsman_ingest::judge::{item_sign_names, use_item_weights};
use leadsman_ingest::matter::over::{sign_names, use_weights};
use leadsman_ingest::matter::{Matter, Noted, Passage, fold, raised};

fn main() -> ExitCode {
    let mut args = std::env::args_os().skip(1).map(PathBuf::from);
    let Some(folder) = args.next() else {
        eprintln!("expected a folder of notes, found none; run: boat FOLDER");
        return ExitCode::from(2);
    };
    if let Some(code) = args.next().and_then(|model| folder::use_model_of(&model).err()) {
        return code;
    }
    let over = args.next().map(|file| folder::weights(&file, &sign_names()).map(use_weights));
    let sure = args.next().map(|file| folder::weights(&file, &item_sign_names()).map(use_item_weights));
    if let Some(code) = [over, sure].into_iter().flatten().find_map(Result::err) {
        return code;
    }
    let notes = match folder::read_all(&folder) {
        Ok(notes) => notes,
        Err(code) => return code,
    };
    let noted: Vec<Noted<'_>> = notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
    let passage = Passage::default();
    let day = folder::last_day(&notes);
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
    let (perhaps, open): (Vec<Matter>, Vec<Matter>) = ledger.open.into_iter().partition(Matter::is_doubtful);
    let list = |matters: &[Matter]| -> Vec<_> {
        matters.iter().map(|m| serde_json::json!({"gear": m.gear, "about": m.about, "why": m.why.first(), "closed": m.closed, "evidence": m.evidence})).collect()
    };
    println!(
        "{}",
        serde_json::json!({"notes": each, "open": list(&open), "perhaps": list(&perhaps), "closed": list(&ledger.closed)})
    );
    ExitCode::SUCCESS
}
