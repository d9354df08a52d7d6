//! Words and instruments beside each other: conditions as measured, numbers that the log bears out or contradicts,
//! clocks that differ, which of several instruments answers, and columns that the skipper names.

use std::fmt::Write as _;

use serde_json::Value;

use crate::boat::{Boat, text};

/// A sentence with its checksum.
fn sentence(log: &mut String, body: &str) {
    let sum = body.bytes().fold(0, |sum, b| sum ^ b);
    writeln!(log, "${body}*{sum:02X}\r").expect("a string takes it");
}

/// An hour from 09:00 UTC on 9 May 2026, a sentence of each kind every ten seconds: 4.9 kn over the ground, 5.2 kn
/// through the water, an apparent wind of 18 kn at 33° to starboard, a wind talker that sends 14.6 kn of true wind.
fn log(ahead_minutes: u32) -> String {
    let mut log = String::new();
    for tick in 0..360 {
        let at = tick * 10 + ahead_minutes * 60;
        let (h, m, s) = (9 + at / 3600, at / 60 % 60, at % 60);
        // Speeds climb by 0.05 kn a minute, so that a moment can be told from another.
        let climb = f64::from(tick / 6) * 0.05;
        sentence(
            &mut log,
            &format!("GPRMC,{h:02}{m:02}{s:02},A,5251.0093,N,00518.8170,E,{:.2},040.0,090526,,", 4.9 + climb),
        );
        sentence(&mut log, "SDVHW,41.0,T,,M,5.2,N,,");
        sentence(&mut log, "WIMWV,33,R,18.0,N,A");
        sentence(&mut log, "WIMWV,50,T,14.6,N,A");
        sentence(&mut log, "IIMWV,52,T,15.9,N,A");
    }
    log
}

/// A recording of that hour: `said` are minutes from 09:00 UTC and what was said then.
fn recording(said: &[(u32, &str)]) -> String {
    let mut note = "WEBVTT\n\nNOTE Recorded 2026-05-09 11:00 +02:00\n".to_owned();
    for (minute, words) in said {
        write!(note, "\n00:{minute:02}:05.000 --> 00:{minute:02}:12.000\n{words}\n")
            .expect("a string takes it");
    }
    note
}

fn find<'a>(list: &'a Value, key: &str, value: &str) -> &'a Value {
    let is = |entry: &&Value| entry[key] == value;
    list.as_array().expect("a list").iter().find(is).unwrap_or_else(|| panic!("{key} {value} in {list}"))
}

