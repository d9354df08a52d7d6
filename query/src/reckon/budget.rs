//! The budget of a passage: days at sea, heat, diesel, charge, water and food, and what is short.
//!
//! Formula: days = distance / speed between the quartiles of the boat's own speeds; heat by [`super::heat`] at the coldest
//! air, day and night; engine fuel = use × hours a day × days; charge and water as in their reckonings. Intervals: every
//! measured input is drawn again from its own readings, [`ROUNDS`] times with a fixed seed, and the days between best and
//! worst with them. Units: days, L, Ah. Range: as good as the readings behind each line; what is missing is named.
//! Source: the reckonings that it puts together. Caution: see [`CAUTION`].

use leadsman_index::{Passage, Record};
use serde::Serialize;

use super::heat::{self, Held};
use super::notes::{Notes, QUANTITIES};
use super::power::{Daily, Hours};
use super::resample::{FEWEST, Interval, ROUNDS, SEED, SplitMix, interval, recent, redraw};
use super::unit::{
    Charge, Current, Days, Distance, Period, Rate, Share, Speed, Temperature, Volume, Warming,
};
use super::water::{FEWEST_DAYS, MOST_DAYS};
use super::{Figure, Missing, ReckonError, Taken, within};
use crate::boat::{Boat, Day};
use crate::figure;
use crate::instruments::Panel;
use crate::trend::stats::{median, quantile};

/// What a budget can use; each may be left out, and the home's notes and passage fill in what they know.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Inputs {
    /// Distance to sail
    #[arg(long, value_name = "1200nmi")]
    pub distance: Option<Distance>,
    /// Days at sea, where they are not to be worked out from distance and speeds
    #[arg(long, value_name = "12d")]
    pub days: Option<Days>,
    /// A speed that she has made; repeat
    #[arg(long, value_name = "5.2kn")]
    pub speed: Vec<Speed>,
    /// People aboard
    #[arg(long, value_name = "2")]
    pub crew: Option<u32>,
    /// Coldest air expected
    #[arg(long, value_name = "-8degC", allow_hyphen_values = true)]
    pub coldest: Option<Temperature>,
    /// Temperature wanted inside
    #[arg(long, value_name = "16degC", allow_hyphen_values = true)]
    pub inside: Option<Temperature>,
    /// What the heater held, as DIFFERENCE=RATE; repeat
    #[arg(long, value_name = "14K=0.16L/h")]
    pub held: Vec<Held>,
    /// Most that the heater burns, at full output
    #[arg(long, value_name = "0.28L/h")]
    pub most: Option<Rate>,
    /// Current that the heater draws; repeat
    #[arg(long, value_name = "1.4A")]
    pub draw: Vec<Current>,
    /// Fuel that the engine uses, as measured; repeat
    #[arg(long, value_name = "2.1L/h")]
    pub engine_use: Vec<Rate>,
    /// Engine hours a day
    #[arg(long, value_name = "1h")]
    pub engine_hours: Option<Period>,
    /// Diesel aboard
    #[arg(long, value_name = "220L")]
    pub diesel: Option<Volume>,
    /// Share of diesel and water kept back
    #[arg(long, value_name = "20%")]
    pub reserve: Option<Share>,
    /// Rated capacity of the bank
    #[arg(long, value_name = "400Ah")]
    pub capacity: Option<Charge>,
    /// Share of the capacity that you use
    #[arg(long, value_name = "50%")]
    pub usable: Option<Share>,
    /// A consumer's day as NAME=CURRENT@HOURS, the heater left out; repeat
    #[arg(long, value_name = "autopilot=3A@20h")]
    pub consumer: Vec<Daily>,
    /// Hours a day of a consumer whose current the notes give; repeat
    #[arg(long, value_name = "autopilot=20h")]
    pub hours: Vec<Hours>,
    /// A source's day as NAME=CURRENT@HOURS; repeat
    #[arg(long, value_name = "alternator=30A@1h")]
    pub charge: Vec<Daily>,
    /// Water that one person uses a day; repeat for its spread
    #[arg(long, value_name = "3.5L")]
    pub head: Vec<Volume>,
    /// Water aboard
    #[arg(long, value_name = "180L")]
    pub water: Option<Volume>,
    /// Days that the food aboard lasts
    #[arg(long, value_name = "20d")]
    pub food: Option<Days>,
}

