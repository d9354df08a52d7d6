//! Which quantity a length is: a sea's height, a depth, a distance, or the length of a thing.
//!
//! Metres and feet are said of all four, mostly without the word for which; what tells them apart is what lies, rolls or
//! hangs there, where the talk is, and what was told beside it.

use crate::lexicon::Words;
use crate::quantity::{Dimension, UnitAt};
use crate::token::Gap;
use crate::word::WordList;

use super::bare::barometric;
use super::carry::{Before, carried, near};
use super::context::{Context, Score};
use super::value::{Choice, assumed, best, build, fitting, index, of, quantity, ranked};

/// As far in front of inches as what they are the pressure of may be named, in tokens.
const PRESSED: usize = 6;

/// "2,5 mm²", "6 mm2": a wire's section, whatever ends at a token.
fn is_squared(context: &Context<'_, '_>, end: usize) -> bool {
    let rest = &context.talk.text[context.tokens()[end - 1].span.end..];
    let mark = rest.starts_with('²')
        || rest.starts_with('2') && !rest[1..].starts_with(|c: char| c.is_ascii_digit());
    mark && matches!(&*context.tokens()[end - 1].lower, "mm" | "cm")
}

/// Decides what a length is; `None` for one that nobody logs.
pub(super) fn length(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let score = |name: &str| best(scores, &[of(name)]);

    let inches = unit.unit.symbol == "in";
    if inches && (score("pressure") > 3.0 || barometric(&context.amounts[k])) {
        return build(context, k, index("pressure"), Some(assumed("inHg")), None);
    }
    if unit.end > 0 && is_squared(context, unit.end) {
        return None;
    }
    // "stopped dead ten foot short", "two feet short of the buoy": what was missing.
    let tokens = context.tokens();
    let end = unit.end.max(context.amounts[k].tokens.end);
    if score("wave_height") < 3.0 && tokens.get(end).is_some_and(|t| t.is("short") && t.gap <= Gap::Line) {
        return None;
    }
    // "Trim tab slop at the lower pintle, 6 mm": no sea is so small.
    let small = matches!(unit.unit.symbol.as_str(), "mm" | "cm" | "in");
    if small && score("wave_height") > score("water_depth").max(score("length")) {
        return build(context, k, index("length"), Some(unit), None);
    }
    // "Backpressure 38 in of water": a pressure, for which there is no quantity.
    let tokens = context.tokens();
    let of_water = tokens.get(unit.end).is_some_and(|t| t.is("of"))
        && tokens.get(unit.end + 1).is_some_and(|t| t.is_any(words!["water", "mercury"]));
    let start = context.amounts[k].tokens.start;
    let pressed = tokens[start.saturating_sub(PRESSED)..start].iter().any(|t| {
        t.is_any(words!["backpressure", "pressure", "vacuum", "manometer", "exhaust", "draught", "suction"])
    });
    if unit.end > 0 && inches && of_water && pressed {
        return None;
    }
    // "an eighteen footer": a size, whatever the talk is of.
    if unit.end > 0 && context.tokens()[unit.end - 1].is_any(words!["footer", "footers"]) {
        return build(context, k, index("length"), Some(unit), None);
    }
    // "sixty metres of ten mil chain".
    let tokens = context.tokens();
    let of_rope = unit.end > 0
        && tokens.get(unit.end).is_some_and(|t| t.gap <= Gap::Line && t.is("of"))
        && (1..=4).take_while(|n| tokens.get(unit.end + n).is_some_and(|t| t.gap <= Gap::Line)).any(|n| {
            tokens[unit.end + n].is_any(words![
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
        });
    if of_rope {
        return build(context, k, index("length"), Some(unit), None);
    }
    // "the sounder's out by twenty centimetres": a difference is no depth.
    let start = context.amounts[k].tokens.start;
    let by = start >= 2
        && context.tokens()[start - 1].is("by")
        && context.tokens()[start - 2].is_any(words!["out", "off", "wrong", "short", "too", "down", "back"]);
    if by {
        return build(context, k, index("length"), Some(unit), None);
    }
    // "anchored 22 feet, 100 feet out", "in four metres, eighteen metres chain": what lies out is none of the depth.
    let tokens = context.tokens();
    let end = context.amounts[k].tokens.end;
    let rode = tokens.get(end).is_some_and(|t| {
        t.gap <= Gap::Line
            && (t.is_any(words!["chain", "rode", "warp"])
                || t.is("out")
                    && tokens
                        .get(end + 1)
                        .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "we", "i"])))
    });
    let behind_a_depth = k > 0
        && context.amounts[k - 1].dimension() == Some(Dimension::Length)
        && context.amounts[k].tokens.start - context.amounts[k - 1].tokens.end <= 2;
    if rode && behind_a_depth {
        return build(context, k, index("length"), Some(unit), None);
    }
    // "9 ft seas at the bar": whatever place they are told of.
    let seas = tokens.get(end).is_some_and(|t| {
        t.gap <= Gap::Line && t.is_any(words!["seas", "sea", "swell", "swells", "waves", "chop", "breakers"])
    });
    if seas
        && let Some(choice) = build(context, k, index("wave_height"), Some(unit), None)
        && choice.values.iter().all(|v| v.1 <= 15.0)
    {
        return Some(choice);
    }
    let names = ["wave_height", "water_depth", "length", "distance"];
    let mut list = ranked(scores, &names);
    list.pop();
    // "four and a half metres, twenty-five of chain": beside the chain that is out stands the depth.
    if beside_its_chain(context, k) && list[1].1 < 3.0 && list[0].1 < 3.0 {
        list[1].1 = 6.0;
    }
    if list.iter().all(|(_, s, _)| *s < 3.0) && (stands_off(context, k, unit) || is_of_nature(context, k)) {
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
        if let Some(i) = carried(context, k, before, &names) {
            list.push((i, 1.0, None));
        }
    }
    // "Up and down with 20 fathoms by the hand bar": the chain's, where the windlass is what is told of.
    let wound = || {
        let start = context.amounts[k].tokens.start;
        tokens[start.saturating_sub(12)..(end + 8).min(tokens.len())]
            .iter()
            .any(|t| t.is_any(words!["windlass", "capstan", "gypsy", "link", "links", "handspike"]))
    };
    let in_water = tokens.get(end).is_some_and(|t| t.gap <= Gap::Line && t.is("of"))
        || context.amounts[k]
            .tokens
            .start
            .checked_sub(1)
            .is_some_and(|i| tokens[i].is_any(words!["in", "from"]));
    if unit.unit.symbol == "fathom" && wound() && !in_water {
        return build(context, k, index("length"), Some(unit), None);
    }
    if unit.unit.symbol == "fathom" && best(scores, &[of("length")]) < 4.0 {
        list.push((index("water_depth"), 3.0, None));
    }
    list.push((index("length"), 1.5, None));
    // "four hundred metres I rowed": a way, not a thing.
    let start = context.amounts[k].tokens.start;
    let way = |i: usize| {
        tokens.get(i).is_some_and(|t| {
            t.is_any(words![
                "rowed", "swam", "swim", "row", "walked", "drifted", "away", "upwind", "downwind"
            ])
        })
    };
    if unit.unit.symbol == "m" && ((end..end + 3).any(way) || (start.saturating_sub(3)..start).any(way)) {
        return build(context, k, index("distance"), Some(unit), None);
    }
    fitting(context, k, Some(unit), &list)
}

