//! Numbers without a unit: what names them, or what they carry on.

use crate::number::{Candidate, Form, How};
use crate::quantity::{Dimension, Quantity, Target, UnitAt};
use crate::token::Gap;
use crate::word::WordList;

use super::amount::Amount;
use super::beside::{angle_behind_speed, angle_of_a_speed, eases_to, steered};
use super::carry::{
    Before, called_out, carry, draws_too, gives_less, goes_on, meter_rose, near, speed_again, strong_carry,
    water_too,
};
use super::context::{Context, Score};
use super::degree::{bare_angle, chain_is_out, temperature};
use super::speed::{bare_force, bare_wind, finish_speed, flavour, gusts_follow};
use super::told::{alarm_s_limit, sails_by};
use super::unnamed::{
    blows_over, by_topic, frost, glass_by_shape, heat_by_context, hours_by_context, it_blows, one_puff,
    revs_by_context, serviced_every, the_worst_one,
};
use super::value::{Choice, assumed, best, build, fits, index, of, quantity};
use super::volts::{volts_again, volts_by_context, volts_told};

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
    if let Some(choice) = the_worst_one(context, k, before).or_else(|| one_puff(context, k, before)) {
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
    if sounded_at(context, k) || is_at_an_hour(context, k, before) {
        return None;
    }
    // "the book says every one fifty": an interval of something unsaid.
    let every = amount.tokens.start.checked_sub(1).map(|i| &context.tokens()[i]);
    if every.is_some_and(|t| t.is_any(words!["every", "each"])) {
        // "I change the oil every hundred and fifty": hours of the engine.
        let hours = amount.run.candidates().iter().any(|c| (40.0..=1000.0).contains(&c.low));
        return (hours && serviced_every(context, k))
            .then(|| build(context, k, index("engine_hours"), Some(assumed("h")), None))
            .flatten();
    }
    if context.tokens()[amount.tokens.start].is_any(words!["+", "plus"])
        && let Some(choice) = frost(context, k, scores)
    {
        return Some(choice);
    }
    if let Some(choice) = volts_told(context, k, scores) {
        return Some(choice);
    }
    if let Some(choice) = done_in(context, k, before)
        .or_else(|| goes_on(context, k, scores, before))
        .or_else(|| draws_too(context, k, before))
        .or_else(|| water_too(context, k, before))
        .or_else(|| gives_less(context, k, before))
        .or_else(|| meter_rose(context, k))
    {
        return Some(choice);
    }
    if let Some(choice) = volts_again(context, k, before).or_else(|| eases_to(context, k, before)) {
        return Some(choice);
    }
    if let Some(choice) = bare_force(context, k, scores, before) {
        return Some(choice);
    }
    if let Some(choice) = rate(context, k, before) {
        return Some(choice);
    }
    // "if it blows fifty up there": whatever place is named behind, it is the wind that blows.
    if blows_over(context, k)
        && !scores.iter().any(|s| {
            s.named
                && s.before
                && s.score >= 7.0
                && !matches!(s.target, Target::Wind | Target::Apparent | Target::True)
        })
        && let Some(choice) = it_blows(context, k, scores)
    {
        return Some(choice);
    }
    if let Some(choice) = angle_behind_speed(context, k, before)
        .or_else(|| angle_of_a_speed(context, k, before))
        .or_else(|| steered(context, k))
    {
        return Some(choice);
    }
    if chain_is_out(context, k) {
        let unit = assumed(if context.habits.feet { "ft" } else { "m" });
        return build(context, k, index("length"), Some(unit), None);
    }
    if gusts_follow(context, k, amount.tokens.end)
        && amount.run.candidates().first().is_some_and(|c| (4.0..=70.0).contains(&c.low))
    {
        return finish_speed(context, k, None, flavour(context, k, scores), scores);
    }
    if compass {
        return bare_wind(context, k, scores, Target::Wind);
    }
    if let Some(choice) = hours_by_context(context, k, before) {
        return Some(choice);
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
                        if !context.tokens()[s.cue.0].is_any(words!["tide", "ebb", "flood", "stream"]) =>
                    {
                        None
                    }
                    // "made good five and a bit" is how fast; where to is told in three figures.
                    "course_over_ground" if amount.run.candidates().first().is_some_and(|c| c.low < 20.0) => {
                        finish_speed(context, k, None, "speed_over_ground", scores)
                    }
                    // "takes one point four": amperes are the only thing taken in decimals without a unit.
                    "current"
                        if !amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_)))
                            && !electrical(context, s.cue.0) =>
                    {
                        None
                    }
                    "rig_tension" | "gauge_reading" => bare_rig(context, k, scores, s),
                    // "Running hours at stop 3415", but "engine 2 hrs at 1500".
                    "engine_speed"
                        if !amount
                            .tokens
                            .start
                            .checked_sub(1)
                            .is_some_and(|i| context.tokens()[i].is("at"))
                            && context.tokens()[s.cue.0..amount.tokens.start.max(s.cue.0)]
                                .iter()
                                .any(|t| t.is_any(words!["hours", "hrs"])) =>
                    {
                        build(context, k, index("engine_hours"), Some(assumed("h")), Some(s.cue))
                    }
                    // "Engine 1845.2": no counter of revolutions shows tenths.
                    "engine_speed"
                        if amount
                            .run
                            .candidates()
                            .first()
                            .is_some_and(|c| c.low >= 100.0 && c.low.fract() != 0.0) =>
                    {
                        build(context, k, index("engine_hours"), Some(assumed("h")), Some(s.cue))
                    }
                    // "down to a quarter" is of the tank.
                    "fuel_volume" | "water_volume" if matches!(amount.run.atoms.as_slice(), [one] if one.form == Form::Fraction && one.value < 1.0) => {
                        None
                    }
                    // "Run 131" of a day; a short run is a trial's.
                    "distance"
                        if s.cue.1 - s.cue.0 == 1
                            && context.tokens()[s.cue.0].is("run")
                            && !day_run(context, k, s) =>
                    {
                        None
                    }
                    // An alarm may be the bilge's or the anchor's.
                    "co_level" if !fumes(context, s) => None,
                    _ => build(context, k, i, bare_unit(context, k, q, before), Some(s.cue)),
                }
            }
        };
        if let Some(choice) = choice {
            let q = quantity(choice.quantity);
            let usual = choice.values.iter().all(|v| fits(q.usual, v));
            // "Drift 1.3": slower than a boat sails, but named and to the tenth.
            let slow = q.name == "boat_speed"
                && s.before
                && s.score > 9.0
                && choice.values.iter().all(|v| (0.2..1.5).contains(&v.0))
                && amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(1)));
            // A bank of twenty-four volts, where the note tells of one.
            let high = q.name == "voltage"
                && context.habits.high_bank
                && choice.values.iter().all(|v| (21.0..=30.0).contains(&v.0));
            // "The starting battery sank to nine point one": low, but named and to the tenth.
            let low = q.name == "voltage"
                && s.before
                && s.score > 7.0
                && choice.values.iter().all(|v| (8.0..10.5).contains(&v.0))
                && amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(1)));
            let usual = usual || slow || high || low;
            let shape = if shape_fits(&q.name, amount) { 0.0 } else { 5.0 };
            if usual {
                found.push((s.score - shape, s.before, choice));
            }
        }
    }
    if temperatures
        && !few_on_deck(context, k, scores, before)
        && let Some((choice, top)) = temperature(context, k, None, scores, before)
    {
        let q = quantity(choice.quantity);
        let usual = choice.values.iter().all(|v| fits(q.usual, v));
        if usual || top > 10.0 && q.name != "engine_temperature" {
            found.push((top, true, choice));
        }
    }
    let top = found.into_iter().filter(|(s, ..)| *s >= BARE - 0.5).max_by(|a, b| a.0.total_cmp(&b.0));
    // "in the harbour was four Beaufort, outside six".
    if let Some((_, _, choice)) = &top
        && quantity(choice.quantity).name == "air_temperature"
        && let Some(b) = before.last().filter(|b| near(context, b.amount, k))
        && quantity(b.choice.quantity).name == "wind_force"
        && amount.tokens.start - context.amounts[b.amount].tokens.end <= 3
        && context.tokens()[context.amounts[b.amount].tokens.end..amount.tokens.start]
            .iter()
            .any(|t| t.is_any(words!["outside", "out", "offshore"]))
        && let Some(choice) = build(context, k, b.choice.quantity, None, None)
        && choice.values.iter().all(|v| v.0.fract() == 0.0 && v.0 <= 10.0)
    {
        return Some(choice);
    }
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
    if barometric(amount) {
        return build(context, k, index("pressure"), Some(assumed("inHg")), None);
    }
    if blows_over(context, k)
        && let Some(choice) = it_blows(context, k, scores)
    {
        return Some(choice);
    }
    revs_by_context(context, k, before)
        .or_else(|| heat_by_context(context, k, before))
        .or_else(|| frost(context, k, scores))
        .or_else(|| carry(context, k, before))
        .or_else(|| called_out(context, k, before))
        .or_else(|| alarm_s_limit(context, k))
        .or_else(|| sails_by(context, k, scores))
        .or_else(|| by_topic(context, k))
        .or_else(|| volts_by_context(context, k))
        .or_else(|| glass_by_shape(context, k, before))
        .or_else(|| speed_again(context, k, before))
        .or_else(|| it_blows(context, k, scores))
}

