//! Words, numbers and symbols with their places, and how firmly each is parted from the one before.
//!
//! Everything after this works on tokens: they are the same whether a note was spoken, typed or pencilled.
//! Punctuation is not a token; it is the [`Gap`] before the next one. Clitics stand apart ("wind's" is `wind`,
//! `'s`), digits part from letters ("12V8" is `12`, `v`, `8`), and hyphens part words ("south-west").

mod shorthand;
mod slips;
mod spoken;
mod thumb;

use std::borrow::Cow;

use crate::found::{Span, Utterance, UtteranceKind};
use crate::lexicon::{Ahead, look_ahead};
use crate::word::{WordList, key};

/// What a token is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Letters, with an apostrophe inside or in front of a clitic.
    Word,
    /// Digits, with `.`, `,`, `:` or `/` between digits; or a vulgar fraction such as `¾`.
    Number,
    /// One of `% ° + - ± ~ < > ≤ ≥ = / & | $ £ € ' " #` and the like, where it is not punctuation.
    Symbol,
}

/// How firmly a token is parted from the one before it; later ones part more firmly.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gap {
    /// Nothing between.
    Glued,
    /// A hyphen between words or numbers.
    Hyphen,
    /// White space.
    Space,
    /// The next cue, or the next line of wrapped text; the sentence may go on.
    Line,
    /// A comma.
    Comma,
    /// A dash, a colon, a semicolon, a bracket, or a pause of two seconds or more in a recording.
    Clause,
    /// A full stop, a question or exclamation mark, an ellipsis.
    Sentence,
    /// Another line of a log, another paragraph, list item, table cell or heading.
    Block,
}

/// One token of a source.
#[derive(Clone, Debug)]
pub struct Token<'a> {
    /// Lower case, with typographic apostrophes made plain.
    pub lower: Cow<'a, str>,
    /// The key of that, by which lexicons look a word up.
    pub key: u64,
    /// What follows it, by [`look_ahead`].
    pub ahead: Ahead,
    /// As it stands in the decoded text.
    pub text: &'a str,
    /// Its bytes in the decoded text.
    pub span: Span,
    /// What it is made of.
    pub kind: Kind,
    /// How it is parted from the token before it; [`Gap::Block`] for the first.
    pub gap: Gap,
    /// Index of its utterance.
    pub utterance: usize,
    /// Whether a question mark ends the sentence that it stands in.
    pub asked: bool,
}

impl<'a> Token<'a> {
    /// Takes the token for another word, in lower case.
    pub fn reword(&mut self, lower: impl Into<Cow<'a, str>>) {
        self.lower = lower.into();
        self.key = key(&self.lower);
    }
}

impl Token<'_> {
    /// Whether it is this word, in lower case.
    #[inline(always)]
    pub fn is(&self, word: &str) -> bool {
        self.key == key(word)
    }

    /// Whether it is one of these words.
    #[inline]
    pub fn is_any(&self, words: &WordList) -> bool {
        words.has(self.key)
    }
}

/// Shortest silence between two cues, in seconds, that parts a recording's talk as a semicolon parts writing.
/// From the notes in `fixtures/`: pauses between halves of a sentence stay below it.
const PAUSE_S: f64 = 1.5;

/// Cuts the utterances of a decoded text into tokens. Header lines are left out.
pub fn tokens<'a>(text: &'a str, utterances: &[Utterance]) -> Vec<Token<'a>> {
    let mut out = Vec::with_capacity(text.len() / 5);
    let mut last: Option<usize> = None;
    // What the punctuation at the end of the utterance before makes of the gap.
    let mut trailing = Gap::Glued;
    for (index, utterance) in utterances.iter().enumerate() {
        if utterance.kind == UtteranceKind::Header {
            continue;
        }
        let mut gap = match last {
            None => Gap::Block,
            Some(last) => between(text, &utterances[last], utterance).max(trailing),
        };
        last = Some(index);
        for (n, words) in utterance.words.iter().enumerate() {
            if n > 0 {
                // Table cells are sentences about what the row names; other pieces are parted by mark-up within a sentence.
                gap = gap.max(if utterance.kind == UtteranceKind::TableRow {
                    Gap::Sentence
                } else {
                    Gap::Line
                });
            }
            gap = cut(text, *words, index, gap, &mut out);
        }
        trailing = gap;
    }
    thumb::mend(utterances, &mut out);
    shorthand::mend(text, &mut out);
    slips::mend(text, utterances, &mut out);
    mend_false_stops(utterances, &mut out);
    spoken::mend(&mut out);
    crate::number::mend(&mut out);
    mark_questions(&mut out);
    look_ahead(&mut out);
    out
}

