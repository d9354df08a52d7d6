//! One number that grammar alone settles: "twenty two", "12.8", "a hundred and five", "six and a half", "¾".

use std::sync::LazyLock;

use crate::lexicon::{WordMap, Words};
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

/// How a number was said or written; decides what it may be joined with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// One of zero to nine in words, "oh" for zero.
    Digit,
    /// Ten to ninety-nine in words.
    Small,
    /// With a "hundred", a "thousand" or more in words.
    Large,
    /// With a decimal part, in words or figures; the number of decimals.
    Decimal(usize),
    /// With "half", "quarter" and the like, or a fraction in figures.
    Fraction,
    /// A whole number in figures; how many of them.
    Figures(usize),
}

/// A number and its tokens.
#[derive(Clone, Debug, PartialEq)]
pub struct Atom {
    /// Its value.
    pub value: f64,
    /// Index of its first token, a sign included.
    pub start: usize,
    /// One past its last token.
    pub end: usize,
    /// How it was said.
    pub form: Form,
}

/// What a word counts.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Word {
    Digit(f64),
    Teen(f64),
    Tens(f64),
    Times(f64),
}

/// Whether a token is a number in words, or part of one.
pub fn is_number_word(token: &Token<'_>) -> bool {
    word(token).is_some() || token.is_any(words!["half", "minus", "point", "oh"])
}

/// What each word counts.
#[rustfmt::skip]
const COUNTS: &[(&str, Word)] = &[
    ("zero", Word::Digit(0.0)), ("nought", Word::Digit(0.0)), ("naught", Word::Digit(0.0)),
    ("nil", Word::Digit(0.0)), ("one", Word::Digit(1.0)), ("two", Word::Digit(2.0)),
    ("three", Word::Digit(3.0)), ("four", Word::Digit(4.0)),
    ("fower", Word::Digit(4.0)), ("five", Word::Digit(5.0)), ("fife", Word::Digit(5.0)),
    ("six", Word::Digit(6.0)), ("seven", Word::Digit(7.0)), ("eight", Word::Digit(8.0)),
    ("nine", Word::Digit(9.0)), ("niner", Word::Digit(9.0)), ("ten", Word::Teen(10.0)),
    ("eleven", Word::Teen(11.0)), ("twelve", Word::Teen(12.0)), ("thirteen", Word::Teen(13.0)),
    ("fourteen", Word::Teen(14.0)), ("fifteen", Word::Teen(15.0)), ("sixteen", Word::Teen(16.0)),
    ("seventeen", Word::Teen(17.0)), ("eighteen", Word::Teen(18.0)), ("nineteen", Word::Teen(19.0)),
    ("twenty", Word::Tens(20.0)), ("thirty", Word::Tens(30.0)), ("forty", Word::Tens(40.0)),
    ("fourty", Word::Tens(40.0)), ("fifty", Word::Tens(50.0)), ("sixty", Word::Tens(60.0)),
    ("seventy", Word::Tens(70.0)), ("eighty", Word::Tens(80.0)), ("ninety", Word::Tens(90.0)),
    ("hundred", Word::Times(100.0)), ("hundreds", Word::Times(100.0)), ("thousand", Word::Times(1e3)),
    ("thousands", Word::Times(1e3)), ("million", Word::Times(1e6)), ("millions", Word::Times(1e6)),
    ("billion", Word::Times(1e9)), ("billions", Word::Times(1e9)), ("trillion", Word::Times(1e12)),
    ("trillions", Word::Times(1e12)), ("dozen", Word::Times(12.0)),
];

/// The words that count; "twentytwo" and the like, written in one word, among them.
static WORDS: LazyLock<WordMap<Word>> = LazyLock::new(|| {
    let mut together = Vec::new();
    for &(tens, word) in COUNTS {
        let Word::Tens(value) = word else { continue };
        for &(unit, word) in COUNTS {
            if let Word::Digit(n) = word
                && n > 0.0
            {
                together.push((format!("{tens}{unit}"), Word::Teen(value + n)));
            }
        }
    }
    WordMap::new(
        COUNTS.iter().copied().chain(together.iter().map(|(written, word)| (written.as_str(), *word))),
    )
});

