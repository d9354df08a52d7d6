//! Cold: wind chill, frostbite and cold-water guidance as published, dew and frost point, condensation.
//!
//! Formula: wind chill W = 13.12 + 0.6215·T − 11.37·V^0.16 + 0.3965·T·V^0.16 (T in °C, V in km/h at 10 m); dew point
//! by Magnus, es = A·exp(a·T/(b + T)). Range: wind chill for T up to 10 °C and V over 4.8 km/h; Magnus −40 to 50 °C.
//! Source: wind chill as published in 2001 by the US National Weather Service and Environment Canada (read in course
//! notes of a university's meteorology department and in MetPy 1.7.1's tests); Magnus constants of Alduchov and
//! Eskridge, J. Appl. Meteor. 35 (1996) 601 (from memory). Caution: guidance, never a countdown; people differ.

use super::unit::{Share, Speed, Temperature};
use super::{Figure, ReckonError, Reckoned, Sheet, Sum, sheet::need, within};

/// What `cold` can use; each may be left out.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// Air temperature
    #[arg(long, value_name = "4degC", allow_hyphen_values = true)]
    pub air: Option<Temperature>,
    /// Wind speed at 10 m
    #[arg(long, value_name = "25kn")]
    pub wind: Option<Speed>,
    /// Relative humidity
    #[arg(long, value_name = "80%")]
    pub humidity: Option<Share>,
    /// Temperature of the coldest surface that the air touches
    #[arg(long, value_name = "6degC", allow_hyphen_values = true)]
    pub surface: Option<Temperature>,
    /// Sea temperature
    #[arg(long, value_name = "7degC", allow_hyphen_values = true)]
    pub sea: Option<Temperature>,
}

/// The one line of caution of this reckoning.
pub const CAUTION: &str = "guidance as published, for healthy adults at rest and dry; people differ, wet clothing \
                           changes everything, and nobody's time is worked out here";

const CHILL: &str = "wind chill";
const CHILL_VALID: &str = "published for air of 10 °C and colder and wind over 4.8 km/h (2.6 kn)";

/// Wind chill: the temperature at which skin in still air would lose heat as fast.
///
/// Errors: [`ReckonError::OutsideValidity`] above 10 °C or at 4.8 km/h and less, where the formula was not published.
pub fn wind_chill(air: Temperature, wind: Speed) -> Result<Temperature, ReckonError> {
    let (t, v) = (air.in_deg_c(), wind.in_km_h());
    if t > 10.0 || v <= 4.8 {
        let found = format!("{air} and {wind}");
        return Err(ReckonError::OutsideValidity { sum: CHILL, valid: CHILL_VALID, found });
    }
    let v = v.powf(0.16);
    Ok(Temperature::deg_c(13.12 + 0.6215 * t - 11.37 * v + 0.3965 * t * v))
}

/// Constants of a Magnus formula: es = `at_zero`·exp(`a`·T/(`b` + T)) in hPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Magnus {
    /// Saturation pressure at 0 °C, hPa.
    pub at_zero: f64,
    /// Dimensionless.
    pub a: f64,
    /// °C.
    pub b: f64,
}

/// Alduchov and Eskridge 1996, over water, −40 to 50 °C to 0.4 % (from memory); the set that is used here.
pub const OVER_WATER: Magnus = Magnus { at_zero: 6.1094, a: 17.625, b: 243.04 };
/// WMO-No. 8, annex 4.B, over ice, −65 to 0.01 °C (from memory).
pub const OVER_ICE: Magnus = Magnus { at_zero: 6.112, a: 22.46, b: 272.62 };

impl Magnus {
    /// Saturation pressure of water vapour, hPa.
    pub fn saturation_hpa(self, air: Temperature) -> f64 {
        self.at_zero * (self.a * air.in_deg_c() / (self.b + air.in_deg_c())).exp()
    }

