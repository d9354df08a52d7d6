//! Readings and trials by their names, and what may be said of them.

use leadsman_index::{Correction, Decision, Finding, Place, SourceId};
use leadsman_ingest::matter::finding_name;
use leadsman_ingest::{Reading, Trial};

use super::value::band;
use super::{Amend, Ready, nothing_to_correct};
use crate::boat::Boat;
use crate::error::{Error, did_you_mean};
use crate::figure;
use crate::quantity_word::quantity;
use crate::words::spaced;

/// A reading with its name.
#[derive(Clone, Debug)]
pub struct NamedReading<'b> {
    /// Its whole name.
    pub name: String,
    /// Its source.
    pub source: SourceId,
    /// The reading.
    pub reading: &'b Reading,
}

/// A trial with its name.
#[derive(Clone, Debug)]
pub struct NamedTrial<'b> {
    /// Its whole name.
    pub name: String,
    /// Its source.
    pub source: SourceId,
    /// The trial.
    pub trial: &'b Trial,
}

/// A finding that a name means.
#[derive(Clone, Debug)]
pub enum Named<'b> {
    /// A reading.
    Reading(NamedReading<'b>),
    /// A trial.
    Trial(NamedTrial<'b>),
}

/// The reading or trial that a name means; `None` where the name is an item's: it has no `r-` or `t-` in front.
/// Errors: nothing is called so, with the nearest; several begin so.
pub fn named<'b>(boat: &'b Boat, asked: &str) -> Result<Option<Named<'b>>, Error> {
    let asked = asked.trim().to_lowercase();
    let all: Vec<Named<'b>> = match asked.get(..2) {
        Some("r-") => boat.named_readings().into_iter().map(Named::Reading).collect(),
        Some("t-") => boat.named_trials().into_iter().map(Named::Trial).collect(),
        _ => return Ok(None),
    };
    let kind = if asked.starts_with('r') { "reading" } else { "trial" };
    let mut fitting: Vec<&Named<'_>> =
        all.iter().filter(|found| asked.len() > 2 && found.name().starts_with(&asked)).collect();
    fitting.dedup_by(|a, b| a.name() == b.name());
    match fitting.as_slice() {
        [found] => Ok(Some((*found).clone())),
        [] => {
            let near: Vec<&str> =
                all.iter().map(|found| &found.name()[..6.min(found.name().len())]).collect();
            let error = Error::wrong_use(format!("no {kind} is called \"{asked}\""));
            Err(match did_you_mean(&asked, near.iter().copied()) {
                Some(near) => error.hint(format!("did you mean {near}?")),
                None => {
                    error.hint("`leadsman doubts` and `leadsman explain` show names of readings and trials")
                }
            })
        }
        several => {
            let names: Vec<&str> = several.iter().map(|found| found.name()).collect();
            Err(Error::wrong_use(format!("\"{asked}\" could be any of {}", names.join(", ")))
                .hint("give one more letter"))
        }
    }
}

