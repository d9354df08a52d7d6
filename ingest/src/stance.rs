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
    Right,
    Lead,
    List,
    Story,
    If,
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
    /// For each utterance, the tokens of the heading that it stands under.
    headings: Vec<Option<Range<usize>>>,
}

/// A stance and the words that gave it.
#[derive(Clone, Debug)]
pub struct Verdict {
    /// What the speaker means.
    pub stance: Stance,
    /// The words, where there are any.
    pub words: Option<Range<usize>>,
}

/// Most tokens between a number and a cue that speaks for the number in front of it.
const LEAD: usize = 5;

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
        Self { talk, cues, headings: talk.headings() }
    }

    /// The stance of a number of this quantity.
    pub fn of(&self, number: &Range<usize>, quantity: &str) -> Verdict {
        let clause = self.talk.clause_of(number.start);
        let here = &self.talk.clauses[clause];
        let mut best: Option<(f32, Stance, Range<usize>)> = None;
        if let Some((stance, words)) = self.under_a_heading(number.start)
            && (stance != Stance::Forecast || is_weather(quantity))
        {
            best = Some((if stance == Stance::Planned { 1.6 } else { 3.0 }, stance, words));
        }
        if let Some(words) = self.refers_to_a_limit(number) {
            best = Some((4.2, Stance::Limit, words));
        }
        let first = self.cues.partition_point(|c| c.start + FARTHEST < number.start);
        for cue in self.cues[first..].iter().take_while(|c| c.start < here.tokens.end.max(number.end) + LEAD)
        {
            let entry = &LEXICON.entries[cue.entry];
            // The words of the number itself ("20 min") say nothing about it.
            if cue.start >= number.start && cue.end <= number.end {
                continue;
            }
            if entry.stance == Stance::Spec && !has_properties(quantity) {
                continue;
            }
            // "45 min at 1800 rpm": minutes are no minimum.
            if cue.start > 0
                && self.talk.tokens[cue.start].is_any(&["min", "mins"])
                && crate::number::atom_at(&self.talk.tokens, cue.start - 1).is_some()
            {
                continue;
            }
            if entry.only == Some(Only::Weather) && !is_weather(quantity) {
                continue;
            }
            let there = &self.talk.clauses[cue.clause];
            let behind = cue.start < number.start;
            let same = cue.clause == clause;
            let sentence = there.sentence == here.sentence;
            let clauses = clause.abs_diff(cue.clause);
            let reaches = match entry.reach {
                Reach::Clause => {
                    same && number.start.saturating_sub(cue.end) <= 14
                        && cue.start.saturating_sub(number.end) <= 5
                }
                Reach::After => same && behind,
                Reach::Right => cue.start >= number.end && sentence && cue.start - number.end <= 1,
                Reach::Lead => {
                    !behind
                        && sentence
                        && cue.start.saturating_sub(number.end) <= LEAD
                        && !self.number_between(number.end, cue.start)
                        && !self.number_between(cue.end, (cue.end + 1).min(self.talk.tokens.len()))
                }
                Reach::List => behind && sentence && (same || self.lists(cue, clause)),
                Reach::Story => {
                    (same && (behind || cue.start.saturating_sub(number.end) <= 6))
                        || (behind && sentence && clauses <= 4 && self.story_goes_on(cue, clause))
                }
                Reach::If => {
                    (same && behind && !self.asks(cue))
                        || (behind && !self.asks(cue) && sentence && self.follows_from(cue, clause))
                }
                Reach::Follow => behind && sentence && self.forecast_goes_on(cue, clause, number.start),
                Reach::Block => {
                    behind && there.block == here.block && self.forecast_goes_on(cue, clause, number.start)
                }
            };
            if !reaches {
                continue;
            }
            let distance = if behind {
                number.start.saturating_sub(cue.end)
            } else {
                2 * cue.start.saturating_sub(number.end)
            };
            let loss = if matches!(entry.reach, Reach::Block | Reach::List) { 0.02 } else { 0.06 };
            let score = entry.weight - loss * distance as f32 - 0.2 * clauses as f32
                + 0.1 * (cue.end - cue.start) as f32;
            if best.as_ref().is_none_or(|b| score > b.0) {
                best = Some((score, entry.stance, cue.start..cue.end));
            }
        }
        match best {
            Some((score, stance, words)) if score > 0.5 => self.weigh(number, quantity, stance, words),
            _ => Verdict { stance: self.default(number, quantity), words: None },
        }
    }

    /// The stance of a number of this quantity that no words speak for.
    pub fn unsaid(&self, number: &Range<usize>, quantity: &str) -> Verdict {
        Verdict { stance: self.default(number, quantity), words: None }
    }

    /// What the heading over a list says of its numbers: "## Limits I will keep", "## Forecast", "## Plan".
    fn under_a_heading(&self, number: usize) -> Option<(Stance, Range<usize>)> {
        let heading = self.headings.get(self.talk.tokens[number].utterance)?.clone()?;
        let has = |words: &[&str]| self.talk.tokens[heading.clone()].iter().any(|t| t.is_any(words));
        let stance = if has(&["limit", "limits", "rule", "rules", "triggers", "targets", "never"]) {
            Stance::Limit
        } else if has(&["forecast", "fcst", "outlook", "grib"]) {
            Stance::Forecast
        } else if has(&["spec", "specs", "specification", "particulars", "inventory"]) {
            Stance::Spec
        } else if has(&["plan", "plans", "passage", "planned"]) {
            Stance::Planned
        } else {
            return None;
        };
        Some((stance, heading))
    }

    /// "well over the 40", "below my 12.2 and my 60", "inside the fifteen to twenty": a limit named by its figure.
    fn refers_to_a_limit(&self, number: &Range<usize>) -> Option<Range<usize>> {
        let tokens = &self.talk.tokens;
        let start = number.start;
        let one = start.checked_sub(1).map(|i| &tokens[i]).filter(|_| tokens[start].gap <= Gap::Line)?;
        if !one.is_any(&["the", "my", "our", "his", "me", "their", "her"]) {
            return None;
        }
        let two = start.checked_sub(2).map(|i| &tokens[i]).filter(|_| tokens[start - 1].gap <= Gap::Line);
        let over = two.is_some_and(|t| {
            t.is_any(&["over", "under", "below", "above", "inside", "within", "past", "outside", "beyond"])
        });
        // "over the ground" is no limit; a number stands right behind here.
        (one.is("my") || over && !one.is("her")).then(|| start - if over { 2 } else { 1 }..start)
    }

    fn number_between(&self, from: usize, to: usize) -> bool {
        from < to && (from..to).any(|i| crate::number::atom_at(&self.talk.tokens, i).is_some())
    }

    /// What the winning cue means for this quantity.
    fn weigh(&self, number: &Range<usize>, quantity: &str, stance: Stance, words: Range<usize>) -> Verdict {
        let default = self.default(number, quantity);
        let tokens = &self.talk.tokens;
        let boat = tokens[number.start.saturating_sub(6)..(number.end + 4).min(tokens.len())]
            .iter()
            .any(|t| t.is_any(&["boat", "yacht", "vessel", "ship"]));
        let says = tokens[words.clone()].iter().any(|t| {
            t.is_any(&["book", "box", "label", "sticker", "plate", "manual", "maker", "makers", "tag"])
        });
        let wants =
            tokens[words.clone()].iter().any(|t| t.is_any(&["want", "wants", "wanted", "need", "needs"]));
        let stance = match stance {
            Stance::Observed if default == Stance::Spec => default,
            // What is wanted of a pump, a rig or an engine is its least; of a boat's speed it is a wish.
            Stance::Planned if wants && is_a_machine_s(quantity) => Stance::Limit,
            Stance::Limit if quantity == "distance" => default,
            // "thirty-five across the deck at least, and I'm snug".
            Stance::Limit
                if is_weather(quantity) && words.start >= number.end && at_least(&tokens[words.clone()]) =>
            {
                default
            }
            Stance::Hypothetical if self.triggers(number, quantity, &words) => Stance::Limit,
            Stance::Limit | Stance::Planned if default == Stance::Recalled => default,
            Stance::Planned if matches!(quantity, "mass" | "area") => default,
            Stance::Limit if quantity == "mass" && boat => Stance::Spec,
            Stance::Limit
                if says
                    && matches!(quantity, "fuel_rate" | "pump_rate")
                    && !tokens[words.clone()]
                        .iter()
                        .any(|t| t.is_any(&["never", "over", "under", "not"])) =>
            {
                Stance::Spec
            }
            other => other,
        };
        Verdict { stance, words: Some(words) }
    }

    /// "if it ever says thirty-five I'm out of here": a condition that the speaker will act on is a trigger.
    fn triggers(&self, number: &Range<usize>, quantity: &str, words: &Range<usize>) -> bool {
        let tokens = &self.talk.tokens;
        let Some(conditional) =
            tokens[words.clone()].iter().position(|t| t.is("if")).map(|i| words.start + i)
        else {
            return false;
        };
        if conditional > number.start || tokens[conditional].asked {
            return false;
        }
        let sentence = self.talk.sentence_of(number.start);
        let sentence = sentence.start.max(number.start.saturating_sub(20))..sentence.end.min(number.end + 20);
        let unreal = tokens[sentence.clone()].iter().any(|t| {
            t.is_any(&["would", "'d", "could", "might", "were", "had", "blew", "was", "suppose", "imagine"])
        });
        let act = |i: usize| {
            tokens[i].is_any(&["i", "we", "you", "everybody", "everything"])
                && tokens.get(i + 1).is_some_and(|t| {
                    t.is_any(&[
                        "'m", "'ll", "shut", "turn", "stop", "open", "go", "don't", "do", "stay", "reef",
                        "heave", "bear", "run", "put", "take", "switch", "start", "come", "leave",
                        "throttle", "am", "will", "wait", "get", "have", "won't", "back", "slow", "ease",
                        "drop", "call", "bail",
                    ])
                })
        };
        let before = (sentence.start..conditional.max(sentence.start)).any(act);
        // A number can run over the end of its sentence, where a line is broken inside it.
        let rest = number.end.min(sentence.end)..sentence.end;
        let after = rest.clone().any(act)
            || tokens[rest].iter().any(|t| t.is_any(&["off", "out"]) && is_a_machine_s(quantity));
        !unreal && (before || after)
    }

    /// Whether "rules:" and the like still lists: a colon stands behind it, or no clause between states a fact.
    fn lists(&self, cue: &Cue, clause: usize) -> bool {
        let tokens = &self.talk.tokens;
        let colon = tokens.get(cue.end).is_some_and(|t| t.gap == Gap::Clause);
        let close = self.talk.clauses[clause].tokens.start - cue.end <= 12;
        colon
            || (close
                && (cue.clause + 1..=clause).all(|c| {
                    let words = &tokens[self.talk.clauses[c].tokens.clone()];
                    !words.iter().any(|t| t.is_any(&["was", "now", "went", "got", "'m"]))
                        && !words[0].is_any(&["it", "barometer"])
                }))
    }

    /// "to see if", "as if", "ask if": no condition.
    fn asks(&self, cue: &Cue) -> bool {
        cue.start.checked_sub(1).is_some_and(|i| {
            self.talk.tokens[i].is_any(&[
                "see",
                "know",
                "check",
                "ask",
                "asks",
                "asked",
                "as",
                "even",
                "tell",
                "wonder",
                "wondering",
                "seeing",
                "checked",
                "sure",
            ])
        }) || self
            .talk
            .tokens
            .get(cue.end)
            .is_some_and(|t| t.is_any(&["anything", "my", "you'd"]) && t.gap <= Gap::Line)
    }

    /// Whether a story goes on into a later clause: each clause between is linked to it and tells of the past.
    fn story_goes_on(&self, cue: &Cue, clause: usize) -> bool {
        let tokens = &self.talk.tokens;
        (cue.clause + 1..=clause).all(|c| {
            let range = self.talk.clauses[c].tokens.clone();
            let first = &tokens[range.start];
            let words = &tokens[range];
            let linked = first.gap == Gap::Comma
                || first.is_any(&[
                    "and", "with", "he", "they", "she", "it", "that", "who", "which", "in", "at", "for",
                    "we", "i", "on", "to", "when", "because", "then",
                ]);
            linked
                && !words.iter().any(|t| t.is_any(&["now", "today", "is", "'s", "'re", "are", "'m", "'ve"]))
        })
    }

    /// Whether a clause follows from the "if" of the one before it.
    fn follows_from(&self, cue: &Cue, clause: usize) -> bool {
        let tokens = &self.talk.tokens;
        if !(1..=3).contains(&(clause - cue.clause)) {
            return false;
        }
        // Only scraps ("well", "then", "what") may stand between.
        let scraps = (cue.clause + 1..clause).all(|c| self.talk.clauses[c].tokens.len() <= 3);
        let words = &tokens[self.talk.clauses[clause].tokens.clone()];
        let fact = words.iter().any(|t| {
            t.is_any(&[
                "was", "went", "got", "had", "took", "saw", "said", "came", "made", "ran", "did", "were",
                "now", "today",
            ])
        });
        let unreal = words.iter().any(|t| t.is_any(&["would", "'d", "could", "might"]));
        scraps && (!fact || unreal) && !words[0].is_any(&["so", "and", "but", "because", "although"])
    }

    /// Whether a forecast is still being told: nothing between says that something is so.
    fn forecast_goes_on(&self, cue: &Cue, clause: usize, number: usize) -> bool {
        let tokens = &self.talk.tokens;
        if (cue.clause..=clause).any(|c| {
            let range = self.talk.clauses[c].tokens.clone();
            // What stands before the first figure ("for the night is …") is still the forecast's own sentence.
            let from = if c == cue.clause { cue.end.min(range.end) } else { range.start };
            let to = range.end.min(number).max(from.min(number));
            let from = if c == cue.clause {
                (from..to).find(|&i| crate::number::atom_at(tokens, i).is_some()).unwrap_or(to)
            } else {
                from.min(to)
            };
            let words = &tokens[from..to];
            words.iter().enumerate().any(|(i, t)| {
                t.is_any(&["now", "i", "we", "she", "was", "is", "are", "what", "baro", "barometer", "glass"])
                    || (t.is("'s") && i > 0 && !words[i - 1].is_any(&["that", "there", "what"]))
                    || t.is_any(&["there", "off", "bilge", "anchor", "awa", "aws", "sog", "heel"]) && i == 0
            })
        }) {
            return false;
        }
        // A new log line or paragraph is a new block already; a long silence is a turn.
        !tokens[cue.end.min(number)..number].iter().any(|t| t.gap == Gap::Block)
    }

    /// What a number of a quantity mostly is.
    fn default(&self, number: &Range<usize>, quantity: &str) -> Stance {
        let tokens = &self.talk.tokens;
        let clause = &self.talk.clauses[self.talk.clause_of(number.start)].tokens;
        let sentence = self.talk.sentence_of(number.start);
        let from = sentence.start.max(number.start.saturating_sub(16)).min(number.start);
        let to = sentence.end.min(number.end + 8);
        let near = &tokens[from..to];
        let has = |words: &[&str]| near.iter().any(|t| t.is_any(words));
        let after = tokens.get(number.end).filter(|t| t.gap <= Gap::Line);
        let behind = |words: &[&str]| after.is_some_and(|t| t.is_any(words));
        let in_clause = |words: &[&str]| tokens[clause.clone()].iter().any(|t| t.is_any(words));
        // "an eighty amp alternator", "a twenty litre jerrycan", "2 x 110 W": what a thing is called by.
        let unit = &tokens[number.end.saturating_sub(1)];
        let called = has_properties(quantity)
            && unit.is_any(&[
                "amp", "watt", "litre", "liter", "gallon", "kilo", "tonne", "ton", "hour", "kilowatt",
                "volt", "pound", "quart",
            ])
            && number.len() > 1
            && after.is_some_and(|t| {
                t.kind == crate::token::Kind::Word && t.gap <= Gap::Space && t.lower.len() > 2 && !is_small(t)
            });
        let times = number.start >= 2
            && tokens[number.start - 1].is_any(&["x", "×"])
            && tokens[number.start - 2].kind == crate::token::Kind::Number;
        if has_properties(quantity) && (called || times) {
            return Stance::Spec;
        }
        match quantity {
            "area" => Stance::Spec,
            // "next change at 2430 h", "oil changed at 4129 h".
            "engine_hours" => {
                let led = &tokens[sentence.start.max(number.start.saturating_sub(7))..number.start];
                let led_by = |words: &[&str]| led.iter().any(|t| t.is_any(words));
                if led_by(&["next", "due", "again", "every", "until"]) {
                    Stance::Limit
                } else if led_by(&[
                    "changed", "serviced", "replaced", "renewed", "done", "last", "rebuilt", "fitted",
                ]) {
                    Stance::Recalled
                } else {
                    Stance::Observed
                }
            }
            // "nine hundred miles to Stewart Island" is a passage to come, "eleven miles to go" is read off the log.
            "distance" => {
                let to = after.is_some_and(|t| t.is("to"));
                let next = tokens.get(number.end + 1);
                let the_place = next.is_some_and(|t| t.is("the"))
                    && tokens.get(number.end + 2).is_some_and(|t| t.text.starts_with(char::is_uppercase));
                let place = the_place
                    || next.is_some_and(|t| t.gap <= Gap::Line && t.text.starts_with(char::is_uppercase))
                    || next.is_some_and(|t| {
                        !t.is_any(&[
                            "go",
                            "run",
                            "windward",
                            "leeward",
                            "the",
                            "us",
                            "port",
                            "starboard",
                            "sail",
                            "do",
                        ]) && t.lower.len() > 4
                    });
                let named = number.start >= 2
                    && tokens[number.start - 1].is_any(&["is", "'s"])
                    && (2..=3).any(|n| {
                        number.start > n
                            && tokens[number.start - n].text.starts_with(char::is_uppercase)
                            && tokens[number.start - n].gap < Gap::Sentence
                    });
                let ahead = near
                    .iter()
                    .any(|t| t.is_any(&["tomorrow", "next", "'ll", "will", "plan", "leave", "passage"]));
                let run = has(&[
                    "did", "done", "since", "ran", "covered", "logged", "made", "log", "run", "sailed",
                    "motored", "came",
                ]);
                // "Harlingen to Lerwick, 430 nm", "240 miles from Stornoway to Torshavn".
                let name = |i: usize| tokens[i].text.starts_with(char::is_uppercase);
                let leg = (from..to_end(near.len(), from)).any(|i| {
                    tokens[i].is("to")
                        && i > from
                        && i + 1 < to_end(near.len(), from)
                        && name(i - 1)
                        && (name(i + 1)
                            || tokens[i + 1].is("the") && i + 2 < to_end(near.len(), from) && name(i + 2))
                });
                if run && !ahead {
                    return Stance::Observed;
                }
                if leg || (to && place) || named || ahead { Stance::Planned } else { Stance::Observed }
            }
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
                let moved = behind(&["of"])
                    && tokens.get(number.end + 1).is_some_and(|t| {
                        t.is_any(&[
                            "play",
                            "slop",
                            "movement",
                            "travel",
                            "deflection",
                            "sag",
                            "stretch",
                            "weed",
                            "growth",
                            "ice",
                            "rust",
                            "slack",
                            "water",
                            "snow",
                            "freeplay",
                        ])
                    })
                    || in_clause(&["stretched", "stretches", "sagged", "streamed", "deflection", "slipped"]);
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
                if moved {
                    Stance::Observed
                } else if singular && !out {
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
                let of_the = number.start >= 2
                    && tokens[number.start - 1].is("the")
                    && tokens[number.start - 2].is("of");
                if of_the
                    || has(&["bank", "batteries", "capacity", "of"])
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
                let of_a = number.start >= 2
                    && tokens[number.start - 1].is("of")
                    && tokens[number.start - 2].is_any(&[
                        "bucket",
                        "tank",
                        "drum",
                        "container",
                        "jerrycan",
                        "bladder",
                        "jug",
                    ]);
                let cans = of_a
                    || number.start >= 2
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

/// "at least", "at the most": behind what was seen they bound it.
fn at_least(words: &[crate::token::Token<'_>]) -> bool {
    words.len() <= 3 && words[0].is("at") && words.iter().any(|t| t.is_any(&["least", "most"]))
}

fn to_end(len: usize, from: usize) -> usize {
    from + len
}

/// Small words, which are no name of a thing.
fn is_small(token: &crate::token::Token<'_>) -> bool {
    token.is_any(&[
        "and",
        "the",
        "for",
        "with",
        "from",
        "out",
        "off",
        "now",
        "but",
        "then",
        "when",
        "that",
        "more",
        "less",
        "per",
        "each",
        "into",
        "left",
        "used",
        "down",
        "going",
        "over",
        "under",
        "was",
        "all",
        "are",
        "has",
        "ago",
        "later",
        "before",
        "after",
        "maybe",
        "about",
        "every",
        "because",
        "today",
        "again",
        "still",
        "only",
        "just",
        "than",
        "hour",
        "there",
        "here",
        "which",
        "while",
        "since",
        "until",
        "come",
        "came",
        "comes",
        "went",
        "gone",
        "went",
        "got",
        "tops",
        "maximum",
        "minimum",
        "today",
        "yesterday",
        "overnight",
        "short",
        "apparent",
        "true",
        "extra",
    ])
}

/// Quantities of machines and rig, of which a least or a most is wanted.
fn is_a_machine_s(quantity: &str) -> bool {
    matches!(
        quantity,
        "pump_rate"
            | "rig_tension"
            | "gauge_reading"
            | "oil_pressure"
            | "voltage"
            | "engine_temperature"
            | "co_level"
            | "state_of_charge"
    )
}

/// Only things and stores have fixed properties; a wind or a voltage does not.
fn has_properties(quantity: &str) -> bool {
    matches!(
        quantity,
        "length"
            | "mass"
            | "area"
            | "line_load"
            | "fuel_volume"
            | "water_volume"
            | "charge"
            | "power"
            | "energy"
            | "fuel_rate"
            | "pump_rate"
            | "current"
    )
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
