//! Boat words put right where a recogniser makes others of them.
//!
//! `lexicon/heard.toml` has the slips: what is heard, what was said, and the words that must stand near for it, where
//! what is heard could be meant; and words that are written as one and heard as two. Numbers are never changed.

use std::sync::OnceLock;

use serde::Deserialize;

/// Words in the place of others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mended {
    /// First word.
    pub from: usize,
    /// One past the last word.
    pub until: usize,
    /// What was said.
    pub to: String,
}

#[derive(Deserialize)]
struct File {
    joined: Vec<String>,
    slip: Vec<Entry>,
}

#[derive(Deserialize)]
struct Entry {
    heard: Vec<String>,
    said: String,
    #[serde(default)]
    near: Vec<String>,
}

struct Slip {
    heard: Vec<String>,
    said: String,
    near: Vec<String>,
}

/// How far a word may stand for "near", in words either way.
const NEAR: usize = 12;

fn slips() -> &'static [Slip] {
    static SLIPS: OnceLock<Vec<Slip>> = OnceLock::new();
    SLIPS.get_or_init(|| {
        let file: File =
            toml::from_str(include_str!("../../lexicon/heard.toml")).expect("lexicon/heard.toml reads");
        let mut slips: Vec<Slip> = Vec::new();
        for said in file.joined {
            for (at, _) in said.char_indices().skip(2).filter(|(at, _)| at + 2 <= said.len()) {
                let heard = vec![said[..at].to_owned(), said[at..].to_owned()];
                slips.push(Slip { heard, said: said.clone(), near: Vec::new() });
            }
        }
        for entry in file.slip {
            for heard in entry.heard {
                let heard = heard.split(' ').map(str::to_owned).collect();
                slips.push(Slip { heard, said: entry.said.clone(), near: entry.near.clone() });
            }
        }
        // The longest first, so that one that holds another wins.
        slips.sort_by_key(|slip| std::cmp::Reverse(slip.heard.len()));
        slips
    })
}

/// Finds what to put right, in order, none overlapping another.
pub fn mend(words: &[&str]) -> Vec<Mended> {
    let bare: Vec<String> =
        words.iter().map(|word| word.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase()).collect();
    let mut found = Vec::new();
    let mut at = 0;
    while at < bare.len() {
        if let Some(to) = quarter(words, &bare, at) {
            found.push(Mended { from: at, until: at + 2, to });
            at += 2;
            continue;
        }
        if let Some(to) = thousand(words, &bare, at) {
            found.push(Mended { from: at, until: at + 3, to });
            at += 3;
            continue;
        }
        match slips().iter().find(|slip| fits(slip, words, &bare, at)) {
            Some(slip) => {
                let until = at + slip.heard.len();
                found.push(Mended { from: at, until, to: dressed(&slip.said, &words[at..until]) });
                at = until;
            }
            None => at += 1,
        }
    }
    found
}

/// A quarter of the compass, which recognisers take for two: "from the south, west" is from the south-west.
fn quarter(words: &[&str], bare: &[String], at: usize) -> Option<String> {
    let (first, second) = (bare.get(at)?.as_str(), bare.get(at + 1)?.as_str());
    let is_quarter = matches!(first, "north" | "south") && matches!(second, "east" | "west");
    // "To the south, west of the island" means two.
    let two = bare.get(at + 2).is_some_and(|next| next == "of");
    (is_quarter && words[at].ends_with(',') && !two)
        .then(|| dressed(&format!("{first}-{second}"), &words[at..at + 2]))
}

/// A thousand and a few, which recognisers write as said: "1000 and 11" is 1011. The number stays what was heard.
fn thousand(words: &[&str], bare: &[String], at: usize) -> Option<String> {
    let [first, "and", last] = [bare.get(at)?.as_str(), bare.get(at + 1)?, bare.get(at + 2)?] else {
        return None;
    };
    let few: u32 = last.parse().ok().filter(|few| (1..100).contains(few))?;
    let whole = matches!(first, "1000" | "1,000") && words[at].ends_with('0');
    whole.then(|| dressed(&(1_000 + few).to_string(), &words[at..at + 3]))
}

fn fits(slip: &Slip, words: &[&str], bare: &[String], at: usize) -> bool {
    let until = at + slip.heard.len();
    if bare.get(at..until).is_none_or(|here| *here != slip.heard[..]) {
        return false;
    }
    // A sign between two words parts them.
    let ends = |word: &&str| word.ends_with(['.', ',', '?', '!', ';', ':']);
    if words[at..until - 1].iter().any(ends) {
        return false;
    }
    let around = at.saturating_sub(NEAR)..(until + NEAR).min(bare.len());
    slip.near.is_empty() || around.filter(|i| !(at..until).contains(i)).any(|i| slip.near.contains(&bare[i]))
}

/// The words, with the capital and the punctuation of those that were heard.
fn dressed(said: &str, heard: &[&str]) -> String {
    let (first, last) =
        (heard.first().copied().unwrap_or_default(), heard.last().copied().unwrap_or_default());
    let lead: String = first.chars().take_while(|c| !c.is_alphanumeric()).collect();
    let tail: String = last.chars().rev().take_while(|c| !c.is_alphanumeric()).collect();
    let capital = first.chars().find(|c| c.is_alphanumeric()).is_some_and(char::is_uppercase);
    let mut letters = said.chars();
    let said = match letters.next() {
        Some(letter) if capital => letter.to_uppercase().chain(letters).collect(),
        _ => said.to_owned(),
    };
    format!("{lead}{said}{}", tail.chars().rev().collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mended(line: &str) -> String {
        let words: Vec<&str> = line.split(' ').collect();
        let mut out = Vec::new();
        let mut at = 0;
        for change in mend(&words) {
            out.extend(words[at..change.from].iter().map(|word| (*word).to_owned()));
            out.push(change.to);
            at = change.until;
        }
        out.extend(words[at..].iter().map(|word| (*word).to_owned()));
        out.join(" ")
    }

    #[test]
    fn boat_words_are_put_right() {
        assert_eq!(mended("Cat trouts are at 22 percent."), "Cap shrouds are at 22 percent.");
        assert_eq!(mended("the windane steered well"), "the windvane steered well");
        assert_eq!(mended("We set the stay sail, and it"), "We set the staysail, and it");
        assert_eq!(
            mended("The back state pump. Wind less gypsy and chain"),
            "The backstay pump. Windlass gypsy and chain"
        );
        assert_eq!(mended("Barometer 1000 and 11, falling"), "Barometer 1011, falling");
        assert_eq!(mended("the general sheet is chafed"), "the genoa sheet is chafed");
        assert_eq!(mended("28 knots from the south, west, and the"), "28 knots from the south-west, and the");
    }

    #[test]
    fn what_may_be_meant_stays() {
        for line in [
            "In general it went well.",
            "The stay. Sail on.",
            "wind 14 knots",
            "it lay to the south, west of us",
            "",
        ] {
            assert_eq!(mended(line), line);
        }
    }
}
