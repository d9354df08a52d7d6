//! The boat's speeds, for a person and for a spreadsheet.

use std::io;

use comfy_table::{CellAlignment, Table, presets};

use super::{Best, Gained, Polar, Speeds, plot};
use crate::figure;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};

/// Prints the table of all minutes, and with `by_sails` one more for the sails that notes name.
pub fn show(polar: &Polar, by_sails: bool, screen: &mut Screen) -> io::Result<()> {
    let minutes = figure::count(polar.minutes, "minute", "minutes");
    if polar.minutes == 0 {
        screen.line("no minute has true wind and speed through the water together under sail")?;
        return left_out(polar, screen);
    }
    let step = figure::count(polar.grid.least_minutes, "minute", "minutes");
    screen.paragraph(
        "",
        "  ",
        &format!(
            "{} by true wind angle and speed: median/upper decile in kn (minutes); from {minutes}, cells with fewer than {step} are empty",
            styled(STRONG, "Boat speed")
        ),
    )?;
    left_out(polar, screen)?;
    speeds(&polar.all, screen)?;
    for under in polar.by_sails.iter().filter(|_| by_sails) {
        screen.gap()?;
        let name = under.sails.as_deref().unwrap_or_default();
        let minutes = figure::count(under.minutes, "minute", "minutes");
        screen.line(styled(STRONG, format!("under {name}, {minutes}")))?;
        speeds(under, screen)?;
    }
    if !by_sails && !polar.by_sails.is_empty() {
        let sails: Vec<&str> = polar.by_sails.iter().filter_map(|speeds| speeds.sails.as_deref()).collect();
        screen.gap()?;
        screen.paragraph("", "  ", &styled(FAINT, format!("--by-sails parts them: {}", sails.join("; "))))?;
    }
    Ok(())
}

fn left_out(polar: &Polar, screen: &mut Screen) -> io::Result<()> {
    let reasons = [
        (polar.left_out.engine, "with the engine running"),
        (polar.left_out.turning, "while turning"),
        (polar.left_out.still, "lying still"),
    ];
    let words: Vec<String> =
        reasons.iter().filter(|(count, _)| *count > 0).map(|(count, why)| format!("{count} {why}")).collect();
    if words.is_empty() {
        return Ok(());
    }
    screen.paragraph("  ", "  ", &styled(FAINT, format!("minutes left out: {}", words.join(", "))))
}

fn speeds(speeds: &Speeds, screen: &mut Screen) -> io::Result<()> {
    let mut winds: Vec<(f64, f64)> = speeds.cells.iter().map(|cell| (cell.wind_from, cell.wind_to)).collect();
    winds.sort_by(|a, b| a.0.total_cmp(&b.0));
    winds.dedup();
    let band = |from: f64, to: f64| format!("{}–{}", figure::number(from), figure::number(to));
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    let head = winds.iter().map(|&(from, to)| format!("{} kn", band(from, to)));
    table.set_header(std::iter::once(String::new()).chain(head));
    for row in speeds.cells.chunk_by(|a, b| a.angle_from == b.angle_from) {
        let cells = row.iter().map(|cell| match (cell.median_kn, cell.upper_decile_kn) {
            (Some(median), Some(decile)) => format!("{median:.1}/{decile:.1} ({})", cell.minutes),
            _ => String::new(),
        });
        let angle = format!("{}°", band(row[0].angle_from, row[0].angle_to));
        table.add_row(std::iter::once(angle).chain(cells));
    }
    for column in table.column_iter_mut() {
        column.set_cell_alignment(CellAlignment::Right);
    }
    for line in table.lines() {
        screen.line(format!(" {}", line.trim_end()))?;
    }
    best(&speeds.best, screen)
}

fn best(list: &[Best], screen: &mut Screen) -> io::Result<()> {
    if list.is_empty() {
        return screen.paragraph("  ", "  ", &styled(CARE, "too few cells to name a best angle"));
    }
    for best in list {
        let words = |gained: &Gained, whither: &str| {
            format!(
                "{whither} {}–{}°, {} kn made good at {} kn ({})",
                figure::number(gained.angle_from),
                figure::number(gained.angle_to),
                figure::number(gained.made_good_kn),
                figure::number(gained.speed_kn),
                figure::count(gained.minutes, "minute", "minutes")
            )
        };
        let sides = [
            best.upwind.as_ref().map(|g| words(g, "to windward")),
            best.downwind.as_ref().map(|g| words(g, "downwind")),
        ];
        let sides: Vec<String> = sides.into_iter().flatten().collect();
        let wind = format!("{}–{} kn", figure::number(best.wind_from), figure::number(best.wind_to));
        screen.paragraph("  ", "    ", &format!("best in {wind}: {}", sides.join("; ")))?;
    }
    Ok(())
}

/// Prints the half rose of all minutes.
pub fn show_plot(polar: &Polar, screen: &mut Screen) -> io::Result<()> {
    let lines = plot(&polar.all);
    if lines.is_empty() {
        return screen.line("too few cells with data to draw");
    }
    for line in lines {
        screen.line(line)?;
    }
    Ok(())
}

/// The cells as comma-separated values: those of all minutes, then by sails. Empty cells have empty speeds.
pub fn csv(polar: &Polar) -> Result<String, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record([
        "sails",
        "angle_from_deg",
        "angle_to_deg",
        "wind_from_kn",
        "wind_to_kn",
        "minutes",
        "median_kn",
        "upper_decile_kn",
    ])?;
    for speeds in std::iter::once(&polar.all).chain(&polar.by_sails) {
        for cell in &speeds.cells {
            let figure = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
            out.write_record([
                speeds.sails.clone().unwrap_or_default(),
                cell.angle_from.to_string(),
                cell.angle_to.to_string(),
                cell.wind_from.to_string(),
                cell.wind_to.to_string(),
                cell.minutes.to_string(),
                figure(cell.median_kn),
                figure(cell.upper_decile_kn),
            ])?;
        }
    }
    let bytes = out.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