    /// The temperature at which this vapour pressure (hPa) saturates.
    pub fn point(self, vapour_hpa: f64) -> Temperature {
        let gamma = (vapour_hpa / self.at_zero).ln();
        Temperature::deg_c(self.b * gamma / (self.a - gamma))
    }
}

/// Dew point, over water, also below 0 °C.
pub fn dew_point(air: Temperature, humidity: Share) -> Temperature {
    OVER_WATER.point(OVER_WATER.saturation_hpa(air) * humidity.in_fraction())
}

/// Frost point: where rime begins, over ice; only where it lies below 0 °C.
///
/// The humidity is that over water, as instruments give it.
pub fn frost_point(air: Temperature, humidity: Share) -> Option<Temperature> {
    let point = OVER_ICE.point(OVER_WATER.saturation_hpa(air) * humidity.in_fraction());
    (point.in_deg_c() < 0.0).then_some(point)
}

/// Relative humidity over water from air temperature and dew point.
pub fn humidity(air: Temperature, dew: Temperature) -> Share {
    Share::fraction(OVER_WATER.saturation_hpa(dew) / OVER_WATER.saturation_hpa(air))
}

/// What is published of frostbite at a wind chill; `None` above −18 °F, of which the anchors say nothing.
pub fn frostbite_guidance(chill: Temperature) -> Option<&'static str> {
    match chill.in_deg_c() {
        c if c <= -60.0 => Some("bare skin may freeze in under 2 minutes"),
        c if c <= -35.0 => Some("bare skin may freeze within about 10 minutes"),
        c if c <= Temperature::deg_f(-18.0).in_deg_c() => Some("bare skin may freeze within 30 minutes"),
        c if c <= -25.0 => Some("risk of frostbite"),
        _ => None,
    }
}

/// Cold-water guidance as published: the 1-10-1 of Giesbrecht.
pub const COLD_WATER: &str = "about 1 minute to get breathing under control (cold shock, 1 to 5 minutes), about 10 \
                              minutes of useful movement (5 to 15), about 1 hour until cold takes consciousness (30 \
                              minutes or more); so published for water below about 15 °C, and times vary";

/// Works out every sum that the inputs allow.
pub fn reckon(inputs: &Inputs) -> Result<Reckoned, ReckonError> {
    inputs.air.map(|value| within("air temperature", value, -60.0, 60.0)).transpose()?;
    inputs.surface.map(|value| within("surface temperature", value, -60.0, 80.0)).transpose()?;
    inputs.sea.map(|value| within("sea temperature", value, -2.5, 40.0)).transpose()?;
    inputs.wind.map(|value| within("wind speed", value, 0.0, 250.0)).transpose()?;
    inputs.humidity.map(|value| within("relative humidity", value, 1.0, 100.0)).transpose()?;
    let mut sheet = Sheet::new("cold", Some(CAUTION));
    sheet.add(chill_sum(inputs))?;
    sheet.add(dew_sum(inputs))?;
    sheet.add(water_sum(inputs))?;
    sheet.finish()
}

fn chill_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, CHILL, from; air, wind);
    let chill = wind_chill(air, wind)?;
    let frostbite = frostbite_guidance(chill)
        .unwrap_or("the published anchors begin at a wind chill of −25 °C; below freezing, watch bare skin");
    Ok(Sum {
        name: CHILL,
        figures: vec![Figure::of("feels like", chill, 0), Figure::words("frostbite", frostbite)],
        from,
        formula: "W = 13.12 + 0.6215·T − 11.37·V^0.16 + 0.3965·T·V^0.16, T in °C, V in km/h",
        source: "US National Weather Service and Environment Canada, 2001; frostbite times from stored copies of their \
                 charts: 30 minutes at −18 °F, about 10 at −35 °C, under 2 at −60 °C, a risk from −25 °C",
        range: "air of 10 °C and colder, wind at 10 m over 4.8 km/h; bare, dry skin, walking pace, no sun",
        remarks: Vec::new(),
    })
}

