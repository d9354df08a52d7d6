//! The conditions that gear was tried in: which of a note's readings were in force, whether it was dark, and how many
//! hands were at it.
//!
//! Weather and sea hold until the talk gives others: the nearest in front of the verdict, not further off than an
//! outing's watch; else one right behind it. A letter or a talk that looks back names the days as it goes ("on Tuesday",
//! "yesterday"): weather of one holds for no trial of another. Where the trial's own words tell of another day or of
//! lying alongside ("the windlass lifted it all on Thursday"), only what stands there counts. The boat's motion, and what
//! gear itself shows, hold for the talk around the verdict only. What is not said stays unknown.

use std::ops::Range;

use crate::found::{Reading, Span, Stance, Trial, UtteranceKind};
use crate::grammar::GRAMMAR;
use crate::life::LIFE;
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::topic::Thought;
use crate::when::weekday;
use crate::word::WordList;

/// Quantities of weather and sea.
const WEATHER: &[&str] = &[
    "apparent_wind_speed",
    "true_wind_speed",
    "wind_speed",
    "wind_gust",
    "wind_force",
    "wave_height",
    "sea_temperature",
    "air_temperature",
    "relative_humidity",
];

/// Quantities of the boat's motion, and of what is tried itself.
const OWN: &[&str] = &[
    "boat_speed",
    "speed_over_ground",
    "speed_change",
    "heel",
    "rudder_angle",
    "duration",
    "engine_speed",
    "cabin_temperature",
    "temperature",
    "line_load",
    "water_depth",
    "current",
    "voltage",
    "power",
    "fuel_rate",
    "length",
];

/// How far around a verdict, in bytes, the boat's motion counts.
const AROUND: usize = 320;
/// How far off, in bytes, weather belongs to a trial of another day or place.
const BESIDE: usize = 40;
/// How far off, in bytes, weather counts within the same stretch of talk.
const STRETCH: usize = 2_400;
/// How long weather holds, in minutes.
const HOLDS_MIN: i64 = 180;

/// Fills in the conditions of a note's trials; spans are in the decoded text.
pub fn settle(talk: &Talk<'_>, thoughts: &[Thought], readings: &[Reading], trials: &mut [Trial]) {
    if trials.is_empty() {
        return;
    }
    let days = days(talk);
    let day_of =
        |span: Span| days.partition_point(|(at, _)| *at <= span.end).checked_sub(1).map(|n| days[n].1);
    let places: Vec<Span> = trials.iter().map(|t| t.span).collect();
    let said = Said::new(talk, thoughts);
    let observed =
        || readings.iter().enumerate().filter(|(_, r)| r.stance == Stance::Observed && r.doubts.is_empty());
    let of_weather: Vec<Weather<'_>> = observed()
        .filter_map(|(index, reading)| {
            let quantity = WEATHER.iter().position(|q| *q == reading.quantity)?;
            Some(Weather { index, reading, quantity, block: block_of(talk, thoughts, reading.span) })
        })
        .collect();
    let of_motion: Vec<_> = observed().filter(|(_, r)| OWN.contains(&r.quantity.as_str())).collect();
    for (index, trial) in trials.iter_mut().enumerate() {
        let block = block_of(talk, thoughts, trial.span);
        let day = day_of(trial.span);
        let same_day = |found: &Weather<'_>| {
            day_of(found.reading.span) == day || found.reading.at.map(|m| m.at) != trial.at.map(|m| m.at)
        };
        let mut conditions = weather(&of_weather, trial, block, same_day);
        if is_of_elsewhere(talk, trial.span) {
            conditions.retain(|&reading| apart(readings[reading].span, trial.span) <= BESIDE);
        }
        conditions.extend(own(&of_motion, trial, &places, index));
        conditions.sort_unstable();
        conditions.dedup();
        trial.conditions = conditions;
        trial.night = said.near(&said.light, trial.span, block);
        trial.hands = said.near(&said.hands, trial.span, block).or(said.throughout);
    }
}

