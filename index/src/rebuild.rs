//! The database made again from sources, arrivals and decisions.
//!
//! The new one is built beside the old and takes its place when it is complete.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};

use leadsman_ingest::Note;
use sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection, SqliteConnection};
use tokio::task::spawn_blocking;

use crate::disk;
use crate::error::{Error, Result, at, db};
use crate::home::Home;
use crate::record::{Record, SourceState};
use crate::source::SourceId;
use crate::store::{self, put, set_meta};
use crate::writer::{put_arrival, put_decisions, put_source};

/// What a rebuild did.
#[derive(Clone, Debug, Default)]
pub struct Rebuilt {
    /// Sources read again.
    pub sources: usize,
    /// Sources that could not be read again, and why.
    pub unread: Vec<(SourceId, String)>,
    /// What the database stands for now.
    pub(crate) record: Record,
}

/// Makes the database again; the caller holds the lock.
pub(crate) async fn rebuild(home: &Home, _device: &str) -> Result<Rebuilt> {
    let record = home.record()?;
    let target = home.database();
    let new = target.with_extension("db.new");
    for path in beside(&new) {
        disk::remove(&path)?;
    }
    for source in record.erased() {
        home.archive().erase(source)?;
    }
    let mut conn = store::options(&new)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Off)
        .synchronous(SqliteSynchronous::Off)
        .connect()
        .await
        .map_err(db("make a new database"))?;
    let mut rebuilt = Rebuilt { record, ..Rebuilt::default() };
    let mut transaction = conn.begin().await.map_err(db("begin"))?;
    store::create(&mut transaction).await?;
    fill(&mut transaction, home, &mut rebuilt).await?;
    sqlx::raw_sql(store::INDEXES).execute(&mut *transaction).await.map_err(db("make the indexes"))?;
    set_meta(&mut transaction, "record", Some(&rebuilt.record.digest().to_string())).await?;
    transaction.commit().await.map_err(db("commit"))?;
    sqlx::raw_sql("PRAGMA journal_mode = WAL").execute(&mut conn).await.map_err(db("switch to WAL"))?;
    conn.close().await.map_err(db("close the new database"))?;
    swap(&new, &target).await?;
    Ok(rebuilt)
}

/// Puts the new file in the old one's place. The old one's log is emptied first: left beside the new file, it would
/// be taken for its own.
async fn swap(new: &Path, target: &Path) -> Result<()> {
    let file = std::fs::File::open(new).map_err(at("open", new))?;
    disk::sync(&file, new)?;
    if target.is_file() {
        let emptied = async {
            let mut old = store::options(target).connect().await?;
            sqlx::raw_sql("PRAGMA wal_checkpoint(TRUNCATE)").execute(&mut old).await?;
            old.close().await
        };
        // A database too damaged for that has a log that is good for nothing.
        let _: Result<(), sqlx::Error> = emptied.await;
    }
    for path in beside(target).into_iter().skip(1) {
        disk::remove(&path)?;
    }
    disk::rename(new, target)?;
    target.parent().map_or(Ok(()), disk::sync_folder)
}

/// A database's file and those that SQLite keeps beside it.
pub(crate) fn beside(database: &Path) -> [PathBuf; 4] {
    let with = |end: &str| {
        let mut path = database.as_os_str().to_owned();
        path.push(end);
        PathBuf::from(path)
    };
    [database.to_owned(), with("-wal"), with("-shm"), with("-journal")]
}

async fn fill(conn: &mut SqliteConnection, home: &Home, rebuilt: &mut Rebuilt) -> Result<()> {
    let most = std::thread::available_parallelism().map_or(2, usize::from) * 2;
    let mut sources = rebuilt.record.sources().into_iter();
    let mut queue = VecDeque::new();
    loop {
        while queue.len() < most {
            let Some(source) = sources.next() else { break };
            let archive = home.archive();
            let hints = rebuilt.record.options(&source).map(|arrival| arrival.hints()).unwrap_or_default();
            let erased = rebuilt.record.state(&source).0 == SourceState::Erased;
            let task = spawn_blocking(move || {
                if erased {
                    return Ok(None);
                }
                archive.read(&source).map(|bytes| Some(leadsman_ingest::read(&bytes, &hints)))
            });
            queue.push_back((source, task));
        }
        let Some((source, task)) = queue.pop_front() else { break };
        let read: Result<Option<Note>> = match task.await {
            Ok(read) => read,
            Err(e) => Err(Error::Task { doing: "read a source again", what: e.to_string() }),
        };
        let note = match read {
            Ok(note) => note,
            Err(e) => {
                rebuilt.unread.push((source, e.to_string()));
                None
            }
        };
        put_source(conn, &rebuilt.record, &source, note.is_some(), note.as_ref()).await?;
        if let Some(note) = note {
            put::note(conn, &source, &note).await?;
            rebuilt.sources += 1;
        }
    }
    for line in rebuilt.record.arrival_lines() {
        put_arrival(conn, line).await?;
    }
    put_decisions(conn, &rebuilt.record).await
}
