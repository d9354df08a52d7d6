//! Inputs from made-up homes.

use leadsman_index::{Decision, Passage, SourceId, StoredReading};
use leadsman_ingest::{Basis, Moment, Reading, Span, Stance};

use super::Notes;
use super::picked::from;
use crate::reckon::check::near;
use crate::reckon::unit::{Rate, Revs, Share, Speed, Temperature};
use crate::reckon::{budget, fuel, heat, rig};

/// A note as its readings: quantity, value, gear, place.
fn note(date: &str, readings: &[(&str, f64, &str, usize)]) -> Vec<StoredReading> {
    let at = format!("{date}T12:00:00+00:00").parse().expect("an instant");
    readings
        .iter()
        .enumerate()
        .map(|(n, (quantity, value, gear, start))| StoredReading {
            source: SourceId::of(date.as_bytes()),
            name: format!("{date}.txt"),
            n,
            reading: Reading {
                quantity: (*quantity).to_string(),
                low: Some(*value),
                high: Some(*value),
                unit: String::new(),
                unit_said: String::new(),
                stance: Stance::Observed,
                gear: (!gear.is_empty()).then(|| (*gear).to_string()),
                at: Some(Moment { at, basis: Basis::Stated }),
                span: Span::new(*start, start + 10),
                quote: String::new(),
                doubts: Vec::new(),
                because: Vec::new(),
            },
        })
        .collect()
}

fn stance(mut stored: Vec<StoredReading>, stance: Stance) -> Vec<StoredReading> {
    stored.iter_mut().for_each(|stored| stored.reading.stance = stance);
    stored
}

fn cold_notes() -> Notes {
    let passage = Passage {
        distance_nmi: Some(900.0),
        crew: Some(2),
        coldest_air_degc: Some(-8.0),
        ..Passage::default()
    };
    let mut all = Vec::new();
    for (date, inside, outside, rate) in [
        ("2026-09-12", 16.0, 8.0, 0.10),
        ("2026-09-20", 17.0, 5.0, 0.15),
        ("2026-09-27", 16.0, 2.0, 0.175),
        ("2026-10-03", 15.0, 5.0, 0.125),
    ] {
        let readings = [
            ("cabin_temperature", inside, "cabin", 100),
            ("air_temperature", outside, "", 150),
            ("fuel_rate", rate, "heater", 200),
            ("current", 1.4, "heater", 220),
            ("boat_speed", 5.0, "", 400),
        ];
        all.extend(note(date, &readings));
    }
    all.extend(note("2026-10-04", &[("current", 8.5, "heater", 10), ("fuel_rate", 0.9, "heater", 50)]));
    let sizes = note("2026-10-05", &[("fuel_rate", 0.26, "heater", 10), ("fuel_volume", 100.0, "fuel", 60)]);
    all.extend(stance(sizes, Stance::Spec));
    Notes::new(all, [&Decision::Passage(passage)])
}

#[test]
fn heat_comes_from_the_readings_that_stand_together() {
    let mut inputs = heat::Inputs::default();
    let taken = cold_notes().heat(&mut inputs);
    // The rate of 4 October has no temperatures beside it, and the 8.5 A are the start-up's.
    assert_eq!(inputs.held.len(), 4);
    near(inputs.held[2].difference.in_k(), 14.0, 1e-9);
    assert_eq!(inputs.draw.len(), 4);
    assert_eq!(inputs.most, Some(Rate::l_h(0.26)));
    assert_eq!(inputs.inside, Some(Temperature::deg_c(16.0)));
    let held = taken.iter().find(|taken| taken.input == "held").expect("taken");
    assert_eq!(held.from, "4 readings, 12 Sep to 3 Oct 2026");
    let coldest = taken.iter().find(|taken| taken.input == "coldest").expect("taken");
    assert_eq!((coldest.value.as_str(), coldest.from.as_str()), ("−8 °C", "the passage as set"));
}

#[test]
fn what_is_given_comes_before_the_notes() {
    let mut inputs = heat::Inputs { coldest: Some(Temperature::deg_c(0.0)), ..heat::Inputs::default() };
    let taken = cold_notes().heat(&mut inputs);
    assert_eq!(inputs.coldest, Some(Temperature::deg_c(0.0)));
    assert!(taken.iter().all(|taken| taken.input != "coldest"));
}

