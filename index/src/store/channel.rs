//! The boat's instruments: a log's channels, minute by minute and hour by hour.
//!
//! A log is read again from the archive while its minutes go into the database a batch at a time, so that neither the
//! log nor its minutes need be in memory.

use std::collections::BTreeMap;

use leadsman_ingest::instrument::quantity::Scale;
use leadsman_ingest::instrument::{
    self, Channel, ChannelId, Kind, Minute, Minutes, Quantity, Reference, Sample, Sink, minute::Vector,
};
use leadsman_ingest::{Hints, sound};
use sha2::{Digest, Sha256};
use sqlx::{AssertSqlSafe, SqliteConnection};
use tokio::sync::mpsc;
use tokio::task::spawn_blocking;

use crate::archive::Archive;
use crate::error::{Error, Result, db};
use crate::learned::{self, Lessons};
use crate::source::SourceId;
use crate::store::Store;
use crate::store::rows::{Table, Values, upsert};
use crate::store::take::Columns;

/// Minutes that are handed over together.
const BATCH: usize = 4096;
/// Batches that may wait for the database.
const WAITING: usize = 4;

const MINUTE: Table = Table {
    name: "minute",
    columns: &["channel", "minute", "source", "count", "min", "mean", "max", "sin", "cos"],
};
const HOUR: Table = Table {
    name: "hour",
    columns: &["channel", "hour", "source", "count", "min", "mean", "max", "sin", "cos"],
};

/// Joins a part of a minute (or an hour) to what is there, as [`Minute::join`] does: directions are brought to the
/// same turn first.
fn joined(key: &str) -> String {
    const TURNS: &str = "iif(sin IS NULL, 0, round((mean - excluded.mean) / 360) * 360)";
    let weighed = |column: &str, other: &str| {
        format!("{column} = ({column} * count + ({other}) * excluded.count) / (count + excluded.count)")
    };
    format!(
        " ON CONFLICT (channel, {key}, source) DO UPDATE SET count = count + excluded.count,
        min = min(min, excluded.min + {TURNS}), max = max(max, excluded.max + {TURNS}), {}, {}, {}",
        weighed("mean", &format!("excluded.mean + {TURNS}")),
        weighed("sin", "excluded.sin"),
        weighed("cos", "excluded.cos"),
    )
}

/// A channel's key in the database: 48 bits of a hash of what it is, so the same on every device.
fn key(channel: &Channel) -> i64 {
    let mut hash = Sha256::new();
    for part in [
        channel.quantity.name(),
        channel.reference.name(),
        channel.source.as_str(),
        channel.instance.as_str(),
    ] {
        hash.update(part);
        hash.update([0]);
    }
    let hash: [u8; 32] = hash.finalize().into();
    hash[..6].iter().fold(0, |key, &byte| key << 8 | i64::from(byte))
}

#[derive(Debug, Default)]
struct Batch {
    channels: Vec<(i64, Channel)>,
    minutes: Vec<(i64, Minute)>,
}

/// Sums samples up and hands them over.
struct Sums {
    keys: Vec<i64>,
    minutes: Minutes,
    batch: Batch,
    send: mpsc::Sender<Batch>,
}

impl Sums {
    fn hand_over(&mut self) {
        // The other end is gone only when the database failed, which its own error tells.
        self.send.blocking_send(std::mem::take(&mut self.batch)).ok();
    }

    fn finish(mut self) {
        std::mem::take(&mut self.minutes)
            .finish(&mut |minute| self.batch.minutes.push((self.keys[minute.channel.index()], minute)));
        self.hand_over();
    }
}

impl Sink for Sums {
    fn channel(&mut self, id: ChannelId, channel: &Channel) {
        debug_assert_eq!(id.index(), self.keys.len(), "channels come in their order");
        let key = key(channel);
        self.keys.push(key);
        self.batch.channels.push((key, channel.clone()));
    }

    #[inline]
    fn sample(&mut self, sample: Sample) {
        let Self { keys, minutes, batch, .. } = self;
        minutes.add(&sample, &mut |minute| batch.minutes.push((keys[minute.channel.index()], minute)));
        if self.batch.minutes.len() >= BATCH {
            self.hand_over();
        }
    }
}

