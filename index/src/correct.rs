//! The skipper's word on findings, put into what is read of a source, and carried over to a newer copy of it: to where
//! the same words stand now.

use std::collections::{BTreeSet, HashMap};

use leadsman_ingest::correct::{Change, correct};
use leadsman_ingest::matter::whole_name;
use leadsman_ingest::{Note, Span};

use crate::archive::Archive;
use crate::decision::{Correction, Decision, Entry, Finding, Place};
use crate::error::Result;
use crate::record::{Record, SourceState};
use crate::source::SourceId;
use crate::store::{Store, With};

/// How much of the text on each side of some words is looked at to tell them from the same words elsewhere, in bytes.
const AROUND: usize = 240;

/// What an entry says of a finding, if it does: what kind, where, and what it should be.
fn word(entry: &Entry) -> Option<(Finding, &Place, Option<&Correction>)> {
    match &entry.decision {
        // That a closing is right, or that an item is none, is for the fold of all notes: there it can be seen and undone.
        Decision::Confirm { of: Finding::Item, .. } => None,
        Decision::Correct { of: Finding::Item, to, .. } if to.dismissed => None,
        Decision::Confirm { of, place, .. } => Some((*of, place, None)),
        Decision::Correct { of, place, to, .. } => Some((*of, place, Some(to))),
        _ => None,
    }
}

/// The standing words on findings: their identifiers, each with the source that it names.
pub(crate) fn words(record: &Record) -> BTreeSet<(String, SourceId)> {
    record
        .decisions()
        .filter_map(|entry| word(entry).map(|(_, place, _)| (entry.id.clone(), place.source)))
        .collect()
}

/// Puts the skipper's word into what was read of a source. Earlier copies whose bytes are gone lend no context.
pub(crate) fn corrected(record: &Record, archive: &Archive, source: &SourceId, note: &mut Note) {
    let family = record.copies_before(source);
    let mut bytes: HashMap<SourceId, Vec<u8>> = HashMap::new();
    let mut changes = Vec::new();
    for (of, place, to) in record.decisions().filter_map(word) {
        if place.source != *source && !family.contains(&place.source) {
            continue;
        }
        let span = if place.source == *source {
            Some(place.span)
        } else {
            for copy in [place.source, *source] {
                bytes.entry(copy).or_insert_with(|| archive.read(&copy).unwrap_or_default());
            }
            let (old, new) = (&bytes[&place.source], &bytes[source]);
            carry((old, place.span), new, &same_words(note, of, &place.quote))
        };
        changes.extend(span.map(|span| Change { of, span, to: to.cloned() }));
    }
    if !changes.is_empty() {
        correct(note, &changes);
    }
}

/// The places in a note where a finding of a kind has these words.
fn same_words(note: &Note, of: Finding, quote: &str) -> Vec<Span> {
    let same = |words: &str| words == quote;
    match of {
        Finding::Reading => note.readings.iter().filter(|r| same(&r.quote)).map(|r| r.span).collect(),
        Finding::Trial => note.trials.iter().filter(|t| same(&t.quote)).map(|t| t.span).collect(),
        Finding::Item => note.items.iter().filter(|i| same(&i.quote)).map(|i| i.span).collect(),
    }
}

/// Which of several places in a new text is the one that stood somewhere in an old one: that with the most of the same
/// text around it, the nearest of those that are alike.
fn carry((old, was): (&[u8], Span), new: &[u8], places: &[Span]) -> Option<Span> {
    let before = |text: &[u8], at: usize| text.get(..at.min(text.len())).unwrap_or_default().to_vec();
    let alike = |span: &Span| {
        let (a, b) = (before(old, was.start), before(new, span.start));
        let head = a.iter().rev().zip(b.iter().rev()).take(AROUND).take_while(|(a, b)| a == b).count();
        let (a, b) = (old.get(was.end..).unwrap_or_default(), new.get(span.end..).unwrap_or_default());
        let tail = a.iter().zip(b).take(AROUND).take_while(|(a, b)| a == b).count();
        head + tail
    };
    let apart = |span: &Span| std::cmp::Reverse(span.start.abs_diff(was.start));
    places.iter().copied().max_by_key(|span| (alike(span), apart(span)))
}

impl Store {
    /// Puts the skipper's word into what was read of bytes that may be those of a source here.
    pub fn correct(&self, bytes: &[u8], note: &mut Note) {
        let source = SourceId::of(bytes);
        if self.record().knows(&source) {
            corrected(self.record(), &self.home().archive(), &source, note);
        }
    }

    /// Names of items that earlier copies of sources gave, each with the name that the same words have in the copy
    /// that answers now. Errors: the database.
    pub async fn carried_names(&self) -> Result<Vec<(String, String)>> {
        let mut names = Vec::new();
        for source in self.record().sources() {
            let (state, Some(newer)) = self.record().state(&source) else { continue };
            if state != SourceState::Replaced {
                continue;
            }
            let Some(newer) = self.answering(newer) else { continue };
            let (old, new) =
                (self.note(&source, With::default()).await?, self.note(&newer, With::default()).await?);
            let (Some(old), Some(new)) = (old, new) else { continue };
            let archive = self.home().archive();
            let (was, is) =
                (archive.read(&source).unwrap_or_default(), archive.read(&newer).unwrap_or_default());
            let (from, to) = (places(&old.note), places(&new.note));
            for (quote, span) in from {
                let same: Vec<Span> = to.iter().filter(|(q, _)| *q == quote).map(|(_, s)| *s).collect();
                if let Some(now) = carry((&was, span), &is, &same) {
                    let name = |source: &SourceId, span| whole_name(&source.to_string(), span);
                    names.push((name(&source, span), name(&newer, now)));
                }
            }
        }
        Ok(names)
    }

