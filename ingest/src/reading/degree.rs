//! Degrees: of angle and of temperature.

use crate::number::Form;
use crate::quantity::{Dimension, Target, UnitAt};
use crate::token::Gap;
use crate::word::WordList;

use super::bare::BARE;
use super::carry::{Before, near};
use super::context::{Context, Score};
use super::unnamed::is_steady;
use super::value::{Choice, Ranked, assumed, best, build, fits, fitting, index, of, quantity, ranked};

/// Least angle to the wind at which a boat sails, a little under what any makes good. Common practice, no source.
const LEAST_ANGLE: f64 = 20.0;

/// How hot the coolant of a running engine is, degC: no cabin, sea or air is. Common practice, no source.
const COOLANT: [f64; 2] = [62.0, 108.0];

/// From how many knots on a steady figure without a unit is a wind's sooner than the air's, in degrees. Common practice, no
/// source.
const LEAST_STEADY: f64 = 16.0;

/// An angle with the score that it was found by.
pub(super) fn angle(
    context: &Context<'_, '_>,
    k: usize,
    unit: Option<UnitAt>,
    scores: &[Score],
    before: &[Before],
) -> Option<(Choice, f32)> {
    let names = [
        "apparent_wind_angle",
        "true_wind_angle",
        "heading",
        "course_over_ground",
        "heel",
        "rudder_angle",
        "wind_direction",
    ];
    let mut list: Vec<Ranked> = ranked(scores, &names);
    let apparent = best(scores, &[Target::Apparent]);
    let true_ = best(scores, &[Target::True]);
    let wind = best(scores, &[Target::Wind]);
    let offwind = list[0].1.max(list[1].1);
    // "wind sixty degrees apparent", "fifty off the wind true": the angle is apparent unless true is said.
    let truly = true_ > apparent + 0.5 && true_ > 3.0 || context.habits.all_true && apparent < 3.0;
    // No boat points so high: "wind north-east, twelve degrees" is the air, unless an angle is named.
    let fine =
        offwind < 4.0 && context.amounts[k].run.candidates().first().is_some_and(|c| c.high < LEAST_ANGLE);
    let family = if fine { offwind } else { apparent.max(true_).max(wind).max(offwind) };
    list[0].1 = if truly { 0.0 } else { family };
    list[1].1 = if truly { family } else { list[1].1.min(family - 1.0) };
    // "thirty degrees each way" of a pilot is how far it wanders; of a tiller it is the tiller's.
    if list[5].1 < 8.0 && !at_the_tiller(context, k) {
        list[5].1 = 0.0;
    }
    if list[6].1 > 0.0 && context.with_compass[k] {
        list[6].1 += 1.0;
    }
    list.retain(|(_, s, _)| *s > if unit.is_some() { 1.0 } else { BARE });
    if list.is_empty() && unit.is_some() {
        // "port fifteen degrees … ten to starboard" carries on.
        let carried =
            before.iter().rev().take(2).find(|b| near(context, b.amount, k)).map(|b| b.choice.quantity)?;
        if names.iter().any(|n| index(n) == carried) {
            return build(context, k, carried, unit, None).map(|c| (c, 2.0));
        }
        return None;
    }
    let top = list.iter().map(|l| l.1).fold(0.0, f32::max);
    fitting(context, k, unit, &list).map(|c| (c, top))
}

/// Whether the talk is of what turns the rudder, and not of what it does by itself.
fn at_the_tiller(context: &Context<'_, '_>, k: usize) -> bool {
    const REACH: usize = 40;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let around = amount.tokens.start.saturating_sub(REACH)..(amount.tokens.end + 6).min(tokens.len());
    let near = |words: &WordList| tokens[around.clone()].iter().any(|t| t.is_any(words));
    let behind = amount.tokens.end..(amount.tokens.end + 3).min(tokens.len());
    near(words!["rudder", "tiller", "helm", "quadrant", "stops", "stock", "lock"])
        && !tokens[behind].iter().any(|t| t.is_any(words!["yaw", "roll", "swing"]))
}

