//! Water: what the crew needs over the days, what is aboard, and how long it lasts.
//!
//! Formula: crew × days × litres a head a day. Units: L. Range: one to twenty people. Source: definition; what a head uses
//! is the boat's own figure, never one of ours. Caution: see [`CAUTION`].

use super::unit::{Days, Share, Volume};
use super::{Figure, Lacking, Missing, ReckonError, Reckoned, Sheet, Sum, sheet::need, within};

/// What `water` can use; each may be left out.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// People aboard
    #[arg(long, value_name = "2")]
    pub crew: Option<u32>,
    /// Water that one person uses a day, as measured aboard; repeat for its spread
    #[arg(long, value_name = "3.5L")]
    pub head: Vec<Volume>,
    /// Days at sea
    #[arg(long, value_name = "12d")]
    pub days: Option<Days>,
    /// Water aboard
    #[arg(long, value_name = "180L")]
    pub tank: Option<Volume>,
    /// Share of it kept back
    #[arg(long, value_name = "25%")]
    pub reserve: Option<Share>,
}

/// The one line of caution of this reckoning.
pub const CAUTION: &str =
    "one tank or one pump can fail: carry part of the water apart, and more than the sum says";

/// The shortest time at sea that is reckoned with: an hour.
pub const FEWEST_DAYS: f64 = 1.0 / 24.0;
/// The longest.
pub const MOST_DAYS: f64 = 400.0;

/// Water for a crew over some days.
pub fn needed(crew: u32, days: Days, head_a_day: Volume) -> Volume {
    head_a_day * f64::from(crew) * days.in_days()
}

/// Works out every sum that the inputs allow.
pub fn reckon(inputs: &Inputs) -> Result<Reckoned, ReckonError> {
    if let Some(found) = inputs.crew.filter(|crew| !(1..=20).contains(crew)) {
        let (what, unit, found) = ("crew".into(), "people", f64::from(found));
        return Err(ReckonError::OutOfRange { what, low: 1.0, high: 20.0, unit, found });
    }
    inputs.days.map(|value| within("days at sea", value, FEWEST_DAYS, MOST_DAYS)).transpose()?;
    inputs.tank.map(|value| within("water aboard", value, 0.0, 20_000.0)).transpose()?;
    inputs.reserve.map(|value| within("reserve", value, 0.0, 90.0)).transpose()?;
    for head in &inputs.head {
        within("water a head a day", *head, 0.2, 200.0)?;
    }
    let mut sheet = Sheet::new("water", Some(CAUTION));
    sheet.add(needed_sum(inputs))?;
    sheet.add(lasts_sum(inputs))?;
    sheet.finish()
}

fn head(inputs: &Inputs, sum: &'static str) -> Result<(Volume, Volume, Volume), ReckonError> {
    let litres: Vec<f64> = inputs.head.iter().map(|head| head.in_l()).collect();
    let at = |share| crate::trend::stats::quantile(&litres, share).map(Volume::l);
    match (at(0.0), at(0.5), at(1.0)) {
        (Some(low), Some(middle), Some(high)) => Ok((low, middle, high)),
        _ => Err(ReckonError::Lacking(Lacking {
            sum,
            inputs: vec![Missing::of::<Inputs>("head")],
            why: None,
            given: usize::from(inputs.crew.is_some()),
        })),
    }
}

fn needed_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    const NAME: &str = "water needed";
    need!(Inputs, inputs, NAME, from; crew, days);
    let (low, middle, high) = head(inputs, NAME)?;
    let figure = Figure::of("water needed", needed(crew, days, middle), 0);
    let figure =
        if low == high { figure } else { figure.between(needed(crew, days, low), needed(crew, days, high)) };
    let mut figures = vec![figure];
    let mut from = from;
    let measured = crate::figure::count(inputs.head.len(), "measurement", "measurements");
    from.push(format!("{measured} of a day's use"));
    if let Some(tank) = inputs.tank {
        let usable = tank * (1.0 - inputs.reserve.unwrap_or_default().in_fraction());
        let over = usable - needed(crew, days, high);
        let words = if over < Volume::default() { "short" } else { "to spare, at the highest use measured" };
        figures.push(Figure::of("less what is aboard", over.abs(), 0).with(words));
        from.push(format!("tank {tank}"));
    }
    Ok(Sum {
        name: NAME,
        figures,
        from,
        formula: "crew × days × litres a head a day, at the median of what was measured and from lowest to highest",
        source: "definition",
        range: "the same habits as when it was measured; cold weather and sickness change them",
        remarks: Vec::new(),
    })
}

fn lasts_sum(inputs: &Inputs) -> Result<Sum, ReckonError> {
    const NAME: &str = "days that it lasts";
    need!(Inputs, inputs, NAME, from; crew, tank, reserve);
    let (low, middle, high) = head(inputs, NAME)?;
    let usable = tank * (1.0 - reserve.in_fraction());
    let days = |head: Volume| usable / (head * f64::from(crew));
    let figure = Figure::number(NAME, days(middle), "days", 0);
    let figure = if low == high { figure } else { figure.spread(days(high), days(low)) };
    Ok(Sum {
        name: NAME,
        figures: vec![figure],
        from,
        formula: "(water aboard less reserve) / (crew × litres a head a day)",
        source: "definition",
        range: "all of the tank can be drawn; it seldom can",
        remarks: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    #[test]
    fn water_by_crew_and_days() {
        let inputs = Inputs {
            crew: Some(2),
            head: [3.0, 3.5, 5.0].map(Volume::l).to_vec(),
            days: Some(Days::d(12.0)),
            tank: Some(Volume::l(180.0)),
            reserve: Some(Share::percent(25.0)),
        };
        let answer = reckon(&inputs).expect("complete");
        assert_eq!(answer.figure("water needed", "water needed").expect("named").text(), "84 L (72 to 120)");
        assert_eq!(
            answer.figure("water needed", "less what is aboard").expect("named").text(),
            "15 L, to spare, at the highest use measured"
        );
        let lasts = answer.figure("days that it lasts", "days that it lasts").expect("named");
        near(lasts.value.expect("days"), 135.0 / 7.0, 1e-9);
    }

    #[test]
    fn what_a_head_uses_is_never_made_up() {
        let inputs = Inputs { crew: Some(2), days: Some(Days::d(12.0)), ..Inputs::default() };
        let error = reckon(&inputs).expect_err("a head's use is missing").to_string();
        assert!(error.contains("--head 3.5L"), "{error}");
        let crowd = Inputs { crew: Some(500), ..Inputs::default() };
        insta::assert_snapshot!(reckon(&crowd).expect_err("no yacht"), @"crew: expected 1 to 20 people, found 500 people");
    }
}
