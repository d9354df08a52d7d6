//! Numbers that nothing names: what the talk is of, what their shape allows, what was told before.

use crate::lexicon::Words;
use crate::number::Form;
use crate::quantity::Target;
use crate::token::{Gap, Token};
use crate::word::WordList;

use super::bare::{bare_unit, rig_kind, shape_fits};
use super::carry::{Before, near};
use super::context::{Context, Score};
use super::speed::flavour;
use super::value::{Choice, assumed, best, build, fits, index, of, quantity};

/// "if it gets over forty five", "if it blows sixty": said of the weather, whatever was told before.
pub(super) fn blows_over(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let lead = || {
        (1..=6)
            .map_while(|n| start.checked_sub(n))
            .take_while(|&i| tokens[i + 1].gap < Gap::Comma)
            .map(|i| &tokens[i])
    };
    lead().any(|t| t.is("if"))
        && lead().any(|t| t.is("it"))
        && lead().any(|t| {
            t.is_any(words!["gets", "blows", "blew", "goes", "went", "comes", "been", "did", "was", "hits"])
        })
}

/// "it says thirty four", with the carbon monoxide alarm named two sentences before.
pub(super) fn by_topic(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let says = TELLS.has(lead);
    let opens = tokens[start].gap >= Gap::Clause
        || context.talk.clauses[context.talk.clause_of(start)].tokens.start == start;
    let side = lead.is_any(words![
        "port",
        "starboard",
        "stbd",
        "aft",
        "forward",
        "fwd",
        "upper",
        "lower",
        "inner",
        "the",
    ]);
    if !says && !opens && !side {
        return None;
    }
    let (target, distance) = context.topic(
        start,
        TOPIC,
        |t| matches!(t, Target::Quantity(i) if TOPICS.contains(&quantity(i).name.as_str())),
    )?;
    // A sentence of a word or two ("Propane.", "Gas.") turns to something else.
    let from = start - distance;
    let turned = (from + 1..start).any(|i| {
        tokens[i].gap >= Gap::Sentence
            && (1..=2).any(|n| tokens.get(i + n).is_some_and(|t| t.gap >= Gap::Sentence))
            && i + 2 < start
    });
    if turned {
        return None;
    }
    let Target::Quantity(i) = target else { return None };
    let q = quantity(i);
    let decimal =
        amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_))) || amount.run.atoms.len() == 2;
    let reach = match q.name.as_str() {
        "co_level" => 60,
        "water_depth" => 30,
        "voltage" if decimal => 60,
        "rig_tension" => 60,
        _ => 25,
    };
    if distance > reach || (side && !says && q.name != "rig_tension") {
        return None;
    }
    if q.name == "rig_tension" {
        if opens && !says && !side && !is_still_of_the_rig(context, start) {
            return None;
        }
        let choice = build(context, k, rig_kind(context, k), None, None)?;
        let whole = choice.values.iter().all(|v| (5.0..=40.0).contains(&v.0));
        return whole.then_some(choice);
    }
    let choice = build(context, k, i, bare_unit(context, k, q, &[]), None)?;
    let clear = q.name != "co_level" || (amount.other.is_none() && choice.values[0].0 <= 150.0);
    (clear && shape_fits(&q.name, amount) && choice.values.iter().all(|v| fits(q.usual, v))).then_some(choice)
}

/// Whether the sentence that a number stands in, or the one in front of it, names a wire, a side or what tension is told in:
/// "Port lower. Fourteen", but not "We counted jumpers. Eleven".
fn is_still_of_the_rig(context: &Context<'_, '_>, start: usize) -> bool {
    let tokens = context.tokens();
    let own = context.talk.sentence_of(start).start;
    let front = own.checked_sub(1).map_or(own, |last| context.talk.sentence_of(last).start);
    tokens[front.max(start.saturating_sub(TOPIC))..start].iter().any(|t| {
        t.is_any(words![
            "port",
            "starboard",
            "stbd",
            "cap",
            "caps",
            "lower",
            "lowers",
            "upper",
            "uppers",
            "inner",
            "inners",
            "shroud",
            "shrouds",
            "stay",
            "stays",
            "backstay",
            "forestay",
            "wire",
            "wires",
            "percent",
            "cent",
            "%",
            "gauge",
            "both",
            "same",
            "aft",
            "forward",
            "tension",
            "turn",
            "turns",
            "rig",
            "side",
            "mizzen",
            "main",
            "p",
            "s",
        ])
    })
}

