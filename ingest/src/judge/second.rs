//! Where the model's opinion counts: trials, gear not tried and things to do on which the rules are silent.
//!
//! How sure it must be for each was settled on the boats of `fixtures/corpus`, each judged by a model that had not read
//! her notes; `fixtures/SCORES.md` has the figures.

use super::{Judged, Opinions, Says, Stretch, judged_so};
use crate::found::{Outcome, Reason, Span, Trial, Why};
use crate::item::{Cues, Items, WORDS, done_in_the_note, is_half_done, item, thought_of};
use crate::talk::Talk;
use crate::token::Token;
use crate::topic::{Thought, name, serves};
use crate::trial::{begins_elsewhere, stayed_put, titled};
use crate::word::WordList;

/// From it on a stretch tells of a trial that went so.
const TRIED: f32 = 0.45;
/// From it on that counts as if it had been said in plain words.
const SURELY_TRIED: f32 = 0.7;
/// From it on gear was not tried.
const UNPROVEN: f32 = 0.35;
/// From it on something is to be done.
const TASK: f32 = 0.45;

/// How a stretch tells that a trial went, if it tells of one, and how likely that is.
fn likeliest(judged: &Judged) -> (Outcome, f32) {
    let (fail, partial) = (judged.says(&[Says::Fail]), judged.says(&[Says::Partial]));
    let worse = if fail >= partial { Outcome::Fail } else { Outcome::Partial };
    let others = [(worse, fail + partial), (Outcome::Unclear, judged.says(&[Says::Unclear]))];
    let first = (Outcome::Pass, judged.says(&[Says::Pass]));
    others.into_iter().fold(first, |most, next| if next.1 > most.1 { next } else { most })
}

/// As [`likeliest`], of a stretch's own gear: an anchor that did not move has not failed.
pub(super) fn went(talk: &Talk<'_>, stretch: &Stretch, judged: &Judged) -> (Outcome, f32) {
    match likeliest(judged) {
        (Outcome::Fail, likely) if stayed_put(talk, &stretch.tokens, &talk.mentions[stretch.subject]) => {
            (Outcome::Pass, likely)
        }
        other => other,
    }
}

/// Adds trials of gear on which the rules found no verdict, leaves out those that hardly are any, and adds those that
/// nobody names as such.
pub fn settle_trials(talk: &Talk<'_>, opinions: &Opinions, trials: &mut Vec<Trial>) {
    add_trials(talk, opinions, trials);
    let untold = super::untold::untold(talk, opinions, trials);
    super::keep_sure(talk, opinions, trials);
    trials.extend(super::untold::likely_enough(talk, &untold));
}

fn add_trials(talk: &Talk<'_>, opinions: &Opinions, trials: &mut Vec<Trial>) {
    for (stretch, judged) in opinions.iter() {
        let (outcome, likely) = went(talk, stretch, judged);
        // "A bit less yellow since I cleaned one of the jets" is no pass.
        let half = outcome == Outcome::Pass && is_half_done(talk, &stretch.tokens);
        let sure = likely >= TRIED && !half && !serves(&talk.mentions[stretch.subject]);
        if sure && would_be(talk, stretch) && !is_told(talk, stretch, trials) {
            trials.push(trial(talk, stretch, outcome, likely < SURELY_TRIED));
        }
    }
}

/// Whether a stretch can tell of a trial here and now.
pub(super) fn would_be(talk: &Talk<'_>, stretch: &Stretch) -> bool {
    let tokens = &talk.tokens[stretch.tokens.clone()];
    !is_supposed(tokens) && !is_left_undone(tokens)
}

