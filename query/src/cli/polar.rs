//! `leadsman polar`: what the boat does by true wind angle and speed.

use chrono::NaiveDate;
use clap::Args;

use super::context::{Context, since, until};
use crate::error::{Error, Exit};
use crate::polar::{self, Grid, csv, show, show_plot};

/// Show the boat's speed by true wind angle and speed, from her own instruments
#[derive(Debug, Args)]
pub struct PolarCommand {
    /// Only from this day on
    #[arg(long, value_name = "DATE", value_parser = since)]
    since: Option<NaiveDate>,
    /// Only up to and with this day
    #[arg(long, value_name = "DATE", value_parser = until)]
    until: Option<NaiveDate>,
    /// Width of a band of true wind, in kn
    #[arg(long, value_name = "KN", default_value_t = 4.0, value_parser = within::<1, 20>)]
    wind_step: f64,
    /// Width of a band of true wind angle, in degrees
    #[arg(long, value_name = "DEG", default_value_t = 15.0, value_parser = within::<5, 90>)]
    angle_step: f64,
    /// Minutes that a cell needs, else it is empty
    #[arg(long, value_name = "MINUTES", default_value_t = 5, value_parser = clap::value_parser!(u32).range(1..))]
    least: u32,
    /// Show a table for each set of sails that the notes say was up
    #[arg(long)]
    by_sails: bool,
    /// Draw it instead of the table
    #[arg(long, conflicts_with_all = ["csv", "json", "by_sails"])]
    plot: bool,
    /// Print comma-separated values
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where no minute counts
    #[arg(long)]
    exit_code: bool,
}

impl PolarCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let grid = Grid {
            wind_step_kn: self.wind_step,
            angle_step_deg: self.angle_step,
            least_minutes: self.least as usize,
        };
        let store = context.store().await?;
        let polar = polar::ask(store.as_ref(), (self.since, self.until), grid, context.zone.value).await?;
        let screen = &mut context.screen;
        if self.json {
            screen.json(&polar)?;
        } else if self.csv {
            let table =
                csv(&polar).map_err(|error| Error::home("the table could not be written").because(&error))?;
            for line in table.lines() {
                screen.line(line)?;
            }
        } else if self.plot {
            show_plot(&polar, screen)?;
        } else {
            show(&polar, self.by_sails, screen)?;
        }
        Ok(if self.exit_code && polar.minutes == 0 { Exit::Nothing } else { Exit::Done })
    }
}

/// Reads a number from `LOW` to `HIGH`.
fn within<const LOW: i32, const HIGH: i32>(text: &str) -> Result<f64, String> {
    let wrong = || format!("expected a number from {LOW} to {HIGH}");
    let value = text.trim().parse().map_err(|_| wrong())?;
    if (f64::from(LOW)..=f64::from(HIGH)).contains(&value) { Ok(value) } else { Err(wrong()) }
}