/// A temperature with the score that it was found by.
pub(super) fn temperature(
    context: &Context<'_, '_>,
    k: usize,
    unit: Option<UnitAt>,
    scores: &[Score],
    before: &[Before],
) -> Option<(Choice, f32)> {
    /// How sure the air is where frost is told.
    const FROST: f32 = 8.0;
    let names =
        ["air_temperature", "cabin_temperature", "sea_temperature", "engine_temperature", "temperature"];
    let mut list = ranked(scores, &names);
    let water = scores.iter().find(|s| s.target == Target::EngineWater);
    if let Some(water) = water {
        list[3].1 = list[3].1.max(water.score + 1.0);
        list[3].2 = list[3].2.or(Some(water.cue));
    }
    // "Four below": frost, and no cabin.
    let amount = &context.amounts[k];
    let below = context.tokens()[amount.tokens.end - 1].is("below");
    if below && amount.run.candidates().first().is_some_and(|c| c.low < 0.0) {
        list.truncate(1);
        list[0].1 = list[0].1.max(FROST);
    }
    // "Fuel 3/4, water 1/2": a tank's.
    if let [one] = context.amounts[k].run.atoms.as_slice()
        && one.form == Form::Fraction
        && one.value < 1.0
    {
        return None;
    }
    // "anchored in eight metres with forty out": chain, not weather.
    if unit.is_none() && chain_is_out(context, k) {
        return None;
    }
    // "It's thirty to thirty two steady outside": winds are steady, where no warmth is told.
    if unit.is_none()
        && is_steady(context, k)
        && amount.run.candidates().first().is_some_and(|c| c.low >= LEAST_STEADY)
    {
        return None;
    }
    // "Heater on. 45 min to 18 C": what a heater brings something to is the cabin's.
    if list[0].1 < 3.0 && heats(context, k) {
        list[1].1 = list[1].1.max(6.0);
    }
    // "if it were forty five out here": no heat that anybody sails in, where the note is not in Fahrenheit.
    let place_behind = scores.iter().all(|s| !s.before || s.score < BARE);
    if unit.is_none()
        && context.habits.fahrenheit_points <= 0
        && place_behind
        && context.amounts[k].run.candidates().first().is_some_and(|c| (38.0..=60.0).contains(&c.low))
    {
        return None;
    }
    if let [_, _, sea, engine, ..] = list.as_mut_slice() {
        if is_full(context, sea.2) {
            sea.1 = 0.0;
        }
        // "Oil 30 psi. Water 71": no sea is so warm, unless in Fahrenheit, for which pounds alone say little.
        const FAHRENHEIT: i32 = 4;
        let hot = context.amounts[k].run.candidates().first().is_some_and(|c| fits(COOLANT, &(c.low, c.low)));
        if hot
            && context.habits.fahrenheit_points < FAHRENHEIT
            && sea.1 > engine.1
            && told_of_engine(context, k, before)
        {
            (engine.1, engine.2) = (sea.1, sea.2);
            sea.1 = 0.0;
        }
    }
    let floor = if unit.is_some() { 1.0 } else { BARE };
    list.retain(|(_, s, _)| *s > floor);
    // Without a scale it is the note's, unless only the other is possible.
    let scales: Vec<UnitAt> = match unit {
        Some(u) if u.unit.dimension == Dimension::Temperature => vec![u],
        // A note that is clearly in one scale stays in it.
        _ if context.habits.fahrenheit_points >= 6 => vec![assumed("degF")],
        _ if context.habits.fahrenheit_points <= -6 => vec![assumed("degC")],
        _ if context.habits.fahrenheit => vec![assumed("degF"), assumed("degC")],
        _ => vec![assumed("degC"), assumed("degF")],
    };
    for (n, scale) in scales.iter().enumerate() {
        let mut choices = list.clone();
        if choices.is_empty() {
            // "Cabin 7 °C. After 45 minutes it was 18 °C": what it took lies between.
            let told = |b: &&Before| names.iter().any(|n| index(n) == b.choice.quantity);
            let took = |b: &Before| {
                matches!(quantity(b.choice.quantity).name.as_str(), "duration" | "fuel_volume" | "current")
            };
            let last =
                before.iter().rev().take(3).skip_while(|b| took(b)).find(|b| near(context, b.amount, k))?;
            if unit.is_some() && told(&last) {
                choices.push((last.choice.quantity, 2.0, None));
            } else {
                return None;
            }
        }
        let top = choices.iter().map(|l| l.1).fold(0.0, f32::max);
        if let Some(choice) = fitting(context, k, Some(*scale), &choices) {
            let usual = choice.values.iter().all(|v| fits(quantity(choice.quantity).usual, v));
            if usual || n + 1 == scales.len() || scales.len() == 1 {
                return Some((choice, top));
            }
        }
    }
    fitting(context, k, Some(scales[0]), &list).map(|c| (c, list.iter().map(|l| l.1).fold(0.0, f32::max)))
}

