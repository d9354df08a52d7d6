//! Wind: true from apparent and back, Beaufort, gust factor, wind over the ground.
//!
//! Formula: vectors in the boat's frame, written as where the wind comes from; the boat's own motion through the water
//! adds to the apparent wind from ahead. Units: knots and degrees off the bow, starboard positive.
//! Range: wind 0 to 250 kn, boat 0 to 60 kn, leeway 0 to 45°. Source: the geometry; Beaufort's bounds are WMO-No. 306,
//! code table 1100 (from memory; forces 8 to 12 read in the UK Met Office's marine glossary).
//! Caution: none of its own; the sky decides, not the sum.

use super::unit::{Angle, Speed};
use super::{Figure, ReckonError, Reckoned, Sheet, Sum, sheet::need, within};

/// What `wind` can use; each may be left out.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// Apparent wind speed
    #[arg(long, value_name = "20kn")]
    pub aws: Option<Speed>,
    /// Apparent wind angle off the bow; port is negative or over 180
    #[arg(long, value_name = "30deg", allow_hyphen_values = true)]
    pub awa: Option<Angle>,
    /// Boat speed through the water
    #[arg(long, value_name = "6kn")]
    pub stw: Option<Speed>,
    /// Leeway, away from the wind
    #[arg(long, value_name = "5deg")]
    pub leeway: Option<Angle>,
    /// True wind speed
    #[arg(long, value_name = "15kn")]
    pub tws: Option<Speed>,
    /// True wind angle off the bow; without it, the usual points of sailing are shown
    #[arg(long, value_name = "45deg", allow_hyphen_values = true)]
    pub twa: Option<Angle>,
    /// True heading, for directions and for the wind over the ground
    #[arg(long, value_name = "240deg")]
    pub heading: Option<Angle>,
    /// Direction that the stream sets towards
    #[arg(long, value_name = "90deg")]
    pub set: Option<Angle>,
    /// Speed of the stream
    #[arg(long, value_name = "1.5kn")]
    pub drift: Option<Speed>,
    /// Mean wind speed, for Beaufort and the gust factor
    #[arg(long, value_name = "22kn")]
    pub mean: Option<Speed>,
    /// Strongest gust
    #[arg(long, value_name = "31kn")]
    pub gust: Option<Speed>,
    /// Beaufort force, for its bounds in knots
    #[arg(long, value_name = "6")]
    pub force: Option<u8>,
}

/// A wind: how fast, and from where off the bow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wind {
    /// Its speed.
    pub speed: Speed,
    /// From where off the bow, -180° to 180°, starboard positive; `None` in a calm.
    pub angle: Option<Angle>,
}

/// Below this a wind has no direction: rounding, not air.
const CALM: Speed = Speed::kn(1e-6);

fn from_components(ahead: f64, starboard: f64) -> Wind {
    let speed = Speed::kn(ahead.hypot(starboard));
    let angle = (speed > CALM).then(|| Angle::rad(starboard.atan2(ahead)));
    Wind { speed, angle }
}

/// The boat's way through the water as wind from ahead and from starboard, in knots; she slips away from the wind.
fn own_wind(stw: Speed, leeway: Angle, wind_from: Angle) -> (f64, f64) {
    let side = if wind_from.in_rad().sin() < 0.0 { 1.0 } else { -1.0 };
    (stw.in_kn() * leeway.in_rad().cos(), side * stw.in_kn() * leeway.in_rad().sin())
}

/// True wind through the water from the apparent wind, the boat's speed and her leeway.
pub fn true_wind(aws: Speed, awa: Angle, stw: Speed, leeway: Angle) -> Wind {
    let (ahead, starboard) = own_wind(stw, leeway, awa);
    from_components(aws.in_kn() * awa.in_rad().cos() - ahead, aws.in_kn() * awa.in_rad().sin() - starboard)
}

