//! The notes of a boat's folder, for the examples that read them.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// The notes in the order of their names, without the gold beside them; where the folder cannot be read, it says so.
pub fn notes(folder: &Path) -> Result<Vec<PathBuf>, ExitCode> {
    let entries = std::fs::read_dir(folder).map_err(|error| {
        eprintln!("{}: could not be read: {error}", folder.display());
        ExitCode::from(1)
    })?;
    let mut paths: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|kind| kind != "json"));
    paths.sort();
    Ok(paths)
}