    /// The source that answers in the end for one that may have been replaced in its turn.
    fn answering(&self, mut source: SourceId) -> Option<SourceId> {
        // A ring of copies, which no program writes, answers by none.
        for _ in 0..64 {
            match self.record().state(&source) {
                (SourceState::Live, _) => return Some(source),
                (SourceState::Replaced, Some(newer)) => source = newer,
                _ => return None,
            }
        }
        None
    }
}

/// All places that an item may be named by: those of items, of readings and dates that open one later, and of trials
/// announced.
fn places(note: &Note) -> Vec<(&str, Span)> {
    let items = note.items.iter().map(|i| (i.quote.as_str(), i.span));
    let readings = note.readings.iter().map(|r| (r.quote.as_str(), r.span));
    let dues = note.dues.iter().map(|(_, due, span)| (due.said.as_str(), *span));
    let events = note.events.iter().map(|e| (e.quote.as_str(), e.span));
    items.chain(readings).chain(dues).chain(events).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::{SOON, home, ingest};
    use crate::{Dump, Outcome};

    const OLD: &str =
        "Recorded: 2026-03-15 09:00 +11:00\n\nWind fifteen knots. The heater failed to light.\n";
    const NEW: &str = "Recorded: 2026-03-15 09:00 +11:00\n\nThe day began grey and the tea was cold. Wind fifteen knots. The heater failed to light.\n";

    #[test]
    fn the_same_words_are_found_by_what_stands_around_them() {
        let old = b"at noon fifteen knots, at dusk fifteen knots, calm";
        let new = b"tea; at noon fifteen knots, at dusk fifteen knots, calm";
        let (first, second) = (Span::new(13, 27), Span::new(36, 50));
        assert_eq!(&new[first.range()], b"fifteen knots,");
        let places = [first, second];
        assert_eq!(carry((old, Span::new(8, 22)), new, &places), Some(first));
        assert_eq!(carry((old, Span::new(31, 45)), new, &places), Some(second));
        assert_eq!(carry((old, Span::new(31, 45)), new, &[]), None);
        // Without the old text the nearest is as good as any.
        assert_eq!(carry((b"", Span::new(31, 45)), new, &places), Some(second));
    }

    #[tokio::test]
    async fn a_word_on_a_reading_is_carried_to_the_newer_copy_and_undone() {
        let (_folder, home) = home();
        let reports = ingest(&home, vec![Dump::bytes("1.txt", OLD.into())]).await;
        let Outcome::Taken { source, .. } = reports[0].outcome else { panic!("{reports:?}") };
        let winds = async || {
            let notes = home.store(SOON).await.unwrap().notes(With::ALL).await.unwrap();
            let readings = notes.into_iter().flat_map(|n| n.note.readings);
            readings.filter(|r| r.quantity == "wind_speed").map(|r| r.low.unwrap()).collect::<Vec<_>>()
        };
        assert_eq!(winds().await, [15.0]);
        let note = home.store(SOON).await.unwrap().note(&source, With::ALL).await.unwrap().unwrap().note;
        let reading = note.readings.iter().rfind(|r| r.quantity == "wind_speed").unwrap();
        let place = Place { source, span: reading.span, quote: reading.quote.clone() };
        let to = Correction { low: Some(50.0), high: Some(50.0), ..Correction::default() };
        let mut writer = home.writer(SOON).await.unwrap();
        writer.decide(Decision::Correct { of: Finding::Reading, place, to, item: None }).await.unwrap();
        writer.finish().await.unwrap();
        assert_eq!(winds().await, [50.0]);
        let before = crate::tests::rows(&home).await;
        home.rebuild(SOON).await.unwrap();
        assert_eq!(crate::tests::rows(&home).await, before, "the same, row for row");
        let newer = Dump { replaces: Some(source), ..Dump::bytes("1.txt", NEW.into()) };
        ingest(&home, vec![newer]).await;
        assert_eq!(winds().await, [50.0], "the same words stand elsewhere now");
        let before = crate::tests::rows(&home).await;
        home.rebuild(SOON).await.unwrap();
        assert_eq!(crate::tests::rows(&home).await, before);
        let mut writer = home.writer(SOON).await.unwrap();
        writer.undo_last().await.unwrap().unwrap();
        writer.finish().await.unwrap();
        assert_eq!(winds().await, [15.0]);
        let names = home.store(SOON).await.unwrap().carried_names().await.unwrap();
        let name = |span| whole_name(&source.to_string(), span);
        assert!(names.iter().any(|(old, new)| *old == name(note.items[0].span) && old != new), "{names:?}");
    }
}
