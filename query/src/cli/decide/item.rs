//! Decisions on items: `close`, `reopen`, `accept`, `put-off`, `give`, `wait`, `rank`, `due`, `add`, `join`, `split`
//! and `note`.

use clap::Args;
use leadsman_ingest::Why;

use super::parts::{item_and_day, item_and_numbers, item_and_rank, item_and_rest};
use super::{decide, said_day};
use crate::cli::context::Context;
use crate::day_word;
use crate::decide::Ask;
use crate::error::{Error, Exit};

/// Close an item by your own word
#[derive(Debug, Args)]
pub struct Close {
    /// The item: its short name, the beginning of it, its gear, or words of its title
    #[arg(required = true, value_name = "ITEM")]
    item: Vec<String>,
    /// Why it is done
    #[arg(long, value_name = "WORDS", value_parser = words)]
    because: String,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Open an item again: one that was closed, accepted, put off or dismissed
#[derive(Debug, Args)]
pub struct Reopen {
    /// The item: its short name, the beginning of it, its gear, or words of its title
    #[arg(required = true, value_name = "ITEM")]
    item: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Accept an item as it is: it is listed apart, as what you sail with
#[derive(Debug, Args)]
pub struct Accept {
    /// The item: its short name, the beginning of it, its gear, or words of its title
    #[arg(required = true, value_name = "ITEM")]
    item: Vec<String>,
    /// Why you sail with it
    #[arg(long, value_name = "WORDS", value_parser = words)]
    because: String,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Put an item off to a later day; until then it is listed apart
#[derive(Debug, Args)]
pub struct PutOff {
    /// The item (its short name, its gear, or words of its title), then the day: friday, "26 Nov", in two weeks, 2026-11-30
    #[arg(required = true, num_args = 2.., value_names = ["ITEM", "DAY"])]
    words: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Give an item to somebody else
#[derive(Debug, Args)]
pub struct Give {
    /// The item (its short name, its gear, or words of its title), then who does it: dinghy to Ann
    #[arg(required = true, num_args = 2.., value_names = ["ITEM", "WHO"])]
    words: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Say what an item waits for
#[derive(Debug, Args)]
pub struct Wait {
    /// The item (its short name, its gear, or words of its title), then what it waits for: heater for the seal
    #[arg(required = true, num_args = 2.., value_names = ["ITEM", "WHAT"])]
    words: Vec<String>,
    /// When that is due: thursday, "26 Nov", 2026-11-30
    #[arg(long, value_name = "DAY")]
    due: Option<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Say how much an item presses: must, should or can-wait
#[derive(Debug, Args)]
pub struct RankCommand {
    /// The item (its short name, its gear, or words of its title) and must, should or can-wait, in front of it or behind
    #[arg(required = true, num_args = 2.., value_names = ["ITEM", "RANK"])]
    words: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Set the day that an item is due by
#[derive(Debug, Args)]
pub struct Due {
    /// The item (its short name, its gear, or words of its title), then the day: friday, "26 Nov", in two weeks, 2026-11-30
    #[arg(required = true, num_args = 2.., value_names = ["ITEM", "DAY"])]
    words: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Add an item that no note has said
#[derive(Debug, Args)]
pub struct Add {
    /// The matter, in your words
    #[arg(required = true, value_name = "WORDS")]
    about: Vec<String>,
    /// The gear, by any of its names
    #[arg(long, value_name = "GEAR")]
    gear: Option<String>,
    /// Why it is open: task, unproven, failed-trial, inconclusive-trial, out-of-limits or overdue
    #[arg(long, value_name = "WHY", default_value = "task", value_parser = why)]
    why: Why,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Join items that are one matter; it keeps the first one's name
#[derive(Debug, Args)]
pub struct Join {
    /// The items' short names, or the beginnings of them
    #[arg(required = true, num_args = 2.., value_name = "ITEM")]
    items: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Split some of an item's evidence off as a matter of its own
#[derive(Debug, Args)]
pub struct Split {
    /// The item (its short name, its gear, or words of its title), then which pieces of its evidence go, by their numbers in
    /// `leadsman item`
    #[arg(required = true, num_args = 2.., value_names = ["ITEM", "N"])]
    words: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Make a remark on an item
#[derive(Debug, Args)]
pub struct Note {
    /// The item (its short name, its gear, or words of its title), then the remark
    #[arg(required = true, num_args = 2.., value_names = ["ITEM", "WORDS"])]
    words: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

impl Close {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Close { item: self.item.join(" "), because: self.because }, self.json).await
    }
}

impl Reopen {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Reopen { item: self.item.join(" ") }, self.json).await
    }
}

impl Accept {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Accept { item: self.item.join(" "), because: self.because }, self.json).await
    }
}

impl PutOff {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (item, until) = item_and_day(&self.words, context, day_word::first)?;
        decide(context, Ask::PutOff { item, until }, self.json).await
    }
}

impl Give {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (item, to) = item_and_rest(context, &self.words, Some("to")).await?;
        decide(context, Ask::Give { item, to }, self.json).await
    }
}

impl Wait {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let due = self.due.map(|due| said_day(&[due], context)).transpose()?;
        let (item, what) = item_and_rest(context, &self.words, Some("for")).await?;
        decide(context, Ask::Wait { item, what, due }, self.json).await
    }
}

impl RankCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (item, rank) = item_and_rank(&self.words)?;
        decide(context, Ask::Rank { item, rank }, self.json).await
    }
}

impl Due {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (item, date) = item_and_day(&self.words, context, day_word::day)?;
        decide(context, Ask::Due { item, date }, self.json).await
    }
}

impl Add {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let ask = Ask::Add { about: self.about.join(" "), gear: self.gear, why: self.why };
        decide(context, ask, self.json).await
    }
}

impl Join {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Join { items: self.items }, self.json).await
    }
}

impl Split {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (item, pieces) = item_and_numbers(&self.words)?;
        decide(context, Ask::Split { item, pieces }, self.json).await
    }
}

impl Note {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (item, text) = item_and_rest(context, &self.words, None).await?;
        decide(context, Ask::Note { item, text }, self.json).await
    }
}

/// Words that say something.
fn words(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() { Err("expected a few words".to_owned()) } else { Ok(text.to_owned()) }
}

fn why(text: &str) -> Result<Why, String> {
    let name = text.trim().to_lowercase().replace([' ', '-'], "_");
    Why::from_name(&name).ok_or_else(|| {
        let names: Vec<String> = Why::ALL.iter().map(|why| why.name().replace('_', "-")).collect();
        format!("expected one of {}", names.join(", "))
    })
}