#[test]
fn a_number_that_the_log_contradicts_is_doubted_with_both_numbers() {
    let boat = Boat::new();
    let log = text(&boat.write("boat.log", log(0)));
    let note = text(&boat.write(
        "2026-05-09-1100.vtt",
        recording(&[
            (2, "Speed over the ground is six point three knots."),
            (4, "True wind is fifteen knots."),
            (6, "We tried the windvane and it failed to hold a course at all."),
        ]),
    ));
    let told = boat.run(&["ingest", &log, &note]).ends(0).out;
    assert!(told.contains("apparent wind angle") && told.contains("in 1 instrument log"), "{told}");

    let said = boat.run(&["preview", &note, "--json"]).ends(0).json();
    let speed = find(&said["readings"], "quantity", "speed_over_ground");
    assert_eq!(speed["instruments"]["verdict"], "contradicted");
    let doubt = speed["doubts"][0].as_str().expect("a doubt");
    assert!(doubt.contains("said 6.3 kn over the ground, the log has 5 kn"), "{doubt}");
    let wind = find(&said["readings"], "quantity", "true_wind_speed");
    assert_eq!(
        (&wind["instruments"]["verdict"], &wind["doubts"]),
        (&"corroborated".into(), &Value::Array(vec![]))
    );

    // The doubt keeps the number out of the trend, and stands among the doubts.
    let doubts = boat.run(&["doubts"]).ends(0).out;
    assert!(doubts.contains("the log has 5 kn"), "{doubts}");
    let trend = boat.run(&["trend", "speed over ground", "--json"]).ends(0).json();
    assert_eq!((&trend["count"], &trend["left_out"]), (&0.into(), &1.into()));
    let channel = find(&trend["instruments"], "sender", "GPRMC");
    assert_eq!(channel["days"][0]["day"], "2026-05-09");
    let mean = channel["days"][0]["mean"].as_f64().expect("a number");
    assert!((mean - 6.375).abs() < 0.01, "{mean}");

    // The trial's conditions as measured, in all three places.
    let measured = |of: &Value| {
        let speed = find(&of["measured"], "quantity", "boat_speed");
        assert_eq!((&speed["mean"], &speed["sender"]), (&5.2.into(), &"SDVHW".into()), "{of}");
        let wind = find(&of["measured"], "quantity", "true_wind_speed");
        assert_eq!(wind["unit"], "kn");
        // Two talkers and what was worked out: one that was sent answers, of two alike the first by name.
        assert_eq!((&wind["mean"], &wind["sender"]), (&15.9.into(), &"IIMWV".into()));
    };
    measured(&said["trials"][0]);
    let found = boat.run(&["find", "windvane", "--outcome", "fail", "--json"]).ends(0).json();
    measured(&found["hits"][0]);
    let open = boat.run(&["open", "--json"]).ends(0).json();
    measured(&open["open"][0]);
    let shown = boat.run(&["open"]).ends(0).out;
    assert!(shown.contains("measured: true wind speed 15.9 kn"), "{shown}");
    // The two wind talkers differ by a steady 1.3 kn.
    let pair = find(&open["calibration"], "quantity", "true_wind_speed");
    assert!((pair["offset"].as_f64().expect("a number").abs() - 1.3).abs() < 1e-6, "{pair}");

    // The settings name the other talker.
    boat.write("home/settings.toml", "[answers]\ntrue_wind_speed = \"WIMWV\"\n");
    let open = boat.run(&["open", "--json"]).ends(0).json();
    let wind = find(&open["open"][0]["measured"], "quantity", "true_wind_speed");
    assert_eq!((&wind["mean"], &wind["sender"]), (&14.6.into(), &"WIMWV".into()));
    boat.write("home/settings.toml", "[answers]\ntrue_wind_sped = \"WIMWV\"\n");
    assert!(boat.run(&["open"]).ends(2).err.contains("did you mean true_wind_speed?"));
}

#[test]
fn a_clock_that_differs_is_found_and_can_be_set_by_hand() {
    let said: Vec<(u32, String)> = [
        (5, "five point one"),
        (17, "five point eight"),
        (25, "six point one"),
        (41, "seven"),
        (55, "seven point six"),
    ]
    .map(|(minute, knots)| (minute, format!("Speed over the ground is {knots} knots.")))
    .into();
    let said: Vec<(u32, &str)> = said.iter().map(|(minute, words)| (*minute, words.as_str())).collect();
    let boat = Boat::new();
    let file = text(&boat.write("boat.log", log(40)));
    let note = text(&boat.write("2026-05-09-1100.vtt", recording(&said)));
    boat.run(&["ingest", &file, &note]).ends(0);
    let clocks = boat.run(&["clock", "--json"]).ends(0).json();
    let day = &clocks[0];
    assert_eq!((&day["day"], &day["compared"]), (&"2026-05-09".into(), &5.into()), "{clocks}");
    let ahead = day["difference"]["ahead_s"].as_f64().expect("a number");
    assert!((ahead - 2400.0).abs() <= 120.0, "{ahead}");
    assert_eq!(day["difference"]["by_hand"], false);
    assert!(boat.run(&["clock"]).ends(0).out.contains("ahead of the notes'"));
    assert_eq!(boat.run(&["doubts"]).ends(0).out.trim(), "no doubts");

    // By hand: an hour and a half, with which nothing fits.
    let set = boat.run(&["clock", "--ahead", "5400", "--since", "2026-05-09", "--json"]).ends(0).json();
    assert_eq!(
        (&set[0]["difference"]["ahead_s"], &set[0]["difference"]["by_hand"]),
        (&5400.0.into(), &true.into())
    );
    assert!(boat.run(&["clock", "--ahead", "soon"]).ends(2).err.contains("expected seconds"));
}

