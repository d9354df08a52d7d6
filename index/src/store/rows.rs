//! Rows into tables, many in one statement.
//!
//! One row a statement through sqlx stores some 65,000 rows a second, a thousand rows a statement several times as
//! many. A lot that is no round thousand goes in by statements of falling powers of two, so that a table has a dozen
//! statements in all, each prepared once.

use std::sync::Arc;

use sqlx::encode::Encode;
use sqlx::sqlite::SqliteArguments;
use sqlx::{Arguments, AssertSqlSafe, Sqlite, SqliteConnection, Type};

use leadsman_ingest::{Moment, Span};

use crate::error::{Result, db};

/// Most rows of one statement.
const MOST_ROWS: usize = 1024;

/// Most values of one statement: SQLite's own default limit (`SQLITE_MAX_VARIABLE_NUMBER`, <https://sqlite.org/limits.html>).
const MOST_VALUES: usize = 32_766;

/// A table to insert into: its name and its columns in the order that values are put.
pub(crate) struct Table {
    pub name: &'static str,
    pub columns: &'static [&'static str],
}

/// The values of one statement, in order.
#[derive(Default)]
pub(crate) struct Values {
    arguments: SqliteArguments,
    failed: Option<sqlx::error::BoxDynError>,
}

impl Values {
    pub(crate) fn put<'t, T: Encode<'t, Sqlite> + Type<Sqlite>>(&mut self, value: T) {
        if let Err(e) = self.arguments.add(value) {
            self.failed.get_or_insert(e);
        }
    }

    pub(crate) fn span(&mut self, span: Span) {
        self.put(span.start as i64);
        self.put(span.end as i64);
    }

    /// Time in milliseconds, offset in seconds, and how the time is known.
    pub(crate) fn moment(&mut self, moment: Option<&Moment>) {
        self.put(moment.map(|m| m.at.timestamp_millis()));
        self.put(moment.map(|m| m.at.offset().local_minus_utc()));
        self.put(moment.map(|m| m.basis.name()));
    }

    /// A list as JSON; NULL when it is empty.
    pub(crate) fn json<T: serde::Serialize>(&mut self, list: &[T]) {
        if list.is_empty() {
            self.put(None::<String>);
            return;
        }
        match serde_json::to_string(list) {
            Ok(text) => self.put(text),
            Err(e) => self.failed = Some(Box::new(e)),
        }
    }
}

/// Names that come up again and again, each held once.
#[derive(Default)]
pub(crate) struct Names(Vec<Arc<str>>);

impl Names {
    /// The shared copy of a name. There are some forty quantities and a dozen units: a look along the list, the
    /// latest first, beats hashing.
    pub(crate) fn get(&mut self, name: &str) -> Arc<str> {
        if let Some(known) = self.0.iter().rev().find(|known| &***known == name) {
            return known.clone();
        }
        if self.0.len() > 256 {
            self.0.clear();
        }
        let new: Arc<str> = name.into();
        self.0.push(new.clone());
        new
    }
}

/// Inserts all rows.
pub(crate) async fn insert<T>(
    conn: &mut SqliteConnection,
    table: &Table,
    rows: impl IntoIterator<Item = T, IntoIter: ExactSizeIterator>,
    put: impl FnMut(&mut Values, T),
) -> Result<()> {
    upsert(conn, table, "", rows, put).await
}

/// Inserts all rows; `otherwise` is the clause that says what becomes of a row whose key is there already.
pub(crate) async fn upsert<T>(
    conn: &mut SqliteConnection,
    table: &Table,
    otherwise: &str,
    rows: impl IntoIterator<Item = T, IntoIter: ExactSizeIterator>,
    mut put: impl FnMut(&mut Values, T),
) -> Result<()> {
    let mut rows = rows.into_iter();
    let width = table.columns.len();
    let most = MOST_ROWS.min(MOST_VALUES / width);
    while rows.len() > 0 {
        let count = if rows.len() >= most { most } else { 1 << rows.len().ilog2() };
        let mut values = Values::default();
        values.arguments.reserve(count * width, 0);
        for row in rows.by_ref().take(count) {
            put(&mut values, row);
        }
        if let Some(e) = values.failed {
            return Err(db("encode a row")(sqlx::Error::Encode(e)));
        }
        debug_assert_eq!(
            values.arguments.len(),
            count * width,
            "as many values as columns in {}",
            table.name
        );
        sqlx::query_with(AssertSqlSafe(statement(table, count, otherwise)), values.arguments)
            .execute(&mut *conn)
            .await
            .map_err(db("insert rows"))?;
    }
    Ok(())
}

fn statement(table: &Table, count: usize, otherwise: &str) -> String {
    let row = format!("({})", vec!["?"; table.columns.len()].join(","));
    let mut sql = format!("INSERT INTO {} ({}) VALUES ", table.name, table.columns.join(","));
    sql.reserve(count * (row.len() + 1));
    for n in 0..count {
        if n > 0 {
            sql.push(',');
        }
        sql.push_str(&row);
    }
    sql.push_str(otherwise);
    sql
}
