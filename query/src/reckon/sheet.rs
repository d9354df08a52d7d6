//! What a reckoning answers: figures, sums, what is lacking, and what is refused.

use std::fmt;

use leadsman_ingest::Span;
use serde::Serialize;

use super::unit::Quantity;
use crate::figure;

/// One number of an answer, with its interval where one is known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// What it is: "true wind speed".
    pub name: String,
    /// The value in `unit`; `None` where there is none, and `words` says why.
    pub value: Option<f64>,
    /// Lower end of the interval in `unit`.
    pub low: Option<f64>,
    /// Upper end of the interval in `unit`.
    pub high: Option<f64>,
    /// The unit; "1" for a bare number.
    pub unit: &'static str,
    /// Words instead of a number ("none", "all day"), or beside it.
    pub words: Option<String>,
    /// Decimals shown; the value itself is kept whole.
    #[serde(skip)]
    pub decimals: usize,
}

impl Figure {
    /// A figure in the canonical unit of its type.
    pub fn of<Q: Quantity>(name: impl Into<String>, value: Q, decimals: usize) -> Self {
        Self::number(name, value.canonical(), Q::UNIT, decimals)
    }

    /// A figure in a unit that is not canonical for its type, or a bare number with unit "1".
    pub fn number(name: impl Into<String>, value: f64, unit: &'static str, decimals: usize) -> Self {
        Self { name: name.into(), value: Some(value), low: None, high: None, unit, words: None, decimals }
    }

    /// A figure that is words: there is no number, and the words say why or what.
    pub fn words(name: impl Into<String>, words: impl Into<String>) -> Self {
        let words = Some(words.into());
        Self { name: name.into(), value: None, low: None, high: None, unit: "1", words, decimals: 0 }
    }

    /// An interval without a best value in it.
    pub fn range<Q: Quantity>(name: impl Into<String>, low: Q, high: Q, decimals: usize) -> Self {
        Self::span(name, low.canonical(), high.canonical(), Q::UNIT, decimals)
    }

    /// An interval without a best value in it, in a unit of its own.
    pub fn span(name: impl Into<String>, low: f64, high: f64, unit: &'static str, decimals: usize) -> Self {
        Self { value: None, ..Self::number(name, low, unit, decimals) }.spread(low, high)
    }

    /// Adds the interval, its ends in either order.
    pub fn between<Q: Quantity>(self, low: Q, high: Q) -> Self {
        self.spread(low.canonical(), high.canonical())
    }

    /// Adds the interval in the figure's own unit, its ends in either order.
    pub fn spread(mut self, low: f64, high: f64) -> Self {
        self.low = Some(low.min(high));
        self.high = Some(low.max(high));
        self
    }

    /// Adds words beside the number.
    pub fn with(mut self, words: impl Into<String>) -> Self {
        self.words = Some(words.into());
        self
    }

    /// The figure as text, without its name: `15.1 kn (13.9 to 16.4)`.
    pub fn text(&self) -> String {
        let number = |value: f64| fixed(value, self.decimals);
        let unit = figure::suffix(self.unit);
        let mut text = match (self.value, self.low, self.high) {
            (Some(value), Some(low), Some(high)) => {
                format!("{}{unit} ({} to {})", number(value), number(low), number(high))
            }
            (Some(value), _, _) => format!("{}{unit}", number(value)),
            (None, Some(low), Some(high)) => format!("{} to {}{unit}", number(low), number(high)),
            (None, _, _) => String::new(),
        };
        if let Some(words) = &self.words {
            if !text.is_empty() {
                text.push_str(", ");
            }
            text.push_str(words);
        }
        text
    }
}

/// One sum: its figures and how they came about.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sum {
    /// What is worked out: "true wind".
    pub name: &'static str,
    /// The answer.
    pub figures: Vec<Figure>,
    /// The inputs with their values, and where they came from when not from the command line.
    pub from: Vec<String>,
    /// The formula in words and signs.
    pub formula: &'static str,
    /// Where the formula and its constants come from; "from memory" or "common practice, no source" where that is so.
    pub source: &'static str,
    /// Where it holds, and how far it can be trusted.
    pub range: &'static str,
    /// What the skipper should know about this answer.
    pub remarks: Vec<String>,
}

/// An input that is not there, and how to give it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Missing {
    /// Its name on the command line, without dashes.
    pub input: String,
    /// What it is.
    pub what: String,
    /// How to give it: `--awa 30deg`.
    pub give: String,
}

