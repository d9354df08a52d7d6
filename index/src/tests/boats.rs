//! A rebuild gives the same rows for every boat of the fixtures, after a hundred decisions of all kinds.
//!
//! Seeded at random anew in each run, as the other property tests are; a failure names its boat and its seed.

use leadsman_ingest::matter::whole_name;
use leadsman_ingest::{EventKind, Outcome as Went, Stance};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::*;
use crate::decision::{Mapping, Passage, Place, Rank};

const DECISIONS: usize = 100;

/// A decision of some kind; the numbers choose what it is about among all that there is.
#[derive(Clone, Copy, Debug)]
struct Act {
    kind: u32,
    at: usize,
    other: usize,
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let act =
        (0..KINDS, any::<usize>(), any::<usize>()).prop_map(|(kind, at, other)| Act { kind, at, other });
    prop::collection::vec(act, DECISIONS)
}

/// What there is to decide on.
struct Findings {
    readings: Vec<Place>,
    trials: Vec<Place>,
    items: Vec<Place>,
    sources: Vec<SourceId>,
}

impl Findings {
    async fn of(home: &Home) -> Self {
        let store = home.store(SOON).await.unwrap();
        let mut all =
            Self { readings: Vec::new(), trials: Vec::new(), items: Vec::new(), sources: Vec::new() };
        for Stored { source, note, .. } in store.notes(With::default()).await.unwrap() {
            let place = |span, quote: &str| Place { source, span, quote: quote.to_owned() };
            all.readings.extend(note.readings.iter().map(|r| place(r.span, &r.quote)));
            all.trials.extend(note.trials.iter().map(|t| place(t.span, &t.quote)));
            all.items.extend(note.items.iter().map(|i| place(i.span, &i.quote)));
            all.sources.push(source);
        }
        store.close().await;
        all
    }
}

fn one<T: Clone>(of: &[T], at: usize) -> Option<T> {
    (!of.is_empty()).then(|| of[at % of.len()].clone())
}

const KINDS: u32 = 60;

