//! Whether an account of gear shows that an open matter is over, by a small trained model.
//!
//! The other ways of closing go by words that the lexicon has. "The holder came by post; port side of the bow shows red
//! again" has none. What tells that it closes "port sidelight dark" is many signs together, none of which would do: that it
//! is of the same gear or a part of it, that it has words of the matter, that it sounds like something that works or was
//! done, why the matter is open, and what else the note says of that gear. Each sign has a weight in `lexicon/over.toml`,
//! which `ingest/train/weights.py` makes; their sum decides. A wrong closing hides work: a closing by this stands at
//! the foot of the list until the skipper or time bears it out, and where the sum is less, the matter stays open with the
//! account beside it.

use super::Matter;
use super::known::words_told;
use super::same::Words;
use super::told::{Facts, Near, Told, Turns};
use crate::found::{Account, Note, Why};
use crate::judge::{NAMES, Says};
use crate::weigh::InUse;

/// Names of how near the gear of a matter is to gear that an account names, nearest first.
pub const NEARNESS: [&str; 6] = ["same", "alike", "kin", "part", "group", "other"];
/// How many of [`NEARNESS`] are near enough for an account that shares no word with the matter.
const NEAR: u8 = 4;
/// As many shared words as make a difference.
const MANY: usize = 4;
/// As many tokens as make an account long, and as many things as make it one of several.
const LONG: f32 = 60.0;
/// See there.
const SEVERAL: usize = 4;

/// Why a matter is open, in the order of the signs.
const WHY: [Why; 6] =
    [Why::FailedTrial, Why::InconclusiveTrial, Why::Unproven, Why::Task, Why::OutOfLimits, Why::Overdue];

/// Signs that stand for themselves, in the order of their places.
const SINGLE: [&str; 16] = [
    "words of the matter in the account",
    "an errand",
    "an errand, done",
    "an errand, works",
    "no gear",
    "against",
    "words shared, well",
    "length",
    "things named",
    "leaves something here",
    "leaves something of the gear here",
    "leaves something of the gear",
    "fault of the gear left",
    "gear passed",
    "gear passed here",
    "gear failed",
];

/// Where each kind of sign begins, and how many there are.
mod at {
    use super::{MANY, NAMES, NEARNESS, SINGLE, WHY};

    pub(super) const SUBJECT: usize = 0;
    pub(super) const NAMED: usize = SUBJECT + NEARNESS.len();
    pub(super) const ASIDE: usize = NAMED + NEARNESS.len();
    pub(super) const NEAREST_WELL: usize = ASIDE + NEARNESS.len();
    pub(super) const SHARED: usize = NEAREST_WELL + NEARNESS.len();
    pub(super) const SHARED_NAME: usize = SHARED + MANY + 1;
    pub(super) const LIKELY: usize = SHARED_NAME + 3;
    pub(super) const WHY_ALONE: usize = LIKELY + NAMES.len();
    pub(super) const WHY_PASS: usize = WHY_ALONE + WHY.len();
    pub(super) const WHY_DONE: usize = WHY_PASS + WHY.len();
    pub(super) const WHY_BAD: usize = WHY_DONE + WHY.len();
    pub(super) const ALONE: usize = WHY_BAD + WHY.len();
    pub(super) const COUNT: usize = ALONE + SINGLE.len();
}

/// The signs of one account against one matter; each from 0 to about 1.
pub type Signs = [f32; at::COUNT];

/// The names of the signs, in order, as `lexicon/over.toml` has them.
pub fn sign_names() -> Vec<String> {
    let of = |kind: &str, names: &[&str]| names.iter().map(|n| format!("{kind}: {n}")).collect::<Vec<_>>();
    let why = WHY.map(Why::name);
    let counts = ["0", "1", "2", "3", "4"];
    [
        of("subject", &NEARNESS),
        of("named", &NEARNESS),
        of("aside", &NEARNESS),
        of("well of", &NEARNESS),
        of("words shared", &counts[..=MANY]),
        of("words of the name shared", &counts[..3]),
        of("likely", &NAMES),
        of("open for", &why),
        of("works, open for", &why),
        of("done, open for", &why),
        of("wrong, open for", &why),
        SINGLE.map(str::to_owned).to_vec(),
    ]
    .concat()
}

/// The weights of the signs of an account against a matter.
pub static WEIGHTS: InUse<{ at::COUNT }> = InUse::new(include_str!("../../lexicon/over.toml"), sign_names);

/// An account by which a matter is over, or may be.
pub(super) struct Shown<'a> {
    pub(super) account: &'a Account,
    /// Whether it is likely enough to close the matter.
    pub(super) sure: bool,
}

/// The account of a note by which a matter is over or may be, if there is one: the likeliest.
pub(super) fn shown_by<'a>(matter: &Matter, words: &Words, told: &Told<'a>) -> Option<Shown<'a>> {
    let weights = WEIGHTS.get();
    let mut best: Option<(f32, &Account)> = None;
    each(matter, words, told, |account, signs, turns| {
        // "Wiggled it, behaves, for now" may end it at most.
        let most = if turns.for_now { weights.least.next_down() } else { f32::MAX };
        let sum = weights.sum(signs).min(most);
        let least = if is_of_other_gear(signs) { weights.least } else { weights.perhaps };
        if sum >= least && best.is_none_or(|(most, _)| sum > most) {
            best = Some((sum, account));
        }
    });
    best.map(|(sum, account)| Shown { account, sure: sum >= weights.least })
}

/// Whether an account names quite other gear, and has one word of the matter at most: it leaves nobody in doubt.
fn is_of_other_gear(signs: &Signs) -> bool {
    const OTHER: usize = NEARNESS.len() - 1;
    let other = [at::SUBJECT, at::NAMED, at::ASIDE].iter().all(|first| signs[first + OTHER] == 1.0);
    other && signs[at::SHARED] + signs[at::SHARED + 1] == 1.0
}