/// Reads what a note says of a source: by its head, a recording is only looked at, and an instrument log is read as it streams, its values left aside.
pub(crate) fn note(
    archive: &Archive,
    source: &SourceId,
    hints: &Hints,
    taught: &Lessons,
) -> Result<leadsman_ingest::Note> {
    let head = archive.head(source, instrument::HEAD.max(sound::HEAD))?;
    if sound::sniff(&head) {
        return Ok(sound::note(Box::new(archive.unpack(source)?), hints));
    }
    match instrument::sniff(&head, &taught.columns) {
        None if archive.is_larger(source, learned::LARGEST_WORDS)? => Ok(learned::too_large()),
        None => archive.read(source).map(|bytes| learned::read_words(&bytes, hints, &taught.words)),
        Some(kind) => {
            struct Aside;
            impl Sink for Aside {
                fn sample(&mut self, _: Sample) {}
            }
            let hints = Hints { columns: taught.columns.clone(), ..hints.clone() };
            log(archive, source, kind, &hints, &mut Aside).map(|parsed| parsed.note(&hints))
        }
    }
}

/// Reads a log from the archive. Errors: its bytes are not the right ones.
pub(crate) fn log(
    archive: &Archive,
    source: &SourceId,
    kind: Kind,
    hints: &Hints,
    sink: &mut impl Sink,
) -> Result<instrument::Parsed> {
    let mut stream = archive.open(source)?;
    let parsed = instrument::read(kind, &mut stream, hints, sink);
    // A reader may stop before the end, at XML that is not well formed.
    let path = archive.path(source);
    let rest = std::io::copy(&mut stream, &mut std::io::sink());
    let found = stream.finish().0;
    match rest {
        Ok(_) if found == *source => Ok(parsed),
        Ok(_) => Err(Error::Damaged { path, expected: *source, found: found.to_string() }),
        Err(e) => {
            let found = format!("bytes that do not unpack ({e})");
            Err(Error::Damaged { path, expected: *source, found })
        }
    }
}

/// Stores the channels and minutes of a source, if its format is one of instrument logs; `hints` with the columns
/// that are mapped.
pub(crate) async fn put(
    conn: &mut SqliteConnection,
    archive: &Archive,
    source: &SourceId,
    format: &str,
    hints: &Hints,
) -> Result<()> {
    let Some(kind) = Kind::from_name(format) else { return Ok(()) };
    let (send, mut heard) = mpsc::channel(WAITING);
    let (archive, id, hints) = (archive.clone(), *source, hints.clone());
    let reading = spawn_blocking(move || {
        let mut sums = Sums { keys: Vec::new(), minutes: Minutes::default(), batch: Batch::default(), send };
        log(&archive, &id, kind, &hints, &mut sums)?;
        sums.finish();
        Ok(())
    });
    let mut ends: BTreeMap<i64, (i64, i64)> = BTreeMap::new();
    let mut hours: BTreeMap<i64, Minute> = BTreeMap::new();
    let (minute_joined, hour_joined) = (joined("minute"), joined("hour"));
    while let Some(batch) = heard.recv().await {
        for (key, channel) in &batch.channels {
            put_channel(conn, *key, channel).await?;
        }
        upsert(conn, &MINUTE, &minute_joined, batch.minutes.iter(), |values, (key, minute)| {
            put_sums(values, *key, source, minute);
        })
        .await?;
        let mut full = Vec::new();
        for (key, minute) in &batch.minutes {
            let (first, last) = ends.entry(*key).or_insert((minute.minute, minute.minute));
            *first = (*first).min(minute.minute);
            *last = (*last).max(minute.minute);
            let part = Minute { minute: minute.minute.div_euclid(60), ..*minute };
            match hours.get_mut(key) {
                Some(hour) if hour.minute == part.minute => *hour = hour.join(part),
                _ => full.extend(hours.insert(*key, part).map(|hour| (*key, hour))),
            }
        }
        put_hours(conn, source, &full, &hour_joined).await?;
    }
    let rest: Vec<_> = hours.into_iter().collect();
    put_hours(conn, source, &rest, &hour_joined).await?;
    let read: Result<()> =
        reading.await.unwrap_or_else(|e| Err(Error::Task { doing: "read a log", what: e.to_string() }));
    read?;
    for (channel, (first, last)) in ends {
        sqlx::query(
            "INSERT INTO span SELECT source, channel, min(minute), max(minute), count(*), sum(count) FROM minute
            WHERE channel = ? AND minute BETWEEN ? AND ? AND source = ?",
        )
        .bind(channel)
        .bind(first)
        .bind(last)
        .bind(source.key())
        .execute(&mut *conn)
        .await
        .map_err(db("store what a log spans"))?;
    }
    Ok(())
}