/// Whether the words of a trial tell of another day than the talk's, or of lying alongside, where the weather told elsewhere
/// in the note was not.
fn is_of_elsewhere(talk: &Talk<'_>, trial: Span) -> bool {
    const ALONGSIDE: &WordList = words![
        "alongside",
        "dock",
        "dockside",
        "pontoon",
        "berth",
        "marina",
        "quay",
        "jetty",
        "slipway",
        "yesterday",
    ];
    let first = talk.tokens.partition_point(|t| t.span.end <= trial.start);
    let length = talk.tokens[first..].iter().take_while(|t| t.span.start < trial.end).count();
    let own = &talk.tokens[first..first + length];
    let on_a_day = |pair: &[Token<'_>]| {
        pair[0].is_any(words!["on", "since", "last", "this"]) && weekday(&pair[1].lower).is_some()
    };
    own.iter().any(|t| t.is_any(ALONGSIDE)) || own.windows(2).any(on_a_day)
}

/// Where the talk turns to another day, in bytes, with a word that stands for the day: from the sentence on that first names
/// it, and within one that names several from each name on.
fn days<'t>(talk: &'t Talk<'_>) -> Vec<(usize, &'t str)> {
    const TODAY: &WordList = words!["today", "tonight"];
    let tokens = &talk.tokens;
    // What is told before any day is told of this one.
    let mut out: Vec<(usize, &str)> = vec![(0, "today")];
    for at in 0..tokens.len() {
        let token = &tokens[at];
        let led = || at > 0 && token.gap <= Gap::Line && tokens[at - 1].is_any(words!["on", "this"]);
        let word = if token.is("yesterday") {
            Some("yesterday")
        } else if token.is_any(TODAY) || token.is("morning") && at > 0 && tokens[at - 1].is("this") {
            Some("today")
        } else if (led() || token.gap >= Gap::Sentence) && weekday(&token.lower).is_some() {
            Some(token.lower.as_ref())
        } else {
            None
        };
        if let Some(day) = word
            && out.last().is_some_and(|(_, last)| *last != day)
        {
            let sentence = tokens[talk.sentence_of(at).start].span.start;
            let told = out.last().is_some_and(|(from, _)| *from >= sentence) && out.len() > 1;
            out.push((if told { token.span.start } else { sentence }, day));
        }
    }
    out
}

/// A reading of the weather that was seen.
struct Weather<'r> {
    /// Its index among the note's.
    index: usize,
    reading: &'r Reading,
    /// Index of its quantity in [`WEATHER`].
    quantity: usize,
    block: Option<usize>,
}

fn apart(a: Span, b: Span) -> usize {
    if a.end <= b.start { b.start - a.end } else { a.start.saturating_sub(b.end) }
}

fn block_of(talk: &Talk<'_>, thoughts: &[Thought], span: Span) -> Option<usize> {
    let token = talk.tokens.partition_point(|t| t.span.end <= span.start);
    thoughts.get(thoughts.partition_point(|t| t.tokens.end <= token)).map(|t| t.block)
}

