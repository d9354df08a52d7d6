//! The devices that may ask: a code shown in the terminal, good once, exchanged for a cookie that is kept hashed.
//!
//! `derived/paired.json` has the secret behind the anti-forgery tokens and the hashes; without it every device has to
//! be paired again, and nothing else is lost.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::error::Error;

/// Letters and digits that are easily told apart, read aloud or typed with cold hands.
const SIGNS: &[u8; 27] = b"23456789bcdfghjkmnpqrstvwxz";
/// Signs of a code: 27 to the 8th are 2.8 × 10¹¹, of which a guesser gets some hundred tries.
const CODE: usize = 8;
/// Wrong codes after which a new one takes the place of the one that is being guessed at.
const PATIENCE: u32 = 100;
/// Devices kept; the one paired longest ago gives way.
const MOST: usize = 32;

/// What stands in `derived/paired.json`.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Kept {
    secret: String,
    devices: Vec<Device>,
}

/// A paired device.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Device {
    /// SHA-256 of its cookie, in hexadecimal.
    hash: String,
    /// When it was paired.
    since: DateTime<Utc>,
}

/// The paired devices and the code for the next one.
pub struct Paired {
    path: PathBuf,
    state: Mutex<State>,
}

struct State {
    kept: Kept,
    code: String,
    wrong: u32,
}

/// What became of a code.
#[derive(Debug, PartialEq, Eq)]
pub enum Tried {
    /// It was right: the cookie's value for the device. The code is used up, and another stands.
    Right(String),
    /// It was not.
    Wrong,
    /// It was not, and so many were not that another code stands now.
    Renewed,
}

impl Paired {
    /// Reads a home's paired devices. Errors: no randomness to be had; the file cannot be written.
    pub fn read(home: &Path) -> Result<Self, Error> {
        let path = home.join("derived").join("paired.json");
        let kept: Option<Kept> =
            std::fs::read(&path).ok().and_then(|bytes| serde_json::from_slice(&bytes).ok());
        let fresh = kept.is_none();
        let kept = match kept {
            Some(kept) => kept,
            None => Kept { secret: secret()?, devices: Vec::new() },
        };
        let state = State { kept, code: code()?, wrong: 0 };
        let paired = Self { path, state: Mutex::new(state) };
        // A home that is not there yet gets no folder by being looked at.
        if fresh && home.join("arrivals").is_dir() {
            paired.write(&paired.state().kept)?;
        }
        Ok(paired)
    }

    fn state(&self) -> std::sync::MutexGuard<'_, State> {
        // Nothing between lock and unlock leaves the state half changed.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The code that is good for one device.
    pub fn code(&self) -> String {
        self.state().code.clone()
    }

    /// Tries a code. Errors: no randomness; the disk.
    pub fn exchange(&self, tried: &str, now: DateTime<Utc>) -> Result<Tried, Error> {
        let tried: String =
            tried.chars().filter(char::is_ascii_alphanumeric).map(|sign| sign.to_ascii_lowercase()).collect();
        let mut state = self.state();
        if digest(&[&tried]) != digest(&[&state.code]) {
            state.wrong += 1;
            if state.wrong < PATIENCE {
                return Ok(Tried::Wrong);
            }
            state.code = code()?;
            state.wrong = 0;
            return Ok(Tried::Renewed);
        }
        let cookie = secret()?;
        state.code = code()?;
        state.wrong = 0;
        let devices = &mut state.kept.devices;
        devices.push(Device { hash: digest(&[&cookie]), since: now });
        if devices.len() > MOST {
            devices.remove(0);
        }
        self.write(&state.kept)?;
        Ok(Tried::Right(cookie))
    }

    /// Whether a cookie is that of a paired device.
    pub fn knows(&self, cookie: &str) -> bool {
        let hash = digest(&[cookie]);
        self.state().kept.devices.iter().any(|device| device.hash == hash)
    }

    /// The anti-forgery token of a device; all that need no pairing have the same.
    pub fn token(&self, cookie: &str) -> String {
        let mut token = digest(&["form", &self.state().kept.secret, cookie]);
        token.truncate(32);
        token
    }