#[test]
fn a_column_is_named_once() {
    let boat = Boat::new();
    let table = "Time;Sensor 7;Sensor 8\n2026-05-09T10:00:00Z;50,0;1\n2026-05-09T10:01:00Z;50,0;1\n";
    let file = text(&boat.write("engine-bay.csv", table));
    boat.run(&["ingest", &file]).ends(0);
    boat.run(&["channels", "--exit-code"]).ends(1);
    let wrong = boat.run(&["column", "Sensor 7", "sea_temperature", "--unit", "V"]).ends(2);
    assert!(wrong.err.contains("sea temperature is not measured in \"V\""), "{}", wrong.err);
    assert!(
        boat.run(&["column", "Sensor 7", "sea_temprature"])
            .ends(2)
            .err
            .contains("did you mean sea_temperature?")
    );
    boat.run(&["column", "sensor 7", "sea temperature", "--unit", "F", "--instance", "intake"]).ends(0);
    let channels = boat.run(&["channels", "--json"]).ends(0).json();
    let sea = find(&channels["channels"], "quantity", "sea_temperature");
    assert_eq!((&sea["instance"], &sea["samples"]), (&"intake".into(), &2.into()));
    let trend = boat.run(&["trend", "sea_temperature", "--json"]).ends(0).json();
    assert_eq!(trend["instruments"][0]["days"][0]["mean"], 10.0);
    boat.run(&["column", "Sensor 7", "none"]).ends(0);
    boat.run(&["channels", "--exit-code"]).ends(1);
}

/// A reading that the log contradicts does not decide what the passage is short of.
#[test]
fn what_is_short_does_not_hang_on_a_doubt() {
    let boat = Boat::new();
    let note = recording(&[
        (2, "The heater kept the cabin at 16 degrees with 6 degrees outside, burning 0.2 litres an hour."),
        (3, "The fuel tank holds 60 litres."),
    ]);
    boat.run(&["ingest", &text(&boat.write("2026-05-09-1100.vtt", note))]).ends(0);
    let passage =
        ["passage", "--departure", "2026-06-01", "--days", "20", "--crew", "2", "--coldest-air", "-12"];
    boat.run(&passage).ends(0);
    let short = || boat.run(&["--on", "2026-05-10", "open", "--json"]).ends(0).json()["short"].clone();
    // 28 K and 0.2 L/h for every 10 K, day and night: 13.4 L a day and more.
    assert_eq!(short()[0]["what"], "diesel", "{}", short());
    let delta = |minute: u32| {
        format!(
            "{{\"updates\":[{{\"timestamp\":\"2026-05-09T09:{minute:02}:00Z\",\"$source\":\"air\",\"values\":\
             [{{\"path\":\"environment.outside.temperature\",\"value\":285.15}}]}}]}}\n"
        )
    };
    let log: String = (0..10).map(delta).collect();
    boat.run(&["ingest", &text(&boat.write("air.jsonl", log))]).ends(0);
    assert!(boat.run(&["doubts"]).ends(0).out.contains("said 6 °C, the log has 12 °C"));
    assert_eq!(short(), Value::Array(Vec::new()));
}

