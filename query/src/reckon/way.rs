//! The way: distances and bearings, days at the boat's own speeds, sun and darkness, magnetic variation.
//!
//! Formula: geodesic on WGS 84 (Karney's method, `geographiclib-rs`); rhumb line on a sphere of 6 371 008.8 m; days =
//! distance / speed at the quartiles of the speeds given; sun by [`super::sun`]; variation by the World Magnetic Model
//! (`world_magnetic_model`). Range: any two positions; variation for dates that the model covers.
//! Source: C. Karney, J. Geod. 87 (2013) 43; WMM2025, NOAA and BGS. Caution: see [`CAUTION`].

use chrono::{Datelike, FixedOffset, NaiveDate};
use geographiclib_rs::{Geodesic, InverseGeodesic};
use world_magnetic_model::time::Date;
use world_magnetic_model::uom::si::angle::degree;
use world_magnetic_model::uom::si::f32::{Angle as UomAngle, Length as UomLength};
use world_magnetic_model::uom::si::length::meter;
use world_magnetic_model::{GeomagneticField, WarningZone};

use super::position::Position;
use super::sun::{Crossing, nautical_zone, offset, offset_text, sun_day};
use super::unit::{Angle, Distance, Period, Speed};
use super::wind::compass;
use super::{Figure, ReckonError, Reckoned, Sheet, Sum, sheet::need, within};
use crate::figure;
use crate::trend::stats::quantile;

/// What `way` can use; each may be left out.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// Where from
    #[arg(long, value_name = "60.155,-1.145", allow_hyphen_values = true)]
    pub from: Option<Position>,
    /// Where to
    #[arg(long, value_name = "62.007,-6.771", allow_hyphen_values = true)]
    pub to: Option<Position>,
    /// Distance to sail, where it is known already
    #[arg(long, value_name = "220nmi")]
    pub distance: Option<Distance>,
    /// A day's mean speed that she has made; repeat
    #[arg(long, value_name = "5.2kn")]
    pub speed: Vec<Speed>,
    /// Where, for sun and variation
    #[arg(long, value_name = "60.155,-1.145", allow_hyphen_values = true)]
    pub at: Option<Position>,
    /// Which day, for sun and variation
    #[arg(long, value_name = "2026-11-25")]
    pub date: Option<NaiveDate>,
    /// Offset of the clock from UTC; without it, the zone that ships keep at that longitude
    #[arg(long, value_name = "+00:00", allow_hyphen_values = true, value_parser = offset)]
    pub offset: Option<FixedOffset>,
}

/// The one line of caution of this reckoning.
pub const CAUTION: &str = "not for navigation: no land, shoal, stream or weather is in these lines; the chart and the \
                           almanac come first";

/// The shortest way between two positions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// Its length.
    pub distance: Distance,
    /// True course at its beginning, 0° to 360°.
    pub course: Angle,
    /// True course at its end.
    pub course_at_end: Angle,
}

/// The geodesic between two positions on WGS 84, to nanometres.
pub fn geodesic(from: Position, to: Position) -> Way {
    let (metres, first, last, _): (f64, f64, f64, f64) = Geodesic::wgs84().inverse(
        from.latitude().in_deg(),
        from.longitude().in_deg(),
        to.latitude().in_deg(),
        to.longitude().in_deg(),
    );
    Way {
        distance: Distance::m(metres),
        course: compass(Angle::deg(first)),
        course_at_end: compass(Angle::deg(last)),
    }
}

/// Mean radius of the earth, m.
const EARTH: f64 = 6_371_008.8;

/// The line of constant course between two positions on a sphere, the short way round; 0.2 to 0.4 % short at 55° to 80°.
pub fn rhumb(from: Position, to: Position) -> (Distance, Angle) {
    let (a, b) = (from.latitude().in_rad(), to.latitude().in_rad());
    let degrees = (to.longitude() - from.longitude()).in_deg();
    let east = ((degrees + 180.0).rem_euclid(360.0) - 180.0).to_radians();
    let north = b - a;
    let mercator = |latitude: f64| (std::f64::consts::FRAC_PI_4 + latitude / 2.0).tan().ln();
    let stretched = mercator(b) - mercator(a);
    // Along a parallel both differences vanish and their quotient is the cosine of the latitude.
    let narrowing = if north.abs() > 1e-9 { north / stretched } else { a.cos() };
    let metres = EARTH * north.hypot(narrowing * east);
    (Distance::m(metres), compass(Angle::rad(east.atan2(stretched))))
}

/// Days at sea: best, likely and worst, at the upper quartile, the median and the lower quartile of the speeds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Days {
    /// At the upper quartile of the speeds.
    pub best: Period,
    /// At their median.
    pub likely: Period,
    /// At the lower quartile.
    pub worst: Period,
}

