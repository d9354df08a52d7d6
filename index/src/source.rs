//! What a source is called: the SHA-256 of its bytes.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest, Sha256};

/// The SHA-256 of a source's bytes; its name in the archive and in every record.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SourceId([u8; 32]);

impl SourceId {
    /// The name of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    pub(crate) fn from_digest(digest: [u8; 32]) -> Self {
        Self(digest)
    }

    /// The first eight digits: enough to tell a home's sources apart on a screen.
    pub fn short(&self) -> String {
        self.to_string()[..8].to_owned()
    }

    /// The key in the database: the first 63 bits. It follows from the bytes alone, so every device and every
    /// rebuild gives a source the same key.
    pub fn key(&self) -> i64 {
        let mut first = [0; 8];
        first.copy_from_slice(&self.0[..8]);
        (u64::from_be_bytes(first) >> 1) as i64
    }
}

impl fmt::Display for SourceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Every document of the search index is labelled with it, so it is worth a few lines to be quick.
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = [0; 64];
        for (pair, byte) in text.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        f.write_str(std::str::from_utf8(&text).map_err(|_| fmt::Error)?)
    }
}

impl fmt::Debug for SourceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SourceId({self})")
    }
}

/// Text that is no SHA-256 in hexadecimal.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected 64 hexadecimal digits, found \"{0}\"")]
pub struct NotAHash(String);

impl FromStr for SourceId {
    type Err = NotAHash;

    fn from_str(text: &str) -> Result<Self, NotAHash> {
        let wrong = || NotAHash(text.to_owned());
        if text.len() != 64 || !text.is_ascii() {
            return Err(wrong());
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            let digit = |c: u8| char::from(c).to_digit(16).map(|d| d as u8);
            *byte = digit(pair[0]).zip(digit(pair[1])).map(|(a, b)| a << 4 | b).ok_or_else(wrong)?;
        }
        Ok(Self(bytes))
    }
}

impl Serialize for SourceId {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for SourceId {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = String::deserialize(d)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_is_named_by_its_sha_256() {
        // FIPS 180-4's example "abc", as published with the standard by NIST.
        let id = SourceId::of(b"abc");
        assert_eq!(id.to_string(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(id.short(), "ba7816bf");
        assert_eq!(id.key(), 0xba78_16bf_8f01_cfea_u64.wrapping_shr(1) as i64);
        assert_eq!(id.to_string().parse(), Ok(id));
        let json = serde_json::to_string(&id).unwrap();
        assert_eq!(serde_json::from_str::<SourceId>(&json).unwrap(), id);
    }

    #[test]
    fn what_is_no_hash_is_refused() {
        for text in ["", "ba78", &"g".repeat(64), &"é".repeat(32)] {
            assert!(text.parse::<SourceId>().is_err(), "{text}");
        }
    }
}
