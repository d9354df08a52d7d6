//! Speech mended: corrections replace what they correct, a value said in two units is one reading.

use crate::found::{Reading, UtteranceKind};
use crate::quantity::table;
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::word::WordList;

use super::amount::Amount;
use super::context::Context;
use super::value::Choice;

/// Words that take back what was said.
const TAKES_BACK: &WordList =
    words!["no", "sorry", "wait", "correction", "scratch", "nope", "rather", "actually", "strike"];

/// Words that may stand between a taken-back number and the one that replaces it, besides units.
const MENDING: &WordList = words![
    "no",
    "sorry",
    "wait",
    "correction",
    "scratch",
    "that",
    "'s",
    "is",
    "it",
    "was",
    "i",
    "tell",
    "a",
    "lie",
    "mean",
    "make",
    "call",
    "all",
    "of",
    "about",
    "not",
    "hang",
    "on",
    "what",
    "the",
    "time",
    "right",
    "well",
    "um",
    "uh",
    "er",
    "actually",
    "rather",
    "nope",
    "it's",
    "say",
    "let",
    "me",
    "see",
    "more",
    "like",
    "ought",
    "to",
    "do",
    "that's",
    "beg",
    "pardon",
    "my",
    "mistake",
    "they",
    "were",
    "oh",
    "as",
    "you",
    "strike",
    "they're",
    "we",
    "had",
    "true",
    "apparent",
    "leeway",
    "an",
    "and",
    "be",
];

/// Drops the amounts that the speaker took back, and marks those that replace them.
pub fn corrected(talk: &Talk<'_>, mut amounts: Vec<Amount>) -> Vec<Amount> {
    let tokens = &talk.tokens;
    let mut drop = vec![false; amounts.len()];
    let mut skip = vec![false; amounts.len()];
    for i in 1..amounts.len() {
        let (a, b) = (i - 1, i);
        let (from, to) = (amounts[a].tokens.end, amounts[b].tokens.start);
        if to < from || to - from > 10 || drop[a] {
            continue;
        }
        let words = &tokens[from..to];
        // "four? Four minutes", "seven and a bit, seven two mostly": begun, then said in full.
        if words.is_empty() && tokens[to].gap < Gap::Block && begins(&amounts[a], &amounts[b]) {
            drop[a] = true;
            continue;
        }
        // "6.4 amps, call it six and a half" rounds what was read.
        let called = matches!(words, [.., a, b] if a.is("call") && b.is("it"))
            && !words.iter().any(|t| t.is_any(TAKES_BACK));
        if called
            && amounts[a].unit.is_some()
            && amounts[b].unit.is_none()
            && replaces(&amounts[a], &amounts[b])
        {
            skip[b] = true;
            continue;
        }
        let takes = words
            .iter()
            .position(|t| t.is_any(TAKES_BACK))
            .or_else(|| words.windows(3).position(|w| w[0].is("i") && w[1].is("tell") && w[2].is("a")))
            .or_else(|| words.windows(2).position(|w| w[0].is("i") && w[1].is("mean")))
            .or_else(|| words.windows(2).position(|w| w[0].is("make") && w[1].is("that")));
        let Some(takes) = takes else { continue };
        if words.iter().any(|t| t.gap == Gap::Block) || tokens[to].gap == Gap::Block {
            continue;
        }
        let unit = amounts[a].unit_tokens.clone().unwrap_or(0..0);
        let mends = words.iter().all(|t| {
            t.is_any(MENDING) || unit.clone().any(|u| tokens[u].lower == t.lower) || is_unit_word(t)
        });
        // "no" is a word of its own: "no wind", "no more than", "no less" take nothing back.
        let plain_no = words[takes].is("no")
            && words
                .get(takes + 1)
                .is_some_and(|t| t.is_any(words!["more", "less", "wind", "and"]) && t.gap < Gap::Comma);
        // "45 kn in the worst of it? No, 38."
        let answered = tokens[amounts[a].tokens.start].asked
            && words.last().is_some_and(|t| t.is("no") && t.gap == Gap::Sentence);
        // "1013; no, read again with spectacles, 1018".
        let taken_back = words[0].is("no")
            && words[0].gap >= Gap::Comma
            && words.get(1).is_some_and(|t| t.gap < Gap::Comma)
            && tokens[to].gap == Gap::Comma
            && words.iter().all(|t| t.gap < Gap::Sentence)
            && words.iter().any(|t| t.is_any(words!["again", "closer", "properly", "spectacles", "glasses"]));
        if !(mends || answered || taken_back) || plain_no || !replaces(&amounts[a], &amounts[b]) {
            continue;
        }
        drop[a] = true;
        let (unit, unit_tokens) = (amounts[a].unit, amounts[a].unit_tokens.clone());
        let start = amounts[a].tokens.start;
        let b = &mut amounts[b];
        if b.unit.is_none() {
            b.unit = unit;
            b.unit_tokens = unit_tokens;
        }
        b.tokens.start = start;
    }
    let mut n = 0;
    amounts.retain(|_| {
        n += 1;
        !drop[n - 1] && !skip[n - 1]
    });
    amounts
}

