//! A small plot of readings in time, in characters that any terminal has.

use chrono::{DateTime, FixedOffset};

use crate::figure;

const ROWS: usize = 8;
const WIDEST: usize = 72;

/// Draws points (time, value) into lines no wider than `width`: a dot for one reading in a cell, a digit for more.
/// Empty for fewer than two points, or where there is no room.
pub fn plot(points: &[(DateTime<FixedOffset>, f64)], width: usize) -> Vec<String> {
    let (Some(first), Some(last)) = (points.iter().map(|p| p.0).min(), points.iter().map(|p| p.0).max())
    else {
        return Vec::new();
    };
    let low = points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    let labels = [figure::number(high), figure::number((low + high) / 2.0), figure::number(low)];
    let margin = labels.iter().map(|label| label.chars().count()).max().unwrap_or(0);
    let columns = width.saturating_sub(margin + 5).min(WIDEST);
    if points.len() < 2 || columns < 20 {
        return Vec::new();
    }
    let mut cells = vec![vec![0_u32; columns]; ROWS];
    let span = (last - first).num_seconds() as f64;
    for (at, value) in points {
        let x = share((*at - first).num_seconds() as f64, span, columns);
        let y = share(high - value, high - low, ROWS);
        cells[y][x] += 1;
    }
    let mut lines = Vec::new();
    for (row, cells) in cells.iter().enumerate() {
        // One value only: it stands in the first row, and that row alone is labelled.
        let label = match row {
            0 => labels[0].as_str(),
            r if high > low && r == ROWS / 2 => labels[1].as_str(),
            r if high > low && r == ROWS - 1 => labels[2].as_str(),
            _ => "",
        };
        let tick = if label.is_empty() { '│' } else { '┤' };
        let marks: String = cells.iter().map(|&count| mark(count)).collect();
        lines.push(format!("  {label:>margin$} {tick}{}", marks.trim_end()));
    }
    lines.push(format!("  {:>margin$} └{}", "", "─".repeat(columns)));
    let (from, to) = (first.format("%-d %b %Y").to_string(), last.format("%-d %b %Y").to_string());
    let gap = columns.saturating_sub(from.chars().count() + to.chars().count()).max(1);
    lines.push(format!("  {:>margin$}  {from}{}{to}", "", " ".repeat(gap)));
    lines
}

/// The cell, of `cells`, in which `part` of `whole` lies.
fn share(part: f64, whole: f64, cells: usize) -> usize {
    if whole > 0.0 { ((part / whole * (cells - 1) as f64).round() as usize).min(cells - 1) } else { 0 }
}

fn mark(count: u32) -> char {
    match count {
        0 => ' ',
        1 => '•',
        2..=9 => char::from_digit(count, 10).unwrap_or('+'),
        _ => '+',
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::point;
    use super::*;

    fn drawn(points: &[(i64, f64)], width: usize) -> Vec<String> {
        let points: Vec<_> =
            points.iter().map(|&(day, value)| (point(day, value).at.expect("a time"), value)).collect();
        plot(&points, width)
    }

    #[test]
    fn values_stand_where_they_belong() {
        let lines = drawn(&[(0, 20.0), (10, 15.0), (20, 10.0), (20, 10.0)], 40);
        insta::assert_snapshot!(lines.join("\n"), @r"
          20 ┤•
             │
             │
             │
          15 ┤                •
             │
             │
          10 ┤                                2
             └─────────────────────────────────
              1 Sep 2026            21 Sep 2026
        ");
    }

    #[test]
    fn nothing_is_drawn_where_nothing_can_be_seen() {
        assert!(drawn(&[(0, 1.0)], 80).is_empty());
        assert!(drawn(&[(0, 1.0), (1, 2.0)], 20).is_empty());
        // Equal values and equal times do not divide by zero.
        assert_eq!(drawn(&[(0, 1.0), (0, 1.0)], 60).len(), ROWS + 2);
    }

    #[test]
    fn no_line_is_wider_than_asked() {
        for width in [30, 47, 80, 200] {
            for line in drawn(&[(0, -1234.5), (3, 9.25), (400, 0.0)], width) {
                assert!(unicode_width::UnicodeWidthStr::width(line.as_str()) <= width);
            }
        }
    }
}
