//! Plain text: dictated or typed, in paragraphs or in lines.
//!
//! ```text
//! Quillback, Thursday 20 August 2026, 7.40 pm, aboard      header lines: title, date, time, zone
//!
//! Right, this is the electrics one, because I promised     a paragraph on one line, or broken over several
//! myself I would sit down and do it properly.
//! Batt 12.6. Dip 34 L after the jerrycan.                  lines that each end in a full stop are thoughts of their own
//! 16:20 kettle on.                                         a time of day with a colon at the start of a line is its time
//! rpm   amps   volts                                       a table: see `columns`
//! 1000    12    13.1
//! ```

use std::ops::Range;

use super::{Cut, Piece, Stamp, columns, head, marks};
use crate::found::{Span, UtteranceKind};
use crate::text::{Line, fold};
use crate::token::plain_sign;
use crate::when::said::What;

/// Longest line, in bytes, that is taken as a header line as a whole.
const HEADER: usize = 200;

/// Lines at the top that may be header lines.
const HEADER_LINES: usize = 3;

/// A line at least this long, in bytes, may have been broken by an editor in the middle of a sentence.
const BROKEN_FROM: usize = 45;

pub(super) fn cut(text: &str, lines: &[Line]) -> Cut {
    let mut out = Cut::new("prose");
    let mut before: Option<Span> = None;
    let mut top = 0;
    let mut titled = false;
    let a_thought_a_line = a_thought_a_line(text, lines);
    let tables = columns::tables(text, lines);
    let mut entries = 0..0;
    for (n, line) in lines.iter().enumerate() {
        if let Some(table) = columns::of_line(&tables, n) {
            out.pieces.extend(table.piece(text, n));
            (before, top) = (None, HEADER_LINES);
            continue;
        }
        let Some(span) = line.trimmed(text) else {
            before = None;
            // The header ends at the first blank line, if it has said when; a title may stand above its date.
            titled = top > 0 && out.heads.is_empty();
            if top > 0 && !titled {
                top = HEADER_LINES;
            }
            continue;
        };
        let below = lines.get(n + 1).and_then(|below| below.trimmed(text));
        let alone = || below.is_none_or(|below| !head::mentions(text, below).is_empty());
        let dated = || head::day(&head::mentions(text, span)).is_some();
        if top < HEADER_LINES && (!titled || dated()) && header(text, span, top == 0, alone(), &mut out) {
            top += 1;
            before = None;
            continue;
        }
        top = HEADER_LINES;
        let count = out.pieces.len();
        let before_it =
            before.filter(|_| !is_label(&text[span.range()], below.map(|below| &text[below.range()])));
        let (kind, before_it) = if entries.contains(&n) {
            (UtteranceKind::ListItem, None)
        } else {
            (UtteranceKind::Paragraph, before_it)
        };
        add(text, span, kind, before_it, &mut out);
        if let Some(below) = entries_below(text, lines, n) {
            entries = below;
        }
        if let Some(piece) = out.pieces.get_mut(count)
            && let Some(time) = head::opening_time(text, span)
        {
            piece.stamp = Stamp::Clock(time);
        }
        before = Some(span).filter(|_| !a_thought_a_line);
    }
    out
}

/// The lines of a list that is written without marks, below the line that it stands under: "To do:", "Jobs".
fn entries_below(text: &str, lines: &[Line], label: usize) -> Option<Range<usize>> {
    /// The longest label, in words, and the longest entry, in bytes.
    const LABEL: usize = 4;
    const ENTRY: usize = 55;
    /// Most entries, so that lines which are all labels cost no more than others.
    const MOST: usize = 200;
    const JOBS: &[&str] = &[
        "to do",
        "todo",
        "jobs",
        "job list",
        "jobs list",
        "shopping",
        "shopping list",
        "to buy",
        "snags",
        "still to do",
    ];
    let title = &text[lines[label].trimmed(text)?.range()];
    let is_label = title.split_whitespace().count() <= LABEL
        && (title.ends_with(':') || JOBS.contains(&title.to_lowercase().as_str()));
    if !is_label {
        return None;
    }
    let below = lines[label + 1..].iter().take(MOST).map_while(|line| line.trimmed(text));
    let entries: Vec<&str> = below.map(|span| &text[span.range()]).collect();
    let is_entry = |line: &str| line.len() <= ENTRY && !ends_unfinished(line) && !line.ends_with(',');
    let sentences = entries.iter().filter(|line| line.ends_with('.')).count();
    (entries.len() > 1 && sentences * 2 <= entries.len() && entries.iter().all(|line| is_entry(line)))
        .then(|| label + 1..label + 1 + entries.len())
}

