//! Conditions that the speaker will act on: they are triggers, and so limits.

use std::ops::Range;

use super::{Stances, is_a_machine_s};

impl Stances<'_, '_> {
    /// "if it ever says thirty-five I'm out of here": a condition that the speaker will act on is a trigger.
    pub(super) fn triggers(&self, number: &Range<usize>, quantity: &str, words: &Range<usize>) -> bool {
        let tokens = &self.talk.tokens;
        let Some(conditional) =
            tokens[words.clone()].iter().position(|t| t.is("if")).map(|i| words.start + i)
        else {
            return false;
        };
        if conditional > number.start || tokens[conditional].asked {
            return false;
        }
        let sentence = self.talk.sentence_of(number.start);
        let sentence = sentence.start.max(number.start.saturating_sub(20))..sentence.end.min(number.end + 20);
        let unreal = tokens[sentence.clone()].iter().any(|t| {
            t.is_any(words![
                "would", "'d", "could", "might", "were", "had", "blew", "was", "suppose", "imagine"
            ])
        });
        let act = |i: usize| {
            tokens[i].is_any(words!["i", "we", "you", "everybody", "everything"])
                && tokens.get(i + 1).is_some_and(|t| {
                    t.is_any(words![
                        "'m", "'ll", "shut", "turn", "stop", "open", "go", "don't", "do", "stay", "reef",
                        "heave", "bear", "run", "put", "take", "switch", "start", "come", "leave",
                        "throttle", "am", "will", "wait", "get", "have", "won't", "back", "slow", "ease",
                        "drop", "call", "bail", "must", "need", "should", "motor", "anchor", "furl",
                    ])
                })
        };
        // "the trysail if it's ever over thirty-five": the sail that goes up then.
        let goes_up = (1..=4).map_while(|n| conditional.checked_sub(n)).any(|i| {
            tokens[i].is_any(words![
                "trysail", "drogue", "jib", "reef", "reefs", "anchor", "staysail", "heave", "harbour",
                "harbor", "home",
            ]) || tokens[i].is_any(words!["sail", "sale"])
                && i > 0
                && tokens[i - 1].is_any(words!["try", "storm", "stay"])
        });
        let before = goes_up || (sentence.start..conditional.max(sentence.start)).any(act);
        // A number can run over the end of its sentence, where a line is broken inside it.
        let rest = number.end.min(sentence.end)..sentence.end;
        let after = rest.clone().any(act)
            || tokens[rest].iter().any(|t| t.is_any(words!["off", "out"]) && is_a_machine_s(quantity));
        !unreal && (before || after)
    }
}
