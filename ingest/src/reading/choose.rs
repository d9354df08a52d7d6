//! Which quantity a number is, by its unit, the words around it and what is plausible.

use crate::lexicon::Words;
use crate::quantity::{Dimension, Target, UnitAt};
use crate::token::Gap;

use super::bare::{bare, barometric};
use super::carry::{Before, near};
use super::context::{Context, Score};
use super::degree::{angle, degrees, temperature};
use super::noted::noted;
use super::speed::speed;
use super::value::{Choice, assumed, best, build, cue_of, fitting, index, of, quantity, ranked, value_of};

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
            // "an eighteen footer": a size, whatever the talk is of.
            if unit.end > 0 && context.tokens()[unit.end - 1].is_any(&["footer", "footers"]) {
                return build(context, k, index("length"), Some(unit), None);
            }
            // "sixty metres of ten mil chain".
            let tokens = context.tokens();
            let of_rope = unit.end > 0
                && tokens.get(unit.end).is_some_and(|t| t.gap <= Gap::Line && t.is("of"))
                && (1..=4).take_while(|n| tokens.get(unit.end + n).is_some_and(|t| t.gap <= Gap::Line)).any(
                    |n| {
                        tokens[unit.end + n].is_any(&[
                            "chain",
                            "rope",
                            "warp",
                            "line",
                            "nylon",
                            "wire",
                            "rode",
                            "cable",
                            "polyester",
                        ])
                    },
                );
            if of_rope {
                return build(context, k, index("length"), Some(unit), None);
            }
            // "the sounder's out by twenty centimetres": a difference is no depth.
            let start = context.amounts[k].tokens.start;
            let by = start >= 2
                && context.tokens()[start - 1].is("by")
                && context.tokens()[start - 2]
                    .is_any(&["out", "off", "wrong", "short", "too", "down", "back"]);
            if by {
                return build(context, k, index("length"), Some(unit), None);
            }
            let names = ["wave_height", "water_depth", "length", "distance"];
            let mut list = ranked(scores, &names);
            list.pop();
            // "four and a half metres, twenty-five of chain": beside the chain that is out stands the depth.
            if beside_its_chain(context, k) && list[1].1 < 3.0 && list[0].1 < 3.0 {
                list[1].1 = 6.0;
            }
            if list.iter().all(|(_, s, _)| *s < 3.0)
                && (stands_off(context, k, unit) || is_of_nature(context, k))
            {
                return None;
            }
            // "hook down in seven metres, mud", "two metres on the quarter, steep".
            if list[1].1 < 3.0 && lies_in(context, k, unit) {
                list[1].1 = 6.0;
            }
            if list[0].1 < 3.0 && list[1].1 < 3.0 && rolls_in(context, k, unit) {
                list[0].1 = 5.0;
            }
            if list.iter().all(|(_, s, _)| *s < 2.0) {
                // "… northeast fifteen to twenty and six to eight feet": seas go with the wind they follow.
                let wind = before.last().is_some_and(|b| {
                    let name = quantity(b.choice.quantity).name.as_str();
                    near(context, b.amount, k)
                        && (name.contains("wind") || name == "wave_height")
                        && context.amounts[k].tokens.start - context.amounts[b.amount].tokens.end <= 6
                        && (context.amounts[k].other.is_some() || told_with_the_wind(context, k, unit))
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
                    t.is_any(&[
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
            // Salt in made water is told in parts as well.
            let (tokens, start) = (context.tokens(), context.amounts[k].tokens.start);
            let around = start.saturating_sub(14)..(unit.end + 8).min(tokens.len());
            let salt = tokens[around].iter().any(|t| {
                t.is_any(&["watermaker", "salt", "salinity", "tds", "maker", "desalinator", "drink"])
            });
            if salt && !tokens[start.saturating_sub(8)..start].iter().any(|t| t.is_any(&["co", "monoxide"])) {
                return None;
            }
            (!parts || score("co_level") > 1.0).then(|| pick(&["co_level"])).flatten()
        }
        D::Frequency | D::Data => None,
    }
}

/// "ten metres off the pontoon", "twenty metres upwind of the buoy": how far off something lay, which nobody logs.
fn stands_off(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let end = amount.tokens.end;
    let value = amount.run.candidates().first().map_or(0.0, |c| c.low * unit.unit.factor);
    let behind =
        |n: usize, words: &[&str]| tokens.get(end + n).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words));
    let off = behind(
        0,
        &[
            "away",
            "ahead",
            "abeam",
            "upwind",
            "downwind",
            "past",
            "clear",
            "apart",
            "upstream",
            "downstream",
            "inshore",
        ],
    ) || behind(0, &["off", "from", "short"])
        && behind(1, &["the", "a", "it", "us", "him", "her", "my", "their", "his", "of"])
        || behind(0, &["to"]) && behind(1, &["windward", "leeward", "port", "starboard"])
        || behind(0, &["off"]) && tokens.get(end + 1).is_none_or(|t| t.gap >= Gap::Comma);
    let line = tokens[amount.tokens.start.saturating_sub(10)..(end + 6).min(tokens.len())].iter().any(|t| {
        t.is_any(&[
            "rope", "line", "warp", "chain", "drogue", "rode", "streamed", "tyre", "tire", "bridle",
            "anchor", "fan", "compass", "veered", "cable", "hose",
        ])
    });
    value >= 2.0 && off && !line
}