/// "Six minutes. We had said that we must do it in four": as long as it took or should take, where minutes were told.
fn done_in(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    /// As many readings back as the minutes may stand.
    const BACK: usize = 6;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let [does, it, within] = tokens.get(start.checked_sub(3)?..start)? else { return None };
    let led = within.is("in")
        && it.is_any(words!["it", "that", "her", "him", "so"])
        && does.is_any(words![
            "do", "did", "done", "does", "doing", "made", "make", "manage", "managed", "had", "have"
        ]);
    if !led {
        return None;
    }
    let told = before
        .iter()
        .rev()
        .take(BACK)
        .find(|b| near(context, b.amount, k) && quantity(b.choice.quantity).name == "duration")?;
    build(context, k, told.choice.quantity, told.choice.unit, None)
}

/// "The alarm chirped at four": an hour, since no alarm sounds at so few parts per million.
fn sounded_at(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let went_off = |i: usize| {
        tokens[i].is("off") && i > 0 && tokens[i - 1].is_any(words!["went", "goes", "gone", "going"])
    };
    let sounds = start >= 2
        && tokens[start - 1].is("at")
        && (start.saturating_sub(4)..start - 1).any(|i| {
            went_off(i)
                || tokens[i].is_any(words![
                    "chirped", "chirps", "beeped", "beeps", "bleeped", "bleeps", "sounded", "screamed",
                ])
        });
    sounds && amount.run.candidates().first().is_some_and(|c| c.low <= 12.0 && c.low.fract() == 0.0)
}