async fn put_hours(
    conn: &mut SqliteConnection,
    source: &SourceId,
    hours: &[(i64, Minute)],
    joined: &str,
) -> Result<()> {
    upsert(conn, &HOUR, joined, hours.iter(), |values, (key, hour)| put_sums(values, *key, source, hour))
        .await
}

fn put_sums(values: &mut Values, key: i64, source: &SourceId, minute: &Minute) {
    values.put(key);
    values.put(minute.minute);
    values.put(source.key());
    values.put(i64::from(minute.count));
    values.put(minute.min);
    values.put(minute.mean);
    values.put(minute.max);
    values.put(minute.vector.map(|vector| vector.sin));
    values.put(minute.vector.map(|vector| vector.cos));
}

async fn put_channel(conn: &mut SqliteConnection, key: i64, channel: &Channel) -> Result<()> {
    let done = sqlx::query(
        "INSERT INTO channel (channel, quantity, reference, sender, instance, unit) VALUES (?, ?, ?, ?, ?, ?)
        ON CONFLICT (channel) DO UPDATE SET unit = excluded.unit WHERE quantity = excluded.quantity
            AND reference = excluded.reference AND sender = excluded.sender AND instance = excluded.instance",
    )
    .bind(key)
    .bind(channel.quantity.name())
    .bind(channel.reference.name())
    .bind(&channel.source)
    .bind(&channel.instance)
    .bind(channel.quantity.unit())
    .execute(conn)
    .await
    .map_err(db("store a channel"))?;
    if done.rows_affected() == 0 {
        // Two channels that agree in 48 bits: not to be expected, and not to be mixed up either.
        let found = format!("{channel:?}");
        return Err(Error::Value { table: "channel.channel", expected: "a key of no other channel", found });
    }
    Ok(())
}

/// Removes a source's minutes, and channels that no other source has.
pub(crate) async fn forget(conn: &mut SqliteConnection, source: &SourceId) -> Result<()> {
    for (table, minutes) in [("minute", 1), ("hour", 60)] {
        let sql = format!(
            "DELETE FROM {table} WHERE (channel, {table}, source) IN (
                SELECT m.channel, m.{table}, m.source FROM span p JOIN {table} m ON m.channel = p.channel
                    AND m.{table} BETWEEN p.first / {minutes} - 1 AND p.last / {minutes} + 1 AND m.source = p.source
                WHERE p.source = ?)"
        );
        sqlx::query(AssertSqlSafe(sql))
            .bind(source.key())
            .execute(&mut *conn)
            .await
            .map_err(db("remove a log's minutes"))?;
    }
    let removed = sqlx::query("DELETE FROM span WHERE source = ?")
        .bind(source.key())
        .execute(&mut *conn)
        .await
        .map_err(db("remove what a log spans"))?;
    if removed.rows_affected() > 0 {
        sqlx::query("DELETE FROM channel WHERE channel NOT IN (SELECT channel FROM span)")
            .execute(conn)
            .await
            .map_err(db("remove channels without a log"))?;
    }
    Ok(())
}

/// A channel as the database has it, over all logs that answer.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelRow {
    /// Its key, for asking for its minutes.
    pub key: i64,
    /// What it is.
    pub channel: Channel,
    /// First minute with a sample, since 1970 UTC.
    pub first: i64,
    /// Last minute with a sample.
    pub last: i64,
    /// Minutes with samples; one that two logs have counts twice.
    pub minutes: u64,
    /// Samples.
    pub samples: u64,
    /// Logs that have it.
    pub logs: u64,
}

