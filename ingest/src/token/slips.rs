//! Slips of the tongue and of the thumb: hesitations, small words said twice, and apostrophes left out.
//!
//! "It was um it was fourteen" says "it was fourteen", and "didnt" is "didn't": what comes after reads them alike. Only
//! tokens change; the note's words stay, and quotes hold them.

use std::borrow::Cow;
use std::sync::LazyLock;

use super::{Gap, Kind, Token};
use crate::found::{Span, Utterance, UtteranceKind};
use crate::lexicon::WordMap;
use crate::number::is_number_word;
use crate::word::{WordList, key};

/// Sounds of a person who looks for words.
const HESITATIONS: &WordList = words!["um", "umm", "uhm", "uh", "uhh", "er", "erm", "hmm", "hm"];

/// Words that a person says twice while looking for the next one. "No" and "had" are none: they may be meant twice.
const SMALL: &WordList = words![
    "the", "a", "an", "and", "but", "so", "or", "it", "i", "we", "he", "she", "they", "you", "that", "this",
    "is", "was", "are", "were", "'s", "'m", "'ve", "'re", "'ll", "'d", "of", "in", "at", "to", "for", "with",
    "from", "my", "our", "if", "when", "as", "has", "have", "been", "there", "don't", "didn't",
];

/// Most small words that are said twice in one go: "and it's and it's".
const LONGEST: usize = 3;

/// Words without their apostrophe that are no words otherwise, and how much of each stands in front of its clitic; where
/// that is nothing, the whole is one word.
#[rustfmt::skip]
const LEFT_OUT: &[(&str, &str, &str)] = &[
    ("dont", "", "don't"), ("didnt", "", "didn't"), ("doesnt", "", "doesn't"), ("wasnt", "", "wasn't"),
    ("werent", "", "weren't"), ("isnt", "", "isn't"), ("arent", "", "aren't"), ("hasnt", "", "hasn't"),
    ("havent", "", "haven't"), ("hadnt", "", "hadn't"), ("wouldnt", "", "wouldn't"), ("couldnt", "", "couldn't"),
    ("shouldnt", "", "shouldn't"), ("neednt", "", "needn't"), ("mustnt", "", "mustn't"), ("aint", "", "ain't"),
    ("cant", "", "can't"), ("wont", "", "won't"),
    ("im", "i", "'m"), ("ive", "i", "'ve"), ("ill", "i", "'ll"), ("id", "i", "'d"),
    ("youre", "you", "'re"), ("youve", "you", "'ve"), ("youll", "you", "'ll"), ("youd", "you", "'d"),
    ("weve", "we", "'ve"), ("theyre", "they", "'re"), ("theyve", "they", "'ve"), ("theyll", "they", "'ll"),
    ("theyd", "they", "'d"), ("its", "it", "'s"), ("itll", "it", "'ll"), ("itd", "it", "'d"),
    ("thats", "that", "'s"), ("thatll", "that", "'ll"), ("theres", "there", "'s"), ("heres", "here", "'s"),
    ("hes", "he", "'s"), ("shes", "she", "'s"), ("whats", "what", "'s"), ("wheres", "where", "'s"),
    ("lets", "let", "'s"), ("couldve", "could", "'ve"), ("wouldve", "would", "'ve"), ("shouldve", "should", "'ve"),
    ("mustve", "must", "'ve"), ("waters", "water", "'s"), ("barometers", "barometer", "'s"),
    ("temperatures", "temperature", "'s"), ("pressures", "pressure", "'s"), ("cabins", "cabin", "'s"),
    ("cockpits", "cockpit", "'s"), ("needles", "needle", "'s"), ("depths", "depth", "'s"),
];

/// The same by the word.
static BARE: LazyLock<WordMap<(&str, &str)>> =
    LazyLock::new(|| WordMap::new(LEFT_OUT.iter().map(|&(bare, word, rest)| (bare, (word, rest)))));

