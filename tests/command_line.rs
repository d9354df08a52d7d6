//! Wrong use, help, and how the program behaves in a pipe.

use std::io::Read;
use std::process::Stdio;

use crate::boat::{Boat, notes};

#[test]
fn wrong_use_ends_with_2_and_says_what_to_do() {
    let boat = Boat::new();
    let ran = boat.run(&["previw", "x"]).ends(2);
    assert!(ran.err.contains("preview"), "{}", ran.err);
    let ran = boat.run(&["items"]).ends(2);
    assert!(ran.err.contains("no command \"items\"") && ran.err.contains("`leadsman open`"), "{}", ran.err);
    let ran = boat.run(&["reckon", "fule"]).ends(2);
    assert!(ran.err.contains("fuel"), "{}", ran.err);
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
fn days_are_seen_from_the_day_asked_about() {
    let boat = Boat::new();
    let set = ["passage", "--departure", "sunday", "--back", "july", "--json"];
    let passage = boat.run(&[&["--on", "2026-04-10"][..], &set].concat()).ends(0).json();
    assert_eq!((&passage["leaves"], &passage["back"]), (&"2026-04-12".into(), &"2026-07-31".into()));
    let trend =
        boat.run(&["trend", "heel", "--since", "3 weeks ago", "--json", "--on=2026-04-10"]).ends(0).json();
    assert_eq!(trend["since"], "2026-03-20");
    let trend =
        boat.run(&["trend", "heel", "--since", "march", "--until", "march", "--json", "--on=2026-04-10"]);
    let trend = trend.ends(0).json();
    assert_eq!((&trend["since"], &trend["until"]), (&"2026-03-01".into(), &"2026-03-31".into()));
}

#[test]
fn values_are_taken_with_their_units() {
    let boat = Boat::new();
    let said =
        ["--coldest-air", "-6C", "--coldest-sea", "35F", "--strongest-wind", "F9", "--distance", "560M"];
    let ran = boat.run(&[&["passage", "--days", "5 days", "--json"], &said[..]].concat()).ends(0).json();
    assert_eq!(ran["days"], 5.0);
    assert_eq!(ran["distance_nmi"], 560.0);
    assert_eq!(ran["coldest_air_degc"], -6.0);
    assert!((ran["coldest_sea_degc"].as_f64().expect("a number") - 1.667).abs() < 0.001);
    assert_eq!(ran["strongest_wind_kn"], 47.0);
    for days in ["5", "5d", "5 days"] {
        let ran = boat.run(&["reckon", "water", "--crew", "1", "--head", "3", "--days", days]).ends(0);
        assert!(ran.out.contains("water needed  15 L"), "{days}: {}", ran.out);
    }
    boat.run(&["outings", "--days", "2 days"]).ends(0);
    let ran = boat.run(&["budget", "--water", "110gal", "--food", "20"]).ends(0);
    assert!(ran.err.contains("US one"), "{}", ran.err);
    let ran = boat.run(&["passage", "--coldest-air", "cold"]).ends(2);
    assert!(ran.err.contains("expected a temperature in degC, degF, K"), "{}", ran.err);
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
