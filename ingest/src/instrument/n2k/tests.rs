//! Published bytes and values, messages in parts, hostile input.
//!
//! Bytes and expected text: canboat @01d0dc3 `analyzer/tests`, where not said otherwise.

use proptest::prelude::*;

use crate::Hints;
use crate::instrument::stamp::show;
use crate::instrument::{Kind, Parsed, Refusal, Sample, parse};

fn read(log: impl AsRef<[u8]>) -> (Parsed, Vec<Sample>) {
    let mut samples = Vec::new();
    let parsed = parse(Kind::Nmea2000, log.as_ref(), &Hints::default(), &mut |sample| samples.push(sample));
    assert!(parsed.account.adds_up(), "{:?}", parsed.account);
    (parsed, samples)
}

/// Asserts the values of one message, given as its PGN and bytes.
fn gives(pgn: u32, bytes: &str, want: &[(&str, f64, f64)]) {
    let bytes: Vec<_> = bytes.split_whitespace().collect();
    let line = format!("2024-07-19-23:24:46.782,3,{pgn},60,255,{},{}", bytes.len(), bytes.join(","));
    let (parsed, samples) = read(&line);
    let found: Vec<(String, f64)> = samples
        .iter()
        .map(|s| {
            let c = &parsed.channels[s.channel.index()];
            assert_eq!(c.source, format!("n2k:60/{pgn}"));
            let name = [c.quantity.name(), c.reference.name(), &c.instance].join("/");
            (name.trim_end_matches('/').to_owned(), s.value)
        })
        .collect();
    assert_eq!(
        found.iter().map(|f| f.0.as_str()).collect::<Vec<_>>(),
        want.iter().map(|w| w.0).collect::<Vec<_>>(),
        "{pgn}: {:?}",
        parsed.account
    );
    for ((name, found), (_, want, within)) in found.iter().zip(want) {
        assert!((found - want).abs() <= *within, "{pgn} {name}: {found}, not {want}");
    }
}

/// A GNSS message of canboat's samples, whole.
const GNSS: &str = "e6,f1,3a,80,9c,c6,0d,00,12,38,aa,49,eb,51,07,00,0c,44,95,fb,15,b8,00,40,e1,33,00,00,00,00,00,\
                    13,fc,09,5a,00,8c,00,ff,ff,ff,7f,00";

#[test]
fn published_bytes() {
    gives(
        129_025,
        "3b 34 98 16 cc ea 08 b7",
        &[("latitude", 37.907_359_5, 1e-7), ("longitude", -122.415_237_2, 1e-7)],
    );
    gives(127_257, "00 ff 7f 1b 00 21 05 ff", &[("pitch", 0.1547, 5e-5), ("heel", 7.5229, 5e-5)]);
    gives(130_310, "00 8b 72 ff ff ff ff ff", &[("sea_temperature", 20.08, 1e-9)]);
    gives(130_312, "00 00 00 8b 72 ff ff ff", &[("sea_temperature", 20.08, 1e-9)]);
    gives(127_251, "ff 51 bf ff ff ff ff ff", &[("rate_of_turn", -0.029_649 * 60.0, 1e-4)]);
    gives(
        127_489,
        "00 2f 06 ff ff e3 73 65 05 ff 7f 72 10 00 00 ff ff ff ff ff 00 00 00 00 7f 7f",
        &[
            ("oil_pressure//0", 1.583, 1e-9),
            ("engine_temperature//0", 23.52, 1e-9),
            ("voltage//alternator", 13.81, 1e-9),
            ("engine_hours//0", 4210.0 / 3600.0, 1e-9),
        ],
    );
    gives(
        129_029,
        &GNSS.replace(',', " "),
        &[
            ("latitude", 52.746_133_3, 5e-8),
            ("longitude", 5.181_556_6, 5e-8),
            ("altitude", 3.4, 1e-9),
            ("hdop", 0.9, 1e-9),
        ],
    );
    gives(
        127_250,
        "00 9c 99 ff 7f f6 f5 fd",
        &[
            ("magnetic_variation", -14.725, 1e-3),
            ("heading/magnetic", 225.31, 5e-3),
            ("heading/true", 225.31 - 14.725, 5e-3),
        ],
    );
    gives(
        129_026,
        "02 fc 5b 95 00 00 ff ff",
        &[("course_over_ground/true", 219.07, 5e-3), ("speed_over_ground/ground", 0.0, 0.0)],
    );
    gives(130_311, "00 01 16 6d ff 7f ff ff", &[("air_temperature", 6.11, 1e-9)]);
    gives(127_245, "00 ff ff 7f e9 fb ff ff", &[("rudder_angle//0", -5.999, 1e-3)]);
    // aldas/go-nmea-client's tests, decoded there with canboat's analyzer.
    gives(127_506, "cd 01 00 64 ff 2e 2b a9 00 ff ff", &[("state_of_charge//1", 100.0, 0.0)]);
}

