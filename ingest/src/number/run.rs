//! Numbers side by side, and what they can mean together.

use std::ops::Range;

use super::atom::{Atom, Form, atom_at};
use crate::token::{Gap, Kind, Token};

/// Numbers that stand side by side with nothing between.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// At least one.
    pub atoms: Vec<Atom>,
}

/// By which rule a candidate came out of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// A single number as it stands.
    Plain,
    /// "twelve eight" for 12.8, "twenty nine ninety" for 29.90.
    Decimal,
    /// "fourteen fifteen" for 14 to 15.
    Pair,
    /// "one eighty five" for 185, "ten twenty four" for 1024.
    Hundreds,
    /// "one zero one two" for 1012.
    Digits,
    /// "eleven eleven point eight": said again, cut short the first time.
    Again,
    /// "1618" for 16 to 18, "126" for 12.6: two numbers that a recogniser wrote as one.
    Fused,
}

/// One meaning of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// Lower end.
    pub low: f64,
    /// Upper end; equal to `low` for a single value.
    pub high: f64,
    /// By which rule.
    pub how: How,
}

/// Finds the runs of a text, in order, not overlapping.
pub fn runs(tokens: &[Token<'_>]) -> Vec<Run> {
    let mut out = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let Some(first) = atom_at(tokens, at) else {
            at += 1;
            continue;
        };
        // "five out of five \n eight degrees": the second is whole.
        let of_all = first.start > 1 && tokens[first.start - 1].is("of") && tokens[first.start - 2].is("out");
        let mut atoms = vec![first];
        loop {
            let last = &atoms[atoms.len() - 1];
            let Some(next) = tokens.get(last.end).filter(|t| {
                !of_all
                    && (t.gap == Gap::Space
                        || t.gap == Gap::Line
                        || t.gap == Gap::Hyphen && hundreds_follow(tokens, last))
            }) else {
                break;
            };
            // Signs begin a new number, and so do two figures that could not be one number said in two parts.
            let figures = next.kind == Kind::Number && tokens[last.end - 1].kind == Kind::Number;
            let parts =
                matches!(last.form, Form::Figures(1..=2)) && next.lower.len() <= 2 && next.gap == Gap::Space;
            if (figures && !parts)
                || next.is_any(words!["minus", "-", "+", "−", "–", "a", "an", "half", "point"])
                    && !next.is("point")
                    && !hundred_follows(tokens, last.end)
            {
                break;
            }
            // Across a cue's end only the second half of a number goes on; "and a bit" ends one.
            let zero = is_digit(last) && last.value == 0.0;
            let whole = !zero
                && (!matches!(last.form, Form::Digit | Form::Small | Form::Figures(_)) || atoms.len() > 1);
            let bit = tokens[last.end - 1].is_any(words!["bit", "touch", "smidge"]);
            let goes_on = matches!(last.form, Form::Decimal(1))
                && atoms.len() == 1
                && atom_at(tokens, last.end).is_some_and(|a| a.form == Form::Digit);
            if bit || (next.gap == Gap::Line && whole && !goes_on && !equal_follows(tokens, last)) {
                break;
            }
            match atom_at(tokens, last.end) {
                Some(atom) if atoms.len() < 6 => atoms.push(atom),
                _ => break,
            }
        }
        at = atoms[atoms.len() - 1].end;
        out.push(Run { atoms });
    }
    out
}

