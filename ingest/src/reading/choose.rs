//! Which quantity a number is, by its unit, the words around it and what is plausible.

use crate::number::{Candidate, Form, How, Run};
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
}

/// What was read before, to carry on from.
#[derive(Clone, Debug)]
pub struct Before {
    /// Index of its amount.
    pub amount: usize,
    /// What it was.
    pub choice: Choice,
}

/// A quantity by its index, its score, and the tokens of the cue that scored it.
type Ranked = (usize, f32, Option<(usize, usize)>);

/// The smallest score that a bare number needs of the words around it.
const BARE: f32 = 5.0;

fn index(name: &str) -> usize {
    table().index(name).expect("a quantity of the table")
}

fn quantity(i: usize) -> &'static Quantity {
    &table().quantities[i]
}

fn best(scores: &[Score], targets: &[Target]) -> f32 {
    scores.iter().filter(|s| targets.contains(&s.target)).map(|s| s.score).fold(0.0, f32::max)
}

fn of(name: &str) -> Target {
    Target::Quantity(index(name))
}

/// A unit by its symbol, as if it had been said.
fn assumed(symbol: &str) -> UnitAt {
    let unit: &'static Unit = units().by_symbol(symbol).expect("a unit of the file");
    UnitAt { unit, rate: None, end: 0 }
}

/// Decides what an amount is.
pub fn choose(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let scores = context.scores(amount);
    match amount.unit {
        Some(unit) => with_unit(context, k, unit, &scores, before),
        None => bare(context, k, &scores, before),
    }
}

// ---- values -------------------------------------------------------------------------------------------------------

fn fits(band: [f64; 2], c: &(f64, f64)) -> bool {
    c.0 >= band[0] - 1e-9 && c.1 <= band[1] + 1e-9
}

/// The meaning of a run that fits a quantity best, in its canonical unit.
pub fn value_of(run: &Run, unit: Option<&UnitAt>, imperial: bool, q: &Quantity) -> Option<((f64, f64), How)> {
    let turn = |v: f64| -> Option<f64> {
        match unit {
            Some(u) => convert(u.to_base(v, imperial), u.dimension(), &q.unit),
            None => Some(v),
        }
    };
    let candidates: Vec<(Candidate, (f64, f64))> =
        run.candidates().into_iter().filter_map(|c| Some((c, (turn(c.low)?, turn(c.high)?)))).collect();
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
        order.iter().position(|h| *h == how).unwrap_or(9) as u8
    };
    // Figures run together only in front of a spoken unit, and only for what is told in pairs or with one decimal.
    let runs_together = |v: &(f64, f64)| {
        unit.is_some() && (q.style == Style::Again || q.style == Style::Pair && q.unit == "kn" && v.0 < v.1)
    };
    let mut usual: Vec<_> = candidates
        .iter()
        .filter(|(c, v)| fits(q.usual, v) && (c.how != How::Fused || runs_together(v)))
        .collect();
    usual.sort_by_key(|(c, _)| rank(c.how));
    let mut possible: Vec<_> =
        candidates.iter().filter(|(c, v)| fits(q.possible, v) && c.how != How::Fused).collect();
    possible.sort_by_key(|(c, _)| rank(c.how));
    usual.first().or(possible.first()).map(|(c, v)| (*v, c.how))
}

/// The values of an amount as a quantity: one, or two for a change.
fn values(
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

fn build(
    context: &Context<'_, '_>,
    k: usize,
    i: usize,
    unit: Option<UnitAt>,
    cue: Option<(usize, usize)>,
) -> Option<Choice> {
    let amount = &context.amounts[k];
    let q = quantity(i);
    let (values, how) = values(amount, unit.as_ref(), context.habits.imperial, q)?;
    let mut doubts = Vec::new();
    if how == How::Fused {
        doubts.push("the figures look like two numbers that were written as one".to_owned());
    }
    if !values.iter().all(|v| fits(q.usual, v)) && q.usual != q.possible {
        doubts.push(format!("outside of what is usual for {}", q.name.replace('_', " ")));
    }
    Some(Choice { quantity: i, values, unit, cue, doubts })
}

/// The first of some quantities, by score, whose band the amount fits; outside the usual band costs a little.
fn fitting(context: &Context<'_, '_>, k: usize, unit: Option<UnitAt>, ranked: &[Ranked]) -> Option<Choice> {
    let mut found: Vec<(f32, Choice)> = Vec::new();
    for &(i, score, cue) in ranked {
        if let Some(choice) = build(context, k, i, unit, cue) {
            let usual = choice.values.iter().all(|v| fits(quantity(i).usual, v));
            found.push((if usual { score } else { score - 4.0 }, choice));
        }
    }
    found.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, c)| c)
}

