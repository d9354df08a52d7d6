//! Cells: numbers with either decimal sign, positions, dates in their many orders.

use crate::instrument::number;
use crate::instrument::stamp::{self, DAY, HOUR, Stamp};

/// How a table writes numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum DecimalSign {
    /// `1,013.2`
    Point,
    /// `1.013,2`
    Comma,
}

/// Which comes first in a date like 05/09/2026.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum DateOrder {
    /// 5 September.
    DayFirst,
    /// May 9.
    MonthFirst,
}

/// Whether a cell says that there is no value.
pub(super) fn is_empty(text: &str) -> bool {
    matches!(
        text.to_ascii_lowercase().as_str(),
        "" | "-" | "--" | "---" | "na" | "n/a" | "nan" | "null" | "none" | "mm"
    )
}

/// Reads a number. Thousands may be parted by the other sign or by a space, in groups of three.
pub(super) fn number(text: &str, sign: DecimalSign) -> Option<f64> {
    if let (DecimalSign::Point, Some(plain)) = (sign, number::decimal(text.as_bytes())) {
        return Some(plain.value());
    }
    let (decimal, group) = match sign {
        DecimalSign::Point => ('.', ','),
        DecimalSign::Comma => (',', '.'),
    };
    let text = text.trim();
    let (whole, fraction) = match text.split_once(decimal) {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (text, None),
    };
    let digits = whole.trim_start_matches(['-', '+', '\u{2212}']);
    let is_group = |c| c == group || c == ' ' || c == '\u{a0}' || c == '\u{202f}' || c == '\'';
    let mut groups = digits.split(is_group);
    let first = groups.next()?;
    let grouped = digits.contains(is_group);
    if grouped && (first.is_empty() || first.len() > 3 || groups.any(|part| part.len() != 3)) {
        return None;
    }
    let mut plain = String::with_capacity(text.len());
    if whole.starts_with(['-', '\u{2212}']) {
        plain.push('-');
    }
    plain.extend(digits.chars().filter(|&c| !is_group(c)));
    if let Some(fraction) = fraction {
        plain.push('.');
        plain.push_str(fraction);
    }
    if let Some(plain) = number::decimal(plain.as_bytes()) {
        return Some(plain.value());
    }
    // "1.2e-3" and its like; words that Rust takes for numbers ("inf") are none here.
    let starts_right = plain.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '.');
    plain.parse().ok().filter(|value: &f64| starts_right && value.is_finite())
}

/// Tells the decimal sign by looking at cells that should be numbers.
pub(super) fn decimal_sign<'a>(cells: impl Iterator<Item = &'a str>, delimiter: u8) -> DecimalSign {
    let (mut point, mut comma) = (0, 0);
    for cell in cells {
        match (cell.rfind('.'), cell.rfind(',')) {
            (Some(p), Some(c)) => *(if p > c { &mut point } else { &mut comma }) += 1,
            // Three digits behind it may be a group of thousands; anything else is a fraction.
            (Some(p), None) if cell.len() - p != 4 => point += 1,
            (None, Some(c)) if cell.len() - c != 4 => comma += 1,
            (Some(_), None) if delimiter == b',' => point += 1,
            (None, Some(_)) if delimiter != b',' => comma += 1,
            _ => {}
        }
    }
    if comma > point { DecimalSign::Comma } else { DecimalSign::Point }
}

/// Reads a position's angle: `52.850155`, `52°51.009'N`, `52 51 0.5 N`.
pub(super) fn degrees(text: &str, sign: DecimalSign) -> Option<f64> {
    if let Some(plain) = number(text, sign) {
        return Some(plain);
    }
    let text = text.trim();
    let negative = text.ends_with(['S', 'W', 's', 'w']) || text.starts_with(['S', 'W', '-']);
    let mut parts = [0.0; 3];
    let mut count = 0;
    for part in
        text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).filter(|part| !part.is_empty())
    {
        *parts.get_mut(count)? = number(part, sign)?;
        count += 1;
    }
    let allowed = |c: char| c.is_ascii_digit() || " .,-°º'’′\"”″NSEWnsew\u{fffd}".contains(c);
    let [degrees, minutes, seconds] = parts;
    (count > 0 && text.chars().all(allowed) && minutes < 60.0 && seconds < 60.0).then(|| {
        let value = degrees + minutes / 60.0 + seconds / 3600.0;
        if negative { -value } else { value }
    })
}

/// Reads a date with or without a time, day or month first where the year comes last.
pub(super) fn date(text: &str, order: DateOrder) -> Option<Stamp> {
    let text = text.trim();
    if let Some(stamp) = stamp::read(text.as_bytes()) {
        return Some(stamp);
    }
    let (first, rest) = leading_number(text)?;
    let separator = rest.chars().next().filter(|c| "/.-".contains(*c))?;
    let (second, rest) = leading_number(&rest[1..])?;
    let (year, rest) = leading_number(rest.strip_prefix(separator)?)?;
    let year = if year < 100 { 2000 + year } else { year };
    let (day, month) = match order {
        DateOrder::DayFirst => (first, second),
        DateOrder::MonthFirst => (second, first),
    };
    let day = stamp::day(year, month, day)?;
    let rest = rest.trim_start_matches([' ', 'T', ',']);
    if rest.is_empty() {
        return Some(Stamp::Local(day * DAY));
    }
    match clock(rest)? {
        Stamp::Clock(clock) => Some(Stamp::Local(day * DAY + clock)),
        _ => None,
    }
}

