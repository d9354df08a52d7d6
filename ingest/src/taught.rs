//! Words that the skipper teaches: for gear, units, quantities and outcomes. They win over the lexicon.

use std::ops::Range;

use crate::found::{Outcome, Utterance};
use crate::gear::Names;
use crate::lexicon::{Patterns, look_ahead};
use crate::quantity::{Cue, Side, Strength, Target, table, units};
use crate::token::{Token, tokens};

/// What a taught word means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Means {
    /// A gear, by its name in the lexicon, or one that the lexicon has not.
    Gear(String),
    /// A unit, by its symbol in `lexicon/units.toml`.
    Unit(String),
    /// A quantity, by its name in `lexicon/quantities.toml`.
    Quantity(String),
    /// How a trial went.
    Outcome(Outcome),
}

/// The words taught, the latest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Taught {
    words: Vec<(String, Means)>,
}

impl Taught {
    /// Adds a word or a few, in place of what the same words meant of that kind before.
    pub fn teach(&mut self, words: &str, means: Means) {
        let written = written(words);
        if written.is_empty() {
            return;
        }
        let kind = std::mem::discriminant(&means);
        self.words.retain(|(other, of)| *other != written || std::mem::discriminant(of) != kind);
        self.words.insert(0, (written, means));
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// The names for gear, in lower case, each with the gear's own.
    pub fn names(&self) -> Names {
        let gear = self.words.iter().filter_map(|(word, means)| match means {
            Means::Gear(gear) => Some((word.clone(), gear.clone())),
            _ => None,
        });
        gear.collect()
    }

    fn patterns<T>(&self, of: impl Fn(&Means) -> Option<T>) -> Patterns<T> {
        let mut patterns = Patterns::default();
        for (word, means) in &self.words {
            if let Some(value) = of(means) {
                // Words are kept as their tokens, which are no signs of a pattern; one that is none is left out.
                patterns.add(word, value).ok();
            }
        }
        patterns
    }

    /// Puts the lexicon's word for a unit in the place of a taught one.
    pub(crate) fn put_units(&self, tokens: &mut Vec<Token<'_>>) {
        let units = self.patterns(|means| match means {
            Means::Unit(symbol) => unit_word(symbol),
            _ => None,
        });
        let found: Vec<(Range<usize>, String)> =
            units.find(tokens).into_iter().map(|m| (m.start..m.end, m.value.clone())).collect();
        for (range, word) in found.into_iter().rev() {
            let end = tokens[range.end - 1].span.end;
            let first = &mut tokens[range.start];
            first.reword(word);
            first.span.end = end;
            tokens.drain(range.start + 1..range.end);
        }
        look_ahead(tokens);
    }

    /// Where taught words name a quantity.
    pub(crate) fn quantities(&self, tokens: &[Token<'_>]) -> Vec<Cue> {
        let quantities = self.patterns(|means| match means {
            Means::Quantity(name) => table().quantities.iter().position(|q| q.name == *name),
            _ => None,
        });
        let cue = |start, end, index| Cue {
            start,
            end,
            target: Target::Quantity(index),
            side: Side::Either,
            strength: Strength::Name,
        };
        quantities.find(tokens).into_iter().map(|m| cue(m.start, m.end, *m.value)).collect()
    }

    /// Where taught words say how a trial went.
    pub(crate) fn outcomes(&self, tokens: &[Token<'_>]) -> Vec<(Range<usize>, Outcome)> {
        let outcomes = self.patterns(|means| match means {
            Means::Outcome(outcome) => Some(*outcome),
            _ => None,
        });
        outcomes.find(tokens).into_iter().map(|m| (m.start..m.end, *m.value)).collect()
    }
}

/// Words as their tokens, in lower case, with a space between: the way that they are looked for.
fn written(words: &str) -> String {
    let utterances = [Utterance::line(words)];
    let tokens = tokens(words, &utterances);
    let words = tokens.iter().filter(|t| t.lower.chars().any(char::is_alphanumeric));
    words.map(|t| t.lower.as_ref()).collect::<Vec<_>>().join(" ")
}

/// The one word that the lexicon has for a unit, by which a taught word can stand for it; `None` where it has none.
pub fn unit_word(symbol: &str) -> Option<String> {
    let unit = units().by_symbol(symbol)?;
    let single = unit.spoken().find(|name| !name.contains(' '))?;
    single.split('|').next().map(|word| word.trim_end_matches('?').to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Hints, read};

    fn note(words: &str, taught: &[(&str, Means)]) -> crate::Note {
        let mut all = Taught::default();
        for (word, means) in taught {
            all.teach(word, means.clone());
        }
        let text = format!("14 March 2026, 10:00 UTC\n\n{words}\n");
        read(text.as_bytes(), &Hints { name: "note.txt".into(), taught: all, ..Hints::default() })
    }

    #[test]
    fn a_taught_unit_is_read_and_its_bytes_are_those_said() {
        let words = "Boat speed was 6 bogo flips all morning.";
        let unit = ("bogo flips", Means::Unit("kn".into()));
        let found = note(words, &[unit]);
        let reading = &found.readings[0];
        assert_eq!((reading.quantity.as_str(), reading.low), ("boat_speed", Some(6.0)));
        assert!(reading.quote.contains("6 bogo flips"), "{reading:?}");
    }

    #[test]
    fn a_taught_quantity_is_read() {
        let words = "The juice is 82 this morning.";
        assert!(note(words, &[]).readings.iter().all(|r| r.quantity != "state_of_charge"));
        let found = note(words, &[("juice", Means::Quantity("state_of_charge".into()))]);
        let reading = found.readings.iter().find(|r| r.quantity == "state_of_charge").expect("a reading");
        assert_eq!((reading.low, reading.unit.as_str()), (Some(82.0), "%"));
    }

    #[test]
    fn a_taught_outcome_settles_a_trial() {
        let words = "Tried the windlass this morning. The windlass is bonkers.";
        assert!(note(words, &[]).trials.iter().all(|t| t.outcome != Outcome::Pass));
        let found = note(words, &[("is bonkers", Means::Outcome(Outcome::Pass))]);
        assert_eq!(found.trials.len(), 1, "{:?}", found.trials);
        assert_eq!((found.trials[0].gear.as_str(), found.trials[0].outcome), ("windlass", Outcome::Pass));
    }

    #[test]
    fn gear_that_the_lexicon_has_not_is_taught() {
        let words = "We tried the whizzbang at anchor. The whizzbang is a fail.";
        let found = note(words, &[("whizzbang", Means::Gear("whizzbang".into()))]);
        assert!(found.trials.iter().any(|t| t.gear == "whizzbang"), "{:?}", found.trials);
    }

    #[test]
    fn words_are_kept_as_they_are_looked_for() {
        let mut taught = Taught::default();
        taught.teach("The Wind-O-Meter?", Means::Gear("anemometer".into()));
        taught.teach("  ??? ", Means::Gear("nothing".into()));
        assert_eq!(taught.names(), [("the wind o meter".to_owned(), "anemometer".to_owned())]);
        taught.teach("the wind-o-meter", Means::Gear("wind vane".into()));
        assert_eq!(taught.names().len(), 1);
        for symbol in ["kn", "m", "V", "L", "%", "degC"] {
            assert!(unit_word(symbol).is_some(), "{symbol}");
        }
        assert_eq!(unit_word("zorks"), None);
    }
}
