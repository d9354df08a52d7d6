//! The search index kept in step with the database.

use std::collections::{BTreeSet, HashSet};
use std::path::{Path, PathBuf};
use std::time::Duration;

use leadsman_ingest::Span;
use sqlx::{SqliteConnection, SqlitePool};

use crate::disk;
use crate::error::{Result, db};
use crate::home::Home;
use crate::in_hand::InHand;
use crate::lines::SetDigest;
use crate::lock;
use crate::search::{Document, Indexer, Search, documents};
use crate::source::SourceId;
use crate::store::take::{Which, With, notes};
use crate::store::{self, Store, set_meta};

/// The places of items that belong to closed matters.
pub(crate) async fn closed(conn: &mut SqliteConnection) -> Result<HashSet<(SourceId, Span)>> {
    let sql = "SELECT s.hash, e.start_byte, e.end_byte FROM evidence e JOIN matter m ON m.name = e.matter
        JOIN source s USING (source) WHERE m.state = 'closed' AND e.role = 'opens'";
    let rows = sqlx::query(sql).fetch_all(conn).await.map_err(db("read closed matters"))?;
    rows.iter()
        .map(|row| {
            let mut c = store::take::Columns::new(row, "evidence");
            Ok((c.named("a hash", |hash| hash.parse().ok())?, c.span()?))
        })
        .collect()
}

/// What an index of the database as it is must bear. Everything that documents are made of follows from which
/// sources answer, by which options they were read, and which items are closed.
async fn stamp(conn: &mut SqliteConnection, closed: &HashSet<(SourceId, Span)>) -> Result<String> {
    let mut digest = SetDigest::default();
    let sql =
        "SELECT s.hash || ' ' || s.name || ' ' || (SELECT max(a.id) FROM arrival a WHERE a.source = s.source)
        FROM source s WHERE s.state = 'live'";
    let sources: Vec<String> =
        sqlx::query_scalar(sql).fetch_all(&mut *conn).await.map_err(db("read sources"))?;
    for source in sources {
        digest.add(&source);
    }
    for (source, span) in closed {
        digest.add(&format!("{source} {}..{} closed", span.start, span.end));
    }
    Ok(format!("{} {digest}", store::maker()))
}

/// Brings the index up to the database: the documents of `stale` sources are replaced if the index bears the stamp
/// `was`; otherwise all of it is made again, of what is in hand where the database was just made of that. Writes the new
/// stamp into the database.
pub(crate) async fn follow(
    home: &Home,
    conn: &mut SqliteConnection,
    was: Option<&str>,
    stale: &BTreeSet<SourceId>,
    in_hand: Option<InHand>,
) -> Result<String> {
    let closed = closed(conn).await?;
    let stamp = stamp(conn, &closed).await?;
    let folder = home.search_folder();
    // An index that can't be opened is as good as none.
    let resumed = was.and_then(|was| Indexer::resume(&folder, was).ok().flatten());
    let pool = SqlitePool::connect_lazy_with(store::options(&home.database()));
    match resumed {
        Some(mut indexer) => {
            if let Some(in_hand) = in_hand {
                in_hand.drop().await;
            }
            disk::step("write to the search index in", home.root())?;
            for source in stale {
                indexer.forget(source);
                for stored in
                    notes(&pool, Which::LiveOne(source), With { utterances: true, reasons: false }).await?
                {
                    for document in documents(stored.source, &stored.note, &closed) {
                        indexer.add(&document)?;
                    }
                }
            }
            indexer.commit(&stamp)?;
        }
        None => {
            // From here until the new one is in place there may be none.
            set_meta(conn, "search", None).await?;
            let new = new_folder(home);
            let indexer = match in_hand {
                Some(in_hand) => in_hand.index(&new, &closed).await?,
                None => begin(&new, wanted(&pool, &closed).await?)?,
            };
            disk::step("write to the search index in", home.root())?;
            indexer.commit(&stamp)?;
            disk::remove_folder(&folder)?;
            disk::rename(&new, &folder)?;
        }
    }
    pool.close().await;
    set_meta(conn, "search", Some(&stamp)).await?;
    Ok(stamp)
}

/// All documents that the index should hold.
pub(crate) async fn wanted(pool: &SqlitePool, closed: &HashSet<(SourceId, Span)>) -> Result<Vec<Document>> {
    let notes = notes(pool, Which::Live, With { utterances: true, reasons: false }).await?;
    Ok(notes.iter().flat_map(|stored| documents(stored.source, &stored.note, closed)).collect())
}

/// Where an index is made beside the one that is to be replaced.
pub(crate) fn new_folder(home: &Home) -> PathBuf {
    home.search_folder().with_extension("new")
}

/// Makes an index in a folder of its own, with these documents in it so far.
pub(crate) fn begin(folder: &Path, documents: Vec<Document>) -> Result<Indexer> {
    disk::remove_folder(folder)?;
    disk::make_folder(folder)?;
    let mut indexer = Indexer::create(folder)?;
    for document in documents {
        indexer.add(&document)?;
    }
    Ok(indexer)
}

impl Home {
    /// Opens the search index. One that is missing, damaged, or not of this database is made again first, unless
    /// another process is writing; then what is there is used, and only where nothing usable is there does this wait,
    /// as long as `patience` at most.
    pub async fn search(&self, store: &Store, patience: Duration) -> Result<Search> {
        let folder = self.search_folder();
        let mut conn = store.pool.acquire().await.map_err(db("open the database"))?;
        let wanted =
            store::meta(&mut conn, "search").await.map_err(db("read what the index was made from"))?;
        let opened = Search::open(&folder);
        if let Ok(search) = &opened
            && wanted.is_some()
            && search.stamp()? == wanted
        {
            return opened;
        }
        let lock = match lock::try_take(self.root())? {
            Some(lock) => lock,
            None if opened.is_ok() => return opened,
            None => lock::take(self.root(), patience).await?,
        };
        follow(self, &mut conn, None, &BTreeSet::new(), None).await?;
        drop(lock);
        Search::open(&folder)
    }
}

/// What the index holds that it should not, and the other way round, as sentences. None: it is in step.
pub(crate) async fn compare(store: &Store, search: &Search) -> Result<Vec<String>> {
    let mut conn = store.pool.acquire().await.map_err(db("open the database"))?;
    let mut wanted = wanted(&store.pool, &closed(&mut conn).await?).await?;
    wanted.sort_by_key(|d| (d.source, d.kind, d.n));
    let found = search.all()?;
    let mut faults = Vec::new();
    let key = |d: &Document| (d.source, d.kind, d.n);
    let name = |d: &Document| format!("{} {} of source {}", d.kind.name(), d.n, d.source.short());
    let (mut w, mut f) = (wanted.iter().peekable(), found.iter().peekable());
    loop {
        match (w.peek(), f.peek()) {
            (None, None) => return Ok(faults),
            (Some(want), Some(have)) if key(want) == key(have) => {
                if want != have {
                    faults.push(format!("{} differs from the database", name(want)));
                }
                w.next();
                f.next();
            }
            (want, Some(have)) if want.is_none_or(|want| key(want) > key(have)) => {
                faults.push(format!("{} is there twice or should not be", name(have)));
                f.next();
            }
            (Some(want), _) => {
                faults.push(format!("{} is missing", name(want)));
                w.next();
            }
            (None, Some(_)) => {
                f.next();
            }
        }
    }
}
