//! Stance: whether a number was seen, planned, set as a limit, imagined, remembered, forecast, or belongs to the gear.
//!
//! Words of `lexicon/stance.toml` speak for a stance, each with a weight and a reach; the heaviest in reach of a
//! number wins. Without any, a number is what its quantity mostly is: a mass is a fixed property, a speed is seen.

mod aboard;
mod area;
mod around;
mod head;
mod lengths;
mod reach;
mod trigger;
mod usual;

use std::ops::Range;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::found::Stance;
use crate::lexicon::{BuiltIn, Patterns};
use crate::talk::Talk;
use crate::token::Gap;
pub(crate) use head::of_column;
use usual::has_properties;

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

/// What speaks for a stance beside words of the lexicon.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Also {
    /// Years before the note's own.
    Years,
    /// People named with another boat.
    Boats,
    /// Sea areas of the shipping forecast.
    Areas,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    stance: Stance,
    weight: f32,
    reach: Reach,
    only: Option<Only>,
    also: Option<Also>,
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
    Lexicon::new(include_str!("../../lexicon/stance.toml"))
        .expect("lexicon/stance.toml reads; a test holds it to that")
});

/// The patterns that are built in.
pub fn built_in() -> Vec<&'static dyn BuiltIn> {
    vec![&LEXICON.patterns]
}

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
    headings: &'t [Option<Range<usize>>],
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
        // Words that a clause begins in the middle of ("my number for / it is") speak for what follows.
        let cue = |start, end: usize, entry| Cue { start, end, clause: talk.clause_of(end - 1), entry };
        let said = LEXICON.patterns.all(&talk.tokens).into_iter().map(|m| cue(m.start, m.end, *m.value));
        let mut cues: Vec<Cue> = said.collect();
        for at in 0..talk.tokens.len() {
            let found = [
                (Also::Years, is_a_past_year(talk, at).then(|| at..at + 1)),
                (Also::Boats, aboard::of_another_boat(&talk.tokens, at)),
                (Also::Areas, area::named(&talk.tokens, at)),
            ];
            for (also, words) in found.into_iter().filter_map(|(also, words)| Some((also, words?))) {
                let spoken_for =
                    LEXICON.entries.iter().enumerate().filter(|(_, entry)| entry.also == Some(also));
                cues.extend(spoken_for.map(|(entry, _)| cue(words.start, words.end, entry)));
            }
        }
        cues.sort_by_key(|cue| cue.start);
        Self { talk, cues, headings: talk.headings() }
    }

    /// The stance of a number of this quantity.
    pub fn of(&self, number: &Range<usize>, quantity: &str) -> Verdict {
        let clause = self.talk.clause_of(number.start);
        let here = &self.talk.clauses[clause];
        let mut best: Option<(f32, Stance, Range<usize>)> = None;
        if let Some((stance, words)) = self.under_a_heading(number.start)
            && (stance != Stance::Forecast || is_weather(quantity))
            && (stance != Stance::Spec || has_properties(quantity))
            && (stance != Stance::Planned || self.default(number, quantity) != Stance::Spec)
        {
            best = Some((if stance == Stance::Planned { 1.6 } else { 3.0 }, stance, words));
        }
        if let Some(words) = self.is_to_be_got(number.start) {
            best = Some((3.6, Stance::Planned, words));
        }
        if let Some((stance, words)) = self.behind_a_label(number.start) {
            best = Some((4.2, stance, words));
        }
        if let Some(words) = self.is_written_as_a_limit(number, quantity) {
            best = Some((4.2, Stance::Limit, words));
        }
        if let Some(words) = self.refers_to_a_limit(number, quantity) {
            best = Some((4.2, Stance::Limit, words));
        }
        if let Some(words) = self.is_of_before(number, quantity) {
            best = Some((4.2, Stance::Recalled, words));
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
                && self.talk.tokens[cue.start].is_any(words!["min", "mins"])
                && crate::number::atom_at(&self.talk.tokens, cue.start - 1).is_some()
            {
                continue;
            }
            if entry.only == Some(Only::Weather) && !is_weather(quantity) {
                continue;
            }
            // "twenty degrees of rudder at least", "three hours at least": they bound what was seen or is meant.
            if entry.stance == Stance::Limit
                && entry.reach == Reach::Lead
                && cue.start >= number.end
                && is_sailed(quantity)
                && at_least(&self.talk.tokens[cue.start..cue.end])
            {
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
                        && !self.leads_on(cue)
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
            let cued = self.cues_between(cue.start, number.start) as f32;
            let score = entry.weight - cued - loss * distance as f32 - 0.2 * clauses as f32
                + 0.1 * (cue.end - cue.start) as f32;
            if best.as_ref().is_none_or(|b| score > b.0) {
                best = Some((score, entry.stance, cue.start..cue.end));
            }
        }
        match best {
            // "caps 15 to 20, lowers 10 to 12": a band of the rig is wanted, a figure is measured.
            _ if self.is_a_band_of_the_rig(number, quantity)
                && best.as_ref().is_none_or(|(_, stance, _)| *stance != Stance::Recalled) =>
            {
                Verdict { stance: Stance::Limit, words: best.map(|(_, _, words)| words) }
            }
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
        let stance = head::of_heading(self.talk, heading.clone())?;
        Some((stance, heading))
    }

    /// "Get biscuits, tablets, and 20 litres of paraffin": what a sentence that begins so tells to get.
    fn is_to_be_got(&self, number: usize) -> Option<Range<usize>> {
        /// As far behind as its things are told, in tokens.
        const REACH: usize = 20;
        let tokens = &self.talk.tokens;
        let first = self.talk.sentence_of(number).start;
        let gets = tokens[first].is_any(words!["get", "buy", "fetch", "order", "collect"])
            && tokens[first].gap >= Gap::Sentence
            && first < number
            && number < first + REACH
            && tokens[first + 1..number].iter().all(|t| t.gap < Gap::Clause && !is_past_tense(t));
        gets.then(|| first..first + 1)
    }

    /// What the label in front of a line's first sentence says of its numbers: "Criterion: under 4 A after ten minutes".
    fn behind_a_label(&self, number: usize) -> Option<(Stance, Range<usize>)> {
        /// The longest label, in tokens.
        const LONGEST: usize = 2;
        let tokens = &self.talk.tokens;
        let first = self.talk.tokens_of(tokens[number].utterance).start;
        let end = (first + 1..=first + LONGEST)
            .find(|&i| tokens.get(i).is_some_and(|t| t.gap == Gap::Clause))
            .filter(|&end| end <= number)?;
        let sentence = |at: usize| self.talk.clauses[self.talk.clause_of(at)].sentence;
        let stance = head::of_label(self.talk, first..end)?;
        (sentence(first) == sentence(number)).then_some((stance, first..end))
    }

    /// "Coolant: max. 88", "Oil, hot: min. 2.5 bar": what stands by itself behind a colon.
    fn is_written_as_a_limit(&self, number: &Range<usize>, quantity: &str) -> Option<Range<usize>> {
        let tokens = &self.talk.tokens;
        let word = number.start.checked_sub(1)?;
        let written = tokens[number.start].gap <= Gap::Space
            && tokens[word].gap >= Gap::Clause
            && tokens[word].is_any(words!["max", "min", "maximum", "minimum", "limit"]);
        (written && is_a_machine_s(quantity)).then_some(word..number.start)
    }

    /// "well over the 40", "below my 12.2 and my 60", "inside the fifteen to twenty": a limit named by its figure.
    fn refers_to_a_limit(&self, number: &Range<usize>, quantity: &str) -> Option<Range<usize>> {
        let tokens = &self.talk.tokens;
        let start = number.start;
        let one = start.checked_sub(1).map(|i| &tokens[i]).filter(|_| tokens[start].gap <= Gap::Line)?;
        // "under M.'s 12.2", "over my da's eighty-five".
        if one.is("'s") {
            let over = |i: usize| {
                tokens[i].is_any(words!["over", "under", "below", "above", "past", "inside", "within"])
            };
            // In front of the owner or of "my owner": "under me so that's seven" is none.
            let at = [3, 4].into_iter().filter_map(|n| start.checked_sub(n)).find(|&i| {
                over(i) && (i + 3 == start || tokens[i + 1].is_any(words!["my", "our", "his", "her", "the"]))
            })?;
            let pronoun = tokens[start - 2]
                .is_any(words!["that", "it", "there", "what", "he", "she", "ground", "which", "who"]);
            return (!pronoun).then_some(at..start);
        }
        if !one.is_any(words!["the", "my", "our", "his", "me", "their", "her"]) {
            return None;
        }
        let two = start.checked_sub(2).map(|i| &tokens[i]).filter(|_| tokens[start - 1].gap <= Gap::Line);
        let over = two.is_some_and(|t| {
            t.is_any(words![
                "over", "under", "below", "above", "inside", "within", "past", "outside", "beyond"
            ])
        });
        // "2.8 A over the 5 h": while they went by.
        let passed = |at: usize| self.talk.tokens[at].is_any(words!["well", "way", "far", "just"]);
        let lasts = quantity == "duration"
            && two.is_some_and(|t| t.is("over"))
            && !start.checked_sub(3).is_some_and(passed);
        if lasts {
            return None;
        }
        // "over the ground" is no limit; a number stands right behind here.
        (one.is("my") || over && !one.is("her")).then(|| start - if over { 2 } else { 1 }..start)
    }

    /// Whether a number of the rig has two ends that lie apart: "18-22 %", "between twenty-eight and thirty-four".
    fn is_a_band_of_the_rig(&self, number: &Range<usize>, quantity: &str) -> bool {
        if !matches!(quantity, "rig_tension" | "gauge_reading") {
            return false;
        }
        let tokens = &self.talk.tokens;
        let Some(first) = crate::number::atom_at(tokens, number.start) else { return false };
        let second = (first.end
            + usize::from(tokens.get(first.end).is_some_and(|t| t.is_any(words!["to", "and", "%"])))
            ..number.end)
            .find_map(|i| crate::number::atom_at(tokens, i));
        let changes = number.start > 0 && tokens[number.start - 1].is_any(words!["from", "went", "came"]);
        second.is_some_and(|s| s.value - first.value >= 2.0 && s.value <= 2.0 * first.value) && !changes
    }

    /// How many cues of a transcript begin between two tokens: talk without stops goes on to other things.
    fn cues_between(&self, a: usize, b: usize) -> usize {
        let (a, b) = (self.talk.tokens[a].utterance, self.talk.tokens[b].utterance);
        let cue = |n: usize| self.talk.utterances[n].kind == crate::found::UtteranceKind::Cue;
        if cue(a) && cue(b) { a.abs_diff(b) } else { 0 }
    }

    fn number_between(&self, from: usize, to: usize) -> bool {
        from < to && (from..to).any(|i| crate::number::atom_at(&self.talk.tokens, i).is_some())
    }

    /// Whether a number follows a cue at once, "max 88", "min is 2", "forecast had said fifteen", and so is what the cue
    /// speaks of.
    fn leads_on(&self, cue: &Cue) -> bool {
        const LINKS: usize = 2;
        let tokens = &self.talk.tokens;
        let is_link = |i: &usize| {
            tokens.get(*i).is_some_and(|t| {
                t.is_any(words![
                    "is", "'s", "was", "of", "at", "about", "said", "says", "gave", "gives", "given",
                    "promised", "had", "been",
                ])
            })
        };
        let from = cue.end + (cue.end..cue.end + LINKS).take_while(is_link).count();
        // "15 knots, forecast S 6".
        let parted = tokens[cue.start].gap >= Gap::Comma
            && tokens[cue.end - 1].is_any(words!["forecast", "forecasts", "fcst"]);
        let from =
            from + usize::from(parted && tokens.get(from).is_some_and(crate::reading::is_compass_point));
        let joined = tokens.get(from).is_some_and(|t| t.gap < Gap::Comma);
        joined && self.number_between(from, from + 1)
    }

    /// "22 L/min, was 39", "11 s (was 17)": what it was before, where no time of the same day is told.
    fn is_of_before(&self, number: &Range<usize>, quantity: &str) -> Option<Range<usize>> {
        let tokens = &self.talk.tokens;
        let was = number.start.checked_sub(1)?;
        let apart = tokens[was].is_any(words!["was", "were"])
            && matches!(tokens[was].gap, Gap::Comma | Gap::Clause)
            && tokens[number.start].gap <= Gap::Space;
        let measured = was > 0
            && (was.saturating_sub(4)..was)
                .rev()
                .take_while(|&i| tokens[i + 1].gap <= Gap::Space || i + 1 == was)
                .any(|i| crate::number::atom_at(tokens, i).is_some());
        let ends = tokens
            .get(number.end)
            .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["when", "before", "in", "last", "new"]));
        (apart && measured && ends && !is_weather(quantity)).then_some(was..number.start)
    }

    /// Whether a pressure is read off: its glass is named right in front, or its way is told behind.
    fn is_read(&self, number: &Range<usize>) -> bool {
        let tokens = &self.talk.tokens;
        let of_a_low = number.start > 1
            && tokens[number.start - 1].is("of")
            && tokens[number.start - 2].is_any(words!["low", "high", "ridge", "trough"]);
        if of_a_low {
            return false;
        }
        let front = (number.start.saturating_sub(4)..number.start)
            .rev()
            .take_while(|&i| tokens[i + 1].gap < Gap::Sentence)
            .any(|i| tokens[i].is_any(words!["glass", "barometer", "baro", "barograph", "barometric"]))
            || tokens[number.clone()].iter().any(|t| t.is_any(words!["glass", "barometer", "baro"]));
        let behind = tokens.get(number.end).is_some_and(|t| {
            t.gap <= Gap::Comma && t.is_any(words!["and", "going", "falling", "rising", "steady", "dropping"])
        }) && tokens[number.end..(number.end + 3).min(tokens.len())].iter().any(|t| {
            t.is_any(words!["going", "falling", "rising", "steady", "dropping", "climbing", "holding"])
        });
        front || behind
    }

    /// Whether words of a limit are "goes" or "go", said of a boat.
    fn goes(&self, words: &Range<usize>) -> bool {
        const REACH: usize = 3;
        let tokens = &self.talk.tokens;
        tokens[words.start].is_any(words!["goes", "go", "comes", "went"])
            && tokens[words.start.saturating_sub(REACH)..words.start]
                .iter()
                .any(|t| t.is_any(words!["she", "boat", "we", "it"]))
    }

    /// Whether a weekday that stands alone behind a number is one gone by: what was done is told in front, in its clause.
    fn is_told_as_past(&self, number: &Range<usize>, words: &Range<usize>) -> bool {
        let tokens = &self.talk.tokens;
        let day = words.start + usize::from(tokens[words.start].is("on"));
        tokens.get(day).is_some_and(|t| crate::when::weekday(&t.lower).is_some())
            && words.start >= number.end
            && !tokens[words.start - 1].is_any(words!["by", "for", "until", "till", "from", "and", "then"])
            && !tokens.get(words.end).is_some_and(|t| t.is_any(words!["they", "says", "according"]))
            && (self.is_past(number) || self.is_past_behind(words.end))
    }

    /// Whether what was done is told right behind words: "in 20 knots on Friday it steered three hours".
    fn is_past_behind(&self, at: usize) -> bool {
        let tokens = &self.talk.tokens;
        let next = |n: usize| tokens.get(at + n).filter(|t| t.gap <= Gap::Line);
        next(0).is_some_and(|t| t.is_any(words!["it", "she", "we", "i", "he", "the"]))
            && (1..=2).filter_map(next).any(is_past_tense)
    }

    /// Whether what was done is told in front of a number, in its clause.
    fn is_past(&self, number: &Range<usize>) -> bool {
        /// As far in front as it may be told, in tokens.
        const REACH: usize = 8;
        let tokens = &self.talk.tokens;
        let clause = &self.talk.clauses[self.talk.clause_of(number.start)].tokens;
        let front = clause.start.max(number.start.saturating_sub(REACH))..number.start.max(clause.start);
        tokens[front].iter().any(is_past_tense)
    }

    /// What the winning cue means for this quantity.
    fn weigh(&self, number: &Range<usize>, quantity: &str, stance: Stance, words: Range<usize>) -> Verdict {
        let default = self.default(number, quantity);
        let tokens = &self.talk.tokens;
        let boat = tokens[number.start.saturating_sub(6)..(number.end + 4).min(tokens.len())]
            .iter()
            .any(|t| t.is_any(words!["boat", "yacht", "vessel", "ship"]));
        let says = tokens[words.clone()].iter().any(|t| {
            t.is_any(words!["book", "box", "label", "sticker", "plate", "manual", "maker", "makers", "tag"])
        });
        let wants = tokens[words.clone()]
            .iter()
            .any(|t| t.is_any(words!["want", "wants", "wanted", "need", "needs"]));
        let stance = match stance {
            Stance::Observed if default == Stance::Spec => default,
            // "The batteries? They were at eleven nine": no other people's story.
            Stance::Recalled
                if tokens[words.start].is("they") && words.len() == 2 && is_a_machine_s(quantity) =>
            {
                default
            }
            // What is wanted of a pump, a rig or an engine is its least; of a boat's speed it is a wish.
            Stance::Planned if wants && is_a_machine_s(quantity) => Stance::Limit,
            Stance::Limit
                if quantity == "distance"
                    && !tokens[words.clone()].iter().any(|t| t.is_any(words!["nearer", "closer"])) =>
            {
                default
            }
            // "thirty-five across the deck at least, and I'm snug".
            Stance::Limit
                if is_weather(quantity) && words.start >= number.end && at_least(&tokens[words.clone()]) =>
            {
                default
            }
            Stance::Hypothetical if self.triggers(number, quantity, &words) => Stance::Limit,
            Stance::Limit | Stance::Planned if default == Stance::Recalled => default,
            Stance::Planned if matches!(quantity, "mass" | "area") => default,
            // "the water there will be six degrees": nobody plans a sea.
            Stance::Planned if quantity == "sea_temperature" => Stance::Hypothetical,
            // "She goes to windward at five point one": how a boat sails.
            Stance::Limit if is_of_sailing(quantity) && self.goes(&words) => default,
            // "sheeted in hard in twenty knots Saturday and it never moved": a day that has been.
            Stance::Forecast if words.len() <= 2 && self.is_told_as_past(number, &words) => default,
            // "Got 24 kn max here": the most that was met.
            Stance::Limit
                if is_weather(quantity)
                    && words.start >= number.end
                    && words.len() == 1
                    && tokens[words.start].is_any(words!["max", "maximum", "tops"])
                    && self.is_past(number) =>
            {
                default
            }
            // "forecast west 7, glass 1001 and going down": a barometer that is read stands for itself.
            Stance::Forecast if quantity == "pressure" && self.is_read(number) => default,
            // A boat draws metres for good, and amperes now.
            Stance::Spec
                if quantity != "length"
                    && tokens[words.end - 1].is_any(words!["draw", "draws", "draft", "draught"]) =>
            {
                default
            }
            // "Drawing 0.9 A on low": what is drawn is read off, whatever the heater is set to.
            Stance::Spec if quantity == "current" && tokens[words.end - 1].is_any(words!["low", "high"]) => {
                default
            }
            Stance::Limit if quantity == "mass" && boat => Stance::Spec,
            Stance::Limit
                if says
                    && matches!(quantity, "fuel_rate" | "pump_rate")
                    && !tokens[words.clone()]
                        .iter()
                        .any(|t| t.is_any(words!["never", "over", "under", "not"])) =>
            {
                Stance::Spec
            }
            other => other,
        };
        Verdict { stance, words: Some(words) }
    }
}