/// Days for a distance at the boat's own speeds; `None` without a speed above 0 in the lower quartile.
pub fn days(distance: Distance, speeds: &[Speed]) -> Option<Days> {
    let knots: Vec<f64> = speeds.iter().map(|speed| speed.in_kn()).collect();
    let at =
        |share| quantile(&knots, share).filter(|&kn| kn > 0.0).map(|kn| Speed::kn(kn).time_over(distance));
    Some(Days { best: at(0.75)?, likely: at(0.5)?, worst: at(0.25)? })
}

/// Magnetic variation at sea level, east positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variation {
    /// The variation.
    pub variation: Angle,
    /// One standard deviation of the model's error.
    pub error: Angle,
    /// What the model says of compasses there.
    pub warning: Option<&'static str>,
}

/// Variation on a day. Errors: a day that the bundled models do not cover (2020 to 2029).
pub fn variation(at: Position, date: NaiveDate) -> Result<Variation, ReckonError> {
    variation_at_height(at, 0.0, date)
}

fn variation_at_height(at: Position, metres: f32, date: NaiveDate) -> Result<Variation, ReckonError> {
    let unusable = |found: String| ReckonError::Unusable {
        what: "magnetic variation".into(),
        expected: "a day that the World Magnetic Models bundled here cover, 2020 to 2029".into(),
        found,
    };
    let day = Date::from_ordinal_date(date.year(), date.ordinal() as u16)
        .map_err(|error| unusable(error.to_string()))?;
    let field = GeomagneticField::new(
        UomLength::new::<meter>(metres),
        UomAngle::new::<degree>(at.latitude().in_deg() as f32),
        UomAngle::new::<degree>(at.longitude().in_deg() as f32),
        day,
    )
    .map_err(|error| unusable(format!("{date} ({error})")))?;
    Ok(Variation {
        variation: Angle::deg(f64::from(field.declination().get::<degree>())),
        error: Angle::deg(f64::from(field.declination_uncertainty().get::<degree>())),
        warning: field.declination_warning().map(|zone| match zone {
            WarningZone::BlackoutZone => "near a magnetic pole: a magnetic compass is not to be relied on",
            WarningZone::CautionZone => "towards a magnetic pole: a magnetic compass may err",
        }),
    })
}

/// Works out every sum that the inputs allow.
pub fn reckon(inputs: &Inputs) -> Result<Reckoned, ReckonError> {
    inputs.distance.map(|value| within("distance", value, 0.0, 30_000.0)).transpose()?;
    for speed in &inputs.speed {
        within("speed", *speed, 0.1, 60.0)?;
    }
    let mut sheet = Sheet::new("way", Some(CAUTION));
    sheet.add(way_sum(inputs))?;
    sheet.add(days_sum(inputs))?;
    sheet.add(sun_sum(inputs))?;
    sheet.add(variation_sum(inputs))?;
    sheet.finish()
}

fn way_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    let Inputs { from: start, to, .. } = inputs;
    let places = Places { from: *start, to: *to };
    need!(Inputs, places, "distance and course", given; from, to);
    let way = geodesic(from, to);
    let (distance, course) = rhumb(from, to);
    Ok(Sum {
        name: "distance and course",
        figures: vec![
            Figure::of("shortest way", way.distance, 1),
            Figure::of("course at its beginning", way.course, 0).with("true"),
            Figure::of("course at its end", way.course_at_end, 0).with("true"),
            Figure::of("rhumb line", distance, 1),
            Figure::of("course on it", course, 0).with("true"),
        ],
        from: given,
        formula: "geodesic on WGS 84; rhumb line on a sphere of 6371008.8 m: course = atan2(Δlon, Δψ), distance = \
                  R·√(Δlat² + (q·Δlon)²)",
        source: "C. Karney, J. Geod. 87 (2013) 43, by geographiclib-rs; rhumb line from the geometry of Mercator's chart",
        range: "any two positions; the sphere makes the rhumb line 0.2 to 0.4% short at high latitudes",
        remarks: Vec::new(),
    })
}

struct Places {
    from: Option<Position>,
    to: Option<Position>,
}

