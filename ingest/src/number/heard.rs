//! Number words and units that a recogniser wrote as other words of the same sound: "thirty won", "too and a half
//! nots", "nine ours".
//!
//! Only where the words around leave no other meaning is a token read as what was said; its text stays as it stands.

use std::sync::LazyLock;

use super::atom::{Word, word};
use crate::lexicon::WordMap;
use crate::quantity::unit_word;
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

/// Words that sound like a digit, with it and whether they could hardly stand beside a number as themselves.
const DIGITS: &[(&str, (&str, bool))] = &[
    ("won", ("one", true)),
    ("too", ("two", true)),
    ("to", ("two", false)),
    ("for", ("four", false)),
    ("fore", ("four", true)),
    ("foor", ("four", true)),
    ("ate", ("eight", true)),
    ("tree", ("three", true)),
    ("sicks", ("six", true)),
    ("sics", ("six", true)),
    ("fiver", ("five", true)),
];

/// Words that sound like a unit, with it.
const UNITS: &[(&str, &str)] = &[
    ("ours", "hours"),
    ("owers", "hours"),
    ("our", "hour"),
    ("are", "hour"),
    ("vaults", "volts"),
    ("bolts", "volts"),
    ("leaders", "litres"),
    ("leeters", "litres"),
    ("lighters", "litres"),
    ("noughts", "knots"),
    ("nuts", "knots"),
    ("knocks", "knots"),
    ("nauts", "knots"),
    ("minuets", "minutes"),
    ("minits", "minutes"),
    ("ants", "amps"),
    ("reps", "revs"),
    ("guesting", "gusting"),
];

static DIGIT: LazyLock<WordMap<(&str, bool)>> = LazyLock::new(|| WordMap::new(DIGITS.iter().copied()));
static UNIT: LazyLock<WordMap<&str>> = LazyLock::new(|| WordMap::new(UNITS.iter().copied()));

