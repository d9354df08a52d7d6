//! What stands open on the corpus: reading the six boats' sixty notes, folding their items, and dating the list.

use chrono::NaiveDate;
use leadsman_ingest::matter::{Noted, Passage, fold};
use leadsman_ingest::{Hints, Note};
use leadsman_query::open_item::{OpenList, Voyage};

fn main() {
    divan::main();
}

const BOATS: &[&str] = &["quillback", "marigold", "corncrake", "saltmarsh", "sastrugi", "lanternfish"];

/// Name and bytes of each note of each boat.
fn files() -> Vec<Vec<(String, Vec<u8>)>> {
    let corpus = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/corpus");
    let boat = |boat: &&str| {
        let mut files: Vec<(String, Vec<u8>)> = std::fs::read_dir(format!("{corpus}/{boat}"))
            .expect("the boat's folder")
            .map(|entry| entry.expect("an entry"))
            .map(|entry| (entry.file_name().to_string_lossy().into_owned(), entry.path()))
            .filter(|(name, _)| !name.ends_with(".gold.json"))
            .map(|(name, path)| (name, std::fs::read(path).expect("a note")))
            .collect();
        files.sort();
        files
    };
    BOATS.iter().map(boat).collect()
}

fn read(files: &[Vec<(String, Vec<u8>)>]) -> Vec<Vec<(String, Note)>> {
    let note = |(name, bytes): &(String, Vec<u8>)| {
        let hints = Hints { name: name.clone(), ..Hints::default() };
        (name.clone(), leadsman_ingest::read(bytes, &hints))
    };
    files.iter().map(|boat| boat.iter().map(note).collect()).collect()
}

#[divan::bench]
fn read_sixty_notes(bencher: divan::Bencher<'_, '_>) {
    let files = files();
    let bytes: usize = files.iter().flatten().map(|(_, bytes)| bytes.len()).sum();
    bencher.counter(divan::counter::BytesCount::new(bytes)).bench(|| read(&files));
}

#[divan::bench]
fn fold_and_date_six_boats(bencher: divan::Bencher<'_, '_>) {
    let boats = read(&files());
    let on: NaiveDate = "2026-10-06".parse().expect("a day");
    bencher.bench(|| {
        for notes in &boats {
            let noted: Vec<Noted<'_>> =
                notes.iter().map(|(name, note)| Noted { source: name, name, note }).collect();
            let ledger = fold(&noted, &[], &Passage::default(), on);
            divan::black_box(OpenList::new(ledger, Voyage::default(), on, noted.len(), 0));
        }
    });
}
