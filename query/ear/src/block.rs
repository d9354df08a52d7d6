//! Kinds of number in which ggml keeps tensors, turned into those that are counted with here.
//!
//! The smaller kinds keep 32 numbers as a block: a scale of 16 bits, for some the least number, then whole numbers of four
//! bits, the first 16 in the lower halves of 16 bytes, the others in the upper ones; a fifth bit is kept apart. Source:
//! ggml's `ggml-quants.c`, from memory.

use half::f16;

/// Numbers of a block.
pub const BLOCK: usize = 32;

/// A kind of number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    F32,
    F16,
    Q4_0,
    Q4_1,
    Q5_0,
    Q5_1,
    Q8_0,
}

impl Kind {
    /// The kind that ggml knows by a number; none where it is not read here.
    pub fn of(number: usize) -> Option<Self> {
        Some(match number {
            0 => Kind::F32,
            1 => Kind::F16,
            2 => Kind::Q4_0,
            3 => Kind::Q4_1,
            6 => Kind::Q5_0,
            7 => Kind::Q5_1,
            8 => Kind::Q8_0,
            _ => return None,
        })
    }

    /// Bytes of so many numbers; none where they are no whole blocks.
    pub fn bytes(self, numbers: usize) -> Option<usize> {
        let block = match self {
            Kind::F32 => return numbers.checked_mul(4),
            Kind::F16 => return numbers.checked_mul(2),
            Kind::Q4_0 => 18,
            Kind::Q4_1 => 20,
            Kind::Q5_0 => 22,
            Kind::Q5_1 => 24,
            Kind::Q8_0 => 34,
        };
        numbers.is_multiple_of(BLOCK).then(|| numbers / BLOCK * block)
    }
}

fn half(bytes: &[u8]) -> f32 {
    f16::from_le_bytes([bytes[0], bytes[1]]).to_f32()
}

/// Spreads one block out to 16-bit numbers. `block` has the bytes of a block of its kind.
pub fn spread(kind: Kind, block: &[u8], out: &mut Vec<u16>) {
    let (scale, rest) = (half(block), &block[2..]);
    let mut put = |number: f32| out.push(f16::from_f32(number).to_bits());
    match kind {
        Kind::Q4_0 => whole(0, rest).for_each(|n| put((n - 8) as f32 * scale)),
        Kind::Q5_0 => whole(fifth(rest), &rest[4..]).for_each(|n| put((n - 16) as f32 * scale)),
        Kind::Q4_1 => whole(0, &rest[2..]).for_each(|n| put(n as f32 * scale + half(rest))),
        Kind::Q5_1 => {
            whole(fifth(&rest[2..]), &rest[6..]).for_each(|n| put(n as f32 * scale + half(rest)));
        }
        Kind::Q8_0 => rest.iter().for_each(|byte| put(scale * f32::from(*byte as i8))),
        Kind::F32 | Kind::F16 => unreachable!("these are not kept in blocks"),
    }
}

/// The fifth bits of a block, the first number's lowest.
fn fifth(bytes: &[u8]) -> u32 {
    u32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]])
}

/// Whole numbers from halves of bytes and their fifth bits.
fn whole(fifth: u32, bytes: &[u8]) -> impl Iterator<Item = i32> {
    (0..BLOCK).map(move |n| {
        let byte = bytes[n % (BLOCK / 2)];
        let four = if n < BLOCK / 2 { byte & 15 } else { byte >> 4 };
        i32::from(four) | ((fifth >> n & 1) << 4) as i32
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(kind: Kind, block: &[u8]) -> Vec<f32> {
        assert_eq!(kind.bytes(BLOCK), Some(block.len()));
        let mut out = Vec::new();
        spread(kind, block, &mut out);
        out.iter().map(|bits| f16::from_bits(*bits).to_f32()).collect()
    }

    /// 16 bytes that hold 0 to 15 in their lower halves and 15 to 0 in their upper ones.
    fn halves() -> Vec<u8> {
        (0..16).map(|n| n | (15 - n) << 4).collect()
    }

    /// The whole numbers that these are, `fifth` added to every second one.
    fn expected(fifth: i32, number: impl Fn(i32) -> f32) -> Vec<f32> {
        let whole = (0..16).chain((0..16).rev());
        whole.enumerate().map(|(n, whole)| number(whole + fifth * (n as i32 % 2))).collect()
    }

    const HALF: [u8; 2] = [0x00, 0x38];
    const MINUS_THREE: [u8; 2] = [0x00, 0xc2];
    const EVERY_SECOND: [u8; 4] = [0xaa; 4];

    #[test]
    fn blocks_spread_out_to_their_numbers() {
        let halves = halves();
        assert_eq!(
            numbers(Kind::Q4_0, &[&HALF[..], &halves].concat()),
            expected(0, |n| (n - 8) as f32 * 0.5)
        );
        assert_eq!(
            numbers(Kind::Q4_1, &[&HALF[..], &MINUS_THREE, &halves].concat()),
            expected(0, |n| n as f32 * 0.5 - 3.0)
        );
        assert_eq!(
            numbers(Kind::Q5_0, &[&HALF[..], &EVERY_SECOND, &halves].concat()),
            expected(16, |n| (n - 16) as f32 * 0.5)
        );
        assert_eq!(
            numbers(Kind::Q5_1, &[&HALF[..], &MINUS_THREE, &EVERY_SECOND, &halves].concat()),
            expected(16, |n| n as f32 * 0.5 - 3.0)
        );
        let bytes: Vec<u8> = (-16..16_i8).map(|n| (n * 8) as u8).collect();
        let eights: Vec<f32> = (-16..16).map(|n| n as f32 * 4.0).collect();
        assert_eq!(numbers(Kind::Q8_0, &[&HALF[..], &bytes].concat()), eights);
    }

    #[test]
    fn only_whole_blocks_have_a_size() {
        assert_eq!(Kind::Q8_0.bytes(64), Some(68));
        assert_eq!(Kind::Q8_0.bytes(63), None);
        assert_eq!(Kind::of(14), None);
    }
}
