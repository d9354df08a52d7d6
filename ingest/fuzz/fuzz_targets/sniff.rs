#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    leadsman_ingest::instrument::sniff(bytes, &[]);
});
