//! Whatever is done to a home, a rebuild gives the same rows, and homes merge to the same rows in any order.

use proptest::prelude::*;

use super::*;

const NOTES: [&str; 5] = [
    FIRST,
    SECOND,
    "2026-04-02 08:00 Windlass seized again at twenty metres of chain. Must grease it.\n",
    "2026-04-03 19:30 Heater ran six hours, 0.25 litres an hour at four degrees outside.\n",
    "2026-04-02 08:00 Windlass seized again at thirty metres of chain. Must grease it today.\n",
];

/// One thing that a skipper does.
#[derive(Clone, Debug)]
enum Act {
    Dump(usize),
    /// From a path that other notes come from too, so that one may stand in for another.
    DumpAt(usize, usize),
    Replace(usize, usize),
    Close(usize),
    Withdraw(usize, bool),
    Teach(usize),
    Undo,
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let note = 0..NOTES.len();
    let act = prop_oneof![
        4 => note.clone().prop_map(Act::Dump),
        2 => (note.clone(), 0..2usize).prop_map(|(note, path)| Act::DumpAt(note, path)),
        1 => (note.clone(), note.clone()).prop_map(|(note, old)| Act::Replace(note, old)),
        3 => (0..4usize).prop_map(Act::Close),
        1 => (note, any::<bool>()).prop_map(|(note, erase)| Act::Withdraw(note, erase)),
        1 => (0..2usize).prop_map(Act::Teach),
        2 => Just(Act::Undo),
    ];
    prop::collection::vec(act, 1..14)
}

async fn act(home: &Home, acts: &[Act]) {
    let mut writer = home.writer(SOON).await.unwrap();
    for act in acts {
        let dump = |note: usize| Dump::bytes(format!("{note}.txt"), NOTES[note].into());
        let id = |note: usize| SourceId::of(NOTES[note].as_bytes());
        let done = match act {
            Act::Dump(note) => writer.ingest([dump(*note)], |_| {}).await.map(drop),
            Act::DumpAt(note, path) => {
                let path = Some(format!("/notes/{path}.txt").into());
                writer.ingest([Dump { path, ..dump(*note) }], |_| {}).await.map(drop)
            }
            Act::Replace(note, old) => {
                let replaces = Some(id(*old));
                writer.ingest([Dump { replaces, ..dump(*note) }], |_| {}).await.map(drop)
            }
            Act::Close(item) => {
                let decision = Decision::Close { item: format!("k{item}"), because: "done".into() };
                writer.decide(decision).await.map(drop)
            }
            Act::Withdraw(note, erase) => {
                writer.decide(Decision::Withdraw { source: id(*note), erase: *erase }).await.map(drop)
            }
            Act::Teach(word) => {
                let word = ["Bertha", "windlass"][*word].into();
                writer
                    .decide(Decision::Teach {
                        word,
                        gear: Some("heater".into()),
                        unit: None,
                        quantity: None,
                        outcome: None,
                    })
                    .await
                    .map(drop)
            }
            Act::Undo => writer.undo_last().await.map(drop),
        };
        match done {
            Ok(()) | Err(Error::NoSource { .. } | Error::CannotUndo { .. }) => {}
            Err(e) => panic!("{act:?}: {e}"),
        }
    }
    writer.finish().await.unwrap();
}

async fn merge(into: &Home, from: &Home) {
    let mut writer = into.writer(SOON).await.unwrap();
    writer.merge(from).await.unwrap();
    writer.finish().await.unwrap();
}

fn runtime() -> tokio::runtime::Runtime {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap()
}

