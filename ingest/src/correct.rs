//! The skipper's word on what was found in a note: right as it was read, to be read otherwise, or nothing of the kind.
//!
//! [`correct`] puts it into a [`Note`] after reading, so that everything behind sees the corrected findings. What
//! follows from a finding follows its correction: a trial that passed after all leaves no item.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use crate::found::{Basis, Item, Moment, Note, Outcome, Reason, Span, Stance, Why};
use crate::item::of_trial;

/// What a correction is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Finding {
    /// A reading.
    Reading,
    /// A trial.
    Trial,
    /// An item as a note raises it.
    Item,
}

/// What the skipper says of a finding instead; a field that is absent stays as it was read.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Correction {
    /// Name of the quantity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quantity: Option<String>,
    /// Lower end, in the quantity's canonical unit. The two ends go together: with one given and the other absent, that
    /// other is open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// Upper end, in the quantity's canonical unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// The quantity's canonical unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// What the number means.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stance: Option<Stance>,
    /// The gear; empty for none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gear: Option<String>,
    /// How a trial went.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
    /// When it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<DateTime<FixedOffset>>,
    /// Nothing of the kind was said here.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub dismissed: bool,
}

impl Correction {
    /// This correction with what a later one says on top.
    fn then(self, later: &Correction) -> Correction {
        let ends = later.low.is_some() || later.high.is_some();
        Correction {
            quantity: later.quantity.clone().or(self.quantity),
            low: if ends { later.low } else { self.low },
            high: if ends { later.high } else { self.high },
            unit: later.unit.clone().or(self.unit),
            stance: later.stance.or(self.stance),
            gear: later.gear.clone().or(self.gear),
            outcome: later.outcome.or(self.outcome),
            at: later.at.or(self.at),
            // What is put otherwise is there after all.
            dismissed: later.dismissed,
        }
    }
}

/// One word of the skipper on a finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What kind of finding.
    pub of: Finding,
    /// Where it stands in the note's source.
    pub span: Span,
    /// What it should be; `None` where it is right as it was read.
    pub to: Option<Correction>,
}

/// Puts the skipper's word, oldest first, into a note. A change whose finding is not there changes nothing.
///
/// A finding is known by its bytes: exactly, or else as the one that overlaps them, as when a later version of the
/// program takes a word more into it. A confirmed finding is as it was read, whatever was said of it before.
pub fn correct(note: &mut Note, changes: &[Change]) {
    let mut readings: Vec<(usize, Option<Correction>)> = Vec::new();
    let mut trials = readings.clone();
    let mut items = readings.clone();
    for change in changes {
        let (of, found) = match change.of {
            Finding::Reading => (&mut readings, place(note.readings.iter().map(|r| r.span), change.span)),
            Finding::Trial => (&mut trials, place(note.trials.iter().map(|t| t.span), change.span)),
            Finding::Item => (&mut items, place(note.items.iter().map(|i| i.span), change.span)),
        };
        let Some(found) = found else { continue };
        let entry = match of.iter().position(|(index, _)| *index == found) {
            Some(at) => at,
            None => {
                of.push((found, None));
                of.len() - 1
            }
        };
        let before = of[entry].1.take();
        of[entry].1 = change.to.as_ref().map(|to| before.unwrap_or_default().then(to));
    }
    // Items first: those of trials are found by what the trial was read as.
    correct_items(note, &items);
    correct_trials(note, &trials);
    correct_readings(note, &readings);
}

/// The index of the span that is meant.
pub fn place(spans: impl Iterator<Item = Span>, meant: Span) -> Option<usize> {
    let spans: Vec<Span> = spans.collect();
    spans.iter().position(|span| *span == meant).or_else(|| {
        let shared = |span: &Span| span.end.min(meant.end).saturating_sub(span.start.max(meant.start));
        (0..spans.len()).filter(|&n| shared(&spans[n]) > 0).max_by_key(|&n| shared(&spans[n]))
    })
}

