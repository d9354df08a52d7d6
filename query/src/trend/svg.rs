//! A trend drawn: readings in time with their limits, as an SVG picture whose points lead to their words.
//!
//! The picture has no colours of its own: the few that it is drawn in are names for the style sheet, which gives them
//! those of the day, the night or the red light. Nothing in it is inline style, as the page forbids that.

use std::fmt::Write;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta};
use plotters::coord::ranged1d::{KeyPointHint, Ranged};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::{Point, Trend};
use crate::figure;
use crate::limits::Limit;

/// The axes and their words.
const INK: RGBColor = RGBColor(0x11, 0x11, 0x11);
/// The lines behind.
const GRID: RGBColor = RGBColor(0xcc, 0xcc, 0xcc);
/// Where the readings go.
const SLOPE: RGBColor = RGBColor(0x22, 0x55, 0x88);
/// Limits.
const LIMIT: RGBColor = RGBColor(0xbb, 0x66, 0x00);

/// Points of one picture; the latest are kept.
const MOST: usize = 300;
/// Limits of one picture; the latest are kept.
const LIMITS: usize = 4;
/// A day, in seconds.
const DAY: f64 = 86_400.0;

/// The size of a picture and of its words, in pixels where it is not scaled.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    /// Width.
    pub width: u32,
    /// Height.
    pub height: u32,
    /// Height of letters.
    pub letters: u32,
}

/// A limit as it is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower end; `None` where it is open.
    pub low: Option<f64>,
    /// Upper end; `None` where it is open.
    pub high: Option<f64>,
}

impl From<&Point> for Band {
    fn from(point: &Point) -> Self {
        Self { low: point.low, high: point.high }
    }
}

impl From<&Limit> for Band {
    fn from(limit: &Limit) -> Self {
        Self { low: limit.low, high: limit.high }
    }
}

/// Draws readings that stand on a time and a value; `None` where there are none. Of the `limits` the last few are drawn;
/// `turns` are days on which something was done with the gear, each with the word for it. `link` gives the address that a point leads to; an empty one makes no link.
pub fn svg(
    trend: &Trend,
    limits: &[Band],
    turns: &[(NaiveDate, &str)],
    size: Size,
    link: impl Fn(&Point) -> String,
) -> Option<String> {
    let placed = |point: &'_ Point| Some((point.at?, point.value()?));
    let mut points: Vec<(&Point, f64, f64)> = trend
        .readings
        .iter()
        .filter_map(|point| placed(point).map(|(at, value)| (point, at.timestamp() as f64, value)))
        .collect();
    points.drain(..points.len().saturating_sub(MOST));
    let (first, last) = (points.first()?.1, points.last()?.1);
    let limits: Vec<&Band> =
        limits.iter().filter(|limit| limit.low.or(limit.high).is_some()).rev().take(LIMITS).collect();
    let counted = points.iter().filter(|(point, ..)| point.doubts.is_empty()).map(|(_, _, value)| *value);
    let mut values: Vec<f64> = counted.collect();
    if values.is_empty() {
        values.extend(points.iter().map(|(_, _, value)| *value));
    }
    values.extend(limits.iter().flat_map(|limit| [limit.low, limit.high]).flatten());
    let (low, high) = padded(&values)?;
    let margin_time = ((last - first) * 0.04).max(DAY / 2.0);
    let (from, until) = (first - margin_time, last + margin_time);
    let turns: Vec<(f64, &str)> = turns
        .iter()
        .map(|(day, what)| (day.and_time(NaiveTime::MIN).and_utc().timestamp() as f64, *what))
        .filter(|(at, _)| (from..until).contains(at))
        .collect();
    let drawn = draw(trend, &points, (&limits, &turns), (from, until), (low, high), size, &link);
    // The picture is made in memory, where drawing cannot fail; a picture less is no reason to end a page.
    drawn.ok()
}

fn padded(values: &[f64]) -> Option<(f64, f64)> {
    let low = values.iter().copied().reduce(f64::min)?;
    let high = values.iter().copied().reduce(f64::max)?;
    let pad = if high > low { (high - low) * 0.12 } else { high.abs().max(1.0) * 0.1 };
    Some((low - pad, high + pad))
}

