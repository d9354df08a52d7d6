//! What the boat does by true wind angle and speed, from her own minutes: the answer of `leadsman polar`.
//!
//! A minute counts where wind, angle and speed through the water were all measured in it, the boat held her angle, the
//! engine stood, and she moved. Port and starboard are one. Each cell has the median and the upper decile of the
//! minutes' mean speeds; one with fewer minutes than asked for is empty and is not filled from its neighbours.

mod ask;
pub mod minutes;
mod plot;
pub mod sails;
mod screen;
pub mod svg;

use chrono::NaiveDate;
use serde::Serialize;

use crate::trend::stats::{median, quantile};
pub use ask::{ask, sailing};
pub use minutes::{LeftOut, Sailing};
pub use plot::plot;
pub use screen::{csv, show, show_plot};

/// Cells on one side of the beam that must have data before the best of them is named: of fewer, it is only the one
/// that there is.
const CELLS_FOR_BEST: usize = 3;

/// How the cells are cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Grid {
    /// Width of a band of wind, in kn.
    pub wind_step_kn: f64,
    /// Width of a band of angle, in degrees.
    pub angle_step_deg: f64,
    /// Minutes that a cell needs.
    pub least_minutes: usize,
}

impl Default for Grid {
    /// Bands of 4 kn and 15°, as they are told apart at sea; five minutes in a cell are more than a gust.
    fn default() -> Self {
        Self { wind_step_kn: 4.0, angle_step_deg: 15.0, least_minutes: 5 }
    }
}

/// The boat's speeds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Polar {
    /// First day asked about.
    pub since: Option<NaiveDate>,
    /// Last day asked about.
    pub until: Option<NaiveDate>,
    /// How the cells are cut.
    #[serde(flatten)]
    pub grid: Grid,
    /// Minutes that count.
    pub minutes: usize,
    /// Minutes with wind and speed that do not count, and why.
    pub left_out: LeftOut,
    /// All of them, whatever sails were up.
    pub all: Speeds,
    /// By the sails said to be up, those with the most minutes first; minutes of which no note says are in `all` only.
    pub by_sails: Vec<Speeds>,
}

/// Speeds under some sails.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Speeds {
    /// The sails said to be up; null for all minutes.
    pub sails: Option<String>,
    /// Minutes that count.
    pub minutes: usize,
    /// Every cell from the lowest to the highest band that has a minute, by angle, then by wind.
    pub cells: Vec<Cell>,
    /// The best angles by wind.
    pub best: Vec<Best>,
}

/// Speed in one band of angle and wind.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cell {
    /// Angle off the bow, from.
    pub angle_from: f64,
    /// Up to.
    pub angle_to: f64,
    /// True wind in kn, from.
    pub wind_from: f64,
    /// Up to.
    pub wind_to: f64,
    /// Minutes in it.
    pub minutes: usize,
    /// Middle speed in kn; null where there are too few minutes.
    pub median_kn: Option<f64>,
    /// Speed that one minute in ten reaches, in kn; null where there are too few.
    pub upper_decile_kn: Option<f64>,
}

/// The best angle in a band of wind: where most is made good to windward, or to leeward.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Best {
    /// True wind in kn, from.
    pub wind_from: f64,
    /// Up to.
    pub wind_to: f64,
    /// To windward; null where too few cells have data.
    pub upwind: Option<Gained>,
    /// To leeward; null where too few cells have data.
    pub downwind: Option<Gained>,
}

/// What a cell makes good against or with the wind.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gained {
    /// The cell's angles, from.
    pub angle_from: f64,
    /// Up to.
    pub angle_to: f64,
    /// Its median speed, in kn.
    pub speed_kn: f64,
    /// Made good: speed times the cosine of the middle angle, in kn.
    pub made_good_kn: f64,
    /// Minutes behind it.
    pub minutes: usize,
}

