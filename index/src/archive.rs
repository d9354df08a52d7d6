//! Every source, byte for byte: `sources/ab/ab12….zst`, compressed, read-only once written.

use std::fs;
use std::io::{self, BufReader, Read, Seek};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

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

    /// Keeps a file's bytes under their hash without holding them in memory; gives the hash and the size. Returns when
    /// they are on the disk. `wanted` is asked with the hash whether to keep them at all.
    pub(crate) fn keep_file(
        &self,
        file: &Path,
        wanted: impl Fn(&SourceId) -> bool,
    ) -> Result<(SourceId, u64)> {
        let from = fs::File::open(file).map_err(at("open", file))?;
        // The hash is known at the end only; until then the bytes lie under a temporary name in any of the folders.
        let (unfinished, (id, size)) = disk::write_unfinished(&self.folder.join("00"), |into| {
            let mut hashing = Hashing::new(BufReader::with_capacity(1 << 20, from));
            zstd::stream::copy_encode(&mut hashing, into, LEVEL)?;
            Ok(hashing.finish())
        })?;
        if wanted(&id) && !(self.has(&id) && self.is_whole(&id)) {
            let path = self.path(&id);
            disk::remove(&path)?;
            disk::finish_whole(unfinished, &path, true)?;
        }
        Ok((id, size))
    }

    /// A source's bytes as a stream; whether they are the right ones shows at its end ([`Hashing::finish`]).
    pub(crate) fn open(&self, id: &SourceId) -> Result<Hashing<impl Read + use<>>> {
        let path = self.path(id);
        let file = fs::File::open(&path).map_err(at("read", &path))?;
        Ok(Hashing::new(zstd::Decoder::new(file).map_err(at("unpack", &path))?))
    }

    /// A source's bytes as a file without a name, to be read here and there in it; it is gone when it is closed. It lies
    /// in the folder of what can be made again.
    pub fn unpack(&self, id: &SourceId) -> Result<fs::File> {
        let folder = self.folder.with_file_name("derived");
        let mut file = tempfile::tempfile_in(&folder).map_err(at("make a file in", &folder))?;
        let mut stream = self.open(id)?;
        io::copy(&mut stream, &mut file).map_err(at("unpack a source in", &folder))?;
        let (found, _) = stream.finish();
        if found != *id {
            let path = self.path(id);
            return Err(Error::Damaged { path, expected: *id, found: found.to_string() });
        }
        file.rewind().map_err(at("read a file in", &folder))?;
        Ok(file)
    }

    /// The first bytes of a source, `most` of them at most.
    pub(crate) fn head(&self, id: &SourceId, most: usize) -> Result<Vec<u8>> {
        let mut head = Vec::new();
        self.open(id)?.take(most as u64).read_to_end(&mut head).map_err(at("unpack", &self.path(id)))?;
        Ok(head)
    }

    /// A piece of a source: `most` bytes at most from an offset on, and the line that the offset stands in, counted from 1.
    /// What stands before it is unpacked and passed over, whatever its size. Errors: not there; does not unpack.
    pub fn piece(&self, id: &SourceId, from: u64, most: usize) -> Result<(Vec<u8>, u64)> {
        let mut stream = self.open(id)?;
        let mut lines = Lines(1);
        let mut piece = Vec::new();
        let read = io::copy(&mut stream.by_ref().take(from), &mut lines)
            .and_then(|_| stream.take(most as u64).read_to_end(&mut piece));
        read.map_err(at("unpack", &self.path(id)))?;
        Ok((piece, lines.0))
    }

    /// Whether a source has more than so many bytes.
    pub(crate) fn is_larger(&self, id: &SourceId, than: u64) -> Result<bool> {
        let size = io::copy(&mut self.open(id)?.take(than + 1), &mut io::sink());
        Ok(size.map_err(at("unpack", &self.path(id)))? > than)
    }

    /// What the first bytes of a source would be called if they were a source.
    pub(crate) fn starts(&self, id: &SourceId, length: u64) -> Result<SourceId> {
        let mut start = Hashing::new(self.open(id)?.take(length));
        io::copy(&mut start, &mut io::sink()).map_err(at("unpack", &self.path(id)))?;
        Ok(start.finish().0)
    }

    fn is_whole(&self, id: &SourceId) -> bool {
        let whole = || -> Result<bool> {
            let mut stream = self.open(id)?;
            std::io::copy(&mut stream, &mut std::io::sink()).map_err(at("unpack", &self.path(id)))?;
            Ok(stream.finish().0 == *id)
        };
        whole().unwrap_or(false)
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

impl SourceId {
    /// What the bytes of a stream would be called if they were a source, and how many there are.
    pub fn of_stream(stream: impl Read) -> io::Result<(Self, u64)> {
        let mut hashing = Hashing::new(BufReader::with_capacity(1 << 20, stream));
        io::copy(&mut hashing, &mut io::sink())?;
        Ok(hashing.finish())
    }
}

/// Counts the lines of what is written to it.
struct Lines(u64);

impl io::Write for Lines {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0 += memchr::memchr_iter(b'\n', bytes).count() as u64;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A stream that hashes what goes through it.
#[derive(Debug)]
pub struct Hashing<R> {
    inner: R,
    hash: Sha256,
    size: u64,
}

impl<R: Read> Hashing<R> {
    /// Nothing has gone through it yet.
    pub fn new(inner: R) -> Self {
        Self { inner, hash: Sha256::new(), size: 0 }
    }

    /// The hash and the number of bytes so far.
    pub fn finish(self) -> (SourceId, u64) {
        (SourceId::from_digest(self.hash.finalize().into()), self.size)
    }
}

impl<R: Read> Read for Hashing<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let length = self.inner.read(into)?;
        self.hash.update(&into[..length]);
        self.size += length as u64;
        Ok(length)
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
    fn files_are_kept_as_their_bytes_are() {
        let (folder, archive) = archive();
        let bytes = b"$WIMWV,57.5,R,13.0,N,A*26\r\n".repeat(100_000);
        let file = folder.path().join("boat.log");
        fs::write(&file, &bytes).unwrap();
        let id = SourceId::of(&bytes);
        assert_eq!(archive.keep_file(&file, |_| false).unwrap(), (id, bytes.len() as u64));
        assert!(!archive.has(&id) && archive.list().unwrap().unfinished.is_empty());
        for _ in 0..2 {
            assert_eq!(archive.keep_file(&file, |_| true).unwrap(), (id, bytes.len() as u64));
            assert_eq!(archive.read(&id).unwrap(), bytes);
            assert!(fs::metadata(archive.path(&id)).unwrap().permissions().readonly());
            assert_eq!(archive.list().unwrap().sources, [id]);
        }
        assert_eq!(archive.head(&id, 6).unwrap(), b"$WIMWV");
        // A damaged copy is mended.
        disk::remove(&archive.path(&id)).unwrap();
        fs::write(archive.path(&id), b"something else").unwrap();
        archive.keep_file(&file, |_| true).unwrap();
        assert_eq!(archive.read(&id).unwrap(), bytes);
    }

    #[test]
    fn a_file_is_kept_whole_or_not_at_all() {
        let (folder, archive) = archive();
        let file = folder.path().join("boat.log");
        fs::write(&file, b"words").unwrap();
        let id = SourceId::of(b"words");
        for kind in [fault::Kind::Full, fault::Kind::Denied, fault::Kind::Fail] {
            for at in 1.. {
                fault::set(folder.path(), at, kind);
                let kept = archive.keep_file(&file, |_| true);
                if fault::clear(folder.path()) < at {
                    kept.unwrap();
                    break;
                }
                assert!(kept.is_err(), "the fault at operation {at} shows");
                assert!(!archive.has(&id) || archive.read(&id).unwrap() == b"words");
                archive.erase(&id).unwrap();
            }
            archive.erase(&id).unwrap();
        }
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
