//! Speeds: of the boat, over the ground, of the stream, of the wind, and the wind's force.

use crate::number::{Form, How};
use crate::quantity::{Target, UnitAt};
use crate::token::Gap;
use crate::word::WordList;

use super::bare::BARE;
use super::carry::{Before, near};
use super::context::{Context, Score};
use super::value::{Choice, assumed, best, build, cue_of, index, of, quantity, value_of, values};

pub(super) fn same_sentence(context: &Context<'_, '_>, a: usize, b: usize) -> bool {
    let sentence =
        |k: usize| context.talk.clauses[context.talk.clause_of(context.amounts[k].tokens.start)].sentence;
    sentence(a) == sentence(b)
}

/// "if it were ten knots", "it's blowing five": the weather's "it".
pub(super) fn it_is(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    (1..=3).map_while(|n| start.checked_sub(n)).take_while(|&i| tokens[i + 1].gap < Gap::Comma).any(|i| {
        tokens[i].is("it") && tokens[i + 1].is_any(words!["were", "'s", "was", "is", "blows", "blew"])
    })
}

pub(super) fn wind_family(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> f32 {
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

/// Whether apparent or true is only what a remark says of all winds, not said of this one.
pub(super) fn by_habit(context: &Context<'_, '_>, k: usize) -> bool {
    let scores = context.scores(k);
    let said = [Target::Apparent, Target::True, of("apparent_wind_speed"), of("true_wind_speed")];
    (context.habits.all_true || context.habits.all_apparent) && best(scores, &said) <= 3.5
}

/// "N 12 true, 5.8 kt": slower than the wind in front of it, to the tenth, and that wind has its word.
fn goes_beside_its_wind(context: &Context<'_, '_>, k: usize, before: &[Before]) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let Some(b) = before.last().filter(|b| b.amount + 1 == k) else { return false };
    let wind = quantity(b.choice.quantity).is_wind_speed();
    let between = &tokens[context.amounts[b.amount].tokens.end..amount.tokens.start];
    let tenths = amount.run.atoms.iter().any(|a| matches!(a.form, crate::number::Form::Decimal(1)));
    let told = b.choice.values.first().map_or(0.0, |v| v.0);
    wind && tenths
        && between.len() == 1
        && between[0].is_any(words!["true", "t", "apparent", "app"])
        && tokens[amount.tokens.start].gap == Gap::Comma
        && amount.run.candidates().first().is_some_and(|c| c.low < told)
}

/// What a speed is by the words right behind it.
fn named_behind(context: &Context<'_, '_>, end: usize) -> Option<&'static str> {
    let [of, what, ..] = context.tokens().get(end..)? else { return None };
    if !of.is("of") || of.gap > Gap::Line || what.gap > Gap::Line {
        return None;
    }
    if what.is_any(words!["drift", "headway", "sternway", "leeway"]) {
        Some("boat_speed")
    } else if what.is_any(words!["help", "tide", "current", "stream", "ebb", "flood"]) {
        Some("stream_speed")
    } else {
        None
    }
}

