//! What a command works with, made ready from the arguments, the environment, the settings and the clock.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::Duration;

use chrono::{DateTime, Local, NaiveDate, Utc};
use chrono_tz::Tz;
use leadsman_index::{Decision, Home, SourceId, Store};
use leadsman_ingest::{Hints, Note};

use super::Global;
use crate::boat::{Boat, Day};
use crate::day_word;
use crate::decide::keep;
use crate::error::Error;
use crate::folded;
use crate::instruments::{Answers, Panel};
use crate::reckon::unit::{Days, UnitError};
use crate::record::{adopt, is_left};
use crate::report::fresh;
use crate::screen::Screen;
use crate::settings::{self, Settings, Sourced};

/// How long a command waits for another one that is writing to the home.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// What a command works with.
pub struct Context {
    /// The home.
    pub home: HomePath,
    /// The zone of notes that name none.
    pub zone: Sourced<Tz>,
    /// This machine's preferences.
    pub settings: Settings,
    /// Where to print.
    pub screen: Screen,
    on: Option<NaiveDate>,
}

/// A home that need not exist yet: a question makes none.
pub struct HomePath {
    /// Its folder.
    pub path: PathBuf,
}

impl HomePath {
    /// Opens the home, making it where it is missing.
    pub fn open(&self) -> Result<Home, Error> {
        Ok(Home::open(&self.path)?)
    }

    /// Opens a home that must be there. Errors: it is not.
    pub fn existing(&self) -> Result<Home, Error> {
        if self.is_there() {
            return self.open();
        }
        Err(Error::wrong_use(format!("expected a home in {}, found none", self.path.display()))
            .hint("give the folder that holds a boat's arrivals, decisions and sources"))
    }

    fn is_there(&self) -> bool {
        self.path.join("arrivals").is_dir()
    }
}

impl Context {
    /// Makes the arguments ready. Errors: no home can be named, wrong settings, an unknown zone.
    pub fn new(global: &Global) -> Result<Self, Error> {
        let path = home(global.home.as_deref())?;
        let settings = Settings::read(&path)?;
        let zone = settings::zone(global.zone.as_deref(), &settings)?;
        // Told before anything is done, not only where instruments are asked.
        Answers::new(&settings.answers)?;
        Ok(Self { home: HomePath { path }, zone, settings, screen: Screen::stdout(), on: global.on })
    }

    /// The day asked about, or today.
    pub fn day(&self) -> Day {
        Day { on: self.on.unwrap_or_else(|| self.today()), asked: self.on.is_some() }
    }

    /// The day that was asked about, if one was.
    pub fn asked(&self) -> Option<NaiveDate> {
        self.on
    }

    /// The day that was asked about, if it has passed: a decision is of that day then.
    pub fn passed(&self) -> Option<NaiveDate> {
        self.on.filter(|on| *on < self.today())
    }

    /// The day that a decision is of, with what the home holds then: all, unless the day has passed.
    pub fn decided(&self) -> Day {
        Day { on: self.day().on, asked: self.passed().is_some() }
    }

    /// Today, with all that the home holds, whatever day is asked about.
    pub fn now(&self) -> Day {
        Day { on: self.today(), asked: false }
    }

    fn today(&self) -> NaiveDate {
        Utc::now().with_timezone(&self.zone.value).date_naive()
    }

    /// The home's database, made again where it has to be; `None` where there is no home yet.
    pub async fn store(&self) -> Result<Option<Store>, Error> {
        if !self.home.is_there() {
            return Ok(None);
        }
        self.take_what_is_left().await;
        let store = self.home.open()?.store(PATIENCE).await?;
        if let Some(why) = store.made_again() {
            anstream::eprintln!("note: the database was made again, as {why}");
            self.fold().await?;
        }
        if store.is_behind() {
            anstream::eprintln!("note: another process is writing; what it adds is not in this answer yet");
        }
        Ok(Some(store))
    }

    /// Keeps the matters of a database that was made again.
    async fn fold(&self) -> Result<(), Error> {
        let mut writer = self.home.open()?.writer(PATIENCE).await?;
        folded::keep(&mut writer).await?;
        Ok(writer.finish().await?)
    }

    /// Takes recordings that a crash left. One that cannot be taken now stays where it is, and is told of.
    async fn take_what_is_left(&self) {
        if !is_left(&self.home.path) {
            return;
        }
        let taken = match self.home.open() {
            Ok(home) => adopt(&home, PATIENCE).await,
            Err(error) => Err(error),
        };
        match taken {
            Ok(taken) => {
                for one in taken {
                    anstream::eprintln!(
                        "note: took what a recording left when it was cut short: {}",
                        one.name
                    );
                }
            }
            Err(error) => {
                anstream::eprintln!("note: a recording that was cut short is not taken yet: {error}")
            }
        }
    }

    /// All that the home's notes and its skipper say; empty where there is no home yet.
    pub async fn boat(&self) -> Result<Boat, Error> {
        Self::boat_of(self.store().await?.as_ref()).await
    }

