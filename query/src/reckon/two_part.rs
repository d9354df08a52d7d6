//! Two-part fits: a series before and after a change of gear, and where a line bends.
//!
//! Formula: before and after a known day, the medians of both parts and their difference; without one, the two lines
//! that meet at a knee, y = a + b·x + c·max(0, x − knee), with the least sum of squares over all knees.
//! Range: at least [`FEWEST_A_SIDE`] values on each side. Source: hinge regression by search, as in `ruptures` and in
//! segmented regression at large (from memory).

use serde::Serialize;

use super::resample::{Interval, ROUNDS, SEED, SplitMix, interval, redraw};
use crate::trend::stats::median;

/// Fewer values than this on a side say nothing of that side.
pub const FEWEST_A_SIDE: usize = 3;

/// A series before and after a change.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Values before the change.
    pub before: usize,
    /// Their median.
    pub median_before: f64,
    /// Values at and after the change.
    pub after: usize,
    /// Their median.
    pub median_after: f64,
    /// Median after less median before, by resampling each side.
    pub difference: Interval,
}

/// Compares `points` (x, y) before x = `at` with those from it on; `None` with fewer than [`FEWEST_A_SIDE`] on a side.
pub fn change_at(points: &[(f64, f64)], at: f64) -> Option<Change> {
    let (before, after): (Vec<_>, Vec<_>) = points.iter().partition(|point| point.0 < at);
    if before.len() < FEWEST_A_SIDE || after.len() < FEWEST_A_SIDE {
        return None;
    }
    let y = |part: &[(f64, f64)]| part.iter().map(|point| point.1).collect::<Vec<f64>>();
    let (before, after) = (y(&before), y(&after));
    let mut random = SplitMix::new(SEED);
    let differences: Vec<f64> = (0..ROUNDS)
        .filter_map(|_| Some(-median(&redraw(&before, &mut random))? + median(&redraw(&after, &mut random))?))
        .collect();
    Some(Change {
        before: before.len(),
        median_before: median(&before)?,
        after: after.len(),
        median_after: median(&after)?,
        difference: interval(&differences)?,
    })
}

/// Two lines that meet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bend {
    /// x where they meet.
    pub knee: f64,
    /// y there.
    pub height: f64,
    /// Slope before it.
    pub slope_before: f64,
    /// Slope after it.
    pub slope_after: f64,
    /// Sum of squared residuals.
    pub squares: f64,
}

/// The two lines that fit `points` best; `None` with fewer than [`FEWEST_A_SIDE`] different x on a side of any knee.
pub fn bend(points: &[(f64, f64)]) -> Option<Bend> {
    let mut x: Vec<f64> = points.iter().map(|point| point.0).collect();
    x.sort_by(f64::total_cmp);
    x.dedup();
    if x.len() < 2 * FEWEST_A_SIDE {
        return None;
    }
    let candidates = &x[FEWEST_A_SIDE - 1..=x.len() - FEWEST_A_SIDE];
    let better = |best: Option<Bend>, found: Option<Bend>| match (best, found) {
        (Some(best), Some(found)) if best.squares <= found.squares => Some(best),
        (best, None) => best,
        (_, found) => found,
    };
    let mut best = candidates.iter().fold(None, |best, &knee| better(best, hinge(points, knee)));
    // Between neighbouring x the sum of squares is smooth, so the best knee there is found by narrowing.
    for pair in candidates.windows(2) {
        let (mut low, mut high) = (pair[0], pair[1]);
        for _ in 0..60 {
            let third = (high - low) / 3.0;
            let at = |knee| hinge(points, knee).map_or(f64::INFINITY, |bend| bend.squares);
            if at(low + third) < at(high - third) { high -= third } else { low += third }
        }
        best = better(best, hinge(points, (low + high) / 2.0));
    }
    best
}

/// Least squares of y = height + before·min(0, x − knee) + after·max(0, x − knee).
fn hinge(points: &[(f64, f64)], knee: f64) -> Option<Bend> {
    let n = points.len() as f64;
    let rows = points.iter().map(|&(x, y)| ((x - knee).min(0.0), (x - knee).max(0.0), y));
    let (mut su, mut sv, mut sy, mut suu, mut svv, mut suy, mut svy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (u, v, y) in rows.clone() {
        su += u;
        sv += v;
        sy += y;
        suu += u * u;
        svv += v * v;
        suy += u * y;
        svy += v * y;
    }
    // About the means; u·v is 0 everywhere, one of the two being 0 for every point.
    let (cuu, cvv, cuv) = (suu - su * su / n, svv - sv * sv / n, -su * sv / n);
    let (cuy, cvy) = (suy - su * sy / n, svy - sv * sy / n);
    let determinant = cuu * cvv - cuv * cuv;
    if determinant.abs() <= 1e-12 * cuu * cvv || cuu <= 0.0 || cvv <= 0.0 {
        return None;
    }
    let before = (cuy * cvv - cvy * cuv) / determinant;
    let after = (cvy * cuu - cuy * cuv) / determinant;
    let height = (sy - before * su - after * sv) / n;
    let squares = rows.map(|(u, v, y)| (y - height - before * u - after * v).powi(2)).sum();
    Some(Bend { knee, height, slope_before: before, slope_after: after, squares })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    /// x = 0..19, y = 1 + 0.5·x to 8, then 5 − 0.25·(x − 8): the knee is 8 exactly; compared with `ruptures` 1.1.10.
    #[test]
    fn an_exact_bend_is_found_exactly() {
        let points: Vec<(f64, f64)> = (0..20)
            .map(f64::from)
            .map(|x| (x, if x <= 8.0 { 1.0 + 0.5 * x } else { 5.0 - 0.25 * (x - 8.0) }))
            .collect();
        let bend = bend(&points).expect("twenty points");
        near(bend.knee, 8.0, 1e-6);
        near(bend.slope_before, 0.5, 1e-9);
        near(bend.slope_after, -0.25, 1e-9);
        near(bend.height, 5.0, 1e-6);
    }

    #[test]
    fn a_knee_between_readings_is_found_too() {
        let points: Vec<(f64, f64)> =
            (0..20).map(f64::from).map(|x| (x, if x <= 7.4 { x } else { 7.4 + 2.0 * (x - 7.4) })).collect();
        near(bend(&points).expect("twenty points").knee, 7.4, 1e-6);
    }

    #[test]
    fn a_change_of_gear_parts_a_series() {
        let burn = [0.30, 0.31, 0.29, 0.30, 0.22, 0.21, 0.23, 0.22];
        let points: Vec<(f64, f64)> = burn.iter().enumerate().map(|(day, y)| (day as f64, *y)).collect();
        let change = change_at(&points, 4.0).expect("four on each side");
        near(change.median_before, 0.30, 1e-12);
        near(change.median_after, 0.22, 1e-12);
        assert!(change.difference.high < -0.05, "{change:?}");
        assert_eq!(change_at(&points, 1.0), None);
        assert_eq!(bend(&points[..5]), None);
    }
}
