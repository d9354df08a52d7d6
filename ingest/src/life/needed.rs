//! Triggers: from what conditions on gear is needed. "At 40 knots the sea anchor goes out", "first reef at eighteen
//! over the deck". A cap ("the storm jib never over forty-five") says how far it will be used at most, so the gear is
//! needed up to there.

use crate::found::{Event, EventKind, Reading, Stance};
use crate::gear;
use crate::item::thought_of;
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name};

/// Quantities that call for gear.
const CALLS: &[&str] = &[
    "true_wind_speed",
    "apparent_wind_speed",
    "wind_speed",
    "wind_gust",
    "wind_force",
    "wave_height",
    "air_temperature",
    "sea_temperature",
];

/// Groups of gear that are put to use as conditions worsen; a heater's cold and an alarm's warmth are read too.
const CALLED: &[&str] = &["storm", "sails", "steering", "anchor", "heat", "overboard"];

/// Finds the triggers that a note gives, each with the readings that it is made of.
pub fn needed(talk: &Talk<'_>, thoughts: &[Thought], readings: &[Reading]) -> Vec<Event> {
    let mut out: Vec<Event> = Vec::new();
    for (index, reading) in readings.iter().enumerate() {
        let tells = matches!(reading.stance, Stance::Limit | Stance::Planned);
        if !tells || !CALLS.contains(&reading.quantity.as_str()) || !reading.doubts.is_empty() {
            continue;
        }
        let token = talk.tokens.partition_point(|t| t.span.end <= reading.span.start);
        if token >= talk.tokens.len() {
            continue;
        }
        let thought = &thoughts[thought_of(thoughts, token)];
        let Some(gear) = called(talk, thought, token) else { continue };
        let span = talk.span(thought.tokens.clone());
        // "At forty knots and four metres": one trigger that wants both.
        let joint = out.iter_mut().find(|e| {
            e.gear == gear
                && e.span == span
                && e.readings.iter().all(|&r| readings[r].quantity != reading.quantity)
        });
        match joint {
            Some(event) => event.readings.push(index),
            None => out.push(Event {
                gear,
                what: EventKind::Needed,
                on: None,
                at: reading.at,
                readings: vec![index],
                span,
                quote: talk.quote(thought.tokens.clone()),
            }),
        }
    }
    out
}

/// The gear that a trigger calls for: the nearest in the same thought, commas and dashes parting more than words; else
/// what the talk is about, where the thought has no gear at all.
fn called(talk: &Talk<'_>, thought: &Thought, token: usize) -> Option<String> {
    const FAR: usize = 16;
    let fits = |m: &usize| {
        let mention = &talk.mentions[*m];
        let group = gear::by_name(&mention.name).map(|g| g.group.as_str());
        // What steers always is called for by nothing.
        const ALWAYS: &[&str] = &["wheel", "tiller", "rudder", "steering cables", "mainsail"];
        !mention.generic
            && !ALWAYS.contains(&mention.name.as_str())
            && group.is_some_and(|g| CALLED.contains(&g))
    };
    let apart = |m: &usize| {
        let at = &talk.mentions[*m].tokens;
        // A number may stand within the name itself ("reef line three"), with nothing between.
        let between = if at.end <= token { at.end..token } else { token.min(at.start)..at.start };
        let parted = talk.tokens[between.start..=between.end.min(talk.tokens.len() - 1)].iter().skip(1);
        between.len() + 4 * parted.filter(|t| t.gap >= Gap::Comma).count()
    };
    let nearest = thought.mentions.clone().filter(fits).min_by_key(apart);
    // "It's forty-five true and out it goes": the words lead back to what the talk is about.
    let leads_back = talk.tokens[thought.tokens.clone()]
        .iter()
        .any(|t| t.is_any(words!["it", "it's", "him", "her", "them"]));
    let other = talk.tokens[thought.tokens.clone()]
        .iter()
        .any(|t| t.is_any(words!["reef", "reefs", "reefed", "leave", "go"]));
    let topic = || thought.topic.filter(|_| thought.mentions.is_empty() && leads_back && !other).filter(fits);
    let chosen = nearest.filter(|m| apart(m) <= FAR).or_else(topic)?;
    Some(name(talk, chosen).to_owned())
}
