//! Which format a source is in, told by its content, and its pieces: stretches of words with the times they carry.
//!
//! A format is one file: its sample, how it is told, how it is cut. None of them knows what time it is; they hand on
//! what was stamped (`Stamp`) and said in header lines (`Head`), and [`crate::when`] makes moments of it.

use chrono::{FixedOffset, NaiveDateTime, NaiveTime};

use crate::found::{Notice, Span, UtteranceKind};
use crate::heard;
use crate::text::{Line, fold, lines};
use crate::when::said::{DateSaid, Mention};

mod columns;
mod cue;
mod dated;
mod head;
mod log;
mod markdown;
mod marks;
mod messages;
mod prose;
mod stamped;
mod subrip;
mod webvtt;

pub(crate) use markdown::is_table_rule;
pub(crate) use prose::is_numbered;
pub(crate) use webvtt::plain as webvtt_blocks;

/// The time that a piece carries.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) enum Stamp {
    /// None of its own: it goes with the one before.
    #[default]
    None,
    /// Seconds since the recording began.
    Offset(f64),
    /// A time of day, on the day that is under way.
    Clock(NaiveTime),
    /// A new day begins.
    Day(DateSaid),
    /// A time of day on a day of its own.
    DayClock(DateSaid, NaiveTime),
    /// A date-time, with its offset where it has one.
    Exact(NaiveDateTime, Option<FixedOffset>),
}

/// An utterance before its time is known; the fields are those of [`crate::Utterance`], spans in the decoded text.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub span: Span,
    pub words: Vec<Span>,
    pub text: String,
    pub id: Option<String>,
    pub cue: Option<(f64, f64)>,
    pub kind: UtteranceKind,
    pub stamp: Stamp,
}

impl Piece {
    /// A stretch without a time of its own, marks of sounds left out of its words.
    fn new(text: &str, span: Span, kind: UtteranceKind) -> Self {
        let mut words = Vec::new();
        marks::words(text, span, &mut words);
        Self { span, words, text: fold(&text[span.range()]), id: None, cue: None, kind, stamp: Stamp::None }
    }

    fn stamped(self, stamp: Stamp) -> Self {
        Self { stamp, ..self }
    }
}

/// Dates, times and zones in a line that stands above the words.
#[derive(Clone, Debug)]
pub(crate) struct Head {
    pub span: Span,
    pub mentions: Vec<Mention>,
}

/// A text cut into pieces.
#[derive(Clone, Debug)]
pub(crate) struct Cut {
    /// Name of the format, as in [`crate::Note::format`].
    pub format: &'static str,
    pub pieces: Vec<Piece>,
    pub heads: Vec<Head>,
    pub notices: Vec<Notice>,
}

impl Cut {
    /// Nothing yet, in a format.
    pub(crate) fn new(format: &'static str) -> Self {
        Self { format, pieces: Vec::new(), heads: Vec::new(), notices: Vec::new() }
    }

    fn notice(&mut self, span: Span, line: usize, message: String, hint: &str) {
        self.notices.push(Notice {
            span: Some(span),
            line: Some(line),
            message,
            hint: Some(hint.to_owned()),
        });
    }
}

/// Cuts a text into pieces. The file's name only helps to tell Markdown.
pub(crate) fn cut(text: &str, name: &str) -> Cut {
    if webvtt::is(text) {
        let format = if heard::is(text) { heard::FORMAT } else { "webvtt" };
        return Cut { format, ..webvtt::cut(text) };
    }
    let lines = lines(text);
    if lines.iter().all(|line| line.trimmed(text).is_none()) {
        return Cut::new("none");
    }
    if subrip::is(text, &lines) {
        subrip::cut(text, &lines)
    } else if messages::is(text, &lines) {
        messages::cut(text, &lines)
    } else if stamped::is(text, &lines) {
        stamped::cut(text, &lines)
    } else if dated::is(text, &lines) {
        dated::cut(text, &lines)
    } else if log::is(text, &lines) {
        log::cut(text, &lines)
    } else if markdown::is(text, &lines, name) {
        markdown::cut(text, &lines)
    } else {
        prose::cut(text, &lines)
    }
}

/// The lines that are not blank, their white space at both ends left out.
fn filled<'a>(text: &'a str, lines: &'a [Line]) -> impl Iterator<Item = (Span, usize)> + 'a {
    lines.iter().filter_map(|line| line.trimmed(text).map(|span| (span, line.number)))
}

/// The beginning of a stretch, for a message.
fn shown(text: &str, span: Span) -> String {
    const MOST: usize = 60;
    let mut out: String =
        text[span.range()].chars().take(MOST).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if out.len() < span.end - span.start && out.chars().count() == MOST {
        out.push('…');
    }
    out
}

#[cfg(test)]
mod tests;
