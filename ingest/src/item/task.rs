//! Tasks: what the speaker says must or should be done, bought, fixed, asked or looked into.

use std::ops::Range;

use super::listed::{is_a_title, is_bare, named_apart};
use super::words::{WORDS, item};
use crate::found::{Item, UtteranceKind, Why};
use crate::grammar::GRAMMAR;
use crate::talk::Talk;
use crate::thing;
use crate::token::{Gap, Kind, Token};
use crate::topic::{Thought, serves, shown};
use crate::trial::titled;
use crate::word::WordList;

/// Finds the tasks that a note sets; `listed` tells of each thought whether it stands on a list of jobs.
pub fn tasks(talk: &Talk<'_>, thoughts: &[Thought], listed: &[bool]) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::new();
    for (index, thought) in thoughts.iter().enumerate() {
        if is_a_title(talk, thought) {
            continue;
        }
        if talk.ticked(thought.tokens.start) == Some(true) {
            continue;
        }
        let mut cues = said(talk, thought, listed[index]);
        // "New impeller" on a list of jobs is none that was fitted.
        let done = || {
            thought
                .tokens
                .clone()
                .any(|i| WORDS.done.at(&talk.tokens, i).is_some() && !talk.tokens[i].is("new"))
        };
        let none = || {
            thought
                .tokens
                .clone()
                .all(|i| talk.tokens[i].is_any(words!["nothing", "none", "no", "n", "a", "/"]))
        };
        if cues.is_empty()
            && listed[index]
            && !none()
            && (talk.ticked(thought.tokens.start).is_some() || !done())
        {
            cues.push(thought.tokens.start..thought.tokens.start + 1);
        }
        if listed[index] && cues.len() <= 1 {
            let named = named_apart(talk, thought);
            if named.len() > 1 {
                for (part, m) in named {
                    let mut found = item(talk, thoughts, index, part.clone(), Some(m), Why::Task);
                    (found.span, found.quote) = (talk.span(part.clone()), talk.quote(part));
                    found.about = titled(found.gear.as_deref(), &[], &found.quote);
                    out.push(found);
                }
                continue;
            }
        }
        for cue in cues {
            // "The drawer catch must be changed" is about no gear that was talked of before.
            let other = || passive(talk, thought, &cue).or_else(|| got(talk, thought, &cue));
            let subject =
                object(talk, thought, &cue).filter(|&m| thought.mentions.contains(&m) || other().is_none());
            let subject = subject.or_else(|| spoken_of(talk, thoughts, index, &cue));
            // "New belt to go on": what is new is named there, or has no name.
            let new = talk.tokens[cue.start].is("new")
                && cue.len() > 1
                && !talk.tokens[cue.start + 1].is_any(words!["one", "ones"]);
            let subject = subject.filter(|&m| !new || cue.contains(&talk.mentions[m].tokens.start));
            // Each box of a list is about a thing of its own.
            let boxed = talk.ticked(thought.tokens.start).is_some();
            let own = boxed || listed[index] && is_bare(talk, thought);
            let of_it = || thought.tokens.clone().any(|i| talk.tokens[i].is_any(words!["it", "them"]));
            let headed = |m: &usize| {
                let over = &talk.headings()[talk.tokens[thought.tokens.start].utterance];
                over.as_ref().is_some_and(|over| over.contains(&talk.mentions[*m].tokens.start)) && of_it()
            };
            let subject = subject.filter(|m| !own || thought.mentions.contains(m) || headed(m));
            // Without gear or a thing of another name, only words that stand on a list are taken for a task.
            if subject.is_none() && listed[index] && is_victuals(talk, thought) {
                continue;
            }
            let something = || {
                other().or_else(|| thing(talk, thought, &cue)).is_some() || is_practice(talk, thought, &cue)
            };
            if subject.is_none() && !listed[index] && !something() && !is_errand(talk, thought, &cue) {
                continue;
            }
            let mut found = item(talk, thoughts, index, cue, subject, Why::Task);
            if listed[index] {
                let entry = entry(talk, thoughts, index);
                found.span = talk.span(entry.clone());
                found.quote = talk.quote(entry);
            }
            let again = |other: &Item| {
                other.gear == found.gear
                    && if other.gear.is_some() { near(other, &found) } else { other.span == found.span }
            };
            if !out.iter().any(again) {
                out.push(found);
            }
        }
    }
    out
}

