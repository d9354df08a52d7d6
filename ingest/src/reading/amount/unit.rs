//! The unit of a number: behind it, in front of it, in an article ("a knot"), or misheard.

use std::ops::Range;

use crate::number::{Atom, Form, Run};
use crate::quantity::{Dimension, UnitAt, unit_at, unit_named, units};
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

use super::compound::compound_follows;
use super::{Amount, Of, gap_ok};

pub(super) fn with_unit(text: &str, tokens: &[Token<'_>], run: Run) -> Amount {
    let range = run.tokens();
    let mut end = range.end;
    // "15ish", "twenty-odd".
    if tokens
        .get(end)
        .is_some_and(|t| t.gap <= Gap::Hyphen && t.is_any(words!["ish", "odd", "plus", "something"]))
        || tokens.get(end).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["ish", "odd"]))
    {
        end += 1;
    }
    let mut unit_start = end;
    // "half a knot", "a third of a litre", "point nine of a metre", "a couple of miles", "a good four litres".
    let small = run
        .atoms
        .last()
        .is_some_and(|a| matches!(a.form, Form::Fraction | Form::Decimal(_)) || a.value <= 3.0);
    if small {
        let mut next = end;
        if gap_ok(tokens, next, Gap::Line) && tokens[next].is("of") {
            next += 1;
        }
        if gap_ok(tokens, next, Gap::Line) && tokens[next].is_any(words!["a", "an"]) {
            next += 1;
        }
        // "point eight an hour" is a rate of something unsaid, "point eight of an hour" a time.
        let rate = run.atoms.last().is_some_and(|a| matches!(a.form, Form::Decimal(_)))
            && next == end + 1
            && !tokens[end].is("of");
        if next > end
            && !rate
            && unit_at(text, tokens, next).is_some_and(|u| {
                // "two of an hour" is nothing; a fraction is.
                // "Two and a half an hour" is a rate.
                let over = u.unit.dimension == Dimension::Time && !tokens[end].is("of");
                let part = |a: &Atom| a.value < 1.0 || matches!(a.form, Form::Fraction) && !over;
                run.atoms.last().is_some_and(part) && u.end > next
            })
        {
            unit_start = next;
        }
    }
    // "six more knots", "another four amps": a word between that is no unit.
    if gap_ok(tokens, unit_start, Gap::Line)
        && tokens[unit_start].is_any(words![
            "more", "odd", "or", "true", "apparent", "good", "long", "whole", "solid", "full", "measured",
        ])
        && unit_at(text, tokens, unit_start + 1).is_some()
        && !tokens[unit_start].is("or")
    {
        unit_start += 1;
    }
    if gap_ok(tokens, unit_start, Gap::Line)
        && tokens[unit_start].is("or")
        && gap_ok(tokens, unit_start + 1, Gap::Line)
        && tokens[unit_start + 1].is("so")
    {
        unit_start += 2;
    }
    // "60 stone cold", "57 degrees" … a unit's name that is another word here.
    let unit = unit_at(text, tokens, unit_start)
        .filter(|u| {
            u.unit.symbol != "stone"
                || !tokens.get(u.end).is_some_and(|t| t.is_any(words!["cold", "dead", "deaf"]))
        })
        .filter(|u| u.unit.symbol != "in" || !means_no_inch(text, tokens, range.clone(), unit_start))
        .filter(|u| u.unit.dimension != Dimension::Time || !rates_something(tokens, unit_start));
    let mut amount = Amount {
        tokens: range.start..end,
        other: None,
        unit,
        unit_tokens: None,
        bound: None,
        article: range.start > 0
            && tokens[range.start].gap <= Gap::Line
            && tokens[range.start - 1]
                .is_any(words!["a", "an", "proper", "good", "solid", "steady", "honest"]),
        base: None,
        run,
    };
    if let Some(front) = labelled(text, tokens, &amount) {
        amount.unit = Some(front);
        return amount;
    }
    if let Some(unit) = unit {
        amount.unit_tokens = Some(unit_start..unit.end);
        amount.tokens.end = unit.end;
        half_behind_the_unit(tokens, &mut amount);
    }
    amount
}

