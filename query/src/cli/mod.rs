//! The command line: one file a command, each with its arguments and what it prints.

mod ashore;
mod backup;
mod budget;
mod channels;
mod check;
mod clock;
mod column;
mod context;
mod decide;
mod demo;
mod envelope;
mod explain;
mod export;
mod find;
mod gear;
mod ingest;
mod item;
mod limits;
mod merge;
mod notices;
mod open;
mod outings;
mod passage;
mod play;
mod polar;
mod preview;
mod proved;
mod rebuild;
mod reckon;
mod record;
mod rehear;
mod report;
mod sailed;
mod serve;
mod shell;
mod transcript;
mod trend;
mod unknown;
mod voice;

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use anstyle::{AnsiColor, Style};
use chrono::NaiveDate;
use clap::builder::Styles;
use clap::parser::ValueSource;
use clap::{Args, CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::error::{Error, Exit, Kind};
use crate::screen::{BAD, CARE, styled};
use context::Context;

const STYLES: Styles = Styles::styled()
    .header(Style::new().bold())
    .usage(Style::new().bold())
    .literal(AnsiColor::Cyan.on_default())
    .error(BAD)
    .valid(AnsiColor::Cyan.on_default())
    .invalid(CARE);

/// Keeps what was measured, what was tried, how it went, and what still stands between the boat and departure.
#[derive(Debug, Parser)]
#[command(
    name = "leadsman",
    version,
    styles = STYLES,
    max_term_width = 100,
    disable_help_subcommand = true,
    after_help = "Exit codes: 0 done; 1 nothing found or nothing open, where --exit-code asks; 2 wrong use; \
                  3 a whole source could not be taken; 4 the home could not be read or written.\n\n\
                  A caution: leadsman remembers and computes, it does not decide. Makers', riggers' and surveyors' \
                  figures and local rules come first."
)]
pub struct Cli {
    #[command(flatten)]
    global: Global,
    #[command(subcommand)]
    command: Command,
}

/// What every command takes.
#[derive(Clone, Debug, Args)]
pub struct Global {
    /// The folder that holds the boat's records
    #[arg(long, global = true, env = "LEADSMAN_HOME", value_name = "DIR", hide_env_values = true)]
    home: Option<PathBuf>,
    /// Answer as on this day (YYYY-MM-DD) instead of today
    #[arg(long, global = true, value_name = "DATE", value_parser = context::on)]
    on: Option<NaiveDate>,
    /// Time zone of notes that name none, for instance Pacific/Auckland
    #[arg(long, global = true, value_name = "ZONE")]
    zone: Option<String>,
}

#[derive(Debug, Subcommand)]
enum Command {
    Ingest(ingest::Ingest),
    Preview(preview::Preview),
    Explain(explain::Explain),
    Open(open::Open),
    Find(find::FindCommand),
    Trend(trend::TrendCommand),
    Gear(gear::Gear),
    Proved(Box<proved::Proved>),
    Envelope(envelope::EnvelopeCommand),
    Outings(outings::OutingsCommand),
    Item(item::Item),
    Close(decide::Close),
    Reopen(decide::Reopen),
    Accept(decide::Accept),
    PutOff(decide::PutOff),
    Give(decide::Give),
    Wait(decide::Wait),
    Rank(decide::RankCommand),
    Due(decide::Due),
    Add(decide::Add),
    Join(decide::Join),
    Split(decide::Split),
    Note(decide::Note),
    Confirm(decide::Confirm),
    Correct(decide::Correct),
    Dismiss(decide::Dismiss),
    Undo(decide::Undo),
    Decisions(decide::Decisions),
    Withdraw(decide::Withdraw),
    Teach(decide::Teach),
    Limit(decide::Limit),
    Limits(limits::Limits),
    Passage(passage::Passage),
    Budget(Box<budget::Budget>),
    Reckon(reckon::Reckon),
    Channels(channels::Channels),
    Voice(voice::Voice),
    Rehear(rehear::Rehear),
    Transcript(transcript::TranscriptCommand),
    Play(play::Play),
    Clock(clock::Clock),
    Column(column::Column),
    Record(record::Record),
    Sailed(sailed::SailedCommand),
    Polar(polar::PolarCommand),
    Doubts(notices::Doubts),
    Notices(notices::Notices),
    Check(check::Check),
    Rebuild(rebuild::Rebuild),
    Merge(merge::Merge),
    Backup(backup::Backup),
    Restore(backup::Restore),
    Serve(serve::Serve),
    Report(report::Report),
    Export(export::Export),
    Ashore(ashore::Ashore),
    Completions(shell::Completions),
    Manual(shell::Manual),
    Demo(demo::Demo),
}

