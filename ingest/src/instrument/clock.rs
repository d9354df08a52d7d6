//! The time of every sample: told by the record, carried from the last that told it, or worked out; and what is
//! odd about a log's clocks.
//!
//! The rules, in order:
//! 1. A time in front of a record is the sample's time. The receiver's time is then only set against it.
//! 2. Without one, the time of the last `RMC` or `ZDA` (or PGN 126992, 129029) is carried on. A time of day alone
//!    (`GGA`, `GLL`) moves it on to the nearest such moment.
//! 3. What stands before the first told time takes that first time, where the head of the log holds one.
//! 4. A date that no record tells is taken from the recording time that the skipper gave, the file's name, or its
//!    modification time, in this order, and marked as inferred. Without any of them a sample has no time.
//!
//! A receiver whose date is 1,024 weeks (or twice that) behind the times in front of its lines, or behind the
//! file's own name or time, has rolled over: GPS counts weeks in ten bits. It is put right, and said.

use chrono::{Offset, TimeZone};
use chrono_tz::Tz;

use super::stamp::{self, DAY, HOUR, MINUTE, SECOND, Stamp};
use crate::Hints;
use crate::found::Notice;

/// How a sample's time is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TimeBasis {
    /// Told by its own record, or in front of it.
    Record,
    /// The last time that the log told before it.
    Carried,
    /// Its date, its offset, or all of it worked out from something else.
    Inferred,
}

/// When a sample was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Instant {
    /// Microseconds since 1970-01-01T00:00:00Z.
    pub micros: i64,
    /// How it is known.
    pub basis: TimeBasis,
}

/// Microseconds in 1,024 weeks, after which a receiver's ten-bit week begins again.
pub const ROLLOVER: i64 = 1024 * 7 * DAY;

/// Stamps before 1990 come from a clock that was never set: a count since it was switched on.
const UNSET_BEFORE: i64 = 631_152_000 * SECOND;
/// Two senders aboard differ by as much without any clock being wrong.
const JITTER: i64 = 2 * SECOND;
/// A receiver this far from the times in front of the lines runs wrong (or they do).
const WRONG: i64 = 2 * MINUTE;

/// A rollover that was put right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rollover {
    /// Weeks added: 1,024 or 2,048.
    pub weeks: i64,
    /// Times that were put right.
    pub count: u64,
    /// What it was seen by: "the times in front of the lines", "the file's name", …
    pub evidence: &'static str,
}

/// The receiver's clock set against the times in front of the lines, in seconds; positive where it is ahead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Times compared.
    pub count: u64,
    /// Least.
    pub min: f64,
    /// Mean.
    pub mean: f64,
    /// Greatest.
    pub max: f64,
}

/// What was seen of a log's clocks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ClockReport {
    /// Earliest time of a sample, microseconds UTC.
    pub first: Option<i64>,
    /// Latest time of a sample, microseconds UTC.
    pub last: Option<i64>,
    /// Samples without any time.
    pub timeless: u64,
    /// Samples whose time is inferred.
    pub inferred: u64,
    /// Times earlier than the one before.
    pub backwards: u64,
    /// The longest step back, in seconds.
    pub backwards_most_s: f64,
    /// Line of the first step back.
    pub backwards_line: Option<u64>,
    /// The rollover that was put right.
    pub rollover: Option<Rollover>,
    /// The receiver against the times in front of the lines.
    pub receiver: Option<Difference>,
    /// The receiver's date and the one in the file's name, days since 1970-01-01, where they are days apart.
    pub name_disagrees: Option<(i64, i64)>,
    /// Offset from UTC taken for clock times without one, in seconds, and where it comes from; `None` where the skipper
    /// gave the zone.
    pub offset: Option<(i64, &'static str)>,
    /// Stamps from a clock that was never set, which were left aside.
    pub unset: u64,
    /// Where the date comes from, for records that tell only the time of day.
    pub dated_by: Option<&'static str>,
}

