//! Times as logs write them: ISO date-times, epochs, clock times; and the calendar behind them.
//!
//! Instants are microseconds since 1970-01-01T00:00:00Z, without leap seconds. A leap second (`:60`) is taken as
//! the first moment of the next minute.

/// Microseconds in a second.
pub const SECOND: i64 = 1_000_000;
/// Microseconds in a minute.
pub const MINUTE: i64 = 60 * SECOND;
/// Microseconds in an hour.
pub const HOUR: i64 = 3600 * SECOND;
/// Microseconds in a day.
pub const DAY: i64 = 24 * HOUR;

/// A time as written, as far as it says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stamp {
    /// An instant: with `Z`, an offset, or an epoch.
    Utc(i64),
    /// A date and a clock time without an offset, in microseconds as if it were UTC.
    Local(i64),
    /// A clock time alone, in microseconds since midnight.
    Clock(i64),
}

/// Days since 1970-01-01 of a civil date; `None` where there is no such date.
///
/// Range: years 1 to 9999. Source: the usual count of days in 400-year eras (H. Hinnant, "chrono-compatible
/// low-level date algorithms"), from memory; checked against `chrono` in the tests.
pub fn day(year: i64, month: i64, day: i64) -> Option<i64> {
    const LENGTHS: [i64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    if !(1..=9999).contains(&year) || !(1..=12).contains(&month) || day < 1 {
        return None;
    }
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let length = LENGTHS[(month - 1) as usize] + i64::from(month == 2 && leap);
    if day > length {
        return None;
    }
    let shifted = if month <= 2 { year - 1 } else { year };
    let era = shifted.div_euclid(400);
    let of_era = shifted.rem_euclid(400);
    let of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    Some(era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468)
}

/// Microseconds since midnight of a clock time; `None` where a clock does not show it.
pub fn clock(hour: i64, minute: i64, second: i64, micros: i64) -> Option<i64> {
    let fits = (0..24).contains(&hour) && (0..60).contains(&minute) && (0..=60).contains(&second);
    fits.then(|| hour * HOUR + minute * MINUTE + second * SECOND + micros)
}

/// Reads the whole of a text as a time.
///
/// Shapes: `2026-05-09T10:11:12.345Z`, with a space or `-` for the `T`, `,` for the `.`, an offset `+02:00`,
/// `+0200` or `+02`, or none; seconds may be left out; `20260509T101112Z`; `1778321472.5`, `1778321472500` (epoch
/// in seconds with or without a fraction, milliseconds, microseconds, told by the size); `10:11:12.345`, `10:11`.
pub fn read(text: &[u8]) -> Option<Stamp> {
    let mut at = Cursor { text, at: 0 };
    let stamp = at.stamp()?;
    (at.at == text.len()).then_some(stamp)
}

struct Cursor<'a> {
    text: &'a [u8],
    at: usize,
}

