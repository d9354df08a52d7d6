//! Properties: any text gives readings, in bytes of the text that hold their words; what is printed reads back.

use std::sync::LazyLock;

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
    "twenty\ntwo",
    "12.\n5",
    "1\n618",
    "sixteen to\neighteen",
    "from 5.1\ndown to",
    "12\n\n00:00:03.000 --> 00:00:04.000\nknots",
    "2400\n",
    "1400",
    "06:30",
    "26 Nov",
    "the 26th",
    "2026-03-14",
    "?",
    "…",
    "—",
    "\r\n",
    "\t",
    ",",
    "x",
    "- [x] ",
    "- [ ] ",
    "* ",
    "> ",
    "| ok | 12 |\n",
    "| wind 12 kn |",
    "NOTE ",
    "0640 ",
    "if it ever",
    "at 40 knots",
    "i'll",
    "is out",
    "jobs:",
    "done:",
];

/// Every phrase of the lexicon, its signs ("*", "?", "|") as one of the texts that they stand for.
static CUES: LazyLock<Vec<String>> = LazyLock::new(|| {
    let files = [
        include_str!("../lexicon/gear.toml"),
        include_str!("../lexicon/items.toml"),
        include_str!("../lexicon/verdicts.toml"),
        include_str!("../lexicon/proofs.toml"),
        include_str!("../lexicon/stance.toml"),
        include_str!("../lexicon/faults.toml"),
        include_str!("../lexicon/grammar.toml"),
        include_str!("../lexicon/life.toml"),
        include_str!("../lexicon/units.toml"),
        include_str!("../lexicon/quantities.toml"),
        include_str!("../lexicon/zones.toml"),
        include_str!("../lexicon/heard.toml"),
    ];
    let mut out = Vec::new();
    for file in files {
        gather(&toml::from_str(file).expect("the lexicon reads"), &mut out);
    }
    out
});

fn gather(value: &toml::Value, out: &mut Vec<String>) {
    match value {
        toml::Value::String(phrase) => {
            // "never|not" as its first word and as its last.
            for last in [false, true] {
                let words = phrase.split_whitespace().map(|word| {
                    let word = word.trim_end_matches('?');
                    let mut choices = word.split('|');
                    match if last { choices.next_back() } else { choices.next() } {
                        Some("*") => "was",
                        Some("**") => "was the old",
                        Some("_") => "thing",
                        Some("#") => "12",
                        Some(word) => word,
                        None => "",
                    }
                });
                out.push(words.collect::<Vec<_>>().join(" "));
            }
        }
        toml::Value::Array(values) => values.iter().for_each(|v| gather(v, out)),
        toml::Value::Table(table) => table.iter().for_each(|(_, v)| gather(v, out)),
        _ => {}
    }
}

fn scrap() -> impl Strategy<Value = String> {
    prop_oneof![
        2 => prop::sample::select(SCRAPS).prop_map(str::to_owned),
        3 => prop::sample::select(CUES.as_slice()).prop_map(|cue: String| cue),
    ]
}

/// Scraps in the forms that notes have: talk, a transcript's cues, a log, a list, a table.
fn form() -> impl Strategy<Value = String> {
    (prop::collection::vec(prop::collection::vec(scrap(), 1..9), 1..9), 0..6usize).prop_map(
        |(lines, form)| {
            let lines = lines.into_iter().map(|line| line.join(" "));
            match form {
                0 => lines.collect::<Vec<_>>().join(" "),
                1 => {
                    let cue = |(i, line)| format!("00:{i:02}:01.000 --> 00:{i:02}:09.000\n{line}\n\n");
                    format!("WEBVTT\n\n{}", lines.enumerate().map(cue).collect::<String>())
                }
                2 => lines.enumerate().map(|(i, line)| format!("{i:02}40 {line}\n")).collect(),
                3 => lines.map(|line| format!("- {line}\n")).collect(),
                4 => {
                    let row = |line: String| format!("| {} |\n", line.replacen(' ', " | ", 3));
                    format!("| tried | how |\n|---|---|\n{}", lines.map(row).collect::<String>())
                }
                _ => lines.map(|line| format!("{line}. ")).collect(),
            }
        },
    )
}

fn note() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::collection::vec(prop::sample::select(SCRAPS), 0..60).prop_map(|parts| parts.join(" ")),
        prop::collection::vec(prop::sample::select(SCRAPS), 0..60).prop_map(|parts| parts.concat()),
        form(),
        form(),
        "\\PC{0,200}",
        any::<String>(),
    ]
}

/// As many cases as `PROPTEST_CASES` says, else enough for every run of the tests.
fn config() -> ProptestConfig {
    let many = std::env::var_os("PROPTEST_CASES").is_some();
    let config = ProptestConfig::default();
    ProptestConfig { cases: if many { config.cases } else { 400 }, ..config }
}

/// Any phrase may stand over a column of figures, and in front of a row of them.
#[test]
fn tables_with_any_head_give_a_result() {
    for heads in CUES.chunks(6) {
        let head = heads.join(" | ");
        let row = |(cue, figure): (&String, &str)| {
            format!("| {cue} |{}\n", format!(" {figure} |").repeat(heads.len()))
        };
        let rows: String = heads.iter().zip(["12", "1,004", "3.5", "0", "98 F", "7"]).map(row).collect();
        let text = format!("| what | {head} |\n|---|{}\n{rows}", "---|".repeat(heads.len()));
        let note = read(text.as_bytes(), &Hints { name: "note.md".to_owned(), ..Hints::default() });
        assert_eq!(note.format, "markdown", "{text}");
    }
}

proptest! {
    #![proptest_config(config())]

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

/// Short texts that once ended the program.
#[test]
fn texts_that_were_too_much_once() {
    for text in ["electric one", "i'll reef line three over the deck", "if wind 2\n0 knots i'll reef"] {
        read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() });
    }
}
