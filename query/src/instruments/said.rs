//! A number said in a note, set against what the instruments showed at that time.

use leadsman_ingest::instrument::{Quantity, quantity::Scale};
use leadsman_ingest::{Reading, Stance};
use serde::Serialize;

use super::Measured;
use crate::figure;

/// Minutes on either side of the words that the instruments are asked over: a number is read, then said.
pub const MINUTES_AROUND: i64 = 2;

/// How a number and an instrument agree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The instrument showed it at that time, within the tolerance.
    Corroborated,
    /// It did not: the reading is in doubt.
    Contradicted,
    /// It did not, but the words' own time is not known to the minute, so nothing follows.
    Open,
}

/// A number said, set against an instrument.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Against {
    /// How the two agree.
    pub verdict: Verdict,
    /// What the instrument showed around that time.
    pub measured: Measured,
    /// How far outside the instrument's range the number may lie, in the unit.
    pub tolerance: f64,
    /// Seconds by which the instruments' clock is ahead of the note's, as taken here; 0 where no difference is known.
    pub clock_ahead_s: f64,
}

impl Against {
    /// The doubt about a contradicted reading, with both numbers: `said 6.3 kn over the ground, the log has 4.9 kn`.
    pub fn doubt(&self, reading: &Reading) -> Option<String> {
        if self.verdict != Verdict::Contradicted {
            return None;
        }
        let of = match reading.quantity.as_str() {
            "boat_speed" => " through the water",
            "speed_over_ground" => " over the ground",
            _ => "",
        };
        let m = &self.measured;
        let of_log = match m.quantity {
            "speed_over_ground" if reading.quantity == "boat_speed" => " over the ground",
            _ => "",
        };
        let range = if m.low == m.high {
            String::new()
        } else {
            format!("{} to {}, ", figure::number(m.low), figure::number(m.high))
        };
        Some(format!(
            "said {}{of}, the log has {}{of_log} ({range}{})",
            figure::range(reading.low, reading.high, &reading.unit),
            figure::value(m.mean, m.unit),
            m.sender
        ))
    }
}

/// Whether a reading is one that instruments of that moment can speak to.
pub fn can_be_set_against(reading: &Reading) -> bool {
    reading.stance == Stance::Observed
        && reading.at.is_some()
        && (reading.low.is_some() || reading.high.is_some())
        && !channels_of(&reading.quantity).is_empty()
}

/// The instruments' quantities that a spoken one may have been read from, the likeliest first.
pub fn channels_of(quantity: &str) -> &'static [Quantity] {
    use Quantity as Q;
    match quantity {
        "apparent_wind_speed" => &[Q::ApparentWindSpeed],
        "true_wind_speed" => &[Q::TrueWindSpeed],
        "wind_speed" => &[Q::TrueWindSpeed, Q::ApparentWindSpeed, Q::WindSpeed],
        "wind_gust" => &[Q::WindGust, Q::ApparentWindSpeed, Q::TrueWindSpeed, Q::WindSpeed],
        "apparent_wind_angle" => &[Q::ApparentWindAngle],
        "true_wind_angle" => &[Q::TrueWindAngle],
        "wind_direction" => &[Q::WindDirection],
        // A speed with no instrument named may be off either.
        "boat_speed" => &[Q::BoatSpeed, Q::SpeedOverGround],
        "speed_over_ground" => &[Q::SpeedOverGround],
        "heading" => &[Q::Heading],
        "course_over_ground" => &[Q::CourseOverGround],
        "heel" => &[Q::Heel],
        "rudder_angle" => &[Q::RudderAngle],
        "wave_height" => &[Q::WaveHeight],
        "water_depth" => &[Q::WaterDepth],
        "sea_temperature" => &[Q::SeaTemperature],
        "air_temperature" => &[Q::AirTemperature],
        "cabin_temperature" => &[Q::CabinTemperature],
        "relative_humidity" => &[Q::RelativeHumidity],
        "pressure" => &[Q::Pressure],
        "voltage" => &[Q::Voltage],
        "current" => &[Q::Current],
        "power" => &[Q::Power],
        "state_of_charge" => &[Q::StateOfCharge],
        "fuel_volume" => &[Q::FuelVolume],
        "fuel_rate" => &[Q::FuelRate],
        "water_volume" => &[Q::WaterVolume],
        "engine_speed" => &[Q::EngineSpeed],
        "engine_hours" => &[Q::EngineHours],
        "engine_temperature" => &[Q::EngineTemperature],
        "oil_pressure" => &[Q::OilPressure],
        "line_load" => &[Q::LineLoad],
        "co_level" => &[Q::CoLevel],
        _ => &[],
    }
}

