//! What each parameter group holds: wind, heading, attitude, engine, battery, tanks, depth, position, weather.
//!
//! The fields are those of canboat's `docs/canboat.json` @01d0dc3 (Apache-2.0), as facts: bit offset, length,
//! resolution. All bits set (for a signed field, all but the sign) is "not available", one less is "out of range".
//! The numbers of temperature, pressure and tank kinds are from memory.

use crate::instrument::account::Refusal;
use crate::instrument::channel::{Channels, Instance};
use crate::instrument::log::{Told, Values};
use crate::instrument::nmea0183::sea::put_depth;
use crate::instrument::quantity::{DEG_PER_RAD, KN_PER_M_S, Quantity, Reference, ZERO_C_IN_K};
use crate::instrument::stamp::DAY;

/// The bytes of a message.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    /// The bits from `start`, little end first; `None` where the message is too short.
    fn bits(&self, start: usize, length: usize) -> Option<u64> {
        let (first, shift) = (start / 8, start % 8);
        let held = self.0.get(first..(start + length).div_ceil(8))?;
        let all = held.iter().rev().fold(0u128, |bits, &b| bits << 8 | u128::from(b)) >> shift;
        Some((all & ((1u128 << length) - 1)) as u64)
    }

    /// A small number that may take all its values: an instance, a kind.
    fn code(&self, start: usize, length: usize) -> Option<u64> {
        self.bits(start, length).filter(|&raw| raw != (1 << length) - 1)
    }

    fn unsigned(&self, start: usize, length: usize, resolution: f64) -> Option<f64> {
        let most = u64::MAX >> (64 - length);
        self.bits(start, length).filter(|&raw| raw < most - 1).map(|raw| raw as f64 * resolution)
    }

    fn signed(&self, start: usize, length: usize, resolution: f64) -> Option<f64> {
        let raw = self.bits(start, length)?;
        let most = (u64::MAX >> (64 - length)) >> 1;
        if raw == most || raw == most - 1 {
            return None;
        }
        let spread = 64 - length;
        Some((((raw << spread) as i64) >> spread) as f64 * resolution)
    }
}

/// Whether a group is read here.
pub(super) fn is_known(pgn: u32) -> bool {
    matches!(
        pgn,
        126_992
            | 127_245
            | 127_250
            | 127_251
            | 127_257
            | 127_488
            | 127_489
            | 127_505
            | 127_506
            | 127_508
            | 128_259
            | 128_267
            | 128_275
            | 129_025
            | 129_026
            | 129_029
            | 130_306
            | 130_310..=130_314 | 130_316
    )
}

