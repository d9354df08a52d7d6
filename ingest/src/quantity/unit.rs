//! Units: which words and signs name them, and the factors between them.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::found::Utterance;
use crate::lexicon::{BuiltIn, Patterns};
use crate::token::{Gap, Kind, Token, tokens};
use crate::word::WordList;

/// What a unit measures; the base unit of each stands in `lexicon/units.toml`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each is what its name says")]
pub enum Dimension {
    Speed,
    Force,
    /// Degrees: of angle or of temperature, which only the context can say.
    Degree,
    Angle,
    Temperature,
    Length,
    Distance,
    Area,
    Mass,
    /// Pounds: of mass, of load, to the square inch, or of money.
    Pound,
    Load,
    Pressure,
    Voltage,
    Current,
    Power,
    Charge,
    Energy,
    Percent,
    Volume,
    RateHour,
    RateMinute,
    Revolutions,
    Time,
    Concentration,
    Frequency,
    Data,
}

/// A unit and its factor to the base of its dimension.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unit {
    /// As it is written: `kn`, `inHg`.
    pub symbol: String,
    /// What it measures.
    pub dimension: Dimension,
    /// Base units in one of it.
    pub factor: f64,
    /// Added after the factor.
    #[serde(default)]
    pub offset: f64,
    /// The factor where the note speaks British: gallons, quarts, pints.
    pub imperial: Option<f64>,
    /// The standard that the factor comes from.
    pub standard: String,
    #[serde(default)]
    names: Vec<String>,
    #[serde(default)]
    figures: Vec<String>,
    #[serde(default)]
    exact: Vec<String>,
}

impl Unit {
    /// Its names as they are written in the lexicon, those behind figures last.
    pub fn spoken(&self) -> impl Iterator<Item = &str> {
        self.names.iter().chain(&self.figures).map(String::as_str)
    }
}

#[derive(Deserialize)]
struct File {
    unit: Vec<Unit>,
}

/// The units, with their names ready to be looked for.
pub struct Units {
    /// All of them, in the order of the file.
    pub all: Vec<Unit>,
    names: Patterns<usize>,
    figures: Patterns<usize>,
    exact: Vec<(String, usize)>,
}

impl Units {
    /// Reads a file of units. Errors: what does not read, and where.
    pub fn new(text: &str) -> Result<Self, String> {
        let File { unit: all } = toml::from_str(text).map_err(|e| e.to_string())?;
        let (mut names, mut figures, mut exact) = (Patterns::default(), Patterns::default(), Vec::new());
        for (index, unit) in all.iter().enumerate() {
            for name in &unit.names {
                names.add(name, index)?;
            }
            for name in &unit.figures {
                figures.add(name, index)?;
            }
            exact.extend(unit.exact.iter().map(|name| (name.clone(), index)));
        }
        Ok(Self { all, names, figures, exact })
    }

    /// The unit with this symbol.
    pub fn by_symbol(&self, symbol: &str) -> Option<&Unit> {
        self.all.iter().find(|u| u.symbol == symbol)
    }
}

static UNITS: LazyLock<Units> = LazyLock::new(|| {
    Units::new(include_str!("../../lexicon/units.toml"))
        .expect("lexicon/units.toml reads; a test holds it to that")
});

/// The units of `lexicon/units.toml`.
pub fn units() -> &'static Units {
    &UNITS
}

/// The patterns that are built in.
pub fn built_in() -> [&'static dyn BuiltIn; 2] {
    [&UNITS.names, &UNITS.figures]
}

/// A unit found in a text.
#[derive(Clone, Copy, Debug)]
pub struct UnitAt {
    /// Which.
    pub unit: &'static Unit,
    /// A volume's unit followed by "an hour", "a minute", "a day": what it is a rate of, and its base units.
    pub rate: Option<(Dimension, f64)>,
    /// One past its last token.
    pub end: usize,
}

impl UnitAt {
    /// What it measures, a rate included.
    pub fn dimension(&self) -> Dimension {
        self.rate.map_or(self.unit.dimension, |(dimension, _)| dimension)
    }

