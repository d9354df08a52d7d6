//! Lines out of a log that arrives piece by piece.

use memchr::memchr_iter;

/// Where the reading of a log stands between two of its pieces.
#[derive(Debug, Default)]
pub(super) struct Pieces {
    offset: u64,
    within_line: bool,
}

/// A line, or what a piece holds of one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Line<'b> {
    /// Its bytes, without the line feed.
    pub(super) bytes: &'b [u8],
    /// Where it stands, in bytes of the source.
    pub(super) offset: u64,
    /// It begins here; not so for the rest of a line that an earlier piece cut.
    pub(super) begins: bool,
}

impl Pieces {
    /// The lines of the next piece, which ends with a line's end if it can.
    pub(super) fn cut<'b>(&mut self, piece: &'b [u8]) -> impl Iterator<Item = Line<'b>> + use<'b> {
        let offset = self.offset;
        let mut begins = !self.within_line;
        self.offset += piece.len() as u64;
        self.within_line = piece.last().map_or(self.within_line, |last| *last != b'\n');
        let unended = self.within_line && !piece.is_empty();
        let mut start = 0;
        memchr_iter(b'\n', piece).chain(unended.then_some(piece.len())).map(move |end| {
            let line = Line { bytes: &piece[start..end], offset: offset + start as u64, begins };
            begins = true;
            start = end + 1;
            line
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_that_a_piece_cuts_begins_once() {
        let mut pieces = Pieces::default();
        let mut cut = |piece: &'static [u8]| -> Vec<(&[u8], u64, bool)> {
            pieces.cut(piece).map(|line| (line.bytes, line.offset, line.begins)).collect()
        };
        assert_eq!(cut(b"ab\n\nc"), [(&b"ab"[..], 0, true), (b"", 3, true), (b"c", 4, true)]);
        assert_eq!(cut(b""), []);
        assert_eq!(cut(b"d\n"), [(&b"d"[..], 5, false)]);
        assert_eq!(cut(b"e\n"), [(&b"e"[..], 7, true)]);
    }
}