/// "It wandered eight degrees", "hunts 20 degrees each side", "20 deg swings": how far a course swings to and fro.
fn is_a_swing(context: &Context<'_, '_>, k: usize) -> bool {
    /// As far in front as its verb may stand, in tokens.
    const REACH: usize = 4;
    let tokens = context.tokens();
    let amount = &context.amounts[k].tokens;
    let behind = |n: usize| tokens.get(amount.end + n).filter(|t| t.gap <= Gap::Line);
    // "twenty degrees of choice either side of dead downwind".
    let sides = (0..=2).take_while(|&n| behind(n).is_some()).any(|n| {
        behind(n).is_some_and(|t| t.is_any(words!["each", "either", "both"]))
            && behind(n + 1).is_some_and(|t| t.is_any(words!["side", "sides", "way", "ways"]))
    });
    let swings = behind(0).is_some_and(|t| t.is_any(words!["swing", "swings", "yaw"]));
    let within =
        amount.start > 0 && tokens[amount.start].gap <= Gap::Line && tokens[amount.start - 1].is("within");
    let verb = (amount.start.saturating_sub(REACH)..amount.start)
        .rev()
        .take_while(|&i| tokens[i + 1].gap < Gap::Comma)
        .any(|i| tokens[i].is_any(SWINGS));
    sides || swings || within || verb || swings_again(context, k)
}

/// "She's wandering fifteen either side. … and now it's ten degrees": as far as it swings now, where a swing was told before
/// and nothing of warmth.
fn swings_again(context: &Context<'_, '_>, k: usize) -> bool {
    /// As far in front as the swing may be told, in tokens.
    const REACH: usize = 32;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let it_is = start > 1
        && tokens[start - 1].is_any(words!["'s", "is", "was", "to", "down"])
        && tokens[start - 2].is_any(words!["it", "that", "she", "down", "now"]);
    let front = || (start.saturating_sub(REACH)..start).rev().take_while(|&i| tokens[i + 1].gap < Gap::Block);
    it_is
        && front().any(|i| tokens[i].is_any(SWINGS))
        && !front().any(|i| {
            tokens[i].is_any(words![
                "cold",
                "warm",
                "cabin",
                "outside",
                "temperature",
                "water",
                "sea",
                "air",
                "heater",
                "cockpit",
            ])
        })
}

/// What something does that swings to and fro.
const SWINGS: &WordList = words![
    "wander",
    "wanders",
    "wandered",
    "wandering",
    "hunts",
    "hunted",
    "hunting",
    "yaws",
    "yawed",
    "yawing",
    "swings",
    "swung",
    "swinging",
    "snakes",
    "snaked",
    "weaves",
    "weaved",
];

