//! Winds in metres: who counts the wind in metres a second mostly leaves the second out.
//!
//! "Wind is northwest ten metres", "it blows fourteen, fifteen metres outside", "W 8 m, gusts 12 m".

use std::ops::Range;

use crate::lexicon::Words;
use crate::number::Run;
use crate::quantity::{UnitAt, units};
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};

use super::amount::Amount;
use super::wind::{self, Compass};

/// Words of the wind that a number of metres belongs to.
static WINDS: Words = Words::new(
    "wind winds windspeed breeze blow blows blew blown blowing gust gusts gusting gusted gale squall squalls puff puffs \
     anemometer average averaging",
);
/// Words that may stand between such a word, or a compass point, and its number; nothing else is told of the wind there.
static BETWEEN: Words = Words::new(
    "about around at a an the say some maybe steady roughly by now just nearly almost up to only still already perhaps is \
     's was were are be been it we have had got getting from with over under between in of out today tonight tomorrow \
     monday tuesday wednesday thursday friday saturday sunday light true apparent shows showed showing said says reads \
     read good hard steadily up through all night day morning fresh strong",
);
/// Things that a number of metres in front of them measures.
static MEASURED: Words = Words::new(
    "water sea seas swell swells wave waves chop chain rope line warp rode deep depth high long wide tall short pole \
     mast boat scope swing range tide cable hose",
);
/// Words behind a number of metres that say how far off something lay, where no word of the wind stands in front.
static APART: Words = Words::new("off away apart astern ahead under below above");
/// Winds in metres that make a habit where the second is never said.
const HABIT: usize = 2;
/// Metres a second that a wind may have.
const BLOWS: std::ops::RangeInclusive<f64> = 0.5..=45.0;
/// The least that a number behind a compass point alone reaches, where nothing else says that winds are told in metres: seas and
/// depths are told so too.
const SURELY_BLOWS: f64 = 7.0;

/// Makes metres a second of metres that are told of the wind; says whether most winds of the note are told so.
pub(super) fn tell_winds(talk: &Talk<'_>, points: &[Compass], amounts: &mut [Amount]) -> bool {
    let per_second = units().by_symbol("m/s").expect("a unit of the file");
    let symbol = |amount: &Amount| amount.unit.map_or("", |u| u.unit.symbol.as_str());
    let said = amounts.iter().filter(|a| symbol(a) == "m/s").count();
    let mut metres = said;
    if metres == 0 && !amounts.iter().any(|a| symbol(a) == "m") {
        return false;
    }
    let mut knots = 0;
    for k in 0..amounts.len() {
        let amount = &amounts[k];
        let told = || {
            let from = k.checked_sub(1).map_or(0, |before| amounts[before].tokens.end);
            Told { tokens: &talk.tokens, points, from, amount }
        };
        match symbol(amount) {
            "kn" => knots += usize::from(told().of_wind()),
            "m" if amount.base.is_none()
                && amount.run.candidates().iter().any(|c| BLOWS.contains(&c.low)) =>
            {
                let again = || k > 0 && symbol(&amounts[k - 1]) == "m/s" && told().again();
                if told().is_wind(metres > 0) || again() {
                    let end = amount.unit.map_or(amount.tokens.end, |u| u.end);
                    amounts[k].unit = Some(UnitAt { unit: per_second, rate: None, end });
                    metres += 1;
                }
            }
            _ => {}
        }
    }
    // One wind in metres may be a slip of the tongue or of a recogniser; it makes no habit.
    metres > knots && (said > 0 || metres >= HABIT)
}

/// An amount and the words in front of it, from where the amount before it ends.
struct Told<'a, 'text> {
    tokens: &'a [Token<'text>],
    points: &'a [wind::Compass],
    from: usize,
    amount: &'a Amount,
}

