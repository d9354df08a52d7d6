//! A home looked over, made again, joined with another, put into one file and brought back.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::boat::{Boat, corpus, text};

/// A home with a boat's notes.
fn filled(boat: &str) -> Boat {
    let home = Boat::new();
    home.run(&["ingest", &text(&corpus(boat))]).ends(0);
    home
}

/// The name of the item that presses most.
fn first_open(boat: &Boat) -> String {
    let open = boat.run(&["open", "--json"]).ends(0).json();
    open["open"][0]["name"].as_str().expect("an item has a name").to_owned()
}

fn any_file(folder: &Path, ending: &str) -> PathBuf {
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .expect("the folder")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.to_string_lossy().ends_with(ending) || path.is_dir())
        .collect();
    files.sort();
    let first = files.into_iter().next().expect("a file");
    if first.is_dir() { any_file(&first, ending) } else { first }
}

#[test]
fn a_question_that_needs_a_home_says_where_it_looked() {
    let boat = Boat::new();
    for command in [&["check"][..], &["rebuild"], &["backup", "x"], &["merge", "nowhere"]] {
        let ran = boat.run(command).ends(2);
        assert!(ran.err.contains("expected a home in"), "{}", ran.err);
    }
    assert!(!boat.path("x").exists());
}

#[test]
fn a_home_made_again_answers_the_same() {
    let boat = filled("marigold");
    let item = first_open(&boat);
    boat.run(&["close", &item, "--because", "done at the pontoon"]).ends(0);
    let asked = ["--on", "2026-12-31", "open", "--all", "--json"];
    let before = boat.run(&asked).ends(0).out;
    boat.run(&["check"]).ends(0);
    boat.run(&["rebuild"]).ends(0);
    assert_eq!(boat.run(&asked).ends(0).out, before);
    assert_eq!(boat.run(&["check", "--json"]).ends(0).json(), serde_json::json!([]));
    fs::remove_dir_all(boat.home().join("derived")).expect("the derived folder");
    assert_eq!(boat.run(&asked).ends(0).out, before);
    boat.run(&["check"]).ends(0);
}

#[test]
fn search_knows_which_items_were_closed() {
    let boat = Boat::new();
    let note = "2026-03-21 09:00 Need to replace the staysail sheet before we go.\n";
    boat.run(&["ingest", &text(&boat.write("one.txt", note))]).ends(0);
    let found = |boat: &Boat| boat.run(&["find", "staysail sheet"]).ends(0).out;
    assert!(found(&boat).contains("item, open"), "{}", found(&boat));
    boat.run(&["close", &first_open(&boat), "--because", "new one rove"]).ends(0);
    assert!(found(&boat).contains("item, closed"), "{}", found(&boat));
    boat.run(&["rebuild"]).ends(0);
    assert!(found(&boat).contains("item, closed"), "{}", found(&boat));
    boat.run(&["check"]).ends(0);
}

#[test]
fn damage_is_named_with_what_to_do() {
    let boat = filled("marigold");
    let source = any_file(&boat.home().join("sources"), ".zst");
    let mut bytes = fs::read(&source).expect("a source");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x10;
    fs::remove_file(&source).expect("a source is write-protected, its folder is not");
    fs::write(&source, bytes).expect("a damaged source");
    let ran = boat.run(&["check"]).ends(4);
    assert!(ran.out.contains("fault:") && ran.out.contains("what to do: "), "{}", ran.out);
    assert!(ran.out.contains("1 fault in a home of"), "{}", ran.out);
    // The file that it came from puts it right.
    boat.run(&["ingest", &text(&corpus("marigold"))]).ends(0);
    boat.run(&["check"]).ends(0);
}

#[test]
fn two_homes_become_one_whichever_way() {
    let (one, other) = (filled("marigold"), filled("saltmarsh"));
    one.run(&["close", &first_open(&one), "--because", "done"]).ends(0);
    let ran = one.run(&["merge", &text(&other.home())]).ends(0);
    assert!(ran.out.starts_with("brought in "), "{}", ran.out);
    other.run(&["merge", &text(&one.home())]).ends(0);
    let asked = ["--on", "2027-12-31", "open", "--all", "--json"];
    assert_eq!(one.run(&asked).ends(0).out, other.run(&asked).ends(0).out);
    let ran = one.run(&["merge", &text(&other.home())]).ends(0);
    assert_eq!(ran.out, "nothing new in the other home\n");
    let ran = one.run(&["merge", &text(&one.home())]).ends(2);
    assert!(ran.err.contains("the other home is this home"), "{}", ran.err);
    one.run(&["check"]).ends(0);
}

#[test]
fn a_backup_is_verified_and_comes_back() {
    let boat = filled("marigold");
    let file = text(&boat.path("boat.backup"));
    boat.run(&["backup", &file]).ends(0);
    let ran = boat.run(&["backup", &file]).ends(2);
    assert!(ran.err.contains("is there already"), "{}", ran.err);
    let ran = boat.run(&["restore", &file]).ends(4);
    assert!(ran.err.contains("a home in use"), "{}", ran.err);
    let elsewhere = text(&boat.path("elsewhere"));
    boat.run(&["--home", &elsewhere, "restore", &file]).ends(0);
    let asked = ["--on", "2026-12-31", "open", "--all", "--json"];
    let there = boat.run(&[&["--home", &elsewhere][..], &asked].concat()).ends(0).out;
    assert_eq!(there, boat.run(&asked).ends(0).out);
    let mut bytes = fs::read(&file).expect("the backup");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&file, bytes).expect("a damaged backup");
    let ran = boat.run(&["backup", "--verify", &file]).ends(4);
    assert!(ran.err.contains("boat.backup"), "{}", ran.err);
}

/// The program killed at moments that nothing in it chose.
#[test]
fn killed_at_any_moment_it_goes_on_from_what_it_acknowledged() {
    let boat = Boat::new();
    let other = filled("saltmarsh");
    let (notes, other) = (text(&corpus("marigold")), text(&other.home()));
    // No seed is needed: the moments only have to be spread, and the machine's own load spreads them further.
    for moment in 0..24_u64 {
        let command = match moment % 3 {
            0 => vec!["ingest", notes.as_str()],
            1 => vec!["rebuild"],
            _ => vec!["merge", other.as_str()],
        };
        let mut child =
            boat.command(&command).stdout(std::process::Stdio::null()).spawn().expect("it starts");
        std::thread::sleep(Duration::from_millis(3 + 17 * moment));
        child.kill().expect("it was started here");
        child.wait().expect("it ends");
        if boat.home().join("arrivals").is_dir() {
            boat.run(&["check"]).ends(0);
        }
    }
    boat.run(&["ingest", &notes]).ends(0);
    boat.run(&["rebuild"]).ends(0);
    boat.run(&["merge", &other]).ends(0);
    boat.run(&["check"]).ends(0);
}
