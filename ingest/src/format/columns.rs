//! Tables typed into plain text: a line that names columns, and lines of figures below it.
//!
//! ```text
//! rpm | amps | volts          Load        A     V          rpm amps volts          time;baro;wind
//! 1000 | 12 | 13.1            Fridge    4.1  12.6          1000 12 13.1            0600;1012;12
//! 1400 | 28 | 13.9            Radar     3.2  12.5          1400 28 13.9            1200;1008;18
//! ```
//!
//! Cells are parted by bars, tabs, semicolons, two spaces or more, a comma or a slash with its space, or single spaces
//! where all below the head is figures. A head is told by its names: units and quantities of the lexicon.

use std::ops::Range;

use super::{Piece, Stamp, marks};
use crate::found::{Span, Utterance, UtteranceKind};
use crate::quantity::{cues, unit_named};
use crate::text::{Line, fold, trim};
use crate::token::tokens;
use crate::word::WordList;

/// Longest cell of a head, in bytes.
const NAME: usize = 28;
/// Longest line of a table, in bytes.
const WIDTH: usize = 200;

/// A table, its head first.
#[derive(Clone, Debug)]
pub(super) struct Table {
    /// Which lines, by their place among all lines of the text.
    pub lines: Range<usize>,
    /// The cells of each of these lines; none in a rule between head and rows.
    rows: Vec<Vec<Span>>,
    /// Whether the first column tells times of day.
    timed: bool,
}

impl Table {
    /// The piece that one of its lines is; none for a rule.
    pub(super) fn piece(&self, text: &str, line: usize) -> Option<Piece> {
        let cells = &self.rows[line - self.lines.start];
        let (first, last) = (cells.first()?, cells.last()?);
        let mut words = Vec::new();
        for cell in cells {
            let from = words.len();
            marks::words(text, *cell, &mut words);
            // One stretch a cell: columns are counted by them.
            if words.len() > from + 1 {
                let end = words[words.len() - 1].end;
                words.truncate(from + 1);
                words[from].end = end;
            }
        }
        let shown: Vec<String> = cells.iter().map(|cell| fold(&text[cell.range()])).collect();
        let time =
            || super::log::time(&text[first.range()]).filter(|_| self.timed && line > self.lines.start);
        Some(Piece {
            span: Span::new(first.start, last.end),
            words,
            text: shown.join(" | "),
            id: None,
            cue: None,
            kind: UtteranceKind::TableRow,
            stamp: time().map_or(Stamp::None, Stamp::Clock),
        })
    }

    /// Whether it is a table of Markdown's own: a rule of dashes and bars under its head.
    pub(super) fn has_a_rule_of_bars(&self, text: &str, lines: &[Line]) -> bool {
        lines.get(self.lines.start + 1).and_then(|line| line.trimmed(text)).is_some_and(|line| {
            let line = &text[line.range()];
            is_rule(line) && line.contains('|')
        })
    }
}

/// What parts the cells of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Parted {
    By(&'static str),
    /// Two white spaces or more.
    Wide,
    /// Any white space.
    Any,
}

impl Parted {
    /// From what is used for nothing else to what parts words as well.
    const ALL: [Self; 7] = [
        Self::By("|"),
        Self::By("\t"),
        Self::By(";"),
        Self::Wide,
        Self::By(", "),
        Self::By(" / "),
        Self::Any,
    ];

    /// Whether only figures may stand below a head that is parted so.
    fn of_figures(self) -> bool {
        matches!(self, Self::By(", " | " / ") | Self::Any)
    }

    /// The cells of a line, blank ones left out; bars at its ends part nothing.
    fn cells(self, text: &str, line: Span) -> Vec<Span> {
        let mut out = Vec::new();
        let words = &text[line.range()];
        let mut push =
            |from: usize, to: usize| out.extend(trim(text, Span::new(line.start + from, line.start + to)));
        match self {
            Self::By(sign) => {
                let mut from = 0;
                for (at, _) in words.match_indices(sign) {
                    push(from, at);
                    from = at + sign.len();
                }
                push(from, words.len());
            }
            Self::Wide | Self::Any => {
                let wide = usize::from(self == Self::Wide) + 1;
                let (mut from, mut blanks) = (0, 0);
                for (at, c) in words.char_indices() {
                    if c.is_whitespace() {
                        blanks += 1;
                    } else {
                        if blanks >= wide {
                            push(from, at);
                            from = at;
                        }
                        blanks = 0;
                    }
                }
                push(from, words.len());
            }
        }
        out
    }
}

