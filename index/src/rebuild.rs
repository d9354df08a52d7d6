//! The database made again from sources, arrivals and decisions.
//!
//! The new one is built beside the old and takes its place when it is complete.

use std::collections::{BTreeMap, HashSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use leadsman_ingest::{Hints, Note};
use sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection, Sqlite, SqliteConnection, Transaction};
use tokio::sync::mpsc;
use tokio::task::spawn_blocking;

use crate::archive::Archive;
use crate::arrival::Arrival;
use crate::check::known_lines;
use crate::correct;
use crate::decision::Entry;
use crate::device;
use crate::disk;
use crate::error::{Error, Result, at, db};
use crate::home::Home;
use crate::in_hand::{InHand, documents_of};
use crate::learned::{Lessons, taught};
use crate::lines;
use crate::lock;
use crate::record::{Record, SourceState};
use crate::search::Document;
use crate::search::keep::new_folder;
use crate::source::SourceId;
use crate::store::packed::Packed;
use crate::store::{self, channel, put, set_meta};
use crate::writer::{Writer, put_arrival, put_decisions, put_source};

/// Findings of so many sources go into the database at a time: few statements for many rows.
const TOGETHER: usize = 16;

/// What a rebuild did.
#[derive(Debug, Default)]
pub struct Rebuilt {
    /// Sources read again.
    pub sources: usize,
    /// Sources that could not be read again, and why.
    pub unread: Vec<(SourceId, String)>,
    /// Lines of the record that were gone and are written back.
    pub restored: usize,
    /// What the database stands for now.
    pub(crate) record: Record,
    /// What was read.
    pub(crate) in_hand: InHand,
}

impl Home {
    /// Makes database and search index again from sources, arrivals and decisions. Lines that the old database still
    /// knows and the record has lost are written back first. Errors:
    /// [`crate::Error::Held`]; the disk.
    pub async fn rebuild(&self, patience: Duration) -> Result<Rebuilt> {
        let (rebuilt, writer) = self.rebuild_and_write(patience).await?;
        writer.finish().await?;
        Ok(rebuilt)
    }

    /// As [`Home::rebuild`], but the search index is made by [`Writer::finish`]: once, after all that is yet to come.
    pub async fn rebuild_and_write(&self, patience: Duration) -> Result<(Rebuilt, Writer)> {
        let lock = lock::take(self.root(), patience).await?;
        // The search index is made beside the old one too, and needs the database no sooner than at its end.
        let begin = |in_hand: &mut InHand| in_hand.begin_index(&new_folder(self));
        let mut rebuilt = rebuild(self, begin).await?;
        let in_hand = std::mem::take(&mut rebuilt.in_hand);
        match Writer::with_lock(self, lock).await {
            Ok(mut writer) => {
                writer.hold(in_hand);
                Ok((rebuilt, writer))
            }
            Err(e) => {
                in_hand.drop().await;
                Err(e)
            }
        }
    }
}

/// Makes the database again; the caller holds the lock. What can be begun with all that was read, while SQLite makes
/// its indexes alone, is done `meanwhile`.
pub(crate) async fn rebuild(home: &Home, meanwhile: impl FnOnce(&mut InHand)) -> Result<Rebuilt> {
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
    disk::remove_folder(&home.kept_folder())?;
    let mut conn = store::options(&new)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Off)
        .synchronous(SqliteSynchronous::Off)
        // What was written is not read back from the disk, neither for the indexes.
        .pragma("cache_size", "-131072")
        .pragma("temp_store", "MEMORY")
        .connect()
        .await
        .map_err(db("make a new database"))?;
    let mut rebuilt = Rebuilt { record, restored, ..Rebuilt::default() };
    let mut transaction = conn.begin().await.map_err(db("begin"))?;
    store::create(&mut transaction).await?;
    fill(&mut transaction, home, &mut rebuilt).await?;
    meanwhile(&mut rebuilt.in_hand);
    let digest = rebuilt.record.digest().to_string();
    let completed = match complete(transaction, &digest).await {
        Ok(()) => put_in_place(conn, &new, &target).await,
        Err(e) => Err(e),
    };
    match completed {
        Ok(()) => Ok(rebuilt),
        Err(e) => {
            rebuilt.in_hand.drop().await;
            Err(e)
        }
    }
}

/// Makes the indexes of a filled database, and says which record it stands for.
async fn complete(mut transaction: Transaction<'_, Sqlite>, record: &str) -> Result<()> {
    sqlx::raw_sql(store::INDEXES).execute(&mut *transaction).await.map_err(db("make the indexes"))?;
    set_meta(&mut transaction, "record", Some(record)).await?;
    transaction.commit().await.map_err(db("commit"))
}

