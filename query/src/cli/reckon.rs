//! `leadsman reckon NAME`: a sum of seamanship, with its formula, source and caution.

use std::io;

use clap::{Args, Subcommand};

use leadsman_index::Decision;

use super::context::Context;
use crate::boat::home_notes;
use crate::error::{Error, Exit};
use crate::gear_word::Wanted;
use crate::reckon::notes::Notes;
use crate::reckon::{
    Figure, ReckonError, Reckoned, Sum, Taken, cold, drag, fuel, glass, heat, hull, power, rig, water, way,
    wind,
};
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};

/// Work out a sum of seamanship from the boat's own numbers, with its formula, source and caution
#[derive(Debug, Args)]
pub struct Reckon {
    #[command(subcommand)]
    which: Which,
}

/// What every reckoning takes: its inputs, and how to print the answer.
#[derive(Debug, Args)]
struct With<I: Args> {
    #[command(flatten)]
    inputs: I,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

macro_rules! example {
    ($name:literal) => {
        concat!("Example:\n\n", include_str!(concat!("../reckon/example/", $name, ".txt")))
    };
}

#[derive(Debug, Subcommand)]
enum Which {
    /// True wind from apparent and back, Beaufort, gust factor
    #[command(after_help = example!("wind"))]
    Wind(Box<With<wind::Inputs>>),
    /// Rig tension as a share of breaking load, limits, change, both sides
    #[command(after_help = example!("rig"))]
    Rig(Box<With<rig::Inputs>>),
    /// Loads on drogues and sea anchors, their size, energy to stop the boat
    #[command(after_help = example!("drag"))]
    Drag(Box<With<drag::Inputs>>),
    /// How the barometer moves, in the words of the forecast
    #[command(after_help = example!("glass"))]
    Glass(Box<With<glass::Inputs>>),
    /// Wind chill, dew and frost point, condensation, guidance on cold water
    #[command(after_help = example!("cold"))]
    Cold(Box<With<cold::Inputs>>),
    /// What the heater needs for a colder day, from what it burned
    #[command(after_help = example!("heat"))]
    Heat(Box<With<heat::Inputs>>),
    /// What a battery gives, a day's use and charge, days until empty
    #[command(after_help = example!("power"))]
    Power(Box<With<power::Inputs>>),
    /// Fuel at an engine speed, and range with a reserve
    #[command(after_help = example!("fuel"))]
    Fuel(Box<With<fuel::Inputs>>),
    /// Water by crew and days
    #[command(after_help = example!("water"))]
    Water(Box<With<water::Inputs>>),
    /// Hull speed and ratios, sail plans compared
    #[command(after_help = example!("hull"))]
    Hull(Box<With<hull::Inputs>>),
    /// Distance, course, days at sea, sun and darkness, magnetic variation
    #[command(after_help = example!("way"))]
    Way(Box<With<way::Inputs>>),
}

impl Which {
    /// Fills what is missing from the home's notes.
    fn fill(&mut self, notes: &Notes) -> Vec<Taken> {
        match self {
            Which::Rig(with) => notes.rig(&mut with.inputs),
            Which::Heat(with) => notes.heat(&mut with.inputs),
            Which::Power(with) => notes.power(&mut with.inputs),
            Which::Fuel(with) => notes.fuel(&mut with.inputs),
            Which::Water(with) => notes.water(&mut with.inputs),
            Which::Way(with) => notes.way(&mut with.inputs),
            Which::Wind(_) | Which::Glass(_) | Which::Drag(_) | Which::Cold(_) | Which::Hull(_) => Vec::new(),
        }
    }

