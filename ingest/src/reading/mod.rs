//! Readings: a number, its quantity, its stance, its gear and its time put together.

mod amount;
mod bare;
mod beside;
mod carry;
mod choose;
mod context;
mod degree;
pub mod gear;
mod grid;
mod habits;
mod length;
mod measure;
mod metres;
mod noted;
mod reject;
mod repair;
mod speed;
mod told;
mod unnamed;
mod value;
mod volts;
mod wind;

use std::ops::Range;

use crate::found::{Reading, Reason, Stance};
use crate::quantity::table;
use crate::stance::{Stances, Verdict};
use crate::talk::Talk;
use crate::token::Gap;

use amount::{Amount, Bound};
use carry::Before;
use choose::choose;
use context::Context;
use grid::Grid;
use value::Choice;

pub use choose::OF_WHAT;
pub use measure::{Measure, measures};
pub(crate) use wind::is_point as is_compass_point;

/// Finds the readings of a note; spans are in the decoded text.
pub fn readings(talk: &Talk<'_>) -> Vec<Reading> {
    let grid = Grid::new(talk);
    let mut amounts = repair::corrected(talk, amount::amounts(talk, amount::Of::Boat));
    grid::lend_units(talk, &grid, &mut amounts);
    let points = wind::compass(&talk.tokens);
    let metres = metres::tell_winds(talk, &points, &mut amounts);
    let winds = winds(talk, points, &amounts);
    let mut habits = habits::habits(&talk.tokens, &amounts);
    habits.winds_in_metres = metres;
    habits.forces |= winds.iter().filter_map(|(_, a)| *a).any(|a| choose::tells_a_force(&amounts[a]));
    let mut context = Context::new(talk, amounts, winds, habits, grid);
    context.habits.fahrenheit_points = degree::fahrenheit_points(&context);
    context.habits.fahrenheit = context.habits.fahrenheit_points > 0;
    context.habits.rig_load = choose::rig_load(&context);
    let stances = Stances::new(talk);

    let mut chosen: Vec<(usize, Choice)> = Vec::new();
    let mut before: Vec<Before> = Vec::new();
    for k in 0..context.amounts.len() {
        if let Some(choice) = choose(&context, k, &before) {
            before.push(Before { amount: k, choice: choice.clone() });
            chosen.push((k, choice));
        }
    }
    repair::said_twice(&context, &mut chosen);

    let mut out: Vec<Reading> = Vec::new();
    for (k, choice) in &chosen {
        out.extend(build(&context, &stances, *k, choice));
    }
    for (point, amount) in &context.winds {
        let said = match amount {
            Some(k) => around(&context.amounts[*k].tokens, &point.tokens),
            None => point.tokens.clone(),
        };
        let verdict = in_its_place(&context, &stances, &said, "wind_direction");
        let end = match amount {
            Some(k)
                if context.amounts[*k].tokens.start >= point.tokens.end
                    && context.amounts[*k].tokens.start <= point.tokens.end + 2 =>
            {
                context.amounts[*k].run.tokens().end
            }
            _ => point.tokens.end,
        };
        let mut start = point.tokens.start;
        if start > 0
            && talk.tokens[start].gap <= Gap::Line
            && talk.tokens[start - 1].is_any(words!["the", "of", "is", "'s", "wind", "was", "from"])
        {
            start -= 1;
        }
        let reading = reading(
            talk,
            "wind_direction",
            (point.degrees, point.degrees),
            None,
            start..end,
            &verdict,
            &[],
            None,
        );
        out.push(reading);
    }
    out.sort_by_key(|r| (r.span.start, r.span.end));
    repair::without_repeats(talk, &mut out);
    out
}

fn around(a: &Range<usize>, b: &Range<usize>) -> Range<usize> {
    a.start.min(b.start)..a.end.max(b.end)
}

