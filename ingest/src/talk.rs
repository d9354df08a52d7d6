//! A note made ready for understanding: its tokens, clauses and gear, with the way back to its words.

use std::ops::Range;
use std::sync::OnceLock;

use crate::clause::{Clause, clauses};
use crate::found::{Moment, Outcome, Span, Utterance, UtteranceKind};
use crate::gear::{Mention, Named, Names, by_heading, names_given};
use crate::item::Cues;
use crate::quantity::Cue;
use crate::taught::Taught;
use crate::text::add_folded;
use crate::token::{Kind, Token, tokens};

/// A note's words as everything after the format sees them.
#[derive(Clone, Debug)]
pub struct Talk<'a> {
    /// The decoded text that all spans point into.
    pub text: &'a str,
    /// The utterances that the tokens came from.
    pub utterances: &'a [Utterance],
    /// Words, numbers and symbols.
    pub tokens: Vec<Token<'a>>,
    /// Clauses, covering all tokens.
    pub clauses: Vec<Clause>,
    /// Gear named, in order.
    pub mentions: Vec<Mention>,
    /// Names that this note gives to gear.
    pub names: Names,
    /// Where taught words name a quantity.
    pub taught_quantities: Vec<Cue>,
    /// Where taught words say how a trial went.
    pub taught_outcomes: Vec<(Range<usize>, Outcome)>,
    cues: OnceLock<Cues>,
    headings: OnceLock<Vec<Option<Range<usize>>>>,
}