fn dew_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "dew point", from; air, humidity);
    within("air temperature for the dew point", air, -40.0, 50.0)?;
    let mut from = from;
    let dew = dew_point(air, humidity);
    let mut figures = vec![Figure::of("dew point", dew, 1)];
    let frost = frost_point(air, humidity);
    figures.extend(frost.map(|frost| Figure::of("frost point", frost, 1)));
    if let Some(surface) = inputs.surface {
        from.push(format!("surface {surface}"));
        let wet = if surface < dew {
            "yes: the surface is colder than the dew point"
        } else if frost.is_some_and(|frost| surface < frost) {
            "rime: the surface is colder than the frost point"
        } else {
            "no: the surface is not colder than the dew point"
        };
        figures.push(Figure::words("condensation on it", wet));
        if humidity.in_percent() > 0.0 {
            let limit = self::humidity(air, surface).in_percent().min(100.0);
            figures.push(Figure::number("humidity at which it starts", limit, "%", 0));
        }
    }
    Ok(Sum {
        name: "dew point",
        figures,
        from,
        formula: "Td = b·γ/(a − γ), γ = ln RH + a·T/(b + T); over water a 17.625, b 243.04 °C; frost point over ice with \
                  a 22.46, b 272.62 °C",
        source: "Magnus; constants of Alduchov and Eskridge 1996 over water and WMO-No. 8 over ice (from memory)",
        range: "−40 to 50 °C; humidity is over water, as instruments give it; a hygrometer's 5 % is about 1 °C",
        remarks: Vec::new(),
    })
}

