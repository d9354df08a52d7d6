//! Past trials, items and words: the answer of `leadsman find`.

mod screen;

use std::collections::{HashMap, HashSet};

use chrono::{DateTime, FixedOffset};
use leadsman_index::{DocumentKind, Find, Search, SourceId, Store, Word};
use leadsman_ingest::matter::{Evidence, whole_name};
use leadsman_ingest::talk::Talk;
use leadsman_ingest::{Outcome, Reading, Span, Utterance, UtteranceKind, gear};
use serde::Serialize;

use crate::error::Error;
use crate::gear_word::other_names;
use crate::instruments::{Measured, Panel};
use crate::open_item::OpenList;

pub use screen::{MOST, show, shown};

/// What was found, best first.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Found {
    /// The words asked for.
    pub asked: String,
    /// Words that stand nowhere and were taken for a slip, each with what was looked for instead.
    pub slips: Vec<(String, Vec<String>)>,
    /// Words that stand nowhere, nor anything like them.
    pub unknown: Vec<String>,
    /// What was found.
    pub hits: Vec<Hit>,
    /// Whether there are more answers than were asked for.
    pub more: bool,
}

/// One thing found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hit {
    /// `trial`, `item` or `utterance`.
    pub kind: &'static str,
    /// The file's name.
    pub source: String,
    /// SHA-256 of the source.
    pub hash: String,
    /// When it was said.
    pub at: Option<DateTime<FixedOffset>>,
    /// First byte in the source.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// Gear that it is about.
    pub gear: Vec<String>,
    /// How a trial went.
    pub outcome: Option<Outcome>,
    /// Whether an item stands open.
    pub open: Option<bool>,
    /// The readings in which a trial took place.
    pub conditions: Vec<Condition>,
    /// What the boat's instruments measured over a trial's time.
    pub measured: Vec<Measured>,
    /// The wind it was in, from and to, in kn.
    pub wind_kn: Option<(f64, f64)>,
    /// The words, or the piece of them that answers.
    pub words: String,
    /// Bytes of `words` that match, each from and to.
    pub marks: Vec<(usize, usize)>,
    /// Whether it has all that was asked for.
    pub complete: bool,
}

/// A reading in which a trial took place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Condition {
    /// Name of the quantity.
    pub quantity: String,
    /// Lower end in the canonical unit; null for an open bound.
    pub low: Option<f64>,
    /// Upper end; null for an open bound.
    pub high: Option<f64>,
    /// The canonical unit.
    pub unit: String,
}

impl From<Reading> for Condition {
    fn from(reading: Reading) -> Self {
        Self { quantity: reading.quantity, low: reading.low, high: reading.high, unit: reading.unit }
    }
}

impl Found {
    /// Says of each item found whether its matter stands open by now, after all notes and decisions. One that the
    /// skipper dismissed is left out.
    pub fn tell_state(&mut self, list: &OpenList) {
        let place = |evidence: &Evidence| (evidence.source.clone(), evidence.span.start);
        let open: HashSet<_> = list.standing().flat_map(|item| item.evidence.iter().map(place)).collect();
        // What came back stands open by the name of its return.
        let returned: HashSet<&str> =
            list.standing().flat_map(|item| item.earlier.iter().map(String::as_str)).collect();
        let dismissed: HashSet<_> =
            list.dismissed.iter().flat_map(|item| item.evidence.iter().map(place)).collect();
        self.hits.retain_mut(|hit| {
            if hit.kind != DocumentKind::Item.name() {
                return true;
            }
            let at = (hit.hash.clone(), hit.start);
            let name = whole_name(&hit.hash, Span::new(hit.start, hit.end));
            hit.open = Some(open.contains(&at) || returned.contains(name.as_str()));
            !dismissed.contains(&at)
        });
    }
}

