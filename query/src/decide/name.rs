//! Which item a person means by a short name.

use leadsman_index::{Decision, Place};
use leadsman_ingest::matter::Evidence;

use super::{Ready, place_of};
use crate::boat::Boat;
use crate::error::{Error, did_you_mean};
use crate::figure;
use crate::gear_word::Wanted;
use crate::open_item::{OpenList, matter};
use crate::screen::{STRONG, styled};

/// How an item stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Open.
    Open,
    /// Open, if it is anything and not over by now.
    Perhaps,
    /// Open, and sailed with.
    Accepted,
    /// Open, and not before a day that is still to come.
    PutOff,
    /// Closed.
    Closed,
    /// None, by the skipper's word.
    Dismissed,
}

/// An item that a name means.
#[derive(Clone, Debug)]
pub struct Known<'l> {
    /// Its short name.
    pub name: String,
    /// Its whole name, which decisions keep.
    pub id: String,
    /// Its gear, where it is of any.
    gear: Option<&'l str>,
    /// The matter in a line or two.
    pub about: String,
    /// How it stands.
    pub state: State,
    /// Whether it is closed by what a note says, and neither the skipper nor time has borne that out.
    pub unconfirmed: bool,
    /// The words that raised it and bear it out, oldest first.
    pub evidence: &'l [Evidence],
    names: &'l [String],
}

impl Known<'_> {
    /// An error that says how it is.
    pub(super) fn is(&self, how: &str) -> Error {
        Error::wrong_use(format!("{} is {how}: {}", self.name, self.about).replace(" is stands", " stands"))
    }

    /// A decision on it, with what that does.
    pub(super) fn ready(&self, said: &str, decision: Decision) -> Ready {
        Ready { decision, said: format!("{said} {}: {}", styled(STRONG, &self.name), self.about) }
    }

    /// The place that it is named by, where a note raised it.
    pub(super) fn place(&self) -> Option<Place> {
        self.evidence.first().and_then(place_of)
    }

    /// Itself, if it stands open in any way. Errors: it does not.
    pub(super) fn standing(self) -> Result<Self, Error> {
        match self.state {
            State::Open | State::Perhaps | State::Accepted | State::PutOff => Ok(self),
            State::Closed => Err(self.is("closed").hint("`leadsman reopen` opens it again")),
            State::Dismissed => Err(self.is("dismissed").hint("`leadsman reopen` brings it back")),
        }
    }
}

/// The item that a person means by its name or the beginning of it, in any case, by its gear, or by words of its title,
/// where one such item stands open, or else one alone ever was. Errors: none has such a name, with the nearest that there
/// is; several begin so, are of that gear, or have those words.
pub fn item<'l>(boat: &Boat, list: &'l OpenList, asked: &str) -> Result<Known<'l>, Error> {
    meant(boat, list, asked, stands)
}

/// As [`item`], but one that does not stand open goes before one that does: what is to be opened again.
pub fn gone_item<'l>(boat: &Boat, list: &'l OpenList, asked: &str) -> Result<Known<'l>, Error> {
    meant(boat, list, asked, |known| known.state != State::Open)
}

fn stands(known: &Known<'_>) -> bool {
    !matches!(known.state, State::Closed | State::Dismissed)
}

/// The item that is meant; of those of a gear or with the words of a title, those that are `likelier` go first.
fn meant<'l>(
    boat: &Boat,
    list: &'l OpenList,
    asked: &str,
    likelier: fn(&Known<'_>) -> bool,
) -> Result<Known<'l>, Error> {
    let asked = asked.trim().to_lowercase();
    let all = known(list);
    let mut fitting: Vec<&Known<'_>> = Vec::new();
    if !asked.is_empty() {
        // The name in full, then the beginning of an own name, then that of a name it had or could have had.
        let tests: [&dyn Fn(&Known<'_>) -> bool; 3] = [
            &|known| known.name == asked || known.id == asked,
            &|known| known.id.starts_with(&asked),
            &|known| known.names.iter().any(|name| name.starts_with(&asked)),
        ];
        for fits in tests {
            if fitting.is_empty() {
                fitting = all.iter().filter(|known| fits(known)).collect();
            }
        }
        // A source that was put right gave other names before.
        if fitting.is_empty() {
            let now: Vec<&str> = boat.names_now(&asked);
            fitting =
                all.iter().filter(|known| known.names.iter().any(|n| now.contains(&n.as_str()))).collect();
        }
    }
    let mut by_words = false;
    if fitting.is_empty() {
        fitting = by_gear_or_title(&all, &asked, likelier);
        by_words = !fitting.is_empty();
    }
    // A matter may have been closed more than once under one name; the latest stands first.
    fitting.dedup_by(|later, first| later.id == first.id);
    match fitting.as_slice() {
        [known] => Ok((*known).clone()),
        [] => {
            let near = did_you_mean(&asked, all.iter().map(|known| known.name.as_str()));
            let near = near.map(str::to_owned).or_else(|| nearest_title(&all, &asked));
            let hint = match near {
                Some(meant) => format!("did you mean {meant}? `leadsman open --all` lists the items"),
                None => "`leadsman open --all` lists the items, each with its short name".to_owned(),
            };
            Err(Error::wrong_use(format!(
                "no item is called \"{asked}\", nor has one these words in its title"
            ))
            .hint(hint))
        }
        several if by_words => {
            /// More than so many are read by nobody.
            const MOST: usize = 6;
            let mut lines: Vec<String> =
                several.iter().take(MOST).map(|known| format!("{} ({})", known.name, known.about)).collect();
            if several.len() > MOST {
                lines.push(figure::count(several.len() - MOST, "other", "others"));
            }
            Err(Error::wrong_use(format!("{} items are of \"{asked}\": {}", several.len(), lines.join("; ")))
                .hint("give the short name of the one that is meant"))
        }
        several => {
            let names: Vec<&str> = several.iter().map(|known| known.name.as_str()).collect();
            Err(Error::wrong_use(format!("\"{asked}\" could be any of {}", names.join(", ")))
                .hint("give one more letter"))
        }
    }
}

