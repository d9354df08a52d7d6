//! Readings that lie outside a limit by the speaker's own words: "port's under the band", "thirty-one, which is over my
//! twenty-five", "so the backstay is too slack".
//!
//! Limits that a note gives as figures are compared by the fold (`matter::limits`); here the speaker has done it.

use std::ops::Range;

use super::words::WORDS;
use crate::found::{Item, Reading, Reason, Stance, Why};
use crate::grammar::GRAMMAR;
use crate::matter::limits::{GREATEST, LEAST, SHOWN_BY_ONE, WATCHED, alone, usual_gear};
use crate::number::is_number_word;
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};
use crate::trial::titled;

/// Finds the readings that a note says are outside a limit, one item a thing.
pub fn beyond(talk: &Talk<'_>, readings: &[Reading]) -> Vec<Item> {
    const BEHIND: usize = 16;
    // "Port cap twenty-eight, starboard thirty-two. He wants thirty to thirty-four, so port is slack."
    const FAR: usize = 34;
    let mut out: Vec<Item> = Vec::new();
    for (index, reading) in readings.iter().enumerate() {
        let watched = WATCHED.contains(&reading.quantity.as_str()) && reading.stance == Stance::Observed;
        let Some(gear) =
            reading.gear.as_deref().or_else(|| usual_gear(&reading.quantity)).filter(|_| watched)
        else {
            continue;
        };
        let first = talk.tokens.partition_point(|t| t.span.end <= reading.span.start);
        let end = talk.tokens.partition_point(|t| t.span.start < reading.span.end);
        // The next reading of its kind has words of its own behind it.
        let next = readings[index + 1..]
            .iter()
            .find(|r| {
                r.quantity == reading.quantity && r.stance == Stance::Observed && r.gear != reading.gear
            })
            .map_or(usize::MAX, |r| talk.tokens.partition_point(|t| t.span.end <= r.span.start));
        // A recommended band, taken for a reading.
        let rig = SHOWN_BY_ONE.contains(&reading.quantity.as_str());
        if rig && reading.low != reading.high {
            continue;
        }
        // Wound up or eased in the same note: the last reading is how it stands.
        if rig
            && alone(reading)
            && readings[index + 1..].iter().any(|r| r.quantity == reading.quantity && r.gear == reading.gear)
        {
            continue;
        }
        let side = ["port", "starboard"].into_iter().find(|side| gear.starts_with(side));
        let far =
            || side.and_then(|side| cue(talk, first, end, FAR, |front| front.iter().any(|t| t.is(side))));
        let near = next.saturating_sub(end).min(BEHIND);
        let Some(cue) = cue(talk, first, end, near, |_| true).or_else(far) else { continue };
        if out.iter().any(|i| i.gear.as_deref() == Some(gear)) {
            continue;
        }
        let said = first..cue.end;
        let low = talk.tokens[cue.clone()].iter().any(|t| {
            t.is_any(words!["under", "below", "slack", "soft", "low", "loose", "less", "lower", "short"])
        });
        // More than the least that a battery or a pump should give is no fault.
        let good = if low { GREATEST } else { LEAST };
        if good.contains(&reading.quantity.as_str()) {
            continue;
        }
        let wrong = if low { "under the limit" } else { "over the limit" };
        let quote = talk.quote(said.clone());
        out.push(Item {
            about: titled(Some(gear), &[wrong], &quote),
            gear: Some(gear.to_owned()),
            why: Why::OutOfLimits,
            due: None,
            unsure: false,
            at: talk.at(first),
            span: talk.span(said),
            quote,
            because: vec![Reason {
                of: "why".to_owned(),
                what: Why::OutOfLimits.name().to_owned(),
                span: talk.span(cue),
            }],
        });
    }
    out
}

/// The words near a reading that say it is outside a limit: within it or at most so far behind, where what stands right
/// in front of them fits.
fn cue(
    talk: &Talk<'_>,
    first: usize,
    end: usize,
    reach: usize,
    fits: impl Fn(&[Token<'_>]) -> bool,
) -> Option<Range<usize>> {
    let tokens = &talk.tokens;
    let last = tokens.len().min(end.saturating_add(reach));
    let last = (end..last).find(|&i| tokens[i].gap == Gap::Block).unwrap_or(last);
    (first..last).find_map(|at| {
        let said = WORDS.beyond.at(tokens, at).map(|m| m.end).or_else(|| own_figure(talk, at))?;
        let front = &tokens[at.saturating_sub(4).max(first)..at];
        let supposed = front.iter().any(|t| {
            GRAMMAR.denials.has(t)
                || GRAMMAR.conditions.has(t)
                || GRAMMAR.modals.has(t)
                || t.is_any(words!["n't", "rule"])
        });
        (!supposed && said <= last.max(end) && fits(front)).then_some(at..said)
    })
}

/// "over my twenty-five", "under the 12.2": where the words end.
fn own_figure(talk: &Talk<'_>, at: usize) -> Option<usize> {
    let tokens = &talk.tokens;
    tokens[at].is_any(words!["under", "below", "over", "above", "past"]).then_some(())?;
    let own = tokens.get(at + 1)?;
    own.is_any(words!["my", "me", "his", "her", "our", "the", "its", "their"]).then_some(())?;
    let figure = tokens.get(at + 2).filter(|t| t.gap <= Gap::Line)?;
    (figure.kind == Kind::Number || is_number_word(figure)).then_some(at + 3)
}
