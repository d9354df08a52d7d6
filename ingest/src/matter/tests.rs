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
        notes[1].1.accounts.clear();
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

fn note(words: &str) -> Note {
    notes(&[words]).remove(0).1
}

/// A note of one item, which is marked unsure.
fn unsure_item(words: &str) -> Note {
    let mut said = note(words);
    assert_eq!(said.items.len(), 1, "{words}");
    said.items[0].unsure = true;
    said
}

fn folded(notes: &[(&str, Note)], rulings: &[Ruling]) -> Ledger {
    let noted: Vec<Noted<'_>> = notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
    let on = NaiveDate::from_ymd_opt(2026, 4, 1).expect("a date");
    fold(&noted, rulings, &Passage::default(), on)
}

#[test]
fn an_unsure_item_stands_in_doubt_until_a_sure_one_or_the_skipper_bears_it_out() {
    let first = ("a", unsure_item("So the furler's a fail."));
    let alone = folded(std::slice::from_ref(&first), &[]);
    assert!(alone.open[0].is_doubtful());
    let again = folded(&[first.clone(), ("b", note("Once more the furler's a fail."))], &[]);
    assert_eq!(again.open.len(), 1);
    assert!(!again.open[0].is_doubtful());
    let unsure_again = folded(&[first.clone(), ("b", unsure_item("Once more the furler's a fail."))], &[]);
    assert!(unsure_again.open[0].is_doubtful());
    let confirmed = Ruling {
        matter: alone.open[0].name.clone(),
        at: DateTime::parse_from_rfc3339("2026-03-20T10:00:00Z").expect("a time"),
        known: 1,
        says: Says::Confirm,
    };
    let borne_out = folded(std::slice::from_ref(&first), &[confirmed]);
    assert_eq!(borne_out.open.len(), 1);
    assert!(!borne_out.open[0].is_doubtful() && borne_out.closed.is_empty());
}

/// An account of the furler that is as likely as said to be well, by words of the matter.
fn account(well: u8) -> crate::Account {
    let mut likely = [0; 8];
    (likely[0], likely[7]) = (well, 100 - well);
    crate::Account {
        gear: "furler".to_owned(),
        others: Vec::new(),
        likely,
        against: false,
        left: false,
        at: None,
        span: crate::Span::new(0, 54),
        quote: "The furler that jammed on its line rolled in like silk".to_owned(),
    }
}

#[test]
fn an_account_closes_leaves_in_doubt_or_says_nothing_by_how_likely_it_is() {
    let by = |well: u8| {
        let mut later = note("A quiet day.");
        later.accounts = vec![account(well)];
        folded(&[("a", note("The furler jammed on its line, a fail.")), ("b", later)], &[])
    };
    let sure = by(90);
    assert_eq!(sure.closed.first().and_then(|m| m.closed.as_ref()).map(|c| c.by.as_str()), Some("judged"));
    assert!(by(0).open.first().is_some_and(|m| !m.is_doubtful()));
    let doubtful =
        (1..90).map(by).find_map(|ledger| ledger.open.into_iter().find(|m| m.maybe_over.is_some()));
    let doubtful = doubtful.expect("somewhere between it is left in doubt");
    assert_eq!(doubtful.maybe_over.as_ref().map(|e| e.source.as_str()), Some("b"));
    // A later note that says again that it fails takes the doubt away.
    let mut later = note("A quiet day.");
    later.accounts = (1..90)
        .map(account)
        .filter(|a| by(a.likely[0]).open.iter().any(super::Matter::is_doubtful))
        .take(1)
        .collect();
    let again = [
        ("a", note("The furler jammed on its line, a fail.")),
        ("b", later),
        ("c", note("The furler's a fail.")),
    ];
    assert!(folded(&again, &[]).open.iter().all(|m| !m.is_doubtful()));
}

#[test]
fn an_account_renews_no_date_and_proves_nothing_by_work_alone() {
    let mut later = note("A quiet day.");
    later.accounts = vec![crate::Account {
        quote: "The EPIRB passed its self test".to_owned(),
        gear: "EPIRB".to_owned(),
        ..account(95)
    }];
    let dated = note("The EPIRB battery expires July 2026, we are away until October.");
    let ledger = folded(&[("a", dated), ("b", later.clone())], &[]);
    assert_eq!(names(&ledger.open), ["EPIRB overdue"]);
    assert!(!ledger.open[0].is_doubtful());
    let mut worked = later;
    worked.accounts[0] = account(0);
    (worked.accounts[0].likely[1], worked.accounts[0].likely[7]) = (95, 5);
    let untried = note("The furler is new and I have not tried it.");
    let ledger = folded(&[("a", untried), ("b", worked)], &[]);
    assert_eq!(names(&ledger.open), ["furler unproven"]);
}
