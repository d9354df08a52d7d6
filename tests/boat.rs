//! A boat for the tests: a temporary home, and the program run in it.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

/// The top of the house.
pub fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package stands in the house").to_owned()
}

/// The program under test.
pub fn program() -> &'static str {
    env!("CARGO_BIN_EXE_leadsman")
}

/// A corpus boat's folder.
pub fn corpus(boat: &str) -> PathBuf {
    repository().join("fixtures/corpus").join(boat)
}

/// The notes of a corpus boat, in order.
pub fn notes(boat: &str) -> Vec<String> {
    let mut notes: Vec<String> = std::fs::read_dir(corpus(boat))
        .expect("the boat's folder")
        .map(|entry| text(&entry.expect("an entry").path()))
        .filter(|path| !path.ends_with(".gold.json"))
        .collect();
    notes.sort();
    notes
}

/// A path as an argument.
pub fn text(path: &Path) -> String {
    path.to_str().expect("the tests' paths are text").to_owned()
}

/// A home in a temporary folder, gone when dropped.
pub struct Boat {
    folder: tempfile::TempDir,
}

/// What the program printed and how it ended.
#[derive(Debug)]
pub struct Ran {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Boat {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a temporary folder") }
    }

    /// The home.
    pub fn home(&self) -> PathBuf {
        self.folder.path().join("home")
    }

    /// A place for files to dump.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file to dump.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().expect("a file stands in a folder")).expect("a folder");
        std::fs::write(&path, content).expect("a file");
        path
    }

    /// The program with its arguments, in an environment of its own.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(program());
        command
            .args(arguments)
            .current_dir(self.folder.path())
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE")
            .env_remove("COLUMNS")
            .env("LEADSMAN_HOME", self.home())
            .env("TZ", "UTC")
            .stdin(Stdio::null());
        command
    }

    /// Runs the program to its end.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        Ran::of(self.command(arguments).output().expect("the program starts"))
    }

    /// Runs it with something on standard input.
    pub fn run_with(&self, input: &[u8], arguments: &[&str]) -> Ran {
        let mut command = self.command(arguments);
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        child.stdin.take().expect("a pipe").write_all(input).expect("the program reads");
        Ran::of(child.wait_with_output().expect("the program ends"))
    }
}

impl Ran {
    /// What a program that was started by hand left.
    pub fn of(output: std::process::Output) -> Self {
        let ran = Self {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).expect("plain text"),
            err: String::from_utf8(output.stderr).expect("plain text"),
        };
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
        ran
    }

    /// Asserts the exit code, showing what was printed where it is another.
    #[track_caller]
    pub fn ends(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "\n{}\n{}", self.out, self.err);
        self
    }

    /// What it printed, as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}\n{}", self.out, self.err))
    }
}

/// The keys of a JSON object, sorted.
pub fn keys(value: &Value) -> Vec<&str> {
    let mut keys: Vec<&str> = value.as_object().expect("an object").keys().map(String::as_str).collect();
    keys.sort_unstable();
    keys
}
