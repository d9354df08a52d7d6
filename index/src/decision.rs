//! Decisions: the skipper's own word, one line each, in `decisions/DEVICE.jsonl`.
//!
//! Every line has `v` (the version of this shape, 1), `id` (time and device; sorts by time, no two alike), `time`,
//! `device`, `kind` and the fields of its kind, listed at [`Decision`]. A line is never changed; a decision is taken
//! back by another one, of kind `undo`.

use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
pub use leadsman_ingest::correct::{Correction, Finding};
use leadsman_ingest::instrument::{self, Quantity, Reference};
use leadsman_ingest::{EventKind, Outcome, Span};
use serde::{Deserialize, Serialize};

use crate::ashore::Ashore;
use crate::lines::Record;
use crate::source::SourceId;

/// A decision with its time and its maker.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Version of this shape.
    pub v: u32,
    /// Time and device; sorts by time, no two alike.
    pub id: String,
    /// When it was made, to the millisecond.
    pub time: DateTime<Utc>,
    /// The device that it was made on.
    pub device: String,
    /// The day that it is of, where it was given for one that had passed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day: Option<NaiveDate>,
    /// The decision.
    #[serde(flatten)]
    pub decision: Decision,
}

impl Entry {
    /// The day that it counts from: the one it is of, else the one it was made on.
    pub fn day(&self) -> NaiveDate {
        self.day.unwrap_or_else(|| self.time.date_naive())
    }

    /// The instant that it counts from: when it was made, or the end of the day that it is of.
    pub fn at(&self) -> DateTime<Utc> {
        let end =
            |day: NaiveDate| Some(day.succ_opt()?.and_time(NaiveTime::MIN).and_utc() - TimeDelta::seconds(1));
        self.day.and_then(end).unwrap_or(self.time)
    }
}

/// A place in a source, with the words that stood there when the decision was made: a corrected source carries the
/// decision over to where the same words stand now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// The source.
    pub source: SourceId,
    /// The bytes.
    #[serde(flatten)]
    pub span: Span,
    /// The words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub quote: String,
}

/// How much an item presses, by the skipper's word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rank {
    /// Not without it.
    Must,
    /// Better with it.
    Should,
    /// Not before this passage.
    CanWait,
}

/// The coming passage. A field that is absent leaves what an earlier decision set.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Passage {
    /// Day of departure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub departure: Option<NaiveDate>,
    /// Days at sea expected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<f64>,
    /// Distance in nautical miles.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance_nmi: Option<f64>,
    /// Lowest and highest latitude in degrees, south negative.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub latitudes: Option<(f64, f64)>,
    /// People aboard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crew: Option<u32>,
    /// Coldest air expected, in degC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coldest_air_degc: Option<f64>,
    /// Coldest sea expected, in degC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coldest_sea_degc: Option<f64>,
    /// Strongest wind expected, in kn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strongest_wind_kn: Option<f64>,
    /// Last day on which the boat may still be away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back: Option<NaiveDate>,
}

/// What a column of a table holds. `unit` empty for the canonical one, `reference` and `instance` empty for none.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mapping {
    /// The header as it stands in the file, capitals or not.
    pub header: String,
    /// Name of the quantity of instruments; empty takes an earlier mapping of the header back.
    pub quantity: String,
    /// Name of what it is measured from or against.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reference: String,
    /// Which of several.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub instance: String,
    /// The unit that it is written in.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
}

impl Mapping {
    /// The mapping as the reader of tables takes it; `None` for names that it does not know.
    pub fn column(&self) -> Option<instrument::Column> {
        Some(instrument::Column {
            header: self.header.clone(),
            quantity: Quantity::from_name(&self.quantity)?,
            reference: Reference::from_name(&self.reference)?,
            instance: self.instance.clone(),
            unit: self.unit.clone(),
        })
    }
}

impl Passage {
    /// This passage with what a later decision sets on top.
    pub fn then(self, later: &Passage) -> Passage {
        Passage {
            departure: later.departure.or(self.departure),
            days: later.days.or(self.days),
            distance_nmi: later.distance_nmi.or(self.distance_nmi),
            latitudes: later.latitudes.or(self.latitudes),
            crew: later.crew.or(self.crew),
            coldest_air_degc: later.coldest_air_degc.or(self.coldest_air_degc),
            coldest_sea_degc: later.coldest_sea_degc.or(self.coldest_sea_degc),
            strongest_wind_kn: later.strongest_wind_kn.or(self.strongest_wind_kn),
            back: later.back.or(self.back),
        }
    }
}

