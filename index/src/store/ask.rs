//! Questions to the database that don't need whole notes.

use chrono::{DateTime, FixedOffset, Utc};
use leadsman_ingest::{Notice, Reading, Stance, Trial};
use sqlx::sqlite::{Sqlite, SqliteArguments};
use sqlx::{AssertSqlSafe, Row, query::Query};

use crate::error::{Error, Result, db};
use crate::record::SourceState;
use crate::source::SourceId;
use crate::store::take::{Columns, READING, TRIAL, notice, reading, trial};
use crate::store::{Store, With};

/// Which readings are asked for. What is left empty leaves nothing out.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Names of quantities, any of which will do.
    pub quantities: Vec<String>,
    /// Names of gear, any of which will do.
    pub gear: Vec<String>,
    /// Stances, any of which will do.
    pub stances: Vec<Stance>,
    /// Not before.
    pub since: Option<DateTime<Utc>>,
    /// Before, that moment itself left out.
    pub until: Option<DateTime<Utc>>,
    /// Only what is about the boat or the weather, not about any gear.
    pub no_gear: bool,
}

/// A reading with its source.
#[derive(Clone, Debug, PartialEq)]
pub struct StoredReading {
    /// The source.
    pub source: SourceId,
    /// The file's name.
    pub name: String,
    /// Its number in the source's note.
    pub n: usize,
    /// The reading, without its reasons.
    pub reading: Reading,
}

/// A trial with its source and its conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct StoredTrial {
    /// The source.
    pub source: SourceId,
    /// The file's name.
    pub name: String,
    /// Its number in the source's note.
    pub n: usize,
    /// The trial, without its reasons; `conditions` are indices into the readings beside it.
    pub trial: Trial,
    /// The readings that it was tried in.
    pub conditions: Vec<Reading>,
}

/// A notice with its source.
#[derive(Clone, Debug, PartialEq)]
pub struct StoredNotice {
    /// The source.
    pub source: SourceId,
    /// The file's name.
    pub name: String,
    /// The notice.
    pub notice: Notice,
}

/// A source as the database lists it.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceRow {
    /// The source.
    pub source: SourceId,
    /// The file's name.
    pub name: String,
    /// The path it was taken from.
    pub path: Option<String>,
    /// Its size in bytes.
    pub bytes: u64,
    /// Whether its findings answer.
    pub state: SourceState,
    /// The source that answers instead.
    pub replaced_by: Option<SourceId>,
    /// Name of the format.
    pub format: String,
    /// When the recording or the entry begins.
    pub recorded: Option<DateTime<FixedOffset>>,
    /// Where that came from, as `Note::recorded_from` has it.
    pub recorded_from: String,
    /// When it was taken.
    pub received: DateTime<Utc>,
}

/// How much a home, or one source, holds of each kind; of a home only what answers is counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Sources.
    pub sources: usize,
    /// Stretches of words.
    pub utterances: usize,
    /// Readings.
    pub readings: usize,
    /// Trials.
    pub trials: usize,
    /// Items that notes open.
    pub items: usize,
    /// Matters that notes close.
    pub closings: usize,
    /// What could not be used.
    pub notices: usize,
    /// Readings with a doubt.
    pub doubts: usize,
}

impl Counts {
    /// Counts one note.
    pub fn of(note: &leadsman_ingest::Note) -> Self {
        Self {
            sources: 1,
            utterances: note.utterances.len(),
            readings: note.readings.len(),
            trials: note.trials.len(),
            items: note.items.len(),
            closings: note.closings.len(),
            notices: note.notices.len(),
            doubts: note.readings.iter().filter(|r| !r.doubts.is_empty()).count(),
        }
    }
}

impl Store {
    /// The readings asked for, of sources that answer, by time; those without a time come first.
    pub async fn readings(&self, asked: &Asked) -> Result<Vec<StoredReading>> {
        let mut sql = format!(
            "SELECT s.hash, s.name, r.n, {}, NULL FROM reading r JOIN source s USING (source) WHERE s.state = 'live'",
            qualified("r", READING)
        );
        let any_of = |sql: &mut String, column: &str, count: usize| {
            if count > 0 {
                sql.push_str(&format!(" AND r.{column} IN ({})", vec!["?"; count].join(",")));
            }
        };
        any_of(&mut sql, "quantity", asked.quantities.len());
        any_of(&mut sql, "gear", asked.gear.len());
        any_of(&mut sql, "stance", asked.stances.len());
        if asked.since.is_some() {
            sql.push_str(" AND r.at >= ?");
        }
        if asked.until.is_some() {
            sql.push_str(" AND r.at < ?");
        }
        if asked.no_gear {
            sql.push_str(" AND r.gear IS NULL");
        }
        sql.push_str(" ORDER BY r.at, s.hash, r.n");
        let mut query: Query<'_, Sqlite, SqliteArguments> = sqlx::query(AssertSqlSafe(sql));
        for name in asked.quantities.iter().chain(&asked.gear) {
            query = query.bind(name);
        }
        for stance in &asked.stances {
            query = query.bind(stance.name());
        }
        for time in asked.since.iter().chain(&asked.until) {
            query = query.bind(time.timestamp_millis());
        }
        let rows = query.fetch_all(&self.pool).await.map_err(db("read readings"))?;
        rows.iter()
            .map(|row| {
                let mut c = Columns::new(row, "reading");
                Ok(StoredReading {
                    source: hash(&mut c)?,
                    name: c.get()?,
                    n: c.size()?,
                    reading: reading(&mut c)?,
                })
            })
            .collect()
    }

