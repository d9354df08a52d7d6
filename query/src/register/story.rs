//! One gear's whole story in time: fitted, tried, readings, limits, items, dates, decisions.

use std::collections::HashSet;

use chrono::{DateTime, FixedOffset, NaiveDate};
use leadsman_index::{Correction, Decision};
use leadsman_ingest::{EventKind, Outcome, Reading, Span, Stance, Why};
use serde::Serialize;

use super::{Kept, Register, SKIPPER, Turn, turn_word};
use crate::boat::{Boat, Day};
use crate::decide::in_words;
use crate::figure;
use crate::gear_word::Wanted;
use crate::open_item::OpenList;
use crate::words;

/// A gear's story.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Story {
    /// The gear as the register has it, and its parts and sides after it.
    pub gear: Vec<Kept>,
    /// What happened, oldest first; what has no day comes first.
    pub chapters: Vec<Chapter>,
}

/// What a chapter is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ChapterKind {
    /// Fitted, bought, replaced, repaired or taken off.
    Done,
    /// A trial.
    Tried,
    /// A number that was seen or read.
    Reading,
    /// A band, a maximum, a trigger.
    Limit,
    /// A fixed property.
    Property,
    /// A service or expiry date.
    Date,
    /// A trial announced.
    Announced,
    /// An item opened.
    Opened,
    /// An item closed.
    Closed,
    /// The skipper's decision.
    Decision,
}

/// One thing in a gear's story.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chapter {
    /// The day aboard.
    pub on: Option<NaiveDate>,
    /// The instant, where one is known.
    pub at: Option<DateTime<FixedOffset>>,
    /// What it is about.
    pub kind: ChapterKind,
    /// The gear, its part or its side.
    pub gear: String,
    /// What happened, in the house's words.
    pub text: String,
    /// How a trial went.
    pub outcome: Option<Outcome>,
    /// The name of the item, where it is about one.
    pub item: Option<String>,
    /// The words.
    pub quote: String,
    /// The note's name, or "the skipper".
    pub from: String,
    /// Where the words stand in the note.
    pub span: Option<Span>,
}

impl Story {
    /// The story of the gear that is wanted, with its parts; `None` where nothing is known of it.
    pub fn new(boat: &Boat, register: &Register, list: &OpenList, wanted: &Wanted, day: Day) -> Option<Self> {
        let meant =
            |k: &&Kept| wanted.covers(&k.name) || k.part_of.as_deref().is_some_and(|w| wanted.covers(w));
        let mut gear: Vec<Kept> = register.gear.iter().filter(meant).cloned().collect();
        // Every gear that the notes tell of stands in the register: whether it is meant is worked out once.
        let names: HashSet<String> = gear.iter().map(|k| k.name.clone()).collect();
        let of = |name: &str| names.contains(name);
        gear.sort_by_key(|k| (k.name != wanted.name, k.part_of.is_some(), k.name.clone()));
        if gear.is_empty() {
            return None;
        }
        let mut chapters: Vec<Chapter> = Vec::new();
        for kept in &gear {
            chapters.extend(kept.turns.iter().map(|turn| done(&kept.name, turn)));
        }
        for noted in boat.noted(day) {
            let note = noted.note;
            let recorded = note.recorded.map(|m| m.at);
            let mut add =
                |gear: &str, kind, at: Option<DateTime<FixedOffset>>, text, outcome, quote: &str, span| {
                    let at = at.or(recorded);
                    chapters.push(Chapter {
                        on: at.map(|at| at.date_naive()),
                        at,
                        kind,
                        gear: gear.to_owned(),
                        text,
                        outcome,
                        item: None,
                        quote: quote.to_owned(),
                        from: noted.name.to_owned(),
                        span: Some(span),
                    });
                };
            for reading in &note.readings {
                if let Some(gear) = reading.gear.as_deref().filter(|g| of(g))
                    && let Some(kind) = kind(reading)
                {
                    let value = figure::range(reading.low, reading.high, &reading.unit);
                    let text = format!("{} {value}", words::spaced(&reading.quantity));
                    add(gear, kind, reading.at.map(|m| m.at), text, None, &reading.quote, reading.span);
                }
            }
            for event in note.events.iter().filter(|e| of(&e.gear)) {
                let kind = match event.what {
                    EventKind::Announced => ChapterKind::Announced,
                    EventKind::Needed => ChapterKind::Limit,
                    _ => continue,
                };
                let figures: Vec<String> = event
                    .readings
                    .iter()
                    .filter_map(|&r| note.readings.get(r))
                    .map(|r| {
                        format!("{} {}", words::spaced(&r.quantity), figure::range(r.low, r.high, &r.unit))
                    })
                    .collect();
                let text = match kind {
                    ChapterKind::Announced => "a trial announced".to_owned(),
                    _ => format!("called for at {}", figures.join(" and ")),
                };
                add(&event.gear, kind, event.at.map(|m| m.at), text, None, &event.quote, event.span);
            }
            for (gear, due, span) in &note.dues {
                if let Some(gear) = gear.as_deref().filter(|g| of(g)) {
                    let text = format!("{} {}", due.what, figure::day(due.until));
                    add(gear, ChapterKind::Date, None, text, None, &due.said, *span);
                }
            }
            for trial in note.trials.iter().filter(|t| of(&t.gear)) {
                let conditions = trial.conditions.iter().filter_map(|&r| note.readings.get(r));
                let text = in_conditions(conditions, trial.night, trial.hands);
                let (at, outcome) = (trial.at.map(|m| m.at), Some(trial.outcome));
                add(&trial.gear, ChapterKind::Tried, at, text, outcome, &trial.quote, trial.span);
            }
        }
        chapters.extend(items(list, &of));
        chapters.extend(boat.decisions(day).filter_map(|entry| {
            let (gear, text) = decided(&entry.decision, list)?;
            of(&gear).then(|| Chapter {
                on: Some(entry.day()),
                at: Some(entry.at().fixed_offset()),
                kind: ChapterKind::Decision,
                gear,
                text,
                outcome: None,
                item: entry.decision.item().map(str::to_owned),
                quote: String::new(),
                from: SKIPPER.to_owned(),
                span: None,
            })
        }));
        chapters.sort_by_key(|c| (c.on, c.at, c.kind));
        Some(Self { gear, chapters })
    }
}

