//! An envelope drawn: the wind of each trial beside the wind that is needed, as an SVG picture. Colours are names for the
//! style sheet, as in a trend's picture.

use leadsman_ingest::Outcome;
use plotters::prelude::*;

use super::{Axis, Envelope};
use crate::figure;

const INK: RGBColor = RGBColor(0x11, 0x11, 0x11);
const GRID: RGBColor = RGBColor(0xcc, 0xcc, 0xcc);
const NEED: RGBColor = RGBColor(0xbb, 0x66, 0x00);

/// Colours are names for the style sheet, as in a trend's picture.
fn colour(outcome: Outcome) -> RGBColor {
    match outcome {
        Outcome::Pass => RGBColor(0x11, 0x66, 0x33),
        Outcome::Fail => RGBColor(0xaa, 0x11, 0x00),
        Outcome::Partial | Outcome::Unclear => RGBColor(0x77, 0x44, 0x00),
    }
}

/// A bar a trial up to the wind that it reached, and the band of wind that is needed; `None` where no trial tells of
/// the wind.
pub fn svg(envelope: &Envelope) -> Option<String> {
    let trials = envelope.passed.iter().chain(&envelope.failed);
    let winds: Vec<(Outcome, f64)> =
        trials.filter_map(|attempt| Some((attempt.outcome, *attempt.reach.get(&Axis::Wind)?))).collect();
    let need = envelope.needs.iter().filter_map(|need| need.needed.get(&Axis::Wind).copied());
    let need = need.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    bars(&winds, need)
}

fn bars(winds: &[(Outcome, f64)], need: Option<(f64, f64)>) -> Option<String> {
    let most = winds.iter().map(|wind| wind.1).chain(need.map(|need| need.1)).reduce(f64::max)?;
    if winds.is_empty() {
        return None;
    }
    let rows = winds.len() as f64;
    let mut picture = String::new();
    {
        let height = 70 + 28 * winds.len() as u32;
        let area = SVGBackend::with_string(&mut picture, (420, height)).into_drawing_area();
        let letters = |colour: RGBColor| ("sans-serif", 16).into_font().color(&colour);
        let mut chart = ChartBuilder::on(&area)
            .margin(8)
            .margin_top(22)
            .margin_right(20)
            .x_label_area_size(28)
            .y_label_area_size(64)
            .build_cartesian_2d(0.0..(most * 1.1).max(10.0), 0.0..rows)
            .ok()?;
        chart
            .configure_mesh()
            .disable_y_mesh()
            .disable_y_axis()
            .x_labels(6)
            .axis_style(INK)
            .bold_line_style(GRID)
            .light_line_style(TRANSPARENT)
            .x_label_style(letters(INK))
            .x_label_formatter(&|kn| figure::value(*kn, "kn"))
            .draw()
            .ok()?;
        if let Some((from, until)) = need {
            let band = Rectangle::new([(from, 0.0), (until, rows)], NEED.mix(0.2).filled());
            chart.draw_series(std::iter::once(band)).ok()?;
            let line = PathElement::new(vec![(until, 0.0), (until, rows)], NEED.stroke_width(3));
            chart.draw_series(std::iter::once(line)).ok()?;
            let (x, y) = chart.backend_coord(&(until, rows));
            area.draw(&Text::new("needed", ((x - 58).max(70), y - 18), letters(NEED))).ok()?;
        }
        for (n, (outcome, wind)) in winds.iter().enumerate() {
            let middle = rows - n as f64 - 0.5;
            let bar =
                Rectangle::new([(0.0, middle - 0.28), (*wind, middle + 0.28)], colour(*outcome).filled());
            chart.draw_series(std::iter::once(bar)).ok()?;
            let (_, y) = chart.backend_coord(&(0.0, middle));
            area.draw(&Text::new(outcome.name(), (6, y - 8), letters(colour(*outcome)))).ok()?;
        }
        area.present().ok()?;
    }
    Some(picture)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_a_trial_and_a_band_for_what_is_needed() {
        let winds = [(Outcome::Pass, 20.0), (Outcome::Fail, 35.0)];
        let picture = bars(&winds, Some((40.0, 45.0))).expect("two trials");
        assert_eq!(picture.matches("fill=\"#116633\"").count(), 2, "a bar and its word: {picture}");
        assert_eq!(picture.matches("fill=\"#AA1100\"").count(), 2);
        assert!(picture.contains("stroke=\"#BB6600\"") && picture.contains("needed"));
        assert!(!picture.contains("style="));
        assert_eq!(bars(&[], Some((40.0, 45.0))), None);
    }
}
