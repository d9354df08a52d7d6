//! Whose reading it is: the gear that a number is about.
//!
//! Weather, sea and the boat's own motion belong to no gear. For the rest, gear named in the same thought in front of the
//! number comes first, the nearest winning; then gear named right behind it; then what the talk is about. A quantity takes
//! only such gear as can have it, so that amperes said while talking of the anchor light's mast are not the mast's.

use std::ops::Range;

use crate::found::{Reading, Reason, Stance, UtteranceKind};
use crate::gear::{Mention, without_side};
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::Thought;

/// How far behind a number, in tokens, its gear may be named: "1.3 amps for the heater".
const BEHIND: usize = 6;

/// Farthest that a shroud with its side may be named in front of a band of its own, in tokens.
const ITS_OWN: usize = 8;

/// What gear a quantity can be of.
enum Takes {
    /// None: weather, sea, the boat herself.
    Nothing,
    /// Whatever the talk is about.
    Any,
    /// Gear of these groups or names, and what it is of where none of them is named.
    Of { groups: &'static [&'static str], names: &'static [&'static str], otherwise: Option<&'static str> },
}

fn takes(quantity: &str) -> Takes {
    let of = |groups, names, otherwise| Takes::Of { groups, names, otherwise };
    match quantity {
        "engine_speed" | "engine_hours" | "engine_temperature" | "oil_pressure" => {
            of(&[], &["engine", "outboard", "generator"], Some("engine"))
        }
        "rig_tension" => of(&["rig"], &[], None),
        "gauge_reading" => of(&["rig"], &[], None),
        "fuel_rate" | "fuel_volume" => of(
            &["fuel"],
            &["heater", "day tank", "engine", "wood stove", "stove", "generator", "outboard", "engine oil"],
            Some("fuel"),
        ),
        "water_volume" => of(&["water", "watertight", "overboard", "abandon"], &["fuel filter"], None),
        "charge" | "energy" => of(&["power"], &[], Some("house bank")),
        // Nothing but a battery is charged by per cent.
        "state_of_charge" => of(&[], &["house bank", "start battery"], Some("house bank")),
        "current" | "power" | "voltage" => of(
            &[
                "power",
                "heat",
                "lights",
                "navigation",
                "radio",
                "steering",
                "watertight",
                "galley",
                "water",
                "anchor",
                "engine",
            ],
            &["electric bilge pump"],
            None,
        ),
        "co_level" => of(&["fire_gas"], &[], Some("carbon monoxide alarm")),
        "cabin_temperature" => of(&["heat"], &[], None),
        "temperature" => of(&["power", "engine"], &["stern gland", "fridge", "windlass", "wood stove"], None),
        "boat_speed" | "speed_change" => of(&["storm"], &["emergency tiller", "jury rudder"], None),
        "pump_rate" => of(&["watertight", "water"], &["engine cooling"], None),
        "line_load" | "length" | "area" | "mass" | "duration" | "rudder_angle" => Takes::Any,
        _ => Takes::Nothing,
    }
}

/// Gear that burns fuel of its own.
const BURNERS: &[&str] = &["heater", "wood stove", "stove", "generator", "outboard"];

/// Gear that shows or carries a number rather than having it.
const SHOWS: &[&str] =
    &["tension gauge", "battery monitor", "wind instrument", "speed log", "locker", "toolbox"];

impl Takes {
    fn admits(&self, mention: &Mention) -> bool {
        let gear = mention.gear();
        let name = gear.map_or(mention.name.as_str(), |gear| gear.name.as_str());
        if SHOWS.contains(&name) {
            return false;
        }
        match self {
            Takes::Nothing => false,
            Takes::Any => true,
            Takes::Of { groups, names, .. } => {
                names.contains(&name) || gear.is_some_and(|gear| groups.contains(&gear.group.as_str()))
            }
        }
    }
}

