//! `leadsman clock`: how far the instruments' clock is from the notes', and the skipper's word on it.

use chrono::NaiveDate;
use clap::Args;
use leadsman_index::Decision;

use super::context::{Context, since, until};
use crate::error::{Error, Exit};
use crate::instruments::show_clocks;

/// Show how far the instruments' clock is from the notes', or set it
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub struct Clock {
    /// Seconds by which the instruments' clock is ahead of the notes'; negative where it is behind, 0 for none
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    ahead: Option<f64>,
    /// From this day on
    #[arg(long, value_name = "DATE", value_parser = since, requires = "ahead")]
    since: Option<NaiveDate>,
    /// Up to and with this day
    #[arg(long, value_name = "DATE", value_parser = until, requires = "ahead")]
    until: Option<NaiveDate>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Clock {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        if let (Some(since), Some(until)) = (self.since, self.until)
            && since > until
        {
            return Err(Error::wrong_use(format!("{since} is after {until}: give the earlier day first")));
        }
        if let Some(ahead_s) = self.ahead {
            context.decide(Decision::Clock { ahead_s, since: self.since, until: self.until }).await?;
        }
        let days = match context.store().await? {
            Some(store) => context.panel(&store).await?.clocks().await?,
            None => Vec::new(),
        };
        if self.json {
            context.screen.json(&days)?;
        } else {
            show_clocks(&days, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}

/// Seconds that two clocks may be apart: within a day, either way.
fn seconds(text: &str) -> Result<f64, String> {
    let wrong = || "expected seconds from -86400 to 86400".to_owned();
    text.trim().parse().ok().filter(|seconds: &f64| seconds.abs() <= 86_400.0).ok_or_else(wrong)
}
