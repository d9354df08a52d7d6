//! Sea areas of the shipping forecast, in front of what is forecast there: "Fair Isle, Faeroes, SE Iceland: NW 6".

use std::ops::Range;

use crate::token::{Gap, Token};

/// The areas by their last word, as the United Kingdom's Meteorological Office names them ("Shipping forecast sea areas",
/// fact sheet 8; from memory), with the word that must stand in front of those of two words.
const AREAS: &[(&str, Option<&str>)] = &[
    ("viking", None),
    ("utsire", Some("north")),
    ("utsire", Some("south")),
    ("forties", None),
    ("cromarty", None),
    ("forth", None),
    ("tyne", None),
    ("dogger", None),
    ("fisher", None),
    ("bight", Some("german")),
    ("humber", None),
    ("thames", None),
    ("dover", None),
    ("wight", None),
    ("portland", None),
    ("plymouth", None),
    ("biscay", None),
    ("trafalgar", None),
    ("fitzroy", None),
    ("sole", None),
    ("lundy", None),
    ("fastnet", None),
    ("sea", Some("irish")),
    ("shannon", None),
    ("rockall", None),
    ("malin", None),
    ("hebrides", None),
    ("bailey", None),
    ("isle", Some("fair")),
    ("isle", Some("f")),
    ("faeroes", None),
    ("iceland", Some("southeast")),
    ("iceland", Some("se")),
];

/// The tokens of an area that ends at a token, where a colon parts it from a wind's.
pub(super) fn named(tokens: &[Token<'_>], at: usize) -> Option<Range<usize>> {
    let capital = tokens[at].text.starts_with(char::is_uppercase);
    let next = tokens.get(at + 1).filter(|t| capital && t.gap == Gap::Clause)?;
    let before = at.checked_sub(1).map(|i| &tokens[i]);
    let known = AREAS.iter().any(|(last, first)| {
        tokens[at].is(last) && first.is_none_or(|first| before.is_some_and(|t| t.is(first)))
    });
    let wind = crate::reading::is_compass_point(next)
        || next.is_any(words!["variable", "cyclonic", "gale", "storm"]);
    (known && wind).then(|| at..at + 1)
}
