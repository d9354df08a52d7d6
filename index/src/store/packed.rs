//! A note's findings in one piece beside their rows, for questions that look at all notes: taken so, they take a
//! fifth of the time. The words and the reasons are left out, which such questions don't need.

use leadsman_ingest::{Closing, Due, Event, Item, Note, Notice, Reading, Remark, Span, Trial};
use serde::{Deserialize, Serialize};
use sqlx::SqliteConnection;

use crate::error::{Error, Result, db};

/// Effort of the compression: the lowest, which finds the fields' names that every piece repeats.
const LEVEL: i32 = 1;
/// No source's findings take more unpacked, in bytes; a damaged length is not believed beyond it.
const LARGEST: usize = 1 << 30;

/// What is packed besides readings. The fields of a note by their names.
#[derive(Serialize, Deserialize)]
struct Others {
    trials: Vec<Trial>,
    items: Vec<Item>,
    closings: Vec<Closing>,
    remarks: Vec<Remark>,
    dues: Vec<(Option<String>, Due, Span)>,
    events: Vec<Event>,
    notices: Vec<Notice>,
}

/// A source's findings, packed.
#[derive(Debug)]
pub(crate) struct Packed {
    readings: Vec<u8>,
    others: Vec<u8>,
}

impl Packed {
    /// Packs a note's findings.
    pub(crate) fn new(note: &Note) -> Result<Self> {
        let (readings, others) = parts(note);
        Ok(Self { readings: pack(&readings)?, others: pack(&others)? })
    }
}

fn parts(note: &Note) -> (Vec<Reading>, Others) {
    let readings: Vec<Reading> =
        note.readings.iter().map(|reading| Reading { because: Vec::new(), ..reading.clone() }).collect();
    let trial = |trial: &Trial| {
        let held = trial.conditions.iter().copied().filter(|reading| *reading < note.readings.len());
        Trial { because: Vec::new(), conditions: held.collect(), ..trial.clone() }
    };
    let others = Others {
        trials: note.trials.iter().map(trial).collect(),
        items: note.items.iter().map(|item| Item { because: Vec::new(), ..item.clone() }).collect(),
        closings: note.closings.clone(),
        remarks: note.remarks.clone(),
        dues: note.dues.clone(),
        events: note.events.clone(),
        notices: note.notices.clone(),
    };
    (readings, others)
}

/// Stores the packed findings of sources, by their keys.
pub(crate) async fn put(
    conn: &mut SqliteConnection,
    packed: impl Iterator<Item = (i64, &Packed)>,
) -> Result<()> {
    for (key, packed) in packed {
        sqlx::query("INSERT OR REPLACE INTO packed (source, readings, others) VALUES (?, ?, ?)")
            .bind(key)
            .bind(&*packed.readings)
            .bind(&*packed.others)
            .execute(&mut *conn)
            .await
            .map_err(db("store packed findings"))?;
    }
    Ok(())
}

/// Takes the remarks out of packed findings: they stand nowhere else.
pub(crate) fn take_remarks(note: &mut Note, others: &[u8]) -> Result<()> {
    note.remarks = unpack::<Others>(others)?.remarks;
    Ok(())
}

/// Takes packed findings into a note.
pub(crate) fn take(note: &mut Note, readings: &[u8], others: &[u8]) -> Result<()> {
    note.readings = unpack(readings)?;
    let others: Others = unpack(others)?;
    note.trials = others.trials;
    note.items = others.items;
    note.closings = others.closings;
    note.remarks = others.remarks;
    note.dues = others.dues;
    note.events = others.events;
    note.notices = others.notices;
    Ok(())
}

fn pack(value: &impl Serialize) -> Result<Vec<u8>> {
    let plain = serde_json::to_vec(value).map_err(|error| wrong(&error))?;
    zstd::bulk::compress(&plain, LEVEL).map_err(|error| wrong(&error))
}

fn unpack<T: for<'de> Deserialize<'de>>(packed: &[u8]) -> Result<T> {
    let length = zstd::zstd_safe::get_frame_content_size(packed).ok().flatten().unwrap_or_default();
    let length = usize::try_from(length).unwrap_or(LARGEST).min(LARGEST);
    let plain = zstd::bulk::decompress(packed, length).map_err(|error| wrong(&error))?;
    serde_json::from_slice(&plain).map_err(|error| wrong(&error))
}

fn wrong(error: &dyn std::error::Error) -> Error {
    Error::Value { table: "packed", expected: "packed findings", found: error.to_string() }
}
