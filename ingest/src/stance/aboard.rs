//! People of other boats, told by name with theirs: "the Hansens on Blue Mitten had 11.4 volts".

use std::ops::Range;

use crate::date;
use crate::token::{Gap, Kind, Token};
use crate::when::weekday;
use crate::word::WordList;

/// The tokens that tell of another boat, from the one at `at` or right in front of it on.
pub(super) fn of_another_boat(tokens: &[Token<'_>], at: usize) -> Option<Range<usize>> {
    if !tokens[at].is_any(words!["on", "aboard"]) {
        return None;
    }
    with_its_people(tokens, at).or_else(|| of_its_owner(tokens, at))
}

/// "On Dai's the whole vane fell off", "aboard Marit's boat": a boat by her owner, who needs no "boat" behind.
fn of_its_owner(tokens: &[Token<'_>], at: usize) -> Option<Range<usize>> {
    const BOAT: &WordList =
        words!["boat", "yacht", "ketch", "sloop", "yawl", "cutter", "ship", "old", "last"];
    const GOES_ON: &WordList = words!["the", "he", "she", "they", "it", "a", "his", "her", "their", "there"];
    let (owner, of) = (tokens.get(at + 1)?, tokens.get(at + 2)?);
    let named = is_name(owner) && !is_a_day(owner) && of.is("'s");
    let next = tokens.get(at + 3).filter(|t| t.gap <= Gap::Comma)?;
    let boat = next.is_any(BOAT);
    // "On Marit's the whole vane fell off".
    let alone = next.is_any(GOES_ON) && tokens[at].gap >= Gap::Comma;
    (named && (boat || alone)).then_some(at..at + if boat { 4 } else { 3 })
}

/// The tokens of a name with its boat, where the "on" between them stands at a token and what they did follows.
fn with_its_people(tokens: &[Token<'_>], at: usize) -> Option<Range<usize>> {
    /// A boat's name has no more words.
    const LONGEST: usize = 3;
    const DID: &WordList = words![
        "had", "has", "says", "said", "is", "was", "were", "did", "saw", "got", "gets", "reports",
        "reported", "reckons", "reckoned", "lost", "made", "burned", "burnt", "used", "met", "told",
        "writes", "wrote",
    ];
    if tokens[at].gap != Gap::Space || at == 0 || !is_name(&tokens[at - 1]) {
        return None;
    }
    let the = usize::from(tokens.get(at + 1).is_some_and(|t| t.is("the")));
    let first = at + 1 + the;
    let named = tokens[first.min(tokens.len())..]
        .iter()
        .take(LONGEST)
        .take_while(|t| t.gap == Gap::Space && is_name(t) && !is_a_day(t))
        .count();
    let verb = tokens.get(first + named).filter(|t| t.gap <= Gap::Comma)?;
    (named > 0 && verb.is_any(DID)).then_some(at - 1..first + named)
}

fn is_name(token: &Token<'_>) -> bool {
    token.kind == Kind::Word && token.text.len() > 2 && token.text.starts_with(char::is_uppercase)
}

fn is_a_day(token: &Token<'_>) -> bool {
    date::month(&token.lower).is_some()
        || weekday(&token.lower).is_some()
        || token.is_any(words!["christmas", "easter"])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    #[test]
    fn people_with_their_boat_and_no_day() {
        for (line, expect) in [
            ("The Hansens on Blue Mitten had 11.4 volts", true),
            ("Ruth on the Petrel says forty-one", true),
            ("Worked on Saturday was slow", false),
            ("Walt on deck was cold", false),
            ("Heater on. Cabin was cold", false),
            ("On Dai's the whole vane fell off in forty knots", true),
            ("It was aboard Marit's boat that we saw forty", true),
            ("On Friday's sail the vane held", false),
        ] {
            let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
            let found = (0..tokens.len()).any(|at| of_another_boat(&tokens, at).is_some());
            assert_eq!(found, expect, "{line}");
        }
    }
}
