//! A model file in whisper.cpp's ggml format: sizes, mel filters, vocabulary, tensors.
//!
//! Layout, all numbers little-endian: the magic; eleven sizes of four bytes; two sizes of the mel filters, and these; the
//! words, each with its length in front; then one tensor behind the other to the end of the file: how many sizes it has,
//! its name's length, its kind of number, the sizes from the innermost outwards, its name, its numbers. Source:
//! whisper.cpp, `models/convert-pt-to-ggml.py`, from memory.

use std::collections::HashMap;
use std::io::{ErrorKind, Read};
use std::ops::{Range, RangeInclusive};

use crate::Error;
use crate::block::{BLOCK, Kind, spread};
use crate::math::{HEAD, narrow};
use crate::mel;

/// `ggml` as a number, with which a file begins.
pub const MAGIC: u32 = 0x6767_6d6c;
/// Steps of 20 ms in the 30 s that the network listens to at once.
pub const POSITIONS: usize = mel::FRAMES / 2;

/// Words of a vocabulary, marks and times among them: 51,864 where it is English only, a few more for other languages.
const VOCABULARY: Range<usize> = 51_864..52_000;
/// Layers of a network. The largest models have 32 that listen, and 32 that write.
const LAYERS: RangeInclusive<usize> = 1..=64;
/// Heads of a layer. The largest models have 20.
const HEADS: RangeInclusive<usize> = 1..=64;
/// Tokens that the network writes with in view: 448 in all models. Fewer than 16 leave no room for a prompt.
const TEXT_CONTEXT: RangeInclusive<usize> = 16..=4_096;
/// Bands of pitch.
const BANDS: [usize; 2] = [80, 128];
/// Bytes of a word, at most.
const WORD: usize = 1_024;
/// Sizes of a tensor.
const SIZES: RangeInclusive<usize> = 1..=4;
/// Bytes of a tensor's name.
const NAME: RangeInclusive<usize> = 1..=128;
/// Tensors of a layer that listens, of one that writes, and around them.
const LISTENING: usize = 15;
const WRITING: usize = 24;
const AROUND: usize = 11;
/// Numbers of a tensor, at most; the largest models' largest has a hundredth of this.
const NUMBERS: usize = 1 << 32;

/// Numbers of a tensor, as they are kept: matrices in 16 bits, the rest in 32.
pub enum Data {
    F32(Vec<f32>),
    F16(Vec<u16>),
}

/// A tensor; the last size of its shape is the one that lies closest together.
pub struct Tensor {
    pub shape: Vec<usize>,
    pub data: Data,
}

impl Tensor {
    /// Its numbers in 32 bits.
    pub fn wide(self) -> Vec<f32> {
        match self.data {
            Data::F32(numbers) => numbers,
            Data::F16(halves) => halves.iter().map(|half| half::f16::from_bits(*half).to_f32()).collect(),
        }
    }

    /// Its numbers in 16 bits.
    pub fn narrow(self) -> Vec<u16> {
        match self.data {
            Data::F32(numbers) => narrow(&numbers),
            Data::F16(halves) => halves,
        }
    }
}

/// What is in a model file.
pub struct File {
    /// How many tokens there are; those behind `words` are marks and times.
    pub vocabulary: usize,
    /// Numbers of a position: 64 for each head.
    pub state: usize,
    pub layers: usize,
    pub text_context: usize,
    pub text_layers: usize,
    pub bands: usize,
    pub filters: Vec<f32>,
    pub words: Vec<Vec<u8>>,
    pub tensors: HashMap<String, Tensor>,
}

/// What a model says of itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Whether it knows English only.
    pub english: bool,
    /// Layers that listen: 4 of the tiny models, 6 of the base ones, 12, 24 and 32 of the larger.
    pub layers: usize,
    /// Numbers in all of its tensors.
    pub weights: u64,
}

