//! Carrying on: numbers that are told like the one before.

use crate::lexicon::Words;
use crate::number::Form;
use crate::token::Gap;
use crate::word::WordList;

use super::bare::shape_fits;
use super::context::{Context, Score};
use super::value::{Choice, build, fits, index, of, quantity};

/// What was read before, to carry on from.
#[derive(Clone, Debug)]
pub struct Before {
    /// Index of its amount.
    pub amount: usize,
    /// What it was.
    pub choice: Choice,
}

/// Whether one amount stands close enough behind another to carry on from it.
pub(super) fn near(context: &Context<'_, '_>, a: usize, b: usize) -> bool {
    let (first, second) = (&context.amounts[a], &context.amounts[b]);
    let (x, y) = (context.talk.clause_of(first.tokens.start), context.talk.clause_of(second.tokens.start));
    let (x, y) = (&context.talk.clauses[x], &context.talk.clauses[y]);
    let tokens = second.tokens.start - first.tokens.end;
    let sentences = y.sentence - x.sentence;
    x.block == y.block && (sentences <= 1 && tokens <= 28 || sentences == 2 && tokens <= 16)
}

/// The quantity told lately, where it is one of these.
pub(super) fn carried(
    context: &Context<'_, '_>,
    k: usize,
    before: &[Before],
    names: &[&str],
) -> Option<usize> {
    before
        .iter()
        .rev()
        .take(3)
        .find(|b| near(context, b.amount, k))
        .map(|b| b.choice.quantity)
        .filter(|i| names.iter().any(|n| index(n) == *i))
}

/// "dropped away to 31", "up to 66", "down to 4.9": the end of a change that was begun with the number before.
pub(super) fn strong_carry(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
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
    if q.name == "distance" || (q.name == "duration" && one != "to") {
        return None;
    }
    carried_from(context, k, b)
}

pub(super) const CHANGES: &[&str] = &[
    "dropped", "came", "went", "crept", "rose", "fell", "climbed", "slid", "jumped", "backed", "eased",
    "got", "gone", "come", "risen", "sank", "settled",
];

/// The same quantity in the same unit, where the value may be.
pub(super) fn carried_from(context: &Context<'_, '_>, k: usize, b: &Before) -> Option<Choice> {
    let q = quantity(b.choice.quantity);
    let choice = build(context, k, b.choice.quantity, b.choice.unit, None)?;
    let was = b.choice.values.last().map_or(0.0, |v| v.1);
    let is = choice.values[0].0;
    let ratio = if matches!(q.name.as_str(), "current" | "line_load") { 20.0 } else { 5.0 };
    let near_enough = if q.unit == "degC" {
        (was - is).abs() <= 60.0
    } else {
        is == 0.0 || was == 0.0 || (1.0 / ratio..=ratio).contains(&(is / was).abs())
    };
    let high = q.name == "voltage" && context.habits.high_bank && (21.0..=30.0).contains(&is);
    (near_enough
        && shape_fits(&q.name, &context.amounts[k])
        && (high || choice.values.iter().all(|v| fits(q.usual, v))))
    .then_some(choice)
}

