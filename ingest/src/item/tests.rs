//! What notes leave to do and say is done: each case is a note and what it should give.

use crate::{Hints, Note, read};

fn note(words: &str) -> Note {
    let text = format!("Saturday 14 March 2026, 10:05 UTC+1\n\n{words}\n");
    read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() })
}

#[track_caller]
fn raises(words: &str, expected: &[&str]) {
    let items: Vec<String> =
        note(words).items.iter().map(|i| format!("{} {}", i.gear.as_deref().unwrap_or("-"), i.why)).collect();
    assert_eq!(items, expected, "{words}");
}

#[track_caller]
fn closes(words: &str, expected: &[&str]) {
    let mut gear: Vec<String> = note(words).closings.iter().filter_map(|c| c.gear.clone()).collect();
    gear.dedup();
    assert_eq!(gear, expected, "{words}");
}

#[test]
fn a_failed_trial_and_what_would_mend_it_are_one_item() {
    raises(
        "The furler jammed, so the furler's a fail. I must look at the furler's drum.",
        &["furler failed_trial"],
    );
}

#[test]
fn what_was_never_tried_is_unproven() {
    raises("The storm jib is still in its bag.", &["storm jib unproven"]);
    raises("I have never once had the sea anchor out.", &["sea anchor unproven"]);
    raises("New cable on the heater, not lit yet.", &["heater unproven"]);
}

#[test]
fn obligations_are_tasks_and_ways_of_speaking_are_not() {
    raises("I must buy a spare impeller.", &["impeller task"]);
    raises("The stern gland needs repacking.", &["stern gland task"]);
    raises("I have to say the windlass surprised me.", &[]);
    raises("He has to look at his own windlass.", &[]);
    raises("If the windlass went I would have to pull by hand.", &[]);
}

#[test]
fn the_speakers_word_closes() {
    closes("The stern gland is repacked, so that's the stern gland done.", &["stern gland"]);
    closes("The stern gland is not done.", &[]);
    closes("I must get the stern gland done.", &[]);
}

#[test]
fn boxes_and_headings_say_what_is_done_and_what_is_not() {
    let text =
        "# Jobs, 14 March 2026\n\n- [x] impeller\n- [ ] flares, four of them\n\n## Done\n\n- Joker valve\n";
    let note = read(text.as_bytes(), &Hints { name: "jobs.md".to_owned(), ..Hints::default() });
    let items: Vec<_> = note.items.iter().filter_map(|i| i.gear.as_deref()).collect();
    assert_eq!(items, ["flares"]);
    let done: Vec<_> = note.closings.iter().filter_map(|c| c.gear.as_deref()).collect();
    assert_eq!(done, ["impeller", "heads pump"]);
}

#[test]
fn what_is_struck_out_is_done_and_a_table_of_jobs_has_one_in_each_row() {
    raises("- ~~Fix the stern light~~\n- Anchor chain: mark it", &["anchor chain task"]);
    raises(
        "Still open:\n\n| What | State |\n|---|---|\n| Backup GPS | not bought |\n| Windlass gypsy | measured, fine |",
        &["GPS task"],
    );
}

#[test]
fn what_lies_ready_is_taken_back_or_only_thought_is_not_done() {
    closes("The heater's fuel filter is on order.", &[]);
    closes("Washboards: the foam's on the bench.", &[]);
    closes("I changed the clip on the tether. No I haven't, it's in my pocket.", &[]);
    closes("Nothing's been done about the flares.", &[]);
    closes("## To do\n\n- stern gland, repack (greased flax)", &[]);
}

#[test]
fn dates_hang_on_their_gear_and_may_come_too_early() {
    let said = note("The liferaft's card says next service November 2026 and I'm not home till March 2027.");
    let (gear, due, _) = said.dues.first().expect("a date");
    assert_eq!(gear.as_deref(), Some("liferaft"));
    assert_eq!(
        (due.from.to_string(), due.until.to_string()),
        ("2026-11-01".to_owned(), "2026-11-30".to_owned())
    );
    assert!(super::due::said_too_early(due));
    assert_eq!(said.passage.back.map(|d| d.to_string()).as_deref(), Some("2027-03-31"));
}