proptest! {
    // Each case makes several databases; `PROPTEST_CASES` asks for more of them.
    #![proptest_config(ProptestConfig { max_shrink_iters: 40, ..ProptestConfig::with_cases(cases()) })]

    #[test]
    fn a_rebuild_gives_the_same_rows(acts in acts()) {
        runtime().block_on(async {
            let (_folder, home) = home();
            act(&home, &acts).await;
            let before = rows(&home).await;
            prop_assert_eq!(home.check(|_, _| {}).await.unwrap(), []);
            home.rebuild(SOON).await.unwrap();
            prop_assert_eq!(rows(&home).await, before);
            prop_assert_eq!(home.check(|_, _| {}).await.unwrap(), []);
            Ok(())
        })?;
    }

    #[test]
    fn homes_merge_to_the_same_rows_in_any_order(all in prop::collection::vec(acts(), 3)) {
        runtime().block_on(async {
            let folder = tempfile::tempdir().unwrap();
            let open = |name: String| Home::open(folder.path().join(name)).unwrap();
            let homes: Vec<Home> = (0..3).map(|n| open(n.to_string())).collect();
            for (home, acts) in homes.iter().zip(&all) {
                act(home, acts).await;
            }
            let mut merged = Vec::new();
            for order in [[0, 1, 2], [2, 1, 0], [1, 2, 0]] {
                let home = open(format!("{order:?}"));
                for n in order {
                    merge(&home, &homes[n]).await;
                }
                merge(&home, &homes[order[0]]).await;
                merged.push(rows(&home).await);
            }
            prop_assert_eq!(&merged[0], &merged[1]);
            prop_assert_eq!(&merged[0], &merged[2]);
            Ok(())
        })?;
    }
}

/// What is done to two homes in turn.
#[derive(Clone, Debug)]
enum Turn {
    /// The first takes in the second, or the second the first.
    Merge(bool),
    /// A note's bytes are destroyed in the first home, or in the second, where it is known.
    Erase(usize, bool),
    /// More is done in the first home, or in the second.
    Act(bool, Act),
}

fn turns() -> impl Strategy<Value = Vec<Turn>> {
    let turn = prop_oneof![
        2 => any::<bool>().prop_map(Turn::Merge),
        2 => (0..NOTES.len(), any::<bool>()).prop_map(|(note, first)| Turn::Erase(note, first)),
        1 => (any::<bool>(), (0..NOTES.len()).prop_map(Act::Dump)).prop_map(|(first, act)| Turn::Act(first, act)),
    ];
    prop::collection::vec(turn, 2..7)
}

proptest! {
    #![proptest_config(ProptestConfig { max_shrink_iters: 40, ..ProptestConfig::with_cases(cases()) })]

    /// Whichever side destroys a note's bytes, before or after they meet: no merge brings them back, not from a third
    /// home either that was not there, and both ways give the same.
    #[test]
    fn what_is_erased_on_either_side_stays_so(start in prop::collection::vec(acts(), 2), turns in turns()) {
        runtime().block_on(async {
            let folder = tempfile::tempdir().unwrap();
            let open = |name: &str| Home::open(folder.path().join(name)).unwrap();
            let (first, second, third) = (open("first"), open("second"), open("third"));
            // The third has everything, and hears of nothing.
            act(&third, &(0..NOTES.len()).map(Act::Dump).collect::<Vec<_>>()).await;
            act(&first, &start[0]).await;
            act(&second, &start[1]).await;
            for turn in &turns {
                match turn {
                    Turn::Merge(true) => merge(&first, &second).await,
                    Turn::Merge(false) => merge(&second, &first).await,
                    Turn::Erase(note, of_first) => {
                        act(if *of_first { &first } else { &second }, &[Act::Withdraw(*note, true)]).await;
                    }
                    Turn::Act(of_first, more) => {
                        act(if *of_first { &first } else { &second }, std::slice::from_ref(more)).await;
                    }
                }
            }
            let erased = |home: &Home| -> Vec<SourceId> { home.record().unwrap().erased().copied().collect() };
            let mut gone = erased(&first);
            gone.extend(erased(&second));
            merge(&first, &second).await;
            merge(&second, &first).await;
            prop_assert_eq!(rows(&first).await, rows(&second).await);
            merge(&first, &third).await;
            merge(&second, &third).await;
            merge(&third, &first).await;
            prop_assert_eq!(rows(&first).await, rows(&second).await);
            prop_assert_eq!(rows(&first).await, rows(&third).await);
            for home in [&first, &second, &third] {
                for source in &gone {
                    prop_assert!(!home.archive().has(source), "{source:?} is back");
                }
                prop_assert_eq!(home.check(|_, _| {}).await.unwrap(), []);
            }
            Ok(())
        })?;
    }
}

fn cases() -> u32 {
    std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(8)
}
