//! `leadsman trend`: the readings of a quantity in time, and whether they go anywhere.

use chrono::NaiveDate;
use clap::Args;
use leadsman_index::{Asked, StoredReading};
use leadsman_ingest::Stance;

use super::context::{Context, date};
use crate::boat::begins;
use crate::error::{Error, Exit};
use crate::figure;
use crate::gear_word::Wanted;
use crate::quantity_word::quantity;
use crate::trend::{Point, Question, Trend, show};

/// Show where the readings of a quantity go in time
#[derive(Debug, Args)]
pub struct TrendCommand {
    /// The quantity, for instance boat_speed or "rig tension"
    quantity: String,
    /// Only of this gear, by any of its names, and of its parts
    #[arg(long, value_name = "GEAR")]
    gear: Option<String>,
    /// Only from this day on
    #[arg(long, value_name = "DATE", value_parser = date)]
    since: Option<NaiveDate>,
    /// Only up to and with this day
    #[arg(long, value_name = "DATE", value_parser = date)]
    until: Option<NaiveDate>,
    /// Count readings of this stance instead of those observed; may be given more than once
    #[arg(long, value_name = "STANCE", value_parser = stance)]
    stance: Vec<Stance>,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is no such reading
    #[arg(long)]
    exit_code: bool,
}

impl TrendCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let known = quantity(&self.quantity)?;
        let stances = if self.stance.is_empty() { vec![Stance::Observed] } else { self.stance };
        let zone = context.zone.value;
        let asked = Asked {
            quantities: vec![known.name.clone()],
            since: self.since.map(|day| begins(day, zone)),
            until: self.until.and_then(|day| day.succ_opt()).map(|day| begins(day, zone)),
            ..Asked::default()
        };
        let (all, names) = match context.store().await? {
            Some(store) => (store.readings(&asked).await?, store.learned().await?.names),
            None => (Vec::new(), Vec::new()),
        };
        let gear = self.gear.as_deref().map(|gear| Wanted::by_names(gear, &names));
        let of_gear = |stored: &StoredReading| match &gear {
            Some(wanted) => stored.reading.gear.as_deref().is_some_and(|gear| wanted.covers(gear)),
            None => true,
        };
        let all: Vec<StoredReading> = all.into_iter().filter(of_gear).collect();
        let (counted, others): (Vec<_>, Vec<_>) =
            all.into_iter().partition(|s| stances.contains(&s.reading.stance));
        let question = Question {
            quantity: known.name.clone(),
            gear: gear.map(|gear| gear.name),
            since: self.since,
            until: self.until,
        };
        let trend = Trend::new(question, &known.unit, counted.into_iter().map(Point::from).collect());
        if self.json {
            context.screen.json(&trend)?;
        } else {
            show(&trend, &mut context.screen)?;
            if !others.is_empty() {
                let count = figure::count(others.len(), "reading is", "readings are");
                let stances: Vec<&str> = stances.iter().map(|stance| stance.name()).collect();
                let text = format!("{count} not {}; --stance shows others", stances.join(" or "));
                context.screen.paragraph("  ", "  ", &text)?;
            }
        }
        Ok(if self.exit_code && trend.readings.is_empty() { Exit::Nothing } else { Exit::Done })
    }
}

impl From<StoredReading> for Point {
    fn from(stored: StoredReading) -> Self {
        let reading = stored.reading;
        Self {
            at: reading.at.map(|moment| moment.at),
            low: reading.low,
            high: reading.high,
            stance: reading.stance,
            gear: reading.gear,
            source: stored.name,
            quote: reading.quote,
            doubts: reading.doubts,
        }
    }
}

fn stance(text: &str) -> Result<Stance, String> {
    Stance::from_name(&text.to_lowercase()).ok_or_else(|| {
        let names: Vec<&str> = Stance::ALL.iter().map(|stance| stance.name()).collect();
        format!("expected one of {}", names.join(", "))
    })
}
