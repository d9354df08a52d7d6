//! Words that may be a verdict, and what makes them none: a condition, a denial, another time, another boat.

use std::ops::Range;

use super::verdict::Weight;
use crate::date::month;
use crate::found::Outcome;
use crate::grammar::GRAMMAR;
use crate::item::WORDS;
use crate::lexicon::Words;
use crate::talk::Talk;
use crate::token::{Gap, Kind, Token};
use crate::topic::{Thought, is_of_storms};
use crate::word::WordList;

/// Words that would be a verdict, if they are said here and now and of this gear.
pub(super) struct Candidate<'a, 't> {
    pub(super) talk: &'a Talk<'t>,
    pub(super) thought: &'a Thought,
    pub(super) cue: &'a Range<usize>,
    pub(super) outcome: Outcome,
    pub(super) weight: Weight,
    pub(super) lone: bool,
    pub(super) subject: usize,
}

impl<'t> Candidate<'_, 't> {
    /// Whether they are.
    pub(super) fn stands(&self) -> bool {
        self.on_gear_that_is_tried()
            && self.says_so()
            && !self.denied()
            && !self.of_the_body()
            && !self.reaches_on()
            && !self.supposed()
            && !is_awaited(self.talk, self.thought, self.cue)
            && !self.cast_off()
            && !self.elsewhere()
            && !self.tells_where_it_failed()
            && !self.untried()
    }

    /// Up to `n` tokens in front of the cue, back to the last comma.
    fn phrase(&self, n: usize) -> &[Token<'t>] {
        let front = self.front(n);
        if self.talk.tokens[self.cue.start].gap >= Gap::Comma {
            return &[];
        }
        let comma = front.iter().rposition(|t| t.gap >= Gap::Comma);
        &front[comma.unwrap_or(0)..]
    }

    /// Up to `n` tokens in front of the cue, within its thought.
    pub(super) fn front(&self, n: usize) -> &[Token<'t>] {
        &self.talk.tokens[self.thought.tokens.start.max(self.cue.start.saturating_sub(n))..self.cue.start]
    }

    /// The token right behind the cue, where no comma or stop parts them.
    pub(super) fn next(&self) -> Option<&Token<'t>> {
        self.talk.tokens.get(self.cue.end).filter(|t| t.gap <= Gap::Line)
    }

    /// Whether a verdict of this weight can be on this gear: what happened is a verdict on gear named there and then;
    /// shrouds and stays are measured rather than tried.
    fn on_gear_that_is_tried(&self) -> bool {
        const NEAR: usize = 8;
        const TOPIC_NEAR: usize = 25;
        let mention = &self.talk.mentions[self.subject];
        // Gear that only carries a date is looked at, not tried.
        const DATED: &[&str] =
            &["flares", "smoke signals", "liferaft", "hydrostatic release", "first aid kit"];
        if self.weight != Weight::Word && DATED.contains(&mention.name.as_str()) {
            return false;
        }
        let here = self.thought.mentions.contains(&self.subject);
        let distance = self.cue.start.saturating_sub(mention.tokens.end);
        let serves = mention.gear().is_some_and(|g| g.prop) && !is_of_storms(mention);
        let of_rig = mention.gear().is_some_and(|g| g.group == "rig");
        match self.weight {
            Weight::Word => true,
            Weight::Said => !of_rig && (!serves || here),
            Weight::Sign => {
                let pronoun = self.front(4).iter().any(|t| t.is_any(words!["it", "he", "she", "they"]));
                let near = pronoun || distance <= if here { NEAR } else { TOPIC_NEAR };
                !of_rig
                    && !serves
                    && (near || self.cue.len() > 1)
                    && (!mention.generic || self.thought.head == Some(self.subject))
            }
        }
    }

    /// Whether the words are a whole statement: a bare word of praise, "pass" or "fail" is a verdict where it ends
    /// the thought, or is shouted; a question is none.
    fn says_so(&self) -> bool {
        let tokens = &self.talk.tokens;
        let token = &tokens[self.cue.start];
        if token.asked && self.outcome != Outcome::Unclear {
            return false;
        }
        if self.outcome == Outcome::Fail && crate::fault::means_otherwise(self.talk, self.cue) {
            return false;
        }
        // "The gas alarm hasn't come": it was ordered, and has not failed.
        let waits = tokens[self.cue.end - 1].is("come") && token.is_any(words!["hasn't", "haven't", "hasnt"]);
        let moves = |t: &Token<'_>| {
            t.is_any(words!["on", "up", "back", "down", "out", "away", "through", "off", "free", "loose"])
        };
        if waits && !self.next().is_some_and(moves) {
            return false;
        }
        // What "yes" means is told by what was asked, see `answer.rs`.
        if self.thought.answers && self.cue.len() == 1 && super::answer::is_word(token) {
            return false;
        }
        // "Gone hard as a cracker": a likeness says nothing of its own; "I have that down as a fail" does.
        if self.weight != Weight::Word
            && token.is_any(words!["a", "an"])
            && self.front(1).first().is_some_and(|t| t.is("as"))
        {
            return false;
        }
        if self.of_no_gear() {
            return false;
        }
        // "A bit of hose for the snubber", "third pass": nouns.
        let one = self.front(1).first();
        if self.cue.len() == 1
            && (token.is("bit") && one.is_some_and(|t| GRAMMAR.determiners.has(t) || t.is("little"))
                || token.is_any(words!["pass", "passes"]) && one.is_some_and(is_counting))
        {
            return false;
        }
        // "On the heater's positive": a pole.
        if self.cue.len() == 1
            && token.is_any(words!["positive", "negative"])
            && one.is_some_and(|t| t.is("'s") || GRAMMAR.determiners.has(t))
        {
            return false;
        }
        if self.means_no_verdict() {
            return false;
        }
        // "Moderate or good, occasionally poor": how far one sees.
        let seen = self.cue.len() == 1
            && token.is_any(words!["good", "moderate", "poor"])
            && (one.is_some_and(|t| t.is("or"))
                || tokens.get(self.cue.end).is_some_and(|t| t.is_any(words!["occasionally", "or"])));
        if seen {
            return false;
        }
        // "9. Windvane downwind. ACCEPTED": what is lived with has not passed.
        if token.text == "ACCEPTED" {
            return false;
        }
        // "Rig check", "block creaks, check": a title, an order.
        if self.cue.len() == 1 && token.is("check") && token.gap < Gap::Sentence {
            return false;
        }
        let bare = self.lone
            || self.cue.len() == 1
                && self.weight != Weight::Sign
                && (self.outcome == Outcome::Pass || token.is("fail"));
        if !bare {
            return true;
        }
        let previous = self.front(1).first();
        if previous.is_some_and(|t| t.is_any(words!["half", "no", "to", "and", "the", "every", "oh", "very"]))
        {
            return false;
        }
        let subject = &self.talk.mentions[self.subject].tokens;
        let bound = subject.end <= self.cue.start
            && tokens[subject.end..self.cue.start]
                .iter()
                .all(|t| t.is_any(words!["a", "is", "'s", "that", "so", "also"]));
        let lone = self.thought.tokens.len() <= 3 || bound;
        let after_is = previous.is_some_and(|t| {
            t.is_any(words!["is", "'s", "are", "was", "were", "all", "both", "'re", "so", "just"])
        });
        let sentence = token.gap >= Gap::Sentence || (self.thought.terse && token.gap >= Gap::Comma);
        let named = self.weight == Weight::Word;
        // "Fail by my own rule", "fail on time".
        let by = sentence
            && named
            && tokens
                .get(self.cue.end)
                .is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["by", "on", "because"]));
        let shouted = named && token.text.len() > 2 && token.text.chars().all(char::is_uppercase);
        let ends = self.cue.end == self.thought.tokens.end || tokens[self.cue.end].gap >= Gap::Line;
        let named = named && !self.lone;
        ends && (lone || after_is || sentence || named) || shouted || by
    }

    /// "The pilot gave up, I took the tiller", "dragged the drogue after us": words that would be a verdict on other gear.
    fn means_no_verdict(&self) -> bool {
        let tokens = &self.talk.tokens;
        let token = &tokens[self.cue.start];
        let mention = &self.talk.mentions[self.subject];
        let next = tokens.get(self.cue.end);
        let taken_over = self.outcome == Outcome::Pass
            && token.is("took")
            && next.is_some_and(|t| t.is_any(words!["tiller", "wheel", "helm", "over"]));
        let towed = token.is_any(words!["dragged", "drags", "dragging"]) && is_of_storms(mention);
        // "At rest nothing at all": what keeps water out, and what is to stay where it is, does well by that.
        let stays = mention.gear().is_some_and(|g| {
            matches!(g.group.as_str(), "watertight" | "anchor")
                && !g.name.ends_with("pump")
                && !g.name.ends_with("alarm")
                && g.name != "windlass"
                && g.name != "float switch"
        });
        let nothing = self.outcome == Outcome::Fail && token.is("nothing") && stays;
        taken_over || towed || nothing
    }

    /// "not a cross either", "nothing like fine", "black mark for me".
    fn denied(&self) -> bool {
        // A denial right in front of what happened has turned it round already.
        let reach = self.phrase(3);
        let reach = if self.weight == Weight::Sign { &reach[..reach.len().saturating_sub(1)] } else { reach };
        let denied = reach.iter().any(|t| GRAMMAR.denials.has(t));
        let denies = self.outcome == Outcome::Pass
            || self.outcome == Outcome::Fail
                && (self.weight == Weight::Word || self.front(2).iter().any(|t| t.is("sorry")));
        // "A black mark for me", but "that will do for me".
        let of_people = self.weight == Weight::Word
            && self.next().is_some_and(|t| t.is("for"))
            && self.talk.tokens.get(self.cue.end + 1).is_some_and(|t| t.is_any(words!["me", "us", "him"]));
        denied && denies || of_people || self.is_not_said()
    }

    /// "I'm not going to say it's failed": what nobody says.
    fn is_not_said(&self) -> bool {
        const REACH: usize = 9;
        let front = self.front(REACH);
        let Some(say) = front.iter().rposition(|t| t.is_any(words!["say", "saying", "call", "calling"]))
        else {
            return false;
        };
        let within = |t: &Token<'_>| t.gap < Gap::Comma;
        let denial = |t: &Token<'_>| GRAMMAR.denials.has(t);
        let from = say.saturating_sub(4);
        front[say + 1..].iter().all(within)
            && front[from + 1..=say].iter().all(within)
            && front[from..say].iter().any(denial)
    }

    /// "Jammed at the third turn", "stuck on the second try": not how it went well, but where it did not.
    fn tells_where_it_failed(&self) -> bool {
        static FAILED: Words = Words::new(
            "jammed jams stuck sticks failed fails died dies tripped trips stalled stalls snagged snags fouled \
             fouls seized",
        );
        self.outcome == Outcome::Pass
            && self.talk.tokens[self.cue.start].is_any(words!["at", "on", "in", "after", "by"])
            && self.phrase(2).iter().any(|t| FAILED.has(t))
    }

    /// "my hands don't work".
    fn of_the_body(&self) -> bool {
        self.outcome != Outcome::Pass
            && self
                .front(4)
                .iter()
                .any(|t| t.is_any(words!["hands", "fingers", "arms", "feet", "legs", "head", "back"]))
    }

    /// Praise that goes on to say something else: "good till 2030", "good news", "first time I couldn't".
    fn reaches_on(&self) -> bool {
        let Some(next) = self.next().filter(|_| self.outcome == Outcome::Pass) else { return false };
        let then = self.talk.tokens.get(self.cue.end + 1);
        match self.weight {
            Weight::Said => {
                let dated = then.is_some_and(|t| {
                    t.kind == Kind::Number
                        || t.is_any(words!["twenty", "thirty"])
                        || month(&t.lower).is_some()
                });
                next.is_any(words![
                    "till", "until", "til", "news", "morning", "night", "idea", "luck", "old", "bit",
                    "thing", "time",
                ]) || next.is_any(words!["for", "to", "enough"]) && dated
            }
            Weight::Sign => {
                // "Masthead light on main does not work": where it is.
                let placed = self.talk.tokens[self.cue.end - 1].is("on")
                    && next.is_any(words![
                        "main",
                        "mizzen",
                        "port",
                        "starboard",
                        "deck",
                        "mast",
                        "top",
                        "bow",
                        "stern"
                    ]);
                if placed {
                    return true;
                }
                // "It stays on the list".
                let listed = next.is_any(words!["the", "my", "our"]) && then.is_some_and(|t| t.is("list"));
                listed
                    || next.is_any(words!["out", "into", "away"])
                    || next.is_any(words!["i", "we", "it", "she", "he"])
                        && then.is_some_and(|t| {
                            t.is_any(words![
                                "couldn't", "didn't", "wouldn't", "could", "can't", "stopped", "jammed",
                            ])
                        })
            }
            Weight::Word => false,
        }
    }

    /// Whether the clause makes the words a wish, a condition, a plan or an obligation: a condition anywhere in front,
    /// a modal verb between the gear and the words.
    fn supposed(&self) -> bool {
        let reach = if self.weight == Weight::Word { 4 } else { 10 };
        let tokens = &self.talk.tokens;
        let clause = self.talk.clauses[self.talk.clause_of(self.cue.start)].tokens.start;
        let from = self.thought.tokens.start.max(clause).max(self.cue.start.saturating_sub(reach));
        let subject = &self.talk.mentions[self.subject].tokens;
        let verb_from = if subject.end <= self.cue.start && self.thought.mentions.contains(&self.subject) {
            from.max(subject.end)
        } else {
            from.max(self.cue.start.saturating_sub(4))
        };
        let modal = (verb_from..self.cue.start).any(|i| {
            GRAMMAR.modals.has(&tokens[i]) && !tokens.get(i + 1).is_some_and(|t| GRAMMAR.calling.has(t))
        });
        modal || tokens[from..self.cue.start].iter().any(|t| GRAMMAR.conditions.has(t))
    }

    /// "0655 Slipped.", "slipped and proceeded": the lines to the shore, and no gear.
    fn cast_off(&self) -> bool {
        let tokens = &self.talk.tokens;
        let ends = tokens
            .get(self.cue.end)
            .is_none_or(|t| t.gap >= Gap::Comma || t.is_any(words!["and", "at", "from"]));
        self.cue.len() == 1
            && tokens[self.cue.start].is("slipped")
            && tokens[self.cue.start].gap >= Gap::Sentence
            && ends
    }

    /// Whether the sentence speaks of another time or another boat.
    fn elsewhere(&self) -> bool {
        /// As far in front somebody may have been asked, in tokens.
        const ASKED: usize = 24;
        if self.weight == Weight::Word {
            return false;
        }
        // "I said that was sorted".
        if two(self.front(4), words!["i"], words!["said", "thought"]) {
            return true;
        }
        // "I asked him about the furler and he said it's fine": an opinion, and no trial.
        let asked = self.front(ASKED);
        if two(asked, words!["asked", "ask"], words!["him", "her", "them", "the", "my"])
            && two(
                asked,
                words!["he", "she", "they"],
                words!["said", "says", "reckons", "reckoned", "thinks"],
            )
        {
            return true;
        }
        // "His own boat's radar is working beautifully".
        if self.front(ASKED).windows(3).any(|w| {
            w[0].is_any(words!["his", "her", "their"])
                && w[1].is("own")
                && w[2].is_any(words!["boat", "ketch", "sloop", "yawl", "cutter", "yacht", "ship", "one"])
        }) {
            return true;
        }
        const REACH: usize = 8;
        let tokens = &self.talk.tokens;
        let end = self.cue.end.max(self.thought.tokens.end.min(self.cue.end + REACH));
        // "It ran fine in October".
        let behind = &tokens[self.cue.end..end];
        let past_month = behind.windows(2).any(|w| {
            w[0].is_any(words!["in", "last"]) && month(&w[1].lower).is_some() && w[1].gap < Gap::Comma
        });
        const FAR_BEFORE: usize = 40;
        let sentence = &tokens[self.thought.tokens.start.max(self.cue.start.saturating_sub(FAR_BEFORE))..end];
        past_month
            || of_another_time(sentence)
            || !self.heard_by_others() && (others(sentence) || self.of_them_before())
            || crate::stance::tells_of_other_years(self.talk, self.thought.tokens.clone())
            || crate::stance::names_another_boat(&tokens[self.thought.tokens.clone()])
    }

    /// Whether the sentence goes on about the people of another boat: "the neighbour's leaked as well; he rebedded it".
    fn of_them_before(&self) -> bool {
        const REACH: usize = 12;
        let tokens = &self.talk.tokens;
        let start = self.thought.tokens.start;
        let theirs = tokens[start].is_any(words!["he", "she", "they"]) && tokens[start].gap < Gap::Block;
        theirs && others(&tokens[start.saturating_sub(REACH)..start])
    }

    /// Whether the words are part of what says that the gear was not tried ("not run since"), or leave open what the
    /// thought says was not.
    fn untried(&self) -> bool {
        if self.weight == Weight::Word && self.outcome != Outcome::Unclear {
            return false;
        }
        const REACH: usize = 14;
        let tokens = &self.talk.tokens;
        let unclear = self.outcome == Outcome::Unclear;
        let first = if unclear { 0 } else { self.thought.tokens.start };
        let from = first.max(self.cue.start.saturating_sub(REACH));
        self.never_up_yet()
            || (from..self.cue.end).any(|at| {
                WORDS.unproven.at(tokens, at).is_some_and(|m| {
                    unclear && tokens[m.end..self.cue.start.max(m.end)].iter().all(|t| t.gap < Gap::Block)
                        || m.start < self.cue.end && self.cue.start < m.end
                })
            })
    }

    /// "The slides run in and out by hand, sail's not been hoisted though": what the same breath tells was never tried, with no
    /// other gear named in between.
    fn never_up_yet(&self) -> bool {
        /// As far behind as it may be told, in tokens.
        const REACH: usize = 8;
        if self.outcome != Outcome::Pass {
            return false;
        }
        let (tokens, mentions) = (&self.talk.tokens, &self.talk.mentions);
        let end = tokens.len().min(self.cue.end + REACH);
        let behind = mentions.partition_point(|m| m.tokens.start < self.cue.end);
        let other = mentions[behind..]
            .iter()
            .take_while(|m| m.tokens.start < end)
            .find(|m| m.name != mentions[self.subject].name);
        let end = other.map_or(end, |m| m.tokens.start);
        (self.cue.end..end)
            .take_while(|&at| tokens[at].gap < Gap::Sentence)
            .filter_map(|at| WORDS.unproven.at(tokens, at))
            .any(|m| tokens[m.start..m.end].iter().any(|t| t.is_any(words!["been", "tried", "tested"])))
    }

    /// Whether the gear is heard or seen by other people, who then belong to the trial.
    fn heard_by_others(&self) -> bool {
        self.talk.mentions[self.subject].gear().is_some_and(|g| g.group == "radio" || g.group == "navigation")
    }
}

