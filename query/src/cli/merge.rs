//! `leadsman merge`: another home's records brought in.

use std::path::PathBuf;

use clap::Args;
use leadsman_index::Home;

use super::context::{Context, HomePath, PATIENCE};
use crate::error::{Error, Exit};
use crate::figure;
use crate::folded;
use crate::screen::{BAD, GOOD, styled};

/// Bring in all that another home has and this one has not
///
/// Sources, arrivals and decisions are joined; the other home is only read. Merged both ways, the two hold the same.
/// What was erased in either stays erased.
#[derive(Debug, Args)]
pub struct Merge {
    /// The other home's folder
    #[arg(value_name = "OTHER_HOME")]
    other: PathBuf,
}

impl Merge {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let other: Home = HomePath { path: self.other.clone() }.existing()?;
        let home = context.home.open()?;
        if let (Ok(a), Ok(b)) = (home.root().canonicalize(), other.root().canonicalize())
            && a == b
        {
            return Err(
                Error::wrong_use("the other home is this home").hint("name the folder of another one")
            );
        }
        let mut writer = home.writer(PATIENCE).await?;
        let merged = writer.merge(&other).await?;
        folded::keep(&mut writer).await?;
        writer.finish().await?;
        context.keep_fresh().await;
        let screen = &mut context.screen;
        if (merged.sources, merged.arrivals, merged.decisions) == (0, 0, 0) {
            screen.line("nothing new in the other home")?;
        } else {
            screen.line(format!(
                "{} {}, {}, {}",
                styled(GOOD, "brought in"),
                figure::count(merged.sources, "source", "sources"),
                figure::count(merged.arrivals, "arrival", "arrivals"),
                figure::count(merged.decisions, "decision", "decisions"),
            ))?;
        }
        for left in &merged.left {
            screen.paragraph(&format!("{} ", styled(BAD, "not brought in:")), "    ", left)?;
        }
        Ok(if merged.left.is_empty() { Exit::Done } else { Exit::SourceRefused })
    }
}