/// Reads a message of a group that [`is_known`].
pub(super) fn read(
    pgn: u32,
    data: &[u8],
    values: &mut Values,
    channels: &mut Channels,
) -> Result<(), Refusal> {
    let bytes = Bytes(data);
    match pgn {
        126_992 => values.told = time(&bytes, 16, 32),
        127_245 => {
            let instance = numbered(bytes.code(0, 8));
            put(values, Quantity::RudderAngle, instance, bytes.signed(32, 16, 1e-4 * DEG_PER_RAD));
        }
        127_250 => heading(&bytes, values),
        127_251 => {
            let rate = bytes.signed(8, 32, 3.125e-8 * DEG_PER_RAD * 60.0);
            put(values, Quantity::RateOfTurn, Instance::ONLY, rate);
        }
        127_257 => {
            put(values, Quantity::Pitch, Instance::ONLY, bytes.signed(24, 16, 1e-4 * DEG_PER_RAD));
            put(values, Quantity::Heel, Instance::ONLY, bytes.signed(40, 16, 1e-4 * DEG_PER_RAD));
        }
        127_488 => {
            let engine = bytes.code(0, 8);
            put(values, Quantity::EngineSpeed, numbered(engine), bytes.unsigned(8, 16, 0.25));
            let boost = bytes.unsigned(24, 16, 100.0 / 1e5);
            put_named(values, channels, Quantity::FluidPressure, "boost", engine, boost)?;
        }
        127_489 => engine(&bytes, values, channels)?,
        127_505 => tank(&bytes, values, channels)?,
        // Only a battery has a state of charge; kind 0 is a battery.
        127_506 if bytes.code(16, 8) == Some(0) => {
            let charge = bytes.unsigned(24, 8, 1.0);
            put(values, Quantity::StateOfCharge, numbered(bytes.code(8, 8)), charge);
        }
        127_508 => {
            let battery = bytes.code(0, 8);
            put(values, Quantity::Voltage, numbered(battery), bytes.signed(8, 16, 0.01));
            put(values, Quantity::Current, numbered(battery), bytes.signed(24, 16, 0.1));
            let temperature = bytes.unsigned(40, 16, 0.01).map(|k| k - ZERO_C_IN_K);
            put_named(values, channels, Quantity::Temperature, "battery", battery, temperature)?;
        }
        128_259 => {
            if let Some(speed) = bytes.unsigned(8, 16, 0.01 * KN_PER_M_S) {
                values.put(Quantity::BoatSpeed, Reference::Water, speed);
            }
        }
        128_267 => {
            if let Some(depth) = bytes.unsigned(8, 32, 0.01) {
                put_depth(values, depth, bytes.signed(40, 16, 0.001))?;
            }
        }
        128_275 => {
            for (quantity, start) in [(Quantity::LogDistance, 48), (Quantity::TripDistance, 80)] {
                if let Some(distance) = bytes.unsigned(start, 32, 1.0 / 1852.0) {
                    values.put(quantity, Reference::Water, distance);
                }
            }
        }
        129_025 => {
            put(values, Quantity::Latitude, Instance::ONLY, bytes.signed(0, 32, 1e-7));
            put(values, Quantity::Longitude, Instance::ONLY, bytes.signed(32, 32, 1e-7));
        }
        129_026 => {
            let reference = match bytes.code(8, 2) {
                Some(0) => Some(Reference::True),
                Some(1) => Some(Reference::Magnetic),
                _ => None,
            };
            if let (Some(reference), Some(course)) = (reference, bytes.unsigned(16, 16, 1e-4 * DEG_PER_RAD)) {
                values.put(Quantity::CourseOverGround, reference, course);
            }
            if let Some(speed) = bytes.unsigned(32, 16, 0.01 * KN_PER_M_S) {
                values.put(Quantity::SpeedOverGround, Reference::Ground, speed);
            }
        }
        129_029 => {
            // Method 0 is "no fix", 6 to 8 are reckoned, typed in and simulated.
            match bytes.bits(252, 4) {
                Some(1..=6) => {}
                Some(7 | 8) => return Err(Refusal::Simulated),
                Some(_) => return Err(Refusal::Void),
                None => return Err(Refusal::Truncated),
            }
            values.told = time(&bytes, 8, 24);
            put(values, Quantity::Latitude, Instance::ONLY, bytes.signed(56, 64, 1e-16));
            put(values, Quantity::Longitude, Instance::ONLY, bytes.signed(120, 64, 1e-16));
            put(values, Quantity::Altitude, Instance::ONLY, bytes.signed(184, 64, 1e-6));
            put(values, Quantity::Hdop, Instance::ONLY, bytes.signed(272, 16, 0.01));
        }
        130_306 => wind(&bytes, values),
        130_310 => {
            put(values, Quantity::SeaTemperature, Instance::ONLY, kelvin(&bytes, 8));
            put(values, Quantity::AirTemperature, Instance::ONLY, kelvin(&bytes, 24));
            put(values, Quantity::Pressure, Instance::ONLY, bytes.unsigned(40, 16, 1.0));
        }
        130_311 => {
            let temperature = kelvin(&bytes, 16);
            put_temperature(values, channels, bytes.code(8, 6), None, temperature)?;
            let place = match bytes.code(14, 2) {
                Some(0) => "inside",
                Some(1) => "outside",
                _ => "",
            };
            let instance = channels.instance(place).ok_or(Refusal::TooMany)?;
            put(values, Quantity::RelativeHumidity, instance, bytes.signed(32, 16, 0.004));
            put(values, Quantity::Pressure, Instance::ONLY, bytes.unsigned(48, 16, 1.0));
        }
        130_312 => {
            put_temperature(values, channels, bytes.code(16, 8), bytes.code(8, 8), kelvin(&bytes, 24))?
        }
        130_313 => {
            let place = match bytes.code(16, 8) {
                Some(0) => "inside",
                Some(1) => "outside",
                _ => "",
            };
            let humidity = bytes.signed(24, 16, 0.004);
            put_named(values, channels, Quantity::RelativeHumidity, place, bytes.code(8, 8), humidity)?;
        }
        130_314 => pressure(&bytes, values, channels)?,
        130_316 => {
            let temperature = bytes.unsigned(24, 24, 0.001).map(|k| k - ZERO_C_IN_K);
            put_temperature(values, channels, bytes.code(16, 8), bytes.code(8, 8), temperature)?;
        }
        _ => {}
    }
    Ok(())
}

