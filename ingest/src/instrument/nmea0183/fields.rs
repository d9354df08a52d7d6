//! The comma-separated fields of a sentence, read one after the other.

use crate::instrument::account::Refusal;
use crate::instrument::number::{self, Decimal};
use crate::instrument::stamp;

/// The fields not yet read. Past the last one, every further field is empty: old senders leave the tail off.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fields<'a> {
    rest: &'a [u8],
}

impl<'a> Fields<'a> {
    /// `body` is what follows the address and its comma.
    pub(super) fn new(body: &'a [u8]) -> Self {
        Self { rest: body }
    }

    /// Whether nothing is left.
    pub(super) fn at_end(&self) -> bool {
        self.rest.is_empty()
    }

    /// The next field as it stands.
    #[inline]
    pub(super) fn text(&mut self) -> &'a [u8] {
        match self.rest.iter().position(|&b| b == b',') {
            Some(comma) => {
                let field = &self.rest[..comma];
                self.rest = &self.rest[comma + 1..];
                field
            }
            None => std::mem::take(&mut self.rest),
        }
    }

    /// Leaves fields out.
    #[inline]
    pub(super) fn skip(&mut self, fields: usize) {
        for _ in 0..fields {
            self.text();
        }
    }

    /// The next field as a number; `None` where it is empty.
    #[inline]
    pub(super) fn number(&mut self) -> Result<Option<Decimal>, Refusal> {
        // Nearly always the number fills its field, and its end is found in reading it.
        if let Some((number, length)) = number::leading(self.rest) {
            match self.rest.get(length) {
                Some(b',') => {
                    self.rest = &self.rest[length + 1..];
                    return Ok(Some(number));
                }
                None => {
                    self.rest = &[];
                    return Ok(Some(number));
                }
                _ => {}
            }
        }
        let text = self.text();
        match number::decimal(text) {
            Some(number) => Ok(Some(number)),
            None if text.iter().all(|&b| b == b' ') => Ok(None),
            None => Err(Refusal::Malformed),
        }
    }

    /// The next field as a number's value.
    #[inline]
    pub(super) fn value(&mut self) -> Result<Option<f64>, Refusal> {
        Ok(self.number()?.map(Decimal::value))
    }

    /// The next field as one letter; 0 where it is empty.
    #[inline]
    pub(super) fn letter(&mut self) -> Result<u8, Refusal> {
        match self.text() {
            [] => Ok(0),
            [letter] => Ok(*letter),
            text => match text.trim_ascii() {
                [] => Ok(0),
                [letter] => Ok(*letter),
                _ => Err(Refusal::Malformed),
            },
        }
    }

    /// A number and the letter of its unit; `None` where the number is empty. A missing letter is a wrong unit.
    #[inline]
    pub(super) fn number_in(&mut self, unit: u8) -> Result<Option<Decimal>, Refusal> {
        let number = self.number()?;
        let letter = self.letter()?;
        match number {
            Some(_) if letter != unit => Err(Refusal::UnknownUnit),
            number => Ok(number),
        }
    }

    /// The status `A` or `V`: an empty one is void too.
    #[inline]
    pub(super) fn status(&mut self) -> Result<(), Refusal> {
        match self.letter()? {
            b'A' => Ok(()),
            b'V' | 0 => Err(Refusal::Void),
            _ => Err(Refusal::Malformed),
        }
    }

    /// The positioning mode of NMEA 0183 2.3 and later; a sentence of an older sender has none.
    #[inline]
    pub(super) fn mode(&mut self) -> Result<(), Refusal> {
        match self.letter()? {
            b'N' => Err(Refusal::Void),
            b'S' | b'M' => Err(Refusal::Simulated),
            _ => Ok(()),
        }
    }

    /// A position as `ddmm.mmm,N,dddmm.mmm,E`; `None` where it is empty.
    #[inline]
    pub(super) fn position(&mut self) -> Result<Option<(f64, f64)>, Refusal> {
        let latitude = self.degrees(b'N', b'S', 90)?;
        let longitude = self.degrees(b'E', b'W', 180)?;
        match (latitude, longitude) {
            (Some(latitude), Some(longitude)) => Ok(Some((latitude, longitude))),
            (None, None) => Ok(None),
            _ => Err(Refusal::Malformed),
        }
    }

    fn degrees(&mut self, plus: u8, minus: u8, most: i64) -> Result<Option<f64>, Refusal> {
        let number = self.number()?;
        let letter = self.letter()?;
        let Some(number) = number else { return Ok(None) };
        if number.decimals > 12 {
            // No receiver tells a picometre, and the arithmetic below would overflow.
            return Err(Refusal::Malformed);
        }
        let scale = number.scale();
        let degrees = number.whole / 100;
        let minutes = number.mantissa - degrees * 100 * scale;
        if number.mantissa < 0 || degrees > most || minutes >= 60 * scale {
            return Err(Refusal::Range);
        }
        let value = degrees as f64 + minutes as f64 / (60 * scale) as f64;
        match letter {
            letter if letter == plus => Ok(Some(value)),
            letter if letter == minus => Ok(Some(-value)),
            _ => Err(Refusal::Malformed),
        }
    }

    /// A time of day as `hhmmss.ss`, in microseconds since midnight; `None` where it is empty.
    #[inline]
    pub(super) fn time(&mut self) -> Result<Option<i64>, Refusal> {
        let Some(number) = self.number()? else { return Ok(None) };
        let whole = number.whole;
        let part = number.mantissa - whole * number.scale();
        let micros = match number.decimals {
            0 => 0,
            few @ 1..=6 => part * 10i64.pow(6 - u32::from(few)),
            many => part / 10i64.pow(u32::from(many) - 6),
        };
        if whole < 0 || micros < 0 {
            return Err(Refusal::Malformed);
        }
        stamp::clock(whole / 10_000, whole / 100 % 100, whole % 100, micros)
            .map(Some)
            .ok_or(Refusal::Malformed)
    }

    /// A number with a side after it, `plus` or `minus`; `None` where it is empty.
    #[inline]
    pub(super) fn sided(&mut self, plus: u8, minus: u8) -> Result<Option<f64>, Refusal> {
        let value = self.value()?;
        let letter = self.letter()?;
        match value {
            None => Ok(None),
            Some(value) if letter == plus => Ok(Some(value)),
            Some(value) if letter == minus => Ok(Some(-value)),
            // Nought has no side.
            Some(0.0) if letter == 0 => Ok(Some(0.0)),
            Some(_) => Err(Refusal::Malformed),
        }
    }
}

/// One value sent in several units: gives the first that is there, in the canonical unit.
///
/// Each is a number and what one of its unit is worth in the canonical one. Two of them may differ by 2 % and one
/// step of each one's last digit, since senders round and cut; more is a contradiction and refused.
#[inline]
pub(super) fn same<const N: usize>(sent: [(Option<Decimal>, f64); N]) -> Result<Option<f64>, Refusal> {
    let mut first: Option<(f64, f64)> = None;
    for (number, worth) in sent {
        let Some(number) = number else { continue };
        let (value, step) = (number.value() * worth, number.step() * worth);
        match first {
            None => first = Some((value, step)),
            Some((kept, kept_step)) => {
                let allowed = 0.02 * kept.abs().max(value.abs()) + step + kept_step;
                if (kept - value).abs() > allowed {
                    return Err(Refusal::Contradiction);
                }
            }
        }
    }
    Ok(first.map(|(value, _)| value))
}