/// Whether what seems inches behind a number is none: "1540 up anchor, 1710 in", "reef 2 in", the end of what is quoted ("locally
/// 6").
fn means_no_inch(text: &str, tokens: &[Token<'_>], number: Range<usize>, unit: usize) -> bool {
    /// As far in front as what is quoted may begin, in bytes.
    const QUOTED: usize = 80;
    let first = &tokens[number.start];
    if !tokens[unit].is("in") {
        let end = tokens[unit].span.end;
        let from = text[..first.span.start].rfind('\n').map_or(0, |at| at + 1);
        let from = from.max(text.floor_char_boundary(first.span.start.saturating_sub(QUOTED)));
        let opened = text[from..first.span.start].matches('"').count() % 2 == 1;
        return opened && !text[end..].starts_with(|c: char| c.is_ascii_digit());
    }
    let clock = number.len() == 1 && first.text.len() == 4 && first.text.bytes().all(|b| b.is_ascii_digit());
    let reef = number.start > 0 && tokens[number.start - 1].is_any(words!["reef", "reefs", "r"]);
    clock || reef
}

/// The unit that stands in front as a label: "amps 6.2", "Amps: 6.2", "V 12.4, A 3.2", "volts twelve four amps six". What
/// stands behind the number then labels the next one.
fn labelled(text: &str, tokens: &[Token<'_>], amount: &Amount) -> Option<UnitAt> {
    let start = amount.tokens.start;
    let label = start.checked_sub(1)?;
    let word = tokens[label].is_any(words!["volts", "amps", "amperes", "watts", "rpm", "revs", "psi"]);
    let begins = label == 0 || tokens[label].gap >= Gap::Comma;
    let colon = text[tokens[label].span.end..tokens[start].span.start].trim() == ":";
    // "A 3.2" may be a length with its article; a letter needs its colon, or decimals with no unit of their own.
    let decimal =
        amount.unit.is_none() && amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_)));
    let letter = matches!(tokens[label].text, "V" | "A" | "W") && begins && (colon || decimal);
    // "twelve volts eight": the unit of the number in front of it.
    let taken = label > 0
        && tokens[label].gap <= Gap::Line
        && (tokens[label - 1].kind == Kind::Number || crate::number::is_number_word(&tokens[label - 1]));
    if !(tokens[start].gap <= Gap::Line || colon && begins) || !(word || letter) || taken {
        return None;
    }
    let front = if letter {
        UnitAt { unit: units().by_symbol(tokens[label].text)?, rate: None, end: start }
    } else {
        unit_named(tokens, label).filter(|u| u.end == start)?
    };
    let next = amount.unit.is_none_or(|behind| {
        behind.unit.dimension != front.unit.dimension
            && tokens.get(behind.end).is_some_and(|t| t.gap <= Gap::Clause)
            && crate::number::atom_at(tokens, behind.end).is_some()
    });
    next.then_some(UnitAt { end: 0, ..front })
}