#[test]
fn a_reading_that_the_speaker_calls_outside_its_limit_is_an_item() {
    raises("The port cap shroud reads 12 %, so that is under the band.", &["port cap shroud out_of_limits"]);
    raises("The port cap shroud reads 12 %, not under the band.", &[]);
    raises("The house bank was at 12.9 volts, well over the limit.", &[]);
}

#[test]
fn a_plain_statement_is_a_remark_and_a_wish_or_a_fault_is_none() {
    let gear = |words| note(words).remarks.into_iter().map(|r| r.gear).collect::<Vec<_>>();
    assert_eq!(gear("Two impellers lie in the drawer."), ["impeller"]);
    assert_eq!(gear("I must get two impellers."), Vec::<String>::new());
    assert_eq!(gear("The impeller is still missing."), Vec::<String>::new());
    assert_eq!(gear("The impeller has split."), Vec::<String>::new());
}

#[test]
fn a_matter_is_called_by_what_is_wrong() {
    let item = &note("Half an hour and the heater went out. So the heater is a fail.").items[0];
    assert!(item.about.starts_with("heater cuts out, stops: "), "{}", item.about);
}

#[test]
fn a_defect_noticed_is_a_task() {
    raises("The gooseneck is worn.", &["gooseneck task"]);
    raises("The vang squeaks.", &["vang task"]);
    raises("Furler drum grinds. The main halyard creaks.", &["furler task"]);
}

#[test]
fn a_defect_mended_or_told_of_another_time_is_none() {
    raises("The rudder quadrant was loose. Tightened it and all is well.", &[]);
    raises("No drips at the stern gland. If the windlass is stuck we row.", &[]);
    raises("The anchor was dead ahead and the sheet leads slack in the lulls.", &[]);
}

#[test]
fn what_the_lexicon_has_no_name_for_is_a_task_too_and_no_word_on_other_gear() {
    raises("The heater is a pass. I must buy a new lanyard.", &["- task"]);
    closes("The stern light is dead. Knife lanyard made.", &[]);
}

#[test]
fn a_title_over_jobs_is_no_praise_and_no_statement() {
    raises(
        "Inverter works. Outstanding: heads pump, second anchor.",
        &["heads pump task", "second anchor task"],
    );
}

/// The years of the dues of a note, with their gear.
#[track_caller]
fn runs_out(words: &str, expected: &[&str]) {
    let note = note(words);
    let found: Vec<String> = note
        .dues
        .iter()
        .map(|(gear, due, _)| format!("{} {}", gear.as_deref().unwrap_or("-"), due.until.format("%Y-%m")))
        .collect();
    assert_eq!(found, expected, "{words}");
}

#[test]
fn a_year_alone_is_when_gear_runs_out_where_such_dates_are_listed() {
    let table = "## What expires\n\n| What | Stamped | |\n|---|---|---|\n| EPIRB battery | Nov 2027 | ok |\n| Extinguisher, \
                 aft | 2024 | ouch |\n| Gas hose | 2031 | ok |";
    runs_out(table, &["EPIRB 2027-11", "fire extinguisher 2024-12", "gas 2031-12"]);
    assert_eq!(note(table).trials.len(), 0, "a date that was looked at is no trial");
    runs_out(
        "Expiry:\n- smoke signals 2025\n- hand flares May 2026",
        &["flares 2026-05", "smoke signals 2025-12"],
    );
    runs_out("Flares 04/26, extinguishers 2025.", &["flares 2026-04", "fire extinguisher 2025-12"]);
    runs_out("I bought four new parachute flares, expiry 2031.", &["flares 2031-12"]);
    runs_out(
        "The CO alarm has been replaced with one that goes to 2033.",
        &["carbon monoxide alarm 2033-12"],
    );
    runs_out("The hand-held reds are good until May 2029.", &["flares 2029-05"]);
    runs_out("Bought the extinguisher in Dover, 2024.", &[]);
    runs_out("## Bought\n\n- extinguisher 2024", &[]);
}
