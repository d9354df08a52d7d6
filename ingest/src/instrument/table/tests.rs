//! Tables of our own, and the twelve awkward files of max-mapper/csv-spectrum @d30e80f (BSD-2-Clause), which stand
//! outside the project.

use std::path::Path;

use proptest::prelude::*;

use super::*;
use crate::instrument::log::{Each, Sample};
use crate::instrument::stamp::show;
use crate::instrument::{TimeBasis, parse};

fn read_table(file: impl AsRef<[u8]>, name: &str) -> (Parsed, Vec<Sample>) {
    let mut samples = Vec::new();
    let hints = Hints { name: name.into(), ..Hints::default() };
    let parsed = parse(Kind::Table, file.as_ref(), &hints, &mut |sample| samples.push(sample));
    assert!(parsed.account.adds_up(), "{:?}", parsed.account);
    (parsed, samples)
}

fn seen(parsed: &Parsed, samples: &[Sample]) -> Vec<(String, String, f64)> {
    samples
        .iter()
        .map(|s| {
            let name = parsed.channels[s.channel.index()].quantity.name().to_owned();
            let at = s.at.map(|at| show(at.micros)).unwrap_or_default();
            (name, at, (s.value * 1e6).round() / 1e6)
        })
        .collect()
}

#[test]
fn english_and_continental_tables_are_the_same() {
    let english = "Time,AWS (kn),Battery V,Cabin °C\n2026-05-09 10:11:12,12.4,12.71,18.5\n2026-05-09 10:11:13,13.0,,-\n";
    let continental = "\u{feff}Logger 7;;;\r\nTime;AWS (kn);Battery V;Cabin °C\r\n09.05.2026 10:11:12;12,4;12,71;18,5\r\n09.05.2026 10:11:13;13,0;;\r\n";
    let tabs = "Time\tAWS (kn)\tBattery V\tCabin °C\n\n2026/05/09 10:11:12\t12.4\t12.71\t18.5\n2026/05/09 10:11:13\t13.0\t\t";
    let latin = b"Time,AWS (kn),Battery V,Cabin \xb0C\n2026-05-09 10:11:12,12.4,12.71,18.5\n2026-05-09 10:11:13,13.0,,\n";
    let want: Vec<(String, String, f64)> = [
        ("apparent_wind_speed", "2026-05-09T10:11:12Z", 12.4),
        ("voltage", "2026-05-09T10:11:12Z", 12.71),
        ("cabin_temperature", "2026-05-09T10:11:12Z", 18.5),
        ("apparent_wind_speed", "2026-05-09T10:11:13Z", 13.0),
    ]
    .map(|(name, at, value)| (name.to_owned(), at.to_owned(), value))
    .into();
    for file in [english.as_bytes(), continental.as_bytes(), tabs.as_bytes(), latin] {
        assert!(is_table(file, &[]));
        let (parsed, samples) = read_table(file, "");
        assert_eq!(seen(&parsed, &samples), want);
        assert_eq!(parsed.account.used["row"], 2);
    }
}

#[test]
fn offsets_and_lines_are_those_of_the_file() {
    let file =
        "\u{feff}Time,AWS (kn)\n10:00,5\n\"10:01\",\"6\nx\"\n10:02,bad\n10:03,900\n10:04,7,8\n10:05,8\n";
    let (parsed, samples) = read_table(file, "2026-05-09.csv");
    let places: Vec<_> = samples.iter().map(|s| &file[s.offset as usize..][..5]).collect();
    assert_eq!(places, ["10:00", "10:05"]);
    let refused: Vec<_> = parsed.account.refused.iter().map(|r| (r.reason, r.lines.clone())).collect();
    assert_eq!(refused, [(Refusal::Malformed, vec![3, 5, 7]), (Refusal::Range, vec![6])]);
    assert_eq!(samples[0].at.map(|at| at.basis), Some(TimeBasis::Inferred));
}

#[test]
fn units_and_two_columns_of_time() {
    let (parsed, samples) = read_table(
        "Date,Time UTC,Wind speed (m/s),Baro (inHg),Sea (°F),Depth (ft),Lat,Lon\n\
         05/13/2026,1:30 PM,10,29.92,50,10,52°51.0093'N,005°18.8170'E\n",
        "",
    );
    let want = [19.438_445, 1_013.207_589, 10.0, 3.048, 52.850_155, 5.313_617];
    let found = seen(&parsed, &samples);
    assert_eq!(found.len(), want.len(), "{:?}", parsed.account);
    for ((name, at, found), want) in found.iter().zip(want) {
        assert!((found - want).abs() < 1e-5, "{name} {found}");
        assert_eq!(at, "2026-05-13T13:30:00Z");
    }
    assert_eq!(samples[0].at.map(|at| at.basis), Some(TimeBasis::Record));
    assert!(parsed.notices.is_empty(), "{:?}", parsed.notices);
}

