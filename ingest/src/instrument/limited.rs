//! A source that gives out no more than so much between two marks, and counts the lines that went by.
//!
//! The XML and CSV readers gather an element or a row in memory. One that never ends (a quote that is never
//! closed, a tag of a gigabyte) would fill it; here it becomes an error.

use std::io::{self, BufRead, Read};

/// Bytes that one element of XML or one row of a table may have.
pub(super) const RECORD_MAX: usize = 1 << 20;

/// A source with a limit.
#[derive(Debug)]
pub(super) struct Limited<R> {
    inner: R,
    left: usize,
    /// Line breaks that went by.
    pub(super) breaks: u64,
    /// The limit was reached.
    pub(super) too_long: bool,
}

impl<R> Limited<R> {
    pub(super) fn new(inner: R) -> Self {
        Self { inner, left: RECORD_MAX, breaks: 0, too_long: false }
    }

    /// Begins a record: from here, so much may be read again.
    pub(super) fn mark(&mut self) {
        self.left = RECORD_MAX;
    }
}

impl<R: BufRead> BufRead for Limited<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        let held = self.inner.fill_buf()?;
        if self.left == 0 && !held.is_empty() {
            self.too_long = true;
            return Err(io::Error::new(io::ErrorKind::InvalidData, "longer than a record may be"));
        }
        Ok(&held[..held.len().min(self.left)])
    }

    fn consume(&mut self, amount: usize) {
        if let Ok(held) = self.inner.fill_buf() {
            self.breaks += memchr::memchr_iter(b'\n', &held[..amount.min(held.len())]).count() as u64;
        }
        self.left = self.left.saturating_sub(amount);
        self.inner.consume(amount);
    }
}

impl<R: BufRead> Read for Limited<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let held = self.fill_buf()?;
        let amount = held.len().min(into.len());
        into[..amount].copy_from_slice(&held[..amount]);
        self.consume(amount);
        Ok(amount)
    }
}
