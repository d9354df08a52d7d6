//! Every container and codec that phones and recorders make, from files that ffmpeg makes here: length, pitch, the time
//! of recording; and files that are damaged or are something else.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::Command;

use leadsman_ingest::sound::{Began, RATE, Sound, sniff};
use leadsman_ingest::{Hints, read};

/// Runs ffmpeg; `tests/run` installs it.
fn ffmpeg(arguments: &[&str]) {
    let ran = Command::new("ffmpeg").args(["-v", "error", "-y"]).args(arguments).output();
    let ran = ran.expect("ffmpeg is installed; tests/run does it");
    assert!(ran.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&ran.stderr));
}

/// A tone of 440 Hz, `SECONDS` long.
const TONE: &str = "sine=frequency=440:sample_rate=48000:duration=7.3";
const SECONDS: f64 = 7.3;

fn made(folder: &Path, name: &str, arguments: &[&str]) -> PathBuf {
    let path = folder.join(name);
    let to = path.to_str().expect("a path of text");
    ffmpeg(&[&["-f", "lavfi", "-i", TONE][..], arguments, &[to]].concat());
    path
}

fn decoded(path: &Path) -> (Sound, Vec<f32>) {
    let file = File::open(path).expect("the file is there");
    let mut sound = Sound::open(Box::new(file)).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut samples = Vec::new();
    while sound.more(&mut samples) {}
    (sound, samples)
}

fn seconds(samples: &[f32]) -> f64 {
    samples.len() as f64 / f64::from(RATE)
}

/// Turns a second in the middle of the sound.
fn pitch(samples: &[f32]) -> usize {
    let middle = &samples[samples.len() / 2 - 8_000..samples.len() / 2 + 8_000];
    middle.windows(2).filter(|pair| pair[0] < 0.0 && pair[1] >= 0.0).count()
}

#[test]
fn every_format_is_decoded_to_its_length() {
    let folder = tempfile::tempdir().expect("a folder");
    let mono: &[(&str, &[&str])] = &[
        ("plain.wav", &[]),
        ("wide.wav", &["-c:a", "pcm_s24le", "-ar", "44100"]),
        ("float.wav", &["-c:a", "pcm_f32le"]),
        ("phone.wav", &["-ar", "8000"]),
        ("dictated.wav", &["-c:a", "adpcm_ima_wav", "-ar", "22050"]),
        ("a.aiff", &[]),
        ("a.mp3", &["-b:a", "64k"]),
        ("vbr.mp3", &["-q:a", "5", "-ar", "44100"]),
        ("low.mp3", &["-ar", "16000", "-b:a", "24k"]),
        ("aac.m4a", &["-c:a", "aac", "-b:a", "64k"]),
        ("fast.m4a", &["-c:a", "aac", "-movflags", "+faststart"]),
        ("alac.m4a", &["-c:a", "alac"]),
        ("raw.aac", &["-c:a", "aac"]),
        ("a.flac", &[]),
        ("vorbis.ogg", &["-c:a", "libvorbis"]),
        ("opus.ogg", &["-c:a", "libopus", "-b:a", "24k"]),
        ("a.opus", &["-c:a", "libopus", "-b:a", "12k", "-application", "voip"]),
        ("a.webm", &["-c:a", "libopus"]),
        ("vorbis.webm", &["-c:a", "libvorbis"]),
        ("sound.mp4", &["-c:a", "aac"]),
        ("pcm.caf", &["-c:a", "pcm_s16le"]),
        ("alac.caf", &["-c:a", "alac"]),
        ("stereo.mp3", &["-ac", "2"]),
        ("stereo.opus", &["-ac", "2", "-c:a", "libopus"]),
        ("six.wav", &["-ac", "6"]),
        ("six.opus", &["-ac", "6", "-c:a", "libopus", "-mapping_family", "1"]),
        ("six.flac", &["-ac", "6"]),
    ];
    for (name, arguments) in mono {
        let path = made(folder.path(), name, arguments);
        let head = std::fs::read(&path).expect("the file");
        assert!(sniff(&head[..head.len().min(4096)]), "{name} is told to be a recording");
        let (sound, samples) = decoded(&path);
        let length = seconds(&samples);
        assert!((length - SECONDS).abs() <= 0.1, "{name}: {length} s");
        assert!(pitch(&samples).abs_diff(440) <= 2, "{name}: {} Hz", pitch(&samples));
        assert_eq!(sound.broken(), 0, "{name}");
        assert!(!sound.is_cut_short(), "{name}");
    }
}

