//! Sea phrases that general number libraries miss: what is said, and the reading that it is.
//!
//! Common practice, no source; factors as in `lexicon/units.toml`.

use leadsman_ingest::{Hints, read};

/// A phrase, and its readings as `quantity low..high` in canonical units, parted by semicolons.
const PHRASES: &[(&str, &str)] = &[
    ("Wind twenty two knots", "wind_speed 22"),
    ("28 to 32 kts of wind", "wind_speed 28..32"),
    ("barometer 1008 millibars", "pressure 1008"),
    ("the battery is at 12.6 volts", "voltage 12.6"),
    ("the heater takes 1.4 amps", "current 1.4"),
    ("oil pressure thirty psi", "oil_pressure 2.068"),
    ("wind five zero knots", "wind_speed 50"),
    ("used two and a half litres of diesel", "fuel_volume 2.5"),
    ("nine nine five hectopascals", "pressure 995"),
    ("baro one zero one two", "pressure 1012"),
    ("battery twelve eight", "voltage 12.8"),
    ("house bank 12V8", "voltage 12.8"),
    ("engine at one eighty five degrees fahrenheit", "engine_temperature 85"),
    ("heel nineteen, speed six three", "heel 19; boat_speed 6.3"),
    ("AWA 60, AWS 12, SOG 5.4", "apparent_wind_angle 60; apparent_wind_speed 12; speed_over_ground 5.4"),
    ("SW 4", "wind_force 4; wind_direction 225"),
    ("N 10-15", "wind_direction 0; wind_speed 10..15"),
    ("nor'west five", "wind_force 5; wind_direction 315"),
    ("wind north north east 18 knots", "wind_direction 22.5; wind_speed 18"),
    ("a knot and a half of tide against us", "stream_speed 1.5"),
    ("half a knot of current with us", "stream_speed 0.5"),
    ("doing five four five five", "boat_speed 5.4..5.5"),
    ("wind fourteen, no, fifteen knots", "wind_speed 15"),
    ("wind fourteen fifteen knots", "wind_speed 14..15"),
    ("1618 knots true", "true_wind_speed 16..18"),
    ("boat speed two point for", "boat_speed 2.4"),
    ("boat speed was about for knots", "boat_speed 4"),
    ("anchored in twelve metres", "water_depth 12"),
    ("the depth is four fathoms", "water_depth 7.315"),
    ("let out forty metres of chain", "length 40"),
    ("minus four outside", "air_temperature -4"),
    ("cabin sixteen, outside four", "cabin_temperature 16; air_temperature 4"),
    ("water temperature ten and a half", "sea_temperature 10.5"),
    ("seas a metre and a half", "wave_height 1.5"),
    ("seas six to eight feet", "wave_height 1.829..2.438"),
    ("force six from the west", "wind_force 6; wind_direction 270"),
    ("gusting thirty five", "wind_gust 35"),
    ("forty two in the gusts", "wind_gust 42"),
    ("port cap shroud eighteen percent", "rig_tension 18"),
    ("humidity 88 %", "relative_humidity 88"),
    ("the bank is at seventy one percent", "state_of_charge 71"),
    ("at 1800 revs", "engine_speed 1800"),
    ("engine hours 3418.6", "engine_hours 3418.6"),
    ("CO 38 ppm", "co_level 38"),
    ("a third of a litre an hour for the heater", "fuel_rate 0.3333"),
    ("the pump did 38 L/min", "pump_rate 38"),
    ("four minutes ten by the watch", "duration 250"),
    ("17 h 25 min", "duration 62700"),
    ("three quarters of an hour", "duration 2700"),
    ("the load cell showed 640 lb", "line_load 2.847"),
    ("breaking load five point two tonnes", "line_load 50.99"),
    ("the drogue line has 55 kN breaking strength", "line_load 55"),
    ("the tether is 2'6\" long", "length 0.762"),
    ("storm jib of nine square metres", "area 9"),
    ("glass 29.92 inches", "pressure 1013.2"),
    ("twenty one miles on the log", "distance 21"),
    ("steering 250", "heading 250"),
    ("COG 112", "course_over_ground 112"),
    ("55 Ah used", "charge 55"),
    ("140 watts from the panels", "power 140"),
    ("went from 5.1 down to 4.2 knots", "boat_speed 5.1; boat_speed 4.2"),
    ("twelve comma six volts", "voltage 12.6"),
    ("wind 12 metres per second", "wind_speed 23.33"),
    ("three quarters of a litre in the bilge", "water_volume 0.75"),
];

fn shown(text: &str) -> String {
    let note = format!("Sunday 3 May 2026, 10:00\n\n{text}.\n");
    let readings = read(note.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() }).readings;
    let figure = |v: f64| {
        let rounded =
            format!("{:.*}", (4 - v.abs().max(1e-9).log10().floor() as i32 - 1).clamp(0, 4) as usize, v);
        if rounded.contains('.') {
            rounded.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            rounded
        }
    };
    let one = |r: &leadsman_ingest::Reading| match (r.low, r.high) {
        (Some(low), Some(high)) if low == high => format!("{} {}", r.quantity, figure(low)),
        (low, high) => format!(
            "{} {}..{}",
            r.quantity,
            low.map(figure).unwrap_or_default(),
            high.map(figure).unwrap_or_default()
        ),
    };
    readings.iter().map(one).collect::<Vec<_>>().join("; ")
}

#[test]
fn sea_phrases_read_as_a_sailor_means_them() {
    let close = |found: &str, expected: &str| {
        let parts =
            |s: &str| s.split([' ', ';']).filter(|p| !p.is_empty()).map(str::to_owned).collect::<Vec<_>>();
        let (found, expected) = (parts(found), parts(expected));
        let figures = |s: &str| s.split("..").map(|v| v.parse::<f64>().ok()).collect::<Option<Vec<_>>>();
        found.len() == expected.len()
            && found.iter().zip(&expected).all(|(f, e)| match (figures(f), figures(e)) {
                (Some(f), Some(e)) => {
                    f.len() == e.len()
                        && f.iter().zip(&e).all(|(a, b)| (a - b).abs() <= 0.002 * b.abs().max(0.01))
                }
                _ => f == e,
            })
    };
    let wrong: Vec<String> = PHRASES
        .iter()
        .map(|(phrase, expected)| (phrase, expected, shown(phrase)))
        .filter(|(_, expected, found)| !close(found, expected))
        .map(|(phrase, expected, found)| format!("{phrase:?}: expected {expected}, found {found}"))
        .collect();
    assert!(wrong.is_empty(), "{} of {} phrases:\n{}", wrong.len(), PHRASES.len(), wrong.join("\n"));
}
