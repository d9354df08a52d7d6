//! The search index: tantivy over utterances, trials and items, made from the database.
//!
//! A source's documents are replaced together: all that bear its hash are deleted and those that hold now are added,
//! in one commit, so none is ever there twice. The commit carries a stamp of what it was made from; an index whose
//! stamp is not the database's, or that can't be opened, is made again from the database.

mod ask;
mod document;
pub(crate) mod keep;
mod slip;
#[cfg(test)]
mod tests;

use std::path::Path;

use tantivy::schema::{
    FAST, Field, IndexRecordOption, STORED, STRING, Schema, TextFieldIndexing, TextOptions,
};
use tantivy::{Index, IndexReader, IndexWriter, ReloadPolicy, TantivyDocument, Term};

use crate::error::{Error, Result};
use crate::source::SourceId;

pub use ask::{Find, Found, Hit, Word};
pub(crate) use document::documents;
pub use document::{Document, DocumentKind};

/// Memory for documents not yet written, in bytes. One thread is enough for notes and leaves the other core to
/// parsing; a larger arena makes fewer, larger segments.
const ARENA: usize = 64 << 20;

/// Arena for a handful of documents: tantivy's least, which takes less time to set up.
const SMALL_ARENA: usize = 15 << 20;

/// The index's fields.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fields {
    kind: Field,
    source: Field,
    n: Field,
    at: Field,
    at_offset: Field,
    start: Field,
    end: Field,
    gear: Field,
    quantity: Field,
    outcome: Field,
    state: Field,
    wind_low: Field,
    wind_high: Field,
    text: Field,
}

fn schema() -> (Schema, Fields) {
    let mut schema = Schema::builder();
    let words = TextFieldIndexing::default()
        .set_tokenizer("en_stem")
        .set_index_option(IndexRecordOption::WithFreqsAndPositions);
    let fields = Fields {
        kind: schema.add_text_field("kind", STRING | STORED),
        source: schema.add_text_field("source", STRING | STORED),
        n: schema.add_u64_field("n", STORED),
        at: schema.add_i64_field("at", FAST | STORED),
        at_offset: schema.add_i64_field("at_offset", STORED),
        start: schema.add_u64_field("start", STORED),
        end: schema.add_u64_field("end", STORED),
        gear: schema.add_text_field("gear", STRING | STORED),
        quantity: schema.add_text_field("quantity", STRING | STORED),
        outcome: schema.add_text_field("outcome", STRING | STORED),
        state: schema.add_text_field("state", STRING | STORED),
        wind_low: schema.add_f64_field("wind_low", FAST | STORED),
        wind_high: schema.add_f64_field("wind_high", FAST | STORED),
        text: schema.add_text_field("text", TextOptions::default().set_indexing_options(words).set_stored()),
    };
    (schema.build(), fields)
}

/// Names the step of an error of the index.
fn search(doing: &'static str) -> impl FnOnce(tantivy::TantivyError) -> Error {
    move |e| Error::Search { doing, what: e.to_string() }
}

/// A home's search index, for reading.
pub struct Search {
    index: Index,
    reader: IndexReader,
    fields: Fields,
}

impl std::fmt::Debug for Search {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Search").field("documents", &self.len()).finish()
    }
}

impl Search {
    /// Opens the index in a folder. Errors: none there, damaged, or of another shape.
    pub(crate) fn open(folder: &Path) -> Result<Self> {
        let (index, fields) = open(folder)?;
        let reader = index
            .reader_builder()
            .reload_policy(ReloadPolicy::Manual)
            .try_into()
            .map_err(search("open the index"))?;
        Ok(Self { index, reader, fields })
    }

    /// What the index was made from.
    pub(crate) fn stamp(&self) -> Result<Option<String>> {
        Ok(self.index.load_metas().map_err(search("read what the index was made from"))?.payload)
    }

    /// How many documents it holds.
    pub fn len(&self) -> usize {
        self.reader.searcher().num_docs() as usize
    }

    /// Whether it holds none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// All documents, sorted, for comparing with the database.
    pub(crate) fn all(&self) -> Result<Vec<Document>> {
        let searcher = self.reader.searcher();
        let mut all = Vec::new();
        for segment in searcher.segment_readers() {
            let store = segment.get_store_reader(8).map_err(|e| search("read the index")(e.into()))?;
            for document in store.iter::<TantivyDocument>(segment.alive_bitset()) {
                all.push(Document::from_stored(&document.map_err(search("read the index"))?, &self.fields)?);
            }
        }
        all.sort_by_key(|document| (document.source, document.kind, document.n));
        Ok(all)
    }

    /// Whether the files are what was written: tantivy's own checksums. Names those that are not.
    pub(crate) fn damaged_files(&self) -> Result<Vec<std::path::PathBuf>> {
        let damaged = self.index.validate_checksum().map_err(search("check the index"))?;
        Ok(damaged.into_iter().collect())
    }
}

fn open(folder: &Path) -> Result<(Index, Fields)> {
    let index = Index::open_in_dir(folder).map_err(search("open the index"))?;
    let (wanted, fields) = schema();
    if index.schema() != wanted {
        return Err(Error::Search {
            doing: "open the index",
            what: "its fields are those of another version".into(),
        });
    }
    Ok((index, fields))
}

/// Adds documents to an index, in one commit.
pub(crate) struct Indexer {
    writer: IndexWriter,
    fields: Fields,
}

impl std::fmt::Debug for Indexer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Indexer").finish_non_exhaustive()
    }
}

impl Indexer {
    /// Starts an empty index in an empty folder.
    pub(crate) fn create(folder: &Path) -> Result<Self> {
        let (schema, fields) = schema();
        let index = Index::create_in_dir(folder, schema).map_err(search("make an index"))?;
        Self::of(&index, fields, ARENA)
    }

    /// Goes on with an index that bears a stamp. `None`: it bears another one.
    pub(crate) fn resume(folder: &Path, stamp: &str) -> Result<Option<Self>> {
        let (index, fields) = open(folder)?;
        let payload = index.load_metas().map_err(search("read what the index was made from"))?.payload;
        if payload.as_deref() != Some(stamp) {
            return Ok(None);
        }
        Self::of(&index, fields, SMALL_ARENA).map(Some)
    }

    fn of(index: &Index, fields: Fields, arena: usize) -> Result<Self> {
        let writer = index.writer_with_num_threads(1, arena).map_err(search("write to the index"))?;
        Ok(Self { writer, fields })
    }

    /// Removes a source's documents.
    pub(crate) fn forget(&mut self, source: &SourceId) {
        self.writer.delete_term(Term::from_field_text(self.fields.source, &source.to_string()));
    }

    /// Adds a document. Before it, the documents of its source must have been removed.
    pub(crate) fn add(&mut self, document: &Document) -> Result<()> {
        let document = document.to_stored(&self.fields);
        self.writer.add_document(document).map_err(search("add to the index")).map(drop)
    }

    /// Writes it all down, with the stamp of what it was made from.
    pub(crate) fn commit(mut self, stamp: &str) -> Result<()> {
        let mut commit = self.writer.prepare_commit().map_err(search("commit to the index"))?;
        commit.set_payload(stamp);
        commit.commit().map_err(search("commit to the index"))?;
        self.writer.wait_merging_threads().map_err(search("merge the index's segments"))
    }
}
