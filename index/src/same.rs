//! Whether two notes are one note before and after an edit, or two.

use std::collections::HashMap;

/// Share of the shorter note's word pairs that must stand in the other one.
const MOST: f64 = 0.6;

/// Whether most of the words of two notes agree: the same words beside each other. Pairs of neighbours count and not
/// single words, since any two notes of one skipper share half of those.
///
/// `MOST` comes from our own notes: two different ones share under a twentieth of their pairs, an edited or
/// lengthened one keeps nine tenths.
pub fn words_agree<'a>(
    old: impl IntoIterator<Item = &'a str>,
    new: impl IntoIterator<Item = &'a str>,
) -> bool {
    let (old, new) = (pairs(old), pairs(new));
    let total = |pairs: &HashMap<(String, String), usize>| pairs.values().sum::<usize>();
    let shorter = total(&old).min(total(&new));
    if shorter == 0 {
        return total(&old) == total(&new);
    }
    let shared: usize = old.iter().map(|(pair, count)| *count.min(new.get(pair).unwrap_or(&0))).sum();
    shared as f64 >= MOST * shorter as f64
}

fn pairs<'a>(texts: impl IntoIterator<Item = &'a str>) -> HashMap<(String, String), usize> {
    let mut pairs = HashMap::new();
    let mut before = String::new();
    for text in texts {
        for word in text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()) {
            let word = word.to_lowercase();
            let pair = (std::mem::replace(&mut before, word.clone()), word);
            *pairs.entry(pair).or_default() += 1;
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOTE: &str = "Out past the point by nine, fifteen knots from the south west. Put the drogue over the stern \
        and she slowed from six to three and a half. No response at all from the bow with the wheel locked.";
    const OTHER: &str = "Heater on all night, the tank went down by two litres and it was four degrees outside. The \
        fan is noisy and the cabin never got over twelve degrees with the wheel house door open.";

    #[test]
    fn an_edited_or_lengthened_note_is_the_same_and_another_is_not() {
        let edited = NOTE.replace("fifteen", "sixteen").replace("wheel", "helm");
        let longer = format!("{NOTE} {OTHER}");
        assert!(words_agree([NOTE], [NOTE]));
        assert!(words_agree([NOTE], [edited.as_str()]));
        assert!(words_agree([NOTE], [longer.as_str()]));
        assert!(words_agree(NOTE.split(". "), [NOTE]));
        assert!(!words_agree([NOTE], [OTHER]));
        assert!(!words_agree([NOTE], [""]));
        assert!(words_agree([""], [""]));
    }
}
