//! `leadsman rehear`: listens to what is kept and not heard yet, or hears a recording again.

use std::time::Instant;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use leadsman_index::{Dump, Outcome, SourceId, SourceState, Store, With};
use leadsman_ingest::heard::Transcript;
use leadsman_ingest::sound;

use super::context::{Context, PATIENCE};
use crate::error::{Error, Exit, Kind};
use crate::figure;
use crate::ingested::show_report;
use crate::notices::Repeats;
use crate::screen::{CARE, FAINT, STRONG, styled};
use crate::voice::changes::Changes;
use crate::voice::listen::{Listener, Progress};
use crate::voice::{self, Model, prompt, screen};

/// Listen to recordings that were not heard yet, or hear some again
#[derive(Debug, Args)]
pub struct Rehear {
    /// Recordings to hear again, by file name or hash; without any, those that were never heard
    #[arg(value_name = "RECORDING")]
    recordings: Vec<String>,
    /// Let what is heard now take the place of what was heard before
    #[arg(long, requires = "recordings")]
    take: bool,
    /// Leave boat words as they were heard
    #[arg(long)]
    as_heard: bool,
}

/// A recording of the home.
struct Recording {
    source: SourceId,
    name: String,
    /// The transcript that answers, and whether it was put right by hand.
    transcript: Option<(SourceId, bool)>,
}

impl Rehear {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let Some(store) = context.store().await? else {
            context.screen.line("no recordings: the home is empty")?;
            return Ok(Exit::Done);
        };
        let all = recordings(&store).await?;
        if self.recordings.is_empty() {
            let unheard: Vec<Recording> = all.into_iter().filter(|r| r.transcript.is_none()).collect();
            if unheard.is_empty() {
                context.screen.line("all recordings have been heard")?;
                return Ok(Exit::Done);
            }
            let model = voice::model(&context.home.path, &context.settings)?;
            return hear_all(&unheard, &model, !self.as_heard, &store, context).await;
        }
        let mut asked = Vec::new();
        for name in &self.recordings {
            asked.push(find(&all, name, &store).await?);
        }
        let model = voice::model(&context.home.path, &context.settings)?;
        let mut exit = Exit::Done;
        for recording in asked {
            exit = exit.max(self.again(recording, &model, &store, context).await?);
        }
        Ok(exit)
    }

    async fn again(
        &self,
        recording: &Recording,
        model: &Model,
        store: &Store,
        context: &mut Context,
    ) -> Result<Exit, Error> {
        let Some((before, by_hand)) = recording.transcript else {
            return hear_all(std::slice::from_ref(recording), model, !self.as_heard, store, context).await;
        };
        let words = prompt::of(Some(store)).await?;
        let home = context.home.path.clone();
        let cores = context.settings.cores;
        let listener = Listener { home: &home, model, prompt: &words, mending: !self.as_heard, cores };
        let listened = listen(&listener, recording, context)?;
        let archive = context.home.open()?.archive();
        let old = String::from_utf8_lossy(&archive.read(&before)?).into_owned();
        let Some(old) = Transcript::read(&old) else {
            return Err(Error::home(format!("the transcript of {} does not read", recording.name)));
        };
        let changes = Changes::between(&old, &listened.transcript, &Default::default());
        screen::changes(&recording.name, &changes, &mut context.screen)?;
        if by_hand {
            context.screen.paragraph("  ", "  ", "its words were put right by hand, and those stay")?;
        } else if self.take {
            return store_transcript(recording, &listened.transcript, store, context).await;
        } else if changes != Changes::default() {
            let text = format!(
                "nothing was changed; `leadsman rehear --take {}` lets this take over, and keeps your decisions",
                recording.name
            );
            context.screen.paragraph("  ", "  ", &styled(FAINT, text))?;
        }
        Ok(Exit::Done)
    }
}

/// Hears the recordings among sources that came in. Where that cannot be, it says so once.
pub async fn hear(came: &[SourceId], context: &mut Context) -> Result<Exit, Error> {
    if came.is_empty() {
        return Ok(Exit::Done);
    }
    let Some(store) = context.store().await? else { return Ok(Exit::Done) };
    let mut unheard = recordings(&store).await?;
    unheard.retain(|recording| recording.transcript.is_none() && came.contains(&recording.source));
    if unheard.is_empty() {
        return Ok(Exit::Done);
    }
    match voice::model(&context.home.path, &context.settings) {
        Ok(model) => hear_all(&unheard, &model, true, &store, context).await,
        Err(error) => {
            let kept = figure::count(unheard.len(), "recording is kept and", "recordings are kept and");
            let verb = if unheard.len() == 1 { "was" } else { "were" };
            let text = format!("{kept} {verb} not heard yet: {}", error.message);
            context.screen.paragraph(&format!("{} ", styled(CARE, "note:")), "  ", &text)?;
            if let Some(hint) = error.hint {
                context.screen.paragraph(&format!("  {} ", styled(CARE, "hint:")), "  ", &hint)?;
            }
            Ok(Exit::Done)
        }
    }
}

/// The home's recordings that answer and that can be listened to, in the order in which they came.
async fn recordings(store: &Store) -> Result<Vec<Recording>, Error> {
    let record = store.record();
    let mut all = Vec::new();
    for row in store.sources().await? {
        if row.format != sound::FORMAT || row.state != SourceState::Live {
            continue;
        }
        let stored = store.note(&row.source, With::default()).await?;
        // One without sound, or whose sound nobody here can decode, was told of when it came in.
        if stored.is_some_and(|stored| stored.note.encoding != sound::UNKNOWN) {
            let transcript = record.transcript_of(&row.source);
            all.push(Recording { source: row.source, name: row.name, transcript });
        }
    }
    Ok(all)
}

