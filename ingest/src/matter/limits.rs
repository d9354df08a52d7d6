//! Limits that the boat's notes give, and readings that lie outside them or come back inside.

use rustc_hash::FxHashMap;

use super::{Evidence, Matter, Noted, SoFar};
use crate::found::{Event, EventKind, Note, Outcome, Reading, Stance, Why};
use crate::gear::by_name;
use crate::matter::same::{is_final, same_gear};
use crate::reading::OF_WHAT;

/// Quantities for which a reading outside a limit is a matter; for wind, speed and the like a limit is a trigger for
/// doing something, and exceeding it is no fault of the gear.
pub const WATCHED: &[&str] = &[
    "rig_tension",
    "gauge_reading",
    "voltage",
    "state_of_charge",
    "co_level",
    "engine_temperature",
    "oil_pressure",
    "pump_rate",
];

/// Quantities whose limit, given as a single figure, is a least value.
pub const LEAST: &[&str] = &["voltage", "state_of_charge", "oil_pressure", "pump_rate"];

/// Quantities whose limit, given as a single figure, is a greatest value.
pub const GREATEST: &[&str] = &["co_level", "engine_temperature"];

/// The gear that a watched quantity belongs to where no words name it.
pub fn usual_gear(quantity: &str) -> Option<&'static str> {
    Some(match quantity {
        "voltage" | "state_of_charge" => "house bank",
        "co_level" => "carbon monoxide alarm",
        "engine_temperature" => "engine",
        "oil_pressure" => "engine oil",
        "rig_tension" | "gauge_reading" => "rig",
        _ => return None,
    })
}

/// Whether volts said of this gear are the house bank's: what starts an engine has a battery of its own, and what draws
/// much pulls the volts down as long as it runs.
pub fn is_of_the_house(gear: Option<&str>) -> bool {
    const OWN: &[&str] = &[
        "windlass",
        "bow thruster",
        "starter motor",
        "glow plug",
        "alternator",
        "solar panels",
        "wind generator",
        "hydrogenerator",
        "generator",
        "EPIRB",
        "handheld VHF",
        "satellite phone",
    ];
    gear.is_none_or(|gear| gear == "house bank" || !OWN.contains(&gear) && !gear.contains("battery"))
}

/// Quantities of which one reading shows how things stand; a battery that is full at noon says nothing of the night.
pub const SHOWN_BY_ONE: &[&str] = &["rig_tension", "gauge_reading", "pump_rate"];

/// Quantities that a tension gauge shows.
const ON_THE_GAUGE: &[&str] = &["rig_tension", "gauge_reading"];

/// A limit from a note: a band, open at one end or not.
#[derive(Clone, Copy, Debug)]
pub struct Limit<'a> {
    /// The reading that gives it.
    pub given: &'a Reading,
    /// Least allowed value.
    pub least: Option<f64>,
    /// Greatest allowed value.
    pub greatest: Option<f64>,
}

/// Limits that the skipper's decisions give, as a note without a source, which stands before all others.
pub fn of_skipper(limits: Vec<Reading>) -> Note {
    Note { readings: limits, ..Note::default() }
}

/// Whether a reading outside a limit for a quantity opens an item wherever the limit comes from.
pub fn is_watched(quantity: &str) -> bool {
    WATCHED.contains(&quantity)
}

/// The latest limit that notes give for each gear, by quantity, oldest first: of the watched quantities, and all that the
/// skipper's decisions give.
#[derive(Clone, Debug, Default)]
pub struct Limits<'a> {
    said: FxHashMap<&'a str, Vec<Limit<'a>>>,
    /// Those of a note without a source, which come before what is said.
    own: FxHashMap<&'a str, Vec<Limit<'a>>>,
    /// The first note that observed a figure of a watched quantity.
    observed: FxHashMap<(&'a str, u64), &'a Note>,
}