/// The table that a line belongs to, by its place among all lines of the text.
pub(super) fn of_line(tables: &[Table], line: usize) -> Option<&Table> {
    let next = tables.partition_point(|table| table.lines.end <= line);
    tables.get(next).filter(|table| table.lines.contains(&line))
}

/// The tables of a text, in order.
pub(super) fn tables(text: &str, lines: &[Line]) -> Vec<Table> {
    let mut out: Vec<Table> = Vec::new();
    let mut at = 0;
    while at + 1 < lines.len() {
        match table(text, lines, at) {
            Some(table) => {
                at = table.lines.end;
                out.push(table);
            }
            None => at += 1,
        }
    }
    out
}

/// The table whose head is a line.
fn table(text: &str, lines: &[Line], at: usize) -> Option<Table> {
    let head = lines[at].trimmed(text).filter(|span| span.end - span.start <= WIDTH)?;
    if text[head.range()].starts_with(|c: char| c.is_ascii_digit()) || is_rule(&text[head.range()]) {
        return None;
    }
    let below = (at + 1..lines.len()).map(|n| (n, lines[n].trimmed(text)));
    let first = below.clone().find(|(_, line)| line.is_none_or(|line| !is_rule(&text[line.range()])))?.1?;
    Parted::ALL.into_iter().find_map(|parted| {
        // What is below the head is looked at first: few lines of a note are parted so at all.
        let names = parted.cells(text, head);
        if names.len() < 2 || !is_row(text, parted, names.len(), first) || !is_head(text, parted, &names) {
            return None;
        }
        let timed = matches!(
            text[names[0].range()].to_lowercase().as_str(),
            "time" | "utc" | "at" | "hour" | "hrs" | "lt"
        );
        let mut rows = vec![names];
        let columns = rows[0].len();
        for (_, line) in below.clone() {
            let Some(line) = line else { break };
            if is_rule(&text[line.range()]) {
                rows.push(Vec::new());
            } else if is_row(text, parted, columns, line) {
                rows.push(parted.cells(text, line));
            } else {
                break;
            }
        }
        let filled = rows.iter().filter(|row| !row.is_empty()).count();
        let enough = if parted.of_figures() { 3 } else { 2 };
        (filled >= enough).then(|| Table { lines: at..at + rows.len(), rows, timed })
    })
}

/// A rule under a head: "-----", "---+---", "====".
fn is_rule(line: &str) -> bool {
    line.len() >= 3
        && line
            .chars()
            .all(|c| matches!(c, '-' | '=' | '+' | '|' | ':' | '_' | '–' | '—') || c.is_whitespace())
}

fn is_row(text: &str, parted: Parted, columns: usize, line: Span) -> bool {
    if line.end - line.start > WIDTH {
        return false;
    }
    let cells = parted.cells(text, line);
    let figure = |cell: &Span| {
        text[cell.range()]
            .trim_start_matches(['-', '+', '~', '−', '<', '>'])
            .starts_with(|c: char| c.is_ascii_digit())
    };
    let figures = cells.iter().filter(|cell| figure(cell)).count();
    if parted.of_figures() {
        return cells.len() == columns && figures == columns;
    }
    // "1400 4.4" is two figures, however the line is parted.
    let several = |cell: &Span| {
        text[cell.range()]
            .split_whitespace()
            .filter(|word| word.starts_with(|c: char| c.is_ascii_digit()))
            .count()
            > 1
    };
    let bars = parted == Parted::By("|");
    if !bars && cells.iter().any(several) {
        return false;
    }
    (2..=columns).contains(&cells.len()) && (bars || figures > 0 && figures + 1 >= cells.len())
}

