//! Header lines: title, date, when the recording began; and the words that share a line with them.
//!
//! `Sat 29 Aug 2026, 0935. SW 15 kn, baro 1012.` is a header (`Sat 29 Aug 2026, 0935.`) and words of the log
//! (`SW 15 kn, baro 1012.`). Only what is a title, a date, a time, a zone or a few plain words beside them ("aboard",
//! "Dingle") is left out of the search for readings.

use super::{Cut, Head, Piece, Stamp};
use chrono::NaiveTime;

use crate::found::{Span, Utterance, UtteranceKind};
use crate::quantity::unit_at;
use crate::text::trim;
use crate::token::{Kind, tokens};
use crate::when::said::{Mention, What, find};

/// Most words, beside dates and times, in what is still a header and no sentence.
const FEW: usize = 9;

/// The dates, times and zones of a line, a lone day of the week left out.
pub(super) fn mentions(text: &str, span: Span) -> Vec<Mention> {
    let mut found = find(text, span);
    found.retain(|m| !matches!(&m.what, What::Date(d) if d.day.is_none()));
    found
}

/// Whether these mentions hold a day of the calendar.
pub(super) fn day(mentions: &[Mention]) -> Option<crate::when::said::DateSaid> {
    mentions.iter().find_map(|m| match &m.what {
        What::Date(d) if d.month.is_some() || d.weekday.is_some() => Some(*d),
        _ => None,
    })
}

/// Takes a line as a header, keeping the words that are none as pieces of `kind`. Gives the number of words pieces.
pub(super) fn take(text: &str, span: Span, kind: UtteranceKind, title: bool, cut: &mut Cut) {
    let mentions = mentions(text, span);
    if mentions.is_empty() {
        let kind = if title && is_title(&text[span.range()]) { UtteranceKind::Header } else { kind };
        cut.pieces.push(Piece::new(text, span, kind));
        return;
    }
    // What stays words: a run of bytes; what lies between the runs is header.
    let mut runs: Vec<Span> = Vec::new();
    let mut keep = |from: usize, to: usize| match runs.last_mut() {
        Some(last) if text[last.end..from].trim().is_empty() => last.end = to,
        _ if from < to => runs.push(Span::new(from, to)),
        _ => {}
    };
    let mut before = true;
    for sentence in sentences(text, span, &mentions) {
        let inside =
            || mentions.iter().filter(|m| sentence.start <= m.span.start && m.span.end <= sentence.end);
        if inside().next().is_none() {
            let words = &text[sentence.range()];
            if !(before && is_title(words)) {
                keep(sentence.start, sentence.end);
            }
            continue;
        }
        before = false;
        if count(text, sentence, &mentions) > FEW {
            keep(sentence.start, sentence.end);
        } else if let Some(from) = words_from(text, sentence, &mentions) {
            keep(from, sentence.end);
        }
    }
    let mut at = span.start;
    for run in runs {
        header(text, Span::new(at, run.start), cut);
        if let Some(run) = trim(text, run) {
            let mut piece = Piece::new(text, run, kind);
            leave_out(&mut piece.words, &mentions, text);
            cut.pieces.push(piece);
        }
        at = run.end;
    }
    header(text, Span::new(at, span.end), cut);
    cut.heads.push(Head { span, mentions });
}

/// Takes a whole stretch as a header, whatever it says.
pub(super) fn take_whole(text: &str, span: Span, cut: &mut Cut) {
    header(text, span, cut);
    cut.heads.push(Head { span, mentions: mentions(text, span) });
}

fn header(text: &str, span: Span, cut: &mut Cut) {
    if let Some(span) = trim(text, span) {
        cut.pieces.push(Piece::new(text, span, UtteranceKind::Header));
    }
}

/// Leaves mentions out of stretches of words.
fn leave_out(words: &mut Vec<Span>, mentions: &[Mention], text: &str) {
    for mention in mentions {
        let mut out = Vec::with_capacity(words.len() + 1);
        for span in words.drain(..) {
            let (from, to) = (mention.span.start.max(span.start), mention.span.end.min(span.end));
            if from >= to {
                out.push(span);
                continue;
            }
            out.extend(trim(text, Span::new(span.start, from)));
            out.extend(trim(text, Span::new(to, span.end)));
        }
        *words = out;
    }
}

/// Whether a line is a title: a few words, no figures.
fn is_title(words: &str) -> bool {
    !says_a_number(words)
        && words.split_whitespace().count() <= FEW
        && !words.trim_end_matches('.').contains(". ")
}

