//! Findings back from their tables, as ingest gave them.

use std::collections::HashMap;

use chrono::{DateTime, FixedOffset, NaiveDate};
use leadsman_ingest::{
    Basis, Closing, Due, Event, EventKind, Item, Moment, Note, Notice, Outcome, PassageWords, Reading,
    Reason, Span, Stance, Trial, Utterance, UtteranceKind, Why,
};
use serde::de::DeserializeOwned;
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, Row, SqlitePool};

use crate::error::{Error, Result, db};
use crate::source::SourceId;

/// What to load of a note. Leaving out what isn't shown saves most of the time of a cold start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct With {
    /// The words.
    pub utterances: bool,
    /// Which words led to each conclusion.
    pub reasons: bool,
}

impl With {
    /// Everything.
    pub const ALL: With = With { utterances: true, reasons: true };
}

/// A source's findings, with the source's names.
#[derive(Clone, Debug, PartialEq)]
pub struct Stored {
    /// The source.
    pub source: SourceId,
    /// The file's name.
    pub name: String,
    /// When the recording or the entry begins, where that is known.
    pub recorded: Option<DateTime<FixedOffset>>,
    /// When the source was taken.
    pub received: DateTime<chrono::Utc>,
    /// What was found.
    pub note: Note,
}

/// A row's columns in the order that they were asked for.
pub(crate) struct Columns<'r> {
    row: &'r SqliteRow,
    next: usize,
    table: &'static str,
}

impl<'r> Columns<'r> {
    pub(crate) fn new(row: &'r SqliteRow, table: &'static str) -> Self {
        Self { row, next: 0, table }
    }

    pub(crate) fn get<T: sqlx::Decode<'r, sqlx::Sqlite> + sqlx::Type<sqlx::Sqlite>>(&mut self) -> Result<T> {
        let value = self.row.try_get(self.next).map_err(db("read a row"));
        self.next += 1;
        value
    }

    fn wrong(&self, expected: &'static str, found: impl ToString) -> Error {
        Error::Value { table: self.table, expected, found: found.to_string() }
    }

    pub(crate) fn size(&mut self) -> Result<usize> {
        let found: i64 = self.get()?;
        usize::try_from(found).map_err(|_| self.wrong("a size", found))
    }

    fn opt_size(&mut self) -> Result<Option<usize>> {
        let found: Option<i64> = self.get()?;
        found.map(|found| usize::try_from(found).map_err(|_| self.wrong("a size", found))).transpose()
    }

    pub(crate) fn named<T>(&mut self, expected: &'static str, from: impl Fn(&str) -> Option<T>) -> Result<T> {
        let found: &str = self.get()?;
        from(found).ok_or_else(|| self.wrong(expected, found))
    }

    pub(crate) fn span(&mut self) -> Result<Span> {
        let (start, end) = (self.size()?, self.size()?);
        if start > end {
            return Err(self.wrong("a span that runs forward", format!("{start}..{end}")));
        }
        Ok(Span { start, end })
    }

    pub(crate) fn moment(&mut self) -> Result<Option<Moment>> {
        let at: Option<i64> = self.get()?;
        let offset: Option<i32> = self.get()?;
        let basis: Option<&str> = self.get()?;
        let (Some(at), Some(offset), Some(basis)) = (at, offset, basis) else { return Ok(None) };
        let zone = FixedOffset::east_opt(offset).ok_or_else(|| self.wrong("an offset from UTC", offset))?;
        let at = DateTime::from_timestamp_millis(at).ok_or_else(|| self.wrong("a time", at))?;
        let basis = Basis::from_name(basis).ok_or_else(|| self.wrong("how a time is known", basis))?;
        Ok(Some(Moment { at: at.with_timezone(&zone), basis }))
    }

    fn list<T: DeserializeOwned>(&mut self) -> Result<Vec<T>> {
        let found: Option<&str> = self.get()?;
        found.map_or(Ok(Vec::new()), |json| {
            serde_json::from_str(json).map_err(|_| self.wrong("a list as JSON", json))
        })
    }

    fn day(&mut self) -> Result<Option<NaiveDate>> {
        let found: Option<&str> = self.get()?;
        found.map(|day| day.parse().map_err(|_| self.wrong("a day", day))).transpose()
    }
}

const MOMENT: &str = "at, at_offset, at_basis";
const SPAN: &str = "start_byte, end_byte";

/// Which sources.
#[derive(Clone, Copy)]
pub(crate) enum Which<'a> {
    Live,
    One(&'a SourceId),
    LiveOne(&'a SourceId),
}

impl Which<'_> {
    fn condition(self) -> &'static str {
        match self {
            Which::Live => "source IN (SELECT source FROM source WHERE state = 'live')",
            Which::One(_) => "source = ?",
            Which::LiveOne(_) => "source = ? AND source IN (SELECT source FROM source WHERE state = 'live')",
        }
    }

    fn source(&self) -> Option<&SourceId> {
        match self {
            Which::Live => None,
            Which::One(source) | Which::LiveOne(source) => Some(source),
        }
    }
}

