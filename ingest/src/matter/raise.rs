//! The items that a note raises in the light of the notes before it.

use chrono::NaiveDate;

use super::same::{is_errand, part_of, same_gear};
use super::{Noted, Passage, limits};
use crate::found::{Due, Item, Why};
use crate::item::due::said_too_early;
use crate::trial::titled;

/// The items that a note raises in the light of the notes before it, oldest first: its own, and those that only show
/// against an earlier limit, a date or the passage.
pub fn raised(before: &[Noted<'_>], noted: &Noted<'_>, passage: &Passage, on: NaiveDate) -> Vec<Item> {
    let mut items = noted.note.items.clone();
    for item in overdue(before, noted, passage, on) {
        // "I must ring them" about the same raft is the same matter.
        items.retain(|i| {
            !(i.why == Why::Task && (same_gear(i.gear.as_deref(), item.gear.as_deref()) || goes_on(i, &item)))
        });
        items.push(item);
    }
    for item in out_of_limits(before, noted) {
        let failed = items.iter().any(|i| {
            matches!(i.why, Why::FailedTrial | Why::OutOfLimits)
                && same_gear(i.gear.as_deref(), item.gear.as_deref())
        });
        if !failed {
            items.retain(|i| {
                !(i.why == Why::Task
                    && (same_gear(i.gear.as_deref(), item.gear.as_deref()) || parts(i, &item)))
            });
            items.push(item);
        }
    }
    items.sort_by_key(|i| i.span);
    items
}

/// Whether an errand right behind a date is about it: "the smokes say November. Gotta buy new ones".
fn goes_on(task: &Item, item: &Item) -> bool {
    const NEAR: usize = 60;
    is_errand(&task.quote) && task.span.start >= item.span.start && task.span.start <= item.span.end + NEAR
}

fn parts(a: &Item, b: &Item) -> bool {
    a.gear.as_deref().zip(b.gear.as_deref()).is_some_and(|(a, b)| part_of(a, b))
}

fn overdue(before: &[Noted<'_>], noted: &Noted<'_>, passage: &Passage, on: NaiveDate) -> Vec<Item> {
    let note = noted.note;
    let mut out: Vec<Item> = Vec::new();
    for (gear, due, span) in &note.dues {
        if !comes_too_early(due, before, noted, passage, on) || out.iter().any(|i| i.gear == *gear) {
            continue;
        }
        out.push(Item {
            gear: gear.clone(),
            about: titled(gear.as_deref(), &format!("{}: {}", due.what, due.said)),
            why: Why::Overdue,
            due: Some(due.clone()),
            at: note.recorded,
            span: *span,
            quote: due.said.clone(),
            because: Vec::new(),
        });
    }
    out
}

/// Whether a date passes before the boat is back, or has passed by the day asked about: by the speaker's words, by the
/// passage that is set, or by the return that the notes name.
pub fn comes_too_early(
    due: &Due,
    before: &[Noted<'_>],
    noted: &Noted<'_>,
    passage: &Passage,
    on: NaiveDate,
) -> bool {
    if said_too_early(due) {
        return true;
    }
    let said = || before.iter().chain([noted]).rev().find_map(|n| n.note.passage.back);
    let day = noted.note.recorded.map(|m| m.at.date_naive());
    let until = passage.back.or_else(said).max(passage.leaves).max(day).max(Some(on));
    until.is_some_and(|until| due.until <= until)
}

fn out_of_limits(before: &[Noted<'_>], noted: &Noted<'_>) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::new();
    for (reading, limit) in limits::outside(before, noted) {
        let gear = reading
            .gear
            .clone()
            .or_else(|| limit.given.gear.clone())
            .or_else(|| usual_gear(&reading.quantity).map(str::to_owned));
        if out.iter().any(|i| same_gear(i.gear.as_deref(), gear.as_deref())) {
            continue;
        }
        let bound = |v: Option<f64>, word: &str| v.map(|v| format!("{word} {v} {}", reading.unit));
        let allowed: Vec<String> = [bound(limit.least, "at least"), bound(limit.greatest, "at most")]
            .into_iter()
            .flatten()
            .collect();
        out.push(Item {
            about: titled(
                gear.as_deref(),
                &format!(
                    "{} {} (limit {})",
                    reading.quantity.replace('_', " "),
                    reading.quote,
                    allowed.join(", ")
                ),
            ),
            gear,
            why: Why::OutOfLimits,
            due: None,
            at: reading.at,
            span: reading.span,
            quote: reading.quote.clone(),
            because: reading.because.clone(),
        });
    }
    out
}

/// The gear that a watched quantity belongs to where no words name it.
fn usual_gear(quantity: &str) -> Option<&'static str> {
    Some(match quantity {
        "voltage" | "state_of_charge" => "house bank",
        "co_level" => "carbon monoxide alarm",
        "engine_temperature" => "engine",
        "oil_pressure" => "engine oil",
        "rig_tension" | "gauge_reading" => "rig",
        _ => return None,
    })
}
