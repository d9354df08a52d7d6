//! `leadsman channels`: what the boat's instruments left.

use chrono::{DateTime, FixedOffset};
use clap::Args;
use leadsman_index::ChannelRow;

use super::context::Context;
use crate::error::{Error, Exit};
use crate::instruments::{self, Instruments, Samples};
use crate::moment_word::instant;

/// List the instruments' channels: their span, rates, gaps, and steady offsets between them
#[derive(Debug, Args)]
pub struct Channels {
    /// Only of this quantity, for instance boat_speed or "true wind"
    quantity: Option<String>,
    /// Count a silence as a gap when it is longer than this
    #[arg(long, value_name = "MINUTES", default_value_t = 10, value_parser = clap::value_parser!(i64).range(1..))]
    gap: i64,
    /// Show every sample of the quantity from this time on, by the instruments' clock: "2026-10-06 06:55"
    #[arg(long, value_name = "TIME", requires = "quantity")]
    at: Option<String>,
    /// With --at: for so many minutes
    #[arg(long, value_name = "MINUTES", default_value_t = 1, requires = "at", value_parser = clap::value_parser!(i64).range(1..=180))]
    minutes: i64,
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
        if let Some(at) = &self.at {
            return self.samples(instant(at, zone).map_err(|error| error.about("--at"))?, context).await;
        }
        let mut found = match context.store().await? {
            Some(store) => Instruments::ask(&store, zone, self.gap).await?,
            None => Instruments { channels: Vec::new(), calibration: Vec::new() },
        };
        if let Some(wanted) = &self.quantity {
            let wanted = named(wanted);
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

    /// Every sample of a window.
    async fn samples(&self, from: DateTime<FixedOffset>, context: &mut Context) -> Result<Exit, Error> {
        let zone = context.zone.value;
        let wanted = named(self.quantity.as_deref().unwrap_or_default());
        let fits = |row: &ChannelRow| row.channel.quantity.name().contains(&wanted);
        let found = match context.store().await? {
            Some(store) => Samples::ask(&store, fits, from, self.minutes, zone).await?,
            None => Samples { from, until: from, channels: Vec::new() },
        };
        if self.json {
            context.screen.json(&found)?;
        } else {
            instruments::show_samples(&found, &mut context.screen)?;
        }
        Ok(if self.exit_code && found.channels.is_empty() { Exit::Nothing } else { Exit::Done })
    }
}

/// A quantity's name as people type it, as the channels have it.
fn named(quantity: &str) -> String {
    quantity.trim().to_lowercase().replace([' ', '-'], "_")
}
