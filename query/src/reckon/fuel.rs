//! Fuel: use at an engine speed from what was measured, range with a reserve.
//!
//! Formula: between measured engine speeds a straight line; outside them the nearest measured one times (rpm ratio)^n,
//! n 2.5 to 3, since a propeller's power goes about with the cube. Units: rpm, L/h, L, nmi. Range: a displacement boat with
//! a fixed propeller. Source: the cube law with fits of 2.5 to 3 (dieselmotors.info, seatrials.net, an owners' forum).
//! Caution: see [`CAUTION`].

use super::unit::{Distance, Period, Power, Rate, Revs, Share, Speed, Volume};
use super::{Figure, Lacking, Missing, ReckonError, Reckoned, Sheet, Sum, sheet::need, within};
use crate::figure;

/// What `fuel` can use; each may be left out.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// A measured use as RPM=RATE; repeat
    #[arg(long, value_name = "1800rpm=2.1L/h")]
    pub burn: Vec<Burn>,
    /// Engine speed to reckon for
    #[arg(long, value_name = "1600rpm")]
    pub rpm: Option<Revs>,
    /// Fuel aboard
    #[arg(long, value_name = "220L")]
    pub tank: Option<Volume>,
    /// Share of it kept back
    #[arg(long, value_name = "20%")]
    pub reserve: Option<Share>,
    /// Boat speed at that engine speed
    #[arg(long, value_name = "5.5kn")]
    pub speed: Option<Speed>,
    /// Power at the shaft, for use by specific consumption
    #[arg(long, value_name = "10kW")]
    pub shaft_power: Option<Power>,
    /// Specific consumption, grams a kWh
    #[arg(long, value_name = "240")]
    pub grams_per_kwh: Option<f64>,
}

/// Fuel use measured at an engine speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burn {
    /// Engine speed.
    pub rpm: Revs,
    /// Use.
    pub rate: Rate,
}

impl std::str::FromStr for Burn {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let (rpm, rate) = text
            .split_once('=')
            .ok_or_else(|| format!("expected RPM=RATE as in 1800rpm=2.1L/h, found \"{text}\""))?;
        let rpm = rpm.parse().map_err(|error| format!("{error}"))?;
        Ok(Self { rpm, rate: rate.parse().map_err(|error| format!("{error}"))? })
    }
}

/// The one line of caution of this reckoning.
pub const CAUTION: &str = "wind, sea and a foul bottom can double what a mile costs; keep a reserve, and dip the tank rather \
                           than trust a sum";

/// Exponents of a propeller's power with engine speed, lowest and highest.
pub const PROPELLER: (f64, f64) = (2.5, 3.0);

/// Density of diesel, g/L.
pub const DIESEL_G_PER_L: f64 = 840.0;

/// Fuel use at an engine speed from what was measured at others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// Lowest.
    pub low: Rate,
    /// Highest; the same as `low` between measured engine speeds.
    pub high: Rate,
    /// Whether the engine speed lies outside those measured.
    pub beyond: bool,
}

/// Use at `rpm`; several measurements at one engine speed count as their mean. `None` without measurements.
pub fn use_at(burns: &[Burn], rpm: Revs) -> Option<Use> {
    let mut sorted = burns.to_vec();
    sorted.sort_by(|a, b| a.rpm.in_rpm().total_cmp(&b.rpm.in_rpm()));
    let means: Vec<Burn> = sorted
        .chunk_by(|a, b| a.rpm == b.rpm)
        .map(|same| Burn {
            rpm: same[0].rpm,
            rate: same.iter().fold(Rate::default(), |sum, burn| sum + burn.rate) / same.len() as f64,
        })
        .collect();
    let (first, last) = (means.first()?, means.last()?);
    if let Some(pair) = means.windows(2).find(|pair| pair[0].rpm <= rpm && rpm <= pair[1].rpm) {
        let share = (rpm - pair[0].rpm) / (pair[1].rpm - pair[0].rpm);
        let rate = pair[0].rate + (pair[1].rate - pair[0].rate) * share;
        return Some(Use { low: rate, high: rate, beyond: false });
    }
    let nearest = if rpm < first.rpm { first } else { last };
    let [a, b] = [PROPELLER.0, PROPELLER.1].map(|n| nearest.rate * (rpm / nearest.rpm).powf(n));
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    Some(Use { low, high, beyond: rpm != nearest.rpm })
}

