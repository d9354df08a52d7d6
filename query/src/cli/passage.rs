//! `leadsman passage`: shows the coming passage, or sets what is given of it.

use std::str::FromStr;

use chrono::NaiveDate;
use clap::Args;
use leadsman_index::Decision;
use serde::Serialize;

use super::context::{Context, coming, coming_until};
use crate::error::{Error, Exit};
use crate::figure;
use crate::open_item::Voyage;
use crate::reckon::unit::{Days, Distance, Quantity, Speed, Temperature, UnitError};
use crate::reckon::wind::strongest_of;

/// Show the coming passage, or set what is given of it
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub struct Passage {
    /// Day of departure
    #[arg(long, value_name = "DATE", value_parser = coming)]
    departure: Option<NaiveDate>,
    /// Last day on which the boat may still be away
    #[arg(long, value_name = "DATE", value_parser = coming_until)]
    back: Option<NaiveDate>,
    /// Days at sea
    #[arg(long, value_name = "DAYS", value_parser = measure::<Days, 0, 1_000>)]
    days: Option<Days>,
    /// Distance in nautical miles, or with its unit
    #[arg(long, value_name = "NMI", value_parser = measure::<Distance, 0, 50_000>)]
    distance: Option<Distance>,
    /// Lowest and highest latitude in degrees, south negative
    #[arg(long, num_args = 2, value_names = ["FROM", "TO"], value_parser = within::<-90, 90>)]
    latitudes: Option<Vec<f64>>,
    /// People aboard
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    crew: Option<u32>,
    /// Coldest air expected, in °C, or with its unit: 20F
    #[arg(
        long,
        value_name = "DEGC",
        allow_hyphen_values = true,
        value_parser = measure::<Temperature, -70, 50>
    )]
    coldest_air: Option<Temperature>,
    /// Coldest sea expected, in °C, or with its unit
    #[arg(
        long,
        value_name = "DEGC",
        allow_hyphen_values = true,
        value_parser = measure::<Temperature, -3, 40>
    )]
    coldest_sea: Option<Temperature>,
    /// Strongest wind expected, in kn, with its unit, or by its force: F9
    #[arg(long, value_name = "KN", value_parser = wind)]
    strongest_wind: Option<Speed>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// The passage as it is shown: what the skipper set, and the dates with who names them.
#[derive(Serialize)]
struct Shown<'a> {
    #[serde(flatten)]
    voyage: &'a Voyage,
    days: Option<f64>,
    distance_nmi: Option<f64>,
    latitudes: Option<(f64, f64)>,
    crew: Option<u32>,
    coldest_air_degc: Option<f64>,
    coldest_sea_degc: Option<f64>,
    strongest_wind_kn: Option<f64>,
}

impl Passage {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let json = self.json;
        let given = self.given();
        if given != leadsman_index::Passage::default() {
            let boat = context.boat().await?;
            let whole = boat.passage().clone().then(&given);
            if let (Some(departure), Some(back)) = (whole.departure, whole.back)
                && back < departure
            {
                return Err(Error::wrong_use(format!(
                    "the boat would be back on {back}, before it leaves on {departure}"
                ))
                .hint("give both --departure and --back"));
            }
            let today = context.day().on;
            if let Some(gone) = given.departure.filter(|departure| *departure < today) {
                anstream::eprintln!(
                    "note: {gone} has passed, {}; give a departure to come",
                    figure::days_away(today, gone)
                );
            }
            context.decide(Decision::Passage(given)).await?;
        }
        let boat = context.boat().await?;
        let voyage = boat.voyage(context.day(), None);
        let set = boat.passage();
        let shown = Shown {
            voyage: &voyage,
            days: set.days,
            distance_nmi: set.distance_nmi,
            latitudes: set.latitudes,
            crew: set.crew,
            coldest_air_degc: set.coldest_air_degc,
            coldest_sea_degc: set.coldest_sea_degc,
            strongest_wind_kn: set.strongest_wind_kn,
        };
        if json {
            context.screen.json(&shown)?
        } else {
            shown.show(context)?
        }
        Ok(Exit::Done)
    }

    fn given(self) -> leadsman_index::Passage {
        let latitudes = self.latitudes.as_deref().and_then(|given| match given {
            [one, other] => Some((one.min(*other), one.max(*other))),
            _ => None,
        });
        leadsman_index::Passage {
            departure: self.departure,
            days: self.days.map(Days::in_days),
            distance_nmi: self.distance.map(Distance::in_nmi),
            latitudes,
            crew: self.crew,
            coldest_air_degc: self.coldest_air.map(Temperature::in_deg_c),
            coldest_sea_degc: self.coldest_sea.map(Temperature::in_deg_c),
            strongest_wind_kn: self.strongest_wind.map(Speed::in_kn),
            back: self.back,
        }
    }
}