/// Whether a time's unit is the "an hour" of a rate: "point eight an hour".
pub(super) fn rates_something(tokens: &[Token<'_>], at: usize) -> bool {
    at > 0
        && tokens[at - 1].is_any(words!["a", "an", "per"])
        && at.checked_sub(2).is_some_and(|i| {
            tokens[i].kind == Kind::Number
                || !tokens[i].is_any(words!["half", "of", "about", "for", "quarter", "in", "over"])
        })
        && at
            .checked_sub(2)
            .is_some_and(|i| crate::number::atom_at(tokens, i).is_some_and(|a| a.end == i + 1))
}

/// "two knots and a half", "an hour and a quarter".
fn half_behind_the_unit(tokens: &[Token<'_>], amount: &mut Amount) {
    let end = amount.tokens.end;
    let is = |at: usize, words: &WordList| gap_ok(tokens, at, Gap::Line) && tokens[at].is_any(words);
    if !is(end, words!["and", "&"]) || amount.run.atoms.len() != 1 {
        return;
    }
    let (part, next) = if is(end + 1, words!["a", "one"]) && is(end + 2, words!["half"]) {
        (0.5, end + 3)
    } else if is(end + 1, words!["a", "one"]) && is(end + 2, words!["quarter"]) {
        (0.25, end + 3)
    } else if is(end + 1, words!["three"]) && is(end + 2, words!["quarters"]) {
        (0.75, end + 3)
    } else if is(end + 1, words!["half"]) && !is(end + 2, words!["a", "an"]) {
        (0.5, end + 2)
    } else if is(end + 1, words!["a"]) && is(end + 2, words!["bit"]) {
        (0.0, end + 3)
    } else {
        return;
    };
    // "an hour and a half of motor" but not "a knot and half a metre".
    amount.run.atoms[0].value += part;
    amount.tokens.end = next;
}

/// "a knot and a half", "an hour": an article in front of a unit.
pub(super) fn articles(
    text: &str,
    tokens: &[Token<'_>],
    within: Range<usize>,
    of: Of,
    out: &mut Vec<Amount>,
) {
    let mut at = within.start;
    while at + 1 < within.end {
        let here = at;
        at += 1;
        let whole_one =
            of == Of::AnyText && tokens[here].is_any(words!["another", "all", "full", "whole", "entire"]);
        if !(tokens[here].is_any(words!["a", "an"]) || whole_one) || tokens[here].kind != Kind::Word {
            continue;
        }
        // "half a knot" belongs to the half; "four dollars a metre" and "seven pints a day" are rates.
        let Some(unit) = unit_at(text, tokens, here + 1) else { continue };
        if unit.unit.dimension == Dimension::Percent
            || tokens[here + 1].is_any(words!["second", "mil", "degree", "rev", "house", "stick", "barrel"])
            // A bar lies across a river's mouth more often than it is an oil pressure.
            || tokens[here + 1].is("bar")
                && !tokens
                    .get(here + 2)
                    .is_some_and(|t| t.is_any(words!["and", "of", "or", "less", "more"]))
        {
            continue;
        }
        let before = here.checked_sub(1).map(|b| &tokens[b]);
        let joined = tokens[here].gap <= Gap::Line;
        if joined
            && before.is_some_and(|b| {
                b.is_any(words!["half", "of", "quarter", "third", "such"]) || b.kind == Kind::Number
            })
        {
            continue;
        }
        let atom = Atom { value: 1.0, start: here, end: here + 1, form: Form::Digit };
        let mut amount = Amount {
            run: Run { atoms: vec![atom] },
            other: None,
            unit: Some(unit),
            tokens: here..unit.end,
            unit_tokens: Some(here + 1..unit.end),
            bound: None,
            article: false,
            base: None,
        };
        half_behind_the_unit(tokens, &mut amount);
        let whole = amount.run.atoms[0].value == 1.0;
        let next = tokens.get(amount.tokens.end).filter(|t| t.gap <= Gap::Line);
        let prior = out.last().filter(|p| p.tokens.end == here);
        let time = unit.unit.dimension == Dimension::Time;
        if whole && !(of == Of::AnyText && time) {
            // "a knot in the line", "a foot in the door": a length or a speed of one needs its "of", "under", "about".
            let loose = matches!(
                unit.unit.dimension,
                Dimension::Speed
                    | Dimension::Length
                    | Dimension::Pound
                    | Dimension::Mass
                    | Dimension::Distance
            ) && !next.is_some_and(|t| {
                t.is_any(words![
                    "of", "or", "under", "above", "below", "off", "higher", "lower", "better", "faster",
                    "slower", "more", "less", "against", "with", "deep", "long", "wide", "high", "away",
                    "short",
                ])
            }) && !before.is_some_and(|b| {
                joined
                    && b.is_any(words![
                        "about", "by", "nearly", "over", "under", "only", "almost", "around", "maybe", "at",
                        "sea", "seas", "swell", "chop", "waves", "depth",
                    ])
            });
            // A price, a rate, "a day" and "a night" of the week, "a minute" of waiting are no amounts.
            let rate = prior.is_some()
                || before.is_some_and(|b| {
                    joined
                        && b.is_any(words![
                            "dollars", "dollar", "euro", "euros", "pounds", "quid", "cents", "times",
                            "turns", "strokes",
                        ])
                });
            let long = time && unit.unit.factor > 3600.0;
            let wait = time
                && unit.unit.symbol == "min"
                && !compound_follows(tokens, amount.tokens.end)
                && !before.is_some_and(|b| {
                    joined
                        && b.is_any(words![
                            "for", "in", "after", "within", "took", "about", "under", "over", "every",
                            "inside",
                        ])
                });
            let ago = next.is_some_and(|t| t.is_any(words!["ago", "back", "later", "earlier", "before"]));
            let rates =
                matches!(unit.unit.dimension, Dimension::Frequency | Dimension::Voltage | Dimension::Force);
            // "a pounder", "a metre stick": a noun follows.
            if loose || rate || long || wait || (ago && time) || rates {
                continue;
            }
        }
        at = amount.tokens.end;
        out.push(amount);
    }
}

/// "for knots", "to metres": what a recogniser makes of "four" and "two" in front of a unit.
pub(super) fn misheard(text: &str, tokens: &[Token<'_>], out: &mut Vec<Amount>) {
    const LED: &WordList = words![
        "is", "'s", "was", "about", "at", "of", "only", "doing", "making", "nearly", "just", "blowing",
        "than", "over", "under", "around", "reads", "says",
    ];
    let mut found = Vec::new();
    for at in 1..tokens.len() {
        let value = match tokens[at].lower.as_ref() {
            "for" | "fore" => 4.0,
            "to" | "too" => 2.0,
            "won" => 1.0,
            "ate" => 8.0,
            "free" => 3.0,
            "sex" | "sicks" => 6.0,
            _ => continue,
        };
        if tokens[at].gap > Gap::Line || !tokens[at - 1].is_any(LED) {
            continue;
        }
        let Some(unit) = unit_at(text, tokens, at + 1) else { continue };
        if matches!(
            unit.unit.dimension,
            Dimension::Time | Dimension::Distance | Dimension::Pound | Dimension::Frequency
        ) {
            continue;
        }
        let run = Run { atoms: vec![Atom { value, start: at, end: at + 1, form: Form::Digit }] };
        found.push(with_unit(text, tokens, run));
    }
    if !found.is_empty() {
        out.extend(found);
        out.sort_by_key(|a| a.tokens.start);
    }
}
