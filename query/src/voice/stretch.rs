//! Where words that were heard stand in the sound.

use leadsman_index::{SourceId, Store, With};
use leadsman_ingest::{Span, Utterance};

use crate::error::Error;

/// Seconds before and behind the words, so that they are heard whole.
const AROUND: f64 = 0.5;

/// A stretch of a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// The recording.
    pub recording: SourceId,
    /// The name that its file had.
    pub name: String,
    /// Where it begins, in seconds.
    pub from: f64,
    /// Where it ends, in seconds.
    pub until: f64,
}

/// The sound behind a place in a source; `None` where its words were written and not heard. Errors: the home.
pub async fn behind(store: &Store, source: &SourceId, span: Span) -> Result<Option<Stretch>, Error> {
    let Some(recording) = store.record().recording_of(source) else { return Ok(None) };
    let Some(stored) = store.note(source, With { utterances: true, reasons: false }).await? else {
        return Ok(None);
    };
    let Some((from, until)) = seconds(&stored.note.utterances, span) else { return Ok(None) };
    let name = stored.name.trim_end_matches(" (heard)").to_owned();
    Ok(Some(Stretch { recording, name, from: (from - AROUND).max(0.0), until: until + AROUND }))
}

/// The seconds of the utterances that a place lies in.
fn seconds(utterances: &[Utterance], span: Span) -> Option<(f64, f64)> {
    let over = utterances.iter().filter(|u| u.span.start < span.end && span.start < u.span.end);
    let mut cues = over.filter_map(|utterance| utterance.cue);
    let first = cues.next()?;
    Some(cues.fold(first, |(from, until), cue| (from.min(cue.0), until.max(cue.1))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_sounds_as_long_as_the_words_that_it_lies_in() {
        let said = |start: usize, end: usize, cue: (f64, f64)| Utterance {
            span: Span::new(start, end),
            cue: Some(cue),
            ..Utterance::line("words")
        };
        let all = [said(0, 5, (1.0, 2.5)), said(6, 9, (2.5, 4.0)), said(10, 20, (9.0, 12.0))];
        assert_eq!(seconds(&all, Span::new(4, 7)), Some((1.0, 4.0)));
        assert_eq!(seconds(&all, Span::new(12, 14)), Some((9.0, 12.0)));
        assert_eq!(seconds(&all, Span::new(30, 40)), None);
        assert_eq!(seconds(&[Utterance::line("written")], Span::new(0, 4)), None);
    }
}