    /// As [`Context::boat`], of a database that is open already.
    pub async fn boat_of(store: Option<&Store>) -> Result<Boat, Error> {
        match store {
            Some(store) => Boat::read(store).await,
            None => Ok(Boat::default()),
        }
    }

    /// The boat's instruments beside her notes.
    pub async fn panel<'a>(&self, store: &'a Store) -> Result<Panel<'a>, Error> {
        Panel::open(store, self.zone.value).await
    }

    /// Keeps a decision.
    pub async fn decide(&self, decision: Decision) -> Result<(), Error> {
        keep(&self.home.open()?, None, decision, PATIENCE).await?;
        self.keep_fresh().await;
        Ok(())
    }

    /// Makes the home's `open.html` anew after a change. One that cannot be made is told of, and stops nothing.
    pub async fn keep_fresh(&self) {
        let made = Utc::now().with_timezone(&self.zone.value).fixed_offset();
        let done = async {
            let home = self.home.open()?;
            fresh::after_change(&home, PATIENCE, self.now(), self.zone.value, made).await
        };
        if let Err(error) = done.await {
            anstream::eprintln!("note: {} is not of this change: {}", fresh::FILE, error.message);
        }
    }

    /// The source that a person means by a file's name, a path or the beginning of a hash.
    pub async fn source(&self, name: &str) -> Result<SourceId, Error> {
        match self.store().await? {
            Some(store) => Ok(store.find_source(name).await?.source),
            None => Err(Error::wrong_use(format!("there is no source \"{name}\": the home is empty"))),
        }
    }

    /// What a file says, in the light of the boat's other notes, with the skipper's word on what was found in it where
    /// it is a source here.
    pub async fn note(&self, path: &Path, bytes: &[u8], store: Option<&Store>) -> Result<Note, Error> {
        let mut note = leadsman_ingest::read(bytes, &self.hints(path, store).await?);
        if let Some(store) = store {
            store.correct(bytes, &mut note);
        }
        Ok(note)
    }

    /// What is known of a file from outside its bytes: from the disk, the command line, and the boat's other notes.
    pub async fn hints(&self, path: &Path, store: Option<&Store>) -> Result<Hints, Error> {
        let modified = std::fs::metadata(path).and_then(|m| m.modified()).ok().map(DateTime::<Utc>::from);
        let mut hints = Hints {
            name: path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned()),
            zone: Some((self.zone.value, self.zone.from.clone())),
            modified,
            ..Hints::default()
        };
        if let Some(store) = store {
            store.learned().await?.fill(&mut hints);
            hints.taught = store.taught();
            hints.columns = store.columns();
        }
        Ok(hints)
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

/// The day asked about: a reader of one argument is told nothing of the others.
static ASKED: OnceLock<NaiveDate> = OnceLock::new();

/// Sees the days in the arguments from the one that `--on` names among them. One that does not read is told of when the
/// arguments are read.
pub fn see_from(arguments: &[OsString]) {
    let mut words = arguments.iter().filter_map(|word| word.to_str()).take_while(|word| *word != "--");
    while let Some(word) = words.next() {
        let day = if word == "--on" { words.next() } else { word.strip_prefix("--on=") };
        if let Some(Ok(day)) = day.map(on) {
            ASKED.set(day).ok();
        }
    }
}

fn seen_from() -> NaiveDate {
    ASKED.get().copied().unwrap_or_else(|| Local::now().date_naive())
}

/// Reads the day to be asked about, seen from this machine's today.
pub fn on(text: &str) -> Result<NaiveDate, String> {
    day_word::passed(text, Local::now().date_naive())
}

/// Reads a day that has passed from the command line: "2026-10-06", "6 Oct", "last friday", "3 weeks ago". It is seen from
/// the day asked about.
pub fn date(text: &str) -> Result<NaiveDate, String> {
    day_word::passed(text, seen_from())
}

/// As [`date`]; of a month, its first day.
pub fn since(text: &str) -> Result<NaiveDate, String> {
    day_word::since(text, seen_from())
}

/// As [`date`]; of a month, its last day.
pub fn until(text: &str) -> Result<NaiveDate, String> {
    day_word::until(text, seen_from())
}

/// Reads how many whole days there are, 1 to `MOST`: "5", "5 days", "2 weeks".
pub fn days<const MOST: u32>(text: &str) -> Result<u32, String> {
    let days: Days = text.parse().map_err(|error: UnitError| error.to_string())?;
    let count = days.in_days();
    if count.fract() == 0.0 && (1.0..=f64::from(MOST)).contains(&count) {
        Ok(count as u32)
    } else {
        Err(format!("expected whole days from 1 to {MOST}, found {days}"))
    }
}

/// Reads a day to come from the command line, as [`day_word::first`] does, seen from the day asked about.
pub fn coming(text: &str) -> Result<NaiveDate, String> {
    day_word::first(text, seen_from())
}

/// As [`coming`], as the last of the days that it may mean.
pub fn coming_until(text: &str) -> Result<NaiveDate, String> {
    day_word::day(text, seen_from())
}