#[test]
fn the_sound_of_a_video_is_decoded_and_its_time_is_found() {
    let folder = tempfile::tempdir().expect("a folder");
    let picture = "testsrc=size=64x64:rate=10:duration=7.3";
    for name in ["a.mp4", "a.mov", "a.mkv"] {
        let path = folder.path().join(name);
        let to = path.to_str().expect("a path of text");
        ffmpeg(&[
            "-f",
            "lavfi",
            "-i",
            picture,
            "-f",
            "lavfi",
            "-i",
            TONE,
            "-c:v",
            "mpeg4",
            "-c:a",
            "aac",
            "-metadata",
            "creation_time=2026-03-13T23:05:00Z",
            to,
        ]);
        let (sound, samples) = decoded(&path);
        assert!((seconds(&samples) - SECONDS).abs() <= 0.1, "{name}: {} s", seconds(&samples));
        let Some(Began::At(at)) = sound.began() else { panic!("{name}: {:?}", sound.began()) };
        assert_eq!(at.to_rfc3339(), "2026-03-13T23:05:00+00:00", "{name}");
    }
    // AAC of more than two channels is not decoded; it is told as what it is.
    let six = made(folder.path(), "six.m4a", &["-ac", "6", "-c:a", "aac"]);
    let note = read(&std::fs::read(&six).expect("the file"), &Hints::default());
    assert!(note.notices[0].message.contains("found aac with 6 channels"), "{:?}", note.notices);
    let silent = folder.path().join("silent.mp4");
    ffmpeg(&["-f", "lavfi", "-i", picture, "-c:v", "mpeg4", silent.to_str().expect("a path of text")]);
    let note = read(&std::fs::read(&silent).expect("the file"), &Hints::default());
    assert_eq!(note.format, "recording");
    assert!(note.notices[0].message.contains("a picture without sound"), "{:?}", note.notices);
}

#[test]
fn the_time_of_recording_comes_from_the_container_in_the_boats_zone() {
    let folder = tempfile::tempdir().expect("a folder");
    let stamp = ["-metadata", "creation_time=2026-03-13T23:05:00Z"];
    let path = made(folder.path(), "memo.m4a", &[&["-c:a", "aac"][..], &stamp].concat());
    let hints = Hints {
        name: "memo.m4a".to_owned(),
        zone: Some((chrono_tz::Australia::Hobart, "--zone".to_owned())),
        ..Hints::default()
    };
    let note = read(&std::fs::read(&path).expect("the file"), &hints);
    let recorded = note.recorded.expect("a time");
    assert_eq!(recorded.at.to_rfc3339(), "2026-03-14T10:05:00+11:00");
    assert_eq!(note.recorded_from, "the recording's own time");
    assert!((note.seconds.expect("a length") - SECONDS).abs() < 0.1);
    assert_eq!((note.format.as_str(), note.encoding.as_str()), ("recording", "aac"));
    // Without one, the file's name says it as for any note.
    let path = made(folder.path(), "2026-03-14 1005.mp3", &[]);
    let hints = Hints { name: "2026-03-14 1005.mp3".to_owned(), ..hints };
    let note = read(&std::fs::read(&path).expect("the file"), &hints);
    assert_eq!(note.recorded.expect("a time").at.to_rfc3339(), "2026-03-14T10:05:00+11:00");
}

