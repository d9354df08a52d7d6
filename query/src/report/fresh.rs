//! `open.html` in the home: the skipper's report, made anew after every change, for the day the laptop won't start.

use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use chrono_tz::Tz;
use leadsman_index::{Home, Store};

use super::{Reader, Report, sheet};
use crate::boat::{Boat, Day};
use crate::error::Error;
use crate::file;

/// The file's name in the home.
pub const FILE: &str = "open.html";

/// Writes the file, whole or not at all. Errors: the home cannot be read or written.
pub async fn write(store: &Store, day: Day, zone: Tz, made: DateTime<FixedOffset>) -> Result<(), Error> {
    let boat = Boat::read(store).await?;
    let report = Report::make(Some(store), &boat, day, zone, made, Reader::Skipper).await?;
    let path = store.home().root().join(FILE);
    file::put(&path, sheet(&report).as_bytes())
        .map_err(|error| Error::home(format!("{} could not be written", path.display())).because(&error))
}

/// As [`write()`], of a home that was just changed.
pub async fn after_change(
    home: &Home,
    patience: Duration,
    day: Day,
    zone: Tz,
    made: DateTime<FixedOffset>,
) -> Result<(), Error> {
    let store = home.store(patience).await?;
    let done = write(&store, day, zone, made).await;
    store.close().await;
    done
}
