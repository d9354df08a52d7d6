//! A budget on ten years of generated notes: taking what it needs from the readings, and working it out.

use chrono::{DateTime, FixedOffset, TimeDelta};
use leadsman_index::{Decision, Passage, SourceId, StoredReading};
use leadsman_ingest::{Basis, Moment, Reading, Span, Stance};
use leadsman_query::reckon::budget::{Inputs, budget};
use leadsman_query::reckon::notes::Notes;
use leadsman_query::reckon::unit::{Period, Share, Volume};

fn main() {
    divan::main();
}

/// Ten years, five notes a week, ten readings a note: a heater's evening and a day's run among them.
fn ten_years() -> Vec<StoredReading> {
    let begins: DateTime<FixedOffset> = "2016-10-01T20:00:00+00:00".parse().expect("an instant");
    let mut readings = Vec::new();
    for day in (0..3_650_i64).filter(|day| day % 7 < 5) {
        let cold = (day as f64 / 58.0).sin() * 8.0;
        let said = [
            ("cabin_temperature", 16.0, Some("cabin")),
            ("air_temperature", 6.0 + cold, None),
            ("fuel_rate", 0.02 + 0.012 * (10.0 - cold), Some("heater")),
            ("current", 1.2 + 0.02 * (day % 13) as f64, Some("heater")),
            ("boat_speed", 4.0 + 0.2 * (day % 11) as f64, None),
            ("engine_speed", 1800.0, Some("engine")),
            ("fuel_rate", 2.0 + 0.05 * (day % 7) as f64, Some("engine")),
            ("current", 30.0, Some("alternator")),
            ("water_volume", 7.0, Some("water tank")),
            ("rig_tension", 17.0, Some("port cap shroud")),
        ];
        for (n, (quantity, value, gear)) in said.into_iter().enumerate() {
            let at = Some(Moment { at: begins + TimeDelta::days(day), basis: Basis::Stated });
            let reading = Reading {
                quantity: quantity.to_string(),
                low: Some(value),
                high: Some(value),
                unit: String::new(),
                unit_said: String::new(),
                stance: Stance::Observed,
                gear: gear.map(str::to_string),
                at,
                span: Span::new(n * 40, n * 40 + 10),
                quote: String::new(),
                doubts: Vec::new(),
                because: Vec::new(),
            };
            let source = SourceId::of(&day.to_le_bytes());
            readings.push(StoredReading { source, name: format!("{day}.txt"), n, reading });
        }
    }
    readings
}

#[divan::bench]
fn budget_on_ten_years(bencher: divan::Bencher<'_, '_>) {
    let passage = Decision::Passage(Passage {
        distance_nmi: Some(1800.0),
        crew: Some(2),
        coldest_air_degc: Some(-8.0),
        ..Passage::default()
    });
    bencher.with_inputs(ten_years).bench_values(|readings| {
        let mut inputs = Inputs {
            engine_hours: Some(Period::h(1.0)),
            diesel: Some(Volume::l(300.0)),
            reserve: Some(Share::percent(20.0)),
            head: vec![Volume::l(3.0), Volume::l(3.5), Volume::l(4.0), Volume::l(5.0)],
            ..Inputs::default()
        };
        Notes::new(readings, [&passage]).budget(&mut inputs);
        let budget = budget(&inputs).expect("the generated notes are usable");
        assert!(budget.lines.iter().any(|line| line.name == "heat" && !line.figures.is_empty()));
        budget
    });
}