fn bytes(from: &mut dyn Read, count: usize) -> Result<Vec<u8>, Error> {
    // No more is set aside than the file has.
    let mut out = Vec::new();
    from.take(count as u64).read_to_end(&mut out)?;
    match out.len() < count {
        true => Err(cut_short(count, out.len() as u64)),
        false => Ok(out),
    }
}

fn cut_short(expected: usize, found: u64) -> Error {
    Error::new(format!("expected {expected} bytes more, found {found}: it is cut short"))
}

fn number(from: &mut dyn Read) -> Result<usize, Error> {
    let bytes = bytes(from, 4)?;
    Ok(u32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]) as usize)
}

fn floats(bytes: &[u8]) -> Vec<f32> {
    bytes.as_chunks().0.iter().copied().map(f32::from_le_bytes).collect()
}

/// Reads a model. Errors: another format; cut short; sizes that no model of this kind has; a kind of number that is not
/// known here.
pub fn read(from: &mut dyn Read) -> Result<File, Error> {
    let mut file = before_tensors(from)?;
    while let Some(head) = head(from)? {
        let bytes = bytes(from, head.length)?;
        let data = data(head.kind, &bytes, head.count);
        file.tensors.insert(head.name, Tensor { shape: head.shape, data });
    }
    Ok(file)
}

/// Reads a model to its end without keeping its numbers. Errors: as [`crate::Ear::open`], but for its tensors' shapes;
/// tensors that no model of this kind has.
pub fn look(from: &mut dyn Read) -> Result<Look, Error> {
    let file = before_tensors(from)?;
    let (mut weights, mut tensors) = (0, 0);
    while let Some(head) = head(from)? {
        if !head.name.starts_with("encoder.") && !head.name.starts_with("decoder.") {
            return Err(Error::new(format!("expected a tensor of a speech model, found {:?}", head.name)));
        }
        let found = std::io::copy(&mut from.take(head.length as u64), &mut std::io::sink())?;
        if found < head.length as u64 {
            return Err(cut_short(head.length, found));
        }
        (weights, tensors) = (weights + head.count as u64, tensors + 1);
    }
    let expected = AROUND + LISTENING * file.layers + WRITING * file.text_layers;
    if tensors != expected {
        return Err(Error::new(format!(
            "expected {expected} tensors, found {tensors}: it is cut short, or of another kind"
        )));
    }
    Ok(Look { english: file.vocabulary == VOCABULARY.start, layers: file.layers, weights })
}

/// Reads a model up to its tensors.
fn before_tensors(from: &mut dyn Read) -> Result<File, Error> {
    let magic = number(from)? as u32;
    if magic != MAGIC {
        let found = match &magic.to_le_bytes() {
            b"GGUF" => "a GGUF file",
            b"RIFF" => "a sound file",
            b"PK\x03\x04" => "a zip archive",
            _ => "something else",
        };
        let expected = "expected a speech model in whisper.cpp's ggml format";
        return Err(Error::new(format!("{expected}, found {found}")));
    }
    let mut file = sizes(from)?;
    file.filters = floats(&bytes(from, file.bands * mel::TURNS * 4)?);
    file.words = words(from, file.vocabulary)?;
    Ok(file)
}

/// The sizes in front of a file, with nothing else in it yet.
fn sizes(from: &mut dyn Read) -> Result<File, Error> {
    let mut sizes = [0; 13];
    for size in &mut sizes {
        *size = number(from)?;
    }
    // The kind of number before the filters says what most tensors have; each says its own as well.
    let [
        vocabulary,
        positions,
        state,
        heads,
        layers,
        text_context,
        text_state,
        text_heads,
        text_layers,
        bands,
        _kind,
        filter_bands,
        turns,
    ] = sizes;
    let speech = VOCABULARY.contains(&vocabulary)
        && positions == POSITIONS
        && HEADS.contains(&heads)
        && state == HEAD * heads
        && LAYERS.contains(&layers)
        && TEXT_CONTEXT.contains(&text_context)
        && text_state == state
        && text_heads == heads
        && LAYERS.contains(&text_layers)
        && BANDS.contains(&bands)
        && filter_bands == bands
        && turns == mel::TURNS;
    if !speech {
        return Err(Error::new(format!("expected the sizes of a speech model, found {sizes:?}")));
    }
    let (filters, words, tensors) = (Vec::new(), Vec::new(), HashMap::new());
    Ok(File { vocabulary, state, layers, text_context, text_layers, bands, filters, words, tensors })
}

