//! When two findings are about the same gear, and when they are the same matter.

use std::borrow::Cow;
use std::hash::{Hash, Hasher};
use std::sync::LazyLock;

use rustc_hash::{FxHashSet, FxHasher};

use super::Matter;
use crate::found::{Item, Trial, Why};
use crate::gear::{OVERBOARD, by_name};
use crate::item::WORDS;
use crate::word::{WordList, key};

/// Sides and positions in front of a gear's name.
const SIDES: &[&str] = &["port", "starboard", "lee", "weather", "forward", "aft"];

/// Whether two names are of the same thing: the same name, one with a side where the other leaves it out, or a
/// general name of it.
pub fn same_gear(a: Option<&str>, b: Option<&str>) -> bool {
    let Some((a, b)) = a.zip(b) else { return false };
    a == b || end_alike(a, b) && (alike_but_for_a_side(a, b) || kin(a, b))
}

/// Whether two names end in the same word. Names for the same gear, with a side or a kind in front or without, do; the
/// lexicon need not be asked about any others.
fn end_alike<'a>(a: &'a str, b: &'a str) -> bool {
    // Nearly all pairs differ in the last letter already.
    // "forehatch" ends in "hatch".
    let last = |name: &'a str| name.rsplit(' ').next().unwrap_or(name);
    let compound = |long: &str, short: &str| long.ends_with(short);
    a.bytes().next_back() == b.bytes().next_back()
        && (compound(last(a), last(b)) || compound(last(b), last(a)))
}

/// Whether two names are the same, or one has a side where the other leaves it out.
pub fn named_alike(a: Option<&str>, b: Option<&str>) -> bool {
    let Some((a, b)) = a.zip(b) else { return false };
    a == b || end_alike(a, b) && alike_but_for_a_side(a, b)
}

fn alike_but_for_a_side(a: &str, b: &str) -> bool {
    let (side_a, base_a) = split(a);
    let (side_b, base_b) = split(b);
    // "Starboard forward lower" may be any "forward lower", and no aft one.
    let within = |a: &[&str], b: &[&str]| a.iter().all(|side| b.contains(side));
    base_a == base_b && (within(&side_a, &side_b) || within(&side_b, &side_a))
}

/// Whether gear is a part of a whole.
pub fn is_part(part: Option<&str>, whole: &str) -> bool {
    part.and_then(by_name).is_some_and(|g| g.part_of.as_deref() == Some(whole))
}

fn split(name: &str) -> (Vec<&str>, String) {
    let mut sides = Vec::new();
    let mut rest = name;
    while let Some((word, more)) = rest.split_once(' ')
        && SIDES.contains(&word)
        && by_name(name).is_none_or(|g| g.name.to_lowercase() != rest)
    {
        sides.push(word);
        rest = more;
    }
    (sides, rest.to_owned())
}

/// Whether one name is the general word for what the other names: "hatch" for "aft hatch", "radio" for "HF radio".
fn kin(a: &str, b: &str) -> bool {
    let general = |short: &str, long: &str| {
        by_name(short).is_some_and(|g| g.generic && !g.prop)
            && long.split(' ').next_back().is_some_and(|w| w.ends_with(short))
    };
    general(a, b) || general(b, a)
}

/// Whether one of two things is a part of the other.
pub fn part_of(a: &str, b: &str) -> bool {
    let part = |a: &str, b: &str| by_name(a).is_some_and(|g| g.part_of.as_deref() == Some(b));
    part(a, b) || part(b, a)
}

