//! The demo, and the commands of the README.

use crate::boat::{Boat, repository, text};

#[test]
fn the_demo_walks_to_its_end() {
    let boat = Boat::new();
    let home = text(&boat.path("demo"));
    let ran = boat.run(&["demo", "--home", &home]).ends(0);
    for words in [
        "$ leadsman ingest quillback",
        "10 sources taken",
        "4 days",
        "open, most pressing first",
        "$ leadsman find",
        "$ leadsman trend",
        "^^^",
    ] {
        assert!(ran.out.contains(words), "no \"{words}\" in {}", ran.out);
    }
    // Every line fits a page, and nothing of it is for a terminal only.
    let longest =
        ran.out.lines().filter(|line| !line.starts_with('$')).map(|line| line.chars().count()).max();
    assert!(longest <= Some(100), "a line of {longest:?} columns");
    assert!(!ran.out.contains('\u{1b}'));
    // Its own home may be walked through again; another boat's is left alone.
    boat.run(&["demo", "--home", &home]).ends(0);
    let note = text(&boat.write("in/mine.txt", "2026-03-14 10:05\nWind fifteen knots.\n"));
    boat.run(&["ingest", &note]).ends(0);
    let ran = boat.run(&["demo", "--home", &text(&boat.home())]).ends(2);
    assert!(ran.err.contains("notes of another boat"), "{}", ran.err);
    assert_eq!(boat.run(&["open", "--json"]).ends(0).json()["notes"], 1);
}

/// A home that is only in the environment is the skipper's own: the demo does not touch it.
#[test]
fn the_demo_leaves_the_skippers_home_alone() {
    let boat = Boat::new();
    let ran = boat.command(&["demo"]).env("TMPDIR", boat.path("")).output().expect("the program starts");
    assert!(ran.status.success());
    assert!(!boat.home().exists());
}

/// Every `$ leadsman …` line of the README works on the demo's home.
#[test]
fn the_commands_of_the_readme_work() {
    let boat = Boat::new();
    let home = text(&boat.home());
    let readme = std::fs::read_to_string(repository().join("README.md")).expect("the README");
    boat.run(&["demo", "--home", &home]).ends(0);
    let mut ran = 0;
    // Names of items are the home's own: ITEM stands for the first that is there.
    let open = boat.run(&["open", "--json"]).ends(0).json();
    let item = open["open"][0]["name"].as_str().expect("an item").to_owned();
    for line in readme.lines().filter_map(|line| line.strip_prefix("$ leadsman ")) {
        let words: Vec<String> =
            split(line).into_iter().map(|word| if word == "ITEM" { item.clone() } else { word }).collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let mut command = boat.command(&words);
        command.current_dir(repository().join("fixtures/corpus"));
        let output = command.output().expect("the program starts");
        assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
        ran += 1;
    }
    assert!(ran >= 6, "{ran} commands in the README");
}

/// Every command that there is stands in the README.
#[test]
fn the_readme_names_every_command() {
    let readme = std::fs::read_to_string(repository().join("README.md")).expect("the README");
    let help = Boat::new().run(&["--help"]).ends(0).out;
    let commands =
        help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let mut seen = 0;
    for command in commands.filter(|line| line.starts_with("  ") && !line.starts_with("   ")) {
        let name = command.split_whitespace().next().expect("a name");
        assert!(readme.contains(&format!("`{name}")), "the README does not name `{name}`");
        assert!(crate::COMMANDS.contains(&name), "the help of {name} is no snapshot");
        seen += 1;
    }
    assert_eq!(seen, crate::COMMANDS.len());
}

/// Words of a command line, parted as a shell parts them.
fn split(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = None;
    for sign in line.trim().chars() {
        match (quoted, sign) {
            (Some(quote), sign) if quote == sign => quoted = None,
            (None, '"' | '\'') => quoted = Some(sign),
            (None, ' ') => words.push(String::new()),
            (_, sign) => words.last_mut().expect("never empty").push(sign),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}
