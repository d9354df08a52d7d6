//! What sounds like a verdict and is said of something else than gear: of people, of their food, of a part that was looked at,
//! of a title.

use super::candidate::Candidate;
use super::verdict::Weight;
use crate::found::Outcome;
use crate::grammar::GRAMMAR;
use crate::token::Gap;
use crate::word::WordList;

const PEOPLE: &WordList = words!["i", "we", "you", "he", "she", "they"];

impl Candidate<'_, '_> {
    /// Whether the words are said of something else than gear.
    pub(super) fn of_no_gear(&self) -> bool {
        crate::thing::of_people_or_victuals(self.talk, self.thought, self.cue)
            || self.of_someone_tired()
            || self.of_a_part_looked_at()
            || self.of_a_title()
            || self.of_what_is_eaten()
            || self.of_what_somebody_passes()
            || self.of_what_somebody_does()
            || self.of_what_was_given_up()
    }

    /// Whether people are named right in front.
    fn behind_people(&self) -> bool {
        self.front(1).first().is_some_and(|t| t.is_any(PEOPLE))
    }

    /// "I'm having a bath and a pie. Knackered."
    fn of_someone_tired(&self) -> bool {
        const TIRED: &WordList =
            words!["knackered", "shattered", "wrecked", "exhausted", "dead", "finished", "gubbed", "bushed"];
        let tokens = &self.talk.tokens;
        let of_us = |last: usize| {
            let sentence = self.talk.sentence_of(last);
            tokens[sentence.start].is_any(words!["i", "i'm", "we", "we're", "me", "my"])
        };
        tokens[self.cue.start].is_any(TIRED)
            && self.thought.tokens.len() <= 2
            && self.thought.tokens.start.checked_sub(1).is_some_and(of_us)
    }

    /// "Bulb looks good, so it is the cable": a part that is not to blame.
    fn of_a_part_looked_at(&self) -> bool {
        const LOOKED_AT: &WordList = words![
            "bulb",
            "fuse",
            "sensor",
            "relay",
            "wiring",
            "wire",
            "cable",
            "switch",
            "contacts",
            "terminals",
        ];
        let mut near = self.front(3).iter().rev().take_while(|t| t.gap < Gap::Comma || t.is_any(LOOKED_AT));
        self.outcome == Outcome::Pass
            && self.weight != Weight::Word
            && near.any(|t| t.is_any(LOOKED_AT))
            && !self.front(5).iter().any(|t| t.is("new"))
    }

    /// "Next: nothing", "Damage: none": what a title asks for is not there.
    fn of_a_title(&self) -> bool {
        const TITLES: &WordList = words![
            "next",
            "damage",
            "leaks",
            "faults",
            "defects",
            "problems",
            "remarks",
            "alarms",
            "outstanding",
            "missing",
            "issues",
            "complaints",
            "snags",
        ];
        let tokens = &self.talk.tokens;
        let token = &tokens[self.cue.start];
        self.cue.len() == 1
            && token.is_any(words!["nothing", "none"])
            && token.gap == Gap::Clause
            && self.cue.start.checked_sub(1).is_some_and(|i| tokens[i].is_any(TITLES))
    }

    /// "And there is no more bread".
    fn of_what_is_eaten(&self) -> bool {
        self.next().is_some_and(|t| GRAMMAR.people_and_victuals.has(t))
            && self.talk.tokens[self.cue.end - 1].is("more")
    }

    /// "I pass over him", "then I sign".
    fn of_what_somebody_passes(&self) -> bool {
        const WAITS: &WordList = words!["then", "before", "till", "until", "when"];
        self.behind_people()
            && self.outcome == Outcome::Pass
            && self.talk.tokens[self.cue.start].is_any(words!["pass", "passed", "passes", "sign"])
            && (self.next().is_some() || self.front(2).first().is_some_and(|t| t.is_any(WAITS)))
    }

    /// "I went out to look at it".
    fn of_what_somebody_does(&self) -> bool {
        const MOVES: &WordList = words!["went", "go", "goes", "came", "ran", "fell", "sat", "stood"];
        self.cue.len() <= 2
            && self.talk.tokens[self.cue.start].is_any(MOVES)
            && self.behind_people()
            && !self.front(1).first().is_some_and(|t| t.is("she"))
    }

    /// "I won't do it now".
    fn of_what_was_given_up(&self) -> bool {
        let tokens = &self.talk.tokens;
        tokens[self.cue.start].is_any(words!["won't", "wont", "will", "wouldn't", "would"])
            && self.behind_people()
            && tokens[self.cue.end - 1].is_any(words!["do", "try", "go", "fit"])
    }
}
