//! How fast notes are read, with everything on, on one core: the corpus's notes one after another, as written (`.txt`
//! and `.md`) and as transcribed (`.vtt`). Asked for: 5 MB a second.
//!
//! `cargo bench -p leadsman-ingest --bench reading`

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use divan::Bencher;
use divan::counter::BytesCount;
use leadsman_ingest::{Hints, read};

/// As in the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

#[divan::bench(sample_count = 20)]
fn written(bencher: Bencher) {
    static NOTES: OnceLock<Vec<(Hints, Vec<u8>)>> = OnceLock::new();
    read_all(bencher, NOTES.get_or_init(|| notes(&["txt", "md"])));
}

#[divan::bench(sample_count = 20)]
fn transcribed(bencher: Bencher) {
    static NOTES: OnceLock<Vec<(Hints, Vec<u8>)>> = OnceLock::new();
    read_all(bencher, NOTES.get_or_init(|| notes(&["vtt", "srt"])));
}

fn read_all(bencher: Bencher, notes: &'static [(Hints, Vec<u8>)]) {
    let bytes: usize = notes.iter().map(|(_, bytes)| bytes.len()).sum();
    bencher
        .counter(BytesCount::new(bytes))
        .bench(|| notes.iter().map(|(hints, bytes)| read(bytes, hints).readings.len()).sum::<usize>());
}

/// The notes of all boats of the corpus with one of these extensions.
fn notes(extensions: &[&str]) -> Vec<(Hints, Vec<u8>)> {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/corpus");
    let within = |folder: PathBuf| {
        let entries = std::fs::read_dir(&folder).expect("the corpus is there");
        entries.map(|entry| entry.expect("a folder that can be read").path()).collect::<Vec<_>>()
    };
    let mut paths: Vec<PathBuf> =
        within(corpus).into_iter().filter(|p| p.is_dir()).flat_map(within).collect();
    paths.sort();
    paths
        .into_iter()
        .filter(|path| path.extension().is_some_and(|e| extensions.iter().any(|&x| e == x)))
        .map(|path| {
            let name = path.file_name().expect("a file's path").to_string_lossy().into_owned();
            (Hints { name, ..Hints::default() }, std::fs::read(&path).expect("a note that can be read"))
        })
        .collect()
}
