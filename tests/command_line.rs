//! Wrong use, help, and how the program behaves in a pipe.

use std::io::Read;
use std::process::Stdio;

use crate::boat::{Boat, notes};

#[test]
fn wrong_use_ends_with_2_and_says_what_to_do() {
    let boat = Boat::new();
    let ran = boat.run(&["previw", "x"]).ends(2);
    assert!(ran.err.contains("preview"), "{}", ran.err);
    let ran = boat.run(&["--on", "soon", "preview", "x"]).ends(2);
    assert!(ran.err.contains("expected a day like 2026-10-06"), "{}", ran.err);
    let ran = boat.run(&["--zone", "hobart", "preview", "x"]).ends(2);
    assert!(ran.err.contains("did you mean \"Australia/Hobart\"?"), "{}", ran.err);
    assert!(ran.out.is_empty());
    boat.run(&[]).ends(2);
}

#[test]
fn wrong_settings_are_named_with_their_line() {
    let boat = Boat::new();
    boat.write("home/settings.toml", "# zone\nzoen = \"UTC\"\n");
    let ran = boat.run(&["preview", "x"]).ends(2);
    assert!(ran.err.contains("settings.toml:2: unknown field `zoen`"), "{}", ran.err);
}

#[test]
fn a_missing_file_ends_with_3() {
    let boat = Boat::new();
    for command in ["preview", "explain", "ingest"] {
        let ran = boat.run(&[command, "/dev/zero"]).ends(3);
        assert!(format!("{}{}", ran.out, ran.err).contains("found a device"), "{} {}", ran.out, ran.err);
    }
    for command in ["preview", "explain"] {
        let ran = boat.run(&[command, "nothing-here.txt"]).ends(3);
        assert!(ran.err.contains("nothing-here.txt"), "{}", ran.err);
    }
}

#[test]
fn a_pipe_gets_plain_text() {
    let boat = Boat::new();
    let ran = boat.run(&["preview", &notes("quillback")[0]]).ends(0);
    assert!(!ran.out.contains('\u{1b}'), "{}", ran.out);
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let boat = Boat::new();
    let mut command = boat.command(&["preview", &notes("quillback")[0], "--json"]);
    let mut child =
        command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program starts");
    // The pipe is closed before the program has written all that it has to say.
    drop(child.stdout.take());
    let mut said = String::new();
    child.stderr.take().expect("a pipe").read_to_string(&mut said).expect("plain text");
    assert!(child.wait().expect("the program ends").success(), "{said}");
    assert_eq!(said, "");
}

#[test]
fn the_help_is_as_it_was() {
    let boat = Boat::new();
    let help = |command: &[&str]| {
        let ran = boat.run(&[command, &["--help"]].concat()).ends(0);
        ran.out.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
    };
    insta::assert_snapshot!("help", help(&[]));
    for command in crate::COMMANDS {
        insta::assert_snapshot!(format!("help_{command}"), help(&[command]));
    }
}
