//! Makes a fingerprint of the code and the lexicon that turn a source into findings. A database that was made by
//! other ones is made again, so a program that understands more gives better answers about old notes at once.

use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

fn main() {
    let ingest = Path::new("../ingest");
    let mut files = Vec::new();
    for folder in ["src", "lexicon"] {
        let folder = ingest.join(folder);
        println!("cargo::rerun-if-changed={}", folder.display());
        collect(&folder, &mut files);
    }
    files.sort();
    let mut hasher = DefaultHasher::new();
    for file in files {
        file.strip_prefix(ingest).unwrap_or(&file).hash(&mut hasher);
        fs::read(&file).unwrap_or_default().hash(&mut hasher);
    }
    println!("cargo::rustc-env=LEADSMAN_READER={:016x}", hasher.finish());
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() { collect(&path, files) } else { files.push(path) }
    }
}
