//! A note's findings into their tables.

use leadsman_ingest::{Note, Reading};
use sqlx::{AssertSqlSafe, SqliteConnection};

use crate::error::{Result, db};
use crate::source::SourceId;
use crate::store::channel;
use crate::store::packed::{self, Packed};
use crate::store::rows::{Names, Table, insert};

const UTTERANCE: Table = Table {
    name: "utterance",
    columns: &[
        "source",
        "n",
        "kind",
        "start_byte",
        "end_byte",
        "words",
        "text",
        "at",
        "at_offset",
        "at_basis",
        "cue_id",
        "cue_start",
        "cue_end",
    ],
};
const READING: Table = Table {
    name: "reading",
    columns: &[
        "source",
        "n",
        "quantity",
        "low",
        "high",
        "unit",
        "unit_said",
        "stance",
        "gear",
        "at",
        "at_offset",
        "at_basis",
        "start_byte",
        "end_byte",
        "quote",
        "doubts",
        "because",
    ],
};
const TRIAL: Table = Table {
    name: "trial",
    columns: &[
        "source",
        "n",
        "gear",
        "about",
        "outcome",
        "at",
        "at_offset",
        "at_basis",
        "start_byte",
        "end_byte",
        "quote",
        "night",
        "hands",
        "judged",
        "because",
    ],
};
const CONDITION: Table = Table { name: "condition", columns: &["source", "trial", "n", "reading"] };
const ITEM: Table = Table {
    name: "item",
    columns: &[
        "source",
        "n",
        "gear",
        "about",
        "why",
        "due_from",
        "due_until",
        "due_what",
        "due_said",
        "unsure",
        "at",
        "at_offset",
        "at_basis",
        "start_byte",
        "end_byte",
        "quote",
        "because",
    ],
};
const CLOSING: Table = Table {
    name: "closing",
    columns: &[
        "source",
        "n",
        "gear",
        "about",
        "how",
        "at",
        "at_offset",
        "at_basis",
        "start_byte",
        "end_byte",
        "quote",
    ],
};
const DUE: Table = Table {
    name: "due",
    columns: &["source", "n", "gear", "from_day", "until_day", "what", "said", "start_byte", "end_byte"],
};
const EVENT: Table = Table {
    name: "event",
    columns: &[
        "source",
        "n",
        "gear",
        "what",
        "on_day",
        "at",
        "at_offset",
        "at_basis",
        "readings",
        "start_byte",
        "end_byte",
        "quote",
    ],
};
const NOTICE: Table =
    Table { name: "notice", columns: &["source", "n", "start_byte", "end_byte", "line", "message", "hint"] };

/// Tables of findings, those that lean on others first.
const FINDINGS: [&str; 10] =
    ["condition", "utterance", "reading", "trial", "item", "closing", "due", "event", "notice", "packed"];

/// Removes all that was found in a source.
pub(crate) async fn forget(conn: &mut SqliteConnection, source: &SourceId) -> Result<()> {
    for table in FINDINGS {
        sqlx::query(AssertSqlSafe(format!("DELETE FROM {table} WHERE source = ?")))
            .bind(source.key())
            .execute(&mut *conn)
            .await
            .map_err(db("remove findings"))?;
    }
    channel::forget(conn, source).await
}

/// Stores readings, each with its source's key and its number there.
pub(crate) async fn readings(
    conn: &mut SqliteConnection,
    readings: Vec<(i64, (usize, &Reading))>,
) -> Result<()> {
    let mut names = Names::default();
    insert(conn, &READING, readings, |values, (key, (n, reading))| {
        values.put(key);
        values.put(n as i64);
        values.put(names.get(&reading.quantity));
        values.put(reading.low);
        values.put(reading.high);
        values.put(names.get(&reading.unit));
        values.put(names.get(&reading.unit_said));
        values.put(names.get(reading.stance.name()));
        values.put(reading.gear.as_deref().map(|gear| names.get(gear)));
        values.moment(reading.at.as_ref());
        values.span(reading.span);
        values.put(&*reading.quote);
        values.json(&reading.doubts);
        values.json(&reading.because);
    })
    .await
}

/// Stores all that was found in a source.
pub(crate) async fn note(conn: &mut SqliteConnection, source: &SourceId, note: &Note) -> Result<()> {
    let packed = Packed::new(&mut note.clone())?;
    notes(conn, [(source.key(), note, &packed)].into_iter()).await
}

