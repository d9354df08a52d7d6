//! A note's findings in one piece beside their rows, for questions that look at all notes: taken so, they take a
//! fifth of the time. The words and the reasons are left out, which such questions don't need.

use leadsman_ingest::{Account, Closing, Due, Event, Item, Note, Notice, Reason, Remark, Span, Trial};
use serde::{Deserialize, Serialize};
use sqlx::SqliteConnection;

use crate::error::{Error, Result, db};

/// Effort of the compression: the lowest, which finds the fields' names that every piece repeats.
const LEVEL: i32 = 1;
/// No source's findings take more unpacked, in bytes; a damaged length is not believed beyond it.
const LARGEST: usize = 1 << 30;

/// What is packed besides readings. The fields of a note by their names.
#[derive(Deserialize)]
struct Others {
    trials: Vec<Trial>,
    items: Vec<Item>,
    closings: Vec<Closing>,
    remarks: Vec<Remark>,
    accounts: Vec<Account>,
    dues: Vec<(Option<String>, Due, Span)>,
    events: Vec<Event>,
    notices: Vec<Notice>,
}

/// [`Others`], of a note.
#[derive(Serialize)]
struct Borrowed<'n> {
    trials: &'n [Trial],
    items: &'n [Item],
    closings: &'n [Closing],
    remarks: &'n [Remark],
    accounts: &'n [Account],
    dues: &'n [(Option<String>, Due, Span)],
    events: &'n [Event],
    notices: &'n [Notice],
}

/// A source's findings, packed.
#[derive(Debug)]
pub(crate) struct Packed {
    readings: Vec<u8>,
    others: Vec<u8>,
}

impl Packed {
    /// Packs the findings of a note, which is given back as it was, but for conditions of trials that are none of its
    /// readings.
    pub(crate) fn new(note: &mut Note) -> Result<Self> {
        let readings = note.readings.len();
        note.trials.iter_mut().for_each(|trial| trial.conditions.retain(|reading| *reading < readings));
        let reasons = take_reasons(note);
        let others = Borrowed {
            trials: &note.trials,
            items: &note.items,
            closings: &note.closings,
            remarks: &note.remarks,
            accounts: &note.accounts,
            dues: &note.dues,
            events: &note.events,
            notices: &note.notices,
        };
        let packed = Self { readings: pack(&note.readings)?, others: pack(&others)? };
        for (place, reasons) in reasons_of(note).zip(reasons) {
            *place = reasons;
        }
        Ok(packed)
    }
}

/// Takes the reasons out of a note's readings, trials and items, in this order.
pub(crate) fn take_reasons(note: &mut Note) -> Vec<Vec<Reason>> {
    reasons_of(note).map(std::mem::take).collect()
}

fn reasons_of(note: &mut Note) -> impl Iterator<Item = &mut Vec<Reason>> {
    let readings = note.readings.iter_mut().map(|reading| &mut reading.because);
    let trials = note.trials.iter_mut().map(|trial| &mut trial.because);
    let items = note.items.iter_mut().map(|item| &mut item.because);
    readings.chain(trials).chain(items)
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

/// Takes the remarks and accounts out of packed findings: they stand nowhere else.
pub(crate) fn take_remarks_and_accounts(note: &mut Note, others: &[u8]) -> Result<()> {
    let others: Others = unpack(others)?;
    (note.remarks, note.accounts) = (others.remarks, others.accounts);
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
    note.accounts = others.accounts;
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
