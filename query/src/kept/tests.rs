//! What is kept is what would be worked out now, after every note and every decision, on every day.

use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{Days as Count, NaiveDate};
use leadsman_index::{Correction, Decision, Dump, Finding, Home, Passage, Place, Rank, SourceId};
use leadsman_ingest::{EventKind, Outcome};

use super::*;
use crate::beside::Beside;
use crate::folded;
use crate::instruments::Panel;
use crate::reckon::budget::short_of;
use crate::reckon::resample::SplitMix;

const SOON: Duration = Duration::from_secs(5);

fn notes(boat: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/corpus").join(boat);
    let entries = std::fs::read_dir(folder).expect("the boat's folder");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    files.retain(|path| !path.to_string_lossy().ends_with(".gold.json"));
    files.sort();
    files
}

fn home() -> (tempfile::TempDir, Home) {
    let folder = tempfile::tempdir().expect("a folder");
    let home = Home::open(folder.path().join("home")).expect("a home");
    (folder, home)
}

async fn take(home: &Home, files: &[PathBuf]) {
    let mut writer = home.writer(SOON).await.expect("nobody else has it");
    writer.ingest(files.iter().map(Dump::file), |_| {}).await.expect("the notes are taken");
    folded::keep(&mut writer).await.expect("the matters are kept");
    writer.finish().await.expect("the index is written");
}

/// A decision on something that the boat's list or notes have; `None` takes the last one back.
fn decision(boat: &Boat, list: &OpenList, draw: &mut SplitMix) -> Option<Decision> {
    let mut one = |many: usize| draw.below(many.max(1));
    let day = NaiveDate::from_ymd_opt(2026, 1 + one(12) as u32, 1 + one(28) as u32).expect("a date");
    let open =
        list.open.get(one(list.open.len())).map_or_else(|| "b2b2b2b2".to_owned(), |item| item.id.clone());
    let other = list.open.get(one(list.open.len())).map_or_else(|| open.clone(), |item| item.id.clone());
    let closed = list.closed.get(one(list.closed.len())).map_or_else(|| open.clone(), |item| item.id.clone());
    let words = || "so the skipper says".to_owned();
    let noted: Vec<_> = boat.sources().collect();
    let stored = noted.get(one(noted.len())).map(|(stored, _)| *stored)?;
    let place = |source: SourceId, span| Place { source, span, quote: String::new() };
    Some(match one(16) {
        0 | 1 => Decision::Close { item: open, because: words() },
        2 => Decision::Reopen { item: closed },
        3 => Decision::Accept { item: open, because: words() },
        4 => Decision::PutOff { item: open, until: day },
        5 => Decision::Rank { item: open, rank: Rank::Must },
        6 => Decision::Merge { items: vec![open, other] },
        7 => Decision::Add { about: words(), gear: Some("heater".to_owned()), why: "task".to_owned() },
        8 => Decision::Passage(Passage {
            departure: Some(day),
            back: day.checked_add_days(Count::new(150)),
            distance_nmi: Some(1800.0),
            crew: Some(2),
            strongest_wind_kn: Some(45.0),
            ..Passage::default()
        }),
        9 => Decision::Limit {
            quantity: "voltage".to_owned(),
            gear: None,
            low: Some(12.5),
            high: None,
            who: words(),
        },
        10 => Decision::Gear {
            gear: "heater".to_owned(),
            what: Some(EventKind::Replaced),
            on: Some(day),
            part_of: None,
            dismissed: false,
            because: None,
        },
        11 => Decision::Proof {
            entry: "heave-to".to_owned(),
            about: None,
            gear: Vec::new(),
            group: None,
            fresh_days: Some(90),
            proved: Some(day),
            dismissed: None,
            because: Some(words()),
        },
        12 => {
            let trial = stored.note.trials.get(one(stored.note.trials.len()))?;
            let to = Correction { outcome: Some(Outcome::Fail), ..Correction::default() };
            let place = place(stored.source, trial.span);
            Decision::Correct { of: Finding::Trial, place, to, item: None }
        }
        13 => {
            let item = stored.note.items.get(one(stored.note.items.len()))?;
            let to = Correction { dismissed: true, ..Correction::default() };
            Decision::Correct { of: Finding::Item, place: place(stored.source, item.span), to, item: None }
        }
        14 => Decision::Withdraw { source: stored.source, erase: false },
        _ => return None,
    })
}

