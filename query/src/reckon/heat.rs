//! Heat: what the heater burned against the difference in temperature that it held, and what a colder day would need.
//!
//! Formula: a robust line (Theil–Sen) of litres an hour against inside less outside; heat loss = slope × 9.944 kWh/L ×
//! efficiency. With few readings or little spread, the median of litres an hour a kelvin. Units: L/h, K, W/K, Ah.
//! Range: the boat closed up as when it was measured; beyond the largest difference measured it says so.
//! Source: diesel 35.8 MJ/L (42.6 to 43 MJ/kg × 0.84 kg/L) and efficiency 79 to 86 % of common 2 kW air heaters (from
//! memory). Caution: see [`CAUTION`].

use serde::Serialize;

use super::resample::{FEWEST, Interval, recent, resample};
use super::unit::{Area, Charge, Current, Loss, Power, Rate, Share, Temperature, Volume, Warming};
use super::{Figure, Lacking, Missing, ReckonError, Reckoned, Sheet, Sum, sheet::need, within};
use crate::figure;
use crate::trend::stats::median;

/// What `heat` can use; each may be left out.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// A measured hold as DIFFERENCE=RATE, inside less outside; repeat
    #[arg(long, value_name = "14K=0.16L/h")]
    pub held: Vec<Held>,
    /// Temperature wanted inside
    #[arg(long, value_name = "16degC", allow_hyphen_values = true)]
    pub inside: Option<Temperature>,
    /// Coldest air expected
    #[arg(long, value_name = "-8degC", allow_hyphen_values = true)]
    pub coldest: Option<Temperature>,
    /// Most that the heater burns, at full output
    #[arg(long, value_name = "0.28L/h")]
    pub most: Option<Rate>,
    /// Current that the heater draws, as measured; repeat
    #[arg(long, value_name = "1.4A")]
    pub draw: Vec<Current>,
    /// Efficiency of the heater by its maker; without it, 79 to 86 %
    #[arg(long, value_name = "80%")]
    pub efficiency: Option<Share>,
    /// Heat loss a square metre and kelvin, W, to reckon from the cabin instead of from measurements
    #[arg(long, value_name = "3")]
    pub u_value: Option<f64>,
    /// Area of the cabin's outside
    #[arg(long, value_name = "25m2")]
    pub area: Option<Area>,
}

/// A difference in temperature that the heater held, and what it burned for that.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Held {
    /// Inside less outside.
    pub difference: Warming,
    /// Fuel burned.
    pub rate: Rate,
}

impl std::str::FromStr for Held {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let (difference, rate) = text
            .split_once('=')
            .ok_or_else(|| format!("expected DIFFERENCE=RATE as in 14K=0.16L/h, found \"{text}\""))?;
        let difference = difference.parse().map_err(|error| format!("{error}"))?;
        Ok(Self { difference, rate: rate.parse().map_err(|error| format!("{error}"))? })
    }
}

/// The one line of caution of this reckoning.
pub const CAUTION: &str = "a heater needs its exhaust and air checked and carbon monoxide alarms working; its maker's figures \
                           come first, and a heater can stop";

/// Heat in diesel, Wh/L: 35.8 MJ/L (from memory).
pub const DIESEL_WH_PER_L: f64 = 35.8e6 / 3600.0;

/// Efficiency of diesel air heaters, lowest and highest (from memory).
pub const EFFICIENCY: (f64, f64) = (0.79, 0.86);

/// A smaller spread of differences than this says nothing of a slope.
const LEAST_SPREAD: Warming = Warming::k(4.0);

/// What the heater burns for a difference in temperature, from what was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fit {
    /// A line with base, from at least [`FEWEST`] readings over at least 4 K.
    Line {
        /// L/h for each kelvin.
        slope: f64,
        /// L/h at no difference.
        base: f64,
    },
    /// Proportional, from fewer readings or less spread: L/h for each kelvin.
    Ratio(f64),
}

