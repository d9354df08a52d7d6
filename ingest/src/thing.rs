//! Things that the lexicon has no name for: "the knife lanyard is made" is of no gear that was talked about before.
//!
//! Words that say how something stands are of the noun right in front of them. Where that noun is no gear of the lexicon,
//! they must not be taken for a word on gear named earlier; what they leave to do is a matter all the same.

use std::ops::Range;

use crate::grammar::GRAMMAR;
use crate::number::is_number_word;
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};
use crate::topic::Thought;

/// Most words in the name of a thing.
const WORDS: usize = 3;

/// The thing without a name in the lexicon that words at these tokens are said of: it stands right in front of them, at
/// the head of its clause or behind an article.
pub fn in_front(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<Range<usize>> {
    const SKIPPED: usize = 4;
    let tokens = &talk.tokens;
    let head = thought.tokens.start;
    let mut end = cue.start;
    while end > head && cue.start - end < SKIPPED && tokens[end].gap < Gap::Clause && links(&tokens[end - 1])
    {
        end -= 1;
    }
    if end == head {
        return None;
    }
    let mut start = end;
    while start > head
        && end - start < WORDS
        && (start == end || tokens[start].gap < Gap::Comma)
        && tokens[end].gap < Gap::Comma
        && is_noun(&tokens[start - 1])
    {
        start -= 1;
    }
    let opens =
        start == head || tokens[start].gap >= Gap::Comma || GRAMMAR.determiners.has(&tokens[start - 1]);
    (opens && is_thing(talk, &(start..end))).then_some(start..end)
}

/// Whether words at these tokens are said of a person or of victuals, named right in front of them: "skipper not quite",
/// "the bread is finished".
pub fn of_people_or_victuals(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let mut end = cue.start;
    while end > thought.tokens.start && tokens[end].gap < Gap::Clause && links(&tokens[end - 1]) {
        end -= 1;
    }
    end > thought.tokens.start
        && tokens[end].gap < Gap::Comma
        && GRAMMAR.people_and_victuals.has(&tokens[end - 1])
}

/// The thing without a name in the lexicon that begins at a token, its article left out: "make a new lanyard".
pub fn at(talk: &Talk<'_>, from: usize, end: usize) -> Option<Range<usize>> {
    let tokens = &talk.tokens;
    let mut start = from;
    while start < end
        && (GRAMMAR.determiners.has(&tokens[start])
            || tokens[start]
                .is_any(words!["more", "another", "longer", "bigger", "proper", "bit", "of", "better"]))
    {
        start += 1;
    }
    let mut last = start;
    while last < end
        && last - start < WORDS
        && (last == from || tokens[last].gap < Gap::Comma)
        && is_noun(&tokens[last])
    {
        last += 1;
    }
    is_thing(talk, &(start..last)).then_some(start..last)
}

/// Whether words may stand between a thing and what is said of it.
fn links(token: &Token<'_>) -> bool {
    token.is_any(words![
        "is", "'s", "are", "was", "were", "has", "have", "had", "been", "still", "now", "again", "just",
        "all", "also", "too", "finally", "at", "last", "got", "keeps", "a", "bit", "very", "only", "really",
        "both",
    ])
}

fn is_noun(token: &Token<'_>) -> bool {
    token.kind == Kind::Word
        && token.lower.len() > 2
        && !token.lower.ends_with("ly")
        && !is_number_word(token)
        && ![
            &GRAMMAR.prepositions,
            &GRAMMAR.determiners,
            &GRAMMAR.predicates,
            &GRAMMAR.modals,
            &GRAMMAR.conditions,
            &GRAMMAR.denials,
            &GRAMMAR.openers,
            &GRAMMAR.starters,
            &GRAMMAR.unfinished,
            &GRAMMAR.participles,
            &GRAMMAR.copulas,
            &GRAMMAR.not_things,
        ]
        .iter()
        .any(|words| words.has(token))
}

/// Whether the words are a thing by themselves: none of them is gear of the lexicon, and it is no mere part.
fn is_thing(talk: &Talk<'_>, words: &Range<usize>) -> bool {
    let first = talk.mentions.partition_point(|m| m.tokens.end <= words.start);
    let named = talk.mentions.get(first).is_some_and(|m| m.tokens.start < words.end);
    let part = words.len() == 1 && GRAMMAR.parts.has(&talk.tokens[words.start]);
    !words.is_empty() && !named && !part
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    fn found(line: &str, word: &str) -> Option<String> {
        let utterances = [Utterance::line(line)];
        let talk = Talk::new(line, &utterances, &[]);
        let cue = talk.tokens.iter().position(|t| t.is(word)).expect("the word stands in the line");
        let thoughts = crate::topic::thoughts(&talk);
        let thought = thoughts.iter().find(|t| t.tokens.contains(&cue)).expect("thoughts cover all tokens");
        in_front(&talk, thought, &(cue..cue + 1)).map(|range| talk.quote(range))
    }

    #[test]
    fn what_stands_in_front_is_the_thing() {
        assert_eq!(
            found("The heater is fine. Knife lanyard made.", "made").as_deref(),
            Some("Knife lanyard")
        );
        assert_eq!(found("The settee bolt is loose again", "loose").as_deref(), Some("settee bolt"));
    }

    #[test]
    fn gear_parts_and_pronouns_are_none() {
        assert_eq!(found("The heater is fixed", "fixed"), None);
        assert_eq!(found("I had the hatch off. The seal is new and it is fixed", "fixed"), None);
        assert_eq!(found("I had the hatch off. The seal is fixed", "fixed"), None);
    }
}
