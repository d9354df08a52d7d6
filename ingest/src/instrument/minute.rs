//! Samples summed up by the minute: count, least, mean and greatest, and for directions the mean as a vector.
//!
//! The memory is one open minute for each channel. A minute is given out when its channel moves on to another; a
//! log whose time runs backwards gives some minute twice, and a log that goes on in another file does too, so
//! whoever keeps minutes joins those of the same channel and minute by [`Minute::join`].

use super::channel::ChannelId;
use super::log::Sample;
use super::quantity::{Quantity, Scale};
use super::stamp::MINUTE;

/// One channel over one minute.
///
/// Directions and angles off the bow have no least and greatest by themselves: they are counted from the first
/// sample of the minute, within half a turn of it, so that `min ≤ mean ≤ max` always holds; a direction's `min`
/// may be below 0 and its `max` at or above 360 (a heading swinging over north reads −3 to 5).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Minute {
    /// The channel.
    pub channel: ChannelId,
    /// What is measured.
    pub quantity: Quantity,
    /// Whole minutes since 1970-01-01T00:00Z.
    pub minute: i64,
    /// Samples.
    pub count: u32,
    /// Least value, in the quantity's canonical unit.
    pub min: f64,
    /// Mean value.
    pub mean: f64,
    /// Greatest value.
    pub max: f64,
    /// Mean as a vector, for directions and angles off the bow.
    pub vector: Option<Vector>,
}

/// The mean of directions as unit vectors: east and north, or starboard and ahead, each from −1 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vector {
    /// Mean of the sines.
    pub sin: f64,
    /// Mean of the cosines.
    pub cos: f64,
}

impl Vector {
    /// The direction, degrees, from −180 to 180; `None` where the samples cancel out.
    pub fn angle_deg(self) -> Option<f64> {
        (self.length() > 1e-9).then(|| self.sin.atan2(self.cos).to_degrees())
    }

    /// How steady it was: 1 where all samples agree, 0 where they cancel out.
    pub fn length(self) -> f64 {
        self.sin.hypot(self.cos)
    }
}

impl Minute {
    /// Joins two parts of the same minute of the same channel.
    pub fn join(self, other: Minute) -> Minute {
        let (a, b) = (f64::from(self.count), f64::from(other.count));
        let all = a + b;
        // The other part of a direction may have been counted from the other side of north.
        let turns = match self.quantity.scale() {
            Scale::Linear => 0.0,
            Scale::Direction | Scale::Bow => ((self.mean - other.mean) / 360.0).round() * 360.0,
        };
        let joined = |x: f64, y: f64| if all > 0.0 { (x * a + y * b) / all } else { x };
        Minute {
            count: self.count.saturating_add(other.count),
            min: self.min.min(other.min + turns),
            mean: joined(self.mean, other.mean + turns),
            max: self.max.max(other.max + turns),
            vector: match (self.vector, other.vector) {
                (Some(x), Some(y)) => Some(Vector { sin: joined(x.sin, y.sin), cos: joined(x.cos, y.cos) }),
                (x, y) => x.or(y),
            },
            ..self
        }
    }

    /// The mean as it would be shown: within the circle for directions, by the vector where there is one.
    pub fn shown_mean(&self) -> f64 {
        match (self.quantity.scale(), self.vector.and_then(Vector::angle_deg)) {
            (Scale::Direction, Some(angle)) => self.quantity.kept(angle),
            (Scale::Bow, Some(angle)) => angle,
            _ => self.mean,
        }
    }
}

#[derive(Clone, Copy, Debug)]
struct Open {
    quantity: Quantity,
    minute: i64,
    count: u32,
    first: f64,
    least: f64,
    sum: f64,
    most: f64,
    sin: f64,
    cos: f64,
}

/// Sums samples up by the minute.
#[derive(Clone, Debug, Default)]
pub struct Minutes {
    open: Vec<Option<Open>>,
    /// Samples that had no time, and so are in no minute.
    pub timeless: u64,
}

impl Minutes {
    /// Adds a sample; gives out the minute that it ends, if it ends one.
    #[inline]
    pub fn add(&mut self, sample: &Sample, done: &mut impl FnMut(Minute)) {
        let Some(at) = sample.at else {
            self.timeless += 1;
            return;
        };
        let minute = at.micros.div_euclid(MINUTE);
        let index = sample.channel.index();
        if index >= self.open.len() {
            self.open.resize(index + 1, None);
        }
        match &mut self.open[index] {
            Some(open) if open.minute == minute && open.count < u32::MAX => open.add(sample.value),
            slot => {
                let mut open = Open::new(sample, minute);
                open.add(sample.value);
                if let Some(last) = slot.replace(open) {
                    done(last.close(sample.channel));
                }
            }
        }
    }

    /// Gives out the minutes still open.
    pub fn finish(self, done: &mut impl FnMut(Minute)) {
        for (index, open) in self.open.into_iter().enumerate() {
            if let Some(open) = open {
                done(open.close(ChannelId(index as u16)));
            }
        }
    }
}

impl Open {
    fn new(sample: &Sample, minute: i64) -> Open {
        Open {
            quantity: sample.quantity,
            minute,
            count: 0,
            first: sample.value,
            least: f64::INFINITY,
            sum: 0.0,
            most: f64::NEG_INFINITY,
            sin: 0.0,
            cos: 0.0,
        }
    }

