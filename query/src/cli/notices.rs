//! `leadsman notices` and `leadsman doubts`: what could not be used, and what may be wrong.

use clap::Args;
use serde::Serialize;

use super::context::Context;
use crate::doubts::{doubts, show};
use crate::error::{Error, Exit};
use crate::notices::{self, Repeats};

/// List what could not be used, with what to do about it
#[derive(Debug, Args)]
pub struct Notices {
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

/// List what may be wrong, why, and what settles it
#[derive(Debug, Args)]
pub struct Doubts {
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

/// A notice as JSON has it.
#[derive(Serialize)]
struct NoticeOf {
    source: String,
    hash: String,
    #[serde(flatten)]
    notice: leadsman_ingest::Notice,
}

impl Notices {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let all = match context.store().await? {
            Some(store) => store.notices().await?,
            None => Vec::new(),
        };
        let none = all.is_empty();
        if self.json {
            let all: Vec<NoticeOf> = all
                .into_iter()
                .map(|n| NoticeOf { source: n.name, hash: n.source.to_string(), notice: n.notice })
                .collect();
            context.screen.json(&all)?;
        } else if none {
            context.screen.line("no notices: every line of every source could be used")?;
        } else {
            let mut repeats = Repeats::default();
            for of_source in all.chunk_by(|a, b| a.source == b.source) {
                let list: Vec<_> = of_source.iter().map(|n| n.notice.clone()).collect();
                let list = repeats.unsaid(&of_source[0].name, &list);
                notices::show(&of_source[0].name, &list, list.len(), &mut context.screen)?;
            }
            repeats.show(&mut context.screen)?;
        }
        Ok(if self.exit_code && none { Exit::Nothing } else { Exit::Done })
    }
}

impl Doubts {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let store = context.store().await?;
        let mut boat = Context::boat_of(store.as_ref()).await?;
        if let Some(store) = &store {
            boat.doubt(&context.panel(store).await?).await?;
        }
        let all = doubts(&boat, &boat.open_list(context.day(), None));
        if self.json {
            context.screen.json(&all)?;
        } else {
            show(&all, &mut context.screen)?;
        }
        Ok(if self.exit_code && all.is_empty() { Exit::Nothing } else { Exit::Done })
    }
}
