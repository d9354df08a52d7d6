//! Days out before departure: the open items placed by what each needs, the most pressing first: the answer of
//! `leadsman outings`.
//!
//! The rule, which is the same for the same items on every machine: items are taken in the order of `leadsman open`.
//! Each goes to the first day that can take it without another kind of water or more wind than the day has; failing
//! that, to the first day that can take it at all. A day can take an item while its hours last (getting out and back
//! counts, open water more), while the winds that its items want overlap, not before the date on which what it waits
//! for is due, and not before the day of other work on the same gear. What something has to be got for is placed from
//! the second day on, provided that it has come. Errands, things given to somebody else and things accepted as they
//! are go into no day.

mod needs;
mod screen;

use std::collections::HashMap;

use chrono::{Days, NaiveDate};
use leadsman_index::{Decision, Entry};
use leadsman_ingest::Why;
use leadsman_ingest::matter::same::{is_errand, named_alike};
use serde::Serialize;

use crate::figure;
use crate::open_item::{Open, OpenList};

pub use needs::{Needs, Place};
pub use screen::{day_words, show};

/// Most days that are planned.
pub const MOST_DAYS: u32 = 60;
/// Days out where nobody says how many.
const USUAL_DAYS: u32 = 3;
/// Hours of a day out where nobody says how many.
pub const USUAL_HOURS: f64 = 8.0;
/// What getting out and back takes of a day, in h. Common practice, no source.
const OUT_AND_BACK_H: f64 = 1.0;
/// What open water takes more, in h. Common practice, no source.
const OPEN_WATER_H: f64 = 1.5;

/// Days out with what is done on each.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outings {
    /// The day asked about.
    pub on: NaiveDate,
    /// Departure, where one is known.
    pub leaves: Option<NaiveDate>,
    /// Days from the day asked about to departure.
    pub days_left: Option<i64>,
    /// Hours of each day.
    pub hours_a_day: f64,
    /// The days.
    pub days: Vec<DayOut>,
    /// What is got or asked ashore, and needs no day out.
    pub errands: Vec<Left>,
    /// What could not be placed, with why.
    pub unplaced: Vec<Left>,
}

/// A day out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DayOut {
    /// Its number, from 1.
    pub number: usize,
    /// Where the days are spread evenly until departure: its date.
    pub date: Option<NaiveDate>,
    /// Hours taken, getting out and back included.
    pub hours: f64,
    /// The wind that suits everything on it, least and most in kn.
    pub wind_kn: Option<(f64, f64)>,
    /// Whether it leaves the dock.
    pub under_way: bool,
    /// Whether it goes to open water.
    pub open_water: bool,
    /// Whether it ends in the dark.
    pub night: bool,
    /// Whether a cold day suits it.
    pub cold: bool,
    /// Hands that it wants.
    pub hands: u32,
    /// What is done, in the order of the day.
    pub steps: Vec<Step>,
}

/// An item placed on a day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Name of the item.
    pub item: String,
    /// The gear.
    pub gear: Option<String>,
    /// The matter in a line.
    pub about: String,
    /// Why it is open.
    pub why: Option<Why>,
    /// What it needs.
    pub needs: Needs,
    /// What must have come or been done first.
    pub provided: Vec<String>,
    #[serde(skip)]
    order: usize,
}

/// An item that no day takes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Left {
    /// Name of the item.
    pub item: String,
    /// The gear.
    pub gear: Option<String>,
    /// The matter in a line.
    pub about: String,
    /// Why no day takes it.
    pub because: String,
}

/// What the skipper's decisions say of when an item can be done.
#[derive(Default)]
struct Said {
    not_before: Option<(NaiveDate, String)>,
    given_to: Option<String>,
    accepted: bool,
    waits_for: Option<String>,
}

