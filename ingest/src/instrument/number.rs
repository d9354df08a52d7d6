//! Decimal numbers as instruments write them, read without a detour through text.

/// A decimal number: `mantissa / 10^decimals`. The written precision stays known, which says how far two units of
/// one value may differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decimal {
    /// All digits as one integer, with the sign.
    pub mantissa: i64,
    /// Digits after the point.
    pub decimals: u8,
}

/// Powers of ten that an `f64` holds exactly.
const POWERS: [f64; 19] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18];

impl Decimal {
    /// The value. Rounded rightly up to 15 digits, as both parts of the division are then exact; beyond that
    /// within a few units in the last place.
    #[inline]
    pub fn value(self) -> f64 {
        self.mantissa as f64 / POWERS[usize::from(self.decimals)]
    }

    /// What one step in the last written digit is worth.
    #[inline]
    pub fn step(self) -> f64 {
        1.0 / POWERS[usize::from(self.decimals)]
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
    let negative = match rest {
        [b'-', tail @ ..] => {
            rest = tail;
            true
        }
        [b'+', tail @ ..] => {
            rest = tail;
            false
        }
        _ => false,
    };
    if rest.len() > 19 {
        return None;
    }
    let mut mantissa = 0i64;
    let mut digits = 0u8;
    let mut decimals = 0u8;
    let mut point = false;
    for &b in rest {
        let digit = b.wrapping_sub(b'0');
        if digit <= 9 {
            // A nineteenth digit may wrap; such a number is refused below.
            mantissa = mantissa.wrapping_mul(10).wrapping_add(i64::from(digit));
            digits += 1;
            decimals += u8::from(point);
        } else if b == b'.' && !point {
            point = true;
        } else {
            return None;
        }
    }
    if digits == 0 || digits > 18 {
        return None;
    }
    Some(Decimal { mantissa: if negative { -mantissa } else { mantissa }, decimals })
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
