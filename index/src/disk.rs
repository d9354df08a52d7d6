//! Every write, sync, rename and removal of what the skipper gave goes through here, and nowhere else.
//!
//! That gives one place where it can be tested what a crash, a full disk or a lost permission does at each step.
//! Debug builds (and builds with the feature `faults`) read `LEADSMAN_FAULT`: `KIND:N`, where N counts operations
//! from 1 and KIND is
//!
//! | kind | at operation N |
//! | --- | --- |
//! | `kill` | the process stops dead before it |
//! | `torn` | half of a write reaches the disk, then the process stops dead |
//! | `full` | it and everything after it fails for want of space |
//! | `denied` | it and everything after it fails for want of permission |
//! | `fail` | it alone fails |
//!
//! A release build does not look.

use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::Path;

use tempfile::NamedTempFile;

use crate::error::{Result, at};

/// Makes a folder and those above it.
pub(crate) fn make_folder(path: &Path) -> Result<()> {
    if path.is_dir() {
        return Ok(());
    }
    fault::point(path).and_then(|()| fs::create_dir_all(path)).map_err(at("make the folder", path))
}

/// Writes bytes whole or not at all: under a temporary name in the same folder, synced, renamed, folder synced.
/// With `read_only` the file can not be written to afterwards.
pub(crate) fn write_whole(path: &Path, bytes: &[u8], read_only: bool) -> Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut temporary = unfinished(folder, path)?;
    fault::write(temporary.as_file_mut(), path, bytes).map_err(at("write", path))?;
    finish_whole(temporary, path, read_only)
}

/// Writes bytes whole or not at all, of what can be made again: under a temporary name in the same folder, renamed, not
/// synced.
pub(crate) fn write_unsynced(path: &Path, bytes: &[u8]) -> Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut temporary = unfinished(folder, path)?;
    fault::write(temporary.as_file_mut(), path, bytes).map_err(at("write", path))?;
    fault::point(path)
        .and_then(|()| temporary.persist(path).map(drop).map_err(|e| e.error))
        .map_err(at("rename a temporary file to", path))
}

/// Writes a file of bytes that come as they come, under a temporary name in a folder; [`finish_whole`] gives it its
/// name, dropping it removes it. `fill` writes them.
pub(crate) fn write_unfinished<T>(
    folder: &Path,
    fill: impl FnOnce(&mut dyn Write) -> std::io::Result<T>,
) -> Result<(NamedTempFile, T)> {
    let mut temporary = unfinished(folder, folder)?;
    let mut into = Through { file: temporary.as_file_mut(), folder };
    let filled = fill(&mut into).map_err(at("write a file in", folder))?;
    Ok((temporary, filled))
}

fn unfinished(folder: &Path, path: &Path) -> Result<NamedTempFile> {
    make_folder(folder)?;
    fault::point(path)
        .and_then(|()| tempfile::Builder::new().prefix(TEMPORARY).tempfile_in(folder))
        .map_err(at("make a temporary file in", folder))
}

/// Gives a file that was written under a temporary name its own: synced, renamed, folder synced.
pub(crate) fn finish_whole(temporary: NamedTempFile, path: &Path, read_only: bool) -> Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    make_folder(folder)?;
    if read_only {
        let mut permissions = temporary.as_file().metadata().map_err(at("look at", path))?.permissions();
        permissions.set_readonly(true);
        temporary.as_file().set_permissions(permissions).map_err(at("write-protect", path))?;
    }
    sync(temporary.as_file(), path)?;
    fault::point(path)
        .and_then(|()| temporary.persist(path).map(drop).map_err(|e| e.error))
        .map_err(at("rename a temporary file to", path))?;
    sync_folder(folder)
}

/// A file written to a piece at a time.
struct Through<'a> {
    file: &'a mut File,
    folder: &'a Path,
}

impl Write for Through<'_> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        fault::write(self.file, self.folder, bytes)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// How the names of unfinished files begin.
pub(crate) const TEMPORARY: &str = ".unfinished-";

/// Writes bytes on into a file of what can be made again, which need not be synced: with the faults that tests set, as all
/// else that is written to a home.
pub fn write_on(file: &mut File, path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    fault::write(file, path, bytes)
}

/// Appends bytes to a file, made if need be, and returns when they are on the disk.
pub(crate) fn append(path: &Path, bytes: &[u8]) -> Result<()> {
    let new = !path.exists();
    let mut file = fault::point(path)
        .and_then(|()| OpenOptions::new().append(true).create(true).open(path))
        .map_err(at("open", path))?;
    fault::write(&mut file, path, bytes).map_err(at("append to", path))?;
    sync(&file, path)?;
    if new && let Some(folder) = path.parent() {
        sync_folder(folder)?;
    }
    Ok(())
}

/// Cuts a file off after `length` bytes.
pub(crate) fn cut(path: &Path, length: u64) -> Result<()> {
    let file = fault::point(path)
        .and_then(|()| OpenOptions::new().write(true).open(path))
        .map_err(at("open", path))?;
    file.set_len(length).map_err(at("shorten", path))?;
    sync(&file, path)
}

/// Returns when a file's bytes are on the disk.
pub(crate) fn sync(file: &File, path: &Path) -> Result<()> {
    fault::point(path).and_then(|()| file.sync_all()).map_err(at("sync", path))
}

/// Returns when a folder's names are on the disk.
pub(crate) fn sync_folder(path: &Path) -> Result<()> {
    let sync = || {
        fault::point(path)?;
        // Only Unix can open a folder to sync it; elsewhere a rename is durable by itself or not at all.
        if cfg!(unix) { File::open(path)?.sync_all() } else { Ok(()) }
    };
    sync().map_err(at("sync the folder", path))
}

