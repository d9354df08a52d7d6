//! Many dumped files into a home: read and parsed side by side, stored by one writer in the order they were given.

mod take;

use std::collections::{HashSet, VecDeque};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use chrono::{DateTime, FixedOffset, Utc};
use leadsman_ingest::{Hints, Note, Notice, instrument, sound};
use tokio::task::{JoinHandle, spawn_blocking};

use crate::archive::Archive;
use crate::error::{Error, Result, at};
use crate::learned::{self, Learned, Lessons, asks_for_offset, taught};
use crate::source::SourceId;
use crate::store::{Counts, Held, channel};
use crate::writer::Writer;

/// Bytes of sources that may be in memory at a time, besides the one being stored. A single larger file is taken by
/// itself.
const IN_FLIGHT: u64 = 64 << 20;

/// A file to take.
#[derive(Clone, Debug)]
pub struct Dump {
    /// Its bytes, or where they are.
    pub content: Content,
    /// The path that it goes by, for telling a newer copy of an earlier file. A file's own path is used where this
    /// is `None`.
    pub path: Option<PathBuf>,
    /// What is known of it from outside its bytes. A file's modification time is filled in.
    pub hints: Hints,
    /// The source that it is a newer copy of, by the skipper's word.
    pub replaces: Option<SourceId>,
    /// The recording that it is a transcript of.
    pub of: Option<SourceId>,
}

/// A file's bytes.
#[derive(Clone, Debug)]
pub enum Content {
    /// To be read from here.
    File(PathBuf),
    /// These.
    Bytes(Vec<u8>),
}

impl Dump {
    /// A file on the disk, under its own name.
    pub fn file(path: impl Into<PathBuf>) -> Self {
        let path = path.into();
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        Self {
            content: Content::File(path),
            path: None,
            hints: Hints { name, ..Hints::default() },
            replaces: None,
            of: None,
        }
    }

    /// Bytes from elsewhere, under a name.
    pub fn bytes(name: impl Into<String>, bytes: Vec<u8>) -> Self {
        Self {
            content: Content::Bytes(bytes),
            path: None,
            hints: Hints { name: name.into(), ..Hints::default() },
            replaces: None,
            of: None,
        }
    }
}

/// What became of a dump.
#[derive(Debug)]
pub struct Report {
    /// The file's name.
    pub name: String,
    /// Where it was, if it was a file.
    pub path: Option<PathBuf>,
    /// What became of it.
    pub outcome: Outcome,
}

/// What became of a dump.
#[derive(Debug)]
pub enum Outcome {
    /// It is kept, and what was found in it is stored.
    Taken {
        /// The source.
        source: SourceId,
        /// How much was found.
        counts: Counts,
        /// What could not be used.
        notices: Vec<Notice>,
        /// The source that it stands in for from now on.
        replaced: Option<SourceId>,
        /// Whether its bytes were here already and are now read with other options.
        again: bool,
        /// What it holds, where it is an instrument log.
        channels: Option<Held>,
    },
    /// The same bytes are here already; nothing was changed.
    AlreadyThere {
        /// The source.
        source: SourceId,
        /// The name it has here.
        name: String,
        /// When it was taken.
        received: DateTime<Utc>,
    },
    /// It could not be taken.
    Refused {
        /// Why.
        error: Error,
    },
}

/// A dump that was read, on its way to the writer.
struct Ready {
    source: SourceId,
    bytes: u64,
    path: Option<String>,
    hints: Hints,
    note: Option<Note>,
}

/// A dump in the works.
struct Job {
    name: String,
    path: Option<PathBuf>,
    replaces: Option<SourceId>,
    of: Option<SourceId>,
    size: u64,
    /// The hints as they were given, without what was learned.
    given: Hints,
    task: JoinHandle<Result<Ready>>,
}

/// Sources that need no parsing.
struct Known {
    here: HashSet<SourceId>,
    taught: Lessons,
    withdrawn: HashSet<SourceId>,
}