impl Cursor<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    fn take(&mut self, one_of: &[u8]) -> Option<u8> {
        let b = self.peek().filter(|b| one_of.contains(b))?;
        self.at += 1;
        Some(b)
    }

    /// Digits, as many as there are, at most 18: their value and their number.
    fn digits(&mut self) -> (i64, usize) {
        let start = self.at;
        let mut value = 0i64;
        while let Some(b @ b'0'..=b'9') = self.peek()
            && self.at - start < 18
        {
            value = value * 10 + i64::from(b - b'0');
            self.at += 1;
        }
        (value, self.at - start)
    }

    fn two(&mut self) -> Option<i64> {
        let (value, len) = self.digits();
        (len == 2).then_some(value)
    }

    /// A fraction of a second after its mark, in microseconds; further digits are cut.
    fn fraction(&mut self) -> Option<i64> {
        if self.take(b".,").is_none() {
            return Some(0);
        }
        let start = self.at;
        let mut micros = 0;
        while let Some(b @ b'0'..=b'9') = self.peek() {
            if self.at - start < 6 {
                micros = micros * 10 + i64::from(b - b'0');
            }
            self.at += 1;
        }
        let len = self.at - start;
        (len > 0).then(|| micros * 10i64.pow(6 - len.min(6) as u32))
    }

    fn stamp(&mut self) -> Option<Stamp> {
        let (first, len) = self.digits();
        match (len, self.peek()) {
            (4, Some(separator @ (b'-' | b'/' | b'.'))) => {
                self.at += 1;
                let (month, month_len) = self.digits();
                self.take(&[separator])?;
                let (date, date_len) = self.digits();
                if !(1..=2).contains(&month_len) || !(1..=2).contains(&date_len) {
                    return None;
                }
                self.after_date(day(first, month, date)?)
            }
            (8, Some(b'T')) => {
                let date = day(first / 10_000, first / 100 % 100, first % 100)?;
                self.at += 1;
                let (hms, hms_len) = self.digits();
                if hms_len != 6 {
                    return None;
                }
                let micros = self.fraction()?;
                let clock = clock(hms / 10_000, hms / 100 % 100, hms % 100, micros)?;
                self.offset(date * DAY + clock)
            }
            (1..=2, Some(b':')) => self.clock_after(first).map(Stamp::Clock),
            (9..=10, _) => Some(Stamp::Utc(first * SECOND + self.fraction()?)),
            (13, _) => Some(Stamp::Utc(first * 1000 + self.fraction()? / 1000)),
            (16, _) => Some(Stamp::Utc(first)),
            _ => None,
        }
    }

    fn clock_after(&mut self, hour: i64) -> Option<i64> {
        self.take(b":")?;
        let minute = self.two()?;
        let (second, micros) =
            if self.take(b":").is_some() { (self.two()?, self.fraction()?) } else { (0, 0) };
        clock(hour, minute, second, micros)
    }

    fn after_date(&mut self, date: i64) -> Option<Stamp> {
        if self.peek().is_none() {
            return Some(Stamp::Local(date * DAY));
        }
        self.take(b"Tt -_")?;
        while self.take(b" ").is_some() {}
        let (hour, len) = self.digits();
        if !(1..=2).contains(&len) {
            return None;
        }
        let clock = self.clock_after(hour)?;
        self.offset(date * DAY + clock)
    }

    fn offset(&mut self, local: i64) -> Option<Stamp> {
        let here = self.at;
        while self.take(b" ").is_some() {}
        if self.take(b"Zz").is_some() {
            return Some(Stamp::Utc(local));
        }
        if self.text[self.at..].starts_with(b"UTC") {
            self.at += 3;
            return Some(Stamp::Utc(local));
        }
        let Some(sign) = self.take(b"+-") else {
            self.at = here;
            return Some(Stamp::Local(local));
        };
        let (hours, minutes) = match self.digits() {
            (hhmm, 4) => (hhmm / 100, hhmm % 100),
            (hours, 2) if self.take(b":").is_some() => (hours, self.two()?),
            (hours, 2) => (hours, 0),
            _ => return None,
        };
        let offset = clock(hours, minutes, 0, 0)?;
        Some(Stamp::Utc(if sign == b'+' { local - offset } else { local + offset }))
    }
}

/// Finds a date in a file's name: `2026-05-09`, `2026_05_09`, `20260509`; days since 1970-01-01.
///
/// Range: years 1970 to 2199, so that a serial number is seldom taken for a date.
pub fn day_in_name(name: &str) -> Option<i64> {
    let bytes = name.as_bytes();
    let number = |range: std::ops::Range<usize>| -> Option<i64> {
        let digits = bytes.get(range)?;
        digits.iter().try_fold(0, |n, b| b.is_ascii_digit().then(|| n * 10 + i64::from(b - b'0')))
    };
    let edge = |at: usize| bytes.get(at).is_none_or(|b| !b.is_ascii_digit());
    (0..bytes.len()).filter(|&at| at == 0 || edge(at - 1)).find_map(|at| {
        let year = number(at..at + 4).filter(|year| (1970..2200).contains(year))?;
        let separator = bytes.get(at + 4)?;
        if matches!(separator, b'-' | b'_' | b'.') && bytes.get(at + 7) == Some(separator) && edge(at + 10) {
            day(year, number(at + 5..at + 7)?, number(at + 8..at + 10)?)
        } else if edge(at + 8) || bytes.get(at + 8) == Some(&b'T') {
            day(year, number(at + 4..at + 6)?, number(at + 6..at + 8)?)
        } else {
            None
        }
    })
}

