//! What stands around an amount: cues with their weight, compass points, clauses.

use std::cell::OnceCell;
use std::ops::Range;

use crate::found::{Stance, UtteranceKind};
use crate::lexicon::Words;
use crate::number::Form;
use crate::quantity::{Cue, Side, Strength, Target, cues};
use crate::stance::of_column;
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

use super::amount::Amount;
use super::grid::Grid;
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
    /// For each amount, the tokens of the compass point that belongs to it.
    pub compass_of: Vec<Option<Range<usize>>>,
    /// Middle of the note's bare rig tensions, worked out once.
    pub rig_middle: OnceCell<f64>,
    /// Its habits.
    pub habits: Habits,
    cues: Vec<Cue>,
    /// Those of the cues that speak for the figures around them.
    speaking: Vec<Cue>,
    /// For each amount, what the words around it speak for, once that was asked.
    scores: Vec<OnceCell<Vec<Score>>>,
    /// For each utterance, the tokens of the heading that it stands under.
    headings: &'t [Option<Range<usize>>],
    grid: Grid,
    /// Sum of the weights of the tokens in front of each.
    weight: Vec<f32>,
    /// Sum of what the boundaries up to and including each token cost.
    boundary: Vec<f32>,
    /// Number of amounts that begin in front of each token.
    count: Vec<u32>,
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
    /// Whether the cue stands in front of the number.
    pub before: bool,
}

const NAME: f32 = 10.0;
const HINT: f32 = 5.0;
/// A cue is looked for at most so many tokens in front of its number, and behind it.
const REACH_BACK: usize = 32;
const REACH_AHEAD: usize = 9;

/// Whether a token parts a cue from its number less than others do.
pub fn is_light(token: &Token<'_>) -> bool {
    token.kind == Kind::Symbol || LIGHT.has(token)
}

/// Words that part a cue from its number less than others.
static LIGHT: Words = Words::new(
    "\
     'd 'll 'm 're 's 've a about again all almost an and around as at back be been between by came down er for from \
     get gets good got had has have her i in is it its just like maybe me mostly my nearly never no not now of oh on \
     only or our out over quite ran read reading reads really roughly said sat say says she showing shows sits so \
     some stayed steady still that the then there these this to two uh um under up us was we well went were what with",
);

/// Words that may follow a number that counts nothing.
static ALONE: Words = Words::new(
    "\
     across actually aft after against ago along already always anything anyway apparent are awa away aws \
     backing baro because before below best but call can cog cold coming cos could dead degrees did do does doing \
     dropping during each easing east either even ever every except falling finished flat forward friday fwd going \
     gusting gusts he he's heel here his hot if increasing inside instead into ish late later leaving less let look \
     made make max maximum min minimum monday more north nothing occasionally odd off oilskins ok okay once outside \
     peak please plus port rather resting right rising running saturday since sog sometimes sorry south starboard \
     started stbd sunday than thank thanks their they though through thursday till today tomorrow tonight too tops \
     true tuesday twa tws until veering wait wednesday west when where which while who will without would yeah yes \
     yesterday you your ahead all apiece astern aye both fore last low lull lulls overnight same since steadily \
     straight top uphill upwind downwind under",
);

