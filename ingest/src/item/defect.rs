//! Defects: what a speaker notices to be wrong with gear, without a word on what is to be done: "the gimbals squeak", "deck
//! light out", "a broken batten". Somebody has to see to it, so it is a task, unless the note has it put right already.

use std::ops::Range;

use super::words::{WORDS, item, thought_of};
use crate::fault::{faults, means_otherwise, noticed};
use crate::found::{Closing, Item, Outcome, Trial, UtteranceKind, Why};
use crate::gear::by_name;
use crate::grammar::GRAMMAR;
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::topic::{Thought, name, serves};
use crate::word::WordList;

/// Finds the defects that a note tells of and leaves as they are.
pub fn defects(talk: &Talk<'_>, thoughts: &[Thought], trials: &[Trial], closings: &[Closing]) -> Vec<Item> {
    const LONGEST: usize = 20;
    let mut out: Vec<Item> = Vec::new();
    for cue in noticed(talk) {
        let at = thought_of(thoughts, cue.start);
        let Some(thought) = thoughts.get(at) else { continue };
        if talk.ticked(thought.tokens.start) == Some(true)
            || talk.utterances[talk.tokens[cue.start].utterance].kind == UtteranceKind::Heading
            || !stands(talk, thought, &cue)
        {
            continue;
        }
        // A story that goes on and on tells of what happened.
        if thought.tokens.len() > LONGEST && !thought.terse {
            continue;
        }
        let Some(subject) = of(talk, thought, &cue).or_else(|| headed(talk, thoughts, at, &cue)) else {
            continue;
        };
        // A winch creaks and a chain is rusty, and nobody calls that a matter before departure.
        if serves(&talk.mentions[subject]) && !is_plain(talk, thought, &cue, subject) {
            continue;
        }
        let gear = name(talk, subject);
        if !can_be(&talk.tokens[cue.start], gear) {
            continue;
        }
        // Put right, or found to work, further on.
        let start = talk.span(cue.clone()).start;
        let mended = closings.iter().any(|c| c.gear.as_deref() == Some(gear) && c.span.end > start);
        let passed = trials.iter().any(|t| {
            t.gear == gear
                && t.outcome == Outcome::Pass
                && t.because.first().is_some_and(|r| r.span.start > start)
        });
        if !mended && !passed && !out.iter().any(|i| i.gear.as_deref() == Some(gear)) {
            out.push(item(talk, thoughts, at, cue, Some(subject), Why::Task));
        }
    }
    out
}

/// Whether the words tell of how the gear is now: not of a condition, a wish, another time, or of what has been mended.
fn stands(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 9;
    let tokens = &talk.tokens;
    if tokens[cue.start].asked {
        return false;
    }
    let sentence = talk.sentence_of(cue.start);
    let from = thought.tokens.start.max(sentence.start).max(cue.start.saturating_sub(REACH));
    let before = &tokens[from.min(cue.start)..cue.start];
    let end = thought.tokens.end.min(cue.end + REACH).max(cue.end);
    let behind = &tokens[cue.end..end];
    let supposed =
        |t: &Token<'_>| GRAMMAR.conditions.has(t) && !t.is_any(words!["need", "needs", "want", "wants"]);
    let modal = before.iter().any(|t| {
        t.is_any(words![
            "would", "could", "might", "may", "should", "will", "'ll", "can", "'d", "cannot", "can't"
        ])
    });
    let past = before.iter().chain(behind).any(|t| t.is_any(words!["used", "last", "ago", "yesterday's"]));
    let told = before.iter().any(|t| GRAMMAR.others.has(t));
    let was = before.iter().rev().take(2).any(|t| t.is_any(words!["was", "were", "had", "been"]));
    !before.iter().any(supposed)
        && !modal
        && !past
        && !was
        && !told
        && !mended(talk, cue)
        && !means_otherwise(talk, cue)
}

/// Whether the talk goes on to say that something was done: "the bolt is loose. Tightened it".
fn mended(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    const SOON: usize = 22;
    let tokens = &talk.tokens;
    let end = tokens.len().min(cue.end + SOON);
    let end = (cue.end..end).find(|&i| tokens[i].gap == Gap::Block).unwrap_or(end);
    (cue.end..end).any(|i| {
        let denied = || {
            tokens[i.saturating_sub(3)..i]
                .iter()
                .any(|t| WORDS.not_done.at(std::slice::from_ref(t), 0).is_some())
        };
        WORDS.done.at(tokens, i).is_some() && !denied()
    })
}

