//! Positions, as they are written on a chart or by a receiver. Units: degrees, north and east positive.

use std::fmt;
use std::str::FromStr;

use super::unit::Angle;

/// A place on the earth: latitude −90° to 90°, longitude −180° to 180°.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    latitude: f64,
    longitude: f64,
}

/// A text that is no position.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a position as in 60.155,-1.145 or 60 09.3N 001 08.7W, found \"{0}\"")]
pub struct PositionError(String);

impl Position {
    /// Makes one; `None` for a latitude over 90° or a longitude over 180° either way.
    pub fn new(latitude: Angle, longitude: Angle) -> Option<Self> {
        let (latitude, longitude) = (latitude.in_deg(), longitude.in_deg());
        (latitude.abs() <= 90.0 && longitude.abs() <= 180.0).then_some(Self { latitude, longitude })
    }

    /// Degrees, north positive.
    pub fn latitude(self) -> Angle {
        Angle::deg(self.latitude)
    }

    /// Degrees, east positive.
    pub fn longitude(self) -> Angle {
        Angle::deg(self.longitude)
    }
}

/// Degrees, minutes and seconds with their hemisphere's letter, or none of it; `None` for anything else.
fn sexagesimal(text: &str) -> Option<f64> {
    let parts: Vec<f64> = text.split_whitespace().map(|part| part.parse().ok()).collect::<Option<_>>()?;
    let whole = |value: &f64| value.fract() == 0.0;
    match parts.as_slice() {
        [] | [_, _, _, _, ..] => None,
        [degrees, rest @ ..] => {
            let small = rest.iter().all(|part| (0.0..60.0).contains(part));
            let unbroken = rest.is_empty() || whole(degrees) && (rest.len() == 1 || whole(&rest[0]));
            let sum = rest.iter().zip([60.0, 3600.0]).map(|(part, of)| part / of).sum::<f64>();
            (small && unbroken && *degrees >= 0.0).then_some(degrees + sum)
        }
    }
}

impl FromStr for Position {
    type Err = PositionError;
    fn from_str(text: &str) -> Result<Self, PositionError> {
        let bad = || PositionError(text.to_string());
        let clean: String = text
            .to_uppercase()
            .chars()
            .map(|c| match c {
                '°' | '\'' | '’' | '′' | '"' | '″' | ',' | ';' => ' ',
                '\u{2212}' => '-',
                c => c,
            })
            .collect();
        let (latitude, longitude) = match clean.find(['N', 'S']) {
            Some(at) => {
                let (latitude, rest) = (&clean[..at], &clean[at + 1..]);
                let south = clean[at..].starts_with('S');
                let end = rest.find(['E', 'W']).ok_or_else(bad)?;
                if !rest[end + 1..].trim().is_empty() {
                    return Err(bad());
                }
                let west = rest[end..].starts_with('W');
                let latitude = sexagesimal(latitude).ok_or_else(bad)?;
                let longitude = sexagesimal(&rest[..end]).ok_or_else(bad)?;
                (if south { -latitude } else { latitude }, if west { -longitude } else { longitude })
            }
            None => {
                let parts: Option<Vec<f64>> =
                    clean.split_whitespace().map(|part| part.parse().ok()).collect();
                match parts.as_deref() {
                    Some(&[latitude, longitude]) => (latitude, longitude),
                    _ => return Err(bad()),
                }
            }
        };
        Position::new(Angle::deg(latitude), Angle::deg(longitude)).ok_or_else(bad)
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let part = |degrees: f64, letters: [char; 2], width: usize| {
            let minutes = (degrees.abs() * 600.0).round();
            let letter = letters[usize::from(degrees < 0.0)];
            format!("{:0width$}°{:04.1}′{letter}", (minutes / 600.0).floor(), minutes % 600.0 / 10.0)
        };
        write!(f, "{} {}", part(self.latitude, ['N', 'S'], 2), part(self.longitude, ['E', 'W'], 3))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    #[test]
    fn positions_as_they_are_written() {
        for text in [
            "60.155,-1.145",
            "60.155 -1.145",
            "60 09.3N 001 08.7W",
            "60°09.3′N, 1°08.7'W",
            "60 9 18 N 1 8 42 W",
        ] {
            let position: Position = text.parse().expect("a position");
            near(position.latitude().in_deg(), 60.155, 1e-9);
            near(position.longitude().in_deg(), -1.145, 1e-9);
            assert_eq!(position.to_string(), "60°09.3′N 001°08.7′W");
        }
    }

    #[test]
    fn what_is_no_position_is_refused() {
        for text in [
            "",
            "60",
            "95,0",
            "10,190",
            "60 75N 1W",
            "60N",
            "N W",
            "60.5 10N 1W",
            "nan,nan",
            "1,2,3",
            "60N 1W 7",
        ] {
            assert!(text.parse::<Position>().is_err(), "{text:?}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_taken_or_refused_without_panic(text in "[0-9NSEWnsew°'., -]{0,30}|\\PC*") {
            let _ = text.parse::<Position>();
        }
    }
}
