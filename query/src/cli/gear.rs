//! `leadsman gear`: the register, a gear's story, and the skipper's word on what was done with it.

use chrono::NaiveDate;
use clap::{ArgGroup, Args};
use leadsman_index::{Decision, Store};
use leadsman_ingest::EventKind;

use super::context::{Context, date};
use crate::boat::Day;
use crate::error::{Error, Exit, did_you_mean};
use crate::figure;
use crate::gear_word::Wanted;
use crate::kept::Kept;
use crate::register::{Register, Story, show, show_story, turn_word};

/// Show what is aboard, since when and how it last did; with a name, that gear's whole story
#[derive(Debug, Args)]
#[command(
    group = ArgGroup::new("change").multiple(true).args(["fitted", "bought", "replaced", "repaired", "taken_off", "not", "part_of"]),
    after_help = "Each --fitted, --bought, --replaced, --repaired and --taken-off takes the day on which it was done, \
                  and keeps it as a decision."
)]
pub struct Gear {
    /// The gear, by any of its names
    #[arg(num_args = 1..)]
    name: Vec<String>,
    /// It was fitted on this day
    #[arg(long, value_name = "DATE", value_parser = date, requires = "name")]
    fitted: Option<NaiveDate>,
    /// It was bought on this day
    #[arg(long, value_name = "DATE", value_parser = date, requires = "name")]
    bought: Option<NaiveDate>,
    /// It was replaced on this day; what it passed before says nothing of it now
    #[arg(long, value_name = "DATE", value_parser = date, requires = "name")]
    replaced: Option<NaiveDate>,
    /// It was repaired on this day; what it passed before says nothing of it now
    #[arg(long, value_name = "DATE", value_parser = date, requires = "name")]
    repaired: Option<NaiveDate>,
    /// It was taken off the boat on this day
    #[arg(long, value_name = "DATE", value_parser = date, requires = "name")]
    taken_off: Option<NaiveDate>,
    /// It was not fitted, bought, replaced, repaired or taken_off, whatever the notes seem to say
    #[arg(long, value_name = "WHAT", value_parser = what, requires = "name")]
    not: Option<EventKind>,
    /// What it is part of; "" for nothing
    #[arg(long, value_name = "GEAR", requires = "name")]
    part_of: Option<String>,
    /// Why, in your own words
    #[arg(long, value_name = "WORDS", requires = "change")]
    because: Option<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Gear {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let store = context.store().await?;
        let names = match &store {
            Some(store) => store.learned().await?.names,
            None => Vec::new(),
        };
        let name = (!self.name.is_empty()).then(|| self.name.join(" "));
        let wanted = name.as_deref().map(|name| Wanted::by_names(name, &names));
        if name.is_some_and(|name| name.trim().is_empty()) {
            return Err(Error::wrong_use("the gear's name is empty").hint("`leadsman gear` lists the gear"));
        }
        if let Some(wanted) = &wanted {
            let decisions = self.decisions(&wanted.name, context);
            if !decisions.is_empty() {
                for decision in decisions {
                    if let Decision::Gear { what: Some(what), on, dismissed, .. } = &decision {
                        let not = if *dismissed { "not " } else { "" };
                        let day = on.map_or_else(String::new, |day| format!(" {}", figure::day(day)));
                        context.screen.line(format!("{}: {not}{}{day}", wanted.name, turn_word(*what)))?;
                    }
                    if let Decision::Gear { part_of: Some(whole), .. } = &decision {
                        let of = if whole.is_empty() { "nothing" } else { whole };
                        context.screen.line(format!("{}: part of {of}", wanted.name))?;
                    }
                    context.decide(decision).await?;
                }
                return Ok(Exit::Done);
            }
        }
        let day = context.day();
        let Some(wanted) = wanted else {
            let register = register(store.as_ref(), day).await?;
            if self.json {
                context.screen.json(&register)?;
            } else {
                show(&register, &mut context.screen)?;
            }
            return Ok(Exit::Done);
        };
        let boat = Context::boat_of(store.as_ref()).await?;
        let register = Register::new(&boat, day);
        let list = boat.open_list(day, None);
        let Some(story) = Story::new(&boat, &register, &list, &wanted, day) else {
            let error = Error::wrong_use(format!("no note tells of \"{}\"", wanted.name));
            return Err(match did_you_mean(&wanted.name, register.gear.iter().map(|k| k.name.as_str())) {
                Some(meant) => error.hint(format!("did you mean {meant}?")),
                None => error.hint("`leadsman gear` lists the gear that the notes tell of"),
            });
        };
        if self.json {
            context.screen.json(&story)?;
        } else {
            show_story(&story, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }

    fn decisions(&self, gear: &str, context: &Context) -> Vec<Decision> {
        let done = [
            (EventKind::Fitted, self.fitted),
            (EventKind::Bought, self.bought),
            (EventKind::Replaced, self.replaced),
            (EventKind::Repaired, self.repaired),
            (EventKind::TakenOff, self.taken_off),
        ];
        let decision = |what, on, part_of, dismissed| Decision::Gear {
            gear: gear.to_owned(),
            what,
            on,
            part_of,
            dismissed,
            because: self.because.clone(),
        };
        let mut out: Vec<Decision> = done
            .into_iter()
            .filter_map(|(what, on)| Some(decision(Some(what), Some(on?), None, false)))
            .collect();
        if let Some(what) = self.not {
            // With --on, only what is told of that day is left out.
            let day = context.day();
            out.push(decision(Some(what), day.asked.then_some(day.on), None, true));
        }
        if let Some(whole) = &self.part_of {
            let whole = if whole.trim().is_empty() { String::new() } else { Wanted::new(whole).name };
            out.push(decision(None, None, Some(whole), false));
        }
        out
    }
}

/// The register as it was kept, else made from the notes.
async fn register(store: Option<&Store>, day: Day) -> Result<Register, Error> {
    if let Some(store) = store
        && let Some(register) = Kept::answer(store, day, |kept| kept.register(day)).await?
    {
        return Ok(register);
    }
    Ok(Register::new(&Context::boat_of(store).await?, day))
}

fn what(text: &str) -> Result<EventKind, String> {
    EventKind::from_name(&text.trim().to_lowercase().replace([' ', '-'], "_"))
        .filter(|what| !matches!(what, EventKind::Announced | EventKind::Needed))
        .ok_or_else(|| "expected fitted, bought, replaced, repaired or taken_off".to_owned())
}
