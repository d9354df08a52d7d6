//! One source from bytes to a note: the order in which the other modules are called.

use std::io::Cursor;

use chrono::{DateTime, FixedOffset, NaiveDate, Utc};
use chrono_tz::Tz;

use crate::found::{Note, Notice, Span, Utterance};
use crate::sound::{self, Began};
use crate::talk::Talk;
use crate::taught::Taught;
use crate::text::Decoded;
use crate::{date, format, gear, heard, instrument, item, judge, life, reading, text, topic, trial, when};

/// What is known of a source from outside its bytes.
#[derive(Clone, Debug, Default)]
pub struct Hints {
    /// The file's name, without its folder.
    pub name: String,
    /// When it was recorded, where the skipper says so.
    pub recorded: Option<DateTime<FixedOffset>>,
    /// The zone to read local times in, and where it comes from ("--zone", "settings.toml", "this machine"). The
    /// note's own word wins over it; one from "this machine" gives way to `boat_offset` where the two don't fit.
    pub zone: Option<(Tz, String)>,
    /// The file's modification time.
    pub modified: Option<DateTime<Utc>>,
    /// Names that the skipper has given to gear, learned from the boat's other notes or taught.
    pub names: gear::Names,
    /// Words that the skipper has taught; they win over the lexicon and over names learned from notes.
    pub taught: Taught,
    /// The offset of the boat's notes before this one, where the note itself says none.
    pub boat_offset: Option<FixedOffset>,
    /// When the recording began, by its container. What a note says in its header lines wins over it.
    pub began: Option<Began>,
    /// What the skipper says of tables' columns that their headers leave open.
    pub columns: Vec<instrument::Column>,
}

/// Reads a source: whatever its bytes are, it gives a note. That of an instrument log has no words; its values are
/// given out by [`instrument::read`]. That of a recording has none either: see [`sound::note`].
pub fn read(bytes: &[u8], hints: &Hints) -> Note {
    if sound::sniff(bytes) {
        return sound::note(Box::new(Cursor::new(bytes.to_vec())), hints);
    }
    if let Some(kind) = instrument::sniff(bytes, &hints.columns) {
        return instrument::parse(kind, bytes, hints, &mut |_| {}).note(hints);
    }
    read_words(bytes, hints)
}

/// As [`read`], of a source that was looked at already and is neither a recording nor an instrument log.
pub fn read_words(bytes: &[u8], hints: &Hints) -> Note {
    let decoded = text::decode(bytes);
    let heard = heard::Transcript::read(&decoded.text);
    let mut note = match &heard {
        Some(heard) => utterances(&decoded, &Hints { began: heard.began, ..hints.clone() }),
        None => utterances(&decoded, hints),
    };
    let talk = Talk::taught(&decoded.text, &note.utterances, &hints.names, &hints.taught);
    let mut readings = reading::readings(&talk);
    let thoughts = topic::thoughts(&talk);
    reading::gear::settle(&talk, &thoughts, &mut readings);
    let opinions = judge::Opinions::of(&talk, &thoughts);
    let verdicts = trial::verdicts(&talk, &thoughts);
    let mut trials = trial::trials(&talk, &thoughts, &verdicts);
    judge::settle_trials(&talk, &opinions, &mut trials);
    trials.retain(|trial| !trial::of_its_date(&talk, trial));
    trial::conditions::settle(&talk, &thoughts, &readings, &mut trials);
    let day = note.recorded.map_or(NaiveDate::MIN, |r| r.at.date_naive());
    let dates = date::dates(&talk.tokens, day);
    let mut found = item::items(&talk, &thoughts, &readings, &trials, &dates, day);
    judge::add_items(&talk, &thoughts, &opinions, &trials, &mut found);
    judge::mark_unsure(&talk, &opinions, &mut found.items);
    note.accounts = judge::accounts(&talk, &thoughts, &opinions);
    note.events = life::events(&talk, &thoughts, &readings, &dates, day);
    let names = talk.names.clone();
    (note.readings, note.trials, note.names) = (readings, trials, names);
    (note.items, note.closings) = (found.items, found.closings);
    (note.remarks, note.dues, note.passage) = (found.remarks, found.dues, found.passage);
    if let Some(heard) = &heard {
        heard::doubt(&mut note, heard, &decoded.text);
    }
    if !decoded.is_plain() {
        to_source(&mut note, &decoded);
    }
    note
}

