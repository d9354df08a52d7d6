//! Matters: the items of many notes folded, in the order of the notes, into what stands open and what was closed.
//!
//! A matter is what a mate would call one thing: raised by one note, borne out by others, put right by a later
//! trial or word, or by the skipper's own ruling, which wins. The fold is a pure function of notes, rulings, the
//! passage and a date, so that every device comes to the same list.

mod asked;
mod close;
mod known;
pub mod limits;
mod name;
pub mod over;
pub mod raise;
mod rule;
pub mod same;
mod sentence;
mod told;

#[cfg(test)]
mod tests;

use std::cmp::Reverse;

use chrono::{DateTime, FixedOffset, NaiveDate};
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use crate::found::{Due, Item, Note, Span, Why};
pub use asked::{Asked, Days};
use close::{Closes, closing_of};
use known::Known;
use limits::Limits;
pub use name::{finding_name, lengths, name_of_decision, short_name, whole_name};
pub use raise::raised;
use same::{Words, same_gear};
use told::Told;

/// A note with where it came from, as the fold sees it.
#[derive(Clone, Copy, Debug)]
pub struct Noted<'a> {
    /// Name of its source: the SHA-256 in hexadecimal.
    pub source: &'a str,
    /// The name that its file had.
    pub name: &'a str,
    /// What was found in it.
    pub note: &'a Note,
}

/// The coming voyage, as far as the fold needs it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Passage {
    /// Departure.
    pub leaves: Option<NaiveDate>,
    /// Last day on which the boat may still be away.
    pub back: Option<NaiveDate>,
}

/// The skipper's own word on a matter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ruling {
    /// Short name of the matter.
    pub matter: String,
    /// When it was given.
    pub at: DateTime<FixedOffset>,
    /// How many of the notes, oldest first, the skipper knew by then: it comes after them and before the others, so
    /// that what a later note says of a matter is not covered up by an earlier ruling.
    pub known: usize,
    /// What it says.
    pub says: Says,
}

/// What a ruling says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "says", rename_all = "snake_case")]
pub enum Says {
    /// It is done.
    Close {
        /// In the skipper's words.
        because: String,
    },
    /// It stands open after all.
    Reopen {
        /// In the skipper's words.
        because: String,
    },
    /// What closed it did so; of one that was listed as doubtful, that it stands.
    Confirm,
    /// There is no such matter.
    Dismiss,
    /// It is one that no note has said.
    Add {
        /// The matter, in the skipper's words.
        about: String,
        /// The gear, where one is named.
        gear: Option<String>,
        /// Why it is open.
        why: Why,
    },
    /// Others are the same matter.
    Join {
        /// Their names.
        with: Vec<String>,
    },
    /// Some of its evidence is a matter of its own.
    Split {
        /// Whole names of that evidence.
        out: Vec<String>,
    },
}

/// Words that bear on a matter.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Evidence {
    /// Whole name that a matter raised by these words has: from the source and the place; where the same words raise
    /// two, the second's from its gear too.
    pub id: String,
    /// Source, by its SHA-256.
    pub source: String,
    /// The name that its file had.
    pub name: String,
    /// When it was said.
    pub at: Option<DateTime<FixedOffset>>,
    /// Where it stands.
    pub span: Span,
    /// The words.
    pub quote: String,
    /// Why it opens the matter; `None` for words that close it.
    pub why: Option<Why>,
}

/// What closed a matter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClosedBy {
    /// `trial`, `word` (the note says it is done), `reading`, `date`, `judged` (all is well with the gear by what the note
    /// says as a whole) or `ruling` (the skipper closed it here).
    pub by: String,
    /// The words: from the note, or the skipper's reason.
    pub quote: String,
    /// The evidence, where a note closed it.
    pub evidence: Option<Evidence>,
    /// When.
    pub at: Option<DateTime<FixedOffset>>,
    /// Whether the skipper says so: the closing itself, or that it is right.
    pub confirmed: bool,
    /// How many notes have come since and said nothing against it.
    pub later_notes: usize,
}

/// A closing that no note has spoken against for so many notes is believed without the skipper's word.
pub const NOTES_THAT_CONFIRM: usize = 3;

impl ClosedBy {
    /// Whether it only follows from what a note says, and neither the skipper nor time has borne it out.
    pub fn unconfirmed(&self) -> bool {
        !self.confirmed && self.later_notes < NOTES_THAT_CONFIRM
    }
}