/// The compass points that are said of the wind, each with the amount that belongs to it.
fn winds(
    talk: &Talk<'_>,
    points: Vec<wind::Compass>,
    amounts: &[Amount],
) -> Vec<(wind::Compass, Option<usize>)> {
    let tokens = &talk.tokens;
    let mut out = Vec::new();
    for point in points {
        let next = amounts.partition_point(|a| a.tokens.start < point.tokens.end);
        // A "W" behind a number is its watts.
        if next.checked_sub(1).is_some_and(|i| amounts[i].tokens.end > point.tokens.start) {
            continue;
        }
        let follows = amounts.get(next).filter(|a| {
            let words = &tokens[point.tokens.end..a.tokens.start];
            let speed = a.unit.is_none_or(|u| {
                matches!(
                    u.unit.dimension,
                    crate::quantity::Dimension::Speed | crate::quantity::Dimension::Force
                )
            });
            words.len() <= 6
                && tokens[point.tokens.end..=a.tokens.start].iter().all(|t| t.gap <= Gap::Comma)
                && words.iter().all(|t| t.is_any(wind::FILLERS))
                && speed
                && (a.unit.is_some() || stands(tokens, a.tokens.end))
        });
        let leads = next.checked_sub(1).map(|i| &amounts[i]).filter(|a| {
            let words = &tokens[a.tokens.end..point.tokens.start];
            let from = words.iter().any(|t| t.is_any(words!["from", "out"]));
            let speed = a.unit.map_or(from, |u| {
                matches!(
                    u.unit.dimension,
                    crate::quantity::Dimension::Speed | crate::quantity::Dimension::Force
                )
            });
            // "14 kn W", "ten knots southerly".
            // "F4 SE".
            let force = a.unit.is_none()
                && a.tokens.start > 0
                && tokens[a.tokens.start - 1].is_any(words!["f", "force", "bft"]);
            let speed = speed || force;
            let beside =
                words.is_empty() && (a.unit.is_some() || force) && speed && (point.letters || point.erly);
            words.len() <= 5
                && (from || beside)
                && tokens[a.tokens.end..=point.tokens.start].iter().all(|t| t.gap <= Gap::Comma)
                && words.iter().all(|t| {
                    t.is_any(words![
                        "from",
                        "the",
                        "out",
                        "of",
                        "true",
                        "apparent",
                        "coming",
                        "wind",
                        "a",
                        "in",
                        "knots",
                        "maybe",
                        "perhaps",
                        "about",
                        "or",
                        "so",
                        "wednesday",
                        "thursday",
                        "friday",
                        "saturday",
                        "sunday",
                        "monday",
                        "tuesday",
                        "tomorrow",
                        "tonight",
                    ])
                })
                && speed
        });
        if wind::of_wind(tokens, &point, follows.is_some(), leads.is_some()) {
            let amount = if follows.is_some() { Some(next) } else { leads.map(|_| next - 1) };
            out.push((point, amount));
        }
    }
    out
}

