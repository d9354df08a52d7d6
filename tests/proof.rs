//! `gear`, `proved`, `envelope`, `outings`, and what stands beside the list of `open`: gear from its first day to its
//! last trial, and what no trial has shown yet.

use serde_json::Value;

use crate::boat::{Boat, corpus, text};

/// A home with notes of their own, each with its name and words.
fn told(notes: &[(&str, &str)]) -> Boat {
    let boat = Boat::new();
    for (name, words) in notes {
        let path = text(&boat.write(name, words));
        boat.run(&["ingest", &path, "--zone", "Europe/London"]).ends(0);
    }
    boat
}

fn json(boat: &Boat, arguments: &[&str]) -> Value {
    boat.run(&[arguments, &["--json"]].concat()).ends(0).json()
}

fn entry(boat: &Boat, name: &str, on: &str) -> Value {
    json(boat, &["proved", name, "--on", on])["entries"][0].clone()
}

const STORM: &str = "Recorded: 2026-05-02 10:00 +01:00\n\nTrue wind 18 knots, waves about 1.5 metres, on my own. I \
                     streamed the series drogue off the quarters and she ran straight. So the series drogue is a pass.\n\n\
                     At 40 knots true the series drogue goes out.\n";
const RENEWED: &str = "Recorded: 2026-05-20 10:00 +01:00\n\nThe series drogue was replaced by the maker, the old one had chafed.\n";

#[test]
fn a_gear_has_a_story_from_the_notes_and_from_the_skipper() {
    let boat = told(&[("01-storm.txt", STORM), ("02-renewed.txt", RENEWED)]);
    let register = json(&boat, &["gear", "--on", "2026-06-01"]);
    let drogue = register["gear"].as_array().expect("a list").iter().find(|g| g["name"] == "series drogue");
    let drogue = drogue.expect("it is in the register");
    assert_eq!((&drogue["aboard"], &drogue["since"]), (&true.into(), &"2026-05-02".into()));
    assert_eq!(drogue["turns"][0]["what"], "replaced");
    assert_eq!(drogue["last_tried"]["outcome"], "pass");
    assert_eq!(drogue["last_tried"]["renewed_since"], true);

    let story = json(&boat, &["gear", "drogue", "--on", "2026-06-01"]);
    let kinds: Vec<&str> = story["chapters"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|c| c["kind"].as_str().expect("a kind"))
        .collect();
    for kind in ["tried", "limit", "done"] {
        assert!(kinds.contains(&kind), "{kinds:?}");
    }
    let tried =
        story["chapters"].as_array().expect("a list").iter().find(|c| c["kind"] == "tried").expect("a trial");
    assert!(tried["text"].as_str().expect("words").contains("true wind speed 18 kn"), "{tried}");

    // The skipper's word: it was not replaced, and it was fitted two years before.
    boat.run(&["gear", "drogue", "--not", "replaced", "--because", "only a new bridle"]).ends(0);
    boat.run(&["gear", "drogue", "--fitted", "2024-04-01"]).ends(0);
    let register = json(&boat, &["gear"]);
    let drogue = register["gear"].as_array().expect("a list").iter().find(|g| g["name"] == "series drogue");
    let drogue = drogue.expect("it is in the register");
    assert_eq!((&drogue["since"], &drogue["since_from"]), (&"2024-04-01".into(), &"fitted".into()));
    assert_eq!(drogue["turns"].as_array().expect("a list").len(), 1);
    assert_eq!(drogue["last_tried"]["renewed_since"], false);
    boat.run(&["gear", "drogue", "--taken-off", "2026-06-01"]).ends(0);
    let ran = boat.run(&["gear"]).ends(0);
    assert!(ran.out.contains("taken off"), "{}", ran.out);
}

