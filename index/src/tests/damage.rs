//! Crashes, full disks, lost permissions and flipped bytes.

use super::*;
use crate::disk::fault;

/// What the check says, worst first; remarks only where asked.
async fn faults(home: &Home, level: Level) -> Vec<String> {
    let faults = home.check(|_, _| {}).await.unwrap();
    faults
        .iter()
        .filter(|f| f.level >= level)
        .map(|f| format!("{}: {} ({})", f.place.display(), f.what, f.advice))
        .collect()
}

async fn full_home() -> (tempfile::TempDir, Home) {
    let (folder, home) = home();
    ingest(&home, two()).await;
    let mut writer = home.writer(SOON).await.unwrap();
    for about in ["spare belt", "second torch"] {
        writer.decide(Decision::Add { about: about.into(), gear: None, why: "task".into() }).await.unwrap();
    }
    writer.finish().await.unwrap();
    (folder, home)
}

fn file(home: &Home, folder: &str) -> std::path::PathBuf {
    home.root().join(folder).join(format!("{}.jsonl", home.device().unwrap()))
}

#[tokio::test]
async fn a_whole_home_has_no_faults() {
    let (_folder, home) = home();
    assert_eq!(faults(&home, Level::Fault).await, Vec::<String>::new());
    let (_folder, home) = full_home().await;
    assert_eq!(faults(&home, Level::Remark).await, Vec::<String>::new());
}

#[tokio::test]
async fn a_torn_last_line_loses_no_other() {
    let (_folder, home) = full_home().await;
    let path = file(&home, "decisions");
    let whole = fs::read_to_string(&path).unwrap();
    fs::write(&path, format!("{whole}{{\"v\":1,\"id\":\"2026")).unwrap();
    let record = home.record().unwrap();
    assert_eq!(record.decisions().count(), 2);
    assert!(record.bad_lines()[0].torn);
    assert_eq!(faults(&home, Level::Fault).await, Vec::<String>::new(), "it was never acknowledged");
    assert_eq!(faults(&home, Level::Remark).await.len(), 1);
    let mut writer = home.writer(SOON).await.unwrap();
    assert_eq!(writer.made_again(), None);
    writer.decide(Decision::Reopen { item: "k7m".into() }).await.unwrap();
    writer.finish().await.unwrap();
    assert!(fs::read_to_string(&path).unwrap().starts_with(&whole), "earlier lines stay as they are");
    assert_eq!(fs::read_to_string(path.with_extension("torn")).unwrap(), "{\"v\":1,\"id\":\"2026\n");
    assert_eq!(home.record().unwrap().decisions().count(), 3);
    assert_eq!(faults(&home, Level::Remark).await, Vec::<String>::new());
}

#[tokio::test]
async fn a_last_line_without_its_end_is_whole() {
    let (_folder, home) = full_home().await;
    let path = file(&home, "decisions");
    let whole = fs::read_to_string(&path).unwrap();
    fs::write(&path, whole.trim_end()).unwrap();
    let mut writer = home.writer(SOON).await.unwrap();
    writer.decide(Decision::Reopen { item: "k7m".into() }).await.unwrap();
    writer.finish().await.unwrap();
    assert!(fs::read_to_string(&path).unwrap().starts_with(&whole));
    assert_eq!(home.record().unwrap().decisions().count(), 3);
    assert!(!path.with_extension("torn").exists());
}

#[tokio::test]
async fn a_shortened_decisions_file_is_named_and_mended() {
    let (_folder, home) = full_home().await;
    let before = rows(&home).await;
    let path = file(&home, "decisions");
    let whole = fs::read(&path).unwrap();
    for length in [whole.len() - 9, 5, 0] {
        fs::write(&path, &whole[..length]).unwrap();
        let found = faults(&home, Level::Fault).await;
        assert!(found.iter().any(|f| f.contains("decisions") && f.contains("is gone")), "{found:?}");
        let rebuilt = home.rebuild(SOON).await.unwrap();
        assert!(rebuilt.restored > 0);
        assert_eq!(faults(&home, Level::Fault).await, Vec::<String>::new());
        assert_eq!(rows(&home).await, before);
    }
    // A deleted file is mended by whatever command comes first.
    fs::remove_file(&path).unwrap();
    home.store(SOON).await.unwrap().close().await;
    assert_eq!(home.record().unwrap().decisions().count(), 2);
    assert_eq!(rows(&home).await, before);
}

