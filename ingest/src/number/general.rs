//! Numbers of any text, outside of a boat's talk: scales to trillions, fractions of every kind, powers, grouped figures.
//!
//! Readings don't use this: aboard, "one eighty five" and "twelve eight" mean something that no grammar of numbers
//! knows. It is what the published cases for number recognition are checked against, and what other text may use.

use std::ops::Range;

use crate::found::Utterance;
use crate::token::{Gap, Kind, Token, tokens};
use crate::word::WordList;

/// The numbers of a plain text with their bytes, in order.
///
/// Range: any finite value; parts of what is no number ("180ml", "29km") give none.
pub fn values(text: &str) -> Vec<(f64, Range<usize>)> {
    let tokens = tokens(text, &[Utterance::line(text)]);
    let reader = Reader { text, tokens: &tokens };
    let mut out = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        match reader.at(at, &mut out) {
            Some(end) => at = end,
            None => at += 1,
        }
    }
    out
}

struct Reader<'t, 'a> {
    text: &'t str,
    tokens: &'t [Token<'a>],
}

/// A value, one past its last token, and the scale word that ended it ("million" 1e6), else 1.
type Part = (f64, usize, f64);

impl Reader<'_, '_> {
    fn is(&self, at: usize, words: &WordList) -> bool {
        self.tokens.get(at).is_some_and(|t| t.gap < Gap::Sentence && t.is_any(words))
    }

    fn between(&self, at: usize) -> &str {
        match (at.checked_sub(1).and_then(|i| self.tokens.get(i)), self.tokens.get(at)) {
            (Some(before), Some(token)) => &self.text[before.span.end..token.span.start],
            _ => "",
        }
    }

    /// Reads one number, or the several that one token of figures holds; gives one past what was read.
    fn at(&self, at: usize, out: &mut Vec<(f64, Range<usize>)>) -> Option<usize> {
        let token = &self.tokens[at];
        let (sign, start) = self.sign(at);
        let lone_article = token.is_any(words!["a", "an"]) && !self.fraction_or_scale(start + 1);
        if lone_article || self.names_a_thing(at) {
            return None;
        }
        if self.tokens.get(start)?.kind == Kind::Number
            && let Some(parts) = self.listed(start)
        {
            out.extend(parts);
            return Some(start + 1);
        }
        let (mut value, mut end, _) = self.sum(start)?;
        // "one over three", "one out of three"; not of money and years.
        let paid = start > 0 && self.tokens[start - 1].is("$");
        let over = if self.is(end, words!["over"]) {
            Some(end + 1)
        } else if self.is(end, words!["out"]) && self.is(end + 1, words!["of"]) {
            Some(end + 2)
        } else {
            None
        };
        if let Some(below) = over.filter(|_| !paid)
            && let Some((divisor, after, _)) = self.sum(below)
            && divisor != 0.0
        {
            (value, end) = (value / divisor, after);
        }
        if self.glued_word(end) {
            return Some(end);
        }
        let from = self.tokens[at].span.start;
        out.push((sign * value, from..self.tokens[end - 1].span.end));
        Some(end)
    }

    /// The sign in front of a number, and where the number begins.
    fn sign(&self, at: usize) -> (f64, usize) {
        let token = &self.tokens[at];
        if token.is_any(words!["minus", "negative"]) {
            return (-1.0, at + 1);
        }
        if token.is_any(words!["-", "−"]) && self.tokens.get(at + 1).is_some_and(|t| t.gap == Gap::Glued) {
            return (-1.0, at + 1);
        }
        // "- 1 4/5": a dash with a space behind it is no token.
        let before = self.text[..token.span.start].trim_end();
        let spaced = before.len() < token.span.start;
        let dash = spaced && before.ends_with('-') && before[..before.len() - 1].trim_end().is_empty();
        let dash = dash
            || (spaced
                && before.ends_with(" -")
                && at > 0
                && self.tokens[at - 1].kind == Kind::Word
                && value_of(&self.tokens[at - 1]).is_none()
                && token.kind == Kind::Number);
        (if dash { -1.0 } else { 1.0 }, at)
    }

    fn fraction_or_scale(&self, at: usize) -> bool {
        self.tokens
            .get(at)
            .is_some_and(|t| ordinal(t).is_some() || matches!(value_of(t), Some(Word::Scale(_))))
            || (self.tokens.get(at).is_some_and(|t| matches!(value_of(t), Some(Word::Tens(_))))
                && self.tokens.get(at + 1).is_some_and(|t| ordinal(t).is_some()))
    }

