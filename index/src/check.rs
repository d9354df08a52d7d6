//! Whether a home is whole: every source's hash, every line of the record, the database, the search index. Looks
//! only; [`Home::rebuild`] mends.

use std::collections::{HashMap, HashSet};
use std::path::PathBuf;

use sqlx::{AssertSqlSafe, ConnectOptions, Row, SqliteConnection};

use crate::archive::Archive;
use crate::error::{Error, Result, db};
use crate::home::Home;
use crate::lines::BadLine;
use crate::record::{Record, SourceState};
use crate::search::{Search, keep};
use crate::source::SourceId;
use crate::store::{self, State, Store};

/// How much a finding of the check matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Nothing acknowledged is missing; the next command puts it right by itself. What a crash leaves.
    Remark,
    /// Something is not as it was written.
    Fault,
}

/// Something that the check found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// How much it matters.
    pub level: Level,
    /// Where: a file, or a part of the home.
    pub place: PathBuf,
    /// What is wrong: expected, found.
    pub what: String,
    /// What to do about it.
    pub advice: &'static str,
}

const REBUILD: &str = "`leadsman rebuild` makes it again from sources, arrivals and decisions";
const LOST_LINE: &str = "`leadsman rebuild` writes it back from the database's copy";
const BAD_LINE: &str = "the other lines are read; bring the file back from a backup or another device, or `leadsman merge` \
    a home that has it";
const NEWER: &str = "use the newer program on this home; the line is kept as it is";
const LOST_SOURCE: &str = "its words can't be made again from here: `leadsman merge` a home that has it, restore a backup, \
    or ingest the file anew";
const LEFT_OVER: &str = "nothing to do: it was never acknowledged, and `leadsman rebuild` clears it away";
const BY_ITSELF: &str = "nothing to do: the next command puts it right";
const STRAY: &str = "not a file of this program's; move it elsewhere";

impl Home {
    /// Checks the whole home. `tell` hears after each source how many are done, of how many.
    pub async fn check(&self, mut tell: impl FnMut(usize, usize)) -> Result<Vec<Fault>> {
        let record = self.record()?;
        let mut faults = Faults::default();
        let lengths = sources(&self.archive(), &record, &mut faults, &mut tell)?;
        let place = self.database();
        match store::look(self, &record).await {
            State::Unusable(why) if record.sources().is_empty() && !place.is_file() => {
                faults.add(Level::Remark, &place, why, BY_ITSELF);
                lines(record.bad_lines(), &HashSet::new(), &mut faults);
            }
            State::Unusable(why) => {
                faults.add(Level::Fault, &place, format!("no usable database: {why}"), REBUILD);
                lines(record.bad_lines(), &HashSet::new(), &mut faults);
            }
            state => {
                if let State::Behind(why) = &state {
                    faults.add(Level::Remark, &place, why.clone(), BY_ITSELF);
                }
                let current = matches!(state, State::Current);
                if let Err(e) = self.database_faults(&record, current, &lengths, &mut faults).await {
                    faults.add(Level::Fault, &place, e.to_string(), REBUILD);
                }
            }
        }
        Ok(faults.0)
    }

    async fn database_faults(
        &self,
        record: &Record,
        current: bool,
        lengths: &HashMap<SourceId, u64>,
        faults: &mut Faults,
    ) -> Result<()> {
        let place = self.database();
        let mut conn = store::options(&place).connect().await.map_err(db("open the database"))?;
        let lost = lost_lines(&mut conn, record).await?;
        for (path, id) in &lost {
            let path = self.root().join(path);
            faults.add(Level::Fault, &path, format!("line {id}, which was there, is gone"), LOST_LINE);
        }
        let shortened: HashSet<PathBuf> = lost.iter().map(|(path, _)| self.root().join(path)).collect();
        lines(record.bad_lines(), &shortened, faults);
        let found: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check(20)")
            .fetch_all(&mut conn)
            .await
            .map_err(db("check itself"))?;
        for what in found.into_iter().filter(|what| what != "ok") {
            faults.add(Level::Fault, &place, what, REBUILD);
        }
        let broken =
            sqlx::query("PRAGMA foreign_key_check").fetch_all(&mut conn).await.map_err(db("check itself"))?;
        for row in broken.iter().take(20) {
            let (table, parent) = (row.try_get::<&str, _>(0), row.try_get::<&str, _>(2));
            let (table, parent) = (table.unwrap_or("a table"), parent.unwrap_or("another"));
            let what = format!("a row of {table} points to a row of {parent} that is not there");
            faults.add(Level::Fault, &place, what, REBUILD);
        }
        ranges(&mut conn, faults, &place).await?;
        if current {
            states(&mut conn, record, lengths, faults, &place).await?;
            let stamp =
                store::meta(&mut conn, "search").await.map_err(db("read what the index was made from"))?;
            let store = Store::open(self, record.clone(), None, false);
            self.search_faults(&store, stamp, faults).await?;
            store.close().await;
        }
        Ok(())
    }

