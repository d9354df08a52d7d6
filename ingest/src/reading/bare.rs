//! Numbers without a unit: what names them, or what they carry on.

use crate::number::{Form, How};
use crate::quantity::{Dimension, Quantity, Target, UnitAt};
use crate::token::Gap;

use super::amount::Amount;
use super::carry::{Before, carry, speed_again, strong_carry};
use super::context::{Context, Score};
use super::degree::{bare_angle, chain_is_out, temperature};
use super::speed::{bare_force, bare_wind, finish_speed, flavour};
use super::unnamed::{
    blows_over, by_topic, frost, glass_by_shape, heat_by_context, it_blows, revs_by_context, the_worst_one,
    volts_by_context,
};
use super::value::{Choice, assumed, best, build, fits, index, of, quantity};

/// The smallest score that a bare number needs of the words around it.
pub(super) const BARE: f32 = 5.0;

pub(super) fn barometric(amount: &Amount) -> bool {
    matches!(amount.run.atoms.as_slice(), [one] if (28.0..=31.6).contains(&one.value) && matches!(one.form, Form::Decimal(2)))
}

pub(super) fn bare(
    context: &Context<'_, '_>,
    k: usize,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let amount = &context.amounts[k];
    if let Some(choice) = the_worst_one(context, k, before) {
        return Some(choice);
    }
    let compass = context.with_compass[k];
    let surely = scores.iter().any(|s| s.named && s.before && s.score >= 9.2);
    if !compass
        && (!context.stands_alone(amount, surely)
            || counts_nothing(context, k, surely)
            || restates(context, k, before))
    {
        return None;
    }
    if let Some(choice) = bare_force(context, k, scores, before) {
        return Some(choice);
    }
    if chain_is_out(context, k) {
        let unit = assumed(if context.habits.feet { "ft" } else { "m" });
        return build(context, k, index("length"), Some(unit), None);
    }
    if gusts_follow(context, k) {
        return finish_speed(context, k, None, flavour(context, k, scores), scores);
    }
    if compass {
        return bare_wind(context, k, scores, Target::Wind);
    }
    let strong = strong_carry(context, k, before);
    let named: Vec<&Score> = scores.iter().filter(|s| s.named && s.score >= BARE).collect();
    let mut found: Vec<(f32, bool, Choice)> = Vec::new();
    let mut temperatures = false;
    for s in &named {
        let choice = match s.target {
            Target::Wind | Target::Apparent | Target::True => bare_wind(context, k, scores, s.target),
            Target::EngineWater => {
                temperatures = true;
                None
            }
            Target::Quantity(i) => {
                let q = quantity(i);
                match q.name.as_str() {
                    _ if !q.bare => None,
                    "air_temperature" | "cabin_temperature" | "sea_temperature" | "engine_temperature" => {
                        temperatures = true;
                        None
                    }
                    "boat_speed"
                    | "speed_over_ground"
                    | "wind_gust"
                    | "speed_change"
                    | "apparent_wind_speed"
                    | "true_wind_speed"
                    | "wind_speed" => finish_speed(context, k, None, q.name.as_str(), scores),
                    "apparent_wind_angle" => bare_angle(context, k, scores, s),
                    // "current 12" is told of a battery as well; a tide is not.
                    "stream_speed"
                        if !context.tokens()[s.cue.0].is_any(&["tide", "ebb", "flood", "stream"]) =>
                    {
                        None
                    }
                    // "takes one point four": amperes are the only thing taken in decimals without a unit.
                    "current" if !amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_))) => None,
                    "rig_tension" | "gauge_reading" => bare_rig(context, k, scores, s),
                    // An alarm may be the bilge's or the anchor's.
                    "co_level" if !fumes(context, s) => None,
                    _ => build(context, k, i, bare_unit(context, k, q, before), Some(s.cue)),
                }
            }
        };
        if let Some(choice) = choice {
            let q = quantity(choice.quantity);
            let usual = choice.values.iter().all(|v| fits(q.usual, v));
            let shape = if shape_fits(&q.name, amount) { 0.0 } else { 5.0 };
            if usual {
                found.push((s.score - shape, s.before, choice));
            }
        }
    }
    if temperatures && let Some((choice, top)) = temperature(context, k, None, scores, before) {
        let q = quantity(choice.quantity);
        let usual = choice.values.iter().all(|v| fits(q.usual, v));
        if usual || top > 10.0 && q.name != "engine_temperature" {
            found.push((top, true, choice));
        }
    }
    let top = found.into_iter().filter(|(s, ..)| *s >= BARE - 0.5).max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((score, in_front, choice)) = top {
        // Carrying on beats a name from far away, and one that only comes behind.
        let carried = if score < 9.0 || !in_front && score < 10.4 { strong } else { None };
        let carried = if score < 7.0 { carried.or_else(|| carry(context, k, before)) } else { carried };
        return Some(carried.unwrap_or(choice));
    }
    if strong.is_some() {
        return strong;
    }
    // A barometer in inches needs no name: nothing else aboard reads 29.88.
    if barometric(amount) && context.tokens()[amount.tokens.start].kind == crate::token::Kind::Number {
        return build(context, k, index("pressure"), Some(assumed("inHg")), None);
    }
    if blows_over(context, k)
        && let Some(choice) = it_blows(context, k, scores)
    {
        return Some(choice);
    }
    revs_by_context(context, k, before)
        .or_else(|| heat_by_context(context, k))
        .or_else(|| frost(context, k, scores))
        .or_else(|| carry(context, k, before))
        .or_else(|| by_topic(context, k))
        .or_else(|| volts_by_context(context, k))
        .or_else(|| glass_by_shape(context, k, before))
        .or_else(|| speed_again(context, k, before))
        .or_else(|| it_blows(context, k, scores))
}