/// Words that a number can begin with, beside those that count.
static BEGINNINGS: Words = Words::new(
    "minus negative plus a an half halves third thirds quarter quarters fifth fifths sixth sixths eighth eighths tenth \
     tenths sixteenth sixteenths hundredth hundredths couple point decimal oh o",
);

pub(super) fn word(token: &Token<'_>) -> Option<Word> {
    if token.kind == Kind::Word { WORDS.get(token).copied() } else { None }
}

/// Words that a lone "one" or "two" follows when it stands for a thing: "the second one", "that one".
const BEFORE_A_PRONOUN: &WordList = words![
    "the",
    "that",
    "this",
    "a",
    "an",
    "big",
    "old",
    "new",
    "short",
    "long",
    "other",
    "good",
    "bad",
    "next",
    "last",
    "which",
    "every",
    "each",
    "any",
    "no",
    "second",
    "first",
    "third",
    "another",
    "bigger",
    "smaller",
    "little",
    "electric",
    "small",
    "odd",
    "right",
    "wrong",
    "only",
    "spare",
    "hand",
    "whatever",
    "weather",
    "worst",
    "best",
    "quick",
    "black",
    "red",
    "green",
    "real",
    "lee",
    "same",
    "quiet",
    "automatic",
];

/// Words between a whole number and its decimals; speakers whose decimals have a comma say "comma".
const DECIMAL: &WordList =
    words!["point", "decimal", "comma", "komma", "coma", "kama", "karma", "calmer", "dot"];

