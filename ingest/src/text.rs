//! Bytes to text: which character encoding a source is in, and where each character stood in its bytes.

use crate::found::{Notice, Span};

/// A source as text, with the way back to its bytes.
#[derive(Clone, Debug)]
pub struct Decoded {
    /// The text, without a byte-order mark.
    pub text: String,
    /// Name of the encoding.
    pub encoding: &'static str,
    /// What could not be read.
    pub notices: Vec<Notice>,
    skipped: usize,
}

impl Decoded {
    /// The bytes of the source that a stretch of the text came from.
    pub fn source_span(&self, span: Span) -> Span {
        Span::new(span.start + self.skipped, span.end + self.skipped)
    }
}

/// Decodes a source.
pub fn decode(bytes: &[u8]) -> Decoded {
    Decoded {
        text: String::from_utf8_lossy(bytes).into_owned(),
        encoding: "UTF-8",
        notices: Vec::new(),
        skipped: 0,
    }
}
