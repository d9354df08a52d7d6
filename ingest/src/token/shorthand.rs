//! What logs and thumbs write in short: the side that a figure was read on, the grade of an oil, "w/", "b4", "n".
//!
//! "P 22, S 21" are two shrouds, not a shroud and a wind, and nothing of "15W40" is a power. As with slips, only tokens
//! change; the note's words stay, and quotes hold them.

use std::sync::LazyLock;

use super::{Gap, Kind, Token};
use crate::lexicon::WordMap;
use crate::word::WordList;

/// Words that are typed in short, by their letters.
const SHORT: &[(&str, &str)] = &[
    ("abt", "about"),
    ("tmrw", "tomorrow"),
    ("tmw", "tomorrow"),
    ("tomoz", "tomorrow"),
    ("thru", "through"),
    ("tho", "though"),
    ("bcos", "because"),
    ("coz", "because"),
    ("cuz", "because"),
    ("prob", "probably"),
    ("probs", "probably"),
    ("prolly", "probably"),
    ("o'due", "overdue"),
    ("chgd", "changed"),
    ("rplcd", "replaced"),
    ("repl", "replaced"),
];

/// The same by the word.
static WHOLE: LazyLock<WordMap<&str>> = LazyLock::new(|| WordMap::new(SHORT.iter().copied()));

/// Takes letters for the sides and words that they stand for, and an oil's grade for one word.
pub(super) fn mend<'a>(text: &'a str, tokens: &mut Vec<Token<'a>>) {
    for at in 0..tokens.len() {
        let sides = match pair(tokens, at) {
            Some(other) => vec![at, other],
            // "P 15, S 12, took two turns on S, now 15".
            None if matches!(tokens[at].text, "S" | "P") && follows_a_pair(tokens, at) => vec![at],
            None => continue,
        };
        for side in sides {
            let port = matches!(tokens[side].text, "P" | "p");
            tokens[side].reword(if port { "port" } else { "starboard" });
        }
    }
    let mut parts: Vec<(usize, usize, Option<&str>)> = Vec::new();
    for at in 0..tokens.len() {
        if let Some((len, word)) = short(tokens, at) {
            if len == 1 {
                tokens[at].reword(word);
            } else {
                parts.push((at, len, Some(word)));
            }
        } else if tokens.get(at..at + 3).is_some_and(is_grade) {
            parts.push((at, 3, None));
        }
    }
    if parts.is_empty() {
        return;
    }
    let mut parts = parts.into_iter().peekable();
    let mut kept: Vec<Token<'a>> = Vec::with_capacity(tokens.len());
    let mut skipped = 0;
    for (i, mut token) in tokens.drain(..).enumerate() {
        if skipped > 0 {
            skipped -= 1;
            let whole = kept.last_mut().expect("a word in short begins before its other tokens");
            whole.span.end = token.span.end;
            whole.text = &text[whole.span.range()];
            if skipped == 0 && whole.kind != Kind::Word {
                whole.kind = Kind::Word;
                whole.reword(whole.text.to_lowercase());
            }
            continue;
        }
        if let Some((_, len, word)) = parts.next_if(|(at, ..)| *at == i) {
            skipped = len - 1;
            if let Some(word) = word {
                token.reword(word);
            }
        }
        kept.push(token);
    }
    *tokens = kept;
}

/// How many tokens from here are a word in short, and which: "w/ the gauge", "b4 leaving", "flares n raft".
fn short(tokens: &[Token<'_>], at: usize) -> Option<(usize, &'static str)> {
    let token = &tokens[at];
    if token.kind != Kind::Word {
        return None;
    }
    if let Some(&word) = WHOLE.get(token) {
        return Some((1, word));
    }
    let glued = |n: usize| tokens.get(at + n).filter(|t| t.gap == Gap::Glued);
    let next = tokens.get(at + 1);
    match token.text {
        "w" if glued(1).is_some_and(|t| t.is("/")) => match glued(2) {
            Some(t) if t.is("o") => Some((3, "without")),
            // "W/maker", "w/lass" are names.
            Some(_) => None,
            None => next.is_some().then_some((2, "with")),
        },
        "w" if next.is_some_and(|t| t.gap == Gap::Space && t.is_any(WITH_WHAT)) => Some((1, "with")),
        "b" | "B" if glued(1).is_some_and(|t| t.text == "4") => Some((2, "before")),
        "n" => {
            let before = at.checked_sub(1).map(|i| &tokens[i])?;
            let joins = |t: &Token<'_>| {
                t.kind == Kind::Word
                    && t.text.len() > 2
                    && t.gap <= Gap::Space
                    && !t.is_any(words!["wind", "winds", "by", "the", "from", "due", "going"])
            };
            let follows = next.is_some_and(|t| joins(t) && t.gap == Gap::Space);
            let lone = token.gap == Gap::Space && before.kind == Kind::Word && before.text.len() > 2;
            let points = before.is_any(words!["wind", "winds", "the", "from", "due", "going", "breeze"]);
            (lone && follows && !points).then_some((1, "and"))
        }
        _ => None,
    }
}

