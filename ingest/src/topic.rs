//! Topics: which gear a stretch of talk is about, so that "it", "that's a fail" and "half a tick" find their gear.
//!
//! Talk is cut into thoughts: sentences where there is punctuation; cues and their halves, parted by the words that
//! people begin a new thought with, where there is none. A gear named at the head of a thought ("heater. I lit it…",
//! "okay the anchor") becomes the topic until another takes its place or the block ends; a heading's gear stands
//! in for a list item that names none.

use std::ops::Range;

use crate::found::UtteranceKind;
use crate::gear::Mention;
use crate::talk::Talk;
use crate::token::{Gap, Token};

/// A stretch of tokens that says one thing, with the gear that it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Thought {
    /// Its tokens.
    pub tokens: Range<usize>,
    /// The mentions within it, as indices into [`Talk::mentions`].
    pub mentions: Range<usize>,
    /// The mention that the talk is about when this thought begins, its own left out of account.
    pub topic: Option<usize>,
    /// The mention at its own head, where it has one.
    pub head: Option<usize>,
    /// Index of its block.
    pub block: usize,
    /// Whether the talk of its heading or line makes it a list item, a log line or a table cell.
    pub terse: bool,
}

/// Words that begin a new thought in talk without punctuation.
const OPENERS: &[&str] = &[
    "so", "okay", "ok", "now", "right", "um", "uh", "oh", "alright", "anyway", "anyhow", "but", "then",
    "next", "also", "well", "righto",
];

/// Words that may stand before the gear at the head of a thought.
const FILLERS: &[&str] = &[
    "so",
    "okay",
    "ok",
    "now",
    "right",
    "um",
    "uh",
    "oh",
    "alright",
    "anyway",
    "anyhow",
    "but",
    "then",
    "next",
    "also",
    "well",
    "righto",
    "and",
    "the",
    "a",
    "an",
    "my",
    "our",
    "this",
    "that",
    "'s",
    "is",
    "are",
    "old",
    "new",
    "big",
    "little",
    "other",
    "first",
    "second",
    "third",
    "one",
    "two",
    "three",
    "was",
    "what",
    "about",
    "as",
    "for",
    "on",
    "to",
    "where",
    "i",
    "know",
    "job",
    "number",
    "part",
    "all",
    "both",
    "poor",
    "good",
    "news",
    "bad",
    "better",
    "last",
    "thing",
    "easy",
    "up",
    "here",
    "there",
    "of",
    "course",
    "same",
    "with",
    "like",
    "yeah",
    "no",
    "yes",
    "port",
    "starboard",
    "electric",
    "clever",
    "you",
    "'ll",
    "remember",
    "ah",
    "er",
    "hmm",
    "today",
    "which",
    "reminds",
    "me",
    "tried",
    "tested",
    "did",
    "checked",
    "rigged",
    "else",
    "let",
    "see",
    "test",
    "trial",
    "still",
    "another",
    "take",
    "again",
];

/// Cuts a note into thoughts, covering all tokens, and finds the topic of each.
pub fn thoughts(talk: &Talk<'_>) -> Vec<Thought> {
    let mut out: Vec<Thought> = Vec::new();
    let mut next_mention = 0;
    let mut topic: Option<usize> = None;
    let mut heading: Option<usize> = None;
    let mut block = 0;
    for tokens in cut(talk) {
        let first = &talk.tokens[tokens.start];
        let kind = talk.utterances[first.utterance].kind;
        if first.gap == Gap::Block {
            block += usize::from(!out.is_empty());
            if kind == UtteranceKind::Heading {
                heading = None;
            }
            topic = heading;
        }
        let start = next_mention;
        while talk.mentions.get(next_mention).is_some_and(|m| m.tokens.start < tokens.end) {
            next_mention += 1;
        }
        let mentions = start..next_mention;
        let head = head(talk, &tokens, mentions.clone());
        let terse =
            matches!(kind, UtteranceKind::LogLine | UtteranceKind::ListItem | UtteranceKind::TableRow);
        out.push(Thought { tokens, mentions: mentions.clone(), topic, head, block, terse });
        if kind == UtteranceKind::Heading {
            heading = mentions.clone().next().or(heading);
        }
        // Gear at the head of a thought takes over; gear in passing does so only where there is no topic yet.
        let settled = topic.is_some_and(|t| topic != heading || !serves(&talk.mentions[t]));
        topic =
            head.or_else(|| if settled { None } else { first_particular(talk, mentions.clone()) }).or(topic);
    }
    out
}

/// Whether a mention is of a thing that serves others, or of many kinds.
fn serves(mention: &Mention) -> bool {
    mention.generic || mention.gear().is_some_and(|g| g.prop)
}

fn first_particular(talk: &Talk<'_>, mut mentions: Range<usize>) -> Option<usize> {
    mentions.clone().find(|&m| !serves(&talk.mentions[m])).or_else(|| mentions.next())
}

