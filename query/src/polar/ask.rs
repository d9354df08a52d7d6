//! A polar asked of a home's database.

use chrono::NaiveDate;
use chrono_tz::Tz;
use leadsman_index::{Store, With};

use super::{Grid, LeftOut, Polar, Sailing, minutes, sails};
use crate::error::Error;
use crate::instruments::{Panel, Window};

/// The boat's speeds over some days, under the sails that her notes name. Errors: the home cannot be read.
pub async fn ask(
    store: Option<&Store>,
    (since, until): (Option<NaiveDate>, Option<NaiveDate>),
    grid: Grid,
    zone: Tz,
) -> Result<Polar, Error> {
    let (found, left_out) = match store {
        Some(store) => sailing(store, Window::days(since, until, zone), zone).await?,
        None => Default::default(),
    };
    Ok(Polar::new((since, until), grid, &found, left_out))
}

/// The minutes of sailing in a window, under the sails that the notes name, and how many were left out. Errors: the home
/// cannot be read.
pub async fn sailing(store: &Store, window: Window, zone: Tz) -> Result<(Vec<Sailing>, LeftOut), Error> {
    let panel = Panel::open(store, zone).await?;
    let (mut found, left_out) = minutes::sailing(&panel, window).await?;
    if !found.is_empty() {
        let notes = store.notes(With { utterances: true, reasons: false }).await?;
        sails::tell(&panel, &notes, &store.learned().await?.names, &mut found).await?;
    }
    Ok((found, left_out))
}
