//! `open`, `close`, `reopen` and `passage`: the list before departure and the skipper's word on it.

use serde_json::Value;

use crate::boat::{Boat, corpus, keys, text};

/// A home with the demo boat's notes.
fn quillback() -> Boat {
    let boat = Boat::new();
    boat.run(&["ingest", &text(&corpus("quillback")), "--zone", "Australia/Hobart"]).ends(0);
    boat
}

fn list(boat: &Boat, more: &[&str]) -> Value {
    boat.run(&[&["open", "--all", "--json"], more].concat()).ends(0).json()
}

fn names(list: &Value, part: &str) -> Vec<String> {
    let items = list[part].as_array().expect("a list");
    items.iter().map(|item| item["name"].as_str().expect("a name").to_owned()).collect()
}

#[test]
fn the_json_has_what_it_is_documented_to_have() {
    let boat = quillback();
    let list = list(&boat, &["--on", "2026-10-06"]);
    for key in [
        "on",
        "leaves",
        "leaves_from",
        "back",
        "back_from",
        "days_left",
        "notes",
        "later_notes",
        "open",
        "perhaps",
        "accepted",
        "put_off",
        "closed",
        "dismissed",
    ] {
        assert!(
            !list[key].is_null() || key.contains("leaves") || key.contains("back") || key == "days_left",
            "{key}"
        );
    }
    let open = list["open"].as_array().expect("a list");
    assert!(!open.is_empty());
    for item in open {
        assert_eq!(
            keys(item),
            [
                "about",
                "accepted",
                "days_left",
                "days_open",
                "due",
                "due_on",
                "earlier",
                "endangers",
                "evidence",
                "gear",
                "given_to",
                "id",
                "maybe_over",
                "measured",
                "name",
                "opened",
                "put_off_until",
                "rank",
                "reasons",
                "remarks",
                "settled_by",
                "unsure",
                "waits_for",
                "waits_until",
                "why"
            ]
        );
        assert_eq!(item["why"], item["reasons"][0]);
        let evidence = item["evidence"].as_array().expect("a list");
        assert!(!evidence.is_empty(), "{item}");
        for words in evidence {
            // What is shown as evidence stands in the source at its place.
            let source = corpus("quillback").join(words["name"].as_str().expect("a name"));
            let bytes = std::fs::read(source).expect("the note");
            let place = |end: &str| words["span"][end].as_u64().expect("a byte") as usize;
            let there = String::from_utf8_lossy(&bytes[place("start")..place("end")]).into_owned();
            let first = words["quote"].as_str().expect("words").split_whitespace().next().expect("a word");
            assert!(there.contains(first), "{there} / {words}");
        }
    }
    for item in list["closed"].as_array().expect("a list") {
        assert_eq!(
            keys(item),
            [
                "about",
                "because",
                "closed",
                "closed_by",
                "closed_in",
                "evidence",
                "gear",
                "id",
                "name",
                "open_again",
                "opened",
                "reasons",
                "unconfirmed",
                "why"
            ]
        );
    }
}

#[test]
fn the_skippers_word_closes_and_opens_again() {
    let boat = quillback();
    let before = list(&boat, &[]);
    let name = names(&before, "open")[0].clone();
    let ran = boat.run(&["close", &name, "--because", "did it with the neighbour"]).ends(0);
    assert!(ran.out.contains(&name), "{}", ran.out);
    let closed = list(&boat, &[]);
    assert!(!names(&closed, "open").contains(&name));
    let item = closed["closed"].as_array().expect("a list").iter().find(|item| item["name"] == name.as_str());
    let item = item.expect("it is among the closed");
    assert_eq!(
        (&item["closed_by"], &item["because"]),
        (&"ruling".into(), &"did it with the neighbour".into())
    );
    let again = boat.run(&["close", &name, "--because", "twice"]).ends(2);
    assert!(again.err.contains("closed already"), "{}", again.err);

    boat.run(&["reopen", &name]).ends(0);
    assert_eq!(names(&list(&boat, &[]), "open"), names(&before, "open"));
    let again = boat.run(&["reopen", &name]).ends(2);
    assert!(again.err.contains("stands open already"), "{}", again.err);
}

