//! Evidence that one of two channels of a quantity is out by a steady amount: log against GPS, one sounder's sentence
//! against the other's, heading against course.
//!
//! Pure arithmetic over minutes; nothing is corrected by it. A difference between speed through the water and over the
//! ground is the stream as much as the log's error, and one between heading and course is leeway and stream as much as
//! the compass's. Both turn with the boat, so such pairs are compared on opposite headings: what is left of the
//! difference when both directions weigh the same is the instrument's. A stream that changed between the two remains
//! in it. Common practice (a measured run out and back), no source.

use std::collections::BTreeMap;

use super::minute::Minute;
use super::quantity::{Quantity, Scale};

/// Minutes that both channels must have together.
pub const MINUTES_MIN: usize = 20;
/// Minutes that each of two opposite sectors of heading must have.
pub const SECTOR_MINUTES_MIN: usize = 5;
/// Share of the minutes whose difference must be to the same side.
pub const SAME_SIDE_MIN: f64 = 0.8;
/// Sectors of heading; each has one opposite.
const SECTORS: usize = 8;
/// Speeds below this, in knots, say nothing of a log's factor.
const SPEED_MIN_KN: f64 = 2.0;

/// Why an offset is not taken as steady.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// Fewer than [`MINUTES_MIN`] minutes together.
    TooFew,
    /// Smaller than what the instruments show at all ([`least`]).
    TooSmall,
    /// To one side in some minutes and to the other in others.
    ChangesSides,
    /// No two opposite headings with [`SECTOR_MINUTES_MIN`] minutes each, so that a stream would look the same.
    OneHeading,
}

impl Doubt {
    /// As shown to the skipper.
    pub fn words(self) -> &'static str {
        match self {
            Doubt::TooFew => "too few minutes together",
            Doubt::TooSmall => "too small to tell",
            Doubt::ChangesSides => "sometimes to one side, sometimes to the other",
            Doubt::OneHeading => "no opposite headings, so a stream would look the same",
        }
    }
}

/// How two channels compare; `first - second` throughout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// Minutes that both have.
    pub minutes: usize,
    /// The offset, in the quantity's unit: the median of all minutes, or, by heading, the mean of opposite sectors.
    pub offset: f64,
    /// Median of the minutes' distances from their median.
    pub spread: f64,
    /// Share of the minutes whose difference has the median's sign.
    pub same_side: f64,
    /// For speeds: what the first shows for one knot of the second, from 2 kn up.
    pub factor: Option<f64>,
    /// Pairs of opposite sectors that entered, where headings were asked for.
    pub opposite_pairs: Option<usize>,
    /// Why the offset is not taken as steady; `None` where it is.
    pub doubt: Option<Doubt>,
}

/// The least offset of a quantity worth a word, in its unit: about what its instruments resolve. Common practice, no
/// source.
pub fn least(quantity: Quantity) -> f64 {
    match quantity.unit() {
        "kn" | "m" => 0.1,
        "deg" => 1.0,
        "degC" | "hPa" => 0.5,
        "V" => 0.05,
        _ => 0.0,
    }
}

/// Compares two channels minute by minute; `None` where they have no minute together.
pub fn compare(first: &[Minute], second: &[Minute]) -> Option<Comparison> {
    let quantity = first.first()?.quantity;
    let pairs = together(first, second);
    if pairs.is_empty() {
        return None;
    }
    Some(judge(quantity, &pairs, None))
}

/// Compares two channels of which one is over the ground, weighing opposite headings the same.
pub fn compare_over_ground(first: &[Minute], second: &[Minute], heading: &[Minute]) -> Option<Comparison> {
    let quantity = first.first()?.quantity;
    let pairs = together(first, second);
    if pairs.is_empty() {
        return None;
    }
    let headings: BTreeMap<i64, f64> = heading.iter().map(|m| (m.minute, m.shown_mean())).collect();
    let mut sectors: [Vec<Pair>; SECTORS] = Default::default();
    for pair in &pairs {
        if let Some(heading) = headings.get(&pair.minute) {
            let sector = (heading.rem_euclid(360.0) / (360.0 / SECTORS as f64)) as usize % SECTORS;
            sectors[sector].push(*pair);
        }
    }
    Some(judge(quantity, &pairs, Some(&sectors)))
}

#[derive(Clone, Copy, Debug)]
struct Pair {
    minute: i64,
    first: f64,
    second: f64,
    off: f64,
}

fn together(first: &[Minute], second: &[Minute]) -> Vec<Pair> {
    let others: BTreeMap<i64, f64> = second.iter().map(|m| (m.minute, m.shown_mean())).collect();
    first
        .iter()
        .filter_map(|minute| {
            let (a, &b) = (minute.shown_mean(), others.get(&minute.minute)?);
            let off = match minute.quantity.scale() {
                Scale::Linear => a - b,
                Scale::Direction | Scale::Bow => (a - b + 180.0).rem_euclid(360.0) - 180.0,
            };
            Some(Pair { minute: minute.minute, first: a, second: b, off })
        })
        .collect()
}