/// Whether the decimals follow; no sentence begins with "comma two", whatever stop was written in front of it.
fn decimal_word(tokens: &[Token<'_>], at: usize) -> bool {
    tokens.get(at).is_some_and(|t| {
        t.is_any(DECIMAL)
            && (t.gap < Gap::Comma
                || (t.gap < Gap::Block
                    && tokens.get(at + 1).is_some_and(|n| n.gap <= Gap::Comma && is_number_word(n))))
    })
}

fn joined(tokens: &[Token<'_>], at: usize) -> bool {
    tokens.get(at).is_some_and(|t| t.gap < Gap::Comma)
}

fn is(tokens: &[Token<'_>], at: usize, words: &WordList) -> bool {
    joined(tokens, at) && tokens[at].is_any(words)
}

/// The number that begins at `tokens[at]`, with its sign and its "and a half".
pub fn atom_at(tokens: &[Token<'_>], at: usize) -> Option<Atom> {
    let token = tokens.get(at)?;
    if token.kind == Kind::Word && !BEGINNINGS.has(token) && word(token).is_none() {
        return None;
    }
    let sign = match token.lower.as_ref() {
        "-" | "−" | "–"
            if tokens.get(at + 1).is_some_and(|t| t.gap == Gap::Glued && t.kind == Kind::Number)
                // "+/-8" has no sign.
                && !(at > 0 && token.gap == Gap::Glued && tokens[at - 1].is("/")) =>
        {
            -1.0
        }
        "+" if tokens.get(at + 1).is_some_and(|t| t.gap == Gap::Glued && t.kind == Kind::Number) => 1.0,
        // "Plus minus ten".
        "minus" if at > 0 && token.gap <= Gap::Line && tokens[at - 1].is("plus") => return None,
        "minus" | "negative" if joined(tokens, at + 1) => -1.0,
        "plus" if joined(tokens, at + 1) && !(at > 0 && atom_ends(tokens, at)) => 1.0,
        _ => 0.0,
    };
    if sign != 0.0 {
        let atom = unsigned(tokens, at + 1)?;
        return Some(Atom { value: sign * atom.value, start: at, ..atom });
    }
    unsigned(tokens, at)
}

/// Whether a number stands right in front, so that a "plus" adds or follows it.
fn atom_ends(tokens: &[Token<'_>], at: usize) -> bool {
    tokens[at].gap < Gap::Comma && (tokens[at - 1].kind == Kind::Number || word(&tokens[at - 1]).is_some())
}

fn unsigned(tokens: &[Token<'_>], at: usize) -> Option<Atom> {
    let mut atom = whole(tokens, at)?;
    // "six and a half", "two and three quarters", "seven and a bit".
    if matches!(atom.form, Form::Digit | Form::Small | Form::Large | Form::Figures(_)) {
        if is(tokens, atom.end, words!["and", "&"])
            && joined(tokens, atom.end + 1)
            && let Some((part, end)) = part(tokens, atom.end + 1)
        {
            atom.value += part;
            atom.end = end;
            atom.form = Form::Fraction;
        } else if is(tokens, atom.end, words!["and"])
            && is(tokens, atom.end + 1, words!["a"])
            && is(tokens, atom.end + 2, words!["bit", "smidge", "touch"])
        {
            atom.end += 3;
        }
    }
    Some(atom)
}

/// A part of one: "a half", "half", "three quarters", "a third", "a tenth".
fn part(tokens: &[Token<'_>], at: usize) -> Option<(f64, usize)> {
    let (count, next) = if tokens.get(at).is_some_and(|t| t.is_any(words!["a", "an", "one"])) {
        (1.0, at + 1)
    } else if let Some(Word::Digit(n)) = tokens.get(at).and_then(word) {
        (n, at + 1)
    } else {
        (1.0, at)
    };
    if next > at && !joined(tokens, next) {
        return None;
    }
    let size = match tokens.get(next)?.lower.as_ref() {
        "half" | "halves" => 2.0,
        "third" | "thirds" => 3.0,
        "quarter" | "quarters" => 4.0,
        "fifth" | "fifths" => 5.0,
        "sixth" | "sixths" => 6.0,
        "eighth" | "eighths" => 8.0,
        "tenth" | "tenths" => 10.0,
        "sixteenth" | "sixteenths" => 16.0,
        "hundredth" | "hundredths" => 100.0,
        _ => return None,
    };
    // "the second third", "a fifth" of a row are ordinals: only half and quarter stand without "of" or a count.
    let ordinal = size != 2.0
        && size != 4.0
        && next == at
        && !(is(tokens, next + 1, words!["of"]) && is(tokens, next + 2, words!["a", "an"]));
    (!ordinal).then_some((count / size, next + 1))
}

fn whole(tokens: &[Token<'_>], at: usize) -> Option<Atom> {
    let token = tokens.get(at)?;
    match token.kind {
        Kind::Number => figures(tokens, at),
        Kind::Symbol => None,
        Kind::Word => {
            if let Some(atom) = fraction(tokens, at) {
                return Some(atom);
            }
            let article = at > 0
                && joined(tokens, at)
                && tokens[at - 1].is_any(words!["the", "a", "this", "that", "at", "to"])
                && token.gap == Gap::Space;
            let same_cue = tokens.get(at + 1).is_some_and(|t| t.gap == Gap::Space);
            if (token.is("point") || token.is("decimal"))
                && same_cue
                && (!article || tokens[at - 1].is_any(words!["at", "to"]))
            {
                let (value, places, end) = decimals(tokens, at + 1)?;
                return Some(Atom { value, start: at, end, form: Form::Decimal(places) });
            }
            in_words(tokens, at)
        }
    }
}

fn fraction(tokens: &[Token<'_>], at: usize) -> Option<Atom> {
    let token = &tokens[at];
    if token.is_any(words!["a", "an"]) && is(tokens, at + 1, words!["couple"]) {
        let end = if is(tokens, at + 2, words!["of"]) { at + 3 } else { at + 2 };
        return Some(Atom { value: 2.0, start: at, end, form: Form::Digit });
    }
    if token.is("couple") && is(tokens, at + 1, words!["of"]) {
        return Some(Atom { value: 2.0, start: at, end: at + 2, form: Form::Digit });
    }
    if token.is("half") && is(tokens, at + 1, words!["a", "an"]) && is(tokens, at + 2, words!["dozen"]) {
        return Some(Atom { value: 6.0, start: at, end: at + 3, form: Form::Small });
    }
    // "sea on the quarter", "the port quarter": a part of the boat.
    let side = token.is_any(words!["quarter", "quarters"])
        && at > 0
        && joined(tokens, at)
        && tokens[at - 1].is_any(words![
            "the",
            "port",
            "starboard",
            "stbd",
            "lee",
            "weather",
            "each",
            "either",
            "her",
            "my",
            "our",
        ]);
    if side {
        return None;
    }
    let (value, end) = part(tokens, at)?;
    // "quarter to eight", "half past", "half six" are times of day.
    if is(tokens, end, words!["past", "to"])
        || (token.is("half") && tokens.get(end).is_some_and(|t| joined(tokens, end) && word(t).is_some()))
    {
        return None;
    }
    Some(Atom { value, start: at, end, form: Form::Fraction })
}

/// Digits after "point": single digits in words, or one figure or number below a hundred.
fn decimals(tokens: &[Token<'_>], at: usize) -> Option<(f64, usize, usize)> {
    let mut text = String::new();
    let mut end = at;
    while let Some(token) =
        tokens.get(end).filter(|t| joined(tokens, end) || (end == at && t.gap == Gap::Comma))
    {
        let digit = match word(token) {
            Some(Word::Digit(n)) => Some(n as u32),
            _ if token.is_any(words!["oh", "o"]) => Some(0),
            // What a recogniser makes of "four" and "two" there.
            _ if end == at && token.is_any(words!["for", "fore"]) => Some(4),
            _ if end == at && token.is_any(words!["to", "too"]) => Some(2),
            _ if end == at && token.is("ate") => Some(8),
            _ => None,
        };
        match digit {
            // "five point two five point two" is said twice: the second "five" begins the next number.
            Some(_) if end > at && decimal_word(tokens, end + 1) => break,
            // A further digit in the next cue more likely begins a number.
            Some(_) if end > at && token.gap == Gap::Line => break,
            Some(n) if text.len() < 3 => {
                text += &n.to_string();
                end += 1;
            }
            _ => break,
        }
    }
    if text.is_empty() {
        let token = tokens.get(at).filter(|_| joined(tokens, at))?;
        match (word(token), token.kind) {
            (Some(Word::Teen(n)), _) => text = format!("{n}"),
            (Some(Word::Tens(n)), _) => {
                text = format!("{n}");
                if let Some(Word::Digit(d)) =
                    tokens.get(at + 1).filter(|_| joined(tokens, at + 1)).and_then(word)
                {
                    text = format!("{}", n + d);
                    end = at + 1;
                }
            }
            (None, Kind::Number) if token.lower.bytes().all(|b| b.is_ascii_digit()) => {
                text = token.lower.to_string()
            }
            _ => return None,
        }
        end += 1;
    }
    let value: f64 = format!("0.{text}").parse().ok()?;
    Some((value, text.len(), end))
}

fn in_words(tokens: &[Token<'_>], start: usize) -> Option<Atom> {
    let mut at = start;
    let token = &tokens[start];
    // "a hundred", "a thousand", "a dozen".
    if token.is("a") {
        if !joined(tokens, start + 1) || !matches!(tokens.get(start + 1).and_then(word), Some(Word::Times(_)))
        {
            return None;
        }
        at += 1;
    }
    let oh = |at: usize| joined(tokens, at) && tokens[at].is_any(words!["oh", "o"]);
    if token.is_any(words!["oh", "o"]) {
        // "one four oh": the last of three that are told digit by digit.
        let digit = |at: usize| matches!(tokens.get(at).and_then(word), Some(Word::Digit(_)));
        let last = start >= 2
            && joined(tokens, start)
            && joined(tokens, start - 1)
            && digit(start - 1)
            && digit(start - 2);
        let goes_on = joined(tokens, start + 1) && (digit(start + 1) || oh(start + 1));
        (last || goes_on).then_some(())?;
        return Some(Atom { value: 0.0, start, end: start + 1, form: Form::Digit });
    }
    let (mut total, mut group, mut form) = (0.0, None::<f64>, Form::Digit);
    let mut last = 0.0_f64; // size of the last part of the group
    let first = at;
    while let Some(token) = tokens.get(at).filter(|_| at == first || joined(tokens, at)) {
        match word(token) {
            // "one thousand zero eight" goes on digit by digit.
            Some(Word::Digit(0.0)) if group.is_none() && total > 0.0 => break,
            Some(Word::Digit(n)) => match group {
                None => {
                    (group, last, form) = (Some(n), 1.0, if total > 0.0 { Form::Large } else { Form::Digit })
                }
                Some(g) if last >= 10.0 && n > 0.0 && last != 11.0 => (group, last) = (Some(g + n), 1.0),
                Some(_) => break,
            },
            Some(Word::Teen(n)) => match group {
                None => {
                    (group, last, form) = (Some(n), 11.0, if total > 0.0 { Form::Large } else { Form::Small })
                }
                Some(g) if last >= 100.0 => (group, last) = (Some(g + n), 11.0),
                Some(_) => break,
            },
            Some(Word::Tens(n)) => match group {
                None => {
                    (group, last, form) = (Some(n), 10.0, if total > 0.0 { Form::Large } else { Form::Small })
                }
                Some(g) if last >= 100.0 => (group, last) = (Some(g + n), 10.0),
                Some(_) => break,
            },
            Some(Word::Times(times)) => {
                form = Form::Large;
                if times <= 100.0 {
                    if last >= 100.0 {
                        break;
                    }
                    (group, last) = (Some(group.unwrap_or(1.0) * times), times.max(100.0));
                } else {
                    if total > 0.0 && times * group.unwrap_or(1.0) > total {
                        break;
                    }
                    total += group.unwrap_or(1.0) * times;
                    (group, last) = (None, 0.0);
                }
            }
            None => {
                // "a hundred and ten", "a thousand and two"; not "eighteen and twenty".
                let after_large = last >= 100.0 || (group.is_none() && total > 0.0);
                let next = tokens.get(at + 1).filter(|_| joined(tokens, at + 1)).and_then(word);
                if after_large
                    && token.is("and")
                    && matches!(next, Some(Word::Digit(_) | Word::Teen(_) | Word::Tens(_)))
                {
                    // "a hundred and a hundred and ten": only what fits below the hundred goes on.
                    at += 1;
                    continue;
                }
                break;
            }
        }
        // "a hundred and sixty, hundred and …": a hyphen may only join tens to units.
        at += 1;
    }
    if at == first {
        return None;
    }
    // A trailing "and" was not part of it.
    while at > first && tokens[at - 1].is("and") {
        at -= 1;
    }
    let mut atom = Atom { value: total + group.unwrap_or(0.0), start, end: at, form };
    // "five and twenty".
    if atom.form == Form::Digit
        && atom.value >= 1.0
        // "twelve two and fifty's the floor" are two numbers.
        && (start == 0 || !atom_ends(tokens, start))
        && is(tokens, at, words!["and"])
        && let Some(Word::Tens(tens)) = tokens.get(at + 1).filter(|t| t.gap <= Gap::Line).and_then(word)
        && !matches!(tokens.get(at + 2).and_then(word), Some(Word::Digit(_)))
    {
        atom.value += tens;
        atom.end = at + 2;
        atom.form = Form::Small;
    }
    if decimal_word(tokens, at)
        && let Some((part, places, end)) = decimals(tokens, at + 1)
    {
        atom.value += part;
        atom.end = end;
        atom.form = Form::Decimal(places);
    } else if atom.form == Form::Digit
        && (atom.value == 1.0 || atom.value == 2.0)
        && stands_for_a_thing(tokens, start, at)
    {
        return None;
    }
    Some(atom)
}

fn stands_for_a_thing(tokens: &[Token<'_>], start: usize, end: usize) -> bool {
    let one = tokens[start].is("one");
    // "down to a one", "only a two": a force.
    if start >= 2
        && tokens[start - 1].is_any(words!["a", "an"])
        && tokens[start - 2].is_any(words!["to", "only", "about", "than", "force", "just"])
    {
        return false;
    }
    let before = start > 0 && joined(tokens, start) && tokens[start - 1].is_any(BEFORE_A_PRONOUN);
    // "The diesel one", "which is the hard one", but "the glass one zero one two".
    let kind = start >= 2
        && joined(tokens, start)
        && joined(tokens, start - 1)
        && tokens[start - 1].kind == Kind::Word
        && !tokens[start - 1].is_any(words!["force", "about", "only", "just", "to", "at", "is", "was"])
        && tokens[start - 2].is_any(words!["the", "this", "that", "other"])
        && tokens.get(end).is_none_or(|t| t.kind != Kind::Number && word(t).is_none());
    let of = is(tokens, end, words!["of"]);
    one && (before || kind || of) && crate::quantity::unit_named(tokens, end).is_none()
}

/// A number in figures: "12", "12.8", "1,200", "3/8", "2 1/4", "¾"; times, dates and part numbers give none.
fn figures(tokens: &[Token<'_>], at: usize) -> Option<Atom> {
    let text = tokens[at].lower.as_ref();
    let mut end = at + 1;
    if let Some(value) = vulgar(text) {
        return Some(Atom { value, start: at, end, form: Form::Fraction });
    }
    if text.contains('/') {
        return slashed(text).map(|value| Atom { value, start: at, end, form: Form::Fraction });
    }
    if text.contains(':') {
        return None;
    }
    let (mut value, decimals) = plain_figures(text)?;
    if let Some((value, end)) = thousands(tokens, at, value, decimals) {
        return Some(Atom { value, start: at, end, form: Form::Figures(4) });
    }
    let mut form = if decimals > 0 { Form::Decimal(decimals) } else { Form::Figures(text.len()) };
    // "2 1/4", "2¼", "12 point 6".
    if decimals == 0 {
        if let Some(next) = tokens.get(end).filter(|t| t.gap <= Gap::Space && t.kind == Kind::Number) {
            if let Some(part) =
                vulgar(next.lower.as_ref()).or_else(|| slashed(next.lower.as_ref())).filter(|p| *p < 1.0)
            {
                value += part;
                end += 1;
                form = Form::Fraction;
            }
        } else if decimal_word(tokens, end)
            && let Some((part, places, after)) = self::decimals(tokens, end + 1)
        {
            value += part;
            end = after;
            form = Form::Decimal(places);
        } else if joined(tokens, end)
            && let Some(Word::Times(times)) = tokens.get(end).and_then(word)
        {
            value *= times;
            end += 1;
            form = Form::Large;
        } else if matches!(text.as_bytes(), [b'2'..=b'9', b'0'])
            && joined(tokens, end)
            && let Some(Word::Digit(n)) = tokens.get(end).and_then(word).filter(|w| *w != Word::Digit(0.0))
            && !decimal_word(tokens, end + 1)
        {
            // "20 six": tens in figures, the rest in a word, as recognisers write them.
            value += n;
            end += 1;
            form = Form::Small;
        }
    } else if joined(tokens, end)
        && let Some(Word::Times(times)) =
            tokens.get(end).and_then(word).filter(|w| matches!(w, Word::Times(t) if *t >= 1e3))
    {
        value *= times;
        end += 1;
        form = Form::Large;
    }
    Some(Atom { value, start: at, end, form })
}

/// "1 412 hours", "1.800 rpm", "2.2k revs": thousands as half of the world writes them, where a unit follows that is told in
/// them.
fn thousands(tokens: &[Token<'_>], at: usize, value: f64, decimals: usize) -> Option<(f64, usize)> {
    let of_engine = |end: usize| {
        tokens.get(end).is_some_and(|t| {
            t.gap <= Gap::Line
                && t.is_any(words![
                    "rpm",
                    "revs",
                    "rev",
                    "revolutions",
                    "turns",
                    "hours",
                    "h",
                    "hrs",
                    "u",
                    "r"
                ])
        })
    };
    let counts = |token: &Token<'_>| {
        token.is_any(words![
            "channel", "ch", "day", "watch", "no", "nr", "number", "page", "reef", "x", "×", "line"
        ])
    };
    if decimals == 3 && (0.5..10.0).contains(&value) && of_engine(at + 1) {
        return Some((value * 1000.0, at + 1));
    }
    if decimals <= 1
        && tokens.get(at + 1).is_some_and(|t| t.is("k") && t.gap == Gap::Glued)
        && (crate::quantity::unit_word(tokens, at + 2) || of_engine(at + 2))
    {
        return Some((value * 1000.0, at + 2));
    }
    // "1'600 rpm".
    let apostrophe = tokens.get(at + 1).is_some_and(|t| t.is_any(words!["'", "’"]) && t.gap == Gap::Glued);
    let (next_at, gap) = if apostrophe { (at + 2, Gap::Glued) } else { (at + 1, Gap::Space) };
    let next = tokens.get(next_at)?;
    let group = next.kind == Kind::Number
        && next.gap == gap
        && next.lower.len() == 3
        && next.lower.bytes().all(|b| b.is_ascii_digit());
    let first = decimals == 0 && tokens[at].lower.len() <= 2 && value >= 1.0;
    let labelled = at > 0
        && tokens[at].gap <= Gap::Space
        && (counts(&tokens[at - 1]) || tokens[at - 1].kind == Kind::Number);
    let told = words!["miles", "nm", "hpa", "mbar", "mb", "millibars"];
    let end = next_at + 1;
    let measured = of_engine(end) || tokens.get(end).is_some_and(|t| t.gap <= Gap::Line && t.is_any(told));
    if !(first && group && measured) || labelled {
        return None;
    }
    Some((value * 1000.0 + next.lower.parse::<f64>().ok()?, end))
}

fn vulgar(text: &str) -> Option<f64> {
    Some(match text.chars().next().filter(|c| c.len_utf8() == text.len())? {
        '¼' => 0.25,
        '½' => 0.5,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅕' => 0.2,
        '⅖' => 0.4,
        '⅗' => 0.6,
        '⅘' => 0.8,
        '⅙' => 1.0 / 6.0,
        '⅚' => 5.0 / 6.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

/// A fraction in figures; a date such as 03/04 or 05/2026 is none.
fn slashed(text: &str) -> Option<f64> {
    let (above, below) = text.split_once('/')?;
    if above.starts_with('0')
        || below.starts_with('0')
        || below.contains('/')
        || below.len() > 2
        || above.len() > 2
    {
        return None;
    }
    let (above, below): (f64, f64) = (above.parse().ok()?, below.parse().ok()?);
    (below > 1.0 && above < below && matches!(below as u32, 2..=12 | 16 | 20 | 32 | 64))
        .then_some(above / below)
}

/// The value and the number of decimals; a comma is a thousands mark before three figures, else a decimal comma.
pub(super) fn plain_figures(text: &str) -> Option<(f64, usize)> {
    let marks = text.bytes().filter(|b| matches!(b, b'.' | b',')).count();
    if marks == 0 {
        return (text.len() <= 15).then(|| text.parse().ok().map(|v| (v, 0))).flatten();
    }
    let groups: Vec<&str> = text.split(['.', ',']).collect();
    let thousands = |mark: u8| {
        text.bytes().all(|b| b.is_ascii_digit() || b == mark)
            && groups[1..].iter().all(|g| g.len() == 3)
            && !groups[0].starts_with('0')
            && groups[0].len() <= 3
    };
    if thousands(b',') {
        return text.replace(',', "").parse().ok().map(|v| (v, 0));
    }
    let last = groups[groups.len() - 1];
    if marks == 1 {
        return text.replace(',', ".").parse().ok().map(|v| (v, last.len()));
    }
    // "1,234.5" and "1.234,5"; anything else with two marks is a date or a part number.
    let decimal = text.rfind(['.', ','])?;
    let mark = text.as_bytes()[decimal];
    let head = &text[..decimal];
    let other = if mark == b'.' { ',' } else { '.' };
    let well_grouped = head.split(other).skip(1).all(|g| g.len() == 3) && !head.contains(mark as char);
    well_grouped
        .then(|| format!("{}.{last}", head.replace(other, "")).parse().ok().map(|v| (v, last.len())))
        .flatten()
}
