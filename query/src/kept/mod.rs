//! What questions that look at all notes work out of them, kept beside the database, so that an answer reads one small
//! piece and not ten years of findings.
//!
//! Pieces are made whenever matters are kept, that is after every change, and by the first who asks on a day from which
//! a date has passed. Each says what it was made from: the program, the arrivals and decisions, and which sources answer
//! ([`Grounds`]). The day asked about is told apart by itself: matters hold from one date said in notes to the next, and a
//! piece answers for a day in the past only where nothing that was told since is left out of it. What rests on anything
//! else is worked out from the notes, so that no answer is ever stale; `leadsman check` compares both.

mod pieces;
#[cfg(test)]
mod tests;

use std::path::PathBuf;

use chrono::NaiveDate;
use leadsman_index::{Grounds, Home, Record, Store};
use leadsman_ingest::matter::Ledger;
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::beside::Beside;
use crate::boat::{Boat, Day};
use crate::error::Error;
use crate::open_item::OpenList;
use crate::proved::{ProvedList, list};
use crate::reckon::budget::Short;
use crate::register::Register;
use pieces::{GearPiece, MattersPiece, OpenPiece, ProvedPiece};

/// What was kept of a home.
#[derive(Clone, Debug)]
pub struct Kept {
    home: Home,
    grounds: Grounds,
}

/// The answer of `leadsman open`, for a home without instruments.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// The list.
    pub list: OpenList,
    /// What the passage is short of, or why that is not known.
    pub short: Result<Vec<Short>, String>,
    /// What stands beside the list.
    pub beside: Beside,
}

impl Kept {
    /// Looks what a home's answers rest on; `None` where another process is writing. Errors: the home cannot be read.
    pub async fn of(store: &Store) -> Result<Option<Self>, Error> {
        let grounds = store.grounds(env!("LEADSMAN_ASKER")).await?;
        Ok(grounds.map(|grounds| Self { home: store.home().clone(), grounds }))
    }

    /// An answer that is taken from what is kept of a home. Where there is none for today all pieces are made first; for
    /// a day that is asked about they are not. `None`: the answer is to be had from the notes. Errors: the home cannot be
    /// read.
    pub async fn answer<T>(
        store: &Store,
        day: Day,
        take: impl Fn(&Self) -> Option<T>,
    ) -> Result<Option<T>, Error> {
        let Some(kept) = Self::of(store).await? else { return Ok(None) };
        if let Some(answer) = take(&kept) {
            return Ok(Some(answer));
        }
        if day.asked {
            return Ok(None);
        }
        let boat = Boat::read(store).await?;
        // A note that came in while the boat was read may be in it already.
        let same = Self::of(store).await?.is_some_and(|now| now.grounds == kept.grounds);
        let made = same && kept.clone().make(store, &boat, day.on).await?.keep();
        Ok(made.then(|| take(&kept)).flatten())
    }

    /// Makes all pieces for a boat that was read from the same home; those that rest on matters are yet to be kept.
    /// Errors: the home cannot be read.
    pub async fn make(self, store: &Store, boat: &Boat, on: NaiveDate) -> Result<Made, Error> {
        let day = Day { on, asked: false };
        // Neither of the two rests on matters, which take longest.
        let (matters, aside) = beside(
            || MattersPiece::new(boat, day),
            || self.keep(&GearPiece::new(boat, day)) & self.keep(&ProvedPiece::new(boat, day)),
        );
        let open = OpenPiece::new(store, boat, &matters, day).await?;
        Ok(Made { kept: self, matters, open, aside })
    }

    /// All matters as of a day; `None` where they were not kept for it.
    pub fn ledger(&self, day: Day) -> Option<Ledger> {
        let piece: MattersPiece = self.piece()?;
        (piece.seen.all(day) && piece.days.hold(day.on)).then_some(piece.ledger)
    }

