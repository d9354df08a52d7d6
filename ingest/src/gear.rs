//! Gear: what aboard is being talked about.
//!
//! The words of the trade are in `lexicon/gear.toml`; names that a skipper gives to gear ("George is steering, that's
//! the autopilot") are learned from the note, and handed on between notes by [`Names`].

use std::ops::Range;
use std::sync::LazyLock;

use rustc_hash::FxHashMap;
use serde::Deserialize;

use crate::grammar::GRAMMAR;
use crate::lexicon::{BuiltIn, Patterns};
use crate::token::{Gap, Kind, Token};

/// One entry of `lexicon/gear.toml`; that file says what the fields mean.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gear {
    /// What it is called in answers.
    pub name: String,
    /// Other names, as patterns.
    pub also: Vec<String>,
    /// What a speech recogniser makes of them.
    #[serde(default)]
    pub heard: Vec<String>,
    /// The thing that it is part of.
    pub part_of: Option<String>,
    /// What it serves.
    pub group: String,
    /// Whether a side or position in front of it makes it another thing.
    #[serde(default)]
    pub sided: bool,
    /// A word for many things ("pump", "hatch"): a more particular name nearby wins over it.
    #[serde(default)]
    pub generic: bool,
    /// A thing that serves others and is seldom tried itself (a winch, a locker): named beside a verdict, it is
    /// seldom what the verdict is on.
    #[serde(default)]
    pub prop: bool,
    /// Names of `also` that count only where one of `near` stands in the same sentence.
    #[serde(default)]
    vague: Vec<String>,
    #[serde(default)]
    near: Vec<String>,
    #[serde(default)]
    not_near: Vec<String>,
    #[serde(default)]
    never_near: Vec<String>,
    #[serde(default)]
    headed: Vec<String>,
    #[serde(default)]
    heading: Vec<String>,
    /// Words that, standing right behind, make it something else.
    #[serde(default)]
    unless: Vec<String>,
    #[serde(default)]
    unless_heard: Vec<String>,
    /// Words that, standing right in front, make it something else.
    #[serde(default)]
    not_after: Vec<String>,
}

#[derive(Deserialize)]
struct File {
    gear: Vec<Gear>,
}

#[derive(Clone, Copy)]
struct Alias {
    gear: usize,
    vague: bool,
    heard: bool,
    headed: bool,
}

struct Table {
    gear: Vec<Gear>,
    by_name: FxHashMap<String, usize>,
    patterns: Patterns<Alias>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File =
        toml::from_str(include_str!("../lexicon/gear.toml")).expect("lexicon/gear.toml is checked by a test");
    let mut patterns = Patterns::default();
    let mut by_name = FxHashMap::default();
    for (index, gear) in file.gear.iter().enumerate() {
        by_name.insert(gear.name.to_lowercase(), index);
        let name = gear.name.to_lowercase();
        for (written, heard) in
            gear.also.iter().chain([&name]).map(|w| (w, false)).chain(gear.heard.iter().map(|w| (w, true)))
        {
            let vague = gear.vague.contains(written);
            let alias = Alias { gear: index, vague, heard, headed: gear.headed.contains(written) };
            patterns.add(written, alias).expect("lexicon/gear.toml is checked by a test");
            if let Some(plural) = plural(written) {
                patterns.add(&plural, alias).expect("a plural reads as its singular does");
            }
        }
    }
    Table { gear: file.gear, by_name, patterns }
});

/// The patterns that are built in.
pub fn built_in() -> Vec<&'static dyn BuiltIn> {
    vec![&TABLE.patterns]
}

fn plural(written: &str) -> Option<String> {
    let last = written.chars().next_back()?;
    match last {
        's' => None,
        'h' | 'x' => Some(format!("{written}es")),
        'y' if !written.ends_with("ay") && !written.ends_with("ey") => {
            Some(format!("{}ies", &written[..written.len() - 1]))
        }
        c if c.is_ascii_alphabetic() => Some(format!("{written}s")),
        _ => None,
    }
}

/// A name of gear without the side that it stands on.
pub fn without_side(name: &str) -> &str {
    ["port ", "starboard "].into_iter().find_map(|side| name.strip_prefix(side)).unwrap_or(name)
}

