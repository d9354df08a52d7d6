//! The register and a gear's story, for a person.

use std::io;

use leadsman_ingest::EventKind;

use super::{ChapterKind, Kept, Register, Story};
use crate::figure;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::{outcome, quoted};

/// What was done with gear, as a word.
pub fn turn_word(what: EventKind) -> &'static str {
    match what {
        EventKind::Fitted => "fitted",
        EventKind::Bought => "bought",
        EventKind::Replaced => "replaced",
        EventKind::Repaired => "repaired",
        EventKind::TakenOff => "taken off",
        EventKind::Announced => "announced",
        EventKind::Needed => "needed",
    }
}

/// Prints the register, a line or two a gear.
pub fn show(register: &Register, screen: &mut Screen) -> io::Result<()> {
    if register.gear.is_empty() {
        return screen.line("No note tells of any gear yet: `leadsman ingest FILE` takes the first");
    }
    let count = figure::count(register.gear.len(), "gear", "pieces of gear");
    let notes = figure::count(register.notes, "note", "notes");
    screen.line(styled(STRONG, format!("{count} from {notes}, on {}", figure::day(register.on))))?;
    let mut group: Option<&Option<String>> = None;
    for kept in &register.gear {
        if group != Some(&kept.group) {
            group = Some(&kept.group);
            screen.gap()?;
            let name = kept.group.as_deref().unwrap_or("by the notes' own names").replace('_', " and ");
            screen.line(styled(STRONG, name))?;
        }
        screen.paragraph("  ", "      ", &line(kept))?;
    }
    Ok(())
}

fn line(kept: &Kept) -> String {
    let mut parts: Vec<String> = Vec::new();
    if let Some(whole) = &kept.part_of {
        parts.push(format!("part of {whole}"));
    }
    match kept.aboard {
        Some(false) => parts.push(styled(CARE, "taken off")),
        None => parts.push("not known to be aboard".to_owned()),
        Some(true) => {}
    }
    if let (Some(since), Some(from)) = (kept.since, &kept.since_from) {
        // The note's name stands in the story and in the JSON; a line of the register has no room for it.
        let from = if from.starts_with("first spoken of") { "spoken of" } else { from.as_str() };
        parts.push(format!("{from} since {}", figure::day(since)));
    }
    if let Some(turn) = kept.turns.last() {
        let on = turn.on.map_or_else(String::new, |day| format!(" {}", figure::day(day)));
        parts.push(format!("last {}{on}", turn_word(turn.what)));
    }
    match &kept.last_tried {
        Some(last) => {
            let on = last.on.map_or_else(String::new, |day| format!(" {}", figure::day(day)));
            let since = if last.renewed_since { ", renewed or repaired since" } else { "" };
            parts.push(format!("tried{on}: {}{since}", outcome(last.outcome)));
        }
        None => parts.push(styled(FAINT, "never tried")),
    }
    format!("{}: {}", styled(STRONG, &kept.name), parts.join("; "))
}

/// Prints a gear's story.
pub fn show_story(story: &Story, screen: &mut Screen) -> io::Result<()> {
    const LONGEST_QUOTE: usize = 200;
    for kept in &story.gear {
        screen.paragraph("", "  ", &line(kept))?;
    }
    let mut day = None;
    for chapter in &story.chapters {
        if day != Some(chapter.on) {
            day = Some(chapter.on);
            screen.gap()?;
            screen
                .line(styled(STRONG, chapter.on.map_or_else(|| "day not known".to_owned(), figure::day)))?;
        }
        let what = match (chapter.kind, chapter.outcome) {
            (ChapterKind::Tried, Some(how)) => {
                let within = if chapter.text.is_empty() { "conditions not known" } else { &chapter.text };
                format!("tried: {} ({within})", outcome(how))
            }
            (ChapterKind::Limit, _) => format!("limit: {}", chapter.text),
            (ChapterKind::Property, _) => format!("property: {}", chapter.text),
            (ChapterKind::Date, _) => format!("date: {}", chapter.text),
            (ChapterKind::Opened, _) => {
                format!("opened {}: {}", chapter.item.as_deref().unwrap_or("-"), chapter.text)
            }
            (ChapterKind::Closed, _) => format!("closed {}", chapter.item.as_deref().unwrap_or("-")),
            (ChapterKind::Decision, _) => format!("the skipper: {}", chapter.text),
            _ => chapter.text.clone(),
        };
        let name = if story.gear.len() > 1 { format!("{}: ", chapter.gear) } else { String::new() };
        screen.paragraph("  ", "      ", &format!("{name}{what}"))?;
        let mut quote = chapter.quote.clone();
        if let Some((at, _)) = quote.char_indices().nth(LONGEST_QUOTE) {
            quote.truncate(at);
            quote.push('…');
        }
        let words = if quote.is_empty() { String::new() } else { format!("{}  ", quoted(&quote)) };
        if chapter.kind != ChapterKind::Decision {
            screen.paragraph("      ", "      ", &styled(FAINT, format!("{words}{}", chapter.from)))?;
        }
    }
    Ok(())
}