/// "visibility 200 m", "between icebergs of thirty metres", "two inches of ice": what is measured is no gear.
fn is_of_nature(context: &Context<'_, '_>, k: usize) -> bool {
    static NATURE: Words = Words::new(
        "visibility vis viz fog mist ice snow iceberg icebergs berg bergs floe floes growler growlers glacier cliff cliffs \
         whale whales rock rocks mountain mountains",
    );
    static BETWEEN: Words =
        Words::new("of is was about maybe around down to at a the some thick high long wide tall only");
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let in_front = (1..=3)
        .map_while(|n| start.checked_sub(n))
        .find(|&i| tokens[i + 1].gap >= Gap::Block || !BETWEEN.has(&tokens[i]))
        .is_some_and(|i| tokens[i + 1].gap < Gap::Block && NATURE.has(&tokens[i]));
    let behind = (end..end + 3)
        .take_while(|&i| tokens.get(i).is_some_and(|t| t.gap <= Gap::Line))
        .find(|&i| !BETWEEN.has(&tokens[i]))
        .is_some_and(|i| NATURE.has(&tokens[i]))
        // "four metre ice poles" are gear.
        && !(end..end + 4).filter_map(|i| tokens.get(i)).any(|t| t.is_any(&["pole", "poles", "axe", "anchor", "screw"]));
    in_front || behind
}

/// "in seven metres", "in 4 m, sand", where the talk is of lying at anchor: what a boat lies in is the depth.
fn lies_in(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    /// How far in front anchoring may have been spoken of, in tokens.
    const REACH: usize = 30;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let value = amount.run.candidates().first().map_or(0.0, |c| c.low * unit.unit.factor);
    let led = start > 0
        && tokens[start].gap <= Gap::Line
        && (tokens[start - 1].is("in")
            || start > 1
                && tokens[start - 2].is("in")
                && tokens[start - 1].is_any(&["about", "only", "just", "maybe", "some", "around"]));
    let of = tokens.get(amount.tokens.end).is_some_and(|t| t.gap <= Gap::Line && t.is("of"));
    let reach = if of { 4 } else { 2 };
    let ground = (amount.tokens.end..amount.tokens.end + reach)
        .take_while(|&i| tokens.get(i).is_some_and(|t| t.gap <= Gap::Comma))
        .any(|i| {
            tokens[i].is_any(&[
                "mud", "sand", "shingle", "weed", "clay", "gravel", "rock", "shells", "kelp", "low", "lw",
                "hw",
            ])
        });
    let rope = of && !ground
        || tokens
            .get(amount.tokens.end)
            .is_some_and(|t| t.gap <= Gap::Line && t.is_any(&["seas", "swell", "waves"]));
    // "she pulled it up out of eighty feet": what the anchor is hauled from.
    let hauled = start > 1
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is("of")
        && tokens[start - 2].is("out")
        && tokens[start.saturating_sub(10)..start]
            .iter()
            .any(|t| t.is_any(&["anchor", "chain", "windlass", "hook", "kedge", "lot", "pulled", "hauled"]));
    let anchored = tokens[start.saturating_sub(REACH)..start].iter().any(|t| {
        t.is_any(&[
            "anchor",
            "anchored",
            "anchorage",
            "anchoring",
            "hook",
            "chain",
            "kedge",
            "bower",
            "rode",
            "cove",
            "bay",
            "brought",
            "swung",
            "swinging",
            "holding",
            "plough",
            "mud",
            "lay",
            "moored",
            "let",
            "tucked",
            "behind",
            "shelter",
            "lagoon",
            "pool",
            "creek",
            "river",
            "sheltered",
        ])
    });
    (1.0..=60.0).contains(&value)
        && matches!(unit.unit.symbol.as_str(), "m" | "ft" | "fathom")
        && !rope
        && (led && (anchored || ground) || ground && anchored || hauled)
}

