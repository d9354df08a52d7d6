//! Readings of one quantity in time, and whether they go anywhere.
//!
//! Only readings that stand on a time and a value can be set in order: one with an open bound ("over 6") or without
//! a time is shown and counted, and left out of the sums. A range counts by its middle. A direction goes round, so
//! it gets neither a median nor a trend.

pub mod ask;
mod change;
pub mod channel;
mod plot;
mod screen;
pub mod stats;
pub mod svg;
pub mod which;

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};
use leadsman_ingest::Stance;
use serde::Serialize;

pub use change::Changed;
pub use channel::{ChannelTrend, DayOf};
pub use plot::plot;
pub use screen::show;
use stats::{FEWEST_FOR_TREND, mann_kendall, median, theil_sen};

/// The confidence of a slope's interval, and the bar that a trend has to clear (5 % the other way).
pub const CONFIDENCE: f64 = 0.95;

const SECONDS_IN_WEEK: f64 = 604_800.0;

/// The shortest time from which a rate a week is told.
const SHORTEST: TimeDelta = TimeDelta::days(2);

/// One reading, as far as a trend needs it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Point {
    /// When it was said to be so.
    pub at: Option<DateTime<FixedOffset>>,
    /// Lower end in the canonical unit; null for an open bound.
    pub low: Option<f64>,
    /// Upper end; null for an open bound.
    pub high: Option<f64>,
    /// What the speaker means by the number.
    pub stance: Stance,
    /// The gear that it is about.
    pub gear: Option<String>,
    /// The name that its source's file had.
    pub source: String,
    /// SHA-256 of the source.
    pub hash: String,
    /// First byte in the source.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// The words.
    pub quote: String,
    /// Why it may be wrong; a doubtful reading stays out of the sums.
    pub doubts: Vec<String>,
}

impl Point {
    /// The value that counts: a range's middle; `None` for an open bound.
    pub fn value(&self) -> Option<f64> {
        Some((self.low? + self.high?) / 2.0)
    }

    /// Its place in time and its value, where it counts.
    fn counted(&self) -> Option<(DateTime<FixedOffset>, f64)> {
        if !self.doubts.is_empty() {
            return None;
        }
        Some((self.at?, self.value()?))
    }
}

/// What was asked for.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Question {
    /// Name of the quantity.
    pub quantity: String,
    /// Only of this gear.
    pub gear: Option<String>,
    /// Only from this day on.
    pub since: Option<NaiveDate>,
    /// Only up to this day.
    pub until: Option<NaiveDate>,
}

/// The answer: readings in time, and where they go.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trend {
    /// What was asked for.
    #[serde(flatten)]
    pub question: Question,
    /// The canonical unit.
    pub unit: String,
    /// How many readings count.
    pub count: usize,
    /// How many are shown and do not count: a doubt, no time, an open bound.
    pub left_out: usize,
    /// From the first reading that counts to the last, in days.
    pub span_days: f64,
    /// Value of the first reading that counts.
    pub first: Option<f64>,
    /// Value of the last one.
    pub last: Option<f64>,
    /// Middle value; null for a direction.
    pub median: Option<f64>,
    /// Where the readings go; null where no trend can be claimed.
    pub slope: Option<Slope>,
    /// Why there is no slope.
    pub no_slope_because: Option<String>,
    /// Changes of the gear between the first reading that counts and the last, each parting the series in two.
    pub changes: Vec<Changed>,
    /// All readings, oldest first, those without a time at the end.
    pub readings: Vec<Point>,
    /// The boat's instruments on the same quantity, a channel each.
    pub instruments: Vec<ChannelTrend>,
}

/// Where readings go, and whether that can be told from standing still.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Slope {
    /// Theil–Sen slope, canonical unit a week.
    pub per_week: f64,
    /// Lower end of Sen's interval.
    pub low: f64,
    /// Upper end of Sen's interval.
    pub high: f64,
    /// Confidence of the interval.
    pub confidence: f64,
    /// Two-sided probability by Mann–Kendall of such a series if nothing changed.
    pub p: f64,
    /// Whether that was counted out exactly.
    pub exact: bool,
    /// Whether `p` is small enough to call it a trend.
    pub distinguishable: bool,
}

impl Trend {
    /// Answers `question` from the readings that fit it. `unit` is the quantity's canonical unit.
    pub fn new(question: Question, unit: &str, mut readings: Vec<Point>) -> Self {
        readings.sort_by_key(|point| (point.at.is_none(), point.at));
        let counted: Vec<_> = readings.iter().filter_map(Point::counted).collect();
        let values: Vec<f64> = counted.iter().map(|c| c.1).collect();
        let span_days = match (counted.first(), counted.last()) {
            (Some(first), Some(last)) => (last.0 - first.0).num_seconds() as f64 / 86_400.0,
            _ => 0.0,
        };
        let round = goes_round(&question.quantity);
        let (slope, no_slope_because) = match slope(&counted, round) {
            Ok(slope) => (Some(slope), None),
            Err(because) => (None, Some(because.to_owned())),
        };
        Self {
            unit: unit.to_owned(),
            count: counted.len(),
            left_out: readings.len() - counted.len(),
            span_days,
            first: values.first().copied(),
            last: values.last().copied(),
            median: if round { None } else { median(&values) },
            slope,
            no_slope_because,
            changes: Vec::new(),
            readings,
            instruments: Vec::new(),
            question,
        }
    }
}

/// Whether a quantity is a direction on the compass, where 359 lies beside 1.
fn goes_round(quantity: &str) -> bool {
    matches!(quantity, "wind_direction" | "heading" | "course_over_ground")
}