/// As far in front as any of them may be named, in tokens.
const TOPIC: usize = 70;

/// Quantities whose numbers are told long after they were named.
const TOPICS: &[&str] = &[
    "co_level",
    "voltage",
    "pressure",
    "oil_pressure",
    "rig_tension",
    "water_depth",
    "state_of_charge",
    "engine_temperature",
];

static TELLS: Words = Words::new(
    "match matches says said reads reading shows showing showed to was were 's is are at say now then came went read got it's",
);

/// Words of the work that is counted in an engine's hours.
static SERVICED: Words = Words::new(
    "service services serviced servicing change changed changes due interval filter filters impeller belt valve valves",
);

/// "Oil and filter every 150 h": the engine's own hours are what its work falls due by.
pub(super) fn serviced_every(context: &Context<'_, '_>, k: usize) -> bool {
    /// How far in front the work is looked for, in tokens.
    const REACH: usize = 9;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let sentence = context.talk.sentence_of(start);
    start > 0
        && tokens[start - 1].is_any(words!["every", "each"])
        && tokens[sentence.start.max(start.saturating_sub(REACH))..start]
            .iter()
            .any(|t| SERVICED.has(t) || t.is("oil"))
}

/// "oil change was at 1150, next at 1300", "started the engine at 1240.5": the engine's hours, where its work is told by
/// them; no revolutions are told in tenths.
pub(super) fn hours_by_context(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    /// How far in front the work is looked for, in tokens.
    const REACH: usize = 9;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    if let Some(choice) = hours_go_on(context, k, before) {
        return Some(choice);
    }
    let sentence = context.talk.sentence_of(start);
    let lead = start.checked_sub(1).filter(|_| tokens[start].gap <= Gap::Clause).map(|i| &tokens[i])?;
    let led = lead.is_any(words!["at", "was", "is", "to", "on", "next", "due", "from", "now", "last", "by"]);
    let near_by = &tokens[sentence.start.max(start.saturating_sub(REACH))..start];
    let work = near_by.iter().any(|t| SERVICED.has(t));
    let run = near_by
        .iter()
        .any(|t| t.is_any(words!["started", "stopped", "start", "stop", "meter", "counter", "clock"]));
    let engine =
        || near_by.iter().any(|t| t.is_any(words!["engine", "motor", "oil", "diesel", "hours", "hour"]));
    let hours = before.iter().any(|b| quantity(b.choice.quantity).name == "engine_hours");
    let tenths = amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(1)));
    let choice = build(context, k, index("engine_hours"), None, None)?;
    let counted = choice.values.iter().all(|v| (100.0..=20_000.0).contains(&v.0));
    (counted && led && (work && hours || tenths && (work || run) && (hours || engine()))).then_some(choice)
}

/// "the last one was 6410, and I'm looking at 6702": what an engine's meter was told to stand at, a few words on.
fn hours_go_on(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    /// Most words between the two.
    const APART: usize = 12;
    let tokens = context.tokens();
    let start = context.amounts[k].tokens.start;
    let b = before.last().filter(|b| b.amount + 1 == k && near(context, b.amount, k))?;
    let told = b.choice.values.first()?.1;
    let from = context.amounts[b.amount].tokens.end.min(start);
    let led = start > 0
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["was", "at", "is", "'s", "on", "now", "says", "shows", "to"]);
    let since = |words: &WordList| tokens[from..start].iter().any(|t| t.is_any(words));
    let last = since(words![
        "last", "next", "due", "done", "changed", "change", "looking", "clock", "meter", "counter", "now"
    ]);
    let choice = build(context, k, index("engine_hours"), None, None)?;
    let counted = choice.values.iter().all(|v| v.0.fract() == 0.0 && (300.0..=20_000.0).contains(&v.0));
    // An interval was told before, or another stand of the same meter.
    let fits = choice.values.iter().all(|v| told <= 600.0 || (v.0 - told).abs() <= 1500.0);
    (quantity(b.choice.quantity).name == "engine_hours"
        && start - from <= APART
        && led
        && last
        && counted
        && fits)
        .then_some(choice)
}