/// "one-forty", "two-ninety": hundreds and the rest with a hyphen between.
fn hundreds_follow(tokens: &[Token<'_>], last: &Atom) -> bool {
    // "one-four-oh": digit by digit.
    let digit = |at: usize| {
        tokens.get(at).is_some_and(|t| t.gap == Gap::Hyphen && t.kind == Kind::Word)
            && atom_at(tokens, at).is_some_and(|a| a.form == Form::Digit)
    };
    let third = digit(last.start) && last.start > 0 && tokens[last.start - 1].kind == Kind::Word;
    if last.form == Form::Digit && digit(last.end) && (digit(last.end + 1) || third) {
        return true;
    }
    last.form == Form::Digit
        && last.value > 0.0
        && tokens[last.end].kind == Kind::Word
        && atom_at(tokens, last.end).is_some_and(|a| a.form == Form::Small && a.value >= 13.0)
}

/// "forty five \n forty five minutes": said again.
fn equal_follows(tokens: &[Token<'_>], last: &Atom) -> bool {
    atom_at(tokens, last.end).is_some_and(|a| a.value == last.value)
}

fn hundred_follows(tokens: &[Token<'_>], at: usize) -> bool {
    tokens[at].is("a") && tokens.get(at + 1).is_some_and(|t| t.is("hundred"))
}

impl Run {
    /// All its tokens.
    pub fn tokens(&self) -> Range<usize> {
        self.atoms[0].start..self.atoms[self.atoms.len() - 1].end
    }

    /// Everything it may mean, the plainest first.
    pub fn candidates(&self) -> Vec<Candidate> {
        let mut out = Vec::new();
        let single = |value: f64, how| Candidate { low: value, high: value, how };
        match self.atoms.as_slice() {
            [one] => {
                out.push(single(one.value, How::Plain));
                fused(one, &mut out);
            }
            many => {
                if let Some(value) = decimal(many) {
                    out.push(single(value, How::Decimal));
                }
                // "thirty point one \n eight": the rest of the decimals.
                if let [whole, digit] = many
                    && whole.form == Form::Decimal(1)
                    && is_digit(digit)
                {
                    out.push(single(whole.value + digit.value / 100.0, How::Decimal));
                }
                pairs(many, &mut out);
                if let Some(value) = hundreds(many) {
                    out.push(single(value, How::Hundreds));
                }
                if let Some(value) = digits(many) {
                    out.push(single(value, How::Digits));
                }
                // "eleven eleven point eight": begun again.
                let (last, other) = (many[many.len() - 1].value, many[many.len() - 2].value);
                if last.floor() == other.floor() {
                    out.push(single(last, How::Again));
                }
            }
        }
        out
    }

    /// Cuts a run in two before an atom; used where a connector on either side shows that two numbers met.
    pub fn split(&self, at: usize) -> (Run, Run) {
        (Run { atoms: self.atoms[..at].to_vec() }, Run { atoms: self.atoms[at..].to_vec() })
    }
}

fn spoken(atom: &Atom) -> bool {
    matches!(atom.form, Form::Digit | Form::Small | Form::Figures(1..=2))
}

/// "twelve eight" is 12.8; "thirty oh five" is 30.05; "twenty nine ninety seven" is 29.97.
fn decimal(atoms: &[Atom]) -> Option<f64> {
    let (whole, rest) = atoms.split_first()?;
    if !spoken(whole) || whole.value < 0.0 {
        return None;
    }
    match rest {
        [part] if is_digit(part) => Some(whole.value + part.value / 10.0),
        [part] if two_digits(part) => Some(whole.value + part.value / 100.0),
        [a, b] if is_digit(a) && is_digit(b) => Some(whole.value + a.value / 10.0 + b.value / 100.0),
        _ => None,
    }
}

fn is_digit(atom: &Atom) -> bool {
    atom.value >= 0.0 && matches!(atom.form, Form::Digit | Form::Figures(1))
}

fn two_digits(atom: &Atom) -> bool {
    (10.0..100.0).contains(&atom.value) && matches!(atom.form, Form::Small | Form::Figures(2))
}

/// Two numbers that differ little, each of one or two atoms: "twenty two twenty three", "six four six point eight".
fn pairs(atoms: &[Atom], out: &mut Vec<Candidate>) {
    for cut in 1..atoms.len() {
        let value = |part: &[Atom]| match part {
            [one] => Some(one.value),
            [a, b] if spoken(a) && is_digit(b) => Some(a.value + b.value / 10.0),
            [a, b] if is_digit(a) && a.value > 0.0 && two_digits(b) => Some(a.value * 100.0 + b.value),
            _ => None,
        };
        let (Some(low), Some(high)) = (value(&atoms[..cut]), value(&atoms[cut..])) else { continue };
        if low == high {
            out.insert(0, Candidate { low, high, how: How::Plain });
        } else if low < high && high <= low * 1.6 + 1.0 {
            out.push(Candidate { low, high, how: How::Pair });
        } else if high < low
            && low <= high * 1.3 + 0.5
            && matches!(atoms[atoms.len() - 1].form, Form::Decimal(_))
        {
            // "five four point nine": a hedge that goes down.
            out.push(Candidate { low: high, high: low, how: How::Pair });
        }
    }
}

/// "one eighty five" is 185, "ten oh nine" is 1009, "thirty four forty one point three" is 3441.3.
fn hundreds(atoms: &[Atom]) -> Option<f64> {
    let (first, rest) = atoms.split_first()?;
    // "one thousand zero eight".
    if first.form == Form::Large && first.value % 1000.0 == 0.0 && first.value > 0.0 {
        return match rest {
            [zero, last] if zero.value == 0.0 && is_digit(last) => Some(first.value + last.value),
            _ => None,
        };
    }
    if !spoken(first) || first.value < 1.0 {
        return None;
    }
    match rest {
        [last] if (10.0..100.0).contains(&last.value) => Some(first.value * 100.0 + last.value),
        [zero, last] if zero.value == 0.0 && is_digit(last) => Some(first.value * 100.0 + last.value),
        [tens, unit] if two_digits(tens) && tens.value % 10.0 == 0.0 && is_digit(unit) => {
            Some(first.value * 100.0 + tens.value + unit.value)
        }
        _ => None,
    }
}

/// Digit by digit: "nine nine five", "one zero one two", "five zero", "one oh one two point five".
fn digits(atoms: &[Atom]) -> Option<f64> {
    let (last, head) = atoms.split_last()?;
    let decimal = matches!(last.form, Form::Decimal(_)) && last.value < 10.0;
    if !head.iter().all(is_digit)
        || !(is_digit(last) || decimal)
        || head[0].value == 0.0 && !decimal && atoms.len() == 2
    {
        return None;
    }
    Some(atoms.iter().fold(0.0, |total, a| total * 10.0 + a.value))
}

/// What a recogniser writes for two numbers said in one breath.
fn fused(atom: &Atom, out: &mut Vec<Candidate>) {
    let Form::Figures(len) = atom.form else { return };
    let value = atom.value;
    let mut pair = |low: f64, high: f64| {
        if low < high && high <= low * 1.6 + 1.0 {
            out.push(Candidate { low, high, how: How::Fused });
        }
    };
    match len {
        4 => pair((value / 100.0).floor(), value % 100.0),
        3 => pair((value / 100.0).floor(), value % 100.0),
        2 => pair((value / 10.0).floor(), value % 10.0),
        _ => {}
    }
    if len == 3 || len == 2 {
        out.push(Candidate { low: value / 10.0, high: value / 10.0, how: How::Fused });
    }
    if len == 4 {
        out.push(Candidate { low: value / 100.0, high: value / 100.0, how: How::Fused });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    /// Shows the meanings of each run of a line.
    fn shown(line: &str) -> Vec<String> {
        let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
        let one = |c: &Candidate| {
            let round = |v: f64| (v * 1000.0).round() / 1000.0;
            if c.low == c.high {
                format!("{}", round(c.low))
            } else {
                format!("{}..{}", round(c.low), round(c.high))
            }
        };
        let run = |r: Run| r.candidates().iter().map(one).collect::<Vec<_>>().join("|");
        runs(&tokens).into_iter().map(run).collect()
    }

    #[test]
    fn runs_mean_what_people_say() {
        for (line, expected) in [
            ("twenty two", "22"),
            ("a hundred and ten", "110"),
            ("two thousand two hundred", "2200"),
            ("six and a half", "6.5"),
            ("half a dozen", "6"),
            ("three quarters", "0.75"),
            ("point nine", "0.9"),
            ("twelve comma six", "12.6"),
            ("two point for", "2.4"),
            ("nought point four", "0.4"),
            ("minus four", "-4"),
            ("2 1/4", "2.25"),
            ("1,200", "1200"),
            ("12,5", "12.5"),
            ("five and twenty", "25"),
            ("sixteen hundred", "1600"),
            ("one thousand zero eight", "1008"),
            ("twelve eight", "12.8"),
            ("five four five five", "5.4..5.5"),
            ("six six point two", "6..6.2"),
            ("forty five forty five", "45|45.45|4545"),
            ("eleven eleven point eight", "11..11.8|11.8"),
            ("nine nine four", "9.94|994|994"),
            ("ten oh nine", "10.09|1009"),
            ("thirty four forty one point three", "3441.3"),
        ] {
            let found = shown(line);
            assert_eq!(found.len(), 1, "{line}: {found:?}");
            let first = expected.split('|').next().unwrap_or_default();
            assert!(
                found[0].split('|').any(|m| m == first),
                "{line}: expected {expected}, found {}",
                found[0]
            );
        }
        assert!(shown("one eighty five")[0].split('|').any(|m| m == "185"));
        assert!(shown("1618")[0].split('|').any(|m| m == "16..18"));
        assert_eq!(shown("29/08/2026 at 10:12"), Vec::<String>::new());
    }
}
