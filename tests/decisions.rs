//! The skipper's word: every kind of decision, kept, seen everywhere, carried over, taken back.

use serde_json::Value;

use crate::boat::{Boat, corpus, text};

/// Three notes: a failure with an errand, its repair, and some weather that reads two ways.
const FIRST: &str = "# Trial sail\n\nRecorded: 2026-03-14 10:05 +11:00\n\nThe windlass is a fail, it would not lift the anchor. \
    I must buy a spare impeller. The forehatch is a fail, it leaks. Wind fifteen knots. Heel 20 degrees.\n";
const SECOND: &str =
    "# Yard day\n\nRecorded: 2026-03-20 09:00 +11:00\n\nThe windlass is a pass, up and down twice.\n";
const LATER: &str = "Recorded: 2026-03-2N 09:00 +11:00\n\nA quiet day at the dock, tea and a book.\n";

fn boat() -> Boat {
    let boat = Boat::new();
    let (first, second) = (boat.write("1.md", FIRST), boat.write("2.md", SECOND));
    boat.run(&["ingest", &text(&first), &text(&second)]).ends(0);
    boat
}

fn list(boat: &Boat) -> Value {
    boat.run(&["open", "--all", "--json"]).ends(0).json()
}

/// The names of the items about some gear in a part of the list.
fn named(list: &Value, part: &str, gear: &str) -> Vec<String> {
    let items = list[part].as_array().expect("a list").iter();
    items.filter(|i| i["gear"] == gear).map(|i| i["name"].as_str().expect("a name").to_owned()).collect()
}

fn item<'l>(list: &'l Value, part: &str, name: &str) -> &'l Value {
    let items = list[part].as_array().expect("a list");
    items.iter().find(|i| i["name"] == name).unwrap_or_else(|| panic!("{name} is not in {part}: {list}"))
}

/// Takes the database away, so that the next command makes it again, and asserts that nothing changed by that.
fn survives(boat: &Boat) {
    let before = list(boat);
    std::fs::remove_dir_all(boat.home().join("derived")).expect("the database goes");
    assert_eq!(list(boat), before);
}

#[test]
fn every_word_on_an_item_shows_in_the_list_and_is_taken_back() {
    let boat = boat();
    let before = list(&boat);
    let hatch = named(&before, "open", "forehatch").remove(0);
    for (command, key, value) in [
        (vec!["rank", "can-wait"], "rank", Value::from("can_wait")),
        (vec!["give", "Ines"], "given_to", "Ines".into()),
        (vec!["wait", "the", "seal", "--due", "2030-03-04"], "waits_for", "the seal".into()),
        (vec!["due", "1", "May", "2030"], "due_on", "2030-05-01".into()),
    ] {
        let mut arguments = vec![command[0], hatch.as_str()];
        arguments.extend(&command[1..]);
        let ran = boat.run(&arguments).ends(0);
        assert!(ran.out.contains(&hatch), "{}", ran.out);
        assert_eq!(item(&list(&boat), "open", &hatch)[key], value, "{arguments:?}");
        survives(&boat);
    }
    let list_now = list(&boat);
    assert_eq!(item(&list_now, "open", &hatch)["waits_until"], "2030-03-04");
    assert_eq!(list_now["open"].as_array().expect("a list").last().expect("an item")["name"], *hatch);
    boat.run(&["note", &hatch, "the", "frame", "is", "bent"]).ends(0);
    let shown = boat.run(&["open"]).ends(0).out;
    for words in ["can wait", "given to Ines", "waits for the seal", "the frame is bent"] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    let why = boat.run(&["open", "--why"]).ends(0).out;
    assert!(why.contains("can wait; endangers: watertight; failed when tried; due"), "{why}");
    for _ in 0..5 {
        boat.run(&["undo"]).ends(0);
    }
    assert_eq!(list(&boat), before);
    boat.run(&["undo"]).ends(2);
}

