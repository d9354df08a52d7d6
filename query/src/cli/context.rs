//! What a command works with, made ready from the arguments, the environment, the settings and the clock.

use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset, Local, NaiveDate, Utc};
use chrono_tz::Tz;
use leadsman_ingest::Hints;

use super::Global;
use crate::error::Error;
use crate::screen::Screen;
use crate::settings::{self, Settings, Sourced};

/// What a command works with.
pub struct Context {
    /// The home's folder; it need not exist yet.
    pub home: PathBuf,
    /// The day asked about, where it was asked.
    pub on: Option<NaiveDate>,
    /// The zone of notes that name none.
    pub zone: Sourced<Tz>,
    /// Where to print.
    pub screen: Screen,
}

impl Context {
    /// Makes the arguments ready. Errors: no home can be named, wrong settings, an unknown zone.
    pub fn new(global: &Global) -> Result<Self, Error> {
        let home = home(global.home.as_deref())?;
        let settings = Settings::read(&home)?;
        let zone = settings::zone(global.zone.as_deref(), &settings)?;
        Ok(Self { home, on: global.on, zone, screen: Screen::stdout() })
    }

    /// The day asked about, or today by the clock of this machine.
    pub fn today(&self) -> NaiveDate {
        self.on.unwrap_or_else(|| Local::now().date_naive())
    }

    /// This instant, with the offset of this machine.
    pub fn now(&self) -> DateTime<FixedOffset> {
        Local::now().fixed_offset()
    }

    /// What is known of a file from outside its bytes.
    pub fn hints(&self, path: &Path, recorded: Option<DateTime<FixedOffset>>) -> Hints {
        let modified = std::fs::metadata(path).and_then(|m| m.modified()).ok().map(DateTime::<Utc>::from);
        Hints {
            name: path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned()),
            recorded,
            zone: Some((self.zone.value, self.zone.from.clone())),
            modified,
            ..Hints::default()
        }
    }
}

fn home(given: Option<&Path>) -> Result<PathBuf, Error> {
    if let Some(path) = given {
        if path.as_os_str().is_empty() {
            return Err(
                Error::wrong_use("the home's name is empty").hint("give --home DIR, or unset LEADSMAN_HOME")
            );
        }
        return Ok(path.to_owned());
    }
    directories::ProjectDirs::from("", "", "leadsman").map(|dirs| dirs.data_dir().to_owned()).ok_or_else(
        || {
            Error::wrong_use("this machine names no folder for a program's data")
                .hint("give --home DIR or set LEADSMAN_HOME")
        },
    )
}

/// Reads a day from the command line.
pub fn date(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d").map_err(|_| "expected a day like 2026-10-06".to_owned())
}