#[test]
fn gear_that_nobody_knows_is_said() {
    let boat = told(&[("01-storm.txt", STORM)]);
    let ran = boat.run(&["gear", "teapot"]).ends(2);
    assert!(ran.err.contains("no note tells of \"teapot\"") && ran.err.contains("hint: "), "{}", ran.err);
    let ran = boat.run(&["envelope", "teapot"]).ends(2);
    assert!(ran.err.contains("hint: "), "{}", ran.err);
    boat.run(&["gear", " "]).ends(2);
    boat.run(&["gear", "--fitted", "2024-04-01"]).ends(2);
    boat.run(&["gear", "drogue", "--not", "announced"]).ends(2);
    let empty = Boat::new();
    let ran = empty.run(&["gear"]).ends(0);
    assert!(ran.out.contains("No note tells of any gear yet"), "{}", ran.out);
    assert!(!empty.home().exists(), "a question makes no home");
}

#[test]
fn an_entry_is_proved_stale_failed_or_never_tried() {
    let boat = told(&[("01-storm.txt", STORM)]);
    let drogue = entry(&boat, "drag-device", "2026-05-10");
    assert_eq!(drogue["status"], "proved");
    let proof = &drogue["proofs"][0];
    assert_eq!((&proof["gear"], &proof["on"]), (&"series drogue".into(), &"2026-05-02".into()));
    assert!(proof["conditions"].as_str().expect("words").contains("single-handed"), "{proof}");
    assert_eq!(entry(&boat, "windlass", "2026-05-10")["status"], "never_tried");
    // Two years is how long a proof of it lasts.
    assert_eq!(entry(&boat, "drag-device", "2028-06-10")["status"], "stale");
    boat.run(&["proved", "drag-device", "--fresh-days", "3"]).ends(0);
    assert_eq!(entry(&boat, "drag-device", "2026-05-10")["status"], "stale");
    boat.run(&["proved", "drag-device", "--fresh-days", "730"]).ends(0);

    let renewed = text(&boat.write("02-renewed.txt", RENEWED));
    boat.run(&["ingest", &renewed]).ends(0);
    let stale = entry(&boat, "drag-device", "2026-06-01");
    assert_eq!(stale["status"], "stale");
    assert!(stale["why"].as_str().expect("words").contains("replaced"), "{stale}");
    let failed = "Recorded: 2026-05-25 10:00 +01:00\n\nThe series drogue would not come back in. The series drogue is a fail.\n";
    let failed = text(&boat.write("03-failed.txt", failed));
    boat.run(&["ingest", &failed]).ends(0);
    assert_eq!(entry(&boat, "drag-device", "2026-06-01")["status"], "failed");
}

#[test]
fn dates_must_last_until_the_boat_is_back() {
    let words = "Recorded: 2026-05-02 10:00 +01:00\n\nThe flares are good until 2027. The liferaft's next service is \
                 November 2026.\n";
    let boat = told(&[("01.txt", words)]);
    boat.run(&["passage", "--departure", "2026-06-10", "--back", "2026-10-01"]).ends(0);
    assert_eq!(entry(&boat, "flares", "2026-05-10")["status"], "proved");
    assert_eq!(entry(&boat, "liferaft", "2026-05-10")["status"], "proved");
    boat.run(&["passage", "--back", "2027-03-01"]).ends(0);
    let raft = entry(&boat, "liferaft", "2026-05-10");
    assert_eq!(raft["status"], "failed");
    assert!(raft["why"].as_str().expect("words").starts_with("runs out"), "{raft}");
    // What runs out before the boat is back is an open item as well.
    let open = json(&boat, &["open", "--on", "2026-05-10"]);
    let overdue = |gear: &str| {
        open["open"].as_array().expect("a list").iter().any(|i| i["gear"] == gear && i["why"] == "overdue")
    };
    assert!(overdue("liferaft") && !overdue("flares"), "{}", open["open"]);
}