impl Told<'_, '_> {
    /// Whether the metres are the wind's. `habit` where the note has told of winds in metres a second before.
    fn is_wind(&self, habit: bool) -> bool {
        let end = self.amount.tokens.end;
        let joined = |i: usize| self.tokens.get(i).filter(|t| t.gap <= Gap::Line);
        // "ten metres of wind", "a twelve metre breeze"; "eight metres of water" is none.
        let noun = if joined(end).is_some_and(|t| t.is("of")) { end + 1 } else { end };
        if joined(noun).is_some_and(|t| MEASURED.has(t)) {
            return false;
        }
        if joined(noun).is_some_and(|t| WINDS.has(t)) {
            return true;
        }
        // "twenty-two metres on the anemometer".
        let dial = joined(end).is_some_and(|t| t.is("on"))
            && (end + 1..=end + 2).any(|i| joined(i).is_some_and(|t| t.is("anemometer")));
        if dial || self.of_wind() {
            return true;
        }
        if joined(end).is_some_and(|t| APART.has(t)) {
            return false;
        }
        let high = |run: &Run| run.candidates().first().map_or(0.0, |c| c.high);
        let most = high(&self.amount.run).max(self.amount.other.as_ref().map_or(0.0, |(_, run)| high(run)));
        let likely = habit || most >= SURELY_BLOWS;
        // "fifteen metres from north"; "northwest ten metres".
        let begins = |i: usize| self.point_at(i).is_some_and(|p| p.tokens.start == i);
        let from_point = joined(end).is_some_and(|t| t.is("from")) && (end + 1..=end + 2).any(begins);
        let beside = habit && joined(end).is_some() && begins(end);
        likely && (from_point || beside || self.point_in_front().is_some_and(|p| self.is_wind_before(&p)))
    }

    /// Whether a word of the wind stands in front, with nothing between that is told of anything else.
    fn of_wind(&self) -> bool {
        let at = self.filled_back(self.amount.tokens.start);
        at.is_some_and(|at| self.is_wind_word(at))
            || self
                .point_in_front()
                .is_some_and(|point| self.filled_back(point.start).is_some_and(|at| self.is_wind_word(at)))
    }

    fn is_wind_word(&self, at: usize) -> bool {
        let token = &self.tokens[at];
        // "Wind average ten metres": an average is of the word in front of it. "The windlass" is one word, "wind
        // generator" and "wind vane" are two, and stop at the second.
        let mean = token.is_any(words!["average", "averaging"]);
        let word = if mean { at.checked_sub(1).filter(|&i| i >= self.from) } else { Some(at) };
        word.is_some_and(|i| WINDS.has(&self.tokens[i]))
    }

    /// Going back from a token over words that may stand between: the first that may not.
    fn filled_back(&self, start: usize) -> Option<usize> {
        let mut at = start;
        while at > self.from && self.tokens[at].gap <= Gap::Comma {
            at -= 1;
            if !BETWEEN.has(&self.tokens[at]) && self.tokens[at].kind == Kind::Word {
                return Some(at);
            }
        }
        None
    }

    /// The compass point in front, with nothing but such words between.
    fn point_in_front(&self) -> Option<Range<usize>> {
        let at = self.filled_back(self.amount.tokens.start)?;
        self.point_at(at).map(|p| p.tokens.clone())
    }

    /// The compass point that a token is part of.
    fn point_at(&self, at: usize) -> Option<&wind::Compass> {
        let next = self.points.partition_point(|p| p.tokens.end <= at);
        self.points.get(next).filter(|p| p.tokens.contains(&at))
    }

    /// Whether a compass point, by what stands in front of it, may be the wind's: no swell's, no way's.
    fn is_wind_before(&self, point: &Range<usize>) -> bool {
        let start = point.start;
        let before = start.checked_sub(1).filter(|_| self.tokens[start].gap <= Gap::Line);
        before.is_none_or(|i| {
            let token = &self.tokens[i];
            BETWEEN.has(token) && !token.is_any(words!["to", "from", "the", "up"])
                || token.is_any(words!["veered", "backed", "veering", "backing"])
                || token.kind != Kind::Word
        })
    }

    /// "later it was down to seven metres", said behind a wind in metres.
    fn again(&self) -> bool {
        let start = self.amount.tokens.start;
        let near = start - self.from <= 12;
        let lead = start.checked_sub(1).filter(|&i| i >= self.from).map(|i| &self.tokens[i]);
        let changes = self.tokens[self.from..start].iter().any(|t| {
            t.is_any(words![
                "dropped",
                "drops",
                "down",
                "eased",
                "eases",
                "up",
                "rose",
                "rises",
                "increased",
                "increasing",
                "falling",
                "fell",
                "died",
                "dying",
                "picked",
                "settled",
                "now",
            ])
        });
        near && changes
            && lead.is_some_and(|t| t.is_any(words!["to", "at", "now", "nearly", "about", "around"]))
    }
}
