//! Markdown: notes typed with headings, lists and tables.
//!
//! ```text
//! ---                                      front matter, if any: `date: 2026-09-12 08:30`
//! date: 2026-09-12
//! ---
//! # Quillback, Saturday 12 September 2026  the title; with the lines below it that say when and where, a header
//!
//! Started 08:30 (UTC+10) on the berth.
//!
//! ## Engine                                a heading; one that names a day begins that day
//!
//! - [x] Oil **changed**                    a list item, nested or not; the box is in `text`, not in `words`
//! - 13:40 anchored                         a time of day at the start of an item, line or heading is its time
//!
//! | wire | P | S |                         a table: one utterance a row, one stretch of words a cell
//! |---|---|---|
//! | caps | 19% | 20% |
//! ```
//!
//! The parsing is pulldown-cmark's (CommonMark with tables, task lists, strikethrough); emphasis, link targets, HTML
//! and the like are mark-up and no words. Lines of a paragraph that do not go on with the sentence above are
//! utterances of their own, for people end thoughts with the line.

use std::borrow::Cow;
use std::ops::Range;

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

use super::{Cut, Piece, Stamp, columns, cue, filled, head, marks, prose};
use crate::found::{Span, UtteranceKind};
use crate::text::{Line, fold, trim};

pub(super) fn is(text: &str, lines: &[Line], name: &str) -> bool {
    let lower = name.to_lowercase();
    if lower.ends_with(".md") || lower.ends_with(".markdown") {
        return true;
    }
    let (mut items, mut signs) = (0, 0);
    for (n, (span, _)) in filled(text, lines).enumerate() {
        let line = &text[span.range()];
        let hashes = line.bytes().take_while(|b| *b == b'#').count();
        let heading = (1..=6).contains(&hashes) && line[hashes..].starts_with(' ');
        let table = line.starts_with('|') && is_table_rule(line.as_bytes());
        let front = n == 0 && line == "---";
        signs += usize::from(heading || table || front);
        items += usize::from(is_item(line) || line.starts_with("> "));
    }
    signs > 0 || items > 1
}

/// Whether a line is the rule below a table's head, of bars and dashes: `|---|:--|`.
pub(crate) fn is_table_rule(line: &[u8]) -> bool {
    line.contains(&b'|') && line.windows(3).any(|w| w == b"---") && line.iter().all(|b| b"|-: \t".contains(b))
}

fn is_item(line: &str) -> bool {
    let figures = line.bytes().take_while(u8::is_ascii_digit).count();
    let rest = if (1..=3).contains(&figures) {
        line[figures..].strip_prefix(['.', ')'])
    } else {
        line.strip_prefix(['-', '*', '+'])
    };
    rest.is_some_and(|rest| rest.starts_with([' ', '\t']))
}

pub(super) fn cut(text: &str, lines: &[Line]) -> Cut {
    let tables = columns::tables(text, lines);
    let plain: Vec<&columns::Table> =
        tables.iter().filter(|table| !table.has_a_rule_of_bars(text, lines)).collect();
    let shown = without(text, lines, &plain);
    let options = Options::ENABLE_TABLES
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_YAML_STYLE_METADATA_BLOCKS;
    let mut reader =
        Reader { text, out: Cut::new("markdown"), block: None, headings: 0, lines: 0, front: false };
    for (event, range) in Parser::new_ext(&shown, options).into_offset_iter() {
        reader.take(event, range);
    }
    reader.flush();
    let mut out = reader.out;
    for table in plain {
        out.pieces.extend(table.lines.clone().filter_map(|line| table.piece(text, line)));
    }
    out.pieces.sort_by_key(|piece| piece.span.start);
    out
}

/// The text with blanks in place of tables typed without Markdown's signs, which it would take for paragraphs.
fn without<'a>(text: &'a str, lines: &[Line], tables: &[&columns::Table]) -> Cow<'a, str> {
    if tables.is_empty() {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for line in tables.iter().flat_map(|table| table.lines.clone()).filter_map(|n| lines.get(n)) {
        out.push_str(&text[at..line.start]);
        out.extend(std::iter::repeat_n(' ', line.end - line.start));
        at = line.end;
    }
    out.push_str(&text[at..]);
    Cow::Owned(out)
}

