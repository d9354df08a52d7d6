//! What `power` takes from the home: the bank's size, the panels', currents.

use leadsman_ingest::Stance;

use super::Notes;
use super::heat::GLOW;
use super::picked::passage_taken;
use crate::gear_word::Wanted;
use crate::reckon::Taken;
use crate::reckon::position::Position;
use crate::reckon::power::{self, Daily};
use crate::reckon::unit::{Angle, Charge, Current, Power};
use crate::trend::stats::median;

impl Notes {
    /// Fills what `power` lacks: the bank's size, the panels', and measured currents for which hours are given.
    pub fn power(&self, inputs: &mut power::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        if inputs.capacity.is_none() {
            let spec = self.pick("charge", &["house bank"], Stance::Spec);
            if let Some(most) = spec.values().into_iter().reduce(f64::max) {
                inputs.capacity = Some(Charge::ah(most));
                taken.push(spec.taken("capacity", Charge::ah(most).to_string()));
            }
        }
        if inputs.panels.is_none() {
            let spec = self.pick("power", &["solar panels"], Stance::Spec);
            if let (Some(most), true) = (spec.values().into_iter().reduce(f64::max), inputs.volts.is_some()) {
                inputs.panels = Some(Power::w(most));
                taken.push(spec.taken("panels", Power::w(most).to_string()));
            }
        }
        if inputs.panels.is_some() {
            if inputs.date.is_none() {
                inputs.date = self.passage.departure;
                taken.extend(inputs.date.map(|date| passage_taken("date", date.to_string())));
            }
            if inputs.at.is_none() {
                let highest = self.passage.latitudes.map(|(a, b)| if a.abs() > b.abs() { a } else { b });
                inputs.at =
                    highest.and_then(|latitude| Position::new(Angle::deg(latitude), Angle::default()));
                taken.extend(
                    inputs.at.map(|at| {
                        passage_taken("at", format!("{at}, the latitude furthest from the equator"))
                    }),
                );
            }
        }
        for hours in std::mem::take(&mut inputs.hours) {
            let wanted = Wanted::new(&hours.name);
            let picked = self.pick("current", &[&wanted.name], Stance::Observed);
            let heater = wanted.name == "heater";
            let picked = picked.only(|amperes, _| !heater || amperes < GLOW);
            match median(&picked.values()) {
                Some(amperes) => {
                    let current = Current::a(amperes);
                    taken.push(picked.taken("consumer", format!("{} {current} at the median", wanted.name)));
                    inputs.consumer.push(Daily { name: wanted.name, current, time: hours.time });
                }
                None => inputs.hours.push(hours),
            }
        }
        let by_label =
            inputs.alternator.is_some() || inputs.charge.iter().any(|daily| daily.name == "alternator");
        if let (Some(time), false) = (inputs.engine_hours, by_label) {
            let picked =
                self.pick("current", &["alternator"], Stance::Observed).only(|amperes, _| amperes > 0.0);
            if let Some(amperes) = median(&picked.values()) {
                let current = Current::a(amperes);
                taken.push(picked.taken("charge", format!("alternator {current} at the median")));
                inputs.charge.push(Daily { name: "alternator".into(), current, time });
                inputs.engine_hours = None;
            }
        }
        taken
    }
}