#[test]
fn the_skipper_edits_the_list() {
    let boat = told(&[("01-storm.txt", STORM)]);
    boat.run(&["proved", "watermaker", "--dismiss", "--because", "there is none aboard"]).ends(0);
    let gone = entry(&boat, "watermaker", "2026-05-10");
    assert_eq!((&gone["status"], &gone["dismissed"]), (&"dismissed".into(), &"there is none aboard".into()));
    boat.run(&["proved", "watermaker", "--restore"]).ends(0);
    assert_eq!(entry(&boat, "watermaker", "2026-05-10")["status"], "never_tried");
    boat.run(&[
        "proved",
        "cat-flap",
        "--add",
        "the cat flap can be shut",
        "--gear",
        "washboards",
        "--group",
        "watertight",
    ])
    .ends(0);
    let added = entry(&boat, "cat-flap", "2026-05-10");
    assert_eq!(
        (&added["what"], &added["status"]),
        (&"the cat flap can be shut".into(), &"never_tried".into())
    );
    boat.run(&["proved", "cat-flap", "--vouch", "2026-05-05", "--because", "the cat agrees"]).ends(0);
    assert_eq!(entry(&boat, "cat-flap", "2026-05-10")["status"], "proved");
    for wrong in [
        vec!["proved", "cat-flop"],
        vec!["proved", "cat-flap", "--group", "cats", "--add", "x"],
        vec!["proved", "?!", "--add", "x"],
        vec!["proved", "cat-flap", "--add", "  "],
        vec!["proved", "--dismiss"],
        vec!["proved", "cat-flap", "--fresh-days", "0"],
    ] {
        let ran = boat.run(&wrong).ends(2);
        assert!(!ran.err.is_empty());
    }
    let ran = boat.run(&["proved", "cat-flop"]).ends(2);
    assert!(ran.err.contains("did you mean cat-flap?"), "{}", ran.err);
}

#[test]
fn an_envelope_says_what_is_proved_and_what_is_needed() {
    let boat = told(&[("01-storm.txt", STORM)]);
    let of = |more: &[&str]| json(&boat, &[&["envelope", "drogue", "--on", "2026-05-10"], more].concat());
    let envelope = of(&[]);
    assert_eq!(
        envelope["summary"],
        "proved up to 18 kn, 1.5 m and one hand; needed at 40 kn: not proved above 18 kn"
    );
    assert_eq!(envelope["passed"][0]["reach"]["wind"], 18.0);
    assert_eq!(envelope["passed"][0]["reach"]["hands"], 1.0);
    // The passage's strongest wind widens what the speaker's trigger asks for.
    boat.run(&["passage", "--strongest-wind", "45", "--crew", "1"]).ends(0);
    let envelope = of(&[]);
    assert_eq!(envelope["needs"][0]["text"], "40 to 45 kn");
    assert_eq!(envelope["needs"][0]["covered"], false);
    let open = json(&boat, &["open", "--on", "2026-05-10"]);
    assert_eq!(open["gaps"][0]["gear"], "series drogue");
    let gap = open["gaps"][0]["summary"].as_str().expect("words");
    assert!(gap.ends_with("needed at 40 to 45 kn: not proved above 18 kn"), "{gap}");
    let listed: Vec<&Value> = open["open"].as_array().expect("a list").iter().collect();
    assert!(listed.iter().all(|i| i["gear"] != "series drogue"), "a gap is no item: {listed:?}");

    // A trial in all that closes it; the same one before a replacement does not.
    let blow = "Recorded: 2026-05-15 10:00 +01:00\n\nTrue wind 46 knots, on my own, and the series drogue held her. The series \
                drogue is a pass.\n";
    let blow = text(&boat.write("02-blow.txt", blow));
    boat.run(&["ingest", &blow]).ends(0);
    let open = json(&boat, &["open", "--on", "2026-05-16"]);
    assert_eq!(open["gaps"].as_array().expect("a list").len(), 0, "{}", open["gaps"]);
    boat.run(&["gear", "drogue", "--replaced", "2026-05-16"]).ends(0);
    let after = json(&boat, &["envelope", "drogue", "--on", "2026-05-17"]);
    assert_eq!(after["passed"].as_array().expect("a list").len(), 0);
    assert_eq!(after["void"].as_array().expect("a list").len(), 2);
    assert!(
        after["summary"]
            .as_str()
            .expect("words")
            .starts_with("not proved since it was replaced Sat 16 May 2026"),
        "{after}"
    );
}

