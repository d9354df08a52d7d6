//! Tokens: the words and pieces of words that a model writes with, and its marks and times behind them.
//!
//! The marks have no words in a model's file; they are known by their numbers. Source: OpenAI's whisper, `tokenizer.py`,
//! and whisper.cpp's `whisper_vocab`, from memory.

use std::collections::HashMap;

use crate::file::File;

/// Tokens of an English vocabulary, marks and times among them; larger ones know more languages.
const ENGLISH: usize = 51_864;
/// The end of a text, in an English vocabulary; others have one word more.
const END: u32 = 50_256;
/// Languages for whose marks an English vocabulary leaves room.
const LANGUAGES: u32 = 99;
/// Marks of languages that are kept from being written.
const LANGUAGES_AT_MOST: u32 = 100;
/// What a vocabulary has beside the marks of its languages, where it knows more than English.
const BESIDE_LANGUAGES: u32 = 51_766;

/// Signs that stand for no speech.
const SIGNS: &[&str] = &[
    "\"",
    "#",
    "(",
    ")",
    "*",
    "+",
    "/",
    ":",
    ";",
    "<",
    "=",
    ">",
    "@",
    "[",
    "\\",
    "]",
    "^",
    "_",
    "`",
    "{",
    "|",
    "}",
    "~",
    "「",
    "」",
    "『",
    "』",
    "<<",
    ">>",
    "<<<",
    ">>>",
    "--",
    "---",
    "-(",
    "-[",
    "('",
    "(\"",
    "((",
    "))",
    "(((",
    ")))",
    "[[",
    "]]",
    "{{",
    "}}",
    "♪♪",
    "♪♪♪",
    "♩",
    "♪",
    "♫",
    "♬",
    "♭",
    "♮",
    "♯",
];
/// Signs that stand for none at the beginning of a word only.
const SIGNS_IN_FRONT: &[&str] = &[" -", " '"];
/// Endings that are cut off a word. Source: GPT-2's tokenizer, from memory.
const ENDINGS: &[&str] = &["'s", "'t", "'re", "'ve", "'m", "'ll", "'d"];

/// What the tokens of a model say, and which of them are marks.
pub struct Vocabulary {
    words: Vec<Vec<u8>>,
    ids: HashMap<Vec<u8>, u32>,
    /// How many tokens there are.
    pub count: usize,
    /// Ends a text; all tokens before it are words.
    pub end: u32,
    /// Begins a prompt of what was said before.
    pub previous: u32,
    /// Says that nobody speaks.
    pub no_speech: u32,
    /// Time zero; the times behind it are 20 ms apart.
    pub times: u32,
    /// What a text begins with: start, and for a model that knows more than English: English, to be written as it is.
    pub beginning: Vec<u32>,
    /// What is never written.
    pub suppressed: Vec<u32>,
}

impl Vocabulary {
    /// Takes the words of a file.
    pub fn new(file: &File) -> Self {
        let many = file.vocabulary > ENGLISH;
        let end = END + u32::from(many);
        let start = end + 1;
        // An English vocabulary leaves room for the marks of languages as well.
        let languages = if many { file.vocabulary as u32 - BESIDE_LANGUAGES } else { LANGUAGES };
        let translate = start + languages + 1;
        let [transcribe, last_model, previous, no_speech, no_times, times] =
            std::array::from_fn(|n| translate + 1 + n as u32);
        let ids: HashMap<Vec<u8>, u32> =
            file.words.iter().enumerate().map(|(n, word)| (word.clone(), n as u32)).collect();
        let mut suppressed = vec![no_times, start, no_speech, last_model, translate, transcribe, previous];
        suppressed.extend((0..LANGUAGES_AT_MOST).map(|language| start + 1 + language));
        suppressed.extend(signs().filter_map(|sign| ids.get(sign.as_bytes())));
        let beginning = if many { vec![start, start + 1, transcribe] } else { vec![start] };
        let (words, count) = (file.words.clone(), file.vocabulary);
        Self { words, ids, count, end, previous, no_speech, times, beginning, suppressed }
    }

    /// What a token says; nothing where it is a mark or a time.
    pub fn said(&self, token: u32) -> &[u8] {
        self.words.get(token as usize).filter(|_| token < self.end).map_or(&[], Vec::as_slice)
    }

