//! Decisions on what was found: `confirm`, `correct` and `dismiss`.

use clap::Args;
use leadsman_ingest::{Outcome, Stance};

use super::decide;
use crate::cli::context::Context;
use crate::decide::{Amend, Ask, At};
use crate::error::{Error, Exit};
use crate::outcome_word;

/// Confirm a doubtful reading or trial as it was read, or a closing as right
#[derive(Debug, Args)]
pub struct Confirm {
    /// The short name of a reading (r-…), a trial (t-…) or an item; an item's gear, or words of its title
    #[arg(required = true, value_name = "NAME")]
    name: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Correct a reading, a trial or the gear of an item: what it was read as, and when it was
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub struct Correct {
    /// The short name of a reading (r-…), a trial (t-…) or an item; an item's gear, or words of its title
    #[arg(required = true, value_name = "NAME")]
    name: Vec<String>,
    /// The value: "15 kn", "14 to 16", 14.. or ..16
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    value: Option<String>,
    /// The quantity
    #[arg(long, value_name = "QUANTITY")]
    quantity: Option<String>,
    /// What the number means: observed, planned, limit, hypothetical, recalled, forecast or spec
    #[arg(long, value_name = "STANCE", value_parser = stance)]
    stance: Option<Stance>,
    /// The gear, by any of its names; "" for none
    #[arg(long, value_name = "GEAR")]
    gear: Option<String>,
    /// How the trial went: pass, partial, fail or unclear
    #[arg(long, value_name = "OUTCOME", value_parser = outcome_word::outcome)]
    outcome: Option<Outcome>,
    /// When it was: "2026-10-06 06:55", or 06:55 of the day that was read
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

/// Say that nothing of the kind was said: the reading, trial or item is gone from every answer
#[derive(Debug, Args)]
pub struct Dismiss {
    /// The short name of a reading (r-…), a trial (t-…) or an item; an item's gear, or words of its title
    #[arg(required = true, value_name = "NAME")]
    name: Vec<String>,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

impl Confirm {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Confirm { name: self.name.join(" ") }, self.json).await
    }
}

impl Correct {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let to = Amend {
            value: self.value,
            quantity: self.quantity,
            stance: self.stance,
            gear: self.gear,
            outcome: self.outcome,
            at: self.at.map(|text| At { text, zone: context.zone.value }),
        };
        decide(context, Ask::Correct { name: self.name.join(" "), to }, self.json).await
    }
}

impl Dismiss {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        decide(context, Ask::Dismiss { name: self.name.join(" ") }, self.json).await
    }
}

fn stance(text: &str) -> Result<Stance, String> {
    Stance::from_name(&text.trim().to_lowercase()).ok_or_else(|| {
        let names: Vec<&str> = Stance::ALL.iter().map(|stance| stance.name()).collect();
        format!("expected one of {}", names.join(", "))
    })
}