impl Writer {
    /// Takes dumps, in their order; one that fails doesn't stop the others. `tell` hears of each when it is done:
    /// what it is told is taken is on the disk. Errors: only those that stop the whole run; a dump's own is in its
    /// report.
    pub async fn ingest(
        &mut self,
        dumps: impl IntoIterator<Item = Dump>,
        mut tell: impl FnMut(&Report),
    ) -> Result<Vec<Report>> {
        if self.behind {
            // A transaction failed earlier on: what it was about is in the record, and goes in before anything else.
            self.make_again().await?;
        }
        let mut dumps: VecDeque<Dump> = dumps.into_iter().collect();
        self.learned = Learned::of(&mut self.conn).await?;
        if self.learned.boat_offset.is_none() {
            self.learned.boat_offset = look_ahead(&dumps).await;
        }
        let known = Arc::new(Known {
            taught: taught(&self.record),
            here: self.record.sources().into_iter().filter(|s| self.record.withdrawn(s).is_none()).collect(),
            withdrawn: self
                .record
                .sources()
                .into_iter()
                .filter(|s| self.record.withdrawn(s).is_some())
                .collect(),
        });
        let most = std::thread::available_parallelism().map_or(2, usize::from) * 2;
        let mut queue: VecDeque<Job> = VecDeque::new();
        let mut waiting: Option<(u64, Dump)> = None;
        let mut in_flight = 0;
        let mut reports = Vec::new();
        loop {
            while queue.len() < most {
                let next = waiting.take().or_else(|| dumps.pop_front().map(|dump| (dump.size(), dump)));
                let Some((size, dump)) = next else { break };
                if in_flight + size > IN_FLIGHT && !queue.is_empty() {
                    waiting = Some((size, dump));
                    break;
                }
                in_flight += size;
                queue.push_back(self.start(dump, size, known.clone()));
            }
            let Some(job) = queue.pop_front() else { break };
            let size = job.size;
            let report = self.finish_job(job).await;
            in_flight -= size;
            tell(&report);
            reports.push(report);
        }
        Ok(reports)
    }

    fn start(&self, mut dump: Dump, size: u64, known: Arc<Known>) -> Job {
        let archive = self.home.archive();
        let given = dump.hints.clone();
        self.learned.fill(&mut dump.hints);
        let name = dump.hints.name.clone();
        let path = match &dump.content {
            Content::File(path) => Some(path.clone()),
            Content::Bytes(_) => dump.path.clone(),
        };
        let (replaces, of) = (dump.replaces, dump.of);
        Job {
            name,
            path,
            replaces,
            of,
            size,
            given,
            task: spawn_blocking(move || read(dump, &archive, &known)),
        }
    }

    async fn finish_job(&mut self, job: Job) -> Report {
        let Job { name, path, replaces, of, task, given, .. } = job;
        let outcome = match task.await {
            Ok(Ok(ready)) => self.take(ready, replaces, of, given).await,
            Ok(Err(error)) => Err(error),
            Err(e) => Err(Error::Task { doing: "read a source", what: e.to_string() }),
        };
        let outcome = outcome.unwrap_or_else(|error| Outcome::Refused { error });
        Report { name, path, outcome }
    }
}

/// Where nothing is known of the boat's clocks yet, the first of the notes to come that says its offset speaks for
/// those before it too.
async fn look_ahead(dumps: &VecDeque<Dump>) -> Option<FixedOffset> {
    for dump in dumps {
        if !asks_for_offset(&dump.hints) || dump.size() > LARGEST_NOTE {
            continue;
        }
        let dump = dump.clone();
        let said = spawn_blocking(move || {
            let bytes = match dump.content {
                Content::Bytes(bytes) => bytes,
                // One that can't be read is reported when its turn comes.
                Content::File(path) => std::fs::read(path).ok()?,
            };
            let note = leadsman_ingest::read(&bytes, &dump.hints);
            note.recorded.filter(|_| note.zone_said).map(|moment| *moment.at.offset())
        });
        if let Ok(Some(offset)) = said.await {
            return Some(offset);
        }
    }
    None
}

