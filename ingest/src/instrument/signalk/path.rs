//! What each Signal K path means here: quantity, reference, instance, and the way from its SI unit.
//!
//! Paths and units: Signal K specification v1.8.2 (SignalK/specification @adf1f204), as facts.

use crate::instrument::channel::{Channels, Instance};
use crate::instrument::quantity::{DEG_PER_RAD, KN_PER_M_S, Quantity, Reference, ZERO_C_IN_K};

/// How the value of a path is read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Rule {
    /// A number.
    Number(Number),
    /// An object with latitude and longitude in degrees.
    Position,
    /// An object with roll and pitch in radians.
    Attitude,
}

/// How a number is read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Number {
    pub(super) quantity: Quantity,
    pub(super) reference: Reference,
    pub(super) instance: Instance,
    /// The canonical value is `sent * factor + offset`.
    pub(super) factor: f64,
    pub(super) offset: f64,
    /// The number is an angle in radians, which degrees are sometimes sent for by mistake.
    pub(super) radians: bool,
}

/// A unit that Signal K sends in, and the way to the canonical one.
#[derive(Clone, Copy)]
enum Si {
    MetresPerSecond,
    Radians,
    RadiansPerSecond,
    Kelvin,
    PascalsOfAir,
    Pascals,
    Hertz,
    Ratio,
    CubicMetres,
    CubicMetresPerSecond,
    Seconds,
    MetresOfWay,
    AsIs,
}

impl Si {
    fn way(self) -> (f64, f64) {
        match self {
            Si::MetresPerSecond => (KN_PER_M_S, 0.0),
            Si::Radians => (DEG_PER_RAD, 0.0),
            Si::RadiansPerSecond => (DEG_PER_RAD * 60.0, 0.0),
            Si::Kelvin => (1.0, -ZERO_C_IN_K),
            Si::PascalsOfAir => (0.01, 0.0),
            Si::Pascals => (1e-5, 0.0),
            Si::Hertz => (60.0, 0.0),
            Si::Ratio => (100.0, 0.0),
            Si::CubicMetres => (1000.0, 0.0),
            Si::CubicMetresPerSecond => (3_600_000.0, 0.0),
            Si::Seconds => (1.0 / 3600.0, 0.0),
            Si::MetresOfWay => (1.0 / 1852.0, 0.0),
            Si::AsIs => (1.0, 0.0),
        }
    }
}

