//! The process killed at every write, sync, rename and commit in turn, by `LEADSMAN_FAULT`: this test's own program
//! is started again to do the work and die of it.

use std::process::Command;

use super::*;

/// Tells the child which home to work in.
const HOME: &str = "LEADSMAN_TEST_HOME";
/// Tells it which home to bring in.
const OTHER: &str = "LEADSMAN_TEST_OTHER";

/// A source that only the other home has.
const THIRD: &str = "2026-04-02 08:00 Steered her with the rudder locked, sails alone. Pass.\n";

/// Not a test by itself: what the child does. It prints what it is told is done.
#[tokio::test]
#[ignore = "started by the test beside it"]
async fn child() {
    let Some(root) = std::env::var_os(HOME) else { return };
    let home = Home::open(std::path::PathBuf::from(root)).unwrap();
    let mut writer = home.writer(SOON).await.unwrap();
    let tell = |report: &Report| println!("\nsource {}", source(report));
    writer.ingest(two(), tell).await.unwrap();
    let entry = writer.decide(Decision::Reopen { item: "k7m".into() }).await.unwrap();
    println!("decision {}", entry.id);
    let other = Home::open(std::path::PathBuf::from(std::env::var_os(OTHER).unwrap())).unwrap();
    writer.merge(&other).await.unwrap();
    println!("source {}", SourceId::of(THIRD.as_bytes()));
    writer.finish().await.unwrap();
    home.rebuild(SOON).await.unwrap();
    println!("complete");
}

fn run(home: &Home, other: &Home, fault: Option<String>) -> String {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args(["--exact", "tests::killed::child", "--ignored", "--nocapture"])
        .env(HOME, home.root())
        .env(OTHER, other.root());
    match fault {
        Some(fault) => command.env("LEADSMAN_FAULT", fault),
        None => command.env_remove("LEADSMAN_FAULT"),
    };
    String::from_utf8_lossy(&command.output().unwrap().stdout).into_owned()
}

/// As many steps as the work has at the least; all of them together are 200 and more.
const FEWEST: usize = 50;

/// Kills the work at each of its steps in turn, in a home that has a source or none, and does it again to the end.
async fn killed_at_every_step(kind: &str, full: bool) {
    let (_folder, other) = home();
    ingest(&other, vec![Dump::bytes("third.txt", THIRD.into())]).await;
    let mut killed = 0;
    for at in 1.. {
        let (_folder, home) = home();
        if full {
            ingest(&home, vec![Dump::bytes("second.txt", SECOND.into())]).await;
        }
        let said = run(&home, &other, Some(format!("{kind}:{at}")));
        if said.contains("complete") {
            break;
        }
        killed += 1;
        let faults = home.check(|_, _| {}).await.unwrap();
        let faults: Vec<_> = faults.iter().filter(|fault| fault.level == Level::Fault).collect();
        assert!(faults.is_empty(), "{kind} at {at}: {faults:?}");
        let record = home.record().unwrap();
        for line in said.lines() {
            match line.split_once(' ') {
                Some(("source", hash)) => {
                    let id = hash.parse().unwrap();
                    assert!(record.knows(&id), "{kind} at {at}: {hash}");
                    home.archive().read(&id).unwrap();
                }
                Some(("decision", id)) => {
                    assert!(record.decisions().any(|entry| entry.id == id), "{kind} at {at}: {id}");
                }
                _ => {}
            }
        }
        assert!(run(&home, &other, None).contains("complete"), "{kind} at {at}: the same again completes");
        assert_eq!(home.check(|_, _| {}).await.unwrap(), [], "{kind} at {at}");
    }
    assert!(killed >= FEWEST, "the process was killed {killed} times");
}

// Four tests, so that they run side by side.

#[tokio::test]
async fn nothing_acknowledged_is_lost_where_a_home_with_a_source_is_killed() {
    killed_at_every_step("kill", true).await;
}

#[tokio::test]
async fn nothing_acknowledged_is_lost_where_a_write_is_torn_in_a_home_with_a_source() {
    killed_at_every_step("torn", true).await;
}

#[tokio::test]
async fn nothing_acknowledged_is_lost_where_an_empty_home_is_killed() {
    killed_at_every_step("kill", false).await;
}

#[tokio::test]
async fn nothing_acknowledged_is_lost_where_a_write_is_torn_in_an_empty_home() {
    killed_at_every_step("torn", false).await;
}