/// A stretch without samples in a channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The last minute before it, since 1970 UTC.
    pub after: i64,
    /// The first minute after it.
    pub until: i64,
}

/// What an instrument log holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// Its channels, by quantity, reference, sender and instance.
    pub channels: Vec<Channel>,
    /// First minute with a sample, since 1970 UTC.
    pub first: i64,
    /// Last minute with a sample.
    pub last: i64,
    /// Samples that have a time.
    pub samples: u64,
}

/// What a source holds of channels; `None` where it is no instrument log, or one without any time.
pub(crate) async fn held(conn: &mut SqliteConnection, source: &SourceId) -> Result<Option<Held>> {
    let sql = "SELECT c.quantity, c.reference, c.sender, c.instance, p.first, p.last, p.samples
        FROM span p JOIN channel c USING (channel) WHERE p.source = ?
        ORDER BY c.quantity, c.reference, c.sender, c.instance";
    let rows =
        sqlx::query(sql).bind(source.key()).fetch_all(conn).await.map_err(db("read what a log holds"))?;
    let mut held: Option<Held> = None;
    for row in &rows {
        let mut c = Columns::new(row, "channel");
        let channel = channel(&mut c)?;
        let (first, last, samples) = (c.get()?, c.get()?, c.size()? as u64);
        let held = held.get_or_insert(Held { channels: Vec::new(), first, last, samples: 0 });
        held.channels.push(channel);
        held.first = held.first.min(first);
        held.last = held.last.max(last);
        held.samples += samples;
    }
    Ok(held)
}

fn channel(c: &mut Columns<'_>) -> Result<Channel> {
    Ok(Channel {
        quantity: c.named("a quantity of instruments", Quantity::from_name)?,
        reference: c.named("a reference", Reference::from_name)?,
        source: c.get()?,
        instance: c.get()?,
    })
}

impl Store {
    /// All channels of logs that answer, by quantity, reference, sender and instance.
    pub async fn channels(&self) -> Result<Vec<ChannelRow>> {
        self.channels_where("s.state = 'live'", None).await
    }

    /// The channels of one log, as far as it has them.
    pub async fn channels_of(&self, source: &SourceId) -> Result<Vec<ChannelRow>> {
        self.channels_where("p.source = ?", Some(source.key())).await
    }

    async fn channels_where(&self, wanted: &'static str, source: Option<i64>) -> Result<Vec<ChannelRow>> {
        let sql = format!(
            "SELECT c.channel, c.quantity, c.reference, c.sender, c.instance, min(p.first), max(p.last),
                sum(p.minutes), sum(p.samples), count(*)
            FROM channel c JOIN span p USING (channel) JOIN source s USING (source) WHERE {wanted}
            GROUP BY c.channel ORDER BY c.quantity, c.reference, c.sender, c.instance"
        );
        let mut query = sqlx::query(AssertSqlSafe(sql));
        if let Some(source) = source {
            query = query.bind(source);
        }
        let rows = query.fetch_all(&self.pool).await.map_err(db("read channels"))?;
        rows.iter()
            .map(|row| {
                let mut c = Columns::new(row, "channel");
                let key = c.get()?;
                let channel = channel(&mut c)?;
                let (first, last) = (c.get()?, c.get()?);
                let (minutes, samples, logs) = (c.size()? as u64, c.size()? as u64, c.size()? as u64);
                Ok(ChannelRow { key, channel, first, last, minutes, samples, logs })
            })
            .collect()
    }

    /// A channel's minutes from `first` up to but not `end`, in minutes since 1970 UTC, by time; those that several
    /// logs have are joined. The `channel` of each is 0, as there is no log that it could be a number of.
    pub async fn minutes(&self, channel: &ChannelRow, first: i64, end: i64) -> Result<Vec<Minute>> {
        self.sums("minute", channel, first, end, 1).await
    }

