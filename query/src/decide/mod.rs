//! The skipper's word: what is asked, checked against what the home holds, as a decision ready to be kept.
//!
//! The command line and the page ask the same way: an [`Ask`] goes through [`ready`], which finds what a short name
//! means and says what is wrong, and [`keep`] writes the decision that comes of it.

mod finding;
mod name;
mod teach;
pub mod value;

use std::time::Duration;

use chrono::{DateTime, FixedOffset, NaiveDate};
use chrono_tz::Tz;
use leadsman_index::{Correction, Decision, Entry, Finding, Home, Place, Rank, SourceState, Store};
use leadsman_ingest::matter::Evidence;
use leadsman_ingest::{Moment, Outcome, Stance, Why};

use crate::announced::{Announced, Announcement, announcement};
use crate::boat::{Boat, Day};
use crate::error::{Error, did_you_mean};
use crate::figure;
use crate::folded;
use crate::gear_word::Wanted;
use crate::moment_word::of_day;
use crate::open_item::{matter, without_mending};
use crate::quantity_word::quantity;
use crate::screen::{STRONG, styled};

pub use finding::{Named, NamedReading, NamedTrial};
pub use name::{Known, State, gone_item, item};
pub use teach::Meaning;

/// What a person asks to be decided. Items, readings and trials go by their short names, or the beginnings of these.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {
    /// The item is done.
    Close {
        /// Its name.
        item: String,
        /// Why.
        because: String,
    },
    /// It stands open after all: what was closed, accepted, put off or dismissed.
    Reopen {
        /// Its name.
        item: String,
    },
    /// Sailing with it as it is.
    Accept {
        /// Its name.
        item: String,
        /// Why.
        because: String,
    },
    /// Not before a day.
    PutOff {
        /// Its name.
        item: String,
        /// The day.
        until: NaiveDate,
    },
    /// Somebody else does it.
    Give {
        /// Its name.
        item: String,
        /// Who.
        to: String,
    },
    /// It waits for something.
    Wait {
        /// Its name.
        item: String,
        /// What for.
        what: String,
        /// When that is due.
        due: Option<NaiveDate>,
    },
    /// How much it presses.
    Rank {
        /// Its name.
        item: String,
        /// The rank.
        rank: Rank,
    },
    /// It is due by a day.
    Due {
        /// Its name.
        item: String,
        /// The day.
        date: NaiveDate,
    },
    /// An item that no note has said.
    Add {
        /// The matter.
        about: String,
        /// The gear, by any of its names.
        gear: Option<String>,
        /// Why it is open.
        why: Why,
    },
    /// Several are one matter; the first keeps its name.
    Join {
        /// Their names.
        items: Vec<String>,
    },
    /// Some of an item's evidence is a matter of its own.
    Split {
        /// Its name.
        item: String,
        /// Which pieces go, counted from 1, oldest first.
        pieces: Vec<usize>,
    },
    /// A remark.
    Note {
        /// The item's name.
        item: String,
        /// The remark.
        text: String,
    },
    /// A reading or trial is right as it was read, or what closed an item did so.
    Confirm {
        /// Its name.
        name: String,
    },
    /// A reading, trial or item is to be read otherwise.
    Correct {
        /// Its name.
        name: String,
        /// How.
        to: Amend,
    },
    /// Nothing of the kind was said.
    Dismiss {
        /// The name of a reading, trial or item.
        name: String,
    },
    /// Words mean something from now on, in the notes that are here too.
    Teach {
        /// The words.
        words: String,
        /// What they mean, as a person types it.
        means: Meaning,
    },
    /// A band for a quantity; a reading outside it opens an item.
    Limit {
        /// The quantity.
        quantity: String,
        /// The band as a person types it.
        band: String,
        /// The gear, by any of its names; `None` for the boat.
        gear: Option<String>,
        /// Who gives it.
        who: String,
    },
    /// An earlier decision is taken back.
    Undo {
        /// Its name or its identifier, or the beginning of either.
        decision: String,
    },
    /// A source no longer answers.
    Withdraw {
        /// The file's name, its path or the beginning of its hash.
        source: String,
        /// Whether its bytes are destroyed too, for good.
        erase: bool,
    },
}

