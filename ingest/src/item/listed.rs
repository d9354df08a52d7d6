//! Lists of jobs: which entries stand under a title or in a line that makes jobs of them, and the things that one names.

use std::ops::Range;

use super::words::WORDS;
use crate::found::{Outcome, UtteranceKind};
use crate::grammar::GRAMMAR;
use crate::talk::Talk;
use crate::token::{Gap, Kind};
use crate::topic::Thought;
use crate::trial::cue_in;
use crate::word::WordList;

/// Words of a title over what was not done.
pub(crate) const PUT_OFF: &WordList = words!["postponed", "deferred", "skipped"];

/// Whether a thought is a title over jobs: "Jobs", "To do", "Still outstanding", "Not done yet", "Before we go".
fn names_jobs(talk: &Talk<'_>, thought: &Thought) -> bool {
    const JOBS: &WordList = words![
        "jobs",
        "todo",
        "snags",
        "shopping",
        "actions",
        "outstanding",
        "remaining",
        "chandlery",
        "worklist",
        "defects",
        "niggles",
    ];
    // What stands behind each of these words makes a title of them.
    const PAIRS: &[(&str, &WordList)] = &[
        ("to", words!["do", "buy", "fix", "get", "sort", "order", "replace"]),
        ("still", words!["open", "outstanding", "left", "wanted", "needed", "owed", "not", "missing"]),
        ("left", words!["to", "over"]),
        ("not", words!["done", "finished", "bought", "fixed", "got"]),
        ("put", words!["off"]),
        ("must", words!["do", "buy", "fix", "be", "get"]),
        ("before", words!["we", "i", "departure", "departing", "leaving", "sailing"]),
    ];
    let tokens = &talk.tokens[thought.tokens.clone()];
    let paired = |i: usize| {
        PAIRS.iter().any(|(first, second)| {
            tokens[i].is(first)
                && talk.tokens.get(thought.tokens.start + i + 1).is_some_and(|n| n.is_any(second))
        })
    };
    let lone = tokens.len() == 1
        && tokens[0].is_any(words![
            "buy", "get", "order", "replace", "fix", "repair", "need", "needs", "needed", "wanted", "next",
            "missing", "left",
        ]);
    lone || (0..tokens.len().min(4)).any(|i| tokens[i].is_any(JOBS) || tokens[i].is_any(PUT_OFF) || paired(i))
}

/// Whether a colon stands right behind a thought, and whether it ends its line there.
fn colon_behind(talk: &Talk<'_>, thought: &Thought) -> Option<bool> {
    let from = talk.tokens[thought.tokens.end - 1].span.end;
    let to = talk.tokens.get(thought.tokens.end).map_or(talk.text.len(), |t| t.span.start);
    let between = talk.text.get(from..to)?;
    between.trim_start().starts_with(':').then(|| between.contains('\n'))
}

/// Whether a thought stands right behind a title over jobs in its line: "Still to do: heads pump, strainer".
pub(super) fn leads_a_list(talk: &Talk<'_>, thoughts: &[Thought], index: usize) -> bool {
    let first = &talk.tokens[thoughts[index].tokens.start];
    let title = index.checked_sub(1).map(|i| &thoughts[i]);
    let opens = |t: &Thought| talk.tokens[t.tokens.start].gap >= Gap::Sentence;
    first.gap == Gap::Clause && title.is_some_and(|t| opens(t) && t.tokens.len() <= 4 && names_jobs(talk, t))
}

/// What makes entries jobs, as one goes down a note.
#[derive(Default)]
struct Listing {
    heading: Heading,
    /// The block whose line began with a word for jobs: "JOBS: grease stern gland. Spare impeller."
    line: Option<Line>,
    /// "To do:" on a line of its own, the items below it.
    below: bool,
}

/// What the heading over a list says of it.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum Heading {
    /// Nothing of jobs.
    #[default]
    Other,
    /// "Jobs", "To do".
    Jobs,
    /// "Not done", "Next": what a day had no time for or what is to come, the trombone too, so that only what names gear is a
    /// job.
    NotDone,
}