fn draw(
    trend: &Trend,
    points: &[(&Point, f64, f64)],
    (limits, turns): (&[&Band], &[(f64, &str)]),
    (from, until): (f64, f64),
    (low, high): (f64, f64),
    size: Size,
    link: &impl Fn(&Point) -> String,
) -> Result<String, DrawingAreaErrorKind<std::io::Error>> {
    let mut picture = String::new();
    let mut hits = String::new();
    {
        let area = SVGBackend::with_string(&mut picture, (size.width, size.height)).into_drawing_area();
        let letters = |colour: RGBColor| ("sans-serif", size.letters).into_font().color(&colour);
        let mut chart = ChartBuilder::on(&area)
            .margin_top(size.letters / 2)
            .margin_right(size.letters)
            .x_label_area_size(size.letters * 2)
            .y_label_area_size(size.letters * 4)
            .build_cartesian_2d(Days(from, until), low..high)?;
        let day = |seconds: &f64| day(*seconds, until - from, points);
        chart
            .configure_mesh()
            .disable_x_mesh()
            .x_labels((size.width / (size.letters * 8)).max(2) as usize)
            .y_labels(5)
            .axis_style(INK)
            .bold_line_style(GRID)
            .light_line_style(TRANSPARENT)
            .x_label_style(letters(INK))
            .y_label_style(letters(INK))
            .x_label_formatter(&day)
            .y_label_formatter(&|value| figure::value(*value, &trend.unit))
            .draw()?;
        let mut named: Vec<f64> = Vec::new();
        for limit in limits {
            for end in [limit.low, limit.high].into_iter().flatten() {
                // One that is given again is drawn once.
                if named.contains(&end) {
                    continue;
                }
                named.push(end);
                chart.draw_series(std::iter::once(PathElement::new(
                    vec![(from, end), (until, end)],
                    LIMIT.stroke_width(2),
                )))?;
                let words = format!("limit {}", figure::value(end, &trend.unit));
                let style = letters(LIMIT).pos(Pos::new(HPos::Left, VPos::Bottom));
                chart.draw_series(std::iter::once(Text::new(words, (from, end), style)))?;
            }
            if let (Some(lower), Some(upper)) = (limit.low, limit.high)
                && lower < upper
            {
                chart.draw_series(std::iter::once(Rectangle::new(
                    [(from, lower), (until, upper)],
                    LIMIT.mix(0.12).filled(),
                )))?;
            }
        }
        for (at, what) in turns {
            let line = PathElement::new(vec![(*at, low), (*at, high)], INK.stroke_width(2));
            chart.draw_series(std::iter::once(line))?;
            let style = letters(INK).pos(Pos::new(HPos::Left, VPos::Top));
            chart.draw_series(std::iter::once(Text::new(format!(" {what}"), (*at, high), style)))?;
        }
        if let Some(slope) = trend.slope.filter(|slope| slope.distinguishable) {
            let per_second = slope.per_week / (7.0 * DAY);
            let mut offsets: Vec<f64> = points
                .iter()
                .filter(|(point, ..)| point.doubts.is_empty())
                .map(|(_, at, value)| value - per_second * at)
                .collect();
            offsets.sort_by(f64::total_cmp);
            if let Some(middle) = offsets.get(offsets.len() / 2) {
                let ends = [from, until].map(|at| (at, middle + per_second * at));
                chart.draw_series(std::iter::once(PathElement::new(ends.to_vec(), SLOPE.stroke_width(2))))?;
            }
        }
        for (point, at, value) in points {
            let shown = value.clamp(low, high);
            let (x, y) = chart.backend_coord(&(*at, shown));
            let radius = f64::from(size.letters) * 0.36;
            let class = if point.doubts.is_empty() { "point" } else { "point doubtful" };
            let mut words = format!(
                "{}, {}",
                figure::range(point.low, point.high, &trend.unit),
                point.at.map(figure::moment).unwrap_or_default(),
            );
            // The instruments say no words.
            if !point.quote.is_empty() {
                let _ = write!(words, ": “{}”", point.quote);
            }
            let address = link(point);
            let (tag, href) = match address.as_str() {
                "" => ("g", String::new()),
                address => ("a", format!(" href=\"{}\"", escaped(address))),
            };
            // Writing into a string does not fail.
            let _ = write!(
                hits,
                "<{tag}{href} class=\"{class}\"><title>{}</title><circle class=\"reach\" cx=\"{x}\" cy=\"{y}\" r=\"{}\"/>\
                 <circle cx=\"{x}\" cy=\"{y}\" r=\"{radius:.1}\"/></{tag}>",
                escaped(&words),
                size.letters,
            );
        }
        area.present()?;
    }
    // The points stand in front of all that the library has drawn.
    let end = picture.rfind("</svg>").unwrap_or(picture.len());
    picture.truncate(end);
    Ok(format!("{picture}{hits}</svg>\n"))
}

