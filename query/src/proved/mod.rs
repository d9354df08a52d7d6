//! What must be proved before a long cold passage, and whether it is: the answer of `leadsman proved`.
//!
//! Of each entry of the list every gear that was tried counts, and the worst of it decides. A gear's latest word is
//! what stands: a trial that failed after one that passed is a failure. A proof goes stale when it is older, at
//! departure, than the entry allows; when the gear was put in, replaced or repaired since; or when the speaker says
//! that it was not tried since.

pub mod list;
mod screen;

use std::collections::{BTreeMap, HashMap};

use chrono::NaiveDate;
use leadsman_ingest::matter::Noted;
use leadsman_ingest::{Outcome, Span, Why};
use serde::{Deserialize, Serialize};

use crate::boat::{Boat, Day};
use crate::gear_word::base;
use crate::open_item::Voyage;
use crate::register::{Lives, SKIPPER, Tried, turn_word};
use list::{By, Required};

pub use screen::{show, show_never_tried, status_word};

/// How an entry stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Tried, and it did not do its job, or only part of it; or a date passes before the boat is back.
    Failed,
    /// Proved once; too old by departure, or the gear is another since.
    Stale,
    /// Tried, and the note does not settle it.
    Unsettled,
    /// No note tells of a trial or a check.
    NeverTried,
    /// Proved.
    Proved,
    /// Dismissed by the skipper.
    Dismissed,
}

/// The list with how each entry stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ProvedList {
    /// The day asked about.
    pub on: NaiveDate,
    /// The day at which freshness is measured: departure where one is known and to come, else the day asked about.
    pub measured_at: NaiveDate,
    /// The day until which dates must last: the return, else departure, else the day asked about.
    pub lasting_until: NaiveDate,
    /// How many notes answer.
    pub notes: usize,
    /// The entries, in the order of the groups.
    pub entries: Vec<Shown>,
}

/// An entry with how it stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shown {
    /// What the list says.
    #[serde(flatten)]
    pub required: Required,
    /// How it stands.
    pub status: Status,
    /// Why it stands so, in a few words; empty for one never tried.
    pub why: String,
    /// The trials, checks and dates that it stands on: the latest of each gear, the one that decides first.
    pub proofs: Vec<Proof>,
}

/// A trial, a check or a date.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Proof {
    /// How it makes the entry stand.
    pub status: Status,
    /// The gear.
    pub gear: String,
    /// Which kind of proof.
    pub by: By,
    /// The day.
    pub on: Option<NaiveDate>,
    /// How a trial went.
    pub outcome: Option<Outcome>,
    /// The conditions of a trial, in words; empty where none are known.
    pub conditions: String,
    /// Why it stands so.
    pub why: String,
    /// The words.
    pub quote: String,
    /// The note's name, or "the skipper".
    pub from: String,
    /// Where the words stand in the note.
    pub span: Option<Span>,
}

impl ProvedList {
    /// Makes the list of a boat as of a day; `before` is a departure asked about instead of the one that is known.
    pub fn new(boat: &Boat, day: Day, before: Option<NaiveDate>) -> Self {
        let list = list::edited(boat.all_decisions(), day);
        let notes = boat.noted(day).len();
        Self::of_words(LastWords::new(boat, day), list, &boat.voyage(day, before), day.on, notes)
    }

    /// Makes it of what each gear's last words say of each entry, for a voyage as of a day.
    pub(crate) fn of_words(
        mut words: LastWords,
        list: Vec<Required>,
        voyage: &Voyage,
        on: NaiveDate,
        notes: usize,
    ) -> Self {
        let measured_at = voyage.leaves.filter(|leaves| *leaves >= on).unwrap_or(on);
        let lasting_until = voyage.back.unwrap_or(measured_at).max(measured_at);
        let look = Look { measured_at, lasting_until };
        let told = |required: Required| {
            let words = words.0.remove(&required.name).unwrap_or_default();
            look.at(required, words)
        };
        Self { on, measured_at, lasting_until, notes, entries: list.into_iter().map(told).collect() }
    }

