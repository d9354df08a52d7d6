//! One writer at a time, across processes: an advisory lock on the file `lock` in the home.
//!
//! The system lets go of it when the process ends, however it ends, so there is nothing to clean up after a crash.
//! The file holds who took it last, for the message to those who wait. Readers don't need it.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::time::{Duration, Instant};

use chrono::{Local, SecondsFormat};

use crate::error::{Error, Result, at};

/// The right to write to a home, until dropped.
#[derive(Debug)]
pub(crate) struct Lock(
    #[expect(dead_code, reason = "held for its lock, which goes when it is dropped")] File,
);

/// How often one who waits looks again.
const LOOK_AGAIN: Duration = Duration::from_millis(20);

/// Takes the lock, waiting no longer than `patience`. Errors: [`Error::Held`], with who holds it.
pub(crate) async fn take(root: &Path, patience: Duration) -> Result<Lock> {
    let start = Instant::now();
    loop {
        if let Some(lock) = try_take(root)? {
            return Ok(lock);
        }
        let waited = start.elapsed();
        if waited >= patience {
            return Err(Error::Held { home: root.to_owned(), by: holder(root), waited });
        }
        tokio::time::sleep(LOOK_AGAIN.min(patience - waited)).await;
    }
}

/// Takes the lock if nobody holds it.
pub(crate) fn try_take(root: &Path) -> Result<Option<Lock>> {
    let path = root.join("lock");
    let mut file = OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(&path)
        .map_err(at("open", &path))?;
    match file.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => return Ok(None),
        Err(TryLockError::Error(e)) => return Err(at("lock", &path)(e)),
    }
    // Only a help for those who wait: a disk too full for it doesn't stop the work.
    let note =
        file.set_len(0).and_then(|()| file.rewind()).and_then(|()| file.write_all(whoami().as_bytes()));
    drop(note);
    Ok(Some(Lock(file)))
}

fn whoami() -> String {
    let program = std::env::args_os()
        .next()
        .and_then(|path| Some(Path::new(&path).file_stem()?.to_string_lossy().into_owned()))
        .unwrap_or_else(|| "a program".to_owned());
    let since = Local::now().to_rfc3339_opts(SecondsFormat::Secs, false);
    format!("{program} (process {}, since {since})", std::process::id())
}

fn holder(root: &Path) -> String {
    let mut text = String::new();
    match File::open(root.join("lock")).and_then(|file| file.take(200).read_to_string(&mut text)) {
        Ok(_) if !text.trim().is_empty() => text.trim().to_owned(),
        _ => "another process".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn the_second_waits_then_says_who_holds_it() {
        let folder = tempfile::tempdir().unwrap();
        let first = take(folder.path(), Duration::ZERO).await.unwrap();
        let refused = take(folder.path(), Duration::from_millis(50)).await.unwrap_err();
        let Error::Held { by, waited, .. } = refused else { panic!("{refused}") };
        assert!(by.contains(&format!("process {}", std::process::id())), "{by}");
        assert!(waited >= Duration::from_millis(50));
        let waiting = take(folder.path(), Duration::from_secs(5));
        let (second, ()) = tokio::join!(waiting, async {
            tokio::time::sleep(Duration::from_millis(40)).await;
            drop(first);
        });
        second.unwrap();
    }
}
