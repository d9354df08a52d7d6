//! Verdicts: words that say how a trial went, and the gear that they are on.

use std::ops::Range;
use std::sync::LazyLock;

use serde::Deserialize;

use super::candidate::Candidate;
use crate::found::Outcome;
use crate::gear::Mention;
use crate::grammar::GRAMMAR;
use crate::lexicon::{BuiltIn, Patterns};
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::topic::{Thought, both, company, is_excepted};
use crate::word::WordList;

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
    /// Whether its patterns count only where they end their thought, as "negative" and "dead" do.
    #[serde(default)]
    lone: bool,
    patterns: Vec<String>,
}

/// What words of the lexicon that may be a verdict say.
#[derive(Clone, Copy, Debug)]
pub struct Cue {
    /// How it went.
    pub outcome: Outcome,
    /// How much that weighs.
    pub weight: Weight,
    /// Whether they count only where they end their thought.
    pub lone: bool,
}

impl Cue {
    /// One number for its outcome and weight, below 16.
    pub fn number(&self) -> u8 {
        self.outcome as u8 * 4 + self.weight as u8
    }
}

#[derive(Deserialize)]
struct File {
    verdict: Vec<Group>,
}

/// What gear of one kind does when it does its job, and when it does not; `lexicon/proofs.toml` says more.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Proof {
    of: Vec<String>,
    outcome: Outcome,
    #[serde(default = "sign")]
    weight: Weight,
    patterns: Vec<String>,
}

fn sign() -> Weight {
    Weight::Sign
}

#[derive(Deserialize)]
struct Proofs {
    proof: Vec<Proof>,
}

/// The proofs, and for each pattern the index of its proof.
struct ByGear {
    proofs: Vec<Proof>,
    patterns: Patterns<usize>,
}

static BY_GEAR: LazyLock<ByGear> = LazyLock::new(|| {
    let file: Proofs = toml::from_str(include_str!("../../lexicon/proofs.toml"))
        .expect("lexicon/proofs.toml is checked by a test");
    let mut patterns = Patterns::default();
    for (index, proof) in file.proof.iter().enumerate() {
        for pattern in &proof.patterns {
            patterns.add(pattern, index).expect("lexicon/proofs.toml is checked by a test");
        }
    }
    ByGear { proofs: file.proof, patterns }
});

impl Proof {
    /// Whether it is of this gear.
    fn is_of(&self, mention: &Mention) -> bool {
        let group = mention.gear().map_or("", |g| g.group.as_str());
        let name = mention.gear().map_or(mention.name.as_str(), |g| g.name.as_str());
        self.of.iter().any(|of| of == "*" || of == name || of.strip_prefix("all ") == Some(group))
    }
}

static CUES: LazyLock<Patterns<Cue>> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../../lexicon/verdicts.toml"))
        .expect("lexicon/verdicts.toml is checked by a test");
    let mut patterns = Patterns::default();
    for group in file.verdict {
        for pattern in group.patterns {
            patterns
                .add(&pattern, Cue { outcome: group.outcome, weight: group.weight, lone: group.lone })
                .expect("lexicon/verdicts.toml is checked by a test");
        }
    }
    patterns
});

/// The patterns that are built in.
pub fn built_in() -> Vec<&'static dyn BuiltIn> {
    vec![&*CUES, &BY_GEAR.patterns]
}

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
    for (cue, Cue { outcome, weight, lone }) in own_cues(talk) {
        let said = Said { cue, outcome, weight, lone };
        out.extend(said.of(talk, thoughts, |_| true));
    }
    let general = out.len();
    let mut at = 0;
    while at < talk.tokens.len() {
        let mut end = at + 1;
        if !BY_GEAR.patterns.may_begin(&talk.tokens[at]) {
            at = end;
            continue;
        }
        for found in BY_GEAR.patterns.all_at(&talk.tokens, at) {
            let proof = &BY_GEAR.proofs[*found.value];
            let cue = found.start..found.end;
            // What the general words say there already stands.
            let told = out[..general].iter().any(|v| v.cue.start < cue.end && cue.start < v.cue.end);
            if told || proof.outcome == Outcome::Pass && is_to_be_watched(&talk.tokens[cue.end..]) {
                continue;
            }
            let said = Said { cue, outcome: proof.outcome, weight: proof.weight, lone: false };
            let before = out.len();
            out.extend(said.of(talk, thoughts, |mention| proof.is_of(mention)));
            if out.len() > before {
                end = end.max(found.end);
            }
        }
        at = end;
    }
    let excepted = exceptions(talk, thoughts, &out);
    out.extend(excepted);
    let told = out.len();
    let said = super::answer::answers(talk, thoughts);
    // Plainer words in the answer win: "yes, but it only just held".
    out.extend(
        said.into_iter().filter(|a| out[..told].iter().all(|v| v.thought != a.thought)).collect::<Vec<_>>(),
    );
    out.sort_by_key(|v| v.cue.start);
    out
}

