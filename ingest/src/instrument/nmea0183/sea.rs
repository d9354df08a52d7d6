//! Depth and sea temperature, and the weather: `DPT`, `DBT`, `DBS`, `DBK`, `MTW`, `MTA`, `MDA`.
//!
//! ```text
//! $SDDPT,5.3,0.4,*79                    metres below the transducer; offset: up to the waterline +, down to the keel −
//! $SDDBT,7.8,f,2.4,M,1.3,F*0D           below the transducer in feet, metres, fathoms (DBS surface, DBK keel)
//! $INMTW,17.9,C*1B                      sea temperature, °C (MTA: air)
//! $WIMDA,29.92,I,1.0132,B,18.0,C,15.1,C,62.0,,10.6,C,231.0,T,229.6,M,12.0,N,6.2,M*hh
//!        inHg, bar, air, sea, relative and absolute humidity, dew point, wind from true, magnetic, kn, m/s
//! ```
//!
//! The transducer's offset is kept apart, and the depth below surface or keel is a channel of its own.
//! Source: gpsd `www/NMEA.adoc` @46977fa.

use super::fields::{Fields, same};
use crate::instrument::account::Refusal;
use crate::instrument::log::Values;
use crate::instrument::quantity::{HPA_PER_INHG, KN_PER_M_S, M_PER_FATHOM, M_PER_FT, Quantity, Reference};

pub(super) fn dpt(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let Some(depth) = fields.value()? else { return Ok(()) };
    let offset = fields.value()?;
    put_depth(values, depth, offset)
}

/// A depth below the transducer, and what the offset makes of it.
pub(in crate::instrument) fn put_depth(
    values: &mut Values,
    depth: f64,
    offset: Option<f64>,
) -> Result<(), Refusal> {
    if depth < 0.0 {
        return Err(Refusal::Range);
    }
    values.put(Quantity::WaterDepth, Reference::Transducer, depth);
    if let Some(offset) = offset {
        values.put(Quantity::TransducerOffset, Reference::Unsaid, offset);
        // An offset of nought is one that nobody set: it tells neither surface nor keel.
        if offset > 0.0 {
            values.put(Quantity::WaterDepth, Reference::Surface, depth + offset);
        } else if offset < 0.0 {
            values.put(Quantity::WaterDepth, Reference::Keel, depth + offset);
        }
    }
    Ok(())
}

pub(super) fn dbt(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    depth(fields, values, Reference::Transducer)
}

pub(super) fn dbs(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    depth(fields, values, Reference::Surface)
}

pub(super) fn dbk(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    depth(fields, values, Reference::Keel)
}

fn depth(fields: &mut Fields, values: &mut Values, reference: Reference) -> Result<(), Refusal> {
    let feet = fields.number_in(b'f')?;
    let metres = fields.number_in(b'M')?;
    let fathoms = fields.number_in(b'F')?;
    if let Some(depth) = same([(metres, 1.0), (feet, M_PER_FT), (fathoms, M_PER_FATHOM)])? {
        values.put(Quantity::WaterDepth, reference, depth);
    }
    Ok(())
}

pub(super) fn mtw(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    temperature(fields, values, Quantity::SeaTemperature)
}

pub(super) fn mta(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    temperature(fields, values, Quantity::AirTemperature)
}

fn temperature(fields: &mut Fields, values: &mut Values, quantity: Quantity) -> Result<(), Refusal> {
    if let Some(degrees) = fields.number_in(b'C')? {
        values.put(quantity, Reference::Unsaid, degrees.value());
    }
    Ok(())
}

pub(super) fn mda(fields: &mut Fields, values: &mut Values) -> Result<(), Refusal> {
    let inches = fields.number_in(b'I')?;
    let bar = fields.number_in(b'B')?;
    let air = fields.number_in(b'C')?;
    let sea = fields.number_in(b'C')?;
    let humidity = fields.value()?;
    fields.skip(1);
    let dew = fields.number_in(b'C')?;
    let from_true = fields.number_in(b'T')?;
    let from_magnetic = fields.number_in(b'M')?;
    let knots = fields.number_in(b'N')?;
    let metres = fields.number_in(b'M')?;
    values.apart = true;
    let mut put = |quantity, reference, value: Option<f64>| {
        if let Some(value) = value {
            values.put(quantity, reference, value);
        }
    };
    put(Quantity::AirTemperature, Reference::Unsaid, air.map(|n| n.value()));
    put(Quantity::SeaTemperature, Reference::Unsaid, sea.map(|n| n.value()));
    put(Quantity::RelativeHumidity, Reference::Unsaid, humidity);
    put(Quantity::DewPoint, Reference::Unsaid, dew.map(|n| n.value()));
    put(Quantity::WindDirection, Reference::True, from_true.map(|n| n.value()));
    put(Quantity::WindDirection, Reference::Magnetic, from_magnetic.map(|n| n.value()));
    for (quantity, sent) in [
        (Quantity::Pressure, same([(bar, 1000.0), (inches, HPA_PER_INHG)])),
        (Quantity::TrueWindSpeed, same([(knots, 1.0), (metres, KN_PER_M_S)])),
    ] {
        match sent {
            Ok(Some(value)) => values.put(quantity, Reference::Unsaid, value),
            Ok(None) => {}
            Err(why) => values.refuse(why),
        }
    }
    Ok(())
}
