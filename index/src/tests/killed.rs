//! The process killed at every write, sync, rename and commit in turn, by `LEADSMAN_FAULT`: this test's own program
//! is started again to do the work and die of it.

use std::process::Command;

use super::*;

/// Tells the child which home to work in.
const HOME: &str = "LEADSMAN_TEST_HOME";

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
    writer.finish().await.unwrap();
    home.rebuild(SOON).await.unwrap();
    println!("complete");
}

fn run(home: &Home, fault: Option<String>) -> String {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", "tests::killed::child", "--ignored", "--nocapture"]).env(HOME, home.root());
    match fault {
        Some(fault) => command.env("LEADSMAN_FAULT", fault),
        None => command.env_remove("LEADSMAN_FAULT"),
    };
    String::from_utf8_lossy(&command.output().unwrap().stdout).into_owned()
}

#[tokio::test]
async fn whenever_it_is_killed_nothing_acknowledged_is_lost() {
    for kind in ["kill", "torn"] {
        let mut killed = 0;
        for at in 1.. {
            let (_folder, home) = home();
            ingest(&home, vec![Dump::bytes("second.txt", SECOND.into())]).await;
            let said = run(&home, Some(format!("{kind}:{at}")));
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
            assert!(run(&home, None).contains("complete"), "{kind} at {at}: the same again completes");
            assert_eq!(home.check(|_, _| {}).await.unwrap(), [], "{kind} at {at}");
        }
        assert!(killed > 20, "{kind}: the process was killed {killed} times");
    }
}
