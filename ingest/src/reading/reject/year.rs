//! Years: "built 1984", "in '98", "in nineteen ninety one", "the winter of twenty three", "in ninety four we lay here".

use crate::number::{Form, Run};
use crate::token::{Gap, Kind, Token};

/// Whether a run is a year.
pub(super) fn is_a_year(text: &str, tokens: &[Token<'_>], run: &Run) -> bool {
    in_full(tokens, run)
        || of_a_season(tokens, run)
        || shortened(text, tokens, run)
        || begins_a_story(tokens, run)
}

/// "in the winter of twenty three": a year.
fn of_a_season(tokens: &[Token<'_>], run: &Run) -> bool {
    let start = run.tokens().start;
    let [atom] = run.atoms.as_slice() else { return false };
    let short = matches!(atom.form, Form::Small | Form::Large | Form::Figures(2))
        && (5.0..=99.0).contains(&atom.value);
    short
        && start > 1
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["of", "in"])
        && tokens[start - 2].is_any(words![
            "winter",
            "summer",
            "spring",
            "autumn",
            "season",
            "christmas",
            "easter",
        ])
}

/// "the trip in '98": two figures behind an apostrophe that closes no word and opens no words of another.
fn shortened(text: &str, tokens: &[Token<'_>], run: &Run) -> bool {
    let range = run.tokens();
    let [atom] = run.atoms.as_slice() else { return false };
    let mut front = text[..tokens[range.start].span.start].chars().rev();
    let apostrophe = front.next().is_some_and(|c| matches!(c, '\'' | '’' | '‘'));
    atom.form == Form::Figures(2)
        && range.len() == 1
        && apostrophe
        && front.next().is_none_or(|c| c.is_whitespace() || c == '(')
        && !crate::quantity::unit_word(tokens, range.end)
}

/// "In ninety four we lay in here": a year of the last century that a story begins with.
fn begins_a_story(tokens: &[Token<'_>], run: &Run) -> bool {
    let range = run.tokens();
    let [atom] = run.atoms.as_slice() else { return false };
    let spoken = tokens[range.start].kind == Kind::Word
        && atom.value.fract() == 0.0
        && (50.0..=99.0).contains(&atom.value)
        && atom.value % 10.0 != 0.0;
    let begins = range.start.checked_sub(1).is_some_and(|i| {
        tokens[i].is("in")
            && tokens[range.start].gap <= Gap::Line
            && (i == 0
                || tokens[i].gap >= Gap::Line
                || tokens[i - 1].is_any(words!["and", "back", "says", "said", "because", "but"]))
    });
    let told = tokens.get(range.end).is_some_and(|t| {
        t.gap <= Gap::Comma
            && t.is_any(words![
                "i", "we", "he", "she", "they", "it", "me", "my", "our", "his", "her", "you", "the", "when",
            ])
    });
    spoken && begins && told
}

/// "built 1984", "nineteen ninety one", "good until twenty thirty".
fn in_full(tokens: &[Token<'_>], run: &Run) -> bool {
    let range = run.tokens();
    let before =
        range.start.checked_sub(1).map(|i| &tokens[i]).filter(|_| tokens[range.start].gap <= Gap::Line);
    let unit_follows = tokens.get(range.end).is_some_and(|t| {
        t.gap <= Gap::Line
            && t.is_any(words![
                "rpm", "revs", "feet", "ft", "m", "metres", "meters", "miles", "gallons", "h", "hours",
                "litres", "l", "w", "watts", "kg", "lb", "pounds",
            ])
    });
    if unit_follows {
        return false;
    }
    let led = before.is_some_and(|t| {
        t.is_any(words![
            "in", "since", "until", "till", "dated", "built", "from", "of", "by", "says", "say", "to",
            "stamped", "bought", "before", "after", "expires", "expiry", "good", "battery", "season",
            "packed", "october", "summer", "winter", "spring", "autumn", "fall",
        ])
    });
    match run.atoms.as_slice() {
        [one] => match one.form {
            Form::Figures(4) => {
                (1950.0..2060.0).contains(&one.value)
                    && led
                    && one.value != 2000.0
                    && !(one.value % 50.0 == 0.0
                        && before.is_some_and(|t| t.is_any(words!["to", "by", "from"])))
            }
            Form::Large => {
                (1950.0..2060.0).contains(&one.value)
                    && one.value % 100.0 != 0.0
                    && (led || one.value > 2000.0)
            }
            _ => false,
        },
        // "nineteen ninety one", "twenty twenty six".
        [a, b] if a.form == Form::Small && b.form == Form::Small => {
            let value = a.value * 100.0 + b.value;
            (1950.0..2060.0).contains(&value)
                && (value < 2000.0
                    || a.value == 20.0
                        && b.value >= 10.0
                        && (led || (24.0..=45.0).contains(&b.value) && b.value % 10.0 != 0.0))
        }
        [a, b] if a.form == Form::Small && b.form == Form::Digit && a.value == 20.0 => false,
        _ => false,
    }
}