    fn reckon(&self) -> (Result<Reckoned, ReckonError>, bool) {
        match self {
            Which::Wind(with) => (wind::reckon(&with.inputs), with.json),
            Which::Rig(with) => (rig::reckon(&with.inputs), with.json),
            Which::Drag(with) => (drag::reckon(&with.inputs), with.json),
            Which::Glass(with) => (glass::reckon(&with.inputs), with.json),
            Which::Cold(with) => (cold::reckon(&with.inputs), with.json),
            Which::Heat(with) => (heat::reckon(&with.inputs), with.json),
            Which::Power(with) => (power::reckon(&with.inputs), with.json),
            Which::Fuel(with) => (fuel::reckon(&with.inputs), with.json),
            Which::Water(with) => (water::reckon(&with.inputs), with.json),
            Which::Hull(with) => (hull::reckon(&with.inputs), with.json),
            Which::Way(with) => (way::reckon(&with.inputs), with.json),
        }
    }
}

impl Reckon {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let mut which = self.which;
        let kept = match &which {
            Which::Rig(with) if with.inputs.keep => {
                let decision = wire(&with.inputs)?;
                context.decide(decision).await?;
                true
            }
            _ => false,
        };
        let taken = which.fill(&notes(context).await?);
        let (answer, json) = which.reckon();
        let mut answer = match answer {
            Err(ReckonError::Missing { .. }) if kept => {
                if !json {
                    context.screen.line("kept")?;
                }
                return Ok(Exit::Done);
            }
            answer => answer.map_err(|error| Error::wrong_use(error.to_string()))?,
        };
        answer.from_notes = taken;
        if json {
            context.screen.json(&answer)?;
        } else {
            show(&answer, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}

/// The home's readings that a reckoning may use, as of the day asked about, and its passage.
pub async fn notes(context: &Context) -> Result<Notes, Error> {
    match context.store().await? {
        Some(store) => home_notes(&store, context.day(), context.zone.value).await,
        None => Ok(Notes::default()),
    }
}

/// The decision that keeps a wire's card and breaking load. Errors: neither is given, a breaking load without its
/// source, a card that no reading can be looked up in.
fn wire(inputs: &rig::Inputs) -> Result<Decision, Error> {
    if inputs.card.is_empty() && inputs.breaking_load.is_none() {
        return Err(
            Error::wrong_use("there is nothing to keep").hint("give --card or --breaking-load with --keep")
        );
    }
    if inputs.breaking_load.is_some() && inputs.breaking_load_source.is_none() {
        return Err(Error::wrong_use("a breaking load is kept with its source only")
            .hint("say where it comes from with --breaking-load-source"));
    }
    if let Some(line) = inputs.card.first() {
        rig::by_card(&inputs.card, line.reading).map_err(|error| Error::wrong_use(error.to_string()))?;
    }
    Ok(Decision::Wire {
        gear: Wanted::new(inputs.gear.as_deref().unwrap_or_default()).name,
        breaking_load_kn: inputs.breaking_load.map(|load| load.in_kn()),
        breaking_load_source: inputs.breaking_load_source.clone(),
        card: inputs.card.iter().map(|line| (line.reading, line.load.in_kn())).collect(),
    })
}

/// Prints what the home gave.
pub fn show_taken(taken: &[Taken], screen: &mut Screen) -> io::Result<()> {
    if taken.is_empty() {
        return Ok(());
    }
    screen.gap()?;
    screen.line(styled(STRONG, "from the home"))?;
    let width = taken.iter().map(|taken| taken.input.chars().count()).max().unwrap_or(0);
    for Taken { input, value, from, .. } in taken {
        screen.paragraph(&format!("  {input:width$}  "), "      ", &format!("{value} ({from})"))?;
    }
    Ok(())
}

/// Prints an answer: each sum with how it came about, then what lacks an input, then the caution.
pub fn show(answer: &Reckoned, screen: &mut Screen) -> io::Result<()> {
    for (at, sum) in answer.sums.iter().enumerate() {
        if at > 0 {
            screen.gap()?;
        }
        show_sum(sum, screen)?;
    }
    show_taken(&answer.from_notes, screen)?;
    if !answer.lacking.is_empty() || answer.caution.is_some() {
        screen.gap()?;
    }
    for lacking in &answer.lacking {
        screen.paragraph("not worked out: ", "  ", &lacking.to_string())?;
    }
    if let Some(caution) = answer.caution {
        screen.paragraph(&format!("{} ", styled(CARE, "caution:")), "  ", caution)?;
    }
    Ok(())
}

fn show_sum(sum: &Sum, screen: &mut Screen) -> io::Result<()> {
    screen.line(styled(STRONG, sum.name))?;
    show_figures(&sum.figures, screen)?;
    for remark in &sum.remarks {
        screen.paragraph("  note: ", "    ", remark)?;
    }
    if !sum.from.is_empty() {
        screen.paragraph(&label("from"), "    ", &sum.from.join("; "))?;
    }
    for (name, text) in [("formula", sum.formula), ("source", sum.source), ("holds", sum.range)] {
        screen.paragraph(&label(name), "    ", text)?;
    }
    Ok(())
}

/// Prints figures under each other, their names in a column.
pub fn show_figures(figures: &[Figure], screen: &mut Screen) -> io::Result<()> {
    let width = figures.iter().map(|figure| figure.name.chars().count()).max().unwrap_or(0);
    for figure in figures {
        screen.paragraph(&format!("  {:width$}  ", figure.name), "      ", &figure.text())?;
    }
    Ok(())
}

fn label(name: &str) -> String {
    format!("  {} ", styled(FAINT, format!("{name}:")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::{CommandFactory, FromArgMatches, Parser};

    #[derive(Debug, Parser)]
    struct Line {
        #[command(flatten)]
        reckon: Reckon,
    }

    fn answer(line: &str) -> Result<Reckoned, ReckonError> {
        let arguments = line.split_whitespace().skip_while(|word| *word != "reckon");
        let matches =
            Line::command().try_get_matches_from(arguments).unwrap_or_else(|error| panic!("{line}: {error}"));
        Line::from_arg_matches(&matches).expect("it parsed").reckon.which.reckon().0
    }

    fn printed(line: &str) -> String {
        let answer = answer(line).unwrap_or_else(|error| panic!("{line}: {error}"));
        Screen::printed(96, |screen| show(&answer, screen)) + "\n"
    }

    /// Every reckoning's help ends in a worked example: its command, worked here, prints what stands there.
    #[test]
    fn the_examples_in_the_help_are_what_the_program_prints() {
        let mut command = Line::command();
        command.build();
        let mut seen = 0;
        for reckoning in command.get_subcommands().filter(|command| command.get_name() != "help") {
            let help = reckoning.get_after_help().map(ToString::to_string).unwrap_or_default();
            let example = help.strip_prefix("Example:\n\n$ ").expect("an example");
            let (line, expected) = example.split_once('\n').expect("a command and its output");
            let found = printed(line);
            if std::env::var_os("WRITE_EXAMPLES").is_some() {
                let path =
                    format!("{}/src/reckon/example/{}.txt", env!("CARGO_MANIFEST_DIR"), reckoning.get_name());
                std::fs::write(path, format!("$ {line}\n{found}")).expect("the source can be written");
            } else {
                assert_eq!(found, expected, "run with WRITE_EXAMPLES=1 to take over what is printed now");
            }
            seen += 1;
        }
        assert_eq!(seen, 11);
    }

    #[test]
    fn json_has_the_figures_whole_and_the_caution_once() {
        let answer = answer("reckon drag --displacement 10t --speed 2kn --over 1m").expect("complete");
        let json = serde_json::to_value(&answer).expect("plain data");
        let sum =
            json["sums"].as_array().and_then(|sums| sums.iter().find(|s| s["name"] == "energy to stop"));
        let figure = &sum.expect("worked out")["figures"][0];
        assert_eq!(figure["unit"], "kJ");
        assert!((figure["value"].as_f64().expect("a number") - 5.293_062).abs() < 1e-5);
        assert_eq!(serde_json::to_string(&json).expect("text").matches("strong points").count(), 1);
    }

    #[test]
    fn every_caution_is_one_line() {
        for line in [
            "reckon rig --now 17 --spreaders swept",
            "reckon drag --displacement 10t --speed 2",
            "reckon cold --sea 6",
            "reckon hull --lwl 10m",
            "reckon way --from 0,0 --to 1,1",
            "reckon water --crew 2 --days 10d --head 3L",
        ] {
            let caution = answer(line).expect("complete").caution.expect("these have one");
            assert!(!caution.contains('\n') && !caution.contains("  "), "{caution}");
            assert_eq!(printed(line).matches("caution:").count(), 1);
        }
    }

    #[test]
    fn a_speed_is_not_taken_as_an_angle_on_the_command_line() {
        let error = Line::command()
            .try_get_matches_from("reckon wind --aws 20 --awa 6kn --stw 6".split_whitespace())
            .expect_err("knots are no angle");
        let text = error.to_string();
        assert!(text.contains("expected an angle in deg, rad"), "{text}");
    }
}
