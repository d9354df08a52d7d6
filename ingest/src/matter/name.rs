//! Names of matters and findings: the same on every device, since they come from the source's hash and the place.

use super::{Ledger, Matter};
use crate::correct::Finding;
use crate::fnv::{BASIS, fnv};
use crate::found::{Span, Why};

/// Letters and digits that are easily told apart; vowels left out, so that no word comes of it.
const SIGNS: &[u8] = b"23456789bcdfghjkmnpqrstvwxz";
/// How many signs of a name are shown where they tell it from all others.
const SHORT: usize = 4;
/// How many signs a whole name has: 27^8 names, so that among 100,000 no two are likely to be alike.
const WHOLE: usize = 8;

/// The short name of what stands first at a place in a source.
pub fn short_name(source: &str, span: Span) -> String {
    let mut name = whole_name(source, span);
    name.truncate(SHORT);
    name
}

/// The whole name of what stands first at a place in a source; it begins with the short one.
pub fn whole_name(source: &str, span: Span) -> String {
    of_bytes(source.bytes().chain((span.start as u64).to_le_bytes()))
}

/// The whole name of a further matter that the same place raises, told from the first by its gear and reason.
pub(super) fn second_name(source: &str, span: Span, gear: Option<&str>, why: Why) -> String {
    let place = source.bytes().chain((span.start as u64).to_le_bytes());
    of_bytes(place.chain(gear.unwrap_or_default().bytes()).chain(why.name().bytes()))
}

/// The whole name of a reading or trial: the name of its place, which items go by, with what it is in front.
pub fn finding_name(of: Finding, source: &str, span: Span) -> String {
    let kind = match of {
        Finding::Reading => "r-",
        Finding::Trial => "t-",
        Finding::Item => "",
    };
    format!("{kind}{}", whole_name(source, span))
}

/// The whole name that comes from a decision's identifier.
pub fn name_of_decision(id: &str) -> String {
    of_bytes(id.bytes())
}

fn of_bytes(bytes: impl Iterator<Item = u8>) -> String {
    let mut hash = fnv(BASIS, bytes);
    let mut name = String::with_capacity(WHOLE);
    for _ in 0..WHOLE {
        name.push(SIGNS[(hash % SIGNS.len() as u64) as usize] as char);
        hash /= SIGNS.len() as u64;
    }
    name
}

/// How many bytes of each name, `least` or more, tell it from the names of all other owners.
pub fn lengths(names: &[(String, usize)], least: usize) -> Vec<usize> {
    let mut sorted: Vec<usize> = (0..names.len()).collect();
    sorted.sort_by(|&a, &b| names[a].0.cmp(&names[b].0));
    let mut out = vec![least; names.len()];
    let shared = |a: &str, b: &str| a.bytes().zip(b.bytes()).take_while(|(a, b)| a == b).count();
    for (at, &own) in sorted.iter().enumerate() {
        let other = |n: &&usize| names[**n].1 != names[own].1;
        let before = sorted[..at].iter().rev().find(other);
        let after = sorted[at + 1..].iter().find(other);
        for &near in before.into_iter().chain(after) {
            out[own] = out[own].max(shared(&names[own].0, &names[near].0) + 1);
        }
        out[own] = out[own].min(names[own].0.len());
    }
    out
}

/// Gives each matter the beginning of its whole name that no other matter goes by.
pub(super) fn shorten(ledger: &mut Ledger) {
    let matters = || ledger.open.iter().chain(&ledger.closed).chain(&ledger.dismissed);
    let mut names: Vec<(String, usize)> = Vec::new();
    let mut owner = std::collections::HashMap::new();
    for matter in matters() {
        // A matter that was reopened or came back under its name is one owner.
        let next = owner.len();
        let own = *owner.entry(matter.id.clone()).or_insert(next);
        names.extend(matter.names().map(|name| (name, own)));
    }
    let lengths = lengths(&names, SHORT);
    let length: std::collections::HashMap<&str, usize> =
        names.iter().zip(&lengths).map(|((name, _), length)| (name.as_str(), *length)).collect();
    let name = |matter: &mut Matter| {
        matter.name = matter.id[..length.get(matter.id.as_str()).copied().unwrap_or(SHORT)].to_owned();
    };
    for list in [&mut ledger.open, &mut ledger.closed, &mut ledger.dismissed] {
        list.iter_mut().for_each(name);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_name_is_the_beginning_of_the_whole_one() {
        let source = "ab".repeat(32);
        let whole = whole_name(&source, Span::new(7, 12));
        assert_eq!((whole.len(), short_name(&source, Span::new(7, 99))), (8, whole[..4].to_owned()));
        assert_ne!(whole, whole_name(&source, Span::new(8, 12)));
        assert_eq!(finding_name(Finding::Reading, &source, Span::new(7, 9)), format!("r-{whole}"));
    }

    #[test]
    fn names_are_as_long_as_it_takes_to_tell_owners_apart() {
        let names = |list: &[(&str, usize)]| {
            let list: Vec<_> = list.iter().map(|(name, owner)| ((*name).to_owned(), *owner)).collect();
            lengths(&list, 4)
        };
        assert_eq!(names(&[("bcdfghjk", 0), ("bcdfgzzz", 1), ("zzzzzzzz", 2)]), [6, 6, 4]);
        assert_eq!(names(&[("bcdfghjk", 0), ("bcdfgzzz", 0), ("bcdfgzzx", 0)]), [4, 4, 4]);
        assert_eq!(names(&[("bcdfghjk", 0), ("bcdfghjk", 1)]), [8, 8]);
    }
}