/// "three degrees warmer", "it dropped two degrees": a difference, which is no temperature and no angle.
fn is_a_difference(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let behind = tokens.get(amount.tokens.end).is_some_and(|t| {
        t.gap <= Gap::Line
            && t.is_any(words![
                "warmer",
                "colder",
                "hotter",
                "cooler",
                "higher",
                "lower",
                "difference",
                "better",
                "worse",
                "closer",
            ])
    });
    // "Twenty one degrees of a lift".
    let of = |n: usize| tokens.get(amount.tokens.end + n).filter(|t| t.gap <= Gap::Line);
    let gained = of(0).is_some_and(|t| t.is("of"))
        && (1..=2).filter_map(of).any(|t| t.is_any(words!["lift", "rise", "drop", "gain", "difference"]));
    // "Twenty degrees over outside".
    let over = tokens.get(amount.tokens.end).is_some_and(|t| t.is_any(words!["over", "above"]))
        && tokens
            .get(amount.tokens.end + 1)
            .is_some_and(|t| t.is_any(words!["outside", "ambient", "outdoors", "deck"]));
    let front = amount.tokens.start > 0
        && tokens[amount.tokens.start].gap <= Gap::Line
        && tokens[amount.tokens.start - 1]
            .is_any(words!["by", "another", "gained", "lost", "dropped", "rose", "fell", "up", "down"])
        && amount.other.is_none()
        && amount.run.candidates().first().is_some_and(|c| c.low.abs() <= 8.0);
    behind || gained || over || front
}

/// Whether the cue of a sea's temperature is what a tank holds: "Water's full, ninety".
fn is_full(context: &Context<'_, '_>, cue: Option<(usize, usize)>) -> bool {
    let tokens = context.tokens();
    cue.is_some_and(|(_, end)| {
        let mut behind = tokens[end.min(tokens.len())..].iter().take(3).take_while(|t| t.gap <= Gap::Line);
        behind.any(|t| t.is_any(words!["full", "topped", "brimmed", "filled"]))
    })
}

/// Whether what was told right before is of the engine.
fn told_of_engine(context: &Context<'_, '_>, k: usize, before: &[Before]) -> bool {
    let of_engine = |name: &str| matches!(name, "engine_speed" | "oil_pressure" | "engine_hours");
    before
        .iter()
        .rev()
        .take(2)
        .any(|b| near(context, b.amount, k) && of_engine(&quantity(b.choice.quantity).name))
}

/// "Oil 2.6 bar hot. 81 degrees.", "half an hour in gear, 178 degrees": as hot as an engine gets, right behind what else is
/// told of it.
fn behind_the_engine(
    context: &Context<'_, '_>,
    k: usize,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let amount = &context.amounts[k];
    let value = amount.run.candidates().first()?.low;
    let scale = if fits(COOLANT, &(value, value)) && !context.habits.fahrenheit {
        "degC"
    } else if (140.0..=225.0).contains(&value) {
        "degF"
    } else {
        return None;
    };
    let told = told_of_engine(context, k, before);
    let in_gear = context.tokens()[amount.tokens.start.saturating_sub(12)..amount.tokens.start]
        .iter()
        .any(|t| t.is_any(words!["gear", "revs", "rpm", "astern"]));
    // The "bar" of the oil's pressure is no barometer.
    let unit = |s: &Score| {
        told && s.cue.0 > 0
            && crate::number::atom_at(context.tokens(), s.cue.0 - 1).is_some_and(|a| a.end == s.cue.0)
    };
    let place = scores.iter().any(|s| s.named && s.before && s.score >= 8.0 && !unit(s));
    // Nothing is told to a boat at so many degrees but a course, or an angle to the wind.
    let angle =
        context.tokens()[amount.tokens.start.saturating_sub(8)..amount.tokens.start].iter().any(|t| {
            t.is_any(words![
                "heading", "course", "steering", "steered", "wind", "apparent", "true", "cog", "compass"
            ])
        }) || context
            .tokens()
            .get(amount.tokens.end)
            .is_some_and(|t| t.is_any(words!["off", "apparent", "true"]));
    if place || angle || !(told || in_gear) {
        return None;
    }
    build(context, k, index("engine_temperature"), Some(assumed(scale)), None)
}

