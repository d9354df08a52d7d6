//! Files that the program writes for a person: whole or not at all, as readable as any other file of theirs.

use std::io::{self, Write};
use std::path::Path;

/// Writes a file in place of the one that is there. Errors: the folder or the file cannot be written.
pub fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut make = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // What the person's own mask leaves of it.
        make.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = make.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}