/// Writes an instant as `2026-05-09T10:11:12Z`, for messages.
pub fn show(micros: i64) -> String {
    match chrono::DateTime::from_timestamp_micros(micros) {
        Some(at) => at.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
        None => format!("{micros} µs"),
    }
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, Datelike, NaiveDate};

    use super::*;

    #[test]
    fn the_calendar_agrees_with_chrono() {
        let start = NaiveDate::from_ymd_opt(1970, 1, 1).expect("a date");
        for n in (-700_000..2_900_000).step_by(97) {
            let date = start + chrono::Days::new(0) + chrono::TimeDelta::days(n);
            if !(1..=9999).contains(&date.year()) {
                continue;
            }
            assert_eq!(day(date.year().into(), date.month().into(), date.day().into()), Some(n), "{date}");
        }
        assert_eq!(day(2023, 2, 29), None);
        assert_eq!(day(1900, 2, 29), None);
        assert_eq!(day(2026, 13, 1), None);
        assert_eq!(day(2026, 4, 0), None);
    }

    fn utc(rfc3339: &str) -> Option<Stamp> {
        Some(Stamp::Utc(DateTime::parse_from_rfc3339(rfc3339).expect("a date-time").timestamp_micros()))
    }

    #[test]
    fn shapes_of_time() {
        assert_eq!(read(b"2026-05-09T10:11:12.345Z"), utc("2026-05-09T10:11:12.345Z"));
        assert_eq!(read(b"2026-05-09 10:11:12,345+02:00"), utc("2026-05-09T08:11:12.345Z"));
        assert_eq!(read(b"2026-05-09T10:11:12-0230"), utc("2026-05-09T12:41:12Z"));
        assert_eq!(read(b"20260509T101112Z"), utc("2026-05-09T10:11:12Z"));
        assert_eq!(read(b"2024-07-19-23:24:46.782"), Some(Stamp::Local(1_721_431_486_782_000)));
        assert_eq!(read(b"1778321472"), Some(Stamp::Utc(1_778_321_472_000_000)));
        assert_eq!(read(b"1778321472.25"), Some(Stamp::Utc(1_778_321_472_250_000)));
        assert_eq!(read(b"1778321472250"), Some(Stamp::Utc(1_778_321_472_250_000)));
        assert_eq!(read(b"10:11:12.5"), Some(Stamp::Clock(10 * HOUR + 11 * MINUTE + 12 * SECOND + 500_000)));
        assert_eq!(read(b"7:05"), Some(Stamp::Clock(7 * HOUR + 5 * MINUTE)));
        assert_eq!(read(b"2026-05-09"), Some(Stamp::Local(day(2026, 5, 9).expect("a date") * DAY)));
    }

    /// RFC 3339 section 5.8 and the JSON Schema Test Suite's `date-time.json` (draft2020-12, 44401e0c).
    #[test]
    fn rfc_3339_samples() {
        for valid in [
            "1985-04-12T23:20:50.52Z",
            "1990-12-31T15:59:50.123-08:00",
            "1937-01-01T12:00:27.87+00:20",
            "1963-06-19T08:30:06.283185Z",
        ] {
            assert_eq!(read(valid.as_bytes()), utc(valid), "{valid}");
        }
        assert_eq!(read(b"1998-12-31T23:59:60Z"), utc("1999-01-01T00:00:00Z"));
        assert_eq!(read(b"1963-06-19t08:30:06.283185z"), utc("1963-06-19T08:30:06.283185Z"));
        for wrong in [
            "1990-02-31T15:59:59.123-08:00",
            "1990-12-31T15:59:59-24:00",
            "1990-12-31T24:00:00Z",
            "1990-12-31T10:00:00+10:60",
            "06/19/1963 08:30:06 PST",
            "+11963-06-19T08:30:06.283185Z",
            "1963-06-1৪T00:00:00Z",
            "1963-06-19T08:30:06Z\n",
        ] {
            assert_eq!(read(wrong.as_bytes()), None, "{wrong}");
        }
    }

    #[test]
    fn a_date_in_a_name() {
        let want = day(2026, 5, 9);
        for name in ["2026-05-09.log", "log_20260509_101112.nmea", "boat 2026_05_09.txt", "20260509T10.csv"] {
            assert_eq!(day_in_name(name), want, "{name}");
        }
        for name in ["voyage.log", "123456789.log", "99990509.log", "2026-13-09.log", ""] {
            assert_eq!(day_in_name(name), None, "{name}");
        }
    }
}
