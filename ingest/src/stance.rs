//! Stance: whether a number was seen, planned, set as a limit, imagined, remembered, forecast, or belongs to the gear.
//!
//! Words of `lexicon/stance.toml` speak for a stance, each with a weight and a reach; the heaviest in reach of a
//! number wins. Without any, a number is what its quantity mostly is: a mass is a fixed property, a speed is seen.

use std::ops::Range;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::found::Stance;
use crate::lexicon::Patterns;
use crate::talk::Talk;
use crate::token::Gap;

/// How far a cue reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Reach {
    Clause,
    After,
    Sentence,
    Follow,
    Block,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Only {
    Weather,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    stance: Stance,
    weight: f32,
    reach: Reach,
    only: Option<Only>,
    words: Vec<String>,
}

#[derive(Deserialize)]
struct File {
    cue: Vec<Entry>,
}

struct Lexicon {
    entries: Vec<Entry>,
    patterns: Patterns<usize>,
}

impl Lexicon {
    fn new(text: &str) -> Result<Self, String> {
        let File { cue: entries } = toml::from_str(text).map_err(|e| e.to_string())?;
        let mut patterns = Patterns::default();
        for (index, entry) in entries.iter().enumerate() {
            for words in &entry.words {
                patterns.add(words, index)?;
            }
        }
        Ok(Self { entries, patterns })
    }
}

static LEXICON: LazyLock<Lexicon> = LazyLock::new(|| {
    Lexicon::new(include_str!("../lexicon/stance.toml"))
        .expect("lexicon/stance.toml reads; a test holds it to that")
});

/// A cue found in a note.
#[derive(Clone, Copy, Debug)]
struct Cue {
    start: usize,
    end: usize,
    clause: usize,
    entry: usize,
}

/// The stance cues of a note, ready to be asked.
pub struct Stances<'t, 'a> {
    talk: &'t Talk<'a>,
    cues: Vec<Cue>,
}

/// A stance and the words that gave it.
#[derive(Clone, Debug)]
pub struct Verdict {
    /// What the speaker means.
    pub stance: Stance,
    /// The words, where there are any.
    pub words: Option<Range<usize>>,
}

/// Farthest that a forecast or a remark of the sentence before reaches, in tokens.
const FARTHEST: usize = 60;

impl<'t, 'a> Stances<'t, 'a> {
    /// Finds the stance cues of a note.
    pub fn new(talk: &'t Talk<'a>) -> Self {
        let mut cues = Vec::new();
        let mut clause = 0;
        for at in 0..talk.tokens.len() {
            while talk.clauses[clause].tokens.end <= at {
                clause += 1;
            }
            for m in LEXICON.patterns.all_at(&talk.tokens, at) {
                cues.push(Cue { start: m.start, end: m.end, clause, entry: *m.value });
            }
        }
        Self { talk, cues }
    }

    /// The stance of a number of this quantity.
    pub fn of(&self, number: &Range<usize>, quantity: &str) -> Verdict {
        let clause = self.talk.clause_of(number.start);
        let here = &self.talk.clauses[clause];
        let mut best: Option<(f32, Stance, Range<usize>)> = None;
        let first = self.cues.partition_point(|c| c.start + FARTHEST < number.start);
        for cue in self.cues[first..].iter().take_while(|c| c.start < here.tokens.end.max(number.end) + 12) {
            let entry = &LEXICON.entries[cue.entry];
            if entry.only == Some(Only::Weather) && !is_weather(quantity) {
                continue;
            }
            let there = &self.talk.clauses[cue.clause];
            let behind = cue.start < number.start;
            let same = cue.clause == clause;
            let reaches = match entry.reach {
                Reach::Clause => same,
                Reach::After => same && behind,
                Reach::Sentence => {
                    same || (behind
                        && there.sentence == here.sentence
                        && self.goes_on(cue, clause, entry.stance))
                }
                Reach::Follow => {
                    behind
                        && there.sentence == here.sentence
                        && (same || self.goes_on(cue, clause, entry.stance))
                }
                Reach::Block => {
                    same || (behind
                        && there.block == here.block
                        && self.forecast_goes_on(cue, clause, number.start))
                }
            };
            if !reaches {
                continue;
            }
            let distance = if behind {
                number.start.saturating_sub(cue.end)
            } else {
                cue.start.saturating_sub(number.end)
            } as f32;
            let clauses = clause.abs_diff(cue.clause) as f32;
            let score = entry.weight - 0.03 * distance - 0.25 * clauses + 0.1 * (cue.end - cue.start) as f32;
            if best.as_ref().is_none_or(|b| score > b.0) {
                best = Some((score, entry.stance, cue.start..cue.end));
            }
        }
        match best {
            Some((score, stance, words)) if score > 0.5 => self.weigh(number, quantity, stance, words),
            _ => Verdict { stance: self.default(number, quantity), words: None },
        }
    }

