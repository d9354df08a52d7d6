//! Values of the specification's samples, deltas that are none, hostile input.

use proptest::prelude::*;

use crate::Hints;
use crate::instrument::stamp::show;
use crate::instrument::{Kind, Parsed, Refusal, Sample, parse};

fn read(log: impl AsRef<[u8]>) -> (Parsed, Vec<Sample>) {
    let mut samples = Vec::new();
    let parsed = parse(Kind::SignalK, log.as_ref(), &Hints::default(), &mut |sample| samples.push(sample));
    assert!(parsed.account.adds_up(), "{:?}", parsed.account);
    (parsed, samples)
}

fn named(parsed: &Parsed, samples: &[Sample]) -> Vec<(String, f64)> {
    samples
        .iter()
        .map(|s| {
            let c = &parsed.channels[s.channel.index()];
            let name = [c.quantity.name(), c.reference.name(), &c.instance].join("/");
            (name.trim_end_matches('/').to_owned(), s.value)
        })
        .collect()
}

fn delta(values: &[(&str, &str)]) -> String {
    let values: Vec<_> =
        values.iter().map(|(path, value)| format!(r#"{{"path":"{path}","value":{value}}}"#)).collect();
    format!(
        r#"{{"context":"vessels.self","updates":[{{"$source":"n2k.115","timestamp":"2014-08-15T16:00:00.081Z","values":[{}]}}]}}"#,
        values.join(",")
    )
}

/// Values: Signal K specification v1.8.2 `samples/delta/`; beside them what they are in the units used here.
#[test]
fn values_of_the_specifications_samples() {
    for (path, sent, name, want) in [
        ("propulsion.0.revolutions", "16.341667", "engine_speed//0", 980.5),
        ("propulsion.0.boostPressure", "45500.0", "fluid_pressure//0 boost", 0.455),
        ("navigation.speedOverGround", "3.85", "speed_over_ground/ground", 7.4838),
        ("navigation.courseOverGroundTrue", "2.971", "course_over_ground/true", 170.226),
        ("environment.water.temperature", "288.35", "sea_temperature", 15.2),
    ] {
        let (parsed, samples) = read(delta(&[(path, sent)]));
        let found = named(&parsed, &samples);
        assert_eq!(found[0].0, name);
        assert!((found[0].1 - want).abs() <= want * 1e-5, "{path}: {}", found[0].1);
        assert_eq!(parsed.channels[0].source, "n2k.115");
        assert_eq!(samples[0].at.map(|at| show(at.micros)).as_deref(), Some("2014-08-15T16:00:00Z"));
    }
}

#[test]
fn wind_depth_and_objects() {
    let (parsed, samples) = read(delta(&[
        ("environment.wind.angleApparent", "-0.418879"),
        ("environment.wind.speedApparent", "6.8987"),
        ("environment.depth.transducerToKeel", "1.2"),
        ("navigation.position", r#"{"latitude":52.85,"longitude":5.31,"altitude":-4}"#),
        ("navigation.attitude", r#"{"roll":0.1309,"pitch":null,"yaw":1}"#),
        ("electrical.batteries.house.capacity.stateOfCharge", "0.82"),
        ("tanks.fuel.0.currentLevel", "0.5"),
        ("notifications.mob", r#"{"state":"normal"}"#),
        ("environment.wind.speedTrue", "null"),
    ]));
    let want = [
        ("apparent_wind_angle", -24.0),
        ("apparent_wind_speed", 13.41),
        ("transducer_offset/keel", -1.2),
        ("latitude", 52.85),
        ("longitude", 5.31),
        ("altitude", -4.0),
        ("heel", 7.5),
        ("state_of_charge//house", 82.0),
        ("fuel_level//0", 50.0),
    ];
    let found = named(&parsed, &samples);
    assert_eq!(found.iter().map(|f| &f.0).collect::<Vec<_>>(), want.iter().map(|w| w.0).collect::<Vec<_>>());
    for (found, want) in found.iter().zip(want) {
        assert!((found.1 - want.1).abs() < 1e-3, "{}: {}", found.0, found.1);
    }
}

/// `samples/delta/0183-RMC-export-delta.json` of the specification has a course of 245.69, which is degrees.
#[test]
fn degrees_sent_for_radians_are_refused_and_said() {
    let line =
        delta(&[("navigation.courseOverGroundTrue", "245.69"), ("navigation.speedOverGround", "12.6")]);
    let (parsed, samples) = read(format!("{line}\n{line}\n"));
    assert_eq!(samples.len(), 2, "the speeds");
    assert_eq!(parsed.account.refused_for(Refusal::UnknownUnit), 2);
    assert_eq!(parsed.notices.len(), 1);
    assert!(parsed.notices[0].message.contains("245.69"), "{:?}", parsed.notices);
}

/// The invalid kinds of the specification's `test/data/delta-invalid/`: value without path, path without value, an
/// empty value, an extra property, `get` and `put` beside updates.
#[test]
fn what_is_no_delta() {
    let bad = [
        r#"{"updates":[{"values":[{"value":1}]}]}"#,
        r#"{"updates":[{"values":[{"path":"navigation.log"}]}]}"#,
        r#"{"updates":[{"values":[{}]}]}"#,
        r#"{"context":"bar","updates":[],"extra":1}"#,
        r#"{"context":"bar","updates":[],"get":[{"path":"a.b.c"}]}"#,
        r#"{"context":"bar","updates":[],"put":[{"path":"a.b.c","value":1}]}"#,
        r#"{"updates":[{"values":[],"extra":1}]}"#,
        r#"{}"#,
    ];
    let (parsed, samples) = read(bad.join("\n"));
    assert!(samples.is_empty());
    assert_eq!(parsed.account.refused_for(Refusal::Malformed), bad.len() as u64, "{:?}", parsed.account);
    let (parsed, _) = read("not json\n{\"updates\":[{\n[1,2]\n\n");
    assert_eq!(parsed.account.refused_for(Refusal::Junk), 2);
    assert_eq!(parsed.account.refused_for(Refusal::Truncated), 1);
    assert_eq!(parsed.account.blank, 1);
}

/// The valid kinds: no context, no source, no timestamp; null, true and objects as values; meta beside values.
#[test]
fn lenient_kinds() {
    let (parsed, samples) = read(
        r#"{"updates":[{"values":[{"path":"navigation.speedThroughWater","value":3}]}]}
{"updates":[{"source":{"label":"","type":"NMEA0183","sentence":"GLL","talker":"II"},"values":[{"path":"navigation.speedThroughWater","value":3}]}]}
{"context":"bar","updates":[]}
{"updates":[{"meta":[{"path":"a","value":{"units":"m"}}],"values":[{"path":"a.b","value":true}]}]}
"#,
    );
    assert_eq!(samples.len(), 2);
    assert!(samples.iter().all(|s| s.at.is_none()));
    assert_eq!(parsed.account.used["delta"], 2);
    assert_eq!(parsed.account.ignored["paths"], 2);
    assert_eq!(parsed.channels[1].source, "II");
}

#[test]
fn other_boats_are_left_out() {
    let of = |context: &str, path: &str| {
        format!(r#"{{"context":"{context}","updates":[{{"values":[{{"path":"{path}","value":3}}]}}]}}"#)
    };
    let greeting =
        r#"{"name":"server","version":"1.8.2","self":"vessels.urn:mrn:signalk:uuid:1","roles":["main"]}"#;
    let log = [
        greeting.to_owned(),
        of("vessels.urn:mrn:imo:mmsi:2", "navigation.speedOverGround"),
        of("vessels.urn:mrn:signalk:uuid:1", "navigation.speedOverGround"),
    ];
    let (parsed, samples) = read(log.join("\n"));
    assert_eq!(samples.len(), 1);
    assert_eq!((parsed.account.ignored["others"], parsed.account.ignored["hello"]), (1, 1));
    // Without the greeting, by what only the own boat sends.
    let (_, samples) = read(
        [&log[1], &of("vessels.a", "environment.wind.speedApparent"), &log[1]].map(String::as_str).join("\n"),
    );
    assert_eq!(samples.len(), 1);
}

proptest! {
    #[test]
    fn never_panics_on_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        read(&bytes);
    }

    #[test]
    fn never_panics_on_deltas(
        path in "(navigation|environment|propulsion|electrical|tanks|steering)(\\.[a-zA-Z0-9]{0,12}){0,4}",
        value in "null|true|-?[0-9]{1,5}(\\.[0-9]{1,5})?(e[0-9]{1,3})?|\"x\"|\\[1\\]|\\{\"latitude\":[0-9]{1,3}\\}",
        time in "[0-9TZ:.-]{0,25}",
    ) {
        let line = format!(r#"{{"updates":[{{"timestamp":"{time}","values":[{{"path":"{path}","value":{value}}}]}}]}}"#);
        let (_, samples) = read(line);
        for sample in samples {
            prop_assert!(sample.quantity.holds(sample.value));
        }
    }
}
