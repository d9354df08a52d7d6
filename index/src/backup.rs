//! A home in one file that can be verified and restored: a tar archive, compressed by zstd.
//!
//! Its first entry is `manifest.json`: `{"leadsman_backup": 1, "files": [{"path", "bytes", "sha256"}, …]}`. Then come
//! the files: `arrivals/*.jsonl`, `decisions/*.jsonl`, `sources/ab/ab12….zst`, and `settings.toml` where there is one.
//! What is derived is left out. Anybody can look inside with `tar --zstd -tf FILE`.

use std::collections::{BTreeMap, HashSet};
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Component, Path};

use serde::{Deserialize, Serialize};

use crate::disk;
use crate::error::{Error, Result, at};
use crate::home::Home;
use crate::record::SourceState;
use crate::source::SourceId;

/// Version of the file's shape.
const VERSION: u32 = 1;

/// What a backup holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Backup {
    /// Files of sources.
    pub sources: usize,
    /// Files of arrivals and decisions.
    pub records: usize,
    /// Bytes of all files before they were packed into one.
    pub bytes: u64,
}

#[derive(Serialize, Deserialize)]
struct Manifest {
    leadsman_backup: u32,
    files: Vec<Listed>,
}

#[derive(Clone, Serialize, Deserialize)]
struct Listed {
    path: String,
    bytes: u64,
    sha256: SourceId,
}

impl Home {
    /// Writes a backup. Another process may write to the home meanwhile: what it acknowledges before this begins is
    /// in the file, what comes later may be.
    pub fn backup(&self, to: &Path) -> Result<Backup> {
        // Records first: a source's bytes come before its line, so all that they name is in the archive by now.
        let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
        for folder in ["arrivals", "decisions"] {
            let path = self.root().join(folder);
            for entry in fs::read_dir(&path).map_err(at("list", &path))? {
                let path = entry.map_err(at("list", &path))?.path();
                let Some(name) = path.file_name().and_then(|name| name.to_str()) else { continue };
                if !path.extension().is_some_and(|e| e == "jsonl" || e == "torn") {
                    continue;
                }
                let mut bytes = fs::read(&path).map_err(at("read", &path))?;
                // A line that is being written right now is not yet acknowledged.
                bytes.truncate(bytes.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1));
                files.insert(format!("{folder}/{name}"), bytes);
            }
        }
        let settings = self.root().join("settings.toml");
        if settings.is_file() {
            files.insert("settings.toml".to_owned(), fs::read(&settings).map_err(at("read", &settings))?);
        }
        let record = self.record()?;
        let archive = self.archive();
        let sources: Vec<SourceId> = record
            .sources()
            .into_iter()
            .filter(|s| record.state(s).0 != SourceState::Erased && archive.has(s))
            .collect();
        let mut listed: Vec<Listed> = files.iter().map(|(path, bytes)| list(path, bytes)).collect();
        for source in &sources {
            let path = archive.path(source);
            let bytes = fs::read(&path).map_err(at("read", &path))?;
            listed.push(list(&source_name(source), &bytes));
        }
        let backup = Backup {
            sources: sources.len(),
            records: files.len(),
            bytes: listed.iter().map(|file| file.bytes).sum(),
        };
        let manifest = serde_json::to_vec_pretty(&Manifest { leadsman_backup: VERSION, files: listed })
            .map_err(|e| wrong(to, "a list of files", e.to_string()))?;
        let folder = to.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut temporary = tempfile::Builder::new()
            .prefix(disk::TEMPORARY)
            .tempfile_in(folder)
            .map_err(at("make a temporary file in", folder))?;
        let pack = |file: &mut File| -> std::io::Result<()> {
            let mut tar = tar::Builder::new(zstd::Encoder::new(file, 0)?);
            add(&mut tar, "manifest.json", &manifest)?;
            for (path, bytes) in &files {
                add(&mut tar, path, bytes)?;
            }
            for source in &sources {
                add(&mut tar, &source_name(source), &fs::read(archive.path(source))?)?;
            }
            tar.into_inner()?.finish()?.flush()
        };
        pack(temporary.as_file_mut()).map_err(at("write", to))?;
        disk::sync(temporary.as_file(), to)?;
        temporary.persist(to).map_err(|e| at("rename a temporary file to", to)(e.error))?;
        disk::sync_folder(folder)?;
        Ok(backup)
    }

    /// Brings a backup back into a folder that holds no records yet. The backup is verified before a byte is written.
    /// Errors: a damaged backup; a home that is in use (merge into it instead).
    pub fn restore(from: &Path, root: &Path) -> Result<(Home, Backup)> {
        let verified = verify(from)?;
        let home = Home::open(root)?;
        if !home.record()?.sources().is_empty() || home.record()?.all_decisions().next().is_some() {
            return Err(Error::Backup {
                path: root.to_owned(),
                expected: "a folder without records (restore elsewhere, then merge)".to_owned(),
                found: "a home in use".to_owned(),
            });
        }
        each(from, |path, bytes, _| {
            let to = root.join(path);
            disk::write_whole(&to, &bytes, path.starts_with("sources"))
        })?;
        Ok((home, verified))
    }
}