/// Reads tokens as the numbers and units that they sound like.
pub(crate) fn mend(tokens: &mut [Token<'_>]) {
    for at in 0..tokens.len() {
        if tokens[at].kind != Kind::Word {
            continue;
        }
        let said = digit(tokens, at).or_else(|| unit(tokens, at)).or_else(|| small(tokens, at));
        if let Some(said) = said {
            tokens[at].reword(said);
        }
    }
}

fn near(tokens: &[Token<'_>], at: usize) -> bool {
    tokens.get(at).is_some_and(|t| t.gap <= Gap::Line)
}

fn is(tokens: &[Token<'_>], at: usize, words: &WordList) -> bool {
    near(tokens, at) && tokens[at].is_any(words)
}

/// A digit in another word's spelling.
fn digit(tokens: &[Token<'_>], at: usize) -> Option<&'static str> {
    let &(said, sure) = DIGIT.get(&tokens[at])?;
    let half = is(tokens, at + 1, words!["and"])
        && (is(tokens, at + 2, words!["a"]) && is(tokens, at + 3, words!["half", "quarter", "bit"])
            || is(tokens, at + 2, words!["three"]) && is(tokens, at + 3, words!["quarters"]));
    // "too and a half": nothing but a number has a half.
    if half {
        return Some(said);
    }
    // "won point four".
    let decimal = is(tokens, at + 1, words!["point", "decimal"])
        && near(tokens, at + 2)
        && (word(&tokens[at + 2]).is_some() || tokens[at + 2].kind == Kind::Number);
    if decimal && sure {
        return Some(said);
    }
    // "too thousand revs".
    if sure && is(tokens, at + 1, words!["hundred", "thousand"]) {
        return Some(said);
    }
    let unit_follows = near(tokens, at + 1) && unit_word(tokens, at + 1);
    // "thirty won apparent", "twenty too degrees".
    let tens = at > 0
        && near(tokens, at)
        && (matches!(word(&tokens[at - 1]), Some(Word::Tens(_))) || tens_in_figures(&tokens[at - 1]))
        && !(at > 1 && near(tokens, at - 1) && matches!(word(&tokens[at - 2]), Some(Word::Digit(_))));
    // "thirty to with gusts": no other number follows that it could lead to.
    let flavoured = is(tokens, at + 1, words!["with", "and", "true", "apparent", "gusting", "gusts"]);
    if tens && (unit_follows || flavoured || said == "one" || said == "eight" || said == "six") {
        return Some(said);
    }
    // "too metre swell", "ate knots".
    if unit_follows
        && sure
        && !tokens[at + 1].is_any(words!["second", "seconds", "minute", "minutes", "pounds", "in"])
    {
        return Some(said);
    }
    // "down to for", at the end of what is said.
    let ends = tokens
        .get(at + 1)
        .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "when", "with", "then"]));
    let led = at >= 2
        && near(tokens, at)
        && near(tokens, at - 1)
        && tokens[at - 1].is("to")
        && tokens[at - 2].is_any(words!["down", "up", "back"]);
    (led && ends && matches!(said, "four" | "eight" | "one")).then_some(said)
}

/// A small word in a number's spelling: "I want two know", "ten two twelve", "waiting four the tide".
fn small(tokens: &[Token<'_>], at: usize) -> Option<&'static str> {
    let said = match &tokens[at] {
        two if two.is("two") => "to",
        four if four.is("four") => "for",
        _ => return None,
    };
    let before = at.checked_sub(1).filter(|_| near(tokens, at)).map(|before| &tokens[before])?;
    let number = before.kind == Kind::Number || word(before).is_some();
    let someone = is(tokens, at + 1, words!["the", "my", "our", "his", "her", "him", "them", "us", "me"]);
    let fits = if said == "to" {
        let teens = matches!(word(before), Some(Word::Teen(_)))
            && near(tokens, at + 1)
            && matches!(tokens.get(at + 1).and_then(word), Some(Word::Teen(_) | Word::Tens(_)));
        let verb = is(tokens, at + 1, VERBS) && (before.is_any(LEADS) || is(tokens, at + 1, words!["be"]));
        teens || !number && (verb || someone && !before.is_any(COUNTED))
    } else {
        !number && someone && !before.is_any(COUNTED)
    };
    fits.then_some(said)
}

/// Words that an infinitive follows.
const LEADS: &WordList = words![
    "want",
    "wants",
    "wanted",
    "need",
    "needs",
    "needed",
    "going",
    "ought",
    "used",
    "trying",
    "able",
    "supposed",
    "meant",
    "ready",
    "how",
    "like",
    "hoping",
    "hope",
    "started",
    "began",
    "easy",
    "hard",
    "impossible",
    "forgot",
    "remember",
    "reluctant",
    "refused",
    "happy",
    "glad",
    "time",
    "way",
    "nothing",
    "something",
    "anything",
];

/// Verbs that a person wants to do, or that work is.
const VERBS: &WordList = words![
    "be", "have", "get", "go", "do", "see", "make", "take", "keep", "put", "try", "come", "find", "give",
    "hold", "say", "know", "sleep", "start", "stop", "run", "work", "check", "look", "buy", "fit", "fix",
    "ask", "ring", "call", "test", "use", "turn", "pull", "lift", "pick", "steer", "reef", "move", "clean",
    "change", "replace", "order", "think", "let",
];

/// Words that a count follows.
const COUNTED: &WordList = words![
    "force",
    "or",
    "to",
    "about",
    "say",
    "a",
    "the",
    "these",
    "those",
    "all",
    "other",
    "good",
    "and",
    "just",
    "only",
    "nearly",
    "around",
    "of",
    "number",
    "reef",
    "stage",
    "under",
    "over",
    "is",
    "was",
    "'s",
    "at",
    "wind",
    "north",
    "south",
    "east",
    "west",
    "northwest",
    "northeast",
    "southwest",
    "southeast",
    "northerly",
    "southerly",
    "easterly",
    "westerly",
    "nw",
    "ne",
    "sw",
    "se",
];

/// "20" to "90", to which a spoken digit may belong: "20 to degrees", "20 six".
fn tens_in_figures(token: &Token<'_>) -> bool {
    token.kind == Kind::Number
        && matches!(token.lower.as_bytes(), [tens, b'0'] if (b'2'..=b'9').contains(tens))
}

/// A unit in another word's spelling, behind a number.
fn unit(tokens: &[Token<'_>], at: usize) -> Option<&'static str> {
    let &said = UNIT.get(&tokens[at])?;
    if said == "gusting" {
        return Some(said);
    }
    if at == 0 || !near(tokens, at) {
        return None;
    }
    let before = &tokens[at - 1];
    // "half an our", "litres an our".
    if said == "hour" {
        return (before.is("an")
            && at >= 2
            && near(tokens, at - 1)
            && (tokens[at - 2].is_any(words!["half", "quarter", "of", "for", "in"])
                || unit_word(tokens, at - 2)))
        .then_some(said);
    }
    if said == "hours" && before.is_any(words!["amp", "amps", "watt", "engine"]) {
        return Some(said);
    }
    // Bolts, nuts and lighters are counted too, but not in decimals.
    let counted = tokens[at].is_any(words!["bolts", "nuts", "lighters", "knocks", "leaders"]);
    let figure = before.kind == Kind::Number && (!counted || before.lower.contains(['.', ',']));
    let decimal = at >= 2 && tokens[at - 2].is_any(words!["point", "decimal"]) && word(before).is_some();
    let spoken = !counted && word(before).is_some() || before.is("half") && at >= 2 && tokens[at - 2].is("a");
    (figure || decimal || spoken).then_some(said)
}

#[cfg(test)]
mod tests {
    use crate::found::Utterance;

    #[test]
    fn words_are_read_as_the_numbers_they_sound_like() {
        for (line, expected) in [
            ("thirty won apparent", "thirty one apparent"),
            ("coming in at too and a half nots", "coming in at two and a half nots"),
            ("won point four knots", "one point four knots"),
            ("three ours", "three hours"),
            ("half an our", "half an hour"),
            ("a too metre swell", "a two metre swell"),
            ("down to for", "down to four"),
            ("eighteen hundred reps", "eighteen hundred revs"),
            ("guesting twenty, six ants", "gusting twenty six amps"),
            ("I want two know", "i want to know"),
            ("ten two twelve knots", "ten to twelve knots"),
            ("waiting four the tide", "waiting for the tide"),
            ("it has two be greased", "it has to be greased"),
            ("took it back two the chandler", "took it back to the chandler"),
            // As they stand.
            ("force four the whole day", "force four the whole day"),
            ("twenty two thirty", "twenty two thirty"),
            ("the other two have gone", "the other two have gone"),
            ("I have two spares", "i have two spares"),
            ("north west four the sea slight", "north west four the sea slight"),
            ("we won by ten", "we won by ten"),
            ("thirty to forty", "thirty to forty"),
            ("twenty for the caps", "twenty for the caps"),
            ("it is too many", "it is too many"),
            ("six bolts", "six bolts"),
            ("is it ours", "is it ours"),
        ] {
            let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
            let found: Vec<&str> = tokens.iter().map(|t| t.lower.as_ref()).collect();
            assert_eq!(found.join(" "), expected);
        }
    }
}
