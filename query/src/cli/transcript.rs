//! `leadsman transcript`: the words that were heard in a recording, to read and to put right.

use std::path::PathBuf;

use clap::Args;
use leadsman_index::{Decision, Dump, Outcome, Store};
use leadsman_ingest::heard::Transcript;
use leadsman_ingest::text;

use super::context::{Context, PATIENCE};
use super::rehear::heard_name;
use crate::error::{Error, Exit};
use crate::ingested::show_report;
use crate::notices::Repeats;
use crate::voice::screen;

/// Show what was heard in a recording, or put it right
#[derive(Debug, Args)]
pub struct TranscriptCommand {
    /// The recording, by file name or hash
    recording: String,
    /// Print it as a file to edit (WebVTT)
    #[arg(long, conflicts_with = "correct")]
    edit: bool,
    /// Take this edited file for what was said, from now on and whatever is heard later
    #[arg(long, value_name = "FILE")]
    correct: Option<PathBuf>,
}

impl TranscriptCommand {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let none = || Error::wrong_use(format!("there is no recording \"{}\"", self.recording));
        let store = context.store().await?.ok_or_else(none)?;
        let asked = store.find_source(&self.recording).await?;
        let recording = store.record().recording_of(&asked.source).unwrap_or(asked.source);
        let Some((source, _)) = store.record().transcript_of(&recording) else {
            let error = Error::wrong_use(format!("{}: nothing was heard in it yet", asked.name));
            return Err(error.hint("`leadsman rehear` hears the recordings that were not heard yet"));
        };
        let old = String::from_utf8_lossy(&context.home.open()?.archive().read(&source)?).into_owned();
        let Some(heard) = Transcript::read(&old) else {
            return Err(Error::home(format!("the transcript of {} does not read", asked.name)));
        };
        if let Some(file) = &self.correct {
            let new = super::preview::read(file)?;
            let edited = text::decode(&new).text;
            let corrected = corrected(&heard, &edited).map_err(|what| {
                Error::source(format!("{}: {what}", file.display()))
                    .hint(format!("`leadsman transcript --edit {}` prints the file to edit", asked.name))
            })?;
            return keep(&corrected, &heard.name, recording, source, &store, context).await;
        }
        if self.edit {
            std::io::Write::write_all(&mut context.screen, old.as_bytes())?;
        } else {
            screen::transcript(&heard, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}

/// What was said by an edited file: its words and times, under the name of the recording.
fn corrected(heard: &Transcript, edited: &str) -> Result<Transcript, String> {
    let read =
        Transcript::read(edited).ok_or("expected an edited transcript of leadsman's, found another file")?;
    if read.recording != heard.recording {
        return Err(format!("expected a transcript of {}, found one of {}", heard.name, read.name));
    }
    if read.said.is_empty() {
        return Err("expected words with their times, found none".to_owned());
    }
    let mut out = Transcript { corrected: true, said: read.said, ..heard.clone() };
    // What was unsure is not any more.
    for said in &mut out.said {
        said.changes.clear();
        said.unsure.clear();
    }
    Ok(out)
}

async fn keep(
    transcript: &Transcript,
    name: &str,
    recording: leadsman_index::SourceId,
    before: leadsman_index::SourceId,
    store: &Store,
    context: &mut Context,
) -> Result<Exit, Error> {
    let mut dump = Dump::bytes(heard_name(name), transcript.write().into_bytes());
    if let Some(arrival) = store.record().arrivals().find(|arrival| arrival.source == recording) {
        let hints = arrival.hints();
        (dump.hints.recorded, dump.hints.zone, dump.hints.modified) =
            (hints.recorded, hints.zone, hints.modified);
    }
    (dump.of, dump.replaces) = (Some(recording), Some(before));
    let mut writer = context.home.open()?.writer(PATIENCE).await?;
    let mut reports = writer.ingest([dump], |_| {}).await?;
    let Some(report) = reports.pop() else { return Ok(Exit::Done) };
    let kept = match &report.outcome {
        Outcome::Taken { source, .. } | Outcome::AlreadyThere { source, .. } => Some(*source),
        Outcome::Refused { .. } => None,
    };
    if let Some(transcript) = kept {
        writer.decide(Decision::Transcript { recording, transcript }).await?;
    }
    writer.finish().await?;
    show_report(&report, &mut Repeats::default(), 0, &mut context.screen)?;
    Ok(if kept.is_some() { Exit::Done } else { Exit::SourceRefused })
}
