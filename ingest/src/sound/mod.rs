//! Recordings: whether a file is one, what is known of it before anyone has listened, and its sound as samples.
//!
//! What phones and recorders make is told by content: WAV, AIFF, MP3, M4A and MP4 (AAC, ALAC), raw AAC, FLAC, Ogg
//! (Vorbis, Opus), WebM and Matroska, CAF, and the sound track of MP4 and MOV video. The containers and all codecs but
//! Opus are symphonia's. Sound streams: neither the file nor its samples need be in memory.
//!
//! Listening itself is not done here. It needs a model from the disk, and its outcome is a text that is read like any
//! other note: see [`crate::heard`].

mod began;
mod decode;
mod opus;
mod resample;
mod sniff;
pub mod wav;

pub use began::Began;
pub use decode::{Sound, Unheard};
pub use sniff::{HEAD, sniff};
pub use symphonia::core::io::MediaSource;

use crate::format::Cut;
use crate::found::{Note, Notice};
use crate::{Hints, when};

/// Samples a second, on one channel, that a recogniser takes.
pub const RATE: u32 = 16_000;

/// Name of the format of a recording's own note, as in [`Note::format`].
pub const FORMAT: &str = "recording";

/// Encoding of a recording whose sound cannot be decoded, as in [`Note::encoding`].
pub const UNKNOWN: &str = "unknown";

/// What a recording says of itself: when it began, how long it is, in what it is kept. It has no words; those that were
/// heard in it are a note of their own. Whatever the bytes are, it gives a note; what cannot be listened to, it tells in
/// a notice.
pub fn note(source: Box<dyn MediaSource>, hints: &Hints) -> Note {
    let notice = |message: String, hint: Option<&str>| Notice {
        span: None,
        line: None,
        message,
        hint: hint.map(str::to_owned),
    };
    let opened = Sound::open(source);
    let (mut hints, mut notices) = (hints.clone(), Vec::new());
    let mut note = Note { format: FORMAT.to_owned(), ..Note::default() };
    match opened {
        Ok(sound) => {
            hints.began = sound.began();
            note.encoding = sound.codec().to_owned();
            note.seconds = sound.seconds();
        }
        Err(unheard) => {
            note.encoding = UNKNOWN.to_owned();
            notices.push(notice(unheard.to_string(), unheard.hint()));
        }
    }
    let settled = when::settle("", &Cut::new(FORMAT), &hints);
    (note.recorded, note.recorded_from) = (settled.recorded, settled.recorded_from);
    note.zone = settled.zone;
    notices.extend(settled.notices);
    note.notices = notices;
    note
}
