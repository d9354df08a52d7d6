//! The order of open items.
//!
//! First by the skipper's rank: must, then should together with what has no rank, then can wait. Within a rank by what
//! the matter endangers, as [`danger`] groups gear. Then by why it is open: a failed trial, out of limits, overdue,
//! never proved, tried and not settled, to do. Then by the days left until it is due, what has no date last; then by
//! age, oldest first; then by name, so that the order is the same on every device.
//!
//! Common practice, no source.

use chrono::{DateTime, FixedOffset, NaiveDate};
use leadsman_index::Rank;
use leadsman_ingest::Why;
use leadsman_ingest::gear::by_name;

use super::Open;
use crate::decide::rank_word;
use crate::figure;
use crate::words::why;

/// What an item is sorted by; the least comes first.
pub type Pressing = (u8, u8, u8, i64, Option<DateTime<FixedOffset>>, String);

/// Where an item stands in the list.
pub fn pressing(item: &Open, on: NaiveDate) -> Pressing {
    let days = due(item).map_or(i64::MAX, |due| (due - on).num_days());
    let opened = item.evidence.iter().find_map(|words| words.at);
    (
        rank(item.standing.rank),
        danger(item.gear.as_deref()).0,
        reason(item.why),
        days,
        opened,
        item.id.clone(),
    )
}

/// The day that an item is due by: the skipper's, else the one that it hangs on.
pub fn due(item: &Open) -> Option<NaiveDate> {
    item.standing.due_on.or(item.due.as_ref().map(|due| due.until))
}

fn rank(rank: Option<Rank>) -> u8 {
    match rank {
        Some(Rank::Must) => 0,
        Some(Rank::Should) | None => 1,
        Some(Rank::CanWait) => 2,
    }
}

fn reason(why: Option<Why>) -> u8 {
    match why {
        Some(Why::FailedTrial) => 0,
        Some(Why::OutOfLimits) => 1,
        Some(Why::Overdue) => 2,
        Some(Why::Unproven) => 3,
        Some(Why::InconclusiveTrial) => 4,
        Some(Why::Task) => 5,
        None => 6,
    }
}

/// What gear keeps: how far in front it stands, 0 first, and in words. What lets water in, leaves the boat without
/// steering, burns, poisons or loses a person stands before what keeps her standing, seen and heard; that before what
/// drives and warms; that before comfort and what names no gear.
pub fn danger(gear: Option<&str>) -> (u8, &'static str) {
    let group = gear.and_then(by_name).map(|gear| gear.group.as_str());
    match group {
        Some("watertight") => (0, "watertight"),
        Some("steering") => (0, "steering"),
        Some("fire_gas") => (0, "fire and gas"),
        Some("overboard") => (0, "person overboard"),
        Some("abandon") => (1, "leaving the boat"),
        Some("rig") => (1, "rig"),
        Some("storm") => (1, "heavy weather"),
        Some("anchor") => (1, "ground tackle"),
        Some("signals") => (1, "signals"),
        Some("radio") => (1, "radio"),
        Some("lights") => (1, "lights"),
        Some("medical") => (1, "medical"),
        Some("sails") => (2, "sails"),
        Some("engine") => (2, "engine"),
        Some("fuel") => (2, "fuel"),
        Some("power") => (2, "power"),
        Some("heat") => (2, "heat and air"),
        Some("water") => (2, "water"),
        Some("navigation") => (2, "navigation"),
        Some("galley") => (3, "galley"),
        Some("dinghy") => (3, "dinghy"),
        Some("deck") => (3, "deck"),
        Some(_) | None => (3, "not known"),
    }
}

/// The rule's parts for an item, in the order in which they count.
pub fn parts(item: &Open, on: NaiveDate) -> String {
    let rank = item.standing.rank.map_or("not ranked, as should", rank_word);
    let due = due(item).map_or_else(
        || "no date".to_owned(),
        |due| format!("due {}, {}", figure::day(due), figure::days_away(on, due)),
    );
    let reason = item.why.map_or("no reason", why);
    format!("{rank}; endangers: {}; {reason}; {due}", item.endangers)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// A group that the lexicon has and the order does not would sink to the end unseen.
    #[test]
    fn every_group_of_the_lexicon_has_its_place() {
        let unknown: BTreeSet<&str> = leadsman_ingest::gear::all()
            .iter()
            .filter(|gear| danger(Some(&gear.name)).1 == "not known")
            .map(|gear| gear.group.as_str())
            .collect();
        assert!(unknown.is_empty(), "{unknown:?}");
        assert_eq!(danger(Some("forehatch")), (0, "watertight"));
        assert_eq!(danger(Some("port cap shroud")), (1, "rig"));
        assert_eq!(danger(None).0, 3);
    }
}
