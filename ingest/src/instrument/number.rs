//! Decimal numbers as instruments write them, read without a detour through text.

/// A decimal number: `mantissa / 10^decimals`. The written precision stays known, which says how far two units of
/// one value may differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decimal {
    /// All digits as one integer, with the sign.
    pub mantissa: i64,
    /// Those before the point as one integer, with the sign: `mantissa / 10^decimals` without a division, which
    /// would take longer than reading the number.
    pub whole: i64,
    /// Digits after the point.
    pub decimals: u8,
}

/// Powers of ten that an `f64` holds exactly.
const POWERS: [f64; 19] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18];

/// What one in the last of so many decimals is worth.
const STEPS: [f64; 19] = [
    1e0, 1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9, 1e-10, 1e-11, 1e-12, 1e-13, 1e-14, 1e-15,
    1e-16, 1e-17, 1e-18,
];

/// Powers of ten as integers.
const SCALES: [i64; 19] = {
    let mut scales = [1; 19];
    let mut n = 1;
    while n < 19 {
        scales[n] = scales[n - 1] * 10;
        n += 1;
    }
    scales
};

impl Decimal {
    /// The value. Rounded rightly up to 15 digits, as both parts of the division are then exact; beyond that
    /// within a few units in the last place.
    #[inline]
    pub fn value(self) -> f64 {
        self.mantissa as f64 / POWERS[usize::from(self.decimals)]
    }

    /// `10^decimals`.
    #[inline]
    pub fn scale(self) -> i64 {
        SCALES[usize::from(self.decimals)]
    }

    /// What one step in the last written digit is worth.
    #[inline]
    pub fn step(self) -> f64 {
        STEPS[usize::from(self.decimals)]
    }
}

/// Reads the whole of a text as `[+-]digits[.digits]`, spaces around it allowed; `None` for anything else.
///
/// Range: at most 18 digits. `26.` and `.5` are numbers, a lone point or sign is not.
#[inline]
pub fn decimal(text: &[u8]) -> Option<Decimal> {
    let mut rest = text;
    while let [b' ', tail @ ..] = rest {
        rest = tail;
    }
    while let [head @ .., b' '] = rest {
        rest = head;
    }
    let (number, length) = leading(rest)?;
    (length == rest.len()).then_some(number)
}

/// Reads a number at the beginning of a text, and how many bytes it has. What follows it is not looked at.
#[inline]
pub fn leading(text: &[u8]) -> Option<(Decimal, usize)> {
    let sign = usize::from(matches!(text.first(), Some(b'-' | b'+')));
    let mut mantissa = 0i64;
    let mut point = None;
    let mut at = sign;
    while let Some(&b) = text.get(at) {
        let digit = b.wrapping_sub(b'0');
        if digit <= 9 {
            // A nineteenth digit may wrap; such a number is refused below.
            mantissa = mantissa.wrapping_mul(10).wrapping_add(i64::from(digit));
        } else if b == b'.' && point.is_none() {
            point = Some((at, mantissa));
        } else {
            break;
        }
        at += 1;
    }
    let (decimals, whole) = match point {
        Some((place, whole)) => (at - place - 1, whole),
        None => (0, mantissa),
    };
    let digits = at - sign - usize::from(point.is_some());
    if !(1..=18).contains(&digits) {
        return None;
    }
    let (mantissa, whole) = if text[0] == b'-' { (-mantissa, -whole) } else { (mantissa, whole) };
    Some((Decimal { mantissa, whole, decimals: decimals as u8 }, at))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn shapes() {
        for (text, value) in [
            ("0", 0.0),
            ("-3.9", -3.9),
            ("+1.5", 1.5),
            ("26.", 26.0),
            (".5", 0.5),
            (" 12.0 ", 12.0),
            ("007.250", 7.25),
            ("-0.0", 0.0),
            ("999999999999999999", 999_999_999_999_999_999.0),
        ] {
            assert_eq!(decimal(text.as_bytes()).map(Decimal::value), Some(value), "{text}");
        }
        for text in
            ["", " ", ".", "-", "1.2.3", "1e5", "0x10", "12,5", "1 2", "nan", "9999999999999999999", "--1"]
        {
            assert_eq!(decimal(text.as_bytes()), None, "{text}");
        }
        assert_eq!(decimal(b"5.850").map(Decimal::step), Some(0.001));
    }

    proptest! {
        #[test]
        fn agrees_with_the_standard_library(mantissa in -999_999_999_999_999i64..1_000_000_000_000_000, decimals in 0usize..10) {
            let text = format!("{:.decimals$}", mantissa as f64 / 10f64.powi(decimals as i32));
            if let Some(found) = decimal(text.as_bytes()) {
                let want: f64 = text.parse().expect("a number");
                let close = (found.value() - want).abs() <= want.abs() * 4.0 * f64::EPSILON;
                prop_assert!(close, "{text}: {} {want}", found.value());
            } else {
                prop_assert!(text.len() > 18);
            }
        }

        #[test]
        fn never_panics(text in proptest::collection::vec(any::<u8>(), 0..40)) {
            let _ = decimal(&text);
        }
    }
}