/// The one line of caution of a budget.
pub const CAUTION: &str = "a sum of what was measured before, not a promise: weather, breakage and illness are not in it; \
                           keep reserves, and the last word is yours";

/// One line of a budget.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// What it is of: "heat", "diesel".
    pub name: &'static str,
    /// Its figures; none where an input lacks.
    pub figures: Vec<Figure>,
    /// The readings and inputs behind it.
    pub from: Vec<String>,
    /// What is missing to know it, or to know it better.
    pub missing: Vec<Missing>,
    /// What should be known about it.
    pub remarks: Vec<String>,
}

/// Something of which there is not enough.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Short {
    /// What: "diesel".
    pub what: &'static str,
    /// What the passage needs.
    pub need: Figure,
    /// What is there for it, reserve taken off.
    pub aboard: Figure,
    /// `short` where the likely need is not met, `perhaps` where only the upper end of its interval is not.
    pub how: &'static str,
}

/// A passage's budget.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Budget {
    /// The lines.
    pub lines: Vec<Line>,
    /// What is short.
    pub short: Vec<Short>,
    /// Inputs that the home's notes or its passage gave.
    pub from_notes: Vec<Taken>,
    /// Seed of the draws behind the intervals.
    pub seed: u64,
    /// Number of draws.
    pub rounds: usize,
    /// One line of caution.
    pub caution: &'static str,
}

impl Budget {
    /// Finds a line by its name.
    pub fn line(&self, name: &str) -> Option<&Line> {
        self.lines.iter().find(|line| line.name == name)
    }
}

/// A need over the passage: its likely value, and every draw of it.
#[derive(Clone, Debug)]
struct Need {
    likely: f64,
    draws: Vec<f64>,
}

impl Need {
    fn interval(&self) -> Option<Interval> {
        interval(&self.draws).filter(|found| found.high - found.low > 1e-9)
    }

    fn high(&self) -> f64 {
        self.interval().map_or(self.likely, |found| found.high.max(self.likely))
    }

    fn figure(&self, name: &str, unit: &'static str, decimals: usize) -> Figure {
        let figure = Figure::number(name, self.likely, unit, decimals);
        match self.interval() {
            Some(found) => figure.spread(found.low.min(self.likely), found.high.max(self.likely)),
            None => figure,
        }
    }

    fn with(&self, other: &Need, sum: impl Fn(f64, f64) -> f64) -> Need {
        let draws = self.draws.iter().zip(&other.draws).map(|(a, b)| sum(*a, *b)).collect();
        Need { likely: sum(self.likely, other.likely), draws }
    }
}

/// A number measured several times: its value by `of`, drawn again where there are readings enough.
fn measured<T: Clone>(
    readings: &[T],
    random: &mut SplitMix,
    of: impl Fn(&[T]) -> Option<f64>,
) -> Option<Need> {
    let readings = recent(readings);
    let likely = of(readings)?;
    let draws = if readings.len() < FEWEST {
        vec![likely; ROUNDS]
    } else {
        (0..ROUNDS).map(|_| of(&redraw(readings, random)).unwrap_or(likely)).collect()
    };
    Some(Need { likely, draws })
}

fn missing(ids: &[(&str, bool)]) -> Vec<Missing> {
    ids.iter().filter(|(_, missing)| *missing).map(|(id, _)| Missing::of::<Inputs>(id)).collect()
}

