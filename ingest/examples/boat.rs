//! Reads a boat's notes in the order of their names and prints, as JSON, what each raises in the light of those before
//! it, and what stands open and closed at the end: `boat FOLDER [MODEL [OVER [SURE [TRIED [UNTOLD]]]]]`, judged by another
//! model of stretches, and by other weights of what is over, of items and of trials, than those built in where they are
//! given.

mod folder;

use std::process::ExitCode;

use leadsman_ingest::judge::{ITEM_WEIGHTS, item_sign_names};
use leadsman_ingest::matter::over::{WEIGHTS, sign_names};
use leadsman_ingest::matter::{Matter, Noted, Passage, fold, raised};

fn main() -> ExitCode {
    print().err().unwrap_or(ExitCode::SUCCESS)
}

fn print() -> Result<(), ExitCode> {
    let (folder, mut args) = folder::asked("boat")?;
    if let Some(file) = args.next() {
        WEIGHTS.replace(folder::weights(&file, &sign_names())?);
    }
    if let Some(file) = args.next() {
        ITEM_WEIGHTS.replace(folder::weights(&file, &item_sign_names())?);
    }
    folder::use_trial_weights(&mut args)?;
    let notes = folder::read_all(&folder)?;
    let noted: Vec<Noted<'_>> = notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
    let passage = Passage::default();
    let day = folder::last_day(&notes);
    let each: Vec<_> = noted
        .iter()
        .enumerate()
        .map(|(i, n)| {
            serde_json::json!({
                "name": n.name, "readings": n.note.readings, "trials": n.note.trials,
                "items": raised(&noted[..i], n, &passage, day), "closings": n.note.closings, "recorded": n.note.recorded,
            })
        })
        .collect();
    let ledger = fold(&noted, &[], &passage, day);
    let (perhaps, open): (Vec<Matter>, Vec<Matter>) = ledger.open.into_iter().partition(Matter::is_doubtful);
    let list = |matters: &[Matter]| -> Vec<_> {
        matters.iter().map(|m| serde_json::json!({"gear": m.gear, "about": m.about, "why": m.why.first(), "closed": m.closed})).collect()
    };
    println!(
        "{}",
        serde_json::json!({"notes": each, "open": list(&open), "perhaps": list(&perhaps), "closed": list(&ledger.closed)})
    );
    Ok(())
}
