//! Units said once for several numbers: behind the last of a list, or in a label in front of it.

use std::ops::Range;

use crate::number::Form;
use crate::quantity::{Dimension, Strength, Target, UnitAt, cues, table, unit_named, units};
use crate::token::{Gap, Kind, Token};

use super::Amount;

/// Most words of a label: "Draw at anchor (A):".
const LABEL: usize = 6;
/// How far apart two numbers may lie that share a unit with nothing but "and" between them, as a ratio.
const ALIKE: f64 = 2.5;
/// The same, for neighbours in a list of three or more: "WSW 4, 1009, 4 C" tells three things.
const LISTED: f64 = 6.0;
/// Below it a whole number in front of "and" may count.
const COUNTED: f64 = 4.0;

/// Lends the unit of the last number of a list to those before it: "4.1, 3.2 and 1.9 amps".
pub(super) fn lend_back(tokens: &[Token<'_>], amounts: &mut [Amount]) {
    for last in (1..amounts.len()).rev() {
        let Some(unit) = amounts[last].unit.filter(|_| amounts[last].unit_tokens.is_some()) else { continue };
        if matches!(
            unit.dimension(),
            Dimension::Time | Dimension::Pound | Dimension::Frequency | Dimension::Data
        ) {
            continue;
        }
        let mut first = last;
        while first > 0
            && amounts[first - 1].unit.is_none()
            && amounts[first - 1].base.is_none()
            && follows(tokens, &amounts[first - 1], &amounts[first])
            && ratio(&amounts[first - 1], &amounts[first]).is_some_and(|ratio| ratio <= LISTED)
        {
            first -= 1;
        }
        let and = tokens[amounts[last].tokens.start - 1].is("and");
        let pair = first + 1 == last && and && are_alike(&amounts[first], &amounts[last]);
        if last >= first + 2 || pair {
            for amount in &mut amounts[first..last] {
                amount.unit = Some(UnitAt { end: 0, ..unit });
            }
        }
    }
}

/// Whether a number stands behind another with nothing but a comma or "and" between them.
fn follows(tokens: &[Token<'_>], before: &Amount, amount: &Amount) -> bool {
    let gap = |at: usize| tokens[at].gap;
    match &tokens[before.tokens.end..amount.tokens.start] {
        [] => gap(amount.tokens.start) == Gap::Comma,
        [and] => and.is("and") && and.gap <= Gap::Comma && gap(amount.tokens.start) <= Gap::Line,
        _ => false,
    }
}

/// How many times the smaller of two numbers the larger is; none where one is nothing or less.
fn ratio(a: &Amount, b: &Amount) -> Option<f64> {
    let value = |amount: &Amount| amount.run.candidates().first().map(|c| c.low).filter(|low| *low > 0.0);
    let (a, b) = (value(a)?, value(b)?);
    Some(a.max(b) / a.min(b))
}

/// Whether two numbers are told in one way and lie near each other. Small whole ones count: "one and two metres".
fn are_alike(a: &Amount, b: &Amount) -> bool {
    let decimal = |amount: &Amount| amount.run.atoms.iter().any(|atom| matches!(atom.form, Form::Decimal(_)));
    let counts = |amount: &Amount| {
        !decimal(amount) && amount.run.candidates().first().is_some_and(|c| c.low < COUNTED)
    };
    decimal(a) == decimal(b)
        && a.run.atoms.len() == b.run.atoms.len()
        && !counts(a)
        && !counts(b)
        && ratio(a, b).is_some_and(|ratio| ratio <= ALIKE)
}

/// Lends the unit that a label names to the numbers behind its colon: "Draw (A): fridge 4.1, radar 3.2".
pub(super) fn lend_labels(text: &str, tokens: &[Token<'_>], amounts: &mut [Amount]) {
    let mut k = 0;
    for colon in 1..tokens.len() {
        if tokens[colon].gap < Gap::Clause
            || !text[tokens[colon - 1].span.end..tokens[colon].span.start].contains(':')
        {
            continue;
        }
        let Some(unit) = label_unit(tokens, colon) else { continue };
        let end = (colon + 1..tokens.len()).find(|&i| tokens[i].gap >= Gap::Sentence).unwrap_or(tokens.len());
        k += amounts[k..].partition_point(|amount| amount.tokens.start < colon);
        for amount in amounts[k..].iter_mut().take_while(|amount| amount.tokens.start < end) {
            if amount.unit.is_none() && amount.base.is_none() && is_item(tokens, amount, colon) {
                amount.unit = Some(UnitAt { end: 0, ..unit });
            }
        }
    }
}

/// The unit that the words in front of a colon end in: "Amps:", "Solar W:", "Draw (A):".
fn label_unit(tokens: &[Token<'_>], colon: usize) -> Option<UnitAt> {
    let from =
        (colon.saturating_sub(LABEL)..colon).rev().find(|&i| i == 0 || tokens[i].gap >= Gap::Sentence)?;
    let words: Range<usize> = from..colon;
    if words.clone().any(|i| tokens[i].kind == Kind::Number) {
        return None;
    }
    let last = colon - 1;
    let letter = || units().by_symbol(tokens[last].text).filter(|_| tokens[last].text.len() <= 3);
    let named = unit_named(tokens, last).filter(|unit| unit.end == colon);
    let unit = named.or_else(|| letter().map(|unit| UnitAt { unit, rate: None, end: 0 }))?;
    // A "meter" may be the instrument; lengths and times are told by what they measure.
    use Dimension as D;
    let told = matches!(
        unit.dimension(),
        D::Current | D::Voltage | D::Power | D::Charge | D::Energy | D::Percent | D::RateHour | D::RateMinute
    );
    let named_too =
        words.len() > 1 && matches!(unit.dimension(), D::Speed | D::Revolutions | D::Temperature | D::Load);
    (told || named_too).then_some(unit)
}

/// Whether a number is told as an item of a labelled list: first, or behind a comma and at most the name of a thing.
fn is_item(tokens: &[Token<'_>], amount: &Amount, colon: usize) -> bool {
    let start = amount.tokens.start;
    let Some(begins) = (start.saturating_sub(3).max(colon)..=start)
        .rev()
        .find(|&i| i == colon || tokens[i].gap == Gap::Comma)
    else {
        return false;
    };
    // "Volts: 12.6, baro 1012, draw 3.2": another quantity's name takes its number. A fridge and a cabin, which have
    // temperatures, draw current as well.
    let name = &tokens[begins..start];
    let warm = |target| matches!(target, Target::Quantity(i) if table().quantities[i].unit == "degC");
    let other = cues(name).iter().any(|cue| cue.strength != Strength::Hint && !warm(cue.target));
    begins == colon && name.is_empty()
        || !name.is_empty()
            && !other
            && !name
                .iter()
                .any(|t| t.is_any(words!["at", "after", "in", "for", "from", "with", "draw", "load"]))
}
