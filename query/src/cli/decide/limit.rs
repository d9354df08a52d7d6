//! `leadsman limit`: a limit by your own word.

use clap::Args;

use super::decide;
use crate::cli::context::Context;
use crate::decide::Ask;
use crate::error::{Error, Exit};

/// Set a limit: a reading outside it opens an item
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub struct Limit {
    /// The quantity, for instance voltage or "rig tension"
    quantity: String,
    /// The band, in the quantity's unit or with its own: 12.2.., ..92, "17..20 %"
    #[arg(required = true, value_name = "BAND")]
    band: Vec<String>,
    /// The gear that it is for, by any of its names; without it, the boat
    #[arg(long, value_name = "GEAR")]
    gear: Option<String>,
    /// Who gives it: the maker, the rigger
    #[arg(long, value_name = "WHO", default_value = "you")]
    who: String,
    /// Print the decision as JSON
    #[arg(long)]
    json: bool,
}

impl Limit {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let ask =
            Ask::Limit { quantity: self.quantity, band: self.band.join(" "), gear: self.gear, who: self.who };
        decide(context, ask, self.json).await
    }
}
