//! What a column's header says: a time, or a quantity in a unit.
//!
//! A unit stands in brackets ("AWS (kn)"), after a comma, a slash or an underscore, or as the last word ("Battery V").
//! A header without a unit is taken in the canonical one, and that is said.
//!
//! Every note is asked whether it is a table, with all that stands between its commas as headers, so what is no header
//! has to be told cheaply.

use std::collections::HashMap;
use std::sync::OnceLock;

use super::Column;
use super::unit::{self, Way};
use crate::instrument::quantity::{Quantity, Reference};
use crate::lexicon::WordSet;

/// A name of a quantity, and from or against what it is measured.
type Name = (&'static str, Quantity, Reference);

/// What a column holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Means {
    /// A date and time, or either of them; `utc` where the header says so.
    Time { part: TimePart, utc: bool },
    /// A quantity.
    Measure(Measure),
    /// Words of a person: remarks, notes.
    Words,
    /// A quantity in a unit that it is not measured in.
    WrongUnit,
    /// Something else.
    Unknown,
}

/// What of a time a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum TimePart {
    /// Date and time, or whatever the cells turn out to be.
    Both,
    /// The date alone.
    Date,
    /// The time of day; a date stands in a column of its own.
    Clock,
}

/// How a column's numbers are read.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Measure {
    pub(super) quantity: Quantity,
    pub(super) reference: Reference,
    /// Which of several: what is left of the header beside the quantity's own words.
    pub(super) instance: String,
    pub(super) way: Way,
    /// The header names a unit.
    pub(super) unit_given: bool,
}

/// A header is no longer than this, in bytes. A thought between two commas may be.
pub(super) const LONGEST: usize = 64;

