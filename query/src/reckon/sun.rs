//! The sun: rise, set, twilight, hours of light and of darkness, and clear-sky energy, by date and position.
//!
//! Formula: the solar position algorithm (`solar-positioning`); rise and set with the upper limb on a sea-level horizon
//! and usual refraction, civil twilight to 6° below, nautical to 12°. Clear-sky energy by Haurwitz, 1098·cos z·exp(−0.057/
//! cos z) W/m². Range: any position; dates 1900 to 2100. Source: I. Reda and A. Andreas 2004 (by the library); B. Haurwitz
//! 1945 (from memory). Within 1 minute below 62° of latitude, 5 above; near polar night libraries differ by 3.

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, TimeDelta};
use solar_positioning::{Horizon, Location, SolarEvents, SolarPositions, delta_t};

use super::position::Position;
use super::unit::{Angle, Period};
use super::{ReckonError, plain};

/// When the sun passes a horizon on a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Upward, first of the day.
    pub up: Option<DateTime<FixedOffset>>,
    /// Downward, first of the day.
    pub down: Option<DateTime<FixedOffset>>,
    /// Whether the sun is above it when the day begins.
    pub above_at_start: bool,
    /// How long it is above it within the day.
    pub above: Period,
}

impl Crossing {
    /// What stands for a time that there is none of: above all day, below all day, or not on this day.
    pub fn none(&self) -> &'static str {
        match (self.up, self.down, self.above_at_start) {
            (None, None, true) => "none: above it all day",
            (None, None, false) => "none: below it all day",
            _ => "none on this day",
        }
    }
}

/// The sun over one local day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunDay {
    /// Rise and set.
    pub day: Crossing,
    /// Civil dawn and dusk, 6° below.
    pub civil: Crossing,
    /// Nautical dawn and dusk, 12° below.
    pub nautical: Crossing,
}

impl SunDay {
    /// Hours within the day with the sun more than 6° below the horizon.
    pub fn darkness(&self) -> Period {
        Period::h(24.0) - self.civil.above
    }
}

/// The zone that ships keep at a longitude: whole hours, 15° each.
pub fn nautical_zone(longitude: Angle) -> FixedOffset {
    let hours = (longitude.in_deg() / 15.0).round() as i32;
    // Twelve hours either way is always a valid offset.
    FixedOffset::east_opt(hours.clamp(-12, 12) * 3600).unwrap_or(chrono::Offset::fix(&chrono::Utc))
}

fn unusable(date: NaiveDate, found: impl std::fmt::Display) -> ReckonError {
    ReckonError::Unusable {
        what: format!("sun on {date}"),
        expected: "a date from 1900 to 2100".into(),
        found: found.to_string(),
    }
}

/// Rise, set and twilight on a date as the local calendar at `offset` has it.
pub fn sun_day(at: Position, date: NaiveDate, offset: FixedOffset) -> Result<SunDay, ReckonError> {
    if !(1900..=2100).contains(&date.year()) {
        return Err(unusable(date, date.year()));
    }
    let location = Location { latitude: at.latitude().in_deg(), longitude: at.longitude().in_deg() };
    let delta_t = delta_t::estimate_from_date_like(&date).map_err(|error| unusable(date, error))?;
    let events = SolarEvents::new();
    let crossing = |horizon| {
        let found = events
            .for_date(date, &offset, location, delta_t, horizon)
            .map_err(|error| unusable(date, error))?;
        let above_at_start = match found.state_at_start {
            solar_positioning::HorizonState::Above => true,
            solar_positioning::HorizonState::Below => false,
            // On the horizon as the day begins: what comes first says where it was.
            solar_positioning::HorizonState::OnHorizon => {
                found.rises.is_empty() || found.sets.first() < found.rises.first()
            }
        };
        let mut turns: Vec<(DateTime<FixedOffset>, bool)> =
            found.rises.iter().map(|&at| (at, true)).collect();
        turns.extend(found.sets.iter().map(|&at| (at, false)));
        turns.sort();
        let (mut above, mut since, mut seconds) = (above_at_start, found.start, 0.0);
        for (at, up) in turns.into_iter().chain([(found.end, false)]) {
            if above {
                seconds += (at - since).as_seconds_f64();
            }
            (above, since) = (up, at);
        }
        Ok(Crossing {
            up: found.rises.first().copied(),
            down: found.sets.first().copied(),
            above_at_start,
            above: Period::s(seconds),
        })
    };
    Ok(SunDay {
        day: crossing(Horizon::SunriseSunset)?,
        civil: crossing(Horizon::CivilTwilight)?,
        nautical: crossing(Horizon::NauticalTwilight)?,
    })
}

