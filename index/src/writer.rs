//! The one that writes to a home, while it holds the home's lock.
//!
//! What the skipper gave comes first: bytes into the archive, a line into the arrivals or decisions, each on the disk
//! before the next step. The database follows in one transaction, the search index last. A stop at any point leaves
//! the record whole, and the rest is made again from it.

use std::collections::BTreeSet;
use std::path::Path;

use chrono::{DateTime, NaiveDate, Utc};
use leadsman_ingest::Note;
use sqlx::{ConnectOptions, Connection, SqliteConnection};

use crate::arrival::Arrival;
use crate::correct;
use crate::decision::{self, Decision, Entry};
use crate::disk;
use crate::error::{Error, Result, db};
use crate::home::Home;
use crate::in_hand::InHand;
use crate::learned;
use crate::lines::{self, Line};
use crate::lock::Lock;
use crate::matter::{self, Matter};
use crate::rebuild;
use crate::record::{Record, SourceState};
use crate::search::keep;
use crate::source::SourceId;
use crate::store::{self, State, Stored, channel, put, set_meta};

/// Writes to a home.
#[derive(Debug)]
pub struct Writer {
    pub(crate) home: Home,
    pub(crate) device: String,
    pub(crate) conn: SqliteConnection,
    pub(crate) record: Record,
    /// Set when a transaction failed after its line was in the record: the database must not pass for complete.
    pub(crate) behind: bool,
    /// Sources whose documents in the search index are to be made again.
    pub(crate) stale: BTreeSet<SourceId>,
    /// What the notes so far say of the boat, while more of them are taken.
    pub(crate) learned: learned::Learned,
    /// The stamp of the search index, while it is in step with the database but for `stale`.
    search: Option<String>,
    made_again: Option<String>,
    /// What the database was just made from, until anything in it changes.
    in_hand: Option<InHand>,
    _lock: Lock,
}

impl Writer {
    pub(crate) async fn with_lock(home: &Home, lock: Lock) -> Result<Self> {
        let device = home.device()?;
        let mut record = home.record()?;
        let mut in_hand = None;
        let made_again = match store::look(home, &record).await {
            State::Current => None,
            State::Behind(why) | State::Unusable(why) => {
                let rebuilt = rebuild::rebuild(home, |_| {}).await?;
                record = rebuilt.record;
                in_hand = Some(rebuilt.in_hand);
                Some(why)
            }
        };
        let mut conn = store::options(&home.database()).connect().await.map_err(db("open the database"))?;
        let search =
            store::meta(&mut conn, "search").await.map_err(db("read what the index was made from"))?;
        Ok(Self {
            search,
            learned: learned::Learned::default(),
            home: home.clone(),
            device,
            conn,
            record,
            behind: false,
            stale: BTreeSet::new(),
            made_again,
            in_hand,
            _lock: lock,
        })
    }

    /// Holds what the database was just made from.
    pub(crate) fn hold(&mut self, in_hand: InHand) {
        self.in_hand = Some(in_hand);
    }

    /// The findings of all sources that answer, without their words and reasons, where they are still in hand from a
    /// rebuild: as [`crate::Store::notes`] would give them. They are given once.
    pub fn notes_in_hand(&mut self) -> Option<Vec<Stored>> {
        let in_hand = self.in_hand.as_mut()?;
        // Where no index can be gone on with, one is made anew, and can be begun.
        if self.search.is_none() {
            in_hand.begin_index(&keep::new_folder(&self.home));
        }
        in_hand.notes()
    }

    /// What is in hand is no longer what the database holds.
    async fn let_go(&mut self) {
        if let Some(in_hand) = self.in_hand.take() {
            in_hand.drop().await;
        }
    }

    /// Why the database was made again when the home was taken, if it was.
    pub fn made_again(&self) -> Option<&str> {
        self.made_again.as_deref()
    }

    /// The home.
    pub fn home(&self) -> &Home {
        &self.home
    }

    /// The name of this device.
    pub fn device(&self) -> &str {
        &self.device
    }

    /// The arrivals and decisions as they stand.
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// Keeps a decision; returns when it is on the disk. Errors: an undo of what can't be undone; the disk.
    pub async fn decide(&mut self, decision: Decision) -> Result<Entry> {
        self.decide_for(None, decision).await
    }

