//! Which zone a note's times are in: its own word, the skipper's setting, the boat's other notes.

use chrono::{FixedOffset, NaiveDate, Utc};

use super::said::{Mention, What};
use super::zone::Zone;
use crate::Hints;
use crate::found::Notice;
use crate::text::line_of;

/// A zone, and why.
pub(super) struct Picked {
    pub zone: Zone,
    /// "from the note (“UTC+10”)", "from settings.toml", …
    pub from: String,
    /// Whether the note says it.
    pub said: bool,
    /// Whether nothing says it.
    pub guessed: bool,
}

/// Where the caller says that a zone is only the computer's own; the boat's notes know better.
const MACHINE: &str = "this machine";

/// A year whose offsets stand for a note of unknown date.
const SOME_YEAR: i32 = 2025;

/// Picks the zone. `about` is a day near the note's.
pub(super) fn zone<'a>(
    text: &str,
    heads: impl Iterator<Item = &'a Mention>,
    talk: &str,
    about: Option<NaiveDate>,
    hints: &Hints,
    notices: &mut Vec<Notice>,
) -> Picked {
    let date = about.or(NaiveDate::from_ymd_opt(SOME_YEAR, 1, 1)).unwrap_or_default();
    let said: Vec<_> = heads
        .filter_map(|m| match &m.what {
            What::Zone(zone) => Some((m.span, zone)),
            _ => None,
        })
        .collect();
    if let Some((span, zone)) = said.iter().find(|(_, z)| z.firm).or(said.first()) {
        let words = &text[span.range()];
        let fits = |z: &&Zone| {
            let Zone::Fixed(offset) = z else { return true };
            hints.boat_offset == Some(*offset)
                || hints.zone.as_ref().is_some_and(|(tz, _)| Zone::Named(*tz).has(*offset, date))
        };
        let picked =
            zone.options.iter().find(fits).or(zone.options.first()).copied().unwrap_or_else(Zone::utc);
        if zone.options.len() > 1 && !zone.options.iter().any(|z| fits(&z)) {
            let names: Vec<String> = zone.options.iter().map(|z| z.name()).collect();
            notices.push(Notice {
                span: Some(*span),
                line: Some(line_of(text, span.start)),
                message: format!(
                    "expected an offset such as UTC+1, found {words}, which can be {}: {} is taken",
                    names.join(" or "),
                    names[0]
                ),
                hint: Some("write the offset beside it, or say it with --zone".to_owned()),
            });
        }
        return Picked {
            zone: picked,
            from: format!("from the note (“{words}”)"),
            said: true,
            guessed: false,
        };
    }
    let plain = |zone, from: String| Picked { zone, from, said: false, guessed: false };
    let named = hints.zone.as_ref().map(|(tz, from)| (Zone::Named(*tz), from));
    match (named, hints.boat_offset) {
        (Some((zone, from)), _) if from != MACHINE => plain(zone, format!("from {from}")),
        // The computer's zone knows about summer time, where it is the boat's zone at all.
        (Some((zone, _)), Some(boat)) if zone.has(boat, date) => {
            plain(zone, "from this machine, which fits the boat's other notes".to_owned())
        }
        (_, Some(boat)) => match clocks_changed(talk) {
            Some((hours, words)) if changed(boat, hours).is_some() => plain(
                Zone::Fixed(changed(boat, hours).unwrap_or(boat)),
                format!("the boat's offset in her other notes, changed by an hour (“{words}”)"),
            ),
            _ => plain(Zone::Fixed(boat), "the boat's offset in her other notes".to_owned()),
        },
        (Some((zone, from)), None) => plain(zone, format!("from {from}")),
        (None, None) => Picked {
            zone: Zone::Fixed(fixed_utc()),
            from: "for want of a zone".to_owned(),
            said: false,
            guessed: true,
        },
    }
}

fn fixed_utc() -> FixedOffset {
    chrono::Offset::fix(&Utc)
}

fn changed(boat: FixedOffset, hours: i32) -> Option<FixedOffset> {
    FixedOffset::east_opt(boat.local_minus_utc() + hours * 3600)
}

/// "Clocks went on, on Sunday": the note is the first one in another time, so the notes before it are an hour off.
fn clocks_changed(talk: &str) -> Option<(i32, &'static str)> {
    const SAID: &[(&str, i32)] = &[
        ("clocks went on", 1),
        ("clocks went forward", 1),
        ("clocks went ahead", 1),
        ("clocks have gone on", 1),
        ("clocks have gone forward", 1),
        ("clocks are on an hour", 1),
        ("clocks went back", -1),
        ("clocks have gone back", -1),
        ("clocks are back an hour", -1),
    ];
    let lower = talk.to_lowercase();
    SAID.iter().find(|(words, _)| lower.contains(words)).map(|(words, hours)| (*hours, *words))
}