    /// The token of a blank by itself.
    pub fn blank(&self) -> Option<u32> {
        self.ids.get(&b" "[..]).copied()
    }

    /// The tokens of a text: of each word, the longest pieces known. Bytes that no piece has are left out.
    pub fn tokens(&self, text: &str) -> Vec<u32> {
        let mut out = Vec::new();
        let mut rest = text.as_bytes();
        while !rest.is_empty() {
            let (word, after) = rest.split_at(word_length(rest));
            self.pieces(word, &mut out);
            rest = after;
        }
        out
    }

    fn pieces(&self, mut word: &[u8], out: &mut Vec<u32>) {
        while !word.is_empty() {
            let longest = (1..=word.len()).rev().find_map(|n| Some((n, *self.ids.get(&word[..n])?)));
            out.extend(longest.map(|(_, id)| id));
            word = &word[longest.map_or(1, |(length, _)| length)..];
        }
    }
}

/// All signs, alone and at the beginning of a word.
fn signs() -> impl Iterator<Item = String> {
    let both = SIGNS.iter().flat_map(|sign| [(*sign).to_owned(), format!(" {sign}")]);
    both.chain(SIGNS_IN_FRONT.iter().map(|sign| (*sign).to_owned()))
}

#[derive(PartialEq)]
enum Kind {
    Letter,
    Digit,
    Blank,
    Other,
}

fn kind(byte: u8) -> Kind {
    match byte {
        _ if byte.is_ascii_alphabetic() => Kind::Letter,
        _ if byte.is_ascii_digit() => Kind::Digit,
        _ if byte.is_ascii_whitespace() => Kind::Blank,
        _ => Kind::Other,
    }
}

/// Bytes of the first word of a text that is not empty: an ending, or bytes of one kind with a blank in front.
fn word_length(text: &[u8]) -> usize {
    if let Some(ending) = ENDINGS.iter().find(|ending| text.starts_with(ending.as_bytes())) {
        return ending.len();
    }
    let blank = text[0] == b' ' && text.get(1).is_some_and(|next| kind(*next) != Kind::Blank);
    let begin = usize::from(blank);
    let of = kind(text[begin]);
    let end = begin + text[begin..].iter().take_while(|byte| kind(**byte) == of).count();
    // White space before a word keeps its last blank for the word.
    match of == Kind::Blank && end < text.len() && end > 1 {
        true => end - 1,
        false => end,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::file::tests::small;

    #[test]
    fn text_is_cut_into_the_longest_pieces_known() {
        let file = small(&[" ", "a", "b", " ab", "ab", "1", "2", ".", " a", "'s"]);
        let vocabulary = Vocabulary::new(&file);
        assert_eq!(vocabulary.tokens(" ab12.a's  ab?"), [3, 5, 6, 7, 1, 9, 0, 3]);
        assert_eq!(vocabulary.tokens("  "), [0, 0]);
        assert!(vocabulary.tokens("").is_empty());
    }

    #[test]
    fn marks_stand_where_the_published_tokenizer_has_them() {
        // OpenAI's whisper, tokenizer.py, and whisper.cpp: end, previous, no speech, time zero; from memory.
        let marks = |count| {
            let v = Vocabulary::new(&crate::file::File { vocabulary: count, ..small(&[]) });
            (v.end, v.beginning.clone(), v.previous, v.no_speech, v.times)
        };
        assert_eq!(marks(51_864), (50_256, vec![50_257], 50_360, 50_361, 50_363));
        assert_eq!(marks(51_865), (50_257, vec![50_258, 50_259, 50_359], 50_361, 50_362, 50_364));
        assert_eq!(marks(51_866), (50_257, vec![50_258, 50_259, 50_360], 50_362, 50_363, 50_365));
    }

    #[test]
    fn signs_are_suppressed_and_marks_say_nothing() {
        let vocabulary = Vocabulary::new(&small(&["a", "(", " (", " -", "-"]));
        let of_words: Vec<u32> = vocabulary.suppressed.iter().copied().filter(|id| *id < 5).collect();
        assert_eq!(of_words, [1, 2, 3]);
        assert_eq!(vocabulary.said(0), b"a");
        assert!(vocabulary.said(vocabulary.end).is_empty() && vocabulary.said(9).is_empty());
    }
}