/// Whether cells name columns: short, without figures at their start, and most of them a unit or a quantity.
fn is_head(text: &str, parted: Parted, cells: &[Span]) -> bool {
    let short = |cell: &Span| {
        let words = &text[cell.range()];
        words.len() <= NAME
            && !words.starts_with(|c: char| c.is_ascii_digit())
            && !words.ends_with(['.', '!', '?', ','])
    };
    if !cells.iter().all(short) {
        return false;
    }
    // Bars are typed for nothing but tables, and name what was tried as well as what was measured.
    if parted == Parted::By("|") {
        return true;
    }
    let named = cells.iter().filter(|cell| names_a_column(&text[cell.range()])).count();
    let first = usize::from(!names_a_column(&text[cells[0].range()]));
    named > 0 && named + first == cells.len()
}

/// Whether words are the name of a unit, of a quantity, or of a column that orders the rest.
fn names_a_column(words: &str) -> bool {
    const ORDERS: &WordList = words![
        "time", "utc", "date", "day", "note", "notes", "remark", "remarks", "mode", "sail", "on", "off",
        "low", "high",
    ];
    let line = [Utterance::line(words)];
    let tokens = tokens(words, &line);
    (0..tokens.len()).any(|at| unit_named(&tokens, at).is_some() || tokens[at].is_any(ORDERS))
        || !cues(&tokens).is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::lines;

    fn shown(text: &str) -> Vec<String> {
        let lines = lines(text);
        let of = |table: &Table| {
            table.lines.clone().filter_map(|n| table.piece(text, n)).map(|p| p.text).collect::<Vec<_>>()
        };
        tables(text, &lines).iter().flat_map(of).collect()
    }

    #[test]
    fn cells_are_parted_in_many_ways() {
        let expect = ["rpm | amps | volts", "1000 | 12 | 13.1", "1400 | 28 | 13.9"];
        for text in [
            "Alternator.\n\nrpm | amps | volts\n1000 | 12 | 13.1\n1400 | 28 | 13.9\n\nDone.\n",
            "| rpm | amps | volts |\n| 1000 | 12 | 13.1 |\n| 1400 | 28 | 13.9 |\n",
            "rpm\tamps\tvolts\n1000\t12\t13.1\n1400\t28\t13.9\n",
            "rpm\tamps\t\tvolts\n1000\t12\t\t13.1\n1400\t28\t\t13.9\n",
            "rpm   amps  volts\n-----------------\n1000    12   13.1\n1400    28   13.9\n",
            "rpm;amps;volts\n1000;12;13.1\n1400;28;13.9\n",
            "rpm, amps, volts\n1000, 12, 13.1\n1400, 28, 13.9\nThat was it.\n",
            "rpm / amps / volts\n1000 / 12 / 13.1\n1400 / 28 / 13.9\n",
            "rpm amps volts\n1000 12 13.1\n1400 28 13.9\n",
            "rpm  amps  volts\n1000 12  13.1\n1400 28  13.9\n",
        ] {
            assert_eq!(shown(text), expect, "{text}");
        }
        assert_eq!(
            shown("Load       A     V\nFridge   4.1  12.6\nRadar    3.2  12.5\n"),
            ["Load | A | V", "Fridge | 4.1 | 12.6", "Radar | 3.2 | 12.5"]
        );
    }

    #[test]
    fn sentences_are_no_tables() {
        for text in [
            "Wind was up.  Speed was down.\n12 knots.  5 knots.\n",
            "Heater on, amps fine, volts fine\nThen we left.\n",
            "heater, stove, lamp\n3, 4, 5\n6, 7, 8\n",
            "Speed\n5\n6\n",
            "wind speed\n12 knots\n14 knots and rising\n",
            "",
        ] {
            assert_eq!(shown(text), [""; 0], "{text}");
        }
    }

    #[test]
    fn a_column_of_times_stamps_its_rows() {
        let text = "time  wind  baro\n0600  12  1012\n1200  18  1008\n";
        let lines = lines(text);
        let table = &tables(text, &lines)[0];
        let stamps: Vec<Stamp> =
            table.lines.clone().filter_map(|n| table.piece(text, n)).map(|p| p.stamp).collect();
        let clock = |hour| Stamp::Clock(chrono::NaiveTime::from_hms_opt(hour, 0, 0).expect("a time of day"));
        assert_eq!(stamps, [Stamp::None, clock(6), clock(12)]);
    }
}
