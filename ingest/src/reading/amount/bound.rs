//! Open ends: "over 6", "no more than 40", "at least".

use crate::token::{Gap, Kind, Token};

use super::{Amount, Bound};

/// An open end, from the words around an amount.
pub(super) fn bound(tokens: &[Token<'_>], amount: &Amount) -> Option<Bound> {
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let before = |n: usize| {
        start
            .checked_sub(n)
            .filter(|&i| (i + 1..=start).all(|k| tokens[k].gap <= Gap::Line))
            .map(|i| tokens[i].lower.as_ref())
    };
    let after = |n: usize| {
        (end..=end + n)
            .all(|k| tokens.get(k).is_some_and(|t| t.gap <= Gap::Line))
            .then(|| tokens[end + n].lower.as_ref())
    };
    // An "about", an article or a "the" may stand between.
    let skip = match before(1) {
        Some("a" | "an" | "the" | "my" | "our" | "about" | "just" | "say" | "around" | "his" | "her") => 1,
        _ => 0,
    };
    let (one, two, three) = (before(1 + skip), before(2 + skip), before(3 + skip));
    let negated = |word: Option<&str>| {
        matches!(
            word,
            Some(
                "never"
                    | "not"
                    | "no"
                    | "nor"
                    | "without"
                    | "don't"
                    | "won't"
                    | "shouldn't"
                    | "mustn't"
                    | "nothing"
                    | "isn't"
            )
        )
    };
    let arrow =
        start > 1 && tokens[start - 1].is_any(words![">", "→"]) && tokens[start - 1].gap >= Gap::Clause;
    let one = if arrow { None } else { one };
    // "3.8 A average over 20 min": while they went by.
    let measured = [
        "average", "averaged", "averages", "avg", "mean", "total", "ah", "amps", "a", "litres", "l", "volts",
        "v",
    ];
    let lasting = one == Some("over")
        && two.is_some_and(|word| measured.contains(&word))
        && amount.dimension() == Some(crate::quantity::Dimension::Time);
    let one = if lasting { None } else { one };
    let found = match (two, one) {
        (Some("more" | "greater" | "higher" | "longer" | "better" | "faster"), Some("than")) => {
            Some(Bound::Least)
        }
        (Some("less" | "fewer" | "lower" | "smaller"), Some("than")) => Some(Bound::Most),
        (Some("at"), Some("least")) => return Some(Bound::Least),
        (Some("at"), Some("most")) => return Some(Bound::Most),
        (Some("minimum" | "min"), Some("of")) => return Some(Bound::Least),
        (Some("maximum" | "max"), Some("of")) => return Some(Bound::Most),
        (Some("up"), Some("to")) => return None,
        // "half a foot under", "over the ground" are no bounds; those stand behind.
        (_, Some("over" | "above" | "exceeding" | "past" | "beyond" | "≥" | ">" | "minimum" | "min")) => {
            Some(Bound::Least)
        }
        (_, Some("under" | "below" | "within" | "inside" | "≤" | "<" | "maximum" | "max")) => {
            Some(Bound::Most)
        }
        _ => None,
    };
    if let Some(found) = found {
        let led = if matches!(one, Some("than")) { three } else { two };
        let far = before(4 + skip);
        // "I never want to see it over 195", "don't let her go past 40".
        let held = (3..=8)
            .map_while(|n| start.checked_sub(n))
            .take_while(|&i| tokens[i + 1].gap <= Gap::Line && tokens[i].kind == Kind::Word)
            .find(|&i| negated(Some(tokens[i].lower.as_ref())))
            .is_some_and(|i| {
                tokens[i + 1..start].iter().any(|t| {
                    t.is_any(words![
                        "see", "let", "want", "like", "have", "go", "run", "be", "get", "take", "allow",
                        "push", "drive", "carry", "use", "hoist", "fly", "set", "load",
                    ])
                })
            });
        let flipped = negated(led)
            || held
            || (matches!(
                led,
                Some(
                    "goes"
                        | "go"
                        | "went"
                        | "drops"
                        | "drop"
                        | "dropped"
                        | "saw"
                        | "let"
                        | "be"
                        | "fall"
                        | "got"
                        | "get"
                        | "gone"
                        | "anything"
                        | "any"
                )
            ) && (negated(three) || (matches!(one, Some("than")) && negated(far))));
        return Some(match (found, flipped) {
            (Bound::Least, true) => Bound::Most,
            (Bound::Most, true) => Bound::Least,
            (kept, false) => kept,
        });
    }
    match (after(0), after(1)) {
        (Some("or"), Some("more" | "better" | "over" | "above" | "higher" | "greater")) => Some(Bound::Least),
        (Some("or"), Some("less" | "under" | "below" | "lower" | "fewer")) => Some(Bound::Most),
        (Some("and" | "or"), Some("up" | "upwards")) => Some(Bound::Least),
        (Some("as" | "at"), Some("a" | "least"))
            if after(2) == Some("minimum") || after(1) == Some("least") =>
        {
            Some(Bound::Least)
        }
        // "The limit is sixteen, not under".
        _ if tokens
            .get(end)
            .is_some_and(|t| t.gap <= Gap::Comma && t.is_any(words!["not", "never", "no", "nothing"]))
            && tokens.get(end + 2).is_none_or(|t| t.kind != Kind::Number && t.gap >= Gap::Comma) =>
        {
            match tokens.get(end + 1).map(|t| t.lower.as_ref()) {
                Some("under" | "below" | "less" | "lower") => Some(Bound::Least),
                Some("over" | "above" | "more" | "higher") => Some(Bound::Most),
                _ => None,
            }
        }
        // "It shall have sixteen at the least".
        (Some("at"), Some("the")) if after(2) == Some("least") => Some(Bound::Least),
        (Some("at"), Some("the")) if after(2) == Some("most") => Some(Bound::Most),
        (Some("minimum" | "min"), _) => Some(Bound::Least),
        (Some("maximum" | "max" | "tops"), _) | (Some("at"), Some("most")) => Some(Bound::Most),
        _ => None,
    }
}
