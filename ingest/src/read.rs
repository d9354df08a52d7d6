//! One source from bytes to a note: the order in which the other modules are called.

use chrono::{DateTime, FixedOffset, Utc};
use chrono_tz::Tz;

use crate::found::Note;
use crate::talk::Talk;
use crate::{format, item, reading, text, trial};

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
    /// The offset of the boat's notes before this one, where the note itself says none.
    pub boat_offset: Option<FixedOffset>,
}

/// Reads a source: whatever its bytes are, it gives a note.
pub fn read(bytes: &[u8], _hints: &Hints) -> Note {
    let decoded = text::decode(bytes);
    let utterances = format::cut(&decoded.text);
    let talk = Talk::new(&decoded.text, &utterances);
    let readings = reading::readings(&talk);
    let trials = trial::trials(&talk);
    let (items, closings) = item::items(&talk, &trials);
    Note {
        encoding: decoded.encoding.to_owned(),
        readings,
        trials,
        items,
        closings,
        utterances,
        ..Note::default()
    }
}
