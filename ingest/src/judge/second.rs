//! Where the model's opinion counts: trials on which the rules are silent, and stretches by which all is well with gear,
//! which the fold holds against open matters.
//!
//! How sure it must be for each was settled on the boats of `fixtures/corpus`, each judged by a model that had not read
//! her notes; `fixtures/SCORES.md` has the figures.

use super::{Judged, Opinions, Says, Stretch};
use crate::fault::faults;
use crate::found::{Outcome, Reason, Remark, Trial, Well};
use crate::gear::by_name;
use crate::grammar::GRAMMAR;
use crate::item::{Items, is_half_done};
use crate::talk::Talk;
use crate::topic::{Thought, name, serves};
use crate::trial::{begins_elsewhere, titled};

/// From it on a stretch is a passed trial.
const PASSED: f32 = 0.7;
/// From it on all is well with gear, where no word of the stretch speaks against it.
const WELL: f32 = 0.45;
/// The same where a denial or a fault is among its words: "not a drop came in" is well, "not arrived" is not.
const WELL_ALL_THE_SAME: f32 = 0.75;

/// Most things besides those that serve others of which a stretch as a whole can be meant.
const MOST: usize = 2;

/// Adds passed trials of gear on which the rules found no verdict.
pub fn add_trials(talk: &Talk<'_>, opinions: &Opinions, trials: &mut Vec<Trial>) {
    for (stretch, _) in opinions.iter().filter(|(_, judged)| judged.says(&[Says::Pass]) >= PASSED) {
        let mention = &talk.mentions[stretch.subject];
        let span = talk.span(stretch.tokens.clone());
        let told = trials
            .iter()
            .filter_map(|t| t.because.first())
            .any(|r| r.span.start >= span.start && r.span.end <= span.end);
        let elsewhere = begins_elsewhere(&talk.tokens[stretch.tokens.clone()]);
        if !told && !elsewhere && !serves(mention) && !trials.iter().any(|t| t.gear == mention.name) {
            trials.push(passed(talk, stretch));
        }
    }
}

fn passed(talk: &Talk<'_>, stretch: &Stretch) -> Trial {
    let gear = name(talk, stretch.subject).to_owned();
    let quote = talk.quote(stretch.tokens.clone());
    let span = talk.span(stretch.tokens.clone());
    let what = format!("{}, judged by all of the words", Outcome::Pass.name());
    Trial {
        about: titled(Some(&gear), &[], &quote),
        outcome: Outcome::Pass,
        at: talk.at(stretch.tokens.start),
        span,
        quote,
        conditions: Vec::new(),
        night: None,
        hands: None,
        because: vec![
            Reason { of: "outcome".to_owned(), what, span },
            Reason {
                of: "gear".to_owned(),
                what: gear.clone(),
                span: talk.span(talk.mentions[stretch.subject].tokens.clone()),
            },
        ],
        gear,
    }
}

/// Adds what stretches say of gear with which all is well; a stretch that leaves something to do says nothing of it.
pub fn add_remarks(talk: &Talk<'_>, thoughts: &[Thought], opinions: &Opinions, found: &mut Items) {
    for (stretch, judged) in opinions.iter() {
        let Some(well) = well(talk, thoughts, stretch, judged) else { continue };
        let span = talk.span(stretch.tokens.clone());
        if found.items.iter().any(|i| i.span.start < span.end && span.start < i.span.end) {
            continue;
        }
        let quote = talk.quote(stretch.tokens.clone());
        let mut named: Vec<&str> = Vec::new();
        let first = talk.mentions.partition_point(|m| m.tokens.start < stretch.tokens.start);
        let own = talk.mentions[first..].iter().take_while(|m| m.tokens.start < stretch.tokens.end);
        for mention in own {
            if !named.contains(&mention.name.as_str()) {
                named.push(&mention.name);
            }
        }
        // Of a stretch that goes through several things only the one that it is about is meant by all of its words.
        if named.iter().filter(|gear| !by_name(gear).is_some_and(|g| g.prop || g.generic)).count() > MOST {
            named = vec![name(talk, stretch.subject)];
        }
        found.remarks.extend(named.into_iter().map(|gear| Remark {
            gear: gear.to_owned(),
            judged: Some(well),
            at: talk.at(stretch.tokens.start),
            span,
            quote: quote.clone(),
        }));
    }
}

/// Whether all is well with the gear of a stretch, and in what way.
fn well(talk: &Talk<'_>, thoughts: &[Thought], stretch: &Stretch, judged: &Judged) -> Option<Well> {
    let sure = judged.says(&[Says::Pass, Says::Done]);
    if sure < WELL {
        return None;
    }
    let tokens = &talk.tokens[stretch.tokens.clone()];
    // "A bit less yellow since I cleaned one of the jets", "one came, the other is ordered".
    if is_half_done(talk, &stretch.tokens) || begins_elsewhere(tokens) {
        return None;
    }
    let against = || {
        tokens.iter().any(|t| GRAMMAR.denials.has(t) || t.is_any(&["no", "nothing", "none", "nobody"]))
            || !faults(talk, thoughts, std::slice::from_ref(&stretch.tokens), None).is_empty()
    };
    if sure < WELL_ALL_THE_SAME && against() {
        return None;
    }
    let works = judged.says(&[Says::Pass]) >= judged.says(&[Says::Done]);
    Some(if works { Well::Works } else { Well::Done })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Hints, Note, read};

    fn note(words: &str) -> Note {
        let text = format!("Saturday 14 March 2026, 10:05 UTC+1\n\n{words}\n");
        read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() })
    }

    fn well_of(words: &str) -> Vec<(String, Well)> {
        note(words).remarks.into_iter().filter_map(|r| Some((r.gear, r.judged?))).collect()
    }

    #[test]
    fn what_has_no_word_of_closing_may_still_say_that_all_is_well() {
        let said = well_of("The windlass has its own breaker now, wired in heavy cable.");
        assert!(said.contains(&("windlass".to_owned(), Well::Done)), "{said:?}");
    }

    #[test]
    fn what_is_waited_for_is_not_well() {
        assert_eq!(well_of("The windlass motor has not come, three weeks they say."), []);
        assert_eq!(well_of("The raft is still at the service station."), []);
    }

    #[test]
    fn a_trial_that_the_model_found_says_so() {
        let note =
            note("The windlass lifted fifty metres of chain this morning, sweet as you like, breaker cool.");
        let judged = note.trials.iter().flat_map(|t| &t.because).any(|r| r.what.contains("judged"));
        let by_rule = note.trials.iter().any(|t| t.gear == "windlass");
        assert!(judged || by_rule, "{:?}", note.trials);
    }
}
