//! A quantity as a person asks for it.

use leadsman_ingest::quantity::{Quantity, table};

use crate::error::{Error, did_you_mean};

/// The quantity of a name, written with spaces, hyphens or underscores. Errors: there is none, with the nearest.
pub fn quantity(words: &str) -> Result<&'static Quantity, Error> {
    let name = words.trim().to_lowercase().replace([' ', '-'], "_");
    let all = &table().quantities;
    if let Some(quantity) = all.iter().find(|quantity| quantity.name == name) {
        return Ok(quantity);
    }
    let error = Error::wrong_use(format!("no quantity is called \"{}\"", words.trim()));
    Err(match did_you_mean(&name, all.iter().map(|quantity| quantity.name.as_str())) {
        Some(meant) => error.hint(format!("did you mean {meant}?")),
        None => {
            let names: Vec<&str> = all.iter().map(|quantity| quantity.name.as_str()).collect();
            error.hint(format!("the quantities are {}", names.join(", ")))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::quantity;

    #[test]
    fn quantities_are_found_as_they_are_said() {
        assert_eq!(quantity("Rig tension").expect("one").unit, "%");
        assert_eq!(quantity("boat-speed").expect("one").name, "boat_speed");
        assert_eq!(
            quantity("boat_sped").expect_err("none").hint.as_deref(),
            Some("did you mean boat_speed?")
        );
        assert!(quantity("zzz").expect_err("none").hint.expect("a list").contains("wind_gust"));
    }
}