fn days_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    let way = inputs.from.zip(inputs.to).map(|(from, to)| geodesic(from, to).distance);
    let speeds = (!inputs.speed.is_empty()).then_some(&inputs.speed);
    let (Some(distance), Some(speeds)) = (inputs.distance.or(way), speeds) else {
        let missing = [("distance", inputs.distance.is_none() && way.is_none()), ("speed", speeds.is_none())];
        return Err(ReckonError::Lacking(super::Lacking {
            sum: "days at sea",
            inputs: missing.iter().filter(|m| m.1).map(|m| super::Missing::of::<Inputs>(m.0)).collect(),
            why: None,
            given: usize::from(inputs.distance.is_some()) + usize::from(speeds.is_some()),
        }));
    };
    let days = days(distance, speeds).ok_or_else(|| ReckonError::Unusable {
        what: "days at sea".into(),
        expected: "speeds above 0".into(),
        found: "none".into(),
    })?;
    let mut remarks = Vec::new();
    if speeds.len() < 4 {
        remarks.push("fewer than four speeds: best and worst say little".to_string());
    }
    let figure = |name, time: Period| Figure::number(name, time.in_days(), "days", 1);
    Ok(Sum {
        name: "days at sea",
        figures: vec![
            figure("likely", days.likely),
            figure("best", days.best).with("at the upper quartile of her speeds"),
            figure("worst", days.worst).with("at the lower quartile"),
        ],
        from: vec![format!("distance {distance}"), figure::count(speeds.len(), "speed", "speeds")],
        formula: "distance / speed at the median and the quartiles, interpolated between neighbours",
        source: "definition",
        range: "the speeds are means over days, calms and tacking in them; the way sailed is longer than the shortest",
        remarks,
    })
}

fn sun_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "sun", from; at, date);
    let zone = inputs.offset.unwrap_or_else(|| nautical_zone(at.longitude()));
    let sun = sun_day(at, date, zone)?;
    let time = |name: &str, time: Option<chrono::DateTime<FixedOffset>>, crossing: &Crossing| match time {
        Some(time) => Figure::words(name, time.format("%H:%M").to_string()),
        None => Figure::words(name, crossing.none()),
    };
    let mut from = from;
    from.push(format!("clock {}", offset_text(zone)));
    Ok(Sum {
        name: "sun",
        figures: vec![
            time("nautical dawn", sun.nautical.up, &sun.nautical),
            time("civil dawn", sun.civil.up, &sun.civil),
            time("sunrise", sun.day.up, &sun.day),
            time("sunset", sun.day.down, &sun.day),
            time("civil dusk", sun.civil.down, &sun.civil),
            time("nautical dusk", sun.nautical.down, &sun.nautical),
            Figure::of("sun above the horizon", sun.day.above, 1),
            Figure::of("darkness, between civil dusk and dawn", sun.darkness(), 1),
        ],
        from,
        formula: "the sun's upper limb on the horizon with usual refraction; civil 6°, nautical 12° below",
        source: "I. Reda and A. Andreas 2004, by solar-positioning",
        range: "sea level, open horizon: within 1 minute below 62° of latitude, 5 above",
        remarks: Vec::new(),
    })
}