/// "6 °C in the cabin at five", "I woke up at four": an hour of the day.
fn is_at_an_hour(context: &Context<'_, '_>, k: usize, before: &[Before]) -> bool {
    /// As many words stand between the heat and its hour at most, and between waking and its own.
    const APART: usize = 4;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let hour = |c: &Candidate| c.low.fract() == 0.0 && (1.0..=12.0).contains(&c.low);
    if !amount.run.candidates().first().is_some_and(hour)
        || amount.other.is_some()
        || start == 0
        || !tokens[start - 1].is("at")
        || tokens[start].gap > Gap::Line
    {
        return false;
    }
    let in_one_breath = |from: usize| tokens[from..=start].iter().all(|t| t.gap < Gap::Clause);
    let woke = (start.saturating_sub(APART)..start).any(|i| {
        tokens[i].is_any(words!["woke", "woken", "wake", "watch", "phoned", "rang"]) && in_one_breath(i + 1)
    });
    let heat = before.last().is_some_and(|b| {
        let end = context.amounts[b.amount].tokens.end;
        quantity(b.choice.quantity).name.ends_with("temperature")
            && end + APART >= start
            && in_one_breath(end)
    });
    let held = tokens[start.saturating_sub(APART)..start].iter().any(|t| {
        t.is_any(words!["held", "holds", "steady", "sat", "stayed", "now", "and", "is", "'s", "was"])
    });
    woke || heat && !held
}