#[test]
fn a_word_for_a_day_that_has_passed_counts_from_that_day() {
    let boat = boat();
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    let on = |day: &str| boat.run(&["open", "--all", "--json", "--on", day]).ends(0).json();
    let ran = boat.run(&["--on", "2026-03-22", "close", &hatch, "--because", "a new seal"]).ends(0);
    assert!(ran.out.contains("as of Sun 22 Mar 2026"), "{}", ran.out);
    assert_eq!(named(&on("2026-03-21"), "open", "forehatch"), std::slice::from_ref(&hatch));
    assert!(named(&on("2026-03-22"), "open", "forehatch").is_empty());
    assert_eq!(item(&on("2026-03-22"), "closed", &hatch)["because"], "a new seal");
    assert!(named(&list(&boat), "open", "forehatch").is_empty());
    survives(&boat);
    assert!(boat.run(&["decisions"]).ends(0).out.contains("a new seal, as of Sun 22 Mar 2026"));
    let later = boat.write(
        "later.md",
        LATER.replace("2N", "25").replace("A quiet day", "The forehatch is a fail, it leaks. A quiet day"),
    );
    boat.run(&["ingest", &text(&later)]).ends(0);
    assert_eq!(named(&list(&boat), "open", "forehatch").len(), 1, "what came after that day opens it again");

    boat.run(&["--on", "2026-03-10", "limit", "wind_speed", "..12"]).ends(0);
    assert_eq!(on("2026-03-09")["open"].as_array().map(Vec::len), Some(0));
    let limits = boat.run(&["limits", "--json", "--on", "2026-03-12"]).ends(0).out;
    assert!(limits.contains("2026-03-10"), "{limits}");
}

#[test]
fn what_is_accepted_or_put_off_is_listed_apart() {
    let boat = boat();
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    boat.run(&["accept", &hatch, "--because", "a cloth and a bucket"]).ends(0);
    let now = list(&boat);
    assert!(named(&now, "open", "forehatch").is_empty());
    assert_eq!(item(&now, "accepted", &hatch)["accepted"], "a cloth and a bucket");
    let shown = boat.run(&["open"]).ends(0).out;
    assert!(shown.contains("1 accepted: sailing with it as it is"), "{shown}");
    survives(&boat);
    boat.run(&["reopen", &hatch]).ends(0);
    assert_eq!(named(&list(&boat), "open", "forehatch"), std::slice::from_ref(&hatch));
    boat.run(&["put-off", &hatch, "2031-01-05"]).ends(0);
    assert_eq!(item(&list(&boat), "put_off", &hatch)["put_off_until"], "2031-01-05");
    let then = boat.run(&["open", "--json", "--on", "2031-01-05"]).ends(0).json();
    assert_eq!(named(&then, "open", "forehatch"), std::slice::from_ref(&hatch), "its day has come");
    let ran = boat.run(&["put-off", &hatch, "2020-01-05"]).ends(2);
    assert!(ran.err.contains("has come already"), "{}", ran.err);
    let ran = boat.run(&["put-off", &hatch, "soonish"]).ends(2);
    assert!(ran.err.contains("friday"), "{}", ran.err);
}

#[test]
fn items_are_named_in_words_that_nobody_quotes() {
    let boat = boat();
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    boat.run(&["rank", "must", "fore", "hatch"]).ends(0);
    boat.run(&["due", "fore", "hatch", "in", "1", "day", "--on", "2026-03-20"]).ends(0);
    boat.run(&["give", "fore", "hatch", "to", "Dr", "Munro"]).ends(0);
    let now = list(&boat);
    let hatch = item(&now, "open", &hatch);
    assert_eq!((&hatch["rank"], &hatch["due_on"]), (&"must".into(), &"2026-03-21".into()));
    assert_eq!(hatch["given_to"], "Dr Munro");

    let added = boat.run(&["add", "pack", "the", "grab", "bag", "tomorrow"]).ends(0).out;
    let name = added.split([' ', ':']).nth(1).expect("a name").to_owned();
    assert!(added.contains(&format!("`leadsman due {name} tomorrow`")), "{added}");
    for said in [&["close", "grab", "bag", "--because", "packed"][..], &["reopen", "Grab", "Bags"]] {
        let ran = boat.run(said).ends(0);
        assert!(ran.out.contains(&name), "{}", ran.out);
    }
    boat.run(&["add", "lash", "the", "grab", "bag"]).ends(0);
    let ran = boat.run(&["close", "grab", "bag", "--because", "packed"]).ends(2);
    assert!(ran.err.contains("2 items are of \"grab bag\"") && ran.err.contains("lash"), "{}", ran.err);
    let ran = boat.run(&["close", "second", "grab", "bag", "--because", "sewn"]).ends(2);
    assert!(ran.err.contains("did you mean") && ran.err.contains("grab bag"), "{}", ran.err);
    let ran = boat.run(&["close", "fore", "hatch", "hinge", "--because", "oiled"]).ends(2);
    assert!(ran.err.contains("no item is called"), "other words than the hatch's: {}", ran.err);
}

#[test]
fn a_limit_says_which_end_it_is() {
    let boat = Boat::new();
    let ran = boat.run(&["limit", "oil", "pressure", "at", "least", "20", "psi"]).ends(0);
    assert_eq!(ran.out, "limit: oil pressure 20 psi or more (1.38 bar or more), given by you\n");
    let ran = boat.run(&["limit", "coolant", "195F or less"]).ends(0);
    assert!(ran.out.contains("engine temperature 195 F or less (90.56 °C or less)"), "{}", ran.out);
    let ran = boat.run(&["limit", "oil pressure", "20 psi"]).ends(2);
    assert!(ran.err.contains("\"20 psi or more\" or \"20 psi or less\""), "{}", ran.err);
}

