//! Prints, for training, the items that each note of a boat raises with their signs, as a line of JSON a note:
//! `items FOLDER [MODEL [TRIED [UNTOLD]]]`, with the model of stretches in MODEL and the weights of trials in TRIED and
//! UNTOLD where they are given. An item without signs follows from a figure or a date.

mod folder;

use std::process::ExitCode;

use chrono::NaiveDate;
use leadsman_ingest::judge::{Opinions, item_sign_names, item_signs};
use leadsman_ingest::matter::{Noted, Passage, raised};
use leadsman_ingest::talk::Talk;
use leadsman_ingest::{text, topic};

fn main() -> ExitCode {
    print().err().unwrap_or(ExitCode::SUCCESS)
}

fn print() -> Result<(), ExitCode> {
    let (folder, mut args) = folder::asked("items")?;
    folder::use_trial_weights(&mut args)?;
    let notes = folder::read_all(&folder)?;
    let noted: Vec<Noted<'_>> = notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
    let mut names = Vec::new();
    println!("{}", serde_json::json!({ "signs": item_sign_names() }));
    for (index, one) in noted.iter().enumerate() {
        let Ok(bytes) = std::fs::read(folder.join(one.name)) else { continue };
        let decoded = text::decode(&bytes);
        let talk = Talk::new(&decoded.text, &one.note.utterances, &names);
        let opinions = Opinions::of(&talk, &topic::thoughts(&talk));
        let own = item_signs(&talk, &opinions, &one.note.items);
        let on = one.note.recorded.map_or(NaiveDate::MIN, |r| r.at.date_naive());
        let items: Vec<_> = raised(&noted[..index], one, &Passage::default(), on)
            .into_iter()
            .map(|item| {
                let same = |o: &&leadsman_ingest::Item| o.span == item.span && o.why == item.why && o.gear == item.gear;
                let at = one.note.items.iter().position(|o| same(&o));
                let signs = at.and_then(|at| own[at]).map(|signs| signs.to_vec());
                serde_json::json!({"gear": item.gear, "about": item.about, "why": item.why, "quote": item.quote, "signs": signs})
            })
            .collect();
        println!("{}", serde_json::json!({"note": one.name, "items": items}));
        names.extend(one.note.names.clone());
    }
    Ok(())
}
