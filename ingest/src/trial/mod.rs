//! Trials: what was tried and how it went.
//!
//! Verdicts are found by the words of `lexicon/verdicts.toml`; each goes to the gear that its thought is about. One
//! gear has one trial in a note, at the heaviest verdict on it, and the later of equal ones.

mod answer;
mod aside;
mod candidate;
pub(crate) mod conditions;
mod table;
mod verdict;

#[cfg(test)]
mod tests;

use std::ops::Range;

use crate::fault;
use crate::found::{Outcome, Reason, Trial, UtteranceKind};
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name, passage, serves};

pub use candidate::begins_elsewhere;
pub(crate) use candidate::{is_awaited, of_another_time};
pub use verdict::Cue;
pub use verdict::{Verdict, Weight, built_in, cue_in, verdicts};
pub(crate) use verdict::{cues, stayed_put};

/// Finds the trials of a note from its verdicts; spans are in the decoded text.
pub fn trials(talk: &Talk<'_>, thoughts: &[Thought], verdicts: &[Verdict]) -> Vec<Trial> {
    let rows = table::rows(talk);
    let in_row = |v: &Verdict| rows.iter().any(|r| r.tokens.contains(&v.cue.start));
    // "Postponed": why a thing was not tried is no word on how it went.
    let headings = talk.headings();
    let put_off = |v: &Verdict| {
        headings[talk.tokens[v.cue.start].utterance]
            .clone()
            .is_some_and(|heading| talk.tokens[heading].iter().any(|t| t.is_any(crate::item::PUT_OFF)))
    };
    let mut tried: Vec<Tried<'_>> = Vec::new();
    for verdict in verdicts.iter().filter(|v| !in_row(v) && !put_off(v)) {
        let gear = name(talk, verdict.subject);
        match tried.iter_mut().find(|t| name(talk, t.last.subject) == gear) {
            Some(tried) => tried.add(talk, thoughts, verdict),
            None => tried.push(Tried { attempts: vec![verdict], last: verdict }),
        }
    }
    let mut decisive: Vec<&Verdict> = tried.iter().flat_map(Tried::decisive).collect();
    // "On starboard tack it was fine. On port tack it went out, and again when I relit it".
    let turned: Vec<Verdict> = decisive
        .iter()
        .filter(|pass| pass.outcome == Outcome::Pass && pass.weight == Weight::Said)
        .filter_map(|pass| {
            verdicts
                .iter()
                .find(|v| turns(talk, thoughts, pass, v))
                .map(|v| Verdict { outcome: Outcome::Partial, ..v.clone() })
        })
        .collect();
    for verdict in &turned {
        let gear = name(talk, verdict.subject);
        if let Some(pass) = decisive.iter_mut().find(|v| name(talk, v.subject) == gear) {
            *pass = verdict;
        }
    }
    let mut out: Vec<Trial> =
        decisive.into_iter().map(|verdict| trial(talk, thoughts, verdicts, verdict)).collect();
    out.extend(rows.iter().filter_map(|row| of_row(talk, thoughts, row)));
    out
}

/// The verdicts on one thing.
struct Tried<'v> {
    /// The heaviest of each attempt, the later of equal ones.
    attempts: Vec<&'v Verdict>,
    /// The last of all.
    last: &'v Verdict,
}

impl<'v> Tried<'v> {
    fn add(&mut self, talk: &Talk<'_>, thoughts: &[Thought], verdict: &'v Verdict) {
        let anew = is_another_attempt(talk, thoughts, self.last, verdict);
        self.last = verdict;
        match self.attempts.last_mut() {
            Some(best) if !anew => {
                if best.weight <= verdict.weight {
                    *best = verdict;
                }
            }
            _ => self.attempts.push(verdict),
        }
    }

    /// What is told of it: the heaviest verdict; where the last attempt has one in plain words, that, and in front of it the
    /// one by name on an earlier attempt that went otherwise.
    fn decisive(&self) -> Vec<&'v Verdict> {
        let Some((last, before)) = self.attempts.split_last() else { return Vec::new() };
        if last.weight >= Weight::Said {
            let differs = |v: &&&Verdict| v.weight == Weight::Word && v.outcome != last.outcome;
            let mut told: Vec<_> = before.iter().rev().find(differs).copied().into_iter().collect();
            told.push(last);
            return told;
        }
        self.attempts
            .iter()
            .copied()
            .reduce(|best, v| if best.weight <= v.weight { v } else { best })
            .into_iter()
            .collect()
    }
}

