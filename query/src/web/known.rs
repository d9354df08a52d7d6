//! What a home answers, kept until something in it changes: every screen is made from it.

use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant, SystemTime};

use axum::body::Bytes;
use leadsman_index::{Asked, Home, Search, SourceId, Store, StoredReading};
use leadsman_ingest::Span;
use leadsman_ingest::matter::Noted;
use maud::{Markup, html};
use tokio::sync::OnceCell;
use tokio::task::spawn_blocking;

use super::frame::{Look, words_at};
use super::page::Setting;
use super::sound::button;
use crate::announced::{Announced, announced};
use crate::boat::{Boat, Day};
use crate::envelope::{Envelopes, Gap};
use crate::error::Error;
use crate::folded;
use crate::instruments::{Measured, Panel};
use crate::open_item::OpenList;
use crate::proved::ProvedList;
use crate::reckon::budget::{self, Short};
use crate::words::shortened;

/// How long an answer is good for that another process is just adding to.
const WHILE_BEHIND: Duration = Duration::from_secs(1);

/// First screens that are kept; four lights of some devices.
const MOST_FIRST: usize = 64;

/// What a home's record looks like from outside: the names, sizes and times of its files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp(Vec<(String, u64, Option<SystemTime>)>);

impl Stamp {
    /// Looks at a home's arrivals and decisions. Both are only ever added to, so a change shows in the size.
    pub fn of(home: &Path) -> Self {
        let mut files = Vec::new();
        for folder in ["arrivals", "decisions"] {
            for entry in std::fs::read_dir(home.join(folder)).into_iter().flatten().flatten() {
                if let Ok(facts) = entry.metadata() {
                    let name = format!("{folder}/{}", entry.file_name().to_string_lossy());
                    files.push((name, facts.len(), facts.modified().ok()));
                }
            }
        }
        files.sort();
        Self(files)
    }
}

/// A home's answers.
pub struct Known {
    /// The day that they are of.
    pub day: Day,
    /// The database; `None` where there is no home yet.
    pub store: Option<Store>,
    /// All notes and rulings.
    pub boat: Boat,
    /// What stands open and what was closed.
    pub list: OpenList,
    /// Readings that may be wrong, latest first.
    pub doubts: Vec<StoredReading>,
    /// How many trials only the model hears of.
    pub unsure_trials: usize,
    /// What must be proved, and how it stands.
    pub proved: ProvedList,
    /// Needs of gear that no trial covers.
    pub gaps: Vec<Gap>,
    /// Trials announced that no note reports.
    pub announced: Vec<Announced>,
    /// The names of the doubtful readings, by their places.
    pub doubt_names: HashMap<(SourceId, Span), String>,
    /// What the instruments had when readings were said that they contradict, by their places.
    pub contradicted: HashMap<(SourceId, Span), Measured>,
    /// The sources, by their SHA-256, whose words were heard in a recording.
    pub heard: HashSet<String>,
    /// What the passage is short of.
    pub short: Vec<Short>,
    /// Why that is not known, where it is not.
    pub short_unknown: Option<String>,
    /// The first screen as it was last made, by light and token: it is asked for more than all others together.
    first: Mutex<HashMap<(&'static str, String), Bytes>>,
    stamp: Stamp,
    until: Option<Instant>,
    search: OnceCell<Search>,
    patience: Duration,
}

impl Known {
    /// Whether it still is what the home answers.
    pub fn is_fresh(&self, stamp: &Stamp, day: Day) -> bool {
        self.day == day && self.stamp == *stamp && self.until.is_none_or(|until| Instant::now() < until)
    }