/// Names of quantities in headers, as words in lower case. A longer name goes before a shorter one.
const NAMES: &[Name] = {
    use Quantity as Q;
    use Reference as R;
    &[
        ("aws", Q::ApparentWindSpeed, R::Unsaid),
        ("apparent wind speed", Q::ApparentWindSpeed, R::Unsaid),
        ("wind speed apparent", Q::ApparentWindSpeed, R::Unsaid),
        ("awa", Q::ApparentWindAngle, R::Unsaid),
        ("apparent wind angle", Q::ApparentWindAngle, R::Unsaid),
        ("wind angle apparent", Q::ApparentWindAngle, R::Unsaid),
        ("tws", Q::TrueWindSpeed, R::Unsaid),
        ("true wind speed", Q::TrueWindSpeed, R::Unsaid),
        ("wind speed true", Q::TrueWindSpeed, R::Unsaid),
        ("twa", Q::TrueWindAngle, R::Unsaid),
        ("true wind angle", Q::TrueWindAngle, R::Unsaid),
        ("twd", Q::WindDirection, R::True),
        ("true wind direction", Q::WindDirection, R::True),
        ("wind direction", Q::WindDirection, R::Unsaid),
        ("wind dir", Q::WindDirection, R::Unsaid),
        ("wdir", Q::WindDirection, R::True),
        ("wind gust", Q::WindGust, R::Unsaid),
        ("gust", Q::WindGust, R::Unsaid),
        ("gst", Q::WindGust, R::Unsaid),
        ("wind speed", Q::WindSpeed, R::Unsaid),
        ("wspd", Q::WindSpeed, R::Unsaid),
        ("wind", Q::WindSpeed, R::Unsaid),
        ("stw", Q::BoatSpeed, R::Water),
        ("bsp", Q::BoatSpeed, R::Water),
        ("speed through water", Q::BoatSpeed, R::Water),
        ("water speed", Q::BoatSpeed, R::Water),
        ("log speed", Q::BoatSpeed, R::Water),
        ("boat speed", Q::BoatSpeed, R::Unsaid),
        ("sog", Q::SpeedOverGround, R::Ground),
        ("speed over ground", Q::SpeedOverGround, R::Ground),
        ("gps speed", Q::SpeedOverGround, R::Ground),
        ("speed", Q::BoatSpeed, R::Unsaid),
        ("cog", Q::CourseOverGround, R::Unsaid),
        ("course over ground", Q::CourseOverGround, R::Unsaid),
        ("course", Q::CourseOverGround, R::Unsaid),
        ("true heading", Q::Heading, R::True),
        ("heading true", Q::Heading, R::True),
        ("hdt", Q::Heading, R::True),
        ("magnetic heading", Q::Heading, R::Magnetic),
        ("heading magnetic", Q::Heading, R::Magnetic),
        ("hdm", Q::Heading, R::Magnetic),
        ("hdg", Q::Heading, R::Unsaid),
        ("heading", Q::Heading, R::Unsaid),
        ("compass", Q::Heading, R::Compass),
        ("rate of turn", Q::RateOfTurn, R::Unsaid),
        ("rot", Q::RateOfTurn, R::Unsaid),
        ("heel angle", Q::Heel, R::Unsaid),
        ("heel", Q::Heel, R::Unsaid),
        ("roll", Q::Heel, R::Unsaid),
        ("pitch", Q::Pitch, R::Unsaid),
        ("rudder angle", Q::RudderAngle, R::Unsaid),
        ("rudder", Q::RudderAngle, R::Unsaid),
        ("latitude", Q::Latitude, R::Unsaid),
        ("lat", Q::Latitude, R::Unsaid),
        ("longitude", Q::Longitude, R::Unsaid),
        ("long", Q::Longitude, R::Unsaid),
        ("lon", Q::Longitude, R::Unsaid),
        ("lng", Q::Longitude, R::Unsaid),
        ("depth below transducer", Q::WaterDepth, R::Transducer),
        ("depth below keel", Q::WaterDepth, R::Keel),
        ("depth below surface", Q::WaterDepth, R::Surface),
        ("water depth", Q::WaterDepth, R::Unsaid),
        ("depth", Q::WaterDepth, R::Unsaid),
        ("significant wave height", Q::WaveHeight, R::Unsaid),
        ("wave height", Q::WaveHeight, R::Unsaid),
        ("wvht", Q::WaveHeight, R::Unsaid),
        ("sea temperature", Q::SeaTemperature, R::Unsaid),
        ("sea temp", Q::SeaTemperature, R::Unsaid),
        ("sea", Q::SeaTemperature, R::Unsaid),
        ("water temperature", Q::SeaTemperature, R::Unsaid),
        ("water temp", Q::SeaTemperature, R::Unsaid),
        ("sst", Q::SeaTemperature, R::Unsaid),
        ("wtmp", Q::SeaTemperature, R::Unsaid),
        ("air temperature", Q::AirTemperature, R::Unsaid),
        ("air temp", Q::AirTemperature, R::Unsaid),
        ("air", Q::AirTemperature, R::Unsaid),
        ("outside temperature", Q::AirTemperature, R::Unsaid),
        ("outside temp", Q::AirTemperature, R::Unsaid),
        ("outside", Q::AirTemperature, R::Unsaid),
        ("atmp", Q::AirTemperature, R::Unsaid),
        ("cabin temperature", Q::CabinTemperature, R::Unsaid),
        ("cabin temp", Q::CabinTemperature, R::Unsaid),
        ("cabin", Q::CabinTemperature, R::Unsaid),
        ("saloon temperature", Q::CabinTemperature, R::Unsaid),
        ("saloon temp", Q::CabinTemperature, R::Unsaid),
        ("saloon", Q::CabinTemperature, R::Unsaid),
        ("inside temperature", Q::CabinTemperature, R::Unsaid),
        ("inside temp", Q::CabinTemperature, R::Unsaid),
        ("inside", Q::CabinTemperature, R::Unsaid),
        ("engine temperature", Q::EngineTemperature, R::Unsaid),
        ("engine temp", Q::EngineTemperature, R::Unsaid),
        ("coolant temperature", Q::EngineTemperature, R::Unsaid),
        ("coolant temp", Q::EngineTemperature, R::Unsaid),
        ("coolant", Q::EngineTemperature, R::Unsaid),
        ("oil temperature", Q::OilTemperature, R::Unsaid),
        ("oil temp", Q::OilTemperature, R::Unsaid),
        ("dew point", Q::DewPoint, R::Unsaid),
        ("dewp", Q::DewPoint, R::Unsaid),
        ("temperature", Q::Temperature, R::Unsaid),
        ("temp", Q::Temperature, R::Unsaid),
        ("relative humidity", Q::RelativeHumidity, R::Unsaid),
        ("humidity", Q::RelativeHumidity, R::Unsaid),
        ("rh", Q::RelativeHumidity, R::Unsaid),
        ("oil pressure", Q::OilPressure, R::Unsaid),
        ("barometric pressure", Q::Pressure, R::Unsaid),
        ("atmospheric pressure", Q::Pressure, R::Unsaid),
        ("air pressure", Q::Pressure, R::Unsaid),
        ("barometer", Q::Pressure, R::Unsaid),
        ("baro", Q::Pressure, R::Unsaid),
        ("pressure", Q::Pressure, R::Unsaid),
        ("pres", Q::Pressure, R::Unsaid),
        ("state of charge", Q::StateOfCharge, R::Unsaid),
        ("soc", Q::StateOfCharge, R::Unsaid),
        ("voltage", Q::Voltage, R::Unsaid),
        ("volts", Q::Voltage, R::Unsaid),
        ("current", Q::Current, R::Unsaid),
        ("amps", Q::Current, R::Unsaid),
        ("power", Q::Power, R::Unsaid),
        ("watts", Q::Power, R::Unsaid),
        ("fuel level", Q::FuelLevel, R::Unsaid),
        ("fuel rate", Q::FuelRate, R::Unsaid),
        ("fuel flow", Q::FuelRate, R::Unsaid),
        ("water level", Q::WaterLevel, R::Unsaid),
        ("fuel", Q::FuelVolume, R::Unsaid),
        ("engine hours", Q::EngineHours, R::Unsaid),
        ("engine speed", Q::EngineSpeed, R::Unsaid),
        ("engine rpm", Q::EngineSpeed, R::Unsaid),
        ("revs", Q::EngineSpeed, R::Unsaid),
        ("rpm", Q::EngineSpeed, R::Unsaid),
        ("log distance", Q::LogDistance, R::Water),
        ("trip distance", Q::TripDistance, R::Unsaid),
        ("trip", Q::TripDistance, R::Unsaid),
        ("load", Q::LineLoad, R::Unsaid),
        ("co", Q::CoLevel, R::Unsaid),
    ]
};