impl ClockReport {
    /// What the skipper should know of the log's clocks; empty where nothing is odd.
    pub fn notices(&self) -> Vec<Notice> {
        let mut notices = Vec::new();
        let mut say = |line: Option<u64>, message: String, hint: &str| {
            let hint = (!hint.is_empty()).then(|| hint.to_owned());
            notices.push(Notice { span: None, line: line.map(|n| n as usize), message, hint });
        };
        if let Some(rollover) = &self.rollover {
            say(
                None,
                format!(
                    "the receiver's date has rolled over: {} times were {} weeks behind {}, and were put right",
                    rollover.count, rollover.weeks, rollover.evidence
                ),
                "newer firmware may cure the receiver",
            );
        }
        if let Some(receiver) = self.receiver.filter(|r| r.mean.abs() * 1e6 > WRONG as f64) {
            say(
                None,
                format!(
                    "the receiver's clock is {:.0} s {} the times in front of the lines (from {:.0} to {:.0}); \
                     the latter were used",
                    receiver.mean.abs(),
                    if receiver.mean > 0.0 { "ahead of" } else { "behind" },
                    receiver.min,
                    receiver.max
                ),
                "find out which of the two clocks is wrong",
            );
        }
        if let Some((receiver, name)) = self.name_disagrees {
            let date = |day: i64| stamp::show(day * DAY)[..10].to_owned();
            say(
                None,
                format!(
                    "the file's name says {}, the receiver {}; the receiver's date was used",
                    date(name),
                    date(receiver)
                ),
                "rename the file or give the recording time if the receiver is wrong",
            );
        }
        if self.backwards > 0 {
            say(
                self.backwards_line,
                format!(
                    "time runs backwards {} times, by {:.0} s at most",
                    self.backwards, self.backwards_most_s
                ),
                "",
            );
        }
        if let Some((seconds, from)) = self.offset {
            say(
                None,
                format!(
                    "the times have no offset from UTC; {}{:02}:{:02} was taken from {from}",
                    if seconds < 0 { '-' } else { '+' },
                    seconds.abs() / 3600,
                    seconds.abs() / 60 % 60
                ),
                "",
            );
        }
        if let Some(from) = self.dated_by {
            say(None, format!("the log tells the time of day only; the date was taken from {from}"), "");
        }
        if self.unset > 0 {
            say(
                None,
                format!("{} times come from a clock that was never set, and were left aside", self.unset),
                "",
            );
        }
        if self.timeless > 0 {
            say(
                None,
                format!("{} values have no time, as the log tells none up to them", self.timeless),
                "give the recording time",
            );
        }
        notices
    }
}

/// The clock of a log being read.
#[derive(Debug)]
pub(super) struct Clock {
    recorded: Option<i64>,
    name_day: Option<i64>,
    modified: Option<i64>,
    zone: Option<Tz>,
    zone_given: bool,
    zone_hour: Option<(i64, i64)>,
    now: Option<Instant>,
    fresh: bool,
    stamp: Option<Stamp>,
    stamped: Option<i64>,
    offset: Option<i64>,
    difference_sum: f64,
    pub(super) report: ClockReport,
}

impl Clock {
    pub(super) fn new(hints: &Hints) -> Self {
        Self {
            recorded: hints.recorded.map(|at| at.timestamp_micros()),
            name_day: stamp::day_in_name(&hints.name),
            modified: hints.modified.map(|at| at.timestamp_micros()),
            zone: hints.zone.as_ref().map(|(zone, _)| *zone),
            zone_given: hints
                .zone
                .as_ref()
                .is_some_and(|(_, from)| matches!(from.as_str(), "--zone" | "settings.toml")),
            zone_hour: None,
            now: None,
            fresh: false,
            stamp: None,
            stamped: None,
            offset: None,
            difference_sum: 0.0,
            report: ClockReport::default(),
        }
    }

    /// Begins a record that may tell a time of its own.
    #[inline]
    pub(super) fn begin(&mut self) {
        if self.fresh {
            self.grow_old();
        }
    }

    fn grow_old(&mut self) {
        self.fresh = false;
        self.stamp = None;
        self.stamped = None;
        if let Some(now) = &mut self.now
            && now.basis == TimeBasis::Record
        {
            now.basis = TimeBasis::Carried;
        }
    }

    /// The time for a value of the present record.
    #[inline]
    pub(super) fn at(&self) -> Option<Instant> {
        self.now
    }

