//! When each piece was said: from the note's beginning and the stamps on the way.

use chrono::{DateTime, Datelike, Days, FixedOffset, NaiveDate, NaiveTime, TimeDelta};

use super::said::DateSaid;
use super::zone::Zone;
use crate::format::{Cut, Stamp};
use crate::found::{Basis, Moment};

/// An entry at least this many hours earlier than the one above it is of the next day; one less early was written late.
/// Common practice in reading pencilled logs, no source.
const NEXT_DAY_H: i64 = 3;

/// The moments of all pieces. `day` says how the beginning's date is known, `month_first` which way about dates are that
/// could be either.
pub(super) fn moments(
    cut: &Cut,
    zone: Zone,
    recorded: Option<Moment>,
    day: Basis,
    month_first: bool,
) -> Vec<Option<Moment>> {
    let in_order = |date: DateSaid| match month_first && date.either {
        true => DateSaid { day: date.month, month: date.day, ..date },
        false => date,
    };
    let begun = recorded.map(|r| zone.local(r.at));
    let mut today = begun.map(|b| (b.date(), day));
    let mut clock: Option<NaiveTime> = None;
    // Words without a stamp go with the last stamped ones, else with the beginning.
    let follows = |at: Moment| Moment {
        at: at.at,
        basis: if at.basis == Basis::FileTime { Basis::FileTime } else { Basis::Inferred },
    };
    let mut last = recorded;
    let mut out = Vec::with_capacity(cut.pieces.len());
    for piece in &cut.pieces {
        let own = match piece.stamp {
            Stamp::None => None,
            Stamp::Offset(seconds) => recorded.and_then(|r| after(r.at, seconds)).map(|at| {
                let basis = if day == Basis::FileTime { Basis::FileTime } else { Basis::Inferred };
                Moment { at, basis }
            }),
            Stamp::Exact(local, offset) => {
                Some(Moment { at: zone.instant_at(local, offset), basis: Basis::Stated })
            }
            Stamp::Day(date) => {
                today = next_day(in_order(date), today);
                clock = None;
                let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
                today.map(|(date, basis)| follows(Moment { at: zone.instant(date.and_time(noon)), basis }))
            }
            Stamp::DayClock(date, time) => {
                let same = date.weekday.is_some()
                    && date.day.is_none()
                    && today.is_some_and(|(d, _)| Some(d.weekday()) == date.weekday);
                if !same {
                    today = next_day(in_order(date), today);
                }
                clock = Some(time);
                at_clock(today, time, zone)
            }
            Stamp::Clock(time) => {
                if clock.is_some_and(|before| before.signed_duration_since(time).num_hours() >= NEXT_DAY_H)
                    && let Some((date, basis)) = today
                {
                    today = date.checked_add_days(Days::new(1)).map(|date| (date, basis));
                }
                clock = Some(time);
                at_clock(today, time, zone)
            }
        };
        if own.is_some() {
            last = own;
        }
        out.push(own.or_else(|| last.map(follows)));
    }
    out
}

fn at_clock(today: Option<(NaiveDate, Basis)>, time: NaiveTime, zone: Zone) -> Option<Moment> {
    today.map(|(date, basis)| Moment { at: zone.instant(date.and_time(time)), basis })
}

/// A number of seconds after an instant; `None` beyond what dates can say.
fn after(at: DateTime<FixedOffset>, seconds: f64) -> Option<DateTime<FixedOffset>> {
    // A recording is no longer than that; larger figures are nonsense.
    const LONGEST_S: f64 = 366.0 * 86_400.0;
    let millis = (seconds * 1000.0).round();
    (seconds.abs() <= LONGEST_S).then(|| at.checked_add_signed(TimeDelta::milliseconds(millis as i64)))?
}

/// The day that a heading names, seen from the day under way.
fn next_day(said: DateSaid, today: Option<(NaiveDate, Basis)>) -> Option<(NaiveDate, Basis)> {
    if let Some(date) = said.year.and_then(|year| said.in_year(year)) {
        return Some((date, Basis::Stated));
    }
    let (now, basis) = today?;
    let named = |date: &NaiveDate| {
        said.weekday.is_none_or(|w| said.day.is_some() || date.weekday() == w)
            && said.day.is_none_or(|day| date.day() == day)
            && said.month.is_none_or(|month| date.month() == month)
    };
    // The days from now on, for as long as it takes for a date to come again.
    let next = now.iter_days().take(400).find(named);
    Some((next.unwrap_or(now), basis))
}
