//! The small words of `lexicon/grammar.toml`, by what they do in a sentence.

use std::collections::HashSet;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::token::Token;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    openers: String,
    starters: String,
    unfinished: String,
    fillers: String,
    copulas: String,
    prepositions: String,
    determiners: String,
    predicates: String,
    wishes: String,
    conditions: String,
    modals: String,
    calling: String,
    not_me: String,
    participles: String,
    denials: String,
    others: String,
    other_articles: String,
    other_people: String,
    not_things: String,
    parts: String,
}

/// A set of words.
#[derive(Debug)]
pub struct Words(HashSet<String>);

impl Words {
    fn new(written: &str) -> Self {
        Self(written.split_whitespace().map(str::to_owned).collect())
    }

    /// Whether a token is one of them.
    pub fn has(&self, token: &Token<'_>) -> bool {
        self.0.contains(token.lower.as_ref())
    }
}

/// The sets of the file, under the names that they have there.
#[expect(missing_docs, reason = "the file says what each set is for")]
#[derive(Debug)]
pub struct Grammar {
    pub openers: Words,
    pub starters: Words,
    pub unfinished: Words,
    pub fillers: Words,
    pub copulas: Words,
    pub prepositions: Words,
    pub determiners: Words,
    pub predicates: Words,
    pub wishes: Words,
    pub conditions: Words,
    pub modals: Words,
    pub calling: Words,
    pub not_me: Words,
    pub participles: Words,
    pub denials: Words,
    pub others: Words,
    pub other_articles: Words,
    pub other_people: Words,
    pub not_things: Words,
    pub parts: Words,
}

/// The house's grammar, read at first use.
pub static GRAMMAR: LazyLock<Grammar> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../lexicon/grammar.toml"))
        .expect("lexicon/grammar.toml is checked by a test");
    Grammar {
        openers: Words::new(&file.openers),
        starters: Words::new(&file.starters),
        unfinished: Words::new(&file.unfinished),
        fillers: Words::new(&file.fillers),
        copulas: Words::new(&file.copulas),
        prepositions: Words::new(&file.prepositions),
        determiners: Words::new(&file.determiners),
        predicates: Words::new(&file.predicates),
        wishes: Words::new(&file.wishes),
        conditions: Words::new(&file.conditions),
        modals: Words::new(&file.modals),
        calling: Words::new(&file.calling),
        not_me: Words::new(&file.not_me),
        participles: Words::new(&file.participles),
        denials: Words::new(&file.denials),
        others: Words::new(&file.others),
        other_articles: Words::new(&file.other_articles),
        other_people: Words::new(&file.other_people),
        not_things: Words::new(&file.not_things),
        parts: Words::new(&file.parts),
    }
});

#[cfg(test)]
mod tests {
    #[test]
    fn the_lexicon_reads() {
        assert!(super::GRAMMAR.openers.0.contains("okay"));
    }
}
