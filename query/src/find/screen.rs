//! What was found, for a person.

use std::io;

use super::{Found, Hit};
use crate::figure;
use crate::instruments::show_measured;
use crate::screen::{CARE, MARK, STRONG, Screen, styled};
use crate::words::{outcome, spaced};

/// As many answers as may be asked for.
pub const MOST: usize = 1000;

/// Prints what was found.
pub fn show(found: &Found, screen: &mut Screen) -> io::Result<()> {
    for (word, meant) in &found.slips {
        let text = format!("\"{word}\" stands nowhere; looked for {} instead", meant.join(", "));
        screen.paragraph("", "  ", &styled(CARE, text))?;
    }
    for word in &found.unknown {
        screen.paragraph(
            "",
            "  ",
            &styled(CARE, format!("\"{word}\" stands nowhere, nor anything like it")),
        )?;
    }
    if found.hits.is_empty() {
        return screen.line("nothing found");
    }
    for (number, hit) in found.hits.iter().enumerate() {
        if number > 0 {
            screen.gap()?;
        }
        show_hit(number + 1, hit, screen)?;
    }
    if found.more {
        screen.gap()?;
        let twice = (2 * found.hits.len()).min(MOST);
        screen.paragraph(
            "",
            "",
            &format!("there are more; --limit {twice} shows twice as many, further words narrow them down"),
        )?;
    }
    Ok(())
}

fn show_hit(number: usize, hit: &Hit, screen: &mut Screen) -> io::Result<()> {
    const INDENT: &str = "     ";
    let gear = hit.gear.join(", ");
    let what = match (hit.kind, hit.outcome, hit.open) {
        ("trial", Some(how), _) => format!("{} tried: {}", styled(STRONG, gear), outcome(how)),
        ("item", _, open) => {
            let state = if open == Some(false) { "closed" } else { "open" };
            let of = if gear.is_empty() { String::new() } else { format!(", {}", styled(STRONG, gear)) };
            format!("item, {state}{of}")
        }
        _ => "words".to_owned(),
    };
    let at = hit.at.map_or_else(String::new, |at| format!(", {}", figure::moment(at)));
    let some = if hit.complete { "" } else { " (some of the words)" };
    screen.paragraph(&format!("{number:>3}. "), INDENT, &format!("{what}; {}{at}{some}", hit.source))?;
    let words = marked(&trimmed(hit), screen.has_colour());
    screen.paragraph(INDENT, INDENT, &format!("\u{201c}{words}\u{201d}"))?;
    if !hit.conditions.is_empty() {
        let conditions: Vec<String> = hit
            .conditions
            .iter()
            .map(|c| format!("{} {}", spaced(&c.quantity), figure::range(c.low, c.high, &c.unit)))
            .collect();
        screen.paragraph(INDENT, INDENT, &format!("in {}", conditions.join(", ")))?;
    } else if let Some((low, high)) = hit.wind_kn {
        screen.paragraph(
            INDENT,
            INDENT,
            &format!("in wind of {}", figure::range(Some(low), Some(high), "kn")),
        )?;
    }
    show_measured(INDENT, &hit.measured, screen)
}

/// The words of an answer in pieces, each with whether it matches.
pub fn shown(hit: &Hit) -> Vec<(String, bool)> {
    let shown = trimmed(hit);
    let mut pieces = Vec::new();
    let mut done = 0;
    for (start, end) in joined(&shown) {
        let (Some(before), Some(word)) = (shown.words.get(done..start), shown.words.get(start..end)) else {
            continue;
        };
        pieces.push((before.to_owned(), false));
        pieces.push((word.to_owned(), true));
        done = end;
    }
    pieces.push((shown.words.get(done..).unwrap_or_default().to_owned(), false));
    pieces
}

/// Words to show, with the bytes of them that match.
struct Shown<'a> {
    words: &'a str,
    marks: Vec<(usize, usize)>,
}