#[test]
fn the_time_of_a_gnss_message_is_carried() {
    let mut log = String::new();
    // As frames without a time in front: 43 bytes are six, five sevens, and two.
    let bytes: Vec<_> = GNSS.split(',').collect();
    let (first, rest) = bytes.split_at(6);
    log += &format!("can0 0DF80503 [8] 40 2b {}\n", first.join(" "));
    for (n, part) in rest.chunks(7).enumerate() {
        let filled = [part, &["ff"; 7][part.len()..]].concat().join(" ");
        log += &format!("can0 0DF80503 [8] {:02x} {filled}\n", 0x41 + n);
    }
    log += "can0 09F10DCC [8] 00 FF FF 7F E9 FB FF FF\n";
    let (parsed, samples) = read(&log);
    assert_eq!(parsed.account.used["129029"], 7, "{:?}", parsed.account);
    let at = samples.last().expect("the rudder").at.expect("a time");
    assert_eq!(show(at.micros), "2011-04-25T06:25:12Z");
}

/// canboat @02ae4b8 `samples/candump-fast.txt`: an engine's message in four frames, stamped by a clock never set.
#[test]
fn a_message_in_parts() {
    let log = "(0000000000.352000) vcan0 09F20101#601A00B706670D0B\n\
               (0000000000.353000) vcan0 09F20101#6186BA042600105F\n\
               (0000000000.354000) vcan0 09F20101#62090000008F027F\n\
               (0000000000.355000) vcan0 09F20101#63000000007F7FFF\n";
    let (parsed, samples) = read(log);
    assert_eq!(parsed.account.used["127489"], 4);
    let value = |name: &str| {
        let find = |s: &&Sample| parsed.channels[s.channel.index()].quantity.name() == name;
        samples.iter().find(find).map(|s| (s.value * 1000.0).round() / 1000.0)
    };
    // The bytes, taken apart by hand: 06B7h × 100 Pa, 860Bh × 0.01 K, 04BAh × 0.01 V, 0026h × 0.1 L/h.
    assert_eq!(value("oil_pressure"), Some(1.719));
    assert_eq!(value("engine_temperature"), Some(70.0));
    assert_eq!(value("voltage"), Some(12.1));
    assert_eq!(value("fuel_rate"), Some(3.8));
    assert_eq!(parsed.clock.unset, 4);
    // The same with one frame lost, and with one out of order.
    let lines: Vec<_> = log.lines().collect();
    let (parsed, samples) = read([lines[0], lines[1], lines[3]].join("\n"));
    assert!(samples.is_empty());
    assert_eq!(parsed.account.refused_for(Refusal::Incomplete), 3);
    assert_eq!(parsed.account.refused[0].lines, [1, 1, 1]);
    let (parsed, _) = read([lines[0], lines[2], lines[1], lines[3]].join("\n"));
    assert_eq!(parsed.account.used["127489"], 4);
}

