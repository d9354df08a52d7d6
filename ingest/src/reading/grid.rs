//! Tables: what the head of a column lends to the numbers under it.
//!
//! `| rpm | STW | L/h |` over `| 1400 | 4.4 | 1.6 |`: the cells have neither names nor units of their own.

use std::ops::Range;

use crate::quantity::{UnitAt, unit_named};
use crate::talk::Talk;
use crate::token::Kind;

use super::amount::Amount;

/// For each token of a table's body, found through its utterance and column, the tokens of the column's head.
#[derive(Debug, Default)]
pub struct Grid {
    /// For each utterance, the heads of its table's columns; empty outside of tables and for head rows.
    heads: Vec<Vec<Option<Range<usize>>>>,
}

impl Grid {
    /// Lays out the tables of a note.
    pub fn new(talk: &Talk<'_>) -> Self {
        let mut heads = vec![Vec::new(); talk.utterances.len()];
        if !(0..talk.utterances.len()).any(|n| talk.is_row(n)) {
            return Self { heads };
        }
        let mut first = vec![None::<Range<usize>>; talk.utterances.len()];
        for (i, token) in talk.tokens.iter().enumerate() {
            match &mut first[token.utterance] {
                Some(range) => range.end = i + 1,
                none => *none = Some(i..i + 1),
            }
        }
        let mut head: Vec<Option<Range<usize>>> = Vec::new();
        for n in 0..talk.utterances.len() {
            if !talk.is_row(n) {
                continue;
            }
            if talk.is_head_row(n) {
                head = Vec::new();
                for i in first[n].clone().unwrap_or(0..0) {
                    let column = talk.column(i);
                    if head.len() <= column {
                        head.resize(column + 1, None);
                    }
                    match &mut head[column] {
                        Some(range) => range.end = i + 1,
                        none => *none = Some(i..i + 1),
                    }
                }
            } else {
                heads[n] = head.clone();
            }
        }
        Self { heads }
    }

    /// The tokens of the first cell in a token's row, where it begins another.
    pub fn label(&self, talk: &Talk<'_>, token: usize) -> Option<Range<usize>> {
        let row = talk.tokens[token].utterance;
        self.heads.get(row).filter(|heads| !heads.is_empty())?;
        let first = talk.tokens_of(row).start;
        let begins = token > first && talk.column(token - 1) < talk.column(token);
        let end = (first..=token).find(|&i| begins && talk.column(i) > 0)?;
        (end > first).then_some(first..end)
    }

    /// The tokens of the head over a token.
    pub fn head(&self, talk: &Talk<'_>, token: usize) -> Option<Range<usize>> {
        let heads = self.heads.get(talk.tokens[token].utterance).filter(|h| !h.is_empty())?;
        heads.get(talk.column(token))?.clone()
    }
}

/// The least that a barometer shows, hPa. Common practice, no source.
const LEAST_AIR: f64 = 880.0;

/// Gives bare numbers under a head with a unit that unit, and drops those under a head that tells times or counts.
pub fn lend_units(talk: &Talk<'_>, grid: &Grid, amounts: &mut Vec<Amount>) {
    amounts.retain_mut(|amount| {
        let Some(head) = grid.head(talk, amount.tokens.start) else { return true };
        let tokens = &talk.tokens[head.clone()];
        if tokens.iter().any(|t| {
            t.is_any(words!["time", "date", "utc", "no", "qty", "count", "page", "nr", "#", "watch"])
        }) {
            return false;
        }
        // "P" and "S" over two columns are the sides of the boat.
        let side = matches!(tokens, [one] if matches!(one.text, "S" | "P"));
        // "Bar" over 1024 is the barometer.
        let glass =
            tokens.iter().any(|t| t.is("bar")) && amount.run.candidates().iter().any(|c| c.low >= LEAST_AIR);
        if amount.unit.is_none() && !side && !glass {
            // "Raw water gpm | 6.5", but not "lowers, 6 mm | 22".
            let label = grid.label(talk, amount.tokens.start).unwrap_or(0..0);
            let label =
                if talk.tokens[label.clone()].iter().any(|t| t.kind == Kind::Number) { 0..0 } else { label };
            let named = head.clone().chain(label).find_map(|i| unit_named(&talk.tokens, i));
            amount.unit = named.map(|unit| UnitAt { end: 0, ..unit });
        }
        true
    });
}
