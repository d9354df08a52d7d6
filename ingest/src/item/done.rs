//! Closings: the speaker's word that a thing is done or put right.

use std::ops::Range;

use super::undone;
use super::words::{WORDS, around, thought_of};
use crate::date::month;
use crate::found::{Closing, UtteranceKind};
use crate::grammar::GRAMMAR;
use crate::talk::Talk;
use crate::thing;
use crate::token::{Gap, Kind};
use crate::topic::{Thought, name};
use crate::trial::{is_awaited, of_another_time};
use crate::word::WordList;

/// How a list's ticked box closes what it names.
pub const TICKED: &str = "ticked off";

/// List items whose box is ticked.
fn ticked(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    let first = |t: &Thought| talk.tokens[t.tokens.start].gap == Gap::Block;
    let entry = |(index, thought): (usize, &Thought)| {
        if !first(thought) || talk.ticked(thought.tokens.start) != Some(true) {
            return None;
        }
        // "2. Float switch renewed. CLOSED": the number is a sentence by itself.
        let number = talk.tokens[thought.tokens.clone()].iter().all(|t| t.kind == Kind::Number);
        let said = thoughts.get(index + 1).filter(|next| number && next.block == thought.block);
        let thought = said.unwrap_or(thought);
        Some(closing(talk, thought.tokens.clone(), thought.mentions.clone().next(), TICKED))
    };
    thoughts.iter().enumerate().filter_map(entry).collect()
}

