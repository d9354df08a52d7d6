//! What can go wrong in keeping: each error says what was expected, what was found, and where.

use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::source::SourceId;

/// The result of everything in this crate.
pub type Result<T, E = Error> = std::result::Result<T, E>;

/// Why something could not be kept or read back.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A file or folder could not be read or written.
    #[error("could not {doing} {}: {source}", path.display())]
    Disk {
        /// The step, as a verb: "write", "sync", "rename".
        doing: &'static str,
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Another process is writing to the home.
    #[error("{} is being written to by {by}; waited {} s for it", home.display(), waited.as_secs())]
    Held {
        /// The home.
        home: PathBuf,
        /// Who holds it: program, process number, since when.
        by: String,
        /// How long this process waited.
        waited: Duration,
    },
    /// A line of a record is not what it should be.
    #[error("{}:{line}: expected {expected}, found {found}", path.display())]
    Line {
        /// The file.
        path: PathBuf,
        /// Its line, from 1.
        line: usize,
        /// What should stand there.
        expected: String,
        /// What stands there.
        found: String,
    },
    /// A source's bytes are not the ones that it is named by.
    #[error("{}: expected bytes with SHA-256 {expected}, found {found}", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The hash in its name.
        expected: SourceId,
        /// The hash of its bytes, or why they do not unpack.
        found: String,
    },
    /// No source answers to a name or a hash.
    #[error(
        "expected the name or the first digits of the hash of a source, found \"{asked}\", which is none's"
    )]
    NoSource {
        /// What was asked for.
        asked: String,
    },
    /// More than one source answers to a name or a hash.
    #[error("\"{asked}\" could be any of {}: {}", found.len(), found.join(", "))]
    ManySources {
        /// What was asked for.
        asked: String,
        /// Name and short hash of each.
        found: Vec<String>,
    },
    /// A source was withdrawn; a decision stands against it.
    #[error("source {source_id} was withdrawn on {on}{}", if *erased { " and its bytes were erased" } else { "" })]
    Withdrawn {
        /// The source.
        source_id: SourceId,
        /// The day of the decision.
        on: String,
        /// Whether its bytes were destroyed as well.
        erased: bool,
    },
    /// No decision has this identifier, or it cannot be taken back.
    #[error("decision {id} cannot be undone: {why}")]
    CannotUndo {
        /// The decision.
        id: String,
        /// Why not.
        why: &'static str,
    },
    /// The database could not do something.
    #[error("database: could not {doing}: {source}")]
    Database {
        /// The step.
        doing: &'static str,
        /// What SQLite said.
        source: sqlx::Error,
    },
    /// A value in the database is not one that this program writes.
    #[error("database: in {table}: expected {expected}, found \"{found}\"")]
    Value {
        /// Table and column.
        table: &'static str,
        /// What should stand there.
        expected: &'static str,
        /// What stands there.
        found: String,
    },
    /// The search index could not do something.
    #[error("search: could not {doing}: {what}")]
    Search {
        /// The step.
        doing: &'static str,
        /// What the index said.
        what: String,
    },
    /// A question to the search is not well formed.
    #[error("search: expected {expected}, found \"{found}\"")]
    Question {
        /// What should stand there.
        expected: &'static str,
        /// What stands there.
        found: String,
    },
    /// A backup file does not hold what it says.
    #[error("{}: expected {expected}, found {found}", path.display())]
    Backup {
        /// The file.
        path: PathBuf,
        /// What should be there.
        expected: String,
        /// What is.
        found: String,
    },
    /// A background task stopped before it was done.
    #[error("a background task stopped while it was to {doing}: {what}")]
    Task {
        /// The step.
        doing: &'static str,
        /// Why it stopped.
        what: String,
    },
}

/// Names the step and the place of a system error.
pub(crate) fn at(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> Error {
    let path = path.to_owned();
    move |source| Error::Disk { doing, path, source }
}

/// Names the step of a database error.
pub(crate) fn db(doing: &'static str) -> impl FnOnce(sqlx::Error) -> Error {
    move |source| Error::Database { doing, source }
}

impl Error {
    /// Whether the disk is full, wherever that came to light.
    pub fn is_disk_full(&self) -> bool {
        match self {
            Error::Disk { source, .. } => {
                matches!(source.kind(), std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded)
            }
            // SQLITE_FULL
            Error::Database { source: sqlx::Error::Database(e), .. } => e.code().as_deref() == Some("13"),
            // The search library keeps what the system said as text only. 28 is ENOSPC.
            Error::Search { what, .. } => what.contains("os error 28"),
            _ => false,
        }
    }
}