/// "down to 4.9": a small decimal led by a change, after boat speeds were told.
pub(super) fn speed_again(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let decimal = matches!(amount.run.atoms.last()?.form, Form::Decimal(1) | Form::Fraction)
        || amount.run.atoms.len() == 2;
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let led = lead.is_any(words![
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
    let compared = next.is_some_and(|t| t.is_any(words!["before", "after", "with", "without"]));
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

/// Words that lead a bare number on from the one before.
static CARRIES: Words = Words::new(
    "to now then was were is 's are only back from over under above below my by got says reads best finished started and \
     call about at down up it peak max maximum hit reached touched showed said showing saying read most least between or for \
     averaging around nearly just settled steady again other mostly maybe as than of the be = not when once one want wants \
     need needs say reckon reckoned guess think put against barely hardly scarcely still nearer closer spec rated book plate nominal holds hold pull pulls draw draws take takes use uses do does with on in gives gave monday tuesday wednesday thursday friday saturday sunday later afterwards demands demand asks asked allows calls specifies prescribes requires permits swore vowed",
);

/// Carries on from what was said just before: "52 amps and then down to 31", "my 60", "up to 24 now".
pub(super) fn carry(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let tokens = context.tokens();
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let my = tokens[start].gap <= Gap::Line && lead.is_any(words!["my", "the", "our", "me", "his"]);
    // "and there it was, forty-eight".
    let leads = tokens[start].gap <= Gap::Line && CARRIES.has(lead)
        || tokens[start].gap == Gap::Comma && lead.is_any(words!["was", "is", "said", "reads"]);
    let next_is = |words: &WordList| tokens.get(end).is_some_and(|t| t.is_any(words));
    let limit = names_a_limit(tokens, start, end);
    let my = my || limit;
    let decimal = amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_)));
    // "twenty four for the second", "seven the second": told like the one before.
    let ordinal = next_is(words!["the", "for"])
        && (1..=2).any(|n| {
            tokens.get(end + n).is_some_and(|t| t.is_any(words!["second", "third", "other", "next"]))
        });
    let opens = tokens[start].gap >= Gap::Line
        && next_is(words![
            "when", "at", "in", "with", "by", "on", "after", "now", "gives", "gave", "makes", "does",
        ]);
    let mut found: Option<(f64, Choice)> = None;
    for (rank, b) in before.iter().rev().take(if my { 5 } else { 3 }).enumerate() {
        if !near(context, b.amount, k) {
            break;
        }
        let q = quantity(b.choice.quantity);
        let list = list_item(context, b.amount, k);
        if matches!(
            q.name.as_str(),
            "distance" | "heading" | "course_over_ground" | "engine_hours" | "speed_change"
        ) && !list
        {
            continue;
        }
        let Some(choice) = carried_from(context, k, b) else { continue };
        // "forty amps and holds 14.3": no current falls to what only a battery on charge shows.
        let charging = q.name == "current"
            && decimal
            && choice.values.iter().all(|v| (12.0..=14.9).contains(&v.0))
            && b.choice.values.iter().all(|v| v.0 >= 25.0);
        if charging {
            continue;
        }
        let was = b.choice.values.last().map_or(0.0, |v| v.1);
        let is = choice.values[0].0;
        let from = context.amounts[b.amount].tokens.end;
        let gap =
            tokens[from..start].iter().map(|t| t.gap).max().unwrap_or(Gap::Space).max(tokens[start].gap);
        let words = start - from;
        let direct = words <= 1 && gap <= Gap::Comma;
        let repeated = gap == Gap::Sentence && words == 0 && (is - was).abs() < 1e-9;
        let and = lead.is_any(words!["and", "then"]) && words <= 3 && tokens[start].gap <= Gap::Line;
        // "It took eight minutes; last month it took fourteen".
        let took = lead.is_any(words!["took", "takes"]) && tokens[start].gap <= Gap::Line;
        if q.name == "duration" && (rank > 0 || !(list || and || ordinal || repeated || took)) {
            continue;
        }
        let told_alike = took && words <= 14
            || (ordinal && words <= 8)
            || my
            || (leads && (gap < Gap::Sentence || decimal || words <= 22))
            || direct
            || repeated
            || list
            || (opens && words <= 14)
            || (decimal && was != 0.0 && (is / was).ln().abs() < 0.12 && gap < Gap::Sentence);
        if !told_alike {
            continue;
        }
        // Of several that it could carry on, the one whose figure is nearest; the latest counts for a little.
        let apart = if was > 0.0 && is > 0.0 { (is / was).ln().abs() } else { 0.3 };
        let cost = apart + 0.8 * rank as f64;
        if found.as_ref().is_none_or(|(c, _)| cost < *c) {
            found = Some((cost, choice));
        }
    }
    found.map(|(_, choice)| choice)
}

/// Words that may stand beside a number that is called out, and say nothing else.
static CALLED: Words = Words::new(
    "now okay ok and then still just only about right so yes yep oh er um uh nice slow steady slowly good whoa hold stop back \
     off easy again up down more coming going that's it's there",
);
/// Tokens between one number that is called out and the next, at most.
const CALLED_WITHIN: usize = 14;

/// "Sixteen. Fourteen. Twelve, nice and slow": numbers called out one after another are all of what was named before the
/// first.
pub(super) fn called_out(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let alone = |k: usize| {
        let clause = &context.talk.clauses[context.talk.clause_of(context.amounts[k].tokens.start)].tokens;
        let own = &context.amounts[k].tokens;
        own.start >= clause.start
            && clause.clone().filter(|i| !own.contains(i)).all(|i| {
                CALLED.has(&tokens[i])
                    || context.amounts[..k].iter().rev().take(2).any(|a| a.tokens.contains(&i))
            })
    };
    let last = before.last()?;
    let first = &context.amounts[last.amount];
    let q = quantity(last.choice.quantity);
    let told = matches!(q.name.as_str(), "water_depth");
    let apart = amount.tokens.start - first.tokens.end;
    if !told || amount.unit.is_some() || last.amount + 1 != k || apart > CALLED_WITHIN || !alone(k) {
        return None;
    }
    // What stands between is called too, or names nothing.
    let between = &tokens[first.tokens.end..amount.tokens.start];
    if between.iter().any(|t| t.gap == Gap::Block) || tokens[amount.tokens.start].gap == Gap::Block {
        return None;
    }
    let choice = build(context, k, last.choice.quantity, last.choice.unit, None)?;
    let (was, is) = (last.choice.values.last()?.1, choice.values[0].0);
    let close =
        was > 0.0 && is > 0.0 && (is / was).ln().abs() < if q.name == "water_depth" { 1.4 } else { 0.7 };
    (close && shape_fits(&q.name, amount) && choice.values.iter().all(|v| fits(q.usual, v))).then_some(choice)
}