    /// Everything is counted from the first value: directions for want of another nought, the rest because sums
    /// of small differences keep their digits.
    #[inline]
    fn add(&mut self, value: f64) {
        let mut off = value - self.first;
        if self.quantity.scale() != Scale::Linear {
            off -= (off / 360.0).round() * 360.0;
            let (sin, cos) = value.to_radians().sin_cos();
            self.sin += sin;
            self.cos += cos;
        }
        self.count += 1;
        self.least = self.least.min(off);
        self.most = self.most.max(off);
        self.sum += off;
    }

    fn close(self, channel: ChannelId) -> Minute {
        let count = f64::from(self.count);
        let min = self.first + self.least;
        let max = self.first + self.most;
        Minute {
            channel,
            quantity: self.quantity,
            minute: self.minute,
            count: self.count,
            min,
            mean: (self.first + self.sum / count).clamp(min, max),
            max,
            vector: (self.quantity.scale() != Scale::Linear)
                .then_some(Vector { sin: self.sin / count, cos: self.cos / count }),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::clock::{Instant, TimeBasis};
    use super::*;

    fn sample(quantity: Quantity, second: i64, value: f64) -> Sample {
        let at = Some(Instant { micros: second * 1_000_000, basis: TimeBasis::Record });
        Sample { channel: ChannelId(3), quantity, at, value, offset: 0 }
    }

    fn sum(samples: &[Sample]) -> Vec<Minute> {
        let mut minutes = Minutes::default();
        let mut list = Vec::new();
        for sample in samples {
            minutes.add(sample, &mut |minute| list.push(minute));
        }
        minutes.finish(&mut |minute| list.push(minute));
        list
    }

    #[test]
    fn numbers() {
        let list = sum(&[
            sample(Quantity::BoatSpeed, 0, 6.0),
            sample(Quantity::BoatSpeed, 30, 5.0),
            sample(Quantity::BoatSpeed, 59, 7.0),
            sample(Quantity::BoatSpeed, 60, 4.0),
        ]);
        let seen: Vec<_> = list.iter().map(|m| (m.minute, m.count, m.min, m.mean, m.max)).collect();
        assert_eq!(seen, [(0, 3, 5.0, 6.0, 7.0), (1, 1, 4.0, 4.0, 4.0)]);
        assert_eq!(list[0].vector, None);
    }

    #[test]
    fn a_heading_that_swings_over_north() {
        let list = sum(&[
            sample(Quantity::Heading, 0, 2.0),
            sample(Quantity::Heading, 1, 355.0),
            sample(Quantity::Heading, 2, 6.0),
        ]);
        assert_eq!((list[0].min, list[0].mean, list[0].max), (-5.0, 1.0, 6.0));
        assert!((list[0].shown_mean() - 1.0).abs() < 0.01);
        let south = sum(&[sample(Quantity::Heading, 0, 0.0), sample(Quantity::Heading, 1, 180.0)]);
        assert_eq!(south[0].vector.and_then(Vector::angle_deg), None, "opposite directions cancel out");
    }

    #[test]
    fn a_wind_angle_astern() {
        let list =
            sum(&[sample(Quantity::TrueWindAngle, 0, 178.0), sample(Quantity::TrueWindAngle, 1, -176.0)]);
        assert!((list[0].shown_mean().abs() - 179.0).abs() < 1e-6, "{}", list[0].shown_mean());
    }

    #[test]
    fn time_without_bounds_and_none() {
        let mut none = sample(Quantity::Voltage, 0, 12.0);
        none.at = None;
        let mut minutes = Minutes::default();
        minutes.add(&none, &mut |_| unreachable!("a sample without a time ends no minute"));
        assert_eq!(minutes.timeless, 1);
        let early = sum(&[sample(Quantity::Voltage, -1, 12.0)]);
        assert_eq!(early[0].minute, -1);
    }

    proptest! {
        #[test]
        fn joined_parts_are_the_whole(
            values in proptest::collection::vec(0.0f64..360.0, 2..50), cut in 1usize..49, turn in any::<bool>()
        ) {
            // A band of 100° around some direction, so that the unwrapping has one answer.
            let quantity = if turn { Quantity::Heading } else { Quantity::Voltage };
            let samples: Vec<_> =
                values.iter().map(|v| sample(quantity, 0, quantity.kept(300.0 + v * 100.0 / 360.0))).collect();
            let cut = cut.min(samples.len() - 1);
            let whole = sum(&samples)[0];
            let joined = sum(&samples[..cut])[0].join(sum(&samples[cut..])[0]);
            prop_assert_eq!(joined.count, whole.count);
            let shift = ((whole.mean - joined.mean) / 360.0).round() * 360.0;
            prop_assert!((joined.min + shift - whole.min).abs() < 1e-9);
            prop_assert!((joined.max + shift - whole.max).abs() < 1e-9);
            prop_assert!((joined.mean + shift - whole.mean).abs() < 1e-9);
            prop_assert!(whole.min <= whole.mean && whole.mean <= whole.max);
        }
    }
}
