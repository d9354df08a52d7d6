//! A polar asked of a home's database.

use chrono::NaiveDate;
use chrono_tz::Tz;
use leadsman_index::{Store, With};

use super::{Grid, LeftOut, Polar, minutes, sails};
use crate::error::Error;
use crate::instruments::{Panel, Window};

/// The boat's speeds over some days, under the sails that her notes name. Errors: the home cannot be read.
pub async fn ask(
    store: Option<&Store>,
    (since, until): (Option<NaiveDate>, Option<NaiveDate>),
    grid: Grid,
    zone: Tz,
) -> Result<Polar, Error> {
    let (mut found, mut left_out) = (Vec::new(), LeftOut::default());
    if let Some(store) = store {
        let panel = Panel::open(store, zone).await?;
        (found, left_out) = minutes::sailing(&panel, Window::days(since, until, zone)).await?;
        if !found.is_empty() {
            let notes = store.notes(With { utterances: true, reasons: false }).await?;
            sails::tell(&panel, &notes, &store.learned().await?.names, &mut found).await?;
        }
    }
    Ok(Polar::new((since, until), grid, &found, left_out))
}