/// What a finding should be, as a person types it; what is absent stays as it was read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Amend {
    /// The value, with or without its unit.
    pub value: Option<String>,
    /// The quantity's name.
    pub quantity: Option<String>,
    /// What the number means.
    pub stance: Option<Stance>,
    /// The gear, by any of its names; empty for none.
    pub gear: Option<String>,
    /// How the trial went.
    pub outcome: Option<Outcome>,
    /// When it was.
    pub at: Option<At>,
}

/// A time as a person types it, and the zone that it is meant in; a clock time alone is of the day that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct At {
    /// As typed.
    pub text: String,
    /// The zone.
    pub zone: Tz,
}

impl At {
    /// The instant, of a finding that was read as of another. Errors: what does not read.
    fn instead_of(&self, was: Option<Moment>) -> Result<DateTime<FixedOffset>, Error> {
        of_day(&self.text, was.map(|was| was.at.with_timezone(&self.zone).date_naive()), self.zone)
    }
}

/// A decision that was checked, with what it does in a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Ready {
    /// The decision.
    pub decision: Decision,
    /// What it does, for the person who asked.
    pub said: String,
}

/// Checks what is asked against what the home holds on a day. Errors, all of them wrong use: a name that nothing has, or
/// that could be any of several, with the nearest; something that is so already; words that say nothing.
pub async fn ready(store: &Store, boat: &Boat, day: Day, ask: Ask) -> Result<Ready, Error> {
    let list = boat.open_list(day, None);
    let find = |name: &str| item(boat, &list, name);
    Ok(match ask {
        Ask::Close { item, because } => {
            let known = match find(&item) {
                Ok(known) => known,
                Err(none) => return of_announced(boat, day, &item, none)?.close(&words(&because)?),
            };
            if known.state == State::Closed && !known.unconfirmed {
                return Err(known.is("closed already").hint("`leadsman open --all` shows what closed it"));
            }
            if known.state == State::Dismissed {
                return Err(known.is("dismissed"));
            }
            // One that a note closed is closed for good by the same word.
            if known.state == State::Closed {
                return confirm_item(&known);
            }
            let because = words(&because)?;
            known.ready("closed", Decision::Close { item: known.id.clone(), because })
        }
        Ask::Reopen { item } => {
            let known = match gone_item(boat, &list, &item) {
                Ok(known) => known,
                Err(none) => return of_announced(boat, day, &item, none)?.reopen(),
            };
            if known.state == State::Open {
                return Err(known.is("stands open already"));
            }
            let ready = known.ready("", Decision::Reopen { item: known.id.clone() });
            let about = without_mending(&known.about);
            Ready { said: format!("open again {}: {about}", styled(STRONG, &known.name)), ..ready }
        }
        Ask::Accept { item, because } => {
            let known = find(&item)?.standing()?;
            let because = words(&because)?;
            known.ready("accepted", Decision::Accept { item: known.id.clone(), because })
        }
        Ask::PutOff { item, until } => {
            let known = find(&item)?.standing()?;
            if until <= day.on {
                return Err(Error::wrong_use(format!("{} has come already", figure::day(until)))
                    .hint("put it off to a day that is still to come"));
            }
            let said = format!("put off until {}", figure::day(until));
            known.ready(&said, Decision::PutOff { item: known.id.clone(), until })
        }
        Ask::Give { item, to } => {
            let known = find(&item)?.standing()?;
            let to = words(&to)?;
            known.ready(&format!("given to {to}"), Decision::Give { item: known.id.clone(), to })
        }
        Ask::Wait { item, what, due } => {
            let known = find(&item)?.standing()?;
            let what = words(&what)?;
            let due_said = due.map_or_else(String::new, |due| format!(", due {}", figure::day(due)));
            let said = format!("waits for {what}{due_said}");
            known.ready(&said, Decision::Wait { item: known.id.clone(), r#for: what, due })
        }
        Ask::Rank { item, rank } => {
            let known = find(&item)?.standing()?;
            let said = format!("ranked {}", rank_word(rank));
            known.ready(&said, Decision::Rank { item: known.id.clone(), rank })
        }
        Ask::Due { item, date } => {
            let known = find(&item)?.standing()?;
            let said = format!("due by {}", figure::day(date));
            known.ready(&said, Decision::Due { item: known.id.clone(), date })
        }
        Ask::Add { about, gear, why } => {
            let about = words(&about)?;
            let gear = match gear {
                Some(gear) => gear_named(store, &gear).await?,
                None => None,
            };
            let said = format!("added: {}", matter(&gear, &about));
            Ready { decision: Decision::Add { about, gear, why: why.name().to_owned() }, said }
        }
        Ask::Join { items } => join(&items, find)?,
        Ask::Split { item, pieces } => split(&find(&item)?.standing()?, &pieces)?,
        Ask::Note { item, text } => {
            let known = find(&item)?;
            let text = words(&text)?;
            known.ready("noted on", Decision::Note { item: known.id.clone(), text })
        }
        Ask::Confirm { name } => match finding::named(boat, &name)? {
            Some(found) => found.confirm(),
            None => confirm_item(&find(&name)?)?,
        },
        Ask::Correct { name, to } => {
            let gear = match &to.gear {
                Some(gear) => Some(gear_named(store, gear).await?.unwrap_or_default()),
                None => None,
            };
            match finding::named(boat, &name)? {
                Some(found) => found.correct(&to, gear)?,
                None => correct_item(boat, &find(&name)?, &to, gear)?,
            }
        }
        Ask::Dismiss { name } => match finding::named(boat, &name)? {
            Some(found) => found.dismiss(),
            None => {
                let known = match find(&name) {
                    Ok(known) => known,
                    Err(none) => return of_announced(boat, day, &name, none)?.dismiss(),
                };
                if known.state == State::Dismissed {
                    return Err(known.is("dismissed already"));
                }
                let Some(place) = known.place() else {
                    return Err(known
                        .is("your own")
                        .hint("`leadsman undo` takes back what you added; or close it"));
                };
                let to = Correction { dismissed: true, ..Correction::default() };
                known.ready(
                    "dismissed",
                    Decision::Correct { of: Finding::Item, place, to, item: Some(known.id.clone()) },
                )
            }
        },
        Ask::Limit { quantity: asked, band: text, gear, who } => {
            let of = quantity(&asked)?;
            let value::Band { low, high, said: given } = value::band(&text, of)?;
            if low == high {
                let text = text.trim();
                return Err(Error::wrong_use(format!(
                    "expected the least or the most of {}, found \"{text}\"",
                    crate::words::spaced(&of.name)
                ))
                .hint(format!("write \"{text} or more\" or \"{text} or less\", or a band like 12..14")));
            }
            let who = words(&who)?;
            let gear = match gear {
                Some(gear) => gear_named(store, &gear).await?,
                None => None,
            };
            if gear.is_none() && matches!(of.name.as_str(), "rig_tension" | "gauge_reading" | "pump_rate") {
                return Err(Error::wrong_use(format!("a limit of {} is for one gear", of.name))
                    .hint("give --gear: what holds for one wire need not hold for another"));
            }
            let on = gear.as_ref().map_or_else(String::new, |gear| format!(" of {gear}"));
            let band = figure::range(low, high, &of.unit);
            let band = given.map_or(band.clone(), |given| format!("{given} ({band})"));
            let said = format!("limit: {}{on} {band}, given by {who}", crate::words::spaced(&of.name));
            Ready { decision: Decision::Limit { quantity: of.name.clone(), gear, low, high, who }, said }
        }
        Ask::Teach { words, means } => teach::teach(store, &words, &means).await?,
        Ask::Undo { decision } => undo(store, &decision)?,
        Ask::Withdraw { source, erase } => {
            let row = store.find_source(&source).await?;
            match (row.state, erase) {
                (SourceState::Erased, _) | (SourceState::Withdrawn, false) => {
                    return Err(Error::wrong_use(format!("{} is {} already", row.name, row.state.name())));
                }
                _ => {}
            }
            let how = if erase {
                "withdrawn, and its bytes destroyed for good"
            } else {
                "withdrawn: it no longer answers; `leadsman undo` brings it back"
            };
            let decision = Decision::Withdraw { source: row.source, erase };
            Ready { decision, said: format!("{} {how}", row.name) }
        }
    })
}

/// The trial announced that a name means which no item goes by. Errors: `none` where no announcement does either.
fn of_announced(boat: &Boat, day: Day, asked: &str, none: Error) -> Result<Announcement, Error> {
    announcement(boat, day, asked).ok_or(none)
}

impl Announcement {
    fn close(self, because: &str) -> Result<Ready, Error> {
        self.standing()?;
        let decision = Decision::Close { item: self.announced.id.clone(), because: because.to_owned() };
        Ok(self.ready("closed", decision))
    }

    fn dismiss(self) -> Result<Ready, Error> {
        self.standing()?;
        let one = &self.announced;
        let source =
            one.source.parse().map_err(|_| Error::home("a note's name in the database is no hash"))?;
        let place = Place { source, span: one.span, quote: one.quote.clone() };
        let to = Correction { dismissed: true, ..Correction::default() };
        let decision = Decision::Correct { of: Finding::Item, place, to, item: Some(one.id.clone()) };
        Ok(self.ready("dismissed", decision))
    }

    fn reopen(self) -> Result<Ready, Error> {
        if !self.settled {
            return Err(Error::wrong_use(format!(
                "{} stands among the trials announced already",
                self.announced.name
            )));
        }
        let decision = Decision::Reopen { item: self.announced.id.clone() };
        Ok(self.ready("open again", decision))
    }

    fn standing(&self) -> Result<(), Error> {
        if !self.settled {
            return Ok(());
        }
        let name = &self.announced.name;
        Err(Error::wrong_use(format!("{name} is closed already"))
            .hint(format!("`leadsman reopen {name}` brings it back")))
    }

    fn ready(&self, said: &str, decision: Decision) -> Ready {
        let Announced { name, gear, quote, .. } = &self.announced;
        let said = format!("{said} {}: trial of {gear} announced: {quote}", styled(STRONG, name));
        Ready { decision, said }
    }
}

/// Keeps a decision, for a day that has passed where one is given; it is on the disk when this returns. Errors: the home
/// is held by another process; the disk.
pub async fn keep(
    home: &Home,
    day: Option<NaiveDate>,
    decision: Decision,
    patience: Duration,
) -> Result<Entry, Error> {
    let mut writer = home.writer(patience).await?;
    let entry = writer.decide_for(day, decision).await?;
    folded::keep(&mut writer).await?;
    writer.finish().await?;
    Ok(entry)
}

/// Takes back the last decision of this device that stands. Errors: there is none; as [`keep`].
pub async fn undo_last(home: &Home, patience: Duration) -> Result<Entry, Error> {
    let mut writer = home.writer(patience).await?;
    let last = writer.undo_last().await?;
    folded::keep(&mut writer).await?;
    writer.finish().await?;
    last.ok_or_else(|| Error::wrong_use("there is no decision of this device to take back"))
}

/// A rank in words.
pub fn rank_word(rank: Rank) -> &'static str {
    match rank {
        Rank::Must => "must",
        Rank::Should => "should",
        Rank::CanWait => "can wait",
    }
}

/// The short name of a decision.
pub fn decision_name(entry: &Entry) -> String {
    let mut name = leadsman_ingest::matter::name_of_decision(&entry.id);
    name.truncate(5);
    format!("d-{name}")
}

/// Words that say something.
pub fn words(text: &str) -> Result<String, Error> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.is_empty() { Err(Error::wrong_use("expected a few words, found none")) } else { Ok(text) }
}