/// Reads the command line, does what it asks, and says how that ended.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    context::see_from(&arguments);
    let read = Cli::command().try_get_matches_from(&arguments);
    let home_by_hand = read.as_ref().is_ok_and(|matches| {
        let below = matches.subcommand().and_then(|(_, matches)| matches.value_source("home"));
        below.or(matches.value_source("home")) == Some(ValueSource::CommandLine)
    });
    let mut cli = match read.and_then(|matches| Cli::from_arg_matches(&matches)) {
        Ok(cli) => cli,
        Err(error) => {
            let words: Vec<&str> = arguments.iter().filter_map(|word| word.to_str()).collect();
            let names = names();
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            if let Some(error) = unknown::command(&error, &words, &names) {
                report(&error);
                return error.exit().into();
            }
            // Help and version come this way too, with code 0; a closed pipe is no failure.
            let code = if error.use_stderr() { Exit::WrongUse } else { Exit::Done };
            error.print().ok();
            return code.into();
        }
    };
    // The demo goes into a home of the skipper's only where that is asked for in so many words.
    if matches!(cli.command, Command::Demo(_)) && !home_by_hand {
        cli.global.home = None;
    }
    if matches!(
        cli.command,
        Command::Reckon(_) | Command::Budget(_) | Command::Limit(_) | Command::Correct(_)
    ) && arguments.iter().filter_map(|word| word.to_str()).any(names_a_gallon)
    {
        anstream::eprintln!(
            "note: a gallon is taken for the US one of 3.785 L; \"Imp gal\" is the imperial one"
        );
    }
    match cli.command.run(&cli.global) {
        Ok(exit) => exit.into(),
        Err(error) => {
            if error.kind != Kind::Output {
                report(&error);
            }
            error.exit().into()
        }
    }
}

/// The names of the commands.
fn names() -> Vec<String> {
    Cli::command().get_subcommands().map(|command| command.get_name().to_owned()).collect()
}

/// Whether words hold gallons that are not said to be of either kind: "120gal", "7 gallons".
fn names_a_gallon(words: &str) -> bool {
    let words = words.to_lowercase();
    let mut parts = words.split(|sign: char| !sign.is_alphabetic());
    let either = ["us", "american", "imp", "imperial", "uk", "british"];
    parts.clone().any(|part| ["gal", "gals", "gallon", "gallons"].contains(&part))
        && !parts.any(|part| either.contains(&part))
}

impl Command {
    fn run(self, global: &Global) -> Result<Exit, Error> {
        if let Command::Demo(command) = self {
            return command.run(global);
        }
        let mut context = Context::new(global)?;
        // Many files are read and many devices answered side by side; a single question starts faster on one thread.
        let runtime = match self {
            Command::Ingest(_)
            | Command::Rebuild(_)
            | Command::Merge(_)
            | Command::Restore(_)
            | Command::Serve(_) => tokio::runtime::Builder::new_multi_thread(),
            _ => tokio::runtime::Builder::new_current_thread(),
        };
        started(runtime)?.block_on(self.answer(&mut context))
    }

