//! A recogniser of speech, in Rust alone: Whisper's network on the processor, greedily, with times.
//!
//! Takes models in whisper.cpp's ggml format and decides as whisper.cpp does at one temperature, so that both say the
//! same. Sources: Radford and others, Robust Speech Recognition via Large-Scale Weak Supervision (2022), and whisper.cpp,
//! `src/whisper.cpp`, both from memory.
//!
//! From sound to words: `mel` makes a spectrogram, `network` listens to it and says of every token how likely it
//! comes next, `rules` says which may come, `greedy` takes the likeliest and cuts what it took into segments. Below
//! them, `file` and `block` read a model, `weights` takes it apart, `matrix` and `math` count.

mod block;
mod file;
mod greedy;
mod math;
mod matrix;
mod mel;
mod network;
mod rules;
mod vocabulary;
mod weights;

use std::io::BufReader;
use std::path::Path;

pub use file::{Look, MAGIC, look};

/// Fewer samples than a tenth of a second more than one are too little to hear anything in; silence fills them up.
const LEAST_SAMPLES: usize = 17_600;
/// Bytes of a file that are read at once.
const BUFFER: usize = 1 << 20;
/// Frames of a spectrogram in a second; segments are counted in them.
const FRAMES_PER_SECOND: f64 = 100.0;

/// Why a model cannot be used, as a sentence.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Error(String);

impl Error {
    fn new(sentence: impl Into<String>) -> Self {
        Self(sentence.into())
    }
}

impl From<std::io::Error> for Error {
    fn from(error: std::io::Error) -> Self {
        Self(error.to_string())
    }
}

/// What was said between two moments.
#[derive(Clone, Debug, PartialEq)]
pub struct Segment {
    /// Seconds from the first sample.
    pub from: f64,
    /// Seconds from the first sample.
    pub until: f64,
    /// How likely it is that nobody spoke, 0 to 1.
    pub no_speech: f32,
    /// Pieces of words, in order.
    pub pieces: Vec<Piece>,
}

/// A word, or a piece of one; a word's first piece begins with a blank.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// UTF-8 that may begin or end inside of a character.
    pub bytes: Vec<u8>,
    /// How likely it is, 0 to 1.
    pub probability: f32,
}

/// A loaded model, and the threads that it may use.
pub struct Ear {
    network: network::Network,
    vocabulary: vocabulary::Vocabulary,
    filters: mel::Filters,
    pool: rayon::ThreadPool,
}

impl Ear {
    /// Loads a model. Errors: unreadable, or not a model of this kind.
    pub fn open(path: &Path, threads: usize) -> Result<Self, Error> {
        let mut file = file::read(&mut BufReader::with_capacity(BUFFER, std::fs::File::open(path)?))?;
        let network = network::Network::new(&mut file)?;
        let vocabulary = vocabulary::Vocabulary::new(&file);
        let filters = mel::Filters::new(file.filters, file.bands);
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads.max(1))
            .build()
            .map_err(|error| Error::new(error.to_string()))?;
        Ok(Self { network, vocabulary, filters, pool })
    }

    /// Hears what is said in samples at 16 kHz, each between -1 and 1; the prompt is words that are likely.
    ///
    /// The network listens to 30 s at once. A longer sound is heard stretch by stretch, each with what was said before as
    /// its prompt.
    pub fn hear(&mut self, samples: &[f32], prompt: &str) -> Vec<Segment> {
        let mut padded = samples.to_vec();
        padded.resize(samples.len().max(LEAST_SAMPLES), 0.0);
        let Self { network, vocabulary, filters, pool } = self;
        let heard = pool.install(|| {
            let mel = mel::Mel::of(filters, &padded);
            greedy::hear(network, vocabulary, &mel, prompt)
        });
        heard.iter().map(|segment| said(vocabulary, segment)).collect()
    }
}

/// A segment with its tokens as pieces of words; marks and times are none.
fn said(vocabulary: &vocabulary::Vocabulary, segment: &greedy::Segment) -> Segment {
    let piece = |token: &greedy::Token| Piece {
        bytes: vocabulary.said(token.id).to_vec(),
        probability: token.probability,
    };
    Segment {
        from: segment.from as f64 / FRAMES_PER_SECOND,
        until: segment.until as f64 / FRAMES_PER_SECOND,
        no_speech: segment.no_speech,
        pieces: segment.tokens.iter().map(piece).filter(|piece| !piece.bytes.is_empty()).collect(),
    }
}
