//! Topics: which gear a stretch of talk is about, so that "it", "that's a fail" and "half a tick" find their gear.
//!
//! Talk is cut into thoughts: sentences where there is punctuation; cues and their halves, parted by the words that
//! people begin a new thought with, where there is none. A gear named at the head of a thought ("heater. I lit it…",
//! "okay the anchor"), or as the subject of its own sentence ("the drogue it's in a basket"), becomes the topic until
//! another takes its place or the block ends; a heading's gear stands in for a list item that names none.

use std::ops::Range;

use crate::found::UtteranceKind;
use crate::gear::Mention;
use crate::grammar::GRAMMAR;
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::word::WordList;

/// What happens to gear at some place.
const JAMMED: &WordList = words![
    "jammed", "jams", "stuck", "caught", "snagged", "fouled", "fouls", "chafed", "chafes", "wedged",
    "wrapped", "hung",
];

/// A stretch of tokens that says one thing, with the gear that it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Thought {
    /// Its tokens.
    pub tokens: Range<usize>,
    /// The mentions within it, as indices into [`Talk::mentions`].
    pub mentions: Range<usize>,
    /// The mention that the talk is about when this thought begins, its own left out of account.
    pub topic: Option<usize>,
    /// The mention at its own head, where it has one.
    pub head: Option<usize>,
    /// Index of its block.
    pub block: usize,
    /// Whether it stands in a list item, a log line or a table cell, where people write tersely.
    pub terse: bool,
    /// Whether it answers the question right before it, and names no gear of its own.
    pub answers: bool,
    /// The mentions of what the attempt that the talk is at was made with, as indices into [`Talk::mentions`]: "second
    /// attempt, drogue on a bridle". They are not what was tried.
    pub means: Range<usize>,
}

/// Cuts a note into thoughts, covering all tokens, and finds the topic of each.
pub fn thoughts(talk: &Talk<'_>) -> Vec<Thought> {
    let mut out: Vec<Thought> = Vec::new();
    let mut next_mention = 0;
    let mut topic: Option<usize> = None;
    let mut heading: Option<usize> = None;
    // Of the list that the talk is in, by the line right in front of it.
    let mut label: Option<usize> = None;
    let mut means = 0..0;
    let mut block = 0;
    for tokens in cut(talk) {
        let first = &talk.tokens[tokens.start];
        let kind = talk.utterances[first.utterance].kind;
        let start = next_mention;
        while talk.mentions.get(next_mention).is_some_and(|m| m.tokens.start < tokens.end) {
            next_mention += 1;
        }
        let mentions = start..next_mention;
        let asked = out.last().is_some_and(|t| talk.tokens[t.tokens.end - 1].asked);
        let answers = asked && mentions.is_empty() && !first.asked;
        let labels = talk.labels_a_list(first.utterance);
        if first.gap == Gap::Block {
            block += usize::from(!out.is_empty());
            if kind == UtteranceKind::Heading {
                heading = None;
            }
            if !talk.is_item(first.utterance) {
                label = None;
            }
            // A log line that names nothing goes on about what the line before was about.
            let later = talk.mentions.get(next_mention).map(|m| talk.tokens[m.tokens.start].utterance);
            let names_none = mentions.is_empty() && later != Some(first.utterance);
            let goes_on = kind == UtteranceKind::LogLine && names_none && !labels;
            let over = label.or(heading);
            topic = match (goes_on, answers) {
                (true, _) => over.or(topic),
                // "- And the pilot? - Steered all the way."
                (false, true) => topic.or(over),
                (false, false) => over,
            };
        }
        let head = head(talk, &tokens, mentions.clone());
        let terse =
            matches!(kind, UtteranceKind::LogLine | UtteranceKind::ListItem | UtteranceKind::TableRow);
        if kind == UtteranceKind::Heading {
            heading = mentions.clone().next().or(heading);
        }
        if labels {
            label = mentions.clone().next().or(label);
        }
        let attempt = topic.is_some() && crate::attempt::heads(&talk.tokens[tokens.clone()]);
        if attempt {
            means = mentions.clone();
        } else if first.gap == Gap::Block {
            means = 0..0;
        }
        let then =
            if attempt { None } else { taken_over(talk, mentions.clone(), head, topic, label.or(heading)) };
        if then.is_some() {
            means = 0..0;
        }
        out.push(Thought {
            tokens,
            mentions: mentions.clone(),
            topic,
            head,
            block,
            terse,
            answers,
            means: means.clone(),
        });
        topic = then.or(topic);
    }
    out
}

