//! `leadsman rebuild`: database and search index made again.

use clap::Args;
use serde::Serialize;

use super::context::{Context, PATIENCE};
use crate::error::{Error, Exit};
use crate::figure;
use crate::folded;
use crate::screen::{CARE, GOOD, styled};

/// Make database and search index again from sources, arrivals and decisions
///
/// The old ones stay until the new ones are complete. What the skipper gave is only read.
#[derive(Debug, Args)]
pub struct Rebuild {
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// What was done, as JSON has it.
#[derive(Serialize)]
struct Done {
    /// Sources that were read again.
    sources: usize,
    /// Lines of arrivals and decisions that were gone and are written back.
    restored: usize,
    /// Sources that could not be read again.
    unread: Vec<Unread>,
}

#[derive(Serialize)]
struct Unread {
    hash: String,
    why: String,
}

impl Rebuild {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let home = context.home.existing()?;
        let (rebuilt, mut writer) = home.rebuild_and_write(PATIENCE).await?;
        folded::keep(&mut writer).await?;
        writer.finish().await?;
        let unread = rebuilt.unread.into_iter().map(|(hash, why)| Unread { hash: hash.to_string(), why });
        let done = Done { sources: rebuilt.sources, restored: rebuilt.restored, unread: unread.collect() };
        let screen = &mut context.screen;
        if self.json {
            screen.json(&done)?;
            return Ok(done.exit());
        }
        let sources = figure::count(done.sources, "source", "sources");
        screen.line(format!("{} from {sources}: database and search index", styled(GOOD, "made again")))?;
        if done.restored > 0 {
            let lines = figure::count(done.restored, "line", "lines");
            screen.line(format!(
                "{} {lines} that had gone from arrivals or decisions",
                styled(GOOD, "written back")
            ))?;
        }
        for unread in &done.unread {
            let first = format!("{} {}: ", styled(CARE, "not read"), &unread.hash[..8]);
            screen.paragraph(&first, "    ", &unread.why)?;
        }
        if !done.unread.is_empty() {
            screen.line("`leadsman check` says what to do about each")?;
        }
        Ok(done.exit())
    }
}

impl Done {
    fn exit(&self) -> Exit {
        if self.unread.is_empty() { Exit::Done } else { Exit::HomeFault }
    }
}
