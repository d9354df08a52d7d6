//! What the skipper gave besides the sources' bytes: all devices' arrivals and decisions, and what follows from them
//! for each source. All of it is a matter of which lines there are, not of their order or of the files they are in,
//! so two homes that hold the same lines give the same answers.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use chrono::{DateTime, SubsecRound, Utc};

use crate::arrival::Arrival;
use crate::decision::{self, Decision, Entry};
use crate::error::Result;
use crate::lines::{self, BadLine, Line, SetDigest};
use crate::source::SourceId;

/// Whether a source's findings answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SourceState {
    /// They do.
    Live,
    /// A newer copy answers instead.
    Replaced,
    /// The skipper withdrew it.
    Withdrawn,
    /// The skipper withdrew it and had its bytes destroyed.
    Erased,
    /// Its bytes are not in the archive.
    Missing,
}

impl SourceState {
    /// The name in the database.
    pub fn name(self) -> &'static str {
        match self {
            SourceState::Live => "live",
            SourceState::Replaced => "replaced",
            SourceState::Withdrawn => "withdrawn",
            SourceState::Erased => "erased",
            SourceState::Missing => "missing",
        }
    }

    pub(crate) fn from_name(name: &str) -> Option<Self> {
        use SourceState::*;
        [Live, Replaced, Withdrawn, Erased, Missing].into_iter().find(|state| state.name() == name)
    }
}

/// All arrivals and decisions of a home.
#[derive(Clone, Debug, Default)]
pub struct Record {
    arrivals: Vec<Line<Arrival>>,
    decisions: Vec<Entry>,
    decision_lines: HashMap<String, (String, String)>,
    standing: Vec<bool>,
    bad: Vec<BadLine>,
    digest: SetDigest,
    by_source: HashMap<SourceId, Vec<usize>>,
    replacing: HashMap<SourceId, Vec<usize>>,
    withdrawn: HashMap<SourceId, (DateTime<Utc>, bool)>,
    /// Transcripts of each recording.
    heard: HashMap<SourceId, Vec<SourceId>>,
    /// The transcript that the skipper put right, of each recording.
    corrected: HashMap<SourceId, SourceId>,
}

impl Record {
    /// Reads a home's arrivals and decisions.
    pub(crate) fn read(root: &Path) -> Result<Self> {
        let arrivals = lines::read_folder::<Arrival>(&root.join("arrivals"))?;
        let decisions = lines::read_folder::<Entry>(&root.join("decisions"))?;
        let mut record = Record { bad: arrivals.bad, ..Record::default() };
        record.bad.extend(decisions.bad);
        for line in arrivals.lines {
            record.add_arrival(line);
        }
        for line in decisions.lines {
            record.note_decision(line);
        }
        record.settle();
        Ok(record)
    }

    pub(crate) fn add_arrival(&mut self, line: Line<Arrival>) {
        self.digest.add(&line.text);
        let index = self.arrivals.len();
        self.by_source.entry(line.value.source).or_default().push(index);
        if let Some(old) = line.value.replaces {
            self.replacing.entry(old).or_default().push(index);
        }
        if let Some(recording) = line.value.of {
            let transcripts = self.heard.entry(recording).or_default();
            if !transcripts.contains(&line.value.source) {
                transcripts.push(line.value.source);
            }
        }
        self.arrivals.push(line);
    }

    pub(crate) fn add_decision(&mut self, line: Line<Entry>) {
        self.note_decision(line);
        self.settle();
    }

    fn note_decision(&mut self, line: Line<Entry>) {
        self.digest.add(&line.text);
        self.decision_lines.insert(line.value.id.clone(), (line.device, line.text));
        self.decisions.push(line.value);
    }

    fn settle(&mut self) {
        self.standing = decision::standing(&mut self.decisions);
        self.withdrawn.clear();
        self.corrected.clear();
        for (entry, stands) in self.decisions.iter().zip(&self.standing) {
            match (&entry.decision, stands) {
                (Decision::Withdraw { source, erase }, true) => {
                    // What was heard in a recording goes with it.
                    for source in self.heard.get(source).into_iter().flatten().chain([source]) {
                        let (_, erased) = self.withdrawn.entry(*source).or_insert((entry.time, false));
                        *erased |= erase;
                    }
                }
                (Decision::Transcript { recording, transcript }, true) => {
                    self.corrected.insert(*recording, *transcript);
                }
                _ => {}
            }
        }
    }

    /// The recording that a source is a transcript of.
    pub fn recording_of(&self, transcript: &SourceId) -> Option<SourceId> {
        self.arrivals_of(transcript).find_map(|arrival| arrival.of)
    }

    /// The transcript of a recording that answers, and whether the skipper put it right by hand.
    pub fn transcript_of(&self, recording: &SourceId) -> Option<(SourceId, bool)> {
        let there = |source: &SourceId| self.knows(source) && !self.withdrawn.contains_key(source);
        if let Some(corrected) = self.corrected.get(recording).filter(|source| there(source)) {
            return Some((*corrected, true));
        }
        // Two devices may have listened, each for itself: the one that did so last answers.
        let last = |source: &SourceId| self.arrivals_of(source).map(|a| (a.time, a.id.clone())).max();
        let heard = self.heard.get(recording)?.iter().filter(|source| there(source));
        heard.max_by_key(|source| last(source)).map(|source| (*source, false))
    }

    /// The decisions that stand, by time.
    pub fn decisions(&self) -> impl Iterator<Item = &Entry> {
        self.decisions.iter().zip(&self.standing).filter_map(|(entry, stands)| stands.then_some(entry))
    }

