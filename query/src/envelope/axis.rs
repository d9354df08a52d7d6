//! The conditions in which gear is proved, each with the way in which it gets harder.

use std::collections::BTreeMap;

use leadsman_ingest::Reading;
use serde::{Deserialize, Serialize};

use crate::figure;

/// One of the conditions of a trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Axis {
    /// True wind, or wind of which nobody says whether it is true, in kn.
    Wind,
    /// Apparent wind, in kn.
    ApparentWind,
    /// Gusts, in kn.
    Gust,
    /// Height of the waves, in m.
    Waves,
    /// Cold of the air, in degC: less is harder.
    Air,
    /// Cold of the sea, in degC: less is harder.
    Sea,
    /// Speed of the boat, in kn.
    Speed,
    /// How long, in s.
    Duration,
    /// The dark: 1, or daylight: 0.
    Night,
    /// Hands at it: fewer is harder.
    Hands,
}

/// Beaufort's forces in knots, each from its least whole knot: the WMO's table (Manual on Codes, code table 1100; see
/// the references, 3.1).
const BEAUFORT_FROM_KN: [f64; 13] =
    [0.0, 1.0, 4.0, 7.0, 11.0, 17.0, 22.0, 28.0, 34.0, 41.0, 48.0, 56.0, 64.0];

impl Axis {
    /// The axis that a quantity lies on.
    pub fn of(quantity: &str) -> Option<Self> {
        Some(match quantity {
            "true_wind_speed" | "wind_speed" | "wind_force" => Axis::Wind,
            "apparent_wind_speed" => Axis::ApparentWind,
            "wind_gust" => Axis::Gust,
            "wave_height" => Axis::Waves,
            "air_temperature" => Axis::Air,
            "sea_temperature" => Axis::Sea,
            "boat_speed" | "speed_over_ground" => Axis::Speed,
            "duration" => Axis::Duration,
            _ => return None,
        })
    }

    /// Whether less is harder.
    pub fn falls(self) -> bool {
        matches!(self, Axis::Air | Axis::Sea | Axis::Hands)
    }

    /// The canonical unit; empty for what has none.
    pub fn unit(self) -> &'static str {
        match self {
            Axis::Wind | Axis::ApparentWind | Axis::Gust | Axis::Speed => "kn",
            Axis::Waves => "m",
            Axis::Air | Axis::Sea => "degC",
            Axis::Duration => "s",
            Axis::Night | Axis::Hands => "",
        }
    }

    /// Whether one value is as hard as another, or harder.
    pub fn reaches(self, had: f64, needed: f64) -> bool {
        if self.falls() { had <= needed } else { had >= needed }
    }

    /// A value of this axis in words: "20 kn", "40 kn apparent", "the dark", "single-handed".
    pub fn value(self, value: f64) -> String {
        let figure = figure::value(value, self.unit());
        match self {
            Axis::Wind | Axis::Waves | Axis::Duration => figure,
            Axis::ApparentWind => format!("{figure} apparent"),
            Axis::Gust => format!("gusts of {figure}"),
            Axis::Air => format!("{figure} outside"),
            Axis::Sea => format!("{figure} in the sea"),
            Axis::Speed => format!("{figure} of boat speed"),
            Axis::Night => if value > 0.0 { "the dark" } else { "daylight" }.to_owned(),
            Axis::Hands => {
                if value <= 1.0 {
                    "one hand".to_owned()
                } else {
                    format!("{figure} hands")
                }
            }
        }
    }

    /// What the axis is called where no value is known.
    pub fn name(self) -> &'static str {
        match self {
            Axis::Wind => "wind",
            Axis::ApparentWind => "apparent wind",
            Axis::Gust => "gusts",
            Axis::Waves => "waves",
            Axis::Air => "cold of the air",
            Axis::Sea => "cold of the sea",
            Axis::Speed => "boat speed",
            Axis::Duration => "how long",
            Axis::Night => "the dark",
            Axis::Hands => "hands",
        }
    }
}