/// Apparent wind from the true wind through the water, the boat's speed and her leeway.
pub fn apparent_wind(tws: Speed, twa: Angle, stw: Speed, leeway: Angle) -> Wind {
    let (ahead, starboard) = own_wind(stw, leeway, twa);
    from_components(tws.in_kn() * twa.in_rad().cos() + ahead, tws.in_kn() * twa.in_rad().sin() + starboard)
}

/// Wind over the ground from the wind through the water and the stream, as speed and the direction it comes from.
pub fn ground_wind(tws: Speed, from: Angle, set: Angle, drift: Speed) -> (Speed, Option<Angle>) {
    let north = tws.in_kn() * from.in_rad().cos() - drift.in_kn() * set.in_rad().cos();
    let east = tws.in_kn() * from.in_rad().sin() - drift.in_kn() * set.in_rad().sin();
    let wind = from_components(north, east);
    (wind.speed, wind.angle.map(compass))
}

/// An angle as a bearing, 0° to 360°.
pub fn compass(angle: Angle) -> Angle {
    Angle::deg(angle.in_deg().rem_euclid(360.0))
}

/// Lower bounds of forces 0 to 12 in whole knots of mean wind at 10 m.
pub const BEAUFORT_KN: [f64; 13] = [0.0, 1.0, 4.0, 7.0, 11.0, 17.0, 22.0, 28.0, 34.0, 41.0, 48.0, 56.0, 64.0];

/// Lower bounds of forces 0 to 12 in m/s; the two tables do not nest exactly.
pub const BEAUFORT_M_S: [f64; 13] = [0.0, 0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7];

const FORCE_NAMES: [&str; 13] = [
    "calm",
    "light air",
    "light breeze",
    "gentle breeze",
    "moderate breeze",
    "fresh breeze",
    "strong breeze",
    "near gale",
    "gale",
    "strong gale",
    "storm",
    "violent storm",
    "hurricane force",
];

fn force_in(table: &[f64; 13], value: f64) -> usize {
    table.iter().rposition(|&bound| value >= bound).unwrap_or(0)
}

/// Beaufort force of a mean wind by the table in knots, to the nearest whole knot; the one that this program uses.
pub fn beaufort(mean: Speed) -> usize {
    force_in(&BEAUFORT_KN, mean.in_kn().round())
}

/// The strongest wind of a Beaufort force, to the whole knot; of force 12, which has no upper end, the least. Errors: what
/// was expected.
pub fn strongest_of(force: usize) -> Result<Speed, String> {
    let above = BEAUFORT_KN.get(force + 1).map(|kn| kn - 1.0);
    above
        .or_else(|| BEAUFORT_KN.get(force).copied())
        .map(Speed::kn)
        .ok_or_else(|| format!("expected a Beaufort force from 0 to 12, found {force}"))
}

/// Beaufort force by the table in m/s.
pub fn beaufort_m_s(mean: Speed) -> usize {
    force_in(&BEAUFORT_M_S, mean.in_m_s())
}

/// The wind at a Beaufort number by v = 0.836·B^1.5 m/s; bounds lie at the half numbers.
pub fn beaufort_speed(number: f64) -> Speed {
    Speed::m_s(0.836 * number.powf(1.5))
}

/// Works out every sum that the inputs allow.
pub fn reckon(inputs: &Inputs) -> Result<Reckoned, ReckonError> {
    let speeds = [
        ("apparent wind speed", inputs.aws, 250.0),
        ("true wind speed", inputs.tws, 250.0),
        ("mean wind speed", inputs.mean, 250.0),
        ("gust", inputs.gust, 250.0),
        ("boat speed", inputs.stw, 60.0),
        ("stream", inputs.drift, 20.0),
    ];
    for (what, value, most) in speeds {
        value.map(|value| within(what, value, 0.0, most)).transpose()?;
    }
    for (what, value) in [("apparent wind angle", inputs.awa), ("true wind angle", inputs.twa)] {
        value.map(|value| within(what, value, -180.0, 360.0)).transpose()?;
    }
    for (what, value) in [("heading", inputs.heading), ("set", inputs.set)] {
        value.map(|value| within(what, value, 0.0, 360.0)).transpose()?;
    }
    inputs.leeway.map(|value| within("leeway", value, 0.0, 45.0)).transpose()?;

    let mut sheet = Sheet::new("wind", None);
    sheet.add(true_sum(inputs))?;
    sheet.add(apparent_sum(inputs))?;
    sheet.add(force_sum(inputs))?;
    sheet.add(gust_sum(inputs))?;
    sheet.finish()
}

