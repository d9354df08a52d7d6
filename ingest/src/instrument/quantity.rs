//! What an instrument measures: names, canonical units, the range a value may have, and how angles are counted.
//!
//! The names are those of the readings in a note where one exists (`apparent_wind_speed`), so that a spoken number
//! can be set against a channel; those that nobody says aloud (`hdop`) are named in the same manner.

use std::f64::consts::PI;

/// Knots in a metre per second: a nautical mile is 1852 m exactly.
pub const KN_PER_M_S: f64 = 3600.0 / 1852.0;
/// Knots in a kilometre per hour.
pub const KN_PER_KM_H: f64 = 1.0 / 1.852;
/// Metres in a foot, exact.
pub const M_PER_FT: f64 = 0.3048;
/// Metres in a fathom, exact: six feet.
pub const M_PER_FATHOM: f64 = 1.8288;
/// Hectopascals in a conventional inch of mercury at 0 °C. Source: NIST SP 811 (2008) App. B.8, value from memory.
pub const HPA_PER_INHG: f64 = 33.86389;
/// 0 °C in kelvin, exact.
pub const ZERO_C_IN_K: f64 = 273.15;
/// Degrees in a radian.
pub const DEG_PER_RAD: f64 = 180.0 / PI;

/// How the values of a quantity are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// A plain number: minimum, mean and maximum mean what they say.
    Linear,
    /// Degrees clockwise from north, 0 up to but not 360.
    Direction,
    /// Degrees to starboard of the bow, over −180 up to 180; port is negative.
    Bow,
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $variant:ident = $name:literal $unit:literal $scale:ident $low:literal $high:literal;)+) => {
        /// What is measured. `name`, `unit`, `range` and `scale` give the rest.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[repr(u8)]
        pub enum Quantity { $($(#[$doc])* $variant),+ }

        impl Quantity {
            /// All of them, in order.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$variant),+];

            const RANGES: &'static [(f64, f64)] = &[$(($low, $high)),+];

            /// The name in the database, in JSON and on the command line.
            pub fn name(self) -> &'static str {
                match self { $(Quantity::$variant => $name),+ }
            }

            /// Looks one up by its name.
            pub fn from_name(name: &str) -> Option<Quantity> {
                match name { $($name => Some(Quantity::$variant),)+ _ => None }
            }

            /// The canonical unit that every sample of it is in.
            pub fn unit(self) -> &'static str {
                match self { $(Quantity::$variant => $unit),+ }
            }

            /// How its values are counted.
            pub fn scale(self) -> Scale {
                match self { $(Quantity::$variant => Scale::$scale),+ }
            }
        }
    };
}

