//! What stands around an amount: cues with their weight, compass points, clauses.

use crate::quantity::{Cue, Side, Strength, Target, cues};
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};

use super::amount::Amount;
use super::habits::Habits;
use super::wind::Compass;

/// A note laid out for looking around in it at no cost.
pub struct Context<'t, 'a> {
    /// The note.
    pub talk: &'t Talk<'a>,
    /// Its amounts.
    pub amounts: Vec<Amount>,
    /// Its compass points that are said of the wind, with the amount that belongs to each.
    pub winds: Vec<(Compass, Option<usize>)>,
    /// For each amount, whether a compass point belongs to it.
    pub with_compass: Vec<bool>,
    /// Its habits.
    pub habits: Habits,
    cues: Vec<Cue>,
    /// Sum of the weights of the tokens in front of each.
    weight: Vec<f32>,
    /// Sum of what the boundaries up to and including each token cost.
    boundary: Vec<f32>,
    /// Number of amounts that begin in front of each token.
    count: Vec<u16>,
}

/// What a target scored at an amount, and the cue that scored it.
#[derive(Clone, Copy, Debug)]
pub struct Score {
    /// What the cue speaks for.
    pub target: Target,
    /// The higher the better; nothing below zero is kept.
    pub score: f32,
    /// Whether a name scored it, not a hint.
    pub named: bool,
    /// Tokens of the cue.
    pub cue: (usize, usize),
}

const NAME: f32 = 10.0;
const HINT: f32 = 5.0;
/// A cue is looked for at most so many tokens in front of its number, and behind it.
const REACH_BACK: usize = 32;
const REACH_AHEAD: usize = 9;

/// Words that part a cue from its number less than others.
pub fn is_light(token: &Token<'_>) -> bool {
    token.kind == Kind::Symbol || LIGHT.contains(&token.lower.as_ref())
}

const LIGHT: &[&str] = &[
    "a", "about", "all", "almost", "an", "and", "around", "as", "at", "be", "been", "by", "down", "for",
    "from", "got", "had", "has", "have", "i", "in", "is", "it", "just", "like", "maybe", "me", "my",
    "nearly", "now", "of", "on", "only", "or", "our", "out", "over", "said", "say", "says", "reading",
    "reads", "read", "showing", "shows", "so", "some", "still", "that", "the", "then", "there", "this", "to",
    "under", "up", "us", "was", "we", "well", "were", "what", "with", "'s", "'d", "'re", "'m", "'ve", "'ll",
    "oh", "um", "uh", "er", "roughly", "between", "back", "again", "she", "her", "its", "ran", "came",
    "went", "gets", "get", "sits", "sat", "stayed", "steady", "mostly", "quite", "really", "good", "two",
    "these", "never", "not", "no",
];

impl<'t, 'a> Context<'t, 'a> {
    /// Lays a note out.
    pub fn new(
        talk: &'t Talk<'a>,
        amounts: Vec<Amount>,
        winds: Vec<(Compass, Option<usize>)>,
        habits: Habits,
    ) -> Self {
        let tokens = &talk.tokens;
        let mut weight = Vec::with_capacity(tokens.len() + 1);
        let mut boundary = Vec::with_capacity(tokens.len() + 1);
        let mut count = Vec::with_capacity(tokens.len() + 1);
        let mut clause = 0;
        let (mut w, mut b, mut c, mut next) = (0.0, 0.0, 0u16, 0);
        for (i, token) in tokens.iter().enumerate() {
            while next < amounts.len() && amounts[next].tokens.start < i {
                c = c.saturating_add(1);
                next += 1;
            }
            if talk.clauses[clause].tokens.end <= i {
                clause += 1;
                let turned = talk.clauses[clause].sentence != talk.clauses[clause - 1].sentence;
                b += match token.gap {
                    Gap::Block => 40.0,
                    Gap::Sentence => 6.0,
                    _ if turned => 4.0,
                    Gap::Clause => 2.5,
                    Gap::Comma => 1.5,
                    _ => 0.8,
                };
            }
            weight.push(w);
            boundary.push(b);
            count.push(c);
            w += if is_light(token) { 0.3 } else { 1.0 };
        }
        weight.push(w);
        boundary.push(b);
        count.push(amounts.len().min(u16::MAX as usize) as u16);
        let mut with_compass = vec![false; amounts.len()];
        for (_, amount) in &winds {
            if let Some(i) = amount {
                with_compass[*i] = true;
            }
        }
        Self { talk, amounts, winds, with_compass, habits, cues: cues(tokens), weight, boundary, count }
    }