/// Says of each reading whose it is; spans are in the decoded text.
pub fn settle(talk: &Talk<'_>, thoughts: &[Thought], readings: &mut [Reading]) {
    for reading in readings.iter_mut() {
        let takes = takes(&reading.quantity);
        if matches!(takes, Takes::Nothing) {
            continue;
        }
        let start = talk.tokens.partition_point(|token| token.span.start < reading.span.start);
        let end = talk.tokens.partition_point(|token| token.span.start < reading.span.end).max(start);
        let at = thoughts.partition_point(|thought| thought.tokens.end <= start);
        let Some(thought) = thoughts.get(at) else { continue };
        let found = near(talk, thought, &takes, start..end);
        if let Some(mention) = found {
            // "The alarm went to thirty one": what shows parts per million is the carbon monoxide alarm.
            let usual = match takes {
                Takes::Of { otherwise: Some(usual), .. } if mention.generic => Some(usual),
                _ => None,
            };
            let usual = usual.filter(|usual| usual.rsplit(' ').next() == Some(mention.name.as_str()));
            let gear = usual.unwrap_or(mention.name.as_str());
            let gear = match side_alone(talk, start..end, mention) {
                Some(side) => format!("{side} {}", without_side(gear)),
                // A band that follows on what was read is for both sides.
                None if reading.stance == Stance::Limit && mention.tokens.end + ITS_OWN < start => {
                    without_side(gear).to_owned()
                }
                None => gear.to_owned(),
            };
            reading.gear = Some(gear.clone());
            reading.because.push(Reason {
                of: "gear".to_owned(),
                what: gear,
                span: talk.span(mention.tokens.clone()),
            });
        } else if let Takes::Of { otherwise: Some(name), .. } = takes {
            reading.gear = Some(name.to_owned());
        }
    }
    lend_to_bands(talk, readings);
}

/// "14 for the port cap shroud. The rigger's letter demands 15 to 18": a band without a shroud of its own is for those that
/// were read just before, on both sides.
fn lend_to_bands(talk: &Talk<'_>, readings: &mut [Reading]) {
    /// How far in front a shroud may have been read, in bytes.
    const NEAR: usize = 250;
    let of_rig = |reading: &Reading| matches!(reading.quantity.as_str(), "rig_tension" | "gauge_reading");
    for k in 1..readings.len() {
        let (before, rest) = readings.split_at_mut(k);
        let band = &mut rest[0];
        // The rows of a table are about a shroud each.
        let row = || {
            talk.utterances.iter().any(|utterance| {
                utterance.kind == UtteranceKind::TableRow && utterance.span.range().contains(&band.span.start)
            })
        };
        if !of_rig(band) || band.gear.is_some() || band.stance != Stance::Limit || row() {
            continue;
        }
        let read = before
            .iter()
            .rev()
            .take_while(|r| r.span.end + NEAR > band.span.start)
            .find(|r| of_rig(r) && r.gear.is_some());
        if let Some(gear) = read.and_then(|r| r.gear.as_deref()) {
            band.gear = Some(without_side(gear).to_owned());
        }
    }
}

/// "14 for the port cap shroud and 17 for the starboard", "starboard reads twenty-eight": the side that a number is said
/// of, named without its shroud.
fn side_alone(talk: &Talk<'_>, number: Range<usize>, mention: &Mention) -> Option<&'static str> {
    /// How far from the number its side may stand, in tokens.
    const NEAR: usize = 4;
    if mention.gear().is_none_or(|gear| gear.group != "rig") {
        return None;
    }
    let tokens = &talk.tokens;
    let side = |i: usize| {
        let place = talk.mentions.partition_point(|m| m.tokens.end <= i);
        let named = talk.mentions.get(place).is_some_and(|m| m.tokens.contains(&i));
        let token = &tokens[i];
        match () {
            () if named => None,
            () if token.is("port") => Some("port"),
            () if token.is_any(words!["starboard", "stbd", "starbord"]) => Some("starboard"),
            () => None,
        }
    };
    let counts = |i: usize| crate::number::atom_at(tokens, i).is_some();
    // The words of a reading begin with what named it, maybe before other numbers.
    let own = number.clone().rev().find(|&i| counts(i)).unwrap_or(number.start);
    // Between the shroud and the number, where it was named in front.
    let from = if mention.tokens.end <= own { mention.tokens.end } else { 0 };
    let front = || {
        (own.saturating_sub(NEAR).max(from)..own)
            .rev()
            .take_while(|&i| tokens[i + 1].gap < Gap::Comma && !counts(i))
            .find_map(side)
    };
    // "17 for the starboard", "14 port and 13 starboard".
    let small = |i: usize| {
        tokens.get(i).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["for", "on", "to", "the"]))
    };
    let at = (number.end..number.end + 3).find(|&i| !small(i))?;
    let ends = tokens.get(at).is_some_and(|t| t.gap <= Gap::Line) && !counts(at + 1);
    ends.then(|| side(at)).flatten().or_else(front)
}