/// One thing that stands, or stood, between the boat and departure.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Matter {
    /// Short name: the beginning of `id`, four letters and digits or as many more as it takes to tell it from others.
    pub name: String,
    /// Its whole name, from the first evidence's source and place, or from the decision that added it.
    pub id: String,
    /// Whole names that it goes by besides those of its evidence: its own where a decision added it, and those of
    /// added matters that were joined to it.
    pub also: Vec<String>,
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// Why it is open, the reason of the latest evidence first.
    pub why: Vec<Why>,
    /// A date that it hangs on.
    pub due: Option<Due>,
    /// The words that raised it and bear it out, oldest first.
    pub evidence: Vec<Evidence>,
    /// When a decision added it, where one did.
    pub added: Option<DateTime<FixedOffset>>,
    /// Gear of matters that were joined to it.
    pub joined: Vec<String>,
    /// Whole names of earlier matters that it is the return of, without those that one of these is the return of:
    /// [`Ledger::stories`] has all.
    pub earlier: Vec<String>,
    /// Whether nothing but words of which the program is not sure has raised it.
    pub unsure: bool,
    /// Words by which it may be over, but not likely enough to close it.
    pub maybe_over: Option<Evidence>,
    /// What closed it; `None` for an open one. A matter that came back stands in both lists.
    pub closed: Option<ClosedBy>,
}

impl Matter {
    /// Whether it is left in doubt that an open matter stands: only unsure words raised it, or others tell that it may be
    /// over.
    pub fn is_doubtful(&self) -> bool {
        self.unsure || self.maybe_over.is_some()
    }

    /// The words of its evidence, without what the program says of its gear.
    pub fn words(&self) -> String {
        if self.evidence.is_empty() {
            return self.about.clone();
        }
        self.evidence.iter().map(|e| e.quote.as_str()).collect::<Vec<_>>().join(" ")
    }

    /// When it was first raised, where that is known.
    pub fn raised_at(&self) -> Option<DateTime<FixedOffset>> {
        self.evidence.iter().find_map(|e| e.at).or(self.added)
    }

    /// Every whole name that it goes by: any of its evidence may have been the first when a name was given to it.
    pub fn names(&self) -> impl Iterator<Item = String> {
        let own = self.evidence.iter().map(|e| e.id.clone());
        std::iter::once(self.id.clone()).chain(self.also.iter().cloned()).chain(own)
    }

    /// Whether it goes by a name, given whole or by its beginning.
    pub fn answers_to(&self, name: &str) -> bool {
        !name.is_empty() && self.names().any(|own| own.starts_with(name))
    }
}

/// All matters, open and closed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ledger {
    /// What stands open, most pressing first.
    pub open: Vec<Matter>,
    /// Every closing, latest first.
    pub closed: Vec<Matter>,
    /// What the skipper says is none.
    pub dismissed: Vec<Matter>,
}

impl Ledger {
    /// For each open matter the whole names of all earlier ones that it is the return of, with those that these are
    /// the return of.
    pub fn stories(&self) -> Vec<Vec<String>> {
        let of_closed: FxHashMap<&str, &[String]> =
            self.closed.iter().map(|closed| (closed.id.as_str(), closed.earlier.as_slice())).collect();
        let story = |matter: &Matter| {
            let mut story: Vec<String> = Vec::new();
            let mut seen = FxHashSet::default();
            let mut next: Vec<&str> = matter.earlier.iter().rev().map(String::as_str).collect();
            while let Some(name) = next.pop() {
                if seen.insert(name) {
                    story.push(name.to_owned());
                    next.extend(of_closed.get(name).into_iter().copied().flatten().map(String::as_str));
                }
            }
            story
        };
        self.open.iter().map(story).collect()
    }
}

/// What the notes up to one give to the reading of it, gathered note by note.
#[derive(Clone, Debug, Default)]
pub struct SoFar<'a> {
    /// The notes by their sources.
    notes: FxHashMap<&'a str, &'a Note>,
    limits: Limits<'a>,
    /// The return that the latest note names which names one.
    back: Option<NaiveDate>,
}

impl<'a> SoFar<'a> {
    /// Adds a later note.
    pub fn add(&mut self, noted: &Noted<'a>) {
        self.notes.entry(noted.source).or_insert(noted.note);
        self.limits.add(noted);
        self.back = noted.note.passage.back.or(self.back);
    }
}

