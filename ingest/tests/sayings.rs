//! Invented sayings of many kinds of sailor, each with the readings that it holds: how much of them is understood.
//!
//! A line of `tests/sayings/*.txt` is a note of its own: its words, `=>`, and its readings in canonical units, parted
//! by semicolons: `wind_gust 24`, `wave_height 2..3`, `co_level 30.. limit`. A reading without a stance is observed; one
//! that ends in `soft` may be found or not. `\n` in the words begins a new line.
//! Common practice, no source. `cargo test -p leadsman-ingest --test sayings -- --nocapture` tells what is misread.

use leadsman_ingest::{Hints, Reading, Stance, read};

/// A reading as written behind the arrow.
#[derive(Clone, Debug)]
struct Expected {
    quantity: String,
    ends: (f64, f64),
    stance: Stance,
    soft: bool,
}

fn expected(written: &str) -> Expected {
    let mut words = written.split_whitespace();
    let quantity = words.next().expect("a quantity").to_owned();
    let value = words.next().unwrap_or_else(|| panic!("{written}: expected a value behind the quantity"));
    let figure = |text: &str| text.parse::<f64>().ok();
    let (low, high) = match value.split_once("..") {
        Some((low, high)) => (figure(low), figure(high)),
        None => (figure(value), figure(value)),
    };
    let any = low.or(high).unwrap_or_else(|| panic!("{written}: expected a figure, found {value}"));
    let (mut stance, mut soft) = (Stance::Observed, false);
    for name in words {
        match Stance::ALL.iter().find(|s| s.name() == name) {
            Some(found) => stance = *found,
            None if name == "soft" => soft = true,
            None => panic!("{written}: expected a stance, found {name}"),
        }
    }
    Expected { quantity, ends: (low.unwrap_or(any), high.unwrap_or(any)), stance, soft }
}

/// The finite ends: which end of a bound is open is not compared.
fn ends(reading: &Reading) -> (f64, f64) {
    let low = reading.low.or(reading.high).unwrap_or(f64::NAN);
    (low, reading.high.unwrap_or(low))
}

fn close(a: f64, b: f64, quantity: &str) -> bool {
    let slack = if quantity.contains("temperature") { 0.3 } else { 0.011 * a.abs().max(b.abs()) + 1e-9 };
    (a - b).abs() <= slack
}

fn same(e: &Expected, r: &Reading) -> bool {
    let found = ends(r);
    e.quantity == r.quantity && close(e.ends.0, found.0, &e.quantity) && close(e.ends.1, found.1, &e.quantity)
}

#[derive(Default)]
struct Tally {
    right: usize,
    missed: usize,
    extra: usize,
    stance: usize,
}

impl Tally {
    fn f1(&self) -> f64 {
        2.0 * self.right as f64 / (2 * self.right + self.missed + self.extra).max(1) as f64
    }
}

fn measure(name: &str, text: &str) -> Tally {
    let mut tally = Tally::default();
    for line in text.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty()) {
        let (said, behind) = line.split_once("=>").unwrap_or_else(|| panic!("{name}: no arrow in {line}"));
        let mut missing: Vec<Expected> =
            behind.split(';').filter(|p| !p.trim().is_empty()).map(expected).collect();
        let note = format!("Sunday 3 May 2026, 10:00\n\n{}\n", said.trim().replace("\\n", "\n"));
        let hints = Hints { name: "note.txt".to_owned(), ..Hints::default() };
        let mut wrong = Vec::new();
        for r in read(note.as_bytes(), &hints).readings {
            let place = |soft| missing.iter().position(|e| e.soft == soft && same(e, &r));
            match place(false).or_else(|| place(true)) {
                Some(i) if missing[i].soft => drop(missing.swap_remove(i)),
                Some(i) => {
                    let e = missing.swap_remove(i);
                    tally.right += 1;
                    if e.stance == r.stance {
                        tally.stance += 1;
                    } else {
                        wrong.push(format!("~{} {} not {}", r.quantity, r.stance, e.stance));
                    }
                }
                None => {
                    tally.extra += 1;
                    wrong.push(format!("+{} {:?} {}", r.quantity, ends(&r), r.quote));
                }
            }
        }
        missing.retain(|e| !e.soft);
        tally.missed += missing.len();
        wrong.extend(missing.iter().map(|e| format!("-{} {:?}", e.quantity, e.ends)));
        if !wrong.is_empty() {
            println!("{name}: {} :: {}", said.trim(), wrong.join("; "));
        }
    }
    tally
}

/// The file, its sayings, and the least that is understood of them: F1 of the readings, and the share of stances.
const FILES: &[(&str, &str, f64, f64)] = &[
    ("wind", include_str!("sayings/wind.txt"), 0.95, 0.93),
    ("motion", include_str!("sayings/motion.txt"), 0.93, 0.96),
    ("air", include_str!("sayings/air.txt"), 0.94, 0.95),
    ("boat", include_str!("sayings/boat.txt"), 0.96, 0.93),
    ("voices", include_str!("sayings/voices.txt"), 0.9, 0.98),
    ("meant", include_str!("sayings/meant.txt"), 0.91, 0.92),
    ("more", include_str!("sayings/more.txt"), 0.91, 0.95),
    ("talk", include_str!("sayings/talk.txt"), 0.92, 0.97),
    ("hands", include_str!("sayings/hands.txt"), 0.86, 0.9),
    ("notes", include_str!("sayings/notes.txt"), 0.87, 0.92),
    ("fixed", include_str!("sayings/fixed.txt"), 0.93, 0.93),
    ("passing", include_str!("sayings/passing.txt"), 0.95, 0.95),
    ("slips", include_str!("sayings/slips.txt"), 0.94, 0.91),
    ("thumbs", include_str!("sayings/thumbs.txt"), 0.95, 0.98),
    ("logbook", include_str!("sayings/logbook.txt"), 0.97, 0.97),
    ("turns", include_str!("sayings/turns.txt"), 0.97, 0.97),
    ("watches", include_str!("sayings/watches.txt"), 0.97, 0.97),
    ("protocols", include_str!("sayings/protocols.txt"), 0.97, 0.97),
    ("figures", include_str!("sayings/figures.txt"), 0.9, 0.9),
    ("ways", include_str!("sayings/ways.txt"), 0.94, 0.94),
    ("lists", include_str!("sayings/lists.txt"), 0.96, 0.97),
];

#[test]
fn sayings_are_understood() {
    let mut short = Vec::new();
    for (name, text, least, least_stance) in FILES {
        let tally = measure(name, text);
        let (f1, stance) = (tally.f1(), tally.stance as f64 / tally.right.max(1) as f64);
        println!(
            "{name}: F1 {f1:.3} (right {}, missed {}, extra {}), stance {stance:.3}",
            tally.right, tally.missed, tally.extra
        );
        if f1 < *least || stance < *least_stance {
            short.push(format!("{name}: F1 {f1:.3} of {least}, stance {stance:.3} of {least_stance}"));
        }
    }
    assert!(short.is_empty(), "{}", short.join("\n"));
}
