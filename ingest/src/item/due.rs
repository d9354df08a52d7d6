//! Dates that hang on gear (service, expiry), and the ends of the voyage as the note names them.

use std::ops::Range;

use chrono::{Datelike, Months, NaiveDate};

use super::words::{WORDS, item, thought_of};
use crate::date::{Named, month};
use crate::found::{Due, Item, PassageWords, Span, UtteranceKind, Why};
use crate::gear;
use crate::grammar::GRAMMAR;
use crate::lexicon::Words;
use crate::talk::Talk;
use crate::token::{Gap, Kind};
use crate::topic::{Thought, name};
use crate::trial::titled;
use crate::word::WordList;

/// Gear groups whose things carry dates: a date beside other gear is when it was bought or seen.
const DATED: &[&str] = &["abandon", "signals", "overboard", "fire_gas", "medical", "radio"];

/// Finds those of a note's dates that hang on gear, each with its gear, and the passage's ends, in a note made on a day.
pub fn dues(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    dates: &[Named],
    day: NaiveDate,
) -> (Vec<(Option<String>, Due, Span)>, PassageWords) {
    let mut out = Vec::new();
    let mut passage = PassageWords::default();
    let years = listed_years(talk, dates);
    let all = dates.iter().enumerate().map(|(n, date)| (dates.get(n + 1), date, false));
    for (next, date, listed) in all.chain(years.iter().map(|date| (None, date, true))) {
        let next = next.filter(|d| d.year_said).map(|d| d.tokens.start);
        let at = thought_of(thoughts, date.tokens.start);
        let thought = &thoughts[at];
        if let Some(end) = voyage_end(talk, thought, date) {
            match end {
                End::Back if date.until > day && passage.back < Some(date.until) => {
                    passage.back = Some(date.until);
                    passage.back_said = Some(around_date(talk, thought, date));
                }
                End::Leaves if date.from >= day => {
                    passage.leaves = Some(date.from);
                    passage.leaves_said = Some(around_date(talk, thought, date));
                }
                _ => {}
            }
            continue;
        }
        let cue = if listed { Some(date.tokens.clone()) } else { hangs(talk, thought, date) };
        let Some(cue) = cue else { continue };
        if date.until < day && was_serviced(talk, &cue) {
            continue;
        }
        let dated = |m: &usize| carries_date(name(talk, *m));
        let subject = row(talk, date)
            .or_else(|| thought.subject(talk, &cue).filter(dated))
            .or_else(|| nearest_dated(talk, date));
        let Some(subject) = subject else { continue };
        let date = &as_a_label(talk, date, &cue, day);
        let mut due = Due {
            from: date.from,
            until: date.until,
            what: what(talk, &cue).to_owned(),
            said: String::new(),
        };
        if let Some(years) = every(talk, date)
            && date.until < day
        {
            due.from = due.from.checked_add_months(Months::new(12 * years)).unwrap_or(due.from);
            due.until = due.until.checked_add_months(Months::new(12 * years)).unwrap_or(due.until);
        }
        let end = thought.tokens.end.min(date.tokens.end + 8).max(date.tokens.end);
        let said = thought.tokens.start.max(cue.start.min(date.tokens.start).saturating_sub(10))..end;
        let named = talk.mentions[subject].tokens.clone();
        let brought_up = if said.contains(&named.start) { said.clone() } else { named };
        due.said = crate::trial::join(talk, vec![brought_up, said.clone()]);
        // No boat is away so long that a date years off comes too early, whatever the words near it say.
        let away = day.checked_add_months(Months::new(LONGEST_AWAY)).unwrap_or(day);
        if due.from <= away && too_early(talk, thoughts, at, date.tokens.end, next) {
            due.what.push_str(" too early");
        }
        let span = talk.span(said);
        // "the flares came, and four smokes, dated 2030": both carry the date.
        let head = thought
            .head
            .filter(|&h| talk.mentions[h].name != talk.mentions[subject].name && carries_date(name(talk, h)))
            .filter(|&h| {
                talk.mentions[h].gear().map(|g| &g.group) == talk.mentions[subject].gear().map(|g| &g.group)
            });
        for gear in head.into_iter().chain([subject]) {
            out.push((Some(name(talk, gear).to_owned()), due.clone(), span));
        }
    }
    (out, passage)
}

/// Words in a heading, in the head of a table or in front of a list, by which what is under them is when things run out.
static RUNS_OUT: Words = Words::new(
    "expires expire expired expiry expiring expiration exp valid validity stamped stamp dated date dates till until best \
     label labels certificate certificates due life use-by",
);