fn put(values: &mut Values, quantity: Quantity, instance: Instance, value: Option<f64>) {
    if let Some(value) = value {
        values.put_instance(quantity, Reference::Unsaid, instance, value);
    }
}

fn numbered(number: Option<u64>) -> Instance {
    number.map_or(Instance::ONLY, |number| Instance::number(number as u16))
}

/// A value of which there are several kinds as well as several: the kind is the instance, with its number where
/// that is not the first ("battery", "battery 1").
fn put_named(
    values: &mut Values,
    channels: &mut Channels,
    quantity: Quantity,
    name: &str,
    number: Option<u64>,
    value: Option<f64>,
) -> Result<(), Refusal> {
    if value.is_some() {
        let instance = match number {
            None | Some(0) => channels.instance(name),
            Some(number) => channels.numbered_instance(name, number as u16),
        };
        put(values, quantity, instance.ok_or(Refusal::TooMany)?, value);
    }
    Ok(())
}

fn kelvin(bytes: &Bytes, start: usize) -> Option<f64> {
    bytes.unsigned(start, 16, 0.01).map(|k| k - ZERO_C_IN_K)
}

fn time(bytes: &Bytes, day: usize, clock: usize) -> Option<Told> {
    let day = bytes.unsigned(day, 16, 1.0)?;
    let clock = bytes.unsigned(clock, 32, 100.0)? as i64;
    (clock < DAY).then_some(Told::Dated(day as i64, clock))
}

fn heading(bytes: &Bytes, values: &mut Values) {
    let heading = bytes.unsigned(8, 16, 1e-4 * DEG_PER_RAD);
    let deviation = bytes.signed(24, 16, 1e-4 * DEG_PER_RAD);
    let variation = bytes.signed(40, 16, 1e-4 * DEG_PER_RAD);
    put(values, Quantity::MagneticVariation, Instance::ONLY, variation);
    let Some(heading) = heading else { return };
    match bytes.code(56, 2) {
        Some(0) => values.put(Quantity::Heading, Reference::True, heading),
        Some(1) => {
            let magnetic = heading + deviation.unwrap_or(0.0);
            values.put(Quantity::Heading, Reference::Magnetic, magnetic);
            if let Some(deviation) = deviation.filter(|&deviation| deviation != 0.0) {
                values.put(Quantity::Heading, Reference::Compass, heading);
                values.put(Quantity::CompassDeviation, Reference::Unsaid, deviation);
            }
            if let Some(variation) = variation {
                let magnetic = Quantity::Heading.kept(magnetic);
                values.put(Quantity::Heading, Reference::True, magnetic + variation);
            }
        }
        _ => {}
    }
}

fn engine(bytes: &Bytes, values: &mut Values, channels: &mut Channels) -> Result<(), Refusal> {
    let number = bytes.code(0, 8);
    let engine = numbered(number);
    values.apart = true;
    put(values, Quantity::OilPressure, engine, bytes.unsigned(8, 16, 100.0 / 1e5));
    put(values, Quantity::OilTemperature, engine, bytes.unsigned(24, 16, 0.1).map(|k| k - ZERO_C_IN_K));
    put(values, Quantity::EngineTemperature, engine, kelvin(bytes, 40));
    put_named(values, channels, Quantity::Voltage, "alternator", number, bytes.signed(56, 16, 0.01))?;
    put(values, Quantity::FuelRate, engine, bytes.signed(72, 16, 0.1));
    put(values, Quantity::EngineHours, engine, bytes.unsigned(88, 32, 1.0 / 3600.0));
    put(values, Quantity::EngineLoad, engine, bytes.signed(192, 8, 1.0));
    Ok(())
}

