//! Intervals by resampling a boat's own readings, the same on every machine: the generator is fixed and so is the seed.
//!
//! Formula: draw as many readings as there are, with replacement, work the sum again, so many times; the interval runs
//! between the 5th and the 95th percentile. Range: four readings and more; fewer say nothing of their spread.
//! Source: the percentile bootstrap, B. Efron 1979 (from memory); SplitMix64, G. Steele and others 2014 (from memory).

use serde::Serialize;

use crate::trend::stats::quantile;

/// The seed of every interval, shown beside it.
pub const SEED: u64 = 20_260_101;
/// How many times a sum is worked again.
pub const ROUNDS: usize = 1000;
/// The fewest readings that are resampled.
pub const FEWEST: usize = 4;
/// Readings beyond this many are left out, oldest first: a boat changes, and a long record costs no more than a season.
pub const MOST: usize = 100;

/// The readings that count, the latest [`MOST`] of them.
pub fn recent<T>(readings: &[T]) -> &[T] {
    &readings[readings.len().saturating_sub(MOST)..]
}

/// An interval that holds the answer nine times in ten, as far as the readings tell.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Interval {
    /// 5th percentile.
    pub low: f64,
    /// Median of the answers.
    pub middle: f64,
    /// 95th percentile.
    pub high: f64,
    /// Seed of the draws.
    pub seed: u64,
    /// Number of draws.
    pub rounds: usize,
}

/// The generator: 64 bits of state, the same sequence everywhere.
#[derive(Clone, Debug)]
pub struct SplitMix(u64);

impl SplitMix {
    /// Begins a sequence.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `bound`, which is more than 0; the bias of the multiplication is below 2⁻³² for any series.
    pub fn below(&mut self, bound: usize) -> usize {
        ((u128::from(self.draw()) * bound as u128) >> 64) as usize
    }
}

/// Draws as many of `readings` as there are, with replacement.
pub fn redraw<T: Clone>(readings: &[T], random: &mut SplitMix) -> Vec<T> {
    (0..readings.len()).map(|_| readings[random.below(readings.len())].clone()).collect()
}

/// The interval of a sum over readings; `sum` gives `None` for a draw that allows no answer, which is left out.
///
/// `None` for fewer than [`FEWEST`] readings, and where more than half of the draws allow no answer.
pub fn resample<T: Clone>(readings: &[T], sum: impl Fn(&[T]) -> Option<f64>) -> Option<Interval> {
    if readings.len() < FEWEST {
        return None;
    }
    let mut random = SplitMix::new(SEED);
    let answers = (0..ROUNDS).filter_map(|_| sum(&redraw(readings, &mut random))).collect::<Vec<_>>();
    interval(&answers)
}

/// The interval of answers already drawn; `None` where fewer than half of [`ROUNDS`] came to one.
pub fn interval(answers: &[f64]) -> Option<Interval> {
    if answers.len() * 2 < ROUNDS {
        return None;
    }
    let at = |share| quantile(answers, share);
    Some(Interval { low: at(0.05)?, middle: at(0.5)?, high: at(0.95)?, seed: SEED, rounds: ROUNDS })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;
    use crate::trend::stats::median;

    /// The first numbers of SplitMix64 for seed 1234567, as published with the generator (from memory).
    #[test]
    fn the_generator_is_the_published_one() {
        let mut random = SplitMix::new(1_234_567);
        assert_eq!(random.draw(), 6_457_827_717_110_365_317);
        assert_eq!(random.draw(), 3_203_168_211_198_807_973);
        assert_eq!(random.draw(), 9_817_491_932_198_370_423);
    }

    #[test]
    fn the_same_readings_give_the_same_interval() {
        let readings = [0.14, 0.16, 0.15, 0.19, 0.17, 0.16];
        let first = resample(&readings, median).expect("six readings");
        assert_eq!(Some(first), resample(&readings, median));
        assert!(first.low <= 0.16 && 0.16 <= first.high && first.low >= 0.14 && first.high <= 0.19);
    }

    /// The interval of a mean against the normal one: ±1.645 standard errors of the readings' own spread.
    #[test]
    fn the_interval_of_a_mean_is_about_the_normal_one() {
        let readings: Vec<f64> = (0..50).map(f64::from).collect();
        let mean = |values: &[f64]| Some(values.iter().sum::<f64>() / values.len() as f64);
        let interval = resample(&readings, mean).expect("fifty readings");
        let error = (readings.iter().map(|x| (x - 24.5).powi(2)).sum::<f64>() / 50.0 / 50.0).sqrt();
        near(interval.low, 24.5 - 1.645 * error, 0.4);
        near(interval.high, 24.5 + 1.645 * error, 0.4);
    }

    #[test]
    fn three_readings_say_nothing_of_their_spread() {
        assert_eq!(resample(&[1.0, 2.0, 3.0], median), None);
        assert_eq!(resample(&[1.0, 2.0, 3.0, 4.0], |_| None), None);
    }
}