/// Words behind a "w" that is "with".
const WITH_WHAT: &WordList = words![
    "a", "an", "the", "that", "this", "it", "my", "our", "his", "her", "no", "new", "one", "two", "both",
];

/// Whether sides were told by their letters before, in the same entry.
fn follows_a_pair(tokens: &[Token<'_>], at: usize) -> bool {
    /// As far back in an entry as one looks for them, in tokens.
    const BACK: usize = 40;
    tokens[at.saturating_sub(BACK)..at]
        .iter()
        .rev()
        .take_while(|t| t.utterance == tokens[at].utterance)
        .any(|t| t.is("starboard") && t.text == "S")
}

/// The letter of the other side, where one of a side and its figure begins here: "P 22, S 21", "S 14 P 15", "P/S 21/20".
fn pair(tokens: &[Token<'_>], at: usize) -> Option<usize> {
    /// Between one letter and the other stand a figure and its unit at most.
    const REACH: usize = 4;
    let first = tokens[at].text;
    let second = match first {
        "P" => "S",
        "S" => "P",
        "p" => "s",
        // A small "s" that comes first is seconds.
        _ => return None,
    };
    let number = |at: usize| tokens.get(at).is_some_and(|t| t.kind == Kind::Number && t.gap <= Gap::Space);
    // "P/S 21/20", "P & S 22".
    if tokens.get(at + 1).is_some_and(|t| t.is("/") || t.is("&"))
        && tokens.get(at + 2).is_some_and(|t| t.text == second)
    {
        return (first == "P" || first == "p").then_some(at + 2);
    }
    if !number(at + 1) || tokens[at].gap < Gap::Space {
        return None;
    }
    (at + 2..tokens.len().min(at + 2 + REACH))
        .take_while(|&i| tokens[i].gap < Gap::Sentence)
        .find(|&i| tokens[i].text == second && tokens[i].gap >= Gap::Space && number(i + 1))
}

/// Whether three tokens are the grade of an oil: "15W40", "10W-30", "10W oil".
fn is_grade(tokens: &[Token<'_>]) -> bool {
    let [cold, w, hot] = tokens else { return false };
    let whole = |t: &Token<'_>| t.kind == Kind::Number && t.text.bytes().all(|b| b.is_ascii_digit());
    whole(cold)
        && w.is("w")
        && w.gap == Gap::Glued
        && (whole(hot) && hot.gap <= Gap::Hyphen || hot.is("oil") && hot.gap == Gap::Space)
}

#[cfg(test)]
mod tests {
    use crate::found::Utterance;

    /// The words that a line is taken for, each with what stands there.
    fn taken(line: &str) -> Vec<(String, &str)> {
        let utterances = [Utterance::line(line)];
        let tokens = crate::token::tokens(line, &utterances);
        tokens.iter().filter(|t| *t.lower != *t.text).map(|t| (t.lower.to_string(), t.text)).collect()
    }

    #[test]
    fn words_in_short_and_sides_are_taken_for_what_they_say() {
        let said = |words: &[(&str, &'static str)]| -> Vec<(String, &'static str)> {
            words.iter().map(|(lower, text)| ((*lower).to_owned(), *text)).collect()
        };
        assert_eq!(taken("caps P 24, S 23"), said(&[("port", "P"), ("starboard", "S")]));
        assert_eq!(taken("checked w/ the gauge b4 leaving"), said(&[("with", "w/"), ("before", "b4")]));
        assert_eq!(taken("flares n raft, w/o the pump"), said(&[("and", "n"), ("without", "w/o")]));
        assert_eq!(taken("topped up 15W40"), said(&[("15w40", "15W40")]));
        assert_eq!(taken("wind n 5, w/maker on"), said(&[]));
    }
}