/// Whether the lines of a note that uses no full stops are thoughts, as people type or dictate them, and not pieces of
/// sentences that an editor broke at a width: they differ in length, and hardly one ends in the middle of a phrase.
fn a_thought_a_line(text: &str, lines: &[Line]) -> bool {
    const FEW: usize = 5;
    let mut open: Vec<&str> = Vec::new();
    for pair in lines.windows(2) {
        let (Some(line), Some(_)) = (pair[0].trimmed(text), pair[1].trimmed(text)) else { continue };
        let line = &text[line.range()];
        if !line.ends_with(['.', '!', '?', ':', ';', ',', '…', ')']) {
            open.push(line);
        }
    }
    let longest = open.iter().map(|l| l.len()).max().unwrap_or(0);
    let full = open.iter().filter(|l| l.len() * 5 >= longest * 4).count();
    let unfinished = open.iter().filter(|l| ends_unfinished(l)).count();
    // One line in ten may end like that all the same, "I'm not going up in this".
    open.len() >= FEW && full * 2 < open.len() && unfinished <= open.len().div_ceil(10)
}

/// Whether a line breaks off behind a word that ends no phrase.
fn ends_unfinished(line: &str) -> bool {
    const UNFINISHED: &[&str] = &[
        "the", "a", "an", "of", "and", "or", "to", "my", "our", "with", "for", "from", "at", "is", "was",
        "but", "that", "this", "i", "in", "on", "by", "than", "as", "if", "it's", "i'm", "not", "very", "so",
        "we", "has", "have",
    ];
    line.split_whitespace().next_back().is_some_and(|word| UNFINISHED.contains(&word.to_lowercase().as_str()))
}

/// Takes a line at the top as a header, if it is one; a long first line may only begin with one. `alone` says that no
/// words follow right below, as below a title.
pub(super) fn header(text: &str, span: Span, first: bool, alone: bool, out: &mut Cut) -> bool {
    let mentions = head::mentions(text, span);
    let sentence = head::sentences(text, span, &mentions)[0];
    let says = |span: Span| {
        mentions
            .iter()
            .any(|m| span.start <= m.span.start && m.span.end <= span.end && !matches!(m.what, What::Zone(_)))
    };
    if span.end - span.start <= HEADER {
        // A short line with a date in its first sentence, or a title above one.
        let title = first
            && alone
            && mentions.is_empty()
            && span.end - span.start < 60
            && !text[span.range()].ends_with(['.', '!', '?']);
        if says(sentence) || title || (!first && !mentions.is_empty()) {
            head::take(text, span, UtteranceKind::Paragraph, first, out);
            return true;
        }
        return false;
    }
    if first && says(sentence) && sentence.end - sentence.start < 120 {
        head::take(text, sentence, UtteranceKind::Paragraph, first, out);
        add(
            text,
            crate::text::trim(text, Span::new(sentence.end, span.end)).unwrap_or(sentence),
            UtteranceKind::Paragraph,
            None,
            out,
        );
        return true;
    }
    false
}

/// Adds a line as a piece, or to the one above if it goes on with its sentence. `before` is the line above.
pub(super) fn add(text: &str, span: Span, kind: UtteranceKind, before: Option<Span>, out: &mut Cut) {
    if let Some(before) = before
        && let Some(last) = out.pieces.last_mut()
        && last.span.end == before.end
        && joins(&text[before.range()], &text[span.range()])
    {
        let mut words = Vec::new();
        marks::words(text, span, &mut words);
        let mut words = words.into_iter();
        // Kept as one stretch, so that words and sentences can be found across the line's end.
        if let (Some(last), Some(first)) =
            (last.words.last_mut().filter(|w| w.end == before.end), words.as_slice().first())
            && first.start == span.start
        {
            last.end = first.end;
            words.next();
        }
        last.words.extend(words);
        last.span.end = span.end;
        last.text.push(' ');
        last.text.push_str(&fold(&text[span.range()]));
        return;
    }
    out.pieces.push(Piece::new(text, span, kind));
}

/// Whether a line goes on with the sentence of the line above.
pub(super) fn joins(above: &str, line: &str) -> bool {
    let ended = above
        .trim_end_matches(['"', '”', '\'', '’', ')', '*', '_'])
        .ends_with(['.', '!', '?', ':', ';', '…']);
    let lower = line.starts_with(char::is_lowercase);
    let item = line.starts_with(['-', '*', '•', '+', '#', '|', '>', '[', '☐', '☑', '☒', '✓', '✔'])
        || line.chars().next().and_then(plain_sign).is_some()
        || is_numbered(line);
    !item && !ended && (lower && above.len() >= BROKEN_FROM / 2 || above.len() >= BROKEN_FROM)
}