/// The mention that takes the topic over at the end of a thought: the last that is the subject of a sentence, else the
/// one at the head; gear in passing only where there is no topic yet.
fn taken_over(
    talk: &Talk<'_>,
    mentions: Range<usize>,
    head: Option<usize>,
    topic: Option<usize>,
    heading: Option<usize>,
) -> Option<usize> {
    let settled = topic.is_some_and(|t| topic != heading || !serves(&talk.mentions[t]));
    // "It was the fuel filter": a cause, told of what the talk is about.
    let cause = |m: &usize| topic.is_some() && is_cause(&talk.tokens, talk.mentions[*m].tokens.start);
    // "Storm jib. Up on the inner stay in seven minutes": what has a sentence to itself is not ousted by its place.
    let labelled = topic.is_some_and(|t| is_alone(talk, t));
    let placed = |m: &usize| labelled && prepositional(&talk.tokens, talk.mentions[*m].tokens.start);
    let head = head.filter(|m| !cause(m) && !placed(m));
    // "Hove to, storm staysail aback": at the head of what is told, heaving to is what it is about.
    let heads = |m: &usize| {
        let mention = &talk.mentions[*m];
        is_of_storms(mention) && talk.tokens[mention.tokens.start].gap >= Gap::Sentence
    };
    let particular = |m: &usize| (!serves(&talk.mentions[*m]) || heads(m)) && !cause(m);
    let subject = mentions.clone().rev().find(|&m| particular(&m) && is_subject(talk, m));
    let head = head
        .filter(|m| particular(m) || !settled || talk.mentions[*m].generic && !is_prop(&talk.mentions[*m]));
    let in_passing = || mentions.clone().find(particular).or_else(|| mentions.clone().next());
    subject
        .or(head)
        .or_else(|| shown(talk, mentions.clone()).filter(particular))
        .or_else(|| worked_on(talk, mentions.clone()).filter(particular))
        .or_else(|| if settled { None } else { in_passing() })
}

/// The gear on which something is said to be, though it stands behind a preposition: "there's a strand broken on the aft
/// lower", "he found a crack in the gooseneck".
pub(crate) fn shown(talk: &Talk<'_>, mentions: Range<usize>) -> Option<usize> {
    const NEAR: usize = 11;
    let first = mentions.clone().next().map_or(0, |m| talk.mentions[m].tokens.start);
    let before = &talk.tokens[first.saturating_sub(NEAR)..first];
    let exists = before.windows(2).any(|w| {
        let there = w[0].is("there") && w[1].is_any(words!["is", "'s", "was", "are", "were"]);
        let found = w[0].is_any(words!["found", "spotted", "noticed", "discovered"])
            && w[1].is_any(words!["a", "an", "one", "two", "some", "another"]);
        (there || found) && w[1].gap < Gap::Sentence
    });
    if exists { mentions.rev().find(|&m| !serves(&talk.mentions[m])) } else { None }
}

/// The gear that somebody did something to in a sentence of which it is the only gear, where the next goes on about it: "He
/// also took up the stern gland. It is better".
fn worked_on(talk: &Talk<'_>, mentions: Range<usize>) -> Option<usize> {
    /// As many tokens stand between who did it and the gear at most.
    const REACH: usize = 6;
    let only = mentions.start;
    if mentions.len() != 1 {
        return None;
    }
    let tokens = &talk.tokens;
    let Range { start, end } = talk.mentions[only].tokens;
    let who = (start.saturating_sub(REACH)..start)
        .rev()
        .take_while(|&i| tokens[i + 1].gap < Gap::Clause)
        .find(|&i| tokens[i].gap >= Gap::Sentence)?;
    let by = tokens[who].is_any(words!["he", "she", "we", "i", "they"]);
    let next = (end..end + REACH).find(|&i| tokens.get(i).is_some_and(|t| t.gap >= Gap::Sentence))?;
    let goes_on = tokens[next].gap == Gap::Sentence && tokens[next].is_any(words!["it", "they", "that"]);
    // "Took up the gland", but "looked at the gland".
    let determined = start > 0 && GRAMMAR.determiners.has(&tokens[start - 1]);
    let lead = tokens.get(start.checked_sub(1 + usize::from(determined))?)?;
    let placed = GRAMMAR.prepositions.has(lead) && !lead.is_any(words!["up", "off", "out", "down", "over"]);
    (by && goes_on && !placed).then_some(only)
}

