//! The corpus: its gold is well formed, and the program's understanding of it does not fall below the floors.
//!
//! The boats of the groups `check` and `check-voices` are those that nobody develops on; they are scored on their own.

use std::process::Command;

use serde_json::Value;

use crate::boat::{corpus, program, repository};

const BOATS: &[&str] = &[
    "quillback",
    "marigold",
    "corncrake",
    "saltmarsh",
    "sastrugi",
    "lanternfish",
    "petrel",
    "nordlys",
    "kittiwake",
    "southerly",
    "courlis",
    "greylag",
    "wintergreen",
    "brandgans",
    "dunnock",
    "korimako",
    "harrowgate",
    "tidepool",
    "strandloper",
    "orlop",
    "tystie",
    "haar",
    "brambling",
    "skerryvore",
    "fulmarine",
    "tolsta",
];

fn python(script: &str, arguments: &[&str]) -> String {
    let output = Command::new("python3")
        .arg(repository().join("fixtures/corpus").join(script))
        .args(arguments)
        .env_remove("LEADSMAN_HOME")
        .output()
        .expect("python3 starts; tests/run installs it");
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{script}: {said}\n{}", String::from_utf8_lossy(&output.stderr));
    said
}

fn folders(boats: &[&str]) -> Vec<String> {
    boats.iter().map(|boat| crate::boat::text(&corpus(boat))).collect()
}

#[test]
fn the_gold_is_well_formed() {
    let folders = folders(BOATS);
    let said = python("check.py", &folders.iter().map(String::as_str).collect::<Vec<_>>());
    assert!(said.trim_end().ends_with(" 0 faults"), "{said}");
}

#[test]
fn the_boats_developed_on_are_understood() {
    hold_to_the_floor("development");
}

#[test]
fn the_further_boats_are_understood() {
    hold_to_the_floor("further");
}

#[test]
fn the_boats_left_unread_are_understood() {
    hold_to_the_floor("check");
}

#[test]
fn other_voices_are_understood() {
    hold_to_the_floor("voices");
}

#[test]
fn boats_that_came_late_are_understood() {
    hold_to_the_floor("late");
}

#[test]
fn the_latest_boats_are_understood() {
    hold_to_the_floor("latest");
}

#[test]
fn the_newest_boats_are_understood() {
    hold_to_the_floor("newest");
}

#[test]
fn other_voices_left_unread_are_understood() {
    hold_to_the_floor("check-voices");
}

fn hold_to_the_floor(group: &str) {
    let floors = std::fs::read(repository().join("fixtures/floors.json")).expect("the floors");
    let floors: Value = serde_json::from_slice(&floors).expect("JSON");
    let group = &floors["groups"][group];
    let boats: Vec<&str> = group["boats"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|boat| boat.as_str().expect("a name"))
        .collect();
    let folders = folders(&boats);
    let mut arguments = vec!["--leadsman", program(), "--json"];
    arguments.extend(folders.iter().map(String::as_str));
    let scores: Value = serde_json::from_str(&python("score.py", &arguments)).expect("JSON");
    let mut below = Vec::new();
    let mut checked = 0;
    println!("{}", boats.join(", "));
    for measure in ["f1", "precision"] {
        for (name, floor) in group[measure].as_object().expect("figures") {
            let floor = floor.as_f64().expect("a figure");
            let score = scores[name][measure].as_f64().unwrap_or_else(|| panic!("no {measure} of {name}"));
            println!("{name:26} {measure:9} {score:.3} (floor {floor:.3})");
            checked += 1;
            if score < floor {
                below.push(format!("{name}: {measure} {score:.3}, floor {floor:.3}"));
            }
        }
    }
    assert_eq!(checked, 9, "a floor is missing");
    assert!(below.is_empty(), "below the floor: {}", below.join("; "));
}
