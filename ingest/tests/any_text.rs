//! Properties: any text gives readings, in bytes of the text that hold their words; what is printed reads back.

use leadsman_ingest::reading::measures;
use leadsman_ingest::{Hints, read};
use proptest::prelude::*;

/// Scraps of notes, so that the chance of hitting on something that is read is high.
const SCRAPS: &[&str] = &[
    "wind",
    "apparent",
    "true",
    "knots",
    "kn",
    "SW",
    "nor'west",
    "force",
    "six",
    "twenty two",
    "1618",
    "12V8",
    "3m2",
    "2'6\"",
    "½",
    "point",
    "comma",
    "for",
    "to",
    "and a half",
    "a",
    "an hour",
    "minutes",
    "no",
    "sorry",
    "if",
    "never",
    "over",
    "under",
    "my",
    "°C",
    "F",
    "-",
    "–",
    "/",
    "%",
    "°",
    "\n",
    ". ",
    ", ",
    "0640",
    "29.88",
    "12,6",
    "1,200",
    "baro",
    "glass",
    "heel",
    "cabin",
    "outside",
    "water",
    "engine",
    "at",
    "2000",
    "oil",
    "psi",
    "|",
    "| a | b |\n|---|---|\n",
    "# ",
    "- ",
    "00:00:01.000 --> 00:00:02.000\n",
    "WEBVTT\n\n",
    "[00:01] ",
    "<v Ros>",
    "é",
    "🚤",
    "\u{202f}",
    "\u{feff}",
    "\0",
    "forecast",
    "last year",
    "would",
    "1/3",
    "05/2026",
    "$",
    "feet",
    "inches",
];

fn note() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::collection::vec(prop::sample::select(SCRAPS), 0..60).prop_map(|parts| parts.join(" ")),
        prop::collection::vec(prop::sample::select(SCRAPS), 0..60).prop_map(|parts| parts.concat()),
        "\\PC{0,200}",
        any::<String>(),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn any_text_gives_readings_within_its_bytes(text in note()) {
        let found = read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() });
        for reading in &found.readings {
            prop_assert!(reading.span.start < reading.span.end && reading.span.end <= text.len());
            prop_assert!(text.is_char_boundary(reading.span.start) && text.is_char_boundary(reading.span.end));
            prop_assert!(!reading.quote.is_empty());
            prop_assert!(reading.low.is_some() || reading.high.is_some());
            for end in [reading.low, reading.high].into_iter().flatten() {
                prop_assert!(end.is_finite());
            }
            if let (Some(low), Some(high)) = (reading.low, reading.high) {
                prop_assert!(low <= high);
            }
        }
        for measure in measures(&text) {
            prop_assert!(measure.bytes.end <= text.len() && measure.low.is_finite() && measure.high.is_finite());
        }
    }

    #[test]
    fn a_value_printed_reads_back(value in 0u32..40_000, places in 0usize..3, unit in prop::sample::select(vec!["kn", "V", "hPa", "m", "degC", "L", "%", "rpm"])) {
        let value = f64::from(value) / 10f64.powi(places as i32);
        let text = format!("it reads {value:.places$} {unit} today");
        let found = measures(&text);
        prop_assert_eq!(found.len(), 1, "{}", text);
        prop_assert!((found[0].high - value).abs() < 1e-9, "{}: {:?}", text, found[0]);
        prop_assert_eq!(&found[0].unit, unit);
    }
}
