//! Closings: the speaker's word that a thing is done or put right.

use super::words::{WORDS, around, thought_of};
use crate::found::Closing;
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name};

/// Finds what a note says is done.
pub fn closings(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    let mut out = Vec::new();
    for cue in WORDS.done.find(&talk.tokens) {
        let cue = cue.start..cue.end;
        let thought = &thoughts[thought_of(thoughts, cue.start)];
        let tokens = &talk.tokens;
        if tokens[cue.start].asked {
            continue;
        }
        let from = thought.tokens.start.max(cue.start.saturating_sub(4));
        let denied = (from..cue.start).any(|i| WORDS.not_done.at(tokens, i).is_some());
        let yet = tokens.get(cue.end).is_some_and(|t| t.is("yet") && t.gap < Gap::Sentence);
        if denied || yet {
            continue;
        }
        let subject = thought.subject(talk, &cue);
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
