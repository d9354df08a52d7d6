//! Matters folded from all that a home holds and kept in its database, for those who look there and for the search
//! index, which tells of an item whether it stands open.
//!
//! They are as of the day of the last note or the last line of arrivals and decisions, whichever is later, so that a
//! home made again holds the same rows on any day. What is asked of a day on which another date has passed is folded
//! anew. The answers that are kept beside the database ([`crate::kept`]) are made on the way.

use leadsman_index::{Evidence, Matter, Writer};
use leadsman_ingest::matter::{self, Ledger};
use tokio::task::spawn_blocking;

use crate::boat::{Boat, Day};
use crate::error::Error;
use crate::kept::Kept;

/// Folds a home's notes and decisions, and keeps the matters that come of it. Errors: the home.
pub async fn keep(writer: &mut Writer) -> Result<(), Error> {
    // The writer holds the home, so there is nobody to wait for.
    let store = writer.home().store(std::time::Duration::ZERO).await?;
    let boat = match writer.notes_in_hand() {
        Some(notes) => Boat::of(&store, notes).await?,
        None => Boat::read(&store).await?,
    };
    let written = store.record().last_written().map(|at| at.date_naive());
    let on = boat.last_day().max(written).unwrap_or_default();
    let Some(kept) = Kept::of(&store).await? else {
        let ledger = boat.folded(Day { on, asked: false }, None).0;
        store.close().await;
        return Ok(writer.replace_matters(&matters(&ledger)).await?);
    };
    let made = kept.make(&store, &boat, on).await?;
    store.close().await;
    // Neither rests on the other, and each takes a while after ten years.
    let matters = matters(made.ledger());
    let keeping = spawn_blocking(move || made.keep());
    let replaced = writer.replace_matters(&matters).await;
    // What could not be kept is worked out again when it is asked for.
    let _: Result<bool, _> = keeping.await;
    Ok(replaced?)
}

/// Every matter once: one that came back stands open, one closed more than once as it was closed last.
fn matters(Ledger { open, closed, .. }: &Ledger) -> Vec<Matter> {
    let mut names = std::collections::HashSet::new();
    open.iter().chain(closed).filter(|m| names.insert(m.name.as_str())).filter_map(kept).collect()
}

/// A matter as the database has it; `None` for one that rests on nothing that a note says.
fn kept(matter: &matter::Matter) -> Option<Matter> {
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
        name: matter.name.clone(),
    })
}