/// Whether a verdict is on another attempt than the one in front of it: the words between tell that the thing was tried once
/// more.
fn is_another_attempt(talk: &Talk<'_>, thoughts: &[Thought], before: &Verdict, verdict: &Verdict) -> bool {
    /// As far in front of the verdict as that may be told, in tokens.
    const REACH: usize = 40;
    let from = before.cue.end.max(verdict.cue.start.saturating_sub(REACH));
    thoughts[before.thought].block == thoughts[verdict.thought].block
        && from < verdict.cue.start
        && crate::attempt::tells_of_another(&talk.tokens[from..verdict.cue.start])
}

/// Whether what happened right behind a pass in plain words tells of a failure of the same gear on the other tack, or the
/// next time.
fn turns(talk: &Talk<'_>, thoughts: &[Thought], pass: &Verdict, then: &Verdict) -> bool {
    /// As far behind as it may be told, in tokens.
    const REACH: usize = 24;
    let tokens = &talk.tokens;
    let behind = then.cue.start > pass.cue.end
        && then.cue.start < pass.cue.end + REACH
        && then.thought != pass.thought
        && thoughts[then.thought].block == thoughts[pass.thought].block;
    let other = || {
        tokens[pass.cue.end..then.cue.start]
            .windows(2)
            .any(|w| w[0].is_any(words!["port", "starboard", "other"]) && w[1].is("tack"))
            || tokens[pass.cue.end..then.cue.start]
                .iter()
                .any(|t| t.is_any(words!["heeled", "until", "then", "but"]))
    };
    then.outcome == Outcome::Fail && behind && name(talk, then.subject) == name(talk, pass.subject) && other()
}

/// Whether what seems a trial is of the date on gear, which was looked at and not tried: "EPIRB battery, Nov 2027, ok".
pub fn of_its_date(talk: &Talk<'_>, trial: &Trial) -> bool {
    /// Most words of a verdict on a date.
    const VERDICT: usize = 2;
    const ON_A_DATE: &[&str] = &["ok", "okay", "fine", "good", "yes", "ouch", "no"];
    const TRIES: &[&str] = &[
        "test", "tests", "tested", "works", "worked", "tried", "pressed", "self", "fired", "lit", "opened",
        "answered", "light", "light's",
    ];
    if !crate::item::carries_date(&trial.gear) {
        return false;
    }
    // The date of a row stands in a cell of its own.
    let at = talk.tokens.partition_point(|t| t.span.end <= trial.span.start);
    let row = talk
        .tokens
        .get(at)
        .map(|t| &talk.utterances[t.utterance])
        .filter(|u| u.kind == UtteranceKind::TableRow);
    let said = row.map_or(trial.quote.as_str(), |row| row.text.as_str()).to_lowercase();
    let words: Vec<&str> =
        said.split(|c: char| !c.is_alphanumeric() && c != '\'').filter(|word| !word.is_empty()).collect();
    let year = |w: &&str| w.len() == 4 && w.starts_with("20") && w.bytes().all(|b| b.is_ascii_digit());
    // "That's good, and the battery's in date till 2031": what stands in front of a date is of something else.
    let behind = words.iter().rposition(year).map_or(&[][..], |at| &words[at + 1..]);
    let bare = behind.len() <= VERDICT && behind.iter().all(|word| ON_A_DATE.contains(word));
    let listed = row.is_some() && crate::item::runs_out_under(talk, at);
    let judged = !behind.is_empty() && (bare || listed);
    judged && !words.iter().any(|word| TRIES.contains(word))
}