/// Folds notes, oldest first, into matters, with each ruling after the notes that were known when it was given. `on` is
/// the day asked about: dates before it have passed.
pub fn fold(notes: &[Noted<'_>], rulings: &[Ruling], passage: &Passage, on: NaiveDate) -> Ledger {
    fold_and_days(notes, rulings, passage, on).0
}

/// As [`fold`], with the days on which the same notes, rulings and passage give the same matters.
pub fn fold_and_days(
    notes: &[Noted<'_>],
    rulings: &[Ruling],
    passage: &Passage,
    on: NaiveDate,
) -> (Ledger, Days) {
    let mut fold = Fold { passage: *passage, on: Asked::of(on), ..Fold::default() };
    let mut rulings: Vec<&Ruling> = rulings.iter().collect();
    rulings.sort_by_key(|r| (r.known, r.at));
    let mut rulings = rulings.into_iter().peekable();
    for (index, noted) in notes.iter().enumerate() {
        while let Some(ruling) = rulings.next_if(|r| r.known <= index) {
            fold.rule(ruling);
        }
        fold.note(noted);
    }
    rulings.for_each(|ruling| fold.rule(ruling));
    let Fold { mut ledger, seen, on, .. } = fold;
    for closed in ledger.closed.iter_mut().chain(&mut ledger.dismissed).filter_map(|m| m.closed.as_mut()) {
        closed.later_notes = seen - closed.later_notes;
    }
    ledger.open.sort_by_key(|m| (Reverse(pressing(m)), m.raised_at()));
    ledger.closed.sort_by_key(|m| Reverse(m.closed.as_ref().and_then(|c| c.at)));
    name::shorten(&mut ledger);
    (ledger, on.days())
}

/// How pressing a matter is by why it is open: what failed before what was never tried, work after both.
pub fn pressing(matter: &Matter) -> u8 {
    match matter.why.first() {
        Some(Why::FailedTrial) => 6,
        Some(Why::OutOfLimits) => 5,
        Some(Why::Overdue) => 4,
        Some(Why::Unproven) => 3,
        Some(Why::InconclusiveTrial) => 2,
        Some(Why::Task) => 1,
        None => 0,
    }
}

/// The fold, as it goes from note to note.
#[derive(Debug, Default)]
struct Fold<'a> {
    ledger: Ledger,
    so_far: SoFar<'a>,
    known: Known,
    passage: Passage,
    on: Asked,
    /// How many notes were folded. Until all are, a closing has the count by then in place of those that came later.
    seen: usize,
}

impl<'a> Fold<'a> {
    fn rule(&mut self, ruling: &Ruling) {
        rule::rule(&mut self.ledger, ruling, self.seen);
        self.known.ruled(&self.ledger);
    }

    fn note(&mut self, noted: &Noted<'a>) {
        self.seen += 1;
        self.so_far.add(noted);
        self.close(noted);
        let mut names = FxHashSet::default();
        for item in raise::raised_in(&self.so_far, noted.note, &self.passage, &self.on) {
            self.open(&mut names, noted, &item);
        }
    }

    /// Adds an item to the open matter that it belongs to, or opens a new one.
    fn open(&mut self, names: &mut FxHashSet<String>, noted: &Noted<'_>, item: &Item) {
        let mut id = whole_name(noted.source, item.span);
        if !names.insert(id.clone()) {
            id = name::second_name(noted.source, item.span, item.gear.as_deref(), item.why);
            names.insert(id.clone());
        }
        let evidence = evidence(noted, item, id);
        let said = Words::of(&item.quote);
        let joined = |m: &Matter| m.joined.iter().any(|gear| same_gear(Some(gear), item.gear.as_deref()));
        let known = &self.known;
        let belongs = |m: &&mut Matter| same::same_matter(m, || known.words(m), item, &said) || joined(m);
        if let Some(matter) = self.ledger.open.iter_mut().find(belongs) {
            // Talk of the whole takes a matter of a part over.
            if item.gear.as_deref().is_some_and(|whole| same::is_part(matter.gear.as_deref(), whole)) {
                matter.gear.clone_from(&item.gear);
            }
            if !item.unsure {
                matter.unsure = false;
                matter.maybe_over = None;
            }
            matter.why.retain(|w| *w != item.why);
            matter.why.insert(0, item.why);
            matter.due = item.due.clone().or(matter.due.take());
            add_words(&mut matter.about, &item.about);
            if matter.evidence.is_empty() {
                // The words of one that a decision added give way to those of its evidence.
                self.known.forget(&matter.id);
            }
            matter.evidence.push(evidence);
            self.known.add(&matter.id, said, &item.about);
            return;
        }
        let earlier = self.known.earlier(&self.ledger, item, &said);
        self.known.add(&evidence.id, said, &item.about);
        self.ledger.open.push(Matter {
            name: evidence.id.clone(),
            id: evidence.id.clone(),
            also: Vec::new(),
            gear: item.gear.clone(),
            about: item.about.clone(),
            why: vec![item.why],
            due: item.due.clone(),
            evidence: vec![evidence],
            added: None,
            joined: Vec::new(),
            earlier,
            unsure: item.unsure,
            maybe_over: None,
            closed: None,
        });
    }

    /// Closes what a note puts right: by a passed trial, by the speaker's word, by a reading back inside its limits,
    /// by a new date.
    fn close(&mut self, noted: &Noted<'_>) {
        let told = Told::new(noted.note);
        let mut kept = Vec::new();
        for mut matter in std::mem::take(&mut self.ledger.open) {
            let closed = closing_of(
                &matter,
                (self.known.words(&matter), self.known.told(&matter)),
                &self.so_far,
                noted,
                &told,
                (&self.passage, &self.on),
            );
            match closed {
                Some(Closes::Perhaps(evidence)) => {
                    matter.maybe_over = Some(evidence);
                    kept.push(matter);
                }
                Some(Closes::Surely(mut closed, how)) => {
                    closed.later_notes = self.seen;
                    // Where the passage is too long the words alone say it.
                    if !add_words(&mut matter.about, &format!("put right: {how}")) {
                        add_words(&mut matter.about, &format!("put right: {}", closed.quote));
                    }
                    matter.closed = Some(closed);
                    if let Some(other) = ended_with(&matter, &mut self.ledger.closed) {
                        other.added = other.added.or(matter.added);
                        take_in(other, matter);
                        continue;
                    }
                    self.known.closed(&matter, self.ledger.closed.len());
                    self.ledger.closed.push(matter);
                }
                None => kept.push(matter),
            }
        }
        self.ledger.open = kept;
    }
}

/// The closed matter of the same gear that the same words ended: what one trial or one word ends was one matter all along.
fn ended_with<'m>(matter: &Matter, closed: &'m mut [Matter]) -> Option<&'m mut Matter> {
    let words = |m: &Matter| Some(m.closed.as_ref()?.evidence.as_ref()?.id.clone());
    let ended = words(matter)?;
    let own = |m: &&mut Matter| {
        same::named_alike(m.gear.as_deref(), matter.gear.as_deref()) && words(m).as_ref() == Some(&ended)
    };
    closed.iter_mut().rev().find(own)
}

