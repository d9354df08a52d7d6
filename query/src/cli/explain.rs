//! `leadsman explain`: a note with a mark under each thing found, and why.

use std::path::PathBuf;

use clap::Args;
use leadsman_ingest::text;

use super::context::Context;
use super::preview::read;
use crate::error::{Error, Exit};
use crate::explain::{Explained, show};

/// Show a file with carets under each thing found in it
#[derive(Debug, Args)]
pub struct Explain {
    /// The file, or - for standard input
    file: PathBuf,
    /// Only this line, counted from 1
    #[arg(long, value_name = "N")]
    line: Option<usize>,
    /// Say which words gave each quantity, stance, gear and outcome
    #[arg(long)]
    why: bool,
}

impl Explain {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let bytes = read(&self.file)?;
        let store = context.store().await?;
        let note = context.note(&self.file, &bytes, store.as_ref()).await?;
        let explained = Explained::new(&text::decode(&bytes), &note);
        // Who asks for one line wants to know all about it.
        show(&explained, self.line, self.why || self.line.is_some(), &mut context.screen)?;
        Ok(Exit::Done)
    }
}