#[test]
fn what_is_not_certain_is_said() {
    let (parsed, samples) = read_table("Date,AWS,Depth (parsecs),SOG (kn)\n05/09/2026,10,3,6\n", "");
    assert_eq!(samples.len(), 2);
    let said: Vec<_> = parsed.notices.iter().map(|n| n.message.as_str()).collect();
    assert!(said[0].contains("\"Depth (parsecs)\""), "{said:?}");
    assert!(said[1].contains("AWS in kn"), "{said:?}");
    assert!(said[2].contains("the day was taken"), "{said:?}");
}

#[test]
fn epochs() {
    for time in ["1778321472", "1778321472000", "1778321472.0"] {
        let (parsed, samples) = read_table(format!("timestamp,sog\n{time},5\n"), "");
        assert_eq!(seen(&parsed, &samples)[0].1, "2026-05-09T10:11:12Z");
    }
}

#[test]
fn mapped_columns() {
    let mapped = vec![Column {
        header: "ch3".into(),
        quantity: Quantity::LineLoad,
        reference: Reference::Unsaid,
        instance: "drogue".into(),
        unit: "kgf".into(),
    }];
    let mut samples = Vec::new();
    let file = b"t,ch3\n1,220\n";
    let hints = Hints { columns: mapped, ..Hints::default() };
    let parsed = read(&file[..], &hints, &mut Each(&mut |sample| samples.push(sample)));
    assert_eq!(parsed.channels[0].instance, "drogue");
    assert!((samples[0].value - 2.157_463).abs() < 1e-6);
    let (parsed, samples) = read_table(file, "");
    assert!(samples.is_empty());
    assert!(parsed.notices[0].hint.as_deref().is_some_and(|hint| hint.contains("leadsman column")));
}

#[test]
fn the_twelve_awkward_files() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/outside/csv");
    let Ok(files) = std::fs::read_dir(folder.join("csvs")) else {
        println!("skipped: {} is not there", folder.display());
        return;
    };
    let mut count = 0;
    for file in files {
        let path = file.expect("a file").path();
        let bytes = std::fs::read(&path).expect("a file");
        let want = folder.join("json").join(path.with_extension("json").file_name().expect("a name"));
        let want: serde_json::Value =
            serde_json::from_slice(&std::fs::read(want).expect("a file")).expect("JSON");
        let rows: Vec<Vec<String>> = reader(without_mark(&bytes), b',')
            .into_byte_records()
            .map(|row| row.expect("a row").iter().map(|cell| text(cell).into_owned()).collect())
            .collect();
        let found: Vec<serde_json::Value> = rows[1..]
            .iter()
            .map(|row| {
                rows[0].iter().cloned().zip(row.iter().cloned().map(serde_json::Value::from)).collect()
            })
            .collect();
        // One file's contents are given as its one row, and with another telephone number than the file has.
        let want = match want {
            serde_json::Value::Object(mut row) => {
                assert_eq!(
                    row.insert("Contact Phone Number".into(), "2095257564".into()),
                    Some("1234567890".into())
                );
                vec![serde_json::Value::Object(row)].into()
            }
            rows => rows,
        };
        assert_eq!(serde_json::Value::from(found), want, "{}", path.display());
        assert!(!is_table(&bytes, &[]), "{} is no instrument's", path.display());
        count += 1;
    }
    assert_eq!(count, 12);
}

#[test]
fn tables_of_words_are_left_to_others() {
    for file in [
        "Date,Time,Wind speed (kn),Remarks\n2026-05-09,10:00,12,reefed and went below for tea\n",
        "Time,SOG (kn),What happened\n10:00,5,we put the second reef in and she liked it\n",
        "Heel,Depth\nfifteen degrees or so,ten metres at the mark\n",
        "heel, depth and speed were all fine\n",
        "AWS (kn),TWS (kn)\n",
        "",
    ] {
        assert!(!is_table(file.as_bytes(), &[]), "{file}");
    }
}

#[test]
fn a_quote_that_is_never_closed_is_bounded() {
    let file = format!("Time,AWS (kn)\n2026-05-09 10:00,5\n\"{}", "x,".repeat(8 << 20));
    let (parsed, samples) = read_table(file, "");
    assert_eq!(samples.len(), 1);
    assert_eq!(parsed.account.refused_for(Refusal::TooLong), 1, "{:?}", parsed.account);
}

proptest! {
    #[test]
    fn never_panics(rows in proptest::collection::vec("([-0-9.,:/ ]{0,12}|\"[^\"]{0,5}\"|\\PC{0,6})([,;\t]\\PC{0,6}){0,4}", 0..8)) {
        let file = format!("Date,Time,AWS (kn),Lat,Battery V\n{}", rows.join("\n"));
        let (_, samples) = read_table(&file, "2026-05-09.csv");
        for sample in samples {
            prop_assert!(sample.quantity.holds(sample.value));
        }
        is_table(file.as_bytes(), &[]);
    }

    #[test]
    fn never_panics_on_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        is_table(&bytes, &[]);
        read_table(&bytes, "");
    }

    #[test]
    fn never_panics_on_headers(header in "\\PC{0,20}[(\\[]\\PC{0,5}[)\\]]\\PC{0,5}|\\PC{0,30}") {
        header::read(&header, &[]);
    }
}
