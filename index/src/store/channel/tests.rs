use std::fmt::Write as _;
use std::fs;

use leadsman_ingest::instrument::{Quantity, Reference};

use crate::store::ChannelRow;
use crate::tests::{home, ingest, rows};
use crate::*;

const SOON: std::time::Duration = std::time::Duration::from_secs(5);

/// A log of one sample a second: date and time, wind that freshens by a tenth of a knot a minute, a heading that swings
/// over north. `minutes` since midnight of 2026-05-09.
fn log(minutes: impl IntoIterator<Item = u32>) -> Vec<u8> {
    let mut log = String::new();
    let mut put = |body: String| {
        let sum = body.bytes().fold(0, |sum, b| sum ^ b);
        writeln!(log, "${body}*{sum:02X}\r").unwrap();
    };
    for minute in minutes {
        for second in 0..60 {
            put(format!("GPZDA,{:02}{:02}{second:02},09,05,2026,00,00", minute / 60, minute % 60));
            put(format!("WIMWV,{},R,{:.1},N,A", 30 + second % 3, 10.0 + f64::from(minute) / 10.0));
            put(format!("HCHDM,{},M", if second % 2 == 0 { 358 } else { 4 }));
        }
    }
    log.into_bytes()
}

async fn channel(store: &Store, quantity: Quantity) -> ChannelRow {
    store.channels().await.unwrap().into_iter().find(|row| row.channel.quantity == quantity).unwrap()
}

/// Minutes since 1970 of 2026-05-09.
const DAY: i64 = 20_582 * 24 * 60;

#[tokio::test]
async fn a_logs_minutes_are_there_and_again_after_a_rebuild() {
    let (folder, home) = home();
    let file = folder.path().join("boat.log");
    fs::write(&file, log((600..720).chain(780..800))).unwrap();
    let report = ingest(&home, vec![Dump::file(&file)]).await.remove(0);
    assert!(matches!(report.outcome, Outcome::Taken { .. }), "{report:?}");
    let store = home.store(SOON).await.unwrap();
    let rows_before = rows(&home).await;
    let sources = store.sources().await.unwrap();
    assert_eq!(sources[0].format, "nmea0183");
    assert_eq!(sources[0].recorded.unwrap().to_rfc3339(), "2026-05-09T10:00:00+00:00");

    let names: Vec<_> = store
        .channels()
        .await
        .unwrap()
        .iter()
        .map(|row| format!("{} {} {}", row.channel.quantity.name(), row.channel.source, row.minutes))
        .collect();
    assert_eq!(
        names,
        ["apparent_wind_angle WIMWV 140", "apparent_wind_speed WIMWV 140", "heading HCHDM 140"]
    );
    let wind = channel(&store, Quantity::ApparentWindSpeed).await;
    assert_eq!((wind.first, wind.last, wind.samples, wind.logs), (DAY + 600, DAY + 799, 8400, 1));
    let minutes = store.minutes(&wind, DAY + 601, DAY + 603).await.unwrap();
    let seen: Vec<_> = minutes.iter().map(|m| (m.minute - DAY, m.count, m.mean, m.vector)).collect();
    assert_eq!(seen, [(601, 60, 70.1, None), (602, 60, 70.2, None)]);
    let gaps = store.gaps(&wind, 10).await.unwrap();
    assert_eq!(gaps, [Gap { after: DAY + 719, until: DAY + 780 }]);

    let heading = channel(&store, Quantity::Heading).await;
    assert_eq!(heading.channel.reference, Reference::Magnetic);
    let hours = store.hours(&heading, 0, i64::MAX).await.unwrap();
    let seen: Vec<_> = hours.iter().map(|h| (h.minute - DAY / 60, h.count, h.min, h.max)).collect();
    assert_eq!(seen, [(10, 3600, 358.0, 364.0), (11, 3600, 358.0, 364.0), (13, 1200, 358.0, 364.0)]);
    assert!((hours[0].shown_mean() - 1.0).abs() < 0.01);
    store.close().await;

    fs::remove_file(home.database()).unwrap();
    home.store(SOON).await.unwrap().close().await;
    assert_eq!(rows(&home).await, rows_before);
    assert!(matches!(ingest(&home, vec![Dump::file(&file)]).await[0].outcome, Outcome::AlreadyThere { .. }));
    assert_eq!(rows(&home).await, rows_before);
}