impl<'a> Limits<'a> {
    /// Adds those of a later note.
    pub fn add(&mut self, noted: &Noted<'a>) {
        let is_own = noted.source.is_empty();
        for r in
            noted.note.readings.iter().filter(|r| r.stance == Stance::Observed && is_watched(&r.quantity))
        {
            if let Some(figure) = r.low.or(r.high) {
                self.observed.entry((&r.quantity, figure.to_bits())).or_insert(noted.note);
            }
        }
        let into = if is_own { &mut self.own } else { &mut self.said };
        let given = noted.note.readings.iter().filter(|r| r.stance == Stance::Limit);
        for given in given.filter(|r| is_own || is_watched(&r.quantity)) {
            let of_quantity = into.entry(&given.quantity).or_default();
            // "Nineteen, which is over the fifteen": an end of a band that is in force, and no other limit.
            let one = given.low.is_none() || given.high.is_none() || given.low == given.high;
            let figure = given.low.or(given.high);
            let repeats = |limit: &Limit<'_>| {
                limit.least.is_some()
                    && limit.greatest.is_some()
                    && (limit.least == figure || limit.greatest == figure)
            };
            if one
                && of_quantity.iter().any(|limit| {
                    repeats(limit) && same_gear(limit.given.gear.as_deref(), given.gear.as_deref())
                })
            {
                continue;
            }
            // A later one for the same gear is in force wherever the earlier was.
            of_quantity.retain(|limit| limit.given.gear != given.gear);
            of_quantity.push(Limit::of(given));
        }
    }

    /// Whether a figure outside its limit is only spoken of again: "she sat at 181, so I'm done worrying about two hundred
    /// and one". An earlier note had read it, and this one reads the same quantity inside the limit too.
    fn is_told_again(&self, reading: &Reading, limit: &Limit<'_>, note: &Note) -> bool {
        let figure = reading.low.or(reading.high).map(f64::to_bits);
        let first = figure.and_then(|figure| self.observed.get(&(reading.quantity.as_str(), figure)));
        first.is_some_and(|first| !std::ptr::eq(*first, note))
            && note.readings.iter().any(|r| {
                r.stance == Stance::Observed
                    && r.quantity == reading.quantity
                    && r.gear == reading.gear
                    && !limit.broken_by(r)
            })
    }

    /// The limit in force for a reading: the skipper's, else the latest that governs it.
    pub fn in_force(&self, reading: &Reading) -> Option<&Limit<'a>> {
        let mut both = [&self.own, &self.said].into_iter();
        both.find_map(|of| of.get(reading.quantity.as_str())?.iter().rfind(|limit| limit.governs(reading)))
    }
}

impl<'a> Limit<'a> {
    /// The band that a reading gives.
    fn of(given: &'a Reading) -> Self {
        let one_sided = given.low.is_none() || given.high.is_none() || given.low == given.high;
        let figure = given.low.or(given.high);
        // "Never below 12.2" and "12.2 is the limit" say the same of a battery: the quantity tells which end.
        let (least, greatest) = if !one_sided {
            (given.low, given.high)
        } else if LEAST.contains(&given.quantity.as_str()) {
            (figure, None)
        } else if GREATEST.contains(&given.quantity.as_str()) || given.low == given.high {
            (None, figure)
        } else {
            (given.low, given.high)
        };
        Self { given, least, greatest }
    }
}

impl Limit<'_> {
    /// Whether a limit is for the same quantity of the same gear as a reading.
    pub fn governs(&self, reading: &Reading) -> bool {
        if self.given.quantity != reading.quantity {
            return false;
        }
        let (limit, read) = (self.given.gear.as_deref(), reading.gear.as_deref());
        match reading.quantity.as_str() {
            // A shroud's limit is for that shroud alone.
            "rig_tension" | "gauge_reading" | "pump_rate" => same_gear(limit, read),
            "voltage" => self.is_of_the_house() && is_of_the_house(read) || same_gear(limit, read),
            quantity if is_watched(quantity) => true,
            // What the skipper alone watches is watched on that gear alone, or anywhere where no gear is given.
            _ => limit.is_none() || same_gear(limit, read),
        }
    }

    /// Whether a limit of volts is the house bank's, whatever consumer the talk was of: none of charging, none of another
    /// battery.
    fn is_of_the_house(&self) -> bool {
        /// A bank of twelve volts that shows more is on charge; one of twenty-four, at twice as much.
        const ON_CHARGE: f64 = 13.2;
        let figure = self.least.or(self.greatest).unwrap_or_default();
        let bank = if figure > 1.5 * ON_CHARGE { 2.0 } else { 1.0 };
        figure < ON_CHARGE * bank && is_of_the_house(self.given.gear.as_deref())
    }

    /// Whether a reading lies outside.
    pub fn broken_by(&self, reading: &Reading) -> bool {
        let (low, high) = (reading.low.or(reading.high), reading.high.or(reading.low));
        self.least.zip(low).is_some_and(|(least, low)| low < least)
            || self.greatest.zip(high).is_some_and(|(most, high)| high > most)
    }
}

