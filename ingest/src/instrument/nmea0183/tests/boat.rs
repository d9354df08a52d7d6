//! A sailing boat's integrated instruments (ntpsec/gpsd @46977fa `test/daemon/bundg_zeus_9.log`, BSD-2-Clause),
//! which stands outside the project and is only read.

use std::collections::HashMap;
use std::path::Path;

use super::read;
use crate::instrument::wind::{direction, true_wind};
use crate::instrument::{Parsed, Quantity, Reference, Refusal, Sample};

pub(super) fn outside(name: &str) -> Option<Vec<u8>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/outside/nmea0183").join(name);
    match std::fs::read(&path) {
        Ok(bytes) => Some(bytes),
        Err(_) => {
            println!("skipped: {} is not there", path.display());
            None
        }
    }
}

fn is(parsed: &Parsed, sample: &Sample, source: &str, quantity: Quantity, reference: Reference) -> bool {
    let channel = &parsed.channels[sample.channel.index()];
    channel.source == source && channel.quantity == quantity && channel.reference == reference
}

fn turn(from: f64) -> f64 {
    (from + 180.0).rem_euclid(360.0) - 180.0
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

#[test]
fn every_sentence_is_accounted_for() {
    let Some(log) = outside("sailing-boat-ijsselmeer.log") else { return };
    let (parsed, _) = read(&log, "");
    let account = &parsed.account;
    let lines = log.iter().filter(|&&b| b == b'\n').count() as u64;
    assert_eq!(account.lines, lines);
    assert_eq!(account.records, lines);
    assert_eq!(account.blank, 0);
    assert_eq!(account.used["HDG"], 1457);
    assert_eq!(account.used["MWV"], 300);
    // The boat has no sensor for the sea's temperature, and her instruments say so every second.
    assert_eq!(account.refused_for(Refusal::Empty), 149);
    assert_eq!(account.refused.len(), 1, "{:?}", account.refused);
    let mut ignored: Vec<_> = account.ignored.keys().map(String::as_str).collect();
    ignored.sort_unstable();
    assert_eq!(ignored, ["AAM", "APB", "BOD", "GLC", "GSA", "GSV", "RMB", "XTE"]);
    assert_eq!(parsed.clock.timeless, 0);
    assert_eq!(parsed.clock.backwards, 0, "{:?}", parsed.clock);
    let show = |at: Option<i64>| at.map(crate::instrument::stamp::show);
    assert_eq!(show(parsed.clock.first).as_deref(), Some("2018-08-20T09:47:36Z"));
    // The last record is a GLL one second after the last date.
    assert_eq!(show(parsed.clock.last).as_deref(), Some("2018-08-20T09:50:04Z"));
}

/// The boat computes her own true wind; ours must agree with it but for her damping.
#[test]
fn computed_true_wind_is_the_boats_own() {
    let Some(log) = outside("sailing-boat-ijsselmeer.log") else { return };
    let (parsed, samples) = read(&log, "");
    let mut last: HashMap<&str, f64> = HashMap::new();
    let (mut speed_off, mut angle_off, mut direction_off) = (vec![], vec![], vec![]);
    for sample in &samples {
        let mut keep = |name, source, quantity, reference| {
            let it = is(&parsed, sample, source, quantity, reference);
            if it {
                last.insert(name, sample.value);
            }
            it
        };
        keep("stw", "SDVHW", Quantity::BoatSpeed, Reference::Water);
        keep("awa", "WIMWV", Quantity::ApparentWindAngle, Reference::Unsaid);
        keep("aws", "WIMWV", Quantity::ApparentWindSpeed, Reference::Unsaid);
        keep("hdg", "SDVHW", Quantity::Heading, Reference::True);
        keep("mwd", "WIMWD", Quantity::WindDirection, Reference::True);
        keep("twa", "WIMWV", Quantity::TrueWindAngle, Reference::Water);
        if keep("tws", "WIMWV", Quantity::TrueWindSpeed, Reference::Water)
            && let (Some(awa), Some(aws), Some(stw)) = (last.get("awa"), last.get("aws"), last.get("stw"))
        {
            let wind = true_wind(*awa, *aws, *stw);
            speed_off.push(wind.speed_kn - last["tws"]);
            angle_off.push(turn(wind.angle_deg.expect("there was wind") - last["twa"]));
            direction_off.push(turn(direction(last["hdg"], last["twa"]) - last["mwd"]));
        }
    }
    assert_eq!(speed_off.len(), 150);
    println!(
        "true wind, computed less sent: {:.3} kn, {:.3}°; heading + true wind angle less MWD: {:.3}°",
        mean(&speed_off),
        mean(&angle_off),
        mean(&direction_off)
    );
    assert!(mean(&speed_off).abs() < 0.2);
    assert!(mean(&angle_off).abs() < 1.0);
    let worst = direction_off.iter().fold(0.0f64, |worst, off| worst.max(off.abs()));
    assert!(worst <= 1.0, "heading + true wind angle is {worst}° off MWD");
}

/// The channel of true wind that is computed on the way is the same thing.
#[test]
fn the_computed_channel_is_there() {
    let Some(log) = outside("sailing-boat-ijsselmeer.log") else { return };
    let (parsed, samples) = read(&log, "");
    let of = |source: &str, quantity| -> Vec<f64> {
        let reference = Reference::Water;
        samples.iter().filter(|s| is(&parsed, s, source, quantity, reference)).map(|s| s.value).collect()
    };
    let (computed, sent) = (of("computed", Quantity::TrueWindSpeed), of("WIMWV", Quantity::TrueWindSpeed));
    assert_eq!((computed.len(), sent.len()), (150, 150));
    assert!((mean(&computed) - mean(&sent)).abs() < 0.2);
    let from: Vec<f64> = samples
        .iter()
        .filter(|s| is(&parsed, s, "computed", Quantity::WindDirection, Reference::True))
        .map(|s| s.value)
        .collect();
    assert_eq!(from.len(), 150);
}

/// The log's own header says that DBT and DPT disagree: DBT lags, and is cut rather than rounded.
#[test]
fn two_depths_of_one_sounder() {
    let Some(log) = outside("sailing-boat-ijsselmeer.log") else { return };
    let (parsed, samples) = read(&log, "");
    // Each DBT is followed by the DPT of the same sounding.
    let mut dbt = None;
    let mut off = vec![];
    for sample in &samples {
        if is(&parsed, sample, "SDDBT", Quantity::WaterDepth, Reference::Transducer) {
            dbt = Some(sample.value);
        } else if is(&parsed, sample, "SDDPT", Quantity::WaterDepth, Reference::Transducer) {
            off.extend(dbt.take().map(|dbt| sample.value - dbt));
        }
    }
    assert_eq!(off.len(), 148);
    let worst = off.iter().fold(0.0f64, |worst, off| worst.max(off.abs()));
    println!("DPT less DBT: mean {:.3} m, worst {worst:.3} m", mean(&off));
    assert!(worst <= 0.3 + 1e-9);
}

/// gpsd @46977fa `sounder.log` (no dates) and `humminbird-M37.log` (time goes backward once).
#[test]
fn two_sounders() {
    if let Some(log) = outside("sounder.log") {
        let (parsed, samples) = read(&log, "");
        assert_eq!(parsed.account.used["DBT"], 122);
        assert_eq!(parsed.clock.timeless, samples.len() as u64);
        let (parsed, _) = read(&log, "sounder-2011-05-06.log");
        assert_eq!(parsed.clock.timeless, 1, "the first depth comes before the first time");
        assert_eq!(parsed.clock.dated_by, Some("the file's name"));
    }
    if let Some(log) = outside("depth-temperature.log") {
        let (parsed, samples) = read(&log, "");
        assert_eq!(parsed.clock.backwards, 1, "{:?}", parsed.clock);
        let sea: Vec<_> = samples.iter().filter(|s| s.quantity == Quantity::SeaTemperature).collect();
        assert!(sea.len() > 5 && sea.iter().all(|s| (s.value - 17.9).abs() < 0.5));
    }
}