fn words(from: &mut dyn Read, vocabulary: usize) -> Result<Vec<Vec<u8>>, Error> {
    let count = number(from)?;
    if count > vocabulary {
        return Err(Error::new(format!("expected at most {vocabulary} words, found {count}")));
    }
    let word = |n| match number(from)? {
        length if length > WORD => {
            Err(Error::new(format!("expected a word of at most {WORD} bytes, found {length} as word {n}")))
        }
        length => bytes(from, length),
    };
    (0..count).map(word).collect()
}

/// What stands in front of a tensor's numbers.
struct Head {
    name: String,
    shape: Vec<usize>,
    kind: Kind,
    /// How many numbers there are, and their bytes.
    count: usize,
    length: usize,
}

/// The next tensor's head; none at the end of the file.
fn head(from: &mut dyn Read) -> Result<Option<Head>, Error> {
    let mut first = [0; 4];
    match from.read_exact(&mut first) {
        Ok(()) => {}
        Err(error) if error.kind() == ErrorKind::UnexpectedEof => return Ok(None),
        Err(error) => return Err(error.into()),
    }
    let (sizes, length, kind) = (u32::from_le_bytes(first) as usize, number(from)?, number(from)?);
    if !SIZES.contains(&sizes) || !NAME.contains(&length) {
        return Err(Error::new("expected a tensor, found something else"));
    }
    let mut shape = (0..sizes).map(|_| number(from)).collect::<Result<Vec<_>, _>>()?;
    shape.reverse();
    let name = String::from_utf8_lossy(&bytes(from, length)?).into_owned();
    let count = shape.iter().try_fold(1usize, |count, size| count.checked_mul(*size));
    let count = count.filter(|count| *count < NUMBERS).ok_or_else(|| {
        Error::new(format!("{name}: expected fewer than {NUMBERS} numbers, found the shape {shape:?}"))
    })?;
    let (kind, length) =
        Kind::of(kind).and_then(|kind| Some((kind, kind.bytes(count)?))).ok_or_else(|| {
            Error::new(format!(
                "{name}: expected numbers of 32, 16, 8, 5 or 4 bits, found {count} of ggml's kind {kind}"
            ))
        })?;
    Ok(Some(Head { name, shape, kind, count, length }))
}

fn data(kind: Kind, bytes: &[u8], count: usize) -> Data {
    match kind {
        Kind::F32 => Data::F32(floats(bytes)),
        Kind::F16 => Data::F16(bytes.as_chunks().0.iter().copied().map(u16::from_le_bytes).collect()),
        _ if count == 0 => Data::F16(Vec::new()),
        _ => {
            let mut out = Vec::with_capacity(count);
            for block in bytes.chunks_exact(bytes.len() / (count / BLOCK)) {
                spread(kind, block, &mut out);
            }
            Data::F16(out)
        }
    }
}

#[cfg(test)]
pub mod tests {
    use super::*;

    /// A file of the smallest sizes, with these words and no tensors.
    pub fn small(words: &[&str]) -> File {
        File {
            vocabulary: VOCABULARY.start,
            state: HEAD,
            layers: 1,
            text_context: 16,
            text_layers: 1,
            bands: 80,
            filters: Vec::new(),
            words: words.iter().map(|word| word.as_bytes().to_vec()).collect(),
            tensors: HashMap::new(),
        }
    }

