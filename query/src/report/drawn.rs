//! The pictures of a report, in black and white.

use crate::trend::svg::{Size, svg};
use crate::trend::{Point, Trend};

const SIZE: Size = Size { width: 640, height: 230, letters: 14 };

/// A trend drawn for paper; empty where there is nothing to draw.
pub fn picture(trend: &Trend, limits: &[Point]) -> String {
    svg(trend, limits, &[], SIZE, |_| String::new()).unwrap_or_default()
}
