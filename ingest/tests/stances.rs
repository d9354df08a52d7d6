//! What a speaker means by a number: one sentence a stance or a trap, and the stance of its first reading.
//!
//! Common practice, no source; the meanings are those of the stances in `found.rs`.

use leadsman_ingest::{Hints, read};

const SENTENCES: &[(&str, &str)] = &[
    ("Wind is twenty two knots", "observed"),
    ("I'd say twenty knots of wind", "observed"),
    ("The volts never went under 12.3", "observed"),
    ("The house bank never goes below 12.2 volts", "limit"),
    ("I reef at twenty apparent", "limit"),
    ("At 40 knots of wind the sea anchor goes out", "limit"),
    ("The rigger's number is fifteen to twenty percent on the caps", "limit"),
    ("Coolant 92 C at most", "limit"),
    ("I won't leave with more than thirty knots", "limit"),
    ("Forecast is southwest 20 to 25 knots", "forecast"),
    ("They say 35 knots of wind tomorrow", "forecast"),
    ("If it blew sixty knots I would lie ahull", "hypothetical"),
    ("What if the wind was fifty knots", "hypothetical"),
    ("I'll run the engine for two hours at 2200 rpm", "planned"),
    ("It is nine hundred miles to Stewart Island", "planned"),
    ("Eleven miles to go", "observed"),
    ("Last year we had fifty knots of wind here", "recalled"),
    ("There was a bloke who had forty knots in there", "recalled"),
    ("It used to take me nine minutes", "recalled"),
    ("The tank holds 280 litres of diesel", "spec"),
    ("The anchor weighs thirty one kilos", "spec"),
    ("Storm jib of nine square metres", "spec"),
    ("The line breaks at five tonnes", "spec"),
    ("A six foot tether", "spec"),
    ("Caps between fifteen and twenty percent", "limit"),
    ("Anything under two bar hot and I'm shutting her down", "limit"),
    ("In 2019 we had fifty knots of wind here", "recalled"),
    ("What we got was 22 knots of wind", "observed"),
    ("The windlass breaker is 80 amps", "spec"),
    ("The passage is 620 miles", "planned"),
];

#[test]
fn sentences_have_their_stance() {
    let wrong: Vec<String> = SENTENCES
        .iter()
        .filter_map(|(sentence, expected)| {
            let note = format!("Sunday 3 May 2026, 10:00\n\n{sentence}.\n");
            let readings =
                read(note.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() }).readings;
            let found = readings.first().map_or("no reading", |r| r.stance.name());
            (found != *expected).then(|| format!("{sentence:?}: expected {expected}, found {found}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