/// "we had 22 to 26, gusting 31": what gusts are told behind is the wind.
fn gusts_follow(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let end = context.amounts[k].tokens.end;
    let next = context.amounts.get(k + 1).map_or(0, |a| a.tokens.start);
    next > end
        && next - end <= 3
        && tokens[end..next].iter().all(|t| t.gap <= Gap::Comma)
        && tokens[end..next].iter().any(|t| t.is_any(&["gusting", "gusts", "gusted", "gust"]))
        && context.amounts[k].run.candidates().first().is_some_and(|c| (4.0..=70.0).contains(&c.low))
}

/// Whether a cue is of the carbon monoxide: it says so, or no other kind of alarm is named near.
fn fumes(context: &Context<'_, '_>, s: &Score) -> bool {
    let tokens = context.tokens();
    let named = |t: &crate::token::Token<'_>| t.is_any(&["co", "monoxide", "ppm", "carbon"]);
    tokens[s.cue.0..s.cue.1].iter().any(named)
        || !tokens[s.cue.0.saturating_sub(10)..(s.cue.1 + 6).min(tokens.len())].iter().any(|t| {
            t.is_any(&[
                "bilge",
                "water",
                "anchor",
                "depth",
                "smoke",
                "ais",
                "radar",
                "oil",
                "engine",
                "float",
                "course",
                "pilot",
                "clock",
                "wind",
                "voltage",
                "volts",
                "battery",
                "drag",
                "shallow",
                "cpa",
                "gas",
                "set",
                "temperature",
            ])
        })
}

/// A lone "one" or "half", "not seven": numbers that count or measure nothing by themselves.
pub(super) fn counts_nothing(context: &Context<'_, '_>, k: usize, surely: bool) -> bool {
    let amount = &context.amounts[k];
    let tokens = context.tokens();
    let [atom] = amount.run.atoms.as_slice() else { return false };
    let signed = atom.value < 0.0 || tokens[atom.start].is_any(&["plus", "+"]);
    // "outside one", "minus one on deck".
    let last = tokens
        .get(amount.tokens.end)
        .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(&["and", "degree", "degrees"]));
    if signed || (surely && last) {
        return false;
    }
    let before = atom.start.checked_sub(1).map(|i| &tokens[i]);
    let led = |words: &[&str]| before.is_some_and(|t| t.is_any(words));
    if atom.form == Form::Fraction && atom.value < 1.0 {
        return true;
    }
    if atom.form == Form::Digit && atom.value <= 2.0 && amount.other.is_none() {
        let fine = if atom.value == 1.0 {
            &["force", "to", "be", "a", "about"][..]
        } else {
            &["force", "to", "be", "a", "is", "'s", "was", "under", "over", "seas", "about", "or"][..]
        };
        return !led(fine) && atom.value != 0.0;
    }
    led(&["not"]) && before.is_some_and(|t| t.gap == Gap::Sentence)
}

/// "that's eight and a bit", said of what was just told in another unit.
pub(super) fn restates(context: &Context<'_, '_>, k: usize, before: &[Before]) -> bool {
    let amount = &context.amounts[k];
    let tokens = context.tokens();
    let Some(value) = amount.run.candidates().first().map(|c| c.low) else { return false };
    before.iter().rev().take(3).any(|b| {
        let prior = &context.amounts[b.amount];
        let q = quantity(b.choice.quantity);
        let foreign = b.choice.unit.is_some_and(|u| {
            matches!(
                u.unit.symbol.as_str(),
                "degF" | "inHg" | "ft" | "in" | "lb" | "stone" | "fathom" | "psi" | "gal" | "pt"
            )
        });
        let distance = amount.tokens.start.saturating_sub(prior.tokens.end);
        let slack = if q.unit == "degC" { 0.8 } else { 0.02 * value.abs() };
        let led = (1..=4)
            .map_while(|n| amount.tokens.start.checked_sub(n))
            .any(|i| tokens[i].is_any(&["that", "or", "about", "=", "and", "/"]));
        foreign && distance <= 12 && led && b.choice.values.iter().any(|v| (v.0 - value).abs() <= slack)
    })
}

