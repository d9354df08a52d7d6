//! A value as a person types it for a quantity: "15 kn", "14 to 16", "17.. %", "..92", "59 F".

use leadsman_ingest::quantity::Quantity;

use crate::error::Error;
use crate::figure;
use crate::reckon::unit::of_notes;

/// Both ends of a value or band, in a quantity's canonical unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Lower end; `None` where it is open.
    pub low: Option<f64>,
    /// Upper end; `None` where it is open.
    pub high: Option<f64>,
    /// As it was given, where that was in another unit.
    pub said: Option<String>,
}

/// Words in front of a figure or behind it that make it the least.
const LEAST: &[&str] = &[
    ">=",
    ">",
    "at least",
    "not less than",
    "no less than",
    "not below",
    "over",
    "above",
    "min",
    "minimum",
    "or more",
    "or above",
    "or over",
    "and up",
    "and over",
    "and above",
];

/// Words that make it the most.
const MOST: &[&str] = &[
    "<=",
    "<",
    "at most",
    "not more than",
    "no more than",
    "not over",
    "not above",
    "up to",
    "under",
    "below",
    "max",
    "maximum",
    "or less",
    "or below",
    "or under",
    "and under",
    "and below",
    "and down",
];

/// The text without words that say which end it is, and these ends: lower, upper.
fn ends(text: &str) -> (&str, bool, bool) {
    let strip = |words: &[&str]| {
        let around =
            |word: &&str| text.strip_prefix(*word).or_else(|| text.strip_suffix(*word)).map(str::trim);
        // The longest, since "at least" ends in none and "not over" holds "over".
        let fitting = words.iter().filter_map(|word| Some((word.len(), around(word)?)));
        fitting.max_by_key(|(length, _)| *length)
    };
    match (strip(LEAST), strip(MOST)) {
        (Some((least, rest)), most) if most.is_none_or(|(most, _)| least > most) => (rest, true, false),
        (_, Some((_, rest))) => (rest, false, true),
        _ => (text, false, false),
    }
}

/// Reads a value or a band; without a unit it is in the quantity's own. Errors: what was expected and found.
pub fn band(text: &str, quantity: &Quantity) -> Result<Band, Error> {
    let wrong = || {
        Error::wrong_use(format!(
            "expected a value of {} in {} like 15, \"14 to 16 {}\", 14..16, 14.. or ..16, found \"{}\"",
            quantity.name,
            named(&quantity.unit),
            quantity.unit,
            text.trim()
        ))
    };
    let lower = text.trim().to_lowercase();
    let (bare, least, most) = ends(&lower);
    // Capitals tell units apart.
    let bare = if least || most { cut(text, bare) } else { text };
    let spaced = parted(&bare.replace("..", " .. ").replace('\u{2212}', "-"));
    let mut words = spaced.split_whitespace().peekable();
    let mut low = number(&mut words);
    let parted = words.next_if(|word| matches!(*word, ".." | "to")).is_some();
    let mut high = if parted { number(&mut words) } else { low };
    if low.is_none() && high.is_none() {
        return Err(wrong());
    }
    if least || most {
        if parted || low.is_none() {
            return Err(wrong());
        }
        (low, high) = (low.filter(|_| least), high.filter(|_| most));
    }
    let unit: Vec<&str> = words.collect();
    let unit = unit.join(" ");
    let mut said = None;
    if !unit.is_empty() && unit != quantity.unit {
        said = Some(figure::range(low, high, &unit));
        let to = |value: f64| of_notes(value, &unit, &quantity.unit);
        (low, high) = match (low.map(to), high.map(to)) {
            (Some(None), _) | (_, Some(None)) => return Err(wrong()),
            (low, high) => (low.flatten(), high.flatten()),
        };
    }
    match (low, high) {
        (Some(a), Some(b)) if a > b => {
            Err(Error::wrong_use(format!("{a} is more than {b}")).hint("give the lower end first"))
        }
        _ => Ok(Band { low, high, said }),
    }
}

/// The stretch of a text that reads so in lower case; the text itself where it holds none.
fn cut<'t>(text: &'t str, lower: &str) -> &'t str {
    let text = text.trim();
    let at = text.to_lowercase().find(lower).unwrap_or(0);
    text.get(at..at + lower.len()).unwrap_or(text)
}

fn named(unit: &str) -> &str {
    if unit == "1" { "figures" } else { unit }
}

/// The text with a space between a digit and a letter behind it: "12V" is "12 V".
fn parted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 4);
    let mut digit = false;
    for sign in text.chars() {
        if digit && sign.is_alphabetic() {
            out.push(' ');
        }
        digit = sign.is_ascii_digit();
        out.push(sign);
    }
    out
}

/// The next word as a number, if it is one.
fn number<'a>(words: &mut std::iter::Peekable<impl Iterator<Item = &'a str>>) -> Option<f64> {
    let value = words.peek()?.parse::<f64>().ok().filter(|value| value.is_finite())?;
    words.next();
    Some(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity_word::quantity;

    #[test]
    fn values_are_read_in_the_quantitys_unit() {
        let read = |text: &str, of: &str| {
            let band = band(text, quantity(of).expect("a quantity"));
            band.map(|b| (b.low, b.high)).map_err(|e| e.message)
        };
        assert_eq!(read("15", "wind_speed"), Ok((Some(15.0), Some(15.0))));
        assert_eq!(read("15kn", "wind_speed"), Ok((Some(15.0), Some(15.0))));
        assert_eq!(read("14 to 16 kn", "wind_speed"), Ok((Some(14.0), Some(16.0))));
        assert_eq!(read("17..20 %", "rig_tension"), Ok((Some(17.0), Some(20.0))));
        assert_eq!(read("..92", "engine_temperature"), Ok((None, Some(92.0))));
        assert_eq!(read("12.2 ..", "voltage"), Ok((Some(12.2), None)));
        for least in
            ["12.2 or more", ">=12.2", "at least 12.2 V", "12.2V min", "not below 12.2", "12.2 and up"]
        {
            assert_eq!(read(least, "voltage"), Ok((Some(12.2), None)), "{least}");
        }
        for most in ["92 or less", "<= 92", "max 92", "not over 92", "92C or below"] {
            assert_eq!(read(most, "engine_temperature"), Ok((None, Some(92.0))), "{most}");
        }
        let psi = band("at least 20 psi", quantity("oil_pressure").expect("a quantity")).expect("it reads");
        assert_eq!((psi.high, psi.said.as_deref()), (None, Some("20 psi or more")));
        assert_eq!(read("-4", "air_temperature"), Ok((Some(-4.0), Some(-4.0))));
        // 1 m/s is 3600/1852 kn (NIST SP 811).
        let (low, _) = read("10 m/s", "wind_speed").expect("it reads");
        assert!((low.expect("a value") - 19.438).abs() < 0.001);
        for wrong in
            ["", "or more", "14 to 16 or more", "kn", "fifteen", "15 V", "15 zorks", "16 to 14", "nan", ".."]
        {
            assert!(read(wrong, "wind_speed").is_err(), "{wrong}: {:?}", read(wrong, "wind_speed"));
        }
    }
}