/// Whether an item belongs to an open matter, with the words of both; the matter's are looked up where they are asked
/// for.
pub fn same_matter<'w>(matter: &Matter, known: impl Fn() -> &'w Words, item: &Item, said: &Words) -> bool {
    let same = same_gear(matter.gear.as_deref(), item.gear.as_deref());
    let first = matter.why.first().copied();
    let both = |why: Why| first == Some(why) && item.why == why;
    if matter.gear.is_none() || item.gear.is_none() {
        return both(Why::Task) && known().shared(said) >= 3;
    }
    if !same {
        // "chimney cap not lit" belongs to the heater that failed.
        let part =
            part_of(matter.gear.as_deref().unwrap_or_default(), item.gear.as_deref().unwrap_or_default());
        // Oil and water outside their limits are two matters of one engine.
        let two = both(Why::OutOfLimits);
        return part && !two && item.why != Why::Task && first != Some(Why::Task) && item.why != Why::Overdue;
    }
    match (first, item.why) {
        // "It's on the list" says again what was said, with no words of its own.
        (Some(Why::Task), Why::Task) => {
            let known = known();
            known.is_errand == said.is_errand || known.shared(said) >= 2 || said.stems.len() <= 2
        }
        (Some(Why::Overdue), Why::Task) | (Some(Why::Task), Why::Overdue) => true,
        (Some(Why::Overdue), other) | (Some(other), Why::Overdue) => other == Why::Overdue,
        // Something to be bought for gear that failed is a matter of its own.
        (Some(_), Why::Task) => !said.is_errand,
        _ => true,
    }
}

/// Whether a passed trial of getting a person back settles a matter about lifting one: both speak of the lift.
pub fn lifts(trial: &Trial, matter: &Matter) -> bool {
    const LIFT: &[&str] = &[
        "lift", "lifted", "rail", "hoist", "tackle", "strop", "winch", "halyard", "aboard", "lifeline", "up",
    ];
    let overboard =
        |name: &str| by_name(name).is_some_and(|g| g.name == OVERBOARD || g.name == "lifting tackle");
    let speaks = |text: &str| words(text).iter().any(|w| LIFT.contains(&w.as_str()));
    matter.gear.as_deref().is_some_and(overboard)
        && overboard(&trial.gear)
        && speaks(&trial.about)
        && speaks(&matter.about)
}

/// Whether a passed trial of the engine's cooling settles a matter of the engine that ran hot.
pub fn cools(trial: &Trial, matter: &Matter) -> bool {
    const HOT: &[&str] =
        &["overheated", "overheats", "overheating", "overheat", "hot", "boiled", "boiling", "steam"];
    let of_engine = |name: &str| matches!(name, "engine" | "engine cooling");
    matter.gear.as_deref().is_some_and(of_engine)
        && of_engine(&trial.gear)
        && words(&matter.about).iter().any(|w| HOT.contains(&w.as_str()))
        && words(&trial.about)
            .iter()
            .any(|w| matches!(w.as_str(), "needle" | "degrees" | "gauge" | "temperature" | "hot" | "cool"))
}

/// Words of what is to be got or asked.
const GET: &[&str] = &[
    "buy",
    "get",
    "spare",
    "another",
    "order",
    "ring",
    "phone",
    "call",
    "ask",
    "register",
    "registered",
    "write",
    "book",
    "bigger",
    "longer",
    "ones",
    "decide",
    "deciding",
];

/// Whether a word, between those beside it, is one of what is to be got or asked: "get a longer one", but "no longer",
/// "longer than".
fn gets(before: Option<&str>, word: &str, next: Option<&str>) -> bool {
    GET.contains(&word)
        && match word {
            // "Too short. Make new ones."
            "ones" => before == Some("new"),
            "longer" | "bigger" => next != Some("than") && !matches!(before, Some("no" | "any" | "much")),
            _ => true,
        }
}

/// Whether a task is something to be got or asked, which no trial of the gear settles.
pub fn is_errand(about: &str) -> bool {
    Words::of(about).is_errand
}

/// Whether a closing word says that a matter is over, and not only that work was done on it.
pub fn is_final(how: &str) -> bool {
    has_words(how, &WORDS.final_words)
}

/// Whether a closing word says that something was got or renewed.
pub fn renews(how: &str) -> bool {
    has_words(how, &WORDS.renewed)
}

