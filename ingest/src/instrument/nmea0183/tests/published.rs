//! Sample sentences as published, with their expected values and where both come from.
//!
//! Origins: gpsd = ntpsec/gpsd @46977fa (`test/daemon/bundg_zeus_9.log`, or `www/NMEA.adoc` where marked doc);
//! go-nmea = adrianmo/go-nmea @e4d24e3 tests and README; signalk = SignalK/nmea0183-signalk @e587926 tests.
//! Angles and speeds are given there in radians and metres per second by some; they stand here in degrees and knots.

use super::{named, read, summed};
use crate::instrument::Refusal;

/// Asserts the values of one sentence, named, in any order.
fn gives(sentence: &str, want: &[(&str, f64)]) {
    let (parsed, samples) = read(format!("{sentence}\r\n"), "");
    let mut found = named(&parsed, &samples);
    found.sort_by(|a, b| a.0.cmp(&b.0));
    let mut want: Vec<_> = want.to_vec();
    want.sort_by(|a, b| a.0.cmp(b.0));
    assert_eq!(
        found.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(),
        want.iter().map(|(name, _)| *name).collect::<Vec<_>>(),
        "{sentence}: {:?}",
        parsed.account
    );
    for ((name, found), (_, want)) in found.iter().zip(&want) {
        assert!((found - want).abs() <= 2e-6 * want.abs().max(1.0), "{sentence}: {name} {found}, not {want}");
    }
    assert_eq!(parsed.account.used_count(), 1, "{sentence}");
}

fn refused(sentence: &str, why: Refusal) {
    let (parsed, samples) = read(format!("{sentence}\r\n"), "");
    assert!(samples.is_empty(), "{sentence}: {:?}", named(&parsed, &samples));
    let reasons: Vec<_> =
        parsed.account.refused.iter().map(|r| (r.reason, r.count, r.lines.clone())).collect();
    assert_eq!(reasons, [(why, 1, vec![1])], "{sentence}");
}

/// Knots of metres per second, as the outside tests state most speeds.
fn ms(speed: f64) -> f64 {
    speed * 3600.0 / 1852.0
}

fn rad(angle: f64) -> f64 {
    angle.to_degrees()
}

#[test]
fn mwv() {
    // gpsd
    gives(
        "$WIMWV,57.5,R,13.0,N,A*26",
        &[("apparent_wind_angle", rad(1.003_564_3)), ("apparent_wind_speed", ms(6.687_777_8))],
    );
    gives(
        "$WIMWV,96.6,T,11.2,N,A*2E",
        &[("true_wind_angle/water", 96.6), ("true_wind_speed/water", ms(5.761_777_8))],
    );
    // signalk
    gives(
        "$IIMWV,336,R,13.41,N,A*22",
        &[("apparent_wind_angle", rad(-0.418_879)), ("apparent_wind_speed", ms(6.898_7))],
    );
    gives(
        "$IIMWV,074,T,05.85,K,A*2B",
        &[("true_wind_angle/water", 74.0), ("true_wind_speed/water", ms(1.625))],
    );
    gives(
        "$IIMWV,074,T,05.85,M,A*2D",
        &[("true_wind_angle/water", 74.0), ("true_wind_speed/water", ms(5.85))],
    );
    // go-nmea
    refused("$WIMWV,,T,,N,V*32", Refusal::Void);
}

#[test]
fn mwd() {
    gives(
        "$WIMWD,328.2,T,326.8,M,11.2,N,5.8,M*61",
        &[("wind_direction/true", 328.2), ("wind_direction/magnetic", 326.8), ("true_wind_speed", 11.2)],
    );
    // signalk takes the 5.2 m/s; the 10.1 kn are the same within their last digit.
    gives(
        "$IIMWD,,,046.,M,10.1,N,05.2,M*0B",
        &[("wind_direction/magnetic", 46.0), ("true_wind_speed", 10.1)],
    );
    assert!((ms(5.2) - 10.1).abs() < 0.01);
}

#[test]
fn vwr_and_vwt() {
    // signalk
    gives(
        "$IIVWR,75,R,1.0,N,0.51,M,1.85,K*6C",
        &[("apparent_wind_angle", rad(1.308_997)), ("apparent_wind_speed", 1.0)],
    );
    gives("$IIVWR,024,L,018,N,,,,*5e", &[("apparent_wind_angle", -24.0), ("apparent_wind_speed", ms(9.26))]);
    gives("$IIVWR,154.0,R,,,7.0,M,,*4B", &[("apparent_wind_angle", 154.0), ("apparent_wind_speed", ms(7.0))]);
    gives(
        "$IIVWR,154.0,R,,,,,18.0,K*73",
        &[("apparent_wind_angle", 154.0), ("apparent_wind_speed", ms(5.0))],
    );
    gives(
        "$IIVWT,030.,R,10.1,N,05.2,M,018.7,K*75",
        &[("true_wind_angle/water", 30.0), ("true_wind_speed/water", 10.1)],
    );
    // The angle is out of range, so the whole sentence is refused: nothing says which field is wrong.
    refused("$IIVWT,530.,L,10.1,N,05.2,M,018.7,K*6E", Refusal::Range);
}