/// The name that answers give to gear; `None` for no words. Gear that nobody has heard of is taken by its words.
async fn gear_named(store: &Store, words: &str) -> Result<Option<String>, Error> {
    if words.trim().is_empty() {
        return Ok(None);
    }
    Ok(Some(Wanted::by_names(words, &store.learned().await?.names).name))
}

fn join<'l>(items: &[String], find: impl Fn(&str) -> Result<Known<'l>, Error>) -> Result<Ready, Error> {
    let known: Vec<Known<'_>> =
        items.iter().map(|name| find(name)?.standing()).collect::<Result<_, Error>>()?;
    let Some((first, others)) = known.split_first().filter(|(_, others)| !others.is_empty()) else {
        return Err(Error::wrong_use("expected two items or more, found one"));
    };
    if let Some(twice) = others.iter().find(|other| other.id == first.id) {
        return Err(Error::wrong_use(format!("{} is named twice", twice.name)));
    }
    let with: Vec<&str> = others.iter().map(|other| other.name.as_str()).collect();
    let said = format!("joined with {}", with.join(", "));
    let items = known.iter().map(|item| item.id.clone()).collect();
    Ok(first.ready(&said, Decision::Merge { items }))
}

fn split(known: &Known<'_>, pieces: &[usize]) -> Result<Ready, Error> {
    let count = known.evidence.len();
    if count < 2 {
        return Err(known.is("one piece of evidence, and cannot be split"));
    }
    if let Some(wrong) = pieces.iter().find(|&&n| n == 0 || n > count) {
        return Err(Error::wrong_use(format!("{} has pieces 1 to {count}, found {wrong}", known.name))
            .hint(format!("`leadsman item {}` shows them, each with its number", known.name)));
    }
    let out: Vec<Place> = known
        .evidence
        .iter()
        .enumerate()
        .filter(|(n, _)| pieces.contains(&(n + 1)))
        .filter_map(|(_, evidence)| place_of(evidence))
        .collect();
    if out.is_empty() || out.len() == count {
        return Err(Error::wrong_use("some of the pieces must go and some must stay"));
    }
    let said = format!("{} taken out of", figure::count(out.len(), "piece", "pieces"));
    Ok(known.ready(&said, Decision::Split { item: known.id.clone(), out }))
}

