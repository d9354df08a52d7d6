//! Tables of trials: a row is a trial, its verdict stands in a column of its own.
//!
//! ```text
//! | Test              | Result     | Remark                |
//! | ----------------- | ---------- | --------------------- |
//! | Windlass, 20 m up | 85 A, 95 s | OK                    |
//! | Steaming light    | dark       | not OK                |
//! ```
//!
//! The head of the table says which columns are which; a column that holds nothing but "Y", "N" and the like is one of
//! verdicts where its head, or the heading over the table, speaks of testing. In a table of trials a row whose verdict has no word of
//! `lexicon/verdicts.toml` has passed, unless a word in it denies or leaves open: people write "as specified",
//! "released", "good for another season", and are plain about what is wrong.

use std::ops::Range;

use super::verdict::cue_in;
use crate::fault::faults;
use crate::found::{Outcome, UtteranceKind};
use crate::grammar::GRAMMAR;
use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::word::WordList;

/// A row of a table of trials.
#[derive(Clone, Debug)]
pub struct Row {
    /// The tokens of the cell that names what was tried.
    pub tried: Range<usize>,
    /// The tokens of that column's head ("Pump"), which names the gear where the rows only tell one from another ("Aft").
    pub kind: Range<usize>,
    /// The tokens of the cell that holds the verdict.
    pub verdict: Range<usize>,
    /// The tokens of the whole row.
    pub tokens: Range<usize>,
    /// How it went; `None` where it is still to be tried.
    pub outcome: Option<Outcome>,
}

/// A row's tokens, and its cells that hold words, each with its column.
type Cells = (Range<usize>, Vec<(usize, Range<usize>)>);

/// Finds the rows of tables of trials.
pub fn rows(talk: &Talk<'_>) -> Vec<Row> {
    let mut out = Vec::new();
    for (above, table) in tables(talk) {
        let Some(((_, head), body)) = table.split_first() else { continue };
        if let Some(columns) = Columns::of(talk, head).or_else(|| Columns::of_marks(talk, above, head, body))
        {
            out.extend(body.iter().filter_map(|(row, cells)| columns.row(talk, cells, row.clone())));
        }
    }
    out
}

/// The tables of a note, each with the tokens of the heading over it.
fn tables(talk: &Talk<'_>) -> Vec<(Range<usize>, Vec<Cells>)> {
    let mut out: Vec<(Range<usize>, Vec<Cells>)> = Vec::new();
    let mut last: Option<usize> = None;
    let mut above = 0..0;
    let mut at = 0;
    while at < talk.tokens.len() {
        let utterance = talk.tokens[at].utterance;
        let end = at + talk.tokens[at..].iter().take_while(|t| t.utterance == utterance).count();
        match talk.utterances[utterance].kind {
            UtteranceKind::TableRow => {
                if last.is_none_or(|l| l + 1 != utterance) {
                    out.push((above.clone(), Vec::new()));
                }
                last = Some(utterance);
                if let Some((_, table)) = out.last_mut() {
                    table.push((at..end, cells(talk, at..end)));
                }
            }
            kind => {
                last = None;
                if kind == UtteranceKind::Heading {
                    above = at..end;
                }
            }
        }
        at = end;
    }
    out
}

/// The cells of a row that hold words, each with its column.
fn cells(talk: &Talk<'_>, row: Range<usize>) -> Vec<(usize, Range<usize>)> {
    let mut out: Vec<(usize, Range<usize>)> = Vec::new();
    for token in row {
        let column = talk.column(token);
        match out.last_mut() {
            Some((last, cell)) if *last == column => cell.end = token + 1,
            _ => out.push((column, token..token + 1)),
        }
    }
    out
}

/// Which column names what was tried, and which holds the verdict; the further ones may speak of it too.
#[derive(Clone, Debug)]
struct Columns {
    tried: usize,
    verdict: usize,
    kind: Range<usize>,
    /// Those that say what is asked for, and nothing of how it went.
    asked: Vec<usize>,
}