/// "at two thousand", "back to 1400", "2300 for dignity": revolutions, where figures of the engine stand close by.
pub(super) fn revs_by_context(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let choice = build(context, k, index("engine_speed"), None, None)?;
    let round = choice.values.iter().all(|v| v.0 % 50.0 == 0.0 && (500.0..=4200.0).contains(&v.0));
    let idle = choice.values.iter().any(|v| v.0 < 700.0);
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let led = lead.is_any(words!["at", "to", "on", "in", "with", "about", "around"])
        || tokens[start].gap >= Gap::Sentence;
    let engine = before.iter().rev().take(3).any(|b| {
        near(context, b.amount, k)
            && matches!(
                quantity(b.choice.quantity).name.as_str(),
                "engine_speed" | "oil_pressure" | "engine_temperature" | "fuel_rate"
            )
    });
    let from = start.saturating_sub(18);
    let talk = tokens[from..start].iter().any(|t| {
        t.is_any(words![
            "engine",
            "motor",
            "motoring",
            "motored",
            "astern",
            "ahead",
            "gearbox",
            "back",
            "throttle",
            "ran",
            "alongside",
            "revs",
            "machine",
            "throttle",
            "alternator",
            "gland",
            "prop",
            "idle",
        ])
    });
    // "At sixteen hundred, forty-seven amperes": what an engine gives is told behind its revolutions.
    let gives = lead.is("at")
        && choice.values.iter().all(|v| v.0 >= 1000.0)
        && context.amounts.get(k + 1).is_some_and(|next| {
            use crate::quantity::Dimension as D;
            next.tokens.start - amount.tokens.end <= 4
                && matches!(
                    next.dimension(),
                    Some(D::Current | D::Voltage | D::Pressure | D::Temperature | D::RateHour)
                )
        });
    // "six knots at eighteen hundred", "2.6 L/h at 1800": what a boat does or drinks at revolutions.
    let at_revs = lead.is("at")
        && choice.values.iter().all(|v| v.0 >= 1000.0 && v.0 % 100.0 == 0.0)
        && before.last().is_some_and(|b| {
            start.saturating_sub(context.amounts[b.amount].tokens.end) <= 5
                && near(context, b.amount, k)
                && matches!(
                    quantity(b.choice.quantity).name.as_str(),
                    "boat_speed" | "fuel_rate" | "duration" | "current" | "voltage" | "fuel_volume"
                )
        });
    // "at two thousand two hundred": nothing else aboard is told so.
    let thousands = lead.is_any(words!["at", "to"])
        && tokens[amount.tokens.clone()].iter().any(|t| t.is("thousand"))
        && choice.values.iter().all(|v| (1000.0..=3800.0).contains(&v.0))
        && context.stands_alone(amount, false);
    (round && led && (!idle || engine) && (engine || talk || gives || at_revs || thousands)).then_some(choice)
}