/// Words that call a number a limit.
static LIMITS: Words = Words::new(
    "limit limits line redline floor ceiling max maximum minimum min trigger threshold roof cutoff alarm rule \
     setpoint band tolerance",
);

/// "my line is at eighty-eight", "limit 20", "one ninety-five's the red line": a number that is called a limit, of what
/// was told last.
fn names_a_limit(tokens: &[crate::token::Token<'_>], start: usize, end: usize) -> bool {
    let joined = |i: usize| tokens[i].gap <= Gap::Line;
    let in_front = (1..=4)
        .map_while(|n| start.checked_sub(n))
        .take_while(|&i| joined(i + 1) || tokens[i + 1].gap == Gap::Clause)
        .take_while(|&i| {
            LIMITS.has(&tokens[i])
                || tokens[i].is_any(words![
                    "is", "'s", "at", "was", "of", "by", "set", "the", "about", "for", "says", "maker",
                    "hers", "over", "under",
                ])
        })
        .any(|i| LIMITS.has(&tokens[i]));
    let behind = tokens
        .get(end)
        .is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["is", "'s", "was", "being"]))
        && (end + 1..=end + 3).take_while(|&i| tokens.get(i).is_some_and(|t| t.gap <= Gap::Line)).any(|i| {
            LIMITS.has(&tokens[i])
                || i <= end + 2 && tokens[i].is_any(words!["where", "top", "most", "trouble"])
        });
    in_front || behind
}

pub(super) fn b_end(context: &Context<'_, '_>, amount: usize) -> usize {
    context.amounts[amount].tokens.end
}

/// "plotter 0.9 A, tricolour 0.4, AIS 0.2": one thing and one number after another, commas between.
pub(super) fn list_item(context: &Context<'_, '_>, a: usize, b: usize) -> bool {
    let tokens = context.tokens();
    let (from, to) = (b_end(context, a), context.amounts[b].tokens.start);
    from < to
        && to - from <= 4
        && tokens[from].gap == Gap::Comma
        && tokens[from + 1..=to].iter().all(|t| t.gap < Gap::Comma)
}

/// "CO 14, then 22 in a squall, 20 being the limit": what the meter of an alarm says next, whatever is named behind it.
pub(super) fn goes_on(
    context: &Context<'_, '_>,
    k: usize,
    scores: &[Score],
    before: &[Before],
) -> Option<Choice> {
    /// Most words between the two.
    const APART: usize = 6;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let b = before.last().filter(|b| b.amount + 1 == k)?;
    let from = context.amounts[b.amount].tokens.end;
    if quantity(b.choice.quantity).name != "co_level"
        || start.saturating_sub(from) > APART
        || tokens[from..=start].iter().any(|t| t.gap >= Gap::Sentence)
        || scores.iter().any(|s| s.named && s.before && s.cue.0 >= from && s.target != of("co_level"))
    {
        return None;
    }
    let then =
        tokens[from..start].iter().any(|t| t.is_any(words!["then", "to", "now", "later", "and", "by"]))
            && start.saturating_sub(from) <= 3;
    let limits = (end..end + 4)
        .take_while(|&i| tokens.get(i).is_some_and(|t| t.gap <= Gap::Comma))
        .any(|i| tokens[i].is_any(words!["limit", "line", "number", "mark", "ceiling", "rule"]));
    if !(then || limits) {
        return None;
    }
    an_alarm_s(context, k)
}

/// A whole figure that a carbon monoxide alarm can show.
pub(super) fn an_alarm_s(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    let choice = build(context, k, index("co_level"), None, None)?;
    choice.values.iter().all(|v| v.0.fract() == 0.0 && v.1 <= 200.0).then_some(choice)
}

