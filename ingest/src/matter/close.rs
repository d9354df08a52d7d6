//! What a note closes a matter by: a passed trial, a reading back inside its limits, a new date, the speaker's word, or
//! an account of gear by which the matter is over.

use chrono::{DateTime, FixedOffset};

use super::same::{self, Words, same_gear};
use super::told::{Said, Told};
use super::{
    Asked, ClosedBy, Evidence, Matter, Noted, Passage, SoFar, limits, over, raise, sentence, whole_name,
};
use crate::found::{Closing, Note, Outcome, Remark, Span, Trial, Why};
use crate::item::TICKED;

/// Words of a trial from this many on tell by themselves what they are about.
const SAYS_ENOUGH: usize = 5;

/// A matter without gear has one in so many of its words in what ends it.
const LISTED: usize = 4;

/// What a note says of an open matter.
pub(super) enum Closes {
    /// It closes it, and how in words that stand by themselves.
    Surely(ClosedBy, String),
    /// It may be over by these words.
    Perhaps(Evidence),
}

/// What a note closes a matter by, if it does.
pub(super) fn closing_of(
    matter: &Matter,
    (words, told_of): (&Words, &Words),
    so_far: &SoFar<'_>,
    noted: &Noted<'_>,
    told: &Told<'_>,
    (passage, on): (&Passage, &Asked),
) -> Option<Closes> {
    let note = noted.note;
    let by_quote = |closed: ClosedBy| {
        let how = closed.quote.clone();
        Some(Closes::Surely(closed, how))
    };
    // Tried, but not yet believed: "it works tied to a jetty, I want to see it heeled".
    // A general name ("the pump flunks") may be of other gear than the one that passed.
    let doubted = || {
        note.items
            .iter()
            .any(|i| i.why != Why::Task && same::named_alike(i.gear.as_deref(), matter.gear.as_deref()))
    };
    let mut trials = told.trials().filter(|(trial, said)| settles(trial, *said, matter, words));
    if let Some((trial, _)) = trials.next().filter(|_| !doubted()) {
        let mut closed = closed_by("trial", noted, trial.span, &trial.quote, trial.at.map(|m| m.at));
        // "So yep" and "passed, and the pasty with it" say little without what was tried.
        if trial.quote.split_whitespace().count() < SAYS_ENOUGH {
            let passage = trial.about.strip_prefix(&format!("{}: ", trial.gear)).unwrap_or(&trial.about);
            passage.clone_into(&mut closed.quote);
        }
        return Some(Closes::Surely(closed, trial.about.clone()));
    }
    if let Some(reading) = limits::back_inside(matter, so_far, note) {
        let closed = closed_by("reading", noted, reading.span, &reading.quote, reading.at.map(|m| m.at));
        return Some(Closes::Surely(closed, sentence::sentence_of(note, reading.span, &reading.quote)));
    }
    if matter.why.contains(&Why::Overdue)
        && let Some((_, due, span)) = note.dues.iter().find(|(gear, due, _)| {
            // The same date told again renews nothing.
            let later = matter.due.as_ref().is_none_or(|was| due.until > was.until);
            later
                && same_gear(gear.as_deref(), matter.gear.as_deref())
                && !raise::comes_too_early(due, so_far, note, passage, on)
        })
    {
        return by_quote(closed_by("date", noted, *span, &due.said, note.recorded.map(|m| m.at)));
    }
    if let Some((closing, _)) =
        told.closings().find(|(closing, said)| ends(closing, *said, matter, words, note))
    {
        let closed = closed_by("word", noted, closing.span, &closing.quote, closing.at.map(|m| m.at));
        return Some(Closes::Surely(closed, closing.about.clone()));
    }
    let shown = (matter.why.first() == Some(&Why::Task))
        .then(|| told.remarks(matter.gear.as_deref()))
        .and_then(|mut remarks| remarks.find(|(remark, said)| shows_done(remark, *said, matter, words)));
    if let Some((remark, _)) = shown {
        return by_quote(closed_by("word", noted, remark.span, &remark.quote, remark.at.map(|m| m.at)));
    }
    let over::Shown { account, sure } = over::shown_by(matter, told_of, told)?;
    let closed = closed_by("judged", noted, account.span, &account.quote, account.at.map(|m| m.at));
    if sure { by_quote(closed) } else { closed.evidence.map(Closes::Perhaps) }
}

/// Whether a trial settles a matter: a pass of the same gear, in a matter that trying can settle.
fn settles(trial: &Trial, said: Said<'_>, matter: &Matter, words: &Words) -> bool {
    if trial.outcome != Outcome::Pass || same::is_spared(&trial.quote) || is_unsettled(&trial.quote) {
        return false;
    }
    // That gear was tried at all is easily heard; that a fault is gone is not, where the words are not of the same matter.
    if trial.judged && matter.why.first() != Some(&Why::Unproven) && said.words().shared(words) < 2 {
        return false;
    }
    let gear = matter.gear.as_deref();
    // A general name ("the pump") settles a matter only where the words are alike too, in more than that name.
    let alike = || {
        let name = Words::of(&trial.gear);
        said.words().shared(words) > usize::from(name.shared(words) > 0)
    };
    let same = same::named_alike(Some(&trial.gear), gear)
        || same_gear(Some(&trial.gear), gear) && alike()
        || same::lifts(trial, matter)
        || same::cools(trial, matter);
    // A whole that passes has proved a part that was not tried, but has not mended one that failed.
    if matter.why.first() == Some(&Why::Unproven) && same::is_part(gear, &trial.gear) {
        return true;
    }
    same && match matter.why.first() {
        Some(Why::FailedTrial | Why::InconclusiveTrial | Why::Unproven | Why::OutOfLimits) => true,
        // Work on the gear itself is done when the gear passes; something to be bought or asked is not.
        Some(Why::Task) => !words.is_errand,
        Some(Why::Overdue) | None => false,
    }
}