/// List items under a heading that says that they are done.
fn under_done(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Closing> {
    const DONE: &WordList = words!["done", "finished", "sorted", "completed", "closed", "fixed"];
    const UNDONE: &WordList = words!["not", "to", "be", "un", "half", "never"];
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
            // A box says more than what it stands under.
            UtteranceKind::ListItem if done && talk.ticked(thought.tokens.start) != Some(false) => {
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
    const WANTED: &WordList = words![
        "get", "getting", "must", "need", "needs", "should", "want", "wants", "to", "till", "until", "when",
        "once", "if", "before", "unless",
    ];
    if let Some(gear) = subject.map(|s| &talk.mentions[s].tokens).filter(|t| t.end <= cue.start) {
        let front = thought.tokens.start.max(gear.start.saturating_sub(3));
        if tokens[front.min(gear.start)..gear.start].iter().any(|t| t.is_any(WANTED)) {
            return true;
        }
    }
    if (from..cue.start).any(|i| tokens[i].is("nothing")) {
        return true;
    }
    let line = (from..cue.start).rev().find(|&i| tokens[i].gap >= Gap::Line).unwrap_or(from);
    (line..cue.start).any(|i| WORDS.not_done.at(tokens, i).is_some())
}

/// Whether "did it" tells of a deed and not of a cure: "we did it twice", "did it again".
fn did_something(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let did_it = cue.len() == 2 && tokens[cue.start].is("did") && tokens[cue.start + 1].is("it");
    let ends = tokens.get(cue.end).is_none_or(|t| t.gap >= Gap::Comma || cue.end >= thought.tokens.end);
    let before = cue.start.checked_sub(1).filter(|&i| i >= thought.tokens.start).map(|i| &tokens[i]);
    let people = before.is_none_or(|t| {
        t.is_any(words!["i", "we", "he", "she", "you", "they", "who", "and", "only", "it", "n't"])
    });
    did_it && (!ends || people)
}

/// "So jobs are new float switch …", "rounded up, twice that's done it": what is to be done, and what has happened.
fn is_to_come(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let before = |n: usize| cue.start.checked_sub(n).map(|i| &tokens[i]);
    let jobs = tokens[cue.start].is_any(words!["is", "are", "'s", "'re"])
        && before(1).is_some_and(|t| t.is_any(words!["job", "jobs", "list", "things", "tasks", "needs"]));
    let happened = tokens[cue.start].is_any(words!["'s", "has"])
        && before(1).is_some_and(|t| t.is_any(words!["that", "it"]))
        && before(2).is_some_and(|t| t.is_any(words!["twice", "times"]));
    // "Raft collected by the carrier", "the mount was seen to be shaking", "new one to get".
    let next = |n: usize| tokens.get(cue.end + n).filter(|t| t.gap <= Gap::Line);
    let last = &tokens[cue.end - 1];
    let taken = last.is("collected") && next(0).is_some_and(|t| t.is("by"));
    let seemed = last.is("to") && next(0).is_some_and(|t| t.is("be"));
    let wanted = last.is_any(words!["one", "ones", "new"])
        && (next(0).is_some_and(|t| t.is("to"))
            && next(1).is_some_and(|t| t.is_any(words!["get", "come", "order", "buy"]))
            || next(0).is_some_and(|t| t.is_any(words!["needed", "wanted", "required"])));
    // "So a new one goes on the list", "he can have a new one for me by the 30th".
    let listed = (0..4).map_while(next).any(|t| t.is("list"))
        && (0..4).map_while(next).any(|t| t.is_any(words!["goes", "go", "is", "are", "'s"]));
    let has = last.is("new") || cue.len() > 1;
    let promised = has
        && [1, 2]
            .into_iter()
            .filter_map(before)
            .any(|t| t.is_any(words!["can", "could", "will", "'ll", "would", "shall", "may", "might"]));
    // "The hook came off its pole", "its battery is finished".
    let came_off = last.is("came")
        && next(0).is_some_and(|t| {
            t.is_any(words!["off", "apart", "adrift", "loose", "away", "undone", "unstuck"])
        });
    let used_up = last.is("finished")
        && (1..=3).filter_map(before).any(|t| t.is_any(words!["battery", "batteries", "bottle", "cylinder"]));
    jobs || happened || taken || seemed || wanted || listed || promised || came_off || used_up
}

/// Whether someone came by, and not the gear: "we arrived like the train", "the rigger came Thursday".
fn came_by(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, subject: Option<usize>) -> bool {
    let tokens = &talk.tokens;
    // "We are back in September": people, whatever is named near.
    let people = tokens[cue.start].is_any(words!["is", "are", "'s", "has", "have"])
        && tokens[cue.end - 1].is_any(words!["back", "aboard", "home", "arrived", "returned", "on"])
        && cue.start.checked_sub(1).is_some_and(|i| {
            i >= thought.tokens.start
                && tokens[i].is_any(words!["i", "we", "he", "she", "you", "who", "crew"])
        });
    if people {
        return true;
    }
    if !tokens[cue.start].is_any(words!["came", "arrived", "turned"]) {
        return false;
    }
    let before = cue.start.checked_sub(1).filter(|&i| i >= thought.tokens.start).map(|i| &tokens[i]);
    let bound = subject.is_some_and(|s| talk.mentions[s].tokens.end == cue.start);
    // "The tackle came two-blocked": how, and not that it did.
    let how = cue.len() == 1
        && tokens[cue.start].is("came")
        && tokens.get(cue.end).is_some_and(|t| t.gap <= Gap::Line)
        && tokens.get(cue.end + 1).is_some_and(|t| t.gap == Gap::Hyphen);
    // "The raft fella in Hobart came back".
    let someone = (thought.tokens.start.max(cue.start.saturating_sub(4))..cue.start)
        .rev()
        .take_while(|&i| !GRAMMAR.determiners.has(&tokens[i]) && tokens[i].gap < Gap::Clause)
        .any(|i| {
            tokens[i].is_any(words![
                "fella",
                "fellow",
                "man",
                "bloke",
                "chap",
                "guy",
                "rigger",
                "engineer",
                "electrician",
                "mechanic",
                "surveyor",
                "agent",
                "diver",
                "lady",
                "woman",
                "boy",
                "lad",
            ])
        });
    if how || someone && !bound {
        return true;
    }
    if cue.len() == 1 && tokens[cue.start].is("came") {
        // "Zipper wax came", "the filters came", but not "Dale came".
        let thing = thing::in_front(talk, thought, cue).filter(|thing| thing.end == cue.start);
        let several = thing.is_some_and(|thing| {
            let front = thing.start.checked_sub(1).filter(|&i| i >= thought.tokens.start);
            thing.len() > 1 || front.is_some_and(|i| GRAMMAR.determiners.has(&tokens[i]))
        });
        return !bound && !several;
    }
    let things = before.is_some_and(|t| {
        t.is_any(words!["it", "they", "these", "those", "that", "both", "all", "and", "ones"])
    });
    let named = subject.is_some_and(|s| thought.mentions.contains(&s));
    before.is_some_and(|t| t.is_any(words!["i", "we", "he", "she", "you"])) || !named && !things
}

/// Whether the words behind make a return of another kind: "that's back on the list", "'s back drafting".
fn goes_on_otherwise(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let next = |n: usize| tokens.get(cue.end + n).filter(|t| t.gap < Gap::Comma);
    if !tokens[cue.end - 1].is("back") {
        return false;
    }
    let listed =
        next(0).is_some_and(|t| t.is("on")) && next(2).is_some_and(|t| t.is_any(words!["list", "hard"]));
    // "It lost heading, came back by itself".
    let by_itself = next(0).is_some_and(|t| t.is_any(words!["by", "on", "of"]))
        && next(1).is_some_and(|t| t.is_any(words!["itself", "its", "himself", "herself", "his", "her"]));
    listed
        || by_itself
        || next(0).is_some_and(|t| {
            t.is_any(words!["to", "ordered", "order", "drafting", "flowing", "firing", "at", "with"])
        })
}

/// Whether only a part is done: "cleaned one of the jets", "one strap came, the other is ordered".
fn halved(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 3;
    half_of(talk, cue.end..thought.tokens.end.min(cue.end + REACH))
        || rest_is_left(talk, cue.end..thought.tokens.end)
}

/// Whether a stretch says that something is done in part, or only better than before: "a bit less yellow since I cleaned one
/// of the jets", "one came, the other is ordered".
pub(crate) fn is_half_done(talk: &Talk<'_>, within: &Range<usize>) -> bool {
    const BIT: &WordList = words!["bit", "little", "slightly", "somewhat"];
    const BETTER: &WordList = words!["less", "better", "drier", "quieter"];
    let tokens = &talk.tokens[within.clone()];
    let less = tokens.windows(2).any(|w| w[0].is_any(BIT) && w[1].is_any(BETTER));
    less || half_of(talk, within.clone()) || rest_is_left(talk, within.clone())
}

/// Whether words say that one of several, or a half, is meant.
fn half_of(talk: &Talk<'_>, within: Range<usize>) -> bool {
    let tokens = &talk.tokens;
    within.clone().any(|i| {
        let of = tokens.get(i + 1).is_some_and(|t| t.is("of"));
        tokens[i].is("half") || of && tokens[i].is_any(words!["one", "some", "most", "part"])
    })
}

/// Whether words say that the rest is still to come: "the other is ordered".
fn rest_is_left(talk: &Talk<'_>, within: Range<usize>) -> bool {
    const LEFT: &WordList = words![
        "ordered", "order", "coming", "come", "not", "hasn't", "isn't", "to", "still", "yet", "back",
        "needs", "wants", "must", "later", "tomorrow", "missing", "short", "waiting", "follows", "remains",
    ];
    let tokens = &talk.tokens;
    let rest = within
        .clone()
        .skip(1)
        .find(|&i| tokens[i - 1].is("the") && tokens[i].is_any(words!["other", "others", "rest", "second"]));
    rest.is_some_and(|i| tokens[i..within.end].iter().any(|t| t.is_any(LEFT)))
}

/// Whether the thought is a condition: "if the flares come on Monday that's done too".
fn supposed(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    let fills = |t: &crate::token::Token<'_>| t.is_any(words!["and", "but", "so", "well", "only", "even"]);
    let mut before = talk.tokens[thought.tokens.start..cue.start].iter().skip_while(|t| fills(t));
    before.next().is_some_and(|t| {
        t.is_any(words!["if", "unless", "once", "suppose", "supposing", "assuming", "provided"])
    })
}

/// "I thought I'd done with that": what the speaker held to be done.
fn only_thought(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 5;
    let from = thought.tokens.start.max(cue.start.saturating_sub(REACH));
    let before = &talk.tokens[from..cue.start];
    before.windows(2).any(|w| {
        w[0].is_any(words!["i", "we"])
            && w[1].is_any(words!["thought", "hoped", "wish", "wished", "imagined"])
    })
}

/// "Greased flax", on a list of jobs: a word that says what a thing is made like, and no deed.
fn describes(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let next = talk.tokens.get(cue.end).filter(|t| t.gap == Gap::Space);
    cue.len() == 1
        && next.is_some_and(|t| {
            t.kind == Kind::Word
                && !GRAMMAR.prepositions.has(t)
                && !GRAMMAR.determiners.has(t)
                && !t.is_any(words!["and", "but", "again", "already", "today", "yesterday", "it", "now"])
        })
}

/// Whether the thought tells of other people's gear.
fn others(talk: &Talk<'_>, thought: &Thought) -> bool {
    let tokens = &talk.tokens[thought.tokens.clone()];
    // "Neighbour's": their own thing, whatever was done to it.
    tokens.windows(2).any(|w| {
        w[0].is_any(words!["neighbour's", "neighbor's", "neighbours"])
            || w[0].is_any(words!["neighbour", "neighbor"]) && w[1].is("'s")
    })
}

/// Finds what a note says is done; `listed` tells of each thought whether it stands on a list of jobs.
pub fn closings(talk: &Talk<'_>, thoughts: &[Thought], listed: &[bool]) -> Vec<Closing> {
    /// As far in front another time may be named, in tokens.
    const FAR: usize = 24;
    /// As far behind.
    const BEHIND: usize = 6;
    let mut out = ticked(talk, thoughts);
    out.extend(under_done(talk, thoughts));
    for cue in talk.cues().done.iter().cloned() {
        let index = thought_of(thoughts, cue.start);
        let thought = &thoughts[index];
        let tokens = &talk.tokens;
        // "Job | Last done at" over a table closes nothing.
        let row = tokens[cue.start].utterance;
        if tokens[cue.start].asked || talk.is_head_row(row) && talk.is_row(row + 1) {
            continue;
        }
        let yet = tokens.get(cue.end).is_some_and(|t| t.is("yet") && t.gap < Gap::Sentence);
        // "Knife lanyard made" says nothing of gear named before it.
        if did_something(talk, thought, &cue) || is_to_come(talk, &cue) {
            continue;
        }
        // "I put a new impeller in last May".
        let end = thought.tokens.end.min(cue.end + BEHIND).max(cue.end);
        let long_ago = tokens[cue.end..end].windows(2).any(|w| {
            w[0].is("last")
                && (month(&w[1].lower).is_some()
                    || w[1].is_any(words!["year", "spring", "summer", "autumn", "winter", "season"]))
        });
        if long_ago {
            continue;
        }
        // "Exactly as it did last year, when he assured me he had fixed it".
        let before = thought.tokens.start.max(cue.start.saturating_sub(FAR))..cue.start;
        let had = tokens[before.clone()].iter().rev().take(2).any(|t| t.is_any(words!["had", "'d"]));
        if had && of_another_time(&tokens[before]) {
            continue;
        }
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
        if goes_on_otherwise(talk, &cue) || came_by(talk, thought, &cue, subject) {
            continue;
        }
        if halved(talk, thought, &cue) || supposed(talk, thought, &cue) || others(talk, thought) {
            continue;
        }
        if only_thought(talk, thought, &cue)
            || is_awaited(talk, thought, &cue)
            || talk.ticked(cue.start) == Some(false)
            || undone::by_what_stands_beside(talk, &cue, subject)
        {
            continue;
        }
        // "Repack (5/16 greased flax)": what a job is to be done with.
        let entry = thoughts.partition_point(|t| t.block < thought.block);
        if (listed[index] || listed[entry]) && describes(talk, &cue) {
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
