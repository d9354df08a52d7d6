//! What slips in while somebody talks changes nothing of what they say: hesitations, and small words said twice.

use leadsman_ingest::{Hints, read};

const SAYINGS: [&str; 4] = [
    include_str!("sayings/talk.txt"),
    include_str!("sayings/voices.txt"),
    include_str!("sayings/passing.txt"),
    include_str!("sayings/ways.txt"),
];
const TRIALS: &str = include_str!("stories/tried.txt");

/// What is found in a note: its readings, its trials and its items, without their places.
fn found(said: &str) -> Vec<String> {
    let text = format!("Sunday 3 May 2026, 10:00\n\n{said}\n");
    let note = read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() });
    let readings =
        note.readings.iter().map(|r| format!("{} {:?} {:?} {}", r.quantity, r.low, r.high, r.stance));
    let trials = note.trials.iter().map(|t| format!("{} {:?}", t.gear, t.outcome));
    let items = note.items.iter().map(|i| format!("{:?} {:?}", i.gear, i.why));
    readings.chain(trials).chain(items).collect()
}

/// The notes that the tests' sayings stand for, each as it is written.
fn notes() -> impl Iterator<Item = String> {
    let plain = |l: &&str| !l.starts_with('#') && !l.trim().is_empty();
    let sayings = SAYINGS
        .iter()
        .flat_map(|file| file.lines())
        .filter(plain)
        .filter_map(|l| l.split_once("=>"))
        .map(|(said, _)| said);
    let trials = TRIALS.lines().filter(plain).filter_map(|l| l.split_once('|')).map(|(_, said)| said);
    // A figure that is heard as a small word may be said twice and be meant so: "six point two two".
    let heard = |said: &&str| !said.contains("point to");
    sayings.chain(trials).filter(heard).map(|said| said.trim().replace("\\n", "\n").replace(" / ", "\n"))
}

/// Puts something in front of every `nth` word that stands in small letters behind another such word.
fn with(said: &str, nth: usize, slip: impl Fn(&str) -> Option<String>) -> String {
    let small = |word: &str| word.bytes().all(|b| b.is_ascii_lowercase());
    let mut out = String::new();
    let (mut before, mut count) = ("", 0);
    for word in said.split_inclusive([' ', '\n']) {
        let bare = word.trim_end();
        if small(bare)
            && small(before.trim_end())
            && before.ends_with(' ')
            && let Some(slip) = slip(bare)
        {
            count += 1;
            if count % nth == 0 {
                out += &slip;
                out.push(' ');
            }
        }
        out += word;
        before = word;
    }
    out
}

/// Says each note with slips and holds what is found against what was found without.
fn nothing_changes(nth: usize, slip: impl Fn(&str) -> Option<String>) {
    let (mut said_so, mut otherwise) = (0, Vec::new());
    for note in notes() {
        let slipped = with(&note, nth, &slip);
        if slipped == note {
            continue;
        }
        said_so += 1;
        let (plain, found) = (found(&note), found(&slipped));
        if plain != found {
            otherwise.push(format!("{slipped}\n  {plain:?}\n  {found:?}"));
        }
    }
    assert!(said_so > 200, "{said_so} notes have room for a slip");
    assert!(otherwise.is_empty(), "{} of {said_so}:\n{}", otherwise.len(), otherwise.join("\n"));
}

#[test]
fn hesitations_change_nothing() {
    let sounds = ["um", "er", "uh", "erm"];
    nothing_changes(3, |word| Some(sounds[word.len() % sounds.len()].to_owned()));
}

#[test]
fn small_words_said_twice_change_nothing() {
    let small = ["the", "a", "and", "it", "is", "was", "of", "in", "at", "with", "from", "we", "she", "to"];
    nothing_changes(1, |word| small.contains(&word).then(|| word.to_owned()));
}
