//! Items: what a note leaves to do, and what it says is done.
//!
//! Each kind has a file of its own; here they are put together, so that one matter is one item: a failed trial with
//! "I must look into that" is one failed trial.

pub mod beyond;
mod cues;
mod defect;
pub mod done;
pub mod due;
mod listed;
pub mod remark;
pub mod task;
mod undone;
pub mod unproven;
mod words;

#[cfg(test)]
mod tests;

pub use cues::Cues;
pub(crate) use done::{TICKED, is_half_done};
pub(crate) use due::{carries_date, runs_out_under};
pub(crate) use listed::PUT_OFF;
pub use words::built_in;
pub(crate) use words::{WORDS, around, item, thought_of};

use chrono::NaiveDate;

use crate::date::Named;
use crate::found::{
    Closing, Due, Item, Outcome, PassageWords, Reading, Remark, Span, Trial, UtteranceKind, Why,
};
use crate::gear;
use crate::matter::same::Words;
use crate::talk::Talk;
use crate::topic::Thought;

/// What a note leaves to do and says is done.
#[derive(Clone, Debug, Default)]
pub struct Items {
    /// What it opens; dates that pass are left to the fold, which knows when the boat is back.
    pub items: Vec<Item>,
    /// What the speaker says is done.
    pub closings: Vec<Closing>,
    /// What it plainly states of gear.
    pub remarks: Vec<Remark>,
    /// Dates that hang on gear, with whether the speaker says that it is too early.
    pub dues: Vec<(Option<String>, Due, Span)>,
    /// The ends of the voyage.
    pub passage: PassageWords,
}

/// Finds the items and closings of a note made on a day, given its trials and the dates that it names; spans are in the
/// decoded text.
pub fn items(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    readings: &[Reading],
    trials: &[Trial],
    dates: &[Named],
    day: NaiveDate,
) -> Items {
    let listed = listed::listed(talk, thoughts);
    let closings = done::closings(talk, thoughts, &listed);
    let (dues, passage) = due::dues(talk, thoughts, dates, day);
    let mut items: Vec<Item> = trials
        .iter()
        .filter(|t| !put_right(t, &closings) && !is_outdone(talk, t, trials))
        .filter_map(of_trial)
        .collect();
    for item in unproven::unproven(talk, thoughts) {
        let tried = trials.iter().any(|t| Some(&t.gear) == item.gear.as_ref() && decides(t, &item));
        if !tried && !items.iter().any(|i| i.gear.is_some() && i.gear == item.gear && i.why != Why::Task) {
            items.push(item);
        }
    }
    for item in due::expired(talk, thoughts, &dues) {
        if !items.iter().any(|i| i.gear == item.gear) {
            items.push(item);
        }
    }
    for item in beyond::beyond(talk, readings) {
        if !items.iter().any(|i| i.why == Why::FailedTrial && i.gear == item.gear) {
            items.push(item);
        }
    }
    for item in task::tasks(talk, thoughts, &listed) {
        if !items.iter().any(|other| same_matter(other, &item)) && !done_in_the_note(&item, &closings) {
            items.push(item);
        }
    }
    for item in defect::defects(talk, thoughts, trials, &closings) {
        if !items.iter().any(|other| other.gear == item.gear || same_matter(other, &item)) {
            items.push(item);
        }
    }
    items.sort_by_key(|i| i.span);
    Items { items, closings, remarks: remark::remarks(talk, thoughts), dues, passage }
}

/// Whether a trial in the same note says how the untried gear did: a verdict given after the words, or a failure.
fn decides(trial: &Trial, item: &Item) -> bool {
    match trial.outcome {
        Outcome::Pass => trial.because.first().is_some_and(|r| r.span.start > item.span.start),
        Outcome::Fail | Outcome::Partial => true,
        Outcome::Unclear => false,
    }
}

/// Whether a later attempt of the same note, told in words, went otherwise: what that leaves is what counts. The rows of a table
/// each tell of their own.
fn is_outdone(talk: &Talk<'_>, trial: &Trial, trials: &[Trial]) -> bool {
    let place = |t: &Trial| t.because.first().map_or(t.span.start, |r| r.span.start);
    let in_row = |t: &Trial| {
        let at = talk.tokens.partition_point(|token| token.span.end <= place(t));
        talk.tokens
            .get(at)
            .is_some_and(|token| talk.utterances[token.utterance].kind == UtteranceKind::TableRow)
    };
    !in_row(trial) && trials.iter().any(|t| t.gear == trial.gear && place(t) > place(trial) && !in_row(t))
}

/// Whether the note goes on to say that what happened was put right: "sidelight was dead. Cleaned the contacts".
fn put_right(trial: &Trial, closings: &[Closing]) -> bool {
    const NEAR: usize = 160;
    closings.iter().any(|c| {
        c.gear.as_ref() == Some(&trial.gear)
            && trial
                .because
                .first()
                .is_some_and(|r| c.span.end > r.span.end && c.span.start < r.span.end + NEAR)
    })
}

/// Whether the very next words say that it is done, "short of two blades. New one fitted", or an entry of a later day says so in
/// words of the task: "Flares: collect Friday", "Flares collected".
pub(crate) fn done_in_the_note(task: &Item, closings: &[Closing]) -> bool {
    const NEAR: usize = 6;
    /// As many words of a task as tell that what is done is that.
    const SHARED: usize = 2;
    let another_day = |c: &Closing| {
        task.at.zip(c.at).is_some_and(|(said, done)| said.at.date_naive() < done.at.date_naive())
    };
    closings.iter().any(|c| {
        let behind = task.gear.is_some() && c.gear == task.gear && c.span.start >= task.span.end;
        let at_once = c.span.start < task.span.end + NEAR;
        let own = || Words::of(&task.about).shared(&Words::of(&c.quote)) >= SHARED;
        behind && (at_once || another_day(c) && own())
    })
}

/// The item that a trial leaves, if it did not pass.
pub(crate) fn of_trial(trial: &Trial) -> Option<Item> {
    let why = match trial.outcome {
        Outcome::Pass => return None,
        Outcome::Fail | Outcome::Partial => Why::FailedTrial,
        Outcome::Unclear => Why::InconclusiveTrial,
    };
    Some(Item {
        gear: Some(trial.gear.clone()),
        about: trial.about.clone(),
        why,
        due: None,
        unsure: false,
        at: trial.at,
        span: trial.span,
        quote: trial.quote.clone(),
        because: trial.because.clone(),
    })
}

/// Whether a task is the same matter as an item found before it: the same gear, or a part of it close by.
fn same_matter(item: &Item, task: &Item) -> bool {
    const NEAR: usize = 240;
    if item.gear.is_none() || task.gear.is_none() {
        return item.span.meets(task.span);
    }
    // "Half a tick for the halyard, I want a longer winch handle": what would put it right, said in the same breath.
    let group = |i: &Item| i.gear.as_deref().and_then(gear::by_name).map(|g| g.group.as_str());
    let overlap = item.span.meets(task.span);
    if item.why != Why::Task && overlap && group(item) == group(task) {
        return true;
    }
    let near = task.span.start < item.span.end + NEAR && item.span.start < task.span.end + NEAR;
    let (a, b) = (item.gear.as_deref().unwrap_or_default(), task.gear.as_deref().unwrap_or_default());
    if a == b {
        return item.why != Why::Task || near;
    }
    let part = |a: &str, b: &str| gear::by_name(a).is_some_and(|g| g.part_of.as_deref() == Some(b));
    near && item.why != Why::Task && (part(a, b) || part(b, a))
}