/// Makes one matter of two; it keeps its name and its gear, and goes by the other's too.
fn take_in(matter: &mut Matter, other: Matter) {
    add_words(&mut matter.about, &other.about);
    for why in other.why {
        if !matter.why.contains(&why) {
            matter.why.push(why);
        }
    }
    matter.also.push(other.id);
    matter.also.extend(other.also);
    matter.joined.extend(other.gear.filter(|gear| Some(gear) != matter.gear.as_ref()));
    matter.joined.extend(other.joined);
    matter.earlier.extend(other.earlier);
    matter.due = matter.due.take().or(other.due);
    matter.evidence.extend(other.evidence);
    matter.evidence.sort_by_key(|e| e.at);
}

/// Adds what later evidence says of a matter to what the first said, where it says more; false where there is no room.
fn add_words(about: &mut String, more: &str) -> bool {
    const LONGEST: usize = 700;
    let fits = about.len() + more.len() < LONGEST;
    if fits && !about.contains(more) {
        about.push_str("; ");
        about.push_str(more);
    }
    fits
}

fn evidence(noted: &Noted<'_>, item: &Item, id: String) -> Evidence {
    Evidence {
        id,
        source: noted.source.to_owned(),
        name: noted.name.to_owned(),
        at: item.at.map(|m| m.at),
        span: item.span,
        quote: item.quote.clone(),
        why: Some(item.why),
    }
}
