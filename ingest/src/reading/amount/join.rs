//! Two amounts that are the ends of one value, or the start and the end of a change.

use crate::number::Form;
use crate::quantity::Dimension;
use crate::reading::wind;
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

use super::{Amount, Join};

const CHANGE: &WordList = words![
    "from", "went", "goes", "going", "gone", "came", "come", "dropped", "drops", "rose", "risen", "fell",
    "fallen", "get", "got", "bring", "brought", "warm", "warmed", "heat", "heated", "raise", "raised",
    "crept", "climbed", "turned", "swung", "moved", "started", "changed", "jumped", "slid", "shifted",
    "sank",
];

/// Joins two amounts that are the ends of one value, or the start and end of a change.
pub(super) fn joins(text: &str, tokens: &[Token<'_>], amounts: Vec<Amount>) -> Vec<Amount> {
    let mut out: Vec<Amount> = Vec::with_capacity(amounts.len());
    for amount in amounts {
        let Some(last) = out.last() else {
            out.push(amount);
            continue;
        };
        if last.other.is_some() || !same_kind(last, &amount) {
            out.push(amount);
            continue;
        }
        if comma_decimal(text, tokens, last, &amount) {
            let last = out.last_mut().expect("one was looked at just above");
            last.run.atoms.extend(amount.run.atoms);
            last.tokens.end = amount.tokens.end;
            (last.unit, last.unit_tokens) = (amount.unit, amount.unit_tokens);
            continue;
        }
        match join(text, tokens, last, &amount) {
            Some(join) => {
                let last = out.last_mut().expect("one was looked at just above");
                let tolerance_unit = amount.unit.is_some();
                last.other = Some((join, amount.run));
                last.tokens.end = amount.tokens.end;
                if last.unit.is_none() || (tolerance_unit && amount.unit_tokens.is_some()) {
                    last.unit = amount.unit;
                    last.unit_tokens = amount.unit_tokens;
                }
            }
            None => out.push(amount),
        }
    }
    out
}

/// "twelve, six volts", "one, five metres": a decimal comma that was said and written down as a comma.
fn comma_decimal(text: &str, tokens: &[Token<'_>], a: &Amount, b: &Amount) -> bool {
    let ([first], [second]) = (a.run.atoms.as_slice(), b.run.atoms.as_slice()) else { return false };
    let digit = matches!(second.form, Form::Digit | Form::Figures(1)) && second.value >= 0.0;
    let whole = matches!(first.form, Form::Digit | Form::Small | Form::Figures(1..=2)) && first.value >= 0.0;
    let between = text[tokens[first.end - 1].span.end..tokens[second.start].span.start].trim();
    // "north-north-east six, two metres of sea": the first is the wind's.
    let of_wind = first.start > 0
        && tokens[first.start].gap <= Gap::Line
        && (tokens[first.start - 1].is_any(words!["force", "beaufort", "bft", "f"])
            || wind::is_point(&tokens[first.start - 1]));
    if of_wind {
        return false;
    }
    // "gusting thirty-four, four knots": two speeds; "gusting twenty-two, two metres of sea": a speed and a height.
    if first.value > 13.0 && matches!(b.dimension(), Some(Dimension::Speed | Dimension::Length)) {
        return false;
    }
    // "nine, eight, six metres": a list of whole numbers.
    let listed = first.start > 1
        && tokens[first.start].gap == Gap::Comma
        && (tokens[first.start - 1].kind == Kind::Number
            || crate::number::atom_at(tokens, first.start - 1).is_some_and(|a| a.end == first.start));
    if listed {
        return false;
    }
    let hedged = first.value < second.value && second.value <= first.value * 1.35 + 1.0;
    a.unit.is_none()
        && b.unit.is_some()
        // "She got one, three hours late".
        && b.dimension() != Some(Dimension::Time)
        && a.tokens.end == b.tokens.start
        && between == ","
        && digit
        && whole
        && !hedged
        && first.value != second.value
}

fn same_kind(a: &Amount, b: &Amount) -> bool {
    if a.base.is_some() || b.base.is_some() {
        return false;
    }
    match (a.unit, b.unit) {
        (None, _) => true,
        (Some(a), Some(b)) => a.unit.symbol == b.unit.symbol && a.rate == b.rate,
        // "12 knots to 14".
        (Some(_), None) => true,
    }
}

fn join(text: &str, tokens: &[Token<'_>], a: &Amount, b: &Amount) -> Option<Join> {
    let words = &tokens[a.tokens.end..b.tokens.start];
    let first = &tokens[b.tokens.start];
    let between = text[tokens[a.tokens.end - 1].span.end..first.span.start].trim();
    let gap_max = words.iter().map(|t| t.gap).chain([first.gap]).max().unwrap_or(Gap::Glued);
    let (low, high) = (a.run.candidates(), b.run.candidates());
    let (low, high) = (low.first()?, high.first()?);
    let rises = low.low < high.high;
    // How the pair was led in: "between … and", "from … to".
    let lead: Vec<&str> = (1..=4)
        .map_while(|n| a.tokens.start.checked_sub(n).map(|i| &tokens[i]))
        .take_while(|t| t.kind == Kind::Word)
        .map(|t| t.lower.as_ref())
        .collect();
    let names: Vec<&str> = words.iter().map(|t| t.lower.as_ref()).collect();
    if gap_max == Gap::Block {
        return None;
    }
    // "12.81 V -> 12.47 V", "8 → 19".
    if matches!(between, "->" | "→" | "-->" | "=>") {
        return Some(Join::Change);
    }
    if words.is_empty() {
        // "20-25", "18 – 20".
        if matches!(between, "-" | "–" | "—" | "‑" | "−") && a.unit.is_none() {
            return Some(Join::Range);
        }
        // "fourteen, fifteen", "six, six point two": a hedge, where nothing else tells them apart.
        let hedge =
            between == "," && a.unit.is_none() && rises && high.high <= low.low * 1.35 + 1.0 && !a.article;
        // "maybe 20, 22 knots": in figures only behind a word that hedges.
        let hedging = a.tokens.start > 0
            && tokens[a.tokens.start - 1].is_any(words![
                "maybe", "about", "around", "say", "probably", "blowing", "gusting", "steady", "perhaps",
                "call", "to",
            ]);
        let narrow = high.high <= low.low * 1.2;
        return (hedge && (tokens[a.tokens.start].kind == Kind::Word || hedging && narrow))
            .then_some(Join::Range);
    }
    if gap_max >= Gap::Clause {
        return None;
    }
    // "it drew 4.2 then 1.1 amps": the unit is said once, for both.
    let decimal = |amount: &Amount| amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_)));
    if names == ["then"] && a.unit.is_none() && b.unit.is_some() && decimal(a) && decimal(b) {
        return Some(Join::Change);
    }
    match names.as_slice() {
        ["to"] if high.low == 1.0 && low.low >= 2.0 && b.unit.is_none() => None,
        ["to"] | ["till"] | ["until"] => {
            let from =
                lead.first().is_some_and(|w| *w == "from") || lead.get(1).is_some_and(|w| *w == "from");
            let moved = from && changes(tokens, a.tokens.start);
            // "saloon from 9 to 20 °C": warmed.
            let warmed = from
                && b.unit.is_some_and(|u| u.unit.dimension == Dimension::Temperature)
                && high.high - low.low >= 4.0;
            // "Cabin from 9 to 13", "saloon from 9 to 19 degrees", "Cabin 7C to 18C".
            let degrees = |amount: &Amount| {
                amount
                    .unit
                    .is_some_and(|u| matches!(u.unit.dimension, Dimension::Temperature | Dimension::Degree))
            };
            let cabin = high.high - low.low >= 3.0
                && (from && b.unit.is_none() || degrees(b) && (from || degrees(a)))
                && lead.get(usize::from(from)).is_some_and(|w| {
                    matches!(*w, "cabin" | "saloon" | "salon" | "inside" | "below" | "indoors")
                });
            if !rises || moved || warmed || cabin { Some(Join::Change) } else { Some(Join::Range) }
        }
        ["up" | "down" | "back", "to"] | ["up", "into"] => Some(Join::Change),
        ["and"] if lead.iter().take(3).any(|w| *w == "between") || lead.contains(&"betwixt") => {
            Some(Join::Range)
        }
        ["or"]
        | ["or", "maybe"]
        | ["or", "perhaps"]
        | ["maybe"]
        | ["sometimes"]
        | ["possibly"]
        | ["perhaps"]
        | ["um" | "uh" | "er"]
        | ["maybe", "even"] => {
            // "A minute or two", "an hour or two": the unit is said with the first.
            let one = tokens[a.run.tokens().start].is_any(words!["a", "an"])
                && a.unit.is_some()
                && b.unit.is_none()
                && high.high <= 3.0;
            let close = high.high <= low.low * 2.0 + 1.0;
            (rises && close && (a.unit.is_none() || one)).then_some(Join::Range)
        }
        ["plus", "or", "minus"] | ["plus", "minus"] | ["give", "or", "take"] | ["±"] => {
            Some(Join::Tolerance)
        }
        _ => None,
    }
}

/// Whether a verb of change stands close in front: "went from 57 up to 66", "came up from".
fn changes(tokens: &[Token<'_>], at: usize) -> bool {
    (1..=6)
        .map_while(|n| at.checked_sub(n))
        .take_while(|&i| tokens[i + 1].gap < Gap::Clause)
        .any(|i| tokens[i].is_any(CHANGE) && !tokens[i].is("from"))
}