impl Named<'_> {
    fn name(&self) -> &str {
        match self {
            Named::Reading(found) => &found.name,
            Named::Trial(found) => &found.name,
        }
    }

    fn of(&self) -> Finding {
        match self {
            Named::Reading(_) => Finding::Reading,
            Named::Trial(_) => Finding::Trial,
        }
    }

    fn place(&self) -> Place {
        let (source, span, quote) = match self {
            Named::Reading(found) => (found.source, found.reading.span, &found.reading.quote),
            Named::Trial(found) => (found.source, found.trial.span, &found.trial.quote),
        };
        Place { source, span, quote: quote.clone() }
    }

    /// What it says in a line.
    fn said(&self) -> String {
        match self {
            Named::Reading(found) => reading(found.reading),
            Named::Trial(found) => format!("{} tried: {}", found.trial.gear, found.trial.outcome),
        }
    }

    /// When it was, in words.
    fn when(&self) -> String {
        let at = match self {
            Named::Reading(found) => found.reading.at,
            Named::Trial(found) => found.trial.at,
        };
        at.map_or_else(|| ", at a time not known".to_owned(), |at| format!(", {}", figure::moment(at.at)))
    }

    pub(super) fn confirm(&self) -> Ready {
        let decision = Decision::Confirm { of: self.of(), place: self.place(), item: None };
        Ready { decision, said: format!("confirmed {}: {}", self.name(), self.said()) }
    }

    pub(super) fn dismiss(&self) -> Ready {
        let to = Correction { dismissed: true, ..Correction::default() };
        let decision = Decision::Correct { of: self.of(), place: self.place(), to, item: None };
        Ready { decision, said: format!("dismissed {}: {}", self.name(), self.said()) }
    }

    /// Errors: nothing is asked; something that a finding of this kind has not; a value that does not read.
    pub(super) fn correct(&self, to: &Amend, gear: Option<String>) -> Result<Ready, Error> {
        let change = match self {
            Named::Reading(found) => {
                if to.outcome.is_some() {
                    return Err(Error::wrong_use(format!("{} is a reading: it has no outcome", found.name)));
                }
                correct_reading(found.reading, to, gear)?
            }
            Named::Trial(found) => {
                if to.value.is_some() || to.quantity.is_some() || to.stance.is_some() {
                    return Err(Error::wrong_use(format!(
                        "{} is a trial: it has a gear, an outcome and a time",
                        found.name
                    )));
                }
                if gear.as_deref() == Some("") {
                    return Err(Error::wrong_use("a trial is of some gear; expected its name, found none"));
                }
                let at = to.at.as_ref().map(|at| at.instead_of(found.trial.at)).transpose()?;
                Correction { gear, outcome: to.outcome, at, ..Correction::default() }
            }
        };
        if change == Correction::default() {
            return Err(nothing_to_correct());
        }
        let when = change.at.map_or_else(String::new, |_| self.when());
        let said =
            format!("corrected {}: {}; was {}{when}", self.name(), super::correction(&change), self.said());
        Ok(Ready {
            decision: Decision::Correct { of: self.of(), place: self.place(), to: change, item: None },
            said,
        })
    }
}

fn correct_reading(found: &Reading, to: &Amend, gear: Option<String>) -> Result<Correction, Error> {
    let of = quantity(to.quantity.as_deref().unwrap_or(&found.quantity))?;
    let at = to.at.as_ref().map(|at| at.instead_of(found.at)).transpose()?;
    let mut change = Correction { stance: to.stance, gear, at, ..Correction::default() };
    if to.quantity.is_some() {
        change.quantity = Some(of.name.clone());
        change.unit = Some(of.unit.clone());
        if of.unit != found.unit && to.value.is_none() {
            return Err(Error::wrong_use(format!(
                "{} is in {}, and this reading was taken as {}",
                of.name,
                of.unit,
                figure::range(found.low, found.high, &found.unit)
            ))
            .hint("give --value too"));
        }
    }
    if let Some(value) = &to.value {
        let band = band(value, of)?;
        (change.low, change.high) = (band.low, band.high);
        change.unit = Some(of.unit.clone());
    }
    Ok(change)
}

/// A reading in a line.
pub fn reading(reading: &Reading) -> String {
    let gear = reading.gear.as_ref().map_or_else(String::new, |gear| format!(", {gear}"));
    let value = figure::range(reading.low, reading.high, &reading.unit);
    format!("{} {value}, {}{gear}", spaced(&reading.quantity), reading.stance)
}

impl Boat {
    /// All readings of notes that answer, each with its whole name.
    pub fn named_readings(&self) -> Vec<NamedReading<'_>> {
        let each = self.sources().flat_map(|(stored, hash)| {
            stored.note.readings.iter().map(move |reading| NamedReading {
                name: finding_name(Finding::Reading, hash, reading.span),
                source: stored.source,
                reading,
            })
        });
        each.collect()
    }

    /// All trials of notes that answer, each with its whole name.
    pub fn named_trials(&self) -> Vec<NamedTrial<'_>> {
        let each = self.sources().flat_map(|(stored, hash)| {
            stored.note.trials.iter().map(move |trial| NamedTrial {
                name: finding_name(Finding::Trial, hash, trial.span),
                source: stored.source,
                trial,
            })
        });
        each.collect()
    }

    /// Whether a note itself raises an item at a place, and it does not only follow from a reading or a date.
    pub fn is_item(&self, place: &Place) -> bool {
        let note = self.sources().find(|(stored, _)| stored.source == place.source);
        note.is_some_and(|(stored, _)| stored.note.items.iter().any(|item| item.span == place.span))
    }
}
