//! Trials that nobody names as such, found by a small trained model: "a pint of diesel later the socks were dry" is a
//! passed trial of the heater in words that no lexicon has.
//!
//! Each stretch of talk on which the rules and the model of stretches are silent has signs: what that model makes of its
//! words, what cues it has, how long it is, and what gear it is of, since talk of an autopilot at sea mostly tells how it
//! steered. Each sign has a weight in `lexicon/untold.toml`, which `ingest/train/weights.py` makes.

use super::second::{is_told, trial, went, would_be};
use super::{Judged, NAMES, Opinions, Stretch};
use crate::found::{Outcome, Trial};
use crate::item::Cues;
use crate::talk::Talk;
use crate::topic::{name, serves};
use crate::weigh::InUse;

/// Signs that stand for themselves, in the order of their places.
const SINGLE: [&str; 8] = [
    "serves other gear",
    "general name",
    "asked",
    "length",
    "cue: task",
    "cue: untried",
    "cue: done",
    "cue: verdict",
];
/// As many tokens as make a stretch long.
const LONG: usize = 40;

/// Where each kind of sign begins, and how many there are.
mod at {
    use super::{NAMES, SINGLE};

    pub(super) const ALONE: usize = NAMES.len();
    pub(super) const COUNT: usize = ALONE + SINGLE.len();
}

/// The signs of one stretch; each from 0 to about 1.
pub type UntoldSigns = [f32; at::COUNT];

/// The names of the signs, in order, as `lexicon/untold.toml` has them.
pub fn untold_sign_names() -> Vec<String> {
    NAMES.iter().map(|n| format!("likely: {n}")).chain(SINGLE.map(str::to_owned)).collect()
}

/// The weights of the signs of a stretch.
pub static UNTOLD_WEIGHTS: InUse<{ at::COUNT }> =
    InUse::new(include_str!("../../lexicon/untold.toml"), untold_sign_names);

/// A stretch that may tell of a trial, and its signs.
pub struct Untold<'o> {
    stretch: &'o Stretch,
    outcome: Outcome,
    /// Its signs.
    pub signs: UntoldSigns,
}

impl Untold<'_> {
    /// The trial that it would be.
    pub fn trial(&self, talk: &Talk<'_>) -> Trial {
        trial(talk, self.stretch, self.outcome, true)
    }
}

/// What may be a trial among the stretches that tell of none so far, in order.
pub fn untold<'o>(talk: &Talk<'_>, opinions: &'o Opinions, trials: &[Trial]) -> Vec<Untold<'o>> {
    opinions
        .iter()
        .filter(|(stretch, _)| would_be(talk, stretch) && !is_told(talk, stretch, trials))
        .map(|(stretch, judged)| Untold {
            stretch,
            outcome: went(talk, stretch, judged).0,
            signs: signs(talk, stretch, judged),
        })
        .collect()
}

/// Those of them that are likely enough, one of each gear.
pub fn likely_enough(talk: &Talk<'_>, untold: &[Untold<'_>]) -> Vec<Trial> {
    let weights = UNTOLD_WEIGHTS.get();
    let mut out: Vec<Trial> = Vec::new();
    for one in untold {
        let gear = name(talk, one.stretch.subject);
        if weights.sum_of(&one.signs, &super::trial_kinds(gear)) >= weights.least
            && out.iter().all(|t| t.gear != gear)
        {
            out.push(one.trial(talk));
        }
    }
    out
}

fn signs(talk: &Talk<'_>, stretch: &Stretch, Judged(likely): &Judged) -> UntoldSigns {
    let mut out = [0.0; at::COUNT];
    out[..NAMES.len()].copy_from_slice(likely);
    let mention = &talk.mentions[stretch.subject];
    let flag = |holds: bool| if holds { 1.0 } else { 0.0 };
    let cue = |of: &dyn Fn(u8) -> bool| flag(talk.cues().within(&stretch.tokens).any(|(_, kind)| of(kind)));
    let single = [
        flag(serves(mention)),
        flag(mention.generic),
        flag(talk.tokens[stretch.tokens.start].asked),
        stretch.tokens.len().min(LONG) as f32 / LONG as f32,
        cue(&|kind| kind == Cues::TASK),
        cue(&|kind| kind == Cues::UNTRIED),
        cue(&|kind| kind == Cues::DONE),
        cue(&|kind| kind < Cues::UNTRIED),
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
        let names = untold_sign_names();
        assert_eq!(names.len(), at::COUNT);
        let read = Weights::<{ at::COUNT }>::read(include_str!("../../lexicon/untold.toml"), &names);
        assert!(read.is_ok(), "{read:?}");
    }
}