    fn write(&self, kept: &Kept) -> Result<(), Error> {
        let cannot =
            |error: std::io::Error| Error::home("the paired devices could not be kept").because(&error);
        let folder = self.path.parent().unwrap_or(Path::new("."));
        std::fs::create_dir_all(folder).map_err(cannot)?;
        // A file of its own that is then renamed: never half there, and readable by its owner alone.
        let mut file = tempfile::NamedTempFile::new_in(folder).map_err(cannot)?;
        let text = serde_json::to_vec_pretty(kept).map_err(std::io::Error::from).map_err(cannot)?;
        file.write_all(&text).map_err(cannot)?;
        file.persist(&self.path).map_err(|error| cannot(error.error))?;
        Ok(())
    }
}

/// A SHA-256 over parts with a sign between them, in hexadecimal. Secrets are compared by it, so that how long a
/// comparison takes says nothing of them.
fn digest(parts: &[&str]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(part.as_bytes());
        hash.update([0]);
    }
    hex(&hash.finalize())
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn random<const N: usize>() -> Result<[u8; N], Error> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)
        .map_err(|error| Error::home(format!("the system gives no random numbers: {error}")))?;
    Ok(bytes)
}

/// 256 random bits in hexadecimal.
pub fn secret() -> Result<String, Error> {
    Ok(hex(&random::<32>()?))
}

fn code() -> Result<String, Error> {
    let mut code = String::new();
    while code.len() < CODE {
        for byte in random::<16>()? {
            // Bytes past the last whole round of the signs would make the first of them likelier.
            if usize::from(byte) < 256 / SIGNS.len() * SIGNS.len() && code.len() < CODE {
                code.push(char::from(SIGNS[usize::from(byte) % SIGNS.len()]));
            }
        }
    }
    Ok(code)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> DateTime<Utc> {
        DateTime::UNIX_EPOCH
    }

    #[test]
    fn a_code_is_good_once_and_its_cookie_outlives_the_program() {
        let home = tempfile::tempdir().expect("a folder");
        let paired = Paired::read(home.path()).expect("random numbers");
        let code = paired.code();
        let spoken = format!("{} {}", code[..4].to_uppercase(), &code[4..]);
        let Tried::Right(cookie) = paired.exchange(&spoken, now()).expect("a disk") else {
            panic!("the code as it is read aloud is right")
        };
        assert!(paired.knows(&cookie) && !paired.knows(&code));
        assert_eq!(paired.exchange(&code, now()).expect("a disk"), Tried::Wrong, "stolen after use");
        let again = Paired::read(home.path()).expect("a file");
        assert!(again.knows(&cookie));
        assert_eq!(again.token(&cookie), paired.token(&cookie));
        assert_ne!(again.token(&cookie), paired.token(""));
        let kept = std::fs::read_to_string(home.path().join("derived/paired.json")).expect("a file");
        assert!(!kept.contains(&cookie), "kept hashed");
    }

    #[test]
    fn a_code_that_is_guessed_at_is_replaced() {
        let home = tempfile::tempdir().expect("a folder");
        let paired = Paired::read(home.path()).expect("random numbers");
        let code = paired.code();
        let tried: Vec<Tried> =
            (0..100).map(|n| paired.exchange(&format!("wrong{n}"), now()).expect("no disk")).collect();
        assert_eq!(tried[98], Tried::Wrong);
        assert_eq!(tried[99], Tried::Renewed);
        assert_eq!(paired.exchange(&code, now()).expect("no disk"), Tried::Wrong);
    }

    #[test]
    fn codes_use_the_signs_and_differ() {
        let codes: Vec<String> = (0..50).map(|_| code().expect("random numbers")).collect();
        assert!(codes.iter().all(|c| c.len() == CODE && c.bytes().all(|b| SIGNS.contains(&b))));
        assert!(codes.windows(2).all(|two| two[0] != two[1]));
    }
}
