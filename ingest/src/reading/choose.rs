//! Which quantity a number is, by its unit, the words around it and what is plausible.

use crate::quantity::{Dimension, Target, UnitAt};
use crate::token::Gap;

use super::bare::{bare, barometric};
use super::carry::{Before, near};
use super::context::{Context, Score};
use super::degree::{angle, degrees, temperature};
use super::speed::speed;
use super::value::{Choice, assumed, best, build, cue_of, fitting, index, of, quantity, ranked, value_of};

/// Decides what an amount is.
pub fn choose(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let scores = context.scores(amount);
    match amount.unit {
        Some(unit) => with_unit(context, k, unit, &scores, before),
        None => bare(context, k, &scores, before),
    }
}

pub(super) fn with_unit(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    use Dimension as D;
    let pick = |names: &[&str]| fitting(context, k, Some(unit), &ranked(scores, names));
    let score = |name: &str| best(scores, &[of(name)]);
    let carried = |names: &[&str]| -> Option<usize> {
        before
            .iter()
            .rev()
            .take(3)
            .find(|b| near(context, b.amount, k))
            .map(|b| b.choice.quantity)
            .filter(|i| names.iter().any(|n| index(n) == *i))
    };
    match unit.dimension() {
        D::Speed => speed(context, k, unit, scores, before),
        D::Force => pick(&["wind_force"]),
        D::Degree => degrees(context, k, unit, scores, before),
        D::Angle => angle(context, k, Some(unit), scores, before).map(|c| c.0),
        D::Temperature => temperature(context, k, Some(unit), scores, before).map(|c| c.0).or_else(|| {
            let (low, _) =
                value_of(&context.amounts[k].run, Some(&unit), false, quantity(index("temperature")))?.0;
            // A log's temperature without a place is the weather's.
            let name = match low {
                v if v > 60.0 => "engine_temperature",
                v if (-25.0..=32.0).contains(&v) && best(scores, &[of("temperature")]) < 2.0 => {
                    "air_temperature"
                }
                _ => "temperature",
            };
            build(context, k, index(name), Some(unit), None)
        }),
        D::Length => {
            let inches = unit.unit.symbol == "in";
            if inches && (score("pressure") > 3.0 || barometric(&context.amounts[k])) {
                return build(context, k, index("pressure"), Some(assumed("inHg")), None);
            }
            let names = ["wave_height", "water_depth", "length", "distance"];
            let mut list = ranked(scores, &names);
            list.pop();
            // "four and a half metres, twenty-five of chain": beside the chain that is out stands the depth.
            if beside_its_chain(context, k) && list[1].1 < 3.0 && list[0].1 < 3.0 {
                list[1].1 = 6.0;
            }
            if list.iter().all(|(_, s, _)| *s < 2.0) {
                // "… northeast fifteen to twenty and six to eight feet": seas go with the wind they follow.
                let wind = before.last().is_some_and(|b| {
                    near(context, b.amount, k)
                        && quantity(b.choice.quantity).name.contains("wind")
                        && context.amounts[k].tokens.start - context.amounts[b.amount].tokens.end <= 6
                        && context.amounts[k].other.is_some()
                });
                list.clear();
                if wind {
                    list.push((index("wave_height"), 2.0, None));
                }
                if let Some(i) = carried(&names) {
                    list.push((i, 1.0, None));
                }
            }
            if unit.unit.symbol == "fathom" && best(scores, &[of("length")]) < 4.0 {
                list.push((index("water_depth"), 3.0, None));
            }
            list.push((index("length"), 1.5, None));
            // "four hundred metres I rowed": a way, not a thing.
            let tokens = context.tokens();
            let (start, end) = (context.amounts[k].tokens.start, context.amounts[k].tokens.end);
            let way = |i: usize| {
                tokens.get(i).is_some_and(|t| {
                    t.is_any(&[
                        "rowed", "swam", "swim", "row", "walked", "drifted", "away", "upwind", "downwind",
                    ])
                })
            };
            if unit.unit.symbol == "m"
                && ((end..end + 3).any(way) || (start.saturating_sub(3)..start).any(way))
            {
                return build(context, k, index("distance"), Some(unit), None);
            }
            fitting(context, k, Some(unit), &list)
        }
        D::Distance => pick(&["distance"]),
        D::Area => pick(&["area"]),
        D::Mass | D::Pound => {
            let (oil, load, mass) = (score("oil_pressure"), score("line_load"), score("mass"));
            if unit.dimension() == D::Pound && oil > 4.0 && oil > mass && oil > load {
                return pick(&["oil_pressure"]);
            }
            let heavy = matches!(unit.unit.symbol.as_str(), "t" | "ton" | "short ton");
            if load > mass + 0.5 && load > if heavy { 3.0 } else { 4.5 } {
                return build(context, k, index("line_load"), Some(unit), cue_of(scores, of("line_load")));
            }
            if let Some(i) = carried(&["line_load"])
                && mass < 3.0
            {
                return build(context, k, i, Some(unit), None);
            }
            build(context, k, index("mass"), Some(unit), cue_of(scores, of("mass")))
        }
        D::Load => pick(&["line_load"]),
        D::Pressure => {
            let air = build(context, k, index("pressure"), Some(unit), cue_of(scores, of("pressure")));
            if air.is_some() {
                return air;
            }
            let oil = score("oil_pressure").max(
                if score("engine_temperature") > 2.0 || score("engine_speed") > 2.0 { 2.0 } else { 0.0 },
            );
            let other = best_other_pressure(context, k);
            let carried = before.iter().rev().take(3).filter(|b| near(context, b.amount, k)).any(|b| {
                matches!(
                    quantity(b.choice.quantity).name.as_str(),
                    "oil_pressure" | "engine_temperature" | "engine_speed"
                )
            });
            ((oil > 1.5 || carried) && !other)
                .then(|| {
                    build(context, k, index("oil_pressure"), Some(unit), cue_of(scores, of("oil_pressure")))
                })
                .flatten()
        }
        D::Voltage => pick(&["voltage"]),
        D::Current => pick(&["current"]),
        D::Power => pick(&["power"]),
        D::Charge => pick(&["charge"]),
        D::Energy => pick(&["energy"]),
        D::Percent => percent(context, k, unit, scores, before),
        D::Volume => volume(context, k, unit, scores, before),
        D::RateHour => {
            let names = if score("pump_rate") > score("fuel_rate") + 1.0 {
                ["pump_rate", "fuel_rate"]
            } else {
                ["fuel_rate", "pump_rate"]
            };
            let mut list = ranked(scores, &names);
            list[0].1 += 0.5;
            // "28 L/h … spec 30 L/h" goes on with what was told.
            if let Some(b) =
                before.iter().rev().take(3).find(|b| {
                    near(context, b.amount, k) && names.iter().any(|n| index(n) == b.choice.quantity)
                })
                && let Some(same) = list.iter_mut().find(|l| l.0 == b.choice.quantity)
            {
                same.1 += 2.0;
            }
            fitting(context, k, Some(unit), &list)
        }
        D::RateMinute => pick(&["pump_rate"]),
        D::Revolutions => pick(&["engine_speed"]),
        D::Time => {
            let meter = score("engine_hours");
            let hours = unit.unit.symbol == "h" && context.amounts[k].base.is_none();
            let value = context.amounts[k].run.candidates().first().map_or(0.0, |c| c.low);
            if hours && ((meter > 5.0 && value >= 40.0) || value >= 400.0) {
                return build(
                    context,
                    k,
                    index("engine_hours"),
                    Some(unit),
                    cue_of(scores, of("engine_hours")),
                );
            }
            lasts(context, k, unit).then(|| pick(&["duration"])).flatten()
        }
        // "fifty-two parts" of an alarm; other parts are counted.
        D::Concentration => {
            let parts = context.tokens()[unit.end - 1].is("parts");
            (!parts || score("co_level") > 1.0).then(|| pick(&["co_level"])).flatten()
        }
        D::Frequency | D::Data => None,
    }
}

