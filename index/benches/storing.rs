//! How many readings a second go into one file through sqlx: tables, rows of a thousand to a statement, then the
//! indexes. Wanted: 300,000 a second. Measured figures: `BENCHES.md`.

use chrono::{DateTime, TimeDelta};
use divan::counter::ItemsCount;
use leadsman_ingest::{Basis, Moment, Reading, Reason, Span, Stance};

const ROWS: usize = 300_000;

fn main() {
    divan::main();
}

/// Readings like those of notes: one in three about a gear, each with the reason for its quantity.
fn readings(reasons: bool) -> Vec<Reading> {
    let start = DateTime::parse_from_rfc3339("2026-03-14T10:05:00+11:00").expect("a time");
    let quantities =
        [("true_wind_speed", "kn", "knots"), ("voltage", "V", "volts"), ("heel", "deg", "degrees")];
    (0..ROWS)
        .map(|n| {
            let (quantity, unit, said) = quantities[n % 3];
            let value = (n % 400) as f64 / 10.0;
            let span = Span::new(n * 20, n * 20 + 13);
            Reading {
                quantity: quantity.to_owned(),
                low: Some(value),
                high: Some(value),
                unit: unit.to_owned(),
                unit_said: said.to_owned(),
                stance: Stance::Observed,
                gear: (n % 3 == 1).then(|| "house battery".to_owned()),
                at: Some(Moment { at: start + TimeDelta::seconds(n as i64), basis: Basis::Inferred }),
                span,
                quote: format!("{value} {said}"),
                doubts: Vec::new(),
                because: if reasons {
                    vec![Reason { of: "quantity".to_owned(), what: quantity.to_owned(), span }]
                } else {
                    Vec::new()
                },
            }
        })
        .collect()
}

/// `reasons`: with one word to explain each reading by, as JSON, or without.
#[divan::bench(args = [false, true], sample_count = 5, sample_size = 1)]
fn store(bencher: divan::Bencher, reasons: bool) {
    let readings = readings(reasons);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    bencher
        .counter(ItemsCount::new(ROWS))
        .with_inputs(|| tempfile::tempdir().expect("a folder"))
        .bench_local_refs(|folder| {
            let path = folder.path().join("bench.db");
            runtime.block_on(leadsman_index::bench::store_readings(&path, &readings)).expect("stored");
        });
}