    async fn search_faults(&self, store: &Store, stamp: Option<String>, faults: &mut Faults) -> Result<()> {
        let folder = self.search_folder();
        let Some(stamp) = stamp else {
            faults.add(
                Level::Remark,
                &folder,
                "the search index is not yet made of this database".into(),
                BY_ITSELF,
            );
            return Ok(());
        };
        let search = match Search::open(&folder) {
            Ok(search) => search,
            Err(e) => {
                faults.add(Level::Fault, &folder, e.to_string(), REBUILD);
                return Ok(());
            }
        };
        match search.damaged_files() {
            Ok(damaged) => {
                for file in damaged {
                    let what = "its bytes are not the ones that were written".to_owned();
                    faults.add(Level::Fault, &folder.join(file), what, REBUILD);
                }
            }
            Err(e) => faults.add(Level::Fault, &folder, e.to_string(), REBUILD),
        }
        if search.stamp()?.as_ref() != Some(&stamp) {
            faults.add(Level::Fault, &folder, "the index was made from another database".into(), REBUILD);
            return Ok(());
        }
        match keep::compare(store, &search).await {
            Ok(differences) => {
                for what in differences.into_iter().take(20) {
                    faults.add(Level::Fault, &folder, what, REBUILD);
                }
            }
            Err(e) => faults.add(Level::Fault, &folder, e.to_string(), REBUILD),
        }
        Ok(())
    }
}

#[derive(Default)]
struct Faults(Vec<Fault>);

impl Faults {
    fn add(&mut self, level: Level, place: &std::path::Path, what: String, advice: &'static str) {
        self.0.push(Fault { level, place: place.to_owned(), what, advice });
    }
}

/// The archive against the record; gives the length of every whole source.
fn sources(
    archive: &Archive,
    record: &Record,
    faults: &mut Faults,
    tell: &mut impl FnMut(usize, usize),
) -> Result<HashMap<SourceId, u64>> {
    let listing = archive.list()?;
    let mut lengths = HashMap::new();
    let wanted = record.sources();
    for (done, source) in wanted.iter().enumerate() {
        let path = archive.path(source);
        let erased = record.state(source).0 == SourceState::Erased;
        match archive.read(source) {
            _ if erased && !archive.has(source) => {}
            Ok(_) if erased => {
                let what = "a source that was to be erased is still here".to_owned();
                faults.add(Level::Fault, &path, what, "`leadsman rebuild` erases it");
            }
            Ok(bytes) => {
                lengths.insert(*source, bytes.len() as u64);
            }
            Err(Error::Disk { source: e, .. }) if e.kind() == std::io::ErrorKind::NotFound => {
                let name = record.first_arrival(source).map(|a| a.name.as_str()).unwrap_or_default();
                faults.add(Level::Fault, &path, format!("the bytes of \"{name}\" are gone"), LOST_SOURCE);
            }
            Err(Error::Damaged { found, .. }) => {
                let what = format!("expected bytes with SHA-256 {source}, found {found}");
                faults.add(Level::Fault, &path, what, LOST_SOURCE);
            }
            Err(e) => faults.add(Level::Fault, &path, e.to_string(), LOST_SOURCE),
        }
        tell(done + 1, wanted.len());
    }
    let known: HashSet<_> = wanted.into_iter().collect();
    for source in listing.sources.iter().filter(|source| !known.contains(source)) {
        let what = "a source without an arrival: a dump that was cut short".to_owned();
        faults.add(
            Level::Remark,
            &archive.path(source),
            what,
            "ingest the file again; `leadsman rebuild` leaves it",
        );
    }
    for path in listing.unfinished {
        faults.add(Level::Remark, &path, "a half-written file".into(), LEFT_OVER);
    }
    for path in listing.stray {
        faults.add(Level::Remark, &path, "an unknown file".into(), STRAY);
    }
    Ok(lengths)
}

/// Lines that can't be read. A torn one at a file's end is what a crash leaves, unless the database knows of lines
/// that the file has no longer: then something shortened the file.
fn lines(bad: &[BadLine], shortened: &HashSet<PathBuf>, faults: &mut Faults) {
    for line in bad {
        let newer = line.found.starts_with("version ");
        let crash = line.torn && !shortened.contains(&line.path);
        let (level, advice) = match (crash, newer) {
            (true, _) => (Level::Remark, BY_ITSELF),
            (false, true) => (Level::Fault, NEWER),
            (false, false) => (Level::Fault, BAD_LINE),
        };
        let what = format!("line {}: expected {}, found {}", line.line, line.expected, line.found);
        faults.add(level, &line.path, what, advice);
    }
}