/// Names that are words of daily life too: they count only with a unit beside them.
const ONLY_WITH_UNIT: &[&str] = &[
    "wind", "speed", "course", "sea", "air", "outside", "cabin", "saloon", "inside", "load", "trip", "co",
    "fuel", "compass", "coolant", "long", "pres", "current", "power",
];

/// Headers of a person's words.
const WORDS: &[&str] = &[
    "remark",
    "remarks",
    "note",
    "notes",
    "comment",
    "comments",
    "entry",
    "what",
    "text",
    "event",
    "events",
    "log",
    "description",
    "details",
    "action",
    "who",
];

/// Reads a header; a mapping that the skipper gave for it goes before everything.
pub(super) fn read(text: &str, mapped: &[Column]) -> Means {
    let text = text.trim().trim_start_matches('#').trim();
    if let Some(column) = mapped.iter().find(|column| column.header.trim().eq_ignore_ascii_case(text)) {
        let written = if column.unit.is_empty() { column.quantity.unit() } else { &column.unit };
        return match unit::way(written, column.quantity) {
            Some(way) => Means::Measure(Measure {
                quantity: column.quantity,
                reference: column.reference,
                instance: column.instance.clone(),
                way,
                unit_given: true,
            }),
            None => Means::WrongUnit,
        };
    }
    if text.len() > LONGEST || !may_mean(text) {
        return Means::Unknown;
    }
    let (name, written) = apart(text);
    let words = words(&name);
    if let Some(time) = time(&words, written.as_deref()) {
        return time;
    }
    if written.is_none() && WORDS.contains(&words.as_str()) {
        return Means::Words;
    }
    measure(&words, written.as_deref())
}

/// Whether a text holds anything that a header's meaning is told by: brackets, a unit at its end, or one of the words
/// that names, times and remarks begin with.
fn may_mean(text: &str) -> bool {
    static BEGINNINGS: OnceLock<WordSet> = OnceLock::new();
    let beginnings = BEGINNINGS.get_or_init(|| {
        let names = NAMES.iter().filter_map(|(name, ..)| name.split(' ').next());
        let all: Vec<&str> = names.chain(WORDS.iter().copied()).chain(OF_TIMES.iter().copied()).collect();
        WordSet::new(&all.join(" "))
    });
    let known = |word: &str| {
        let has_capitals = word.bytes().any(|byte| byte.is_ascii_uppercase());
        if has_capitals { beginnings.holds(&word.to_ascii_lowercase()) } else { beginnings.holds(word) }
    };
    text.contains(['(', '[', '{'])
        || text.split(|c: char| !c.is_alphanumeric()).any(known)
        || SEPARATORS
            .iter()
            .any(|&by| text.rsplit_once(by).is_some_and(|(_, last)| unit::is_unit(last.trim())))
}

/// What may part a header's unit from its name.
const SEPARATORS: [char; 4] = [',', '/', '_', ' '];

