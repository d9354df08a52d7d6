//! Accounts: stretches of a note by which all may be well with gear, kept with what the model makes of them, so that the
//! fold can hold them against the matters that stand open.

use super::{Judged, Opinions, Says, Stretch};
use crate::fault::faults;
use crate::found::Account;
use crate::grammar::GRAMMAR;
use crate::item::{Cues, is_half_done};
use crate::talk::Talk;
use crate::token::Gap;
use crate::topic::{Thought, name, prepositional};
use crate::trial::begins_elsewhere;
use crate::when::weekday;

/// From it on, in hundredths, that all is well is likely enough to be held against open matters.
const MAY_BE_WELL: u8 = 10;
/// From it on all is well as far as the words alone tell; where a denial or a fault is among them, from the second on.
const WELL: [u8; 2] = [30, 50];

impl Account {
    /// How likely it says one of these, from 0 to 1.
    pub fn says(&self, any: &[Says]) -> f32 {
        any.iter().map(|&s| f32::from(self.likely[s as usize])).sum::<f32>() / 100.0
    }

    /// In what way all is well with the gear by these words alone: `works` or `done`, where it is likely enough.
    pub fn well(&self) -> Option<&'static str> {
        let [works, done] = [Says::Pass, Says::Done].map(|s| self.likely[s as usize]);
        let enough = works + done >= WELL[usize::from(self.against)];
        enough.then_some(if works >= done { "works" } else { "done" })
    }
}

/// The accounts of a note, in order.
pub fn accounts(talk: &Talk<'_>, thoughts: &[Thought], opinions: &Opinions) -> Vec<Account> {
    opinions.iter().filter_map(|(stretch, judged)| account(talk, thoughts, stretch, judged)).collect()
}

fn account(talk: &Talk<'_>, thoughts: &[Thought], stretch: &Stretch, judged: &Judged) -> Option<Account> {
    let likely = judged.0.map(|l| (l * 100.0).round() as u8);
    if likely[Says::Pass as usize] + likely[Says::Done as usize] < MAY_BE_WELL {
        return None;
    }
    // "A bit less yellow since I cleaned one of the jets", "one came, the other is ordered".
    let tokens = &talk.tokens[stretch.tokens.clone()];
    if is_half_done(talk, &stretch.tokens) || begins_elsewhere(tokens) {
        return None;
    }
    if talk.is_a_bare_cell(&stretch.tokens)
        || is_still_to_come(talk, stretch)
        || is_answered_no(talk, stretch)
    {
        return None;
    }
    let against =
        tokens.iter().any(|t| GRAMMAR.denials.has(t) || t.is_any(words!["no", "nothing", "none", "nobody"]))
            || !faults(talk, thoughts, std::slice::from_ref(&stretch.tokens), None).is_empty();
    let left = talk.cues().within(&stretch.tokens).any(|(_, kind)| kind == Cues::TASK);
    let gear = name(talk, stretch.subject);
    let first = talk.mentions.partition_point(|m| m.tokens.start < stretch.tokens.start);
    let mut others: Vec<(String, bool)> = Vec::new();
    for mention in talk.mentions[first..].iter().take_while(|m| m.tokens.start < stretch.tokens.end) {
        // "With the autopilot we had no waves" says nothing of it.
        let aside = prepositional(&talk.tokens, mention.tokens.start);
        match others.iter_mut().find(|(other, _)| *other == mention.name) {
            Some((_, known)) => *known &= aside,
            None if mention.name != gear => others.push((mention.name.clone(), aside)),
            None => {}
        }
    }
    Some(Account {
        gear: gear.to_owned(),
        others,
        likely,
        against,
        left,
        at: talk.at(stretch.tokens.start),
        span: talk.span(stretch.tokens.clone()),
        quote: talk.quote(stretch.tokens.clone()),
    })
}