/// How far a spoken number may lie outside what the instrument showed and still be the same, in the unit: people round,
/// and needles swing. The greater of a fixed part and a share of the value. Common practice, no source.
pub fn tolerance(quantity: Quantity, value: f64) -> f64 {
    let (fixed, share) = match (quantity, quantity.unit()) {
        (Quantity::WaveHeight, _) => (0.5, 0.25),
        (Quantity::EngineHours, _) => (0.5, 0.0),
        (_, "kn") => (0.5, 0.05),
        (_, "deg") => (10.0, 0.0),
        (_, "m") => (0.5, 0.1),
        (_, "degC") => (2.0, 0.0),
        (_, "hPa") => (2.0, 0.0),
        (_, "%") => (5.0, 0.0),
        (_, "V") => (0.15, 0.0),
        (_, "A") => (1.0, 0.1),
        (_, "rpm") => (100.0, 0.05),
        (_, "bar") => (0.3, 0.1),
        _ => (0.0, 0.15),
    };
    f64::max(fixed, share * value.abs())
}

/// Whether a spoken value or range lies within the instrument's `(least, most)`, widened by the tolerance. An open bound
/// agrees with whatever lies on its side.
pub fn overlaps(reading: &Reading, quantity: Quantity, (least, most): (f64, f64), tolerance: f64) -> bool {
    use Quantity as Q;
    let (low, high) = (reading.low.unwrap_or(f64::NEG_INFINITY), reading.high.unwrap_or(f64::INFINITY));
    let within = |least: f64, most: f64| low <= most + tolerance && high >= least - tolerance;
    // Notes count angles off the bow, heel, helm and a battery's current from 0 up, whichever side.
    let two_sided = matches!(quantity, Q::Heel | Q::RudderAngle | Q::Current | Q::Power | Q::LineLoad);
    match quantity.scale() {
        Scale::Direction => [-360.0, 0.0, 360.0].iter().any(|turn| within(least + turn, most + turn)),
        Scale::Linear if !two_sided => within(least, most),
        Scale::Bow | Scale::Linear => within(least, most) || within(-most, -least),
    }
}

/// The value that a tolerance is taken of: a range's middle, or the end that there is.
pub fn middle(reading: &Reading) -> f64 {
    match (reading.low, reading.high) {
        (Some(low), Some(high)) => f64::midpoint(low, high),
        (low, high) => low.or(high).unwrap_or(0.0),
    }
}

/// Whether a channel's instance can be what a reading is about: one word in common with its gear, where there are
/// several instances to choose from.
pub fn instance_fits(instance: &str, gear: Option<&str>) -> bool {
    let words = |text: &str| -> Vec<String> {
        text.split(|c: char| !c.is_alphanumeric()).filter(|w| w.len() > 2).map(str::to_lowercase).collect()
    };
    let Some(gear) = gear else { return false };
    let gear = words(gear);
    words(instance).iter().any(|word| gear.contains(word))
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::Span;

    use super::*;

    pub(super) fn reading(quantity: &str, low: Option<f64>, high: Option<f64>, unit: &str) -> Reading {
        Reading {
            quantity: quantity.to_owned(),
            low,
            high,
            unit: unit.to_owned(),
            unit_said: String::new(),
            stance: Stance::Observed,
            gear: None,
            at: None,
            span: Span::default(),
            quote: String::new(),
            doubts: Vec::new(),
            because: Vec::new(),
        }
    }

    #[test]
    fn numbers_and_ranges_agree_within_the_tolerance() {
        use Quantity as Q;
        let is = |low, high, quantity, range| {
            let said = reading("x", low, high, "");
            overlaps(&said, quantity, range, tolerance(quantity, middle(&said)))
        };
        assert!(is(Some(6.3), Some(6.3), Q::SpeedOverGround, (5.9, 6.1)));
        assert!(!is(Some(6.3), Some(6.3), Q::SpeedOverGround, (4.5, 5.2)));
        assert!(is(Some(14.0), Some(16.0), Q::TrueWindSpeed, (16.2, 19.0)));
        assert!(is(Some(25.0), None, Q::ApparentWindSpeed, (20.0, 26.0)));
        assert!(!is(None, Some(5.0), Q::BoatSpeed, (6.5, 7.0)));
        // 40 off the bow, whichever side; a heading over north.
        assert!(is(Some(40.0), Some(40.0), Q::TrueWindAngle, (-48.0, -35.0)));
        assert!(is(Some(358.0), Some(358.0), Q::Heading, (-6.0, 3.0)));
        assert!(is(Some(20.0), Some(20.0), Q::Heel, (-24.0, -12.0)));
        assert!(!is(Some(-3.0), Some(-3.0), Q::SeaTemperature, (3.0, 4.0)));
    }

    /// Every quantity that notes name and instruments may speak to is one that instruments have in the same unit.
    #[test]
    fn channels_have_the_notes_units() {
        for known in &leadsman_ingest::quantity::table().quantities {
            for channel in channels_of(&known.name) {
                assert_eq!(channel.unit(), known.unit, "{} and {}", known.name, channel.name());
            }
        }
    }

    #[test]
    fn one_of_several_is_told_by_its_gear() {
        assert!(instance_fits("house bank", Some("house bank")));
        assert!(instance_fits("battery starter", Some("starter battery")));
        assert!(!instance_fits("house", Some("starter battery")));
        assert!(!instance_fits("0", None));
    }
}
