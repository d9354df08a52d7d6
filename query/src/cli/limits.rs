//! `leadsman limits`: what readings are held to, and who says so.

use clap::Args;

use super::context::Context;
use crate::error::{Error, Exit};
use crate::limits::{limits, show};

/// List limits from notes and from you, with who gives each and which disagree
#[derive(Debug, Args)]
pub struct Limits {
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

impl Limits {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let boat = context.boat().await?;
        let all = limits(&boat, context.day());
        if self.json {
            context.screen.json(&all)?;
        } else {
            show(&all, &mut context.screen)?;
        }
        Ok(if self.exit_code && all.is_empty() { Exit::Nothing } else { Exit::Done })
    }
}