fn variation_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "magnetic variation", from; at, date);
    let found = variation(at, date)?;
    let name = if found.variation < Angle::default() { "west" } else { "east" };
    let figure = Figure::of("variation", found.variation.abs(), 1).with(name);
    let mut figures = vec![figure, Figure::of("model's error, one standard deviation", found.error, 1)];
    figures.extend(found.warning.map(|warning| Figure::words("compass", warning)));
    Ok(Sum {
        name: "magnetic variation",
        figures,
        from,
        formula: "spherical harmonics of the main field, degree 12, at sea level",
        source: "World Magnetic Model 2025, NOAA and BGS, by world_magnetic_model",
        range: "2020 to 2029; local rock and the boat's own iron are not in it",
        remarks: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::{near, outside};

    fn at(latitude: f64, longitude: f64) -> Position {
        Position::new(Angle::deg(latitude), Angle::deg(longitude)).expect("on the earth")
    }

    /// geographiclib 2.1 (Python): metres, initial course; rhumb line on the sphere computed apart.
    #[test]
    fn distances_and_courses() {
        let rows = [
            ((40.6, -73.8), (51.6, -0.5), 5_551_759.400, 51.198_88, 3107.7564, 77.7302),
            ((60.155, -1.145), (62.007, -6.771), 366_929.950, 306.643_10, 197.5561, 304.2533),
            ((0.0, 0.0), (0.0, 1.0), 111_319.491, 90.0, 60.0405, 90.0),
            ((0.0, 0.0), (1.0, 0.0), 110_574.389, 0.0, 60.0405, 0.0),
            ((60.0, 179.5), (60.0, -179.5), 55_799.470, 89.567, 30.0203, 90.0),
            ((70.0, 18.0), (78.0, 15.0), 897_324.761, 355.535_16, 482.7777, 354.2213),
            ((-55.0, -67.0), (-62.0, -58.0), 937_980.611, 149.834_25, 505.6937, 146.2123),
        ];
        for (from, to, metres, course, rhumb_nmi, rhumb_course) in rows {
            let (from, to) = (at(from.0, from.1), at(to.0, to.1));
            let way = geodesic(from, to);
            near(way.distance.in_m(), metres, 1e-3);
            near(way.course.in_deg(), course, 1e-3);
            let (distance, course) = rhumb(from, to);
            near(distance.in_nmi(), rhumb_nmi, 1e-4);
            near(course.in_deg(), rhumb_course, 1e-4);
        }
    }

    /// A hundred geodesics to nanometres (GeodTest-100, geographiclib-rs), here to 1 mm along and across.
    #[test]
    fn a_hundred_geodesics_to_a_millimetre() {
        let Some(text) = outside("geodesic/GeodTest-100.dat") else { return };
        let mut rows = 0;
        for line in text.lines().filter(|line| !line.trim().is_empty()) {
            let row: Vec<f64> =
                line.split_whitespace().map(|field| field.parse().expect("a number")).collect();
            let way = geodesic(at(row[0], row[1]), at(row[3], row[4]));
            near(way.distance.in_m(), row[6], 1e-3);
            // A course is as sharp as the place it leads to: its error times the reduced length is the error there.
            let off = (way.course.in_deg() - row[2] + 180.0).rem_euclid(360.0) - 180.0;
            near(off.to_radians() * row[8], 0.0, 1e-3);
            rows += 1;
        }
        assert_eq!(rows, 100);
    }

    /// WMM2025 test values (NOAA and BGS): variation at heights, places and dates, to 0.01°.
    #[test]
    fn the_magnetic_models_own_test_values() {
        let Some(text) = outside("magnetic/WMM2025_TEST_VALUES.txt") else { return };
        let mut rows = 0;
        for line in text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty()) {
            let row: Vec<f64> =
                line.split_whitespace().map(|field| field.parse().expect("a number")).collect();
            let year = row[0].floor() as i32;
            let days = if NaiveDate::from_yo_opt(year, 366).is_some() { 366.0 } else { 365.0 };
            let date = NaiveDate::from_yo_opt(year, ((row[0].fract() * days) as u32) + 1).expect("a day");
            let found =
                variation_at_height(at(row[2], row[3]), (row[1] * 1000.0) as f32, date).expect("covered");
            // The table has two decimals; a hair over 0.01° for what lies on the edge.
            near(found.variation.in_deg(), row[4], 0.010_1);
            rows += 1;
        }
        assert_eq!(rows, 100);
    }

    /// Surface values of pygeomag 1.1.0 for 2026.0.
    #[test]
    fn variation_at_the_surface() {
        let date = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
        let rows = [
            ((60.155, -1.145), -0.112),
            ((62.007, -6.771), -3.001),
            ((69.65, 18.96), 11.061),
            ((-54.8, -68.3), 11.699),
            ((51.478, 0.0), 1.121),
            ((64.147, -21.94), -11.284),
        ];
        for ((latitude, longitude), expected) in rows {
            let found = variation(at(latitude, longitude), date).expect("covered");
            near(found.variation.in_deg(), expected, 0.01);
            assert_eq!(found.warning, None);
        }
        let pole = variation(at(86.0, 139.0), date).expect("covered");
        assert!(pole.warning.is_some());
        assert!(variation(at(0.0, 0.0), NaiveDate::from_ymd_opt(2035, 1, 1).expect("a day")).is_err());
    }

    #[test]
    fn days_are_quartiles_of_her_own_speeds() {
        let speeds: Vec<Speed> = [4.0, 5.0, 6.0, 5.0, 3.0].map(Speed::kn).to_vec();
        let days = days(Distance::nmi(600.0), &speeds).expect("five speeds");
        near(days.likely.in_days(), 5.0, 1e-9);
        near(days.best.in_days(), 5.0, 1e-9);
        near(days.worst.in_days(), 6.25, 1e-9);
        assert_eq!(super::days(Distance::nmi(600.0), &[]), None);
    }

    #[test]
    fn polar_night_reads_as_none() {
        let inputs = Inputs {
            at: Some(at(78.22, 15.65)),
            date: NaiveDate::from_ymd_opt(2026, 12, 21),
            ..Inputs::default()
        };
        let answer = reckon(&inputs).expect("complete");
        assert_eq!(answer.figure("sun", "sunrise").expect("named").text(), "none: below it all day");
        assert_eq!(
            answer.figure("sun", "darkness, between civil dusk and dawn").expect("named").text(),
            "24.0 h"
        );
    }
}