/// Words of a head or heading that speak of testing.
const TRIED: &WordList =
    words!["test", "tests", "tested", "trial", "trials", "tried", "check", "checks", "checked", "proof"];

impl Columns {
    /// Those of a table whose marks, "Y" and "N", say what works.
    fn of_marks(
        talk: &Talk<'_>,
        above: Range<usize>,
        head: &[(usize, Range<usize>)],
        body: &[Cells],
    ) -> Option<Self> {
        const FEW: usize = 2;
        const WORKS: &WordList = words!["ok", "works", "working", "pass", "passed", "good"];
        // What is aboard, or done, is ticked off as well.
        const STORES: &WordList =
            words!["aboard", "packed", "bought", "have", "got", "done", "qty", "stowed", "on"];
        let any =
            |within: &Range<usize>, of: &WordList| talk.tokens[within.clone()].iter().any(|t| t.is_any(of));
        // Under "OK?" words may stand among the marks: "low, want 22".
        let marked = |column: usize, title: &Range<usize>| {
            let own =
                |(_, cells): &Cells| cells.iter().find(|(c, _)| *c == column).map(|(_, cell)| cell.clone());
            let cells: Vec<_> = body.iter().filter_map(own).collect();
            let marks = cells.iter().filter(|cell| mark(&talk.tokens[(*cell).clone()]).is_some()).count();
            marks >= FEW && (marks == cells.len() || any(title, WORKS) && marks * 2 >= cells.len())
        };
        let (verdict, title) = head.iter().rev().find(|(column, title)| marked(*column, title))?;
        let (tried, kind) = head.iter().find(|(column, _)| column != verdict)?;
        let tests = any(title, TRIED) || any(title, WORKS) || any(kind, TRIED) || any(&above, TRIED);
        (tests && !any(title, STORES)).then(|| Self {
            tried: *tried,
            verdict: *verdict,
            kind: kind.clone(),
            asked: asked_for(talk, head),
        })
    }

    fn of(talk: &Talk<'_>, head: &[(usize, Range<usize>)]) -> Option<Self> {
        const GEAR: &WordList =
            words!["item", "gear", "what", "thing", "system", "equipment", "device", "object"];
        const VERDICT: &WordList = words![
            "verdict",
            "result",
            "results",
            "outcome",
            "pass",
            "ok",
            "status",
            "remark",
            "remarks",
            "finding",
            "assessment",
            "judgement",
        ];
        let named = |words: &'static WordList| {
            move |(_, cell): &&(usize, Range<usize>)| {
                talk.tokens[cell.clone()].iter().any(|t| t.is_any(words))
            }
        };
        // A head like "Pump" over the first column is as good as "Gear".
        let of_gear = || {
            let first = head.first()?;
            talk.mentions.iter().any(|m| first.1.contains(&m.tokens.start)).then_some(first)
        };
        let tried =
            head.iter().find(named(TRIED)).or_else(|| head.iter().find(named(GEAR))).or_else(of_gear)?;
        let (tried, kind) = (tried.0, tried.1.clone());
        // The last of the columns that can hold a verdict is where it is pronounced.
        let verdict =
            head.iter().filter(named(VERDICT)).map(|(column, _)| *column).filter(|c| *c != tried).max()?;
        // "Item | Status" is a list of jobs or stores as often as of trials.
        let of_trials = head.iter().any(|cell| named(TRIED)(&cell))
            || head.iter().any(|cell| named(words!["verdict", "result", "results", "outcome"])(&cell));
        of_trials.then(|| Self { tried, verdict, kind, asked: asked_for(talk, head) })
    }

    fn row(&self, talk: &Talk<'_>, cells: &[(usize, Range<usize>)], tokens: Range<usize>) -> Option<Row> {
        let cell = |column: usize| cells.iter().find(|(c, _)| *c == column).map(|(_, cell)| cell.clone());
        let tried = cell(self.tried)?;
        let verdict =
            cell(self.verdict).or_else(|| cells.last().map(|(_, c)| c.clone()).filter(|c| *c != tried))?;
        let marked = mark(&talk.tokens[verdict.clone()]);
        let others = || {
            cells.iter().rev().filter(|(column, cell)| {
                *column != self.tried && *cell != verdict && !self.asked.contains(column)
            })
        };
        let said = || outcome(talk, &verdict).or_else(|| others().find_map(|(_, cell)| outcome(talk, cell)));
        let outcome = match marked {
            Some(works) => works.map(|works| if works { Outcome::Pass } else { Outcome::Fail }),
            None => (!left_open(talk, &verdict)).then(|| said().unwrap_or_else(|| plain(talk, &verdict))),
        };
        Some(Row { tried, kind: self.kind.clone(), verdict, tokens, outcome })
    }
}

