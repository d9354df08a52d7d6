//! Notation of logs: numbers that stand for what their place says, "Wind 240/15", "15 @ 60", "in 18, out 4".

use crate::grammar::GRAMMAR;
use crate::lexicon::Words;
use crate::number::Form;
use crate::quantity::{Dimension, Target, UnitAt};
use crate::token::Gap;
use crate::word::{WordList, key};

use super::carry::{Before, near};
use super::choose::bare_rig_load;
use super::context::{Context, Score};
use super::habits::of_the_log;
use super::speed::flavour;
use super::value::{Choice, assumed, best, build, fits, index, quantity};

/// What a number is by its place beside another, where a notation of logs says so.
pub(super) fn noted(
    context: &Context<'_, '_>,
    k: usize,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let degrees = context.amounts[k].unit.is_none_or(|u| u.dimension() == Dimension::Degree);
    let bearing = || degrees.then(|| bearing(context, k, scores, before)).flatten();
    let heat = |d| matches!(d, Dimension::Degree | Dimension::Temperature);
    let warm = context.amounts[k].unit.is_none_or(|u| heat(u.dimension()) || u.unit.symbol == "in");
    let run = || {
        let counts = context.habits.log_counts_miles && of_the_log(context.tokens(), &context.amounts[k]);
        counts.then(|| build(context, k, index("distance"), Some(assumed("nmi")), None)).flatten()
    };
    run()
        .or_else(|| bare_rig_load(context, k))
        .or_else(|| lies_to(context, k))
        .or_else(|| out_in(context, k))
        .or_else(bearing)
        .or_else(|| speed_behind_bearing(context, k, before))
        .or_else(|| warm.then(|| in_and_out(context, k)).flatten())
}

/// Words that may stand between the wind and the bearing that it comes from.
static FROM: Words = Words::new("from at the is was now dir direction true : about around");

/// "Wind 240/15", "wind from 240, 15 knots", "15-20 kt @ 240°": three figures are where the wind comes from; "22 @ 45" is
/// its angle.
fn bearing(context: &Context<'_, '_>, k: usize, scores: &[Score], before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    if amount.other.is_some() {
        return None;
    }
    // Most numbers stand behind neither a sign nor the wind, and are told so before anything is built.
    let at = start > 0 && tokens[start - 1].is("@");
    let wind = || {
        let lead = (1..=4)
            .map_while(|n| start.checked_sub(n))
            .take_while(|&i| tokens[i + 1].gap <= Gap::Clause)
            .find(|&i| !FROM.has(&tokens[i]));
        lead.is_some_and(|i| tokens[i].is_any(words!["wind", "winds", "breeze", "wnd", "twd", "gwd"]))
    };
    if !at && !wind() {
        return None;
    }
    let compass = build(context, k, index("wind_direction"), None, None)?;
    let value = compass.values.first()?.0;
    if !(0.0..=360.0).contains(&value) {
        return None;
    }
    let three = match amount.run.atoms.as_slice() {
        [one] => matches!(one.form, Form::Figures(3)),
        [a, b, c] => [a, b, c].iter().all(|atom| atom.form == Form::Digit),
        _ => false,
    };
    if at {
        let told = before.last().filter(|b| b.amount + 1 == k && near(context, b.amount, k))?;
        return match quantity(told.choice.quantity).name.as_str() {
            _ if three || value > 180.0 => quantity(told.choice.quantity).is_wind_speed().then_some(compass),
            "true_wind_speed" => build(context, k, index("true_wind_angle"), None, None),
            "apparent_wind_speed" | "wind_speed" => {
                build(context, k, index("apparent_wind_angle"), None, None)
            }
            _ => None,
        };
    }
    // Its speed follows.
    let next = context.amounts.get(k + 1)?;
    let close = next.tokens.start.saturating_sub(amount.tokens.end) <= 2
        && tokens[amount.tokens.end..=next.tokens.start].iter().all(|t| t.gap <= Gap::Comma);
    let speed = next.unit.map_or(next.run.candidates().first().is_some_and(|c| c.low <= 75.0), |u| {
        matches!(u.dimension(), Dimension::Speed | Dimension::Force)
    });
    let apparent = best(scores, &[Target::Apparent]) > 3.5;
    (three && close && speed && !apparent).then_some(compass)
}

/// "We were out in 35": what a boat is out in is the wind, whatever was told before.
fn out_in(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    /// Winds in which it is told so, knots. Common practice, no source.
    const WINDS: std::ops::RangeInclusive<f64> = 12.0..=70.0;
    let (tokens, amount) = (context.tokens(), &context.amounts[k]);
    let start = amount.tokens.start;
    let out = start >= 3
        && amount.unit.is_none()
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is("in")
        && tokens[start - 2].is("out")
        && tokens[start - 3].is_any(words!["were", "was", "been", "went", "go", "going", "got"])
        && tokens
            .get(amount.tokens.end)
            .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "for", "last"]));
    if !out || !amount.run.candidates().first().is_some_and(|c| WINDS.contains(&c.low)) {
        return None;
    }
    build(context, k, index(flavour(context, k, context.scores(k))), None, None)
}

