//! Closings: the speaker's word that a thing is done or put right.

use std::ops::Range;

use super::words::{WORDS, around, thought_of};
use crate::found::Closing;
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name};

/// List items whose box is ticked.
fn ticked(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    let first = |t: &&Thought| talk.tokens[t.tokens.start].gap == Gap::Block;
    thoughts
        .iter()
        .filter(first)
        .filter(|t| talk.ticked(t.tokens.start) == Some(true))
        .map(|thought| {
            let quote = talk.quote(thought.tokens.clone());
            Closing {
                gear: thought.mentions.clone().next().map(|m| name(talk, m).to_owned()),
                about: quote.clone(),
                how: "ticked off".to_owned(),
                at: talk.at(thought.tokens.start),
                span: talk.span(thought.tokens.clone()),
                quote,
            }
        })
        .collect()
}

/// Whether words between the gear and the closing word, or right in front of it, leave it undone.
fn denied(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, subject: Option<usize>) -> bool {
    const REACH: usize = 4;
    let tokens = &talk.tokens;
    let gear_end = subject.map(|s| talk.mentions[s].tokens.end).filter(|end| *end <= cue.start).unwrap_or(0);
    let from = thought.tokens.start.max(cue.start.saturating_sub(REACH)).max(gear_end);
    let line = (from..cue.start).rev().find(|&i| tokens[i].gap >= Gap::Line).unwrap_or(from);
    (line..cue.start).any(|i| WORDS.not_done.at(tokens, i).is_some())
}

/// Finds what a note says is done.
pub fn closings(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    let mut out = ticked(talk, thoughts);
    for cue in WORDS.done.find(&talk.tokens) {
        let cue = cue.start..cue.end;
        let thought = &thoughts[thought_of(thoughts, cue.start)];
        let tokens = &talk.tokens;
        if tokens[cue.start].asked {
            continue;
        }
        let yet = tokens.get(cue.end).is_some_and(|t| t.is("yet") && t.gap < Gap::Sentence);
        let subject = thought.subject(talk, &cue);
        if yet || denied(talk, thought, &cue, subject) {
            continue;
        }
        // "the flares came": of the gear itself, not of someone who came by.
        let bound = subject.is_some_and(|s| talk.mentions[s].tokens.end == cue.start);
        if cue.len() == 1 && tokens[cue.start].is("came") && !bound {
            continue;
        }
        let said = around(thought, &cue);
        let quote = talk.quote(said.clone());
        let gear = subject.map(|s| name(talk, s).to_owned());
        let about = match subject {
            Some(s) if !said.contains(&talk.mentions[s].tokens.start) => {
                format!("{}: {quote}", talk.quote(talk.mentions[s].tokens.clone()))
            }
            _ => quote.clone(),
        };
        out.push(Closing {
            gear,
            about,
            how: talk.quote(cue.clone()),
            at: talk.at(cue.start),
            span: talk.span(said),
            quote,
        });
    }
    out
}