/// Takes hesitations and repeated words out of a note's tokens, and puts apostrophes back.
pub(super) fn mend(text: &str, utterances: &[Utterance], tokens: &mut Vec<Token<'_>>) {
    if tokens.iter().any(|t| t.kind == Kind::Word && t.is_any(HESITATIONS)) {
        pass_over_hesitations(text, utterances, tokens);
    }
    let bare = &*BARE;
    let slips = |i: usize| bare.get(&tokens[i]).is_some() || repeats(tokens, i) > 0;
    if !(0..tokens.len()).any(slips) {
        return;
    }
    let mut kept: Vec<Token<'_>> = Vec::with_capacity(tokens.len() + 8);
    let mut at = 0;
    while at < tokens.len() {
        let again = repeats(tokens, at);
        if again > 0 {
            at += again;
            continue;
        }
        let mut token = tokens[at].clone();
        match apostrophe(tokens, at) {
            Some(("", whole)) => {
                token.reword(whole);
                kept.push(token);
            }
            Some((word, clitic)) => kept.extend(parted(&token, word, clitic)),
            None => kept.push(token),
        }
        at += 1;
    }
    *tokens = kept;
}

fn pass_over_hesitations(text: &str, utterances: &[Utterance], tokens: &mut Vec<Token<'_>>) {
    let sounds: Vec<bool> = (0..tokens.len()).map(|at| hesitates(text, utterances, tokens, at)).collect();
    let mut kept: Vec<Token<'_>> = Vec::with_capacity(tokens.len());
    let mut due: Option<Gap> = None;
    for (mut token, sound) in tokens.drain(..).zip(sounds) {
        if let Some(gap) = due.take() {
            // A pair of commas only sets the sound apart from what goes on.
            let apart = gap == Gap::Comma && token.gap == Gap::Comma;
            token.gap = if apart { Gap::Space } else { token.gap.max(gap) };
        }
        if sound {
            due = Some(token.gap);
            if let Some(last) = kept.last_mut() {
                last.asked |= token.asked;
            }
        } else {
            kept.push(token);
        }
    }
    *tokens = kept;
}

