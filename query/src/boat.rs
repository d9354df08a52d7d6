//! All that a home's notes and its skipper say, ready to be asked.

use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDate, Utc};
use leadsman_index::{Asked, Decision, Entry, Passage, Store, Stored, StoredReading, With};
use leadsman_ingest::matter::{self, Ledger, Noted, Ruling, Says};
use leadsman_ingest::{Item, Note, PassageWords};

use crate::error::Error;
use crate::open_item::{OpenList, Voyage};
use crate::reckon::notes::{Notes, QUANTITIES};

/// A home's notes in the order in which they were made, and the skipper's word on them.
#[derive(Clone, Debug, Default)]
pub struct Boat {
    notes: Vec<Stored>,
    /// The notes' sources by their SHA-256, as the fold wants them.
    hashes: Vec<String>,
    rulings: Vec<Ruling>,
    /// All decisions that stand, by time.
    decisions: Vec<Entry>,
    passage: Passage,
}

/// The day asked about, and which notes and rulings answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Day {
    /// The day.
    pub on: NaiveDate,
    /// Whether what is of later days is left out: so when a day was asked for, not when it is just today.
    pub asked: bool,
}

impl Boat {
    /// Reads a home's notes, without their words, and its decisions.
    pub async fn read(store: &Store) -> Result<Self, Error> {
        let mut notes = store.notes(With::default()).await?;
        // A recording has no words of its own; what was heard in it is a note.
        notes.retain(|stored| stored.note.format != leadsman_ingest::sound::FORMAT);
        let mut boat =
            Self { hashes: notes.iter().map(|note| note.source.to_string()).collect(), ..Self::default() };
        boat.notes = notes;
        boat.decisions = store.record().decisions().cloned().collect();
        for entry in store.record().decisions() {
            let says = match &entry.decision {
                Decision::Close { item, because } => Some((item, Says::Close { because: because.clone() })),
                Decision::Reopen { item } => Some((item, Says::Reopen { because: String::new() })),
                Decision::Passage(passage) => {
                    boat.passage = boat.passage.then(passage);
                    None
                }
                _ => None,
            };
            if let Some((matter, says)) = says {
                boat.rulings.push(Ruling { matter: matter.clone(), at: entry.time.fixed_offset(), says });
            }
        }
        Ok(boat)
    }

    /// The passage, as far as the skipper has set it.
    pub fn passage(&self) -> &Passage {
        &self.passage
    }

    /// The decisions that stand on a day, by time.
    pub fn decisions(&self, day: Day) -> impl Iterator<Item = &Entry> {
        self.decisions.iter().filter(move |entry| !day.asked || entry.time.date_naive() <= day.on)
    }

    /// All decisions that stand, by time, whatever day is asked about: what is said of gear, of the list of proofs and
    /// of the passage to come has its own day or none.
    pub fn all_decisions(&self) -> impl Iterator<Item = &Entry> {
        self.decisions.iter()
    }

    /// Every name of gear that the notes have.
    pub fn gear(&self) -> BTreeSet<&str> {
        let mut names = BTreeSet::new();
        for Stored { note, .. } in &self.notes {
            names.extend(note.readings.iter().filter_map(|reading| reading.gear.as_deref()));
            names.extend(note.trials.iter().map(|trial| trial.gear.as_str()));
            names.extend(note.items.iter().filter_map(|item| item.gear.as_deref()));
        }
        names
    }

    /// When the boat leaves and is back: by `before`, else by the skipper's word, else by the latest note that says; a
    /// return that nobody names is the departure and the days at sea, where both are known.
    pub fn voyage(&self, day: Day, before: Option<NaiveDate>) -> Voyage {
        let said = |of: fn(&PassageWords) -> (Option<NaiveDate>, Option<&String>)| {
            let mut notes = self.notes.iter().rev().filter(|stored| !later(stored, day));
            notes.find_map(|stored| {
                let (date, words) = of(&stored.note.passage);
                Some((date?, format!("said in {}", stored.name), words.cloned()))
            })
        };
        let set = |date: Option<NaiveDate>| date.map(|date| (date, "set by the skipper".to_owned(), None));
        let passage = &self.passage;
        let leaves = before.map(|date| (date, "--before".to_owned(), None));
        let leaves = leaves
            .or_else(|| set(passage.departure))
            .or_else(|| said(|words| (words.leaves, words.leaves_said.as_ref())));
        let mut voyage = Voyage::default();
        if let Some((date, from, words)) = leaves {
            (voyage.leaves, voyage.leaves_from, voyage.leaves_said) = (Some(date), Some(from), words);
        }
        // A return that was named for an earlier passage is none of this one.
        let still = |named: &(NaiveDate, String, Option<String>)| {
            voyage.leaves.is_none_or(|leaves| named.0 >= leaves)
        };
        let back =
            set(passage.back).or_else(|| said(|words| (words.back, words.back_said.as_ref())).filter(still));
        let worked_out = || {
            let days = passage.days.filter(|days| days.is_finite() && *days >= 0.0)?;
            let date = voyage.leaves?.checked_add_days(chrono::Days::new(days.ceil() as u64))?;
            Some((date, "departure and days at sea".to_owned(), None))
        };
        if let Some((date, from, words)) = back.or_else(worked_out) {
            (voyage.back, voyage.back_from, voyage.back_said) = (Some(date), Some(from), words);
        }
        voyage
    }

