//! Matters folded from all that a home holds and kept in its database, for those who look there and for the search
//! index, which tells of an item whether it stands open.
//!
//! They are as of the day of the last note, so that a home made again holds the same rows on any day. What is asked
//! of another day is folded anew.

use chrono::NaiveDate;
use leadsman_index::{Evidence, Matter, Writer};
use leadsman_ingest::matter::{self, Ledger};

use crate::boat::{Boat, Day};
use crate::error::Error;

/// Folds a home's notes and decisions, and keeps the matters that come of it. Errors: the home.
pub async fn keep(writer: &mut Writer) -> Result<(), Error> {
    // The writer holds the home, so there is nobody to wait for.
    let store = writer.home().store(std::time::Duration::ZERO).await?;
    let matters = matters(&Boat::read(&store).await?);
    store.close().await;
    Ok(writer.replace_matters(&matters).await?)
}

/// Every matter once: one that came back stands open, one closed more than once as it was closed last.
fn matters(boat: &Boat) -> Vec<Matter> {
    let on = boat.last_day().unwrap_or(NaiveDate::MIN);
    let Ledger { open, closed, .. } = boat.ledger(Day { on, asked: false }, None);
    let mut names = std::collections::HashSet::new();
    open.into_iter().chain(closed).filter(|m| names.insert(m.name.clone())).filter_map(kept).collect()
}

/// A matter as the database has it; `None` for one that rests on nothing that a note says.
fn kept(matter: matter::Matter) -> Option<Matter> {
    let place = |evidence: &matter::Evidence, opens| {
        Some(Evidence { source: evidence.source.parse().ok()?, span: evidence.span, opens })
    };
    let closes = matter.closed.as_ref().and_then(|closed| closed.evidence.as_ref());
    let evidence = matter.evidence.iter().filter_map(|evidence| place(evidence, evidence.why.is_some()));
    Some(Matter {
        gear: matter.gear.clone(),
        about: matter.about.clone(),
        why: *matter.why.first()?,
        open: matter.closed.is_none(),
        at: matter.evidence.first().and_then(|evidence| evidence.at),
        evidence: evidence.chain(closes.and_then(|evidence| place(evidence, false))).collect(),
        json: serde_json::to_string(&matter).ok()?,
        name: matter.name,
    })
}