#[test]
fn damaged_files_give_what_they_hold_or_a_notice() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, arguments) in [
        ("a.wav", &[][..]),
        ("a.mp3", &[]),
        ("a.flac", &[]),
        ("a.opus", &["-c:a", "libopus"]),
        ("a.ogg", &["-c:a", "libvorbis"]),
        ("a.m4a", &["-c:a", "aac"]),
        ("front.m4a", &["-c:a", "aac", "-movflags", "+faststart"]),
        ("a.webm", &["-c:a", "libopus"]),
        ("a.caf", &["-c:a", "pcm_s16le"]),
        ("a.aac", &["-c:a", "aac"]),
    ] {
        let path = made(folder.path(), name, arguments);
        let whole = std::fs::read(&path).expect("the file");
        let cut = &whole[..whole.len() * 6 / 10];
        let opened = Sound::open(Box::new(std::io::Cursor::new(cut.to_vec())));
        match opened {
            Ok(mut sound) => {
                let mut samples = Vec::new();
                while sound.more(&mut samples) {}
                let length = seconds(&samples);
                // Of an MP4 that is cut short nothing is read; the container is told to be cut short all the same.
                let expected = if name == "front.m4a" { 0.0..6.0 } else { 3.0..6.0 };
                assert!(expected.contains(&length), "{name} cut short: {length} s");
                assert!(
                    sound.is_cut_short() || matches!(name, "a.mp3" | "a.aac" | "a.ogg" | "a.opus" | "a.webm"),
                    "{name}"
                );
            }
            // An MP4 says at its end what is in it; Matroska and CAF say at their beginning how long they are.
            Err(error) => {
                assert!(matches!(name, "a.m4a" | "a.webm" | "a.caf"), "{name}: {error}");
                let note = read(cut, &Hints::default());
                assert!(note.notices[0].hint.as_deref().is_some_and(|h| h.contains("copied whole")));
            }
        }
        // Bytes that are wrong here and there stop nothing.
        let mut noisy = whole.clone();
        for at in (200..noisy.len()).step_by(997) {
            noisy[at] ^= 0x5a;
        }
        if let Ok(mut sound) = Sound::open(Box::new(std::io::Cursor::new(noisy))) {
            let mut samples = Vec::new();
            while sound.more(&mut samples) {}
            assert!(seconds(&samples) < 3_600.0, "{name}: {} s", seconds(&samples));
        }
    }
}

#[test]
fn an_opus_decoder_agrees_with_the_reference() {
    // ffmpeg's own decoder of Opus against ours, on noise that uses the whole band.
    let folder = tempfile::tempdir().expect("a folder");
    for (name, bits) in [("speech.opus", "16k"), ("music.opus", "96k")] {
        let path = folder.path().join(name);
        let to = path.to_str().expect("a path of text");
        let noise = "anoisesrc=color=pink:sample_rate=48000:duration=4:seed=3";
        ffmpeg(&["-f", "lavfi", "-i", noise, "-c:a", "libopus", "-b:a", bits, to]);
        let reference = folder.path().join("reference.wav");
        ffmpeg(&["-c:a", "libopus", "-i", to, "-ar", "16000", reference.to_str().expect("a path of text")]);
        let (_, ours) = decoded(&path);
        let (_, theirs) = decoded(&reference);
        let power = |samples: &[f32]| samples.iter().map(|s| f64::from(s * s)).sum::<f64>();
        // The resamplers may differ by a fraction of a sample: the best of a few shifts is taken.
        let best = (0..40_usize)
            .map(|shift| {
                let (a, b) = (&ours[16_000..48_000], &theirs[16_000 + shift - 20..]);
                let apart: Vec<f32> = a.iter().zip(b).map(|(a, b)| a - b).collect();
                power(&apart) / power(a)
            })
            .fold(f64::INFINITY, f64::min);
        assert!(best < 0.02, "{name}: {best} of the power differs");
    }
}
