//! Where a command prints: the terminal or a pipe, its width, and the few styles that are used.

use std::fmt;
use std::io::{self, IsTerminal, Write};
use std::sync::{Arc, Mutex};

use anstream::{AutoStream, ColorChoice};
use anstyle::{AnsiColor, Style};

/// For headings and names.
pub const STRONG: Style = Style::new().bold();
/// For what matters less.
pub const FAINT: Style = Style::new().dimmed();
/// For what went well.
pub const GOOD: Style = AnsiColor::Green.on_default();
/// For what did not.
pub const BAD: Style = AnsiColor::Red.on_default().bold();
/// For what wants care.
pub const CARE: Style = AnsiColor::Yellow.on_default();
/// For words that were looked for.
pub const MARK: Style = Style::new().bold().underline();

/// The width of lines that go into a pipe, in columns.
const PIPE_WIDTH: usize = 100;
/// Lines longer than this are hard to read on any terminal.
const WIDEST: usize = 110;
/// A terminal narrower than this is written past rather than chopped to bits.
const NARROWEST: usize = 40;

/// Standard output, or a buffer in tests.
pub struct Screen {
    out: Box<dyn Write + Send>,
    width: usize,
    terminal: bool,
    colour: bool,
}

impl Screen {
    /// Standard output; colours only where it is a terminal that takes them and `NO_COLOR` is not set.
    pub fn stdout() -> Self {
        let stdout = io::stdout();
        let terminal = stdout.is_terminal();
        let asked = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse::<usize>().ok());
        let found =
            terminal.then(terminal_size::terminal_size).flatten().map(|(width, _)| usize::from(width.0));
        let width = found.or(asked).unwrap_or(PIPE_WIDTH).clamp(NARROWEST, WIDEST);
        let colour = AutoStream::choice(&stdout) != ColorChoice::Never;
        Self { out: Box::new(AutoStream::auto(stdout)), width, terminal, colour }
    }

    /// What `print` writes on a screen of some width, as plain text, trailing spaces left out.
    pub fn printed(width: usize, print: impl FnOnce(&mut Self) -> io::Result<()>) -> String {
        let kept = Kept::default();
        let mut screen = Self { out: Box::new(kept.clone()), width, terminal: false, colour: false };
        print(&mut screen).expect("a buffer takes what is written");
        let bytes = kept.0.lock().expect("no writer panicked").clone();
        let text = anstream::adapter::strip_str(&String::from_utf8_lossy(&bytes)).to_string();
        text.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
    }

    /// Columns that a line may fill.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Whether a person is looking.
    pub fn is_terminal(&self) -> bool {
        self.terminal
    }

    /// Whether styles show; where they do not, what they mark needs a sign of its own.
    pub fn has_colour(&self) -> bool {
        self.colour
    }

    /// Writes one line.
    pub fn line(&mut self, text: impl fmt::Display) -> io::Result<()> {
        writeln!(self.out, "{text}")
    }

    /// Writes an empty line.
    pub fn gap(&mut self) -> io::Result<()> {
        writeln!(self.out)
    }

    /// Writes a paragraph, broken to the width, its first line after `first` and the others after `rest`.
    pub fn paragraph(&mut self, first: &str, rest: &str, text: &str) -> io::Result<()> {
        // Names of files and items are copied off the screen: a break inside one would spoil them.
        let options = textwrap::Options::new(self.width)
            .initial_indent(first)
            .subsequent_indent(rest)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        for line in textwrap::wrap(text, options) {
            writeln!(self.out, "{line}")?;
        }
        Ok(())
    }

    /// Writes a value as JSON, on lines of its own.
    pub fn json(&mut self, value: &impl serde::Serialize) -> io::Result<()> {
        serde_json::to_writer_pretty(&mut self.out, value).map_err(io::Error::from)?;
        writeln!(self.out)
    }
}

impl Write for Screen {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.out.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

/// Keeps what is written.
#[derive(Clone, Default)]
struct Kept(Arc<Mutex<Vec<u8>>>);

impl Write for Kept {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().map_err(|_| io::Error::other("a writer panicked"))?.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A text in a style, for `format!`.
pub fn styled(style: Style, text: impl fmt::Display) -> String {
    format!("{style}{text}{style:#}")
}
