//! What a rebuild has read, kept in hand for those who would read it back at once: the matters that are folded, and the
//! search index.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use chrono::DateTime;
use leadsman_ingest::{Note, Span};
use tokio::task::{JoinHandle, spawn_blocking};

use crate::error::{Error, Result};
use crate::record::{Record, SourceState};
use crate::search::{Document, DocumentKind, Indexer, documents, keep};
use crate::source::SourceId;
use crate::store::Stored;
use crate::store::packed::take_reasons;

/// The findings of all sources that answer, just read.
#[derive(Debug, Default)]
pub(crate) struct InHand {
    notes: Option<Vec<Stored>>,
    /// What is searched of items; whether they stand open is known when matters are folded.
    items: Vec<Document>,
    /// What is searched of utterances and trials, until it is added to the index.
    rest: Vec<Document>,
    begun: Option<JoinHandle<Result<Indexer>>>,
}

/// The documents of a source that answers; none of another.
pub(crate) fn documents_of(record: &Record, source: SourceId, note: &Note) -> Vec<Document> {
    match record.state(&source).0 {
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
        for document in documents {
            match document.kind {
                DocumentKind::Item => self.items.push(document),
                DocumentKind::Utterance | DocumentKind::Trial => self.rest.push(document),
            }
        }
    }

    /// Puts the notes in the order in which the database gives them, and their documents with them.
    pub(crate) fn sort(&mut self) {
        let notes = self.notes.get_or_insert_default();
        notes.sort_by_cached_key(|stored| {
            let received = stored.received.timestamp_millis();
            let at = stored.recorded.map_or(received, |recorded| recorded.timestamp_millis());
            (at, received, stored.name.clone(), stored.source.to_string())
        });
        let places: HashMap<SourceId, usize> =
            notes.iter().enumerate().map(|(n, stored)| (stored.source, n)).collect();
        for documents in [&mut self.items, &mut self.rest] {
            documents.sort_by_cached_key(|document| places.get(&document.source).copied());
        }
    }

    /// The notes, as [`crate::Store::notes`] gives them where neither words nor reasons are asked for; once.
    pub(crate) fn notes(&mut self) -> Option<Vec<Stored>> {
        self.notes.take()
    }

    /// Begins the search index in a folder, while matters are folded.
    pub(crate) fn begin_index(&mut self, folder: &Path) {
        if self.begun.is_some() {
            return;
        }
        let (rest, folder) = (std::mem::take(&mut self.rest), folder.to_owned());
        self.begun = Some(spawn_blocking(move || keep::begin(&folder, rest)));
    }

    /// The index with all documents in it, by the places of items that are closed by now. Errors: the disk.
    pub(crate) async fn index(self, folder: &Path, closed: &HashSet<(SourceId, Span)>) -> Result<Indexer> {
        let mut indexer = match self.begun {
            Some(begun) => ended(begun).await?,
            None => keep::begin(folder, self.rest)?,
        };
        for mut document in self.items {
            document.open = Some(!closed.contains(&(document.source, document.span)));
            indexer.add(&document)?;
        }
        Ok(indexer)
    }

    /// Lets go of it all; returns when nothing writes to the index any more.
    pub(crate) async fn drop(self) {
        if let Some(begun) = self.begun {
            drop(ended(begun).await);
        }
    }
}

async fn ended(begun: JoinHandle<Result<Indexer>>) -> Result<Indexer> {
    begun.await.unwrap_or_else(|e| Err(Error::Task { doing: "make the search index", what: e.to_string() }))
}
