//! Amounts in two units, or with their decimals behind the unit: "two feet six", "twelve volts eight".

use crate::number::{Atom, Form, Run};
use crate::quantity::Dimension;
use crate::token::{Gap, Kind, Token};

use super::{Amount, gap_ok};

pub(super) fn compound_follows(tokens: &[Token<'_>], at: usize) -> bool {
    let at = if gap_ok(tokens, at, Gap::Line) && tokens[at].is("and") { at + 1 } else { at };
    gap_ok(tokens, at, Gap::Line)
        && crate::number::atom_at(tokens, at).is_some_and(|a| a.value >= 5.0 && a.value < 60.0)
}

/// Joins what is said in two units or in a unit and a rest: "four minutes ten", "2'6\"", "12V8", "4A2", "17 h 25 min".
pub(super) fn compounds(tokens: &[Token<'_>], amounts: Vec<Amount>) -> Vec<Amount> {
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
        [and] if and.is_any(words!["and", "&"]) && and.gap <= Gap::Line => true,
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
        (Dimension::Time, "min", None)
            if b < 60.0
                && b.fract() == 0.0
                && gap <= Gap::Line
                // "seven minutes two of us", "four minutes three attempts" count what follows.
                && (ends(tokens, small) || !and && b >= 10.0 && !counts(tokens, small))
                && (!and || b % 5.0 == 0.0) =>
        {
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
        (Dimension::Voltage | Dimension::Current, "V" | "A", None) if gap == Gap::Glued && b < 100.0 => {
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

/// Whether a word behind a number is a thing that it could count.
fn counts(tokens: &[Token<'_>], small: &Amount) -> bool {
    tokens.get(small.tokens.end).is_some_and(|t| {
        t.gap <= Gap::Line
            && t.kind == Kind::Word
            && t.lower.len() > 3
            && t.lower.ends_with('s')
            && !t.lower.ends_with("ss")
    })
}

/// Whether what is said ends behind a number: nothing that it could count follows.
fn ends(tokens: &[Token<'_>], small: &Amount) -> bool {
    tokens.get(small.tokens.end).is_none_or(|t| {
        t.gap >= Gap::Comma
            || t.is_any(words![
                "and", "with", "but", "so", "then", "which", "for", "to", "the", "she", "he", "they", "we",
                "i", "from", "on", "in", "before",
            ])
    })
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
            || t.is_any(words![
                "and", "with", "in", "at", "on", "the", "but", "now", "for", "of", "under", "over", "when",
                "so", "then", "today", "from", "by", "i", "we", "she", "it", "long", "wide", "high", "like",
                "as", "before", "after", "again", "only", "that",
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
pub(super) fn single(run: &Run) -> Option<f64> {
    match run.atoms.as_slice() {
        [one] => Some(one.value),
        _ => None,
    }
}
