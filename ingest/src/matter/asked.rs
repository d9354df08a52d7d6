//! The day asked about, as far as the fold depends on it: by dates that have passed, and by nothing else.

use std::cell::Cell;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// A day asked about, which remembers how far off another would have answered otherwise.
#[derive(Debug, Default)]
pub struct Asked {
    on: NaiveDate,
    days: Cell<Days>,
}

/// Days one after the other on which an answer is the same; open at an end that is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Days {
    /// The first.
    pub first: Option<NaiveDate>,
    /// The day after the last.
    pub end: Option<NaiveDate>,
}

impl Asked {
    /// Of a day.
    pub fn of(on: NaiveDate) -> Self {
        Self { on, ..Self::default() }
    }

    /// Whether a date has come by the day asked about.
    pub fn has_passed(&self, date: NaiveDate) -> bool {
        let mut days = self.days.get();
        let passed = date <= self.on;
        if passed {
            days.first = days.first.max(Some(date));
        } else {
            days.end = Some(days.end.map_or(date, |end| end.min(date)));
        }
        self.days.set(days);
        passed
    }

    /// The days on which all that was asked so far has the same answer.
    pub fn days(&self) -> Days {
        self.days.get()
    }
}

impl Days {
    /// Whether a day is one of them.
    pub fn hold(&self, day: NaiveDate) -> bool {
        self.first.is_none_or(|first| first <= day) && self.end.is_none_or(|end| day < end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(n: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 3, n).expect("a date")
    }

    #[test]
    fn the_days_lie_between_the_dates_that_were_asked_about() {
        let asked = Asked::of(day(10));
        assert_eq!(asked.days(), Days::default());
        assert!([5, 10, 7].map(|n| asked.has_passed(day(n))).iter().all(|passed| *passed));
        assert!(![20, 12, 15].map(|n| asked.has_passed(day(n))).iter().any(|passed| *passed));
        let days = asked.days();
        assert_eq!(days, Days { first: Some(day(10)), end: Some(day(12)) });
        assert_eq!([9, 10, 11, 12].map(|n| days.hold(day(n))), [false, true, true, false]);
    }
}
