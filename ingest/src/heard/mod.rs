//! Words that were heard in a recording: the text that a listener writes, and what reading it must know.
//!
//! A transcript is a note like any other, in WebVTT, so its words have places in its bytes and seconds in the sound.
//! What only the listener knows stands in remarks: of which recording, by which model, what was changed and how sure
//! each number is. `file` writes and reads them, [`mend`] puts right how boat words are misheard, `doubt` marks the
//! numbers that may have been misheard.

mod doubt;
mod file;
pub mod mend;
pub mod numbers;

pub(crate) use doubt::doubt;
pub use file::{Change, Said, Transcript, Unsure};
pub(crate) use file::{is, is_remark};

/// Name of the format, as in [`crate::Note::format`].
pub const FORMAT: &str = "heard";

/// A word that the recogniser was less sure of than this was guessed; of numbers every probability is kept.
const GUESSED: f32 = 0.5;

/// A word as the recogniser gave it.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// The word, with the punctuation that stands at it.
    pub text: String,
    /// The recogniser's own probability of its least sure part, 0 to 1.
    pub probability: f32,
}

/// A stretch of words as the recogniser gave them.
#[derive(Clone, Debug, PartialEq)]
pub struct Heard {
    /// Where it begins, in seconds of the recording.
    pub from: f64,
    /// Where it ends.
    pub until: f64,
    /// The words.
    pub words: Vec<Word>,
}

/// Cuts a stretch at the ends of its sentences. The recogniser times stretches only; within one, time goes with letters.
pub fn sentences(heard: &Heard) -> Vec<Heard> {
    let letters =
        |words: &[Word]| words.iter().map(|word| word.text.chars().count() + 1).sum::<usize>() as f64;
    let all = letters(&heard.words).max(1.0);
    let mut out = Vec::new();
    let (mut start, mut from) = (0, heard.from);
    for end in 1..=heard.words.len() {
        let ends = heard.words[end - 1].text.ends_with(['.', '?', '!']);
        if !ends && end < heard.words.len() {
            continue;
        }
        let until = heard.from + (heard.until - heard.from) * letters(&heard.words[..end]) / all;
        out.push(Heard { from, until, words: heard.words[start..end].to_vec() });
        (start, from) = (end, until);
    }
    out
}

/// Makes an utterance of a transcript of what was heard, boat words put right if `mending`.
pub fn said(heard: &Heard, mending: bool) -> Said {
    let words: Vec<&str> = heard.words.iter().map(|word| word.text.as_str()).collect();
    let mended = if mending { mend::mend(&words) } else { Vec::new() };
    let (mut text, mut changes, mut unsure) = (String::new(), Vec::new(), Vec::new());
    let mut at = 0;
    let heard_words = |from: usize, until: usize| {
        heard.words[from..until].iter().map(|w| w.probability).fold(1.0, f32::min)
    };
    let mut changed = mended.into_iter().peekable();
    while at < words.len() {
        if !text.is_empty() {
            text.push(' ');
        }
        let start = text.len();
        if let Some(change) = changed.next_if(|change| change.from == at) {
            text.push_str(&change.to);
            let heard = words[change.from..change.until].join(" ");
            changes.push(Change { at: (start, text.len()), heard });
            let least = heard_words(change.from, change.until);
            if numbers::is_part(&change.to) && least < 1.0 {
                unsure.push(Unsure { at: (start, text.len()), probability: least });
            }
            at = change.until;
            continue;
        }
        text.push_str(words[at]);
        let probability = heard.words[at].probability;
        if probability < if numbers::is_part(words[at]) { 1.0 } else { GUESSED } {
            unsure.push(Unsure { at: (start, text.len()), probability });
        }
        at += 1;
    }
    Said { from: heard.from, until: heard.until, text, changes, unsure }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_are_cut_into_sentences_with_their_share_of_the_time() {
        let words = |text: &str| {
            text.split(' ').map(|word| Word { text: word.to_owned(), probability: 1.0 }).collect::<Vec<_>>()
        };
        let heard = Heard { from: 10.0, until: 20.0, words: words("Wind 1.5 knots. All is well") };
        let cut = sentences(&heard);
        assert_eq!(cut.len(), 2);
        assert_eq!(cut[0].words, words("Wind 1.5 knots."));
        assert!((cut[0].until - 15.7).abs() < 0.1, "{}", cut[0].until);
        assert_eq!((cut[1].from, cut[1].until), (cut[0].until, 20.0));
        assert_eq!(sentences(&Heard { words: Vec::new(), ..heard }), []);
    }
}
