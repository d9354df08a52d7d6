//! The file that a recording grows in: `recording/recorded-20260509T101112Z.log` in the home.
//!
//! Bytes go to the file as they come and are on the disk a few seconds later. A closed file becomes a source and is
//! removed. Its first line says that it was recorded, so that it is a log whatever came. While it is being written it is locked; a file that nobody holds was left by a crash, and is adopted.

use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use chrono::{DateTime, Utc};
use leadsman_index::{Dump, Home, Outcome};
use leadsman_ingest::instrument::RECORDED;

use crate::error::Error;

/// The folder in the home.
pub const FOLDER: &str = "recording";
/// Seconds after which what came is on the disk for certain; ten are promised.
pub const SYNC: Duration = Duration::from_secs(5);
/// A file is closed when it has grown to this, whatever its age.
pub const BYTES_MAX: u64 = 64 << 20;

/// A growing file.
#[derive(Debug)]
pub struct Spool {
    path: PathBuf,
    file: File,
    begun: Instant,
    bytes: u64,
    synced: Instant,
    dirty: bool,
}

impl Spool {
    /// Begins a file named for an instant. Errors: the folder or the file cannot be made.
    pub fn begin(home: &Path, at: DateTime<Utc>) -> Result<Self, Error> {
        let folder = home.join(FOLDER);
        std::fs::create_dir_all(&folder).map_err(|error| fault("make", &folder, &error))?;
        let name = format!("recorded-{}", at.format("%Y%m%dT%H%M%SZ"));
        // Two recordings may begin in the same second.
        for n in 1.. {
            let path = match n {
                1 => folder.join(format!("{name}.log")),
                n => folder.join(format!("{name}-{n}.log")),
            };
            match OpenOptions::new().write(true).create_new(true).open(&path) {
                Ok(file) => {
                    file.lock().map_err(|error| fault("lock", &path, &error))?;
                    let now = Instant::now();
                    return Ok(Self { path, file, begun: now, bytes: 0, synced: now, dirty: false });
                }
                Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
                Err(error) => return Err(fault("make", &path, &error)),
            }
        }
        unreachable!("there is always a next number")
    }

    /// Writes what was kept.
    pub fn write(&mut self, bytes: &[u8]) -> Result<(), Error> {
        if bytes.is_empty() {
            return Ok(());
        }
        let begin = format!("{RECORDED}, each sentence with the time of its arrival\r\n");
        let head = if self.bytes == 0 { begin.as_bytes() } else { b"" };
        for part in [head, bytes] {
            self.file.write_all(part).map_err(|error| fault("write to", &self.path, &error))?;
            self.bytes += part.len() as u64;
        }
        self.dirty = true;
        self.sync_when_due()
    }

    /// Brings what was written onto the disk, if that is due.
    pub fn sync_when_due(&mut self) -> Result<(), Error> {
        if self.dirty && self.synced.elapsed() >= SYNC { self.sync() } else { Ok(()) }
    }

    fn sync(&mut self) -> Result<(), Error> {
        self.file.sync_data().map_err(|error| fault("write to", &self.path, &error))?;
        (self.synced, self.dirty) = (Instant::now(), false);
        Ok(())
    }

    /// Whether it is old or large enough to be closed.
    pub fn is_full(&self, age: Duration) -> bool {
        self.bytes > 0 && (self.bytes >= BYTES_MAX || self.begun.elapsed() >= age)
    }

    /// Closes the file and lets go of it, so that it can be taken; one that is empty is removed. Its path, if it stays.
    pub fn close(mut self) -> Result<Option<PathBuf>, Error> {
        self.sync()?;
        if self.bytes == 0 {
            std::fs::remove_file(&self.path).map_err(|error| fault("remove", &self.path, &error))?;
            return Ok(None);
        }
        Ok(Some(self.path))
    }
}

/// Whether a recording waits to be taken in a home.
pub fn is_left(home: &Path) -> bool {
    left(home).iter().any(|path| is_free(path))
}

fn left(home: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(home.join(FOLDER)) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "log") && path.is_file());
    paths.sort();
    paths
}

/// An empty file younger than this may be one that is just being begun, not locked yet.
const JUST_BEGUN: Duration = Duration::from_secs(60);