/// Parts a header into its name and its unit.
fn apart(text: &str) -> (String, Option<String>) {
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if let (Some(start), Some(end)) = (text.find(open), text.rfind(close))
            && start < end
        {
            let inside = text[start + open.len_utf8()..end].trim();
            let name = format!("{} {}", &text[..start], &text[end + close.len_utf8()..]);
            return (name, Some(inside.to_owned()));
        }
    }
    for separator in SEPARATORS {
        if let Some((name, last)) = text.rsplit_once(separator)
            && unit::is_unit(last.trim())
        {
            // "deg C" and "km/h" hold a separator themselves.
            if let Some((shorter, before)) = name.rsplit_once([',', '_', ' '])
                && unit::is_unit(&format!("{before}{separator}{last}"))
            {
                return (shorter.to_owned(), Some(format!("{before}{separator}{last}")));
            }
            return (name.to_owned(), Some(last.trim().to_owned()));
        }
    }
    (text.to_owned(), None)
}

/// Lower-case words with single spaces: `AppWindSpeed_max` is left to itself, `Wind.Speed` becomes "wind speed".
fn words(name: &str) -> String {
    let spaced: String =
        name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { ' ' }).collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Words that headers of times begin with.
const OF_TIMES: &[&str] = &[
    "date",
    "day",
    "time",
    "clock",
    "local",
    "hour",
    "timestamp",
    "datetime",
    "when",
    "recorded",
    "epoch",
    "unix",
    "utc",
    "gmt",
    "z",
    "zulu",
];

fn time(words: &str, written: Option<&str>) -> Option<Means> {
    let written = written.map(str::to_lowercase);
    let is_utc = |text: &str| matches!(text, "utc" | "gmt" | "z" | "zulu");
    let mut utc = written.as_deref().is_some_and(is_utc);
    let stamp_words: Vec<&str> = words.split(' ').filter(|word| !is_utc(word)).collect();
    utc |= stamp_words.len() < words.split(' ').count();
    let part = match stamp_words.join(" ").as_str() {
        "date" | "day" => TimePart::Date,
        "time" | "clock" | "local time" | "time of day" | "hour" => TimePart::Clock,
        "timestamp" | "time stamp" | "datetime" | "date time" | "date and time" | "when" | "recorded at"
        | "epoch" | "unix time" => TimePart::Both,
        "" if utc => TimePart::Both,
        _ => return None,
    };
    Some(Means::Time { part, utc })
}

