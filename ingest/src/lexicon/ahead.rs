//! What a token knows of what follows it, so that hardly a pattern is looked at that does not match there.

use std::sync::LazyLock;

use rustc_hash::FxHashMap;

use super::{OneOf, Patterns};
use crate::token::{Gap, Kind, Token};

/// What follows a token, for patterns to be passed over by.
#[derive(Clone, Copy, Debug)]
pub struct Ahead {
    /// Key of the word together with the one behind it; nought where no pattern goes on from one to the other.
    pub(super) two: u64,
    /// Bits for the next [`NEAR`] words.
    pub(super) near: u64,
    /// Bits for the next [`FAR`] words.
    pub(super) far: u64,
    /// A bit for each set that is built in, where one of its patterns may begin with the token: all of them, as long as it
    /// was not looked at.
    pub(super) begins: u32,
}

impl Default for Ahead {
    fn default() -> Self {
        Self { two: 0, near: 0, far: 0, begins: u32::MAX }
    }
}

/// How many tokens behind one are gathered in [`Ahead`].
pub(super) const NEAR: usize = 4;
pub(super) const FAR: usize = 16;

/// Notes with every token what follows it.
pub fn look_ahead(tokens: &mut [Token<'_>]) {
    let beginnings = &*BEGINNINGS;
    let mut next: Option<(&Token<'_>, Begins)> = None;
    for token in tokens.iter_mut().rev() {
        let own = beginnings.get(token);
        let is_number = token.kind == Kind::Number;
        let joined = next.filter(|(next, _)| !is_number && next.gap <= Gap::Line);
        let two = joined.map_or(0, |(next, _)| two(token.key, next.key));
        let begins = own.one | joined.map_or(0, |(_, begins)| own.two & begins.second);
        let far = next.map_or(0, |(next, _)| OneOf::bit(next.key));
        token.ahead =
            Ahead { two, near: far, far, begins: if is_number { beginnings.by_number } else { begins } };
        next = Some((token, own));
    }
    // Twice as far at each turn: what is known of one token goes on with what is known of another further on.
    let mut known = 1;
    while known < FAR {
        for i in 0..tokens.len().saturating_sub(known) {
            tokens[i].ahead.far |= tokens[i + known].ahead.far;
        }
        known *= 2;
        if known == NEAR {
            tokens.iter_mut().for_each(|token| token.ahead.near = token.ahead.far);
        }
    }
}

/// Key of two words, one behind the other.
pub(super) fn two(first: u64, second: u64) -> u64 {
    (first.rotate_left(23) ^ second).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(26)
}

/// A set of patterns that is built in. A note's words are looked for in dozens of them: which of them may begin with a
/// word is told once for all of them.
pub trait BuiltIn {
    /// Adds what its patterns begin with, and keeps its bit.
    fn note(&self, bit: u32, words: &mut FxHashMap<u64, Begins>);
    /// Whether one of its patterns begins with a number.
    fn begins_with_a_number(&self) -> bool;
}

impl<T> BuiltIn for Patterns<T> {
    fn note(&self, bit: u32, words: &mut FxHashMap<u64, Begins>) {
        for (pattern, _) in &self.all {
            let (first, second) = pattern.beginning();
            for key in first {
                let begins = words.entry(key).or_default();
                *(if second.is_some() { &mut begins.two } else { &mut begins.one }) |= bit;
            }
            for key in second.into_iter().flatten() {
                words.entry(key).or_default().second |= bit;
            }
        }
        self.noted.get_or_init(|| bit);
    }

    fn begins_with_a_number(&self) -> bool {
        !self.by_number.is_empty()
    }
}

/// What a word is to the patterns of the sets that are built in, a bit for each set.
#[derive(Clone, Copy, Debug, Default)]
pub struct Begins {
    /// Those with a pattern that it begins, whatever follows.
    one: u32,
    /// Those with a pattern that it begins where a certain word follows.
    two: u32,
    /// Those with a pattern in which it is that second word.
    second: u32,
}

/// [`Begins`] by words: those that share a place there are taken together, so that it stays small and is looked up at
/// once. A set may so be looked at in vain, but none is missed.
#[derive(Debug)]
struct Beginnings {
    places: Vec<Begins>,
    by_number: u32,
}

static BEGINNINGS: LazyLock<Beginnings> = LazyLock::new(|| {
    let all = [
        crate::fault::built_in(),
        crate::gear::built_in(),
        crate::item::built_in(),
        crate::life::built_in(),
        crate::quantity::built_in(),
        crate::stance::built_in(),
        crate::trial::built_in(),
    ];
    let (mut words, mut by_number) = (FxHashMap::default(), 0);
    // Any further ones have no bit, and are looked for as those are that a skipper taught.
    for (set, place) in all.into_iter().flatten().zip(0..u32::BITS) {
        set.note(1 << place, &mut words);
        if set.begins_with_a_number() {
            by_number |= 1 << place;
        }
    }
    let mut beginnings =
        Beginnings { places: vec![Begins::default(); words.len().next_power_of_two()], by_number };
    for (key, begins) in words {
        let place = beginnings.place(key);
        let all = &mut beginnings.places[place];
        *all = Begins {
            one: all.one | begins.one,
            two: all.two | begins.two,
            second: all.second | begins.second,
        };
    }
    beginnings
});

impl Beginnings {
    fn place(&self, key: u64) -> usize {
        key as usize & (self.places.len() - 1)
    }

    fn get(&self, token: &Token<'_>) -> Begins {
        self.places[self.place(token.key)]
    }
}