/// "it crept up to ninety-one", "she never went over eighty-five": the engine's heat, where it is what the talk is of.
pub(super) fn heat_by_context(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let led = tokens[start].gap <= Gap::Line
        && lead.is_any(words![
            "to", "at", "was", "is", "'s", "above", "over", "past", "under", "below", "on", "touched", "hit",
            "reached", "touching", "showed", "showing", "read", "said", "about", "around", "nearly", "from",
            "and", "my", "the", "line", "temp", "it", "never", "steady", "back",
        ])
        || tokens[start].gap >= Gap::Comma
        || context.talk.clauses[context.talk.clause_of(start)].tokens.start == start;
    if !led || amount.run.atoms.iter().any(|a| matches!(a.form, Form::Fraction)) {
        return None;
    }
    // "two thousand turns, and it climbed to ninety-one": heat is what is told behind an engine's revolutions.
    if let Some(choice) = heat_of_revs(context, k, before) {
        return Some(choice);
    }
    let block = context.talk.clauses[context.talk.clause_of(start)].block;
    let from = start.saturating_sub(70);
    let heat = (from..start).rev().find(|&i| {
        // "engine" alone on its line is a heading of the talk.
        let heading = tokens[i].is_any(words!["engine", "motor"])
            && tokens[i].gap >= Gap::Line
            && tokens.get(i + 1).is_some_and(|t| t.gap >= Gap::Line);
        heading
            || tokens[i].is_any(words![
                "coolant",
                "overheat",
                "overheats",
                "overheated",
                "overheating",
                "thermostat",
                "impeller",
                "needle",
                "boiling",
                "steam",
                "heat",
            ])
            || tokens[i].is_any(words!["temp", "temperature", "hot", "hotter"])
                && tokens[i.saturating_sub(30)..(i + 20).min(tokens.len())].iter().any(|t| {
                    t.is_any(words!["engine", "motor", "revs", "rpm", "motored", "motoring", "exhaust"])
                })
    })?;
    if context.talk.clauses[context.talk.clause_of(heat)].block != block {
        return None;
    }
    // Another thing with a gauge of its own was named since.
    let since = context.topic(start, start - heat, |t| {
        matches!(t, Target::Quantity(i) if !matches!(quantity(i).name.as_str(), "engine_temperature" | "engine_speed"))
    });
    if since.is_some() {
        return None;
    }
    let scale = if context.habits.fahrenheit { "degF" } else { "degC" };
    let choice = build(context, k, index("engine_temperature"), Some(assumed(scale)), None)?;
    choice.values.iter().all(|v| fits([60.0, 108.0], v)).then_some(choice)
}

/// A figure as hot as an engine gets, told in the sentence behind its revolutions or its heat, with a verb of getting there.
fn heat_of_revs(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let b = before.iter().rev().take(2).find(|b| {
        near(context, b.amount, k)
            && matches!(quantity(b.choice.quantity).name.as_str(), "engine_speed" | "engine_temperature")
    })?;
    let from = context.amounts[b.amount].tokens.end.min(start);
    let gets = tokens[from..start].iter().any(|t| {
        t.is_any(words![
            "climbed", "crept", "rose", "got", "gets", "went", "goes", "dropped", "settled", "sat", "came",
            "reached", "hit", "was", "'s", "is", "line", "redline", "temp", "steady", "over", "stood",
            "stands", "stayed", "stays", "stuck", "sits",
        ])
    });
    let whole = !amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_) | Form::Fraction));
    let sailing = tokens[from..start].iter().any(|t| {
        t.is_any(words![
            "wind",
            "heading",
            "course",
            "steered",
            "amps",
            "volts",
            "battery",
            "batteries",
            "percent",
            "hours",
        ])
    });
    // "ran it half an hour at two thousand, one seventy-eight".
    let beside = quantity(b.choice.quantity).name == "engine_speed"
        && start == from
        && tokens[start].gap == Gap::Comma;
    if !(gets || beside) || !whole || sailing {
        return None;
    }
    // No engine runs at 178 °C; whoever says so thinks in Fahrenheit.
    let scales = if context.habits.fahrenheit { ["degF", "degC"] } else { ["degC", "degF"] };
    scales.into_iter().find_map(|scale| {
        let choice = build(context, k, index("engine_temperature"), Some(assumed(scale)), None)?;
        choice.values.iter().all(|v| fits([68.0, 108.0], v)).then_some(choice)
    })
}

