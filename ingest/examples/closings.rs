//! Prints, for training, what each note of a boat says against the matters that stood open before it, as a line of JSON a
//! note, and all matters at the end: `closings FOLDER [MODEL [TRIED [UNTOLD]]]`, with the model of stretches in MODEL and
//! the weights of trials in TRIED and UNTOLD where they are given. Nothing is closed but by rules.

mod folder;

use std::process::ExitCode;

use chrono::NaiveDate;
use leadsman_ingest::matter::over::{WEIGHTS, against, sign_names};
use leadsman_ingest::matter::{Noted, Passage, fold};
use leadsman_ingest::weigh::Weights;

fn main() -> ExitCode {
    print().err().unwrap_or(ExitCode::SUCCESS)
}

fn print() -> Result<(), ExitCode> {
    let (folder, mut args) = folder::asked("closings")?;
    folder::use_trial_weights(&mut args)?;
    WEIGHTS.replace(Weights::none());
    let notes = folder::read_all(&folder)?;
    let noted: Vec<Noted<'_>> = notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
    let day = folder::last_day(&notes);
    let passage = Passage::default();
    println!("{}", serde_json::json!({ "signs": sign_names() }));
    for (index, later) in noted.iter().enumerate() {
        let on = later.note.recorded.map_or(NaiveDate::MIN, |r| r.at.date_naive());
        let open = fold(&noted[..index], &[], &passage, on).open;
        let said: Vec<_> = against(&open, later.note)
            .into_iter()
            .map(|a| serde_json::json!({"matter": a.matter, "quote": a.quote, "signs": a.signs.to_vec()}))
            .collect();
        println!("{}", serde_json::json!({"note": later.name, "against": said}));
    }
    println!("{}", serde_json::json!({ "ledger": fold(&noted, &[], &passage, day) }));
    Ok(())
}
