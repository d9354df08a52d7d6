//! All that a home's notes and its skipper say, ready to be asked.

use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDate, Utc};
use leadsman_index::{
    Asked, Decision, Entry, Finding, Passage, Place, SourceId, Store, Stored, StoredReading, With,
};
use leadsman_ingest::matter::limits::of_skipper;
use leadsman_ingest::matter::{self, Days, Ledger, Noted, Ruling, Says, name_of_decision, whole_name};
use leadsman_ingest::quantity::table;
use leadsman_ingest::{Item, Note, PassageWords, Reading, Span, Stance, Trial, Why};
use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::instruments::Panel;
use crate::kept::Kept;
use crate::open_item::{OpenList, Voyage};
use crate::reckon::notes::{Notes, QUANTITIES};

/// A home's notes in the order in which they were made, and the skipper's word on them.
#[derive(Clone, Debug, Default)]
pub struct Boat {
    notes: Vec<Stored>,
    /// The notes' sources by their SHA-256, as the fold wants them.
    hashes: Vec<String>,
    /// All decisions that stand, by time.
    decisions: Vec<Entry>,
    spoken: Vec<Spoken>,
    /// Names that items had in earlier copies of sources, each with the name they have now.
    renamed: Vec<(String, String)>,
    passage: Passage,
    /// Decisions that give limits, oldest first.
    limits: Vec<Entry>,
    /// What was worked out before of the same notes and decisions.
    kept: Option<Kept>,
}