/// "so that's 2.6 an hour", "nineteen a minute": what the talk of fuel or of a pump leaves the unit out of.
fn rate(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    /// How far in front the talk is looked at, in tokens.
    const REACH: usize = 40;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let end = amount.tokens.end;
    let [per, time, ..] = tokens.get(end..)? else { return None };
    if per.gap > Gap::Line
        || time.gap > Gap::Line
        || !per.is_any(words!["a", "an", "per", "/", "each", "every", "the"])
    {
        return None;
    }
    let (name, symbol, words): (_, _, &WordList) = if time.is_any(words!["hour", "hr", "h"]) {
        (
            "fuel_rate",
            "L",
            words![
                "fuel", "diesel", "burn", "burned", "burnt", "burns", "drank", "drinks", "litres", "liters",
                "gallons", "gallon", "heater", "motored", "motoring", "engine", "uses", "used", "petrol",
                "litre",
            ],
        )
    } else if time.is_any(words!["minute", "min"]) {
        ("pump_rate", "L", words!["pump", "pumps", "pumped", "bilge", "litres", "liters", "gallons", "litre"])
    } else {
        return None;
    };
    let start = amount.tokens.start;
    let talk = tokens[start.saturating_sub(REACH)..start].iter().any(|t| t.is_any(words));
    // "Dripping about six a minute": drops are counted.
    const DRIPS: usize = 8;
    let drips = tokens[start.saturating_sub(DRIPS)..start]
        .iter()
        .any(|t| t.is_any(words!["drip", "drips", "dripping", "dripped", "drops", "drop"]));
    if !talk || drips {
        return None;
    }
    let said =
        before.iter().rev().take(6).find_map(|b| {
            b.choice.unit.filter(|u| u.unit.dimension == Dimension::Volume && u.unit.factor > 0.7)
        });
    let mut unit = said.unwrap_or_else(|| assumed(symbol));
    let dimension = if name == "fuel_rate" { Dimension::RateHour } else { Dimension::RateMinute };
    unit.rate = Some((dimension, 1.0));
    let choice = build(context, k, index(name), Some(unit), None)?;
    choice.values.iter().all(|v| fits(quantity(choice.quantity).usual, v)).then_some(choice)
}

/// "three on deck", "two in the cockpit": a few of something, where nothing speaks of warmth and its place comes behind.
fn few_on_deck(context: &Context<'_, '_>, k: usize, scores: &[Score], before: &[Before]) -> bool {
    const REACH: usize = 20;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let [atom] = amount.run.atoms.as_slice() else { return false };
    if !(matches!(atom.form, Form::Digit) && (0.0..=9.0).contains(&atom.value)) || amount.other.is_some() {
        return false;
    }
    let in_front = scores.iter().any(|s| s.named && s.before && s.score >= BARE);
    let told = before.iter().rev().take(3).any(|b| quantity(b.choice.quantity).unit == "degC");
    let warmth = tokens
        [amount.tokens.start.saturating_sub(REACH)..(amount.tokens.end + 10).min(tokens.len())]
        .iter()
        .any(|t| {
            t.is_any(words![
                "cold",
                "warm",
                "degrees",
                "degree",
                "temp",
                "temperature",
                "heater",
                "stove",
                "thermometer",
                "frost",
                "minus",
                "freezing",
                "chilly",
                "heating",
            ])
        });
    !(in_front || told || warmth)
}

/// Whether what draws or takes is a thing that runs on the battery.
fn electrical(context: &Context<'_, '_>, verb: usize) -> bool {
    let tokens = context.tokens();
    tokens[verb].is_any(words!["draws", "drawing", "pulls", "pulling", "draw", "pull"])
        && tokens[verb.saturating_sub(6)..verb].iter().any(|t| {
            t.is_any(words![
                "fridge",
                "refrigerator",
                "freezer",
                "heater",
                "pilot",
                "autopilot",
                "windlass",
                "radar",
                "plotter",
                "inverter",
                "kettle",
                "fan",
                "pump",
                "starter",
                "glow",
                "compressor",
                "watermaker",
                "thruster",
            ])
        })
}

