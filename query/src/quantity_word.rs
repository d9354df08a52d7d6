//! A quantity as a person asks for it: by its name, in the plural, in short, or by another name of the trade.

use leadsman_ingest::quantity::{Quantity, table};

use crate::error::{Error, did_you_mean};

/// What words name, where they name quantities.
#[derive(Clone, Debug)]
pub struct Meant {
    /// All that they may mean, likeliest first; never empty.
    pub all: Vec<&'static Quantity>,
    /// Whether they are the whole name of the first.
    pub exact: bool,
}

/// Other names of quantities, in the singular, with those that each may mean.
const EVERYDAY: &[(&str, &[&str])] = &[
    (
        "wind",
        &[
            "wind_speed",
            "true_wind_speed",
            "apparent_wind_speed",
            "wind_gust",
            "wind_direction",
            "wind_force",
        ],
    ),
    ("force", &["wind_force"]),
    ("beaufort", &["wind_force"]),
    ("aws", &["apparent_wind_speed"]),
    ("tws", &["true_wind_speed"]),
    ("awa", &["apparent_wind_angle"]),
    ("twa", &["true_wind_angle"]),
    ("speed", &["boat_speed", "speed_over_ground"]),
    ("stw", &["boat_speed"]),
    ("sog", &["speed_over_ground"]),
    ("cog", &["course_over_ground"]),
    ("course", &["heading", "course_over_ground"]),
    ("sea", &["wave_height", "sea_temperature"]),
    ("swell", &["wave_height"]),
    ("barometer", &["pressure"]),
    ("baro", &["pressure"]),
    ("glass", &["pressure"]),
    ("damp", &["relative_humidity"]),
    ("tension", &["rig_tension", "line_load", "gauge_reading"]),
    ("rig", &["rig_tension", "line_load"]),
    ("load", &["line_load"]),
    ("battery", &["voltage", "state_of_charge", "charge"]),
    ("bank", &["voltage", "state_of_charge", "charge"]),
    ("volt", &["voltage"]),
    ("amp", &["current"]),
    ("ampere", &["current"]),
    ("draw", &["current", "power"]),
    ("watt", &["power"]),
    ("soc", &["state_of_charge"]),
    ("ah", &["charge"]),
    ("wh", &["energy"]),
    ("fuel", &["fuel_volume", "fuel_rate"]),
    ("diesel", &["fuel_volume", "fuel_rate"]),
    ("paraffin", &["fuel_volume"]),
    ("burn", &["fuel_rate"]),
    ("consumption", &["fuel_rate"]),
    ("water", &["water_volume", "water_depth", "sea_temperature"]),
    ("sounding", &["water_depth"]),
    ("coolant", &["engine_temperature"]),
    ("engine water", &["engine_temperature"]),
    ("rev", &["engine_speed"]),
    ("rpm", &["engine_speed"]),
    ("oil", &["oil_pressure"]),
    (
        "temperature",
        &["cabin_temperature", "air_temperature", "sea_temperature", "engine_temperature", "temperature"],
    ),
    ("weight", &["mass"]),
    ("time", &["duration"]),
    ("co", &["co_level"]),
    ("carbon monoxide", &["co_level"]),
];

/// Words in short.
const SHORT: &[(&str, &str)] =
    &[("temp", "temperature"), ("press", "pressure"), ("eng", "engine"), ("hr", "hour"), ("hrs", "hour")];

/// What words name, with spaces, hyphens or underscores between them; `None` where they name no quantity.
pub fn meant(words: &str) -> Option<Meant> {
    let asked = singular(words);
    let quantities = &table().quantities;
    let written = words.trim().to_lowercase().replace([' ', '-'], "_");
    let exact = quantities.iter().find(|q| q.name == written);
    let exact =
        exact.or_else(|| quantities.iter().find(|q| singular(&q.name) == asked && asked != "temperature"));
    let named = |name: &&str| quantities.iter().find(|quantity| quantity.name == *name);
    let mut all: Vec<&Quantity> = exact.into_iter().collect();
    if let Some((_, names)) = EVERYDAY.iter().find(|(word, _)| *word == asked) {
        all.extend(
            names.iter().filter_map(named).filter(|quantity| exact.is_none_or(|e| e.name != quantity.name)),
        );
    } else if exact.is_none() && !asked.is_empty() {
        let among = |quantity: &&Quantity| {
            let name = singular(&quantity.name);
            asked.split(' ').all(|word| name.split(' ').any(|part| part == word))
        };
        all.extend(quantities.iter().filter(among));
    }
    (!all.is_empty()).then_some(Meant { all, exact: exact.is_some() })
}

