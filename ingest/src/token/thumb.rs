//! Letters that a thumb swapped or left out: "tiller lokced" is "locked", "stysail" is the staysail.
//!
//! A word that the lexicon does not have, and would have with two neighbouring letters the other way round, is taken for
//! that one, and so is one that lacks an inner letter of a longer name of gear. Few words of the language are another's so;
//! those that matter aboard are [`WORDS_OF_THEIR_OWN`]. What was spoken has no such slips. Letters left out of other words,
//! and wrong ones, make words that exist far too often.

use std::sync::LazyLock;

use rustc_hash::{FxHashMap, FxHashSet};

use super::{Kind, Token};
use crate::found::{Utterance, UtteranceKind};
use crate::lexicon::WordMap;
use crate::word::{WordList, key};

/// Shorter words are swapped into each other too easily.
const SHORTEST: usize = 5;

/// Names of gear that are shorter lose a letter to other words too easily.
const SHORTEST_NAME: usize = 7;

/// Words with a neighbour in the lexicon that is one swap or one letter away.
const WORDS_OF_THEIR_OWN: &WordList = words![
    "angel",
    "cares",
    "coats",
    "fries",
    "garde",
    "nobel",
    "singed",
    "spaek",
    "wirse",
    "angels",
    "apologies",
    "betas",
    "gutsy",
    "niner",
    "prated",
    "slily",
    "tires",
    "toady",
    "torus",
    "angle",
    "angles",
    "arcing",
    "arise",
    "arises",
    "barley",
    "barely",
    "beast",
    "beasts",
    "blots",
    "boast",
    "boasts",
    "boost",
    "boosts",
    "brunt",
    "bugle",
    "bugles",
    "cation",
    "codes",
    "copse",
    "crepe",
    "cures",
    "curst",
    "dairy",
    "diary",
    "field",
    "fields",
    "filed",
    "fires",
    "flied",
    "flies",
    "forth",
    "froth",
    "genre",
    "hoses",
    "lairs",
    "liens",
    "loins",
    "marital",
    "martial",
    "minuet",
    "minuets",
    "niches",
    "nickel",
    "nuclear",
    "unclear",
    "prefect",
    "perfect",
    "quiet",
    "quite",
    "reserve",
    "reverse",
    "reveres",
    "rouge",
    "rogue",
    "sacred",
    "scared",
    "satin",
    "stain",
    "sherd",
    "shrike",
    "silver",
    "sliver",
    "solider",
    "soldier",
    "sparse",
    "spares",
    "spilt",
    "split",
    "spits",
    "suing",
    "tarps",
    "tiers",
    "tired",
    "trail",
    "trails",
    "trailed",
    "trial",
    "trials",
    "united",
    "untied",
    "whiled",
    "worth",
    "wroth",
    "wrist",
    "writs",
    "alternates",
    "antennas",
    "backwater",
    "backwaters",
    "batters",
    "beaker",
    "beakers",
    "canker",
    "cankers",
    "centres",
    "cloths",
    "computes",
    "consumes",
    "copper",
    "coppers",
    "cringe",
    "cringes",
    "distinguishes",
    "dodges",
    "enhances",
    "exchanges",
    "gantlets",
    "haters",
    "impales",
    "linage",
    "medial",
    "mediation",
    "muffles",
    "overeat",
    "overeats",
    "picker",
    "pickers",
    "polishes",
    "potable",
    "potables",
    "pothole",
    "potholes",
    "potter",
    "potters",
    "preserves",
    "recovers",
    "revere",
    "silences",
    "slitter",
    "stainer",
    "stater",
    "strikes",
    "sunder",
    "sunders",
    "suppers",
    "tethers",
    "tracer",
    "tracers",
    "troughs",
    "winces",
    "bering",
];

/// Short words that are typed so and are none otherwise.
static SHORT: LazyLock<WordMap<&str>> = LazyLock::new(|| {
    WordMap::new([
        ("teh", "the"),
        ("hte", "the"),
        ("adn", "and"),
        ("nad", "and"),
        ("wiht", "with"),
        ("iwth", "with"),
        ("sial", "sail"),
        ("sials", "sails"),
        ("fule", "fuel"),
        ("jsut", "just"),
        ("thsi", "this"),
        ("taht", "that"),
        ("whne", "when"),
        ("tehn", "then"),
        ("ahve", "have"),
        ("hvae", "have"),
        ("lfet", "left"),
        ("prot", "port"),
    ])
});

