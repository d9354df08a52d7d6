//! Remarks: what a note plainly states of gear, kept so that a later look can tell whether it shows a matter to be over.
//!
//! "Sheet lead of the trysail: painted red", "two impellers lie in the drawer" have no word of closing in them; against
//! the matter "mark the sheet lead" or "get two impellers" they close it all the same. What asks, wishes, plans, denies,
//! doubts or tells of a fault states nothing of that kind.

use std::ops::Range;

use super::done::is_half_done;
use super::words::WORDS;
use crate::fault::faults;
use crate::found::{Outcome, Remark, UtteranceKind};
use crate::grammar::GRAMMAR;
use crate::lexicon::Words;
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name};
use crate::trial::cue_in;

/// Finds what a note states of gear.
pub fn remarks(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Remark> {
    const LONGEST: usize = 40;
    let mut out = Vec::new();
    for (index, thought) in thoughts.iter().enumerate() {
        let kind = talk.utterances[talk.tokens[thought.tokens.start].utterance].kind;
        if matches!(kind, UtteranceKind::Heading | UtteranceKind::Header)
            || talk.ticked(thought.tokens.start) == Some(false)
            || thought.tokens.len() > LONGEST
        {
            continue;
        }
        // "Fourth waistcoat: has its cartridge": the label belongs to what is said of it.
        let label = index
            .checked_sub(1)
            .map(|i| &thoughts[i])
            .filter(|l| talk.tokens[thought.tokens.start].gap == Gap::Clause && l.block == thought.block)
            .filter(|l| l.tokens.len() <= 8 && !l.mentions.is_empty());
        // "Still to do: heads pump, strainer": a list of what is to be done states nothing.
        if super::listed::leads_a_list(talk, thoughts, index) {
            continue;
        }
        let said = label.map_or(thought.tokens.start, |l| l.tokens.start)..thought.tokens.end;
        let mentions = label.map_or(thought.mentions.start, |l| l.mentions.start)..thought.mentions.end;
        if said.len() < 3 || talk.is_a_bare_cell(&said) || !states(talk, thoughts, thought, &said) {
            continue;
        }
        let mut gear: Vec<&str> = Vec::new();
        for m in mentions.chain(thought.topic.filter(|_| thought.mentions.is_empty() && label.is_none())) {
            let name = name(talk, m);
            if !gear.contains(&name) {
                gear.push(name);
            }
        }
        for gear in gear {
            out.push(Remark {
                gear: gear.to_owned(),
                at: talk.at(said.start),
                span: talk.span(said.clone()),
                quote: talk.quote(said.clone()),
            });
        }
    }
    out
}

/// Whether a thought states how a thing is or what was done to it.
fn states(talk: &Talk<'_>, thoughts: &[Thought], thought: &Thought, said: &Range<usize>) -> bool {
    static AHEAD: Words = Words::new(
        "still tomorrow ordered waiting coming soon later plan planning going yet maybe perhaps \
         probably might could would should shall must may will 'll 'd can if unless until till \
         whether when hope hopefully supposed want wants need needs order promised promises next \
         think wonder never forecast used remains unchanged missing",
    );
    let tokens = &talk.tokens[said.clone()];
    if tokens.iter().any(|t| t.asked || AHEAD.has(t)) || is_half_done(talk, said) {
        return false;
    }
    let passes = cue_in(talk, said);
    if matches!(passes, Some(Outcome::Fail | Outcome::Partial | Outcome::Unclear)) {
        return false;
    }
    let denied = tokens.iter().any(|t| GRAMMAR.denials.has(t) || t.is_any(words!["no", "nothing", "none"]));
    if denied && passes != Some(Outcome::Pass) {
        return false;
    }
    let asks = said
        .clone()
        .any(|i| WORDS.task.at(&talk.tokens, i).is_some() || WORDS.unproven.at(&talk.tokens, i).is_some());
    let head = thought.tokens.start;
    let orders = talk.tokens[head].gap >= Gap::Clause && WORDS.task_heads.at(&talk.tokens, head).is_some();
    let wrong = passes.is_none() && !faults(talk, thoughts, std::slice::from_ref(said), None).is_empty();
    !asks && !orders && !wrong
}
