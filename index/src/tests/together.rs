//! Several processes, several devices.

use std::collections::BTreeSet;

use super::*;

#[tokio::test]
async fn readers_are_not_kept_waiting_by_a_writer() {
    let (_folder, home) = home();
    ingest(&home, two()).await;
    let mut writer = home.writer(SOON).await.unwrap();
    writer.ingest(vec![Dump::bytes("third.txt", b"Water tank full.".to_vec())], |_| {}).await.unwrap();
    // The writer still holds the home.
    let store = home.store(Duration::ZERO).await.unwrap();
    assert_eq!(store.counts().await.unwrap().sources, 3);
    assert!(!home.search(&store, Duration::ZERO).await.unwrap().is_empty());
    let Err(Error::Held { by, .. }) = home.writer(Duration::from_millis(30)).await else {
        panic!("it is held")
    };
    assert!(by.contains("process"), "{by}");
    // A line that came in without the database: the answers lag, and say so.
    let path = home.root().join("decisions").join("other-0000.jsonl");
    fs::write(path, "{\"v\":1,\"id\":\"x\",\"time\":\"2026-03-14T10:05:00Z\",\"device\":\"other-0000\",\"kind\":\"reopen\",\"item\":\"k7m\"}\n").unwrap();
    let store = home.store(Duration::ZERO).await.unwrap();
    assert!(store.is_behind());
    assert_eq!(store.counts().await.unwrap().sources, 3);
    writer.finish().await.unwrap();
    let store = home.store(Duration::ZERO).await.unwrap();
    assert!(store.made_again().is_some() && !store.is_behind());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_writers_take_turns() {
    let (_folder, home) = home();
    let write = async |name: &str| {
        for n in 0..5 {
            let mut writer = home.writer(SOON).await.unwrap();
            let words = format!("{name} {n}: eleven knots over the deck");
            let reports = writer
                .ingest(vec![Dump::bytes(format!("{name}-{n}.txt"), words.into_bytes())], |_| {})
                .await
                .unwrap();
            assert!(matches!(reports[0].outcome, Outcome::Taken { .. }));
            writer.decide(Decision::Reopen { item: name.into() }).await.unwrap();
            writer.finish().await.unwrap();
        }
    };
    tokio::join!(write("port"), write("starboard"));
    let store = home.store(SOON).await.unwrap();
    assert_eq!(store.made_again(), None);
    assert_eq!(store.counts().await.unwrap().sources, 10);
    assert_eq!(store.record().decisions().count(), 10);
    let ids: BTreeSet<_> = store.record().ids().collect();
    assert_eq!(ids.len(), 20);
    assert_eq!(home.check(|_, _| {}).await.unwrap(), []);
}

async fn merge(into: &Home, from: &Home) -> Merged {
    let mut writer = into.writer(SOON).await.unwrap();
    let merged = writer.merge(from).await.unwrap();
    writer.finish().await.unwrap();
    merged
}

/// Three homes on three devices: two notes each, one of them shared by all, and a decision.
async fn three() -> (tempfile::TempDir, Vec<Home>) {
    let folder = tempfile::tempdir().unwrap();
    let mut homes = Vec::new();
    for n in 0..3 {
        let home = Home::open(folder.path().join(n.to_string())).unwrap();
        let own = format!("{SECOND} This one is from device {n}.");
        ingest(
            &home,
            vec![Dump::bytes("shared.txt", FIRST.into()), Dump::bytes("own.txt", own.into_bytes())],
        )
        .await;
        let mut writer = home.writer(SOON).await.unwrap();
        writer.decide(Decision::Note { item: "k7m".into(), text: format!("from {n}") }).await.unwrap();
        writer.finish().await.unwrap();
        homes.push(home);
    }
    (folder, homes)
}

#[tokio::test]
async fn merging_is_a_union_whichever_way() {
    let (folder, homes) = three().await;
    let copy = |n: usize, name: &str| {
        let to = folder.path().join(name);
        copy_folder(homes[n].root(), &to);
        Home::open(to).unwrap()
    };
    // a ∪ b = b ∪ a
    let (ab, ba) = (copy(0, "ab"), copy(1, "ba"));
    let merged = merge(&ab, &homes[1]).await;
    assert_eq!((merged.sources, merged.arrivals, merged.decisions), (1, 2, 1), "{merged:?}");
    merge(&ba, &homes[0]).await;
    assert_eq!(rows(&ab).await, rows(&ba).await);
    // (a ∪ b) ∪ c = a ∪ (b ∪ c)
    let (bc, abc) = (copy(1, "bc"), copy(0, "abc"));
    merge(&bc, &homes[2]).await;
    merge(&abc, &bc).await;
    merge(&ab, &homes[2]).await;
    assert_eq!(rows(&ab).await, rows(&abc).await);
    // Again changes nothing.
    assert_eq!(merge(&ab, &homes[2]).await, Merged::default());
    assert_eq!(rows(&ab).await, rows(&abc).await);
    assert_eq!(ab.check(|_, _| {}).await.unwrap(), []);
    let store = ab.store(SOON).await.unwrap();
    assert_eq!((store.counts().await.unwrap().sources, store.record().decisions().count()), (4, 3));
}

#[tokio::test]
async fn what_one_device_erased_no_merge_brings_back() {
    let (_folder, homes) = three().await;
    let id = SourceId::of(FIRST.as_bytes());
    let mut writer = homes[0].writer(SOON).await.unwrap();
    writer.decide(Decision::Withdraw { source: id, erase: true }).await.unwrap();
    writer.finish().await.unwrap();
    merge(&homes[0], &homes[1]).await;
    assert!(!homes[0].archive().has(&id));
    merge(&homes[1], &homes[0]).await;
    assert!(!homes[1].archive().has(&id));
    assert_eq!(rows(&homes[0]).await, rows(&homes[1]).await);
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy_folder(&entry.path(), &to);
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
}