/// The reading of each quantity of the weather that was in force: of the trial's own words and those before them the
/// last, else the first near behind, since what is only said later may be of later.
fn weather(
    readings: &[Weather<'_>],
    trial: &Trial,
    block: Option<usize>,
    same_day: impl Fn(&Weather<'_>) -> bool,
) -> Vec<usize> {
    let mut before: [Option<&Weather<'_>>; WEATHER.len()] = [None; WEATHER.len()];
    let mut behind = before;
    for found in readings {
        let Weather { reading, quantity, .. } = *found;
        let apart = apart(reading.span, trial.span);
        let (in_time, other_time) = match reading.at.zip(trial.at) {
            Some((a, b)) => ((a.at - b.at).num_minutes().abs() <= HOLDS_MIN, a.at != b.at),
            None => (found.block == block, false),
        };
        if !in_time || apart > STRETCH && !other_time || !same_day(found) {
            continue;
        }
        if reading.span.start < trial.span.end {
            if before[quantity].is_none_or(|last| last.reading.span <= reading.span) {
                before[quantity] = Some(found);
            }
        } else if apart <= AROUND
            && found.block == block
            && behind[quantity].is_none_or(|first| reading.span < first.reading.span)
        {
            behind[quantity] = Some(found);
        }
    }
    before.into_iter().zip(behind).filter_map(|(before, behind)| Some(before.or(behind)?.index)).collect()
}

/// The readings of motion, and of the gear itself, around a verdict that lie nearer to it than to another trial's.
fn own(readings: &[(usize, &Reading)], trial: &Trial, places: &[Span], index: usize) -> Vec<usize> {
    let belongs = |reading: &Reading| {
        let distance = apart(reading.span, trial.span);
        let others =
            || places.iter().enumerate().filter(|(i, _)| *i != index).map(|(_, p)| apart(reading.span, *p));
        match &reading.gear {
            Some(gear) => *gear == trial.gear && distance <= 2 * AROUND,
            None => distance <= AROUND && others().all(|other| other >= distance),
        }
    };
    readings.iter().filter(|(_, r)| belongs(r)).map(|(index, _)| *index).collect()
}

/// What a note says of light and hands, with its places.
struct Said {
    light: Vec<(Span, usize, bool)>,
    hands: Vec<(Span, usize, u32)>,
    /// Hands said at the head of the note, for all of it.
    throughout: Option<u32>,
}

impl Said {
    fn new(talk: &Talk<'_>, thoughts: &[Thought]) -> Self {
        let light: Vec<_> =
            cues(talk, thoughts, LIFE.light.find(&talk.tokens).iter().map(|m| (m.start..m.end, *m.value)));
        let hands: Vec<_> =
            cues(talk, thoughts, LIFE.hands.find(&talk.tokens).iter().map(|m| (m.start..m.end, *m.value)));
        // "Sun 17 May 2026. Alone." heads a log.
        let header = talk.utterances.iter().filter(|u| u.kind == UtteranceKind::Header).flat_map(|u| {
            let lower = u.text.to_lowercase();
            ["alone", "single-handed", "singlehanded", "solo"].iter().any(|w| lower.contains(w)).then_some(1)
        });
        let mut throughout: Vec<u32> = header.chain(hands.iter().filter(|h| h.1 == 0).map(|h| h.2)).collect();
        throughout.dedup();
        let throughout = if let [one] = throughout.as_slice() { Some(*one) } else { None };
        let contradicted = throughout.is_some_and(|n| hands.iter().any(|h| h.2 != n));
        Self { light, hands, throughout: throughout.filter(|_| !contradicted) }
    }

    /// What was said nearest to a trial, in the same stretch of talk.
    fn near<T: Copy>(&self, cues: &[(Span, usize, T)], trial: Span, block: Option<usize>) -> Option<T> {
        let near = cues.iter().filter(|c| Some(c.1) == block && apart(c.0, trial) <= 2 * AROUND);
        near.min_by_key(|c| apart(c.0, trial)).map(|c| c.2)
    }
}

/// Cues with their places and blocks, without those of other times: wished for, denied, asked.
fn cues<T>(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    found: impl Iterator<Item = (Range<usize>, T)>,
) -> Vec<(Span, usize, T)> {
    const REACH: usize = 12;
    found
        .filter_map(|(cue, value)| {
            let thought = &thoughts[thoughts.partition_point(|t| t.tokens.end <= cue.start)];
            let from = thought.tokens.start.max(cue.start.saturating_sub(REACH));
            let unreal = talk.tokens[from..cue.start]
                .iter()
                .any(|t| GRAMMAR.denials.has(t) || GRAMMAR.modals.has(t) || GRAMMAR.conditions.has(t));
            (!unreal && !talk.tokens[cue.start].asked).then(|| (talk.span(cue), thought.block, value))
        })
        .collect()
}