/// Reads a time of day, with or without AM and PM.
pub(super) fn clock(text: &str) -> Option<Stamp> {
    let text = text.trim();
    let upper = text.to_ascii_uppercase();
    for (half, noon) in [("AM", false), ("PM", true)] {
        if let Some(bare) = upper.strip_suffix(half) {
            let Some(Stamp::Clock(clock)) = stamp::read(bare.trim().as_bytes()) else { return None };
            if !(HOUR..13 * HOUR).contains(&clock) {
                return None;
            }
            // Twelve o'clock begins its half of the day.
            let clock = clock % (12 * HOUR);
            return Some(Stamp::Clock(if noon { clock + 12 * HOUR } else { clock }));
        }
    }
    stamp::read(text.as_bytes())
}

fn leading_number(text: &str) -> Option<(i64, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    if !(1..=4).contains(&end) {
        return None;
    }
    Some((text[..end].parse().ok()?, &text[end..]))
}

/// Tells the order of dates by looking at them; the flag says that no date among them settled it.
pub(super) fn date_order<'a>(cells: impl Iterator<Item = &'a str>) -> (DateOrder, bool) {
    let mut ambiguous = false;
    let mut dotted = false;
    for cell in cells {
        let Some((first, rest)) = leading_number(cell.trim()) else { continue };
        let Some(separator) = rest.chars().next().filter(|c| "/.-".contains(*c)) else { continue };
        let Some((second, rest)) = leading_number(&rest[1..]) else { continue };
        if first > 31 || !rest.starts_with(separator) {
            continue;
        }
        match (first > 12, second > 12) {
            (true, false) => return (DateOrder::DayFirst, false),
            (false, true) => return (DateOrder::MonthFirst, false),
            _ => ambiguous |= first != second,
        }
        dotted |= separator == '.';
    }
    // Points part dates only where the day goes first.
    (DateOrder::DayFirst, ambiguous && !dotted)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers() {
        use DecimalSign::{Comma, Point};
        for (text, sign, want) in [
            ("12.5", Point, Some(12.5)),
            ("-1,013.2", Point, Some(-1013.2)),
            ("1.013,2", Comma, Some(1013.2)),
            ("12,5", Comma, Some(12.5)),
            ("\u{2212}3,5", Comma, Some(-3.5)),
            ("1 013,2", Comma, Some(1013.2)),
            ("1.5e-3", Point, Some(0.0015)),
            ("12,5", Point, None),
            ("1,2,3", Point, None),
            ("inf", Point, None),
            ("1e999", Point, None),
            ("twelve", Point, None),
        ] {
            assert_eq!(number(text, sign), want, "{text}");
        }
        assert_eq!(decimal_sign(["12,5", "13"].into_iter(), b';'), Comma);
        assert_eq!(decimal_sign(["1,013.2"].into_iter(), b','), Point);
        assert_eq!(decimal_sign(["12.345", "1.5"].into_iter(), b';'), Point);
    }

    #[test]
    fn positions() {
        use DecimalSign::Point;
        for (text, want) in [
            ("-0.704", -0.704),
            ("52°51.0093'N", 52.850_155),
            ("000°42.24' W", -0.704),
            ("37\u{fffd}36'37.8\"N", 37.610_5),
        ] {
            let found = degrees(text, Point).unwrap_or_else(|| panic!("{text}"));
            assert!((found - want).abs() < 1e-6, "{text}: {found}");
        }
        assert_eq!(degrees("somewhere", Point), None);
        assert_eq!(degrees("52°61'N", Point), None);
    }

    #[test]
    fn dates() {
        let day = stamp::day(2026, 9, 5).expect("a date") * DAY;
        assert_eq!(date("05/09/2026", DateOrder::DayFirst), Some(Stamp::Local(day)));
        assert_eq!(date("9/5/26 1:30 PM", DateOrder::MonthFirst), Some(Stamp::Local(day + 27 * HOUR / 2)));
        assert_eq!(date("05.09.2026 13:30:00", DateOrder::DayFirst), Some(Stamp::Local(day + 27 * HOUR / 2)));
        assert_eq!(date("2026-09-05T13:30:00Z", DateOrder::DayFirst), Some(Stamp::Utc(day + 27 * HOUR / 2)));
        assert_eq!(date("31/02/2026", DateOrder::DayFirst), None);
        assert_eq!(clock("12:05 am"), Some(Stamp::Clock(HOUR / 12)));
        assert_eq!(clock("13:05 pm"), None);
        assert_eq!(date_order(["05/09/2026", "13/09/2026"].into_iter()), (DateOrder::DayFirst, false));
        assert_eq!(date_order(["05/09/2026", "05/13/2026"].into_iter()), (DateOrder::MonthFirst, false));
        assert_eq!(date_order(["05/09/2026"].into_iter()), (DateOrder::DayFirst, true));
        assert_eq!(date_order(["05.09.2026"].into_iter()), (DateOrder::DayFirst, false));
    }
}