/// Adds the gear that headings stand for, where they name none: "## Power".
fn headings(tokens: &[Token<'_>], utterances: &[Utterance], mentions: &mut Vec<Mention>) {
    for (at, token) in tokens.iter().enumerate() {
        if utterances[token.utterance].kind != UtteranceKind::Heading {
            continue;
        }
        let place = mentions.partition_point(|m| m.tokens.start < at);
        let named =
            |m: Option<&Mention>| m.is_some_and(|m| tokens[m.tokens.start].utterance == token.utterance);
        if named(mentions.get(place)) || named(place.checked_sub(1).and_then(|p| mentions.get(p))) {
            continue;
        }
        if let Some(gear) = by_heading(&token.lower) {
            let named = Mention::new(gear.name.clone(), at..at + 1, gear.generic, false);
            mentions.insert(place, named);
        }
    }
}

impl<'a> Talk<'a> {
    /// Prepares the utterances of a decoded text.
    ///
    /// `known` are names that the skipper has given to gear in other notes; those that this note gives are added.
    pub fn new(text: &'a str, utterances: &'a [Utterance], known: &[(String, String)]) -> Self {
        Self::taught(text, utterances, known, &Taught::default())
    }

    /// The column, from 0, that a token of a table's row stands in: by the bars in front of it, else by the cells.
    pub fn column(&self, token: usize) -> usize {
        let row = &self.utterances[self.tokens[token].utterance];
        let at = self.tokens[token].span.start;
        let before = &self.text[row.span.start.min(at)..at];
        let bars = before.bytes().filter(|b| *b == b'|').count();
        if bars > 0 || self.text[row.span.range()].contains('|') {
            return bars.saturating_sub(usize::from(before.trim_start().starts_with('|')));
        }
        row.words.iter().position(|cell| at < cell.end).unwrap_or(0)
    }

    /// As [`Talk::new`], with words that the skipper has taught.
    pub fn taught(
        text: &'a str,
        utterances: &'a [Utterance],
        known: &[(String, String)],
        taught: &Taught,
    ) -> Self {
        let mut tokens = tokens(text, utterances);
        if !taught.is_empty() {
            taught.put_units(&mut tokens);
        }
        let clauses = clauses(&tokens);
        let mut named = Named::new(&tokens);
        let lexical = named.mentions(&[]);
        let names = names_given(&tokens, &lexical);
        let given = [taught.names().as_slice(), &names, known].concat();
        let mut mentions = if given.is_empty() { lexical } else { named.mentions(&given) };
        headings(&tokens, utterances, &mut mentions);
        let (mut taught_quantities, mut taught_outcomes) = (Vec::new(), Vec::new());
        if !taught.is_empty() {
            (taught_quantities, taught_outcomes) = (taught.quantities(&tokens), taught.outcomes(&tokens));
        }
        Self {
            text,
            utterances,
            tokens,
            clauses,
            mentions,
            names,
            taught_quantities,
            taught_outcomes,
            cues: OnceLock::new(),
            headings: OnceLock::new(),
        }
    }

    /// Words of the lexicon that bear on how things stand.
    pub fn cues(&self) -> &Cues {
        self.cues.get_or_init(|| Cues::find(&self.tokens))
    }

    /// The bytes that a range of tokens covers, in the decoded text.
    pub fn span(&self, range: Range<usize>) -> Span {
        debug_assert!(!range.is_empty());
        Span::new(self.tokens[range.start].span.start, self.tokens[range.end - 1].span.end)
    }

    /// The words of a range of tokens, mark-up and stamps between utterances left out and white space folded.
    pub fn quote(&self, range: Range<usize>) -> String {
        let span = self.span(range.clone());
        let (first, last) = (self.tokens[range.start].utterance, self.tokens[range.end - 1].utterance);
        let mut out = String::with_capacity(span.end - span.start);
        for utterance in &self.utterances[first..=last] {
            for words in &utterance.words {
                let (start, end) = (words.start.max(span.start), words.end.min(span.end));
                if start < end {
                    add_folded(&self.text[start..end], &mut out);
                }
            }
        }
        out
    }

    /// Whether the list item that a token stands in has a box, and whether it is ticked; one struck out whole is.
    pub fn ticked(&self, token: usize) -> Option<bool> {
        let utterance = &self.utterances[self.tokens[token].utterance];
        if self.is_struck_out(utterance.span) {
            return Some(true);
        }
        let text = &utterance.text;
        if utterance.kind != UtteranceKind::Cue
            && let Some(closed) = status(text)
        {
            return Some(closed);
        }
        let text = text.trim_start_matches(['-', '*', '•', ' ']);
        if let Some(sign) = text.chars().next().filter(|c| matches!(c, '☐' | '☑' | '☒' | '✓' | '✔' | '✅'))
        {
            return Some(sign != '☐');
        }
        let sign = text.strip_prefix('[')?.strip_prefix(['x', 'X', ' '])?;
        sign.starts_with(']').then(|| !text.starts_with("[ "))
    }

    /// Whether the entry that a token stands in has the status that it is lived with: "9. Windvane downwind. ACCEPTED".
    pub fn is_accepted(&self, token: usize) -> bool {
        const ACCEPTED: &str = "ACCEPTED";
        let text = &self.utterances[self.tokens[token].utterance].text;
        text.contains(ACCEPTED)
            && text.contains(char::is_lowercase)
            && text.split(|c: char| !c.is_alphanumeric()).any(|word| word == ACCEPTED)
    }

    /// Whether a stretch stands between the signs that strike it out: "~~fix the stern light~~".
    fn is_struck_out(&self, span: Span) -> bool {
        const SIGN: &str = "~~";
        let written = self.text[span.range()].trim_start_matches(['-', '*', '•', '+', ' ']).trim_end();
        let Some(struck) = written.strip_prefix(SIGN) else { return false };
        // A format may have left the second sign out.
        match struck.find(SIGN) {
            // "~~31. Jib sheet lead~~ no longer needed": what stands behind says why.
            Some(at) => at + SIGN.len() == struck.len() || struck[..at].split_whitespace().count() > 1,
            None => self.text[span.end..].starts_with(SIGN),
        }
    }

    /// Whether an utterance is an item of a list: by its mark-up, or by the dash, star, box or number that it begins with.
    pub fn is_item(&self, utterance: usize) -> bool {
        let utterance = &self.utterances[utterance];
        utterance.kind == UtteranceKind::ListItem || utterance.begins_an_item()
    }

    /// The tokens of an utterance.
    pub fn tokens_of(&self, utterance: usize) -> Range<usize> {
        let start = self.tokens.partition_point(|t| t.utterance < utterance);
        start..self.tokens.partition_point(|t| t.utterance <= utterance)
    }

    /// Whether there is an utterance of this index, and it is a row of a table.
    pub fn is_row(&self, utterance: usize) -> bool {
        self.utterances.get(utterance).is_some_and(|u| u.kind == UtteranceKind::TableRow)
    }

    /// Whether an utterance is the first row of a table.
    pub fn is_head_row(&self, utterance: usize) -> bool {
        self.is_row(utterance) && !utterance.checked_sub(1).is_some_and(|above| self.is_row(above))
    }

    /// Whether an utterance is a short line right in front of a list, which it stands over: "Bits to get", "Heater".
    pub fn labels_a_list(&self, utterance: usize) -> bool {
        let kind = self.utterances[utterance].kind;
        let own = matches!(kind, UtteranceKind::Paragraph | UtteranceKind::LogLine);
        let below = utterance + 1;
        let is_label = || {
            let line = self.tokens_of(utterance);
            !line.is_empty() && self.is_a_label(line)
        };
        own && !self.is_item(utterance) && below < self.utterances.len() && self.is_item(below) && is_label()
    }

    /// Whether a stretch is the cell of a table with no more than a name in it, in front of nothing but figures, which says
    /// nothing of how that is: "| primary fuel filter | 200 | 2,690 |".
    pub fn is_a_bare_cell(&self, said: &Range<usize>) -> bool {
        /// The longest name, in tokens.
        const LONGEST: usize = 4;
        let row = self.tokens[said.start].utterance;
        let figures = || self.tokens_of(row).all(|i| said.contains(&i) || self.tokens[i].kind != Kind::Word);
        self.is_row(row) && said.len() <= LONGEST && self.cues().within(said).next().is_none() && figures()
    }

    /// When the token was said.
    pub fn at(&self, token: usize) -> Option<Moment> {
        self.utterances[self.tokens[token].utterance].at
    }

    /// Index of the clause that a token stands in.
    pub fn clause_of(&self, token: usize) -> usize {
        self.clauses.partition_point(|c| c.tokens.end <= token)
    }

    /// For each utterance, the tokens of what it stands under: a short line right in front of its list or table ("Standing
    /// orders:"), else the nearest heading.
    pub fn headings(&self) -> &[Option<Range<usize>>] {
        self.headings.get_or_init(|| self.find_headings())
    }

    fn find_headings(&self) -> Vec<Option<Range<usize>>> {
        let listed = |n: usize| self.is_item(n) || self.is_row(n);
        let heads = |n: usize| listed(n) || self.utterances[n].kind == UtteranceKind::Heading;
        if !(0..self.utterances.len()).any(heads) {
            return vec![None; self.utterances.len()];
        }
        let mut ranges: Vec<Option<Range<usize>>> = vec![None; self.utterances.len()];
        for (i, token) in self.tokens.iter().enumerate() {
            match &mut ranges[token.utterance] {
                Some(range) => range.end = i + 1,
                none => *none = Some(i..i + 1),
            }
        }
        let (mut heading, mut label) = (None, None);
        let mut out = Vec::with_capacity(self.utterances.len());
        for (n, utterance) in self.utterances.iter().enumerate() {
            match utterance.kind {
                UtteranceKind::Heading => {
                    (heading, label) = (ranges[n].clone(), None);
                    out.push(None);
                }
                _ if listed(n) => out.push(label.clone().or_else(|| heading.clone())),
                _ => {
                    let leads = n + 1 < self.utterances.len() && listed(n + 1);
                    label = ranges[n].clone().filter(|range| leads && self.is_a_label(range.clone()));
                    out.push(heading.clone());
                }
            }
        }
        out
    }

    /// Whether a line in front of a list is no more than its label: a few words, of which none measures anything.
    fn is_a_label(&self, line: Range<usize>) -> bool {
        /// The longest label, in tokens.
        const LONGEST: usize = 8;
        line.len() <= LONGEST
            && self.tokens[line].iter().all(|t| {
                t.kind != Kind::Number || t.lower.len() == 4 && t.lower.bytes().all(|b| b.is_ascii_digit())
            })
    }

    /// The tokens of the sentence that a token stands in.
    pub fn sentence_of(&self, token: usize) -> Range<usize> {
        let at = self.clause_of(token);
        let sentence = self.clauses[at].sentence;
        let first = self.clauses[..at].iter().rposition(|c| c.sentence != sentence).map_or(0, |i| i + 1);
        let last = self.clauses[at..]
            .iter()
            .position(|c| c.sentence != sentence)
            .map_or(self.clauses.len(), |i| at + i);
        self.clauses[first].tokens.start..self.clauses[last - 1].tokens.end
    }
}

/// What the status of an entry says, "3  Hand bilge pump  CLSD  diaphragm": whether it is closed. It stands in capitals, once,
/// in a line that has others.
fn status(line: &str) -> Option<bool> {
    let words = || line.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    // "PART CLOSED", "RE-OPENED".
    let before = std::iter::once("").chain(words());
    let mut found = before.zip(words()).filter_map(|(before, word)| match word {
        "CLSD" | "CLOSED" => Some(!matches!(before, "PART" | "PARTLY" | "HALF" | "NOT")),
        "OPEN" | "OPENED" | "REOPENED" => Some(false),
        _ => None,
    });
    let status = found.next()?;
    // "5. CLOSED": of an entry that is known by its number.
    let by_number = line.starts_with(|c: char| c.is_ascii_digit()) && words().count() == 2;
    (found.next().is_none() && (by_number || line.contains(char::is_lowercase))).then_some(status)
}