/// Stores all that was found in some sources, by their keys, with as few statements as that takes.
pub(crate) async fn notes<'n>(
    conn: &mut SqliteConnection,
    notes: impl Iterator<Item = (i64, &'n Note, &'n Packed)>,
) -> Result<()> {
    let notes: Vec<Together<'n>> = notes.collect();
    let notes = notes.as_slice();
    insert(conn, &UTTERANCE, all(notes, |note| &note.utterances), |values, (key, (n, utterance))| {
        let words: Vec<_> = utterance.words.iter().map(|span| [span.start, span.end]).collect();
        values.put(key);
        values.put(n as i64);
        values.put(utterance.kind.name());
        values.span(utterance.span);
        values.put(serde_json::to_string(&words).unwrap_or_default());
        values.put(&*utterance.text);
        values.moment(utterance.at.as_ref());
        values.put(utterance.id.as_deref());
        values.put(utterance.cue.map(|(start, _)| start));
        values.put(utterance.cue.map(|(_, end)| end));
    })
    .await?;
    readings(conn, all(notes, |note| &note.readings)).await?;
    insert(conn, &TRIAL, all(notes, |note| &note.trials), |values, (key, (n, trial))| {
        values.put(key);
        values.put(n as i64);
        values.put(&*trial.gear);
        values.put(&*trial.about);
        values.put(trial.outcome.name());
        values.moment(trial.at.as_ref());
        values.span(trial.span);
        values.put(&*trial.quote);
        values.put(trial.night);
        values.put(trial.hands);
        values.put(trial.judged);
        values.json(&trial.because);
    })
    .await?;
    let mut conditions = Vec::new();
    for (key, note, _) in notes {
        for (t, trial) in note.trials.iter().enumerate() {
            let held =
                trial.conditions.iter().enumerate().filter(|(_, reading)| **reading < note.readings.len());
            conditions.extend(held.map(|(n, reading)| (*key, t, n, *reading)));
        }
    }
    insert(conn, &CONDITION, conditions, |values, (key, trial, n, reading)| {
        values.put(key);
        values.put(trial as i64);
        values.put(n as i64);
        values.put(reading as i64);
    })
    .await?;
    insert(conn, &ITEM, all(notes, |note| &note.items), |values, (key, (n, item))| {
        values.put(key);
        values.put(n as i64);
        values.put(item.gear.as_deref());
        values.put(&*item.about);
        values.put(item.why.name());
        values.put(item.due.as_ref().map(|due| due.from.to_string()));
        values.put(item.due.as_ref().map(|due| due.until.to_string()));
        values.put(item.due.as_ref().map(|due| &*due.what));
        values.put(item.due.as_ref().map(|due| &*due.said));
        values.put(item.unsure);
        values.moment(item.at.as_ref());
        values.span(item.span);
        values.put(&*item.quote);
        values.json(&item.because);
    })
    .await?;
    insert(conn, &CLOSING, all(notes, |note| &note.closings), |values, (key, (n, closing))| {
        values.put(key);
        values.put(n as i64);
        values.put(closing.gear.as_deref());
        values.put(&*closing.about);
        values.put(&*closing.how);
        values.moment(closing.at.as_ref());
        values.span(closing.span);
        values.put(&*closing.quote);
    })
    .await?;
    insert(conn, &DUE, all(notes, |note| &note.dues), |values, (key, (n, (gear, due, span)))| {
        values.put(key);
        values.put(n as i64);
        values.put(gear.as_deref());
        values.put(due.from.to_string());
        values.put(due.until.to_string());
        values.put(&*due.what);
        values.put(&*due.said);
        values.span(*span);
    })
    .await?;
    insert(conn, &EVENT, all(notes, |note| &note.events), |values, (key, (n, event))| {
        values.put(key);
        values.put(n as i64);
        values.put(&*event.gear);
        values.put(event.what.name());
        values.put(event.on.map(|day| day.to_string()));
        values.moment(event.at.as_ref());
        values.json(&event.readings);
        values.span(event.span);
        values.put(&*event.quote);
    })
    .await?;
    insert(conn, &NOTICE, all(notes, |note| &note.notices), |values, (key, (n, notice))| {
        values.put(key);
        values.put(n as i64);
        values.put(notice.span.map(|span| span.start as i64));
        values.put(notice.span.map(|span| span.end as i64));
        values.put(notice.line.map(|line| line as i64));
        values.put(&*notice.message);
        values.put(notice.hint.as_deref());
    })
    .await?;
    packed::put(conn, notes.iter().map(|(key, _, packed)| (*key, *packed))).await
}

/// A source's key with what was found in it.
type Together<'n> = (i64, &'n Note, &'n Packed);

/// One kind of findings of all notes, each with its source's key and its number there.
fn all<'n, T>(notes: &[Together<'n>], of: impl Fn(&'n Note) -> &'n [T]) -> Vec<(i64, (usize, &'n T))> {
    let each = |(key, note, _): &Together<'n>| {
        let key = *key;
        of(note).iter().enumerate().map(move |found| (key, found))
    };
    notes.iter().flat_map(each).collect()
}