/// Looks gear up by its name in the lexicon, in any case; a side in front of it is left out of account.
pub fn by_name(name: &str) -> Option<&'static Gear> {
    index_of(name).map(|index| &TABLE.gear[index])
}

fn index_of(name: &str) -> Option<usize> {
    let known = |name: &str| TABLE.by_name.get(name).copied();
    // Most names that are asked for are the lexicon's own, as it writes them.
    known(name).or_else(|| {
        let name = name.to_lowercase();
        let bare = || {
            let rest = name.split(' ').skip_while(|w| SIDES.contains(w)).collect::<Vec<_>>().join(" ");
            known(&rest)
        };
        known(&name).or_else(bare)
    })
}

/// All gear of the lexicon.
pub fn all() -> &'static [Gear] {
    &TABLE.gear
}

/// Sides and positions as they are said, and as they stand in a name.
const SIDES: &[&str] = &["port", "starboard", "lee", "weather", "forward", "aft"];

fn side(word: &str) -> Option<&'static str> {
    Some(match word {
        "port" => "port",
        "starboard" | "stbd" | "stb" => "starboard",
        "lee" | "leeward" => "lee",
        "weather" | "windward" => "weather",
        "forward" | "fwd" | "fore" => "forward",
        "aft" | "after" => "aft",
        _ => return None,
    })
}

/// A place where gear is named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mention {
    /// Its name: the lexicon's, with the side or position in front where one is said ("port cap shroud").
    pub name: String,
    /// The tokens that name it.
    pub tokens: Range<usize>,
    /// Whether a more particular name nearby wins over it.
    pub generic: bool,
    /// Whether it is a spare ("the spare impeller", "another impeller").
    pub spare: bool,
    /// Index of its entry in the lexicon, asked for many times.
    known: Option<usize>,
}

impl Mention {
    /// Gear by its name, where some tokens name it.
    pub fn new(name: String, tokens: Range<usize>, generic: bool, spare: bool) -> Self {
        Self { known: index_of(&name), name, tokens, generic, spare }
    }

    /// Its entry in the lexicon.
    pub fn gear(&self) -> Option<&'static Gear> {
        self.known.map(|index| &TABLE.gear[index])
    }
}

/// Names that skippers have given to gear, learned from notes or taught: the name in lower case, and the gear's.
pub type Names = Vec<(String, String)>;

/// The gear that a word of a heading stands for: "Power" is the house bank.
pub fn by_heading(word: &str) -> Option<&'static Gear> {
    TABLE.gear.iter().find(|g| g.heading.iter().any(|h| h == word))
}

/// The lexicon's names in a note's tokens, each looked for once however often the mentions are asked for.
pub(crate) struct Named<'t> {
    tokens: &'t [Token<'t>],
    /// By token where it was looked: the end of the name that begins there, and the index of its gear.
    seen: Vec<Option<Option<(usize, usize)>>>,
}