/// Compares what is kept with what the notes say, on days before and after the last that anything was told of.
async fn is_the_same(home: &Home, what: &str) {
    let store = home.store(SOON).await.expect("the home can be read");
    let boat = Boat::read(&store).await.expect("the notes can be read").unkept();
    let last = boat.last_told().unwrap_or_default().max(boat.last_day().unwrap_or_default());
    let after = |days| last.checked_add_days(Count::new(days)).expect("a date");
    let days = [(0, false), (1, false), (45, false), (400, false), (0, true), (30, true)]
        .map(|(days, asked)| Day { on: after(days), asked });
    let before = Day { on: last.checked_sub_days(Count::new(20)).expect("a date"), asked: true };
    let record = store.record();
    for day in days.into_iter().chain([before]) {
        let what = format!("{what}, asked of {day:?}");
        let list = boat.open_list(day, None);
        let none = Panel::open(&store, chrono_tz::Tz::UTC).await.expect("there are none");
        let opening = Opening {
            short: short_of(&boat, &none, record, day).await.map_err(|error| error.to_string()),
            beside: Beside::new(&boat, day, None, None).await.expect("the home can be read"),
            list,
        };
        let mut register = Register::new(&boat, day);
        register.forget_places();
        let proved = ProvedList::new(&boat, day, None);

        let kept = Kept::answer(&store, day, |kept| kept.opening(record, day, true)).await.expect("it can");
        assert!(kept.is_some() || day.asked, "{what}: nothing is kept for a day that is not asked about");
        let kept = kept.flatten();
        assert!(kept.as_ref().is_none_or(|kept| *kept == opening), "{what}: {kept:#?} is not {opening:#?}");
        let short = Kept::answer(&store, day, |kept| kept.opening(record, day, false)).await.expect("it can");
        if let Some(short) = short.flatten() {
            let mut list = opening.list.clone();
            list.closed.retain(|closed| short.list.closed.contains(closed));
            assert_eq!(short.list.closed.len() + short.list.left_out, opening.list.closed.len(), "{what}");
            assert!(opening.list.closed.iter().all(|c| !c.unconfirmed || list.closed.contains(c)), "{what}");
            list.left_out = short.list.left_out;
            assert_eq!(short.list, list, "{what}");
        }
        let kept = Kept::answer(&store, day, |kept| kept.register(day)).await.expect("it can");
        assert!(kept.is_none_or(|kept| kept == register), "{what}: the register differs");
        let kept = Kept::answer(&store, day, |kept| kept.proved(record, day)).await.expect("it can");
        assert!(kept.is_none_or(|kept| kept == proved), "{what}: the list of proofs differs");
        let kept = Kept::of(&store).await.expect("it can").and_then(|kept| kept.ledger(day));
        assert!(kept.is_none_or(|kept| kept == boat.folded(day, None).0), "{what}: the matters differ");
    }
    let kept = Kept::of(&store).await.expect("it can").expect("nobody writes");
    assert_eq!(kept.differ(&store, &boat).await.expect("it can"), [], "{what}");
    store.close().await;
}

fn stays_the_same(boat: &str) {
    let seed = u64::from(std::process::id()) << 32 | u64::from(boat.len() as u32);
    let mut draw = SplitMix::new(seed);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(async {
        let (_folder, home) = home();
        let files = notes(boat);
        let mut rest = files.as_slice();
        for step in 0..14 {
            let what = format!("{boat}, seed {seed}, step {step}");
            if step % 3 == 0 && !rest.is_empty() {
                let (next, later) = rest.split_at(rest.len().min(3));
                rest = later;
                take(&home, next).await;
            } else {
                let store = home.store(SOON).await.expect("the home can be read");
                let read = Boat::read(&store).await.expect("the notes can be read");
                let on = read.last_day().unwrap_or_default();
                let day = Day { on, asked: false };
                let decided = decision(&read, &read.open_list(day, None), &mut draw);
                store.close().await;
                let mut writer = home.writer(SOON).await.expect("nobody else has it");
                let told = match decided {
                    Some(decision) => writer.decide(decision).await.map(|_| true),
                    None => writer.undo_last().await.map(|last| last.is_some()),
                };
                if told.expect("it is kept") {
                    let store = home.store(Duration::ZERO).await.expect("the home can be read");
                    let stale = Kept::of(&store).await.expect("it can").and_then(|kept| kept.register(day));
                    assert_eq!(stale, None, "{what}: an answer from before the decision");
                    store.close().await;
                }
                folded::keep(&mut writer).await.expect("the matters are kept");
                writer.finish().await.expect("the index is written");
            }
            is_the_same(&home, &what).await;
        }
    });
}

#[test]
fn kept_answers_of_quillback_are_those_of_her_notes() {
    stays_the_same("quillback");
}

#[test]
fn kept_answers_of_marigold_are_those_of_her_notes() {
    stays_the_same("marigold");
}

#[test]
fn kept_answers_of_corncrake_are_those_of_her_notes() {
    stays_the_same("corncrake");
}

#[test]
fn kept_answers_of_saltmarsh_are_those_of_her_notes() {
    stays_the_same("saltmarsh");
}

#[tokio::test]
async fn a_kept_answer_that_is_wrong_is_found() {
    let (_folder, home) = home();
    take(&home, &notes("quillback")).await;
    let store = home.store(SOON).await.expect("the home can be read");
    let boat = Boat::read(&store).await.expect("the notes can be read");
    let kept = Kept::of(&store).await.expect("it can").expect("nobody writes");
    assert_eq!(kept.differ(&store, &boat).await.expect("it can"), []);
    let mut open: OpenPiece = kept.piece().expect("it was kept");
    open.forget_one();
    assert!(kept.keep(&open));
    let faults = kept.differ(&store, &boat).await.expect("it can");
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].0.ends_with("derived/kept/open"));
    store.close().await;
}