/// Whether a line is the label of a list right below it, "To do", "Bits to get", and goes on with nothing above.
pub(super) fn is_label(line: &str, below: Option<&str>) -> bool {
    /// The longest label, in bytes and in words.
    const LONGEST: (usize, usize) = (40, 5);
    let marked = |line: &str| {
        is_numbered(line)
            || is_bulleted(line)
            || ["[ ]", "[x]", "[X]", "☐", "☑", "☒"].iter().any(|mark| line.starts_with(mark))
    };
    line.len() <= LONGEST.0
        && line.split_whitespace().count() <= LONGEST.1
        && line.starts_with(char::is_uppercase)
        && !line.ends_with(['.', ',', ';', '!', '?'])
        && !line.contains(|c: char| c.is_ascii_digit())
        && !marked(line)
        && below.is_some_and(marked)
}

/// Whether a line begins with the sign of an item: "- new impeller", "• grease the windlass".
pub(super) fn is_bulleted(line: &str) -> bool {
    line.strip_prefix(['-', '*', '•', '+']).is_some_and(|rest| rest.starts_with(char::is_whitespace))
}

/// Whether a line begins with the number of an item: "1. new impeller", "2) grease the windlass".
pub(crate) fn is_numbered(line: &str) -> bool {
    let rest = line.trim_start_matches(|c: char| c.is_ascii_digit());
    (1..=2).contains(&(line.len() - rest.len()))
        && rest.strip_prefix(['.', ')']).is_some_and(|rest| rest.starts_with(char::is_whitespace))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::lines;

    /// Cuts, and shows each piece with the first letter of its kind.
    fn show(text: &str) -> Vec<String> {
        let cut = cut(text, &lines(text));
        cut.pieces.iter().map(|p| format!("{} {}", &p.kind.name()[..1], p.text)).collect()
    }

    #[test]
    fn header_lines_and_words_beside_them() {
        assert_eq!(
            show(
                "Corncrake, Sat 2 August 2025, 7.40 pm, aboard\nDry, W 2. Nothing else.\n\nBatt 12.6. Dip 34 L.\nKettle on.\n"
            ),
            [
                "h Corncrake, Sat 2 August 2025, 7.40 pm, aboard",
                "p Dry, W 2. Nothing else.",
                "p Batt 12.6. Dip 34 L.",
                "p Kettle on."
            ]
        );
        assert_eq!(
            show("Sat 29 Aug 2026, 0935, SW 15 kn, baro 1012. Off the mooring. Times UTC+10.\n"),
            ["h Sat 29 Aug 2026, 0935,", "p SW 15 kn, baro 1012. Off the mooring.", "h Times UTC+10."]
        );
        assert_eq!(
            show("Sat 29 Aug 2026, wind southwest ten\n"),
            ["h Sat 29 Aug 2026,", "p wind southwest ten"]
        );
        let long = format!(
            "Sat 27 June, 9:15 in the evening. A week to go. {}",
            "Southwest ten and the water is 55 now. ".repeat(9)
        );
        assert!(show(&long)[0] == "h Sat 27 June, 9:15 in the evening." && show(&long).len() == 2);
    }

    #[test]
    fn broken_lines_are_one_paragraph() {
        assert_eq!(
            show(
                "We went out past the island in a good breeze and the\nvane steered all the way home. Then the heater\n quit.\n\nNew one.\n"
            ),
            [
                "p We went out past the island in a good breeze and the vane steered all the way home. Then the heater quit.",
                "p New one."
            ]
        );
        assert_eq!(
            show("It failed in June when we\nhad 40 knots"),
            ["p It failed in June when we had 40 knots"]
        );
    }

    #[test]
    fn a_list_without_marks_stands_under_its_label() {
        let note = "Sat 29 Aug 2026\n\nTo do:\nfuel filter\nsheets for the storm jib\nring Pirjo about the gauge\n\nLate: home.\n";
        assert_eq!(
            show(note),
            [
                "h Sat 29 Aug 2026",
                "p To do:",
                "l fuel filter",
                "l sheets for the storm jib",
                "l ring Pirjo about the gauge",
                "p Late: home."
            ]
        );
        // What follows in sentences is told, and no list.
        assert_eq!(
            show("Plan:\nout at six.\nback for supper.\n")[1..],
            ["p out at six.", "p back for supper."]
        );
    }
}