    /// The entries of which no note tells a trial or a check.
    pub fn never_tried(&self) -> Vec<&Shown> {
        self.entries.iter().filter(|e| e.status == Status::NeverTried).collect()
    }
}

/// Every finding that may prove something, by the lexicon's name of its gear and then by the gear's own, which may have a
/// side in front: the notes are walked once, not once an entry.
struct Words<'a>(HashMap<&'a str, BTreeMap<&'a str, Vec<Word>>>);

#[derive(Clone, Copy)]
enum Word {
    Trial(usize, usize),
    Check(usize, usize),
    Renewed(usize, usize),
    Date(usize, usize),
    Untried(usize, usize),
}

impl<'a> Words<'a> {
    fn new(notes: &'a [Noted<'a>]) -> Self {
        let mut by_gear: HashMap<&'a str, Vec<Word>> = HashMap::new();
        for (n, noted) in notes.iter().enumerate() {
            let note = noted.note;
            let mut add = |gear: &'a str, word| by_gear.entry(gear).or_default().push(word);
            note.trials.iter().enumerate().for_each(|(i, t)| add(&t.gear, Word::Trial(n, i)));
            for (i, closing) in note.closings.iter().enumerate() {
                if let Some(gear) = &closing.gear {
                    add(gear, Word::Check(n, i));
                }
            }
            for (i, event) in note.events.iter().enumerate() {
                if event.what.renews() {
                    add(&event.gear, Word::Renewed(n, i));
                }
            }
            for (i, (gear, ..)) in note.dues.iter().enumerate() {
                if let Some(gear) = gear {
                    add(gear, Word::Date(n, i));
                }
            }
            for (i, item) in note.items.iter().enumerate() {
                if let Some(gear) = item.gear.as_deref().filter(|_| item.why == Why::Unproven) {
                    add(gear, Word::Untried(n, i));
                }
            }
        }
        let mut by_base: HashMap<&'a str, BTreeMap<&'a str, Vec<Word>>> = HashMap::new();
        for (name, words) in by_gear {
            by_base.entry(base(name)).or_default().insert(name, words);
        }
        Self(by_base)
    }
}

/// The last words of each gear on each entry of the list, by the entry's name: all that notes say of the list, whatever
/// day it is and whenever the boat leaves.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct LastWords(BTreeMap<String, Vec<Last>>);

/// A gear's last trial or check and its last date, as proofs of an entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Last {
    /// The trial or check, and whether its age counts.
    done: Option<(Proof, bool)>,
    /// The date, and what it says.
    dated: Option<(Proof, NaiveDate)>,
}

impl LastWords {
    /// Looks for them in a boat's notes as of a day.
    pub(crate) fn new(boat: &Boat, day: Day) -> Self {
        let notes = boat.noted(day);
        let lives = Lives::new(&notes, boat.all_decisions(), day);
        let search = Search { notes: &notes, lives: &lives, words: Words::new(&notes) };
        let list = list::edited(boat.all_decisions(), day);
        Self(list.iter().map(|required| (required.name.clone(), search.last(required))).collect())
    }
}

/// What is asked of the proofs.
struct Look {
    measured_at: NaiveDate,
    lasting_until: NaiveDate,
}

