//! The register of gear: what is aboard, since when, part of what, what was done with it, last tried and how that
//! went: the answer of `leadsman gear`. Whatever the notes don't tell is unknown, and shown so.

mod life;
mod screen;
mod story;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use leadsman_ingest::matter::Noted;
use leadsman_ingest::{EventKind, Outcome, Why, gear};
use serde::{Deserialize, Serialize};

use crate::boat::{Boat, Day};
use crate::gear_word::Wanted;

pub use life::{Lives, SKIPPER, Tried, Turn};
pub use screen::{show, show_story, turn_word};
pub use story::{Chapter, ChapterKind, Story, in_conditions};

/// All gear that the notes and the skipper tell of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Register {
    /// The day asked about.
    pub on: NaiveDate,
    /// How many notes answer.
    pub notes: usize,
    /// The gear, by group and name.
    pub gear: Vec<Kept>,
}

/// One gear in the register.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// Its name.
    pub name: String,
    /// What it serves, where the lexicon has it.
    pub group: Option<String>,
    /// What it is part of.
    pub part_of: Option<String>,
    /// Whether it is aboard; `None` where it is only spoken of as something to get or do.
    pub aboard: Option<bool>,
    /// The first day on which it is known to be aboard.
    pub since: Option<NaiveDate>,
    /// How that is known: "fitted", "bought", "replaced", or "first spoken of" in a note by its name.
    pub since_from: Option<String>,
    /// What was done with it, oldest first.
    pub turns: Vec<Turn>,
    /// Its last trial.
    pub last_tried: Option<LastTried>,
    /// How many trials there are.
    pub trials: usize,
    /// How many of them passed.
    pub passed: usize,
}

/// The last trial of a gear.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LastTried {
    /// The day.
    pub on: Option<NaiveDate>,
    /// How it went.
    pub outcome: Outcome,
    /// The words.
    pub quote: String,
    /// The note's name.
    pub from: String,
    /// The gear was put in, replaced or repaired since; what it passed says nothing of it now.
    pub renewed_since: bool,
}

/// The days on which gear of a name was changed, each with the word for it, as marks in a trend.
pub fn turns_of(register: &Register, gear: &str) -> Vec<(NaiveDate, &'static str)> {
    let wanted = Wanted::by_names(gear, &[]);
    let kept =
        register.gear.iter().filter(|kept| kept.name.eq_ignore_ascii_case(gear) || wanted.covers(&kept.name));
    let turns = kept.flat_map(|kept| &kept.turns).filter(|turn| turn.what.renews());
    let mut turns: Vec<_> = turns.filter_map(|turn| Some((turn.on?, turn_word(turn.what)))).collect();
    turns.sort_unstable();
    turns.dedup();
    turns
}

#[derive(Default)]
struct Seen {
    first: Option<(NaiveDate, String)>,
    /// Spoken of otherwise than as work to do.
    aboard: bool,
    trials: usize,
    passed: usize,
    last: Option<(LastTried, Tried)>,
}

impl Register {
    /// Makes the register of a boat as of a day.
    pub fn new(boat: &Boat, day: Day) -> Self {
        let notes = boat.noted(day);
        let lives = Lives::new(&notes, boat.all_decisions(), day);
        let mut seen = seen(&notes);
        for name in lives.turns.keys().chain(lives.part_of.keys()) {
            seen.entry(name.clone()).or_default();
        }
        let mut list: Vec<Kept> = seen.into_iter().map(|(name, seen)| kept(name, seen, &lives)).collect();
        list.sort_by(|a, b| (&a.group, &a.name).cmp(&(&b.group, &b.name)));
        Self { on: day.on, notes: notes.len(), gear: list }
    }

    /// Forgets the notes' places among the notes, which were needed to make it only.
    pub(crate) fn forget_places(&mut self) {
        self.gear.iter_mut().flat_map(|kept| &mut kept.turns).for_each(|turn| turn.note = 0);
    }
}

fn seen(notes: &[Noted<'_>]) -> BTreeMap<String, Seen> {
    let mut all: BTreeMap<String, Seen> = BTreeMap::new();
    for (index, noted) in notes.iter().enumerate() {
        let note = noted.note;
        let day = note.recorded.map(|m| m.at.date_naive());
        let mut tell = |name: &str, aboard: bool| {
            // Most gear is spoken of again and again: its name is copied once.
            if !all.contains_key(name) {
                all.insert(name.to_owned(), Seen::default());
            }
            let seen = all.get_mut(name).expect("it was put there just now");
            if aboard && seen.first.is_none() {
                seen.first = day.map(|day| (day, noted.name.to_owned()));
            }
            seen.aboard |= aboard;
        };
        note.readings.iter().filter_map(|r| r.gear.as_deref()).for_each(|g| tell(g, true));
        note.trials.iter().for_each(|t| tell(&t.gear, true));
        note.closings.iter().filter_map(|c| c.gear.as_deref()).for_each(|g| tell(g, true));
        note.dues.iter().filter_map(|(g, ..)| g.as_deref()).for_each(|g| tell(g, true));
        note.items.iter().for_each(|i| {
            if let Some(g) = i.gear.as_deref() {
                tell(g, i.why != Why::Task);
            }
        });
        for trial in &note.trials {
            let Some(seen) = all.get_mut(&trial.gear) else { continue };
            let on = trial.at.map(|m| m.at.date_naive()).or(day);
            seen.trials += 1;
            seen.passed += usize::from(trial.outcome == Outcome::Pass);
            let tried = Tried { on, note: index, start: trial.span.start };
            let last = LastTried {
                on,
                outcome: trial.outcome,
                quote: trial.quote.clone(),
                from: noted.name.to_owned(),
                renewed_since: false,
            };
            if seen.last.as_ref().is_none_or(|(before, _)| before.on <= on) {
                seen.last = Some((last, tried));
            }
        }
    }
    all
}

fn kept(name: String, seen: Seen, lives: &Lives) -> Kept {
    let known = gear::by_name(&name);
    let turns = lives.of(&name).to_vec();
    let gone = lives.is_gone(&name);
    let came = turns.iter().find(|t| t.what != EventKind::TakenOff);
    let told = came.and_then(|t| Some((t.on?, turn_word(t.what).to_owned())));
    let spoken = seen.first.map(|(day, name)| (day, format!("first spoken of in {name}")));
    let since = match (told, spoken) {
        (Some(told), Some(spoken)) => Some(if told.0 <= spoken.0 { told } else { spoken }),
        (told, spoken) => told.or(spoken),
    };
    let (since, since_from) = since.unzip();
    let last_tried = seen.last.map(|(mut last, tried)| {
        last.renewed_since = lives.renewed_after(&name, &tried).is_some();
        last
    });
    let whole = match lives.part_of.get(&name) {
        Some(whole) => Some(whole.clone()).filter(|w| !w.is_empty()),
        None => known.and_then(|g| g.part_of.clone()),
    };
    Kept {
        group: known.map(|g| g.group.clone()),
        part_of: whole,
        aboard: if gone { Some(false) } else { (seen.aboard || came.is_some()).then_some(true) },
        since,
        since_from,
        turns,
        last_tried,
        trials: seen.trials,
        passed: seen.passed,
        name,
    }
}