fn confirm_item(known: &Known<'_>) -> Result<Ready, Error> {
    let said = match known.state {
        State::Closed => "confirmed closed",
        State::Perhaps => "confirmed to stand open",
        _ => return Err(known.is("neither closed nor in doubt, so there is nothing to confirm")),
    };
    if known.state == State::Closed && !known.unconfirmed {
        return Err(known.is("closed for good already"));
    }
    match known.place() {
        Some(place) => {
            Ok(known
                .ready(said, Decision::Confirm { of: Finding::Item, place, item: Some(known.id.clone()) }))
        }
        None => {
            Ok(known.ready(said, Decision::Close { item: known.id.clone(), because: "confirmed".to_owned() }))
        }
    }
}

/// Corrects an item's gear; its other parts have decisions of their own.
fn correct_item(boat: &Boat, known: &Known<'_>, to: &Amend, gear: Option<String>) -> Result<Ready, Error> {
    let other = [to.value.is_some(), to.quantity.is_some(), to.stance.is_some(), to.outcome.is_some()];
    if other.contains(&true) || to.at.is_some() {
        return Err(Error::wrong_use(format!("{} is an item: only its gear can be corrected", known.name))
            .hint("a value, quantity, stance, outcome or time is a reading's or a trial's: `leadsman item` shows their names"));
    }
    let Some(gear) = gear else { return Err(nothing_to_correct()) };
    let Some(place) = known.place() else {
        return Err(known.is("your own").hint("take it back with `leadsman undo` and add it again"));
    };
    if !boat.is_item(&place) {
        return Err(Error::wrong_use(format!("{} follows from a reading or a date", known.name))
            .hint("correct the reading instead: `leadsman item` shows its name".to_owned()));
    }
    let said = format!("gear of {} is now {}: ", known.name, if gear.is_empty() { "none" } else { &gear });
    let to = Correction { gear: Some(gear), ..Correction::default() };
    let ready =
        known.ready("", Decision::Correct { of: Finding::Item, place, to, item: Some(known.id.clone()) });
    Ok(Ready { said: said + known.about.as_str(), ..ready })
}