fn correct_items(note: &mut Note, changes: &[(usize, Option<Correction>)]) {
    let mut gone = vec![false; note.items.len()];
    for (index, to) in changes {
        let item = &mut note.items[*index];
        item.because.push(reason(to.as_ref(), item.span, Vec::new()));
        let Some(to) = to else { continue };
        gone[*index] = to.dismissed;
        set_gear(&mut item.gear, to);
        set_time(&mut item.at, to);
    }
    drop_marked(&mut note.items, &gone);
}

fn correct_trials(note: &mut Note, changes: &[(usize, Option<Correction>)]) {
    let mut gone = vec![false; note.trials.len()];
    for (index, to) in changes {
        let trial = &mut note.trials[*index];
        trial.judged = false;
        let own = |item: &Item| {
            item.span == trial.span
                && item.gear.as_ref() == Some(&trial.gear)
                && matches!(item.why, Why::FailedTrial | Why::InconclusiveTrial)
        };
        let item = note.items.iter().position(own);
        let was = to.as_ref().and_then(|to| to.outcome).filter(|new| *new != trial.outcome);
        let was = was.map(|_| format!("outcome was {}", trial.outcome));
        trial.because.push(reason(to.as_ref(), trial.span, was.into_iter().collect()));
        let Some(to) = to else { continue };
        gone[*index] = to.dismissed;
        let outcome = to.outcome.unwrap_or(trial.outcome);
        let settled = outcome != trial.outcome;
        trial.outcome = outcome;
        if let Some(gear) = to.gear.as_ref().filter(|gear| !gear.is_empty()) {
            trial.gear.clone_from(gear);
        }
        set_time(&mut trial.at, to);
        let now = if to.dismissed { None } else { of_trial(trial) };
        match (item, now) {
            (Some(at), Some(now)) => note.items[at] = now,
            (Some(at), None) => {
                note.items.remove(at);
            }
            // A failure that the note put right raised no item, and still raises none.
            (None, Some(now)) if settled => {
                let at = note.items.partition_point(|i| i.span <= now.span);
                note.items.insert(at, now);
            }
            (None, _) => {}
        }
    }
    drop_marked(&mut note.trials, &gone);
}

fn correct_readings(note: &mut Note, changes: &[(usize, Option<Correction>)]) {
    let mut gone = vec![false; note.readings.len()];
    for (index, to) in changes {
        let reading = &mut note.readings[*index];
        reading.doubts.clear();
        let mut was = Vec::new();
        if let Some(to) = to {
            gone[*index] = to.dismissed;
            if let Some(quantity) = to.quantity.as_ref().filter(|new| **new != reading.quantity) {
                was.push(format!("quantity was {}", reading.quantity));
                reading.quantity.clone_from(quantity);
            }
            if let Some(unit) = to.unit.as_ref().filter(|new| **new != reading.unit) {
                was.push(format!("unit was {}", reading.unit));
                reading.unit.clone_from(unit);
            }
            if to.low.is_some() || to.high.is_some() {
                let figure = |v: Option<f64>| v.map_or_else(|| "open".to_owned(), |v| v.to_string());
                was.push(format!("value was {} to {}", figure(reading.low), figure(reading.high)));
                (reading.low, reading.high) = (to.low, to.high);
            }
            if let Some(stance) = to.stance.filter(|new| *new != reading.stance) {
                was.push(format!("stance was {}", reading.stance));
                reading.stance = stance;
            }
            set_gear(&mut reading.gear, to);
            set_time(&mut reading.at, to);
        }
        reading.because.push(reason(to.as_ref(), reading.span, was));
    }
    if gone.contains(&true) {
        // Where each reading stands once the others are gone.
        let mut kept = 0;
        let moved: Vec<Option<usize>> = gone
            .iter()
            .map(|gone| {
                (!gone).then(|| {
                    kept += 1;
                    kept - 1
                })
            })
            .collect();
        for trial in &mut note.trials {
            trial.conditions = trial.conditions.iter().filter_map(|&n| moved.get(n).copied()?).collect();
        }
    }
    drop_marked(&mut note.readings, &gone);
}

fn set_gear(gear: &mut Option<String>, to: &Correction) {
    if let Some(new) = &to.gear {
        *gear = Some(new.clone()).filter(|new| !new.is_empty());
    }
}

fn set_time(at: &mut Option<Moment>, to: &Correction) {
    if let Some(new) = to.at {
        *at = Some(Moment { at: new, basis: Basis::Stated });
    }
}

