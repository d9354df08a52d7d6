//! Which quantity a trend is asked of, by a person's words and by what the home has readings of.

use leadsman_index::{Asked, Store, StoredReading};
use leadsman_ingest::Stance;
use leadsman_ingest::instrument;

use crate::error::Error;
use crate::figure;
use crate::gear_word::Wanted;
use crate::quantity_word::{Meant, meant, unknown};
use crate::words::spaced;

/// A quantity with what is asked of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Which {
    /// Its name, of notes or of instruments.
    pub name: String,
    /// Its canonical unit.
    pub unit: String,
    /// The gear that the words name.
    pub gear: Option<String>,
    /// What else the words may mean that the home has readings of, most first.
    pub others: Vec<Held>,
}

/// A quantity that the home has readings of.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Held {
    /// Its name.
    pub quantity: String,
    /// Its canonical unit.
    pub unit: String,
    /// How many readings there are.
    pub readings: usize,
}

/// The quantities that the home has readings of, most first. Errors: the home.
pub async fn held(store: Option<&Store>, stances: &[Stance]) -> Result<Vec<Held>, Error> {
    let all = readings(store, stances).await?;
    Ok(counted(&all, |_| true))
}

/// Finds the quantity that words name, alone, behind the name of gear, or as the commonest of the gear that they name;
/// with `gear`, by what there is of that. Errors: they name none; the home.
pub async fn which(
    store: Option<&Store>,
    words: &str,
    gear: Option<&str>,
    stances: &[Stance],
) -> Result<Which, Error> {
    let words = words.trim();
    let names = match store {
        Some(store) => store.learned().await?.names,
        None => Vec::new(),
    };
    let mut all = readings(store, stances).await?;
    if let Some(wanted) = gear.map(|gear| Wanted::by_names(gear, &names)) {
        all.retain(|stored| stored.reading.gear.as_deref().is_some_and(|gear| wanted.covers(gear)));
    }
    if let Some(meant) = meant(words) {
        let held = among(counted(&all, |_| true), &meant);
        let first = meant.all[0];
        let sure = meant.exact && (held.is_empty() || held.iter().any(|held| held.quantity == first.name));
        return Ok(match commonest(held, None) {
            Some(which) if !sure => which,
            _ => of(&first.name, &first.unit),
        });
    }
    let name = words.to_lowercase().replace([' ', '-'], "_");
    if let Some(quantity) = instrument::Quantity::from_name(&name) {
        return Ok(of(&name, quantity.unit()));
    }
    of_gear(&all, words, &names).ok_or_else(|| nothing(words, &all))
}

/// The quantity of gear that the words begin with, or the commonest of the gear that all of them name.
fn of_gear(all: &[StoredReading], words: &str, names: &[(String, String)]) -> Option<Which> {
    let of = |gear: &str| {
        let wanted = Wanted::by_names(gear, names);
        let held = counted(all, |gear| gear.is_some_and(|gear| wanted.covers(gear)));
        (held, wanted.name)
    };
    let (held, gear) = of(words);
    let parted = words.match_indices(' ').find_map(|(at, _)| {
        let meant = meant(&words[at..])?;
        let (held, gear) = of(&words[..at]);
        commonest(among(held, &meant), Some(gear))
    });
    parted.or_else(|| commonest(held, Some(gear)))
}

async fn readings(store: Option<&Store>, stances: &[Stance]) -> Result<Vec<StoredReading>, Error> {
    match store {
        Some(store) => Ok(store.readings(&Asked { stances: stances.to_vec(), ..Asked::default() }).await?),
        None => Ok(Vec::new()),
    }
}

/// The quantities of readings of some gear, with how many there are of each, most first.
fn counted(all: &[StoredReading], of: impl Fn(Option<&str>) -> bool) -> Vec<Held> {
    let mut counted: Vec<Held> = Vec::new();
    for StoredReading { reading, .. } in all.iter().filter(|stored| of(stored.reading.gear.as_deref())) {
        match counted.iter_mut().find(|held| held.quantity == reading.quantity) {
            Some(held) => held.readings += 1,
            None => counted.push(Held {
                quantity: reading.quantity.clone(),
                unit: reading.unit.clone(),
                readings: 1,
            }),
        }
    }
    counted.sort_by_key(|held| std::cmp::Reverse(held.readings));
    counted
}

fn among(held: Vec<Held>, meant: &Meant) -> Vec<Held> {
    let is_meant = |held: &Held| meant.all.iter().any(|quantity| quantity.name == held.quantity);
    held.into_iter().filter(is_meant).collect()
}

fn commonest(held: Vec<Held>, gear: Option<String>) -> Option<Which> {
    let mut held = held.into_iter();
    let first = held.next()?;
    Some(Which { gear, others: held.collect(), ..of(&first.quantity, &first.unit) })
}

fn of(name: &str, unit: &str) -> Which {
    Which { name: name.to_owned(), unit: unit.to_owned(), gear: None, others: Vec::new() }
}

/// That words name neither, with the nearest, or with what the home holds.
fn nothing(words: &str, all: &[StoredReading]) -> Error {
    let held = counted(all, |_| true);
    let error = unknown(words);
    if held.is_empty() {
        return error;
    }
    let near = error.hint.filter(|hint| hint.starts_with("did you mean"));
    let near = near.map_or_else(String::new, |near| format!("{near} "));
    Error::wrong_use(format!("no quantity is called \"{words}\", and no gear that has readings"))
        .hint(format!("{near}the home has readings of {}", told(&held)))
}

/// The first of some quantities in words, with how many readings each has.
pub fn told(held: &[Held]) -> String {
    /// More than so many are read by nobody.
    const MOST: usize = 8;
    let one = |held: &Held| format!("{} ({})", spaced(&held.quantity), held.readings);
    let mut told: Vec<String> = held.iter().take(MOST).map(one).collect();
    if held.len() > MOST {
        told.push(format!("and {}", figure::count(held.len() - MOST, "other", "others")));
    }
    told.join(", ")
}
