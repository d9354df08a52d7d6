//! Values: what a number means as a quantity, in its canonical unit.

use crate::number::{Candidate, How, Run};
use crate::quantity::{Dimension, Quantity, Style, Target, Unit, UnitAt, convert, table, units};
use crate::token::Gap;

use super::amount::{Amount, Join};
use super::context::{Context, Score};

/// What an amount turned out to be.
#[derive(Clone, Debug)]
pub struct Choice {
    /// Index of the quantity.
    pub quantity: usize,
    /// One value, or two for a change; each low and high in the canonical unit.
    pub values: Vec<(f64, f64)>,
    /// The unit that it was read in.
    pub unit: Option<UnitAt>,
    /// Tokens of the cue that decided.
    pub cue: Option<(usize, usize)>,
    /// What may be wrong with it.
    pub doubts: Vec<String>,
    /// Tokens that say the same value in another unit.
    pub also: Option<(usize, usize)>,
}

/// A quantity by its index, its score, and the tokens of the cue that scored it.
pub(super) type Ranked = (usize, f32, Option<(usize, usize)>);

pub(super) fn index(name: &str) -> usize {
    table().index(name).expect("a quantity of the table")
}

pub(super) fn quantity(i: usize) -> &'static Quantity {
    &table().quantities[i]
}

pub(super) fn best(scores: &[Score], targets: &[Target]) -> f32 {
    scores.iter().filter(|s| targets.contains(&s.target)).map(|s| s.score).fold(0.0, f32::max)
}

pub(super) fn of(name: &str) -> Target {
    Target::Quantity(index(name))
}

/// A unit by its symbol, as if it had been said.
pub(super) fn assumed(symbol: &str) -> UnitAt {
    let unit: &'static Unit = units().by_symbol(symbol).expect("a unit of the file");
    UnitAt { unit, rate: None, end: 0 }
}

pub(super) fn fits(band: [f64; 2], c: &(f64, f64)) -> bool {
    c.0 >= band[0] - 1e-9 && c.1 <= band[1] + 1e-9
}

/// The meaning of a run that fits a quantity best, in its canonical unit.
pub(super) fn value_of(
    run: &Run,
    unit: Option<&UnitAt>,
    imperial: bool,
    q: &Quantity,
) -> Option<((f64, f64), How)> {
    let turn = |v: f64| -> Option<f64> {
        match unit {
            Some(u) => convert(u.to_base(v, imperial), u.dimension(), &q.unit),
            None => Some(v),
        }
    };
    let close_digits = matches!(
        run.atoms.as_slice(),
        [a, b] if a.value < b.value
            && b.value - a.value <= 2.0
            && b.value < 10.0
            && unit.is_some_and(|u| matches!(u.unit.dimension, Dimension::Length | Dimension::Time | Dimension::Distance))
    );
    // "seven nineteen" is 7.19 of few things: two decimals are told in one breath of pressures, volts and litres.
    let two = matches!(
        q.name.as_str(),
        "pressure" | "voltage" | "fuel_rate" | "current" | "length" | "fuel_volume" | "line_load"
    );
    let candidates: Vec<(Candidate, (f64, f64))> = run
        .candidates()
        .into_iter()
        .filter(|c| two || c.how != How::Decimal || ((c.low * 10.0).round() - c.low * 10.0).abs() < 1e-6)
        .filter_map(|c| Some((c, (turn(c.low)?, turn(c.high)?))))
        .collect();
    let rank = |how: How| -> u8 {
        let order: &[How] = match q.style {
            Style::Decimal => {
                &[How::Plain, How::Decimal, How::Pair, How::Hundreds, How::Digits, How::Again, How::Fused]
            }
            Style::Pair => {
                &[How::Plain, How::Pair, How::Digits, How::Decimal, How::Hundreds, How::Again, How::Fused]
            }
            Style::Whole => {
                &[How::Plain, How::Hundreds, How::Digits, How::Pair, How::Decimal, How::Again, How::Fused]
            }
            Style::Again => {
                &[How::Plain, How::Decimal, How::Again, How::Pair, How::Digits, How::Hundreds, How::Fused]
            }
            Style::Plain => {
                &[How::Plain, How::Pair, How::Again, How::Hundreds, How::Decimal, How::Digits, How::Fused]
            }
        };
        // "five six metres": one to the other, and not fifty-six.
        if close_digits && how == How::Pair && q.style == Style::Whole {
            return 0;
        }
        order.iter().position(|h| *h == how).unwrap_or(9) as u8
    };
    // Figures run together only in front of a spoken unit, and only for what is told in pairs or with one decimal.
    let runs_together = |v: &(f64, f64)| {
        let plain = candidates.iter().any(|(c, v)| c.how == How::Plain && fits(q.possible, v));
        unit.is_some_and(|u| u.end > 0)
            && match q.style {
                Style::Again => true,
                Style::Pair => v.0 < v.1 && (q.unit == "kn" || !plain),
                // Nobody says the nought of "nineteen point nought", and "85 C" is what is written.
                Style::Decimal => {
                    let figures = run.atoms.first().map_or(0.0, |a| a.value);
                    v.0 == v.1 && !plain && figures % 10.0 != 0.0 && (q.unit != "degC" || figures >= 100.0)
                }
                _ => false,
            }
    };
    // What is usual first, then the plainest; of equal ones the first.
    let order = |(c, v): &(Candidate, (f64, f64))| match c.how {
        How::Fused => (fits(q.usual, v) && runs_together(v)).then(|| (false, rank(c.how))),
        how => fits(q.possible, v).then(|| (!fits(q.usual, v), rank(how))),
    };
    let found = candidates.iter().filter_map(|c| Some((order(c)?, c))).min_by_key(|(order, _)| *order);
    found.map(|(_, (c, v))| (*v, c.how))
}