// The ranges are wide: they refuse what no sailing boat's instrument can measure (a broken sentence, a wrong unit),
// not what is unlikely. Common practice, no source.
quantities! {
    /// Speed of the wind felt aboard.
    ApparentWindSpeed = "apparent_wind_speed" "kn" Linear 0.0 200.0;
    /// Where the wind felt aboard comes from, off the bow.
    ApparentWindAngle = "apparent_wind_angle" "deg" Bow -180.0 180.0;
    /// Speed of the wind over the water (or the ground, as the reference says).
    TrueWindSpeed = "true_wind_speed" "kn" Linear 0.0 200.0;
    /// Where the true wind comes from, off the bow.
    TrueWindAngle = "true_wind_angle" "deg" Bow -180.0 180.0;
    /// Where the true wind comes from, off north.
    WindDirection = "wind_direction" "deg" Direction 0.0 360.0;
    /// Wind speed of an instrument that does not say which wind.
    WindSpeed = "wind_speed" "kn" Linear 0.0 200.0;
    /// Peak wind speed.
    WindGust = "wind_gust" "kn" Linear 0.0 250.0;
    /// Speed through the water; negative astern.
    BoatSpeed = "boat_speed" "kn" Linear -30.0 200.0;
    /// Speed over the ground.
    SpeedOverGround = "speed_over_ground" "kn" Linear 0.0 200.0;
    /// Where the bow points.
    Heading = "heading" "deg" Direction 0.0 360.0;
    /// Where she goes over the ground.
    CourseOverGround = "course_over_ground" "deg" Direction 0.0 360.0;
    /// What has to be added to a magnetic direction to make it true; east is positive.
    MagneticVariation = "magnetic_variation" "deg" Linear -180.0 180.0;
    /// What has to be added to the compass to make it magnetic; east is positive.
    CompassDeviation = "compass_deviation" "deg" Linear -180.0 180.0;
    /// Rate of turn; negative when the bow goes to port.
    RateOfTurn = "rate_of_turn" "deg/min" Linear -7200.0 7200.0;
    /// Heel, with the sign as sent; in NMEA 2000 and Signal K positive is to starboard.
    Heel = "heel" "deg" Linear -180.0 180.0;
    /// Pitch, with the sign as sent; in NMEA 2000 and Signal K positive is bow up.
    Pitch = "pitch" "deg" Linear -90.0 90.0;
    /// Rudder angle; negative is to port.
    RudderAngle = "rudder_angle" "deg" Linear -90.0 90.0;
    /// An angle whose name says nothing more.
    Angle = "angle" "deg" Linear -360.0 360.0;
    /// Latitude, north positive.
    Latitude = "latitude" "deg" Linear -90.0 90.0;
    /// Longitude, east positive.
    Longitude = "longitude" "deg" Linear -180.0 180.0;
    /// Height of the antenna above mean sea level.
    Altitude = "altitude" "m" Linear -500.0 10000.0;
    /// Horizontal dilution of precision of the fix.
    Hdop = "hdop" "1" Linear 0.0 100.0;
    /// Latitude of the waypoint steered for.
    WaypointLatitude = "waypoint_latitude" "deg" Linear -90.0 90.0;
    /// Longitude of the waypoint steered for.
    WaypointLongitude = "waypoint_longitude" "deg" Linear -180.0 180.0;
    /// Bearing of the waypoint steered for.
    WaypointBearing = "waypoint_bearing" "deg" Direction 0.0 360.0;
    /// Distance of the waypoint steered for.
    WaypointDistance = "waypoint_distance" "nmi" Linear 0.0 15000.0;
    /// Distance run in all.
    LogDistance = "log_distance" "nmi" Linear 0.0 10000000.0;
    /// Distance run since the trip was last set to nought.
    TripDistance = "trip_distance" "nmi" Linear 0.0 1000000.0;
    /// Depth below what the reference names.
    WaterDepth = "water_depth" "m" Linear -20.0 12000.0;
    /// Offset sent with a depth: up to the waterline is positive, down to the keel negative.
    TransducerOffset = "transducer_offset" "m" Linear -20.0 20.0;
    /// Significant wave height.
    WaveHeight = "wave_height" "m" Linear 0.0 40.0;
    /// Temperature of the sea.
    SeaTemperature = "sea_temperature" "degC" Linear -10.0 60.0;
    /// Temperature of the air outside.
    AirTemperature = "air_temperature" "degC" Linear -90.0 70.0;
    /// Temperature of the air below.
    CabinTemperature = "cabin_temperature" "degC" Linear -90.0 90.0;
    /// A temperature whose place is not told, or is told by the instance.
    Temperature = "temperature" "degC" Linear -100.0 1500.0;
    /// Dew point.
    DewPoint = "dew_point" "degC" Linear -90.0 70.0;
    /// Relative humidity.
    RelativeHumidity = "relative_humidity" "%" Linear 0.0 100.0;
    /// Pressure of the air.
    Pressure = "pressure" "hPa" Linear 800.0 1100.0;
    /// A pressure that is not the air's (boost, hydraulics, water), over the air's pressure or not as sent.
    FluidPressure = "fluid_pressure" "bar" Linear -1.0 1000.0;
    /// Voltage.
    Voltage = "voltage" "V" Linear -1000.0 1000.0;
    /// Current; negative is out of a battery.
    Current = "current" "A" Linear -5000.0 5000.0;
    /// Power.
    Power = "power" "W" Linear -1000000.0 1000000.0;
    /// State of charge.
    StateOfCharge = "state_of_charge" "%" Linear 0.0 100.0;
    /// Charge.
    Charge = "charge" "Ah" Linear -100000.0 100000.0;
    /// Energy.
    Energy = "energy" "Wh" Linear -1000000000.0 1000000000.0;
    /// How full a fuel tank is.
    FuelLevel = "fuel_level" "%" Linear 0.0 120.0;
    /// How full a fresh-water tank is.
    WaterLevel = "water_level" "%" Linear 0.0 120.0;
    /// How full another tank is: waste, oil, live well.
    TankLevel = "tank_level" "%" Linear 0.0 120.0;
    /// How much a tank holds when full.
    TankCapacity = "tank_capacity" "L" Linear 0.0 1000000.0;
    /// Fuel aboard.
    FuelVolume = "fuel_volume" "L" Linear 0.0 1000000.0;
    /// Fresh water aboard.
    WaterVolume = "water_volume" "L" Linear 0.0 1000000.0;
    /// A volume whose liquid is not told.
    Volume = "volume" "L" Linear 0.0 10000000.0;
    /// Fuel burnt.
    FuelRate = "fuel_rate" "L/h" Linear -1000.0 10000.0;
    /// Engine speed.
    EngineSpeed = "engine_speed" "rpm" Linear -10000.0 100000.0;
    /// Shaft speed.
    ShaftSpeed = "shaft_speed" "rpm" Linear -10000.0 100000.0;
    /// Propeller pitch; negative is astern.
    PropellerPitch = "propeller_pitch" "%" Linear -100.0 100.0;
    /// Engine hours.
    EngineHours = "engine_hours" "h" Linear 0.0 1200000.0;
    /// Engine temperature: its coolant, where sent.
    EngineTemperature = "engine_temperature" "degC" Linear -60.0 400.0;
    /// Temperature of the engine's oil.
    OilTemperature = "oil_temperature" "degC" Linear -60.0 400.0;
    /// Pressure of the engine's oil.
    OilPressure = "oil_pressure" "bar" Linear -1.0 100.0;
    /// Load on the engine.
    EngineLoad = "engine_load" "%" Linear -125.0 125.0;
    /// Frequency.
    Frequency = "frequency" "Hz" Linear 0.0 1000000000.0;
    /// A force on a line or a pin.
    LineLoad = "line_load" "kN" Linear -10000.0 10000.0;
    /// Carbon monoxide in the air below.
    CoLevel = "co_level" "ppm" Linear 0.0 1000000.0;
    /// A bare number with a name of its own.
    Generic = "generic" "1" Linear -1e15 1e15;
}

