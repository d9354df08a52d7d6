//! Gear as a person asks for it: any of its names, with what is part of it.

use leadsman_ingest::Utterance;
use leadsman_ingest::gear::{self, Gear};
use leadsman_ingest::talk::Talk;

/// Gear that is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// The name that answers give it; the words as asked, where the lexicon does not know them.
    pub name: String,
}

impl Wanted {
    /// Finds the name behind a person's words ("caps" is "cap shroud").
    pub fn new(words: &str) -> Self {
        Self::by_names(words, &[])
    }

    /// As [`Wanted::new`], with the names that the skipper has given to gear: in lower case, each with the gear's own.
    pub fn by_names(words: &str, names: &[(String, String)]) -> Self {
        let words = words.trim();
        let utterance = Utterance::line(words);
        let utterances = [utterance];
        let talk = Talk::new(words, &utterances, names);
        let known = talk.mentions.first().map(|mention| mention.name.clone()).or_else(|| listed(words));
        Self { name: known.unwrap_or_else(|| words.to_lowercase()) }
    }

    /// The gear that all of a person's words name; `None` where they name gear and say more.
    pub fn whole(words: &str) -> Option<Self> {
        let words = words.trim();
        let utterances = [Utterance::line(words)];
        let talk = Talk::new(words, &utterances, &[]);
        let name = match talk.mentions.first() {
            Some(mention) if mention.tokens == (0..talk.tokens.len()) => mention.name.clone(),
            Some(_) => listed(words)?,
            None => listed(words).unwrap_or_else(|| words.to_lowercase()),
        };
        Some(Self { name })
    }

    /// Whether gear of this name is meant: itself, with a side in front, or a part of it. A name that the lexicon
    /// does not have is meant wherever its words stand in the gear's.
    pub fn covers(&self, name: &str) -> bool {
        let mut name = name.to_lowercase();
        let wanted = self.name.to_lowercase();
        if name == wanted {
            return true;
        }
        if gear::by_name(&self.name).is_none() {
            return name.contains(&wanted);
        }
        // The chain of parts in the lexicon is short and has no ring; the bound only keeps a slip there from hanging.
        for _ in 0..8 {
            match gear::by_name(&name) {
                Some(gear) if gear.name.to_lowercase() == wanted => return true,
                Some(gear) => match &gear.part_of {
                    Some(whole) => name = whole.to_lowercase(),
                    None => return false,
                },
                None => return false,
            }
        }
        false
    }
}

/// The lexicon's name for gear, a side in front of it left out; the name itself where the lexicon has none.
pub fn base(name: &str) -> &str {
    gear::by_name(name).map_or(name, |gear| gear.name.as_str())
}

/// The names of gear that are plain words, without the signs of a pattern.
pub fn other_names(gear: &Gear) -> Vec<String> {
    let plain = |name: &&String| name.chars().all(|sign| sign.is_alphanumeric() || matches!(sign, ' ' | '-'));
    std::iter::once(&gear.name).chain(gear.also.iter().filter(plain)).cloned().collect()
}

/// The lexicon's gear that has these words as a name, also one that a note's other words would have to bear out.
fn listed(words: &str) -> Option<String> {
    let words = words.to_lowercase();
    let alike = |name: &String| *name == words || words.strip_suffix('s') == Some(name.as_str());
    gear::all()
        .iter()
        .find(|gear| alike(&gear.name) || gear.also.iter().any(alike))
        .map(|gear| gear.name.clone())
}

#[cfg(test)]
mod tests {
    use super::Wanted;

    fn wanted(words: &str) -> Wanted {
        Wanted::by_names(words, &[("gordon".to_owned(), "wind vane".to_owned())])
    }

    #[test]
    fn gear_is_found_by_any_of_its_names() {
        assert_eq!(wanted("fore hatch").name, "forehatch");
        assert_eq!(wanted("The Blue Thing").name, "the blue thing");
        assert_eq!(wanted("Gordon").name, "wind vane");
        assert!(wanted("forehatch").covers("forehatch"));
        assert!(!wanted("forehatch").covers("aft hatch"));
        assert!(wanted("cap shroud").covers("port cap shroud"));
        assert!(!wanted("port cap shroud").covers("starboard cap shroud"));
        assert_eq!(Wanted::whole("caps").map(|wanted| wanted.name), Some("cap shroud".to_owned()));
        assert_eq!(Wanted::whole("heater went out"), None);
        assert!(wanted("epirb").covers("EPIRB") && wanted("EPIRB").covers("epirb"));
        assert!(!wanted("anchor").covers("sea anchor"), "a sea anchor is other gear than an anchor");
    }
}
