//! `leadsman sailed`: outings summed up from the instruments.

use chrono::NaiveDate;
use clap::Args;

use super::context::{Context, since, until};
use crate::error::{Error, Exit};
use crate::instruments::Window;
use crate::sailed::{Sailed, show};

/// Sum up an outing from the instruments: the last one, or those of --on or --since and --until
#[derive(Debug, Args)]
pub struct SailedCommand {
    /// All outings from this day on
    #[arg(long, value_name = "DATE", value_parser = since)]
    since: Option<NaiveDate>,
    /// All outings up to and with this day
    #[arg(long, value_name = "DATE", value_parser = until)]
    until: Option<NaiveDate>,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

impl SailedCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let zone = context.zone.value;
        let day = context.day();
        let mut found = Sailed::default();
        if let Some(store) = context.store().await? {
            let panel = context.panel(&store).await?;
            let by_days = self.since.is_some() || self.until.is_some();
            let days = match (by_days, day.asked) {
                (true, _) => Some((self.since, self.until)),
                (false, true) => Some((Some(day.on), Some(day.on))),
                (false, false) => None,
            };
            found = match days {
                Some((since, until)) => {
                    Sailed::ask(&panel, Window::days(since, until, zone), false, zone).await?
                }
                None => Sailed::last(&panel, None, zone).await?,
            };
        }
        if self.json {
            context.screen.json(&found)?;
        } else {
            show(&found, &mut context.screen)?;
        }
        Ok(if self.exit_code && found.outings.is_empty() { Exit::Nothing } else { Exit::Done })
    }
}
