//! What stands beside the list of open items, apart from the skipper's own words: gear that needs conditions in which it
//! was never proved, entries of the list of proofs that were never tried, and trials announced that no note reports.

use std::io;

use chrono::NaiveDate;
use serde::Serialize;

use crate::announced::{Announced, announced, show_announced};
use crate::boat::{Boat, Day};
use crate::envelope::{Envelopes, Gap, show_gaps};
use crate::error::Error;
use crate::instruments::Panel;
use crate::proved::{ProvedList, Shown, show_never_tried};
use crate::screen::Screen;

/// What stands beside the list of open items.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Beside {
    /// Needs that no trial covers.
    pub gaps: Vec<Gap>,
    /// What a boat going far should have proved, and of which no note tells a trial or a check.
    pub never_tried: Vec<Shown>,
    /// Trials announced and never reported.
    pub announced: Vec<Announced>,
}

impl Beside {
    /// Gathers it as of a day; `before` is a departure asked about instead of the one that is known, `panel` has the
    /// instruments. Errors: the home cannot be read.
    pub async fn new(
        boat: &Boat,
        day: Day,
        before: Option<NaiveDate>,
        panel: Option<&Panel<'_>>,
    ) -> Result<Self, Error> {
        let list = ProvedList::new(boat, day, before);
        let mut envelopes = Envelopes::new(boat, day);
        if let Some(panel) = panel {
            envelopes.measure(boat, day, panel, None).await?;
        }
        Ok(Self {
            gaps: envelopes.gaps(),
            never_tried: list.never_tried().into_iter().cloned().collect(),
            announced: announced(boat, day),
        })
    }

    /// Prints it, each part under a heading of its own.
    pub fn show(&self, screen: &mut Screen) -> io::Result<()> {
        show_gaps(&self.gaps, screen)?;
        show_never_tried(&self.never_tried.iter().collect::<Vec<_>>(), screen)?;
        show_announced(&self.announced, screen)
    }
}