    /// Takes what the head of a log tells: the first date and time of the receiver, with the stamp of its line, and
    /// the time of day of the first record that tells one, which may stand before it.
    pub(super) fn seed(&mut self, stamp: Option<Stamp>, day: i64, time_of_day: i64, first: Option<i64>) {
        let told = day * DAY + time_of_day;
        self.learn_offset(stamp, told);
        let right = told + self.rolled(told, None).map_or(0, |(weeks, _)| weeks * 7 * DAY);
        let micros = first.map_or(right, |first| nearest(first, right));
        self.now = Some(Instant { micros, basis: TimeBasis::Inferred });
    }

    /// Takes the time in front of the present record.
    pub(super) fn stamp(&mut self, stamp: Stamp, line: u64) {
        let found = match stamp {
            Stamp::Utc(at) => Some((at, TimeBasis::Record)),
            Stamp::Local(local) => Some((local - self.offset_at(local), TimeBasis::Record)),
            Stamp::Clock(clock) => self.near_local().map(|near| {
                let local = nearest(clock, near);
                (local - self.offset_at(local), TimeBasis::Inferred)
            }),
        };
        let Some((at, basis)) = found else { return };
        if at < UNSET_BEFORE {
            self.report.unset += 1;
            return;
        }
        self.stamp = Some(stamp);
        self.stamped = Some(at);
        self.set(Instant { micros: at, basis }, 0, line);
    }

    /// Takes a receiver's date and time of day.
    pub(super) fn dated(&mut self, day: i64, time_of_day: i64, line: u64) {
        let mut told = day * DAY + time_of_day;
        let full_stamp = self.stamped.filter(|_| !matches!(self.stamp, Some(Stamp::Clock(_))));
        if let Some((weeks, evidence)) = self.rolled(told, full_stamp) {
            told += weeks * 7 * DAY;
            let rollover = self.report.rollover.get_or_insert(Rollover { weeks, count: 0, evidence });
            rollover.count += 1;
        } else if let Some(name_day) = self.name_day
            && full_stamp.is_none()
            && (name_day - day).abs() > 40
        {
            self.report.name_disagrees.get_or_insert((day, name_day));
        }
        if let Some(stamped) = self.stamped {
            self.learn_offset(self.stamp, told);
            self.compare(told, stamped);
        } else {
            self.set(Instant { micros: told, basis: TimeBasis::Record }, JITTER, line);
        }
    }

    /// Takes a receiver's time of day, whose date is not told.
    pub(super) fn time_of_day(&mut self, time_of_day: i64, line: u64) {
        if self.stamped.is_some() {
            return;
        }
        let (near, inferred) = match (self.now, self.dating()) {
            (Some(now), _) => (now.micros, now.basis == TimeBasis::Inferred),
            (None, Some((near, from))) => {
                self.report.dated_by = Some(from);
                (near, true)
            }
            (None, None) => return,
        };
        let basis = if inferred { TimeBasis::Inferred } else { TimeBasis::Record };
        self.set(Instant { micros: nearest(time_of_day, near), basis }, JITTER, line);
    }

    /// Moves on; a step back of less than `slack` is another sender's jitter and moves nothing.
    fn set(&mut self, to: Instant, slack: i64, line: u64) {
        self.fresh = true;
        if let Some(now) = self.now {
            let back = now.micros - to.micros;
            if back > slack {
                // The time seeded from the head of the log is not one that the log told before this one.
                if now.basis != TimeBasis::Inferred || self.report.first.is_some() {
                    self.report.backwards += 1;
                    self.report.backwards_most_s = self.report.backwards_most_s.max(back as f64 / 1e6);
                    self.report.backwards_line.get_or_insert(line);
                }
            } else if back > 0 {
                return;
            }
        }
        self.now = Some(to);
    }

    /// Counts values given out with the present time.
    #[inline]
    pub(super) fn count(&mut self, at: Option<Instant>, values: u64) {
        if values == 0 {
            return;
        }
        let Some(at) = at else {
            self.report.timeless += values;
            return;
        };
        if at.basis == TimeBasis::Inferred {
            self.report.inferred += values;
        }
        match self.report.last {
            Some(last) if at.micros <= last => {
                if self.report.first.is_some_and(|first| at.micros < first) {
                    self.report.first = Some(at.micros);
                }
            }
            _ => {
                self.report.first = self.report.first.or(Some(at.micros));
                self.report.last = Some(at.micros);
            }
        }
    }