/// "Run 131.": a day's run, written by itself.
fn day_run(context: &Context<'_, '_>, k: usize, s: &Score) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let alone = tokens[s.cue.0].gap >= Gap::Comma
        && tokens.get(amount.tokens.end).is_none_or(|t| t.gap >= Gap::Comma);
    alone && amount.run.candidates().first().is_some_and(|c| (25.0..=260.0).contains(&c.low))
}

/// Whether a cue is of the carbon monoxide: it says so, or no other kind of alarm is named near.
fn fumes(context: &Context<'_, '_>, s: &Score) -> bool {
    let tokens = context.tokens();
    let named = |t: &crate::token::Token<'_>| t.is_any(words!["co", "monoxide", "ppm", "carbon"]);
    // "cap shroud: 31 on the meter": a rig has a meter too.
    let (from, to) = (s.cue.0.saturating_sub(10), (s.cue.1 + 6).min(tokens.len()));
    let rig = |t: &crate::token::Token<'_>| {
        t.is_any(words![
            "shroud", "shrouds", "cap", "caps", "lower", "lowers", "upper", "uppers", "stay", "backstay",
            "forestay", "rig", "gauge", "wire",
        ])
    };
    if tokens[s.cue.0..s.cue.1].iter().any(|t| t.is("meter")) && tokens[from..to].iter().any(rig) {
        return false;
    }
    // "Smoke alarm", but "the smoke comes back into the cabin, detector 24".
    let of_smoke = s.cue.0 > 0 && tokens[s.cue.0 - 1].is("smoke");
    tokens[s.cue.0..s.cue.1].iter().any(named)
        || !of_smoke
            && !tokens[s.cue.0.saturating_sub(10)..(s.cue.1 + 6).min(tokens.len())].iter().any(|t| {
                t.is_any(words![
                    "bilge",
                    "water",
                    "anchor",
                    "depth",
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
    let signed = atom.value < 0.0 || tokens[atom.start].is_any(words!["plus", "+"]);
    // "outside one", "minus one on deck".
    let last = tokens
        .get(amount.tokens.end)
        .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "degree", "degrees"]));
    if signed || (surely && last) {
        return false;
    }
    let before = atom.start.checked_sub(1).map(|i| &tokens[i]);
    let led = |words: &WordList| before.is_some_and(|t| t.is_any(words));
    if atom.form == Form::Fraction && atom.value < 1.0 {
        return true;
    }
    if atom.form == Form::Digit && atom.value <= 2.0 && amount.other.is_none() {
        let fine: &WordList = if atom.value == 1.0 {
            words!["force", "to", "be", "a", "about"]
        } else {
            words!["force", "to", "be", "a", "is", "'s", "was", "under", "over", "seas", "about", "or"]
        };
        return !led(fine) && atom.value != 0.0;
    }
    // "12 kn is not 18".
    let is_not = atom.start > 1 && tokens[atom.start - 2].is_any(words!["is", "'s", "are", "was", "were"]);
    led(words!["not"]) && (is_not || before.is_some_and(|t| t.gap == Gap::Sentence))
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
            .any(|i| tokens[i].is_any(words!["that", "or", "about", "=", "and", "/"]));
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
    // "the caps between fifteen and twenty" are told in per cent, where nobody has a gauge.
    let band = amount.other.is_some() && value <= 20.5 && !context.habits.gauge;
    let percent = if band {
        true
    } else if context.habits.gauge && !context.habits.rig_percent && value > 18.0 {
        false
    } else if context.habits.rig_percent {
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
        .enumerate()
        .filter(|(_, a)| a.unit.is_none())
        .filter(|(k, _)| context.scores(*k).iter().any(|s| s.target == rig && s.score > 6.0))
        .flat_map(|(_, a)| {
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
