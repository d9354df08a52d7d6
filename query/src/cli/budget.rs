//! `leadsman budget`: what the passage takes, from the home's own readings, and what is short.

use std::io;

use clap::Args;
use leadsman_index::Record;

use super::context::Context;
use super::reckon::{notes, show_figures, show_taken};
use crate::boat::{Boat, Day};
use crate::error::{Error, Exit};
use crate::instruments::Panel;
use crate::reckon::Missing;
use crate::reckon::budget::{self, Inputs, Short};
use crate::screen::{BAD, CARE, STRONG, Screen, styled};

/// Add up what the passage takes: days, heat, diesel, charge, water, food, and what is short
#[derive(Debug, Args)]
#[command(after_help = concat!("Example:\n\n", include_str!("../reckon/example/budget.txt")))]
pub struct Budget {
    #[command(flatten)]
    inputs: Inputs,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Budget {
    pub async fn run(mut self: Box<Self>, context: &mut Context) -> Result<Exit, Error> {
        let taken = notes(context).await?.budget(&mut self.inputs);
        let mut budget = budget::budget(&self.inputs).map_err(|error| Error::wrong_use(error.to_string()))?;
        budget.from_notes = taken;
        if self.json {
            context.screen.json(&budget)?;
        } else {
            show(&budget, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}

/// What the passage is short of, as far as the home's notes and the passage as set tell; nothing where none is set.
pub async fn short(boat: &Boat, panel: &Panel<'_>, record: &Record, day: Day) -> Vec<Short> {
    budget::short_of(boat, panel, record, day).await.unwrap_or_else(|error| not_known(error.to_string()))
}

/// Tells why it is not known what the passage is short of: one odd number must not keep the rest of an answer from being
/// shown.
pub fn not_known(why: String) -> Vec<Short> {
    anstream::eprintln!("note: what the passage is short of is not known: {why}");
    Vec::new()
}

/// Prints a budget: its lines, what is short under a heading of its own, where the inputs came from, and the caution.
fn show(budget: &budget::Budget, screen: &mut Screen) -> io::Result<()> {
    for line in &budget.lines {
        screen.line(styled(STRONG, line.name))?;
        show_figures(&line.figures, screen)?;
        if !line.figures.is_empty() && !line.from.is_empty() {
            screen.paragraph("  from: ", "    ", &line.from.join("; "))?;
        }
        for remark in &line.remarks {
            screen.paragraph("  note: ", "    ", remark)?;
        }
        if !line.missing.is_empty() {
            let better = if line.figures.is_empty() { "  missing: " } else { "  to know it better: " };
            screen.paragraph(better, "    ", &asked(&line.missing))?;
        }
    }
    show_short(&budget.short, screen)?;
    show_taken(&budget.from_notes, screen)?;
    screen.gap()?;
    let intervals = format!(
        "hold nine times in ten as far as the readings tell: {} draws of them, seed {}",
        budget.rounds, budget.seed
    );
    screen.paragraph("intervals: ", "  ", &intervals)?;
    screen.paragraph(&format!("{} ", styled(CARE, "caution:")), "  ", budget.caution)
}

/// Prints what is short under a heading of its own; nothing where nothing is.
pub fn show_short(short: &[Short], screen: &mut Screen) -> io::Result<()> {
    if short.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    screen.line(styled(BAD, "short"))?;
    for Short { what, need, aboard, how } in short {
        let perhaps = if *how == "perhaps" { "perhaps " } else { "" };
        let text =
            format!("{perhaps}short: {} {}, {} {}", need.name, need.text(), aboard.name, aboard.text());
        screen.paragraph(&format!("  {what:<8}"), "      ", &text)?;
    }
    Ok(())
}

fn asked(missing: &[Missing]) -> String {
    let each = missing.iter().map(|Missing { give, what, .. }| {
        let mut letters = what.chars();
        let first = letters.next().map(|first| first.to_lowercase().to_string()).unwrap_or_default();
        format!("{give} ({first}{})", letters.as_str())
    });
    each.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    #[derive(Debug, Parser)]
    struct Line {
        #[command(flatten)]
        budget: Budget,
    }

    /// The help ends in a worked example: its command, worked here, prints what stands there.
    #[test]
    fn the_example_in_the_help_is_what_the_program_prints() {
        let example = include_str!("../reckon/example/budget.txt");
        let (line, expected) = example.split_once('\n').expect("a command and its output");
        let arguments = line.split_whitespace().skip_while(|word| *word != "budget");
        let inputs = Line::try_parse_from(arguments).expect("the example parses").budget.inputs;
        let budget = budget::budget(&inputs).expect("complete");
        let found = Screen::printed(96, |screen| show(&budget, screen)) + "\n";
        if std::env::var_os("WRITE_EXAMPLES").is_some() {
            let path = concat!(env!("CARGO_MANIFEST_DIR"), "/src/reckon/example/budget.txt");
            std::fs::write(path, format!("{line}\n{found}")).expect("the source can be written");
        } else {
            assert_eq!(found, expected, "run with WRITE_EXAMPLES=1 to take over what is printed now");
        }
    }

    #[test]
    fn json_has_what_is_short_under_its_own_key() {
        let line = "budget --days 12d --food 8d --crew 2 --head 3L --water 50L";
        let inputs = Line::try_parse_from(line.split_whitespace()).expect("it parses").budget.inputs;
        let json = serde_json::to_value(budget::budget(&inputs).expect("complete")).expect("plain data");
        let short: Vec<&str> = json["short"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|short| short["what"].as_str())
            .collect();
        assert_eq!(short, ["water", "food"]);
        assert_eq!(json["short"][0]["how"], "short");
        assert_eq!(json["short"][0]["need"]["value"], 72.0);
    }
}
