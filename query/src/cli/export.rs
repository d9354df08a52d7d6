//! `leadsman export`: a home's findings as tables, its dates as a calendar.

use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::Utc;
use clap::{Args, Subcommand};
use leadsman_index::Asked;

use super::context::Context;
use super::outings::Plan;
use crate::error::{Error, Exit};
use crate::export::{self, Format, calendar::calendar};
use crate::file;
use crate::outing::Outings;

/// Write readings, trials, items or gear as a table, or dates as a calendar
#[derive(Debug, Args)]
pub struct Export {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Every reading with its place; columns: at, at_basis, quantity, low, high, unit, unit_said, stance, gear, quote,
    /// doubts, source, hash, start, end
    Readings(Table),
    /// Every trial with its conditions; columns: at, gear, outcome, about, wind_low_kn, wind_high_kn, conditions, quote,
    /// source, hash, start, end
    Trials(Table),
    /// Every item, open and closed; columns: name, state, gear, about, why, opened, due_from, due_until, due_what, closed,
    /// closed_by, because, evidence, quote, source, hash, start, end
    Items(Table),
    /// Every piece of gear; columns: gear, readings, trials, passed, failed, last_outcome, last_tried, passed_in_kn,
    /// open_items
    Gear(Table),
    /// Items with a date that comes before departure, the days out of `leadsman outings`, departure and return, as
    /// iCalendar (RFC 5545)
    Calendar(Calendar),
}

#[derive(Debug, Args)]
struct Table {
    /// How the table is written
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    to: To,
}

#[derive(Debug, Args)]
struct Calendar {
    #[command(flatten)]
    plan: Plan,
    #[command(flatten)]
    to: To,
}

#[derive(Debug, Args)]
struct To {
    /// Write to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Export {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let store = context.store().await?;
        let boat = Context::boat_of(store.as_ref()).await?;
        let list = || boat.open_list(context.day(), None);
        let mut text = Vec::new();
        let to = match self.what {
            What::Calendar(Calendar { plan, to }) => {
                let list = list();
                let plan = Outings::new(&list, boat.decisions(context.day()), plan.days, plan.hours);
                text.extend_from_slice(calendar(&list, &plan, Utc::now()).to_string().as_bytes());
                to
            }
            What::Items(table) => {
                export::write(&export::items(&list()), table.format, &mut text)?;
                table.to
            }
            What::Readings(table) => {
                let readings = match &store {
                    Some(store) => store.readings(&Asked::default()).await?,
                    None => Vec::new(),
                };
                export::write(&export::readings(readings), table.format, &mut text)?;
                table.to
            }
            What::Trials(table) => {
                let trials = match &store {
                    Some(store) => store.trials(&[]).await?,
                    None => Vec::new(),
                };
                export::write(&export::trials(trials), table.format, &mut text)?;
                table.to
            }
            What::Gear(table) => {
                let (readings, trials) = match &store {
                    Some(store) => (store.readings(&Asked::default()).await?, store.trials(&[]).await?),
                    None => (Vec::new(), Vec::new()),
                };
                export::write(&export::gear(&readings, &trials, &list()), table.format, &mut text)?;
                table.to
            }
        };
        put(to.out.as_deref(), &text, context)?;
        Ok(Exit::Done)
    }
}

/// Writes to a file, whole or not at all, or to standard output.
pub fn put(out: Option<&Path>, text: &[u8], context: &mut Context) -> Result<(), Error> {
    let Some(path) = out else {
        context.screen.write_all(text)?;
        return Ok(context.screen.flush()?);
    };
    let cannot = |error: std::io::Error| {
        Error::wrong_use(format!("cannot write {}", path.display()))
            .because(&error)
            .hint("name a file in a folder that you may write to")
    };
    file::put(path, text).map_err(cannot)
}
