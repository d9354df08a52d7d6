//! Gear: what aboard is being talked about.

use std::ops::Range;

use crate::token::Token;

/// A place where gear is named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mention {
    /// Its name: the lexicon's, with the side or position in front where one is said ("port cap shroud").
    pub name: String,
    /// The tokens that name it.
    pub tokens: Range<usize>,
}

/// Finds the gear named in a note, in order.
pub fn mentions(_tokens: &[Token<'_>]) -> Vec<Mention> {
    Vec::new()
}