/// The minute's samples are read again from the log, as they were sent.
#[test]
fn a_short_window_is_shown_at_full_resolution() {
    let boat = Boat::new();
    boat.run(&["ingest", &text(&boat.write("boat.log", log(0)))]).ends(0);
    let ask = ["channels", "speed over ground", "--at", "2026-05-09T09:02Z", "--minutes", "2"];
    let found = boat.run(&[&ask[..], &["--json"]].concat()).ends(0).json();
    assert_eq!(
        (&found["from"], &found["until"]),
        (&"2026-05-09T09:02:00Z".into(), &"2026-05-09T09:04:00Z".into())
    );
    let channel = find(&found["channels"], "sender", "GPRMC");
    assert_eq!((&channel["unit"], &channel["cut_off"]), (&"kn".into(), &false.into()));
    let samples = channel["samples"].as_array().expect("a list");
    assert_eq!(samples.len(), 12);
    let seen: Vec<_> = [0, 5, 6].map(|n| (samples[n]["at"].clone(), samples[n]["value"].clone())).into();
    let want = [
        ("2026-05-09T09:02:00.000Z", 5.0),
        ("2026-05-09T09:02:50.000Z", 5.0),
        ("2026-05-09T09:03:00.000Z", 5.05),
    ];
    assert_eq!(seen, want.map(|(at, value)| (at.into(), value.into())));
    let shown = boat.run(&ask).ends(0).out;
    assert!(shown.contains("09:02:50.000  5 kn") && shown.contains("09:03:00.000  5.05 kn"), "{shown}");
    // A time in the boat's zone; one without samples; one that is none; one without a quantity.
    let local =
        ["--zone", "Europe/Amsterdam", "channels", "boat speed", "--at", "2026-05-09 11:59", "--json"];
    let found = boat.run(&local).ends(0).json();
    assert_eq!(found["channels"][0]["samples"][0]["at"], "2026-05-09T11:59:00.000+02:00");
    let none = ["channels", "boat speed", "--at", "2026-05-09 23:00", "--exit-code"];
    assert!(boat.run(&none).ends(1).out.contains("no samples"));
    let wrong = boat.run(&["channels", "boat speed", "--at", "noonish"]).ends(2).err;
    assert!(wrong.contains("--at: expected a time"), "{wrong}");
    boat.run(&["channels", "--at", "2026-05-09 23:00"]).ends(2);
}

#[test]
fn a_zone_that_was_given_is_no_news() {
    let boat = Boat::new();
    let table = "Time,AWS (kn),Battery V\n2026-05-09 10:00:00,12.5,12.9\n2026-05-09 10:01:00,12.6,12.9\n";
    let file = text(&boat.write("log.csv", table));
    let told = boat.run(&["--zone", "Europe/Amsterdam", "ingest", &file]).ends(0).out;
    assert!(told.contains("apparent wind speed") && !told.contains("offset"), "{told}");
    let channels = boat.run(&["--zone", "Europe/Amsterdam", "channels", "--json"]).ends(0).json();
    assert_eq!(find(&channels["channels"], "quantity", "voltage")["first"], "2026-05-09T10:00:00+02:00");
    // Where only the machine's zone is known, that is told.
    let other = text(&boat.write("other.csv", table.replace("12.5", "12.7")));
    assert!(boat.run(&["ingest", &other]).ends(0).out.contains("no offset from UTC"));
}

#[test]
fn the_envelope_takes_what_was_measured_before_what_was_said() {
    let boat = Boat::new();
    let log = text(&boat.write("boat.log", log(0)));
    let said =
        [(20, "Tried the storm jib in about twenty five knots of true wind and the storm jib is a pass.")];
    let note = text(&boat.write("2026-05-09-1100.vtt", recording(&said)));
    boat.run(&["ingest", &note]).ends(0);
    let envelope = || boat.run(&["envelope", "storm jib", "--json"]).ends(0).json();
    assert_eq!(envelope()["passed"][0]["reach"]["wind"], 25.0, "{}", envelope());
    boat.run(&["ingest", &log]).ends(0);
    let passed = &envelope()["passed"][0];
    // What one talker sends as true wind answers: 14.6 kn, and not the 25 kn that were said.
    assert!(passed["reach"]["wind"].as_f64().expect("a wind") < 16.0, "{passed}");
    assert!(passed["measured"].as_array().expect("a list").contains(&"wind".into()), "{passed}");
    let shown = boat.run(&["envelope", "storm jib"]).ends(0).out;
    assert!(shown.contains("kn measured"), "{shown}");
    boat.run(&["passage", "--strongest-wind", "24"]).ends(0);
    let gaps = boat.run(&["open", "--json"]).ends(0).json()["gaps"].to_string();
    assert!(gaps.contains("storm jib") && gaps.contains("not proved above 1"), "{gaps}");
}

/// The mean of a quantity over the one day that a home has of it, and who gives it.
fn day_mean(boat: &Boat, quantity: &str) -> (f64, String) {
    let trend = boat.run(&["trend", quantity, "--json"]).ends(0).json();
    let channel = &trend["instruments"][0];
    let sender = format!("{} {}", channel["sender"].as_str().unwrap_or_default(), channel["instance"]);
    (channel["days"][0]["mean"].as_f64().unwrap_or_else(|| panic!("a day in {trend}")), sender)
}