fn kind(reading: &Reading) -> Option<ChapterKind> {
    Some(match reading.stance {
        Stance::Observed => ChapterKind::Reading,
        Stance::Limit => ChapterKind::Limit,
        Stance::Spec => ChapterKind::Property,
        _ => return None,
    })
}

/// The conditions of a trial in a line; empty where none are known.
pub fn in_conditions<'a>(
    readings: impl Iterator<Item = &'a Reading>,
    night: Option<bool>,
    hands: Option<u32>,
) -> String {
    let mut parts: Vec<String> = readings
        .map(|r| format!("{} {}", words::spaced(&r.quantity), figure::range(r.low, r.high, &r.unit)))
        .collect();
    parts.extend(night.map(|night| if night { "in the dark" } else { "by daylight" }.to_owned()));
    parts.extend(
        hands.map(|hands| if hands == 1 { "single-handed".to_owned() } else { format!("{hands} hands") }),
    );
    parts.join(", ")
}

fn done(gear: &str, turn: &Turn) -> Chapter {
    Chapter {
        on: turn.on,
        at: None,
        kind: ChapterKind::Done,
        gear: gear.to_owned(),
        text: turn_word(turn.what).to_owned(),
        outcome: None,
        item: None,
        quote: turn.quote.clone(),
        from: turn.from.clone(),
        span: turn.span,
    }
}

fn items(list: &OpenList, of: &impl Fn(&str) -> bool) -> Vec<Chapter> {
    let mut out = Vec::new();
    let mut add = |kind, gear: &Option<String>, name: &str, on, text: String, quote: String, from: String| {
        if let Some(gear) = gear.as_deref().filter(|g| of(g)) {
            out.push(Chapter {
                on,
                at: None,
                kind,
                gear: gear.to_owned(),
                text,
                outcome: None,
                item: Some(name.to_owned()),
                quote,
                from,
                span: None,
            });
        }
    };
    let why = |why: Option<Why>| why.map_or("open", words::why).to_owned();
    for item in list.standing() {
        let (quote, from) =
            item.evidence.first().map(|e| (e.quote.clone(), e.name.clone())).unwrap_or_default();
        add(ChapterKind::Opened, &item.gear, &item.name, item.opened, why(item.why), quote, from);
    }
    for item in &list.closed {
        let (quote, from) =
            item.evidence.first().map(|e| (e.quote.clone(), e.name.clone())).unwrap_or_default();
        add(ChapterKind::Opened, &item.gear, &item.name, item.opened, why(item.why), quote, from);
        let from = item.closed_in.clone().unwrap_or_else(|| SKIPPER.to_owned());
        let on = item.closed.map(|at| at.date_naive());
        add(ChapterKind::Closed, &item.gear, &item.name, on, "closed".to_owned(), item.because.clone(), from);
    }
    out
}

/// The gear that a decision is about, and what it says, for those that are told nowhere else in the story.
fn decided(decision: &Decision, list: &OpenList) -> Option<(String, String)> {
    // A decision keeps an item's whole name, or one that it went by before.
    let gear_of = |asked: &str| {
        let goes_by = |names: &[String]| names.iter().any(|name| name.starts_with(asked));
        let open = list.standing().find(|item| goes_by(&item.names)).map(|item| item.gear.clone());
        let mut closed = list.closed.iter().chain(&list.dismissed);
        open.or_else(|| closed.find(|item| goes_by(&item.names)).map(|item| item.gear.clone()))?
    };
    match decision {
        Decision::Gear { gear, dismissed: true, what: Some(what), .. } => {
            Some((gear.clone(), format!("not {} after all", turn_word(*what))))
        }
        Decision::Gear { gear, part_of: Some(whole), .. } => {
            let of =
                if whole.is_empty() { "part of nothing".to_owned() } else { format!("part of the {whole}") };
            Some((gear.clone(), of))
        }
        Decision::Limit { gear: Some(gear), .. } => Some((gear.clone(), in_words(decision))),
        Decision::Correct { to: Correction { gear: Some(gear), .. }, place, .. } => {
            Some((gear.clone(), format!("is what \u{201c}{}\u{201d} is about", place.quote)))
        }
        Decision::Teach { word, gear: Some(gear), .. } => {
            Some((gear.clone(), format!("also called \u{201c}{word}\u{201d}")))
        }
        // Closing and opening again stand in the story by themselves.
        Decision::Close { .. } | Decision::Reopen { .. } => None,
        other => Some((gear_of(other.item()?)?, in_words(other))),
    }
}
