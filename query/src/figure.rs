//! Figures and times as a person reads them. Nothing here decides anything; JSON carries the plain values.

use chrono::{DateTime, FixedOffset, NaiveDate};

/// A value with its canonical unit, rounded to what a boat's gauges can tell: `14 kn`, `−0.138 kn`, `65 %`, `3 h`.
pub fn value(value: f64, unit: &str) -> String {
    match unit {
        "s" => duration(value),
        _ => format!("{}{}", number(value), suffix(unit)),
    }
}

/// A range with its canonical unit: `14 to 16 kn`, `6 kn or more`, `5 kn or less`.
pub fn range(low: Option<f64>, high: Option<f64>, unit: &str) -> String {
    match (low, high) {
        (Some(low), Some(high)) if low == high => value(low, unit),
        (Some(low), Some(high)) if unit == "s" => format!("{} to {}", value(low, unit), value(high, unit)),
        (Some(low), Some(high)) => format!("{} to {}", number(low), value(high, unit)),
        (Some(low), None) => format!("{} or more", value(low, unit)),
        (None, Some(high)) => format!("{} or less", value(high, unit)),
        (None, None) => "unknown".to_owned(),
    }
}

/// A bare number: three decimals below 1, two below 100, one below 10,000, none above; trailing zeros left out.
pub fn number(value: f64) -> String {
    let decimals = match value.abs() {
        v if v < 1.0 => 3,
        v if v < 100.0 => 2,
        v if v < 10_000.0 => 1,
        _ => 0,
    };
    let text = format!("{value:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    match text.strip_prefix('-') {
        Some("0") => "0".to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text.to_owned(),
    }
}

/// How a canonical unit is written behind a number.
pub fn suffix(unit: &str) -> String {
    match unit {
        "1" | "" => String::new(),
        "deg" => "°".to_owned(),
        "degC" => " °C".to_owned(),
        "m2" => " m²".to_owned(),
        _ => format!(" {unit}"),
    }
}

fn duration(seconds: f64) -> String {
    match seconds.abs() {
        s if s < 120.0 => format!("{} s", number(seconds)),
        s if s < 7_200.0 => format!("{} min", number(seconds / 60.0)),
        s if s < 172_800.0 => format!("{} h", number(seconds / 3_600.0)),
        _ => format!("{} days", number(seconds / 86_400.0)),
    }
}

/// A day: `Sun 23 Aug 2026`.
pub fn day(date: NaiveDate) -> String {
    date.format("%a %-d %b %Y").to_string()
}

/// An instant by the clock aboard: `Sun 23 Aug 2026 13:42`.
pub fn moment(at: DateTime<FixedOffset>) -> String {
    at.format("%a %-d %b %Y %H:%M").to_string()
}

/// A place in a recording, or its length: `0:07`, `12:30`, `1:02:03`.
pub fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).floor() as u64;
    match (whole / 3_600, whole / 60 % 60, whole % 60) {
        (0, minutes, seconds) => format!("{minutes}:{seconds:02}"),
        (hours, minutes, seconds) => format!("{hours}:{minutes:02}:{seconds:02}"),
    }
}

/// A count of days from one date to another, in words: `in 4 days`, `tomorrow`, `today`, `yesterday`, `44 days ago`.
pub fn days_away(from: NaiveDate, to: NaiveDate) -> String {
    match (to - from).num_days() {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        -1 => "yesterday".to_owned(),
        days if days > 0 => format!("in {days} days"),
        days => format!("{} days ago", -days),
    }
}

/// A count with its noun: `1 note`, `3 notes`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_read_as_on_a_gauge() {
        assert_eq!(value(14.0, "kn"), "14 kn");
        assert_eq!(value(1013.27, "hPa"), "1013.3 hPa");
        assert_eq!(value(3441.3, "h"), "3441.3 h");
        assert_eq!(value(-0.1375, "kn"), "−0.138 kn");
        assert_eq!(value(-0.0001, "kn"), "0 kn");
        assert_eq!(value(45.0, "deg"), "45°");
        assert_eq!(value(30.0, "1"), "30");
        assert_eq!(value(90.0, "s"), "90 s");
        assert_eq!(value(1_500.0, "s"), "25 min");
        assert_eq!(value(14_400.0, "s"), "4 h");
        assert_eq!(value(604_800.0, "s"), "7 days");
        assert_eq!(value(120_000.0, "kg"), "120000 kg");
    }

    #[test]
    fn ranges_say_which_end_is_open() {
        assert_eq!(range(Some(14.0), Some(16.0), "kn"), "14 to 16 kn");
        assert_eq!(range(Some(6.0), Some(6.0), "kn"), "6 kn");
        assert_eq!(range(Some(6.0), None, "kn"), "6 kn or more");
        assert_eq!(range(None, Some(5.0), "kn"), "5 kn or less");
    }

    #[test]
    fn days_are_said_in_words() {
        let on = |day| NaiveDate::from_ymd_opt(2026, 10, day).expect("a date");
        assert_eq!(days_away(on(6), on(10)), "in 4 days");
        assert_eq!(days_away(on(6), on(7)), "tomorrow");
        assert_eq!(days_away(on(6), on(6)), "today");
        assert_eq!(days_away(on(6), on(1)), "5 days ago");
    }
}
