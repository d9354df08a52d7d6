#![no_main]

use leadsman_ingest::{Hints, read};

libfuzzer_sys::fuzz_target!(|text: &str| {
    let note = read(text.as_bytes(), &Hints { name: "2026-05-09.txt".into(), ..Hints::default() });
    for reading in &note.readings {
        assert!(reading.span.start < reading.span.end && reading.span.end <= text.len());
        assert!(text.get(reading.span.start..reading.span.end).is_some());
        assert!([reading.low, reading.high].into_iter().flatten().all(f64::is_finite));
    }
});