/// The recording that a person means, by its own name or that of its transcript.
async fn find<'a>(all: &'a [Recording], name: &str, store: &Store) -> Result<&'a Recording, Error> {
    let source = store.find_source(name).await?.source;
    let recording = store.record().recording_of(&source).unwrap_or(source);
    all.iter().find(|r| r.source == recording).ok_or_else(|| {
        Error::wrong_use(format!("{name} is no recording")).hint("`leadsman rehear` hears recordings only")
    })
}

/// Hears recordings for the first time, one after the other; one that cannot be heard does not stop the others.
async fn hear_all(
    unheard: &[Recording],
    model: &Model,
    mending: bool,
    store: &Store,
    context: &mut Context,
) -> Result<Exit, Error> {
    let words = prompt::of(Some(store)).await?;
    let mut exit = Exit::Done;
    for recording in unheard {
        let path = context.home.path.clone();
        let cores = context.settings.cores;
        let listener = Listener { home: &path, model, prompt: &words, mending, cores };
        match listen(&listener, recording, context) {
            Ok(listened) => {
                exit = exit.max(store_transcript(recording, &listened.transcript, store, context).await?);
                for remark in &listened.remarks {
                    context.screen.paragraph(&format!("    {} ", styled(CARE, "note:")), "    ", remark)?;
                }
            }
            Err(error) if error.kind == Kind::Source => {
                context.screen.paragraph(
                    "",
                    "    ",
                    &format!("{} {}", styled(CARE, "not heard:"), error.message),
                )?;
                for cause in &error.causes {
                    context.screen.paragraph("    because: ", "    ", cause)?;
                }
                if let Some(hint) = &error.hint {
                    context.screen.paragraph(&format!("    {} ", styled(CARE, "hint:")), "    ", hint)?;
                }
                exit = exit.max(Exit::SourceRefused);
            }
            Err(error) => return Err(error),
        }
    }
    Ok(exit)
}

/// Listens to one recording, with its progress and speed on the terminal. No lock is held meanwhile.
fn listen(
    listener: &Listener<'_>,
    recording: &Recording,
    context: &mut Context,
) -> Result<voice::listen::Listened, Error> {
    let file = context.home.open()?.archive().unpack(&recording.source)?;
    let style = ProgressStyle::with_template("listening to {prefix}  {bar:20} {msg}")
        .expect("the template is well formed");
    let bar = ProgressBar::new(1_000).with_style(style).with_prefix(recording.name.clone());
    bar.set_message("opening");
    let begun = Instant::now();
    let tell = |progress: Progress| {
        let speed = (progress.heard - progress.before) / begun.elapsed().as_secs_f64().max(1e-3);
        let of = progress.of.filter(|of| *of >= progress.heard);
        let left = of.map_or_else(String::new, |of| {
            format!(", {} left", figure::clock((of - progress.heard) / speed.max(1e-3)))
        });
        let length = of.map_or_else(String::new, |of| format!(" of {}", figure::clock(of)));
        bar.set_position(of.map_or(0, |of| (progress.heard / of * 1_000.0) as u64));
        bar.set_message(format!("{}{length}, {speed:.1} × real time{left}", figure::clock(progress.heard)));
    };
    let listened = listener.listen(&recording.source, &recording.name, file, tell);
    bar.finish_and_clear();
    let listened = listened?;
    let took = begun.elapsed().as_secs_f64();
    let length = listened.transcript.seconds;
    let text = format!(
        "{}  {}",
        styled(STRONG, &recording.name),
        styled(
            FAINT,
            format!(
                "{} heard in {} ({:.1} × real time) by {}",
                figure::clock(length),
                figure::clock(took.ceil()),
                length / took.max(1e-3),
                listener.model.name
            )
        )
    );
    context.screen.paragraph("", "    ", &text)?;
    Ok(listened)
}

/// Keeps a transcript as a source of its recording, and tells what was found in it.
async fn store_transcript(
    recording: &Recording,
    transcript: &Transcript,
    store: &Store,
    context: &mut Context,
) -> Result<Exit, Error> {
    let dump = dump(recording, transcript, store);
    let mut writer = context.home.open()?.writer(PATIENCE).await?;
    let mut reports = writer.ingest([dump], |_| {}).await?;
    writer.finish().await?;
    let Some(report) = reports.pop() else { return Ok(Exit::Done) };
    show_report(&report, &mut Repeats::default(), 0, &mut context.screen)?;
    Ok(match report.outcome {
        Outcome::Refused { .. } => Exit::SourceRefused,
        _ => Exit::Done,
    })
}

fn dump(recording: &Recording, transcript: &Transcript, store: &Store) -> Dump {
    let mut dump = Dump::bytes(heard_name(&recording.name), transcript.write().into_bytes());
    if let Some(arrival) = store.record().arrivals().find(|arrival| arrival.source == recording.source) {
        let hints = arrival.hints();
        (dump.hints.recorded, dump.hints.zone, dump.hints.modified) =
            (hints.recorded, hints.zone, hints.modified);
    }
    dump.of = Some(recording.source);
    dump.replaces = recording.transcript.map(|(before, _)| before);
    dump
}

/// The name that a recording's transcript goes by.
pub fn heard_name(recording: &str) -> String {
    format!("{recording} (heard)")
}
