//! The proven envelope of gear: the conditions in which it has passed a trial, those in which it failed, and those in
//! which it will be needed: the answer of `leadsman envelope`, and the gaps at the foot of `leadsman open`.
//!
//! What the instruments measured over a trial's time goes before what was said of it.
//!
//! Needs come from the speaker's own triggers and from the passage's worst case. A need is covered by one trial that
//! passed and had all that it asks for; what a trial's words do not tell widens nothing. A trial from before the gear
//! was put in, replaced or repaired counts no more, nor one that was followed by a failure in conditions no harder than
//! the need.

mod axis;
mod measured;
mod screen;
pub mod svg;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use chrono::NaiveDate;
use leadsman_index::Passage;
use leadsman_ingest::matter::Noted;
use leadsman_ingest::{EventKind, Outcome, Span, gear};
use serde::{Deserialize, Serialize};

use crate::boat::{Boat, Day};
use crate::figure;
use crate::gear_word::base;
use crate::register::{Lives, Tried, turn_word};

pub use axis::{Axis, Reach, beaufort_kn, reach};
pub use screen::{conditions, show, show_gaps};

/// Where a gear stands between what it has passed and what it is needed for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Envelope {
    /// The gear.
    pub gear: String,
    /// The day asked about.
    pub on: NaiveDate,
    /// It all in a line: "proved up to 20 kn and 1.5 m; needed at 40 to 45 kn: not proved above 20 kn".
    pub summary: String,
    /// Trials that passed and still count, the hardest first.
    pub passed: Vec<Attempt>,
    /// Trials that passed and count no more.
    pub void: Vec<Attempt>,
    /// Trials that failed, worked only partly or settled nothing, the latest first.
    pub failed: Vec<Attempt>,
    /// What it will be needed for.
    pub needs: Vec<Need>,
}

/// One trial with how far its conditions reached.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Attempt {
    /// The day.
    pub on: Option<NaiveDate>,
    /// How it went.
    pub outcome: Outcome,
    /// How far it reached, by axis, in canonical units; night is 1 for the dark and 0 for daylight. What is not known
    /// is left out.
    pub reach: Reach,
    /// The axes that the instruments measured over its time; on the others it reached as far as the words tell.
    pub measured: Vec<Axis>,
    /// Why it counts no more.
    pub void_because: Option<String>,
    /// The words.
    pub quote: String,
    /// The note's name.
    pub from: String,
    /// Where the words stand.
    pub span: Span,
    #[serde(skip)]
    place: (usize, usize),
}

/// Conditions in which gear will be needed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Need {
    /// From where on, and how far, by axis; both ends alike where one figure is given.
    pub needed: BTreeMap<Axis, (f64, f64)>,
    /// The same in words: "40 to 45 kn".
    pub text: String,
    /// Whether one trial covers it all.
    pub covered: bool,
    /// What is not proved, in words: "not proved above 20 kn"; empty where it is covered.
    pub gap: String,
    /// The speaker's words; empty where it is the passage's worst case.
    pub quote: String,
    /// The note's name, or "the passage".
    pub from: String,
    /// Where the words stand.
    pub span: Option<Span>,
}

/// A need that no trial covers, for the list of open items.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// The gear.
    pub gear: String,
    /// It in a line: "proved up to 20 kn and 1.5 m; needed at 40 to 45 kn: not proved above 20 kn".
    pub summary: String,
    /// The need.
    #[serde(flatten)]
    pub need: Need,
}