impl Fit {
    /// L/h for a difference; never below 0.
    pub fn at(self, difference: Warming) -> Rate {
        let rate = match self {
            Fit::Line { slope, base } => base + slope * difference.in_k(),
            Fit::Ratio(ratio) => ratio * difference.in_k(),
        };
        Rate::l_h(rate.max(0.0))
    }

    /// L/h for each kelvin more.
    pub fn per_kelvin(self) -> f64 {
        match self {
            Fit::Line { slope, .. } => slope,
            Fit::Ratio(ratio) => ratio,
        }
    }
}

/// Fits what was measured; `None` without a reading of some difference.
///
/// The line is Theil–Sen's with intercept `median(y) − slope·median(x)`; one that falls with the difference is no heater's,
/// and the ratio stands in for it.
pub fn fit(held: &[Held]) -> Option<Fit> {
    let held = recent(held);
    let points: Vec<(f64, f64)> = held
        .iter()
        .filter(|h| h.difference.in_k() > 0.0)
        .map(|h| (h.difference.in_k(), h.rate.in_l_h()))
        .collect();
    let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let spread = x.iter().copied().fold(f64::MIN, f64::max) - x.iter().copied().fold(f64::MAX, f64::min);
    if points.len() >= FEWEST && spread >= LEAST_SPREAD.in_k() {
        let mut slopes = Vec::with_capacity(points.len() * points.len() / 2);
        for (i, a) in points.iter().enumerate() {
            slopes.extend(points[i + 1..].iter().filter(|b| b.0 != a.0).map(|b| (b.1 - a.1) / (b.0 - a.0)));
        }
        let slope = fast_median(&mut slopes)?;
        if slope > 0.0 {
            return Some(Fit::Line { slope, base: median(&y)? - slope * median(&x)? });
        }
    }
    median(&points.iter().map(|(x, y)| y / x).collect::<Vec<_>>()).map(Fit::Ratio)
}

/// The median without sorting the whole; resampling takes it some millions of times.
fn fast_median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    let even = values.len().is_multiple_of(2);
    let (below, &mut high, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    if !even {
        return Some(high);
    }
    let low = below.iter().copied().fold(f64::MIN, f64::max);
    Some(low + (high - low) / 2.0)
}

/// What a difference needs, with its interval by resampling; `None` without readings.
pub fn needed(held: &[Held], difference: Warming) -> Option<(Rate, Option<Interval>)> {
    let held = recent(held);
    let rate = fit(held)?.at(difference);
    Some((rate, resample(held, |drawn| fit(drawn).map(|fit| fit.at(difference).in_l_h()))))
}

/// Heat that the cabin loses for each kelvin, from litres an hour a kelvin and the heater's efficiency.
pub fn heat_loss(litres_per_hour_kelvin: f64, efficiency: Share) -> Loss {
    Loss::w_k(litres_per_hour_kelvin * DIESEL_WH_PER_L * efficiency.in_fraction())
}

/// Diesel a day for a steady heat output.
pub fn diesel_a_day(output: Power, efficiency: Share) -> Volume {
    Volume::l(output.in_w() * 24.0 / (DIESEL_WH_PER_L * efficiency.in_fraction()))
}

/// Works out every sum that the inputs allow.
pub fn reckon(inputs: &Inputs) -> Result<Reckoned, ReckonError> {
    for held in &inputs.held {
        within("difference held", held.difference, 0.5, 70.0)?;
        within("fuel burned", held.rate, 0.01, 5.0)?;
    }
    inputs.inside.map(|value| within("temperature inside", value, -10.0, 35.0)).transpose()?;
    inputs.coldest.map(|value| within("coldest air", value, -60.0, 30.0)).transpose()?;
    inputs.most.map(|value| within("most that the heater burns", value, 0.02, 5.0)).transpose()?;
    inputs.efficiency.map(|value| within("efficiency", value, 30.0, 100.0)).transpose()?;
    inputs.area.map(|value| within("area of the cabin", value, 1.0, 500.0)).transpose()?;
    if let Some(found) = inputs.u_value.filter(|u| !(0.1..=20.0).contains(u)) {
        let (what, unit) = ("heat loss".into(), "W/m²K");
        return Err(ReckonError::OutOfRange { what, low: 0.1, high: 20.0, unit, found });
    }
    for draw in &inputs.draw {
        within("heater's draw", *draw, 0.05, 50.0)?;
    }
    let mut sheet = Sheet::new("heat", Some(CAUTION));
    sheet.add(measured_sum(inputs))?;
    sheet.add(needed_sum(inputs))?;
    sheet.add(cabin_sum(inputs))?;
    sheet.finish()
}

