//! `leadsman teach`: your own words.

use clap::{ArgGroup, Args};
use leadsman_ingest::Outcome;

use super::decide;
use crate::cli::context::Context;
use crate::decide::{Ask, Meaning};
use crate::error::{Error, Exit};
use crate::outcome_word;

/// Teach a word of your own for a gear, a unit, a quantity or an outcome; it wins over what is known of the trade
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("means").required(true).args(["gear", "unit", "quantity", "outcome"]))]
pub struct Teach {
    /// The words as you say them
    #[arg(required = true, value_name = "WORDS")]
    words: Vec<String>,
    /// They are a gear: one of its other names, or a new one
    #[arg(long, value_name = "GEAR")]
    gear: Option<String>,
    /// They are a unit: kn, V, degC, m, …
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// They name a quantity
    #[arg(long, value_name = "QUANTITY")]
    quantity: Option<String>,
    /// They say how a trial went: pass, partial, fail or unclear
    #[arg(long, value_name = "OUTCOME", value_parser = outcome_word::outcome)]
    outcome: Option<Outcome>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

impl Teach {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let means = match (self.gear, self.unit, self.quantity, self.outcome) {
            (Some(gear), ..) => Meaning::Gear(gear),
            (_, Some(unit), ..) => Meaning::Unit(unit),
            (_, _, Some(quantity), _) => Meaning::Quantity(quantity),
            (.., Some(outcome)) => Meaning::Outcome(outcome),
            _ => return Err(Error::wrong_use("expected --gear, --unit, --quantity or --outcome")),
        };
        decide(context, Ask::Teach { words: self.words.join(" "), means }, self.json).await
    }
}
