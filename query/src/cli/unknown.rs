//! A command that there is not: which one does what its name asks for.

use clap::error::{ContextKind, ContextValue, ErrorKind};

use crate::error::{Error, did_you_mean};

/// Words for what commands do, with how that is asked for here.
const MEANT: &[(&[&str], &str)] = &[
    (
        &[
            "items",
            "list",
            "ls",
            "todo",
            "todos",
            "tasks",
            "jobs",
            "status",
            "prep",
            "prepare",
            "checklist",
            "pending",
        ],
        "`leadsman open` lists what stands open, most pressing first",
    ),
    (
        &["show", "view", "describe", "story"],
        "`leadsman item NAME` tells an item's whole story, `leadsman gear NAME` a gear's",
    ),
    (
        &["trials", "trial", "tests", "results", "tried"],
        "`leadsman find --outcome fail` finds trials by how they went, `leadsman gear NAME` has a gear's",
    ),
    (
        &["readings", "numbers", "figures", "stats", "values", "quantities"],
        "`leadsman trend` lists what there are readings of",
    ),
    (&["graph", "chart", "plot", "history"], "`leadsman trend QUANTITY` shows readings in time"),
    (
        &["search", "grep", "query", "notes", "words"],
        "`leadsman find WORDS` searches notes, trials and items",
    ),
    (
        &["ready", "safety", "untried", "unproven"],
        "`leadsman proved` has what should be proved and how it stands",
    ),
    (&["plan", "days", "schedule", "day"], "`leadsman outings` places the open items into days out"),
    (
        &["done", "finish", "finished", "complete", "tick", "fixed", "resolve"],
        "`leadsman close ITEM --because WORDS` closes an item",
    ),
    (
        &["delete", "remove", "rm", "drop", "ignore"],
        "`leadsman dismiss NAME` says that nothing of the kind was said, `leadsman undo` takes your last word back",
    ),
    (
        &["import", "load", "take", "dump", "sync", "read"],
        "`leadsman ingest FILE` takes notes, logs and recordings",
    ),
    (
        &["defer", "postpone", "snooze", "later", "putoff", "put"],
        "`leadsman put-off ITEM DAY` puts an item off",
    ),
    (&["assign", "delegate", "hand"], "`leadsman give ITEM WHO` gives an item to somebody"),
    (&["new", "create", "task", "remember"], "`leadsman add WORDS` adds an item that no note has said"),
    (
        &["priority", "prioritise", "prioritize", "urgent"],
        "`leadsman rank ITEM must` says how much an item presses",
    ),
    (
        &["departure", "depart", "voyage", "trip", "leave"],
        "`leadsman passage --departure DAY` sets the coming passage",
    ),
    (
        &["print", "sheet", "pdf", "html"],
        "`leadsman report` writes a sheet for the chart table, the crew or the contact ashore",
    ),
    (&["equipment", "kit", "inventory"], "`leadsman gear` is the register of what is aboard"),
    (
        &["engine", "heater", "rig", "drogue"],
        "`leadsman gear NAME` tells all of a gear, `leadsman reckon --help` lists the sums",
    ),
    (
        &["water", "fuel", "power", "heat", "wind", "cold"],
        "`leadsman reckon --help` lists the sums, `leadsman budget` adds up the passage",
    ),
    (&["problems", "unsure", "review"], "`leadsman doubts` lists what may be wrong"),
    (&["web", "page", "server", "browser"], "`leadsman serve` shows the page in a browser"),
    (&["save", "archive"], "`leadsman backup FILE` puts the whole home into one file"),
    (&["config", "settings", "setup"], "settings.toml in the home has this machine's preferences"),
    (&["help", "commands"], "`leadsman --help` lists the commands, `leadsman COMMAND --help` tells of one"),
];

/// What to say of a command that is none, instead of what clap says; `None` where another error stopped it, or the name
/// is one of a command's own commands. `commands` has the names that there are.
pub fn command(error: &clap::Error, arguments: &[&str], commands: &[&str]) -> Option<Error> {
    if error.kind() != ErrorKind::InvalidSubcommand {
        return None;
    }
    let Some(ContextValue::String(asked)) = error.get(ContextKind::InvalidSubcommand) else { return None };
    let before = arguments.iter().skip(1).take_while(|word| **word != asked.as_str());
    if before.into_iter().any(|word| commands.contains(word)) {
        return None;
    }
    let error = Error::wrong_use(format!("there is no command \"{asked}\""));
    let word = asked.to_lowercase();
    let meant = MEANT.iter().find(|(words, _)| words.contains(&word.as_str()));
    Some(match (meant, did_you_mean(&word, commands.iter().copied())) {
        (Some((_, how)), _) => error.hint(*how),
        (None, Some(near)) => error.hint(format!("did you mean `leadsman {near}`?")),
        (None, None) => error.hint("`leadsman --help` lists the commands"),
    })
}

#[cfg(test)]
mod tests {
    use super::MEANT;

    #[test]
    fn no_word_is_told_two_ways_or_is_a_command() {
        let mut words: Vec<&str> = MEANT.iter().flat_map(|(words, _)| words.iter().copied()).collect();
        let count = words.len();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), count);
        let commands = crate::cli::names();
        let taken: Vec<&&str> =
            words.iter().filter(|word| commands.iter().any(|name| name == **word)).collect();
        assert_eq!(taken, Vec::<&&str>::new());
    }
}