fn near<'t>(
    talk: &'t Talk<'_>,
    thought: &Thought,
    takes: &Takes,
    number: Range<usize>,
) -> Option<&'t Mention> {
    let mine = &talk.mentions[thought.mentions.clone()];
    let admitted = |mention: &&Mention| takes.admits(mention);
    let before = mine.iter().rev().filter(|mention| mention.tokens.start < number.end).find(admitted);
    let close = |mention: &&Mention| {
        mention.tokens.start >= number.end && mention.tokens.start - number.end <= BEHIND
    };
    let behind = || mine.iter().filter(close).find(admitted);
    let topic =
        || [thought.head, thought.topic].into_iter().flatten().map(|m| &talk.mentions[m]).find(admitted);
    let found = before.or_else(behind);
    // "It drank half a pint of diesel": the fuel is what is measured, the heater that the talk is about is whose it is.
    if found.is_some_and(|mention| mention.name == "fuel")
        && let Some(burner) = topic().filter(|mention| BURNERS.contains(&mention.name.as_str()))
    {
        return Some(burner);
    }
    found.or_else(topic)
}

#[cfg(test)]
mod tests {
    use crate::{Hints, read};

    fn gear(text: &str) -> Vec<(String, Option<String>)> {
        let note = read(text.as_bytes(), &Hints::default());
        note.readings.into_iter().map(|reading| (reading.quantity, reading.gear)).collect()
    }

    #[track_caller]
    fn check(text: &str, expected: &[(&str, Option<&str>)]) {
        let found = gear(text);
        let found: Vec<(&str, Option<&str>)> =
            found.iter().map(|(quantity, gear)| (quantity.as_str(), gear.as_deref())).collect();
        assert_eq!(found, expected, "{text}");
    }

    #[test]
    fn an_alarm_that_shows_parts_per_million_is_the_carbon_monoxide_alarm() {
        check("The alarm went up to 31 ppm.", &[("co_level", Some("carbon monoxide alarm"))]);
    }

    #[test]
    fn each_consumer_of_a_list_has_its_own_current() {
        check(
            "Had the lot on last night: plotter 0.9 A, tricolour 0.4 A, heater 1.3 A.",
            &[("current", Some("plotter")), ("current", Some("tricolour")), ("current", Some("heater"))],
        );
    }

    #[test]
    fn gear_right_behind_the_number_counts_too() {
        check("That is 1.3 A for the heater.", &[("current", Some("heater"))]);
    }

    #[test]
    fn both_sides_keep_their_side() {
        check(
            "Port cap shroud 17 % of breaking load, starboard cap shroud 16 % of breaking load.",
            &[("rig_tension", Some("port cap shroud")), ("rig_tension", Some("starboard cap shroud"))],
        );
    }

    #[test]
    fn a_side_may_be_named_alone() {
        check(
            "Port cap shroud 14 % and starboard 17 %.",
            &[("rig_tension", Some("port cap shroud")), ("rig_tension", Some("starboard cap shroud"))],
        );
        check(
            "14 for the port cap shroud and 17 for the starboard. The rigger's letter demands 15 to 18.",
            &[
                ("rig_tension", Some("port cap shroud")),
                ("rig_tension", Some("starboard cap shroud")),
                ("rig_tension", Some("cap shroud")),
            ],
        );
    }

    #[test]
    fn the_talk_goes_on_about_the_heater() {
        check("The heater ran all evening. It burned 0.15 litres an hour.", &[("fuel_rate", Some("heater"))]);
        check(
            "The heater ran all evening. It drank 0.3 litres of diesel.",
            &[("fuel_volume", Some("heater"))],
        );
    }

    #[test]
    fn weather_belongs_to_no_gear() {
        check(
            "Heater lit. Outside the air is 4 degrees C, true wind 22 knots.",
            &[("air_temperature", None), ("true_wind_speed", None)],
        );
    }

    #[test]
    fn the_engine_has_its_own_without_being_named() {
        check(
            "No wind all day. Motored home at 1800 rpm with the tide.",
            &[("engine_speed", Some("engine"))],
        );
    }
}
