//! How sure a trial is, by a small trained model: whether what a note seems to tell of a trial is one.
//!
//! "Good" and "stuck" are said of many things that nobody tried. What tells a trial from such a word is how the verdict is
//! said, how near the gear stands to it, and what the model of stretches makes of all the words around it. Each sign has a
//! weight in `lexicon/tried.toml`, which `ingest/train/weights.py` makes. What is too unsure is taken for none: a trial
//! that never was would stand among what is proved, or on the list of what failed.

use super::{Judged, NAMES, Opinions, is_judged};
use crate::found::{Outcome, Span, Trial};
use crate::gear::by_name;
use crate::talk::Talk;
use crate::topic::{name, serves};
use crate::trial::Weight;
use crate::weigh::InUse;

/// How trials go, in the order of the signs.
const OUTCOMES: [Outcome; 4] = [Outcome::Pass, Outcome::Partial, Outcome::Fail, Outcome::Unclear];
/// How a verdict is said, in the order of the signs.
const SAID: [&str; 5] = ["word", "said", "sign", "of the kind of gear", "judged"];
/// Signs that stand for themselves, in the order of their places.
const SINGLE: [&str; 11] = [
    "no stretch",
    "of the stretch's gear",
    "things named",
    "words of the verdict",
    "words between",
    "gear behind",
    "gear far off",
    "serves other gear",
    "length",
    "other trials",
    "others of the outcome",
];
/// As many things in a stretch, words of a verdict, words between, words in a quote and trials as make a difference.
const SEVERAL: usize = 5;
/// See there.
const WORDS: usize = 5;
/// See there.
const FAR: usize = 20;
/// See there.
const LONG: usize = 40;
/// See there.
const MANY: f32 = 15.0;

/// Where each kind of sign begins, and how many there are.
mod at {
    use super::{NAMES, OUTCOMES, SAID, SINGLE};

    pub(super) const OUTCOME: usize = 0;
    pub(super) const SAID_SO: usize = OUTCOME + OUTCOMES.len();
    pub(super) const LIKELY: usize = SAID_SO + OUTCOMES.len() * SAID.len();
    pub(super) const OUTCOME_LIKELY: usize = LIKELY + NAMES.len();
    pub(super) const ALONE: usize = OUTCOME_LIKELY + OUTCOMES.len() * NAMES.len();
    pub(super) const COUNT: usize = ALONE + SINGLE.len();
}

/// The signs of one trial; each from 0 to about 1.
pub type TrialSigns = [f32; at::COUNT];

/// The names of the signs, in order, as `lexicon/tried.toml` has them.
pub fn trial_sign_names() -> Vec<String> {
    let outcomes = OUTCOMES.map(|o| o.name());
    let mut out: Vec<String> = outcomes.iter().map(|o| format!("outcome: {o}")).collect();
    out.extend(outcomes.iter().flat_map(|o| SAID.iter().map(move |s| format!("{o}, by: {s}"))));
    out.extend(NAMES.iter().map(|n| format!("likely: {n}")));
    out.extend(outcomes.iter().flat_map(|o| NAMES.iter().map(move |n| format!("{o}, likely: {n}"))));
    out.extend(SINGLE.map(str::to_owned));
    out
}

/// The weights of the signs of a trial.
pub static TRIAL_WEIGHTS: InUse<{ at::COUNT }> =
    InUse::new(include_str!("../../lexicon/tried.toml"), trial_sign_names);

/// Leaves out those of a note's trials that hardly are any.
pub fn keep_sure(talk: &Talk<'_>, opinions: &Opinions, trials: &mut Vec<Trial>) {
    let weights = TRIAL_WEIGHTS.get();
    let signs = trial_signs(talk, opinions, trials);
    let mut signs = signs.iter();
    trials.retain_mut(|trial| {
        let Some(signs) = signs.next() else { return true };
        let sum = weights.sum_of(signs, &trial_kinds(&trial.gear));
        trial.judged |= sum < weights.least;
        // What failed is worse to lose.
        sum >= if trial.outcome == Outcome::Pass { weights.least } else { weights.perhaps }
    });
}

/// Names of gear that was tried which have weights of their own, since some gear is tried and some only talked of: the gear's,
/// and its group's as `lexicon/proofs.toml` writes it, "all anchor".
pub fn trial_kinds(gear: &str) -> Vec<String> {
    match by_name(gear) {
        Some(gear) => vec![gear.name.clone(), format!("all {}", gear.group)],
        None => vec!["unknown gear".to_owned()],
    }
}