#[test]
fn open_ends_with_what_was_announced_and_never_reported() {
    let announced = "Recorded: 2026-05-02 19:00 +01:00\n\nOn Sunday we'll try the trysail.\n";
    let boat = told(&[("01.txt", announced)]);
    let open = json(&boat, &["open", "--on", "2026-05-10"]);
    let one = &open["announced"][0];
    assert_eq!((&one["gear"], &one["days_ago"]), (&"trysail".into(), &8.into()));
    assert!(one["quote"].as_str().expect("words").contains("we'll try the trysail"));
    let ran = boat.run(&["open", "--on", "2026-05-10"]).ends(0);
    let heading = ran.out.find("announced, and no note reports").expect("a heading of its own");
    assert!(ran.out.find("never tried, of what").expect("the other heading") < heading, "{}", ran.out);
    let report = "Recorded: 2026-05-03 08:00 +01:00\n\nThe trysail set flat and she lay quiet under it.\n";
    let report = text(&boat.write("02.txt", report));
    boat.run(&["ingest", &report]).ends(0);
    assert_eq!(json(&boat, &["open", "--on", "2026-05-10"])["announced"], serde_json::json!([]));
}

#[test]
fn the_passage_comes_from_the_notes_where_none_is_set() {
    let words = "Recorded: 2026-05-02 19:00 +01:00\n\nAway July 4, home by September 15 if all goes well.\n";
    let boat = told(&[("01.txt", words)]);
    let passage = json(&boat, &["passage", "--on", "2026-05-10"]);
    assert_eq!((&passage["leaves"], &passage["back"]), (&"2026-07-04".into(), &"2026-09-15".into()));
    assert_eq!(passage["leaves_from"], "said in 01.txt");
    assert!(passage["back_said"].as_str().expect("words").contains("home by September 15"), "{passage}");
    // The skipper's word wins; the return is worked out from the days where nobody names it.
    boat.run(&["passage", "--departure", "2026-10-01", "--days", "20"]).ends(0);
    let passage = json(&boat, &["passage", "--on", "2026-05-10"]);
    assert_eq!((&passage["leaves"], &passage["back"]), (&"2026-10-01".into(), &"2026-10-21".into()));
    assert_eq!(passage["back_from"], "departure and days at sea");
}

#[test]
fn outings_place_what_stands_open() {
    let boat = Boat::new();
    boat.run(&["ingest", &text(&corpus("quillback")), "--zone", "Australia/Hobart"]).ends(0);
    boat.run(&["passage", "--departure", "2026-10-20"]).ends(0);
    let plan = json(&boat, &["outings", "--days", "3", "--on", "2026-10-06"]);
    let open = json(&boat, &["open", "--on", "2026-10-06"]);
    let list = |value: &Value| value.as_array().expect("a list").clone();
    let placed: usize = list(&plan["days"]).iter().map(|d| list(&d["steps"]).len()).sum();
    let all = placed + list(&plan["errands"]).len() + list(&plan["unplaced"]).len();
    assert_eq!(all, list(&open["open"]).len(), "every open item stands somewhere, and once");
    assert_eq!(list(&plan["days"]).len(), 3);
    assert!(placed > 0);
    for left in list(&plan["unplaced"]) {
        assert!(!left["because"].as_str().expect("words").is_empty());
    }
    assert_eq!(plan, json(&boat, &["outings", "--days", "3", "--on", "2026-10-06"]));
    for wrong in [["--days", "0"], ["--days", "many"], ["--hours", "0"], ["--hours", "NaN"]] {
        boat.run(&[&["outings"], wrong.as_slice()].concat()).ends(2);
    }
    let none = Boat::new().run(&["outings"]).ends(0);
    assert!(none.out.contains("nothing to do"), "{}", none.out);
}

#[test]
fn decisions_on_gear_and_proofs_are_taken_back_like_any_other() {
    let boat = told(&[("01-storm.txt", STORM)]);
    boat.run(&["gear", "drogue", "--replaced", "2026-05-16"]).ends(0);
    let line = std::fs::read_dir(boat.home().join("decisions")).expect("the folder").next().expect("a file");
    let lines = std::fs::read_to_string(line.expect("an entry").path()).expect("text");
    let decision: Value = serde_json::from_str(lines.lines().last().expect("a line")).expect("JSON");
    assert_eq!(
        (&decision["kind"], &decision["gear"], &decision["what"]),
        (&"gear".into(), &"series drogue".into(), &"replaced".into())
    );
}
