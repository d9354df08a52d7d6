//! An instant as a person types it: "2026-10-06 06:55", with an offset or in the zone; "06:55" of a day that is known.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime};
use chrono_tz::Tz;

use crate::error::Error;

/// Reads an instant: RFC 3339, or a date and a clock time in the zone. Errors: what was expected and found; a time that
/// the zone's clocks left out or had twice.
pub fn instant(text: &str, zone: Tz) -> Result<DateTime<FixedOffset>, Error> {
    let wrong = || {
        Error::wrong_use(format!("expected a time like \"2026-10-06 06:55\", found \"{}\"", text.trim()))
            .hint("an offset may follow: 2026-10-06T06:55+11:00")
    };
    let text = text.trim();
    for format in ["%Y-%m-%dT%H:%M:%S%:z", "%Y-%m-%dT%H:%M%:z", "%Y-%m-%d %H:%M:%S%:z", "%Y-%m-%d %H:%M%:z"] {
        if let Ok(at) = DateTime::parse_from_str(&text.replace('Z', "+00:00"), format) {
            return Ok(at);
        }
    }
    let local = ["%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
        .ok_or_else(wrong)?;
    in_zone(local, zone)
}

/// As [`instant`]; a clock time alone is of the day, where one is known.
pub fn of_day(text: &str, day: Option<NaiveDate>, zone: Tz) -> Result<DateTime<FixedOffset>, Error> {
    let time = ["%H:%M", "%H:%M:%S"].iter().find_map(|f| NaiveTime::parse_from_str(text.trim(), f).ok());
    match (time, day) {
        (Some(time), Some(day)) => in_zone(day.and_time(time), zone),
        (Some(_), None) => Err(Error::wrong_use("no day is known that this clock time could be of")
            .hint("give the day too: \"2026-10-06 06:55\"")),
        (None, _) => instant(text, zone),
    }
}

fn in_zone(local: NaiveDateTime, zone: Tz) -> Result<DateTime<FixedOffset>, Error> {
    match local.and_local_timezone(zone) {
        chrono::LocalResult::Single(at) => Ok(at.fixed_offset()),
        chrono::LocalResult::Ambiguous(..) => {
            Err(Error::wrong_use(format!("{local} came twice in {zone}, as the clocks were put back"))
                .hint("add the offset, like +11:00"))
        }
        chrono::LocalResult::None => {
            Err(Error::wrong_use(format!("there was no {local} in {zone}, as the clocks were put forward")))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ZONE: Tz = Tz::Australia__Hobart;

    #[test]
    fn instants_are_read_in_the_zone_or_with_their_offset() {
        let read = |text| instant(text, ZONE).map(|at| at.to_rfc3339()).map_err(|error| error.message);
        assert_eq!(read("2026-10-06 06:55"), Ok("2026-10-06T06:55:00+11:00".to_owned()));
        assert_eq!(read("2026-10-06T06:55+02:00"), Ok("2026-10-06T06:55:00+02:00".to_owned()));
        assert_eq!(read("2026-10-06T06:55:10Z"), Ok("2026-10-06T06:55:10+00:00".to_owned()));
        // Tasmania's clocks go forward on the first Sunday of October, and back on the first of April.
        assert!(read("2026-10-04 02:30").expect_err("skipped").contains("put forward"));
        assert!(read("2026-04-05 02:30").expect_err("twice").contains("put back"));
        assert!(read("yesterday").expect_err("no time").contains("expected a time like"));
    }

    #[test]
    fn a_clock_time_is_of_the_day_that_is_known() {
        let day = NaiveDate::from_ymd_opt(2026, 10, 6);
        let read =
            |text, day| of_day(text, day, ZONE).map(|at| at.to_rfc3339()).map_err(|error| error.message);
        assert_eq!(read("06:55", day), Ok("2026-10-06T06:55:00+11:00".to_owned()));
        assert_eq!(read("2026-10-07 06:55", day), Ok("2026-10-07T06:55:00+11:00".to_owned()));
        assert!(read("06:55", None).expect_err("no day").contains("no day is known"));
        assert!(read("25:00", day).expect_err("no time").contains("expected a time like"));
    }
}
