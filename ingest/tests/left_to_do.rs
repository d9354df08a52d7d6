//! What single sayings leave to do, `stories/left_to_do.txt`: the item that each raises, by reason and gear, or none.

use leadsman_ingest::matter::{Noted, Passage, raised};
use leadsman_ingest::{Hints, read};

/// The least share of sayings whose item is raised, and the most items raised where there is nothing to do.
const LEAST_FOUND: f64 = 0.8;
const MOST_MADE_UP: usize = 3;

#[test]
fn a_saying_leaves_what_it_says() {
    let (mut found, mut asked, mut missed, mut made_up) = (0, 0, Vec::new(), Vec::new());
    for line in include_str!("stories/left_to_do.txt").lines().filter(|l| !l.starts_with('#')) {
        let parts: Vec<&str> = line.splitn(3, '|').map(str::trim).collect();
        let [why, gear, words] = parts[..] else { panic!("a line has three parts: {line}") };
        let text = format!("14 March 2026, 10:00 UTC\n\n{}\n", words.replace(" / ", "\n"));
        let note = read(text.as_bytes(), &Hints { name: "2026-03-14.txt".to_owned(), ..Hints::default() });
        let noted = Noted { source: "a", name: "a", note: &note };
        let on = chrono::NaiveDate::from_ymd_opt(2026, 3, 14).expect("a date");
        let items = raised(&[], &noted, &Passage::default(), on);
        let told: Vec<String> =
            items.iter().map(|i| format!("{} {:?}: {}", i.why.name(), i.gear, i.about)).collect();
        if why == "nothing" {
            made_up.extend(told.iter().map(|t| format!("{words} || {t}")));
            continue;
        }
        asked += 1;
        let names = |i: &&leadsman_ingest::Item| {
            format!("{} {}", i.gear.as_deref().unwrap_or(""), i.about).to_lowercase().contains(gear)
        };
        match items.iter().find(names) {
            Some(item) if item.why.name() == why || item.why.name() == "task" || why == "task" => found += 1,
            _ => missed.push(format!("{line} || {told:?}")),
        }
        if items.len() > 1 {
            made_up.push(format!("TWO: {line} || {told:?}"));
        }
    }
    println!("missed:\n{}\nmade up:\n{}", missed.join("\n"), made_up.join("\n"));
    let share = f64::from(found) / f64::from(asked);
    println!("found {share:.2} of {asked}");
    assert!(share >= LEAST_FOUND, "found {share:.2}: {missed:#?}");
    let made_up: Vec<_> = made_up.iter().filter(|m| !m.starts_with("TWO")).collect();
    assert!(made_up.len() <= MOST_MADE_UP, "{made_up:#?}");
}
