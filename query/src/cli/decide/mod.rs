//! The skipper's own word: a command for each kind of decision, all of which ask, check and keep in the same way.

mod finding;
mod item;
mod kept;
mod limit;
mod parts;
mod teach;

use chrono::NaiveDate;
use leadsman_index::{Decision, Entry};
use leadsman_ingest::matter::name_of_decision;

use super::context::{Context, PATIENCE};
use crate::boat::Boat;
use crate::day_word::day;
use crate::decide::{Ask, keep, ready};
use crate::error::{Error, Exit};
use crate::figure;
use crate::screen::{STRONG, styled};

pub use finding::{Confirm, Correct, Dismiss};
pub use item::{Accept, Add, Close, Due, Give, Join, Note, PutOff, RankCommand, Reopen, Split, Wait};
pub use kept::{Decisions, Undo, Withdraw};
pub use limit::Limit;
pub use teach::Teach;

/// Checks what is asked, keeps it, and says what it did; with `json` the decision as it was kept. With `--on` it is of that
/// day.
async fn decide(context: &mut Context, ask: Ask, json: bool) -> Result<Exit, Error> {
    // A home is made for a first item, word or limit, and for nothing else.
    if matches!(ask, Ask::Add { .. } | Ask::Teach { .. } | Ask::Limit { .. }) {
        context.home.open()?;
    }
    let Some(store) = context.store().await? else {
        return Err(Error::wrong_use("the home is empty: there is nothing to decide on")
            .hint("`leadsman ingest FILE` takes the first note"));
    };
    let boat = Boat::read(&store).await?;
    let ready = ready(&store, &boat, context.decided(), ask).await?;
    let entry = keep(store.home(), context.passed(), ready.decision, PATIENCE).await?;
    context.keep_fresh().await;
    if json {
        context.screen.json(&entry)?;
    } else {
        let said = match &entry.decision {
            Decision::Add { .. } => added(&ready.said, &entry, context).await?,
            _ => ready.said,
        };
        let of = entry.day.map_or_else(String::new, |day| format!(" (as of {})", figure::day(day)));
        context.screen.paragraph("", "  ", &format!("{said}{of}"))?;
    }
    Ok(Exit::Done)
}

/// What was added, with the short name that it goes by, and how it gets the day that its words end with.
async fn added(said: &str, entry: &Entry, context: &Context) -> Result<String, Error> {
    let list = context.boat().await?.open_list(context.decided(), None);
    let id = name_of_decision(&entry.id);
    let name = list.standing().find(|item| item.id == id).map_or(id.as_str(), |item| item.name.as_str());
    let due = parts::day_behind(said, context.day().on);
    let due = due.map_or_else(String::new, |day| format!("; `leadsman due {name} {day}` sets its day"));
    Ok(format!("{}{due}", said.replacen("added", &format!("added {}", styled(STRONG, name)), 1)))
}

/// A day from the words of an argument, seen from the day asked about.
fn said_day(words: &[String], context: &Context) -> Result<NaiveDate, Error> {
    day(&words.join(" "), context.day().on).map_err(Error::wrong_use)
}