#[test]
fn what_stands_perhaps_is_confirmed_or_closed_by_one_command() {
    let boat = Boat::new();
    boat.run(&["ingest", &text(&corpus("tidepool"))]).ends(0);
    let before = list(&boat, &[]);
    let [first, second] = [0, 1].map(|n| names(&before, "perhaps")[n].clone());
    let shown = boat.run(&["open"]).ends(0).out;
    assert!(shown.contains("perhaps, for you to say"), "{shown}");
    let doubts = boat.run(&["doubts", "--json"]).ends(0).json();
    let of_items = doubts.as_array().expect("a list").iter().filter(|doubt| doubt["of"] == "item");
    assert_eq!(
        of_items.map(|d| d["name"].as_str().expect("a name")).collect::<Vec<_>>(),
        names(&before, "perhaps")
    );

    let ran = boat.run(&["confirm", &first]).ends(0);
    assert!(ran.out.contains("confirmed to stand open"), "{}", ran.out);
    boat.run(&["close", &second, "--because", "tried it on Sunday"]).ends(0);
    let after = list(&boat, &[]);
    assert!(names(&after, "open").contains(&first) && names(&after, "closed").contains(&second));
    assert_eq!(names(&after, "perhaps"), names(&before, "perhaps")[2..]);
    let again = boat.run(&["confirm", &first]).ends(2);
    assert!(again.err.contains("nothing to confirm"), "{}", again.err);
    boat.run(&["undo"]).ends(0);
    boat.run(&["undo"]).ends(0);
    assert_eq!(names(&list(&boat, &[]), "perhaps"), names(&before, "perhaps"));
}

#[test]
fn a_name_that_is_none_gets_a_hint() {
    let boat = quillback();
    for wrong in ["zzzzzz", "", "3"] {
        let ran = boat.run(&["close", wrong, "--because", "done"]).ends(2);
        assert!(ran.err.contains("hint: "), "{}", ran.err);
    }
    let name = names(&list(&boat, &[]), "open")[0].clone();
    let ran = boat.run(&["close", &name, "--because", "  "]).ends(2);
    assert!(ran.err.contains("expected a few words"), "{}", ran.err);
    boat.run(&["close", &name]).ends(2);
    // Capitals do not matter, nor does the rest of the name where its beginning is enough.
    boat.run(&["close", &name.to_uppercase(), "--because", "done"]).ends(0);
}

#[test]
fn the_passage_is_set_piece_by_piece_and_counts() {
    let boat = quillback();
    let ran = boat.run(&["passage", "--departure", "2026-10-10", "--crew", "1", "--json"]).ends(0).json();
    assert_eq!((&ran["leaves"], &ran["crew"]), (&"2026-10-10".into(), &1.into()));
    boat.run(&["passage", "--latitudes", "-47", "-43", "--distance", "900"]).ends(0);
    let set = boat.run(&["passage", "--json"]).ends(0).json();
    assert_eq!((&set["leaves"], &set["distance_nmi"]), (&"2026-10-10".into(), &900.0.into()));
    assert_eq!(set["latitudes"], serde_json::json!([-47.0, -43.0]));
    let open = list(&boat, &["--on", "2026-10-06"]);
    assert_eq!((&open["days_left"], &open["leaves_from"]), (&4.into(), &"set by the skipper".into()));
    let open = list(&boat, &["--on", "2026-10-06", "--before", "2026-10-16"]);
    assert_eq!((&open["days_left"], &open["leaves_from"]), (&10.into(), &"--before".into()));
    for wrong in
        [["--back", "2026-09-01"], ["--distance", "-4"], ["--days", "soon"], ["--coldest-air", "-200"]]
    {
        let ran = boat.run(&[&["passage"], wrong.as_slice()].concat()).ends(2);
        assert!(!ran.err.is_empty());
    }
}

#[test]
fn a_day_leaves_out_what_is_later() {
    let boat = quillback();
    let early = list(&boat, &["--on", "2026-08-22"]);
    assert_eq!((&early["notes"], &early["later_notes"]), (&2.into(), &8.into()));
    let all = list(&boat, &["--on", "2026-10-06"]);
    assert_eq!((&all["notes"], &all["later_notes"]), (&10.into(), &0.into()));
}

#[test]
fn the_exit_code_tells_where_it_is_asked() {
    let boat = Boat::new();
    boat.run(&["open"]).ends(0);
    boat.run(&["open", "--exit-code"]).ends(1);
    assert!(!boat.home().exists(), "a question makes no home");
    let boat = quillback();
    boat.run(&["open", "--exit-code"]).ends(0);
}

#[test]
fn a_home_that_is_a_file_is_said() {
    let boat = Boat::new();
    let file = text(&boat.write("file", "no home"));
    let ran = boat.run(&["ingest", &text(&corpus("quillback")), "--home", &file]).ends(4);
    assert!(ran.err.contains(&file) && ran.err.contains("hint: "), "{}", ran.err);
}