/// "WSW 4, 1009", "S 2. 1019": four figures behind the weather of a log, that only a barometer shows.
pub(super) fn glass_by_shape(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let [atom] = amount.run.atoms.as_slice() else { return None };
    // "a thousand and nineteen", "nine hundred and ninety one": told in words, nothing else is so much.
    let spoken = atom.form == Form::Large
        && context.tokens()[atom.start].kind == crate::token::Kind::Word
        && atom.value.fract() == 0.0
        && (atom.value > 1000.0 || atom.value % 10.0 != 0.0);
    let shape = spoken || matches!(atom.form, Form::Figures(3 | 4) | Form::Decimal(1));
    if !shape || !(965.0..=1046.0).contains(&atom.value) || amount.other.is_some() {
        return None;
    }
    let weather = |name: &str| {
        name.contains("wind")
            || matches!(name, "wave_height" | "air_temperature" | "sea_temperature" | "pressure")
    };
    let point = context
        .winds
        .iter()
        .any(|(p, _)| p.tokens.end <= amount.tokens.start && amount.tokens.start - p.tokens.end <= 6);
    let b = before.last().is_some_and(|b| {
        amount.tokens.start.saturating_sub(context.amounts[b.amount].tokens.end) <= 3
            && weather(&quantity(b.choice.quantity).name)
    });
    // "1027, fifteen degrees on deck": weather that begins with the glass.
    let behind = amount.run.atoms[0].form == Form::Figures(4)
        && context.amounts.get(k + 1).is_some_and(|next| {
            use crate::quantity::Dimension as D;
            next.tokens.start == amount.tokens.end
                && matches!(next.dimension(), Some(D::Degree | D::Temperature))
        });
    // "8 m, 35 m out. 1010.": a sentence of its own in a line of a log.
    let tokens = context.tokens();
    let alone = amount.run.atoms[0].form == Form::Figures(4)
        && matches!(tokens[amount.tokens.start].gap, Gap::Sentence | Gap::Comma | Gap::Clause)
        && tokens.get(amount.tokens.end).is_none_or(|t| t.gap >= Gap::Comma)
        && before.last().is_some_and(|b| b.amount + 1 == k);
    let weathers = spoken
        && tokens
            .get(amount.tokens.end)
            .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "by", "now"]))
        && before
            .iter()
            .rev()
            .take(2)
            .any(|b| near(context, b.amount, k) && weather(&quantity(b.choice.quantity).name));
    (point || b || behind || alone || weathers)
        .then(|| build(context, k, index("pressure"), Some(assumed("hPa")), None))
        .flatten()
}

/// "thirty six was the top one", "the worst was forty one": the strongest of the winds just told.
pub(super) fn the_worst_one(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let top = |t: &crate::token::Token<'_>| {
        t.is_any(words!["top", "worst", "biggest", "highest", "strongest", "peak", "max", "maximum", "most"])
    };
    let end = amount.tokens.end;
    let behind = tokens
        .get(end)
        .is_some_and(|t| t.gap <= Gap::Comma && t.is_any(words!["was", "is", "'s", "being", "the"]))
        && (end + 1..end + 3).any(|i| tokens.get(i).is_some_and(top));
    // "20 to 25, 34 max".
    let behind = behind || tokens.get(end).is_some_and(|t| t.gap <= Gap::Line && top(t) && !t.is("most"));
    let start = amount.tokens.start;
    // "20 to 25, max 34".
    let directly = start > 0
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["max", "maximum", "peak", "top", "tops", "peaking", "topping"]);
    let peaking = start > 1
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["at", "to", "of"])
        && tokens[start - 2].is_any(words!["peaking", "peaked", "peaks", "topping", "topped"]);
    let front = directly
        || peaking
        || start > 0
            && tokens[start].gap <= Gap::Line
            && tokens[start - 1].is_any(words!["was", "is", "'s", "of", "being"])
            && (2..=4).filter_map(|n| start.checked_sub(n)).any(|i| top(&tokens[i]));
    let b = before.last().filter(|b| near(context, b.amount, k))?;
    let winds = matches!(
        quantity(b.choice.quantity).name.as_str(),
        "wind_speed" | "true_wind_speed" | "apparent_wind_speed" | "wind_gust"
    );
    if !(behind || front) || !winds {
        return None;
    }
    let choice = build(context, k, index("wind_gust"), None, None)?;
    let was = b.choice.values.last().map_or(0.0, |v| v.1);
    choice.values.iter().all(|v| v.0 >= was && v.1 <= 2.5 * was).then_some(choice)
}

