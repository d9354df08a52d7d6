//! Where a note has words of the lexicon that bear on how things stand, found once for all that look at them.

use std::ops::Range;

use super::WORDS;
use crate::token::Token;
use crate::trial::{self, Cue};

/// The numbers of verdicts are below it; those of the other words go on from it.
const FIRST_OF_WORDS: u8 = 16;

/// Cues in order of their places.
#[derive(Clone, Debug)]
pub struct Cues {
    /// Words that may be a verdict, with what they say.
    pub verdicts: Vec<(Range<usize>, Cue)>,
    /// Words by which something is done.
    pub done: Vec<Range<usize>>,
    /// Words by which something was not tried.
    pub unproven: Vec<Range<usize>>,
    /// All of them and of the words for tasks, each with a number for what it is of.
    all: Vec<(Range<usize>, u8)>,
}

impl Cues {
    /// The number of words by which something was not tried; those of verdicts are below it.
    pub const UNTRIED: u8 = FIRST_OF_WORDS;
    /// The number of words by which something is done.
    pub const DONE: u8 = FIRST_OF_WORDS + 3;
    /// The number of words by which something is to be done, or only so called ("I have to say"), in [`Self::within`].
    pub const TASK: u8 = FIRST_OF_WORDS + 1;

    /// Finds the cues of a note.
    pub fn find(tokens: &[Token<'_>]) -> Self {
        let verdicts = trial::cues(tokens);
        let found: [Vec<Range<usize>>; 5] = WORDS.cues.find_by_kind(tokens, |&kind| kind);
        let mut all: Vec<(Range<usize>, u8)> =
            verdicts.iter().map(|(cue, said)| (cue.clone(), said.number())).collect();
        for (kind, found) in found.iter().enumerate() {
            all.extend(found.iter().map(|cue| (cue.clone(), FIRST_OF_WORDS + kind as u8)));
        }
        all.sort_by_key(|(cue, _)| cue.start);
        let [unproven, _, _, done, _] = found;
        Self { verdicts, done, unproven, all }
    }

    /// Those within a stretch, each with the number of what it is of.
    pub fn within(&self, stretch: &Range<usize>) -> impl Iterator<Item = (&Range<usize>, u8)> {
        let first = self.all.partition_point(|(cue, _)| cue.start < stretch.start);
        let end = stretch.end;
        self.all[first..]
            .iter()
            .take_while(move |(cue, _)| cue.start < end)
            .filter(move |(cue, _)| cue.end <= end)
            .map(|(cue, kind)| (cue, *kind))
    }
}
