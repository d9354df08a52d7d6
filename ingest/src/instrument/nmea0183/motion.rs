//! Speed, course, heading and turn: `VHW`, `VTG`, `VLW`, `HDG`, `HDM`, `HDT`, `ROT`.
//!
//! ```text
//! $SDVHW,231.3,T,229.9,M,6.6,N,12.3,K*71              heading true, magnetic; speed through the water kn, km/h
//! $GPVTG,230.5,T,229.1,M,5.6,N,10.4,K,A*19            course true, magnetic; speed over ground kn, km/h; mode
//! $SDVLW,,N,545.6,N,1109.4,N,393.6,N*44               water in all, water trip, ground in all, ground trip, nmi
//! $HCHDG,98.3,0.0,E,12.6,W*57                         compass, deviation, variation
//! $HEROT,-11.23,A*07                                  degrees a minute, port negative; status
//! ```
//!
//! Magnetic = compass + deviation, true = magnetic + variation, east positive. Source: gpsd `www/NMEA.adoc` @46977fa.

use super::fields::{Fields, same};
use crate::instrument::account::Refusal;
use crate::instrument::log::Values;
use crate::instrument::quantity::{KN_PER_KM_H, Quantity, Reference};

pub(super) fn vhw(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let heading_true = fields.number_in(b'T')?;
    let heading_magnetic = fields.number_in(b'M')?;
    let knots = fields.number_in(b'N')?;
    let kilometres = fields.number_in(b'K')?;
    let speed = same([(knots, 1.0), (kilometres, KN_PER_KM_H)])?;
    if let Some(speed) = speed {
        values.put(Quantity::BoatSpeed, Reference::Water, speed);
    }
    if let Some(heading) = heading_true {
        put_heading(values, Reference::True, heading.value())?;
    }
    if let Some(heading) = heading_magnetic {
        put_heading(values, Reference::Magnetic, heading.value())?;
    }
    Ok(())
}

/// A sent direction lies within one turn; what lies outside is refused rather than turned back.
fn put_heading(values: &mut Values, reference: Reference, heading: f64) -> Result<(), Refusal> {
    if !(0.0..=360.0).contains(&heading) {
        return Err(Refusal::Range);
    }
    values.put(Quantity::Heading, reference, heading);
    Ok(())
}

pub(super) fn vtg(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let mut letters = *fields;
    letters.skip(1);
    let old = letters.text() != b"T";
    // The old form has four bare numbers: course true, course magnetic, knots, km/h.
    let (course_true, course_magnetic, knots, kilometres);
    if old {
        course_true = fields.number()?;
        course_magnetic = fields.number()?;
        knots = fields.number()?;
        kilometres = fields.number()?;
        if !fields.at_end() {
            return Err(Refusal::Malformed);
        }
    } else {
        course_true = fields.number_in(b'T')?;
        course_magnetic = fields.number_in(b'M')?;
        knots = fields.number_in(b'N')?;
        kilometres = fields.number_in(b'K')?;
        fields.mode()?;
    }
    let speed = same([(knots, 1.0), (kilometres, KN_PER_KM_H)])?;
    for (course, reference) in [(course_true, Reference::True), (course_magnetic, Reference::Magnetic)] {
        if let Some(course) = course {
            if !(0.0..=360.0).contains(&course.value()) {
                return Err(Refusal::Range);
            }
            values.put(Quantity::CourseOverGround, reference, course.value());
        }
    }
    if let Some(speed) = speed {
        values.put(Quantity::SpeedOverGround, Reference::Ground, speed);
    }
    Ok(())
}

pub(super) fn vlw(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    for (quantity, reference) in [
        (Quantity::LogDistance, Reference::Water),
        (Quantity::TripDistance, Reference::Water),
        (Quantity::LogDistance, Reference::Ground),
        (Quantity::TripDistance, Reference::Ground),
    ] {
        if let Some(distance) = fields.number_in(b'N')? {
            values.put(quantity, reference, distance.value());
        }
    }
    Ok(())
}

pub(super) fn hdg(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let Some(compass) = fields.value()? else { return Ok(()) };
    let deviation = fields.sided(b'E', b'W')?;
    let variation = fields.sided(b'E', b'W')?;
    if !(0.0..=360.0).contains(&compass) {
        return Err(Refusal::Range);
    }
    let magnetic = compass + deviation.unwrap_or(0.0);
    values.put(Quantity::Heading, Reference::Magnetic, magnetic);
    if let Some(deviation) = deviation
        && deviation != 0.0
    {
        values.put(Quantity::Heading, Reference::Compass, compass);
        values.put(Quantity::CompassDeviation, Reference::Unsaid, deviation);
    }
    if let Some(variation) = variation {
        values.put(Quantity::MagneticVariation, Reference::Unsaid, variation);
        // Kept within one turn before the variation goes on, as two turns would be out of range.
        values.put(Quantity::Heading, Reference::True, Quantity::Heading.kept(magnetic) + variation);
    }
    Ok(())
}

pub(super) fn hdm(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    heading(fields, values, b'M', Reference::Magnetic)
}

pub(super) fn hdt(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    heading(fields, values, b'T', Reference::True)
}

fn heading(
    fields: &mut Fields,
    values: &mut Values,
    letter: u8,
    reference: Reference,
) -> Result<(), Refusal> {
    match fields.number_in(letter)? {
        Some(heading) => put_heading(values, reference, heading.value()),
        None => Ok(()),
    }
}

pub(super) fn rot(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let rate = fields.value()?;
    fields.status()?;
    if let Some(rate) = rate {
        values.put(Quantity::RateOfTurn, Reference::Unsaid, rate);
    }
    Ok(())
}
