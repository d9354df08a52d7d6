//! The skipper's own words: for gear, units, quantities and outcomes.

use leadsman_index::{Decision, Store};
use leadsman_ingest::quantity::{UnitAt, unit_at, units};
use leadsman_ingest::talk::Talk;
use leadsman_ingest::taught::unit_word;
use leadsman_ingest::{Outcome, Utterance, gear};

use super::{Ready, words};
use crate::error::{Error, did_you_mean};
use crate::gear_word::Wanted;
use crate::quantity_word::quantity;

/// What taught words mean, as a person types it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// A gear by any of its names, or one that nobody has heard of yet.
    Gear(String),
    /// A unit by its symbol or name.
    Unit(String),
    /// A quantity by its name.
    Quantity(String),
    /// How a trial went.
    Outcome(Outcome),
}

/// Checks what is taught. Errors: words without a letter; a unit or quantity that there is none of.
pub(super) async fn teach(store: &Store, said: &str, means: &Meaning) -> Result<Ready, Error> {
    let word = words(said)?;
    if !word.contains(char::is_alphabetic) {
        return Err(Error::wrong_use(format!("expected words with letters, found \"{word}\"")));
    }
    let (mut named, mut unit, mut of, mut outcome) = (None, None, None, None);
    let said = match means {
        Meaning::Gear(asked) => {
            let name = Wanted::by_names(&words(asked)?, &store.learned().await?.names).name;
            let known = gear::by_name(&name).is_some();
            let new = if known { "" } else { ", gear of its own that the lexicon does not have" };
            let said = format!("{name}{new}");
            named = Some(name);
            said
        }
        Meaning::Unit(asked) => {
            let symbol = unit_named(asked)?;
            unit = Some(symbol.clone());
            symbol
        }
        Meaning::Quantity(asked) => {
            let name = quantity(asked)?.name.clone();
            of = Some(name.clone());
            name
        }
        Meaning::Outcome(asked) => {
            outcome = Some(*asked);
            asked.to_string()
        }
    };
    let said = format!("\u{201c}{word}\u{201d} means {said}, in the notes that are here too");
    Ok(Ready { decision: Decision::Teach { word, gear: named, unit, quantity: of, outcome }, said })
}

/// The symbol of a unit that a person names.
fn unit_named(asked: &str) -> Result<String, Error> {
    let asked = asked.trim();
    let symbols = || units().all.iter().filter(|u| unit_word(&u.symbol).is_some()).map(|u| u.symbol.as_str());
    if let Some(symbol) = symbols().find(|symbol| *symbol == asked) {
        return Ok(symbol.to_owned());
    }
    let line = format!("1 {asked}");
    let utterances = [Utterance::line(&line)];
    let talk = Talk::new(&line, &utterances, &[]);
    let whole = |found: &UnitAt| found.end == talk.tokens.len() && found.rate.is_none();
    if let Some(found) = unit_at(&line, &talk.tokens, 1).filter(whole)
        && unit_word(&found.unit.symbol).is_some()
    {
        return Ok(found.unit.symbol.clone());
    }
    let error = Error::wrong_use(format!("no unit that one word can stand for is called \"{asked}\""));
    Err(match did_you_mean(asked, symbols()) {
        Some(meant) => error.hint(format!("did you mean {meant}?")),
        None => error.hint(format!("the units are {}", symbols().collect::<Vec<_>>().join(", "))),
    })
}