/// "ten metres off the pontoon", "twenty metres upwind of the buoy": how far off something lay, which nobody logs.
fn stands_off(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let end = amount.tokens.end;
    let value = amount.run.candidates().first().map_or(0.0, |c| c.low * unit.unit.factor);
    let behind = |n: usize, words: &WordList| {
        tokens.get(end + n).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words))
    };
    let off = behind(
        0,
        words![
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
    ) || behind(0, words!["off", "from", "short"])
        && behind(1, words!["the", "a", "it", "us", "him", "her", "my", "their", "his", "of"])
        || behind(0, words!["to"]) && behind(1, words!["windward", "leeward", "port", "starboard"])
        || behind(0, words!["off"]) && tokens.get(end + 1).is_none_or(|t| t.gap >= Gap::Comma);
    let line = tokens[amount.tokens.start.saturating_sub(10)..(end + 6).min(tokens.len())].iter().any(|t| {
        t.is_any(words![
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
        && !(end..end + 4).filter_map(|i| tokens.get(i)).any(|t| t.is_any(words!["pole", "poles", "axe", "anchor", "screw"]));
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
    // "The windlass brought in fifteen metres": of chain.
    let brought = start > 1
        && tokens[start - 1].is("in")
        && tokens[start - 2]
            .is_any(words!["brought", "hauled", "heaved", "wound", "pulled", "winched", "took"]);
    let led = !brought
        && start > 0
        && tokens[start].gap <= Gap::Line
        && (tokens[start - 1].is("in")
            || start > 1
                && tokens[start - 2].is("in")
                && tokens[start - 1].is_any(words!["about", "only", "just", "maybe", "some", "around"]));
    let of = tokens.get(amount.tokens.end).is_some_and(|t| t.gap <= Gap::Line && t.is("of"));
    let reach = if of { 4 } else { 2 };
    let ground = (amount.tokens.end..amount.tokens.end + reach)
        .take_while(|&i| tokens.get(i).is_some_and(|t| t.gap <= Gap::Comma))
        .any(|i| {
            tokens[i].is_any(words![
                "mud", "sand", "shingle", "weed", "clay", "gravel", "rock", "shells", "kelp", "low", "lw",
                "hw",
            ])
        });
    // "it's four metres, sand".
    let led = led
        || ground
            && start > 0
            && tokens[start].gap <= Gap::Line
            && tokens[start - 1]
                .is_any(words!["is", "'s", "was", "about", "got", "have", "had", "only", "just"]);
    // "Kedge into sand, 6 m".
    let into = start > 1
        && tokens[start].gap == Gap::Comma
        && tokens[start - 1]
            .is_any(words!["mud", "sand", "shingle", "weed", "clay", "gravel", "rock", "kelp"])
        && tokens[start - 2].is_any(words!["in", "into", "on", "over"]);
    let led = led || into;
    let rope = of && !ground
        || tokens
            .get(amount.tokens.end)
            .is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["seas", "swell", "waves"]));
    // "she pulled it up out of eighty feet": what the anchor is hauled from.
    let hauled = start > 1
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is("of")
        && tokens[start - 2].is("out")
        && tokens[start.saturating_sub(10)..start].iter().any(|t| {
            t.is_any(words!["anchor", "chain", "windlass", "hook", "kedge", "lot", "pulled", "hauled"])
        });
    let anchored = tokens[start.saturating_sub(REACH)..start].iter().any(|t| {
        t.is_any(words![
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
    let behind = |n: usize, words: &WordList| {
        tokens.get(end + n).is_some_and(|t| t.gap <= Gap::Comma && t.is_any(words))
    };
    let relative = behind(0, words!["on"])
        && behind(1, words!["the", "my", "our", "her"])
        && behind(2, words!["beam", "quarter", "nose", "bow", "stern"]);
    let rough = words![
        "steep", "short", "confused", "breaking", "lumpy", "rolling", "tumbling", "popple", "slop", "lop",
        "lump",
    ];
    let like =
        behind(0, rough) || behind(1, rough) && behind(0, words!["and", "of", "short", "very", "quite"]);
    (0.3..=14.0).contains(&value) && matches!(unit.unit.symbol.as_str(), "m" | "ft") && (relative || like)
}

/// "twenty to thirty tonight and nine feet by Sunday", "with four foot": a height that nothing is counted or built in, told
/// in the breath of a wind.
fn told_with_the_wind(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let value = amount.run.candidates().first().map_or(0.0, |c| c.low * unit.unit.factor);
    let lead = amount.tokens.start.checked_sub(1).map(|i| &tokens[i]);
    let led = lead.is_some_and(|t| t.is_any(words!["and", "with", "like", "to", "maybe", "about", "of"]))
        || tokens[amount.tokens.start].gap == Gap::Comma;
    let behind = tokens.get(amount.tokens.end).filter(|t| t.gap <= Gap::Line);
    let ends = behind.is_none_or(|t| {
        t.is_any(words![
            "by", "on", "outside", "tomorrow", "tonight", "so", "well", "and", "at", "but", "seas", "sea",
        ])
    });
    matches!(unit.unit.symbol.as_str(), "ft" | "m") && (0.5..=14.0).contains(&value) && led && ends
}

/// Whether the next amount, told right behind, is of chain or rope that was let go at anchor.
fn beside_its_chain(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let rode = |end: usize| {
        (end..end + 3).any(|i| tokens.get(i).is_some_and(|t| t.is_any(words!["chain", "rode", "scope"])))
            || tokens.get(end).is_some_and(|t| t.gap <= Gap::Line && t.is("out"))
    };
    let amount = &context.amounts[k];
    let Some(next) = context.amounts.get(k + 1) else { return false };
    let close = next.tokens.start.saturating_sub(amount.tokens.end) <= 2;
    let anchored = tokens[amount.tokens.start.saturating_sub(14)..amount.tokens.start].iter().any(|t| {
        t.is_any(words![
            "anchor",
            "anchored",
            "hook",
            "bower",
            "kedge",
            "dropped",
            "laid",
            "let",
            "lay",
            "lie",
            "lying",
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
