//! A season's instrument log through the whole program: 200 MB of NMEA 0183 dumped into a home, and a year asked of ten.
//!
//! `cargo bench -p leadsman-query --bench log` makes the logs itself and prints, beside what is asked for: a plain line
//! count, the `nmea` crate and our own parser on one core; `leadsman ingest` by the clock, in processor time and in
//! memory; `leadsman trend` over one year of ten that are logged. The best of a few runs counts, since other programs
//! only ever make one slower. Ends with 1 where something is slower or larger than is asked.

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use leadsman_ingest::Hints;
use leadsman_ingest::instrument::{Kind, parse};

#[path = "../../ingest/benches/boat_log/mod.rs"]
mod boat_log;

const SIZE: usize = 200_000_000;
const RUNS: usize = 3;

/// What is asked for, and whether all of it was met.
struct Asked(bool);

impl Asked {
    fn line(&mut self, what: &str, found: String, met: Option<bool>, asked: &str) {
        let asked = met.map_or_else(String::new, |met| {
            self.0 &= met;
            format!("   ({asked}{})", if met { "" } else { ": NOT MET" })
        });
        println!("{what:44} {found}{asked}");
    }
}

fn main() -> ExitCode {
    let mut asked = Asked(true);
    let folder = tempfile::tempdir().expect("a folder");
    let log = boat_log::cycles(SIZE);
    let megabytes = log.len() as f64 / 1e6;
    let rate = |best: Duration| megabytes / best.as_secs_f64();
    let show = |rate: f64| format!("{rate:6.0} MB/s");

    let lines = rate(best(|| black_box(memchr::memchr_iter(b'\n', black_box(&log)).count())));
    asked.line("plain line count", show(lines), None, "");
    let other = rate(best(|| {
        let of = |line: &[u8]| nmea::parse_bytes(line.trim_ascii_end()).is_ok();
        log.split(|&b| b == b'\n').filter(|line| of(line)).count()
    }));
    asked.line("the nmea crate", show(other), None, "");
    let own = rate(best(|| {
        let mut sum = 0.0;
        let parsed = parse(Kind::Nmea0183, &log, &Hints::default(), &mut |sample| sum += sample.value);
        assert_eq!(parsed.account.refused_count(), 0, "{:?}", parsed.account.refused);
        (sum, parsed.account.values)
    }));
    asked.line(
        "every value in hand",
        show(own),
        Some(own >= 350.0 && own >= 3.0 * other),
        "350 MB/s, 3 times the crate",
    );

    let file = folder.path().join("2020-05-01 boat.log");
    std::fs::write(&file, &log).expect("a file");
    drop(log);
    let mut ran: Vec<Used> = Vec::new();
    for _ in 0..RUNS {
        let home = folder.path().join("home");
        std::fs::remove_dir_all(&home).ok();
        ran.push(used(&home, &["ingest", &file.to_string_lossy()]));
    }
    let clock = rate(ran.iter().map(|used| used.clock).min().expect("it ran"));
    let processor = ran.iter().map(|used| used.processor).min().expect("it ran");
    let memory = ran.iter().map(|used| used.memory_kb).max().expect("it ran") as f64 / 1e3;
    asked.line("leadsman ingest, by the clock", show(clock), Some(clock >= 60.0), "60 MB/s");
    let text = format!("{:6.0} MB a processor second", megabytes / processor.as_secs_f64());
    asked.line("leadsman ingest, in processor time", text, None, "");
    asked.line("leadsman ingest, memory at most", format!("{memory:6.0} MB"), Some(memory < 200.0), "200 MB");
    let kept = size(&folder.path().join("home/sources")) as f64 / 1e6;
    asked.line("the source as it is kept", format!("{kept:6.1} MB"), None, "");

    let home = folder.path().join("ten-years");
    let years: Vec<String> = (2016..2026).map(|year| ten_years(folder.path(), year)).collect();
    let mut arguments = vec!["ingest"];
    arguments.extend(years.iter().map(String::as_str));
    let taken = used(&home, &arguments);
    asked.line("ten years of minutes taken", format!("{:6.1} s", taken.clock.as_secs_f64()), None, "");
    let question = ["trend", "boat_speed", "--since", "2021-01-01", "--until", "2021-12-31", "--json"];
    used(&home, &question);
    let answered = (0..10).map(|_| used(&home, &question).clock).min().expect("it ran");
    let text = format!("{:6.1} ms", answered.as_secs_f64() * 1e3);
    asked.line("one channel over a year of ten", text, Some(answered < Duration::from_millis(50)), "50 ms");
    if asked.0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn best<T>(mut work: impl FnMut() -> T) -> Duration {
    let once = |_| {
        let begun = Instant::now();
        black_box(work());
        begun.elapsed()
    };
    (0..RUNS).map(once).min().expect("it ran")
}

/// What a run of the program took.
struct Used {
    clock: Duration,
    processor: Duration,
    memory_kb: u64,
}

/// Runs the program, with an eye on what it takes: as the system tells it of a process while it runs.
fn used(home: &Path, arguments: &[&str]) -> Used {
    let begun = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_leadsman"))
        .args(arguments)
        .env("LEADSMAN_HOME", home)
        .stdout(Stdio::null())
        .spawn()
        .expect("the program starts");
    let process = Path::new("/proc").join(child.id().to_string());
    let (mut memory_kb, mut processor) = (0, Duration::ZERO);
    loop {
        if let Some(status) = child.try_wait().expect("it can be asked") {
            assert!(status.success(), "{arguments:?} ended with {status}");
            return Used { clock: begun.elapsed(), processor, memory_kb };
        }
        if let Ok(text) = std::fs::read_to_string(process.join("status")) {
            let peak = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
            let peak = peak.and_then(|peak| peak.trim().trim_end_matches("kB").trim().parse().ok());
            memory_kb = memory_kb.max(peak.unwrap_or(0));
        }
        if let Ok(text) = std::fs::read_to_string(process.join("stat")) {
            // Behind the name in brackets: the 12th and 13th field are the ticks, of a hundredth second.
            let ticks = text.rsplit(')').next().map(|rest| rest.split_whitespace().skip(11).take(2));
            let ticks: u64 = ticks.into_iter().flatten().filter_map(|field| field.parse::<u64>().ok()).sum();
            processor = processor.max(Duration::from_millis(ticks * 10));
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

/// A year of a table with a row a minute; its path.
fn ten_years(folder: &Path, year: i32) -> String {
    let begins = chrono::NaiveDate::from_ymd_opt(year, 1, 1).expect("a day").and_time(chrono::NaiveTime::MIN);
    let mut text = "Time,STW (kn),Depth (m)\n".to_owned();
    for minute in 0..525_600_i64 {
        let at = (begins + chrono::TimeDelta::minutes(minute)).format("%Y-%m-%dT%H:%M:%SZ");
        let (speed, depth) = (5.0 + (minute % 97) as f64 / 40.0, 20.0 + (minute % 31) as f64);
        writeln!(text, "{at},{speed:.2},{depth:.1}").expect("a string takes it");
    }
    let path = folder.join(format!("{year}.csv"));
    std::fs::write(&path, text).expect("a file");
    path.to_string_lossy().into_owned()
}

fn size(folder: &Path) -> u64 {
    walkdir::WalkDir::new(folder)
        .into_iter()
        .filter_map(|entry| entry.ok()?.metadata().ok().filter(std::fs::Metadata::is_file))
        .map(|about| about.len())
        .sum()
}