    /// Reads a home. Errors: it cannot be read.
    pub async fn make(setting: &Setting, day: Day) -> Result<Self, Error> {
        // Taken first: what is added while the home is read makes the answers stale, not wrong.
        let stamp = Stamp::of(&setting.home);
        let store = if setting.home.join("arrivals").is_dir() {
            let home = Home::open(&setting.home)?;
            let store = home.store(setting.patience).await?;
            if store.made_again().is_some() {
                // A database made anew has no matters yet, by which the search index tells what stands open.
                let mut writer = home.writer(setting.patience).await?;
                folded::keep(&mut writer).await?;
                writer.finish().await?;
            }
            Some(store)
        } else {
            None
        };
        let boat = match &store {
            Some(store) => Boat::read(store).await?,
            None => Boat::default(),
        };
        // The fold of years of notes takes a core for a while, which the other requests need not wait for.
        let folded = spawn_blocking(move || {
            let list = boat.open_list(day, None);
            let proved = ProvedList::new(&boat, day, None);
            let (envelopes, announced) = (Envelopes::new(&boat, day), announced(&boat, day));
            (boat, list, proved, envelopes, announced)
        });
        let (boat, list, proved, mut envelopes, announced) =
            folded.await.map_err(|error| Error::home("the notes could not be folded").because(&error))?;
        let mut known = Self {
            day,
            list,
            doubts: Vec::new(),
            unsure_trials: boat.named_trials().iter().filter(|named| named.trial.judged).count(),
            boat,
            proved,
            gaps: Vec::new(),
            announced,
            doubt_names: HashMap::new(),
            contradicted: HashMap::new(),
            heard: HashSet::new(),
            short: Vec::new(),
            short_unknown: None,
            first: Mutex::default(),
            stamp,
            until: None,
            search: OnceCell::new(),
            patience: setting.patience,
            store: None,
        };
        if let Some(store) = store {
            let mut readings = store.readings(&Asked::default()).await?;
            let panel = Panel::open(&store, setting.zone.value).await?;
            known.contradicted = panel.doubt(&mut readings).await?;
            panel.join(&mut known.list, &known.boat).await?;
            envelopes.measure(&known.boat, day, &panel, None).await?;
            known.gaps = envelopes.gaps();
            known.doubts = readings.into_iter().filter(|s| !s.reading.doubts.is_empty()).rev().collect();
            match budget::short_of(&known.boat, &panel, store.record(), day).await {
                Ok(short) => known.short = short,
                Err(why) => known.short_unknown = Some(why.to_string()),
            }
            // Those that only the instruments doubt have a name too.
            let doubted: HashSet<(SourceId, Span)> =
                known.doubts.iter().map(|stored| (stored.source, stored.reading.span)).collect();
            let named = known.boat.named_readings().into_iter();
            let named = named.map(|named| ((named.source, named.reading.span), named.name));
            known.doubt_names = named.filter(|(place, _)| doubted.contains(place)).collect();
            let heard = known
                .boat
                .sources()
                .filter(|(stored, _)| store.record().recording_of(&stored.source).is_some());
            known.heard = heard.map(|(_, hash)| hash.to_owned()).collect();
            known.until = store.is_behind().then(|| Instant::now() + WHILE_BEHIND);
            known.store = Some(store);
        }
        Ok(known)
    }

    /// How many doubts there are, of readings and of trials.
    pub fn all_doubts(&self) -> usize {
        self.doubts.len() + self.unsure_trials
    }

    /// The first screen, made once for all devices that look at it in the same way.
    pub fn first_screen(&self, look: &Look, make: impl FnOnce() -> String) -> Bytes {
        let key = (look.light, look.token.clone());
        let made = || self.first.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(text) = made().get(&key) {
            return text.clone();
        }
        let text = Bytes::from(make());
        let mut kept = made();
        if kept.len() < MOST_FIRST {
            kept.insert(key, text.clone());
        }
        text
    }

    /// Words of a note by its name, leading to where they stand. Of several notes of one name the one is meant in which
    /// something was found in that place.
    pub fn words(&self, name: &str, span: Option<Span>, words: &str) -> Markup {
        let shown = shortened(words, 240);
        match span.and_then(|span| Some((self.source_of(name, span)?, span))) {
            Some((source, span)) => html! { (words_at(&source, span, words)) (button(self, &source, span)) },
            None => html! { "“" (shown) "”" },
        }
    }

    /// The SHA-256 of the note of a name; of several, of the one in which something was found in that place.
    pub fn source_of(&self, name: &str, span: Span) -> Option<String> {
        let notes = self.boat.noted(self.day);
        let named: Vec<_> = notes.iter().filter(|noted| noted.name == name).collect();
        let has = |noted: &&&Noted<'_>| {
            let note = noted.note;
            let mut spans = note.readings.iter().map(|r| r.span).chain(note.trials.iter().map(|t| t.span));
            spans.any(|found| found == span) || note.items.iter().any(|i| i.span == span)
        };
        named.iter().find(has).or(named.first()).map(|noted| noted.source.to_owned())
    }

    /// The search index, opened when it is first asked.
    pub async fn search(&self) -> Result<Option<(&Store, &Search)>, Error> {
        let Some(store) = &self.store else { return Ok(None) };
        let open = || async { store.home().search(store, self.patience).await };
        Ok(Some((store, self.search.get_or_try_init(open).await?)))
    }
}
