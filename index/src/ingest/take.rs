//! One dump that was read, into the home: known or new, a newer copy or a note of its own.

use std::collections::BTreeMap;

use chrono::Utc;
use leadsman_ingest::{Hints, Note, instrument, sound};
use tokio::task::spawn_blocking;

use super::{BY_HAND, Outcome, Ready};
use crate::arrival::Arrival;
use crate::error::{Error, Result, db};
use crate::learned::{asks_for_offset, taught};
use crate::lines::{self, Line};
use crate::record::SourceState;
use crate::same::words_agree;
use crate::source::SourceId;
use crate::store::{Counts, channel};
use crate::writer::Writer;

impl Writer {
    /// Whether a source answers already in the place of another.
    fn stands_in(&self, source: &SourceId, old: &SourceId) -> bool {
        self.record.state(old) == (SourceState::Replaced, Some(*source))
            && self.record.state(source).0 == SourceState::Live
    }

    pub(super) async fn take(
        &mut self,
        ready: Ready,
        replaces: Option<SourceId>,
        of: Option<SourceId>,
        given: Hints,
    ) -> Result<Outcome> {
        let Ready { source, bytes, path, hints: used, note } = ready;
        // The notes stored since this one was read may have said something that bears on it.
        let other_offset = asks_for_offset(&given);
        let mut hints = Hints { modified: used.modified, ..given };
        self.learned.fill(&mut hints);
        let outdated = note.as_ref().is_some_and(|note| named_otherwise(note, &hints.names, &used.names))
            || other_offset && hints.boat_offset != used.boat_offset;
        if let Some((time, erased)) = self.record.withdrawn(&source) {
            let on = time.format("%Y-%m-%d").to_string();
            return Err(Error::Withdrawn { source_id: source, on, erased });
        }
        let replaced = match replaces {
            Some(old) if old == source => None,
            Some(old) if self.stands_in(&source, &old) => None,
            Some(old) if !self.record.knows(&old) => {
                // Refused whole: its bytes don't stay either.
                if !self.record.knows(&source) {
                    self.home.archive().erase(&source)?;
                }
                return Err(Error::NoSource { asked: old.to_string() });
            }
            Some(old) => Some(old),
            None => self.earlier_copy(&source, path.as_deref(), note.as_ref()).await?,
        };
        let again = self.record.knows(&source);
        if again && replaced.is_none() && !self.asks_otherwise(&source, &hints) {
            if self.misses(&source).await? {
                // Its bytes were gone, and are back by this dump: it is read as it was the first time.
                let hints = self.record.options(&source).map(Arrival::hints).unwrap_or_default();
                let note = self.read_again(&source, &hints).await?;
                self.put_found(&source, None, &note).await?;
                let counts = Counts::of(&note);
                let channels = channel::held(&mut self.conn, &source).await?;
                return Ok(Outcome::Taken {
                    source,
                    counts,
                    notices: note.notices,
                    replaced: None,
                    again: true,
                    channels,
                });
            }
            let first = self.record.first_arrival(&source);
            let (name, received) = first.map(|a| (a.name.clone(), a.time)).unwrap_or_default();
            return Ok(Outcome::AlreadyThere { source, name, received });
        }
        let note = match note {
            Some(note) if !outdated => note,
            _ => self.read_again(&source, &hints).await?,
        };
        let file = self.home.root().join("arrivals").join(format!("{}.jsonl", self.device));
        let (time, id) = self.record.stamp(&self.device, Utc::now());
        let mut arrival = Arrival {
            v: 1,
            id,
            time,
            source,
            name: String::new(),
            path,
            bytes,
            modified: None,
            recorded: None,
            zone: None,
            zone_from: None,
            boat_offset: None,
            names: Vec::new(),
            replaces: replaced,
            of,
            again,
        };
        arrival.set_hints(&hints);
        let text = lines::to_line(&arrival, &file)?;
        lines::append::<Arrival>(&file, std::slice::from_ref(&text))?;
        self.put_arrival(Line { value: arrival, text, device: self.device.clone() }, &note).await?;
        self.learned.note(&note);
        let counts = Counts::of(&note);
        let channels = channel::held(&mut self.conn, &source).await?;
        Ok(Outcome::Taken { source, counts, notices: note.notices, replaced, again, channels })
    }