/// The values of an amount as a quantity: one, or two for a change.
pub(super) fn values(
    amount: &Amount,
    unit: Option<&UnitAt>,
    imperial: bool,
    q: &Quantity,
) -> Option<(Vec<(f64, f64)>, How)> {
    if let (Some(base), Some(unit)) = (amount.base, unit) {
        let v = convert(base, unit.dimension(), &q.unit)?;
        return fits(q.possible, &(v, v)).then(|| (vec![(v, v)], How::Plain));
    }
    let (first, how) = value_of(&amount.run, unit, imperial, q)?;
    match &amount.other {
        None => Some((vec![first], how)),
        Some((join, run)) => {
            let (second, other) = value_of(run, unit, imperial, q)?;
            let how = if how == How::Plain { other } else { how };
            Some(match join {
                Join::Range if first.0 <= second.1 => (vec![(first.0, second.1)], how),
                Join::Range => (vec![(second.0, first.1)], how),
                Join::Change => (vec![first, second], how),
                Join::Tolerance => (vec![(first.0 - second.1.abs(), first.1 + second.1.abs())], how),
            })
        }
    }
}

pub(super) fn build(
    context: &Context<'_, '_>,
    k: usize,
    i: usize,
    unit: Option<UnitAt>,
    cue: Option<(usize, usize)>,
) -> Option<Choice> {
    let amount = &context.amounts[k];
    let q = quantity(i);
    let in_metres = || {
        let unit = Some(assumed("m/s")).filter(|_| unit.is_none() && q.is_wind_speed())?;
        let found = values(amount, Some(&unit), context.habits.imperial, q)?;
        found.0.iter().all(|v| fits(q.usual, v)).then_some((found, Some(unit)))
    };
    let metres = (context.habits.winds_in_metres && !behind_knots(context, k)).then(in_metres).flatten();
    let ((values, how), unit) = match metres {
        Some(found) => found,
        None => (values(amount, unit.as_ref(), context.habits.imperial, q)?, unit),
    };
    let mut doubts = Vec::new();
    if how == How::Fused {
        doubts.push("the figures look like two numbers that were written as one".to_owned());
    }
    // A bank of twenty-four volts shows twice as much.
    let doubled = [2.0 * q.usual[0], 2.0 * q.usual[1]];
    let high = q.name == "voltage" && context.habits.high_bank && values.iter().all(|v| fits(doubled, v));
    let slow = unit.is_some() && q.name == "boat_speed" && values.iter().all(|v| v.1 < q.usual[0]);
    let drifts = || slow && is_drift(context, k);
    if !high && !values.iter().all(|v| fits(q.usual, v)) && q.usual != q.possible && !drifts() {
        doubts.push(format!("outside of what is usual for {}", q.name.replace('_', " ")));
    }
    Some(Choice { quantity: i, values, unit, cue, doubts, also: None })
}

/// "Hove to, drift 1.1 kn": a boat that lies to or is held back goes as slowly as that.
fn is_drift(context: &Context<'_, '_>, k: usize) -> bool {
    /// As far around as that is told, in tokens.
    const REACH: usize = 14;
    let amount = &context.amounts[k].tokens;
    let tokens = context.tokens();
    tokens[amount.start.saturating_sub(REACH)..tokens.len().min(amount.end + REACH)].iter().any(|t| {
        t.is_any(words![
            "drift",
            "drifts",
            "drifting",
            "drifted",
            "leeway",
            "hove",
            "forereaching",
            "forereach",
            "forereaches",
            "ahull",
            "drogue",
        ])
    })
}

/// "NW 26 kn gusts 31": whether the speed told right in front is in knots.
fn behind_knots(context: &Context<'_, '_>, k: usize) -> bool {
    /// As far in front as it may stand, in tokens.
    const REACH: usize = 8;
    let Some(before) = k.checked_sub(1).map(|k| &context.amounts[k]) else { return false };
    let knots = before.unit.is_some_and(|unit| unit.unit.symbol == "kn");
    let start = context.amounts[k].tokens.start;
    knots
        && start.saturating_sub(before.tokens.end) <= REACH
        && context.tokens()[before.tokens.end..=start].iter().all(|t| t.gap < Gap::Sentence)
}

/// The first of some quantities, by score, whose band the amount fits; outside the usual band costs a little.
pub(super) fn fitting(
    context: &Context<'_, '_>,
    k: usize,
    unit: Option<UnitAt>,
    ranked: &[Ranked],
) -> Option<Choice> {
    let mut found: Vec<(f32, Choice)> = Vec::new();
    for &(i, score, cue) in ranked {
        if let Some(choice) = build(context, k, i, unit, cue) {
            let usual = choice.values.iter().all(|v| fits(quantity(i).usual, v));
            found.push((if usual { score } else { score - 4.0 }, choice));
        }
    }
    found.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, c)| c)
}

pub(super) fn ranked(scores: &[Score], names: &[&str]) -> Vec<Ranked> {
    names
        .iter()
        .map(|name| {
            let i = index(name);
            let s = scores.iter().find(|s| s.target == Target::Quantity(i));
            (i, s.map_or(0.0, |s| s.score), s.map(|s| s.cue))
        })
        .collect()
}

pub(super) fn cue_of(scores: &[Score], target: Target) -> Option<(usize, usize)> {
    scores.iter().find(|s| s.target == target).map(|s| s.cue)
}
