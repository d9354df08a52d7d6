//! Statistics for short, uneven series with a wild value now and then, as a boat's notes give them.
//!
//! Robust first: a median, the Theil–Sen slope with Sen's interval, the Mann–Kendall test, outliers by the median
//! absolute deviation. Least squares stands beside them for sums that need a line with standard errors. Every
//! function takes finite numbers and gives `None` where its question has no answer; none of them claims a trend
//! from fewer than [`FEWEST_FOR_TREND`] values. Nothing here knows of readings, quantities or units.
//!
//! Sources: P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63
//! (1968), for slope and interval; R. O. Gilbert, "Statistical Methods for Environmental Pollution Monitoring"
//! (1987), for the test's variance and for exact probabilities up to ten values; M. G. Kendall, "Rank Correlation
//! Methods", for ties in both series; B. Iglewicz and D. Hoaglin, "How to Detect and Handle Outliers" (1993), for
//! the modified z-score (all from memory; the figures in the tests come from the places named there).

use statrs::distribution::{ContinuousCDF, Normal};

/// The fewest values from which a trend is claimed: three points lie near a line too easily.
pub const FEWEST_FOR_TREND: usize = 4;

/// The most values for which the Mann–Kendall probability is counted out exactly.
pub const MOST_FOR_EXACT: usize = 10;

/// The modified z-score beyond which a value is called an outlier (Iglewicz and Hoaglin 1993, from memory).
pub const OUTLIER_Z: f64 = 3.5;

/// The middle value, or the mean of the two middle ones; `None` for no values.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The value below which the share `q` (0 to 1) of the values lies, interpolated between neighbours; `None` for no
/// values or a share outside 0 to 1.
pub fn quantile(values: &[f64], q: f64) -> Option<f64> {
    if values.is_empty() || !(0.0..=1.0).contains(&q) {
        return None;
    }
    let sorted = sorted(values);
    let at = q * (sorted.len() - 1) as f64;
    let (below, above) = (at.floor() as usize, at.ceil() as usize);
    // The middle of two equal values is that value, also where the sum of both would round.
    Some(if sorted[below] == sorted[above] {
        sorted[below]
    } else {
        sorted[below] + (at - below as f64) * (sorted[above] - sorted[below])
    })
}

/// A robust line through points, with the interval of its slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TheilSen {
    /// Median of the slopes between all pairs of points with different x; unit of y by unit of x.
    pub slope: f64,
    /// `median(y) − slope · median(x)`; another convention is the median of `y − slope · x`.
    pub intercept: f64,
    /// Lower end of the slope's confidence interval.
    pub low: f64,
    /// Upper end of the slope's confidence interval.
    pub high: f64,
}

/// The Theil–Sen line of `points` (x, y), with Sen's interval at `confidence` (for instance 0.95).
///
/// `None` for fewer than two different x, or a confidence not between 0 and 1. With few or tied values the interval
/// is cut at the steepest and the flattest pair, so it can be narrower than its confidence says.
pub fn theil_sen(points: &[(f64, f64)], confidence: f64) -> Option<TheilSen> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let mut slopes = Vec::with_capacity(points.len() * points.len().saturating_sub(1) / 2);
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            if a.0 != b.0 {
                slopes.push((b.1 - a.1) / (b.0 - a.0));
            }
        }
    }
    let slope = median(&slopes)?;
    slopes.sort_by(f64::total_cmp);
    let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let n = points.len() as f64;
    let tied = |values: &[f64]| tie_groups(values).map(|t| t * (t - 1.0) * (2.0 * t + 5.0)).sum::<f64>();
    let variance = (n * (n - 1.0) * (2.0 * n + 5.0) - tied(&x) - tied(&y)) / 18.0;
    let reach = normal().inverse_cdf(0.5 + confidence / 2.0) * variance.max(0.0).sqrt();
    let last = slopes.len() - 1;
    let low = ((slopes.len() as f64 - reach) / 2.0).round_ties_even() - 1.0;
    let high = ((slopes.len() as f64 + reach) / 2.0).round_ties_even();
    Some(TheilSen {
        slope,
        intercept: median(&y)? - slope * median(&x)?,
        low: slopes[(low.max(0.0) as usize).min(last)],
        high: slopes[(high as usize).min(last)],
    })
}