/// Clear-sky energy on a level square metre over a day, kWh/m²: what no real day exceeds by much.
pub fn clear_sky_kwh_m2(at: Position, date: NaiveDate, offset: FixedOffset) -> Result<f64, ReckonError> {
    if !(1900..=2100).contains(&date.year()) {
        return Err(unusable(date, date.year()));
    }
    let location = Location { latitude: at.latitude().in_deg(), longitude: at.longitude().in_deg() };
    let delta_t = delta_t::estimate_from_date_like(&date).map_err(|error| unusable(date, error))?;
    let start = date
        .and_hms_opt(0, 0, 0)
        .and_then(|midnight| midnight.and_local_timezone(offset).single())
        .ok_or_else(|| unusable(date, "no midnight"))?;
    const STEP_MINUTES: i64 = 5;
    let mut watt_minutes = 0.0;
    for step in 0..24 * 60 / STEP_MINUTES {
        let time = start + TimeDelta::minutes(step * STEP_MINUTES + STEP_MINUTES / 2);
        let sun = SolarPositions::new()
            .at(&time, location, 0.0, delta_t, None)
            .map_err(|error| unusable(date, error))?;
        let cosine = sun.elevation_angle().to_radians().sin();
        if cosine > 0.0 {
            watt_minutes += 1098.0 * cosine * (-0.057 / cosine).exp() * STEP_MINUTES as f64;
        }
    }
    Ok(watt_minutes / 60.0 / 1000.0)
}

/// An offset as it is written: `+03:00`, `-3`, `UTC`.
pub fn offset(text: &str) -> Result<FixedOffset, String> {
    let bad = || format!("expected an offset from UTC as in +03:00, found \"{text}\"");
    let clean = text.trim().replace('\u{2212}', "-");
    if matches!(clean.as_str(), "Z" | "UTC" | "utc") {
        return FixedOffset::east_opt(0).ok_or_else(bad);
    }
    let (sign, rest) = match clean.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, clean.strip_prefix('+').unwrap_or(&clean)),
    };
    let (hours, minutes) = rest.split_once(':').unwrap_or((rest, "0"));
    let hours: u16 = hours.parse().map_err(|_| bad())?;
    let minutes: u16 = minutes.parse().map_err(|_| bad())?;
    if hours > 14 || minutes > 59 {
        return Err(bad());
    }
    FixedOffset::east_opt(sign * (i32::from(hours) * 3600 + i32::from(minutes) * 60)).ok_or_else(bad)
}

