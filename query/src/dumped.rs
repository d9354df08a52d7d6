//! What the skipper dumped: which files a command line's paths mean, and which are no notes.
//!
//! A file that is named is taken, whatever it is. Of a folder's files, hidden ones, binary ones and documents in JSON
//! are passed over and counted, recordings are not: a folder of notes holds photographs and other programs' files too.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use leadsman_ingest::sound;
use walkdir::{DirEntry, WalkDir};

use crate::screen::{BAD, CARE, Screen, styled};

/// The name under which standard input is kept.
pub const STANDARD_INPUT: &str = "standard-input";

/// How much of a file's beginning tells whether it can be a note.
const SNIFF: usize = 8_192;

/// What paths mean.
#[derive(Debug, Default)]
pub struct Found {
    /// Files to take, in order, each once.
    pub files: Vec<PathBuf>,
    /// Whether standard input is to be taken too.
    pub standard_input: bool,
    /// Files of folders that can be no notes.
    pub passed_over: Vec<PathBuf>,
    /// What cannot be read.
    pub refused: Vec<Refused>,
}

/// A path that cannot be read.
#[derive(Debug)]
pub struct Refused {
    path: PathBuf,
    why: String,
}

impl Refused {
    /// Prints what it is and what to do.
    pub fn show(&self, screen: &mut Screen) -> io::Result<()> {
        screen.paragraph(
            "",
            "  ",
            &format!("{} {}", styled(BAD, format!("{}:", self.path.display())), self.why),
        )?;
        screen.line(format!("  {} see that it is there and that you may read it", styled(CARE, "hint:")))
    }
}

/// Finds the files that paths mean.
pub fn find(paths: &[PathBuf]) -> Found {
    let mut found = Found::default();
    for path in paths {
        if path == Path::new("-") {
            found.standard_input = true;
        } else if path.is_dir() {
            walk(path, &mut found);
        } else if is_device(path) {
            let why = "expected a file, found a device".to_owned();
            found.refused.push(Refused { path: path.clone(), why });
        } else if path.exists() {
            found.add(path.clone());
        } else {
            let why = path.metadata().map_or_else(|error| error.to_string(), |_| "cannot be read".to_owned());
            found.refused.push(Refused { path: path.clone(), why });
        }
    }
    found
}

/// Finds the files to take among paths that changed in a watched folder, by a folder's rules.
pub fn dropped(folder: &Path, paths: &[PathBuf]) -> Found {
    let mut found = Found::default();
    for path in paths {
        let inside = path.strip_prefix(folder).unwrap_or(path);
        if inside.components().any(|part| hidden(part.as_os_str())) {
            continue;
        }
        if path.is_dir() {
            walk(path, &mut found);
        } else {
            found.sort_out(path.clone());
        }
    }
    found
}

fn walk(folder: &Path, found: &mut Found) {
    let visible = |entry: &DirEntry| entry.depth() == 0 || !hidden(entry.file_name());
    for entry in WalkDir::new(folder).sort_by_file_name().into_iter().filter_entry(visible) {
        match entry {
            Ok(entry) if entry.file_type().is_file() => found.sort_out(entry.into_path()),
            Ok(_) => {}
            Err(error) => {
                let path = error.path().unwrap_or(folder).to_owned();
                let why = error.io_error().map_or_else(|| error.to_string(), io::Error::to_string);
                found.refused.push(Refused { path, why });
            }
        }
    }
}

/// Whether a path is a device, whose bytes may never end.
pub fn is_device(path: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        path.metadata().is_ok_and(|m| m.file_type().is_char_device() || m.file_type().is_block_device())
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        false
    }
}

fn hidden(name: &std::ffi::OsStr) -> bool {
    name.as_encoded_bytes().first() == Some(&b'.') && name != "." && name != ".."
}

impl Found {
    fn add(&mut self, path: PathBuf) {
        if !self.files.contains(&path) {
            self.files.push(path);
        }
    }

    fn sort_out(&mut self, path: PathBuf) {
        match may_be_a_note(&path) {
            Ok(true) => self.add(path),
            Ok(false) => self.passed_over.push(path),
            Err(error) => self.refused.push(Refused { path, why: error.to_string() }),
        }
    }
}

/// Whether a file of a folder can be a note: a recording, or text that is not a document in JSON.
fn may_be_a_note(path: &Path) -> io::Result<bool> {
    let mut start = Vec::new();
    File::open(path)?.take(SNIFF as u64).read_to_end(&mut start)?;
    if sound::sniff(&start) {
        return Ok(true);
    }
    let utf16 = start.starts_with(&[0xff, 0xfe]) || start.starts_with(&[0xfe, 0xff]);
    let binary = !utf16 && start.contains(&0);
    // A log of JSON objects has a whole object on its first line; a document opens its bracket there and goes on.
    let first = start.split(|&byte| byte == b'\n').map(<[u8]>::trim_ascii).find(|line| !line.is_empty());
    let document = matches!(first, Some(b"{" | b"["));
    Ok(!binary && !document)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folders_notes_are_found_and_the_rest_passed_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let write = |name: &str, bytes: &[u8]| {
            let path = folder.path().join(name);
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
            std::fs::write(path, bytes).expect("a file");
        };
        write("b.txt", b"Wind fifteen.\n");
        write("a/deep/note.md", b"# Notes\n");
        write("wide.txt", b"\xff\xfeW\0i\0");
        write("empty.txt", b"");
        write("memo.m4a", b"\0\0\0\x20ftypM4A \0\0");
        write("photo.jpg", b"\xff\xd8\xff\xe0\0\x10");
        write("b.gold.json", b"\n{\n \"a\": 1}\n");
        write("log.jsonl", b"{\"a\": 1}\n");
        write(".hidden", b"no");
        write(".git/config", b"no");
        let names = |paths: &[PathBuf]| -> Vec<String> {
            let inside =
                |path: &PathBuf| path.strip_prefix(folder.path()).expect("inside").display().to_string();
            paths.iter().map(inside).collect()
        };
        let found =
            find(&[folder.path().to_owned(), folder.path().join("b.txt"), folder.path().join("none")]);
        assert_eq!(
            names(&found.files),
            ["a/deep/note.md", "b.txt", "empty.txt", "log.jsonl", "memo.m4a", "wide.txt"]
        );
        assert_eq!(names(&found.passed_over), ["b.gold.json", "photo.jpg"]);
        assert_eq!(found.refused.len(), 1);
        // What is named is taken.
        assert_eq!(find(&[folder.path().join("photo.jpg")]).files.len(), 1);
        assert!(find(&[PathBuf::from("-")]).standard_input);
        assert_eq!(
            names(
                &dropped(
                    folder.path(),
                    &["photo.jpg", "b.txt", ".hidden"].map(|name| folder.path().join(name))
                )
                .files
            ),
            ["b.txt"]
        );
    }
}