/// Fuel use of a power at the shaft by its specific consumption.
pub fn use_of_power(power: Power, grams_per_kwh: f64) -> Rate {
    Rate::l_h(power.in_kw() * grams_per_kwh / DIESEL_G_PER_L)
}

/// Works out every sum that the inputs allow.
pub fn reckon(inputs: &Inputs) -> Result<Reckoned, ReckonError> {
    for burn in &inputs.burn {
        within("engine speed measured", burn.rpm, 300.0, 8000.0)?;
        within("use measured", burn.rate, 0.05, 500.0)?;
    }
    inputs.rpm.map(|value| within("engine speed", value, 300.0, 8000.0)).transpose()?;
    inputs.tank.map(|value| within("fuel aboard", value, 0.0, 100_000.0)).transpose()?;
    inputs.reserve.map(|value| within("reserve", value, 0.0, 90.0)).transpose()?;
    inputs.speed.map(|value| within("boat speed", value, 0.1, 60.0)).transpose()?;
    inputs.shaft_power.map(|value| within("shaft power", value, 1.0, 1e6)).transpose()?;
    if let Some(found) = inputs.grams_per_kwh.filter(|g| !(150.0..=600.0).contains(g)) {
        let (what, unit) = ("specific consumption".into(), "g/kWh");
        return Err(ReckonError::OutOfRange { what, low: 150.0, high: 600.0, unit, found });
    }
    let mut sheet = Sheet::new("fuel", Some(CAUTION));
    sheet.add(use_sum(inputs))?;
    sheet.add(power_sum(inputs))?;
    sheet.add(range_sum(inputs))?;
    sheet.finish()
}

fn lacking(sum: &'static str, ids: &[&str], given: usize) -> ReckonError {
    let inputs = ids.iter().map(|id| Missing::of::<Inputs>(id)).collect();
    ReckonError::Lacking(Lacking { sum, inputs, why: None, given })
}

fn use_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    let sum = "use at an engine speed";
    let (Some(rpm), false) = (inputs.rpm, inputs.burn.is_empty()) else {
        let missing = [("burn", inputs.burn.is_empty()), ("rpm", inputs.rpm.is_none())];
        let ids: Vec<&str> = missing.iter().filter(|m| m.1).map(|m| m.0).collect();
        return Err(lacking(sum, &ids, 2 - ids.len()));
    };
    let Some(found) = use_at(&inputs.burn, rpm) else { return Err(lacking(sum, &["burn"], 1)) };
    let mut remarks = Vec::new();
    let figure = if found.low == found.high {
        Figure::of("use", found.low, 2)
    } else {
        remarks.push("outside the engine speeds measured: by the propeller law from the nearest".to_string());
        Figure::range("use", found.low, found.high, 2)
    };
    Ok(Sum {
        name: sum,
        figures: vec![figure],
        from: vec![figure::count(inputs.burn.len(), "measurement", "measurements"), format!("rpm {rpm}")],
        formula: "straight between measured engine speeds; outside, nearest × (rpm ratio)^n, n 2.5 to 3",
        source: "propeller law with fits of 2.5 to 3 (dieselmotors.info, seatrials.net, an owners' forum)",
        range: "fixed propeller, displacement speeds, the loading and sea that it was measured in",
        remarks,
    })
}

fn power_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "use by power", from; shaft_power, grams_per_kwh);
    Ok(Sum {
        name: "use by power",
        figures: vec![Figure::of("use", use_of_power(shaft_power, grams_per_kwh), 2)],
        from,
        formula: "kW × g/kWh / 840 g/L",
        source: "definition; density of diesel from memory",
        range: "an engine under load; idling wastes more",
        remarks: Vec::new(),
    })
}

