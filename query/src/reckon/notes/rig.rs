//! What `rig` takes from the home: tensions, limits, the gauge card.

use leadsman_index::StoredReading;
use leadsman_ingest::Stance;

use super::picked::{Picked, from, said, tenth, value};
use super::{Band, Notes, Side};
use crate::figure;
use crate::gear_word::Wanted;
use crate::reckon::unit::{Share, Temperature};
use crate::reckon::{Taken, plain, rig};

impl Notes {
    /// Fills what `rig` lacks for the gear named: tension now and last time, both sides, temperatures, limits.
    pub fn rig(&self, inputs: &mut rig::Inputs) -> Vec<Taken> {
        let Some(gear) = &inputs.gear else { return Vec::new() };
        let wanted = Wanted::new(gear);
        let mut taken = self.wire(&wanted, inputs);
        let tensions = |stance| {
            let readings = self.readings.iter().filter(move |stored| {
                let reading = &stored.reading;
                reading.quantity == "rig_tension" && reading.stance == stance && reading.doubts.is_empty()
            });
            let mine = readings
                .filter(|stored| stored.reading.gear.as_deref().is_some_and(|gear| wanted.covers(gear)));
            mine.collect::<Vec<&StoredReading>>()
        };
        let observed = Picked(
            tensions(Stance::Observed)
                .into_iter()
                .filter_map(|stored| Some((value(&stored.reading)?, stored)))
                .filter(|(_, stored)| stored.reading.at.is_some())
                .collect(),
        );
        let day = |stored: &StoredReading| stored.reading.at.as_ref().map(|moment| moment.at.date_naive());
        let Some((_, last)) = observed.last() else {
            let shown = self.readings.iter().rev().find(|stored| {
                let reading = &stored.reading;
                reading.quantity == "gauge_reading"
                    && reading.stance == Stance::Observed
                    && reading.doubts.is_empty()
                    && reading.gear.as_deref().is_some_and(|gear| wanted.covers(gear))
            });
            if let (None, false, Some(stored)) = (inputs.gauge, inputs.card.is_empty(), shown) {
                inputs.gauge = value(&stored.reading);
                let words = inputs.gauge.map(plain).unwrap_or_default();
                taken.push(Taken {
                    input: "gauge".into(),
                    value: words,
                    from: from(std::iter::once(stored)),
                    said: said(std::iter::once(stored)),
                });
            }
            return taken;
        };
        let today = day(last);
        let now = observed.clone().only(|_, stored| day(stored) == today);
        let earlier = observed.only(|_, stored| day(stored) < today);
        let before_day = earlier.last().and_then(|(_, stored)| day(stored));
        let before = earlier.only(|_, stored| day(stored) == before_day);
        let mean = |picked: &Picked<'_>| {
            let values = picked.values();
            (!values.is_empty()).then(|| Share::percent(values.iter().sum::<f64>() / values.len() as f64))
        };
        let fill = |slot: &mut Option<Share>, name: &str, picked: &Picked<'_>, taken: &mut Vec<Taken>| {
            if let (None, Some(share)) = (&*slot, mean(picked)) {
                taken.push(picked.taken(name, share.to_string()));
                *slot = Some(share);
            }
        };
        // A gauge's reading needs its card; a share that the skipper worked out is taken as said.
        let measured_otherwise = inputs.gauge.is_some() || inputs.stretch.is_some() || inputs.load.is_some();
        if !measured_otherwise {
            fill(&mut inputs.now, "now", &now, &mut taken);
        }
        fill(&mut inputs.before, "before", if measured_otherwise { &now } else { &before }, &mut taken);
        let side = |side: &str| {
            now.clone().only(|_, stored| {
                stored.reading.gear.as_deref().is_some_and(|gear| gear.to_lowercase().starts_with(side))
            })
        };
        let (port, starboard) = (side("port "), side("starboard "));
        if !port.0.is_empty() && !starboard.0.is_empty() {
            fill(&mut inputs.port, "port", &port, &mut taken);
            fill(&mut inputs.starboard, "starboard", &starboard, &mut taken);
        }
        for (slot, name, picked) in [
            (&mut inputs.temperature, "temperature", &now),
            (&mut inputs.temperature_before, "temperature-before", &before),
        ] {
            let beside = picked
                .last()
                .and_then(|(_, stored)| self.nearest("air_temperature", Side::Before, stored, usize::MAX));
            if let (None, Some((degrees, stored))) = (&*slot, beside) {
                *slot = Some(Temperature::deg_c(degrees));
                let taken_from = from(std::iter::once(stored));
                taken.push(Taken {
                    input: name.into(),
                    value: tenth(Temperature::deg_c(degrees)),
                    from: taken_from,
                    said: said(std::iter::once(stored)),
                });
            }
        }
        if inputs.at_least.is_none() && inputs.at_most.is_none() {
            let mine = |band: &&Band| band.gear.as_deref().is_some_and(|gear| wanted.covers(gear));
            if let Some(band) = self.limits.iter().rev().find(mine) {
                (inputs.at_least, inputs.at_most) =
                    (band.low.map(Share::percent), band.high.map(Share::percent));
                let value = figure::range(band.low, band.high, "%");
                let from = format!("set by the skipper: {}", band.who);
                taken.push(Taken { input: "at-least, at-most".into(), value, from, said: Vec::new() });
            }
        }
        if inputs.at_least.is_none() && inputs.at_most.is_none() {
            let limits = tensions(Stance::Limit);
            if let Some(limit) = limits.last() {
                inputs.at_least =
                    limit.reading.low.filter(|_| limit.reading.low != limit.reading.high).map(Share::percent);
                inputs.at_most = limit.reading.high.map(Share::percent);
                let words = figure::range(limit.reading.low, limit.reading.high, "%");
                let taken_from = format!("{}, \"{}\"", from(std::iter::once(*limit)), limit.reading.quote);
                taken.push(Taken {
                    input: "at-least, at-most".into(),
                    value: words,
                    from: taken_from,
                    said: said(std::iter::once(*limit)),
                });
            }
        }
        taken
    }

    /// Fills in what the skipper has kept of a wire: its breaking load with its source, and its gauge's card.
    fn wire(&self, wanted: &Wanted, inputs: &mut rig::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        let mut mine = self.wires.iter().rev().filter(|wire| wanted.covers(&wire.gear));
        let kept = |input: &str, value: String| Taken {
            input: input.to_string(),
            value,
            from: "kept by the skipper".to_string(),
            said: Vec::new(),
        };
        if let (None, Some((load, source))) =
            (inputs.breaking_load, mine.clone().find_map(|wire| wire.breaking_load.clone()))
        {
            taken.push(kept("breaking-load", format!("{load}, {source}")));
            (inputs.breaking_load, inputs.breaking_load_source) = (Some(load), Some(source));
        }
        if let (true, Some(wire)) = (inputs.card.is_empty(), mine.find(|wire| !wire.card.is_empty())) {
            taken.push(kept("card", figure::count(wire.card.len(), "line", "lines")));
            inputs.card = wire.card.clone();
        }
        taken
    }
}