    /// The tokens.
    pub fn tokens(&self) -> &'t [Token<'a>] {
        &self.talk.tokens
    }

    /// What the words around an amount speak for, best first.
    pub fn scores(&self, amount: &Amount) -> Vec<Score> {
        let (start, end) = (amount.tokens.start, amount.run.tokens().end);
        let far_end = amount.tokens.end;
        let mut out: Vec<Score> = Vec::new();
        let mut keep = |target: Target, score: f32, named: bool, cue: (usize, usize)| {
            if score <= 0.0 {
                return;
            }
            match out.iter_mut().find(|s| s.target == target) {
                Some(have) if have.score >= score => have.score += 0.3,
                Some(have) => *have = Score { target, score: score + 0.3, named: named || have.named, cue },
                None => out.push(Score { target, score, named, cue }),
            }
        };
        let first = self.cues.partition_point(|c| c.start + REACH_BACK < start);
        for cue in self.cues[first..].iter().take_while(|c| c.start <= far_end + REACH_AHEAD) {
            let base = match cue.strength {
                Strength::Name => NAME,
                Strength::Hint => HINT,
            } + 0.5 * (cue.end - cue.start - 1) as f32;
            let named = cue.strength == Strength::Name;
            if cue.end <= start && cue.side != Side::After {
                let words = self.weight[start] - self.weight[cue.end];
                let walls = self.boundary[start] - self.boundary[cue.end.saturating_sub(1)];
                let numbers = f32::from(self.count[start] - self.count[cue.end]);
                keep(cue.target, base + 0.5 - words - walls - 4.0 * numbers, named, (cue.start, cue.end));
            } else if cue.start >= end && cue.side != Side::Before {
                let from = cue.start.max(far_end);
                let words = self.weight[from] - self.weight[far_end.min(from)];
                let walls =
                    self.boundary[cue.start] - self.boundary[far_end - 1].min(self.boundary[cue.start]);
                let numbers =
                    f32::from(self.count[from].saturating_sub(self.count[far_end.min(self.count.len() - 1)]));
                // What names the next number in front of it is worth less to this one.
                keep(
                    cue.target,
                    base - 1.3 * words - 2.2 * walls - 5.0 * numbers,
                    named,
                    (cue.start, cue.end),
                );
            }
        }
        out.sort_by(|a, b| b.score.total_cmp(&a.score));
        out
    }

    /// Whether the word behind a bare number lets it stand alone: "heel nineteen, speed", not "nineteen gannets".
    pub fn stands_alone(&self, amount: &Amount) -> bool {
        let Some(next) = self.tokens().get(amount.tokens.end) else { return true };
        if next.gap >= Gap::Comma || next.kind == Kind::Symbol || next.kind == Kind::Number {
            return true;
        }
        if is_light(next) || ALONE.contains(&next.lower.as_ref()) {
            return true;
        }
        // Words that belong to a quantity behind its number: "62 up here", "twenty five of chain", "forty five apparent".
        self.cues
            .iter()
            .skip(self.cues.partition_point(|c| c.start < amount.tokens.end))
            .take_while(|c| c.start == amount.tokens.end)
            .any(|c| c.side != Side::Before)
    }
}

/// Words that may follow a number that counts nothing.
const ALONE: &[&str] = &[
    "after",
    "ago",
    "ahead",
    "already",
    "always",
    "anyway",
    "apparent",
    "away",
    "because",
    "before",
    "below",
    "but",
    "cold",
    "cos",
    "during",
    "each",
    "easing",
    "either",
    "even",
    "ever",
    "except",
    "flat",
    "going",
    "he",
    "here",
    "hot",
    "if",
    "increasing",
    "inside",
    "into",
    "late",
    "later",
    "leaving",
    "less",
    "max",
    "maximum",
    "min",
    "minimum",
    "more",
    "off",
    "ok",
    "okay",
    "once",
    "outside",
    "plus",
    "port",
    "resting",
    "right",
    "rising",
    "falling",
    "starboard",
    "stbd",
    "since",
    "sometimes",
    "than",
    "they",
    "though",
    "today",
    "tonight",
    "tomorrow",
    "too",
    "true",
    "until",
    "till",
    "which",
    "while",
    "when",
    "where",
    "who",
    "without",
    "yesterday",
    "you",
    "your",
    "dropping",
    "coming",
    "gusting",
    "gusts",
    "occasionally",
    "oilskins",
    "degrees",
    "aft",
    "fwd",
    "forward",
    "against",
    "is",
    "are",
    "at",
    "along",
    "across",
    "through",
    "did",
    "does",
    "do",
    "could",
    "would",
    "will",
    "can",
    "friday",
    "saturday",
    "sunday",
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "every",
    "finished",
    "started",
    "he's",
    "instead",
    "ish",
    "odd",
    "let",
    "look",
    "make",
    "made",
    "north",
    "south",
    "east",
    "west",
    "or",
    "by",
    "running",
    "sorry",
    "wait",
    "call",
    "actually",
    "rather",
    "best",
    "peak",
    "veering",
    "backing",
    "between",
    "if",
    "cabin",
    "wind",
    "sea",
    "heel",
    "maybe",
    "anything",
    "doing",
    "dead",
    "please",
    "thank",
    "thanks",
    "yes",
    "yeah",
    "this",
    "his",
    "their",
    "nothing",
    "as",
    "so",
    "tops",
    "around",
    "apparent",
    "sog",
    "cog",
    "awa",
    "aws",
    "twa",
    "tws",
    "baro",
];