#[test]
fn items_are_added_joined_and_split() {
    let boat = boat();
    boat.run(&["add", "Clean", "the", "bilge", "--gear", "bilge pump", "--why", "unproven"]).ends(0);
    let now = list(&boat);
    let bilge = named(&now, "open", "bilge pump").remove(0);
    assert_eq!(item(&now, "open", &bilge)["why"], "unproven");
    let hatch = named(&now, "open", "forehatch").remove(0);
    boat.run(&["join", &hatch, &bilge]).ends(0);
    let joined = list(&boat);
    assert!(named(&joined, "open", "bilge pump").is_empty());
    let item_now = item(&joined, "open", &hatch);
    assert_eq!(item_now["reasons"], serde_json::json!(["failed_trial", "unproven"]));
    assert!(item_now["about"].as_str().expect("words").contains("Clean the bilge"));
    // It goes by either name from now on.
    boat.run(&["rank", &bilge, "must"]).ends(0);
    assert_eq!(item(&list(&boat), "open", &hatch)["rank"], "must");
    survives(&boat);

    let third =
        boat.write("3.md", "Recorded: 2026-03-21 09:00 +11:00\n\nThe forehatch leaks again, a fail.\n");
    boat.run(&["ingest", &text(&third)]).ends(0);
    let life = boat.run(&["item", &hatch]).ends(0).out;
    assert!(life.contains("raised 2") && life.contains("leaks again") && life.contains("joined"), "{life}");
    boat.run(&["split", &hatch, "2"]).ends(0);
    assert_eq!(named(&list(&boat), "open", "forehatch").len(), 2);
    for wrong in
        [vec!["split", hatch.as_str(), "9"], vec!["join", &hatch, &hatch], vec!["split", &hatch, "1"]]
    {
        boat.run(&wrong).ends(2);
    }
    survives(&boat);
}

#[test]
fn a_trial_by_the_sound_of_it_proves_nothing_until_the_skipper_confirms_it() {
    // A whole boat's notes: whatever the model has learnt, it is unsure of some trial among them.
    let boat = Boat::new();
    boat.run(&["ingest", &text(&crate::boat::corpus("tolsta")), "--zone", "Europe/London"]).ends(0);
    let judged = || {
        let doubts = boat.run(&["doubts", "--json"]).ends(0).json();
        let trials = doubts.as_array().expect("a list").iter().filter(|d| d["of"] == "trial").cloned();
        trials.collect::<Vec<_>>()
    };
    let first = judged();
    let Some(name) = first.first().and_then(|d| d["name"].as_str()) else { panic!("{first:?}") };
    let shown = boat.run(&["doubts"]).ends(0).out;
    assert!(shown.contains("by the sound of it") && shown.contains(&format!("confirm {name}")), "{shown}");
    boat.run(&["confirm", name]).ends(0);
    assert!(judged().iter().all(|d| d["name"] != *name), "confirmed");
    survives(&boat);
    boat.run(&["undo"]).ends(0);
    assert!(judged().iter().any(|d| d["name"] == *name), "undone");
}

#[test]
fn a_closing_by_a_note_waits_for_the_skipper_or_for_three_notes() {
    let boat = boat();
    let now = list(&boat);
    let windlass = named(&now, "closed", "windlass").remove(0);
    assert_eq!(item(&now, "closed", &windlass)["unconfirmed"], true);
    let shown = boat.run(&["open"]).ends(0).out;
    assert!(shown.contains("closed by what a note says") && shown.contains("up and down twice"), "{shown}");
    let doubts = boat.run(&["doubts", "--json"]).ends(0).json();
    assert!(
        doubts.as_array().expect("a list").iter().any(|d| d["of"] == "closing" && d["name"] == *windlass)
    );
    boat.run(&["confirm", &windlass]).ends(0);
    assert_eq!(item(&list(&boat), "closed", &windlass)["unconfirmed"], false);
    survives(&boat);
    boat.run(&["undo"]).ends(0);
    for n in 1..=3 {
        assert_eq!(item(&list(&boat), "closed", &windlass)["unconfirmed"], true, "before note {n}");
        let path = boat.write(&format!("later-{n}.md"), LATER.replace('N', &n.to_string()));
        boat.run(&["ingest", &text(&path)]).ends(0);
    }
    assert_eq!(item(&list(&boat), "closed", &windlass)["unconfirmed"], false);
    // A failure that comes after the skipper's word is not covered up by it.
    boat.run(&["confirm", &windlass]).ends(2);
    let fails =
        boat.write("fails.md", "Recorded: 2031-03-28 09:00 +11:00\n\nThe windlass is a fail again.\n");
    boat.run(&["ingest", &text(&fails)]).ends(0);
    let again = named(&list(&boat), "open", "windlass").remove(0);
    boat.run(&["close", &again, "--because", "new brushes"]).ends(0);
    let fails =
        boat.write("again.md", "Recorded: 2031-04-28 09:00 +11:00\n\nThe windlass is a fail again.\n");
    std::thread::sleep(std::time::Duration::from_millis(20));
    boat.run(&["ingest", &text(&fails)]).ends(0);
    let now = list(&boat);
    let open = named(&now, "open", "windlass");
    assert_eq!(open.len(), 1, "{now}");
    assert!(!item(&now, "open", &open[0])["earlier"].as_array().expect("a list").is_empty());
}

