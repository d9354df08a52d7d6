//! Prints, for training, what each note of a boat says against the matters that stood open before it, as a line of JSON a
//! note, and all matters at the end: `closings FOLDER [MODEL]`, with the model of stretches in MODEL where one is given.
//! Nothing is closed but by rules.

mod folder;

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::NaiveDate;
use leadsman_ingest::matter::over::{against, sign_names, use_weights};
use leadsman_ingest::matter::{Noted, Passage, fold};
use leadsman_ingest::weigh::Weights;

fn main() -> ExitCode {
    let mut args = std::env::args_os().skip(1).map(PathBuf::from);
    let Some(folder) = args.next() else {
        eprintln!("expected a folder of notes, found none; run: closings FOLDER");
        return ExitCode::from(2);
    };
    if let Some(code) = args.next().and_then(|model| folder::use_model_of(&model).err()) {
        return code;
    }
    use_weights(Weights::none());
    let notes = match folder::read_all(&folder) {
        Ok(notes) => notes,
        Err(code) => return code,
    };
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
        let stood: Vec<&str> = open.iter().map(|m| m.id.as_str()).collect();
        println!("{}", serde_json::json!({"note": later.name, "stood": stood, "against": said}));
    }
    println!("{}", serde_json::json!({ "ledger": fold(&noted, &[], &passage, day) }));
    ExitCode::SUCCESS
}
