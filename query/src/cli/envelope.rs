//! `leadsman envelope`: the conditions that gear is proved in, beside those in which it will be needed.

use clap::Args;

use super::context::Context;
use crate::envelope::{Envelopes, show};
use crate::error::{Error, Exit, did_you_mean};
use crate::gear_word::Wanted;

/// Show the conditions in which gear has passed and failed, and those in which it will be needed
#[derive(Debug, Args)]
pub struct EnvelopeCommand {
    /// The gear, by any of its names
    #[arg(required = true, num_args = 1..)]
    gear: Vec<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl EnvelopeCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let gear = self.gear.join(" ");
        if gear.trim().is_empty() {
            return Err(Error::wrong_use("the gear's name is empty").hint("`leadsman gear` lists the gear"));
        }
        let store = context.store().await?;
        let names = match &store {
            Some(store) => store.learned().await?.names,
            None => Vec::new(),
        };
        let boat = Context::boat_of(store.as_ref()).await?;
        let wanted = Wanted::by_names(&gear, &names);
        let mut envelopes = Envelopes::new(&boat, context.day());
        if let Some(store) = &store {
            let panel = context.panel(store).await?;
            envelopes.measure(&boat, context.day(), &panel, Some(&wanted.name)).await?;
        }
        let Some(envelope) = envelopes.of(&wanted.name) else {
            let error =
                Error::wrong_use(format!("no note tells of a trial of \"{}\", or calls for it", wanted.name));
            return Err(match did_you_mean(&wanted.name, envelopes.gear()) {
                Some(meant) => error.hint(format!("did you mean {meant}?")),
                None => error.hint("`leadsman gear` lists the gear that the notes tell of"),
            });
        };
        if self.json {
            context.screen.json(&envelope)?;
        } else {
            show(&envelope, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}
