//! Inputs from the home: a reckoning's missing numbers, taken from the boat's own readings and the passage as set.
//!
//! Only what was observed counts as measured, only a fixed property as a size; a reading with a doubt is left out, and so
//! is an open bound. Two readings belong together when they stand near each other in one note. What is taken is listed
//! with its readings and days. Nothing here fills in a number that nobody said.

use std::collections::{BTreeSet, HashMap};

use leadsman_index::{Decision, Passage, SourceId, StoredReading};
use leadsman_ingest::{Reading, Stance};

use super::heat::{self, Held};
use super::power::{self, Daily};
use super::unit::{
    Angle, Charge, Current, Distance, Force, Period, Power, Quantity, Rate, Revs, Share, Speed, Temperature,
    Volume, Warming,
};
use super::{Taken, fuel, plain, position::Position, rig, water, way};
use crate::figure;
use crate::gear_word::Wanted;
use crate::trend::stats::median;

/// Two readings further apart than this in a note, in bytes, are not taken as of one occasion.
const NEAR: usize = 400;

/// By how many bytes a reading on the unlikely side of another has to be nearer to belong to it.
const OTHER_SIDE: usize = 100;

/// On which side of a reading what belongs to it is usually said.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Before,
    After,
}

/// A heater's current from here on is its start-up glow, 8 to 10 A (from memory), and says nothing of its running.
const GLOW: f64 = 7.0;

/// The quantities that a reckoning may ask the home for.
pub const QUANTITIES: [&str; 14] = [
    "air_temperature",
    "boat_speed",
    "cabin_temperature",
    "charge",
    "current",
    "duration",
    "engine_speed",
    "fuel_rate",
    "fuel_volume",
    "gauge_reading",
    "length",
    "power",
    "rig_tension",
    "water_volume",
];

/// A home's readings, its passage, and what the skipper knows of the rig.
#[derive(Clone, Debug, Default)]
pub struct Notes {
    readings: Vec<StoredReading>,
    of_source: HashMap<SourceId, Vec<usize>>,
    passage: Passage,
    wires: Vec<Wire>,
    limits: Vec<Band>,
}

/// What the skipper knows of a wire.
#[derive(Clone, Debug)]
struct Wire {
    gear: String,
    breaking_load: Option<(Force, String)>,
    card: Vec<rig::CardLine>,
}

/// A band of rig tension that the skipper has set, in % of breaking load.
#[derive(Clone, Debug)]
struct Band {
    gear: Option<String>,
    low: Option<f64>,
    high: Option<f64>,
    who: String,
}

/// Readings picked for an input, each as one value in its canonical unit.
#[derive(Clone, Debug, Default)]
struct Picked<'a>(Vec<(f64, &'a StoredReading)>);

impl<'a> Picked<'a> {
    fn values(&self) -> Vec<f64> {
        self.0.iter().map(|(value, _)| *value).collect()
    }

    fn last(&self) -> Option<(f64, &'a StoredReading)> {
        self.0.last().copied()
    }

    fn only(self, keep: impl Fn(f64, &StoredReading) -> bool) -> Self {
        Self(self.0.into_iter().filter(|(value, stored)| keep(*value, stored)).collect())
    }

    fn from(&self) -> String {
        from(self.0.iter().map(|(_, stored)| *stored))
    }

    fn taken(&self, input: &str, value: String) -> Taken {
        Taken { input: input.to_string(), value, from: self.from() }
    }
}

/// "6 readings, 12 Sep to 3 Oct 2026".
fn from<'a>(stored: impl Iterator<Item = &'a StoredReading>) -> String {
    let stored: Vec<&StoredReading> = stored.collect();
    let days: BTreeSet<_> =
        stored.iter().filter_map(|s| s.reading.at.as_ref()).map(|moment| moment.at.date_naive()).collect();
    let count = figure::count(stored.len(), "reading", "readings");
    let day = |day: &chrono::NaiveDate, form: &str| day.format(form).to_string();
    match (days.first(), days.last()) {
        (Some(first), Some(last)) if first == last => format!("{count}, {}", day(first, "%-d %b %Y")),
        (Some(first), Some(last)) => {
            let same = first.format("%Y").to_string() == last.format("%Y").to_string();
            let form = if same { "%-d %b" } else { "%-d %b %Y" };
            format!("{count}, {} to {}", day(first, form), day(last, "%-d %b %Y"))
        }
        _ => format!("{count}, undated"),
    }
}