const GEOMETRY: &str = "vector geometry, no outside source; compared with a sailing boat's own instruments";

fn side(angle: Option<Angle>, name: &str) -> Figure {
    match angle {
        None => Figure::words(name, "none: no wind to come from anywhere"),
        Some(angle) => {
            let degrees = angle.in_deg();
            let side = match degrees {
                d if d.abs() < 0.05 => "dead ahead",
                d if d.abs() > 179.95 => "dead astern",
                d if d < 0.0 => "to port",
                _ => "to starboard",
            };
            Figure::of(name, angle, 1).with(side)
        }
    }
}

fn true_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "true wind", from; aws, awa, stw);
    let mut from = from;
    let leeway = inputs.leeway.unwrap_or_default();
    let wind = true_wind(aws, awa, stw, leeway);
    let mut figures = vec![Figure::of("true wind speed", wind.speed, 1), side(wind.angle, "true wind angle")];
    figures.push(force_figure(wind.speed));
    let mut remarks = Vec::new();
    match inputs.leeway {
        Some(leeway) => from.push(format!("leeway {leeway}")),
        None => remarks.push("leeway taken as none".to_string()),
    }
    if let (Some(heading), Some(angle)) = (inputs.heading, wind.angle) {
        from.push(format!("heading {heading}"));
        let direction = compass(heading + angle);
        figures.push(Figure::of("direction it comes from", direction, 0));
        if let (Some(set), Some(drift)) = (inputs.set, inputs.drift) {
            from.push(format!("stream {drift} setting {set}"));
            let (speed, direction) = ground_wind(wind.speed, direction, set, drift);
            figures.push(Figure::of("wind speed over the ground", speed, 1));
            figures.extend(direction.map(|d| Figure::of("its direction over the ground", d, 0)));
        }
    }
    Ok(Sum {
        name: "true wind",
        figures,
        from,
        formula: "ahead = AWS·cos AWA − STW·cos leeway, abeam = AWS·sin AWA + STW·sin leeway (to leeward); \
                  speed = √(ahead² + abeam²), angle = atan2(abeam, ahead)",
        source: GEOMETRY,
        range: "steady readings taken at one moment; it is the wind through the water, not over the ground",
        remarks,
    })
}

fn apparent_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "apparent wind expected", from; tws, stw);
    let mut from = from;
    let leeway = inputs.leeway.unwrap_or_default();
    let mut figures = Vec::new();
    if let Some(twa) = inputs.twa {
        from.push(format!("twa {twa}"));
        let wind = apparent_wind(tws, twa, stw, leeway);
        figures.push(Figure::of("apparent wind speed", wind.speed, 1));
        figures.push(side(wind.angle, "apparent wind angle"));
    } else {
        let points =
            [("on a beat", 45.0), ("on a reach", 90.0), ("on a broad reach", 135.0), ("on a run", 180.0)];
        for (point, degrees) in points {
            let wind = apparent_wind(tws, Angle::deg(degrees), stw, leeway);
            let angle = wind.angle.map_or("from nowhere".to_string(), |a| {
                format!("at {:.0} deg, true wind at {degrees:.0} deg", a.in_deg().abs())
            });
            figures.push(Figure::of(format!("apparent wind {point}"), wind.speed, 1).with(angle));
        }
    }
    Ok(Sum {
        name: "apparent wind expected",
        figures,
        from,
        formula: "ahead = TWS·cos TWA + STW·cos leeway, abeam = TWS·sin TWA − STW·sin leeway (to leeward)",
        source: GEOMETRY,
        range: "the boat speed given is taken for every point of sailing shown",
        remarks: Vec::new(),
    })
}

