//! A note as the fold holds it against open matters: its findings with their words, each worked out once and only where
//! it is asked for, since most findings are of other gear than any open matter.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use rustc_hash::{FxHashMap, FxHashSet};

use super::same::{Words, ends_nothing, is_for_now, is_spared, named_alike, only_got, part_of, same_gear};
use crate::found::{Closing, Note, Outcome, Remark, Trial};
use crate::gear::by_name;

/// A note whose findings close matters, each finding with its words.
pub(super) struct Told<'a> {
    pub(super) note: &'a Note,
    trials: Vec<OnceCell<Words>>,
    closings: Vec<OnceCell<Words>>,
    remarks: Vec<OnceCell<Words>>,
    /// Gear that the remarks are of; many are of the same.
    remarked: FxHashSet<&'a str>,
    /// Of the accounts.
    facts: Vec<OnceCell<Facts>>,
    /// Which accounts have a stem among their words.
    having: OnceCell<FxHashMap<u64, Vec<usize>>>,
    /// What the note says near each gear that was asked for.
    near: RefCell<FxHashMap<String, Rc<Near>>>,
}

impl<'a> Told<'a> {
    pub(super) fn new(note: &'a Note) -> Self {
        let none = |n: usize| vec![OnceCell::new(); n];
        Self {
            note,
            trials: none(note.trials.len()),
            closings: none(note.closings.len()),
            remarks: none(note.remarks.len()),
            remarked: note.remarks.iter().map(|remark| remark.gear.as_str()).collect(),
            facts: vec![OnceCell::new(); note.accounts.len()],
            having: OnceCell::new(),
            near: RefCell::default(),
        }
    }

    /// The trials.
    pub(super) fn trials(&self) -> impl Iterator<Item = (&'a Trial, Said<'_>)> {
        let trials = self.note.trials.iter().zip(&self.trials);
        trials.map(|(trial, words)| (trial, Said { text: &trial.quote, words }))
    }

    /// The closings.
    pub(super) fn closings(&self) -> impl Iterator<Item = (&'a Closing, Said<'_>)> {
        let closings = self.note.closings.iter().zip(&self.closings);
        closings.map(|(closing, words)| (closing, Said { text: &closing.quote, words }))
    }

    /// The remarks, where any may be of a matter's gear.
    pub(super) fn remarks(&self, gear: Option<&str>) -> impl Iterator<Item = (&'a Remark, Said<'_>)> {
        let any = gear.is_none() || self.remarked.iter().any(|own| same_gear(Some(own), gear));
        let remarks = self.note.remarks.iter().zip(&self.remarks).take(if any { usize::MAX } else { 0 });
        remarks.map(|(remark, words)| (remark, Said { text: &remark.quote, words }))
    }

    /// What an account is besides what the model makes of it.
    pub(super) fn facts(&self, account: usize) -> &Facts {
        self.facts[account].get_or_init(|| {
            let quote = &self.note.accounts[account].quote;
            Facts {
                words: Words::of(quote),
                length: quote.split_whitespace().count(),
                turns: OnceCell::new(),
            }
        })
    }

    /// How many of some words each account has.
    pub(super) fn sharing(&self, words: &Words) -> Vec<usize> {
        let having = self.having.get_or_init(|| {
            let mut having: FxHashMap<u64, Vec<usize>> = FxHashMap::default();
            for account in 0..self.note.accounts.len() {
                for stem in self.facts(account).words.stems() {
                    having.entry(stem).or_default().push(account);
                }
            }
            having
        });
        let mut counts = vec![0; self.note.accounts.len()];
        for account in words.stems().filter_map(|stem| having.get(&stem)).flatten() {
            counts[*account] += 1;
        }
        counts
    }

    /// What the note says near some gear, worked out once for all matters of it.
    pub(super) fn near(&self, gear: Option<&str>) -> Rc<Near> {
        // No gear has an empty name.
        let key = gear.unwrap_or_default();
        let known = self.near.borrow().get(key).cloned();
        known.unwrap_or_else(|| {
            let near = Rc::new(Near::of(gear, self.note));
            self.near.borrow_mut().insert(key.to_owned(), Rc::clone(&near));
            near
        })
    }
}

