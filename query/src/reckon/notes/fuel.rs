//! What `fuel` takes from the home: what the engine burns.

use leadsman_index::StoredReading;
use leadsman_ingest::Stance;

use super::picked::{Picked, from, said};
use super::{NEAR, Notes, Side};
use crate::reckon::unit::{Rate, Revs, Speed};
use crate::reckon::{Taken, fuel};
use crate::trend::stats::median;

impl Notes {
    /// Fuel rates of the engine, with the engine speed said nearest to each.
    fn burns(&self) -> Vec<(fuel::Burn, &StoredReading)> {
        self.engine_rates()
            .0
            .into_iter()
            .filter_map(|(rate, stored)| {
                let (rpm, _) = self.nearest("engine_speed", Side::Before, stored, NEAR)?;
                let usable = (300.0..=8_000.0).contains(&rpm) && (0.05..=500.0).contains(&rate);
                usable.then_some((fuel::Burn { rpm: Revs::rpm(rpm), rate: Rate::l_h(rate) }, stored))
            })
            .collect()
    }

    /// Fuel rates of the engine: those said of it, and those of fuel that no heater would burn.
    pub(super) fn engine_rates(&self) -> Picked<'_> {
        /// What a small diesel burns idling, in L/h. Common practice, no source.
        const IDLING: f64 = 0.5;
        let of_engine = |stored: &StoredReading| stored.reading.gear.as_deref() == Some("engine");
        let rates = self.pick("fuel_rate", &["engine", "fuel"], Stance::Observed);
        rates.only(|rate, stored| rate >= IDLING || of_engine(stored))
    }

    /// Fills what `fuel` lacks: measured uses, the tank's size, the speed said beside that engine speed.
    pub fn fuel(&self, inputs: &mut fuel::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        if inputs.burn.is_empty() {
            let burns = self.burns();
            if !burns.is_empty() {
                let list: Vec<String> =
                    burns.iter().map(|(burn, _)| format!("{}={}", burn.rpm, burn.rate)).collect();
                let from = from(burns.iter().map(|(_, stored)| *stored));
                let said = said(burns.iter().map(|(_, stored)| *stored));
                taken.push(Taken { input: "burn".into(), value: list.join(", "), from, said });
                inputs.burn = burns.into_iter().map(|(burn, _)| burn).collect();
            }
        }
        if inputs.tank.is_none() {
            taken.extend(self.tank("fuel_volume", &["fuel"]).map(|(litres, taken)| {
                inputs.tank = Some(litres);
                taken
            }));
        }
        if let (Some(rpm), None) = (inputs.rpm, inputs.speed) {
            let speeds: Vec<(f64, &StoredReading)> = self
                .pick("engine_speed", &["engine"], Stance::Observed)
                .0
                .into_iter()
                .filter(|(found, _)| (found / rpm.in_rpm() - 1.0).abs() <= 0.05)
                .filter_map(|(_, stored)| self.nearest("boat_speed", Side::After, stored, NEAR / 2))
                .filter(|(speed, _)| *speed >= 0.1)
                .collect();
            let picked = Picked(speeds);
            if let Some(kn) = median(&picked.values()) {
                inputs.speed = Some(Speed::kn(kn));
                taken.push(picked.taken("speed", format!("{} at the median", Speed::kn(kn))));
            }
        }
        taken
    }
}