/// Whether a bare number was only the beginning of the one behind it: the same, or its whole part.
fn begins(a: &Amount, b: &Amount) -> bool {
    let (x, y) = (a.run.candidates(), b.run.candidates());
    let (Some(x), Some(y)) = (x.first(), y.first()) else { return false };
    let whole_of =
        x.low == y.low.floor() && y.low.fract() != 0.0 && a.run.atoms[0].end - a.run.atoms[0].start > 1;
    a.unit.is_none() && a.other.is_none() && (whole_of || (x.low == y.low && b.unit.is_some()))
}

fn is_unit_word(token: &Token<'_>) -> bool {
    token.is_any(words![
        "feet", "metres", "meters", "knots", "minutes", "hours", "degrees", "percent", "volts", "amps",
        "litres", "gallons", "pints", "miles", "it",
    ])
}

fn replaces(a: &Amount, b: &Amount) -> bool {
    match (a.dimension(), b.dimension()) {
        (Some(x), Some(y)) => x == y,
        _ => {
            let (x, y) = (a.run.candidates(), b.run.candidates());
            match (x.first(), y.first()) {
                (Some(x), Some(y)) => (0.2..=5.0).contains(&((y.low.abs() + 0.1) / (x.low.abs() + 0.1))),
                _ => false,
            }
        }
    }
}

/// Merges two amounts that say one value in two units: "six inches, fifteen centimetres", "48 F (9 C)".
pub fn said_twice(context: &Context<'_, '_>, chosen: &mut Vec<(usize, Choice)>) {
    let tokens = context.tokens();
    let mut drop = vec![false; chosen.len()];
    for i in 1..chosen.len() {
        let ((a, x), (b, y)) = (&chosen[i - 1], &chosen[i]);
        let (a, b) = (*a, *b);
        if drop[i - 1] || x.values.len() != y.values.len() {
            continue;
        }
        let (first, second) = (&context.amounts[a], &context.amounts[b]);
        let (Some(u), Some(v)) = (x.unit, y.unit) else { continue };
        let other_unit = u.unit.symbol != v.unit.symbol || second.unit.is_none();
        let qa = &table().quantities[x.quantity];
        let qb = &table().quantities[y.quantity];
        if !other_unit || qa.unit != qb.unit || u.unit.symbol == v.unit.symbol {
            continue;
        }
        let words = &tokens[first.tokens.end..second.tokens.start];
        let close = words.len() <= 8
            && tokens[second.tokens.start].gap < Gap::Sentence
            && words.iter().all(|t| t.gap < Gap::Sentence);
        let slack = if qa.unit == "degC" { 0.8 } else { 0.09 * x.values[0].0.abs() + 1e-9 };
        let same = x
            .values
            .iter()
            .zip(&y.values)
            .all(|(p, q)| (p.0 - q.0).abs() <= slack && (p.1 - q.1).abs() <= slack * 1.2);
        if close && same {
            let metric = |s: &str| {
                matches!(
                    s,
                    "m" | "cm" | "mm" | "kg" | "L" | "mL" | "L/min" | "degC" | "hPa" | "m2" | "kN" | "t"
                )
            };
            // The second names the same quantity again; the metric figure is the one to keep.
            if metric(&v.unit.symbol) && !metric(&u.unit.symbol) {
                drop[i - 1] = true;
                let quantity = x.quantity;
                let cue = x.cue;
                chosen[i].1.quantity = quantity;
                chosen[i].1.cue = chosen[i].1.cue.or(cue);
                chosen[i].1.also = Some((context.amounts[a].tokens.start, context.amounts[a].tokens.end));
            } else {
                drop[i] = true;
                chosen[i - 1].1.also = Some((context.amounts[b].tokens.start, context.amounts[b].tokens.end));
            }
        }
    }
    let mut n = 0;
    chosen.retain(|_| {
        n += 1;
        !drop[n - 1]
    });
}

