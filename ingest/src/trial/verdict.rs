//! Verdicts: words that say how a trial went, and the gear that they are on.

use std::ops::Range;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::date::month;
use crate::found::Outcome;
use crate::gear::Mention;
use crate::grammar::GRAMMAR;
use crate::item::WORDS;
use crate::lexicon::{Patterns, Words};
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};
use crate::topic::{Thought, both, company, is_excepted, is_of_storms};
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
        if !fits(&talk.mentions[subject]) || crate::thing::of_people_or_victuals(talk, thought, cue) {
            return Vec::new();
        }
        let outcome = if stayed_put(talk, cue, &talk.mentions[subject]) {
            Outcome::Pass
        } else if *weight == Weight::Sign {
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
    let denied = before
        .map(|i| &talk.tokens[i])
        .is_some_and(|t| t.is_any(words!["no", "nothing", "never", "without", "nor", "not", "neither"]));
    if outcome == Outcome::Fail && denied { Outcome::Pass } else { outcome }
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

/// Words that would be a verdict, if they are said here and now and of this gear.
struct Candidate<'a, 't> {
    talk: &'a Talk<'t>,
    thought: &'a Thought,
    cue: &'a Range<usize>,
    outcome: Outcome,
    weight: Weight,
    lone: bool,
    subject: usize,
}

impl<'t> Candidate<'_, 't> {
    fn stands(&self) -> bool {
        self.on_gear_that_is_tried()
            && self.says_so()
            && !self.denied()
            && !self.of_the_body()
            && !self.reaches_on()
            && !self.supposed()
            && !is_awaited(self.talk, self.thought, self.cue)
            && !self.cast_off()
            && !self.elsewhere()
            && !self.tells_where_it_failed()
            && !self.untried()
    }

    /// Up to `n` tokens in front of the cue, back to the last comma.
    fn phrase(&self, n: usize) -> &[Token<'t>] {
        let front = self.front(n);
        if self.talk.tokens[self.cue.start].gap >= Gap::Comma {
            return &[];
        }
        let comma = front.iter().rposition(|t| t.gap >= Gap::Comma);
        &front[comma.unwrap_or(0)..]
    }

    /// Up to `n` tokens in front of the cue, within its thought.
    fn front(&self, n: usize) -> &[Token<'t>] {
        &self.talk.tokens[self.thought.tokens.start.max(self.cue.start.saturating_sub(n))..self.cue.start]
    }

    /// The token right behind the cue, where no comma or stop parts them.
    fn next(&self) -> Option<&Token<'t>> {
        self.talk.tokens.get(self.cue.end).filter(|t| t.gap <= Gap::Line)
    }

    /// Whether a verdict of this weight can be on this gear: what happened is a verdict on gear named there and then;
    /// shrouds and stays are measured rather than tried.
    fn on_gear_that_is_tried(&self) -> bool {
        const NEAR: usize = 8;
        const TOPIC_NEAR: usize = 25;
        let mention = &self.talk.mentions[self.subject];
        // Gear that only carries a date is looked at, not tried.
        const DATED: &[&str] =
            &["flares", "smoke signals", "liferaft", "hydrostatic release", "first aid kit"];
        if self.weight != Weight::Word && DATED.contains(&mention.name.as_str()) {
            return false;
        }
        let here = self.thought.mentions.contains(&self.subject);
        let distance = self.cue.start.saturating_sub(mention.tokens.end);
        let serves = mention.gear().is_some_and(|g| g.prop) && !is_of_storms(mention);
        let of_rig = mention.gear().is_some_and(|g| g.group == "rig");
        match self.weight {
            Weight::Word => true,
            Weight::Said => !of_rig && (!serves || here),
            Weight::Sign => {
                let pronoun = self.front(4).iter().any(|t| t.is_any(words!["it", "he", "she", "they"]));
                let near = pronoun || distance <= if here { NEAR } else { TOPIC_NEAR };
                !of_rig
                    && !serves
                    && (near || self.cue.len() > 1)
                    && (!mention.generic || self.thought.head == Some(self.subject))
            }
        }
    }

    /// Whether the words are a whole statement: a bare word of praise, "pass" or "fail" is a verdict where it ends
    /// the thought, or is shouted; a question is none.
    fn says_so(&self) -> bool {
        let tokens = &self.talk.tokens;
        let token = &tokens[self.cue.start];
        if token.asked && self.outcome != Outcome::Unclear {
            return false;
        }
        if self.outcome == Outcome::Fail && crate::fault::means_otherwise(self.talk, self.cue) {
            return false;
        }
        // "The gas alarm hasn't come": it was ordered, and has not failed.
        let waits = tokens[self.cue.end - 1].is("come") && token.is_any(words!["hasn't", "haven't", "hasnt"]);
        let moves = |t: &Token<'_>| {
            t.is_any(words!["on", "up", "back", "down", "out", "away", "through", "off", "free", "loose"])
        };
        if waits && !self.next().is_some_and(moves) {
            return false;
        }
        // What "yes" means is told by what was asked, see `answer.rs`.
        if self.thought.answers && self.cue.len() == 1 && super::answer::is_word(token) {
            return false;
        }
        // "Gone hard as a cracker": a likeness says nothing of its own; "I have that down as a fail" does.
        if self.weight != Weight::Word
            && token.is_any(words!["a", "an"])
            && self.front(1).first().is_some_and(|t| t.is("as"))
        {
            return false;
        }
        // "I'm having a bath and a pie. Knackered."
        const TIRED: &WordList =
            words!["knackered", "shattered", "wrecked", "exhausted", "dead", "finished", "gubbed", "bushed"];
        let tired = token.is_any(TIRED)
            && self.thought.tokens.len() <= 2
            && self.thought.tokens.start.checked_sub(1).is_some_and(|last| {
                let sentence = self.talk.sentence_of(last);
                tokens[sentence.start].is_any(words!["i", "i'm", "we", "we're", "me", "my"])
            });
        if tired {
            return false;
        }
        // "Bulb looks good, so it is the cable": a part that is not to blame.
        const LOOKED_AT: &WordList = words![
            "bulb",
            "fuse",
            "sensor",
            "relay",
            "wiring",
            "wire",
            "cable",
            "switch",
            "contacts",
            "terminals"
        ];
        let looked_at = self.outcome == Outcome::Pass
            && self.weight != Weight::Word
            && self
                .front(3)
                .iter()
                .rev()
                .take_while(|t| t.gap < Gap::Comma || t.is_any(LOOKED_AT))
                .any(|t| t.is_any(LOOKED_AT))
            && !self.front(5).iter().any(|t| t.is("new"));
        if looked_at {
            return false;
        }
        // "Next: nothing", "Damage: none": what a title asks for is not there.
        let title = || {
            self.cue.start.checked_sub(1).is_some_and(|i| {
                tokens[i].is_any(words![
                    "next",
                    "damage",
                    "leaks",
                    "faults",
                    "defects",
                    "problems",
                    "remarks",
                    "alarms",
                    "outstanding",
                    "missing",
                    "issues",
                    "complaints",
                    "snags",
                ])
            })
        };
        if self.cue.len() == 1
            && token.is_any(words!["nothing", "none"])
            && token.gap == Gap::Clause
            && title()
        {
            return false;
        }
        // "And there is no more bread".
        if self.next().is_some_and(|t| GRAMMAR.people_and_victuals.has(t))
            && tokens[self.cue.end - 1].is("more")
        {
            return false;
        }
        // "I pass over him", "then I sign".
        let does =
            self.front(1).first().is_some_and(|t| t.is_any(words!["i", "we", "you", "he", "she", "they"]));
        if does && self.outcome == Outcome::Pass && token.is_any(words!["pass", "passed", "passes", "sign"]) {
            let object = self.next().is_some();
            let conditional = self
                .front(2)
                .first()
                .is_some_and(|t| t.is_any(words!["then", "before", "till", "until", "when"]));
            if object || conditional {
                return false;
            }
        }
        // "I went out to look at it": people.
        let walked = token.is_any(words!["went", "go", "goes", "came", "ran", "fell", "sat", "stood"])
            && self.cue.len() <= 2
            && self.front(1).first().is_some_and(|t| t.is_any(words!["i", "we", "he", "they", "you"]));
        if walked {
            return false;
        }
        // "I won't do it now": what somebody gave up.
        let given_up = token.is_any(words!["won't", "wont", "will", "wouldn't", "would"])
            && self.front(1).first().is_some_and(|t| t.is_any(words!["i", "we", "he", "she", "they"]))
            && tokens[self.cue.end - 1].is_any(words!["do", "try", "go", "fit"]);
        if given_up {
            return false;
        }
        // "Rig check", "block creaks, check": a title, an order.
        if self.cue.len() == 1 && token.is("check") && token.gap < Gap::Sentence {
            return false;
        }
        let bare = self.lone
            || self.cue.len() == 1
                && self.weight != Weight::Sign
                && (self.outcome == Outcome::Pass || token.is("fail"));
        if !bare {
            return true;
        }
        let previous = self.front(1).first();
        if previous.is_some_and(|t| t.is_any(words!["half", "no", "to", "and", "the", "every", "oh", "very"]))
        {
            return false;
        }
        let subject = &self.talk.mentions[self.subject].tokens;
        let bound = subject.end <= self.cue.start
            && tokens[subject.end..self.cue.start]
                .iter()
                .all(|t| t.is_any(words!["a", "is", "'s", "that", "so", "also"]));
        let lone = self.thought.tokens.len() <= 3 || bound;
        let after_is = previous.is_some_and(|t| {
            t.is_any(words!["is", "'s", "are", "was", "were", "all", "both", "'re", "so", "just"])
        });
        let sentence = token.gap >= Gap::Sentence || (self.thought.terse && token.gap >= Gap::Comma);
        let named = self.weight == Weight::Word;
        let shouted = named && token.text.len() > 2 && token.text.chars().all(char::is_uppercase);
        let ends = self.cue.end == self.thought.tokens.end || tokens[self.cue.end].gap >= Gap::Line;
        let named = named && !self.lone;
        ends && (lone || after_is || sentence || named) || shouted
    }

    /// "not a cross either", "nothing like fine", "black mark for me".
    fn denied(&self) -> bool {
        // A denial right in front of what happened has turned it round already.
        let reach = self.phrase(3);
        let reach = if self.weight == Weight::Sign { &reach[..reach.len().saturating_sub(1)] } else { reach };
        let denied = reach.iter().any(|t| GRAMMAR.denials.has(t));
        let denies = self.outcome == Outcome::Pass
            || self.outcome == Outcome::Fail
                && (self.weight == Weight::Word || self.front(2).iter().any(|t| t.is("sorry")));
        // "A black mark for me", but "that will do for me".
        let of_people = self.weight == Weight::Word
            && self.next().is_some_and(|t| t.is("for"))
            && self.talk.tokens.get(self.cue.end + 1).is_some_and(|t| t.is_any(words!["me", "us", "him"]));
        denied && denies || of_people
    }

    /// "Jammed at the third turn", "stuck on the second try": not how it went well, but where it did not.
    fn tells_where_it_failed(&self) -> bool {
        static FAILED: Words = Words::new(
            "jammed jams stuck sticks failed fails died dies tripped trips stalled stalls snagged snags fouled \
             fouls seized",
        );
        self.outcome == Outcome::Pass
            && self.talk.tokens[self.cue.start].is_any(words!["at", "on", "in", "after", "by"])
            && self.phrase(2).iter().any(|t| FAILED.has(t))
    }

    /// "my hands don't work".
    fn of_the_body(&self) -> bool {
        self.outcome != Outcome::Pass
            && self
                .front(4)
                .iter()
                .any(|t| t.is_any(words!["hands", "fingers", "arms", "feet", "legs", "head", "back"]))
    }

    /// Praise that goes on to say something else: "good till 2030", "good news", "first time I couldn't".
    fn reaches_on(&self) -> bool {
        let Some(next) = self.next().filter(|_| self.outcome == Outcome::Pass) else { return false };
        let then = self.talk.tokens.get(self.cue.end + 1);
        match self.weight {
            Weight::Said => {
                let dated = then.is_some_and(|t| {
                    t.kind == Kind::Number
                        || t.is_any(words!["twenty", "thirty"])
                        || month(&t.lower).is_some()
                });
                next.is_any(words![
                    "till", "until", "til", "news", "morning", "night", "idea", "luck", "old", "bit",
                    "thing", "time",
                ]) || next.is_any(words!["for", "to", "enough"]) && dated
            }
            Weight::Sign => {
                // "It stays on the list".
                let listed = next.is_any(words!["the", "my", "our"]) && then.is_some_and(|t| t.is("list"));
                listed
                    || next.is_any(words!["out", "into", "away"])
                    || next.is_any(words!["i", "we", "it", "she", "he"])
                        && then.is_some_and(|t| {
                            t.is_any(words![
                                "couldn't", "didn't", "wouldn't", "could", "can't", "stopped", "jammed",
                            ])
                        })
            }
            Weight::Word => false,
        }
    }

    /// Whether the clause makes the words a wish, a condition, a plan or an obligation: a condition anywhere in front,
    /// a modal verb between the gear and the words.
    fn supposed(&self) -> bool {
        let reach = if self.weight == Weight::Word { 4 } else { 10 };
        let tokens = &self.talk.tokens;
        let clause = self.talk.clauses[self.talk.clause_of(self.cue.start)].tokens.start;
        let from = self.thought.tokens.start.max(clause).max(self.cue.start.saturating_sub(reach));
        let subject = &self.talk.mentions[self.subject].tokens;
        let verb_from = if subject.end <= self.cue.start && self.thought.mentions.contains(&self.subject) {
            from.max(subject.end)
        } else {
            from.max(self.cue.start.saturating_sub(4))
        };
        let modal = (verb_from..self.cue.start).any(|i| {
            GRAMMAR.modals.has(&tokens[i]) && !tokens.get(i + 1).is_some_and(|t| GRAMMAR.calling.has(t))
        });
        modal || tokens[from..self.cue.start].iter().any(|t| GRAMMAR.conditions.has(t))
    }

    /// "0655 Slipped.", "slipped and proceeded": the lines to the shore, and no gear.
    fn cast_off(&self) -> bool {
        let tokens = &self.talk.tokens;
        let ends = tokens
            .get(self.cue.end)
            .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "at", "from"]));
        self.cue.len() == 1
            && tokens[self.cue.start].is("slipped")
            && tokens[self.cue.start].gap >= Gap::Sentence
            && ends
    }

    /// Whether the sentence speaks of another time or another boat.
    fn elsewhere(&self) -> bool {
        /// As far in front somebody may have been asked, in tokens.
        const ASKED: usize = 24;
        if self.weight == Weight::Word {
            return false;
        }
        // "I said that was sorted".
        if two(self.front(4), words!["i"], words!["said", "thought"]) {
            return true;
        }
        // "I asked him about the furler and he said it's fine": an opinion, and no trial.
        let asked = self.front(ASKED);
        if two(asked, words!["asked", "ask"], words!["him", "her", "them", "the", "my"])
            && two(
                asked,
                words!["he", "she", "they"],
                words!["said", "says", "reckons", "reckoned", "thinks"],
            )
        {
            return true;
        }
        const REACH: usize = 8;
        let tokens = &self.talk.tokens;
        let end = self.cue.end.max(self.thought.tokens.end.min(self.cue.end + REACH));
        // "It ran fine in October".
        let behind = &tokens[self.cue.end..end];
        let past_month = behind.windows(2).any(|w| {
            w[0].is_any(words!["in", "last"]) && month(&w[1].lower).is_some() && w[1].gap < Gap::Comma
        });
        const FAR_BEFORE: usize = 40;
        let sentence = &tokens[self.thought.tokens.start.max(self.cue.start.saturating_sub(FAR_BEFORE))..end];
        past_month
            || of_another_time(sentence)
            || !self.heard_by_others() && (others(sentence) || self.of_them_before())
            || crate::stance::tells_of_other_years(self.talk, self.thought.tokens.clone())
            || crate::stance::names_another_boat(&tokens[self.thought.tokens.clone()])
    }

    /// Whether the sentence goes on about the people of another boat: "the neighbour's leaked as well; he rebedded it".
    fn of_them_before(&self) -> bool {
        const REACH: usize = 12;
        let tokens = &self.talk.tokens;
        let start = self.thought.tokens.start;
        let theirs = tokens[start].is_any(words!["he", "she", "they"]) && tokens[start].gap < Gap::Block;
        theirs && others(&tokens[start.saturating_sub(REACH)..start])
    }

    /// Whether the words are part of what says that the gear was not tried ("not run since"), or leave open what the
    /// thought says was not.
    fn untried(&self) -> bool {
        if self.weight == Weight::Word && self.outcome != Outcome::Unclear {
            return false;
        }
        const REACH: usize = 14;
        let tokens = &self.talk.tokens;
        let unclear = self.outcome == Outcome::Unclear;
        let first = if unclear { 0 } else { self.thought.tokens.start };
        let from = first.max(self.cue.start.saturating_sub(REACH));
        (from..self.cue.end).any(|at| {
            WORDS.unproven.at(tokens, at).is_some_and(|m| {
                unclear && tokens[m.end..self.cue.start.max(m.end)].iter().all(|t| t.gap < Gap::Block)
                    || m.start < self.cue.end && self.cue.start < m.end
            })
        })
    }

    /// Whether the gear is heard or seen by other people, who then belong to the trial.
    fn heard_by_others(&self) -> bool {
        self.talk.mentions[self.subject].gear().is_some_and(|g| g.group == "radio" || g.group == "navigation")
    }
}

