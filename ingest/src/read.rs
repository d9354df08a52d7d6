//! One source from bytes to a note: the order in which the other modules are called.

use chrono::{DateTime, FixedOffset, NaiveDate, Utc};
use chrono_tz::Tz;

use crate::found::Note;
use crate::talk::Talk;
use crate::{format, gear, item, reading, text, topic, trial};

/// What is known of a source from outside its bytes.
#[derive(Clone, Debug, Default)]
pub struct Hints {
    /// The file's name, without its folder.
    pub name: String,
    /// When it was recorded, where the skipper says so.
    pub recorded: Option<DateTime<FixedOffset>>,
    /// The zone to read local times in, and where it comes from ("--zone", "settings.toml", "this machine").
    pub zone: Option<(Tz, String)>,
    /// The file's modification time.
    pub modified: Option<DateTime<Utc>>,
    /// Names that the skipper has given to gear, learned from the boat's other notes or taught.
    pub names: gear::Names,
    /// The offset of the boat's notes before this one, where the note itself says none.
    pub boat_offset: Option<FixedOffset>,
}

/// Reads a source: whatever its bytes are, it gives a note.
pub fn read(bytes: &[u8], hints: &Hints) -> Note {
    let decoded = text::decode(bytes);
    let utterances = format::cut(&decoded.text);
    let talk = Talk::new(&decoded.text, &utterances, &hints.names);
    let readings = reading::readings(&talk);
    let thoughts = topic::thoughts(&talk);
    let verdicts = trial::verdicts(&talk, &thoughts);
    let trials = trial::trials(&talk, &thoughts, &verdicts);
    let day = hints
        .recorded
        .map(|r| r.date_naive())
        .or(hints.modified.map(|m| m.date_naive()))
        .unwrap_or(NaiveDate::MIN);
    let found = item::items(&talk, &thoughts, &trials, day);
    Note {
        encoding: decoded.encoding.to_owned(),
        readings,
        trials,
        names: talk.names.clone(),
        items: found.items,
        closings: found.closings,
        dues: found.dues,
        passage: found.passage,
        utterances,
        ..Note::default()
    }
}
