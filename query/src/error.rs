//! What stops a command: its kind, what led to it, and what to do next. Notices about lines of a source are no errors.

use std::error::Error as StdError;
use std::fmt;
use std::process::ExitCode;

/// How a command ended, as the shell sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// 0: done. Notices and doubts leave it so.
    Done,
    /// 1: nothing found, or nothing open, where `--exit-code` asked to be told so.
    Nothing,
    /// 2: the command was used wrongly.
    WrongUse,
    /// 3: a whole source could not be taken.
    SourceRefused,
    /// 4: the home could not be read or written.
    HomeFault,
}

impl Exit {
    /// The number.
    pub fn code(self) -> u8 {
        match self {
            Exit::Done => 0,
            Exit::Nothing => 1,
            Exit::WrongUse => 2,
            Exit::SourceRefused => 3,
            Exit::HomeFault => 4,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        ExitCode::from(exit.code())
    }
}

/// What went wrong, for the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// An argument, a setting, a name of an item.
    Use,
    /// A source that cannot be read.
    Source,
    /// The home: its folder, database, search index or decisions.
    Home,
    /// The output went away (a closed pipe); said to nobody.
    Output,
}

/// An error that stops a command.
#[derive(Debug)]
pub struct Error {
    /// What went wrong.
    pub kind: Kind,
    /// What was expected and what was found.
    pub message: String,
    /// What led to it, nearest first.
    pub causes: Vec<String>,
    /// The next step.
    pub hint: Option<String>,
}

impl Error {
    /// An error of some kind with its message.
    pub fn new(kind: Kind, message: impl Into<String>) -> Self {
        Self { kind, message: message.into(), causes: Vec::new(), hint: None }
    }

    /// A wrong argument, setting or name.
    pub fn wrong_use(message: impl Into<String>) -> Self {
        Self::new(Kind::Use, message)
    }

    /// A source that cannot be read.
    pub fn source(message: impl Into<String>) -> Self {
        Self::new(Kind::Source, message)
    }

    /// A home that cannot be read or written.
    pub fn home(message: impl Into<String>) -> Self {
        Self::new(Kind::Home, message)
    }

    /// Adds what led to it, with all causes that lie behind.
    pub fn because(mut self, cause: &(dyn StdError + 'static)) -> Self {
        let mut next = Some(cause);
        while let Some(cause) = next {
            let text = cause.to_string();
            // Many errors repeat their cause in their own text; each thing is said once.
            if !self.message.contains(&text) && !self.causes.iter().any(|said| said.contains(&text)) {
                self.causes.push(text);
            }
            next = cause.source();
        }
        self
    }

    /// Says first what it is about: an option by its name.
    pub fn about(mut self, what: &str) -> Self {
        self.message = format!("{what}: {}", self.message);
        self
    }

    /// Adds the next step.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// How the program ends on it.
    pub fn exit(&self) -> Exit {
        match self.kind {
            Kind::Use => Exit::WrongUse,
            Kind::Source => Exit::SourceRefused,
            Kind::Home => Exit::HomeFault,
            Kind::Output => Exit::Done,
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl StdError for Error {}

/// Errors of writing to the terminal or a pipe; a reader that has gone away ends the program quietly.
impl From<std::io::Error> for Error {
    fn from(error: std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            Self::new(Kind::Output, "the output was closed")
        } else {
            Self::home("the output could not be written").because(&error)
        }
    }
}

/// Errors of the home, each with its next step.
impl From<leadsman_index::Error> for Error {
    fn from(error: leadsman_index::Error) -> Self {
        Self::from_index(&error)
    }
}

impl Error {
    /// An error of the home as the skipper hears of it.
    pub fn from_index(error: &leadsman_index::Error) -> Self {
        use leadsman_index::Error as Index;
        let kind = match error {
            Index::NoSource { .. }
            | Index::ManySources { .. }
            | Index::CannotUndo { .. }
            | Index::Question { .. } => Kind::Use,
            Index::Withdrawn { .. } => Kind::Source,
            _ => Kind::Home,
        };
        let hint = match error {
            _ if error.is_disk_full() => {
                "free some space, then run the same command again; what was said to be taken is kept"
            }
            Index::Held { .. } => "wait until it is done, or end it, then run the same command again",
            Index::Disk { .. } => "see that the file or folder is there and that you may read and write it",
            Index::NoSource { .. } => "give the file's name as it was ingested",
            Index::ManySources { .. } => "give the beginning of the hash that is meant",
            _ => "",
        };
        let error = Self::new(kind, error.to_string()).because(error);
        if hint.is_empty() { error } else { error.hint(hint) }
    }
}

/// The candidate that a mistyped word was most likely meant to be.
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    candidates
        .into_iter()
        .map(|candidate| (strsim::jaro_winkler(&word.to_lowercase(), &candidate.to_lowercase()), candidate))
        .filter(|(likeness, _)| *likeness > 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn causes_are_said_once() {
        let inner = std::io::Error::other("no space left on the disk");
        let error = Error::home("cannot write: no space left on the disk").because(&inner);
        assert!(error.causes.is_empty());
        let error = Error::home("cannot write").because(&inner).hint("free some space");
        assert_eq!(error.causes, ["no space left on the disk"]);
        assert_eq!(error.exit().code(), 4);
    }

    #[test]
    fn a_closed_pipe_is_no_failure() {
        let error = Error::from(std::io::Error::from(std::io::ErrorKind::BrokenPipe));
        assert_eq!(error.exit(), Exit::Done);
    }

    #[test]
    fn slips_are_recognised() {
        assert_eq!(did_you_mean("boat_sped", ["boat_speed", "heel"]), Some("boat_speed"));
        assert_eq!(did_you_mean("zebra", ["boat_speed", "heel"]), None);
    }
}