    /// A value in this unit, in the base of its dimension.
    pub fn to_base(&self, value: f64, imperial: bool) -> f64 {
        let factor = if imperial { self.unit.imperial.unwrap_or(self.unit.factor) } else { self.unit.factor };
        value * factor * self.rate.map_or(1.0, |(_, scale)| scale) + self.unit.offset
    }
}

/// What measures a pull, and what has one.
const PULLS: &WordList =
    words!["loadcell", "cell", "dynamometer", "line", "bridle", "rode", "warp", "snubber", "hawser"];

/// Whether the number in front of `tokens[at]` is of a pull: "line load 6.2 kn", "load cell says 4 kn", but not "under
/// load 5.5 kn".
fn is_of_a_pull(tokens: &[Token<'_>], at: usize) -> bool {
    let front = &tokens[at.saturating_sub(6)..at];
    let since = front.iter().rposition(|t| t.gap >= Gap::Comma).unwrap_or(0);
    let front = &front[since..];
    front.iter().any(|t| t.is_any(words!["load", "loads", "loading", "strain", "loadcell"]))
        && front.iter().any(|t| t.is_any(PULLS))
}

/// Whether a token behind "22 a" shows that the letter is no article.
fn leaves_no_noun(next: &Token<'_>) -> bool {
    next.gap >= Gap::Comma
        || next.is_any(words![
            "at", "in", "into", "out", "from", "on", "off", "with", "for", "now", "later", "after", "before",
            "going", "coming", "while", "when", "and", "to", "steady", "draw", "max", "peak", "or", "then",
            "but", "is", "was",
        ])
}

/// Whether a "W" that stands between two figures is the west, from which a force or so many knots blow: "sea 6.5  W 5", "1015
/// W 24 kn".
fn is_a_wind(tokens: &[Token<'_>], at: usize) -> bool {
    let force = tokens.get(at + 1).filter(|t| t.gap == Gap::Space && t.kind == Kind::Number);
    let ends = tokens.get(at + 2).is_none_or(|t| t.gap >= Gap::Comma);
    let knots = tokens.get(at + 2).is_some_and(|t| t.is_any(words!["kn", "kt", "kts", "knots", "kns"]));
    if tokens[at].text == "W" && tokens[at].gap == Gap::Space && force.is_some() && knots {
        return true;
    }
    tokens[at].text == "W"
        && tokens[at].gap == Gap::Space
        && ends
        && force.is_some_and(|t| t.text.parse::<u32>().is_ok_and(|force| force <= 12))
}

/// The unit that begins at `tokens[at]`, behind a number that ends there.
pub fn unit_at(text: &str, tokens: &[Token<'_>], at: usize) -> Option<UnitAt> {
    let token = tokens.get(at)?;
    // "47 (F)", "5 gal (US)": a unit may stand in brackets.
    let bracketed = token.gap == Gap::Clause && at > 0 && {
        let between = &text[tokens[at - 1].span.end..token.span.start];
        matches!(between.trim(), "(" | "[" | "{")
    };
    let units = units();
    // "Seven. Metres under the keel": no sentence begins with a bare unit right behind a number, but a recogniser
    // may have written a stop there.
    let stopped = matches!(token.gap, Gap::Comma | Gap::Sentence)
        && token.lower.len() > 3
        && units.names.at(tokens, at).is_some_and(|m| {
            let unit = &units.all[*m.value];
            !matches!(
                unit.dimension,
                Dimension::Time | Dimension::Power | Dimension::Pound | Dimension::Frequency
            ) && !tokens.get(m.end).is_some_and(|t| {
                // "12.4, Amps: 3.2" labels what follows.
                t.kind == Kind::Number && (t.gap < Gap::Comma || t.gap == Gap::Clause)
            }) && !tokens.get(m.end).is_some_and(|t| {
                t.gap < Gap::Comma && t.is_any(words!["is", "are", "was", "were", "later", "away"])
            })
        });
    if token.gap > Gap::Line && !bracketed && !stopped {
        return None;
    }
    let after_figures = at > 0 && tokens[at - 1].kind == Kind::Number;
    let mut best = units.names.at(tokens, at).map(|m| (m.end, *m.value));
    if (after_figures || bracketed)
        && let Some(m) = units.figures.at(tokens, at)
        && best.is_none_or(|(end, _)| m.end > end)
        && figure_unit_fits(tokens, at, m.end)
    {
        best = Some((m.end, *m.value));
    }
    if after_figures && let Some((_, index)) = units.exact.iter().find(|(name, _)| name == token.text) {
        let article = token.is("a")
            && token.gap != Gap::Glued
            && tokens.get(at + 1).is_some_and(|t| {
                t.gap == Gap::Space
                    && t.kind == Kind::Word
                    && tokens
                        .get(at + 2)
                        .is_some_and(|u| units.names.at(tokens, at + 2).is_some() && u.kind == Kind::Word)
            });
        if best.is_none_or(|(end, _)| end <= at + 1) && !article && !is_a_wind(tokens, at) {
            best = Some((at + 1, *index));
        }
    }
    // "12.6v 3.2a", "22 a at 1800": a small letter glued to a decimal, or with no noun behind it, is no article.
    if best.is_none() && after_figures && token.text == "a" {
        let decimal = token.gap == Gap::Glued && tokens[at - 1].text.contains(['.', ',']);
        let fits = decimal || token.gap <= Gap::Space && tokens.get(at + 1).is_none_or(leaves_no_noun);
        best = units.exact.iter().find(|(name, _)| fits && name == "A").map(|(_, i)| (at + 1, *i));
    }
    // "Line load 6.2 kn": nobody pulls in knots.
    if after_figures && token.text == "kn" && is_of_a_pull(tokens, at) {
        best = units.exact.iter().find(|(name, _)| name == "kN").map(|(_, i)| (at + 1, *i)).or(best);
    }
    // "A bar of sand", "two bars of chocolate".
    let of_stuff = token.is_any(words!["bar", "bars"])
        && tokens.get(at + 1).is_some_and(|t| t.is("of"))
        && tokens.get(at + 2).is_some_and(|t| {
            t.kind == Kind::Word && !t.is_any(words!["oil", "boost", "pressure", "water", "air"])
        });
    if of_stuff {
        return None;
    }
    let (mut end, index) = best?;
    let mut unit = &units.all[index];
    // "first reef at eighteen second at twenty five": one thing behind another, no time.
    let ordinal = token.is("second")
        && tokens.get(end).is_some_and(|t| {
            t.gap <= Gap::Line && t.is_any(words!["at", "reef", "one", "goes", "slab", "tuck", "comes"])
        });
    if ordinal {
        return None;
    }
    // "2.9 gal (US)".
    if unit.imperial.is_some()
        && let Some(token) = tokens.get(end).filter(|t| t.gap <= Gap::Clause)
    {
        let other = if token.is_any(words!["us", "u"]) {
            "US gal"
        } else if token.is_any(words!["imp", "imperial", "uk"]) {
            "Imp gal"
        } else {
            ""
        };
        if unit.symbol == "gal" && !other.is_empty() && (token.gap == Gap::Clause || token.text != "us") {
            unit = units.by_symbol(other).unwrap_or(unit);
            end += 1;
        }
    }
    let mut found = UnitAt { unit, rate: None, end };
    if unit.dimension == Dimension::Volume {
        add_rate(tokens, &mut found);
    }
    Some(found)
}

/// The unit named at a token by itself, as in the head of a table's column: "rpm", "speed (kn)", "L/h", "A".
pub fn unit_named(tokens: &[Token<'_>], at: usize) -> Option<UnitAt> {
    let units = units();
    let token = tokens.get(at)?;
    let alone = tokens.get(at + 1).is_none_or(|t| t.gap >= Gap::Clause);
    let name = units.names.at(tokens, at).map(|m| (m.end, *m.value));
    let short = units.figures.at(tokens, at).filter(|_| alone).map(|m| (m.end, *m.value));
    let exact = units.exact.iter().find(|(name, _)| name == token.text && alone).map(|(_, i)| (at + 1, *i));
    let (end, index) = name.or(exact).or(short)?;
    let mut found = UnitAt { unit: &units.all[index], rate: None, end };
    if found.unit.dimension == Dimension::Volume {
        add_rate(tokens, &mut found);
    }
    Some(found)
}

/// Whether a unit's name, other than a mere letter or sign, begins at a token.
pub(crate) fn unit_word(tokens: &[Token<'_>], at: usize) -> bool {
    tokens.get(at).is_some_and(|t| t.lower.len() > 1 && t.kind == Kind::Word)
        && units().names.at(tokens, at).is_some()
}

/// Whether a short name behind figures is a unit there: "12 m", but not "4 in the tank" or "g 35".
fn figure_unit_fits(tokens: &[Token<'_>], at: usize, end: usize) -> bool {
    let token = &tokens[at];
    let next = tokens.get(end);
    let glued = token.gap == Gap::Glued;
    match token.lower.as_ref() {
        "in" => {
            glued
                || next.is_none_or(|t| {
                    t.gap >= Gap::Comma
                        || t.is_any(words![
                            "mouth", "diameter", "long", "wide", "deep", "across", "thick", "chain", "pipe",
                            "line", "hose", "x", "×", "of",
                        ])
                        || t.kind == Kind::Symbol
                })
        }
        // A gust ("S 20-25 g 35"), or the next word's first letter glued on.
        "g" => next.is_none_or(|t| t.kind != Kind::Number),
        "'" | "’" | "\"" | "”" => glued,
        // "34 P / 34 S" are the two sides.
        "s" if token.text == "S" && !shouts(tokens, at) => false,
        // A capital M is a million, or "magnetic".
        "m" if token.text == "M" && !shouts(tokens, at) => false,
        "h" => next.is_none_or(|t| t.gap != Gap::Glued || t.kind != Kind::Word),
        "s" | "m" | "t" | "l" | "c" | "f" => next.is_none_or(|t| {
            t.gap > Gap::Hyphen && !(t.is("/") && t.gap == Gap::Glued)
                || t.gap == Gap::Glued && t.kind == Kind::Symbol && !t.is("/")
        }),
        _ => true,
    }
}

/// Whether the words around a token are in capitals throughout, as some write their logs.
fn shouts(tokens: &[Token<'_>], at: usize) -> bool {
    const AROUND: usize = 6;
    let mut words = tokens[at.saturating_sub(AROUND)..(at + AROUND).min(tokens.len())]
        .iter()
        .filter(|t| t.kind == Kind::Word && t.text.len() >= 3)
        .peekable();
    words.peek().is_some() && words.all(|t| !t.text.chars().any(char::is_lowercase))
}

/// "litres an hour", "gallons per minute", "pints a day".
fn add_rate(tokens: &[Token<'_>], found: &mut UnitAt) {
    // "0.2 litres of fuel an hour".
    let of = tokens.get(found.end).is_some_and(|t| t.is("of") && t.gap <= Gap::Line)
        && tokens.get(found.end + 1).is_some_and(|t| {
            t.gap <= Gap::Line
                && t.is_any(words!["fuel", "diesel", "paraffin", "kerosene", "petrol", "water", "oil"])
        });
    let end = found.end;
    if of {
        found.end += 2;
    }
    add_rate_behind(tokens, found);
    if of && found.rate.is_none() {
        found.end = end;
    }
}

fn add_rate_behind(tokens: &[Token<'_>], found: &mut UnitAt) {
    let Some(token) = tokens.get(found.end).filter(|t| t.gap <= Gap::Line) else { return };
    if !token.is_any(words!["a", "an", "per", "/", "each", "every", "hourly", "in", "the"]) {
        return;
    }
    let rest = &tokens[found.end + 1..];
    let Some(next) = rest.first().filter(|t| t.gap <= Gap::Line) else { return };
    // "litres in the hour".
    let skip = usize::from(token.is("in") && next.is_any(words!["the", "one", "an"]));
    let Some(next) = rest.get(skip).filter(|t| t.gap <= Gap::Line) else { return };
    let rate = match next.lower.as_ref() {
        "hour" | "hr" | "h" | "hrs" => (Dimension::RateHour, 1.0),
        "minute" | "min" => (Dimension::RateMinute, 1.0),
        "second" | "sec" => (Dimension::RateMinute, 60.0),
        _ => return,
    };
    found.rate = Some(rate);
    found.end += 2 + skip;
}

/// The unit that words name as a whole, as a reading keeps them; none for a rate, which is two units.
pub fn unit_said(words: &str) -> Option<&'static Unit> {
    let utterances = [Utterance::line(words)];
    let tokens = tokens(words, &utterances);
    if tokens.is_empty() {
        return None;
    }
    let found = unit_named(&tokens, 0).filter(|found| found.end == tokens.len())?;
    found.rate.is_none().then_some(found.unit)
}

/// A value in the base of one dimension, in the unit of another that it can be said as; `None` where it cannot.
///
/// Bases as in `lexicon/units.toml`; `to` is a quantity's canonical unit.
pub fn convert(value: f64, from: Dimension, to: &str) -> Option<f64> {
    /// Standard gravity, m/s2, exact (NIST SP 811).
    const GRAVITY: f64 = 9.80665;
    /// Metres in a nautical mile, exact.
    const NAUTICAL_MILE_M: f64 = 1852.0;
    use Dimension as D;
    Some(match (from, to) {
        (D::Speed, "kn")
        | (D::Force, "Bft")
        | (D::Degree | D::Angle, "deg")
        | (D::Degree | D::Temperature, "degC")
        | (D::Length, "m")
        | (D::Distance, "nmi")
        | (D::Area, "m2")
        | (D::Mass | D::Pound, "kg")
        | (D::Load, "kN")
        | (D::Pressure, "hPa")
        | (D::Voltage, "V")
        | (D::Current, "A")
        | (D::Power, "W")
        | (D::Charge, "Ah")
        | (D::Energy, "Wh")
        | (D::Percent, "%")
        | (D::Volume, "L")
        | (D::RateHour, "L/h")
        | (D::RateMinute, "L/min")
        | (D::Revolutions, "rpm")
        | (D::Time, "s")
        | (D::Concentration, "ppm") => value,
        (D::Length, "nmi") => value / NAUTICAL_MILE_M,
        (D::Distance, "m") => value * NAUTICAL_MILE_M,
        (D::Mass | D::Pound, "kN") => value * GRAVITY / 1000.0,
        (D::Pressure, "bar") => value / 1000.0,
        // Pounds of oil pressure are pounds to the square inch.
        (D::Pound, "bar") => value / 0.45359237 * 0.06894757293168,
        (D::RateHour, "L/min") => value / 60.0,
        (D::RateMinute, "L/h") => value * 60.0,
        (D::Time, "h") => value / 3600.0,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_reads_and_every_unit_has_its_standard() {
        let units = Units::new(include_str!("../../lexicon/units.toml")).expect("units.toml reads");
        for unit in &units.all {
            assert!(unit.factor > 0.0 && !unit.standard.is_empty(), "{}", unit.symbol);
            assert!(
                !unit.names.is_empty() || !unit.figures.is_empty() || !unit.exact.is_empty(),
                "{}",
                unit.symbol
            );
        }
    }

    /// Check values computed with `pint` 0.25.3 and by the definitions of NIST SP 811.
    #[test]
    fn factors_agree_with_published_ones() {
        let base = |value: f64, symbol: &str| {
            let unit = units().by_symbol(symbol).expect("a unit of the file");
            value * unit.factor + unit.offset
        };
        for (found, expected) in [
            (base(-40.0, "degF"), -40.0),
            (base(0.0, "degF"), -17.7778),
            (base(14.0, "degF"), -10.0),
            (base(32.0, "degF"), 0.0),
            (base(98.6, "degF"), 37.0),
            (base(1.852, "km/h"), 1.0),
            (base(1.15077945, "mph"), 1.0),
            (base(29.92, "inHg"), 1013.2076),
            (base(30.0, "psi"), 2068.427),
            (base(220.0, "kgf"), 2.157463),
            (base(485.02, "lbf"), 2.157463),
            (base(6076.1155, "ft"), 1852.0),
        ] {
            assert!((found - expected).abs() <= 1e-4 * expected.abs().max(1.0), "{found} {expected}");
        }
    }
}