/// The decision of an act; `None` where there is nothing that it could be about.
fn decision(act: Act, of: &Findings) -> Option<Decision> {
    let Act { kind, at, other } = act;
    let item = || one(&of.items, at).map(|place| whole_name(&place.source.to_string(), place.span));
    let words = || format!("said {}", other % 7);
    let day = || chrono::NaiveDate::from_ymd_opt(2026, 10, 1 + (other % 28) as u32).unwrap();
    let gear = || ["heater", "windlass", "", "cap shroud"][other % 4].to_owned();
    let correct = |of, place, to| Some(Decision::Correct { of, place, to, item: None });
    Some(match kind {
        0..4 => Decision::Close { item: item()?, because: words() },
        4..6 => Decision::Reopen { item: item()? },
        6..8 => Decision::Accept { item: item()?, because: words() },
        8..10 => Decision::PutOff { item: item()?, until: day() },
        10..12 => Decision::Give { item: item()?, to: words() },
        12..14 => Decision::Wait { item: item()?, r#for: words(), due: (other % 2 == 0).then(day) },
        14..16 => {
            Decision::Rank { item: item()?, rank: [Rank::Must, Rank::Should, Rank::CanWait][other % 3] }
        }
        16..18 => Decision::Due { item: item()?, date: day() },
        18..20 => Decision::Add { about: words(), gear: Some(gear()), why: "task".into() },
        20..22 => {
            let with = one(&of.items, other)?;
            Decision::Merge { items: vec![item()?, whole_name(&with.source.to_string(), with.span)] }
        }
        22 => Decision::Split { item: item()?, out: vec![one(&of.items, other)?] },
        23..25 => Decision::Note { item: item()?, text: words() },
        25 => Decision::Confirm { of: Finding::Reading, place: one(&of.readings, at)?, item: None },
        26 => Decision::Confirm { of: Finding::Trial, place: one(&of.trials, at)?, item: None },
        27 => Decision::Confirm { of: Finding::Item, place: one(&of.items, at)?, item: item() },
        28..31 => {
            let value = (other % 50) as f64;
            let to = Correction { low: Some(value), high: Some(value), ..Correction::default() };
            correct(Finding::Reading, one(&of.readings, at)?, to)?
        }
        31 => {
            let stance = Some(Stance::ALL[other % Stance::ALL.len()]);
            let to = Correction { stance, gear: Some(gear()), ..Correction::default() };
            correct(Finding::Reading, one(&of.readings, at)?, to)?
        }
        32 => {
            let at_noon = day().and_hms_opt(12, 0, 0).unwrap().and_utc().fixed_offset();
            let to = Correction { at: Some(at_noon), ..Correction::default() };
            let is_trial = other.is_multiple_of(2);
            let (of, places) =
                if is_trial { (Finding::Trial, &of.trials) } else { (Finding::Reading, &of.readings) };
            correct(of, one(places, at)?, to)?
        }
        33 => {
            let outcome = Some([Went::Pass, Went::Partial, Went::Fail, Went::Unclear][other % 4]);
            correct(Finding::Trial, one(&of.trials, at)?, Correction { outcome, ..Correction::default() })?
        }
        34 => {
            let to = Correction { dismissed: true, ..Correction::default() };
            let (of, places) =
                [(Finding::Reading, &of.readings), (Finding::Trial, &of.trials), (Finding::Item, &of.items)]
                    [other % 3];
            correct(of, one(places, at)?, to)?
        }
        35 => correct(
            Finding::Item,
            one(&of.items, at)?,
            Correction { gear: Some(gear()), ..Correction::default() },
        )?,
        36..38 => Decision::Passage(Passage { departure: Some(day()), crew: Some(2), ..Passage::default() }),
        38..40 => Decision::Ashore(Ashore { route: Some(words()), ..Ashore::default() }),
        40..42 => Decision::Limit {
            quantity: "voltage".into(),
            gear: None,
            low: Some(12.0),
            high: None,
            who: words(),
        },
        42 => Decision::Wire {
            gear: gear(),
            breaking_load_kn: Some(60.0),
            breaking_load_source: None,
            card: Vec::new(),
        },
        43..45 => Decision::Gear {
            gear: gear(),
            what: Some(EventKind::Replaced),
            on: Some(day()),
            part_of: None,
            dismissed: false,
            because: None,
        },
        45..47 => Decision::Proof {
            entry: "heave-to".into(),
            about: None,
            gear: Vec::new(),
            group: None,
            fresh_days: Some(90),
            proved: None,
            dismissed: Some(other % 2 == 0),
            because: Some(words()),
        },
        47 => Decision::Clock { ahead_s: (other % 90) as f64, since: Some(day()), until: None },
        // Every note is read again for these, so they are few.
        48 if other.is_multiple_of(4) => Decision::Teach {
            word: ["Bertha", "the beast"][at % 2].into(),
            gear: Some("heater".into()),
            unit: None,
            quantity: None,
            outcome: None,
        },
        48 if other % 4 == 1 => Decision::Column(Mapping {
            header: "AWS kt".into(),
            quantity: "apparent_wind_speed".into(),
            ..Mapping::default()
        }),
        49 => Decision::Withdraw { source: one(&of.sources, at)?, erase: other.is_multiple_of(6) },
        _ => return None,
    })
}

async fn decide(home: &Home, acts: &[Act]) {
    let of = Findings::of(home).await;
    let mut writer = home.writer(SOON).await.unwrap();
    for act in acts {
        let done = match decision(*act, &of) {
            Some(decision) => writer.decide(decision).await.map(drop),
            None => writer.undo_last().await.map(drop),
        };
        match done {
            Ok(()) | Err(Error::NoSource { .. } | Error::CannotUndo { .. }) => {}
            Err(e) => panic!("{act:?}: {e}"),
        }
    }
    writer.finish().await.unwrap();
}

/// The boats of the fixtures; each half of them is a test, so that both cores have one.
fn boats() -> Vec<std::path::PathBuf> {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/corpus");
    let entries = fs::read_dir(corpus).unwrap().map(|entry| entry.unwrap().path());
    let mut boats: Vec<_> = entries.filter(|path| path.is_dir()).collect();
    boats.sort();
    assert!(boats.len() >= 16, "{boats:?}");
    boats
}

fn notes(boat: &Path) -> Vec<Dump> {
    let mut files: Vec<_> = fs::read_dir(boat).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| !path.to_string_lossy().ends_with(".gold.json"));
    files.sort();
    files.into_iter().map(Dump::file).collect()
}

fn rebuilds_to_the_same_rows(boat: &Path) {
    let seed: [u8; 32] = std::array::from_fn(|_| rand_byte());
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &seed);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let acts = acts().new_tree(&mut runner).unwrap().current();
    let name = boat.file_name().unwrap().to_string_lossy();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let (_folder, home) = home();
        ingest(&home, notes(boat)).await;
        decide(&home, &acts).await;
        let before = rows(&home).await;
        assert!(before.iter().filter(|row| row.starts_with("decision ")).count() >= DECISIONS / 2, "{name}");
        let (_, mut writer) = home.rebuild_and_write(SOON).await.unwrap();
        let in_hand = writer.notes_in_hand().expect("the notes that were just read");
        writer.finish().await.unwrap();
        let store = home.store(SOON).await.unwrap();
        assert_eq!(in_hand, store.notes(With::default()).await.unwrap(), "{name}, seed {seed:?}");
        store.close().await;
        let after = rows(&home).await;
        let differ = before.iter().zip(&after).find(|(before, after)| before != after);
        assert!(differ.is_none() && before.len() == after.len(), "{name}, seed {seed:?}: {differ:?}");
        assert_eq!(home.check(|_, _| {}).await.unwrap(), [], "{name}, seed {seed:?}");
    });
}

fn rand_byte() -> u8 {
    use std::hash::{BuildHasher, RandomState};
    RandomState::new().hash_one(0) as u8
}

#[test]
fn half_of_the_boats_rebuild_to_the_same_rows() {
    boats().iter().step_by(2).for_each(|boat| rebuilds_to_the_same_rows(boat));
}

#[test]
fn the_other_half_rebuild_to_the_same_rows() {
    boats().iter().skip(1).step_by(2).for_each(|boat| rebuilds_to_the_same_rows(boat));
}