impl Outings {
    /// Places what stands open. `days` and `hours`: how many days out there are, and how long each is.
    pub fn new<'a>(
        list: &OpenList,
        decisions: impl IntoIterator<Item = &'a Entry>,
        days: Option<u32>,
        hours: Option<f64>,
    ) -> Self {
        let left = list.days_left;
        let most =
            left.map_or(MOST_DAYS, |left| u32::try_from(left.max(0)).unwrap_or(MOST_DAYS)).min(MOST_DAYS);
        let count = days.unwrap_or(USUAL_DAYS).min(most) as usize;
        let hours_a_day = hours.unwrap_or(USUAL_HOURS);
        let mut plan = Self {
            on: list.on,
            leaves: list.voyage.leaves,
            days_left: left,
            hours_a_day,
            days: (1..=count).map(|number| DayOut::new(number, date(list.on, left, number, count))).collect(),
            errands: Vec::new(),
            unplaced: Vec::new(),
        };
        let said = said(decisions);
        let mut placed: HashMap<&str, usize> = HashMap::new();
        // Work on gear comes before its trial, whatever their order in the list.
        let work_first = |item: &&Open| item.why != Some(Why::Task);
        let mut order: Vec<(usize, &Open)> = list.open.iter().enumerate().collect();
        order.sort_by_key(|(index, item)| {
            let trial_of_worked = work_first(item) && list.open.iter().any(|o| is_work(o) && same(o, item));
            let after =
                list.open.iter().rposition(|o| is_work(o) && same(o, item)).filter(|_| trial_of_worked);
            (after.map_or(*index, |work| work.max(*index)), trial_of_worked, *index)
        });
        for (index, item) in order {
            plan.place(index, item, list, said.get(item.name.as_str()), &mut placed);
        }
        for day in &mut plan.days {
            day.steps.sort_by_key(|s| (s.needs.night, s.needs.place, s.order));
        }
        plan
    }

    fn place<'l>(
        &mut self,
        index: usize,
        item: &'l Open,
        list: &'l OpenList,
        said: Option<&Said>,
        placed: &mut HashMap<&'l str, usize>,
    ) {
        let left = |because: String| Left {
            item: item.name.clone(),
            gear: item.gear.clone(),
            about: in_a_line(item),
            because,
        };
        if let Some(said) = said {
            if said.accepted {
                self.unplaced.push(left("accepted as it is".to_owned()));
                return;
            }
            if let Some(who) = &said.given_to {
                self.unplaced.push(left(format!("given to {who}")));
                return;
            }
        }
        if is_ashore(item) {
            self.errands.push(left(if item.why == Some(Why::Overdue) {
                "a service or a renewal".to_owned()
            } else {
                "to be got or asked".to_owned()
            }));
            return;
        }
        let mut provided: Vec<String> = Vec::new();
        let mut earliest = 0;
        for other in list.open.iter().filter(|o| o.name != item.name && same(o, item)) {
            if is_ashore(other) && other.why != Some(Why::Overdue) {
                provided.push(format!("{} has come", other.name));
                earliest = earliest.max(1);
            } else if is_work(other) && !is_work(item) {
                if let Some(&day) = placed.get(other.name.as_str()) {
                    earliest = earliest.max(day);
                }
                provided.push(format!("{} is done", other.name));
            }
        }
        if let Some(waits) = said.and_then(|s| s.waits_for.as_ref()) {
            provided.push(format!("{waits} has come"));
            earliest = earliest.max(1);
        }
        let needs = if is_work(item) {
            Needs::of_work(&words(item))
        } else {
            Needs::of(item.gear.as_deref(), &words(item))
        };
        let not_before = said.and_then(|s| s.not_before.as_ref());
        let on_time = |day: &DayOut| match (not_before, day.date) {
            (Some((until, _)), Some(date)) => date >= *until,
            _ => true,
        };
        let hours = self.hours_a_day;
        let takes =
            |day: &DayOut| day.number > earliest && on_time(day) && day.refuses(&needs, hours).is_none();
        let chosen = self
            .days
            .iter()
            .position(|day| takes(day) && day.suits(&needs))
            .or_else(|| self.days.iter().position(takes));
        match chosen {
            Some(at) => {
                placed.insert(&item.name, at);
                self.days[at].add(Step {
                    item: item.name.clone(),
                    gear: item.gear.clone(),
                    about: in_a_line(item),
                    why: item.why,
                    needs,
                    provided,
                    order: index,
                });
            }
            None => self.unplaced.push(left(self.why_not(&needs, earliest, not_before))),
        }
    }

    fn why_not(&self, needs: &Needs, earliest: usize, not_before: Option<&(NaiveDate, String)>) -> String {
        if self.days.is_empty() {
            return match self.days_left {
                Some(left) if left <= 0 => "no day is left before departure".to_owned(),
                _ => "there is no day out".to_owned(),
            };
        }
        if let Some((until, what)) = not_before
            && self.days.iter().all(|day| day.date.is_some_and(|date| date < *until))
        {
            return format!("{what} until {}", figure::day(*until));
        }
        if self.days.len() <= earliest {
            return "what it needs must come first, and no day follows".to_owned();
        }
        let mut reasons: Vec<&str> = Vec::new();
        for reason in self.days.iter().skip(earliest).filter_map(|day| day.refuses(needs, self.hours_a_day)) {
            if !reasons.contains(&reason) {
                reasons.push(reason);
            }
        }
        match needs.wind_kn {
            Some((least, most)) if reasons.contains(&WIND) => format!(
                "wants {} of wind; {}",
                figure::range(Some(least), Some(most), "kn"),
                reasons.join(", or ")
            ),
            _ => reasons.join(", or "),
        }
    }
}

const WIND: &str = "every day with hours left is for another wind";
const HOURS: &str = "no day has the hours left";

impl DayOut {
    fn new(number: usize, date: Option<NaiveDate>) -> Self {
        Self {
            number,
            date,
            hours: 0.0,
            wind_kn: None,
            under_way: false,
            open_water: false,
            night: false,
            cold: false,
            hands: 1,
            steps: Vec::new(),
        }
    }

