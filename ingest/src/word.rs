//! Words that are written in the program, made ready to be compared when it is built.
//!
//! A note's words are looked for in hundreds of short lists. Each word has a key, each list the keys of its words, and a
//! few bits that tell most words to be none of them.

/// A word's hash, by which it is compared with others and looked up. Takes it in lower case.
#[inline(always)]
pub const fn key(word: &str) -> u64 {
    const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;
    // Two that differ stay different.
    const fn mix(key: u64, with: u64) -> u64 {
        let spread = (key ^ with).wrapping_mul(SPREAD);
        spread ^ spread >> 32
    }
    let mut bytes = word.as_bytes();
    let mut key = mix(SPREAD, bytes.len() as u64);
    while let Some((eight, rest)) = bytes.split_first_chunk::<8>() {
        key = mix(key, u64::from_le_bytes(*eight));
        bytes = rest;
    }
    // What is left are seven bytes at most: two fours that overlap, or the first, middle and last.
    let left = match (bytes.first_chunk::<4>(), bytes.last_chunk::<4>()) {
        (Some(first), Some(last)) => {
            u32::from_le_bytes(*first) as u64 | (u32::from_le_bytes(*last) as u64) << 32
        }
        _ if bytes.is_empty() => 0,
        _ => bytes[0] as u64 | (bytes[bytes.len() / 2] as u64) << 8 | (bytes[bytes.len() - 1] as u64) << 16,
    };
    mix(key, left)
}

/// A list of words, written as `words!["port", "starboard"]`.
#[derive(Debug)]
pub struct WordList<Keys: ?Sized = [u64]> {
    bits: [u64; 4],
    keys: Keys,
}

impl<const N: usize> WordList<[u64; N]> {
    /// Takes the words in lower case.
    pub const fn new(words: [&str; N]) -> Self {
        let (mut bits, mut keys) = ([0; 4], [0; N]);
        let mut i = 0;
        while i < N {
            keys[i] = key(words[i]);
            let (at, bit) = place(keys[i]);
            bits[at] |= bit;
            i += 1;
        }
        Self { bits, keys }
    }
}

impl WordList {
    /// Whether the word with this key is one of them.
    #[inline]
    pub fn has(&self, key: u64) -> bool {
        let (at, bit) = place(key);
        self.bits[at] & bit != 0 && self.keys.contains(&key)
    }
}

/// Which of the bits is that of a key.
const fn place(key: u64) -> (usize, u64) {
    ((key >> 6) as usize % 4, 1 << (key % 64))
}

/// A [`WordList`] of words that are written in the program.
macro_rules! words {
    ($($word:expr),* $(,)?) => {
        const { &$crate::word::WordList::new([$($word),*]) }
    };
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use super::*;

    #[test]
    fn a_list_has_its_words_and_no_others() {
        let list: &WordList = words!["a", "port", "starboard", "it's", "north-north-east", "°"];
        for word in ["a", "port", "starboard", "it's", "north-north-east", "°"] {
            assert!(list.has(key(word)), "{word}");
        }
        for word in ["", "b", "aa", "ports", "starbord", "its", "north-north-west", "n"] {
            assert!(!list.has(key(word)), "{word}");
        }
        let none: &WordList = words![];
        assert!(!none.has(key("")));
    }

    #[test]
    fn words_have_keys_of_their_own() {
        let letters: Vec<String> = ('a'..='z').map(String::from).collect();
        let longer = |all: &[String]| -> Vec<String> {
            all.iter().flat_map(|a| letters.iter().map(move |b| format!("{a}{b}"))).collect()
        };
        let (two, three) = (longer(&letters), longer(&longer(&letters)));
        let doubled = three.iter().map(|word| format!("{word}{word}-{word}"));
        let mut seen: HashMap<u64, String> = HashMap::new();
        for word in letters.iter().chain(&two).chain(&three).cloned().chain(doubled) {
            if let Some(other) = seen.insert(key(&word), word.clone()) {
                panic!("{word} and {other} have one key");
            }
        }
    }
}