/// "Hove to. Lay 50.": the angle to the wind at which a boat lies.
fn lies_to(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    /// As far in front as the way of lying may be named, in tokens.
    const REACH: usize = 40;
    /// Angles at which boats lie to. Common practice, no source.
    const ANGLES: std::ops::RangeInclusive<f64> = 20.0..=100.0;
    let (tokens, amount) = (context.tokens(), &context.amounts[k]);
    let start = amount.tokens.start;
    let lay = start > 0
        && amount.unit.is_none()
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["lay", "lies", "lying"])
        && tokens.get(amount.tokens.end).is_none_or(|t| t.gap >= Gap::Comma || t.is("off"));
    let to = || {
        tokens[start.saturating_sub(REACH)..start]
            .iter()
            .any(|t| t.is_any(words!["hove", "heave", "heaving", "anchor", "drogue", "parachute", "ahull"]))
    };
    if !lay || !to() || !amount.run.candidates().first().is_some_and(|c| ANGLES.contains(&c.low)) {
        return None;
    }
    build(context, k, index("apparent_wind_angle"), None, None)
}

/// "060/12": the wind's speed behind where it comes from.
fn speed_behind_bearing(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let told = before.last().filter(|b| b.amount + 1 == k)?;
    let from = context.amounts[told.amount].tokens.end;
    let slash = start == from + 1 && tokens[from].is("/") && context.amounts[k].unit.is_none();
    let bearing = quantity(told.choice.quantity).name == "wind_direction";
    if !(slash && bearing) {
        return None;
    }
    let choice = build(context, k, index(flavour(context, k, context.scores(k))), None, None)?;
    (choice.values.iter().all(|v| fits(quantity(choice.quantity).usual, v))).then_some(choice)
}

/// "In 18, out 4", "18° in, 4° out", "inside 18, outside 4": the cabin's and the air's, told beside each other.
fn in_and_out(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    const INSIDE: &WordList = words!["in", "inside", "indoors", "below"];
    const OUTSIDE: &WordList = words!["out", "outside", "outdoors"];
    let (inside, outside) = (place(context, k, INSIDE), place(context, k, OUTSIDE));
    let (name, own, others) = match (inside, outside) {
        (Some(side), _) => ("cabin_temperature", side, OUTSIDE),
        (None, Some(side)) => ("air_temperature", side, INSIDE),
        (None, None) => return None,
    };
    let beside = [k.checked_sub(1), Some(k + 1)].into_iter().flatten().any(|other| {
        context.amounts.get(other).is_some_and(|amount| {
            let (a, b) = if other < k { (other, k) } else { (k, other) };
            let between = context.amounts[a].tokens.end..context.amounts[b].tokens.start + 1;
            let heat = |u: UnitAt| {
                matches!(u.dimension(), Dimension::Degree | Dimension::Temperature) || u.unit.symbol == "in"
            };
            amount.unit.is_none_or(heat)
                && between.len() <= 5
                && context.tokens()[between].iter().all(|t| t.gap < Gap::Sentence)
                && place(context, other, others) == Some(own)
        })
    });
    if !beside {
        return None;
    }
    let scale = if context.habits.fahrenheit { "degF" } else { "degC" };
    let choice = build(context, k, index(name), Some(assumed(scale)), None)?;
    choice.values.iter().all(|v| fits(quantity(choice.quantity).usual, v)).then_some(choice)
}

/// On which side of a number one of these words stands right beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Front,
    Behind,
}

fn place(context: &Context<'_, '_>, k: usize, words: &WordList) -> Option<Side> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let front = amount.tokens.start.checked_sub(1).filter(|_| tokens[amount.tokens.start].gap <= Gap::Clause);
    if front.is_some_and(|i| tokens[i].is_any(words)) {
        return Some(Side::Front);
    }
    // The "in" behind a number may have been taken for inches.
    let last = amount.tokens.end - 1;
    let inches = amount.unit.is_some_and(|u| u.unit.symbol == "in") && tokens[last].is("in");
    // "Thirty four in the gusts".
    let goes_on = tokens
        .get(amount.tokens.end + usize::from(!inches))
        .is_some_and(|t| t.gap <= Gap::Line && GRAMMAR.determiners.has(t));
    let behind = tokens.get(amount.tokens.end).filter(|t| t.gap <= Gap::Line && !goes_on);
    let inches = inches && !goes_on;
    (inches && words.has(key("in")) || behind.is_some_and(|t| t.is_any(words))).then_some(Side::Behind)
}
