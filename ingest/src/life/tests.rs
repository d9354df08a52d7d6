//! The life of gear as people tell it: each case is a note and what it tells.

use crate::{EventKind, Hints, Note, read};

fn note(words: &str) -> Note {
    let text = format!("Saturday 14 March 2026, 10:05 UTC+1\n\n{words}\n");
    read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() })
}

#[track_caller]
fn tells(words: &str, expected: &[&str]) {
    let note = note(words);
    let mut told: Vec<String> = Vec::new();
    for event in &note.events {
        let mut line = format!("{} {}", event.gear, event.what);
        for reading in &event.readings {
            let reading = &note.readings[*reading];
            line += &format!(" {} {}", reading.quantity, reading.low.or(reading.high).unwrap_or(f64::NAN));
        }
        if let Some(on) = event.on {
            line += &format!(" {on}");
        }
        told.push(line);
    }
    assert_eq!(told, expected, "{words}");
}

#[test]
fn what_was_done_with_gear_is_told() {
    tells("Fitted the new bilge alarm this morning.", &["bilge alarm replaced"]);
    tells("The heater was installed in May 2025.", &["heater fitted 2025-05-01"]);
    tells("Impeller: two blades missing. New one fitted, cooling is in order again.", &["impeller replaced"]);
    tells("The genoa has been repaired by the loft.", &["genoa repaired"]);
    tells("Sold the inflatable dinghy on Thursday.", &["dinghy taken_off"]);
    tells("I bought a series drogue.", &["series drogue bought"]);
}

#[test]
fn plans_questions_and_spares_are_none() {
    tells("The forehatch must be replaced.", &[]);
    tells("The heater wants to be fixed.", &[]);
    tells("Bought a spare impeller.", &[]);
    tells("The stern gland hasn't been repacked or renewed yet.", &[]);
}

#[test]
fn a_trial_to_come_is_announced() {
    tells("Tonight we'll see what the heater draws.", &["heater announced"]);
    tells("Tomorrow I'll try the emergency tiller again.", &["emergency tiller announced"]);
    tells("Going to stream the series drogue on Saturday.", &["series drogue announced"]);
    tells("He says he'll try it tomorrow.", &[]);
    tells("The heater drew two amps all night.", &[]);
}

#[test]
fn triggers_call_for_gear() {
    tells("At 40 knots true the sea anchor goes out.", &["sea anchor needed true_wind_speed 40"]);
    tells(
        "The storm jib never over forty-five knots apparent.",
        &["storm jib needed apparent_wind_speed 45"],
    );
    tells("Wind today was 22 knots and the genoa was fine.", &[]);
}

#[test]
fn trials_know_their_conditions() {
    let note = note(
        "True wind 18 knots, sea about 1.5 metres. In the dark, on my own. Second reef in three minutes, so the second \
         reef is a pass.",
    );
    let trial = note.trials.iter().find(|t| t.gear == "second reef").expect("a trial");
    let mut conditions: Vec<&str> =
        trial.conditions.iter().map(|&r| note.readings[r].quantity.as_str()).collect();
    conditions.sort_unstable();
    assert!(conditions.contains(&"true_wind_speed") && conditions.contains(&"wave_height"), "{conditions:?}");
    assert_eq!((trial.night, trial.hands), (Some(true), Some(1)));
}

#[test]
fn another_times_conditions_are_not_a_trials() {
    let note = note(
        "They give 35 knots for Monday. Last year we had 40 knots here. The second reef went in, pass. I'd not do it in \
         the dark.",
    );
    let trial = note.trials.iter().find(|t| t.gear == "second reef").expect("a trial");
    assert_eq!(trial.conditions, Vec::<usize>::new());
    assert_eq!(trial.night, None);
}

#[test]
fn what_was_tried_alongside_or_on_another_day_was_not_tried_in_this_wind() {
    let note = note(
        "True wind 29 knots now and a sea of three metres. The second reef went in, pass. On Thursday the windlass lifted \
         thirty metres without tripping, a pass. Alongside the jetty the forehatch took the hose for ten minutes, not a \
         drop.",
    );
    let conditions = |gear: &str| {
        let trial = note.trials.iter().find(|t| t.gear == gear).expect("a trial");
        let all = trial.conditions.iter().map(|&r| note.readings[r].quantity.as_str());
        all.filter(|quantity| quantity.contains("wind")).count()
    };
    assert_eq!(["second reef", "windlass", "forehatch"].map(conditions), [1, 0, 0]);
}

#[test]
fn weather_of_one_day_of_a_letter_is_none_of_another() {
    let note = note(
        "On Wednesday I lay to the big anchor in 36 knots and a steep sea. On Friday there was none of that. I hoisted \
         the storm jib off the quay and it set flat, so the storm jib is a pass. Yesterday it blew 24 knots and the \
         second reef went in, pass.",
    );
    let winds = |gear: &str| {
        let trial = note.trials.iter().find(|t| t.gear == gear).expect("a trial");
        let winds =
            trial.conditions.iter().map(|&r| &note.readings[r]).filter(|r| r.quantity == "wind_speed");
        winds.filter_map(|r| r.low).collect::<Vec<_>>()
    };
    assert_eq!(winds("storm jib"), Vec::<f64>::new());
    assert_eq!(winds("second reef"), [24.0]);
}

#[test]
fn every_kind_has_a_name_that_leads_back() {
    for kind in EventKind::ALL {
        assert_eq!(EventKind::from_name(kind.name()), Some(*kind));
    }
}

#[test]
fn a_new_part_is_a_repair_and_wishes_for_one_are_none() {
    tells("The autopilot has a new plug.", &["autopilot repaired"]);
    tells("The saloon's got a new vent.", &["vent replaced"]);
    tells("Second reef went in without a hitch.", &[]);
    tells("Parachute flares: 4, all stamped 07/2025. New ones, then.", &[]);
    tells("The sheets are too short. Make new ones.", &[]);
}

#[test]
fn an_oil_change_is_a_service_and_makes_no_other_engine() {
    tells("The engine has new oil and a new filter, 1423 hours.", &[]);
    tells("Renewed the oil in the engine on Tuesday.", &["engine oil replaced"]);
    tells("The engine was rebuilt in May 2025.", &["engine repaired 2025-05-01"]);
}

#[test]
fn a_trigger_is_no_condition_of_a_trial() {
    let note = note(
        "At 40 knots the drogue goes over. The drogue held her stern to the seas, so the drogue is a pass.",
    );
    let trial = note.trials.iter().find(|t| t.gear == "series drogue").expect("a trial");
    assert_eq!(trial.conditions, Vec::<usize>::new());
}