/// "Port tack, twenty degrees": how far she heels on it.
fn heels(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    /// From few to as many degrees as a boat of this kind heels. Common practice, no source.
    const HEELS: std::ops::RangeInclusive<f64> = 8.0..=45.0;
    const REACH: usize = 3;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let on_a_tack = (1..=REACH)
        .map_while(|n| start.checked_sub(n))
        .take_while(|&i| tokens[i + 1].gap <= Gap::Comma)
        .any(|i| tokens[i].is("tack") && i > 0 && tokens[i - 1].is_any(words!["port", "starboard", "stbd"]));
    let few = amount.run.candidates().first().is_some_and(|c| HEELS.contains(&c.low));
    (on_a_tack && few).then(|| build(context, k, index("heel"), None, None)).flatten()
}

/// "Lies 50 deg off", "about fifty degrees off": the wind, which nobody needs to name.
fn lies_off(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let off = tokens.get(amount.tokens.end).is_some_and(|t| t.is("off") && t.gap <= Gap::Line);
    let ends = tokens.get(amount.tokens.end + 1).is_none_or(|t| t.gap >= Gap::Comma || t.is("and"));
    let angle = amount.run.candidates().first().is_some_and(|c| (LEAST_ANGLE..=180.0).contains(&c.low));
    // "She lay hove-to at fifty degrees".
    let start = amount.tokens.start;
    let hove_to = start > 2
        && tokens[start - 1].is("at")
        && tokens[start - 2].is("to")
        && tokens[start - 3].is_any(words!["hove", "heave", "heaved", "lies", "lying", "lay"]);
    ((off && ends || hove_to) && angle)
        .then(|| build(context, k, index("apparent_wind_angle"), None, None))
        .flatten()
}

/// "fifty four degrees and sunny", "six degrees, sleet": degrees that the sky is told with.
fn with_the_weather(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let end = amount.tokens.end;
    let next = tokens.get(end).filter(|t| t.gap <= Gap::Comma)?;
    let sky = if next.is("and") { tokens.get(end + 1).filter(|t| t.gap <= Gap::Line)? } else { next };
    let told = sky.is_any(words![
        "sunny",
        "sun",
        "sunshine",
        "rain",
        "raining",
        "sleet",
        "sleeting",
        "snow",
        "snowing",
        "fog",
        "foggy",
        "overcast",
        "drizzle",
        "drizzling",
        "frost",
        "frosty",
        "cloudy",
        "misty",
        "hail",
    ]);
    let value = amount.run.candidates().first().map_or(f64::NAN, |c| c.high);
    if !told || amount.other.is_some() || !(-40.0..=110.0).contains(&value) {
        return None;
    }
    let fahrenheit = context.habits.fahrenheit || value > 40.0;
    build(context, k, index("air_temperature"), Some(assumed(if fahrenheit { "degF" } else { "degC" })), None)
}

/// "forty out" in talk of anchoring.
pub(super) fn chain_is_out(context: &Context<'_, '_>, k: usize) -> bool {
    const REACH: usize = 14;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let behind = tokens.get(amount.tokens.end).is_some_and(|t| t.gap <= Gap::Line && t.is("out"));
    // "and I put out twenty five", "veered thirty".
    let let_go = start > 1
        && tokens[start].gap <= Gap::Line
        && (tokens[start - 1].is("veered")
            || tokens[start - 1].is("out")
                && tokens[start - 2].is_any(words!["put", "let", "paid", "ran", "laid"]))
        && amount.run.candidates().first().is_some_and(|c| c.low >= 10.0);
    (behind || let_go)
        && tokens[amount.tokens.start.saturating_sub(REACH)..amount.tokens.start].iter().any(|t| {
            t.is_any(words![
                "anchor",
                "anchored",
                "anchoring",
                "anchorage",
                "chain",
                "rode",
                "warp",
                "hook",
                "kedge",
                "bower",
                "dropped",
                "mud",
                "sand",
                "held",
                "holding",
                "set",
            ])
        })
}

