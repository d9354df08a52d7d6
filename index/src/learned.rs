//! What a note is read in the light of: the offset that the boat's clocks keep, and the names that the skipper gives
//! to gear.
//!
//! Both come from the notes before it, so its arrival keeps them: a rebuild, or another device, reads it in the same
//! light. Words taught by a decision are no part of that. They hold for all notes, the earlier ones too.

use chrono::FixedOffset;
use leadsman_ingest::instrument::Column;
use leadsman_ingest::taught::{Means, Taught};
use leadsman_ingest::{Hints, Note, Notice};
use sqlx::{Row, SqliteConnection};

use crate::decision::Decision;
use crate::error::{Result, db};
use crate::record::Record;
use crate::store::Store;

/// What the notes so far say of the boat.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Learned {
    /// The offset from UTC that the last note to say one gives.
    pub boat_offset: Option<FixedOffset>,
    /// Names for gear, in lower case, with the gear's own name; the latest come first, and win.
    pub names: Vec<(String, String)>,
}

impl Learned {
    /// Adds what a note says. Only one that says its own zone speaks for the others.
    pub fn note(&mut self, note: &Note) {
        let said = note.recorded.filter(|_| note.zone_said).map(|moment| *moment.at.offset());
        self.add(said, &note.names);
    }

    fn add(&mut self, said: Option<FixedOffset>, names: &[(String, String)]) {
        self.boat_offset = said.or(self.boat_offset);
        for name in names {
            self.names.retain(|(word, _)| *word != name.0);
            self.names.insert(0, name.clone());
        }
    }

    /// Fills in what the hints leave open.
    pub fn fill(&self, hints: &mut Hints) {
        hints.boat_offset = hints.boat_offset.or(self.boat_offset);
        if hints.names.is_empty() {
            hints.names.clone_from(&self.names);
        }
    }

    pub(crate) async fn of(conn: &mut SqliteConnection) -> Result<Self> {
        let sql = "SELECT CASE WHEN zone_said = 1 THEN recorded_offset END, names FROM source
            WHERE state = 'live' ORDER BY coalesce(recorded, received), received, name, hash";
        let rows = sqlx::query(sql).fetch_all(conn).await.map_err(db("read what notes say of the boat"))?;
        let mut learned = Learned::default();
        for row in rows {
            let offset: Option<i32> = row.try_get(0).map_err(db("read a row"))?;
            let names: Option<&str> = row.try_get(1).map_err(db("read a row"))?;
            let names: Vec<(String, String)> =
                names.and_then(|json| serde_json::from_str(json).ok()).unwrap_or_default();
            learned.add(offset.and_then(FixedOffset::east_opt), &names);
        }
        Ok(learned)
    }
}

impl Store {
    /// The words that the skipper has taught.
    pub fn taught(&self) -> Taught {
        taught(self.record()).words
    }

    /// What the notes that answer, and the skipper's decisions, say of the boat: for reading one more note in the
    /// light of it, without storing it.
    pub async fn learned(&self) -> Result<Learned> {
        let mut conn = self.pool.acquire().await.map_err(db("open the database"))?;
        let mut learned = Learned::of(&mut conn).await?;
        learned.names.splice(0..0, self.taught().names());
        Ok(learned)
    }
}

impl Store {
    /// Columns of tables that the skipper has mapped.
    pub fn columns(&self) -> Vec<Column> {
        taught(self.record()).columns
    }
}

/// What decisions teach the reading of sources.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Lessons {
    /// Words, the latest first.
    pub(crate) words: Taught,
    /// Columns of tables, one a header.
    pub(crate) columns: Vec<Column>,
}

/// What the decisions that stand teach.
pub(crate) fn taught(record: &Record) -> Lessons {
    let mut lessons = Lessons::default();
    for entry in record.decisions() {
        match &entry.decision {
            Decision::Teach { word, gear, unit, quantity, outcome } => {
                let meanings = [
                    gear.clone().map(Means::Gear),
                    unit.clone().map(Means::Unit),
                    quantity.clone().map(Means::Quantity),
                    outcome.map(Means::Outcome),
                ];
                for means in meanings.into_iter().flatten() {
                    lessons.words.teach(word, means);
                }
            }
            Decision::Column(mapping) => {
                let header = mapping.header.to_lowercase();
                lessons.columns.retain(|column| column.header.to_lowercase() != header);
                lessons.columns.extend(mapping.column());
            }
            _ => {}
        }
    }
    lessons
}

/// The largest source, in bytes, that is read as words: a thousand hours of talk. What is larger is kept and not read, as
/// it would have to be in memory whole.
pub(crate) const LARGEST_WORDS: u64 = 64 << 20;