/// Whether the next amount, told right behind, is of chain or rope that was let go at anchor.
fn beside_its_chain(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let rode = |end: usize| {
        (end..end + 3).any(|i| tokens.get(i).is_some_and(|t| t.is_any(&["chain", "rode", "scope"])))
    };
    let amount = &context.amounts[k];
    let Some(next) = context.amounts.get(k + 1) else { return false };
    let close = next.tokens.start.saturating_sub(amount.tokens.end) <= 2;
    let anchored = tokens[amount.tokens.start.saturating_sub(14)..amount.tokens.start].iter().any(|t| {
        t.is_any(&[
            "anchor",
            "anchored",
            "hook",
            "bower",
            "kedge",
            "dropped",
            "laid",
            "let",
            "lay",
            "anchoring",
            "anchors",
        ])
    });
    close
        && anchored
        && rode(next.tokens.end)
        && !rode(amount.tokens.end.min(next.tokens.start.saturating_sub(3)))
}

/// Fuel or water: by the words around, else by what was told before, else by what else the block speaks of.
pub(super) fn volume(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let names = ["fuel_volume", "water_volume"];
    let mut list = ranked(scores, &names);
    if let Some(b) = before.last().filter(|b| near(context, b.amount, k))
        && let Some(same) = list.iter_mut().find(|l| l.0 == b.choice.quantity && l.1 > 0.0)
    {
        same.1 += 1.5;
    }
    let top = list.iter().map(|l| l.1).fold(0.0, f32::max);
    let block = context.talk.clauses[context.talk.clause_of(amount.tokens.start)].block;
    let inside = |i: &usize| context.talk.clauses[context.talk.clause_of(*i)].block == block;
    let from = amount.tokens.start.saturating_sub(30);
    let to = (amount.tokens.end + 12).min(tokens.len());
    let sentence = context.talk.sentence_of(amount.tokens.start);
    let here = &tokens[sentence.start.max(from)..sentence.end.min(to)];
    // Oil, paint and coolant are poured too, and are no stores.
    let poured = [
        "oil",
        "paint",
        "coolant",
        "antifreeze",
        "varnish",
        "tea",
        "beer",
        "rum",
        "wine",
        "milk",
        "grease",
        "gearbox",
    ];
    if here.iter().any(|t| t.is_any(&poured)) && top < 9.0 {
        return None;
    }
    if top >= 1.5 {
        return fitting(context, k, Some(unit), &list);
    }
    if let Some(b) = before.iter().rev().take(3).find(|b| near(context, b.amount, k))
        && names.iter().any(|n| index(n) == b.choice.quantity)
    {
        return build(context, k, b.choice.quantity, Some(unit), None);
    }
    let around: Vec<usize> = (from..to).filter(inside).collect();
    let count = |words: &[&str]| around.iter().filter(|&&i| tokens[i].is_any(words)).count();
    let fuel = count(&[
        "fuel", "diesel", "engine", "motor", "motored", "motoring", "tank", "heater", "burned", "dip",
        "stick", "rpm", "petrol", "outboard",
    ]);
    let water = count(&[
        "water", "bilge", "pump", "bucket", "leak", "leaks", "hatch", "bunk", "hose", "drip", "wet",
        "strokes", "tap", "shower", "drink", "tanks",
    ]);
    build(context, k, index(if fuel > water { "fuel_volume" } else { "water_volume" }), Some(unit), None)
}