/// Whether a mention is the subject of a sentence of its own: a predicate follows, and no preposition stands in front.
fn is_subject(talk: &Talk<'_>, m: usize) -> bool {
    let tokens = &talk.tokens;
    let Range { start, end } = talk.mentions[m].tokens;
    let follows =
        tokens.get(end).is_some_and(|t| t.gap <= Gap::Comma && GRAMMAR.predicates.has(t) && !t.is("so"));
    let says = tokens.get(end).is_some_and(|t| t.is_any(words!["says", "say", "said"]));
    follows && !says && !prepositional(tokens, start) && !wished(talk, m)
}

/// Whether a mention is a sentence by itself.
fn is_alone(talk: &Talk<'_>, m: usize) -> bool {
    let tokens = &talk.tokens;
    let Range { start, end } = talk.mentions[m].tokens;
    let first = if start > 0 && GRAMMAR.determiners.has(&tokens[start - 1]) { start - 1 } else { start };
    tokens[first].gap >= Gap::Sentence && tokens.get(end).is_some_and(|t| t.gap == Gap::Sentence)
}

/// Whether the gear that starts at a token is named as the cause of something: "it was only the fuse".
fn is_cause(tokens: &[Token<'_>], start: usize) -> bool {
    let mut at = start;
    while at > 0
        && tokens[at].gap < Gap::Clause
        && (GRAMMAR.determiners.has(&tokens[at - 1])
            || tokens[at - 1].is_any(words!["only", "just", "simply", "all"]))
    {
        at -= 1;
    }
    at >= 2
        && tokens[at].gap < Gap::Clause
        && tokens[at - 1].gap < Gap::Clause
        && tokens[at - 1].is_any(words!["was", "were"])
        && tokens[at - 2]
            .is_any(words!["it", "that", "which", "problem", "trouble", "cause", "fault", "culprit"])
}

/// Whether a mention is of a thing that serves others, or of many kinds.
pub fn serves(mention: &Mention) -> bool {
    mention.generic || is_prop(mention)
}

/// Whether it is gear, or a way of lying, for storms: heaving to serves other trials, and is one by itself.
pub(crate) fn is_of_storms(mention: &Mention) -> bool {
    mention.gear().is_some_and(|g| g.group == "storm")
}

fn is_prop(mention: &Mention) -> bool {
    mention.gear().is_some_and(|g| g.prop)
}

/// The mention at the head of a thought: only fillers stand before it.
fn head(talk: &Talk<'_>, tokens: &Range<usize>, mentions: Range<usize>) -> Option<usize> {
    let first = mentions.clone().next()?;
    let before = &talk.tokens[tokens.start..talk.mentions[first].tokens.start];
    if before.iter().any(|t| !GRAMMAR.fillers.has(t)) {
        return None;
    }
    // "the electric bilge pump" may be named twice in a row, the particular name second.
    let second = first + 1;
    let close = mentions.contains(&second)
        && talk.mentions[second].tokens.start <= talk.mentions[first].tokens.end + 2;
    Some(if close && talk.mentions[first].generic && !talk.mentions[second].generic { second } else { first })
}

/// Cuts tokens at ends of sentences, at pauses, and at words that begin a new thought.
fn cut(talk: &Talk<'_>) -> Vec<Range<usize>> {
    let tokens = &talk.tokens;
    let mut out = Vec::new();
    let mut start = 0;
    let wide = wide(talk);
    for at in 1..=tokens.len() {
        if at == tokens.len() || begins(talk, start, at, wide) {
            out.push(start..at);
            start = at;
        }
    }
    if tokens.is_empty() { Vec::new() } else { out }
}

/// Whether the cues of a recording are cut at sentences and pauses rather than at a width: they are long, or hardly one
/// breaks off in the middle of a phrase.
fn wide(talk: &Talk<'_>) -> bool {
    const WORDS: usize = 11;
    const FEW: usize = 12;
    let cues = talk.utterances.iter().filter(|u| u.kind == UtteranceKind::Cue).count();
    let ends: Vec<usize> = (1..talk.tokens.len()).filter(|&i| talk.tokens[i].gap == Gap::Line).collect();
    let broken = ends.iter().filter(|&&i| unfinished(&talk.tokens[i - 1])).count();
    cues > 0 && talk.tokens.len() > cues * WORDS || ends.len() >= FEW && broken * 20 < ends.len()
}

fn begins(talk: &Talk<'_>, start: usize, at: usize, wide: bool) -> bool {
    let tokens = &talk.tokens;
    let token = &tokens[at];
    match token.gap {
        Gap::Block | Gap::Sentence | Gap::Clause => true,
        // Openers in a row ("okay so now") begin one thought.
        Gap::Line => {
            let finished = !unfinished(&tokens[at - 1]);
            // Where cues hold whole sentences, each begins a thought.
            (finished && wide)
                || (GRAMMAR.openers.has(token) && at - start > 1)
                || (finished && GRAMMAR.starters.has(token))
                || (finished && brings_up(talk, at))
        }
        Gap::Comma | Gap::Space => {
            let next = tokens.get(at + 1).filter(|t| t.gap < Gap::Comma);
            token.is_any(words!["so", "but"])
                && at - start > 2
                && !next.is_some_and(|t| t.is_any(words!["far", "much", "many", "long", "good", "there"]))
        }
        Gap::Glued | Gap::Hyphen => false,
    }
}

/// Whether a word at the end of a line leaves its phrase unfinished.
fn unfinished(token: &Token<'_>) -> bool {
    // "happy with those" is finished, "happy with the" is not.
    let pronoun =
        token.is_any(words!["this", "that", "these", "those", "one", "two", "any", "some", "her", "his"]);
    GRAMMAR.prepositions.has(token)
        || GRAMMAR.determiners.has(token) && !pronoun
        || GRAMMAR.unfinished.has(token)
        || GRAMMAR.modals.has(token)
        || GRAMMAR.wishes.has(token)
}

/// Whether a line brings gear up: it holds little else ("second reef"), or goes on about it in a sentence of its own
/// ("the forehatch I had the whole thing off").
fn brings_up(talk: &Talk<'_>, at: usize) -> bool {
    const LITTLE: usize = 5;
    let tokens = &talk.tokens;
    let first = talk.mentions.partition_point(|m| m.tokens.start < at);
    let Some(mention) = talk.mentions.get(first) else { return false };
    if mention.generic && mention.tokens.start > at + 1 || mention.tokens.start > at + LITTLE {
        return false;
    }
    let before = &tokens[at..mention.tokens.start];
    if !before.iter().all(|t| GRAMMAR.fillers.has(t)) || before.iter().skip(1).any(|t| t.gap >= Gap::Line) {
        return false;
    }
    let next = tokens.get(mention.tokens.end);
    let alone = next.is_none_or(|t| t.gap >= Gap::Line) && mention.tokens.end - at <= LITTLE;
    let preposition =
        before.iter().any(|t| t.is_any(words!["with", "on", "to", "for", "up", "about", "was", "is"]));
    !preposition && (alone || next.is_some_and(|t| t.is_any(words!["i", "we", "first", "okay", "right"])))
}

/// Whether the gear of a mention is wished for: "I must rig a preventer". What other gear is named behind is not: "it needs
/// grease. Heater, the diesel heater, lit".
fn wished(talk: &Talk<'_>, m: usize) -> bool {
    const REACH: usize = 4;
    let start = talk.mentions[m].tokens.start;
    let named = m.checked_sub(1).map_or(0, |before| talk.mentions[before].tokens.end);
    talk.tokens[start.saturating_sub(REACH).max(named.min(start))..start]
        .iter()
        .any(|t| GRAMMAR.wishes.has(t))
}

/// Whether a mention tells only how the engine was run while other gear was tried: "engine astern, 1800 rpm, held".
fn is_run(talk: &Talk<'_>, m: usize) -> bool {
    let mention = &talk.mentions[m];
    mention.name == "engine"
        && talk.tokens.get(mention.tokens.end).is_some_and(|t| {
            t.gap <= Gap::Line && t.is_any(words!["astern", "ahead", "reverse", "charging", "idling"])
        })
}

/// Whether the mention that starts at a token stands behind a preposition.
pub(crate) fn prepositional(tokens: &[Token<'_>], start: usize) -> bool {
    let mut i = start;
    while i > 0 && tokens[i].gap < Gap::Clause {
        i -= 1;
        if GRAMMAR.prepositions.has(&tokens[i]) {
            return true;
        }
        if !GRAMMAR.determiners.has(&tokens[i]) {
            return false;
        }
    }
    false
}

impl Thought {
    /// The mention that words at these tokens are about: the likeliest by where it stands.
    ///
    /// Gear bound to the words by no more than a verb ("the heater's a fail"), named behind them ("a tick for the
    /// tether"), standing near in front, at the head of the thought, or else the topic of the talk; gear behind a
    /// preposition and gear that serves other gear come last.
    pub fn subject(&self, talk: &Talk<'_>, cue: &Range<usize>) -> Option<usize> {
        // Gear named lately in passing may be what is talked about by now.
        const LATELY: usize = 60;
        // In talk without an end only what stands near can be meant, and the cost stays linear.
        const FAR: usize = 80;
        let first =
            talk.mentions.partition_point(|m| m.tokens.end + FAR < cue.start).max(self.mentions.start);
        let last = talk.mentions.partition_point(|m| m.tokens.start < cue.end + FAR).min(self.mentions.end);
        let topic = self.topic.filter(|t| !self.mentions.contains(t));
        let lately = (0..self.mentions.start)
            .rev()
            .take_while(|&m| talk.mentions[m].tokens.end + LATELY > cue.start)
            .filter(|m| Some(*m) != topic && self.same_block(talk, talk.mentions[*m].tokens.start));
        let mut best: Option<(f64, usize)> = None;
        for m in (first..last.max(first)).chain(topic).chain(lately) {
            let Some(score) = self.likelihood(talk, cue, m) else { continue };
            if best.is_none_or(|(s, _)| score > s) {
                best = Some((score, m));
            }
        }
        best.filter(|(score, _)| *score > 0.0).map(|(_, m)| m)
    }

    /// Whether a token stands in the same block as this thought.
    fn same_block(&self, talk: &Talk<'_>, token: usize) -> bool {
        let between = talk.tokens.get(token + 1..self.tokens.start + 1).unwrap_or_default();
        between.iter().all(|t| t.gap < Gap::Block)
    }

    /// Whether words already have what they are said of in front, and bare gear right behind is what the talk turns to: "so
    /// that half's no good jury rudder right I lashed".
    fn said_of_a_part(&self, talk: &Talk<'_>, cue: &Range<usize>, start: usize) -> bool {
        let front = &talk.tokens[self.tokens.start.min(cue.start)..cue.start];
        start == cue.end
            && front.last().is_some_and(|t| GRAMMAR.copulas.has(t))
            && front.iter().rev().nth(1).is_some_and(|t| {
                t.is_any(words!["half", "part", "bit", "end", "side", "one", "lot", "idea", "way"])
            })
    }

    /// Whether a sentence begins with a mention and what it does: "The throat halyard though ran sweet as a nut".
    fn is_told_of(&self, talk: &Talk<'_>, m: usize) -> bool {
        let Range { start, end } = talk.mentions[m].tokens;
        let tokens = &talk.tokens;
        let the = start > self.tokens.start && tokens[start - 1].is("the");
        let first = if the { start - 1 } else { start };
        let though = usize::from(tokens.get(end).is_some_and(|t| t.is_any(words!["though", "however"])));
        tokens[first].gap >= Gap::Sentence
            && tokens.get(end + though).is_some_and(|t| {
                t.gap <= Gap::Line
                    && t.is_any(words!["ran", "runs", "went", "came", "held", "holds", "works", "worked"])
            })
    }

    /// How likely words are about a mention: higher is likelier, none where it cannot be. The figures are weights of
    /// our own, tried on the notes in `fixtures/`.
    fn likelihood(&self, talk: &Talk<'_>, cue: &Range<usize>, m: usize) -> Option<f64> {
        const BEHIND: usize = 5;
        let mention = &talk.mentions[m];
        let (start, end) = (mention.tokens.start, mention.tokens.end);
        let tokens = &talk.tokens;
        // What is said of all the others is not said of it; what goes on behind it is: "bar the horn, which only squeaks".
        let goes_on = || {
            start < cue.start
                && (tokens[cue.start].gap >= Gap::Comma
                    || tokens[end.min(cue.start)..cue.start].iter().any(|t| {
                        t.gap >= Gap::Comma || t.is_any(words!["which", "that", "it", "is", "'s", "and"])
                    }))
        };
        if is_excepted(tokens, start) && !goes_on() {
            return None;
        }
        let penalty = |holds: bool, by: f64| if holds { by } else { 0.0 };
        // "the sounder says": an instrument quoted.
        let quoted =
            tokens.get(end).is_some_and(|t| t.is_any(words!["says", "said", "saying"]) && t.gap <= Gap::Line);
        // "Batten in, gybed her ten times, all good": at the head of its thought what serves others is spoken of itself.
        let spoken_of = self.head == Some(m)
            && start == self.tokens.start
            && tokens.get(end).is_some_and(|t| {
                t.gap <= Gap::Line && t.is_any(words!["in", "on", "back", "done", "made", "up"])
            });
        let spoken_of = spoken_of || start < cue.start && self.is_told_of(talk, m);
        let vague = penalty(mention.generic, 1.5)
            + penalty(
                is_prop(mention) && !spoken_of && !(self.topic == Some(m) && is_of_storms(mention)),
                4.0,
            )
            + penalty(quoted || (start < cue.start && wished(talk, m)), 2.5)
            + penalty(is_run(talk, m), 4.5)
            // "Second attempt, drogue on a bridle": what it was done with.
            + penalty(self.means.contains(&m), 4.0);
        if start >= cue.end {
            let between = &tokens[cue.end..start];
            let parted = tokens[cue.end..=start].iter().map(|t| t.gap).max().unwrap_or(Gap::Space);
            if start > cue.end + BEHIND || parted >= Gap::Clause {
                return None;
            }
            // "It cut out twice when I ran the water pump": what was done by then.
            let meanwhile = |t: &Token<'_>| t.is_any(words!["when", "while", "whenever", "until", "till"]);
            if between.iter().any(meanwhile) {
                return None;
            }
            // "The clip got jammed on the jackstay": where it did.
            let where_it_jammed = between.first().is_some_and(|t| {
                t.is_any(words!["on", "in", "under", "against", "round", "around", "by", "behind"])
            }) && tokens[cue.end - 1].is_any(JAMMED);
            let named_before =
                self.mentions.start < m && talk.mentions[self.mentions.start].tokens.end <= cue.start;
            let for_it = between.iter().any(|t| {
                t.is_any(words!["for", "on", "with", "by", "to", "about", "against", "is", "'s", "was"])
            }) && !(where_it_jammed && named_before);
            if !for_it && parted >= Gap::Line {
                return None;
            }
            // "greased the stern gland", "a fail the emergency tiller".
            let object = between.len() <= 2
                && between.iter().all(|t| GRAMMAR.determiners.has(t))
                && !self.said_of_a_part(talk, cue, start);
            let near = if object { 8.6 } else { 2.5 };
            return Some(if for_it { 8.5 } else { near } - vague);
        }
        if start >= cue.start {
            // Named within the words themselves: "that's the second reef sorted".
            return Some(12.0);
        }
        // "Bilge pump: fail", "windlass (good)": a name and its verdict, with nothing but a colon or a bracket between.
        if end == cue.start
            && tokens[cue.start].gap == Gap::Clause
            && (tokens[start].gap >= Gap::Comma || start == 0)
        {
            return Some(11.0);
        }
        let gap = cue.start.saturating_sub(end) as f64;
        let here = self.mentions.contains(&m);
        if !here && self.topic == Some(m) {
            return Some(5.0 - (gap / 24.0).min(3.4) - vague);
        }
        let between = &tokens[end.min(cue.start)..cue.start];
        if here && between.iter().all(|t| GRAMMAR.copulas.has(t) && t.gap < Gap::Sentence) {
            return Some(12.0 - gap / 10.0);
        }
        let prepositional = prepositional(tokens, start);
        if !here {
            // A part named in talk about its whole is part of that talk.
            let part = self
                .topic
                .is_some_and(|t| mention.gear().and_then(|g| g.part_of.as_deref()) == Some(name(talk, t)));
            return Some(4.2 - gap / 35.0 - vague - penalty(prepositional, 2.0) - penalty(part, 1.0));
        }
        let same_line = !tokens[end.min(cue.start)..=cue.start].iter().any(|t| t.gap >= Gap::Line);
        let near = if same_line { 7.5 } else { 6.0 } - gap / 10.0;
        // "On the engine the V-belt whistles": what follows has the belt for its subject.
        let beside = |next: &Mention| {
            let between = tokens.get(end..next.tokens.start);
            between.is_some_and(|t| {
                t.len() <= 2 && t.iter().all(|t| GRAMMAR.determiners.has(t) && t.gap <= Gap::Comma)
            })
        };
        let placed = prepositional && self.mentions.contains(&(m + 1)) && beside(&talk.mentions[m + 1]);
        let head = if self.head == Some(m) && !placed { 7.0 - gap / 20.0 } else { f64::MIN };
        Some(near.max(head) - vague - penalty(prepositional && (self.head != Some(m) || placed), 4.5))
    }
}

/// The talk about a mention's gear that words at these tokens stand in: back to where it is brought up, on until other
/// gear is, and not far either way.
pub fn passage(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    at: usize,
    cue: &Range<usize>,
    subject: usize,
) -> Range<usize> {
    const BACK: usize = 44;
    const ON: usize = 26;
    let gear = name(talk, subject);
    let own = |m: usize| name(talk, m) == gear;
    let other = |m: usize| !own(m) && !serves(&talk.mentions[m]);
    let block = thoughts[at].block;
    let earliest = cue.start.saturating_sub(BACK);
    let latest = cue.end + ON;
    let mut first = at;
    while first > 0
        && thoughts[first - 1].block == block
        && thoughts[first].tokens.start > earliest
        && !thoughts[first].head.is_some_and(own)
        && (thoughts[first - 1].mentions.clone().any(own) || !thoughts[first - 1].mentions.clone().any(other))
    {
        first -= 1;
    }
    let mut last = at;
    while let Some(next) = thoughts.get(last + 1)
        && next.block == block
        && next.tokens.start < latest
        && next.head.is_none_or(own)
        && !next.mentions.clone().any(other)
    {
        last += 1;
    }
    // A thought that goes on from other gear is quoted from where it names its own.
    let opens = &thoughts[first];
    let named = opens
        .mentions
        .clone()
        .find(|&m| own(m))
        .filter(|&m| opens.mentions.clone().any(|o| o < m && other(o)))
        .map_or(opens.tokens.start, |m| talk.mentions[m].tokens.start);
    let start = named.max(earliest).min(cue.start).max(opens.tokens.start);
    start..thoughts[last].tokens.end.min(latest).max(cue.end)
}

/// The two things that "both" at these tokens means: the last two named in its block, where they differ.
pub fn both(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> Option<[usize; 2]> {
    let from = cue.start.saturating_sub(4).max(thought.tokens.start);
    if !talk.tokens[from..cue.end].iter().any(|t| t.is("both")) {
        return None;
    }
    const FAR: usize = 80;
    let mut last = (0..talk.mentions.partition_point(|m| m.tokens.end <= cue.start))
        .rev()
        .take_while(|&m| talk.mentions[m].tokens.end + FAR > cue.start)
        .filter(|&m| talk.mentions[m].tokens.end <= cue.start && !serves(&talk.mentions[m]))
        .take_while(|&m| thought.same_block(talk, talk.mentions[m].tokens.start));
    let second = last.next()?;
    // "Fire extinguishers: both in the green": two of a kind.
    let label = &talk.mentions[second].tokens;
    let labelled = talk.tokens[label.start].gap >= Gap::Sentence
        && talk.tokens.get(label.end).is_some_and(|t| t.gap == Gap::Clause && cue.start <= label.end + 2);
    if labelled {
        return None;
    }
    let first = last.find(|&m| talk.mentions[m].name != talk.mentions[second].name)?;
    Some([first, second])
}

/// The things that stand beside each other, "jackstays and harness", "stern light, bow light and anchor light", where
/// words are about one of them; none where it stands alone.
pub fn company(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>, subject: usize) -> Option<Vec<usize>> {
    // As many tokens as there may be from the last of them to the words: "stern light and bow light are all fine".
    const NEAR: usize = 5;
    // As many things as anyone lists in one breath.
    const MOST: usize = 12;
    let known = |m: usize| talk.mentions.get(m).is_some_and(|a| thought.same_block(talk, a.tokens.start));
    let links = |first: usize| if known(first) && known(first + 1) { link(talk, first) } else { None };
    let first = (0..subject).rev().take(MOST).take_while(|&m| links(m).is_some()).last().unwrap_or(subject);
    let last = (subject..).take(MOST).take_while(|&m| links(m).is_some()).last().map_or(subject, |m| m + 1);
    let within = talk.mentions[first].tokens.start < cue.end && cue.start < talk.mentions[last].tokens.end;
    let apart = if within {
        0
    } else {
        cue.start.saturating_sub(talk.mentions[last].tokens.end)
            + talk.mentions[first].tokens.start.saturating_sub(cue.end)
    };
    // "All", "both" and "neither" say that a list ends here; so does a colon in front of the verdict.
    let from = talk.mentions[first].tokens.start.min(cue.start).saturating_sub(2);
    let together = talk.tokens[from..cue.end]
        .iter()
        .any(|t| t.is_any(words!["all", "both", "each", "every", "neither", "lot"]))
        || talk.tokens[cue.start].gap == Gap::Clause;
    let ends = together || (first..last).any(|m| links(m) == Some(Link::And));
    let mut all: Vec<usize> = Vec::new();
    for m in first..=last {
        let mention = &talk.mentions[m];
        let told = all.iter().any(|&o| talk.mentions[o].name == mention.name);
        if !told && (m == subject || together && !is_prop(mention) || !serves(mention)) {
            all.push(m);
        }
    }
    (all.len() > 1 && ends && apart <= NEAR).then_some(all)
}

/// How two things stand beside each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Link {
    /// "Windlass and heater".
    And,
    /// "Windlass, heater".
    Comma,
}

/// How a mention and the next stand beside each other, where hardly anything is between them.
fn link(talk: &Talk<'_>, first: usize) -> Option<Link> {
    const BETWEEN: usize = 3;
    let (a, b) = (talk.mentions.get(first)?, talk.mentions.get(first + 1)?);
    let between = talk.tokens.get(a.tokens.end..b.tokens.start).filter(|t| t.len() <= BETWEEN)?;
    let and = |t: &Token<'_>| t.is_any(words!["and", "&", "plus", "nor", "or"]);
    let bare = between.iter().all(|t| t.gap < Gap::Clause && (and(t) || GRAMMAR.determiners.has(t)));
    let next = talk.tokens.get(b.tokens.start)?;
    if !bare || next.gap >= Gap::Clause {
        None
    } else if between.iter().any(and) {
        Some(Link::And)
    } else if between.iter().any(|t| t.gap == Gap::Comma) || next.gap == Gap::Comma {
        Some(Link::Comma)
    } else {
        None
    }
}

/// Whether the mention that starts at a token is an exception from what is said of others: "all work bar the stern
/// light", "everything but the horn".
pub fn is_excepted(tokens: &[Token<'_>], start: usize) -> bool {
    // "Everything failed but the windlass": as many tokens back "all" may stand.
    const ALL_BUT: usize = 5;
    let mut at = start;
    while at > 0 && tokens[at].gap < Gap::Clause {
        let before = &tokens[at - 1];
        let further = at.checked_sub(2).map(|i| &tokens[i]);
        let further = |words: &WordList| further.is_some_and(|t| t.is_any(words));
        if before.is_any(words!["except", "excepting", "excluding", "barring"])
            || before.is("bar") && !further(words!["the", "a", "that", "this", "harbour", "sand"])
            || before.is("from") && further(words!["apart", "aside"])
            || before.is("than") && further(words!["other"])
            || before.is_any(words!["for", "not"]) && further(words!["but"])
            || before.is("but")
                && tokens[at.saturating_sub(ALL_BUT)..at]
                    .iter()
                    .any(|t| t.is_any(words!["all", "everything", "everyone"]))
        {
            return true;
        }
        if !GRAMMAR.determiners.has(before) && !before.is_any(words!["for", "one", "ones", "on", "of", "in"])
        {
            return false;
        }
        at -= 1;
    }
    false
}

/// The gear that a mention names.
pub fn name<'t>(talk: &'t Talk<'_>, mention: usize) -> &'t str {
    &talk.mentions[mention].name
}