/// Whether no recorder holds a file.
fn is_free(path: &Path) -> bool {
    let Ok(file) = OpenOptions::new().read(true).write(true).open(path) else { return false };
    let Ok(about) = file.metadata() else { return false };
    let old = about.modified().ok().and_then(|at| at.elapsed().ok()).is_some_and(|age| age >= JUST_BEGUN);
    (about.len() > 0 || old) && file.try_lock().is_ok()
}

/// A recording that was taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adopted {
    /// The source's name.
    pub name: String,
    /// Samples in it.
    pub samples: u64,
}

/// Takes all recordings that no recorder holds as sources, and removes their files. Errors: the home is held by another
/// writer for longer than `patience`, or a file cannot be taken; it then stays, to be taken another time.
pub async fn adopt(home: &Home, patience: Duration) -> Result<Vec<Adopted>, Error> {
    let mut adopted = Vec::new();
    if !is_left(home.root()) {
        return Ok(adopted);
    }
    let mut writer = home.writer(patience).await?;
    // Looked for again: another one may have taken them while this one waited for the home.
    for path in left(home.root()).into_iter().filter(|path| is_free(path)) {
        if std::fs::metadata(&path).map_or(0, |about| about.len()) > 0 {
            let reports = writer.ingest([Dump::file(&path)], |_| {}).await?;
            for report in reports {
                match report.outcome {
                    Outcome::Taken { channels, .. } => {
                        let samples = channels.map_or(0, |held| held.samples);
                        adopted.push(Adopted { name: report.name, samples });
                    }
                    Outcome::AlreadyThere { .. } => {}
                    Outcome::Refused { error } => return Err(Error::from_index(&error)),
                }
            }
        }
        std::fs::remove_file(&path).map_err(|error| fault("remove", &path, &error))?;
    }
    writer.finish().await?;
    Ok(adopted)
}

fn fault(doing: &str, path: &Path, error: &std::io::Error) -> Error {
    let hint = if error.kind() == ErrorKind::StorageFull {
        "free some space; what was recorded so far is kept"
    } else {
        "see that the home's folder is there and that you may write to it"
    };
    Error::home(format!("cannot {doing} {}", path.display())).because(error).hint(hint)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at() -> DateTime<Utc> {
        DateTime::from_timestamp(1_778_321_472, 0).expect("an instant")
    }

    #[test]
    fn files_have_names_of_their_own_and_empty_ones_go() {
        let folder = tempfile::tempdir().expect("a folder");
        let (one, mut two) =
            (Spool::begin(folder.path(), at()), Spool::begin(folder.path(), at()).expect("a file"));
        let one = one.expect("a file");
        assert!(one.path.ends_with("recorded-20260509T101112Z.log"));
        assert!(two.path.ends_with("recorded-20260509T101112Z-2.log"));
        assert!(!is_left(folder.path()), "both are held");
        assert!(!two.is_full(Duration::ZERO));
        two.write(b"$INMTW,17.9,C*1B\r\n").expect("written");
        assert!(two.is_full(Duration::ZERO) && !two.is_full(Duration::from_secs(60)));
        assert_eq!(one.close().expect("closed"), None);
        assert!(two.close().expect("closed").is_some_and(|path| path.is_file()));
        assert!(is_left(folder.path()));
    }

    #[tokio::test]
    async fn what_is_left_is_adopted_once() {
        let folder = tempfile::tempdir().expect("a folder");
        let home = Home::open(folder.path()).expect("a home");
        let mut spool = Spool::begin(folder.path(), at()).expect("a file");
        spool.write(b"2026-05-09T10:11:12.345Z $INMTW,17.9,C*1B\r\n").expect("written");
        assert_eq!(adopt(&home, Duration::ZERO).await.expect("nothing to do"), []);
        drop(spool);
        let adopted = adopt(&home, Duration::ZERO).await.expect("taken");
        assert_eq!(adopted, [Adopted { name: "recorded-20260509T101112Z.log".to_owned(), samples: 1 }]);
        assert!(!is_left(folder.path()));
        assert_eq!(adopt(&home, Duration::ZERO).await.expect("nothing to do"), []);
    }
}