/// The quantity of a name. Errors: there is none, with the nearest; there are several.
pub fn quantity(words: &str) -> Result<&'static Quantity, Error> {
    let words = words.trim();
    match meant(words) {
        Some(Meant { all, exact }) if exact || all.len() == 1 => Ok(all[0]),
        Some(Meant { all, .. }) => {
            let names: Vec<&str> = all.iter().map(|quantity| quantity.name.as_str()).collect();
            Err(Error::wrong_use(format!("\"{words}\" could be any of {}", names.join(", ")))
                .hint("name one of them"))
        }
        None => Err(unknown(words)),
    }
}

/// The names of all quantities that words may mean. Errors: there is none, with the nearest.
pub fn any(words: &str) -> Result<Vec<String>, Error> {
    let Meant { all, exact } = meant(words).ok_or_else(|| unknown(words.trim()))?;
    let count = if exact { 1 } else { all.len() };
    Ok(all.iter().take(count).map(|quantity| quantity.name.clone()).collect())
}

/// That no quantity is called so, with the nearest.
pub fn unknown(words: &str) -> Error {
    let error = Error::wrong_use(format!("no quantity is called \"{words}\""));
    let name = singular(words).replace(' ', "_");
    match did_you_mean(&name, table().quantities.iter().map(|quantity| quantity.name.as_str())) {
        Some(meant) => error.hint(format!("did you mean {meant}?")),
        None => error.hint("`leadsman trend` lists those that the home has readings of"),
    }
}

/// Words in lower case, in the singular and in full, with a space between them.
fn singular(words: &str) -> String {
    let words = words.to_lowercase().replace(['_', '-'], " ");
    let one = |word: &str| {
        let word = match word.strip_suffix("ies") {
            Some(stem) => format!("{stem}y"),
            None if word.ends_with("ss") || word.len() < 4 => word.to_owned(),
            None => word.strip_suffix('s').unwrap_or(word).to_owned(),
        };
        SHORT.iter().find(|(short, _)| *short == word).map_or(word, |(_, whole)| (*whole).to_owned())
    };
    words.split_whitespace().map(one).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_found_as_they_are_said() {
        assert_eq!(quantity("Rig tension").expect("one").unit, "%");
        for (said, name) in [
            ("boat-speed", "boat_speed"),
            ("voltages", "voltage"),
            ("oil pressures", "oil_pressure"),
            ("engine hours", "engine_hours"),
            ("cabin temp", "cabin_temperature"),
            ("amps", "current"),
            ("soc", "state_of_charge"),
            ("barometer", "pressure"),
            ("coolant", "engine_temperature"),
            ("gusts", "wind_gust"),
        ] {
            assert_eq!(quantity(said).map(|q| q.name.as_str()).map_err(|e| e.message), Ok(name), "{said}");
        }
        assert_eq!(
            quantity("boat_sped").expect_err("none").hint.as_deref(),
            Some("did you mean boat_speed?")
        );
        assert!(quantity("zzz").expect_err("none").hint.expect("a way").contains("leadsman trend"));
        assert!(quantity("batteries").expect_err("several").message.contains("voltage, state_of_charge"));
    }

    #[test]
    fn the_everyday_names_are_of_quantities() {
        for (word, names) in EVERYDAY {
            assert_eq!(singular(word), *word, "it is looked for in the singular");
            for name in *names {
                assert!(table().quantities.iter().any(|quantity| quantity.name == *name), "{word}: {name}");
            }
        }
    }
}