    /// What stands open as of a day; with `all` every closing too, else only those that the skipper may yet confirm.
    /// `None` where it was not kept for that day; nothing in it for a home with instruments, which are asked each time.
    pub fn opening(&self, record: &Record, day: Day, all: bool) -> Option<Option<Opening>> {
        let piece: OpenPiece = self.piece()?;
        if !piece.seen.all(day) || !piece.days.hold(day.on) {
            return None;
        }
        if piece.instruments {
            return Some(None);
        }
        let ledger = if all { Some(self.ledger(day)?) } else { None };
        let proved = self.proved(record, day)?;
        piece.opening(day, ledger, proved).map(Some)
    }

    /// The register of gear as of a day; `None` where it was not kept for it.
    pub fn register(&self, day: Day) -> Option<Register> {
        let piece: GearPiece = self.piece()?;
        piece.seen.all(day).then_some(Register { on: day.on, ..piece.register })
    }

    /// The list of what must be proved as of a day; `None` where it was not kept for it.
    pub fn proved(&self, record: &Record, day: Day) -> Option<ProvedList> {
        let piece: ProvedPiece = self.piece()?;
        piece.seen.all(day).then(|| {
            let required = list::edited(record.decisions(), day);
            ProvedList::of_words(piece.words, required, &piece.voyage, day.on, piece.seen.notes)
        })
    }

    /// The pieces that are not what the notes say now, each as a sentence. Errors: the home cannot be read.
    pub async fn differ(&self, store: &Store, boat: &Boat) -> Result<Vec<(PathBuf, String)>, Error> {
        let mut faults = Vec::new();
        if let Some(kept) = self.piece::<MattersPiece>() {
            let day = Day {
                on: kept
                    .days
                    .first
                    .or(kept.days.end.and_then(|end| end.pred_opt()))
                    .or(boat.last_told())
                    .unwrap_or_default(),
                asked: false,
            };
            let matters = MattersPiece::new(boat, day);
            self.compare(&matters, &mut faults);
            self.compare(&OpenPiece::new(store, boat, &matters, day).await?, &mut faults);
            self.compare(&GearPiece::new(boat, day), &mut faults);
            self.compare(&ProvedPiece::new(boat, day), &mut faults);
        }
        Ok(faults)
    }

    fn compare<P: Piece>(&self, now: &P, faults: &mut Vec<(PathBuf, String)>) {
        if self.piece::<P>().is_some_and(|kept| kept != *now) {
            let path = self.home.root().join("derived/kept").join(P::NAME);
            faults.push((path, "kept answers are not what the notes and decisions say".to_owned()));
        }
    }

    fn piece<P: Piece>(&self) -> Option<P> {
        serde_json::from_slice(&self.home.kept(P::NAME, &self.grounds)?).ok()
    }

    /// Whether a piece could be kept. One that cannot is worked out again when it is asked for.
    fn keep<P: Piece>(&self, piece: &P) -> bool {
        let plain = serde_json::to_vec(piece).ok();
        plain.is_some_and(|plain| self.home.keep(P::NAME, &self.grounds, &plain).is_ok())
    }
}

/// What was worked out of a home's notes to be kept.
pub struct Made {
    kept: Kept,
    matters: MattersPiece,
    open: OpenPiece,
    /// Whether the pieces that rest on no matters are kept.
    aside: bool,
}

impl Made {
    /// All matters.
    pub fn ledger(&self) -> &Ledger {
        &self.matters.ledger
    }

    /// Keeps the pieces that rest on matters; whether all are kept now.
    pub fn keep(&self) -> bool {
        let (matters, open) = beside(|| self.kept.keep(&self.matters), || self.kept.keep(&self.open));
        matters & open & self.aside
    }
}

/// Does two things at the same time; whether the second, which keeps pieces, did so. One whose thread failed is not
/// kept, and worked out again when it is asked for.
fn beside<T>(first: impl FnOnce() -> T, second: impl FnOnce() -> bool + Send) -> (T, bool) {
    std::thread::scope(|scope| {
        let second = scope.spawn(second);
        (first(), second.join().unwrap_or(false))
    })
}

/// A piece that is kept in a file of its own.
trait Piece: Serialize + DeserializeOwned + PartialEq {
    /// The file's name.
    const NAME: &'static str;
}
