//! A channel at full resolution, read again from its logs for a short window: the database keeps it by the minute.

use leadsman_ingest::Hints;
use leadsman_ingest::instrument::{Channel, ChannelId, Kind, Sample, Sink};
use tokio::task::spawn_blocking;

use crate::archive::Archive;
use crate::error::{Error, Result, db};
use crate::learned::taught;
use crate::source::SourceId;
use crate::store::Store;
use crate::store::channel::{self, ChannelRow};
use crate::store::take::Columns;

/// Samples that one window may give: ten a second over nearly three hours. What comes after is left out.
pub const SAMPLES_MAX: usize = 100_000;

/// One value of a channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Detail {
    /// Microseconds since 1970 UTC.
    pub micros: i64,
    /// The value, in the quantity's canonical unit.
    pub value: f64,
    /// The log that has it.
    pub source: SourceId,
    /// Where its record begins, in bytes of the log.
    pub offset: u64,
}

/// Keeps the samples of one channel within a window.
struct Window {
    source: SourceId,
    wanted: Channel,
    from: i64,
    until: i64,
    id: Option<ChannelId>,
    found: Vec<Detail>,
}

impl Sink for Window {
    fn channel(&mut self, id: ChannelId, channel: &Channel) {
        if *channel == self.wanted {
            self.id = Some(id);
        }
    }

    #[inline]
    fn sample(&mut self, sample: Sample) {
        let Some(at) = sample.at.filter(|_| Some(sample.channel) == self.id) else { return };
        if self.from <= at.micros && at.micros < self.until && self.found.len() < SAMPLES_MAX {
            let (micros, value, offset) = (at.micros, sample.value, sample.offset);
            self.found.push(Detail { micros, value, source: self.source, offset });
        }
    }
}

impl Store {
    /// A channel's samples from `from` up to but not `until`, microseconds since 1970 UTC, by time; at most
    /// [`SAMPLES_MAX`]. The logs that have minutes there are read again from their beginning. Errors: a log whose
    /// bytes are gone or not the right ones.
    pub async fn detail(&self, channel: &ChannelRow, from: i64, until: i64) -> Result<Vec<Detail>> {
        let sql = "SELECT s.hash, s.format FROM span p JOIN source s USING (source)
            WHERE p.channel = ? AND p.first <= ? AND p.last >= ? AND s.state = 'live' ORDER BY p.first, s.hash";
        const MINUTE: i64 = 60_000_000;
        let rows = sqlx::query(sql)
            .bind(channel.key)
            .bind(until.div_euclid(MINUTE))
            .bind(from.div_euclid(MINUTE))
            .fetch_all(&self.pool)
            .await
            .map_err(db("find the logs of a window"))?;
        let columns = taught(self.record()).columns;
        let mut found = Vec::new();
        for row in &rows {
            let mut c = Columns::new(row, "source");
            let source: SourceId = c.named("a hash", |hash| hash.parse().ok())?;
            let kind = c.named("a format of instrument logs", Kind::from_name)?;
            let mut hints = self.record().options(&source).map(|a| a.hints()).unwrap_or_default();
            hints.columns.clone_from(&columns);
            let wanted = channel.channel.clone();
            let window = Window { source, wanted, from, until, id: None, found: Vec::new() };
            let archive = self.home().archive();
            let read = spawn_blocking(move || window.read(&archive, kind, &hints));
            found.extend(
                read.await.unwrap_or_else(|e| {
                    Err(Error::Task { doing: "read a log again", what: e.to_string() })
                })?,
            );
        }
        found.sort_by_key(|detail: &Detail| detail.micros);
        found.truncate(SAMPLES_MAX);
        Ok(found)
    }
}

impl Window {
    fn read(mut self, archive: &Archive, kind: Kind, hints: &Hints) -> Result<Vec<Detail>> {
        let source = self.source;
        channel::log(archive, &source, kind, hints, &mut self)?;
        Ok(self.found)
    }
}
