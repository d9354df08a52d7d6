//! `leadsman proved`: what must be proved before a long passage and whether it is, and the skipper's word on the list.

use chrono::NaiveDate;
use clap::{ArgGroup, Args};
use leadsman_index::Decision;
use leadsman_ingest::gear;

use super::context::{Context, date, days};
use crate::error::{Error, Exit, did_you_mean};
use crate::gear_word::Wanted;
use crate::kept::Kept;
use crate::proved::list::GROUPS;
use crate::proved::{ProvedList, Status, show};

/// Show what a boat going far should have proved: proved, failed, stale or never tried
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("change").multiple(true).args(["dismiss", "restore", "add", "fresh_days", "vouch"]))]
pub struct Proved {
    /// An entry of the list, or the new entry that --add makes
    entry: Option<String>,
    /// The entry is no matter for this boat
    #[arg(long, requires = "entry", conflicts_with = "restore")]
    dismiss: bool,
    /// The entry counts again
    #[arg(long, requires = "entry")]
    restore: bool,
    /// Make an entry of your own: what must be so
    #[arg(long, value_name = "WORDS", requires = "entry")]
    add: Option<String>,
    /// The gear by which it is proved; may be given more than once
    #[arg(long, value_name = "GEAR", requires = "add")]
    gear: Vec<String>,
    /// The group that it stands in
    #[arg(long, value_name = "GROUP", requires = "add", value_parser = group)]
    group: Option<String>,
    /// How many days a proof of it lasts
    #[arg(long, value_name = "DAYS", requires = "entry", value_parser = days::<36_500>)]
    fresh_days: Option<u32>,
    /// It was proved on this day, by your own word
    #[arg(long, value_name = "DATE", requires = "entry", value_parser = date)]
    vouch: Option<NaiveDate>,
    /// Why, in your own words
    #[arg(long, value_name = "WORDS", requires = "change")]
    because: Option<String>,
    /// Show what was dismissed too
    #[arg(long)]
    all: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where everything is proved
    #[arg(long)]
    exit_code: bool,
}

impl Proved {
    pub async fn run(self: Box<Self>, context: &mut Context) -> Result<Exit, Error> {
        let mut list = list(context).await?;
        if let Some(asked) = &self.entry {
            let name = self.name(&list, asked)?;
            if let Some(decision) = self.decision(name.clone())? {
                context.decide(decision).await?;
                list = self::list(context).await?;
            }
            list.entries.retain(|e| e.required.name == name);
        }
        if self.json {
            context.screen.json(&list)?;
        } else {
            show(&list, self.all || self.entry.is_some(), &mut context.screen)?;
        }
        let settled = |s: Status| matches!(s, Status::Proved | Status::Dismissed);
        let nothing = self.exit_code && list.entries.iter().all(|e| settled(e.status));
        Ok(if nothing { Exit::Nothing } else { Exit::Done })
    }

    /// The entry that is meant. Errors: there is none of the name, and none is to be made.
    fn name(&self, list: &ProvedList, asked: &str) -> Result<String, Error> {
        let name = asked.trim().to_lowercase().replace([' ', '_'], "-");
        if name.is_empty() || !name.chars().all(|c| c.is_alphanumeric() || c == '-') {
            return Err(Error::wrong_use(format!("\"{asked}\" is no name for an entry"))
                .hint("letters, digits and hyphens, like emergency-steering"));
        }
        if self.add.is_some() || list.entries.iter().any(|e| e.required.name == name) {
            return Ok(name);
        }
        let error = Error::wrong_use(format!("the list has no entry \"{name}\""));
        Err(match did_you_mean(&name, list.entries.iter().map(|e| e.required.name.as_str())) {
            Some(meant) => error.hint(format!("did you mean {meant}?")),
            None => error.hint("`leadsman proved` shows the list; --add makes an entry"),
        })
    }

    fn decision(&self, entry: String) -> Result<Option<Decision>, Error> {
        let changes = self.dismiss
            || self.restore
            || self.add.is_some()
            || self.fresh_days.is_some()
            || self.vouch.is_some();
        if !changes {
            return Ok(None);
        }
        if self.add.as_ref().is_some_and(|words| words.trim().is_empty()) {
            return Err(Error::wrong_use("expected a few words after --add: what must be so"));
        }
        let named = |words: &String| {
            let name = Wanted::new(words).name;
            gear::by_name(&name).map_or(name, |g| g.name.clone())
        };
        Ok(Some(Decision::Proof {
            entry,
            about: self.add.clone(),
            gear: self.gear.iter().map(named).collect(),
            group: self.group.clone(),
            fresh_days: self.fresh_days,
            proved: self.vouch,
            dismissed: if self.dismiss { Some(true) } else { self.restore.then_some(false) },
            because: self.because.clone(),
        }))
    }
}

/// The list as it was kept, else made from the notes.
async fn list(context: &Context) -> Result<ProvedList, Error> {
    let (store, day) = (context.store().await?, context.day());
    if let Some(store) = &store
        && let Some(list) = Kept::answer(store, day, |kept| kept.proved(store.record(), day)).await?
    {
        return Ok(list);
    }
    Ok(ProvedList::new(&Context::boat_of(store.as_ref()).await?, day, None))
}

fn group(text: &str) -> Result<String, String> {
    let asked = text.trim().to_lowercase();
    if GROUPS.contains(&asked.as_str()) {
        return Ok(asked);
    }
    Err(format!("expected one of {}", GROUPS.join(", ")))
}