/// The skipper's word. In JSON, `kind` is the variant in snake case and the fields stand beside it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Decision {
    /// The item is done.
    Close {
        /// Name of the item.
        item: String,
        /// The skipper's reason.
        because: String,
    },
    /// The item is open again.
    Reopen {
        /// Name of the item.
        item: String,
    },
    /// Sailing with it as it is.
    Accept {
        /// Name of the item.
        item: String,
        /// The skipper's reason.
        because: String,
    },
    /// Not before a date.
    PutOff {
        /// Name of the item.
        item: String,
        /// The date.
        until: NaiveDate,
    },
    /// Somebody else does it.
    Give {
        /// Name of the item.
        item: String,
        /// Who.
        to: String,
    },
    /// It waits for something.
    Wait {
        /// Name of the item.
        item: String,
        /// What for.
        r#for: String,
        /// When that is due.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        due: Option<NaiveDate>,
    },
    /// How much it presses.
    Rank {
        /// Name of the item.
        item: String,
        /// The rank.
        rank: Rank,
    },
    /// It is due by a date.
    Due {
        /// Name of the item.
        item: String,
        /// The date.
        date: NaiveDate,
    },
    /// An item that nobody said aloud. Its name comes from the decision's identifier.
    Add {
        /// The matter.
        about: String,
        /// The gear.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gear: Option<String>,
        /// Why it is open: a name of `leadsman_ingest::Why`.
        why: String,
    },
    /// Several items are one matter; it goes by the first name.
    Merge {
        /// Names of the items.
        items: Vec<String>,
    },
    /// Some of an item's evidence is a matter of its own.
    Split {
        /// Name of the item.
        item: String,
        /// The evidence that goes its own way.
        out: Vec<Place>,
    },
    /// A remark on an item.
    Note {
        /// Name of the item.
        item: String,
        /// The remark.
        text: String,
    },
    /// A finding is right as it was read.
    Confirm {
        /// What kind of finding; of an item, it is that what closed it did so.
        of: Finding,
        /// Where it stands.
        place: Place,
        /// Name of the item, where it is one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        item: Option<String>,
    },
    /// A finding is to be read otherwise.
    Correct {
        /// What kind of finding.
        of: Finding,
        /// Where it stands.
        place: Place,
        /// How.
        to: Correction,
        /// Name of the item, where it is one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        item: Option<String>,
    },
    /// The coming passage.
    Passage(Passage),
    /// What the contact ashore is told.
    Ashore(Ashore),
    /// A band for a quantity.
    Limit {
        /// Name of the quantity.
        quantity: String,
        /// The gear; absent for the boat.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gear: Option<String>,
        /// Lower end, in the quantity's canonical unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        low: Option<f64>,
        /// Upper end, in the quantity's canonical unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        high: Option<f64>,
        /// Who gives it.
        who: String,
    },
    /// What the skipper knows of a wire of the rig; a field that is absent leaves what an earlier decision set.
    Wire {
        /// The stay or shroud.
        gear: String,
        /// Its breaking load, in kN.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        breaking_load_kn: Option<f64>,
        /// Where that breaking load comes from.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        breaking_load_source: Option<String>,
        /// The tension gauge's card for it: what the gauge shows, and the load in kN; empty leaves an earlier one.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        card: Vec<(f64, f64)>,
    },
    /// What the skipper knows of the life of gear; a field that is absent leaves what was known.
    Gear {
        /// The gear.
        gear: String,
        /// What was done with it, on the day `on`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        what: Option<EventKind>,
        /// The day; absent for the day of the decision.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        on: Option<NaiveDate>,
        /// What it is a part of; empty for nothing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        part_of: Option<String>,
        /// That it was not done after all: what notes before this decision tell of the kind, on that day or on any,
        /// is left out.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        dismissed: bool,
        /// In the skipper's words.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
    /// What the skipper says of an entry of the list of what must be proved, or a new entry; a field that is absent
    /// leaves what was there.
    Proof {
        /// Name of the entry.
        entry: String,
        /// What must be proved; makes a new entry where there is none of the name.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        about: Option<String>,
        /// The gear, any of which proves it; empty leaves an earlier list.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        gear: Vec<String>,
        /// The group.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        group: Option<String>,
        /// How many days a proof lasts.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fresh_days: Option<u32>,
        /// The day on which it was proved, by the skipper's word.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        proved: Option<NaiveDate>,
        /// Whether it is no matter for this boat.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        dismissed: Option<bool>,
        /// In the skipper's words.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
    /// A word or a few that the skipper uses, and what they mean: one of the other fields.
    Teach {
        /// The words.
        word: String,
        /// A gear; itself, where the lexicon has no such gear.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gear: Option<String>,
        /// The symbol of a unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<String>,
        /// The name of a quantity.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        quantity: Option<String>,
        /// How a trial went.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        outcome: Option<Outcome>,
    },
    /// How far the instruments' clock is ahead of the notes'; the latest one that covers a day holds.
    Clock {
        /// Seconds; negative where it is behind.
        ahead_s: f64,
        /// First day aboard; absent for all before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        since: Option<NaiveDate>,
        /// Last day aboard; absent for all after.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until: Option<NaiveDate>,
    },
    /// What a column of a table holds that its header does not tell.
    Column(Mapping),
    /// A source no longer answers.
    Withdraw {
        /// The source.
        source: SourceId,
        /// Whether its bytes are destroyed as well, for good.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        erase: bool,
    },
    /// The words of a recording, put right by hand: they win over whatever is heard in it later.
    Transcript {
        /// The recording.
        recording: SourceId,
        /// The source that holds the words.
        transcript: SourceId,
    },
    /// An earlier decision is taken back.
    Undo {
        /// Its identifier.
        decision: String,
    },
}

impl Decision {
    /// The kind, as in JSON.
    pub fn kind(&self) -> &'static str {
        match self {
            Decision::Close { .. } => "close",
            Decision::Reopen { .. } => "reopen",
            Decision::Accept { .. } => "accept",
            Decision::PutOff { .. } => "put_off",
            Decision::Give { .. } => "give",
            Decision::Wait { .. } => "wait",
            Decision::Rank { .. } => "rank",
            Decision::Due { .. } => "due",
            Decision::Add { .. } => "add",
            Decision::Merge { .. } => "merge",
            Decision::Split { .. } => "split",
            Decision::Note { .. } => "note",
            Decision::Confirm { .. } => "confirm",
            Decision::Correct { .. } => "correct",
            Decision::Passage(_) => "passage",
            Decision::Ashore(_) => "ashore",
            Decision::Limit { .. } => "limit",
            Decision::Wire { .. } => "wire",
            Decision::Gear { .. } => "gear",
            Decision::Proof { .. } => "proof",
            Decision::Teach { .. } => "teach",
            Decision::Clock { .. } => "clock",
            Decision::Column(_) => "column",
            Decision::Withdraw { .. } => "withdraw",
            Decision::Transcript { .. } => "transcript",
            Decision::Undo { .. } => "undo",
        }
    }

    /// The item that it is about, where it is about one.
    pub fn item(&self) -> Option<&str> {
        match self {
            Decision::Close { item, .. }
            | Decision::Reopen { item }
            | Decision::Accept { item, .. }
            | Decision::PutOff { item, .. }
            | Decision::Give { item, .. }
            | Decision::Wait { item, .. }
            | Decision::Rank { item, .. }
            | Decision::Due { item, .. }
            | Decision::Split { item, .. }
            | Decision::Note { item, .. } => Some(item),
            Decision::Confirm { item, .. } | Decision::Correct { item, .. } => item.as_deref(),
            Decision::Merge { items } => items.first().map(String::as_str),
            _ => None,
        }
    }
}

