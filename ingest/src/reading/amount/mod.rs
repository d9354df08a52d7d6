//! Amounts: a number with its unit, its other end where it is a range, and its bound.

mod bound;
mod compound;
mod join;
mod share;
mod unit;

use std::ops::Range;

use crate::found::UtteranceKind;
use crate::number::{Atom, Form, Run, runs};
use crate::quantity::{Dimension, UnitAt};
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::word::WordList;

use super::reject::rejected;

use bound::bound;
use compound::compounds;
use join::joins;
use unit::{articles, misheard, with_unit};

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
    let runs = split_at_connectors(text, tokens, runs(tokens));
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
        let mut amount = with_unit(text, tokens, run);
        below_zero(tokens, &mut amount);
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
    let mut kept = compounds(tokens, kept);
    share::lend_labels(text, tokens, &mut kept);
    share::lend_back(tokens, &mut kept);
    let mut kept = joins(text, tokens, kept);
    for amount in &mut kept {
        amount.bound = bound(tokens, amount);
    }
    kept
}

/// "fourteen hundred thirty six amps", "fifteen hundred four point seven knots": an engine's revolutions, and right behind
/// them what was measured at them; nothing aboard is so much of its unit.
fn behind_hundreds(text: &str, tokens: &[Token<'_>], run: &Run) -> Option<(Run, Run)> {
    let [atom] = run.atoms.as_slice() else { return None };
    let hundred = (atom.start + 1..atom.end).find(|&i| tokens[i].is("hundred"))?;
    if atom.value < 500.0 || hundred + 1 == atom.end || tokens[hundred + 1].is("and") {
        return None;
    }
    let unit = crate::quantity::unit_at(text, tokens, atom.end)?;
    let too_much = matches!(
        unit.dimension(),
        Dimension::Current
            | Dimension::Voltage
            | Dimension::Speed
            | Dimension::Degree
            | Dimension::Temperature
            | Dimension::Percent
            | Dimension::RateHour
    ) || matches!(unit.unit.symbol.as_str(), "bar" | "psi");
    let rest = crate::number::atom_at(tokens, hundred + 1).filter(|rest| rest.end == atom.end)?;
    let hundreds = atom.value - rest.value;
    let revolutions = hundreds % 100.0 == 0.0 && (500.0..=3800.0).contains(&hundreds);
    let first = Atom { value: hundreds, start: atom.start, end: hundred + 1, form: Form::Large };
    (too_much && revolutions).then(|| (Run { atoms: vec![first] }, Run { atoms: vec![rest] }))
}

/// "four degrees below zero", "six below freezing": a sign that is said behind its number.
fn below_zero(tokens: &[Token<'_>], amount: &mut Amount) {
    /// How far in front the talk of frost is looked for, in tokens.
    const COLD_REACH: usize = 14;
    let behind = |n: usize, words: &WordList| {
        tokens.get(amount.tokens.end + n).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words))
    };
    let said = behind(0, words!["below", "under"]) && behind(1, words!["zero", "nought", "freezing"]);
    // "Four below tonight", "minus three and it was four below": a cabin is below too, but not at night or in a forecast.
    let cold = || {
        let led = &tokens[amount.tokens.start.saturating_sub(COLD_REACH)..amount.tokens.start];
        led.iter().any(|t| t.is_any(words!["minus", "forecast", "frost", "freezing", "fcst"]))
            || behind(1, words!["tonight", "overnight", "outside", "last"])
    };
    let frosty = !said && amount.unit.is_none() && behind(0, words!["below"]) && cold();
    if let [atom] = amount.run.atoms.as_mut_slice()
        && (said || frosty)
        && atom.value > 0.0
        && matches!(
            amount.unit.map(|u| u.unit.dimension),
            None | Some(Dimension::Temperature | Dimension::Degree)
        )
    {
        atom.value = -atom.value;
        amount.tokens.end += if said { 2 } else { 1 };
    }
}

/// "eight to ten two and a half to three metres": where connectors stand on both sides, two numbers met by chance.
fn split_at_connectors(text: &str, tokens: &[Token<'_>], runs: Vec<Run>) -> Vec<Run> {
    let mut out = Vec::with_capacity(runs.len());
    for run in runs {
        let range = run.tokens();
        if let Some((a, b)) = behind_hundreds(text, tokens, &run) {
            out.push(a);
            out.push(b);
            continue;
        }
        let to = |at: Option<usize>| {
            at.and_then(|i| tokens.get(i)).is_some_and(|t| t.is("to") && t.gap <= Gap::Line)
        };
        // "about a three twelve degrees": an article counts one thing, and what follows is another number.
        let counted = run.atoms.len() == 2
            && run.atoms[0].form == Form::Digit
            && run.atoms[1].form == Form::Small
            && range.start > 0
            && tokens[range.start].gap <= Gap::Line
            && tokens[range.start - 1].is_any(words!["a", "an"]);
        if counted {
            let (a, b) = run.split(1);
            out.push(a);
            out.push(b);
            continue;
        }
        // "D2 18": the first figure belongs to the letter that it is glued to.
        let named = run.atoms.len() >= 2
            && range.start > 0
            && tokens[range.start].gap == Gap::Glued
            && tokens[range.start].kind == crate::token::Kind::Number
            && tokens[range.start - 1].kind == crate::token::Kind::Word
            && tokens[range.start - 1].text.len() == 1;
        if named {
            let (a, b) = run.split(1);
            out.push(a);
            out.push(b);
            continue;
        }
        // "two 4.5 kg bottles", "two 90 litre tanks": a count in a word, a size in figures.
        let sized = run.atoms.len() == 2
            && run.atoms[0].form == Form::Digit
            && run.atoms[0].value >= 2.0
            && tokens[run.atoms[0].start].kind == crate::token::Kind::Word
            && tokens[run.atoms[1].start].kind == crate::token::Kind::Number;
        if sized {
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