/// A decision on an item.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Spoken {
    /// The name of the item, as notes are now.
    pub item: String,
    /// The decision, with its time and its maker.
    pub entry: Entry,
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
        Self::of(store, store.notes(With::default()).await?).await
    }

    /// As [`Boat::read`], of the notes that the store would give.
    pub async fn of(store: &Store, mut notes: Vec<Stored>) -> Result<Self, Error> {
        // A recording has no words of its own; what was heard in it is a note.
        notes.retain(|stored| stored.note.format != leadsman_ingest::sound::FORMAT);
        let mut boat =
            Self { hashes: notes.iter().map(|note| note.source.to_string()).collect(), ..Self::default() };
        boat.notes = notes;
        boat.kept = Kept::of(store).await?;
        boat.decisions = store.record().decisions().cloned().collect();
        for entry in store.record().decisions() {
            if let Decision::Passage(passage) = &entry.decision {
                boat.passage = boat.passage.then(passage);
            }
            if matches!(entry.decision, Decision::Limit { .. }) {
                boat.limits.push(entry.clone());
            }
            if let Some(item) = item_of(entry) {
                boat.spoken.push(Spoken { item, entry: entry.clone() });
            }
        }
        if !boat.spoken.is_empty() {
            boat.renamed = store.carried_names().await?;
            let renamed = std::mem::take(&mut boat.renamed);
            for spoken in &mut boat.spoken {
                if let Some((_, now)) = renamed.iter().find(|(was, _)| was.starts_with(&spoken.item)) {
                    spoken.item.clone_from(now);
                }
            }
            boat.renamed = renamed;
        }
        Ok(boat)
    }

    /// The same boat without what was kept of her, so that all is worked out from the notes.
    #[cfg(test)]
    pub(crate) fn unkept(self) -> Self {
        Self { kept: None, ..self }
    }

    /// The notes that answer, oldest first, each with the SHA-256 of its source in hexadecimal.
    pub fn sources(&self) -> impl Iterator<Item = (&Stored, &str)> {
        self.notes.iter().zip(&self.hashes).map(|(stored, hash)| (stored, hash.as_str()))
    }

    /// The decisions on items, oldest first.
    pub fn spoken(&self) -> &[Spoken] {
        &self.spoken
    }

    /// The names that items have now which went by a name before, given by its beginning.
    pub fn names_now(&self, asked: &str) -> Vec<&str> {
        self.renamed.iter().filter(|(was, _)| was.starts_with(asked)).map(|(_, now)| now.as_str()).collect()
    }

    /// The passage, as far as the skipper has set it.
    pub fn passage(&self) -> &Passage {
        &self.passage
    }

    /// The decisions that stand on a day, by time.
    pub fn decisions(&self, day: Day) -> impl Iterator<Item = &Entry> {
        self.decisions.iter().filter(move |entry| !day.asked || entry.day() <= day.on)
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

    /// The trial of a source, by its SHA-256, whose words meet a place, with the readings that it was tried in.
    pub fn trial_at(&self, hash: &str, place: Span) -> Option<(SourceId, &Trial, Vec<Reading>)> {
        let at = self.hashes.iter().position(|other| other == hash)?;
        let stored = self.notes.get(at)?;
        let meets = |span: Span| span.start < place.end.max(place.start + 1) && place.start < span.end;
        // The very words go before others that overlap them.
        let trials = || stored.note.trials.iter();
        let trial =
            trials().find(|trial| trial.span == place).or_else(|| trials().find(|t| meets(t.span)))?;
        let readings = trial.conditions.iter().filter_map(|&n| stored.note.readings.get(n).cloned());
        Some((stored.source, trial, readings.collect()))
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
        let later = self.notes.len() - notes;
        OpenList::told(self.ledger(day, before), &self.spoken_by(day), voyage, day.on, notes, later)
    }

    /// Adds to the readings the doubts that the boat's instruments raise about them.
    pub async fn doubt(&mut self, panel: &Panel<'_>) -> Result<(), Error> {
        if panel.is_empty() {
            return Ok(());
        }
        // What was kept knows nothing of them.
        self.kept = None;
        for Stored { source, name, note, .. } in &mut self.notes {
            let told = note.readings.iter().enumerate();
            let mut told: Vec<StoredReading> = told
                .map(|(n, reading)| StoredReading {
                    source: *source,
                    name: name.clone(),
                    n,
                    reading: reading.clone(),
                })
                .collect();
            panel.doubt(&mut told).await?;
            for (reading, told) in note.readings.iter_mut().zip(told) {
                reading.doubts = told.reading.doubts;
            }
        }
        Ok(())
    }

    /// The notes that count on a day, oldest first.
    pub fn notes_by(&self, day: Day) -> impl Iterator<Item = &Stored> {
        self.notes.iter().filter(move |stored| !later(stored, day))
    }

    /// The decisions that give limits and count on a day, oldest first.
    pub fn limits_by(&self, day: Day) -> impl Iterator<Item = &Entry> {
        self.limits.iter().filter(move |entry| !day.asked || entry.day() <= day.on)
    }

    /// The limits that the skipper gives, as the fold wants them.
    fn own_limits(&self, day: Day) -> Note {
        let given = self.limits_by(day).filter_map(|entry| match &entry.decision {
            Decision::Limit { quantity, gear, low, high, who } => Some(Reading {
                quantity: quantity.clone(),
                low: *low,
                high: *high,
                unit: table().quantities.iter().find(|q| q.name == *quantity)?.unit.clone(),
                unit_said: String::new(),
                stance: Stance::Limit,
                gear: gear.clone(),
                at: None,
                span: Span::default(),
                quote: who.clone(),
                doubts: Vec::new(),
                because: Vec::new(),
            }),
            _ => None,
        });
        of_skipper(given.collect())
    }

    /// The decisions on items that count on a day.
    fn spoken_by(&self, day: Day) -> Vec<&Spoken> {
        self.spoken.iter().filter(|s| !day.asked || s.entry.day() <= day.on).collect()
    }

    /// All matters as of a day: as they were kept, else folded anew.
    pub fn ledger(&self, day: Day, before: Option<NaiveDate>) -> Ledger {
        let kept = self.kept.as_ref().filter(|_| before.is_none());
        kept.and_then(|kept| kept.ledger(day)).unwrap_or_else(|| self.folded(day, before).0)
    }

    /// All matters, folded anew as of a day, and the days on which they are the same.
    pub fn folded(&self, day: Day, before: Option<NaiveDate>) -> (Ledger, Days) {
        let known = |entry: &Entry| {
            let notes = self.notes.iter().filter(|stored| !later(stored, day));
            let known = |stored: &Stored| match (entry.day, stored.recorded) {
                (_, None) => true,
                (Some(of), Some(recorded)) => recorded.date_naive() <= of,
                (None, Some(recorded)) => stored.received <= entry.time || recorded <= entry.time,
            };
            notes.enumerate().filter(|(_, stored)| known(stored)).map(|(n, _)| n + 2).last().unwrap_or(1)
        };
        let rulings: Vec<Ruling> = self
            .spoken_by(day)
            .iter()
            .filter_map(|s| {
                let says = says(&s.entry.decision, &self.renamed)?;
                let at = s.entry.at().fixed_offset();
                Some(Ruling { matter: s.item.clone(), at, known: known(&s.entry), says })
            })
            .collect();
        // The skipper's limits stand before all notes, which the rulings' counts take into account.
        let own = self.own_limits(day);
        let noted = [vec![Noted { source: "", name: "you", note: &own }], self.noted(day)].concat();
        matter::fold_and_days(&noted, &rulings, &passage(&self.voyage(day, before)), day.on)
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

    /// The first day of which to ask leaves nothing out: no note and nothing that the skipper says is of a later one.
    pub fn last_told(&self) -> Option<NaiveDate> {
        let said = self.decisions.iter().filter_map(|entry| match &entry.decision {
            Decision::Gear { on, .. } => Some(on.unwrap_or(entry.day())),
            Decision::Proof { proved, .. } => *proved,
            // Whatever day is asked about, the passage to come is the one that is set by now.
            Decision::Passage(_) => None,
            _ => Some(entry.day()),
        });
        said.chain(self.last_day()).max()
    }

    /// The items that a new note raises in the light of the notes that are here.
    pub fn raised(&self, name: &str, note: &Note, day: Day) -> Vec<Item> {
        // It is no word of the skipper's own, which bear no source.
        let noted = Noted { source: name, name, note };
        let voyage = self.voyage(day, None);
        let own = &note.passage;
        let passage =
            matter::Passage { leaves: voyage.leaves.or(own.leaves), back: voyage.back.or(own.back) };
        // The day that the note is of: what it says is overdue is so by then.
        let on = note.recorded.map_or(day.on, |moment| moment.at.date_naive());
        let own = self.own_limits(day);
        let before =
            [vec![Noted { source: "", name: "you", note: &own }], self.noted(Day { asked: false, ..day })];
        matter::raised(&before.concat(), &noted, &passage, on)
    }

    /// The notes that answer on a day, in the order in which they were made.
    pub fn noted(&self, day: Day) -> Vec<Noted<'_>> {
        let both = self.notes.iter().zip(&self.hashes);
        both.filter(|(stored, _)| !later(stored, day))
            .map(|(stored, hash)| Noted { source: hash, name: &stored.name, note: &stored.note })
            .collect()
    }
}

