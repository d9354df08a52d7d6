//! What a budget takes from the home: what its sums take.

use super::Notes;
use crate::reckon::unit::Rate;
use crate::reckon::{Taken, budget, heat, power, water, way};
use crate::trend::stats::median;

impl Notes {
    /// Fills what a budget lacks.
    pub fn budget(&self, inputs: &mut budget::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        let mut heat = heat::Inputs {
            held: std::mem::take(&mut inputs.held),
            coldest: inputs.coldest,
            most: inputs.most,
            inside: inputs.inside,
            draw: std::mem::take(&mut inputs.draw),
            ..heat::Inputs::default()
        };
        taken.extend(self.heat(&mut heat));
        (inputs.held, inputs.draw) = (heat.held, heat.draw);
        (inputs.inside, inputs.coldest, inputs.most) = (heat.inside, heat.coldest, heat.most);
        let mut way = way::Inputs {
            distance: inputs.distance,
            speed: std::mem::take(&mut inputs.speed),
            ..way::Inputs::default()
        };
        taken.extend(self.way(&mut way));
        (inputs.distance, inputs.speed) = (way.distance, way.speed);
        let mut water = water::Inputs {
            crew: inputs.crew,
            days: inputs.days,
            tank: inputs.water,
            ..water::Inputs::default()
        };
        taken.extend(self.water(&mut water).into_iter().map(|found| renamed(found, "water")));
        (inputs.crew, inputs.days, inputs.water) = (water.crew, water.days, water.tank);
        if inputs.engine_use.is_empty() {
            let rates = self.engine_rates().only(|rate, _| (0.05..=500.0).contains(&rate));
            if let Some(middle) = median(&rates.values()) {
                inputs.engine_use = rates.values().into_iter().map(Rate::l_h).collect();
                taken.push(rates.taken("engine-use", format!("{} at the median", Rate::l_h(middle))));
            }
        }
        if inputs.diesel.is_none() {
            taken.extend(self.tank("fuel_volume", &["fuel"]).map(|(litres, found)| {
                inputs.diesel = Some(litres);
                renamed(found, "diesel")
            }));
        }
        let mut power = power::Inputs {
            capacity: inputs.capacity,
            consumer: std::mem::take(&mut inputs.consumer),
            hours: std::mem::take(&mut inputs.hours),
            charge: std::mem::take(&mut inputs.charge),
            engine_hours: inputs.engine_hours,
            ..power::Inputs::default()
        };
        taken.extend(self.power(&mut power));
        (inputs.capacity, inputs.consumer, inputs.hours, inputs.charge) =
            (power.capacity, power.consumer, power.hours, power.charge);
        taken
    }
}

fn renamed(taken: Taken, tank: &str) -> Taken {
    if taken.input == "tank" { Taken { input: tank.to_string(), ..taken } } else { taken }
}
