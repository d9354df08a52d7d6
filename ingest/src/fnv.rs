//! FNV-1a, 64 bits: a hash whose values may be kept, since it is the same in every build and on every device.
//!
//! Offset basis and prime are from the published parameters of that hash (from memory).

/// The hash of nothing.
pub const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
const PRIME: u64 = 0x0100_0000_01b3;

/// Goes on from a hash with further bytes.
pub fn fnv(from: u64, bytes: impl IntoIterator<Item = u8>) -> u64 {
    bytes.into_iter().fold(from, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(PRIME))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The published test vectors of the hash's authors for "", "a" and "foobar" (from memory).
    #[test]
    fn published_vectors() {
        assert_eq!(fnv(BASIS, []), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv(BASIS, *b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fnv(BASIS, *b"foobar"), 0x8594_4171_f739_67e8);
    }
}
