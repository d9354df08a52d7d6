//! Which quantity a number is, by its unit, the words around it and what is plausible.

use crate::quantity::{Dimension, Target, UnitAt};
use crate::token::Gap;
use crate::word::WordList;

use super::bare::bare;
use super::beside::goes_at;
use super::carry::{Before, carried, near};
use super::context::{Context, Score};
use super::degree::{angle, degrees, temperature};
use super::length::length;
use super::noted::noted;
use super::speed::speed;
use super::unnamed::serviced_every;
use super::value::{Choice, best, build, cue_of, fitting, index, of, quantity, ranked, value_of};

/// The doubt about a percentage that no word says to be of anything.
pub const OF_WHAT: &str = "a percentage of what is not said";

/// Decides what an amount is.
pub fn choose(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let scores = context.scores(k);
    if let Some(choice) = noted(context, k, scores, before) {
        return Some(choice);
    }
    let choice = match context.amounts[k].unit {
        Some(unit) => with_unit(context, k, unit, scores, before),
        None => bare(context, k, scores, before),
    }?;
    if goes_at(context, k, before, &choice) {
        return build(context, k, index("boat_speed"), None, None);
    }
    // "His meter said 310", of made water.
    if quantity(choice.quantity).name == "co_level"
        && context.amounts[k].unit.is_none()
        && of_the_watermaker(context, k)
    {
        return None;
    }
    Some(as_the_wind_before(context, k, before, choice))
}

