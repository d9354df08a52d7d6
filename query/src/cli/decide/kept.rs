//! What was decided: `decisions` lists it, `undo` takes it back; and `withdraw`, which takes back a source.

use clap::Args;
use leadsman_index::Entry;
use serde::Serialize;

use super::decide;
use crate::cli::context::{Context, PATIENCE};
use crate::decide::{Ask, decision_name, in_words, undo_last};
use crate::error::{Error, Exit};
use crate::figure;
use crate::screen::{FAINT, STRONG, styled};

/// Take back your last decision, or the one that is named
#[derive(Debug, Args)]
pub struct Undo {
    /// The decision's name in `leadsman decisions`
    decision: Option<String>,
    /// Print JSON: the decision that takes it back, or the one that was taken back where none is named
    #[arg(long)]
    json: bool,
}

/// List what you decided, latest last
#[derive(Debug, Args)]
pub struct Decisions {
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

/// Take a source out of every answer
#[derive(Debug, Args)]
pub struct Withdraw {
    /// The file's name as it was ingested, its path, or the beginning of its hash
    source: String,
    /// Destroy its bytes too, for good: no undo and no other copy of the home brings them back
    #[arg(long)]
    erase: bool,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// A decision as JSON has it.
#[derive(Serialize)]
struct Kept<'a> {
    name: String,
    stands: bool,
    #[serde(flatten)]
    entry: &'a Entry,
}

impl Undo {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        if let Some(decision) = self.decision {
            return decide(context, Ask::Undo { decision }, self.json).await;
        }
        let Some(store) = context.store().await? else {
            return Err(Error::wrong_use("there is no decision to take back: the home is empty"));
        };
        let entry = undo_last(store.home(), PATIENCE).await?;
        context.keep_fresh().await;
        if self.json {
            context.screen.json(&entry)?;
        } else {
            let item = entry.decision.item().map_or_else(String::new, |item| format!(" on {item}"));
            let said = format!("taken back {}{item}: {}", decision_name(&entry), in_words(&entry.decision));
            context.screen.paragraph("", "  ", &said)?;
        }
        Ok(Exit::Done)
    }
}

impl Decisions {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let store = context.store().await?;
        let all: Vec<Kept<'_>> = store
            .iter()
            .flat_map(|store| store.record().all_decisions())
            .map(|(entry, stands)| Kept { name: decision_name(entry), stands, entry })
            .collect();
        let screen = &mut context.screen;
        if self.json {
            screen.json(&all)?;
        } else if all.is_empty() {
            screen.line("no decisions")?;
        } else {
            for Kept { name, stands, entry } in &all {
                let item = entry.decision.item().map_or_else(String::new, |item| format!("{item}: "));
                let undone = if *stands { "" } else { " (taken back)" };
                let at = figure::moment(entry.time.with_timezone(&context.zone.value).fixed_offset());
                let of = entry.day.map_or_else(String::new, |day| format!(", as of {}", figure::day(day)));
                let text = format!("{item}{}{of}{undone}", in_words(&entry.decision));
                let text = if *stands { text } else { styled(FAINT, text) };
                screen.paragraph(
                    &format!("{}  ", styled(STRONG, name)),
                    "         ",
                    &format!("{at}  {text}"),
                )?;
            }
        }
        Ok(if self.exit_code && all.is_empty() { Exit::Nothing } else { Exit::Done })
    }
}

impl Withdraw {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Withdraw { source: self.source, erase: self.erase }, self.json).await
    }
}
