//! A note with a mark under each thing found in it, and which words led to it.

mod screen;

use leadsman_index::Finding as Kind;
use leadsman_ingest::matter::finding_name;
use leadsman_ingest::text::Decoded;
use leadsman_ingest::{Note, Outcome, Reason, Span};

use crate::figure;
use crate::words::{spaced, why};

pub use screen::show;

/// A note, line by line.
#[derive(Clone, Debug, PartialEq)]
pub struct Explained {
    /// The lines of the note, in order.
    pub lines: Vec<Line>,
}

/// One line of a note.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its number in the source, from 1.
    pub number: usize,
    /// Its text, without the line end.
    pub text: String,
    /// What was found in it, in the order of the words.
    pub marks: Vec<Mark>,
}

/// Something found, on the line where it ends; on the lines before, where it only passes, it has no words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// First byte in the line.
    pub start: usize,
    /// One past the last byte in the line.
    pub end: usize,
    /// What was found; empty on a line that a finding only passes through.
    pub what: String,
    /// Why it was taken so: of what, and the rule with its words.
    pub because: Vec<String>,
    /// Why it may be wrong.
    pub doubts: Vec<String>,
}

/// As much of a finding's name as is shown: where another begins alike, the answer to it asks for one more letter.
const SHOWN: usize = 6;

/// A finding before it is cut into lines: its bytes in the decoded text, what it is, and why.
struct Finding<'a> {
    span: Span,
    what: String,
    because: &'a [Reason],
    doubts: &'a [String],
}

impl Explained {
    /// Marks a note's findings in its decoded text. `source` is the SHA-256 in hexadecimal of a source that is in the home:
    /// its readings and trials are shown with the names that `correct` and `dismiss` take.
    pub fn new(decoded: &Decoded, note: &Note, source: Option<&str>) -> Self {
        let way_back = WayBack::new(decoded);
        let text = decoded.text.as_str();
        let mut lines = lines(text);
        // Stamps and mark-up between the words of a finding are no part of it.
        let words: Vec<Span> =
            note.utterances.iter().flat_map(|u| &u.words).map(|&span| way_back.text_span(span)).collect();
        for finding in findings(note, source) {
            let span = way_back.text_span(finding.span);
            let because: Vec<String> = finding
                .because
                .iter()
                .map(|reason| {
                    let words = &text[way_back.text_span(reason.span).range()];
                    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
                    if words.is_empty() {
                        format!("{}: {}", reason.of, reason.what)
                    } else {
                        format!("{}: {} (\u{201c}{words}\u{201d})", reason.of, reason.what)
                    }
                })
                .collect();
            mark(&mut lines, span, &words, &finding, &because);
        }
        for (_, line) in &mut lines {
            line.marks.sort_by_key(|mark| (mark.start, mark.end));
        }
        Self { lines: lines.into_iter().map(|(_, line)| line).collect() }
    }
}

/// The lines of a text, each with the byte at which it begins.
fn lines(text: &str) -> Vec<(usize, Line)> {
    let mut begin = 0;
    let mut lines = Vec::new();
    for (index, raw) in text.split('\n').enumerate() {
        let line = Line { number: index + 1, text: raw.trim_end_matches('\r').to_owned(), marks: Vec::new() };
        lines.push((begin, line));
        begin += raw.len() + 1;
    }
    lines
}

fn mark(lines: &mut [(usize, Line)], span: Span, words: &[Span], finding: &Finding<'_>, because: &[String]) {
    let first = lines.partition_point(|(begin, line)| begin + line.text.len() < span.start);
    let last = lines.partition_point(|(begin, _)| *begin < span.end).saturating_sub(1).max(first);
    for index in first..=last.min(lines.len().saturating_sub(1)) {
        let (begin, line) = &mut lines[index];
        let from = span.start.max(*begin);
        let place = Span::new(from, span.end.min(*begin + line.text.len()).max(from));
        let place = if words.is_empty() { Some(place) } else { clipped(place, words) };
        let Some(place) = place.filter(|place| place.start < place.end) else { continue };
        let (start, end) = (place.start - *begin, place.end - *begin);
        let ends_here = index == last;
        line.marks.push(Mark {
            start,
            end,
            what: if ends_here { finding.what.clone() } else { String::new() },
            because: if ends_here { because.to_vec() } else { Vec::new() },
            doubts: if ends_here { finding.doubts.to_vec() } else { Vec::new() },
        });
    }
}

/// From the first to the last word in a place; `None` where it holds none. `words` are in order.
fn clipped(place: Span, words: &[Span]) -> Option<Span> {
    let first = words.partition_point(|word| word.end <= place.start);
    let last = words.partition_point(|word| word.start < place.end).checked_sub(1)?;
    let (first, last) = (words.get(first)?, words.get(last)?);
    let (start, end) = (place.start.max(first.start), place.end.min(last.end));
    (start < end).then(|| Span::new(start, end))
}