fn tank(bytes: &Bytes, values: &mut Values, channels: &mut Channels) -> Result<(), Refusal> {
    let number = bytes.code(0, 4);
    let level = bytes.signed(8, 16, 0.004);
    let capacity = bytes.unsigned(24, 32, 0.1);
    let held = level.zip(capacity).map(|(level, capacity)| level / 100.0 * capacity);
    let name = match bytes.code(4, 4) {
        Some(0) => {
            put(values, Quantity::FuelLevel, numbered(number), level);
            put(values, Quantity::FuelVolume, numbered(number), held);
            "fuel"
        }
        Some(1) => {
            put(values, Quantity::WaterLevel, numbered(number), level);
            put(values, Quantity::WaterVolume, numbered(number), held);
            "water"
        }
        Some(2) => "grey water",
        Some(3) => "live well",
        Some(4) => "oil",
        Some(5) => "black water",
        _ => "tank",
    };
    if !matches!(name, "fuel" | "water") {
        put_named(values, channels, Quantity::TankLevel, name, number, level)?;
        put_named(values, channels, Quantity::Volume, name, number, held)?;
    }
    put_named(values, channels, Quantity::TankCapacity, name, number, capacity)
}

fn wind(bytes: &Bytes, values: &mut Values) {
    let (angle_of, speed_of, from, over) = match bytes.code(40, 3) {
        Some(0) => (Quantity::WindDirection, Quantity::TrueWindSpeed, Reference::True, Reference::Ground),
        Some(1) => (Quantity::WindDirection, Quantity::TrueWindSpeed, Reference::Magnetic, Reference::Ground),
        Some(2) => {
            (Quantity::ApparentWindAngle, Quantity::ApparentWindSpeed, Reference::Unsaid, Reference::Unsaid)
        }
        Some(3) => (Quantity::TrueWindAngle, Quantity::TrueWindSpeed, Reference::Ground, Reference::Ground),
        Some(4) => (Quantity::TrueWindAngle, Quantity::TrueWindSpeed, Reference::Water, Reference::Water),
        _ => (Quantity::Angle, Quantity::WindSpeed, Reference::Unsaid, Reference::Unsaid),
    };
    if let Some(angle) = bytes.unsigned(24, 16, 1e-4 * DEG_PER_RAD)
        && angle_of != Quantity::Angle
    {
        values.put(angle_of, from, angle);
    }
    if let Some(speed) = bytes.unsigned(8, 16, 0.01 * KN_PER_M_S) {
        values.put(speed_of, over, speed);
    }
}

fn put_temperature(
    values: &mut Values,
    channels: &mut Channels,
    kind: Option<u64>,
    number: Option<u64>,
    value: Option<f64>,
) -> Result<(), Refusal> {
    let (quantity, name) = match kind {
        Some(0) => (Quantity::SeaTemperature, ""),
        Some(1) => (Quantity::AirTemperature, ""),
        Some(2) => (Quantity::CabinTemperature, ""),
        Some(4) => (Quantity::CabinTemperature, "main cabin"),
        Some(3) => (Quantity::Temperature, "engine room"),
        Some(5) => (Quantity::Temperature, "live well"),
        Some(6) => (Quantity::Temperature, "bait well"),
        Some(7) => (Quantity::Temperature, "refrigerator"),
        Some(8) => (Quantity::Temperature, "heating"),
        Some(9) => (Quantity::DewPoint, ""),
        Some(13) => (Quantity::Temperature, "freezer"),
        Some(14) => (Quantity::Temperature, "exhaust"),
        // Wind chill and heat index are computed; the rest have no name here.
        Some(10..=12) => return Ok(()),
        _ => (Quantity::Temperature, "unnamed"),
    };
    put_named(values, channels, quantity, name, number, value)
}

fn pressure(bytes: &Bytes, values: &mut Values, channels: &mut Channels) -> Result<(), Refusal> {
    let pascals = bytes.signed(24, 32, 0.1);
    let number = bytes.code(8, 8);
    let name = match bytes.code(16, 8) {
        Some(0) => {
            put(values, Quantity::Pressure, Instance::ONLY, pascals.map(|pascals| pascals / 100.0));
            return Ok(());
        }
        Some(1) => "water",
        Some(2) => "steam",
        Some(3) => "compressed air",
        Some(4) => "hydraulic",
        Some(5) => "filter",
        Some(7) => {
            put(values, Quantity::OilPressure, numbered(number), pascals.map(|pascals| pascals / 1e5));
            return Ok(());
        }
        Some(8) => "fuel",
        _ => "unnamed",
    };
    put_named(values, channels, Quantity::FluidPressure, name, number, pascals.map(|pascals| pascals / 1e5))
}