/// Whether what follows says that gear is to be watched: "one drop a minute again, keep an eye on that".
fn is_to_be_watched(behind: &[Token<'_>]) -> bool {
    /// As far behind as it is said, in tokens.
    const REACH: usize = 6;
    let same = behind.iter().take(REACH).take_while(|t| t.gap < Gap::Sentence).count();
    behind[..same].windows(3).any(|w| {
        w[0].is_any(words!["keep", "keeping", "kept"]) && w[1].is("an") && w[2].is("eye")
            || w[0].is_any(words!["needs", "wants", "be"]) && w[1].is_any(words!["watching", "watched"])
    })
}

/// As far as one looks around a token, so that it costs the same in any note.
const FAR: usize = 80;

/// Those of a list in order of their places that stand near a token.
fn near<T>(all: &[T], token: usize, cue: impl Fn(&T) -> &Range<usize>) -> &[T] {
    let first = all.partition_point(|one| cue(one).start + FAR < token);
    let last = all.partition_point(|one| cue(one).start <= token + FAR);
    &all[first..last.max(first)]
}

/// What a verdict on all the others says of the exceptions: "all the lights work, bar the stern light".
fn exceptions(talk: &Talk<'_>, thoughts: &[Thought], told: &[Verdict]) -> Vec<Verdict> {
    const NEAR: usize = 12;
    const ALL: &WordList = words!["all", "every", "everything", "both", "rest", "lot"];
    let tokens = &talk.tokens;
    let mut out = Vec::new();
    for (subject, mention) in talk.mentions.iter().enumerate() {
        let Range { start, end } = mention.tokens;
        if !is_excepted(tokens, start) {
            continue;
        }
        let thought = thoughts.partition_point(|t| t.tokens.end <= start);
        let told = near(told, start, |v| &v.cue);
        let own = |v: &&Verdict| v.subject == subject || talk.mentions[v.subject].name == mention.name;
        if told.iter().filter(own).any(|v| v.thought == thought) {
            continue;
        }
        let close = |cue: &Range<usize>| {
            let between = if cue.end <= start { cue.end..start } else { end..cue.start.max(end) };
            between.len() <= NEAR && tokens[between].iter().all(|t| t.gap < Gap::Block)
        };
        let of_all = |cue: &Range<usize>| {
            let from = cue.start.saturating_sub(NEAR / 2).max(thoughts[thought].tokens.start);
            tokens[from.min(cue.start)..cue.end].iter().any(|t| t.is_any(ALL))
        };
        let said = told.iter().find(|v| close(&v.cue)).map(|v| v.outcome).or_else(|| {
            let cues = near(&talk.cues().verdicts, start, |(cue, _)| cue);
            let mut cues = cues.iter().filter(|(cue, _)| close(cue) && of_all(cue));
            cues.next().map(|(_, cue)| cue.outcome)
        });
        let outcome = match said {
            Some(Outcome::Pass) => Outcome::Fail,
            Some(Outcome::Fail) => Outcome::Pass,
            _ => continue,
        };
        let from = thoughts[thought].tokens.start.max(start.saturating_sub(FAR));
        let supposed = |t: &Token<'_>| t.asked || GRAMMAR.conditions.has(t) || GRAMMAR.modals.has(t);
        if !tokens[from..end].iter().any(supposed) {
            out.push(Verdict { outcome, weight: Weight::Said, cue: start..end, thought, subject });
        }
    }
    out
}

/// Words that say how something went, before it is known of what.
struct Said {
    cue: Range<usize>,
    outcome: Outcome,
    weight: Weight,
    lone: bool,
}

impl Said {
    /// The verdicts that they are, on gear of which they can be.
    fn of(&self, talk: &Talk<'_>, thoughts: &[Thought], fits: impl Fn(&Mention) -> bool) -> Vec<Verdict> {
        let Self { cue, weight, lone, .. } = self;
        let at = thoughts.partition_point(|t| t.tokens.end <= cue.start);
        let Some(thought) = thoughts.get(at) else { return Vec::new() };
        let Some(subject) = thought.subject(talk, cue) else { return Vec::new() };
        // "The settee bolt is loose" is no word on gear named before it.
        if !talk.mentions[subject].tokens.contains(&cue.start)
            && crate::thing::in_front(talk, thought, cue).is_some()
        {
            return Vec::new();
        }
        let mut subject = subject;
        if is_heard(talk, cue) && !can_be_heard(&talk.mentions[subject]) {
            let Some(radio) = thought.mentions.clone().find(|&m| can_be_heard(&talk.mentions[m])) else {
                return Vec::new();
            };
            subject = radio;
        }
        if !fits(&talk.mentions[subject]) {
            return Vec::new();
        }
        let outcome = if stayed_put(talk, cue, &talk.mentions[subject]) {
            Outcome::Pass
        } else if gives_nothing(talk, cue, &talk.mentions[subject]) {
            Outcome::Fail
        } else if *weight == Weight::Sign || *weight == Weight::Said && is_never_so(talk, cue) {
            turned(talk, thought, cue, self.outcome)
        } else {
            self.outcome
        };
        let candidate = Candidate { talk, thought, cue, outcome, weight: *weight, lone: *lone, subject };
        if !candidate.stands() {
            return Vec::new();
        }
        let subjects = both(talk, thought, cue)
            .map(|two| two.to_vec())
            .or_else(|| company(talk, thought, cue, subject))
            .unwrap_or_else(|| vec![subject]);
        let verdict = |subject| Verdict { outcome, weight: *weight, cue: cue.clone(), thought: at, subject };
        subjects.into_iter().map(verdict).collect()
    }
}

/// "Loud and clear", "five by five": how well something was heard.
fn is_heard(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let words = &talk.tokens[cue.clone()];
    let last = &words[words.len() - 1];
    words[0].is_any(words!["loud", "five"])
        && words.len() >= 3
        && last.is_any(words!["clear", "five", "nine"])
        || words[0].is_any(words!["heard", "hear", "hears", "read", "reads"])
            && last.is_any(words!["me", "us"])
}

fn can_be_heard(mention: &Mention) -> bool {
    mention.gear().is_some_and(|g| {
        matches!(g.group.as_str(), "radio" | "navigation" | "signals" | "fire_gas" | "overboard")
    })
}

/// "Swung through ninety degrees, did not move": what an anchor is for.
pub(crate) fn stayed_put(talk: &Talk<'_>, said: &Range<usize>, mention: &Mention) -> bool {
    const NOT: &WordList = words!["not", "never", "didn't", "didnt", "hasn't", "hadn't", "wouldn't"];
    const MOVE: &WordList = words!["move", "budge", "shift", "drag", "moved", "budged", "shifted", "dragged"];
    mention.gear().is_some_and(|g| g.group == "anchor" && g.name != "windlass")
        && talk.tokens[said.clone()].windows(2).any(|w| w[0].is_any(NOT) && w[1].is_any(MOVE))
}

/// "40 strokes and not a drop", "pressed the button, not a squeak": what keeps water out has done well without a drop, and a
/// sheave without a squeak; a pump and an alarm have not.
fn gives_nothing(talk: &Talk<'_>, said: &Range<usize>, mention: &Mention) -> bool {
    /// As far in front as the pumping may be told, and the test of an alarm, in tokens.
    const REACH: usize = 4;
    const FAR: usize = 16;
    let tokens = &talk.tokens;
    // "Smoke alarm: pressed, not a squeak".
    let proved = tokens[said.start.saturating_sub(FAR)..said.start].iter().any(|t| {
        t.is_any(words![
            "pressed", "press", "button", "test", "tested", "lighter", "float", "bucket", "pail", "poured",
            "battery", "lifted",
        ])
    });
    let silent = tokens[said.end - 1].is_any(words!["squeak", "peep", "sound", "whisper"])
        && mention.name.ends_with("alarm")
        && proved;
    silent
        || tokens[said.end - 1].is_any(words!["drop", "dribble", "trickle"])
            && mention.name.ends_with("pump")
            && tokens[said.start.saturating_sub(REACH)..said.start]
                .iter()
                .any(|t| t.is_any(words!["strokes", "stroke", "pumps", "pumped", "pumping"]))
}

/// The words of the lexicon that may be a verdict, and those that the skipper has taught in their place, in order.
fn own_cues(talk: &Talk<'_>) -> Vec<(Range<usize>, Cue)> {
    let mut cues = talk.cues().verdicts.clone();
    if !talk.taught_outcomes.is_empty() {
        let own = &talk.taught_outcomes;
        cues.retain(|(cue, _)| own.iter().all(|(own, _)| cue.end <= own.start || own.end <= cue.start));
        let said = |outcome| Cue { outcome, weight: Weight::Word, lone: false };
        cues.extend(own.iter().map(|(cue, outcome)| (cue.clone(), said(*outcome))));
        cues.sort_by_key(|(cue, _)| cue.start);
    }
    cues
}

/// The words of the lexicon that may be a verdict, in order.
pub(crate) fn cues(tokens: &[Token<'_>]) -> Vec<(Range<usize>, Cue)> {
    CUES.find(tokens).into_iter().map(|m| (m.start..m.end, *m.value)).collect()
}

/// What happened, turned round by a denial right in front: "nothing jams", "without slipping".
fn turned(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, outcome: Outcome) -> Outcome {
    let joined = talk.tokens[cue.start].gap < Gap::Comma;
    let before = cue.start.checked_sub(1).filter(|&i| i >= thought.tokens.start && joined);
    let denied = before.map(|i| &talk.tokens[i]).is_some_and(|t| {
        t.is_any(words![
            "no", "nothing", "never", "without", "nor", "not", "neither", "hasn't", "haven't", "hadn't"
        ])
    });
    if outcome == Outcome::Fail && denied { Outcome::Pass } else { outcome }
}

/// Whether "never", "hasn't" or the like stands right in front of plain words: "the vane, which has never let me down".
fn is_never_so(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    cue.start > 0
        && talk.tokens[cue.start].gap < Gap::Comma
        && talk.tokens[cue.start - 1]
            .is_any(words!["never", "hasn't", "haven't", "hadn't", "without", "nothing"])
}

/// The outcome that the heaviest words of the lexicon within a stretch give, the last of equal ones; a bare verdict
/// stands for itself there, as in the cell of a table.
pub fn cue_in(talk: &Talk<'_>, within: &Range<usize>) -> Option<Outcome> {
    let mut best: Option<(Weight, Outcome)> = None;
    let mut at = within.start;
    while at < within.end {
        let Some(m) = CUES.at(&talk.tokens, at).filter(|m| m.end <= within.end) else {
            at += 1;
            continue;
        };
        let Cue { outcome, weight, .. } = *m.value;
        let denied = at > within.start && GRAMMAR.denials.has(&talk.tokens[at - 1]);
        let outcome = match outcome {
            Outcome::Pass if denied => Outcome::Fail,
            Outcome::Fail if denied => Outcome::Pass,
            other => other,
        };
        if best.is_none_or(|(w, _)| weight >= w) {
            best = Some((weight, outcome));
        }
        at = m.end;
    }
    best.map(|(_, outcome)| outcome)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lexicon_reads() {
        assert!(CUES.find(&[]).is_empty());
        assert!(BY_GEAR.patterns.find(&[]).is_empty());
    }

    #[test]
    fn every_proof_is_of_gear_or_a_group_of_the_lexicon() {
        for of in BY_GEAR.proofs.iter().flat_map(|p| &p.of) {
            let group = of.strip_prefix("all ");
            let known =
                of == "*" || crate::gear::all().iter().any(|g| g.name == *of || group == Some(&g.group));
            assert!(known, "{of} is neither gear nor a group of gear.toml");
        }
    }
}