/// What an account is besides what the model makes of it.
#[derive(Clone, Debug)]
pub(super) struct Facts {
    /// Its words of content.
    pub(super) words: Words,
    /// How many words it has in all.
    pub(super) length: usize,
    turns: OnceCell<Turns>,
}

/// What makes little of an account, however well it sounds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turns {
    /// See [`only_got`].
    pub(super) only_got: bool,
    /// See [`is_spared`].
    pub(super) spared: bool,
    /// See [`ends_nothing`].
    pub(super) ends_nothing: bool,
    /// See [`is_for_now`].
    pub(super) for_now: bool,
}

impl Facts {
    /// What makes little of it, worked out for those that come near to a matter; `quote` is the account's.
    pub(super) fn turns(&self, quote: &str) -> Turns {
        *self.turns.get_or_init(|| Turns {
            only_got: only_got(quote),
            spared: is_spared(quote),
            ends_nothing: ends_nothing(quote),
            for_now: is_for_now(quote),
        })
    }
}

/// What a note says near some gear.
#[derive(Debug)]
pub(super) struct Near {
    /// The words of the gear's name.
    pub(super) name: Words,
    /// How near each account is: what it is about, what it names and what it names aside, as places in
    /// [`NEARNESS`](super::over::NEARNESS).
    pub(super) nearest: Vec<[u8; 3]>,
    /// Items of the gear.
    pub(super) items: Vec<usize>,
    /// Trials of it that passed.
    pub(super) passed: Vec<usize>,
    /// Whether one did not.
    pub(super) failed: bool,
}

impl Near {
    fn of(gear: Option<&str>, note: &Note) -> Self {
        let own = |other: &str| same_gear(Some(other), gear);
        let nearest = note.accounts.iter().map(|account| {
            let least = |aside: bool| {
                let named = account.others.iter().filter(|(_, a)| *a == aside);
                named.map(|(other, _)| nearness(gear, other)).min().unwrap_or(FAR)
            };
            let subject = nearness(gear, &account.gear);
            [subject, subject.min(least(false)), least(true)]
        });
        let of_it = |passed: bool| {
            let trials = note.trials.iter().enumerate();
            trials
                .filter(move |(_, t)| (t.outcome == Outcome::Pass) == passed && own(&t.gear))
                .map(|(i, _)| i)
        };
        Self {
            name: Words::of(gear.unwrap_or_default()),
            nearest: nearest.collect(),
            items: (0..note.items.len())
                .filter(|&i| note.items[i].gear.as_deref().is_some_and(own))
                .collect(),
            passed: of_it(true).collect(),
            failed: of_it(false).next().is_some(),
        }
    }
}

/// The farthest place in [`NEARNESS`](super::over::NEARNESS).
const FAR: u8 = 5;

/// How near one gear is to another.
fn nearness(gear: Option<&str>, other: &str) -> u8 {
    let Some(gear) = gear else { return FAR };
    let group = |name: &str| by_name(name).map(|g| g.group.as_str());
    if gear == other {
        0
    } else if named_alike(Some(gear), Some(other)) {
        1
    } else if same_gear(Some(gear), Some(other)) {
        2
    } else if part_of(gear, other) {
        3
    } else if group(gear).is_some_and(|own| group(other) == Some(own)) {
        4
    } else {
        FAR
    }
}

/// What a note says in one place.
#[derive(Clone, Copy)]
pub(super) struct Said<'a> {
    text: &'a str,
    words: &'a OnceCell<Words>,
}

impl<'a> Said<'a> {
    /// Its words, worked out when first asked for: most findings are of other gear than any open matter.
    pub(super) fn words(&self) -> &'a Words {
        self.words.get_or_init(|| Words::of(self.text))
    }
}