/// The mention at the head of a thought: only fillers stand before it.
fn head(talk: &Talk<'_>, tokens: &Range<usize>, mentions: Range<usize>) -> Option<usize> {
    let first = mentions.clone().next()?;
    let before = &talk.tokens[tokens.start..talk.mentions[first].tokens.start];
    if before.iter().any(|t| !FILLERS.contains(&t.lower.as_ref())) {
        return None;
    }
    // "the electric bilge pump" may be named twice in a row, the particular name second.
    let second = first + 1;
    let close = mentions.contains(&second)
        && talk.mentions[second].tokens.start <= talk.mentions[first].tokens.end + 2;
    Some(if close && talk.mentions[first].generic && !talk.mentions[second].generic { second } else { first })
}

/// Cuts tokens at ends of sentences, at pauses, and at words that begin a new thought.
fn cut(talk: &Talk<'_>) -> Vec<Range<usize>> {
    let tokens = &talk.tokens;
    let mut out = Vec::new();
    let mut start = 0;
    for at in 1..=tokens.len() {
        if at == tokens.len() || begins(talk, start, at) {
            out.push(start..at);
            start = at;
        }
    }
    if tokens.is_empty() { Vec::new() } else { out }
}

fn begins(talk: &Talk<'_>, start: usize, at: usize) -> bool {
    let tokens = &talk.tokens;
    let token = &tokens[at];
    match token.gap {
        Gap::Block | Gap::Sentence | Gap::Clause => true,
        // Openers in a row ("okay so now") begin one thought.
        Gap::Line => (OPENERS.contains(&token.lower.as_ref()) && at - start > 1) || brings_up(talk, at),
        Gap::Comma | Gap::Space => {
            token.is_any(&["so", "but"])
                && at - start > 2
                && !tokens.get(at + 1).is_some_and(|t| {
                    t.is_any(&["far", "much", "many", "long", "that", "good", "there"])
                        && t.gap < Gap::Comma
                        && !t.is("that")
                })
        }
        Gap::Glued | Gap::Hyphen => false,
    }
}

/// Prepositions: gear behind one is where or with what something happened, not what it happened to.
const PREPOSITIONS: &[&str] = &[
    "in",
    "on",
    "at",
    "from",
    "of",
    "under",
    "by",
    "off",
    "into",
    "onto",
    "through",
    "with",
    "without",
    "against",
    "over",
    "round",
    "around",
    "behind",
    "near",
    "inside",
    "beside",
    "to",
    "up",
    "down",
    "like",
    "across",
    "underneath",
    "along",
    "between",
];

/// Words that may stand between gear and its verdict: "the heater's a fail", "so jackstays and harness that's a pass".
const COPULAS: &[&str] = &[
    "is",
    "'s",
    "was",
    "are",
    "were",
    "a",
    "an",
    "the",
    "that",
    "so",
    "be",
    "really",
    "all",
    "just",
    "too",
    "now",
    "again",
    "today",
    "it",
    "still",
    "also",
    "looks",
    "seems",
    "gets",
    "then",
    "definitely",
    "been",
    "has",
    "have",
    "had",
    "anyway",
    "job",
    "downwind",
    "upwind",
    "part",
    "bit",
];

/// Whether a line brings gear up: it holds little else ("second reef"), or goes on about it in a sentence of its own
/// ("the forehatch I had the whole thing off").
fn brings_up(talk: &Talk<'_>, at: usize) -> bool {
    const LITTLE: usize = 5;
    let tokens = &talk.tokens;
    let first = talk.mentions.partition_point(|m| m.tokens.start < at);
    let Some(mention) = talk.mentions.get(first) else { return false };
    if mention.generic && mention.tokens.start > at + 1 || mention.tokens.start > at + LITTLE {
        return false;
    }
    let before = &tokens[at..mention.tokens.start];
    if !before.iter().all(|t| FILLERS.contains(&t.lower.as_ref()))
        || before.iter().skip(1).any(|t| t.gap >= Gap::Line)
    {
        return false;
    }
    let next = tokens.get(mention.tokens.end);
    let alone = next.is_none_or(|t| t.gap >= Gap::Line) && mention.tokens.end - at <= LITTLE;
    let preposition =
        before.iter().any(|t| t.is_any(&["with", "on", "to", "for", "up", "about", "was", "is"]));
    !preposition && (alone || next.is_some_and(|t| t.is_any(&["i", "we", "i've"])))
}

impl Thought {
    /// The mention that words at these tokens are about: the likeliest by where it stands.
    ///
    /// Gear bound to the words by no more than a verb ("the heater's a fail"), named behind them ("a tick for the
    /// tether"), standing near in front, at the head of the thought, or else the topic of the talk; gear behind a
    /// preposition and gear that serves other gear come last.
    pub fn subject(&self, talk: &Talk<'_>, cue: &Range<usize>) -> Option<usize> {
        let mut best: Option<(f64, usize)> = None;
        let topic = self.topic.filter(|t| !self.mentions.contains(t));
        // Gear named lately in passing may be what is talked about by now.
        const LATELY: usize = 60;
        let first = self.mentions.start;
        let lately = (0..first)
            .rev()
            .take_while(|&m| talk.mentions[m].tokens.end + LATELY > cue.start)
            .filter(|m| Some(*m) != topic && self.same_block(talk, talk.mentions[*m].tokens.start));
        for m in self.mentions.clone().chain(topic).chain(lately) {
            let Some(score) = self.likelihood(talk, cue, m) else { continue };
            if best.is_none_or(|(s, _)| score > s) {
                best = Some((score, m));
            }
        }
        best.filter(|(score, _)| *score > 0.0).map(|(_, m)| m)
    }

