//! Wind directions: compass words, and whether they are said of the wind.

use std::ops::Range;

use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

/// A compass point named in a text.
#[derive(Clone, Debug, PartialEq)]
pub struct Compass {
    /// Its tokens.
    pub tokens: Range<usize>,
    /// Degrees from north.
    pub degrees: f64,
    /// "westerly", "a northerly": said of winds, hardly of anything else.
    pub erly: bool,
    /// In capital letters, "SW".
    pub letters: bool,
}

/// A point in one small letter, in front of its figure: behind the wind, or at the head of what is said in a note that has
/// no capitals.
fn small(tokens: &[Token<'_>], at: usize, capitals_used: bool) -> Option<f64> {
    let token = &tokens[at];
    if !matches!(token.text, "n" | "e" | "s" | "w") || token.gap < Gap::Space {
        return None;
    }
    let figure = tokens.get(at + 1).is_some_and(|t| t.kind == Kind::Number && t.gap == Gap::Space);
    let wind = at > 0
        && token.gap < Gap::Clause
        && tokens[at - 1].is_any(words!["wind", "winds", "breeze", "forecast"]);
    let head = token.gap >= Gap::Comma && !capitals_used;
    if figure && (wind || head) { degrees(token.text) } else { None }
}

/// Whether a letter is that of a machine's code: "error E 4", "the E four code".
fn of_a_code(tokens: &[Token<'_>], at: usize) -> bool {
    let code = |t: &Token<'_>| t.is_any(super::reject::CODES);
    let joined = |t: &&Token<'_>| t.gap < Gap::Clause;
    tokens[at].text.len() == 1
        && (at > 0 && tokens[at].gap < Gap::Comma && code(&tokens[at - 1])
            || tokens[at + 1..].iter().take(2).take_while(joined).any(code))
}

/// Whether a letter is a word that an apostrophe cuts short: "W'd hold it" is "would".
fn is_cut_short(tokens: &[Token<'_>], at: usize) -> bool {
    tokens.get(at + 1).is_some_and(|t| t.gap == Gap::Glued && t.lower.starts_with('\''))
}

/// Letters of a compass word: "southwest" is `sw`; with whether it ends in "-erly".
fn letters(token: &Token<'_>) -> Option<(String, bool)> {
    let word = token.lower.as_ref();
    if token.kind != Kind::Word || !word.starts_with(['n', 'e', 's', 'w']) {
        return None;
    }
    // "N", "SW", "WNW" in capitals; small letters could be anything.
    if token.text.len() <= 3 && token.text.bytes().all(|b| matches!(b, b'N' | b'E' | b'S' | b'W')) {
        return Some((word.to_owned(), false));
    }
    if matches!(
        word,
        "nw" | "ne" | "sw" | "se" | "nne" | "ene" | "ese" | "sse" | "ssw" | "wsw" | "wnw" | "nnw"
    ) {
        return Some((word.to_owned(), false));
    }
    // What is longer begins with one of these; most words don't, and are told so here.
    if !["nor", "sou", "eas", "wes"].iter().any(|begins| word.starts_with(begins)) && !word.contains('\'') {
        return None;
    }
    let (stem, erly) = ["erlies", "erly", "ely", "'ly", "ly"]
        .iter()
        .find_map(|end| word.strip_suffix(end).map(|stem| (stem, true)))
        // "a nor'easter", but not Easter. Whether "sou'wester" is the hat is seen by what stands beside it.
        .or_else(|| {
            word.strip_suffix("er")
                .filter(|s| s.starts_with("nor") || s.starts_with("southe") || s.starts_with("sou'"))
                .map(|s| (s, true))
        })
        .unwrap_or((word, false));
    // "E'ly", "NE'ly".
    if erly && (1..=3).contains(&stem.len()) && word.contains('\'') && degrees(stem).is_some() {
        return Some((stem.to_owned(), true));
    }
    if stem.len() < 3 {
        return None;
    }
    let mut out = String::new();
    let mut rest = stem;
    while !rest.is_empty() {
        let (letter, len) = ["north", "south", "east", "west", "nor'", "sou'", "nor", "sou"]
            .iter()
            .find_map(|name| rest.strip_prefix(name).map(|_| (name.as_bytes()[0] as char, name.len())))?;
        out.push(letter);
        rest = rest[len..].trim_start_matches(['\'', '-']);
    }
    (out.len() <= 3).then_some((out, erly))
}

/// Whether a token is a compass word or a part of one.
pub fn is_point(token: &Token<'_>) -> bool {
    letters(token).is_some()
}

/// Degrees of a point by its letters; `None` for what is no point ("ns").
fn degrees(letters: &str) -> Option<f64> {
    const POINTS: [&str; 16] =
        ["n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw"];
    POINTS.iter().position(|p| *p == letters).map(|i| i as f64 * 22.5)
}

/// Finds the compass points of a text, the longest at each place.
pub fn compass(tokens: &[Token<'_>]) -> Vec<Compass> {
    let mut out = Vec::new();
    let mut at = 0;
    let capitals_used = tokens.iter().any(|t| t.text.bytes().any(|b| b.is_ascii_uppercase()));
    while at < tokens.len() {
        // "Wind w 3", and "w 3" where nothing is written in capitals.
        if let Some(degrees) = small(tokens, at, capitals_used) {
            out.push(Compass { tokens: at..at + 1, degrees, erly: false, letters: true });
            at += 1;
            continue;
        }
        // The "W" of "F.W. 82" is another thing's initial.
        let initial = || {
            at > 0
                && tokens[at].text.len() == 1
                && tokens[at - 1].text.len() == 1
                && tokens[at].span.start == tokens[at - 1].span.end + 1
                && letters(&tokens[at - 1]).is_none()
                && tokens[at - 1].kind == Kind::Word
        };
        // "W/S 22 kt, B/S 6.4, D/S 17": wind speed, boat speed, down below.
        let of_speed = || {
            at > 1
                && tokens[at].text == "S"
                && tokens[at].gap == Gap::Glued
                && tokens[at - 1].is("/")
                && matches!(tokens[at - 2].text, "W" | "B" | "D")
        };
        let other = || initial() || of_speed() || of_a_code(tokens, at) || is_cut_short(tokens, at);
        let Some((mut name, mut erly)) = letters(&tokens[at]).filter(|_| !other()) else {
            at += 1;
            continue;
        };
        let capitals = tokens[at].text.bytes().all(|b| b.is_ascii_uppercase());
        let mut end = at + 1;
        let mut found = degrees(&name).map(|d| (d, end, erly));
        // "W/NW" is west-northwest.
        if let [slash, second, ..] = &tokens[end..]
            && slash.is("/")
            && slash.gap == Gap::Glued
            && second.gap == Gap::Glued
            && let Some((more, also)) = letters(second)
            && let Some(d) = degrees(&format!("{name}{more}"))
        {
            out.push(Compass { tokens: at..end + 2, degrees: d, erly: erly || also, letters: capitals });
            at = end + 2;
            continue;
        }
        while let Some((more, also)) = tokens.get(end).filter(|t| t.gap <= Gap::Line).and_then(letters) {
            name += &more;
            erly |= also;
            end += 1;
            match degrees(&name) {
                Some(d) => found = Some((d, end, erly)),
                None if name.len() >= 3 => break,
                None => {}
            }
        }
        match found {
            Some((degrees, end, erly)) => {
                out.push(Compass { tokens: at..end, degrees, erly, letters: capitals });
                at = end;
            }
            None => at += 1,
        }
    }
    out
}

/// Words that may stand between a compass point and the number that belongs to it.
pub const FILLERS: &WordList = words![
    "about", "around", "at", "a", "an", "i", "'d", "say", "oh", "some", "maybe", "steady", "good", "roughly",
    "well", "like", "by", "the", "way", "now", "wind", "winds", "force", "blowing", "f", "sort", "of",
    "only", "just", "under", "over", "up", "to", "nearly", "almost", "and", "today", "solid", "call", "it",
    "me", "make", "mostly", "still", "already", "perhaps", "light", "breeze",
];

/// Words in front that show the point is not the wind's: a course, a place, a swell, a stream.
const NOT_WIND_BEFORE: &WordList = words![
    "heading",
    "headed",
    "steering",
    "steer",
    "course",
    "setting",
    "sets",
    "set",
    "hdg",
    "cog",
    "facing",
    "bound",
    "going",
    "went",
    "sail",
    "sailed",
    "motored",
    "motoring",
    "head",
    "due",
    "magnetic",
    "swell",
    "current",
    "stream",
    "down",
    "old",
    "further",
    "farther",
    "miles",
    "mile",
    "nm",
    "up",
    "off",
    "variation",
    "deviation",
    "lat",
    "long",
    "looking",
    "pointing",
    "°",
];

/// Whether a compass point is said of the wind, by the words around it. `number_follows` where an amount does.
pub fn of_wind(tokens: &[Token<'_>], point: &Compass, number_follows: bool, number_leads: bool) -> bool {
    let (start, end) = (point.tokens.start, point.tokens.end);
    let back = |n: usize| {
        start
            .checked_sub(n)
            .map(|i| &tokens[i])
            .filter(|_| (0..n).all(|k| tokens[start - k].gap <= Gap::Comma))
    };
    let after = tokens.get(end).filter(|t| t.gap <= Gap::Line);
    let wind = |t: &Token<'_>| {
        t.is_any(words![
            "wind", "winds", "breeze", "blowing", "blew", "blow", "blows", "wnd", "gale", "gusts", "gusting",
            "gust", "variable", "veering", "backing", "veered", "backed", "fcst", "forecast", "windy",
            "airs", "breath", "puffs", "squalls", "squall", "force",
        ])
    };
    let word = &tokens[start].lower;
    if word.starts_with("sou'") && word.ends_with("er") && !number_follows && !number_leads {
        return false;
    }
    // A place or a way: "south of Bruny", "North Carolina", "the west side", "east coast", "to the south".
    if after.is_some_and(|t| {
        t.is_any(words![
            "of",
            "side",
            "coast",
            "shore",
            "end",
            "bank",
            "island",
            "islands",
            "head",
            "point",
            "cape",
            "channel",
            "pier",
            "harbour",
            "harbor",
            "bay",
            "pole",
            "swell",
            "going",
            "bound",
            "cardinal",
            "quay",
            "wall",
            "entrance",
            "mark",
            "arm",
            "carolina",
            "america",
            "coming",
            "sea",
            "atlantic",
            "pacific",
            "magnetic",
            "variation",
        ])
    }) && !(point.erly && after.is_some_and(|t| t.is_any(words!["coming", "of"])))
    {
        return false;
    }
    // "South-east Iceland": the name of a sea area.
    let area = !point.letters
        && !point.erly
        && tokens[start].text.starts_with(char::is_uppercase)
        && tokens.get(end).is_some_and(|t| {
            t.gap == Gap::Space
                && t.kind == Kind::Word
                && t.text.len() > 3
                && t.text.starts_with(char::is_uppercase)
                && t.text.ends_with(char::is_lowercase)
                && !wind(t)
                && !t.is_any(words!["gale", "storm", "beaufort", "true", "apparent"])
        });
    if area {
        return false;
    }
    let one = back(1);
    if one.is_some_and(|t| t.is_any(NOT_WIND_BEFORE))
        && !point.erly
        && !(one.is_some_and(|t| t.is_any(words!["set", "up", "going", "went"])) && number_follows)
    {
        return false;
    }
    if one.is_some_and(|t| {
        t.is_any(words![
            "setting", "sets", "heading", "steering", "course", "hdg", "cog", "swell", "current", "stream",
        ])
    }) {
        return false;
    }
    let lead_two: Vec<&Token<'_>> = (1..=6).map_while(back).collect();
    if lead_two.iter().take(3).any(|t| {
        t.is_any(words![
            "swell", "swells", "course", "heading", "steering", "setting", "current", "stream", "tide",
        ])
    }) && !number_follows
    {
        return false;
    }
    if point.erly {
        // "a southerly swell", "on a northerly course".
        return !after.is_some_and(|t| {
            t.is_any(words![
                "course",
                "heading",
                "swell",
                "set",
                "route",
                "direction",
                "side",
                "current",
                "point"
            ])
        });
    }
    if number_follows {
        return true;
    }
    if number_leads {
        return true;
    }
    // "wind's out of the west", "the wind is northwest", "blowing from the south", "light southeast", "went round NW".
    if lead_two.iter().any(|t| wind(t)) {
        return !lead_two.iter().take(2).any(|t| {
            t.is_any(words!["to", "toward", "towards"])
                && !lead_two.iter().any(|w| w.is_any(words!["veered", "backed", "veering", "backing"]))
        });
    }
    // "it's gone round to the south-east", "shifted into the north".
    if lead_two.iter().take(4).any(|t| {
        t.is_any(words![
            "round", "around", "veered", "backed", "veering", "backing", "shifted", "clocked", "swung",
            "filled", "settled", "switched",
        ])
    }) && lead_two.iter().take(2).any(|t| t.is_any(words!["to", "into", "in", "from", "out"]))
        && !lead_two
            .iter()
            .any(|t| t.is_any(words!["we", "she", "i", "boat", "bow", "her", "tide", "sailed", "motored"]))
    {
        return true;
    }
    if one.is_some_and(|t| t.is_any(words!["light", "moderate", "fresh", "strong"])) {
        return true;
    }
    // "it's west north west and we left with twelve knots", "it's south, it's twenty five true".
    let it_is =
        one.is_some_and(|t| t.is_any(words!["'s", "is", "was"])) && back(2).is_some_and(|t| t.is("it"));
    let speed = tokens[end..tokens.len().min(end + 8)].windows(2).any(|w| {
        (w[0].kind == Kind::Number || crate::number::is_number_word(&w[0]))
            && w[1].is_any(words!["knots", "true", "apparent", "kn", "kts"])
    });
    if it_is && speed {
        return true;
    }
    // "from south-west it blows", "it turned north-east".
    let then = tokens.get(end + 1).filter(|t| t.gap <= Gap::Line);
    if after.is_some_and(|t| t.is("it")) && then.is_some_and(wind)
        || one.is_some_and(|t| t.is_any(words!["turned", "came"])) && back(2).is_some_and(|t| t.is("it"))
    {
        return true;
    }
    after.is_some_and(|t| t.is_any(words!["wind", "winds", "breeze", "gale", "gales", "airs"]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    #[test]
    fn compass_words_in_letters_words_and_old_spellings() {
        for (line, expected) in [
            ("SW", 225.0),
            ("WNW", 292.5),
            ("north north east", 22.5),
            ("nor'west", 315.0),
            ("south-west", 225.0),
            ("northwest", 315.0),
            ("westerly", 270.0),
            ("southeasterly", 135.0),
        ] {
            let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
            let found: Vec<f64> = compass(&tokens).iter().map(|c| c.degrees).collect();
            assert_eq!(found, [expected], "{line}");
        }
    }
}
