//! Instrument logs: dumped like anything else, listed by `channels`.

use std::fmt::Write as _;

use crate::boat::{Boat, text};

/// Forty minutes of a sounder that says two depths, 0.4 m apart, and of an apparent wind; silent for half an hour.
fn log() -> String {
    let mut log = String::new();
    let mut put = |body: String| {
        let sum = body.bytes().fold(0, |sum, b| sum ^ b);
        writeln!(log, "${body}*{sum:02X}\r").expect("a string takes it");
    };
    for minute in (0..20).chain(50..70) {
        for second in [0, 20, 40] {
            let depth = 6.0 + f64::from(minute % 7);
            put(format!("GPZDA,{:02}{:02}{second:02},09,05,2026,00,00", 10 + minute / 60, minute % 60));
            put(format!("SDDPT,{:.1},0.5", depth + 0.4));
            put(format!("SDDBT,,f,{depth:.1},M,,F"));
            put("WIMWV,330,R,12.5,N,A".to_owned());
        }
    }
    log
}

#[test]
fn a_log_is_taken_and_its_channels_are_listed() {
    let boat = Boat::new();
    let file = text(&boat.write("boat.log", log()));
    boat.run(&["ingest", &file]).ends(0);
    let all = boat.run(&["channels", "--json"]).ends(0).json();
    let channels = all["channels"].as_array().expect("a list");
    let find = |quantity: &str, sender: &str| {
        let is = |c: &&serde_json::Value| c["quantity"] == quantity && c["sender"] == sender;
        channels.iter().find(is).unwrap_or_else(|| panic!("{quantity} by {sender} in {all}"))
    };
    let wind = find("apparent_wind_speed", "WIMWV");
    assert_eq!(
        (&wind["minutes"], &wind["samples"], &wind["rate_hz"]),
        (&40.into(), &120.into(), &0.05.into())
    );
    assert_eq!(wind["gaps"].as_array().map(Vec::len), Some(1));
    assert_eq!(wind["gaps"][0]["minutes"], 30);
    // The depth below the transducer by two sentences of one sounder differs by a steady amount.
    let pairs = all["calibration"].as_array().expect("a list");
    let depth = pairs.iter().find(|pair| pair["quantity"] == "water_depth").expect("the sounder's pair");
    assert!((depth["offset"].as_f64().expect("a number").abs() - 0.4).abs() < 1e-6, "{depth}");
    assert_eq!(depth["minutes"], 40);

    let told = boat.run(&["channels", "depth"]).ends(0).out;
    assert!(told.contains("Calibration") && told.contains("SDDBT"), "{told}");
    assert!(!told.contains("apparent wind"), "{told}");
    boat.run(&["channels", "voltage", "--exit-code"]).ends(1);
}

#[test]
fn a_home_without_logs_says_so() {
    let boat = Boat::new();
    let told = boat.run(&["channels"]).ends(0).out;
    assert!(told.contains("no instrument log has been dumped"), "{told}");
    boat.run(&["channels", "--exit-code"]).ends(1);
}