/// Whether an entry of a list names only what is no thing aboard: "bread, onions".
fn is_victuals(talk: &Talk<'_>, thought: &Thought) -> bool {
    let tokens = &talk.tokens[thought.tokens.clone()];
    tokens.iter().all(|t| {
        t.kind != Kind::Word
            || GRAMMAR.not_things.has(t)
            || GRAMMAR.determiners.has(t)
            || t.is_any(words!["and", "buy", "get"])
    })
}

/// The words of an entry of a list: "Satellite phone: take the subscription for three months".
fn entry(talk: &Talk<'_>, thoughts: &[Thought], index: usize) -> Range<usize> {
    const LONGEST: usize = 26;
    let first = &thoughts[index];
    let rest = thoughts[index + 1..].iter().take_while(|t| {
        t.block == first.block
            && t.tokens.end <= first.tokens.start + LONGEST
            && talk.tokens[t.tokens.start].gap < Gap::Sentence
    });
    first.tokens.start..rest.last().map_or(first.tokens.end, |t| t.tokens.end)
}

fn near(a: &Item, b: &Item) -> bool {
    const NEAR: usize = 160;
    b.span.start < a.span.end + NEAR
}

/// The cues of tasks within a thought; those close to the one before go on about the same thing.
fn said(talk: &Talk<'_>, thought: &Thought, listed: bool) -> Vec<Range<usize>> {
    const APART: usize = 10;
    let tokens = &talk.tokens;
    let head = thought.tokens.start;
    // An imperative at the head of a written thought: "Re-bed it", "Ask Tadhg", "Stern gland: order packing".
    let kind = talk.utterances[tokens[head].utterance].kind;
    let written =
        tokens[head].gap >= Gap::Sentence || kind != UtteranceKind::Cue && tokens[head].gap >= Gap::Clause;
    if written
        && kind != UtteranceKind::Heading
        && let Some(m) = WORDS.task_heads.at(tokens, head)
        && m.end <= thought.tokens.end
        && !within_gear(talk, head)
        // "Let it cool. Try again." is told as it happens.
        && !(thought.tokens.len() <= 2 && tokens[head].is("try"))
        && !describes(talk, thought)
        // "Rig: caps 24" names it.
        && !(tokens[head].is("rig")
            && tokens.get(m.end).is_none_or(|t| {
                t.gap >= Gap::Comma || t.is_any(words!["itself", "untouched", "all", "tension", "looks"])
            }))
        // "Charge voltage 14.2 V" names what it was.
        && !(tokens[head].is("charge")
            && tokens.get(m.end).is_some_and(|t| {
                t.gap <= Gap::Line && t.is_any(words!["voltage", "current", "rate", "controller", "time", "state"])
            }))
        && !talk.labels_a_list(tokens[head].utterance)
        // "First try. Check." is a tick.
        && !(thought.tokens.len() == 1 && tokens[head].is("check"))
        && tokens.get(m.end).is_none_or(|t| t.kind != Kind::Number || t.text.len() < 4)
        && tokens.get(m.end).is_none_or(|t| !GRAMMAR.predicates.has(t) && !t.is("of"))
    {
        let first = std::iter::once(m.start..m.end);
        return first.chain(also_ordered(talk, thought, m.end, listed)).collect();
    }
    let mut out: Vec<Range<usize>> = Vec::new();
    let mut at = head;
    while at < thought.tokens.end {
        // "I should like that recorded" asks for nothing to be done.
        let polite = |m: &Range<usize>| {
            tokens[m.start..].windows(3).take(m.len() + 2).any(|w| {
                w[0].is("like")
                    && w[1].is_any(words!["that", "it", "this"])
                    && w[2].is_any(words!["recorded", "noted", "known", "remembered", "minuted"])
            })
        };
        // "Must never see less than 12.2" is a rule.
        let rule = |m: &Range<usize>| {
            tokens[m.start].is("must")
                && (m.start + 1..m.end + 2).filter_map(|i| tokens.get(i)).any(|t| t.is("never"))
        };
        // "Next service due May 2029" is a date, which says itself whether it comes too early.
        let dated = |m: &Range<usize>| {
            tokens[m.end - 1].is("due")
                && (m.end..m.end + 2)
                    .filter_map(|i| tokens.get(i))
                    .any(|t| crate::date::month(&t.lower).is_some())
        };
        let found =
            WORDS.task.at(tokens, at).map(|m| m.start..m.end).filter(|m| !polite(m) && !dated(m) && !rule(m));
        let found = found
            .or_else(|| wants_doing(talk, at))
            .or_else(|| wants_done(talk, thought, at))
            .or_else(|| is_to(talk, thought, at))
            .or_else(|| lacking(talk, at));
        let Some(cue) = found.or_else(|| ordered(talk, thought, at)) else {
            at += 1;
            continue;
        };
        at = cue.end;
        let apart = out.last().is_none_or(|last| cue.start > last.end + APART);
        if cue.end <= thought.tokens.end && apart && obliges(talk, thought, &cue) {
            let further = obliged_too(talk, thought, &cue);
            out.push(cue);
            if let Some(last) = further.last() {
                at = at.max(last.end);
            }
            out.extend(further);
        }
    }
    out
}