    /// What the winning cue means for this quantity.
    fn weigh(&self, number: &Range<usize>, quantity: &str, stance: Stance, words: Range<usize>) -> Verdict {
        let default = self.default(number, quantity);
        let stance = match stance {
            Stance::Observed if default == Stance::Spec => default,
            Stance::Spec
                if matches!(
                    quantity,
                    "apparent_wind_speed"
                        | "true_wind_speed"
                        | "wind_speed"
                        | "wind_gust"
                        | "wind_force"
                        | "wind_direction"
                        | "heel"
                        | "boat_speed"
                        | "speed_over_ground"
                        | "duration"
                        | "voltage"
                        | "state_of_charge"
                        | "pressure"
                ) =>
            {
                Stance::Observed
            }
            Stance::Planned if default == Stance::Spec => default,
            other => other,
        };
        Verdict { stance, words: Some(words) }
    }

    /// Whether what a cue began still holds in a later clause of its sentence: no clause between states a fact.
    fn goes_on(&self, cue: &Cue, clause: usize, stance: Stance) -> bool {
        let tokens = &self.talk.tokens;
        (cue.clause + 1..=clause).all(|c| {
            let range = self.talk.clauses[c].tokens.clone();
            let first = &tokens[range.start];
            let words = &tokens[range];
            match stance {
                // A story goes on in the past; it ends where the present begins.
                Stance::Recalled => {
                    !words.iter().any(|t| t.is_any(&["now", "today", "is", "'s", "'re", "are", "'m"]))
                        && !first.is("but")
                }
                Stance::Hypothetical => {
                    !words.iter().take(5).any(|t| t.is_any(&["is", "'s", "was", "went", "got", "had"]))
                        || words.iter().any(|t| t.is_any(&["would", "'d", "if", "could"]))
                }
                _ => !words.iter().take(4).any(|t| t.is_any(&["was", "went", "got", "'s", "is", "now"])),
            }
        })
    }

    /// Whether a forecast is still being told: nothing between says that something is so.
    fn forecast_goes_on(&self, cue: &Cue, clause: usize, number: usize) -> bool {
        let tokens = &self.talk.tokens;
        if (cue.clause + 1..=clause).any(|c| {
            let range = self.talk.clauses[c].tokens.clone();
            let words = &tokens[range.start..range.end.min(number)];
            words.iter().enumerate().any(|(i, t)| {
                t.is_any(&["now", "it", "i", "we", "she", "was", "is", "what", "baro", "barometer", "glass"])
                    || (t.is("'s") && i > 0 && !words[i - 1].is_any(&["that", "there", "what"]))
                    || t.is_any(&["there", "off", "bilge", "anchor", "awa", "aws", "sog", "heel"]) && i == 0
            })
        }) {
            return false;
        }
        // A new log line or paragraph is a new block already; a long silence is a turn.
        !tokens[cue.end..number].iter().any(|t| t.gap == Gap::Block)
    }

