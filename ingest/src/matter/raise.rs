//! The items that a note raises in the light of the notes before it.

use chrono::{Datelike, NaiveDate};

use super::limits::{Limit, usual_gear};
use super::same::{is_errand, part_of, same_gear};
use super::sentence::sentence_of;
use super::{Asked, Noted, Passage, SoFar, limits};
use crate::found::{Closing, Due, Item, Note, Reading, Stance, Why};
use crate::gear::{by_name, without_side};
use crate::item::due::said_too_early;
use crate::quantity::{Unit, unit_said, units};
use crate::trial::titled;

/// The items that a note raises in the light of the notes before it, oldest first: its own, and those that only show
/// against an earlier limit, a date or the passage.
pub fn raised(before: &[Noted<'_>], noted: &Noted<'_>, passage: &Passage, on: NaiveDate) -> Vec<Item> {
    let mut so_far = SoFar::default();
    before.iter().chain([noted]).for_each(|noted| so_far.add(noted));
    raised_in(&so_far, noted.note, passage, &Asked::of(on))
}

/// As [`raised`], with what that note and those before it give.
pub(super) fn raised_in(so_far: &SoFar<'_>, note: &Note, passage: &Passage, on: &Asked) -> Vec<Item> {
    let mut items = note.items.clone();
    for item in overdue(so_far, note, passage, on).into_iter().chain(past_its_hours(note)) {
        // "I must ring them" about the same raft is the same matter.
        items.retain(|i| {
            let same = same_gear(i.gear.as_deref(), item.gear.as_deref());
            !(i.why == Why::Task && (same || goes_on(i, &item)) || i.why == Why::Overdue && same)
        });
        items.push(item);
    }
    for (item, figures) in out_of_limits(so_far, note) {
        let told = items.iter_mut().find(|i| {
            matches!(i.why, Why::FailedTrial | Why::OutOfLimits)
                && same_gear(i.gear.as_deref(), item.gear.as_deref())
        });
        // The speaker's words tell of it already: what they lack are the figures.
        if let Some(told) = told {
            // "The pump flunks": which one, the reading knows.
            if told.gear.as_deref().is_some_and(|g| by_name(g).is_some_and(|g| g.generic)) {
                told.gear.clone_from(&item.gear);
            }
            told.about = format!("{}; {figures}", told.about);
            continue;
        }
        items.retain(|i| {
            !(i.why == Why::Task && (same_gear(i.gear.as_deref(), item.gear.as_deref()) || parts(i, &item)))
        });
        items.push(item);
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

fn overdue(so_far: &SoFar<'_>, note: &Note, passage: &Passage, on: &Asked) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::new();
    for (gear, due, span) in &note.dues {
        if !comes_too_early(due, so_far, note, passage, on) || out.iter().any(|i| i.gear == *gear) {
            continue;
        }
        out.push(Item {
            gear: gear.clone(),
            about: titled(gear.as_deref(), &[&falls_due(gear.as_deref(), due, note)], &due.said),
            why: Why::Overdue,
            due: Some(due.clone()),
            unsure: false,
            at: note.recorded,
            span: *span,
            quote: due.said.clone(),
            because: Vec::new(),
        });
    }
    out
}

/// "Engine hours 1240, the oil change was due at 1200": a service that the engine's hours have gone past.
fn past_its_hours(note: &Note) -> Option<Item> {
    let hours = |stance: Stance| {
        note.readings.iter().filter(move |r| r.quantity == "engine_hours" && r.stance == stance)
    };
    let now = hours(Stance::Observed).filter_map(|r| r.low.or(r.high)).reduce(f64::max)?;
    let due = hours(Stance::Limit).find(|r| r.low.or(r.high).is_some_and(|due| due < now))?;
    // "Impeller due at 2,855. Changed today".
    const NEAR: usize = 120;
    let done = |c: &Closing| (due.span.end..due.span.end + NEAR).contains(&c.span.start);
    if note.closings.iter().any(|c| c.gear.is_some() && done(c)) {
        return None;
    }
    let figures = format!("service overdue, due at {} hours, {now} run", due.low.or(due.high)?);
    let gear = due.gear.clone().or_else(|| Some("engine".to_owned()));
    Some(Item {
        about: titled(gear.as_deref(), &[&figures], &sentence_of(note, due.span, &due.quote)),
        gear,
        why: Why::Overdue,
        due: None,
        unsure: false,
        at: due.at,
        span: due.span,
        quote: due.quote.clone(),
        because: due.because.clone(),
    })
}

/// Whether a date passes before the boat is back, or has passed by the day asked about: by the speaker's words, by the
/// passage that is set, or by the return that the notes name.
pub fn comes_too_early(due: &Due, so_far: &SoFar<'_>, note: &Note, passage: &Passage, on: &Asked) -> bool {
    if said_too_early(due) {
        return true;
    }
    let day = note.recorded.map(|m| m.at.date_naive());
    let until = passage.back.or(so_far.back).max(passage.leaves).max(day);
    until.is_some_and(|until| due.until <= until) || on.has_passed(due.until)
}

/// The readings outside limits that the boat's notes give as figures, each with its figures in words.
fn out_of_limits(so_far: &SoFar<'_>, note: &Note) -> Vec<(Item, String)> {
    let mut out: Vec<(Item, String)> = Vec::new();
    for (reading, limit) in limits::outside(&so_far.limits, note) {
        // Volts that are said while the talk is of the radar are the house bank's all the same.
        let house = reading.quantity == "voltage" && limits::is_of_the_house(reading.gear.as_deref());
        let gear = reading
            .gear
            .clone()
            .filter(|_| !house)
            .or_else(|| limit.given.gear.clone().filter(|_| !house))
            .or_else(|| usual_gear(&reading.quantity).map(str::to_owned));
        // Oil and water are two matters of one engine, where both are outside.
        let told = |gear: Option<&str>| out.iter().any(|(i, _)| same_gear(i.gear.as_deref(), gear));
        let oil = reading.quantity == "oil_pressure" && told(gear.as_deref());
        let gear = if oil { usual_gear(&reading.quantity).map(str::to_owned) } else { gear };
        if out.iter().any(|(i, _)| same_gear(i.gear.as_deref(), gear.as_deref())) {
            continue;
        }
        let figures = beyond(reading, &limit);
        // Both caps are under: one matter of the pair.
        let pair = gear.as_deref().map(without_side).filter(|base| gear.as_deref() != Some(*base));
        let other = |i: &Item| i.gear.as_deref().map(without_side) == pair;
        if let Some((item, both)) = out.iter_mut().find(|(i, _)| pair.is_some() && other(i)) {
            item.gear = pair.map(str::to_owned);
            *both = format!("{both}; {figures}");
            item.about = titled(pair, &[both], &sentence_of(note, item.span, &item.quote));
            continue;
        }
        let item = Item {
            about: titled(gear.as_deref(), &[&figures], &sentence_of(note, reading.span, &reading.quote)),
            gear,
            why: Why::OutOfLimits,
            due: None,
            unsure: false,
            at: reading.at,
            span: reading.span,
            quote: reading.quote.clone(),
            because: reading.because.clone(),
        };
        out.push((item, figures));
    }
    out
}

/// When gear falls due, in words: "due, runs out August 2026, before the return"; "due, run out" of flares.
fn falls_due(gear: Option<&str>, due: &Due, note: &Note) -> String {
    let past = note.recorded.is_some_and(|m| due.until < m.at.date_naive());
    let many = gear.is_some_and(|gear| gear.ends_with('s'));
    // A liferaft's card has the date by which a service station wants her back.
    let service = due.what.starts_with("service") || gear == Some("liferaft");
    let what = match (service, past) {
        (true, false) => "service falls due, certificate runs out",
        (true, true) => "service overdue, certificate expired, due",
        (false, false) if many => "due, run out",
        (false, false) => "due, runs out",
        (false, true) => "expired, out of date since",
    };
    let day = |day: NaiveDate| day.format("%-d %B %Y").to_string();
    let whole_year = due.from.year() == due.until.year()
        && (due.from.ordinal(), due.until.month(), due.until.day()) == (1, 12, 31);
    let when = if due.from == due.until {
        day(due.until)
    } else if whole_year {
        due.until.year().to_string()
    } else if due.from.format("%Y-%m").to_string() == due.until.format("%Y-%m").to_string() {
        due.until.format("%B %Y").to_string()
    } else {
        format!("{} to {}", day(due.from), day(due.until))
    };
    format!("{what} {when}, {}", if past { "already past" } else { "before the return" })
}

/// A reading and the limit that it lies outside of, in words: "at 12.05 V, under the limit of 12.2 V"; where another unit
/// was said, in that one first: "at 22 psi (1.52 bar)".
fn beyond(reading: &Reading, limit: &Limit<'_>) -> String {
    let said = said_unit(reading);
    // Base units in one of the canonical unit.
    let base = units().by_symbol(&reading.unit).map_or(1.0, |u| u.factor);
    let unit = match reading.unit.as_str() {
        "degC" => " °C",
        "deg" => "°",
        "%" => " %",
        "1" => "",
        unit => &format!(" {unit}"),
    };
    // Values converted from other units have more digits than anyone reads.
    let figure = |v: f64| {
        let own = format!("{}{unit}", (v * 100.0).round() / 100.0);
        match said {
            Some(said) => {
                let value = (v * base - said.offset) / said.factor;
                format!("{} {} ({own})", (value * 10.0).round() / 10.0, said.symbol)
            }
            None => own,
        }
    };
    let (low, high) = (reading.low.or(reading.high), reading.high.or(reading.low));
    let under = limit.least.zip(low).filter(|(least, low)| low < least);
    let (value, side, bound) = match (under, limit.greatest.zip(high)) {
        (Some((least, low)), _) => (low, "under", least),
        (None, Some((greatest, high))) => (high, "over", greatest),
        (None, None) => return "outside its limit".to_owned(),
    };
    let hot = reading.quantity == "engine_temperature" && side == "over";
    let is = if hot { "overheats, at" } else { "at" };
    format!("{is} {}, {side} the limit of {}", figure(value), figure(bound))
}

/// The unit that a reading was said in, where that is another than its canonical one and only scaled or shifted.
fn said_unit(reading: &Reading) -> Option<&'static Unit> {
    let canonical = units().by_symbol(&reading.unit)?;
    let said = unit_said(&reading.unit_said)?;
    (said.dimension == canonical.dimension && said.symbol != canonical.symbol).then_some(said)
}
