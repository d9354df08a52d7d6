//! What single sayings tell of trials, `stories/tried.txt`: the outcome for each thing tried, or none.

use leadsman_ingest::{Hints, Outcome, Trial, read};

/// The least share of trials that are found, and of these with the outcome that is meant; the most that are made up.
const LEAST_FOUND: f64 = 0.65;
const LEAST_RIGHT: f64 = 0.92;
const MOST_MADE_UP: usize = 6;

/// The trials that a head asks for: an outcome and a word of the gear each.
fn wanted(head: &str) -> Vec<(&str, String)> {
    let all = head.split(';').map(str::trim).filter(|one| *one != "nothing");
    all.map(|one| one.split_once(' ').expect("an outcome and a word of the gear"))
        .map(|(outcome, gear)| (outcome, gear.to_lowercase()))
        .collect()
}

/// Takes the trial out that is most likely the wanted one: of gear so named, else with the word in what is said of it.
fn take(trials: &mut Vec<Trial>, outcome: &str, gear: &str) -> Option<Trial> {
    let near = |t: &Trial| {
        let named = t.gear.to_lowercase().contains(gear);
        let told = named || t.about.to_lowercase().contains(gear);
        told.then_some((named, t.outcome.name() == outcome))
    };
    let best = (0..trials.len()).filter(|&i| near(&trials[i]).is_some()).max_by_key(|&i| near(&trials[i]))?;
    Some(trials.remove(best))
}

#[test]
fn a_saying_tells_what_was_tried_and_how_it_went() {
    let (mut asked, mut found, mut right) = (0, 0, 0);
    let (mut missed, mut made_up) = (Vec::new(), Vec::new());
    for line in include_str!("stories/tried.txt").lines().filter(|l| !l.is_empty() && !l.starts_with('#')) {
        let (head, words) = line.split_once(" | ").expect("a line has a head and words");
        let text = format!("14 March 2026, 10:00 UTC\n\n{}\n", words.replace(" / ", "\n"));
        let note = read(text.as_bytes(), &Hints { name: "2026-03-14.txt".to_owned(), ..Hints::default() });
        let mut trials = note.trials;
        for (outcome, gear) in wanted(head) {
            asked += 1;
            match take(&mut trials, outcome, &gear) {
                Some(trial) => {
                    found += 1;
                    right += usize::from(trial.outcome.name() == outcome);
                }
                None => missed.push(format!("{outcome} {gear}: {words}")),
            }
        }
        made_up.extend(trials.iter().map(|t| format!("{} {}: {words}", t.outcome.name(), t.gear)));
    }
    println!("missed:\n{}\nmade up:\n{}", missed.join("\n"), made_up.join("\n"));
    let (share, outcomes) = (f64::from(found) / f64::from(asked), right as f64 / f64::from(found));
    println!("found {share:.2} of {asked}, {outcomes:.2} of them with their outcome");
    assert!(share >= LEAST_FOUND, "found {share:.2}: {missed:#?}");
    assert!(outcomes >= LEAST_RIGHT, "{outcomes:.2} with their outcome");
    assert!(made_up.len() <= MOST_MADE_UP, "{made_up:#?}");
}

#[test]
fn every_head_asks_for_an_outcome() {
    let all = [Outcome::Pass, Outcome::Partial, Outcome::Fail, Outcome::Unclear].map(|o| o.name());
    for line in include_str!("stories/tried.txt").lines().filter(|l| !l.is_empty() && !l.starts_with('#')) {
        let head = line.split(" | ").next().unwrap_or_default();
        assert!(wanted(head).iter().all(|(outcome, _)| all.contains(outcome)), "{line}");
    }
}