impl Look {
    fn at(&self, required: Required, words: Vec<Last>) -> Shown {
        let mut proofs: Vec<Proof> = Vec::new();
        for Last { done, dated } in words {
            let done = done.map(|(proof, ages)| if ages { self.aged(&required, proof) } else { proof });
            let dated = dated.map(|(proof, until)| self.dated(proof, until));
            // An entry that a check or a trial proves needs no date besides, unless that date fails.
            let enough = done.as_ref().is_some_and(|done| done.status == Status::Proved);
            proofs.extend(done);
            proofs.extend(dated.filter(|dated| !enough || dated.status == Status::Failed));
        }
        if let Some((day, because)) = &required.vouched {
            proofs.push(self.aged(
                &required,
                Proof {
                    status: Status::Proved,
                    gear: required.gear.first().cloned().unwrap_or_default(),
                    by: By::Check,
                    on: Some(*day),
                    outcome: None,
                    conditions: String::new(),
                    why: "by the skipper's word".to_owned(),
                    quote: because.clone(),
                    from: SKIPPER.to_owned(),
                    span: None,
                },
            ));
            // The skipper's word wins over what was said before it.
            proofs.retain(|p| p.from == SKIPPER || p.on > Some(*day));
        }
        proofs.sort_by(|a, b| {
            (a.status, b.on, &a.gear, a.by as u8).cmp(&(b.status, a.on, &b.gear, b.by as u8))
        });
        let (status, why) = match (&required.dismissed, proofs.first()) {
            (Some(because), _) => (Status::Dismissed, because.clone()),
            (None, Some(proof)) => (proof.status, proof.why.clone()),
            (None, None) => (Status::NeverTried, String::new()),
        };
        Shown { required, status, why, proofs }
    }

    /// A date that runs out before the boat is back is none.
    fn dated(&self, mut proof: Proof, until: NaiveDate) -> Proof {
        let day = crate::figure::day(until);
        (proof.status, proof.why) = if until <= self.lasting_until {
            (Status::Failed, format!("runs out {day}, before {}", crate::figure::day(self.lasting_until)))
        } else {
            (Status::Proved, format!("lasts until {day}"))
        };
        proof
    }

    /// A proof that is older at departure than the entry allows is stale.
    fn aged(&self, required: &Required, mut proof: Proof) -> Proof {
        if let (Some(days), Some(on)) = (required.days, proof.on) {
            let old = (self.measured_at - on).num_days();
            if old > i64::from(days) {
                proof.status = Status::Stale;
                proof.why = format!(
                    "{}, {old} days before {}; fresh for {days}",
                    proof.why,
                    crate::figure::day(self.measured_at)
                );
            }
        }
        proof
    }
}

/// The notes in which last words are looked for.
struct Search<'a> {
    notes: &'a [Noted<'a>],
    lives: &'a Lives,
    words: Words<'a>,
}