impl<'t> Named<'t> {
    /// Nothing is looked for yet.
    pub(crate) fn new(tokens: &'t [Token<'t>]) -> Self {
        Self { tokens, seen: vec![None; tokens.len()] }
    }

    fn at(&mut self, at: usize) -> Option<(usize, usize)> {
        *self.seen[at].get_or_insert_with(|| lexical(self.tokens, at))
    }

    /// Whether a name that an article begins only cuts a longer one short: "the diesel" of "the diesel heater".
    fn goes_further(&mut self, at: usize, end: usize) -> bool {
        self.tokens[at].is("the")
            && self.tokens.len() > at + 1
            && self.at(at + 1).is_some_and(|(e, _)| e > end)
    }

    /// The gear named, in order: by the lexicon's words, and by the given names.
    pub(crate) fn mentions(&mut self, names: &[(String, String)]) -> Vec<Mention> {
        let tokens = self.tokens;
        let given =
            Patterns::new(names.iter().map(|(word, gear)| (word.as_str(), gear.clone()))).unwrap_or_default();
        let mut out: Vec<Mention> = Vec::new();
        let mut at = 0;
        while at < tokens.len() {
            let named = given.at(tokens, at).map(|m| (m.end, m.value.clone(), None));
            let found = named.or_else(|| {
                let (end, index) = self.at(at).filter(|(end, _)| !self.goes_further(at, *end))?;
                Some((end, TABLE.gear[index].name.clone(), Some(index)))
            });
            let Some((end, mut name, index)) = found else {
                at += 1;
                continue;
            };
            if is_a_likeness(tokens, at) {
                at = end;
                continue;
            }
            let gear = index.map(|i| &TABLE.gear[i]);
            let mut start = at;
            if gear.is_some_and(|g| g.sided) {
                while start > 0
                    && tokens[start].gap <= Gap::Line
                    && out.last().is_none_or(|m| m.tokens.end < start)
                    && let Some(side) = side(&tokens[start - 1].lower)
                {
                    start -= 1;
                    if !name.starts_with(side) {
                        name = format!("{side} {name}");
                    }
                }
            }
            let spare = start > 0
                && tokens[start].gap <= Gap::Line
                && tokens[start - 1].is_any(words!["spare", "spares", "another"]);
            let mut generic = gear.or_else(|| by_name(&name)).is_none_or(|g| g.generic);
            if let Some(particular) = meant(&out, &name, tokens, at..end) {
                name = particular;
                generic = false;
            }
            out.push(Mention::new(name, start..end, generic, spare));
            at = end;
        }
        out
    }
}