    /// All trials of sources that answer, by time, each with its conditions. `gear`: only these, if there are any.
    pub async fn trials(&self, gear: &[String]) -> Result<Vec<StoredTrial>> {
        let mut sql = format!(
            "SELECT s.hash, s.name, t.n, {}, NULL FROM trial t JOIN source s USING (source) WHERE s.state = 'live'",
            qualified("t", TRIAL)
        );
        if !gear.is_empty() {
            sql.push_str(&format!(" AND t.gear IN ({})", vec!["?"; gear.len()].join(",")));
        }
        sql.push_str(" ORDER BY t.at, s.hash, t.n");
        let mut query = sqlx::query(AssertSqlSafe(sql));
        for name in gear {
            query = query.bind(name);
        }
        let rows = query.fetch_all(&self.pool).await.map_err(db("read trials"))?;
        let mut trials = Vec::with_capacity(rows.len());
        for row in &rows {
            let mut c = Columns::new(row, "trial");
            let (source, name, n) = (hash(&mut c)?, c.get()?, c.size()?);
            let trial = trial(&mut c)?;
            trials.push(StoredTrial { source, name, n, trial, conditions: Vec::new() });
        }
        self.fill_conditions(&mut trials).await?;
        Ok(trials)
    }

    /// Reads the conditions of trials in one statement: one a trial would take longer than all the rest.
    async fn fill_conditions(&self, trials: &mut [StoredTrial]) -> Result<()> {
        let index: std::collections::HashMap<(i64, i64), usize> =
            trials.iter().enumerate().map(|(i, t)| ((t.source.key(), t.n as i64), i)).collect();
        let sql = format!(
            "SELECT c.source, c.trial, {}, NULL FROM condition c JOIN reading r ON r.source = c.source AND r.n = c.reading
            ORDER BY c.source, c.trial, c.n",
            qualified("r", READING)
        );
        let rows = sqlx::query(AssertSqlSafe(sql)).fetch_all(&self.pool).await;
        for row in &rows.map_err(db("read conditions of trials"))? {
            let mut c = Columns::new(row, "condition");
            let key: (i64, i64) = (c.get()?, c.get()?);
            if let Some(&at) = index.get(&key) {
                let stored = &mut trials[at];
                stored.trial.conditions.push(stored.conditions.len());
                stored.conditions.push(reading(&mut c)?);
            }
        }
        Ok(())
    }

    /// The readings in which a source's `n`th trial took place.
    pub async fn conditions(&self, source: &SourceId, n: usize) -> Result<Vec<Reading>> {
        let sql = format!(
            "SELECT {}, NULL FROM condition c JOIN reading r ON r.source = c.source AND r.n = c.reading
            WHERE c.source = ? AND c.trial = ? ORDER BY c.n",
            qualified("r", READING)
        );
        let query = sqlx::query(AssertSqlSafe(sql)).bind(source.key()).bind(n as i64);
        let rows = query.fetch_all(&self.pool).await.map_err(db("read a trial's conditions"))?;
        rows.iter().map(|row| reading(&mut Columns::new(row, "reading"))).collect()
    }

    /// What could not be used, of sources that answer.
    pub async fn notices(&self) -> Result<Vec<StoredNotice>> {
        let sql = "SELECT s.hash, s.name, n.start_byte, n.end_byte, n.line, n.message, n.hint
            FROM notice n JOIN source s USING (source) WHERE s.state = 'live' ORDER BY s.received, s.hash, n.n";
        let rows = sqlx::query(sql).fetch_all(&self.pool).await.map_err(db("read notices"))?;
        rows.iter()
            .map(|row| {
                let mut c = Columns::new(row, "notice");
                Ok(StoredNotice { source: hash(&mut c)?, name: c.get()?, notice: notice(&mut c)? })
            })
            .collect()
    }