    /// Weeks that a receiver's time is behind by rollover, and what says so.
    fn rolled(&self, told: i64, stamped: Option<i64>) -> Option<(i64, &'static str)> {
        const LINES: &str = "the times in front of the lines";
        // A log may span weeks around the date in its name; against 1,024 of them that is little.
        let (reference, slack, evidence) = match stamped {
            Some(at) => (at, 2 * DAY, LINES),
            None => match self.dating() {
                Some((near, from)) => (near, 40 * DAY, from),
                None => return None,
            },
        };
        let behind = reference - told;
        let times = (behind + ROLLOVER / 2).div_euclid(ROLLOVER);
        ((1..=2).contains(&times) && (behind - times * ROLLOVER).abs() <= slack)
            .then_some((times * 1024, evidence))
    }

    /// A moment near which the log was made, from outside of it, and where that is from.
    fn dating(&self) -> Option<(i64, &'static str)> {
        if let Some(at) = self.recorded {
            return Some((at, "the recording time given"));
        }
        if let Some(day) = self.name_day {
            return Some((day * DAY + 12 * HOUR, "the file's name"));
        }
        // The file was last written at the log's end: the day before that moment.
        self.modified.map(|at| (at - 12 * HOUR, "the file's modification time"))
    }

    fn near_local(&mut self) -> Option<i64> {
        if let Some(now) = self.now {
            let offset = self.offset_at(now.micros);
            return Some(now.micros + offset);
        }
        let (near, from) = self.dating()?;
        self.report.dated_by = Some(from);
        // The date in a file's name is already a local one.
        Some(if self.recorded.is_none() && self.name_day.is_some() {
            near
        } else {
            near + self.offset_at(near)
        })
    }

    /// The offset from UTC in force at a local time, in microseconds: the receiver's, the zone's, or none.
    fn offset_at(&mut self, local: i64) -> i64 {
        if let Some(offset) = self.offset {
            return offset;
        }
        let Some(zone) = self.zone else {
            self.report.offset = Some((0, "nothing: they were taken as UTC"));
            return 0;
        };
        let hour = local.div_euclid(HOUR);
        if let Some((cached, offset)) = self.zone_hour
            && cached == hour
        {
            return offset;
        }
        let offset = chrono::DateTime::from_timestamp_micros(local)
            .and_then(|at| zone.from_local_datetime(&at.naive_utc()).earliest())
            .map_or(0, |at| i64::from(at.offset().fix().local_minus_utc()));
        if !self.zone_given {
            self.report.offset = Some((offset, "the zone in force"));
        }
        self.zone_hour = Some((hour, offset * SECOND));
        offset * SECOND
    }

    /// Takes the offset of stamps without one as known, in microseconds.
    pub(super) fn offset_is(&mut self, offset: i64) {
        self.offset = Some(offset);
    }

    /// Learns the offset of stamps without one from the receiver's time, to a quarter of an hour.
    fn learn_offset(&mut self, stamp: Option<Stamp>, told: i64) {
        const QUARTER: i64 = 15 * MINUTE;
        let (Some(Stamp::Local(local) | Stamp::Clock(local)), None) = (stamp, self.offset) else { return };
        let ahead = (local - told + 12 * HOUR).rem_euclid(DAY) - 12 * HOUR;
        let rounded = (ahead + QUARTER / 2).div_euclid(QUARTER) * QUARTER;
        if (ahead - rounded).abs() <= MINUTE {
            self.offset = Some(rounded);
            self.report.offset = Some((rounded / SECOND, "the receiver's own time"));
        }
    }

    fn compare(&mut self, told: i64, stamped: i64) {
        let ahead = (told - stamped) as f64 / 1e6;
        self.difference_sum += ahead;
        let difference =
            self.report.receiver.get_or_insert(Difference { count: 0, min: ahead, mean: ahead, max: ahead });
        difference.count += 1;
        difference.min = difference.min.min(ahead);
        difference.max = difference.max.max(ahead);
        difference.mean = self.difference_sum / difference.count as f64;
    }
}