impl Polar {
    /// Sorts minutes into cells; those with sails come under their own as well.
    pub fn new(
        (since, until): (Option<NaiveDate>, Option<NaiveDate>),
        grid: Grid,
        sailing: &[Sailing],
        left_out: LeftOut,
    ) -> Self {
        let mut names: Vec<&str> = sailing.iter().filter_map(|minute| minute.sails.as_deref()).collect();
        names.sort_unstable();
        names.dedup();
        let mut by_sails: Vec<Speeds> = names
            .into_iter()
            .map(|name| {
                let of = sailing.iter().filter(|minute| minute.sails.as_deref() == Some(name));
                Speeds::new(Some(name.to_owned()), grid, of)
            })
            .collect();
        by_sails.sort_by_key(|speeds| std::cmp::Reverse(speeds.minutes));
        let all = Speeds::new(None, grid, sailing.iter());
        Self { since, until, grid, minutes: sailing.len(), left_out, all, by_sails }
    }
}

impl Speeds {
    fn new<'a>(sails: Option<String>, grid: Grid, sailing: impl Iterator<Item = &'a Sailing>) -> Self {
        let mut bins: std::collections::BTreeMap<(i64, i64), Vec<f64>> = std::collections::BTreeMap::new();
        let mut minutes = 0;
        for minute in sailing {
            let last = (180.0 / grid.angle_step_deg).ceil() as i64 - 1;
            let angle = ((minute.angle_deg.abs() / grid.angle_step_deg) as i64).min(last);
            let wind = (minute.wind_kn / grid.wind_step_kn) as i64;
            bins.entry((angle, wind)).or_default().push(minute.speed_kn);
            minutes += 1;
        }
        let winds = bins.keys().map(|key| key.1);
        let angles = bins.keys().map(|key| key.0);
        let mut cells = Vec::new();
        if let (Some(a0), Some(a1), Some(w0), Some(w1)) =
            (angles.clone().min(), angles.max(), winds.clone().min(), winds.max())
        {
            for angle in a0..=a1 {
                for wind in w0..=w1 {
                    let speeds = bins.get(&(angle, wind)).map_or(&[] as &[f64], Vec::as_slice);
                    cells.push(Cell::new(grid, angle, wind, speeds));
                }
            }
        }
        let best = best(&cells);
        Self { sails, minutes, cells, best }
    }
}

impl Cell {
    fn new(grid: Grid, angle: i64, wind: i64, speeds: &[f64]) -> Self {
        let enough = speeds.len() >= grid.least_minutes.max(1);
        let rounded = |value: f64| (value * 100.0).round() / 100.0;
        Self {
            angle_from: angle as f64 * grid.angle_step_deg,
            angle_to: ((angle + 1) as f64 * grid.angle_step_deg).min(180.0),
            wind_from: wind as f64 * grid.wind_step_kn,
            wind_to: (wind + 1) as f64 * grid.wind_step_kn,
            minutes: speeds.len(),
            median_kn: median(speeds).filter(|_| enough).map(rounded),
            upper_decile_kn: quantile(speeds, 0.9).filter(|_| enough).map(rounded),
        }
    }

    /// Whether a minute belongs to it.
    pub fn holds(&self, minute: &Sailing) -> bool {
        let angle = minute.angle_deg.abs();
        // Dead astern belongs to the last band.
        let last = self.angle_to >= 180.0 && angle >= self.angle_from;
        (last || (self.angle_from..self.angle_to).contains(&angle))
            && (self.wind_from..self.wind_to).contains(&minute.wind_kn)
    }

    /// The middle of its angles, in degrees off the bow.
    pub fn middle_deg(&self) -> f64 {
        f64::midpoint(self.angle_from, self.angle_to)
    }
}