fn held_from(inputs: &Inputs) -> String {
    figure::count(inputs.held.len(), "measured hold", "measured holds")
}

fn lacking(sum: &'static str, ids: &[&str], given: usize) -> ReckonError {
    let inputs = ids.iter().map(|id| Missing::of::<Inputs>(id)).collect();
    ReckonError::Lacking(Lacking { sum, inputs, why: None, given })
}

fn measured_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    const NAME: &str = "heat loss as measured";
    let Some(fit) = fit(&inputs.held) else { return Err(lacking(NAME, &["held"], 0)) };
    let (low, high) = match inputs.efficiency {
        Some(share) => (share, share),
        None => (Share::fraction(EFFICIENCY.0), Share::fraction(EFFICIENCY.1)),
    };
    let (a, b) = (heat_loss(fit.per_kelvin(), low), heat_loss(fit.per_kelvin(), high));
    let loss = if a == b {
        Figure::of("heat loss of the cabin", a, 0)
    } else {
        Figure::range("heat loss of the cabin", a, b, 0)
    };
    let remarks = match fit {
        Fit::Line { .. } => Vec::new(),
        Fit::Ratio(_) => vec![format!(
            "fewer than {FEWEST} readings over {LEAST_SPREAD}: taken as proportional to the difference"
        )],
    };
    Ok(Sum {
        name: NAME,
        figures: vec![Figure::number("fuel for each kelvin", fit.per_kelvin(), "L/h", 4), loss],
        from: vec![held_from(inputs)],
        formula: "slope of L/h against inside less outside (Theil–Sen; intercept median y − slope·median x) × 9.944 kWh/L × \
                  efficiency",
        source: "heat in diesel and efficiency 79 to 86% from memory",
        range: "the boat closed up, in the wind that it was measured in",
        remarks,
    })
}