/// Whether a series goes up or down at all, whatever its shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MannKendall {
    /// Pairs that rise less pairs that fall.
    pub s: f64,
    /// Variance of `s` if there were no trend, ties allowed for.
    pub variance: f64,
    /// `s`, one nearer to 0, by its standard deviation.
    pub z: f64,
    /// Probability of an `s` at least so far from 0 if there were no trend.
    pub p: f64,
    /// Whether `p` was counted out over all orders rather than taken from the normal distribution.
    pub exact: bool,
}

/// The two-sided Mann–Kendall test over `points` (x, y).
///
/// `None` for fewer than [`FEWEST_FOR_TREND`] points, and where all x or all y are equal. `p` is exact for up to
/// [`MOST_FOR_EXACT`] points without ties in x or y; otherwise normal, with the continuity and tie corrections.
pub fn mann_kendall(points: &[(f64, f64)]) -> Option<MannKendall> {
    let n = points.len();
    if n < FEWEST_FOR_TREND {
        return None;
    }
    let mut s = 0.0;
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            s += sign(b.0 - a.0) * sign(b.1 - a.1);
        }
    }
    let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let variance = kendall_variance(n as f64, &x, &y);
    if variance <= 0.0 {
        return None;
    }
    let z = (s - sign(s)) / variance.sqrt();
    let exact = n <= MOST_FOR_EXACT && tie_groups(&x).next().is_none() && tie_groups(&y).next().is_none();
    let p = if exact { exact_probability(n, s.abs() as usize) } else { 2.0 * normal().sf(z.abs()) };
    Some(MannKendall { s, variance, z, p: p.min(1.0), exact })
}

/// A straight line by least squares, with what is known of its error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastSquares {
    /// Unit of y by unit of x.
    pub slope: f64,
    /// y at x = 0.
    pub intercept: f64,
    /// Standard error of the slope; 0 where the points lie on the line.
    pub slope_error: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Standard deviation of the residuals, by n − 2.
    pub residual: f64,
}

/// The least-squares line of `points` (x, y); `None` for fewer than three points or all x equal.
pub fn least_squares(points: &[(f64, f64)]) -> Option<LeastSquares> {
    let n = points.len() as f64;
    if points.len() < 3 {
        return None;
    }
    // Sums about the means: raw sums of squares lose the digits that certified results ask for.
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let sxx: f64 = points.iter().map(|p| (p.0 - mx).powi(2)).sum();
    if sxx == 0.0 {
        return None;
    }
    let slope = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum::<f64>() / sxx;
    let intercept = my - slope * mx;
    let squares: f64 = points.iter().map(|p| (p.1 - my - slope * (p.0 - mx)).powi(2)).sum();
    let residual = (squares / (n - 2.0)).sqrt();
    Some(LeastSquares {
        slope,
        intercept,
        slope_error: residual / sxx.sqrt(),
        intercept_error: residual * (1.0 / n + mx * mx / sxx).sqrt(),
        residual,
    })
}

/// Modified z-scores of values: how far each lies from the median, in robust standard deviations.
///
/// The scale is the median absolute deviation; where that is 0 (more than half the values are equal), the mean
/// absolute deviation; where that is 0 too, every score is 0. `None` for no values.
pub fn modified_z(values: &[f64]) -> Option<Vec<f64>> {
    let middle = median(values)?;
    let off: Vec<f64> = values.iter().map(|v| (v - middle).abs()).collect();
    let scale = match median(&off)? {
        0.0 => off.iter().sum::<f64>() / off.len() as f64 * 1.253_314,
        mad => mad / 0.6745,
    };
    Some(values.iter().map(|v| if scale == 0.0 { 0.0 } else { (v - middle) / scale }).collect())
}