/// "The insulation I haven't done", "the bridle we didn't try": what nobody came to do.
fn is_left_undone(tokens: &[Token<'_>]) -> bool {
    tokens.windows(3).any(|w| {
        w[0].is_any(words!["i", "we"])
            && w[1].is_any(words!["haven't", "havent", "didn't", "didnt", "won't", "never"])
            && w[2].is_any(words![
                "done", "tried", "started", "finished", "do", "try", "start", "finish", "test", "tested"
            ])
    })
}

/// Whether a trial that a stretch may tell of is told already: by words of it, or as one of the same gear elsewhere.
pub(super) fn is_told(talk: &Talk<'_>, stretch: &Stretch, trials: &[Trial]) -> bool {
    let span = talk.span(stretch.tokens.clone());
    let within =
        |t: &Trial| t.because.first().is_some_and(|r| r.span.start >= span.start && r.span.end <= span.end);
    let gear = name(talk, stretch.subject);
    trials.iter().any(|t| t.gear == gear || within(t))
}

pub(super) fn trial(talk: &Talk<'_>, stretch: &Stretch, outcome: Outcome, judged: bool) -> Trial {
    let gear = name(talk, stretch.subject).to_owned();
    let quote = talk.quote(stretch.tokens.clone());
    let span = talk.span(stretch.tokens.clone());
    Trial {
        about: titled(Some(&gear), &[], &quote),
        outcome,
        at: talk.at(stretch.tokens.start),
        span,
        quote,
        conditions: Vec::new(),
        night: None,
        hands: None,
        judged,
        because: vec![
            Reason { of: "outcome".to_owned(), what: judged_so(outcome.name()), span },
            Reason {
                of: "gear".to_owned(),
                what: gear.clone(),
                span: talk.span(talk.mentions[stretch.subject].tokens.clone()),
            },
        ],
        gear,
    }
}

/// Whether a stretch asks, tells of what may be, of another time or of other people's gear.
fn is_supposed(tokens: &[Token<'_>]) -> bool {
    const HEAD: usize = 4;
    let head = &tokens[..tokens.len().min(HEAD)];
    begins_elsewhere(tokens)
        || tokens.first().is_some_and(|t| t.asked)
        || head
            .iter()
            .any(|t| t.is_any(words!["if", "unless", "hope", "hoping", "wish", "suppose", "supposed"]))
        || tokens.windows(2).any(|w| w[0].is_any(words!["his", "her", "their"]) && w[1].is("own"))
}

/// Adds gear that was not tried and things to do, in stretches in which the rules found no item, no trial and no closing.
pub fn add_items(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    opinions: &Opinions,
    trials: &[Trial],
    found: &mut Items,
) {
    for (stretch, judged) in opinions.iter() {
        let why = if judged.says(&[Says::Unproven]) >= UNPROVEN {
            Why::Unproven
        } else if judged.says(&[Says::Task]) >= TASK {
            Why::Task
        } else {
            continue;
        };
        let span = talk.span(stretch.tokens.clone());
        let gear = name(talk, stretch.subject);
        let here = |other: Span| other.meets(span);
        // "I have to say".
        let so_called = why == Why::Task
            && talk
                .cues()
                .within(&stretch.tokens)
                .any(|(cue, kind)| kind == Cues::TASK && WORDS.task_talk.at(&talk.tokens, cue.end).is_some());
        // Gear is unproven once, and not where the note tells of its trial.
        let once = |other: &str| why == Why::Unproven && other == gear;
        let known = found.items.iter().any(|i| here(i.span) || i.gear.as_deref().is_some_and(once))
            || trials.iter().any(|t| here(t.span) || once(&t.gear))
            || found.closings.iter().any(|c| here(c.span))
            || is_supposed(&talk.tokens[stretch.tokens.clone()]);
        let not_to = || why == Why::Task && is_not_to_be_done(&talk.tokens[stretch.tokens.clone()]);
        if known || so_called || not_to() {
            continue;
        }
        let at = thought_of(thoughts, stretch.tokens.start);
        let mut item = item(talk, thoughts, at, stretch.tokens.clone(), Some(stretch.subject), why);
        if let Some(reason) = item.because.first_mut() {
            reason.what = judged_so(why.name());
        }
        if why == Why::Task && done_in_the_note(&item, &found.closings) {
            continue;
        }
        found.items.push(item);
    }
    found.items.sort_by_key(|i| i.span);
}

/// "Don't buy a sprayhood without me", "not going to bother with the handheld": what nobody is to do.
fn is_not_to_be_done(tokens: &[Token<'_>]) -> bool {
    let at = |i: usize, words: &WordList| tokens.get(i).is_some_and(|t| t.is_any(words));
    let not = if at(0, words!["don't", "dont", "never"]) {
        Some(1)
    } else if at(0, words!["do", "not"]) && at(1, words!["not", "n't", "going"]) {
        Some(2)
    } else {
        None
    };
    let leaves = |i: usize| WORDS.task_heads.at(tokens, i).is_some() || at(i, words!["bother", "to"]);
    not.is_some_and(|i| leaves(i) && !at(i, words!["forget", "let", "leave", "lose"]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Hints, Note, read};

    fn note(words: &str) -> Note {
        let text = format!("Saturday 14 March 2026, 10:05 UTC+1\n\n{words}\n");
        read(text.as_bytes(), &Hints { name: "note.txt".to_owned(), ..Hints::default() })
    }

    fn judged(pass: f32, fail: f32, partial: f32, unclear: f32) -> Judged {
        Judged([pass, 0.0, fail, partial, unclear, 0.0, 0.0, 1.0 - pass - fail - partial - unclear])
    }

    #[test]
    fn how_a_trial_went_is_what_is_likeliest() {
        assert_eq!(likeliest(&judged(0.5, 0.2, 0.1, 0.1)), (Outcome::Pass, 0.5));
        assert_eq!(likeliest(&judged(0.1, 0.2, 0.4, 0.1)).0, Outcome::Partial);
        assert_eq!(likeliest(&judged(0.1, 0.3, 0.2, 0.1)).0, Outcome::Fail);
        assert_eq!(likeliest(&judged(0.1, 0.1, 0.1, 0.6)).0, Outcome::Unclear);
    }

    #[test]
    fn what_may_be_and_what_others_have_is_no_trial_and_no_task() {
        for words in [
            "If the windlass lifts it all again I'll be glad.",
            "Will the windlass lift all of it?",
            "He looks after his own windlass.",
        ] {
            let note = note(words);
            assert!(note.trials.is_empty() && note.items.is_empty(), "{words}: {note:?}");
        }
    }

    #[test]
    fn what_stands_behind_a_preposition_is_not_what_the_talk_is_about() {
        let said = note(
            "The drogue. Out it went at seven knots, and with two fingers on the wheel she ran as on rails.",
        );
        assert!(said.trials.iter().all(|t| t.gear != "wheel"), "{:?}", said.trials);
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
