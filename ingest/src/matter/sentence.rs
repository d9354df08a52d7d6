//! The sentence that a reading stands in: "12 ppm" says little without "grill with vent".

use crate::found::{Note, Span, UtteranceKind};

/// Fewest and most bytes of the words around what is quoted.
const LEAST: usize = 40;
const MOST: usize = 160;

/// The words of a note around a quote that stands at a span: its sentence, with those before where they are short, or the
/// cues beside it in a recording. The quote itself where the note has no such words.
pub(super) fn sentence_of(note: &Note, span: Span, quote: &str) -> String {
    let at = note.utterances.partition_point(|u| u.span.end <= span.start);
    let Some(own) = note.utterances.get(at).filter(|u| u.span.start <= span.start) else {
        return quote.to_owned();
    };
    if own.kind == UtteranceKind::Cue {
        let beside = note.utterances[at.saturating_sub(1)..note.utterances.len().min(at + 2)].iter();
        let cues: Vec<&str> =
            beside.filter(|u| u.kind == UtteranceKind::Cue).map(|u| u.text.as_str()).collect();
        let talk = cues.join(" ");
        return around(&talk, quote).to_owned();
    }
    around(&own.text, quote).to_owned()
}

fn around<'t>(text: &'t str, quote: &'t str) -> &'t str {
    let Some(start) = text.find(quote) else { return quote };
    let end = start + quote.len();
    let stops = |from: usize, to: usize| {
        text[from..to].match_indices(['.', '!', '?', ';']).map(move |(i, _)| from + i)
    };
    let ends = |i: &usize| text[i + 1..].starts_with(' ');
    let far = ceiling(text, start.saturating_sub(MOST));
    let mut from = far;
    for stop in stops(far, start).filter(ends) {
        if start - stop > LEAST || from == far {
            from = stop + 1;
        }
    }
    let last = ceiling(text, text.len().min(end + MOST));
    let to = stops(end, last).find(|i| text.len() == i + 1 || ends(i)).map_or(last, |i| i + 1);
    text[from..to].trim().trim_end_matches(['.', ';'])
}

/// The first place at or behind one where a character begins.
fn ceiling(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at += 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::around;

    #[test]
    fn a_figure_stands_in_its_sentence() {
        let text = "Limit 30 ppm anywhere. Heater only: 0. Grill 10 min, hatches shut: 45 ppm at galley. Not on. Größe ä";
        assert_eq!(around(text, "45 ppm"), "Heater only: 0. Grill 10 min, hatches shut: 45 ppm at galley");
        assert_eq!(around(text, "30 ppm"), "Limit 30 ppm anywhere");
        assert_eq!(around(text, "Größe"), "Grill 10 min, hatches shut: 45 ppm at galley. Not on. Größe ä");
        assert_eq!(around(text, "nowhere"), "nowhere");
    }
}
