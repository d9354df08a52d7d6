//! A trend asked of a home's database.

use chrono::NaiveDate;
use chrono_tz::Tz;
use leadsman_index::{Asked, Store, StoredReading};
use leadsman_ingest::Stance;
use leadsman_ingest::instrument::Quantity;

use super::{Point, Question, Trend, channel};
use crate::boat::{Boat, Day, begins};
use crate::error::Error;
use crate::gear_word::Wanted;
use crate::instruments::Panel;
use crate::reckon::two_part::FEWEST_A_SIDE;
use crate::register::Lives;

/// Which readings are asked for.
#[derive(Clone, Debug)]
pub struct Wish<'a> {
    /// Name of the quantity, of notes or of instruments.
    pub name: &'a str,
    /// Its canonical unit.
    pub unit: &'a str,
    /// Only of this gear, by any of its names, and of its parts.
    pub gear: Option<&'a str>,
    /// Only from this day on.
    pub since: Option<NaiveDate>,
    /// Only up to and with this day.
    pub until: Option<NaiveDate>,
    /// Which stances count.
    pub stances: &'a [Stance],
}

/// The trend, and the readings of the same quantity that have another stance, limits among them.
pub async fn ask(store: Option<&Store>, wish: &Wish<'_>, zone: Tz) -> Result<(Trend, Vec<Point>), Error> {
    let asked = Asked {
        quantities: vec![wish.name.to_owned()],
        since: wish.since.map(|day| begins(day, zone)),
        until: wish.until.and_then(|day| day.succ_opt()).map(|day| begins(day, zone)),
        ..Asked::default()
    };
    let (mut all, mut names, mut channels) = (Vec::new(), Vec::new(), Vec::new());
    if let Some(store) = store {
        (all, names) = (store.readings(&asked).await?, store.learned().await?.names);
        let panel = Panel::open(store, zone).await?;
        panel.doubt(&mut all).await?;
        // Of one gear's readings, no channel can be told to be the same.
        if let (Some(quantity), None) = (Quantity::from_name(wish.name), wish.gear) {
            channels = channel::of(&panel, quantity, (wish.since, wish.until), zone).await?;
        }
    }
    let gear = wish.gear.map(|gear| Wanted::by_names(gear, &names));
    let of_gear = |stored: &StoredReading| match &gear {
        Some(wanted) => stored.reading.gear.as_deref().is_some_and(|gear| wanted.covers(gear)),
        None => true,
    };
    let points = all.into_iter().filter(of_gear).map(Point::from);
    let (counted, others) = points.partition(|point| wish.stances.contains(&point.stance));
    let question = Question {
        quantity: wish.name.to_owned(),
        gear: gear.as_ref().map(|gear| gear.name.clone()),
        since: wish.since,
        until: wish.until,
    };
    let mut trend = Trend { instruments: channels, ..Trend::new(question, wish.unit, counted) };
    let gear = gear.or_else(|| Some(Wanted::by_names(trend.only_gear()?, &names)));
    // The whole notes are looked at only where a change could part the series.
    if let (Some(store), Some(gear)) = (store, gear)
        && trend.count >= 2 * FEWEST_A_SIDE
    {
        let boat = Boat::read(store).await?;
        let all = Day { on: NaiveDate::MAX, asked: false };
        trend.part_at(&Lives::new(&boat.noted(all), boat.all_decisions(), all), &gear);
    }
    Ok((trend, others))
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
            hash: stored.source.to_string(),
            start: reading.span.start,
            end: reading.span.end,
            quote: reading.quote,
            doubts: reading.doubts,
        }
    }
}
