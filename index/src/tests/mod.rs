//! Tests of a whole home: what goes in, what is there after a crash, and that it comes out the same however often
//! it is made again.

mod boats;
mod damage;
mod killed;
mod property;
mod together;

use std::fs;
use std::path::Path;
use std::time::Duration;

use sqlx::{AssertSqlSafe, Column, ConnectOptions, Row, ValueRef};

use crate::*;

pub(crate) const SOON: Duration = Duration::from_secs(5);

pub(crate) const FIRST: &str = "2026-03-14 10:05 Hobart. Fifteen knots from the south west, the heater ran all night \
and drew 0.2 litres an hour.\nTried the drogue off the point: no response at all from the bow. Fail.\n";
pub(crate) const SECOND: &str = "2026-03-21 09:00 Lowers at eighteen percent on the gauge after the sail.\n\
Need to replace the staysail sheet before we go.\n";

pub(crate) fn home() -> (tempfile::TempDir, Home) {
    let folder = tempfile::tempdir().unwrap();
    let home = Home::open(folder.path().join("home")).unwrap();
    (folder, home)
}

pub(crate) async fn ingest(home: &Home, dumps: Vec<Dump>) -> Vec<Report> {
    let mut writer = home.writer(SOON).await.unwrap();
    let reports = writer.ingest(dumps, |_| {}).await.unwrap();
    writer.finish().await.unwrap();
    reports
}

pub(crate) fn two() -> Vec<Dump> {
    vec![Dump::bytes("first.txt", FIRST.into()), Dump::bytes("second.txt", SECOND.into())]
}