/// Whether a stretch tells of another boat by her people or her owner.
pub(crate) fn names_another_boat(tokens: &[crate::token::Token<'_>]) -> bool {
    (0..tokens.len()).any(|at| aboard::of_another_boat(tokens, at).is_some())
}

/// Whether a stretch begins with what was in a year before the note's own: "In 1994 we had a boy in the water".
pub(crate) fn tells_of_other_years(talk: &Talk<'_>, within: Range<usize>) -> bool {
    within.take(3).any(|at| {
        is_a_past_year(talk, at)
            && at > 0
            && talk.tokens[at - 1].is_any(words!["in", "summer", "spring", "autumn", "winter"])
    })
}

/// "In 2011 we had", "2023, same wheel:", "the Horn in '98": a year before the note's own, told as a time.
fn is_a_past_year(talk: &Talk<'_>, at: usize) -> bool {
    let token = &talk.tokens[at];
    let short = token.kind == crate::token::Kind::Number
        && token.lower.len() == 2
        && talk.text[..token.span.start].ends_with(['\'', '’', '‘'])
        && at > 0
        && talk.tokens[at - 1].is_any(words!["in", "of", "since", "the", "summer", "winter"]);
    if short {
        return true;
    }
    if token.kind != crate::token::Kind::Number || token.lower.len() != 4 {
        return false;
    }
    let Ok(year) = token.lower.parse::<i32>() else { return false };
    if !(1950..2100).contains(&year) {
        return false;
    }
    let before = at.checked_sub(1).map(|i| &talk.tokens[i]);
    let led = token.gap >= Gap::Sentence
        || before.is_some_and(|t| {
            t.is_any(words!["in", "summer", "spring", "autumn", "winter", "fall", "season", "of", "since"])
                || crate::date::month(&t.lower).is_some()
        });
    let told = talk.tokens.get(at + 1).is_none_or(|t| {
        t.gap >= Gap::Comma
            || t.kind == crate::token::Kind::Word && !crate::quantity::unit_word(&talk.tokens, at + 1)
    });
    led && told && talk.at(at).is_some_and(|own| year < chrono::Datelike::year(&own.at))
}

/// "at least", "at the most": behind what was seen they bound it.
fn at_least(words: &[crate::token::Token<'_>]) -> bool {
    words.len() <= 3 && words[0].is("at") && words.iter().any(|t| t.is_any(words!["least", "most"]))
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

/// Quantities that tell how a boat goes.
fn is_of_sailing(quantity: &str) -> bool {
    matches!(
        quantity,
        "boat_speed" | "speed_over_ground" | "apparent_wind_angle" | "true_wind_angle" | "heading" | "heel"
    )
}

/// Quantities of sailing, of which a least behind them is no limit: what was seen, or is meant.
fn is_sailed(quantity: &str) -> bool {
    is_weather(quantity)
        || matches!(
            quantity,
            "boat_speed"
                | "speed_over_ground"
                | "heel"
                | "rudder_angle"
                | "duration"
                | "distance"
                | "engine_speed"
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

/// Whether a word tells what was done.
fn is_past_tense(token: &crate::token::Token<'_>) -> bool {
    token.is_any(words![
        "was", "were", "had", "did", "went", "came", "made", "saw", "blew", "ran", "held", "took", "got",
        "stood", "hove", "lay", "rode",
    ]) || token.lower.len() > 4
        && token.lower.ends_with("ed")
        && !token.is_any(words!["expected", "promised", "forecasted", "need"])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_reads() {
        let lexicon = Lexicon::new(include_str!("../../lexicon/stance.toml")).expect("stance.toml reads");
        for stance in Stance::ALL {
            assert!(lexicon.entries.iter().any(|e| e.stance == *stance && !e.words.is_empty()), "{stance}");
        }
    }
}
