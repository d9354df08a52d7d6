//! `leadsman voice`: which model listens to recordings.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::context::Context;
use crate::error::{Error, Exit};
use crate::voice::{self, screen};

/// Choose the model that listens to recordings
#[derive(Debug, Args)]
pub struct Voice {
    #[command(subcommand)]
    command: Option<VoiceCommand>,
}

#[derive(Debug, Subcommand)]
enum VoiceCommand {
    /// Check a model, copy it into the home and listen with it from now on
    Add(Add),
}

/// Check a model, copy it into the home and listen with it from now on
#[derive(Debug, Args)]
struct Add {
    /// A model in whisper.cpp's ggml format; or a folder or wheels with one in CTranslate2's
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
}

impl Voice {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let home = context.home.path.clone();
        match self.command {
            Some(VoiceCommand::Add(Add { paths })) => {
                context.home.open()?;
                let added = voice::add::add(&paths, &home)?;
                screen::added(&added, &mut context.screen)?;
            }
            None => {
                let model = voice::model(&home, &context.settings)?;
                screen::model(&model, &mut context.screen)?;
            }
        }
        Ok(Exit::Done)
    }
}
