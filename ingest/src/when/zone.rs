//! Zones: offsets, named zones, and the names of times in `lexicon/zones.toml`.

use std::sync::LazyLock;

use chrono::{
    DateTime, Datelike, FixedOffset, MappedLocalTime, NaiveDate, NaiveDateTime, Offset, TimeDelta, TimeZone,
};
use chrono_tz::{TZ_VARIANTS, Tz};
use serde::Deserialize;

/// An offset from UTC, or a place whose offset depends on the date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// The same all year.
    Fixed(FixedOffset),
    /// A zone of the IANA time zone database.
    Named(Tz),
}

impl Zone {
    /// UTC.
    pub fn utc() -> Self {
        Zone::Fixed(chrono::Utc.fix())
    }

    /// The instant of a local time. One that a clock change skips is read an hour on; one that comes twice is the
    /// first of them.
    pub fn instant(self, local: NaiveDateTime) -> DateTime<FixedOffset> {
        let offset = self.offset(local);
        offset
            .from_local_datetime(&local)
            .single()
            .unwrap_or_else(|| chrono::Utc.from_utc_datetime(&local).fixed_offset())
    }

    /// The instant of a local time that may say its own offset.
    pub fn instant_at(self, local: NaiveDateTime, offset: Option<FixedOffset>) -> DateTime<FixedOffset> {
        let own = offset.and_then(|offset| offset.from_local_datetime(&local).single());
        own.unwrap_or_else(|| self.instant(local))
    }

    /// The local time of an instant.
    pub fn local(self, instant: DateTime<FixedOffset>) -> NaiveDateTime {
        match self {
            Zone::Fixed(offset) => instant.with_timezone(&offset).naive_local(),
            Zone::Named(tz) => instant.with_timezone(&tz).naive_local(),
        }
    }

    fn offset(self, local: NaiveDateTime) -> FixedOffset {
        match self {
            Zone::Fixed(offset) => offset,
            Zone::Named(tz) => match tz.offset_from_local_datetime(&local) {
                MappedLocalTime::Single(offset) | MappedLocalTime::Ambiguous(offset, _) => offset.fix(),
                // A skipped local time is read with the offset that was in force before the change.
                MappedLocalTime::None => local
                    .checked_sub_signed(TimeDelta::hours(3))
                    .and_then(|before| tz.offset_from_local_datetime(&before).earliest())
                    .map_or_else(|| chrono::Utc.fix(), |offset| offset.fix()),
            },
        }
    }

    /// Whether the zone has this offset at some time of the year of `date`.
    pub fn has(self, offset: FixedOffset, date: NaiveDate) -> bool {
        [1, 7].iter().any(|month| {
            let noon = NaiveDate::from_ymd_opt(date.year(), *month, 1).and_then(|d| d.and_hms_opt(12, 0, 0));
            noon.is_some_and(|noon| self.offset(noon) == offset)
        })
    }

    /// Its name: `UTC`, `UTC+10:00`, `Australia/Hobart`.
    pub fn name(self) -> String {
        match self {
            Zone::Fixed(offset) if offset.local_minus_utc() == 0 => "UTC".to_owned(),
            Zone::Fixed(offset) => format!("UTC{offset}"),
            Zone::Named(tz) => tz.name().to_owned(),
        }
    }
}

#[derive(Deserialize)]
struct Zones {
    zone: Vec<Entry>,
}

#[derive(Deserialize)]
struct Entry {
    short: Vec<String>,
    long: Vec<String>,
    offsets: Vec<String>,
    #[serde(default)]
    wary: bool,
}

static ZONES: LazyLock<Vec<Entry>> = LazyLock::new(|| {
    toml::from_str::<Zones>(include_str!("../../lexicon/zones.toml"))
        .expect("lexicon/zones.toml is well formed")
        .zone
});

/// What an abbreviation in capitals can mean, likeliest first, and whether it needs a time of day beside it.
pub fn short(word: &str) -> Option<(Vec<Zone>, bool)> {
    if !word.bytes().all(|b| b.is_ascii_uppercase()) {
        return None;
    }
    let entry = ZONES.iter().find(|e| e.short.iter().any(|s| s == word))?;
    Some((options(entry), entry.wary))
}

/// What a name in lower case such as "irish summer time" can mean, likeliest first.
pub fn long(words: &str) -> Option<Vec<Zone>> {
    ZONES.iter().find(|e| e.long.iter().any(|l| l == words)).map(options)
}

fn options(entry: &Entry) -> Vec<Zone> {
    entry.offsets.iter().filter_map(|o| o.parse().ok()).map(Zone::Fixed).collect()
}

/// The zone of a place, by its IANA name or the city in it, in any case.
pub fn place(name: &str) -> Option<Zone> {
    let wanted = name.replace(' ', "_");
    let whole = wanted.contains('/');
    TZ_VARIANTS
        .iter()
        .find(|tz| {
            let name = tz.name();
            let part = if whole { name } else { name.rsplit('/').next().unwrap_or(name) };
            // "GMT", "EST" and the like are no places.
            (whole || name.contains('/')) && !name.starts_with("Etc/") && part.eq_ignore_ascii_case(&wanted)
        })
        .map(|tz| Zone::Named(*tz))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_names_of_times_are_sound() {
        for entry in ZONES.iter() {
            assert_eq!(options(entry).len(), entry.offsets.len(), "{:?}", entry.short);
            assert!(entry.short.iter().all(|s| s.chars().all(|c| c.is_ascii_uppercase())));
            assert!(entry.long.iter().all(|s| s.ends_with(" time") && *s == s.to_lowercase()));
        }
    }

    // Offsets and change-over dates: IANA time zone database, as chrono-tz carries it.
    #[test]
    fn a_place_has_the_offset_of_the_day() {
        let hobart = place("hobart").expect("Hobart is in the database");
        assert_eq!(Some(hobart), place("Australia/Hobart"));
        let at = |zone: Zone, text: &str| zone.instant(text.parse().expect("a local time")).to_rfc3339();
        assert_eq!(at(hobart, "2026-09-20T09:50:00"), "2026-09-20T09:50:00+10:00");
        assert_eq!(at(hobart, "2026-10-06T06:55:00"), "2026-10-06T06:55:00+11:00");
        assert_eq!(at(hobart, "2026-10-04T02:30:00"), "2026-10-04T02:30:00+10:00", "skipped by the change");
        assert_eq!(at(hobart, "2026-04-05T02:30:00"), "2026-04-05T02:30:00+11:00", "comes twice");
        assert_eq!(place("nowhere at all"), None);
        assert_eq!(hobart.name(), "Australia/Hobart");
        assert_eq!(short("ADT").map(|(zones, _)| zones[0].name()), Some("UTC-03:00".to_owned()));
    }
}
