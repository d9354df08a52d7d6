//! The demo boat: the invented *Quillback*, ten notes of one skipper between August and October 2026.
//!
//! The notes are in the program itself, so that the demo runs anywhere.

use std::path::Path;

use crate::error::Error;

/// The day that the demo asks about: that of the last note, so that it reads the same in any year.
pub const DAY: &str = "2026-10-06";
/// The folder of notes, as the commands name it.
pub const FOLDER: &str = "quillback";

macro_rules! notes {
    ($($name:literal),+ $(,)?) => {
        /// The notes: each file's name and bytes.
        pub const NOTES: &[(&str, &[u8])] =
            &[$(($name, include_bytes!(concat!("../../../fixtures/corpus/quillback/", $name)))),+];
    };
}

notes!(
    "01-2026-08-16-first-shake-out.vtt",
    "02-2026-08-20-batteries-and-the-heater-again.txt",
    "03-2026-08-23-1342-storm-bay.srt",
    "04-2026-08-29-overnight-port-arthur.txt",
    "05-2026-09-02-yard-day.txt",
    "06-2026-09-06-the-floaty-stuff.vtt",
    "07-2026-09-12-engine-and-pumps.md",
    "08-2026-09-20-blowing.txt",
    "09-2026-09-25-epirb-and-flares.txt",
    "10-2026-10-06-0655-before-i-go.srt",
);

/// One step of the walk: what it shows, and the command line that shows it, without the program's name.
pub struct Step {
    /// What it shows.
    pub says: &'static str,
    /// The command line.
    pub command: &'static [&'static str],
}

/// The walk.
pub const STEPS: &[Step] = &[
    Step {
        says: "Dump the notes: transcripts, written logs, whatever the phone made. Nothing in them is rewritten.",
        command: &["ingest", FOLDER, "--zone", "Australia/Hobart"],
    },
    Step {
        says: "Say when the boat leaves and is back. What expires before then counts as overdue.",
        command: &[
            "--on",
            DAY,
            "passage",
            "--departure",
            "2026-10-10",
            "--back",
            "2027-03-31",
            "--distance",
            "900",
        ],
    },
    Step { says: "What stands between the boat and departure?", command: &["--on", DAY, "open"] },
    Step {
        says: "What was ever tried with the drogue, and how did it go?",
        command: &["find", "drogue", "--limit", "4"],
    },
    Step {
        says: "What failed in more than 20 knots of wind?",
        command: &["find", "--outcome", "fail", "--wind", "20..", "--limit", "4"],
    },
    Step { says: "Where is the battery going?", command: &["trend", "voltage"] },
    Step {
        says: "And how is a note understood? A line, with what was found in it and why.",
        command: &["explain", "quillback/01-2026-08-16-first-shake-out.vtt", "--line", "82"],
    },
];

/// Writes the notes into a folder. Errors: the disk.
pub fn write_notes(folder: &Path) -> Result<(), Error> {
    let write = || {
        std::fs::create_dir_all(folder)?;
        NOTES.iter().try_for_each(|(name, bytes)| std::fs::write(folder.join(name), bytes))
    };
    write().map_err(|error: std::io::Error| {
        Error::home(format!("the demo's notes could not be written to {}", folder.display())).because(&error)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_of_the_boats_notes_are_in_the_demo() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/corpus/quillback");
        let mut there: Vec<String> = std::fs::read_dir(folder)
            .expect("the demo boat's folder")
            .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
            .filter(|name| !name.ends_with(".gold.json"))
            .collect();
        there.sort();
        assert_eq!(NOTES.iter().map(|(name, _)| (*name).to_owned()).collect::<Vec<_>>(), there);
        // The folder's name begins no other word of a command: those are handed on as they are.
        let words = STEPS.iter().flat_map(|step| step.command);
        assert_eq!(words.filter(|word| word.starts_with(FOLDER)).count(), 2);
    }
}
