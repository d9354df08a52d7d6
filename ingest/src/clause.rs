//! Clauses: the stretches of talk that a modal verb, a negation or an "if" reaches over.

use std::ops::Range;

use crate::token::{Gap, Token};

/// A stretch of tokens that says one thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clause {
    /// Its tokens, by index.
    pub tokens: Range<usize>,
    /// Index of the sentence that it belongs to; sentences end at a full stop or a block's end.
    pub sentence: usize,
    /// Index of the block (paragraph, log line, list item, table cell, run of talk) that it belongs to.
    pub block: usize,
}

/// Cuts tokens into clauses that cover all of them, in order.
pub fn clauses(tokens: &[Token<'_>]) -> Vec<Clause> {
    let mut out: Vec<Clause> = Vec::new();
    let (mut sentence, mut block) = (0, 0);
    for (i, token) in tokens.iter().enumerate() {
        if i > 0 {
            sentence += usize::from(token.gap >= Gap::Sentence);
            block += usize::from(token.gap == Gap::Block);
        }
        match out.last_mut() {
            Some(last) if token.gap < Gap::Comma => last.tokens.end = i + 1,
            _ => out.push(Clause { tokens: i..i + 1, sentence, block }),
        }
    }
    out
}
