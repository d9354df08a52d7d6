//! `leadsman explain`: a note with a mark under each thing found, and why.

use std::path::{Path, PathBuf};

use clap::Args;
use leadsman_index::{SourceId, Store};
use leadsman_ingest::text;

use super::context::Context;
use super::preview::read;
use crate::error::{Error, Exit};
use crate::explain::{Explained, show};

/// Show a file with carets under each thing found in it
#[derive(Debug, Args)]
pub struct Explain {
    /// The file, - for standard input, or the name of a source as it was ingested
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
        let store = context.store().await?;
        let (name, bytes) = named(&self.file, store.as_ref()).await?;
        let note = context.note(&name, &bytes, store.as_ref()).await?;
        let source = SourceId::of(&bytes).to_string();
        let kept = match &store {
            Some(store) => store.find_source(&source).await.is_ok(),
            None => false,
        };
        let explained = Explained::new(&text::decode(&bytes), &note, kept.then_some(source.as_str()));
        // Who asks for one line wants to know all about it.
        show(&explained, self.line, self.why || self.line.is_some(), &mut context.screen)?;
        Ok(Exit::Done)
    }
}

/// The bytes of a file, else of the source that goes by its name, with the name of either. Errors: there is neither.
async fn named(file: &Path, store: Option<&Store>) -> Result<(PathBuf, Vec<u8>), Error> {
    let missing = match read(file) {
        Ok(bytes) => return Ok((file.to_owned(), bytes)),
        Err(error) if file.exists() => return Err(error),
        Err(error) => error,
    };
    let Some(store) = store else { return Err(missing) };
    match store.find_source(&file.to_string_lossy()).await {
        Ok(row) => Ok((PathBuf::from(row.name), store.home().archive().read(&row.source)?)),
        Err(leadsman_index::Error::NoSource { .. }) => {
            Err(missing.hint("see that it is there, or give the name of a source as it was ingested"))
        }
        Err(error) => Err(error.into()),
    }
}
