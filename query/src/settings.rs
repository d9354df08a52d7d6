//! What this machine prefers: `settings.toml` in the home. Nothing here is about the boat; that is in decisions.
//!
//! ```toml
//! zone = "Pacific/Auckland"   # where notes are from that do not say
//! model = "models/base.bin"   # what listens to recordings; `leadsman voice add` writes this
//! cores = 1                   # processor cores that listening may take; all of them where it is not said
//!
//! [answers]                   # which sender answers for a quantity, where several instruments send it
//! boat_speed = "SDVHW"
//! ```

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::Path;

use chrono_tz::Tz;
use serde::Deserialize;

use crate::error::{Error, did_you_mean};

/// The name of the file in the home.
pub const FILE: &str = "settings.toml";

/// This machine's preferences.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// Time zone of notes that name none, by its name in the IANA database.
    pub zone: Option<String>,
    /// The model that listens to recordings: a path, that of a home's own starting at the home.
    pub model: Option<String>,
    /// Processor cores that listening may take.
    pub cores: Option<std::num::NonZeroUsize>,
    /// The sender that answers for a quantity of instruments, by the quantity's name.
    pub answers: BTreeMap<String, String>,
}

/// A value with where it came from, as the program says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// For instance `--zone`, `settings.toml`, `this machine`.
    pub from: String,
}

impl Settings {
    /// Reads a home's settings; a home without the file has none. Errors: unreadable, not TOML, an unknown name.
    pub fn read(home: &Path) -> Result<Self, Error> {
        let path = home.join(FILE);
        match std::fs::read_to_string(&path) {
            Ok(text) => Self::parse(&text, &path.display().to_string()),
            // A home that is no folder is said by what opens it.
            Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {
                Ok(Self::default())
            }
            Err(error) => Err(Error::wrong_use(format!("cannot read {}", path.display())).because(&error)),
        }
    }

    fn parse(text: &str, path: &str) -> Result<Self, Error> {
        toml::from_str(text).map_err(|error| {
            let line =
                error.span().map_or(1, |span| text[..span.start.min(text.len())].matches('\n').count() + 1);
            Error::wrong_use(format!("{path}:{line}: {}", error.message().replace('\n', "; "))).hint(
                "the settings that there are: zone = \"Area/City\", model = \"FILE\", cores = NUMBER, and [answers] with QUANTITY = \"SENDER\"",
            )
        })
    }
}

/// Names a model in a home's settings; the other settings and remarks stay as they are.
///
/// Errors: settings that do not read; the disk.
pub fn name_model(home: &Path, model: &str) -> Result<(), Error> {
    Settings::read(home)?;
    let path = home.join(FILE);
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
        Err(error) => return Err(Error::wrong_use(format!("cannot read {}", path.display())).because(&error)),
    };
    let mut document: toml_edit::DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| {
        Error::wrong_use(format!("cannot read {}", path.display())).because(&error)
    })?;
    document["model"] = toml_edit::value(model);
    let cannot =
        |error: &std::io::Error| Error::home(format!("cannot write {}", path.display())).because(error);
    let new = tempfile::NamedTempFile::new_in(home).map_err(|error| cannot(&error))?;
    std::fs::write(new.path(), document.to_string()).map_err(|error| cannot(&error))?;
    new.persist(&path).map(drop).map_err(|error| cannot(&error.error))
}

/// Which zone local times are read in where a note does not say: `given`, else the settings', else the machine's.
///
/// Errors: a name that the IANA database does not have.
pub fn zone(given: Option<&str>, settings: &Settings) -> Result<Sourced<Tz>, Error> {
    if let Some(name) = given {
        return Ok(Sourced { value: named_zone(name)?, from: "--zone".to_owned() });
    }
    if let Some(name) = &settings.zone {
        return Ok(Sourced { value: named_zone(name)?, from: FILE.to_owned() });
    }
    let machine = iana_time_zone::get_timezone().ok().and_then(|name| name.parse::<Tz>().ok());
    Ok(match machine {
        Some(value) => Sourced { value, from: "this machine".to_owned() },
        None => Sourced { value: Tz::UTC, from: "no zone known on this machine".to_owned() },
    })
}

fn named_zone(name: &str) -> Result<Tz, Error> {
    name.parse::<Tz>().map_err(|_| {
        let error =
            Error::wrong_use(format!("expected a time zone like \"Pacific/Auckland\", found \"{name}\""));
        let names = || chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
        // A city alone is what people type first.
        let city = names()
            .find(|n| n.rsplit('/').next().is_some_and(|c| c.eq_ignore_ascii_case(&name.replace(' ', "_"))));
        match city.or_else(|| did_you_mean(name, names())) {
            Some(meant) => error.hint(format!("did you mean \"{meant}\"?")),
            None => {
                error.hint("the names are those of the IANA database: a continent or ocean, a slash, a city")
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_says_where_it_comes_from() {
        let settings = Settings { zone: Some("Europe/Dublin".to_owned()), ..Settings::default() };
        assert_eq!(
            zone(Some("Australia/Hobart"), &settings).expect("a zone"),
            Sourced { value: Tz::Australia__Hobart, from: "--zone".to_owned() }
        );
        assert_eq!(zone(None, &settings).expect("a zone").from, "settings.toml");
    }

    #[test]
    fn naming_a_model_leaves_the_rest_as_it_is() {
        let home = tempfile::tempdir().expect("a folder");
        std::fs::write(home.path().join(FILE), "# mine\nzone = \"UTC\" # at sea\n").expect("a file");
        name_model(home.path(), "models/a.bin").expect("settings");
        name_model(home.path(), "models/b.bin").expect("settings");
        let text = std::fs::read_to_string(home.path().join(FILE)).expect("a file");
        assert_eq!(text, "# mine\nzone = \"UTC\" # at sea\nmodel = \"models/b.bin\"\n");
        assert_eq!(Settings::read(home.path()).expect("settings").model.as_deref(), Some("models/b.bin"));
    }

    #[test]
    fn wrong_zones_get_a_hint() {
        let hint =
            |name| zone(Some(name), &Settings::default()).expect_err("no such zone").hint.expect("a hint");
        assert_eq!(hint("hobart"), "did you mean \"Australia/Hobart\"?");
        assert_eq!(hint("Pacific/Aukland"), "did you mean \"Pacific/Auckland\"?");
        assert!(hint("42").contains("IANA"));
    }

    #[test]
    fn wrong_settings_name_their_line() {
        let error = Settings::parse("zone = \"UTC\"\nzoen = 1\n", "settings.toml").expect_err("unknown");
        assert!(error.message.starts_with("settings.toml:2: unknown field `zoen`"), "{}", error.message);
        assert!(Settings::parse("zone = 3", "settings.toml").is_err());
        assert_eq!(Settings::parse("", "settings.toml").expect("empty is fine"), Settings::default());
    }
}