/// The lexicon's cues of a note.
fn named(tokens: &[Token<'_>]) -> Vec<Cue> {
    let mut cues = cues(tokens);
    cues.retain(|cue| !compares(tokens, cue.start) && !is_no_plummet(tokens, cue.start));
    cues
}

/// "off the shore lead", "the sheet lead wants to go back", "moved the lead aft": what leads a current or a sheet.
fn is_no_plummet(tokens: &[Token<'_>], at: usize) -> bool {
    const OF: &WordList = words![
        "shore",
        "sheet",
        "jib",
        "genoa",
        "staysail",
        "power",
        "test",
        "mains",
        "charging",
        "charger",
        "battery",
        "halyard",
        "reefing",
        "extension",
        "acid",
        "fair",
    ];
    const MOVES: &WordList =
        words!["back", "forward", "aft", "inboard", "outboard", "wants", "car", "cars", "track"];
    let near = |i: usize| tokens.get(i).filter(|t| t.gap <= Gap::Line);
    tokens[at].is_any(words!["lead", "leads"])
        && (at > 0 && tokens[at].gap <= Gap::Line && tokens[at - 1].is_any(OF)
            || near(at + 1).is_some_and(|t| t.is_any(MOVES)))
}

/// "no lower than fifty", "my lower bound": a word that names a shroud, and compares or bounds here.
fn compares(tokens: &[Token<'_>], at: usize) -> bool {
    let beside =
        |i: Option<usize>, words: &WordList| i.and_then(|i| tokens.get(i)).is_some_and(|t| t.is_any(words));
    tokens[at].is_any(words!["lower", "upper"])
        && (beside(Some(at + 1), words!["than", "bound", "border", "limit", "end", "edge"])
            || beside(
                at.checked_sub(1),
                words!["no", "not", "never", "any", "much", "bit", "little", "even", "far"],
            ))
}

/// The lexicon's cues but for those that taught words stand in the place of, and these, in order.
fn with_taught(mut cues: Vec<Cue>, taught: &[Cue]) -> Vec<Cue> {
    if taught.is_empty() {
        return cues;
    }
    cues.retain(|cue| taught.iter().all(|own| cue.end <= own.start || own.end <= cue.start));
    cues.extend_from_slice(taught);
    cues.sort_by_key(|cue| cue.start);
    cues
}

impl<'t, 'a> Context<'t, 'a> {
    /// Lays a note out.
    pub fn new(
        talk: &'t Talk<'a>,
        amounts: Vec<Amount>,
        winds: Vec<(Compass, Option<usize>)>,
        habits: Habits,
        grid: Grid,
    ) -> Self {
        let tokens = &talk.tokens;
        let headings = talk.headings();
        let mut weight = Vec::with_capacity(tokens.len() + 1);
        let mut boundary = Vec::with_capacity(tokens.len() + 1);
        let mut count = Vec::with_capacity(tokens.len() + 1);
        let mut clause = 0;
        let (mut w, mut b, mut c, mut next) = (0.0, 0.0, 0u32, 0);
        for (i, token) in tokens.iter().enumerate() {
            while next < amounts.len() && amounts[next].tokens.start < i {
                c += 1;
                next += 1;
            }
            if talk.clauses[clause].tokens.end <= i {
                clause += 1;
                let row = i > 0
                    && tokens[i - 1].utterance == token.utterance
                    && talk.utterances[token.utterance].kind == UtteranceKind::TableRow;
                let turned = talk.clauses[clause].sentence != talk.clauses[clause - 1].sentence;
                b += match token.gap {
                    Gap::Block => 40.0,
                    // The cells of a row are about what its first one names.
                    Gap::Sentence if row => 2.0,
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
            // The words of another number count once, as a number.
            let counted = next > 0 && amounts[next - 1].tokens.contains(&i);
            w += if counted {
                0.1
            } else if is_light(token) {
                0.3
            } else {
                1.0
            };
        }
        weight.push(w);
        boundary.push(b);
        count.push(amounts.len() as u32);
        let mut with_compass = vec![false; amounts.len()];
        let mut compass_of = vec![None; amounts.len()];
        for (point, amount) in &winds {
            if let Some(i) = amount {
                compass_of[*i] = Some(point.tokens.clone());
                with_compass[*i] = true;
            }
        }
        let cues = with_taught(named(tokens), &talk.taught_quantities);
        Self {
            talk,
            scores: vec![OnceCell::new(); amounts.len()],
            amounts,
            winds,
            with_compass,
            compass_of,
            rig_middle: OnceCell::new(),
            habits,
            speaking: cues.iter().filter(|cue| !is_of_another_matter(tokens, cue)).copied().collect(),
            cues,
            headings,
            grid,
            weight,
            boundary,
            count,
        }
    }

    /// The tokens.
    pub fn tokens(&self) -> &'t [Token<'a>] {
        &self.talk.tokens
    }

    /// What the words around an amount speak for, best first.
    pub fn scores(&self, amount: usize) -> &[Score] {
        self.scores[amount].get_or_init(|| self.scored(&self.amounts[amount]))
    }

    fn scored(&self, amount: &Amount) -> Vec<Score> {
        let (start, end) = (amount.tokens.start, amount.run.tokens().end.min(amount.tokens.end));
        let far_end = amount.tokens.end;
        let mut out: Vec<Score> = Vec::new();
        let first = self.speaking.partition_point(|c| c.start + REACH_BACK < start);
        for cue in self.speaking[first..].iter().take_while(|c| c.start <= far_end + REACH_AHEAD) {
            let base = match cue.strength {
                Strength::Name | Strength::Close => NAME,
                Strength::Hint => HINT,
            } + 0.5 * (cue.end - cue.start - 1) as f32;
            let before = cue.end <= start;
            let score = if before && cue.side != Side::After {
                let words = self.weight[start] - self.weight[cue.end];
                let walls = self.boundary[start] - self.boundary[cue.end - 1];
                let numbers = (self.count[start] - self.count[cue.end]) as f32;
                // "Sea: 9 °C": a line's label stands close to its number, whatever parts them.
                let label = cue.end == start && self.tokens()[cue.start].gap == Gap::Block;
                let far = words > 1.3 || numbers > 0.0 || walls > 1.6;
                if cue.strength == Strength::Close && far && !label {
                    continue;
                }
                let claimed = if self.claimed(cue) { 4.0 } else { 0.0 };
                // "AWS 12, 5.4 kt": a name that has its number keeps to it.
                let spent = if numbers > 0.0 && walls >= 1.5 { 3.0 } else { 0.0 };
                // A name's sentence may end before its number: "The depth. Seven metres."
                base + 0.5 - words - 0.5 * walls - 4.0 * numbers - claimed - spent
            } else if cue.start >= end && cue.side != Side::Before {
                // "… eighteen, cabin's ten": a name that begins a statement of its own is none of this number's.
                let tokens = self.tokens();
                let phrase = tokens[cue.start].is_any(words![
                    "in", "on", "of", "by", "at", "over", "through", "across", "off", "up", "down", "under",
                    "and",
                ]);
                // "nine knots apparent at seventy degrees": right behind its unit it is said of this number.
                let flavour = matches!(cue.target, Target::Apparent | Target::True)
                    && cue.start == far_end
                    && tokens[cue.start].gap <= Gap::Line;
                // "… eighty-four, water's coming out": a name with its verb begins a statement.
                let verb = cue.end - cue.start > 1
                    && tokens[cue.end - 1].is_any(words!["'s", "is", "was", "were", "are", "has", "had"]);
                if verb && !flavour {
                    continue;
                }
                if !phrase && !flavour && cue.start >= far_end && self.begins_its_own(cue) {
                    continue;
                }
                // "eleven in a puff of twenty-six": the puff has a number of its own.
                let of_next = phrase
                    && matches!(cue.target, Target::Quantity(_))
                    && tokens.get(cue.end).is_some_and(|t| t.gap <= Gap::Line && t.is("of"))
                    && self
                        .amounts
                        .get(self.amounts.partition_point(|a| a.tokens.start <= cue.end))
                        .is_some_and(|a| a.tokens.start <= cue.end + 3);
                if of_next {
                    continue;
                }
                // "two out of three" has nothing to do with the weather outside.
                if tokens[cue.start].is("out") && tokens.get(cue.end).is_some_and(|t| t.is("of")) {
                    continue;
                }
                let from = cue.start.max(far_end);
                let words = self.weight[from] - self.weight[far_end];
                let walls = (self.boundary[cue.start] - self.boundary[far_end - 1]).max(0.0);
                let numbers = (self.count[from] - self.count[far_end]) as f32;
                let apart = (from - far_end) as f32;
                base - 1.3 * words - 0.4 * apart - 4.0 * walls - 8.0 * numbers
            } else {
                continue;
            };
            if score <= 0.0 {
                continue;
            }
            let named = cue.strength != Strength::Hint;
            let cue_tokens = (cue.start, cue.end);
            match out.iter_mut().find(|s| s.target == cue.target) {
                Some(have) if have.score >= score => {
                    have.score += 0.3;
                    have.named |= named && score > 6.0;
                }
                Some(have) => {
                    let named = named || have.named && have.score > 6.0;
                    *have = Score { target: cue.target, score: score + 0.3, named, cue: cue_tokens, before };
                }
                None => out.push(Score { target: cue.target, score, named, cue: cue_tokens, before }),
            }
        }
        self.add_heads(start, &mut out);
        out.sort_by(|a, b| b.score.total_cmp(&a.score));
        out
    }

    /// The names in the heading over a list ("## Damp", "## Fuel"), which only decide between what the unit allows, and
    /// those in the head of a table's column and in the first cell of its row, which name what stands under and beside them.
    fn add_heads(&self, at: usize, out: &mut Vec<Score>) {
        let heading = self.headings[self.tokens()[at].utterance].clone().map(|range| (range, 3.2, false));
        let column = self.grid.head(self.talk, at).map(|range| (range, 9.5, true));
        let row = self.grid.label(self.talk, at).map(|range| (range, 8.5, true));
        for (head, score, named) in [column, row, heading].into_iter().flatten() {
            let first = self.cues.partition_point(|c| c.start < head.start);
            for cue in self.cues[first..].iter().take_while(|c| c.end <= head.end) {
                let better = out.iter_mut().find(|s| s.target == cue.target);
                // A hint in a head ("Gauge") names nothing.
                let (score, named) =
                    if named && cue.strength == Strength::Hint { (3.2, false) } else { (score, named) };
                let found =
                    Score { target: cue.target, score, named, cue: (cue.start, cue.end), before: true };
                match better {
                    Some(have) if have.score < score => *have = found,
                    Some(_) => {}
                    None if cue.side != Side::After => out.push(found),
                    None => {}
                }
            }
        }
    }

    /// Whether words in front of a table speak for a number in it: those of the heading over it do, those of the sentence
    /// before it are about something else.
    pub fn speaks_from_outside(&self, at: usize, words: &Range<usize>) -> bool {
        let of = |token: usize| self.talk.tokens[token].utterance;
        let heading = self.headings[of(at)].clone().is_some_and(|heading| heading.contains(&words.start));
        self.grid
            .head(self.talk, at)
            .is_some_and(|head| words.start < head.start && !heading && of(words.start) < of(head.start))
    }

    /// What the head of a table's column says of the numbers under it ("Wants", "Limit", "Rated", "Last year"), else the
    /// one word at the head of their row.
    pub fn column_stance(&self, at: usize) -> Option<(Stance, Range<usize>)> {
        let head = self.grid.head(self.talk, at)?;
        if let Some(stance) = of_column(self.talk, head.clone()) {
            return Some((stance, head));
        }
        let tokens = self.tokens();
        let row = tokens[at].utterance;
        let first = self.talk.tokens_of(row).start;
        let alone = first != at && self.talk.column(first) == 0 && self.talk.column(first + 1) > 0;
        let stance = alone.then(|| of_column(self.talk, first..first + 1)).flatten()?;
        Some((stance, first..first + 1))
    }

    /// The nearest name of a quantity in front of a token, with the number of tokens between.
    pub fn topic(&self, at: usize, reach: usize, is: impl Fn(Target) -> bool) -> Option<(Target, usize)> {
        let last = self.cues.partition_point(|c| c.start < at);
        self.cues[..last]
            .iter()
            .rev()
            .take_while(|c| c.start + reach >= at)
            .find(|c| c.strength == Strength::Name && c.side != Side::After && c.end <= at && is(c.target))
            .map(|c| (c.target, at - c.end))
    }

    /// Whether a cue was said behind another number and belongs there: "seventeen in the cabin and eight …".
    fn claimed(&self, cue: &Cue) -> bool {
        let tokens = self.tokens();
        let last = self.amounts.partition_point(|a| a.tokens.end <= cue.start);
        let Some(amount) = last.checked_sub(1).map(|i| &self.amounts[i]) else { return false };
        let between = &tokens[amount.tokens.end..cue.start];
        let joined = tokens[amount.tokens.end..=cue.start].iter().all(|t| t.gap <= Gap::Line);
        let prepositions = words!["in", "on", "of", "by", "at", "down", "up", "from", "for"];
        joined
            && !between.first().is_some_and(|t| t.is_any(words!["and", "but"]))
            && between.len() <= 3
            && between.iter().all(is_light)
            && (between.iter().any(|t| t.is_any(prepositions))
                || (tokens[cue.start].is_any(prepositions) && between.len() <= 1))
    }

    /// Whether a name behind a number is the subject of the next statement: "heel's", "cabin is", "gusts to 30".
    fn begins_its_own(&self, cue: &Cue) -> bool {
        let tokens = self.tokens();
        let Some(next) = tokens.get(cue.end).filter(|t| t.gap <= Gap::Line) else { return false };
        if next.is_any(words![
            "'s", "is", "was", "says", "said", "reads", "at", "about", "=", "were", "are", "'re", "got",
            "went", "up",
        ]) {
            return true;
        }
        let skip = usize::from(next.is_any(words!["to", "of", "a", "down", "from"]));
        self.amounts
            .get(self.amounts.partition_point(|a| a.tokens.start < cue.end))
            .is_some_and(|a| a.tokens.start <= cue.end + skip)
    }

    /// Whether the word behind a bare number lets it stand alone: "heel nineteen, speed", not "nineteen gannets".
    /// `surely` where its name stands right in front, so that only a thing that can be counted speaks against it.
    pub fn stands_alone(&self, amount: &Amount, surely: bool) -> bool {
        let Some(next) = self.tokens().get(amount.tokens.end) else { return true };
        // Nobody counts in decimals.
        if amount.run.atoms.iter().any(|a| matches!(a.form, Form::Decimal(_))) {
            return true;
        }
        if next.gap >= Gap::Comma || next.kind != Kind::Word || is_light(next) || ALONE.has(next) {
            return true;
        }
        if surely && !(next.lower.len() > 3 && next.lower.ends_with('s') && !next.lower.ends_with("ss")) {
            return true;
        }
        // Words that belong to a quantity behind its number: "62 up here", "twenty five of chain", "forty five apparent".
        self.cues
            .iter()
            .skip(self.cues.partition_point(|c| c.start < amount.tokens.end))
            .take_while(|c| c.start == amount.tokens.end)
            .any(|c| c.side == Side::After || (c.strength == Strength::Name && self.begins_its_own(c)))
    }
}

/// Whether the words of a cue mean something else where they stand, so that they speak for no figure.
fn is_of_another_matter(tokens: &[Token<'_>], cue: &Cue) -> bool {
    let word = &tokens[cue.start];
    let before = |n: usize| cue.start.checked_sub(n).map(|i| &tokens[i]);
    let led = |n: usize, words: &WordList| before(n).is_some_and(|t| t.is_any(words));
    // The hours of "amp hours" and of "two hours at 2000" are no engine's.
    let hours = word.is_any(words!["hours", "hrs"])
        && word.gap <= Gap::Line
        && (led(1, words!["amp", "amps", "watt", "ampere", "ah", "kilowatt"])
            || before(1).is_some_and(|t| t.kind == Kind::Number || crate::number::is_number_word(t)));
    // "surfed down a wave at seven": how fast, and not how high.
    let surfed = word.is_any(words!["wave", "face", "swell", "sea"])
        && led(1, words!["a", "the", "one", "every", "each", "that"])
        && led(2, words!["down"]);
    // "the app says" is a programme on a telephone, and no apparent wind.
    let programme = matches!(cue.target, Target::Apparent)
        && word.is("app")
        && led(1, words!["the", "an", "my", "his", "phone", "weather", "forecast"]);
    // "Standing wave 1.3" is of an aerial, "on the outside of the wrap" of what is wrapped; "85 at the outside" is at most.
    let standing = word.is_any(words!["wave", "waves"]) && led(1, words!["standing"]);
    let side = word.is("outside")
        && (tokens.get(cue.end).is_some_and(|t| t.is("of") && t.gap <= Gap::Line)
            || led(1, words!["the"]) && led(2, words!["at"]));
    // "At two knots in no wind".
    let none = word.is_any(words!["wind", "breeze"]) && led(1, words!["no"]) && led(2, words!["in", "with"]);
    none || hours || surfed || programme || standing || side || names_a_part(tokens, cue)
}

/// Whether a name is only the first half of a thing's: "fuel filter", "water pump", "sea anchor".
fn names_a_part(tokens: &[Token<'_>], cue: &Cue) -> bool {
    let next = tokens.get(cue.end).filter(|t| t.gap <= Gap::Space);
    if tokens[cue.end - 1].is("sea") && next.is_some_and(|t| t.is_any(words!["anchor", "anchors"])) {
        return true;
    }
    tokens[cue.end - 1].is_any(words!["fuel", "diesel", "water", "oil", "battery", "engine"])
        && tokens.get(cue.end).is_some_and(|t| {
            t.gap <= Gap::Space
                && t.is_any(words![
                    "filter",
                    "filters",
                    "pump",
                    "pumps",
                    "line",
                    "lines",
                    "hose",
                    "hoses",
                    "change",
                    "changes",
                    "dock",
                    "station",
                    "additive",
                    "separator",
                    "separators",
                    "injector",
                    "injectors",
                    "terminal",
                    "terminals",
                    "mounts",
                    "mount",
                    "maker",
                    "bottles",
                    "bottle",
                    "jugs",
                    "heater",
                    "temp",
                    "temps",
                    "temperature",
                ])
        })
}