#[test]
fn vhw_vtg_vlw() {
    gives(
        "$SDVHW,231.3,T,229.9,M,6.6,N,12.3,K*71",
        &[("boat_speed/water", ms(3.395_333_3)), ("heading/true", 231.3), ("heading/magnetic", 229.9)],
    );
    gives("$IIVHW,,T,,M,06.12,N,11.33,K*50", &[("boat_speed/water", 6.12)]);
    gives(
        "$GPVTG,230.5,T,229.1,M,5.6,N,10.4,K,A*19",
        &[
            ("course_over_ground/true", 230.5),
            ("course_over_ground/magnetic", 229.1),
            ("speed_over_ground/ground", ms(2.880_888_9)),
        ],
    );
    // gpsd doc
    gives(
        "$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34",
        &[("course_over_ground/true", 220.86), ("speed_over_ground/ground", ms(1.311_833_3))],
    );
    gives(
        "$SDVLW,,N,545.6,N,1109.4,N,393.6,N*44",
        &[("trip_distance/water", 545.6), ("log_distance/ground", 1109.4), ("trip_distance/ground", 393.6)],
    );
    // go-nmea
    gives("$IIVLW,10.1,N,3.2,N*7C", &[("log_distance/water", 10.1), ("trip_distance/water", 3.2)]);
}

/// The old form of VTG, without letters. gpsd doc names it; the numbers are ours.
#[test]
fn vtg_of_old() {
    gives(
        summed("GPVTG,230.5,229.1,5.6,10.4").trim(),
        &[
            ("course_over_ground/true", 230.5),
            ("course_over_ground/magnetic", 229.1),
            ("speed_over_ground/ground", 5.6),
        ],
    );
}

#[test]
fn rmc() {
    let at = |sentence: &str| {
        let (_, samples) = read(sentence, "");
        samples[0].at.map(|at| crate::instrument::stamp::show(at.micros))
    };
    let gpsd = "$GPRMC,094737,A,5251.0093,N,00518.8170,E,5.6,230.5,200818,1.4,E,A*1F";
    gives(
        gpsd,
        &[
            ("latitude", 52.850_155),
            ("longitude", 5.313_617),
            ("speed_over_ground/ground", 5.6),
            ("course_over_ground/true", 230.5),
            ("magnetic_variation", 1.4),
        ],
    );
    assert_eq!(at(gpsd).as_deref(), Some("2018-08-20T09:47:37Z"));
    // go-nmea README
    let go = "$GPRMC,220516,A,5133.82,N,00042.24,W,173.8,231.8,130694,004.2,W*70";
    gives(
        go,
        &[
            ("latitude", 51.563_667),
            ("longitude", -0.704),
            ("speed_over_ground/ground", 173.8),
            ("course_over_ground/true", 231.8),
            ("magnetic_variation", -4.2),
        ],
    );
    assert_eq!(at(go).as_deref(), Some("1994-06-13T22:05:16Z"));
    // gpsd doc: no course at a standstill
    let null = "$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B";
    gives(
        null,
        &[("latitude", 44.068_999), ("longitude", -121.314_337), ("speed_over_ground/ground", 0.146)],
    );
    assert_eq!(at(null).as_deref(), Some("2017-01-10T00:10:31Z"));
}

/// gpsd `www/NMEA.adoc`, "NMEA Encoding Conventions": 4533.35 is 45°33′21.0″, 16708.033 is 167°08′02″.
#[test]
fn degrees_and_minutes() {
    gives(
        summed("GPGLL,4533.35,N,16708.033,E").trim(),
        &[("latitude", 45.555_833), ("longitude", 167.133_883)],
    );
}

#[test]
fn gga_and_gll() {
    gives(
        "$GPGGA,094736,5251.0094,N,00518.8172,E,1,12,0.60,-4,M,46.8,M,,*4B",
        &[("latitude", 52.850_157), ("longitude", 5.313_62), ("altitude", -4.0), ("hdop", 0.6)],
    );
    gives(
        "$GPGLL,5251.0093,N,00518.8170,E,094736,A,A*43",
        &[("latitude", 52.850_155), ("longitude", 5.313_617)],
    );
    // go-nmea
    gives("$IIGLL,5924.462,N,01030.048,E,062216,A*38", &[("latitude", 59.4077), ("longitude", 10.5008)]);
}

