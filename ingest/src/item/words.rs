//! The words of `lexicon/items.toml`, read once.

use std::ops::Range;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::fault::faults;
use crate::found::{Item, Reason, Why};
use crate::lexicon::{BuiltIn, Patterns, Words as OneOf};
use crate::talk::Talk;
use crate::topic::{Thought, name, passage};
use crate::trial::{join, titled};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    unproven: Vec<String>,
    task: Vec<String>,
    task_heads: Vec<String>,
    task_talk: Vec<String>,
    orders: Vec<String>,
    lacks: Vec<String>,
    done: Vec<String>,
    not_done: Vec<String>,
    due: Vec<String>,
    due_behind: Vec<String>,
    label_read: Vec<String>,
    expired: Vec<String>,
    too_early: Vec<String>,
    beyond: Vec<String>,
    back: Vec<String>,
    leaves: Vec<String>,
    final_words: Vec<String>,
    ends_nothing: Vec<String>,
    for_now: Vec<String>,
    renewed: Vec<String>,
}

/// The patterns of the file, by what they are looked for.
pub struct Words {
    pub unproven: Patterns<()>,
    pub task: Patterns<()>,
    pub task_heads: Patterns<()>,
    pub task_talk: Patterns<()>,
    /// Orders that may stand behind a comma.
    pub orders: Patterns<()>,
    /// Words that what is named behind them is not there.
    pub lacks: Patterns<()>,
    pub done: Patterns<()>,
    pub not_done: Patterns<()>,
    pub due: Patterns<()>,
    /// Words behind a date that hang it on gear.
    pub due_behind: Patterns<()>,
    /// Words that a label is looked at.
    pub label_read: Patterns<()>,
    /// Words that a date has passed, which is not named.
    pub expired: Patterns<()>,
    pub too_early: Patterns<()>,
    /// Words near a reading that say that it lies outside a limit.
    pub beyond: Patterns<()>,
    pub back: Patterns<()>,
    pub leaves: Patterns<()>,
    /// Those of `unproven`, `task`, `task_heads`, `done` and `not_done`, by their places in this list.
    pub cues: Patterns<usize>,
    /// Parts of closing words that say that a matter is over.
    pub final_words: Vec<String>,
    /// Words beside which nothing is over, however well it sounds.
    pub ends_nothing: Vec<String>,
    /// Words beside which something may be over at most.
    pub for_now: Vec<String>,
    /// Parts of closing words that say that something was got or renewed.
    pub renewed: Vec<String>,
}

pub static WORDS: LazyLock<Words> = LazyLock::new(|| {
    let file: File = toml::from_str(include_str!("../../lexicon/items.toml"))
        .expect("lexicon/items.toml is checked by a test");
    let read = |written: Vec<String>| {
        Patterns::new(written.into_iter().map(|w| (w, ()))).expect("lexicon/items.toml is checked by a test")
    };
    let kinds = [&file.unproven, &file.task, &file.task_heads, &file.done, &file.not_done];
    let cues = kinds.iter().enumerate().flat_map(|(kind, all)| all.iter().map(move |words| (words, kind)));
    Words {
        cues: Patterns::new(cues).expect("lexicon/items.toml is checked by a test"),
        unproven: read(file.unproven),
        task: read(file.task),
        task_heads: read(file.task_heads),
        task_talk: read(file.task_talk),
        orders: read(file.orders),
        lacks: read(file.lacks),
        done: read(file.done),
        not_done: read(file.not_done),
        due: read(file.due),
        due_behind: read(file.due_behind),
        label_read: read(file.label_read),
        expired: read(file.expired),
        too_early: read(file.too_early),
        beyond: read(file.beyond),
        back: read(file.back),
        leaves: read(file.leaves),
        final_words: file.final_words,
        ends_nothing: file.ends_nothing,
        for_now: file.for_now,
        renewed: file.renewed,
    }
});

/// The patterns that are built in.
pub fn built_in() -> Vec<&'static dyn BuiltIn> {
    vec![
        &WORDS.unproven,
        &WORDS.task,
        &WORDS.task_heads,
        &WORDS.task_talk,
        &WORDS.orders,
        &WORDS.lacks,
        &WORDS.done,
        &WORDS.not_done,
        &WORDS.due,
        &WORDS.due_behind,
        &WORDS.label_read,
        &WORDS.expired,
        &WORDS.too_early,
        &WORDS.beyond,
        &WORDS.back,
        &WORDS.leaves,
        &WORDS.cues,
    ]
}

/// Index of the thought that a token stands in.
pub fn thought_of(thoughts: &[Thought], token: usize) -> usize {
    thoughts.partition_point(|t| t.tokens.end <= token)
}

/// Makes an item of a cue in a thought, about a mention of gear or none.
///
/// Its `about` holds the words around the cue, what led up to them, and the words that brought the gear up.
pub fn item(
    talk: &Talk<'_>,
    thoughts: &[Thought],
    at: usize,
    cue: Range<usize>,
    subject: Option<usize>,
    why: Why,
) -> Item {
    const BROUGHT_UP: usize = 12;
    let thought = &thoughts[at];
    let said = around(thought, &cue);
    let gear = subject.map(|s| name(talk, s).to_owned());
    let mut because =
        vec![Reason { of: "why".to_owned(), what: why.name().to_owned(), span: talk.span(cue.clone()) }];
    let mut about = vec![said.clone()];
    if let (Some(subject), Some(gear)) = (subject, &gear) {
        let tokens = talk.mentions[subject].tokens.clone();
        because.push(Reason { of: "gear".to_owned(), what: gear.clone(), span: talk.span(tokens.clone()) });
        about.push(passage(talk, thoughts, at, &cue, subject));
        if tokens.end <= said.start {
            about.push(tokens.start..said.start.min(tokens.start + BROUGHT_UP).max(tokens.end));
        }
    }
    let quote = talk.quote(said.clone());
    let wrong = match why {
        Why::Unproven => vec![untried(talk, &about)],
        _ => faults(talk, thoughts, &about, gear.as_deref()),
    };
    let about = titled(gear.as_deref(), &wrong, &join(talk, about));
    Item {
        gear,
        about,
        why,
        due: None,
        unsure: false,
        at: talk.at(cue.start),
        span: talk.span(said),
        quote,
        because,
    }
}

/// How gear was not tried, by the words of it: a new thing is told from one that never left its bag.
fn untried(talk: &Talk<'_>, said: &[Range<usize>]) -> &'static str {
    static NEVER: OneOf = OneOf::new(
        "never nobody nobody's ever virgin unopened sealed bag box wrapper wrapping plastic packet packing sack carton \
         shrinkwrap cellophane",
    );
    static NEW: OneOf = OneOf::new("new bought fitted installed arrived");
    let any = |of: &OneOf| said.iter().any(|s| talk.tokens[s.clone()].iter().any(|t| of.has(t)));
    match (any(&NEVER), any(&NEW)) {
        (true, true) => "new, never tried",
        (true, false) => "never tried",
        (false, true) => "new, not tried yet",
        (false, false) => "not tried yet",
    }
}

/// The words to quote for a cue: its thought, or the stretch of a long one around the cue.
pub fn around(thought: &Thought, cue: &Range<usize>) -> Range<usize> {
    const BEFORE: usize = 14;
    const BEHIND: usize = 12;
    let start = thought.tokens.start.max(cue.start.saturating_sub(BEFORE));
    start..thought.tokens.end.min(cue.end + BEHIND).max(cue.end.min(thought.tokens.end)).max(start + 1)
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_lexicon_reads() {
        assert!(super::WORDS.task.find(&[]).is_empty());
    }
}
