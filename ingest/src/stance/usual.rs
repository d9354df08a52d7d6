//! What a number of a quantity mostly is, where no word says: a mass is a fixed property, a speed is seen.

use std::ops::Range;

use crate::found::Stance;
use crate::token::Gap;
use crate::word::WordList;

use super::Stances;

impl Stances<'_, '_> {
    /// "240 L at 2.5 L/h = 96 hours", "3 L x 2 x 21 days = 126 L": what comes out of other numbers.
    fn is_a_sum(&self, number: &Range<usize>) -> bool {
        let tokens = &self.talk.tokens;
        let equals =
            number.start.checked_sub(1).filter(|&i| tokens[i].is("=") && tokens[i].gap < Gap::Sentence);
        equals.is_some_and(|equals| {
            let sentence = self.talk.sentence_of(equals).start;
            let from = (sentence..equals).rev().take_while(|&i| tokens[i + 1].gap < Gap::Sentence);
            let terms = from.clone().filter(|&i| crate::number::atom_at(tokens, i).is_some()).count();
            terms > 1
                && from
                    .into_iter()
                    .any(|i| tokens[i].is_any(words!["x", "×", "*", "/", "÷", "at", "@", "times", "per"]))
        })
    }

    /// What a number of a quantity mostly is.
    pub(super) fn default(&self, number: &Range<usize>, quantity: &str) -> Stance {
        let tokens = &self.talk.tokens;
        let around = self.around(number);
        let has = |words: &WordList| around.has(words);
        let (after, sentence) = (around.after, around.sentence.clone());
        let (from, end) = (around.near.start, around.near.end);
        let near = &tokens[from..end];
        let behind = |words: &WordList| around.behind(words);
        let in_clause = |words: &WordList| around.in_clause(words);
        // "an eighty amp alternator", "a twenty litre jerrycan", "2 x 110 W": what a thing is called by.
        let unit = &tokens[number.end.saturating_sub(1)];
        let called = has_properties(quantity)
            && unit.is_any(words![
                "amp", "watt", "litre", "liter", "gallon", "kilo", "tonne", "ton", "hour", "kilowatt",
                "volt", "pound", "quart",
            ])
            && number.len() > 1
            && after.is_some_and(|t| {
                t.kind == crate::token::Kind::Word && t.gap <= Gap::Space && t.lower.len() > 2 && !is_small(t)
            });
        // "a 75 Ah battery", "a 100 A alternator", "the 20 L can": the same in symbols, behind an article.
        let symbol = unit.is_any(words!["ah", "a", "w", "kw", "l", "kg", "wh"])
            && number.len() > 1
            && number.start > 0
            && tokens[number.start - 1].is_any(words!["a", "an", "the", "my", "our", "new", "old", "one"])
            && tokens[number.start].gap <= Gap::Space
            && after.is_some_and(|t| {
                t.kind == crate::token::Kind::Word && t.gap <= Gap::Space && t.lower.len() > 2 && !is_small(t)
            });
        // "a bag of 60 L", "eight cans of twenty litres".
        let contained = matches!(quantity, "fuel_volume" | "water_volume")
            && number.start > 1
            && tokens[number.start - 1].is("of")
            && tokens[number.start - 2].is_any(words![
                "bag",
                "bags",
                "can",
                "cans",
                "jug",
                "jugs",
                "jerrycan",
                "jerrycans",
                "jerries",
                "bottle",
                "bottles",
                "drum",
                "drums",
                "bladder",
                "bladders",
                "canister",
                "canisters",
            ]);
        let called = called || has_properties(quantity) && symbol || contained;
        let times = number.start >= 2
            && tokens[number.start - 1].is_any(words!["x", "×"])
            && tokens[number.start - 2].kind == crate::token::Kind::Number;
        if has_properties(quantity) && (called || times) {
            return Stance::Spec;
        }
        // "390 of 420 L", "260/300": what there is of what there could be.
        let of_all = number.start >= 2
            && tokens[number.start].gap <= Gap::Line
            && (tokens[number.start - 1].is_any(words!["of", "/"])
                || tokens[number.start - 1].is("a") && tokens[number.start - 2].is("of"))
            && tokens[number.start.saturating_sub(4)..number.start - 1]
                .iter()
                .any(|t| t.kind == crate::token::Kind::Number);
        if of_all && matches!(quantity, "fuel_volume" | "water_volume" | "mass" | "charge") {
            return Stance::Spec;
        }
        if self.is_a_sum(number) {
            return Stance::Hypothetical;
        }
        match quantity {
            // "its breaker (80 A)", "a fuse of 125 A", "the 15 amp breaker".
            "current" => {
                let protects = |t: &crate::token::Token<'_>| {
                    t.is_any(words!["breaker", "breakers", "fuse", "fuses", "fused", "mcb"])
                };
                let close = tokens[sentence.start.max(number.start.saturating_sub(2))..number.start]
                    .iter()
                    .any(protects)
                    || tokens[sentence.start.max(number.start.saturating_sub(6))..number.start]
                        .iter()
                        .any(protects)
                        && !has(words![
                            "tripped", "drew", "pulled", "had", "blew", "meter", "popped", "went", "drawing",
                            "pulling",
                        ])
                    || after.is_some_and(protects);
                if close { Stance::Spec } else { Stance::Observed }
            }
            "area" => Stance::Spec,
            // "next change at 2430 h", "oil changed at 4129 h".
            "engine_hours" => {
                let led = &tokens[sentence.start.max(number.start.saturating_sub(7))..number.start];
                let led_by = |words: &WordList| led.iter().any(|t| t.is_any(words));
                if led_by(words!["next", "due", "again", "every", "until"]) {
                    Stance::Limit
                } else if led_by(words![
                    "changed", "serviced", "replaced", "renewed", "done", "last", "rebuilt", "fitted",
                ]) {
                    Stance::Recalled
                } else {
                    Stance::Observed
                }
            }
            // "nine hundred miles to Stewart Island" is a passage to come, "eleven miles to go" is read off the log.
            "distance" => {
                // A hundred miles and more are a passage, unless the log or the day says that they were run.
                let sailed = has(words![
                    "did",
                    "done",
                    "since",
                    "ran",
                    "covered",
                    "logged",
                    "made",
                    "log",
                    "run",
                    "sailed",
                    "motored",
                    "came",
                    "noon",
                    "yesterday",
                    "behind",
                    "averaged",
                    "hours",
                    "day",
                    "days",
                    "range",
                ]);
                let long = tokens[number.clone()].iter().any(|t| {
                    t.is_any(words!["hundred", "thousand"])
                        || t.lower.len() >= 3 && t.lower.bytes().all(|b| b.is_ascii_digit() || b == b',')
                });
                let miles = tokens[number.clone()]
                    .iter()
                    .any(|t| t.is_any(words!["mile", "miles", "nm", "nmi", "m"]));
                // "1015 alongside. 168 miles": what lies behind.
                const ARRIVED: &WordList = words![
                    "alongside",
                    "secured",
                    "moored",
                    "berthed",
                    "berth",
                    "arrived",
                    "anchored",
                    "home",
                    "trip",
                    "summary",
                    "week",
                ];
                let own = tokens.get(number.start).map_or(0, |t| t.utterance);
                let arrived = tokens[number.start.saturating_sub(6)..number.start]
                    .iter()
                    .any(|t| t.utterance == own && t.is_any(ARRIVED));
                if long && miles && !sailed && !arrived {
                    return Stance::Planned;
                }
                let to = after.is_some_and(|t| t.is("to"));
                let next = tokens.get(number.end + 1);
                let the_place = next.is_some_and(|t| t.is("the"))
                    && tokens.get(number.end + 2).is_some_and(|t| t.text.starts_with(char::is_uppercase));
                let place = the_place
                    || next.is_some_and(|t| t.gap <= Gap::Line && t.text.starts_with(char::is_uppercase))
                    || next.is_some_and(|t| {
                        !t.is_any(words![
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
                    && tokens[number.start - 1].is_any(words!["is", "'s"])
                    && (2..=3).any(|n| {
                        number.start > n
                            && tokens[number.start - n].text.starts_with(char::is_uppercase)
                            && tokens[number.start - n].gap < Gap::Sentence
                    });
                let ahead = near
                    .iter()
                    .any(|t| t.is_any(words!["tomorrow", "next", "'ll", "will", "plan", "leave", "passage"]));
                let run = has(words![
                    "did", "done", "since", "ran", "covered", "logged", "made", "log", "run", "sailed",
                    "motored", "came",
                ]);
                // "Harlingen to Lerwick, 430 nm", "240 miles from Stornoway to Torshavn".
                let name = |i: usize| tokens[i].text.starts_with(char::is_uppercase);
                let leg = (from..end).any(|i| {
                    tokens[i].is("to")
                        && i > from
                        && i + 1 < end
                        && name(i - 1)
                        && (name(i + 1) || tokens[i + 1].is("the") && i + 2 < end && name(i + 2))
                });
                // "47 nm from here", "forty miles there and back".
                let hence = behind(words!["from"]) && next.is_some_and(|t| t.is_any(words!["here", "home"]));
                if run && !ahead {
                    return Stance::Observed;
                }
                if hence {
                    return Stance::Planned;
                }
                if leg || (to && place) || named || ahead { Stance::Planned } else { Stance::Observed }
            }
            "mass" => {
                if in_clause(words!["in", "inside", "left"])
                    && (has(words!["gas", "bottle", "propane", "butane", "tin"])
                        || near.windows(2).any(|w| w[0].is_any(words!["in", "inside"]) && w[1].is("it")))
                    || has(words!["scales"]) && has(words!["bottle", "gas"]) && !has(words!["tare", "empty"])
                    || behind(words!["of"])
                        && tokens
                            .get(number.end + 1)
                            .is_some_and(|t| t.is_any(words!["gas", "propane", "butane"]))
                        && in_clause(words!["there", "left"])
                {
                    Stance::Observed
                } else {
                    Stance::Spec
                }
            }
            "length" => self.of_length(number, &around),
            "line_load" => {
                if has(words!["breaks", "rated", "stamped", "swl", "mbl", "wll", "strength"]) {
                    Stance::Spec
                } else {
                    Stance::Observed
                }
            }
            "charge" => {
                // "4.8 A for twelve hours is 58 Ah": reckoned, not read.
                let front = &tokens[from..number.start];
                let reckoned = front
                    .iter()
                    .any(|t| t.is_any(words!["a", "amp", "amps", "amperes", "times", "x", "×"]))
                    && front.iter().any(|t| t.is_any(words!["hours", "hour", "h", "night", "day", "days"]))
                    && number.start > 0
                    && front[front.len().saturating_sub(3)..].iter().any(|t| {
                        t.is_any(words!["is", "'s", "makes", "=", "so", "comes", "be", "call", "means"])
                    })
                    && crate::number::atom_at(tokens, number.start).is_some()
                    && front
                        .iter()
                        .any(|t| t.kind == crate::token::Kind::Number || crate::number::is_number_word(t));
                if reckoned {
                    return Stance::Hypothetical;
                }
                let of_the = number.start >= 2
                    && tokens[number.start - 1].is("the")
                    && tokens[number.start - 2].is("of");
                // "a fourth battery beside the others, 100 Ah": told behind its name, with nothing done by it between.
                let size = tokens[number.start].gap == Gap::Comma
                    && tokens[from.max(number.start.saturating_sub(7))..number.start]
                        .iter()
                        .any(|t| t.is_any(words!["battery", "batteries", "bank", "accumulator"]));
                if of_the
                    || size
                    || has(words!["bank", "batteries", "capacity", "of"])
                        && !in_clause(words!["gone", "used", "back", "out", "took", "so", "day", "gave"])
                {
                    Stance::Spec
                } else {
                    Stance::Observed
                }
            }
            "power" => {
                let horses = unit.is_any(words!["hp", "bhp", "horsepower"]);
                if horses
                    || behind(words!["panel", "panels", "of", "solar", "inverter", "heater", "set", "radio"])
                    || has(words!["panel", "panels"])
                        && !has(words![
                            "gave", "give", "gives", "giving", "making", "makes", "made", "putting", "at",
                            "from", "saw"
                        ])
                    || number.start > 0
                        && tokens[number.start - 1].is_any(words![
                            "vhf",
                            "radio",
                            "ssb",
                            "transceiver",
                            "bulb",
                            "lamp",
                            "searchlight",
                            "panel",
                            "kettle",
                            "inverter",
                            "microwave",
                        ])
                        && !has(words!["gave", "gives", "making", "makes", "made", "putting", "from"])
                    || number.start > 1
                        && tokens[number.start - 1].is("of")
                        && tokens[number.start - 2].is_any(words![
                            "panel",
                            "panels",
                            "bulb",
                            "lamp",
                            "searchlight",
                        ])
                    || (has(words!["kw", "kilowatt", "rated"])
                        || number.start > 0
                            && tokens[number.start - 1]
                                .is_any(words!["is", "'s", "are", "a", "an", "of", "two", "x"]))
                        && !has(words![
                            "saw", "best", "getting", "drew", "draws", "pulling", "pulls", "pulled", "gave",
                            "gives", "making", "makes", "made", "peak", "peaked", "took", "takes", "using",
                            "uses", "shows", "showed", "got", "now", "output", "putting", "load",
                        ])
                {
                    Stance::Spec
                } else {
                    Stance::Observed
                }
            }
            "fuel_volume" | "water_volume" => {
                let holder = behind(words![
                    "bucket", "tank", "tanks", "can", "cans", "jerrycan", "drum", "each", "a", "bottle",
                ]) || in_clause(words!["holds", "each", "capacity"]);
                let of_a = number.start >= 2
                    && tokens[number.start - 1].is("of")
                    && tokens[number.start - 2].is_any(words![
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
                        && tokens[number.start - 2].is_any(words![
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
                // "water tank, 140 L": what a tank is, where no word tells what is in it.
                let tank = has(words!["tank", "tanks", "tankage", "bladder"])
                    && !has(words![
                        "left",
                        "used",
                        "gone",
                        "dip",
                        "dipped",
                        "dips",
                        "stick",
                        "remaining",
                        "took",
                        "filled",
                        "topped",
                        "top",
                        "now",
                        "pumped",
                        "found",
                        "in",
                        "out",
                        "drained",
                        "drain",
                        "down",
                        "reads",
                        "says",
                        "shows",
                        "burned",
                        "fill",
                        "full",
                        "put",
                        "added",
                        "aboard",
                        "sounded",
                        "gauge",
                        "half",
                        "day",
                        "drawn",
                        "at",
                        "had",
                    ]);
                if holder || cans || of_the || tank { Stance::Spec } else { Stance::Observed }
            }
            _ => Stance::Observed,
        }
    }
}

/// Small words, which are no name of a thing.
fn is_small(token: &crate::token::Token<'_>) -> bool {
    token.is_any(words![
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

/// Only things and stores have fixed properties; a wind or a voltage does not.
pub(super) fn has_properties(quantity: &str) -> bool {
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