    /// "the one you mentioned", "which one", "first class".
    fn names_a_thing(&self, at: usize) -> bool {
        let one = self.tokens[at].is("one");
        let alone = self.tokens.get(at + 1).is_none_or(|t| {
            value_of(t).is_none() && ordinal(t).is_none() && !t.is_any(words!["and", "point", "over", "out"])
        });
        one && alone && at > 0 && self.tokens[at - 1].is_any(words!["the", "this", "that", "which"])
    }

    /// What one token of figures holds when it is a list, an address or a date: "192.168.1.2", "5/17/2018".
    fn listed(&self, at: usize) -> Option<Vec<(f64, Range<usize>)>> {
        let token = &self.tokens[at];
        if figures(&token.lower).is_some() || (token.lower.contains('/') && slashed(&token.lower).is_some()) {
            return None;
        }
        let mut out = Vec::new();
        let mut from = token.span.start;
        for part in token.text.split(['.', ',', '/', ':']) {
            if let Ok(value) = part.parse() {
                out.push((value, from..from + part.len()));
            }
            from += part.len() + 1;
        }
        Some(out)
    }

    fn glued_word(&self, end: usize) -> bool {
        let figures = self.tokens[end - 1].kind == Kind::Number;
        figures && self.tokens.get(end).is_some_and(|t| t.gap == Gap::Glued && t.kind == Kind::Word)
    }

    /// A number with its "and a half": whole parts and fractions added.
    fn sum(&self, at: usize) -> Option<Part> {
        let (mut value, mut end, mut scale) = self.product(at)?;
        while self.is(end, words!["and"]) {
            let Some((part, after, part_scale)) = self.product(end + 1) else { break };
            let fraction = part < 1.0 && part > 0.0;
            if fraction {
                value += if scale >= 1e3 { part * scale } else { part };
            } else if part < value && (scale >= 1e3 || value >= 20.0) && part_scale < scale.max(20.0)
                || part_scale > 1.0 && part < value
            {
                value += part;
            } else {
                break;
            }
            (end, scale) = (after, if fraction { 1.0 } else { part_scale });
        }
        Some((value, end, scale))
    }

    /// A cardinal, a fraction, or a fraction of a scale: "two thirds", "half million", "two thirds of a million".
    fn product(&self, at: usize) -> Option<Part> {
        if let Some((value, end)) = self.fraction(at) {
            let mut next = end;
            if self.is(next, words!["of"]) && self.is(next + 1, words!["a"]) {
                next += 2;
            }
            if let Some(Word::Scale(scale)) = self.tokens.get(next).and_then(value_of)
                && scale >= 1e3
            {
                return Some((value * scale, next + 1, scale));
            }
            return Some((value, end, 1.0));
        }
        self.cardinal(at)
    }

    /// "a fifth", "three quarters", "twenty-three fifths", "one twenty-fifth", "half", "one hundred thirty fifths".
    fn fraction(&self, at: usize) -> Option<(f64, usize)> {
        let token = self.tokens.get(at)?;
        if token.is("half") && self.is(at + 1, words!["a"]) && self.is(at + 2, words!["dozen"]) {
            return Some((6.0, at + 3));
        }
        if token.is_any(words!["half", "quarter"]) {
            return Some((if token.is("half") { 0.5 } else { 0.25 }, at + 1));
        }
        // Where the words of the numerator end: a cardinal, or an article.
        let article = token.is_any(words!["a", "an"]);
        let mut end = if article { at + 1 } else { at };
        let mut words = Vec::new();
        while let Some(t) = self.tokens.get(end).filter(|t| {
            end == at || t.gap < Gap::Comma || (t.gap == Gap::Clause && self.between(end).trim() == "-")
        }) {
            let and =
                t.is("and") && end > at && self.tokens.get(end + 1).is_some_and(|n| value_of(n).is_some());
            if value_of(t).is_none() && !and {
                break;
            }
            words.push(end);
            end += 1;
        }
        let (denominator, plural) =
            ordinal(self.tokens.get(end).filter(|t| t.gap < Gap::Comma || self.between(end).trim() == "-")?)?;
        let one = article || (words.len() == 1 && token.is("one"));
        if !plural && !one && denominator != 2.0 {
            // Only "one fifth" and "a fifth" stand in the singular, and compound ones behind a one.
            let single = token.is("one") && words.len() <= 2;
            if !single {
                return None;
            }
        }
        let mut below = denominator;
        let mut above_end = end;
        if let Some(&last) = words.last()
            && let Some(Word::Tens(tens)) = value_of(&self.tokens[last])
            && denominator < 10.0
        {
            let hyphen = self.tokens[end].gap == Gap::Hyphen;
            let before = words.len() >= 2 && !self.tokens[last - 1].is("and");
            if hyphen || before || article {
                below += tens;
                above_end = last;
            }
        }
        let above = if above_end == at || (article && above_end == at + 1) {
            if !article {
                return None;
            }
            1.0
        } else {
            let (value, stop, _) = self.cardinal(at)?;
            // "one hundred and three quarters" is a hundred and three quarters; the sum sees to it.
            if stop != above_end {
                return None;
            }
            let tail = words.iter().rposition(|&w| self.tokens[w].is("and"));
            if let Some(tail) = tail
                && let Some((part, _, _)) = self.cardinal(words[tail] + 1)
                && part < below
            {
                return None;
            }
            value
        };
        Some((above / below, end + 1))
    }

