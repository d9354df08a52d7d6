//! Matters as rows: items of many notes folded, as `leadsman_ingest::matter` folds them, kept so that the list of what
//! stands open need not be folded anew for every look.

use chrono::{DateTime, FixedOffset};
use leadsman_ingest::{Span, Why};
use sqlx::SqliteConnection;

use crate::error::{Result, db};
use crate::source::SourceId;
use crate::store::rows::{Table, insert};
use crate::store::take::Columns;
use crate::store::{Store, meta, set_meta};

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
    /// All else that the one who folded it wants to find again, as JSON.
    pub json: String,
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

const MATTER: Table = Table {
    name: "matter",
    columns: &["name", "n", "gear", "about", "why", "state", "at", "at_offset", "json"],
};
const EVIDENCE: Table =
    Table { name: "evidence", columns: &["matter", "n", "role", "source", "start_byte", "end_byte"] };

/// Stores matters in place of those that were there.
pub(crate) async fn replace(conn: &mut SqliteConnection, matters: &[Matter]) -> Result<()> {
    for sql in ["DELETE FROM evidence", "DELETE FROM matter"] {
        sqlx::query(sql).execute(&mut *conn).await.map_err(db("remove matters"))?;
    }
    insert(conn, &MATTER, matters.iter().enumerate(), |values, (n, matter)| {
        values.put(&*matter.name);
        values.put(n as i64);
        values.put(matter.gear.as_deref());
        values.put(&*matter.about);
        values.put(matter.why.name());
        values.put(if matter.open { "open" } else { "closed" });
        values.put(matter.at.map(|at| at.timestamp_millis()));
        values.put(matter.at.map(|at| at.offset().local_minus_utc()));
        values.put(&*matter.json);
    })
    .await?;
    let evidence: Vec<_> = matters
        .iter()
        .flat_map(|matter| matter.evidence.iter().enumerate().map(move |e| (matter, e)))
        .collect();
    insert(conn, &EVIDENCE, evidence, |values, (matter, (n, evidence))| {
        values.put(&*matter.name);
        values.put(n as i64);
        values.put(if evidence.opens { "opens" } else { "closes" });
        values.put(evidence.source.key());
        values.span(evidence.span);
    })
    .await?;
    set_meta(conn, "matters", Some("folded")).await
}

impl Store {
    /// The matters in the order that they were stored in; `None` where notes or decisions have come in since, so
    /// that they must be folded again.
    pub async fn matters(&self) -> Result<Option<Vec<Matter>>> {
        let mut conn = self.pool.acquire().await.map_err(db("open the database"))?;
        if meta(&mut conn, "matters").await.map_err(db("read matters"))?.is_none() {
            return Ok(None);
        }
        let sql = "SELECT name, gear, about, why, state, at, at_offset, json FROM matter ORDER BY n";
        let rows = sqlx::query(sql).fetch_all(&mut *conn).await.map_err(db("read matters"))?;
        let mut matters = Vec::with_capacity(rows.len());
        for row in &rows {
            let mut c = Columns::new(row, "matter");
            let (name, gear, about) = (c.get()?, c.get()?, c.get()?);
            let why = c.named("why an item is open", Why::from_name)?;
            let open = c.named("open or closed", |state| Some(state == "open"))?;
            let (at, offset): (Option<i64>, Option<i32>) = (c.get()?, c.get()?);
            let at = at.zip(offset).and_then(|(at, offset)| {
                Some(DateTime::from_timestamp_millis(at)?.with_timezone(&FixedOffset::east_opt(offset)?))
            });
            matters.push(Matter { name, gear, about, why, open, at, evidence: Vec::new(), json: c.get()? });
        }
        let index: std::collections::HashMap<_, _> =
            matters.iter().enumerate().map(|(n, matter)| (matter.name.clone(), n)).collect();
        let sql = "SELECT e.matter, e.role, s.hash, e.start_byte, e.end_byte
            FROM evidence e JOIN source s USING (source) ORDER BY e.matter, e.n";
        for row in &sqlx::query(sql).fetch_all(&mut *conn).await.map_err(db("read matters"))? {
            let mut c = Columns::new(row, "evidence");
            let name: &str = c.get()?;
            let opens = c.named("opens or closes", |role| Some(role == "opens"))?;
            let source = c.named("a hash", |hash| hash.parse().ok())?;
            let evidence = Evidence { source, span: c.span()?, opens };
            if let Some(n) = index.get(name) {
                matters[*n].evidence.push(evidence);
            }
        }
        Ok(Some(matters))
    }
}