    /// The source that answers now and came from the same path, if most of its words agree with the new note's.
    async fn earlier_copy(
        &mut self,
        source: &SourceId,
        path: Option<&str>,
        note: Option<&Note>,
    ) -> Result<Option<SourceId>> {
        let Some(path) = path else { return Ok(None) };
        let live = |id: &SourceId| self.record.state(id).0 == SourceState::Live;
        let earlier = self
            .record
            .arrivals()
            .filter(|a| a.path.as_deref() == Some(path) && a.source != *source && live(&a.source))
            .max_by_key(|a| (a.time, &a.id))
            .map(|a| a.source);
        let Some(earlier) = earlier else { return Ok(None) };
        if self.record.knows(source) && live(source) {
            return Ok(None);
        }
        let archive = self.home.archive();
        if archive.has(source) && sound::sniff(&archive.head(source, sound::HEAD)?) {
            // Recorders use a name again; which words it holds, nobody has heard yet.
            return Ok(None);
        }
        let columns = taught(&self.record).columns;
        if archive.has(source)
            && instrument::sniff(&archive.head(source, instrument::HEAD)?, &columns).is_some()
        {
            // A log that goes on is the earlier one with more behind it; another under the same name is another.
            let length = self.record.first_arrival(&earlier).map_or(0, |arrival| arrival.bytes);
            return Ok((archive.starts(source, length)? == earlier).then_some(earlier));
        }
        let new: Vec<String> = match note {
            Some(note) => note.utterances.iter().map(|u| u.text.clone()).collect(),
            None => self.words(source).await?,
        };
        let old = self.words(&earlier).await?;
        let agree = words_agree(old.iter().map(String::as_str), new.iter().map(String::as_str));
        Ok(agree.then_some(earlier))
    }

    async fn words(&mut self, source: &SourceId) -> Result<Vec<String>> {
        sqlx::query_scalar("SELECT text FROM utterance WHERE source = ? ORDER BY n")
            .bind(source.key())
            .fetch_all(&mut self.conn)
            .await
            .map_err(db("read words"))
    }

    /// Whether the skipper gives options that a source here was not read with.
    fn asks_otherwise(&self, source: &SourceId, hints: &Hints) -> bool {
        let Some(options) = self.record.options(source) else { return false };
        let recorded = hints.recorded.is_some() && hints.recorded != options.recorded;
        let zone = hints.zone.as_ref().filter(|(_, from)| from == BY_HAND).map(|(zone, _)| zone.name());
        recorded || zone.is_some() && zone != options.zone.as_deref()
    }

    pub(crate) async fn read_again(&self, source: &SourceId, hints: &Hints) -> Result<Note> {
        let (archive, source, hints) = (self.home.archive(), *source, hints.clone());
        let taught = taught(&self.record);
        spawn_blocking(move || channel::note(&archive, &source, &hints, &taught))
            .await
            .map_err(|e| Error::Task { doing: "read a source again", what: e.to_string() })?
    }
}
/// Whether two lists of names that a skipper gave to gear differ in a name that a note may have.
fn named_otherwise(note: &Note, a: &[(String, String)], b: &[(String, String)]) -> bool {
    if a == b {
        return false;
    }
    let texts: Vec<String> = note.utterances.iter().map(|utterance| utterance.text.to_lowercase()).collect();
    let names = |list: &[(String, String)]| -> BTreeMap<String, String> {
        let in_note = list.iter().filter(|(name, _)| {
            let first = name.split(|c: char| !c.is_alphanumeric()).find(|word| !word.is_empty());
            first.is_none_or(|word| texts.iter().any(|text| text.contains(word)))
        });
        in_note.cloned().collect()
    };
    names(a) != names(b)
}
