//! Matters over several notes: opened, borne out, closed, opened again.

use chrono::{DateTime, NaiveDate};

use super::{Ledger, Noted, Passage, Ruling, Says, fold};
use crate::{Hints, Note, read};

/// Reads notes made a week apart.
fn notes(words: &[&str]) -> Vec<(String, Note)> {
    words
        .iter()
        .enumerate()
        .map(|(i, words)| {
            let name = format!("2026-03-{:02}.txt", 1 + 7 * i);
            let text = format!("{} March 2026, 10:00 UTC\n\n{words}\n", 1 + 7 * i);
            let note = read(text.as_bytes(), &Hints { name: name.clone(), ..Hints::default() });
            (name, note)
        })
        .collect()
}

fn ledger(words: &[&str], rulings: &[Ruling]) -> Ledger {
    let notes = notes(words);
    let noted: Vec<Noted<'_>> = notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
    fold(&noted, rulings, &Passage::default(), NaiveDate::from_ymd_opt(2026, 4, 1).expect("a date"))
}

fn names(matters: &[super::Matter]) -> Vec<String> {
    matters.iter().map(|m| format!("{} {}", m.gear.as_deref().unwrap_or("-"), m.why[0])).collect()
}

#[test]
fn a_later_pass_closes_a_failure_and_names_its_words() {
    let ledger = ledger(&["So the furler's a fail.", "Rolled it in twice, the furler is a pass."], &[]);
    assert!(ledger.open.is_empty());
    assert_eq!(names(&ledger.closed), ["furler failed_trial"]);
    let closed = ledger.closed[0].closed.as_ref().expect("closed");
    assert_eq!(closed.by, "trial");
    assert!(closed.quote.contains("the furler is a pass"));
}

#[test]
fn a_trial_that_was_only_judged_mends_a_fault_in_words_of_the_same_matter() {
    let closed = |first: &str, later: &str| {
        let mut notes = notes(&[first, later]);
        for trial in &mut notes[1].1.trials {
            (trial.judged, trial.quote) = (true, later.to_owned());
        }
        notes[1].1.remarks.clear();
        assert!(notes[1].1.trials.iter().any(|t| t.outcome == crate::Outcome::Pass), "{later}");
        let noted: Vec<Noted<'_>> =
            notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
        let on = NaiveDate::from_ymd_opt(2026, 4, 1).expect("a date");
        names(&fold(&noted, &[], &Passage::default(), on).closed)
    };
    let jammed = "The furler jammed with its drum overfilled with line, a fail.";
    assert_eq!(closed(jammed, "The furler is a pass."), [""; 0]);
    assert_eq!(
        closed(jammed, "The drum took all of its line, so the furler is a pass."),
        ["furler failed_trial"]
    );
    // That it was tried is enough for what never was.
    assert_eq!(
        closed("I have never once had the sea anchor out.", "The sea anchor is a pass."),
        ["sea anchor unproven"]
    );
}

#[test]
fn a_pass_of_other_gear_closes_nothing() {
    let ledger = ledger(&["So the furler's a fail.", "The windlass is a pass."], &[]);
    assert_eq!(names(&ledger.open), ["furler failed_trial"]);
}

#[test]
fn what_is_repaired_and_not_yet_tried_stays_open() {
    let ledger = ledger(&["So the furler's a fail.", "The furler has a new line, not tried yet."], &[]);
    assert_eq!(names(&ledger.open), ["furler unproven"]);
    assert_eq!(ledger.open[0].evidence.len(), 2);
}

#[test]
fn a_matter_that_comes_back_stands_in_both_lists() {
    let words = [
        "So the forehatch's a fail, it leaks.",
        "Hosed it, the forehatch is a pass.",
        "The forehatch leaks again, a fail.",
    ];
    let ledger = ledger(&words, &[]);
    assert_eq!(names(&ledger.open), ["forehatch failed_trial"]);
    assert_eq!(names(&ledger.closed), ["forehatch failed_trial"]);
}

#[test]
fn a_reading_outside_the_boats_own_limit_opens_a_matter() {
    let words = [
        "My rule is the house bank never goes below 12.2 volts.",
        "The house bank was at 11.9 volts this morning.",
    ];
    assert_eq!(names(&ledger(&words, &[]).open), ["house bank out_of_limits"]);
    let inside = [
        "My rule is the house bank never goes below 12.2 volts.",
        "The house bank was at 12.6 volts this morning.",
    ];
    assert!(ledger(&inside, &[]).open.is_empty());
}

#[test]
fn an_engine_cooled_by_what_was_done_to_its_cooling_is_not_open_and_one_throttled_back_is() {
    let cleaned = "Coolant must stay under 90. It got up to 97, so I shut down. Cleaned the raw water strainer. Coolant 82 \
                   after half an hour.";
    assert_eq!(names(&ledger(&[cleaned], &[]).open), [""; 0]);
    let eased = "Coolant must stay under 90. It got up to 97, so I eased the throttle. Coolant 82 after half an hour.";
    assert_eq!(names(&ledger(&[eased], &[]).open), ["engine out_of_limits"]);
}

#[test]
fn a_date_before_the_return_is_overdue_until_it_is_renewed() {
    let words = [
        "The flares say August 2026 and I'm not home till October 2026.",
        "The flares came, good until 2030.",
    ];
    assert_eq!(names(&ledger(&words[..1], &[]).open), ["flares overdue"]);
    let renewed = ledger(&words, &[]);
    assert!(renewed.open.is_empty());
    assert_eq!(names(&renewed.closed), ["flares overdue"]);
}

#[test]
fn a_plain_statement_of_the_same_matter_closes_a_task_and_no_other() {
    let words = ["I must get two spare impellers.", "The two impellers lie in the drawer."];
    assert_eq!(names(&ledger(&words, &[]).closed), ["impeller task"]);
    let other = ["I must get two spare impellers.", "The impeller went round all day."];
    assert_eq!(names(&ledger(&other, &[]).open), ["impeller task"]);
    let still = ["I must get two spare impellers.", "Still no sign of the two impellers."];
    assert_eq!(names(&ledger(&still, &[]).open), ["impeller task"]);
}

#[test]
fn what_was_wound_up_in_the_same_note_is_inside_its_limit() {
    let words = [
        "The band for the cap shrouds is 15 to 20 %. Port cap 12 %. Two turns, and now the port cap is at 16 %.",
    ];
    assert!(ledger(&words, &[]).open.is_empty());
}

#[test]
fn the_skippers_word_closes_and_reopens() {
    let words = ["So the furler's a fail."];
    let name = ledger(&words, &[]).open[0].name.clone();
    let ruling = |hour: u32, says| Ruling {
        matter: name.clone(),
        at: DateTime::parse_from_rfc3339(&format!("2026-03-20T{hour:02}:00:00Z")).expect("a time"),
        known: usize::MAX,
        says,
    };
    let closed = ruling(10, Says::Close { because: "rigger did it".to_owned() });
    assert!(ledger(&words, std::slice::from_ref(&closed)).open.is_empty());
    let reopened = ruling(11, Says::Reopen { because: String::new() });
    assert_eq!(names(&ledger(&words, &[reopened, closed]).open), ["furler failed_trial"]);
}

#[test]
fn a_task_said_again_without_words_of_its_own_is_no_second_one() {
    let ledger =
        ledger(&["I must remember to buy a spare impeller.", "The impeller, it's on the list."], &[]);
    assert_eq!(names(&ledger.open), ["impeller task"]);
}