/// Lines of a log that hold any of some sentences.
fn only(log: &str, sentences: &[&str]) -> String {
    let lines = log.lines().filter(|line| sentences.iter().any(|kind| line.contains(kind)));
    lines.flat_map(|line| [line, "\r\n"]).collect()
}

#[test]
fn true_wind_is_worked_out_from_two_logs() {
    let boat = Boat::new();
    let whole = log(0);
    let felt: String = only(&whole, &["RMC", "MWV,33,R"]);
    let water: String = only(&whole, &["RMC", "VHW"]);
    boat.run(&["ingest", &text(&boat.write("wind.log", felt))]).ends(0);
    let trend = boat.run(&["trend", "true_wind_speed", "--json"]).ends(0).json();
    assert_eq!(trend["instruments"], Value::Array(Vec::new()), "no speed through the water yet");
    boat.run(&["ingest", &text(&boat.write("water.log", water))]).ends(0);
    // Vectors by hand: 18 kn at 33° less 5.2 kn ahead is 9.896 ahead and 9.803 abeam.
    let (speed, sender) = day_mean(&boat, "true_wind_speed");
    assert!((speed - 13.929).abs() < 0.01, "{speed}");
    assert_eq!(sender, "computed \"by the minute\"");
    assert!((day_mean(&boat, "true_wind_angle").0 - 44.73).abs() < 0.05);
    assert!((day_mean(&boat, "wind_direction").0 - 85.73).abs() < 0.05, "heading 41° and the angle");
    // The polar and a trial's conditions have it too.
    let polar = boat.run(&["polar", "--json"]).ends(0).json();
    assert_eq!(polar["minutes"], 60, "{polar}");
    let note = recording(&[(6, "We tried the windvane and it failed to hold a course at all.")]);
    boat.run(&["ingest", &text(&boat.write("2026-05-09-1100.vtt", note))]).ends(0);
    let open = boat.run(&["open", "--json"]).ends(0).json();
    let measured = &open["open"][0]["measured"];
    assert!(
        find(measured, "quantity", "true_wind_speed")["mean"]
            .as_f64()
            .is_some_and(|m| (m - 13.929).abs() < 0.01)
    );
    // Where one log has all of it, that answers.
    boat.run(&["ingest", &text(&boat.write("whole.log", whole))]).ends(0);
    let (_, sender) = day_mean(&boat, "true_wind_speed");
    assert!(!sender.starts_with("computed"), "{sender}");
}

/// The wind of a public log of a real boat, cut into two logs, against what the boat itself sent (REFERENCES 10; the
/// bounds are those that the log as a whole is held to).
#[test]
fn a_real_boat_s_true_wind_comes_out_of_her_log_cut_in_two() {
    let path =
        concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/outside/nmea0183/sailing-boat-ijsselmeer.log");
    let Ok(log) = std::fs::read(path) else {
        println!("skipped: {path} is not there");
        return;
    };
    let log = String::from_utf8_lossy(&log);
    let own = Boat::new();
    own.run(&["ingest", &text(&own.write("own.log", only(&log, &["RMC", "ZDA", "MWV"])))]).ends(0);
    let cut = Boat::new();
    let felt: String = log
        .lines()
        .filter(|line| !(line.contains("MWV") && line.contains(",T,")))
        .map(|l| format!("{l}\r\n"))
        .collect();
    cut.run(&["ingest", &text(&cut.write("wind.log", only(&felt, &["RMC", "ZDA", "MWV"])))]).ends(0);
    cut.run(&["ingest", &text(&cut.write("water.log", only(&log, &["RMC", "ZDA", "VHW"])))]).ends(0);
    let (mean, sender) = day_mean(&cut, "true_wind_speed");
    assert!(sender.starts_with("computed"), "{sender}");
    let sent = day_mean(&own, "true_wind_speed").0;
    assert!((mean - sent).abs() < 0.2, "{mean} worked out, {sent} sent");
    let (mean, sent) = (day_mean(&cut, "true_wind_angle").0, day_mean(&own, "true_wind_angle").0);
    assert!((mean - sent).abs() < 1.0, "{mean} worked out, {sent} sent");
}