/// Whether words leave open what they seem to settle.
fn is_unsettled(quote: &str) -> bool {
    same::ends_nothing(quote) || same::is_for_now(quote)
}

/// Whether the speaker's word ends a matter. A failure is ended by a plain word on the same gear ("sorted"), and only
/// where the note does not say that it still wants trying; work by any closing word on the same gear and matter.
fn ends(closing: &Closing, said: Said<'_>, matter: &Matter, words: &Words, note: &Note) -> bool {
    let gear = same_gear(closing.gear.as_deref(), matter.gear.as_deref());
    // What is ticked off is done, whatever else stands there.
    if closing.how != TICKED && is_unsettled(&closing.quote) {
        return false;
    }
    // "[x] Pump handle found" ticks off no pump that failed.
    let named = || same::named_alike(closing.gear.as_deref(), matter.gear.as_deref());
    if closing.how == TICKED && closing.gear.is_some() && !named() && said.words().shared(words) < 2 {
        return false;
    }
    match matter.why.first() {
        Some(Why::Task) => {
            // "The hatch has new rubber on, and I've not hosed it": the same matter, which now wants proof.
            let wants_proof = || {
                let untried = |w: Why| matches!(w, Why::Unproven | Why::InconclusiveTrial);
                note.items
                    .iter()
                    .any(|i| untried(i.why) && same::named_alike(i.gear.as_deref(), matter.gear.as_deref()))
            };
            if !words.is_errand && wants_proof() {
                return false;
            }
            if matter.gear.is_some() && closing.gear.is_some() {
                gear && (!words.is_errand
                    || said.words().shared(words) >= 2
                    || same::is_final(&closing.how)
                    || same::renews(&closing.how))
            } else {
                let shared = said.words().shared(words);
                // "[x] deadeye" ticks off what a list called so.
                let same = closing.how == TICKED && shared > 0 && said.words().count() == words.count();
                // One of six things on a shopping list is not all of them.
                shared >= 2.max(words.count() / LISTED) || same && shared == words.count()
            }
        }
        Some(Why::Overdue) => gear && same::renews(&closing.how),
        Some(Why::FailedTrial | Why::OutOfLimits | Why::InconclusiveTrial) => {
            let doubted = || note.items.iter().any(|i| same_gear(i.gear.as_deref(), matter.gear.as_deref()));
            let proved = || note.trials.iter().any(|t| proves(t, closing));
            gear && matter.gear.is_some()
                && (same::is_final(&closing.how) || proved() || part_renewed(closing, matter))
                && !doubted()
        }
        Some(Why::Unproven) | None => false,
    }
}

/// Whether work and its proof are told in one breath: "new fuse in, lifted the float, it screamed. Pass".
fn proves(trial: &Trial, closing: &Closing) -> bool {
    const NEAR: usize = 8;
    let apart = trial.span.start > closing.span.end + NEAR || closing.span.start > trial.span.end;
    trial.outcome == Outcome::Pass && !apart
}

/// Whether the part that had broken is a new one now: "the diaphragm is split", "the hand pump has a new diaphragm".
fn part_renewed(closing: &Closing, matter: &Matter) -> bool {
    let how = closing.how.to_lowercase();
    let Some((_, behind)) =
        closing.quote.to_lowercase().split_once(&how).map(|(a, b)| (a.len(), b.to_owned()))
    else {
        return false;
    };
    let part = behind.split(|c: char| !c.is_alphanumeric()).find(|w| !w.is_empty());
    how.ends_with("new") && part.is_some_and(|part| Words::of(part).shared(&Words::of(&matter.words())) > 0)
}

/// Whether a plain statement shows that a task is done: it is of the same gear, and speaks of the same matter in more than
/// the gear's name ("house bank 12.4 V" decides nothing about the house bank).
fn shows_done(remark: &Remark, said: Said<'_>, matter: &Matter, words: &Words) -> bool {
    let gear = matter.gear.as_deref();
    let name = Words::of(&remark.gear);
    let alike = || {
        let named = name.shared(words).min(name.shared(said.words()));
        said.words().shared(words) > named.max(1)
    };
    (same_gear(Some(&remark.gear), gear) || gear.is_none()) && alike() && !same::ends_nothing(&remark.quote)
}

fn closed_by(
    by: &str,
    noted: &Noted<'_>,
    span: Span,
    quote: &str,
    at: Option<DateTime<FixedOffset>>,
) -> ClosedBy {
    let evidence = Evidence {
        id: whole_name(noted.source, span),
        source: noted.source.to_owned(),
        name: noted.name.to_owned(),
        at,
        span,
        quote: quote.to_owned(),
        why: None,
    };
    let by = by.to_owned();
    ClosedBy { by, quote: quote.to_owned(), evidence: Some(evidence), at, confirmed: false, later_notes: 0 }
}