impl Search<'_> {
    /// The last words on an entry of all its gear that is aboard.
    fn last(&self, required: &Required) -> Vec<Last> {
        let gear = required.gear.iter().filter_map(|g| self.words.0.get(g.as_str())).flatten();
        let aboard = gear.filter(|(gear, _)| !self.lives.is_gone(gear));
        aboard.map(|(gear, words)| self.latest(required, gear, words)).collect()
    }

    /// What a gear's latest trial or check, and its latest date, say of an entry.
    fn latest(&self, required: &Required, gear: &str, words: &[Word]) -> Last {
        let takes = |by| required.by.contains(&by);
        let done = |w: &&Word| match w {
            // A trial that failed counts against the entry, whatever else would prove it.
            Word::Trial(..) => true,
            Word::Check(..) | Word::Renewed(..) => takes(By::Check),
            _ => false,
        };
        let done = words.iter().filter(done).max_by_key(|w| self.order(w));
        let date = |w: &&Word| takes(By::Date) && matches!(w, Word::Date(..));
        let dated = words.iter().filter(date).max_by_key(|w| self.order(w));
        Last {
            done: done.and_then(|word| self.proof(gear, word, words)),
            dated: dated.and_then(|word| self.date(gear, word)),
        }
    }

    /// Note and place of a word; of two at one place a trial tells more than that something was done.
    fn order(&self, word: &Word) -> (usize, usize, u8) {
        match *word {
            Word::Trial(n, i) => (n, self.notes[n].note.trials[i].span.start, 2),
            Word::Check(n, i) => (n, self.notes[n].note.closings[i].span.start, 1),
            Word::Renewed(n, i) => (n, self.notes[n].note.events[i].span.start, 0),
            Word::Date(n, i) => (n, self.notes[n].note.dues[i].2.start, 0),
            Word::Untried(n, i) => (n, self.notes[n].note.items[i].span.start, 0),
        }
    }

    /// Words of the `n`th note as a proof.
    fn new_proof(&self, gear: &str, n: usize, by: By, quote: &str, span: Span) -> Proof {
        let noted = &self.notes[n];
        Proof {
            status: Status::Proved,
            gear: gear.to_owned(),
            by,
            on: noted.note.recorded.map(|m| m.at.date_naive()),
            outcome: None,
            conditions: String::new(),
            why: String::new(),
            quote: quote.to_owned(),
            from: noted.name.to_owned(),
            span: Some(span),
        }
    }

    fn date(&self, gear: &str, word: &Word) -> Option<(Proof, NaiveDate)> {
        let Word::Date(n, i) = *word else { return None };
        let (_, due, span) = &self.notes[n].note.dues[i];
        Some((self.new_proof(gear, n, By::Date, &due.said, *span), due.until))
    }

    /// A trial or check, and whether its age counts.
    fn proof(&self, gear: &str, word: &Word, words: &[Word]) -> Option<(Proof, bool)> {
        let new = |n: usize, by, quote: &str, span| self.new_proof(gear, n, by, quote, span);
        Some(match *word {
            Word::Trial(n, i) => {
                let note = self.notes[n].note;
                let trial = &note.trials[i];
                let mut proof = new(n, By::Trial, &trial.quote, trial.span);
                proof.on = trial.at.map(|m| m.at.date_naive()).or(proof.on);
                proof.outcome = Some(trial.outcome);
                let readings = trial.conditions.iter().filter_map(|&r| note.readings.get(r));
                proof.conditions = crate::register::in_conditions(readings, trial.night, trial.hands);
                (proof.status, proof.why) = match trial.outcome {
                    // What the model reads out of all the words is too little for a proof.
                    Outcome::Pass if trial.judged => {
                        (Status::Unsettled, "passed by the sound of it; `confirm` it if it did".to_owned())
                    }
                    Outcome::Pass => (Status::Proved, "passed".to_owned()),
                    Outcome::Partial => (Status::Failed, "only partly worked".to_owned()),
                    Outcome::Fail => (Status::Failed, "failed".to_owned()),
                    Outcome::Unclear => (Status::Unsettled, "tried, not settled".to_owned()),
                };
                if proof.status != Status::Proved {
                    return Some((proof, false));
                }
                let tried = Tried { on: proof.on, note: n, start: trial.span.start };
                if let Some(turn) = self.lives.renewed_after(gear, &tried) {
                    proof.status = Status::Stale;
                    let on = turn.on.map_or_else(String::new, |day| format!(" {}", crate::figure::day(day)));
                    proof.why = format!("passed, but {}{on}", turn_word(turn.what));
                    return Some((proof, false));
                }
                let since = words.iter().find_map(|w| match *w {
                    Word::Untried(m, j) => {
                        let item = &self.notes[m].note.items[j];
                        ((m, item.span.start) > (n, trial.span.end)).then(|| (m, item.quote.clone()))
                    }
                    _ => None,
                });
                if let Some((m, quote)) = since {
                    proof.status = Status::Stale;
                    proof.why = format!(
                        "passed, but not tried since, {} says: \u{201c}{quote}\u{201d}",
                        self.notes[m].name
                    );
                    return Some((proof, false));
                }
                (proof, true)
            }
            Word::Check(n, i) => {
                let closing = &self.notes[n].note.closings[i];
                let mut proof = new(n, By::Check, &closing.quote, closing.span);
                proof.on = closing.at.map(|m| m.at.date_naive()).or(proof.on);
                proof.why = closing.how.clone();
                (proof, true)
            }
            Word::Renewed(n, i) => {
                let event = &self.notes[n].note.events[i];
                let mut proof = new(n, By::Check, &event.quote, event.span);
                proof.on = event.on.or_else(|| event.at.map(|m| m.at.date_naive())).or(proof.on);
                proof.why = turn_word(event.what).to_owned();
                (proof, true)
            }
            Word::Date(..) | Word::Untried(..) => return None,
        })
    }
}