/// Larger sources, in bytes, are logs of instruments or no notes at all, and are not looked into ahead of their turn.
const LARGEST_NOTE: u64 = 1 << 20;

/// Where a zone comes from that was given on the command line.
pub const BY_HAND: &str = "--zone";

impl Dump {
    fn size(&self) -> u64 {
        match &self.content {
            Content::File(path) => std::fs::metadata(path).map_or(0, |m| m.len()),
            Content::Bytes(bytes) => bytes.len() as u64,
        }
    }
}

/// Reads, keeps and parses one dump; runs beside others.
fn read(dump: Dump, archive: &Archive, known: &Known) -> Result<Ready> {
    let Dump { content, path, mut hints, .. } = dump;
    let is_file = matches!(content, Content::File(_));
    let (bytes, own_path) = match content {
        Content::Bytes(bytes) => (bytes, None),
        Content::File(file) => {
            let modified = std::fs::metadata(&file).and_then(|m| m.modified()).ok();
            hints.modified = hints.modified.or_else(|| modified.and_then(to_utc));
            let size = std::fs::metadata(&file).map_or(0, |about| about.len());
            if size > learned::LARGEST_WORDS || streams(&file, &known.taught)? {
                // A season's log or a long recording may be larger than the memory: it is kept and read as it streams.
                let (source, bytes) = archive.keep_file(&file, |id| !known.withdrawn.contains(id))?;
                let read = !known.withdrawn.contains(&source) && !known.here.contains(&source);
                let note =
                    if read { Some(channel::note(archive, &source, &hints, &known.taught)?) } else { None };
                let path = path.unwrap_or_else(|| file.canonicalize().unwrap_or(file));
                return Ok(Ready {
                    source,
                    bytes,
                    path: Some(path.to_string_lossy().into_owned()),
                    hints,
                    note,
                });
            }
            let bytes = std::fs::read(&file).map_err(at("read", &file))?;
            let full = file.canonicalize().unwrap_or(file);
            (bytes, Some(full))
        }
    };
    let path = path.or(own_path).map(|path| path.to_string_lossy().into_owned());
    let source = SourceId::of(&bytes);
    let size = bytes.len() as u64;
    if known.withdrawn.contains(&source) {
        return Ok(Ready { source, bytes: size, path, hints, note: None });
    }
    archive.keep(&source, &bytes)?;
    let note = match !known.here.contains(&source) {
        // A file that streams was told from words already.
        true if !is_file && is_no_words(&bytes, &known.taught) => {
            Some(channel::note(archive, &source, &hints, &known.taught)?)
        }
        true => Some(learned::read_words(&bytes, &hints, &known.taught.words)),
        false => None,
    };
    Ok(Ready { source, bytes: size, path, hints, note })
}

/// Whether a file is an instrument log or a recording, by its head.
fn streams(file: &Path, taught: &Lessons) -> Result<bool> {
    let mut head = Vec::new();
    std::fs::File::open(file)
        .and_then(|from| from.take(instrument::HEAD.max(sound::HEAD) as u64).read_to_end(&mut head))
        .map_err(at("read", file))?;
    Ok(is_no_words(&head, taught))
}

/// Whether bytes begin a recording or an instrument log.
fn is_no_words(head: &[u8], taught: &Lessons) -> bool {
    sound::sniff(head) || instrument::sniff(head, &taught.columns).is_some()
}

/// Whole milliseconds: what an arrival keeps, so that a rebuild reads with the same time.
fn to_utc(time: SystemTime) -> Option<DateTime<Utc>> {
    DateTime::from_timestamp_millis(DateTime::<Utc>::from(time).timestamp_millis())
}