/// Gives the signs of each account of a note that may bear on a matter.
fn each<'a>(
    matter: &Matter,
    words: &Words,
    told: &Told<'a>,
    mut found: impl FnMut(&'a Account, &Signs, Turns),
) {
    if told.note.accounts.is_empty() {
        return;
    }
    let near = told.near(matter.gear.as_deref());
    for (index, shared) in told.sharing(words).into_iter().enumerate() {
        if shared == 0 && near.nearest[index].iter().min() >= Some(&NEAR)
            || !can_settle(&told.note.accounts[index], told.facts(index), matter, words)
        {
            continue;
        }
        let account = &told.note.accounts[index];
        let turns = told.facts(index).turns(&account.quote);
        found(account, &signs(matter, (words, shared), told, &near, index), turns);
    }
}

/// Whether an account may settle a matter at all, by why it is open.
fn can_settle(account: &Account, facts: &Facts, matter: &Matter, words: &Words) -> bool {
    let works = account.says(&[Says::Pass]) >= account.says(&[Says::Done]);
    let turns = facts.turns(&account.quote);
    // "Kept the engine at 1500 and it stayed at 80" mends nothing.
    !turns.spared
        && !turns.ends_nothing
        && match matter.why.first() {
            // Work done does not prove what was never tried.
            Some(Why::Unproven | Why::InconclusiveTrial) => works,
            // That it works renews no date and buys nothing.
            Some(Why::Overdue) => !works,
            Some(Why::Task) => !(works && words.is_errand || account.left && account.well().is_none()),
            // A part that came is not fitted yet.
            Some(Why::FailedTrial | Why::OutOfLimits) => works || !turns.only_got,
            None => false,
        }
}

/// The signs of one account of a note against a matter, with the matter's words and how many of them the account has.
fn signs(
    matter: &Matter,
    (words, all): (&Words, usize),
    told: &Told<'_>,
    near: &Near,
    index: usize,
) -> Signs {
    let mut out = [0.0; at::COUNT];
    let account = &told.note.accounts[index];
    let facts = told.facts(index);
    let flag = |holds: bool| if holds { 1.0 } else { 0.0 };
    let [subject, named, aside] = near.nearest[index].map(usize::from);
    let nearest = subject.min(named).min(aside);
    let (works, done) = (account.says(&[Says::Pass]), account.says(&[Says::Done]));
    let (well, bad) = (works + done, account.says(&[Says::Fail, Says::Partial]));
    out[at::SUBJECT + subject] = 1.0;
    out[at::NAMED + named] = 1.0;
    out[at::ASIDE + aside] = 1.0;
    out[at::NEAREST_WELL + nearest] = well;
    let of_name = facts.words.shared_by(words, &near.name);
    let shared = all - of_name;
    out[at::SHARED + shared.min(MANY)] = 1.0;
    out[at::SHARED_NAME + of_name.min(2)] = 1.0;
    for (place, &likely) in account.likely.iter().enumerate() {
        out[at::LIKELY + place] = f32::from(likely) / 100.0;
    }
    if let Some(why) = matter.why.first().and_then(|why| WHY.iter().position(|w| w == why)) {
        out[at::WHY_ALONE + why] = 1.0;
        out[at::WHY_PASS + why] = works;
        out[at::WHY_DONE + why] = done;
        out[at::WHY_BAD + why] = bad;
    }
    let errand = flag(words.is_errand);
    let overlaps = |span: crate::Span| span.meets(account.span);
    let note = told.note;
    let several = account.others.len() + 1;
    let single = [
        all as f32 / facts.words.count().max(1) as f32,
        errand,
        errand * done,
        errand * works,
        flag(matter.gear.is_none()),
        flag(account.against),
        shared.min(MANY - 1) as f32 * well,
        (facts.length as f32).min(LONG) / LONG,
        several.min(SEVERAL) as f32 / SEVERAL as f32,
        flag(note.items.iter().any(|i| overlaps(i.span))),
        flag(near.items.iter().any(|&i| overlaps(note.items[i].span))),
        flag(!near.items.is_empty()),
        flag(near.items.iter().any(|&i| note.items[i].why != Why::Task)),
        flag(!near.passed.is_empty()),
        flag(near.passed.iter().any(|&t| overlaps(note.trials[t].span))),
        flag(near.failed),
    ];
    out[at::ALONE..].copy_from_slice(&single);
    out
}

/// An account of a note against a matter that stood open before it, for training.
#[derive(Debug)]
pub struct Against {
    /// Whole name of the matter.
    pub matter: String,
    /// The account's words.
    pub quote: String,
    /// Its signs.
    pub signs: Signs,
}

/// Every account of a note against every matter that it may bear on.
pub fn against(open: &[Matter], note: &Note) -> Vec<Against> {
    let told = Told::new(note);
    let mut out = Vec::new();
    for matter in open {
        each(matter, &words_told(matter), &told, |account, signs, _| {
            out.push(Against { matter: matter.id.clone(), quote: account.quote.clone(), signs: *signs });
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::Weights;

    #[test]
    fn the_weights_that_are_built_in_read_and_every_sign_has_its_place() {
        let names = sign_names();
        assert_eq!(names.len(), at::COUNT);
        let mut sorted = names.clone();
        sorted.sort();
        sorted.dedup();
        assert_eq!(sorted.len(), names.len(), "{names:?}");
        let read = Weights::<{ at::COUNT }>::read(include_str!("../../lexicon/over.toml"), &names);
        assert!(read.is_ok(), "{read:?}");
    }
}
