//! Makes a fingerprint of the code that works answers out of findings, so that none is taken over from another program.

use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

fn main() {
    let mut files = Vec::new();
    for folder in ["src", "../index/src"] {
        println!("cargo::rerun-if-changed={folder}");
        collect(Path::new(folder), &mut files);
    }
    files.sort();
    let mut hasher = DefaultHasher::new();
    for file in files {
        file.hash(&mut hasher);
        fs::read(&file).unwrap_or_default().hash(&mut hasher);
    }
    println!("cargo::rustc-env=LEADSMAN_ASKER={:016x}", hasher.finish());
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() { collect(&path, files) } else { files.push(path) }
    }
}