/// Takes back the stops that a recogniser writes where a speaker only paused: behind a word that ends no sentence
/// ("a, tenth of a gallon", "and. Then"), and between a verb and its number ("it's, 58", "the depth is. Seven").
fn mend_false_stops(utterances: &[Utterance], tokens: &mut [Token<'_>]) {
    for i in 1..tokens.len() {
        let (before, token) = (&tokens[i - 1], &tokens[i]);
        if !matches!(token.gap, Gap::Comma | Gap::Sentence)
            || utterances[token.utterance].kind != UtteranceKind::Cue
            || utterances[before.utterance].kind != UtteranceKind::Cue
        {
            continue;
        }
        let never = before.is_any(words!["the", "a", "an", "and", "or", "my", "our", "than", "of"]);
        let verb = before.is_any(words![
            "is", "was", "are", "were", "'s", "at", "to", "with", "from", "has", "have", "says", "only",
            "about", "nearly", "over", "under", "reads", "now", "says",
        ]);
        let number = token.kind == Kind::Number || crate::number::is_number_word(token);
        if never && (number || token.gap == Gap::Sentence) || verb && number {
            tokens[i].gap = Gap::Line;
        }
    }
}

fn between(text: &str, before: &Utterance, after: &Utterance) -> Gap {
    // The next line of a paragraph goes on with what it is about.
    if before.kind == UtteranceKind::Paragraph && after.kind == UtteranceKind::Paragraph {
        let parted = text.get(before.span.end..after.span.start).is_none_or(|t| t.matches('\n').count() != 1);
        // An item of a list is about a thing of its own, and so is what comes behind a list.
        let listed = before.begins_an_item() || after.begins_an_item();
        return if parted || listed { Gap::Block } else { Gap::Sentence };
    }
    if before.kind != UtteranceKind::Cue || after.kind != UtteranceKind::Cue {
        return Gap::Block;
    }
    // Another speaker, in a voice span of their own, says something of their own.
    let voice = |u: &Utterance| text.get(u.span.range()).is_some_and(|t| t.trim_start().starts_with("<v"));
    if voice(before) != voice(after) {
        return Gap::Clause;
    }
    match (before.cue, after.cue) {
        (Some((_, end)), Some((start, _))) if start - end >= PAUSE_S => Gap::Clause,
        // A stamp that tells no end lasts to the next one; what its words do not fill is silence.
        (Some((from, end)), Some((start, _)))
            if start == end && start - from - spoken_s(before.text.as_str()) >= 2.0 * PAUSE_S =>
        {
            Gap::Clause
        }
        _ => Gap::Line,
    }
}

/// About how long it takes to say some words, in seconds; talk aboard is slow. Common practice, no source.
fn spoken_s(words: &str) -> f64 {
    0.42 * words.split_whitespace().count() as f64
}

/// Cuts one stretch; returns the gap that its trailing punctuation makes before whatever comes next.
fn cut<'a>(text: &'a str, within: Span, utterance: usize, mut gap: Gap, out: &mut Vec<Token<'a>>) -> Gap {
    let stretch = &text[within.range()];
    let mut first = true;
    let mut question = false;
    let mut next = 0;
    while let Some(c) = stretch[next..].chars().next() {
        let at = next;
        let rest = &stretch[at..];
        next += c.len_utf8();
        if c == ' ' {
            gap = gap.max(Gap::Space);
            continue;
        }
        let (len, kind) = if c.is_ascii_digit() {
            (number_len(rest), Kind::Number)
        } else if c == '.' && gap != Gap::Glued && is_part(stretch, at) {
            (1 + number_len(&rest[1..]), Kind::Number)
        } else if is_vulgar_fraction(c) {
            (c.len_utf8(), Kind::Number)
        } else if c.is_alphabetic() {
            (word_len(rest), Kind::Word)
        } else if is_apostrophe(c) && !first && gap == Gap::Glued && clitic_len(rest).is_some() {
            (clitic_len(rest).unwrap_or(c.len_utf8()), Kind::Word)
        } else if is_symbol(c, stretch, at) {
            (c.len_utf8(), Kind::Symbol)
        } else {
            // "elec., hand": a stop in front of a comma only shortens its word.
            let short = c == '.'
                && gap == Gap::Glued
                && (rest[1..].starts_with(',') || out.last().is_some_and(|t| is_shortened(t, rest)));
            let mark = if short { Gap::Space } else { punctuation(c, stretch, at) };
            question |= c == '?';
            gap = gap.max(mark);
            continue;
        };
        if question {
            if let Some(last) = out.last_mut() {
                last.asked = true;
            }
            question = false;
        }
        let span = Span::new(within.start + at, within.start + at + len);
        let word = &text[span.range()];
        let lower = plain_sign(c).map_or_else(|| lower(word), Cow::Borrowed);
        out.push(Token {
            key: key(&lower),
            ahead: Ahead::default(),
            lower,
            text: word,
            span,
            kind,
            gap,
            utterance,
            asked: false,
        });
        first = false;
        gap = Gap::Glued;
        next = at + len;
    }
    if question && let Some(last) = out.last_mut() {
        last.asked = true;
    }
    gap
}