/// Years alone that are when gear runs out, where such dates are listed: "| Extinguisher | 2024 |" under "What expires",
/// "extinguishers 2025" beside "flares 04/26".
fn listed_years(talk: &Talk<'_>, dates: &[Named]) -> Vec<Named> {
    const LISTED: std::ops::Range<i32> = 2010..2050;
    let tokens = &talk.tokens;
    let year = |at: usize| {
        let token = &tokens[at];
        let alone = token.kind == Kind::Number
            && token.text.len() == 4
            && crate::quantity::unit_at(talk.text, tokens, at + 1).is_none()
            && dates
                .get(dates.partition_point(|date| date.tokens.end <= at))
                .is_none_or(|date| date.tokens.start > at);
        let year = alone.then(|| token.text.parse().ok()).flatten().filter(|year| LISTED.contains(year))?;
        Some(Named {
            tokens: at..at + 1,
            from: NaiveDate::from_ymd_opt(year, 1, 1)?,
            until: NaiveDate::from_ymd_opt(year, 12, 31)?,
            year_said: true,
        })
    };
    let found = (0..tokens.len()).filter_map(year).filter(|date| {
        let at = date.tokens.start;
        let sentence = talk.sentence_of(at);
        let beside = || {
            dates[dates.partition_point(|d| d.tokens.start < sentence.start)..]
                .iter()
                .take_while(|d| d.tokens.start < sentence.end)
                .any(|d| d.year_said && gear_in_front(talk, d).is_some())
        };
        is_listed(talk, date) || gear_in_front(talk, date).is_some() && beside()
    });
    found.collect()
}

/// Whether gear that carries dates has this one in a list or table of when things run out.
fn is_listed(talk: &Talk<'_>, date: &Named) -> bool {
    date.year_said
        && (row(talk, date).is_some() || gear_in_front(talk, date).is_some())
        && runs_out_under(talk, date.tokens.start)
}

/// Whether what stands over a token, or in front of its list, says that this is when things run out.
pub fn runs_out_under(talk: &Talk<'_>, token: usize) -> bool {
    /// Most lines of a list, so that looking for its head costs the same in any note.
    const LONGEST_LIST: usize = 200;
    let own = talk.tokens[token].utterance;
    let kind = talk.utterances[own].kind;
    let says = |utterance: usize| talk.tokens[talk.tokens_of(utterance)].iter().any(|t| RUNS_OUT.has(t));
    let first = (own.saturating_sub(LONGEST_LIST)..own)
        .rev()
        .take_while(|&u| talk.utterances[u].kind == kind)
        .last()
        .unwrap_or(own);
    let head = kind == UtteranceKind::TableRow && first < own && says(first);
    let over = || {
        (0..first).rev().take(3).take_while(|&u| talk.utterances[u].kind != kind).any(|u| {
            let lead = talk.utterances[u].text.trim_end().ends_with(':');
            (talk.utterances[u].kind == UtteranceKind::Heading || lead) && says(u)
        })
    };
    head || over()
}

/// Gear with a date right in front of one, in the same utterance.
fn gear_in_front(talk: &Talk<'_>, date: &Named) -> Option<usize> {
    /// Most words between.
    const NEAR: usize = 3;
    let start = date.tokens.start;
    let m = talk.mentions.partition_point(|m| m.tokens.end <= start).checked_sub(1)?;
    let mention = &talk.mentions[m];
    let same = talk.tokens[mention.tokens.start].utterance == talk.tokens[start].utterance;
    (same && mention.tokens.end + NEAR >= start && carries_date(&mention.name)).then_some(m)
}

/// The words that name an end of the voyage.
fn around_date(talk: &Talk<'_>, thought: &Thought, date: &Named) -> String {
    const BEFORE: usize = 10;
    const BEHIND: usize = 4;
    let start = thought.tokens.start.max(date.tokens.start.saturating_sub(BEFORE)).min(date.tokens.start);
    let end = thought.tokens.end.min(date.tokens.end + BEHIND).max(date.tokens.end);
    talk.quote(start..end)
}

enum End {
    Back,
    Leaves,
}

/// Whether a date is an end of the voyage: "home by September 15", "away July 4".
fn voyage_end(talk: &Talk<'_>, thought: &Thought, date: &Named) -> Option<End> {
    const REACH: usize = 8;
    let from = date.tokens.start.saturating_sub(REACH).max(thought.tokens.start);
    let tokens = &talk.tokens;
    let reaches = |end: usize| end + 4 >= date.tokens.start && end <= date.tokens.start;
    for at in from..date.tokens.start {
        if WORDS.back.all_at(tokens, at).iter().any(|m| reaches(m.end)) {
            return Some(End::Back);
        }
    }
    for at in from..date.tokens.start {
        let other = at
            .checked_sub(1)
            .is_some_and(|i| tokens[i].is_any(words!["he", "she", "they", "who", "lights", "light"]));
        if !other && WORDS.leaves.all_at(tokens, at).iter().any(|m| reaches(m.end)) {
            return Some(End::Leaves);
        }
    }
    None
}

