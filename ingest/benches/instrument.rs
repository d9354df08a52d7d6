//! How fast an NMEA 0183 log is read, with every value in hand, on one core.
//!
//! The log is 200 MB of a sailing boat's sentences: a cycle of one second's sentences after the pattern of a real
//! integrated system (its kinds and how often each comes), with values that wander, so that no two cycles are the
//! same. Beside it run a plain line count (what merely looking at the bytes costs) and the `nmea` crate, on the
//! sentences that it knows and on the same whole log.
//!
//! `cargo bench -p leadsman-ingest --bench instrument`

use std::hint::black_box;
use std::sync::OnceLock;

use divan::Bencher;
use divan::counter::BytesCount;
use leadsman_ingest::Hints;
use leadsman_ingest::instrument::{Kind, Minutes, parse};

mod boat_log;

fn main() {
    println!(
        "log: {} MB, of which the nmea crate knows {} MB",
        log().len() / 1_000_000,
        known().len() / 1_000_000
    );
    divan::main();
}

const SIZE: usize = 200_000_000;

fn log() -> &'static [u8] {
    static LOG: OnceLock<Vec<u8>> = OnceLock::new();
    LOG.get_or_init(|| boat_log::cycles(SIZE))
}

/// The sentences of the log that both know: what the crate alone reads (satellites) would cost only it.
fn known() -> &'static [u8] {
    static KNOWN: OnceLock<Vec<u8>> = OnceLock::new();
    KNOWN.get_or_init(|| {
        const KNOWN: [&[u8]; 9] = [b"MWV", b"VHW", b"VTG", b"RMC", b"GGA", b"GLL", b"DPT", b"MTW", b"ZDA"];
        log()
            .split_inclusive(|&b| b == b'\n')
            .filter(|line| KNOWN.contains(&&line[3..6]))
            .flatten()
            .copied()
            .collect()
    })
}

#[divan::bench(sample_count = 5)]
fn plain_line_count(bencher: Bencher) {
    let log = log();
    bencher.counter(BytesCount::of_slice(log)).bench(|| memchr::memchr_iter(b'\n', black_box(log)).count());
}

#[divan::bench(sample_count = 5)]
fn every_value_in_hand(bencher: Bencher) {
    read_all(bencher, log());
}

#[divan::bench(sample_count = 5)]
fn every_value_in_hand_of_what_the_crate_knows(bencher: Bencher) {
    read_all(bencher, known());
}

fn read_all(bencher: Bencher, log: &[u8]) {
    bencher.counter(BytesCount::of_slice(log)).bench(|| {
        let mut sum = 0.0;
        let parsed =
            parse(Kind::Nmea0183, black_box(log), &Hints::default(), &mut |sample| sum += sample.value);
        assert_eq!(parsed.account.refused_count(), 0, "{:?}", parsed.account.refused);
        black_box((sum, parsed.account.values))
    });
}

#[divan::bench(sample_count = 5)]
fn summed_up_by_the_minute(bencher: Bencher) {
    let log = log();
    bencher.counter(BytesCount::of_slice(log)).bench(|| {
        let mut minutes = Minutes::default();
        let mut rows = 0;
        parse(Kind::Nmea0183, black_box(log), &Hints::default(), &mut |sample| {
            minutes.add(&sample, &mut |_| rows += 1);
        });
        minutes.finish(&mut |_| rows += 1);
        black_box(rows)
    });
}

#[divan::bench(sample_count = 5)]
fn the_nmea_crate_on_what_it_knows(bencher: Bencher) {
    crate_on(bencher, known());
}

#[divan::bench(sample_count = 5)]
fn the_nmea_crate_on_the_whole_log(bencher: Bencher) {
    crate_on(bencher, log());
}

fn crate_on(bencher: Bencher, log: &[u8]) {
    bencher.counter(BytesCount::of_slice(log)).bench(|| {
        let mut read = 0u64;
        for line in black_box(log).split(|&b| b == b'\n') {
            read += u64::from(nmea::parse_bytes(line.trim_ascii_end()).is_ok());
        }
        black_box(read)
    });
}
