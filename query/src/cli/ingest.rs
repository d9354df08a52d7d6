//! `leadsman ingest`: takes files, folders and standard input, and goes on taking what is dropped into a folder.

use std::collections::BTreeMap;
use std::io::{IsTerminal, Read};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use chrono::{DateTime, FixedOffset};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use leadsman_index::{Dump, Outcome, Report, SourceId};
use notify::{RecursiveMode, Watcher};
use tokio::sync::mpsc;

use super::context::{Context, PATIENCE};
use super::rehear::hear;
use crate::dumped::{self, Found};
use crate::error::{Error, Exit};
use crate::figure;
use crate::folded;
use crate::ingested::{Tally, show_report, show_tally};
use crate::moment_word::instant;
use crate::notices::Repeats;
use crate::screen::{CARE, Screen, styled};

/// Fewer files than this are done before a bar could be read.
const WORTH_A_BAR: usize = 20;
/// A dropped file is taken once it has not changed for so long.
const QUIET: Duration = Duration::from_secs(1);
/// How often dropped files are looked at while they may still change.
const LOOK: Duration = Duration::from_millis(250);

/// Take notes: files, folders, standard input
#[derive(Debug, Args)]
pub struct Ingest {
    /// Files, folders (with all below them), or - for standard input
    #[arg(required_unless_present = "watch", value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Go on taking what is dropped into this folder, until stopped
    #[arg(long, value_name = "FOLDER")]
    watch: Option<PathBuf>,
    /// When the recording or the entry begins, where the file itself does not say (one file only)
    #[arg(long, value_name = "TIME")]
    recorded: Option<String>,
    /// The source that this one is a newer copy of, by its file's name or hash (one file only)
    #[arg(long, value_name = "SOURCE")]
    replaces: Option<String>,
}

impl Ingest {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let found = dumped::find(&self.paths);
        let recorded = self
            .recorded
            .as_deref()
            .map(|text| instant(text, context.zone.value))
            .transpose()
            .map_err(|error| error.about("--recorded"))?;
        self.one_file_only(&found)?;
        let replaces = match &self.replaces {
            Some(name) => Some(context.source(name).await?),
            None => None,
        };
        let mut exit = Exit::Done;
        if !self.paths.is_empty() {
            let dumps = dumps(&found, recorded, replaces, context)?;
            exit = take(found, dumps, true, context).await?;
        }
        if let Some(folder) = &self.watch {
            exit = exit.max(watch(folder, context).await?);
        }
        Ok(exit)
    }

    /// A time or a source to replace can only be of one file.
    fn one_file_only(&self, found: &Found) -> Result<(), Error> {
        let option = match (&self.recorded, &self.replaces) {
            (Some(_), _) => "--recorded",
            (None, Some(_)) => "--replaces",
            (None, None) => return Ok(()),
        };
        if self.watch.is_none() && found.files.len() + usize::from(found.standard_input) == 1 {
            return Ok(());
        }
        let files = figure::count(found.files.len() + usize::from(found.standard_input), "file", "files");
        Err(Error::wrong_use(format!("{option} is for one file, found {files}"))
            .hint("ingest the files one by one"))
    }
}

fn dumps(
    found: &Found,
    recorded: Option<DateTime<FixedOffset>>,
    replaces: Option<SourceId>,
    context: &Context,
) -> Result<Vec<Dump>, Error> {
    let mut dumps: Vec<Dump> = found.files.iter().map(Dump::file).collect();
    if found.standard_input {
        let mut bytes = Vec::new();
        std::io::stdin()
            .read_to_end(&mut bytes)
            .map_err(|error| Error::source("cannot read standard input").because(&error))?;
        dumps.push(Dump::bytes(dumped::STANDARD_INPUT, bytes));
    }
    for dump in &mut dumps {
        dump.hints.recorded = recorded;
        dump.hints.zone = Some((context.zone.value, context.zone.from.clone()));
        dump.replaces = replaces;
    }
    Ok(dumps)
}

