//! The house's names in a person's words, and a note's words in quotation marks.

use leadsman_ingest::{Outcome, Why};

use crate::screen::{BAD, CARE, FAINT, GOOD, styled};

/// A name of the house with spaces: `true_wind_speed` is "true wind speed".
pub fn spaced(name: &str) -> String {
    name.replace('_', " ")
}

/// An outcome in its colour; the word alone says it too.
pub fn outcome(outcome: Outcome) -> String {
    let style = match outcome {
        Outcome::Pass => GOOD,
        Outcome::Partial | Outcome::Unclear => CARE,
        Outcome::Fail => BAD,
    };
    styled(style, outcome)
}

/// Why an item is open.
pub fn why(why: Why) -> &'static str {
    match why {
        Why::FailedTrial => "failed when tried",
        Why::InconclusiveTrial => "tried, not settled",
        Why::Unproven => "never proved",
        Why::Task => "to do",
        Why::OutOfLimits => "out of limits",
        Why::Overdue => "overdue",
    }
}

/// What would settle an item that is open for this reason.
pub fn settled_by(why: Why) -> &'static str {
    match why {
        Why::FailedTrial => "a trial that passes",
        Why::InconclusiveTrial => "a trial that shows whether it works",
        Why::Unproven => "a first trial that passes",
        Why::Task => "a note that says it is done",
        Why::OutOfLimits => "a reading within the limit, or the cause put right",
        Why::Overdue => "a service or a replacement that lasts until the boat is back",
    }
}

/// The beginning of a text, up to a word's end, with a sign that it goes on. `longest` is in characters.
pub fn shortened(text: &str, longest: usize) -> String {
    let mut out = String::new();
    let mut length = 0;
    for word in text.split_whitespace() {
        let more = word.chars().count() + usize::from(!out.is_empty());
        if length + more > longest && !out.is_empty() {
            return out.trim_end_matches([';', ',', ':']).to_owned() + " …";
        }
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
        length += more;
    }
    // One word without an end is cut all the same.
    if length > longest {
        out = out.chars().take(longest).collect::<String>() + "…";
    }
    out
}

/// Words of a note between quotation marks.
pub fn quoted(quote: &str) -> String {
    styled(FAINT, format!("\u{201c}{quote}\u{201d}"))
}

#[cfg(test)]
mod tests {
    use super::shortened;

    #[test]
    fn long_words_are_cut() {
        assert_eq!(shortened("one two  three", 8), "one two …");
        assert_eq!(shortened("one two", 7), "one two");
        assert_eq!(shortened(&"x".repeat(50), 10).chars().count(), 11);
        assert_eq!(shortened("", 10), "");
    }
}
