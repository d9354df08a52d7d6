//! Where things are: words of the notes that say of a piece of gear where it is kept. Nothing is worked out; what the
//! notes do not say is not there.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use leadsman_index::Stored;
use leadsman_ingest::UtteranceKind;
use leadsman_ingest::talk::Talk;
use regex::Regex;

/// Words on where a thing is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stowed {
    /// The gear.
    pub gear: String,
    /// The words.
    pub words: String,
    /// The name of the note.
    pub source: String,
}

/// "is under the cockpit", "lives in the starboard locker", "stowed behind the stove": a verb of being kept, then a
/// word of place with what it is in or under.
static KEPT: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"(?i)(?:\b(?:is|are|lives?|stays?|sits?|goes|stowed|kept|stored|lashed)|['’]s)\b(?:\s+(?:now|still|all|stowed|kept|stored|lashed|clipped|up|down|right)){0,2}\s+(?:in|under|underneath|behind|beneath|below|inside|beside|next to|aft of|forward of|on top of)\s+(?:the|my|her|its|a)\s+(?:\w+\s+){0,3}?(?:locker|lazarette|cockpit|bunk|berth|sole|stove|mast|cabin|cuddy|drawer|shelf|box|bin|forepeak|companionway|chart table|seat|hatch|bilge|transom|pushpit|pulpit|coachroof|settee|galley|heads|engine|steps?)\b",
    )
    .expect("the pattern is well formed")
});

/// Words longer than this are no place but a story, in characters.
const LONGEST: usize = 200;

/// The latest words on each piece of gear, by gear. `names` are those that the skipper gives to gear.
pub fn stowed(notes: &[Stored], names: &[(String, String)]) -> Vec<Stowed> {
    let mut found: BTreeMap<String, Stowed> = BTreeMap::new();
    for stored in notes {
        for utterance in &stored.note.utterances {
            if utterance.kind == UtteranceKind::Header {
                continue;
            }
            for sentence in utterance.text.split_inclusive(['.', ';', '!', '?', '\n']) {
                if let Some(gear) = kept(sentence, names) {
                    let words = sentence.trim().trim_end_matches(['.', ';']).to_owned();
                    found.insert(gear.clone(), Stowed { gear, words, source: stored.name.clone() });
                }
            }
        }
    }
    found.into_values().collect()
}

/// The gear that a sentence says the place of: the one named last before the verb.
fn kept(sentence: &str, names: &[(String, String)]) -> Option<String> {
    if sentence.chars().count() > LONGEST {
        return None;
    }
    let verb = KEPT.find(sentence)?.start();
    let line = [leadsman_ingest::Utterance::line(sentence)];
    let talk = Talk::new(sentence, &line, names);
    let before = |mention: &&leadsman_ingest::gear::Mention| {
        !mention.tokens.is_empty() && talk.span(mention.tokens.clone()).end <= verb
    };
    talk.mentions.iter().rev().find(before).map(|mention| mention.name.clone())
}

#[cfg(test)]
mod tests {
    use super::kept;

    #[test]
    fn places_are_taken_in_the_words_of_the_note() {
        let gear = |sentence: &str| kept(sentence, &[]);
        assert_eq!(gear("The series drogue's under the cockpit"), Some("series drogue".to_owned()));
        assert_eq!(gear("Liferaft lives in the starboard locker now."), Some("liferaft".to_owned()));
        assert_eq!(
            gear("The storm jib is stowed behind the companionway steps"),
            Some("storm jib".to_owned())
        );
    }

    #[test]
    fn talk_of_other_things_is_no_place() {
        for sentence in [
            "The heater is in a mood",
            "The autopilot is under load",
            "there is water in the bilge",
            "The heater failed and the cabin is cold",
        ] {
            assert_eq!(kept(sentence, &[]), None, "{sentence}");
        }
    }
}