/// Indices of the values that lie beyond [`OUTLIER_Z`].
pub fn outliers(values: &[f64]) -> Vec<usize> {
    let scores = modified_z(values).unwrap_or_default();
    (0..scores.len()).filter(|&i| scores[i].abs() > OUTLIER_Z).collect()
}

fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

fn sign(value: f64) -> f64 {
    if value > 0.0 {
        1.0
    } else if value < 0.0 {
        -1.0
    } else {
        0.0
    }
}

fn normal() -> Normal {
    Normal::standard()
}

/// Sizes of the groups of equal values, groups of one left out.
fn tie_groups(values: &[f64]) -> impl Iterator<Item = f64> + use<> {
    let sorted = sorted(values);
    let groups: Vec<f64> =
        sorted.chunk_by(|a, b| a == b).map(|group| group.len() as f64).filter(|&size| size > 1.0).collect();
    groups.into_iter()
}

/// Variance of Kendall's S with ties in either series (Kendall; with no ties in x it is Gilbert's).
fn kendall_variance(n: f64, x: &[f64], y: &[f64]) -> f64 {
    let sum = |values: &[f64], f: fn(f64) -> f64| tie_groups(values).map(f).sum::<f64>();
    let cubic = |t: f64| t * (t - 1.0) * (2.0 * t + 5.0);
    let pairs = |t: f64| t * (t - 1.0);
    let triples = |t: f64| t * (t - 1.0) * (t - 2.0);
    (cubic(n) - sum(x, cubic) - sum(y, cubic)) / 18.0
        + sum(x, pairs) * sum(y, pairs) / (2.0 * pairs(n))
        + sum(x, triples) * sum(y, triples) / (9.0 * triples(n))
}