#[test]
fn a_corrected_reading_is_corrected_everywhere_and_a_replaced_source_keeps_it() {
    let boat = boat();
    let first = text(&boat.path("1.md"));
    let explained = boat.run(&["preview", &first, "--json"]).ends(0).json();
    let wind = explained["readings"].as_array().expect("a list").iter();
    let wind = wind.clone().find(|r| r["quantity"] == "wind_speed").expect("the wind");
    let name = wind["name"].as_str().expect("a name").to_owned();
    // `explain` names what can be corrected, as much of the name as it takes.
    let shown = boat.run(&["explain", &first]).ends(0).out;
    assert!(shown.contains(&format!("({})", &name[..6])), "{shown}");
    boat.run(&["correct", &name[..6], "--value", "50 kn", "--stance", "forecast"]).ends(0);
    let check = |file: &str| {
        let preview = boat.run(&["preview", file, "--json"]).ends(0).json();
        let readings = preview["readings"].as_array().expect("a list").clone();
        let wind = readings.iter().find(|r| r["quantity"] == "wind_speed").expect("the wind");
        assert_eq!((&wind["low"], &wind["stance"]), (&50.0.into(), &"forecast".into()));
        let trend = boat.run(&["trend", "wind_speed", "--stance", "forecast", "--json"]).ends(0);
        assert!(trend.out.contains("50"), "{}", trend.out);
        let explained = boat.run(&["explain", file, "--why"]).ends(0).out;
        assert!(explained.contains("50 kn") && explained.contains("corrected by the skipper"), "{explained}");
    };
    check(&first);
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    boat.run(&["rank", &hatch, "must"]).ends(0);
    survives(&boat);
    check(&first);
    // The same file with more words in front: what was said of its findings is carried over.
    boat.write("1.md", FIRST.replace("The windlass is", "A grey morning with much tea. The windlass is"));
    let ran = boat.run(&["ingest", &first]).ends(0);
    assert!(ran.out.contains("taken"), "{}", ran.out);
    check(&first);
    let now = list(&boat);
    let open = named(&now, "open", "forehatch");
    assert_eq!(open.len(), 1, "{now}");
    assert_eq!(item(&now, "open", &open[0])["rank"], "must");
    // The name of before still means it.
    boat.run(&["give", &hatch, "Ines"]).ends(0);
    assert_eq!(item(&list(&boat), "open", &open[0])["given_to"], "Ines");
    survives(&boat);
}

#[test]
fn a_gears_story_tells_what_was_decided_on_its_items() {
    let boat = boat();
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    boat.run(&["note", &hatch, "smells of damp"]).ends(0);
    boat.run(&["accept", &hatch, "--because", "a bucket under it"]).ends(0);
    boat.run(&["limit", "voltage", "11.8..", "--gear", "windlass", "--who", "the maker"]).ends(0);
    let story = |gear: &str| boat.run(&["gear", gear, "--json"]).ends(0).json()["chapters"].clone();
    let told = |story: &Value, kind: &str| -> Vec<String> {
        let chapters = story.as_array().expect("a list").iter().filter(|c| c["kind"] == kind);
        chapters.map(|c| c["text"].as_str().expect("words").to_owned()).collect()
    };
    let hatch = story("forehatch");
    assert_eq!(told(&hatch, "decision"), ["noted: smells of damp", "accepted: a bucket under it"], "{hatch}");
    assert_eq!(told(&hatch, "opened").len(), 1, "what is accepted was opened all the same: {hatch}");
    let windlass = story("windlass");
    assert_eq!(
        told(&windlass, "decision"),
        ["limit: voltage of windlass 11.8 V or more, given by the maker"],
        "{windlass}"
    );
    survives(&boat);
}

