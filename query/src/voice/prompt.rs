//! Words that are likely to be said, for the recogniser: the trade's commonest, then the home's own.

use std::collections::HashMap;

use leadsman_index::{Store, With};
use leadsman_ingest::sound;

use crate::error::Error;

/// The commonest words of the trade, as they are said. The recogniser also takes the spelling of numbers from it.
const TRADE: &str = "Skipper's log. True wind 14 knots, gusting 22, apparent wind angle 40 degrees. Boat speed 6.3 knots. \
    Barometer 1012. Cap shrouds, lowers, backstay, forestay, staysail, genoa, main, second reef, halyard, furler, \
    drogue, sea anchor, bridle, windvane, autopilot, tiller, rudder, heater, diesel, litres, amps, 13.2 volts, \
    watermaker, windlass, chain, bilge pump, stern gland, hatch, jackstay.";

/// Names from the home that are added at most.
const OWN: usize = 24;

/// The prompt for a home: its gear and places, the most often named first, behind the trade's words.
pub async fn of(store: Option<&Store>) -> Result<String, Error> {
    let mut counts: HashMap<String, usize> = HashMap::new();
    if let Some(store) = store {
        for stored in store.notes(With { utterances: true, reasons: false }).await? {
            let note = stored.note;
            if note.format == sound::FORMAT || note.format == leadsman_ingest::heard::FORMAT {
                // What was heard must not teach what to hear.
                continue;
            }
            let gear = note.readings.iter().filter_map(|reading| reading.gear.as_ref());
            let tried = note.trials.iter().map(|trial| &trial.gear);
            for gear in gear.chain(tried).chain(note.names.iter().map(|(name, _)| name)) {
                *counts.entry(gear.clone()).or_default() += 1;
            }
            for place in note.utterances.iter().flat_map(|utterance| places(&utterance.text)) {
                *counts.entry(place.to_owned()).or_default() += 1;
            }
        }
    }
    let mut own: Vec<(String, usize)> =
        counts.into_iter().filter(|(word, count)| *count > 1 && !TRADE.contains(word.as_str())).collect();
    own.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    own.truncate(OWN);
    let own: Vec<String> = own.into_iter().map(|(word, _)| word).collect();
    Ok(if own.is_empty() { TRADE.to_owned() } else { format!("{TRADE} {}.", own.join(", ")) })
}

/// Words with a capital inside of a sentence: names of places and people.
fn places(text: &str) -> impl Iterator<Item = &str> {
    let mut inside = false;
    text.split_whitespace().filter_map(move |word| {
        let bare = word.trim_matches(|c: char| !c.is_alphabetic());
        let named = inside
            && bare.len() > 3
            && bare.starts_with(char::is_uppercase)
            && bare.chars().skip(1).all(char::is_lowercase);
        inside = !word.ends_with(['.', '!', '?', ':']);
        named.then_some(bare)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_words_with_a_capital_inside_of_a_sentence() {
        let text = "Left Westbourne at six. Marta steered, then GPS failed off Cape Sorrow.";
        assert_eq!(places(text).collect::<Vec<_>>(), ["Westbourne", "Cape", "Sorrow"]);
    }
}
