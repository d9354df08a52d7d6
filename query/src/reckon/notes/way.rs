//! What `way` takes from the home: the passage's distance, the boat's own speeds.

use leadsman_ingest::Stance;

use super::Notes;
use super::picked::{Picked, passage_taken};
use crate::figure;
use crate::reckon::unit::{Distance, Speed};
use crate::reckon::{Taken, plain, way};
use crate::trend::stats::median;

impl Notes {
    /// Fills what `way` lacks: the passage's distance and the boat's own speeds.
    pub fn way(&self, inputs: &mut way::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        if inputs.distance.is_none() && (inputs.from.is_none() || inputs.to.is_none()) {
            inputs.distance = self.passage.distance_nmi.map(Distance::nmi);
            taken.extend(inputs.distance.map(|distance| passage_taken("distance", distance.to_string())));
        }
        if inputs.speed.is_empty() && (inputs.distance.is_some() || inputs.to.is_some()) {
            taken.extend(self.speeds().map(|(speeds, taken)| {
                inputs.speed = speeds;
                taken
            }));
        }
        taken
    }

    /// Speeds of the boat that were said of no gear, or of the log that showed them.
    fn speeds(&self) -> Option<(Vec<Speed>, Taken)> {
        let mut speeds = self.pick("boat_speed", &[], Stance::Observed).0;
        speeds.extend(self.pick("boat_speed", &["speed log"], Stance::Observed).0);
        let picked = Picked(speeds).only(|kn, _| (0.5..=60.0).contains(&kn));
        let middle = median(&picked.values())?;
        let words = format!(
            "{}, {} kn at the median",
            figure::count(picked.0.len(), "speed", "speeds"),
            plain(middle)
        );
        let taken = picked.taken("speed", words);
        Some((picked.values().into_iter().map(Speed::kn).collect(), taken))
    }
}