/// "He wants more wind before he says it's fixed", "not till I can call it good": what somebody waits to say.
pub(crate) fn is_awaited(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 8;
    let front =
        &talk.tokens[thought.tokens.start.max(cue.start.saturating_sub(REACH)).min(cue.start)..cue.start];
    let waits = |t: &Token<'_>| t.is_any(words!["before", "until", "till", "unless"]);
    let Some(from) = front.iter().rposition(waits) else { return false };
    front[from..].iter().take_while(|t| t.gap < Gap::Clause).any(|t| {
        t.is_any(words!["say", "says", "call", "calls", "know", "knows", "trust", "trusts", "believe"])
    })
}

/// Whether two words stand side by side in a sentence.
fn two(tokens: &[Token<'_>], a: &WordList, b: &WordList) -> bool {
    tokens.windows(2).any(|w| w[0].is_any(a) && w[1].is_any(b) && w[1].gap < Gap::Sentence)
}

/// Whether a sentence is about another time: "last year", "it used to".
pub(crate) fn of_another_time(sentence: &[Token<'_>]) -> bool {
    const SEASONS: &WordList = words![
        "year", "spring", "summer", "autumn", "fall", "winter", "season", "october", "july", "august",
        "june", "may",
    ];
    two(sentence, words!["last"], SEASONS)
        || two(sentence, words!["used"], words!["to"])
        || two(sentence, words!["was", "were"], words!["always"])
        || two(sentence, words!["the", "my", "that"], words!["old"])
            && !sentence.iter().any(|t| t.is_any(words!["new", "now"]))
}

/// Whether a stretch begins by telling of another time or of other people's gear.
pub fn begins_elsewhere(tokens: &[Token<'_>]) -> bool {
    const HEAD: usize = 6;
    let head = &tokens[..tokens.len().min(HEAD)];
    of_another_time(head) || others(head) || crate::stance::names_another_boat(head)
}

/// Whether a sentence is about people of another boat.
fn others(sentence: &[Token<'_>]) -> bool {
    sentence.iter().any(|t| GRAMMAR.others.has(t))
        || sentence.windows(2).any(|w| GRAMMAR.other_articles.has(&w[0]) && GRAMMAR.other_people.has(&w[1]))
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