/// The columns that say what is asked for: "Required", "Limit".
fn asked_for(talk: &Talk<'_>, head: &[(usize, Range<usize>)]) -> Vec<usize> {
    const ASKED: &WordList = words![
        "required",
        "requirement",
        "req",
        "req'd",
        "wanted",
        "target",
        "limit",
        "limits",
        "criterion",
        "criteria",
        "spec",
        "should",
        "expected",
        "aim",
        "minimum",
        "min",
    ];
    let asks = |cell: &Range<usize>| talk.tokens[cell.clone()].iter().any(|t| t.is_any(ASKED));
    head.iter().filter(|(_, cell)| asks(cell)).map(|(column, _)| *column).collect()
}

/// What a mark at the head of a cell says: that it works, that it does not, or nothing yet ("?", "-"); none where words go
/// on right behind it.
fn mark(cell: &[Token<'_>]) -> Option<Option<bool>> {
    let (token, rest) = cell.split_first()?;
    if rest.first().is_some_and(|t| t.gap < Gap::Comma) {
        return None;
    }
    match token.lower.as_ref() {
        "y" | "yes" | "✓" | "✔" | "☑" => Some(Some(true)),
        "n" | "no" | "✗" | "✘" | "☒" => Some(Some(false)),
        "?" | "-" | "tbd" | "tbc" => Some(None),
        _ => None,
    }
}

/// The outcome that words of the lexicon give to a cell.
fn outcome(talk: &Talk<'_>, cell: &Range<usize>) -> Option<Outcome> {
    cue_in(talk, cell)
}

/// Whether a cell says that nothing was tried yet: "to be done", "tbd", "not tested".
fn left_open(talk: &Talk<'_>, cell: &Range<usize>) -> bool {
    const OPEN: &WordList = words![
        "open",
        "tbd",
        "tbc",
        "pending",
        "later",
        "todo",
        "untested",
        "untried",
        "skipped",
        "omitted",
        "cancelled",
        "dropped",
        "postponed",
        "deferred",
        "outstanding",
    ];
    const TRIED: &WordList =
        words!["tested", "tried", "done", "yet", "set", "hoisted", "used", "proven", "proved"];
    let tokens = &talk.tokens[cell.clone()];
    let to_be = tokens.first().is_some_and(|t| t.is("to"));
    let not_tried = tokens.windows(2).any(|w| w[0].is_any(words!["not", "never"]) && w[1].is_any(TRIED));
    to_be || not_tried || tokens.len() <= 4 && tokens.iter().any(|t| t.is_any(OPEN))
}

/// The outcome of a verdict in words that the lexicon does not have.
fn plain(talk: &Talk<'_>, cell: &Range<usize>) -> Outcome {
    const BUT: &WordList = words!["but", "half", "only", "partly", "except", "limited"];
    let tokens = &talk.tokens[cell.clone()];
    let bad =
        |t: &Token<'_>| GRAMMAR.denials.has(t) || t.is_any(words!["bad", "poor", "wrong", "no", "negative"]);
    if tokens.iter().any(bad) || !faults(talk, &[], std::slice::from_ref(cell), None).is_empty() {
        return Outcome::Fail;
    }
    if tokens.iter().any(|t| t.is_any(BUT)) { Outcome::Partial } else { Outcome::Pass }
}