fn range_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    let by_rpm = inputs.rpm.and_then(|rpm| use_at(&inputs.burn, rpm)).map(|found| (found.low, found.high));
    let by_power =
        inputs.shaft_power.zip(inputs.grams_per_kwh).map(|(power, grams)| use_of_power(power, grams));
    let rate = by_rpm.or(by_power.map(|rate| (rate, rate)));
    let Some((low, high)) = rate else {
        let ids: Vec<&str> =
            ["burn", "rpm"].into_iter().filter(|id| *id == "burn" || inputs.rpm.is_none()).collect();
        return Err(lacking("range", &ids, usize::from(inputs.tank.is_some())));
    };
    need!(Inputs, inputs, "range", from; tank, reserve);
    let usable = tank * (1.0 - reserve.in_fraction());
    let hours = [high, low].map(|rate| Period::h(usable.in_l() / rate.in_l_h()));
    let span = |name: &str, values: [f64; 2], unit, decimals| {
        if values[0] == values[1] {
            Figure::number(name, values[0], unit, decimals)
        } else {
            Figure::span(name, values[0], values[1], unit, decimals)
        }
    };
    let mut figures =
        vec![Figure::of("to burn", usable, 0), span("engine hours", hours.map(Period::in_h), "h", 0)];
    let mut from = from;
    match inputs.speed {
        Some(speed) => {
            from.push(format!("speed {speed}"));
            let miles = hours.map(|time| Distance::nmi(speed.in_kn() * time.in_h()).in_nmi());
            figures.push(span("range under engine", miles, "nmi", 0));
        }
        None => {
            figures.push(Figure::words("range under engine", "unknown: give --speed at that engine speed"))
        }
    }
    Ok(Sum {
        name: "range",
        figures,
        from,
        formula: "(fuel aboard less reserve) / use × speed",
        source: "definition",
        range: "the speed and use of the same conditions; a tank's last litres are not to be had in a seaway",
        remarks: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    fn burn(rpm: f64, rate: f64) -> Burn {
        Burn { rpm: Revs::rpm(rpm), rate: Rate::l_h(rate) }
    }

    /// The cube law: shares of full power at shares of full revolutions (dieselmotors.info: 80 % of revolutions take about
    /// half the fuel; n³ and n^2.7 computed apart).
    #[test]
    fn the_cube_law_outside_what_was_measured() {
        let full = [burn(3000.0, 10.0)];
        for (share, cube) in [(0.9, 0.729), (0.8, 0.512), (0.7, 0.343), (0.6, 0.216), (0.5, 0.125)] {
            let found = use_at(&full, Revs::rpm(3000.0 * share)).expect("one measurement");
            near(found.low.in_l_h(), 10.0 * cube, 6e-3);
            assert!(found.beyond && found.high > found.low);
        }
        let at_80 = use_at(&full, Revs::rpm(2400.0)).expect("one measurement");
        near(0.8f64.powf(2.7), 0.547, 6e-4);
        assert!(
            at_80.low.in_l_h() <= 5.47 && 5.47 <= at_80.high.in_l_h(),
            "the usual fit of 2.7 lies inside"
        );
    }

    #[test]
    fn between_measurements_the_line_is_straight() {
        let burns = [burn(2200.0, 3.6), burn(1800.0, 2.0), burn(1800.0, 2.2)];
        let found = use_at(&burns, Revs::rpm(2000.0)).expect("measured");
        near(found.low.in_l_h(), 2.85, 1e-9);
        assert_eq!(found.low, found.high);
        let same = use_at(&burns, Revs::rpm(1800.0)).expect("measured");
        near(same.low.in_l_h(), 2.1, 1e-9);
        assert_eq!(use_at(&[], Revs::rpm(2000.0)), None);
    }

    /// 0.05 US gal an hour a horsepower is 213 g/kWh, which is sound; with imperial gallons 256. A published manual's
    /// 23 hp-h per US gal is 4.53 kWh/L, not the 3.33 printed beside it (its own unit slip).
    #[test]
    fn the_published_rule_of_thumb_and_its_unit_slip() {
        let grams = |gallon: Volume| gallon.in_l() * 0.05 * DIESEL_G_PER_L / Power::hp(1.0).in_kw();
        near(grams(Volume::us_gal(1.0)), 213.0, 0.5);
        near(grams(Volume::imp_gal(1.0)), 256.0, 0.5);
        near(23.0 * Power::hp(1.0).in_kw() / Volume::us_gal(1.0).in_l(), 4.53, 5e-3);
        near(use_of_power(Power::kw(10.0), 213.0).in_l_h(), 2.536, 1e-3);
    }

    #[test]
    fn range_keeps_the_reserve() {
        let inputs = Inputs {
            burn: vec![burn(1800.0, 2.0)],
            rpm: Some(Revs::rpm(1800.0)),
            tank: Some(Volume::l(200.0)),
            reserve: Some(Share::percent(20.0)),
            speed: Some(Speed::kn(5.0)),
            ..Inputs::default()
        };
        let answer = reckon(&inputs).expect("complete");
        near(
            answer.figure("range", "range under engine").and_then(|f| f.value).expect("a range"),
            400.0,
            1e-9,
        );
        let error = reckon(&Inputs { reserve: None, ..inputs }).map(|answer| answer.lacking[0].to_string());
        insta::assert_snapshot!(error.expect("the use stands"), @"range needs --reserve 20% (Share of it kept back)");
    }
}
