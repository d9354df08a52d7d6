//! Punctuation that a person who dictates says, and that a recogniser without an ear for it writes out: "wind north west
//! fifteen comma gusting twenty full stop new line".
//!
//! The words are taken for marks only in a note that plainly is so dictated, since "full stop" and "new line" are words of
//! a boat as well.

use super::{Gap, Token};

/// As many stops and commas said tell that a note is dictated with its marks.
const ENOUGH: usize = 3;

/// Puts the marks that are said in the place of their words.
pub(super) fn mend(tokens: &mut Vec<Token<'_>>) {
    let two = |i: usize, a: &str, b: &str| {
        tokens[i].is(a) && tokens.get(i + 1).is_some_and(|t| t.is(b) && t.gap <= Gap::Line)
    };
    let (mut stops, mut commas, mut periods) = (0, 0, 0);
    for (i, token) in tokens.iter().enumerate() {
        match token.lower.as_ref() {
            "full" if two(i, "full", "stop") => stops += 1,
            "comma" => commas += 1,
            "period" => periods += 1,
            _ => {}
        }
    }
    // A stop is a period to some, but that is a stretch of time as well.
    let by_period = stops == 0 && commas > 0;
    let ends = if by_period { periods } else { stops };
    if ends == 0 || ends + commas < ENOUGH {
        return;
    }
    let mut marks: Vec<(usize, usize, Gap, bool)> = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        // "New line" is one only behind another mark.
        let behind = marks.last().is_some_and(|(start, len, ..)| start + len == at);
        let found = match tokens[at].lower.as_ref() {
            "full" if two(at, "full", "stop") => Some((2, Gap::Sentence, false)),
            "question" if two(at, "question", "mark") => Some((2, Gap::Sentence, true)),
            "exclamation" if two(at, "exclamation", "mark") || two(at, "exclamation", "point") => {
                Some((2, Gap::Sentence, false))
            }
            "new" if behind && two(at, "new", "line") => Some((2, Gap::Sentence, false)),
            "new" if behind && two(at, "new", "paragraph") => Some((2, Gap::Block, false)),
            "period" if by_period => Some((1, Gap::Sentence, false)),
            "comma" => Some((1, Gap::Comma, false)),
            "colon" | "semicolon" => Some((1, Gap::Clause, false)),
            _ => None,
        };
        let Some((len, gap, asked)) = found else {
            at += 1;
            continue;
        };
        marks.push((at, len, gap, asked));
        at += len;
    }
    let mut marks = marks.into_iter().peekable();
    let mut kept: Vec<Token<'_>> = Vec::with_capacity(tokens.len());
    let mut due = Gap::Glued;
    let mut words = 0..0;
    for (i, mut token) in tokens.drain(..).enumerate() {
        if let Some((start, len, gap, asked)) = marks.next_if(|(start, ..)| *start == i) {
            words = start..start + len;
            due = due.max(gap);
            if asked && let Some(last) = kept.last_mut() {
                last.asked = true;
            }
        }
        // What parted a mark's word from those before it parts what follows.
        token.gap = token.gap.max(due);
        if words.contains(&i) {
            due = token.gap;
        } else {
            due = Gap::Glued;
            kept.push(token);
        }
    }
    *tokens = kept;
}
