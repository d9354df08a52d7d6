//! The words around a number, looked at where no word speaks for its stance.

use std::ops::Range;

use crate::token::{Gap, Token};
use crate::word::WordList;

use super::Stances;

/// The words around a number, by which its stance is told where nothing else speaks for it.
pub(super) struct Around<'t> {
    tokens: &'t [Token<'t>],
    /// The tokens near it, in its sentence.
    pub near: Range<usize>,
    clause: &'t [Token<'t>],
    /// Its sentence, by tokens.
    pub sentence: Range<usize>,
    /// The token right behind it, in the same breath.
    pub after: Option<&'t Token<'t>>,
}

impl Around<'_> {
    /// Whether one of these words stands near it, in its sentence.
    pub fn has(&self, words: &WordList) -> bool {
        self.tokens[self.near.clone()].iter().any(|t| t.is_any(words))
    }

    /// Whether one of these words stands right behind it.
    pub fn behind(&self, words: &WordList) -> bool {
        self.after.is_some_and(|t| t.is_any(words))
    }

    /// Whether one of these words stands in its clause.
    pub fn in_clause(&self, words: &WordList) -> bool {
        self.clause.iter().any(|t| t.is_any(words))
    }
}

impl Stances<'_, '_> {
    /// The words around a number.
    pub(super) fn around(&self, number: &Range<usize>) -> Around<'_> {
        let tokens = &self.talk.tokens;
        let clause = self.talk.clauses[self.talk.clause_of(number.start)].tokens.clone();
        let sentence = self.talk.sentence_of(number.start);
        let from = sentence.start.max(number.start.saturating_sub(16)).min(number.start);
        let to = sentence.end.min(number.end + 8);
        let after = tokens.get(number.end).filter(|t| t.gap <= Gap::Line);
        Around { tokens, near: from..to, clause: &tokens[clause], sentence, after }
    }
}
