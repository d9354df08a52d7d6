//! Tables: CSV and TSV with a header whose names and units are recognised.
//!
//! ```text
//! Time;AWS (kn);Battery V;Cabin °C
//! 2026-05-09 10:11:12;12,4;12,71;18,5
//! ```
//!
//! The delimiter, the decimal sign, the row of the header and the order of dates are found by looking at the file's
//! head. What is not recognised can be mapped by [`Column`]s. Quoting: RFC 4180, by the `csv` crate.

mod cell;
mod header;
mod unit;

use std::io::{BufRead, Cursor, Read};

use cell::{DateOrder, DecimalSign};
use header::{Means, Measure, TimePart};

use super::account::{Kindred, Refusal};
use super::channel::{Instance, Source};
use super::limited::Limited;
use super::log::{Log, Sink, Values};
use super::quantity::{Quantity, Reference};
use super::stamp::{DAY, Stamp};
use super::{Kind, Parsed};
use crate::Hints;
use crate::found::Notice;

/// Bytes at the head that are looked through.
const HEAD: usize = 256 * 1024;
/// Rows at the head that are looked at.
const ROWS_LOOKED_AT: usize = 200;
/// Rows that may stand before the header.
const PREAMBLE_MAX: usize = 30;
/// Delimiters that are looked for.
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// What the skipper says of a column that the program does not recognise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// The header as it stands in the file, capitals or not.
    pub header: String,
    /// What it measures.
    pub quantity: Quantity,
    /// From or against what.
    pub reference: Reference,
    /// Which of several; empty for the only one.
    pub instance: String,
    /// The unit that it is written in, as a header would name it; empty for the canonical one.
    pub unit: String,
}

impl Column {
    /// Whether its quantity can be written in its unit.
    pub fn unit_fits(&self) -> bool {
        self.unit.is_empty() || unit::way(&self.unit, self.quantity).is_some()
    }
}

/// The cells of a row, without white space around them.
type Row = Vec<String>;

/// How a table is laid out, by its head.
#[derive(Clone, Debug)]
struct Layout {
    delimiter: u8,
    header_row: usize,
    headers: Vec<String>,
    columns: Vec<Means>,
    decimal_sign: DecimalSign,
    date_order: DateOrder,
    date_order_open: bool,
}

impl Layout {
    fn measures(&self) -> usize {
        self.columns.iter().filter(|column| matches!(column, Means::Measure(_))).count()
    }

    fn has_time(&self) -> bool {
        self.columns.iter().any(|column| matches!(column, Means::Time { .. }))
    }

    /// Looks for the layout under which the most columns are recognised; with the rows at the head, cut by it.
    fn find(head: &[u8], mapped: &[Column]) -> Option<(Layout, Vec<Row>)> {
        let candidates = DELIMITERS
            .iter()
            .filter(|&&delimiter| has_number(head, delimiter) && may_have_header(head, delimiter, mapped));
        let layouts = candidates.filter_map(|&delimiter| Self::under(head, delimiter, mapped));
        // The first of equals: a comma goes before the rest.
        layouts.rev().max_by_key(|(layout, _)| (layout.measures(), layout.has_time()))
    }

    fn under(head: &[u8], delimiter: u8, mapped: &[Column]) -> Option<(Layout, Vec<Row>)> {
        let mut records = reader(Cursor::new(head), delimiter)
            .into_byte_records()
            .map_while(Result::ok)
            .map(|row| row.iter().map(|cell| text(cell).trim().to_owned()).collect());
        let mut rows: Vec<Row> = records.by_ref().take(PREAMBLE_MAX).collect();
        let (header_row, columns) = rows
            .iter()
            .map(|row| row.iter().map(|cell| header::read(cell, mapped)).collect::<Vec<_>>())
            .enumerate()
            .max_by_key(|(n, columns)| {
                let measures = columns.iter().filter(|c| matches!(c, Means::Measure(_))).count();
                (measures, usize::MAX - n)
            })?;
        let mut layout = Layout {
            delimiter,
            header_row,
            headers: rows[header_row].clone(),
            columns,
            decimal_sign: DecimalSign::Point,
            date_order: DateOrder::DayFirst,
            date_order_open: false,
        };
        if layout.measures() == 0 || layout.headers.len() < 2 {
            return None;
        }
        rows.extend(records.take(header_row + 1 + ROWS_LOOKED_AT - PREAMBLE_MAX));
        let cells = |wanted: fn(&Means) -> bool| {
            let layout = &layout;
            rows.iter().take(ROWS_LOOKED_AT).skip(header_row + 1).flat_map(move |row| {
                row.iter()
                    .zip(&layout.columns)
                    .filter(move |(_, column)| wanted(column))
                    .map(|(cell, _)| cell.as_str())
            })
        };
        let decimal_sign = cell::decimal_sign(cells(|c| matches!(c, Means::Measure(_))), delimiter);
        let (date_order, date_order_open) = cell::date_order(cells(|c| matches!(c, Means::Time { .. })));
        layout.decimal_sign = decimal_sign;
        layout.date_order = date_order;
        layout.date_order_open = date_order_open;
        Some((layout, rows))
    }

