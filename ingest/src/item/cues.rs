//! Where a note has words of the lexicon that bear on how things stand, gathered once for the model to look at.

use std::ops::Range;

use super::WORDS;
use crate::talk::Talk;
use crate::trial;

/// Cues in order of their places, each with what it is of.
#[derive(Clone, Debug, Default)]
pub struct Cues(Vec<(Range<usize>, u8)>);

impl Cues {
    /// Finds the cues of a note.
    pub fn find(talk: &Talk<'_>) -> Self {
        const FIRST_OF_WORDS: u8 = 16;
        let mut all: Vec<(Range<usize>, u8)> = trial::kinds_of_cues(talk);
        let of_words = [&WORDS.unproven, &WORDS.task, &WORDS.task_heads, &WORDS.done, &WORDS.not_done];
        for (kind, patterns) in of_words.into_iter().enumerate() {
            let found = patterns.find(&talk.tokens).into_iter();
            all.extend(found.map(|m| (m.start..m.end, FIRST_OF_WORDS + kind as u8)));
        }
        all.sort_by_key(|(cue, _)| cue.start);
        Self(all)
    }

    /// Those within a stretch.
    pub fn within(&self, stretch: &Range<usize>) -> impl Iterator<Item = (&Range<usize>, u8)> {
        let first = self.0.partition_point(|(cue, _)| cue.start < stretch.start);
        let end = stretch.end;
        self.0[first..]
            .iter()
            .take_while(move |(cue, _)| cue.start < end)
            .filter(move |(cue, _)| cue.end <= end)
            .map(|(cue, kind)| (cue, *kind))
    }
}
