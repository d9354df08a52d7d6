//! Listening to a recording, window by window, so that it can be stopped and goes on where it was.
//!
//! Each window that was heard is a line in `derived/heard/`, in a file named for the recording and the model. Its first
//! line has the prompt, so that all of a recording is heard with the same one.

use std::fs::{File, OpenOptions};
use std::io::{Seek, SeekFrom};
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

use leadsman_index::{SourceId, write_on};
use leadsman_ingest::heard::{self, Said, Transcript};
use leadsman_ingest::sound::{RATE, Sound};
use serde::{Deserialize, Serialize};

use super::engine::Engine;
use super::ggml::Model;
use super::window::{Heard, Windows, is_silent};
use crate::error::Error;

/// How far listening has come.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// Seconds of the recording heard.
    pub heard: f64,
    /// Its length, where it is known.
    pub of: Option<f64>,
    /// Seconds that were heard earlier on.
    pub before: f64,
}

/// What came of listening.
#[derive(Clone, Debug)]
pub struct Listened {
    /// The transcript.
    pub transcript: Transcript,
    /// What the skipper should know of the recording.
    pub remarks: Vec<String>,
}

/// The first line of a file of windows.
#[derive(Serialize, Deserialize)]
struct Head {
    prompt: String,
    program: String,
}

/// The windows of one recording and model that were heard already.
struct Kept {
    path: PathBuf,
    file: File,
    windows: Vec<Heard>,
    prompt: String,
}

impl Kept {
    /// Opens the file of windows, or begins one. What does not read, as the line under way when the power went, is cut off.
    fn open(home: &Path, recording: &SourceId, model: &Model, prompt: &str) -> Result<Self, Error> {
        let folder = home.join("derived").join("heard");
        let path = folder.join(format!("{}-{}.jsonl", recording.short(), model.short()));
        let cannot = |error: std::io::Error| {
            Error::home(format!("cannot keep what is heard in {}", path.display()))
                .because(&error)
                .hint("free some space, then run `leadsman rehear`: it goes on where it was")
        };
        std::fs::create_dir_all(&folder).map_err(cannot)?;
        let before = std::fs::read(&path).unwrap_or_default();
        let mut lines = before.split_inclusive(|byte| *byte == b'\n').filter(|line| line.ends_with(b"\n"));
        let program = env!("CARGO_PKG_VERSION");
        let head =
            lines.next().and_then(|line| Some((serde_json::from_slice::<Head>(line).ok()?, line.len())));
        let mut file =
            OpenOptions::new().create(true).write(true).truncate(false).open(&path).map_err(cannot)?;
        let mut windows: Vec<Heard> = Vec::new();
        let Some((head, mut good)) = head.filter(|(head, _)| head.program == program) else {
            let head = Head { prompt: prompt.to_owned(), program: program.to_owned() };
            let line = serde_json::to_string(&head).unwrap_or_default() + "\n";
            file.set_len(0).map_err(cannot)?;
            write_on(&mut file, &path, line.as_bytes()).map_err(cannot)?;
            return Ok(Self { path: path.clone(), file, windows, prompt: head.prompt });
        };
        for line in lines {
            let end = windows.last().map_or(0, |window| window.until);
            match serde_json::from_slice::<Heard>(line) {
                Ok(window) if window.from == end => windows.push(window),
                _ => break,
            }
            good += line.len();
        }
        // What is good stays as it is: on a full disk, writing it anew would lose it.
        file.set_len(good as u64).and_then(|()| file.seek(SeekFrom::End(0))).map_err(cannot)?;
        Ok(Self { path: path.clone(), file, windows, prompt: head.prompt })
    }

    fn add(&mut self, window: Heard) -> Result<(), Error> {
        let line = serde_json::to_string(&window).unwrap_or_default() + "\n";
        write_on(&mut self.file, &self.path, line.as_bytes()).map_err(|error| {
            Error::home(format!("cannot keep what is heard in {}", self.path.display()))
                .because(&error)
                .hint("free some space, then run `leadsman rehear`: it goes on where it was")
        })?;
        self.windows.push(window);
        Ok(())
    }
}

/// What is listened to, and with what.
pub struct Listener<'a> {
    /// The home's folder.
    pub home: &'a Path,
    /// The model.
    pub model: &'a Model,
    /// Words that are likely to be said; what was heard already keeps its own.
    pub prompt: &'a str,
    /// Whether boat words are put right.
    pub mending: bool,
    /// Processor cores that may be taken; all of them where it is not said.
    pub cores: Option<NonZeroUsize>,
}

