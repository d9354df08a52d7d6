//! Words that are one slip away: a letter too many, one too few, a wrong one, or two neighbours swapped.
//!
//! The index holds stems, so the slip is undone in the word as it was written and the result is stemmed, not the
//! other way round: "steerng" is one letter from "steering", and two from its stem "steer".

use std::collections::BTreeSet;

use tantivy::tokenizer::TextAnalyzer;

/// Shorter words have too many neighbours to guess among.
const LEAST_LETTERS: usize = 4;

/// The stems of all words that are one slip away from a word; none for a short one or one that isn't plain letters.
pub(super) fn neighbours(word: &str, analyzer: &mut TextAnalyzer) -> BTreeSet<String> {
    let letters = word.as_bytes();
    if letters.len() < LEAST_LETTERS || !letters.iter().all(u8::is_ascii_lowercase) {
        return BTreeSet::new();
    }
    let mut words = BTreeSet::new();
    let mut keep = |letters: &[u8]| {
        words.insert(String::from_utf8_lossy(letters).into_owned());
    };
    let mut changed = Vec::with_capacity(letters.len() + 1);
    for at in 0..=letters.len() {
        for letter in b'a'..=b'z' {
            changed.clear();
            changed.extend_from_slice(&letters[..at]);
            changed.push(letter);
            changed.extend_from_slice(&letters[at..]);
            keep(&changed);
            if at < letters.len() {
                changed.remove(at + 1);
                keep(&changed);
            }
        }
        if at < letters.len() {
            changed.clear();
            changed.extend_from_slice(letters);
            changed.remove(at);
            keep(&changed);
        }
        if at + 1 < letters.len() {
            changed.clear();
            changed.extend_from_slice(letters);
            changed.swap(at, at + 1);
            keep(&changed);
        }
    }
    words.iter().filter_map(|word| stems(word, analyzer).pop()).collect()
}

/// The stems of a text's words, in order.
pub(super) fn stems(text: &str, analyzer: &mut TextAnalyzer) -> Vec<String> {
    let mut stems = Vec::new();
    analyzer.token_stream(text).process(&mut |token| stems.push(token.text.clone()));
    stems
}

#[cfg(test)]
mod tests {
    use super::*;
    use tantivy::tokenizer::TokenizerManager;

    #[test]
    fn one_slip_leads_to_the_stem_and_two_do_not() {
        let mut analyzer = TokenizerManager::default().get("en_stem").unwrap();
        let mut leads = |from: &str, to: &str| {
            let stem = stems(to, &mut analyzer).pop().unwrap();
            neighbours(from, &mut analyzer).contains(&stem)
        };
        for slip in ["heatr", "heatter", "haeter", "hester", "eater"] {
            assert!(leads(slip, "heater"), "{slip}");
        }
        assert!(leads("steerng", "steering"));
        assert!(leads("staysial", "staysails"));
        assert!(!leads("hetr", "heater"));
        assert!(!leads("rig", "wig"));
        assert!(!leads("15kn", "16kn"));
    }
}