/// The moment nearest to `near` at which a clock shows `time_of_day`.
fn nearest(time_of_day: i64, near: i64) -> i64 {
    (near - time_of_day + DAY / 2).div_euclid(DAY) * DAY + time_of_day
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(y: i64, m: i64, d: i64) -> i64 {
        stamp::day(y, m, d).expect("a date")
    }

    fn named(name: &str) -> Clock {
        Clock::new(&Hints { name: name.into(), ..Hints::default() })
    }

    #[test]
    fn a_time_of_day_goes_over_midnight() {
        let mut clock = named("");
        clock.dated(day(2026, 5, 9), DAY - SECOND, 1);
        clock.begin();
        clock.time_of_day(SECOND, 2);
        assert_eq!(clock.at().map(|at| at.micros), Some(day(2026, 5, 10) * DAY + SECOND));
        assert_eq!(clock.report.backwards, 0);
    }

    #[test]
    fn a_rollover_is_put_right_by_the_name() {
        let mut clock = named("2026-05-09.log");
        clock.dated(day(2026, 5, 9) - 1024 * 7, HOUR, 1);
        assert_eq!(clock.at().map(|at| at.micros), Some(day(2026, 5, 9) * DAY + HOUR));
        let rollover = clock.report.rollover.clone().expect("a rollover");
        assert_eq!((rollover.weeks, rollover.evidence), (1024, "the file's name"));
        assert!(clock.report.notices()[0].message.contains("1024 weeks behind the file's name"));
    }

    #[test]
    fn a_rollover_is_put_right_by_the_lines() {
        let mut clock = named("");
        let at = day(2026, 5, 9) * DAY + 10 * HOUR;
        clock.stamp(Stamp::Utc(at), 1);
        clock.dated(day(2026, 5, 9) - 2048 * 7, 10 * HOUR, 1);
        assert_eq!(clock.report.rollover.as_ref().map(|r| r.weeks), Some(2048));
        assert_eq!(clock.at(), Some(Instant { micros: at, basis: TimeBasis::Record }));
        assert_eq!(clock.report.receiver.map(|d| d.mean), Some(0.0));
    }

    #[test]
    fn a_receiver_that_runs_wrong_is_said() {
        let mut clock = named("");
        clock.stamp(Stamp::Utc(day(2026, 5, 9) * DAY), 1);
        clock.dated(day(2026, 5, 9), HOUR, 1);
        assert!(clock.report.rollover.is_none());
        assert!(clock.report.notices()[0].message.contains("3600 s ahead of"));
        let mut clock = named("2026-05-09.log");
        clock.dated(day(2024, 1, 1), 0, 1);
        assert!(clock.report.notices()[0].message.contains("name says 2026-05-09, the receiver 2024-01-01"));
    }

    #[test]
    fn clock_times_get_their_offset_from_the_receiver() {
        let mut clock = named("");
        let local = Stamp::Clock(14 * HOUR);
        clock.seed(Some(local), day(2026, 5, 9), 4 * HOUR + 3 * SECOND, None);
        clock.stamp(local, 1);
        assert_eq!(clock.at().map(|at| at.micros), Some(day(2026, 5, 9) * DAY + 4 * HOUR));
        assert_eq!(clock.report.offset, Some((36_000, "the receiver's own time")));
    }

    #[test]
    fn the_date_comes_from_the_name_where_only_the_time_is_told() {
        let mut clock = named("sounder-20260509.log");
        clock.time_of_day(HOUR, 1);
        let at = clock.at().expect("a time");
        assert_eq!(at, Instant { micros: day(2026, 5, 9) * DAY + HOUR, basis: TimeBasis::Inferred });
        assert_eq!(clock.report.dated_by, Some("the file's name"));
        let mut clock = named("sounder.log");
        clock.time_of_day(HOUR, 1);
        assert_eq!(clock.at(), None);
    }

    #[test]
    fn steps_back_are_counted_beyond_jitter() {
        let mut clock = named("");
        for (n, second) in [10, 9, 11, 3, 4].into_iter().enumerate() {
            clock.begin();
            clock.dated(day(2026, 5, 9), second * SECOND, n as u64 + 1);
            clock.count(clock.at(), 1);
        }
        assert_eq!((clock.report.backwards, clock.report.backwards_line), (1, Some(4)));
        assert_eq!(clock.report.backwards_most_s, 8.0);
    }

    #[test]
    fn a_clock_never_set_is_left_aside() {
        let mut clock = named("");
        clock.stamp(Stamp::Utc(352_000), 1);
        assert_eq!(clock.at(), None);
        assert_eq!(clock.report.unset, 1);
    }
}
