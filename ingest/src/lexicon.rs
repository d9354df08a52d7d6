//! Phrases and patterns over tokens: the one way in which words of `lexicon/*.toml` are looked for.
//!
//! A [`Pattern`] is written as its words stand in a note, with a few signs:
//!
//! | written | matches |
//! | --- | --- |
//! | `hose` | this word, in any case |
//! | `is\|was\|'s` | one of these words |
//! | `very?` | this word or nothing |
//! | `*` | up to three words of the same sentence, or none |
//! | `**` | up to eight words of the same sentence, or none |
//! | `#` | one number token |
//! | `_` | exactly one word |
//! | `i`, `my` | this word, or "we", "our": what one speaker says two say alike, and the other way round |
//! | `n't` | "not" or any verb with it: `don't`, `wasn't`, `couldn't`, with or without the apostrophe |
//!
//! Words match across hyphens and line ends, commas only where the pattern has a `*`, never across the end of a
//! sentence. Patterns are found through their first two words, so a text's cost does not grow with the size of the
//! lexicon.

mod ahead;

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};
use std::ops::Range;
use std::sync::OnceLock;

pub use ahead::{Ahead, BuiltIn, look_ahead};
use ahead::{FAR, NEAR, two};

use crate::token::{Gap, Kind, Token};
use crate::word::key;

/// Takes a word's key for the hash that it is.
#[derive(Clone, Copy, Debug, Default)]
struct Key(u64);

impl Hasher for Key {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = self.0.rotate_left(8) ^ u64::from(byte);
        }
    }

    fn write_u64(&mut self, key: u64) {
        self.0 = key;
    }
}

type ByKey<T> = HashMap<u64, T, BuildHasherDefault<Key>>;

/// Words one of which may stand in a place, by their keys. Those have 64 bits, so that no other word is taken for one of
/// them; beside the words themselves, thousands of patterns would not stay near the processor.
#[derive(Clone, Debug)]
struct OneOf {
    first: u64,
    /// The other keys; most places have none.
    others: Box<[u64]>,
    /// A bit for each key: nearly every word that is none of them is told by that.
    bits: u64,
}

impl OneOf {
    fn new(words: &[String]) -> Self {
        let keys: Vec<u64> = words.iter().map(|word| key(word)).collect();
        let bits = keys.iter().fold(0, |bits, &key| bits | Self::bit(key));
        let (&first, others) = keys.split_first().expect("what is split has a part");
        Self { first, others: others.into(), bits }
    }

    fn bit(key: u64) -> u64 {
        1 << (key % 64)
    }

    fn keys(&self) -> impl Iterator<Item = u64> {
        std::iter::once(self.first).chain(self.others.iter().copied())
    }

    fn has(&self, token: &Token<'_>) -> bool {
        token.key == self.first || self.bits & Self::bit(token.key) != 0 && self.others.contains(&token.key)
    }
}

/// Bits for the keys of a set of words, two a word among some sixteen: most of a note's words are in none of the many sets
/// that they are looked for in, and are told so by bits that lie near.
#[derive(Clone, Debug, Default)]
struct Bits(Vec<u64>);

impl Bits {
    fn of(keys: impl ExactSizeIterator<Item = u64>) -> Self {
        let mut bits = vec![0; (keys.len() / 4 + 1).next_power_of_two()];
        for key in keys {
            let at = Self::place(&bits, key);
            bits[at] |= Self::two(key);
        }
        Self(bits)
    }

    /// The bits of a key in its place.
    fn two(key: u64) -> u64 {
        1 << (key % 64) | 1 << ((key >> 32) % 64)
    }

    fn place(bits: &[u64], key: u64) -> usize {
        (key >> 6) as usize & bits.len().wrapping_sub(1)
    }

    /// Whether a key may be one of them.
    #[inline]
    fn may_have(&self, key: u64) -> bool {
        let two = Self::two(key);
        self.0.get(Self::place(&self.0, key)).is_some_and(|bits| bits & two == two)
    }
}

#[derive(Clone, Debug)]
enum Part {
    Words(OneOf, bool),
    Skip(usize),
    Number,
    Any,
}

/// Words with what each stands for, looked up by their keys.
#[derive(Clone, Debug)]
pub struct WordMap<T> {
    bits: Bits,
    words: ByKey<T>,
}