/// Whether a stretch asks whether something was done, and it was not: "did I ever put a real split pin in? No." That there
/// is no to "any leaks?" is good news.
fn is_answered_no(talk: &Talk<'_>, stretch: &Stretch) -> bool {
    let tokens = &talk.tokens;
    let done = tokens[stretch.tokens.clone()].windows(2).any(|w| {
        w[0].is_any(words!["did", "have", "had", "has"])
            && w[1].is_any(words!["i", "we", "he", "she", "anyone", "anybody", "they"])
    });
    if !done {
        return false;
    }
    let asked = |i: &usize| tokens[*i].asked && tokens.get(i + 1).is_none_or(|t| t.gap >= Gap::Sentence);
    let answer = stretch.tokens.clone().find(asked).and_then(|end| tokens.get(end + 1));
    answer.is_some_and(|t| t.is_any(words!["no", "nope", "not", "never"]))
}

/// Whether what a stretch tells of is still to come or to be done: "the battery's on the way, they say Thursday", an entry
/// of a list whose box is empty or whose title is "spares still not got:".
fn is_still_to_come(talk: &Talk<'_>, stretch: &Stretch) -> bool {
    /// As far in front as a title may begin, in tokens.
    const TITLE: usize = 6;
    let tokens = &talk.tokens;
    let said = &tokens[stretch.tokens.clone()];
    let coming = said.windows(3).any(|w| {
        w[0].is("on") && (w[1].is("order") || w[1].is("the") && w[2].is("way"))
            || w[0].is("to") && w[1].is("go") && w[2].is_any(words!["on", "in", "up", "back"])
            || w[0].is_any(words!["collect", "fetch", "collecting", "fetching"])
                && weekday(&w[1].lower).is_some()
            || w[0].is("they")
                && w[1].is_any(words!["say", "said", "promise", "promised"])
                && weekday(&w[2].lower).is_some()
    });
    let start = stretch.tokens.start;
    let title = start.saturating_sub(TITLE)..start;
    let titled = tokens[start].gap == Gap::Clause
        && tokens[title].windows(2).any(|w| {
            w[0].is_any(words!["not", "still", "to"])
                && w[1].is_any(words![
                    "got", "bought", "done", "fitted", "get", "buy", "do", "missing", "needed", "not"
                ])
        });
    // "The insulation on the hatch frame I | haven't done": cut in front of what denies it.
    let end = stretch.tokens.end;
    let cut = tokens[end - 1]
        .is_any(words!["i", "we", "he", "she", "they", "it", "and", "but", "the", "that"])
        && tokens[end..tokens.len().min(end + 3)].iter().take_while(|t| t.gap < Gap::Sentence).any(|t| {
            GRAMMAR.denials.has(t) || t.is_any(words!["haven't", "hasn't", "didn't", "won't", "never", "not"])
        });
    // "I have not put grease on it yet".
    const YET: usize = 9;
    let not_yet = said.iter().enumerate().any(|(i, t)| {
        GRAMMAR.denials.has(t)
            && said[i + 1..]
                .iter()
                .take(YET)
                .take_while(|t| t.gap < Gap::Sentence)
                .any(|t| t.is("yet") && t.gap < Gap::Comma)
    });
    coming || titled || cut || not_yet || talk.ticked(start) == Some(false)
}

#[cfg(test)]
mod tests {
    use crate::{Hints, read};

    fn well(words: &str) -> Vec<(String, &'static str)> {
        let text = format!("Saturday 14 March 2026, 10:05 UTC+1\n\n{words}\n");
        let note = read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() });
        note.accounts.iter().filter_map(|a| Some((a.gear.clone(), a.well()?))).collect()
    }

    #[test]
    fn what_has_no_word_of_closing_may_still_say_that_all_is_well() {
        let said = well("The windlass has its own breaker now, wired in heavy cable.");
        assert_eq!(said, [("windlass".to_owned(), "done")]);
    }

    #[test]
    fn gear_behind_a_preposition_is_named_aside() {
        let text =
            "14 March 2026, 10:05 UTC+1\n\nThe windlass has its own breaker now, wired behind the radar.\n";
        let note = read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() });
        assert_eq!(note.accounts.len(), 1, "{:?}", note.accounts);
        assert!(note.accounts[0].others.contains(&("radar".to_owned(), true)), "{:?}", note.accounts);
    }

    #[test]
    fn what_is_waited_for_is_not_well() {
        assert_eq!(well("The windlass motor has not come, three weeks they say."), []);
        assert_eq!(well("The raft is still at the service station."), []);
    }
}
