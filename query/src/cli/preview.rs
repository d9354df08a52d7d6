//! `leadsman preview`: what would be understood of a file, nothing stored.

use std::io::Read;
use std::path::{Path, PathBuf};

use clap::Args;
use leadsman_index::SourceId;

use super::context::Context;
use crate::dumped::is_device;
use crate::error::{Error, Exit};
use crate::understood::{Understood, show};

/// Show what would be understood of a file, storing nothing
#[derive(Debug, Args)]
pub struct Preview {
    /// The file, or - for standard input
    file: PathBuf,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Preview {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let bytes = read(&self.file)?;
        let store = context.store().await?;
        let note = context.note(&self.file, &bytes, store.as_ref()).await?;
        let name = self.file.file_name().map_or_else(|| "-".into(), |name| name.to_string_lossy());
        let items = Context::boat_of(store.as_ref()).await?.raised(&name, &note, context.day());
        let mut understood = Understood::new(&name, &SourceId::of(&bytes).to_string(), note.clone(), items);
        if let Some(store) = &store {
            understood.join(&note, &context.panel(store).await?).await?;
        }
        if self.json {
            context.screen.json(&understood)?;
        } else {
            show(&understood, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}

/// Reads a whole file, or standard input for `-`. Errors: what the system says, with the file's name.
pub fn read(path: &Path) -> Result<Vec<u8>, Error> {
    let cannot = |error: std::io::Error| {
        let error = Error::source(format!("cannot read {}", path.display())).because(&error);
        if path.is_dir() {
            error.hint("name one of the folder's files; `leadsman ingest` takes whole folders")
        } else {
            error.hint("see that it is there and that you may read it")
        }
    };
    if path == Path::new("-") {
        let mut bytes = Vec::new();
        std::io::stdin().read_to_end(&mut bytes).map_err(cannot)?;
        return Ok(bytes);
    }
    if is_device(path) {
        return Err(Error::source(format!("expected a file, found a device: {}", path.display())));
    }
    std::fs::read(path).map_err(cannot)
}
