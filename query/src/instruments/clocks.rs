//! How far the instruments' clock is from the one that the notes go by.
//!
//! A day's numbers as they were said are laid over the instruments' minutes, and shifted against them a minute at a time:
//! where nearly all of them fit at one shift, clearly more than fit without one, and at no other shift, that is the
//! difference. Too few numbers, a quiet day on which every shift fits, or two shifts that fit equally well tell nothing.
//! What the skipper sets by hand goes before it.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use leadsman_ingest::Reading;
use leadsman_ingest::instrument::{Minute, Quantity, quantity::Scale};
use serde::Serialize;

use super::said::{self, MINUTES_AROUND};

/// Minutes that the clocks may be apart, either way, for it to be found: two hours, a forgotten summer time and more.
pub const MINUTES_APART: i64 = 120;
/// Numbers that must agree at the shift that is found.
const AGREE_LEAST: usize = 4;
/// Share of a day's numbers that must agree there.
const SHARE_LEAST: f64 = 0.8;
/// Further numbers that must agree there than without a shift.
const GAIN_LEAST: usize = 2;
/// The widest run of minutes within which as many may fit; of them, the one is taken where they fit most closely.
const WIDEST: i64 = 30;

/// A difference that the skipper set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByHand {
    /// Seconds by which the instruments' clock is ahead.
    pub ahead_s: f64,
    /// First day aboard.
    pub since: Option<NaiveDate>,
    /// Last day aboard.
    pub until: Option<NaiveDate>,
}

impl ByHand {
    /// Whether it covers a day.
    pub fn covers(&self, day: NaiveDate) -> bool {
        self.since.is_none_or(|since| since <= day) && self.until.is_none_or(|until| day <= until)
    }
}

/// The clocks of one day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClockDay {
    /// The day, aboard.
    pub day: NaiveDate,
    /// Numbers said that instruments speak to.
    pub compared: usize,
    /// How many of them agree with the clocks as they are.
    pub agree_as_they_are: usize,
    /// The difference, where one is known.
    pub difference: Option<Difference>,
}

/// A difference between the instruments' clock and the notes'.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// Seconds by which the instruments' clock is ahead; negative where it is behind.
    pub ahead_s: f64,
    /// Whether the skipper set it; else it was estimated, to about a minute.
    pub by_hand: bool,
    /// How many numbers agree with it.
    pub agree: usize,
}

/// One number said, with the minutes of each channel that it may have been read from.
pub(super) struct Spoken<'a> {
    pub(super) reading: &'a Reading,
    /// The minute in which it was said, by the notes' clock, since 1970 UTC.
    pub(super) minute: i64,
    pub(super) channels: Vec<(Quantity, &'a BTreeMap<i64, Minute>)>,
}

impl Spoken<'_> {
    /// How far it is from the mean of what the instruments showed `shift` minutes later by their clock, in tolerances;
    /// `None` where it does not fit.
    fn fits(&self, shift: i64) -> Option<f64> {
        let middle = self.minute + shift;
        let said = said::middle(self.reading);
        let off = |(quantity, minutes): &(Quantity, &BTreeMap<i64, Minute>)| {
            let mut within = minutes.range(middle - MINUTES_AROUND..=middle + MINUTES_AROUND);
            let (_, first) = within.next()?;
            let whole = within.fold(*first, |whole, (_, minute)| whole.join(*minute));
            let tolerance = said::tolerance(*quantity, said);
            let mean = whole.shown_mean();
            let off = match quantity.scale() {
                Scale::Linear => said - mean,
                Scale::Direction => (said - mean + 180.0).rem_euclid(360.0) - 180.0,
                Scale::Bow => said - mean.abs(),
            };
            said::overlaps(self.reading, *quantity, (whole.min, whole.max), tolerance)
                .then(|| (off / tolerance).abs())
        };
        self.channels.iter().filter_map(off).min_by(f64::total_cmp)
    }
}