/// Whether a stop begins a number that is less than one: ".45 gal/h".
fn is_part(stretch: &str, at: usize) -> bool {
    stretch[at + 1..].starts_with(|c: char| c.is_ascii_digit()) && !stretch[..at].ends_with(['.', '…'])
}

/// Whether the stop behind a word shortens it in front of a number: "max. 88", "approx. 3".
fn is_shortened(token: &Token<'_>, rest: &str) -> bool {
    // "F.W. 82", "L.O. 3.1": an initial closes no sentence either.
    let initial = token.text.len() == 1 && token.text.bytes().all(|b| b.is_ascii_uppercase());
    (initial
        || token.is_any(words![
            "max", "min", "approx", "abt", "appr", "ca", "nom", "avg", "ave", "est", "temp", "temps", "vol",
            "batt", "baro", "stbd", "hrs", "press", "alt", "spd", "lim", "dist",
        ]))
        && rest[1..].trim_start().starts_with(|c: char| c.is_ascii_digit())
}

/// Spreads a question mark, noted on the last token before it, over the whole of its sentence.
fn mark_questions(tokens: &mut [Token<'_>]) {
    let mut asked = false;
    for i in (0..tokens.len()).rev() {
        asked |= tokens[i].asked;
        tokens[i].asked = asked;
        if tokens[i].gap >= Gap::Sentence {
            asked = false;
        }
    }
}

fn lower(word: &str) -> Cow<'_, str> {
    if word.bytes().all(|b| b.is_ascii() && !b.is_ascii_uppercase()) {
        Cow::Borrowed(word)
    } else if word.is_ascii() {
        Cow::Owned(word.to_ascii_lowercase())
    } else {
        Cow::Owned(word.to_lowercase().replace(['’', '‘', 'ʼ'], "'"))
    }
}

/// The plain sign that a picture stands for, as people type it on a phone: a tick, a cross, a warning, a question.
pub(crate) fn plain_sign(c: char) -> Option<&'static str> {
    Some(match c {
        '✅' | '👍' | '👌' | '🟢' | '💯' | '🆗' => "✔",
        '❌' | '👎' | '🔴' | '⛔' | '🚫' | '✖' => "✘",
        '⚠' | '🟡' | '🟠' => "⚠",
        '❓' | '❔' | '🤷' => "❓",
        _ => return None,
    })
}

fn is_apostrophe(c: char) -> bool {
    matches!(c, '\'' | '’' | '‘' | 'ʼ')
}

fn is_vulgar_fraction(c: char) -> bool {
    matches!(c, '¼'..='¾' | '⅐'..='⅞')
}