fn needed_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    const NAME: &str = "heat needed";
    if inputs.held.is_empty() {
        let given = usize::from(inputs.inside.is_some() && inputs.u_value.is_none());
        let missing =
            [("inside", inputs.inside.is_none()), ("coldest", inputs.coldest.is_none()), ("held", true)];
        let ids: Vec<&str> = missing.iter().filter(|m| m.1).map(|m| m.0).collect();
        return Err(lacking(NAME, &ids, given));
    }
    need!(Inputs, inputs, NAME, from; inside, coldest);
    let difference = inside.above(coldest);
    within("inside less coldest air", difference, 0.5, 80.0)?;
    let Some((rate, interval)) = needed(&inputs.held, difference) else {
        return Err(lacking(NAME, &["held"], 2));
    };
    let mut from = from;
    from.push(held_from(inputs));
    let mut remarks = Vec::new();
    let spread = |figure: Figure, times: f64| match interval {
        Some(interval) => figure.spread(interval.low * times, interval.high * times),
        None => figure,
    };
    match interval {
        Some(found) => remarks.push(format!(
            "interval: nine times in ten, {} draws of the readings, seed {}",
            found.rounds, found.seed
        )),
        None => remarks.push(format!("fewer than {FEWEST} readings: no interval can be told")),
    }
    let widest = inputs.held.iter().map(|held| held.difference.in_k()).fold(0.0, f64::max);
    if difference.in_k() > widest {
        remarks.push(format!("beyond the largest difference measured, {widest:.1} K"));
    }
    let mut figures = vec![
        Figure::of("difference", difference, 0),
        spread(Figure::of("fuel", rate, 2), 1.0),
        spread(Figure::number("diesel a day", rate.in_l_day(), "L", 1), 24.0),
    ];
    if let Some(most) = inputs.most {
        from.push(format!("most {most}"));
        let (low, high) = interval.map_or((rate.in_l_h(), rate.in_l_h()), |i| (i.low, i.high));
        let words = match most.in_l_h() {
            most if high <= most => "yes, as far as the readings tell",
            most if low > most => "no: it would need more than the heater burns at full output",
            _ => "perhaps: its full output lies within the interval",
        };
        figures.push(Figure::words("can the heater hold it", words));
    }
    let draws: Vec<f64> = inputs.draw.iter().map(|draw| draw.in_a()).collect();
    if let Some(draw) = median(&draws) {
        let charge = Charge::ah(draw * 24.0);
        let shown = Figure::of("charge a day", charge, 0);
        let least = draws.iter().copied().fold(f64::MAX, f64::min) * 24.0;
        let most = draws.iter().copied().fold(0.0, f64::max) * 24.0;
        figures.push(if least < most { shown.spread(least, most) } else { shown });
        from.push(figure::count(draws.len(), "draw measured", "draws measured"));
    }
    Ok(Sum {
        name: NAME,
        figures,
        from,
        formula: "the fitted line at inside less coldest air, all day long; charge = median draw × 24 h",
        source: "the boat's own readings",
        range: "a heater running day and night at that difference; wind and open hatches take more",
        remarks,
    })
}