/// "two metres on the quarter", "a metre and a half, short and steep", "breaking, three metres": a height of the sea, told
/// by where it comes from or what it is like.
fn rolls_in(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let end = amount.tokens.end;
    let value = amount.run.candidates().first().map_or(0.0, |c| c.low * unit.unit.factor);
    let behind = |n: usize, words: &[&str]| {
        tokens.get(end + n).is_some_and(|t| t.gap <= Gap::Comma && t.is_any(words))
    };
    let relative = behind(0, &["on"])
        && behind(1, &["the", "my", "our", "her"])
        && behind(2, &["beam", "quarter", "nose", "bow", "stern"]);
    let rough = [
        "steep", "short", "confused", "breaking", "lumpy", "rolling", "tumbling", "popple", "slop", "lop",
        "lump",
    ];
    let like = behind(0, &rough) || behind(1, &rough) && behind(0, &["and", "of", "short", "very", "quite"]);
    (0.3..=14.0).contains(&value) && matches!(unit.unit.symbol.as_str(), "m" | "ft") && (relative || like)
}

/// "twenty to thirty tonight and nine feet by Sunday", "with four foot": a height that nothing is counted or built in, told
/// in the breath of a wind.
fn told_with_the_wind(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let value = amount.run.candidates().first().map_or(0.0, |c| c.low * unit.unit.factor);
    let lead = amount.tokens.start.checked_sub(1).map(|i| &tokens[i]);
    let led = lead.is_some_and(|t| t.is_any(&["and", "with", "like", "to", "maybe", "about", "of"]))
        || tokens[amount.tokens.start].gap == Gap::Comma;
    let behind = tokens.get(amount.tokens.end).filter(|t| t.gap <= Gap::Line);
    let ends = behind.is_none_or(|t| {
        t.is_any(&[
            "by", "on", "outside", "tomorrow", "tonight", "so", "well", "and", "at", "but", "seas", "sea",
        ])
    });
    matches!(unit.unit.symbol.as_str(), "ft" | "m") && (0.5..=14.0).contains(&value) && led && ends
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
    // "Akaroa, 9 m, 45 m chain": a log's place, its depth, what is out.
    let logged = next.unit.is_some()
        && tokens[amount.tokens.start].gap >= Gap::Comma
        && tokens[next.tokens.start].gap == Gap::Comma
        && amount
            .run
            .candidates()
            .first()
            .zip(next.run.candidates().first())
            .is_some_and(|(depth, out)| (2.0 * depth.low..=12.0 * depth.low).contains(&out.low));
    close
        && (anchored || logged)
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
    // "Tank 20 gal", "the tank holds 120 L": water has its name, fuel is "the tank".
    let sentence = context.talk.sentence_of(amount.tokens.start);
    let here = sentence.start.max(amount.tokens.start.saturating_sub(12))
        ..sentence.end.min(amount.tokens.end + 4).max(amount.tokens.end);
    let words = &tokens[here];
    if words.iter().any(|t| t.is_any(&["tank", "tanks"]))
        && !words
            .iter()
            .any(|t| t.is_any(&["water", "fresh", "freshwater", "drinking", "holding", "black", "grey"]))
        && list[1].1 < 7.0
        && !tokens[amount.tokens.start.saturating_sub(24)..amount.tokens.start]
            .iter()
            .any(|t| t.is_any(&["water", "freshwater", "watermaker"]))
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
                    "be", "been", "for", "in", "took", "takes", "it", "say", "within", "about", "lasted",
                    "over", "after",
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

/// Whether a percentage is of wear, of duty, of likelihood: "38 % duty", "the zinc is 60 % gone", "80 % sure".
fn of_something_else(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let behind = (amount.tokens.end..amount.tokens.end + 2)
        .take_while(|&i| tokens.get(i).is_some_and(|t| t.gap <= Gap::Line))
        .any(|i| {
            tokens[i].is_any(&[
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
            tokens[i].is_any(&["zinc", "anode", "anodes", "zincs", "throttle", "duty", "moisture", "slip"])
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