/// The words without what stands in front of them in the index ("GEAR (what it is there for): "), and without a quote
/// that only says the end again.
fn trimmed(hit: &Hit) -> Shown<'_> {
    let words = hit.words.as_str();
    let purpose = hit.gear.iter().find_map(|gear| words.strip_prefix(gear.as_str())?.strip_prefix(" ("));
    let start =
        purpose.and_then(|rest| rest.split_once("): ")).map_or(0, |(_, rest)| words.len() - rest.len());
    let said_twice = words[start..].match_indices(": ").find(|(at, _)| {
        let (before, after) = (&words[start..start + at], &words[start + at + 2..]);
        !after.is_empty() && before.ends_with(after)
    });
    let end = said_twice.map_or(words.len(), |(at, _)| start + at);
    let marks = hit.marks.iter().filter(|mark| mark.0 >= start && mark.1 <= end);
    Shown { words: &words[start..end], marks: marks.map(|mark| (mark.0 - start, mark.1 - start)).collect() }
}

/// The words with those that match marked: by the terminal's means, or between asterisks.
fn marked(hit: &Shown<'_>, colour: bool) -> String {
    let mut out = String::new();
    let mut done = 0;
    for (start, end) in joined(hit) {
        // Marks come from outside: one that does not fall between characters is left out.
        let (Some(before), Some(word)) = (hit.words.get(done..start), hit.words.get(start..end)) else {
            continue;
        };
        out += before;
        out += &if colour { styled(MARK, word) } else { format!("*{word}*") };
        done = end;
    }
    out += hit.words.get(done..).unwrap_or_default();
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Marks with nothing but white space between them are one.
fn joined(hit: &Shown<'_>) -> Vec<(usize, usize)> {
    let mut joined: Vec<(usize, usize)> = Vec::new();
    for &(start, end) in &hit.marks {
        match joined.last_mut() {
            Some(last) if hit.words.get(last.1..start).is_some_and(|gap| gap.trim().is_empty()) => {
                last.1 = end
            }
            _ => joined.push((start, end)),
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::Outcome;

    use super::super::Condition;
    use super::*;

    #[test]
    fn trials_show_their_words_and_conditions() {
        let hit = Hit {
            kind: "trial",
            source: "05-drogue.txt".to_owned(),
            hash: "ab".repeat(32),
            at: Some("2026-08-16T14:30:00+10:00".parse().expect("an instant")),
            start: 10,
            end: 40,
            gear: vec!["drogue".to_owned()],
            outcome: Some(Outcome::Fail),
            open: None,
            conditions: vec![Condition {
                quantity: "true_wind_speed".to_owned(),
                low: Some(14.0),
                high: Some(16.0),
                unit: "kn".to_owned(),
            }],
            measured: Vec::new(),
            wind_kn: Some((14.0, 16.0)),
            words: "no response at all\nfrom the bow".to_owned(),
            marks: vec![(3, 11), (12, 14), (900, 901)],
            complete: false,
        };
        let found = Found {
            asked: "response bou".to_owned(),
            slips: vec![("bou".to_owned(), vec!["bow".to_owned()])],
            unknown: Vec::new(),
            hits: vec![hit.clone()],
            more: true,
        };
        let named = Hit {
            words: "drogue (slow her): no good: no good".to_owned(),
            marks: vec![(0, 6), (19, 21), (28, 30)],
            ..hit.clone()
        };
        assert_eq!(marked(&trimmed(&named), false), "*no* good");
        insta::assert_snapshot!(Screen::printed(70, |screen| show(&found, screen)), @r#"
            "bou" stands nowhere; looked for bow instead
              1. drogue tried: fail; 05-drogue.txt, Sun 16 Aug 2026 14:30 (some of
                 the words)
                 “no *response at* all from the bow”
                 in true wind speed 14 to 16 kn

            there are more; --limit 2 shows twice as many, further words narrow
            them down
        "#);
    }
}