fn force_figure(mean: Speed) -> Figure {
    let force = beaufort(mean);
    Figure::number("Beaufort force", force as f64, "1", 0).with(FORCE_NAMES[force])
}

const BEAUFORT_SOURCE: &str = "WMO-No. 306 code table 1100 (from memory); forces 8 to 12 as in the UK Met Office's \
                               marine glossary";

fn force_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    let formula = "the table of bounds in knots, mean wind to the nearest whole knot";
    let range = "mean wind over ten minutes at 10 m above the sea; the table in m/s differs at some bounds";
    if let Some(force) = inputs.force {
        let Some(&low) = BEAUFORT_KN.get(usize::from(force)) else {
            let (found, unit) = (f64::from(force), "Bft");
            return Err(ReckonError::OutOfRange {
                what: "Beaufort force".into(),
                low: 0.0,
                high: 12.0,
                unit,
                found,
            });
        };
        let name = format!("mean wind in force {force}");
        let figure = match BEAUFORT_KN.get(usize::from(force) + 1) {
            Some(next) if force > 0 => Figure::range(name, Speed::kn(low), Speed::kn(next - 1.0), 0),
            Some(_) => Figure::words(name, "under 1 kn"),
            None => Figure::words(name, "64 kn and more"),
        };
        return Ok(Sum {
            name: "Beaufort force",
            figures: vec![figure, Figure::words("called", FORCE_NAMES[usize::from(force)])],
            from: vec![format!("force {force}")],
            formula,
            source: BEAUFORT_SOURCE,
            range,
            remarks: Vec::new(),
        });
    }
    need!(Inputs, inputs, "Beaufort force", from; mean);
    Ok(Sum {
        name: "Beaufort force",
        figures: vec![force_figure(mean)],
        from,
        formula,
        source: BEAUFORT_SOURCE,
        range,
        remarks: Vec::new(),
    })
}

