//! Every source, byte for byte: `sources/ab/ab12….zst`, compressed, read-only once written.

use std::fs;
use std::path::{Path, PathBuf};

use crate::disk;
use crate::error::{Error, Result, at};
use crate::source::SourceId;

/// zstd's own default: notes are small, and instrument logs shrink tenfold at it without holding up the dump.
const LEVEL: i32 = 3;

/// The folder of sources.
#[derive(Clone, Debug)]
pub struct Archive {
    folder: PathBuf,
}

impl Archive {
    pub(crate) fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// Where a source is kept.
    pub fn path(&self, id: &SourceId) -> PathBuf {
        let name = id.to_string();
        self.folder.join(&name[..2]).join(format!("{name}.zst"))
    }

    /// Whether a source is kept.
    pub fn has(&self, id: &SourceId) -> bool {
        self.path(id).is_file()
    }

    /// Keeps bytes under their hash; returns when they are on the disk. Bytes that are kept already, and whole, are
    /// left as they are; a damaged copy is replaced by the good one.
    pub(crate) fn keep(&self, id: &SourceId, bytes: &[u8]) -> Result<()> {
        let path = self.path(id);
        if path.is_file() {
            if self.read(id).is_ok() {
                return Ok(());
            }
            disk::remove(&path)?;
        }
        let packed = zstd::encode_all(bytes, LEVEL).map_err(at("compress", &path))?;
        disk::write_whole(&path, &packed, true)
    }

    /// Reads a source's bytes. Errors: not there; not the bytes that its name says.
    pub fn read(&self, id: &SourceId) -> Result<Vec<u8>> {
        let path = self.path(id);
        let packed = fs::read(&path).map_err(at("read", &path))?;
        let bytes = zstd::decode_all(packed.as_slice()).map_err(|e| Error::Damaged {
            path: path.clone(),
            expected: *id,
            found: format!("bytes that do not unpack ({e})"),
        })?;
        let found = SourceId::of(&bytes);
        if found != *id {
            return Err(Error::Damaged { path, expected: *id, found: found.to_string() });
        }
        Ok(bytes)
    }

    /// Destroys a source's bytes.
    pub(crate) fn erase(&self, id: &SourceId) -> Result<()> {
        let path = self.path(id);
        if !path.is_file() {
            return Ok(());
        }
        disk::remove(&path)?;
        path.parent().map_or(Ok(()), disk::sync_folder)
    }

    /// All that lies in the archive: sources, and what does not belong there.
    pub fn list(&self) -> Result<Listing> {
        let mut listing = Listing::default();
        if !self.folder.is_dir() {
            return Ok(listing);
        }
        for folder in entries(&self.folder)? {
            if !folder.is_dir() {
                listing.stray.push(folder);
                continue;
            }
            for file in entries(&folder)? {
                let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
                match name.strip_suffix(".zst").and_then(|hash| hash.parse::<SourceId>().ok()) {
                    Some(id) if self.path(&id) == file => listing.sources.push(id),
                    _ if name.starts_with(disk::TEMPORARY) => listing.unfinished.push(file),
                    _ => listing.stray.push(file),
                }
            }
        }
        listing.sources.sort();
        Ok(listing)
    }
}

/// What lies in the archive.
#[derive(Debug, Default)]
pub struct Listing {
    /// Sources, by hash.
    pub sources: Vec<SourceId>,
    /// Files that a crash left half-written; nothing was acknowledged of them.
    pub unfinished: Vec<PathBuf>,
    /// Files that this program did not write.
    pub stray: Vec<PathBuf>,
}

fn entries(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(at("list", folder))? {
        paths.push(entry.map_err(at("list", folder))?.path());
    }
    paths.sort();
    Ok(paths)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::fault;

    fn archive() -> (tempfile::TempDir, Archive) {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::new(folder.path().join("sources"));
        (folder, archive)
    }

    #[test]
    fn bytes_come_back_as_given() {
        let (_folder, archive) = archive();
        for bytes in [&b""[..], b"heater drew 0.2 litres an hour\r\n", &[0, 159, 146, 150]] {
            let id = SourceId::of(bytes);
            archive.keep(&id, bytes).unwrap();
            archive.keep(&id, bytes).unwrap();
            assert_eq!(archive.read(&id).unwrap(), bytes);
            assert!(fs::metadata(archive.path(&id)).unwrap().permissions().readonly());
        }
        assert_eq!(archive.list().unwrap().sources.len(), 3);
    }

    #[test]
    fn a_flipped_bit_is_found_and_mended_by_the_same_bytes() {
        let (_folder, archive) = archive();
        let bytes = b"the staysail sheet chafed through at the block".repeat(9);
        let id = SourceId::of(&bytes);
        archive.keep(&id, &bytes).unwrap();
        let packed = fs::read(archive.path(&id)).unwrap();
        for at in 0..packed.len() {
            let mut flipped = packed.clone();
            flipped[at] ^= 4;
            disk::remove(&archive.path(&id)).unwrap();
            fs::write(archive.path(&id), &flipped).unwrap();
            // A flip in a part of the frame that carries no bytes may go unnoticed, the bytes themselves never.
            match archive.read(&id) {
                Ok(read) => assert_eq!(read, bytes),
                Err(e) => assert!(matches!(e, Error::Damaged { .. }), "{e}"),
            }
        }
        archive.keep(&id, &bytes).unwrap();
        assert_eq!(archive.read(&id).unwrap(), bytes);
    }

    #[test]
    fn a_source_is_kept_whole_or_not_at_all() {
        let (folder, archive) = archive();
        let id = SourceId::of(b"words");
        for kind in [fault::Kind::Full, fault::Kind::Denied, fault::Kind::Fail] {
            for at in 1.. {
                fault::set(folder.path(), at, kind);
                let kept = archive.keep(&id, b"words");
                if fault::clear(folder.path()) < at {
                    kept.unwrap();
                    break;
                }
                assert!(kept.is_err(), "the fault at operation {at} shows");
                assert!(!archive.has(&id) || archive.read(&id).unwrap() == b"words");
                archive.erase(&id).unwrap();
            }
            archive.erase(&id).unwrap();
            assert!(!archive.has(&id));
        }
    }
}
