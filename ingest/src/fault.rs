//! Faults: what is wrong with gear, under one plain name for the many words that people have for it.
//!
//! A matter is called by its gear and its fault ("heater cuts out"), so that a list reads as a mate would say it, and
//! notes that tell of one fault in different words are known to be about one matter. The words are in
//! `lexicon/faults.toml`.

use std::ops::Range;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::gear::by_name;
use crate::grammar::GRAMMAR;
use crate::lexicon::{BuiltIn, Patterns};
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Kind {
    name: String,
    /// Whether words of it are a matter by themselves, where nobody says that something is to be done.
    #[serde(default)]
    noticed: bool,
    /// What it is called of gear of some groups.
    #[serde(default)]
    called: Vec<Called>,
    patterns: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Called {
    of: Vec<String>,
    name: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    fault: Vec<Kind>,
    /// What gear does not do when it fails, where there is hardly another way to.
    fails: Vec<Called>,
}

struct Table {
    kinds: Vec<Kind>,
    fails: Vec<Called>,
    patterns: Patterns<usize>,
}

static FAULTS: LazyLock<Table> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../lexicon/faults.toml"))
        .expect("lexicon/faults.toml is checked by a test");
    let mut patterns = Patterns::default();
    for (index, kind) in file.fault.iter().enumerate() {
        for pattern in &kind.patterns {
            patterns.add(pattern, index).expect("lexicon/faults.toml is checked by a test");
        }
    }
    Table { kinds: file.fault, fails: file.fails, patterns }
});

/// The patterns that are built in.
pub fn built_in() -> Vec<&'static dyn BuiltIn> {
    vec![&FAULTS.patterns]
}

/// The faults that stretches of a note tell of, each once, in the order of their places: those of one gear, or of any
/// where none is given. Words that a denial or a condition stands in front of ("no drips", "if it jams") tell of none.
pub fn faults(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    stretches: &[Range<usize>],
    gear: Option<&str>,
) -> Vec<&'static str> {
    let of_gear = |cue: Range<usize>| {
        let Some(gear) = gear else { return true };
        let thought = thoughts.get(thoughts.partition_point(|t| t.tokens.end <= cue.start));
        thought.and_then(|t| t.subject(talk, &cue)).is_none_or(|m| akin(name(talk, m), gear))
    };
    let mut out: Vec<&'static str> = Vec::new();
    for stretch in stretches {
        let mut at = stretch.start;
        while at < stretch.end {
            let Some(m) = FAULTS.patterns.at(&talk.tokens, at).filter(|m| m.end <= stretch.end) else {
                at += 1;
                continue;
            };
            let name = FAULTS.kinds[*m.value].name_for(gear);
            let stands = !denied(talk, m.start) && !is_night(talk, m.start);
            if !out.contains(&name) && stands && of_gear(m.start..m.end) {
                out.push(name);
            }
            at = m.end;
        }
    }
    out
}

/// What it means that gear failed, where no words say what is wrong with it and there is hardly another way to fail: an
/// anchor does not hold, a hatch leaks.
pub fn usual_failure(gear: &str) -> Option<&'static str> {
    FAULTS.fails.iter().find(|c| c.is_of(gear)).map(|c| c.name.as_str())
}

/// Where a note has words of faults that are a matter by themselves, in order, none of them denied.
pub fn noticed(talk: &Talk<'_>) -> Vec<Range<usize>> {
    let found = FAULTS.patterns.find(&talk.tokens).into_iter();
    found
        .filter(|m| FAULTS.kinds[*m.value].noticed && !denied(talk, m.start))
        .map(|m| m.start..m.end)
        .collect()
}

/// Whether words that often tell of a fault mean something else here: "dead ahead", "stuck the tiller on", "a block".
pub fn means_otherwise(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    if reads_no_gas(talk, cue) {
        return true;
    }
    let Some(next) = tokens.get(cue.end).filter(|t| t.gap <= Gap::Line) else { return false };
    match tokens[cue.end.max(cue.start + 1) - 1].lower.as_ref() {
        "block" | "wrap" => true,
        "jam" => next.is_any(words!["tin", "jar", "pot", "lid", "sandwich", "sandwiches", "cleat", "cleats"]),
        "dead" | "flat" | "slack" | "dark" => next.is_any(words![
            "straight",
            "ahead",
            "calm",
            "slow",
            "easy",
            "on",
            "in",
            "right",
            "level",
            "astern",
            "downwind",
            "reckoning",
            "water",
            "tide",
            "out",
            "against",
            "night",
            "and",
            "of",
        ]),
        "stuck" | "stick" | "sticks" | "broke" | "hit" | "split" | "bent" | "cracked" => {
            GRAMMAR.determiners.has(next) || next.is_any(words!["it", "them", "him", "her", "down"])
        }
        "screwed" => {
            GRAMMAR.determiners.has(next) || next.is_any(words!["it", "them", "in", "on", "down", "up", "to"])
        }
        "gone" => cue.len() > 1 && next.is_any(words!["it", "in", "up", "to", "out", "down", "on", "well"]),
        _ => false,
    }
}