/// Whether what words say can be wrong with gear of its kind: a line is neither flat nor noisy.
fn can_be(word: &Token<'_>, gear: &str) -> bool {
    let group = by_name(gear).map_or("", |g| g.group.as_str());
    let noisy = word.lower.starts_with("creak") || word.lower.starts_with("groan");
    match word.lower.as_ref() {
        "flat" => matches!(
            group,
            "power" | "radio" | "overboard" | "signals" | "lights" | "dinghy" | "navigation" | "abandon"
        ),
        // What happened once, of which the trial tells.
        "wrapped" | "wrap" | "jammed" | "dripped" => false,
        // A lifejacket is worn.
        "worn" => !matches!(group, "overboard" | "clothing" | "abandon"),
        _ => !(noisy && matches!(group, "anchor" | "storm")),
    }
}

/// The gear that is faulty: named right in front of the words as what they say it of, or right behind as what they
/// describe.
fn of(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<usize> {
    const NEAR: usize = 4;
    let tokens = &talk.tokens;
    let behind = talk.mentions.partition_point(|m| m.tokens.start < cue.end);
    let described = Some(behind).filter(|m| {
        thought.mentions.contains(m)
            && talk.mentions[*m].tokens.start - cue.end <= 1
            && tokens[cue.end..=talk.mentions[*m].tokens.start].iter().all(|t| t.gap < Gap::Comma)
            && cue.len() == 1
    });
    let in_front = talk.mentions.partition_point(|m| m.tokens.end <= cue.start);
    let said = in_front.checked_sub(1).filter(|m| {
        let end = talk.mentions[*m].tokens.end;
        thought.mentions.contains(m)
            && cue.start - end <= NEAR
            && tokens[end..=cue.start].iter().all(|t| t.gap < Gap::Clause)
            && tokens[end..cue.start].iter().all(|t| {
                GRAMMAR.copulas.has(t)
                    || GRAMMAR.parts.has(t)
                    || t.is_any(words![
                        "keeps",
                        "started",
                        "starts",
                        "got",
                        "very",
                        "quite",
                        "completely",
                        "slightly",
                        "badly",
                        "half",
                        "nearly",
                        "almost",
                        "a",
                        "bit",
                        "rather",
                        "little",
                        "again",
                        "has",
                        "its",
                        "it",
                        "of",
                        "on",
                        "at",
                        "up",
                        "down",
                        "and",
                        "there",
                        "been",
                    ])
            })
    });
    said.or_else(|| where_it_is(talk, thought, cue))
        .or(described)
        .or_else(|| placed(talk, thought, cue))
        .or_else(|| discovered(talk, thought, cue))
}

/// Whether gear is what a sentence begins with, but for an article.
fn begins(talk: &Talk<'_>, thought: &Thought, subject: usize) -> bool {
    let head = thought.tokens.start;
    let article = usize::from(GRAMMAR.determiners.has(&talk.tokens[head]));
    talk.mentions[subject].tokens.start <= head + article
}

/// Whether what is wrong is a matter, though the gear serves others or is of many kinds: a sentence begins with gear of a
/// kind ("the hatch over the bunk still drips"), what serves others is broken ("the lee cloth gave way"), or a part of it
/// is, or is loose ("play in the rudder bearing").
fn is_plain(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, subject: usize) -> bool {
    let mention = &talk.mentions[subject];
    let named = &mention.tokens;
    let head = &talk.tokens[thought.tokens.start];
    let leads = begins(talk, thought, subject);
    let faults = faults(talk, &[], std::slice::from_ref(cue), None);
    let has = |fault| faults.contains(&fault);
    let of_a_kind = leads
        && mention.generic
        && mention.gear().is_some_and(|gear| !gear.prop)
        && head.gap >= Gap::Clause
        // "Pump whines", as it always has.
        && !has("makes a noise");
    let part = |within: Range<usize>| talk.tokens[within].iter().any(|t| GRAMMAR.parts.has(t));
    // "The lower pin's bent" tells which pin.
    let which =
        named.len() == 1 && talk.tokens[named.start].is_any(words!["lower", "upper", "inner", "outer"]);
    let of_a_part = !which && (part(named.clone()) || part(named.end..cue.start.max(named.end)));
    let own = !head.is_any(words!["his", "her", "their", "your"]);
    let whole = leads && own && named.end <= cue.start;
    of_a_kind || has("broken") && (whole || of_a_part) || has("loose") && of_a_part
}

/// "Lee cloth on the port berth gave way", "hatch over the bunk still drips": the gear with which a sentence begins, with
/// where it is.
fn where_it_is(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<usize> {
    /// Most tokens that say where.
    const LONGEST: usize = 5;
    let tokens = &talk.tokens;
    let m = thought.mentions.clone().next()?;
    let mention = &talk.mentions[m].tokens;
    let place = tokens.get(mention.end).is_some_and(|t| {
        t.gap < Gap::Comma && t.is_any(words!["on", "in", "at", "over", "under", "by", "behind", "above"])
    });
    let between = mention.end..cue.start.max(mention.end);
    // Where it is has no verb.
    const VERBS: &WordList = words![
        "is", "'s", "was", "are", "were", "has", "have", "had", "and", "but", "that", "which", "when", "i",
        "we", "it", "he", "she", "they",
    ];
    let plain = |t: &Token<'_>| t.gap < Gap::Comma && !GRAMMAR.modals.has(t) && !t.is_any(VERBS);
    let told = mention.end < cue.start && place && between.len() <= LONGEST;
    (told && begins(talk, thought, m) && tokens[between.start..=cue.start].iter().all(plain)).then_some(m)
}

/// "Port runner. The lever won't stay shut": a part of what a short sentence in front has named by itself.
fn headed(talk: &Talk<'_>, thoughts: &[Thought], at: usize, cue: &Range<usize>) -> Option<usize> {
    /// Most words of a sentence that only names gear, and of what stands between a part and its fault.
    const SHORT: usize = 4;
    let thought = &thoughts[at];
    let head = thoughts.get(at.checked_sub(1)?).filter(|head| head.block == thought.block)?;
    let first = thought.tokens.start;
    let part = first + usize::from(GRAMMAR.determiners.has(&talk.tokens[first]));
    let of_a_part = talk.tokens.get(part).is_some_and(|t| GRAMMAR.parts.has(t))
        && cue.start.saturating_sub(part) <= SHORT;
    let lone = head.tokens.len() <= SHORT && head.mentions.len() == 1;
    (lone && of_a_part && thought.mentions.is_empty()).then_some(head.mentions.start)
}

/// "A broken strand at the lower end of the forestay", "chafe on the topping lift": the gear that has the fault, named as
/// its place.
fn placed(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<usize> {
    /// As far behind as its place may be named, in tokens.
    const REACH: usize = 8;
    let tokens = &talk.tokens;
    let next = tokens.get(cue.end).filter(|t| t.gap <= Gap::Line)?;
    // "Play in the rudder": the fault's words may end with it.
    let place = |t: &Token<'_>| {
        t.is_any(words![
            "in", "on", "at", "of", "under", "round", "around", "near", "through", "along", "inside"
        ])
    };
    let places = place(next) || cue.len() > 1 && place(&tokens[cue.end - 1]);
    let behind = talk.mentions.partition_point(|m| m.tokens.start < cue.end);
    let mention = talk.mentions.get(behind).filter(|_| thought.mentions.contains(&behind))?;
    let joined = mention.tokens.start - cue.end <= REACH
        && tokens[cue.end..=mention.tokens.start].iter().all(|t| t.gap < Gap::Comma);
    (places && joined && names_a_fault(talk, cue)).then_some(behind)
}

/// "He found a crack of three millimetres": what was looked at is what the talk is of.
fn discovered(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<usize> {
    const REACH: usize = 4;
    let found = talk.tokens[cue.start.saturating_sub(REACH).max(thought.tokens.start)..cue.start]
        .iter()
        .any(|t| t.is_any(words!["found", "finds", "spotted", "noticed", "discovered"]));
    (found && names_a_fault(talk, cue)).then(|| thought.subject(talk, cue)).flatten()
}

/// Whether the words name a fault as a thing: "a crack", "two broken strands", "chafe".
fn names_a_fault(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let before =
        cue.start.checked_sub(1).map(|i| &talk.tokens[i]).filter(|_| talk.tokens[cue.start].gap <= Gap::Line);
    let several = before.is_some_and(crate::number::is_number_word);
    let named = talk.tokens[cue.clone()].iter().any(|t| {
        t.is_any(words![
            "crack",
            "cracks",
            "chafe",
            "strand",
            "strands",
            "split",
            "splits",
            "corrosion",
            "rust",
            "tear",
            "leak",
            "drip",
            "weep",
            "play",
            "kink",
        ])
    });
    let bare = talk.tokens[cue.start].gap >= Gap::Sentence;
    named
        && (several
            || bare
            || before.is_some_and(|t| {
                GRAMMAR.determiners.has(t)
                    || t.is_any(words!["'s", "is", "found", "some", "bad", "small", "slight"])
            }))
}