/// The cue that hangs a date on gear, in the same thought and in front of the date.
fn hangs(talk: &Talk<'_>, thought: &Thought, date: &Named) -> Option<std::ops::Range<usize>> {
    const REACH: usize = 12;
    let from = date.tokens.start.saturating_sub(REACH).max(thought.tokens.start);
    (from..date.tokens.start)
        .rev()
        .find_map(|at| {
            WORDS
                .due
                .at(&talk.tokens, at)
                .filter(|m| {
                    m.end <= date.tokens.start && !(m.end - m.start == 1 && says_more(talk, m.start, date))
                })
                .map(|m| m.start..m.end)
        })
        .or_else(|| label_in_front(talk, thought, date))
        .or_else(|| label_behind(talk, thought, date))
        .or_else(|| label_before(talk, thought, date))
        .or_else(|| {
            // "packed October 2023 and it's every three years"; "Hand flares: 08/2028" in a list.
            let listed = (thought.terse || labelled(talk, thought, date)) && bare_month(talk, date);
            (listed || every(talk, date).is_some() || is_listed(talk, date)).then(|| date.tokens.clone())
        })
}

/// "The liferaft was serviced in March last year": when it was done, and not when it is due.
fn was_serviced(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    const REACH: usize = 3;
    let tokens = &talk.tokens;
    let done = tokens[cue.start].is_any(words![
        "serviced",
        "tested",
        "inspected",
        "checked",
        "repacked",
        "packed",
        "certified",
        "renewed"
    ]);
    done && tokens[cue.start.saturating_sub(REACH)..cue.start]
        .iter()
        .any(|t| t.is_any(words!["was", "were", "had", "got", "been", "i", "we", "they"]))
}

/// "He said it was minus two in July": whether a person's words stand between "said" and a date, and no label's.
fn says_more(talk: &Talk<'_>, cue: usize, date: &Named) -> bool {
    /// As many words as stand on a label in front of its date.
    const LABEL: usize = 5;
    talk.tokens[cue].is_any(words!["said", "say", "says"]) && date.tokens.start - cue > LABEL
}

/// "it's got June of twenty-six punched on it": the words behind a date that hang it on gear.
fn label_behind(talk: &Talk<'_>, thought: &Thought, date: &Named) -> Option<Range<usize>> {
    let end = date.tokens.end;
    let near = end..(end + 2).min(thought.tokens.end.max(end));
    near.clone()
        .take_while(|&at| talk.tokens[at].gap <= Gap::Comma)
        .find_map(|at| WORDS.due_behind.at(&talk.tokens, at))
        .map(|m| m.start..m.end)
}

/// "I read the small print on the flares. July, this year": a date by itself, behind words that a label is looked at.
fn label_before(talk: &Talk<'_>, thought: &Thought, date: &Named) -> Option<Range<usize>> {
    /// Most words beside the date in its sentence.
    const BESIDE: usize = 3;
    /// How far in front the label was looked at, in tokens.
    const REACH: usize = 20;
    let start = thought.tokens.start;
    let alone = thought.tokens.len() <= date.tokens.len() + BESIDE && date.tokens.start < start + BESIDE;
    let mut front =
        (start.saturating_sub(REACH)..start).rev().take_while(|&at| talk.tokens[at + 1].gap < Gap::Block);
    let read = alone && front.any(|at| WORDS.label_read.at(&talk.tokens, at).is_some());
    read.then(|| date.tokens.clone())
}

/// The gear with a date that was named last in front of one, or else right behind it, in the same block.
fn nearest_dated(talk: &Talk<'_>, date: &Named) -> Option<usize> {
    /// How far in front gear may have been named, in tokens.
    const FRONT: usize = 30;
    /// How far behind.
    const BEHIND: usize = 7;
    let (start, end) = (date.tokens.start, date.tokens.end);
    let joined = |from: usize, to: usize| {
        (from + 1..=to).all(|at| talk.tokens.get(at).is_none_or(|t| t.gap < Gap::Block))
    };
    let before = talk.mentions.partition_point(|m| m.tokens.end <= start);
    let named = (0..before)
        .rev()
        .take_while(|&m| talk.mentions[m].tokens.end + FRONT > start)
        .take_while(|&m| joined(talk.mentions[m].tokens.start, start))
        .find(|&m| carries_date(name(talk, m)));
    named.or_else(|| {
        (before..talk.mentions.len())
            .take_while(|&m| talk.mentions[m].tokens.start < end + BEHIND)
            .take_while(|&m| joined(end.saturating_sub(1), talk.mentions[m].tokens.start))
            .find(|&m| carries_date(name(talk, m)))
    })
}

