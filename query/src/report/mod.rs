//! The report: what a skipper takes to the chart table, what a crew has to know, what a contact ashore needs. Computed
//! here into one struct; `sheet` writes it as one HTML file that needs nothing else.

mod drawn;
pub mod fresh;
mod sheet;
mod stowed;

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, NaiveDate};
use chrono_tz::Tz;
use leadsman_index::{Ashore, Asked, Decision, Passage, Store, StoredReading, StoredTrial, With};
use leadsman_ingest::{Due, Outcome, Stance, Why, quantity::table};

use crate::boat::{Boat, Day, home_notes};
use crate::envelope::{Axis, Envelope, Envelopes};
use crate::error::Error;
use crate::export::{GearRow, gear};
use crate::instruments::Panel;
use crate::limits::Own;
use crate::open_item::{Open, OpenList};
use crate::reckon::budget::{self, Budget, Inputs};
use crate::register::{Register, turns_of};
use crate::trend::svg::Band;
use crate::trend::{Point, Question, Trend};

pub use sheet::sheet;
pub use stowed::Stowed;

/// Readings from which on a quantity is drawn.
const ENOUGH: usize = 4;
/// Trends that are drawn at most.
const MOST_TRENDS: usize = 6;

/// Whom a report is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Reader {
    /// The skipper: everything that bears on the departure.
    #[default]
    Skipper,
    /// The crew: where things are, what is not proved, how what was drilled is done.
    Crew,
    /// The contact ashore: boat, people, safety gear, route, times, whom to call. No note is quoted.
    Ashore,
}

/// A trend with what is drawn beside it.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// The trend.
    pub trend: Trend,
    /// Limits from notes, then those of the skipper's own.
    pub limits: Vec<Band>,
    /// Days on which the gear was changed, each with the word for it.
    pub turns: Vec<(NaiveDate, &'static str)>,
}

/// A report.
#[derive(Clone, Debug)]
pub struct Report {
    /// Whom it is for.
    pub reader: Reader,
    /// When it was made.
    pub made: DateTime<FixedOffset>,
    /// What stands open, most pressing first, with the dates of the voyage.
    pub list: OpenList,
    /// The passage as set.
    pub passage: Passage,
    /// What the contact ashore is told.
    pub ashore: Ashore,
    /// What each piece of gear has been through, by name.
    pub gear: Vec<GearRow>,
    /// The latest trial of each piece of gear that it passed.
    pub proved: Vec<StoredTrial>,
    /// The wind that each of these has passed in and that still counts, in kn, by gear.
    pub passed_in_kn: BTreeMap<String, f64>,
    /// What the passage takes; `None` where none is set or one of the numbers is out of range.
    pub budget: Option<Budget>,
    /// The latest readings of rig tension, one a wire.
    pub rig: Vec<StoredReading>,
    /// Gear that something is asked of: what it has passed beside what it is needed for, those with a gap first.
    pub envelopes: Vec<Envelope>,
    /// Quantities that go somewhere or have a limit.
    pub trends: Vec<Drawn>,
    /// Service and expiry dates of gear, the latest said of each, by date.
    pub dates: Vec<(String, Due)>,
    /// Where things are, in the words of the notes.
    pub stowed: Vec<Stowed>,
}

impl Report {
    /// Open items with a reason, by the one that is named first.
    pub fn group(&self, why: Why) -> Vec<&Open> {
        self.list.open.iter().filter(|item| item.why == Some(why)).collect()
    }

    /// Makes a report of a home. Errors: the home cannot be read.
    pub async fn make(
        store: Option<&Store>,
        boat: &Boat,
        day: Day,
        zone: Tz,
        made: DateTime<FixedOffset>,
        reader: Reader,
    ) -> Result<Self, Error> {
        let list = boat.open_list(day, None);
        let mut report = Self {
            reader,
            made,
            passage: boat.passage().clone(),
            ashore: Ashore::default(),
            gear: Vec::new(),
            proved: Vec::new(),
            passed_in_kn: BTreeMap::new(),
            budget: None,
            rig: Vec::new(),
            envelopes: Vec::new(),
            trends: Vec::new(),
            dates: Vec::new(),
            stowed: Vec::new(),
            list,
        };
        let Some(store) = store else { return Ok(report) };
        for entry in store.record().decisions() {
            if let Decision::Ashore(later) = &entry.decision {
                report.ashore = std::mem::take(&mut report.ashore).then(later);
            }
        }
        let notes = store.notes(With { utterances: reader == Reader::Crew, reasons: false }).await?;
        report.dates =
            dates(notes.iter().flat_map(|stored| &stored.note.dues).map(|(gear, due, _)| (gear, due)));
        if reader == Reader::Ashore {
            return Ok(report);
        }
        let trials = store.trials(&[]).await?;
        let readings = store.readings(&Asked::default()).await?;
        report.gear = gear(&readings, &trials, &report.list);
        report.proved = proved(&trials);
        if reader == Reader::Crew {
            let names = store.learned().await?.names;
            report.stowed = stowed::stowed(&notes, &names);
            return Ok(report);
        }
        // Without a passage there is nothing that a budget could be of.
        if report.passage != Passage::default() {
            let mut inputs = Inputs::default();
            home_notes(store, day, zone).await?.budget(&mut inputs);
            report.budget = budget::budget(&inputs).ok();
        }
        report.rig = latest_of(&readings, "rig_tension");
        let panel = Panel::open(store, zone).await?;
        let mut envelopes = Envelopes::new(boat, day);
        envelopes.measure(boat, day, &panel, None).await?;
        for stored in &report.proved {
            let gear = &stored.trial.gear;
            envelopes.measure(boat, day, &panel, Some(gear)).await?;
            let wind = envelopes.of(gear).and_then(|one| one.passed.first()?.reach.get(&Axis::Wind).copied());
            report.passed_in_kn.extend(wind.map(|wind| (gear.clone(), wind)));
        }
        report.envelopes = envelopes.needed();
        report.trends = trends(&readings, boat, day);
        Ok(report)
    }
}

