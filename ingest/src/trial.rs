//! Trials: what was tried and how it went.
//!
//! Verdicts are found by the words of `lexicon/verdicts.toml`; each goes to the gear that its thought is about. One
//! gear has one trial in a note, at the heaviest verdict on it, and the later of equal ones.

use std::ops::{Not, Range};
use std::sync::LazyLock;

use serde::Deserialize;

use crate::found::{Outcome, Reason, Trial};
use crate::lexicon::Patterns;
use crate::talk::Talk;
use crate::token::{Gap, Kind};
use crate::topic::{Thought, both, name};

/// How much a verdict weighs; `lexicon/verdicts.toml` says what each means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Weight {
    /// What happened, from which the verdict follows.
    Sign,
    /// In plain words.
    Said,
    /// By name.
    Word,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Group {
    outcome: Outcome,
    weight: Weight,
    patterns: Vec<String>,
}

#[derive(Deserialize)]
struct File {
    verdict: Vec<Group>,
}

static CUES: LazyLock<Patterns<(Outcome, Weight)>> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../lexicon/verdicts.toml"))
        .expect("lexicon/verdicts.toml is checked by a test");
    let mut patterns = Patterns::default();
    for group in file.verdict {
        for pattern in group.patterns {
            patterns
                .add(&pattern, (group.outcome, group.weight))
                .expect("lexicon/verdicts.toml is checked by a test");
        }
    }
    patterns
});

/// A verdict found in a note.
#[derive(Clone, Debug)]
pub struct Verdict {
    /// How it went.
    pub outcome: Outcome,
    /// How much it weighs.
    pub weight: Weight,
    /// The tokens that say so.
    pub cue: Range<usize>,
    /// Index of its thought.
    pub thought: usize,
    /// The mention that it is on.
    pub subject: usize,
}

