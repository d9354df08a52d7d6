//! `leadsman check`: whether a home is whole.

use std::io::IsTerminal;

use clap::Args;
use indicatif::ProgressBar;
use leadsman_index::{Fault, Home, Level};
use serde::Serialize;

use super::context::{Context, PATIENCE};
use crate::boat::Boat;
use crate::error::{Error, Exit};
use crate::figure;
use crate::kept::Kept;
use crate::screen::{BAD, CARE, GOOD, STRONG, Screen, styled};

/// Check that nothing in the home is lost or damaged
///
/// Looks at every source's hash, every line of arrivals and decisions, the database, the search index and the answers
/// kept ready, and says what to do about each fault. Changes nothing. Ends with code 4 where something is not as it was
/// written.
#[derive(Debug, Args)]
pub struct Check {
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// A fault as JSON has it.
#[derive(Serialize)]
struct Found<'a> {
    /// `fault`, or `remark` for what the next command puts right by itself.
    level: &'static str,
    place: String,
    what: &'a str,
    advice: &'a str,
}

impl Check {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let home = context.home.existing()?;
        let bar = if std::io::stderr().is_terminal() { ProgressBar::new(0) } else { ProgressBar::hidden() };
        let mut sources = 0;
        let tell = |done: usize, of: usize| {
            sources = of;
            bar.set_length(of as u64);
            bar.set_position(done as u64);
        };
        let mut faults = home.check(tell).await?;
        bar.finish_and_clear();
        // A home with a fault is not read on; one whose database another command will make again has nothing kept.
        if faults.is_empty() {
            faults.extend(answers(&home).await?);
        }
        if self.json {
            let found: Vec<Found<'_>> = faults.iter().map(found).collect();
            context.screen.json(&found)?;
        } else {
            show(&faults, sources, &mut context.screen)?;
        }
        let bad = faults.iter().any(|fault| fault.level == Level::Fault);
        Ok(if bad { Exit::HomeFault } else { Exit::Done })
    }
}

/// The kept answers that are not what the notes say.
async fn answers(home: &Home) -> Result<Vec<Fault>, Error> {
    let store = home.store(PATIENCE).await?;
    let mut faults = Vec::new();
    if let Some(kept) = Kept::of(&store).await? {
        let differ = kept.differ(&store, &Boat::read(&store).await?).await?;
        faults.extend(differ.into_iter().map(|(place, what)| Fault {
            level: Level::Fault,
            place,
            what,
            advice: "`leadsman rebuild` makes them again from sources, arrivals and decisions",
        }));
    }
    store.close().await;
    Ok(faults)
}

fn found(fault: &Fault) -> Found<'_> {
    let level = match fault.level {
        Level::Fault => "fault",
        Level::Remark => "remark",
    };
    Found { level, place: fault.place.display().to_string(), what: &fault.what, advice: fault.advice }
}

fn show(faults: &[Fault], sources: usize, screen: &mut Screen) -> std::io::Result<()> {
    for fault in faults {
        let style = match fault.level {
            Level::Fault => BAD,
            Level::Remark => CARE,
        };
        let head = format!("{} {}", styled(style, format!("{}:", found(fault).level)), fault.place.display());
        screen.paragraph("", "    ", &head)?;
        screen.paragraph("    ", "    ", &fault.what)?;
        screen.paragraph(&format!("    {} ", styled(STRONG, "what to do:")), "    ", fault.advice)?;
    }
    let bad = faults.iter().filter(|fault| fault.level == Level::Fault).count();
    let sources = figure::count(sources, "source", "sources");
    if bad == 0 {
        screen.line(format!("{}: {sources}, each as it was given", styled(GOOD, "whole")))
    } else {
        screen.line(format!("{} in a home of {sources}", styled(BAD, figure::count(bad, "fault", "faults"))))
    }
}
