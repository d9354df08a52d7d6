//! The boat's speeds as half a rose, as an SVG picture: the bow at the top, speed outwards, a line a band of true wind.
//!
//! As in a trend's picture, colours are names for the style sheet. Bands are told apart by the letter at their end as
//! well as by colour, since there is but one colour in a red light.

use std::fmt::Write;

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::{Cell, Speeds};
use crate::figure;
use crate::trend::svg::Size;

const INK: RGBColor = RGBColor(0x11, 0x11, 0x11);
const GRID: RGBColor = RGBColor(0xcc, 0xcc, 0xcc);
/// The lines of the bands; with more bands than these they come again.
const LINES: [RGBColor; 5] = [
    RGBColor(0x22, 0x55, 0x88),
    RGBColor(0xaa, 0x11, 0x00),
    RGBColor(0x11, 0x66, 0x33),
    RGBColor(0x77, 0x44, 0x00),
    RGBColor(0x11, 0x11, 0x11),
];
/// Degrees between two rays.
const RAY_DEG: u32 = 30;
/// The picture is drawn so much larger than it is shown, as the library knows whole pixels only.
const FINE: u32 = 4;

/// The bands of true wind that have a cell with a speed, each with the letter that its line bears, the lightest first.
pub fn bands(speeds: &Speeds) -> Vec<(char, (f64, f64))> {
    let shown = speeds.cells.iter().filter(|cell| cell.median_kn.is_some());
    let mut winds: Vec<(f64, f64)> = shown.map(|cell| (cell.wind_from, cell.wind_to)).collect();
    winds.sort_by(|a, b| a.0.total_cmp(&b.0));
    winds.dedup();
    winds.into_iter().enumerate().map(|(n, wind)| (char::from(b'a' + (n % 26) as u8), wind)).collect()
}

/// Draws the median of each cell that has one; `None` where there are fewer than two. The width of `size` is the
/// picture's; its height follows from it.
pub fn svg(speeds: &Speeds, size: Size) -> Option<String> {
    let shown: Vec<(&Cell, f64)> =
        speeds.cells.iter().filter_map(|cell| Some((cell, cell.median_kn?))).collect();
    let fastest = shown.iter().map(|(_, speed)| *speed).reduce(f64::max)?;
    if shown.len() < 2 || fastest <= 0.0 {
        return None;
    }
    // The picture is made in memory, where drawing cannot fail; a picture less is no reason to end a page.
    draw(speeds, &shown, fastest, size).ok()
}

/// Knots between two rings: of 1, 2, 5 and so on, that which makes six rings at most.
fn ring_kn(fastest: f64) -> f64 {
    let steps = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0];
    steps.into_iter().find(|step| fastest / step <= 6.0).unwrap_or(50.0)
}

fn draw(
    speeds: &Speeds,
    shown: &[(&Cell, f64)],
    fastest: f64,
    size: Size,
) -> Result<String, DrawingAreaErrorKind<std::io::Error>> {
    let (width, letters) = ((size.width * FINE) as i32, (size.letters * FINE) as i32);
    let step = ring_kn(fastest);
    let rings = (fastest / step).ceil().max(1.0);
    let most = rings * step;
    // Room for the rings' words on the left, and for the rays' around.
    let radius = f64::from((width - letters * 6).max(width / 8));
    let height = (2.0 * radius) as i32 + letters * 4;
    let middle = (letters * 3, height / 2);
    let place = |angle_deg: f64, kn: f64| {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let far = kn / most * radius;
        (middle.0 + (far * sin).round() as i32, middle.1 - (far * cos).round() as i32)
    };
    let mut picture = String::new();
    let mut points = String::new();
    {
        let area = SVGBackend::with_string(&mut picture, (width as u32, height as u32)).into_drawing_area();
        let style = |colour: RGBColor, h, v| {
            ("sans-serif", letters as u32).into_font().color(&colour).pos(Pos::new(h, v))
        };
        let line = |colour: RGBColor, wide: u32| colour.stroke_width(wide * FINE);
        for ring in 1..=rings as u32 {
            let kn = f64::from(ring) * step;
            let arc: Vec<(i32, i32)> = (0..=90).map(|n| place(f64::from(n) * 2.0, kn)).collect();
            area.draw(&PathElement::new(arc, line(GRID, 1)))?;
            let at = place(0.0, kn);
            let words = figure::value(kn, "kn");
            area.draw(&Text::new(words, (at.0 - letters / 3, at.1), style(INK, HPos::Right, VPos::Center)))?;
        }
        for angle in (0..=180).step_by(RAY_DEG as usize).map(f64::from) {
            area.draw(&PathElement::new(vec![middle, place(angle, most)], line(GRID, 1)))?;
            let (x, y) = place(angle, most);
            let (sin, cos) = angle.to_radians().sin_cos();
            let off = f64::from(letters);
            let at = (x + (0.4 * off * sin) as i32, y - (0.8 * off * cos) as i32);
            let words = figure::value(angle, "deg");
            area.draw(&Text::new(words, at, style(INK, HPos::Left, VPos::Center)))?;
        }
        area.draw(&PathElement::new(vec![place(0.0, most), place(180.0, most)], line(INK, 1)))?;
        for (n, (letter, wind)) in bands(speeds).into_iter().enumerate() {
            let colour = LINES[n % LINES.len()];
            let band: Vec<(&Cell, f64)> =
                shown.iter().filter(|(cell, _)| cell.wind_from == wind.0).copied().collect();
            // A line joins neighbours alone: over an empty cell it would tell of what nobody has sailed.
            for run in band.chunk_by(|a, b| a.0.angle_to == b.0.angle_from) {
                let path: Vec<_> = run.iter().map(|(cell, kn)| place(cell.middle_deg(), *kn)).collect();
                // The letter stands on the bow's side of a line, where no other point of the band is.
                let (x, y) = path[0];
                let (sin, cos) = run[0].0.middle_deg().to_radians().sin_cos();
                let off = f64::from(letters) * 0.9;
                let at = (x - (off * cos) as i32, y - (off * sin) as i32);
                area.draw(&Text::new(letter.to_string(), at, style(colour, HPos::Center, VPos::Center)))?;
                if path.len() > 1 {
                    area.draw(&PathElement::new(path, line(colour, 3)))?;
                }
            }
            for (cell, kn) in &band {
                let (x, y) = place(cell.middle_deg(), *kn);
                // Writing into a string does not fail.
                let _ = write!(
                    points,
                    "<g class=\"point b{}\"><title>{}</title><circle class=\"reach\" cx=\"{x}\" cy=\"{y}\" r=\"{letters}\"/>\
                     <circle cx=\"{x}\" cy=\"{y}\" r=\"{}\"/></g>",
                    n % LINES.len(),
                    words(cell),
                    4 * FINE
                );
            }
        }
        area.present()?;
    }
    let end = picture.rfind("</svg>").unwrap_or(picture.len());
    picture.truncate(end);
    Ok(format!("{picture}{points}</svg>\n"))
}

