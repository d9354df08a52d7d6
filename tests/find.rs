//! `find` and `trend`: past trials, words and readings.

use crate::boat::{Boat, Ran, corpus, keys, text};

/// A home with notes made for this.
fn boat() -> Boat {
    let boat = Boat::new();
    let notes = [
        "2026-03-14 10:05\nWind fifteen knots. Tried the series drogue off the stern. It's a fail, no response at all.\n",
        "2026-03-21 11:00\nRig tension 20 percent. Fore hatch bone dry after the hose.\n",
        "2026-03-28 11:00\nRig tension 19 percent.\n",
        "2026-04-04 11:00\nRig tension 18 percent.\n",
        "2026-04-11 11:00\nRig tension 17 percent.\n",
        "2026-04-18 11:00\nRig tension 16 percent.\n",
    ];
    for (n, note) in notes.iter().enumerate() {
        let path = text(&boat.write(&format!("in/{n}.txt"), note));
        boat.run(&["ingest", &path, "--zone", "UTC"]).ends(0);
    }
    boat
}

#[test]
fn what_came_back_is_found_open() {
    let boat = Boat::new();
    for (day, said) in [
        ("14", "must be greased before we go"),
        ("21", "is greased and it works, a pass"),
        ("28", "is a fail, it will not lift"),
    ] {
        let note = format!("2026-03-{day} 10:05\nThe windlass {said}.\n");
        boat.run(&["ingest", &text(&boat.write(&format!("in/{day}.txt"), note)), "--zone", "UTC"]).ends(0);
    }
    let found = boat.run(&["find", "windlass", "--json"]).ends(0).json();
    let items = found["hits"].as_array().expect("a list").iter().filter(|hit| hit["kind"] == "item");
    assert!(items.clone().count() > 0 && items.clone().all(|hit| hit["open"] == true), "{found}");
}

#[test]
fn trends_are_asked_for_in_everyday_words() {
    let boat = boat();
    for (asked, quantity) in [("tensions", "rig_tension"), ("rig", "rig_tension"), ("wind", "wind_speed")] {
        assert_eq!(boat.run(&["trend", asked, "--json"]).ends(0).json()["quantity"], quantity, "{asked}");
    }
    let ran = boat.run(&["trend", "cabbage"]).ends(2);
    assert!(ran.err.contains("the home has readings of rig tension (5), wind speed (1)"), "{}", ran.err);
    let ran = boat.run(&["trend"]).ends(0);
    assert!(ran.out.contains("rig tension            5 readings"), "{}", ran.out);
    boat.run(&[
        "ingest",
        &text(
            &boat.write("in/gear.txt", "2026-04-19 11:00\nThe heater draws 2.1 amps. Wind gusts 22 knots.\n"),
        ),
    ])
    .ends(0);
    let current = boat.run(&["trend", "heater", "--json"]).ends(0).json();
    assert_eq!((&current["quantity"], &current["gear"]), (&"current".into(), &"heater".into()));
    let none = boat.run(&["trend", "winds", "--gear", "heater", "--json"]).ends(0).json();
    assert_eq!((&none["quantity"], &none["count"]), (&"wind_speed".into(), &0.into()));
    let ran = boat.run(&["trend", "wind"]).ends(0);
    assert!(ran.out.contains("\"wind\" may also be wind gust (1)"), "{}", ran.out);
}

fn found(boat: &Boat, arguments: &[&str]) -> Ran {
    boat.run(&[&["find"], arguments, &["--exit-code"]].concat())
}

#[test]
fn words_are_found_in_all_their_shapes() {
    let boat = boat();
    for asked in [
        &["drogue"][..],
        &["drogues"],
        &["drouge"],
        &["\"no response\""],
        &["tried", "drogue"],
        &["--outcome", "fail"],
        &["drogue", "--since", "2026-03-14", "--until", "2026-03-14"],
        &["drogue", "--gear", "series drogue"],
        &["drogue", "--wind", "10..20"],
    ] {
        let ran = found(&boat, asked).ends(0);
        assert!(ran.out.contains("drogue"), "{asked:?}: {}", ran.out);
    }
    for asked in [
        &["tramontana"][..],
        &["\"response no\""],
        &["drogue", "--since", "2026-03-15"],
        &["drogue", "--wind", "30.."],
        &["--outcome", "pass", "--gear", "series drogue"],
    ] {
        found(&boat, asked).ends(1);
    }
    // What the lexicon calls by one name is found under each of them.
    let ran = found(&boat, &["forehatch"]).ends(0);
    assert!(ran.out.to_lowercase().contains("*fore hatch*"), "{}", ran.out);
}