/// The items of the gear that is asked for, else those whose title has its words.
fn by_gear_or_title<'a, 'l>(
    all: &'a [Known<'l>],
    asked: &str,
    likelier: fn(&Known<'_>) -> bool,
) -> Vec<&'a Known<'l>> {
    /// Fewer letters name nothing.
    const FEWEST: usize = 3;
    if asked.chars().count() < FEWEST {
        return Vec::new();
    }
    let words = title_words(asked);
    let wanted = Wanted::whole(&words.join(" "));
    let likely = |fits: &dyn Fn(&Known<'_>) -> bool| {
        let found: Vec<&Known<'_>> = all.iter().filter(|known| fits(known)).collect();
        let first: Vec<&Known<'_>> = found.iter().copied().filter(|known| likelier(known)).collect();
        if first.is_empty() { found } else { first }
    };
    let of_gear = likely(&|known| {
        wanted.as_ref().is_some_and(|wanted| known.gear.is_some_and(|gear| wanted.covers(gear)))
    });
    let titled = likely(&|known| has_words(&known.about, &words));
    let whole: Vec<&Known<'_>> =
        titled.iter().copied().filter(|known| title_words(&known.about) == words).collect();
    let titled = if whole.is_empty() { titled } else { whole };
    match (of_gear.as_slice(), titled.as_slice()) {
        ([], _) => titled,
        // Of several of the gear, the title tells which.
        ([_, _, ..], [_]) => titled,
        _ => of_gear,
    }
}

/// The words of a title, or of what is asked for, without articles.
fn title_words(text: &str) -> Vec<String> {
    let words = text.split(|sign: char| !sign.is_alphanumeric()).map(str::to_lowercase);
    words
        .filter(|word| !word.is_empty() && !matches!(word.as_str(), "the" | "a" | "an" | "of" | "my"))
        .collect()
}

/// The item whose title has most of the words that are asked for, half of them or more, with its title.
fn nearest_title(all: &[Known<'_>], asked: &str) -> Option<String> {
    let words = title_words(asked);
    let count = |known: &Known<'_>| words_in(&known.about, &words);
    // The first of several stands before the others in the list.
    let near = all.iter().rev().max_by_key(|known| count(known))?;
    let found = count(near);
    (found > 0 && 2 * found >= words.len()).then(|| format!("{} ({})", near.name, near.about))
}

/// Whether a title has all of some words.
fn has_words(title: &str, asked: &[String]) -> bool {
    !asked.is_empty() && words_in(title, asked) == asked.len()
}

/// How many of some words a title has: whole, in the plural, or as the beginning of a longer one.
fn words_in(title: &str, asked: &[String]) -> usize {
    /// Fewer letters begin too many words.
    const BEGINNING: usize = 5;
    let title = title_words(title);
    let has = |asked: &&String| {
        let stem = asked.strip_suffix('s').unwrap_or(asked);
        title.iter().any(|word| {
            word.strip_suffix('s').unwrap_or(word) == stem
                || asked.len() >= BEGINNING && word.starts_with(asked.as_str())
        })
    };
    asked.iter().filter(has).count()
}

/// All items, those that stand open first.
fn known(list: &OpenList) -> Vec<Known<'_>> {
    let open = [
        (&list.open, State::Open),
        (&list.perhaps, State::Perhaps),
        (&list.accepted, State::Accepted),
        (&list.put_off, State::PutOff),
    ];
    let open = open.into_iter().flat_map(|(items, state)| items.iter().map(move |i| (i, state)));
    let open = open.map(|(i, state)| Known {
        name: i.name.clone(),
        id: i.id.clone(),
        gear: i.gear.as_deref(),
        about: matter(&i.gear, &i.about),
        state,
        unconfirmed: false,
        evidence: &i.evidence,
        names: &i.names,
    });
    let closed = [(&list.closed, State::Closed), (&list.dismissed, State::Dismissed)];
    let closed = closed.into_iter().flat_map(|(items, state)| items.iter().map(move |i| (i, state)));
    let closed = closed.map(|(i, state)| Known {
        name: i.name.clone(),
        id: i.id.clone(),
        gear: i.gear.as_deref(),
        about: matter(&i.gear, &i.about),
        state,
        unconfirmed: i.unconfirmed,
        evidence: &i.evidence,
        names: &i.names,
    });
    let mut all: Vec<Known<'_>> = open.chain(closed).collect();
    let mut seen = std::collections::HashSet::new();
    all.retain(|known| seen.insert(known.id.clone()));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_are_searched_by_whole_words() {
        let has = |title: &str, asked: &str| has_words(title, &title_words(asked));
        assert!(has("Pack the grab bag", "grab bags"));
        assert!(has("antifouling, two coats", "the Antifoul"));
        assert!(!has("bow roller cotter", "roll"));
        assert!(!has("bow roller cotter", "bow line"));
        assert!(!has("bow roller cotter", "the"));
    }
}
