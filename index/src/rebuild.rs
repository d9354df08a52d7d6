//! The database made again from sources, arrivals and decisions.
//!
//! The new one is built beside the old and takes its place when it is complete.

use std::collections::{HashSet, VecDeque};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use leadsman_ingest::Note;
use sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection, SqliteConnection};
use tokio::task::spawn_blocking;

use crate::arrival::Arrival;
use crate::check::known_lines;
use crate::correct;
use crate::decision::Entry;
use crate::device;
use crate::disk;
use crate::error::{Error, Result, at, db};
use crate::home::Home;
use crate::learned::taught;
use crate::lines;
use crate::lock;
use crate::record::{Record, SourceState};
use crate::search::keep;
use crate::source::SourceId;
use crate::store::{self, channel, put, set_meta};
use crate::writer::{put_arrival, put_decisions, put_source};

/// What a rebuild did.
#[derive(Clone, Debug, Default)]
pub struct Rebuilt {
    /// Sources read again.
    pub sources: usize,
    /// Sources that could not be read again, and why.
    pub unread: Vec<(SourceId, String)>,
    /// Lines of the record that were gone and are written back.
    pub restored: usize,
    /// What the database stands for now.
    pub(crate) record: Record,
}

impl Home {
    /// Makes database and search index again from sources, arrivals and decisions. Lines that the old database still
    /// knows and the record has lost are written back first. Errors:
    /// [`crate::Error::Held`]; the disk.
    pub async fn rebuild(&self, patience: Duration) -> Result<Rebuilt> {
        let lock = lock::take(self.root(), patience).await?;
        let rebuilt = rebuild(self).await?;
        let mut conn = store::options(&self.database()).connect().await.map_err(db("open the database"))?;
        keep::follow(self, &mut conn, None, &Default::default()).await?;
        conn.close().await.map_err(db("close the database"))?;
        drop(lock);
        Ok(rebuilt)
    }
}

/// Makes the database again; the caller holds the lock.
pub(crate) async fn rebuild(home: &Home) -> Result<Rebuilt> {
    let restored = restore_lines(home).await?;
    let record = home.record()?;
    let target = home.database();
    let new = target.with_extension("db.new");
    for path in beside(&new) {
        disk::remove(&path)?;
    }
    for source in record.erased() {
        home.archive().erase(source)?;
    }
    for path in home.archive().list()?.unfinished {
        disk::remove(&path)?;
    }
    let mut conn = store::options(&new)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Off)
        .synchronous(SqliteSynchronous::Off)
        .connect()
        .await
        .map_err(db("make a new database"))?;
    let mut rebuilt = Rebuilt { record, restored, ..Rebuilt::default() };
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

/// Writes back lines that the old database was made from and that the record has lost: a file cut short, deleted, or
/// brought back from an older copy. A line that was once there was acknowledged. How many there were.
async fn restore_lines(home: &Home) -> Result<usize> {
    let record = home.record()?;
    let known = async {
        let mut conn = store::options(&home.database()).connect().await.map_err(db("open the database"))?;
        let known = known_lines(&mut conn).await;
        // A database too damaged for that has nothing to give.
        drop(conn.close().await);
        known
    };
    let known = if home.database().is_file() { known.await.unwrap_or_default() } else { Vec::new() };
    let here: HashSet<&str> = record.ids().collect();
    let mut restored = 0;
    for line in known.iter().filter(|line| !here.contains(line.id.as_str()) && device::is_name(&line.device))
    {
        let (path, text) = (home.root().join(line.file()), std::slice::from_ref(&line.text));
        // Only what reads as a line of its kind goes back.
        let written = match line.folder {
            "arrivals" => {
                lines::is_line::<Arrival>(&line.text)
                    && lines::append::<Arrival>(&path, text).map(|()| true)?
            }
            _ => lines::is_line::<Entry>(&line.text) && lines::append::<Entry>(&path, text).map(|()| true)?,
        };
        restored += usize::from(written);
    }
    Ok(restored)
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
    let taught = Arc::new(taught(&rebuilt.record));
    let mut sources = rebuilt.record.sources().into_iter();
    let mut queue = VecDeque::new();
    loop {
        while queue.len() < most {
            let Some(source) = sources.next() else { break };
            let archive = home.archive();
            let hints = rebuilt.record.options(&source).map(|arrival| arrival.hints()).unwrap_or_default();
            let erased = rebuilt.record.state(&source).0 == SourceState::Erased;
            let taught = taught.clone();
            let task = spawn_blocking(move || {
                if erased {
                    return Ok(None);
                }
                channel::note(&archive, &source, &hints, &taught).map(Some)
            });
            queue.push_back((source, task));
        }
        let Some((source, task)) = queue.pop_front() else { break };
        let read: Result<Option<Note>> = match task.await {
            Ok(read) => read,
            Err(e) => Err(Error::Task { doing: "read a source again", what: e.to_string() }),
        };
        let note = match read {
            Ok(Some(mut note)) => {
                correct::corrected(&rebuilt.record, &home.archive(), &source, &mut note);
                Some(note)
            }
            Ok(None) => None,
            Err(e) => {
                rebuilt.unread.push((source, e.to_string()));
                None
            }
        };
        put_source(conn, &rebuilt.record, &source, note.is_some(), note.as_ref()).await?;
        if let Some(note) = note {
            put::note(conn, &source, &note).await?;
            let mut hints =
                rebuilt.record.options(&source).map(|arrival| arrival.hints()).unwrap_or_default();
            hints.columns.clone_from(&taught.columns);
            channel::put(conn, &home.archive(), &source, &note.format, &hints).await?;
            rebuilt.sources += 1;
        }
    }
    for line in rebuilt.record.arrival_lines() {
        put_arrival(conn, line).await?;
    }
    put_decisions(conn, &rebuilt.record).await
}