#[test]
fn doubts_open_bounds_and_other_stances_are_left_out() {
    let mut all = note("2026-09-12", &[("cabin_temperature", 16.0, "", 0), ("air_temperature", 6.0, "", 20)]);
    let mut doubtful = note("2026-09-12", &[("fuel_rate", 0.1, "heater", 40)]);
    doubtful[0].reading.doubts.push("two numbers run together".into());
    let mut open = note("2026-09-12", &[("fuel_rate", 0.1, "heater", 60)]);
    open[0].reading.high = None;
    let planned = stance(note("2026-09-12", &[("fuel_rate", 0.1, "heater", 80)]), Stance::Planned);
    all.extend(doubtful.into_iter().chain(open).chain(planned));
    let mut inputs = heat::Inputs::default();
    let taken = Notes::new(all, []).heat(&mut inputs);
    assert!(inputs.held.is_empty() && taken.is_empty(), "{taken:?}");
}

#[test]
fn a_rate_is_worked_out_from_a_volume_and_a_time_said_together() {
    let readings = [
        ("cabin_temperature", 18.0, "", 0),
        ("air_temperature", 6.0, "", 20),
        ("duration", 7_200.0, "heater", 40),
        ("fuel_volume", 0.3, "heater", 80),
    ];
    let mut inputs = heat::Inputs::default();
    Notes::new(note("2026-09-12", &readings), []).heat(&mut inputs);
    near(inputs.held[0].rate.in_l_h(), 0.15, 1e-12);
}

#[test]
fn rig_compares_the_last_day_with_the_one_before() {
    let spring = [("rig_tension", 19.0, "port cap shroud", 0), ("air_temperature", 20.0, "", 30)];
    let mut all = note("2026-04-10", &spring);
    let autumn = [
        ("rig_tension", 16.0, "port cap shroud", 0),
        ("rig_tension", 17.0, "starboard cap shroud", 20),
        ("air_temperature", 8.0, "", 40),
        ("rig_tension", 11.0, "port lower shroud", 60),
    ];
    all.extend(note("2026-09-02", &autumn));
    let mut limit = stance(note("2026-03-01", &[("rig_tension", 15.0, "cap shroud", 0)]), Stance::Limit);
    limit[0].reading.high = Some(20.0);
    all.extend(limit);
    let mut inputs = rig::Inputs { gear: Some("caps".into()), ..rig::Inputs::default() };
    Notes::new(all, []).rig(&mut inputs);
    assert_eq!(inputs.now, Some(Share::percent(16.5)));
    assert_eq!(inputs.before, Some(Share::percent(19.0)));
    assert_eq!((inputs.port, inputs.starboard), (Some(Share::percent(16.0)), Some(Share::percent(17.0))));
    assert_eq!(inputs.temperature_before, Some(Temperature::deg_c(20.0)));
    assert_eq!((inputs.at_least, inputs.at_most), (Some(Share::percent(15.0)), Some(Share::percent(20.0))));
    let answer = rig::reckon(&inputs).expect("complete");
    let change = answer.figure("change since last time", "change").and_then(|figure| figure.value);
    near(change.expect("named"), -2.5, 1e-9);
}

/// A list of engine speeds, each with boat speed and fuel behind it on its line, as logs have it.
#[test]
fn lines_of_a_list_do_not_borrow_from_each_other() {
    let all = note(
        "2026-09-12",
        &[
            ("engine_speed", 1_600.0, "engine", 0),
            ("boat_speed", 4.8, "engine", 14),
            ("fuel_rate", 2.1, "fuel", 28),
            ("engine_speed", 2_000.0, "engine", 41),
            ("boat_speed", 5.9, "engine", 55),
            ("fuel_rate", 3.0, "fuel", 69),
        ],
    );
    let mut inputs = fuel::Inputs { rpm: Some(Revs::rpm(2_000.0)), ..fuel::Inputs::default() };
    Notes::new(all, []).fuel(&mut inputs);
    let burns: Vec<(f64, f64)> =
        inputs.burn.iter().map(|burn| (burn.rpm.in_rpm(), burn.rate.in_l_h())).collect();
    assert_eq!(burns, [(1_600.0, 2.1), (2_000.0, 3.0)]);
    assert_eq!(inputs.speed, Some(Speed::kn(5.9)));
}