fn judge(quantity: Quantity, pairs: &[Pair], sectors: Option<&[Vec<Pair>; SECTORS]>) -> Comparison {
    let offs: Vec<f64> = pairs.iter().map(|pair| pair.off).collect();
    let middle = median(&offs);
    let spread = median(&offs.iter().map(|off| (off - middle).abs()).collect::<Vec<_>>());
    let opposite: Vec<[&[Pair]; 2]> = sectors.map_or(Vec::new(), |sectors| {
        (0..SECTORS / 2)
            .map(|n| [sectors[n].as_slice(), sectors[n + SECTORS / 2].as_slice()])
            .filter(|two| two.iter().all(|one| one.len() >= SECTOR_MINUTES_MIN))
            .collect()
    });
    let offset = if opposite.is_empty() {
        middle
    } else {
        let halves =
            opposite.iter().flatten().map(|sector| median(&sector.iter().map(|p| p.off).collect::<Vec<_>>()));
        halves.sum::<f64>() / (opposite.len() * 2) as f64
    };
    // With headings, a steady instrument still changes sides as the stream turns; the sectors answer for it.
    let same_side =
        offs.iter().filter(|off| off.signum() == middle.signum()).count() as f64 / offs.len() as f64;
    let doubt = if pairs.len() < MINUTES_MIN {
        Some(Doubt::TooFew)
    } else if sectors.is_some() && opposite.is_empty() {
        Some(Doubt::OneHeading)
    } else if offset.abs() < least(quantity) {
        Some(Doubt::TooSmall)
    } else if sectors.is_none() && same_side < SAME_SIDE_MIN {
        Some(Doubt::ChangesSides)
    } else {
        None
    };
    Comparison {
        minutes: pairs.len(),
        offset,
        spread,
        same_side,
        factor: if quantity.unit() == "kn" { factor(pairs, &opposite) } else { None },
        opposite_pairs: sectors.map(|_| opposite.len()),
        doubt,
    }
}

/// The ratio of the mean speeds, opposite sectors weighing the same.
fn factor(pairs: &[Pair], opposite: &[[&[Pair]; 2]]) -> Option<f64> {
    let mean = |pairs: &[Pair]| {
        let fast: Vec<_> = pairs.iter().filter(|pair| pair.second >= SPEED_MIN_KN).collect();
        let count = fast.len() as f64;
        let sum = |of: fn(&Pair) -> f64| fast.iter().map(|pair| of(pair)).sum::<f64>();
        (!fast.is_empty()).then(|| (sum(|p| p.first) / count, sum(|p| p.second) / count))
    };
    let parts: Vec<(f64, f64)> = if opposite.is_empty() {
        vec![mean(pairs)?]
    } else {
        opposite.iter().flatten().map(|sector| mean(sector)).collect::<Option<_>>()?
    };
    let (first, second) = parts.iter().fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1));
    Some(first / second)
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => f64::NAN,
        n if n % 2 == 1 => sorted[n / 2],
        n => f64::midpoint(sorted[n / 2 - 1], sorted[n / 2]),
    }
}

#[cfg(test)]
mod tests {
    use super::super::ChannelId;
    use super::super::minute::Vector;
    use super::*;

    fn minutes(quantity: Quantity, values: impl IntoIterator<Item = f64>) -> Vec<Minute> {
        values
            .into_iter()
            .enumerate()
            .map(|(n, value)| {
                let (sin, cos) = value.to_radians().sin_cos();
                Minute {
                    channel: ChannelId(0),
                    quantity,
                    minute: n as i64,
                    count: 60,
                    min: value,
                    mean: value,
                    max: value,
                    vector: (quantity.scale() != Scale::Linear).then_some(Vector { sin, cos }),
                }
            })
            .collect()
    }

    #[test]
    fn two_depths() {
        let deep: Vec<f64> = (0..30).map(|n| 10.0 + f64::from(n % 7)).collect();
        let dbt = minutes(Quantity::WaterDepth, deep.iter().copied());
        let dpt = minutes(Quantity::WaterDepth, deep.iter().map(|d| d + 0.4));
        let found = compare(&dpt, &dbt).expect("minutes together");
        assert!((found.offset - 0.4).abs() < 1e-9 && found.spread < 1e-9);
        assert_eq!((found.minutes, found.doubt, found.factor), (30, None, None));
        assert_eq!(compare(&dbt, &dbt).expect("minutes").doubt, Some(Doubt::TooSmall));
        assert_eq!(compare(&dpt[..5], &dbt).expect("minutes").doubt, Some(Doubt::TooFew));
        assert_eq!(compare(&dpt[..5], &dbt[6..]), None);
        let restless = minutes(
            Quantity::WaterDepth,
            deep.iter().enumerate().map(|(n, d)| d + if n % 3 == 0 { -1.0 } else { 1.0 }),
        );
        assert_eq!(compare(&restless, &dbt).expect("minutes").doubt, Some(Doubt::ChangesSides));
    }

    /// A log that reads 5 % high, out and back in a knot of stream.
    #[test]
    fn a_log_against_gps_on_opposite_headings() {
        let headings: Vec<f64> = (0..40).map(|n| if n < 20 { 10.0 } else { 190.0 }).collect();
        let log = minutes(Quantity::BoatSpeed, headings.iter().map(|_| 6.3));
        let gps =
            minutes(Quantity::SpeedOverGround, headings.iter().map(|h| if *h < 90.0 { 7.0 } else { 5.0 }));
        let heading = minutes(Quantity::Heading, headings.iter().copied());
        let found = compare_over_ground(&log, &gps, &heading).expect("minutes together");
        assert!((found.offset - 0.3).abs() < 1e-9, "{found:?}");
        assert!((found.factor.expect("speeds") - 1.05).abs() < 1e-9);
        assert_eq!((found.opposite_pairs, found.doubt), (Some(1), None));
        // One way only, the stream cannot be told from the log.
        let found = compare_over_ground(&log, &gps, &heading[..20]).expect("minutes together");
        assert_eq!(found.doubt, Some(Doubt::OneHeading));
    }

    #[test]
    fn headings_are_compared_around_the_circle() {
        let compass = minutes(Quantity::Heading, (0..30).map(|n| f64::from(355 + n % 3)));
        let course = minutes(Quantity::CourseOverGround, (0..30).map(|n| f64::from(n % 3)));
        let found = compare(&compass, &course).expect("minutes together");
        assert!((found.offset + 5.0).abs() < 1e-6, "{found:?}");
    }
}