#[tokio::test]
async fn a_log_that_goes_on_answers_instead_of_its_beginning() {
    let (folder, home) = home();
    let file = folder.path().join("boat.log");
    let taken = async |bytes: Vec<u8>| {
        fs::write(&file, bytes).unwrap();
        match ingest(&home, vec![Dump::file(&file)]).await.remove(0).outcome {
            Outcome::Taken { source, replaced, .. } => (source, replaced),
            other => panic!("{other:?}"),
        }
    };
    let (first, _) = taken(log(0..5)).await;
    let (_, replaced) = taken(log(0..9)).await;
    assert_eq!(replaced, Some(first));
    // The logger began a new file under the same name.
    let (_, replaced) = taken(log(20..22)).await;
    assert_eq!(replaced, None);
    let store = home.store(SOON).await.unwrap();
    let wind = channel(&store, Quantity::ApparentWindSpeed).await;
    assert_eq!((wind.minutes, wind.samples, wind.logs), (11, 660, 2));
    assert_eq!(store.minutes(&wind, 0, i64::MAX).await.unwrap().len(), 11);
}

#[tokio::test]
async fn a_withdrawn_log_does_not_answer_and_an_erased_one_is_gone() {
    let (_folder, home) = home();
    let report = ingest(&home, vec![Dump::bytes("boat.log", log(0..5))]).await.remove(0);
    let Outcome::Taken { source, .. } = report.outcome else { panic!("{report:?}") };
    for erase in [false, true] {
        let mut writer = home.writer(SOON).await.unwrap();
        writer.decide(Decision::Withdraw { source, erase }).await.unwrap();
        writer.finish().await.unwrap();
        let store = home.store(SOON).await.unwrap();
        assert_eq!(store.channels().await.unwrap(), []);
        store.close().await;
        let minutes = rows(&home).await.iter().filter(|row| row.starts_with("minute ")).count();
        assert_eq!(minutes, if erase { 0 } else { 15 });
    }
    let left = rows(&home).await;
    for table in ["minute ", "hour ", "span ", "channel "] {
        assert!(left.iter().all(|row| !row.starts_with(table)), "{table}");
    }
}

/// A clock that is set back gives minutes twice; their parts are joined as if they had come together.
#[tokio::test]
async fn minutes_in_parts_are_joined() {
    let (_folder, home) = home();
    let whole = log(0..3);
    let third: Vec<_> = whole.split_inclusive(|&b| b == b'\n').collect();
    // Seconds 0 to 29 of all minutes, then 30 to 59 of all.
    let half = |second: bool| {
        third
            .iter()
            .enumerate()
            .filter(move |(n, _)| (n / 3 % 60 >= 30) == second)
            .flat_map(|(_, line)| line.iter())
    };
    let mixed: Vec<u8> = half(false).chain(half(true)).copied().collect();
    ingest(&home, vec![Dump::bytes("mixed.log", mixed)]).await;
    let store = home.store(SOON).await.unwrap();
    let heading = channel(&store, Quantity::Heading).await;
    assert_eq!((heading.minutes, heading.samples), (3, 180));
    let minutes = store.minutes(&heading, 0, i64::MAX).await.unwrap();
    for minute in &minutes {
        assert_eq!((minute.count, minute.min, minute.mean, minute.max), (60, 358.0, 361.0, 364.0));
    }
    assert_eq!(store.hours(&heading, 0, i64::MAX).await.unwrap()[0].count, 180);
}

/// A log with a damaged byte in the archive is told, and the rest of the home goes on.
#[tokio::test]
async fn a_damaged_log_is_told() {
    let (_folder, home) = home();
    let report = ingest(&home, vec![Dump::bytes("boat.log", log(0..5))]).await.remove(0);
    let Outcome::Taken { source, .. } = report.outcome else { panic!("{report:?}") };
    let path = home.archive().path(&source);
    let other = zstd::encode_all(log(0..4).as_slice(), 3).unwrap();
    fs::remove_file(&path).unwrap();
    fs::write(&path, other).unwrap();
    fs::remove_file(home.database()).unwrap();
    let store = home.store(SOON).await.unwrap();
    assert_eq!(store.channels().await.unwrap(), []);
    assert_eq!(store.sources().await.unwrap()[0].state, SourceState::Missing);
}

/// 80 MB of one line that is nothing: kept whole, told, and never read as words.
#[tokio::test]
async fn what_is_too_large_for_words_is_kept_and_told() {
    let (folder, home) = home();
    let file = folder.path().join("line.txt");
    std::fs::write(&file, vec![b'x'; 80 << 20]).unwrap();
    let mut writer = home.writer(SOON).await.unwrap();
    let report = writer.ingest([Dump::file(&file)], |_| {}).await.unwrap().remove(0);
    writer.finish().await.unwrap();
    let Outcome::Taken { source, notices, channels, .. } = report.outcome else { panic!("{report:?}") };
    assert_eq!(channels, None);
    assert!(notices[0].message.contains("more than 64 MB that are neither"), "{notices:?}");
    assert!(home.archive().is_larger(&source, (80 << 20) - 1).unwrap());
    home.rebuild(SOON).await.unwrap();
    assert_eq!(home.store(SOON).await.unwrap().notices().await.unwrap()[0].notice, notices[0]);
}