/// Finds the rule of a path; `None` for one that is not read.
pub(super) fn rule(path: &str, channels: &mut Channels) -> Option<Rule> {
    use Quantity as Q;
    use Reference as R;
    let parts: Vec<&str> = path.split('.').collect();
    let (quantity, reference, name, si) = match parts.as_slice() {
        ["navigation", "position"] => return Some(Rule::Position),
        ["navigation", "attitude"] => return Some(Rule::Attitude),
        ["environment", "wind", leaf] => match *leaf {
            "angleApparent" => (Q::ApparentWindAngle, R::Unsaid, String::new(), Si::Radians),
            "speedApparent" => (Q::ApparentWindSpeed, R::Unsaid, String::new(), Si::MetresPerSecond),
            "angleTrueWater" => (Q::TrueWindAngle, R::Water, String::new(), Si::Radians),
            "angleTrueGround" => (Q::TrueWindAngle, R::Ground, String::new(), Si::Radians),
            "speedTrue" => (Q::TrueWindSpeed, R::Water, String::new(), Si::MetresPerSecond),
            "speedOverGround" => (Q::TrueWindSpeed, R::Ground, String::new(), Si::MetresPerSecond),
            "directionTrue" => (Q::WindDirection, R::True, String::new(), Si::Radians),
            "directionMagnetic" => (Q::WindDirection, R::Magnetic, String::new(), Si::Radians),
            _ => return None,
        },
        ["environment", "depth", leaf] => match *leaf {
            "belowTransducer" => (Q::WaterDepth, R::Transducer, String::new(), Si::AsIs),
            "belowSurface" => (Q::WaterDepth, R::Surface, String::new(), Si::AsIs),
            "belowKeel" => (Q::WaterDepth, R::Keel, String::new(), Si::AsIs),
            "surfaceToTransducer" => (Q::TransducerOffset, R::Surface, String::new(), Si::AsIs),
            "transducerToKeel" => (Q::TransducerOffset, R::Keel, String::new(), Si::AsIs),
            _ => return None,
        },
        ["environment", "water", "temperature"] => (Q::SeaTemperature, R::Unsaid, String::new(), Si::Kelvin),
        ["environment", "outside", leaf] => match *leaf {
            "temperature" => (Q::AirTemperature, R::Unsaid, String::new(), Si::Kelvin),
            "pressure" => (Q::Pressure, R::Unsaid, String::new(), Si::PascalsOfAir),
            "relativeHumidity" | "humidity" => (Q::RelativeHumidity, R::Unsaid, String::new(), Si::Ratio),
            "dewPointTemperature" => (Q::DewPoint, R::Unsaid, String::new(), Si::Kelvin),
            _ => return None,
        },
        ["environment", "inside", zone @ .., leaf] if zone.len() <= 1 => match *leaf {
            "temperature" => (Q::CabinTemperature, R::Unsaid, zone.concat(), Si::Kelvin),
            "relativeHumidity" | "humidity" => {
                let place = if zone.is_empty() { "inside".into() } else { zone.concat() };
                (Q::RelativeHumidity, R::Unsaid, place, Si::Ratio)
            }
            _ => return None,
        },
        ["navigation", leaf] => match *leaf {
            "speedThroughWater" => (Q::BoatSpeed, R::Water, String::new(), Si::MetresPerSecond),
            "speedOverGround" => (Q::SpeedOverGround, R::Ground, String::new(), Si::MetresPerSecond),
            "courseOverGroundTrue" => (Q::CourseOverGround, R::True, String::new(), Si::Radians),
            "courseOverGroundMagnetic" => (Q::CourseOverGround, R::Magnetic, String::new(), Si::Radians),
            "headingTrue" => (Q::Heading, R::True, String::new(), Si::Radians),
            "headingMagnetic" => (Q::Heading, R::Magnetic, String::new(), Si::Radians),
            "headingCompass" => (Q::Heading, R::Compass, String::new(), Si::Radians),
            "magneticVariation" => (Q::MagneticVariation, R::Unsaid, String::new(), Si::Radians),
            "magneticDeviation" => (Q::CompassDeviation, R::Unsaid, String::new(), Si::Radians),
            "rateOfTurn" => (Q::RateOfTurn, R::Unsaid, String::new(), Si::RadiansPerSecond),
            "log" => (Q::LogDistance, R::Water, String::new(), Si::MetresOfWay),
            _ => return None,
        },
        ["navigation", "trip", "log"] => (Q::TripDistance, R::Water, String::new(), Si::MetresOfWay),
        ["navigation", "gnss", "horizontalDilution"] => (Q::Hdop, R::Unsaid, String::new(), Si::AsIs),
        ["navigation", "gnss", "antennaAltitude"] => (Q::Altitude, R::Unsaid, String::new(), Si::AsIs),
        ["steering", "rudderAngle"] => (Q::RudderAngle, R::Unsaid, String::new(), Si::Radians),
        ["propulsion", engine, leaf @ ..] => {
            let (quantity, suffix, si) = match leaf {
                ["revolutions"] => (Q::EngineSpeed, "", Si::Hertz),
                ["temperature" | "coolantTemperature"] => (Q::EngineTemperature, "", Si::Kelvin),
                ["oilTemperature"] => (Q::OilTemperature, "", Si::Kelvin),
                ["oilPressure"] => (Q::OilPressure, "", Si::Pascals),
                ["boostPressure"] => (Q::FluidPressure, " boost", Si::Pascals),
                ["coolantPressure"] => (Q::FluidPressure, " coolant", Si::Pascals),
                ["exhaustTemperature"] => (Q::Temperature, " exhaust", Si::Kelvin),
                ["alternatorVoltage"] => (Q::Voltage, " alternator", Si::AsIs),
                ["engineLoad"] => (Q::EngineLoad, "", Si::Ratio),
                ["runTime"] => (Q::EngineHours, "", Si::Seconds),
                ["fuel", "rate"] => (Q::FuelRate, "", Si::CubicMetresPerSecond),
                _ => return None,
            };
            (quantity, R::Unsaid, format!("{engine}{suffix}"), si)
        }
        ["electrical", group, id, leaf @ ..] => {
            let (quantity, si) = match leaf {
                ["voltage"] => (Q::Voltage, Si::AsIs),
                ["current"] => (Q::Current, Si::AsIs),
                ["power"] => (Q::Power, Si::AsIs),
                ["temperature"] => (Q::Temperature, Si::Kelvin),
                ["capacity", "stateOfCharge"] => (Q::StateOfCharge, Si::Ratio),
                _ => return None,
            };
            let name = match *group {
                "batteries" if quantity != Q::Temperature => (*id).to_owned(),
                group => format!("{group} {id}"),
            };
            (quantity, R::Unsaid, name, si)
        }
        ["tanks", liquid, id, leaf] => {
            let (quantity, si) = match (*leaf, *liquid) {
                ("currentLevel", "fuel") => (Q::FuelLevel, Si::Ratio),
                ("currentLevel", "freshWater") => (Q::WaterLevel, Si::Ratio),
                ("currentLevel", _) => (Q::TankLevel, Si::Ratio),
                ("currentVolume", "fuel") => (Q::FuelVolume, Si::CubicMetres),
                ("currentVolume", "freshWater") => (Q::WaterVolume, Si::CubicMetres),
                ("currentVolume", _) => (Q::Volume, Si::CubicMetres),
                ("capacity", _) => (Q::TankCapacity, Si::CubicMetres),
                _ => return None,
            };
            let own_name = matches!(*liquid, "fuel" | "freshWater") && quantity != Q::TankCapacity;
            let name = if own_name { (*id).to_owned() } else { format!("{liquid} {id}") };
            (quantity, R::Unsaid, name, si)
        }
        _ => return None,
    };
    let instance = channels.instance(&name)?;
    let (factor, offset) = si.way();
    // The depth of the keel below the transducer is sent as a length; offsets here are signed.
    let factor = if quantity == Q::TransducerOffset && reference == R::Keel { -factor } else { factor };
    let radians = matches!(si, Si::Radians);
    Some(Rule::Number(Number { quantity, reference, instance, factor, offset, radians }))
}