#[test]
fn the_time_of_a_reading_and_of_a_trial_is_put_right() {
    let boat = boat();
    let first = text(&boat.path("1.md"));
    let preview = || boat.run(&["preview", &first, "--json"]).ends(0).json();
    let found = |list: &str, key: &str, value: &str| {
        let all = preview()[list].as_array().expect("a list").clone();
        all.into_iter().find(|one| one[key] == value).expect("it was understood")
    };
    let heel = found("readings", "quantity", "heel")["name"].as_str().expect("a name").to_owned();
    // A clock time alone is of the day that was read.
    let said = boat.run(&["--zone", "Australia/Hobart", "correct", &heel, "--at", "16:40"]).ends(0).out;
    assert!(said.contains("Sat 14 Mar 2026 16:40") && said.contains("10:05"), "{said}");
    let trend = boat.run(&["trend", "heel", "--json"]).json();
    assert_eq!(trend["readings"][0]["at"], "2026-03-14T16:40:00+11:00", "{trend}");
    let hatch = found("trials", "gear", "forehatch")["name"].as_str().expect("a name").to_owned();
    boat.run(&["correct", &hatch, "--at", "2026-03-12T08:00+11:00"]).ends(0);
    let at = &found("trials", "gear", "forehatch")["at"];
    assert!(at.to_string().contains("2026-03-12T08:00:00+11:00"), "{at}");
    let open = list(&boat);
    let name = named(&open, "open", "forehatch").remove(0);
    assert_eq!(item(&open, "open", &name)["opened"], "2026-03-12", "{open}");
    survives(&boat);
    boat.run(&["undo"]).ends(0);
    assert_eq!(item(&list(&boat), "open", &name)["opened"], "2026-03-14");
    for wrong in ["noon", "25:00", "2026-13-01 10:00"] {
        let ran = boat.run(&["correct", &heel, "--at", wrong]).ends(2);
        assert!(ran.err.contains("expected a time like"), "{wrong}: {}", ran.err);
    }
    boat.run(&["correct", &name, "--at", "10:00"]).ends(2);
}

/// "We'll see what the heater draws" leaves the heater untried and announces its trial: one matter under one name.
#[test]
fn an_announcement_that_leaves_an_item_is_that_item_alone() {
    let boat = Boat::new();
    let words = "Recorded: 2026-05-02 19:00 +01:00\n\nThe heater is new. Tonight we'll see what the heater draws. Tomorrow we'll try the drogue.\n";
    let path = boat.write("01.txt", words);
    boat.run(&["ingest", &text(&path)]).ends(0);
    let listed = || {
        let open = boat.run(&["open", "--json"]).ends(0).json();
        let ids = |part: &str| -> Vec<String> {
            let all = open[part].as_array().unwrap_or_else(|| panic!("{open}"));
            all.iter().map(|one| one["name"].as_str().expect("a name").to_owned()).collect()
        };
        (ids("open"), ids("announced"))
    };
    let (open, announced) = listed();
    assert!(!open.is_empty() && !announced.is_empty());
    assert!(open.iter().all(|id| !announced.contains(id)), "{open:?} {announced:?}");
    boat.run(&["close", &open[0], "--because", "read it off the monitor"]).ends(0);
    assert!(!listed().0.contains(&open[0]));
    assert_eq!(listed().1, announced, "it does not come back as a trial announced");
}

#[test]
fn a_trial_announced_is_closed_dismissed_and_brought_back() {
    let boat = Boat::new();
    let words = "Recorded: 2026-05-02 19:00 +01:00\n\nTomorrow we'll try the drogue. On Sunday we'll try the trysail.\n";
    let path = boat.write("01.txt", words);
    boat.run(&["ingest", &text(&path)]).ends(0);
    let announced = || -> Vec<(String, String)> {
        let open = list(&boat);
        let all = open["announced"].as_array().expect("a list").iter();
        all.map(|one| ["gear", "name"].map(|key| one[key].as_str().expect("words").to_owned()).into())
            .collect()
    };
    let before = announced();
    let drogue =
        before.iter().find(|one| one.0.ends_with("drogue")).unwrap_or_else(|| panic!("{before:?}")).1.clone();
    assert!(boat.run(&["open"]).ends(0).out.contains(&drogue), "its name is shown");
    let said = boat.run(&["close", &drogue, "--because", "read it off the monitor"]).ends(0).out;
    assert!(said.contains("closed") && said.contains("drogue"), "{said}");
    assert!(announced().iter().all(|one| one.1 != drogue));
    survives(&boat);
    let ran = boat.run(&["close", &drogue, "--because", "twice"]).ends(2);
    assert!(ran.err.contains("closed already") && ran.err.contains("hint: "), "{}", ran.err);
    boat.run(&["dismiss", &drogue]).ends(2);
    boat.run(&["reopen", &drogue]).ends(0);
    assert_eq!(announced(), before);
    boat.run(&["reopen", &drogue]).ends(2);
    boat.run(&["dismiss", &drogue[..3]]).ends(0);
    assert!(announced().iter().all(|one| one.1 != drogue));
    survives(&boat);
    boat.run(&["undo"]).ends(0);
    assert_eq!(announced(), before);
    // A newer copy of the note, with more words before these, keeps it closed.
    boat.run(&["close", &drogue, "--because", "read it off the monitor"]).ends(0);
    boat.write("01.txt", words.replace("Tomorrow", "A grey day with much tea. Tomorrow"));
    boat.run(&["ingest", &text(&path)]).ends(0);
    let now = announced();
    assert!(now.iter().all(|one| !one.0.ends_with("drogue")), "{now:?}");
    survives(&boat);
    assert!(boat.run(&["decisions"]).ends(0).out.contains("read it off the monitor"));
}