/// Asks the search index. `find` has the filters and how many answers are wanted; its words are taken from `asked`.
///
/// A trial or an item shows the words that it rests on, so those words do not come a second time by themselves.
pub async fn find(
    store: &Store,
    search: &Search,
    panel: &Panel<'_>,
    asked: &str,
    find: Find,
) -> Result<Found, Error> {
    let names = store.learned().await?.names;
    let wanted = find.limit;
    let question = Find { words: words(asked, &names)?, limit: wanted.saturating_mul(4), ..find };
    let answer = search.find(&question)?;
    let names: HashMap<SourceId, String> =
        store.sources().await?.into_iter().map(|row| (row.source, row.name)).collect();
    let mut hits: Vec<Hit> = Vec::new();
    let mut more = false;
    // Places that a trial or item among the answers speaks for.
    let spoken: Vec<(SourceId, Span)> = answer
        .hits
        .iter()
        .filter(|hit| hit.document.kind != DocumentKind::Utterance)
        .map(|hit| (hit.document.source, hit.document.span))
        .collect();
    for hit in answer.hits {
        let document = hit.document;
        let overlaps = |span: &Span| span.start < document.span.end && document.span.start < span.end;
        let said = spoken.iter().any(|(source, span)| *source == document.source && overlaps(span));
        let twin = hits.iter().any(|other| {
            other.hash == document.source.to_string()
                && other.start == document.span.start
                && other.end == document.span.end
        });
        if twin || document.kind == DocumentKind::Utterance && said {
            continue;
        }
        if hits.len() == wanted {
            more = true;
            break;
        }
        let conditions = match document.kind {
            DocumentKind::Trial => store.conditions(&document.source, document.n).await?,
            _ => Vec::new(),
        };
        let tried = document.kind == DocumentKind::Trial && !panel.is_empty();
        let trial = if tried { store.trial(&document.source, document.n).await? } else { None };
        let measured = match trial {
            Some(trial) => panel.conditions_in(&document.source, &trial, &conditions).await?,
            None => Vec::new(),
        };
        hits.push(Hit {
            kind: document.kind.name(),
            source: names.get(&document.source).cloned().unwrap_or_else(|| document.source.short()),
            hash: document.source.to_string(),
            at: document.at,
            start: document.span.start,
            end: document.span.end,
            gear: document.gear,
            outcome: document.outcome,
            open: document.open,
            conditions: conditions.into_iter().map(Condition::from).collect(),
            measured,
            wind_kn: document.wind_kn,
            marks: hit.marks.into_iter().map(|mark| (mark.start, mark.end)).collect(),
            words: hit.piece,
            complete: hit.complete,
        });
    }
    Ok(Found { asked: asked.to_owned(), slips: answer.slips, unknown: answer.unknown, hits, more })
}

/// What to look for: phrases in quotation marks, gear under any of its names, and the other words one by one.
/// Errors: a quotation mark that is not closed.
fn words(asked: &str, names: &[(String, String)]) -> Result<Vec<Word>, Error> {
    let plain = asked.replace(['“', '”', '„'], "\"");
    if !plain.matches('"').count().is_multiple_of(2) {
        return Err(Error::wrong_use(format!("expected a closing quotation mark, found none: {asked}"))
            .hint("a phrase stands between two: find '\"no response\"'"));
    }
    let mut words = Vec::new();
    for (n, part) in plain.split('"').enumerate() {
        if n % 2 == 1 {
            if part.chars().any(char::is_alphanumeric) {
                words.push(Word { text: part.to_owned(), also: Vec::new() });
            }
        } else {
            loose(part, names, &mut words);
        }
    }
    Ok(words)
}

/// Words outside quotation marks; those that name gear together stay together.
fn loose(part: &str, names: &[(String, String)], words: &mut Vec<Word>) {
    let span = Span::new(0, part.len());
    let utterances = [Utterance {
        span,
        words: vec![span],
        text: part.to_owned(),
        at: None,
        id: None,
        cue: None,
        kind: UtteranceKind::Paragraph,
    }];
    let talk = Talk::new(part, &utterances, names);
    let single = |text: &str, words: &mut Vec<Word>| {
        let pieces = text.split_whitespace().filter(|piece| piece.chars().any(char::is_alphanumeric));
        words.extend(pieces.map(|piece| Word { text: piece.to_owned(), also: Vec::new() }));
    };
    let mut done = 0;
    for mention in talk.mentions.iter().filter(|mention| !mention.tokens.is_empty()) {
        let place = talk.span(mention.tokens.clone());
        if place.start < done {
            continue;
        }
        single(&part[done..place.start], words);
        let also = gear::by_name(&mention.name).map(other_names).unwrap_or_default();
        words.push(Word { text: part[place.range()].to_owned(), also });
        done = place.end;
    }
    single(&part[done..], words);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(asked: &str) -> Vec<String> {
        words(asked, &[]).expect("well formed").into_iter().map(|word| word.text).collect()
    }

    #[test]
    fn phrases_and_gear_stay_together() {
        assert_eq!(texts("bilge pump failed"), ["bilge pump", "failed"]);
        assert_eq!(texts("\"no response\" sea anchor"), ["no response", "sea anchor"]);
        assert_eq!(texts("wet, cold - soup"), ["wet,", "cold", "soup"]);
        assert_eq!(texts(""), [""; 0]);
        assert!(words("\"no response", &[]).is_err());
    }

    #[test]
    fn gear_is_looked_for_under_its_other_names() {
        let words = words("forehatch", &[]).expect("well formed");
        assert!(words[0].also.contains(&"fore hatch".to_owned()), "{words:?}");
    }
}
