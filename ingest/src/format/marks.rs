//! Marks in a transcript that are no words: `[Music]`, `(wind noise)`, `♪`.

use crate::found::Span;

/// Words that make a short stretch in brackets a sound rather than speech.
const SOUNDS: &[&str] = &[
    "applause",
    "audio",
    "background",
    "barking",
    "beep",
    "beeping",
    "beeps",
    "bleep",
    "blank",
    "blank_audio",
    "breathing",
    "breeze",
    "buzzing",
    "chatter",
    "chuckle",
    "chuckles",
    "chuckling",
    "clank",
    "clanking",
    "clears",
    "click",
    "clicking",
    "cough",
    "coughing",
    "coughs",
    "creaking",
    "crosstalk",
    "dings",
    "engine",
    "flapping",
    "foreign",
    "gasps",
    "giggles",
    "grunts",
    "gulls",
    "horn",
    "humming",
    "inaudible",
    "indistinct",
    "laugh",
    "laughing",
    "laughs",
    "laughter",
    "music",
    "muffled",
    "noise",
    "noises",
    "pause",
    "rustling",
    "seagulls",
    "sigh",
    "sighing",
    "sighs",
    "silence",
    "singing",
    "sneezes",
    "sniffs",
    "sound",
    "sounds",
    "splash",
    "splashing",
    "squawking",
    "squeaking",
    "static",
    "thud",
    "thump",
    "unclear",
    "unintelligible",
    "whirring",
    "whistles",
    "whistling",
    "yawns",
];

/// Most words that a mark of a sound has.
const LONGEST: usize = 4;

/// Cuts marks of sounds out of a stretch; gives the stretches of words that remain, in order, none of them blank.
pub(crate) fn words(text: &str, span: Span, out: &mut Vec<Span>) {
    let bytes = text.as_bytes();
    let mut from = span.start;
    let mut at = span.start;
    while at < span.end {
        let Some(open) = memchr::memchr3(b'[', b'(', 0xE2, &bytes[at..span.end]).map(|i| at + i) else {
            break;
        };
        at = open + 1;
        // Notes of music are a mark by themselves.
        if bytes[open] == 0xE2 {
            if let Some(note) =
                text.get(open..).and_then(|rest| rest.chars().next()).filter(|c| matches!(c, '♪' | '♫'))
            {
                push(text, Span::new(from, open), out);
                from = open + note.len_utf8();
                at = from;
            }
            continue;
        }
        let shut = if bytes[open] == b'[' { b']' } else { b')' };
        let room = &bytes[open + 1..span.end.min(open + 60)];
        let Some(len) = memchr::memchr(shut, room) else { continue };
        let inside = &text.as_bytes()[open + 1..open + 1 + len];
        if std::str::from_utf8(inside).is_ok_and(is_sound) {
            push(text, Span::new(from, open), out);
            from = open + len + 2;
            at = from;
        }
    }
    push(text, Span::new(from, span.end), out);
}

fn push(text: &str, span: Span, out: &mut Vec<Span>) {
    if let Some(words) = crate::text::trim(text, span) {
        out.push(words);
    }
}

fn is_sound(inside: &str) -> bool {
    let lower = inside.to_lowercase();
    let mut count = 0;
    let mut sound = false;
    for word in lower.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|w| !w.is_empty()) {
        count += 1;
        if count > LONGEST || word.bytes().any(|b| b.is_ascii_digit()) {
            return false;
        }
        sound |= SOUNDS.contains(&word);
    }
    // "engine" alone may be what was said; with another sound's word it is a noise.
    sound && !(count == 1 && matches!(lower.trim(), "engine" | "background" | "horn" | "sound" | "breeze"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sounds_are_no_words() {
        for (line, expect) in [
            ("[Music]", ""),
            ("on my own. [Music] so", "on my own.|so"),
            ("(wind noise) right ♪ then", "right|then"),
            ("[BLANK_AUDIO]", ""),
            ("air 46 (8 C), water (F)", "air 46 (8 C), water (F)"),
            ("the heater (engine) and [sic", "the heater (engine) and [sic"),
            ("(laughs) “twelve” (no, thirteen) [engine noise]", "“twelve” (no, thirteen)"),
        ] {
            let mut out = Vec::new();
            words(line, Span::new(0, line.len()), &mut out);
            let shown: Vec<&str> = out.iter().map(|s| &line[s.range()]).collect();
            assert_eq!(shown.join("|"), expect, "{line}");
        }
    }
}