    /// What stands open and what was closed.
    pub fn open_list(&self, day: Day, before: Option<NaiveDate>) -> OpenList {
        let notes = self.noted(day).len();
        let voyage = self.voyage(day, before);
        OpenList::new(self.ledger(day, before), voyage, day.on, notes, self.notes.len() - notes)
    }

    /// All matters, folded anew as of a day.
    pub fn ledger(&self, day: Day, before: Option<NaiveDate>) -> Ledger {
        let rulings: Vec<Ruling> =
            self.rulings.iter().filter(|r| !day.asked || r.at.date_naive() <= day.on).cloned().collect();
        matter::fold(&self.noted(day), &rulings, &passage(&self.voyage(day, before)), day.on)
    }

    /// The readings of some quantities, as of a day, in the order of the notes.
    pub fn readings(&self, day: Day, quantities: &[&str]) -> Vec<StoredReading> {
        let of_note = |stored: &Stored| {
            let (source, name) = (stored.source, stored.name.clone());
            let all = stored.note.readings.iter().enumerate();
            let wanted = all.filter(|(_, reading)| quantities.contains(&reading.quantity.as_str()));
            wanted
                .map(|(n, reading)| StoredReading { source, name: name.clone(), n, reading: reading.clone() })
                .collect::<Vec<_>>()
        };
        self.notes.iter().filter(|stored| !later(stored, day)).flat_map(of_note).collect()
    }

    /// The day of the last note whose time is known.
    pub fn last_day(&self) -> Option<NaiveDate> {
        self.notes.iter().filter_map(|stored| stored.recorded).map(|at| at.date_naive()).max()
    }

    /// The items that a new note raises in the light of the notes that are here.
    pub fn raised(&self, name: &str, note: &Note, day: Day) -> Vec<Item> {
        let noted = Noted { source: "", name, note };
        let voyage = self.voyage(day, None);
        let own = &note.passage;
        let passage =
            matter::Passage { leaves: voyage.leaves.or(own.leaves), back: voyage.back.or(own.back) };
        // The day that the note is of: what it says is overdue is so by then.
        let on = note.recorded.map_or(day.on, |moment| moment.at.date_naive());
        matter::raised(&self.noted(Day { asked: false, ..day }), &noted, &passage, on)
    }

    /// The notes that answer on a day, in the order in which they were made.
    pub fn noted(&self, day: Day) -> Vec<Noted<'_>> {
        let both = self.notes.iter().zip(&self.hashes);
        both.filter(|(stored, _)| !later(stored, day))
            .map(|(stored, hash)| Noted { source: hash, name: &stored.name, note: &stored.note })
            .collect()
    }
}

/// Whether a note is of a later day than the one asked about.
fn later(stored: &Stored, day: Day) -> bool {
    day.asked && stored.recorded.is_some_and(|at| at.date_naive() > day.on)
}

fn passage(voyage: &Voyage) -> matter::Passage {
    matter::Passage { leaves: voyage.leaves, back: voyage.back }
}

/// What a home gives to the reckonings, up to and with the day where one was asked for.
pub async fn home_notes(store: &Store, day: Day, zone: chrono_tz::Tz) -> Result<Notes, Error> {
    let until = day.on.succ_opt().filter(|_| day.asked).map(|next| begins(next, zone));
    let quantities = QUANTITIES.map(str::to_owned).to_vec();
    let readings = store.readings(&Asked { quantities, until, ..Asked::default() }).await?;
    Ok(Notes::new(readings, store.record().decisions().map(|entry| &entry.decision)))
}

/// The instant at which a day begins aboard.
pub fn begins(day: NaiveDate, zone: chrono_tz::Tz) -> DateTime<Utc> {
    // Some zones skip midnight on a day; the first hour that exists begins it.
    let midnight = day.and_time(chrono::NaiveTime::MIN);
    (0..24)
        .find_map(|hour| (midnight + chrono::TimeDelta::hours(hour)).and_local_timezone(zone).earliest())
        .map_or_else(|| midnight.and_utc(), |at| at.to_utc())
}
