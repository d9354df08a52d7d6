//! Decisions on items: `close`, `reopen`, `accept`, `put-off`, `give`, `wait`, `rank`, `due`, `add`, `join`, `split`
//! and `note`.

use clap::Args;
use leadsman_index::Rank;
use leadsman_ingest::Why;

use super::{decide, said_day};
use crate::cli::context::Context;
use crate::day_word;
use crate::decide::Ask;
use crate::error::{Error, Exit};

/// Close an item by your own word
#[derive(Debug, Args)]
pub struct Close {
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
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
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Accept an item as it is: it is listed apart, as what you sail with
#[derive(Debug, Args)]
pub struct Accept {
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
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
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// The day: friday, "26 Nov", "in two weeks", 2026-11-30
    #[arg(required = true, value_name = "DAY")]
    until: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Give an item to somebody else
#[derive(Debug, Args)]
pub struct Give {
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// Who does it
    #[arg(required = true, value_name = "WHO")]
    to: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Say what an item waits for
#[derive(Debug, Args)]
pub struct Wait {
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// What it waits for: "the seal"
    #[arg(required = true, value_name = "WHAT")]
    what: Vec<String>,
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
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// must, should or can-wait
    #[arg(value_parser = rank)]
    rank: Rank,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Set the day that an item is due by
#[derive(Debug, Args)]
pub struct Due {
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// The day: friday, "26 Nov", "in two weeks", 2026-11-30
    #[arg(required = true, value_name = "DAY")]
    date: Vec<String>,
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
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// Which pieces of its evidence go, by their numbers in `leadsman item`
    #[arg(required = true, value_name = "N")]
    pieces: Vec<usize>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Make a remark on an item
#[derive(Debug, Args)]
pub struct Note {
    /// The item's short name, the beginning of it, or its gear where that has one item
    item: String,
    /// The remark
    #[arg(required = true, value_name = "WORDS")]
    text: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

impl Close {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Close { item: self.item, because: self.because }, self.json).await
    }
}

impl Reopen {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Reopen { item: self.item }, self.json).await
    }
}

impl Accept {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Accept { item: self.item, because: self.because }, self.json).await
    }
}

impl PutOff {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let until = day_word::first(&self.until.join(" "), context.day().on).map_err(Error::wrong_use)?;
        decide(context, Ask::PutOff { item: self.item, until }, self.json).await
    }
}

impl Give {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Give { item: self.item, to: self.to.join(" ") }, self.json).await
    }
}

impl Wait {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let due = self.due.map(|due| said_day(&[due], context)).transpose()?;
        decide(context, Ask::Wait { item: self.item, what: self.what.join(" "), due }, self.json).await
    }
}

impl RankCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Rank { item: self.item, rank: self.rank }, self.json).await
    }
}

impl Due {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let date = said_day(&self.date, context)?;
        decide(context, Ask::Due { item: self.item, date }, self.json).await
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
        decide(context, Ask::Split { item: self.item, pieces: self.pieces }, self.json).await
    }
}

impl Note {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Note { item: self.item, text: self.text.join(" ") }, self.json).await
    }
}

/// Words that say something.
fn words(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() { Err("expected a few words".to_owned()) } else { Ok(text.to_owned()) }
}

fn rank(text: &str) -> Result<Rank, String> {
    match text.trim().to_lowercase().replace([' ', '_'], "-").as_str() {
        "must" => Ok(Rank::Must),
        "should" => Ok(Rank::Should),
        "can-wait" | "can" => Ok(Rank::CanWait),
        _ => Err("expected must, should or can-wait".to_owned()),
    }
}

fn why(text: &str) -> Result<Why, String> {
    let name = text.trim().to_lowercase().replace([' ', '-'], "_");
    Why::from_name(&name).ok_or_else(|| {
        let names: Vec<String> = Why::ALL.iter().map(|why| why.name().replace('_', "-")).collect();
        format!("expected one of {}", names.join(", "))
    })
}
