//! `leadsman limit`: a limit by your own word.

use clap::Args;

use super::decide;
use crate::cli::context::Context;
use crate::decide::Ask;
use crate::error::{Error, Exit};
use crate::quantity_word::meant;

/// Set a limit: a reading outside it opens an item
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub struct Limit {
    /// The quantity, for instance voltage or rig tension, then the band, in the quantity's unit or with its own: 12.2.., "at least 20 psi", 195F or less, "17..20 %"
    #[arg(required = true, num_args = 2.., value_names = ["QUANTITY", "BAND"])]
    words: Vec<String>,
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
        // As many words as name a quantity, else the first.
        let names = |at: &usize| meant(&self.words[..*at].join(" ")).is_some();
        let at = (1..self.words.len()).rev().find(names).unwrap_or(1);
        let (quantity, band) = (self.words[..at].join(" "), self.words[at..].join(" "));
        let ask = Ask::Limit { quantity, band, gear: self.gear, who: self.who };
        decide(context, ask, self.json).await
    }
}
