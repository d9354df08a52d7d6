//! `preview` and `explain`: what would be understood, nothing stored.

use crate::boat::{Boat, keys, notes};

#[test]
fn the_json_has_what_it_is_documented_to_have() {
    let boat = Boat::new();
    for note in notes("quillback") {
        let said = boat.run(&["preview", &note, "--json"]).ends(0).json();
        assert_eq!(
            keys(&said),
            [
                "closings",
                "encoding",
                "format",
                "items",
                "name",
                "notices",
                "passage",
                "readings",
                "recorded",
                "recorded_from",
                "trials",
                "utterances",
                "zone"
            ]
        );
        let bytes = std::fs::read(&note).expect("the note");
        for reading in said["readings"].as_array().expect("a list") {
            assert!(reading["low"].is_number() || reading["high"].is_number(), "{reading}");
            let place = |key: &str| reading[key].as_u64().expect("a byte") as usize;
            assert!(place("start") < place("end") && place("end") <= bytes.len(), "{reading}");
            assert!(!reading["quote"].as_str().expect("words").is_empty());
        }
    }
    assert!(!boat.home().exists(), "a preview makes no home");
}

#[test]
fn a_note_may_come_by_standard_input() {
    let boat = Boat::new();
    let said =
        boat.run_with(b"2026-03-14 10:05 Wind fifteen knots.\n", &["preview", "-", "--json"]).ends(0).json();
    assert_eq!(said["name"], "-");
    boat.run_with(b"Wind fifteen knots.\n", &["explain", "-", "--line", "1"]).ends(0);
}

#[test]
fn explain_marks_what_was_found() {
    let boat = Boat::new();
    let note = &notes("quillback")[0];
    let said = boat.run(&["preview", note, "--json"]).ends(0).json();
    let found =
        ["readings", "trials", "items"].iter().any(|part| !said[part].as_array().expect("a list").is_empty());
    let shown = boat.run(&["explain", note, "--why"]).ends(0).out;
    assert_eq!(shown.contains("^^^"), found, "{shown}");
    let shown = boat.run(&["explain", note, "--line", "999999"]).ends(0).out;
    assert!(shown.contains("has no line 999999"), "{shown}");
}