impl<T> WordMap<T> {
    /// Takes words in lower case.
    pub fn new<'w>(words: impl IntoIterator<Item = (&'w str, T)>) -> Self {
        let words: ByKey<T> = words.into_iter().map(|(word, value)| (key(word), value)).collect();
        Self { bits: Bits::of(words.keys().copied()), words }
    }

    /// What a token stands for, where it is one of them.
    #[inline]
    pub fn get(&self, token: &Token<'_>) -> Option<&T> {
        self.at(token.key)
    }

    #[inline]
    fn at(&self, key: u64) -> Option<&T> {
        if self.bits.may_have(key) { self.words.get(&key) } else { None }
    }
}

/// A set of words.
#[derive(Clone, Debug)]
pub struct WordSet(WordMap<()>);

impl WordSet {
    /// Takes the words, in lower case, parted by white space.
    pub fn new(written: &str) -> Self {
        Self(WordMap::new(written.split_whitespace().map(|word| (word, ()))))
    }

    /// Whether a token is one of them.
    #[inline]
    pub fn has(&self, token: &Token<'_>) -> bool {
        self.0.get(token).is_some()
    }

    /// Whether a word in lower case is one of them.
    pub fn holds(&self, word: &str) -> bool {
        self.0.at(key(word)).is_some()
    }
}

/// A set of words that is written in the program, and made ready at first use.
pub struct Words {
    written: &'static str,
    set: OnceLock<WordSet>,
}

impl Words {
    /// Takes the words, in lower case, parted by white space.
    pub const fn new(written: &'static str) -> Self {
        Self { written, set: OnceLock::new() }
    }

    /// Whether a token is one of them.
    #[inline]
    pub fn has(&self, token: &Token<'_>) -> bool {
        self.set().has(token)
    }

    /// Whether a word in lower case is one of them.
    pub fn holds(&self, word: &str) -> bool {
        self.set().holds(word)
    }

    fn set(&self) -> &WordSet {
        self.set.get_or_init(|| WordSet::new(self.written))
    }
}

/// A sequence of words with alternatives, options and gaps.
#[derive(Clone, Debug)]
pub struct Pattern {
    parts: Vec<Part>,
}

impl Pattern {
    /// Reads a pattern as written in a lexicon file. Errors: empty, or one whose first part is a gap or an option
    /// (it could not be found by its first word).
    pub fn new(written: &str) -> Result<Self, String> {
        let mut parts = Vec::new();
        for part in written.split_whitespace() {
            parts.push(match part {
                "*" => Part::Skip(3),
                "**" => Part::Skip(8),
                "#" => Part::Number,
                "_" => Part::Any,
                _ => {
                    let (word, optional) = match part.strip_suffix('?') {
                        Some(word) => (word, true),
                        None => (part, false),
                    };
                    let mut words: Vec<String> = word.split('|').flat_map(alternatives).collect();
                    words.sort_unstable();
                    words.dedup();
                    Part::Words(OneOf::new(&words), optional)
                }
            });
        }
        match parts.first() {
            Some(Part::Words(_, false) | Part::Number) => Ok(Self { parts }),
            Some(_) => Err(format!("pattern \"{written}\" must begin with a word")),
            None => Err("a pattern needs a word".to_owned()),
        }
    }

    /// The keys of the words that it may begin with, none where it is a number, and of the word that must stand behind, if
    /// one must.
    fn beginning(&self) -> (Vec<u64>, Option<Vec<u64>>) {
        match self.parts.as_slice() {
            [Part::Words(first, _), Part::Words(second, false), ..] => {
                (first.keys().collect(), Some(second.keys().collect()))
            }
            [Part::Words(first, _), ..] => (first.keys().collect(), None),
            _ => (Vec::new(), None),
        }
    }

    /// What must stand shortly behind its first words, of which so many are known to stand there.
    fn needs(&self, known: usize) -> Needs {
        let mut needs = Needs::default();
        let mut furthest = 0;
        for (index, part) in self.parts.iter().enumerate() {
            if let Part::Words(words, false) = part
                && index >= known
            {
                match furthest {
                    1..=NEAR => needs.near = fewer(needs.near, words.bits),
                    ..=FAR if furthest > 0 => needs.far = fewer(needs.far, words.bits),
                    _ => {}
                }
            }
            furthest += if let Part::Skip(most) = part { *most } else { 1 };
        }
        needs
    }

