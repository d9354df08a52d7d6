//! The pictures of a report, in black and white.

use super::Drawn;
use crate::trend::svg::{Size, svg};

const SIZE: Size = Size { width: 640, height: 230, letters: 14 };

/// A trend drawn for paper; empty where there is nothing to draw.
pub fn picture(drawn: &Drawn) -> String {
    svg(&drawn.trend, &drawn.limits, &drawn.turns, SIZE, |_| String::new()).unwrap_or_default()
}