/// The names that stand in some words, each as whole words, with what is left of the words without it.
fn named(words: &str) -> impl Iterator<Item = (Name, String)> {
    static BY_FIRST_WORD: OnceLock<HashMap<&str, Vec<Name>>> = OnceLock::new();
    let names = BY_FIRST_WORD.get_or_init(|| {
        let mut names = HashMap::<&str, Vec<Name>>::new();
        for &name in NAMES {
            let first = name.0.split(' ').next().unwrap_or(name.0);
            names.entry(first).or_default().push(name);
        }
        names
    });
    let starts = words.split(' ').scan(0, |at, word| {
        let start = *at;
        *at += word.len() + 1;
        Some((start, word))
    });
    starts.flat_map(move |(start, word)| {
        names.get(word).into_iter().flatten().filter_map(move |&name| {
            let rest = words[start..].strip_prefix(name.0)?;
            let rest = if rest.is_empty() { rest } else { rest.strip_prefix(' ')? };
            let left = [words[..start].trim_end(), rest];
            Some((name, left.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")))
        })
    })
}

fn measure(words: &str, written: Option<&str>) -> Means {
    // Of the names that stand in the header and fit its unit, the longest says the most.
    let measured = named(words)
        .filter(|((name, ..), _)| written.is_some() || !ONLY_WITH_UNIT.contains(name))
        .filter_map(|((name, quantity, reference), instance)| {
            let way = unit::way(written.unwrap_or(quantity.unit()), quantity).or_else(|| {
                // A bare `lat` has no unit and needs none; "°N" beside it is none either.
                let plain = written.is_none() || matches!(quantity, Quantity::Latitude | Quantity::Longitude);
                plain.then_some(Way { factor: 1.0, offset: 0.0 })
            })?;
            let reference = reference_in(written, quantity).unwrap_or(reference);
            let unit_given = written.is_some();
            Some((name.len(), Measure { quantity, reference, instance, way, unit_given }))
        })
        .max_by_key(|(length, _)| *length)
        .map(|(_, measure)| measure);
    let unit_alone = written.and_then(unit::quantity_of);
    match (measured, unit_alone, written) {
        (Some(measure), ..) => Means::Measure(measure),
        // What the unit says goes before a word that does not fit it: "Sea anchor load kN".
        (None, Some(quantity), Some(written)) => match unit::way(written, quantity) {
            Some(way) => Means::Measure(Measure {
                quantity,
                reference: Reference::Unsaid,
                instance: words.to_owned(),
                way,
                unit_given: true,
            }),
            None => Means::WrongUnit,
        },
        (None, _, Some(written)) if named(words).next().is_some() && !written.is_empty() => Means::WrongUnit,
        _ => Means::Unknown,
    }
}

fn reference_in(written: Option<&str>, quantity: Quantity) -> Option<Reference> {
    if quantity.unit() != "deg" {
        return None;
    }
    match written?.to_lowercase().trim_start_matches('°').trim() {
        "t" | "true" => Some(Reference::True),
        "m" | "mag" => Some(Reference::Magnetic),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is(header: &str) -> Option<(Quantity, Reference, String, f64)> {
        match read(header, &[]) {
            Means::Measure(m) => Some((m.quantity, m.reference, m.instance, m.way.factor)),
            _ => None,
        }
    }

    #[test]
    fn headers() {
        use Quantity as Q;
        use Reference as R;
        for (header, quantity, reference, instance) in [
            ("AWS (kn)", Q::ApparentWindSpeed, R::Unsaid, ""),
            ("aws_kts", Q::ApparentWindSpeed, R::Unsaid, ""),
            ("Battery V", Q::Voltage, R::Unsaid, "battery"),
            ("House battery (V)", Q::Voltage, R::Unsaid, "house battery"),
            ("Battery voltage", Q::Voltage, R::Unsaid, "battery"),
            ("Cabin °C", Q::CabinTemperature, R::Unsaid, ""),
            ("Cabin temp [deg C]", Q::CabinTemperature, R::Unsaid, ""),
            ("Sea temperature, C", Q::SeaTemperature, R::Unsaid, ""),
            ("Freezer °C", Q::Temperature, R::Unsaid, "freezer"),
            ("Barometer hPa", Q::Pressure, R::Unsaid, ""),
            ("Heading (°M)", Q::Heading, R::Magnetic, ""),
            ("TWD", Q::WindDirection, R::True, ""),
            ("Speed over ground km/h", Q::SpeedOverGround, R::Ground, ""),
            ("Depth below keel (ft)", Q::WaterDepth, R::Keel, ""),
            ("lat", Q::Latitude, R::Unsaid, ""),
            ("Solar W", Q::Power, R::Unsaid, "solar"),
            ("Drogue load (kN)", Q::LineLoad, R::Unsaid, "drogue"),
            ("Saloon CO (ppm)", Q::CoLevel, R::Unsaid, "saloon"),
            ("SOC %", Q::StateOfCharge, R::Unsaid, ""),
        ] {
            let found = is(header).unwrap_or_else(|| panic!("{header}"));
            assert_eq!((found.0, found.1, found.2.as_str()), (quantity, reference, instance), "{header}");
        }
    }

    #[test]
    fn headers_that_are_not_read() {
        for header in
            ["first", "address", "Cities", "Location Coordinates", "key", "", "a", "Wind", "speed", "price"]
        {
            assert_eq!(read(header, &[]), Means::Unknown, "{header}");
        }
        assert_eq!(read("AWS (bananas)", &[]), Means::WrongUnit);
        assert_eq!(read("Remarks", &[]), Means::Words);
        assert_eq!(read("Time (UTC)", &[]), Means::Time { part: TimePart::Clock, utc: true });
        assert_eq!(read("UTC", &[]), Means::Time { part: TimePart::Both, utc: true });
        assert_eq!(read("Date", &[]), Means::Time { part: TimePart::Date, utc: false });
    }

    #[test]
    fn a_mapping_goes_before_everything() {
        let mapped = [Column {
            header: "Sensor 7".into(),
            quantity: Quantity::SeaTemperature,
            reference: Reference::Unsaid,
            instance: "intake".into(),
            unit: "F".into(),
        }];
        let Means::Measure(measure) = read("sensor 7", &mapped) else { panic!("it is mapped") };
        assert_eq!((measure.quantity, measure.instance.as_str()), (Quantity::SeaTemperature, "intake"));
        assert!((measure.way.factor * 50.0 + measure.way.offset - 10.0).abs() < 1e-9);
    }
}