/// References of a wind message; the values are ours.
#[test]
fn winds() {
    // 5.00 m/s, 6.0 rad (port 16.2°)
    let speed = 5.0 * 3600.0 / 1852.0;
    let port = 6.0f64.to_degrees() - 360.0;
    gives(
        130_306,
        "00 f4 01 60 ea fa ff ff",
        &[("apparent_wind_angle", port, 1e-3), ("apparent_wind_speed", speed, 1e-9)],
    );
    gives(
        130_306,
        "00 f4 01 60 ea fc ff ff",
        &[("true_wind_angle/water", port, 1e-3), ("true_wind_speed/water", speed, 1e-9)],
    );
    gives(
        130_306,
        "00 f4 01 60 ea f8 ff ff",
        &[("wind_direction/true", 6.0f64.to_degrees(), 1e-3), ("true_wind_speed/ground", speed, 1e-9)],
    );
}

/// Batteries, tanks, sounder, log; the values are ours.
#[test]
fn the_rest() {
    gives(
        127_508,
        "01 b4 04 9c ff 8b 72 ff",
        &[("voltage//1", 12.04, 1e-9), ("current//1", -10.0, 1e-9), ("temperature//battery 1", 20.08, 1e-9)],
    );
    gives(
        127_505,
        "00 d4 30 20 03 00 00 ff",
        &[("fuel_level//0", 50.0, 1e-9), ("fuel_volume//0", 40.0, 1e-9), ("tank_capacity//fuel", 80.0, 1e-9)],
    );
    gives(
        128_267,
        "00 12 02 00 00 90 01 ff",
        &[
            ("water_depth/transducer", 5.3, 1e-9),
            ("transducer_offset", 0.4, 1e-9),
            ("water_depth/surface", 5.7, 1e-9),
        ],
    );
    gives(128_259, "00 54 01 ff ff 00 ff ff", &[("boat_speed/water", 3.4 * 3600.0 / 1852.0, 1e-9)]);
    gives(130_314, "00 00 00 f0 7a 0f 00 ff", &[("pressure", 1014.512, 1e-9)]);
    gives(130_313, "00 00 01 d4 30 ff 7f ff", &[("relative_humidity//outside", 50.0, 1e-9)]);
    gives(130_316, "00 01 0e 38 79 04 ff ff", &[("temperature//exhaust 1", 20.026, 1e-6)]);
    gives(
        127_488,
        "00 e8 2b c7 01 7f ff ff",
        &[("engine_speed//0", 2810.0, 1e-9), ("fluid_pressure//boost", 0.455, 1e-9)],
    );
}

#[test]
fn a_flood_of_beginnings_is_bounded() {
    let mut log = String::new();
    for n in 0..20_000 {
        log += &format!("can0 09F201{:02X}#{:02X}1A00B706670D0B\n", n % 256, (n / 256 % 8) << 5);
    }
    let (parsed, samples) = read(&log);
    assert!(samples.is_empty());
    assert_eq!(parsed.account.refused_for(Refusal::Incomplete), 20_000);
}

proptest! {
    #[test]
    fn never_panics_on_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        read(&bytes);
    }

    #[test]
    fn never_panics_on_frames(
        frames in proptest::collection::vec((prop_oneof![
            Just(0x1F801u32), Just(0x1F805), Just(0x1F201), Just(0x1FD02), Just(0x1F211), 0x1F000u32..0x1FF00,
        ], 0u8..4, "[0-9a-f]{0,18}"), 0..40)
    ) {
        let mut log = String::new();
        for (pgn, source, data) in frames {
            log += &format!("can0 {:08X}#{data}\n", 0x0800_0000 | pgn << 8 | u32::from(source));
        }
        let (_, samples) = read(&log);
        for sample in samples {
            prop_assert!(sample.quantity.holds(sample.value));
        }
    }
}