    /// Length in tokens of the longest match that begins at `tokens[at]`.
    pub fn match_at(&self, tokens: &[Token<'_>], at: usize) -> Option<usize> {
        longest(&self.parts, tokens, at, true).map(|end| end - at)
    }
}

/// The words that one word of a pattern stands for. What one speaker says of "I" two speakers say of "we".
fn alternatives(word: &str) -> Vec<String> {
    let word = word.to_lowercase();
    let all: &[&str] = match word.as_str() {
        "n't" => return negations(),
        "i" | "we" => &["i", "we"],
        "me" | "us" => &["me", "us"],
        "my" | "our" => &["my", "our"],
        "myself" => &["myself", "ourselves"],
        _ => return vec![word],
    };
    all.iter().map(|&word| word.to_owned()).collect()
}

/// "Not", and every verb with it.
fn negations() -> Vec<String> {
    const NEGATED: &[&str] = &[
        "do", "does", "did", "is", "was", "are", "were", "has", "have", "had", "would", "could", "should",
        "must", "need",
    ];
    // A recogniser often leaves the apostrophe out.
    let verbs = NEGATED.iter().flat_map(|verb| [format!("{verb}n't"), format!("{verb}nt")]);
    let odd = ["not", "won't", "wont", "can't", "cant", "cannot", "ain't"].map(str::to_owned);
    verbs.chain(odd).collect()
}

fn longest(parts: &[Part], tokens: &[Token<'_>], at: usize, first: bool) -> Option<usize> {
    let Some((part, rest)) = parts.split_first() else { return Some(at) };
    let joined = |at: usize, most: Gap| tokens.get(at).filter(|t| first || t.gap <= most);
    match part {
        Part::Words(words, optional) => {
            let taken = joined(at, Gap::Line)
                .filter(|t| words.has(t))
                .and_then(|_| longest(rest, tokens, at + 1, false));
            if *optional { taken.max(longest(rest, tokens, at, first)) } else { taken }
        }
        Part::Number => {
            joined(at, Gap::Line).filter(|t| t.kind == Kind::Number)?;
            longest(rest, tokens, at + 1, false)
        }
        Part::Any => {
            joined(at, Gap::Line)?;
            longest(rest, tokens, at + 1, false)
        }
        Part::Skip(most) => {
            // The nearest continuation wins: a gap is there to bridge, not to swallow.
            for skipped in 0..=*most {
                let here = at + skipped;
                if skipped > 0 && tokens.get(here - 1).is_none_or(|t| t.gap >= Gap::Sentence) {
                    return None;
                }
                // A gap also bridges a comma in front of the next word.
                let bridged = tokens.get(here).is_some_and(|t| t.gap < Gap::Sentence);
                if (rest.is_empty() || bridged)
                    && let Some(end) = longest(rest, tokens, here, true)
                {
                    return Some(end);
                }
            }
            None
        }
    }
}

/// Many patterns, each with a value, found through their first words.
#[derive(Clone, Debug)]
pub struct Patterns<T> {
    /// Those that a certain second word must follow, by both: most do, and words like "the" begin hundreds.
    by_two: ByKey<Candidates>,
    /// All others that begin with a word, by that word.
    by_first: ByKey<Candidates>,
    /// Of the keys of both; made when the first is looked up after one was added.
    bits: OnceLock<(Bits, Bits)>,
    /// Of a set that is built in, its bit in what tokens note of such sets.
    noted: OnceLock<u32>,
    by_number: Vec<Candidate>,
    all: Vec<(Pattern, T)>,
}

/// A pattern that may match where its first words stand.
#[derive(Clone, Copy, Debug)]
struct Candidate {
    index: u32,
    /// How many of its words it is found by.
    known: u32,
    needs: Needs,
}

/// Patterns that may match where the same words stand, in the order in which they were added.
#[derive(Clone, Debug, Default)]
struct Candidates {
    /// What one of them or another needs.
    needs: Needs,
    all: Vec<Candidate>,
}

impl Candidates {
    fn push(&mut self, candidate: Candidate) {
        self.needs = if self.all.is_empty() { candidate.needs } else { self.needs.or(candidate.needs) };
        self.all.push(candidate);
    }

    /// Those of them that may match where a token stands: most often none, which is told before any is looked at.
    fn may_follow(&self, token: &Token<'_>) -> &[Candidate] {
        if self.needs.may_follow(token) { &self.all } else { &[] }
    }
}

/// Bits of words one of which must stand shortly behind a token; none are needed where there are none.
#[derive(Clone, Copy, Debug, Default)]
struct Needs {
    near: u64,
    far: u64,
}

impl Needs {
    /// What either needs: nothing of what one of them does without.
    fn or(self, other: Self) -> Self {
        let either = |a: u64, b: u64| if a == 0 || b == 0 { 0 } else { a | b };
        Self { near: either(self.near, other.near), far: either(self.far, other.far) }
    }

    /// Whether what is needed may stand behind a token: most patterns are told not to match by that.
    fn may_follow(&self, token: &Token<'_>) -> bool {
        let has = |needed: u64, ahead: u64| needed == 0 || needed & ahead != 0;
        has(self.near, token.ahead.near) && has(self.far, token.ahead.far)
    }
}

/// Of the bits of two sets of words those that tell more words apart, where there are any.
fn fewer(a: u64, b: u64) -> u64 {
    if a == 0 || b.count_ones() < a.count_ones() { b } else { a }
}

impl Candidate {
    fn new(index: u32, pattern: &Pattern, known: u32) -> Self {
        Self { index, known, needs: pattern.needs(known as usize) }
    }
}

/// A match of one of many patterns.
#[derive(Clone, Copy, Debug)]
pub struct Match<'p, T> {
    /// Index of its first token.
    pub start: usize,
    /// One past its last token.
    pub end: usize,
    /// What the pattern stands for.
    pub value: &'p T,
}

impl<T> Default for Patterns<T> {
    fn default() -> Self {
        Self {
            by_two: ByKey::default(),
            by_first: ByKey::default(),
            bits: OnceLock::new(),
            noted: OnceLock::new(),
            by_number: Vec::new(),
            all: Vec::new(),
        }
    }
}

impl<T> Patterns<T> {
    /// Reads many patterns. Errors: the first that does not read, by its text.
    pub fn new<S: AsRef<str>>(written: impl IntoIterator<Item = (S, T)>) -> Result<Self, String> {
        let mut patterns = Self::default();
        for (text, value) in written {
            patterns.add(text.as_ref(), value)?;
        }
        Ok(patterns)
    }