/// Whether gear did well because it was spared: "kept the engine at 1500 and it stayed at 80" mends nothing.
pub fn is_spared(quote: &str) -> bool {
    const SPARED: &[&str] = &["kept", "keeping", "nursed", "throttled", "limited", "held"];
    const TO: &[&str] = &["at", "under", "below", "to"];
    const NEAR: usize = 5;
    let quote = quote.to_lowercase();
    let words = in_order(&quote);
    let figure =
        |i: usize| words.get(i).is_some_and(|w| w.len() >= 3 && w.bytes().all(|b| b.is_ascii_digit()));
    let spared = |i: usize| {
        let to = (i + 1..words.len().min(i + NEAR)).find(|&j| TO.contains(&words[j]));
        let told =
            words.get(i + 1).is_some_and(|w| matches!(*w, "the" | "her" | "it" | "revs" | "engine" | "back"));
        told && to.is_some_and(|j| figure(j + 1))
    };
    (0..words.len()).any(|i| SPARED.contains(&words[i]) && spared(i))
}

/// Whether words say that nothing has changed, that what was meant to be done was not, or is still to be: "the stern gland is
/// as it was", "but we forgot", "in the locker, not fitted".
pub fn ends_nothing(quote: &str) -> bool {
    has_phrase(quote, &WORDS.ends_nothing)
}

/// Whether words say that something is so for now, or has yet to be seen: "behaves, for now", "half a test".
pub fn is_for_now(quote: &str) -> bool {
    has_phrase(quote, &WORDS.for_now)
}

fn has_phrase(quote: &str, phrases: &[String]) -> bool {
    let quote = quote.to_lowercase();
    let words = in_order(&quote);
    phrases.iter().any(|phrase| {
        let phrase = in_order(phrase);
        words.windows(phrase.len()).any(|w| w == phrase)
    })
}

/// Whether words tell only that something came or was bought, and not that it was put to use.
pub fn only_got(quote: &str) -> bool {
    const GOT: &[&str] = &[
        "arrived",
        "came",
        "delivered",
        "bought",
        "collected",
        "post",
        "drawer",
        "locker",
        "shelf",
        "ordered",
        "fetched",
    ];
    const USED: &[&str] = &[
        "fitted",
        "installed",
        "works",
        "worked",
        "ran",
        "runs",
        "pumps",
        "pumped",
        "replaced",
        "swapped",
        "lit",
        "started",
        "holds",
        "held",
        "dry",
        "tried",
        "tested",
    ];
    let said = words(quote);
    let has = |of: &[&str]| of.iter().any(|word| said.contains(*word));
    has(GOT) && !has(USED)
}

fn has_words(how: &str, words: &[String]) -> bool {
    let how = how.to_lowercase();
    words.iter().any(|word| how.contains(word))
}

/// Words of a text one after another, figures and single letters too.
fn in_order(text: &str) -> Vec<&str> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect()
}

/// Words of a text in lower case.
fn words(text: &str) -> FxHashSet<String> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|w| w.len() > 1).map(str::to_lowercase).collect()
}

/// Words that every sentence has, left out of account where two texts are compared.
static COMMON: LazyLock<FxHashSet<&'static str>> = LazyLock::new(|| {
    FxHashSet::from_iter([
        "the", "and", "for", "that", "this", "with", "was", "are", "has", "have", "had", "but", "not", "its",
        "one", "our", "out", "from", "all", "got", "get", "put", "been", "going", "just", "there", "then",
        "now", "what", "which", "they", "them", "she", "her", "him", "his", "you", "your", "will", "would",
        "should", "could", "must", "need", "needs", "want", "wants", "into", "over", "again", "some", "new",
        "old", "so", "on", "in", "it", "is", "of", "to", "up", "at", "my", "me", "we", "be", "do", "did",
        "as", "or", "if", "no", "an", "by", "he", "when", "ve", "ll", "never", "since", "metre", "metres",
        "knot", "knots", "minute", "minutes", "hour", "hours", "litre", "litres", "volts", "amps", "degrees",
        "miles", "kn", "kts", "mm", "cm", "nm", "ft", "min", "rpm", "before", "after", "go", "goes", "went",
        "come", "came", "through",
    ])
});

