//! A marked note, for a person: each line broken to the width, with carets under what was found.

use std::io;

use unicode_width::UnicodeWidthStr;

use super::{Explained, Line, Mark};
use crate::screen::{CARE, FAINT, GOOD, Screen, styled};

/// Prints the lines that hold a finding, or the one that is asked for; `with_why` adds which words led to each.
pub fn show(
    explained: &Explained,
    only: Option<usize>,
    with_why: bool,
    screen: &mut Screen,
) -> io::Result<()> {
    let mut before = 0;
    for line in &explained.lines {
        let wanted = only.map_or(!line.marks.is_empty(), |number| number == line.number);
        if !wanted {
            continue;
        }
        if before > 0 && line.number > before + 1 {
            screen.line(styled(FAINT, "    …"))?;
        }
        before = line.number;
        show_line(line, with_why, screen)?;
    }
    if before == 0 {
        match only {
            Some(number) => {
                screen.line(format!("the note has no line {number}; it has {}", explained.lines.len()))?
            }
            None => screen.line("nothing was found in it")?,
        }
    }
    Ok(())
}

fn show_line(line: &Line, with_why: bool, screen: &mut Screen) -> io::Result<()> {
    const GUTTER: usize = 7;
    let mut number = line.number.to_string();
    let mut coming = line.marks.iter().peekable();
    let mut reaching: Vec<&Mark> = Vec::new();
    for (start, end) in pieces(&line.text, screen.width().saturating_sub(GUTTER).max(20)) {
        let piece = line.text[start..end].replace('\t', " ");
        screen.line(format!("{} {piece}", styled(FAINT, format!("{number:>4} |"))))?;
        number.clear();
        // Marks are in order of their beginning: each is taken up once and kept while it reaches on.
        while let Some(mark) = coming.next_if(|mark| mark.start < end) {
            reaching.push(mark);
        }
        for mark in reaching.iter().filter(|mark| mark.end > start) {
            let (from, to) = (mark.start.max(start), mark.end.min(end));
            let indent = " ".repeat(line.text[start..from].width());
            let carets = "^".repeat(line.text[from..to].trim_end().width().max(1));
            let carets = format!("{} {indent}{}", styled(FAINT, "     |"), styled(GOOD, carets));
            if mark.end > end || mark.what.is_empty() {
                screen.line(carets)?;
            } else {
                show_mark(mark, &carets, GUTTER + indent.len(), with_why, screen)?;
            }
        }
        reaching.retain(|mark| mark.end > end);
    }
    Ok(())
}

fn show_mark(
    mark: &Mark,
    carets: &str,
    indent: usize,
    with_why: bool,
    screen: &mut Screen,
) -> io::Result<()> {
    let used = indent + (mark.end - mark.start);
    if used + 1 + mark.what.width() <= screen.width() {
        screen.line(format!("{carets} {}", mark.what))?;
    } else {
        screen.line(carets)?;
        // Under its carets where there is room, else from the left.
        let at = if indent + mark.what.width() <= screen.width() { indent } else { 7 };
        let margin = format!("{} {}", styled(FAINT, "     |"), " ".repeat(at - 7));
        screen.paragraph(&margin, &margin, &mark.what)?;
    }
    let margin = format!("{}   ", styled(FAINT, "     |"));
    for doubt in &mark.doubts {
        screen.paragraph(&format!("{margin}{} ", styled(CARE, "doubt:")), &format!("{margin}  "), doubt)?;
    }
    for because in mark.because.iter().filter(|_| with_why) {
        screen.paragraph(&margin, &format!("{margin}  "), because)?;
    }
    Ok(())
}

/// Cuts a line into pieces no wider than `width` columns, between words where it can.
fn pieces(text: &str, width: usize) -> Vec<(usize, usize)> {
    let mut pieces = Vec::new();
    let (mut start, mut space, mut used) = (0, None, 0);
    for (at, sign) in text.char_indices() {
        let wide = unicode_width::UnicodeWidthChar::width(sign).unwrap_or(0);
        if used + wide > width {
            let cut = space.unwrap_or(at);
            pieces.push((start, cut));
            start = cut;
            space = None;
            used = text[start..at].width();
        }
        used += wide;
        if sign == ' ' {
            space = Some(at + 1);
        }
    }
    pieces.push((start, text.len()));
    pieces
}

#[cfg(test)]
mod tests {
    use super::pieces;

    #[test]
    fn lines_break_between_words_where_they_can() {
        let cut = |text: &str, width| {
            pieces(text, width).iter().map(|&(a, b)| text[a..b].to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(cut("one two three", 8), ["one two ", "three"]);
        assert_eq!(cut("abcdefghij", 4), ["abcd", "efgh", "ij"]);
        assert_eq!(cut("", 4), [""]);
        assert_eq!(cut("ééé éé", 4), ["ééé ", "éé"]);
    }
}