impl Shown<'_> {
    fn show(&self, context: &mut Context) -> std::io::Result<()> {
        let on = context.day().on;
        let screen = &mut context.screen;
        let mut line = |name: &str, value: Option<String>| {
            screen.line(format!("{name:<16}{}", value.unwrap_or_else(|| "not known".to_owned())))
        };
        let dated = |date: Option<NaiveDate>, from: &Option<String>, said: &Option<String>| {
            let said = said.as_ref().map_or_else(String::new, |said| format!(": \u{201c}{said}\u{201d}"));
            let from = from.as_ref().map_or_else(String::new, |from| format!(" ({from}{said})"));
            date.map(|date| format!("{}, {}{from}", figure::day(date), figure::days_away(on, date)))
        };
        let in_unit = |value: Option<f64>, unit: &str| value.map(|value| figure::value(value, unit));
        line("departure", dated(self.voyage.leaves, &self.voyage.leaves_from, &self.voyage.leaves_said))?;
        line("back by", dated(self.voyage.back, &self.voyage.back_from, &self.voyage.back_said))?;
        line("days at sea", self.days.map(figure::number))?;
        line("distance", in_unit(self.distance_nmi, "nmi"))?;
        let latitude = |value: f64| {
            format!("{}{}", figure::value(value.abs(), "deg"), if value < 0.0 { " S" } else { " N" })
        };
        line(
            "latitudes",
            self.latitudes.map(|(from, to)| format!("{} to {}", latitude(from), latitude(to))),
        )?;
        line("crew", self.crew.map(|crew| crew.to_string()))?;
        line("coldest air", in_unit(self.coldest_air_degc, "degC"))?;
        line("coldest sea", in_unit(self.coldest_sea_degc, "degC"))?;
        line("strongest wind", in_unit(self.strongest_wind_kn, "kn"))
    }
}

/// Reads a wind; of a Beaufort force, the strongest.
fn wind(text: &str) -> Result<Speed, String> {
    force(text).map_or_else(|| measure::<Speed, 0, 200>(text), strongest_of)
}

/// The Beaufort force of "F9", "force 9" or "9 Bft"; `None` where the words are of none.
fn force(text: &str) -> Option<usize> {
    let text = text.trim().to_lowercase();
    let behind = ["force", "bft", "bf", "f"].iter().find_map(|word| text.strip_prefix(word));
    let figures = behind.or_else(|| ["bft", "bf"].iter().find_map(|word| text.strip_suffix(word)))?;
    figures.trim().parse().ok()
}

/// Reads a quantity of `LOW` to `HIGH` in its canonical unit.
fn measure<Q, const LOW: i32, const HIGH: i32>(text: &str) -> Result<Q, String>
where
    Q: Quantity + FromStr<Err = UnitError>,
{
    let value: Q = text.parse().map_err(|error: UnitError| error.to_string())?;
    if (f64::from(LOW)..=f64::from(HIGH)).contains(&value.canonical()) {
        Ok(value)
    } else {
        Err(format!("expected {} from {LOW} to {HIGH} {}, found {value}", Q::WHAT, Q::UNIT))
    }
}

/// Reads a number from `LOW` to `HIGH`.
fn within<const LOW: i32, const HIGH: i32>(text: &str) -> Result<f64, String> {
    let value: f64 = text.trim().parse().map_err(|_| format!("expected a number from {LOW} to {HIGH}"))?;
    if (f64::from(LOW)..=f64::from(HIGH)).contains(&value) {
        Ok(value)
    } else {
        Err(format!("expected a number from {LOW} to {HIGH}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn winds_are_taken_by_their_force() {
        for (said, kn) in [("47", 47.0), ("F9", 47.0), ("force 9", 47.0), ("9 Bft", 47.0), ("12 bft", 64.0)] {
            assert_eq!(wind(said).map(Speed::in_kn), Ok(kn), "{said}");
        }
        assert!((wind("20 m/s").expect("a wind").in_kn() - 38.877).abs() < 0.001);
        for wrong in ["F13", "9 V", "strong", "300"] {
            assert!(wind(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_measure_keeps_to_its_bounds() {
        assert_eq!(measure::<Temperature, -70, 50>("-6C"), Ok(Temperature::deg_c(-6.0)));
        let error = measure::<Distance, 0, 50_000>("60000nm").expect_err("it is too far");
        assert_eq!(error, "expected a distance from 0 to 50000 nmi, found 60000 nmi");
    }
}