fn gust_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "gust factor", from; gust, mean);
    if mean < Speed::kn(1.0) || gust < mean {
        return Err(ReckonError::Unusable {
            what: "gust factor".into(),
            expected: "a mean wind of at least 1 kn and a gust no weaker than it".into(),
            found: format!("mean {mean}, gust {gust}"),
        });
    }
    Ok(Sum {
        name: "gust factor",
        figures: vec![
            Figure::number("gust over mean", gust / mean, "1", 2),
            Figure::number("wind pressure in the gust over the mean's", (gust / mean).powi(2), "1", 2),
        ],
        from,
        formula: "gust / mean; pressure goes with the square",
        source: "definition",
        range: "both at the same height; at sea 1.2 to 1.6 is usual (common practice, no source)",
        remarks: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::{near, outside};

    /// AWA, AWS, STW → TWS, TWA; vectors, worked apart from this program and by hand.
    #[test]
    fn true_wind_table() {
        let rows = [
            (0.0, 10.0, 5.0, 5.0, Some(0.0)),
            (90.0, 10.0, 5.0, 11.180, Some(116.57)),
            (45.0, 14.1421, 10.0, 10.0, Some(90.0)),
            (30.0, 20.0, 6.0, 15.105, Some(41.46)),
            (330.0, 20.0, 6.0, 15.105, Some(-41.46)),
            (180.0, 10.0, 5.0, 15.0, Some(180.0)),
            (0.0, 5.0, 5.0, 0.0, None),
            (0.0, 4.0, 6.0, 2.0, Some(180.0)),
            (57.5, 13.0, 6.6, 10.971, Some(87.99)),
        ];
        for (awa, aws, stw, tws, twa) in rows {
            let wind = true_wind(Speed::kn(aws), Angle::deg(awa), Speed::kn(stw), Angle::default());
            near(wind.speed.in_kn(), tws, 6e-4);
            match (wind.angle, twa) {
                (Some(found), Some(expected)) => near(found.in_deg(), expected, 6e-3),
                (found, expected) => assert_eq!(found.map(Angle::in_deg), expected),
            }
        }
    }

    #[test]
    fn apparent_wind_table() {
        let rows = [
            (90.0, 10.0, 10.0, 45.0, 14.142),
            (45.0, 15.0, 6.0, 32.57, 19.705),
            (135.0, 20.0, 7.0, 116.79, 15.843),
        ];
        for (twa, tws, stw, awa, aws) in rows {
            let wind = apparent_wind(Speed::kn(tws), Angle::deg(twa), Speed::kn(stw), Angle::default());
            near(wind.speed.in_kn(), aws, 6e-4);
            near(wind.angle.expect("there is wind").in_deg(), awa, 6e-3);
        }
    }

    #[test]
    fn leeway_and_stream_by_hand() {
        // 10 kn apparent on the beam, 5 kn through the water with 10° of leeway: 10 + 5·sin 10° abeam, 5·cos 10° less ahead.
        let wind = true_wind(Speed::kn(10.0), Angle::deg(90.0), Speed::kn(5.0), Angle::deg(10.0));
        near(wind.speed.in_kn(), (10.868_24_f64.powi(2) + 4.924_04_f64.powi(2)).sqrt(), 1e-4);
        // A stream of 2 kn setting south into a southerly of 10 kn takes 2 kn... from the ground's point of view.
        let (speed, from) =
            ground_wind(Speed::kn(10.0), Angle::deg(180.0), Angle::deg(180.0), Speed::kn(2.0));
        near(speed.in_kn(), 8.0, 1e-9);
        near(from.expect("there is wind").in_deg(), 180.0, 1e-9);
    }

    /// WMO-No. 306 code table 1100 (from memory); 8 to 12 read in the UK Met Office's marine glossary.
    #[test]
    fn beaufort_bounds() {
        let rows = [
            (0.4, 0),
            (1.0, 1),
            (3.0, 1),
            (4.0, 2),
            (6.0, 2),
            (7.0, 3),
            (10.0, 3),
            (11.0, 4),
            (16.0, 4),
            (17.0, 5),
            (21.0, 5),
            (22.0, 6),
            (27.0, 6),
            (28.0, 7),
            (33.0, 7),
            (33.9, 8),
            (34.0, 8),
            (40.0, 8),
            (41.0, 9),
            (47.0, 9),
            (48.0, 10),
            (55.0, 10),
            (56.0, 11),
            (63.0, 11),
            (64.0, 12),
            (150.0, 12),
        ];
        for (kn, force) in rows {
            assert_eq!(beaufort(Speed::kn(kn)), force, "{kn} kn");
        }
        for (force, bound) in BEAUFORT_M_S.into_iter().enumerate() {
            assert_eq!(beaufort_m_s(Speed::m_s(bound)), force);
        }
        assert_eq!(beaufort_m_s(Speed::kn(10.5)), 3);
        assert_eq!(beaufort_m_s(Speed::kn(10.7)), 4);
        assert_eq!(beaufort_m_s(Speed::kn(33.4)), 7);
        assert_eq!(beaufort_m_s(Speed::kn(33.44)), 8);
    }

    /// v = 0.836·B^1.5, read in gist carlynorama/9006; bounds at the half numbers agree with the table to 0.1 m/s.
    #[test]
    fn beaufort_formula_agrees_with_the_table() {
        let published = [0.30, 1.54, 3.30, 5.47, 7.98, 10.78, 13.85, 17.17, 20.72, 24.48, 28.44, 32.60];
        for (at, expected) in published.into_iter().enumerate() {
            let found = beaufort_speed(at as f64 + 0.5).in_m_s();
            near(found, expected, 6e-3);
            near(found, BEAUFORT_M_S[at + 1], 0.101);
        }
    }

    /// A sailing boat's integrated instruments (gpsd's test data, BSD-2): each true wind that she sent against the one
    /// from her apparent wind and log just before; the published bounds are 0.2 kn and 1° on the mean.
    #[test]
    fn agrees_with_a_sailing_boats_own_instruments() {
        let Some(log) = outside("nmea0183/sailing-boat-ijsselmeer.log") else { return };
        let (mut apparent, mut log_speed, mut heading, mut sent) = (None, None, None, None);
        let (mut speeds, mut angles, mut directions) = (Vec::new(), Vec::new(), Vec::new());
        let turn = |degrees: f64| (degrees + 180.0).rem_euclid(360.0) - 180.0;
        for line in log.lines() {
            let fields: Vec<&str> = line.split('*').next().unwrap_or_default().split(',').collect();
            let number = |at: usize| fields.get(at).and_then(|field| field.parse::<f64>().ok());
            match fields[0].get(3..) {
                Some("VHW") => (heading, log_speed) = (number(1), number(5)),
                Some("MWD") => sent = number(1),
                Some("MWV") if fields[2] == "R" => apparent = number(1).zip(number(3)),
                Some("MWV") if fields[2] == "T" => {
                    // The boat sends heading and log, then the wind's direction, then apparent and true wind.
                    let (Some((awa, aws)), Some(stw)) = (apparent, log_speed) else { continue };
                    let (Some(twa), Some(tws)) = (number(1), number(3)) else { continue };
                    let wind = true_wind(Speed::kn(aws), Angle::deg(awa), Speed::kn(stw), Angle::default());
                    speeds.push(wind.speed.in_kn() - tws);
                    angles.extend(wind.angle.map(|a| turn(a.in_deg() - twa)));
                    directions.extend(heading.zip(sent).map(|(heading, sent)| {
                        turn(compass(Angle::deg(heading) + Angle::deg(twa)).in_deg() - sent)
                    }));
                }
                _ => {}
            }
        }
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        assert!(speeds.len() >= 140 && directions.len() >= 140, "{} pairs", speeds.len());
        near(mean(&speeds), 0.0, 0.2);
        near(mean(&angles), 0.0, 1.0);
        assert!(directions.iter().all(|d| d.abs() <= 1.0), "{directions:?}");
    }

    #[test]
    fn a_missing_input_is_asked_for_by_name() {
        let error =
            reckon(&Inputs { aws: Some(Speed::kn(20.0)), stw: Some(Speed::kn(6.0)), ..Inputs::default() })
                .expect_err("the angle is missing");
        insta::assert_snapshot!(error, @"
        wind: nothing to work out yet
          true wind needs --awa 30deg (Apparent wind angle off the bow; port is negative or over 180)
          apparent wind expected needs --tws 15kn (True wind speed)
        ");
    }

    #[test]
    fn a_wind_that_cannot_be_is_refused() {
        let error =
            reckon(&Inputs { mean: Some(Speed::kn(500.0)), ..Inputs::default() }).expect_err("no such wind");
        insta::assert_snapshot!(error, @"mean wind speed: expected 0 to 250 kn, found 500 kn");
    }

    #[test]
    fn a_calm_has_no_angle() {
        let inputs = Inputs {
            aws: Some(Speed::kn(5.0)),
            awa: Some(Angle::deg(0.0)),
            stw: Some(Speed::kn(5.0)),
            ..Inputs::default()
        };
        let answer = reckon(&inputs).expect("a calm is an answer");
        let figure = answer.figure("true wind", "true wind angle").expect("named");
        assert_eq!(figure.value, None);
        assert_eq!(figure.text(), "none: no wind to come from anywhere");
    }
}
