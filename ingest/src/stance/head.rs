//! What stands over numbers and speaks for all of them: the heading of a list, the head of a table's column.

use std::ops::Range;

use crate::found::Stance;
use crate::talk::Talk;
use crate::word::WordList;

use super::is_a_past_year;

/// What the heading over a list says of its numbers: "## Limits I will keep", "Standing orders:", "## Last season".
pub(super) fn of_heading(talk: &Talk<'_>, heading: Range<usize>) -> Option<Stance> {
    let tokens = &talk.tokens[heading.clone()];
    let has = |words: &WordList| tokens.iter().any(|t| t.is_any(words));
    let pair = |first: &WordList, second: &WordList| {
        tokens.windows(2).any(|w| w[0].is_any(first) && w[1].is_any(second))
    };
    if has(words![
        "limit",
        "limits",
        "rule",
        "rules",
        "trigger",
        "triggers",
        "target",
        "targets",
        "never",
        "redline",
        "redlines",
        "threshold",
        "thresholds",
    ]) || pair(words!["standing"], words!["orders"])
        || pair(words!["when"], words!["to", "we", "i", "she"])
    {
        Some(Stance::Limit)
    } else if has(words!["forecast", "fcst", "outlook", "grib", "bureau", "metservice"])
        && !tells_it(talk, heading.clone())
    {
        Some(Stance::Forecast)
    } else if is_of_another_day(talk, heading) {
        Some(Stance::Recalled)
    } else if has(words![
        "spec",
        "specs",
        "specification",
        "specifications",
        "particulars",
        "inventory",
        "capacity",
        "capacities",
        "tankage",
        "dimensions",
        "sizes",
        "ratings",
    ]) {
        Some(Stance::Spec)
    } else if has(words!["plan", "plans", "passage", "planned", "budget", "shopping", "buy"])
        || has(words!["trip", "voyage", "crossing"]) && pair(words!["for"], words!["the", "this", "our"])
    {
        Some(Stance::Planned)
    } else if has(words![
        "estimate",
        "estimates",
        "estimated",
        "sums",
        "calculation",
        "calculations",
        "arithmetic",
    ]) {
        Some(Stance::Hypothetical)
    } else {
        None
    }
}

/// What the label at the head of a line says of the numbers of its sentence: "Criterion:", "Purpose:", "Handbook:".
pub(super) fn of_label(talk: &Talk<'_>, label: Range<usize>) -> Option<Stance> {
    let tokens = &talk.tokens[label];
    let has = |words: &WordList| tokens.iter().any(|t| t.is_any(words));
    if has(words!["criterion", "criteria", "requirement", "requirements", "acceptance", "handbook", "manual"])
    {
        Some(Stance::Limit)
    } else if has(words!["purpose", "aim", "objective", "goal", "intention", "expected", "expectation"]) {
        Some(Stance::Planned)
    } else if has(words!["hearsay", "rumour", "rumor"]) {
        Some(Stance::Recalled)
    } else {
        None
    }
}

/// "Sat 9 May (forecast NW 14-16 m/s)": whether a heading tells the forecast itself, and so stands over none.
fn tells_it(talk: &Talk<'_>, heading: Range<usize>) -> bool {
    heading.into_iter().any(|i| {
        crate::number::atom_at(&talk.tokens, i)
            .is_some_and(|atom| crate::quantity::unit_at(talk.text, &talk.tokens, atom.end).is_some())
    })
}

/// What the head of a table's column says of the numbers under it: "Wants", "Limit", "Rated", "Last year".
pub(crate) fn of_column(talk: &Talk<'_>, head: Range<usize>) -> Option<Stance> {
    // The "min" of "L/min" is no minimum.
    let per = |i: usize| i > head.start && talk.tokens[i - 1].is_any(words!["/", "per", "a"]);
    // "Max AWS": the most that was met, and no limit.
    let met = head.clone().any(|i| {
        talk.tokens[i].is_any(words![
            "aws", "tws", "wind", "gust", "gusts", "sog", "stw", "speed", "sea", "wave", "waves", "heel",
        ])
    });
    let most = |i: usize| met && talk.tokens[i].is_any(words!["max", "maximum", "min", "minimum"]);
    let has = |words: &WordList| head.clone().any(|i| talk.tokens[i].is_any(words) && !per(i) && !most(i));
    let up_to = || talk.tokens[head.clone()].windows(2).any(|w| w[0].is("up") && w[1].is("to"));
    if has(words![
        "wants",
        "want",
        "wanted",
        "limit",
        "limits",
        "band",
        "max",
        "maximum",
        "min",
        "minimum",
        "target",
        "should",
        "allowed",
        "rule",
        "range",
        "tolerance",
        "needed",
        "required",
        "setpoint",
        "trigger",
        "every",
        "interval",
        "soll",
    ]) || up_to()
    {
        Some(Stance::Limit)
    } else if has(words![
        "spec", "rated", "rating", "nominal", "capacity", "holds", "label", "size", "plate", "maker",
        "makers", "maker's", "book", "dia", "diameter", "bore",
    ]) {
        Some(Stance::Spec)
    } else if has(words!["measured", "found", "actual", "read", "reading", "got", "gave", "now", "today"]) {
        Some(Stance::Observed)
    } else if has(words!["forecast", "fcst", "grib"]) {
        Some(Stance::Forecast)
    } else if has(words!["plan", "planned", "next"]) {
        Some(Stance::Planned)
    } else if has(words!["last", "previous", "before", "was", "prior", "earlier"])
        || head.clone().any(|i| is_a_past_year(talk, i))
    {
        Some(Stance::Recalled)
    } else {
        None
    }
}

/// "Last year's figures", "Spring 2024, before the refit"; "Since last season" is now.
fn is_of_another_day(talk: &Talk<'_>, heading: Range<usize>) -> bool {
    let tokens = &talk.tokens[heading.clone()];
    let last = tokens.windows(2).any(|w| {
        w[0].is_any(words!["last", "previous"])
            && w[1].is_any(words!["year", "years", "season", "summer", "winter", "spring", "autumn", "fall"])
    });
    (last || heading.into_iter().any(|i| is_a_past_year(talk, i))) && !tokens.iter().any(|t| t.is("since"))
}