// ---- with a unit --------------------------------------------------------------------------------------------------

fn ranked(scores: &[Score], names: &[&str]) -> Vec<Ranked> {
    names
        .iter()
        .map(|name| {
            let i = index(name);
            let s = scores.iter().find(|s| s.target == Target::Quantity(i));
            (i, s.map_or(0.0, |s| s.score), s.map(|s| s.cue))
        })
        .collect()
}

fn with_unit(
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
            let hot =
                value_of(&context.amounts[k].run, Some(&unit), false, quantity(index("temperature")))?.0.0
                    > 60.0;
            build(context, k, index(if hot { "engine_temperature" } else { "temperature" }), Some(unit), None)
        }),
        D::Length => {
            let inches = unit.unit.symbol == "in";
            if inches && (score("pressure") > 3.0 || barometric(&context.amounts[k])) {
                return build(context, k, index("pressure"), Some(assumed("inHg")), None);
            }
            let names = ["wave_height", "water_depth", "length", "distance"];
            let mut list = ranked(scores, &names);
            list.pop();
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
            let carried = carried(&["oil_pressure", "engine_temperature", "engine_speed"]).is_some();
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
        D::Concentration => pick(&["co_level"]),
        D::Frequency => None,
    }
}

/// Fuel or water: by the words around, else by what was told before, else by what else the block speaks of.
fn volume(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let names = ["fuel_volume", "water_volume"];
    let list = ranked(scores, &names);
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

fn cue_of(scores: &[Score], target: Target) -> Option<(usize, usize)> {
    scores.iter().find(|s| s.target == target).map(|s| s.cue)
}

/// Whether a time is one that something took; years are ages, and days mostly dates.
fn lasts(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
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
fn best_other_pressure(context: &Context<'_, '_>, k: usize) -> bool {
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

fn barometric(amount: &Amount) -> bool {
    matches!(amount.run.atoms.as_slice(), [one] if (28.0..=31.6).contains(&one.value) && matches!(one.form, Form::Decimal(2)))
}

/// Whether one amount stands close enough behind another to carry on from it.
fn near(context: &Context<'_, '_>, a: usize, b: usize) -> bool {
    let (first, second) = (&context.amounts[a], &context.amounts[b]);
    let (x, y) = (context.talk.clause_of(first.tokens.start), context.talk.clause_of(second.tokens.start));
    let (x, y) = (&context.talk.clauses[x], &context.talk.clauses[y]);
    x.block == y.block && y.sentence - x.sentence <= 1 && second.tokens.start - first.tokens.end <= 28
}

// ---- speeds -------------------------------------------------------------------------------------------------------

fn same_sentence(context: &Context<'_, '_>, a: usize, b: usize) -> bool {
    let sentence =
        |k: usize| context.talk.clauses[context.talk.clause_of(context.amounts[k].tokens.start)].sentence;
    sentence(a) == sentence(b)
}

/// "if it were ten knots", "it's blowing five": the weather's "it".
fn it_is(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    (1..=3)
        .map_while(|n| start.checked_sub(n))
        .take_while(|&i| tokens[i + 1].gap < Gap::Comma)
        .any(|i| tokens[i].is("it") && tokens[i + 1].is_any(&["were", "'s", "was", "is", "blows", "blew"]))
}

fn wind_family(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> f32 {
    let said = best(
        scores,
        &[
            Target::Wind,
            of("wind_speed"),
            of("apparent_wind_speed"),
            of("true_wind_speed"),
            Target::Apparent,
            Target::True,
            of("wind_force"),
        ],
    );
    if context.with_compass[k] { said.max(11.0) } else { said }
}

/// Apparent, true, or not said.
fn flavour(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> &'static str {
    let apparent = best(scores, &[Target::Apparent, of("apparent_wind_speed")]);
    let true_ = best(scores, &[Target::True, of("true_wind_speed")]);
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let breath = k.checked_sub(1).map(|p| &context.amounts[p]).is_some_and(|p| {
        amount.tokens.start - p.tokens.end <= 3
            && context.tokens()[p.tokens.end..=amount.tokens.start].iter().all(|t| t.gap <= Gap::Line)
            && best(&context.scores(p), &[Target::Apparent]) > 6.0
    });
    let dial = (amount.tokens.end..amount.tokens.end + 4)
        .chain(amount.tokens.start.saturating_sub(5)..amount.tokens.start)
        .filter_map(|i| tokens.get(i))
        .any(|t| context.habits.apparent_dials.iter().any(|d| t.is(d)));
    if apparent >= true_ && (apparent > 3.5 || breath) {
        "apparent_wind_speed"
    } else if true_ > 3.5 {
        "true_wind_speed"
    } else if dial {
        "apparent_wind_speed"
    } else if context.habits.all_true {
        "true_wind_speed"
    } else if context.habits.all_apparent {
        "apparent_wind_speed"
    } else {
        "wind_speed"
    }
}

fn speed(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let score = |name: &str| best(scores, &[of(name)]);
    let wind = wind_family(context, k, scores);
    let boat = score("boat_speed");
    let sog = score("speed_over_ground");
    let list = [
        ("wind_gust", score("wind_gust") + 0.6),
        ("stream_speed", score("stream_speed") + 0.4),
        ("speed_over_ground", sog + 0.5),
        ("speed_change", score("speed_change")),
        ("boat_speed", boat),
        (flavour(context, k, scores), wind),
    ];
    let (mut name, top) = list.iter().copied().fold(("", 1.0_f32), |a, b| if b.1 > a.1 { b } else { a });
    if top < 3.0 {
        // Nothing says: carry on from the number before, else by what is likely.
        let carried = before
            .iter()
            .rev()
            .take(2)
            .find(|b| near(context, b.amount, k) && same_sentence(context, b.amount, k))
            .map(|b| quantity(b.choice.quantity).name.as_str());
        let value = value_of(&context.amounts[k].run, Some(&unit), false, quantity(index("wind_speed")))
            .map_or(0.0, |v| v.0.1);
        name = match carried {
            Some(
                n @ ("wind_speed"
                | "apparent_wind_speed"
                | "true_wind_speed"
                | "boat_speed"
                | "speed_over_ground"
                | "stream_speed"
                | "wind_gust"),
            ) if name.is_empty() => n,
            _ if name.is_empty() => {
                if value >= 11.0 || it_is(context, k) {
                    flavour(context, k, scores)
                } else {
                    "boat_speed"
                }
            }
            _ => name,
        };
    }
    // A boat of this size does not do fifteen knots for long: such a number is the wind's.
    let fast = value_of(&context.amounts[k].run, Some(&unit), false, quantity(index("wind_speed")))
        .is_some_and(|(v, _)| v.0 > 12.0);
    if fast && matches!(name, "boat_speed") && top < 9.0 {
        name = flavour(context, k, scores);
    }
    finish_speed(context, k, Some(unit), name, scores)
}

fn finish_speed(
    context: &Context<'_, '_>,
    k: usize,
    unit: Option<UnitAt>,
    name: &str,
    scores: &[Score],
) -> Option<Choice> {
    let name =
        if name == "boat_speed" && context.habits.all_over_ground && best(scores, &[of("boat_speed")]) < 12.0
        {
            "speed_over_ground"
        } else {
            name
        };
    let target = match name {
        "wind_speed" => Target::Wind,
        "apparent_wind_speed" => Target::Apparent,
        "true_wind_speed" => Target::True,
        other => of(other),
    };
    let mut choice =
        build(context, k, index(name), unit, cue_of(scores, target).or_else(|| cue_of(scores, of(name))))?;
    if name == "speed_change" {
        let tokens = context.tokens();
        let amount = &context.amounts[k];
        let around = (amount.tokens.start.saturating_sub(6)..amount.tokens.start)
            .chain(amount.tokens.end..amount.tokens.end + 4);
        let slower = around.filter_map(|i| tokens.get(i)).any(|t| {
            t.is_any(&[
                "off", "slower", "took", "lost", "lose", "losing", "knocked", "knocks", "takes", "cost",
                "costs", "slowed", "less", "worse",
            ])
        });
        if slower {
            for v in &mut choice.values {
                *v = (-v.1.abs(), -v.0.abs());
            }
        }
    }
    Some(choice)
}

// ---- angles and temperatures --------------------------------------------------------------------------------------

/// An angle with the score that it was found by.
fn angle(
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
    let family = apparent.max(true_).max(wind).max(offwind);
    list[0].1 = if truly { 0.0 } else { family };
    list[1].1 = if truly { family } else { list[1].1.min(family - 1.0) };
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

/// A temperature with the score that it was found by.
fn temperature(
    context: &Context<'_, '_>,
    k: usize,
    unit: Option<UnitAt>,
    scores: &[Score],
    before: &[Before],
) -> Option<(Choice, f32)> {
    let names =
        ["air_temperature", "cabin_temperature", "sea_temperature", "engine_temperature", "temperature"];
    let mut list = ranked(scores, &names);
    let water = scores.iter().find(|s| s.target == Target::EngineWater);
    if let Some(water) = water {
        list[3].1 = list[3].1.max(water.score + 1.0);
        list[3].2 = list[3].2.or(Some(water.cue));
    }
    let floor = if unit.is_some() { 1.0 } else { BARE };
    list.retain(|(_, s, _)| *s > floor);
    // Without a scale it is the note's, unless only the other is possible.
    let scales: Vec<UnitAt> = match unit {
        Some(u) if u.unit.dimension == Dimension::Temperature => vec![u],
        _ if context.habits.fahrenheit => vec![assumed("degF"), assumed("degC")],
        _ => vec![assumed("degC"), assumed("degF")],
    };
    for (n, scale) in scales.iter().enumerate() {
        let mut choices = list.clone();
        if choices.is_empty() {
            let b = before.iter().rev().take(2).find(|b| near(context, b.amount, k))?;
            if unit.is_some() && names.iter().any(|n| index(n) == b.choice.quantity) {
                choices.push((b.choice.quantity, 2.0, None));
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

fn degrees(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let angle = angle(context, k, Some(unit), scores, before);
    let temperature = temperature(context, k, Some(unit), scores, before);
    match (angle, temperature) {
        (Some((a, x)), Some((t, y))) => Some(if x >= y { a } else { t }),
        (Some((a, _)), None) => Some(a),
        (None, Some((t, _))) => Some(t),
        (None, None) => {
            // "it is forty eight degrees": the weather's.
            let tokens = context.tokens();
            let start = context.amounts[k].tokens.start;
            let it = |n: usize| {
                start.checked_sub(n).is_some_and(|i| {
                    tokens[i].is_any(&["'s", "is", "was", "it", "about", "only", "degrees"])
                        && tokens[i].gap < Gap::Clause
                })
            };
            if it(1) && start >= 1 {
                let scale = if context.habits.fahrenheit { "degF" } else { "degC" };
                return build(context, k, index("air_temperature"), Some(assumed(scale)), None);
            }
            None
        }
    }
}

fn percent(
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

// ---- without a unit -----------------------------------------------------------------------------------------------

fn bare(context: &Context<'_, '_>, k: usize, scores: &[Score], before: &[Before]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let compass = context.with_compass[k];
    let surely = scores.iter().any(|s| s.named && s.before && s.score >= 9.2);
    if !compass
        && (!context.stands_alone(amount, surely)
            || counts_nothing(context, k)
            || restates(context, k, before))
    {
        return None;
    }
    if let Some(choice) = bare_force(context, k, scores) {
        return Some(choice);
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
                    | "apparent_wind_speed"
                    | "true_wind_speed"
                    | "wind_speed" => finish_speed(context, k, None, q.name.as_str(), scores),
                    "apparent_wind_angle" => bare_angle(context, k, scores, s),
                    "rig_tension" | "gauge_reading" => bare_rig(context, k, scores, s),
                    _ => build(context, k, i, bare_unit(context, k, q, before), Some(s.cue)),
                }
            }
        };
        if let Some(choice) = choice {
            let q = quantity(choice.quantity);
            let usual = choice.values.iter().all(|v| fits(q.usual, v));
            let shape = if shape_fits(&q.name, amount) { 0.0 } else { 5.0 };
            if usual || s.score > 9.7 {
                found.push((s.score - if usual { 0.0 } else { 4.0 } - shape, s.before, choice));
            }
        }
    }
    if temperatures && let Some((choice, top)) = temperature(context, k, None, scores, before) {
        let usual = choice.values.iter().all(|v| fits(quantity(choice.quantity).usual, v));
        if usual || top > 10.0 {
            found.push((top, true, choice));
        }
    }
    let top = found.into_iter().filter(|(s, ..)| *s >= BARE - 0.5).max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((score, in_front, choice)) = top {
        // Carrying on beats a name from far away, and one that only comes behind.
        let carried = if score < 9.0 || !in_front { strong } else { None };
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
    carry(context, k, before)
        .or_else(|| by_topic(context, k))
        .or_else(|| speed_again(context, k, before))
        .or_else(|| it_blows(context, k, scores))
}

/// A lone "one" or "half", "not seven": numbers that count or measure nothing by themselves.
fn counts_nothing(context: &Context<'_, '_>, k: usize) -> bool {
    let amount = &context.amounts[k];
    let tokens = context.tokens();
    let [atom] = amount.run.atoms.as_slice() else { return false };
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
fn restates(context: &Context<'_, '_>, k: usize, before: &[Before]) -> bool {
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

/// Bare angles off the bow.
fn bare_angle(context: &Context<'_, '_>, k: usize, scores: &[Score], s: &Score) -> Option<Choice> {
    let apparent = best(scores, &[Target::Apparent]);
    let truly =
        best(scores, &[Target::True]) > apparent.max(4.0) || context.habits.all_true && apparent < 3.0;
    build(context, k, index(if truly { "true_wind_angle" } else { "apparent_wind_angle" }), None, Some(s.cue))
}

/// "dropped away to 31", "up to 66", "down to 4.9": the end of a change that was begun with the number before.
fn strong_carry(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let lead: Vec<&str> =
        (1..=5).map_while(|n| start.checked_sub(n)).map(|i| tokens[i].lower.as_ref()).collect();
    let (one, two) = (lead.first().copied().unwrap_or(""), lead.get(1).copied().unwrap_or(""));
    let change = one == "to"
        && (matches!(two, "up" | "down" | "back" | "away" | "on" | "crept")
            || lead.iter().any(|w| CHANGES.contains(w)))
        || one == "from" && matches!(two, "up" | "down" | "went" | "came" | "gone");
    let reading = matches!(one, "=");
    if !change && !reading {
        return None;
    }
    let b = before.last()?;
    if context.amounts[k].tokens.start - context.amounts[b.amount].tokens.end > 14
        || !near(context, b.amount, k)
    {
        return None;
    }
    let q = quantity(b.choice.quantity);
    if matches!(q.name.as_str(), "duration" | "distance") {
        return None;
    }
    carried_from(context, k, b)
}

const CHANGES: &[&str] = &[
    "dropped", "came", "went", "crept", "rose", "fell", "climbed", "slid", "jumped", "backed", "eased",
    "got", "gone", "come", "risen", "sank", "settled",
];

/// The same quantity in the same unit, where the value may be.
fn carried_from(context: &Context<'_, '_>, k: usize, b: &Before) -> Option<Choice> {
    let q = quantity(b.choice.quantity);
    let choice = build(context, k, b.choice.quantity, b.choice.unit, None)?;
    let was = b.choice.values.last().map_or(0.0, |v| v.1);
    let is = choice.values[0].0;
    let ratio = if q.name == "current" { 20.0 } else { 5.0 };
    let near_enough = if q.unit == "degC" {
        (was - is).abs() <= 60.0
    } else {
        is == 0.0 || was == 0.0 || (1.0 / ratio..=ratio).contains(&(is / was).abs())
    };
    (near_enough
        && shape_fits(&q.name, &context.amounts[k])
        && choice.values.iter().all(|v| fits(q.usual, v)))
    .then_some(choice)
}

/// "it says thirty four", with the carbon monoxide alarm named two sentences before.
fn by_topic(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let lead: Vec<&str> =
        (1..=3).map_while(|n| start.checked_sub(n)).map(|i| tokens[i].lower.as_ref()).collect();
    let one = lead.first().copied().unwrap_or("");
    let says = matches!(
        one,
        "says"
            | "said"
            | "reads"
            | "reading"
            | "shows"
            | "showing"
            | "showed"
            | "to"
            | "was"
            | "'s"
            | "is"
            | "at"
            | "say"
    );
    let opens = tokens[start].gap >= Gap::Clause
        || context.talk.clauses[context.talk.clause_of(start)].tokens.start == start;
    if !says && !opens {
        return None;
    }
    let (target, distance) = context.topic(start, 70, |t| {
        matches!(t, Target::Quantity(i) if matches!(quantity(i).name.as_str(), "co_level" | "voltage" | "pressure" | "oil_pressure"))
    })?;
    let Target::Quantity(i) = target else { return None };
    let q = quantity(i);
    if q.name != "co_level" && distance > 25 {
        return None;
    }
    let choice = build(context, k, i, bare_unit(context, k, q, &[]), None)?;
    let clear = q.name != "co_level" || (amount.other.is_none() && choice.values[0].0 <= 150.0);
    (clear && shape_fits(&q.name, amount) && choice.values.iter().all(|v| fits(q.usual, v))).then_some(choice)
}

/// "down to 4.9": a small decimal led by a change, after boat speeds were told.
fn speed_again(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let decimal = matches!(amount.run.atoms.last()?.form, Form::Decimal(1) | Form::Fraction)
        || amount.run.atoms.len() == 2;
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let led = lead.is_any(&[
        "to",
        "at",
        "from",
        "did",
        "best",
        "now",
        "around",
        "about",
        "doing",
        "averaging",
        "hit",
        "touched",
        ":",
    ]) || tokens[start].gap >= Gap::Comma;
    let next = tokens.get(amount.tokens.end);
    let compared = next.is_some_and(|t| t.is_any(&["before", "after", "with", "without"]));
    if !decimal || !(led || compared) {
        return None;
    }
    let b =
        before.iter().rev().take(10).find(|b| {
            matches!(quantity(b.choice.quantity).name.as_str(), "boat_speed" | "speed_over_ground")
        })?;
    let choice = build(context, k, b.choice.quantity, None, None)?;
    choice.values.iter().all(|v| fits([2.0, 10.0], v)).then_some(choice)
}

/// "if it had been fifty", "out in twenty-five", "it's between 25 and 30": round numbers of the weather.
fn it_blows(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let choice = build(context, k, index(flavour(context, k, scores)), None, None)?;
    let round =
        choice.values.iter().all(|v| v.0 % 5.0 == 0.0 && v.1 % 5.0 == 0.0 && (15.0..=70.0).contains(&v.1));
    if !round || amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_) | Form::Fraction)) {
        return None;
    }
    let lead: Vec<&str> = (1..=6)
        .map_while(|n| start.checked_sub(n))
        .take_while(|&i| tokens[i + 1].gap < Gap::Sentence)
        .map(|i| tokens[i].lower.as_ref())
        .collect();
    let one = lead.first().copied().unwrap_or("");
    let has = |words: &[&str]| lead.iter().any(|w| words.contains(w));
    let it = has(&["it", "that"])
        && has(&["is", "'s", "was", "been", "did", "blows", "gets", "comes", "went", "had", "does", "blew"]);
    let out_in = one == "in"
        && has(&["out", "was", "sail", "leave", "going", "does", "do", "be", "been", "was", "caught"]);
    let leave = has(&["leave", "sail", "go"]) && has(&["over", "than", "above"]);
    let reef = has(&["reef", "reefs", "drogue", "anchor", "jib", "sail"])
        && has(&["at", "over", "above", "by", "under"]);
    (it || out_in || leave || reef || one == "blowing").then_some(choice)
}

/// Whether the way a number is written suits a quantity at all.
fn shape_fits(name: &str, amount: &Amount) -> bool {
    let decimal = amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_) | Form::Fraction))
        || (amount.run.atoms.len() > 1
            && matches!(name, "state_of_charge" | "co_level" | "relative_humidity"));
    match name {
        "engine_speed" | "wind_force" | "state_of_charge" | "co_level" | "relative_humidity" => !decimal,
        _ => true,
    }
}

/// The unit in which a bare number of this quantity is meant.
fn bare_unit(context: &Context<'_, '_>, k: usize, q: &Quantity, before: &[Before]) -> Option<UnitAt> {
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

/// "a six", "a proper seven", "force five", "gale eight", "south west four": a Beaufort number.
fn bare_force(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let force = best(scores, &[of("wind_force")]);
    let i = index("wind_force");
    let (values, how) = values(amount, None, false, quantity(i))?;
    if how == How::Fused || values.iter().any(|v| v.0.fract() != 0.0 || v.1.fract() != 0.0) {
        return None;
    }
    let most = values.iter().map(|v| v.1).fold(0.0, f64::max);
    if force > 9.5 {
        return build(context, k, i, None, cue_of(scores, of("wind_force")));
    }
    let gust = best(scores, &[of("wind_gust")]);
    let wind = best(scores, &[Target::Wind]).max(gust);
    let apparent = best(scores, &[Target::Apparent, Target::True]);
    if apparent > 6.0 {
        return None;
    }
    if context.with_compass[k] && most <= 7.0 {
        return build(context, k, i, None, None);
    }
    // "a four by nine", "it's a six now": with an article, where forces are spoken of.
    let rest = scores
        .iter()
        .filter(|s| {
            s.named
                && !matches!(s.target, Target::Wind | Target::Apparent | Target::True)
                && s.target != of("wind_force")
                && s.target != of("wind_gust")
                && s.target != of("wind_speed")
        })
        .map(|s| s.score)
        .fold(0.0, f32::max);
    if amount.article && context.habits.forces && most <= 12.0 && rest < 6.0 {
        return build(context, k, i, None, None);
    }
    if wind > 5.0 && context.habits.forces && most <= 7.0 && rest < wind {
        return build(context, k, i, None, None);
    }
    None
}

/// A bare number of the wind: an angle or a speed, by its size.
fn bare_wind(context: &Context<'_, '_>, k: usize, scores: &[Score], target: Target) -> Option<Choice> {
    let amount = &context.amounts[k];
    let gust = best(scores, &[of("wind_gust")]);
    let family = best(scores, &[target]);
    if gust > family {
        return finish_speed(context, k, None, "wind_gust", scores);
    }
    let truly = best(scores, &[Target::True]) > best(scores, &[Target::Apparent])
        || context.habits.all_true && best(scores, &[Target::Apparent]) < 3.0;
    let angle = index(if truly { "true_wind_angle" } else { "apparent_wind_angle" });
    let as_angle = build(context, k, angle, None, None);
    let tokens = context.tokens();
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let lead: Vec<&str> =
        (1..=4).map_while(|n| start.checked_sub(n)).map(|i| tokens[i].lower.as_ref()).collect();
    let off = (end..end + 4).filter_map(|i| tokens.get(i)).any(|t| t.is_any(&["off", "bow", "degrees"]));
    let pointing = lead.iter().any(|w| {
        matches!(
            *w,
            "hardened"
                | "pointing"
                | "bore"
                | "angle"
                | "reaching"
                | "reach"
                | "headed"
                | "up"
                | "down"
                | "hauled"
        )
    }) || lead.first().is_some_and(|w| *w == "at")
        && matches!(target, Target::Apparent | Target::True)
        || off;
    let strong = lead.iter().any(|w| {
        matches!(*w, "over" | "under" | "above" | "below" | "blowing" | "reef" | "gust" | "gusting" | "knots")
    });
    if target != Target::Wind || family > 6.0 {
        let value = as_angle.as_ref().map_or(0.0, |c| c.values[0].1);
        let wants_angle = if target == Target::Wind {
            value >= 75.0
        } else {
            value >= 62.0 || (value >= 38.0 && pointing && !strong)
        };
        if wants_angle && let Some(choice) = as_angle {
            return Some(choice);
        }
    }
    if family < BARE && !context.with_compass[k] {
        return None;
    }
    finish_speed(context, k, None, flavour(context, k, scores), scores)
}

/// Numbers of the rig: per cent of breaking load, or marks of a gauge.
fn bare_rig(context: &Context<'_, '_>, k: usize, scores: &[Score], s: &Score) -> Option<Choice> {
    let gauge = index("gauge_reading");
    let percent = index("rig_tension");
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let on_gauge = best(scores, &[of("gauge_reading")]) > 8.0;
    // "24 = 17 %": the first is the gauge's.
    let equals = tokens.get(amount.tokens.end).is_some_and(|t| t.is("="));
    let rig = best(scores, &[of("rig_tension")]);
    if rig < BARE && !on_gauge {
        return None;
    }
    let i = if equals || on_gauge && !context.habits.rig_percent {
        gauge
    } else if context.habits.rig_percent && !on_gauge {
        percent
    } else if context.habits.rig_percent {
        gauge
    } else if rig_median(context) <= 18.5 {
        percent
    } else {
        gauge
    };
    build(context, k, i, None, Some(s.cue))
}

/// Median of the note's bare whole numbers near rig words: gauges read in the twenties where per cents read in the teens.
fn rig_median(context: &Context<'_, '_>) -> f64 {
    *context.rig_middle.get_or_init(|| rig_middle(context))
}

fn rig_middle(context: &Context<'_, '_>) -> f64 {
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

/// Words that lead a bare number on from the one before.
const CARRIES: &[&str] = &[
    "to",
    "now",
    "then",
    "was",
    "is",
    "'s",
    "only",
    "back",
    "from",
    "over",
    "under",
    "above",
    "below",
    "my",
    "by",
    "got",
    "says",
    "reads",
    "best",
    "finished",
    "started",
    "and",
    "call",
    "about",
    "at",
    "down",
    "up",
    "it",
    "peak",
    "max",
    "maximum",
    "hit",
    "reached",
    "touched",
    "showed",
    "said",
    "showing",
    "saying",
    "read",
    "most",
    "least",
    "between",
    "or",
    "for",
    "averaging",
    "around",
    "nearly",
    "just",
    "settled",
    "steady",
    "again",
    "other",
    "mostly",
    "maybe",
    "as",
    "than",
    "of",
    "the",
    "be",
    "=",
    "not",
    "when",
    "once",
    "one",
];

/// Carries on from what was said just before: "52 amps and then down to 31", "my 60", "up to 24 now".
fn carry(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let tokens = context.tokens();
    let start = amount.tokens.start;
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let my = tokens[start].gap <= Gap::Line && lead.is_any(&["my", "the", "our"]);
    for b in before.iter().rev().take(if my { 5 } else { 3 }) {
        if !near(context, b.amount, k) {
            break;
        }
        let q = quantity(b.choice.quantity);
        if matches!(q.name.as_str(), "distance" | "heading" | "course_over_ground" | "engine_hours")
            && !list_item(context, b.amount, k)
        {
            continue;
        }
        let Some(choice) = carried_from(context, k, b) else { continue };
        let was = b.choice.values.last().map_or(0.0, |v| v.1);
        let is = choice.values[0].0;
        let gap = tokens[b_end(context, b.amount)..start]
            .iter()
            .map(|t| t.gap)
            .max()
            .unwrap_or(Gap::Space)
            .max(tokens[start].gap);
        let words = start - b_end(context, b.amount);
        let leads = tokens[start].gap <= Gap::Line && CARRIES.contains(&lead.lower.as_ref());
        let direct = words <= 1 && gap <= Gap::Comma;
        let decimal = amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_)));
        let repeated = gap == Gap::Sentence && words == 0 && (is - was).abs() < 1e-9;
        // "twenty four for the second", "seven the second": told like the one before.
        let end = amount.tokens.end;
        let ordinal = tokens.get(end).is_some_and(|t| t.is_any(&["the", "for"]))
            && (1..=2).any(|n| {
                tokens.get(end + n).is_some_and(|t| t.is_any(&["second", "third", "other", "next"]))
            });
        if ordinal && words <= 8 {
            return Some(choice);
        }
        if q.name == "duration" && !list_item(context, b.amount, k) {
            continue;
        }
        if my
            || (leads && (gap < Gap::Sentence || decimal || words <= 8))
            || direct
            || repeated
            || list_item(context, b.amount, k)
        {
            return Some(choice);
        }
    }
    None
}

fn b_end(context: &Context<'_, '_>, amount: usize) -> usize {
    context.amounts[amount].tokens.end
}

/// "plotter 0.9 A, tricolour 0.4, AIS 0.2": one thing and one number after another, commas between.
fn list_item(context: &Context<'_, '_>, a: usize, b: usize) -> bool {
    let tokens = context.tokens();
    let (from, to) = (b_end(context, a), context.amounts[b].tokens.start);
    from < to
        && to - from <= 4
        && tokens[from].gap == Gap::Comma
        && tokens[from + 1..=to].iter().all(|t| t.gap < Gap::Comma)
}