/// The item that a decision is about, by its whole name or as it was given.
fn item_of(entry: &Entry) -> Option<String> {
    match &entry.decision {
        Decision::Add { .. } => Some(name_of_decision(&entry.id)),
        Decision::Confirm { of: Finding::Item, place, item: None }
        | Decision::Correct { of: Finding::Item, place, item: None, .. } => Some(name_of(place)),
        decision => decision.item().map(str::to_owned),
    }
}

/// The name of what stands first at a place.
fn name_of(place: &Place) -> String {
    whole_name(&place.source.to_string(), place.span)
}

/// What a decision says to the fold; `None` where it changes nothing of what stands open, only how it is shown.
fn says(decision: &Decision, renamed: &[(String, String)]) -> Option<Says> {
    let now = |name: String| {
        renamed.iter().find(|(was, _)| was.starts_with(&name)).map_or(name, |(_, now)| now.clone())
    };
    Some(match decision {
        Decision::Close { because, .. } => Says::Close { because: because.clone() },
        Decision::Reopen { .. } => Says::Reopen { because: String::new() },
        Decision::Confirm { of: Finding::Item, .. } => Says::Confirm,
        Decision::Correct { of: Finding::Item, to, .. } if to.dismissed => Says::Dismiss,
        Decision::Add { about, gear, why } => Says::Add {
            about: about.clone(),
            gear: gear.clone(),
            why: Why::from_name(why).unwrap_or(Why::Task),
        },
        Decision::Merge { items } => Says::Join { with: items.iter().skip(1).cloned().map(now).collect() },
        Decision::Split { out, .. } => Says::Split { out: out.iter().map(name_of).map(now).collect() },
        _ => return None,
    })
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
    let mut readings = store.readings(&Asked { quantities, until, ..Asked::default() }).await?;
    Panel::open(store, zone).await?.doubt(&mut readings).await?;
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