/// Cuts a line into sentences, at full stops that are not part of a date or a time.
pub(super) fn sentences(text: &str, span: Span, mentions: &[Mention]) -> Vec<Span> {
    let line = &text[span.range()];
    let mut out = Vec::new();
    let mut start = span.start;
    for (at, c) in line.char_indices() {
        let end = span.start + at + c.len_utf8();
        let stops = matches!(c, '.' | '!' | '?') && text[end..span.end].starts_with(char::is_whitespace);
        if stops && !mentions.iter().any(|m| m.span.start < end && end < m.span.end) {
            out.extend(trim(text, Span::new(start, end)));
            start = end;
        }
    }
    out.extend(trim(text, Span::new(start, span.end)));
    out
}

/// Counts the words of a sentence that are not in a mention.
fn count(text: &str, sentence: Span, mentions: &[Mention]) -> usize {
    let mut words = vec![sentence];
    leave_out(&mut words, mentions, text);
    words
        .iter()
        .flat_map(|s| text[s.range()].split_whitespace())
        .filter(|w| w.contains(char::is_alphanumeric))
        .count()
}

/// Where, in a sentence with a date or time, words of the log begin: at the first clause with a number of its own, or
/// after the date where one follows it.
fn words_from(text: &str, sentence: Span, mentions: &[Mention]) -> Option<usize> {
    for clause in clauses(text, sentence, mentions) {
        let last = mentions
            .iter()
            .filter(|m| clause.start <= m.span.start && m.span.end <= clause.end)
            .map(|m| m.span.end)
            .max();
        let from = last.unwrap_or(clause.start);
        if says_a_number(&text[from..clause.end]) {
            return Some(from);
        }
        // "Alternator 38 A at 1400", "solar best 5.2 A at noon": what was measured, and when.
        let first =
            mentions.iter().map(|m| m.span.start).find(|start| (clause.start..clause.end).contains(start));
        if first.is_some_and(|first| measures(&text[clause.start..first])) {
            return Some(clause.start);
        }
    }
    None
}

fn clauses(text: &str, sentence: Span, mentions: &[Mention]) -> Vec<Span> {
    let line = &text[sentence.range()];
    let mut out = Vec::new();
    let mut start = sentence.start;
    for (at, c) in line.char_indices() {
        let at = sentence.start + at;
        let parts = matches!(c, ',' | ';' | '—' | '–')
            || (c == '-' && text[..at].ends_with(' ') && text[at + 1..].starts_with(' '));
        if parts && !mentions.iter().any(|m| m.span.start <= at && at < m.span.end) {
            out.push(Span::new(start, at));
            start = at + c.len_utf8();
        }
    }
    out.push(Span::new(start, sentence.end));
    out
}

/// Whether a stretch has a number with its unit.
fn measures(words: &str) -> bool {
    let line = [Utterance::line(words)];
    let tokens = tokens(words, &line);
    (1..tokens.len()).any(|i| tokens[i - 1].kind == Kind::Number && unit_at(words, &tokens, i).is_some())
}

/// Whether a stretch has a number in figures or in words.
fn says_a_number(words: &str) -> bool {
    const NUMBERS: &[&str] = &[
        "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
        "fifteen", "twenty", "thirty", "forty", "fifty", "sixty", "hundred",
    ];
    words.bytes().any(|b| b.is_ascii_digit())
        || words.split(|c: char| !c.is_alphabetic()).any(|w| NUMBERS.contains(&w.to_lowercase().as_str()))
}

/// Takes a heading further down that names a day: the days' own headings in a log of several.
pub(super) fn day_heading(text: &str, span: Span) -> Option<Stamp> {
    let mentions = mentions(text, span);
    let date = day(&mentions)?;
    let time = mentions.iter().find_map(|m| match &m.what {
        What::Time(t) if t.sure => Some(t.time),
        _ => None,
    });
    (count(text, span, &mentions) <= 4 && words_from(text, span, &mentions).is_none())
        .then(|| time.map_or(Stamp::Day(date), |time| Stamp::DayClock(date, time)))
}

/// A time of day with a colon at the very start of a line.
pub(super) fn opening_time(text: &str, words: Span) -> Option<NaiveTime> {
    let line = &text[words.range()];
    let figures = line.bytes().take_while(u8::is_ascii_digit).count();
    if !(1..=2).contains(&figures) || !line[figures..].starts_with(':') {
        return None;
    }
    let mut end = words.end.min(words.start + 24);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    find(text, Span::new(words.start, end)).into_iter().find_map(|m| match m.what {
        What::Time(t) if m.span.start == words.start => Some(t.time),
        _ => None,
    })
}