/// How far the conditions of one trial reached, on each axis that is known.
pub type Reach = BTreeMap<Axis, f64>;

/// How far a trial's conditions certainly reached. A bound that is open the wrong way, as "under 10 knots" for wind, says
/// nothing; a force of the Beaufort scale counts as its least wind; of several values for one axis the least hard counts,
/// since nobody says which was in force when it was decided.
pub fn reach<'a>(
    readings: impl IntoIterator<Item = &'a Reading>,
    night: Option<bool>,
    hands: Option<u32>,
) -> Reach {
    let mut reach = Reach::new();
    for reading in readings {
        let Some(axis) = Axis::of(&reading.quantity) else { continue };
        let Some(had) = certain(axis, reading.low, reading.high) else { continue };
        let had = if reading.quantity == "wind_force" { beaufort_kn(had) } else { had };
        reach
            .entry(axis)
            .and_modify(|other| {
                // How long is the longest that was said: the others are of its parts.
                let harder = axis.reaches(had, *other);
                if harder == (axis == Axis::Duration) {
                    *other = had;
                }
            })
            .or_insert(had);
    }
    if let Some(night) = night {
        reach.insert(Axis::Night, f64::from(u8::from(night)));
    }
    if let Some(hands) = hands {
        reach.insert(Axis::Hands, f64::from(hands));
    }
    reach
}

fn certain(axis: Axis, low: Option<f64>, high: Option<f64>) -> Option<f64> {
    if axis.falls() {
        low.filter(|_| high.is_some()).or(high)
    } else {
        high.filter(|_| low.is_some()).or(low)
    }
}

/// The least wind of a force, in kn.
pub fn beaufort_kn(force: f64) -> f64 {
    BEAUFORT_FROM_KN[(force.round().clamp(0.0, 12.0)) as usize]
}

#[cfg(test)]
mod tests {
    use super::*;
    use leadsman_ingest::{Span, Stance};

    fn reading(quantity: &str, low: Option<f64>, high: Option<f64>) -> Reading {
        Reading {
            quantity: quantity.to_owned(),
            low,
            high,
            unit: String::new(),
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

    /// WMO Beaufort scale: force 5 is 17 to 21 kn, force 8 is 34 to 40 kn (Manual on Codes, code table 1100).
    #[test]
    fn a_force_counts_as_its_least_wind() {
        let reach = reach(&[reading("wind_force", Some(5.0), Some(5.0))], None, None);
        assert_eq!(reach[&Axis::Wind], 17.0);
        assert_eq!(beaufort_kn(8.0), 34.0);
    }

    #[test]
    fn what_is_not_certain_widens_nothing() {
        let under = [reading("wind_speed", None, Some(10.0))];
        assert!(reach(&under, None, None).is_empty());
        let over = [reading("wind_speed", Some(20.0), None)];
        assert_eq!(reach(&over, None, None)[&Axis::Wind], 20.0);
        let cold = [reading("air_temperature", None, Some(2.0))];
        assert_eq!(reach(&cold, None, None)[&Axis::Air], 2.0);
        let at_least = [reading("air_temperature", Some(2.0), None)];
        assert!(reach(&at_least, None, None).is_empty());
        let two = [
            reading("true_wind_speed", Some(30.0), Some(35.0)),
            reading("wind_speed", Some(25.0), Some(25.0)),
        ];
        assert_eq!(reach(&two, None, None)[&Axis::Wind], 25.0);
    }

    #[test]
    fn cold_and_few_hands_get_harder_downwards() {
        assert!(Axis::Air.reaches(-2.0, 0.0) && !Axis::Air.reaches(4.0, 0.0));
        assert!(Axis::Hands.reaches(1.0, 2.0) && !Axis::Hands.reaches(2.0, 1.0));
        assert!(Axis::Wind.reaches(40.0, 40.0) && !Axis::Wind.reaches(20.0, 40.0));
    }
}
