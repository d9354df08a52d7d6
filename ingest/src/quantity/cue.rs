//! Cues: words in a text that name a quantity.

use crate::lexicon::Match;
use crate::token::Token;

use super::table::table;

/// What a cue speaks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Target {
    /// A quantity, by its index in the table.
    Quantity(usize),
    /// The wind, speed or angle.
    Wind,
    /// The apparent wind.
    Apparent,
    /// The true wind.
    True,
    /// The engine's cooling water, or the sea's temperature where that fits better.
    EngineWater,
}

/// On which side of its number a cue stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// "heel nineteen".
    Before,
    /// "nineteen of heel".
    After,
    /// Both.
    Either,
}

/// How far a cue carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strength {
    /// It names the quantity, so that a number needs no unit.
    Name,
    /// It names the quantity where nothing but small words stands between it and the number.
    Close,
    /// It only decides between quantities that the unit allows.
    Hint,
}

/// Words that name a quantity.
#[derive(Clone, Copy, Debug)]
pub struct Cue {
    /// Its first token.
    pub start: usize,
    /// One past its last.
    pub end: usize,
    /// What it speaks for.
    pub target: Target,
    /// On which side of the number.
    pub side: Side,
    /// How far it carries.
    pub strength: Strength,
}

/// All cues of a text, in order of their first token.
pub fn cues(tokens: &[Token<'_>]) -> Vec<Cue> {
    let cue = |m: Match<'_, _>| {
        let (target, side, strength) = *m.value;
        Cue { start: m.start, end: m.end, target, side, strength }
    };
    table().cues.all(tokens).into_iter().map(cue).collect()
}