    /// A whole number or a decimal, in words or figures, with scales.
    fn cardinal(&self, start: usize) -> Option<Part> {
        let (mut total, mut group, mut last, mut scale) = (0.0, None::<f64>, 0.0, 1.0);
        let mut at = start;
        if self.is(at, words!["a"]) {
            at += 1;
            if !matches!(self.tokens.get(at).and_then(value_of), Some(Word::Scale(_))) {
                return None;
            }
        }
        let first = at;
        while let Some(token) = self.tokens.get(at) {
            let dash = at > first && token.gap == Gap::Clause && self.between(at).trim() == "-";
            if at > first && token.gap >= Gap::Comma && !dash {
                break;
            }
            if token.kind == Kind::Number {
                let (value, end) = self.figure(at)?;
                let scaled = matches!(self.tokens.get(end).and_then(value_of), Some(Word::Scale(_)))
                    && !self.glued_word(end);
                if at > first && !(last >= 100.0 && value < last && (scaled || value < 100.0)) {
                    break;
                }
                group = Some(group.unwrap_or(0.0) + value);
                last = if value.fract() == 0.0 && value < 10.0 { 1.0 } else { 11.0 };
                at = end;
                continue;
            }
            match value_of(token) {
                Some(Word::Digit(n)) => match group {
                    None => (group, last) = (Some(n), 1.0),
                    Some(g) if last >= 10.0 && last != 11.0 => (group, last) = (Some(g + n), 1.0),
                    Some(_) => break,
                },
                Some(Word::Teen(n)) => match group {
                    None => (group, last) = (Some(n), 11.0),
                    Some(g) if last >= 100.0 => (group, last) = (Some(g + n), 11.0),
                    Some(_) => break,
                },
                Some(Word::Tens(n)) => match group {
                    None => (group, last) = (Some(n), 10.0),
                    Some(g) if last >= 100.0 => (group, last) = (Some(g + n), 10.0),
                    Some(_) => break,
                },
                Some(Word::Scale(times)) => {
                    scale = times;
                    if times == 12.0 {
                        (group, last) = (
                            Some(match group {
                                Some(g) if last == 1.0 && g > 100.0 => g - g % 10.0 + (g % 10.0) * 12.0,
                                Some(g) => g * 12.0,
                                None => 12.0,
                            }),
                            11.0,
                        );
                    } else if times == 100.0 {
                        (group, last) = (Some(group.unwrap_or(1.0) * 100.0), 100.0);
                    } else {
                        // "three lakh crore" multiplies; "two thousand two hundred" adds.
                        if group.is_none() && total > 0.0 {
                            total *= times;
                        } else {
                            total += group.unwrap_or(1.0) * times;
                        }
                        (group, last) = (None, times);
                    }
                }
                None if token.is("and") && at > first => {
                    let next = self.tokens.get(at + 1).filter(|t| t.gap < Gap::Comma);
                    let goes_on = next.is_some_and(|t| {
                        matches!(value_of(t), Some(Word::Digit(_) | Word::Teen(_) | Word::Tens(_)))
                            || (t.kind == Kind::Number
                                && figures(&t.lower).is_some_and(|v| v < 100.0 && v.fract() == 0.0))
                    });
                    if !goes_on || last < 100.0 {
                        break;
                    }
                    // "a hundred and three quarters": what follows is the numerator of a fraction.
                    if self.fraction(at + 1).is_some_and(|(value, _)| value < 1.0) {
                        break;
                    }
                }
                None => break,
            }
            at += 1;
        }
        if at == first {
            return None;
        }
        let mut value = total + group.unwrap_or(0.0);
        if let Some(token) = self.tokens.get(at)
            && token.is("point")
            && token.gap < Gap::Comma
            && let Some((part, end)) = self.decimals(at + 1)
        {
            (value, at) = (value + part, end);
        }
        Some((value, at, if group.is_none() { scale } else { 1.0 }))
    }