#[tokio::test]
async fn a_line_in_the_middle_that_is_damaged_is_named() {
    let (_folder, home) = full_home().await;
    let path = file(&home, "decisions");
    let text = fs::read_to_string(&path).unwrap().replacen("\"kind\":\"add\"", "\"kind\":\"adds\"", 1);
    fs::write(&path, &text).unwrap();
    let found = faults(&home, Level::Fault).await;
    assert!(
        found.iter().any(|f| f.contains("line 1: expected a decision") && f.contains("adds")),
        "{found:?}"
    );
    let newer = text.replacen("\"v\":1", "\"v\":9", 1);
    fs::write(&path, newer).unwrap();
    let found = faults(&home, Level::Fault).await;
    assert!(found.iter().any(|f| f.contains("version 9, written by a newer program")), "{found:?}");
}

#[tokio::test]
async fn a_flipped_byte_in_a_source_is_named_and_mended_by_the_file() {
    let (_folder, home) = full_home().await;
    let id = SourceId::of(FIRST.as_bytes());
    let path = home.archive().path(&id);
    let mut packed = fs::read(&path).unwrap();
    let middle = packed.len() / 2;
    packed[middle] ^= 1;
    disk::remove(&path).unwrap();
    fs::write(&path, &packed).unwrap();
    let found = faults(&home, Level::Fault).await;
    assert!(found.len() == 1 && found[0].contains(&id.to_string()), "{found:?}");
    // A rebuild says so plainly and goes on with the rest.
    let rebuilt = home.rebuild(SOON).await.unwrap();
    assert_eq!((rebuilt.sources, rebuilt.unread.len()), (1, 1));
    let store = home.store(SOON).await.unwrap();
    assert_eq!(store.find_source("first.txt").await.unwrap().state, SourceState::Missing);
    // The file itself, ingested anew, brings it back.
    ingest(&home, two()).await;
    let store = home.store(SOON).await.unwrap();
    assert_eq!(store.find_source("first.txt").await.unwrap().state, SourceState::Live);
    assert_eq!(faults(&home, Level::Fault).await, Vec::<String>::new());
}

#[tokio::test]
async fn a_damaged_or_foreign_database_is_named_and_made_again() {
    let (_folder, home) = full_home().await;
    let before = rows(&home).await;
    let spoil = async |sql: &'static str| {
        let mut conn = store::options(&home.database()).foreign_keys(false).connect().await.unwrap();
        sqlx::raw_sql(sql).execute(&mut conn).await.unwrap();
        sqlx::Connection::close(conn).await.unwrap();
    };
    for (sql, named) in [
        ("UPDATE meta SET value = 'newer' WHERE key = 'maker'", "another version"),
        ("DELETE FROM source WHERE name = 'first.txt'", "points to a row of source"),
        ("UPDATE utterance SET end_byte = 100000 WHERE n = 0", "stands at bytes"),
        ("UPDATE source SET state = 'replaced'", "expected \"live\""),
        ("UPDATE utterance SET text = 'otherwise'", "differs from the database"),
    ] {
        spoil(sql).await;
        let found = faults(&home, Level::Fault).await;
        assert!(found.iter().any(|f| f.contains(named) && f.contains("rebuild")), "{sql}: {found:?}");
        home.rebuild(SOON).await.unwrap();
        assert_eq!(faults(&home, Level::Remark).await, Vec::<String>::new(), "{sql}");
        assert_eq!(rows(&home).await, before, "{sql}");
    }
    // No database at all, and one that is none.
    fs::write(home.database(), "not a database, not at all".repeat(500)).unwrap();
    let found = faults(&home, Level::Fault).await;
    assert!(found.iter().any(|f| f.contains("could not be read")), "{found:?}");
    home.store(SOON).await.unwrap().close().await;
    assert_eq!(rows(&home).await, before);
}

#[tokio::test]
async fn a_damaged_search_index_is_named_and_made_again() {
    let (_folder, home) = full_home().await;
    let largest = fs::read_dir(home.search_folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e != "json" && e != "lock"))
        .max_by_key(|path| fs::metadata(path).unwrap().len())
        .unwrap();
    let mut bytes = fs::read(&largest).unwrap();
    bytes[10] ^= 255;
    fs::write(&largest, bytes).unwrap();
    let found = faults(&home, Level::Fault).await;
    assert!(!found.is_empty() && found.iter().all(|f| f.contains("search")), "{found:?}");
    home.rebuild(SOON).await.unwrap();
    assert_eq!(faults(&home, Level::Remark).await, Vec::<String>::new());
}

