//! `leadsman notices` and `leadsman doubts`: what could not be used, and what may be wrong.

use clap::Args;
use leadsman_index::Asked;
use serde::Serialize;

use super::context::Context;
use crate::error::{Error, Exit};
use crate::figure;
use crate::notices;
use crate::screen::{CARE, STRONG, styled};
use crate::words::{quoted, spaced};

/// List what could not be used, with what to do about it
#[derive(Debug, Args)]
pub struct Notices {
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

/// List readings that may be wrong, and why
#[derive(Debug, Args)]
pub struct Doubts {
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// End with code 1 where there is none
    #[arg(long)]
    exit_code: bool,
}

/// A notice as JSON has it.
#[derive(Serialize)]
struct NoticeOf {
    source: String,
    hash: String,
    #[serde(flatten)]
    notice: leadsman_ingest::Notice,
}

/// A doubtful reading as JSON has it.
#[derive(Serialize)]
struct DoubtOf {
    source: String,
    hash: String,
    #[serde(flatten)]
    reading: leadsman_ingest::Reading,
}

impl Notices {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let all = match context.store().await? {
            Some(store) => store.notices().await?,
            None => Vec::new(),
        };
        let none = all.is_empty();
        if self.json {
            let all: Vec<NoticeOf> = all
                .into_iter()
                .map(|n| NoticeOf { source: n.name, hash: n.source.to_string(), notice: n.notice })
                .collect();
            context.screen.json(&all)?;
        } else if none {
            context.screen.line("no notices: every line of every source could be used")?;
        } else {
            for of_source in all.chunk_by(|a, b| a.source == b.source) {
                let list: Vec<_> = of_source.iter().map(|n| n.notice.clone()).collect();
                notices::show(&of_source[0].name, &list, list.len(), &mut context.screen)?;
            }
        }
        Ok(if self.exit_code && none { Exit::Nothing } else { Exit::Done })
    }
}

impl Doubts {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let all = match context.store().await? {
            Some(store) => store.readings(&Asked::default()).await?,
            None => Vec::new(),
        };
        let all: Vec<_> = all.into_iter().filter(|stored| !stored.reading.doubts.is_empty()).collect();
        let none = all.is_empty();
        let screen = &mut context.screen;
        if self.json {
            let all: Vec<DoubtOf> = all
                .into_iter()
                .map(|s| DoubtOf { source: s.name, hash: s.source.to_string(), reading: s.reading })
                .collect();
            screen.json(&all)?;
        } else if none {
            screen.line("no doubts")?;
        } else {
            screen.line(format!(
                "{}, kept out of trends",
                figure::count(all.len(), "doubtful reading", "doubtful readings")
            ))?;
            for stored in &all {
                let r = &stored.reading;
                let at = r.at.map_or_else(String::new, |moment| format!(", {}", figure::moment(moment.at)));
                let value = styled(STRONG, figure::range(r.low, r.high, &r.unit));
                let text =
                    format!("{} {value}  {}  {}{at}", spaced(&r.quantity), quoted(&r.quote), stored.name);
                screen.gap()?;
                screen.paragraph("", "    ", &text)?;
                for doubt in &r.doubts {
                    screen.paragraph(&format!("    {} ", styled(CARE, "doubt:")), "    ", doubt)?;
                }
            }
        }
        Ok(if self.exit_code && none { Exit::Nothing } else { Exit::Done })
    }
}