/// What the same words oblige to besides: "I must get the batteries looked at, and change the fuel filter". Gear of its own
/// must be named right behind.
fn obliged_too(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Vec<Range<usize>> {
    /// As far behind as it goes on, in tokens.
    const REACH: usize = 40;
    const OBLIGE: &WordList = words!["must", "should", "to", "need", "remember"];
    let tokens = &talk.tokens;
    if !tokens[cue.clone()].iter().any(|t| t.is_any(OBLIGE)) {
        return Vec::new();
    }
    let end = thought.tokens.end.min(cue.end + REACH);
    let named = |range: Range<usize>| {
        let m = talk.mentions.partition_point(|m| m.tokens.start < range.start);
        talk.mentions.get(m).is_some_and(|m| m.tokens.start < range.end)
    };
    let names_gear = |from: usize| {
        let from = from + usize::from(tokens.get(from).is_some_and(|t| GRAMMAR.determiners.has(t)));
        named(from..end.min(from + 2))
    };
    let mut out = Vec::new();
    let mut from = cue.end;
    for at in cue.end + 1..end {
        let joined = tokens[at - 1].is_any(words!["and", "&"]) && tokens[at].gap <= Gap::Line;
        let Some(m) = WORDS.task_heads.at(tokens, at).filter(|m| joined && m.end < end) else { continue };
        if tokens[m.end].gap < Gap::Comma && names_gear(m.end) && named(from..at) {
            out.push(m.start..m.end);
            from = m.end;
        }
    }
    out
}

/// "Strainer: clean. Not weed then", "hose on the forehatch ten minutes", "test button ok": what looks like an order and tells
/// how a thing is, or names one.
fn describes(talk: &Talk<'_>, thought: &Thought) -> bool {
    let tokens = &talk.tokens;
    let head = thought.tokens.start;
    let next = tokens.get(head + 1).filter(|_| thought.tokens.len() > 1);
    let adjective = tokens[head].is_any(words!["clean", "dry", "clear", "free", "open"])
        && tokens[head].gap >= Gap::Comma
        && next.is_none_or(|t| {
            t.gap >= Gap::Comma || GRAMMAR.prepositions.has(t) && !t.is_any(words!["out", "up", "off"])
        });
    let noun = tokens[head].is("hose") && next.is_some_and(|t| t.is_any(words!["on", "in", "from", "at"]))
        || tokens[head].is("test")
            && next.is_some_and(|t| t.is_any(words!["button", "ok", "okay", "good", "fine", "passed"]));
    // "Rig with the gauge": what was looked at.
    let rig = tokens[head].is("rig") && next.is_some_and(|t| GRAMMAR.prepositions.has(t) && !t.is("up"));
    let soap = tokens[head].is("soap") && next.is_some_and(|t| GRAMMAR.prepositions.has(t));
    adjective || noun || rig || soap
}

/// Further orders in a thought that begins with one: "polish the tank, ask about the fuel", "flush & dose it". On a list
/// of jobs whatever stands behind a comma as an order is one.
fn also_ordered(talk: &Talk<'_>, thought: &Thought, from: usize, listed: bool) -> Vec<Range<usize>> {
    let head = |at: usize| {
        let next =
            WORDS.task_heads.at(&talk.tokens, at).filter(|_| listed && talk.tokens[at].gap == Gap::Comma)?;
        (next.end < thought.tokens.end).then_some(next.start..next.end)
    };
    (from..thought.tokens.end).filter_map(|at| ordered(talk, thought, at).or_else(|| head(at))).collect()
}

/// An order within a thought, behind a comma or an "and": "the pin is bent, straighten it". What somebody did or will do is
/// none, and most verbs are nouns too, so that an article, a pronoun or gear must follow.
fn ordered(talk: &Talk<'_>, thought: &Thought, at: usize) -> Option<Range<usize>> {
    const REACH: usize = 12;
    let tokens = &talk.tokens;
    let joined = at > thought.tokens.start
        && (tokens[at].gap == Gap::Comma || tokens[at - 1].is_any(words!["and", "&", "then"]));
    if !joined {
        return None;
    }
    let m = WORDS.orders.at(tokens, at).filter(|m| m.end < thought.tokens.end)?;
    let next = &tokens[m.end];
    let named = || talk.mentions.get(talk.mentions.partition_point(|g| g.tokens.start < m.end));
    let has_object = GRAMMAR.determiners.has(next)
        || next.is_any(words![
            "it", "them", "him", "her", "one", "both", "all", "another", "whether", "if", "for"
        ])
        // "Flat sea, clean hull": how things are, and no order.
        || !tokens[at].is("clean") && named().is_some_and(|g| g.tokens.start == m.end);
    let from = thought.tokens.start.max(at.saturating_sub(REACH));
    let told = tokens[from..at].iter().any(|t| {
        t.is_any(words!["i", "we", "you", "they", "he", "she", "to", "who", "people", "always", "'s"])
            && !t.is("'s")
            || GRAMMAR.modals.has(t)
    });
    (next.gap < Gap::Comma && has_object && !told).then_some(m.start..m.end)
}

/// Words that a thing wants something done: "the zip needs waxing".
fn wants_doing(talk: &Talk<'_>, at: usize) -> Option<Range<usize>> {
    const NO_WORK: &WordList = words![
        "nothing",
        "anything",
        "something",
        "everything",
        "string",
        "being",
        "sailing",
        "going",
        "shooting",
        "hanging",
    ];
    let tokens = &talk.tokens;
    let next = tokens.get(at + 1).filter(|t| t.gap < Gap::Comma)?;
    let wants = tokens[at].is_any(words!["needs", "need", "wants", "want", "needing"]);
    let doing = next.lower.len() > 5 && next.lower.ends_with("ing") && !next.is_any(NO_WORK);
    (wants && doing).then_some(at..at + 2)
}

/// Words that something is wanted done to a thing that they name: "I want storm covers cut", "we need the barrels tied".
fn wants_done(talk: &Talk<'_>, thought: &Thought, at: usize) -> Option<Range<usize>> {
    /// Most words of the thing's name.
    const NAME: usize = 5;
    let tokens = &talk.tokens;
    let wanted = at > thought.tokens.start
        && tokens[at].is_any(words!["want", "wants", "need", "needs"])
        && tokens[at - 1].is_any(words!["i", "we", "it", "she", "he", "they", "still", "also", "that"]);
    if !wanted {
        return None;
    }
    let end = thought.tokens.end.min(at + NAME + 2);
    let done = (at + 2..end)
        .take_while(|&i| {
            tokens[i].gap < Gap::Comma && !tokens[i].is_any(words!["to", "and", "that", "when", "if", "who"])
        })
        .find(|&i| is_participle(&tokens[i]))?;
    let named = tokens[at + 1..done].iter().any(|t| {
        t.kind == Kind::Word && t.lower.len() > 2 && !GRAMMAR.not_things.has(t) && !GRAMMAR.determiners.has(t)
    });
    (named && !GRAMMAR.participles.has(&tokens[at + 1])).then_some(at..at + 1)
}

/// Whether a word is the form of a verb that says what was done to a thing.
fn is_participle(token: &Token<'_>) -> bool {
    token.kind == Kind::Word
        && (GRAMMAR.participles.has(token)
            || token.lower.len() > 3
                && token.lower.ends_with("ed")
                && !token.is_any(words!["need", "indeed", "feed", "seed", "weed", "speed", "reed", "shed"]))
}

/// Words that somebody is to do work, "I've to caulk it", "we are to buy another", "two yet to cut", and such work alone:
/// "To be traced", "To redo".
fn is_to(talk: &Talk<'_>, thought: &Thought, at: usize) -> Option<Range<usize>> {
    let tokens = &talk.tokens;
    if !tokens[at].is("to") || at + 1 >= thought.tokens.end || tokens[at + 1].gap >= Gap::Comma {
        return None;
    }
    let head = thought.tokens.start;
    let work = |at: usize| WORDS.task_heads.at(tokens, at).or_else(|| WORDS.orders.at(tokens, at)).is_some();
    let passive = tokens[at + 1].is("be") && tokens.get(at + 2).is_some_and(is_participle);
    let alone = at == head
        && tokens[head].gap >= Gap::Sentence
        && thought.tokens.len() <= 6
        && !tokens[at..thought.tokens.end].iter().any(|t| t.is_any(words!["is", "was", "were", "'s"]))
        && (passive && at + 3 <= thought.tokens.end || work(at + 1));
    let led = at > head
        && tokens[at].gap < Gap::Comma
        && work(at + 1)
        && (tokens[at - 1].is("yet") && tokens[head..at].iter().any(|t| t.is_any(words!["i", "we"]))
            || at > head + 1
                && tokens[at - 1].is_any(words!["'ve", "have", "am", "are", "got", "still"])
                && tokens[at - 2].is_any(words!["i", "we", "'ve", "have"]));
    let start = if led { at - 1 } else { at };
    (alone || led).then_some(start..at + 1)
}

/// Words that gear is lacking, where it is named right behind them: "I don't have any white flares", "still no spare pump".
fn lacking(talk: &Talk<'_>, at: usize) -> Option<Range<usize>> {
    const REACH: usize = 2;
    let m = WORDS.lacks.at(&talk.tokens, at)?;
    let behind = talk.mentions.get(talk.mentions.partition_point(|g| g.tokens.start < m.end))?;
    let near = behind.tokens.start <= m.end + REACH;
    let between = &talk.tokens[m.end..behind.tokens.start.max(m.end)];
    let other =
        between.iter().any(|t| t.is_any(words!["the", "my", "our", "to", "that", "this", "in", "on"]));
    let parted =
        talk.tokens.get(m.end..=behind.tokens.start).is_some_and(|t| t.iter().any(|t| t.gap >= Gap::Comma));
    (near && !other && !parted).then_some(m.start..m.end)
}

/// Whether a word is part of a name of gear: "Service bank" asks nobody to serve.
fn within_gear(talk: &Talk<'_>, at: usize) -> bool {
    let place = talk.mentions.partition_point(|m| m.tokens.end <= at);
    talk.mentions.get(place).is_some_and(|m| m.tokens.contains(&at) && m.tokens.len() > 1)
}

/// Whether the words oblige the skipper: not a story of someone else, a condition, or a way of speaking.
fn obliges(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let before = &tokens[thought.tokens.start.max(cue.start.saturating_sub(6))..cue.start];
    let near = &before[before.len().saturating_sub(2)..];
    if near.iter().any(|t| GRAMMAR.not_me.has(t)) {
        return false;
    }
    if before.iter().any(|t| t.is_any(words!["if", "unless", "book", "supposed", "when", "whoever"]))
        || near.iter().chain(before.iter().take(4)).any(|t| t.is_any(words!["where"]))
    {
        return false;
    }
    if tokens[cue.start].asked {
        return false;
    }
    // "Last year we had to replace it at sea".
    let sentence =
        &tokens[thought.tokens.start.max(cue.start.saturating_sub(20))..thought.tokens.end.min(cue.end + 12)];
    if sentence.windows(2).any(|w| {
        w[0].is("last")
            && w[1].is_any(words!["year", "season", "summer", "spring", "autumn", "winter", "fall"])
    }) {
        return false;
    }
    // "full of grease where there ought to be none".
    if before.last().is_some_and(|t| t.is("there")) {
        return false;
    }
    // "The stove wants a fiddle rail" is of the stove; "she wants a bath" of nothing aboard.
    if tokens[cue.start].is("wants") && tokens[cue.end - 1].is_any(words!["a", "an"]) && cue.len() == 2 {
        let before = talk.mentions.partition_point(|m| m.tokens.end <= cue.start).checked_sub(1);
        if before.is_none_or(|m| talk.mentions[m].tokens.end != cue.start) {
            return false;
        }
    }
    // "My sister needs a new knee".
    if before.iter().any(|t| GRAMMAR.others.has(t)) {
        return false;
    }
    // "have to say", "should be", "must have been".
    const PASSED_OVER: &WordList =
        words!["just", "really", "also", "still", "probably", "to", "be", "go", "and", "remember", "try"];
    let verb = (cue.end..thought.tokens.end).find(|&i| !tokens[i].is_any(PASSED_OVER));
    // "nine, that's the most it's got to", "the AIS is doing what it should": no verb follows.
    let next = tokens.get(cue.end).filter(|t| t.gap < Gap::Comma && cue.end < thought.tokens.end);
    let wants_verb = tokens[cue.end - 1].is_any(words!["to", "should", "must", "ought"]);
    if wants_verb
        && next.is_none_or(|t| t.is_any(words!["new", "the", "a", "an", "my", "this", "that", "it"]))
    {
        return false;
    }
    // "has to be done" obliges; "ought to be none" does not.
    let participle =
        tokens.get(cue.end + 1).is_some_and(|t| t.lower.ends_with("ed") || GRAMMAR.participles.has(t));
    let passive = next.is_some_and(|t| t.is("be")) && participle;
    // "We have to be at the lock at ten".
    let be_there = next.is_some_and(|t| t.is("be"))
        && tokens
            .get(cue.end + 1)
            .is_some_and(|t| GRAMMAR.prepositions.has(t) || t.is_any(words!["home", "back", "there"]));
    // "So that's back where it should be."
    let be_so = next.is_some_and(|t| t.is("be"))
        && tokens.get(cue.end + 1).is_none_or(|t| t.gap >= Gap::Comma || cue.end + 1 >= thought.tokens.end);
    let talk_only = be_there || be_so || verb.and_then(|v| WORDS.task_talk.at(tokens, v)).is_some();
    !talk_only || passive
}

/// The thing without a name in the lexicon that is to be made, got or seen to: "I must make a new lanyard".
fn thing(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<Range<usize>> {
    const VERBS: usize = 3;
    let tokens = &talk.tokens;
    let end = thought.tokens.end;
    let article = |i: &usize| GRAMMAR.determiners.has(&tokens[*i]) && tokens[*i].gap < Gap::Comma;
    let from = (cue.end..end.min(cue.end + VERBS)).find(article)?;
    thing::at(talk, from, end)
}

/// The thing without a name in the lexicon that is to be got or made new: "I must buy a new lanyard".
fn got(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<Range<usize>> {
    let found = thing(talk, thought, cue)?;
    let verbs = &talk.tokens[cue.start..found.start];
    let gets = verbs.iter().any(|t| t.is_any(words!["buy", "order", "make", "fit", "sew", "find"]));
    let new =
        verbs.last().is_some_and(|t| t.is_any(words!["a", "an", "new", "another", "some", "more", "two"]));
    (gets && new).then_some(found)
}

/// The thing without a name in the lexicon to which something must be done: "the drawer catch must be changed".
fn passive(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<Range<usize>> {
    let tokens = &talk.tokens;
    let passive = tokens.get(cue.end).is_some_and(|t| {
        t.gap < Gap::Comma && (t.is("be") || t.lower.ends_with("ing") || GRAMMAR.participles.has(t))
    });
    let wants = tokens[cue.clone()].iter().any(|t| t.is_any(words!["needs", "need", "wants", "want"]));
    (passive || wants).then(|| thing::in_front(talk, thought, cue)).flatten()
}

/// Whether what must be done is an errand, which has its object in a person or a paper: "I must ring the doctor", "find out
/// whether they want a visa".
fn is_errand(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 2;
    const BEHIND: usize = 3;
    let tokens = &talk.tokens;
    if tokens[cue.clone()].iter().any(|t| t.is("had")) {
        return false;
    }
    let verbs = cue.start..thought.tokens.end.min(cue.end + REACH);
    let out = |i: usize| tokens[i].is("find") && tokens.get(i + 1).is_some_and(|t| t.is("out"));
    let Some(verb) = verbs.into_iter().find(|&i| {
        out(i)
            || tokens[i].is_any(words![
                "ask", "ring", "phone", "call", "email", "write", "speak", "talk", "book", "order", "buy",
                "register", "renew", "pay", "collect", "fetch", "chase", "borrow", "apply",
            ])
    }) else {
        return false;
    };
    let objects = verb + 1..thought.tokens.end.min(verb + 1 + BEHIND);
    let mut objects = objects.take_while(|&i| tokens[i].gap < Gap::Comma).map(|i| &tokens[i]);
    if out(verb) {
        return objects.any(|t| t.is_any(words!["if", "whether", "who", "when", "where"]));
    }
    objects.any(|t| {
        GRAMMAR.determiners.has(t)
            || t.is_any(words!["two", "three", "four", "six", "some", "more", "next", "another"])
            || t.kind == Kind::Word && t.text.starts_with(char::is_uppercase) && !t.is("i")
    })
}

/// Whether what must be done is to be practised: "we need to practise reefing in the dark", "have a go at climbing the mast".
fn is_practice(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 5;
    let tokens = &talk.tokens;
    let verbs = cue.start..thought.tokens.end.min(cue.end + REACH);
    verbs.into_iter().any(|i| {
        let next = |n: usize| tokens.get(i + n).filter(|t| t.gap < Gap::Comma);
        let learns = tokens[i].is("learn") && next(1).is_some_and(|t| t.is_any(words!["to", "how"]));
        let tries = tokens[i].is("go")
            && tokens[i - usize::from(i > 0)].is("a")
            && next(1).is_some_and(|t| t.is("at"));
        let drills = tokens[i].is_any(words!["practise", "practice", "rehearse", "drill"]);
        let what = next(if learns || tries { 2 } else { 1 });
        (learns || tries || drills)
            && what.is_some_and(|t| t.lower.ends_with("ing") || GRAMMAR.determiners.has(t) || learns)
    })
}

/// The gear that a task is about: named behind the words that oblige, else in front, else the topic.
fn object(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<usize> {
    const REACH: usize = 9;
    const ACROSS_LINES: usize = 3;
    let tokens = &talk.tokens;
    // "the pipe has 2019 written on it and that should be changed".
    let pronoun = cue
        .start
        .checked_sub(1)
        .map(|i| &tokens[i])
        .filter(|t| t.is_any(words!["that", "it", "this", "which", "they"]));
    if pronoun.is_some_and(|t| t.gap < Gap::Sentence)
        && cue.start > thought.tokens.start
        && let Some(m) = thought.subject(talk, cue).filter(|&m| talk.mentions[m].tokens.start < cue.start)
    {
        return Some(m);
    }
    // "that hatch has to come off", "the pawl wants looking at".
    let in_front = talk.mentions.partition_point(|m| m.tokens.end <= cue.start);
    // "The water tank tastes of diesel, must be flushed."
    let of_another = |m: &usize| {
        let first = talk.mentions[*m].tokens.start;
        let of = first.checked_sub(1).is_some_and(|i| tokens[i].is_any(words!["of", "like"]));
        of && m.checked_sub(1).is_some_and(|before| thought.mentions.contains(&before))
    };
    let subject = in_front.checked_sub(1).filter(|m| thought.mentions.contains(m));
    let subject = subject.map(|m| if of_another(&m) { m - 1 } else { m });
    if let Some(m) = subject
        && tokens[talk.mentions[m].tokens.end..cue.start].iter().all(|t| {
            t.gap < Gap::Clause
                && t.is_any(words![
                    "just", "really", "only", "still", "it", "that", "which", "lid", "lens", "one", "'s",
                ])
        })
        && tokens[cue.start].gap < Gap::Clause
    {
        return Some(m);
    }
    // "Rigged the inner forestay, needs a longer strop": what a sentence began with wants what is named behind.
    let parted = (Gap::Comma..Gap::Sentence).contains(&tokens[cue.start].gap);
    if parted && tokens[cue.start].is_any(words!["needs", "wants"]) {
        let sentence = talk.sentence_of(cue.start);
        let mut before = (0..in_front).rev().take_while(|&m| talk.mentions[m].tokens.start >= sentence.start);
        if let Some(m) = before.find(|&m| !serves(&talk.mentions[m])) {
            return Some(m);
        }
    }
    // "It sticks. Must be replaced, the pump would run for ever".
    let passive = tokens[cue.start..tokens.len().min(cue.end + 1)].iter().any(|t| t.is("be"));
    let first = talk.mentions.partition_point(|m| m.tokens.start < cue.start).max(thought.mentions.start);
    let behind = (first..thought.mentions.end)
        .take_while(|&m| talk.mentions[m].tokens.start < cue.end + REACH)
        .filter(|&m| !is_way(talk, m))
        .filter(|&m| {
            let start = talk.mentions[m].tokens.start;
            let new_line = start >= cue.end && tokens[cue.end..=start].iter().any(|t| t.gap >= Gap::Line);
            start >= cue.start && start < cue.end + if new_line { ACROSS_LINES } else { REACH }
        })
        .filter(|&m| {
            let start = talk.mentions[m].tokens.start;
            !passive || start < cue.end || tokens[cue.end..=start].iter().all(|t| t.gap < Gap::Comma)
        })
        .min_by_key(|&m| (talk.mentions[m].generic, m));
    // "There is a weep at the stern gland, wants repacking": what was talked of before is another thing.
    let own = || shown(talk, thought.mentions.clone()).filter(|&m| talk.mentions[m].tokens.end <= cue.start);
    behind.or_else(|| match thought.subject(talk, cue) {
        Some(m) if !thought.mentions.contains(&m) => own().or(Some(m)),
        found => found,
    })
}

/// What an order without a thing of its own is about, "turn it end for end", "nip up": what the words right in front of it
/// named, though that only serves other gear.
fn spoken_of(talk: &Talk<'_>, thoughts: &[Thought], index: usize, cue: &Range<usize>) -> Option<usize> {
    const LONGEST: usize = 24;
    let thought = &thoughts[index];
    let orders = WORDS.task_heads.at(&talk.tokens, cue.start).is_some()
        || WORDS.orders.at(&talk.tokens, cue.start).is_some();
    let next = talk.tokens.get(cue.end).filter(|t| cue.end < thought.tokens.end && t.gap < Gap::Comma);
    let of_it = talk.tokens[cue.start..cue.end]
        .iter()
        .chain(next)
        .any(|t| t.is_any(words!["it", "them", "one", "ones", "that"]));
    let of_nothing = thought.mentions.is_empty() && thing(talk, thought, cue).is_none();
    if !orders || !(of_it || next.is_none() || of_nothing) {
        return None;
    }
    let before = thought.mentions.start..talk.mentions.partition_point(|m| m.tokens.end <= cue.start);
    if let Some(m) = before.clone().next_back().filter(|m| before.contains(m)) {
        return Some(m);
    }
    let last = index.checked_sub(1).map(|i| &thoughts[i]).filter(|t| t.block == thought.block)?;
    last.mentions.clone().next().filter(|_| last.tokens.len() <= LONGEST)
}

/// Whether gear is named as the way that somebody goes: "I'll have to go up the mast" is about what is up there.
fn is_way(talk: &Talk<'_>, m: usize) -> bool {
    let start = talk.mentions[m].tokens.start;
    let before = &talk.tokens[start.saturating_sub(3)..start];
    before
        .windows(2)
        .any(|w| w[0].is_any(words!["up", "down", "along", "inside"]) && GRAMMAR.determiners.has(&w[1]))
        && before.first().is_some_and(|t| {
            t.is_any(words![
                "go", "climb", "going", "get", "be", "someone", "somebody", "trip", "send", "goes", "up",
                "crawl",
            ])
        })
}
