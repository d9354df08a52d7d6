//! Outings, for a person.

use std::io;

use super::{Outing, Run, Sailed};
use crate::figure;
use crate::instruments::measured_words;
use crate::screen::{FAINT, STRONG, Screen, styled};

/// Prints each outing.
pub fn show(sailed: &Sailed, screen: &mut Screen) -> io::Result<()> {
    if sailed.outings.is_empty() {
        return screen.line("no outing: no instrument log has her under way then");
    }
    for (n, outing) in sailed.outings.iter().enumerate() {
        if n > 0 {
            screen.gap()?;
        }
        one(outing, screen)?;
    }
    Ok(())
}

fn one(outing: &Outing, screen: &mut Screen) -> io::Result<()> {
    let until = if outing.from.date_naive() == outing.until.date_naive() {
        outing.until.format("%H:%M").to_string()
    } else {
        figure::moment(outing.until)
    };
    let hours = format!(
        "{} h, {} h of them under way",
        figure::number(outing.hours),
        figure::number(outing.under_way_hours)
    );
    screen.paragraph(
        "",
        "  ",
        &format!("{}, {hours}", styled(STRONG, format!("{} to {until}", figure::moment(outing.from)))),
    )?;
    let runs =
        [(&outing.through_water_nmi, "through the water"), (&outing.over_ground_nmi, "over the ground")];
    for (run, how) in runs {
        if let Some(run) = run {
            screen.paragraph("  ", "    ", &distance(run, how))?;
        }
    }
    for measured in &outing.measured {
        screen.paragraph("  ", "    ", &measured_words(measured))?;
    }
    if let Some(heel) = outing.heel_deg {
        screen.line(format!("  heel to either side {} on average", figure::value(heel, "deg")))?;
    }
    if let Some(change) = outing.pressure_change_hpa {
        screen.line(format!("  pressure changed by {}", figure::value(change, "hPa")))?;
    }
    for cell in outing.speeds.iter().filter(|cell| cell.median_kn.is_some()) {
        let (median, decile) = (cell.median_kn.unwrap_or_default(), cell.upper_decile_kn.unwrap_or_default());
        screen.line(format!(
            "  at {}–{}° in {}–{} kn of true wind: {}, upper decile {} ({})",
            figure::number(cell.angle_from),
            figure::number(cell.angle_to),
            figure::number(cell.wind_from),
            figure::number(cell.wind_to),
            figure::value(median, "kn"),
            figure::value(decile, "kn"),
            figure::count(cell.minutes, "minute", "minutes")
        ))?;
    }
    for engine in &outing.engines {
        let how = if engine.by_meter { "by its meter" } else { "by the minutes in which it turned" };
        let name = format!("engine {}", engine.instance);
        screen.line(format!("  {} ran {} h, {how}", name.trim_end(), figure::number(engine.hours)))?;
    }
    for charge in &outing.charge {
        let name = if charge.instance.is_empty() { &charge.sender } else { &charge.instance };
        let minutes = figure::count(charge.minutes, "minute", "minutes");
        screen.line(format!(
            "  {name}: {} in, {} out {}",
            figure::value(charge.in_ah, "Ah"),
            figure::value(charge.out_ah, "Ah"),
            styled(FAINT, format!("({minutes})"))
        ))?;
    }
    Ok(())
}

fn distance(run: &Run, how: &str) -> String {
    let missing = match run.minutes_missing {
        0 => String::new(),
        n => format!("; {} without a speed are not in it", figure::count(n, "minute", "minutes")),
    };
    format!("{} {how}{missing}", figure::value(run.nmi, "nmi"))
}