    /// Whether a token stands in the same block as this thought.
    fn same_block(&self, talk: &Talk<'_>, token: usize) -> bool {
        talk.tokens[token + 1..self.tokens.start + 1].iter().all(|t| t.gap < Gap::Block)
    }

    fn likelihood(&self, talk: &Talk<'_>, cue: &Range<usize>, m: usize) -> Option<f64> {
        const BEHIND: usize = 5;
        let mention = &talk.mentions[m];
        let (start, end) = (mention.tokens.start, mention.tokens.end);
        let tokens = &talk.tokens;
        let penalty = |holds: bool, by: f64| if holds { by } else { 0.0 };
        // "the sounder says", "I must rig a preventer": an instrument quoted, gear that is wished for.
        let quoted =
            tokens.get(end).is_some_and(|t| t.is_any(&["says", "said", "saying"]) && t.gap <= Gap::Line);
        let wished = tokens[start.saturating_sub(4)..start]
            .iter()
            .any(|t| t.is_any(&["must", "need", "needs", "want", "wants", "buy", "get"]));
        let vague = penalty(mention.generic, 1.5)
            + penalty(mention.gear().is_some_and(|g| g.prop), 4.0)
            + penalty(quoted || (wished && start < cue.start), 2.5);
        if start >= cue.end {
            let between = &tokens[cue.end..start];
            let parted = tokens[cue.end..=start].iter().map(|t| t.gap).max().unwrap_or(Gap::Space);
            if start > cue.end + BEHIND || parted >= Gap::Clause {
                return None;
            }
            let for_it = between
                .iter()
                .any(|t| t.is_any(&["for", "on", "with", "by", "to", "about", "against", "is", "'s", "was"]));
            if !for_it && parted >= Gap::Line {
                return None;
            }
            return Some(
                if for_it {
                    8.5
                } else if between.len() <= 1 {
                    5.5
                } else {
                    2.5
                } - vague,
            );
        }
        if start >= cue.start {
            // Named within the words themselves: "that's the second reef sorted".
            return Some(12.0);
        }
        let gap = cue.start.saturating_sub(end) as f64;
        let bound = tokens[end.min(cue.start)..cue.start]
            .iter()
            .all(|t| COPULAS.contains(&t.lower.as_ref()) && t.gap < Gap::Sentence);
        if bound && self.mentions.contains(&m) {
            return Some(12.0 - gap / 10.0);
        }
        let prepositional = prepositional(tokens, start);
        if self.topic == Some(m) && !self.mentions.contains(&m) {
            return Some(5.0 - (gap / 24.0).min(3.4) - vague);
        }
        if !self.mentions.contains(&m) {
            return Some(4.2 - gap / 35.0 - vague - penalty(prepositional, 1.2));
        }
        let same_line = !tokens[end.min(cue.start)..=cue.start].iter().any(|t| t.gap >= Gap::Line);
        let near = if same_line { 7.5 } else { 6.0 } - gap / 10.0;
        let head = if self.head == Some(m) { 7.0 - gap / 20.0 } else { f64::MIN };
        Some(near.max(head) - vague - penalty(prepositional && self.head != Some(m), 4.5))
    }
}

/// Whether the mention that starts at `at` stands behind a preposition.
fn prepositional(tokens: &[Token<'_>], at: usize) -> bool {
    const SKIPPED: &[&str] = &[
        "the", "a", "an", "my", "our", "its", "his", "her", "new", "old", "big", "little", "that", "this",
        "spare", "one", "two",
    ];
    let mut i = at;
    while i > 0 && tokens[i].gap < Gap::Clause {
        i -= 1;
        if PREPOSITIONS.contains(&tokens[i].lower.as_ref()) {
            return true;
        }
        if !SKIPPED.contains(&tokens[i].lower.as_ref()) {
            return false;
        }
    }
    false
}

/// The two things that "both" at these tokens means: the last two named in its block, where they differ.
pub fn both(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<[usize; 2]> {
    let from = cue.start.saturating_sub(4).max(thought.tokens.start);
    if !talk.tokens[from..cue.end].iter().any(|t| t.is("both")) {
        return None;
    }
    let mut last = (0..talk.mentions.len())
        .rev()
        .filter(|&m| talk.mentions[m].tokens.end <= cue.start && !serves(&talk.mentions[m]))
        .take_while(|&m| thought.same_block(talk, talk.mentions[m].tokens.start));
    let second = last.next()?;
    let first = last.find(|&m| talk.mentions[m].name != talk.mentions[second].name)?;
    Some([first, second])
}

/// The gear that a mention names.
pub fn name<'t>(talk: &'t Talk<'_>, mention: usize) -> &'t str {
    let Mention { name, .. } = &talk.mentions[mention];
    name
}
