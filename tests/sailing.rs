//! `sailed` and `polar`: an outing summed up, and what the boat does by true wind angle and speed.

use std::fmt::Write as _;

use serde_json::Value;

use crate::boat::{Boat, text};

fn sentence(log: &mut String, body: &str) {
    let sum = body.bytes().fold(0, |sum, b| sum ^ b);
    writeln!(log, "${body}*{sum:02X}\r").expect("a string takes it");
}

/// From 09:00 UTC on 9 May 2026: ten minutes of motoring at 5 kn, then twenty minutes each at five angles in 13 kn of
/// true wind, a sentence of each kind every ten seconds, 6 A out of the battery all the time.
pub fn log() -> String {
    let legs = [(40, 5.0), (50, 6.0), (65, 6.6), (95, 7.0), (140, 6.2)];
    let mut log = String::new();
    for tick in 0..6 * 110 {
        let (h, m, s) = (9 + tick / 360, tick / 6 % 60, tick % 6 * 10);
        let leg = (tick / 6_usize).checked_sub(10).map(|minute| legs[minute / 20]);
        let (angle, knots) = leg.unwrap_or((180, 5.0));
        let rpm = if leg.is_none() { 1800 } else { 0 };
        sentence(
            &mut log,
            &format!("GPRMC,{h:02}{m:02}{s:02},A,5251.0093,N,00518.8170,E,{:.1},040.0,090526,,", knots + 0.5),
        );
        sentence(&mut log, &format!("IIVHW,41.0,T,,M,{knots:.1},N,,"));
        sentence(&mut log, &format!("WIMWV,{},T,13.0,N,A", if tick % 12 < 6 { angle } else { 360 - angle }));
        sentence(&mut log, &format!("IIRPM,E,1,{rpm}.0,,A"));
        sentence(&mut log, "IIXDR,I,-6.0,A,HOUSE,A,-14.0,D,HEEL");
    }
    log
}

fn boat() -> Boat {
    let boat = Boat::new();
    let log = text(&boat.write("boat.log", log()));
    let note = "WEBVTT\n\nNOTE Recorded 2026-05-09 11:00 +02:00\n\n00:08:00.000 --> 00:08:08.000\nWe're sailing under main and genoa.\n\n\
                01:10:30.000 --> 01:10:36.000\nThe staysail is up.\n";
    let note = text(&boat.write("2026-05-09-1100.vtt", note));
    boat.run(&["--zone", "Europe/Amsterdam", "ingest", &log, &note]).ends(0);
    boat
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("a number, found {value}"))
}

#[test]
fn an_outing_is_summed_up() {
    let boat = boat();
    let said = boat.run(&["--zone", "Europe/Amsterdam", "sailed", "--json"]).ends(0).json();
    let outings = said["outings"].as_array().expect("a list");
    assert_eq!(outings.len(), 1, "{said}");
    let outing = &outings[0];
    assert_eq!(
        (&outing["from"], &outing["until"]),
        (&"2026-05-09T11:00:00+02:00".into(), &"2026-05-09T12:50:00+02:00".into())
    );
    // 110 minutes; 5 kn for ten minutes, then the legs of twenty: (5·10 + (5 + 6 + 6.6 + 7 + 6.2)·20) / 60 nmi.
    assert_eq!((&outing["hours"], &outing["under_way_hours"]), (&1.83.into(), &1.83.into()));
    assert_eq!(number(&outing["through_water_nmi"]["nmi"]), 11.1);
    assert_eq!(number(&outing["over_ground_nmi"]["nmi"]), 12.02);
    assert_eq!(outing["through_water_nmi"]["minutes_missing"], 0);
    assert_eq!(number(&outing["heel_deg"]), 14.0);
    assert_eq!(
        (number(&outing["engines"][0]["hours"]), &outing["engines"][0]["by_meter"]),
        (0.17, &false.into())
    );
    // 6 A for 110 minutes.
    assert_eq!((number(&outing["charge"][0]["out_ah"]), number(&outing["charge"][0]["in_ah"])), (11.0, 0.0));
    let told = boat.run(&["sailed"]).ends(0).out;
    assert!(told.contains("11.1 nmi through the water") && told.contains("ran 0.17 h"), "{told}");
    assert_eq!(
        boat.run(&["--zone", "Europe/Amsterdam", "sailed", "--since", "2026-05-09", "--json"]).ends(0).json()
            ["outings"],
        said["outings"].clone()
    );
    boat.run(&["--on", "2026-05-08", "sailed", "--exit-code"]).ends(1);
}

#[test]
fn a_polar_comes_from_the_boats_own_minutes() {
    let boat = boat();
    let said = boat.run(&["polar", "--json"]).ends(0).json();
    assert_eq!((&said["minutes"], &said["left_out"]["engine"]), (&100.into(), &10.into()), "{said}");
    let cell = |of: &Value, angle: f64| {
        let cells = of["cells"].as_array().expect("a list").clone();
        cells.into_iter().find(|c| c["angle_from"] == angle && c["wind_from"] == 12.0).expect("a cell")
    };
    assert_eq!(
        (number(&cell(&said["all"], 30.0)["median_kn"]), &cell(&said["all"], 30.0)["minutes"]),
        (5.0, &20.into())
    );
    assert!(cell(&said["all"], 105.0)["median_kn"].is_null(), "a cell without minutes is empty");
    // 5.0·cos 37.5° = 3.97, 6.0·cos 52.5° = 3.65, 6.6·cos 67.5° = 2.53.
    let upwind = &said["all"]["best"][0]["upwind"];
    assert_eq!(
        (&upwind["angle_from"], number(&upwind["made_good_kn"]), &upwind["minutes"]),
        (&30.0.into(), 3.97, &20.into())
    );
    let sails: Vec<&str> = said["by_sails"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|s| s["sails"].as_str().expect("sails"))
        .collect();
    assert_eq!(sails, ["mainsail + genoa", "mainsail + genoa + staysail"]);

    let csv = boat.run(&["polar", "--csv"]).ends(0).out;
    assert!(csv.starts_with("sails,angle_from_deg,"), "{csv}");
    assert!(csv.lines().any(|line| line == ",30,45,12,16,20,5,5"), "{csv}");
    assert!(csv.lines().any(|line| line == ",105,120,12,16,0,,"), "{csv}");
    let table = boat.run(&["polar", "--by-sails"]).ends(0).out;
    assert!(table.contains("5.0/5.0 (20)") && table.contains("under mainsail + genoa"), "{table}");
    assert!(boat.run(&["polar", "--plot"]).ends(0).out.contains("a 12 to 16 kn"));
    boat.run(&["polar", "--since", "2027-01-01", "--exit-code"]).ends(1);
    assert!(boat.run(&["polar", "--wind-step", "0"]).ends(2).err.contains("expected a number from 1 to 20"));
}
