//! Rules told by what is done: "thirty five is when the trysail goes up", "anything over thirty and the fire goes out".

use crate::lexicon::Words;
use crate::token::Gap;

use super::carry::an_alarm_s;
use super::context::{Context, Score};
use super::speed::flavour;
use super::value::{Choice, build, index, of};

/// "anything over thirty and the fire goes out", "thirty is where I open everything": what is done about a carbon monoxide
/// alarm that was named.
pub(super) fn alarm_s_limit(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    /// How far in front the alarm may have been named, in tokens.
    const REACH: usize = 60;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let lead = start.checked_sub(1).map(|i| &tokens[i])?;
    let led = lead.is_any(words!["over", "past", "above", "at", "beyond", "than", "under", "below", "to"])
        || is_when(context, k);
    let sentence = context.talk.sentence_of(start);
    let about = &tokens[sentence.start.max(start.saturating_sub(14))..sentence.end.min(end + 14)];
    let done = about.iter().any(|t| {
        t.is_any(words![
            "fire",
            "stove",
            "heater",
            "furnace",
            "burner",
            "open",
            "opens",
            "opened",
            "air",
            "out",
            "hatch",
            "hatches",
            "shut",
            "kill",
            "everything",
            "alarm",
            "meter",
            "monoxide",
            "co",
            "parts",
        ])
    });
    let sails =
        about.iter().any(|t| SAILS.has(t) || t.is_any(words!["wind", "blow", "blows", "blowing", "knots"]));
    if !led || !done || sails {
        return None;
    }
    context.topic(start, REACH, |t| t == of("co_level"))?;
    an_alarm_s(context, k).filter(|choice| choice.values.iter().all(|v| v.0 >= 3.0))
}

/// Whether a statement begins with a number: "thirty five is when …", "forty's where …".
fn is_when(context: &Context<'_, '_>, k: usize) -> bool {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let begins = tokens[amount.tokens.start].gap >= Gap::Line
        || context.talk.clauses[context.talk.clause_of(amount.tokens.start)].tokens.start
            == amount.tokens.start
        || amount.tokens.start > 0 && tokens[amount.tokens.start - 1].is("and");
    begins
        && tokens.get(amount.tokens.end).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["is", "'s"]))
        && tokens
            .get(amount.tokens.end + 1)
            .is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["when", "where"]))
}

/// "thirty five is when the trysail goes up", "main off her altogether at forty": winds that sails are changed by.
pub(super) fn sails_by(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let sentence = context.talk.sentence_of(start);
    let behind = &tokens[end..sentence.end.min(end + 12).max(end)];
    let by_number = is_when(context, k)
        && behind.iter().any(|t| {
            SAILS.has(t) || t.is_any(words!["quit", "sailing", "lie", "run", "reef", "main", "mainsail"])
        });
    let front = &tokens[sentence.start.max(start.saturating_sub(8))..start];
    let ends = tokens.get(end).is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "or"]));
    let taken = start > 0
        && tokens[start - 1].is_any(words!["at", "from", "by"])
        && ends
        && front.iter().any(|t| SAILS.has(t) || t.is_any(words!["main", "mainsail", "reef"]))
        && front.iter().any(|t| {
            t.is_any(words![
                "goes", "comes", "off", "down", "up", "in", "out", "away", "over", "reef", "third", "second"
            ])
        });
    if !(by_number || taken) {
        return None;
    }
    let choice = build(context, k, index(flavour(context, k, scores)), None, None)?;
    choice.values.iter().all(|v| v.0.fract() == 0.0 && (12.0..=75.0).contains(&v.0)).then_some(choice)
}

/// Sails and gear that stand for how hard it blows.
static SAILS: Words = Words::new(
    "reef reefs reefed drogue jib sail sails spinnaker kite chute genoa trysail heave hove gennaker canvas staysail yankee \
     mizzen",
);
