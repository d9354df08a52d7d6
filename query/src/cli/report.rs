//! `leadsman report`: one sheet for the skipper, the crew or the contact ashore.

use std::path::PathBuf;

use chrono::Utc;
use clap::Args;

use super::context::Context;
use super::export::put;
use crate::error::{Error, Exit};
use crate::report::{Reader, Report as Computed, sheet};

/// Write one HTML file for the chart table, the crew or the contact ashore, made for paper
#[derive(Debug, Args)]
pub struct Report {
    /// Whom it is for; what goes ashore quotes no note
    #[arg(long = "for", value_enum, default_value_t)]
    reader: Reader,
    /// Write to this file instead of standard output
    #[arg(long, value_name = "FILE.html")]
    out: Option<PathBuf>,
}

impl Report {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let store = context.store().await?;
        let boat = Context::boat_of(store.as_ref()).await?;
        let zone = context.zone.value;
        let made = Utc::now().with_timezone(&zone).fixed_offset();
        let report = Computed::make(store.as_ref(), &boat, context.day(), zone, made, self.reader).await?;
        put(self.out.as_deref(), sheet(&report).as_bytes(), context)?;
        Ok(Exit::Done)
    }
}
