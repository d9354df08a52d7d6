//! `leadsman backup` and `leadsman restore`: a home in one file, and back.

use std::path::PathBuf;

use clap::Args;
use leadsman_index::{Backup as Held, Home, verify_backup};

use super::context::{Context, PATIENCE};
use crate::error::{Error, Exit};
use crate::figure;
use crate::folded;
use crate::screen::{GOOD, styled};

/// Write the whole home into one file, which is then verified
///
/// Another process may go on writing to the home meanwhile. What can be made again is left out.
#[derive(Debug, Args)]
pub struct Backup {
    /// The file to write, or the one to verify
    file: PathBuf,
    /// Write nothing: see whether the file is a whole backup
    #[arg(long)]
    verify: bool,
}

/// Bring a backup back into a home that holds no records yet
#[derive(Debug, Args)]
pub struct Restore {
    /// The backup
    file: PathBuf,
}

impl Backup {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let told = if self.verify {
            "whole"
        } else {
            let home = context.home.existing()?;
            if self.file.exists() {
                return Err(Error::wrong_use(format!("{} is there already", self.file.display()))
                    .hint("name a file that is not there yet; an older backup is never written over"));
            }
            home.backup(&self.file)?;
            "written and verified"
        };
        let held = verify_backup(&self.file)?;
        context.screen.line(format!("{}: {}, {}", styled(GOOD, told), self.file.display(), holds(&held)))?;
        Ok(Exit::Done)
    }
}

impl Restore {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (home, held) = Home::restore(&self.file, &context.home.path)?;
        let mut writer = home.writer(PATIENCE).await?;
        folded::keep(&mut writer).await?;
        writer.finish().await?;
        let told = format!("{} into {}: {}", styled(GOOD, "restored"), home.root().display(), holds(&held));
        context.screen.line(told)?;
        Ok(Exit::Done)
    }
}

fn holds(held: &Held) -> String {
    let sources = figure::count(held.sources, "source", "sources");
    let records = figure::count(held.records, "record file", "record files");
    format!("{sources}, {records}, {} bytes before packing", held.bytes)
}
