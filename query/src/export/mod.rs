//! A home's findings as plain tables, for a spreadsheet or another program, and its dates as a calendar.
//!
//! Each table is a row type whose fields are its columns, in their order and under their names; values are in the
//! quantity's canonical unit, times in RFC 3339 with the offset aboard, and what is not known is left empty.

pub mod calendar;
mod gear;
mod items;
mod readings;
mod trials;

use std::io::{self, Write};

use serde::Serialize;

pub use gear::{GearRow, gear};
pub use items::{ItemRow, items};
pub use readings::{ReadingRow, readings};
pub use trials::{TrialRow, trials, wind_kn};

/// How a table is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// Comma-separated values with a line of column names, as RFC 4180 has them, in UTF-8.
    #[default]
    Csv,
    /// One JSON object a line; what is not known is null.
    Jsonl,
}

/// Writes rows. An empty table as CSV has its line of column names all the same.
pub fn write<R: Serialize + Default>(rows: &[R], format: Format, out: &mut dyn Write) -> io::Result<()> {
    match format {
        Format::Csv => {
            let mut table = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out);
            for row in rows {
                table.serialize(row).map_err(io::Error::other)?;
            }
            if rows.is_empty() {
                // The writer takes the names from a row; the row itself is left away.
                let mut named = csv::Writer::from_writer(Vec::new());
                named.serialize(R::default()).map_err(io::Error::other)?;
                let text = named.into_inner().map_err(|error| io::Error::other(error.to_string()))?;
                let names = text.split(|byte| *byte == b'\n').next().unwrap_or_default();
                let names = String::from_utf8_lossy(names).into_owned();
                table.write_record(names.split(',')).map_err(io::Error::other)?;
            }
            table.flush()
        }
        Format::Jsonl => {
            for row in rows {
                serde_json::to_writer(&mut *out, row).map_err(io::Error::from)?;
                out.write_all(b"\n")?;
            }
            out.flush()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Default, Serialize)]
    struct Row {
        name: String,
        low: Option<f64>,
    }

    fn written(rows: &[Row], format: Format) -> String {
        let mut out = Vec::new();
        write(rows, format, &mut out).expect("memory takes it");
        String::from_utf8(out).expect("text")
    }

    #[test]
    fn words_with_signs_of_the_format_come_back_equal() {
        let rows = [
            Row { name: "a, \"b\"\nc".to_owned(), low: None },
            Row { name: "=1+1".to_owned(), low: Some(-0.5) },
        ];
        let text = written(&rows, Format::Csv);
        assert_eq!(text, "name,low\r\n\"a, \"\"b\"\"\nc\",\r\n=1+1,-0.5\r\n");
        let back: Vec<csv::StringRecord> =
            csv::Reader::from_reader(text.as_bytes()).into_records().map(|row| row.expect("a row")).collect();
        assert_eq!(&back[0][0], "a, \"b\"\nc");
        assert_eq!(
            written(&rows, Format::Jsonl),
            "{\"name\":\"a, \\\"b\\\"\\nc\",\"low\":null}\n{\"name\":\"=1+1\",\"low\":-0.5}\n"
        );
    }

    #[test]
    fn an_empty_table_has_its_columns() {
        assert_eq!(written(&[], Format::Csv), "name,low\r\n");
        assert_eq!(written(&[], Format::Jsonl), "");
    }
}