impl Quantity {
    /// The least and the greatest value that is taken; anything else is refused as out of range.
    pub fn range(self) -> (f64, f64) {
        Self::RANGES[self as usize]
    }

    /// Whether a value lies in the range; a NaN does not.
    pub fn holds(self, value: f64) -> bool {
        let (low, high) = self.range();
        low <= value && value <= high
    }

    /// The value as it is kept: directions from 0 up to 360, angles off the bow from −180 to 180.
    ///
    /// Only one turn is put right; a value further out stays there and is refused by its range.
    pub fn kept(self, value: f64) -> f64 {
        match self.scale() {
            Scale::Linear => value,
            Scale::Direction if value >= 360.0 => value - 360.0,
            Scale::Direction if value < 0.0 => value + 360.0,
            Scale::Bow if value > 180.0 => value - 360.0,
            Scale::Bow if value <= -180.0 => value + 360.0,
            _ => value,
        }
    }
}

macro_rules! references {
    ($($(#[$doc:meta])* $variant:ident = $name:literal;)+) => {
        /// What a value is measured from or against, where a quantity leaves that open.
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[repr(u8)]
        pub enum Reference { $($(#[$doc])* $variant),+ }

        impl Reference {
            /// All of them, in order.
            pub const ALL: &'static [Reference] = &[$(Reference::$variant),+];

            /// The name in the database and in JSON; empty for [`Reference::Unsaid`].
            pub fn name(self) -> &'static str {
                match self { $(Reference::$variant => $name),+ }
            }

            /// Looks one up by its name.
            pub fn from_name(name: &str) -> Option<Reference> {
                match name { $($name => Some(Reference::$variant),)+ _ => None }
            }
        }
    };
}

references! {
    /// Nothing to tell, or not told.
    #[default]
    Unsaid = "";
    /// Directions from true north.
    True = "true";
    /// Directions from magnetic north.
    Magnetic = "magnetic";
    /// Directions as the compass shows them, deviation still in.
    Compass = "compass";
    /// Speeds and distances through the water.
    Water = "water";
    /// Speeds and distances over the ground.
    Ground = "ground";
    /// Depths below the transducer.
    Transducer = "transducer";
    /// Depths below the surface.
    Surface = "surface";
    /// Depths below the keel.
    Keel = "keel";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_lead_back() {
        for &quantity in Quantity::ALL {
            assert_eq!(Quantity::from_name(quantity.name()), Some(quantity));
            let (low, high) = quantity.range();
            assert!(low < high, "{}", quantity.name());
        }
        for &reference in Reference::ALL {
            assert_eq!(Reference::from_name(reference.name()), Some(reference));
        }
    }

    #[test]
    fn one_turn_is_put_right() {
        assert_eq!(Quantity::Heading.kept(360.0), 0.0);
        assert_eq!(Quantity::Heading.kept(-2.5), 357.5);
        assert_eq!(Quantity::ApparentWindAngle.kept(336.0), -24.0);
        assert_eq!(Quantity::ApparentWindAngle.kept(180.0), 180.0);
        assert!(!Quantity::ApparentWindAngle.holds(Quantity::ApparentWindAngle.kept(530.0 + 180.0)));
        assert!(!Quantity::Heading.holds(f64::NAN));
    }

    /// Values from NIST SP 811 (2008) App. B.8 by way of the project's conversion table: 1 kn = 1.852 km/h,
    /// 29.92 inHg = 1013.2076 hPa.
    #[test]
    fn factors_agree_with_the_published_ones() {
        assert!((1.852 * KN_PER_KM_H - 1.0).abs() < 1e-12);
        assert!((KN_PER_M_S * 0.514_444_444_444_444_4 - 1.0).abs() < 1e-12);
        assert!((29.92 * HPA_PER_INHG - 1013.2076).abs() < 1e-4);
    }
}