/// "eighteen true … and now the wind's twenty-two": in one run of talk a wind is apparent or true as the one before it.
fn as_the_wind_before(context: &Context<'_, '_>, k: usize, before: &[Before], mut choice: Choice) -> Choice {
    if quantity(choice.quantity).name != "wind_speed" || context.with_compass[k] {
        return choice;
    }
    let told = before.iter().rev().take(3).find(|b| {
        near(context, b.amount, k)
            && matches!(
                quantity(b.choice.quantity).name.as_str(),
                "true_wind_speed" | "apparent_wind_speed" | "wind_speed"
            )
    });
    if let Some(b) = told {
        choice.quantity = b.choice.quantity;
    }
    choice
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
        D::Length => length(context, k, unit, scores, before),
        D::Distance if is_a_torque(context, k, unit) => None,
        D::Distance => pick(&["distance"]),
        D::Area => pick(&["area"]),
        D::Mass | D::Pound => {
            let (oil, load, mass) = (score("oil_pressure"), score("line_load"), score("mass"));
            if of_the_rig(context, k) && mass < 6.0 {
                return build(context, k, index("line_load"), Some(unit), cue_of(scores, of("line_load")));
            }
            // "backstay at 1200 pounds", "1480 kilos on the forestay": a stay's load, not its weight.
            if score("rig_tension") > 6.5 && mass < 6.0 && oil < 4.0 {
                return build(context, k, index("line_load"), Some(unit), cue_of(scores, of("rig_tension")));
            }
            if unit.dimension() == D::Pound && oil > 4.0 && oil > mass && oil > load {
                return pick(&["oil_pressure"]);
            }
            let heavy = matches!(unit.unit.symbol.as_str(), "t" | "ton" | "short ton");
            if load > mass + 0.5 && load > if heavy { 3.0 } else { 4.5 } {
                return build(context, k, index("line_load"), Some(unit), cue_of(scores, of("line_load")));
            }
            if let Some(i) = carried(context, k, before, &["line_load"])
                && mass < 3.0
            {
                return build(context, k, i, Some(unit), None);
            }
            build(context, k, index("mass"), Some(unit), cue_of(scores, of("mass")))
        }
        D::Load => pick(&["line_load"]),
        D::Pressure => {
            let air = build(context, k, index("pressure"), Some(unit), cue_of(scores, of("pressure")));
            // No glass shows pounds.
            if air.is_some() && unit.unit.symbol != "psi" {
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
            // Few things aboard but the engine's oil are told in so few bars.
            let few = context.amounts[k].run.candidates().first().is_some_and(|c| {
                match unit.unit.symbol.as_str() {
                    "bar" => (0.8..=6.0).contains(&c.low),
                    "psi" => (12.0..=85.0).contains(&c.low),
                    _ => false,
                }
            }) && !context.tokens()
                [context.amounts[k].tokens.start.saturating_sub(14)..context.amounts[k].tokens.start]
                .iter()
                .any(|t| {
                    t.is_any(words![
                        "water",
                        "system",
                        "fender",
                        "fenders",
                        "tap",
                        "shower",
                        "pump",
                        "board",
                        "diver",
                        "compression",
                        "tube",
                        "tubes",
                        "liferaft",
                        "tender",
                        "tank",
                    ])
                });
            ((oil > 1.5 || carried || few) && !other)
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
            // "W/maker run. 28 L/h": what it makes, unless an engine or a heater is named since.
            if names[0] == "fuel_rate" && of_the_watermaker(context, k) {
                list[1].1 = list[0].1.max(list[1].1) + 1.0;
            }
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
            if hours
                && ((meter > 5.0 && value >= 40.0)
                    || value >= 400.0
                    || value >= 40.0 && serviced_every(context, k))
            {
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
            // A unit that the head of a table's column lends ends nowhere here.
            let parts = unit.end > 0 && context.tokens()[unit.end - 1].is("parts");
            // Salt in made water is told in parts as well.
            let (tokens, start) = (context.tokens(), context.amounts[k].tokens.start);
            let end = tokens.len().min(context.amounts[k].tokens.end.max(unit.end) + 8);
            let around = start.saturating_sub(14)..end;
            let salt = of_the_watermaker(context, k)
                || tokens[around].iter().any(|t| {
                    t.is_any(words!["watermaker", "salt", "salinity", "tds", "maker", "desalinator", "drink"])
                });
            if salt
                && !tokens[start.saturating_sub(8)..start].iter().any(|t| t.is_any(words!["co", "monoxide"]))
            {
                return None;
            }
            // "if that alarm ever goes past nine parts", "above thirty parts in here".
            let alarm = tokens[start.saturating_sub(40)..end].iter().any(|t| {
                t.is_any(words![
                    "alarm", "meter", "detector", "monoxide", "co", "furnace", "fire", "stove", "heater"
                ])
            });
            if parts && alarm && score("co_level") <= 1.0 {
                return build(context, k, index("co_level"), Some(unit), None);
            }
            (!parts || score("co_level") > 1.0).then(|| pick(&["co_level"])).flatten()
        }
        D::Frequency | D::Data => None,
    }
}

/// "Bolts nipped up 25 Nm": newton metres, as they are written.
fn is_a_torque(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    const REACH: usize = 12;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    unit.end > 0
        && tokens[unit.end - 1].text == "Nm"
        && tokens[start.saturating_sub(REACH)..start].iter().any(|t| {
            t.is_any(words![
                "bolt",
                "bolts",
                "nut",
                "nuts",
                "torque",
                "torqued",
                "tightened",
                "nipped",
                "head",
                "studs",
                "spanner",
                "wrench",
            ])
        })
}

/// Whether a wire of the rig is the gear named last in front of an amount, in its sentence: "lowers 900 lb".
fn of_the_rig(context: &Context<'_, '_>, k: usize) -> bool {
    /// As far in front as it may be named, in tokens.
    const REACH: usize = 16;
    let (talk, start) = (context.talk, context.amounts[k].tokens.start);
    let last = talk.mentions.partition_point(|m| m.tokens.start < start).checked_sub(1);
    last.map(|m| &talk.mentions[m]).is_some_and(|m| {
        start.saturating_sub(m.tokens.end) <= REACH
            && talk.tokens[m.tokens.end.min(start)..=start].iter().all(|t| t.gap < Gap::Sentence)
            && WIRES.iter().any(|wire| m.name.ends_with(wire))
    })
}

/// The unit in which a note tells the loads of its rig, where one is said of a wire.
pub(super) fn rig_load(context: &Context<'_, '_>) -> Option<UnitAt> {
    (0..context.amounts.len()).find_map(|k| {
        let unit = context.amounts[k].unit?;
        let loads = matches!(unit.dimension(), Dimension::Mass | Dimension::Pound | Dimension::Load);
        (loads && of_the_rig(context, k)).then_some(unit)
    })
}

/// "Uppers 1,540 port, 1,560 starboard": a bare load of the rig, where the note tells others with their unit.
pub(super) fn bare_rig_load(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    /// What no gauge's scale and no per cent reaches, and no wire of a cruising boat exceeds. Common practice, no source.
    const LOADS: std::ops::RangeInclusive<f64> = 100.0..=9000.0;
    let unit = context.habits.rig_load?;
    let amount = &context.amounts[k];
    let load = amount.unit.is_none() && amount.run.candidates().iter().any(|c| LOADS.contains(&c.low));
    if !load || !of_the_rig(context, k) {
        return None;
    }
    build(context, k, index("line_load"), Some(UnitAt { end: 0, ..unit }), None)
}

/// Gear that is under a load of its own, as the lexicon names it.
const WIRES: &[&str] = &["shroud", "stay", "forestay", "backstay", "rig"];

/// Whether the gear named last in front of an amount, in its block, makes fresh water.
fn of_the_watermaker(context: &Context<'_, '_>, k: usize) -> bool {
    /// As far in front as it may be named, in tokens.
    const REACH: usize = 60;
    let (talk, start) = (context.talk, context.amounts[k].tokens.start);
    let last = talk.mentions.partition_point(|m| m.tokens.start < start).checked_sub(1);
    last.map(|m| &talk.mentions[m]).is_some_and(|m| {
        m.name == "watermaker"
            && m.tokens.end + REACH > start
            && talk.tokens[m.tokens.end..=start].iter().all(|t| t.gap < Gap::Block)
    })
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
    // "310 L diesel, 400 L water", "thirty gallons of diesel": what is named right behind is what it is.
    let end = amount.tokens.end;
    let named = tokens
        .get(end)
        .filter(|t| t.gap <= Gap::Space)
        .and_then(|t| if t.is("of") { tokens.get(end + 1).filter(|t| t.gap <= Gap::Line) } else { Some(t) });
    let of_pump =
        tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["pump", "tank", "filter"]));
    // "diesel 310 litres water 280 litres": the word names what comes next.
    let of_next = tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Comma)
        && crate::number::atom_at(tokens, end + 1).is_some()
        || tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["'s", "is", "at"]));
    let fluid = named.filter(|_| !of_pump && !of_next).and_then(|t| {
        if t.is_any(words!["diesel", "fuel", "petrol"]) {
            Some("fuel_volume")
        } else if t.is("water") {
            Some("water_volume")
        } else {
            None
        }
    });
    if let Some(fluid) = fluid {
        return build(context, k, index(fluid), Some(unit), cue_of(scores, of(fluid)));
    }
    let mut list = ranked(scores, &names);
    // "Ran the watermaker an hour and there was eighteen litres in the can".
    if of_the_watermaker(context, k) {
        list[1].1 = list[1].1.max(list[0].1 + 1.0).max(4.0);
    }
    if let Some(b) = before.last().filter(|b| near(context, b.amount, k))
        && let Some(same) = list.iter_mut().find(|l| l.0 == b.choice.quantity && l.1 > 0.0)
    {
        same.1 += 1.5;
    }
    // "Tank 20 gal", "the tank holds 120 L": water has its name, fuel is "the tank".
    let sentence = context.talk.sentence_of(amount.tokens.start);
    let here = sentence.start.max(amount.tokens.start.saturating_sub(12))
        ..sentence.end.min(amount.tokens.end + 4).max(amount.tokens.end);
    let words = &tokens[here];
    if words.iter().any(|t| t.is_any(words!["tank", "tanks"]))
        && !words
            .iter()
            .any(|t| t.is_any(words!["water", "fresh", "freshwater", "drinking", "holding", "black", "grey"]))
        && list[1].1 < 7.0
        && !tokens[amount.tokens.start.saturating_sub(24)..amount.tokens.start]
            .iter()
            .any(|t| t.is_any(words!["water", "freshwater", "watermaker"]))
        // "210 litres in the tanks now. Otherwise the watermaker works."
        && !tokens[amount.tokens.end..(amount.tokens.end + 12).min(tokens.len())]
            .iter()
            .any(|t| t.is("watermaker"))
        && !before
            .last()
            .is_some_and(|b| near(context, b.amount, k) && quantity(b.choice.quantity).name == "water_volume")
    {
        list[0].1 = list[0].1.max(list[1].1).max(3.0) + 2.0;
    }
    let top = list.iter().map(|l| l.1).fold(0.0, f32::max);
    let block = context.talk.clauses[context.talk.clause_of(amount.tokens.start)].block;
    let inside = |i: &usize| context.talk.clauses[context.talk.clause_of(*i)].block == block;
    let from = amount.tokens.start.saturating_sub(30);
    let to = (amount.tokens.end + 12).min(tokens.len());
    let sentence = context.talk.sentence_of(amount.tokens.start);
    let here = &tokens[sentence.start.max(from)..sentence.end.min(to)];
    // Oil, paint and coolant are poured too, and are no stores.
    let poured = words![
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
    if here.iter().any(|t| t.is_any(poured)) && top < 9.0 {
        return None;
    }
    if top >= 1.5 {
        return fitting(context, k, Some(unit), &list);
    }
    // "one point three an hour, we've a forty-five litre tank".
    if before
        .last()
        .is_some_and(|b| near(context, b.amount, k) && quantity(b.choice.quantity).name == "fuel_rate")
    {
        return build(context, k, index("fuel_volume"), Some(unit), None);
    }
    if let Some(b) = before.iter().rev().take(3).find(|b| near(context, b.amount, k))
        && names.iter().any(|n| index(n) == b.choice.quantity)
    {
        return build(context, k, b.choice.quantity, Some(unit), None);
    }
    let around: Vec<usize> = (from..to).filter(inside).collect();
    let count = |words: &WordList| around.iter().filter(|&&i| tokens[i].is_any(words)).count();
    let fuel = count(words![
        "fuel", "diesel", "engine", "motor", "motored", "motoring", "tank", "heater", "burned", "dip",
        "stick", "rpm", "petrol", "outboard",
    ]);
    let water = count(words![
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
                tokens[i].is_any(words![
                    "be", "been", "for", "in", "took", "takes", "it", "say", "within", "about", "lasted",
                    "over", "after",
                ]) && tokens[start].gap <= Gap::Line
            }) && !tokens[start..context.amounts[k].tokens.end]
                .iter()
                .any(|t| t.is_any(words!["nights", "night"]))
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
        t.is_any(words![
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

/// Whether a percentage is of wear, of duty, of likelihood: "38 % duty", "the zinc is 60 % gone", "80 % sure".
fn of_something_else(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let behind = (amount.tokens.end..amount.tokens.end + 2)
        .take_while(|&i| tokens.get(i).is_some_and(|t| t.gap <= Gap::Line))
        .any(|i| {
            tokens[i].is_any(words![
                "duty",
                "moisture",
                "throttle",
                "slip",
                "chance",
                "cloud",
                "cover",
                "sure",
                "certain",
                "happy",
                "done",
                "off",
                "discount",
                "eaten",
                "worn",
                "probability",
                "likely",
                "finished",
                "ready",
                "convinced",
            ])
        });
    let start = amount.tokens.start;
    let front =
        (start.saturating_sub(5)..start).rev().take_while(|&i| tokens[i + 1].gap < Gap::Sentence).any(|i| {
            tokens[i]
                .is_any(words!["zinc", "anode", "anodes", "zincs", "throttle", "duty", "moisture", "slip"])
        });
    behind || front
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
    if of_something_else(context, k) && list.iter().all(|(_, s, _)| *s < 9.0) {
        return None;
    }
    list.retain(|(_, s, _)| *s > 1.0);
    // "I had said not lower than 50 %": no rig is wound up so far.
    if list.len() == 1
        && list[0].0 == index("rig_tension")
        && context.amounts[k].run.candidates().first().is_some_and(|c| c.low >= 45.0)
    {
        list.clear();
    }
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
        choice.doubts.push(OF_WHAT.to_owned());
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