/// Who asks, where no note does.
const PASSAGE: &str = "the passage";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    ask: Vec<Ask>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Ask {
    gear: Option<String>,
    group: Option<String>,
    asks: Vec<Figure>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Figure {
    Wind,
    Air,
    Sea,
    Hands,
    HandsLeft,
}

static ASKS: LazyLock<Vec<Ask>> = LazyLock::new(|| {
    let file: File =
        toml::from_str(include_str!("asks.toml")).expect("envelope/asks.toml is checked by a test");
    file.ask
});

/// A boat's trials and triggers by gear, for many envelopes.
pub struct Envelopes {
    on: NaiveDate,
    lives: Lives,
    passage: Passage,
    attempts: BTreeMap<String, Vec<Attempt>>,
    triggers: BTreeMap<String, Vec<Need>>,
    /// Gear whose trials have what the instruments measured.
    measured: BTreeSet<String>,
}

impl Envelopes {
    /// Gathers a boat's trials and triggers as of a day.
    pub fn new(boat: &Boat, day: Day) -> Self {
        let notes = boat.noted(day);
        let lives = Lives::new(&notes, boat.all_decisions(), day);
        let mut attempts: BTreeMap<String, Vec<Attempt>> = BTreeMap::new();
        let mut triggers: BTreeMap<String, Vec<Need>> = BTreeMap::new();
        for (index, noted) in notes.iter().enumerate() {
            for trial in &noted.note.trials {
                attempts
                    .entry(base(&trial.gear).to_owned())
                    .or_default()
                    .push(attempt(index, noted, trial, &lives));
            }
            for event in noted.note.events.iter().filter(|e| e.what == EventKind::Needed) {
                triggers.entry(base(&event.gear).to_owned()).or_default().extend(trigger(noted, event));
            }
        }
        Self {
            on: day.on,
            lives,
            passage: boat.passage().clone(),
            attempts,
            triggers,
            measured: BTreeSet::new(),
        }
    }

    /// The gear that was tried, or that something is asked of.
    pub fn gear(&self) -> BTreeSet<&str> {
        self.attempts.keys().chain(self.triggers.keys()).map(String::as_str).collect()
    }

    /// The envelope of one gear; `None` where no note tells of a trial or a trigger.
    pub fn of(&self, gear: &str) -> Option<Envelope> {
        let gear = base(gear);
        let all = self.attempts.get(gear).map_or(&[][..], Vec::as_slice);
        if all.is_empty() && !self.triggers.contains_key(gear) {
            return None;
        }
        let of = |f: &dyn Fn(&&Attempt) -> bool| all.iter().filter(f).cloned().collect::<Vec<_>>();
        let mut passed = of(&|a| a.outcome == Outcome::Pass && a.void_because.is_none());
        let void = of(&|a| a.outcome == Outcome::Pass && a.void_because.is_some());
        let mut failed = of(&|a| a.outcome != Outcome::Pass);
        failed.reverse();
        passed.sort_by(|a, b| {
            hardness(&b.reach).partial_cmp(&hardness(&a.reach)).unwrap_or(std::cmp::Ordering::Equal)
        });
        let mut needs = self.needs(gear);
        for need in &mut needs {
            judge(need, &passed, &failed);
        }
        let summary = summary(&passed, &void, &failed, &needs);
        Some(Envelope { gear: gear.to_owned(), on: self.on, summary, passed, void, failed, needs })
    }

    /// Every need of every gear aboard that no trial covers, those of the speaker's own triggers first.
    pub fn gaps(&self) -> Vec<Gap> {
        let mut gaps: Vec<Gap> = Vec::new();
        for gear in self.gear() {
            if self.lives.is_gone(gear) || self.needs(gear).is_empty() {
                continue;
            }
            let Some(envelope) = self.of(gear) else { continue };
            for need in envelope.needs.iter().filter(|n| !n.covered) {
                let proved = proved_words(&envelope.passed);
                let summary = format!("{proved}; needed at {}: {}", need.text, need.gap);
                gaps.push(Gap { gear: gear.to_owned(), summary, need: need.clone() });
            }
        }
        gaps.sort_by_key(|g| g.need.quote.is_empty());
        gaps
    }

    /// The envelopes of all gear aboard that something is asked of, those with a gap first.
    pub fn needed(&self) -> Vec<Envelope> {
        let aboard = self.gear().into_iter().filter(|gear| !self.lives.is_gone(gear));
        let mut needed: Vec<Envelope> =
            aboard.filter_map(|gear| self.of(gear)).filter(|envelope| !envelope.needs.is_empty()).collect();
        needed.sort_by_key(|envelope| envelope.needs.iter().all(|need| need.covered));
        needed
    }

    /// What is asked of a gear, by the speaker's triggers and by the passage.
    fn needs(&self, gear: &str) -> Vec<Need> {
        let mut needs: Vec<Need> = self.triggers.get(gear).cloned().unwrap_or_default();
        self.widen(gear, &mut needs);
        needs.extend(self.passage_asks(gear, &needs));
        needs
    }

    /// Gear for heavy weather that is called for at some wind is needed from there up to the strongest expected.
    fn widen(&self, gear: &str, needs: &mut [Need]) {
        let storm = gear::by_name(gear).is_some_and(|g| g.group == "storm");
        let Some(strongest) = self.passage.strongest_wind_kn.filter(|_| storm) else { return };
        for need in needs {
            if let Some((from, to)) = need.needed.get_mut(&Axis::Wind)
                && *from == *to
                && strongest > *to
            {
                *to = strongest;
                need.text = needed_words(&need.needed);
            }
        }
    }

    /// What the passage's worst case asks of a gear, all of it in one; nothing that a trigger asks for already.
    fn passage_asks(&self, gear: &str, triggers: &[Need]) -> Option<Need> {
        let group = gear::by_name(gear).map(|g| g.group.as_str());
        let ask = ASKS.iter().find(|a| a.gear.as_deref() == Some(gear));
        let ask = ask.or_else(|| ASKS.iter().find(|a| a.group.is_some() && a.group.as_deref() == group))?;
        let passage = &self.passage;
        let mut needed = BTreeMap::new();
        for figure in &ask.asks {
            let (axis, value) = match figure {
                Figure::Wind => (Axis::Wind, passage.strongest_wind_kn),
                Figure::Air => (Axis::Air, passage.coldest_air_degc),
                Figure::Sea => (Axis::Sea, passage.coldest_sea_degc),
                Figure::Hands => (Axis::Hands, passage.crew.map(f64::from)),
                Figure::HandsLeft => {
                    (Axis::Hands, passage.crew.map(|crew| f64::from(crew.saturating_sub(1).max(1))))
                }
            };
            if let Some(value) = value {
                needed.insert(axis, (value, value));
            }
        }
        let asked = |axis: &Axis, to: &f64| {
            triggers.iter().any(|t| t.needed.get(axis).is_some_and(|(_, most)| axis.reaches(*most, *to)))
        };
        if needed.is_empty() || needed.iter().all(|(axis, (_, to))| asked(axis, to)) {
            return None;
        }
        Some(Need {
            text: needed_words(&needed),
            needed,
            covered: false,
            gap: String::new(),
            quote: String::new(),
            from: PASSAGE.to_owned(),
            span: None,
        })
    }
}

fn attempt(index: usize, noted: &Noted<'_>, trial: &leadsman_ingest::Trial, lives: &Lives) -> Attempt {
    let readings = trial.conditions.iter().filter_map(|&r| noted.note.readings.get(r));
    let on = trial.at.or(noted.note.recorded).map(|m| m.at.date_naive());
    let tried = Tried { on, note: index, start: trial.span.start };
    let void = lives.renewed_after(&trial.gear, &tried).map(|turn| {
        let day = turn.on.map_or_else(String::new, |day| format!(" {}", figure::day(day)));
        format!("{}{day}", turn_word(turn.what))
    });
    let judged = || "only judged so by all of the words; `confirm` it if it did".to_owned();
    let void = void.or_else(|| trial.judged.then(judged));
    Attempt {
        on,
        outcome: trial.outcome,
        reach: reach(readings, trial.night, trial.hands),
        measured: Vec::new(),
        void_because: void,
        quote: trial.quote.clone(),
        from: noted.name.to_owned(),
        span: trial.span,
        place: (index, trial.span.start),
    }
}

fn trigger(noted: &Noted<'_>, event: &leadsman_ingest::Event) -> Option<Need> {
    let mut needed = BTreeMap::new();
    for reading in event.readings.iter().filter_map(|&r| noted.note.readings.get(r)) {
        let axis = Axis::of(&reading.quantity)?;
        let (from, to) = (reading.low.or(reading.high)?, reading.high.or(reading.low)?);
        // A trigger by force is met at the latest where the force is full: the least wind of the next one.
        let kn = |force: f64| if reading.quantity == "wind_force" { beaufort_kn(force) } else { force };
        needed.insert(axis, if axis.falls() { (kn(to), kn(from)) } else { (kn(from), kn(to)) });
    }
    (!needed.is_empty()).then(|| Need {
        text: needed_words(&needed),
        needed,
        covered: false,
        gap: String::new(),
        quote: event.quote.clone(),
        from: noted.name.to_owned(),
        span: Some(event.span),
    })
}

/// Wind first, then sea, then the rest: for putting the hardest trial first.
fn hardness(reach: &Reach) -> [f64; 4] {
    let get = |axis: Axis| {
        let least = if axis.falls() { f64::INFINITY } else { f64::NEG_INFINITY };
        let value = reach.get(&axis).copied().unwrap_or(least);
        if axis.falls() { -value } else { value }
    };
    [get(Axis::Wind).max(get(Axis::ApparentWind)), get(Axis::Waves), get(Axis::Air), get(Axis::Duration)]
}

/// Whether a trial had all that is needed.
fn covers(attempt: &Attempt, need: &Need) -> bool {
    need.needed
        .iter()
        .all(|(axis, (_, to))| attempt.reach.get(axis).is_some_and(|had| axis.reaches(*had, *to)))
}

/// Whether a failure says that the need is not met: it came after the trial, in conditions that are nowhere known to be
/// harder than the need.
fn undoes(failure: &Attempt, pass: &Attempt, need: &Need) -> bool {
    let harder = need.needed.iter().any(|(axis, (_, to))| {
        failure.reach.get(axis).is_some_and(|had| axis.reaches(*had, *to) && had != to)
    });
    matches!(failure.outcome, Outcome::Fail | Outcome::Partial) && failure.place > pass.place && !harder
}

fn judge(need: &mut Need, passed: &[Attempt], failed: &[Attempt]) {
    let covering: Vec<&Attempt> = passed.iter().filter(|a| covers(a, need)).collect();
    if covering.iter().any(|pass| !failed.iter().any(|f| undoes(f, pass, need))) {
        need.covered = true;
        return;
    }
    if let Some(pass) = covering.first() {
        let failure = failed.iter().find(|f| undoes(f, pass, need));
        let day =
            failure.and_then(|f| f.on).map_or_else(String::new, |day| format!(" on {}", figure::day(day)));
        need.gap = format!("it failed since{day}");
        return;
    }
    let mut parts: Vec<String> = Vec::new();
    for (axis, (_, to)) in &need.needed {
        let known = passed.iter().filter_map(|a| a.reach.get(axis).copied());
        let best = known.reduce(|a, b| if axis.reaches(a, b) { a } else { b });
        match best {
            Some(best) if axis.reaches(best, *to) => {}
            Some(best) if *axis == Axis::Hands => {
                parts.push(format!("not proved with fewer than {best} hands"))
            }
            Some(best) => {
                let beyond = if axis.falls() { "below" } else { "above" };
                parts.push(format!("not proved {beyond} {}", axis.value(best)));
            }
            None if passed.is_empty() => {}
            None => parts.push(format!("no trial that passed tells the {}", axis.name())),
        }
    }
    need.gap = if passed.is_empty() {
        "no trial that counts has passed".to_owned()
    } else if parts.is_empty() {
        "each proved by itself, never all in one trial".to_owned()
    } else {
        parts.join(", ")
    };
}

/// What the hardest trial had, in words: a joint claim, so of one trial alone.
pub fn proved_words(passed: &[Attempt]) -> String {
    const SAID: &[Axis] = &[Axis::Wind, Axis::ApparentWind, Axis::Waves, Axis::Air, Axis::Sea];
    let Some(best) = passed.first() else { return "not proved".to_owned() };
    let mut parts: Vec<String> =
        SAID.iter().filter_map(|axis| Some(axis.value(*best.reach.get(axis)?))).collect();
    if let Some(hands) = best.reach.get(&Axis::Hands) {
        parts.push(Axis::Hands.value(*hands));
    }
    if best.reach.get(&Axis::Night) == Some(&1.0) {
        parts.push("the dark".to_owned());
    }
    match parts.split_last() {
        None => "passed, in conditions that no words tell".to_owned(),
        Some((only, [])) => format!("proved up to {only}"),
        Some((last, rest)) => format!("proved up to {} and {last}", rest.join(", ")),
    }
}

fn needed_words(needed: &BTreeMap<Axis, (f64, f64)>) -> String {
    let one = |(axis, (from, to)): (&Axis, &(f64, f64))| {
        if from == to { axis.value(*to) } else { format!("{} to {}", figure::number(*from), axis.value(*to)) }
    };
    needed.iter().map(one).collect::<Vec<_>>().join(" and ")
}

fn summary(passed: &[Attempt], void: &[Attempt], failed: &[Attempt], needs: &[Need]) -> String {
    let mut out = proved_words(passed);
    if passed.is_empty() {
        if let Some(last) = void.last() {
            let because = last.void_because.as_deref().unwrap_or("renewed");
            out = format!("not proved since it was {because}");
        } else if let Some(last) = failed.first() {
            let day = last.on.map_or_else(String::new, |day| format!(" on {}", figure::day(day)));
            out = format!("not proved: {} when last tried{day}", last.outcome);
        }
    }
    for need in needs {
        let gap = if need.covered { "proved" } else { &need.gap };
        out += &format!("; needed at {}: {gap}", need.text);
    }
    out
}

#[cfg(test)]
mod tests;
