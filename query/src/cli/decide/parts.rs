//! The words of a command parted into the item that they begin with and what is said of it: nobody quotes "bow roller".

use chrono::NaiveDate;
use leadsman_index::Rank;

use crate::cli::context::Context;
use crate::day_word::day;
use crate::decide::item;
use crate::error::Error;

/// The item and the day behind it, which `read` reads from as many of the last words as make one. Errors: what was
/// expected of the day.
pub fn item_and_day(
    words: &[String],
    context: &Context,
    read: fn(&str, NaiveDate) -> Result<NaiveDate, String>,
) -> Result<(String, NaiveDate), Error> {
    let on = context.day().on;
    let split = |at: usize| Some((words[..at].join(" "), read(&words[at..].join(" "), on).ok()?));
    if let Some(parts) = (1..words.len()).find_map(split) {
        return Ok(parts);
    }
    let found = words.join(" ");
    Err(Error::wrong_use(format!(
        "expected an item, then a day like 2026-11-30, \"26 Nov\", friday or \"in two weeks\", found \"{found}\""
    )))
}

/// The item and the numbers behind it. Errors: there are none.
pub fn item_and_numbers(words: &[String]) -> Result<(String, Vec<usize>), Error> {
    let figures = words.iter().skip(1).rev().map_while(|word| word.parse().ok());
    let mut numbers: Vec<usize> = figures.collect();
    numbers.reverse();
    if numbers.is_empty() {
        return Err(Error::wrong_use(format!(
            "expected an item, then the numbers of its pieces, found \"{}\"",
            words.join(" ")
        ))
        .hint("`leadsman item ITEM` shows them, each with its number"));
    }
    Ok((words[..words.len() - numbers.len()].join(" "), numbers))
}

/// The item and its rank, on either side of it. Errors: there is no rank, or nothing else.
pub fn item_and_rank(words: &[String]) -> Result<(String, Rank), Error> {
    let wrong = || {
        Error::wrong_use(format!(
            "expected an item and must, should or can-wait, found \"{}\"",
            words.join(" ")
        ))
        .hint("leadsman rank ITEM must")
    };
    for length in [2, 1] {
        let Some(at) = words.len().checked_sub(length).filter(|at| *at > 0) else { continue };
        for (item, said) in [(&words[..at], &words[at..]), (&words[length..], &words[..length])] {
            if let Some(rank) = rank(&said.join("-")) {
                return Ok((item.join(" "), rank));
            }
        }
    }
    Err(wrong())
}

fn rank(text: &str) -> Option<Rank> {
    match text.trim().to_lowercase().replace([' ', '_'], "-").as_str() {
        "must" => Some(Rank::Must),
        "should" => Some(Rank::Should),
        "can-wait" | "can" => Some(Rank::CanWait),
        _ => None,
    }
}

/// The item and the words behind it: as many of the first words as are one item's name, gear or title, else the first. A
/// `link` between the two is left out.
pub async fn item_and_rest(
    context: &Context,
    words: &[String],
    link: Option<&str>,
) -> Result<(String, String), Error> {
    let boat = context.boat().await?;
    let list = boat.open_list(context.decided(), None);
    let names_one = |at: &usize| item(&boat, &list, &words[..*at].join(" ")).is_ok();
    let at = (1..words.len()).rev().find(names_one).unwrap_or(1);
    let linked = at + 1 < words.len() && link.is_some_and(|link| words[at].eq_ignore_ascii_case(link));
    Ok((words[..at].join(" "), words[at + usize::from(linked)..].join(" ")))
}

/// The last words of a text that say a day to come; `None` where they say none.
pub fn day_behind(text: &str, on: NaiveDate) -> Option<&str> {
    let behind = text.match_indices(' ').map(|(at, _)| &text[at + 1..]);
    behind.into_iter().find(|words| day(words, on).is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rank_stands_on_either_side() {
        let read = |text: &str| {
            let words: Vec<String> = text.split(' ').map(str::to_owned).collect();
            item_and_rank(&words).map_err(|error| error.message)
        };
        assert_eq!(read("must bow roller"), Ok(("bow roller".to_owned(), Rank::Must)));
        assert_eq!(read("bow roller can wait"), Ok(("bow roller".to_owned(), Rank::CanWait)));
        assert_eq!(read("k7m should"), Ok(("k7m".to_owned(), Rank::Should)));
        assert!(read("bow roller").is_err());
    }

    #[test]
    fn numbers_stand_behind_an_item() {
        let read = |text: &str| {
            let words: Vec<String> = text.split(' ').map(str::to_owned).collect();
            item_and_numbers(&words).map_err(|error| error.message)
        };
        assert_eq!(read("bow roller 2 3"), Ok(("bow roller".to_owned(), vec![2, 3])));
        assert_eq!(read("2869 1"), Ok(("2869".to_owned(), vec![1])), "a name may be all figures");
        assert!(read("bow roller").is_err());
    }
}