/// Cuts a decoded source into utterances with their times; spans are still in the decoded text.
fn utterances(decoded: &Decoded, hints: &Hints) -> Note {
    let cut = format::cut(&decoded.text, &hints.name);
    let settled = when::settle(&decoded.text, &cut, hints);
    let utterances: Vec<Utterance> = cut
        .pieces
        .into_iter()
        .zip(settled.moments)
        .map(|(piece, at)| Utterance {
            span: piece.span,
            words: piece.words,
            text: piece.text,
            at,
            id: piece.id,
            cue: piece.cue,
            kind: piece.kind,
        })
        .collect();
    let mut notices = decoded.notices.clone();
    if utterances.is_empty() && notices.is_empty() {
        notices.push(Notice {
            span: None,
            line: None,
            message: format!("expected words, found none in this {} file", cut.format),
            hint: Some("look whether the transcript was cut short, and dump the file again".to_owned()),
        });
    }
    notices.extend(long_line(&decoded.text));
    notices.extend(cut.notices);
    notices.extend(settled.notices);
    Note {
        format: cut.format.to_owned(),
        encoding: decoded.encoding.to_owned(),
        recorded: settled.recorded,
        recorded_from: settled.recorded_from,
        zone: settled.zone,
        zone_said: settled.zone_said,
        utterances,
        notices,
        ..Note::default()
    }
}

/// A line longer than this is no line of a note: line ends were lost, or the file is something else.
const LONGEST_LINE: usize = 1 << 20;

/// Tells of the first line that is too long to be one. It is read all the same.
fn long_line(text: &str) -> Option<Notice> {
    if text.len() <= LONGEST_LINE {
        return None;
    }
    let (index, line) = text.split('\n').enumerate().find(|(_, line)| line.len() > LONGEST_LINE)?;
    Some(Notice {
        span: None,
        line: Some(index + 1),
        message: format!(
            "expected lines of a note, found one of {} MB; it was read as one stretch",
            line.len() >> 20
        ),
        hint: Some("if the line ends were lost on the way, dump the file again as it was".to_owned()),
    })
}

/// Moves all places from the decoded text to the source's own bytes.
fn to_source(note: &mut Note, decoded: &Decoded) {
    let back = |span: &mut Span| *span = decoded.source_span(*span);
    for utterance in &mut note.utterances {
        back(&mut utterance.span);
        utterance.words.iter_mut().for_each(back);
    }
    for reading in &mut note.readings {
        back(&mut reading.span);
        reading.because.iter_mut().for_each(|r| back(&mut r.span));
    }
    for trial in &mut note.trials {
        back(&mut trial.span);
        trial.because.iter_mut().for_each(|r| back(&mut r.span));
    }
    for item in &mut note.items {
        back(&mut item.span);
        item.because.iter_mut().for_each(|r| back(&mut r.span));
    }
    note.closings.iter_mut().for_each(|c| back(&mut c.span));
    note.remarks.iter_mut().for_each(|r| back(&mut r.span));
    note.accounts.iter_mut().for_each(|a| back(&mut a.span));
    note.dues.iter_mut().for_each(|(_, _, span)| back(span));
    note.events.iter_mut().for_each(|e| back(&mut e.span));
    note.notices.iter_mut().filter_map(|n| n.span.as_mut()).for_each(back);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_too_long_to_be_one_is_told_and_read() {
        let text = format!("Calm.\n{}", "wind fifteen knots and ".repeat(60_000));
        let notice = long_line(&text).expect("a notice");
        assert_eq!(notice.line, Some(2));
        assert!(notice.message.contains("found one of 1 MB"), "{}", notice.message);
        assert_eq!(long_line(&"wind fifteen knots\n".repeat(100_000)), None);
    }
}