/// Renames, replacing what is there.
pub(crate) fn rename(from: &Path, to: &Path) -> Result<()> {
    fault::point(to).and_then(|()| fs::rename(from, to)).map_err(at("rename a file to", to))
}

/// Removes a file, write-protected or not; one that is not there is no error.
pub(crate) fn remove(path: &Path) -> Result<()> {
    let remove = || {
        fault::point(path)?;
        match fs::remove_file(path) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(()),
            Err(e) if e.kind() == std::io::ErrorKind::PermissionDenied && cfg!(windows) => {
                let mut permissions = fs::metadata(path)?.permissions();
                #[expect(
                    clippy::permissions_set_readonly_false,
                    reason = "on Windows this only clears the attribute"
                )]
                permissions.set_readonly(false);
                fs::set_permissions(path, permissions)?;
                fs::remove_file(path)
            }
            other => other,
        }
    };
    remove().map_err(at("remove", path))
}

/// Removes a folder with all that is in it; one that is not there is no error.
pub(crate) fn remove_folder(path: &Path) -> Result<()> {
    let remove = || {
        fault::point(path)?;
        match fs::remove_dir_all(path) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(()),
            other => other,
        }
    };
    remove().map_err(at("remove the folder", path))
}

/// A step of something else (a transaction, a commit of the search index) at which a fault can be set.
pub(crate) fn step(doing: &'static str, path: &Path) -> Result<()> {
    fault::point(path).map_err(at(doing, path))
}

pub(crate) mod fault {
    //! Faults set on purpose.

    #[cfg(any(test, debug_assertions, feature = "faults"))]
    pub(crate) use on::*;

    #[cfg(not(any(test, debug_assertions, feature = "faults")))]
    pub(crate) fn point(_path: &std::path::Path) -> std::io::Result<()> {
        Ok(())
    }

    #[cfg(not(any(test, debug_assertions, feature = "faults")))]
    pub(crate) fn write(
        file: &mut std::fs::File,
        _path: &std::path::Path,
        bytes: &[u8],
    ) -> std::io::Result<()> {
        std::io::Write::write_all(file, bytes)
    }

    #[cfg(any(test, debug_assertions, feature = "faults"))]
    mod on {
        use std::fs::File;
        use std::io::{Error, ErrorKind, Write};
        use std::path::{Path, PathBuf};
        use std::sync::{LazyLock, Mutex, PoisonError};

        /// What happens.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(crate) enum Kind {
            Kill,
            Torn,
            Full,
            Denied,
            Fail,
        }

        struct Plan {
            under: PathBuf,
            at: u64,
            kind: Kind,
            seen: u64,
        }

        /// Plans by the folder that they are about, so that tests side by side do not hit each other.
        static PLANS: LazyLock<Mutex<Vec<Plan>>> =
            LazyLock::new(|| Mutex::new(from_environment().into_iter().collect()));

        fn from_environment() -> Option<Plan> {
            let set = std::env::var("LEADSMAN_FAULT").ok()?;
            let (kind, at) = set.split_once(':')?;
            let kind = match kind {
                "kill" => Kind::Kill,
                "torn" => Kind::Torn,
                "full" => Kind::Full,
                "denied" => Kind::Denied,
                "fail" => Kind::Fail,
                _ => return None,
            };
            Some(Plan { under: PathBuf::new(), at: at.parse().ok()?, kind, seen: 0 })
        }

        fn due(path: &Path) -> Option<Kind> {
            let mut plans = PLANS.lock().unwrap_or_else(PoisonError::into_inner);
            let plan = plans.iter_mut().find(|plan| path.starts_with(&plan.under))?;
            plan.seen += 1;
            let lasts = matches!(plan.kind, Kind::Full | Kind::Denied);
            (plan.seen == plan.at || lasts && plan.seen > plan.at).then_some(plan.kind)
        }

        fn fail(kind: Kind) -> std::io::Result<()> {
            match kind {
                Kind::Kill | Kind::Torn => std::process::abort(),
                Kind::Full => {
                    Err(Error::new(ErrorKind::StorageFull, "no space left (a fault set for testing)"))
                }
                Kind::Denied => {
                    Err(Error::new(ErrorKind::PermissionDenied, "denied (a fault set for testing)"))
                }
                Kind::Fail => Err(Error::other("failed (a fault set for testing)")),
            }
        }

        pub(crate) fn point(path: &Path) -> std::io::Result<()> {
            due(path).map_or(Ok(()), fail)
        }

        pub(crate) fn write(file: &mut File, path: &Path, bytes: &[u8]) -> std::io::Result<()> {
            let Some(kind) = due(path) else { return file.write_all(bytes) };
            if matches!(kind, Kind::Torn | Kind::Full) {
                file.write_all(&bytes[..bytes.len() / 2])?;
                file.sync_all()?;
            }
            fail(kind)
        }

        /// Sets a fault at the `at`th operation under a folder.
        #[cfg(test)]
        pub(crate) fn set(under: &Path, at: u64, kind: Kind) {
            clear(under);
            let mut plans = PLANS.lock().unwrap_or_else(PoisonError::into_inner);
            plans.insert(0, Plan { under: under.to_owned(), at, kind, seen: 0 });
        }

        /// Takes a fault away again; says how many operations went by.
        #[cfg(test)]
        pub(crate) fn clear(under: &Path) -> u64 {
            let mut plans = PLANS.lock().unwrap_or_else(PoisonError::into_inner);
            let seen = plans.iter().find(|plan| plan.under == under).map_or(0, |plan| plan.seen);
            plans.retain(|plan| plan.under != under);
            seen
        }
    }
}