#[test]
fn headings() {
    gives(
        "$SDHDG,229.8,,,1.3,E*36",
        &[("heading/magnetic", 229.8), ("heading/true", 231.1), ("magnetic_variation", 1.3)],
    );
    // go-nmea
    gives(
        "$HCHDG,98.3,0.0,E,12.6,W*57",
        &[("heading/magnetic", 98.3), ("heading/true", 85.7), ("magnetic_variation", -12.6)],
    );
    // signalk
    for (sentence, deviation, heading) in
        [("$INHDG,180,5,E,10,W*7F", 5.0, 175.0), ("$INHDG,180,5,W,10,W*6D", -5.0, 165.0)]
    {
        gives(
            sentence,
            &[
                ("heading/compass", 180.0),
                ("compass_deviation", deviation),
                ("heading/magnetic", 180.0 + deviation),
                ("magnetic_variation", -10.0),
                ("heading/true", heading),
            ],
        );
    }
    gives("$HCHDM,093.8,M*2B", &[("heading/magnetic", 93.8)]);
    gives("$GPHDT,274.07,T*03", &[("heading/true", 274.07)]);
}

#[test]
fn depths() {
    gives(
        "$SDDPT,5.3,0.4,*79",
        &[("water_depth/transducer", 5.3), ("transducer_offset", 0.4), ("water_depth/surface", 5.7)],
    );
    // signalk
    gives(
        "$IIDPT,4.1,-1.0*69",
        &[("water_depth/transducer", 4.1), ("transducer_offset", -1.0), ("water_depth/keel", 3.1)],
    );
    // go-nmea
    gives(
        "$SDDPT,0.5,0.5,0.1*54",
        &[("water_depth/transducer", 0.5), ("transducer_offset", 0.5), ("water_depth/surface", 1.0)],
    );
    // gpsd doc
    gives("$SDDBT,7.8,f,2.4,M,1.3,F*0D", &[("water_depth/transducer", 2.4)]);
    // signalk: from feet alone
    gives("$IIDBT,432.8,f,,M,,F*1C", &[("water_depth/transducer", 131.917_44)]);
}

#[test]
fn temperatures() {
    gives("$INMTW,17.9,C*1B", &[("sea_temperature", 17.9)]);
    gives("$YXMTW,15.2,C*14", &[("sea_temperature", 288.35 - 273.15)]);
    refused("$SDMTW,,C*1A", Refusal::Empty);
    gives("$IIMTA,26.,C*31", &[("air_temperature", 299.15 - 273.15)]);
    refused("$IIMTA,26.,F*34", Refusal::UnknownUnit);
}

#[test]
fn turn_and_revolutions() {
    // go-nmea, signalk
    gives("$HEROT,-11.23,A*07", &[("rate_of_turn", rad(-0.003_266_67 * 60.0))]);
    gives("$GPROT,35.6,A*01", &[("rate_of_turn", rad(0.010_355_62 * 60.0))]);
    refused("$GPROT,10.0,V*17", Refusal::Void);
    gives(
        "$IIRPM,E,1,2418.2,10.5,A*5F",
        &[("engine_speed#1", 40.303_333 * 60.0), ("propeller_pitch#1", 10.5)],
    );
    gives("$RCRPM,S,0,74.6,30.0,A*56", &[("shaft_speed#0", 74.6), ("propeller_pitch#0", 30.0)]);
}

/// The zone of a ZDA is the local one; its time is UTC all the same. gpsd log, gpsd doc.
#[test]
fn zda() {
    for (sentence, want) in [
        ("$GPZDA,094737,20,08,2018,-01,00*6B", "2018-08-20T09:47:37Z"),
        ("$GPZDA,160012.71,11,03,2004,-1,00*7D", "2004-03-11T16:00:12Z"),
    ] {
        let (_, samples) = read(format!("{sentence}\r\n$INMTW,17.9,C*1B\r\n"), "");
        let at = samples[0].at.expect("a time");
        assert_eq!(crate::instrument::stamp::show(at.micros), want);
    }
}

