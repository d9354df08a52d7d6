//! Which format a source is in, told by its content, and its utterances.

use crate::found::{Span, Utterance, UtteranceKind};

/// Cuts a text into utterances.
pub fn cut(text: &str) -> Vec<Utterance> {
    let mut at = 0;
    let mut out = Vec::new();
    for line in text.split_inclusive('\n') {
        let words = line.trim();
        if !words.is_empty() {
            let start = at + line.find(words).unwrap_or(0);
            let span = Span::new(start, start + words.len());
            out.push(Utterance {
                span,
                words: vec![span],
                text: words.to_owned(),
                at: None,
                id: None,
                cue: None,
                kind: UtteranceKind::Paragraph,
            });
        }
        at += line.len();
    }
    out
}