    /// Whether the rows are an instrument's table: one below the header has numbers, no column has a person's words.
    fn is_instruments(&self, rows: &[Row]) -> bool {
        if self.columns.contains(&Means::Words) || (self.measures() < 2 && !self.has_time()) {
            return false;
        }
        let (mut numbers, mut words) = (0, 0);
        for row in rows.iter().skip(self.header_row + 1).take(ROWS_LOOKED_AT) {
            for (value, column) in row.iter().zip(&self.columns) {
                if let Means::Measure(measure) = column
                    && !cell::is_empty(value)
                {
                    *(if self.value(value, measure).is_some() { &mut numbers } else { &mut words }) += 1;
                } else if value.split_whitespace().filter(|w| w.chars().all(char::is_alphabetic)).count() > 3
                {
                    words += 1;
                }
            }
        }
        numbers > 0 && words * 10 <= numbers
    }

    fn value(&self, text: &str, measure: &Measure) -> Option<f64> {
        let written = match measure.quantity {
            Quantity::Latitude | Quantity::Longitude => cell::degrees(text, self.decimal_sign),
            _ => cell::number(text, self.decimal_sign),
        }?;
        Some(written * measure.way.factor + measure.way.offset)
    }
}

/// Whether a file is a table of instruments, by its head.
pub(super) fn is_table(head: &[u8], mapped: &[Column]) -> bool {
    let head = without_mark(head);
    // A byte of nought stands in no table of text.
    if memchr::memchr(0, head).is_some() {
        return false;
    }
    Layout::find(head, mapped).is_some_and(|(layout, rows)| layout.is_instruments(&rows))
}

/// Whether any cell is a short piece of text that begins as a number does. Most notes are told from tables by having
/// none, long before their words are looked up as headers.
fn has_number(head: &[u8], delimiter: u8) -> bool {
    /// A position with its minutes and a value with its unit are no longer, in bytes.
    const LONGEST: usize = 24;
    let is_number = |cell: &[u8]| {
        let cell = cell.trim_ascii();
        let cell = cell.strip_prefix(b"\"").unwrap_or(cell).trim_ascii();
        cell.len() <= LONGEST
            // A hemisphere may stand in front of a position, and a minus sign of its own before a value.
            && cell.first().is_some_and(|&first| first.is_ascii_digit() || b"+-.NSEW".contains(&first) || first > 127)
            && cell.iter().any(u8::is_ascii_digit)
    };
    let mut lines = head.split(|&byte| byte == b'\n' || byte == b'\r');
    lines.any(|line| {
        memchr::memchr(delimiter, line).is_some() && line.split(|&byte| byte == delimiter).any(is_number)
    })
}

/// Whether one of the first lines may be a header of instruments: short cells, two of which read as measures, or one as
/// a measure and one as a time. Told without taking the file for a table, as most are none. Where a cell begins with a
/// quote, cells are not what lies between delimiters, and where the skipper has mapped columns, they may have any header.
fn may_have_header(head: &[u8], delimiter: u8, mapped: &[Column]) -> bool {
    let lines = head.split(|&byte| byte == b'\n' || byte == b'\r').filter(|line| !line.is_empty());
    let mut first = lines.take(PREAMBLE_MAX);
    first.any(|line| {
        let cells = line.split(|&byte| byte == delimiter);
        let has_quote = memchr::memchr(b'"', line).is_some();
        if !mapped.is_empty() || has_quote && cells.clone().any(|cell| cell.starts_with(b"\"")) {
            return true;
        }
        let (mut measures, mut times) = (0, 0);
        memchr::memchr(delimiter, line).is_some()
            && (has_quote || cells.clone().all(|cell| cell.len() <= header::LONGEST))
            && cells.map(|cell| header::read(&text(cell), mapped)).any(|means| {
                measures += usize::from(matches!(means, Means::Measure(_)));
                times += usize::from(matches!(means, Means::Time { .. }));
                measures > 1 || measures == 1 && times > 0
            })
    })
}

fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)
}

fn reader<R: Read>(source: R, delimiter: u8) -> csv::Reader<R> {
    csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(source)
}

/// A cell as text; what is not UTF-8 is taken as Latin-1, in which a degree sign is one byte.
fn text(cell: &[u8]) -> std::borrow::Cow<'_, str> {
    match std::str::from_utf8(cell) {
        Ok(text) => text.into(),
        Err(_) => encoding_rs::mem::decode_latin1(cell),
    }
}

struct Table<'a, S> {
    log: Log,
    values: Values,
    layout: Layout,
    /// The channel's sender of each column: its header.
    sources: Vec<Option<(Source, Instance)>>,
    sink: &'a mut S,
}

/// Reads a table.
pub(super) fn read(mut source: impl BufRead, hints: &Hints, sink: &mut impl Sink) -> Parsed {
    let mut log = Log::new(hints);
    let mut head = Vec::new();
    if source.by_ref().take(HEAD as u64).read_to_end(&mut head).is_err() {
        log.ledger.refused(Kindred::NONE, Refusal::Truncated, 1);
        return log.close(Kind::Table);
    }
    let mark = head.len() - without_mark(&head).len();
    let Some((layout, _)) = Layout::find(without_mark(&head), &hints.columns) else {
        log.notices.push(Notice {
            span: None,
            line: Some(1),
            message:
                "expected a header with the names of instruments and their units, found none that is known"
                    .into(),
            hint: Some("`leadsman column HEADER QUANTITY` says once what a column holds".into()),
        });
        log.ledger.refused(Kindred::NONE, Refusal::Junk, 1);
        return log.close(Kind::Table);
    };
    let mut table = Table { log, values: Values::new(), sources: Vec::new(), layout, sink };
    table.begin();
    let whole = Cursor::new(&head[mark..]).chain(source);
    let mut rows = reader(Limited::new(whole), table.layout.delimiter);
    let mut row = csv::ByteRecord::new();
    let mut number = 0;
    loop {
        rows.get_mut().mark();
        match rows.read_byte_record(&mut row) {
            Ok(false) => break,
            Ok(true) => {
                let at = row.position().map_or((0, 1), |at| (at.byte(), at.line()));
                table.log.line = at.1;
                table.row(&row, number, mark as u64 + at.0);
                number += 1;
            }
            Err(_) => {
                let too_long = rows.get_ref().too_long;
                let why = if too_long { Refusal::TooLong } else { Refusal::Truncated };
                table.log.ledger.refused(Kindred::NONE, why, table.log.line + 1);
                break;
            }
        }
    }
    table.log.line = table.log.line.max(rows.get_ref().breaks);
    table.log.close(Kind::Table)
}