/// Whether a backup holds every file of its list, byte for byte, and nothing else.
pub fn verify(backup: &Path) -> Result<Backup> {
    let mut summary = Backup::default();
    let mut left: Option<HashSet<String>> = None;
    each(backup, |path, bytes, listed| {
        let left = left.get_or_insert_with(|| listed.keys().cloned().collect());
        let name = path.to_string_lossy().replace('\\', "/");
        if !left.remove(&name) {
            return Err(wrong(backup, "each file once", format!("{name} twice")));
        }
        summary.bytes += bytes.len() as u64;
        if path.starts_with("sources") {
            summary.sources += 1
        } else {
            summary.records += 1
        }
        Ok(())
    })?;
    match left.unwrap_or_default().into_iter().min() {
        Some(name) => Err(wrong(backup, &format!("the file {name}"), "none".to_owned())),
        None => Ok(summary),
    }
}

/// Goes through the files of a backup, each checked against the list.
fn each(
    backup: &Path,
    mut take: impl FnMut(&Path, Vec<u8>, &BTreeMap<String, Listed>) -> Result<()>,
) -> Result<()> {
    let file = File::open(backup).map_err(at("open", backup))?;
    let unreadable = |e: std::io::Error| wrong(backup, "a backup of a home", e.to_string());
    let mut tar = tar::Archive::new(zstd::Decoder::new(file).map_err(unreadable)?);
    let mut listed: Option<BTreeMap<String, Listed>> = None;
    for entry in tar.entries().map_err(unreadable)? {
        let mut entry = entry.map_err(unreadable)?;
        let path = entry.path().map_err(unreadable)?.into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).map_err(unreadable)?;
        let Some(listed) = &listed else {
            listed = Some(manifest(backup, &path, &bytes)?);
            continue;
        };
        let name = path.to_string_lossy().replace('\\', "/");
        let Some(file) = listed.get(&name).filter(|_| is_ours(&path)) else {
            return Err(wrong(backup, "only files of its list", name));
        };
        let found = SourceId::of(&bytes);
        if found != file.sha256 {
            return Err(wrong(backup, &format!("{name} with SHA-256 {}", file.sha256), found.to_string()));
        }
        take(&path, bytes, listed)?;
    }
    listed.map(drop).ok_or_else(|| wrong(backup, "a manifest", "an empty archive".to_owned()))
}

fn manifest(backup: &Path, path: &Path, bytes: &[u8]) -> Result<BTreeMap<String, Listed>> {
    let expected = "a manifest first";
    if path != Path::new("manifest.json") {
        return Err(wrong(backup, expected, path.display().to_string()));
    }
    let manifest: Manifest =
        serde_json::from_slice(bytes).map_err(|e| wrong(backup, expected, e.to_string()))?;
    if manifest.leadsman_backup > VERSION {
        let found = format!("version {}, written by a newer program", manifest.leadsman_backup);
        return Err(wrong(backup, &format!("version {VERSION}"), found));
    }
    Ok(manifest.files.into_iter().map(|file| (file.path.clone(), file)).collect())
}

