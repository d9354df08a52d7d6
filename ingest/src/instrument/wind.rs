//! True wind from what is felt aboard, and back; and its computing where the boat does not send it.
//!
//! Vectors in the boat's frame: x = AWS·cos AWA − STW; y = AWS·sin AWA; TWS = √(x² + y²); TWA = atan2(y, x).
//! Leeway and heel are left out, as the boat's own instruments mostly do. Common practice, from memory; checked
//! below against worked values and against a boat that sends both (tests of `nmea0183`).

use super::channel::{Channels, Instance, Source};
use super::clock::Instant;
use super::quantity::{Quantity, Reference};
use super::stamp::SECOND;

/// A wind off the bow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wind {
    /// Speed in knots, at least 0.
    pub speed_kn: f64,
    /// Degrees to starboard of the bow, −180 to 180, port negative; `None` in a calm, which has no angle.
    pub angle_deg: Option<f64>,
}

impl Wind {
    fn from_parts(ahead: f64, starboard: f64) -> Wind {
        // `hypot` guards against overflow that no wind comes near, at several times the price.
        let speed_kn = (ahead * ahead + starboard * starboard).sqrt();
        // Below a thousandth of a knot the angle is rounding, not wind.
        let angle_deg = (speed_kn > 1e-3).then(|| starboard.atan2(ahead).to_degrees());
        Wind { speed_kn, angle_deg }
    }
}

/// Computes the wind over the water from the apparent wind and the speed through the water.
///
/// Units: degrees off the bow (port negative, or 0 to 360), knots, knots.
pub fn true_wind(apparent_angle_deg: f64, apparent_speed_kn: f64, boat_speed_kn: f64) -> Wind {
    let (sin, cos) = apparent_angle_deg.to_radians().sin_cos();
    Wind::from_parts(apparent_speed_kn * cos - boat_speed_kn, apparent_speed_kn * sin)
}

/// Computes the wind felt aboard from the wind over the water and the speed through it.
///
/// Units: degrees off the bow (port negative, or 0 to 360), knots, knots.
pub fn apparent_wind(true_angle_deg: f64, true_speed_kn: f64, boat_speed_kn: f64) -> Wind {
    let (sin, cos) = true_angle_deg.to_radians().sin_cos();
    Wind::from_parts(true_speed_kn * cos + boat_speed_kn, true_speed_kn * sin)
}

/// Where the wind comes from: the heading and the angle off the bow, in degrees from 0 up to 360.
pub fn direction(heading_deg: f64, angle_deg: f64) -> f64 {
    let turned = (heading_deg + angle_deg).rem_euclid(360.0);
    // rem_euclid of a tiny negative number is rounded up to 360 itself.
    if turned >= 360.0 { 0.0 } else { turned }
}

/// A value that was heard, with its time and its place in the order of records.
#[derive(Clone, Copy, Debug)]
struct Heard {
    value: f64,
    at: Option<i64>,
    record: u64,
}

/// Computes true wind as values pass by.
///
/// With each apparent wind (angle and speed of one sender) the latest speed through the water gives the true
/// wind, and the latest heading its direction. A value counts as latest for [`STALE`]; in a log without times,
/// for [`STALE_RECORDS`] records.
#[derive(Debug, Default)]
pub(super) struct Computer {
    angle: Option<(Source, Heard)>,
    speed: Option<(Source, Heard)>,
    boat_speed: Option<Heard>,
    heading_true: Option<Heard>,
    heading_magnetic: Option<Heard>,
    variation: Option<Heard>,
}

/// Microseconds after which a speed or heading is too old to compute with.
const STALE: i64 = 5 * SECOND;
/// Records after which it is, in a log without times: some seconds of a busy bus.
const STALE_RECORDS: u64 = 200;
/// Microseconds after which a variation is too old: it changes over miles.
const STALE_VARIATION: i64 = 3600 * SECOND;

/// What was computed: quantity, reference, value.
pub(super) type Computed = [Option<(Quantity, Reference, f64)>; 3];

impl Computer {
    /// Hears a value; true where it completes an apparent wind, to be taken by [`Computer::compute`]. Asked for
    /// every heading and speed, so it does no more than keep them.
    #[inline]
    pub(super) fn hear(
        &mut self,
        source: Source,
        (quantity, reference): (Quantity, Reference),
        value: f64,
        at: Option<Instant>,
        record: u64,
    ) -> bool {
        let heard = Heard { value, at: at.map(|at| at.micros), record };
        match (quantity, reference) {
            (Quantity::BoatSpeed, Reference::Water) => self.boat_speed = Some(heard),
            (Quantity::Heading, Reference::True) => self.heading_true = Some(heard),
            (Quantity::Heading, Reference::Magnetic) => self.heading_magnetic = Some(heard),
            (Quantity::MagneticVariation, _) => self.variation = Some(heard),
            (Quantity::ApparentWindAngle, _) => {
                self.angle = Some((source, heard));
                return self.speed.is_some_and(|(other, _)| other == source);
            }
            (Quantity::ApparentWindSpeed, _) => {
                self.speed = Some((source, heard));
                return self.angle.is_some_and(|(other, _)| other == source);
            }
            _ => {}
        }
        false
    }