fn best(cells: &[Cell]) -> Vec<Best> {
    let mut winds: Vec<(f64, f64)> = cells.iter().map(|cell| (cell.wind_from, cell.wind_to)).collect();
    winds.sort_by(|a, b| a.0.total_cmp(&b.0));
    winds.dedup();
    let gained = |wind: f64, sign: f64| {
        let side: Vec<Gained> = cells
            .iter()
            .filter(|cell| cell.wind_from == wind && (90.0 - cell.middle_deg()) * sign > 0.0)
            .filter_map(|cell| {
                let speed_kn = cell.median_kn?;
                let made_good_kn =
                    (speed_kn * cell.middle_deg().to_radians().cos().abs() * 100.0).round() / 100.0;
                let (angle_from, angle_to, minutes) = (cell.angle_from, cell.angle_to, cell.minutes);
                Some(Gained { angle_from, angle_to, speed_kn, made_good_kn, minutes })
            })
            .collect();
        let enough = side.len() >= CELLS_FOR_BEST;
        side.into_iter().filter(|_| enough).max_by(|a, b| a.made_good_kn.total_cmp(&b.made_good_kn))
    };
    winds
        .into_iter()
        .map(|(wind_from, wind_to)| Best {
            wind_from,
            wind_to,
            upwind: gained(wind_from, 1.0),
            downwind: gained(wind_from, -1.0),
        })
        .filter(|best| best.upwind.is_some() || best.downwind.is_some())
        .collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::screen::Screen;

    pub(crate) const GRID: Grid = Grid { wind_step_kn: 4.0, angle_step_deg: 15.0, least_minutes: 5 };

    pub(crate) fn minute(minute: i64, angle_deg: f64, wind_kn: f64, speed_kn: f64) -> Sailing {
        Sailing { minute, angle_deg, wind_kn, speed_kn, sails: None }
    }

    /// Ten minutes in each of five bands of angle, one of them with four only.
    fn sailing() -> Vec<Sailing> {
        let mut all = Vec::new();
        for (angle, speed, count) in
            [(40.0, 5.0, 10), (-50.0, 6.0, 10), (65.0, 6.6, 10), (95.0, 7.0, 4), (140.0, 6.0, 10)]
        {
            for n in 0..count {
                all.push(minute(n, angle, 13.0, speed + 0.1 * n as f64));
            }
        }
        all
    }

    fn polar() -> Polar {
        Polar::new((None, None), GRID, &sailing(), LeftOut { turning: 3, engine: 12, still: 7 })
    }

    #[test]
    fn cells_have_median_decile_and_count() {
        let polar = polar();
        assert_eq!((polar.minutes, polar.all.minutes), (44, 44));
        let cell = |angle: f64| *polar.all.cells.iter().find(|c| c.angle_from == angle).expect("a cell");
        // 5.0, 5.1, … 5.9: the middle of the two middle ones, and nine tenths of the way from first to last.
        assert_eq!((cell(30.0).median_kn, cell(30.0).upper_decile_kn), (Some(5.45), Some(5.81)));
        assert_eq!(cell(45.0).minutes, 10, "port and starboard are one");
        assert_eq!((cell(90.0).minutes, cell(90.0).median_kn), (4, None), "too few minutes: empty");
        assert_eq!((cell(75.0).minutes, cell(75.0).median_kn), (0, None), "never filled from its neighbours");
    }

    #[test]
    fn the_best_angle_is_the_one_that_makes_most_good() {
        let best = polar().all.best;
        assert_eq!(best.len(), 1);
        let upwind = best[0].upwind.expect("three cells");
        // 5.45·cos 37.5° = 4.32; 6.45·cos 52.5° = 3.93; 7.05·cos 67.5° = 2.70.
        assert_eq!((upwind.angle_from, upwind.made_good_kn, upwind.minutes), (30.0, 4.32, 10));
        assert_eq!(best[0].downwind, None, "one cell is no choice");
    }

    #[test]
    fn no_minutes_give_no_cells() {
        let none = Polar::new((None, None), GRID, &[], LeftOut::default());
        assert!(none.all.cells.is_empty() && none.all.best.is_empty() && none.by_sails.is_empty());
    }

    #[test]
    fn the_table_reads_from_the_bow() {
        let table = Screen::printed(90, |screen| show(&polar(), false, screen));
        let rows: Vec<&str> = table.lines().filter(|line| line.contains('°') && line.contains('–')).collect();
        let first = rows.first().expect("a row");
        assert!(first.contains("30–45°") && first.contains("/5.8 (10)"), "{table}");
        assert!(rows.iter().any(|row| row.trim() == "75–90°"), "an empty cell is empty: {table}");
        assert!(
            table.contains("best in 12–16 kn: to windward 30–45°, 4.32 kn made good at 5.45 kn (10 minutes)"),
            "{table}"
        );
        assert!(table.contains("12 with the engine running, 3 while turning, 7 lying still"), "{table}");
        let csv = csv(&polar()).expect("a table");
        assert!(csv.lines().any(|line| line == ",30,45,12,16,10,5.45,5.81"), "{csv}");
        assert!(csv.lines().any(|line| line == ",90,105,12,16,4,,"), "{csv}");
    }
}
