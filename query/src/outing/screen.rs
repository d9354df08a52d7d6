//! Days out, for a person.

use std::io;

use super::{DayOut, Left, Outings, Place, Step};
use crate::figure;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::why;

/// The caution beside a plan.
const CAUTION: &str = "wind here is what a trial wants, not leave to go out in it: the day's weather, the crew and the \
                       place decide, and that is the skipper's";

/// Prints the days, then what no day takes.
pub fn show(plan: &Outings, screen: &mut Screen) -> io::Result<()> {
    let leaves = plan.leaves.map_or_else(
        || "no departure is known".to_owned(),
        |leaves| format!("departure {}, {}", figure::day(leaves), figure::days_away(plan.on, leaves)),
    );
    let days = figure::count(plan.days.len(), "day out", "days out");
    let head = format!("{days} of {} h; {leaves}", figure::number(plan.hours_a_day));
    screen.paragraph("", "  ", &styled(STRONG, head))?;
    for day in &plan.days {
        screen.gap()?;
        show_day(day, screen)?;
    }
    left("errands ashore, no day out", &plan.errands, screen)?;
    left("in no day", &plan.unplaced, screen)?;
    if plan.days.iter().any(|d| d.under_way) {
        screen.gap()?;
        screen.paragraph(&format!("{} ", styled(CARE, "caution:")), "  ", CAUTION)?;
    }
    Ok(())
}

fn show_day(day: &DayOut, screen: &mut Screen) -> io::Result<()> {
    let date = day.date.map_or_else(String::new, |date| format!(", about {}", figure::day(date)));
    if day.steps.is_empty() {
        return screen
            .line(format!("{}: nothing to do", styled(STRONG, format!("day {}{date}", day.number))));
    }
    let head = format!("{}: {}", styled(STRONG, format!("day {}{date}", day.number)), day_words(day));
    screen.paragraph("", "  ", &head)?;
    let mut part: Option<(Place, bool)> = None;
    for step in &day.steps {
        let here = (step.needs.place, step.needs.night);
        if part != Some(here) {
            part = Some(here);
            let place = match step.needs.place {
                Place::Dock => "at the dock",
                Place::UnderWay => "under way",
                Place::OpenWater => "in open water",
                Place::Anchor => "at anchor",
            };
            let dark = if step.needs.night { ", in the dark" } else { "" };
            screen.line(format!("  {place}{dark}"))?;
        }
        show_step(step, screen)?;
    }
    Ok(())
}

/// What a day takes and wants, in a line: "7.5 h, wind 8 to 18 kn, 2 hands, into the dark".
pub fn day_words(day: &DayOut) -> String {
    let mut wants: Vec<String> = vec![format!("{} h", figure::number(day.hours))];
    if let Some((least, most)) = day.wind_kn {
        wants.push(format!("wind {}", figure::range(Some(least), Some(most), "kn")));
    }
    if day.hands > 1 {
        wants.push(format!("{} hands", day.hands));
    }
    if day.cold {
        wants.push("the colder the better".to_owned());
    }
    if day.night {
        wants.push("into the dark".to_owned());
    }
    wants.join(", ")
}

fn show_step(step: &Step, screen: &mut Screen) -> io::Result<()> {
    let reason = step.why.map_or_else(String::new, |w| format!("; {}", why(w)));
    let hours = figure::number(step.needs.hours);
    let text = format!("{}  {}{reason}, {hours} h", styled(STRONG, &step.item), step.about);
    screen.paragraph("    ", "          ", &text)?;
    if !step.provided.is_empty() {
        let text = styled(FAINT, format!("provided that {}", step.provided.join(" and ")));
        screen.paragraph("          ", "          ", &text)?;
    }
    Ok(())
}

fn left(name: &str, items: &[Left], screen: &mut Screen) -> io::Result<()> {
    if items.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    screen.line(styled(STRONG, name))?;
    for item in items {
        let text = format!("{}  {}: {}", styled(STRONG, &item.item), item.about, item.because);
        screen.paragraph("    ", "          ", &text)?;
    }
    Ok(())
}