/// "It went off like a smoke alarm", but not "it's like a scramble net", which says what it is.
fn is_a_likeness(tokens: &[Token<'_>], at: usize) -> bool {
    let joined = |i: usize| tokens[i].gap <= Gap::Line;
    at >= 3
        && joined(at)
        && joined(at - 1)
        && tokens[at - 1].is_any(words!["a", "an"])
        && tokens[at - 2].is("like")
        && !GRAMMAR.copulas.has(&tokens[at - 3])
}

/// The particular thing that a short name means where one was named before: "the hatch" after "the forehatch".
fn meant(before: &[Mention], name: &str, tokens: &[Token<'_>], at: Range<usize>) -> Option<String> {
    const REACH: usize = 160;
    // These are things of their own beside "sea anchor", "storm jib", "anchor chain".
    const OWN: &[&str] = &["anchor", "jib", "anchor chain", "mast", "rig", "mainsail", "genoa"];
    if at.len() != 1 || OWN.contains(&name) {
        return None;
    }
    // The motor of what is talked about: the windlass's, the outboard's.
    const MOTORED: &[&str] =
        &["windlass", "outboard", "bow thruster", "watermaker", "electric bilge pump", "autopilot"];
    if tokens[at.start].is("motor") {
        // "The motor" at the head of a line is the engine.
        let first = at.start.checked_sub(1).filter(|&i| tokens[i].is("the")).unwrap_or(at.start);
        if tokens[first].gap >= Gap::Line {
            return None;
        }
        let last =
            before.iter().rev().take_while(|m| m.tokens.end + REACH / 2 > at.start).find(|m| !m.generic)?;
        return MOTORED.contains(&last.name.as_str()).then(|| last.name.clone());
    }
    // "The alarm was dead. Changed the batteries": its own.
    const CELLS: &[&str] =
        &["carbon monoxide alarm", "smoke alarm", "gas alarm", "handheld VHF", "EPIRB", "head torch"];
    const CLOSE: usize = 10;
    if tokens[at.start].is_any(words!["battery", "batteries"])
        && let Some(last) = before.last().filter(|m| m.tokens.end + CLOSE > at.start)
        && CELLS.contains(&last.name.as_str())
        && tokens[last.tokens.end..=at.start].iter().all(|t| t.gap < Gap::Block)
    {
        return Some(last.name.clone());
    }
    let word = tokens[at.start].lower.strip_suffix('s').unwrap_or(&tokens[at.start].lower);
    let short = by_name(name).is_some_and(|g| g.generic && !g.prop) || word == "pilot";
    let last = before
        .iter()
        .rev()
        .take_while(|m| m.tokens.end + REACH > at.start)
        .find(|m| (!m.generic || m.name.len() > name.len()) && m.name.ends_with(word))?;
    (short && last.name != name).then(|| last.name.clone())
}

/// The longest of the lexicon's names at a token that its neighbours don't make something else.
fn lexical(tokens: &[Token<'_>], at: usize) -> Option<(usize, usize)> {
    if !TABLE.patterns.may_begin(&tokens[at]) {
        return None;
    }
    let mut best: Option<(usize, usize)> = None;
    for m in TABLE.patterns.all_at(tokens, at) {
        if best.is_some_and(|(end, _)| end >= m.end) {
            continue;
        }
        let gear = &TABLE.gear[m.value.gear];
        let behind = tokens.get(m.end).filter(|t| t.gap <= Gap::Line);
        let in_front = at.checked_sub(1).map(|i| &tokens[i]).filter(|_| tokens[at].gap <= Gap::Line);
        // "The float" is as short as "float".
        let short = m.end - at == 1 + usize::from(GRAMMAR.determiners.has(&tokens[at]));
        if short && behind.is_some_and(|t| gear.unless.iter().any(|w| t.is(w))) {
            continue;
        }
        if m.value.heard && behind.is_some_and(|t| gear.unless_heard.iter().any(|w| t.is(w))) {
            continue;
        }
        if short && in_front.is_some_and(|t| gear.not_after.iter().any(|w| t.is(w))) {
            continue;
        }
        if short && has_its_own(tokens, at) {
            continue;
        }
        if m.value.vague && !nearby(tokens, at).any(|t| gear.near.iter().any(|w| t.is(w))) {
            continue;
        }
        if short
            && !gear.not_near.is_empty()
            && nearby(tokens, at).any(|t| gear.not_near.iter().any(|w| t.is(w)))
        {
            continue;
        }
        if !gear.never_near.is_empty() && nearby(tokens, at).any(|t| gear.never_near.iter().any(|w| t.is(w)))
        {
            continue;
        }
        if m.value.headed && !heads(tokens, at, m.end) {
            continue;
        }
        best = Some((m.end, m.value.gear));
    }
    best
}

/// "It wants a new battery", "the beacon, which has a battery": of what the talk is of, and no bank of the boat's.
fn has_its_own(tokens: &[Token<'_>], at: usize) -> bool {
    let battery = tokens[at..tokens.len().min(at + 2)].iter().find(|t| !GRAMMAR.determiners.has(t));
    if !battery.is_some_and(|t| t.is_any(words!["battery", "batteries", "belt", "filter"])) {
        return false;
    }
    // "You can get a battery for it".
    let behind = |n: usize| tokens.get(at + n).filter(|t| t.gap <= Gap::Line);
    let for_it = (1..=2).any(|n| {
        behind(n).is_some_and(|t| t.is("for"))
            && behind(n + 1).is_some_and(|t| t.is_any(words!["it", "that", "them"]))
    });
    if for_it {
        return true;
    }
    let mut before =
        (0..at).rev().take_while(|&i| tokens[i + 1].gap <= Gap::Line).map(|i| &tokens[i]).peekable();
    while before
        .next_if(|t| GRAMMAR.determiners.has(t) || t.is_any(words!["new", "fresh", "another", "flat", "its"]))
        .is_some()
    {}
    let has = before.next().is_some_and(|t| t.is_any(words!["wants", "needs", "has", "takes", "had", "got"]));
    has && before.next().is_some_and(|t| t.is_any(words!["it", "that", "which", "this", "'s"]))
}

/// Whether a name stands at the head of a thought, in front of a colon or of what it does: "the log: factor is in".
fn heads(tokens: &[Token<'_>], at: usize, end: usize) -> bool {
    let mut first = at;
    while first > 0
        && tokens[first].gap < Gap::Line
        && tokens[first - 1]
            .is_any(words!["the", "our", "my", "and", "so", "no", "okay", "now", "right", "then"])
    {
        first -= 1;
    }
    let heads = tokens[first].gap >= Gap::Line;
    heads
        && tokens.get(end).is_none_or(|t| {
            t.gap >= Gap::Line
                || t.is_any(words![
                    "reads", "read", "says", "is", "'s", "was", "agrees", "under", "over", "stuck", "sticks",
                    "works", "shows",
                ])
        })
}

/// The tokens around one, up to the ends of the sentences beside it.
fn nearby<'t>(tokens: &'t [Token<'t>], at: usize) -> impl Iterator<Item = &'t Token<'t>> {
    const REACH: usize = 24;
    tokens[at.saturating_sub(REACH)..tokens.len().min(at + REACH)].iter()
}

/// Names that this note gives to gear: "George is steering, that's the autopilot", "we're calling him Gordon".
///
/// A name is a capitalised word in a note that is not all capitals; a name given to a dummy stands for the recovery
/// of a person from the water.
pub fn names_given(tokens: &[Token<'_>], mentions: &[Mention]) -> Names {
    const REACH: usize = 10;
    let mut names: Names = Vec::new();
    for (at, token) in tokens.iter().enumerate() {
        // "that's the autopilot" behind a name.
        if token.is("that") && tokens.get(at + 1).is_some_and(|t| t.is("'s")) {
            // "That's the autopilot", but not "that's with the engine running".
            let said = |m: &&Mention| {
                let start = m.tokens.start;
                (at + 2..at + 5).contains(&start)
                    && tokens[at + 2..start].iter().all(|t| GRAMMAR.determiners.has(t))
            };
            let Some(mention) = mentions.iter().find(said) else { continue };
            let from = at.saturating_sub(REACH);
            if let Some(name) = proper_name(tokens, from..at) {
                learn(&mut names, name, &mention.name);
            }
        }
        // "we're calling him Gordon", "I call her Bertha", "called George".
        if token.is_any(words!["call", "calling", "called", "christened", "named"]) {
            let mut next = at + 1;
            while tokens.get(next).is_some_and(|t| t.is_any(words!["him", "her", "it", "the"])) {
                next += 1;
            }
            let Some(name) = proper_name(tokens, next..(next + 2).min(tokens.len())) else { continue };
            let from = at.saturating_sub(4 * REACH);
            let before = mentions.iter().rev().find(|m| (from..at).contains(&m.tokens.start) && !m.generic);
            let dummy = tokens[from..at]
                .iter()
                .any(|t| t.is_any(words!["dummy", "sandbag", "fender", "bucket", "sack", "overboard"]));
            match before {
                _ if dummy => learn(&mut names, name, OVERBOARD),
                Some(mention) => learn(&mut names, name, &mention.name),
                None => {}
            }
        }
        // "This is Otis. Otis is an old survival suit", "Annie is the resus dummy": said of a dummy.
        if token.is_any(words!["dummy", "jugs", "sandbag"]) {
            let from = at.saturating_sub(2 * REACH);
            let stuffed = token.is("dummy")
                || tokens[from..at].iter().any(|t| t.is_any(words!["stuffed", "dummy", "filled"]));
            let named = proper_name(tokens, from..at).filter(|name| is_called(tokens, from..at, name));
            if stuffed && let Some(name) = named {
                learn(&mut names, name, OVERBOARD);
            }
        }
    }
    names
}

/// Whether a name is said of a thing, "this is Otis", "Annie is the dummy", and not of who does something: "Walt filled it
/// up, plus four jugs".
fn is_called(tokens: &[Token<'_>], within: Range<usize>, name: &str) -> bool {
    let first = name.split(' ').next().unwrap_or(name);
    within.filter(|&i| tokens[i].is(first)).any(|i| {
        let next = tokens.get(i + 1).filter(|t| t.gap < Gap::Sentence);
        let before = i.checked_sub(1).map(|i| &tokens[i]).filter(|_| tokens[i].gap < Gap::Sentence);
        next.is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["is", "was", "'s", "the"]))
            || before
                .is_some_and(|t| t.is_any(words!["is", "was", "'s", "with", "of", "call", "called", "named"]))
    })
}

/// The lexicon's name for getting a person back aboard.
pub const OVERBOARD: &str = "man overboard recovery";

fn learn(names: &mut Names, name: String, gear: &str) {
    const NEVER: &[&str] = &[
        "i",
        "okay",
        "ok",
        "um",
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
        "the",
        "so",
        "and",
        "but",
        "now",
        "right",
        "well",
        "what",
        "that",
        "this",
        "it",
        "she",
        "he",
        "they",
        "we",
    ];
    if !NEVER.contains(&name.as_str()) && by_name(&name).is_none() && !names.iter().any(|(n, _)| *n == name) {
        names.push((name, gear.to_owned()));
    }
}

/// The first capitalised name of one or two words in a range, in lower case.
fn proper_name(tokens: &[Token<'_>], range: Range<usize>) -> Option<String> {
    let capital = |t: &Token<'_>| {
        t.kind == Kind::Word
            && t.text.len() > 2
            && t.text.starts_with(char::is_uppercase)
            && t.text.chars().skip(1).all(char::is_lowercase)
    };
    let mut at = range.start;
    while at < range.end {
        // A word at the head of a sentence is capitalised anyway; it is a name if it stands so elsewhere too.
        let head = tokens[at].gap >= Gap::Sentence;
        let again = || {
            tokens
                .iter()
                .enumerate()
                .any(|(i, t)| i != at && t.gap < Gap::Sentence && t.text == tokens[at].text)
        };
        if capital(&tokens[at]) && (!head || again()) {
            let two = at + 1 < range.end && capital(&tokens[at + 1]) && tokens[at + 1].gap <= Gap::Line;
            let name = if two {
                format!("{} {}", tokens[at].lower, tokens[at + 1].lower)
            } else {
                tokens[at].lower.to_string()
            };
            const COMMON: &[&str] =
                &["okay", "sorry", "well", "right", "this", "that", "they", "now", "and", "but"];
            if !COMMON.contains(&name.as_str()) {
                return Some(name);
            }
        }
        at += 1;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::found::Utterance;

    fn named(line: &str) -> Vec<String> {
        let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
        Named::new(&tokens).mentions(&[]).into_iter().map(|m| m.name).collect()
    }

    #[test]
    fn the_lexicon_reads_and_names_nothing_twice() {
        let mut seen: FxHashMap<&str, &str> = FxHashMap::default();
        for gear in all() {
            for also in gear.also.iter().chain(&gear.heard) {
                assert!(crate::lexicon::Pattern::new(also).is_ok(), "{also}");
                // A vague name may stand for two things: what is near tells them apart.
                if gear.vague.contains(also) {
                    continue;
                }
                if let Some(other) = seen.insert(also, &gear.name) {
                    assert_eq!(other, gear.name, "\"{also}\" names two things");
                }
            }
            if let Some(whole) = &gear.part_of {
                assert!(
                    by_name(whole).is_some(),
                    "{} is part of {whole}, which is not in the lexicon",
                    gear.name
                );
            }
        }
    }

    #[test]
    fn gear_is_found_by_other_names_sides_and_mishearings() {
        assert_eq!(
            named("the port cap's at 14, stbd lower 11"),
            ["port cap shroud", "starboard lower shroud"]
        );
        assert_eq!(named("rolled the big general away"), ["genoa"]);
        assert_eq!(
            named("the emergency tiller, and the series drogue"),
            ["emergency tiller", "series drogue"]
        );
        assert_eq!(named("two spare impellers and the bank"), ["impeller", "house bank"]);
        assert_eq!(named("the pilot book says so, on the river bank"), Vec::<String>::new());
        assert_eq!(named("the anchor light's up"), ["anchor light"]);
    }

    #[test]
    fn names_that_a_skipper_gives_are_learned() {
        let line = "so George is steering that's the autopilot for the new people. He likes George.";
        let tokens = crate::token::tokens(line, &[Utterance::line(line)]);
        let names = names_given(&tokens, &Named::new(&tokens).mentions(&[]));
        assert_eq!(names, [("george".to_owned(), "autopilot".to_owned())]);
        let again = "and George quit again";
        let tokens = crate::token::tokens(again, &[Utterance::line(again)]);
        assert_eq!(Named::new(&tokens).mentions(&names)[0].name, "autopilot");
    }
}