/// Takes what was found and tells of each; `sum_up` adds the lines at the end. Then listens to the recordings among it.
async fn take(found: Found, dumps: Vec<Dump>, sum_up: bool, context: &mut Context) -> Result<Exit, Error> {
    let mut taken = Vec::new();
    let mut repeats = Repeats::default();
    let mut tally = Tally { passed_over: found.passed_over, ..Tally::default() };
    let screen = &mut context.screen;
    let mut said = Ok(());
    for refused in &found.refused {
        tally.refused += 1;
        said = said.and_then(|()| refused.show(screen));
    }
    if !dumps.is_empty() {
        let bar = bar(dumps.len());
        let width = dumps.iter().map(|dump| dump.hints.name.chars().count()).max().unwrap_or(0).min(50);
        let tell = |report: &Report| {
            tally.add(report);
            if let Outcome::Taken { source, .. } = report.outcome {
                taken.push(source);
            }
            // A reader that went away stops the telling, not the taking.
            if said.is_ok() {
                said = bar.suspend(|| show_report(report, &mut repeats, width, screen));
            }
            bar.inc(1);
        };
        let mut writer = context.home.open()?.writer(PATIENCE).await?;
        writer.ingest(dumps, tell).await?;
        folded::keep(&mut writer).await?;
        writer.finish().await?;
        bar.finish_and_clear();
        if tally.found.sources > 0 {
            context.keep_fresh().await;
        }
    }
    said?;
    repeats.show(&mut context.screen)?;
    if sum_up {
        show_tally(&tally, &context.home.path, &mut context.screen)?;
    }
    let heard = hear(&taken, context).await?;
    Ok(heard.max(if tally.refused > 0 { Exit::SourceRefused } else { Exit::Done }))
}

fn bar(files: usize) -> ProgressBar {
    if files < WORTH_A_BAR || !std::io::stderr().is_terminal() || !std::io::stdout().is_terminal() {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} files, {eta} left")
        .expect("the template is well formed");
    ProgressBar::new(files as u64).with_style(style)
}

/// Takes what is in a folder, and then what comes, until the program is stopped.
async fn watch(folder: &Path, context: &mut Context) -> Result<Exit, Error> {
    if !folder.is_dir() {
        return Err(Error::wrong_use(format!("--watch takes a folder, and {} is none", folder.display())));
    }
    let (send, mut heard) = mpsc::unbounded_channel();
    let cannot =
        |error: notify::Error| Error::source(format!("cannot watch {}", folder.display())).because(&error);
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        for path in event.map(|event| event.paths).unwrap_or_default() {
            // The receiver is gone only when the program ends.
            send.send(path).ok();
        }
    })
    .map_err(cannot)?;
    watcher.watch(folder, RecursiveMode::Recursive).map_err(cannot)?;
    let found = dumped::find(&[folder.to_owned()]);
    let dumps_here = dumps(&found, None, None, context)?;
    let mut exit = take(found, dumps_here, true, context).await?;
    let told = format!("watching {}; stop with Ctrl-C", folder.display());
    context.screen.line(styled(CARE, told))?;
    flush(&mut context.screen)?;

    let mut changing: BTreeMap<PathBuf, Instant> = BTreeMap::new();
    // One future for the whole time: a signal that comes while files are being taken is heard after them.
    let mut stop = std::pin::pin!(tokio::signal::ctrl_c());
    loop {
        tokio::select! {
            stopped = &mut stop => {
                stopped.map_err(|error| Error::home("cannot wait for Ctrl-C").because(&error))?;
                return Ok(exit);
            }
            Some(path) = heard.recv() => {
                changing.insert(path, Instant::now());
            }
            () = tokio::time::sleep(LOOK), if !changing.is_empty() => {
                let settled: Vec<PathBuf> =
                    changing.iter().filter(|(_, at)| at.elapsed() >= QUIET).map(|(path, _)| path.clone()).collect();
                changing.retain(|path, _| !settled.contains(path));
                let there: Vec<PathBuf> = settled.into_iter().filter(|path| path.exists()).collect();
                if !there.is_empty() {
                    let found = dumped::dropped(folder, &there);
                    let dumps = dumps(&found, None, None, context)?;
                    exit = exit.max(take(found, dumps, false, context).await?);
                    flush(&mut context.screen)?;
                }
            }
        }
    }
}

fn flush(screen: &mut Screen) -> Result<(), Error> {
    Ok(std::io::Write::flush(screen)?)
}
