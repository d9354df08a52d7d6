//! Which heard words are parts of numbers, and which numbers sound alike.

use crate::lexicon::Words;

static SPOKEN: Words = Words::new(
    "zero oh nought one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen \
     seventeen eighteen nineteen twenty thirty forty fourty fifty sixty seventy eighty ninety hundred thousand half \
     quarter point double triple",
);

/// Whether a word is a figure or a word of one.
pub fn is_part(word: &str) -> bool {
    if word.bytes().any(|byte| byte.is_ascii_digit()) {
        return true;
    }
    let mut parts = word.split(['-', ' ']).map(|part| part.trim_matches(|c: char| !c.is_alphanumeric()));
    parts.any(|part| !part.is_empty() && SPOKEN.holds(&part.to_lowercase()))
}

/// The number that is taken for this one when it is said in wind: fourteen and forty.
pub fn twin(value: f64) -> Option<f64> {
    let whole = value.round();
    if (value - whole).abs() > 1e-9 {
        return None;
    }
    if (13.0..=19.0).contains(&whole) {
        return Some((whole - 10.0) * 10.0);
    }
    let tens = whole / 10.0;
    ((3.0..=9.0).contains(&tens) && tens.fract() == 0.0).then_some(tens + 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_of_numbers_are_told() {
        for word in ["14", "14,", "fourteen.", "Forty-two", "3.5", "1004", "point"] {
            assert!(is_part(word), "{word}");
        }
        for word in ["knots", "wind", "-", "", "tent"] {
            assert!(!is_part(word), "{word}");
        }
    }

    #[test]
    fn teens_and_tens_are_twins() {
        assert_eq!(twin(14.0), Some(40.0));
        assert_eq!(twin(40.0), Some(14.0));
        assert_eq!(twin(90.0), Some(19.0));
        assert_eq!(twin(20.0), None);
        assert_eq!(twin(14.5), None);
        assert_eq!(twin(140.0), None);
    }
}