/// Whether the way a number is written suits a quantity at all.
pub(super) fn shape_fits(name: &str, amount: &Amount) -> bool {
    let again = amount.run.candidates().first().is_some_and(|c| c.low == c.high && c.how == How::Plain);
    let decimal = amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_) | Form::Fraction))
        || (amount.run.atoms.len() > 1
            && !again
            && matches!(name, "state_of_charge" | "co_level" | "relative_humidity"));
    match name {
        "engine_speed" | "wind_force" | "state_of_charge" | "co_level" | "relative_humidity" => !decimal,
        _ => true,
    }
}

/// The unit in which a bare number of this quantity is meant.
pub(super) fn bare_unit(
    context: &Context<'_, '_>,
    k: usize,
    q: &Quantity,
    before: &[Before],
) -> Option<UnitAt> {
    let amount = &context.amounts[k];
    let value = amount.run.candidates().first().map_or(0.0, |c| c.low);
    let said = || {
        before.iter().rev().find(|b| quantity(b.choice.quantity).name == q.name).and_then(|b| b.choice.unit)
    };
    match q.name.as_str() {
        "pressure" => {
            let inches = amount.run.candidates().iter().any(|c| (28.0..=31.6).contains(&c.low));
            Some(assumed(if inches { "inHg" } else { "hPa" }))
        }
        "oil_pressure" => Some(assumed(if value > 9.0 { "psi" } else { "bar" })),
        "wave_height" | "water_depth" | "length" => said()
            .filter(|u| u.unit.dimension == Dimension::Length)
            .or_else(|| Some(assumed(if context.habits.feet { "ft" } else { "m" }))),
        "fuel_volume" | "water_volume" => {
            let any = before.iter().rev().find_map(|b| {
                b.choice.unit.filter(|u| {
                    u.dimension() == Dimension::Volume
                        && !matches!(u.unit.symbol.as_str(), "pt" | "qt" | "mL")
                })
            });
            said().filter(|u| !matches!(u.unit.symbol.as_str(), "pt" | "qt" | "mL")).or(any).or_else(|| {
                Some(assumed(if context.habits.feet && !context.habits.imperial { "gal" } else { "L" }))
            })
        }
        "engine_hours" => Some(assumed("h")),
        "mass" => said().or_else(|| Some(assumed(if context.habits.feet { "lb" } else { "kg" }))),
        "line_load" => said(),
        "current" => said().or_else(|| Some(assumed("A"))),
        _ => None,
    }
}

/// Numbers of the rig: per cent of breaking load, or marks of a gauge.
/// Whether the note's bare rig figures are per cent or marks of a gauge.
pub(super) fn rig_kind(context: &Context<'_, '_>, k: usize) -> usize {
    let amount = &context.amounts[k];
    let value = amount.run.candidates().first().map_or(0.0, |c| c.high);
    let percent = if context.habits.rig_percent {
        !(context.habits.gauge && value > 18.0)
    } else {
        rig_median(context) <= 18.5 && value <= 26.0
    };
    index(if percent { "rig_tension" } else { "gauge_reading" })
}

pub(super) fn bare_rig(context: &Context<'_, '_>, k: usize, scores: &[Score], s: &Score) -> Option<Choice> {
    let gauge = index("gauge_reading");
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let on_gauge = best(scores, &[of("gauge_reading")]) > 8.0;
    // "24 = 17 %": the first is the gauge's.
    let equals = tokens.get(amount.tokens.end).is_some_and(|t| t.is("="));
    let rig = best(scores, &[of("rig_tension")]);
    if rig < BARE && !on_gauge {
        return None;
    }
    let i = if equals || on_gauge { gauge } else { rig_kind(context, k) };
    build(context, k, i, None, Some(s.cue))
}

/// Median of the note's bare whole numbers near rig words: gauges read in the twenties where per cents read in the teens.
pub(super) fn rig_median(context: &Context<'_, '_>) -> f64 {
    *context.rig_middle.get_or_init(|| rig_middle(context))
}

pub(super) fn rig_middle(context: &Context<'_, '_>) -> f64 {
    let rig = of("rig_tension");
    let mut all: Vec<f64> = context
        .amounts
        .iter()
        .filter(|a| a.unit.is_none())
        .filter(|a| context.scores(a).iter().any(|s| s.target == rig && s.score > 6.0))
        .flat_map(|a| {
            a.run
                .candidates()
                .first()
                .map(|c| c.low)
                .into_iter()
                .chain(a.other.as_ref().and_then(|(_, r)| r.candidates().first().map(|c| c.high)))
        })
        .filter(|v| (5.0..60.0).contains(v))
        .collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(0.0)
}