fn findings<'a>(note: &'a Note, source: Option<&str>) -> Vec<Finding<'a>> {
    let name = |of, span| {
        source.map_or_else(String::new, |hash| format!(" ({})", &finding_name(of, hash, span)[..SHOWN]))
    };
    let of = |gear: &Option<String>| gear.as_ref().map_or_else(String::new, |gear| format!(", {gear}"));
    let readings = note.readings.iter().map(|r| Finding {
        span: r.span,
        what: format!(
            "{} {}, {}{}{}",
            spaced(&r.quantity),
            figure::range(r.low, r.high, &r.unit),
            r.stance,
            of(&r.gear),
            name(Kind::Reading, r.span)
        ),
        because: &r.because,
        doubts: &r.doubts,
    });
    let trials = note.trials.iter().map(|t| Finding {
        span: t.span,
        what: format!("trial: {}, {}{}", t.gear, t.outcome, name(Kind::Trial, t.span)),
        because: &t.because,
        doubts: &[],
    });
    let items = note.items.iter().map(|i| Finding {
        span: i.span,
        what: format!("item: {}{}{}", why(i.why), of(&i.gear), if i.unsure { ", perhaps" } else { "" }),
        because: &i.because,
        doubts: &[],
    });
    let closings = note.closings.iter().map(|c| Finding {
        span: c.span,
        what: format!("said to be done: {}{}", c.how, of(&c.gear)),
        because: &[],
        doubts: &[],
    });
    // What leaves something open sounds otherwise to a reader, whatever the model makes of it.
    let left = |span: Span| {
        note.items.iter().any(|i| i.span.meets(span))
            || note.trials.iter().any(|t| t.outcome != Outcome::Pass && t.span.meets(span))
    };
    let judged = note.accounts.iter().filter(|a| !left(a.span)).filter_map(|a| {
        Some(Finding {
            span: a.span,
            what: format!("sounds as if all were well with {}: {}, by all of the words", a.gear, a.well()?),
            because: &[],
            doubts: &[],
        })
    });
    readings.chain(trials).chain(items).chain(closings).chain(judged).collect()
}

/// The way from a source's bytes back to its decoded text.
pub struct WayBack {
    /// For each character: its byte in the source, and its byte in the text; and the ends of both.
    marks: Vec<(usize, usize)>,
}

impl WayBack {
    /// Makes ready to look places up in a decoded source.
    pub fn new(decoded: &Decoded) -> Self {
        let text = &decoded.text;
        let ends = std::iter::once(text.len());
        let marks = text
            .char_indices()
            .map(|(at, _)| at)
            .chain(ends)
            .map(|at| (decoded.source_span(Span::new(at, at)).start, at))
            .collect();
        Self { marks }
    }

    /// Where in the text the bytes of the source stand.
    pub fn text_span(&self, source: Span) -> Span {
        let find = |byte| {
            let at = self.marks.partition_point(|(source, _)| *source < byte);
            self.marks.get(at).or(self.marks.last()).map_or(0, |(_, text)| *text)
        };
        let (start, end) = (find(source.start), find(source.end));
        Span::new(start.min(end), end)
    }
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::{Reading, Stance, text};

    use super::*;
    use crate::screen::Screen;

    fn note(source: &str, quote: &str, of: &str) -> (Decoded, Note) {
        let at = source.find(quote).expect("the words stand there");
        let because = source.find(of).expect("the words stand there");
        let reading = Reading {
            quantity: "wind_speed".to_owned(),
            low: Some(15.0),
            high: Some(15.0),
            unit: "kn".to_owned(),
            unit_said: "knots".to_owned(),
            stance: Stance::Observed,
            gear: None,
            at: None,
            span: Span::new(at, at + quote.len()),
            quote: quote.to_owned(),
            doubts: vec!["may be five".to_owned()],
            because: vec![Reason {
                of: "quantity".to_owned(),
                what: "wind".to_owned(),
                span: Span::new(because, because + of.len()),
            }],
        };
        (text::decode(source.as_bytes()), Note { readings: vec![reading], ..Note::default() })
    }

    fn shown(source: &str, quote: &str, of: &str, width: usize, with_why: bool) -> String {
        let (decoded, note) = note(source, quote, of);
        let explained = Explained::new(&decoded, &note, None);
        Screen::printed(width, |screen| show(&explained, None, with_why, screen))
    }

    #[test]
    fn carets_stand_under_the_words() {
        insta::assert_snapshot!(shown("Calm at first.\nThen é wind fifteen knots.\n", "fifteen knots", "wind", 60, true), @r"
            2 | Then é wind fifteen knots.
              |             ^^^^^^^^^^^^^ wind speed 15 kn, observed
              |   doubt: may be five
              |   quantity: wind (“wind”)
        ");
    }

    #[test]
    fn long_lines_are_broken_and_findings_followed_over_them() {
        insta::assert_snapshot!(
            shown("A long line of talk that goes on and on, wind fifteen\nknots of it", "fifteen\nknots", "wind", 40, false),
            @r"
                1 | A long line of talk that goes on
                  | and on, wind fifteen
                  |              ^^^^^^^
                2 | knots of it
                  | ^^^^^ wind speed 15 kn, observed
                  |   doubt: may be five
            "
        );
    }

    #[test]
    fn a_byte_order_mark_shifts_nothing() {
        let (decoded, note) = note("\u{feff}wind fifteen knots", "fifteen knots", "wind");
        let line = &Explained::new(&decoded, &note, None).lines[0];
        assert_eq!(&line.text[line.marks[0].start..line.marks[0].end], "fifteen knots");
    }
}
