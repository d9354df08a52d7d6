//! `leadsman completions` and `leadsman manual`: both come from the command line's own definition.

use std::path::PathBuf;

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::Cli;
use super::context::Context;
use super::export::put;
use crate::error::{Error, Exit};

/// Write completions for a shell
#[derive(Debug, Args)]
pub struct Completions {
    /// Which shell
    #[arg(value_enum)]
    shell: Shell,
}

/// Write manual pages, one a command, into a folder
#[derive(Debug, Args)]
pub struct Manual {
    /// The folder; made where it is missing
    folder: PathBuf,
}

impl Completions {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "leadsman", &mut text);
        put(None, &text, context)?;
        Ok(Exit::Done)
    }
}

impl Manual {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let cannot = |error: std::io::Error| {
            Error::wrong_use(format!("cannot write manual pages into {}", self.folder.display()))
                .because(&error)
        };
        std::fs::create_dir_all(&self.folder).map_err(cannot)?;
        clap_mangen::generate_to(Cli::command(), &self.folder).map_err(cannot)?;
        let pages = std::fs::read_dir(&self.folder).map_err(cannot)?.count();
        context.screen.line(format!("{pages} files in {}", self.folder.display()))?;
        Ok(Exit::Done)
    }
}