    /// Adds one. Errors: as [`Pattern::new`].
    pub fn add(&mut self, written: &str, value: T) -> Result<(), String> {
        let pattern = Pattern::new(written)?;
        let index = u32::try_from(self.all.len()).map_err(|_| "too many patterns".to_owned())?;
        match pattern.beginning() {
            (first, Some(seconds)) => {
                let candidate = Candidate::new(index, &pattern, 2);
                for first in first {
                    for &second in &seconds {
                        self.by_two.entry(two(first, second)).or_default().push(candidate);
                    }
                }
            }
            (first, None) if first.is_empty() => self.by_number.push(Candidate::new(index, &pattern, 1)),
            (first, None) => {
                let candidate = Candidate::new(index, &pattern, 1);
                for key in first {
                    self.by_first.entry(key).or_default().push(candidate);
                }
            }
        }
        self.bits.take();
        self.noted.take();
        self.all.push((pattern, value));
        Ok(())
    }

    /// The longest match that begins at `tokens[at]`; of equal ones, the pattern that was added first.
    #[inline]
    pub fn at<'p>(&'p self, tokens: &[Token<'_>], at: usize) -> Option<Match<'p, T>> {
        if self.may_begin(tokens.get(at)?) { self.longest_at(tokens, at) } else { None }
    }

    fn longest_at<'p>(&'p self, tokens: &[Token<'_>], at: usize) -> Option<Match<'p, T>> {
        let mut best: Option<Match<'p, T>> = None;
        self.each_at(tokens, at, |m| {
            if best.as_ref().is_none_or(|best| m.end > best.end) {
                best = Some(m);
            }
        });
        best
    }

    /// Every match that begins at `tokens[at]`, in the order the patterns were added; none behind the last token.
    pub fn all_at<'p>(&'p self, tokens: &[Token<'_>], at: usize) -> Vec<Match<'p, T>> {
        let mut out = Vec::new();
        if tokens.get(at).is_some_and(|token| self.may_begin(token)) {
            self.each_at(tokens, at, |m| out.push(m));
        }
        out
    }

    /// Every match of a text, in the order of their first tokens, else in that in which the patterns were added.
    pub fn all<'p>(&'p self, tokens: &[Token<'_>]) -> Vec<Match<'p, T>> {
        let may_begin = self.beginnings();
        let mut out = Vec::new();
        for at in (0..tokens.len()).filter(|&at| may_begin(&tokens[at])) {
            self.each_at(tokens, at, |m| out.push(m));
        }
        out
    }

    fn each_at<'p>(&'p self, tokens: &[Token<'_>], at: usize, mut found: impl FnMut(Match<'p, T>)) {
        let (mut by_two, mut others) = self.candidates(&tokens[at]);
        // Both lists are in the order of adding, and so is what comes of them.
        loop {
            let from = match (by_two.first(), others.first()) {
                (Some(a), Some(b)) if a.index < b.index => &mut by_two,
                (Some(_), None) => &mut by_two,
                _ => &mut others,
            };
            let Some(candidate) = from.split_off_first() else { return };
            if candidate.needs.may_follow(&tokens[at]) {
                let (pattern, value) = &self.all[candidate.index as usize];
                // The words by which it was found stand there.
                let known = candidate.known as usize;
                if let Some(end) = longest(&pattern.parts[known..], tokens, at + known, false) {
                    found(Match { start: at, end, value });
                }
            }
        }
    }

    /// Whether any pattern may begin with a token: most of a note's words begin none, and are told so at once.
    #[inline]
    pub(crate) fn may_begin(&self, token: &Token<'_>) -> bool {
        self.beginnings()(token)
    }

    #[inline]
    fn beginnings(&self) -> impl Fn(&Token<'_>) -> bool + use<'_, T> {
        let noted = self.noted.get().copied();
        move |token| match noted {
            Some(bit) => token.ahead.begins & bit != 0,
            None => self.may_begin_unnoted(token),
        }
    }

    fn may_begin_unnoted(&self, token: &Token<'_>) -> bool {
        let (two, first) = self.bits();
        match token.kind {
            Kind::Number => !self.by_number.is_empty(),
            _ => first.may_have(token.key) || two.may_have(token.ahead.two),
        }
    }

    /// The patterns that may begin with a token and the one behind it, and those that may begin with it.
    fn candidates(&self, token: &Token<'_>) -> (&[Candidate], &[Candidate]) {
        if token.kind == Kind::Number {
            return (&[], &self.by_number);
        }
        let (two, first) = self.bits();
        let by_two = two.may_have(token.ahead.two).then(|| self.by_two.get(&token.ahead.two)).flatten();
        let by_first = first.may_have(token.key).then(|| self.by_first.get(&token.key)).flatten();
        (
            by_two.map_or(&[], |those| those.may_follow(token)),
            by_first.map_or(&[], |those| those.may_follow(token)),
        )
    }

    fn bits(&self) -> &(Bits, Bits) {
        let of = |by: &ByKey<Candidates>| Bits::of(by.keys().copied());
        self.bits.get_or_init(|| (of(&self.by_two), of(&self.by_first)))
    }

    /// As [`Self::find`] for each of `N` kinds by itself, in one pass over the text.
    pub fn find_by_kind<const N: usize>(
        &self,
        tokens: &[Token<'_>],
        kind: impl Fn(&T) -> usize,
    ) -> [Vec<Range<usize>>; N] {
        let mut found = [const { Vec::<Range<usize>>::new() }; N];
        let may_begin = self.beginnings();
        for at in (0..tokens.len()).filter(|&at| may_begin(&tokens[at])) {
            let mut longest = [0; N];
            self.each_at(tokens, at, |m| {
                let longest = &mut longest[kind(m.value)];
                *longest = m.end.max(*longest);
            });
            for (found, end) in found.iter_mut().zip(longest) {
                if end > at && found.last().is_none_or(|last| last.end <= at) {
                    found.push(at..end);
                }
            }
        }
        found
    }

    /// All matches from left to right, longest first at each place, none overlapping another.
    pub fn find<'p>(&'p self, tokens: &[Token<'_>]) -> Vec<Match<'p, T>> {
        let mut found = Vec::new();
        let mut at = 0;
        let may_begin = self.beginnings();
        while let Some(skipped) = tokens.get(at..).and_then(|rest| rest.iter().position(&may_begin)) {
            at += skipped;
            match self.longest_at(tokens, at) {
                Some(m) => {
                    at = m.end.max(at + 1);
                    found.push(m);
                }
                None => at += 1,
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    fn found(patterns: &[&str], line: &str) -> Vec<String> {
        let utterance = Utterance::line(line);
        let tokens = crate::token::tokens(line, &[utterance]);
        let patterns = Patterns::new(patterns.iter().map(|p| (*p, ()))).expect("patterns read");
        patterns
            .find(&tokens)
            .iter()
            .map(|m| line[tokens[m.start].span.start..tokens[m.end - 1].span.end].to_owned())
            .collect()
    }

    #[test]
    fn patterns_match_as_documented() {
        assert_eq!(
            found(&["haven't|never * tried"], "We have never once tried it. I haven't tried."),
            ["never once tried", "haven't tried"]
        );
        assert_eq!(found(&["never * tried"], "Never. Tried it."), Vec::<String>::new());
        assert_eq!(found(&["not very? good"], "not good, not very good"), ["not good", "not very good"]);
        assert_eq!(found(&["# of the"], "12 of the best"), ["12 of the"]);
        assert_eq!(
            found(&["i 'd trust my"], "We'd trust our own, I'd trust my"),
            ["We'd trust our", "I'd trust my"]
        );
        assert_eq!(found(&["south west", "south"], "South-west, then south"), ["South-west", "south"]);
        assert_eq!(found(&["tried * bone dry"], "tried it and, bone dry"), ["tried it and, bone dry"]);
    }

    #[test]
    fn kinds_are_found_each_by_itself() {
        let line = "Tried the hose, the hose held. Never tried the long hose again.";
        let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
        let kinds: [&[&str]; 3] = [&["the hose", "tried the"], &["the long? hose", "hose held"], &["never"]];
        let all =
            kinds.iter().enumerate().flat_map(|(kind, written)| written.iter().map(move |w| (*w, kind)));
        let together: [Vec<Range<usize>>; 3] =
            Patterns::new(all).expect("patterns read").find_by_kind(&tokens, |&kind| kind);
        let apart = kinds.map(|written| {
            let patterns = Patterns::new(written.iter().map(|w| (*w, ()))).expect("patterns read");
            patterns.find(&tokens).into_iter().map(|m| m.start..m.end).collect::<Vec<_>>()
        });
        assert_eq!(together, apart);
        assert!(apart.iter().all(|found| !found.is_empty()));
    }

    #[test]
    fn no_match_is_passed_over_by_what_lies_ahead() {
        const PATTERNS: &[&str] = &[
            "not|never",
            "not very? good",
            "the * hose",
            "the ** burst|split",
            "# of the|a",
            "hose _ _ off",
            "n't * let go",
            "the hose",
            "went? over off",
            "the very? very? good hose",
        ];
        let all: Vec<Pattern> = PATTERNS.iter().filter_map(|p| Pattern::new(p).ok()).collect();
        assert_eq!(all.len(), PATTERNS.len() - 1, "an option begins none");
        let many = Patterns::new(PATTERNS.iter().filter(|p| !p.starts_with("went?")).map(|p| (*p, ())))
            .expect("patterns read");
        let words = [
            "the", "hose", "not", "very", "good", "burst", "12", "of", "let", "go", "doesn't", "off", "and,",
            "split.", "a", "heater", "never",
        ];
        // Every word after every other, in an order of its own each time.
        let line: Vec<&str> = (0..3000_usize).map(|n| words[(n * n + n / 7) % words.len()]).collect();
        let line = line.join(" ");
        let tokens = crate::token::tokens(&line, &[Utterance::line(&line)]);
        let mut matches = 0;
        for at in 0..tokens.len() {
            let slow: Vec<usize> = all.iter().filter_map(|p| p.match_at(&tokens, at)).collect();
            let fast: Vec<usize> = many.all_at(&tokens, at).iter().map(|m| m.end - m.start).collect();
            assert_eq!(fast, slow, "at {at}");
            matches += fast.len();
        }
        assert!(matches > 500, "{matches}");
    }

    #[test]
    fn a_pattern_begins_with_a_word() {
        assert!(Pattern::new("* dry").is_err());
        assert!(Pattern::new("").is_err());
        assert!(Pattern::new("very? dry").is_err());
    }
}
