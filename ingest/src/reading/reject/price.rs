//! Prices: "$612", "forty pounds for that".

use crate::token::{Gap, Token};
use crate::word::WordList;

const MONEY_BEFORE: &WordList =
    words!["$", "£", "€", "eur", "usd", "gbp", "aud", "nzd", "cad", "nok", "sek", "dkk", "nzd", "clp"];

const MONEY_AFTER: &WordList = words![
    "dollars", "dollar", "euro", "euros", "cents", "cent", "quid", "bucks", "kroner", "kronor", "pesos",
    "francs", "pence", "eur", "usd", "gbp", "€", "£", "$", "grand", "bob", "kr", "pesetas", "rand",
];

/// Whether the number that begins at `start` is a price, by the words right in front of it and right behind it, where they
/// stand close: "$612", "EUR 61.50", "four hundred and fifty euro", "forty pounds for that" after "gave".
pub(super) fn is_a_price(
    tokens: &[Token<'_>],
    start: usize,
    before: Option<&Token<'_>>,
    after: Option<&Token<'_>>,
) -> bool {
    before.is_some_and(|t| t.is_any(MONEY_BEFORE))
        || after.is_some_and(|t| t.is_any(MONEY_AFTER))
        || after.is_some_and(|t| t.is_any(words!["pounds", "pound"]))
            && (spent(tokens, start) || for_so_much(tokens, start))
}

/// "Four pound a kilo", "two pounds each": what stands close behind a price.
fn for_so_much(tokens: &[Token<'_>], start: usize) -> bool {
    /// As many words as a price has at most, with its pounds.
    const LONGEST: usize = 6;
    let pounds = (start..start + LONGEST)
        .find(|&i| tokens.get(i).is_some_and(|t| t.is_any(words!["pounds", "pound"])));
    let near = |i: usize| tokens.get(i).filter(|t| t.gap <= Gap::Line);
    pounds.is_some_and(|at| {
        near(at + 1).is_some_and(|t| t.is_any(words!["each", "apiece"]))
            || near(at + 1).is_some_and(|t| t.is_any(words!["a", "the", "per"]))
                && near(at + 2).is_some_and(|t| {
                    t.is_any(words![
                        "kilo", "kg", "go", "piece", "night", "day", "week", "metre", "litre", "head", "time"
                    ])
                })
    })
}

fn spent(tokens: &[Token<'_>], start: usize) -> bool {
    /// How far in front of a price the spending is named, and how far somebody's work.
    const SPENT: usize = 6;
    const PRICED: usize = 10;
    let back = |reach: usize| {
        (1..=reach).map_while(|n| start.checked_sub(n)).take_while(|&i| tokens[i + 1].gap < Gap::Sentence)
    };
    let spends = |i: usize| {
        tokens[i].is_any(words![
            "gave", "paid", "pay", "cost", "costs", "price", "spent", "charged", "wants", "sold", "bought",
            "worth", "owed", "owes", "fee", "bill", "quote", "quoted",
        ])
    };
    // "They can do the service on the 16th, two hundred and forty pounds".
    let works = |i: usize| {
        tokens[i].is_any(words!["service", "survey", "haul", "mooring"])
            && tokens[..i]
                .iter()
                .rev()
                .take(PRICED)
                .any(|t| t.is_any(words!["they", "he", "she", "people", "yard"]))
    };
    // "He can have a new one for me by the 30th at 140 pounds".
    let at = start > 0 && tokens[start - 1].is_any(words!["at", "for"]);
    let offers = |i: usize| {
        tokens[i].is_any(words!["new", "one", "second-hand"])
            && tokens[..i].iter().rev().take(3).any(|t| t.is_any(words!["have", "get", "sell", "make", "do"]))
    };
    let came_to = |i: usize| tokens[i].is("came") && tokens.get(i + 1).is_some_and(|t| t.is("to"));
    back(SPENT).any(|i| spends(i) || came_to(i)) || back(PRICED).any(|i| works(i) || at && offers(i))
}