/// Apparent, true, or not said.
pub(super) fn flavour(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> &'static str {
    let apparent = best(scores, &[Target::Apparent, of("apparent_wind_speed")]);
    let true_ = best(scores, &[Target::True, of("true_wind_speed")]);
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    // "Wind (true): 17 kn".
    let headed = |word: &str| {
        (1..=3)
            .map_while(|n| amount.tokens.start.checked_sub(n))
            .take_while(|&i| tokens[i + 1].gap < Gap::Sentence)
            .any(|i| tokens[i].is(word) && i > 0 && tokens[i - 1].is_any(words!["wind", "wnd", "winds"]))
    };
    if apparent.max(true_) <= 3.5 && headed("true") {
        return "true_wind_speed";
    }
    if apparent.max(true_) <= 3.5 && headed("apparent") {
        return "apparent_wind_speed";
    }
    let breath = k.checked_sub(1).map(|i| (i, &context.amounts[i])).is_some_and(|(i, p)| {
        amount.tokens.start - p.tokens.end <= 3
            && context.tokens()[p.tokens.end..=amount.tokens.start].iter().all(|t| t.gap <= Gap::Line)
            && best(context.scores(i), &[Target::Apparent]) > 6.0
    });
    let dial = (amount.tokens.end..amount.tokens.end + 4)
        .chain(amount.tokens.start.saturating_sub(5)..amount.tokens.start)
        .filter_map(|i| tokens.get(i))
        .any(|t| context.habits.apparent_dials.iter().any(|d| t.is(d)));
    // "thirty to thirty-two, gusting forty-one true": said once, behind the gust.
    let gust = context.amounts.get(k + 1).filter(|n| {
        n.tokens.start - amount.tokens.end <= 4
            && tokens[amount.tokens.end..n.tokens.start]
                .iter()
                .any(|t| t.is_any(words!["gust", "gusts", "gusting"]))
    });
    let behind = |word: &str| {
        gust.is_some_and(|n| tokens.get(n.tokens.end).is_some_and(|t| t.gap <= Gap::Line && t.is(word)))
    };
    if apparent.max(true_) <= 3.5 && behind("true") {
        return "true_wind_speed";
    }
    if apparent.max(true_) <= 3.5 && behind("apparent") {
        return "apparent_wind_speed";
    }
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

pub(super) fn speed(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    let score = |name: &str| best(scores, &[of(name)]);
    // "SOG 6.9 with 1.2 kn of help", "true wind, 1.2 kn of drift": what is named right behind is what it is.
    if let Some(name) = named_behind(context, context.amounts[k].tokens.end.max(unit.end)) {
        return finish_speed(context, k, Some(unit), name, scores);
    }
    if goes_beside_its_wind(context, k, before) {
        return finish_speed(context, k, Some(unit), "boat_speed", scores);
    }
    // "caught in thirty knots", "hove to in forty": what a boat is in is the wind.
    let within = amidst(context, k) && score("stream_speed") < 4.0;
    let wind = wind_family(context, k, scores)
        .max(if it_is(context, k) { 8.0 } else { 0.0 })
        .max(if within { 9.0 } else { 0.0 });
    let boat = score("boat_speed").max(if makes_way(context, k) { 12.0 } else { 0.0 });
    let sog = score("speed_over_ground");
    let (start, end) = (context.amounts[k].tokens.start, context.amounts[k].tokens.end.max(unit.end));
    let called_gusts = context.tokens()[start.saturating_sub(3)..start]
        .iter()
        .any(|t| t.is_any(words!["gust", "gusts", "gusting", "gusted"]));
    let own_gusts = gusts_follow(context, k, end) && !called_gusts;
    let list = [
        ("wind_gust", if own_gusts { 0.0 } else { score("wind_gust") + 0.6 }),
        // "the ebb with a southwesterly of about fifteen": a number with its compass point is the wind's.
        ("stream_speed", if context.with_compass[k] { 0.0 } else { score("stream_speed") + 0.4 }),
        ("speed_over_ground", sog + 0.5),
        // "off" and "better" stand everywhere; a change of speed is said close by.
        // "faster than two knots" compares with a speed.
        (
            "speed_change",
            if score("speed_change") < 4.2 || is_no_change(context, k, unit) {
                0.0
            } else {
                score("speed_change")
            },
        ),
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
    // "W 22 g 27. 2 reefs. 6.8 kts": far less than the wind that was just told is the boat's own.
    if name == flavour(context, k, scores) && beside_a_wind(context, k, unit, scores, before) {
        name = "boat_speed";
    }
    // "Close-hauled, 5.9 knots": winds are told in whole knots, or by name.
    if name == flavour(context, k, scores) && in_tenths(context, k, unit) && !named_a_wind(context, k, unit) {
        name = "boat_speed";
    }
    // A boat of this size does not do fifteen knots for long: such a number is the wind's.
    let fast = value_of(&context.amounts[k].run, Some(&unit), false, quantity(index("wind_speed")))
        .is_some_and(|(v, _)| v.0 > 12.0);
    // Only a recogniser loses the point of 6.5 knots.
    let utterance = &context.talk.utterances[context.tokens()[context.amounts[k].tokens.start].utterance];
    let typed = utterance.kind != crate::found::UtteranceKind::Cue;
    if fast && matches!(name, "boat_speed") && (top < 9.0 || typed) {
        name = flavour(context, k, scores);
    }
    finish_speed(context, k, Some(unit), name, scores).or_else(|| {
        // What the words name best cannot be so; the next best may.
        let mut rest: Vec<(&str, f32)> = list.iter().copied().filter(|l| l.0 != name && l.1 > 1.0).collect();
        rest.sort_by(|a, b| b.1.total_cmp(&a.1));
        rest.push((flavour(context, k, scores), 0.0));
        rest.into_iter().find_map(|(other, _)| finish_speed(context, k, Some(unit), other, scores))
    })
}

/// "we had 22 to 26, gusting 31", "fourteen knots, gusts maybe eighteen": whether gusts are told behind a figure that ends
/// there, with unit and all, so that it is the wind.
pub(super) fn gusts_follow(context: &Context<'_, '_>, k: usize, end: usize) -> bool {
    const GUSTS: &WordList = words!["gusting", "gusts", "gusted", "gust", "peaking", "odd"];
    let tokens = context.tokens();
    let next = context.amounts.get(k + 1).map_or(0, |a| a.tokens.start);
    // "Thirty four in the gusts, forty one degrees out".
    let own = tokens.get(end).is_some_and(|t| t.is("in") && t.gap <= Gap::Line)
        && tokens.get(end + 1).is_some_and(|t| t.is_any(words!["the", "a"]));
    next > end
        && next - end <= 3
        && !own
        && tokens[end..next].iter().all(|t| t.gap <= Gap::Comma)
        && tokens[end..next].iter().any(|t| t.is_any(GUSTS))
}

/// "Lay 55 off the wind, fore-reaching 1 kn": what a boat does while she lies to.
fn makes_way(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let back =
        |n: usize| start.checked_sub(n).filter(|&i| tokens[i + 1].gap <= Gap::Line).map(|i| &tokens[i]);
    back(1).is_some_and(|t| t.is_any(words!["forereaching", "drifting", "jilling"]))
        || back(1).is_some_and(|t| t.is("reaching")) && back(2).is_some_and(|t| t.is("fore"))
}

/// Whether a slow speed stands close beside a wind twice as fast, and no word names a wind in between.
fn beside_a_wind(
    context: &Context<'_, '_>,
    k: usize,
    unit: UnitAt,
    scores: &[Score],
    before: &[Before],
) -> bool {
    const NEAR: usize = 12;
    let amount = &context.amounts[k];
    let Some(b) = before.last().filter(|b| near(context, b.amount, k)) else { return false };
    let end = context.amounts[b.amount].tokens.end;
    let wind = matches!(
        quantity(b.choice.quantity).name.as_str(),
        "wind_speed" | "true_wind_speed" | "apparent_wind_speed" | "wind_gust"
    );
    let told = b.choice.values.first().map_or(0.0, |v| v.0);
    let value =
        value_of(&amount.run, Some(&unit), false, quantity(index("wind_speed"))).map_or(0.0, |v| v.0.1);
    let winds = [Target::Wind, Target::Apparent, Target::True, of("wind_gust")];
    let named =
        scores.iter().any(|s| winds.contains(&s.target) && s.named && s.cue.0 >= end && s.score > 3.0);
    let compass = context.with_compass[k];
    wind && !named
        && !compass
        && amount.tokens.start - end <= NEAR
        && value <= 9.5
        && told >= 1.8 * value
        && told >= 9.0
}

/// Whether words that tell of a change of speed stand beside a speed itself.
fn is_no_change(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    /// No boat under sail gains or loses more, in knots.
    const MOST: f64 = 9.0;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let value = value_of(&amount.run, Some(&unit), false, quantity(index("wind_speed")));
    // "Took us from seven and a half knots down to four point two".
    let start = amount.tokens.start;
    let from = start > 0 && tokens[start - 1].is_any(words!["from", "fae", "frae"]);
    let to = k > 0 && start > 0 && tokens[start - 1].is("to") && {
        let before = context.amounts[k - 1].tokens.start;
        before > 0 && start - before < 10 && tokens[before - 1].is_any(words!["from", "fae", "frae"])
    };
    let much = value.is_some_and(|(v, _)| v.1 > MOST);
    // "bore off, seven knots", "tacked off the head six knots": where she went, and how fast.
    let bore = tokens[start.saturating_sub(5)..start].iter().any(|t| {
        t.is_any(words!["bore", "bear", "bearing", "tacked", "gybed", "paid", "fell", "cast", "anchored"])
    });
    let much = much || bore && value.is_some_and(|(v, _)| v.0 >= 3.0);
    behind_than(context, k) || off_a_place(context, k, unit) || from || to || much
}

/// "45 knots off Barra Head", "two knots off the land": where it blew, not what a speed lost.
fn off_a_place(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let tokens = context.tokens();
    let end = context.amounts[k].tokens.end.max(unit.end);
    let off = tokens.get(end).is_some_and(|t| t.is("off") && t.gap <= Gap::Line);
    let of_her = |i: usize| {
        tokens.get(i).is_none_or(|t| {
            t.gap >= Gap::Comma
                || t.is_any(words![
                    "her", "us", "me", "our", "my", "it", "that", "you", "your", "what", "when", "with",
                ])
                || t.is("the")
                    && tokens
                        .get(i + 1)
                        .is_some_and(|t| t.is_any(words!["speed", "pace", "top", "boat", "log"]))
        })
    };
    let start = context.amounts[k].tokens.start;
    let taken = tokens[start.saturating_sub(3)..start]
        .iter()
        .any(|t| t.is_any(words!["took", "takes", "take", "knocked", "knocks", "cost", "costs", "shaved"]));
    off && !taken && !of_her(end + 1)
}

/// Whether a slow speed is told in tenths of a knot.
fn in_tenths(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    let run = &context.amounts[k].run;
    let tenths = run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_)));
    unit.end > 0
        && tenths
        && value_of(run, Some(&unit), false, quantity(index("wind_speed"))).is_some_and(|(v, _)| v.1 < 10.0)
}