/// The trial in a row of a table; gear that the lexicon does not have goes by the words of its cell.
fn of_row(talk: &Talk<'_>, thoughts: &[Thought], row: &table::Row) -> Option<Trial> {
    let outcome = row.outcome?;
    let mut named = talk.mentions.iter().filter(|m| row.tried.contains(&m.tokens.start));
    let first = named.clone().next();
    let of_the_kind = || talk.mentions.iter().find(|m| row.kind.contains(&m.tokens.start));
    let mention = named.find(|m| !serves(m)).or(first).or_else(of_the_kind);
    let cell = || {
        let end = (row.tried.start + 1..row.tried.end)
            .find(|&i| talk.tokens[i].gap >= Gap::Comma)
            .unwrap_or(row.tried.end);
        talk.quote(row.tried.start..end).to_lowercase()
    };
    let gear = mention.map_or_else(cell, |m| m.name.clone());
    let quote = talk.quote(row.tokens.clone());
    let gear_span = talk.span(mention.map_or(row.tried.clone(), |m| m.tokens.clone()));
    Some(Trial {
        about: titled(
            Some(&gear),
            &trouble(talk, thoughts, outcome, std::slice::from_ref(&row.tokens), None),
            &quote,
        ),
        outcome,
        at: talk.at(row.tokens.start),
        span: talk.span(row.tokens.clone()),
        quote,
        conditions: Vec::new(),
        night: None,
        hands: None,
        judged: false,
        because: vec![
            Reason {
                of: "outcome".to_owned(),
                what: outcome.name().to_owned(),
                span: talk.span(row.verdict.clone()),
            },
            Reason { of: "gear".to_owned(), what: gear.clone(), span: gear_span },
        ],
        gear,
    })
}

fn trial(talk: &Talk<'_>, thoughts: &[Thought], verdicts: &[Verdict], verdict: &Verdict) -> Trial {
    let gear = name(talk, verdict.subject);
    let said = words_around(talk, &thoughts[verdict.thought], verdict);
    Trial {
        gear: gear.to_owned(),
        about: about(talk, thoughts, verdicts, verdict),
        outcome: verdict.outcome,
        at: talk.at(verdict.cue.start),
        span: talk.span(said.clone()),
        quote: talk.quote(said),
        conditions: Vec::new(),
        night: None,
        hands: None,
        judged: false,
        because: vec![
            Reason {
                of: "outcome".to_owned(),
                what: verdict.outcome.name().to_owned(),
                span: talk.span(verdict.cue.clone()),
            },
            Reason {
                of: "gear".to_owned(),
                what: gear.to_owned(),
                span: talk.span(talk.mentions[verdict.subject].tokens.clone()),
            },
        ],
    }
}

/// The words to quote for a verdict: its thought, or the stretch of a long one around the cue.
fn words_around(talk: &Talk<'_>, thought: &Thought, verdict: &Verdict) -> Range<usize> {
    const BEFORE: usize = 14;
    const BEHIND: usize = 8;
    let mut start = thought.tokens.start.max(verdict.cue.start.saturating_sub(BEFORE));
    let subject = &talk.mentions[verdict.subject].tokens;
    if subject.start >= thought.tokens.start
        && subject.start < start
        && verdict.cue.start - subject.start < 2 * BEFORE
    {
        start = subject.start;
    }
    start..thought.tokens.end.min(verdict.cue.end + BEHIND).max(verdict.cue.end)
}

/// What was tried and what happened, in the speaker's words: the talk about the gear that the verdict stands in, and
/// what else was said of it that bears the outcome out; in front of it the gear's name and what is wrong with it.
fn about(talk: &Talk<'_>, thoughts: &[Thought], verdicts: &[Verdict], verdict: &Verdict) -> String {
    const BORNE_OUT: usize = 4;
    let gear = name(talk, verdict.subject);
    let bad = |o: Outcome| o == Outcome::Fail || o == Outcome::Partial;
    let mut said: Vec<Range<usize>> = verdicts
        .iter()
        .filter(|v| name(talk, v.subject) == gear && v.thought != verdict.thought)
        .filter(|v| v.outcome == verdict.outcome || bad(v.outcome) && bad(verdict.outcome))
        .take(BORNE_OUT)
        .map(|v| words_around(talk, &thoughts[v.thought], v))
        .collect();
    let here = &thoughts[verdict.thought];
    said.push(words_around(talk, here, verdict));
    said.push(passage(talk, thoughts, verdict.thought, &verdict.cue, verdict.subject));
    // Where this stretch of talk first names the gear.
    let first = first_named(talk, thoughts, verdict, gear);
    said.push(first..brought_up(talk, first, here.tokens.end));
    titled(Some(gear), &trouble(talk, thoughts, verdict.outcome, &said, Some(gear)), &join(talk, said))
}