#[test]
fn a_trial_that_passed_after_all_leaves_no_item() {
    let boat = boat();
    let preview = boat.run(&["preview", &text(&boat.path("1.md")), "--json"]).ends(0).json();
    let trial = preview["trials"].as_array().expect("a list").iter().find(|t| t["gear"] == "forehatch");
    let name = trial.expect("the trial")["name"].as_str().expect("a name").to_owned();
    boat.run(&["correct", &name, "--outcome", "pass"]).ends(0);
    assert!(named(&list(&boat), "open", "forehatch").is_empty());
    let found = boat.run(&["find", "--outcome", "pass", "--json"]).ends(0).out;
    assert!(found.contains("forehatch"), "{found}");
    survives(&boat);
    boat.run(&["undo"]).ends(0);
    assert_eq!(named(&list(&boat), "open", "forehatch").len(), 1);
    boat.run(&["dismiss", &name]).ends(0);
    assert!(named(&list(&boat), "open", "forehatch").is_empty());
    for wrong in [
        vec!["correct", name.as_str(), "--outcome", "pass"],
        vec!["correct", "t-zzzz", "--outcome", "pass"],
        vec!["confirm", "r-"],
        vec!["correct", "r-2", "--value", "many"],
    ] {
        let ran = boat.run(&wrong).ends(2);
        assert!(ran.err.contains("hint: ") || ran.err.contains("expected"), "{wrong:?}: {}", ran.err);
    }
}

#[test]
fn a_dismissed_item_is_gone_until_it_is_brought_back() {
    let boat = boat();
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    boat.run(&["dismiss", &hatch]).ends(0);
    let now = list(&boat);
    assert!(named(&now, "open", "forehatch").is_empty() && named(&now, "closed", "forehatch").is_empty());
    assert_eq!(named(&now, "dismissed", "forehatch"), std::slice::from_ref(&hatch));
    survives(&boat);
    boat.run(&["close", &hatch, "--because", "done"]).ends(2);
    boat.run(&["reopen", &hatch]).ends(0);
    assert_eq!(named(&list(&boat), "open", "forehatch"), [hatch]);
}

#[test]
fn a_decision_is_undone_by_its_name_and_listed() {
    let boat = boat();
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    boat.run(&["rank", &hatch, "must"]).ends(0);
    boat.run(&["give", &hatch, "Ines"]).ends(0);
    let all = boat.run(&["decisions", "--json"]).ends(0).json();
    let first = all[0]["name"].as_str().expect("a name").to_owned();
    assert_eq!((&all[0]["kind"], &all[1]["kind"]), (&"rank".into(), &"give".into()));
    boat.run(&["undo", &first]).ends(0);
    let now = list(&boat);
    let item = item(&now, "open", &hatch);
    assert_eq!((&item["rank"], &item["given_to"]), (&Value::Null, &"Ines".into()));
    let all = boat.run(&["decisions", "--json"]).ends(0).json();
    assert_eq!((&all[0]["stands"], &all[1]["stands"]), (&false.into(), &true.into()));
    assert!(boat.run(&["decisions"]).ends(0).out.contains("(taken back)"));
    let ran = boat.run(&["undo", "d-nothing"]).ends(2);
    assert!(ran.err.contains("hint: "), "{}", ran.err);
    boat.run(&["undo", &first]).ends(2);
}

