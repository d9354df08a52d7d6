//! Prints, for training, the trials that each note of a boat tells of with their signs, as a line of JSON a note:
//! `trials FOLDER [MODEL]`, with the model of stretches in MODEL where one is given. None is left out as too unsure; what
//! may be one that nobody names as such stands apart.

mod folder;

use std::process::ExitCode;

use leadsman_ingest::Trial;
use leadsman_ingest::judge::{
    Opinions, TRIAL_WEIGHTS, UNTOLD_WEIGHTS, trial_kinds, trial_sign_names, trial_signs, untold,
    untold_sign_names,
};
use leadsman_ingest::talk::Talk;
use leadsman_ingest::weigh::Weights;
use leadsman_ingest::{text, topic};

fn main() -> ExitCode {
    print().err().unwrap_or(ExitCode::SUCCESS)
}

fn print() -> Result<(), ExitCode> {
    let (folder, _) = folder::asked("trials")?;
    TRIAL_WEIGHTS.replace(Weights::all());
    UNTOLD_WEIGHTS.replace(Weights::none());
    let notes = folder::read_all(&folder)?;
    let mut names = Vec::new();
    println!("{}", serde_json::json!({ "signs": trial_sign_names(), "untold": untold_sign_names() }));
    for (name, note) in &notes {
        let Ok(bytes) = std::fs::read(folder.join(name)) else { continue };
        let decoded = text::decode(&bytes);
        let talk = Talk::new(&decoded.text, &note.utterances, &names);
        let opinions = Opinions::of(&talk, &topic::thoughts(&talk));
        let signs = trial_signs(&talk, &opinions, &note.trials);
        let told: Vec<_> = note.trials.iter().zip(signs).map(|(t, signs)| row(t, &signs)).collect();
        let untold: Vec<_> =
            untold(&talk, &opinions, &note.trials).iter().map(|u| row(&u.trial(&talk), &u.signs)).collect();
        println!("{}", serde_json::json!({"note": name, "trials": told, "untold": untold}));
        names.extend(note.names.clone());
    }
    Ok(())
}

fn row(t: &Trial, signs: &[f32]) -> serde_json::Value {
    serde_json::json!({
        "gear": t.gear, "about": t.about, "outcome": t.outcome, "quote": t.quote, "signs": signs, "kinds": trial_kinds(&t.gear),
    })
}
