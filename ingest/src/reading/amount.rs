//! Amounts: a number with its unit, its other end where it is a range, and its bound.

use std::ops::Range;

use crate::found::UtteranceKind;
use crate::number::{Atom, Form, Run, runs};
use crate::quantity::{Dimension, UnitAt, unit_at};
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};

use super::reject::rejected;

/// How two ends stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Join {
    /// One value with two ends: "18 to 20", "between 5 and 6", "six, six point two".
    Range,
    /// Two values, one after the other: "from 5.1 down to 4.2".
    Change,
    /// A value and its tolerance: "12 plus or minus 2".
    Tolerance,
}

/// Whose words are read: a skipper's, where "all day" and "wait a minute" measure nothing, or any text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// A boat's note.
    Boat,
    /// Any text.
    AnyText,
}

/// Which end is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// "over 6": the value is the lower end.
    Least,
    /// "under 5": the value is the upper end.
    Most,
}

/// A number with its unit.
#[derive(Clone, Debug)]
pub struct Amount {
    /// The number.
    pub run: Run,
    /// The other end.
    pub other: Option<(Join, Run)>,
    /// The unit, where one is said.
    pub unit: Option<UnitAt>,
    /// All tokens: number, other end and unit.
    pub tokens: Range<usize>,
    /// The tokens of the unit.
    pub unit_tokens: Option<Range<usize>>,
    /// An open end.
    pub bound: Option<Bound>,
    /// "a six", "an eight": a number with an article in front of it.
    pub article: bool,
    /// A value worked out from several numbers ("two feet six"), in the base of the unit's dimension.
    pub base: Option<f64>,
}

impl Amount {
    /// What its unit measures.
    pub fn dimension(&self) -> Option<Dimension> {
        self.unit.map(|u| u.dimension())
    }
}

