//! The glass: how the barometer moves, in the words of the forecast.
//!
//! Formula: change over three hours, to a tenth of a hPa, against the bounds of the words. Units: hPa, h.
//! Range: changes of up to 60 hPa over half an hour to 24 h; a time other than three hours is scaled, and the answer says
//! so. Source: the UK Met Office's glossary (read in two stored copies). Caution: see [`CAUTION`].

use super::unit::{Period, Pressure};
use super::{Figure, ReckonError, Reckoned, Sheet, Sum, sheet::need, within};

/// What `glass` can use; each may be left out.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// Change of pressure; a fall is negative
    #[arg(long, value_name = "-3.6hPa", allow_hyphen_values = true)]
    pub change: Option<Pressure>,
    /// Time over which it changed
    #[arg(long, value_name = "3h")]
    pub over: Option<Period>,
}

/// The one line of caution of this reckoning.
pub const CAUTION: &str =
    "one barometer at one place is no forecast; the words say how fast it moves, not what comes";

/// Lowest change over three hours, hPa, of each word after "steady".
const WORDS: [(f64, &str); 4] = [(0.1, " slowly"), (1.6, ""), (3.6, " quickly"), (6.1, " very rapidly")];

/// The words for a change over three hours: "falling quickly", "steady".
pub fn words(over_three_hours: Pressure) -> String {
    let change = over_three_hours.in_hpa();
    // Under a tenth is steady before anything is rounded; the bounds of the words stand a tenth apart.
    if change.abs() < 0.1 {
        return "steady".to_string();
    }
    let tenths = (change.abs() * 10.0).round() / 10.0;
    let word = WORDS.iter().rev().find(|(least, _)| tenths >= *least).map_or(" slowly", |(_, word)| word);
    format!("{}{word}", if change < 0.0 { "falling" } else { "rising" })
}

/// Works out the tendency.
pub fn reckon(inputs: &Inputs) -> Result<Reckoned, ReckonError> {
    inputs.change.map(|value| within("change of pressure", value, -60.0, 60.0)).transpose()?;
    inputs.over.map(|value| within("time of the change", value, 0.5, 24.0)).transpose()?;
    let mut sheet = Sheet::new("glass", Some(CAUTION));
    sheet.add(tendency(inputs))?;
    sheet.finish()
}

fn tendency(inputs: &Inputs) -> Result<Sum, ReckonError> {
    need!(Inputs, inputs, "tendency", from; change, over);
    let three = change * (Period::h(3.0) / over);
    let mut remarks = Vec::new();
    if over != Period::h(3.0) {
        remarks.push(format!("{over} scaled to three hours: the true change over three may differ"));
    }
    Ok(Sum {
        name: "tendency",
        figures: vec![Figure::words("the glass is", words(three)), Figure::of("over three hours", three, 1)],
        from,
        formula: "steady under 0.1 hPa in 3 h; slowly 0.1 to 1.5; no word 1.6 to 3.5; quickly 3.6 to 6.0; very rapidly over \
                  6.0",
        source: "UK Met Office glossary (docslib 507505; weatherfaqs.org.uk/node/78)",
        range: "sea-level pressure from one barometer, read the same way; \"now rising\" and \"now falling\" need the eye",
        remarks,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// UK Met Office glossary (docslib 507505; weatherfaqs.org.uk/node/78).
    #[test]
    fn the_words_of_the_forecast() {
        let rows = [
            (-0.05, "steady"),
            (1.5, "rising slowly"),
            (-1.6, "falling"),
            (-3.5, "falling"),
            (-3.6, "falling quickly"),
            (-6.0, "falling quickly"),
            (-6.1, "falling very rapidly"),
            (0.1, "rising slowly"),
        ];
        for (change, expected) in rows {
            assert_eq!(words(Pressure::hpa(change)), expected, "{change} hPa");
        }
    }

    #[test]
    fn another_time_than_three_hours_is_scaled_and_said() {
        let inputs = Inputs { change: Some(Pressure::hpa(-2.4)), over: Some(Period::h(2.0)) };
        let answer = reckon(&inputs).expect("complete");
        assert_eq!(answer.figure("tendency", "the glass is").expect("named").text(), "falling quickly");
        assert!(answer.sums[0].remarks[0].contains("scaled"));
        let error =
            reckon(&Inputs { over: Some(Period::h(3.0)), ..Inputs::default() }).expect_err("no change given");
        assert!(error.to_string().contains("--change -3.6hPa"), "{error}");
    }
}