impl Missing {
    /// Describes the input `id` by what the command line says of it, so that the words stand once.
    pub fn of<I: clap::Args>(id: &str) -> Self {
        let command = I::augment_args(clap::Command::new("reckon"));
        let found = command.get_arguments().find(|argument| argument.get_id() == id);
        let flag = id.replace('_', "-");
        let what = found.and_then(clap::Arg::get_help).map(ToString::to_string).unwrap_or_default();
        let example = found.and_then(clap::Arg::get_value_names).and_then(|names| names.first());
        let example = example.map_or("VALUE", |name| name.as_str()).to_string();
        Self { give: format!("--{flag} {example}"), input: flag, what }
    }
}

/// A sum that was not worked out, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Lacking {
    /// The sum.
    pub sum: &'static str,
    /// The inputs that it lacks.
    pub inputs: Vec<Missing>,
    /// Why, where no input lacks: outside the range that the formula was published for.
    pub why: Option<String>,
    /// How many of the inputs that it needs were given.
    #[serde(skip)]
    pub given: usize,
}

impl fmt::Display for Lacking {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.why {
            Some(why) => write!(f, "{}: {why}", self.sum),
            None => {
                write!(f, "{} needs", self.sum)?;
                for (at, missing) in self.inputs.iter().enumerate() {
                    let comma = if at == 0 { "" } else { "," };
                    write!(f, "{comma} {} ({})", missing.give, missing.what)?;
                }
                Ok(())
            }
        }
    }
}

/// Why a reckoning gives no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReckonError {
    /// An input is missing; every sum that could be worked out names what it lacks.
    #[error("{reckoning}: nothing to work out yet{}", lines(.lacking))]
    Missing {
        /// The reckoning.
        reckoning: &'static str,
        /// The sums that lack something.
        lacking: Vec<Lacking>,
    },
    /// One sum lacks something; becomes part of `Missing` or of the answer.
    #[error("{0}")]
    Lacking(Lacking),
    /// A number that cannot be, in the physical world of a yacht.
    #[error("{what}: expected {} to {}, found {}", plain(*.low), valued(*.high, .unit), valued(*.found, .unit))]
    OutOfRange {
        /// What the number is.
        what: String,
        /// Smallest that is taken.
        low: f64,
        /// Largest that is taken.
        high: f64,
        /// Unit of the three numbers.
        unit: &'static str,
        /// The number found.
        found: f64,
    },
    /// A number for which the published formula does not hold.
    #[error("{sum}: {valid}; found {found}")]
    OutsideValidity {
        /// The sum.
        sum: &'static str,
        /// Where it holds.
        valid: &'static str,
        /// What was found.
        found: String,
    },
    /// Inputs that cannot be used together, or an input that cannot be read.
    #[error("{what}: expected {expected}, found {found}")]
    Unusable {
        /// Which input.
        what: String,
        /// What was expected.
        expected: String,
        /// What was found.
        found: String,
    },
}

fn valued(value: f64, unit: &str) -> String {
    format!("{}{}", plain(value), figure::suffix(unit))
}

fn lines(lacking: &[Lacking]) -> String {
    lacking.iter().map(|lacking| format!("\n  {lacking}")).collect()
}

/// Refuses a number out of physical range; `low` and `high` in the canonical unit, both taken.
pub fn within<Q: Quantity>(what: &str, value: Q, low: f64, high: f64) -> Result<Q, ReckonError> {
    let found = value.canonical();
    if (low..=high).contains(&found) {
        return Ok(value);
    }
    Err(ReckonError::OutOfRange { what: what.to_string(), low, high, unit: Q::UNIT, found })
}

/// An input that the home gave.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Taken {
    /// The input's name on the command line, without dashes.
    pub input: String,
    /// What it came to.
    pub value: String,
    /// Where from: "6 readings, 12 Sep to 3 Oct 2026", or "the passage as set".
    pub from: String,
    /// The words behind it.
    #[serde(skip)]
    pub said: Vec<Said>,
}

/// Words of a note that an input was taken from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// SHA-256 of the source.
    pub hash: String,
    /// Where they stand.
    pub span: Span,
    /// The words.
    pub quote: String,
}

/// An answer: every sum that the inputs allow.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reckoned {
    /// Name of the reckoning.
    pub reckoning: &'static str,
    /// What was worked out.
    pub sums: Vec<Sum>,
    /// What was asked for in part, and lacks something or lies outside a formula's range.
    pub lacking: Vec<Lacking>,
    /// Inputs that were not given and that the home's notes or its passage gave instead.
    pub from_notes: Vec<Taken>,
    /// One line of caution, where the figures can hurt someone.
    pub caution: Option<&'static str>,
}

impl Reckoned {
    /// Finds a figure by the sum's name and its own.
    pub fn figure(&self, sum: &str, name: &str) -> Option<&Figure> {
        let sum = self.sums.iter().find(|found| found.name == sum)?;
        sum.figures.iter().find(|figure| figure.name == name)
    }
}

