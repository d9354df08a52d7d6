//! A second opinion: what a stretch of talk about one thing says of it, by a small trained model.
//!
//! The rules of the other modules go by words that the lexicon has. A skipper has others: "fuel filters, six of them,
//! in the blue tub" has no word of closing in it. The model has read some thousands of sayings and the notes of
//! `fixtures/corpus`, and judges a whole stretch by all of its words. It is asked where the rules are silent,
//! and believed only where it is sure; what follows from it says so among its reasons.

mod account;
mod model;
mod second;
mod signs;
mod sure;
mod tried;
mod untold;

use std::ops::Range;

use crate::found::Span;
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name, prepositional, serves};

pub use account::accounts;
pub use model::{Model, use_model};
pub use second::{add_items, settle_trials};
pub use signs::{SIGNS, signs};
use signs::{Seen, gather};
pub use sure::{ITEM_WEIGHTS, ItemSigns, item_sign_names, item_signs, mark_unsure};
use tried::keep_sure;
pub use tried::{TRIAL_WEIGHTS, TrialSigns, trial_kinds, trial_sign_names, trial_signs};
pub use untold::{UNTOLD_WEIGHTS, Untold, UntoldSigns, untold, untold_sign_names};

/// What a stretch may say of the gear that it is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum Says {
    /// It was tried and did its job.
    Pass,
    /// Work on it was done, or it was got.
    Done,
    /// It was tried and did not do its job.
    Fail,
    /// It did part of its job.
    Partial,
    /// It was tried, and that settled nothing.
    Unclear,
    /// It was not tried.
    Unproven,
    /// Something is to be done about it.
    Task,
    /// Anything else: a reading, a plan, a story, another boat.
    Other,
}

/// Names of what a stretch may say, in the order of [`Says`]; the training data goes by them.
pub const NAMES: [&str; 8] = ["pass", "done", "fail", "partial", "unclear", "unproven", "task", "none"];

/// How likely a stretch says each of [`NAMES`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged(pub [f32; NAMES.len()]);

impl Judged {
    /// How likely it says one of these.
    pub fn says(&self, any: &[Says]) -> f32 {
        any.iter().map(|&s| self.0[s as usize]).sum()
    }
}

/// A stretch of talk about one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Its tokens.
    pub tokens: Range<usize>,
    /// The mention of the gear that it is about.
    pub subject: usize,
}

/// Longest stretch in tokens.
const LONGEST: usize = 60;

/// Cuts a note into stretches: from each thought that names gear, on until other gear is named or the block ends.
pub fn stretches(talk: &Talk<'_>, thoughts: &[Thought]) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    let mut going = false;
    for thought in thoughts {
        // An answer goes on from its question, whoever gives it.
        let begins = talk.tokens[thought.tokens.start].gap == Gap::Block && !thought.answers;
        going &= !begins;
        let subject = subject(talk, thought);
        let short = |s: &Stretch| thought.tokens.end - s.tokens.start <= LONGEST;
        match out.last_mut().filter(|s| going && short(s)) {
            Some(last) if subject.is_none_or(|m| name(talk, m) == name(talk, last.subject)) => {
                last.tokens.end = thought.tokens.end;
            }
            _ => {
                let Some(subject) = subject else {
                    going = false;
                    continue;
                };
                let end = thought.tokens.end.min(thought.tokens.start + LONGEST);
                out.push(Stretch { tokens: thought.tokens.start..end, subject });
                going = true;
            }
        }
    }
    out
}

/// The mention that a thought is about: at its head, else the first that does not only serve other gear; where all that
/// it names stands behind a preposition ("two fingers on the wheel"), the topic of the talk.
fn subject(talk: &Talk<'_>, thought: &Thought) -> Option<usize> {
    /// A topic further back, in tokens, is no longer meant.
    const NEAR: usize = 60;
    let plain = |m: &usize| {
        !serves(&talk.mentions[*m]) && !prepositional(&talk.tokens, talk.mentions[*m].tokens.start)
    };
    let own = || thought.mentions.clone();
    let topic = || thought.topic.filter(|&m| talk.mentions[m].tokens.end + NEAR > thought.tokens.start);
    thought
        .head
        .filter(plain)
        .or_else(|| own().find(plain))
        .or_else(|| topic().filter(|_| !own().is_empty()))
        .or_else(|| own().find(|&m| !serves(&talk.mentions[m])))
        .or(thought.head)
        .or_else(|| own().next())
}

/// What a reason of the model's own ends in.
const JUDGED: &str = ", judged by all of the words";

/// How a reason of the model's own is told.
fn judged_so(what: &str) -> String {
    format!("{what}{JUDGED}")
}

/// Whether a reason is one of the model's own.
fn is_judged(reason: &str) -> bool {
    reason.ends_with(JUDGED)
}

/// What the model says of a note's stretches.
#[derive(Clone, Debug, Default)]
pub struct Opinions(Vec<(Stretch, Judged)>);

impl Opinions {
    /// Judges the stretches of a note.
    pub fn of(talk: &Talk<'_>, thoughts: &[Thought]) -> Self {
        let mut found = Vec::new();
        let mut seen = Seen::none();
        let judge = |stretch: Stretch| {
            found.clear();
            gather(talk, &stretch.tokens, Some(stretch.subject), &mut found);
            seen.once(&mut found);
            let judged = Model::get().judge(&found);
            (stretch, judged)
        };
        Self(stretches(talk, thoughts).into_iter().map(judge).collect())
    }

    /// Those that share a place with a span, in order.
    fn at<'o>(
        &'o self,
        talk: &'o Talk<'_>,
        span: Span,
    ) -> impl Iterator<Item = (Span, &'o (Stretch, Judged))> + use<'o> {
        let place = |stretch: &Stretch| talk.span(stretch.tokens.clone());
        let first = self.0.partition_point(|(stretch, _)| place(stretch).end <= span.start);
        let all = self.0[first..].iter().map(move |found| (place(&found.0), found));
        all.take_while(move |(place, _)| place.start < span.end)
    }

    /// All of them, in order.
    pub fn iter(&self) -> impl Iterator<Item = &(Stretch, Judged)> {
        self.0.iter()
    }
}
