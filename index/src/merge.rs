//! Two homes into one: the union of sources, arrivals and decisions.
//!
//! Every line has an identifier of its own, so a union knows no order: both ways give the same, again changes
//! nothing. What was erased in either home stays erased.

use std::collections::{BTreeMap, HashSet};

use sqlx::ConnectOptions;
use sqlx::Connection;

use crate::arrival::Arrival;
use crate::decision::Entry;
use crate::error::{Result, db};
use crate::home::Home;
use crate::lines;
use crate::rebuild;
use crate::record::Record;
use crate::source::SourceId;
use crate::store;
use crate::writer::Writer;

/// What a merge brought in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Merged {
    /// Sources.
    pub sources: usize,
    /// Arrivals.
    pub arrivals: usize,
    /// Decisions.
    pub decisions: usize,
    /// What could not be brought in, and why.
    pub left: Vec<String>,
}

impl Writer {
    /// Brings in all that another home has and this one has not. The other home is only read.
    pub async fn merge(&mut self, other: &Home) -> Result<Merged> {
        // The record first: bytes come before their line, so whatever the record names is in the archive by now.
        let theirs = other.record()?;
        let mut merged = Merged::default();
        merged.left.extend(theirs.bad_lines().iter().map(ToString::to_string));
        let erased: HashSet<SourceId> = self.record.erased().chain(theirs.erased()).copied().collect();
        for source in theirs.sources().iter().filter(|source| !erased.contains(source)) {
            if self.home.archive().read(source).is_ok() {
                continue;
            }
            match other.archive().read(source) {
                Ok(bytes) => {
                    self.home.archive().keep(source, &bytes)?;
                    merged.sources += 1;
                }
                Err(e) => merged.left.push(e.to_string()),
            }
        }
        let here: HashSet<String> = self.record.ids().map(str::to_owned).collect();
        let (arrivals, decisions) = missing(&theirs, &here);
        merged.arrivals = self.append::<Arrival>("arrivals", arrivals)?;
        merged.decisions = self.append::<Entry>("decisions", decisions)?;
        if merged.sources + merged.arrivals + merged.decisions > 0 {
            self.make_again().await?;
        }
        Ok(merged)
    }

    fn append<T: lines::Record>(&self, folder: &str, files: BTreeMap<String, Vec<String>>) -> Result<usize> {
        let mut count = 0;
        for (device, texts) in files {
            count += texts.len();
            lines::append::<T>(&self.home.root().join(folder).join(format!("{device}.jsonl")), &texts)?;
        }
        Ok(count)
    }

    /// Makes the database again from the record as it is on the disk; the search index follows when the writer is done.
    pub(crate) async fn make_again(&mut self) -> Result<()> {
        let rebuilt = rebuild::rebuild(&self.home, |_| {}).await?;
        let fresh = store::options(&self.home.database()).connect().await.map_err(db("open the database"))?;
        let old = std::mem::replace(&mut self.conn, fresh);
        // The old file is gone; what its connection says on closing is of no use to anybody.
        drop(old.close().await);
        self.record = rebuilt.record;
        self.behind = false;
        self.forget_search();
        self.hold(rebuilt.in_hand);
        Ok(())
    }
}

type ByDevice = BTreeMap<String, Vec<String>>;

fn missing(theirs: &Record, here: &HashSet<String>) -> (ByDevice, ByDevice) {
    let mut arrivals = ByDevice::new();
    let mut decisions = ByDevice::new();
    for line in theirs.arrival_lines().iter().filter(|line| !here.contains(&line.value.id)) {
        arrivals.entry(line.device.clone()).or_default().push(line.text.clone());
    }
    for (entry, _) in theirs.all_decisions().filter(|(entry, _)| !here.contains(&entry.id)) {
        if let Some((device, text)) = theirs.decision_line(&entry.id) {
            decisions.entry(device.clone()).or_default().push(text.clone());
        }
    }
    (arrivals, decisions)
}
