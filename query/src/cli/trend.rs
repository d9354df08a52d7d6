//! `leadsman trend`: the readings of a quantity in time, and whether they go anywhere.

use chrono::NaiveDate;
use clap::Args;
use leadsman_ingest::Stance;

use super::context::{Context, since, until};
use crate::error::{Error, Exit};
use crate::figure;
use crate::trend::ask::{Wish, ask};
use crate::trend::show;
use crate::trend::which::{Held, held, told, which};
use crate::words::spaced;

/// Show where the readings of a quantity go in time
#[derive(Debug, Args)]
pub struct TrendCommand {
    /// The quantity, for instance boat_speed or rig tension, or gear; without it, what there are readings of
    #[arg(num_args = 1..)]
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
        let words = self.quantity.join(" ");
        let stances = if self.stance.is_empty() { vec![Stance::Observed] } else { self.stance };
        let store = context.store().await?;
        if words.trim().is_empty() {
            return list(&held(store.as_ref(), &stances).await?, self.json, self.exit_code, context);
        }
        let which = which(store.as_ref(), &words, self.gear.as_deref(), &stances).await?;
        let wish = Wish {
            name: &which.name,
            unit: &which.unit,
            gear: self.gear.as_deref().or(which.gear.as_deref()),
            since: self.since,
            until: self.until,
            stances: &stances,
        };
        let (trend, others) = ask(store.as_ref(), &wish, context.zone.value).await?;
        if self.json {
            context.screen.json(&trend)?;
        } else {
            show(&trend, &mut context.screen)?;
            if !which.others.is_empty() {
                let text = format!("\"{words}\" may also be {}; name one to see it", told(&which.others));
                context.screen.paragraph("  ", "  ", &text)?;
            }
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

/// Lists what the home has readings of.
fn list(held: &[Held], json: bool, exit_code: bool, context: &mut Context) -> Result<Exit, Error> {
    let screen = &mut context.screen;
    if json {
        screen.json(&held)?;
    } else if held.is_empty() {
        screen.line("no readings")?;
    }
    for Held { quantity, readings, .. } in held.iter().filter(|_| !json) {
        screen.line(format!(
            "{:<21}  {}",
            spaced(quantity),
            figure::count(*readings, "reading", "readings")
        ))?;
    }
    Ok(if exit_code && held.is_empty() { Exit::Nothing } else { Exit::Done })
}

fn stance(text: &str) -> Result<Stance, String> {
    Stance::from_name(&text.to_lowercase()).ok_or_else(|| {
        let names: Vec<&str> = Stance::ALL.iter().map(|stance| stance.name()).collect();
        format!("expected one of {}", names.join(", "))
    })
}