/// Whether the token is only the sound of a person who looks for words.
fn hesitates(text: &str, utterances: &[Utterance], tokens: &[Token<'_>], at: usize) -> bool {
    let token = &tokens[at];
    if token.kind != Kind::Word
        || !token.is_any(HESITATIONS)
        || token.text.bytes().all(|b| b.is_ascii_uppercase())
    {
        return false;
    }
    // "Put 'er in gear"; "13 hm" and "12-er" are parts of words; "um 1930" is a time in half of Europe.
    let before = text[..token.span.start].chars().next_back();
    let part = matches!(token.gap, Gap::Glued | Gap::Hyphen) || before.is_some_and(super::is_apostrophe);
    let next = tokens.get(at + 1);
    let joins = next.is_some_and(|t| matches!(t.gap, Gap::Glued | Gap::Hyphen));
    let typed = utterances[token.utterance].kind != UtteranceKind::Cue;
    let hour = typed && token.is("um") && next.is_some_and(|t| t.kind == Kind::Number);
    !part && !joins && !hour
}

/// How many small words that begin here only say again those right before them.
fn repeats(tokens: &[Token<'_>], at: usize) -> usize {
    if !tokens[at].is_any(SMALL) {
        return 0;
    }
    (1..=LONGEST.min(at))
        .rev()
        .find(|&n| {
            tokens[at].key == tokens[at - n].key
                && at + n <= tokens.len()
                && (0..n).all(|k| tokens[at + k].key == tokens[at - n + k].key && tokens[at + k].is_any(SMALL))
                && tokens[at - n + 1..at + n].iter().all(|t| matches!(t.gap, Gap::Glued | Gap::Space | Gap::Line | Gap::Comma))
                && tokens[at].gap != Gap::Glued
                // "Point two two": a recogniser hears the figure as a small word.
                && !(n == 1 && at > 1 && tokens[at - 2].is("point"))
                // "5 A a day": the letter behind a number is its unit.
                && !(at > n && tokens[at - n - 1].kind == Kind::Number)
        })
        .unwrap_or(0)
}

/// The word and the clitic, or the whole, that a word without its apostrophe stands for.
fn apostrophe(tokens: &[Token<'_>], at: usize) -> Option<(&'static str, &'static str)> {
    let token = &tokens[at];
    let &found = BARE.get(token)?;
    let joined = |t: &&Token<'_>| t.gap < Gap::Comma;
    let next = tokens.get(at + 1).filter(joined);
    let before = at.checked_sub(1).map(|b| &tokens[b]).filter(|_| token.gap < Gap::Comma);
    let led = |words: &WordList| before.is_some_and(|t| t.is_any(words));
    let leads = |words: &WordList| next.is_some_and(|t| t.is_any(words));
    // Some of them are words of their own as well.
    let meant = match token.lower.as_ref() {
        "cant" => !led(words!["a", "the", "to", "no", "of"]),
        "wont" => !led(words!["a", "my", "his", "her", "their", "is", "was", "are", "were"]),
        "its" => next.is_some_and(is_said_of_it),
        "waters" | "barometers" | "temperatures" | "pressures" | "cabins" | "cockpits" | "needles"
        | "depths" => next.is_some_and(|t| t.kind == Kind::Number || is_number_word(t) || t.is_any(STANDS)),
        "ill" => !led(words!["is", "was", "'s", "'m", "feel", "felt", "fell", "very", "so"]) && leads(WILL),
        "id" => {
            leads(words!["like", "rather", "say", "have", "want", "need", "put", "call", "never", "been"])
        }
        "lets" => {
            !led(words!["it", "that", "which", "she", "he", "this", "and", "never"])
                && leads(words![
                    "go", "see", "say", "try", "have", "get", "do", "call", "not", "hope", "face", "put",
                    "look"
                ])
        }
        _ => true,
    };
    // Letters in capitals are a name: "ID 14".
    let letters = token.text.len() < 4 && token.text.bytes().all(|b| b.is_ascii_uppercase());
    (meant && !letters).then_some(found)
}

/// What people say they will do.
const WILL: &WordList = words![
    "have", "go", "try", "do", "get", "see", "be", "put", "need", "take", "make", "look", "ask", "want",
    "check", "buy", "ring", "fit", "give", "run", "keep", "find", "say", "call", "leave", "tell", "let",
    "use", "just", "never", "probably", "not", "test", "order", "replace", "change", "fix", "come", "know",
    "wait", "start", "set",
];

/// What stands between what is measured and its figure.
const STANDS: &WordList = words![
    "at", "about", "around", "sitting", "reading", "showing", "steady", "still", "nearly", "only", "down",
    "up"
];

/// Whether "its" in front of this word can only be "it's": what a thing is or does, not what it has.
fn is_said_of_it(next: &Token<'_>) -> bool {
    next.kind == Kind::Number
        || next.is_any(words![
            "a", "an", "the", "not", "been", "got", "gone", "done", "too", "so", "very", "all", "still",
            "now", "no", "just", "never", "always", "about", "at", "in", "on", "off", "out", "up", "down",
            "like", "going", "getting", "blowing", "leaking", "making", "running", "working", "coming",
            "holding", "doing", "taking", "reading", "looking", "being", "raining", "sitting", "showing",
            "dead", "dry", "wet", "fine", "good", "ok", "okay", "bad", "broken", "loose", "tight", "hot",
            "cold", "warm", "full", "empty", "stuck", "seized", "shut", "open", "better", "worse", "nearly",
            "pretty", "quite", "back", "here", "there", "that", "what", "because", "my", "our",
        ])
}

/// One token as two: the word and its clitic.
fn parted<'a>(token: &Token<'a>, word: &'static str, clitic: &'static str) -> [Token<'a>; 2] {
    let (first, second) = token.text.split_at(word.len());
    let middle = token.span.start + word.len();
    let mut head = token.clone();
    (head.text, head.span, head.lower, head.key) =
        (first, Span::new(token.span.start, middle), Cow::Borrowed(word), key(word));
    head.asked = false;
    let mut tail = token.clone();
    (tail.text, tail.span, tail.lower, tail.key) =
        (second, Span::new(middle, token.span.end), Cow::Borrowed(clitic), key(clitic));
    tail.gap = Gap::Glued;
    [head, tail]
}
