//! A trend, for a person.

use std::io;

use super::{Changed, ChannelTrend, DayOf, Point, Slope, Trend, plot};
use crate::figure;
use crate::reckon::two_part::Change;
use crate::register::turn_word;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::{quoted, spaced};

/// How many readings are listed; the rest are counted, and stand in the JSON.
const MOST: usize = 20;

/// Prints a trend: its figures, a small plot, and the readings with their words.
pub fn show(trend: &Trend, screen: &mut Screen) -> io::Result<()> {
    let gear = trend.question.gear.as_ref().map_or_else(String::new, |gear| format!(", {gear}"));
    let total = trend.readings.len();
    screen.line(styled(STRONG, format!("{}{gear}", spaced(&trend.question.quantity))))?;
    if total == 0 {
        screen.line(if trend.instruments.is_empty() { "  no readings" } else { "  no readings in notes" })?;
        return channels(&trend.instruments, screen);
    }
    let unit = trend.unit.as_str();
    let left_out = match trend.left_out {
        0 => String::new(),
        n => format!(" ({n} more shown below and not counted)"),
    };
    let span = figure::count(trend.span_days.round() as usize, "day", "days");
    screen.line(format!("  {} over {span}{left_out}", figure::count(trend.count, "reading", "readings")))?;
    if let (Some(first), Some(last)) = (trend.first, trend.last) {
        let median =
            trend.median.map_or_else(String::new, |m| format!(", median {}", figure::value(m, unit)));
        screen.line(format!(
            "  first {}, last {}{median}",
            figure::value(first, unit),
            figure::value(last, unit)
        ))?;
    }
    match (&trend.slope, &trend.no_slope_because) {
        (Some(slope), _) => slope_lines(slope, unit, screen)?,
        (None, Some(because)) => screen.line(format!("  no trend: {because}"))?,
        (None, None) => {}
    }
    for changed in &trend.changes {
        show_change(changed, unit, screen)?;
    }
    let counted: Vec<_> = trend.readings.iter().filter_map(Point::counted).collect();
    let lines = plot(&counted, screen.width());
    if !lines.is_empty() {
        screen.gap()?;
        for line in lines {
            screen.line(line)?;
        }
    }
    screen.gap()?;
    for point in trend.readings.iter().rev().take(MOST) {
        show_point(point, unit, screen)?;
    }
    if total > MOST {
        screen.line(format!("  and {} before these; --json has them all", total - MOST))?;
    }
    channels(&trend.instruments, screen)
}

/// Prints the instruments' part: each channel with its days.
fn channels(list: &[ChannelTrend], screen: &mut Screen) -> io::Result<()> {
    for channel in list {
        screen.gap()?;
        let name = [channel.sender.as_str(), &channel.instance, channel.reference];
        let name: Vec<&str> = name.into_iter().filter(|part| !part.is_empty()).collect();
        screen.line(styled(STRONG, format!("  by {}", name.join(" "))))?;
        let (Some(first), Some(last)) = (channel.days.first(), channel.days.last()) else { continue };
        let of = |day: &DayOf| {
            let range = figure::range(Some(day.low), Some(day.high), "");
            format!("{}  mean {} ({range})", figure::day(day.day), figure::value(day.mean, channel.unit))
        };
        screen.line(format!("  {}", of(first)))?;
        if channel.days.len() > 1 {
            screen.line(format!("  {}", of(last)))?;
            let median = channel.median.map_or_else(String::new, |m| {
                format!(", median of means {}", figure::value(m, channel.unit))
            });
            let days = figure::count(channel.days.len(), "day", "days");
            screen.line(format!("  {days} with samples{median}"))?;
        }
        match (&channel.slope, channel.no_slope_because) {
            (Some(slope), _) => slope_lines(slope, channel.unit, screen)?,
            // The reason is worded for readings; of an instrument it is the days that are too few.
            (None, _) if channel.days.len() < super::stats::FEWEST_FOR_TREND => {
                screen.line("  no trend: fewer than four days with samples")?;
            }
            (None, Some(because)) => screen.line(format!("  no trend: {because}"))?,
            (None, None) => {}
        }
        let means: Vec<_> = channel.days.iter().map(|day| (day.noon(), day.mean)).collect();
        for line in plot(&means, screen.width()) {
            screen.line(line)?;
        }
    }
    Ok(())
}

fn show_change(changed: &Changed, unit: &str, screen: &mut Screen) -> io::Result<()> {
    let Changed { gear, what, on, quote, from, parts } = changed;
    let head = styled(STRONG, format!("{gear} {}", turn_word(*what)));
    let told = format!("{head} on {}  {}  {from}", figure::day(*on), quoted(quote));
    screen.paragraph("  ", "    ", &told)?;
    let Some(Change { before, median_before, after, median_after, difference }) = parts else {
        return screen.line("    too few readings on one side to compare before and after");
    };
    let value = |value: f64| figure::value(value, unit);
    let text = format!(
        "before {} ({}), after {} ({}): changed by {} to {}, nine times in ten; a slope across it mixes the two",
        value(*median_before),
        figure::count(*before, "reading", "readings"),
        value(*median_after),
        figure::count(*after, "reading", "readings"),
        value(difference.low),
        value(difference.high),
    );
    screen.paragraph("    ", "    ", &text)
}

fn slope_lines(slope: &Slope, unit: &str, screen: &mut Screen) -> io::Result<()> {
    let signed =
        |v: f64| if v > 0.0 { format!("+{}", figure::value(v, unit)) } else { figure::value(v, unit) };
    let verdict = if slope.distinguishable {
        format!("{} a week", styled(STRONG, signed(slope.per_week)))
    } else {
        format!("{} a week, {}", signed(slope.per_week), styled(CARE, "not distinguishable from none"))
    };
    screen.line(format!("  {verdict}"))?;
    let how = if slope.exact { "exact" } else { "normal approximation" };
    let p = if slope.p < 0.001 { "p < 0.001".to_owned() } else { format!("p = {:.3}", slope.p) };
    let interval = format!(
        "{:.0} % interval {} to {} a week (Theil–Sen); {p} (Mann–Kendall, {how})",
        slope.confidence * 100.0,
        signed(slope.low),
        signed(slope.high)
    );
    screen.paragraph("  ", "  ", &styled(FAINT, interval))
}

fn show_point(point: &Point, unit: &str, screen: &mut Screen) -> io::Result<()> {
    let at = point.at.map_or_else(|| "no time".to_owned(), figure::moment);
    let value = styled(STRONG, figure::range(point.low, point.high, unit));
    let mut text = format!("{value}  {}", quoted(&point.quote));
    if point.stance != leadsman_ingest::Stance::Observed {
        text += &format!(" ({})", point.stance);
    }
    for doubt in &point.doubts {
        text += &format!(" {}", styled(CARE, format!("doubt: {doubt}")));
    }
    screen.paragraph(&format!("  {at:<21}  "), &" ".repeat(25), &format!("{text}  {}", point.source))
}
