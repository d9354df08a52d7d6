//! What `heat` takes from the home: what the heater held, and at what draw.

use leadsman_index::StoredReading;
use leadsman_ingest::Stance;

use super::picked::{Picked, from, passage_taken, said, tenth};
use super::{NEAR, Notes, Side};
use crate::reckon::Taken;
use crate::reckon::heat::{self, Held};
use crate::reckon::unit::{Current, Rate, Temperature, Warming};
use crate::trend::stats::median;

/// A heater's current from here on is its start-up glow, 8 to 10 A (from memory), and says nothing of its running.
pub(super) const GLOW: f64 = 7.0;

impl Notes {
    /// What the heater held: its fuel rates, said or worked out from a volume and a time said together, each with the
    /// temperatures inside and outside that stand nearest in the same note.
    fn held(&self) -> Vec<(Held, &StoredReading)> {
        let mut rates = self.pick("fuel_rate", &["heater"], Stance::Observed).0;
        for (litres, stored) in self.pick("fuel_volume", &["heater"], Stance::Observed).0 {
            let said = rates.iter().any(|(_, rate)| {
                rate.source == stored.source
                    && rate.reading.span.start.abs_diff(stored.reading.span.start) <= NEAR
            });
            let time = self
                .nearest("duration", Side::Before, stored, NEAR)
                .filter(|(seconds, _)| *seconds >= 1_800.0);
            if let (false, Some((seconds, _))) = (said, time) {
                rates.push((litres / (seconds / 3_600.0), stored));
            }
        }
        rates.sort_by_key(|(_, stored)| stored.reading.at.as_ref().map(|moment| moment.at));
        let pair = |(rate, stored): (f64, &'_ StoredReading)| {
            let inside = self.nearest("cabin_temperature", Side::Before, stored, usize::MAX)?.0;
            let outside = self.nearest("air_temperature", Side::Before, stored, usize::MAX)?.0;
            let held = Held { difference: Warming::k(inside - outside), rate: Rate::l_h(rate) };
            (held.difference.in_k() >= 0.5 && held.difference.in_k() <= 70.0 && (0.01..=5.0).contains(&rate))
                .then_some(held)
        };
        rates.into_iter().filter_map(|(rate, stored)| Some((pair((rate, stored))?, stored))).collect()
    }

    /// Fills what `heat` lacks.
    pub fn heat(&self, inputs: &mut heat::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        if inputs.held.is_empty() {
            let held = self.held();
            if !held.is_empty() {
                let list: Vec<String> = held
                    .iter()
                    .map(|(held, _)| format!("{}={}", tenth(held.difference), held.rate))
                    .collect();
                let from = from(held.iter().map(|(_, stored)| *stored));
                let said = said(held.iter().map(|(_, stored)| *stored));
                taken.push(Taken { input: "held".into(), value: list.join(", "), from, said });
                inputs.held = held.into_iter().map(|(held, _)| held).collect();
            }
        }
        if inputs.inside.is_none() {
            let kept = self.held().into_iter();
            let kept = Picked(
                kept.filter_map(|(_, stored)| {
                    self.nearest("cabin_temperature", Side::Before, stored, usize::MAX)
                })
                .collect(),
            );
            if let Some(middle) = median(&kept.values()).filter(|middle| (-10.0..=35.0).contains(middle)) {
                inputs.inside = Some(Temperature::deg_c(middle));
                let words = format!(
                    "{}, as warm as the heater kept it, at the median",
                    tenth(Temperature::deg_c(middle))
                );
                taken.push(kept.taken("inside", words));
            }
        }
        if inputs.coldest.is_none() {
            inputs.coldest = self.passage.coldest_air_degc.map(Temperature::deg_c);
            taken.extend(inputs.coldest.map(|coldest| passage_taken("coldest", coldest.to_string())));
        }
        if inputs.most.is_none() {
            let spec = self.pick("fuel_rate", &["heater"], Stance::Spec);
            if let Some(most) = spec.values().into_iter().reduce(f64::max) {
                inputs.most = Some(Rate::l_h(most));
                taken.push(spec.taken("most", Rate::l_h(most).to_string()));
            }
        }
        if inputs.draw.is_empty() {
            let running = self
                .pick("current", &["heater"], Stance::Observed)
                .only(|amperes, _| (0.05..GLOW).contains(&amperes));
            if let Some(middle) = median(&running.values()) {
                inputs.draw = running.values().into_iter().map(Current::a).collect();
                taken.push(running.taken("draw", format!("{} at the median", Current::a(middle))));
            }
        }
        taken
    }
}