/// Numbers tell no two matters to be alike: "four bolts", "four flares".
const NUMBERS: &WordList = words![
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
    "twenty",
    "thirty",
    "forty",
    "fifty",
    "sixty",
    "seventy",
    "eighty",
    "ninety",
    "hundred",
    "thousand",
];

/// What a text has in words of content, by which it is compared with others, and whether it tells of an errand.
#[derive(Clone, Debug, Default)]
pub struct Words {
    /// Hashes of the stems: among the words of one boat no two are likely to be alike in 64 bits.
    stems: FxHashSet<u64>,
    /// Whether any of the texts is an errand.
    pub is_errand: bool,
}

impl Words {
    /// Of one text.
    pub fn of(text: &str) -> Self {
        let mut words = Self::default();
        words.add(text);
        words
    }

    /// Adds those of a further text.
    pub fn add(&mut self, text: &str) {
        let mut all =
            text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(lower).peekable();
        let mut before = None;
        while let Some(word) = all.next() {
            let next = all.peek().map(|next| &**next);
            self.is_errand |= gets(before.as_deref(), &word, next);
            before = Some(word.clone());
            if word.len() < 2 {
                continue;
            }
            // "10 mm" is many things, "406" is one.
            let small_figure = word.len() <= 2 && word.bytes().all(|b| b.is_ascii_digit());
            if !small_figure && !COMMON.contains(&*word) && !NUMBERS.has(key(&word)) {
                let mut hasher = FxHasher::default();
                stem(&word).hash(&mut hasher);
                self.stems.insert(hasher.finish());
            }
        }
    }

    /// Adds those of further texts.
    pub fn take_in(&mut self, other: Words) {
        self.stems.extend(other.stems);
        self.is_errand |= other.is_errand;
    }

    /// Their stems, as hashes.
    pub(super) fn stems(&self) -> impl Iterator<Item = u64> {
        self.stems.iter().copied()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.stems.len()
    }

    /// How many all three have.
    pub fn shared_by(&self, other: &Words, third: &Words) -> usize {
        self.stems.iter().filter(|stem| other.stems.contains(stem) && third.stems.contains(stem)).count()
    }

    /// How many both have.
    pub fn shared(&self, other: &Words) -> usize {
        let (few, many) = if self.stems.len() < other.stems.len() { (self, other) } else { (other, self) };
        few.stems.iter().filter(|stem| many.stems.contains(stem)).count()
    }
}

/// A word in lower case; most are so already.
fn lower(word: &str) -> Cow<'_, str> {
    let is_lower = word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit());
    if is_lower { Cow::Borrowed(word) } else { Cow::Owned(word.to_lowercase()) }
}

/// A word without its ending: "bottles" and "bottle", "jammed" and "jams" have one stem.
fn stem(word: &str) -> &str {
    let mut stem = word;
    for ending in ["ing", "ed", "es", "s"] {
        if let Some(short) = word.strip_suffix(ending)
            && short.len() >= 3
        {
            stem = short;
            break;
        }
    }
    let doubled = stem.len() < word.len()
        && stem.len() >= 4
        && stem.is_ascii()
        && stem.as_bytes()[stem.len() - 1] == stem.as_bytes()[stem.len() - 2]
        && !stem.ends_with(['s', 'l', 'e', 'o']);
    if doubled {
        stem = &stem[..stem.len() - 1];
    }
    stem.strip_suffix('e').filter(|s| s.len() >= 3).unwrap_or(stem)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gear_is_the_same_with_or_without_its_side_or_general_name() {
        assert!(same_gear(Some("port chainplate"), Some("chainplate")));
        assert!(!same_gear(Some("port chainplate"), Some("starboard chainplate")));
        assert!(same_gear(Some("aft hatch"), Some("hatch")));
        assert!(!same_gear(Some("first reef"), Some("second reef")));
        assert!(!same_gear(None, None));
    }

    #[test]
    fn errands_and_work_differ() {
        assert!(is_errand("I must buy a spare impeller"));
        assert!(!is_errand("must fix the steaming light"));
    }
}
