//! Arrivals: one line a dump, in `arrivals/DEVICE.jsonl`.
//!
//! Together with the source's bytes a line holds all that reading the source depended on, so that a rebuild reads
//! it again to the same findings.
//!
//! | key | what |
//! | --- | --- |
//! | `v` | version of this shape: 1 |
//! | `id` | time and device; sorts by time, no two alike |
//! | `time` | when the source was taken |
//! | `source` | SHA-256 of its bytes |
//! | `name` | the file's name, without its folder |
//! | `path` | the path it was taken from, where there was one |
//! | `bytes` | its size |
//! | `modified` | the file's modification time |
//! | `recorded` | `--recorded`, where given |
//! | `zone`, `zone_from` | the zone that local times are read in, and where that came from |
//! | `boat_offset` | seconds east of UTC of the boat's notes before this one |
//! | `names` | names given to gear in those notes: pairs of the name and the gear's own |
//! | `replaces` | the source that this one is a newer copy of |
//! | `of` | the recording that this source is a transcript of |
//! | `again` | true where the source was here already and is now to be read with these options |

use chrono::{DateTime, FixedOffset, Utc};
use leadsman_ingest::Hints;
use serde::{Deserialize, Serialize};

use crate::lines::Record;
use crate::source::SourceId;

/// One dump of one source.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Arrival {
    /// Version of this shape.
    pub v: u32,
    /// Time and device; sorts by time, no two alike.
    pub id: String,
    /// When the source was taken, to the millisecond.
    pub time: DateTime<Utc>,
    /// SHA-256 of its bytes.
    pub source: SourceId,
    /// The file's name, without its folder.
    pub name: String,
    /// The path it was taken from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// Its size in bytes.
    pub bytes: u64,
    /// The file's modification time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub modified: Option<DateTime<Utc>>,
    /// When it was recorded, where the skipper said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recorded: Option<DateTime<FixedOffset>>,
    /// Name of the zone that its local times are read in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Where the zone came from: `--zone`, `settings.toml`, `this machine`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone_from: Option<String>,
    /// Offset of the boat's notes before this one, in seconds east of UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boat_offset: Option<i32>,
    /// Names given to gear in those notes, with the gear's own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<(String, String)>,
    /// The source that this one is a newer copy of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<SourceId>,
    /// The recording that this source is a transcript of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<SourceId>,
    /// Whether the source was here already and is now to be read with these options.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub again: bool,
}

impl Arrival {
    /// What reading the source depends on besides its bytes.
    pub fn hints(&self) -> Hints {
        let mut hints = Hints { name: self.name.clone(), ..Hints::default() };
        let zone = self.zone.as_deref().and_then(|name| name.parse().ok());
        hints.zone = zone.map(|zone| (zone, self.zone_from.clone().unwrap_or_default()));
        hints.recorded = self.recorded;
        hints.modified = self.modified;
        hints.boat_offset = self.boat_offset.and_then(FixedOffset::east_opt);
        hints.names.clone_from(&self.names);
        hints
    }

    /// Takes in what reading depends on.
    pub(crate) fn set_hints(&mut self, hints: &Hints) {
        self.name = hints.name.clone();
        self.recorded = hints.recorded;
        self.zone = hints.zone.as_ref().map(|(zone, _)| zone.name().to_owned());
        self.zone_from = hints.zone.as_ref().map(|(_, from)| from.clone());
        self.modified = hints.modified;
        self.names.clone_from(&hints.names);
        self.boat_offset = hints.boat_offset.map(|offset| offset.local_minus_utc());
    }
}

impl Record for Arrival {
    const EXPECTED: &'static str = "an arrival as a line of JSON";
    const NEWEST: u32 = 1;

    fn id(&self) -> &str {
        &self.id
    }

    fn version(&self) -> u32 {
        self.v
    }
}