/// Days on an axis of seconds: marks stand at midnights, as far apart as there is room for.
struct Days(f64, f64);

impl Ranged for Days {
    type FormatOption = plotters::coord::ranged1d::NoDefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        let share = (value - self.0) / (self.1 - self.0);
        limit.0 + (share * f64::from(limit.1 - limit.0)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        let wanted = hint.max_num_points().max(2) as f64;
        let days = ((self.1 - self.0) / DAY / wanted).ceil().max(1.0);
        let first = (self.0 / (DAY * days)).ceil();
        (0..1_000).map(|n| (first + f64::from(n)) * DAY * days).take_while(|at| *at <= self.1).collect()
    }

    fn range(&self) -> std::ops::Range<f64> {
        self.0..self.1
    }
}

impl plotters::coord::ranged1d::ValueFormatter<f64> for Days {
    fn format(value: &f64) -> String {
        figure::number(*value)
    }
}

/// A day as the axis writes it: with the year where the picture spans many months.
fn day(seconds: f64, span: f64, points: &[(&Point, f64, f64)]) -> String {
    let offset =
        points.first().and_then(|(point, ..)| point.at).map_or(0, |at| at.offset().local_minus_utc());
    let at =
        DateTime::from_timestamp(seconds as i64, 0).unwrap_or_default() + TimeDelta::seconds(offset.into());
    let form = if span > 300.0 * DAY { "%b %Y" } else { "%-d %b" };
    at.format(form).to_string()
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::super::tests::{point, trend};
    use super::*;

    const SIZE: Size = Size { width: 600, height: 300, letters: 14 };

    #[test]
    fn every_reading_is_a_point_that_leads_to_its_words() {
        let mut points: Vec<Point> = (0..6).map(|n| point(n * 7, 20.0 - n as f64)).collect();
        points[2].quote = "<b>18</b>".to_owned();
        points[3].doubts.push("perhaps not".to_owned());
        let trend = trend("rig_tension", points);
        let picture =
            svg(&trend, &[], &[], SIZE, |point| format!("/source/x?at={}&y", point.quote)).expect("points");
        assert_eq!(picture.matches("<a href=").count(), 6);
        assert_eq!(picture.matches("point doubtful").count(), 1);
        assert!(picture.contains("&lt;b&gt;18&lt;/b&gt;") && !picture.contains("<b>"));
        assert!(picture.contains("18 %, Tue 15 Sep 2026 10:00"), "{picture}");
        assert!(!picture.contains("style="), "inline style is forbidden by the page");
        assert!(picture.trim_end().ends_with("</svg>") && picture.matches("<svg").count() == 1);
    }

    #[test]
    fn limits_are_drawn_and_named() {
        let trend = trend("rig_tension", vec![point(0, 20.0)]);
        let limit = Band { low: Some(17.0), high: Some(22.0) };
        let picture = svg(&trend, &[limit], &[], SIZE, |_| String::new()).expect("a point");
        assert!(picture.contains("limit 17 %") && picture.contains("limit 22 %"), "{picture}");
    }

    #[test]
    fn what_was_done_with_the_gear_is_marked() {
        let trend = trend("rig_tension", vec![point(0, 20.0), point(40, 18.0)]);
        let turns = [
            ("2026-09-20".parse().expect("a day"), "replaced"),
            ("2020-01-01".parse().expect("a day"), "fitted"),
        ];
        let picture = svg(&trend, &[], &turns, SIZE, |_| String::new()).expect("points");
        assert!(picture.contains("replaced") && !picture.contains("fitted"), "{picture}");
    }

    #[test]
    fn what_cannot_be_drawn_is_not() {
        let none = trend("rig_tension", vec![Point { at: None, ..point(0, 1.0) }]);
        assert_eq!(svg(&none, &[], &[], SIZE, |_| String::new()), None);
        let same = trend("rig_tension", vec![point(0, 0.0), point(0, 0.0)]);
        assert!(svg(&same, &[], &[], SIZE, |_| String::new()).is_some());
    }
}