fn slope(counted: &[(DateTime<FixedOffset>, f64)], round: bool) -> Result<Slope, &'static str> {
    if round {
        return Err("a direction goes round, so it has no median and no trend");
    }
    if counted.len() < FEWEST_FOR_TREND {
        return Err("fewer than four readings: too few to claim a trend");
    }
    let occasions = occasions(counted);
    let (start, end) = (occasions[0].0, occasions[occasions.len() - 1].0);
    if end - start < SHORTEST {
        return Err("all readings are within two days: too short a time to tell of a week");
    }
    if occasions.len() < FEWEST_FOR_TREND {
        return Err("the readings are of fewer than four hours: too few to claim a trend");
    }
    let points: Vec<(f64, f64)> = occasions
        .iter()
        .map(|(at, value)| ((*at - start).num_seconds() as f64 / SECONDS_IN_WEEK, *value))
        .collect();
    let line = theil_sen(&points, CONFIDENCE).ok_or("all readings are of the same moment")?;
    let test = mann_kendall(&points).ok_or("all readings are equal")?;
    Ok(Slope {
        per_week: line.slope,
        low: line.low,
        high: line.high,
        confidence: CONFIDENCE,
        p: test.p,
        exact: test.exact,
        distinguishable: test.p < 1.0 - CONFIDENCE,
    })
}

/// The readings with those of one hour as one, the middle of them: what differs within minutes would make any rate a week.
fn occasions(counted: &[(DateTime<FixedOffset>, f64)]) -> Vec<(DateTime<FixedOffset>, f64)> {
    let mut occasions: Vec<(DateTime<FixedOffset>, Vec<f64>)> = Vec::new();
    for (at, value) in counted {
        match occasions.last_mut().filter(|(began, _)| *at - *began < TimeDelta::hours(1)) {
            Some((_, values)) => values.push(*value),
            None => occasions.push((*at, vec![*value])),
        }
    }
    occasions.into_iter().filter_map(|(at, values)| Some((at, median(&values)?))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn point(day: i64, value: f64) -> Point {
        let start = DateTime::parse_from_rfc3339("2026-09-01T10:00:00+10:00").expect("an instant");
        Point {
            at: Some(start + chrono::TimeDelta::days(day)),
            low: Some(value),
            high: Some(value),
            stance: Stance::Observed,
            gear: None,
            source: "note.txt".to_owned(),
            hash: "ab".repeat(32),
            start: 0,
            end: 2,
            quote: format!("{value}"),
            doubts: Vec::new(),
        }
    }

    pub(super) fn trend(quantity: &str, points: Vec<Point>) -> Trend {
        Trend::new(Question { quantity: quantity.to_owned(), ..Question::default() }, "%", points)
    }

    #[test]
    fn a_steady_fall_is_told_from_none() {
        let trend = trend("rig_tension", (0..6).map(|i| point(i * 7, 20.0 - i as f64)).collect());
        let slope = trend.slope.expect("a slope");
        assert!((slope.per_week + 1.0).abs() < 1e-9);
        assert!(slope.distinguishable && slope.exact);
        assert_eq!(
            (trend.count, trend.first, trend.last, trend.median),
            (6, Some(20.0), Some(15.0), Some(17.5))
        );
        assert_eq!(trend.span_days, 35.0);
    }

    #[test]
    fn three_readings_are_shown_and_no_trend_claimed() {
        let trend = trend("rig_tension", (0..3).map(|i| point(i, 20.0 - i as f64)).collect());
        assert_eq!(trend.slope, None);
        assert!(trend.no_slope_because.expect("a reason").contains("fewer than four"));
        assert_eq!(trend.readings.len(), 3);
    }

    #[test]
    fn what_lies_close_together_makes_no_rate_a_week() {
        let seconds =
            |point: Point, n: i64| Point { at: point.at.map(|at| at + TimeDelta::seconds(n)), ..point };
        let close = trend("rig_tension", (0..5).map(|i| seconds(point(0, i as f64), 20 * i)).collect());
        assert_eq!(close.slope, None);
        assert!(close.no_slope_because.expect("a reason").contains("within two days"));
        let mut points: Vec<Point> = (0..5).map(|i| point(i * 7, 20.0 - i as f64)).collect();
        points.push(seconds(point(28, 12.0), 5));
        let slope = trend("rig_tension", points).slope.expect("a slope");
        assert!(slope.low >= -3.0 && slope.high < 0.0, "{slope:?}");
        let mut few: Vec<Point> = (0..3).map(|i| point(i * 7, i as f64)).collect();
        few.push(seconds(point(14, 9.0), 5));
        assert!(
            trend("rig_tension", few).no_slope_because.expect("a reason").contains("fewer than four hours")
        );
    }

    #[test]
    fn what_cannot_count_is_counted_apart() {
        let mut points: Vec<Point> = (0..4).map(|i| point(i, 10.0 + i as f64)).collect();
        points.push(Point { at: None, ..point(9, 90.0) });
        points.push(Point { high: None, ..point(5, 90.0) });
        points.push(Point { doubts: vec!["by the file's time".to_owned()], ..point(6, 90.0) });
        let trend = trend("rig_tension", points);
        assert_eq!((trend.count, trend.left_out, trend.last), (4, 3, Some(13.0)));
        assert_eq!(trend.readings.last().expect("seven").at, None);
    }

    #[test]
    fn a_direction_has_no_trend() {
        let trend = trend("wind_direction", (0..5).map(|i| point(i, i as f64)).collect());
        assert_eq!((trend.median, trend.slope), (None, None));
    }

    #[test]
    fn equal_readings_have_no_trend() {
        let trend = trend("rig_tension", (0..5).map(|i| point(i, 15.0)).collect());
        assert_eq!(trend.slope, None);
        let none = Trend::new(Question::default(), "%", Vec::new());
        assert_eq!((none.count, none.median), (0, None));
    }
}
