//! Volts without a unit: by the battery or the hour that they are told with, or after volts just told.

use crate::number::Form;
use crate::token::Gap;
use crate::word::WordList;

use super::carry::{Before, near};
use super::context::{Context, Score};
use super::value::{Choice, assumed, build, cue_of, fits, index, of, quantity};

/// What a bank of twelve volts shows between flat and charging. Common practice, no source.
const BANK: [f64; 2] = [11.2, 14.8];

/// "The batteries … twelve point seven at ten and eleven point six at dawn", "eight amps at noon and twelve point six this
/// morning": what a bank shows, told to the tenth with the hour or of the battery just named, whatever else was named further
/// off.
pub(super) fn volts_told(context: &Context<'_, '_>, k: usize, scores: &[Score]) -> Option<Choice> {
    /// How far around the battery may be named, in tokens: in front, and behind.
    const FRONT: usize = 30;
    const BEHIND: usize = 16;
    /// As near as another name takes the number for itself, in tokens.
    const NEXT: usize = 3;
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let (start, end) = (amount.tokens.start, amount.tokens.end);
    let [atom] = amount.run.atoms.as_slice() else { return None };
    if !matches!(atom.form, Form::Decimal(1 | 2)) || amount.other.is_some() || amount.unit.is_some() {
        return None;
    }
    let choice = build(context, k, index("voltage"), None, cue_of(scores, of("voltage")))?;
    if !choice.values.iter().all(|v| fits(BANK, v)) {
        return None;
    }
    let electric = [of("voltage"), of("current"), of("charge"), of("power"), of("state_of_charge")];
    let taken = scores.iter().any(|s| {
        let beside = s.cue.1 <= start && start - s.cue.1 <= NEXT || s.cue.0 >= end && s.cue.0 - end <= NEXT;
        s.named && beside && !electric.contains(&s.target)
    });
    if taken {
        return None;
    }
    let block = context.talk.clauses[context.talk.clause_of(start)].block;
    let around = (start.saturating_sub(FRONT)..(end + BEHIND).min(tokens.len()))
        .filter(|&i| context.talk.clauses[context.talk.clause_of(i)].block == block);
    let told = |words: &WordList| around.clone().any(|i| tokens[i].is_any(words));
    let battery = told(words![
        "battery",
        "batteries",
        "batts",
        "volts",
        "voltage",
        "voltmeter",
        "bank",
        "cell",
        "cells"
    ]);
    let hour = tokens[end..].iter().take(3).take_while(|t| t.gap < Gap::Sentence).any(|t| {
        t.is_any(words![
            "morning",
            "dawn",
            "bedtime",
            "breakfast",
            "daybreak",
            "dusk",
            "midnight",
            "sunset",
            "sunrise"
        ])
    });
    (battery || hour && told(words!["amps", "amp", "watts", "solar", "panel", "alternator"]))
        .then_some(choice)
}

/// "12.71 V to 12.38 V, 23 Ah gone. Never less than 12.2": volts to the tenth, where volts were told just before the charge.
pub(super) fn volts_again(context: &Context<'_, '_>, k: usize, before: &[Before]) -> Option<Choice> {
    let amount = &context.amounts[k];
    let [atom] = amount.run.atoms.as_slice() else { return None };
    let tenths = matches!(atom.form, Form::Decimal(1 | 2)) && (11.0..=14.8).contains(&atom.value);
    let name = |b: &Before| quantity(b.choice.quantity).name.clone();
    let charge = before.last().is_some_and(|b| near(context, b.amount, k) && name(b) == "charge");
    let volts = before.iter().rev().take(4).any(|b| near(context, b.amount, k) && name(b) == "voltage");
    (tenths && charge && volts)
        .then(|| build(context, k, index("voltage"), Some(assumed("V")), None))
        .flatten()
}

/// "twelve point six when I turned in": decimals of a battery, where one is what the talk is of.
pub(super) fn volts_by_context(context: &Context<'_, '_>, k: usize) -> Option<Choice> {
    let tokens = context.tokens();
    let amount = &context.amounts[k];
    let start = amount.tokens.start;
    let choice = build(context, k, index("voltage"), None, None)?;
    let flat =
        tokens.get(amount.tokens.end).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["flat", "dead"]));
    let parts = flat
        || amount.run.atoms.len() == 2
        || amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_) | Form::Fraction));
    // A starter pulls a battery down farther than anything else.
    let starting = tokens[start.saturating_sub(12)..start]
        .iter()
        .any(|t| t.is_any(words!["starting", "cranking", "crank", "cranked", "starter"]));
    let least = if starting { 8.5 } else { BANK[0] };
    if !parts || !choice.values.iter().all(|v| fits([least, BANK[1]], v)) {
        return None;
    }
    let block = context.talk.clauses[context.talk.clause_of(start)].block;
    // With one decimal or two, and a touch over twelve, nothing aboard is told so often.
    let typical = amount.run.atoms.len() == 1
        && (amount.run.atoms[0].form == Form::Decimal(1)
            // "12.30" is as soon half past twelve.
            || amount.run.atoms[0].form == Form::Decimal(2) && (amount.run.atoms[0].value.fract() * 100.0).round() >= 60.0)
        && choice.values.iter().all(|v| fits([11.9, 12.95], v));
    let electric = typical
        || (start.saturating_sub(70)..(amount.tokens.end + 14).min(tokens.len())).any(|i| {
            tokens[i].is_any(words![
                "battery",
                "batteries",
                "batts",
                "volts",
                "volt",
                "voltage",
                "voltmeter",
                "multimeter",
                "bank",
                "amps",
                "alternator",
                "charger",
                "charging",
                "solar",
                "shore",
                "flat",
                "starter",
                "starting",
                "cranking",
                "lithium",
                "agm",
                "fridge",
                "inverter",
                "lead",
                "cells",
                "plotter",
                "lights",
            ]) && context.talk.clauses[context.talk.clause_of(i)].block.abs_diff(block) <= 2
        });
    electric.then_some(choice)
}
