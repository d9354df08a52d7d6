//! Trials as people tell of them: each case is a note and the trials that the rules find in it.

use crate::talk::Talk;
use crate::topic::thoughts;
use crate::{Hints, read};

/// Reads a note's words and lists its trials as `gear outcome`, in the order of their places.
fn trials(words: &str) -> Vec<String> {
    let text = format!("Saturday 14 March 2026, 10:05 UTC+1\n\n{words}\n");
    let note = read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() });
    let talk = Talk::new(&text, &note.utterances, &[]);
    let thoughts = thoughts(&talk);
    let mut trials = super::trials(&talk, &thoughts, &super::verdicts(&talk, &thoughts));
    trials.sort_by_key(|t| t.span);
    trials.iter().map(|t| format!("{} {}", t.gear, t.outcome)).collect()
}

#[track_caller]
fn check(words: &str, expected: &[&str]) {
    assert_eq!(trials(words), expected, "{words}");
}

#[test]
fn a_verdict_by_name_goes_to_the_gear_beside_it() {
    check("So the emergency tiller's a fail.", &["emergency tiller fail"]);
    check("That's a tick for the windlass.", &["windlass pass"]);
    check("Half marks for the lifting tackle.", &["lifting tackle partial"]);
    check(
        "The series drogue passes. The heater didn't, that's a fail.",
        &["series drogue pass", "heater fail"],
    );
}

#[test]
fn a_verdict_sentences_later_goes_to_the_topic() {
    check(
        "The wind vane. I bore away and let it have her. An hour and I never touched it. So that's a pass.",
        &["wind vane pass"],
    );
    check(
        "Heater. I lit it before I dropped the mooring. Twenty minutes and it coughed. Fail again.",
        &["heater fail"],
    );
}

#[test]
fn the_heavier_verdict_stands_and_then_the_later() {
    check(
        "The outboard coughed and died. Then it ran for an hour, so the outboard is a pass.",
        &["outboard pass"],
    );
    check("The radar works. No it isn't, the radar is a fail.", &["radar fail"]);
}

#[test]
fn what_happened_is_a_verdict_too() {
    check("Hosed the forehatch for ten minutes. Not a drop inside.", &["forehatch pass"]);
    check("The furler jammed half in.", &["furler fail"]);
    check("The anchor never dragged.", &["anchor pass"]);
}

#[test]
fn wishes_rules_and_other_peoples_boats_are_no_trials() {
    check("I hope the heater works.", &[]);
    check("If the windlass jams I will pull it up by hand.", &[]);
    check("My cousin's outboard died off the point.", &[]);
    check("Last year the furler jammed.", &[]);
    check("Does the radar work?", &[]);
}

#[test]
fn the_note_may_leave_it_open() {
    check(
        "I called three times on the HF radio. Did they hear me? I couldn't tell you.",
        &["HF radio unclear"],
    );
}

#[test]
fn both_means_the_last_two() {
    check("Radar on, the AIS had a ferry at six miles. Both doing their job.", &["radar pass", "AIS pass"]);
}

#[test]
fn rows_of_a_table_of_trials_are_trials() {
    let table = "# Tests, 14 March 2026\n\n| Test | Result | Remark |\n| --- | --- | --- |\n\
        | Windlass, 20 m up | 85 A | as specified |\n| Steaming light | dark | not OK |\n\
        | Spinnaker sock | up in 4 min | ok |\n| Sea anchor | - | to be done |\n";
    let note = read(table.as_bytes(), &Hints { name: "tests.md".to_owned(), ..Hints::default() });
    let got: Vec<String> = note.trials.iter().map(|t| format!("{} {}", t.gear, t.outcome)).collect();
    assert_eq!(got, ["windlass pass", "steaming light fail", "spinnaker pass"]);
}

#[test]
fn both_of_two_things_in_one_sentence_have_the_verdict() {
    check("So the tether and the jackstays both pass.", &["tether pass", "jackstays pass"]);
}

#[test]
fn gear_is_judged_by_what_gear_of_its_kind_does() {
    check("The bilge pump cleared the bucket in nine seconds.", &["bilge pump pass"]);
    check("Anchor walked across the bay at fifteen hundred astern.", &["anchor fail"]);
    check("I walked to the windlass.", &[]);
    check("The dinghy held its air for three days.", &["dinghy pass"]);
    check("New jackstays on, not run since.", &[]);
}

#[test]
fn a_name_and_its_verdict_may_be_parted_by_a_colon_alone() {
    check("Radar: pass\nBilge pump: fail\n", &["radar pass", "bilge pump fail"]);
    check("Tested: windlass (good), bilge pump (dead).", &["windlass pass", "bilge pump fail"]);
}

#[test]
fn one_verdict_is_on_all_that_stand_beside_each_other() {
    check("Windlass, heater and radar all good.", &["windlass pass", "heater pass", "radar pass"]);
    check("Radar and AIS both dead.", &["radar fail", "AIS fail"]);
    check("Neither the heater nor the radar would work.", &["heater fail", "radar fail"]);
    check("The windlass, then lunch, and the heater is good.", &["heater pass"]);
}

#[test]
fn an_exception_fared_otherwise_than_the_rest() {
    check("All fine bar the stern light.", &["stern light fail"]);
    check("All the instruments are fine except for the depth sounder.", &["depth sounder fail"]);
    check("Everything failed but the windlass.", &["windlass pass"]);
    check("Should it all be fine bar the stern light, we leave.", &[]);
}

#[test]
fn a_question_and_its_answer_tell_of_a_trial() {
    check("Did the windlass work? It did.", &["windlass pass"]);
    check("- Any luck with the heater?\n- None.", &["heater fail"]);
    check("- Did the forehatch leak?\n- No.", &["forehatch pass"]);
    check("- What about the autopilot?\n- Jammed twice.", &["autopilot fail"]);
    check("- Will the windlass work?\n- Yes.", &[]);
    check("- Did you buy the windlass?\n- Yes.", &[]);
}

#[test]
fn marks_in_a_table_of_checks_are_verdicts() {
    let table =
        "Item | Y/N | Remarks\n--- | --- | ---\nWindlass | Y | 50 m\nAnchor light | N | \nRadar | Y |";
    check(&format!("# Checks\n\n{table}"), &["windlass pass", "anchor light fail", "radar pass"]);
    // What is aboard is ticked off as well.
    check(&format!("# Stores\n\n{table}"), &[]);
    check(&format!("# Checks\n\n{}", table.replace("Y/N", "Aboard")), &[]);
}
