//! Engine, rudder and transducers: `RPM`, `RSA`, `XDR`.
//!
//! ```text
//! $IIRPM,E,1,2418.2,10.5,A*5F           Engine or Shaft, its number, rpm, propeller pitch %, status
//! $IIRSA,-3.9,A,,V*hh                   starboard or single rudder, status, port rudder, status; port negative
//! $IIXDR,C,,C,AIRTEMP,A,-1.0,D,HEEL*hh  type, value, unit, name; again and again
//! ```
//!
//! Types of an XDR: C temperature (C), A angle (D), P pressure (B or P), U voltage (V), I current (A), H humidity (P),
//! T tachometer (R), V volume (M), G anything. Source: gpsd `www/NMEA.adoc` @46977fa; U, I, H, T and V from memory,
//! with values checked against the tests of adrianmo/go-nmea @e4d24e3.

use super::fields::Fields;
use crate::instrument::account::Refusal;
use crate::instrument::channel::{Channels, Instance};
use crate::instrument::log::Values;
use crate::instrument::number;
use crate::instrument::quantity::{Quantity, Reference};

pub(super) fn rpm(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let quantity = match fields.letter()? {
        b'E' => Quantity::EngineSpeed,
        b'S' => Quantity::ShaftSpeed,
        _ => return Err(Refusal::Malformed),
    };
    let number = fields.number()?;
    let speed = fields.value()?;
    let pitch = fields.value()?;
    fields.status()?;
    let instance = instance(number)?;
    if let Some(speed) = speed {
        values.put_instance(quantity, Reference::Unsaid, instance, speed);
    }
    if let Some(pitch) = pitch {
        values.put_instance(Quantity::PropellerPitch, Reference::Unsaid, instance, pitch);
    }
    Ok(())
}

fn instance(number: Option<number::Decimal>) -> Result<Instance, Refusal> {
    match number {
        None => Ok(Instance::ONLY),
        Some(number::Decimal { mantissa: mantissa @ 0..=255, decimals: 0, .. }) => {
            Ok(Instance::number(mantissa as u16))
        }
        Some(_) => Err(Refusal::Malformed),
    }
}

pub(super) fn rsa(fields: &mut Fields, values: &mut Values, channels: &mut Channels) -> Result<(), Refusal> {
    let single = fields.value()?;
    let single_status = fields.status();
    let port = fields.value()?;
    let port_status = fields.status();
    if single_status.is_err() && port_status.is_err() {
        return single_status;
    }
    if let (Some(angle), Ok(())) = (single, single_status) {
        values.put(Quantity::RudderAngle, Reference::Unsaid, angle);
    }
    if let (Some(angle), Ok(())) = (port, port_status) {
        let instance = channels.instance("port").ok_or(Refusal::TooMany)?;
        values.put_instance(Quantity::RudderAngle, Reference::Unsaid, instance, angle);
    }
    Ok(())
}

pub(super) fn xdr(fields: &mut Fields, values: &mut Values, channels: &mut Channels) -> Result<(), Refusal> {
    values.apart = true;
    while !fields.at_end() {
        let kind = fields.letter()?;
        let sent = fields.number();
        let unit = fields.letter();
        let name = fields.text();
        match quad(kind, sent, unit, name, channels) {
            Ok(Some((quantity, instance, value))) => {
                values.put_instance(quantity, Reference::Unsaid, instance, value);
            }
            Ok(None) => {}
            Err(why) => values.refuse(why),
        }
    }
    Ok(())
}

type Quad = Option<(Quantity, Instance, f64)>;

fn quad(
    kind: u8,
    sent: Result<Option<number::Decimal>, Refusal>,
    unit: Result<u8, Refusal>,
    name: &[u8],
    channels: &mut Channels,
) -> Result<Quad, Refusal> {
    let Some(value) = sent? else { return Ok(None) };
    let (value, unit) = (value.value(), unit?);
    let (quantity, value) = match (kind, unit) {
        (b'C', b'C') => (temperature(name), value),
        (b'C', b'K') => (temperature(name), value - 273.15),
        (b'A', b'D') => (angle(name), value),
        (b'P', b'B') => pressure(name, value),
        (b'P', b'P') => pressure(name, value / 1e5),
        (b'U', b'V') => (Quantity::Voltage, value),
        (b'I', b'A') => (Quantity::Current, value),
        (b'H', b'P') => (Quantity::RelativeHumidity, value),
        (b'T', b'R') => (Quantity::EngineSpeed, value),
        (b'V', b'M') => (Quantity::Volume, value * 1000.0),
        (b'F', b'H') => (Quantity::Frequency, value),
        (b'G', _) => (Quantity::Generic, value),
        (b'A' | b'C' | b'F' | b'H' | b'I' | b'P' | b'T' | b'U' | b'V', _) => {
            return Err(Refusal::UnknownUnit);
        }
        // Salinity, switches, flow, forces: nothing here asks for them.
        _ => return Ok(None),
    };
    let instance = channels.instance(&String::from_utf8_lossy(name)).ok_or(Refusal::TooMany)?;
    Ok(Some((quantity, instance, value)))
}

/// Whether one of some words stands in a transducer's name.
fn named(name: &[u8], words: &[&str]) -> bool {
    words.iter().any(|word| {
        name.len() >= word.len()
            && name.windows(word.len()).any(|part| part.eq_ignore_ascii_case(word.as_bytes()))
    })
}

/// The names below are the ones seen in published logs and tests; a name not among them is kept as the instance of
/// a plain `temperature`, `angle` or `fluid_pressure`.
fn temperature(name: &[u8]) -> Quantity {
    if named(name, &["AIR", "OUTSIDE"]) {
        Quantity::AirTemperature
    } else if named(name, &["WATER", "SEA"]) {
        Quantity::SeaTemperature
    } else if named(name, &["DEW"]) {
        Quantity::DewPoint
    } else if named(name, &["CABIN", "INSIDE"]) {
        Quantity::CabinTemperature
    } else if named(name, &["ENGINE"]) {
        Quantity::EngineTemperature
    } else {
        Quantity::Temperature
    }
}

fn angle(name: &[u8]) -> Quantity {
    if named(name, &["HEEL", "ROLL"]) {
        Quantity::Heel
    } else if named(name, &["TRIM", "PITCH", "PTCH"]) {
        Quantity::Pitch
    } else if named(name, &["RUDDER"]) {
        Quantity::RudderAngle
    } else {
        Quantity::Angle
    }
}

fn pressure(name: &[u8], bar: f64) -> (Quantity, f64) {
    if named(name, &["OIL"]) {
        (Quantity::OilPressure, bar)
    } else if named(name, &["BARO", "ATM", "AIR"]) {
        (Quantity::Pressure, bar * 1000.0)
    } else {
        (Quantity::FluidPressure, bar)
    }
}
