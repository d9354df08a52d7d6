//! `leadsman trend`: the readings of a quantity in time, and whether they go anywhere.

use chrono::NaiveDate;
use clap::Args;
use leadsman_ingest::Stance;
use leadsman_ingest::instrument::Quantity;

use super::context::{Context, since, until};
use crate::error::{Error, Exit};
use crate::figure;
use crate::quantity_word::quantity;
use crate::trend::ask::{Wish, ask};
use crate::trend::show;

/// Show where the readings of a quantity go in time
#[derive(Debug, Args)]
pub struct TrendCommand {
    /// The quantity, for instance boat_speed or rig tension
    #[arg(required = true, num_args = 1..)]
    quantity: Vec<String>,
    /// Only of this gear, by any of its names, and of its parts
    #[arg(long, value_name = "GEAR")]
    gear: Option<String>,
    /// Only from this day on
    #[arg(long, value_name = "DATE", value_parser = since)]
    since: Option<NaiveDate>,
    /// Only up to and with this day
    #[arg(long, value_name = "DATE", value_parser = until)]
    until: Option<NaiveDate>,
    /// Count readings of this stance instead of those observed; may be given more than once
    #[arg(long, value_name = "STANCE", value_parser = stance)]
    stance: Vec<Stance>,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is no such reading
    #[arg(long)]
    exit_code: bool,
}

impl TrendCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let (name, unit) = named(&self.quantity.join(" "))?;
        let stances = if self.stance.is_empty() { vec![Stance::Observed] } else { self.stance };
        let wish = Wish {
            name: &name,
            unit: &unit,
            gear: self.gear.as_deref(),
            since: self.since,
            until: self.until,
            stances: &stances,
        };
        let (trend, others) = ask(context.store().await?.as_ref(), &wish, context.zone.value).await?;
        if self.json {
            context.screen.json(&trend)?;
        } else {
            show(&trend, &mut context.screen)?;
            if !others.is_empty() {
                let count = figure::count(others.len(), "reading is", "readings are");
                let stances: Vec<&str> = stances.iter().map(|stance| stance.name()).collect();
                let text = format!("{count} not {}; --stance shows others", stances.join(" or "));
                context.screen.paragraph("  ", "  ", &text)?;
            }
        }
        let none = trend.readings.is_empty() && trend.instruments.is_empty();
        Ok(if self.exit_code && none { Exit::Nothing } else { Exit::Done })
    }
}

/// Name and unit of a quantity, of notes or of instruments alone.
fn named(words: &str) -> Result<(String, String), Error> {
    match quantity(words) {
        Ok(known) => Ok((known.name.clone(), known.unit.clone())),
        Err(error) => {
            let name = words.trim().to_lowercase().replace([' ', '-'], "_");
            let found = Quantity::from_name(&name);
            found.map(|quantity| (name, quantity.unit().to_owned())).ok_or(error)
        }
    }
}

fn stance(text: &str) -> Result<Stance, String> {
    Stance::from_name(&text.to_lowercase()).ok_or_else(|| {
        let names: Vec<&str> = Stance::ALL.iter().map(|stance| stance.name()).collect();
        format!("expected one of {}", names.join(", "))
    })
}