fn value(reading: &Reading) -> Option<f64> {
    Some(reading.low? / 2.0 + reading.high? / 2.0).filter(|value| value.is_finite())
}

/// A quantity to a tenth, as one would say it; what is reckoned with is kept whole.
fn tenth<Q: Quantity>(quantity: Q) -> String {
    format!("{}{}", plain((quantity.canonical() * 10.0).round() / 10.0), figure::suffix(Q::UNIT))
}

fn passage_taken(input: &str, value: String) -> Taken {
    Taken { input: input.to_string(), value, from: "the passage as set".to_string() }
}

impl Notes {
    /// Takes a home's readings, by time as the database gives them, and the decisions that stand, by time.
    pub fn new<'a>(readings: Vec<StoredReading>, decisions: impl IntoIterator<Item = &'a Decision>) -> Self {
        let mut notes = Self { readings, ..Self::default() };
        for (at, stored) in notes.readings.iter().enumerate() {
            notes.of_source.entry(stored.source).or_default().push(at);
        }
        for decision in decisions {
            match decision {
                Decision::Passage(later) => notes.passage = notes.passage.then(later),
                Decision::Wire { gear, breaking_load_kn, breaking_load_source, card } => {
                    let source = breaking_load_source.clone();
                    notes.wires.push(Wire {
                        gear: gear.clone(),
                        breaking_load: breaking_load_kn.map(Force::kn).zip(source),
                        card: card
                            .iter()
                            .map(|(reading, load)| rig::CardLine {
                                reading: *reading,
                                load: Force::kn(*load),
                            })
                            .collect(),
                    });
                }
                Decision::Limit { quantity, gear, low, high, who } if quantity == "rig_tension" => {
                    notes.limits.push(Band { gear: gear.clone(), low: *low, high: *high, who: who.clone() })
                }
                _ => {}
            }
        }
        notes
    }

    /// The passage as set.
    pub fn passage(&self) -> &Passage {
        &self.passage
    }

    fn pick(&self, quantity: &str, gear: &[&str], stance: Stance) -> Picked<'_> {
        let of_gear = |reading: &Reading| match &reading.gear {
            Some(found) => gear.iter().any(|name| name.eq_ignore_ascii_case(found)),
            None => gear.is_empty(),
        };
        let fits = |stored: &&StoredReading| {
            let reading = &stored.reading;
            reading.quantity == quantity
                && reading.stance == stance
                && reading.doubts.is_empty()
                && of_gear(reading)
        };
        Picked(
            self.readings
                .iter()
                .filter(fits)
                .filter_map(|stored| Some((value(&stored.reading)?, stored)))
                .collect(),
        )
    }

    /// The observed reading of a quantity nearest to `beside` in its note, whatever its gear; one on the other side than
    /// `side` has to be nearer by [`OTHER_SIDE`], so that lines of a list do not borrow from each other.
    fn nearest(
        &self,
        quantity: &str,
        side: Side,
        beside: &StoredReading,
        within: usize,
    ) -> Option<(f64, &StoredReading)> {
        let gap = |stored: &StoredReading| {
            let (a, b) = (stored.reading.span, beside.reading.span);
            b.start.saturating_sub(a.end).max(a.start.saturating_sub(b.end))
        };
        let of_source = self.of_source.get(&beside.source).map_or(&[][..], Vec::as_slice);
        of_source
            .iter()
            .map(|at| &self.readings[*at])
            .filter(|stored| {
                stored.reading.quantity == quantity
                    && stored.reading.stance == Stance::Observed
                    && stored.reading.doubts.is_empty()
                    && gap(stored) <= within
            })
            .filter_map(|stored| Some((value(&stored.reading)?, stored)))
            .min_by_key(|(_, stored)| {
                let before = stored.reading.span.start < beside.reading.span.start;
                gap(stored) + if before == (side == Side::Before) { 0 } else { OTHER_SIDE }
            })
    }

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
                taken.push(Taken { input: "held".into(), value: list.join(", "), from });
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

    fn engine_rates(&self) -> Picked<'_> {
        self.pick("fuel_rate", &["engine", "fuel"], Stance::Observed)
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
                taken.push(Taken { input: "burn".into(), value: list.join(", "), from });
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

    /// The size of a tank: the largest that the notes give as its size, taken as full.
    fn tank(&self, quantity: &str, gear: &[&str]) -> Option<(Volume, Taken)> {
        let spec = self.pick(quantity, gear, Stance::Spec);
        let most = Volume::l(spec.values().into_iter().reduce(f64::max)?);
        let taken = spec.taken("tank", format!("{most}, the tank's size: taken as full"));
        Some((most, taken))
    }

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
                taken.push(Taken { input: "at-least, at-most".into(), value, from });
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
                taken.push(Taken { input: "at-least, at-most".into(), value: words, from: taken_from });
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

    /// Fills what `water` lacks: crew and days of the passage, the tank's size. What a head uses is never guessed.
    pub fn water(&self, inputs: &mut water::Inputs) -> Vec<Taken> {
        let mut taken = Vec::new();
        if inputs.crew.is_none() {
            inputs.crew = self.passage.crew;
            taken.extend(inputs.crew.map(|crew| passage_taken("crew", crew.to_string())));
        }
        if inputs.days.is_none() {
            inputs.days = self.passage.days.map(Period::days);
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

    /// Fills what a budget lacks.
    pub fn budget(&self, inputs: &mut super::budget::Inputs) -> Vec<Taken> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::budget;
    use crate::reckon::check::near;
    use leadsman_index::SourceId;
    use leadsman_ingest::{Basis, Moment, Span};

    /// A note as its readings: quantity, value, gear, place.
    fn note(date: &str, readings: &[(&str, f64, &str, usize)]) -> Vec<StoredReading> {
        let at = format!("{date}T12:00:00+00:00").parse().expect("an instant");
        readings
            .iter()
            .enumerate()
            .map(|(n, (quantity, value, gear, start))| StoredReading {
                source: SourceId::of(date.as_bytes()),
                name: format!("{date}.txt"),
                n,
                reading: Reading {
                    quantity: (*quantity).to_string(),
                    low: Some(*value),
                    high: Some(*value),
                    unit: String::new(),
                    unit_said: String::new(),
                    stance: Stance::Observed,
                    gear: (!gear.is_empty()).then(|| (*gear).to_string()),
                    at: Some(Moment { at, basis: Basis::Stated }),
                    span: Span::new(*start, start + 10),
                    quote: String::new(),
                    doubts: Vec::new(),
                    because: Vec::new(),
                },
            })
            .collect()
    }

    fn stance(mut stored: Vec<StoredReading>, stance: Stance) -> Vec<StoredReading> {
        stored.iter_mut().for_each(|stored| stored.reading.stance = stance);
        stored
    }

    fn cold_notes() -> Notes {
        let passage = Passage {
            distance_nmi: Some(900.0),
            crew: Some(2),
            coldest_air_degc: Some(-8.0),
            ..Passage::default()
        };
        let mut all = Vec::new();
        for (date, inside, outside, rate) in [
            ("2026-09-12", 16.0, 8.0, 0.10),
            ("2026-09-20", 17.0, 5.0, 0.15),
            ("2026-09-27", 16.0, 2.0, 0.175),
            ("2026-10-03", 15.0, 5.0, 0.125),
        ] {
            let readings = [
                ("cabin_temperature", inside, "cabin", 100),
                ("air_temperature", outside, "", 150),
                ("fuel_rate", rate, "heater", 200),
                ("current", 1.4, "heater", 220),
                ("boat_speed", 5.0, "", 400),
            ];
            all.extend(note(date, &readings));
        }
        all.extend(note("2026-10-04", &[("current", 8.5, "heater", 10), ("fuel_rate", 0.9, "heater", 50)]));
        let sizes =
            note("2026-10-05", &[("fuel_rate", 0.26, "heater", 10), ("fuel_volume", 100.0, "fuel", 60)]);
        all.extend(stance(sizes, Stance::Spec));
        Notes::new(all, [&Decision::Passage(passage)])
    }

    #[test]
    fn heat_comes_from_the_readings_that_stand_together() {
        let mut inputs = heat::Inputs::default();
        let taken = cold_notes().heat(&mut inputs);
        // The rate of 4 October has no temperatures beside it, and the 8.5 A are the start-up's.
        assert_eq!(inputs.held.len(), 4);
        near(inputs.held[2].difference.in_k(), 14.0, 1e-9);
        assert_eq!(inputs.draw.len(), 4);
        assert_eq!(inputs.most, Some(Rate::l_h(0.26)));
        assert_eq!(inputs.inside, Some(Temperature::deg_c(16.0)));
        let held = taken.iter().find(|taken| taken.input == "held").expect("taken");
        assert_eq!(held.from, "4 readings, 12 Sep to 3 Oct 2026");
        let coldest = taken.iter().find(|taken| taken.input == "coldest").expect("taken");
        assert_eq!((coldest.value.as_str(), coldest.from.as_str()), ("−8 °C", "the passage as set"));
    }

    #[test]
    fn what_is_given_comes_before_the_notes() {
        let mut inputs = heat::Inputs { coldest: Some(Temperature::deg_c(0.0)), ..heat::Inputs::default() };
        let taken = cold_notes().heat(&mut inputs);
        assert_eq!(inputs.coldest, Some(Temperature::deg_c(0.0)));
        assert!(taken.iter().all(|taken| taken.input != "coldest"));
    }

    #[test]
    fn doubts_open_bounds_and_other_stances_are_left_out() {
        let mut all =
            note("2026-09-12", &[("cabin_temperature", 16.0, "", 0), ("air_temperature", 6.0, "", 20)]);
        let mut doubtful = note("2026-09-12", &[("fuel_rate", 0.1, "heater", 40)]);
        doubtful[0].reading.doubts.push("two numbers run together".into());
        let mut open = note("2026-09-12", &[("fuel_rate", 0.1, "heater", 60)]);
        open[0].reading.high = None;
        let planned = stance(note("2026-09-12", &[("fuel_rate", 0.1, "heater", 80)]), Stance::Planned);
        all.extend(doubtful.into_iter().chain(open).chain(planned));
        let mut inputs = heat::Inputs::default();
        let taken = Notes::new(all, []).heat(&mut inputs);
        assert!(inputs.held.is_empty() && taken.is_empty(), "{taken:?}");
    }

    #[test]
    fn a_rate_is_worked_out_from_a_volume_and_a_time_said_together() {
        let readings = [
            ("cabin_temperature", 18.0, "", 0),
            ("air_temperature", 6.0, "", 20),
            ("duration", 7_200.0, "heater", 40),
            ("fuel_volume", 0.3, "heater", 80),
        ];
        let mut inputs = heat::Inputs::default();
        Notes::new(note("2026-09-12", &readings), []).heat(&mut inputs);
        near(inputs.held[0].rate.in_l_h(), 0.15, 1e-12);
    }

    #[test]
    fn rig_compares_the_last_day_with_the_one_before() {
        let spring = [("rig_tension", 19.0, "port cap shroud", 0), ("air_temperature", 20.0, "", 30)];
        let mut all = note("2026-04-10", &spring);
        let autumn = [
            ("rig_tension", 16.0, "port cap shroud", 0),
            ("rig_tension", 17.0, "starboard cap shroud", 20),
            ("air_temperature", 8.0, "", 40),
            ("rig_tension", 11.0, "port lower shroud", 60),
        ];
        all.extend(note("2026-09-02", &autumn));
        let mut limit = stance(note("2026-03-01", &[("rig_tension", 15.0, "cap shroud", 0)]), Stance::Limit);
        limit[0].reading.high = Some(20.0);
        all.extend(limit);
        let mut inputs = rig::Inputs { gear: Some("caps".into()), ..rig::Inputs::default() };
        Notes::new(all, []).rig(&mut inputs);
        assert_eq!(inputs.now, Some(Share::percent(16.5)));
        assert_eq!(inputs.before, Some(Share::percent(19.0)));
        assert_eq!((inputs.port, inputs.starboard), (Some(Share::percent(16.0)), Some(Share::percent(17.0))));
        assert_eq!(inputs.temperature_before, Some(Temperature::deg_c(20.0)));
        assert_eq!(
            (inputs.at_least, inputs.at_most),
            (Some(Share::percent(15.0)), Some(Share::percent(20.0)))
        );
        let answer = rig::reckon(&inputs).expect("complete");
        let change = answer.figure("change since last time", "change").and_then(|figure| figure.value);
        near(change.expect("named"), -2.5, 1e-9);
    }

    /// A list of engine speeds, each with boat speed and fuel behind it on its line, as logs have it.
    #[test]
    fn lines_of_a_list_do_not_borrow_from_each_other() {
        let all = note(
            "2026-09-12",
            &[
                ("engine_speed", 1_600.0, "engine", 0),
                ("boat_speed", 4.8, "engine", 14),
                ("fuel_rate", 2.1, "fuel", 28),
                ("engine_speed", 2_000.0, "engine", 41),
                ("boat_speed", 5.9, "engine", 55),
                ("fuel_rate", 3.0, "fuel", 69),
            ],
        );
        let mut inputs = fuel::Inputs { rpm: Some(Revs::rpm(2_000.0)), ..fuel::Inputs::default() };
        Notes::new(all, []).fuel(&mut inputs);
        let burns: Vec<(f64, f64)> =
            inputs.burn.iter().map(|burn| (burn.rpm.in_rpm(), burn.rate.in_l_h())).collect();
        assert_eq!(burns, [(1_600.0, 2.1), (2_000.0, 3.0)]);
        assert_eq!(inputs.speed, Some(Speed::kn(5.9)));
    }

    /// A card is kept for the caps, and answers for either of them; another wire's does not.
    #[test]
    fn a_kept_card_reads_the_gauge() {
        let wire = |gear: &str, kn: f64| Decision::Wire {
            gear: gear.into(),
            breaking_load_kn: Some(kn),
            breaking_load_source: Some("rigger's certificate".into()),
            card: vec![(20.0, kn / 10.0), (30.0, kn / 5.0)],
        };
        let all = note("2026-09-02", &[("gauge_reading", 25.0, "port cap shroud", 0)]);
        let mut inputs = rig::Inputs { gear: Some("cap shroud".into()), ..rig::Inputs::default() };
        Notes::new(all, [&wire("cap shroud", 22.0), &wire("backstay", 40.0)]).rig(&mut inputs);
        assert_eq!(inputs.gauge, Some(25.0));
        let answer = rig::reckon(&inputs).expect("complete");
        let share =
            answer.figure("tension by gauge", "share of breaking load").and_then(|figure| figure.value);
        near(share.expect("named"), 15.0, 1e-9);
    }

    #[test]
    fn a_budget_is_worked_from_the_notes_and_the_passage() {
        let mut inputs = budget::Inputs::default();
        let taken = cold_notes().budget(&mut inputs);
        let budget = budget::budget(&inputs).expect("what the notes give is usable");
        let heat = budget.line("heat").expect("named");
        assert!(heat.figures.iter().any(|figure| figure.name == "over the passage"), "{heat:?}");
        assert!(
            budget.short.iter().any(|short| short.what == "heat" && short.how == "short"),
            "{:?}",
            budget.short
        );
        assert!(taken.iter().any(|taken| taken.input == "diesel" && taken.value.contains("taken as full")));
    }

    #[test]
    fn readings_are_counted_with_their_days() {
        let count = |dates: &[&str]| {
            let of_day = |date: &&str| note(date, &[("current", 1.0, "", 0)]);
            let all: Vec<StoredReading> = dates.iter().flat_map(of_day).collect();
            from(all.iter())
        };
        assert_eq!(count(&["2026-09-12"]), "1 reading, 12 Sep 2026");
        assert_eq!(count(&["2025-09-12", "2026-01-02"]), "2 readings, 12 Sep 2025 to 2 Jan 2026");
    }
}