/// The latest trial of each piece of gear, where it was passed; by gear.
pub fn proved(trials: &[StoredTrial]) -> Vec<StoredTrial> {
    let mut latest: BTreeMap<String, &StoredTrial> = BTreeMap::new();
    for stored in trials {
        latest.insert(stored.trial.gear.to_lowercase(), stored);
    }
    latest.into_values().filter(|stored| stored.trial.outcome == Outcome::Pass).cloned().collect()
}

/// The latest observed reading of a quantity for each piece of gear, by gear. Readings come by time.
fn latest_of(readings: &[StoredReading], quantity: &str) -> Vec<StoredReading> {
    let mut latest: BTreeMap<String, StoredReading> = BTreeMap::new();
    for stored in readings {
        let reading = &stored.reading;
        if reading.quantity == quantity && reading.stance == Stance::Observed && reading.doubts.is_empty() {
            latest.insert(reading.gear.clone().unwrap_or_default(), stored.clone());
        }
    }
    latest.into_values().collect()
}

/// The date that was last said of each piece of gear and of what happens then, by date.
fn dates<'a>(said: impl Iterator<Item = (&'a Option<String>, &'a Due)>) -> Vec<(String, Due)> {
    let mut latest: BTreeMap<(String, &str), &Due> = BTreeMap::new();
    for (gear, due) in said {
        if let Some(gear) = gear {
            latest.insert((gear.clone(), due.what.as_str()), due);
        }
    }
    let mut dates: Vec<(String, Due)> =
        latest.into_iter().map(|((gear, _), due)| (gear, due.clone())).collect();
    dates.sort_by(|a, b| (a.1.until, &a.0).cmp(&(b.1.until, &b.0)));
    dates
}

/// The trends that matter: those that can be told from none, and those of gear with a limit; the surest first.
fn trends(readings: &[StoredReading], boat: &Boat, day: Day) -> Vec<Drawn> {
    // By quantity and gear: what was observed, and the limits.
    type Groups<'a> = BTreeMap<(&'a str, &'a str), (Vec<Point>, Vec<Point>)>;
    let mut groups = Groups::new();
    for stored in readings {
        let Some(gear) = stored.reading.gear.as_deref() else { continue };
        let group = groups.entry((&stored.reading.quantity, gear)).or_default();
        match stored.reading.stance {
            Stance::Observed => group.0.push(stored.clone().into()),
            Stance::Limit if stored.reading.doubts.is_empty() => group.1.push(stored.clone().into()),
            _ => {}
        }
    }
    let own = Own::new(boat, day);
    let mut found: Vec<Drawn> = Vec::new();
    for ((name, gear), (points, limits)) in groups {
        let Some(quantity) = table().quantities.iter().find(|quantity| quantity.name == name) else {
            continue;
        };
        let question =
            Question { quantity: name.to_owned(), gear: Some(gear.to_owned()), ..Question::default() };
        let trend = Trend::new(question, &quantity.unit, points);
        let told = trend.slope.is_some_and(|slope| slope.distinguishable);
        if trend.count < ENOUGH {
            continue;
        }
        let mut limits: Vec<Band> = limits.iter().map(Band::from).collect();
        limits.extend(own.of(name, &[Some(gear)]).iter().map(Band::from));
        if told || !limits.is_empty() {
            found.push(Drawn { trend, limits, turns: Vec::new() });
        }
    }
    let p = |trend: &Trend| trend.slope.map_or(1.0, |slope| slope.p);
    found.sort_by(|a, b| p(&a.trend).total_cmp(&p(&b.trend)));
    found.truncate(MOST_TRENDS);
    if !found.is_empty() {
        let register = Register::new(boat, day);
        for drawn in &mut found {
            drawn.turns =
                drawn.trend.question.gear.as_ref().map_or_else(Vec::new, |gear| turns_of(&register, gear));
        }
    }
    found
}

/// A day that a date may mean, for sheets: `1 Nov 2026 to 30 Nov 2026`.
pub fn days(from: NaiveDate, until: NaiveDate) -> String {
    let day = |day: NaiveDate| day.format("%-d %b %Y").to_string();
    if from == until { day(from) } else { format!("{} to {}", day(from), day(until)) }
}