fn gap_ok(tokens: &[Token<'_>], at: usize, most: Gap) -> bool {
    tokens.get(at).is_some_and(|t| t.gap <= most)
}

/// Finds the amounts of a text, in order: numbers with their units, numbers alone, and "a knot", "an hour".
pub fn amounts(talk: &Talk<'_>, of: Of) -> Vec<Amount> {
    let (text, tokens) = (talk.text, talk.tokens.as_slice());
    let in_table = |at: usize| talk.utterances[tokens[at].utterance].kind == UtteranceKind::TableRow;
    let runs = split_at_connectors(tokens, runs(tokens));
    let mut out: Vec<Amount> = Vec::with_capacity(runs.len());
    let mut at = 0;
    let mut dropped = None;
    for run in runs {
        let range = run.tokens();
        articles(text, tokens, at..range.start, of, &mut out);
        at = range.end;
        let part_number = dropped == Some(range.start) && tokens[range.start].gap == Gap::Hyphen;
        if part_number || rejected(text, tokens, &run, in_table(range.start)) {
            dropped = Some(range.end);
            continue;
        }
        let amount = with_unit(text, tokens, run);
        at = amount.tokens.end;
        out.push(amount);
    }
    articles(text, tokens, at..tokens.len(), of, &mut out);
    misheard(text, tokens, &mut out);
    // Drop what a longer unit or an article swallowed.
    let mut kept: Vec<Amount> = Vec::with_capacity(out.len());
    for amount in out {
        if kept.last().is_some_and(|last| last.tokens.end > amount.tokens.start) {
            continue;
        }
        kept.push(amount);
    }
    let kept = compounds(tokens, kept);
    let mut kept = joins(text, tokens, kept);
    for amount in &mut kept {
        amount.bound = bound(tokens, amount);
    }
    kept
}

/// "eight to ten two and a half to three metres": where connectors stand on both sides, two numbers met by chance.
fn split_at_connectors(tokens: &[Token<'_>], runs: Vec<Run>) -> Vec<Run> {
    let mut out = Vec::with_capacity(runs.len());
    for run in runs {
        let range = run.tokens();
        let to = |at: Option<usize>| {
            at.and_then(|i| tokens.get(i)).is_some_and(|t| t.is("to") && t.gap <= Gap::Line)
        };
        // "about a three twelve degrees": an article counts one thing, and what follows is another number.
        let counted = run.atoms.len() == 2
            && run.atoms[0].form == Form::Digit
            && run.atoms[1].form == Form::Small
            && range.start > 0
            && tokens[range.start].gap <= Gap::Line
            && tokens[range.start - 1].is_any(&["a", "an"]);
        if counted {
            let (a, b) = run.split(1);
            out.push(a);
            out.push(b);
            continue;
        }
        // "around seventy twenty four knots": no number is said so; two met.
        let fell = run.atoms.len() == 2
            && run.atoms.iter().all(|a| a.form == Form::Small)
            && run.atoms[0].value >= 32.0
            && run.atoms[0].value > run.atoms[1].value
            && run.atoms[1].value >= 10.0;
        if fell {
            let (a, b) = run.split(1);
            out.push(a);
            out.push(b);
            continue;
        }
        let both = run.atoms.len() == 2 && to(range.start.checked_sub(1)) && to(Some(range.end));
        if both && run.atoms[1].value * 1.3 < run.atoms[0].value {
            let (a, b) = run.split(1);
            out.push(a);
            out.push(b);
        } else {
            out.push(run);
        }
    }
    out
}

fn with_unit(text: &str, tokens: &[Token<'_>], run: Run) -> Amount {
    let range = run.tokens();
    let mut end = range.end;
    // "15ish", "twenty-odd".
    if tokens.get(end).is_some_and(|t| t.gap <= Gap::Hyphen && t.is_any(&["ish", "odd", "plus", "something"]))
        || tokens.get(end).is_some_and(|t| t.gap <= Gap::Line && t.is_any(&["ish", "odd"]))
    {
        end += 1;
    }
    let mut unit_start = end;
    // "half a knot", "a third of a litre", "point nine of a metre", "a couple of miles", "a good four litres".
    let small = run
        .atoms
        .last()
        .is_some_and(|a| matches!(a.form, Form::Fraction | Form::Decimal(_)) || a.value <= 3.0);
    if small {
        let mut next = end;
        if gap_ok(tokens, next, Gap::Line) && tokens[next].is("of") {
            next += 1;
        }
        if gap_ok(tokens, next, Gap::Line) && tokens[next].is_any(&["a", "an"]) {
            next += 1;
        }
        // "point eight an hour" is a rate of something unsaid, "point eight of an hour" a time.
        let rate = run.atoms.last().is_some_and(|a| matches!(a.form, Form::Decimal(_)))
            && next == end + 1
            && !tokens[end].is("of");
        if next > end
            && !rate
            && unit_at(text, tokens, next).is_some_and(|u| {
                // "two of an hour" is nothing; a fraction is.
                run.atoms.last().is_some_and(|a| a.value < 1.0 || matches!(a.form, Form::Fraction))
                    && u.end > next
            })
        {
            unit_start = next;
        }
    }
    // "six more knots", "another four amps": a word between that is no unit.
    if gap_ok(tokens, unit_start, Gap::Line)
        && tokens[unit_start].is_any(&[
            "more", "odd", "or", "true", "apparent", "good", "long", "whole", "solid", "full", "measured",
        ])
        && unit_at(text, tokens, unit_start + 1).is_some()
        && !tokens[unit_start].is("or")
    {
        unit_start += 1;
    }
    if gap_ok(tokens, unit_start, Gap::Line)
        && tokens[unit_start].is("or")
        && gap_ok(tokens, unit_start + 1, Gap::Line)
        && tokens[unit_start + 1].is("so")
    {
        unit_start += 2;
    }
    // "60 stone cold", "57 degrees" … a unit's name that is another word here.
    let unit = unit_at(text, tokens, unit_start)
        .filter(|u| {
            u.unit.symbol != "stone"
                || !tokens.get(u.end).is_some_and(|t| t.is_any(&["cold", "dead", "deaf"]))
        })
        .filter(|u| u.unit.dimension != Dimension::Time || !rates_something(tokens, unit_start));
    let mut amount = Amount {
        tokens: range.start..end,
        other: None,
        unit,
        unit_tokens: None,
        bound: None,
        article: range.start > 0
            && tokens[range.start].gap <= Gap::Line
            && tokens[range.start - 1].is_any(&["a", "an", "proper", "good", "solid", "steady", "honest"]),
        base: None,
        run,
    };
    if let Some(unit) = unit {
        amount.unit_tokens = Some(unit_start..unit.end);
        amount.tokens.end = unit.end;
        half_behind_the_unit(tokens, &mut amount);
    }
    amount
}

/// Whether a time's unit is the "an hour" of a rate: "point eight an hour".
fn rates_something(tokens: &[Token<'_>], at: usize) -> bool {
    at > 0
        && tokens[at - 1].is_any(&["a", "an", "per"])
        && at.checked_sub(2).is_some_and(|i| {
            tokens[i].kind == Kind::Number
                || !tokens[i].is_any(&["half", "of", "about", "for", "quarter", "in", "over"])
        })
        && at
            .checked_sub(2)
            .is_some_and(|i| crate::number::atom_at(tokens, i).is_some_and(|a| a.end == i + 1))
}

/// "two knots and a half", "an hour and a quarter".
fn half_behind_the_unit(tokens: &[Token<'_>], amount: &mut Amount) {
    let end = amount.tokens.end;
    let is = |at: usize, words: &[&str]| gap_ok(tokens, at, Gap::Line) && tokens[at].is_any(words);
    if !is(end, &["and", "&"]) || amount.run.atoms.len() != 1 {
        return;
    }
    let (part, next) = if is(end + 1, &["a", "one"]) && is(end + 2, &["half"]) {
        (0.5, end + 3)
    } else if is(end + 1, &["a", "one"]) && is(end + 2, &["quarter"]) {
        (0.25, end + 3)
    } else if is(end + 1, &["three"]) && is(end + 2, &["quarters"]) {
        (0.75, end + 3)
    } else if is(end + 1, &["half"]) && !is(end + 2, &["a", "an"]) {
        (0.5, end + 2)
    } else if is(end + 1, &["a"]) && is(end + 2, &["bit"]) {
        (0.0, end + 3)
    } else {
        return;
    };
    // "an hour and a half of motor" but not "a knot and half a metre".
    amount.run.atoms[0].value += part;
    amount.tokens.end = next;
}

/// "a knot and a half", "an hour": an article in front of a unit.
fn articles(text: &str, tokens: &[Token<'_>], within: Range<usize>, of: Of, out: &mut Vec<Amount>) {
    let mut at = within.start;
    while at + 1 < within.end {
        let here = at;
        at += 1;
        let whole_one =
            of == Of::AnyText && tokens[here].is_any(&["another", "all", "full", "whole", "entire"]);
        if !(tokens[here].is_any(&["a", "an"]) || whole_one) || tokens[here].kind != Kind::Word {
            continue;
        }
        // "half a knot" belongs to the half; "four dollars a metre" and "seven pints a day" are rates.
        let Some(unit) = unit_at(text, tokens, here + 1) else { continue };
        if unit.unit.dimension == Dimension::Percent
            || tokens[here + 1].is_any(&["second", "mil", "degree", "rev", "house", "stick"])
        {
            continue;
        }
        let before = here.checked_sub(1).map(|b| &tokens[b]);
        let joined = tokens[here].gap <= Gap::Line;
        if joined
            && before.is_some_and(|b| {
                b.is_any(&["half", "of", "quarter", "third", "such"]) || b.kind == Kind::Number
            })
        {
            continue;
        }
        let atom = Atom { value: 1.0, start: here, end: here + 1, form: Form::Digit };
        let mut amount = Amount {
            run: Run { atoms: vec![atom] },
            other: None,
            unit: Some(unit),
            tokens: here..unit.end,
            unit_tokens: Some(here + 1..unit.end),
            bound: None,
            article: false,
            base: None,
        };
        half_behind_the_unit(tokens, &mut amount);
        let whole = amount.run.atoms[0].value == 1.0;
        let next = tokens.get(amount.tokens.end).filter(|t| t.gap <= Gap::Line);
        let prior = out.last().filter(|p| p.tokens.end == here);
        let time = unit.unit.dimension == Dimension::Time;
        if whole && !(of == Of::AnyText && time) {
            // "a knot in the line", "a foot in the door": a length or a speed of one needs its "of", "under", "about".
            let loose = matches!(
                unit.unit.dimension,
                Dimension::Speed
                    | Dimension::Length
                    | Dimension::Pound
                    | Dimension::Mass
                    | Dimension::Distance
            ) && !next.is_some_and(|t| {
                t.is_any(&[
                    "of", "or", "under", "above", "below", "off", "higher", "lower", "better", "faster",
                    "slower", "more", "less", "against", "with", "deep", "long", "wide", "high", "away",
                    "short",
                ])
            }) && !before.is_some_and(|b| {
                joined
                    && b.is_any(&[
                        "about", "by", "nearly", "over", "under", "only", "almost", "around", "maybe", "at",
                        "sea", "seas", "swell", "chop", "waves", "depth",
                    ])
            });
            // A price, a rate, "a day" and "a night" of the week, "a minute" of waiting are no amounts.
            let rate = prior.is_some()
                || before.is_some_and(|b| {
                    joined
                        && b.is_any(&[
                            "dollars", "dollar", "euro", "euros", "pounds", "quid", "cents", "times",
                            "turns", "strokes",
                        ])
                });
            let long = time && unit.unit.factor > 3600.0;
            let wait = time
                && unit.unit.symbol == "min"
                && !compound_follows(tokens, amount.tokens.end)
                && !before.is_some_and(|b| {
                    joined
                        && b.is_any(&[
                            "for", "in", "after", "within", "took", "about", "under", "over", "every",
                            "inside",
                        ])
                });
            let ago = next.is_some_and(|t| t.is_any(&["ago", "back", "later", "earlier", "before"]));
            let rates =
                matches!(unit.unit.dimension, Dimension::Frequency | Dimension::Voltage | Dimension::Force);
            // "a pounder", "a metre stick": a noun follows.
            if loose || rate || long || wait || (ago && time) || rates {
                continue;
            }
        }
        at = amount.tokens.end;
        out.push(amount);
    }
}

/// "for knots", "to metres": what a recogniser makes of "four" and "two" in front of a unit.
fn misheard(text: &str, tokens: &[Token<'_>], out: &mut Vec<Amount>) {
    const LED: &[&str] = &[
        "is", "'s", "was", "about", "at", "of", "only", "doing", "making", "nearly", "just", "blowing",
        "than", "over", "under", "around", "reads", "says",
    ];
    let mut found = Vec::new();
    for at in 1..tokens.len() {
        let value = match tokens[at].lower.as_ref() {
            "for" | "fore" => 4.0,
            "to" | "too" => 2.0,
            "won" => 1.0,
            "ate" => 8.0,
            "free" => 3.0,
            "sex" | "sicks" => 6.0,
            _ => continue,
        };
        if tokens[at].gap > Gap::Line || !tokens[at - 1].is_any(LED) {
            continue;
        }
        let Some(unit) = unit_at(text, tokens, at + 1) else { continue };
        if matches!(
            unit.unit.dimension,
            Dimension::Time | Dimension::Distance | Dimension::Pound | Dimension::Frequency
        ) {
            continue;
        }
        let run = Run { atoms: vec![Atom { value, start: at, end: at + 1, form: Form::Digit }] };
        found.push(with_unit(text, tokens, run));
    }
    if !found.is_empty() {
        out.extend(found);
        out.sort_by_key(|a| a.tokens.start);
    }
}

fn compound_follows(tokens: &[Token<'_>], at: usize) -> bool {
    let at = if gap_ok(tokens, at, Gap::Line) && tokens[at].is("and") { at + 1 } else { at };
    gap_ok(tokens, at, Gap::Line)
        && crate::number::atom_at(tokens, at).is_some_and(|a| a.value >= 5.0 && a.value < 60.0)
}

/// Joins what is said in two units or in a unit and a rest: "four minutes ten", "2'6\"", "12V8", "17 h 25 min".
fn compounds(tokens: &[Token<'_>], amounts: Vec<Amount>) -> Vec<Amount> {
    let mut out: Vec<Amount> = Vec::with_capacity(amounts.len());
    for amount in amounts {
        let Some(last) = out.last_mut() else {
            out.push(amount);
            continue;
        };
        if let Some(joined) = compound(tokens, last, &amount) {
            *last = joined;
        } else {
            out.push(amount);
        }
    }
    out
}

fn compound(tokens: &[Token<'_>], big: &Amount, small: &Amount) -> Option<Amount> {
    let (first, second) = (big.unit?, small.unit);
    if big.unit_tokens.as_ref()?.end != big.tokens.end && big.base.is_none() {
        return None;
    }
    let between = &tokens[big.tokens.end..small.tokens.start];
    let and = match between {
        [] => false,
        [and] if and.is_any(&["and", "&"]) && and.gap <= Gap::Line => true,
        _ => return None,
    };
    let gap = tokens[small.tokens.start].gap;
    if gap > Gap::Comma || (gap == Gap::Comma && second.is_none()) {
        return None;
    }
    let (a, b) = (single(&big.run)?, single(&small.run)?);
    let total = match (first.unit.dimension, first.unit.symbol.as_str(), second) {
        (Dimension::Time, "h", Some(u)) if matches!(u.unit.symbol.as_str(), "min" | "s") && b < 60.0 => {
            a * 3600.0 + b * u.unit.factor
        }
        (Dimension::Time, "min", Some(u)) if u.unit.symbol == "s" && b < 60.0 => a * 60.0 + b,
        (Dimension::Time, "h", None) if b < 60.0 && b % 5.0 == 0.0 && gap <= Gap::Line && b >= 5.0 => {
            a * 3600.0 + b * 60.0
        }
        (Dimension::Time, "min", None) if b < 60.0 && b.fract() == 0.0 && gap <= Gap::Line && !and => {
            a * 60.0 + b
        }
        (Dimension::Time, one, Some(u))
            if u.unit.dimension == Dimension::Time && u.unit.symbol != one && gap <= Gap::Line =>
        {
            big.base.unwrap_or(a * first.unit.factor) + b * u.unit.factor
        }
        (Dimension::Length, "ft", Some(u)) if u.unit.symbol == "in" && b < 12.0 => {
            a * first.unit.factor + b * u.unit.factor
        }
        (Dimension::Length, "ft", None) if b < 12.0 && b.fract() == 0.0 && gap <= Gap::Line && !and => {
            (a + b / 12.0) * first.unit.factor
        }
        (Dimension::Voltage, "V", None) if gap == Gap::Glued && b < 100.0 => {
            a + b / if b < 10.0 { 10.0 } else { 100.0 }
        }
        // "twelve volts eight", "ten metres sixty", "six knots four": the decimals behind the unit.
        (
            Dimension::Voltage | Dimension::Length | Dimension::Speed | Dimension::Mass,
            "V" | "m" | "kn" | "t",
            None,
        ) if decimals_behind(tokens, big, small) => {
            (a + b / if b < 10.0 { 10.0 } else { 100.0 }) * first.unit.factor
        }
        (Dimension::Pound, "lb", Some(u)) if u.unit.symbol == "oz" => (a + b / 16.0) * first.unit.factor,
        (Dimension::Pound, "lb", None) if b < 16.0 && b.fract() == 0.0 && gap <= Gap::Line && !and => {
            (a + b / 16.0) * first.unit.factor
        }
        (Dimension::Mass, "stone", Some(u)) if u.unit.symbol == "lb" && b < 14.0 => {
            a * first.unit.factor + b * u.unit.factor
        }
        (Dimension::Mass, "stone", None) if b < 14.0 && gap <= Gap::Line && !and => {
            (a + b / 14.0) * first.unit.factor
        }
        _ => return None,
    };
    let mut joined = big.clone();
    joined.tokens.end = small.tokens.end;
    joined.base = Some(total);
    Some(joined)
}

/// Whether a whole number behind a unit tells its decimals: nothing else that it could count or measure follows.
fn decimals_behind(tokens: &[Token<'_>], big: &Amount, small: &Amount) -> bool {
    let ([first], [rest]) = (big.run.atoms.as_slice(), small.run.atoms.as_slice()) else { return false };
    let spoken = tokens[first.start].kind == Kind::Word && tokens[rest.start].kind == Kind::Word;
    let whole =
        |a: &Atom| a.value.fract() == 0.0 && matches!(a.form, Form::Digit | Form::Small | Form::Large);
    let fits = (1.0..10.0).contains(&rest.value)
        || rest.value >= 10.0 && rest.value < 100.0 && rest.value % 5.0 == 0.0;
    let direct = small.tokens.start == big.tokens.end && tokens[small.tokens.start].gap == Gap::Space;
    let ends = tokens.get(small.tokens.end).is_none_or(|t| {
        t.gap >= Gap::Line
            || t.is_any(&[
                "and", "with", "in", "at", "on", "the", "but", "now", "for", "of", "under", "over", "when",
                "so", "then", "today", "from", "by", "i", "we", "she", "it", "long", "wide", "high",
            ])
    });
    spoken
        && whole(first)
        && whole(rest)
        && fits
        && direct
        && ends
        && big.unit_tokens.as_ref().is_some_and(|u| u.len() == 1)
}

/// The value of a run that can only be one.
fn single(run: &Run) -> Option<f64> {
    match run.atoms.as_slice() {
        [one] => Some(one.value),
        _ => None,
    }
}

const CHANGE: &[&str] = &[
    "from", "went", "goes", "going", "gone", "came", "come", "dropped", "drops", "rose", "risen", "fell",
    "fallen", "get", "got", "bring", "brought", "warm", "warmed", "heat", "heated", "raise", "raised",
    "crept", "climbed", "moved", "started", "changed", "jumped", "slid", "shifted", "sank",
];

/// Joins two amounts that are the ends of one value, or the start and end of a change.
fn joins(text: &str, tokens: &[Token<'_>], amounts: Vec<Amount>) -> Vec<Amount> {
    let mut out: Vec<Amount> = Vec::with_capacity(amounts.len());
    for amount in amounts {
        let Some(last) = out.last() else {
            out.push(amount);
            continue;
        };
        if last.other.is_some() || !same_kind(last, &amount) {
            out.push(amount);
            continue;
        }
        if comma_decimal(text, tokens, last, &amount) {
            let last = out.last_mut().expect("one was looked at just above");
            last.run.atoms.extend(amount.run.atoms);
            last.tokens.end = amount.tokens.end;
            (last.unit, last.unit_tokens) = (amount.unit, amount.unit_tokens);
            continue;
        }
        match join(text, tokens, last, &amount) {
            Some(join) => {
                let last = out.last_mut().expect("one was looked at just above");
                let tolerance_unit = amount.unit.is_some();
                last.other = Some((join, amount.run));
                last.tokens.end = amount.tokens.end;
                if last.unit.is_none() || (tolerance_unit && amount.unit_tokens.is_some()) {
                    last.unit = amount.unit;
                    last.unit_tokens = amount.unit_tokens;
                }
            }
            None => out.push(amount),
        }
    }
    out
}

/// "twelve, six volts", "one, five metres": a decimal comma that was said and written down as a comma.
fn comma_decimal(text: &str, tokens: &[Token<'_>], a: &Amount, b: &Amount) -> bool {
    let ([first], [second]) = (a.run.atoms.as_slice(), b.run.atoms.as_slice()) else { return false };
    let digit = matches!(second.form, Form::Digit | Form::Figures(1)) && second.value >= 0.0;
    let whole = matches!(first.form, Form::Digit | Form::Small | Form::Figures(1..=2)) && first.value >= 0.0;
    let between = text[tokens[first.end - 1].span.end..tokens[second.start].span.start].trim();
    // "north-north-east six, two metres of sea": the first is the wind's.
    let of_wind = first.start > 0
        && tokens[first.start].gap <= Gap::Line
        && (tokens[first.start - 1].is_any(&["force", "beaufort", "bft", "f"])
            || super::wind::is_point(&tokens[first.start - 1]));
    if of_wind {
        return false;
    }
    // "gusting thirty-four, four knots": two speeds.
    if first.value > 13.0 && b.dimension() == Some(Dimension::Speed) {
        return false;
    }
    let hedged = first.value < second.value && second.value <= first.value * 1.35 + 1.0;
    a.unit.is_none()
        && b.unit.is_some()
        && a.tokens.end == b.tokens.start
        && between == ","
        && digit
        && whole
        && !hedged
        && first.value != second.value
}

fn same_kind(a: &Amount, b: &Amount) -> bool {
    if a.base.is_some() || b.base.is_some() {
        return false;
    }
    match (a.unit, b.unit) {
        (None, _) => true,
        (Some(a), Some(b)) => a.unit.symbol == b.unit.symbol && a.rate == b.rate,
        // "12 knots to 14".
        (Some(_), None) => true,
    }
}

fn join(text: &str, tokens: &[Token<'_>], a: &Amount, b: &Amount) -> Option<Join> {
    let words = &tokens[a.tokens.end..b.tokens.start];
    let first = &tokens[b.tokens.start];
    let between = text[tokens[a.tokens.end - 1].span.end..first.span.start].trim();
    let gap_max = words.iter().map(|t| t.gap).chain([first.gap]).max().unwrap_or(Gap::Glued);
    let (low, high) = (a.run.candidates(), b.run.candidates());
    let (low, high) = (low.first()?, high.first()?);
    let rises = low.low < high.high;
    // How the pair was led in: "between … and", "from … to".
    let lead: Vec<&str> = (1..=4)
        .map_while(|n| a.tokens.start.checked_sub(n).map(|i| &tokens[i]))
        .take_while(|t| t.kind == Kind::Word)
        .map(|t| t.lower.as_ref())
        .collect();
    let names: Vec<&str> = words.iter().map(|t| t.lower.as_ref()).collect();
    if gap_max == Gap::Block {
        return None;
    }
    // "12.81 V -> 12.47 V", "8 → 19".
    if matches!(between, "->" | "→" | "-->" | "=>") {
        return Some(Join::Change);
    }
    if words.is_empty() {
        // "20-25", "18 – 20".
        if matches!(between, "-" | "–" | "—" | "‑" | "−") && a.unit.is_none() {
            return Some(Join::Range);
        }
        // "fourteen, fifteen", "six, six point two": a hedge, where nothing else tells them apart.
        let hedge =
            between == "," && a.unit.is_none() && rises && high.high <= low.low * 1.35 + 1.0 && !a.article;
        return (hedge && tokens[a.tokens.start].kind == Kind::Word).then_some(Join::Range);
    }
    if gap_max >= Gap::Clause {
        return None;
    }
    match names.as_slice() {
        ["to"] if high.low == 1.0 && low.low >= 2.0 && b.unit.is_none() => None,
        ["to"] | ["till"] | ["until"] => {
            let from =
                lead.first().is_some_and(|w| *w == "from") || lead.get(1).is_some_and(|w| *w == "from");
            let moved = from && changes(tokens, a.tokens.start);
            if !rises || moved { Some(Join::Change) } else { Some(Join::Range) }
        }
        ["up" | "down" | "back", "to"] | ["up", "into"] => Some(Join::Change),
        ["and"] if lead.iter().take(3).any(|w| *w == "between") || lead.contains(&"betwixt") => {
            Some(Join::Range)
        }
        ["or"]
        | ["or", "maybe"]
        | ["or", "perhaps"]
        | ["maybe"]
        | ["possibly"]
        | ["perhaps"]
        | ["um" | "uh" | "er"]
        | ["maybe", "even"] => {
            (rises && high.high <= low.low * 2.0 + 1.0 && a.unit.is_none()).then_some(Join::Range)
        }
        ["plus", "or", "minus"] | ["give", "or", "take"] | ["±"] => Some(Join::Tolerance),
        _ => None,
    }
}

/// Whether a verb of change stands close in front: "went from 57 up to 66", "came up from".
fn changes(tokens: &[Token<'_>], at: usize) -> bool {
    (1..=6)
        .map_while(|n| at.checked_sub(n))
        .take_while(|&i| tokens[i + 1].gap < Gap::Clause)
        .any(|i| tokens[i].is_any(CHANGE) && !tokens[i].is("from"))
}

/// An open end, from the words around an amount.
fn bound(tokens: &[Token<'_>], amount: &Amount) -> Option<Bound> {
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let before = |n: usize| {
        start
            .checked_sub(n)
            .filter(|&i| (i + 1..=start).all(|k| tokens[k].gap <= Gap::Line))
            .map(|i| tokens[i].lower.as_ref())
    };
    let after = |n: usize| {
        (end..=end + n)
            .all(|k| tokens.get(k).is_some_and(|t| t.gap <= Gap::Line))
            .then(|| tokens[end + n].lower.as_ref())
    };
    // An "about", an article or a "the" may stand between.
    let skip = match before(1) {
        Some("a" | "an" | "the" | "my" | "our" | "about" | "just" | "say" | "around" | "his" | "her") => 1,
        _ => 0,
    };
    let (one, two, three) = (before(1 + skip), before(2 + skip), before(3 + skip));
    let negated = |word: Option<&str>| {
        matches!(
            word,
            Some(
                "never"
                    | "not"
                    | "no"
                    | "nor"
                    | "without"
                    | "don't"
                    | "won't"
                    | "shouldn't"
                    | "mustn't"
                    | "nothing"
                    | "isn't"
            )
        )
    };
    let arrow = start > 1 && tokens[start - 1].is_any(&[">", "→"]) && tokens[start - 1].gap >= Gap::Clause;
    let one = if arrow { None } else { one };
    let found = match (two, one) {
        (Some("more" | "greater" | "higher" | "longer" | "better" | "faster"), Some("than")) => {
            Some(Bound::Least)
        }
        (Some("less" | "fewer" | "lower" | "smaller"), Some("than")) => Some(Bound::Most),
        (Some("at"), Some("least")) => return Some(Bound::Least),
        (Some("at"), Some("most")) => return Some(Bound::Most),
        (Some("minimum" | "min"), Some("of")) => return Some(Bound::Least),
        (Some("maximum" | "max"), Some("of")) => return Some(Bound::Most),
        (Some("up"), Some("to")) => return None,
        // "half a foot under", "over the ground" are no bounds; those stand behind.
        (_, Some("over" | "above" | "exceeding" | "past" | "beyond" | "≥" | ">" | "minimum" | "min")) => {
            Some(Bound::Least)
        }
        (_, Some("under" | "below" | "within" | "inside" | "≤" | "<" | "maximum" | "max")) => {
            Some(Bound::Most)
        }
        _ => None,
    };
    if let Some(found) = found {
        let led = if matches!(one, Some("than")) { three } else { two };
        let far = before(4 + skip);
        // "I never want to see it over 195", "don't let her go past 40".
        let held = (3..=8)
            .map_while(|n| start.checked_sub(n))
            .take_while(|&i| tokens[i + 1].gap <= Gap::Line && tokens[i].kind == Kind::Word)
            .find(|&i| negated(Some(tokens[i].lower.as_ref())))
            .is_some_and(|i| {
                tokens[i + 1..start].iter().any(|t| {
                    t.is_any(&[
                        "see", "let", "want", "like", "have", "go", "run", "be", "get", "take", "allow",
                        "push", "drive",
                    ])
                })
            });
        let flipped = negated(led)
            || held
            || (matches!(
                led,
                Some(
                    "goes"
                        | "go"
                        | "went"
                        | "drops"
                        | "drop"
                        | "dropped"
                        | "saw"
                        | "let"
                        | "be"
                        | "fall"
                        | "got"
                        | "get"
                        | "gone"
                        | "anything"
                        | "any"
                )
            ) && (negated(three) || (matches!(one, Some("than")) && negated(far))));
        return Some(match (found, flipped) {
            (Bound::Least, true) => Bound::Most,
            (Bound::Most, true) => Bound::Least,
            (kept, false) => kept,
        });
    }
    match (after(0), after(1)) {
        (Some("or"), Some("more" | "better" | "over" | "above" | "higher" | "greater")) => Some(Bound::Least),
        (Some("or"), Some("less" | "under" | "below" | "lower" | "fewer")) => Some(Bound::Most),
        (Some("and" | "or"), Some("up" | "upwards")) => Some(Bound::Least),
        (Some("as" | "at"), Some("a" | "least"))
            if after(2) == Some("minimum") || after(1) == Some("least") =>
        {
            Some(Bound::Least)
        }
        // "The limit is sixteen, not under".
        _ if tokens
            .get(end)
            .is_some_and(|t| t.gap <= Gap::Comma && t.is_any(&["not", "never", "no", "nothing"]))
            && tokens.get(end + 2).is_none_or(|t| t.kind != Kind::Number && t.gap >= Gap::Comma) =>
        {
            match tokens.get(end + 1).map(|t| t.lower.as_ref()) {
                Some("under" | "below" | "less" | "lower") => Some(Bound::Least),
                Some("over" | "above" | "more" | "higher") => Some(Bound::Most),
                _ => None,
            }
        }
        // "It shall have sixteen at the least".
        (Some("at"), Some("the")) if after(2) == Some("least") => Some(Bound::Least),
        (Some("at"), Some("the")) if after(2) == Some("most") => Some(Bound::Most),
        (Some("minimum" | "min"), _) => Some(Bound::Least),
        (Some("maximum" | "max" | "tops"), _) | (Some("at"), Some("most")) => Some(Bound::Most),
        _ => None,
    }
}
