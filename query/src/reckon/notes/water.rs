//! What `water` takes from the home: crew and days of the passage, the tank's size.

use super::Notes;
use super::picked::passage_taken;
use crate::reckon::unit::Days;
use crate::reckon::{Taken, plain, water};

impl Notes {
    /// Fills what `water` lacks: crew and days of the passage, the tank's size. What a head uses is never guessed.
    pub fn water(&self, inputs: &mut water::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        if inputs.crew.is_none() {
            inputs.crew = self.passage.crew;
            taken.extend(inputs.crew.map(|crew| passage_taken("crew", crew.to_string())));
        }
        if inputs.days.is_none() {
            inputs.days = self.passage.days.map(Days::d);
            taken.extend(self.passage.days.map(|days| passage_taken("days", plain(days))));
        }
        if inputs.tank.is_none() {
            taken.extend(self.tank("water_volume", &["water tank", "water"]).map(|(litres, taken)| {
                inputs.tank = Some(litres);
                taken
            }));
        }
        taken
    }
}
