//! Which tokens may come next: one function a rule, each of which forbids some by a likelihood of zero.
//!
//! Source: OpenAI's whisper, `decoding.py`, and whisper.cpp's `whisper_process_logits`, from memory.

use crate::math::sum_exp;
use crate::vocabulary::Vocabulary;

/// The logarithm of a likelihood of zero.
pub const NEVER: f32 = f32::NEG_INFINITY;
/// Times that may begin a text: up to a second, 20 ms apart, and zero.
const FIRST_TIMES: usize = 51;

/// Forbids in `logits` what may not come behind the tokens written so far; `last_time` is the last time among them, in
/// steps of 20 ms.
pub fn forbid(logits: &mut [f32], vocabulary: &Vocabulary, written: &[u32], last_time: Option<usize>) {
    if written.is_empty() {
        no_empty_text(logits, vocabulary);
        no_late_beginning(logits, vocabulary);
    }
    no_marks(logits, vocabulary);
    times_in_pairs(logits, vocabulary, written);
    if let Some(time) = last_time {
        no_time_before(logits, vocabulary, time);
    }
}

/// A text does not begin with its end, nor with a blank alone.
fn no_empty_text(logits: &mut [f32], vocabulary: &Vocabulary) {
    logits[vocabulary.end as usize] = NEVER;
    if let Some(blank) = vocabulary.blank() {
        logits[blank as usize] = NEVER;
    }
}

/// Marks and signs that stand for no speech are not written.
fn no_marks(logits: &mut [f32], vocabulary: &Vocabulary) {
    for token in &vocabulary.suppressed {
        logits[*token as usize] = NEVER;
    }
}

/// Times come in pairs, the end of a segment and the beginning of the next; only the first and the last stand alone.
fn times_in_pairs(logits: &mut [f32], vocabulary: &Vocabulary, written: &[u32]) {
    let time = |token: &u32| *token >= vocabulary.times;
    let (last, before) = match written {
        [] => (false, true),
        [last] => (time(last), true),
        [.., before, last] => (time(last), time(before)),
    };
    match (last, before) {
        (true, true) => logits[vocabulary.times as usize..].fill(NEVER),
        (true, false) => logits[..vocabulary.end as usize].fill(NEVER),
        (false, _) => {}
    }
}

/// A text begins within its first second.
fn no_late_beginning(logits: &mut [f32], vocabulary: &Vocabulary) {
    logits[vocabulary.times as usize + FIRST_TIMES..].fill(NEVER);
}

/// Time does not go back.
fn no_time_before(logits: &mut [f32], vocabulary: &Vocabulary, time: usize) {
    logits[vocabulary.times as usize..][..time].fill(NEVER);
}

/// Where some time is likelier than any word, a time it is: forbids the words in logarithms of likelihoods.
pub fn time_over_words(log_probabilities: &mut [f32], vocabulary: &Vocabulary) {
    let (words, times) = log_probabilities.split_at_mut(vocabulary.times as usize);
    let greatest = |numbers: &[f32]| numbers.iter().copied().fold(NEVER, f32::max);
    let top = greatest(times);
    if top == NEVER {
        return;
    }
    let sum: f32 = times.iter().map(|number| (number - top).exp()).sum();
    if sum.ln() + top > greatest(words) {
        words.fill(NEVER);
    }
}

/// Brings logits to logarithms of likelihoods, which sum up to one.
pub fn log_softmax(logits: &[f32], out: &mut Vec<f32>) {
    let max = logits.iter().copied().fold(NEVER, f32::max);
    let sum = sum_exp(logits, max).ln() + max;
    out.clear();
    out.extend(logits.iter().map(|logit| logit - sum));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::file::tests::small;

    const TIMES: usize = 50_363;
    const END: usize = 50_256;

    fn vocabulary() -> Vocabulary {
        Vocabulary::new(&small(&["a", "b", " ", "("]))
    }

    /// Whether a token may come behind others.
    fn may(token: usize, written: &[u32], last_time: Option<usize>) -> bool {
        let mut logits = vec![0.0; 51_864];
        forbid(&mut logits, &vocabulary(), written, last_time);
        logits[token] > NEVER
    }

    fn time(steps: u32) -> u32 {
        TIMES as u32 + steps
    }

    #[test]
    fn a_text_begins_with_a_word_or_an_early_time() {
        assert!(may(0, &[], None) && may(TIMES, &[], None) && may(TIMES + 50, &[], None));
        assert!(!may(TIMES + 51, &[], None) && !may(END, &[], None) && !may(2, &[], None));
        assert!(may(END, &[0], None) && may(2, &[0], None) && may(TIMES + 51, &[0], None));
    }

    #[test]
    fn marks_and_signs_never_come() {
        for written in [&[][..], &[0], &[0, 1]] {
            for token in [3, 50_257, 50_258, 50_357, 50_358, 50_360, 50_361, 50_362] {
                assert!(!may(token, written, None), "{token}");
            }
        }
    }

    #[test]
    fn times_come_in_pairs() {
        // Behind the time at the beginning: words alone.
        assert!(may(0, &[time(0)], None) && !may(TIMES + 1, &[time(0)], None));
        // Behind a segment's end: the next one's beginning, or the end of all.
        let end = [time(0), 0, time(9)];
        assert!(!may(0, &end, None) && may(TIMES + 9, &end, None) && may(END, &end, None));
        // Behind both: words.
        let both = [0, time(9), time(9)];
        assert!(may(0, &both, None) && !may(TIMES + 10, &both, None));
    }

    #[test]
    fn time_does_not_go_back() {
        assert!(!may(TIMES + 8, &[0], Some(9)) && may(TIMES + 9, &[0], Some(9)));
    }

    #[test]
    fn many_unlikely_times_win_over_one_likely_word() {
        let wins = |word: f32, each: f32| {
            let mut numbers = vec![-50.0; 51_864];
            numbers[0] = word;
            numbers[TIMES..].fill(each);
            time_over_words(&mut numbers, &vocabulary());
            numbers[0] == NEVER
        };
        // 1,501 times of e^-8 each are a half.
        assert!(wins(0.4_f32.ln(), -8.0) && !wins(0.6_f32.ln(), -8.0));
        assert!(!wins(0.1_f32.ln(), NEVER));
    }

    #[test]
    fn likelihoods_sum_up_to_one() {
        let logits = [1.0, -2.0, NEVER, 3.5];
        let sum: f64 = logits.iter().map(|logit: &f32| f64::from(*logit).exp()).sum();
        let mut out = Vec::new();
        log_softmax(&logits, &mut out);
        for (found, logit) in out.iter().zip(logits) {
            assert!((f64::from(found.exp()) - f64::from(logit).exp() / sum).abs() < 1e-6);
        }
    }
}