fn nothing_to_correct() -> Error {
    Error::wrong_use("expected what to correct, found nothing").hint(
        "give --value, --quantity, --stance, --gear, --outcome or --at; `leadsman dismiss` where nothing was said",
    )
}

fn undo(store: &Store, asked: &str) -> Result<Ready, Error> {
    let asked = asked.trim();
    let entries: Vec<&Entry> = store.record().all_decisions().map(|(entry, _)| entry).collect();
    let fits = |entry: &&&Entry| {
        let name = decision_name(entry);
        entry.id.starts_with(asked)
            || name.starts_with(&asked.to_lowercase())
            || name[2..].starts_with(&asked.to_lowercase())
    };
    let fitting: Vec<&&Entry> = entries.iter().filter(|entry| !asked.is_empty() && fits(entry)).collect();
    match fitting.as_slice() {
        [entry] => Ok(Ready {
            decision: Decision::Undo { decision: entry.id.clone() },
            said: format!("taken back {}: {}", decision_name(entry), in_words(&entry.decision)),
        }),
        [] => {
            let names: Vec<String> = entries.iter().map(|entry| decision_name(entry)).collect();
            let error = Error::wrong_use(format!("no decision is called \"{asked}\""));
            Err(match did_you_mean(asked, names.iter().map(String::as_str)) {
                Some(near) => error.hint(format!("did you mean {near}? `leadsman decisions` lists them")),
                None => error.hint("`leadsman decisions` lists them, each with its name"),
            })
        }
        several => {
            let names: Vec<String> = several.iter().map(|entry| decision_name(entry)).collect();
            Err(Error::wrong_use(format!("\"{asked}\" could be any of {}", names.join(", "))))
        }
    }
}