/// Finds the verdicts of a note, in order.
pub fn verdicts(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Verdict> {
    let mut out = Vec::new();
    for cue in CUES.find(&talk.tokens) {
        let (outcome, weight) = *cue.value;
        let cue = cue.start..cue.end;
        let at = thoughts.partition_point(|t| t.tokens.end <= cue.start);
        let Some(thought) = thoughts.get(at) else { continue };
        let Some(subject) = thought.subject(talk, &cue) else { continue };
        if !stands(talk, thought, &cue, outcome, weight, subject) || !on(talk, thought, &cue, weight, subject)
        {
            continue;
        }
        let subjects = both(talk, thought, &cue).map_or_else(|| vec![subject], |two| two.to_vec());
        for subject in subjects {
            out.push(Verdict { outcome, weight, cue: cue.clone(), thought: at, subject });
        }
    }
    out
}

/// Whether a verdict of this weight can be on this gear: what happened is a verdict on gear named there and then;
/// shrouds and stays are measured rather than tried.
fn on(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, weight: Weight, subject: usize) -> bool {
    const NEAR: usize = 8;
    let mention = &talk.mentions[subject];
    let here = thought.mentions.contains(&subject);
    match weight {
        Weight::Word => true,
        Weight::Said => mention.gear().is_none_or(|g| g.group != "rig" && (!g.prop || here)),
        Weight::Sign => {
            let pronoun = talk.tokens[thought.tokens.start.max(cue.start.saturating_sub(4))..cue.start]
                .iter()
                .any(|t| t.is_any(&["it", "he", "she", "they"]));
            let near = pronoun || here && cue.start.saturating_sub(mention.tokens.end) <= NEAR;
            mention.gear().is_none_or(|g| g.group != "rig" && !g.prop)
                && (near || cue.len() > 1)
                && (here || !mention.generic)
        }
    }
}

/// Whether the words at a cue are a verdict here and now, and not a wish, a rule, a story or half of another word.
fn stands(
    talk: &Talk<'_>,
    thought: &Thought,
    cue: &Range<usize>,
    outcome: Outcome,
    weight: Weight,
    subject: usize,
) -> bool {
    let tokens = &talk.tokens;
    let token = &tokens[cue.start];
    let one = cue.end - cue.start == 1;
    let ends = cue.end == thought.tokens.end || tokens[cue.end].gap >= Gap::Line;
    let previous = cue.start.checked_sub(1).filter(|&i| i >= thought.tokens.start).map(|i| &tokens[i]);
    if token.asked && outcome != Outcome::Unclear {
        return false;
    }
    // A bare word of praise, "pass" or "fail" is a verdict where it ends the thought, or is shouted.
    if one && weight != Weight::Sign && (outcome == Outcome::Pass || token.is("fail")) {
        let subject = &talk.mentions[subject].tokens;
        let bound = subject.end <= cue.start
            && tokens[subject.end..cue.start]
                .iter()
                .all(|t| t.is_any(&["a", "is", "'s", "that", "so", "also"]));
        let lone = thought.tokens.len() <= 3 || bound;
        let after_is = previous.is_some_and(|t| {
            t.is_any(&["is", "'s", "are", "was", "were", "all", "'re", "so", "just", "very"])
        });
        let sentence = token.gap >= Gap::Sentence || (thought.terse && token.gap >= Gap::Comma);
        let named = weight == Weight::Word;
        let shouted = named && token.text.len() > 2 && token.text.chars().all(char::is_uppercase);
        if !(ends && (lone || after_is || sentence || named) || shouted) {
            return false;
        }
    }
    // "my hands don't work".
    let front = &tokens[thought.tokens.start.max(cue.start.saturating_sub(4))..cue.start];
    if front.iter().any(|t| t.is_any(&["hands", "fingers", "arms", "feet", "legs", "head", "back"]))
        && outcome != Outcome::Pass
    {
        return false;
    }
    // "not a cross either", "nothing like fine"; "black mark for me".
    let denied = tokens[thought.tokens.start.max(cue.start.saturating_sub(3))..cue.start].iter().any(|t| {
        t.is_any(&[
            "not", "never", "hardly", "nothing", "isn't", "wasn't", "don't", "doesn't", "didn't", "can't",
            "neither", "nor", "aren't",
        ])
    });
    if denied && (outcome == Outcome::Pass || (outcome == Outcome::Fail && weight == Weight::Word)) {
        return false;
    }
    if tokens.get(cue.end).is_some_and(|t| t.is("for"))
        && tokens.get(cue.end + 1).is_some_and(|t| t.is_any(&["me", "us", "him"]))
    {
        return false;
    }
    if one
        && outcome == Outcome::Pass
        && token.is_any(&["tick", "pass"])
        && previous.is_some_and(|t| t.is_any(&["half", "no", "to", "and", "not", "the", "every"]))
    {
        return false;
    }
    // "good till 2030", "good for seven thousand", "good news", "fine on the …".
    if outcome == Outcome::Pass
        && tokens.get(cue.end).is_some_and(|t| {
            t.gap <= Gap::Line
                && t.is_any(&[
                    "till", "until", "til", "to", "for", "news", "morning", "night", "idea", "luck", "old",
                    "bit", "enough", "thing", "time",
                ])
        })
        && weight == Weight::Said
    {
        let next = &tokens[cue.end];
        let dated = tokens
            .get(cue.end + 1)
            .is_some_and(|t| t.kind == Kind::Number || t.is_any(&["twenty", "august", "november", "june"]));
        if !next.is_any(&["for", "to", "enough"]) || dated {
            return false;
        }
    }
    !(supposed(talk, thought, cue, weight) || elsewhere(talk, thought, cue, weight, subject))
}

/// Whether the clause in front of a cue makes it a wish, a condition, a plan or an obligation.
fn supposed(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, weight: Weight) -> bool {
    let reach = if weight == Weight::Word { 4 } else { 10 };
    let clause = &talk.clauses[talk.clause_of(cue.start)];
    let from = thought.tokens.start.max(clause.tokens.start).max(cue.start.saturating_sub(reach));
    talk.tokens[from..cue.start].iter().any(|t| {
        t.is_any(&[
            "if", "unless", "until", "till", "would", "should", "could", "might", "may", "must", "will",
            "'ll", "want", "wants", "wanted", "need", "needs", "hope", "hoping", "whether", "supposed",
            "ought", "want", "before", "when", "wherever", "'d", "does", "see", "lest", "wish",
        ])
    }) && !(weight == Weight::Word && talk.tokens[cue.start].is_any(&["only"]))
}

/// Whether the clause speaks of another time or another boat.
fn elsewhere(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, weight: Weight, subject: usize) -> bool {
    if weight == Weight::Word {
        return false;
    }
    // "I said that was sorted".
    let front = &talk.tokens[thought.tokens.start.max(cue.start.saturating_sub(4))..cue.start];
    if front.windows(2).any(|w| w[0].is("i") && w[1].is_any(&["said", "thought"])) {
        return true;
    }
    let sentence = thought.tokens.start..cue.end.max(thought.tokens.end.min(cue.end + 8));
    let tokens = &talk.tokens[sentence];
    let any = |words: &[&str]| tokens.iter().any(|t| t.is_any(words));
    let pair = |a: &[&str], b: &[&str]| tokens.windows(2).any(|w| w[0].is_any(a) && w[1].is_any(b));
    // "It ran fine in October".
    let month = |t: &crate::token::Token<'_>| crate::date::month(&t.lower).is_some();
    let behind = &talk.tokens[cue.end..talk.tokens.len().min(cue.end + 7)];
    if behind.windows(2).any(|w| w[0].is_any(&["in", "last"]) && month(&w[1]) && w[1].gap < Gap::Comma) {
        return true;
    }
    pair(
        &["last"],
        &[
            "year", "spring", "summer", "autumn", "fall", "winter", "season", "october", "july", "august",
            "june", "may",
        ],
    ) || pair(&["used"], &["to"])
        || pair(&["the", "my", "that"], &["old"]) && !any(&["new", "now"])
        || radioed(talk, subject).not()
            && (any(&[
                "cousin",
                "buddy",
                "bloke",
                "fella",
                "fellow",
                "lad",
                "uncle",
                "neighbour's",
                "somebody's",
            ]) || pair(
                &["a", "some", "another", "the"],
                &["man", "woman", "friend", "guy", "couple", "boat"],
            ))
        || pair(&["was", "were"], &["always"])
}

/// Whether the gear is heard by other people, who then belong to the trial.
fn radioed(talk: &Talk<'_>, subject: usize) -> bool {
    talk.mentions[subject].gear().is_some_and(|g| g.group == "radio" || g.group == "navigation")
}

/// Finds the trials of a note from its verdicts; spans are in the decoded text.
pub fn trials(talk: &Talk<'_>, thoughts: &[Thought], verdicts: &[Verdict]) -> Vec<Trial> {
    let mut decisive: Vec<&Verdict> = Vec::new();
    for verdict in verdicts {
        let gear = name(talk, verdict.subject);
        match decisive.iter_mut().find(|v| name(talk, v.subject) == gear) {
            Some(earlier) if earlier.weight <= verdict.weight => *earlier = verdict,
            Some(_) => {}
            None => decisive.push(verdict),
        }
    }
    decisive.into_iter().map(|verdict| trial(talk, thoughts, verdicts, verdict)).collect()
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

/// What was tried and what happened, in the speaker's words: the words that brought the gear up, what else was said
/// of it that bears the outcome out, what led up to the verdict, and the verdict.
fn about(talk: &Talk<'_>, thoughts: &[Thought], verdicts: &[Verdict], verdict: &Verdict) -> String {
    const BORNE_OUT: usize = 3;
    const LED_UP: usize = 2;
    let gear = name(talk, verdict.subject);
    let bad = |o: Outcome| o == Outcome::Fail || o == Outcome::Partial;
    let subject = &talk.mentions[verdict.subject].tokens;
    let mut said: Vec<Range<usize>> = verdicts
        .iter()
        .filter(|v| name(talk, v.subject) == gear && v.thought != verdict.thought)
        .filter(|v| v.outcome == verdict.outcome || bad(v.outcome) && bad(verdict.outcome))
        .take(BORNE_OUT)
        .map(|v| words_around(talk, &thoughts[v.thought], v))
        .collect();
    let here = &thoughts[verdict.thought];
    said.push(words_around(talk, here, verdict));
    // The talk that leads up to the verdict, back to where the gear was brought up.
    for before in thoughts[..verdict.thought].iter().rev().take(LED_UP) {
        let own = before.mentions.clone().all(|m| talk.mentions[m].generic || name(talk, m) == gear);
        if before.block != here.block || before.tokens.start < subject.start || !own {
            break;
        }
        said.push(first_words(&before.tokens));
    }
    if !said.iter().any(|q| q.contains(&subject.start)) {
        said.push(subject.start..brought_up(talk, subject));
    }
    titled(Some(gear), &join(talk, said))
}

/// Puts the gear's name in front of what was said of it, and what it is a part of, where the words don't name them.
pub fn titled(gear: Option<&str>, said: &str) -> String {
    let Some(gear) = gear else { return said.to_owned() };
    let lower = said.to_lowercase();
    let whole = crate::gear::by_name(gear).and_then(|g| g.part_of.as_deref());
    let names: Vec<&str> =
        whole.into_iter().chain([gear]).filter(|n| !lower.contains(&n.to_lowercase())).collect();
    if names.is_empty() { said.to_owned() } else { format!("{}: {said}", names.join(", ")) }
}

/// The first words of a stretch.
fn first_words(tokens: &Range<usize>) -> Range<usize> {
    const WORDS: usize = 16;
    tokens.start..tokens.end.min(tokens.start + WORDS)
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

/// Where the words that brought gear up end: at the end of their clause, or after a few words.
fn brought_up(talk: &Talk<'_>, subject: &Range<usize>) -> usize {
    const WORDS: usize = 14;
    let end = talk.tokens.len().min(subject.start + WORDS);
    (subject.end..end).find(|&i| talk.tokens[i].gap >= Gap::Sentence).unwrap_or(end).max(subject.end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lexicon_reads() {
        assert!(CUES.find(&[]).is_empty());
    }
}