/// The gear with a date that a row of a table is about, where a date stands in one: "hand flares | grab bag | 07/2026".
fn row(talk: &Talk<'_>, date: &Named) -> Option<usize> {
    let own = talk.tokens[date.tokens.start].utterance;
    if talk.utterances[own].kind != UtteranceKind::TableRow {
        return None;
    }
    let before = talk.mentions.partition_point(|m| m.tokens.end <= date.tokens.start);
    let in_row =
        talk.mentions[..before].iter().rev().take_while(|m| talk.tokens[m.tokens.start].utterance == own);
    (before - in_row.count()..before).find(|&m| carries_date(name(talk, m)))
}

/// Whether gear that carries dates stands shortly in front of a date: "EPIRB battery 07/2026".
fn labelled(talk: &Talk<'_>, thought: &Thought, date: &Named) -> bool {
    const NEAR: usize = 4;
    let before = talk.mentions.partition_point(|m| m.tokens.end <= date.tokens.start).checked_sub(1);
    before.is_some_and(|m| {
        thought.mentions.contains(&m)
            && talk.mentions[m].tokens.end + NEAR > date.tokens.start
            && carries_date(name(talk, m))
    })
}

/// A date on gear read as labels have it: "expired in January" is one that has passed, and "the flares say February
/// twenty-five" a year that has, as nothing aboard lasts until a day of the month.
fn as_a_label(talk: &Talk<'_>, date: &Named, cue: &Range<usize>, day: NaiveDate) -> Named {
    const LONG_PAST: i32 = 8;
    const PAST: &WordList =
        words!["expired", "ran", "lapsed", "went", "quit", "died", "dead", "gone", "was", "were", "timed"];
    let mut date = date.clone();
    if date.year_said {
        return date;
    }
    let year = 2000 + date.from.day() as i32;
    if date.from == date.until
        && (day.year() - LONG_PAST..day.year()).contains(&year)
        && let Some(from) = date.from.with_day(1).and_then(|d| d.with_year(year))
    {
        date.from = from;
        date.until = from.checked_add_months(Months::new(1)).and_then(|d| d.pred_opt()).unwrap_or(from);
        return date;
    }
    // "Its service, which was due in September".
    const IN_FRONT: usize = 2;
    let said = cue.start.min(date.tokens.start).saturating_sub(IN_FRONT)..date.tokens.start;
    let past = talk.tokens[cue.clone()].iter().chain(&talk.tokens[said]).any(|t| t.is_any(PAST));
    if past && date.from > day {
        let year_before = |d: NaiveDate| d.checked_sub_months(Months::new(12)).unwrap_or(d);
        (date.from, date.until) = (year_before(date.from), year_before(date.until));
    }
    date
}

/// Items on gear of which the speaker says that its date has passed, and names none.
pub fn expired(talk: &Talk<'_>, thoughts: &[Thought], dues: &[(Option<String>, Due, Span)]) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::new();
    for cue in WORDS.expired.find(&talk.tokens) {
        let cue = cue.start..cue.end;
        let at = thought_of(thoughts, cue.start);
        let thought = &thoughts[at];
        let tokens = &talk.tokens;
        let before = &tokens[thought.tokens.start.max(cue.start.saturating_sub(5))..cue.start];
        let denied = before
            .iter()
            .any(|t| GRAMMAR.denials.has(t) || t.is_any(words!["if", "no", "none", "before", "last"]));
        // "The expired flares went to the coastguard": which they are, and not how things stand.
        let kind =
            talk.mentions.iter().any(|m| m.tokens.start == cue.end && tokens[cue.end].gap < Gap::Comma);
        if denied || kind || tokens[cue.start].asked || talk.ticked(cue.start) == Some(true) {
            continue;
        }
        let Some(subject) = thought.subject(talk, &cue) else { continue };
        let gear = name(talk, subject);
        let told = dues.iter().any(|(g, ..)| g.as_deref() == Some(gear));
        // "two thousand and nine hours, so that's past due": what is counted in hours.
        let counted = || {
            let hours = tokens[cue.clone()].iter().any(|t| t.is_any(words!["due", "overdue", "past"]));
            hours && gear::by_name(gear).is_some_and(|g| g.group == "engine")
        };
        if (carries_date(gear) || counted()) && !told && !out.iter().any(|i| i.gear.as_deref() == Some(gear))
        {
            let mut found = item(talk, thoughts, at, cue, Some(subject), Why::Overdue);
            found.about = titled(Some(gear), &["out of date"], &found.about);
            out.push(found);
        }
    }
    out
}