    fn decimals(&self, at: usize) -> Option<(f64, usize)> {
        let mut digits = String::new();
        let mut end = at;
        while let Some(token) = self.tokens.get(end).filter(|t| t.gap < Gap::Comma) {
            match value_of(token) {
                Some(Word::Digit(n)) => digits += &n.to_string(),
                Some(Word::Teen(n)) if digits.is_empty() => digits += &n.to_string(),
                Some(Word::Tens(n)) if digits.is_empty() => {
                    let unit = self.tokens.get(end + 1).and_then(value_of);
                    let unit = if let Some(Word::Digit(d)) = unit { d } else { 0.0 };
                    digits += &(n + unit).to_string();
                    end += usize::from(unit > 0.0);
                }
                _ => break,
            }
            end += 1;
        }
        format!("0.{digits}").parse().ok().filter(|_| !digits.is_empty()).map(|v| (v, end))
    }

    /// Figures with what is glued to them: "1 234 567", "1.1^23", "1e10", "10k", "2 1/4", ".08".
    fn figure(&self, at: usize) -> Option<(f64, usize)> {
        let token = &self.tokens[at];
        let mut end = at + 1;
        if token.lower.contains('/') {
            return slashed(&token.lower).map(|v| (v, end));
        }
        let mut written = token.lower.to_string();
        let plain = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
        // Groups of three with spaces between.
        if plain(&written) && written.len() <= 3 && !written.starts_with('0') {
            while let Some(next) =
                self.tokens.get(end).filter(|t| t.kind == Kind::Number && t.gap == Gap::Space)
            {
                let (whole, rest) = next.lower.split_once('.').unwrap_or((next.lower.as_ref(), ""));
                if whole.len() != 3 || !plain(whole) {
                    break;
                }
                written += next.lower.as_ref();
                end += 1;
                if !rest.is_empty() {
                    break;
                }
            }
        }
        let mut value = figures(&written)?;
        let dot = token.span.start.checked_sub(1).is_some_and(|i| self.text.as_bytes()[i] == b'.')
            && !self.text[..token.span.start - 1].ends_with(|c: char| c.is_ascii_digit());
        if dot && plain(&token.lower) {
            value = format!("0.{}", token.lower).parse().ok()?;
        }
        if let Some(next) = self
            .tokens
            .get(end)
            .filter(|t| t.kind == Kind::Number && t.gap == Gap::Space && t.lower.contains('/'))
            && let Some(part) = slashed(&next.lower)
        {
            return Some((value + part, end + 1));
        }
        if let Some((power, after)) = self.power(end) {
            return Some((value.powf(power), after));
        }
        // "1e10", "12.32e+14".
        if self.tokens.get(end).is_some_and(|t| t.is("e") && t.gap == Gap::Glued) {
            let (sign, n) = self.signed_tail(end + 1);
            if let Some(exponent) = self
                .tokens
                .get(n)
                .filter(|t| t.gap == Gap::Glued && plain(&t.lower))
                .and_then(|t| t.lower.parse::<i32>().ok())
            {
                return Some((
                    format!("{value}e{}{exponent}", if sign < 0.0 { "-" } else { "" }).parse().ok()?,
                    n + 1,
                ));
            }
        }
        if let Some(next) = self.tokens.get(end).filter(|t| t.gap <= Gap::Space)
            && let Some(times) = suffix(next)
        {
            return Some((value * times, end + 1));
        }
        Some((value, end))
    }

    /// "^23", "^+23", "^-1" behind a base.
    fn power(&self, at: usize) -> Option<(f64, usize)> {
        let mut n = at;
        let mark = self.between(n);
        if !mark.starts_with('^') {
            return None;
        }
        let minus = mark.matches('-').count();
        let (sign, next) = self.signed_tail(n);
        n = next;
        let token = self.tokens.get(n).filter(|t| t.kind == Kind::Number)?;
        let sign = if minus % 2 == 1 { -sign } else { sign };
        Some((sign * figures(&token.lower)?, n + 1))
    }

