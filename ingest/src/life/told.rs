//! What was done with gear: fitted, bought, replaced, repaired, taken off.

use std::ops::Range;

use chrono::NaiveDate;

use super::LIFE;
use crate::date::Named;
use crate::found::{Event, EventKind};
use crate::item::{around, thought_of};
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name};
use crate::word::WordList;

/// Finds what a note made on a day says was done with gear.
pub fn told(talk: &Talk<'_>, thoughts: &[Thought], dates: &[Named], day: NaiveDate) -> Vec<Event> {
    let mut out: Vec<Event> = Vec::new();
    for (what, cue) in cues(talk) {
        let thought = &thoughts[thought_of(thoughts, cue.start)];
        let tokens = &talk.tokens;
        if tokens[cue.start].asked || undone(talk, thought, &cue) {
            continue;
        }
        let behind = right_behind(talk, thought, &cue);
        let ends_new = tokens[cue.end - 1].is("new");
        let Some(subject) = object(talk, thought, &cue, behind) else { continue };
        let named = &talk.mentions[subject].tokens;
        // "The bilge pump is new" is of the pump; "now this is new" is of the news.
        if ends_new
            && what.is_some()
            && tokens[cue.start].is_any(words!["is", "are", "'s"])
            && named.end != cue.start
        {
            continue;
        }
        // A spare that was bought or fitted says nothing of the one in use.
        let spare = |t: &crate::token::Token<'_>| t.is_any(words!["spare", "spares"]);
        if talk.mentions[subject].spare || tokens[named.clone()].iter().any(spare) {
            continue;
        }
        if serviced(talk, &cue, name(talk, subject)) {
            continue;
        }
        let said = around(thought, &cue);
        let event = Event {
            gear: name(talk, subject).to_owned(),
            what: what.unwrap_or(if behind.is_some() { EventKind::Replaced } else { EventKind::Repaired }),
            on: said_day(dates, thought, &cue, day),
            at: talk.at(cue.start),
            readings: Vec::new(),
            span: talk.span(said.clone()),
            quote: talk.quote(said),
        };
        // "New one fitted" is one thing done, the first word for it.
        let again = |e: &Event| {
            e.gear == event.gear && e.span.end >= event.span.start && e.span.start <= event.span.end
        };
        if !out.iter().any(again) {
            out.push(event);
        }
    }
    out
}

/// "The engine has new oil", "renewed the oil in the engine": what is used up and filled in again makes no other engine.
fn serviced(talk: &Talk<'_>, cue: &Range<usize>, gear: &str) -> bool {
    const MACHINES: &[&str] = &["engine", "outboard", "generator", "gearbox", "saildrive"];
    const USED_UP: &WordList = words![
        "oil",
        "filter",
        "filters",
        "coolant",
        "antifreeze",
        "grease",
        "fuel",
        "plug",
        "plugs",
        "zinc",
        "zincs",
        "anode",
        "anodes",
        "water",
    ];
    const NEAR: usize = 4;
    let near = cue.start.saturating_sub(NEAR)..talk.tokens.len().min(cue.end + NEAR);
    MACHINES.contains(&gear) && talk.tokens[near].iter().any(|t| t.is_any(USED_UP))
}

/// The places where something is said to be done, with what; `None` for something new given to gear.
fn cues(talk: &Talk<'_>) -> Vec<(Option<EventKind>, Range<usize>)> {
    let told = LIFE.told.find(&talk.tokens).into_iter().map(|m| (Some(*m.value), m.start..m.end));
    let renewed = LIFE.renewed.find(&talk.tokens).into_iter().map(|m| (None, m.start..m.end));
    let mut all: Vec<_> = told.chain(renewed).collect();
    all.sort_by_key(|(_, cue)| (cue.start, std::cmp::Reverse(cue.end)));
    all.dedup_by(|later, earlier| later.1.start < earlier.1.end);
    all
}

/// The gear that something was done with: named right behind the words, in front of them, or what the talk is about.
fn object(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, behind: Option<usize>) -> Option<usize> {
    let in_front = || {
        thought.mentions.clone().rev().find(|&m| {
            let end = talk.mentions[m].tokens.end;
            end <= cue.start && !talk.mentions[m].generic
        })
    };
    // "Two blades missing. New one fitted": of what was talked about, not of what comes next.
    if talk.tokens[cue.clone()].iter().any(|t| t.is_any(words!["one", "ones"])) {
        let last = || {
            let before = talk.mentions.partition_point(|m| m.tokens.end <= cue.start);
            (0..before)
                .rev()
                .take_while(|&m| {
                    talk.tokens[talk.mentions[m].tokens.end..=cue.start].iter().all(|t| t.gap < Gap::Block)
                })
                .find(|&m| !talk.mentions[m].generic)
        };
        return in_front().or(thought.topic).or_else(last);
    }
    behind.or_else(|| thought.subject(talk, cue)).or_else(in_front)
}

/// The gear named right behind the words: "fitted the new pump".
fn right_behind(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<usize> {
    const BEHIND: usize = 4;
    thought.mentions.clone().find(|&m| {
        let start = talk.mentions[m].tokens.start;
        // "A new one" in the middle of a thought is of the gear in front; "fitted the new pump" of the one behind.
        start >= cue.end
            && start < cue.end + BEHIND
            && !talk.tokens[cue.end..=start].iter().any(|t| {
                t.gap >= Gap::Comma
                    || t.is_any(words!["in", "on", "at", "to", "for", "with", "from", "by", "of", "and"])
            })
    })
}

/// Whether words in front leave it undone, or make it a plan.
fn undone(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 4;
    let from = thought.tokens.start.max(cue.start.saturating_sub(REACH));
    // "New one on order", "on its way".
    let awaited = talk.tokens[cue.end - 1].is("on")
        && talk.tokens.get(cue.end).is_some_and(|t| t.is_any(words!["order", "its", "their", "the"]))
        && talk.tokens[cue.end..].iter().take(2).any(|t| t.is_any(words!["order", "way", "list"]));
    awaited || (from..cue.start).any(|i| LIFE.undone.at(&talk.tokens, i).is_some())
}

/// The day that the words name ("fitted in May 2025"), where it is none to come.
fn said_day(dates: &[Named], thought: &Thought, cue: &Range<usize>, day: NaiveDate) -> Option<NaiveDate> {
    const NEAR: usize = 8;
    dates
        .iter()
        .filter(|d| thought.tokens.contains(&d.tokens.start) && d.year_said && d.from <= day)
        .find(|d| d.tokens.start < cue.end + NEAR && d.tokens.end + NEAR > cue.start)
        .map(|d| d.from)
}