/// A block under way.
struct Block {
    kind: UtteranceKind,
    span: Span,
    words: Vec<Span>,
    shown: String,
    /// Where the line under way begins, in `shown`; and whether a line end came after the last words.
    line: usize,
    broken: bool,
    /// Where the words of the table cell under way begin, in `words`.
    cell: usize,
    cells: usize,
}

struct Reader<'a> {
    text: &'a str,
    out: Cut,
    block: Option<Block>,
    headings: usize,
    /// Lines of words so far, for telling what stands at the top.
    lines: usize,
    front: bool,
}

/// Lines below the title that may say when and where.
const TOP: usize = 3;

impl Reader<'_> {
    fn take(&mut self, event: Event<'_>, range: Range<usize>) {
        match event {
            Event::Start(Tag::Heading { .. }) => self.begin(UtteranceKind::Heading, &range),
            Event::Start(Tag::Item) => self.begin(UtteranceKind::ListItem, &range),
            Event::Start(Tag::TableHead | Tag::TableRow) => self.begin(UtteranceKind::TableRow, &range),
            // The paragraph of a list item is the item.
            Event::Start(Tag::Paragraph) if self.in_new_item() => {}
            Event::Start(Tag::Paragraph) => self.begin(UtteranceKind::Paragraph, &range),
            Event::Start(Tag::CodeBlock(_) | Tag::HtmlBlock) => self.begin(UtteranceKind::Paragraph, &range),
            Event::Start(Tag::MetadataBlock(_)) => self.front = true,
            Event::End(TagEnd::MetadataBlock(_)) => self.front = false,
            Event::End(
                TagEnd::Heading(_)
                | TagEnd::Item
                | TagEnd::TableHead
                | TagEnd::TableRow
                | TagEnd::Paragraph
                | TagEnd::CodeBlock
                | TagEnd::HtmlBlock,
            ) => self.flush(),
            Event::Start(Tag::TableCell) => self.cell(),
            Event::End(TagEnd::TableCell) => self.cell_end(),
            Event::TaskListMarker(done) => {
                if let Some(block) = &mut self.block {
                    block.shown.push_str(if done { "[x] " } else { "[ ] " });
                    block.line = block.shown.len();
                }
            }
            Event::Text(words) => self.words(&words, Span::new(range.start, range.end)),
            Event::Code(words) => {
                let code = &self.text[range.clone()];
                if let Some(at) = code.find(&*words) {
                    self.words(&words, Span::new(range.start + at, range.start + at + words.len()));
                } else if let Some(block) = &mut self.block {
                    // Code over a line's end: its words stand between the backticks.
                    let inner = code.trim_matches('`');
                    let from = range.start + (code.len() - code.trim_start_matches('`').len());
                    block.shown.push_str(&words);
                    block.words.extend(trim(self.text, Span::new(from, from + inner.len())));
                }
            }
            Event::SoftBreak | Event::HardBreak => {
                if let Some(block) = &mut self.block {
                    block.broken = true;
                }
            }
            // HTML is mark-up; the words between its tags in a block are words.
            Event::Html(_) => {
                let (words, shown) = cue::words(self.text, Span::new(range.start, range.end));
                if let Some(block) = self.block.as_mut().filter(|_| !shown.trim_start().starts_with("<!--")) {
                    block.words.extend(words);
                    if !block.shown.is_empty() && !shown.is_empty() {
                        block.shown.push(' ');
                    }
                    block.shown.push_str(&shown);
                }
            }
            _ => {}
        }
    }

    /// Whether a list item has begun and nothing is said in it yet.
    fn in_new_item(&self) -> bool {
        self.block.as_ref().is_some_and(|b| b.kind == UtteranceKind::ListItem && b.words.is_empty())
    }

    fn begin(&mut self, kind: UtteranceKind, range: &Range<usize>) {
        self.flush();
        self.headings += usize::from(kind == UtteranceKind::Heading);
        self.block = Some(Block {
            kind,
            span: Span::new(range.start, range.end),
            words: Vec::new(),
            shown: String::new(),
            line: 0,
            broken: false,
            cell: 0,
            cells: 0,
        });
    }

    fn cell(&mut self) {
        if let Some(block) = &mut self.block {
            if block.cells > 0 {
                block.shown.push_str(" | ");
            }
            block.cells += 1;
            block.cell = block.words.len();
        }
    }

    /// A cell is one stretch of words, whatever mark-up stands in it.
    fn cell_end(&mut self) {
        if let Some(block) = &mut self.block
            && let (Some(first), Some(last)) = (block.words.get(block.cell), block.words.last())
        {
            let cell = Span::new(first.start, last.end);
            block.words.truncate(block.cell);
            block.words.push(cell);
        }
    }

    fn words(&mut self, shown: &str, span: Span) {
        if self.front {
            let mut at = span.start;
            for line in self.text[span.range()].split_inclusive('\n') {
                if let Some(line) = trim(self.text, Span::new(at, at + line.len())) {
                    head::take_whole(self.text, line, &mut self.out);
                }
                at += line.len();
            }
            return;
        }
        // Words after a list inside an item, and the like.
        if self.block.is_none() {
            self.begin(UtteranceKind::Paragraph, &(span.start..span.end));
        }
        let Some(block) = &mut self.block else { return };
        let table = block.kind == UtteranceKind::TableRow;
        // The lines of a code block come in one text.
        if !table && shown.contains('\n') && self.text.get(span.range()) == Some(shown) {
            let kind = block.kind;
            self.flush();
            let mut at = span.start;
            for line in shown.split_inclusive('\n') {
                if let Some(line) = trim(self.text, Span::new(at, at + line.len())) {
                    self.out.pieces.push(Piece::new(self.text, line, kind));
                }
                at += line.len();
            }
            return;
        }
        if block.broken {
            block.broken = false;
            if prose::joins(&block.shown[block.line..], shown) {
                block.shown.push(' ');
                block.line = block.shown.len();
            } else {
                let (kind, end) = (block.kind, block.span.end);
                block.span.end = span.start;
                self.begin(kind, &(span.start..end.max(span.end)));
            }
        }
        let Some(block) = &mut self.block else { return };
        block.shown.push_str(shown);
        // An entity stands for something else than its bytes, which are no words.
        if self.text.get(span.range()) != Some(shown) {
            return;
        }
        let from = block.words.len();
        marks::words(self.text, span, &mut block.words);
        // Words that only a line's end parts from the ones before are one stretch with them.
        if !table
            && let Some(before) = from.checked_sub(1).map(|i| block.words[i])
            && let Some(next) = block.words.get(from).copied()
            && next.start == trim(self.text, span).map_or(span.start, |s| s.start)
            && self.text[before.end..next.start].chars().all(char::is_whitespace)
        {
            block.words[from - 1].end = next.end;
            block.words.remove(from);
        }
    }

    fn flush(&mut self) {
        let Some(mut block) = self.block.take() else { return };
        block.words.retain(|w| w.start < w.end);
        let Some((first, last)) = block.words.first().zip(block.words.last()) else {
            // A heading or item of marks only; nothing is said in it.
            return;
        };
        let words = Span::new(first.start, last.end);
        // An item's span ends before the items nested in it; mark-up after the last word belongs to no one.
        let span = trim(self.text, Span::new(block.span.start.min(words.start), words.end)).unwrap_or(words);
        self.lines += 1;
        let kind = block.kind;
        let top = self.headings <= 1 && self.lines <= TOP + 1 && kind != UtteranceKind::TableRow;
        let title = kind == UtteranceKind::Heading && self.headings == 1 && self.lines == 1;
        if top && kind != UtteranceKind::ListItem {
            let line = Span::new(words.start, span.end);
            if title {
                head::take(self.text, line, kind, true, &mut self.out);
                return;
            }
            if kind == UtteranceKind::Paragraph
                && prose::header(self.text, line, self.lines == 1, false, &mut self.out)
            {
                return;
            }
            // Behind words no header comes any more.
            if kind == UtteranceKind::Paragraph {
                self.lines = TOP + 1;
            }
        }
        let mut stamp = Stamp::None;
        let mut kind = kind;
        if kind == UtteranceKind::Heading
            && let Some(day) = head::day_heading(self.text, words)
        {
            stamp = day;
            kind = UtteranceKind::Header;
        }
        if stamp == Stamp::None
            && kind != UtteranceKind::TableRow
            && let Some(time) = head::opening_time(self.text, words)
        {
            stamp = Stamp::Clock(time);
        }
        let text = block.shown.split(" | ").map(fold).collect::<Vec<_>>().join(" | ");
        let text = if kind == UtteranceKind::TableRow { text } else { fold(&block.shown) };
        self.out.pieces.push(Piece { span, words: block.words, text, id: None, cue: None, kind, stamp });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::lines;

    /// Cuts, and shows each piece as its kind, its stretches of words and its text.
    fn show(text: &str) -> Vec<String> {
        let words = |p: &Piece| p.words.iter().map(|w| &text[w.range()]).collect::<Vec<_>>().join("·");
        cut(text, &lines(text))
            .pieces
            .iter()
            .map(|p| format!("{} {} <{}>", p.kind.name(), words(p), p.text))
            .collect()
    }

    #[test]
    fn headings_lists_tables_and_quotes() {
        let text = "# Marigold - what she uses. Saturday June 20 2026\n\nStarted 09:05, home 18:20. Ros till lunch. Wind SW 10-12.\n\n\
                    ## Fuel\n\n- 1400 rpm: **4.6 kt**, 0.38 gal/h\n  - nested *one*\n- [x] strop done\n- [ ] `hose` next\n\n\
                    | wire | P |\n|---|---|\n| caps | **19%** now |\n\n> Dry &amp; cold.\n";
        assert!(is(text, &lines(text), "note.txt"));
        assert_eq!(
            show(text),
            [
                "header Marigold - what she uses. Saturday June 20 2026 <Marigold - what she uses. Saturday June 20 2026>",
                "header Started 09:05, home 18:20. <Started 09:05, home 18:20.>",
                "paragraph Ros till lunch. Wind SW 10-12. <Ros till lunch. Wind SW 10-12.>",
                "heading Fuel <Fuel>",
                "list_item 1400 rpm:·4.6 kt·, 0.38 gal/h <1400 rpm: 4.6 kt, 0.38 gal/h>",
                "list_item nested·one <nested one>",
                "list_item strop done <[x] strop done>",
                "list_item hose·next <[ ] hose next>",
                "table_row wire·P <wire | P>",
                "table_row caps·19%** now <caps | 19% now>",
                "paragraph Dry·cold. <Dry & cold.>",
            ]
        );
    }

    #[test]
    fn lines_that_end_a_thought_stand_alone() {
        let text = "# A note\n\nW 10 kn, 13 °C on deck, 1021 hPa.\nNothing to complain about, all the way down the\nchannel and back again.\n";
        assert_eq!(
            show(text)[1..],
            [
                "paragraph W 10 kn, 13 °C on deck, 1021 hPa. <W 10 kn, 13 °C on deck, 1021 hPa.>",
                "paragraph Nothing to complain about, all the way down the\nchannel and back again. \
                 <Nothing to complain about, all the way down the channel and back again.>",
            ]
        );
    }

    #[test]
    fn front_matter_and_days() {
        let text = "---\ntitle: Shakedown\ndate: 2026-09-12 08:30\n---\n\n# Weekend\n\n## Sunday 13 September\n\n- 13:40 anchored\n- 8 m of water\n";
        let cut = cut(text, &lines(text));
        assert_eq!(cut.heads.len(), 2);
        let kinds: Vec<_> = cut.pieces.iter().map(|p| p.kind.name()).collect();
        assert_eq!(kinds, ["header", "header", "header", "header", "list_item", "list_item"]);
        assert!(matches!(cut.pieces[3].stamp, Stamp::Day(_)));
        assert!(matches!(cut.pieces[4].stamp, Stamp::Clock(_)));
        assert_eq!(cut.pieces[5].stamp, Stamp::None);
    }

    #[test]
    fn tables_without_signs_are_tables() {
        assert_eq!(
            show("# Log\n\nAlternator:\n\nrpm   amps\n1000    12\n1400    28\n\n- done\n"),
            [
                "header Log <Log>",
                "paragraph Alternator: <Alternator:>",
                "table_row rpm·amps <rpm | amps>",
                "table_row 1000·12 <1000 | 12>",
                "table_row 1400·28 <1400 | 28>",
                "list_item done <done>",
            ]
        );
    }

    /// Found by random scraps: code over the line's end of a quote, a line's end before a table that is none.
    #[test]
    fn mark_up_that_runs_over_its_block() {
        let words = |text| show(text).iter().map(|l| l.replace('\n', "/")).collect::<Vec<_>>();
        assert_eq!(
            words("> a `code 🌊\n> runs` on\n"),
            ["paragraph a·code 🌊/> runs·on <a code 🌊 runs on>"]
        );
        let item = words("  - # one --> two\n    | a | b |\n|---|---|\n9 \n");
        assert_eq!(item.first().map(String::as_str), Some("heading one --> two <one --> two>"), "{item:?}");
    }
}
