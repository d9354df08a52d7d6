//! Units as headers write them, and the way from each to the canonical unit of a quantity.

use crate::instrument::quantity::{
    DEG_PER_RAD, HPA_PER_INHG, KN_PER_KM_H, KN_PER_M_S, M_PER_FATHOM, M_PER_FT, Quantity, ZERO_C_IN_K,
};

/// A way to a canonical unit: `written * factor + offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Way {
    pub(super) factor: f64,
    pub(super) offset: f64,
}

/// A unit: what is canonical for the like of it, and the way there.
type Unit = (&'static str, f64, f64);

/// Reads a unit. Case counts for `kN` alone, which is a force beside the knot.
fn unit(text: &str) -> Option<Unit> {
    const F_ZERO: f64 = -32.0 / 1.8;
    if text == "kN" {
        return Some(("kN", 1.0, 0.0));
    }
    Some(match text.to_lowercase().as_str() {
        "kn" | "kt" | "kts" | "knots" | "knot" => ("kn", 1.0, 0.0),
        "m/s" | "mps" | "ms-1" => ("kn", KN_PER_M_S, 0.0),
        "km/h" | "kmh" | "kph" => ("kn", KN_PER_KM_H, 0.0),
        // A statute mile is 1609.344 m exactly.
        "mph" => ("kn", 1.609_344 * KN_PER_KM_H, 0.0),
        "deg" | "degs" | "degree" | "degrees" | "°" | "º" | "°t" | "°m" | "° true" | "° mag" => {
            ("deg", 1.0, 0.0)
        }
        "rad" | "radians" => ("deg", DEG_PER_RAD, 0.0),
        "deg/min" | "°/min" => ("deg/min", 1.0, 0.0),
        "deg/s" | "°/s" => ("deg/min", 60.0, 0.0),
        "rad/s" => ("deg/min", DEG_PER_RAD * 60.0, 0.0),
        "m" | "metre" | "metres" | "meter" | "meters" => ("m", 1.0, 0.0),
        "ft" | "feet" | "foot" => ("m", M_PER_FT, 0.0),
        "fm" | "fathom" | "fathoms" => ("m", M_PER_FATHOM, 0.0),
        "nm" | "nmi" | "naut. miles" | "nautical miles" => ("nmi", 1.0, 0.0),
        "km" => ("nmi", 1.0 / 1.852, 0.0),
        "c" | "°c" | "ºc" | "degc" | "deg c" | "degrees c" | "celsius" => ("degC", 1.0, 0.0),
        "f" | "°f" | "ºf" | "degf" | "deg f" | "degrees f" | "fahrenheit" => ("degC", 1.0 / 1.8, F_ZERO),
        "k" | "kelvin" => ("degC", 1.0, -ZERO_C_IN_K),
        "hpa" | "mbar" | "mb" | "millibar" | "millibars" => ("hPa", 1.0, 0.0),
        "inhg" | "in hg" | "\"hg" => ("hPa", HPA_PER_INHG, 0.0),
        // NIST SP 811 App. B.8, value from memory.
        "mmhg" | "mm hg" => ("hPa", 1.333_224, 0.0),
        "kpa" => ("hPa", 10.0, 0.0),
        "pa" => ("hPa", 0.01, 0.0),
        "bar" => ("hPa", 1000.0, 0.0),
        "psi" => ("hPa", 68.947_572_931_68, 0.0),
        "%" | "pct" | "percent" => ("%", 1.0, 0.0),
        "v" | "volt" | "volts" => ("V", 1.0, 0.0),
        "mv" => ("V", 0.001, 0.0),
        "a" | "amp" | "amps" => ("A", 1.0, 0.0),
        "ma" => ("A", 0.001, 0.0),
        "w" | "watt" | "watts" => ("W", 1.0, 0.0),
        "kw" => ("W", 1000.0, 0.0),
        "ah" | "amp hours" | "amp-hours" => ("Ah", 1.0, 0.0),
        "wh" => ("Wh", 1.0, 0.0),
        "kwh" => ("Wh", 1000.0, 0.0),
        "l" | "litre" | "litres" | "liter" | "liters" => ("L", 1.0, 0.0),
        "l/h" | "lph" | "l/hr" | "litres/h" => ("L/h", 1.0, 0.0),
        "rpm" | "1/min" => ("rpm", 1.0, 0.0),
        "h" | "hr" | "hrs" | "hours" => ("h", 1.0, 0.0),
        "ppm" => ("ppm", 1.0, 0.0),
        "n" => ("kN", 0.001, 0.0),
        // Standard gravity, 9.80665 m/s² exactly.
        "kgf" => ("kN", 0.009_806_65, 0.0),
        "dan" => ("kN", 0.01, 0.0),
        _ => return None,
    })
}

/// Whether a text is a unit at all.
pub(super) fn is_unit(text: &str) -> bool {
    unit(text).is_some()
}

/// The way from a written unit to a quantity's canonical one; `None` where the unit is not one of that quantity.
pub(super) fn way(text: &str, quantity: Quantity) -> Option<Way> {
    let (like, factor, offset) = unit(text)?;
    match (like, quantity.unit()) {
        (like, canonical) if like == canonical => Some(Way { factor, offset }),
        // Pressures are told apart by what they are of: the air's in hPa, an engine's in bar.
        ("hPa", "bar") => Some(Way { factor: factor / 1000.0, offset }),
        // A log's and a trip's distance in metres.
        ("m", "nmi") => Some(Way { factor: factor / 1852.0, offset }),
        _ => None,
    }
}

/// The quantity that a unit names all by itself ("House V").
pub(super) fn quantity_of(text: &str) -> Option<Quantity> {
    Some(match unit(text)?.0 {
        "V" => Quantity::Voltage,
        "A" => Quantity::Current,
        "W" => Quantity::Power,
        "Ah" => Quantity::Charge,
        "Wh" => Quantity::Energy,
        "degC" => Quantity::Temperature,
        "rpm" => Quantity::EngineSpeed,
        "L/h" => Quantity::FuelRate,
        "ppm" => Quantity::CoLevel,
        "kN" => Quantity::LineLoad,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the project's conversion table (NIST SP 811 App. B.8, pint 0.25.3).
    #[test]
    fn conversions() {
        let convert = |value: f64, unit: &str, quantity| {
            let way = way(unit, quantity).unwrap_or_else(|| panic!("{unit} of {quantity:?}"));
            value * way.factor + way.offset
        };
        for (value, unit, quantity, want) in [
            (-40.0, "°F", Quantity::AirTemperature, -40.0),
            (0.0, "F", Quantity::AirTemperature, -17.7778),
            (98.6, "degF", Quantity::AirTemperature, 37.0),
            (288.35, "K", Quantity::SeaTemperature, 15.2),
            (29.92, "inHg", Quantity::Pressure, 1013.2076),
            (30.0, "psi", Quantity::OilPressure, 2.0684),
            (1.150_779_45, "mph", Quantity::SpeedOverGround, 1.0),
            (1.852, "km/h", Quantity::SpeedOverGround, 1.0),
            (220.0, "kgf", Quantity::LineLoad, 2.157_463),
            (1.0, "fathoms", Quantity::WaterDepth, 1.8288),
        ] {
            let found = convert(value, unit, quantity);
            assert!((found - want).abs() < 1e-4, "{value} {unit}: {found}");
        }
        assert_eq!(way("V", Quantity::Current), None);
        assert_eq!(way("kN", Quantity::ApparentWindSpeed), None);
        assert_eq!(way("KN", Quantity::ApparentWindSpeed).map(|w| w.factor), Some(1.0));
    }
}