/// A third of a litre an hour, said of fuel while the cabin is talked of, is no engine's.
#[test]
fn what_a_heater_burns_is_not_the_engine_s() {
    let all = note("2026-09-12", &[("fuel_rate", 0.3, "fuel", 0), ("fuel_rate", 2.4, "fuel", 900)]);
    let notes = Notes::new(all, []);
    assert_eq!(notes.engine_rates().values(), [2.4]);
    let said = Notes::new(note("2026-09-12", &[("fuel_rate", 0.4, "engine", 0)]), []);
    assert_eq!(said.engine_rates().values(), [0.4]);
}

/// Rows of a table are quoted from their first cell on, each further than the one before.
#[test]
fn rows_of_a_table_do_not_borrow_from_each_other() {
    let quoted = |(quantity, value, gear, start, end): (&str, f64, &str, usize, usize)| {
        let mut stored = note("2026-09-12", &[(quantity, value, gear, start)]).remove(0);
        stored.reading.span = Span::new(start, end);
        stored
    };
    let all = [
        ("engine_speed", 1_600.0, "engine", 100, 110),
        ("fuel_rate", 2.1, "fuel", 100, 116),
        ("engine_speed", 2_000.0, "engine", 124, 134),
        ("fuel_rate", 3.0, "fuel", 124, 140),
        ("engine_speed", 2_400.0, "engine", 148, 158),
        ("fuel_rate", 4.4, "fuel", 148, 164),
    ];
    let mut inputs = fuel::Inputs { rpm: Some(Revs::rpm(2_000.0)), ..fuel::Inputs::default() };
    Notes::new(all.into_iter().map(quoted).collect(), []).fuel(&mut inputs);
    let burns: Vec<(f64, f64)> =
        inputs.burn.iter().map(|burn| (burn.rpm.in_rpm(), burn.rate.in_l_h())).collect();
    assert_eq!(burns, [(1_600.0, 2.1), (2_000.0, 3.0), (2_400.0, 4.4)]);
}

/// A card is kept for the caps, and answers for either of them; another wire's does not.
#[test]
fn a_kept_card_reads_the_gauge() {
    let wire = |gear: &str, kn: f64| Decision::Wire {
        gear: gear.into(),
        breaking_load_kn: Some(kn),
        breaking_load_source: Some("rigger's certificate".into()),
        card: vec![(20.0, kn / 10.0), (30.0, kn / 5.0)],
    };
    let all = note("2026-09-02", &[("gauge_reading", 25.0, "port cap shroud", 0)]);
    let mut inputs = rig::Inputs { gear: Some("cap shroud".into()), ..rig::Inputs::default() };
    Notes::new(all, [&wire("cap shroud", 22.0), &wire("backstay", 40.0)]).rig(&mut inputs);
    assert_eq!(inputs.gauge, Some(25.0));
    let answer = rig::reckon(&inputs).expect("complete");
    let share = answer.figure("tension by gauge", "share of breaking load").and_then(|figure| figure.value);
    near(share.expect("named"), 15.0, 1e-9);
}

#[test]
fn a_budget_is_worked_from_the_notes_and_the_passage() {
    let mut inputs = budget::Inputs::default();
    let taken = cold_notes().budget(&mut inputs);
    let budget = budget::budget(&inputs).expect("what the notes give is usable");
    let heat = budget.line("heat").expect("named");
    assert!(heat.figures.iter().any(|figure| figure.name == "over the passage"), "{heat:?}");
    assert!(
        budget.short.iter().any(|short| short.what == "heat" && short.how == "short"),
        "{:?}",
        budget.short
    );
    assert!(taken.iter().any(|taken| taken.input == "diesel" && taken.value.contains("taken as full")));
}

#[test]
fn readings_are_counted_with_their_days() {
    let count = |dates: &[&str]| {
        let of_day = |date: &&str| note(date, &[("current", 1.0, "", 0)]);
        let all: Vec<StoredReading> = dates.iter().flat_map(of_day).collect();
        from(all.iter())
    };
    assert_eq!(count(&["2026-09-12"]), "1 reading, 12 Sep 2026");
    assert_eq!(count(&["2025-09-12", "2026-01-02"]), "2 readings, 12 Sep 2025 to 2 Jan 2026");
}