/// "sounder 31, lead 31": one depth by two instruments, which were held against each other.
fn compared(a: &Reading, b: &Reading) -> bool {
    const BY: [&str; 5] = ["sounder", "plotter", "lead", "string", "pole"];
    let by = |r: &Reading| {
        let quote = r.quote.to_lowercase();
        BY.iter().position(|by| quote.contains(by))
    };
    a.quantity == "water_depth" && by(a).zip(by(b)).is_some_and(|(a, b)| a != b)
}

/// Whether two readings are of the two sides of the boat: "P 160 L, S 160 L", "port tank 90 litres, starboard tank 90 litres".
fn of_two_sides(talk: &Talk<'_>, a: &Reading, b: &Reading) -> bool {
    /// As many words stand between the side and the figure at most.
    const REACH: usize = 2;
    let side = |r: &Reading| {
        let at = talk.tokens.partition_point(|t| t.span.end <= r.span.start);
        (at.saturating_sub(REACH)..=at).rev().filter_map(|i| talk.tokens.get(i)).find_map(|t| {
            let port = t.text == "P" || t.is("port");
            (port || t.text == "S" || t.is_any(words!["starboard", "stbd"])).then_some(port)
        })
    };
    side(a).zip(side(b)).is_some_and(|(a, b)| a != b)
}

/// Whether two readings stand in two rows of a table, or in two entries of a log with times of their own: the same figure
/// then was read twice.
fn taken_again(talk: &Talk<'_>, a: &Reading, b: &Reading) -> bool {
    let of = |r: &Reading| talk.utterances.partition_point(|u| u.span.end <= r.span.start);
    let (first, second) = (of(a), of(b));
    let kind = talk.utterances.get(second).map(|u| u.kind);
    first != second
        && match kind {
            Some(UtteranceKind::TableRow) => true,
            Some(UtteranceKind::LogLine) => a.at.map(|m| m.at) != b.at.map(|m| m.at),
            _ => false,
        }
}

/// Bytes within which a reading said again with the same figure is the same reading.
const AGAIN_WITHIN: usize = 130;

/// Drops a reading that only says again what was said right before: "ninety seven. Ninety seven", "for eleven
/// minutes, eleven minutes".
pub fn without_repeats(talk: &Talk<'_>, readings: &mut Vec<Reading>) {
    let mut kept: Vec<Reading> = Vec::with_capacity(readings.len());
    for reading in readings.drain(..) {
        let again = kept.iter().rev().take(5).any(|a| {
            a.quantity == reading.quantity
                && a.low == reading.low
                && a.high == reading.high
                && a.stance == reading.stance
                && reading.span.start.saturating_sub(a.span.end) <= AGAIN_WITHIN
                && !matches!(reading.quantity.as_str(), "wind_direction" | "length" | "rig_tension")
                && !compared(a, &reading)
                && !of_two_sides(talk, a, &reading)
                && !taken_again(talk, a, &reading)
        });
        if !again {
            kept.push(reading);
        }
    }
    *readings = kept;
}