    /// As [`Writer::decide`], for a day that has passed.
    pub async fn decide_for(&mut self, day: Option<NaiveDate>, decision: Decision) -> Result<Entry> {
        self.may(&decision)?;
        let path = self.home.root().join("decisions").join(format!("{}.jsonl", self.device));
        let (time, id) = self.record.stamp(&self.device, Utc::now());
        let entry = Entry { v: decision::VERSION, id, time, device: self.device.clone(), day, decision };
        let text = lines::to_line(&entry, &path)?;
        lines::append::<Entry>(&path, std::slice::from_ref(&text))?;
        let before = self.states();
        let taught = learned::taught(&self.record);
        let words = correct::words(&self.record);
        self.record.add_decision(Line { value: entry.clone(), text, device: self.device.clone() });
        for source in self.record.erased() {
            self.home.archive().erase(source)?;
        }
        if learned::taught(&self.record) == taught {
            let after = correct::words(&self.record);
            let named: BTreeSet<SourceId> =
                words.symmetric_difference(&after).map(|(_, source)| *source).collect();
            self.correct_again(&named).await?;
            self.follow(&before).await?;
        } else {
            // Other words: every note is read again.
            self.make_again().await?;
        }
        Ok(entry)
    }

    /// Reads again the sources whose findings the skipper has said something else of, and their newer copies. Until
    /// the decision itself is stored too, the database does not pass for complete.
    async fn correct_again(&mut self, named: &BTreeSet<SourceId>) -> Result<()> {
        if named.is_empty() {
            return Ok(());
        }
        let was = std::mem::replace(&mut self.behind, true);
        let touched = |source: &SourceId| {
            named.contains(source)
                || !self.record.copies_before(source).is_disjoint(&named.iter().copied().collect())
        };
        let archive = self.home.archive();
        let sources: Vec<SourceId> =
            self.record.sources().into_iter().filter(|s| touched(s) && archive.has(s)).collect();
        for source in sources {
            let hints = self.record.options(&source).map(Arrival::hints).unwrap_or_default();
            let note = self.read_again(&source, &hints).await?;
            self.put_found(&source, None, &note).await?;
        }
        self.behind = was;
        Ok(())
    }

    /// Takes back the last decision of this device that stands. `None`: there is none.
    pub async fn undo_last(&mut self) -> Result<Option<Entry>> {
        let last = self.record.decisions().filter(|entry| {
            entry.device == self.device
                && !matches!(entry.decision, Decision::Undo { .. } | Decision::Withdraw { erase: true, .. })
        });
        let Some(last) = last.last().cloned() else { return Ok(None) };
        self.decide(Decision::Undo { decision: last.id.clone() }).await?;
        Ok(Some(last))
    }

    fn may(&self, decision: &Decision) -> Result<()> {
        match decision {
            Decision::Undo { decision: id } => {
                let refuse = |why| Err(Error::CannotUndo { id: id.clone(), why });
                match self.record.all_decisions().find(|(entry, _)| entry.id == *id) {
                    None => refuse("there is no such decision"),
                    Some((_, false)) => refuse("it is undone already"),
                    Some((entry, true))
                        if matches!(entry.decision, Decision::Withdraw { erase: true, .. }) =>
                    {
                        refuse("it destroyed a source's bytes")
                    }
                    Some(_) => Ok(()),
                }
            }
            Decision::Withdraw { source, .. } if !self.record.knows(source) => {
                Err(Error::NoSource { asked: source.to_string() })
            }
            _ => Ok(()),
        }
    }

    /// Stores folded matters; what stands open is read from them until notes or decisions come in.
    pub async fn replace_matters(&mut self, matters: &[Matter]) -> Result<()> {
        let before = keep::closed(&mut self.conn).await?;
        let mut transaction = self.conn.begin().await.map_err(db("begin"))?;
        matter::replace(&mut transaction, matters).await?;
        let after = matter::closed(matters);
        let changed: BTreeSet<_> = before.symmetric_difference(&after).map(|(source, _)| *source).collect();
        if !changed.is_empty() {
            set_meta(&mut transaction, "search", None).await?;
        }
        commit(transaction, self.home.root()).await?;
        self.stale.extend(changed);
        Ok(())
    }

    /// Brings the search index up to the database, in one commit for all that was written, and lets go of the home.
    /// Without this the next search makes the index again.
    pub async fn finish(mut self) -> Result<()> {
        self.commit_search().await?;
        self.let_go().await;
        self.conn.close().await.map_err(db("close the database"))
    }

    /// The index is of another database: it is to be made again.
    pub(crate) fn forget_search(&mut self) {
        self.search = None;
    }

    /// Brings the search index up to the database, if it is not.
    pub(crate) async fn commit_search(&mut self) -> Result<()> {
        if self.stale.is_empty() && self.search.is_some() {
            return Ok(());
        }
        let (was, in_hand) = (self.search.take(), self.in_hand.take());
        self.search =
            Some(keep::follow(&self.home, &mut self.conn, was.as_deref(), &self.stale, in_hand).await?);
        self.stale.clear();
        Ok(())
    }