/// The signs of a note's trials.
pub fn trial_signs(talk: &Talk<'_>, opinions: &Opinions, trials: &[Trial]) -> Vec<TrialSigns> {
    let alike = |trial: &Trial| trials.iter().filter(|t| t.outcome == trial.outcome).count() - 1;
    trials.iter().map(|trial| signs(talk, opinions, trial, alike(trial), trials.len())).collect()
}

/// The signs of a trial; `alike` others of its note went as it did, and `all` there are.
fn signs(talk: &Talk<'_>, opinions: &Opinions, trial: &Trial, alike: usize, all: usize) -> TrialSigns {
    let mut out = [0.0; at::COUNT];
    let outcome = OUTCOMES.iter().position(|o| *o == trial.outcome).unwrap_or_default();
    let reason = |of: &str| trial.because.iter().find(|r| r.of == of);
    let cue = reason("outcome").map_or(trial.span, |r| r.span);
    let gear = reason("gear").map_or(trial.span, |r| r.span);
    let place = |span: Span| {
        let first = talk.tokens.partition_point(|t| t.span.end <= span.start);
        let end = talk.tokens.partition_point(|t| t.span.start < span.end);
        first..end.max(first)
    };
    let (cue_at, gear_at) = (place(cue), place(gear));
    let verdicts = &talk.cues().verdicts;
    let own = verdicts.iter().find(|(at, _)| *at == cue_at).map(|(_, cue)| cue.weight);
    let said = match own {
        _ if reason("outcome").is_some_and(|r| is_judged(&r.what)) => 4,
        Some(Weight::Word) => 0,
        Some(Weight::Said) => 1,
        Some(Weight::Sign) => 2,
        None => 3,
    };
    out[at::OUTCOME + outcome] = 1.0;
    out[at::SAID_SO + outcome * SAID.len() + said] = 1.0;
    let shared = |span: Span| span.end.min(trial.span.end).saturating_sub(span.start.max(trial.span.start));
    let holds = |span: Span| usize::from(span.start <= cue.start && cue.end <= span.end);
    let around = opinions
        .at(talk, trial.span)
        .map(|(place, found)| ((holds(place), shared(place)), found))
        .filter(|(shared, _)| shared.1 > 0)
        .reduce(|most, next| if next.0 > most.0 { next } else { most });
    let flag = |holds: bool| if holds { 1.0 } else { 0.0 };
    let mut of_it = false;
    let mut named = 0;
    if let Some((_, (stretch, Judged(likely)))) = around {
        out[at::LIKELY..at::LIKELY + NAMES.len()].copy_from_slice(likely);
        let crossed = at::OUTCOME_LIKELY + outcome * NAMES.len();
        out[crossed..crossed + NAMES.len()].copy_from_slice(likely);
        of_it = name(talk, stretch.subject) == trial.gear;
        let first = talk.mentions.partition_point(|m| m.tokens.start < stretch.tokens.start);
        let within = talk.mentions[first..].iter().take_while(|m| m.tokens.start < stretch.tokens.end);
        named = within.filter(|m| !serves(m)).count();
    }
    let between = cue_at.start.saturating_sub(gear_at.end) + gear_at.start.saturating_sub(cue_at.end);
    let mention = talk.mentions.iter().find(|m| m.tokens == gear_at);
    let share = |n: usize, most: usize| n.min(most) as f32 / most as f32;
    let single = [
        flag(around.is_none()),
        flag(of_it),
        share(named, SEVERAL),
        share(cue_at.len(), WORDS),
        share(between, FAR),
        flag(gear_at.start >= cue_at.end),
        flag(between > FAR),
        flag(mention.is_some_and(serves)),
        share(trial.quote.split_whitespace().count(), LONG),
        all as f32 / MANY,
        alike as f32 / MANY,
    ];
    out[at::ALONE..].copy_from_slice(&single);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::Weights;

    #[test]
    fn the_weights_that_are_built_in_read_and_every_sign_has_its_place() {
        let names = trial_sign_names();
        assert_eq!(names.len(), at::COUNT);
        let read = Weights::<{ at::COUNT }>::read(include_str!("../../lexicon/tried.toml"), &names);
        assert!(read.is_ok(), "{read:?}");
    }
}
