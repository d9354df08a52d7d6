//! The `nmea` crate (AeroRust, 0.8) as a second opinion on the sentences that it knows.

use nmea::ParseResult;
use nmea::sentences::mwv::{MwvReference, MwvWindSpeedUnits};
use proptest::prelude::*;

use super::{named, read, summed};
use crate::instrument::stamp;

/// What the crate reads of a sentence, under our names and in our units.
fn second_opinion(sentence: &str) -> Option<Vec<(&'static str, f64)>> {
    let mut values = Vec::new();
    let mut put = |name, value: Option<f64>| values.extend(value.map(|value| (name, value)));
    match nmea::parse_str(sentence.trim()).ok()? {
        ParseResult::MWV(wind) => {
            let (angle, speed) = match wind.reference? {
                MwvReference::Relative => ("apparent_wind_angle", "apparent_wind_speed"),
                MwvReference::Theoretical => ("true_wind_angle/water", "true_wind_speed/water"),
            };
            let knots = match wind.wind_speed_units? {
                MwvWindSpeedUnits::Knots => 1.0,
                MwvWindSpeedUnits::KilometersPerHour => 1.0 / 1.852,
                MwvWindSpeedUnits::MetersPerSecond => 3600.0 / 1852.0,
                MwvWindSpeedUnits::MilesPerHour => return None,
            };
            let signed = |a: f32| f64::from(a) - if a > 180.0 { 360.0 } else { 0.0 };
            put(angle, wind.wind_direction.map(signed));
            put(speed, wind.wind_speed.map(|speed| f64::from(speed) * knots));
        }
        ParseResult::VHW(log) => {
            put("boat_speed/water", log.relative_speed_knots);
            put("heading/true", log.heading_true);
            put("heading/magnetic", log.heading_magnetic);
        }
        ParseResult::RMC(fix) => {
            put("latitude", fix.lat);
            put("longitude", fix.lon);
            put("speed_over_ground/ground", fix.speed_over_ground.map(f64::from));
            put("course_over_ground/true", fix.true_course.map(f64::from));
        }
        ParseResult::GGA(fix) => {
            put("latitude", fix.latitude);
            put("longitude", fix.longitude);
            put("hdop", fix.hdop.map(f64::from));
            put("altitude", fix.altitude.map(f64::from));
        }
        ParseResult::GLL(fix) => {
            put("latitude", fix.latitude);
            put("longitude", fix.longitude);
        }
        ParseResult::VTG(way) => {
            put("course_over_ground/true", way.true_course.map(f64::from));
            put("speed_over_ground/ground", way.speed_over_ground.map(f64::from));
        }
        ParseResult::DPT(depth) => {
            put("water_depth/transducer", depth.water_depth);
            put("transducer_offset", depth.offset);
        }
        ParseResult::MTW(sea) => put("sea_temperature", sea.temperature),
        ParseResult::HDT(heading) => put("heading/true", heading.heading.map(f64::from)),
        _ => return None,
    }
    Some(values)
}

/// Asserts that all the crate reads of a sentence is what we read; the crate has `f32` in places. False where the
/// crate has no opinion.
fn agree(sentence: &str) -> bool {
    let Some(theirs) = second_opinion(sentence) else { return false };
    let (parsed, samples) = read(sentence, "");
    let ours = named(&parsed, &samples);
    for (name, theirs) in &theirs {
        let ours = ours.iter().find(|(ours, _)| ours == name).map(|(_, value)| *value);
        let ours =
            ours.unwrap_or_else(|| panic!("{sentence}: {name} {theirs} is not read: {:?}", parsed.account));
        let turned = (ours - theirs).abs() % 360.0;
        assert!(turned < 1e-4 + 1e-6 * theirs.abs(), "{sentence}: {name} {ours}, not {theirs}");
    }
    if let Ok(ParseResult::RMC(fix)) = nmea::parse_str(sentence.trim())
        && let (Some(date), Some(time)) = (fix.fix_date, fix.fix_time)
        && let Some(at) = samples.first().and_then(|sample| sample.at)
    {
        assert_eq!(
            stamp::show(at.micros),
            format!("{}Z", date.and_time(time).format("%Y-%m-%dT%H:%M:%S")),
            "{sentence}"
        );
    }
    true
}

#[test]
fn a_real_boats_sentences() {
    let Some(log) = super::boat::outside("sailing-boat-ijsselmeer.log") else { return };
    let log = String::from_utf8(log).expect("ASCII");
    let count = log.lines().filter(|line| !line.contains(",,C*") && agree(&format!("{line}\r\n"))).count();
    // MWV 300, VHW 150, RMC 146, GGA 138, GLL 147, VTG 148, DPT 149.
    assert_eq!(count, 1178);
}

proptest! {
    #[test]
    fn made_up_sentences(
        talker in "II|GP|WI|SD|GN",
        angle in 0.0f64..360.0,
        small in 0.0f64..60.0,
        depth in 0.0f64..200.0,
        (lat, lat_min) in (0u32..90, 0.0f64..59.99),
        (lon, lon_min) in (0u32..180, 0.0f64..59.99),
        (north, east) in ("N|S", "E|W"),
        (h, m, s) in (0u32..24, 0u32..60, 0.0f64..59.9),
        (day, month, year) in (1u32..29, 1u32..13, 0u32..38),
        unit in "N|M|K",
    ) {
        let position = format!("{lat:02}{lat_min:07.4},{north},{lon:03}{lon_min:07.4},{east}");
        let time = format!("{h:02}{m:02}{s:05.2}");
        for body in [
            format!("{talker}MWV,{angle:.1},R,{small:.1},{unit},A"),
            format!("{talker}MWV,{angle:.0},T,{small:.2},{unit},A"),
            format!("{talker}VHW,{angle:.1},T,{angle:.1},M,{small:.2},N,{:.2},K", small * 1.852),
            format!("{talker}RMC,{time},A,{position},{small:.1},{angle:.1},{day:02}{month:02}{year:02},,,A"),
            format!("{talker}GGA,{time},{position},1,09,0.9,{depth:.1},M,46.8,M,,"),
            format!("{talker}GLL,{position},{time},A,A"),
            format!("{talker}VTG,{angle:.1},T,,M,{small:.2},N,{:.2},K,A", small * 1.852),
            // The crate takes no offset to the keel, which is negative.
            format!("{talker}DPT,{depth:.1},{:.1},", small / 30.0),
            format!("{talker}MTW,{:.1},C", small / 2.0),
            format!("{talker}HDT,{angle:.1},T"),
        ] {
            prop_assert!(agree(&summed(&body)), "the crate has an opinion on {body}");
        }
    }
}