/// A line that begins with a word for jobs.
#[derive(Clone, Copy)]
struct Line {
    block: usize,
    /// The thought right behind the title.
    from: usize,
    /// The title is a sentence by itself, as it is said: what names no gear behind it is hardly a job.
    said: bool,
    /// "Remaining: hand flares, regulator. Kettle bought": what is left is told in one sentence.
    one_sentence: bool,
}

/// Which thoughts stand as entries under a heading or a word that makes them jobs: "Jobs", "To do", "JOBS: …".
pub(super) fn listed(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<bool> {
    let mut out = vec![false; thoughts.len()];
    let mut listing = Listing::default();
    for (index, thought) in thoughts.iter().enumerate() {
        let first = &talk.tokens[thought.tokens.start];
        // The "1." of an item is a sentence by itself.
        let begins = (0..thought.tokens.start)
            .rev()
            .take_while(|&i| talk.tokens[i].utterance == first.utterance)
            .all(|i| talk.tokens[i].kind != Kind::Word);
        let kind = talk.utterances[first.utterance].kind;
        let names_jobs = names_jobs(talk, thought);
        if kind == UtteranceKind::Heading {
            listing.heading = match (names_jobs, first.is("not") || first.is_any(PUT_OFF)) {
                (false, _) => Heading::Other,
                (true, false) if first.is("next") => Heading::NotDone,
                (true, false) => Heading::Jobs,
                (true, true) => Heading::NotDone,
            };
            listing.below = false;
            continue;
        }
        let colon = colon_behind(talk, thought);
        // "Deck: …" on a line of its own ends what stood under "Shopping: …".
        let label = thought.tokens.len() <= 3 && colon == Some(false) && new_line(talk, thought.tokens.start);
        let ended = listing.line.is_some_and(|l| l.one_sentence && l.from < index)
            && first.gap >= Gap::Sentence
            && !is_bare(talk, thought);
        if first.gap == Gap::Block || label || ended {
            listing.line = None;
        }
        if let Some(done) = talk.ticked(thought.tokens.start) {
            out[index] = !done && begins;
            continue;
        }
        if talk.is_accepted(thought.tokens.start) {
            continue;
        }
        let short = thought.tokens.len() <= if colon == Some(true) { 6 } else { 4 };
        let label = talk.labels_a_list(first.utterance) && begins;
        // "Shopping. Two tins of paint, and a gas hose.", "What's outstanding. Bilge pump. Starboard cap."
        let alone = thought.tokens.len() <= 3
            && talk.tokens[thought.tokens.clone()].iter().all(|t| {
                t.is_any(words![
                    "shopping",
                    "jobs",
                    "chandlery",
                    "snags",
                    "niggles",
                    "outstanding",
                    "what",
                    "'s",
                    "is",
                    "still",
                    "then",
                    "so",
                    "to",
                    "do",
                ])
            })
            && names_jobs
            && talk.tokens.get(thought.tokens.end).is_some_and(|t| t.gap == Gap::Sentence);
        let title = names_jobs && first.gap >= Gap::Sentence && short && (colon.is_some() || label || alone);
        let row = talk.is_row(first.utterance);
        listing.below &= title || talk.is_item(first.utterance) || row || !begins;
        let headed = match listing.heading {
            Heading::Other => false,
            Heading::Jobs => true,
            Heading::NotDone => !thought.mentions.is_empty(),
        };
        out[index] = !title
            && (listing.below && begins
                || listing
                    .line
                    .is_some_and(|l| l.block == thought.block && !(l.said && thought.mentions.is_empty())))
            || headed && talk.is_item(first.utterance) && first.gap == Gap::Block
            || is_said_to_be_one(talk, thought);
        if row {
            out[index] = (headed || listing.below) && begins && is_left(talk, first.utterance);
        }
        if title {
            let one_sentence = talk.tokens[thought.tokens.clone()].iter().any(|t| {
                t.is_any(words![
                    "remaining",
                    "owed",
                    "not",
                    "buy",
                    "get",
                    "order",
                    "before",
                    "needed",
                    "wanted"
                ])
            });
            let one_sentence = one_sentence || alone;
            listing.line = Some(Line { block: thought.block, from: index + 1, one_sentence, said: alone });
            listing.below = label || colon == Some(true);
        }
    }
    out
}

/// The parts of an entry that names several things and says nothing more of them, "heads pump, strainer, fuel filter", each
/// with its mention. A part that names none is passed over, where others do.
pub(super) fn named_apart(talk: &Talk<'_>, thought: &Thought) -> Vec<(Range<usize>, usize)> {
    const LONGEST: usize = 6;
    let tokens = &talk.tokens;
    let mut out = Vec::new();
    let mut unnamed = 0;
    let mut start = thought.tokens.start;
    for at in start + 1..=thought.tokens.end {
        let parts = at == thought.tokens.end
            || tokens[at].gap == Gap::Comma
            || tokens[at].is_any(words!["and", "&", "+", "plus"]);
        if !parts {
            continue;
        }
        let from = start + usize::from(tokens[start].is_any(words!["and", "&", "+", "plus"]));
        let first = talk.mentions.partition_point(|m| m.tokens.start < from);
        let mention = talk.mentions.get(first).filter(|m| m.tokens.end <= at);
        if at - from > LONGEST {
            return Vec::new();
        }
        if mention.is_some() {
            out.push((from..at, first));
        } else {
            unnamed += 1;
        }
        start = at;
    }
    // "New pin, washer": the one is part of the other's job.
    if unnamed > 0 && out.len() < 3 { Vec::new() } else { out }
}

/// Whether a row of a table of jobs, which is not its head, says nothing of its job being done: "Backup GPS | not bought".
fn is_left(talk: &Talk<'_>, row: usize) -> bool {
    let tokens = talk.tokens_of(row);
    let done = tokens.clone().any(|at| {
        WORDS.done.at(&talk.tokens, at).is_some()
            && !at.checked_sub(1).is_some_and(|i| GRAMMAR.denials.has(&talk.tokens[i]))
    });
    !talk.is_head_row(row) && !done && cue_in(talk, &tokens) != Some(Outcome::Pass)
}

/// Whether a thought is no more than the name of a thing: "Tallow", "Lamp wick 1 in".
pub(super) fn is_bare(talk: &Talk<'_>, thought: &Thought) -> bool {
    const LONGEST: usize = 4;
    let tokens = &talk.tokens[thought.tokens.clone()];
    let tells = |at: usize| {
        let token = &talk.tokens[at];
        WORDS.done.at(&talk.tokens, at).is_some()
            || GRAMMAR.predicates.has(token)
            || GRAMMAR.participles.has(token)
            || WORDS.task_heads.at(&talk.tokens, at).is_some()
    };
    tokens.len() <= LONGEST && !thought.tokens.clone().any(tells)
}

/// Whether a token begins a line of the note.
fn new_line(talk: &Talk<'_>, at: usize) -> bool {
    let before = at.checked_sub(1).map_or(0, |i| talk.tokens[i].span.end);
    talk.text.get(before..talk.tokens[at].span.start).is_some_and(|gap| gap.contains('\n'))
}

/// Whether a thought is a title over jobs and no job by itself: "To do:", "Still outstanding:".
pub(super) fn is_a_title(talk: &Talk<'_>, thought: &Thought) -> bool {
    const LONGEST: usize = 3;
    talk.tokens[thought.tokens.start].gap >= Gap::Sentence
        && thought.tokens.len() <= LONGEST
        && thought.mentions.is_empty()
        && colon_behind(talk, thought).is_some()
        && names_jobs(talk, thought)
}

/// "To do, new deck plug": a job that is said to be one, in a breath.
fn is_said_to_be_one(talk: &Talk<'_>, thought: &Thought) -> bool {
    const TITLE: usize = 2;
    let tokens = &talk.tokens[thought.tokens.clone()];
    tokens.len() > TITLE
        && tokens[0].is("to")
        && tokens[1].is("do")
        && tokens[TITLE].gap == Gap::Comma
        && tokens[0].gap >= Gap::Line
}
