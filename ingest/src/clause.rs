//! Clauses: the stretches of talk that a modal verb, a negation or an "if" reaches over.
//!
//! Writing marks most of them. Talk that was never punctuated is cut at its conjunctions and at each new subject
//! with its verb ("… to nineteen | and it's cold | but she …"), and its sentences at the words with which a speaker
//! turns to something new ("so", "okay", "right").

use std::ops::Range;

use crate::lexicon::Words;
use crate::token::{Gap, Kind, Token};

/// A stretch of tokens that says one thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clause {
    /// Its tokens, by index.
    pub tokens: Range<usize>,
    /// Index of the sentence that it belongs to; sentences end at a full stop or a block's end.
    pub sentence: usize,
    /// Index of the block (paragraph, log line, list item, table cell, run of talk) that it belongs to.
    pub block: usize,
}

/// Longest clause in tokens and longest sentence in clauses: beyond them nothing reaches, whatever the text, so that
/// looking around a word costs the same in any note.
const LONGEST_CLAUSE: usize = 80;
const LONGEST_SENTENCE: usize = 40;

/// Most tokens to a full stop in talk that is held to be punctuated.
const TOKENS_TO_A_STOP: usize = 45;

/// Cuts tokens into clauses that cover all of them, in order.
pub fn clauses(tokens: &[Token<'_>]) -> Vec<Clause> {
    let mut out: Vec<Clause> = Vec::with_capacity(tokens.len() / 6 + 1);
    let (mut sentence, mut block) = (0, 0);
    let mut unpunctuated = false;
    let mut clauses_so_far = 0;
    for (i, token) in tokens.iter().enumerate() {
        if i == 0 || token.gap == Gap::Block {
            unpunctuated = !is_punctuated(&tokens[i..]);
        }
        let long = clauses_so_far >= LONGEST_SENTENCE;
        let new_sentence =
            i > 0 && (token.gap >= Gap::Sentence || long || (unpunctuated && turns(tokens, i)));
        if new_sentence {
            clauses_so_far = 0;
        }
        if i > 0 {
            sentence += usize::from(new_sentence);
            block += usize::from(token.gap == Gap::Block);
        }
        match out.last_mut() {
            Some(last)
                if token.gap < Gap::Comma
                    && !new_sentence
                    && !begins(tokens, i)
                    && i - last.tokens.start < LONGEST_CLAUSE =>
            {
                last.tokens.end = i + 1;
            }
            _ => {
                clauses_so_far += 1;
                out.push(Clause { tokens: i..i + 1, sentence, block });
            }
        }
    }
    out
}

/// Whether the block that begins here has full stops to cut it by.
fn is_punctuated(tokens: &[Token<'_>]) -> bool {
    let (mut all, mut stops) = (1, 0);
    for token in &tokens[1..] {
        if token.gap == Gap::Block || all > 1000 {
            break;
        }
        all += 1;
        stops += usize::from(token.gap == Gap::Sentence);
    }
    all <= TOKENS_TO_A_STOP || all <= (stops + 1) * TOKENS_TO_A_STOP
}

/// Whether a speaker who uses no full stops turns to something new here.
fn turns(tokens: &[Token<'_>], at: usize) -> bool {
    let token = &tokens[at];
    let before = &tokens[at - 1];
    if token.gap >= Gap::Clause {
        return true;
    }
    let next = tokens.get(at + 1);
    if token.is("so") {
        let very = token.gap < Gap::Line
            && next.is_some_and(|n| n.is_any(words!["far", "much", "many", "good", "nice", "bad"]));
        return !very
            && !before.is_any(words![
                "or", "and", "say", "not", "think", "ever", "is", "'s", "was", "if", "hope", "done", "mile",
                "minutes", "hours", "been",
            ]);
    }
    let begins_anew =
        || next.is_some_and(|n| n.is_any(words!["so", "the", "now", "and", "then", "i", "it", "what"]));
    token.is_any(words!["okay", "ok", "right", "alright", "righto", "anyway"])
        && (token.gap == Gap::Line || begins_anew())
        || token.is_any(words!["now", "oh", "um", "uh"]) && token.gap == Gap::Line
}

static SUBJECTS: Words = Words::new("i it she he we they you that there this who");

static VERBS: Words = Words::new(
    "\
     's 'm 're 'll 've 'd is was were are am had has have did does do went got came could can can't couldn't would \
     will won't says said took want wants need needs put ran gave made saw think thought reckon don't didn't \
     doesn't wouldn't isn't wasn't should must might never just only still used tried call make sits sat held reads \
     shows started stopped dropped",
);

/// Where a wind comes from, in words.
static POINTS: Words = Words::new(
    "north south east west northeast northwest southeast southwest north-east north-west south-east south-west",
);

/// Words after which a subject does not begin a clause of its own.
static OPENERS: Words = Words::new(
    "\
     and but if when because cos so what as than which where how why while until till unless although though before \
     after since that whether like or then whatever once now okay well oh um uh right yeah except",
);

/// Whether a clause begins at this token although nothing is written in front of it.
fn begins(tokens: &[Token<'_>], at: usize) -> bool {
    let token = &tokens[at];
    if at == 0 || token.gap == Gap::Glued || token.gap == Gap::Hyphen {
        return false;
    }
    let before = &tokens[at - 1];
    let next = tokens.get(at + 1).filter(|t| t.gap < Gap::Comma);
    // The next line of talk begins with what it is about: "I'll be tied up by then | depth's sixty eight metres".
    if token.gap == Gap::Line && token.kind == Kind::Word {
        let named = next.is_some_and(|n| n.gap == Gap::Glued && n.is("'s"));
        let point = POINTS.has(token)
            && next
                .is_some_and(|n| POINTS.has(n) || n.kind == Kind::Number || crate::number::is_number_word(n));
        let led = before.is_any(words![
            "the", "a", "an", "my", "our", "of", "in", "to", "from", "and", "is", "was", "'s", "given",
            "gave",
        ]);
        if (named || point) && !led {
            return true;
        }
    }
    if token.is_any(words![
        "but", "because", "cos", "which", "if", "while", "unless", "although", "though", "whereas", "except",
    ]) {
        return !before.is_any(words![
            "and", "but", "so", "as", "even", "what", "of", "in", "at", "by", "for", "on", "anything",
            "nothing", "all", "say",
        ]);
    }
    if token.is_any(words!["when", "until", "till", "then"]) {
        return !before.is_any(words!["and", "but", "so", "since", "even", "up", "by"]) || token.is("until");
    }
    if token.is("so") {
        return !before.is_any(words!["or", "and", "not", "think", "say", "is", "'s", "was", "if"])
            && !next.is_some_and(|n| n.is_any(words!["far", "much", "many", "good", "long"]));
    }
    if token.is("and") {
        return next.is_some_and(|n| {
            SUBJECTS.has(n)
                || n.is_any(words![
                    "then", "now", "the", "my", "if", "when", "so", "because", "what", "once", "after",
                    "still", "in", "out", "up", "down", "off", "not", "got", "had", "was", "went",
                ])
        });
    }
    SUBJECTS.has(token)
        && next.is_some_and(|n| VERBS.has(n) || (n.lower.len() > 4 && n.lower.ends_with("ed")))
        && !OPENERS.has(before)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    /// Shows the clauses of a line, ` | ` between clauses and ` || ` between sentences.
    fn show(line: &str) -> String {
        let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
        let mut out = String::new();
        let mut sentence = 0;
        for clause in clauses(&tokens) {
            if clause.tokens.start > 0 {
                out += if clause.sentence > sentence { " || " } else { " | " };
            }
            sentence = clause.sentence;
            out += &line[tokens[clause.tokens.start].span.start..tokens[clause.tokens.end - 1].span.end];
        }
        out
    }

    #[test]
    fn clauses_end_at_marks_conjunctions_and_new_subjects() {
        assert_eq!(show("Heel 15, speed 5. Wind SW; calm"), "Heel 15 | speed 5 || Wind SW | calm");
        assert_eq!(show("it went out but the cabin's warm"), "it went out | but the cabin's warm");
        assert_eq!(
            show("the wind dropped and she's slow it was dull"),
            "the wind dropped | and she's slow | it was dull"
        );
        assert_eq!(show("three or so miles and a half"), "three or so miles and a half");
    }

    #[test]
    fn talk_without_stops_has_sentences_too() {
        let line = "wind's up a bit and the sea is lumpy so that is a pass for the vane and now for the heater \
                    it ran for an hour and the cabin was warm and dry then it went out and I lit it again so that is a fail";
        assert_eq!(show(line).matches(" || ").count(), 2, "{}", show(line));
    }
}