/// A temperature that something is brought to, where the talk is of a heater: "heater on, half an hour to eighteen".
fn heats(context: &Context<'_, '_>, k: usize) -> bool {
    const REACH: usize = 14;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let led = start > 0
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["to", "reached", "at"]);
    led && tokens[start.saturating_sub(REACH)..start]
        .iter()
        .any(|t| t.is_any(words!["heater", "heating", "stove", "burner", "furnace", "bogey"]))
}

pub(super) fn degrees(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    if is_a_difference(context, k) {
        return None;
    }
    if is_a_swing(context, k) {
        let of_rudder = best(scores, &[of("rudder_angle")]) > 3.0;
        return angle(context, k, Some(unit), scores, before).filter(|_| of_rudder).map(|(choice, _)| choice);
    }
    if let Some(choice) = lies_off(context, k)
        .or_else(|| heels(context, k))
        .or_else(|| with_the_weather(context, k))
        .or_else(|| behind_the_engine(context, k, scores, before))
    {
        return Some(choice);
    }
    let angle = angle(context, k, Some(unit), scores, before);
    let temperature = temperature(context, k, Some(unit), scores, before);
    match (angle, temperature) {
        (Some((a, x)), Some((t, y))) => Some(if x >= y { a } else { t }),
        (Some((a, _)), None) => Some(a),
        (None, Some((t, _))) => Some(t),
        (None, None) => {
            // "1800 rpm, 82 deg, oil 3.6 bar": degrees between figures of the engine are the engine's.
            let engine = before.iter().rev().take(2).any(|b| {
                near(context, b.amount, k)
                    && matches!(quantity(b.choice.quantity).name.as_str(), "engine_speed" | "oil_pressure")
            }) || before
                .iter()
                .rev()
                .take(3)
                .any(|b| near(context, b.amount, k) && quantity(b.choice.quantity).name == "engine_speed");
            if engine {
                for scale in ["degC", "degF"] {
                    if let Some(choice) =
                        build(context, k, index("engine_temperature"), Some(assumed(scale)), None)
                        && choice.values.iter().all(|v| fits(quantity(choice.quantity).usual, v))
                    {
                        return Some(choice);
                    }
                }
            }
            // "I turn the engine off at ninety-five degrees": what is hot is the engine.
            let (from, to) = (context.amounts[k].tokens.start, context.amounts[k].tokens.end);
            let of_engine = context.tokens()[from.saturating_sub(24)..(to + 8).min(context.tokens().len())]
                .iter()
                .any(|t| {
                    t.is_any(words![
                        "engine",
                        "motor",
                        "coolant",
                        "overheat",
                        "overheated",
                        "overheating",
                        "thermostat",
                        "impeller",
                        "revs",
                    ])
                });
            let scale = if context.habits.fahrenheit { "degF" } else { "degC" };
            if of_engine
                && let Some(choice) =
                    build(context, k, index("engine_temperature"), Some(assumed(scale)), None)
                && choice.values.iter().all(|v| fits(COOLANT, v))
            {
                return Some(choice);
            }
            // "it is forty eight degrees": the weather's.
            let tokens = context.tokens();
            let start = context.amounts[k].tokens.start;
            let it = |n: usize| {
                start.checked_sub(n).is_some_and(|i| {
                    tokens[i].is_any(words!["'s", "is", "was", "it", "about", "only", "degrees"])
                        && tokens[i].gap < Gap::Clause
                })
            };
            // "seven degrees on the pontoon", "nine degrees and the water is seven": nothing else is so few degrees.
            let value = context.amounts[k].run.candidates().first().map_or(f64::NAN, |c| c.low);
            let mild = if context.habits.fahrenheit {
                (33.0..=84.0).contains(&value)
            } else {
                (-30.0..=16.0).contains(&value)
            };
            let told = tokens[start].gap >= Gap::Line
                || start > 0
                    && tokens[start - 1].is_any(words![
                        "makes", "makes", "made", "and", "now", "only", "about", "was", "is", "'s", "still",
                        "barely", "at",
                    ])
                || context.talk.clauses[context.talk.clause_of(start)].tokens.start == start
                || before.last().is_some_and(|b| {
                    let end = context.amounts[b.amount].tokens.end;
                    start - end.min(start) <= 4
                        && tokens[end..=start].iter().all(|t| t.gap < Gap::Block)
                        && matches!(
                            quantity(b.choice.quantity).name.as_str(),
                            "wind_force" | "wind_speed" | "true_wind_speed" | "pressure"
                        )
                });
            // "ten degrees either side" is how far something swings.
            let swings = tokens.get(context.amounts[k].tokens.end).is_some_and(|t| {
                t.gap <= Gap::Line && t.is_any(words!["either", "each", "both", "of", "off"])
            });
            let few = !swings && (mild && told || value < 0.0);
            if it(1) && start >= 1 || few {
                let scale = if context.habits.fahrenheit { "degF" } else { "degC" };
                // "twenty minutes in the suit, nine degrees": what a swimmer is in is the sea.
                let swims = !it(1)
                    && tokens[start.saturating_sub(16)..start].iter().any(|t| {
                        t.is_any(words![
                            "swam",
                            "swim",
                            "swimming",
                            "suit",
                            "drysuit",
                            "overboard",
                            "overside"
                        ])
                    });
                let place = index(if swims { "sea_temperature" } else { "air_temperature" });
                return build(context, k, place, Some(assumed(scale)), None)
                    .or_else(|| build(context, k, place, Some(assumed("degF")), None));
            }
            None
        }
    }
}