/// Whether a date is written as a month and a year in figures, as labels have it, or read out as such.
fn bare_month(talk: &Talk<'_>, date: &Named) -> bool {
    let first = &talk.tokens[date.tokens.start];
    date.tokens.len() == 1 && first.text.matches('/').count() == 1
        || date.year_said
            && date.from != date.until
            && first.kind == Kind::Word
            && month(&first.lower).is_none()
}

/// A label cut off by its own full stop, "exp. 02/2026", or gear right in front of a date, "Aerial flares, February 2025".
fn label_in_front(talk: &Talk<'_>, thought: &Thought, date: &Named) -> Option<Range<usize>> {
    let at = date.tokens.start;
    let before = at.checked_sub(1)?;
    let short = &talk.tokens[before];
    if at == thought.tokens.start
        && talk.tokens[at].gap < Gap::Block
        && short.is_any(words!["exp", "cert", "certif", "batt", "serv", "insp", "dtd"])
    {
        return Some(before..at);
    }
    let named = talk.mentions.partition_point(|m| m.tokens.end <= at).checked_sub(1)?;
    let beside = talk.mentions[named].tokens.end == at
        && talk.tokens[at].gap <= Gap::Clause
        && (thought.mentions.contains(&named) || talk.tokens[at].gap == Gap::Clause)
        && carries_date(name(talk, named));
    beside.then(|| date.tokens.clone())
}

fn what(talk: &Talk<'_>, cue: &std::ops::Range<usize>) -> &'static str {
    let service = talk.tokens[cue.clone()]
        .iter()
        .any(|t| t.is_any(words!["service", "inspection", "certified", "packed"]));
    if service { "service" } else { "expires" }
}

/// "every three years", "good for three years" behind a date.
fn every(talk: &Talk<'_>, date: &Named) -> Option<u32> {
    const REACH: usize = 8;
    let end = talk.tokens.len().min(date.tokens.end + REACH);
    let lasts = |i: usize| {
        i > 0 && talk.tokens[i].is("for") && talk.tokens[i - 1].is_any(words!["good", "valid", "ok", "fine"])
    };
    let at = (date.tokens.end..end).find(|&i| talk.tokens[i].is("every") || lasts(i))?;
    let number = talk.tokens.get(at + 1)?;
    let years = match number.lower.as_ref() {
        "year" => return Some(1),
        "one" | "1" => 1,
        "two" | "2" | "other" | "second" => 2,
        "three" | "3" | "third" => 3,
        "four" | "4" => 4,
        "five" | "5" => 5,
        "ten" | "10" => 10,
        _ => return None,
    };
    talk.tokens.get(at + 2).filter(|t| t.is_any(words!["year", "years"])).map(|_| years)
}

/// Months after which any boat is back, for what is said of dates.
const LONGEST_AWAY: u32 = 42;

/// Whether the speaker says, there or in the next thoughts, that the date comes too early.
fn too_early(talk: &Talk<'_>, thoughts: &[Thought], at: usize, from: usize, next: Option<usize>) -> bool {
    const THOUGHTS: usize = 4;
    const WORDS_BEHIND: usize = 36;
    let last = &thoughts[(at + THOUGHTS).min(thoughts.len() - 1)];
    // So does the next date.
    let end = last.tokens.end.min(from + WORDS_BEHIND).min(next.unwrap_or(usize::MAX)).max(from);
    // Another gear's story ends the reach.
    let end = thoughts[at + 1..]
        .iter()
        .find(|t| t.head.is_some() && talk.tokens[t.tokens.start].gap >= Gap::Sentence)
        .map_or(end, |t| end.min(t.tokens.start));
    (from..end).any(|i| WORDS.too_early.at(&talk.tokens, i).is_some())
}

/// Whether a date said of gear was said to come too early.
pub fn said_too_early(due: &Due) -> bool {
    due.what.ends_with("too early")
}

/// Whether gear with this name carries a date.
pub fn carries_date(name: &str) -> bool {
    gear::by_name(name).is_some_and(|g| DATED.contains(&g.group.as_str()))
}