fn number_len(rest: &str) -> usize {
    let bytes = rest.as_bytes();
    let mut n = 1;
    while n < bytes.len() {
        let digit_follows = bytes.get(n + 1).is_some_and(u8::is_ascii_digit);
        match bytes[n] {
            b'0'..=b'9' => n += 1,
            b'/' if digit_follows && !is_fraction_or_date(&rest[..n], &rest[n + 1..]) => break,
            b'.' | b',' | b':' | b'/' if digit_follows => n += 2,
            _ => break,
        }
    }
    n
}

/// Whether a slash between figures makes a fraction or a date of them, not two numbers ("33/33", "12.6/78").
fn is_fraction_or_date(above: &str, rest: &str) -> bool {
    let below = rest.split(|c: char| !c.is_ascii_digit()).next().unwrap_or("");
    let further = rest[below.len()..].starts_with('/') || above.contains('/');
    match (above.parse::<u32>(), below.parse::<u32>()) {
        (Ok(above), Ok(below)) => further || above <= 12 || (below <= 12 && above <= 31),
        _ => further,
    }
}

/// Length of the word at the start of `rest`, its clitic left off: "wind's" gives 4, "don't" gives 5.
fn word_len(rest: &str) -> usize {
    // Most words are plain letters with a plain sign behind them.
    let plain = rest.bytes().take_while(u8::is_ascii_alphabetic).count();
    if rest.as_bytes().get(plain).is_none_or(|&next| next.is_ascii() && next != b'\'') {
        return plain;
    }
    let mut end = rest.len();
    for (at, c) in rest.char_indices() {
        if c.is_alphabetic() {
            continue;
        }
        let after = &rest[at + c.len_utf8()..];
        if is_apostrophe(c) && after.starts_with(char::is_alphabetic) && clitic_len(&rest[at..]).is_none() {
            continue;
        }
        end = at;
        break;
    }
    end
}

/// Length of a clitic at the start of `rest` (`'s`, `'ll`, `'ve`, `'re`, `'d`, `'m`), apostrophe included.
fn clitic_len(rest: &str) -> Option<usize> {
    let mark = rest.chars().next().filter(|&c| is_apostrophe(c))?.len_utf8();
    let letters = rest[mark..].chars().take_while(|c| c.is_alphabetic()).map(char::len_utf8).sum::<usize>();
    let word = &rest[mark..mark + letters];
    ["s", "ll", "ve", "re", "d", "m"].iter().any(|c| word.eq_ignore_ascii_case(c)).then_some(mark + letters)
}

fn is_symbol(c: char, stretch: &str, at: usize) -> bool {
    let before = stretch[..at].chars().next_back();
    let after = stretch[at + c.len_utf8()..].chars().next();
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit() || is_vulgar_fraction(c));
    match c {
        '%' | '°' | '±' | '~' | '≈' | '<' | '>' | '≤' | '≥' | '=' | '+' | '/' | '&' | '|' | '$' | '£'
        | '€' | '#' | '@' | '×' | '✓' | '✔' | '✗' | '✘' | '☐' | '☑' | '☒' | '→' | '²' | '³' | '′' | '″' => {
            true
        }
        // A sign stands in front of a digit and is not the hyphen of a range.
        '-' | '−' | '–' => {
            digit(after) && !before.is_some_and(|b| b.is_alphanumeric() || b == '-' || is_vulgar_fraction(b))
        }
        // Feet and inches.
        '\'' | '’' | '"' | '”' => digit(before),
        c => plain_sign(c).is_some(),
    }
}

fn punctuation(c: char, stretch: &str, at: usize) -> Gap {
    match c {
        '.' if abbreviates(stretch, at) => Gap::Glued,
        '.' if shortens(stretch, at) || shortens_gear(stretch, at) => Gap::Space,
        ',' => Gap::Comma,
        ';' | ':' | '(' | ')' | '[' | ']' | '—' | '"' | '“' | '”' => Gap::Clause,
        '.' | '!' | '?' | '…' => Gap::Sentence,
        '-' | '–' | '−' | '‑' => {
            let spaced = |c: Option<char>| c.is_none_or(char::is_whitespace);
            let before = stretch[..at].chars().next_back();
            let after = stretch[at + c.len_utf8()..].chars().next();
            // "Twenty-" at the end of a cue, "two" at the head of the next.
            if after.is_none() && ends_in_tens(&stretch[..at]) {
                return Gap::Hyphen;
            }
            if spaced(before) || spaced(after) { Gap::Clause } else { Gap::Hyphen }
        }
        '\n' | '\r' => Gap::Line,
        c if c.is_whitespace() => Gap::Space,
        _ => Gap::Glued,
    }
}