/// The note of a source that is larger than words are.
pub(crate) fn too_large() -> Note {
    let message = format!(
        "expected words or an instrument log, found more than {} MB that are neither; kept, and not read",
        LARGEST_WORDS >> 20
    );
    let hint = Some(
        "see whether the file is what it was meant to be; a recording is best cut into outings".to_owned(),
    );
    let notices = vec![Notice { span: None, line: None, message, hint }];
    Note { format: "none".to_owned(), notices, ..Note::default() }
}

/// Reads a source that is words, with its hints and the words taught.
pub(crate) fn read_words(bytes: &[u8], hints: &Hints, taught: &Taught) -> Note {
    if taught.is_empty() {
        return leadsman_ingest::read_words(bytes, hints);
    }
    leadsman_ingest::read_words(bytes, &Hints { taught: taught.clone(), ..hints.clone() })
}

/// Whether the boat's offset would change how a note's times are read: not where the skipper gives a zone.
pub(crate) fn asks_for_offset(hints: &Hints) -> bool {
    hints.boat_offset.is_none() && hints.zone.as_ref().is_none_or(|(_, from)| from == MACHINE)
}

/// Where a zone comes from that is only this machine's own, as the program and `leadsman_ingest` write it.
const MACHINE: &str = "this machine";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::{SOON, home, ingest, rows};
    use crate::{Dump, Outcome, With};

    const SAID: &str = "# Trial sail\n\nRecorded: 2026-03-14 10:05 +11:00\n\nWe're calling the windvane Gordon. Gordon steered.\n";
    const UNSAID: &str =
        "# Sunday\n\nRecorded: 2026-03-15 09:00\n\nGordon steered all morning in 15 knots of wind.\n";

    #[tokio::test]
    async fn later_notes_are_read_in_the_light_of_earlier_ones() {
        let (_folder, home) = home();
        ingest(&home, vec![Dump::bytes("1.md", SAID.into())]).await;
        let store = home.store(SOON).await.unwrap();
        let learned = store.learned().await.unwrap();
        assert_eq!(learned.boat_offset, FixedOffset::east_opt(11 * 3600));
        let reports = ingest(&home, vec![Dump::bytes("2.md", UNSAID.into())]).await;
        let Outcome::Taken { source, .. } = reports[0].outcome else { panic!("{reports:?}") };
        let record = home.record().unwrap();
        let arrival = record.arrivals().find(|a| a.source == source).unwrap();
        assert_eq!(arrival.boat_offset, Some(11 * 3600));
        assert_eq!(arrival.names, learned.names);
        let note = home.store(SOON).await.unwrap().note(&source, With::ALL).await.unwrap().unwrap().note;
        assert_eq!(note.recorded.map(|m| *m.at.offset()), learned.boat_offset, "{}", note.zone);
        // By itself the second is read otherwise; a rebuild still reads it as it was.
        let before = rows(&home).await;
        home.rebuild(SOON).await.unwrap();
        assert_eq!(rows(&home).await, before);
    }

    #[tokio::test]
    async fn the_first_note_that_says_its_zone_speaks_for_those_before_it() {
        let (_folder, home) = home();
        let reports =
            ingest(&home, vec![Dump::bytes("2.md", UNSAID.into()), Dump::bytes("1.md", SAID.into())]).await;
        let Outcome::Taken { source, .. } = reports[0].outcome else { panic!("{reports:?}") };
        let note = home.store(SOON).await.unwrap().note(&source, With::default()).await.unwrap().unwrap();
        assert_eq!(note.recorded.map(|at| *at.offset()), FixedOffset::east_opt(11 * 3600));
    }

    #[tokio::test]
    async fn a_taught_word_holds_for_all_notes_until_it_is_taken_back() {
        let (_folder, home) = home();
        let words = "Recorded: 2026-03-15 09:00 +11:00\n\nWe tried Bertha at anchor and she failed to light at all.\n";
        ingest(&home, vec![Dump::bytes("1.txt", words.into())]).await;
        let note = async || home.store(SOON).await.unwrap().notes(With::ALL).await.unwrap().remove(0).note;
        let hints = Hints { name: "1.txt".into(), ..Hints::default() };
        let mut heater = Taught::default();
        heater.teach("Bertha", Means::Gear("heater".into()));
        let as_taught = super::read_words(words.as_bytes(), &hints, &heater);
        let before = note().await;
        assert!(before != as_taught, "the word makes a difference to the note");
        let mut writer = home.writer(SOON).await.unwrap();
        writer
            .decide(Decision::Teach {
                word: "Bertha".into(),
                gear: Some("heater".into()),
                unit: None,
                quantity: None,
                outcome: None,
            })
            .await
            .unwrap();
        writer.finish().await.unwrap();
        assert_eq!(note().await, as_taught);
        let mut writer = home.writer(SOON).await.unwrap();
        writer.undo_last().await.unwrap().unwrap();
        writer.finish().await.unwrap();
        assert_eq!(note().await, before);
    }
}