/// Share of all orders of `n` different values whose |S| is at least `s`.
fn exact_probability(n: usize, s: usize) -> f64 {
    // counts[k]: orders with k inversions, built up by inserting one value after another.
    let pairs = n * (n - 1) / 2;
    let mut counts = vec![1.0];
    for size in 2..=n {
        let mut next = vec![0.0; counts.len() + size - 1];
        for (k, count) in counts.iter().enumerate() {
            for moved in 0..size {
                next[k + moved] += count;
            }
        }
        counts = next;
    }
    let total: f64 = counts.iter().sum();
    counts.iter().enumerate().filter(|(k, _)| pairs.abs_diff(2 * k) >= s).map(|(_, count)| count).sum::<f64>()
        / total
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64, slack: f64) {
        assert!((found - expected).abs() <= slack, "found {found}, expected {expected} ± {slack}");
    }

    fn numbered(values: &[f64]) -> Vec<(f64, f64)> {
        values.iter().enumerate().map(|(i, &v)| (i as f64, v)).collect()
    }

    /// One series with what scipy 1.17.1 (theilslopes, linregress, kendalltau) and pymannkendall 1.4.3 say of it.
    struct Series {
        points: Vec<(f64, f64)>,
        /// Slope, intercept, interval's ends.
        line: [f64; 4],
        /// S, Var, Z, normal p.
        test: [f64; 4],
        /// Exact p, where there are no ties.
        exact: Option<f64>,
        /// Least-squares slope and its standard error.
        squares: [f64; 2],
    }

    fn five_series() -> Vec<Series> {
        let decline = [5.0, 4.8, 4.9, 4.5, 4.4, 4.6, 4.1, 4.0, 3.9, 3.7];
        vec![
            Series {
                points: vec![(1.0, 1.0), (2.0, 2.0), (3.0, 3.0), (4.0, 4.0), (5.0, 5.0)],
                line: [1.0, 0.0, 1.0, 1.0],
                test: [10.0, 16.667, 2.2045, 0.0275],
                exact: Some(0.0167),
                squares: [1.0, 0.0],
            },
            Series {
                points: numbered(&[2.0, 2.1, 2.3, 2.2, 2.6, 9.0]),
                line: [0.166667, 1.833333, 0.05, 3.4],
                test: [13.0, 28.333, 2.2544, 0.0242],
                exact: Some(0.0167),
                squares: [1.040, 0.526],
            },
            Series {
                points: numbered(&decline),
                line: [-0.1375, 5.06875, -0.16667, -0.12],
                test: [-39.0, 125.0, -3.3988, 0.00068],
                exact: Some(0.00012),
                squares: [-0.142424, 0.014329],
            },
            Series {
                points: [0.0, 1.0, 3.0, 4.0, 8.0, 9.0, 15.0]
                    .into_iter()
                    .zip([10.0, 10.4, 11.1, 11.0, 13.2, 13.0, 16.4])
                    .collect(),
                line: [0.4, 9.5, 0.25, 0.457143],
                test: [17.0, 44.333, 2.4030, 0.0163],
                exact: Some(0.0107),
                squares: [0.418174, 0.029306],
            },
            Series {
                points: numbered(&[3.0, 3.0, 3.0, 4.0, 4.0, 4.0, 5.0, 5.0]),
                line: [0.333333, 2.833333, 0.0, 0.5],
                test: [21.0, 57.0, 2.6491, 0.0081],
                exact: None,
                squares: [0.321429, 0.046107],
            },
        ]
    }

    #[test]
    fn five_small_series_agree_with_scipy_and_pymannkendall() {
        for series in five_series() {
            let line = theil_sen(&series.points, 0.95).expect("a line");
            near(line.slope, series.line[0], 1e-6);
            near(line.intercept, series.line[1], 1e-6);
            near(line.low, series.line[2], 5e-6);
            near(line.high, series.line[3], 1e-6);
            let test = mann_kendall(&series.points).expect("a test");
            near(test.s, series.test[0], 0.0);
            near(test.variance, series.test[1], 5e-4);
            near(test.z, series.test[2], 5e-5);
            near(2.0 * normal().sf(test.z.abs()), series.test[3], 5e-5);
            assert_eq!(test.exact, series.exact.is_some());
            near(test.p, series.exact.unwrap_or(series.test[3]), 5e-5);
            let squares = least_squares(&series.points).expect("a line");
            near(squares.slope, series.squares[0], 5e-4);
            near(squares.slope_error, series.squares[1], 5e-4);
        }
    }

    /// Worked by hand at mathcs.holycross.edu/~little/Montserrat/MannKendallByHand.txt; z, p and slope to more
    /// digits by pymannkendall 1.4.3, the interval by scipy 1.17.1.
    #[test]
    fn the_worked_mann_kendall_example() {
        let values = [12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7];
        let test = mann_kendall(&numbered(&values)).expect("a test");
        near(test.s, 54.0, 0.0);
        near(test.variance, 332.667, 5e-4);
        near(test.z, 2.905837, 5e-7);
        near(test.p, 0.0036627, 5e-8);
        near(test.p / 2.0, 0.0018, 5e-5);
        let line = theil_sen(&numbered(&values), 0.95).expect("a line");
        near(line.slope, 0.566667, 5e-7);
        near(line.low, 0.3250, 5e-5);
        near(line.high, 0.8667, 5e-5);
    }

    /// NIST Statistical Reference Datasets, Norris: certified values. The data are read from the copy beside the
    /// repository, where there is one.
    #[test]
    fn norris_to_its_certified_digits() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/outside/statistics/Norris.dat");
        let Ok(text) = std::fs::read_to_string(path) else {
            println!("skipped: no copy of NIST's Norris.dat beside the repository");
            return;
        };
        // The data are the lines from 61 on: y, then x.
        let points: Vec<(f64, f64)> = text
            .lines()
            .skip(60)
            .filter_map(|line| {
                let mut numbers = line.split_whitespace().map(str::parse::<f64>);
                let (y, x) = (numbers.next()?.ok()?, numbers.next()?.ok()?);
                Some((x, y))
            })
            .collect();
        assert_eq!(points.len(), 36);
        let line = least_squares(&points).expect("a line");
        near(line.intercept, -0.262323073774029, 1e-12);
        near(line.slope, 1.00211681802045, 1e-13);
        near(line.intercept_error, 0.232818234301152, 1e-12);
        near(line.slope_error, 0.429796848199937e-3, 1e-15);
        near(line.residual, 0.884796396144373, 1e-12);
        let robust = theil_sen(&points, 0.95).expect("a line");
        // Theil–Sen by scipy 1.17.1.
        near(robust.slope, 1.0021968, 5e-8);
        near(robust.low, 1.0011153, 5e-8);
        near(robust.high, 1.0030534, 5e-8);
    }

    /// Medians and deviations worked by hand; the threshold is Iglewicz and Hoaglin's, from memory.
    #[test]
    fn outliers_by_the_median_absolute_deviation() {
        let z = |values: &[f64]| *modified_z(values).expect("scores").last().expect("a value");
        near(z(&[2.1, 2.2, 2.0, 2.3, 2.1, 9.9]), 52.3, 0.05);
        near(z(&[10.0, 11.0, 10.0, 12.0, 11.0, 10.0, 30.0]), 12.8, 0.05);
        near(z(&[1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 9.0]), 4.722, 0.005);
        assert_eq!(outliers(&[2.1, 2.2, 2.0, 2.3, 2.1, 9.9]), [5]);
        // More than half are equal: the mean deviation is the scale.
        assert_eq!(outliers(&[5.0, 5.0, 5.0, 5.0, 5.0, 8.0]), [5]);
        assert_eq!(outliers(&[5.0, 5.0, 5.0, 5.0]), [0_usize; 0]);
        assert_eq!(modified_z(&[]), None);
    }

    #[test]
    fn no_trend_is_claimed_where_there_can_be_none() {
        assert_eq!(mann_kendall(&numbered(&[1.0, 2.0, 3.0])), None);
        assert_eq!(mann_kendall(&numbered(&[2.0, 2.0, 2.0, 2.0])), None);
        assert_eq!(mann_kendall(&[(1.0, 1.0), (1.0, 2.0), (1.0, 3.0), (1.0, 4.0)]), None);
        assert_eq!(theil_sen(&[(1.0, 1.0), (1.0, 2.0)], 0.95), None);
        assert_eq!(theil_sen(&[(1.0, 1.0), (2.0, 2.0)], 1.0), None);
        assert_eq!(least_squares(&[(1.0, 1.0), (1.0, 2.0), (1.0, 3.0)]), None);
        assert_eq!(median(&[]), None);
        assert_eq!(quantile(&[1.0], 1.5), None);
    }

    #[test]
    fn quantiles_interpolate() {
        assert_eq!(median(&[3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(quantile(&[1.0, 2.0, 3.0, 4.0, 5.0], 0.25), Some(2.0));
        assert_eq!(quantile(&[1.0, 2.0], 1.0), Some(2.0));
    }

    mod properties {
        use proptest::prelude::*;

        use super::super::*;

        proptest! {
            #[test]
            fn a_slope_lies_within_its_interval(values in prop::collection::vec((0.0..100.0, -50.0..50.0), 2..40)) {
                let line = theil_sen(&values, 0.95).expect("different x");
                prop_assert!(line.low <= line.slope && line.slope <= line.high);
            }

            #[test]
            fn turning_a_series_round_turns_its_trend(values in prop::collection::vec(-50.0..50.0, 4..30)) {
                let up: Vec<(f64, f64)> = values.iter().enumerate().map(|(i, &v)| (i as f64, v)).collect();
                let down: Vec<(f64, f64)> = up.iter().map(|p| (p.0, -p.1)).collect();
                let (a, b) = (mann_kendall(&up), mann_kendall(&down));
                prop_assert_eq!(a.map(|t| t.s), b.map(|t| -t.s));
                prop_assert_eq!(a.map(|t| t.p), b.map(|t| t.p));
            }
        }
    }
}
