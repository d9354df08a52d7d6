//! A note's words with everything marked that was found in them.

use leadsman_ingest::text::Decoded;
use leadsman_ingest::{Note, Span};
use maud::{Markup, html};

use crate::explain::WayBack;
use crate::figure;
use crate::words::{spaced, why};

/// A line of a note.
pub struct Line {
    /// Its number in the source, from 1.
    pub number: usize,
    /// First byte in the decoded text.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// Something found in a note, with its place in the decoded text.
struct Mark {
    span: Span,
    kind: &'static str,
    what: String,
    /// The place on the page that tells of it.
    to: String,
    doubtful: bool,
}

/// A note's words, ready to be shown line by line.
pub struct Marked<'a> {
    text: &'a str,
    /// The lines, in order.
    pub lines: Vec<Line>,
    marks: Vec<Mark>,
    /// The place that was asked for, in the text.
    here: Option<Span>,
}

impl<'a> Marked<'a> {
    /// Marks a note's findings. `prefix` parts the anchors of several notes on a page; `here` is a place in the source.
    pub fn new(decoded: &'a Decoded, note: &Note, prefix: &str, here: Option<Span>) -> Self {
        let way_back = WayBack::new(decoded);
        let at = |span| way_back.text_span(span);
        let mut marks = Vec::new();
        for (n, r) in note.readings.iter().enumerate() {
            let gear = r.gear.as_ref().map_or_else(String::new, |gear| format!(", {gear}"));
            let value = figure::range(r.low, r.high, &r.unit);
            marks.push(Mark {
                span: at(r.span),
                kind: "reading",
                what: format!("{} {value}, {}{gear}", spaced(&r.quantity), r.stance),
                to: format!("{prefix}r{n}"),
                doubtful: !r.doubts.is_empty(),
            });
        }
        for (n, t) in note.trials.iter().enumerate() {
            marks.push(Mark {
                span: at(t.span),
                kind: "trial",
                what: format!("trial of {}: {}", t.gear, t.outcome),
                to: format!("{prefix}t{n}"),
                doubtful: false,
            });
        }
        for (n, i) in note.items.iter().enumerate() {
            let gear = i.gear.as_ref().map_or_else(String::new, |gear| format!(", {gear}"));
            marks.push(Mark {
                span: at(i.span),
                kind: "item",
                what: format!("{}{gear}", why(i.why)),
                to: format!("{prefix}i{n}"),
                doubtful: false,
            });
        }
        let here = here.map(at).filter(|span| span.start < span.end);
        Self { lines: lines(&decoded.text), text: &decoded.text, marks, here }
    }

    /// The index of the line that the place asked for begins on.
    pub fn line_of_here(&self) -> Option<usize> {
        let start = self.here?.start;
        Some(self.lines.partition_point(|line| line.end < start).min(self.lines.len().saturating_sub(1)))
    }

    /// One line with its marks. A stretch that is several things at once bears the signs of all, and leads to the first.
    pub fn line(&self, line: &Line) -> Markup {
        let inside = |span: &Span| span.start < line.end && span.end > line.start;
        let here = self.here.filter(inside);
        let marks: Vec<&Mark> = self.marks.iter().filter(|mark| inside(&mark.span)).collect();
        let mut cuts = vec![line.start, line.end];
        for span in marks.iter().map(|mark| mark.span).chain(here) {
            cuts.extend(
                [span.start, span.end].into_iter().filter(|cut| (line.start..line.end).contains(cut)),
            );
        }
        cuts.sort_unstable();
        cuts.dedup();
        html! {
            @for cut in cuts.windows(2) {
                @let covers = |span: &Span| span.start <= cut[0] && span.end >= cut[1];
                @let on: Vec<&&Mark> = marks.iter().filter(|mark| covers(&mark.span)).collect();
                @let is_here = here.is_some_and(|span| covers(&span));
                @let begins = here.is_some_and(|span| span.start.max(line.start) == cut[0]) && self.begins_on(line);
                // The way back gives places between characters; one that is not would be shown nowhere.
                @let words = self.text.get(cut[0]..cut[1]).unwrap_or_default();
                @let piece = html! {
                    @match on.first() {
                        Some(first) => {
                            a class={ "mark" @for mark in &on { " " (mark.kind) @if mark.doubtful { " doubtful" } } }
                                href={ "#" (first.to) } title=(titles(&on)) { (words) }
                        },
                        None => (words),
                    }
                };
                @if is_here { mark.here id=[begins.then_some("here")] { (piece) } } @else { (piece) }
            }
        }
    }

    fn begins_on(&self, line: &Line) -> bool {
        self.here.is_some_and(|span| (line.start..=line.end).contains(&span.start))
    }
}

fn titles(marks: &[&&Mark]) -> String {
    marks.iter().map(|mark| mark.what.as_str()).collect::<Vec<_>>().join("; ")
}

fn lines(text: &str) -> Vec<Line> {
    let mut start = 0;
    let mut lines = Vec::new();
    for (n, raw) in text.split('\n').enumerate() {
        lines.push(Line { number: n + 1, start, end: start + raw.trim_end_matches('\r').len() });
        start += raw.len() + 1;
    }
    // The line after the last line's end has nothing on it.
    if lines.len() > 1 && lines.last().is_some_and(|line| line.start == line.end) {
        lines.pop();
    }
    lines
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::{Hints, text};

    use super::*;

    fn shown(source: &str, here: Option<&str>) -> Vec<String> {
        let decoded = text::decode(source.as_bytes());
        let note = leadsman_ingest::read(source.as_bytes(), &Hints::default());
        let here = here.map(|words| {
            let at = source.find(words).expect("the words stand there");
            Span::new(at, at + words.len())
        });
        let marked = Marked::new(&decoded, &note, "", here);
        marked.lines.iter().map(|line| marked.line(line).into_string()).collect()
    }

    #[test]
    fn numbers_are_marked_in_the_text_and_lead_to_what_was_understood() {
        let lines = shown("Calm at first.\nThen wind fifteen knots.\n", Some("fifteen"));
        assert_eq!(lines.len(), 2);
        assert_eq!(lines[0], "Calm at first.");
        assert!(lines[1].contains("class=\"mark reading\" href=\"#r0\""), "{}", lines[1]);
        assert!(lines[1].contains("title=\"wind speed 15 kn, observed\""), "{}", lines[1]);
        assert_eq!(lines[1].matches("id=\"here\"").count(), 1);
        assert!(lines[1].contains("<mark class=\"here\" id=\"here\"><a class=\"mark reading\" href=\"#r0\""));
    }

    #[test]
    fn words_are_escaped_and_none_is_lost() {
        let source = "<script>alert(1)</script> é wind 15 knots & \"more\"\r\nend";
        let lines = shown(source, Some("é wind"));
        let text: String = lines.join("\n");
        assert!(!text.contains("<script"), "{text}");
        let bare = {
            let mut out = String::new();
            let mut inside = false;
            for sign in text.chars() {
                match sign {
                    '<' => inside = true,
                    '>' => inside = false,
                    _ if !inside => out.push(sign),
                    _ => {}
                }
            }
            out
        };
        let plain =
            bare.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
        assert_eq!(plain, source.replace('\r', ""));
    }
}
