//! Wind: `MWV`, `MWD`, `VWR`, `VWT`.
//!
//! ```text
//! $WIMWV,57.5,R,13.0,N,A*26                           angle 0–359, R apparent or T true, speed, K M N, status
//! $WIMWD,328.2,T,326.8,M,11.2,N,5.8,M*61              from, true; from, magnetic; knots; metres per second
//! $IIVWR,75,R,1.0,N,0.51,M,1.85,K*6C                  angle 0–180, side, knots, m/s, km/h; apparent
//! $IIVWT,030.,R,10.1,N,05.2,M,018.7,K*75              the same; true
//! ```
//!
//! The true wind of `MWV` and `VWT` is the one over the water. Source: gpsd `www/NMEA.adoc` @46977fa; VWT from the
//! tests of SignalK/nmea0183-signalk @e587926.

use super::fields::{Fields, same};
use crate::instrument::account::Refusal;
use crate::instrument::log::Values;
use crate::instrument::quantity::{KN_PER_KM_H, KN_PER_M_S, Quantity, Reference};

pub(super) fn mwv(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let angle = fields.value()?;
    let kind = fields.letter()?;
    let speed = fields.value()?;
    let unit = fields.letter()?;
    fields.status()?;
    let knots = match (speed, unit) {
        (None, _) => None,
        (Some(speed), b'N') => Some(speed),
        (Some(speed), b'K') => Some(speed * KN_PER_KM_H),
        (Some(speed), b'M') => Some(speed * KN_PER_M_S),
        (Some(_), _) => return Err(Refusal::UnknownUnit),
    };
    let (angle_of, speed_of, reference) = match kind {
        b'R' => (Quantity::ApparentWindAngle, Quantity::ApparentWindSpeed, Reference::Unsaid),
        b'T' => (Quantity::TrueWindAngle, Quantity::TrueWindSpeed, Reference::Water),
        _ => return Err(Refusal::Malformed),
    };
    if let Some(angle) = angle {
        within_turn(angle)?;
        values.put(angle_of, reference, angle);
    }
    if let Some(knots) = knots {
        values.put(speed_of, reference, knots);
    }
    Ok(())
}

/// An angle sent as 0–359 is out of range below nought and beyond a turn, though it would fold back.
fn within_turn(angle: f64) -> Result<(), Refusal> {
    if (0.0..=360.0).contains(&angle) { Ok(()) } else { Err(Refusal::Range) }
}

pub(super) fn mwd(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let from_true = fields.number_in(b'T')?;
    let from_magnetic = fields.number_in(b'M')?;
    let knots = fields.number_in(b'N')?;
    let metres = fields.number_in(b'M')?;
    let speed = same([(knots, 1.0), (metres, KN_PER_M_S)])?;
    for (from, reference) in [(from_true, Reference::True), (from_magnetic, Reference::Magnetic)] {
        if let Some(from) = from {
            within_turn(from.value())?;
            values.put(Quantity::WindDirection, reference, from.value());
        }
    }
    if let Some(speed) = speed {
        values.put(Quantity::TrueWindSpeed, Reference::Unsaid, speed);
    }
    Ok(())
}

pub(super) fn vwr(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    sided_wind(fields, values, Quantity::ApparentWindAngle, Quantity::ApparentWindSpeed, Reference::Unsaid)
}

pub(super) fn vwt(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    sided_wind(fields, values, Quantity::TrueWindAngle, Quantity::TrueWindSpeed, Reference::Water)
}

fn sided_wind(
    fields: &mut Fields,
    values: &mut Values,
    angle_of: Quantity,
    speed_of: Quantity,
    reference: Reference,
) -> Result<(), Refusal> {
    let angle = fields.sided(b'R', b'L')?;
    let knots = fields.number_in(b'N')?;
    let metres = fields.number_in(b'M')?;
    let kilometres = fields.number_in(b'K')?;
    let speed = same([(knots, 1.0), (metres, KN_PER_M_S), (kilometres, KN_PER_KM_H)])?;
    if let Some(angle) = angle {
        // Beyond 180° a side makes no sense: either of the two fields is wrong, and which is not told.
        if angle.abs() > 180.0 {
            return Err(Refusal::Range);
        }
        values.put(angle_of, reference, angle);
    }
    if let Some(speed) = speed {
        values.put(speed_of, reference, speed);
    }
    Ok(())
}