    /// What a number of a quantity mostly is.
    fn default(&self, number: &Range<usize>, quantity: &str) -> Stance {
        let tokens = &self.talk.tokens;
        let clause = &self.talk.clauses[self.talk.clause_of(number.start)].tokens;
        let sentence = self.talk.sentence_of(number.start);
        let from = sentence.start.max(number.start.saturating_sub(16));
        let to = sentence.end.min(number.end + 8);
        let near = &tokens[from..to];
        let has = |words: &[&str]| near.iter().any(|t| t.is_any(words));
        let after = tokens.get(number.end).filter(|t| t.gap <= Gap::Line);
        let behind = |words: &[&str]| after.is_some_and(|t| t.is_any(words));
        let in_clause = |words: &[&str]| tokens[clause.clone()].iter().any(|t| t.is_any(words));
        match quantity {
            "area" => Stance::Spec,
            "mass" => {
                if in_clause(&["in", "inside", "left"])
                    && has(&["gas", "bottle", "propane", "butane", "tin", "it"])
                    || has(&["scales"]) && has(&["bottle", "gas"]) && !has(&["tare", "empty"])
                    || behind(&["of"])
                        && tokens.get(number.end + 1).is_some_and(|t| t.is_any(&["gas", "propane", "butane"]))
                        && in_clause(&["there", "left"])
                {
                    Stance::Observed
                } else {
                    Stance::Spec
                }
            }
            "length" => {
                let out = behind(&["out", "up", "down", "under", "higher", "lower", "too", "short"])
                    || in_clause(&["out", "anchored", "veered", "paid", "dropped", "slop", "under", "reset"]);
                let gear = [
                    "tether",
                    "tethers",
                    "drogue",
                    "bridle",
                    "legs",
                    "line",
                    "rope",
                    "nylon",
                    "anchor",
                    "webbing",
                    "jackline",
                    "jacklines",
                    "jackstays",
                    "sheets",
                    "sheet",
                    "boat",
                    "sloop",
                    "ketch",
                    "cutter",
                    "yawl",
                    "mast",
                    "boom",
                    "hull",
                    "dinghy",
                    "paddle",
                    "cones",
                    "mouth",
                    "long",
                    "wide",
                    "across",
                    "each",
                    "chain",
                    "warp",
                    "snubber",
                    "rode",
                    "footer",
                    "diameter",
                    "beam",
                    "draft",
                    "draught",
                    "strop",
                    "halyard",
                    "tackle",
                    "cable",
                    "pole",
                    "ladder",
                ];
                let unit = tokens.get(number.end.saturating_sub(1));
                let singular = unit.is_some_and(|t| t.is_any(&["foot", "metre", "meter", "inch", "footer"]))
                    && after.is_some_and(|t| {
                        t.kind == crate::token::Kind::Word
                            && !t.is_any(&[
                                "of", "out", "under", "in", "or", "to", "and", "off", "up", "from", "at",
                                "on",
                            ])
                    });
                let anchored = has(&["anchored", "dropped", "veered", "anchor", "hook"])
                    && (has(&["chain", "rode", "rope"]) || behind(&["out", "chain"]));
                if singular && !out {
                    Stance::Spec
                } else if out || (anchored && !in_clause(&["'ve", "have", "got"])) {
                    Stance::Observed
                } else if has(&gear) {
                    Stance::Spec
                } else {
                    Stance::Observed
                }
            }
            "line_load" => {
                if has(&["breaks", "rated", "stamped", "swl", "mbl", "wll", "strength"]) {
                    Stance::Spec
                } else {
                    Stance::Observed
                }
            }
            "charge" => {
                if has(&["bank", "batteries", "capacity", "of"])
                    && !in_clause(&["gone", "used", "back", "out", "took", "so", "day", "gave"])
                {
                    Stance::Spec
                } else {
                    Stance::Observed
                }
            }
            "power" => {
                if behind(&["panel", "panels", "of", "solar", "inverter", "heater"])
                    || has(&["panels"]) && has(&["of", "put"]) && !has(&["saw", "best", "getting"])
                {
                    Stance::Spec
                } else {
                    Stance::Observed
                }
            }
            "fuel_volume" | "water_volume" => {
                let holder = behind(&[
                    "bucket", "tank", "tanks", "can", "cans", "jerrycan", "drum", "each", "a", "bottle",
                ]) || in_clause(&["holds", "each", "capacity"]);
                let cans = number.start >= 2
                    && tokens[number.start - 1].is("of")
                    && tokens[number.start - 2].is_any(&[
                        "cans",
                        "jugs",
                        "can",
                        "jerrycans",
                        "tanks",
                        "bottles",
                    ]);
                let of_the = number.start >= 2
                    && tokens[number.start - 1].is("the")
                    && tokens[number.start - 2].is("of");
                if holder || cans || of_the { Stance::Spec } else { Stance::Observed }
            }
            _ => Stance::Observed,
        }
    }
}

fn is_weather(quantity: &str) -> bool {
    matches!(
        quantity,
        "wind_speed"
            | "true_wind_speed"
            | "apparent_wind_speed"
            | "wind_gust"
            | "wind_force"
            | "wind_direction"
            | "wave_height"
            | "pressure"
            | "air_temperature"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_reads() {
        let lexicon = Lexicon::new(include_str!("../lexicon/stance.toml")).expect("stance.toml reads");
        for stance in Stance::ALL {
            assert!(lexicon.entries.iter().any(|e| e.stance == *stance && !e.words.is_empty()), "{stance}");
        }
    }
}