#[test]
fn the_json_has_what_it_is_documented_to_have() {
    let boat = boat();
    let said = boat.run(&["find", "drogue", "--json"]).ends(0).json();
    assert_eq!(keys(&said), ["asked", "hits", "more", "slips", "unknown"]);
    // Of several answers one is shown, and that there are others is told.
    assert_eq!(said["more"], false);
    let one = boat.run(&["find", "tension", "--limit", "1", "--json"]).ends(0).json();
    assert_eq!((one["hits"].as_array().map(Vec::len), &one["more"]), (Some(1), &true.into()));
    let told = boat.run(&["find", "tension", "--limit", "1"]).ends(0);
    assert!(told.out.contains("there are more; --limit 2"), "{}", told.out);
    let hits = said["hits"].as_array().expect("a list");
    assert!(!hits.is_empty());
    for hit in hits {
        assert_eq!(
            keys(hit),
            [
                "at",
                "complete",
                "conditions",
                "end",
                "gear",
                "hash",
                "kind",
                "marks",
                "measured",
                "open",
                "outcome",
                "source",
                "start",
                "wind_kn",
                "words"
            ]
        );
        let words = hit["words"].as_str().expect("words");
        for mark in hit["marks"].as_array().expect("a list") {
            let end = |n: usize| mark[n].as_u64().expect("a byte") as usize;
            assert!(words.get(end(0)..end(1)).is_some_and(|word| !word.is_empty()), "{hit}");
        }
    }
    let none = boat.run(&["find", "tramontana", "--json"]).ends(0).json();
    assert_eq!(none["unknown"], serde_json::json!(["tramontana"]));
}

#[test]
fn wrong_questions_are_refused_with_what_was_expected() {
    let boat = boat();
    for (asked, words) in [
        (&["find"][..], "expected words to look for"),
        (&["find", "\"no response"], "closing quotation mark"),
        (&["find", "x", "--wind", "30..20"], "give the lower end first"),
        (&["find", "x", "--outcome", "splendid"], "expected pass, partial, fail or unclear"),
        (&["find", "x", "--quantity", "boat_sped"], "did you mean boat_speed?"),
        (&["find", "x", "--limit", "0"], "0 is not in 1..=1000"),
        (&["trend", "boat_sped"], "did you mean boat_speed?"),
        (&["trend", "heel", "--stance", "guessed"], "expected one of observed"),
        (&["trend", "heel", "--since", "soon"], "expected a day like"),
    ] {
        let ran = boat.run(asked).ends(2);
        assert!(ran.err.contains(words), "{asked:?}: {}", ran.err);
    }
}

#[test]
fn a_steady_fall_is_a_trend_and_says_how_sure() {
    let boat = boat();
    let said = boat.run(&["trend", "rig tension", "--json"]).ends(0).json();
    assert_eq!((&said["count"], &said["first"], &said["last"]), (&5.into(), &20.0.into(), &16.0.into()));
    assert_eq!(
        (&said["unit"], &said["median"], &said["span_days"]),
        (&"%".into(), &18.0.into(), &28.0.into())
    );
    let slope = &said["slope"];
    assert_eq!((&slope["per_week"], &slope["distinguishable"]), (&(-1.0).into(), &true.into()));
    assert_eq!(slope["exact"], true);
    // Two readings: shown, and no trend claimed.
    let few = boat.run(&["trend", "rig_tension", "--since", "2026-04-11"]).ends(0).out;
    assert!(few.contains("2 readings") && few.contains("too few to claim a trend"), "{few}");
    boat.run(&["trend", "rig_tension", "--since", "2027-01-01", "--exit-code"]).ends(1);
}

#[test]
fn searching_twice_ingested_notes_finds_each_once() {
    let boat = Boat::new();
    let folder = text(&corpus("quillback"));
    boat.run(&["ingest", &folder]).ends(0);
    let once = boat.run(&["find", "heater", "--limit", "100", "--json"]).ends(0).json();
    boat.run(&["ingest", &folder]).ends(0);
    let twice = boat.run(&["find", "heater", "--limit", "100", "--json"]).ends(0).json();
    assert!(once["hits"].as_array().expect("a list").len() > 3);
    assert_eq!(once, twice);
}