/// The place of a piece of evidence, as a decision has it.
fn place_of(evidence: &Evidence) -> Option<Place> {
    let source = evidence.source.parse().ok()?;
    Some(Place { source, span: evidence.span, quote: evidence.quote.clone() })
}

/// A decision in a line of words.
pub fn in_words(decision: &Decision) -> String {
    let quoted = |place: &Place| format!("\u{201c}{}\u{201d}", place.quote);
    match decision {
        Decision::Close { because, .. } => format!("closed: {because}"),
        Decision::Reopen { .. } => "opened again".to_owned(),
        Decision::Accept { because, .. } => format!("accepted: {because}"),
        Decision::PutOff { until, .. } => format!("put off until {}", figure::day(*until)),
        Decision::Give { to, .. } => format!("given to {to}"),
        Decision::Wait { r#for, due: None, .. } => format!("waits for {for}"),
        Decision::Wait { r#for, due: Some(due), .. } => {
            format!("waits for {for}, due {}", figure::day(*due))
        }
        Decision::Rank { rank, .. } => format!("ranked {}", rank_word(*rank)),
        Decision::Due { date, .. } => format!("due by {}", figure::day(*date)),
        Decision::Add { about, .. } => format!("added: {about}"),
        Decision::Merge { items } => format!("joined {}", items.join(", ")),
        Decision::Split { out, .. } => {
            format!("split off {}", out.iter().map(quoted).collect::<Vec<_>>().join(", "))
        }
        Decision::Note { text, .. } => format!("noted: {text}"),
        Decision::Confirm { place, .. } => format!("confirmed {}", quoted(place)),
        Decision::Correct { place, to, .. } if to.dismissed => format!("dismissed {}", quoted(place)),
        Decision::Correct { place, to, .. } => {
            format!("corrected {}: {}", quoted(place), correction(to))
        }
        Decision::Withdraw { source, erase } => {
            format!("withdrew {}{}", source.short(), if *erase { " and destroyed its bytes" } else { "" })
        }
        Decision::Undo { decision } => format!("took back {decision}"),
        Decision::Limit { quantity, gear, low, high, who } => {
            let unit = crate::quantity_word::quantity(quantity).map_or("", |of| of.unit.as_str());
            let on = gear.as_ref().map_or_else(String::new, |gear| format!(" of {gear}"));
            let band = figure::range(*low, *high, unit);
            format!("limit: {}{on} {band}, given by {who}", crate::words::spaced(quantity))
        }
        Decision::Teach { word, gear, unit, quantity, outcome } => {
            let outcome = outcome.map(|outcome| outcome.to_string());
            let means: Vec<&str> =
                [gear, unit, quantity, &outcome].into_iter().flatten().map(String::as_str).collect();
            format!("taught: \u{201c}{word}\u{201d} means {}", means.join(", "))
        }
        // The others have screens of their own; here their fields are enough.
        other => {
            let mut fields = serde_json::to_value(other).unwrap_or_default();
            if let Some(fields) = fields.as_object_mut() {
                fields.remove("kind");
            }
            format!("{} {fields}", crate::words::spaced(other.kind()))
        }
    }
}

fn correction(to: &Correction) -> String {
    let unit = to.unit.as_deref().unwrap_or_default();
    let value = (to.low.is_some() || to.high.is_some()).then(|| figure::range(to.low, to.high, unit));
    let gear = to.gear.as_ref().map(|gear| if gear.is_empty() { "no gear".to_owned() } else { gear.clone() });
    let parts = [
        to.quantity.as_deref().map(crate::words::spaced),
        value,
        to.stance.map(|stance| stance.to_string()),
        gear,
        to.outcome.map(|outcome| outcome.to_string()),
        to.at.map(figure::moment),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
