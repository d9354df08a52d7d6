//! Trials that a note announces: "tonight we'll see what the heater draws".

use super::LIFE;
use crate::found::{Event, EventKind};
use crate::item::{around, thought_of};
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name, serves};

/// Finds the trials that a note announces.
pub fn announced(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Event> {
    let mut out: Vec<Event> = Vec::new();
    for cue in LIFE.announced.find(&talk.tokens) {
        let cue = cue.start..cue.end;
        let at = thought_of(thoughts, cue.start);
        let thought = &thoughts[at];
        let tokens = &talk.tokens;
        let before = &tokens[thought.tokens.start.max(cue.start.saturating_sub(3))..cue.start];
        // "I don't know if we'll see", "he says he'll try it": nobody here announces anything.
        if before.iter().any(|t| {
            t.is_any(words!["he", "she", "they", "n't", "not", "never", "if", "don't", "won't", "didn't"])
        }) {
            continue;
        }
        // What is tried is named within the words or behind them; else it is what the talk is about.
        let behind = |m: &usize| {
            let start = talk.mentions[*m].tokens.start;
            start >= cue.start
                && start < cue.end + BEHIND
                && !tokens[cue.start + 1..=start.max(cue.start + 1).min(tokens.len() - 1)]
                    .iter()
                    .any(|t| t.gap >= Gap::Sentence)
        };
        let named = thought.mentions.clone().filter(behind).find(|&m| !serves(&talk.mentions[m]));
        let named = named.or_else(|| thought.mentions.clone().find(|m| behind(m)));
        let named = named.or_else(|| next_line(talk, thoughts, at, cue.end));
        let Some(subject) = named.or_else(|| thought.subject(talk, &cue)) else { continue };
        let said = around(thought, &cue);
        let event = Event {
            gear: name(talk, subject).to_owned(),
            what: EventKind::Announced,
            on: None,
            at: talk.at(cue.start),
            readings: Vec::new(),
            span: talk.span(said.clone()),
            quote: talk.quote(said),
        };
        if !out.iter().any(|e| e.gear == event.gear) {
            out.push(event);
        }
    }
    out
}

/// How far behind the words, in tokens, what is tried may be named.
const BEHIND: usize = 10;

/// In talk that is cut by cues the gear may stand at the beginning of the next one.
fn next_line(talk: &Talk<'_>, thoughts: &[Thought], at: usize, end: usize) -> Option<usize> {
    let thought = &thoughts[at];
    let next = thoughts.get(at + 1).filter(|n| n.block == thought.block)?;
    let goes_on = thought.tokens.end < end + 3 && talk.tokens[next.tokens.start].gap == Gap::Line;
    next.mentions.clone().next().filter(|&m| goes_on && talk.mentions[m].tokens.start < end + BEHIND)
}
