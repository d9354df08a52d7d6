//! What was done with each gear, from the notes and from the skipper's decisions, in time.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use leadsman_index::{Decision, Entry};
use leadsman_ingest::matter::Noted;
use leadsman_ingest::{Event, EventKind, Span};
use serde::{Deserialize, Serialize};

use crate::boat::Day;

/// Something that was done with gear.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Turn {
    /// What.
    pub what: EventKind,
    /// The day, where one is known.
    pub on: Option<NaiveDate>,
    /// Whether words or the skipper name that day; else it is the day of the note.
    pub day_said: bool,
    /// The words, or the skipper's reason.
    pub quote: String,
    /// The note's name, or "the skipper".
    pub from: String,
    /// Where it stands in the note.
    pub span: Option<Span>,
    /// The note's place among the notes, for telling what came first.
    #[serde(skip)]
    pub note: usize,
}

/// When gear was tried, for telling whether that was before or after a [`Turn`].
#[derive(Clone, Copy, Debug)]
pub struct Tried {
    /// The day.
    pub on: Option<NaiveDate>,
    /// The note's place among the notes.
    pub note: usize,
    /// First byte of the words.
    pub start: usize,
}

impl Turn {
    /// Whether it came after a trial, so that the trial says nothing of the gear as it is now. Where a day is said, the
    /// days tell; within one note, the order of the words.
    pub fn after(&self, tried: &Tried) -> bool {
        if self.day_said {
            return self.on.zip(tried.on).is_some_and(|(turn, tried)| turn > tried);
        }
        (self.note, self.span.map_or(usize::MAX, |s| s.start)) > (tried.note, tried.start)
    }
}

/// The turns of all gear by its name, oldest first.
#[derive(Clone, Debug, Default)]
pub struct Lives {
    /// By the gear's name as the notes have it.
    pub turns: BTreeMap<String, Vec<Turn>>,
    /// What the skipper says that gear is part of; an empty name for nothing.
    pub part_of: BTreeMap<String, String>,
}

impl Lives {
    /// Reads the lives of gear from notes in the order in which they were made, and from decisions; what was done
    /// after the day asked about is left out.
    pub fn new<'a>(notes: &[Noted<'_>], decisions: impl IntoIterator<Item = &'a Entry>, day: Day) -> Self {
        let mut lives = Self::default();
        for (index, noted) in notes.iter().enumerate() {
            let recorded = noted.note.recorded.map(|m| m.at.date_naive());
            let told = |e: &&Event| !matches!(e.what, EventKind::Announced | EventKind::Needed);
            for event in noted.note.events.iter().filter(told) {
                let turn = Turn {
                    what: event.what,
                    on: event.on.or_else(|| event.at.map(|m| m.at.date_naive())).or(recorded),
                    day_said: event.on.is_some(),
                    quote: event.quote.clone(),
                    from: noted.name.to_owned(),
                    span: Some(event.span),
                    note: index,
                };
                lives.turns.entry(event.gear.clone()).or_default().push(turn);
            }
        }
        for entry in decisions {
            let Decision::Gear { gear, what, on, part_of, dismissed, because } = &entry.decision else {
                continue;
            };
            if let Some(whole) = part_of {
                lives.part_of.insert(gear.clone(), whole.clone());
            }
            let Some(what) = what else { continue };
            let turns = lives.turns.entry(gear.clone()).or_default();
            if *dismissed {
                turns.retain(|t| t.what != *what || on.is_some_and(|day| t.on != Some(day)));
                continue;
            }
            let on = on.unwrap_or_else(|| entry.day());
            if day.asked && on > day.on {
                continue;
            }
            turns.push(Turn {
                what: *what,
                on: Some(on),
                day_said: true,
                quote: because.clone().unwrap_or_default(),
                from: SKIPPER.to_owned(),
                span: None,
                note: usize::MAX,
            });
        }
        for turns in lives.turns.values_mut() {
            turns.sort_by_key(|t| (t.on, t.note, t.span));
        }
        lives.turns.retain(|_, turns| !turns.is_empty());
        lives
    }

    /// What was done with a gear, oldest first.
    pub fn of(&self, gear: &str) -> &[Turn] {
        self.turns.get(gear).map_or(&[], Vec::as_slice)
    }

    /// The last time that a gear was put in, replaced or repaired after a trial.
    pub fn renewed_after(&self, gear: &str, tried: &Tried) -> Option<&Turn> {
        self.of(gear).iter().rev().find(|t| t.what.renews() && t.after(tried))
    }

    /// Whether the last word on a gear is that it is no longer aboard.
    pub fn is_gone(&self, gear: &str) -> bool {
        self.of(gear).last().is_some_and(|t| t.what == EventKind::TakenOff)
    }
}

/// Who gives what no note says.
pub const SKIPPER: &str = "the skipper";