/// Collects the sums of one reckoning.
pub struct Sheet {
    answer: Reckoned,
    untouched: Vec<Lacking>,
}

impl Sheet {
    /// Begins one; the caution is one line.
    pub fn new(reckoning: &'static str, caution: Option<&'static str>) -> Self {
        let answer =
            Reckoned { reckoning, sums: Vec::new(), lacking: Vec::new(), from_notes: Vec::new(), caution };
        Self { answer, untouched: Vec::new() }
    }

    /// Takes the outcome of a sum: an answer, a lack, or a refusal that ends the reckoning.
    pub fn add(&mut self, outcome: Result<Sum, ReckonError>) -> Result<(), ReckonError> {
        match outcome {
            Ok(sum) => self.answer.sums.push(sum),
            Err(ReckonError::Lacking(lacking)) if lacking.given == 0 => self.untouched.push(lacking),
            Err(ReckonError::Lacking(lacking)) => self.answer.lacking.push(lacking),
            Err(ReckonError::OutsideValidity { sum, valid, found }) => {
                let why = Some(format!("{valid}; found {found}"));
                self.answer.lacking.push(Lacking { sum, inputs: Vec::new(), why, given: 1 });
            }
            Err(other) => return Err(other),
        }
        Ok(())
    }

    /// The answer, or what is missing where nothing could be worked out.
    pub fn finish(self) -> Result<Reckoned, ReckonError> {
        if !self.answer.sums.is_empty() {
            return Ok(self.answer);
        }
        let Reckoned { reckoning, lacking, .. } = self.answer;
        let lacking = if lacking.is_empty() { self.untouched } else { lacking };
        Err(ReckonError::Missing { reckoning, lacking })
    }
}

/// Binds the inputs that a sum cannot do without, or returns which ones it lacks.
///
/// `need!(Inputs, inputs, "true wind", from; aws, awa)` leaves `aws` and `awa` as values and `from` as the list of
/// inputs for [`Sum::from`].
macro_rules! need {
    ($type:ty, $inputs:expr, $sum:expr, $from:ident; $($field:ident),+ $(,)?) => {
        let ($($field,)+) = ($($inputs.$field.clone(),)+);
        let given = [$($field.is_some()),+].iter().filter(|given| **given).count();
        let missing: Vec<$crate::reckon::Missing> = [$((stringify!($field), $field.is_none())),+]
            .into_iter()
            .filter(|(_, missing)| *missing)
            .map(|(id, _)| $crate::reckon::Missing::of::<$type>(id))
            .collect();
        let ($(Some($field),)+) = ($($field,)+) else {
            return Err($crate::reckon::ReckonError::Lacking($crate::reckon::Lacking {
                sum: $sum, inputs: missing, why: None, given,
            }));
        };
        let $from: Vec<String> = vec![$(format!("{} {}", stringify!($field).replace('_', "-"), $field)),+];
    };
}
pub(crate) use need;

/// A number in as few digits as it needs: three decimals, five below 0.1; no trailing noughts, no minus before nought.
pub fn plain(value: f64) -> String {
    let decimals = if value.abs() < 0.1 { 5 } else { 3 };
    fixed(value, decimals).trim_end_matches('0').trim_end_matches('.').to_string()
}

/// A number with so many decimals, without a minus before nought.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_string(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::unit::Speed;

    #[test]
    fn a_number_out_of_range_is_refused_with_the_range_and_what_was_found() {
        let error = within("wind speed", Speed::kn(700.0), 0.0, 250.0).expect_err("no such wind");
        insta::assert_snapshot!(error, @"wind speed: expected 0 to 250 kn, found 700 kn");
        assert!(within("wind speed", Speed::kn(f64::NAN), 0.0, 250.0).is_err(), "NaN is in no range");
    }

    #[test]
    fn figures_read_as_they_would_be_said() {
        assert_eq!(Figure::of("a", Speed::kn(15.105), 1).text(), "15.1 kn");
        assert_eq!(Figure::of("a", Speed::kn(-0.01), 1).text(), "0.0 kn");
        assert_eq!(Figure::of("a", Speed::kn(5.0), 0).spread(6.0, 4.0).text(), "5 kn (4 to 6)");
        assert_eq!(Figure::range("a", Speed::kn(4.0), Speed::kn(6.0), 0).text(), "4 to 6 kn");
        assert_eq!(Figure::words("a", "none").text(), "none");
        assert_eq!(plain(-0.000_001), "0");
        assert_eq!(plain(0.0034), "0.0034");
        assert_eq!(plain(1200.0), "1200");
        assert_eq!(plain(-8.0), "−8");
        assert_eq!(plain(0.0), "0");
    }
}
