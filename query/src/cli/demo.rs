//! `leadsman demo`: an invented boat, walked through with the program's own commands.

use std::path::{Path, PathBuf};

use clap::{Args, Parser};
use leadsman_index::SourceId;

use super::context::Context;
use super::{Cli, Global, started};
use crate::demo::{DAY, FOLDER, NOTES, STEPS, write_notes};
use crate::error::{Error, Exit};
use crate::screen::{FAINT, STRONG, styled};

/// Walk through an invented boat's notes, in a home of its own
#[derive(Debug, Args)]
pub struct Demo {}

impl Demo {
    /// Runs each step as its command line says; `global` tells whether a home was named for it.
    pub fn run(self, global: &Global) -> Result<Exit, Error> {
        let (home, folder) = places(global.home.as_deref())?;
        write_notes(&folder.join(FOLDER))?;
        let mut context = Context::new(&Global { home: Some(home.clone()), on: None, zone: None })?;
        started(tokio::runtime::Builder::new_current_thread())?.block_on(only_the_demos(&context))?;
        let screen = &mut context.screen;
        screen.paragraph(
            "",
            "",
            "The invented boat Quillback is getting ready in Tasmania to sail alone to the far south of New Zealand. \
             Her skipper made ten notes on the way to departure; this is what becomes of them.",
        )?;
        screen.gap()?;
        screen.line(styled(STRONG, format!("$ cd {}", quoted(&folder.display().to_string()))))?;
        screen.line(styled(
            STRONG,
            format!("$ export LEADSMAN_HOME={}", quoted(&home.display().to_string())),
        ))?;
        for step in STEPS {
            let arguments = arguments(step.command, &home, &folder);
            screen.gap()?;
            screen.paragraph("", "", step.says)?;
            let shown: Vec<String> = step.command.iter().map(|word| quoted(word)).collect();
            screen.line(styled(STRONG, format!("$ leadsman {}", shown.join(" "))))?;
            let cli = Cli::try_parse_from(&arguments)
                .map_err(|error| Error::wrong_use(format!("the demo's own command is wrong: {error}")))?;
            let exit = cli.command.run(&cli.global)?;
            if exit != Exit::Done {
                return Ok(exit);
            }
        }
        screen.gap()?;
        screen.line(styled(FAINT, "Look further yourself:"))?;
        screen.line(styled(STRONG, format!("$ leadsman --on {DAY} open --all")))?;
        Ok(Exit::Done)
    }
}

/// The demo's home and the folder that its notes go into: the home that was named, or one in a temporary folder that stays.
fn places(named: Option<&Path>) -> Result<(PathBuf, PathBuf), Error> {
    let cannot =
        |error: std::io::Error| Error::home("no temporary folder could be made for the demo").because(&error);
    let folder = tempfile::Builder::new().prefix("leadsman-demo-").tempdir().map_err(cannot)?.keep();
    let home = named.map_or_else(|| folder.join("home"), Path::to_owned);
    Ok((home, folder))
}

/// Refuses a home that holds notes of another boat.
async fn only_the_demos(context: &Context) -> Result<(), Error> {
    let demos: Vec<SourceId> = NOTES.iter().map(|(_, bytes)| SourceId::of(bytes)).collect();
    let Some(store) = context.store().await? else { return Ok(()) };
    let other = store.sources().await?.into_iter().any(|row| !demos.contains(&row.source));
    if other {
        Err(Error::wrong_use(format!("{} holds notes of another boat", context.home.path.display()))
            .hint("give the demo a folder of its own, or none at all for a temporary one"))
    } else {
        Ok(())
    }
}

/// A step's command line for the program itself, which is not in the folder that the reader is to stand in.
fn arguments(command: &[&str], home: &Path, folder: &Path) -> Vec<String> {
    let head = ["leadsman".to_owned(), "--home".to_owned(), home.display().to_string()];
    let words = command.iter().map(|word| match word.strip_prefix(FOLDER) {
        Some(rest) => folder.join(format!("{FOLDER}{rest}")).display().to_string(),
        None => (*word).to_owned(),
    });
    head.into_iter().chain(words).collect()
}

/// A word as a shell takes it.
fn quoted(word: &str) -> String {
    if word.contains([' ', '"', '\'', '*', '$']) {
        format!("'{}'", word.replace('\'', "'\\''"))
    } else {
        word.to_owned()
    }
}
