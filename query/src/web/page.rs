//! What all requests share: the home, who may ask, and the home's answers as they stand.

use std::fmt;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, RwLock};

use chrono::{DateTime, FixedOffset, NaiveDate, Utc};
use chrono_tz::Tz;
use leadsman_index::{Decision, Dump, Home, Report, SourceId, Writer};

use super::known::{Known, Stamp};
use super::limit::Limits;
use super::paired::Paired;
use super::sound::Clips;
use crate::boat::Day;
use crate::decide::{self, Ask};
use crate::error::Error;
use crate::folded;
use crate::report::fresh;
use crate::settings::Sourced;

/// How long changes are waited for that come together.
const TOGETHER: std::time::Duration = std::time::Duration::from_millis(500);

/// What a page is served with.
pub struct Setting {
    /// The home's folder; it need not be there yet.
    pub home: PathBuf,
    /// The zone of notes that name none.
    pub zone: Sourced<Tz>,
    /// The day to answer as on, where one was asked for.
    pub on: Option<NaiveDate>,
    /// Names besides its address that the page may be asked for by.
    pub names: Vec<String>,
    /// Whether a device has to be paired before it is answered.
    pub pairing: bool,
    /// Whether the page is served over TLS.
    pub secure: bool,
    /// How long a home that another process writes to is waited for.
    pub patience: std::time::Duration,
    /// The largest that one upload may be with all its files, in bytes.
    pub largest_upload: u64,
    /// Hears of every request that was refused.
    pub log: Box<dyn Fn(&str) + Send + Sync>,
    /// The clock.
    pub clock: fn() -> DateTime<Utc>,
}

/// The page of one home.
pub struct Page {
    /// What it is served with.
    pub setting: Setting,
    /// The devices that may ask, and the secret behind the anti-forgery tokens.
    pub(super) paired: Paired,
    pub(super) limits: Limits,
    pub(super) clips: Clips,
    now: RwLock<Option<Arc<Known>>>,
    /// Held while the answers are made anew, so that it is done once for all who ask.
    making: tokio::sync::Mutex<()>,
    /// Held while this process writes.
    writing: tokio::sync::Mutex<()>,
    /// Told of every change, for `open.html`.
    changed: tokio::sync::Notify,
    /// Whether `open.html` is of an earlier state than the home.
    stale: AtomicBool,
}

impl fmt::Debug for Page {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Page").field("home", &self.setting.home).finish_non_exhaustive()
    }
}

impl Page {
    /// Makes a home's page ready. Errors: the paired devices cannot be read or written.
    pub fn new(setting: Setting) -> Result<Self, Error> {
        Ok(Self {
            paired: Paired::read(&setting.home)?,
            limits: Limits::default(),
            clips: Clips::default(),
            now: RwLock::default(),
            making: tokio::sync::Mutex::default(),
            writing: tokio::sync::Mutex::default(),
            changed: tokio::sync::Notify::new(),
            stale: AtomicBool::new(false),
            setting,
        })
    }

    /// The day that answers are given for.
    pub fn day(&self) -> Day {
        let today = (self.setting.clock)().with_timezone(&self.setting.zone.value).date_naive();
        Day { on: self.setting.on.unwrap_or(today), asked: self.setting.on.is_some() }
    }

    /// The time aboard.
    pub fn moment(&self) -> DateTime<FixedOffset> {
        (self.setting.clock)().with_timezone(&self.setting.zone.value).fixed_offset()
    }

    /// The pairing code that is good for one device now.
    pub fn code(&self) -> String {
        self.paired.code()
    }

    /// What the home answers now; made anew only after something in it, or the day, has changed.
    pub(super) async fn known(&self) -> Result<Arc<Known>, Error> {
        let day = self.day();
        let fresh = |known: &Arc<Known>| known.is_fresh(&Stamp::of(&self.setting.home), day);
        let now = || self.now.read().ok().and_then(|now| now.clone()).filter(fresh);
        if let Some(known) = now() {
            return Ok(known);
        }
        let _making = self.making.lock().await;
        if let Some(known) = now() {
            return Ok(known);
        }
        let known = Arc::new(Known::make(&self.setting, day).await?);
        if let Ok(mut now) = self.now.write() {
            *now = Some(known.clone());
        }
        Ok(known)
    }

    /// The home's writer, one at a time.
    async fn write<T>(
        &self,
        what: impl AsyncFnOnce(&mut Writer) -> leadsman_index::Result<T>,
    ) -> Result<T, Error> {
        let _writing = self.writing.lock().await;
        let mut writer = Home::open(&self.setting.home)?.writer(self.setting.patience).await?;
        let done = what(&mut writer).await;
        let folded = folded::keep(&mut writer).await;
        // What was written before a failure is brought into the search index all the same.
        let finished = writer.finish().await;
        if let Ok(mut now) = self.now.write() {
            *now = None;
        }
        self.stale.store(true, Ordering::Relaxed);
        self.changed.notify_one();
        let done = done?;
        folded?;
        finished?;
        Ok(done)
    }

    /// Makes `open.html` anew after each change, for as long as the page is served. Changes that come in quick
    /// succession are written once.
    pub(super) async fn keep_fresh(&self) {
        loop {
            self.changed.notified().await;
            tokio::time::sleep(TOGETHER).await;
            self.write_fresh().await;
        }
    }

    /// Makes `open.html` anew now, if something has changed.
    pub(super) async fn write_fresh(&self) {
        if !self.stale.swap(false, Ordering::Relaxed) {
            return;
        }
        let written = async {
            let known = self.known().await?;
            let Some(store) = &known.store else { return Ok(()) };
            // The file is of today, whatever day the page was asked to answer as on.
            let day = Day { asked: false, ..self.day() };
            fresh::write(store, day, self.setting.zone.value, self.moment()).await
        };
        if let Err(error) = written.await {
            (self.setting.log)(&format!("{} is not of the latest change: {}", fresh::FILE, error.message));
        }
    }

    /// Keeps a decision.
    pub(super) async fn decide(&self, decision: Decision) -> Result<(), Error> {
        self.write(async |writer| writer.decide(decision).await.map(drop)).await
    }

    /// Checks what the skipper asks against what the home holds, and keeps it. Errors: wrong use, with the next step.
    pub(super) async fn say(&self, known: &Known, ask: Ask) -> Result<(), Error> {
        let Some(store) = &known.store else {
            return Err(Error::wrong_use("nothing is known yet").hint("take the first note"));
        };
        let today = (self.setting.clock)().with_timezone(&self.setting.zone.value).date_naive();
        let ready = decide::ready(store, &known.boat, Day { on: today, asked: false }, ask).await?;
        self.decide(ready.decision).await
    }

    /// Takes dumps; each report tells what became of one.
    pub(super) async fn ingest(&self, mut dumps: Vec<Dump>) -> Result<Vec<Report>, Error> {
        for dump in &mut dumps {
            dump.hints.zone = Some((self.setting.zone.value, self.setting.zone.from.clone()));
        }
        self.write(async |writer| writer.ingest(dumps, |_| {}).await).await
    }

    /// The bytes of a source. Errors: they are not there.
    pub(super) async fn bytes(&self, source: SourceId) -> Result<Vec<u8>, Error> {
        let archive = Home::open(&self.setting.home)?.archive();
        let read = tokio::task::spawn_blocking(move || archive.read(&source));
        Ok(read.await.map_err(|error| Error::home("a source could not be read").because(&error))??)
    }
}
