#![no_main]

use leadsman_ingest::instrument::Kind;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| leadsman_ingest_fuzz::read(Kind::Nmea0183, bytes));