    /// What going there takes more of the day.
    fn way_h(&self, needs: &Needs) -> f64 {
        let out = if needs.place > Place::Dock && !self.under_way { OUT_AND_BACK_H } else { 0.0 };
        let open = if needs.place == Place::OpenWater && !self.open_water { OPEN_WATER_H } else { 0.0 };
        out + open
    }

    fn wind_with(&self, needs: &Needs) -> Option<Option<(f64, f64)>> {
        match (self.wind_kn, needs.wind_kn) {
            (Some(day), Some(item)) => {
                let (least, most) = (day.0.max(item.0), day.1.min(item.1));
                (least < most).then_some(Some((least, most)))
            }
            (day, item) => Some(day.or(item)),
        }
    }

    /// Why the day cannot take an item; `None` where it can.
    fn refuses(&self, needs: &Needs, hours: f64) -> Option<&'static str> {
        if self.hours + self.way_h(needs) + needs.hours > hours + 1e-9 {
            return Some(HOURS);
        }
        self.wind_with(needs).is_none().then_some(WIND)
    }

    /// Whether an item asks nothing new of the day: the water and the hands are there, and the wind it has will do.
    fn suits(&self, needs: &Needs) -> bool {
        self.way_h(needs) == 0.0
            && (self.night || !needs.night)
            && self.hands >= needs.hands
            && match (self.wind_kn, needs.wind_kn) {
                (_, None) => true,
                (None, Some(_)) => false,
                (Some(day), Some(item)) => item.0 <= day.0 && item.1 >= day.1,
            }
    }

    fn add(&mut self, step: Step) {
        let needs = &step.needs;
        self.hours += self.way_h(needs) + needs.hours;
        self.wind_kn = self.wind_with(needs).unwrap_or(self.wind_kn);
        self.under_way |= needs.place > Place::Dock;
        self.open_water |= needs.place == Place::OpenWater;
        self.night |= needs.night;
        self.cold |= needs.cold;
        self.hands = self.hands.max(needs.hands);
        self.steps.push(step);
    }
}

/// The date of a day out where the days are spread evenly until departure.
fn date(on: NaiveDate, left: Option<i64>, number: usize, count: usize) -> Option<NaiveDate> {
    let left = u64::try_from(left?).ok()?;
    on.checked_add_days(Days::new(left * number as u64 / (count as u64 + 1)))
}

/// The gear and the latest words on the matter, in a line.
fn in_a_line(item: &Open) -> String {
    const LONGEST: usize = 90;
    let words = item.evidence.last().map_or(item.about.as_str(), |e| e.quote.as_str());
    let cut = words.char_indices().nth(LONGEST).map_or(words.len(), |(at, _)| at);
    // At the end of a word, where there is one.
    let end = if cut < words.len() { words[..cut].rfind(' ').unwrap_or(cut) } else { cut };
    let more = if end < words.len() { " …" } else { "" };
    let said = format!("\u{201c}{}{more}\u{201d}", &words[..end]);
    item.gear.as_ref().map_or_else(|| said.clone(), |gear| format!("{gear}: {said}"))
}

fn words(item: &Open) -> String {
    let quotes: Vec<&str> = item.evidence.iter().map(|e| e.quote.as_str()).collect();
    format!("{} {}", item.about, quotes.join(" "))
}

fn is_ashore(item: &Open) -> bool {
    match item.why {
        Some(Why::Overdue) => true,
        Some(Why::Task) => {
            let quotes: Vec<&str> = item.evidence.iter().map(|e| e.quote.as_str()).collect();
            is_errand(&quotes.join(" "))
        }
        _ => false,
    }
}

fn is_work(item: &Open) -> bool {
    item.why == Some(Why::Task) && !is_ashore(item)
}

fn same(a: &Open, b: &Open) -> bool {
    named_alike(a.gear.as_deref(), b.gear.as_deref())
}

fn said<'a>(decisions: impl IntoIterator<Item = &'a Entry>) -> HashMap<String, Said> {
    let mut all: HashMap<String, Said> = HashMap::new();
    for entry in decisions {
        let Some(item) = entry.decision.item() else { continue };
        let said = all.entry(item.to_owned()).or_default();
        match &entry.decision {
            Decision::PutOff { until, .. } => said.not_before = Some((*until, "put off".to_owned())),
            Decision::Wait { r#for, due, .. } => {
                said.waits_for = Some(r#for.clone());
                if let Some(due) = due {
                    said.not_before = Some((*due, format!("waiting for {}", r#for)));
                }
            }
            Decision::Give { to, .. } => said.given_to = Some(to.clone()),
            Decision::Accept { .. } => said.accepted = true,
            // Opened again, it is the skipper's own matter once more.
            Decision::Reopen { .. } => *said = Said::default(),
            _ => {}
        }
    }
    all
}

#[cfg(test)]
mod tests;