/// What the passage as set is short of by a boat's own notes, as of a day; nothing where none is set. A reading that the
/// instruments contradict decides nothing, as any other with a doubt. Errors: a reading out of its physical range; the
/// home cannot be read.
pub async fn short_of(
    boat: &Boat,
    panel: &Panel<'_>,
    record: &Record,
    day: Day,
) -> Result<Vec<Short>, Unknown> {
    if *boat.passage() == Passage::default() {
        return Ok(Vec::new());
    }
    let mut readings = boat.readings(day, &QUANTITIES);
    panel.doubt(&mut readings).await?;
    let notes = Notes::new(readings, record.decisions().map(|entry| &entry.decision));
    let mut inputs = Inputs::default();
    notes.budget(&mut inputs);
    Ok(budget(&inputs)?.short)
}

/// Why it is not known what the passage is short of.
#[derive(Debug, thiserror::Error)]
pub enum Unknown {
    /// A reading that nothing can be reckoned with.
    #[error(transparent)]
    Reading(#[from] ReckonError),
    /// The home cannot be read.
    #[error("{0}")]
    Home(String),
}

impl From<crate::error::Error> for Unknown {
    fn from(error: crate::error::Error) -> Self {
        Self::Home(error.message)
    }
}

/// Works a budget out as far as the inputs allow; what is missing stands in its line.
pub fn budget(inputs: &Inputs) -> Result<Budget, ReckonError> {
    check(inputs)?;
    let mut random = SplitMix::new(SEED);
    let mut short = Vec::new();
    let (days, days_line) = days(inputs, &mut random);
    let days = days.as_ref();
    let (heat, heat_line) = heat_line(inputs, days, &mut random, &mut short);
    let (engine, engine_line) = engine(inputs, days, &mut random);
    let lines = vec![
        days_line,
        heat_line,
        engine_line,
        diesel(inputs, heat.as_ref(), engine.as_ref(), &mut short),
        charge(inputs, days, &mut random, &mut short),
        water(inputs, days, &mut random, &mut short),
        food(inputs, days, &mut short),
    ];
    Ok(Budget { lines, short, from_notes: Vec::new(), seed: SEED, rounds: ROUNDS, caution: CAUTION })
}

fn check(inputs: &Inputs) -> Result<(), ReckonError> {
    inputs.distance.map(|value| within("distance", value, 1.0, 30_000.0)).transpose()?;
    inputs.days.map(|value| within("days at sea", value, FEWEST_DAYS, MOST_DAYS)).transpose()?;
    inputs.coldest.map(|value| within("coldest air", value, -60.0, 30.0)).transpose()?;
    inputs.inside.map(|value| within("temperature inside", value, -10.0, 35.0)).transpose()?;
    inputs.engine_hours.map(|value| within("engine hours a day", value, 0.0, 24.0)).transpose()?;
    inputs.diesel.map(|value| within("diesel aboard", value, 0.0, 100_000.0)).transpose()?;
    inputs.water.map(|value| within("water aboard", value, 0.0, 20_000.0)).transpose()?;
    inputs.reserve.map(|value| within("reserve", value, 0.0, 90.0)).transpose()?;
    inputs.capacity.map(|value| within("capacity", value, 1.0, 10_000.0)).transpose()?;
    inputs.usable.map(|value| within("usable share", value, 1.0, 100.0)).transpose()?;
    inputs.food.map(|value| within("days of food", value, 0.0, 2.0 * MOST_DAYS)).transpose()?;
    if let Some(found) = inputs.crew.filter(|crew| !(1..=20).contains(crew)) {
        let (what, unit, found) = ("crew".into(), "people", f64::from(found));
        return Err(ReckonError::OutOfRange { what, low: 1.0, high: 20.0, unit, found });
    }
    for speed in &inputs.speed {
        within("speed", *speed, 0.1, 60.0)?;
    }
    for held in &inputs.held {
        within("difference held", held.difference, 0.5, 70.0)?;
        within("fuel burned", held.rate, 0.01, 5.0)?;
    }
    for head in &inputs.head {
        within("water a head a day", *head, 0.2, 200.0)?;
    }
    for daily in inputs.consumer.iter().chain(&inputs.charge) {
        within(&format!("current of {}", daily.name), daily.current, 0.0, 1000.0)?;
        within(&format!("hours a day of {}", daily.name), daily.time, 0.0, 24.0)?;
    }
    Ok(())
}

fn days(inputs: &Inputs, random: &mut SplitMix) -> (Option<Need>, Line) {
    let mut line = Line {
        name: "days at sea",
        figures: Vec::new(),
        from: Vec::new(),
        missing: Vec::new(),
        remarks: Vec::new(),
    };
    let mut knots: Vec<f64> = inputs.speed.iter().map(|speed| speed.in_kn()).collect();
    // Sorted once, since every draw asks for another quantile of the same speeds.
    knots.sort_by(f64::total_cmp);
    let at = |share| {
        let kn = quantile(&knots, share).filter(|kn| *kn > 0.0)?;
        Some(Speed::kn(kn).time_over(inputs.distance?).in_days())
    };
    if let (Some(best), Some(likely), Some(worst)) = (at(0.75), at(0.5), at(0.25)) {
        line.figures = vec![
            Figure::number("likely", likely, "days", 1),
            Figure::number("best", best, "days", 1).with("at the upper quartile of her speeds"),
            Figure::number("worst", worst, "days", 1).with("at the lower quartile"),
        ];
        line.from = inputs.distance.iter().map(|distance| format!("distance {distance}")).collect();
        line.from.push(figure::count(knots.len(), "speed", "speeds"));
        if knots.len() < FEWEST {
            line.remarks.push(format!("fewer than {FEWEST} speeds: best and worst say little"));
            line.missing = missing(&[("speed", true)]);
        }
        line.remarks.extend(inputs.days.map(|days| {
            format!(
                "the passage is set to {} days; what follows goes by distance and speeds",
                super::plain(days.in_days())
            )
        }));
        // Anywhere between the quartiles; the quantile is drawn, not the speed, so that ends count as ends.
        let draws = (0..ROUNDS)
            .map(|_| at(0.25 + 0.5 * random.below(1 << 20) as f64 / f64::from(1 << 20)).unwrap_or(likely))
            .collect();
        return (Some(Need { likely, draws }), line);
    }
    line.missing = missing(&[("distance", inputs.distance.is_none()), ("speed", knots.is_empty())]);
    if let Some(days) = inputs.days {
        let days = days.in_days();
        line.figures = vec![Figure::number("as set", days, "days", 1)];
        line.from = vec!["days given".to_string()];
        line.remarks.push("one figure: best and worst need the distance and her own speeds".to_string());
        return (Some(Need { likely: days, draws: vec![days; ROUNDS] }), line);
    }
    line.missing.extend(missing(&[("days", true)]));
    (None, line)
}

fn heat_line(
    inputs: &Inputs,
    days: Option<&Need>,
    random: &mut SplitMix,
    short: &mut Vec<Short>,
) -> (Option<Need>, Line) {
    let wanted = inputs.inside.zip(inputs.coldest).map(|(inside, coldest)| inside.above(coldest));
    let difference = wanted.filter(|difference| *difference > Warming::k(0.0));
    let a_day = difference.and_then(|difference| {
        measured(&inputs.held, random, |held| Some(heat::fit(held)?.at(difference).in_l_day()))
    });
    let total = a_day.as_ref().zip(days).map(|(a_day, days)| a_day.with(days, |litres, days| litres * days));
    let mut figures = Vec::new();
    figures.extend(a_day.as_ref().map(|need| need.figure("diesel a day", "L", 1)));
    figures.extend(total.as_ref().map(|need| need.figure("over the passage", "L", 0)));
    let mut remarks = Vec::new();
    if let (Some(a_day), Some(most)) = (&a_day, inputs.most) {
        let most = most.in_l_day();
        let (words, how) = match most {
            most if a_day.high() <= most => ("yes, as far as the readings tell", None),
            most if a_day.likely > most => {
                ("no: it would need more than the heater burns at full output", Some("short"))
            }
            _ => ("perhaps: its full output lies within the interval", Some("perhaps")),
        };
        short.extend(how.map(|how| Short {
            what: "heat",
            need: a_day.figure("needed, as diesel a day", "L", 1),
            aboard: Figure::number("the heater's full output", most, "L", 1),
            how,
        }));
        figures.push(Figure::words("can the heater hold it", words));
    }
    if wanted.is_some() && difference.is_none() {
        remarks.push("the coldest air is as warm as the cabin is wanted: no heat".to_string());
    }
    if a_day.is_some() {
        remarks.push("at the coldest air day and night: an upper figure for the whole passage".to_string());
        let widest = inputs.held.iter().map(|held| held.difference.in_k()).fold(0.0, f64::max);
        if let Some(difference) = difference.filter(|difference| difference.in_k() > widest) {
            remarks.push(format!(
                "{:.1} K is beyond the largest difference measured, {widest:.1} K",
                difference.in_k()
            ));
        }
    }
    if !inputs.held.is_empty() && inputs.held.len() < FEWEST {
        remarks.push(format!("fewer than {FEWEST} readings: no interval can be told"));
    }
    let line = Line {
        name: "heat",
        figures,
        from: vec![figure::count(inputs.held.len(), "measured hold", "measured holds")],
        missing: missing(&[
            ("inside", inputs.inside.is_none()),
            ("coldest", inputs.coldest.is_none()),
            ("held", inputs.held.len() < FEWEST),
            ("most", inputs.most.is_none()),
        ]),
        remarks,
    };
    (total, line)
}

fn engine(inputs: &Inputs, days: Option<&Need>, random: &mut SplitMix) -> (Option<Need>, Line) {
    let rates: Vec<f64> = inputs.engine_use.iter().map(|rate| rate.in_l_h()).collect();
    let total = measured(&rates, random, median)
        .zip(inputs.engine_hours)
        .zip(days)
        .map(|((rate, hours), days)| rate.with(days, |rate, days| rate * hours.in_h() * days));
    let mut from = vec![figure::count(rates.len(), "measured use", "measured uses")];
    from.extend(inputs.engine_hours.map(|hours| format!("{hours} a day")));
    let line = Line {
        name: "engine",
        figures: total.iter().map(|need| need.figure("over the passage", "L", 0)).collect(),
        from,
        missing: missing(&[
            ("engine_use", rates.is_empty()),
            ("engine_hours", inputs.engine_hours.is_none()),
        ]),
        remarks: Vec::new(),
    };
    (total, line)
}

/// What is there for the passage, the reserve taken off; without a reserve given, all of it, and the line says so.
fn less_reserve(aboard: Volume, reserve: Option<Share>, remarks: &mut Vec<String>) -> f64 {
    if reserve.is_none() {
        remarks.push("no reserve is kept back: give --reserve".to_string());
    }
    aboard.in_l() * (1.0 - reserve.unwrap_or_default().in_fraction())
}

/// Compares a need with what is there; a need that is known only in part is never called met.
fn compare(
    what: &'static str,
    need: &Need,
    unknown: Option<&str>,
    aboard: f64,
    unit: &'static str,
    short: &mut Vec<Short>,
) -> Figure {
    let left = aboard - need.likely;
    let how = match () {
        () if need.likely > aboard => "short",
        () if need.high() > aboard => "perhaps",
        () => {
            let words = match unknown {
                Some(unknown) => format!("for {unknown}, which is unknown"),
                None => "enough, as far as the readings tell".to_string(),
            };
            return Figure::number("left", left, unit, 0).with(words);
        }
    };
    let decimals = usize::from(unit == "days");
    short.push(Short {
        what,
        need: need.figure("needed", unit, decimals),
        aboard: Figure::number("aboard for it", aboard, unit, decimals),
        how,
    });
    if how == "short" {
        Figure::number("short by", -left, unit, decimals)
    } else {
        Figure::number("left", left, unit, decimals)
            .with("perhaps short: the upper end of the need is more than that")
    }
}

fn diesel(inputs: &Inputs, heat: Option<&Need>, engine: Option<&Need>, short: &mut Vec<Short>) -> Line {
    let mut line = Line {
        name: "diesel",
        figures: Vec::new(),
        from: inputs.diesel.iter().map(|diesel| format!("{diesel} aboard")).collect(),
        missing: missing(&[("diesel", inputs.diesel.is_none())]),
        remarks: Vec::new(),
    };
    let mut unknown = None;
    let need = match (heat, engine) {
        (Some(heat), Some(engine)) => heat.with(engine, |a, b| a + b),
        (Some(one), None) | (None, Some(one)) => {
            let lacking = if heat.is_some() { "the engine's" } else { "the heater's" };
            line.remarks.push(format!("{lacking} share is unknown and not in it"));
            unknown = Some(format!("{lacking} share"));
            one.clone()
        }
        (None, None) => {
            line.remarks.push("neither the heater's nor the engine's share is known".to_string());
            return line;
        }
    };
    line.figures.push(need.figure("needed", "L", 0));
    if let Some(aboard) = inputs.diesel {
        let aboard = less_reserve(aboard, inputs.reserve, &mut line.remarks);
        line.figures.push(Figure::number("aboard, less reserve", aboard, "L", 0));
        line.figures.push(compare("diesel", &need, unknown.as_deref(), aboard, "L", short));
    }
    line
}

fn charge(inputs: &Inputs, days: Option<&Need>, random: &mut SplitMix, short: &mut Vec<Short>) -> Line {
    let amperes: Vec<f64> = inputs.draw.iter().map(|draw| draw.in_a()).collect();
    let counted_apart = inputs.consumer.iter().any(|daily| daily.name == "heater");
    let heater = measured(&amperes, random, median).filter(|_| !counted_apart).map(|need| Need {
        likely: need.likely * 24.0,
        draws: need.draws.iter().map(|a| a * 24.0).collect(),
    });
    let total = |list: &[Daily]| list.iter().map(|daily| daily.charge().in_ah()).sum::<f64>();
    let (out, into) = (total(&inputs.consumer), total(&inputs.charge));
    let mut line = Line {
        name: "charge",
        figures: Vec::new(),
        from: Vec::new(),
        missing: missing(&[
            ("consumer", inputs.consumer.is_empty()),
            ("charge", inputs.charge.is_empty()),
            ("capacity", inputs.capacity.is_none()),
            ("usable", inputs.usable.is_none()),
        ]),
        remarks: inputs
            .hours
            .iter()
            .map(|hours| format!("not counted: {}, whose current is not known", hours.name))
            .collect(),
    };
    if heater.is_none() && inputs.consumer.is_empty() {
        line.missing.extend(missing(&[("draw", true)]));
        return line;
    }
    let none = Need { likely: 0.0, draws: vec![0.0; ROUNDS] };
    let use_a_day = heater.as_ref().unwrap_or(&none).with(&none, |heater, _| heater + out);
    line.from.push(figure::count(inputs.consumer.len(), "consumer", "consumers"));
    if heater.is_some() {
        let count = figure::count(amperes.len(), "current measured", "currents measured");
        line.from.push(format!("the heater day and night, {count}"));
    }
    line.from.push(figure::count(inputs.charge.len(), "source", "sources"));
    line.figures.push(use_a_day.figure("used a day", "Ah", 0));
    line.figures.push(Figure::number("charged a day", into, "Ah", 0));
    let net = use_a_day.with(&none, |used, _| (used - into).max(0.0));
    if let (Some(capacity), Some(usable), Some(days)) = (inputs.capacity, inputs.usable, days) {
        let there = capacity.in_ah() * usable.in_fraction();
        let need = net.with(days, |a_day, days| a_day * days);
        let partly = inputs.consumer.is_empty() || !inputs.hours.is_empty();
        let unknown = partly.then_some("the other consumers");
        line.figures.push(need.figure("taken from the bank over the passage", "Ah", 0));
        line.figures.push(Figure::number("in it to use", there, "Ah", 0));
        if net.likely > 0.0 {
            line.figures.push(Figure::number("empty after", there / net.likely, "days", 1));
        }
        line.figures.push(compare("charge", &need, unknown, there, "Ah", short));
    }
    line
}

fn water(inputs: &Inputs, days: Option<&Need>, random: &mut SplitMix, short: &mut Vec<Short>) -> Line {
    let heads: Vec<f64> = inputs.head.iter().map(|head| head.in_l()).collect();
    let mut line = Line {
        name: "water",
        figures: Vec::new(),
        from: vec![figure::count(heads.len(), "measured use", "measured uses")],
        missing: missing(&[
            ("crew", inputs.crew.is_none()),
            ("head", heads.is_empty()),
            ("water", inputs.water.is_none()),
        ]),
        remarks: Vec::new(),
    };
    let head = measured(&heads, random, median);
    let (Some(head), Some(crew), Some(days)) = (head, inputs.crew, days) else { return line };
    line.from.push(figure::count(crew as usize, "person", "people"));
    let need = head.with(days, |litres, days| litres * f64::from(crew) * days);
    line.figures.push(need.figure("needed", "L", 0));
    if let Some(aboard) = inputs.water {
        let aboard = less_reserve(aboard, inputs.reserve, &mut line.remarks);
        line.figures.push(Figure::number("aboard, less reserve", aboard, "L", 0));
        line.figures.push(compare("water", &need, None, aboard, "L", short));
    }
    line
}

fn food(inputs: &Inputs, days: Option<&Need>, short: &mut Vec<Short>) -> Line {
    let mut line = Line {
        name: "food",
        figures: Vec::new(),
        from: Vec::new(),
        missing: missing(&[("food", inputs.food.is_none())]),
        remarks: Vec::new(),
    };
    if let (Some(food), Some(days)) = (inputs.food, days) {
        line.from.push(format!("{} days of food", super::plain(food.in_days())));
        line.figures.push(days.figure("needed", "days", 1));
        line.figures.push(compare("food", days, None, food.in_days(), "days", short));
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::check::near;

    fn held(pairs: &[(f64, f64)]) -> Vec<Held> {
        pairs.iter().map(|(k, l_h)| Held { difference: Warming::k(*k), rate: Rate::l_h(*l_h) }).collect()
    }

    fn inputs() -> Inputs {
        Inputs {
            distance: Some(Distance::nmi(600.0)),
            speed: [4.0, 5.0, 6.0, 5.0, 3.0].map(Speed::kn).to_vec(),
            crew: Some(2),
            coldest: Some(Temperature::deg_c(-4.0)),
            inside: Some(Temperature::deg_c(16.0)),
            held: held(&[(6.0, 0.08), (9.0, 0.115), (12.0, 0.15), (14.0, 0.17), (10.0, 0.125), (16.0, 0.2)]),
            most: Some(Rate::l_h(0.28)),
            draw: [1.2, 1.6, 1.4].map(Current::a).to_vec(),
            engine_use: [2.0, 2.2, 2.1, 2.4].map(Rate::l_h).to_vec(),
            engine_hours: Some(Period::h(1.0)),
            diesel: Some(Volume::l(100.0)),
            reserve: Some(Share::percent(20.0)),
            capacity: Some(Charge::ah(400.0)),
            usable: Some(Share::percent(50.0)),
            consumer: vec!["autopilot=2A@24h".parse().expect("as in the help")],
            charge: vec!["alternator=30A@1h".parse().expect("as in the help")],
            head: [3.0, 3.5, 4.0, 5.0].map(Volume::l).to_vec(),
            water: Some(Volume::l(60.0)),
            food: Some(Days::d(6.0)),
            ..Inputs::default()
        }
    }

    fn value(budget: &Budget, line: &str, name: &str) -> Figure {
        let line = budget.line(line).expect("named");
        line.figures.iter().find(|figure| figure.name == name).unwrap_or_else(|| panic!("{line:?}")).clone()
    }

    /// By hand: 600 nmi at 5, 5 and 4 kn; 20 K need about 0.2425 L/h; 2.15 L/h an hour a day; 33.6 + 48 − 30 Ah a day.
    #[test]
    fn a_budget_by_hand() {
        let budget = budget(&inputs()).expect("complete");
        near(value(&budget, "days at sea", "likely").value.expect("days"), 5.0, 1e-9);
        near(value(&budget, "days at sea", "worst").value.expect("days"), 6.25, 1e-9);
        near(value(&budget, "heat", "diesel a day").value.expect("litres"), 0.2425 * 24.0, 0.2);
        near(value(&budget, "engine", "over the passage").value.expect("litres"), 2.15 * 5.0, 1e-9);
        near(value(&budget, "charge", "used a day").value.expect("Ah"), 81.6, 1e-9);
        near(value(&budget, "charge", "empty after").value.expect("days"), 200.0 / 51.6, 1e-9);
        near(value(&budget, "water", "needed").value.expect("litres"), 2.0 * 3.75 * 5.0, 1e-9);
        for (line, name) in
            [("heat", "over the passage"), ("engine", "over the passage"), ("water", "needed")]
        {
            let figure = value(&budget, line, name);
            assert!(figure.low < figure.value && figure.value < figure.high, "{figure:?}");
        }
    }

    #[test]
    fn what_is_short_is_listed_apart() {
        let short = budget(&inputs()).expect("complete").short;
        let names: Vec<(&str, &str)> = short.iter().map(|short| (short.what, short.how)).collect();
        assert_eq!(names, [("charge", "short"), ("water", "perhaps"), ("food", "perhaps")]);
        let enough = Inputs { diesel: Some(Volume::l(30.0)), ..inputs() };
        assert!(
            budget(&enough).expect("complete").short.iter().any(|s| s.what == "diesel" && s.how == "short")
        );
    }

    #[test]
    fn the_same_inputs_give_the_same_budget() {
        assert_eq!(budget(&inputs()), budget(&inputs()));
        assert_eq!(budget(&inputs()).expect("complete").seed, 20_260_101);
    }

    #[test]
    fn what_is_missing_is_asked_for_and_never_a_good_one() {
        let empty = budget(&Inputs::default()).expect("a budget of nothing");
        assert!(empty.short.is_empty());
        assert!(
            empty
                .lines
                .iter()
                .all(|line| line.figures.is_empty() && !line.missing.is_empty() || line.name == "diesel")
        );
        let asked: Vec<&str> =
            empty.lines.iter().flat_map(|line| &line.missing).map(|missing| missing.input.as_str()).collect();
        for input in
            ["distance", "speed", "inside", "coldest", "held", "engine-hours", "diesel", "head", "food"]
        {
            assert!(asked.contains(&input), "{input} is not asked for: {asked:?}");
        }
        let without = Inputs { held: Vec::new(), ..inputs() };
        let budget = budget(&without).expect("complete");
        let left = value(&budget, "diesel", "left");
        assert!(left.text().ends_with("for the heater's share, which is unknown"), "{left:?}");
        assert!(
            budget
                .line("diesel")
                .is_some_and(|line| line.remarks[0].contains("the heater's share is unknown"))
        );
    }

    #[test]
    fn an_impossible_input_is_refused() {
        let error =
            budget(&Inputs { coldest: Some(Temperature::deg_c(-90.0)), ..inputs() }).expect_err("nowhere");
        insta::assert_snapshot!(error, @"coldest air: expected −60 to 30 °C, found −90 °C");
    }
}
