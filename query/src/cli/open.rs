//! `leadsman open`: what stands open before departure.

use chrono::NaiveDate;
use clap::Args;
use leadsman_index::Store;
use serde::Serialize;

use super::budget::{not_known, short, show_short};
use super::context::{Context, coming};
use crate::beside::Beside;
use crate::error::{Error, Exit};
use crate::instruments::{Calibration, calibrate, show_calibration};
use crate::kept::{Kept, Opening};
use crate::open_item::{OpenList, Shown, show};
use crate::reckon::budget::Short;

/// List what stands open before departure, most pressing first
#[derive(Debug, Args)]
pub struct Open {
    /// Count the days to this departure instead of the one that is set or said
    #[arg(long, value_name = "DATE", value_parser = coming)]
    before: Option<NaiveDate>,
    /// Show what was closed too, and what closed it
    #[arg(long)]
    all: bool,
    /// Say what each item's place in the list comes from
    #[arg(long)]
    why: bool,
    /// Print JSON: `open`, `perhaps`, `accepted`, `put_off`, `closed`, `dismissed`, `short`, `calibration`, `gaps`,
    /// `never_tried` and `announced`, always all of them
    #[arg(long)]
    json: bool,
    /// End with code 1 where nothing stands open
    #[arg(long)]
    exit_code: bool,
}

/// The list with what the passage is short of and which instruments are out, under keys of their own.
#[derive(Serialize)]
struct Answer<'a> {
    #[serde(flatten)]
    list: &'a OpenList,
    short: Vec<Short>,
    calibration: Vec<Calibration>,
    #[serde(flatten)]
    beside: Beside,
}

impl Open {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let store = context.store().await?;
        if let Some(store) = &store
            && let Some(opening) = self.kept(store, context).await?
        {
            let Opening { list, short, beside } = opening;
            return self.answer(&list, short.unwrap_or_else(not_known), Vec::new(), beside, context);
        }
        let boat = Context::boat_of(store.as_ref()).await?;
        let mut list = boat.open_list(context.day(), self.before);
        let (mut short_of, mut calibration) = (Vec::new(), Vec::new());
        let panel = match &store {
            Some(store) => Some(context.panel(store).await?),
            None => None,
        };
        if let (Some(store), Some(panel)) = (&store, &panel) {
            short_of = short(&boat, panel, store.record(), context.day()).await;
            panel.join(&mut list, &boat).await?;
            if !panel.is_empty() {
                calibration = calibrate(store).await?;
            }
        }
        let beside = Beside::new(&boat, context.day(), self.before, panel.as_ref()).await?;
        self.answer(&list, short_of, calibration, beside, context)
    }

    /// The answer as it was kept, where it holds.
    async fn kept(&self, store: &Store, context: &Context) -> Result<Option<Opening>, Error> {
        if self.before.is_some() {
            return Ok(None);
        }
        let (record, day, all) = (store.record(), context.day(), self.all || self.json);
        Ok(Kept::answer(store, day, |kept| kept.opening(record, day, all)).await?.flatten())
    }

    fn answer(
        &self,
        list: &OpenList,
        short: Vec<Short>,
        calibration: Vec<Calibration>,
        beside: Beside,
        context: &mut Context,
    ) -> Result<Exit, Error> {
        if self.json {
            context.screen.json(&Answer { list, short, beside, calibration })?;
        } else {
            let shown = Shown { all: self.all, why: self.why };
            show(list, shown, &mut context.screen)?;
            show_short(&short, &mut context.screen)?;
            // Of an empty home there is nothing to say but that it is empty.
            if list.notes > 0 {
                beside.show(&mut context.screen)?;
            }
            show_calibration(&calibration, &mut context.screen)?;
        }
        Ok(if self.exit_code && list.open.is_empty() && list.perhaps.is_empty() {
            Exit::Nothing
        } else {
            Exit::Done
        })
    }
}
