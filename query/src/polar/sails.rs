//! Which sails were up, as the notes say.
//!
//! A clause that names a sail and says that it went up or is set adds it, one that says that it came down takes it away,
//! and "sailing under", "under main and jib" sets all that there is. A clause that looks ahead or asks says nothing.
//! What was said holds for some hours; then it is not known any more.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use leadsman_index::Stored;
use leadsman_ingest::Utterance;
use leadsman_ingest::talk::Talk;

use super::Sailing;
use crate::error::Error;
use crate::instruments::{Known, Panel};

/// Sails by their names in the lexicon, in the order in which they are told.
const SAILS: &[&str] = &["mainsail", "trysail", "genoa", "jib", "staysail", "storm jib", "spinnaker"];
/// Reefs by their names in the lexicon.
const REEFS: &[&str] = &["first reef", "second reef", "third reef"];
/// Hours after which what was said of the sails is not known to hold any more.
const HOLDS_HOURS: i64 = 6;

const AHEAD: &[&str] = &[
    "will", "would", "if", "should", "could", "going", "plan", "tomorrow", "next", "must", "need", "needs",
    "when", "might", "may", "want", "wants", "buy", "repair", "spare", "never", "not", "no",
];
const UP: &[&str] =
    &["up", "hoisted", "set", "flying", "unfurled", "drawing", "carrying", "pulling", "rolled"];
const DOWN: &[&str] = &["down", "dropped", "furled", "stowed", "handed", "doused", "struck", "away", "off"];

/// What a clause says of the sails.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Says {
    Only(BTreeSet<String>),
    Up(BTreeSet<String>),
    Down(BTreeSet<String>),
}

/// Writes into minutes which sails were up. `notes` with their words, `names` the skipper's own for gear.
pub async fn tell(
    panel: &Panel<'_>,
    notes: &[Stored],
    names: &[(String, String)],
    minutes: &mut [Sailing],
) -> Result<(), Error> {
    let mut said: Vec<(DateTime<Utc>, Says)> = Vec::new();
    for stored in notes {
        let known = Known::of(&stored.note);
        for utterance in &stored.note.utterances {
            if let Some(at) = utterance.at.filter(|at| known.is_to_the_minute(*at)) {
                let words = of_words(&utterance.text, names);
                if !words.is_empty() {
                    let at = at.at.to_utc() + panel.ahead(at.at.date_naive()).await?;
                    said.extend(words.into_iter().map(|says| (at, says)));
                }
            }
        }
    }
    said.sort_by_key(|entry| entry.0);
    minutes.sort_by_key(|minute| minute.minute);
    let mut up: BTreeSet<String> = BTreeSet::new();
    let (mut next, mut last) = (0, None);
    for minute in minutes {
        while let Some((at, says)) =
            said.get(next).filter(|(at, _)| at.timestamp().div_euclid(60) <= minute.minute)
        {
            if last.is_some_and(|last: DateTime<Utc>| (*at - last).num_hours() >= HOLDS_HOURS) {
                up.clear();
            }
            match says {
                Says::Only(set) => up = set.clone(),
                Says::Up(set) => up.extend(set.iter().cloned()),
                Says::Down(set) => up.retain(|sail| !set.contains(sail)),
            }
            last = Some(*at);
            next += 1;
        }
        let holds =
            last.is_some_and(|last| minute.minute - last.timestamp().div_euclid(60) < HOLDS_HOURS * 60);
        minute.sails = if holds { label(&up) } else { None };
    }
    Ok(())
}

/// The sails in words: `mainsail, second reef + staysail`; `None` for none.
fn label(up: &BTreeSet<String>) -> Option<String> {
    let reef = REEFS.iter().rev().find(|reef| up.contains(**reef));
    let mut parts: Vec<String> =
        SAILS.iter().filter(|sail| up.contains(**sail)).map(|sail| (*sail).to_owned()).collect();
    if let Some(reef) = reef {
        // A reef is in the main, whether or not that was said too.
        match parts.iter_mut().find(|part| *part == "mainsail") {
            Some(main) => *main += &format!(", {reef}"),
            None => parts.insert(0, format!("mainsail, {reef}")),
        }
    }
    if parts.is_empty() { None } else { Some(parts.join(" + ")) }
}

fn of_words(text: &str, names: &[(String, String)]) -> Vec<Says> {
    text.split(['.', ';', '!', '?', ',']).filter_map(|clause| of_clause(clause, names)).collect()
}

fn of_clause(clause: &str, names: &[(String, String)]) -> Option<Says> {
    let utterances = [Utterance::line(clause)];
    let talk = Talk::new(clause, &utterances, names);
    let named: Vec<_> = talk
        .mentions
        .iter()
        .filter(|mention| {
            !mention.spare && (SAILS.contains(&&*mention.name) || REEFS.contains(&&*mention.name))
        })
        .collect();
    let first = named.first()?.tokens.start;
    let words: Vec<&str> = talk.tokens.iter().map(|token| &*token.lower).collect();
    let has = |list: &[&str]| words.iter().any(|word| list.contains(word));
    if has(AHEAD) {
        return None;
    }
    let sails: BTreeSet<String> = named.iter().map(|mention| mention.name.clone()).collect();
    let led = words[..first].iter().rev().take(3).any(|word| matches!(*word, "under" | "sailing"));
    let shaken = words.windows(2).any(|pair| matches!(pair[0], "shook" | "shaken") && pair[1] == "out")
        || has(&["out"]) && has(&["shook", "shaken", "shake"]);
    let reefed =
        named.iter().any(|mention| REEFS.contains(&&*mention.name)) && has(&["in", "tied", "took", "reefed"]);
    if led {
        Some(Says::Only(sails))
    } else if shaken || has(DOWN) {
        Some(Says::Down(sails))
    } else if has(UP) || reefed {
        Some(Says::Up(sails))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(names: &[&str]) -> BTreeSet<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    #[test]
    fn what_clauses_say() {
        let says = |clause| of_clause(clause, &[]);
        assert_eq!(says("we're sailing under main and genoa"), Some(Says::Only(set(&["mainsail", "genoa"]))));
        assert_eq!(says("the staysail is up"), Some(Says::Up(set(&["staysail"]))));
        assert_eq!(says("dropped the staysail"), Some(Says::Down(set(&["staysail"]))));
        assert_eq!(says("second reef is in"), Some(Says::Up(set(&["second reef"]))));
        assert_eq!(says("shook out the second reef"), Some(Says::Down(set(&["second reef"]))));
        for nothing in [
            "if it blows the staysail goes up",
            "the genoa is a good sail",
            "tomorrow the storm jib is set",
            "wind fifteen knots and up to twenty",
        ] {
            assert_eq!(says(nothing), None, "{nothing}");
        }
    }

    #[test]
    fn sails_are_told_in_one_order() {
        assert_eq!(label(&set(&["staysail", "mainsail"])).as_deref(), Some("mainsail + staysail"));
        assert_eq!(
            label(&set(&["second reef", "first reef", "jib"])).as_deref(),
            Some("mainsail, second reef + jib")
        );
        assert_eq!(label(&BTreeSet::new()), None);
    }
}