/// Whether a speed is called a wind close by: "wind 5.5 knots", "5.5 apparent", but not "hard on the wind".
fn named_a_wind(context: &Context<'_, '_>, k: usize, unit: UnitAt) -> bool {
    const NEAR: usize = 5;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let end = amount.tokens.end.max(unit.end);
    let names = |i: usize| {
        tokens[i].is_any(words![
            "wind",
            "winds",
            "breeze",
            "air",
            "airs",
            "apparent",
            "true",
            "aws",
            "tws",
            "anemometer",
            "blowing",
            "blew",
            "blows",
            "gust",
            "gusts",
            "gusting",
        ]) && !(1..=2).any(|n| {
            i >= n
                && tokens[i - n]
                    .is_any(words!["on", "down", "off", "before", "up", "to", "into", "upwind", "downwind"])
        }) && !(1..=4).any(|n| {
            // "sixty-five degrees of the true wind".
            i >= n && tokens[i - n].is_any(words!["degrees", "degree", "deg", "°"])
        })
    };
    let before = (amount.tokens.start.saturating_sub(NEAR)..amount.tokens.start)
        .rev()
        .take_while(|&i| tokens[i + 1].gap < Gap::Sentence)
        .any(names);
    let behind = tokens.get(end).is_some_and(|t| t.gap <= Gap::Line) && names(end);
    before || behind || context.with_compass[k] || it_is(context, k)
}

