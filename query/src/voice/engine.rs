//! The recogniser: samples in, words with their probabilities out.
//!
//! Greedy, at one temperature, English. A pure-Rust engine would build with nothing but cargo; see DEVELOPERS.md for why
//! it is not this one.

use super::ggml::Model;
use crate::error::Error;

/// Words with the recogniser's probability of each, and the seconds between which they were said.
pub type Segment = (f64, f64, Vec<(String, f32)>);

/// Whether this build can listen.
pub fn is_built_in() -> bool {
    cfg!(feature = "voice")
}

#[cfg(feature = "voice")]
mod built {
    use std::num::NonZeroUsize;
    use std::thread::available_parallelism;

    use whisper_rs::{FullParams, SamplingStrategy, WhisperContext, WhisperContextParameters, WhisperState};

    use super::{Error, Model, Segment};

    /// Samples of a second: the recogniser leaves out anything shorter.
    const LEAST: usize = leadsman_ingest::sound::RATE as usize * 11 / 10;
    /// A stretch is taken for no speech where the recogniser says so with this probability …
    const NO_SPEECH: f32 = 0.6;
    /// … and is no surer than this of the words that it makes of it.
    const GUESSED: f32 = 0.55;

    /// A loaded model.
    pub struct Engine {
        state: WhisperState,
        prompt: String,
        threads: i32,
    }

    impl Engine {
        /// Loads a model. The prompt is words that are likely to be said; `cores` is how many may be taken.
        ///
        /// The recogniser's threads wait for each other without giving way, so that more of them than there are cores
        /// free make it many times slower: who has other work to do gives it fewer.
        pub fn open(model: &Model, prompt: &str, cores: Option<NonZeroUsize>) -> Result<Self, Error> {
            whisper_rs::install_logging_hooks();
            let cannot = |error: whisper_rs::WhisperError| {
                Error::source(format!("{}: the recogniser does not load it", model.path.display()))
                    .because(&error)
            };
            let options = WhisperContextParameters::default();
            let context = WhisperContext::new_with_params(&model.path, options).map_err(cannot)?;
            let state = context.create_state().map_err(cannot)?;
            let all = available_parallelism().map_or(2, usize::from);
            let threads = cores.map_or(all, usize::from).min(all).min(8);
            Ok(Self {
                state,
                prompt: prompt.replace('\0', " "),
                threads: i32::try_from(threads).unwrap_or(2),
            })
        }

        /// Hears what is said in up to 30 s.
        pub fn hear(&mut self, samples: &[f32]) -> Result<Vec<Segment>, Error> {
            let cannot = |error: whisper_rs::WhisperError| {
                Error::source("the recogniser stopped in the middle of the recording").because(&error)
            };
            let mut padded;
            let samples = if samples.len() < LEAST {
                padded = samples.to_vec();
                padded.resize(LEAST, 0.0);
                &padded
            } else {
                samples
            };
            let mut params = FullParams::new(SamplingStrategy::Greedy { best_of: 1 });
            params.set_n_threads(self.threads);
            params.set_language(Some("en"));
            params.set_temperature_inc(0.0);
            params.set_no_context(true);
            params.set_suppress_nst(true);
            params.set_print_special(false);
            params.set_print_progress(false);
            params.set_print_realtime(false);
            params.set_print_timestamps(false);
            if !self.prompt.is_empty() {
                params.set_initial_prompt(&self.prompt);
            }
            self.state.full(params, samples).map_err(cannot)?;
            let mut out: Vec<Segment> = Vec::new();
            for segment in self.state.as_iter() {
                let words = words(&segment);
                let mean = words.iter().map(|word| word.1).sum::<f32>() / words.len().max(1) as f32;
                let guessed = segment.no_speech_probability() > NO_SPEECH && mean < GUESSED;
                if words.is_empty() || guessed {
                    continue;
                }
                let (from, until) = (segment.start_timestamp(), segment.end_timestamp());
                out.push((from as f64 / 100.0, until as f64 / 100.0, words));
            }
            Ok(out)
        }
    }

    /// A segment's tokens put together to words; a word is as sure as its least sure part.
    fn words(segment: &whisper_rs::WhisperSegment<'_>) -> Vec<(String, f32)> {
        let mut words: Vec<(Vec<u8>, f32)> = Vec::new();
        for n in 0..segment.n_tokens() {
            let Some(token) = segment.get_token(n) else { continue };
            let Ok(bytes) = token.to_bytes() else { continue };
            // Marks such as [_BEG_] are no words.
            if bytes.starts_with(b"[_") || bytes.starts_with(b"<|") {
                continue;
            }
            let probability = token.token_probability();
            match words.last_mut() {
                Some(word) if !bytes.starts_with(b" ") => {
                    word.0.extend_from_slice(bytes);
                    word.1 = word.1.min(probability);
                }
                _ => words.push((bytes.to_vec(), probability)),
            }
        }
        let text = |word: (Vec<u8>, f32)| (String::from_utf8_lossy(&word.0).trim().to_owned(), word.1);
        words.into_iter().map(text).filter(|word| !word.0.is_empty()).collect()
    }
}

#[cfg(not(feature = "voice"))]
mod built {
    use super::{Error, Model, Segment};

    /// No recogniser: this build has none.
    pub struct Engine {
        none: std::convert::Infallible,
    }

    impl Engine {
        /// Says that this build cannot listen, and how to get one that can.
        pub fn open(_: &Model, _: &str, _: Option<std::num::NonZeroUsize>) -> Result<Self, Error> {
            Err(super::not_built_in())
        }

        /// There is nothing that could hear.
        pub fn hear(&mut self, _: &[f32]) -> Result<Vec<Segment>, Error> {
            match self.none {}
        }
    }
}

pub use built::Engine;

/// What a build without the recogniser says of a recording.
pub fn not_built_in() -> Error {
    Error::wrong_use("this build of leadsman cannot listen")
        .hint("build it with `cargo build --release --features voice`, for which cmake and a C++ compiler are needed; then \
               `leadsman rehear` hears what is kept")
}