/// Only paths that a backup writes: no way out of the home, nothing that a home would run or trust.
fn is_ours(path: &Path) -> bool {
    let parts: Option<Vec<&str>> = path
        .components()
        .map(|part| match part {
            Component::Normal(name) => name.to_str(),
            _ => None,
        })
        .collect();
    let name = |name: &str, ends: &[&str]| ends.iter().any(|end| name.ends_with(end));
    match parts.as_deref() {
        Some(["settings.toml"]) => true,
        Some(["arrivals" | "decisions", file]) => name(file, &[".jsonl", ".torn"]),
        Some(["sources", folder, file]) => file
            .strip_suffix(".zst")
            .is_some_and(|hash| hash.parse::<SourceId>().is_ok() && hash.starts_with(folder)),
        _ => false,
    }
}

fn list(path: &str, bytes: &[u8]) -> Listed {
    Listed { path: path.to_owned(), bytes: bytes.len() as u64, sha256: SourceId::of(bytes) }
}

fn source_name(source: &SourceId) -> String {
    let hash = source.to_string();
    format!("sources/{}/{hash}.zst", &hash[..2])
}

fn add(tar: &mut tar::Builder<impl Write>, path: &str, bytes: &[u8]) -> std::io::Result<()> {
    let mut header = tar::Header::new_gnu();
    header.set_size(bytes.len() as u64);
    header.set_mode(0o644);
    tar.append_data(&mut header, path, bytes)
}

fn wrong(path: &Path, expected: &str, found: String) -> Error {
    Error::Backup { path: path.to_owned(), expected: expected.to_owned(), found }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::{SOON, home, ingest, rows, two};
    use crate::{Decision, Fault};

    #[tokio::test]
    async fn a_backup_comes_back_to_the_same_rows() {
        let (folder, home) = home();
        ingest(&home, two()).await;
        let mut writer = home.writer(SOON).await.unwrap();
        writer.decide(Decision::Reopen { item: "k7m".into() }).await.unwrap();
        // The writer still holds the home.
        let file = folder.path().join("home.tar.zst");
        let backup = home.backup(&file).unwrap();
        assert_eq!((backup.sources, backup.records), (2, 2));
        writer.finish().await.unwrap();
        assert_eq!(verify(&file).unwrap(), backup);
        let (restored, _) = Home::restore(&file, &folder.path().join("restored")).unwrap();
        restored.store(SOON).await.unwrap().close().await;
        assert_eq!(rows(&restored).await, rows(&home).await);
        assert_eq!(restored.check(|_, _| {}).await.unwrap(), Vec::<Fault>::new());
        assert!(matches!(Home::restore(&file, restored.root()), Err(Error::Backup { .. })));
    }

    #[tokio::test]
    async fn a_damaged_backup_is_refused_before_anything_is_written() {
        let (folder, home) = home();
        ingest(&home, two()).await;
        let file = folder.path().join("home.tar.zst");
        home.backup(&file).unwrap();
        let whole = fs::read(&file).unwrap();
        let target = folder.path().join("restored");
        for length in [0, 10, whole.len() / 2, whole.len() - 4] {
            fs::write(&file, &whole[..length]).unwrap();
            assert!(matches!(Home::restore(&file, &target), Err(Error::Backup { .. })), "cut at {length}");
        }
        // One file's bytes changed, with a tar and a zstd frame that are sound.
        let mut tar = tar::Builder::new(zstd::Encoder::new(Vec::new(), 0).unwrap());
        let manifest = Manifest { leadsman_backup: 1, files: vec![list("arrivals/a-0000.jsonl", b"right")] };
        add(&mut tar, "manifest.json", &serde_json::to_vec(&manifest).unwrap()).unwrap();
        add(&mut tar, "arrivals/a-0000.jsonl", b"wrong").unwrap();
        fs::write(&file, tar.into_inner().unwrap().finish().unwrap()).unwrap();
        let error = verify(&file).unwrap_err().to_string();
        assert!(error.contains("expected arrivals/a-0000.jsonl with SHA-256"), "{error}");
        assert!(!target.exists());
    }

    #[test]
    fn no_path_leads_out_of_the_home() {
        for path in [
            "../x.jsonl",
            "/arrivals/x.jsonl",
            "arrivals/../x.jsonl",
            "lock",
            "sources/ab/cd.zst",
            "derived/leadsman.db",
        ] {
            assert!(!is_ours(Path::new(path)), "{path}");
        }
        assert!(is_ours(Path::new("arrivals/laptop-0000.jsonl")));
        assert!(is_ours(Path::new(&source_name(&SourceId::of(b"x")))));
    }
}