fn water_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "cold water", from; sea);
    let text = if sea.in_deg_c() < 15.0 {
        COLD_WATER
    } else {
        "the published guidance (1-10-1) is for water below about 15 °C; warmer water still takes heat"
    };
    Ok(Sum {
        name: "cold water",
        figures: vec![Figure::words("guidance", text)],
        from,
        formula: "none: text as published, the same for every temperature below 15 °C, never a countdown",
        source: "G. Giesbrecht, University of Manitoba, Cold Water Boot Camp (1-10-1)",
        range: "water below about 15 °C, calm, with a lifejacket; waves, age and clothing change it",
        remarks: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    fn chill(t: f64, v_km_h: f64) -> f64 {
        wind_chill(Temperature::deg_c(t), Speed::km_h(v_km_h)).expect("within the published range").in_deg_c()
    }

    /// Environment Canada's chart (two stored copies), whole °C, with the formula's value to a tenth. At exact halves the
    /// copies differ by 1, so a chart figure within 0.5 + 0.05 agrees.
    #[test]
    fn wind_chill_chart() {
        let rows = [
            (5.0, [(-1.6, -2), (-12.9, -13), (-24.3, -24), (-35.6, -36), (-47.0, -47)]),
            (10.0, [(-3.3, -3), (-15.3, -15), (-27.2, -27), (-39.2, -39), (-51.1, -51)]),
            (20.0, [(-5.2, -5), (-17.9, -18), (-30.5, -30), (-43.1, -43), (-55.7, -56)]),
            (30.0, [(-6.5, -6), (-19.5, -20), (-32.6, -33), (-45.6, -46), (-58.7, -59)]),
            (50.0, [(-8.1, -8), (-21.8, -22), (-35.4, -35), (-49.0, -49), (-62.7, -63)]),
            (80.0, [(-9.8, -10), (-24.0, -24), (-38.2, -38), (-52.4, -52), (-66.6, -67)]),
        ];
        for (v, row) in rows {
            for (t, (exact, chart)) in [0.0, -10.0, -20.0, -30.0, -40.0].into_iter().zip(row) {
                near(chill(t, v), exact, 0.06);
                near(chill(t, v), f64::from(chart), 0.55);
            }
        }
    }

    /// MetPy 1.7.1's tests, and calcunation.com's −0.08 for the last.
    #[test]
    fn wind_chill_agrees_with_an_independent_library() {
        let of = |t, v| wind_chill(t, v).expect("within range");
        near(of(Temperature::deg_c(-5.0), Speed::m_s(35.0)).in_deg_c(), -18.9357, 1e-3);
        let rows = [(40.0, 5.0, 36.0), (-10.0, 55.0, -46.0), (-45.0, 25.0, -84.0), (20.0, 15.0, 6.0)];
        for (f, mph, expected) in rows {
            // Whole °F there; the °C form of the formula differs from the °F form by less than 0.1.
            near(of(Temperature::deg_f(f), Speed::mph(mph)).in_deg_f(), expected, 0.6);
        }
        near(of(Temperature::deg_f(10.0), Speed::mph(4.0)).in_deg_f(), 2.623_078_9, 0.05);
        near(of(Temperature::deg_c(2.0), Speed::km_h(7.0)).in_deg_c(), -0.0774, 1e-3);
        near(chill(2.0, 7.0), -0.08, 5e-3);
    }

    /// MetPy masks what lies outside the published validity; so do we.
    #[test]
    fn wind_chill_is_refused_outside_its_validity() {
        for (t, v) in [(10.1, 30.0), (0.0, 4.8), (0.0, 0.0), (25.0, 60.0)] {
            let outcome = wind_chill(Temperature::deg_c(t), Speed::km_h(v));
            assert!(matches!(outcome, Err(ReckonError::OutsideValidity { .. })), "{t} °C, {v} km/h");
        }
        assert!(wind_chill(Temperature::deg_c(10.0), Speed::km_h(4.9)).is_ok());
        let inputs = Inputs {
            air: Some(Temperature::deg_c(12.0)),
            wind: Some(Speed::kn(20.0)),
            humidity: Some(Share::percent(80.0)),
            ..Inputs::default()
        };
        let answer = reckon(&inputs).expect("the dew point stands");
        assert!(answer.figure("wind chill", "feels like").is_none());
        insta::assert_snapshot!(answer.lacking[0], @"wind chill: published for air of 10 °C and colder and wind over 4.8 km/h (2.6 kn); found 12 °C and 20 kn");
    }

    /// Anchors: NWS 2001 (−18 °F, 30 minutes), and a copy of Environment Canada's text (−35 °C, −60 °C, −25 °C).
    #[test]
    fn frostbite_guidance_at_its_anchors() {
        assert_eq!(frostbite_guidance(Temperature::deg_c(-24.9)), None);
        assert!(frostbite_guidance(Temperature::deg_c(-25.0)).is_some_and(|t| t.contains("risk")));
        assert!(frostbite_guidance(Temperature::deg_f(-18.0)).is_some_and(|t| t.contains("30 minutes")));
        assert!(frostbite_guidance(Temperature::deg_c(-35.0)).is_some_and(|t| t.contains("10 minutes")));
        assert!(frostbite_guidance(Temperature::deg_c(-60.0)).is_some_and(|t| t.contains("under 2")));
    }

    /// Dew points, °C: Bolton 1980, Alduchov and Eskridge, WMO/Sonntag (all from memory, computed apart), MetPy 1.7.1,
    /// PsychroLib 2.5.0; to 0.05 above 0 °C.
    #[test]
    fn dew_points_of_five_sources() {
        let rows = [
            (20.0, 50.0, [9.27, 9.26, 9.26, 9.26, 9.27]),
            (25.0, 60.0, [16.71, 16.70, 16.69, 16.68, 16.70]),
            (10.0, 80.0, [6.71, 6.71, 6.71, 6.70, 6.71]),
            (5.0, 90.0, [3.50, 3.50, 3.50, 3.49, 3.50]),
            (30.0, 40.0, [14.95, 14.93, 14.93, 14.91, 14.94]),
            (0.0, 85.0, [-2.22, -2.22, -2.22, -2.23, -2.22]),
            (-10.0, 70.0, [-14.43, -14.44, -14.44, -14.45, -14.44]),
        ];
        for (t, rh, sources) in rows {
            let dew = dew_point(Temperature::deg_c(t), Share::percent(rh)).in_deg_c();
            for source in sources {
                near(dew, source, 0.05);
            }
        }
    }

    /// PsychroLib 2.5.0 gives the frost point below 0 °C; so does the ice set.
    #[test]
    fn below_freezing_the_frost_point_is_another_figure() {
        let frost =
            |t, rh| frost_point(Temperature::deg_c(t), Share::percent(rh)).expect("below 0 °C").in_deg_c();
        near(frost(0.0, 85.0), -1.96, 0.05);
        // PsychroLib and ASHRAE take humidity over ice below 0 °C, which gives −13.96 at −10 °C and 70 %.
        let over_ice = OVER_ICE.saturation_hpa(Temperature::deg_c(-10.0)) * 0.7;
        near(OVER_ICE.point(over_ice).in_deg_c(), -13.96, 0.05);
        // Instruments give it over water (WMO-No. 8, from memory), so the same reading means more vapour.
        assert!(frost(-10.0, 70.0) > -13.0);
        assert_eq!(frost_point(Temperature::deg_c(20.0), Share::percent(50.0)), None);
    }

    /// Inverse rows computed with MetPy; the last three are NDBC buoy rows (air and dew point as reported).
    #[test]
    fn humidity_from_dew_point() {
        let rows = [
            (20.0, 9.3, 50.1),
            (10.0, 5.0, 71.1),
            (15.0, 3.0, 44.5),
            (5.0, 5.0, 100.0),
            (9.5, -0.3, 50.4),
            (7.0, -2.8, 49.7),
            (5.7, -4.9, 46.4),
        ];
        for (t, td, rh) in rows {
            near(humidity(Temperature::deg_c(t), Temperature::deg_c(td)).in_percent(), rh, 0.1);
        }
    }

    /// Saturation pressures, hPa, the spread of the four sets above.
    #[test]
    fn saturation_pressures() {
        for (t, low, high) in
            [(0.0, 6.10, 6.12), (10.0, 12.26, 12.28), (20.0, 23.33, 23.39), (30.0, 42.34, 42.46)]
        {
            let es = OVER_WATER.saturation_hpa(Temperature::deg_c(t));
            assert!((low - 0.005..=high + 0.005).contains(&es), "{t} °C: {es} hPa");
        }
        near(OVER_WATER.saturation_hpa(Temperature::deg_c(-10.0)), 2.87, 0.01);
        near(OVER_ICE.saturation_hpa(Temperature::deg_c(-10.0)), 2.60, 0.01);
    }

    #[test]
    fn cold_water_guidance_is_never_a_countdown() {
        let text = |sea| {
            let answer =
                reckon(&Inputs { sea: Some(Temperature::deg_c(sea)), ..Inputs::default() }).expect("text");
            let sum = answer.sums[0].clone();
            assert!(sum.figures.iter().all(|f| f.value.is_none() && f.low.is_none() && f.high.is_none()));
            sum.figures[0].text()
        };
        // The same words at 0.5 °C and at 14 °C: nothing is computed from the temperature.
        assert_eq!(text(0.5), text(14.0));
        assert!(text(0.5).contains("about 1 hour") && text(0.5).contains("below about 15 °C"));
        assert_ne!(text(20.0), text(14.0));
        assert!(reckon(&Inputs { sea: Some(Temperature::deg_c(-9.0)), ..Inputs::default() }).is_err());
    }

    #[test]
    fn condensation_starts_below_the_dew_point() {
        let at = |surface| {
            let inputs = Inputs {
                air: Some(Temperature::deg_c(18.0)),
                humidity: Some(Share::percent(70.0)),
                surface: Some(Temperature::deg_c(surface)),
                ..Inputs::default()
            };
            reckon(&inputs)
                .expect("complete")
                .figure("dew point", "condensation on it")
                .expect("named")
                .text()
        };
        assert!(at(8.0).starts_with("yes"));
        assert!(at(14.0).starts_with("no"));
    }
}