/// Bare angles off the bow.
pub(super) fn bare_angle(context: &Context<'_, '_>, k: usize, scores: &[Score], s: &Score) -> Option<Choice> {
    let apparent = best(scores, &[Target::Apparent]);
    let truly =
        best(scores, &[Target::True]) > apparent.max(4.0) || context.habits.all_true && apparent < 3.0;
    build(context, k, index(if truly { "true_wind_angle" } else { "apparent_wind_angle" }), None, Some(s.cue))
}

/// What speaks for the note's temperatures being in Fahrenheit, less what speaks for Celsius: by its words and units, and by figures that make sense in one
/// scale only (a cabin at 58, a sea at 47, an engine at 175; a cabin at 16, a sea at 9, an engine at 82).
pub(super) fn fahrenheit_points(context: &Context<'_, '_>) -> i32 {
    let fahrenheit = [
        ("cabin_temperature", 44.0..110.0),
        ("air_temperature", 44.0..110.0),
        ("sea_temperature", 36.0..90.0),
        ("engine_temperature", 135.0..230.0),
    ];
    let celsius = [
        ("cabin_temperature", 3.0..31.0),
        ("air_temperature", -20.0..18.0),
        ("sea_temperature", -2.0..27.0),
        ("engine_temperature", 60.0..108.0),
    ];
    let mut points = context.habits.fahrenheit_points;
    for (k, amount) in context.amounts.iter().enumerate() {
        let open = amount.unit.is_none() || amount.dimension() == Some(Dimension::Degree);
        if !open || amount.base.is_some() {
            continue;
        }
        let scores = context.scores(k);
        let Some(top) = scores.iter().find(|s| s.named) else { continue };
        if top.score < 8.5 || scores.first().is_none_or(|s| s.score > top.score) {
            continue;
        }
        let value = amount.run.candidates().iter().map(|c| c.low).fold(f64::NAN, f64::max);
        let says = |list: &[(&str, std::ops::Range<f64>)]| {
            list.iter()
                .any(|(name, band)| top.target == Target::Quantity(index(name)) && band.contains(&value))
        };
        points += 2 * i32::from(says(&fahrenheit)) - 2 * i32::from(says(&celsius));
    }
    points
}
