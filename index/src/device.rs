//! The name of the device that a home is used on: each device appends to files of its own.
//!
//! A home can be copied, moved, or carried by a file-sync tool with everything in it. Two machines that then took
//! themselves for the same device would append to the same file. So a name is tied to the machine and to the home's
//! place on it: `devices`, in the home, has one line for each, `FINGERPRINT NAME`. A machine that finds no line of
//! its own adds one with a new name; the lines of others stay, so they are not renamed when the file travels back.

use std::fs;
use std::hash::{BuildHasher, Hasher};
use std::path::Path;

use crate::disk;
use crate::error::{Result, at};

/// The name that this device has in a home; one is made on first use.
pub(crate) fn name(root: &Path) -> Result<String> {
    let path = root.join("devices");
    let text = match fs::read_to_string(&path) {
        Ok(text) => text,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => String::new(),
        Err(e) => return Err(at("read", &path)(e)),
    };
    let own = fingerprint(root);
    let known = text.lines().filter_map(|line| line.split_once(' ')).find(|(print, _)| *print == own);
    if let Some((_, name)) = known
        && is_name(name)
    {
        return Ok(name.to_owned());
    }
    let name = new_name();
    let ended = text.is_empty() || text.ends_with('\n');
    disk::append(&path, format!("{}{own} {name}\n", if ended { "" } else { "\n" }).as_bytes())?;
    Ok(name)
}

/// A name is also a file's name, so it is checked before it is used as one.
pub(crate) fn is_name(name: &str) -> bool {
    (4..=40).contains(&name.len())
        && name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

fn fingerprint(root: &Path) -> String {
    let machine = fs::read_to_string("/etc/machine-id").unwrap_or_default();
    let place = root.canonicalize().unwrap_or_else(|_| root.to_owned());
    let all = format!("{}\n{}\n{}", machine.trim(), host(), place.display());
    crate::source::SourceId::of(all.as_bytes()).to_string()[..16].to_owned()
}

fn host() -> String {
    let read = |path| fs::read_to_string(path).ok();
    read("/proc/sys/kernel/hostname")
        .or_else(|| read("/etc/hostname"))
        .or_else(|| std::env::var("COMPUTERNAME").ok())
        .or_else(|| std::env::var("HOSTNAME").ok())
        .unwrap_or_default()
        .trim()
        .to_owned()
}

/// The host's name, so that a person sees whose file it is, and four characters by chance.
fn new_name() -> String {
    let mut host: String = host()
        .to_lowercase()
        .chars()
        .take_while(|c| *c != '.')
        .filter(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || *c == '-')
        .take(16)
        .collect();
    if host.is_empty() {
        host.push_str("device");
    }
    // The standard library seeds its hashers from the system's random numbers; twenty bits of that tell apart the
    // two or three devices of one boat.
    let mut chance = std::collections::hash_map::RandomState::new().build_hasher().finish();
    let mut tail = String::new();
    for _ in 0..4 {
        tail.push(char::from(b"0123456789abcdefghjkmnpqrstvwxyz"[(chance % 32) as usize]));
        chance /= 32;
    }
    format!("{host}-{tail}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_stays_and_a_copied_home_gets_another() {
        let folder = tempfile::tempdir().unwrap();
        let (here, copy) = (folder.path().join("here"), folder.path().join("copy"));
        fs::create_dir(&here).unwrap();
        fs::create_dir(&copy).unwrap();
        let name = super::name(&here).unwrap();
        assert!(is_name(&name), "{name}");
        assert_eq!(super::name(&here).unwrap(), name);
        fs::copy(here.join("devices"), copy.join("devices")).unwrap();
        let other = super::name(&copy).unwrap();
        assert_ne!(other, name);
        // The file travels back: the first device is still who it was.
        fs::copy(copy.join("devices"), here.join("devices")).unwrap();
        assert_eq!(super::name(&here).unwrap(), name);
        assert_eq!(super::name(&copy).unwrap(), other);
    }

    #[test]
    fn a_name_that_is_no_file_name_is_not_used() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("devices"), format!("{} ../../etc/x", fingerprint(folder.path())))
            .unwrap();
        let name = super::name(folder.path()).unwrap();
        assert!(is_name(&name), "{name}");
    }
}