    /// All decisions by time, each with whether it stands.
    pub fn all_decisions(&self) -> impl Iterator<Item = (&Entry, bool)> {
        self.decisions.iter().zip(self.standing.iter().copied())
    }

    /// All arrivals.
    pub fn arrivals(&self) -> impl Iterator<Item = &Arrival> {
        self.arrivals.iter().map(|line| &line.value)
    }

    /// When the last line was written of those that there are.
    pub fn last_written(&self) -> Option<DateTime<Utc>> {
        let arrivals = self.arrivals.iter().map(|line| line.value.time);
        arrivals.chain(self.decisions.iter().map(|entry| entry.time)).max()
    }

    /// Lines that could not be read.
    pub fn bad_lines(&self) -> &[BadLine] {
        &self.bad
    }

    /// Identifiers of all lines.
    pub(crate) fn ids(&self) -> impl Iterator<Item = &str> {
        let arrivals = self.arrivals.iter().map(|line| line.value.id.as_str());
        arrivals.chain(self.decisions.iter().map(|entry| entry.id.as_str()))
    }

    pub(crate) fn arrival_lines(&self) -> &[Line<Arrival>] {
        &self.arrivals
    }

    /// Device and text of a decision's line.
    pub(crate) fn decision_line(&self, id: &str) -> Option<&(String, String)> {
        self.decision_lines.get(id)
    }

    pub(crate) fn digest(&self) -> SetDigest {
        self.digest
    }

    /// Every source that ever arrived.
    pub fn sources(&self) -> Vec<SourceId> {
        let mut sources: Vec<_> = self.by_source.keys().copied().collect();
        sources.sort();
        sources
    }

    /// Whether a source ever arrived.
    pub fn knows(&self, source: &SourceId) -> bool {
        self.by_source.contains_key(source)
    }

    fn arrivals_of(&self, source: &SourceId) -> impl Iterator<Item = &Arrival> {
        self.by_source.get(source).into_iter().flatten().map(|index| &self.arrivals[*index].value)
    }

    /// The sources that a source is a newer copy of, by one step or several.
    pub(crate) fn copies_before(&self, source: &SourceId) -> HashSet<SourceId> {
        let mut before = HashSet::new();
        let mut next = vec![*source];
        while let Some(copy) = next.pop() {
            for old in self.arrivals_of(&copy).filter_map(|a| a.replaces) {
                if old != *source && before.insert(old) {
                    next.push(old);
                }
            }
        }
        before
    }

    /// The first arrival of a source: when it was received.
    pub(crate) fn first_arrival(&self, source: &SourceId) -> Option<&Arrival> {
        self.arrivals_of(source).min_by_key(|a| (a.time, &a.id))
    }

    /// The arrival whose options a source is read with: the latest that asked for it to be read again, else the first.
    pub(crate) fn options(&self, source: &SourceId) -> Option<&Arrival> {
        let again = self.arrivals_of(source).filter(|a| a.again).max_by_key(|a| (a.time, &a.id));
        again.or_else(|| self.first_arrival(source))
    }

    /// Whether a source's findings answer by the record, and the source that answers instead. A source is replaced
    /// if the last arrival that replaces it came after its own last one, so going back to an older copy works too.
    pub fn state(&self, source: &SourceId) -> (SourceState, Option<SourceId>) {
        match self.withdrawn.get(source) {
            Some((_, true)) => return (SourceState::Erased, None),
            Some((_, false)) => return (SourceState::Withdrawn, None),
            None => {}
        }
        if let Some((answers, _)) =
            self.recording_of(source).and_then(|recording| self.transcript_of(&recording))
        {
            return match answers == *source {
                true => (SourceState::Live, None),
                false => (SourceState::Replaced, Some(answers)),
            };
        }
        let own = self.arrivals_of(source).map(|a| (a.time, &a.id)).max();
        let newer = self
            .replacing
            .get(source)
            .into_iter()
            .flatten()
            .map(|index| &self.arrivals[*index].value)
            .filter(|a| a.source != *source && !self.withdrawn.contains_key(&a.source))
            .max_by_key(|a| (a.time, &a.id));
        match newer {
            Some(newer) if Some((newer.time, &newer.id)) > own => (SourceState::Replaced, Some(newer.source)),
            _ => (SourceState::Live, None),
        }
    }

    /// When a source was withdrawn and whether its bytes were to be destroyed, if a decision says so.
    pub(crate) fn withdrawn(&self, source: &SourceId) -> Option<(DateTime<Utc>, bool)> {
        self.withdrawn.get(source).copied()
    }

    pub(crate) fn erased(&self) -> impl Iterator<Item = &SourceId> {
        self.withdrawn.iter().filter_map(|(source, (_, erased))| erased.then_some(source))
    }

    /// Time and identifier for a new line of this device: now, but later than all that the device wrote, even if
    /// its clock was set back.
    pub(crate) fn stamp(&self, device: &str, now: DateTime<Utc>) -> (DateTime<Utc>, String) {
        let arrivals = self.arrivals.iter().filter(|line| line.device == device).map(|line| line.value.time);
        let decisions = self.decisions.iter().filter(|entry| entry.device == device).map(|entry| entry.time);
        let last = arrivals.chain(decisions).max();
        let now = now.trunc_subsecs(3);
        let time = match last {
            Some(last) if last >= now => last.trunc_subsecs(3) + chrono::TimeDelta::milliseconds(1),
            _ => now,
        };
        (time, format!("{}-{device}", time.format("%Y%m%dT%H%M%S%.3fZ")))
    }
}
