//! `leadsman find`: past trials, items and words.

use chrono::NaiveDate;
use clap::Args;
use leadsman_index::{Find, Store};
use leadsman_ingest::Outcome;

use super::context::{Context, PATIENCE, since, until};
use crate::boat::{Boat, Day, begins};
use crate::error::{Error, Exit};
use crate::find::{Found, MOST, find, show};
use crate::gear_word::Wanted;
use crate::kept::Kept;
use crate::open_item::OpenList;
use crate::outcome_word;
use crate::quantity_word::any;

/// Find past trials, items and words, best first
#[derive(Debug, Args)]
pub struct FindCommand {
    /// Words to look for; a phrase in double quotes
    words: Vec<String>,
    /// Only about this gear, by any of its names, and its parts
    #[arg(long, value_name = "GEAR")]
    gear: Option<String>,
    /// Only trials that went so: pass, partial, fail or unclear; may be given more than once
    #[arg(long, value_name = "OUTCOME", value_parser = outcome_word::outcome)]
    outcome: Vec<Outcome>,
    /// Only what names this quantity, or was tried in it
    #[arg(long, value_name = "QUANTITY")]
    quantity: Option<String>,
    /// Only from this day on
    #[arg(long, value_name = "DATE", value_parser = since)]
    since: Option<NaiveDate>,
    /// Only up to and with this day
    #[arg(long, value_name = "DATE", value_parser = until)]
    until: Option<NaiveDate>,
    /// Only in this wind, in kn: 20..30, 25.. or ..15
    #[arg(long, value_name = "FROM..TO", value_parser = band)]
    wind: Option<(f64, f64)>,
    /// How many to show
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=MOST as i64))]
    limit: u32,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where nothing is found
    #[arg(long)]
    exit_code: bool,
}

impl FindCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let asked = self.words.join(" ");
        let mut question = self.question(context)?;
        if !asked.contains(char::is_alphanumeric)
            && question == (Find { limit: question.limit, longest: question.longest, ..Find::default() })
        {
            return Err(Error::wrong_use("expected words to look for, found none")
                .hint("leadsman find heater, or leadsman find --outcome fail"));
        }
        let none = Found { asked: asked.clone(), ..Found::default() };
        let found = match context.store().await? {
            None => none,
            Some(store) => {
                if let Some(gear) = &self.gear {
                    let names = store.learned().await?.names;
                    question.gear = meant(&Wanted::by_names(gear, &names), &Boat::read(&store).await?);
                }
                let search = store.home().search(&store, PATIENCE).await?;
                let mut found =
                    find(&store, &search, &context.panel(&store).await?, &asked, question).await?;
                found.tell_state(&open_list(&store, context.now()).await?);
                found
            }
        };
        if self.json {
            context.screen.json(&found)?;
        } else {
            show(&found, &mut context.screen)?;
        }
        Ok(if self.exit_code && found.hits.is_empty() { Exit::Nothing } else { Exit::Done })
    }

    fn question(&self, context: &Context) -> Result<Find, Error> {
        let zone = context.zone.value;
        let day_after = |day: NaiveDate| day.succ_opt().unwrap_or(day);
        Ok(Find {
            outcomes: self.outcome.clone(),
            quantities: match &self.quantity {
                Some(name) => any(name)?,
                None => Vec::new(),
            },
            gear: self.gear.iter().cloned().collect(),
            since: self.since.map(|day| begins(day, zone)),
            until: self.until.map(|day| begins(day_after(day), zone)),
            wind_kn: self.wind,
            limit: self.limit as usize,
            ..Find::default()
        })
    }
}

/// The index knows gear by exact names: all those in the home that are meant, or the name itself where there is none.
fn meant(wanted: &Wanted, boat: &Boat) -> Vec<String> {
    let known: Vec<String> =
        boat.gear().into_iter().filter(|name| wanted.covers(name)).map(str::to_owned).collect();
    if known.is_empty() { vec![wanted.name.clone()] } else { known }
}

/// What stands open, for the states of items.
async fn open_list(store: &Store, day: Day) -> Result<OpenList, Error> {
    let kept = Kept::answer(store, day, |kept| kept.opening(store.record(), day, false)).await?.flatten();
    Ok(match kept {
        Some(opening) => opening.list,
        None => Boat::read(store).await?.open_list(day, None),
    })
}

/// Reads a band: two ends with two dots between them, either of which may be left out, or one figure.
fn band(text: &str) -> Result<(f64, f64), String> {
    let wrong = || "expected a band of wind in kn like 20..30, 25.. or ..15".to_owned();
    let end = |text: &str, open: f64| match text.trim() {
        "" => Ok(open),
        text => text.parse::<f64>().ok().filter(|kn| (0.0..=300.0).contains(kn)).ok_or_else(wrong),
    };
    let (low, high) = match text.split_once("..") {
        Some((low, high)) if !(low.trim().is_empty() && high.trim().is_empty()) => {
            (end(low, 0.0)?, end(high, 300.0)?)
        }
        Some(_) => return Err(wrong()),
        None if text.trim().is_empty() => return Err(wrong()),
        None => (end(text, 0.0)?, end(text, 0.0)?),
    };
    if low <= high {
        Ok((low, high))
    } else {
        Err(format!("{low} is more than {high}: give the lower end first"))
    }
}

#[cfg(test)]
mod tests {
    use super::band;

    #[test]
    fn bands_are_read_with_open_ends() {
        assert_eq!(band("20..30"), Ok((20.0, 30.0)));
        assert_eq!(band("25.."), Ok((25.0, 300.0)));
        assert_eq!(band("..15"), Ok((0.0, 15.0)));
        assert_eq!(band("12.5"), Ok((12.5, 12.5)));
        for wrong in ["", "..", "30..20", "a..b", "20...30", "-5..3", "nan.."] {
            assert!(band(wrong).is_err(), "{wrong}");
        }
    }
}
