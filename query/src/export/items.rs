//! Every item: those that stand open, most pressing first, those accepted, those put off, then those that were closed,
//! latest first.

use chrono::NaiveDate;
use leadsman_ingest::Due;
use leadsman_ingest::matter::Evidence;
use serde::Serialize;

use crate::open_item::{Open, OpenList};

/// An item.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ItemRow {
    /// Its short name.
    pub name: String,
    /// `open`, `perhaps`, `accepted`, `put_off` or `closed`.
    pub state: &'static str,
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// Why it is or was open, the latest reason first, with "; " between.
    pub why: String,
    /// The day on which it was raised.
    pub opened: Option<NaiveDate>,
    /// First day of the date that it hangs on.
    pub due_from: Option<NaiveDate>,
    /// Last day of that date.
    pub due_until: Option<NaiveDate>,
    /// What happens then: `expires`, `service`, `do`.
    pub due_what: Option<String>,
    /// The day on which it was closed.
    pub closed: Option<NaiveDate>,
    /// What closed it: `trial`, `word`, `ruling`, `reading`, `date`.
    pub closed_by: Option<String>,
    /// The words that closed it.
    pub because: Option<String>,
    /// How many pieces of evidence there are.
    pub evidence: usize,
    /// The latest words on it.
    pub quote: Option<String>,
    /// The name that their source's file had.
    pub source: Option<String>,
    /// SHA-256 of that source.
    pub hash: Option<String>,
    /// First byte of the words in the source.
    pub start: Option<usize>,
    /// One past the last byte.
    pub end: Option<usize>,
}

/// The rows of a list.
pub fn items(list: &OpenList) -> Vec<ItemRow> {
    let standing = [
        (&list.open, "open"),
        (&list.perhaps, "perhaps"),
        (&list.accepted, "accepted"),
        (&list.put_off, "put_off"),
    ];
    let standing =
        standing.into_iter().flat_map(|(items, state)| items.iter().map(move |item| (item, state)));
    let open = standing.map(|(item, state)| ItemRow {
        name: item.name.clone(),
        state,
        gear: item.gear.clone(),
        about: item.about.clone(),
        why: item.reasons.iter().map(|why| why.name()).collect::<Vec<_>>().join("; "),
        opened: item.opened,
        ..dated(item)
    });
    let closed = list.closed.iter().map(|item| ItemRow {
        name: item.name.clone(),
        state: "closed",
        gear: item.gear.clone(),
        about: item.about.clone(),
        why: item.reasons.iter().map(|why| why.name()).collect::<Vec<_>>().join("; "),
        opened: item.opened,
        closed: item.closed.map(|at| at.date_naive()),
        closed_by: Some(item.closed_by.clone()),
        because: Some(item.because.clone()),
        ..words(&item.evidence, None)
    });
    open.chain(closed).collect()
}

/// The columns that tell of the latest words and the date; the skipper's own date goes before one that a note names.
fn dated(item: &Open) -> ItemRow {
    let row = words(&item.evidence, item.due.as_ref());
    match item.standing.due_on {
        Some(on) => {
            ItemRow { due_from: Some(on), due_until: Some(on), due_what: Some("do".to_owned()), ..row }
        }
        None => row,
    }
}

/// The columns that tell of the latest words and the date.
fn words(evidence: &[Evidence], due: Option<&Due>) -> ItemRow {
    let latest = evidence.last();
    ItemRow {
        due_from: due.map(|due| due.from),
        due_until: due.map(|due| due.until),
        due_what: due.map(|due| due.what.clone()),
        evidence: evidence.len(),
        quote: latest.map(|words| words.quote.clone()),
        source: latest.map(|words| words.name.clone()),
        hash: latest.map(|words| words.source.clone()),
        start: latest.map(|words| words.span.start),
        end: latest.map(|words| words.span.end),
        ..ItemRow::default()
    }
}