#[test]
fn a_withdrawn_source_answers_no_more_and_an_erased_one_never_again() {
    let boat = boat();
    let first = text(&boat.path("1.md"));
    boat.run(&["withdraw", "1.md"]).ends(0);
    assert!(list(&boat)["open"].as_array().expect("a list").is_empty());
    assert!(!boat.run(&["find", "forehatch"]).ends(0).out.contains("leaks"));
    survives(&boat);
    boat.run(&["undo"]).ends(0);
    assert_eq!(named(&list(&boat), "open", "forehatch").len(), 1);
    boat.run(&["withdraw", "1.md", "--erase"]).ends(0);
    assert!(list(&boat)["open"].as_array().expect("a list").is_empty());
    survives(&boat);
    let kept = walk(&boat.home().join("sources"));
    assert_eq!(kept, 1, "the bytes of one of two sources are gone");
    boat.run(&["ingest", &first]).ends(3);
    boat.run(&["undo"]).ends(2);
    boat.run(&["withdraw", "1.md"]).ends(2);
    boat.run(&["withdraw", "nothing.md"]).ends(2);
}

#[test]
fn taught_words_hold_for_notes_before_and_after() {
    let boat = Boat::new();
    let words = "Recorded: 2026-03-14 10:05 +11:00\n\nTried Bertha at anchor. Bertha is bonkers. Boat speed 6 jogs. \
        The juice is 82 this morning.\n";
    let first = text(&boat.write("1.md", words));
    boat.run(&["ingest", &first]).ends(0);
    let readings = |file: &str| -> Vec<String> {
        let preview = boat.run(&["preview", file, "--json"]).ends(0).json();
        let readings = preview["readings"].as_array().expect("a list").clone();
        readings.iter().map(|r| format!("{} {} {}", r["quantity"], r["low"], r["unit"])).collect()
    };
    let before = readings(&first);
    for teach in [
        ["Bertha", "--gear", "heater"],
        ["is bonkers", "--outcome", "fail"],
        ["jogs", "--unit", "knots"],
        ["juice", "--quantity", "state of charge"],
    ] {
        let ran = boat.run(&[&["teach"], teach.as_slice()].concat()).ends(0);
        assert!(ran.out.contains(teach[0]), "{}", ran.out);
    }
    let open = list(&boat);
    assert_eq!(named(&open, "open", "heater").len(), 1, "{open}");
    let now = readings(&first);
    assert_ne!(now, before);
    for reading in ["\"boat_speed\" 6.0 \"kn\"", "\"state_of_charge\" 82.0 \"%\""] {
        assert!(now.iter().any(|r| r == reading), "{reading}: {now:?}");
    }
    survives(&boat);
    let second =
        text(&boat.write("2.md", "Recorded: 2026-03-20 09:00 +11:00\n\nHeading 90, speed 5 jogs.\n"));
    boat.run(&["ingest", &second]).ends(0);
    assert!(boat.run(&["trend", "boat_speed", "--json"]).ends(0).out.contains("5"));
    for wrong in [
        vec!["teach", "jogs", "--unit", "zorks"],
        vec!["teach", "jogs", "--quantity", "zorkiness"],
        vec!["teach", "??", "--gear", "heater"],
        vec!["teach", "drip"],
        vec!["teach", "drip", "--unit", "kn", "--gear", "heater"],
    ] {
        assert!(!boat.run(&wrong).ends(2).err.is_empty());
    }
    for _ in 0..4 {
        boat.run(&["undo"]).ends(0);
    }
    assert_eq!(readings(&first), before);
}

#[test]
fn a_limit_by_decision_opens_items_and_is_for_its_own_gear() {
    let boat = Boat::new();
    let words = "Recorded: 2026-03-14 10:05 +11:00\n\nThe house bank was at 12.0 volts this morning. Port cap shroud tension \
        14 percent. Starboard cap shroud tension 14 percent. My rule is the house bank never goes below 11.5 volts.\n";
    boat.run(&["ingest", &text(&boat.write("1.md", words))]).ends(0);
    let why = |gear: &str| -> Vec<String> {
        let now = list(&boat);
        let items = now["open"].as_array().expect("a list").clone();
        let own = items.iter().filter(|i| i["gear"] == gear);
        own.map(|i| i["why"].as_str().expect("a reason").to_owned()).collect()
    };
    assert!(why("house bank").is_empty());
    boat.run(&["limit", "voltage", "12.2..", "--gear", "house bank", "--who", "the maker"]).ends(0);
    assert_eq!(why("house bank"), ["out_of_limits"], "the skipper's limit wins over the note's");
    let limits = boat.run(&["limits", "--json"]).ends(0).json();
    let of_bank: Vec<&Value> =
        limits.as_array().expect("a list").iter().filter(|l| l["quantity"] == "voltage").collect();
    assert_eq!((&of_bank[0]["who"], &of_bank[0]["in_force"]), (&"the maker".into(), &true.into()));
    assert_eq!(
        (&of_bank[0]["disagrees"], &of_bank[1]["disagrees"]),
        (&true.into(), &true.into()),
        "{limits}"
    );
    assert!(boat.run(&["limits"]).ends(0).out.contains("these disagree"));
    boat.run(&["limit", "rig tension", "17..20", "%", "--gear", "port cap shroud"]).ends(0);
    assert_eq!(why("port cap shroud"), ["out_of_limits"]);
    assert!(why("starboard cap shroud").is_empty(), "what holds for one wire is not applied to another");
    survives(&boat);
    for wrong in [
        vec!["limit", "rig tension", "17..20"],
        vec!["limit", "zorkiness", "17"],
        vec!["limit", "voltage", "many"],
        vec!["limit", "voltage", "14..12"],
    ] {
        assert!(!boat.run(&wrong).ends(2).err.is_empty());
    }
    boat.run(&["undo"]).ends(0);
    boat.run(&["undo"]).ends(0);
    assert!(list(&boat)["open"].as_array().expect("a list").is_empty());
}