#[test]
fn bwc() {
    gives(
        "$GPBWC,220516,5130.02,N,00046.34,W,213.8,T,218.0,M,0004.6,N,EGLM*21",
        &[
            ("waypoint_latitude#EGLM", 51.500_333),
            ("waypoint_longitude#EGLM", -0.772_333),
            ("waypoint_bearing/true#EGLM", 213.8),
            ("waypoint_bearing/magnetic#EGLM", 218.0),
            ("waypoint_distance#EGLM", 4.6),
        ],
    );
    refused("$GPBWC,081837,,,,,,T,,M,,N,*13", Refusal::Empty);
    // gpsd's doc gives this sum, and leaves the `$` out, which is put here; the right sum is 21.
    refused("$GPBWC,220516,5130.02,N,00046.34,W,213.8,T,218.0,M,0004.6,N,EGLM*11", Refusal::Checksum);
    let (parsed, _) = read("GPBWC,220516,5130.02,N,00046.34,W,213.8,T,218.0,M,0004.6,N,EGLM*11\r\n", "");
    assert_eq!(parsed.account.refused_for(Refusal::Junk), 1);
}

#[test]
fn xdr() {
    gives(
        "$IIXDR,C,,C,AIRTEMP,A,-1.0,D,HEEL,A,2.9,D,TRIM,P,,B,BARO,A,-3.9,D,RUDDER*29",
        &[("heel#HEEL", -1.0), ("pitch#TRIM", 2.9), ("rudder_angle#RUDDER", -3.9)],
    );
    // go-nmea
    gives("$SDXDR,C,23.15,C,WTHI*70", &[("temperature#WTHI", 23.15)]);
    let odd = "$WIXDR,C,9.7,C,2,U,24.1,N,0,U,24.4,V,1,U,3.510,V,2*46";
    gives(odd, &[("temperature#2", 9.7), ("voltage#1", 24.4), ("voltage#2", 3.51)]);
    let (parsed, _) = read(format!("{odd}\r\n"), "");
    assert_eq!(parsed.account.values_refused.len(), 1, "the voltage in N");
    assert_eq!(parsed.account.values_refused[0].reason, Refusal::UnknownUnit);
}

/// go-nmea's tests hold these with right checksums, though what they say cannot be.
#[test]
fn right_sums_over_wrong_contents() {
    refused(summed("WIMWD,10.1,T,10.1,M,12,N,40,M").trim(), Refusal::Contradiction);
    refused(summed("IIVWR,75,x,1.0,N,0.51,M,1.85,K").trim(), Refusal::Malformed);
    refused(summed("IIVWT,75,x,1.0,N,0.51,M,1.85,K").trim(), Refusal::Malformed);
}

/// Values of our own: no published sample of these two was at hand.
#[test]
fn mda_and_rsa() {
    gives(
        summed("WIMDA,29.92,I,1.0132,B,18.0,C,15.1,C,62.0,,10.6,C,231.0,T,229.6,M,12.0,N,6.2,M").trim(),
        &[
            ("pressure", 1013.2),
            ("air_temperature", 18.0),
            ("sea_temperature", 15.1),
            ("relative_humidity", 62.0),
            ("dew_point", 10.6),
            ("wind_direction/true", 231.0),
            ("wind_direction/magnetic", 229.6),
            ("true_wind_speed", 12.0),
        ],
    );
    gives(summed("IIRSA,-3.9,A,,V").trim(), &[("rudder_angle", -3.9)]);
    gives(summed("IIRSA,-3.9,A,-4.2,A").trim(), &[("rudder_angle", -3.9), ("rudder_angle#port", -4.2)]);
    refused(summed("IIRSA,-3.9,V,,V").trim(), Refusal::Void);
}

/// A void or simulated fix is not a position. FAA mode letters and GGA qualities: gpsd doc.
#[test]
fn void_and_simulated_fixes() {
    refused(summed("GPRMC,094737,V,5251.0093,N,00518.8170,E,5.6,230.5,200818,1.4,E,N").trim(), Refusal::Void);
    refused(
        summed("GPRMC,094737,A,5251.0093,N,00518.8170,E,5.6,230.5,200818,1.4,E,S").trim(),
        Refusal::Simulated,
    );
    refused(summed("GPGGA,094736,5251.0094,N,00518.8172,E,0,12,0.60,-4,M,46.8,M,,").trim(), Refusal::Void);
    refused(
        summed("GPGGA,094736,5251.0094,N,00518.8172,E,8,12,0.60,-4,M,46.8,M,,").trim(),
        Refusal::Simulated,
    );
    refused(summed("GPGLL,5251.0093,N,00518.8170,E,094736,V,N").trim(), Refusal::Void);
    refused(summed("GPVTG,230.5,T,229.1,M,5.6,N,10.4,K,N").trim(), Refusal::Void);
}