    fn signed_tail(&self, at: usize) -> (f64, usize) {
        match self.tokens.get(at) {
            Some(t) if t.is("-") => (-1.0, at + 1),
            Some(t) if t.is("+") => (1.0, at + 1),
            Some(t) if t.gap == Gap::Hyphen => (-1.0, at),
            _ => (1.0, at),
        }
    }
}

enum Word {
    Digit(f64),
    Teen(f64),
    Tens(f64),
    Scale(f64),
}

fn value_of(token: &Token<'_>) -> Option<Word> {
    use super::atom::Word as W;
    Some(match super::atom::word(token) {
        Some(W::Digit(n)) => Word::Digit(n),
        Some(W::Teen(n)) => Word::Teen(n),
        Some(W::Tens(n)) => Word::Tens(n),
        Some(W::Times(n)) => Word::Scale(n),
        None => Word::Scale(match token.lower.as_ref() {
            "dozens" | "dzs" | "dozs" | "doz" => 12.0,
            "lakh" | "lakhs" => 1e5,
            "crore" | "crores" => 1e7,
            "bln" | "bn" => 1e9,
            "tln" => 1e12,
            _ => return None,
        }),
    })
}

/// The number that an ordinal divides by, and whether it stands in the plural: "thirds" is 3, true.
fn ordinal(token: &Token<'_>) -> Option<(f64, bool)> {
    const NAMES: [(&str, f64); 31] = [
        ("half", 2.0),
        ("halve", 2.0),
        ("first", 1.0),
        ("third", 3.0),
        ("fourth", 4.0),
        ("quarter", 4.0),
        ("fifth", 5.0),
        ("sixth", 6.0),
        ("seventh", 7.0),
        ("eighth", 8.0),
        ("ninth", 9.0),
        ("tenth", 10.0),
        ("eleventh", 11.0),
        ("twelfth", 12.0),
        ("thirteenth", 13.0),
        ("fourteenth", 14.0),
        ("fifteenth", 15.0),
        ("sixteenth", 16.0),
        ("twentieth", 20.0),
        ("thirtieth", 30.0),
        ("fortieth", 40.0),
        ("fiftieth", 50.0),
        ("sixtieth", 60.0),
        ("seventieth", 70.0),
        ("eightieth", 80.0),
        ("ninetieth", 90.0),
        ("hundredth", 100.0),
        ("thousandth", 1e3),
        ("millionth", 1e6),
        ("billionth", 1e9),
        ("trillionth", 1e12),
    ];
    let word = token.lower.as_ref();
    let (stem, plural) = match word.strip_suffix('s') {
        Some(stem) => (stem, true),
        None => (word, false),
    };
    NAMES.iter().find(|(name, _)| *name == stem).map(|(_, n)| (*n, plural))
}

/// Letters behind figures that multiply them; a small "m" is a metre.
fn suffix(token: &Token<'_>) -> Option<f64> {
    Some(match token.text {
        "k" | "K" => 1e3,
        "M" | "MM" | "mil" => 1e6,
        "G" | "b" | "B" => 1e9,
        "T" => 1e12,
        _ => return None,
    })
}

fn slashed(text: &str) -> Option<f64> {
    let (above, below) = text.split_once('/')?;
    if below.contains('/') || above.contains(':') || below.len() > 3 || above.len() > 3 {
        return None;
    }
    let (above, below): (f64, f64) = (above.parse().ok()?, below.parse().ok()?);
    (below != 0.0).then_some(above / below)
}

/// Figures with thousands marks in the Western or the Indian manner, or with a decimal mark.
fn figures(text: &str) -> Option<f64> {
    if text.contains(['/', ':']) {
        return None;
    }
    if let Some((value, _)) = super::atom::plain_figures(text) {
        return Some(value);
    }
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let groups: Vec<&str> = whole.split(',').collect();
    let indian = groups.len() >= 3
        && groups[0].len() <= 2
        && groups[groups.len() - 1].len() == 3
        && groups[1..groups.len() - 1].iter().all(|g| g.len() == 2);
    (indian && !decimals.contains(['.', ',']))
        .then(|| format!("{}.{decimals}0", whole.replace(',', "")).parse().ok())
        .flatten()
}