/// Whether words end in one of the tens: "the alternator gives twenty".
fn ends_in_tens(words: &str) -> bool {
    const TENS: [&str; 8] = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
    let last = words.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or_default();
    TENS.iter().any(|tens| last.eq_ignore_ascii_case(tens))
}

/// Whether a stop stands between single letters: "i.O.", "a.i.s".
fn abbreviates(stretch: &str, at: usize) -> bool {
    let mut before = stretch[..at].chars().rev();
    let letter =
        before.next().is_some_and(char::is_alphabetic) && !before.next().is_some_and(char::is_alphanumeric);
    let mut after = stretch[at + 1..].chars();
    letter
        && after.next().is_some_and(char::is_alphabetic)
        && !after.next().is_some_and(char::is_alphanumeric)
}

/// Whether a stop marks a shortened word in front of its number: "max. 88 °C", "approx. 4 kn".
fn shortens(stretch: &str, at: usize) -> bool {
    const SHORT: &[&str] = &["max", "min", "approx", "abt", "ca", "avg", "no", "nr", "est"];
    let word = stretch[..at].rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    let number = stretch[at + 1..].trim_start_matches(' ').starts_with(|c: char| c.is_ascii_digit());
    number && SHORT.iter().any(|s| word.eq_ignore_ascii_case(s))
}

