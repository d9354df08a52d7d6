//! Signs: the words of a stretch as numbers that a model can weigh.
//!
//! Words, pairs, threes and pairs with one word between; gear by what it serves, numbers as such, commas and stops;
//! the beginnings of long words; and the cues that the lexicon finds. Each is hashed into one of [`SIGNS`] places.

use std::ops::Range;

use crate::fnv::{BASIS, fnv};
use crate::talk::Talk;
use crate::token::{Gap, Kind};

/// How many places there are for signs.
pub const SIGNS: usize = 1 << 15;

fn hash(from: u64, bytes: &[u8]) -> u64 {
    fnv(from, bytes.iter().copied())
}

fn place(kind: u8, parts: &[u64]) -> u32 {
    let h = parts.iter().fold(hash(BASIS, &[kind]), |h, p| hash(h, &p.to_le_bytes()));
    ((h ^ (h >> 29)) as usize % SIGNS) as u32
}

/// Adds the signs of a stretch to a list, each once, in order of their places.
pub fn signs(talk: &Talk<'_>, stretch: &Range<usize>, subject: Option<usize>, out: &mut Vec<u32>) {
    gather(talk, stretch, subject, out);
    out.sort_unstable();
    out.dedup();
}

/// Which places of signs were seen: a bit for each.
pub(super) struct Seen(Vec<u64>);

impl Seen {
    /// None yet.
    pub(super) fn none() -> Self {
        Self(vec![0; SIGNS / 64])
    }

    /// Leaves each sign of a list once, in the order in which they stand, and forgets them for the next list.
    pub(super) fn once(&mut self, signs: &mut Vec<u32>) {
        signs.retain(|&sign| {
            let seen = &mut self.0[sign as usize / 64];
            let is_new = *seen >> (sign % 64) & 1 == 0;
            *seen |= 1 << (sign % 64);
            is_new
        });
        signs.iter().for_each(|&sign| self.0[sign as usize / 64] = 0);
    }
}

/// Adds the signs of a stretch to a list, some of them more than once.
pub(super) fn gather(talk: &Talk<'_>, stretch: &Range<usize>, subject: Option<usize>, out: &mut Vec<u32>) {
    let own = subject.map(|m| talk.mentions[m].name.as_str());
    let mut units: Vec<u64> = vec![hash(BASIS, b"^")];
    let mut mention = talk.mentions.partition_point(|m| m.tokens.end <= stretch.start);
    let mut at = stretch.start;
    while at < stretch.end {
        let token = &talk.tokens[at];
        if at > stretch.start {
            match token.gap {
                Gap::Comma => units.push(hash(BASIS, b",")),
                Gap::Clause => units.push(hash(BASIS, b":")),
                Gap::Sentence | Gap::Block => units.push(hash(BASIS, b".")),
                _ => {}
            }
        }
        while talk.mentions.get(mention).is_some_and(|m| m.tokens.end <= at) {
            mention += 1;
        }
        if let Some(named) = talk.mentions.get(mention).filter(|m| m.tokens.start <= at) {
            let group = named.gear().map_or("?", |g| g.group.as_str());
            let is_own = Some(named.name.as_str()) == own;
            out.push(place(b'n', &[hash(BASIS, named.name.as_bytes()), u64::from(is_own)]));
            out.push(place(b'u', &[hash(BASIS, group.as_bytes()), u64::from(is_own)]));
            units.push(if is_own { hash(BASIS, b"<own>") } else { hash(BASIS, b"<gear>") });
            at = named.tokens.end.max(at + 1);
            continue;
        }
        let unit = if token.kind == Kind::Number { b"#" } else { token.lower.as_bytes() };
        let unit = hash(BASIS, unit);
        units.push(unit);
        out.push(place(b'w', &[unit]));
        if token.kind == Kind::Word && token.lower.len() > 5 {
            let end = token.lower.char_indices().nth(5).map_or(token.lower.len(), |(at, _)| at);
            out.push(place(b'p', &[hash(BASIS, &token.lower.as_bytes()[..end])]));
        }
        if token.asked {
            out.push(place(b'?', &[]));
        }
        at += 1;
    }
    units.push(hash(BASIS, b"$"));
    out.extend(units.windows(2).map(|w| place(b'2', w)));
    out.extend(units.windows(3).map(|w| place(b'3', w)));
    out.extend(units.windows(3).map(|w| place(b's', &[w[0], w[2]])));
    for (cue, kind) in talk.cues().within(stretch) {
        out.push(place(b'c', &[u64::from(kind)]));
        if cue.start > stretch.start && denied(talk, cue.start) {
            out.push(place(b'd', &[u64::from(kind)]));
        }
    }
    if let Some(done) = talk.ticked(stretch.start) {
        out.push(place(b't', &[u64::from(done)]));
    }
}

/// Whether a denial stands shortly in front.
fn denied(talk: &Talk<'_>, at: usize) -> bool {
    (at.saturating_sub(3)..at)
        .rev()
        .take_while(|&i| talk.tokens[i + 1].gap < Gap::Comma)
        .any(|i| crate::grammar::GRAMMAR.denials.has(&talk.tokens[i]))
}
