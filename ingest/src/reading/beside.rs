//! Numbers without a unit that go on from the figure told right in front of them: the angle that a speed is told at, a wind
//! that eases.

use crate::number::Form;
use crate::token::Gap;

use super::carry::{Before, near};
use super::context::Context;
use super::value::{Choice, build, index, quantity};

/// "40 min on 315, fine", "the pilot held two ninety": a course in three figures, of what steers.
pub(super) fn steered(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    /// How far in front what steers may be named, in tokens.
    const REACH: usize = 14;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let led = start > 0
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1]
            .is_any(words!["on", "held", "steered", "holding", "steering", "steers", "steer"]);
    let figures = match amount.run.atoms.as_slice() {
        [one] => {
            matches!(one.form, Form::Figures(3))
                || matches!(one.form, Form::Large)
                    && (100.0..=360.0).contains(&one.value)
                    && one.value % 5.0 == 0.0
        }
        [a, b] => a.form == Form::Digit && b.form == Form::Small && b.value >= 10.0,
        _ => false,
    };
    let steers = tokens[start.saturating_sub(REACH)..start].iter().any(|t| {
        t.is_any(words![
            "pilot",
            "autopilot",
            "vane",
            "windvane",
            "steered",
            "steering",
            "steers",
            "steer",
            "tack",
            "helm",
            "course",
            "wheel",
            "tiller",
        ])
    });
    if !(led && figures && steers) || amount.other.is_some() {
        return None;
    }
    build(context, k, index("heading"), None, None)
}

/// "southwest fifteen to twenty, going down to ten": the wind goes on.
pub(super) fn eases_to(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let b = before
        .last()
        .filter(|b| near(context, b.amount, k) && quantity(b.choice.quantity).is_wind_speed())?;
    let words = tokens.get(context.amounts[b.amount].tokens.end..start)?;
    let goes = words.iter().any(|t| {
        t.is_any(words![
            "going",
            "dropping",
            "easing",
            "falling",
            "rising",
            "building",
            "increasing",
            "decreasing"
        ])
    });
    let to = words.last().is_some_and(|t| t.is("to")) && words.len() <= 6;
    let joined = words.iter().all(|t| t.gap < Gap::Sentence) && tokens[start].gap <= Gap::Line;
    (goes && to && joined).then(|| build(context, k, b.choice.quantity, None, None)).flatten()
}

/// "In fourteen knots true she goes to windward at five point one": far less than the wind, and to the tenth.
pub(super) fn goes_at(context: &Context<'_, '_>, k: usize, before: &[Before], choice: &Choice) -> bool {
    let amount = &context.amounts[k];
    let tokens = context.tokens();
    let start = amount.tokens.start;
    let tenths = amount.unit.is_none() && amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(1)));
    let wind = |c: &Choice| quantity(c.quantity).is_wind_speed();
    let told = before.last().filter(|b| near(context, b.amount, k) && wind(&b.choice));
    let slow =
        told.is_some_and(|b| b.choice.values.iter().all(|w| choice.values.iter().all(|v| w.0 >= 1.8 * v.1)));
    let from = told.map_or(start, |b| context.amounts[b.amount].tokens.end);
    let she = tokens[from.min(start)..start].iter().any(|t| {
        t.is_any(words![
            "goes", "went", "makes", "made", "did", "does", "sails", "sailed", "gave", "gives", "doing"
        ])
    });
    tenths && wind(choice) && slow && she
}

/// "6.4 knots at 45 apparent": the angle to the wind that a boat's speed is told at.
pub(super) fn angle_of_a_speed(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let b = before.last().filter(|b| b.amount + 1 == k)?;
    let speed = matches!(quantity(b.choice.quantity).name.as_str(), "boat_speed" | "speed_over_ground");
    let start = amount.tokens.start;
    let (told, unit) = (&context.amounts[b.amount], context.amounts[b.amount].unit?);
    let led = start == told.tokens.end.max(unit.end) + 1
        && tokens[start - 1].is("at")
        && tokens[start].gap <= Gap::Line;
    let name = match tokens.get(amount.tokens.end).filter(|t| t.gap <= Gap::Line)? {
        t if t.is("apparent") => "apparent_wind_angle",
        t if t.is("true") => "true_wind_angle",
        _ => return None,
    };
    let choice = build(context, k, index(name), None, None)?;
    (speed && led && choice.values.iter().all(|v| v.0 >= 20.0)).then_some(choice)
}

/// "thirty-one apparent on fifty-five", "twenty-two at one-forty": the angle behind the wind's speed.
pub(super) fn angle_behind_speed(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let b = before.last().filter(|b| b.amount + 1 == k)?;
    let name = match quantity(b.choice.quantity).name.as_str() {
        "apparent_wind_speed" => "apparent_wind_angle",
        "true_wind_speed" => "true_wind_angle",
        _ => return None,
    };
    let start = amount.tokens.start;
    let words = &tokens[context.amounts[b.amount].tokens.end..start];
    let joined = words.iter().all(|t| t.gap <= Gap::Line) && tokens[start].gap <= Gap::Line;
    let led = words.last().is_some_and(|t| t.is_any(words!["on", "at"])) && words.len() <= 2;
    let choice = build(context, k, index(name), None, None)?;
    let told = b.choice.values.last().map_or(0.0, |v| v.1);
    (joined && led && choice.values.iter().all(|v| v.0 >= 28.0 && v.0 > told)).then_some(choice)
}