/// The observed readings of a note that lie outside the limits given by it or by the notes before it.
pub fn outside<'a>(limits: &Limits<'a>, note: &'a Note) -> Vec<(&'a Reading, Limit<'a>)> {
    note.readings
        .iter()
        .filter(|r| r.stance == Stance::Observed && (r.doubts.is_empty() || is_a_charge(r)))
        .filter_map(|r| Some((r, *limits.in_force(r).filter(|limit| limit.broken_by(r))?)))
        .filter(|(r, limit)| !limits.is_told_again(r, limit, note))
        .filter(|(r, limit)| {
            // "Six percent. Three half turns, and now ten": wound up in the same note.
            let last = note.readings.iter().rfind(|later| {
                later.stance == Stance::Observed && later.quantity == r.quantity && later.gear == r.gear
            });
            !SHOWN_BY_ONE.contains(&r.quantity.as_str())
                || !alone(r)
                || last.is_none_or(|last| limit.broken_by(last))
        })
        .filter(|(r, limit)| !was_cured(r, limit, note))
        .collect()
}

/// "Sunday morning 43 %": a percentage that is doubted only since it does not say of what, and that the limit for the
/// batteries is about.
fn is_a_charge(reading: &Reading) -> bool {
    reading.quantity == "state_of_charge" && reading.doubts.iter().all(|doubt| doubt == OF_WHAT)
}

/// "Two hundred and one. Strainer was packed, cleaned it out, and now one seventy-eight": an engine that ran hot, what was
/// done about it, and cool again behind that, in one note. Throttling back is nothing done.
fn was_cured(hot: &Reading, limit: &Limit<'_>, note: &Note) -> bool {
    let of_cooling = |gear: &str| gear == "engine cooling";
    let done = note
        .closings
        .iter()
        .find(|c| c.span.start >= hot.span.end && c.gear.as_deref().is_some_and(of_cooling));
    let last = note
        .readings
        .iter()
        .rfind(|later| later.stance == Stance::Observed && later.quantity == hot.quantity);
    hot.quantity == "engine_temperature"
        && done
            .zip(last)
            .is_some_and(|(done, last)| last.span.start >= done.span.start && !limit.broken_by(last))
}

/// Whether the gear that a reading is of is one thing: "cap shroud" may be either of two.
pub fn alone(reading: &Reading) -> bool {
    const SINGLE: &[&str] = &["port ", "starboard ", "backstay", "forestay", "inner forestay"];
    reading.gear.as_deref().is_some_and(|gear| SINGLE.iter().any(|single| gear.starts_with(single)))
}

/// The reading in a note that brings a matter back inside its limits: by itself where one reading shows it, as for a
/// shroud's tension or what a pump moves; else only where the note also says that gear of that kind is in order, or what
/// was done to it. A battery that is full at noon says nothing of the night.
pub fn back_inside<'a>(matter: &Matter, so_far: &SoFar<'_>, note: &'a Note) -> Option<&'a Reading> {
    // "I want the gauge back on them" is done when the gauge shows them inside their band.
    let on_the_gauge = || note.readings.iter().find(|r| ON_THE_GAUGE.contains(&r.quantity.as_str()));
    let was_outside = matter.why.contains(&Why::OutOfLimits);
    let (quantity, broken) = match matter.why.first() {
        Some(Why::OutOfLimits | Why::Unproven) if was_outside => {
            let broken = broken_reading(matter, so_far)?;
            (broken.quantity.as_str(), Some(broken))
        }
        // "The needle went to 91, and the book says 85" failed by a figure: it is over where one inside the limit follows
        // what was done about it.
        Some(Why::FailedTrial | Why::Task)
            if let Some(broken) = broken_reading(matter, so_far)
                && is_of_its_kind(broken, matter)
                && was_worked_on(matter, note) =>
        {
            (broken.quantity.as_str(), Some(broken))
        }
        Some(Why::Task) => (on_the_gauge()?.quantity.as_str(), None),
        _ => return None,
    };
    let of_it = |r: &Reading| same_gear(r.gear.as_deref(), matter.gear.as_deref());
    // "Backstay on the main mast, only nine": the matter goes by the mast, and its words name the backstay.
    let named = |r: &Reading| broken.is_some() && r.gear.as_deref().is_some_and(|gear| names(matter, gear));
    let limits = &so_far.limits;
    let is_broken = |r: &Reading| {
        let of_matter = || broken.filter(|_| named(r)).and_then(|broken| limits.in_force(broken));
        let limit = limits.in_force(r).or_else(of_matter)?;
        Some(limit.broken_by(r) && !limits.is_told_again(r, limit, note))
    };
    let measured = || note.readings.iter().filter(|r| r.stance == Stance::Observed && r.quantity == quantity);
    let is_inside = |r: &Reading| {
        let limit =
            limits.in_force(r).or_else(|| broken.filter(|_| named(r)).and_then(|b| limits.in_force(b)));
        r.doubts.is_empty() && limit.is_some_and(|limit| !limit.broken_by(r))
    };
    if SHOWN_BY_ONE.contains(&quantity) {
        let rig = ON_THE_GAUGE.contains(&quantity);
        let in_order = !rig && (said_in_order(matter, note) || was_worked_on(matter, note));
        let inside = measured().rfind(|r| is_inside(r) && (of_it(r) || named(r) || in_order))?;
        // "Sixteen with a turn on it, but it crept back to twelve": the last one counts.
        let crept_back =
            measured().any(|r| r.span > inside.span && r.gear == inside.gear && is_broken(r) == Some(true));
        return Some(inside).filter(|_| !crept_back);
    }
    let any_broken = measured().any(|r| is_broken(r) == Some(true));
    let mut inside = measured().filter(|r| is_inside(r));
    let all = said_in_order(matter, note) || was_worked_on(matter, note);
    inside.find(|r| !any_broken && (all || settled_beside(r, note)))
}

