//! Changes of gear within a trend: readings before the heater's new glow plug and readings after it are two series.

use chrono::NaiveDate;
use leadsman_ingest::EventKind;
use serde::Serialize;

use super::{SECONDS_IN_WEEK, Trend};
use crate::gear_word::Wanted;
use crate::reckon::two_part::{Change, change_at};
use crate::register::Lives;

/// Gear fitted, replaced or repaired between the first and the last reading of a trend.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Changed {
    /// The gear.
    pub gear: String,
    /// What was done with it.
    pub what: EventKind,
    /// The day.
    pub on: NaiveDate,
    /// The words that tell of it, or the skipper's reason.
    pub quote: String,
    /// The note's name, or "the skipper".
    pub from: String,
    /// Before and after, where there are readings enough on both sides.
    pub parts: Option<Change>,
}

impl Trend {
    /// The only gear that the readings which count are about, where there is one.
    pub fn only_gear(&self) -> Option<&str> {
        let mut gear = self.readings.iter().filter(|p| p.counted().is_some()).map(|p| p.gear.as_deref());
        let first = gear.next()??;
        gear.all(|other| other == Some(first)).then_some(first)
    }

    /// Parts the series at each day on which the gear, or a part of it, was changed.
    pub fn part_at(&mut self, lives: &Lives, wanted: &Wanted) {
        let counted: Vec<_> = self.readings.iter().filter_map(super::Point::counted).collect();
        let (Some(first), Some(last)) = (counted.first(), counted.last()) else { return };
        let start = first.0;
        let weeks =
            |at: chrono::DateTime<chrono::FixedOffset>| (at - start).num_seconds() as f64 / SECONDS_IN_WEEK;
        let points: Vec<(f64, f64)> = counted.iter().map(|(at, value)| (weeks(*at), *value)).collect();
        let turns = lives.turns.iter().filter(|(gear, _)| wanted.covers(gear));
        for (gear, turn) in turns.flat_map(|(gear, turns)| turns.iter().map(move |turn| (gear, turn))) {
            let Some(on) = turn.on.filter(|_| turn.what.renews()) else { continue };
            if on < first.0.date_naive() || on > last.0.date_naive() {
                continue;
            }
            if self.changes.iter().any(|known| known.on == on && known.gear == *gear) {
                continue;
            }
            // The readings of the day itself are of the gear as it was: what was done is told of when it is done.
            let next = on.succ_opt().and_then(|day| {
                day.and_time(chrono::NaiveTime::MIN).and_local_timezone(*start.offset()).earliest()
            });
            self.changes.push(Changed {
                gear: gear.clone(),
                what: turn.what,
                on,
                quote: turn.quote.clone(),
                from: turn.from.clone(),
                parts: next.and_then(|next| change_at(&points, weeks(next))),
            });
        }
        self.changes.sort_by(|a, b| (a.on, &a.gear).cmp(&(b.on, &b.gear)));
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{point, trend};
    use super::*;
    use crate::register::Turn;

    fn lives(gear: &str, what: EventKind, on: &str) -> Lives {
        let turn = Turn {
            what,
            on: Some(on.parse().expect("a day")),
            day_said: true,
            quote: "new glow plug".to_owned(),
            from: "note.txt".to_owned(),
            span: None,
            note: 0,
        };
        Lives { turns: [(gear.to_owned(), vec![turn])].into(), ..Lives::default() }
    }

    fn burned() -> Trend {
        let day = |n: i64| point(n * 2, if n < 4 { 0.30 + 0.01 * n as f64 } else { 0.22 + 0.01 * n as f64 });
        trend("fuel_rate", (0..8).map(day).collect())
    }

    #[test]
    fn a_change_of_gear_parts_the_series() {
        let mut trend = burned();
        // The readings are of 1 September and every second day after it.
        trend.part_at(&lives("heater", EventKind::Replaced, "2026-09-08"), &Wanted::new("heater"));
        let changed = &trend.changes[0];
        assert_eq!((changed.gear.as_str(), changed.quote.as_str()), ("heater", "new glow plug"));
        let parts = changed.parts.expect("four on each side");
        assert_eq!((parts.before, parts.after), (4, 4));
        assert!((parts.median_before - 0.315).abs() < 1e-9 && (parts.median_after - 0.275).abs() < 1e-9);
        assert!(parts.difference.high < 0.0, "{:?}", parts.difference);
    }

    #[test]
    fn what_parts_nothing_is_left_out() {
        for (gear, what, on) in [
            ("windlass", EventKind::Replaced, "2026-09-08"),
            ("heater", EventKind::Bought, "2026-09-08"),
            ("heater", EventKind::Replaced, "2026-08-08"),
        ] {
            let mut trend = burned();
            trend.part_at(&lives(gear, what, on), &Wanted::new("heater"));
            assert_eq!(trend.changes, [], "{gear} {what:?} {on}");
        }
        let mut early = burned();
        early.part_at(&lives("heater", EventKind::Repaired, "2026-09-02"), &Wanted::new("heater"));
        assert_eq!(early.changes[0].parts, None, "one reading says nothing of what was before");
    }
}
