//! `leadsman outings`: the open items placed into days out before departure.

use clap::Args;

use super::context::{Context, days};
use crate::error::{Error, Exit};
use crate::outing::{MOST_DAYS, Outings, show};

/// Place the open items into days out before departure, by what each needs
#[derive(Debug, Args)]
#[command(
    after_help = "Items are taken in the order of `leadsman open`. Each goes to the first day that takes it \
                        without another kind of water or more wind, else to the first day that takes it at all: while \
                        its hours last, while the winds that its items want overlap, and not before what it waits for."
)]
pub struct OutingsCommand {
    #[command(flatten)]
    plan: Plan,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// What a plan is made of.
#[derive(Clone, Copy, Debug, Args)]
pub struct Plan {
    /// How many days out there are
    #[arg(long, value_name = "N", value_parser = days::<MOST_DAYS>)]
    pub days: Option<u32>,
    /// How many hours each has
    #[arg(long, value_name = "H", value_parser = hours)]
    pub hours: Option<f64>,
}

impl OutingsCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let boat = context.boat().await?;
        let day = context.day();
        let list = boat.open_list(day, None);
        let plan = Outings::new(&list, boat.decisions(day), self.plan.days, self.plan.hours);
        if self.json {
            context.screen.json(&plan)?;
        } else {
            show(&plan, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}

fn hours(text: &str) -> Result<f64, String> {
    let hours: f64 = text.trim().parse().map_err(|_| "expected hours from 1 to 24".to_owned())?;
    if (1.0..=24.0).contains(&hours) { Ok(hours) } else { Err("expected hours from 1 to 24".to_owned()) }
}