fn reason(to: Option<&Correction>, span: Span, was: Vec<String>) -> Reason {
    let what = match to {
        None => "confirmed by the skipper".to_owned(),
        Some(_) if was.is_empty() => "corrected by the skipper".to_owned(),
        Some(_) => format!("corrected by the skipper; {}", was.join(", ")),
    };
    Reason { of: "skipper".to_owned(), what, span }
}

fn drop_marked<T>(list: &mut Vec<T>, gone: &[bool]) {
    let mut gone = gone.iter();
    list.retain(|_| !gone.next().copied().unwrap_or(false));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Hints, read};

    const WORDS: &str =
        "14 March 2026, 10:00 UTC\n\nWind fifteen knots. The furler is a fail. Heel 20 degrees.\n";

    fn note() -> Note {
        read(WORDS.as_bytes(), &Hints { name: "note.txt".into(), ..Hints::default() })
    }

    fn change(of: Finding, span: Span, to: Correction) -> Change {
        Change { of, span, to: Some(to) }
    }

    #[test]
    fn a_value_is_set_and_its_doubts_go() {
        let mut note = note();
        note.readings[0].doubts.push("may be fifty".into());
        let span = note.readings[0].span;
        let to = Correction { low: Some(50.0), high: Some(50.0), ..Correction::default() };
        let changes = [change(Finding::Reading, span, to)];
        correct(&mut note, &changes);
        let reading = &note.readings[0];
        assert_eq!((reading.low, reading.high, reading.doubts.len()), (Some(50.0), Some(50.0), 0));
        let last = reading.because.last().expect("a reason");
        assert_eq!(last.what, "corrected by the skipper; value was 15 to 15");
        // Confirming takes it back to what was read.
        let mut note = self::note();
        let confirmed = Change { of: Finding::Reading, span, to: None };
        correct(&mut note, &[changes[0].clone(), confirmed]);
        assert_eq!(note.readings[0].low, Some(15.0));
    }

    #[test]
    fn a_dismissed_reading_is_gone_and_trials_keep_their_conditions() {
        let mut note = note();
        assert_eq!(note.readings.len(), 2, "{note:?}");
        note.trials[0].conditions = vec![0, 1];
        let to = Correction { dismissed: true, ..Correction::default() };
        let changes = [change(Finding::Reading, note.readings[0].span, to)];
        correct(&mut note, &changes);
        assert_eq!(note.readings.len(), 1);
        assert_eq!(note.trials[0].conditions, [0]);
        assert_eq!(note.readings[0].quantity, "heel");
    }

    #[test]
    fn a_trial_that_was_only_judged_is_one_by_the_skippers_word() {
        let mut note = note();
        note.trials[0].judged = true;
        let span = note.trials[0].span;
        correct(&mut note, &[Change { of: Finding::Trial, span, to: None }]);
        assert!(!note.trials[0].judged);
    }

    #[test]
    fn the_item_of_a_trial_follows_its_outcome() {
        let set = |note: &mut Note, span, outcome| {
            let to = Correction { outcome: Some(outcome), ..Correction::default() };
            correct(note, &[change(Finding::Trial, span, to)]);
        };
        let mut passed = note();
        let span = passed.trials[0].span;
        assert_eq!(passed.items.len(), 1);
        set(&mut passed, span, Outcome::Pass);
        assert!(passed.items.is_empty());
        let mut unclear = note();
        set(&mut unclear, span, Outcome::Unclear);
        assert_eq!(unclear.items[0].why, Why::InconclusiveTrial);
        set(&mut passed, span, Outcome::Fail);
        assert_eq!(passed.items[0].why, Why::FailedTrial);
    }

    #[test]
    fn a_finding_is_known_by_overlapping_bytes_where_none_stands_exactly_there() {
        let spans = [Span::new(0, 5), Span::new(8, 20), Span::new(18, 40)];
        assert_eq!(place(spans.into_iter(), Span::new(8, 20)), Some(1));
        assert_eq!(place(spans.into_iter(), Span::new(10, 24)), Some(1));
        assert_eq!(place(spans.into_iter(), Span::new(5, 8)), None);
    }
}