/// "fridge 3.8 A when it runs, plotter 1.1, pilot 2.4": what else draws, in a list that has its unit once.
pub(super) fn draws_too(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    /// Most words between the two.
    const APART: usize = 8;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let b = before.last().filter(|b| b.amount + 1 == k)?;
    let from = context.amounts[b.amount].tokens.end;
    let words = tokens.get(from..start)?;
    let name = start.checked_sub(1).filter(|&i| i >= from).map(|i| &tokens[i])?;
    let near = quantity(b.choice.quantity).name == "current"
        && words.len() <= APART
        && words.iter().all(|t| t.gap < Gap::Sentence);
    let listed = near
        && (1..=2).any(|n| start.checked_sub(n).is_some_and(|i| i >= from && tokens[i].gap == Gap::Comma))
        && tokens[start].gap <= Gap::Space;
    let draws = name.is_any(words![
        "plotter",
        "pilot",
        "autopilot",
        "radar",
        "fridge",
        "freezer",
        "heater",
        "lights",
        "light",
        "vhf",
        "radio",
        "ais",
        "instruments",
        "pump",
        "inverter",
        "laptop",
        "charger",
        "chargers",
        "fan",
        "fans",
        "watermaker",
        "stereo",
        "modem",
        "router",
        "phone",
        "phones",
        "sounder",
        "computer",
        "tablet",
        "anchor",
        "windlass",
    ]);
    // "2.8 amps once it is running and eleven while the glow plug is on", "three point six when it starts".
    let then = near
        && name.is_any(words!["and", "but", "then"])
        && tokens
            .get(amount.tokens.end)
            .is_some_and(|t| t.gap < Gap::Clause && t.is_any(words!["while", "when", "once"]))
        && amount.unit.is_none();
    if !(listed && draws || then) {
        return None;
    }
    let choice = build(context, k, b.choice.quantity, b.choice.unit, None)?;
    choice.values.iter().all(|v| v.0 > 0.0 && v.1 <= 60.0).then_some(choice)
}

/// "the meter never went past six": an alarm's, where carbon monoxide is what the talk is of.
pub(super) fn meter_rose(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    /// How far in front the alarm may have been named, in tokens.
    const REACH: usize = 80;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let front = &tokens[start.saturating_sub(6)..start];
    let has = |words: &WordList| front.iter().any(|t| t.is_any(words));
    let rose = start > 0
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["past", "over", "above", "to", "at", "read", "on"])
        && has(words!["meter", "alarm", "detector", "monitor", "screen"])
        && front.iter().all(|t| t.gap < Gap::Sentence);
    if !rose {
        return None;
    }
    context.topic(start, REACH, |t| t == of("co_level"))?;
    an_alarm_s(context, k)
}

/// "Fuel 62 gal, water 90": the other tank, told in the unit of the first.
pub(super) fn water_too(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    /// Most words between the two.
    const APART: usize = 4;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let b = before.last().filter(|b| b.amount + 1 == k && near(context, b.amount, k))?;
    let name = start.checked_sub(1).filter(|_| tokens[start].gap <= Gap::Line).map(|i| &tokens[i])?;
    let apart = start.saturating_sub(context.amounts[b.amount].tokens.end);
    if !name.is("water") || apart > APART || quantity(b.choice.quantity).name != "fuel_volume" {
        return None;
    }
    let choice = build(context, k, index("water_volume"), b.choice.unit, None)?;
    choice.values.iter().all(|v| v.0 >= 10.0).then_some(choice)
}

/// "The plate says 110 amps. It managed 62", "thirty litres an hour on the box, it delivered nineteen": what a machine gave,
/// beside what it ought to give.
pub(super) fn gives_less(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    /// Most words between the two.
    const APART: usize = 10;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let b = before.last().filter(|b| b.amount + 1 == k && near(context, b.amount, k))?;
    let lead = start.checked_sub(1).filter(|_| tokens[start].gap <= Gap::Line).map(|i| &tokens[i])?;
    let gave = lead.is_any(words![
        "delivered",
        "delivers",
        "managed",
        "manages",
        "gave",
        "gives",
        "made",
        "makes",
        "me",
        "did",
        "does",
        "jug",
    ]) || lead.is_any(words!["says", "said", "read", "reads"])
        && start > 1
        && tokens[start - 2].is("jug");
    let apart = start.saturating_sub(context.amounts[b.amount].tokens.end);
    let of_machine =
        matches!(quantity(b.choice.quantity).name.as_str(), "current" | "pump_rate" | "fuel_rate");
    if !gave
        || !of_machine
        || apart > APART
        || lead.is("me") && !tokens[start - 2].is_any(words!["gave", "gives"])
    {
        return None;
    }
    let choice = build(context, k, b.choice.quantity, b.choice.unit, None)?;
    let told = b.choice.values.first()?.1;
    choice.values.iter().all(|v| v.0 > 0.1 * told && v.1 < 1.5 * told).then_some(choice)
}
