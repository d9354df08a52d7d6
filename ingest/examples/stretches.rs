//! Prints the stretches that the model judges, with their signs, for training: those of a boat's notes with
//! `stretches FOLDER`, or one for each line of standard input, "weight TAB name TAB saying", without a folder.

mod folder;

use std::io::Read;
use std::path::PathBuf;
use std::process::ExitCode;

use leadsman_ingest::judge::{signs, stretches};
use leadsman_ingest::talk::Talk;
use leadsman_ingest::{Hints, Note, Utterance, read, text, topic};

fn main() -> ExitCode {
    let Some(folder) = std::env::args_os().nth(1).map(PathBuf::from) else { return lines() };
    let paths = match folder::notes(&folder) {
        Ok(paths) => paths,
        Err(code) => return code,
    };
    let mut hints = Hints::default();
    for path in paths {
        let Ok(bytes) = std::fs::read(&path) else { continue };
        hints.name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let note: Note = read(&bytes, &hints);
        let decoded = text::decode(&bytes);
        let talk = Talk::new(&decoded.text, &note.utterances, &hints.names);
        let thoughts = topic::thoughts(&talk);
        for stretch in stretches(&talk, &thoughts) {
            let mut found = Vec::new();
            signs(&talk, &stretch.tokens, Some(stretch.subject), &mut found);
            let gear: Vec<&str> = talk
                .mentions
                .iter()
                .filter(|m| stretch.tokens.contains(&m.tokens.start))
                .map(|m| m.name.as_str())
                .collect();
            println!(
                "{}",
                serde_json::json!({
                    "note": hints.name, "quote": talk.quote(stretch.tokens.clone()),
                    "gear": talk.mentions[stretch.subject].name, "named": gear, "signs": found,
                })
            );
        }
        hints.names.extend(note.names.clone());
        hints.boat_offset = note.recorded.map(|r| *r.at.offset()).or(hints.boat_offset);
    }
    ExitCode::SUCCESS
}

fn lines() -> ExitCode {
    let mut all = String::new();
    if let Err(error) = std::io::stdin().read_to_string(&mut all) {
        eprintln!("expected lines of \"weight TAB name TAB saying\": {error}");
        return ExitCode::from(1);
    }
    for line in all.lines() {
        let mut parts = line.splitn(3, '\t');
        let (Some(weight), Some(name), Some(said)) = (parts.next(), parts.next(), parts.next()) else {
            eprintln!("expected \"weight TAB name TAB saying\", found {line:?}");
            return ExitCode::from(2);
        };
        let utterances = [Utterance::line(said)];
        let talk = Talk::new(said, &utterances, &[]);
        if talk.tokens.is_empty() {
            continue;
        }
        let thoughts = topic::thoughts(&talk);
        let subject = stretches(&talk, &thoughts).first().map(|s| s.subject);
        let mut found = Vec::new();
        signs(&talk, &(0..talk.tokens.len()), subject, &mut found);
        println!("{}", serde_json::json!({"weight": weight, "name": name, "signs": found}));
    }
    ExitCode::SUCCESS
}