/// "faster than", "more than": what is behind them is no difference.
fn behind_than(context: &Context<'_, '_>, k: usize) -> bool {
    context.amounts[k].tokens.start.checked_sub(1).is_some_and(|i| context.tokens()[i].is("than"))
}

/// "in thirty knots", "in a forty-knot blow", "out in about twenty": a speed that something is in.
fn amidst(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    (1..=4)
        .map_while(|n| start.checked_sub(n))
        .take_while(|&i| tokens[i + 1].gap <= Gap::Line)
        .find(|&i| {
            !tokens[i]
                .is_any(words!["a", "an", "about", "over", "around", "nearly", "only", "just", "some", "the"])
        })
        .is_some_and(|i| tokens[i].is("in"))
}

pub(super) fn finish_speed(
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
    let cue = cue_of(scores, target).or_else(|| cue_of(scores, of(name)));
    // "gusting 3235", "blowing 2025": two numbers that a recogniser wrote as one, right behind what names them.
    let fused = |choice: Option<Choice>| {
        let behind = cue.is_some_and(|(_, end)| {
            let start = context.amounts[k].tokens.start;
            end <= start && start - end <= 1
        });
        choice.or_else(|| {
            let spoken = UnitAt { end: 1, ..assumed("kn") };
            (unit.is_none()
                && behind
                && matches!(name, "wind_speed" | "wind_gust" | "apparent_wind_speed" | "true_wind_speed"))
            .then(|| build(context, k, index(name), Some(spoken), cue))
            .flatten()
        })
    };
    let mut choice = fused(build(context, k, index(name), unit, cue))?;
    if name == "speed_change" {
        let tokens = context.tokens();
        let amount = &context.amounts[k];
        // "1800 revs gives five knots" is no gain; a bare gain is told in parts of a knot.
        let given = choice.cue.is_some_and(|c| {
            (c.0..c.1).any(|i| tokens[i].is_any(words!["gives", "gave", "give", "adds", "added", "saves"]))
        });
        let parts =
            unit.is_some()
                || amount.run.atoms.iter().any(|a| {
                    matches!(a.form, crate::number::Form::Fraction | crate::number::Form::Decimal(_))
                });
        if !parts || given && choice.values.iter().any(|v| v.1.abs() > 2.0) {
            return None;
        }
        let around = (amount.tokens.start.saturating_sub(6)..amount.tokens.start)
            .chain(amount.tokens.end..amount.tokens.end + 4);
        let slower = around.filter_map(|i| tokens.get(i)).any(|t| {
            t.is_any(words![
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

/// "a six", "a proper seven", "force five", "gale eight", "south west four": a Beaufort number.
pub(super) fn bare_force(
    context: &Context<'_, '_>,
    k: usize,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
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
    // "they said five to six on the wireless": forecasts of the sea are given in forces.
    let told = values.len() == 1
        && scores.iter().find(|s| s.target == Target::Wind).is_some_and(|s| {
            (s.cue.0..s.cue.1).any(|i| {
                context.tokens()[i].is_any(words![
                    "said", "says", "say", "gave", "give", "gives", "promised", "wireless", "radio",
                    "forecast", "fcst",
                ])
            })
        })
        && context.tokens()
            [amount.tokens.start.saturating_sub(8)..(amount.tokens.end + 6).min(context.tokens().len())]
            .iter()
            .any(|t| {
                t.is_any(words![
                    "wireless", "radio", "forecast", "fcst", "shipping", "navtex", "inshore", "bulletin",
                    "met",
                ])
            });
    if told && wind > 5.0 && (2.0..=9.0).contains(&most) {
        return build(context, k, i, None, None);
    }
    if gust > 5.0
        && most <= 12.0
        && before.iter().rev().take(2).any(|b| b.choice.quantity == i && near(context, b.amount, k))
    {
        return build(context, k, i, None, None);
    }
    // "SW8": figures glued to the point are a force.
    let glued = context.tokens()[amount.tokens.start].gap == Gap::Glued && amount.tokens.len() == 1;
    if context.with_compass[k] && most <= if glued { 12.0 } else { 7.0 } {
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
    // "anything above a six", "up to a six I go", "var 2".
    let tokens = context.tokens();
    let start = amount.tokens.start;
    let lead = |n: usize| start.checked_sub(n).map(|i| &tokens[i]);
    let skip = usize::from(lead(1).is_some_and(|t| t.is_any(words!["a", "an"])));
    let bounded = lead(1 + skip).is_some_and(|t| t.is_any(words!["over", "above", "to", "than", "past"]))
        && (2 + skip..=4 + skip)
            .filter_map(lead)
            .any(|t| t.is_any(words!["anything", "owt", "nothing", "more", "up", "wind", "blows", "out"]));
    if amount.article && bounded && (3.0..=10.0).contains(&most) && rest < 6.0 {
        return build(context, k, i, None, None);
    }
    // "they're giving a six for tomorrow".
    let given = lead(1 + skip).is_some_and(|t| {
        t.is_any(words![
            "giving",
            "give",
            "gave",
            "forecast",
            "forecasting",
            "promising",
            "promised",
            "expecting"
        ])
    });
    if amount.article && given && (2.0..=11.0).contains(&most) && rest < 6.0 {
        return build(context, k, i, None, None);
    }
    if lead(1).is_some_and(|t| t.is_any(words!["var", "variable"])) && most <= 4.0 && values.len() == 1 {
        return build(context, k, i, None, None);
    }
    if wind > 5.0 && context.habits.forces && most <= 7.0 && rest < wind {
        return build(context, k, i, None, None);
    }
    None
}

/// A bare number of the wind: an angle or a speed, by its size.
pub(super) fn bare_wind(
    context: &Context<'_, '_>,
    k: usize,
    scores: &[Score],
    target: Target,
) -> Option<Choice> {
    let amount = &context.amounts[k];
    let gust = best(scores, &[of("wind_gust")]);
    let family = best(scores, &[target]);
    if gust > family {
        return finish_speed(context, k, None, "wind_gust", scores);
    }
    // "wind two ten", "wind two twenty-five": hundreds of the wind by themselves are where it comes from.
    if target == Target::Wind
        && best(scores, &[Target::Apparent, Target::True]) < 3.5
        && let Some(choice) = build(context, k, index("wind_direction"), None, None)
        && matches!(
            amount.run.atoms.as_slice(),
            [a, b] if a.form == Form::Digit && a.value >= 1.0 && b.form == Form::Small && b.value >= 10.0
        )
        && choice.values.iter().all(|v| (100.0..=360.0).contains(&v.0))
    {
        return Some(choice);
    }
    let truly = best(scores, &[Target::True]) > best(scores, &[Target::Apparent])
        || context.habits.all_true && best(scores, &[Target::Apparent]) < 3.0;
    let angle = index(if truly { "true_wind_angle" } else { "apparent_wind_angle" });
    let as_angle = build(context, k, angle, None, None);
    let tokens = context.tokens();
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let lead: Vec<&str> =
        (1..=4).map_while(|n| start.checked_sub(n)).map(|i| tokens[i].lower.as_ref()).collect();
    // "thirty eight at fifty five degrees" is a speed at an angle.
    let at_an_angle = tokens.get(end).is_some_and(|t| t.is("at"))
        && context.amounts.get(k + 1).is_some_and(|n| {
            n.tokens.start == end + 1 && n.dimension() == Some(crate::quantity::Dimension::Degree)
        });
    let off = !at_an_angle
        && (end..end + 4).filter_map(|i| tokens.get(i)).any(|t| t.is_any(words!["off", "bow", "degrees"]));
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
    }) || lead.first().is_some_and(|w| *w == "pointing")
        || lead.windows(2).any(|w| matches!(w, ["wind", "the"] | ["hauled", "close"]))
        || lead.iter().take(2).any(|w| *w == "at") && matches!(target, Target::Apparent | Target::True)
        || off;
    let strong = lead.iter().any(|w| {
        matches!(*w, "over" | "under" | "above" | "below" | "blowing" | "reef" | "gust" | "gusting" | "knots")
    });
    if target != Target::Wind || family > 6.0 {
        let value = as_angle.as_ref().map_or(0.0, |c| c.values[0].1);
        let wants_angle = if target == Target::Wind {
            value >= 75.0
        } else {
            value >= 62.0
                || (value >= 38.0 && pointing && !strong)
                || (value >= 24.0 && lead.first().is_some_and(|w| *w == "pointing"))
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
