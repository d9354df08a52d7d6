//! Keeps what ingest found.