    /// Computes the true wind of the apparent wind that was heard; `None` where what it takes is missing or old.
    pub(super) fn compute(&mut self) -> Option<Computed> {
        // Done with whether or not it comes to anything, so that the halves of two records never get mixed.
        let ((_, angle), (_, speed)) = self.angle.take().zip(self.speed.take())?;
        let (now, other) = if angle.record >= speed.record { (angle, speed) } else { (speed, angle) };
        if !fresh(other, now, STALE) {
            return None;
        }
        let boat_speed = self.boat_speed.filter(|heard| fresh(*heard, now, STALE))?;
        let wind = true_wind(angle.value, speed.value, boat_speed.value);
        let heading = |heard: Option<Heard>| heard.filter(|heard| fresh(*heard, now, STALE)).map(|h| h.value);
        let variation = self.variation.filter(|heard| fresh(*heard, now, STALE_VARIATION)).map(|h| h.value);
        let heading_magnetic = heading(self.heading_magnetic);
        let heading_true = heading(self.heading_true)
            .or_else(|| heading_magnetic.zip(variation).map(|(heading, variation)| heading + variation));
        let from = wind.angle_deg.and_then(|angle| match (heading_true, heading_magnetic) {
            (Some(heading), _) => Some((Quantity::WindDirection, Reference::True, direction(heading, angle))),
            (None, Some(heading)) => {
                Some((Quantity::WindDirection, Reference::Magnetic, direction(heading, angle)))
            }
            (None, None) => None,
        });
        Some([
            Some((Quantity::TrueWindSpeed, Reference::Water, wind.speed_kn)),
            wind.angle_deg.map(|angle| (Quantity::TrueWindAngle, Reference::Water, angle)),
            from,
        ])
    }

    /// The channel that a computed value goes to.
    pub(super) fn channel(
        channels: &mut Channels,
        quantity: Quantity,
        reference: Reference,
    ) -> Option<super::ChannelId> {
        channels.id(Source::COMPUTED, quantity, reference, Instance::ONLY)
    }
}

fn fresh(heard: Heard, now: Heard, stale: i64) -> bool {
    match (heard.at, now.at) {
        (Some(then), Some(now)) => (now - then).abs() <= stale,
        _ => now.record - heard.record <= STALE_RECORDS,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The project's table of worked true winds (formula from memory, agreeing with a boat's own instruments).
    #[test]
    fn worked_values() {
        for (awa, aws, stw, tws, twa) in [
            (0.0, 10.0, 5.0, 5.0, Some(0.0)),
            (90.0, 10.0, 5.0, 11.180, Some(116.57)),
            (45.0, 14.1421, 10.0, 10.0, Some(90.0)),
            (30.0, 20.0, 6.0, 15.105, Some(41.46)),
            (330.0, 20.0, 6.0, 15.105, Some(-41.46)),
            (180.0, 10.0, 5.0, 15.0, Some(180.0)),
            (0.0, 5.0, 5.0, 0.0, None),
            (0.0, 4.0, 6.0, 2.0, Some(180.0)),
            (57.5, 13.0, 6.6, 10.971, Some(87.99)),
        ] {
            let wind = true_wind(awa, aws, stw);
            assert!((wind.speed_kn - tws).abs() < 1e-3, "{awa} {aws} {stw}: {wind:?}");
            match (wind.angle_deg, twa) {
                (Some(found), Some(want)) => assert!((found - want).abs() < 5e-3, "{awa} {aws}: {wind:?}"),
                (found, want) => assert_eq!(found, want),
            }
        }
        for (twa, tws, stw, awa, aws) in [
            (90.0, 10.0, 10.0, 45.0, 14.142),
            (45.0, 15.0, 6.0, 32.57, 19.705),
            (135.0, 20.0, 7.0, 116.79, 15.843),
        ] {
            let wind = apparent_wind(twa, tws, stw);
            assert!((wind.speed_kn - aws).abs() < 1e-3 && (wind.angle_deg.expect("wind") - awa).abs() < 6e-3);
        }
    }

    #[test]
    fn there_and_back() {
        for twa in (-179..180).step_by(7) {
            let apparent = apparent_wind(f64::from(twa), 17.0, 6.5);
            let back = true_wind(apparent.angle_deg.expect("wind"), apparent.speed_kn, 6.5);
            assert!((back.speed_kn - 17.0).abs() < 1e-9);
            assert!((back.angle_deg.expect("wind") - f64::from(twa)).abs() < 1e-9);
        }
    }

    #[test]
    fn directions_stay_within_the_circle() {
        assert_eq!(direction(350.0, 20.0), 10.0);
        assert_eq!(direction(10.0, -20.0), 350.0);
        assert_eq!(direction(0.0, -1e-20), 0.0);
    }

    #[test]
    fn an_old_boat_speed_is_not_computed_with() {
        let wind = Source::address(b"WIMWV");
        let log = Source::address(b"SDVHW");
        let at =
            |s: i64| Some(Instant { micros: s * SECOND, basis: super::super::clock::TimeBasis::Carried });
        let mut computer = Computer::default();
        computer.hear(log, (Quantity::BoatSpeed, Reference::Water), 6.0, at(0), 1);
        let mut felt = |second, record| {
            let speed = (Quantity::ApparentWindSpeed, Reference::Unsaid);
            assert!(!computer.hear(wind, speed, 20.0, at(second), record));
            assert!(computer.hear(
                wind,
                (Quantity::ApparentWindAngle, Reference::Unsaid),
                30.0,
                at(second),
                record
            ));
            computer.compute()
        };
        assert!(felt(60, 2).is_none());
        let computed = felt(3, 3).expect("true wind");
        assert!((computed[0].expect("a speed").2 - 15.105).abs() < 1e-3);
        assert_eq!(computed[2], None);
    }
}