/// The notes of some sources, in order of the time recorded, then of the time received.
pub(crate) async fn notes(pool: &SqlitePool, which: Which<'_>, with: With) -> Result<Vec<Stored>> {
    let mut notes = sources(pool, which).await?;
    let index: HashMap<i64, usize> =
        notes.iter().enumerate().map(|(n, note)| (note.source.key(), n)).collect();
    if with.utterances {
        let columns = format!("source, kind, {SPAN}, words, text, {MOMENT}, cue_id, cue_start, cue_end");
        each(pool, which, "utterance", "n", &columns, &index, &mut notes, |c, note| {
            note.utterances.push(utterance(c)?);
            Ok(())
        })
        .await?;
    }
    if !with.reasons {
        let columns = "source, readings, others";
        each(pool, which, "packed", "source", columns, &index, &mut notes, |c, note| {
            super::packed::take(note, c.get()?, c.get()?)
        })
        .await?;
        return Ok(notes);
    }
    let columns = format!("source, {READING}, because");
    each(pool, which, "reading", "n", &columns, &index, &mut notes, |c, note| {
        note.readings.push(reading(c)?);
        Ok(())
    })
    .await?;
    let columns = format!("source, {TRIAL}, because");
    each(pool, which, "trial", "n", &columns, &index, &mut notes, |c, note| {
        note.trials.push(trial(c)?);
        Ok(())
    })
    .await?;
    each(pool, which, "condition", "trial, n", "source, trial, reading", &index, &mut notes, |c, note| {
        let (trial, reading) = (c.size()?, c.size()?);
        let trial = note.trials.get_mut(trial).ok_or_else(|| c.wrong("the number of a trial", trial))?;
        trial.conditions.push(reading);
        Ok(())
    })
    .await?;
    let columns = format!(
        "source, gear, about, why, due_from, due_until, due_what, due_said, unsure, {MOMENT}, {SPAN}, quote, because"
    );
    each(pool, which, "item", "n", &columns, &index, &mut notes, |c, note| {
        note.items.push(item(c)?);
        Ok(())
    })
    .await?;
    let columns = format!("source, gear, about, how, {MOMENT}, {SPAN}, quote");
    each(pool, which, "closing", "n", &columns, &index, &mut notes, |c, note| {
        let closing = Closing {
            gear: c.get()?,
            about: c.get()?,
            how: c.get()?,
            at: c.moment()?,
            span: c.span()?,
            quote: c.get()?,
        };
        note.closings.push(closing);
        Ok(())
    })
    .await?;
    each(pool, which, "packed", "source", "source, others", &index, &mut notes, |c, note| {
        super::packed::take_remarks_and_accounts(note, c.get()?)
    })
    .await?;
    let columns = format!("source, gear, from_day, until_day, what, said, {SPAN}");
    each(pool, which, "due", "n", &columns, &index, &mut notes, |c, note| {
        let gear = c.get()?;
        let (from, until) = (c.day()?, c.day()?);
        let (Some(from), Some(until)) = (from, until) else { return Err(c.wrong("a day", "none")) };
        note.dues.push((gear, Due { from, until, what: c.get()?, said: c.get()? }, c.span()?));
        Ok(())
    })
    .await?;
    let columns = format!("source, gear, what, on_day, {MOMENT}, readings, {SPAN}, quote");
    each(pool, which, "event", "n", &columns, &index, &mut notes, |c, note| {
        note.events.push(event(c)?);
        Ok(())
    })
    .await?;
    each(
        pool,
        which,
        "notice",
        "n",
        "source, start_byte, end_byte, line, message, hint",
        &index,
        &mut notes,
        |c, note| {
            note.notices.push(notice(c)?);
            Ok(())
        },
    )
    .await?;
    Ok(notes)
}