/// An offset in hours, as words.
pub fn offset_text(offset: FixedOffset) -> String {
    let hours = f64::from(offset.local_minus_utc()) / 3600.0;
    if hours < 0.0 { format!("UTC{}", plain(hours)) } else { format!("UTC+{}", plain(hours)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    fn day(at: &str, date: &str, zone: &str) -> SunDay {
        let date = date.parse().expect("a date");
        sun_day(at.parse().expect("a position"), date, offset(zone).expect("an offset")).expect("in range")
    }

    #[track_caller]
    fn same(found: Option<DateTime<FixedOffset>>, expected: &str, minutes: f64) {
        let found = found.expect("the sun crosses").time();
        let expected = chrono::NaiveTime::parse_from_str(expected, "%H:%M:%S").expect("a time");
        near((found - expected).as_seconds_f64() / 60.0, 0.0, minutes);
    }

    /// astral 3.2, UTC: civil dawn, rise, set, civil dusk; rise and set also by pvlib 0.16.1's SPA. Tolerance 1 minute
    /// below 62° of latitude, 5 above.
    #[test]
    fn sun_times_of_two_libraries() {
        let rows = [
            (
                "51.478,0",
                "2026-06-21",
                ["02:54:28", "03:43:06", "20:20:31", "21:09:10"],
                ["03:42:43", "20:20:53"],
                1.0,
            ),
            (
                "51.478,0",
                "2026-12-21",
                ["07:22:22", "08:03:26", "15:52:42", "16:33:46"],
                ["08:03:04", "15:53:03"],
                1.0,
            ),
            (
                "60.155,-1.145",
                "2026-11-25",
                ["07:34:25", "08:28:08", "15:14:23", "16:08:05"],
                ["08:27:39", "15:14:53"],
                1.0,
            ),
            (
                "60.155,-1.145",
                "2026-06-21",
                ["00:43:50", "02:39:09", "21:33:38", "23:28:54"],
                ["02:38:31", "21:34:15"],
                1.0,
            ),
            (
                "69.65,18.96",
                "2026-11-25",
                ["07:28:04", "09:46:07", "11:15:14", "13:33:19"],
                ["09:43:10", "11:18:15"],
                5.0,
            ),
            (
                "-54.8,-68.3",
                "2026-06-21",
                ["12:13:07", "12:59:14", "20:10:53", "20:57:00"],
                ["12:58:49", "20:11:18"],
                1.0,
            ),
            (
                "0,0",
                "2026-03-20",
                ["05:43:17", "06:04:20", "18:10:30", "18:31:34"],
                ["06:04:10", "18:10:41"],
                1.0,
            ),
        ];
        for (at, date, astral, spa, minutes) in rows {
            let sun = day(at, date, "UTC");
            // astral lets refraction into twilight; by definition it is geometric. Where the sun skims 6° below, that
            // makes 3 minutes (pvlib's SPA has it at −6.00° at our times there).
            let twilight = if date == "2026-06-21" && at.starts_with("60") { 4.0 } else { minutes };
            same(sun.civil.up, astral[0], twilight);
            same(sun.day.up, astral[1], minutes);
            same(sun.day.down, astral[2], minutes);
            same(sun.civil.down, astral[3], twilight);
            same(sun.day.up, spa[0], minutes);
            same(sun.day.down, spa[1], minutes);
        }
    }

    /// astral 3.2: polar night and midnight sun are values, and told apart.
    #[test]
    fn none_and_all_day_are_values() {
        let tromso = day("69.65,18.96", "2026-12-21", "UTC");
        assert_eq!(tromso.day.none(), "none: below it all day");
        same(tromso.civil.up, "08:29:57", 5.0);
        same(tromso.civil.down, "12:54:27", 5.0);
        let summer = day("69.65,18.96", "2026-06-21", "UTC");
        assert_eq!(summer.day.none(), "none: above it all day");
        near(summer.day.above.in_h(), 24.0, 1e-9);
        near(summer.darkness().in_h(), 0.0, 1e-9);
        let far_north = day("78.22,15.65", "2026-12-21", "UTC");
        assert_eq!(far_north.civil.none(), "none: below it all day");
        near(far_north.darkness().in_h(), 24.0, 1e-9);
        same(far_north.nautical.up, "09:55:00", 5.0);
        same(far_north.nautical.down, "11:55:00", 5.0);
        let lerwick = day("60.155,-1.145", "2026-06-21", "UTC");
        assert_eq!(lerwick.nautical.none(), "none: above it all day");
    }

    /// At the date line in the tropics the local day is another than UTC's: sunrise on 20 March by the clock at +12 is
    /// still 19 March in UTC. Times as at 0° of longitude (astral 3.2), which differ by seconds.
    #[test]
    fn the_local_date_counts_at_the_date_line() {
        for (at, zone, utc_day) in [("0,179.9", "+12", 19), ("0,-179.9", "-12", 20)] {
            let sun = day(at, "2026-03-20", zone);
            same(sun.day.up, "06:04:20", 1.0);
            same(sun.day.down, "18:10:30", 1.0);
            let rise = sun.day.up.expect("it rises");
            assert_eq!(rise.date_naive().day(), 20);
            assert_eq!(rise.naive_utc().day(), utc_day);
        }
        // Ushuaia in summer: the sun sets on the next day of UTC.
        let sun = day("-54.8,-68.3", "2026-12-21", "-3");
        assert_eq!(sun.day.down.expect("it sets").naive_utc().day(), 22);
        assert_eq!(nautical_zone(Angle::deg(179.9)), offset("+12").expect("an offset"));
        assert_eq!(nautical_zone(Angle::deg(-68.3)), offset("-5").expect("an offset"));
    }

    /// pvlib 0.16.1 (SPA, Haurwitz clear sky, longitude 0), kWh/m² a day.
    #[test]
    fn clear_sky_energy_at_high_latitude() {
        let rows = [
            ("51.5,0", [4.54, 8.68, 4.58, 1.37, 1.05]),
            ("60,0", [3.53, 8.50, 3.57, 0.47, 0.24]),
            ("65,0", [2.90, 8.42, 2.94, 0.10, 0.009]),
            ("70,0", [2.24, 8.51, 2.29, 0.0, 0.0]),
        ];
        let dates = ["2026-03-20", "2026-06-21", "2026-09-22", "2026-11-25", "2026-12-21"];
        for (at, expected) in rows {
            for (date, expected) in dates.into_iter().zip(expected) {
                let at = at.parse().expect("a position");
                let date = date.parse().expect("a date");
                let found = clear_sky_kwh_m2(at, date, offset("UTC").expect("an offset")).expect("in range");
                near(found, expected, 0.03 + 0.01 * expected);
            }
        }
    }

    #[test]
    fn offsets_as_they_are_written() {
        assert_eq!(offset("+05:30").map(offset_text), Ok("UTC+5.5".to_string()));
        assert_eq!(offset("-3").map(offset_text), Ok("UTC\u{2212}3".to_string()));
        assert!(
            offset("+25").is_err()
                && offset("noon").is_err()
                && offset("").is_err()
                && offset("+3:99").is_err()
        );
    }
}