/// What is wrong by an outcome and the words that tell of it; nothing of what passed.
fn trouble(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    outcome: Outcome,
    said: &[Range<usize>],
    gear: Option<&str>,
) -> Vec<&'static str> {
    match outcome {
        Outcome::Pass => Vec::new(),
        // A radio works where somebody hears it.
        Outcome::Unclear if gear.and_then(crate::gear::by_name).is_some_and(|g| g.group == "radio") => {
            vec!["not settled", "not known whether it is heard"]
        }
        Outcome::Unclear => vec!["not settled", "not known whether it works"],
        Outcome::Fail | Outcome::Partial => {
            let told = fault::faults(talk, thoughts, said, gear);
            let usual = || gear.filter(|_| outcome == Outcome::Fail).and_then(fault::usual_failure);
            if told.is_empty() { usual().into_iter().collect() } else { told }
        }
    }
}

/// Puts in front of what was said of gear what a mate would call the matter: the gear, with what it is a part of where
/// the words don't name that, and what is wrong with it.
pub fn titled(gear: Option<&str>, wrong: &[&str], said: &str) -> String {
    const MOST: usize = 3;
    let wrong = wrong[..wrong.len().min(MOST)].join(", ");
    let Some(gear) = gear else {
        return if wrong.is_empty() { said.to_owned() } else { format!("{wrong}: {said}") };
    };
    let lower = said.to_lowercase();
    let absent = |name: &&str| !lower.contains(&name.to_lowercase());
    let whole = crate::gear::by_name(gear).and_then(|g| g.part_of.as_deref()).filter(absent);
    let named = (!wrong.is_empty() || absent(&gear)).then_some(gear);
    let title: Vec<&str> = whole.into_iter().chain(named).collect();
    match (title.is_empty(), wrong.is_empty()) {
        (true, _) => said.to_owned(),
        (false, true) => format!("{}: {said}", title.join(", ")),
        (false, false) => format!("{} {wrong}: {said}", title.join(", ")),
    }
}

/// Quotes stretches of a note in order, those that touch as one.
pub fn join(talk: &Talk<'_>, mut said: Vec<Range<usize>>) -> String {
    said.sort_by_key(|q| q.start);
    let mut merged: Vec<Range<usize>> = Vec::new();
    for stretch in said {
        match merged.last_mut() {
            Some(last) if stretch.start <= last.end => last.end = last.end.max(stretch.end),
            _ => merged.push(stretch),
        }
    }
    merged.into_iter().map(|q| talk.quote(q)).collect::<Vec<_>>().join("; ")
}

/// Where the talk that ends in a verdict first names the gear: in the same block, not far back.
fn first_named(talk: &Talk<'_>, thoughts: &[Thought], verdict: &Verdict, gear: &str) -> usize {
    const FAR: usize = 220;
    let block = thoughts[verdict.thought].block;
    let subject = talk.mentions[verdict.subject].tokens.start;
    let near = thoughts.partition_point(|t| t.tokens.end + FAR <= verdict.cue.start);
    thoughts[near..]
        .iter()
        .take_while(|t| t.tokens.start < verdict.cue.end)
        .filter(|t| t.block == block)
        .flat_map(|t| t.mentions.clone())
        .find(|&m| name(talk, m) == gear)
        .map_or(subject, |m| talk.mentions[m].tokens.start.min(subject))
}

/// Where the words that brought gear up end: after a few words, at the end of their block at the latest.
fn brought_up(talk: &Talk<'_>, from: usize, until: usize) -> usize {
    const WORDS: usize = 16;
    let end = talk.tokens.len().min(from + WORDS).min(until.max(from + 1));
    (from + 1..end).find(|&i| talk.tokens[i].gap == Gap::Block).unwrap_or(end)
}