/// The current version of a decision's line.
pub(crate) const VERSION: u32 = 1;

impl Record for Entry {
    const EXPECTED: &'static str = "a decision as a line of JSON";
    const NEWEST: u32 = VERSION;

    fn id(&self) -> &str {
        &self.id
    }

    fn version(&self) -> u32 {
        self.v
    }
}

/// Sorts decisions by time and marks those that stand: a decision stands unless an undo that itself stands takes it
/// back. Erasing a source can not be taken back, its bytes are gone.
pub(crate) fn standing(entries: &mut [Entry]) -> Vec<bool> {
    entries.sort_by(|a, b| (a.time, &a.id).cmp(&(b.time, &b.id)));
    let mut undone_by: HashMap<&str, Vec<usize>> = HashMap::new();
    for (index, entry) in entries.iter().enumerate() {
        if let Decision::Undo { decision } = &entry.decision {
            undone_by.entry(decision).or_default().push(index);
        }
    }
    let mut known = vec![None; entries.len()];
    (0..entries.len()).map(|index| stands(index, entries, &undone_by, &mut known)).collect()
}

fn stands(
    start: usize,
    entries: &[Entry],
    undone_by: &HashMap<&str, Vec<usize>>,
    known: &mut [Option<bool>],
) -> bool {
    // A loop and not a recursion: a chain of undos may be as long as somebody's patience. A ring of undos, which no
    // program writes, stands as found.
    let mut path = vec![start];
    while let Some(&index) = path.last() {
        if known[index].is_some() {
            path.pop();
            continue;
        }
        let erases = matches!(entries[index].decision, Decision::Withdraw { erase: true, .. });
        let undos = undone_by.get(entries[index].id.as_str()).filter(|_| !erases);
        let open = undos.into_iter().flatten().find(|undo| known[**undo].is_none() && !path.contains(undo));
        match open {
            Some(undo) => path.push(*undo),
            None => {
                known[index] = Some(!undos.into_iter().flatten().any(|undo| known[*undo] == Some(true)));
                path.pop();
            }
        }
    }
    known[start].unwrap_or(true)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(n: u32, decision: Decision) -> Entry {
        let time = DateTime::from_timestamp_millis(1_750_000_000_000 + i64::from(n)).unwrap();
        Entry { v: VERSION, id: format!("id-{n}"), time, device: "laptop".into(), day: None, decision }
    }

    fn undo(n: u32) -> Decision {
        Decision::Undo { decision: format!("id-{n}") }
    }

    fn close() -> Decision {
        Decision::Close { item: "k7m".into(), because: "fitted".into() }
    }

    /// `kind` has an arm for every variant, or this file would not compile; DECISIONS.md has a row for every kind.
    #[test]
    fn every_kind_is_in_the_schema_and_no_other() {
        let arms =
            include_str!("decision.rs").lines().filter(|line| line.trim_start().starts_with("Decision::"));
        let arms =
            arms.filter_map(|line| line.split_once("=> \"")?.1.split_once("\",").map(|(kind, _)| kind));
        let mut kinds: Vec<&str> = arms.collect();
        let table = include_str!("../DECISIONS.md").split("## Kinds").nth(1).unwrap();
        let table = table.split("\n\n").find(|part| part.starts_with('|')).unwrap();
        let rows = table.lines().skip(2).map(|row| row.split('`').nth(1).unwrap());
        let mut rows: Vec<&str> = rows.collect();
        assert!(kinds.len() > 20, "{kinds:?}");
        kinds.sort_unstable();
        rows.sort_unstable();
        assert_eq!(rows, kinds);
    }

    #[test]
    fn an_undo_takes_back_and_can_be_taken_back() {
        let standing = |decisions: Vec<Decision>| {
            let mut entries: Vec<_> = decisions.into_iter().zip(0..).map(|(d, n)| entry(n, d)).collect();
            standing(&mut entries)
        };
        assert_eq!(standing(vec![close(), undo(0)]), [false, true]);
        assert_eq!(standing(vec![close(), undo(0), undo(1)]), [true, false, true]);
        assert_eq!(standing(vec![close(), undo(0), undo(0), undo(1)]), [false, false, true, true]);
        // A clock that runs behind: the undo sorts before what it takes back.
        assert_eq!(standing(vec![undo(1), close()]), [true, false]);
        // A ring that no program writes still ends.
        assert_eq!(standing(vec![undo(1), undo(0)]).len(), 2);
        let erase = Decision::Withdraw { source: SourceId::of(b""), erase: true };
        assert_eq!(standing(vec![erase, undo(0)]), [true, true]);
    }

    #[test]
    fn a_line_has_the_fields_that_are_documented() {
        let line = |decision| serde_json::to_value(entry(0, decision)).unwrap();
        assert_eq!(
            line(close()),
            serde_json::json!({"v": 1, "id": "id-0", "time": "2025-06-15T15:06:40Z", "device": "laptop",
                "kind": "close", "item": "k7m", "because": "fitted"})
        );
        let place = Place { source: SourceId::of(b"abc"), span: Span::new(3, 9), quote: "12 kn".into() };
        let to = Correction { low: Some(15.0), high: Some(15.0), ..Correction::default() };
        let value = line(Decision::Correct { of: Finding::Reading, place, to, item: None });
        assert_eq!(value["place"]["start"], 3);
        assert_eq!(value["to"], serde_json::json!({"low": 15.0, "high": 15.0}));
        let passage = Passage { latitudes: Some((-54.5, -36.0)), ..Passage::default() };
        assert_eq!(line(Decision::Passage(passage))["latitudes"], serde_json::json!([-54.5, -36.0]));
    }

    fn teach(word: &str, gear: Option<&str>, unit: Option<&str>) -> Decision {
        let (gear, unit) = (gear.map(str::to_owned), unit.map(str::to_owned));
        Decision::Teach { word: word.to_owned(), gear, unit, quantity: None, outcome: None }
    }

    #[test]
    fn every_kind_goes_to_a_line_and_back() {
        let day = NaiveDate::from_ymd_opt(2026, 11, 3).unwrap();
        let item = || "k7m".to_owned();
        let place = || Place { source: SourceId::of(b"abc"), span: Span::new(3, 9), quote: String::new() };
        let kinds = vec![
            close(),
            Decision::Reopen { item: item() },
            Decision::Accept { item: item(), because: "spare aboard".into() },
            Decision::PutOff { item: item(), until: day },
            Decision::Give { item: item(), to: "Ines".into() },
            Decision::Wait { item: item(), r#for: "the seal".into(), due: Some(day) },
            Decision::Rank { item: item(), rank: Rank::CanWait },
            Decision::Due { item: item(), date: day },
            Decision::Add { about: "spare belt".into(), gear: None, why: "task".into() },
            Decision::Merge { items: vec![item(), "b2c".into()] },
            Decision::Split { item: item(), out: vec![place()] },
            Decision::Note { item: item(), text: "ask Piet\nand Wren".into() },
            Decision::Confirm { of: Finding::Trial, place: place(), item: None },
            Decision::Correct {
                of: Finding::Item,
                place: place(),
                to: Correction::default(),
                item: Some(item()),
            },
            Decision::Passage(Passage { departure: Some(day), crew: Some(2), ..Passage::default() }),
            Decision::Ashore(Ashore { people: Some("two".into()), ..Ashore::default() }),
            Decision::Limit {
                quantity: "rig_tension".into(),
                gear: None,
                low: Some(17.0),
                high: None,
                who: "rigger".into(),
            },
            Decision::Wire {
                gear: "cap shroud".into(),
                breaking_load_kn: Some(22.0),
                breaking_load_source: Some("rigger's certificate".into()),
                card: vec![(20.0, 2.3), (30.0, 4.4)],
            },
            Decision::Gear {
                gear: "heater".into(),
                what: Some(EventKind::Replaced),
                on: Some(day),
                part_of: None,
                dismissed: false,
                because: Some("a new burner".into()),
            },
            Decision::Proof {
                entry: "emergency-steering".into(),
                about: None,
                gear: vec!["emergency tiller".into()],
                group: None,
                fresh_days: Some(90),
                proved: None,
                dismissed: Some(false),
                because: None,
            },
            teach("the pig", Some("heater"), None),
            teach("jogs", None, Some("kn")),
            Decision::Clock { ahead_s: -90.5, since: Some(day), until: None },
            Decision::Column(Mapping {
                header: "Sensor 7".into(),
                quantity: "sea_temperature".into(),
                reference: String::new(),
                instance: "intake".into(),
                unit: "F".into(),
            }),
            Decision::Withdraw { source: SourceId::of(b"abc"), erase: false },
            Decision::Transcript { recording: SourceId::of(b"abc"), transcript: SourceId::of(b"abd") },
            undo(4),
        ];
        for decision in kinds {
            let entry = entry(7, decision);
            let line = serde_json::to_string(&entry).unwrap();
            assert!(!line.contains('\n'));
            assert!(line.contains(&format!("\"kind\":\"{}\"", entry.decision.kind())), "{line}");
            assert_eq!(serde_json::from_str::<Entry>(&line).unwrap(), entry);
        }
    }
}