fn walk(folder: &std::path::Path) -> usize {
    std::fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path())
        .map(|path| if path.is_dir() { walk(&path) } else { 1 })
        .sum()
}

/// Decisions in any order and number, on a real boat: the list is the same after the database is made again.
#[test]
fn random_decisions_survive_making_the_database_again() {
    let boat = Boat::new();
    boat.run(&["ingest", &text(&corpus("quillback")), "--zone", "Australia/Hobart"]).ends(0);
    // A generator of its own keeps the run the same every time (Knuth's MMIX constants, from memory).
    let mut state = 20_261_125_u64;
    let mut next = move |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below.max(1)
    };
    let mut done = 0;
    for _ in 0..40 {
        let now = list(&boat);
        let mut pick = |part: &str| -> Option<String> {
            let items = now[part].as_array().expect("a list");
            let item = items.get(next(items.len()))?;
            Some(item["name"].as_str().expect("a name").to_owned())
        };
        let (open, other, closed) = (pick("open"), pick("open"), pick("closed"));
        let (Some(open), Some(other), Some(closed)) = (open, other, closed) else { break };
        let commands: [&[&str]; 12] = [
            &["close", &open, "--because", "done"],
            &["reopen", &closed],
            &["accept", &open, "--because", "so be it"],
            &["put-off", &open, "2031-01-05"],
            &["give", &open, "Ines"],
            &["rank", &open, "must"],
            &["due", &open, "2027-01-05"],
            &["add", "another", "thing"],
            &["join", &open, &other],
            &["split", &open, "1"],
            &["dismiss", &open],
            &["undo"],
        ];
        // Some cannot be done as things stand; they must say so and change nothing.
        let ran = boat.run(commands[next(commands.len())]);
        match ran.code {
            Some(0) => done += 1,
            _ => {
                let ran = ran.ends(2);
                assert!(ran.err.contains("error: "), "{}", ran.err);
                assert_eq!(list(&boat), now);
            }
        }
    }
    assert!(done > 15, "{done}");
    survives(&boat);
}

#[test]
fn an_item_is_named_by_its_gear_where_that_has_one() {
    let boat = boat();
    let hatch = named(&list(&boat), "open", "forehatch").remove(0);
    let ran = boat.run(&["close", "fore hatch", "--because", "rebedded"]).ends(0);
    assert!(ran.out.contains(&hatch), "{}", ran.out);
    assert_eq!(named(&list(&boat), "closed", "forehatch"), [hatch]);
    boat.run(&["add", "look at the impeller's shaft", "--gear", "impeller"]).ends(0);
    let ran = boat.run(&["item", "impeller"]).ends(2);
    assert!(ran.err.contains("2 items are of \"impeller\""), "{}", ran.err);
    let ran = boat.run(&["item", "sextant"]).ends(2);
    assert!(ran.err.contains("no item is called \"sextant\""), "{}", ran.err);
}

#[test]
fn a_departure_is_said_as_days_are_and_told_where_it_has_passed() {
    let boat = boat();
    let ran = boat.run(&["passage", "--departure", "in two weeks", "--json"]).ends(0);
    assert!(ran.err.is_empty() && ran.json()["leaves"].is_string(), "{}{}", ran.err, ran.out);
    let ran = boat.run(&["passage", "--departure", "2020-01-01"]).ends(0);
    assert!(ran.err.contains("2020-01-01 has passed"), "{}", ran.err);
    // Seen from the day that is asked about it is still to come.
    let ran = boat.run(&["--on", "2019-12-01", "passage", "--departure", "2020-01-01"]).ends(0);
    assert!(!ran.err.contains("has passed"), "{}", ran.err);
}