/// Whether a time is one that something took; years are ages, and days mostly dates.
pub(super) fn lasts(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    match unit.unit.symbol.as_str() {
        "year" | "month" => false,
        "d" | "week" | "fortnight" => {
            start.checked_sub(1).is_some_and(|i| {
                tokens[i].is_any(&[
                    "for", "in", "took", "takes", "it", "say", "within", "about", "lasted", "over", "after",
                ]) && tokens[start].gap <= Gap::Line
            }) && !tokens[start..context.amounts[k].tokens.end].iter().any(|t| t.is_any(&["nights", "night"]))
        }
        _ => true,
    }
}

/// A pressure that is neither the air's nor the engine oil's: gas bottles, watermakers, tyres.
pub(super) fn best_other_pressure(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let sentence = context.talk.sentence_of(amount.tokens.start);
    let from = sentence.start.max(amount.tokens.start.saturating_sub(14));
    let to = sentence.end.min(amount.tokens.end + 8);
    tokens[from..to].iter().any(|t| {
        t.is_any(&[
            "propane",
            "gas",
            "butane",
            "bottle",
            "regulator",
            "watermaker",
            "tyre",
            "tire",
            "tyres",
            "dinghy",
            "hydraulic",
            "accumulator",
            "membrane",
            "boost",
            "raw",
            "fuel",
        ])
    })
}

pub(super) fn percent(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let names = ["relative_humidity", "rig_tension", "state_of_charge"];
    let mut list = ranked(scores, &names);
    list.retain(|(_, s, _)| *s > 1.0);
    if list.is_empty() {
        // What was named last, a sentence or two before.
        let topic = context.topic(
            context.amounts[k].tokens.start,
            60,
            |t| matches!(t, Target::Quantity(i) if names.contains(&quantity(i).name.as_str())),
        );
        if let Some((Target::Quantity(i), _)) = topic {
            return build(context, k, i, Some(unit), None);
        }
        let b = before.iter().rev().find(|b| {
            ["relative_humidity", "rig_tension", "state_of_charge", "voltage", "charge", "gauge_reading"]
                .iter()
                .any(|n| index(n) == b.choice.quantity)
        });
        let i = b.map_or(index("state_of_charge"), |b| match quantity(b.choice.quantity).name.as_str() {
            "voltage" | "charge" => index("state_of_charge"),
            "gauge_reading" => index("rig_tension"),
            _ => b.choice.quantity,
        });
        let mut choice = build(context, k, i, Some(unit), None)?;
        choice.doubts.push("a percentage of what is not said".to_owned());
        return Some(choice);
    }
    fitting(context, k, Some(unit), &list)
}

/// Whether the number beside a compass point is a Beaufort number: small and whole.
pub(super) fn tells_a_force(amount: &super::amount::Amount) -> bool {
    amount.unit.is_none_or(|u| u.unit.dimension == Dimension::Force)
        && amount
            .run
            .candidates()
            .first()
            .is_some_and(|c| c.low.fract() == 0.0 && (1.0..=7.0).contains(&c.low))
}