    /// Every source's state by the record and the archive.
    pub(crate) fn states(&self) -> Vec<(SourceId, (SourceState, Option<SourceId>))> {
        self.record.sources().into_iter().map(|source| (source, self.record.state(&source))).collect()
    }

    /// Brings the database up to decisions that came in.
    async fn follow(&mut self, before: &[(SourceId, (SourceState, Option<SourceId>))]) -> Result<()> {
        self.let_go().await;
        let after = self.states();
        let archive = self.home.archive();
        let mut transaction = self.conn.begin().await.map_err(db("begin"))?;
        let done = async {
            put_decisions(&mut transaction, &self.record).await?;
            for ((source, now), (_, then)) in after.iter().zip(before) {
                if now == then {
                    continue;
                }
                if now.0 == SourceState::Erased {
                    put::forget(&mut transaction, source).await?;
                }
                put_source(&mut transaction, &self.record, source, archive.has(source), None).await?;
                self.stale.insert(*source);
            }
            if !self.stale.is_empty() {
                set_meta(&mut transaction, "search", None).await?;
            }
            set_meta(&mut transaction, "record", Some(&digest(&self.record, self.behind))).await?;
            commit(transaction, self.home.root()).await
        };
        let done: Result<()> = done.await;
        self.behind |= done.is_err();
        done
    }

    /// Brings the database up to one arrival: the source's row, its findings, the arrival and the states of the
    /// sources that it replaces, all in one transaction.
    pub(crate) async fn put_arrival(&mut self, line: Line<Arrival>, note: &Note) -> Result<()> {
        self.record.add_arrival(line.clone());
        self.put_found(&line.value.source, Some(&line), note).await
    }

    /// Stores a source's findings in place of those that were there, with the arrival that they come from.
    pub(crate) async fn put_found(
        &mut self,
        source: &SourceId,
        line: Option<&Line<Arrival>>,
        note: &Note,
    ) -> Result<()> {
        self.let_go().await;
        let replaced = line.and_then(|line| line.value.replaces);
        let mut corrected = None;
        if !correct::words(&self.record).is_empty() {
            let note = corrected.insert(note.clone());
            correct::corrected(&self.record, &self.home.archive(), source, note);
        }
        let note = corrected.as_ref().unwrap_or(note);
        let mut transaction = self.conn.begin().await.map_err(db("begin"))?;
        let done = async {
            put::forget(&mut transaction, source).await?;
            put_source(&mut transaction, &self.record, source, true, Some(note)).await?;
            put::note(&mut transaction, source, note).await?;
            let mut hints = self.record.options(source).map(Arrival::hints).unwrap_or_default();
            hints.columns = learned::taught(&self.record).columns;
            channel::put(&mut transaction, &self.home.archive(), source, &note.format, &hints).await?;
            if let Some(line) = line {
                put_arrival(&mut transaction, line).await?;
            }
            if let Some(old) = replaced.filter(|old| self.record.knows(old)) {
                let kept = self.home.archive().has(&old);
                put_source(&mut transaction, &self.record, &old, kept, None).await?;
            }
            set_meta(&mut transaction, "search", None).await?;
            set_meta(&mut transaction, "record", Some(&digest(&self.record, self.behind))).await?;
            commit(transaction, self.home.root()).await
        };
        let done: Result<()> = done.await;
        self.behind |= done.is_err();
        self.stale.insert(*source);
        self.stale.extend(replaced);
        done
    }

    /// Whether the database has no findings of a source because its bytes were gone or damaged.
    pub(crate) async fn misses(&mut self, source: &SourceId) -> Result<bool> {
        let state: Option<String> = sqlx::query_scalar("SELECT state FROM source WHERE source = ?")
            .bind(source.key())
            .fetch_optional(&mut self.conn)
            .await
            .map_err(db("read a source"))?;
        Ok(state.as_deref() == Some(SourceState::Missing.name()))
    }
}

/// What the database says it stands for; one that missed something never passes for complete.
fn digest(record: &Record, behind: bool) -> String {
    if behind { "behind".to_owned() } else { record.digest().to_string() }
}

async fn commit(transaction: sqlx::Transaction<'_, sqlx::Sqlite>, root: &Path) -> Result<()> {
    disk::step("commit to the database in", root)?;
    transaction.commit().await.map_err(db("commit"))?;
    disk::step("go on after a commit in", root)
}

pub(crate) async fn put_arrival(conn: &mut SqliteConnection, line: &Line<Arrival>) -> Result<()> {
    sqlx::query("INSERT INTO arrival (id, device, time, source, line) VALUES (?, ?, ?, ?, ?)")
        .bind(&line.value.id)
        .bind(&line.device)
        .bind(line.value.time.timestamp_millis())
        .bind(line.value.source.key())
        .bind(&line.text)
        .execute(conn)
        .await
        .map_err(db("store an arrival"))?;
    Ok(())
}