impl Listener<'_> {
    /// Listens to a recording: its bytes, as a file that can be read from anywhere in it.
    ///
    /// Errors: nothing in it can be listened to; the recogniser; the disk. What was heard until then is kept.
    pub fn listen(
        &self,
        recording: &SourceId,
        name: &str,
        file: File,
        mut tell: impl FnMut(Progress),
    ) -> Result<Listened, Error> {
        let mut sound = Sound::open(Box::new(file)).map_err(|unheard| Error {
            hint: unheard.hint().map(str::to_owned),
            ..Error::source(format!("{name}: {unheard}"))
        })?;
        let mut kept = Kept::open(self.home, recording, self.model, self.prompt)?;
        let before = kept.windows.last().map_or(0, |window| window.until);
        let seconds = |samples: u64| samples as f64 / f64::from(RATE);
        let of = sound.seconds();
        let mut engine: Option<Engine> = None;
        let mut windows = Windows::default();
        let mut more = true;
        let mut loud = kept.windows.iter().any(|window| !window.said.is_empty());
        while more {
            more = sound.more(windows.waiting());
            if !windows.skip_to(before) {
                continue;
            }
            while let Some((from, samples)) = windows.next(!more) {
                let mut said = Vec::new();
                if !is_silent(&samples) {
                    loud = true;
                    if engine.is_none() {
                        engine = Some(Engine::open(self.model, &kept.prompt, self.cores)?);
                    }
                    if let Some(engine) = &mut engine {
                        said = engine.hear(&samples);
                    }
                }
                let until = from + samples.len() as u64;
                let (start, end) = (seconds(from), seconds(until));
                for (a, b, _) in &mut said {
                    (*a, *b) = ((start + *a).min(end), (start + *b).min(end));
                }
                kept.add(Heard { from, until, said })?;
                tell(Progress { heard: end, of, before: seconds(before) });
            }
        }
        let mut remarks = Vec::new();
        let length = sound.done();
        if sound.is_cut_short() {
            let said = of.map_or_else(String::new, |of| format!(" of {}", crate::figure::clock(of)));
            remarks.push(format!(
                "the file ends in the middle: {}{said} was there to hear",
                crate::figure::clock(length)
            ));
        }
        if sound.broken() > 0 {
            let stretches = crate::figure::count(sound.broken(), "short stretch", "short stretches");
            remarks.push(format!("{stretches} of it could not be decoded"));
        }
        let said = self.said(&kept.windows);
        if said.is_empty() {
            let what = if loud { "no words in it" } else { "silence" };
            remarks.push(format!("nothing was understood: {what}"));
        }
        let transcript = Transcript {
            recording: recording.to_string(),
            name: name.to_owned(),
            model: self.model.name.clone(),
            model_sha256: self.model.sha256.clone(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
            began: sound.began(),
            seconds: length,
            corrected: false,
            said,
        };
        Ok(Listened { transcript, remarks })
    }

    fn said(&self, windows: &[Heard]) -> Vec<Said> {
        let all = windows.iter().flat_map(|window| &window.said);
        let mut out: Vec<Said> = Vec::new();
        for (from, until, words) in all {
            let words = words
                .iter()
                .map(|(text, probability)| heard::Word { text: plain(text), probability: *probability })
                .filter(|word| !word.text.is_empty())
                .collect::<Vec<_>>();
            if words.is_empty() || is_mark(&words) {
                continue;
            }
            for sentence in heard::sentences(&heard::Heard { from: *from, until: *until, words }) {
                let said = heard::said(&sentence, self.mending);
                // A recogniser that has lost its way says the same again and again.
                if out.len() < 2 || out[out.len() - 2..].iter().any(|before| before.text != said.text) {
                    out.push(said);
                }
            }
        }
        out
    }
}

/// A word without the signs that mean something else in a transcript.
fn plain(word: &str) -> String {
    word.chars().filter(|c| !matches!(c, '<' | '>' | '&' | '\n' | '\r' | '♪')).collect()
}

/// Whether the words are a mark of a sound: `[Music]`, `(wind blowing)`, `*engine*`.
fn is_mark(words: &[heard::Word]) -> bool {
    let line = words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ");
    let line = line.trim_end_matches(['.', ' ']);
    [('[', ']'), ('(', ')'), ('*', '*')]
        .iter()
        .any(|(open, close)| line.len() > 1 && line.starts_with(*open) && line.ends_with(*close))
}
