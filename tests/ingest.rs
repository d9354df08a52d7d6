//! Taking notes: every note of every boat, twice, copies, standard input, a watched folder, and bad input.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use crate::boat::{Boat, corpus, keys, notes, text};

#[test]
fn every_note_of_every_boat_is_taken() {
    for name in ["quillback", "marigold", "corncrake", "saltmarsh", "sastrugi", "lanternfish"] {
        let boat = Boat::new();
        let ran = boat.run(&["ingest", &text(&corpus(name))]).ends(0);
        assert_eq!(ran.out.lines().filter(|line| line.contains(" taken: ")).count(), 10, "{}", ran.out);
        assert!(ran.out.contains("10 sources taken"), "{}", ran.out);
        assert!(!ran.out.contains('\u{1b}'), "colour in a pipe: {}", ran.out);
        // One by one comes to the same as all at once.
        let by_one = Boat::new();
        for note in notes(name) {
            by_one.run(&["ingest", &note]).ends(0);
        }
        assert_eq!(open(&boat), open(&by_one));
    }
}

fn open(boat: &Boat) -> serde_json::Value {
    boat.run(&["open", "--all", "--json", "--on", "2026-10-06"]).ends(0).json()
}

/// All rows of all tables, but for what is of the moment: nothing is, in what a second ingest may touch.
fn rows(boat: &Boat) -> String {
    let script = "import sqlite3, sys; [print(line) for line in sqlite3.connect(sys.argv[1]).iterdump()]";
    let database = boat.home().join("derived/leadsman.db");
    let output = Command::new("python3").args(["-c", script]).arg(database).output().expect("python3 starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("plain text")
}

#[test]
fn twice_is_the_same_row_for_row() {
    let boat = Boat::new();
    let folder = text(&corpus("quillback"));
    boat.run(&["ingest", &folder]).ends(0);
    let (before, answer) = (rows(&boat), open(&boat));
    assert!(before.contains("INSERT INTO"), "{before}");
    let ran = boat.run(&["ingest", &folder]).ends(0);
    assert!(ran.out.contains("0 sources taken, 10 here already"), "{}", ran.out);
    assert_eq!(before, rows(&boat));
    assert_eq!(answer, open(&boat));
}

#[test]
fn a_newer_copy_from_the_same_path_replaces_and_another_note_does_not() {
    let boat = Boat::new();
    let note = "2026-03-14 10:05\nWind fifteen knots from the south west, heel twenty. The bilge pump ran all night long.\n";
    let path = text(&boat.write("in/Recording.txt", note));
    boat.run(&["ingest", &path]).ends(0);
    boat.write("in/Recording.txt", format!("{note}And the heater was off.\n"));
    let ran = boat.run(&["ingest", &path]).ends(0);
    assert!(ran.out.contains("in place of its earlier copy"), "{}", ran.out);
    // A phone uses the name again for something else.
    boat.write(
        "in/Recording.txt",
        "2026-03-20 18:00\nMoored in Port Davey after a long beat, everything wet, soup.\n",
    );
    let ran = boat.run(&["ingest", &path]).ends(0);
    assert!(ran.out.contains(" taken: ") && !ran.out.contains("in place"), "{}", ran.out);
    // By the skipper's word it does.
    let other = text(&boat.write("in/other.txt", "2026-03-20 18:00\nMoored in Port Davey. Nothing else.\n"));
    let ran = boat.run(&["ingest", &other, "--replaces", "Recording.txt"]);
    // Two live sources are called so: the program asks which.
    let ran = ran.ends(2);
    assert!(ran.err.contains("could be any of"), "{}", ran.err);
    let ran = boat.run(&["ingest", &other, "--replaces", "no-such.txt"]).ends(2);
    assert!(ran.err.contains("no-such.txt"), "{}", ran.err);
}

#[test]
fn standard_input_and_its_time() {
    let boat = Boat::new();
    let note = b"Wind fifteen knots. Boat speed six.\n";
    boat.run_with(note, &["ingest", "-", "--recorded", "2026-03-14 10:05", "--zone", "Australia/Hobart"])
        .ends(0);
    let list = boat.run(&["open", "--json", "--on", "2026-03-13"]).ends(0).json();
    assert_eq!((&list["notes"], &list["later_notes"]), (&0.into(), &1.into()));
    let list = boat.run(&["open", "--json", "--on", "2026-03-14"]).ends(0).json();
    assert_eq!((&list["notes"], &list["later_notes"]), (&1.into(), &0.into()));
    let ran = boat.run_with(note, &["ingest", "-", "--recorded", "yesterday"]).ends(2);
    assert!(ran.err.contains("expected a time like \"2026-10-06 06:55\""), "{}", ran.err);
    let two = notes("quillback");
    let ran = boat.run(&["ingest", &two[0], &two[1], "--recorded", "2026-03-14 10:05"]).ends(2);
    assert!(ran.err.contains("--recorded is for one file, found 2 files"), "{}", ran.err);
}

/// A program that runs until it is stopped, and is stopped at the latest when the test ends.
struct Running(std::process::Child);

impl Drop for Running {
    fn drop(&mut self) {
        // Fails only where it has ended already.
        self.0.kill().ok();
        self.0.wait().ok();
    }
}

#[test]
fn a_watched_folder_is_taken_and_then_what_is_dropped() {
    let boat = Boat::new();
    boat.write("drop/first.txt", "2026-03-14 10:05\nWind fifteen knots.\n");
    let folder = text(&boat.path("drop"));
    let mut command = boat.command(&["ingest", "--watch", &folder]);
    let mut child = Running(command.stdout(Stdio::piped()).spawn().expect("the program starts"));
    let lines = BufReader::new(child.0.stdout.take().expect("a pipe")).lines();
    let (send, heard) = mpsc::channel();
    std::thread::spawn(move || lines.for_each(|line| send.send(line.expect("plain text")).unwrap_or(())));
    let hear = |words: &str| loop {
        let line =
            heard.recv_timeout(Duration::from_secs(60)).unwrap_or_else(|_| panic!("never said: {words}"));
        if line.contains(words) {
            return;
        }
    };
    hear("first.txt");
    hear("watching");
    boat.write("drop/second.txt", "2026-03-15 10:05\nWind twenty knots.\n");
    hear("second.txt");
    let id = child.0.id().to_string();
    assert!(Command::new("kill").args(["-INT", &id]).status().expect("kill").success());
    let ended = std::iter::repeat_with(|| child.0.try_wait().expect("a state"))
        .inspect(|_| std::thread::sleep(Duration::from_millis(20)))
        .take(3_000)
        .find_map(|state| state);
    assert_eq!(ended.expect("it ends within a minute").code(), Some(0));
    assert_eq!(boat.run(&["open", "--json"]).ends(0).json()["notes"], 2);
}

/// Bad files beside a good one: each has its notice or error, the good one is taken, nothing panics (which `run`
/// asserts for every command).
#[test]
fn bad_input_is_named_and_the_rest_taken() {
    let boat = Boat::new();
    let good = text(&boat.write("in/good.txt", "2026-03-14 10:05\nWind fifteen knots.\n"));
    let long = "wind fifteen knots and ".repeat(10 * 1024 * 1024 / 23);
    let broken = "WEBVTT\n\n00:00:01.000 --> 00:0x:04.000\nWind fifteen knots.\n\n00:00:05.000 --> 00:00:06.000\nHeel twenty.\n";
    let files: [(&str, Vec<u8>); 5] = [
        ("empty.txt", Vec::new()),
        ("long.txt", long.into_bytes()),
        ("binary.txt", (0..=255_u8).cycle().take(5_000).collect()),
        ("wrong.txt", b"2026-03-14 10:05\nCabin 12 degrees \xff\xfe and wind \x80 15 knots.\n".to_vec()),
        ("broken.vtt", broken.as_bytes().to_vec()),
    ];
    for (name, bytes) in files {
        let path = text(&boat.write(&format!("in/{name}"), bytes));
        let ran = boat.run(&["ingest", &path]).ends(0);
        assert!(ran.out.contains(name), "{}", ran.out);
        assert!(ran.out.contains("notice"), "{name} gives no notice: {}", ran.out);
        // Ten megabytes take the unoptimised program a while; once is enough.
        if name != "long.txt" {
            boat.run(&["preview", &path]).ends(0);
            boat.run(&["explain", &path, "--line", "1"]).ends(0);
        }
    }
    let ran = boat.run(&["ingest", &good, &text(&boat.path("in/none.txt"))]).ends(3);
    assert!(ran.out.contains("none.txt:") && ran.out.contains("hint: "), "{}", ran.out);
    assert!(ran.out.contains("1 source taken") && ran.out.contains("1 not taken"), "{}", ran.out);
    let notices = boat.run(&["notices", "--json"]).ends(0).json();
    let notices = notices.as_array().expect("a list");
    assert!(
        notices.iter().any(|notice| notice["source"] == "broken.vtt" && notice["line"] == 3),
        "{notices:?}"
    );
    for notice in notices {
        assert_eq!(keys(notice), ["hash", "hint", "line", "message", "source", "span"]);
    }
}

#[test]
fn a_folder_without_permission_is_named_and_the_rest_taken() {
    use std::os::unix::fs::PermissionsExt;

    let boat = Boat::new();
    boat.write("in/good.txt", "2026-03-14 10:05\nWind fifteen knots.\n");
    boat.write("in/locked/note.txt", "2026-03-14 10:05\nWind fifteen knots.\n");
    let locked = boat.path("in/locked");
    let allow =
        |mode| std::fs::set_permissions(&locked, std::fs::Permissions::from_mode(mode)).expect("permission");
    allow(0o000);
    let root = std::fs::read_dir(&locked).is_ok();
    let ran = boat.run(&["ingest", &text(&boat.path("in"))]);
    allow(0o755);
    if root {
        println!("skipped: the tests run as root, who may read every folder");
        return;
    }
    let ran = ran.ends(3);
    assert!(ran.out.contains("locked") && ran.out.contains("1 source taken"), "{}", ran.out);
}

/// A home on a disk of one megabyte, where the tests may mount one.
#[test]
fn a_full_disk_is_said_and_what_was_taken_stays() {
    let boat = Boat::new();
    let disk = boat.path("disk");
    std::fs::create_dir(&disk).expect("a folder");
    let mounted = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=1m", "tmpfs"])
        .arg(&disk)
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if !mounted {
        println!("skipped: the tests may not mount a small disk here");
        return;
    }
    // What is asserted must not keep the disk from being unmounted.
    let done = std::panic::catch_unwind(|| fill(&boat));
    assert!(Command::new("umount").arg(&disk).status().expect("umount").success());
    if let Err(panic) = done {
        std::panic::resume_unwind(panic);
    }
}

fn fill(boat: &Boat) {
    let home = text(&boat.path("disk/home"));
    let note = |n: usize| {
        // Words that do not compress well, so that the disk fills soon.
        let mut state = n as u64 + 1;
        let mut text = format!("2026-03-14 10:{n:02}\n");
        for _ in 0..3_000 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            text += &format!("{:x} ", state >> 20);
        }
        text
    };
    let mut taken = 0;
    for n in 0..40 {
        let path = text(&boat.write(&format!("in/{n}.txt"), note(n)));
        let ran = boat.run(&["ingest", &path, "--home", &home]);
        if ran.code == Some(0) {
            taken += 1;
            continue;
        }
        let said = format!("{}{}", ran.out, ran.err);
        assert!(matches!(ran.code, Some(3 | 4)), "{:?} {said}", ran.code);
        assert!(said.contains("free some space"), "{said}");
        break;
    }
    assert!((1..40).contains(&taken), "{taken} of 40 were taken on a disk of one megabyte");
    // Every source that was said to be taken has its line and its bytes.
    let lines: usize = std::fs::read_dir(boat.path("disk/home/arrivals"))
        .expect("arrivals")
        .map(|file| std::fs::read_to_string(file.expect("a file").path()).expect("text").lines().count())
        .sum();
    assert!(lines >= taken, "{lines} arrivals of {taken} taken");
}

#[test]
fn what_holds_for_several_notes_is_told_once() {
    let boat = Boat::new();
    for day in ["01", "02", "03"] {
        let note = format!("2026-05-{day}\n\nThe heater draws 2.1 amps.\n");
        boat.write(&format!("in/2026-05-{day}.txt"), note);
    }
    let folder = text(&boat.path("in"));
    for said in [boat.run(&["ingest", &folder]).ends(0).out, boat.run(&["notices"]).ends(0).out] {
        assert_eq!(said.matches("expected a time of day").count(), 2, "{said}");
        assert!(
            said.contains("2 more sources:") && said.contains("2026-05-02.txt, 2026-05-03.txt"),
            "{said}"
        );
    }
    let ran = boat.run(&["explain", "2026-05-02.txt"]).ends(0);
    assert!(ran.out.contains("current 2.1 A"), "a source by its name: {}", ran.out);
    boat.run(&["explain", "2026-06-02.txt"]).ends(3);
}