/// The reading that was out of its limits: the one which the matter's evidence quotes.
fn broken_reading<'a>(matter: &Matter, so_far: &SoFar<'a>) -> Option<&'a Reading> {
    let outside = |e: &&Evidence| e.why == Some(Why::OutOfLimits);
    let evidence = matter.evidence.iter().rev().find(outside).or_else(|| matter.evidence.first())?;
    let readings = &so_far.notes.get(evidence.source.as_str())?.readings;
    let quoted = || {
        readings.iter().filter(|r| {
            is_watched(&r.quantity) && evidence.span.start <= r.span.start && r.span.end <= evidence.span.end
        })
    };
    // "Backstay 27 = 23 %": the gauge's own number has no limit.
    let broken = |r: &&Reading| so_far.limits.in_force(r).is_some_and(|limit| limit.broken_by(r));
    quoted().find(broken).or_else(|| quoted().next().filter(|_| outside(&evidence)))
}

/// Whether a reading is of gear of a matter's kind: a lamp that failed is not mended by what the battery shows.
fn is_of_its_kind(reading: &Reading, matter: &Matter) -> bool {
    let gear = matter.gear.as_deref();
    if matches!(reading.quantity.as_str(), "voltage" | "state_of_charge") {
        return gear.is_some_and(|gear| gear == "house bank" || gear.contains("battery"));
    }
    let of = reading.gear.as_deref().or_else(|| usual_gear(&reading.quantity)).and_then(kind);
    of.is_some() && of == gear.and_then(kind)
}

/// Whether the words right behind a reading say that the matter is over: "12.5 at six. That's that one put to bed".
fn settled_beside(reading: &Reading, note: &Note) -> bool {
    const NEAR: usize = 200;
    note.closings.iter().any(|c| {
        is_final(&c.how) && c.span.start >= reading.span.end && c.span.start <= reading.span.end + NEAR
    })
}

/// Whether the words of a matter's evidence name gear, each word of the name standing in them.
fn names(matter: &Matter, gear: &str) -> bool {
    let said: Vec<String> = matter.evidence.iter().map(|e| e.quote.to_lowercase()).collect();
    let has = |word: &str| said.iter().any(|q| q.split(|c: char| !c.is_alphanumeric()).any(|w| w == word));
    gear.to_lowercase().split(' ').all(has)
}

/// Whether a note says that gear of the matter's kind passed or is put right.
fn said_in_order(matter: &Matter, note: &Note) -> bool {
    let Some(kind) = matter.gear.as_deref().and_then(kind) else { return false };
    let of_kind = |gear: &str| self::kind(gear) == Some(kind);
    note.trials.iter().any(|t| t.outcome == Outcome::Pass && of_kind(&t.gear))
        || note.closings.iter().any(|c| is_final(&c.how) && c.gear.as_deref().is_some_and(of_kind))
}

/// Whether a note tells of work that was done on gear of the matter's kind: a part renewed, a thing mended or cleaned.
fn was_worked_on(matter: &Matter, note: &Note) -> bool {
    let Some(kind) = matter.gear.as_deref().and_then(kind) else { return false };
    let of_kind = |gear: &str| self::kind(gear) == Some(kind);
    let work = |e: &Event| matches!(e.what, EventKind::Fitted | EventKind::Replaced | EventKind::Repaired);
    note.events.iter().any(|e| work(e) && of_kind(&e.gear))
        || note.closings.iter().any(|c| c.gear.as_deref().is_some_and(of_kind))
        || note.accounts.iter().any(|a| a.well().is_some() && of_kind(&a.gear))
}

/// The group of gear that shares a cause: what burns, and what warns of it, are one.
fn kind(gear: &str) -> Option<&'static str> {
    let group = by_name(gear)?.group.as_str();
    Some(if matches!(group, "heat" | "galley" | "fire_gas") { "heat" } else { group })
}
