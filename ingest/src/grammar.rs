//! The small words of `lexicon/grammar.toml`, by what they do in a sentence.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::lexicon::WordSet;

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
    people_and_victuals: String,
    parts: String,
}

/// The sets of the file, under the names that they have there.
#[expect(missing_docs, reason = "the file says what each set is for")]
#[derive(Debug)]
pub struct Grammar {
    pub openers: WordSet,
    pub starters: WordSet,
    pub unfinished: WordSet,
    pub fillers: WordSet,
    pub copulas: WordSet,
    pub prepositions: WordSet,
    pub determiners: WordSet,
    pub predicates: WordSet,
    pub wishes: WordSet,
    pub conditions: WordSet,
    pub modals: WordSet,
    pub calling: WordSet,
    pub not_me: WordSet,
    pub participles: WordSet,
    pub denials: WordSet,
    pub others: WordSet,
    pub other_articles: WordSet,
    pub other_people: WordSet,
    pub not_things: WordSet,
    pub people_and_victuals: WordSet,
    pub parts: WordSet,
}

/// The house's grammar, read at first use.
pub static GRAMMAR: LazyLock<Grammar> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../lexicon/grammar.toml"))
        .expect("lexicon/grammar.toml is checked by a test");
    Grammar {
        openers: WordSet::new(&file.openers),
        starters: WordSet::new(&file.starters),
        unfinished: WordSet::new(&file.unfinished),
        fillers: WordSet::new(&file.fillers),
        copulas: WordSet::new(&file.copulas),
        prepositions: WordSet::new(&file.prepositions),
        determiners: WordSet::new(&file.determiners),
        predicates: WordSet::new(&file.predicates),
        wishes: WordSet::new(&file.wishes),
        conditions: WordSet::new(&file.conditions),
        modals: WordSet::new(&file.modals),
        calling: WordSet::new(&file.calling),
        not_me: WordSet::new(&file.not_me),
        participles: WordSet::new(&file.participles),
        denials: WordSet::new(&file.denials),
        others: WordSet::new(&file.others),
        other_articles: WordSet::new(&file.other_articles),
        other_people: WordSet::new(&file.other_people),
        not_things: WordSet::new(&file.not_things),
        people_and_victuals: WordSet::new(&file.people_and_victuals),
        parts: WordSet::new(&file.parts),
    }
});

#[cfg(test)]
mod tests {
    #[test]
    fn the_lexicon_reads() {
        assert!(super::GRAMMAR.openers.holds("okay"));
    }
}