/// Stores all decisions in place of those that were there: one more can change whether others stand.
pub(crate) async fn put_decisions(conn: &mut SqliteConnection, record: &Record) -> Result<()> {
    sqlx::query("DELETE FROM decision").execute(&mut *conn).await.map_err(db("remove decisions"))?;
    let table = store::rows::Table {
        name: "decision",
        columns: &["id", "device", "time", "kind", "item", "stands", "line"],
    };
    let all: Vec<_> = record.all_decisions().collect();
    store::rows::insert(conn, &table, all, |values, (entry, stands)| {
        let (device, text) = record.decision_line(&entry.id).cloned().unwrap_or_default();
        values.put(&*entry.id);
        values.put(device);
        values.put(entry.time.timestamp_millis());
        values.put(entry.decision.kind());
        values.put(entry.decision.item());
        values.put(i64::from(stands));
        values.put(text);
    })
    .await
}

/// Stores a source's row. Without a note, what was read of it earlier stays.
pub(crate) async fn put_source(
    conn: &mut SqliteConnection,
    record: &Record,
    source: &SourceId,
    kept: bool,
    note: Option<&Note>,
) -> Result<()> {
    let (Some(first), Some(options)) = (record.first_arrival(source), record.options(source)) else {
        return Ok(());
    };
    let (mut state, replaced_by) = record.state(source);
    if !kept && state != SourceState::Erased {
        state = SourceState::Missing;
    }
    let millis = |time: DateTime<Utc>| time.timestamp_millis();
    let mut sql = "INSERT INTO source (source, hash, name, path, bytes, modified, received, state, replaced_by, format, \
        encoding, seconds, recorded, recorded_offset, recorded_basis, recorded_from, zone, zone_said, names, leaves, back, \
        leaves_said, back_said) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) \
        ON CONFLICT (source) DO UPDATE SET name = excluded.name, path = excluded.path, modified = excluded.modified, \
        received = excluded.received, state = excluded.state, replaced_by = excluded.replaced_by"
        .to_owned();
    if note.is_some() || state == SourceState::Erased {
        sql.push_str(
            ", format = excluded.format, encoding = excluded.encoding, seconds = excluded.seconds, recorded = excluded.recorded, \
            recorded_offset = excluded.recorded_offset, recorded_basis = excluded.recorded_basis, \
            zone_said = excluded.zone_said, names = excluded.names, recorded_from = excluded.recorded_from, zone = excluded.zone, leaves = excluded.leaves, \
            back = excluded.back, leaves_said = excluded.leaves_said, back_said = excluded.back_said",
        );
    }
    sql.push_str(" WHERE hash = excluded.hash");
    let recorded = note.and_then(|note| note.recorded);
    let names = note.map(|note| &note.names).filter(|names| !names.is_empty());
    let names = names.and_then(|names| serde_json::to_string(names).ok());
    let done = sqlx::query(sqlx::AssertSqlSafe(sql))
        .bind(source.key())
        .bind(source.to_string())
        .bind(&options.name)
        .bind(options.path.as_deref().or(first.path.as_deref()))
        .bind(first.bytes as i64)
        .bind(options.modified.map(millis))
        .bind(millis(first.time))
        .bind(state.name())
        .bind(replaced_by.map(|newer| newer.to_string()))
        .bind(note.map(|note| note.format.as_str()))
        .bind(note.map(|note| note.encoding.as_str()))
        .bind(note.and_then(|note| note.seconds))
        .bind(recorded.map(|moment| moment.at.timestamp_millis()))
        .bind(recorded.map(|moment| moment.at.offset().local_minus_utc()))
        .bind(recorded.map(|moment| moment.basis.name()))
        .bind(note.map(|note| note.recorded_from.as_str()))
        .bind(note.map(|note| note.zone.as_str()))
        .bind(note.map(|note| i64::from(note.zone_said)))
        .bind(names)
        .bind(note.and_then(|note| note.passage.leaves).map(|day| day.to_string()))
        .bind(note.and_then(|note| note.passage.back).map(|day| day.to_string()))
        .bind(note.and_then(|note| note.passage.leaves_said.as_deref()))
        .bind(note.and_then(|note| note.passage.back_said.as_deref()))
        .execute(conn)
        .await
        .map_err(db("store a source"))?;
    if done.rows_affected() == 0 {
        // Two hashes that agree in 63 bits: not to be expected in the life of a boat, and not to be mixed up either.
        let found = source.to_string();
        return Err(Error::Value { table: "source.source", expected: "a key of no other source", found });
    }
    Ok(())
}