/// Closes a complete database, and puts it in the place of the one before it.
async fn put_in_place(mut conn: SqliteConnection, new: &Path, target: &Path) -> Result<()> {
    sqlx::raw_sql("PRAGMA journal_mode = WAL").execute(&mut conn).await.map_err(db("switch to WAL"))?;
    conn.close().await.map_err(db("close the new database"))?;
    swap(new, target).await
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

/// A source that was read again, ready for its rows.
struct ReadAgain {
    source: SourceId,
    note: Note,
    packed: Packed,
    hints: Hints,
    documents: Vec<Document>,
}

async fn fill(conn: &mut SqliteConnection, home: &Home, rebuilt: &mut Rebuilt) -> Result<()> {
    let taught = Arc::new(taught(&rebuilt.record));
    let record = Arc::new(std::mem::take(&mut rebuilt.record));
    let sources = record.sources();
    let mut read = read_all(home, &record, &taught, &sources);
    let mut ahead = BTreeMap::new();
    let mut ready: Vec<ReadAgain> = Vec::new();
    for (n, source) in sources.iter().enumerate() {
        // They come in any order; rows are written in that of the record.
        while !ahead.contains_key(&n) {
            let Some((at, read)) = read.recv().await else { break };
            ahead.insert(at, read);
        }
        let gone = || Err(Error::Task { doing: "read a source again", what: "its task ended".to_owned() });
        match ahead.remove(&n).unwrap_or_else(gone) {
            Ok(Some(read)) => ready.push(read),
            Ok(None) => put_source(conn, &record, source, false, None).await?,
            Err(e) => {
                rebuilt.unread.push((*source, e.to_string()));
                put_source(conn, &record, source, false, None).await?;
            }
        }
        if ready.len() == TOGETHER {
            put_read(conn, home, &record, &taught, rebuilt, &mut ready).await?;
        }
    }
    put_read(conn, home, &record, &taught, rebuilt, &mut ready).await?;
    for line in record.arrival_lines() {
        put_arrival(conn, line).await?;
    }
    put_decisions(conn, &record).await?;
    rebuilt.in_hand.sort();
    // The tasks that read have ended, and let go of the record.
    drop(read);
    rebuilt.record = Arc::unwrap_or_clone(record);
    Ok(())
}

/// Reads sources again, as many at a time as there are processors: more would only take memory from one another. Each
/// comes with its number; at most a few wait to be taken.
fn read_all(
    home: &Home,
    record: &Arc<Record>,
    taught: &Arc<Lessons>,
    sources: &[SourceId],
) -> mpsc::Receiver<(usize, Result<Option<ReadAgain>>)> {
    let (send, receive) = mpsc::channel(TOGETHER);
    let sources: Arc<[SourceId]> = sources.into();
    let next = Arc::new(AtomicUsize::new(0));
    for _ in 0..std::thread::available_parallelism().map_or(2, usize::from) {
        let (archive, record, taught) = (home.archive(), record.clone(), taught.clone());
        let (send, sources, next) = (send.clone(), sources.clone(), next.clone());
        spawn_blocking(move || {
            loop {
                let n = next.fetch_add(1, Ordering::Relaxed);
                let Some(source) = sources.get(n) else { break };
                // One source that cannot be read must not keep the others from being read.
                let read = catch_unwind(AssertUnwindSafe(|| read_again(&archive, &record, &taught, *source)));
                let read = read.unwrap_or_else(|_| {
                    Err(Error::Task {
                        doing: "read a source again",
                        what: "the program failed on it".to_owned(),
                    })
                });
                if send.blocking_send((n, read)).is_err() {
                    break;
                }
            }
        });
    }
    receive
}

/// Reads a source again, with the skipper's word on what is found in it; `None` where it was erased.
fn read_again(
    archive: &Archive,
    record: &Record,
    taught: &Lessons,
    source: SourceId,
) -> Result<Option<ReadAgain>> {
    if record.state(&source).0 == SourceState::Erased {
        return Ok(None);
    }
    let hints = record.options(&source).map(|arrival| arrival.hints()).unwrap_or_default();
    let mut note = channel::note(archive, &source, &hints, taught)?;
    correct::corrected(record, archive, &source, &mut note);
    let packed = Packed::new(&mut note)?;
    let documents = documents_of(record, source, &note);
    Ok(Some(ReadAgain { source, note, packed, hints, documents }))
}

/// Stores the sources that are ready.
async fn put_read(
    conn: &mut SqliteConnection,
    home: &Home,
    record: &Record,
    taught: &Lessons,
    rebuilt: &mut Rebuilt,
    ready: &mut Vec<ReadAgain>,
) -> Result<()> {
    for ReadAgain { source, note, .. } in ready.iter() {
        put_source(conn, record, source, true, Some(note)).await?;
    }
    put::notes(conn, ready.iter().map(|read| (read.source.key(), &read.note, &read.packed))).await?;
    for ReadAgain { source, note, mut hints, documents, .. } in ready.drain(..) {
        hints.columns.clone_from(&taught.columns);
        channel::put(conn, &home.archive(), &source, &note.format, &hints).await?;
        rebuilt.in_hand.add(record, source, note, documents);
        rebuilt.sources += 1;
    }
    Ok(())
}
