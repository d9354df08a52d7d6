//! `leadsman ashore`: what the contact ashore is told, for `report --for ashore`.

use clap::Args;
use leadsman_index::{Ashore as Told, Decision};

use super::context::Context;
use crate::error::{Error, Exit};

/// Show what the contact ashore is told, or set what is given of it; an empty text takes a line back
#[derive(Debug, Args)]
pub struct Ashore {
    /// The boat: name, how she looks, call sign and other numbers
    #[arg(long, value_name = "WORDS")]
    boat: Option<String>,
    /// The people aboard
    #[arg(long, value_name = "WORDS")]
    people: Option<String>,
    /// Where she goes, and by which way
    #[arg(long, value_name = "WORDS")]
    route: Option<String>,
    /// When and how she lets hear of herself
    #[arg(long, value_name = "WORDS")]
    check_in: Option<String>,
    /// When somebody is to be called
    #[arg(long, value_name = "WORDS")]
    call_when: Option<String>,
    /// Whom to call, and by which number
    #[arg(long, value_name = "WORDS")]
    call_whom: Option<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Ashore {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let json = self.json;
        let given = Told {
            boat: self.boat,
            people: self.people,
            route: self.route,
            check_in: self.check_in,
            call_when: self.call_when,
            call_whom: self.call_whom,
        };
        if given != Told::default() {
            context.decide(Decision::Ashore(given)).await?;
        }
        let mut told = Told::default();
        if let Some(store) = context.store().await? {
            for entry in store.record().decisions() {
                if let Decision::Ashore(later) = &entry.decision {
                    told = told.then(later);
                }
            }
        }
        let screen = &mut context.screen;
        if json {
            screen.json(&told)?;
            return Ok(Exit::Done);
        }
        for (name, value) in [
            ("boat", &told.boat),
            ("people", &told.people),
            ("route", &told.route),
            ("check-in", &told.check_in),
            ("call when", &told.call_when),
            ("call whom", &told.call_whom),
        ] {
            let value = value.as_deref().filter(|value| !value.trim().is_empty()).unwrap_or("not filled in");
            screen.paragraph(&format!("{name:<12}"), &" ".repeat(12), value)?;
        }
        Ok(Exit::Done)
    }
}