    /// A model with a filter of ones, two words and a tensor of two by three numbers.
    fn written() -> Vec<u8> {
        let sizes = [MAGIC as usize, 51_864, 1_500, 64, 1, 1, 448, 64, 1, 1, 80, 1, 80, 201];
        let mut out: Vec<u8> = sizes.iter().flat_map(|size| (*size as u32).to_le_bytes()).collect();
        out.extend((0..80 * 201).flat_map(|_| 1.0_f32.to_le_bytes()));
        out.extend([2, 0, 0, 0, 1, 0, 0, 0, b'a', 2, 0, 0, 0, b' ', b'b']);
        out.extend([2, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 3, 0, 0, 0, 2, 0, 0, 0, b't']);
        out.extend((1..=6).flat_map(|n| (n as f32).to_le_bytes()));
        out
    }

    fn error(bytes: &[u8]) -> String {
        match read(&mut &bytes[..]) {
            Ok(_) => panic!("expected an error"),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn a_file_is_read_to_its_end() {
        let file = read(&mut &written()[..]).expect("a model");
        assert_eq!((file.vocabulary, file.text_context, file.bands), (51_864, 448, 80));
        assert_eq!(file.words, [b"a".to_vec(), b" b".to_vec()]);
        assert!(file.filters.len() == 80 * 201 && file.filters.iter().all(|filter| *filter == 1.0));
        let tensor = file.tensors.into_values().next().expect("a tensor");
        assert_eq!(tensor.shape, [2, 3]);
        assert_eq!(tensor.wide(), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    }

    #[test]
    fn a_look_wants_all_tensors_of_its_layers() {
        let mut whole = written();
        let begins = 56 + 80 * 201 * 4 + 15;
        let tensor = whole.split_off(begins);
        let named = |name: &str| {
            let mut out = tensor.clone();
            out.splice(4..5, [name.len() as u8]);
            out.splice(20..21, name.bytes());
            out
        };
        let all = AROUND + LISTENING + WRITING;
        for _ in 0..all - 1 {
            whole.extend(named("encoder.t"));
        }
        let look_at = |bytes: &[u8]| look(&mut &bytes[..]).map_err(|error| error.to_string());
        assert!(look_at(&whole).is_err_and(|e| e.contains("expected 50 tensors, found 49")));
        let full = [whole.clone(), named("decoder.t")].concat();
        assert_eq!(look_at(&full), Ok(Look { english: true, layers: 1, weights: 6 * all as u64 }));
        assert!(look_at(&full[..full.len() - 1]).is_err_and(|e| e.contains("cut short")));
        assert!(look_at(&[whole, named("t")].concat()).is_err_and(|e| e.contains("found \"t\"")));
    }

    #[test]
    fn what_is_no_model_is_refused_in_words() {
        let whole = written();
        assert!(error(b"RIFF").contains("ggml"));
        for length in [3, 50, 70, 64_370, 64_380, 64_395, whole.len() - 1] {
            assert!(error(&whole[..length]).contains("cut short"), "{length}");
        }
        let changed = |at: usize, to: u8| {
            let mut bytes = whole.clone();
            bytes[at] = to;
            error(&bytes)
        };
        // The state, the words' count, the first word's length, and of the tensor: how many sizes, kind and first size.
        let words = 56 + 80 * 201 * 4;
        assert!(changed(12, 65).contains("sizes of a speech model"));
        assert!(changed(words + 2, 200).contains("at most 51864 words"));
        assert!(changed(words + 6, 200).contains("at most 1024 bytes"));
        assert!(changed(words + 15, 9).contains("expected a tensor"));
        assert!(changed(words + 23, 14).contains("kind 14"));
        assert!(changed(words + 27, 255).contains("cut short"));
        assert!(changed(words + 30, 255).contains("fewer than"));
    }
}
