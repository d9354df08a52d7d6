//! Recording a live feed of the boat's instruments: bytes in, lines kept, files that are taken as sources.
//!
//! ```text
//! feed ──pieces──▶ lines ──kept──▶ spool ──closed──▶ sources
//! ```
//!
//! [`feed`] reads from an address and never writes to it; [`lines`] keeps what instruments send and bounds the rest;
//! [`spool`] is the file that grows in the home's `recording` folder and becomes a source when it is closed. What a
//! crash leaves there is taken by the next command that opens the home.

pub mod address;
pub mod feed;
pub mod lines;
pub mod spool;

pub use address::Address;
pub use feed::{Event, Feed};
pub use lines::{Counts, Lines};
pub use spool::{FOLDER, Spool, adopt, is_left};