/// "I had a thirty-three at two", "one of forty-one off the point": a single puff, where the wind was told before.
pub(super) fn one_puff(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let back = |n: usize| start.checked_sub(n).map(|i| &tokens[i]);
    let of_one = back(1).is_some_and(|t| t.is("of")) && back(2).is_some_and(|t| t.is("one"));
    let saw = amount.article
        && (1..=4).filter_map(back).any(|t| {
            t.is_any(words![
                "had", "saw", "seen", "got", "touched", "hit", "with", "and", "see", "caught", "was"
            ])
        })
        || (1..=3).filter_map(back).any(|t| t.is_any(words!["odd", "occasional"]));
    let b = before.iter().rev().take(2).find(|b| {
        near(context, b.amount, k)
            && matches!(
                quantity(b.choice.quantity).name.as_str(),
                "wind_speed" | "true_wind_speed" | "apparent_wind_speed" | "wind_gust"
            )
    })?;
    if !(of_one || saw) {
        return None;
    }
    let choice = build(context, k, index("wind_gust"), None, None)?;
    let was = b.choice.values.last().map_or(0.0, |v| v.1);
    let whole =
        choice.values.iter().all(|v| v.0 == v.1 && v.0.fract() == 0.0 && v.0 >= was && v.1 <= 2.0 * was);
    (whole && was >= 10.0).then_some(choice)
}

/// "it dropped to minus five", "freezer minus fifteen": below zero is nothing but cold.
pub(super) fn frost(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> Option<Choice> {
    let [atom] = context.amounts[k].run.atoms.as_slice() else { return None };
    let electric = best(scores, &[of("current"), of("charge"), of("power"), of("voltage")]) > 1.0;
    // "1018 hPa, +6": so are degrees above it, of those who write the sign.
    let sign = &context.tokens()[atom.start];
    let said = sign.is("plus")
        && (sign.gap >= Gap::Comma || atom.start > 0 && context.tokens()[atom.start - 1].is("at"))
        // "UTC plus two": the zone's name is taken as a zone, and is no token.
        && !["UTC", "GMT"].iter().any(|zone| context.talk.text[..sign.span.start].trim_end().ends_with(zone))
        && context
            .tokens()
            .get(atom.end)
            .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "in", "on"]));
    let plus = (sign.is("+") || said) && atom.end - atom.start == 2 && atom.value <= 40.0;
    if !(atom.value < 0.0 || plus) || electric {
        return None;
    }
    let machine = best(scores, &[of("temperature")]) > 4.0;
    let scale = if context.habits.fahrenheit { "degF" } else { "degC" };
    let cabin = plus && best(scores, &[of("cabin_temperature")]) > 3.0;
    // "Sea +3": the sea freezes below -2 °C.
    let sea = (plus || atom.value >= -2.0) && best(scores, &[of("sea_temperature")]) > 3.0;
    let name = if machine {
        "temperature"
    } else if sea {
        "sea_temperature"
    } else if cabin {
        "cabin_temperature"
    } else {
        "air_temperature"
    };
    let choice = build(context, k, index(name), Some(assumed(scale)), None)?;
    choice.values.iter().all(|v| fits(quantity(choice.quantity).usual, v)).then_some(choice)
}

/// Whether a figure is said to be steady, as winds are.
pub(super) fn is_steady(context: &Context<'_, '_>, k: usize) -> bool {
    context.tokens().get(context.amounts[k].tokens.end).is_some_and(|t| t.gap <= Gap::Line && t.is("steady"))
}