/// Lines that the database was made from and the record has no longer: file, within the home, and identifier.
pub(crate) async fn lost_lines(
    conn: &mut SqliteConnection,
    record: &Record,
) -> Result<Vec<(PathBuf, String)>> {
    let lines = known_lines(conn).await?;
    let here: HashSet<&str> = record.ids().collect();
    Ok(lines
        .into_iter()
        .filter(|line| !here.contains(line.id.as_str()))
        .map(|line| (line.file(), line.id))
        .collect())
}

/// A line as the database keeps it.
pub(crate) struct KnownLine {
    pub folder: &'static str,
    pub device: String,
    pub id: String,
    pub text: String,
}

impl KnownLine {
    pub(crate) fn file(&self) -> PathBuf {
        PathBuf::from(self.folder).join(format!("{}.jsonl", self.device))
    }
}

/// All lines that the database was made from.
pub(crate) async fn known_lines(conn: &mut SqliteConnection) -> Result<Vec<KnownLine>> {
    let mut lines = Vec::new();
    for (table, folder) in [("arrival", "arrivals"), ("decision", "decisions")] {
        let sql = format!("SELECT device, id, line FROM {table} ORDER BY id");
        let rows = sqlx::query(AssertSqlSafe(sql)).fetch_all(&mut *conn).await.map_err(db("read lines"))?;
        for row in rows {
            let get = |n: usize| row.try_get::<String, _>(n).map_err(db("read lines"));
            lines.push(KnownLine { folder, device: get(0)?, id: get(1)?, text: get(2)? });
        }
    }
    Ok(lines)
}

/// Every place against the length of its source.
async fn ranges(conn: &mut SqliteConnection, faults: &mut Faults, place: &std::path::Path) -> Result<()> {
    for table in ["utterance", "reading", "trial", "item", "closing", "due", "event", "notice", "evidence"] {
        let sql = format!(
            "SELECT s.name, t.n, t.start_byte, t.end_byte, s.bytes FROM {table} t JOIN source s USING (source)
            WHERE t.start_byte < 0 OR t.start_byte > t.end_byte OR t.end_byte > s.bytes LIMIT 20"
        );
        for row in
            sqlx::query(AssertSqlSafe(sql)).fetch_all(&mut *conn).await.map_err(db("check byte ranges"))?
        {
            let name: String = row.try_get(0).map_err(db("check byte ranges"))?;
            let number = |n: usize| row.try_get::<i64, _>(n).unwrap_or_default();
            let what = format!(
                "{table} {} of \"{name}\" stands at bytes {}..{}, the source has {}",
                number(1),
                number(2),
                number(3),
                number(4)
            );
            faults.add(Level::Fault, place, what, REBUILD);
        }
    }
    Ok(())
}

/// Every source's row against the record and the archive.
async fn states(
    conn: &mut SqliteConnection,
    record: &Record,
    lengths: &HashMap<SourceId, u64>,
    faults: &mut Faults,
    place: &std::path::Path,
) -> Result<()> {
    let rows = sqlx::query("SELECT hash, state, bytes FROM source")
        .fetch_all(conn)
        .await
        .map_err(db("read sources"))?;
    let mut seen = HashSet::new();
    for row in &rows {
        let mut c = store::take::Columns::new(row, "source");
        let source: SourceId = c.named("a hash", |hash| hash.parse().ok())?;
        let state = c.named("a source's state", SourceState::from_name)?;
        let bytes: i64 = c.get()?;
        seen.insert(source);
        let wanted = record.state(&source).0;
        let missing = !lengths.contains_key(&source) && wanted != SourceState::Erased;
        let differs = match state {
            SourceState::Missing => !missing,
            state => state != wanted,
        };
        if differs {
            let what = format!("source {source} is \"{}\", expected \"{}\"", state.name(), wanted.name());
            faults.add(Level::Fault, place, what, REBUILD);
        }
        if let Some(length) = lengths.get(&source)
            && *length != bytes as u64
        {
            let what = format!("source {source} is said to have {bytes} bytes, and has {length}");
            faults.add(Level::Fault, place, what, REBUILD);
        }
    }
    for source in record.sources().iter().filter(|source| !seen.contains(source)) {
        faults.add(Level::Fault, place, format!("source {source} has no row"), REBUILD);
    }
    Ok(())
}