    /// How much answers, of each kind.
    pub async fn counts(&self) -> Result<Counts> {
        let of = |table: &str, and: &str| {
            format!("(SELECT count(*) FROM {table} JOIN source s USING (source) WHERE s.state = 'live'{and})")
        };
        let sql = format!(
            "SELECT (SELECT count(*) FROM source WHERE state = 'live'), {}, {}, {}, {}, {}, {}, {}",
            of("utterance", ""),
            of("reading", ""),
            of("trial", ""),
            of("item", ""),
            of("closing", ""),
            of("notice", ""),
            of("reading", " AND doubts IS NOT NULL")
        );
        let row = sqlx::query(AssertSqlSafe(sql)).fetch_one(&self.pool).await.map_err(db("count"))?;
        let mut c = Columns::new(&row, "meta");
        Ok(Counts {
            sources: c.size()?,
            utterances: c.size()?,
            readings: c.size()?,
            trials: c.size()?,
            items: c.size()?,
            closings: c.size()?,
            notices: c.size()?,
            doubts: c.size()?,
        })
    }

    /// All sources, those whose findings do not answer among them, in the order that they were received.
    pub async fn sources(&self) -> Result<Vec<SourceRow>> {
        let sql = "SELECT hash, name, path, bytes, state, replaced_by, format, recorded, recorded_offset, recorded_basis,
            recorded_from, received FROM source ORDER BY received, hash";
        let rows = sqlx::query(sql).fetch_all(&self.pool).await.map_err(db("read sources"))?;
        rows.iter()
            .map(|row| {
                let mut c = Columns::new(row, "source");
                let source = hash(&mut c)?;
                let (name, path, bytes) = (c.get()?, c.get()?, c.size()? as u64);
                let state = c.named("a source's state", SourceState::from_name)?;
                let replaced_by: Option<&str> = c.get()?;
                let replaced_by = replaced_by.and_then(|hash| hash.parse().ok());
                let format: Option<String> = c.get()?;
                let recorded = c.moment()?.map(|moment| moment.at);
                let recorded_from: Option<String> = c.get()?;
                let recorded_from = recorded_from.unwrap_or_default();
                let received: i64 = c.get()?;
                let received = DateTime::from_timestamp_millis(received).unwrap_or_default();
                let format = format.unwrap_or_default();
                Ok(SourceRow {
                    source,
                    name,
                    path,
                    bytes,
                    state,
                    replaced_by,
                    format,
                    recorded,
                    recorded_from,
                    received,
                })
            })
            .collect()
    }

    /// The source that a person means: by its file's name, its path, or the first four or more digits of its hash.
    /// A name that several share means the one whose findings answer, if it is only one. Errors: none; several.
    pub async fn find_source(&self, asked: &str) -> Result<SourceRow> {
        let digits = asked.to_lowercase();
        let is_hash = digits.len() >= 4 && digits.bytes().all(|b| b.is_ascii_hexdigit());
        let mut found: Vec<_> = self
            .sources()
            .await?
            .into_iter()
            .filter(|s| {
                s.name == asked
                    || s.path.as_deref() == Some(asked)
                    || is_hash && s.source.to_string().starts_with(&digits)
            })
            .collect();
        if found.len() > 1 && found.iter().filter(|s| s.state == SourceState::Live).count() == 1 {
            found.retain(|s| s.state == SourceState::Live);
        }
        match found.len() {
            0 => Err(Error::NoSource { asked: asked.to_owned() }),
            1 => Ok(found.swap_remove(0)),
            _ => Err(Error::ManySources {
                asked: asked.to_owned(),
                found: found.iter().map(|s| format!("{} ({})", s.name, s.source.short())).collect(),
            }),
        }
    }

    /// A source's words as ingest cut them, without the rest of what was found.
    pub async fn words(&self, source: &SourceId) -> Result<Vec<String>> {
        let sql = "SELECT text FROM utterance WHERE source = ? ORDER BY n";
        let rows =
            sqlx::query(sql).bind(source.key()).fetch_all(&self.pool).await.map_err(db("read words"))?;
        rows.iter().map(|row| row.try_get(0).map_err(db("read a row"))).collect()
    }

    /// One trial with all that led to it.
    pub async fn trial(&self, source: &SourceId, n: usize) -> Result<Option<Trial>> {
        let note = self.note(source, With { reasons: true, utterances: false }).await?;
        Ok(note.and_then(|stored| stored.note.trials.into_iter().nth(n)))
    }
}

fn hash(c: &mut Columns<'_>) -> Result<SourceId> {
    c.named("a hash", |hash| hash.parse().ok())
}

fn qualified(table: &str, columns: &str) -> String {
    columns.split(", ").map(|column| format!("{table}.{}", column.trim())).collect::<Vec<_>>().join(", ")
}