/// Whether a stop marks a shortened word in front of the rest of a name: "elec. bilge pump", "st. jib", "nav. lts".
fn shortens_gear(stretch: &str, at: usize) -> bool {
    const SHORT: &[&str] = &[
        "elec", "electr", "el", "man", "em", "emerg", "emcy", "emer", "st", "strm", "nav", "anch", "anc",
        "stn", "stmg", "dk", "aux", "fwd", "stbd", "hyd", "hse", "serv", "svc", "dom", "eng", "comp", "sol",
        "pri", "prim", "sec", "spin", "main",
    ];
    let word = stretch[..at].rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    let goes_on =
        stretch[at + 1..].strip_prefix(' ').is_some_and(|rest| rest.starts_with(char::is_lowercase));
    goes_on && SHORT.iter().any(|s| word.eq_ignore_ascii_case(s))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Writes the tokens of one line, each with a mark for the gap before it.
    fn show(line: &str) -> String {
        let utterance = Utterance::line(line);
        let mut out = String::new();
        for token in tokens(line, &[utterance]) {
            out += match token.gap {
                Gap::Glued => "·",
                Gap::Hyphen => "-",
                Gap::Space => " ",
                Gap::Line => "\\",
                Gap::Comma => ", ",
                Gap::Clause => "; ",
                Gap::Sentence => ". ",
                Gap::Block => "¶",
            };
            out += &token.lower;
        }
        out
    }

    #[test]
    fn what_slips_in_while_talking_is_passed_over() {
        for (said, plain) in [
            ("it was um fourteen", "it was fourteen"),
            ("Twenty uh five knots", "Twenty five knots"),
            ("and it's and it's dry", "and it's dry"),
            ("the the heater is, um, is lit", "the heater is lit"),
            ("ten to to twelve", "ten to twelve"),
            ("dont know, I cant, it didnt", "don't know, I can't, it didn't"),
            ("thats good and its dry. Ive had it", "that's good and it's dry. I've had it"),
            ("waters 43, barometers at 1012", "water's 43, barometer's at 1012"),
            ("Er, shes tight", "she's tight"),
        ] {
            assert_eq!(show(said), show(plain), "{said}");
        }
    }

    #[test]
    fn what_is_meant_stays() {
        for said in [
            "um 1930 uhr",
            "put 'er in gear",
            "no no, very very good",
            "she had had enough",
            "its own light",
            "point two two",
            "5 a a day",
            "on the cant frame",
            "as is my wont",
            "he felt ill and slept",
            "it lets go",
            "waters of the fjord",
            "ID 14, UM 3",
            "over. Over",
            "the bolt. The bolt",
        ] {
            let tokens = tokens(said, &[Utterance::line(said)]);
            let words: Vec<&str> = tokens.iter().map(|t| t.text).collect();
            let plain = said.replace([',', '.', '\''], "");
            assert_eq!(words.join(" ").replace('\'', ""), plain, "{said}");
        }
    }

    #[test]
    fn a_word_and_its_clitic_hold_the_bytes_that_they_stand_for() {
        let line = "Ive greased it";
        let tokens = tokens(line, &[Utterance::line(line)]);
        let told: Vec<(&str, &str)> =
            tokens.iter().map(|t| (t.lower.as_ref(), &line[t.span.range()])).collect();
        assert_eq!(told[..2], [("i", "I"), ("'ve", "ve")]);
    }

    #[test]
    fn cuts_notes_as_people_write_them() {
        assert_eq!(show("Wind's SW, 18-20 kn; don't care."), "¶wind·'s sw, 18-20 kn; don't care");
        assert_eq!(
            show("12V8 and 3m2, -1.5, N 10-15"),
            "¶12·v·8 and 3·m·2, -·1.5 n 10-15".replace("-·1.5 n", "-·1.5, n")
        );
        assert_eq!(show("2'6\" at 0640 10:12 1,200 L/h"), "¶2·'·6·\" at 0640 10:12 1,200 l·/·h");
        assert_eq!(
            show("It was thirteen – no, twelve. Sixty-five?"),
            "¶it was thirteen; no, twelve. sixty-five"
        );
        assert_eq!(show("Coolant: max. 88, no. 6. Fine"), "¶coolant; max 88, no 6. fine");
        assert_eq!(show("Reach: i.O. Run n.i.O., end. A start"), "¶reach; i·o. run n·i·o, end. a start");
        assert_eq!(show("she’d 6¾ °C 50%"), "¶she·'d 6·¾ °·c 50·%");
    }

    #[test]
    fn punctuation_at_the_end_of_a_cue_parts_it_from_the_next() {
        let text = "Half a tick.\nI think,\nit goes\non";
        let cue = |start: usize, end: usize| Utterance {
            span: Span::new(start, end),
            words: vec![Span::new(start, end)],
            text: text[start..end].to_owned(),
            at: None,
            id: None,
            cue: Some((start as f64 / 10.0, end as f64 / 10.0)),
            kind: UtteranceKind::Cue,
        };
        let gaps: Vec<Gap> = tokens(text, &[cue(0, 12), cue(13, 21), cue(22, 29), cue(30, 32)])
            .iter()
            .filter(|t| t.is_any(words!["i", "it", "on"]))
            .map(|t| t.gap)
            .collect();
        assert_eq!(gaps, [Gap::Sentence, Gap::Comma, Gap::Line]);
    }

    #[test]
    fn a_question_marks_its_whole_sentence() {
        let line = "Calm. Fridge never stopped all night? Frost.";
        let utterance = Utterance::line(line);
        let asked: Vec<bool> = tokens(line, &[utterance]).iter().map(|t| t.asked).collect();
        assert_eq!(asked, [false, true, true, true, true, true, false]);
    }

    #[test]
    fn marks_that_are_said_are_marks_in_a_dictated_note() {
        assert_eq!(
            show("wind west comma fifteen full stop new line barometer one zero one four full stop"),
            "¶wind west, fifteen. barometer one zero one four"
        );
        assert_eq!(
            show("gas comma two bottles period raft comma June period"),
            "¶gas, two bottles. raft, june"
        );
        // A boat comes to a full stop, and a line is bought.
        assert_eq!(
            show("she came to a full stop and the new line held"),
            "¶she came to a full stop and the new line held"
        );
        assert_eq!(show("a period of calm, a period of wind"), "¶a period of calm, a period of wind");
    }
}
