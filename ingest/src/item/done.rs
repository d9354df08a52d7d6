//! Closings: the speaker's word that a thing is done or put right.

use std::ops::Range;

use super::words::{WORDS, around, thought_of};
use crate::found::{Closing, UtteranceKind};
use crate::talk::Talk;
use crate::thing;
use crate::token::Gap;
use crate::topic::{Thought, name};

/// List items whose box is ticked.
fn ticked(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    let first = |t: &&Thought| talk.tokens[t.tokens.start].gap == Gap::Block;
    thoughts
        .iter()
        .filter(first)
        .filter(|t| talk.ticked(t.tokens.start) == Some(true))
        .map(|thought| closing(talk, thought.tokens.clone(), thought.mentions.clone().next(), "ticked off"))
        .collect()
}

/// List items under a heading that says that they are done.
fn under_done(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    const DONE: &[&str] = &["done", "finished", "sorted", "completed", "closed", "fixed"];
    const UNDONE: &[&str] = &["not", "to", "be", "un", "half", "never"];
    let mut out = Vec::new();
    let mut done = false;
    for (index, thought) in thoughts.iter().enumerate() {
        let words = &talk.tokens[thought.tokens.clone()];
        if words[0].gap != Gap::Block {
            continue;
        }
        match talk.utterances[words[0].utterance].kind {
            UtteranceKind::Heading => {
                done =
                    words.iter().take(3).any(|t| t.is_any(DONE)) && !words.iter().any(|t| t.is_any(UNDONE));
            }
            UtteranceKind::ListItem if done => {
                let end = thoughts[index..].iter().take_while(|t| t.block == thought.block).last();
                let said = thought.tokens.start..end.map_or(thought.tokens.end, |t| t.tokens.end);
                out.push(closing(talk, said, thought.mentions.clone().next(), "done"));
            }
            _ => {}
        }
    }
    out
}

fn closing(talk: &Talk<'_>, said: Range<usize>, gear: Option<usize>, how: &str) -> Closing {
    let quote = talk.quote(said.clone());
    Closing {
        gear: gear.map(|m| name(talk, m).to_owned()),
        about: quote.clone(),
        how: how.to_owned(),
        at: talk.at(said.start),
        span: talk.span(said),
        quote,
    }
}

/// Whether words between the gear and the closing word, or right in front of it, leave it undone.
fn denied(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, subject: Option<usize>) -> bool {
    const REACH: usize = 4;
    let tokens = &talk.tokens;
    let gear_end = subject.map(|s| talk.mentions[s].tokens.end).filter(|end| *end <= cue.start).unwrap_or(0);
    let from = thought.tokens.start.max(cue.start.saturating_sub(REACH)).max(gear_end);
    // "I must get the stern gland done".
    const WANTED: &[&str] = &["get", "getting", "must", "need", "needs", "should", "want", "wants", "to"];
    if let Some(gear) = subject.map(|s| &talk.mentions[s].tokens).filter(|t| t.end <= cue.start) {
        let front = thought.tokens.start.max(gear.start.saturating_sub(3));
        if tokens[front.min(gear.start)..gear.start].iter().any(|t| t.is_any(WANTED)) {
            return true;
        }
    }
    let line = (from..cue.start).rev().find(|&i| tokens[i].gap >= Gap::Line).unwrap_or(from);
    (line..cue.start).any(|i| WORDS.not_done.at(tokens, i).is_some())
}

/// Finds what a note says is done.
pub fn closings(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    let mut out = ticked(talk, thoughts);
    out.extend(under_done(talk, thoughts));
    for cue in WORDS.done.find(&talk.tokens) {
        let cue = cue.start..cue.end;
        let thought = &thoughts[thought_of(thoughts, cue.start)];
        let tokens = &talk.tokens;
        if tokens[cue.start].asked {
            continue;
        }
        let yet = tokens.get(cue.end).is_some_and(|t| t.is("yet") && t.gap < Gap::Sentence);
        // "Knife lanyard made" says nothing of gear named before it.
        let own = |m: &usize| thought.mentions.contains(m);
        let subject =
            thought.subject(talk, &cue).filter(|m| own(m) || thing::in_front(talk, thought, &cue).is_none());
        if yet || denied(talk, thought, &cue, subject) {
            continue;
        }
        // "And there's a new one" brings a new one up.
        let one = tokens.get(cue.end).is_some_and(|t| t.is("one") && t.gap <= Gap::Line);
        let brought_up = (one || tokens[cue.end - 1].is("one"))
            && tokens[cue.start.saturating_sub(3)..cue.end].iter().any(|t| t.is("there"))
            && tokens.get(cue.end + usize::from(one)).is_none_or(|t| t.gap >= Gap::Sentence);
        if brought_up {
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
