//! How far a cue of a stance goes on: over the clauses of a story, a condition, a list, a forecast.

use crate::token::Gap;

use super::{Cue, Stances};

impl Stances<'_, '_> {
    /// Whether "rules:" and the like still lists: a colon stands behind it, or no clause between states a fact.
    pub(super) fn lists(&self, cue: &Cue, clause: usize) -> bool {
        let tokens = &self.talk.tokens;
        // "My limits for this trip, written down: …".
        let colon = (cue.end..self.talk.clauses[clause].tokens.start + 1)
            .take(14)
            .take_while(|&i| crate::number::atom_at(tokens, i).is_none() || tokens[i].gap == Gap::Clause)
            .any(|i| tokens.get(i).is_some_and(|t| t.gap == Gap::Clause));
        let close = self.talk.clauses[clause].tokens.start.saturating_sub(cue.end) <= 12;
        colon
            || (close
                && (cue.clause + 1..=clause).all(|c| {
                    let words = &tokens[self.talk.clauses[c].tokens.clone()];
                    !words.iter().any(|t| t.is_any(words!["was", "now", "went", "got", "'m"]))
                        && !words[0].is_any(words!["it", "barometer"])
                }))
    }

    /// "to see if", "as if", "ask if": no condition.
    pub(super) fn asks(&self, cue: &Cue) -> bool {
        cue.start.checked_sub(1).is_some_and(|i| {
            self.talk.tokens[i].is_any(words![
                "see",
                "know",
                "check",
                "ask",
                "asks",
                "asked",
                "as",
                "even",
                "tell",
                "wonder",
                "wondering",
                "seeing",
                "checked",
                "sure",
            ])
        }) || self
            .talk
            .tokens
            .get(cue.end)
            .is_some_and(|t| t.is_any(words!["anything", "my", "you'd"]) && t.gap <= Gap::Line)
    }

    /// Whether a story goes on into a later clause: each clause between is linked to it and tells of the past.
    pub(super) fn story_goes_on(&self, cue: &Cue, clause: usize) -> bool {
        let tokens = &self.talk.tokens;
        (cue.clause + 1..=clause).all(|c| {
            let range = self.talk.clauses[c].tokens.clone();
            let start = range.start;
            let first = &tokens[start];
            let words = &tokens[range];
            // "Last autumn: 4.6 A".
            let headed = c == cue.clause + 1 && first.gap == Gap::Clause && cue.end == start;
            let linked = headed
                || first.gap == Gap::Comma
                || first.is_any(words![
                    "and", "with", "he", "they", "she", "it", "that", "who", "which", "in", "at", "for",
                    "we", "i", "on", "to", "when", "because", "then",
                ]);
            linked
                && !words
                    .iter()
                    .any(|t| t.is_any(words!["now", "today", "is", "'s", "'re", "are", "'m", "'ve"]))
        })
    }

    /// Whether a clause follows from the "if" of the one before it.
    pub(super) fn follows_from(&self, cue: &Cue, clause: usize) -> bool {
        let tokens = &self.talk.tokens;
        if !(1..=3).contains(&(clause - cue.clause)) {
            return false;
        }
        // Only scraps ("well", "then", "what") may stand between.
        let scraps = (cue.clause + 1..clause).all(|c| self.talk.clauses[c].tokens.len() <= 3);
        let words = &tokens[self.talk.clauses[clause].tokens.clone()];
        let fact = words.iter().any(|t| {
            t.is_any(words![
                "was", "went", "got", "had", "took", "saw", "said", "came", "made", "ran", "did", "were",
                "now", "today",
            ])
        });
        let unreal = words.iter().any(|t| t.is_any(words!["would", "'d", "could", "might"]));
        scraps && (!fact || unreal) && !words[0].is_any(words!["so", "and", "but", "because", "although"])
    }

    /// Whether a forecast is still being told: nothing between says that something is so.
    pub(super) fn forecast_goes_on(&self, cue: &Cue, clause: usize, number: usize) -> bool {
        let tokens = &self.talk.tokens;
        if (cue.clause..=clause).any(|c| {
            let range = self.talk.clauses[c].tokens.clone();
            // What stands before the first figure ("for the night is …") is still the forecast's own sentence.
            let from = if c == cue.clause { cue.end.min(range.end) } else { range.start.max(cue.end) };
            let to = range.end.min(number).max(from.min(number));
            let from = if c == cue.clause {
                (from..to).find(|&i| crate::number::atom_at(tokens, i).is_some()).unwrap_or(to)
            } else {
                from.min(to)
            };
            let words = &tokens[from..to];
            words.iter().enumerate().any(|(i, t)| {
                t.is_any(words![
                    "now",
                    "i",
                    "we",
                    "she",
                    "was",
                    "is",
                    "are",
                    "what",
                    "baro",
                    "barometer",
                    "glass",
                    "found",
                    "actual",
                    "actually",
                    "got",
                    "had",
                    "saw",
                    "came",
                ]) || (t.is("'s") && i > 0 && !words[i - 1].is_any(words!["that", "there", "what"]))
                    || t.is_any(words!["there", "off", "bilge", "anchor", "awa", "aws", "sog", "heel"])
                        && i == 0
            })
        }) {
            return false;
        }
        // No forecast tells of sails, of the deck or of what the barometer reads: a further sentence that does is the day's.
        let here = self.talk.clauses[clause].sentence;
        if self.talk.clauses[cue.clause].sentence != here {
            let of_the_day = |t: &crate::token::Token<'_>| {
                t.is_any(words![
                    "baro",
                    "barometer",
                    "glass",
                    "deck",
                    "cabin",
                    "saloon",
                    "below",
                    "sog",
                    "stw",
                    "heel",
                    "jib",
                    "genoa",
                    "main",
                    "mainsail",
                    "staysail",
                    "reefed",
                    "engine",
                    "motor",
                    "motoring",
                    "awa",
                    "aws",
                    "apparent",
                    "pontoon",
                    "quay",
                    "anchored",
                    "underway",
                ])
            };
            if tokens[self.talk.sentence_of(number)].iter().any(of_the_day) {
                return false;
            }
        }
        // A new log line or paragraph is a new block already; a long silence is a turn.
        !tokens[cue.end.min(number)..number].iter().any(|t| t.gap == Gap::Block)
    }
}
