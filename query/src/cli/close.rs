//! `leadsman close` and `leadsman reopen`: the skipper's own word on an item.

use clap::Args;
use leadsman_index::Decision;

use super::context::Context;
use crate::error::{Error, Exit, did_you_mean};
use crate::open_item::{OpenList, matter};
use crate::screen::{STRONG, styled};

/// Close an item by your own word
#[derive(Debug, Args)]
pub struct Close {
    /// The item's short name, or the beginning of it
    item: String,
    /// Why it is done
    #[arg(long, value_name = "WORDS", value_parser = words)]
    because: String,
}

/// Open a closed item again by your own word
#[derive(Debug, Args)]
pub struct Reopen {
    /// The item's short name, or the beginning of it
    item: String,
}

impl Close {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let list = list(context).await?;
        let (name, about) = match find(&list, &self.item)? {
            Found::Open(name, about) => (name, about),
            Found::Closed(name, about) => {
                return Err(Error::wrong_use(format!("{name} is closed already: {about}"))
                    .hint("`leadsman open --all` shows what closed it"));
            }
        };
        let decision = Decision::Close { item: name.clone(), because: self.because };
        context.decide(decision).await?;
        context.screen.paragraph("", "  ", &format!("closed {}: {about}", styled(STRONG, name)))?;
        Ok(Exit::Done)
    }
}

impl Reopen {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let list = list(context).await?;
        let (name, about) = match find(&list, &self.item)? {
            Found::Closed(name, about) => (name, about),
            Found::Open(name, about) => {
                return Err(Error::wrong_use(format!("{name} stands open already: {about}")));
            }
        };
        context.decide(Decision::Reopen { item: name.clone() }).await?;
        context.screen.paragraph("", "  ", &format!("open again {}: {about}", styled(STRONG, name)))?;
        Ok(Exit::Done)
    }
}

enum Found {
    /// Name and matter of an item that stands open.
    Open(String, String),
    /// Name and matter of one that does not.
    Closed(String, String),
}

/// All items as they stand after everything that the home holds: a ruling is of now, whatever day is asked about.
async fn list(context: &mut Context) -> Result<OpenList, Error> {
    Ok(context.boat().await?.open_list(context.now(), None))
}

/// The item that a person means. Errors: none has such a name, or several begin so.
fn find(list: &OpenList, asked: &str) -> Result<Found, Error> {
    let asked = asked.trim().to_lowercase();
    let open = list.open.iter().map(|i| (i.name.as_str(), matter(&i.gear, &i.about), true));
    let closed = list
        .closed
        .iter()
        .filter(|i| !i.open_again)
        .map(|i| (i.name.as_str(), matter(&i.gear, &i.about), false));
    let all: Vec<(&str, String, bool)> = open.chain(closed).collect();
    let mut fitting: Vec<&(&str, String, bool)> = all.iter().filter(|i| i.0 == asked).collect();
    if fitting.is_empty() && !asked.is_empty() {
        fitting = all.iter().filter(|i| i.0.starts_with(&asked)).collect();
    }
    // A matter may have been closed more than once under one name.
    fitting.dedup_by_key(|i| i.0);
    match fitting.as_slice() {
        [(name, about, true)] => Ok(Found::Open((*name).to_owned(), about.clone())),
        [(name, about, false)] => Ok(Found::Closed((*name).to_owned(), about.clone())),
        [] => {
            let hint = match did_you_mean(&asked, all.iter().map(|i| i.0)) {
                Some(meant) => format!("did you mean {meant}?"),
                None => "`leadsman open --all` lists the items, each with its short name".to_owned(),
            };
            Err(Error::wrong_use(format!("no item is called \"{asked}\"")).hint(hint))
        }
        several => {
            let names: Vec<&str> = several.iter().map(|i| i.0).collect();
            Err(Error::wrong_use(format!("\"{asked}\" could be any of {}", names.join(", ")))
                .hint("give one more letter"))
        }
    }
}

/// Words that say something.
fn words(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() { Err("expected a few words".to_owned()) } else { Ok(text.to_owned()) }
}
