//! The boat's speeds as half a rose: the bow at the top, the wind's bands as letters, speed outwards.

use super::Speeds;
use crate::figure;

/// Rows of the half rose; a character is about twice as high as wide, so it has as many columns.
const ROWS: usize = 25;
const COLUMNS: usize = 25;

/// Draws the median of each cell that has one; the letters are explained below. Empty where there are fewer than two.
pub fn plot(speeds: &Speeds) -> Vec<String> {
    let shown: Vec<_> = speeds.cells.iter().filter_map(|cell| Some((cell, cell.median_kn?))).collect();
    let fastest = shown.iter().map(|(_, speed)| *speed).fold(0.0, f64::max);
    if shown.len() < 2 || fastest <= 0.0 {
        return Vec::new();
    }
    let mut winds: Vec<(f64, f64)> = shown.iter().map(|(cell, _)| (cell.wind_from, cell.wind_to)).collect();
    winds.sort_by(|a, b| a.0.total_cmp(&b.0));
    winds.dedup();
    let middle = (ROWS - 1) / 2;
    let mut cells = vec![vec![' '; COLUMNS + 1]; ROWS];
    let place = |angle_deg: f64, share: f64| {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let column = (share * sin * COLUMNS as f64).round() as usize;
        let row = (middle as f64 - share * cos * middle as f64).round() as usize;
        (row.min(ROWS - 1), column.min(COLUMNS))
    };
    // A ring at the fastest speed and at half of it, and the beam.
    for share in [0.5, 1.0] {
        for step in 0..=60 {
            let (row, column) = place(f64::from(step) * 3.0, share);
            cells[row][column] = '·';
        }
    }
    for row in &mut cells {
        row[0] = '│';
    }
    for (cell, speed) in &shown {
        let wind = winds.iter().position(|wind| wind.0 == cell.wind_from).unwrap_or(0);
        let (row, column) = place(cell.middle_deg(), speed / fastest);
        cells[row][column] = letter(wind);
    }
    let mut lines: Vec<String> = cells
        .into_iter()
        .enumerate()
        .map(|(row, line)| {
            let line: String = line.into_iter().collect();
            let label = match row {
                0 => format!("  {} kn", figure::number(fastest)),
                r if r == middle => "  90°".to_owned(),
                _ => String::new(),
            };
            format!("  {}{label}", line.trim_end())
        })
        .collect();
    let legend: Vec<String> = winds
        .iter()
        .enumerate()
        .map(|(n, (from, to))| {
            format!("{} {} to {} kn", letter(n), figure::number(*from), figure::number(*to))
        })
        .collect();
    lines.push(format!("  true wind: {}", legend.join(", ")));
    lines
}

fn letter(n: usize) -> char {
    char::from(b'a' + (n % 26) as u8)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{GRID, minute};
    use super::super::{LeftOut, Polar};
    use super::*;

    #[test]
    fn the_beam_lies_to_the_right() {
        let mut sailing = Vec::new();
        for n in 0..5 {
            sailing.extend([
                minute(n, 10.0, 13.0, 1.0),
                minute(n, 97.0, 13.0, 8.0),
                minute(n, 172.0, 18.0, 6.0),
            ]);
        }
        let polar = Polar::new((None, None), GRID, &sailing, LeftOut::default());
        let lines = plot(&polar.all);
        assert_eq!(lines.len(), ROWS + 1);
        let beam =
            lines.iter().find(|line| line.contains('a') && line.chars().count() > 25).expect("the fastest");
        assert!(beam.trim_end().ends_with('a') || beam.contains("a "), "{beam}");
        assert!(lines[ROWS].contains("a 12 to 16 kn, b 16 to 20 kn"), "{}", lines[ROWS]);
        assert!(lines[ROWS / 2 + 6..ROWS].iter().any(|line| line.contains('b')), "astern is below");
        assert!(plot(&Polar::new((None, None), GRID, &[], LeftOut::default()).all).is_empty());
    }
}