    async fn answer(self, context: &mut Context) -> Result<Exit, Error> {
        match self {
            Command::Ingest(command) => command.run(context).await,
            Command::Preview(command) => command.run(context).await,
            Command::Budget(command) => command.run(context).await,
            Command::Channels(command) => command.run(context).await,
            Command::Clock(command) => command.run(context).await,
            Command::Column(command) => command.run(context).await,
            Command::Record(command) => command.run(context).await,
            Command::Sailed(command) => command.run(context).await,
            Command::Polar(command) => command.run(context).await,
            Command::Reckon(command) => command.run(context).await,
            Command::Explain(command) => command.run(context).await,
            Command::Open(command) => command.run(context).await,
            Command::Find(command) => command.run(context).await,
            Command::Trend(command) => command.run(context).await,
            Command::Item(command) => command.run(context).await,
            Command::Close(command) => command.run(context).await,
            Command::Reopen(command) => command.run(context).await,
            Command::Gear(command) => command.run(context).await,
            Command::Proved(command) => command.run(context).await,
            Command::Envelope(command) => command.run(context).await,
            Command::Outings(command) => command.run(context).await,
            Command::Accept(command) => command.run(context).await,
            Command::PutOff(command) => command.run(context).await,
            Command::Give(command) => command.run(context).await,
            Command::Wait(command) => command.run(context).await,
            Command::Rank(command) => command.run(context).await,
            Command::Due(command) => command.run(context).await,
            Command::Add(command) => command.run(context).await,
            Command::Join(command) => command.run(context).await,
            Command::Split(command) => command.run(context).await,
            Command::Note(command) => command.run(context).await,
            Command::Confirm(command) => command.run(context).await,
            Command::Correct(command) => command.run(context).await,
            Command::Dismiss(command) => command.run(context).await,
            Command::Undo(command) => command.run(context).await,
            Command::Decisions(command) => command.run(context).await,
            Command::Withdraw(command) => command.run(context).await,
            Command::Teach(command) => command.run(context).await,
            Command::Limit(command) => command.run(context).await,
            Command::Limits(command) => command.run(context).await,
            Command::Passage(command) => command.run(context).await,
            Command::Voice(command) => command.run(context).await,
            Command::Rehear(command) => command.run(context).await,
            Command::Transcript(command) => command.run(context).await,
            Command::Play(command) => command.run(context).await,
            Command::Doubts(command) => command.run(context).await,
            Command::Notices(command) => command.run(context).await,
            Command::Check(command) => command.run(context).await,
            Command::Rebuild(command) => command.run(context).await,
            Command::Merge(command) => command.run(context).await,
            Command::Backup(command) => command.run(context).await,
            Command::Restore(command) => command.run(context).await,
            Command::Serve(command) => command.run(context).await,
            Command::Report(command) => command.run(context).await,
            Command::Export(command) => command.run(context).await,
            Command::Ashore(command) => command.run(context).await,
            Command::Completions(command) => command.run(context).await,
            Command::Manual(command) => command.run(context).await,
            Command::Demo(_) => Err(Error::wrong_use("the demo runs the other commands, and is run by none")),
        }
    }
}

/// Starts a runtime. Errors: the system gives no threads.
fn started(mut builder: tokio::runtime::Builder) -> Result<tokio::runtime::Runtime, Error> {
    builder
        .enable_all()
        .build()
        .map_err(|error| Error::home("the program's own threads could not be started").because(&error))
}

/// Tells an error on standard error: what, why, and what next.
fn report(error: &Error) {
    anstream::eprintln!("{} {}", styled(BAD, "error:"), error.message);
    for cause in &error.causes {
        anstream::eprintln!("  because: {cause}");
    }
    if let Some(hint) = &error.hint {
        anstream::eprintln!("  {} {hint}", styled(CARE, "hint:"));
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_well_defined() {
        super::Cli::command().debug_assert();
    }
}