/// Finds a day's difference from what was said.
pub(super) fn estimate(day: NaiveDate, spoken: &[Spoken<'_>]) -> ClockDay {
    // How many fit at a shift, and how far they are off there in all.
    let agree = |shift| {
        let offs = spoken.iter().filter_map(|number| number.fits(shift));
        offs.fold((0, 0.0), |(count, sum), off| (count + 1, sum + off))
    };
    let (as_they_are, _) = agree(0);
    let mut found =
        ClockDay { day, compared: spoken.len(), agree_as_they_are: as_they_are, difference: None };
    if spoken.len() < AGREE_LEAST || as_they_are + GAIN_LEAST > spoken.len() {
        return found;
    }
    let fits: Vec<(i64, usize, f64)> = (-MINUTES_APART..=MINUTES_APART)
        .map(|shift| {
            let (count, off) = agree(shift);
            (shift, count, off)
        })
        .collect();
    let best = fits.iter().map(|fit| fit.1).max().unwrap_or(0);
    let enough = best >= AGREE_LEAST
        && best >= as_they_are + GAIN_LEAST
        && best as f64 >= SHARE_LEAST * spoken.len() as f64;
    let at_best: Vec<_> = fits.iter().filter(|fit| fit.1 == best).collect();
    if let (true, Some(first), Some(last)) = (enough, at_best.first(), at_best.last())
        && last.0 - first.0 <= WIDEST
        && let Some(nearest) = at_best.iter().min_by(|a, b| a.2.total_cmp(&b.2))
    {
        let ahead_s = nearest.0 as f64 * 60.0;
        found.difference = Some(Difference { ahead_s, by_hand: false, agree: best });
    }
    found
}

#[cfg(test)]
mod tests {
    use chrono::DateTime;
    use leadsman_ingest::instrument::ChannelId;
    use leadsman_ingest::{Basis, Moment, Span, Stance};

    use super::*;

    fn reading(value: f64) -> Reading {
        let at = DateTime::parse_from_rfc3339("2026-05-09T10:00:00Z").expect("an instant");
        Reading {
            quantity: "speed_over_ground".to_owned(),
            low: Some(value),
            high: Some(value),
            unit: "kn".to_owned(),
            unit_said: "knots".to_owned(),
            stance: Stance::Observed,
            gear: None,
            at: Some(Moment { at, basis: Basis::Inferred }),
            span: Span::default(),
            quote: String::new(),
            doubts: Vec::new(),
            because: Vec::new(),
        }
    }

    /// Speeds that climb by 0.1 kn a minute from 0 to 24 kn.
    fn climbing() -> BTreeMap<i64, Minute> {
        let quantity = Quantity::SpeedOverGround;
        (0..240)
            .map(|minute| {
                let mean = minute as f64 / 10.0;
                let sum = Minute {
                    channel: ChannelId(0),
                    quantity,
                    minute,
                    count: 60,
                    min: mean,
                    mean,
                    max: mean,
                    vector: None,
                };
                (minute, sum)
            })
            .collect()
    }

    fn day() -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 5, 9).expect("a date")
    }

    fn spoken<'a>(
        readings: &'a [Reading],
        minutes: &'a BTreeMap<i64, Minute>,
        at: impl Fn(usize) -> i64,
    ) -> Vec<Spoken<'a>> {
        let channels = || vec![(Quantity::SpeedOverGround, minutes)];
        let each = readings.iter().enumerate();
        each.map(|(n, reading)| Spoken { reading, minute: at(n), channels: channels() }).collect()
    }

    #[test]
    fn a_clock_that_is_half_an_hour_ahead_is_found() {
        let minutes = climbing();
        // Said at 60, 70, … by the phone, read half an hour later by the instruments' clock.
        let readings: Vec<Reading> = (0..6).map(|n| reading(9.0 + f64::from(n))).collect();
        let found = estimate(day(), &spoken(&readings, &minutes, |n| 60 + 10 * n as i64));
        let difference = found.difference.expect("a difference");
        assert!((difference.ahead_s - 1800.0).abs() <= 60.0, "{difference:?}");
        assert_eq!((found.compared, found.agree_as_they_are, difference.agree), (6, 0, 6));
    }

    #[test]
    fn what_tells_nothing_gives_no_difference() {
        let minutes = climbing();
        let right: Vec<Reading> = (0..6).map(|n| reading(6.0 + f64::from(n))).collect();
        let found = estimate(day(), &spoken(&right, &minutes, |n| 60 + 10 * n as i64));
        assert_eq!((found.agree_as_they_are, found.difference), (6, None));
        // One number is wrong, the clocks are not.
        let mut one_off = right.clone();
        one_off[2] = reading(14.0);
        assert_eq!(estimate(day(), &spoken(&one_off, &minutes, |n| 60 + 10 * n as i64)).difference, None);
        // Three numbers are too few.
        let few: Vec<Reading> = (0..3).map(|n| reading(9.0 + f64::from(n))).collect();
        assert_eq!(estimate(day(), &spoken(&few, &minutes, |n| 60 + 10 * n as i64)).difference, None);
        // A quiet day fits at any shift, and so at none in particular.
        let mut quiet = climbing();
        for minute in quiet.values_mut() {
            (minute.min, minute.mean, minute.max) = (5.0, 5.0, 5.0);
        }
        let wrong: Vec<Reading> = (0..6).map(|_| reading(9.0)).collect();
        assert_eq!(estimate(day(), &spoken(&wrong, &quiet, |n| 60 + 10 * n as i64)).difference, None);
    }

    #[test]
    fn days_that_a_word_covers() {
        let word = ByHand { ahead_s: 5.0, since: Some(day()), until: None };
        assert!(word.covers(day()) && !word.covers(day().pred_opt().expect("a day")));
        assert!(ByHand { since: None, ..word }.covers(NaiveDate::MIN));
        assert!(!ByHand { since: None, until: Some(day()), ..word }.covers(NaiveDate::MAX));
    }
}