impl<S: Sink> Table<'_, S> {
    /// Names the channels, and says what was not certain of the layout.
    fn begin(&mut self) {
        let layout = &self.layout;
        let mut say = |message: String, hint: &str| {
            self.log.notices.push(Notice {
                span: None,
                line: Some(layout.header_row + 1),
                message,
                hint: Some(hint.to_owned()),
            });
        };
        let mut unitless = Vec::new();
        for (column, header) in layout.columns.iter().zip(&layout.headers) {
            match column {
                Means::Measure(m) if !m.unit_given && needs_unit(m.quantity) => {
                    unitless.push(format!("{header} in {}", m.quantity.unit()));
                }
                Means::WrongUnit => say(
                    format!(
                        "the unit of the column \"{header}\" is not one that it can be measured in; it was left out"
                    ),
                    "`leadsman column HEADER QUANTITY --unit UNIT` says once what it holds",
                ),
                _ => {}
            }
        }
        if !unitless.is_empty() {
            say(
                format!("columns without a unit were taken as they are usual: {}", unitless.join(", ")),
                "write the unit into the header, as in \"AWS (kn)\"; `leadsman column HEADER QUANTITY --unit UNIT` says it once",
            );
        }
        if layout.date_order_open {
            say(
                "the dates do not tell whether the day or the month comes first; the day was taken".into(),
                "write dates as 2026-05-09",
            );
        }
        if layout.columns.iter().any(|c| matches!(c, Means::Time { utc: true, .. })) {
            self.log.clock.offset_is(0);
        }
        for (column, header) in layout.columns.iter().zip(&layout.headers) {
            self.sources.push(match column {
                Means::Measure(measure) => {
                    self.log.channels.source(header).zip(self.log.channels.instance(&measure.instance))
                }
                _ => None,
            });
        }
    }

    fn row(&mut self, row: &csv::ByteRecord, number: usize, offset: u64) {
        if row.iter().all(|cell| cell.trim_ascii().is_empty()) {
            return self.log.ledger.blank();
        }
        let kind = Kindred::new(b"row");
        let is_header =
            || row.iter().zip(&self.layout.headers).all(|(cell, header)| text(cell).trim() == header);
        if number < self.layout.header_row {
            return self.log.ledger.ignored(Kindred::new(b"preamble"));
        }
        if number == self.layout.header_row || (row.len() == self.layout.headers.len() && is_header()) {
            return self.log.ledger.ignored(Kindred::new(b"header"));
        }
        // More cells than headers: something in the row was parted that should not be, a decimal comma perhaps.
        let filled = row.iter().rposition(|cell| !cell.trim_ascii().is_empty()).map_or(0, |last| last + 1);
        if filled > self.layout.headers.len() {
            return self.log.ledger.refused(kind, Refusal::Malformed, self.log.line);
        }
        self.log.clock.begin();
        match self.time(row) {
            Ok(Some(stamp)) => self.log.clock.stamp(stamp, self.log.line),
            Ok(None) => {}
            Err(why) => return self.log.ledger.refused(kind, why, self.log.line),
        }
        let mut used = 0;
        let mut refused: Option<Refusal> = None;
        for ((cell, column), source) in row.iter().zip(&self.layout.columns).zip(&self.sources) {
            let Means::Measure(measure) = column else { continue };
            let cell = text(cell);
            let cell = cell.trim();
            if cell::is_empty(cell) {
                continue;
            }
            let outcome = match (source, self.layout.value(cell, measure)) {
                (None, _) => Err(Refusal::TooMany),
                (_, None) => Err(Refusal::Malformed),
                (Some((source, instance)), Some(value)) => {
                    self.values.clear();
                    self.values.put_instance(measure.quantity, measure.reference, *instance, value);
                    self.log.take(kind, *source, &self.values, offset, self.sink)
                }
            };
            match outcome {
                Ok(()) => used += 1,
                Err(why) => {
                    // The first is counted for the row, should none be used.
                    if refused.is_some() || used > 0 {
                        self.log.ledger.value_refused(kind, why, self.log.line);
                    }
                    refused = refused.or(Some(why));
                }
            }
        }
        match (used, refused) {
            (0, None) => self.log.ledger.refused(kind, Refusal::Empty, self.log.line),
            (0, Some(why)) => self.log.ledger.refused(kind, why, self.log.line),
            _ => self.log.ledger.used(kind),
        }
    }

    /// The time that a row tells, from one column or two.
    fn time(&self, row: &csv::ByteRecord) -> Result<Option<Stamp>, Refusal> {
        let (mut day, mut clock, mut is_utc) = (None, None, false);
        for (cell, column) in row.iter().zip(&self.layout.columns) {
            let Means::Time { part, utc } = column else { continue };
            let cell = text(cell);
            let cell = cell.trim();
            if cell::is_empty(cell) {
                continue;
            }
            let read = match part {
                TimePart::Clock => cell::clock(cell).or_else(|| cell::date(cell, self.layout.date_order)),
                TimePart::Both | TimePart::Date => {
                    cell::date(cell, self.layout.date_order).or_else(|| cell::clock(cell))
                }
            };
            is_utc |= utc;
            match read.ok_or(Refusal::Malformed)? {
                Stamp::Clock(time) => clock = Some(time),
                stamp @ Stamp::Utc(_) => return Ok(Some(stamp)),
                Stamp::Local(at) if *part == TimePart::Date => day = Some(at.div_euclid(DAY) * DAY),
                Stamp::Local(at) => return Ok(Some(if is_utc { Stamp::Utc(at) } else { Stamp::Local(at) })),
            }
        }
        Ok(match (day, clock) {
            (Some(day), Some(clock)) if is_utc => Some(Stamp::Utc(day + clock)),
            (Some(day), Some(clock)) => Some(Stamp::Local(day + clock)),
            (None, Some(clock)) => Some(Stamp::Clock(clock)),
            (Some(day), None) => Some(if is_utc { Stamp::Utc(day) } else { Stamp::Local(day) }),
            (None, None) => None,
        })
    }
}

/// Whether a quantity is written in several units, so that a bare number leaves a doubt.
fn needs_unit(quantity: Quantity) -> bool {
    !matches!(quantity.unit(), "deg" | "%" | "1" | "rpm" | "V" | "A" | "h" | "W")
}

#[cfg(test)]
mod tests;
