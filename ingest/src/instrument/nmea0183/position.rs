//! Position and time: `RMC`, `GGA`, `GLL`, `ZDA`, and the waypoint steered for: `BWC`.
//!
//! ```text
//! $GPRMC,094737,A,5251.0093,N,00518.8170,E,5.6,230.5,200818,1.4,E,A*1F
//!        time, status, latitude, longitude, speed kn, course true, ddmmyy, variation, mode
//! $GPGGA,094736,5251.0094,N,00518.8172,E,1,12,0.60,-4,M,46.8,M,,*4B
//!        time, latitude, longitude, quality, satellites, HDOP, altitude
//! $GPGLL,5251.0093,N,00518.8170,E,094736,A,A*43       latitude, longitude, time, status, mode
//! $GPZDA,094737,20,08,2018,-01,00*6B                  time UTC, day, month, year, local zone
//! $GPBWC,220516,5130.02,N,00046.34,W,213.8,T,218.0,M,0004.6,N,EGLM*21
//!        time, waypoint, bearing true, bearing magnetic, distance, name
//! ```
//!
//! Quality of a GGA: 0 none, 1 GPS, 2 DGPS, 3 PPS, 4 RTK, 5 float RTK, 6 estimated, 7 typed in, 8 simulator.
//! Source: gpsd `www/NMEA.adoc` @46977fa.

use super::fields::Fields;
use crate::instrument::account::Refusal;
use crate::instrument::channel::Channels;
use crate::instrument::log::{Told, Values};
use crate::instrument::quantity::{Quantity, Reference};
use crate::instrument::stamp;

pub(super) fn rmc(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let time = fields.time()?;
    fields.status()?;
    let position = fields.position()?;
    let speed = fields.value()?;
    let course = fields.value()?;
    let date = fields.text();
    let variation = fields.sided(b'E', b'W')?;
    fields.mode()?;
    let day = if date.is_empty() { None } else { Some(ddmmyy(date)?) };
    values.told = match (day, time) {
        (Some(day), Some(time)) => Some(Told::Dated(day, time)),
        (None, Some(time)) => Some(Told::TimeOfDay(time)),
        _ => None,
    };
    put_position(values, position);
    if let Some(speed) = speed {
        values.put(Quantity::SpeedOverGround, Reference::Ground, speed);
    }
    if let Some(course) = course {
        if !(0.0..=360.0).contains(&course) {
            return Err(Refusal::Range);
        }
        values.put(Quantity::CourseOverGround, Reference::True, course);
    }
    if let Some(variation) = variation {
        values.put(Quantity::MagneticVariation, Reference::Unsaid, variation);
    }
    Ok(())
}

/// A date in six digits. Years 80 to 99 are the last century's: GPS time began in 1980.
fn ddmmyy(text: &[u8]) -> Result<i64, Refusal> {
    let &[d, e, m, n, y, z] = text else { return Err(Refusal::Malformed) };
    if !text.iter().all(u8::is_ascii_digit) {
        return Err(Refusal::Malformed);
    }
    let two = |tens: u8, ones: u8| i64::from(tens - b'0') * 10 + i64::from(ones - b'0');
    let year = two(y, z);
    let year = if year >= 80 { 1900 + year } else { 2000 + year };
    stamp::day(year, two(m, n), two(d, e)).ok_or(Refusal::Range)
}

fn put_position(values: &mut Values, position: Option<(f64, f64)>) {
    if let Some((latitude, longitude)) = position {
        values.put(Quantity::Latitude, Reference::Unsaid, latitude);
        values.put(Quantity::Longitude, Reference::Unsaid, longitude);
    }
}

pub(super) fn gga(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let time = fields.time()?;
    let position = fields.position()?;
    match fields.text() {
        b"0" | b"" => return Err(Refusal::Void),
        b"7" | b"8" => return Err(Refusal::Simulated),
        [b'1'..=b'6' | b'9'] => {}
        _ => return Err(Refusal::Malformed),
    }
    fields.skip(1);
    let hdop = fields.value()?;
    let altitude = fields.number_in(b'M')?;
    values.told = time.map(Told::TimeOfDay);
    put_position(values, position);
    if let Some(hdop) = hdop {
        values.put(Quantity::Hdop, Reference::Unsaid, hdop);
    }
    if let Some(altitude) = altitude {
        values.put(Quantity::Altitude, Reference::Unsaid, altitude.value());
    }
    Ok(())
}

pub(super) fn gll(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let position = fields.position()?;
    // The first versions of the standard end here.
    if !fields.at_end() {
        let time = fields.time()?;
        fields.status()?;
        fields.mode()?;
        values.told = time.map(Told::TimeOfDay);
    }
    put_position(values, position);
    Ok(())
}

pub(super) fn zda(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let time = fields.time()?;
    let mut whole = || -> Result<Option<i64>, Refusal> {
        match fields.number()? {
            Some(number) if number.decimals > 0 => Err(Refusal::Malformed),
            number => Ok(number.map(|number| number.mantissa)),
        }
    };
    let (day, month, year) = (whole()?, whole()?, whole()?);
    if let (Some(time), Some(day), Some(month), Some(year)) = (time, day, month, year) {
        if year < 1980 {
            return Err(Refusal::Range);
        }
        values.told = Some(Told::Dated(stamp::day(year, month, day).ok_or(Refusal::Range)?, time));
    }
    Ok(())
}

pub(super) fn bwc(fields: &mut Fields, values: &mut Values, channels: &mut Channels) -> Result<(), Refusal> {
    fields.skip(1);
    let position = fields.position()?;
    let bearing_true = fields.number_in(b'T')?;
    let bearing_magnetic = fields.number_in(b'M')?;
    let distance = fields.number_in(b'N')?;
    let name = fields.text();
    fields.mode()?;
    let name = channels.instance(&String::from_utf8_lossy(name)).ok_or(Refusal::TooMany)?;
    if let Some((latitude, longitude)) = position {
        values.put_instance(Quantity::WaypointLatitude, Reference::Unsaid, name, latitude);
        values.put_instance(Quantity::WaypointLongitude, Reference::Unsaid, name, longitude);
    }
    for (bearing, reference) in [(bearing_true, Reference::True), (bearing_magnetic, Reference::Magnetic)] {
        if let Some(bearing) = bearing {
            values.put_instance(Quantity::WaypointBearing, reference, name, bearing.value());
        }
    }
    if let Some(distance) = distance {
        values.put_instance(Quantity::WaypointDistance, Reference::Unsaid, name, distance.value());
    }
    Ok(())
}