/// The keys of all words of the lexicon that are long enough.
static LEXICON: LazyLock<FxHashSet<u64>> = LazyLock::new(|| {
    const FILES: [&str; 10] = [
        include_str!("../../lexicon/faults.toml"),
        include_str!("../../lexicon/gear.toml"),
        include_str!("../../lexicon/grammar.toml"),
        include_str!("../../lexicon/items.toml"),
        include_str!("../../lexicon/life.toml"),
        include_str!("../../lexicon/proofs.toml"),
        include_str!("../../lexicon/quantities.toml"),
        include_str!("../../lexicon/stance.toml"),
        include_str!("../../lexicon/units.toml"),
        include_str!("../../lexicon/verdicts.toml"),
    ];
    let quoted = FILES.iter().flat_map(|file| file.lines()).filter(|line| !line.starts_with('#'));
    quoted
        .flat_map(|line| line.split(|c: char| !c.is_ascii_alphabetic()))
        .filter(|word| word.len() >= SHORTEST)
        .map(|word| key(&word.to_ascii_lowercase()))
        .collect()
});

/// Names of gear by the key of what is left of them without one of their inner letters; none where that is left of several.
static LETTER_LEFT_OUT: LazyLock<FxHashMap<u64, Option<String>>> = LazyLock::new(|| {
    let mut out: FxHashMap<u64, Option<String>> = FxHashMap::default();
    let words: FxHashSet<&str> = include_str!("../../lexicon/gear.toml")
        .lines()
        .filter(|line| line.starts_with("name") || line.starts_with("also"))
        .flat_map(|line| line.split(|c: char| !c.is_ascii_lowercase()))
        // What is done and what is made of it differ by a letter as often as not.
        .filter(|word| word.len() >= SHORTEST_NAME && !word.ends_with("ing") && !word.ends_with("ed"))
        .collect();
    let plural = |word: &str| (!word.ends_with('s')).then(|| format!("{word}s"));
    for word in words.iter().flat_map(|&word| [Some(word.to_owned()), plural(word)]).flatten() {
        for at in 1..word.len() - 1 {
            let rest = format!("{}{}", &word[..at], &word[at + 1..]);
            // "Tiller" without either "l" is one word.
            let found = out.entry(key(&rest)).or_insert_with(|| Some(word.clone()));
            if found.as_ref().is_some_and(|other| *other != word) {
                *found = None;
            }
        }
    }
    out
});

/// Puts letters back that were swapped or left out in what was typed.
pub(super) fn mend(utterances: &[Utterance], tokens: &mut [Token<'_>]) {
    for token in tokens.iter_mut() {
        let typed = utterances[token.utterance].kind != UtteranceKind::Cue;
        if !typed || token.kind != Kind::Word || !token.text.bytes().all(|b| b.is_ascii_lowercase()) {
            continue;
        }
        if let Some(&word) = SHORT.get(token) {
            token.reword(word);
        } else if token.text.len() >= SHORTEST
            && !LEXICON.contains(&token.key)
            && !token.is_any(WORDS_OF_THEIR_OWN)
            && let Some(word) =
                swapped(token.text).or_else(|| LETTER_LEFT_OUT.get(&token.key).cloned().flatten())
        {
            token.reword(word);
        }
    }
}

/// The one word of the lexicon that a word is with two of its letters swapped.
fn swapped(text: &str) -> Option<String> {
    let mut letters = text.as_bytes().to_vec();
    let mut found: Option<String> = None;
    for at in 1..letters.len() {
        if letters[at - 1] == letters[at] {
            continue;
        }
        letters.swap(at - 1, at);
        let word = std::str::from_utf8(&letters).unwrap_or_default();
        if LEXICON.contains(&key(word)) {
            if found.is_some() {
                return None;
            }
            found = Some(word.to_owned());
        }
        letters.swap(at - 1, at);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_put_back_where_one_word_only_is_meant() {
        let mended = |line: &str| {
            let utterances = [Utterance::line(line)];
            let tokens = crate::token::tokens(line, &utterances);
            tokens.iter().map(|t| t.lower.to_string()).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(
            mended("tiller lokced, two bukcets on the bridle"),
            "tiller locked two buckets on the bridle"
        );
        assert_eq!(mended("picked up teh mooring under sial"), "picked up the mooring under sail");
        assert_eq!(mended("stysail and windlss, lifjacket too"), "staysail and windlass lifejacket too");
        for line in
            ["on the trail to the field", "quite a quiet diary", "Impleler is a name", "a copper tracer"]
        {
            assert_eq!(mended(line), line.to_lowercase(), "{line}");
        }
    }
}
