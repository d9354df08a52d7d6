//! Answers kept beside the database, in `derived/kept/`: what questions that look at all notes work out of them, in one
//! piece, so that they need not look at all notes for every answer.
//!
//! A piece begins with a line that says what it was made from, and its own hash behind it. One that was made from anything
//! else is as good as none, so nothing has to be taken away when notes or decisions come in. They can be deleted at any
//! time.

use std::io::Read;
use std::path::PathBuf;

use sha2::{Digest, Sha256};

use crate::disk;
use crate::error::{Result, db};
use crate::home::Home;
use crate::source::SourceId;
use crate::store::{Store, maker, meta};

/// Effort of the compression: the lowest, which finds the fields' names that every entry repeats.
const LEVEL: i32 = 1;
/// How many bytes the hash of a piece takes, in hexadecimal.
const HASH: usize = 64;
/// No piece takes more unpacked, in bytes; a damaged length is not believed beyond it.
const LARGEST: u64 = 1 << 30;

/// What answers rest on: the program, the arrivals and decisions, and which sources answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Grounds(String);

impl Store {
    /// What the answers rest on that this database gives; `asker` stands for the code that works them out. `None` where
    /// another process is writing, so that database and record may be of two moments.
    pub async fn grounds(&self, asker: &str) -> Result<Option<Grounds>> {
        let mut conn = self.pool.acquire().await.map_err(db("open the database"))?;
        let record: Option<String> =
            meta(&mut conn, "record").await.map_err(db("read what the database stands for"))?;
        if record.as_deref() != Some(&self.record().digest().to_string()) {
            return Ok(None);
        }
        // The record does not tell which sources' bytes were gone when the database was made.
        let sources: Vec<(i64, String)> = sqlx::query_as("SELECT source, state FROM source ORDER BY source")
            .fetch_all(&mut *conn)
            .await
            .map_err(db("read sources"))?;
        let mut hash = Sha256::new();
        for part in [maker().as_str(), asker, record.as_deref().unwrap_or_default()] {
            hash.update(part);
            hash.update("\n");
        }
        for (source, state) in sources {
            hash.update(source.to_le_bytes());
            hash.update(state);
        }
        Ok(Some(Grounds(SourceId::from_digest(hash.finalize().into()).to_string())))
    }
}

impl Home {
    /// A piece that was kept; `None` where there is none that rests on the same grounds, or it is damaged.
    pub fn kept(&self, piece: &str, grounds: &Grounds) -> Option<Vec<u8>> {
        let packed = std::fs::read(self.kept_file(piece)).ok()?;
        let packed = packed.strip_prefix(grounds.0.as_bytes())?.strip_prefix(b"\n")?;
        let (hash, packed) = packed.split_at_checked(HASH)?;
        if hash != SourceId::of(packed).to_string().as_bytes() {
            return None;
        }
        let mut plain = Vec::new();
        zstd::Decoder::new(packed).ok()?.take(LARGEST).read_to_end(&mut plain).ok()?;
        Some(plain)
    }

    /// Keeps a piece in place of the one that was there. Errors: the disk.
    pub fn keep(&self, piece: &str, grounds: &Grounds, plain: &[u8]) -> Result<()> {
        let path = self.kept_file(piece);
        let packed = zstd::bulk::compress(plain, LEVEL).map_err(crate::error::at("pack", &path))?;
        let head = format!("{}\n{}", grounds.0, SourceId::of(&packed));
        disk::write_unsynced(&path, &[head.as_bytes(), &packed].concat())
    }

    pub(crate) fn kept_folder(&self) -> PathBuf {
        self.root().join("derived").join("kept")
    }

    fn kept_file(&self, piece: &str) -> PathBuf {
        self.kept_folder().join(piece)
    }
}

#[cfg(test)]
mod tests {
    use crate::tests::{SOON, home, ingest, two};

    #[tokio::test]
    async fn a_piece_is_given_back_on_the_same_grounds_only() {
        let (_folder, home) = home();
        ingest(&home, two().into_iter().take(1).collect()).await;
        let store = home.store(SOON).await.unwrap();
        let grounds = store.grounds("1").await.unwrap().unwrap();
        home.keep("open", &grounds, b"what stands open").unwrap();
        assert_eq!(home.kept("open", &grounds).as_deref(), Some(&b"what stands open"[..]));
        assert_eq!(home.kept("gear", &grounds), None);
        assert_ne!(store.grounds("2").await.unwrap().unwrap(), grounds, "another program");
        store.close().await;

        ingest(&home, two()).await;
        let store = home.store(SOON).await.unwrap();
        let after = store.grounds("1").await.unwrap().unwrap();
        assert_ne!(after, grounds, "another note");
        assert_eq!(home.kept("open", &after), None);
        store.close().await;
    }

    #[tokio::test]
    async fn a_damaged_piece_is_none() {
        let (_folder, home) = home();
        ingest(&home, two()).await;
        let store = home.store(SOON).await.unwrap();
        let grounds = store.grounds("").await.unwrap().unwrap();
        home.keep("open", &grounds, b"what stands open, and more of it, and more of it").unwrap();
        let path = home.root().join("derived/kept/open");
        let whole = std::fs::read(&path).unwrap();
        for at in 0..whole.len() {
            let mut bytes = whole.clone();
            bytes[at] ^= 1;
            std::fs::write(&path, &bytes).unwrap();
            assert_eq!(home.kept("open", &grounds), None, "byte {at}");
            std::fs::write(&path, &whole[..at]).unwrap();
            assert_eq!(home.kept("open", &grounds), None, "cut after {at} bytes");
        }
        store.close().await;
    }

    #[tokio::test]
    async fn a_source_whose_bytes_are_gone_is_other_grounds() {
        let (_folder, home) = home();
        let reports = ingest(&home, two()).await;
        let before = home.store(SOON).await.unwrap().grounds("").await.unwrap();
        home.archive().erase(&crate::tests::source(&reports[0])).unwrap();
        home.rebuild(SOON).await.unwrap();
        let after = home.store(SOON).await.unwrap().grounds("").await.unwrap();
        assert!(before.is_some() && after.is_some() && before != after);
    }
}
