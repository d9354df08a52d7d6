//! Trials that a question and its answer tell of together: "Did the windlass work? It did." "Any leaks at the forehatch?
//! None."

use std::ops::Range;

use super::verdict::{Verdict, Weight};
use crate::found::Outcome;
use crate::lexicon::Words;
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::topic::{Thought, serves};

/// What gear is asked to do.
static DOES: Words = Words::new(
    "work works working run running start starts light hold holds turn steer steers pump pumps charge charging fit fire \
     go come set seal pass luck joy",
);
/// What it is hoped not to do.
static DOES_NOT: Words = Words::new(
    "leak leaks leaking drip drips jam jams stick slip slips drag trip trips fail trouble problem problems fault faults \
     stop quit",
);
static YES: Words = Words::new("yes yep yeah yup aye did does was is sure absolutely course perfectly");
static NO: Words = Words::new("no nope nah none nothing never not didn't doesn't wasn't isn't didnt doesnt");

/// The verdicts that answers are.
pub(super) fn answers(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Verdict> {
    let pairs = thoughts.windows(2).enumerate().filter(|(_, pair)| pair[1].answers);
    pairs.filter_map(|(at, pair)| answer(talk, &pair[0], &pair[1], at + 1)).collect()
}

fn answer(talk: &Talk<'_>, asks: &Thought, tells: &Thought, at: usize) -> Option<Verdict> {
    let tokens = &talk.tokens;
    let asked = &tokens[asks.tokens.clone()];
    // "Will it hold?", "should we try the windlass?" ask of what is not yet.
    let ahead =
        asked.iter().any(|t| t.is_any(words!["will", "would", "should", "could", "shall", "can", "if"]));
    let hoped = asked.iter().any(|t| DOES.has(t));
    let feared = asked.iter().any(|t| DOES_NOT.has(t));
    let subject =
        asks.mentions.clone().find(|&m| !serves(&talk.mentions[m])).or(asks.mentions.clone().next())?;
    let said = word(tokens, &tells.tokens)?;
    if ahead || hoped == feared {
        return None;
    }
    let outcome = if NO.has(&tokens[said.end - 1]) == feared { Outcome::Pass } else { Outcome::Fail };
    Some(Verdict { outcome, weight: Weight::Said, cue: said, thought: at, subject })
}

/// Whether a word says yes or no.
pub(super) fn is_word(token: &Token<'_>) -> bool {
    YES.has(token) || NO.has(token)
}

/// The first words of an answer that say yes or no: "yes", "it did", "not a drop".
fn word(tokens: &[Token<'_>], answer: &Range<usize>) -> Option<Range<usize>> {
    const REACH: usize = 3;
    let first = answer.start;
    let person = tokens[first].is_any(words!["it", "they", "she", "he", "oh", "well", "of", "um"]);
    let end = answer.end.min(first + REACH);
    (first..end)
        .take_while(|&i| i == first || person && i == first + 1 && tokens[i].gap < Gap::Sentence)
        .find(|&i| is_word(&tokens[i]))
        .map(|i| first..i + 1)
}
