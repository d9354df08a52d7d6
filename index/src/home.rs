//! A home: the folder that holds one boat's records.

use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::archive::Archive;
use crate::disk;
use crate::error::Result;
use crate::lock;
use crate::record::Record;
use crate::store::{self, State, Store};
use crate::writer::Writer;

/// A home's folder. Cheap to open and to copy: nothing is read before it is asked for.
#[derive(Clone, Debug)]
pub struct Home {
    root: PathBuf,
}

impl Home {
    /// Opens a home, making its folders where they are missing.
    pub fn open(root: impl Into<PathBuf>) -> Result<Self> {
        let root = root.into();
        for folder in ["sources", "arrivals", "decisions", "derived"] {
            disk::make_folder(&root.join(folder))?;
        }
        Ok(Self { root })
    }

    /// The folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The sources, byte for byte.
    pub fn archive(&self) -> Archive {
        Archive::new(self.root.join("sources"))
    }

    /// Reads all devices' arrivals and decisions.
    pub fn record(&self) -> Result<Record> {
        Record::read(&self.root)
    }

    /// The name of this device, made on first use; see `devices` in the home.
    pub fn device(&self) -> Result<String> {
        crate::device::name(&self.root)
    }

    /// The database's file.
    pub fn database(&self) -> PathBuf {
        self.root.join("derived").join("leadsman.db")
    }

    /// The search index's folder.
    pub fn search_folder(&self) -> PathBuf {
        self.root.join("derived").join("search")
    }

    /// Opens the database for reading. One that is missing, damaged, of another version, or made from another record
    /// is made again first. While another process writes, what is there is used as it is ([`Store::is_behind`]); only
    /// where nothing usable is there does this wait for it, as long as `patience` at most.
    pub async fn store(&self, patience: Duration) -> Result<Store> {
        let record = self.record()?;
        let (why, usable) = match store::look(self, &record).await {
            State::Current => return Ok(Store::open(self, record, None, false)),
            State::Behind(why) => (why, true),
            State::Unusable(why) => (why, false),
        };
        let held = match lock::try_take(&self.root)? {
            Some(lock) => lock,
            None if usable => return Ok(Store::open(self, record, None, true)),
            None => lock::take(&self.root, patience).await?,
        };
        // The one who held the lock may have made it good in the meantime.
        let writer = Writer::with_lock(self, held).await?;
        let why = writer.made_again().map(|_| why);
        let record = writer.record().clone();
        writer.finish().await?;
        Ok(Store::open(self, record, why, false))
    }

    /// Takes the home for writing, waiting for another writer no longer than `patience`. Errors:
    /// [`crate::Error::Held`], with who holds it.
    pub async fn writer(&self, patience: Duration) -> Result<Writer> {
        Writer::with_lock(self, lock::take(&self.root, patience).await?).await
    }
}
