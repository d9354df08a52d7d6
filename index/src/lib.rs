//! Keeps what ingest found.
//!
//! A [`Home`] is a folder. What the skipper gave stands in `sources/` ([`Archive`]), `arrivals/` and `decisions/`
//! ([`Record`]) and is never rewritten. From it come the database ([`Store`]) and the search index, which can be
//! deleted and made again. One [`Writer`] at a time adds to a home; readers don't wait for it.

mod archive;
mod arrival;
mod ashore;
mod backup;
#[doc(hidden)]
pub mod bench;
mod check;
mod correct;
mod decision;
mod device;
mod disk;
mod error;
mod home;
mod in_hand;
mod ingest;
mod kept;
mod learned;
mod lines;
mod lock;
mod matter;
mod merge;
mod rebuild;
mod record;
mod same;
mod search;
mod source;
mod store;
#[cfg(test)]
mod tests;
mod writer;

pub use archive::{Archive, Hashing, Listing};
pub use arrival::Arrival;
pub use ashore::Ashore;
pub use backup::{Backup, verify as verify_backup};
pub use check::{Fault, Level};
pub use decision::{Correction, Decision, Entry, Finding, Mapping, Passage, Place, Rank};
pub use disk::write_on;
pub use error::{Error, Result};
pub use home::Home;
pub use ingest::{BY_HAND, Content, Dump, Outcome, Report};
pub use kept::Grounds;
pub use learned::Learned;
pub use lines::BadLine;
pub use matter::{Evidence, Matter};
pub use merge::Merged;
pub use rebuild::Rebuilt;
pub use record::{Record, SourceState};
pub use same::words_agree;
pub use search::{Document, DocumentKind, Find, Found, Hit, Search, Word};
pub use source::{NotAHash, SourceId};
pub use store::{
    Asked, ChannelRow, Counts, Detail, Gap, Held, SAMPLES_MAX, SourceRow, Store, Stored, StoredNotice,
    StoredReading, StoredTrial, With,
};
pub use writer::Writer;
