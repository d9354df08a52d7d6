//! How sure an item is, by a small trained model: whether what a note seems to leave is really left.
//!
//! A word of failing or of work is easily read into a phrase. What tells a real item from such a one is what the model of
//! stretches makes of all the words around it, why it is one, and whether it has gear of its own. Each sign has a weight in
//! `lexicon/sure.toml`, which `ingest/train/weights.py` makes. An item of which it is not sure is kept, and stands apart from
//! the others until the skipper or a later note bears it out.

use rustc_hash::FxHashMap;

use super::{Judged, NAMES, Opinions};
use crate::found::{Item, Span, Why};
use crate::talk::Talk;
use crate::topic::{name, serves};
use crate::weigh::InUse;

/// Reasons of items that notes raise by words; the others follow from figures and dates, and are sure.
const WHY: [Why; 4] = [Why::FailedTrial, Why::InconclusiveTrial, Why::Unproven, Why::Task];
/// Signs that stand for themselves, in the order of their places.
const SINGLE: [&str; 7] = [
    "no stretch",
    "of the stretch's gear",
    "no gear",
    "things named",
    "length",
    "others of its gear",
    "others",
];
/// As many things in a stretch, words in an item, items of one gear and items of a note as make a difference.
const SEVERAL: usize = 5;
/// See there.
const LONG: usize = 40;
/// See there.
const OTHERS: usize = 3;
/// See there.
const MANY: f32 = 15.0;

/// Where each kind of sign begins, and how many there are.
mod at {
    use super::{NAMES, SINGLE, WHY};

    pub(super) const WHY_ALONE: usize = 0;
    pub(super) const JUDGED: usize = WHY_ALONE + WHY.len();
    pub(super) const LIKELY: usize = JUDGED + WHY.len();
    pub(super) const WHY_LIKELY: usize = LIKELY + NAMES.len();
    pub(super) const ALONE: usize = WHY_LIKELY + WHY.len() * NAMES.len();
    pub(super) const COUNT: usize = ALONE + SINGLE.len();
}

/// The signs of one item; each from 0 to about 1.
pub type ItemSigns = [f32; at::COUNT];

/// The names of the signs, in order, as `lexicon/sure.toml` has them.
pub fn item_sign_names() -> Vec<String> {
    let why = WHY.map(Why::name);
    let mut out: Vec<String> = why.iter().map(|w| format!("why: {w}")).collect();
    out.extend(why.iter().map(|w| format!("judged: {w}")));
    out.extend(NAMES.iter().map(|n| format!("likely: {n}")));
    out.extend(why.iter().flat_map(|w| NAMES.iter().map(move |n| format!("{w}, likely: {n}"))));
    out.extend(SINGLE.map(str::to_owned));
    out
}

/// The weights of the signs of an item.
pub static ITEM_WEIGHTS: InUse<{ at::COUNT }> =
    InUse::new(include_str!("../../lexicon/sure.toml"), item_sign_names);

/// Marks those of a note's items of which the model is not sure.
pub fn mark_unsure(talk: &Talk<'_>, opinions: &Opinions, items: &mut [Item]) {
    let weights = ITEM_WEIGHTS.get();
    let all = item_signs(talk, opinions, items);
    for (item, signs) in items.iter_mut().zip(all) {
        item.unsure = signs.is_some_and(|signs| weights.sum(&signs) < weights.least);
    }
}

/// The signs of a note's items; `None` for one that follows from a figure or a date.
pub fn item_signs(talk: &Talk<'_>, opinions: &Opinions, items: &[Item]) -> Vec<Option<ItemSigns>> {
    let mut of_gear: FxHashMap<Option<&str>, usize> = FxHashMap::default();
    for item in items {
        *of_gear.entry(item.gear.as_deref()).or_default() += 1;
    }
    let alike = |item: &Item| of_gear[&item.gear.as_deref()] - 1;
    items.iter().map(|item| signs(talk, opinions, item, alike(item), items.len())).collect()
}

/// The signs of an item; `alike` others of its note are of its gear, and `all` there are.
fn signs(talk: &Talk<'_>, opinions: &Opinions, item: &Item, alike: usize, all: usize) -> Option<ItemSigns> {
    let why = WHY.iter().position(|why| *why == item.why)?;
    let mut out = [0.0; at::COUNT];
    out[at::WHY_ALONE + why] = 1.0;
    if item.because.iter().any(|reason| super::is_judged(&reason.what)) {
        out[at::JUDGED + why] = 1.0;
    }
    let shared = |span: Span| span.end.min(item.span.end).saturating_sub(span.start.max(item.span.start));
    let around = opinions
        .at(talk, item.span)
        .map(|(place, found)| (shared(place), found))
        .filter(|(shared, _)| *shared > 0)
        // Of several the first that holds most of it.
        .reduce(|most, next| if next.0 > most.0 { next } else { most });
    let flag = |holds: bool| if holds { 1.0 } else { 0.0 };
    let mut own = false;
    let mut named = 0;
    if let Some((_, (stretch, Judged(likely)))) = around {
        out[at::LIKELY..at::LIKELY + NAMES.len()].copy_from_slice(likely);
        let crossed = at::WHY_LIKELY + why * NAMES.len();
        out[crossed..crossed + NAMES.len()].copy_from_slice(likely);
        own = Some(name(talk, stretch.subject)) == item.gear.as_deref();
        let first = talk.mentions.partition_point(|m| m.tokens.start < stretch.tokens.start);
        let within = talk.mentions[first..].iter().take_while(|m| m.tokens.start < stretch.tokens.end);
        named = within.filter(|m| !serves(m)).count();
    }
    let single = [
        flag(around.is_none()),
        flag(own),
        flag(item.gear.is_none()),
        named.min(SEVERAL) as f32 / SEVERAL as f32,
        item.quote.split_whitespace().count().min(LONG) as f32 / LONG as f32,
        alike.min(OTHERS) as f32 / OTHERS as f32,
        all as f32 / MANY,
    ];
    out[at::ALONE..].copy_from_slice(&single);
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::Weights;

    #[test]
    fn the_weights_that_are_built_in_read_and_every_sign_has_its_place() {
        let names = item_sign_names();
        assert_eq!(names.len(), at::COUNT);
        let read = Weights::<{ at::COUNT }>::read(include_str!("../../lexicon/sure.toml"), &names);
        assert!(read.is_ok(), "{read:?}");
    }
}