/// A cell in words.
pub fn words(cell: &Cell) -> String {
    let speed = match (cell.median_kn, cell.upper_decile_kn) {
        (Some(median), Some(decile)) => {
            format!("{}, upper decile {}", figure::value(median, "kn"), figure::value(decile, "kn"))
        }
        _ => "too few minutes".to_owned(),
    };
    format!(
        "{}–{}° in {}–{} kn of true wind: {speed}, {}",
        figure::number(cell.angle_from),
        figure::number(cell.angle_to),
        figure::number(cell.wind_from),
        figure::number(cell.wind_to),
        figure::count(cell.minutes, "minute", "minutes")
    )
}

#[cfg(test)]
mod tests {
    use super::super::tests::{GRID as CELLS, minute};
    use super::super::{LeftOut, Polar, Sailing};
    use super::*;

    const SIZE: Size = Size { width: 340, height: 0, letters: 15 };

    fn picture(legs: &[(f64, f64, f64)]) -> Option<String> {
        let minutes = |&(angle, wind, speed): &(f64, f64, f64)| -> Vec<Sailing> {
            (0..5).map(|n| minute(n, angle, wind, speed)).collect()
        };
        let sailing: Vec<Sailing> = legs.iter().flat_map(minutes).collect();
        svg(&Polar::new((None, None), CELLS, &sailing, LeftOut::default()).all, SIZE)
    }

    #[test]
    fn each_cell_is_a_point_and_neighbours_are_joined() {
        let picture = picture(&[
            (40.0, 13.0, 5.0),
            (50.0, 13.0, 6.0),
            (95.0, 13.0, 7.0),
            (95.0, 18.0, 8.0),
            (100.0, 18.0, 8.2),
        ]);
        let picture = picture.expect("four cells");
        assert_eq!(picture.matches("class=\"point b").count(), 4, "{picture}");
        assert_eq!(picture.matches("stroke=\"#225588\"").count(), 1, "no line over an empty cell: {picture}");
        assert_eq!(picture.matches("stroke=\"#AA1100\"").count(), 0, "one cell makes no line");
        assert!(picture.contains("30–45° in 12–16 kn of true wind: 5 kn, upper decile 5 kn, 5 minutes"));
        assert!(!picture.contains("style="), "inline style is forbidden by the page");
        assert!(picture.contains("10 kn") && picture.contains("150°"), "{picture}");
    }

    #[test]
    fn too_little_is_not_drawn() {
        assert_eq!(picture(&[]), None);
        assert_eq!(picture(&[(40.0, 13.0, 5.0)]), None);
    }

    #[test]
    fn rings_are_few_and_round() {
        assert_eq!((ring_kn(7.2), ring_kn(3.0), ring_kn(11.0), ring_kn(0.9)), (2.0, 0.5, 2.0, 0.5));
    }
}