/// "The carbon monoxide alarm read zero all night": as it should, where nothing was held to it.
fn reads_no_gas(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    /// As far in front as the alarm is named, and as far around as what is held to it, in tokens.
    const NEAR: usize = 10;
    let tokens = &talk.tokens;
    let front = &tokens[cue.start.saturating_sub(NEAR)..cue.start];
    let around = &tokens[cue.start.saturating_sub(NEAR)..tokens.len().min(cue.end + NEAR)];
    tokens[cue.end - 1].is_any(words!["zero", "nothing", "nought"])
        && front.iter().any(|t| t.is_any(words!["monoxide", "co"]))
        && !around.iter().any(|t| {
            t.is_any(words![
                "flame", "exhaust", "lighter", "held", "button", "pressed", "smoke", "test", "still"
            ])
        })
}

impl Kind {
    /// What the fault is called of some gear.
    fn name_for(&self, gear: Option<&str>) -> &str {
        let called = self.called.iter().find(|c| gear.is_some_and(|gear| c.is_of(gear)));
        called.map_or(self.name.as_str(), |c| c.name.as_str())
    }
}

impl Called {
    /// Whether it is of this gear, by its name or its group.
    fn is_of(&self, gear: &str) -> bool {
        let known = by_name(gear);
        let group = known.map_or("", |g| g.group.as_str());
        self.of.iter().any(|of| of == group || of == gear || known.is_some_and(|g| g.name == *of))
    }
}

/// Whether a fault of one thing is told of the other: the same thing, its part, or a thing that serves it.
fn akin(named: &str, gear: &str) -> bool {
    let part = |a: &str, b: &str| by_name(a).is_some_and(|g| g.part_of.as_deref() == Some(b));
    named == gear
        || part(named, gear)
        || part(gear, named)
        || by_name(named).is_some_and(|g| g.prop || g.generic)
}

/// "Reefing in the dark", "back after dark": when it was, and no light that is out.
fn is_night(talk: &Talk<'_>, at: usize) -> bool {
    let before = at.checked_sub(1).filter(|_| talk.tokens[at].is("dark")).map(|i| &talk.tokens[i]);
    before.is_some_and(|t| t.is_any(words!["the", "after", "before", "till", "until", "by"]))
}

/// Whether what stands right in front makes the words no fault: "no drips", "doesn't leak", "if it jams".
fn denied(talk: &Talk<'_>, at: usize) -> bool {
    const REACH: usize = 3;
    let front = (at.saturating_sub(REACH)..at).rev().take_while(|&i| talk.tokens[i + 1].gap < Gap::Clause);
    front.map(|i| &talk.tokens[i]).any(|t| {
        GRAMMAR.denials.has(t)
            || t.is_any(words!["no", "if", "unless", "without", "stopped", "longer", "nobody"])
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    fn told(line: &str) -> Vec<&'static str> {
        let utterances = [Utterance::line(line)];
        let talk = Talk::new(line, &utterances, &[]);
        let all = 0..talk.tokens.len();
        faults(&talk, &crate::topic::thoughts(&talk), std::slice::from_ref(&all), None)
    }

    #[test]
    fn many_words_for_a_fault_have_one_name() {
        assert_eq!(told("the heater went out after ten minutes"), ["cuts out, stops"]);
        assert_eq!(told("the heater quit again"), ["cuts out, stops"]);
        assert_eq!(told("it trips after ten seconds"), ["cuts out, stops"]);
        assert_eq!(told("the windlass blew its breaker twice"), ["cuts out, stops"]);
        assert!(told("two trips to the shop").is_empty());
        assert_eq!(told("water came in round the frame, and it drips on the bunk"), ["leaks"]);
    }

    #[test]
    fn what_is_denied_is_no_fault() {
        assert_eq!(told("ten minutes of the hose and no drips"), Vec::<&str>::new());
        assert_eq!(told("it doesn't leak"), Vec::<&str>::new());
        assert_eq!(told("if it jams I cut it"), Vec::<&str>::new());
    }
}
