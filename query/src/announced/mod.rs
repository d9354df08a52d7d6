//! Trials that a note announces and no note reports: the end of the answer of `leadsman open`.
//!
//! A trial counts as reported where the same note goes on to tell of the gear's trial, or a later note tells of a trial,
//! of a number read off it, or that it was dealt with; of the gear itself, its part or its whole.

mod screen;

use std::collections::HashMap;

use chrono::NaiveDate;
use leadsman_index::Decision;
use leadsman_ingest::matter::same::{part_of, same_gear};
use leadsman_ingest::matter::{Noted, short_name, whole_name};
use leadsman_ingest::{Event, EventKind, Note, Reading, Span, Stance};
use serde::{Deserialize, Serialize};

use crate::boat::{Boat, Day};

pub use screen::show_announced;

/// A trial that was announced, and of which nothing was heard.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Announced {
    /// Short name, made as an item's, for `close` and `dismiss`.
    pub name: String,
    /// Whole name, which the short one is the beginning of.
    pub id: String,
    /// The gear.
    pub gear: String,
    /// The day of the words.
    pub on: Option<NaiveDate>,
    /// Days since then.
    pub days_ago: Option<i64>,
    /// The words that announced it.
    pub quote: String,
    /// SHA-256 of the note.
    pub source: String,
    /// The note's name.
    pub from: String,
    /// Where the words stand.
    pub span: Span,
}

/// A trial announced and never reported, and whether the skipper has closed or dismissed it.
#[derive(Clone, Debug, PartialEq)]
pub struct Announcement {
    /// It.
    pub announced: Announced,
    /// Whether the skipper's last word took it off the list.
    pub settled: bool,
}

/// The trials announced and never reported as of a day, oldest first, but for those that the skipper has closed or
/// dismissed.
pub fn announced(boat: &Boat, day: Day) -> Vec<Announced> {
    let mut all = never_reported(boat, day);
    all.retain(|one| !is_settled(boat, day, one));
    all
}

/// The one that a name or the beginning of it means; `None` where none or several do.
pub fn announcement(boat: &Boat, day: Day, asked: &str) -> Option<Announcement> {
    let asked = asked.trim().to_lowercase();
    let all = never_reported(boat, day);
    let mut fitting = all.into_iter().filter(|one| !asked.is_empty() && one.id.starts_with(&asked));
    let announced = fitting.next().filter(|_| fitting.next().is_none())?;
    Some(Announcement { settled: is_settled(boat, day, &announced), announced })
}

fn is_settled(boat: &Boat, day: Day, one: &Announced) -> bool {
    let spoken = boat.spoken().iter().filter(|s| !day.asked || s.entry.day() <= day.on);
    let said = spoken.filter(|s| !s.item.is_empty() && one.id.starts_with(&s.item));
    said.fold(false, |settled, s| match &s.entry.decision {
        Decision::Close { .. } => true,
        Decision::Correct { to, .. } if to.dismissed => true,
        Decision::Reopen { .. } => false,
        _ => settled,
    })
}

/// All of them, whatever the skipper says; of several of one gear the last.
fn never_reported(boat: &Boat, day: Day) -> Vec<Announced> {
    let notes = boat.noted(day);
    let reports = Reports::new(&notes);
    let mut last_of: HashMap<&str, Option<usize>> = HashMap::new();
    let mut out: Vec<Announced> = Vec::new();
    for (index, noted) in notes.iter().enumerate() {
        for event in noted.note.events.iter().filter(|e| e.what == EventKind::Announced) {
            let last = *last_of.entry(&event.gear).or_insert_with(|| reports.last_of(&event.gear));
            if last.is_some_and(|last| last > index)
                || reported_there(noted, event)
                || stands_there(noted, event)
            {
                continue;
            }
            out.retain(|a| a.gear != event.gear);
            let on = event.at.or(noted.note.recorded).map(|m| m.at.date_naive());
            out.push(Announced {
                name: short_name(noted.source, event.span),
                id: whole_name(noted.source, event.span),
                gear: event.gear.clone(),
                on,
                days_ago: on.map(|on| (day.on - on).num_days()),
                quote: event.quote.clone(),
                source: noted.source.to_owned(),
                from: noted.name.to_owned(),
                span: event.span,
            });
        }
    }
    out
}

/// The last note that reports on each gear, by the gear's name: the notes are walked once, not once an announcement.
struct Reports<'a>(HashMap<&'a str, usize>);

impl<'a> Reports<'a> {
    fn new(notes: &[Noted<'a>]) -> Self {
        let mut last: HashMap<&'a str, usize> = HashMap::new();
        for (index, noted) in notes.iter().enumerate() {
            let note: &'a Note = noted.note;
            let observed = |r: &&'a Reading| r.stance == Stance::Observed;
            let tried = note.trials.iter().map(|t| t.gear.as_str());
            let read = note.readings.iter().filter(observed).filter_map(|r| r.gear.as_deref());
            let done = note.closings.iter().filter_map(|c| c.gear.as_deref());
            let gone = note.events.iter().filter(|e| e.what == EventKind::TakenOff).map(|e| e.gear.as_str());
            last.extend(tried.chain(read).chain(done).chain(gone).map(|gear| (gear, index)));
        }
        Self(last)
    }

    /// The last note that reports on a gear, its part or its whole.
    fn last_of(&self, gear: &str) -> Option<usize> {
        self.0.iter().filter(|(name, _)| is_of(Some(name), gear)).map(|(_, &index)| index).max()
    }
}

fn is_of(gear: Option<&str>, announced: &str) -> bool {
    same_gear(gear, Some(announced)) || gear.is_some_and(|g| part_of(g, announced))
}

/// Whether the note itself goes on to tell how it went.
fn reported_there(noted: &Noted<'_>, event: &Event) -> bool {
    noted.note.trials.iter().any(|t| t.span.end > event.span.end && is_of(Some(&t.gear), &event.gear))
}

/// Whether the same words leave an item of that gear, which has their name and tells the rest.
fn stands_there(noted: &Noted<'_>, event: &Event) -> bool {
    let same = |span: Span| span.start < event.span.end && event.span.start < span.end;
    noted.note.items.iter().any(|i| same(i.span) && is_of(i.gear.as_deref(), &event.gear))
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::{Hints, read};

    use super::*;

    fn note(day: u32, words: &str) -> Note {
        let text = format!("{day} March 2026, 10:05 UTC+1\n\n{words}\n");
        read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() })
    }

    fn heard(announcing: &str, later: &str) -> bool {
        let (first, second) = (note(14, announcing), note(15, later));
        let event = first.events.iter().find(|e| e.what == EventKind::Announced).expect("it is announced");
        let noted = |note| Noted { source: "ab", name: "note.txt", note };
        let reports = Reports::new(&[noted(&first), noted(&second)]);
        reported_there(&noted(&first), event) || reports.last_of(&event.gear) == Some(1)
    }

    #[test]
    fn what_is_reported_is_heard_of() {
        let words = "Tonight we'll see what the heater draws.";
        assert!(!heard(words, "Wind 15 knots, rained all day."));
        assert!(heard(words, "The heater drew 2.1 amps all night."));
        assert!(heard(words, "The heater is a pass."));
        assert!(!heard(words, "The windlass is a pass."));
        assert!(!heard(words, "I must look at the heater."), "work to do is no report");
    }

    #[test]
    fn the_same_note_may_report() {
        assert!(heard(
            "Now we'll see what the heater draws. The heater went out. So the heater's a fail.",
            "Calm."
        ));
    }
}
