//! Ways into this crate's inner rooms for its benches. Not part of what the crate offers.

use std::path::Path;

use leadsman_ingest::Reading;
use sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection};

use crate::error::{Result, db};
use crate::search::{Document, Indexer, Search};
use crate::store::{self, put};

/// Stores readings into a new database file the way that a rebuild does: tables, rows, then indexes.
pub async fn store_readings(path: &Path, readings: &[Reading]) -> Result<()> {
    let mut conn = store::options(path)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Off)
        .synchronous(SqliteSynchronous::Off)
        .connect()
        .await
        .map_err(db("make a database"))?;
    let mut transaction = conn.begin().await.map_err(db("begin"))?;
    store::create(&mut transaction).await?;
    sqlx::query("INSERT INTO source (source, hash, name, bytes, received, state) VALUES (1, '1', 'bench', 1, 0, 'live')")
        .execute(&mut *transaction)
        .await
        .map_err(db("store a source"))?;
    let readings = readings.iter().enumerate().map(|reading| (1, reading)).collect();
    put::readings(&mut transaction, readings).await?;
    sqlx::raw_sql(store::INDEXES).execute(&mut *transaction).await.map_err(db("make the indexes"))?;
    transaction.commit().await.map_err(db("commit"))?;
    conn.close().await.map_err(db("close the database"))
}

/// Builds a search index of documents, by one thread.
pub fn build_search(folder: &Path, documents: impl Iterator<Item = Document>) -> Result<Search> {
    let mut indexer = Indexer::create(folder)?;
    for document in documents {
        indexer.add(&document)?;
    }
    indexer.commit("bench")?;
    Search::open(folder)
}
