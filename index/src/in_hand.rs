//! What a rebuild has read, kept in hand for those who would read it back at once: the matters that are folded, and the
//! search index.

use std::collections::HashSet;

use chrono::DateTime;
use leadsman_ingest::{Note, Span};

use crate::record::{Record, SourceState};
use crate::search::{Document, DocumentKind, documents};
use crate::source::SourceId;
use crate::store::Stored;
use crate::store::packed::take_reasons;

/// The findings of all sources that answer, just read.
#[derive(Debug, Default)]
pub(crate) struct InHand {
    notes: Option<Vec<Stored>>,
    documents: Vec<Document>,
}

/// The documents of a source that answers; none of another.
pub(crate) fn documents_of(record: &Record, source: SourceId, note: &Note) -> Vec<Document> {
    match record.state(&source).0 {
        // Which items are closed is known when matters are folded.
        SourceState::Live => documents(source, note, &HashSet::new()),
        _ => Vec::new(),
    }
}

impl InHand {
    /// Adds a source that was read, without its words and reasons, if it answers.
    pub(crate) fn add(
        &mut self,
        record: &Record,
        source: SourceId,
        mut note: Note,
        documents: Vec<Document>,
    ) {
        let (Some(first), Some(options)) = (record.first_arrival(&source), record.options(&source)) else {
            return;
        };
        let received = DateTime::from_timestamp_millis(first.time.timestamp_millis());
        let (SourceState::Live, Some(received)) = (record.state(&source).0, received) else { return };
        note.utterances = Vec::new();
        drop(take_reasons(&mut note));
        let recorded = note.recorded.map(|moment| moment.at);
        self.notes.get_or_insert_default().push(Stored {
            source,
            name: options.name.clone(),
            recorded,
            received,
            note,
        });
        self.documents.extend(documents);
    }

    /// Puts the notes in the order in which the database gives them.
    pub(crate) fn sort(&mut self) {
        self.notes.get_or_insert_default().sort_by_cached_key(|stored| {
            let received = stored.received.timestamp_millis();
            let at = stored.recorded.map_or(received, |recorded| recorded.timestamp_millis());
            (at, received, stored.name.clone(), stored.source.to_string())
        });
    }

    /// The notes, as [`crate::Store::notes`] gives them where neither words nor reasons are asked for; once.
    pub(crate) fn notes(&mut self) -> Option<Vec<Stored>> {
        self.notes.take()
    }

    /// The documents, by the places of items that are closed by now.
    pub(crate) fn documents(self, closed: &HashSet<(SourceId, Span)>) -> Vec<Document> {
        let mut documents = self.documents;
        for document in documents.iter_mut().filter(|document| document.kind == DocumentKind::Item) {
            document.open = Some(!closed.contains(&(document.source, document.span)));
        }
        documents
    }
}