/// Whether a word in front of a noun says which of several it is: "third pass", "every pass".
fn is_counting(token: &Token<'_>) -> bool {
    token.kind == Kind::Number
        || token.is_any(words![
            "first", "second", "third", "fourth", "fifth", "last", "next", "each", "every", "one", "two",
            "three", "four", "five", "another", "final", "rd", "th", "nd", "st",
        ])
}

/// "He wants more wind before he says it's fixed", "not till I can call it good": what somebody waits to say.
pub(crate) fn is_awaited(talk: &Talk<'_>, thought: &Thought, cue: &Range<usize>) -> bool {
    const REACH: usize = 8;
    let front =
        &talk.tokens[thought.tokens.start.max(cue.start.saturating_sub(REACH)).min(cue.start)..cue.start];
    let waits = |t: &Token<'_>| t.is_any(words!["before", "until", "till", "unless"]);
    let Some(from) = front.iter().rposition(waits) else { return false };
    front[from..].iter().take_while(|t| t.gap < Gap::Clause).any(|t| {
        t.is_any(words!["say", "says", "call", "calls", "know", "knows", "trust", "trusts", "believe"])
    })
}

/// Whether two words stand side by side in a sentence.
fn two(tokens: &[Token<'_>], a: &WordList, b: &WordList) -> bool {
    tokens.windows(2).any(|w| w[0].is_any(a) && w[1].is_any(b) && w[1].gap < Gap::Sentence)
}

/// Whether a sentence is about another time: "last year", "it used to".
pub(crate) fn of_another_time(sentence: &[Token<'_>]) -> bool {
    const SEASONS: &WordList = words![
        "year", "spring", "summer", "autumn", "fall", "winter", "season", "october", "july", "august",
        "june", "may",
    ];
    two(sentence, words!["last"], SEASONS)
        || two(sentence, words!["used"], words!["to"])
        || two(sentence, words!["was", "were"], words!["always"])
        || two(sentence, words!["the", "my", "that"], words!["old"])
            && !sentence.iter().any(|t| t.is_any(words!["new", "now"]))
}

/// Whether a stretch begins by telling of another time or of other people's gear.
pub fn begins_elsewhere(tokens: &[Token<'_>]) -> bool {
    const HEAD: usize = 6;
    let head = &tokens[..tokens.len().min(HEAD)];
    of_another_time(head) || others(head) || crate::stance::names_another_boat(head)
}

/// Whether a sentence is about people of another boat.
fn others(sentence: &[Token<'_>]) -> bool {
    sentence.iter().any(|t| GRAMMAR.others.has(t))
        || sentence.windows(2).any(|w| GRAMMAR.other_articles.has(&w[0]) && GRAMMAR.other_people.has(&w[1]))
}