/// "if it had been fifty", "out in twenty-five", "it's between 25 and 30": round numbers of the weather.
pub(super) fn it_blows(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let choice = build(context, k, index(flavour(context, k, scores)), None, None)?;
    let beside =
        amount.tokens.start.checked_sub(2).is_some_and(|i| {
            tokens[i + 1].is("in") && tokens[i].is_any(words!["knots", "knot", "kn", "kts"])
        });
    let round = beside
        || choice.values.iter().all(|v| v.0 % 5.0 == 0.0 && v.1 % 5.0 == 0.0 && (15.0..=70.0).contains(&v.1));
    // "It's thirty to thirty-two steady".
    let steady = is_steady(context, k) && choice.values.iter().all(|v| (15.0..=70.0).contains(&v.1));
    if !(round || steady || beside_saw(&tokens[start.saturating_sub(1)], &choice.values))
        || amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_) | Form::Fraction))
    {
        return None;
    }
    let lead: Vec<&Token<'_>> = (1..=6)
        .map_while(|n| start.checked_sub(n))
        .take_while(|&i| tokens[i + 1].gap < Gap::Sentence)
        .map(|i| &tokens[i])
        .collect();
    let one = lead.first().map_or("", |t| &t.lower);
    let has = |words: &WordList| lead.iter().any(|t| t.is_any(words));
    let it = has(words!["it", "that"])
        && has(words![
            "is", "'s", "was", "been", "did", "blows", "gets", "comes", "went", "had", "does", "blew"
        ]);
    let out_in = one == "in"
        && has(words!["out", "was", "sail", "leave", "going", "does", "do", "be", "been", "was", "caught"]);
    let leave = has(words!["leave", "sail", "go"]) && has(words!["over", "than", "above"]);
    const SAILS: &WordList = words![
        "reef",
        "reefs",
        "drogue",
        "anchor",
        "jib",
        "sail",
        "spinnaker",
        "kite",
        "chute",
        "genoa",
        "trysail",
        "heave",
        "hove",
        "gennaker",
        "canvas",
        "staysail",
        "reefed",
    ];
    let reef = has(SAILS) && has(words!["at", "over", "above", "by", "under"]);
    // "Above thirty it's the storm jib".
    let reef = reef
        || matches!(one, "above" | "over" | "past" | "by")
            && tokens[amount.tokens.end..(amount.tokens.end + 6).min(tokens.len())]
                .iter()
                .take_while(|t| t.gap < Gap::Sentence)
                .any(|t| t.is_any(SAILS) && !t.is("anchor"));
    let promised = matches!(one, "promised" | "forecast" | "forecasted" | "predicted");
    let anything = has(words!["anything", "owt", "aught", "nothing"])
        && matches!(one, "over" | "above" | "under" | "than" | "past");
    let saw = beside_saw(&tokens[start.saturating_sub(1)], &choice.values) && !dial_of_another(context, k);
    let more = one == "than" && has(words!["in"]) && has(words!["out", "her", "us", "there"]);
    let they = has(words!["they", "they're"])
        && has(words!["giving", "saying", "forecasting", "promising", "calling", "give", "gave", "promised"]);
    // "five and a half knots in thirty-two".
    let speed = one == "in"
        && k.checked_sub(1).is_some_and(|p| {
            let told = &context.amounts[p];
            start - told.tokens.end <= 2 && told.dimension() == Some(crate::quantity::Dimension::Speed)
        });
    (it || out_in
        || leave
        || reef
        || anything
        || more
        || they
        || speed
        || saw
        || promised
        || one == "blowing")
        .then_some(choice)
}

/// "I saw thirty-one": what is seen of the wind is told to the knot.
fn beside_saw(lead: &crate::token::Token<'_>, values: &[(f64, f64)]) -> bool {
    lead.is_any(words!["saw", "clocked", "seen", "recorded"])
        && values.iter().all(|v| (15.0..=75.0).contains(&v.0))
}

/// Whether something else with a dial is what the talk is of.
fn dial_of_another(context: &Context<'_, '_>, k: usize) -> bool {
    /// How far in front it may have been named, in tokens.
    const REACH: usize = 30;
    let of_another = |target| match target {
        Target::Quantity(i) => !quantity(i).name.contains("wind") && quantity(i).name != "boat_speed",
        _ => false,
    };
    context.topic(context.amounts[k].tokens.start, REACH, of_another).is_some()
}
