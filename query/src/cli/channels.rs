//! `leadsman channels`: what the boat's instruments left.

use clap::Args;

use super::context::Context;
use crate::error::{Error, Exit};
use crate::instruments::{self, Instruments};

/// List the instruments' channels: their span, rates, gaps, and steady offsets between them
#[derive(Debug, Args)]
pub struct Channels {
    /// Only of this quantity, for instance boat_speed or "true wind"
    quantity: Option<String>,
    /// Count a silence as a gap when it is longer than this
    #[arg(long, value_name = "MINUTES", default_value_t = 10, value_parser = clap::value_parser!(i64).range(1..))]
    gap: i64,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

impl Channels {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let zone = context.zone.value;
        let mut found = match context.store().await? {
            Some(store) => Instruments::ask(&store, zone, self.gap).await?,
            None => Instruments { channels: Vec::new(), calibration: Vec::new() },
        };
        if let Some(wanted) = &self.quantity {
            let wanted = wanted.trim().to_lowercase().replace([' ', '-'], "_");
            found.channels.retain(|channel| channel.quantity.contains(&wanted));
            found.calibration.retain(|pair| pair.first.contains(&wanted) || pair.second.contains(&wanted));
        }
        let none = found.channels.is_empty();
        if self.json {
            context.screen.json(&found)?;
        } else {
            instruments::show(&found, &mut context.screen)?;
        }
        Ok(if self.exit_code && none { Exit::Nothing } else { Exit::Done })
    }
}
