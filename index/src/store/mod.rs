//! The database: SQLite through sqlx, made from sources, arrivals and decisions.
//!
//! [`Store`] reads. Writing goes through [`crate::Writer`], which holds the home's lock.

pub(crate) mod ask;
pub(crate) mod channel;
pub(crate) mod detail;
pub(crate) mod packed;
pub(crate) mod put;
pub(crate) mod rows;
pub(crate) mod take;

use std::path::Path;
use std::time::Duration;

use sha2::{Digest, Sha256};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{ConnectOptions, SqliteConnection, SqlitePool};

use crate::error::{Result, db};
use crate::home::Home;
use crate::record::Record;
use crate::source::SourceId;

pub use ask::{Asked, Counts, SourceRow, StoredNotice, StoredReading, StoredTrial};
pub use channel::{ChannelRow, Gap, Held};
pub use detail::{Detail, SAMPLES_MAX};
pub use take::{Stored, With};

pub(crate) const SCHEMA: &str = include_str!("../schema.sql");
pub(crate) const INDEXES: &str = include_str!("../indexes.sql");

/// What a database that this program can use was made by: its schema and the code that reads sources.
pub(crate) fn maker() -> String {
    let mut hash = Sha256::new();
    hash.update(SCHEMA);
    hash.update(INDEXES);
    format!("{}-{}", SourceId::from_digest(hash.finalize().into()).short(), env!("LEADSMAN_READER"))
}

/// Rows that SQLite's thread may be ahead of the one that takes them. With the library's own few the two wait for each
/// other at every handful of rows, which doubled the time of a cold `open` on a busy machine.
const ROWS: usize = 4_096;

/// How long SQLite waits for another process's short locks before it gives up.
const BUSY: Duration = Duration::from_secs(10);

pub(crate) fn options(path: &Path) -> SqliteConnectOptions {
    // NORMAL syncs at checkpoints only. What a power cut takes from the database is made again from the record.
    SqliteConnectOptions::new()
        .filename(path)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Normal)
        .foreign_keys(true)
        .busy_timeout(BUSY)
        .row_buffer_size(ROWS)
        .disable_statement_logging()
}

/// A home's database for reading, as of the moment it was opened and as the writer goes on filling it.
#[derive(Clone, Debug)]
pub struct Store {
    pub(crate) pool: SqlitePool,
    home: Home,
    record: std::sync::Arc<Record>,
    made_again: Option<String>,
    behind: bool,
}

impl Store {
    /// Opens a database that was found usable.
    pub(crate) fn open(home: &Home, record: Record, made_again: Option<String>, behind: bool) -> Self {
        let pool = SqlitePoolOptions::new()
            .min_connections(0)
            .max_connections(4)
            .connect_lazy_with(options(&home.database()));
        Self { pool, home: home.clone(), record: std::sync::Arc::new(record), made_again, behind }
    }

    /// The home that it is of.
    pub fn home(&self) -> &Home {
        &self.home
    }

    /// The arrivals and decisions as they stood when it was opened.
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// Why the database was made again on opening, if it was.
    pub fn made_again(&self) -> Option<&str> {
        self.made_again.as_deref()
    }

    /// Whether another process is writing, so that the answers may lag behind the record.
    pub fn is_behind(&self) -> bool {
        self.behind
    }

    /// The findings of all sources that answer, in order of the time recorded (where none is known, received).
    pub async fn notes(&self, with: With) -> Result<Vec<Stored>> {
        take::notes(&self.pool, take::Which::Live, with).await
    }

    /// The findings of one source, whether they answer or not.
    pub async fn note(&self, source: &SourceId, with: With) -> Result<Option<Stored>> {
        Ok(take::notes(&self.pool, take::Which::One(source), with).await?.pop())
    }

    /// Ends its connections. Dropping it does so too, in the background.
    pub async fn close(self) {
        self.pool.close().await;
    }
}

/// What the database is good for.
#[derive(Debug)]
pub(crate) enum State {
    /// It stands for the record as it is.
    Current,
    /// It was made by this program, from an earlier record.
    Behind(String),
    /// It must be made again before it can be used.
    Unusable(String),
}

/// Looks at a home's database without changing it.
pub(crate) async fn look(home: &Home, record: &Record) -> State {
    let path = home.database();
    if !path.is_file() {
        return State::Unusable("there was none yet".to_owned());
    }
    let looked = async {
        let mut conn = options(&path).connect().await?;
        let maker: Option<String> = meta(&mut conn, "maker").await?;
        let digest: Option<String> = meta(&mut conn, "record").await?;
        Ok::<_, sqlx::Error>((maker, digest))
    };
    match looked.await {
        Err(e) => State::Unusable(format!("the one there could not be read ({e})")),
        Ok((made_by, _)) if made_by.as_deref() != Some(&maker()) => {
            State::Unusable("the one there was made by another version of the program".to_owned())
        }
        Ok((_, digest)) if digest.as_deref() == Some(&record.digest().to_string()) => State::Current,
        Ok(_) => State::Behind("arrivals or decisions have come in that it does not know".to_owned()),
    }
}

pub(crate) async fn meta(conn: &mut SqliteConnection, key: &str) -> Result<Option<String>, sqlx::Error> {
    sqlx::query_scalar("SELECT value FROM meta WHERE key = ?").bind(key).fetch_optional(conn).await
}

pub(crate) async fn set_meta(conn: &mut SqliteConnection, key: &str, value: Option<&str>) -> Result<()> {
    let query = match value {
        Some(value) => {
            sqlx::query("INSERT INTO meta VALUES (?1, ?2) ON CONFLICT (key) DO UPDATE SET value = ?2")
                .bind(key)
                .bind(value)
        }
        None => sqlx::query("DELETE FROM meta WHERE key = ?").bind(key),
    };
    query.execute(conn).await.map_err(db("write down what the database stands for"))?;
    Ok(())
}

/// Makes the tables and views in an empty database. Indexes come after the first rows.
pub(crate) async fn create(conn: &mut SqliteConnection) -> Result<()> {
    sqlx::raw_sql(SCHEMA).execute(&mut *conn).await.map_err(db("make the tables"))?;
    set_meta(conn, "maker", Some(&maker())).await
}