#[expect(clippy::too_many_arguments, reason = "one statement's parts")]
async fn each(
    pool: &SqlitePool,
    which: Which<'_>,
    table: &'static str,
    order: &str,
    columns: &str,
    index: &HashMap<i64, usize>,
    notes: &mut [Stored],
    mut take: impl FnMut(&mut Columns<'_>, &mut Note) -> Result<()>,
) -> Result<()> {
    let sql = format!("SELECT {columns} FROM {table} WHERE {} ORDER BY source, {order}", which.condition());
    let mut query = sqlx::query(AssertSqlSafe(sql));
    if let Some(source) = which.source() {
        query = query.bind(source.key());
    }
    for row in query.fetch_all(pool).await.map_err(db("read findings"))? {
        let mut columns = Columns::new(&row, table);
        let source: i64 = columns.get()?;
        // A source that was taken since the list was made waits for the next look.
        if let Some(note) = index.get(&source) {
            take(&mut columns, &mut notes[*note].note)?;
        }
    }
    Ok(())
}

async fn sources(pool: &SqlitePool, which: Which<'_>) -> Result<Vec<Stored>> {
    let sql = format!(
        "SELECT hash, name, received, format, encoding, seconds, recorded, recorded_offset, recorded_basis, recorded_from, zone,
            zone_said, names, leaves, back, leaves_said, back_said
        FROM source WHERE {} ORDER BY coalesce(recorded, received), received, name, hash",
        which.condition()
    );
    let mut query = sqlx::query(AssertSqlSafe(sql));
    if let Some(source) = which.source() {
        query = query.bind(source.key());
    }
    let rows = query.fetch_all(pool).await.map_err(db("read sources"))?;
    rows.iter()
        .map(|row| {
            let mut c = Columns::new(row, "source");
            let source = c.named("a hash", |hash| hash.parse().ok())?;
            let name = c.get()?;
            let received: i64 = c.get()?;
            let received =
                DateTime::from_timestamp_millis(received).ok_or_else(|| c.wrong("a time", received))?;
            let format: Option<String> = c.get()?;
            let encoding: Option<String> = c.get()?;
            let seconds = c.get()?;
            let recorded = c.moment()?;
            let recorded_from: Option<String> = c.get()?;
            let zone: Option<String> = c.get()?;
            let zone_said: Option<i64> = c.get()?;
            let names = c.list()?;
            let passage =
                PassageWords { leaves: c.day()?, back: c.day()?, leaves_said: c.get()?, back_said: c.get()? };
            let note = Note {
                format: format.unwrap_or_default(),
                encoding: encoding.unwrap_or_default(),
                seconds,
                recorded,
                recorded_from: recorded_from.unwrap_or_default(),
                zone: zone.unwrap_or_default(),
                zone_said: zone_said == Some(1),
                names,
                passage,
                ..Note::default()
            };
            Ok(Stored { source, name, recorded: recorded.map(|m| m.at), received, note })
        })
        .collect()
}

fn utterance(c: &mut Columns<'_>) -> Result<Utterance> {
    let kind = c.named("a kind of utterance", UtteranceKind::from_name)?;
    let span = c.span()?;
    let words = c.list::<[usize; 2]>()?.into_iter().map(|[start, end]| Span { start, end }).collect();
    let text = c.get()?;
    let at = c.moment()?;
    let id = c.get()?;
    let cue: (Option<f64>, Option<f64>) = (c.get()?, c.get()?);
    Ok(Utterance { span, words, text, at, id, cue: cue.0.zip(cue.1), kind })
}

/// Columns of a reading but for the reasons, as [`reading`] takes them.
pub(crate) const READING: &str = "quantity, low, high, unit, unit_said, stance, gear, at, at_offset, at_basis, start_byte, \
    end_byte, quote, doubts";

pub(crate) fn reading(c: &mut Columns<'_>) -> Result<Reading> {
    Ok(Reading {
        quantity: c.get()?,
        low: c.get()?,
        high: c.get()?,
        unit: c.get()?,
        unit_said: c.get()?,
        stance: c.named("a stance", Stance::from_name)?,
        gear: c.get()?,
        at: c.moment()?,
        span: c.span()?,
        quote: c.get()?,
        doubts: c.list()?,
        because: c.list::<Reason>()?,
    })
}

/// Columns of a trial but for the reasons, as [`trial`] takes them.
pub(crate) const TRIAL: &str =
    "gear, about, outcome, at, at_offset, at_basis, start_byte, end_byte, quote, night, hands, judged";

pub(crate) fn trial(c: &mut Columns<'_>) -> Result<Trial> {
    Ok(Trial {
        gear: c.get()?,
        about: c.get()?,
        outcome: c.named("an outcome", Outcome::from_name)?,
        at: c.moment()?,
        span: c.span()?,
        quote: c.get()?,
        conditions: Vec::new(),
        night: c.get()?,
        hands: c.get()?,
        judged: c.get()?,
        because: c.list()?,
    })
}

fn item(c: &mut Columns<'_>) -> Result<Item> {
    let gear = c.get()?;
    let about = c.get()?;
    let why = c.named("why an item is open", Why::from_name)?;
    let (from, until) = (c.day()?, c.day()?);
    let what: Option<String> = c.get()?;
    let said: Option<String> = c.get()?;
    let due = from.zip(until).map(|(from, until)| Due {
        from,
        until,
        what: what.unwrap_or_default(),
        said: said.unwrap_or_default(),
    });
    let unsure = c.get()?;
    Ok(Item {
        gear,
        about,
        why,
        due,
        unsure,
        at: c.moment()?,
        span: c.span()?,
        quote: c.get()?,
        because: c.list()?,
    })
}

fn event(c: &mut Columns<'_>) -> Result<Event> {
    Ok(Event {
        gear: c.get()?,
        what: c.named("what is told of gear", EventKind::from_name)?,
        on: c.day()?,
        at: c.moment()?,
        readings: c.list()?,
        span: c.span()?,
        quote: c.get()?,
    })
}

pub(crate) fn notice(c: &mut Columns<'_>) -> Result<Notice> {
    let (start, end) = (c.opt_size()?, c.opt_size()?);
    Ok(Notice {
        span: start.zip(end).map(|(start, end)| Span { start, end }),
        line: c.opt_size()?,
        message: c.get()?,
        hint: c.get()?,
    })
}