fn cabin_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    const NAME: &str = "heat loss by area";
    if inputs.u_value.is_none() && inputs.area.is_none() {
        return Err(lacking(NAME, &["u_value", "area", "inside", "coldest"], 0));
    }
    need!(Inputs, inputs, NAME, from; u_value, area, inside, coldest);
    let difference = inside.above(coldest);
    let output = Power::w(u_value * area.in_m2() * difference.in_k().max(0.0));
    let (low, high) = match inputs.efficiency {
        Some(share) => (share, share),
        None => (Share::fraction(EFFICIENCY.0), Share::fraction(EFFICIENCY.1)),
    };
    let (a, b) = (diesel_a_day(output, high), diesel_a_day(output, low));
    let diesel =
        if a == b { Figure::of("diesel a day", a, 1) } else { Figure::range("diesel a day", a, b, 1) };
    Ok(Sum {
        name: NAME,
        figures: vec![Figure::of("heat", output, 0), diesel],
        from,
        formula: "P = U·A·ΔT; diesel = P × 24 h / (9.944 kWh/L × efficiency)",
        source: "definition; U about 5 to 6 W/m²K for bare laminate, 2 to 3 lined (from memory)",
        range: "order of magnitude; measure what the heater burns instead",
        remarks: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    /// U, A, ΔT → W, L a day at 80 %; computed apart with 9.944 kWh/L.
    #[test]
    fn heat_loss_and_diesel_a_day() {
        let rows = [
            (3.0, 25.0, 20.0, 1500.0, 4.53),
            (5.0, 30.0, 25.0, 3750.0, 11.3),
            (2.0, 25.0, 15.0, 750.0, 2.26),
            (6.0, 20.0, 10.0, 1200.0, 3.62),
        ];
        near(DIESEL_WH_PER_L, 9944.0, 0.5);
        for (u, area, difference, watts, litres) in rows {
            let inputs = Inputs {
                u_value: Some(u),
                area: Some(Area::m2(area)),
                inside: Some(Temperature::deg_c(difference)),
                coldest: Some(Temperature::deg_c(0.0)),
                efficiency: Some(Share::percent(80.0)),
                ..Inputs::default()
            };
            let answer = reckon(&inputs).expect("complete");
            near(
                answer.figure("heat loss by area", "heat").and_then(|f| f.value).expect("heat"),
                watts,
                1e-9,
            );
            near(
                answer.figure("heat loss by area", "diesel a day").and_then(|f| f.value).expect("diesel"),
                litres,
                0.02,
            );
        }
    }

    /// A common 2 kW diesel air heater (from memory): 0.85/1.2/1.8/2.2 kW at 0.10/0.15/0.23/0.28 L/h, 79 to 86 %.
    #[test]
    fn efficiency_is_that_of_common_heaters() {
        for (kw, rate) in [(0.85, 0.10), (1.2, 0.15), (1.8, 0.23), (2.2, 0.28)] {
            let share = kw * 1000.0 / (rate * DIESEL_WH_PER_L);
            assert!((EFFICIENCY.0 - 0.005..=EFFICIENCY.1 + 0.005).contains(&share), "{share}");
        }
        near(2.2 / 0.28, 7.86, 5e-3);
    }

    fn held() -> Vec<Held> {
        [(6.0, 0.08), (9.0, 0.115), (12.0, 0.15), (14.0, 0.17), (10.0, 0.125), (16.0, 0.20), (11.0, 0.60)]
            .map(|(k, l_h)| Held { difference: Warming::k(k), rate: Rate::l_h(l_h) })
            .to_vec()
    }

    #[test]
    fn one_wild_reading_does_not_move_the_line() {
        let with = fit(&held()).expect("seven readings").at(Warming::k(24.0)).in_l_h();
        let without = fit(&held()[..6]).expect("six readings").at(Warming::k(24.0)).in_l_h();
        near(without, 0.29, 0.01);
        near(with, without, 0.03);
    }

    #[test]
    fn the_line_is_theil_sens() {
        let points: Vec<(f64, f64)> = held().iter().map(|h| (h.difference.in_k(), h.rate.in_l_h())).collect();
        let expected = crate::trend::stats::theil_sen(&points, 0.9).expect("a line");
        assert_eq!(fit(&held()), Some(Fit::Line { slope: expected.slope, base: expected.intercept }));
    }

    #[test]
    fn whether_the_heater_holds_it_is_said_with_its_doubt() {
        let answer = |coldest, most| {
            let inputs = Inputs {
                held: held()[..6].to_vec(),
                inside: Some(Temperature::deg_c(16.0)),
                coldest: Some(Temperature::deg_c(coldest)),
                most: Some(Rate::l_h(most)),
                draw: vec![Current::a(1.2), Current::a(1.6), Current::a(1.4)],
                ..Inputs::default()
            };
            reckon(&inputs).expect("complete")
        };
        let words = |coldest, most| {
            answer(coldest, most).figure("heat needed", "can the heater hold it").expect("named").text()
        };
        assert!(words(0.0, 0.28).starts_with("yes"));
        assert!(words(-20.0, 0.28).starts_with("no"));
        let sum = answer(-8.0, 0.28);
        let fuel = sum.figure("heat needed", "fuel").expect("named");
        assert!(fuel.low <= fuel.value && fuel.value <= fuel.high && fuel.low < fuel.high, "{fuel:?}");
        assert!(sum.sums[1].remarks.iter().any(|r| r.contains("seed 20260101")), "{:?}", sum.sums[1].remarks);
        assert!(sum.sums[1].remarks.iter().any(|r| r == "beyond the largest difference measured, 16.0 K"));
        near(sum.figure("heat needed", "charge a day").and_then(|f| f.value).expect("a charge"), 33.6, 1e-9);
    }

    #[test]
    fn few_readings_are_taken_as_proportional_and_without_interval() {
        let few = &held()[..2];
        assert!(matches!(fit(few), Some(Fit::Ratio(_))));
        assert_eq!(needed(few, Warming::k(20.0)).map(|n| n.1), Some(None));
        assert_eq!(fit(&[]), None);
        let error = reckon(&Inputs { inside: Some(Temperature::deg_c(16.0)), ..Inputs::default() })
            .expect_err("no readings");
        assert!(error.to_string().contains("--held 14K=0.16L/h"), "{error}");
    }
}
