//! The list of what must be proved, as data: `list.toml`, edited by the skipper's decisions.

use std::sync::LazyLock;

use leadsman_index::{Decision, Entry as Decided};
use serde::{Deserialize, Serialize};

use crate::boat::Day;

/// The groups, in the order in which they are shown.
pub const GROUPS: &[&str] = &[
    "watertight",
    "steering",
    "rig and sails",
    "ground tackle",
    "heat and air",
    "power",
    "engine",
    "fuel and water",
    "fire and gas",
    "person overboard",
    "medical",
    "signals and radio",
    "navigation and lights",
    "leaving the boat",
];

/// What counts as proof.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum By {
    /// A trial that passed.
    Trial,
    /// The word that it was checked, serviced or renewed.
    Check,
    /// A date that lasts until the boat is back.
    Date,
}

/// One thing that must be proved; `list.toml` says what the fields mean.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Required {
    /// What decisions and answers call it.
    pub name: String,
    /// One of [`GROUPS`].
    pub group: String,
    /// What must be so.
    pub what: String,
    /// The gear by which it is proved.
    pub gear: Vec<String>,
    /// What counts as proof.
    pub by: Vec<By>,
    /// The same in words.
    pub counts: String,
    /// How many days before departure a proof may be old; `None` for what a date alone proves.
    pub days: Option<u32>,
    /// The published source.
    pub source: String,
    /// That it is no matter for this boat, with the skipper's reason.
    #[serde(skip_deserializing)]
    pub dismissed: Option<String>,
    /// By the skipper's word: the day on which it was proved, and how.
    #[serde(skip)]
    pub vouched: Option<(chrono::NaiveDate, String)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    entry: Vec<Required>,
}

static LIST: LazyLock<Vec<Required>> = LazyLock::new(|| {
    let file: File =
        toml::from_str(include_str!("list.toml")).expect("proved/list.toml is checked by a test");
    file.entry
});

/// The list as it is given.
pub fn given() -> &'static [Required] {
    &LIST
}

/// The list as the skipper's decisions leave it, in the order of the groups; what is proved after the day asked about is
/// left out.
pub fn edited<'a>(decisions: impl IntoIterator<Item = &'a Decided>, day: Day) -> Vec<Required> {
    let mut list = LIST.clone();
    for decided in decisions {
        let Decision::Proof { entry, about, gear, group, fresh_days, proved, dismissed, because } =
            &decided.decision
        else {
            continue;
        };
        let at = list.iter().position(|r| r.name == *entry).or_else(|| {
            about.as_ref()?;
            list.push(Required {
                name: entry.clone(),
                group: GROUPS[0].to_owned(),
                what: String::new(),
                gear: Vec::new(),
                by: vec![By::Trial, By::Check],
                counts: "a trial that passes, or the skipper's word".to_owned(),
                days: Some(365),
                source: "the skipper".to_owned(),
                dismissed: None,
                vouched: None,
            });
            Some(list.len() - 1)
        });
        // A decision on an entry that an older or newer list does not have is kept, and has nothing to say here.
        let Some(at) = at else { continue };
        let required = &mut list[at];
        let words = || because.clone().unwrap_or_default();
        if let Some(about) = about {
            required.what.clone_from(about);
        }
        if !gear.is_empty() {
            required.gear.clone_from(gear);
        }
        if let Some(group) = group {
            required.group.clone_from(group);
        }
        if fresh_days.is_some() {
            required.days = *fresh_days;
        }
        if let Some(on) = proved.filter(|on| !day.asked || *on <= day.on) {
            required.vouched = Some((on, words()));
        }
        match dismissed {
            Some(true) => required.dismissed = Some(words()),
            Some(false) => required.dismissed = None,
            None => {}
        }
    }
    list.sort_by_key(|r| GROUPS.iter().position(|g| *g == r.group).unwrap_or(GROUPS.len()));
    list
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::gear;

    use super::*;

    /// Facts of the trade: the groups are those that a surveyor walks through. Common practice, no source.
    #[test]
    fn the_list_is_whole() {
        let mut names: Vec<&str> = Vec::new();
        for required in given() {
            assert!(!names.contains(&required.name.as_str()), "{} stands twice", required.name);
            names.push(&required.name);
            assert!(required.name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", required.name);
            assert!(GROUPS.contains(&required.group.as_str()), "{} has no group", required.name);
            assert!(!required.what.is_empty() && !required.counts.is_empty() && !required.by.is_empty());
            assert!(!required.gear.is_empty(), "{} has no gear to be proved by", required.name);
            for name in &required.gear {
                assert!(
                    gear::by_name(name).is_some_and(|g| g.name == *name),
                    "{} names {name}, which is not in gear.toml",
                    required.name
                );
            }
            let source = &required.source;
            let ruled = ["OSR", "SOLAS", "COLREG", "ISO", "EN "].iter().any(|rule| source.contains(rule));
            assert!(
                if ruled {
                    source.contains("from memory")
                } else {
                    source.contains("common practice") || source.contains("first")
                },
                "{}: a source says how it is known: {source}",
                required.name
            );
            assert_eq!(required.days.is_none(), required.by == [By::Date], "{}", required.name);
        }
        for group in GROUPS {
            assert!(given().iter().any(|r| r.group == *group), "{group} has no entry");
        }
    }
}