/// Every row of every table as text.
pub(crate) async fn rows(home: &Home) -> Vec<String> {
    let mut conn = store::options(&home.database()).connect().await.unwrap();
    let tables: Vec<String> =
        sqlx::query_scalar("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
            .fetch_all(&mut conn)
            .await
            .unwrap();
    let mut all = Vec::new();
    for table in tables {
        let sql = format!("SELECT * FROM {table} ORDER BY 1, 2");
        for row in sqlx::query(AssertSqlSafe(sql)).fetch_all(&mut conn).await.unwrap() {
            let mut text = table.clone();
            for column in row.columns() {
                let n = column.ordinal();
                let value = row.try_get_raw(n).unwrap();
                let shown = if value.is_null() {
                    "NULL".to_owned()
                } else {
                    let bytes = row.try_get_unchecked::<Vec<u8>, _>(n).unwrap();
                    String::from_utf8(bytes).unwrap_or_else(|packed| format!("{:?}", packed.as_bytes()))
                };
                text.push_str(&format!(" {}={shown}", column.name()));
            }
            all.push(text);
        }
    }
    all
}

pub(crate) fn source(report: &Report) -> SourceId {
    match &report.outcome {
        Outcome::Taken { source, .. } | Outcome::AlreadyThere { source, .. } => *source,
        Outcome::Refused { error } => panic!("{}: {error}", report.name),
    }
}

#[tokio::test]
async fn what_was_found_comes_back_as_it_was() {
    let (_folder, home) = home();
    let reports = ingest(&home, two()).await;
    let store = home.store(SOON).await.unwrap();
    assert_eq!(store.made_again(), None);
    for (report, text) in reports.iter().zip([FIRST, SECOND]) {
        let id = source(report);
        let hints = leadsman_ingest::Hints { name: report.name.clone(), ..Default::default() };
        let stored = store.note(&id, With::ALL).await.unwrap().unwrap();
        assert_eq!(stored.note, leadsman_ingest::read(text.as_bytes(), &hints));
        assert_eq!(home.archive().read(&id).unwrap(), text.as_bytes());
    }
    assert_eq!(store.notes(With::ALL).await.unwrap().len(), 2);
    assert_eq!(store.counts().await.unwrap().sources, 2);
}

#[tokio::test]
async fn packed_findings_are_what_the_rows_say() {
    let (_folder, home) = home();
    let boat = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/corpus/quillback");
    let notes = fs::read_dir(boat).unwrap().map(|entry| entry.unwrap().path());
    let notes = notes.filter(|path| path.extension().is_none_or(|kind| kind != "json"));
    let dump = |path: std::path::PathBuf| {
        Dump::bytes(path.file_name().unwrap().to_string_lossy(), fs::read(&path).unwrap())
    };
    ingest(&home, two().into_iter().chain(notes.map(dump)).collect()).await;
    let store = home.store(SOON).await.unwrap();
    let packed = store.notes(With::default()).await.unwrap();
    let mut rows = store.notes(With { reasons: true, utterances: false }).await.unwrap();
    for Stored { note, .. } in &mut rows {
        note.readings.iter_mut().for_each(|reading| reading.because.clear());
        note.trials.iter_mut().for_each(|trial| trial.because.clear());
        note.items.iter_mut().for_each(|item| item.because.clear());
    }
    assert!(packed.iter().map(|stored| stored.note.readings.len()).sum::<usize>() > 50);
    assert_eq!(packed, rows);
}

#[tokio::test]
async fn twice_is_once_row_for_row() {
    let (_folder, home) = home();
    ingest(&home, two()).await;
    let before = rows(&home).await;
    let arrivals = fs::read_dir(home.root().join("arrivals")).unwrap().count();
    for report in ingest(&home, two()).await {
        assert!(matches!(report.outcome, Outcome::AlreadyThere { .. }), "{report:?}");
    }
    assert_eq!(rows(&home).await, before);
    assert_eq!(fs::read_dir(home.root().join("arrivals")).unwrap().count(), arrivals);
}

#[tokio::test]
async fn a_deleted_database_is_made_again_to_the_same_rows() {
    let (_folder, home) = home();
    ingest(&home, two()).await;
    let mut writer = home.writer(SOON).await.unwrap();
    writer
        .decide(Decision::Add { about: "spare belt".into(), gear: None, why: "task".into() })
        .await
        .unwrap();
    writer.undo_last().await.unwrap();
    writer.finish().await.unwrap();
    let before = rows(&home).await;
    fs::remove_file(home.database()).unwrap();
    let store = home.store(SOON).await.unwrap();
    assert_eq!(store.made_again(), Some("there was none yet"));
    store.close().await;
    assert_eq!(rows(&home).await, before);
}

fn edited(path: &Path, text: &str) -> Dump {
    let mut dump = Dump::bytes(path.file_name().unwrap().to_string_lossy(), text.into());
    dump.path = Some(path.to_owned());
    dump
}

#[tokio::test]
async fn a_newer_copy_from_the_same_path_answers_instead() {
    let (folder, home) = home();
    let path = folder.path().join("Recording.txt");
    let old = source(&ingest(&home, vec![edited(&path, FIRST)]).await[0]);
    let newer = FIRST.replace("Fifteen", "Sixteen");
    let report = ingest(&home, vec![edited(&path, &newer)]).await.remove(0);
    assert!(matches!(report.outcome, Outcome::Taken { replaced: Some(id), .. } if id == old), "{report:?}");
    // Other words under the same name are another note.
    let other = ingest(&home, vec![edited(&path, SECOND)]).await.remove(0);
    assert!(matches!(other.outcome, Outcome::Taken { replaced: None, .. }), "{other:?}");
    let store = home.store(SOON).await.unwrap();
    let states: Vec<_> = store.sources().await.unwrap().iter().map(|s| s.state).collect();
    assert_eq!(states, [SourceState::Replaced, SourceState::Live, SourceState::Live]);
    assert_eq!(store.notes(With::default()).await.unwrap().len(), 2);
    assert_eq!(home.archive().read(&old).unwrap(), FIRST.as_bytes());
    // Back to the older copy, by the skipper's word.
    let back = Dump { replaces: Some(source(&report)), ..edited(&path, FIRST) };
    let reports = ingest(&home, vec![back.clone()]).await;
    assert!(matches!(reports[0].outcome, Outcome::Taken { again: true, .. }));
    let reports = ingest(&home, vec![back]).await;
    assert!(matches!(reports[0].outcome, Outcome::AlreadyThere { .. }), "said once is enough: {reports:?}");
    let store = home.store(SOON).await.unwrap();
    let states: Vec<_> = store.sources().await.unwrap().iter().map(|s| s.state).collect();
    assert_eq!(states, [SourceState::Live, SourceState::Replaced, SourceState::Live]);
    let before = rows(&home).await;
    fs::remove_file(home.database()).unwrap();
    home.store(SOON).await.unwrap().close().await;
    assert_eq!(rows(&home).await, before);
}

#[tokio::test]
async fn the_search_index_follows_and_is_made_again() {
    let (_folder, home) = home();
    ingest(&home, two()).await;
    let find = |search: &Search, words: &str| search.find(&Find::new(words).unwrap()).unwrap().hits;
    let store = home.store(SOON).await.unwrap();
    let search = home.search(&store, SOON).await.unwrap();
    assert_eq!(find(&search, "drogue")[0].document.source, SourceId::of(FIRST.as_bytes()));
    let before = search.all().unwrap();
    assert!(!before.is_empty());
    // The same files again change nothing, and a withdrawn source is not found.
    ingest(&home, two()).await;
    assert_eq!(home.search(&store, SOON).await.unwrap().all().unwrap(), before);
    let mut writer = home.writer(SOON).await.unwrap();
    writer.decide(Decision::Withdraw { source: SourceId::of(FIRST.as_bytes()), erase: false }).await.unwrap();
    writer.finish().await.unwrap();
    let search = home.search(&store, SOON).await.unwrap();
    assert_eq!(find(&search, "drogue"), []);
    assert_eq!(search.len(), before.iter().filter(|d| d.source == SourceId::of(SECOND.as_bytes())).count());
    let mut writer = home.writer(SOON).await.unwrap();
    writer.undo_last().await.unwrap().unwrap();
    writer.finish().await.unwrap();
    assert_eq!(home.search(&store, SOON).await.unwrap().all().unwrap(), before);
    // Deleted, or overwritten with something else.
    fs::remove_dir_all(home.search_folder()).unwrap();
    assert_eq!(home.search(&store, SOON).await.unwrap().all().unwrap(), before);
    fs::write(home.search_folder().join("meta.json"), "{}").unwrap();
    let search = home.search(&store, SOON).await.unwrap();
    assert_eq!(search.all().unwrap(), before);
    assert_eq!(search::keep::compare(&store, &search).await.unwrap(), Vec::<String>::new());
}