/// Whether a bare number behind a compass point counts nothing: "south west four", not "north two buoys".
fn stands(tokens: &[crate::token::Token<'_>], end: usize) -> bool {
    tokens.get(end).is_none_or(|t| {
        t.gap >= Gap::Comma
            || context::is_light(t)
            || t.kind != crate::token::Kind::Word
            || t.lower.len() > 3 && !t.lower.ends_with('s')
            || t.is_any(words!["maybe", "gusts", "gusting", "g"])
    })
}

/// The stance of a number of this quantity: what its column of a table says, else what the words around it say.
fn in_its_place(
    context: &Context<'_, '_>,
    stances: &Stances<'_, '_>,
    number: &Range<usize>,
    quantity: &str,
) -> Verdict {
    if let Some((stance, words)) = context.column_stance(number.start) {
        return Verdict { stance, words: Some(words) };
    }
    let verdict = stances.of(number, quantity);
    let outside = verdict.words.as_ref().is_some_and(|w| context.speaks_from_outside(number.start, w));
    if outside { stances.unsaid(number, quantity) } else { verdict }
}

/// The readings of one amount: one, or two where it tells a change.
fn build(context: &Context<'_, '_>, stances: &Stances<'_, '_>, k: usize, choice: &Choice) -> Vec<Reading> {
    let amount = &context.amounts[k];
    let compass = context.compass_of[k].as_ref();
    let talk = context.talk;
    let name = table().quantities[choice.quantity].name.as_str();
    let verdict = in_its_place(context, stances, &amount.tokens, name);
    // What is forecast or remembered was not read off a display that is set to true or apparent.
    let elsewhere = matches!(verdict.stance, Stance::Forecast | Stance::Recalled | Stance::Hypothetical)
        && matches!(name, "true_wind_speed" | "apparent_wind_speed")
        && speed::by_habit(context, k);
    let name = if elsewhere { "wind_speed" } else { name };
    // "Inside 18, outside 4" are places.
    let placed = || {
        name.ends_with("temperature")
            && amount.tokens.start.checked_sub(1).is_some_and(|i| talk.tokens[i].is("inside"))
    };
    let bound = amount.bound.filter(|_| amount.other.is_none() && choice.values.len() == 1 && !placed());
    let mut quote = with_cue(talk, amount, choice.cue, compass);
    if let Some((start, end)) = choice.also {
        quote = quote.start.min(start)..quote.end.max(end);
    }
    choice
        .values
        .iter()
        .map(|value| {
            reading(
                talk,
                name,
                *value,
                bound,
                quote.clone(),
                &verdict,
                &choice.doubts,
                choice.unit.filter(|_| amount.unit.is_some()).map(|_| amount),
            )
        })
        .collect()
}

/// The words of an amount, with the cue that named it where it stands close by; figures alone take a word along, so
/// that a quote says something by itself.
fn with_cue(
    talk: &Talk<'_>,
    amount: &Amount,
    cue: Option<(usize, usize)>,
    compass: Option<&Range<usize>>,
) -> Range<usize> {
    let tokens = &talk.tokens;
    let mut range = amount.tokens.clone();
    let cue = compass.map(|c| (c.start, c.end)).or(cue);
    if let Some((start, end)) = cue {
        let (from, to) = (start.min(range.start), end.max(range.end));
        let near = tokens[from + 1..to].iter().all(|t| t.gap < Gap::Sentence);
        if near && end <= range.start && range.start - end <= 5 {
            range.start = start;
        } else if near && start >= range.end && start - range.end <= 2 {
            range.end = end;
        }
    }
    // "fifty's the floor": the word as it stands.
    if tokens.get(range.end).is_some_and(|t| t.gap == Gap::Glued && t.is("'s")) {
        range.end += 1;
    }
    if tokens[range.clone()].iter().all(|t| t.kind != crate::token::Kind::Word) {
        let before = range.start.checked_sub(1).filter(|_| tokens[range.start].gap < Gap::Sentence);
        let after = Some(range.end).filter(|&i| tokens.get(i).is_some_and(|t| t.gap < Gap::Sentence));
        match (before, after) {
            (Some(i), _) if tokens[range.start].gap <= Gap::Line || after.is_none() => range.start = i,
            (_, Some(_)) => range.end += 1,
            (Some(i), None) => range.start = i,
            (None, None) => {
                // A table's cell says something with its row in front of it, its first one with the next.
                let row = tokens[range.start].utterance;
                let near = range.start.saturating_sub(6);
                match (near..range.start).find(|&i| tokens[i].utterance == row) {
                    Some(first) => range.start = first,
                    None if tokens.get(range.end).is_some_and(|t| t.utterance == row) => {
                        let next = &tokens[range.end + 1..];
                        let more = next.iter().take_while(|t| t.utterance == row && t.gap < Gap::Sentence);
                        range.end += 1 + more.count();
                    }
                    None => {}
                }
            }
        }
    }
    range
}

#[expect(clippy::too_many_arguments, reason = "the parts of one reading, put together in one place")]
fn reading(
    talk: &Talk<'_>,
    quantity: &str,
    value: (f64, f64),
    bound: Option<Bound>,
    tokens: Range<usize>,
    verdict: &Verdict,
    doubts: &[String],
    said: Option<&Amount>,
) -> Reading {
    let q = &table().quantities[table().index(quantity).expect("a quantity of the table")];
    let unit_said =
        said.and_then(|a| a.unit_tokens.clone()).map(|range| talk.quote(range)).unwrap_or_default();
    let span = talk.span(tokens.clone());
    let mut because = vec![Reason { of: "quantity".to_owned(), what: quantity.to_owned(), span }];
    if let Some(words) = &verdict.words {
        because.push(Reason {
            of: "stance".to_owned(),
            what: verdict.stance.name().to_owned(),
            span: talk.span(words.clone()),
        });
    }
    let (low, high) = match bound {
        Some(Bound::Least) => (Some(value.0), None),
        Some(Bound::Most) => (None, Some(value.1)),
        None => (Some(value.0), Some(value.1)),
    };
    Reading {
        quantity: quantity.to_owned(),
        low,
        high,
        unit: q.unit.clone(),
        unit_said,
        stance: verdict.stance,
        gear: None,
        at: talk.at(tokens.start),
        span,
        quote: talk.quote(tokens),
        doubts: doubts.to_vec(),
        because,
    }
}
