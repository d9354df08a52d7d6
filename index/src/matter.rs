//! Matters as rows: items of many notes folded, as `leadsman_ingest::matter` folds them, kept so that the list of what
//! stands open need not be folded anew for every look.

use std::collections::HashSet;

use chrono::{DateTime, FixedOffset};
use leadsman_ingest::{Span, Why};
use sqlx::SqliteConnection;

use crate::error::{Result, db};
use crate::source::SourceId;
use crate::store::rows::{Table, insert};

/// A matter, as it stands after all notes and decisions.
#[derive(Clone, Debug, PartialEq)]
pub struct Matter {
    /// Its name: three or four letters and digits, the same on every device.
    pub name: String,
    /// The gear.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// Why it is or was open.
    pub why: Why,
    /// Whether it stands open.
    pub open: bool,
    /// When it was first raised.
    pub at: Option<DateTime<FixedOffset>>,
    /// The places it rests on, first the one that raised it.
    pub evidence: Vec<Evidence>,
}

/// A place that a matter rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// The source.
    pub source: SourceId,
    /// The bytes.
    pub span: Span,
    /// Whether the words there open the matter (again), or close it.
    pub opens: bool,
}

const MATTER: Table =
    Table { name: "matter", columns: &["name", "n", "gear", "about", "why", "state", "at", "at_offset"] };
const EVIDENCE: Table =
    Table { name: "evidence", columns: &["matter", "n", "role", "source", "start_byte", "end_byte"] };

/// The places of the items that are closed by now, as [`crate::search::keep::closed`] finds them in the database.
pub(crate) fn closed(matters: &[Matter]) -> HashSet<(SourceId, Span)> {
    let closed = matters.iter().filter(|matter| !matter.open).flat_map(|matter| &matter.evidence);
    closed.filter(|evidence| evidence.opens).map(|evidence| (evidence.source, evidence.span)).collect()
}

/// Stores matters in place of those that were there.
pub(crate) async fn replace(conn: &mut SqliteConnection, matters: &[Matter]) -> Result<()> {
    for sql in ["DELETE FROM evidence", "DELETE FROM matter"] {
        sqlx::query(sql).execute(&mut *conn).await.map_err(db("remove matters"))?;
    }
    // In the order of the tables' keys, in which rows are added at the end and nowhere between.
    let mut matters: Vec<(usize, &Matter)> = matters.iter().enumerate().collect();
    matters.sort_by(|(_, a), (_, b)| a.name.cmp(&b.name));
    insert(conn, &MATTER, &matters, |values, (n, matter)| {
        values.put(&*matter.name);
        values.put(*n as i64);
        values.put(matter.gear.as_deref());
        values.put(&*matter.about);
        values.put(matter.why.name());
        values.put(if matter.open { "open" } else { "closed" });
        values.put(matter.at.map(|at| at.timestamp_millis()));
        values.put(matter.at.map(|at| at.offset().local_minus_utc()));
    })
    .await?;
    let evidence: Vec<_> = matters
        .iter()
        .flat_map(|(_, matter)| matter.evidence.iter().enumerate().map(move |e| (matter, e)))
        .collect();
    insert(conn, &EVIDENCE, evidence, |values, (matter, (n, evidence))| {
        values.put(&*matter.name);
        values.put(n as i64);
        values.put(if evidence.opens { "opens" } else { "closes" });
        values.put(evidence.source.key());
        values.span(evidence.span);
    })
    .await
}