    /// As [`Store::minutes`], but only every `every`th minute: the same ones of every channel, so that two can be
    /// compared over a month without reading all of it.
    pub async fn minutes_apart(
        &self,
        channel: &ChannelRow,
        first: i64,
        end: i64,
        every: i64,
    ) -> Result<Vec<Minute>> {
        self.sums("minute", channel, first, end, every).await
    }

    /// A channel's hours from `first` up to but not `end`, in hours since 1970 UTC; each as a [`Minute`] whose
    /// `minute` is the hour's number. For months and years, which have too many minutes.
    pub async fn hours(&self, channel: &ChannelRow, first: i64, end: i64) -> Result<Vec<Minute>> {
        self.sums("hour", channel, first, end, 1).await
    }

    async fn sums(
        &self,
        table: &'static str,
        channel: &ChannelRow,
        first: i64,
        end: i64,
        every: i64,
    ) -> Result<Vec<Minute>> {
        let apart = if every > 1 { format!(" AND {table} % {every} = 0") } else { String::new() };
        let sql = format!(
            "SELECT {table}, count, min, mean, max, sin, cos FROM {table} JOIN source USING (source)
            WHERE channel = ? AND {table} >= ? AND {table} < ?{apart} AND state = 'live' ORDER BY {table}, source"
        );
        let rows = sqlx::query(AssertSqlSafe(sql))
            .bind(channel.key)
            .bind(first)
            .bind(end)
            .fetch_all(&self.pool)
            .await
            .map_err(db("read minutes"))?;
        let quantity = channel.channel.quantity;
        let mut list: Vec<Minute> = Vec::with_capacity(rows.len());
        for row in &rows {
            let mut c = Columns::new(row, table);
            let (minute, count) = (c.get()?, c.size()? as u32);
            let (min, mean, max) = (c.get()?, c.get()?, c.get()?);
            let (sin, cos): (Option<f64>, Option<f64>) = (c.get()?, c.get()?);
            let vector = sin.zip(cos).filter(|_| quantity.scale() != Scale::Linear);
            let vector = vector.map(|(sin, cos)| Vector { sin, cos });
            let next = Minute { channel: ChannelId(0), quantity, minute, count, min, mean, max, vector };
            match list.last_mut() {
                Some(last) if last.minute == minute => *last = last.join(next),
                _ => list.push(next),
            }
        }
        Ok(list)
    }

    /// The logs that hold samples of a channel from `first` up to but not `end`, in minutes since 1970 UTC.
    pub async fn logs_of(&self, channel: &ChannelRow, first: i64, end: i64) -> Result<Vec<SourceId>> {
        let sql = "SELECT DISTINCT hash FROM minute JOIN source USING (source)
            WHERE channel = ? AND minute >= ? AND minute < ? AND state = 'live' ORDER BY hash";
        let hashes: Vec<String> = sqlx::query_scalar(sql)
            .bind(channel.key)
            .bind(first)
            .bind(end)
            .fetch_all(&self.pool)
            .await
            .map_err(db("read which logs have a channel"))?;
        let wrong = |hash: String| Error::Value { table: "source.hash", expected: "a SHA-256", found: hash };
        hashes.into_iter().map(|hash| hash.parse().map_err(|_| wrong(hash))).collect()
    }

    /// Stretches of more than `minutes` without samples in a channel, by time.
    pub async fn gaps(&self, channel: &ChannelRow, minutes: i64) -> Result<Vec<Gap>> {
        let sql = "SELECT before, minute FROM (
                SELECT minute, lag(minute) OVER (ORDER BY minute) AS before FROM minute JOIN source USING (source)
                WHERE channel = ? AND state = 'live')
            WHERE minute - before > ? ORDER BY minute";
        let rows: Vec<(i64, i64)> = sqlx::query_as(sql)
            .bind(channel.key)
            .bind(minutes)
            .fetch_all(&self.pool)
            .await
            .map_err(db("read gaps"))?;
        Ok(rows.into_iter().map(|(after, until)| Gap { after, until }).collect())
    }
}

#[cfg(test)]
mod tests;
