//! What the fold knows of matters beside themselves: their words, worked out once, and which were closed by what gear, so that ten years of notes are folded in time that grows with them.

use std::sync::LazyLock;

use rustc_hash::FxHashMap;

use super::same::{Words, is_part, same_gear, same_matter};
use super::{Ledger, Matter};
use crate::found::Item;
use crate::gear::by_name;

static NONE: LazyLock<Words> = LazyLock::new(Words::default);

/// All that is told of a matter, as words.
pub(super) fn words_told(matter: &Matter) -> Words {
    told(Words::of(&matter.words()), &matter.about)
}

/// The words of evidence with those of the talk around it; an errand is one only by the evidence.
fn told(mut words: Words, about: &str) -> Words {
    let is_errand = words.is_errand;
    words.add(about);
    words.is_errand = is_errand;
    words
}

/// Of the matters of a ledger.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// Their words, by their whole names.
    words: FxHashMap<String, Words>,
    /// The same, with those of the talk around them.
    told_in: FxHashMap<String, Words>,
    /// Gear of closed matters, each with their places in the list of closed ones.
    closed: Vec<(Option<String>, Vec<usize>)>,
    /// Where each gear stands in that.
    gear: FxHashMap<Option<String>, usize>,
    /// For the gear of an item, which of the first so many gear there are near to it.
    near: FxHashMap<Option<String>, (usize, Vec<usize>)>,
    /// Places in the list of closed matters, by their whole names.
    places: FxHashMap<String, usize>,
    /// For each closed matter the places of those that it is the return of.
    before: Vec<Vec<usize>>,
    /// For each closed matter the last item of which one that came later was told.
    told: Vec<u32>,
    /// How many items were asked about.
    asked: u32,
}

impl Known {
    /// The words of a matter's evidence.
    pub(super) fn words(&self, matter: &Matter) -> &Words {
        self.words.get(&matter.id).unwrap_or(&NONE)
    }

    /// The same, with those of the talk around it.
    pub(super) fn told(&self, matter: &Matter) -> &Words {
        self.told_in.get(&matter.id).unwrap_or(&NONE)
    }

    /// Takes further evidence of a matter in: its words, and what is told of it.
    pub(super) fn add(&mut self, id: &str, words: Words, about: &str) {
        let told = told(words.clone(), about);
        for (of, words) in [(&mut self.words, words), (&mut self.told_in, told)] {
            match of.get_mut(id) {
                Some(known) => known.take_in(words),
                None => _ = of.insert(id.to_owned(), words),
            }
        }
    }

    /// Forgets the words of a matter.
    pub(super) fn forget(&mut self, id: &str) {
        self.words.remove(id);
        self.told_in.remove(id);
    }

    /// Takes in that a matter was closed, and stands at a place in the list.
    pub(super) fn closed(&mut self, matter: &Matter, at: usize) {
        self.places.insert(matter.id.clone(), at);
        let before = self.places_before(matter);
        self.before.push(before);
        match self.gear.get(&matter.gear) {
            Some(&gear) => self.closed[gear].1.push(at),
            None => {
                self.gear.insert(matter.gear.clone(), self.closed.len());
                self.closed.push((matter.gear.clone(), vec![at]));
            }
        }
    }

    /// The places of closed matters that a matter is the return of.
    fn places_before(&self, matter: &Matter) -> Vec<usize> {
        matter.earlier.iter().filter_map(|id| self.places.get(id).copied()).collect()
    }

    /// Looks a ledger over that a ruling may have changed in any way.
    pub(super) fn ruled(&mut self, ledger: &Ledger) {
        for matter in &ledger.open {
            self.words.insert(matter.id.clone(), Words::of(&matter.words()));
            self.told_in.insert(matter.id.clone(), words_told(matter));
        }
        self.closed.clear();
        self.gear.clear();
        self.near.clear();
        self.places.clear();
        self.before.clear();
        for (at, matter) in ledger.closed.iter().enumerate() {
            self.closed(matter, at);
        }
        // A ruling may have closed one after those that are its return.
        self.before = ledger.closed.iter().map(|matter| self.places_before(matter)).collect();
    }

    /// Whole names of the closed matters that an item is the return of; those that one of them is the return of itself
    /// are left to it.
    pub(super) fn earlier(&mut self, ledger: &Ledger, item: &Item, said: &Words) -> Vec<String> {
        self.look_for_near(item.gear.as_deref());
        let near = self.near.get(&item.gear).map_or(&[][..], |(_, near)| near.as_slice());
        let mut places: Vec<usize> = near.iter().flat_map(|&gear| &self.closed[gear].1).copied().collect();
        places.sort_unstable();
        let mut earlier = Vec::new();
        let mut told = std::mem::take(&mut self.told);
        told.resize(ledger.closed.len(), 0);
        self.asked += 1;
        // The latest first: most that come before it are told by it, and need not be looked at.
        for at in places.into_iter().rev() {
            let Some(matter) = ledger.closed.get(at) else { continue };
            let is_told = told[at] == self.asked;
            if is_told || same_matter(matter, || self.words(matter), item, said) {
                for &before in &self.before[at] {
                    told[before] = self.asked;
                }
                if !is_told {
                    earlier.push(matter.id.clone());
                }
            }
        }
        self.told = told;
        earlier.reverse();
        earlier
    }

    /// Notes down which gear of closed matters an item of some gear may be the return of a matter of. There are many
    /// items of a gear, and few gear.
    fn look_for_near(&mut self, own: Option<&str>) {
        let own_gear = own.map(str::to_owned);
        let (seen, mut near) = self.near.remove(&own_gear).unwrap_or_default();
        let whole = own.and_then(by_name).and_then(|own| own.part_of.as_deref());
        let is_near = |gear: Option<&str>| match (gear, own) {
            (Some(gear), Some(own)) => {
                same_gear(Some(gear), Some(own)) || whole == Some(gear) || is_part(Some(gear), own)
            }
            // Work that names no gear is told by its words.
            _ => true,
        };
        near.extend((seen..self.closed.len()).filter(|&gear| is_near(self.closed[gear].0.as_deref())));
        self.near.insert(own_gear, (self.closed.len(), near));
    }
}