#[tokio::test]
async fn an_erased_source_is_gone_for_good() {
    let (_folder, home) = full_home().await;
    let id = SourceId::of(FIRST.as_bytes());
    let mut writer = home.writer(SOON).await.unwrap();
    let erased = writer.decide(Decision::Withdraw { source: id, erase: true }).await.unwrap();
    assert!(matches!(
        writer.decide(Decision::Undo { decision: erased.id }).await,
        Err(Error::CannotUndo { .. })
    ));
    let again = writer.ingest(vec![Dump::bytes("again.txt", FIRST.into())], |_| {}).await.unwrap();
    assert!(matches!(again[0].outcome, Outcome::Refused { error: Error::Withdrawn { erased: true, .. } }));
    writer.finish().await.unwrap();
    assert!(!home.archive().has(&id));
    assert_eq!(faults(&home, Level::Remark).await, Vec::<String>::new());
    let before = rows(&home).await;
    assert!(!before.iter().any(|row| row.contains("drogue")), "no word of it is left");
    home.rebuild(SOON).await.unwrap();
    assert_eq!(rows(&home).await, before);
}

/// A second source and a decision, each noted when it is acknowledged.
async fn work(home: &Home) -> Result<(Vec<SourceId>, Vec<String>), (Vec<SourceId>, Vec<String>, Error)> {
    let (mut sources, mut decisions) = (Vec::new(), Vec::new());
    let mut writer = match home.writer(SOON).await {
        Ok(writer) => writer,
        Err(e) => return Err((sources, decisions, e)),
    };
    for report in writer.ingest(two(), |_| {}).await.unwrap() {
        match report.outcome {
            Outcome::Refused { error } => return Err((sources, decisions, error)),
            _ => sources.push(source(&report)),
        }
    }
    match writer.decide(Decision::Reopen { item: "k7m".into() }).await {
        Ok(entry) => decisions.push(entry.id),
        Err(e) => return Err((sources, decisions, e)),
    }
    match writer.finish().await {
        Ok(()) => Ok((sources, decisions)),
        Err(e) => Err((sources, decisions, e)),
    }
}

#[tokio::test]
async fn whatever_fails_nothing_acknowledged_is_lost() {
    for kind in [fault::Kind::Full, fault::Kind::Denied, fault::Kind::Fail] {
        let mut failed = 0;
        for at in 1.. {
            let (_folder, home) = home();
            ingest(&home, vec![Dump::bytes("second.txt", SECOND.into())]).await;
            fault::set(home.root(), at, kind);
            let done = work(&home).await;
            if fault::clear(home.root()) < at {
                done.map_err(|(_, _, e)| e).unwrap();
                break;
            }
            let (sources, decisions) = match done {
                Ok(done) => done,
                Err((sources, decisions, error)) => {
                    failed += 1;
                    let said = error.to_string();
                    assert!(said.contains("testing") && said.contains("could not"), "{said}");
                    assert_eq!(error.is_disk_full(), kind == fault::Kind::Full, "{said}");
                    (sources, decisions)
                }
            };
            assert_eq!(faults(&home, Level::Fault).await, Vec::<String>::new(), "{kind:?} at {at}");
            let record = home.record().unwrap();
            for source in sources {
                assert!(record.knows(&source), "{kind:?} at {at}");
                home.archive().read(&source).unwrap();
            }
            for id in decisions {
                assert!(record.decisions().any(|entry| entry.id == id), "{kind:?} at {at}");
            }
            // The same again, with nothing in the way, completes.
            work(&home).await.map_err(|(_, _, e)| e).unwrap();
            assert_eq!(faults(&home, Level::Fault).await, Vec::<String>::new(), "{kind:?} at {at}");
            let store = home.store(SOON).await.unwrap();
            assert_eq!(store.counts().await.unwrap().sources, 2);
            let search = home.search(&store, SOON).await.unwrap();
            assert_eq!(search::keep::compare(&store, &search).await.unwrap(), Vec::<String>::new());
        }
        assert!(failed > 10, "the faults were met: {failed}");
    }
}
